//! The browser's print dialog. What prints is in the page already, hidden from the screen.

use crate::state::{Desk, Paper};
use leptos::leptos_dom::helpers::request_animation_frame;
use leptos::prelude::{GetUntracked, Set, WithUntracked, window};

/// Prints the card of the last entry of a record; the case in view stays there. Of two that are asked for at once the
/// later one prints.
pub fn print_record(desk: Desk, id: String) {
    desk.printed.set(id.clone());
    desk.paper.set(Paper::Record);
    once_drawn(move || {
        if desk.paper.get_untracked() == Paper::Record && desk.printed.with_untracked(|of| *of == id) {
            dialog();
        }
    });
}

/// Prints the paper, once it is drawn.
pub fn print() {
    once_drawn(dialog);
}

/// What was set is drawn before the next frame: that is when what follows it runs.
fn once_drawn(then: impl FnOnce() + 'static) {
    request_animation_frame(move || request_animation_frame(then));
}

/// A browser without a print dialog leaves everything as it is.
fn dialog() {
    if let Err(error) = window().print() {
        web_sys::console::warn_1(&error);
    }
}
