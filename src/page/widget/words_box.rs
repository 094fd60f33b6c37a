//! A line of words that is no field of the worksheet.

use crate::dom::prelude::*;
use crate::state::Desk;
use strawline::draft::field::TooLong;
use strawline::words::field::LongLine;

/// The entry, and under it that it holds more letters than there is room for. What is typed stays whole.
#[component]
pub fn WordsBox(
    /// Id of the input; what describes it is `-more` and `-reading` after it, where they are there.
    #[prop(into)]
    id: String,
    /// What is typed.
    text: RwSignal<String>,
    /// What stands in it while nothing is typed.
    #[prop(optional, into)]
    standing: Option<Signal<String>>,
    /// It was refused.
    #[prop(optional, into)]
    wrong: Option<Signal<bool>>,
) -> impl IntoView {
    let desk = Desk::here();
    let over = memo(move || text.with(|text| TooLong::of(text, TooLong::USUAL)));
    let room = format!("{id}-room");
    view! {
        <div class="entry">
            <input
                id=id.clone()
                class="words"
                autocomplete="off"
                spellcheck="false"
                placeholder=move || standing.map(|s| s.get())
                aria-describedby=format!("{id}-more {id}-reading {room}")
                aria-invalid=move || wrong.is_some_and(|w| w.get()).then_some("true")
                prop:value=text
                on:input=move |event| text.set(event_target_value(&event))
            />
        </div>
        <p class="reading" class:wrong=move || over.with(Option::is_some) id=room aria-live="polite">
            {move || over.get().map(|over| desk.say(LongLine(over)))}
        </p>
    }
}
