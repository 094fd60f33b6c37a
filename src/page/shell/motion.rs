//! Whether the person at the screen wants things to move.

use leptos::prelude::window;

/// The system asks for less motion, now.
pub fn unwanted() -> bool {
    let asked = window().match_media("(prefers-reduced-motion: reduce)").ok().flatten();
    asked.is_some_and(|query| query.matches())
}
