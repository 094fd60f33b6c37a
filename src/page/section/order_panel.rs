//! The order at a glance, beside the work.

use leptos::prelude::*;

/// To come.
#[component]
pub fn OrderPanel() -> impl IntoView {}
