//! Before the needle: identity, anticoagulant, fill mark.

use leptos::prelude::*;

/// To come.
#[component]
pub fn BeforeNeedle() -> impl IntoView {}
