//! A first page, to prove the machinery.

use leptos::prelude::*;

/// The whole page.
#[component]
pub fn App() -> impl IntoView {
    let (count, set_count) = signal(0_u32);
    view! {
        <main>
            <h1>"Strawline"</h1>
            <button on:click=move |_| set_count.update(|n| *n = n.saturating_add(1))>{count}</button>
        </main>
    }
}
