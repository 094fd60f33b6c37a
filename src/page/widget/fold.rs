//! What stands one tap behind the main path.

use crate::dom::prelude::*;

/// A part that is folded away until it is wanted.
#[component]
pub fn Fold(
    /// What it is about.
    title: String,
    /// Opens it; it is never closed again by itself.
    #[prop(optional, into)]
    wanted: Option<Signal<bool>>,
    /// What stands in it is made when it is first opened. Not for what the eye may be led to from elsewhere.
    #[prop(optional)]
    lazy: bool,
    /// What stands in it.
    children: ChildrenFn,
) -> impl IntoView {
    let open = RwSignal::new(false);
    let made = RwSignal::new(!lazy);
    Effect::new(move |_| {
        if wanted.is_some_and(|w| w.get()) {
            open.set(true);
            made.set(true);
        }
    });
    view! {
        <details class="more" prop:open=open on:toggle=move |_| made.set(true)>
            <summary>{title}</summary>
            <div>{move || made.get().then(|| children())}</div>
        </details>
    }
}
