//! What prints: the card of the case in view with its labels, the blank worksheet, the questions for the
//! prescriber. It stands in the page unseen, and prints alone.

mod code;
pub mod stock;

use super::header::solid;
use crate::dom::prelude::*;
use crate::picture::ledger::LedgerStrip;
use crate::place::quality::process;
use crate::shell::typing;
use crate::state::{Desk, Door, Paper as Kind, Sheet};
use crate::widget::unit_after;
use leptos::leptos_dom::helpers::{TimeoutHandle, set_timeout_with_handle};
use std::time::Duration;
use strawline::export::card::{Block, Card, Fit, Given, Ledger, Printed, Run, Table, Text, blank, pieces};
use strawline::export::code::Of;
use strawline::export::label::{Label, LabelKind, Labels, LineKind};
use strawline::export::question::{Questions, questions};
use strawline::export::set_out::{self, SetOut};
use strawline::export::signed::{card_now, card_then, code_now};
use strawline::finding::Level;
use strawline::record::course::measured_before;
use strawline::record::standing::RecordStanding;
use strawline::words::closed::{ClosedSays, ClosedWord, RecoveryPrinted};
use strawline::words::unit::date;

/// How long nothing must change until the paper follows; a print follows at once.
const IDLE: Duration = Duration::from_millis(900);

/// The paper. With no case open it is the blank worksheet.
#[component]
pub fn Paper() -> impl IntoView {
    let desk = Desk::here();
    let drawn = RwSignal::new(());
    // Nobody sees the paper while typing, so it is drawn when typing rests, and as printing begins.
    let waiting = StoredValue::new(None::<TimeoutHandle>);
    Effect::new(move |_| {
        desk.bench.track();
        desk.records.track();
        desk.lines.track();
        desk.settings.track();
        if let Some(sheet) = desk.sheet() {
            sheet.draft.track();
            sheet.answer.track();
        }
        if let Some(earlier) = waiting.get_value() {
            earlier.clear();
        }
        waiting.set_value(set_timeout_with_handle(move || drawn.set(()), IDLE).ok());
    });
    // Who goes on working wants the card again, whatever was printed before.
    let at_work =
        memo(move || (desk.place.get(), desk.sheet().map(|s| s.draft.with(|d| (d.id.clone(), d.stage)))));
    Effect::new(move |before: Option<()>| {
        at_work.with(|_| ());
        if before.is_some() {
            desk.paper.set(Kind::Card);
        }
    });
    // The code takes long to make, and nobody reads it before it is printed.
    let printing = StoredValue::new(false);
    // The page is never taken down, so neither is the listener.
    let _stays = window_event_listener_untyped("beforeprint", move |_| {
        typing::settle();
        printing.set_value(true);
        drawn.set(());
    });
    let paper = move || {
        drawn.track();
        desk.door.track();
        desk.recovery.track();
        // Another paper is drawn at once: it is asked for by the button that prints it.
        let kind = desk.paper.get();
        let with_code = printing.get_value();
        printing.set_value(false);
        untrack(|| paper_of(desk, kind, with_code))
    };
    view! { <div class="paper">{paper}</div> }
}

/// The paper as it stands now.
fn paper_of(desk: Desk, kind: Kind, with_code: bool) -> Markup {
    if desk.door.get() == Door::Shut {
        return Markup::None;
    }
    let make = &mut |of: Of<'_>| if with_code { code::made(desk, of) } else { None };
    match (kind, desk.sheet()) {
        (Kind::Recovery, _) if desk.recovery.with(Option::is_some) => recovery_view(desk),
        (Kind::Record, _) => desk
            .records
            .with(|all| {
                let of = desk.printed.get();
                let record = all.iter().find(|r| r.id() == of)?;
                let open = desk.open.with(|open| open.iter().copied().find(|s| s.id() == of));
                let offset = record.latest().offset.unwrap_or_else(|| desk.offset.get());
                let (language, last) = (desk.language(), record.amendments().len());
                let card = desk.bench.with(|b| {
                    card_then(record, last, desk.standing(record), &b.clinic, language, offset, make)
                });
                Some(card_view(&card, open.is_some_and(|sheet| solid(desk, sheet))))
            })
            .into_view(),
        (Kind::Report, _) => desk.report.with(|key| process::report(desk, key)),
        (Kind::Blank, _) | (_, None) => {
            desk.bench.with(|b| card_view(&blank(&b.clinic, desk.language()), false))
        }
        (Kind::Card | Kind::Recovery, Some(sheet)) => {
            card_view(&given(desk, sheet, |g| card_now(g, make)), solid(desk, sheet))
        }
        (Kind::Signed(entry), Some(sheet)) => {
            let made = given(desk, sheet, |g| match g.record {
                Some(record) => {
                    card_then(record, entry, g.standing, g.clinic, g.language, g.now.offset, make)
                }
                // No record, no entry of one.
                None => card_now(g, make),
            });
            card_view(&made, solid(desk, sheet))
        }
        (Kind::Labels, Some(sheet)) => stock::labels(desk, sheet),
        (Kind::Code, Some(sheet)) => {
            let alone = given(desk, sheet, |g| (card_now(g, &mut |_| None), code_now(g, make)));
            code::alone(&alone.0, alone.1.as_ref(), desk, solid(desk, sheet))
        }
        (Kind::Questions, Some(sheet)) => questions_view(&given(desk, sheet, questions), solid(desk, sheet)),
        (Kind::SetOut, Some(sheet)) => set_out_view(&given(desk, sheet, set_out::paper), solid(desk, sheet)),
    }
}

/// Gives a writer of paper everything it is made from.
pub fn given<T>(desk: Desk, sheet: Sheet, write: impl FnOnce(Given<'_>) -> T) -> T {
    let (bench, draft, read, answer) =
        (desk.bench.read(), sheet.draft.read(), sheet.read.read(), sheet.answer.read());
    let records = desk.records.read();
    let now = strawline::assess::Now { at: desk.minute.get().at, offset: sheet.offset.get() };
    let sessions = measured_before(&desk.lines.read(), &desk.decisions.read(), &draft, now.at);
    let record = records.iter().find(|r| r.id() == draft.id);
    write(Given {
        record,
        standing: record.map_or(RecordStanding::Sound, |record| desk.standing(record)),
        draft: &draft,
        case: &read.0,
        answer: &answer,
        clinic: &bench.clinic,
        language: desk.language(),
        now,
        sessions: &sessions,
    })
}

/// Words in which a date is never broken over lines.
fn words(text: &str) -> Markup {
    let piece = |(piece, whole): (&str, bool)| match whole {
        true => view! { <span class="n">{piece.to_owned()}</span> },
        false => piece.to_owned().into_view(),
    };
    pieces(text).into_iter().map(piece).collect_view()
}

/// The words of a label may end a line after a hyphen: so its type size was chosen.
fn of_label(text: &str) -> Markup {
    text.to_owned().into_view()
}

fn run(run: &Run, words: fn(&str) -> Markup) -> Markup {
    match run {
        Run::Plain(text) => words(text),
        Run::Heavy(text) => view! { <b>{words(text)}</b> },
        Run::Id(id) => view! { <b class="id">{id.clone()}</b> },
        Run::Amount { number, unit } => {
            view! { <span class="n"><b>{number.clone()}</b>{unit_after(unit)}</span> }
        }
        Run::Rule => view! { <span class="rule-line"></span> },
        Run::LongRule => view! { <span class="rule-line long"></span> },
    }
}

fn runs(text: &Text) -> Markup {
    text.iter().map(|one| run(one, words)).collect_view()
}

fn paragraphs(lines: &[String]) -> Markup {
    lines.iter().map(|l| view! { <p>{words(l)}</p> }).collect_view()
}

fn sign_view(sign: &str, solid: bool) -> Markup {
    view! { <b class="sign" class:solid=solid>{sign.to_owned()}</b> }
}

fn head(clinic: &[String], title: &str, tag: Option<&String>, sign: Option<&String>, solid: bool) -> Markup {
    view! {
        <header class="card-head">
            <div>
                <p>{clinic.join(", ")}</p>
                <h1>{title.to_owned()}</h1>
            </div>
            {tag.map(|tag| view! { <span class="tag">{tag.clone()}</span> })}
            {sign.map(|sign| sign_view(sign, solid))}
        </header>
    }
}

fn who(blocks: &[Block]) -> Markup {
    let blocks = blocks.iter().map(|b| {
        let class = if b.site { "card-id site" } else { "card-id" };
        let small = b.small.iter().map(|t| view! { <p class="card-source">{runs(t)}</p> }).collect_view();
        view! {
            <div>
                {(!b.head.is_empty()).then(|| view! { <p class=class>{runs(&b.head)}</p> })}
                {b.lines.iter().map(|t| view! { <p>{runs(t)}</p> }).collect_view()}
                {small}
            </div>
        }
    });
    view! { <section class="card-who">{blocks.collect_view()}</section> }
}

fn table(table: &Table, class: &'static str) -> Markup {
    if table.rows.is_empty() {
        return Markup::None;
    }
    let columns = (!table.columns.is_empty()).then(|| {
        let heads = table.columns.iter().map(|c| view! { <th scope="col">{c.clone()}</th> }).collect_view();
        view! { <thead><tr>{heads}</tr></thead> }
    });
    let wide = table.rows.iter().map(|r| r.cells.len()).max().unwrap_or(0);
    let rows = table.rows.iter().map(|row| {
        // A row without its last cells gives their room to the one before.
        let filled = row.cells.iter().rposition(|c| !c.is_empty()).map_or(1, |at| at + 1);
        let filled = if table.columns.is_empty() { filled } else { row.cells.len() };
        let cells = row.cells.iter().take(filled).enumerate().map(|(i, cell)| {
            let span = (i > 0 && i + 1 == filled && filled < wide).then(|| (wide - i).to_string());
            match i {
                0 => view! { <th scope="row">{runs(cell)}</th> },
                _ => view! { <td colspan=span>{runs(cell)}</td> },
            }
        });
        view! { <tr class:sum=row.sum>{cells.collect_view()}</tr> }
    });
    view! {
        <section>
            <h2>{table.heading.clone()}</h2>
            <table class=class>{columns}<tbody>{rows.collect_view()}</tbody></table>
        </section>
    }
}

fn finding(f: &Printed) -> Markup {
    let class = match f.level {
        Level::Note => "finding note",
        Level::Caution => "finding caution",
        Level::StopClinician => "finding stop",
        Level::StopFinal => "finding halt",
    };
    let text = words(&f.text);
    let action = f.action.clone().map(|action| view! { " " {action} });
    let said = f.said.clone().map(|said| view! { " " <b>{said}</b> });
    if f.level >= Level::StopClinician {
        return view! {
            <div class=class>
                <h3 class="level">{f.lead.clone()}</h3>
                <p>{text} {action} {said}</p>
            </div>
        };
    }
    view! { <div class=class><p><strong class="level">{f.lead.clone()}</strong> " " {text} {action} {said}</p></div> }
}

/// A label as it prints, its head and lines in the order they are in.
pub fn label(l: &Label, solid: bool) -> Markup {
    let class = match l.kind {
        LabelKind::Product => "label",
        LabelKind::Withheld => "label withheld",
        LabelKind::Poor => "label ppp",
        LabelKind::Container => "label small",
        LabelKind::Syringe => "label small syringe",
    };
    let hatch = (l.kind == LabelKind::Poor)
        .then(|| view! { <svg class="ground" aria-hidden="true"><rect class="expected"></rect></svg> });
    let set = |text: &Text| text.iter().map(|one| run(one, of_label)).collect_view();
    let lines = l.lines.iter().map(|(kind, text)| {
        let class = match kind {
            LineKind::Plain => "",
            LineKind::Site => "site",
            LineKind::UseBy => "use-by",
        };
        view! { <p class=class>{set(text)}</p> }
    });
    view! {
        <section class=class>
            <header>
                {hatch}
                <span class="label-head">{set(&l.head)}</span>
                {l.sign.as_ref().map(|s| sign_view(s, solid))}
            </header>
            {lines.collect_view()}
        </section>
    }
}

fn labels(l: &Labels, solid: bool) -> Markup {
    let small = (!l.small.is_empty()).then(|| {
        let small = l.small.iter().map(|l| label(l, solid)).collect_view();
        view! { <div class="labels-small">{small}</div> }
    });
    view! {
        <p class="cut">{l.cut.clone()}</p>
        <div class="labels">
            <p class="sticker">{l.sticker.clone()}</p>
            {l.large.iter().map(|l| label(l, solid)).collect_view()}
        </div>
        {small}
    }
}

/// The recovery key, on a paper of its own.
fn recovery_view(desk: Desk) -> Markup {
    let key = desk.recovery.get();
    let clinic = desk.bench.with(|b| b.clinic.name.trim().to_owned());
    let day = date(desk.minute.get().at, desk.offset.get());
    key.map(|key| {
        view! {
            <section>
                <h1>{desk.say(ClosedWord::RecoveryTitle)}</h1>
                <p><b class="id recovery">{key}</b></p>
                <p>{desk.say(ClosedSays::OnPaper)}</p>
                <p class="card-source">{desk.say(ClosedSays::OnPaperOpens)}</p>
                {(!clinic.is_empty()).then(|| view! { <p class="card-source">{clinic}</p> })}
                {day.map(|day| view! { <p class="card-source">{desk.say(RecoveryPrinted(day))}</p> })}
            </section>
        }
    })
    .into_view()
}

/// Signatures, what always stands there, notes; the code beside them.
fn foot(card: &Card) -> Markup {
    let unsaid = card.code.as_ref().filter(|c| c.symbols.is_empty()).map(|c| format!(" {}", c.says));
    view! {
        <div class="card-foot">
            <div>
                <div class="card-sign">{paragraphs(&card.sign_off)}</div>
                <footer class="card-source">{card.notice.join(" ")} {unsaid}</footer>
                <p class="card-notes">{words(&card.notes)}</p>
            </div>
            {card.code.as_ref().map(code::code)}
        </div>
    }
}

fn card_view(card: &Card, solid: bool) -> Markup {
    let amended = (!card.amended.is_empty())
        .then(|| view! { <section class="card-amended">{paragraphs(&card.amended)}</section> });
    let strip = card.ledger.clone().map(|Ledger { heading, strip: view }| {
        let label = heading.clone();
        view! { <section><h2>{heading}</h2><LedgerStrip view label/></section> }
    });
    let findings = (!card.findings.is_empty()).then(
        || view! { <div class="card-findings">{card.findings.iter().map(finding).collect_view()}</div> },
    );
    let troubles = card.troubles.split_first().map(|(heading, lines)| {
        view! { <p class="card-troubles"><b>{heading.clone()}</b> " " {words(&lines.join("; "))}</p> }
    });
    let corrected =
        (!card.corrected.is_empty()).then(|| view! { <p>{words(&card.corrected.join("; "))}</p> });
    view! {
        <article
            class="card"
            class:blank=card.blank
            class:tight=card.fit == Fit::Tight
            class:tightest=card.fit == Fit::Tightest
        >
            {head(&card.clinic, &card.title, card.tag.as_ref(), card.sign.as_ref(), solid)}
            {amended}
            {who(&card.who)}
            {table(&card.done, "table done")}
            <div class="card-two">{table(&card.made, "table made")} {table(&card.doses, "table doses")}</div>
            {strip}
            {findings}
            {troubles}
            {corrected}
            {foot(card)}
            {card.labels.as_ref().map(|l| labels(l, solid))}
        </article>
    }
}

fn questions_view(q: &Questions, solid: bool) -> Markup {
    let answer = |asked: Markup| {
        view! {
            <div class="asked">
                <p>{asked}</p>
                <p class="answer-line"><span>{q.answer.clone()}</span></p>
            </div>
        }
    };
    let open = q.open.iter().map(|o| match q.asks {
        true => answer(o.clone().into_view()).into_view(),
        false => view! { <p>{o.clone()}</p> },
    });
    let cautions = q.cautions.iter().map(|(lead, text)| {
        answer(view! { <strong class="level">{lead.clone()}</strong> " " {text.clone()} })
    });
    view! {
        <article class="card questions">
            {head(&q.clinic, &q.title, q.tag.as_ref(), Some(&q.sign), solid)}
            {who(&q.who)}
            <section><h2>{q.open_heading.clone()}</h2>{open.collect_view()}</section>
            {(!q.cautions.is_empty()).then(|| view! {
                <section><h2>{q.cautions_heading.clone()}</h2>{cautions.collect_view()}</section>
            })}
            <div class="card-sign">{paragraphs(&q.sign_off)}</div>
            <footer class="card-source">{q.notice.join(" ")}</footer>
        </article>
    }
}

fn set_out_view(list: &SetOut, solid: bool) -> Markup {
    let lines = list.lines.iter().map(|line| view! { <li>{line.clone()}</li> });
    view! {
        <article class="card set-out">
            {head(&list.clinic, &list.title, list.tag.as_ref(), Some(&list.sign), solid)}
            {who(&list.who)}
            <ul>{lines.collect_view()}</ul>
            <p>{list.what.clone()}</p>
            <footer class="card-source">{list.notice.join(" ")}</footer>
        </article>
    }
}
