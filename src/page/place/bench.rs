//! Bench: containers, rotors, protocols, limits, header, label wording.

use leptos::prelude::*;

/// To come.
#[component]
pub fn BenchPlace() -> impl IntoView {}
