//! What prints.

use leptos::prelude::*;

/// To come.
#[component]
pub fn Paper() -> impl IntoView {}
