//! The browser's print dialog. What prints is in the page already, hidden from the screen.

use crate::state::{Desk, Paper};
use leptos::prelude::{Set, set_timeout, window};
use std::time::Duration;

/// Longer than another paper takes to be drawn.
const DRAWN: Duration = Duration::from_millis(150);

/// Prints a paper of a case that was only just gone to: once it is in view, for going there brings its card back.
pub fn print_there(desk: Desk, paper: Paper) {
    let print = move || {
        desk.paper.set(paper);
        print();
    };
    set_timeout(print, DRAWN);
}

/// Prints the paper, once it is drawn. A browser without a print dialog leaves everything as it is.
pub fn print() {
    let print = || {
        if let Err(error) = window().print() {
            web_sys::console::warn_1(&error);
        }
    };
    set_timeout(print, DRAWN);
}
