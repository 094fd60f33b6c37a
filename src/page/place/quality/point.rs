//! The count chosen on the chart: which preparation, what speaks, and leaving it out.

use super::decide::{Deciding, decide};
use super::sight::{Sight, View};
use crate::dom::prelude::*;
use crate::place::records::show_record;
use std::sync::Arc;
use strawline::quality::group::GroupBy;
use strawline::words::charts::{ChartLine, ChartSays, ChartWord as Word};

/// The count chosen; nothing before one is.
pub fn point(view: View) -> Markup {
    let desk = view.desk;
    let chosen = memo(move || {
        let id = view.chosen.get()?;
        view.sight.with(|s| {
            let s = s.as_ref()?;
            let row = s.rows.iter().find(|r| r.counted.id == id)?;
            Some((row.clone(), Sight::kind(s)))
        })
    });
    let shown = move || {
        let (row, kind) = chosen.get()?;
        let head = ChartLine::Point(row.number, view.day(row.counted.at), kind, view.value(row.value));
        let parts = GroupBy::ALL.into_iter().filter_map(|by| {
            let name = view.group_name(by, by.of(&row.counted).trim());
            (!name.is_empty())
                .then(|| view! { <p class="second">{desk.say(ChartLine::From(desk.say(by), name))}</p> })
        });
        let signals = row.signals.iter().map(|s| view! { <p>{desk.say(*s)}</p> }).collect_view();
        let doing = if row.counted.demo {
            view! { <p class="second">{desk.say(ChartSays::DemoNotDecided)}</p> }
        } else {
            let id = row.counted.id.clone();
            let (act, undo, open) = (id.clone(), id.clone(), id);
            let what = Deciding {
                id: "leave-out".to_owned(),
                button: Word::LeaveOutNow,
                who: Word::Who,
                reason: true,
                done: ChartSays::LeftOutDone,
            };
            let undo = move |d: &mut strawline::quality::decided::Decisions, by: &str, at| {
                d.include_again(&undo, by, at)
            };
            let form =
                decide(desk, what, move |d, by, at, why| d.exclude(&act, by, at, why), Some(Arc::new(undo)));
            view! {
                <div class="buttons">
                    <button type="button" class="button" on:click=move |_| show_record(desk, &open)>
                        {desk.say(Word::OpenRecord)}
                    </button>
                </div>
                <details class="more">
                    <summary>{desk.say(Word::LeaveOut)}</summary>
                    <div>{form}</div>
                </details>
            }
        };
        Some(view! {
            <section class="well" id="point" tabindex="-1" aria-label=desk.say(Word::Point)>
                <p><b>{desk.say(head)}</b></p>
                {parts.collect_view()}
                {signals}
                {doing}
            </section>
        })
    };
    (shown).into_view()
}
