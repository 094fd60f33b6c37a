//! Another whole programme beside the case’s own: of a protocol of the Bench, or put together here of stages.

use super::Shown;
use crate::dom::prelude::*;
use crate::place::stages::Stages;
use crate::state::{Desk, Sheet};
use strawline::spin::programme::{Programme, Stage};
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
    let programme =
        memo(move || shown.another.with(|a| a.as_ref().map_or_else(Vec::new, |a| a.programme.0.clone())));
    let set = move |stages| {
        shown.another.update(|a| {
            if let Some(a) = a {
                a.programme.0 = stages;
            }
        });
    };
    let stages = Stages::new(programme, set, |_, _| ());
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
            <div id="another-stages">{stages.view(desk, "another")}</div>
        </Show>
    }
}
