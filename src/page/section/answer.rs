//! The answer that matters now, always in view: beside the work, or in a bar at the foot of a phone.

use leptos::prelude::*;
use strawline::draft::Stage;

/// To come.
#[component]
pub fn Answer(stage: Stage) -> impl IntoView {
    let _ = stage;
}

/// To come.
#[component]
pub fn Bar() -> impl IntoView {}
