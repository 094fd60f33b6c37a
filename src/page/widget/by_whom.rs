//! Whom to name for a stage, one tap away.

use crate::dom::prelude::*;
use crate::shell::focus;
use crate::state::{Desk, Sheet};
use strawline::draft::Field;
use strawline::words::field::Label;

/// Those who may have done a stage, while it names nobody. Nothing is filled in by itself, and nothing waits for it.
#[component]
pub fn Offered(field: Field) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let offered = memo(move || sheet.draft.with(|d| d.who_offered(field)));
    let id = format!("{field}-offered");
    let one = move |who: String| {
        let text = who.clone();
        let tap = move |_| {
            sheet.write(field, text.clone());
            // The button goes; the keyboard stays at its place.
            request_animation_frame(move || focus::keep(&format!("{field}-offered")));
        };
        view! { <button type="button" class="offer" on:click=tap>{who}</button> }
    };
    let offers = move || {
        let all = offered.get();
        (!all.is_empty()).then(|| {
            view! {
                <div class="slip" role="group" aria-label=desk.say(Label(field))>
                    {all.into_iter().map(one).collect_view()}
                </div>
            }
        })
    };
    view! { <div id=id>{offers}</div> }
}
