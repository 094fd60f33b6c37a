//! A tick that keeps who confirmed it and when.

use super::{Entry, WordsBox};
use crate::dom::prelude::*;
use crate::section::header::go;
use crate::shell::{clock, focus};
use crate::state::{Desk, Sheet};
use strawline::draft::{Check, CheckKind, Draft, Field, Stage};
use strawline::words::choice::CheckName;
use strawline::words::page::Common;
use strawline::words::product::Late;
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
        <AmenderFirst id="amender_stage"/>
    }
}

/// Of a signed case, who changes it, asked where it is changed while nobody is named yet.
#[component]
pub fn AmenderFirst(
    /// Id of the input, another one for each place of a stage.
    #[prop(default = "amender_times")]
    id: &'static str,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let by = sheet.amender();
    let unnamed = move || signed(desk, sheet) && by.with(|by| by.trim().is_empty());
    // Once asked here it stays: nothing is taken away under the hand.
    let asked = RwSignal::new(untrack(unnamed));
    Effect::new(move |_| {
        if unnamed() && !asked.get_untracked() {
            asked.set(true);
        }
    });
    move || {
        asked.get().then(|| {
            view! {
                <div class="field text amender">
                    <div class="field-name">
                        <label for=id>{desk.say(Late::Who)}</label>
                        <p class="second" id=format!("{id}-more")>{desk.say(Common::AmenderFirst)}</p>
                    </div>
                    <WordsBox id text=by/>
                </div>
            }
        })
    }
}

/// Where whoever amends is asked, the nearest first: in the dialog that is open, in the fold that holds the keyboard, in
/// the stage in view as far as it is unfolded.
const ASKED: [&str; 3] = [
    "dialog[open] .amender input",
    "#work details[open]:focus-within .amender input",
    "#work .amender:not(details:not([open]) *) input",
];

/// Leads the eye to the nearest of them; whether there is one.
fn asked_here() -> bool {
    let document = web_sys::window().and_then(|w| w.document());
    let there = |at: &&&str| document.as_ref().is_some_and(|d| matches!(d.query_selector(at), Ok(Some(_))));
    let nearest = ASKED.iter().find(there);
    if let Some(at) = nearest {
        focus::first(at);
    }
    nearest.is_some()
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
        if !asked_here() {
            go(sheet, Stage::Later);
            // Once that stage is there, and the keyboard at its head.
            request_animation_frame(|| focus::first("#amend_by"));
        }
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
        let ticked = event_target_checked(&event);
        // Of a signed case a confirmation is not taken back by nobody either.
        let may = match ticked {
            true => confirm(desk, sheet, kind),
            false => who(desk, sheet).is_some(),
        };
        if !may {
            event_target::<web_sys::HtmlInputElement>(&event).set_checked(!ticked);
        } else if !ticked {
            sheet.edit(|draft| draft.take_back(kind));
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
