//! Records past the clinic's time of keeping: proposed here, removed only at a tap that was asked about.

use crate::dom::prelude::*;
use crate::shell::{clock, keep::out};
use crate::state::Desk;
use leptos::task::spawn_local;
use std::sync::Arc;
use strawline::draft::{CheckSign, Draft, Field};
use strawline::record::archive::purge::{begun_since, not_in_a_backup, past, past_discarded};
use strawline::record::line::Line;
use strawline::words::page::Common;
use strawline::words::records::{KeepSays, KeepWord as Word, PastKeeping, RecordsWord};
use strawline::words::unit;

/// Records, and discarded cases.
fn due(desk: Desk) -> (Vec<Arc<Line>>, Vec<Draft>) {
    let Some(years) = desk.bench.with(|b| b.keep_years) else { return Default::default() };
    let now = desk.minute.get();
    let Some((today, _)) = now.at.local(now.offset) else { return Default::default() };
    desk.lines.with(|lines| {
        let discarded = desk.discarded.with(|all| past_discarded(all, lines, years, today, now.offset));
        (past(lines, years, today, now.offset), discarded)
    })
}

/// The group in Records; nothing while nothing is past its time and nothing was removed.
pub fn retention(desk: Desk) -> Markup {
    let report = RwSignal::new(Vec::<String>::new());
    // The records that were asked about.
    let asked = RwSignal::new(None::<Vec<String>>);
    // Those that may go without a backup.
    let without = RwSignal::new(None::<Vec<String>>);
    let found = memo(move || {
        let (lines, discarded) = due(desk);
        let ids = lines.iter().map(|line| &line.id).chain(discarded.iter().map(|draft| &draft.id));
        ids.cloned().collect::<Vec<_>>()
    });
    // What was said, was said of the list as it then stood.
    let sure_of = move || asked.with(|ids| ids.as_ref() == Some(&found.get()));
    let goes_without = move || without.with(|ids| ids.as_ref() == Some(&found.get()));
    let remove = move |_| {
        let Some(ids) = asked.get_untracked() else { return };
        let (mut lines, mut discarded) = untrack(|| due(desk));
        lines.retain(|line| ids.contains(&line.id));
        discarded.retain(|draft| ids.contains(&draft.id));
        asked.set(None);
        without.set(None);
        spawn_local(async move {
            let done = out::purge(desk, lines, discarded, clock::now().offset).await;
            report.set(done.into_iter().map(|line| desk.say(line)).collect());
        });
    };
    let day = move |at| unit::date(at, desk.offset.get()).map(|day| desk.say(day)).unwrap_or_default();
    let list = move || {
        found.track();
        let (all, discarded) = untrack(|| due(desk));
        if all.is_empty() && discarded.is_empty() {
            return None;
        }
        let n = PastKeeping { records: all.len(), discarded: discarded.len() };
        let counted = all.iter().filter(|line| line.facts.is_some() && !line.demo).count();
        let last = desk.settings.with(|s| s.last_backup(super::files::now(desk)));
        let lacks = not_in_a_backup(&all, last) + begun_since(&discarded, last);
        let row = |sign: CheckSign, patient: String, at| {
            view! { <li>{sign.to_string()} " · " {patient} " · " {day(at)}</li> }
        };
        let rows = all.iter().map(|line| row(line.sign, line.patient.clone(), line.last_signed()));
        let cases =
            discarded.iter().map(|d| row(d.sign, d.text(Field::PatientReference).to_owned(), d.begun));
        let cases = (!discarded.is_empty()).then(
            || view! { <p>{desk.say(RecordsWord::DiscardedCases)}</p> <ul>{cases.collect_view()}</ul> },
        );
        let backup = (lacks > 0).then(|| {
            view! {
                <p>{desk.say(KeepSays::NoBackup(lacks))}</p>
                <div class="buttons">
                    <button type="button" class="button" on:click=move |_| out::backup(desk)>
                        {desk.say(strawline::words::out::OutWord::Backup)}
                    </button>
                </div>
                <label class="check">
                    <input
                        type="checkbox"
                        id="purge-without"
                        prop:checked=goes_without
                        on:change=move |event| without.set(event_target_checked(&event).then(|| found.get_untracked()))
                    />
                    <span>{desk.say(Word::Without)}</span>
                </label>
            }
        });
        let may = move || lacks == 0 || goes_without();
        let sure = move || {
            sure_of().then(|| {
                view! {
                    <p role="alert">{desk.say(KeepSays::Sure(n))}</p>
                    <div class="buttons">
                        <button type="button" class="button" disabled=move || !may() on:click=remove>
                            {desk.say(Word::RemoveNow)}
                        </button>
                        <button type="button" class="button" on:click=move |_| asked.set(None)>
                            {desk.say(Common::Cancel)}
                        </button>
                    </div>
                }
            })
        };
        Some(view! {
            <details class="item" id="past-keeping">
                <summary>
                    <h2 class="heading">{desk.say(n)}</h2>
                </summary>
                <div>
                    <p class="second">{desk.say(KeepSays::What)}</p>
                    <ul hidden=all.is_empty()>{rows.collect_view()}</ul>
                    {cases}
                    {(counted > 0).then(|| view! { <p>{desk.say(KeepSays::Learned(counted))}</p> })}
                    {backup}
                    <div class="buttons" hidden=sure_of>
                        <button
                            type="button"
                            class="button"
                            disabled=move || !may()
                            on:click=move |_| asked.set(Some(found.get_untracked()))
                        >
                            {desk.say(if n.records > 0 { Word::Remove } else { Word::RemoveCases })}
                        </button>
                    </div>
                    {sure}
                </div>
            </details>
        })
    };
    let done = move || {
        report.with(|all| {
            (!all.is_empty()).then(|| {
                let rows = all.iter().map(|line| view! { <li>{line.clone()}</li> }).collect_view();
                view! {
                    <p>{desk.say(Word::Removed)}</p>
                    <ul>{rows}</ul>
                    <p class="second">{desk.say(KeepSays::After)}</p>
                }
            })
        })
    };
    view! {
        <section class="part-of">
            {list}
            <div role="status" id="purged">{done}</div>
        </section>
    }
}
