//! Another whole programme beside the case’s own: of a protocol of the Bench, or put together here of stages.

use super::Shown;
use crate::dom::prelude::*;
use crate::place::field::{NumberBox, PickBox};
use crate::state::{Desk, Sheet};
use strawline::draft::field::MAX_STAGES;
use strawline::quantity::read::Kind;
use strawline::quantity::{Quantity, Rcf, Rpm, Seconds};
use strawline::spin::programme::{Programme, Speed, Stage, StageKind};
use strawline::spin::rcf::RadiusKind;
use strawline::words::bench::{BenchWord, StageNumber};
use strawline::words::column::ColumnWord as Words;

/// The programme that stands beside.
#[derive(Debug, Clone, PartialEq)]
pub struct Another {
    /// Key of the protocol it is of; empty where it is put together here.
    pub of: String,
    /// Itself.
    pub programme: Programme,
}

/// Key of the choice to put one together.
const TOGETHER: &str = "together";
const RADII: [RadiusKind; 3] = [RadiusKind::Maximum, RadiusKind::Mean, RadiusKind::Minimum];

/// Which programme, and its stages where it is put together.
#[component]
pub fn AnotherProgramme() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shown = expect_context::<Shown>();
    let own =
        move || sheet.draft.with(|d| d.kit.protocol.as_ref().map(|p| (p.id.clone(), p.programme.clone())));
    let chosen = memo(move || shown.another.with(|a| a.as_ref().map(|a| a.of.clone())));
    let take = move |event| {
        let key: String = event_target_value(&event);
        let of_bench =
            |key: &str| desk.bench.with_untracked(|b| b.protocol(key).map(|p| p.programme.clone()));
        shown.another.set(match key.as_str() {
            "" => None,
            TOGETHER => {
                let programme = own().map(|(_, programme)| programme).unwrap_or_default();
                Some(Another { of: String::new(), programme })
            }
            _ => of_bench(&key).map(|programme| Another { of: key, programme }),
        });
    };
    let others = move || {
        let own = own().map(|(id, _)| id);
        desk.bench.with(|b| {
            let turns = |stages: &[Stage]| stages.iter().any(|s| s.speed().is_some());
            let others = b.protocols.iter().filter(|p| Some(&p.id) != own.as_ref() && turns(&p.programme.0));
            let one = |p: &strawline::bench::Protocol| {
                let id = p.id.clone();
                let now = move || chosen.with(|c| c.as_ref() == Some(&id));
                view! { <option value=p.id.clone() prop:selected=now>{p.name.clone()}</option> }
            };
            others.map(one).collect_view()
        })
    };
    let together = memo(move || chosen.with(|c| c.as_ref().is_some_and(String::is_empty)));
    view! {
        <div class="field text">
            <div class="field-name"><label for="another-programme">{desk.say(Words::Another)}</label></div>
            <div class="entry">
                <select class="words" id="another-programme" on:change=take>
                    <option value="" prop:selected=move || chosen.with(Option::is_none)>{desk.say(Words::NoOther)}</option>
                    <option value=TOGETHER prop:selected=move || together.get()>{desk.say(Words::PutTogether)}</option>
                    {others}
                </select>
            </div>
        </div>
        <p class="second" hidden=move || chosen.with(Option::is_none)>{desk.say(Words::AnotherWhat)}</p>
        <Show when=move || together.get()>
            <Stages/>
        </Show>
    }
}

/// Its stages: each with what it does, its speed and its time.
#[component]
fn Stages() -> impl IntoView {
    let desk = Desk::here();
    let shown = expect_context::<Shown>();
    let count = memo(move || shown.another.with(|a| a.as_ref().map_or(0, |a| a.programme.0.len())));
    let change = move |act: &dyn Fn(&mut Vec<Stage>)| {
        shown.another.update(|a| {
            if let Some(a) = a {
                act(&mut a.programme.0);
            }
        });
    };
    let add = move |_| {
        change(&|all| {
            if all.len() < usize::from(MAX_STAGES) {
                all.push(Stage::Hold { speed: Stage::NO_SPEED, time: Seconds::constant(0.0) });
            }
        });
    };
    view! {
        <div id="another-stages">
            {move || (0..count.get()).map(|n| one(desk, shown, n)).collect_view()}
            <div class="buttons">
                <button type="button" class="button" on:click=add>{desk.say(BenchWord::AddStage)}</button>
            </div>
        </div>
    }
}

/// A stage of it.
fn one(desk: Desk, shown: Shown, n: usize) -> Markup {
    let stage = memo(move || shown.another.with(|a| a.as_ref()?.programme.0.get(n).cloned()));
    let change = move |act: &dyn Fn(&mut Stage) -> Option<()>| {
        let mut done = None;
        shown.another.update(|a| {
            done = a.as_mut().and_then(|a| a.programme.0.get_mut(n)).and_then(act);
        });
        done.ok_or_else(|| desk.say(BenchWord::CannotBe))
    };
    let remove = move |_| {
        shown.another.update(|a| {
            if let Some(a) = a
                && n < a.programme.0.len()
            {
                a.programme.0.remove(n);
            }
        });
    };
    let id = |what: &str| format!("another-{n}-{what}");
    let kinds = |desk: Desk| {
        let all = [BenchWord::Hold, BenchWord::Ramp, BenchWord::Stop, BenchWord::Handling];
        all.map(|words| desk.say(words)).to_vec()
    };
    let kind = Signal::derive(move || {
        let kind = stage.with(|s| s.as_ref().map(Stage::kind));
        StageKind::ALL.iter().position(|k| Some(*k) == kind).unwrap_or(0)
    });
    let set_kind = move |i: usize| change(&|s| StageKind::ALL.get(i).map(|kind| s.turn_into(*kind)));
    let units = |desk: Desk| {
        let all = [BenchWord::InRpm, BenchWord::AtMaximum, BenchWord::AtMean, BenchWord::AtMinimum];
        all.map(|words| desk.say(words)).to_vec()
    };
    let speed = memo(move || stage.with(|s| s.as_ref().and_then(Stage::speed)));
    let unit = Signal::derive(move || match speed.get() {
        Some(Speed::Rcf { at, .. }) => RADII.iter().position(|r| *r == at).map_or(0, |i| i + 1),
        _ => 0,
    });
    let set_unit = move |i: usize| {
        let at = i.checked_sub(1).and_then(|i| RADII.get(i)).copied();
        change(&|s| s.speed_mut().map(|speed| speed.give(at)))
    };
    // What was not said is zero, and shows as empty.
    let said = |value: f64| Some(value).filter(|v| *v > 0.0);
    let rpm = Signal::derive(move || match speed.get() {
        Some(Speed::Rpm(rpm)) => said(rpm.get()),
        _ => None,
    });
    let set_rpm = move |v: Option<f64>| {
        change(&|s| {
            *s.speed_mut()? = Speed::Rpm(Rpm::new(v?).ok()?);
            Some(())
        })
    };
    let force = Signal::derive(move || match speed.get() {
        Some(Speed::Rcf { g, .. }) => said(g.get()),
        _ => None,
    });
    let set_force = move |v: Option<f64>| {
        change(&|s| match s.speed_mut()? {
            Speed::Rcf { g, .. } => {
                *g = Rcf::new(v?).ok()?;
                Some(())
            }
            Speed::Rpm(_) => None,
        })
    };
    let time =
        Signal::derive(move || stage.with(|s| s.as_ref().and_then(Stage::time)).and_then(|t| said(t.get())));
    let set_time = move |v: Option<f64>| {
        change(&|s| {
            s.take(v.map(Seconds::new).transpose().ok()?);
            Some(())
        })
    };
    let is_rpm = move || matches!(speed.get(), Some(Speed::Rpm(_)));
    let is_force = move || matches!(speed.get(), Some(Speed::Rcf { .. }));
    view! {
        <h4 class="subheading">{desk.say(StageNumber(n + 1))}</h4>
        {PickBox::new(BenchWord::StageKind, None, kinds, kind, set_kind).view(&id("kind"))}
        <div hidden=move || speed.get().is_none()>
            {PickBox::new(BenchWord::SpeedGiven, None, units, unit, set_unit).view(&id("unit"))}
        </div>
        <div hidden=move || !is_rpm()>
            {NumberBox::new(BenchWord::Speed, None, Kind::Speed, "", rpm, set_rpm).view(&id("rpm"))}
        </div>
        <div hidden=move || !is_force()>
            {NumberBox::new(BenchWord::Force, None, Kind::Rcf, "", force, set_force).view(&id("force"))}
        </div>
        {NumberBox::new(BenchWord::Time, None, Kind::Minutes, "", time, set_time).view(&id("time"))}
        <div class="buttons">
            <button type="button" class="button" on:click=remove>{desk.say(BenchWord::RemoveStage)}</button>
        </div>
    }
    .into_view()
}
