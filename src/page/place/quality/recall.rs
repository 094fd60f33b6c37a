//! Which preparations used a lot.

use crate::dom::prelude::*;
use crate::place::records::{show, show_record, who};
use crate::state::Desk;
use strawline::draft::Draft;
use strawline::quality::group::{NamedIn, entries_of, recall as recall_of};
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
fn find(desk: Desk, lot: &str) -> Vec<Found> {
    let one = |used: strawline::quality::group::Used<'_>| {
        let (patient, site) = who(desk, used.case);
        let day =
            unit::date(used.case.times.needle_in.unwrap_or(used.case.begun), desk.offset.get_untracked());
        Found {
            id: used.case.id.clone(),
            sign: used.sign.to_string(),
            day: day.map(|day| desk.say(day)).unwrap_or_default(),
            patient,
            site,
            lot: desk.say(ChartLine::From(desk.say(used.field), used.typed.trim().to_owned())),
            standing: match used.named_in {
                NamedIn::Record => Word::SignedRecord,
                NamedIn::EarlierEntry => Word::EarlierEntry,
                NamedIn::OpenAmendment => Word::OpenAmendment,
                NamedIn::OpenCase => Word::OpenCase,
                NamedIn::Discarded => Word::DiscardedCase,
            },
            sure: used.sure,
        }
    };
    let open: Vec<Draft> = desk.open.with(|all| all.iter().map(|s| s.draft.get()).collect());
    desk.records.with(|records| {
        desk.discarded.with(|discarded| {
            let signed = |d: &&Draft| records.iter().any(|r| r.id() == d.id);
            let cases = open.iter().filter(|d| !signed(d)).map(|d| (NamedIn::OpenCase, d));
            let entries = records.iter().rev().flat_map(entries_of);
            let amendments = open.iter().filter(signed).map(|d| (NamedIn::OpenAmendment, d));
            let discarded = discarded.iter().filter(|d| !signed(d)).map(|d| (NamedIn::Discarded, d));
            let all = cases.chain(entries).chain(amendments).chain(discarded);
            recall_of(all, lot).into_iter().map(one).collect()
        })
    })
}
