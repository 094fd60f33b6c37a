//! A tick that keeps who confirmed it and when.

use super::Entry;
use crate::dom::prelude::*;
use crate::section::header::go;
use crate::shell::{clock, focus};
use crate::state::{Desk, Sheet};
use strawline::draft::{Check, CheckKind, Draft, Field, Stage};
use strawline::words::choice::CheckName;
use strawline::words::page::Common;
use strawline::words::unit;

/// Who confirms, asked at a stage that came without it.
#[component]
pub fn Who() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let unsaid = sheet.draft.with_untracked(|d| d.text(Field::Technician).trim().is_empty());
    let asked = unsaid.then(|| {
        view! {
            <Entry field=Field::Technician/>
            <p class="second">{desk.say(Common::WhoFirst)}</p>
        }
    });
    view! {
        {asked}
        <AmenderFirst/>
    }
}

/// Of a signed case, that whoever changes it is named first; where nobody is yet.
#[component]
pub fn AmenderFirst() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let amender = sheet.amender();
    let wanted = memo(move || signed(desk, sheet) && amender.with(|by| by.trim().is_empty()));
    move || wanted.get().then(|| view! { <p class="second">{desk.say(Common::AmenderFirst)}</p> })
}

/// Whether it has a record, as far as one is read.
fn signed(desk: Desk, sheet: Sheet) -> bool {
    let id = sheet.id();
    desk.records.with(|all| all.iter().any(|r| r.id() == id))
}

/// Who does what keeps a name: the technician, who may not be named yet; of a signed case whoever amends. `None` where
/// nobody is named as that, and the eye is led to where it is asked.
pub fn who(desk: Desk, sheet: Sheet) -> Option<String> {
    if !untrack(|| signed(desk, sheet)) {
        return Some(sheet.draft.with_untracked(|d| d.text(Field::Technician).trim().to_owned()));
    }
    let by = sheet.amender().get_untracked().trim().to_owned();
    if by.is_empty() {
        go(sheet, Stage::Later);
        // Once that stage is there, and the keyboard at its head.
        request_animation_frame(|| focus::first("#amend_by"));
        return None;
    }
    Some(by)
}

/// The same of what nobody can do without a name: a check by nobody is none.
pub fn by(desk: Desk, sheet: Sheet) -> Option<String> {
    let by = who(desk, sheet)?;
    if by.is_empty() {
        focus::unfolded("technician");
        return None;
    }
    Some(by)
}

/// Confirms something now: by whoever is named for that stage, else by the technician, and of a signed case by whoever
/// amends.
pub fn confirm(desk: Desk, sheet: Sheet, kind: CheckKind) -> bool {
    let named = sheet.draft.with_untracked(|d| d.checks_now(kind).to_owned());
    let named = Some(named).filter(|who| !who.is_empty() && !untrack(|| signed(desk, sheet)));
    let Some(by) = named.or_else(|| by(desk, sheet)) else { return false };
    // With nobody, or with oneself, nothing is read back.
    let nobody = |d: &Draft| d.receives_own() || d.text(Field::HandedTo).trim().is_empty();
    if kind == CheckKind::HandOver && sheet.draft.with_untracked(nobody) {
        focus::first("#handed_to");
        return false;
    }
    let at = clock::now().at;
    sheet.edit(|d| {
        let of = if kind == CheckKind::HandOver { d.place_read_back() } else { String::new() };
        d.checks.insert(kind, Check { by, at, of });
    });
    true
}

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
    let tick = move |event: web_sys::Event| {
        if !event_target_checked(&event) {
            sheet.edit(|draft| draft.take_back(kind));
        } else if !confirm(desk, sheet, kind) {
            event_target::<web_sys::HtmlInputElement>(&event).set_checked(false);
        }
    };
    let by = move || {
        done.with(|d| d.as_ref().map(|c| format!("{} {}", c.by, unit::clock(c.at, sheet.offset.get()))))
    };
    view! {
        <label class="check">
            <input type="checkbox" id=id prop:checked=move || done.with(Option::is_some) on:change=tick/>
            <span>{desk.say(CheckName(kind))} <span class="second">{by}</span></span>
        </label>
    }
}
