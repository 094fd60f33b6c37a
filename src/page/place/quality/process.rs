//! Check your process: ten counted preparations of a protocol, a report for the lead, a prior of the clinic's own.
//! Stands in the Bench under its protocol; the report prints.

use super::decide::{Deciding, decide};
use super::sight::{day, value};
use crate::dom::prelude::*;
use crate::shell::print;
use crate::state::{Desk, Paper};
use std::sync::Arc;
use strawline::bench::Protocol;
use strawline::quality::decided::{Decisions, Refused, Series};
use strawline::quality::facts::Excluded;
use strawline::quality::learn::LogRange;
use strawline::quality::process::{ProcessCheck, WANTED, adopt, process_check};
use strawline::quality::{History, learned};
use strawline::quantity::time::Instant;
use strawline::quantity::write;
use strawline::words::charts::{ChartLine, ChartSays, ChartWord as Word};
use strawline::words::quality::{ExcludedWords, NextWords, QualitySays};

/// What stands under a protocol, written.
#[derive(Debug, Clone, PartialEq)]
struct Seen {
    expected: Option<String>,
    next: Option<String>,
    own: Option<String>,
    check: Option<Check>,
}

/// A check, written.
#[derive(Debug, Clone, PartialEq)]
struct Check {
    accepted: usize,
    to_go: usize,
    report: Vec<(Word, String)>,
    left_out: Vec<(String, Vec<String>)>,
}

/// The part of a protocol's entry.
pub fn process(desk: Desk, key: String) -> Markup {
    let of = Series { protocol: key.clone(), container: None };
    let seen = {
        let key = key.clone();
        memo(move || {
            let protocol = desk.bench.with(|b| b.protocol(&key).cloned())?;
            Some(see(desk, &protocol))
        })
    };
    let state = memo(move || {
        seen.with(|s| {
            let s = s.as_ref();
            let check = s.and_then(|s| s.check.as_ref());
            (check.map(|c| c.to_go == 0), s.is_some_and(|s| s.own.is_some()))
        })
    });
    let text = move |of: fn(&Seen) -> Option<String>| memo(move || seen.with(|s| s.as_ref().and_then(of)));
    let (expected, next, own) =
        (text(|s| s.expected.clone()), text(|s| s.next.clone()), text(|s| s.own.clone()));
    let id = format!("process-{key}");
    let doing = move || {
        let (check, own) = state.get();
        let begun = match check {
            None => begin(desk, &id, of.clone()),
            Some(complete) => under_way(desk, &id, &of, seen, complete),
        };
        let back = own.then(|| {
            let of = of.clone();
            let what = deciding(format!("{id}-back"), Word::BackToLiterature, Word::Lead);
            decide(desk, what, move |d, by, at, _| d.back_to_literature(&of, by, at), None)
        });
        view! { {begun} {back} }
    };
    view! {
        <section class="process">
            <h3 class="subheading">{desk.say(Word::Process)}</h3>
            <p>{expected} " " <span class="second">{next}</span></p>
            <p>{own}</p>
            <p class="second">{desk.say(ChartSays::ProcessWhat)}</p>
            {doing}
        </section>
    }
}

fn deciding(id: String, button: Word, who: Word) -> Deciding {
    Deciding { id, button, who, reason: false, done: ChartSays::Decided }
}

fn begin(desk: Desk, id: &str, of: Series) -> Markup {
    let what = deciding(format!("{id}-begin"), Word::Begin, Word::Who);
    let back = of.clone();
    let undo = move |d: &mut Decisions, by: &str, at: Instant| d.give_up_check(&back, by, at);
    decide(desk, what, move |d, by, at, _| d.begin_check(of.clone(), by, at), Some(Arc::new(undo)))
}

fn under_way(desk: Desk, id: &str, of: &Series, seen: Memo<Option<Seen>>, complete: bool) -> Markup {
    let check = memo(move || seen.with(|s| s.as_ref().and_then(|s| s.check.clone())));
    let n = move || check.with(|c| c.as_ref().map_or(0, |c| c.accepted));
    let to_go = move || check.with(|c| c.as_ref().map_or(0, |c| c.to_go));
    let progress = memo(move || desk.say(ChartLine::Progress(n(), WANTED)));
    let wanted = move || (to_go() > 0).then(|| desk.say(ChartLine::Wanted(to_go())));
    let facts = move || {
        let rows = check.with(|c| c.as_ref().map(|c| c.report.clone()).unwrap_or_default());
        (!rows.is_empty()).then(|| {
            view! {
                <table class="table">
                    <caption>
                        <h3>{desk.say(Word::Report)}</h3>
                    </caption>
                    <tbody>{report_rows(desk, rows)}</tbody>
                </table>
            }
        })
    };
    let left = move || {
        let left = check.with(|c| c.as_ref().map(|c| c.left_out.clone()).unwrap_or_default());
        (!left.is_empty()).then(|| view! { <p>{desk.say(Word::LeftOut)}</p> {left_list(left)} })
    };
    let print = {
        let key = of.protocol.clone();
        move |_| {
            desk.report.set(key.clone());
            desk.paper.set(Paper::Report);
            print::print();
        }
    };
    let give_up = {
        let of = of.clone();
        let what = deciding(format!("{id}-give-up"), Word::GiveUp, Word::Who);
        decide(desk, what, move |d, by, at, _| d.give_up_check(&of, by, at), None)
    };
    let own = complete.then(|| {
        let (protocol, back) = (of.protocol.clone(), of.clone());
        let what = deciding(format!("{id}-adopt"), Word::Adopt, Word::Lead);
        let act = move |d: &mut Decisions, by: &str, at: Instant, _: &str| take(desk, d, &protocol, by, at);
        let undo = move |d: &mut Decisions, by: &str, at: Instant| d.back_to_literature(&back, by, at);
        view! {
            <p>{desk.say(ChartSays::ProcessEnd)} " " {desk.say(QualitySays::OwnPrior)}</p>
            {decide(desk, what, act, Some(Arc::new(undo)))}
        }
    });
    view! {
        <div class="progress">
            <p id=format!("{id}-progress")><b>{progress}</b> " " {wanted}</p>
            <progress
                aria-labelledby=format!("{id}-progress")
                max=WANTED.to_string()
                value=move || n().to_string()
            ></progress>
        </div>
        {facts}
        {left}
        <div class="buttons">
            <button type="button" class="button" on:click=print>{desk.say(Word::PrintReport)}</button>
        </div>
        {own}
        <details class="more">
            <summary>{desk.say(Word::GiveUp)}</summary>
            <div>{give_up}</div>
        </details>
    }
}

fn report_rows(desk: Desk, rows: Vec<(Word, String)>) -> Markup {
    let row = |(word, text): (Word, String)| {
        view! { <tr><th scope="row">{desk.say(word)}</th><td class="num">{text}</td></tr> }
    };
    rows.into_iter().map(row).collect_view()
}

fn left_list(left: Vec<(String, Vec<String>)>) -> Markup {
    let one = |(day, why): (String, Vec<String>)| view! { <li><b>{day}</b> " " {why.join(" ")}</li> };
    view! { <ul class="left-list">{left.into_iter().map(one).collect_view()}</ul> }
}

/// The lead takes the ten counts as the protocol's own. Errors: see [`adopt`].
fn take(desk: Desk, d: &mut Decisions, protocol: &str, by: &str, at: Instant) -> Result<(), Refused> {
    let counts = desk.counts.get_untracked();
    let protocol = desk.bench.with_untracked(|b| b.protocol(protocol).cloned());
    let check = protocol.as_ref().and_then(|p| process_check(p, None, &counts, d));
    adopt(d, &check.ok_or(Refused::NotComplete)?, by, at)
}

fn see(desk: Desk, protocol: &Protocol) -> Seen {
    let counts = desk.counts.get();
    let style = desk.bench.with(|b| b.clinic.conventions.numbers);
    desk.decisions.with(|decided| {
        let found = learned(protocol, None, &counts, decided, History::Clinic);
        let expected = found.predictive.map(|p| {
            let LogRange { median, low, high } = p.range();
            let [median, low, high] = [median, low, high].map(|x| value(desk, x));
            desk.say(ChartLine::Expected(median, low, high, desk.say(found.ground)))
        });
        let own = decided.own(&found.of).map(|o| {
            let since = desk.say(ChartLine::Own(o.by.clone(), day(desk, o.at)));
            let now = found.own.map(|own| desk.say(ChartLine::OwnNow(own))).unwrap_or_default();
            format!("{since} {now}").trim_end().to_owned()
        });
        let check = process_check(protocol, None, &counts, decided).map(|c| written(desk, &c));
        let expected = expected.or_else(|| Some(desk.say(found.ground)));
        Seen { expected, next: found.next.map(|next| desk.say(NextWords(next, style))), own, check }
    })
}

fn written(desk: Desk, check: &ProcessCheck<'_>) -> Check {
    let offset = desk.offset.get_untracked();
    let left_out = check.left_out.iter().map(|l| {
        let why = l.why.iter().map(|w: &Excluded| desk.say(ExcludedWords(w, offset))).collect();
        (day(desk, l.counted.at), why)
    });
    let mut report = vec![
        (Word::Accepted, check.accepted.len().to_string()),
        (Word::LeftOut, check.left_out.len().to_string()),
        (Word::BegunBy, format!("{}, {}", check.begun.by, day(desk, check.begun.at))),
    ];
    if let Some(r) = &check.report {
        let style = desk.bench.with_untracked(|b| b.clinic.conventions.numbers);
        let number = |x: f64| write::significant(x, 3, style);
        let from_to = |low: String, high: String| format!("{low} – {high}");
        report.push((Word::Mean, number(r.values.mean)));
        report.extend(r.values.sd.map(|sd| (Word::Deviation, number(sd))));
        let percent = |cv: f64| write::with_unit(&write::significant(100.0 * cv, 2, style), "%");
        report.extend(r.values.cv().map(|cv| (Word::Variation, percent(cv))));
        report.push((Word::LeastToMost, from_to(number(r.values.low), number(r.values.high))));
        report.extend(r.predictive.map(|p| {
            let LogRange { low, high, .. } = p.range();
            (Word::NextReads, from_to(value(desk, low), value(desk, high)))
        }));
        report.push((Word::Days, from_to(day(desk, r.from), day(desk, r.until))));
        report.push((Word::ContainerLots, r.container_lots.join(", ")));
        report.push((Word::AnticoagulantLots, r.anticoagulant_lots.join(", ")));
        report.push((Word::Technicians, r.operators.join(", ")));
    }
    Check { accepted: check.accepted.len(), to_go: check.to_go, report, left_out: left_out.collect() }
}

/// The report as it prints; nothing when no check of that protocol is begun.
pub fn report(desk: Desk, key: &str) -> Markup {
    let (protocol, clinic) = desk.bench.with_untracked(|b| (b.protocol(key).cloned(), b.clinic.name.clone()));
    let Some(protocol) = protocol else { return Markup::None };
    let Some(check) = untrack(|| see(desk, &protocol)).check else { return Markup::None };
    let left = (!check.left_out.is_empty()).then(
        || view! { <section><h2>{desk.say(Word::LeftOut)}</h2>{left_list(check.left_out.clone())}</section> },
    );
    view! {
        <article class="card questions">
            <header class="card-head">
                <div>
                    <p>{clinic}</p>
                    <h1>{desk.say(ChartLine::ReportOf(protocol.name))}</h1>
                </div>
            </header>
            <section>
                <h2>{desk.say(ChartLine::Progress(check.accepted, WANTED))}</h2>
                <table class="table made"><tbody>{report_rows(desk, check.report)}</tbody></table>
            </section>
            {left}
            <p>{desk.say(QualitySays::AboveAll)}</p>
            <div class="card-sign"><p>{desk.say(Word::Signature)}</p></div>
        </article>
    }
}
