//! What an expectation rests on, wherever one is used; one tap behind it, what the next count would change.

use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use strawline::quality::expect::ground_of;
use strawline::quality::{History, learned_for};
use strawline::words::charts::{ChartLine, ChartSays, ChartWord};
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
        let container = sheet.draft.with(|d| d.kit.container.as_ref().map(|c| c.id.clone()));
        let (next, own) = desk.decisions.with(|d| {
            let found = learned_for(&protocol, container.as_deref(), &counts, d, History::Clinic);
            (found.next, found.of.container.is_some())
        });
        next.map(|next| {
            let next = desk.say(NextWords(next, style));
            if own { format!("{} {next}", desk.say(ChartSays::OfContainer)) } else { next }
        })
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
