//! The tables of the plan: ways side by side, and what relaxing each limit would buy.

use super::{Answer, Row, name_of, own};
use crate::dom::prelude::*;
use crate::shell::quiet::Quiet;
use crate::state::{Desk, Sheet};
use strawline::product::plan::Way;
use strawline::words::plan::PlanWord as Words;
use strawline::words::unit;

/// All ways side by side, each with its button. Made anew only when the ways are others.
#[component]
pub(super) fn Beside(
    /// The ways.
    rows: Memo<Vec<Row>>,
    /// Which of them the draft plans already.
    set: Memo<Option<usize>>,
    /// Uses one.
    take: Callback<Way>,
) -> impl IntoView {
    let desk = Desk::here();
    let body = move || {
        rows.get()
            .into_iter()
            .enumerate()
            .map(|(i, row)| {
                let Row { way, name, why, blood, median, range, ordered } = row;
                let label = format!("{}: {name}", desk.say(Words::Use));
                let now = move || (set.get() == Some(i)).then(|| format!("{}; ", desk.say(Words::SetNow)));
                view! {
                    <tr class:here=i == 0>
                        <th scope="row">
                            {name} <span class="second">{now} {why}</span> <b class="second">{ordered}</b>
                        </th>
                        <td class="num"><span class="slim second">{desk.say(Words::Blood)}</span> {blood}</td>
                        <td class="num predicted">
                            <span class="slim second">{desk.say(Words::InProduct)}</span>
                            {median}
                            <span class="range second">{range}</span>
                        </td>
                        <td class="num">
                            <button
                                type="button"
                                class="button small"
                                aria-label=label
                                on:click=move |_| take.run(way.clone())
                            >
                                {desk.say(Words::Use)}
                            </button>
                        </td>
                    </tr>
                }
            })
            .collect_view()
    };
    view! {
        <table class="table ways" hidden=move || rows.with(Vec::is_empty)>
            <caption>{desk.say(Words::Ways)}</caption>
            <thead>
                <tr>
                    <th scope="col">{desk.say(Words::Way)}</th>
                    <th scope="col" class="num">{desk.say(Words::Blood)}</th>
                    <th scope="col" class="num">{desk.say(Words::InProduct)}</th>
                    <td></td>
                </tr>
            </thead>
            <tbody>{body}</tbody>
        </table>
    }
}

/// What relaxing each limit would buy. None of it is within the limits, so none has a button.
#[component]
pub(super) fn Relaxing(plan: Quiet<Answer>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rows = memo(move || {
        let (c, own) = (sheet.conventions(), own(sheet));
        plan.answer.with(|a| match a {
            Some(Ok(found)) => found
                .relaxed
                .iter()
                .map(|r| {
                    let way = name_of(desk, &r.way, own.as_deref(), &c);
                    let blood = unit::volume(r.way.blood.value, &c).number;
                    let then = if r.met { Words::ThenMet } else { Words::ThenNotMet };
                    [desk.say(r.limit), way, blood, desk.say(then)]
                })
                .collect::<Vec<_>>(),
            _ => Vec::new(),
        })
    });
    let body = move || {
        rows.get()
            .into_iter()
            .map(|[limit, way, blood, then]| {
                view! {
                    <tr>
                        <th scope="row">{limit}</th>
                        <td>{way}</td>
                        <td class="num">{blood}</td>
                        <td><b>{then}</b></td>
                    </tr>
                }
            })
            .collect_view()
    };
    let head = move |words: Words| view! { <th scope="col">{desk.say(words)}</th> };
    view! {
        <table class="table relaxing" hidden=move || rows.with(Vec::is_empty)>
            <caption>{desk.say(Words::Relaxing)}</caption>
            <thead>
                <tr>
                    {head(Words::Relaxed)}
                    {head(Words::ThenWay)}
                    <th scope="col" class="num">{desk.say(Words::Blood)}</th>
                    {head(Words::Then)}
                </tr>
            </thead>
            <tbody>{body}</tbody>
        </table>
    }
}
