//! Product: collect, count, share out, sign.

use leptos::prelude::*;

/// To come.
#[component]
pub fn Product() -> impl IntoView {}
