//! Header, clock strip, stages, banners.

use leptos::prelude::*;

/// To come.
#[component]
pub fn Banners() -> impl IntoView {}

/// To come.
#[component]
pub fn Header() -> impl IntoView {}

/// To come.
#[component]
pub fn Stages() -> impl IntoView {}
