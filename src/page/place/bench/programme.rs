//! The spin programme of a protocol: stages in any order.

use super::row::{Row, Spot, rows};
use crate::dom::prelude::*;
use crate::shell::{focus, keep};
use crate::state::Desk;
use strawline::bench::Bench;
use strawline::draft::field::MAX_STAGES;
use strawline::quantity::read::Kind;
use strawline::quantity::{Quantity, Rcf, Rpm, Seconds};
use strawline::spin::programme::{Speed, Stage, StageKind};
use strawline::spin::rcf::RadiusKind;
use strawline::words::bench::{BenchWord, StageNumber};
use strawline::words::spin::{StagePlan, StageTitle};

fn stage(b: &Bench, at: Spot) -> Option<&Stage> {
    b.protocols.get(at.item)?.programme.0.get(at.stage)
}

fn stage_mut(b: &mut Bench, at: Spot) -> Option<&mut Stage> {
    b.protocols.get_mut(at.item)?.programme.0.get_mut(at.stage)
}

fn speed_mut(b: &mut Bench, at: Spot) -> Option<&mut Speed> {
    stage_mut(b, at)?.speed_mut()
}

/// What was not said is zero, and shows as empty.
fn said(value: f64) -> Option<f64> {
    Some(value).filter(|v| *v > 0.0)
}

const ZERO_TIME: Seconds = Seconds::constant(0.0);
const RADII: [RadiusKind; 3] = [RadiusKind::Maximum, RadiusKind::Mean, RadiusKind::Minimum];

/// A stage.
static STAGE: &[Row] = &[
    Row::Pick {
        words: BenchWord::StageKind,
        hint: None,
        names: |desk| {
            let all = [BenchWord::Hold, BenchWord::Ramp, BenchWord::Stop, BenchWord::Handling];
            all.map(|words| desk.say(words)).to_vec()
        },
        get: |b, at| {
            let kind = stage(b, at)?.kind();
            StageKind::ALL.iter().position(|k| *k == kind)
        },
        set: |b, at, i| {
            stage_mut(b, at)?.turn_into(*StageKind::ALL.get(i)?);
            Some(())
        },
    },
    Row::Pick {
        words: BenchWord::SpeedGiven,
        hint: None,
        names: |desk| {
            let all = [BenchWord::InRpm, BenchWord::AtMaximum, BenchWord::AtMean, BenchWord::AtMinimum];
            all.map(|words| desk.say(words)).to_vec()
        },
        get: |b, at| {
            Some(match stage(b, at)?.speed()? {
                Speed::Rpm(_) => 0,
                Speed::Rcf { at, .. } => RADII.iter().position(|r| *r == at)?.saturating_add(1),
            })
        },
        set: |b, at, i| {
            let at_radius = match i.checked_sub(1) {
                Some(i) => Some(*RADII.get(i)?),
                None => None,
            };
            speed_mut(b, at)?.give(at_radius);
            Some(())
        },
    },
    Row::Number {
        words: BenchWord::Speed,
        hint: None,
        kind: Kind::Speed,
        unit: "",
        needed: true,
        get: |b, at| match stage(b, at)?.speed()? {
            Speed::Rpm(rpm) => Some(said(rpm.get())),
            Speed::Rcf { .. } => None,
        },
        set: |b, at, v| {
            *speed_mut(b, at)? = Speed::Rpm(Rpm::new(v?).ok()?);
            Some(())
        },
    },
    Row::Number {
        words: BenchWord::Force,
        hint: None,
        kind: Kind::Rcf,
        unit: "",
        needed: true,
        get: |b, at| match stage(b, at)?.speed()? {
            Speed::Rcf { g, .. } => Some(said(g.get())),
            Speed::Rpm(_) => None,
        },
        set: |b, at, v| match speed_mut(b, at)? {
            Speed::Rcf { g, .. } => {
                *g = Rcf::new(v?).ok()?;
                Some(())
            }
            Speed::Rpm(_) => None,
        },
    },
    Row::Text {
        words: BenchWord::HandlingWhat,
        hint: None,
        get: |b, at| match stage(b, at)? {
            Stage::Handling { what, .. } => Some(what.clone()),
            _ => None,
        },
        set: |b, at, text| match stage_mut(b, at)? {
            Stage::Handling { what, .. } => {
                *what = text;
                Some(())
            }
            _ => None,
        },
    },
    Row::Number {
        words: BenchWord::Time,
        hint: None,
        kind: Kind::Minutes,
        unit: "",
        needed: true,
        get: |b, at| match stage(b, at)? {
            Stage::Hold { time, .. } | Stage::Ramp { time, .. } => Some(said(time.get())),
            Stage::Stop { .. } | Stage::Handling { .. } => None,
        },
        set: |b, at, v| match stage_mut(b, at)? {
            Stage::Hold { time, .. } | Stage::Ramp { time, .. } => {
                *time = Seconds::new(v?).ok()?;
                Some(())
            }
            Stage::Stop { .. } | Stage::Handling { .. } => None,
        },
    },
    Row::Number {
        words: BenchWord::Time,
        hint: Some(BenchWord::TimeOpenHint),
        kind: Kind::Minutes,
        unit: "",
        needed: false,
        get: |b, at| match stage(b, at)? {
            Stage::Stop { time } | Stage::Handling { time, .. } => Some(time.map(Quantity::get)),
            Stage::Hold { .. } | Stage::Ramp { .. } => None,
        },
        set: |b, at, v| match stage_mut(b, at)? {
            Stage::Stop { time } | Stage::Handling { time, .. } => {
                *time = v.map(Seconds::new).transpose().ok()?;
                Some(())
            }
            Stage::Hold { .. } | Stage::Ramp { .. } => None,
        },
    },
];

/// Whether the machine runs its own programme.
pub static FIXED: &[Row] = &[Row::Pick {
    words: BenchWord::ProgrammeIs,
    hint: None,
    names: |desk| [BenchWord::ProgrammeEdited, BenchWord::ProgrammeFixed].map(|w| desk.say(w)).to_vec(),
    get: |b, at| Some(usize::from(b.protocols.get(at.item)?.programme_fixed)),
    set: |b, at, i| {
        b.protocols.get_mut(at.item)?.programme_fixed = i == 1;
        Some(())
    },
}];

/// The stages of the protocol at `protocol`, and buttons to add, move and remove them.
pub fn programme(desk: Desk, id: &str, protocol: Memo<usize>) -> Markup {
    let base = format!("{id}-stage");
    let stages = move |b: &Bench| b.protocols.get(protocol.get()).map_or(0, |p| p.programme.0.len());
    let count = memo(move || desk.bench.with(stages));
    let change = move |act: &dyn Fn(&mut Vec<Stage>)| {
        let at = protocol.get_untracked();
        desk.bench.update(|b| {
            if let Some(protocol) = b.protocols.get_mut(at) {
                act(&mut protocol.programme.0);
            }
        });
    };
    let all = {
        let base = base.clone();
        move || {
            let one = |n: usize| {
                let spot = Signal::derive(move || Spot { item: protocol.get(), stage: n });
                let id = format!("{base}-{n}");
                let shift = {
                    let base = base.clone();
                    move |to: usize| {
                        change(&move |all| {
                            if n.max(to) < all.len() {
                                all.swap(n, to);
                            }
                        });
                        focus::first(&format!("#{base}-{to}-0"));
                    }
                };
                let earlier = shift.clone();
                let remove = move |_| {
                    let at = protocol.get_untracked();
                    let old = desk
                        .bench
                        .with_untracked(|b| b.protocols.get(at).map(|p| (p.id.clone(), p.programme.clone())));
                    change(&|all| {
                        if n < all.len() {
                            all.remove(n);
                        }
                    });
                    keep::offer_undo(desk, None, desk.say(BenchWord::Deleted), move || {
                        // By its key: the list may be gone from view, or in another order.
                        let Some((key, programme)) = &old else { return };
                        desk.bench.update(|b| {
                            if let Some(protocol) = b.protocols.iter_mut().find(|p| p.id == *key) {
                                protocol.programme.clone_from(programme);
                            }
                        });
                    });
                };
                view! {
                    <h4 class="subheading">{desk.say(StageNumber(n + 1))}</h4>
                    {rows(desk, &id, STAGE, spot)}
                    <div class="buttons">
                        {(n > 0)
                            .then(|| {
                                view! {
                                    <button type="button" class="button" on:click=move |_| earlier(n - 1)>
                                        {desk.say(BenchWord::Earlier)}
                                    </button>
                                }
                            })}
                        {(n + 1 < count.get())
                            .then(|| {
                                view! {
                                    <button type="button" class="button" on:click=move |_| shift(n + 1)>
                                        {desk.say(BenchWord::LaterWord)}
                                    </button>
                                }
                            })}
                        <button type="button" class="button" on:click=remove>
                            {desk.say(BenchWord::RemoveStage)}
                        </button>
                    </div>
                }
            };
            (0..count.get()).map(one).collect_view()
        }
    };
    let add = move |_| {
        change(&|all| {
            if all.len() < usize::from(MAX_STAGES) {
                all.push(Stage::Hold { speed: Stage::NO_SPEED, time: ZERO_TIME });
            }
        });
    };
    let fixed =
        memo(move || desk.bench.with(|b| b.protocols.get(protocol.get()).is_some_and(|p| p.programme_fixed)));
    let told = move || {
        desk.bench.with(|b| {
            let stages = b.protocols.get(protocol.get()).map_or(&[][..], |p| &p.programme.0);
            let conventions = &b.clinic.conventions;
            let line = |(index, stage): (u8, &Stage)| {
                let title = desk.say(StageTitle { index, stage: Some(stage) });
                view! { <p>{title} ": " {desk.say(StagePlan { stage, conventions })}</p> }
            };
            let lines: Vec<_> = (0..).zip(stages).map(line).collect();
            let none =
                lines.is_empty().then(|| view! { <p class="second">{desk.say(BenchWord::NoStages)}</p> });
            view! { {lines.into_iter().collect_view()} {none} }
        })
    };
    let spot = Signal::derive(move || Spot { item: protocol.get(), stage: 0 });
    view! {
        <h3 class="subheading">{desk.say(BenchWord::Programme)}</h3>
        {rows(desk, &format!("{id}-programme"), FIXED, spot)}
        <div class="told" hidden=move || !fixed.get()>{told}</div>
        <div hidden=move || fixed.get()>
            {all}
            <div class="buttons">
                <button type="button" class="button" on:click=add>{desk.say(BenchWord::AddStage)}</button>
            </div>
        </div>
    }
}
