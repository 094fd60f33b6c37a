//! A secret, typed unseen.

use crate::dom::prelude::*;
use crate::state::Desk;
use strawline::words::closed::ClosedWord;

/// Label and entry; Enter goes on.
#[component]
pub fn PassBox(
    /// Id of the input.
    id: &'static str,
    /// What is asked.
    label: ClosedWord,
    /// What is typed.
    value: RwSignal<String>,
    /// What Enter does.
    go: impl Fn() + Copy + 'static,
    /// It is shown: a recovery key is read off paper.
    #[prop(optional)]
    show: bool,
) -> impl IntoView {
    let desk = Desk::here();
    let enter = move |event: web_sys::KeyboardEvent| {
        if event.key() == "Enter" {
            go();
        }
    };
    view! {
        <div class="field text">
            <div class="field-name"><label for=id>{desk.say(label)}</label></div>
            <div class="entry">
                <input
                    id=id
                    class="words"
                    type=if show { "text" } else { "password" }
                    autocomplete="off"
                    maxlength="200"
                    prop:value=move || value.get()
                    on:input=move |event| value.set(event_target_value(&event))
                    on:keydown=enter
                />
            </div>
        </div>
    }
}
