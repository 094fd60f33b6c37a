//! Records as files: tables, a backup, and a backup back in with a report line by line.

use super::field::PickBox;
use crate::dom::prelude::*;
use crate::shell::{clock, files, keep::out};
use crate::state::{Desk, Door};
use crate::widget::PassBox;
use leptos::task::spawn_local;
use std::sync::Arc;
use strawline::export::csv::Dates;
use strawline::quantity::time::Instant;
use strawline::record::archive::purge::not_in_a_backup;
use strawline::record::closed::{ClosedError, Key, Lock};
use strawline::words::bench::BenchWord;
use strawline::words::closed::{ClosedFault, ClosedSays, ClosedWord};
use strawline::words::out::{LastBackup, OutSays, OutWord};
use strawline::words::page::Common;
use strawline::words::records::{LeftOut, RecordFile};
use strawline::words::unit;

/// Now: the minute shown may be from before a backup just made.
pub(super) fn now(desk: Desk) -> Instant {
    desk.minute.track();
    clock::now().at
}

/// When the last backup was made, and how many records were signed since.
fn last_backup(desk: Desk) -> String {
    let last = desk.settings.with(|s| s.last_backup(now(desk)));
    let day = last.and_then(|at| unit::date(at, desk.offset.get())).map(|day| desk.say(day));
    desk.say(LastBackup(day, signed_since(desk)))
}

fn signed_since(desk: Desk) -> usize {
    let last = desk.settings.with(|s| s.last_backup(now(desk)));
    desk.lines.with(|all| not_in_a_backup(all.iter().filter(|line| !line.demo), last))
}

/// That a backup is due; nothing while none is.
pub fn backup_due(desk: Desk) -> Option<Markup> {
    let due = desk.settings.with(|s| s.backup_is_due(signed_since(desk), now(desk)));
    due.then(
        || view! { <p class="second" role="status">{last_backup(desk)} " " {desk.say(OutSays::BackUp)}</p> },
    )
}

/// What a backup is: closed where there is a lock.
fn backup_what(desk: Desk) -> OutSays {
    if desk.door.get() == Door::NoLock { OutSays::BackupWhat } else { OutSays::BackupWhatClosed }
}

/// The group in Records.
pub fn files(desk: Desk) -> Markup {
    let dates = RwSignal::new(0_usize);
    let report = RwSignal::new(Vec::<String>::new());
    let waits = RwSignal::new(None::<(Arc<Lock>, Arc<str>)>);
    let (typed, said) = (RwSignal::new(String::new()), RwSignal::new(None::<String>));
    let bring = move |text: String, key: Option<Key>| async move {
        report.set(match out::restore(desk, &text, key.as_ref()).await {
            Ok(done) => done.items.into_iter().map(|item| desk.say(item)).collect(),
            Err(reason) => vec![desk.say(OutSays::NotABackup), desk.say(reason)],
        });
    };
    // So many records could not be read and are not in the table that was saved last.
    let left_out = RwSignal::new(0_usize);
    let table = move || {
        left_out.set(0);
        spawn_local(async move { left_out.set(out::table(desk).await.unwrap_or_default()) });
    };
    let quality = move || {
        left_out.set(0);
        let dates = Dates::ALL.get(dates.get_untracked()).copied().unwrap_or_default();
        spawn_local(async move { left_out.set(out::quality(desk, dates).await.unwrap_or_default()) });
    };
    // A table of some records would pass for one of all.
    let unread = move || !desk.lines_read.get();
    let waiting =
        move || unread().then(|| view! { <p class="second">{desk.say(RecordFile::NotAllRead)}</p> });
    let missing = move || {
        let n = left_out.get();
        (n > 0).then(|| view! { <p class="wrong">{desk.say(LeftOut(n))}</p> })
    };
    let restore = move |event: web_sys::Event| {
        let input = event_target::<web_sys::HtmlInputElement>(&event);
        spawn_local(async move {
            let Some(text) = files::picked(input).await else { return };
            waits.set(None);
            typed.set(String::new());
            said.set(None);
            match out::asks(desk, &text) {
                Ok(None) => bring(text, None).await,
                Ok(Some(lock)) => {
                    report.set(Vec::new());
                    waits.set(Some((Arc::new(lock), Arc::from(text))));
                }
                Err(reason) => report.set(vec![desk.say(OutSays::NotABackup), desk.say(reason)]),
            }
        });
    };
    let open = move || {
        let Some((lock, text)) = waits.get_untracked() else { return };
        let phrase = typed.get_untracked();
        typed.set(String::new());
        said.set(Some(desk.say(ClosedSays::Wait)));
        spawn_local(async move {
            match out::open(&lock, &phrase).await {
                Ok(key) => {
                    waits.set(None);
                    said.set(None);
                    bring(text.to_string(), Some(key)).await;
                }
                Err(ClosedError::Wrong | ClosedError::NotARecoveryKey) => {
                    said.set(Some(desk.say(OutSays::NotItsPassphrase)));
                }
                Err(error) => said.set(Some(desk.say(ClosedFault(error)))),
            }
        });
    };
    let asks = move || {
        waits.with(Option::is_some).then(|| {
            view! {
                <p>{desk.say(OutSays::BackupClosed)}</p>
                {(desk.door.get() == Door::NoLock)
                    .then(|| view! { <p class="second">{desk.say(OutSays::InClearHere)}</p> })}
                <PassBox id="backup-passphrase" label=ClosedWord::OfTheFile value=typed go=open/>
                <p class="wrong" role="alert">{said}</p>
                <div class="buttons">
                    <button type="button" class="button" on:click=move |_| open()>{desk.say(OutWord::OpenFile)}</button>
                    <button type="button" class="button" on:click=move |_| waits.set(None)>{desk.say(Common::Cancel)}</button>
                </div>
            }
        })
    };
    let button = move |word: OutWord, held: Box<dyn Fn() -> bool>, tap: Box<dyn Fn()>| {
        view! {
            <div class="buttons">
                <button type="button" class="button" disabled=held on:click=move |_| tap()>{desk.say(word)}</button>
            </div>
        }
    };
    let pick = PickBox::new(
        BenchWord::QualityDates,
        None,
        |desk| [OutWord::Day, OutWord::Month, OutWord::NoDate].map(|w| desk.say(w)).to_vec(),
        dates.into(),
        move |n| {
            dates.set(n);
            Ok(())
        },
    );
    let lines = move || {
        report.with(|all| {
            (!all.is_empty()).then(|| {
                let rows = all.iter().map(|line| view! { <li>{line.clone()}</li> }).collect_view();
                view! { <p>{desk.say(OutWord::Restored)}</p> <ul>{rows}</ul> }
            })
        })
    };
    view! {
        <section class="part-of">
            <details class="item">
                <summary>
                    <h2 class="heading">{desk.say(OutWord::Files)}</h2>
                </summary>
                <div>
                    <p class="second">{desk.say(OutSays::FilesWhat)}</p>
                    {waiting}
                    {button(OutWord::Table, Box::new(unread), Box::new(table))}
                    {pick.view("quality-dates")}
                    {button(OutWord::Quality, Box::new(unread), Box::new(quality))}
                    <div role="status" id="left-out">{missing}</div>
                    <p class="second">{move || desk.say(backup_what(desk))}</p>
                    <p class="second">{desk.say(OutSays::Clears)}</p>
                    <p>{move || last_backup(desk)}</p>
                    {button(OutWord::Backup, Box::new(|| false), Box::new(move || out::backup(desk)))}
                    <div class="field">
                        <div class="field-name">
                            <label for="restore">{desk.say(OutWord::Restore)}</label>
                            <p class="second" id="restore-more">{desk.say(OutSays::RestoreWhat)}</p>
                        </div>
                        <div class="entry">
                            <input
                                id="restore"
                                class="words"
                                type="file"
                                accept=".json,application/json"
                                aria-describedby="restore-more"
                                on:change=restore
                            />
                        </div>
                    </div>
                    {asks}
                    <div role="status" id="restored">{lines}</div>
                </div>
            </details>
        </section>
    }
}
