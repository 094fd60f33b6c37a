//! Records: open cases, waiting for counts, signed records.

use leptos::prelude::*;

/// To come.
#[component]
pub fn Records() -> impl IntoView {}
