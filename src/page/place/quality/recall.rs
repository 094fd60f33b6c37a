//! Which preparations used a lot.

use crate::place::records::{show, show_record, who, who_of};
use crate::state::Desk;
use crate::wire::{dynamic, memo};
use leptos::prelude::*;
use strawline::draft::Draft;
use strawline::quality::group::{Lot, LotField};
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
}

/// The field, and what it finds while it is typed in.
pub fn recall(desk: Desk) -> AnyView {
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
            Word::DiscardedCase => f.day.into_any(),
            _ => view! { <button type="button" class="link" on:click=open>{f.day}</button> }.into_any(),
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
            return ().into_any();
        }
        let n = all.len();
        if n == 0 {
            return view! { <p role="status">{desk.say(ChartSays::NoneUsed)}</p> }.into_any();
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
        .into_any()
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
            {dynamic(list)}
        </section>
    }
    .into_any()
}

/// Signed records as they now hold, cases that are open and not signed, discarded ones.
fn find(desk: Desk, typed: &str) -> Vec<Found> {
    let Some(lot) = Lot::read(typed) else { return Vec::new() };
    let from =
        |field: LotField, typed: &str| desk.say(ChartLine::From(desk.say(field), typed.trim().to_owned()));
    let day = |at| unit::date(at, desk.offset.get_untracked()).map(|day| desk.say(day)).unwrap_or_default();
    let of_case = |draft: &Draft, standing: Word| -> Vec<Found> {
        let used = LotField::ALL.into_iter().filter(|f| lot.is_in(draft.text(f.field())));
        let one = |field: LotField| {
            let (patient, site) = who(desk, draft);
            Found {
                id: draft.id.clone(),
                sign: draft.sign.to_string(),
                day: day(begun(draft)),
                patient,
                site,
                lot: from(field, draft.text(field.field())),
                standing,
            }
        };
        used.map(one).collect()
    };
    let of_line = |line: &Line| -> Vec<Found> {
        let used = LotField::ALL.into_iter().filter(|f| lot.is_in(line.lot(*f)));
        let one = |field: LotField| {
            let (patient, site) = who_of(desk, line);
            Found {
                id: line.id.clone(),
                sign: line.sign.to_string(),
                day: day(line.begun),
                patient,
                site,
                lot: from(field, line.lot(field)),
                standing: Word::SignedRecord,
            }
        };
        used.map(one).collect()
    };
    desk.lines.with(|lines| {
        let not_signed = |d: &Draft| lines.iter().all(|line| line.id != d.id);
        let open: Vec<Draft> =
            desk.open.with(|all| all.iter().map(|s| s.draft.get()).filter(not_signed).collect());
        let mut found: Vec<Found> = open.iter().flat_map(|d| of_case(d, Word::OpenCase)).collect();
        found.extend(lines.iter().rev().flat_map(|line| of_line(line)));
        desk.discarded.with(|all| {
            let all = all.iter().filter(|d| not_signed(d));
            found.extend(all.flat_map(|d| of_case(d, Word::DiscardedCase)));
        });
        found
    })
}
