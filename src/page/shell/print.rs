//! The browser's print dialog. What prints is in the page already, hidden from the screen.

use leptos::prelude::window;

/// Prints the paper. A browser without a print dialog leaves everything as it is.
pub fn print() {
    if let Err(error) = window().print() {
        web_sys::console::warn_1(&error);
    }
}
