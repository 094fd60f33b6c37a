//! The table behind the chart, and the counts that do not enter.

use super::decide::{Deciding, decide};
use super::sight::{Line, Out, Sight, View};
use crate::dom::prelude::*;
use crate::place::records::show_record;
use std::sync::Arc;
use strawline::quality::decided::Decisions;
use strawline::quality::facts::Excluded;
use strawline::words::charts::{ChartSays, ChartWord as Word, StableName};
use strawline::words::quality::ExcludedWords;

/// So many stand beside the chart.
const LATEST: usize = 9;

fn stable(view: View) -> Option<String> {
    view.sight.with(|s| s.as_ref().map(|s| view.desk.say(StableName(s.kind()))))
}

/// A number that chooses its count.
fn number(view: View, row: &Line) -> Markup {
    let id = row.counted.id.clone();
    view! {
        <th scope="row">
            <button type="button" class="link" on:click=move |_| view.choose(&id)>
                {row.number.to_string()}
            </button>
        </th>
    }
}

/// The latest counts in short.
pub fn latest(view: View) -> Markup {
    let desk = view.desk;
    let row = move |row: Line| {
        view! {
            <tr class:speaks=!row.signals.is_empty()>
                {number(view, &row)}
                <td class="n">{view.day(row.counted.at)}</td>
                <td class="lot">{row.counted.container_lot.clone()}</td>
                <td class="num"><b>{view.value(row.value)}</b></td>
            </tr>
        }
    };
    let rows = move || {
        let latest: Vec<Line> =
            view.sight.with(|s| s.iter().flat_map(|s| s.rows.iter().rev()).take(LATEST).cloned().collect());
        latest.into_iter().map(row).collect_view()
    };
    view! {
        <table class="table">
            <caption>
                <h3>{desk.say(Word::Latest)}</h3>
            </caption>
            <thead>
                <tr>
                    <th scope="col">{desk.say(Word::Number)}</th>
                    <th scope="col">{desk.say(Word::Day)}</th>
                    <th scope="col">{desk.say(Word::ContainerLot)}</th>
                    <th scope="col" class="num">{move || stable(view)}</th>
                </tr>
            </thead>
            <tbody>{rows}</tbody>
        </table>
    }
}

/// Every count of the chart, the newest first.
pub fn all(view: View) -> Markup {
    let desk = view.desk;
    let row = move |row: Line| {
        let remarks: Vec<String> = row
            .in_baseline
            .then(|| desk.say(Word::InBaseline))
            .into_iter()
            .chain(row.signals.iter().map(|s| desk.say(*s)))
            .collect();
        view! {
            <tr>
                {number(view, &row)}
                <td class="n">{view.day(row.counted.at)}</td>
                <td class="lot">{row.counted.container_lot.clone()}</td>
                <td class="lot">{row.counted.anticoagulant_lot.clone()}</td>
                <td>{row.counted.operator.clone()}</td>
                <td class="num"><b>{view.value(row.value)}</b></td>
                <td class="num">{row.running.map(|r| view.value(r.mean))}</td>
                <td>{remarks.join(" ")}</td>
            </tr>
        }
    };
    let rows = move || {
        let rows: Vec<Line> =
            view.sight.with(|s| s.iter().flat_map(|s| s.rows.iter().rev()).cloned().collect());
        rows.into_iter().map(row).collect_view()
    };
    let column = |word: Word| view! { <th scope="col">{desk.say(word)}</th> };
    view! {
        <div class="wide" tabindex="0" role="region" aria-label=desk.say(Word::AllRows)>
            <table class="table">
                <thead>
                    <tr>
                        {[Word::Number, Word::Day, Word::ContainerLot, Word::AnticoagulantLot, Word::By].map(column)}
                        <th scope="col" class="num">{move || stable(view)}</th>
                        <th scope="col" class="num">{desk.say(Word::RunningMean)}</th>
                        {column(Word::Notes)}
                    </tr>
                </thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
    }
}

/// The counts that do not enter, each with why, and a way back for what a person left out.
pub fn left_out(view: View) -> Markup {
    let desk = view.desk;
    let one = move |out: Out| {
        let offset = desk.offset.get_untracked();
        let why =
            out.why.iter().map(|w| view! { <p class="second">{desk.say(ExcludedWords(w, offset))}</p> });
        let by_hand = out.why.iter().find_map(|w| match w {
            Excluded::ByHand { why, .. } => Some(why.clone()),
            _ => None,
        });
        let (id, case) = (format!("let-in-{}", out.counted.id), out.counted.id.clone());
        let open = out.counted.id.clone();
        let what =
            Deciding { id, button: Word::LetIn, who: Word::Who, reason: false, done: ChartSays::LetInDone };
        let (act, undo) = (case.clone(), case);
        let back = match by_hand {
            Some(why) => {
                let undo = move |d: &mut Decisions, by: &str, at| d.exclude(&undo, by, at, &why);
                let act = move |d: &mut Decisions, by: &str, at, _: &str| d.include_again(&act, by, at);
                Some(decide(desk, what, act, Some(Arc::new(undo))))
            }
            None if out.why.iter().any(Excluded::can_be_let_in) && !out.counted.demo => {
                let undo = move |d: &mut Decisions, by: &str, at| d.keep_out(&undo, by, at);
                let act = move |d: &mut Decisions, by: &str, at, _: &str| d.let_in(&act, by, at);
                Some(decide(desk, what, act, Some(Arc::new(undo))))
            }
            None => None,
        };
        view! {
            <div class="field">
                <div class="field-name">
                    <p>{view.day(out.counted.at)}</p>
                    {why.collect_view()}
                </div>
                <div class="entry">
                    <button type="button" class="button small" on:click=move |_| show_record(desk, &open)>
                        {desk.say(Word::OpenRecord)}
                    </button>
                </div>
                {back}
            </div>
        }
    };
    let list = move || {
        let all: Vec<Out> =
            view.sight.with(|s| s.iter().flat_map(|s: &Sight| s.left_out.iter().rev()).cloned().collect());
        let n = all.len();
        (n > 0).then(|| {
            view! {
                <details class="item" id="left-out">
                    <summary>
                        <h3>{desk.say(Word::NotEntering)}</h3>
                        " "
                        <span class="second">{n.to_string()}</span>
                    </summary>
                    <div>{all.into_iter().map(one).collect_view()}</div>
                </details>
            }
        })
    };
    (list).into_view()
}
