//! Records: open cases, those that wait for counts, signed records, and what is stored but not readable.

use crate::dom::prelude::*;
use crate::place::bench::Undoing;
use crate::section::foot::Foot;
use crate::section::header::{Banners, Header, Sign};
use crate::shell::{files, hash, keep, print};
use crate::state::{Desk, Paper, Place, Sheet};
use strawline::assess::spin::happening;
use strawline::draft::{Draft, Field, Stage};
use strawline::quantity::read::Kind;
use strawline::quantity::{CellCount, Quantity, Volume, read};
use strawline::record::archive::Unreadable;
use strawline::record::shown::ShownStanding;
use strawline::record::{Counts, Record};
use strawline::words::choice::SiteLine;
use strawline::words::page::Frame;
use strawline::words::records::{CaseLine, DayAndTime, RecordsWord as Word};
use strawline::words::unit;

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
                {open_cases(desk)}
                {waiting(desk)}
                {signed(desk)}
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
            {link(Place::Quality, Word::QualityView)}
        </nav>
    }
}

fn button(desk: Desk, words: Word, tap: impl Fn() + 'static) -> Markup {
    view! {
        <button type="button" class="button small" on:click=move |_| tap()>
            {desk.say(words)}
        </button>
    }
}

/// Patient and site in one line.
pub fn who(desk: Desk, draft: &Draft) -> (String, String) {
    let patient = match draft.text(Field::PatientReference).trim() {
        "" => desk.say(Word::NoName),
        text => text.to_owned(),
    };
    let site = SiteLine { side: draft.choices.side, site: draft.text(Field::Site) };
    let demo = if draft.demo { format!(", {}", desk.say(Word::Demo)) } else { String::new() };
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
    let found = desk.records.with_untracked(|all| all.iter().find(|r| r.id() == id).map(late));
    if let Some(draft) = found {
        show(desk, draft);
    }
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
    // A product that left the room needs its record.
    let given = memo(move || sheet.draft.with(|d| d.times.handed_over.is_some()));
    let away = move || {
        let id = id.clone();
        if given.get() && record.with(Option::is_none) {
            view! { <p class="second">{desk.say(Word::SignFirst)}</p> }
        } else if unchanged.get() {
            button(desk, Word::CloseCase, move || desk.close(&id))
        } else {
            button(desk, Word::Discard, move || keep::discard(desk, &id))
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
                <p class="second">{line}</p>
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

fn waiting(desk: Desk) -> Markup {
    let all = memo(move || {
        desk.records.with(|all| {
            all.iter().filter(|r| Counts::of(r.latest()) == Counts::Later).cloned().collect::<Vec<_>>()
        })
    });
    let rows = move || {
        let all = all.get();
        (!all.is_empty()).then(|| {
            let row = |record: Record| {
                let (patient, site) = who(desk, record.latest());
                let when = signed_at(desk, &record);
                view! {
                    <div class="field">
                        <div class="field-name">
                            <p>
                                <b class="sign">{record.check_sign().to_string()}</b>
                                " "
                                <b class="id">{patient}</b>
                                " "
                                <b class="site">{site}</b>
                            </p>
                            <p class="second">{when} ", " {desk.say(Counts::of(record.latest()))}</p>
                        </div>
                        <div class="entry">
                            {button(desk, Word::TypeCount, move || show(desk, late(&record)))}
                        </div>
                    </div>
                }
            };
            view! {
                <section class="waiting-list">
                    <h2 class="heading">{desk.say(Word::Waiting)}</h2>
                    {all.into_iter().map(row).collect_view()}
                </section>
            }
        })
    };
    rows.into_view()
}

fn signed_at(desk: Desk, record: &Record) -> String {
    let local = record.first_signed().at.local(desk.offset.get_untracked());
    local.map(|(date, time)| desk.say(DayAndTime(date, time))).unwrap_or_default()
}

/// Volume kept, and the count as it was shown at the last signature.
fn product(record: &Record) -> (String, String) {
    let draft = record.latest();
    let c = &draft.conventions;
    let kind = Kind::Volume { min: 0.0, max: 200.0 };
    let kept = read::read(draft.text(Field::ProductActual), kind, c).value();
    let volume = kept.and_then(|v| Volume::new(v).ok()).map(|v| unit::volume(v, c).to_string());
    let counted = record
        .latest_entry()
        .shown
        .iter()
        .find(|f| f.what == "concentration_counted" && f.standing == ShownStanding::Counted)
        .and_then(|f| CellCount::new(f.value).ok())
        .map(|count| unit::count(count, c).to_string());
    (volume.unwrap_or_default(), counted.unwrap_or_default())
}

fn signed(desk: Desk) -> Markup {
    let row = move |record: Record| {
        let (patient, site) = who(desk, record.latest());
        let (volume, count) = product(&record);
        let counts = desk.say(Counts::of(record.latest()));
        let amended =
            record.amended().then(|| view! { <span class="second">{desk.say(Word::Amended)}</span> });
        let draft = late(&record);
        let (open, copy, card) = (draft.clone(), draft.clone(), draft);
        view! {
            <tr>
                <th scope="row">
                    <button type="button" class="link" on:click=move |_| show(desk, open.clone())>
                        {signed_at(desk, &record)}
                    </button>
                </th>
                <td><b class="sign">{record.check_sign().to_string()}</b></td>
                <td>
                    <b class="id">{patient}</b>
                    " "
                    <b class="site">{site}</b>
                </td>
                <td>{volume}</td>
                <td>{count} " " {counts} " " {amended}</td>
                <td>
                    {button(desk, Word::PrintCard, move || print_card(desk, card.clone()))}
                    {button(desk, Word::Duplicate, move || {
                        keep::duplicate(desk, &copy);
                        hash::go(Place::Worksheet);
                    })}
                </td>
            </tr>
        }
    };
    // The newest first.
    let rows = move || desk.records.get().into_iter().rev().map(row).collect_view();
    let head = [Word::Date, Word::Case, Word::Patient, Word::Product, Word::Platelets, Word::Actions];
    let head = head.map(|words| view! { <th scope="col">{desk.say(words)}</th> });
    let none = move || {
        desk.records.with(Vec::is_empty).then(|| view! { <p class="second">{desk.say(Word::NoRecord)}</p> })
    };
    view! {
        <section class="part-of">
            <h2 class="heading" id="signed-records">{desk.say(Word::Signed)}</h2>
            {none}
            <div
                class="wide"
                tabindex="0"
                role="region"
                aria-labelledby="signed-records"
                hidden=move || desk.records.with(Vec::is_empty)
            >
                <table class="table">
                    <thead>
                        <tr>{head}</tr>
                    </thead>
                    <tbody>{rows}</tbody>
                </table>
            </div>
        </section>
    }
}

/// Brings the case into view, so that its card is the paper, and prints once that is drawn.
fn print_card(desk: Desk, draft: Draft) {
    show(desk, draft);
    desk.paper.set(Paper::Card);
    print::print();
}

fn discarded(desk: Desk) -> Markup {
    let row = move |draft: Draft| {
        let (patient, site) = who(desk, &draft);
        let (back, gone) = (draft.id.clone(), draft.id.clone());
        view! {
            <div class="field">
                <div class="field-name">
                    <p>
                        <b class="sign">{draft.sign.to_string()}</b>
                        " "
                        <b class="id">{patient}</b>
                        " "
                        <b class="site">{site}</b>
                    </p>
                </div>
                <div class="entry">
                    {button(desk, Word::BringBack, move || keep::undo_discard(desk, &back))}
                    {button(desk, Word::DeleteForGood, move || keep::forget(desk, &gone))}
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
        let all = desk.unreadable.get();
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
