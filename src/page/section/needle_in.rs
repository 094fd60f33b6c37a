//! Needle in: one number, one line, one clock.

use leptos::prelude::*;

/// To come.
#[component]
pub fn NeedleIn() -> impl IntoView {}
