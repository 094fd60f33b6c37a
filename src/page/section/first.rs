//! The first screen: begin a case, open the demo, or go on with an open one.

use leptos::prelude::*;

/// To come.
#[component]
pub fn First() -> impl IntoView {}
