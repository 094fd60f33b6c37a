//! What became of a text that was to be copied: that it was, or the text to be copied by hand.

use crate::dom::prelude::*;
use crate::shell::copy::Copied;
use crate::state::Desk;
use strawline::draft::CheckSign;
use strawline::words::Phrase;
use strawline::words::out::{self, OutSays, OutWord};

/// The line of a text for the chart, of the case with this check sign, and the text where the browser did not copy it.
pub fn chart_text(desk: Desk, told: Copied, sign: CheckSign) -> Markup {
    copied_text(desk, told, out::Copied(sign), OutWord::Text)
}

/// The same of any text: what is said once it is copied, and its name.
pub fn copied_text(
    desk: Desk,
    told: Copied,
    copied: impl Phrase + Copy + Send + Sync + 'static,
    name: impl Phrase + Copy + Send + Sync + 'static,
) -> Markup {
    let said = move || {
        told.with(|t| {
            t.as_ref().map(|(done, _)| if *done { desk.say(copied) } else { desk.say(OutSays::ByHand) })
        })
    };
    let by_hand = move || {
        let text = told.with(|t| t.as_ref().filter(|(done, _)| !done).map(|(_, text)| text.clone()))?;
        Some(view! {
            <textarea id="chart-text" rows="12" readonly aria-label=desk.say(name) prop:value=text></textarea>
        })
    };
    view! {
        <p class="second" role="status">{said}</p>
        {by_hand}
    }
}
