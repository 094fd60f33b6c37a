//! Order: who, what and where, which containers, which count.

use leptos::prelude::*;

/// To come.
#[component]
pub fn Order() -> impl IntoView {}
