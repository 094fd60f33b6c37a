//! The ledger strip along the foot.

use leptos::prelude::*;

/// To come.
#[component]
pub fn Ledger() -> impl IntoView {}
