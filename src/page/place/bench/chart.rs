//! Order of the parts of a text for the chart.

use super::row::commit;
use crate::dom::prelude::*;
use crate::state::Desk;
use strawline::bench::chart::ChartPart;
use strawline::words::bench::BenchWord;

/// The parts, each with the button that moves it forward.
pub fn order(desk: Desk) -> Markup {
    let parts = move || desk.bench.with(|b| b.clinic.chart.parts().to_vec());
    let row = move |part: ChartPart| {
        let first = memo(move || desk.bench.with(|b| b.clinic.chart.parts().first() == Some(&part)));
        let earlier = move |_| {
            // A move always holds together.
            let moved = commit(desk, |b| {
                b.clinic.chart.earlier(part);
                Some(())
            });
            debug_assert_eq!(moved, Ok(()));
        };
        view! {
            <li class="field">
                <div class="field-name">
                    <p>{desk.say(part)}</p>
                </div>
                <div class="entry">
                    <button
                        type="button"
                        class="button small"
                        aria-label=format!("{}: {}", desk.say(BenchWord::Earlier), desk.say(part))
                        disabled=first
                        on:click=earlier
                    >
                        {desk.say(BenchWord::Earlier)}
                    </button>
                </div>
            </li>
        }
    };
    view! {
        <section class="bench-group">
            <details class="item">
                <summary>
                    <h2 class="heading">{desk.say(BenchWord::ChartOrder)}</h2>
                </summary>
                <div>
                    <p class="second">{desk.say(BenchWord::ChartOrderWhat)}</p>
                    <ol><For each=parts key=|part| *part let:part>{row(part)}</For></ol>
                </div>
            </details>
        </section>
    }
}
