//! A tick that keeps who confirmed it and when.

use crate::shell::clock;
use crate::state::{Desk, Sheet};
use crate::wire::{dy, memo};
use leptos::prelude::*;
use strawline::draft::{Check, CheckKind, Field};
use strawline::words::choice::CheckName;
use strawline::words::unit;

/// One confirmation of the draft.
#[component]
pub fn Confirm(
    /// What is confirmed.
    kind: CheckKind,
    /// Key of the box in the page.
    id: &'static str,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let done = memo(move || sheet.draft.with(|d| d.checks.get(&kind).cloned()));
    let tick = move |event| {
        let on = event_target_checked(&event);
        sheet.edit(|draft| {
            let by = draft.text(Field::Technician).trim().to_owned();
            if on {
                draft.checks.insert(kind, Check { by, at: clock::now().at });
            } else {
                draft.checks.remove(&kind);
            }
        });
    };
    let by = move || {
        done.with(|d| d.as_ref().map(|c| format!("{} {}", c.by, unit::clock(c.at, desk.offset.get()))))
    };
    view! {
        <label class="check">
            <input type="checkbox" id=id prop:checked=dy(move || done.with(Option::is_some)) on:change=tick/>
            <span>{desk.say(CheckName(kind))} <span class="second">{by}</span></span>
        </label>
    }
}
