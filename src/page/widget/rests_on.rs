//! What an expectation rests on, wherever one is used; one tap behind it, what the next count would change.

use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use strawline::quality::expect::ground_of;
use strawline::quality::{History, learned};
use strawline::words::charts::{ChartLine, ChartWord};
use strawline::words::quality::NextWords;

/// "Recovery from 12 of your counts", for the protocol of the case.
#[component]
pub fn RestsOn() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let ground = memo(move || {
        sheet.draft.with(|d| {
            let protocol = d.kit.protocol.as_ref()?;
            Some((protocol.kind, ground_of(protocol.expectation.as_ref()?)))
        })
    });
    let words = move || {
        ground
            .get()
            .map(|(kind, ground)| desk.say(ChartLine::RestsOn(kind, desk.say(ground))))
            .unwrap_or_default()
    };
    let opened = RwSignal::new(false);
    let key = memo(move || sheet.draft.with(|d| d.kit.protocol.as_ref().map(|p| p.id.clone())));
    // The counts are looked at only once somebody asks.
    let next = move || {
        if !opened.get() {
            return None;
        }
        let protocol = key.get().and_then(|key| desk.bench.with(|b| b.protocol(&key).cloned()))?;
        let counts = desk.counts.get();
        let style = sheet.conventions().numbers;
        let next = desk.decisions.with(|d| learned(&protocol, None, &counts, d, History::Clinic).next);
        next.map(|next| desk.say(NextWords(next, style)))
    };
    view! {
        <details class="more" hidden=move || ground.with(Option::is_none) on:toggle=move |_| opened.set(true)>
            <summary>{words}</summary>
            <div>
                <p class="second">{desk.say(ChartWord::NextCount)}</p>
                <p>{next}</p>
            </div>
        </details>
    }
}
