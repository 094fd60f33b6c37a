//! What became of a text that was to be copied: that it was, or the text to be copied by hand.

use crate::dom::prelude::*;
use crate::shell::copy::Copied;
use crate::state::Desk;
use strawline::words::out::{OutSays, OutWord};

/// The line, and the text where the browser did not copy it.
pub fn chart_text(desk: Desk, told: Copied) -> Markup {
    let said = move || {
        told.with(|t| t.as_ref().map(|(done, _)| if *done { OutSays::Copied } else { OutSays::ByHand }))
    };
    let by_hand = move || {
        let text = told.with(|t| t.as_ref().filter(|(done, _)| !done).map(|(_, text)| text.clone()))?;
        Some(view! {
            <textarea id="chart-text" rows="12" readonly aria-label=desk.say(OutWord::Text) prop:value=text></textarea>
        })
    };
    view! {
        <p class="second" role="status">{move || said().map(|word| desk.say(word))}</p>
        {by_hand}
    }
}
