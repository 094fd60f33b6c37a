//! Which preparations used a lot.

use crate::dom::prelude::*;
use crate::place::records::{show, show_record, who, who_of};
use crate::state::Desk;
use strawline::draft::Draft;
use strawline::quality::group::{Lot, LotField, NamedIn, recall as recall_of};
use strawline::record::line::{Line, begun};
use strawline::words::charts::{ChartLine, ChartSays, ChartWord as Word};
use strawline::words::unit;

/// A preparation that used the lot, as it is listed.
#[derive(Debug, Clone, PartialEq)]
struct Found {
    id: String,
    sign: String,
    day: String,
    patient: String,
    site: String,
    lot: String,
    standing: Word,
    sure: bool,
}

/// The field, and what it finds while it is typed in.
pub fn recall(desk: Desk) -> Markup {
    let lot = RwSignal::new(String::new());
    let found = memo(move || find(desk, &lot.get()));
    let row = move |f: Found| {
        let (id, standing) = (f.id.clone(), f.standing);
        let open = move |_| match standing {
            Word::OpenCase | Word::OpenAmendment => {
                let draft =
                    desk.open.with_untracked(|open| open.iter().find(|s| s.id() == id).map(|s| s.draft));
                if let Some(draft) = draft {
                    show(desk, draft.get_untracked());
                }
            }
            _ => show_record(desk, &id),
        };
        let name = match standing {
            // What was discarded is brought back from Records first.
            Word::DiscardedCase => f.day.into_view(),
            _ => view! { <button type="button" class="link" on:click=open>{f.day}</button> },
        };
        view! {
            <tr>
                <th scope="row">{name}</th>
                <td><b class="sign">{f.sign}</b></td>
                <td><b class="id">{f.patient}</b> " " <b class="site">{f.site}</b></td>
                <td>{f.lot}</td>
                <td>{desk.say(standing)}</td>
            </tr>
        }
    };
    let list = move || {
        let all = found.get();
        if lot.with(|lot| lot.trim().is_empty()) {
            return Markup::None;
        }
        let (sure, may): (Vec<Found>, Vec<Found>) = all.into_iter().partition(|f| f.sure);
        let column = |word: Word| view! { <th scope="col">{desk.say(word)}</th> };
        let table = |name: String, all: Vec<Found>| {
            (!all.is_empty()).then(|| {
                view! {
                    <div class="wide" tabindex="0" role="region" aria-label=name>
                        <table class="table">
                            <thead>
                                <tr>
                                    {[Word::Day, Word::Case, Word::Patient, Word::Where, Word::Standing].map(column)}
                                </tr>
                            </thead>
                            <tbody>{all.into_iter().map(row).collect_view()}</tbody>
                        </table>
                    </div>
                }
            })
        };
        let used = match sure.len() {
            0 => desk.say(ChartSays::NoneUsed),
            n => desk.say(ChartLine::Used(n)),
        };
        let maybe = (!may.is_empty()).then(|| desk.say(ChartLine::MayHaveUsed(may.len())));
        let apart = maybe.clone().map(|words| {
            view! { <p role="status"><b>{words}</b> " " {desk.say(ChartSays::MayHold)}</p> }
        });
        view! {
            <p role="status">{used}</p>
            {table(desk.say(Word::Recall), sure)}
            {apart}
            {table(maybe.unwrap_or_default(), may)}
        }
    };
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Word::Recall)}</h2>
            <div class="field">
                <div class="field-name">
                    <label for="recall-lot">{desk.say(Word::Lot)}</label>
                    <p class="second" id="recall-lot-more">{desk.say(ChartSays::RecallHow)}</p>
                </div>
                <div class="entry">
                    <input
                        id="recall-lot"
                        class="words"
                        autocomplete="off"
                        maxlength="100"
                        aria-describedby="recall-lot-more"
                        prop:value=lot
                        on:input=move |event| lot.set(event_target_value(&event))
                    />
                </div>
            </div>
            {list}
        </section>
    }
}

/// Open cases, every entry of every signed record, amendments that are open, discarded cases.
fn find(desk: Desk, typed: &str) -> Vec<Found> {
    let Some(lot) = Lot::read(typed) else { return Vec::new() };
    let from =
        |field: LotField, typed: &str| desk.say(ChartLine::From(desk.say(field), typed.trim().to_owned()));
    let day = |at| unit::date(at, desk.offset.get_untracked()).map(|day| desk.say(day)).unwrap_or_default();
    let of_case = |used: strawline::quality::group::Used<'_>| {
        let (patient, site) = who(desk, used.case);
        Found {
            id: used.case.id.clone(),
            sign: used.sign.to_string(),
            day: day(begun(used.case)),
            patient,
            site,
            lot: from(used.field, used.typed),
            standing: standing(used.named_in),
            sure: used.sure,
        }
    };
    let of_line = |line: &Line| -> Vec<Found> {
        let one = |(field, named_in, typed, sure)| {
            let (patient, site) = who_of(desk, line);
            Found {
                id: line.id.clone(),
                sign: line.sign.to_string(),
                day: day(line.begun),
                patient,
                site,
                lot: from(field, typed),
                standing: standing(named_in),
                sure,
            }
        };
        line.names(&lot).into_iter().map(one).collect()
    };
    let open: Vec<Draft> = desk.open.with(|all| all.iter().map(|s| s.draft.get()).collect());
    desk.lines.with(|lines| {
        let signed = |d: &&Draft| lines.iter().any(|line| line.id == d.id);
        let (amendments, cases): (Vec<&Draft>, Vec<&Draft>) = open.iter().partition(signed);
        let of = |all: Vec<&Draft>, named_in| -> Vec<Found> {
            recall_of(all.into_iter().map(|d| (named_in, d)), &lot).into_iter().map(of_case).collect()
        };
        let mut found = of(cases, NamedIn::OpenCase);
        found.extend(lines.iter().rev().flat_map(|line| of_line(line)));
        found.extend(of(amendments, NamedIn::OpenAmendment));
        desk.discarded.with(|all| {
            found.extend(of(all.iter().filter(|d| !signed(d)).collect(), NamedIn::Discarded));
        });
        found
    })
}

/// In what a lot is named, in a word.
fn standing(named_in: NamedIn) -> Word {
    match named_in {
        NamedIn::Record => Word::SignedRecord,
        NamedIn::EarlierEntry => Word::EarlierEntry,
        NamedIn::OpenAmendment => Word::OpenAmendment,
        NamedIn::OpenCase => Word::OpenCase,
        NamedIn::Discarded => Word::DiscardedCase,
    }
}
