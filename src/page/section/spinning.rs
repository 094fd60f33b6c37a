//! Spinning: stages, speeds, ratings, what is due.

use leptos::prelude::*;

/// To come.
#[component]
pub fn Spinning() -> impl IntoView {}
