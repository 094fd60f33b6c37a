//! The button that goes to the next step: outlined and telling what is open, or solid.

use crate::dom::prelude::*;
use crate::shell::tap;
use crate::state::{Desk, Sheet};
use strawline::assess::hand_over;
use strawline::draft::CheckKind;
use strawline::finding::HeldStep;
use strawline::words::Phrase;
use strawline::words::finding::StillOpen;

/// What a hand-over still needs.
pub fn needs(sheet: Sheet) -> Vec<hand_over::Need> {
    sheet.draft.with(|d| sheet.read.with(|(case, _)| hand_over::needs(d, case)))
}

/// Goes to the next step. What is still open is told on it and does not disable it: `go` is called only when
/// no Stop holds the step and the check it needs is done; else the eye is led to the Stop, or to the check.
#[component]
pub fn NextStep<L>(
    /// Words of the step.
    label: L,
    /// The step it takes, if it cannot be taken back.
    #[prop(optional)]
    step: Option<HeldStep>,
    /// A check that it needs, and the key of its box.
    #[prop(optional)]
    needs: Option<(CheckKind, &'static str)>,
    /// Takes it.
    go: impl Fn() + 'static,
) -> impl IntoView
where
    L: Phrase + Copy + Send + Sync + 'static,
{
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let unchecked =
        memo(move || needs.filter(|(kind, _)| sheet.draft.with(|d| !d.checks.contains_key(kind))));
    let open = memo(move || {
        let (step, check) = (step?, unchecked.get().map(|(kind, _)| kind));
        let needs = match step {
            HeldStep::HandOver => self::needs(sheet),
            HeldStep::Needle | HeldStep::Spin => Vec::new(),
        };
        let words =
            sheet.answer.with(|a| desk.say(StillOpen { findings: &a.findings, step, check, needs: &needs }));
        Some(words).filter(|w| !w.is_empty())
    });
    let held = move || step.is_some_and(|s| sheet.answer.with_untracked(|a| a.holding(s).next().is_some()));
    let tap = move |event| {
        if !tap::meant(&event) {
            return;
        }
        if held() {
            crate::shell::focus::first(".stops .finding");
        } else if let Some((_, key)) = unchecked.get_untracked() {
            crate::shell::focus::first(&format!("#{key}"));
        } else {
            go();
        }
    };
    view! {
        <button type="button" class="button next" class:solid=move || open.with(Option::is_none) on:click=tap>
            {desk.say(label)}
            <span class="open">{open}</span>
        </button>
    }
}
