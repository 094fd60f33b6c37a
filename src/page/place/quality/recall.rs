//! Which preparations used a lot.

use crate::dom::prelude::*;
use crate::place::records::{show, show_record, who};
use crate::state::Desk;
use strawline::draft::Draft;
use strawline::quality::group::recall as recall_of;
use strawline::record::Record;
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
}

/// The field, and what it finds while it is typed in.
pub fn recall(desk: Desk) -> Markup {
    let lot = RwSignal::new(String::new());
    let found = memo(move || find(desk, &lot.get()));
    let row = move |f: Found| {
        let (id, standing) = (f.id.clone(), f.standing);
        let open = move |_| match standing {
            Word::OpenCase => {
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
        let n = all.len();
        if n == 0 {
            return view! { <p role="status">{desk.say(ChartSays::NoneUsed)}</p> };
        }
        let column = |word: Word| view! { <th scope="col">{desk.say(word)}</th> };
        view! {
            <p role="status">{desk.say(ChartLine::Used(n))}</p>
            <div class="wide" tabindex="0" role="region" aria-label=desk.say(Word::Recall)>
                <table class="table">
                    <thead>
                        <tr>{[Word::Day, Word::Case, Word::Patient, Word::Where, Word::Standing].map(column)}</tr>
                    </thead>
                    <tbody>{all.into_iter().map(row).collect_view()}</tbody>
                </table>
            </div>
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

/// Signed records as they now hold, cases that are open and not signed, discarded ones.
fn find(desk: Desk, lot: &str) -> Vec<Found> {
    let list = |drafts: &[&Draft], standing: Word| -> Vec<Found> {
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
                standing,
            }
        };
        recall_of(drafts.iter().copied(), lot).into_iter().map(one).collect()
    };
    desk.records.with(|records| {
        let signed: Vec<&Draft> = records.iter().rev().map(Record::latest).collect();
        let not_signed = |d: &Draft| records.iter().all(|r| r.id() != d.id);
        let open: Vec<Draft> =
            desk.open.with(|all| all.iter().map(|s| s.draft.get()).filter(not_signed).collect());
        let mut found = list(&open.iter().collect::<Vec<_>>(), Word::OpenCase);
        found.extend(list(&signed, Word::SignedRecord));
        desk.discarded.with(|all| {
            let all: Vec<&Draft> = all.iter().filter(|d| not_signed(d)).collect();
            found.extend(list(&all, Word::DiscardedCase));
        });
        found
    })
}
