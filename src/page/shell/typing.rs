//! Typing never waits: what is typed is painted first and enters the draft right after, all keys of one frame
//! together; a mark enters it when typing rests. Before anything else is done it is in.

use super::keep;
use crate::dom::prelude::*;
use crate::state::Sheet;
use leptos::ev;
use std::cell::{Cell, RefCell};
use std::time::Duration;
use strawline::draft::Field;

struct Typed {
    sheet: Sheet,
    field: Field,
    text: String,
}

/// Typing rests after so long without a key.
const REST: Duration = Duration::from_millis(600);

thread_local! {
    static KEYS: Cell<u32> = const { Cell::new(0) };
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
    if rests(field) {
        let key = KEYS.get().wrapping_add(1);
        KEYS.set(key);
        set_timeout(
            move || {
                if KEYS.get() == key {
                    settle()
                }
            },
            REST,
        );
    } else if first {
        after_paint(settle);
    }
}

/// Whether half a number of this field would raise a Stop that the next key takes back.
fn rests(field: Field) -> bool {
    matches!(field, Field::FillActual(_) | Field::AnticoagulantActual(_))
}

/// Whether something typed is not in the draft yet.
pub fn waits() -> bool {
    TYPED.with_borrow(Option::is_some)
}

/// Writes what is typed into the draft.
pub fn settle() {
    if let Some(Typed { sheet, field, text }) = TYPED.take() {
        sheet.write(field, text);
    }
}

/// A button, a choice or another field finds what was typed before it in the draft.
pub fn follow() {
    // The page is never taken down, so neither are the listeners. Leaving a field comes before any tap elsewhere.
    let _stays = window_event_listener(ev::focusout, |_| settle());
    let _stays = window_event_listener(ev::pointerdown, |_| settle());
    let _stays = window_event_listener(ev::keydown, |event| {
        if event.key() == "Enter" {
            settle();
        }
    });
}

/// Calls once the next frame is on the screen. A page out of sight paints nothing.
pub fn after_paint(call: impl FnOnce() + 'static) {
    let soon = move || set_timeout(call, Duration::ZERO);
    if document().hidden() { soon() } else { request_animation_frame(soon) }
}
