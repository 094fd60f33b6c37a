//! The day: open cases by the time they are to be ready, and who has which centrifuge.

use super::records::who;
use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use strawline::assess::day::{Clash, DayLine, NeedleBy, Occupied, Open, Taking, day as day_of, occupied};
use strawline::assess::spin::happening;
use strawline::quantity::time::Instant;
use strawline::words::choice::ProductKindName;
use strawline::words::log::{ClashLine, LogWord as Word, MachineName, NeedleBefore, Taken};
use strawline::words::records::{CaseLine, DayAndTime};

/// The list; nothing while no case is open.
pub fn day(desk: Desk) -> Markup {
    // Reckoned anew once a minute, and when a case changes.
    let both = memo(move || {
        let now = desk.minute.get().at;
        let sheets = desk.open.get();
        let signed = |id: &str| desk.records.with(|all| all.iter().any(|r| r.id() == id));
        let all: Vec<_> =
            sheets.iter().map(|s| (s.draft.get(), s.read.with(|r| r.0.clone()), s.answer.get())).collect();
        let open: Vec<Open<'_>> = all
            .iter()
            .map(|(draft, case, answer)| Open { draft, case, answer, signed: signed(&draft.id) })
            .collect();
        (day_of(&open, now), occupied(&open, now))
    });
    let part = move || {
        let (lines, machines) = both.get();
        (!lines.is_empty()).then(|| {
            let rows = lines.into_iter().filter_map(|line| row(desk, line)).collect_view();
            let head = [Word::Case, Word::Patient, Word::ReadyBy, Word::NeedleBy, Word::Method, Word::Stage];
            let head = head.map(|words| view! { <th scope="col">{desk.say(words)}</th> });
            view! {
                <section class="part-of" id="day">
                    <h2 class="heading" id="day-heading">{desk.say(Word::Today)}</h2>
                    <div class="wide" tabindex="0" role="region" aria-labelledby="day-heading">
                        <table class="table rows">
                            <thead>
                                <tr>{head}</tr>
                            </thead>
                            <tbody>{rows}</tbody>
                        </table>
                    </div>
                    <p class="second">{desk.say(Word::NeedleByWhat)}</p>
                    {centrifuges(desk, machines)}
                </section>
            }
        })
    };
    part.into_view()
}

fn time(desk: Desk, at: Instant) -> String {
    let now = desk.minute.get_untracked();
    let today = now.at.local(now.offset).map(|(day, _)| day);
    match at.local(now.offset) {
        Some((day, time)) if Some(day) == today => time.text(),
        Some((day, time)) => desk.say(DayAndTime(day, time)),
        None => String::new(),
    }
}

fn row(desk: Desk, line: DayLine) -> Option<Markup> {
    let sheet: Sheet = desk.open.with(|all| all.iter().copied().find(|s| s.id() == line.id))?;
    let (sign, patient) = sheet.draft.with(|d| (d.sign.to_string(), who(desk, d).0));
    let kind = sheet.read.with(|(case, _)| case.protocol.as_ref().map(|p| desk.say(ProductKindName(p.kind))));
    let now = sheet.read.with(|(case, _)| happening(case, desk.minute.get_untracked().at).0);
    let stage = desk.say(CaseLine { stage: sheet.draft.with(|d| d.stage), now: &now, signed: false });
    let passed = |late| if late { format!(" ({})", desk.say(Word::Late)) } else { String::new() };
    let ready =
        line.ready_by.map_or_else(|| desk.say(Word::NotSaid), |at| time(desk, at)) + &passed(line.late);
    let needle = match line.needle_by {
        NeedleBy::NotSaid => String::new(),
        NeedleBy::NoPlan => desk.say(Word::NoPlan),
        NeedleBy::IsIn => desk.say(Word::NeedleIsIn),
        NeedleBy::OpenStages => desk.say(Word::OpenStages),
        NeedleBy::At(at) => desk.say(NeedleBefore(time(desk, at))) + &passed(line.needle_late),
    };
    Some(
        view! {
            <tr>
                <th scope="row"><b class="sign">{sign}</b></th>
                <td><b class="id">{patient}</b></td>
                <td class:wrong=line.late>{label(desk, Word::ReadyBy)} {ready}</td>
                <td class:wrong=line.needle_late>
                    {(!needle.is_empty()).then(|| view! { {label(desk, Word::NeedleBy)} {needle} })}
                </td>
                <td>{kind}</td>
                <td>{stage}</td>
            </tr>
        }
        .into_view(),
    )
}

/// What a column is of, where a phone shows a row as a block and no head above it.
fn label(desk: Desk, words: Word) -> Markup {
    view! { <span class="of second">{desk.say(words)} ": "</span> }.into_view()
}

fn centrifuges(desk: Desk, all: Vec<Occupied>) -> Option<Markup> {
    if all.is_empty() {
        return None;
    }
    let clock = |at: Instant| time(desk, at);
    let one = |o: Occupied| {
        let case = |(sign, taking): (strawline::draft::CheckSign, Taking)| {
            let sign = sign.to_string();
            desk.say(match taking {
                Taking::Turns(until) => Taken::Until { sign, until: until.map(clock) },
                Taking::Over => Taken::Over { sign },
                Taking::Waits(by) => Taken::Waits { sign, by: by.map(clock) },
            })
        };
        let clash = |clash: Clash| {
            let words = match clash {
                Clash::Both(signs) => ClashLine::Both(signs.iter().map(ToString::to_string).collect()),
                Clash::MayBe(signs) => ClashLine::MayBe(signs.iter().map(ToString::to_string).collect()),
                Clash::TooLate { waits, by, turns, named } => {
                    let (waits, turns) = (waits.to_string(), turns.to_string());
                    ClashLine::TooLate { waits, by: clock(by), turns, named }
                }
            };
            view! { <p class="wrong">{desk.say(words)}</p> }
        };
        let name = desk.say(MachineName { name: &o.name, serial: &o.serial });
        let cases: Vec<String> = o.cases.into_iter().map(case).collect();
        view! {
            <li>
                <p><b>{name}</b> ": " {cases.join("; ")}</p>
                {o.clashes.into_iter().map(clash).collect_view()}
            </li>
        }
    };
    Some(
        view! {
            <h3 class="subheading">{desk.say(Word::Centrifuges)}</h3>
            <ul>{all.into_iter().map(one).collect_view()}</ul>
        }
        .into_view(),
    )
}
