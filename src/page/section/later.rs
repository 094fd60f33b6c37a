//! Later: late counts and the amended card.

use leptos::prelude::*;

/// To come.
#[component]
pub fn Later() -> impl IntoView {}
