//! Records: open cases, those that wait for counts, signed records, and what is stored but not readable.

use crate::dom::prelude::*;
use crate::place::bench::Undoing;
use crate::section::foot::Foot;
use crate::section::header::{Banners, Header, Sign};
use crate::shell::copy::{Copied, copy};
use crate::shell::{files, hash, keep, print};
use crate::state::{Desk, Paper, Place, Sheet};
use crate::widget::chart_text::chart_text;
use std::sync::Arc;
use strawline::assess::spin::happening;
use strawline::draft::{Draft, Field, Stage};
use strawline::export::{chart, fhir};
use strawline::record::archive::{Kept, Unreadable};
use strawline::record::clocks::Clock;
use strawline::record::earlier;
use strawline::record::line::{Line, words};
use strawline::record::standing::RecordStanding;
use strawline::record::{Counts, Record};
use strawline::words::choice::SiteLine;
use strawline::words::out::OutWord;
use strawline::words::page::{Common, Frame};
use strawline::words::records::{
    CaseLine, CloseSure, DayAndTime, DiscardSure, RecordsWord as Word, RowsLine,
};
use strawline::words::{Phrase, unit};

/// The place.
#[component]
pub fn Records() -> impl IntoView {
    let desk = Desk::here();
    let begin = move |draft: Draft| {
        desk.open(draft);
        hash::go(Place::Worksheet);
    };
    view! {
        <div class="page place">
            <Banners/>
            <Header/>
            <main class="work" id="work" tabindex="-1">
                <h1 class="title">{desk.say(Frame::Records)}</h1>
                {views(desk)}
                <div class="buttons">
                    {button(desk, Word::NewCase, move || begin(desk.new_draft()))}
                    {button(desk, Word::OpenDemo, move || begin(desk.demo_draft()))}
                    {button(desk, Word::PrintBlank, move || {
                        desk.paper.set(Paper::Blank);
                        print::print();
                    })}
                </div>
                <Undoing/>
                {super::day::day(desk)}
                {open_cases(desk)}
                {waiting(desk)}
                {signed(desk)}
                {super::card_code::card_code(desk)}
                {super::files::files(desk)}
                {super::retention::retention(desk)}
                {discarded(desk)}
                {unreadable(desk)}
            </main>
            <Foot/>
        </div>
    }
}

/// The two views of Records, the one in view marked.
pub fn views(desk: Desk) -> Markup {
    let link = |place: Place, words: Word| {
        let here = desk.place.get_untracked() == place;
        view! {
            <a href=format!("#{}", place.hash()) aria-current=here.then_some("page")>{desk.say(words)}</a>
        }
    };
    view! {
        <nav class="views" aria-label=desk.say(Word::Views)>
            {link(Place::Records, Word::CasesView)}
            {link(Place::Log, Word::LogView)}
            {link(Place::Quality, Word::QualityView)}
        </nav>
    }
}

fn button(desk: Desk, words: impl Phrase, tap: impl Fn() + 'static) -> Markup {
    view! {
        <button type="button" class="button small" on:click=move |_| tap()>
            {desk.say(words)}
        </button>
    }
}

/// Patient and site in one line.
pub fn who(desk: Desk, draft: &Draft) -> (String, String) {
    let site = SiteLine { side: draft.choices.side, site: draft.text(Field::Site) };
    named(desk, draft.text(Field::PatientReference).trim(), draft.demo, site)
}

/// The same of a signed record.
pub fn who_of(desk: Desk, line: &Line) -> (String, String) {
    named(desk, &line.patient, line.demo, SiteLine { side: line.side, site: &line.site })
}

fn named(desk: Desk, patient: &str, demo: bool, site: SiteLine<'_>) -> (String, String) {
    let patient = if patient.is_empty() { desk.say(Word::NoName) } else { patient.to_owned() };
    let demo = if demo { format!(", {}", desk.say(Word::Demo)) } else { String::new() };
    (patient + &demo, desk.say(site))
}

/// Brings a draft into view on the worksheet.
pub fn show(desk: Desk, draft: Draft) {
    let stage = draft.stage;
    desk.open(draft);
    // It may have been open already, at another stage.
    if let Some(sheet) = untrack(|| desk.sheet()).filter(|s| s.draft.with_untracked(|d| d.stage != stage)) {
        sheet.edit(|d| d.stage = stage);
    }
    hash::go(Place::Worksheet);
}

/// Brings the record of a case into view.
pub fn show_record(desk: Desk, id: &str) {
    keep::with_record(desk, id, move |record| show(desk, late(&record)));
}

/// The case of a record as it now holds, at its late counts.
fn late(record: &Record) -> Draft {
    Draft { stage: Stage::Later, ..record.latest().clone() }
}

fn open_cases(desk: Desk) -> Markup {
    let none = move || {
        desk.open.with(Vec::is_empty).then(|| view! { <p class="second">{desk.say(Word::NoOpenCase)}</p> })
    };
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Word::OpenCases)}</h2>
            {none}
            <For each=move || desk.open.get() key=|s| s.id() let:sheet>{open_case(desk, sheet)}</For>
        </section>
    }
}

fn open_case(desk: Desk, sheet: Sheet) -> Markup {
    let id = sheet.id();
    let record = {
        let id = id.clone();
        memo(move || desk.records.with(|all| all.iter().find(|r| r.id() == id).cloned()))
    };
    let who = memo(move || sheet.draft.with(|d| who(desk, d)));
    let line = memo(move || {
        let at = desk.minute.get().at;
        let now = sheet.read.with(|(case, _)| happening(case, at).0);
        let signed = record.with(Option::is_some);
        desk.say(CaseLine { stage: sheet.draft.with(|d| d.stage), now: &now, signed })
    });
    // A signed case with nothing added is not lost by closing it.
    let unchanged = memo(move || {
        record.with(|r| {
            let latest = r.as_ref().map(Record::latest);
            latest.is_some_and(|l| sheet.draft.with(|d| strawline::record::changes::between(l, d).is_empty()))
        })
    });
    let unsigned = move || {
        let unsigned = record.with(Option::is_some) && !unchanged.get();
        unsigned.then(|| view! { <p class="second wrong">{desk.say(Word::Unsigned)}</p> })
    };
    let rebuilt = memo(move || {
        let rebuilt = sheet.draft.with(|d| d.rebuilt.is_some());
        if rebuilt { desk.say(Word::Rebuilt) } else { String::new() }
    });
    // A product that left the room needs its record.
    let given = memo(move || sheet.draft.with(|d| d.times.handed_over.is_some()));
    // What still runs is named before its clock goes.
    let runs = memo(move || {
        let at = desk.minute.get().at;
        let sign = sheet.draft.with(|d| d.sign);
        let spin = sheet.answer.with(|a| a.spin.clone());
        sheet.read.with(|(case, _)| Clock::of(case, &spin, sign, at).map(|_| happening(case, at).0))
    });
    let asked = RwSignal::new(false);
    let away = move || {
        let id = id.clone();
        let sign = sheet.draft.with(|d| d.sign);
        if given.get() && record.with(Option::is_none) {
            view! { <p class="second">{desk.say(Word::SignFirst)}</p> }
        } else if unchanged.get() {
            match runs.get() {
                None => button(desk, Word::CloseCase, move || desk.close(&id)),
                Some(_) if !asked.get() => button(desk, Word::CloseCase, move || asked.set(true)),
                Some(_) => view! {
                    <p role="alert">{desk.say(CloseSure(sign))}</p>
                    {button(desk, Word::CloseNow, move || desk.close(&id))}
                    {button(desk, Word::KeepIt, move || asked.set(false))}
                },
            }
        } else {
            match runs.get().filter(|_| record.with(Option::is_none)) {
                None => button(desk, Word::Discard, move || keep::discard(desk, &id)),
                Some(_) if !asked.get() => button(desk, Word::Discard, move || asked.set(true)),
                Some(now) => {
                    view! {
                        <p role="alert">{desk.say(DiscardSure { sign, now: &now })}</p>
                        {button(desk, Word::DiscardNow, move || keep::discard(desk, &id))}
                        {button(desk, Word::KeepIt, move || asked.set(false))}
                    }
                }
            }
        }
    };
    view! {
        <div class="field">
            <div class="field-name">
                <p>
                    <Sign sheet/>
                    " "
                    <b class="id">{move || who.get().0}</b>
                    " "
                    <b class="site">{move || who.get().1}</b>
                </p>
                <p class="second">{line} " " {rebuilt}</p>
                {unsigned}
            </div>
            <div class="entry">
                {button(desk, Word::Open, move || show(desk, sheet.draft.get_untracked()))}
                {button(desk, Word::Duplicate, move || {
                    sheet.draft.with_untracked(|d| keep::duplicate(desk, d));
                    hash::go(Place::Worksheet);
                })}
                {away}
            </div>
        </div>
    }
}

/// So many rows stand on one page of a list.
pub(super) const ROWS: usize = 50;

/// The lines of one page of a list, and how many there are in all.
type Page = (Vec<Arc<Line>>, usize);

/// The page in view of so many lines: a list that grew shorter is shown to its end.
pub(super) fn held(page: usize, lines: usize) -> usize {
    page.min(lines.saturating_sub(1) / ROWS)
}

/// The lines that `which` picks, the newest first, a page at a time.
fn page_of(
    desk: Desk,
    page: RwSignal<usize>,
    which: impl Fn(&Line) -> bool + Send + Sync + 'static,
) -> Memo<Page> {
    memo(move || {
        desk.lines.with(|all| {
            let found: Vec<_> = all.iter().rev().filter(|line| which(line)).collect();
            let n = found.len();
            let rows = found.into_iter().skip(held(page.get(), n) * ROWS).take(ROWS).cloned().collect();
            (rows, n)
        })
    })
}

/// So many rows are in view, of so many.
fn shape(of: Memo<Page>) -> Signal<(usize, usize)> {
    Signal::derive(move || of.with(|(rows, n)| (rows.len(), *n)))
}

/// Which rows of how many are in view, and the way to the others; nothing where all are.
pub(super) fn pager(desk: Desk, page: RwSignal<usize>, shape: Signal<(usize, usize)>) -> Markup {
    let shape = memo(move || shape.get());
    let buttons = move || {
        let (rows, n) = shape.get();
        let at = held(page.get(), n);
        let first = at * ROWS;
        (n > ROWS).then(|| {
            view! {
                <div class="buttons">
                    <p class="second" role="status">{desk.say(RowsLine { from: first + 1, to: first + rows, of: n })}</p>
                    <button
                        type="button"
                        class="button small"
                        disabled=first == 0
                        on:click=move |_| page.set(at.saturating_sub(1))
                    >
                        {desk.say(Word::Newer)}
                    </button>
                    <button
                        type="button"
                        class="button small"
                        disabled={first + rows >= n}
                        on:click=move |_| page.set(at + 1)
                    >
                        {desk.say(Word::Older)}
                    </button>
                </div>
            }
        })
    };
    buttons.into_view()
}

fn waiting(desk: Desk) -> Markup {
    let page = RwSignal::new(0);
    let of = page_of(desk, page, |line| line.counts == Counts::Later);
    let rows = move || {
        let (all, _) = of.get();
        (!all.is_empty()).then(|| {
            let row = |line: Arc<Line>| {
                let (patient, site) = who_of(desk, &line);
                let when = signed_at(desk, &line);
                let counts = desk.say(line.counts);
                view! {
                    <div class="field">
                        <div class="field-name">
                            <p>
                                <b class="sign">{line.sign.to_string()}</b>
                                " "
                                <b class="id">{patient}</b>
                                " "
                                <b class="site">{site}</b>
                            </p>
                            <p class="second">{when} ", " {counts}</p>
                        </div>
                        <div class="entry">
                            {button(desk, Word::TypeCount, move || show_record(desk, &line.id))}
                        </div>
                    </div>
                }
            };
            view! {
                <section class="waiting-list">
                    <h2 class="heading">{desk.say(Word::Waiting)}</h2>
                    {all.into_iter().map(row).collect_view()}
                    {pager(desk, page, shape(of))}
                </section>
            }
        })
    };
    rows.into_view()
}

fn signed_at(desk: Desk, line: &Line) -> String {
    let local = line.signed.local(line.offset.unwrap_or_else(|| desk.offset.get_untracked()));
    local.map(|(date, time)| desk.say(DayAndTime(date, time))).unwrap_or_default()
}

fn signed(desk: Desk) -> Markup {
    let told = Copied::new(None);
    // The record whose text was to be copied: what became of that stands at its row.
    let copied = RwSignal::new(None::<String>);
    let (page, sought) = (RwSignal::new(0), RwSignal::new(Vec::<String>::new()));
    let of = page_of(desk, page, move |line| sought.with(|words| line.has(words)));
    let row = move |line: Arc<Line>| {
        let (patient, site) = who_of(desk, &line);
        let volume = line.kept.map(|v| unit::volume(v, &line.conventions).to_string());
        let count = line.count.map(|c| unit::count(c, &line.conventions).to_string());
        let counts = desk.say(line.counts);
        let says = [
            (line.amended > 0).then_some(Word::Amended),
            line.rebuilt.then_some(Word::Rebuilt),
            line.outside.then_some(Word::Outside),
            line.damaged.then_some(Word::Damaged),
            line.lost.then_some(Word::Lost),
        ];
        let says =
            says.into_iter().flatten().map(|word| view! { <span class="second">{desk.say(word)}</span> " " });
        let when = signed_at(desk, &line);
        let (open, again, card) = (line.clone(), line.clone(), line.clone());
        let (text, file, at) = (line.clone(), line.clone(), line.clone());
        let outcome =
            move || copied.with(|c| c.as_ref() == Some(&at.id)).then(|| chart_text(desk, told, at.sign));
        view! {
            <tr>
                <th scope="row">
                    <button type="button" class="link" on:click=move |_| show_record(desk, &open.id)>
                        {when}
                    </button>
                </th>
                <td><b class="sign">{line.sign.to_string()}</b></td>
                <td>
                    <b class="id">{patient}</b>
                    " "
                    <b class="site">{site}</b>
                </td>
                <td>{volume}</td>
                <td>{count} " " {counts} " " {says.collect_view()}</td>
                <td>
                    {button(desk, Word::PrintCard, move || print_card(desk, &card.id))}
                    {button(desk, OutWord::Copy, move || {
                        told.set(None);
                        copied.set(Some(text.id.clone()));
                        copy_chart(desk, &text.id, told);
                    })}
                    {button(desk, OutWord::Fhir, move || save_fhir(desk, file.clone()))}
                    {button(desk, Word::Duplicate, move || {
                        keep::with_record(desk, &again.id, move |record| {
                            keep::duplicate(desk, &late(&record));
                            hash::go(Place::Worksheet);
                        });
                    })}
                    {outcome}
                </td>
            </tr>
        }
    };
    let rows = move || of.get().0.into_iter().map(row).collect_view();
    let head = [Word::Date, Word::Case, Word::Patient, Word::Product, Word::Platelets, Word::Actions];
    let head = head.map(|words| view! { <th scope="col">{desk.say(words)}</th> });
    let empty = memo(move || desk.lines.with(Vec::is_empty));
    let none = move || {
        let words = if empty.get() { Word::NoRecord } else { Word::NoneFound };
        of.with(|(rows, _)| rows.is_empty())
            .then(|| view! { <p class="second" role="status">{desk.say(words)}</p> })
    };
    let search = move |event| {
        page.set(0);
        sought.set(words(&event_target_value(&event)));
    };
    view! {
        <section class="part-of">
            <h2 class="heading" id="signed-records">{desk.say(Word::Signed)}</h2>
            {move || super::files::backup_due(desk)}
            <div class="field text" hidden=empty>
                <div class="field-name">
                    <label for="record-search">{desk.say(Word::Search)}</label>
                    <p class="second" id="record-search-more">{desk.say(Word::SearchHow)}</p>
                </div>
                <div class="entry">
                    <input
                        id="record-search"
                        class="words"
                        autocomplete="off"
                        maxlength="100"
                        aria-describedby="record-search-more"
                        on:input=search
                    />
                </div>
            </div>
            {none}
            <div
                class="wide"
                tabindex="0"
                role="region"
                aria-labelledby="signed-records"
                hidden=move || of.with(|(rows, _)| rows.is_empty())
            >
                <table class="table rows">
                    <thead>
                        <tr>{head}</tr>
                    </thead>
                    <tbody>{rows}</tbody>
                </table>
            </div>
            {pager(desk, page, shape(of))}
        </section>
    }
}

/// Copies the text of a record for the chart.
fn copy_chart(desk: Desk, id: &str, told: Copied) {
    keep::with_record(desk, id, move |record| {
        let offset = desk.offset.get_untracked();
        let text = desk.bench.with_untracked(|b| {
            chart::chart_of(&record, desk.standing(&record), &b.clinic, desk.language(), offset)
        });
        copy(text, told);
    });
}

/// Saves a record as a FHIR file.
fn save_fhir(desk: Desk, line: Arc<Line>) {
    let id = line.id.clone();
    keep::with_kept(desk, &id, move |Kept { record, damaged }| {
        let standing = RecordStanding::of(&record, damaged.is_some(), line.finds_changed(&record));
        let text = fhir::bundle(&record, standing, desk.language());
        files::download(desk, &desk.say(OutWord::FhirFile), "application/fhir+json", &text);
    });
}

/// Prints the signed card of a record: what was entered since is on none yet.
fn print_card(desk: Desk, id: &str) {
    keep::with_record(desk, id, move |record| print::print_record(desk, record.id().to_owned()));
}

fn discarded(desk: Desk) -> Markup {
    // The case that was asked about.
    let asked = RwSignal::new(None::<String>);
    let row = move |draft: Draft| {
        let (patient, site) = who(desk, &draft);
        let (back, id) = (draft.id.clone(), draft.id.clone());
        let sign = draft.sign;
        let record = desk.lines.with(|lines| lines.iter().any(|line| line.id == draft.id));
        let since = record.then(|| view! { <p class="second">{desk.say(Word::SinceSigned)}</p> });
        let only = memo(move || desk.lines.with(|lines| earlier::only_trace(lines, &draft)));
        let delete = move || {
            if only.get() {
                return view! { <p class="second">{desk.say(Word::OnlyTrace)}</p> };
            }
            let (ask, gone) = (id.clone(), id.clone());
            match asked.with(|a| a.as_ref() == Some(&id)) {
                false => button(desk, Word::DeleteForGood, move || asked.set(Some(ask.clone()))),
                true => view! {
                    <p role="alert">{desk.say(Word::DeleteSure)}</p>
                    {button(desk, Word::DeleteNow, move || {
                        asked.set(None);
                        keep::forget(desk, &gone);
                    })}
                    {button(desk, Common::Cancel, move || asked.set(None))}
                },
            }
        };
        view! {
            <div class="field">
                <div class="field-name">
                    <p>
                        <b class="sign">{sign.to_string()}</b>
                        " "
                        <b class="id">{patient}</b>
                        " "
                        <b class="site">{site}</b>
                    </p>
                    {since}
                </div>
                <div class="entry">
                    {button(desk, Word::BringBack, move || keep::undo_discard(desk, &back))}
                    {delete}
                </div>
            </div>
        }
    };
    let rows = move || {
        let all = desk.discarded.get();
        (!all.is_empty()).then(|| {
            view! {
                <section class="part-of">
                    <h2 class="heading">{desk.say(Word::DiscardedCases)}</h2>
                    {all.into_iter().map(row).collect_view()}
                </section>
            }
        })
    };
    rows.into_view()
}

fn unreadable(desk: Desk) -> Markup {
    let row = move |item: Unreadable| {
        let (key, why) = (item.key.clone(), desk.say(item.reason.clone()));
        let save = move || files::download(desk, &format!("{}.txt", item.key), "text/plain", &item.text);
        view! {
            <div class="field">
                <div class="field-name">
                    <p>{key}</p>
                    <p class="second">{why}</p>
                </div>
                <div class="entry">{button(desk, Word::Download, save)}</div>
            </div>
        }
    };
    let rows = move || {
        let mut all = desk.unreadable.get();
        all.extend(desk.aside.get());
        (!all.is_empty()).then(|| {
            view! {
                <section class="part-of">
                    <h2 class="heading">{desk.say(Word::Unreadable)}</h2>
                    <p class="second">{desk.say(Word::UnreadableWhat)}</p>
                    {all.into_iter().map(row).collect_view()}
                </section>
            }
        })
    };
    rows.into_view()
}
