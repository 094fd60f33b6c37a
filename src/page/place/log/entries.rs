//! Every entry with its corrections, the newest first.

use super::{fold, forms, name_of, numbers};
use crate::dom::prelude::*;
use crate::place::records::{ROWS, pager};
use crate::shell::{focus, keep, typing};
use crate::state::Desk;
use crate::widget::WordsBox;
use strawline::log::{Correction, Held, Log, What};
use strawline::quantity::time::Instant;
use strawline::words::log::{EntryLine, LogWord as Word};
use strawline::words::records::DayAndTime;

/// One entry as it is shown.
#[derive(Clone, PartialEq)]
struct Row {
    id: String,
    /// What it says, who and when.
    says: String,
    made: String,
    /// What stood there before, each with who corrected it, when and why.
    before: Vec<(String, String)>,
    now: Option<What>,
    /// It was taken out, and its text is still there.
    wordy: bool,
}

/// The list.
pub fn entries(desk: Desk) -> Markup {
    let page = RwSignal::new(0);
    let told = RwSignal::new(String::new());
    let of = memo(move || {
        desk.log.with(|log| {
            let Some(log) = log else { return (Vec::new(), 0) };
            let held = log.held();
            let n = held.len();
            let rows = held.into_iter().rev().skip(page.get() * ROWS).take(ROWS);
            (rows.map(|held| row(desk, log, held)).collect::<Vec<_>>(), n)
        })
    });
    let shape = Signal::derive(move || of.with(|(rows, n)| (rows.len(), *n)));
    let none =
        move || (of.with(|of| of.1) == 0).then(|| view! { <p class="second">{desk.say(Word::NoEntry)}</p> });
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Word::Entries)}</h2>
            {none}
            <p role="status" id="unsaid" tabindex="-1">{move || told.get()}</p>
            <ol class="log-entries">
                <For each=move || of.with(|of| of.0.clone()) key=|r| (r.id.clone(), r.says.clone(), r.before.len(), r.wordy) let:row>{shown(desk, row, told)}</For>
            </ol>
            {pager(desk, page, shape)}
        </section>
    }
    .into_view()
}

fn moment(desk: Desk, at: Instant) -> String {
    let local = at.local(desk.offset.get_untracked());
    local.map(|(day, time)| desk.say(DayAndTime(day, time))).unwrap_or_default()
}

fn row(desk: Desk, log: &Log, held: Held<'_>) -> Row {
    let says = |what: &What| {
        let (about, when) = match what {
            What::Check(c) => (Some(c.of.as_str()), String::new()),
            What::Care(c) => (c.of.as_deref(), moment(desk, c.when)),
            What::Ended(e) => (Some(e.of.as_str()), String::new()),
            What::Removed(r) => (None, moment(desk, r.at)),
            _ => (None, String::new()),
        };
        let about = about.and_then(|id| name_of(log, id)).unwrap_or_default();
        desk.say(EntryLine { what, about: &about, when, numbers: numbers(desk) })
    };
    let versions = held.versions();
    let blank = matches!(held.entry.what, What::Removed(_));
    let before = versions.iter().zip(held.corrections()).map(|(what, (entry, correction))| {
        let what = what.map_or_else(|| desk.say(Word::TakenOut), says);
        (what, format!("{}, {}: {}", entry.by, moment(desk, entry.at), correction.why))
    });
    Row {
        id: held.entry.id.clone(),
        says: match (&held.entry.what, held.now) {
            (removed @ What::Removed(_), _) => says(removed),
            (_, Some(now)) => says(now),
            (_, None) => desk.say(Word::TakenOut),
        },
        made: format!("{}, {}", held.entry.by, moment(desk, held.entry.at)),
        before: if blank { Vec::new() } else { before.collect() },
        wordy: log.may_lose_text(&held.entry.id),
        now: held.now.cloned(),
    }
}

fn shown(desk: Desk, row: Row, told: RwSignal<String>) -> Markup {
    let Row { id, says, made, before, now, wordy } = row;
    let whose = id.clone();
    let remove = wordy.then(|| fold(desk.say(Word::RemoveText), "", move || unsay(desk, &whose, told)));
    let old = |(what, why): (String, String)| {
        view! { <p class="second"><s>{what}</s> " " {why}</p> }
    };
    let correct = now.map(|what| fold(desk.say(Word::Correct), "", move || correct(desk, &id, &what)));
    view! {
        <li>
            <p>{says}</p>
            <p class="second">{made}</p>
            {before.into_iter().map(old).collect_view()}
            {correct}
            {remove}
        </li>
    }
    .into_view()
}

/// Asks who and why, and once more, then removes the text of an entry that was taken out.
fn unsay(desk: Desk, id: &str, told: RwSignal<String>) -> Markup {
    let (by, why) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let (said, sure) = (RwSignal::new(String::new()), RwSignal::new(false));
    let id = id.to_owned();
    let (ask, cancel) = (format!("unsay-{id}"), format!("unsay-not-{id}"));
    let asks = {
        let to = format!("[id=\"{cancel}\"]");
        move |_| {
            sure.set(true);
            let to = to.clone();
            typing::after_paint(move || focus::first(&to));
        }
    };
    let to_ask = format!("[id=\"{ask}\"]");
    let back = {
        let to = to_ask.clone();
        move |_| {
            sure.set(false);
            let to = to.clone();
            typing::after_paint(move || focus::first(&to));
        }
    };
    let remove = move |_| {
        sure.set(false);
        let to = to_ask.clone();
        // The form goes with the text, and the list may have gone with its place. What is said of it has the keyboard.
        let done = move |line: String| {
            if told.try_set(line).is_none() {
                focus::first("#unsaid");
            }
        };
        let refused = keep::log::unsay(desk, &id, &by.get_untracked(), &why.get_untracked(), done);
        if let Err(why) = refused {
            said.set(why);
            typing::after_paint(move || focus::first(&to));
        }
    };
    view! {
        <p class="second">{desk.say(Word::RemoveTextWhat)}</p>
        {line(desk, format!("{ask}-why"), Word::Why, why)}
        {line(desk, format!("{ask}-by"), Word::By, by)}
        <p class="wrong" role="status">{move || said.get()}</p>
        <div class="buttons">
            <button type="button" class="button small" id=ask.clone() hidden=sure on:click=asks>
                {desk.say(Word::RemoveText)}
            </button>
        </div>
        {move || {
            sure.get()
                .then(|| {
                    view! {
                        <p role="alert">{desk.say(Word::RemoveTextSure)}</p>
                        <div class="buttons">
                            <button type="button" class="button small" on:click=remove.clone()>
                                {desk.say(Word::RemoveTextNow)}
                            </button>
                            <button type="button" class="button small" id=cancel.clone() on:click=back.clone()>
                                {desk.say(Word::Cancel)}
                            </button>
                        </div>
                    }
                })
        }}
    }
    .into_view()
}

fn line(desk: Desk, id: String, label: Word, text: RwSignal<String>) -> Markup {
    view! {
        <div class="field text">
            <div class="field-name">
                <label for=id.clone()>{desk.say(label)}</label>
            </div>
            <WordsBox id text/>
        </div>
    }
    .into_view()
}

/// The form of the entry with what it says now; or that it should not have been made.
fn correct(desk: Desk, id: &str, what: &What) -> Markup {
    let corrects = Some((id.to_owned(), what.clone()));
    let form = match what {
        What::Equipment(_) => Some(forms::equipment(desk, corrects)),
        What::Check(_) => Some(forms::check(desk, corrects)),
        What::Care(_) => Some(forms::care(desk, corrects)),
        What::Lot(_) => Some(forms::lot(desk, corrects, None)),
        What::Ended(_) | What::Correction(_) | What::Removed(_) => None,
    };
    let (by, why) = (RwSignal::new(String::new()), RwSignal::new(String::new()));
    let said = RwSignal::new(String::new());
    let of = id.to_owned();
    let storing = RwSignal::new(false);
    let take_out = move |_| {
        if storing.get_untracked() {
            return;
        }
        let correction = Correction { of: of.clone(), why: why.get_untracked(), now: None };
        storing.set(true);
        // The form may have gone with the entry.
        let done = move |_| {
            storing.try_set(false);
        };
        let done = keep::log::enter(desk, &by.get_untracked(), What::Correction(correction), done);
        if done.is_err() {
            storing.set(false);
        }
        said.set(done.err().unwrap_or_default());
    };
    view! {
        {form}
        <h3 class="subheading">{desk.say(Word::TakeOut)}</h3>
        {line(desk, format!("take-out-{id}-why"), Word::Why, why)}
        {line(desk, format!("take-out-{id}-by"), Word::By, by)}
        <p class="wrong" role="status">{move || said.get()}</p>
        <div class="buttons">
            <button type="button" class="button small" disabled=storing on:click=take_out>{desk.say(Word::TakeOut)}</button>
        </div>
    }
    .into_view()
}
