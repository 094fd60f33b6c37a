//! Typing never waits: what is typed is painted first and enters the draft in the next pause between two keys, and
//! of keys without a pause every few frames; a mark and a lot enter it when typing rests. Before anything else is done it is
//! in.

use super::clock::moment;
use super::{focus, keep};
use crate::dom::prelude::*;
use crate::state::Sheet;
use leptos::ev;
use std::cell::{Cell, RefCell};
use std::time::Duration;
use strawline::draft::Field;
use strawline::finding::LotOf;
use strawline::scan::SEPARATOR;
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::Closure;
use web_sys::{Element, Event, HtmlInputElement, KeyboardEvent};

struct Typed {
    sheet: Sheet,
    field: Field,
    text: String,
}

/// A pause between two keys, and how long keys without one may go on; in ms, below what a person notices.
const PAUSE: f64 = 40.0;
const MOST: f64 = 120.0;
/// A press held for longer keeps nothing waiting [ms].
const LONG: f64 = 1000.0;
/// A mark rests after so long without a key [ms].
const REST: f64 = 600.0;

thread_local! {
    /// Number of what is typed in one go.
    static BURST: Cell<u32> = const { Cell::new(0) };
    static LAST_KEY: Cell<f64> = const { Cell::new(0.0) };
    static TYPED: RefCell<Option<Typed>> = const { RefCell::new(None) };
    /// Since when a finger or a mouse is down.
    static PRESSED: Cell<Option<f64>> = const { Cell::new(None) };
    /// A field that was changed and left by that press: it says so once it is over.
    static LEFT: RefCell<Option<HtmlInputElement>> = const { RefCell::new(None) };
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
    if left <= 0.0 && !pressed() {
        return enter();
    }
    let wait = if left > 0.0 { left } else { PAUSE };
    set_timeout(move || settle_at_rest(burst, rest, latest), Duration::from_secs_f64(wait / 1000.0));
}

/// Whether half a text of this field would say what the next key takes back: a Stop, or a code read in part.
fn rests(field: Field) -> bool {
    matches!(field, Field::FillActual(_) | Field::AnticoagulantActual(_)) || LotOf::of_lot(field).is_some()
}

/// Whether something typed is not in the draft yet, nor in Bench.
pub fn waits() -> bool {
    TYPED.with_borrow(Option::is_some) || LEFT.with_borrow(Option::is_some)
}

/// Writes what is typed, wherever it belongs, also in the middle of a press.
pub fn settle() {
    PRESSED.set(None);
    leave(LEFT.take());
    enter();
}

/// Writes what is typed into the draft.
fn enter() {
    if let Some(Typed { sheet, field, text }) = TYPED.take() {
        BURST.set(BURST.get().wrapping_add(1));
        sheet.write(field, text.clone());
        if let Some(of) = LotOf::of_lot(field) {
            let lot = sheet.draft.with_untracked(|d| d.text(field).to_owned());
            filled(&field.key(), &text, &lot);
            let stop = sheet.answer.with_untracked(|a| a.stop_of_lot(of).map(|f| f.kind.key()));
            if let Some(key) = stop.filter(|_| text != lot) {
                after_paint(move || focus::show(&format!("stop-{key}")));
            }
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

/// A button, a choice or another field finds what was typed before it in the draft. What that changes on the page may
/// move it, so it waits as long as a finger or a mouse is down: what was pressed is what is let go.
pub fn follow() {
    listen("pointerdown", |_| PRESSED.set(Some(moment())));
    for over in ["pointerup", "pointercancel"] {
        listen(over, |_| {
            let press = PRESSED.get();
            // The click comes by then, if one comes.
            let without = move || {
                if PRESSED.get() == press {
                    settle();
                }
            };
            set_timeout(without, Duration::from_secs_f64(MOST / 1000.0));
        });
    }
    listen("click", |_| settle());
    listen("change", |event| {
        let target = event.target();
        let long =
            target.as_ref().and_then(|t| t.dyn_ref::<Element>()).is_some_and(|e| e.tag_name() == "TEXTAREA");
        match target.and_then(|t| t.dyn_into::<HtmlInputElement>().ok()) {
            // It has said all by its keys.
            _ if long && pressed() => {}
            // Of a second one the first has waited long enough.
            Some(input) if pressed() && LEFT.with_borrow(Option::is_none) && is_typed(&input) => {
                event.stop_propagation();
                LEFT.set(Some(input));
                set_timeout(late, Duration::from_secs_f64(LONG / 1000.0));
            }
            _ => settle(),
        }
    });
    listen("focusout", |_| {
        if !pressed() {
            enter();
        }
    });
    // The page is never taken down, so neither is the listener.
    let _stays = window_event_listener(ev::keydown, |event| match event.key().as_str() {
        "Enter" => settle(),
        "]" if event.ctrl_key() => separate(&event),
        _ => {}
    });
}

/// Hears of an event before whoever it is for, as long as the page stands.
fn listen(name: &str, heard: impl Fn(Event) + 'static) {
    let heard = Closure::<dyn Fn(Event)>::new(heard).into_js_value();
    let added = window().add_event_listener_with_callback_and_bool(name, heard.unchecked_ref(), true);
    debug_assert!(added.is_ok(), "{name}");
}

/// Whether a finger or a mouse is down, and not held for long.
fn pressed() -> bool {
    PRESSED.get().is_some_and(|since| moment() - since < LONG)
}

/// Whether an input takes keys, not a tap, a slide or a file.
fn is_typed(input: &HtmlInputElement) -> bool {
    !matches!(input.type_().as_str(), "checkbox" | "radio" | "range" | "file")
}

/// A field that was left says what it holds; one that is gone says nothing.
fn leave(input: Option<HtmlInputElement>) {
    if let (Some(input), Ok(changed)) = (input.filter(|i| i.is_connected()), Event::new("change")) {
        // It calls nothing off.
        let _heard = input.dispatch_event(&changed);
    }
}

/// Where a press was never seen to end, what waits for its end waits no longer.
fn late() {
    if LEFT.with_borrow(Option::is_some) && !pressed() {
        settle();
    }
}

/// Calls once the next frame is on the screen. A page out of sight paints nothing.
pub fn after_paint(call: impl FnOnce() + 'static) {
    let soon = move || set_timeout(call, Duration::ZERO);
    if document().hidden() { soon() } else { request_animation_frame(soon) }
}
