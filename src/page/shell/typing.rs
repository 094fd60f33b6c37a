//! Typing never waits: what is typed is painted first and enters the draft in the next pause between two keys, and
//! of keys without a pause every few frames; a mark and a lot enter it when typing rests. Before anything else is done it is
//! in.

use super::keep;
use crate::dom::prelude::*;
use crate::state::Sheet;
use leptos::ev;
use std::cell::{Cell, RefCell};
use std::time::Duration;
use strawline::draft::Field;
use strawline::finding::LotOf;
use strawline::scan::SEPARATOR;
use wasm_bindgen::JsCast;
use web_sys::{Event, HtmlInputElement, KeyboardEvent};

struct Typed {
    sheet: Sheet,
    field: Field,
    text: String,
}

/// A pause between two keys, and how long keys without one may go on; in ms, below what a person notices.
const PAUSE: f64 = 40.0;
const MOST: f64 = 120.0;
/// A mark rests after so long without a key [ms].
const REST: f64 = 600.0;

thread_local! {
    /// Number of what is typed in one go.
    static BURST: Cell<u32> = const { Cell::new(0) };
    static LAST_KEY: Cell<f64> = const { Cell::new(0.0) };
    static TYPED: RefCell<Option<Typed>> = const { RefCell::new(None) };
}

/// What now stands in a field.
pub fn typed(sheet: Sheet, field: Field, text: String) {
    let same = |t: &Typed| t.field == field && t.sheet.draft == sheet.draft;
    if TYPED.with_borrow(|t| t.as_ref().is_some_and(|t| !same(t))) {
        settle();
    }
    let first = TYPED.replace(Some(Typed { sheet, field, text })).is_none();
    if first {
        keep::mark_saved(false);
    }
    let now = moment();
    LAST_KEY.set(now);
    if first {
        let (rest, most) = if rests(field) { (REST, f64::INFINITY) } else { (PAUSE, MOST) };
        let burst = BURST.get();
        after_paint(move || settle_at_rest(burst, rest, now + most));
    }
}

/// Writes what is typed once no key has come for so long, or at this moment at the latest.
fn settle_at_rest(burst: u32, rest: f64, latest: f64) {
    // Written meanwhile: what waits now is of another field, or came later.
    if BURST.get() != burst {
        return;
    }
    let now = moment();
    let left = (LAST_KEY.get() + rest).min(latest) - now;
    if left <= 0.0 {
        return settle();
    }
    set_timeout(move || settle_at_rest(burst, rest, latest), Duration::from_secs_f64(left / 1000.0));
}

/// Time since the page began [ms]: no clock that is set moves it.
fn moment() -> f64 {
    window().performance().map_or(f64::INFINITY, |p| p.now())
}

/// Whether half a text of this field would say what the next key takes back: a Stop, or a code read in part.
fn rests(field: Field) -> bool {
    matches!(field, Field::FillActual(_) | Field::AnticoagulantActual(_)) || LotOf::of_lot(field).is_some()
}

/// Whether something typed is not in the draft yet.
pub fn waits() -> bool {
    TYPED.with_borrow(Option::is_some)
}

/// Writes what is typed into the draft.
pub fn settle() {
    if let Some(Typed { sheet, field, text }) = TYPED.take() {
        BURST.set(BURST.get().wrapping_add(1));
        sheet.write(field, text.clone());
        if LotOf::of_lot(field).is_some() {
            filled(&field.key(), &text, &sheet.draft.with_untracked(|d| d.text(field).to_owned()));
        }
    }
}

/// Where a code became a lot, the lot takes its place, and is marked so that the next code takes the place of it.
fn filled(id: &str, typed: &str, lot: &str) {
    let input = document().get_element_by_id(id).and_then(|e| e.dyn_into::<HtmlInputElement>().ok());
    if let Some(input) = input.filter(|_| typed != lot) {
        input.set_value(lot);
        input.select();
    }
}

/// A reader types the separator of a code as the key that gives ASCII 29 on a terminal; browsers drop it.
fn separate(event: &KeyboardEvent) {
    let at = event.target().and_then(|t| t.dyn_into::<HtmlInputElement>().ok());
    let lot = at.filter(|i| Field::from_key(&i.id()).and_then(LotOf::of_lot).is_some());
    if let (Some(input), Ok(changed)) = (lot, Event::new("input")) {
        input.set_value(&format!("{}{SEPARATOR}", input.value()));
        event.prevent_default();
        // What listens to the field hears of it as of any key; it calls nothing off.
        let _heard = input.dispatch_event(&changed);
    }
}

/// A button, a choice or another field finds what was typed before it in the draft.
pub fn follow() {
    // The page is never taken down, so neither are the listeners. Leaving a field comes before any tap elsewhere.
    let _stays = window_event_listener(ev::focusout, |_| settle());
    let _stays = window_event_listener(ev::pointerdown, |_| settle());
    let _stays = window_event_listener(ev::keydown, |event| match event.key().as_str() {
        "Enter" => settle(),
        "]" if event.ctrl_key() => separate(&event),
        _ => {}
    });
}

/// Calls once the next frame is on the screen. A page out of sight paints nothing.
pub fn after_paint(call: impl FnOnce() + 'static) {
    let soon = move || set_timeout(call, Duration::ZERO);
    if document().hidden() { soon() } else { request_animation_frame(soon) }
}
