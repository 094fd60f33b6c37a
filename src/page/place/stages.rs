//! The stages of a spin programme to be edited: in any order, each with what it does, its speed and its time. Of a
//! protocol of the Bench, or of what is tried beside a case.

use super::field::{NumberBox, PickBox, TextBox, shown};
use crate::dom::prelude::*;
use crate::shell::focus;
use crate::state::Desk;
use strawline::draft::field::MAX_STAGES;
use strawline::quantity::read::Kind;
use strawline::quantity::{Quantity, Rcf, Rpm, Seconds};
use strawline::spin::programme::{Speed, Stage, StageKind};
use strawline::spin::rcf::RadiusKind;
use strawline::words::bench::{BenchWord, StageNumber};

const RADII: [RadiusKind; 3] = [RadiusKind::Maximum, RadiusKind::Mean, RadiusKind::Minimum];

/// What is done with stages.
type Taken = StoredValue<Box<dyn Fn(Vec<Stage>) + Send + Sync>>;

/// What is done with one that was taken out, by the place where it stood.
type Removed = StoredValue<Box<dyn Fn(usize, Stage) + Send + Sync>>;

/// Stages that stand somewhere.
#[derive(Clone, Copy)]
pub struct Stages {
    all: Memo<Vec<Stage>>,
    set: Taken,
    removed: Removed,
}

impl Stages {
    /// From what they are, what to do with others in their place, and with one that was taken out.
    pub fn new(
        all: Memo<Vec<Stage>>,
        set: impl Fn(Vec<Stage>) + Send + Sync + 'static,
        removed: impl Fn(usize, Stage) + Send + Sync + 'static,
    ) -> Self {
        Self { all, set: StoredValue::new(Box::new(set)), removed: StoredValue::new(Box::new(removed)) }
    }

    /// Changes them; `None` where that cannot be.
    fn change(self, act: impl FnOnce(&mut Vec<Stage>) -> Option<()>) -> Option<()> {
        let mut all = self.all.get_untracked();
        act(&mut all)?;
        self.set.with_value(|set| set(all));
        Some(())
    }

    /// All of them, and buttons to add, move and remove them; `id` begins the ids of their fields.
    pub fn view(self, desk: Desk, id: &str) -> Markup {
        let count = memo(move || self.all.with(Vec::len));
        let add = move |_| {
            let new = Stage::Hold { speed: Stage::NO_SPEED, time: Seconds::constant(0.0) };
            self.change(|all| (all.len() < usize::from(MAX_STAGES)).then(|| all.push(new)));
        };
        let id = id.to_owned();
        let each = move || (0..count.get()).map(|n| self.one(desk, &id, n, count.get())).collect_view();
        view! {
            {each}
            <div class="buttons">
                <button type="button" class="button" on:click=add>{desk.say(BenchWord::AddStage)}</button>
            </div>
        }
        .into_view()
    }

    fn one(self, desk: Desk, id: &str, n: usize, count: usize) -> Markup {
        let to = |to: usize, words: BenchWord| {
            let there = format!("#{id}-{to}-kind");
            let swap = move |_| {
                self.change(|all| (n.max(to) < all.len()).then(|| all.swap(n, to)));
                focus::first(&there);
            };
            view! { <button type="button" class="button" on:click=swap>{desk.say(words)}</button> }
        };
        let remove = move |_| {
            let Some(gone) = self.all.with_untracked(|all| all.get(n).cloned()) else { return };
            if self.change(|all| (n < all.len()).then(|| drop(all.remove(n)))).is_some() {
                self.removed.with_value(|removed| removed(n, gone));
            }
        };
        view! {
            <h4 class="subheading">{desk.say(StageNumber(n + 1))}</h4>
            {self.fields(desk, &format!("{id}-{n}"), n)}
            <div class="buttons">
                {n.checked_sub(1).map(|before| to(before, BenchWord::Earlier))}
                {(n + 1 < count).then(|| to(n + 1, BenchWord::LaterWord))}
                <button type="button" class="button" on:click=remove>{desk.say(BenchWord::RemoveStage)}</button>
            </div>
        }
        .into_view()
    }

    /// What a stage does, and what belongs to that.
    fn fields(self, desk: Desk, id: &str, n: usize) -> Markup {
        let stage = memo(move || self.all.with(|all| all.get(n).cloned()));
        let change = move |act: &dyn Fn(&mut Stage) -> Option<()>| {
            self.change(|all| act(all.get_mut(n)?)).ok_or_else(|| desk.say(BenchWord::CannotBe))
        };
        let id = |name: &str| format!("{id}-{name}");
        let pick =
            move |words, names, get: fn(&Stage) -> Option<usize>, set: fn(&mut Stage, usize), id: String| {
                let value = memo(move || stage.with(|s| s.as_ref().and_then(get)));
                let set = move |i: usize| {
                    change(&|s| {
                        set(s, i);
                        Some(())
                    })
                };
                shown(value, move |value| PickBox::new(words, None, names, value.into(), set).view(&id))
            };
        let number = move |(words, hint, kind): (BenchWord, Option<BenchWord>, Kind),
                           get: fn(&Stage) -> Option<Option<f64>>,
                           set: fn(&mut Stage, Option<f64>) -> Option<()>,
                           id: String| {
            let value = memo(move || stage.with(|s| s.as_ref().and_then(get)));
            let set = move |v: Option<f64>| {
                // What is left open says so in its hint.
                if hint.is_none() && v.is_none() {
                    return Err(desk.say(BenchWord::NumberNeeded));
                }
                change(&|s| set(s, v))
            };
            shown(value, move |value| NumberBox::new(words, hint, kind, "", value.into(), set).view(&id))
        };
        let what = memo(move || {
            stage.with(|s| match s {
                Some(Stage::Handling { what, .. }) => Some(what.clone()),
                _ => None,
            })
        });
        let set_what = move |text: String| {
            change(&|s| match s {
                Stage::Handling { what, .. } => {
                    what.clone_from(&text);
                    Some(())
                }
                _ => None,
            })
        };
        let what_id = id("what");
        let take = |s: &mut Stage, v: Option<f64>| {
            s.take(v.map(Seconds::new).transpose().ok()?);
            Some(())
        };
        let time = BenchWord::Time;
        view! {
            {pick(BenchWord::StageKind, kinds, |s| StageKind::ALL.iter().position(|k| *k == s.kind()), turn_into, id("kind"))}
            {pick(BenchWord::SpeedGiven, units, given, give, id("unit"))}
            {number((BenchWord::Speed, None, Kind::Speed), rpm, set_rpm, id("rpm"))}
            {number((BenchWord::Force, None, Kind::Rcf), force, set_force, id("force"))}
            {shown(what, move |value| {
                TextBox::new(BenchWord::HandlingWhat, None, value.into(), set_what).view(&what_id)
            })}
            {number((time, None, Kind::Minutes), fixed_time, take, id("time"))}
            {number((time, Some(BenchWord::TimeOpenHint), Kind::Minutes), open_time, take, id("time"))}
        }
        .into_view()
    }
}

fn kinds(desk: Desk) -> Vec<String> {
    let all = [BenchWord::Hold, BenchWord::Ramp, BenchWord::Stop, BenchWord::Handling];
    all.map(|words| desk.say(words)).to_vec()
}

fn turn_into(stage: &mut Stage, i: usize) {
    if let Some(kind) = StageKind::ALL.get(i) {
        stage.turn_into(*kind);
    }
}

fn units(desk: Desk) -> Vec<String> {
    let all = [BenchWord::InRpm, BenchWord::AtMaximum, BenchWord::AtMean, BenchWord::AtMinimum];
    all.map(|words| desk.say(words)).to_vec()
}

fn given(stage: &Stage) -> Option<usize> {
    Some(match stage.speed()? {
        Speed::Rpm(_) => 0,
        Speed::Rcf { at, .. } => RADII.iter().position(|r| *r == at)?.saturating_add(1),
    })
}

fn give(stage: &mut Stage, i: usize) {
    let at = i.checked_sub(1).and_then(|i| RADII.get(i)).copied();
    if let Some(speed) = stage.speed_mut() {
        speed.give(at);
    }
}

/// What was not said is zero, and shows as empty.
fn said(value: f64) -> Option<f64> {
    Some(value).filter(|v| *v > 0.0)
}

fn rpm(stage: &Stage) -> Option<Option<f64>> {
    match stage.speed()? {
        Speed::Rpm(rpm) => Some(said(rpm.get())),
        Speed::Rcf { .. } => None,
    }
}

fn set_rpm(stage: &mut Stage, value: Option<f64>) -> Option<()> {
    *stage.speed_mut()? = Speed::Rpm(Rpm::new(value?).ok()?);
    Some(())
}

fn force(stage: &Stage) -> Option<Option<f64>> {
    match stage.speed()? {
        Speed::Rcf { g, .. } => Some(said(g.get())),
        Speed::Rpm(_) => None,
    }
}

fn set_force(stage: &mut Stage, value: Option<f64>) -> Option<()> {
    let Speed::Rcf { g, .. } = stage.speed_mut()? else { return None };
    *g = Rcf::new(value?).ok()?;
    Some(())
}

/// Time of what the machine ends.
fn fixed_time(stage: &Stage) -> Option<Option<f64>> {
    match stage {
        Stage::Hold { time, .. } | Stage::Ramp { time, .. } => Some(said(time.get())),
        Stage::Stop { .. } | Stage::Handling { .. } => None,
    }
}

/// Time of what a person may end.
fn open_time(stage: &Stage) -> Option<Option<f64>> {
    match stage {
        Stage::Stop { time } | Stage::Handling { time, .. } => Some(time.map(Quantity::get)),
        Stage::Hold { .. } | Stage::Ramp { .. } => None,
    }
}
