//! What other tabs store. An open case that was not touched here since follows them; one that was asks.

use super::load::{self, Part};
use super::{as_signed, closing, flush, keeper, out};
use crate::dom::prelude::*;
use crate::shell::store::Stores;
use crate::shell::typing;
use crate::state::{Banner, Desk, Sheet};
use leptos::task::spawn_local;
use strawline::draft::Draft;
use strawline::record::Record;
use strawline::record::archive::{self, SaveError, Seen, Stored};
use strawline::record::grown::Grown;
use strawline::record::store::Store;
use strawline::words::banner::Shelf;
use wasm_bindgen::JsCast;

/// Of these there is one each.
const SHELF: [&str; 2] = [archive::BENCH, archive::SETTINGS];

/// Listens to the other tabs for as long as the page lives.
pub fn listen(desk: Desk) {
    // What a page that is not of this version enters in the log is not told: it is read again when a person comes back.
    let _stays = window_event_listener_untyped("focus", move |_| super::log::look_again(desk));
    let _stays = window_event_listener_untyped("storage", move |event| {
        let Ok(event) = event.dyn_into::<web_sys::StorageEvent>() else { return };
        let Some(key) = event.key() else { return closing::cleared(desk) };
        let case = [archive::DRAFT, archive::DISCARDED].map(|prefix| key.strip_prefix(prefix));
        match case[0] {
            Some(id) => draft_changed(desk, id, event.new_value()),
            None if case[1].is_some() => discarded_changed(desk, &key, event.new_value()),
            None if SHELF.contains(&key.as_str()) => load::reread(desk, &[Part::Shelf]),
            None if key == archive::DECISIONS => load::reread(desk, &[Part::Decisions]),
            None if key == out::PURGED => {
                event.new_value().iter().for_each(|ids| out::purged_elsewhere(desk, ids))
            }
            None if key == SIGNED => event.new_value().iter().for_each(|id| load::reread_record(desk, id)),
            None if key == ADDED => event.new_value().iter().for_each(|what| added_elsewhere(desk, what)),
            None if key == archive::LOCK => closing::elsewhere(desk, event.new_value()),
            None => {}
        }
    });
}

/// Key under which other tabs hear for a moment which record was signed or amended: its draft need not go with that.
pub const SIGNED: &str = "strawline.signed";
/// Key under which other tabs hear for a moment what was added to what no event of the browser tells of.
const ADDED: &str = "strawline.added";
/// An entry of the log.
pub const TO_LOG: &str = "log";
/// Whatever a backup held.
pub const RESTORED: &str = "restored";

/// Tells the other tabs under a key, where it stands only until they have heard.
pub async fn tell(stores: &Stores, key: &str, text: String) {
    let told = stores.shelf.write(key, text).await;
    if let Err(error) = told.and(stores.shelf.remove(key).await) {
        leptos::logging::warn!("{error:?}");
    }
}

/// Tells them that something was added.
pub async fn tell_added(stores: &Stores, what: &str) {
    tell(stores, ADDED, what.to_owned()).await;
}

pub(super) fn added_elsewhere(desk: Desk, what: &str) {
    let mut parts = vec![Part::Log];
    if what == RESTORED {
        for id in desk.records.with_untracked(|all| all.iter().map(|r| r.id().to_owned()).collect::<Vec<_>>())
        {
            load::reread_record(desk, &id);
        }
        parts.extend([Part::Aside, Part::Lines]);
    }
    load::reread(desk, &parts);
}

fn draft_changed(desk: Desk, id: &str, text: Option<String>) {
    // Before they are open, or open again, all of it is read anew.
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    // A key that waits is part of what is here.
    typing::settle();
    let sheet = find(desk, id);
    let Some(text) = text else {
        gone(desk, id);
        return;
    };
    // Written by a newer version: what is here goes on, and is not stored over it.
    let Ok(text) = stores.safe.drafts.opened(&format!("{}{id}", archive::DRAFT), text) else { return };
    let Ok(theirs) = Draft::from_json(&text) else { return };
    let view = desk.current.get_untracked();
    match sheet {
        Some(_) => meet(desk, theirs),
        None => {
            meet(desk, theirs);
            desk.current.set(view);
            // It may amend a record.
            load::with_record(desk, id, move |record| meet_again(desk, &record));
        }
    }
}

/// A case was discarded there, brought back or removed for good: its blood was drawn all the same.
fn discarded_changed(desk: Desk, key: &str, text: Option<String>) {
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    let theirs = text.and_then(|text| Draft::from_json(&stores.safe.drafts.opened(key, text).ok()?).ok());
    desk.discarded.update(|all| {
        all.retain(|d| key.strip_prefix(archive::DISCARDED) != Some(d.id.as_str()));
        all.extend(theirs);
    });
}

/// A case was signed or discarded there, or what amended its record was. No other patient's worksheet steps into its
/// place unasked.
pub fn gone(desk: Desk, id: &str) {
    if let Some(sheet) = find(desk, id).filter(|s| untouched(*s)) {
        let latest = desk.records.with_untracked(|all| {
            all.iter().find(|record| record.id() == id).map(|record| record.latest().clone())
        });
        match latest {
            Some(latest) => becomes(sheet, latest),
            None => leave(desk, sheet, id),
        }
    }
    keeper(|k| k.drafts.remove(id));
}

fn leave(desk: Desk, sheet: Sheet, id: &str) {
    let in_view = desk.current.get_untracked().as_deref() == Some(id);
    let sign = sheet.draft.with_untracked(|d| d.sign);
    desk.close(id);
    if in_view {
        desk.show(Banner::ClosedElsewhere(sign));
        crate::shell::hash::go(crate::state::Place::Records);
    }
}

/// Whether a case is as it was last stored or read here.
fn untouched(sheet: Sheet) -> bool {
    sheet.draft.with_untracked(|d| keeper(|k| k.drafts.get(&d.id).is_some_and(|seen| seen.draft == *d)))
}

/// Whether a case is open as its record has it, with nothing of it stored beside that.
pub fn only_looked_at(desk: Desk, sheet: Sheet) -> bool {
    sheet.draft.with_untracked(|d| keeper(|k| !k.drafts.contains_key(&d.id)) && as_signed(desk, d))
}

/// Takes up a case as it stands in the store. One that was touched here since stays as it is: the next storing finds
/// out and asks.
pub fn meet(desk: Desk, theirs: Draft) {
    match find(desk, &theirs.id) {
        Some(sheet) if untouched(sheet) => take(desk, sheet, theirs),
        Some(_) => flush(desk),
        None => {
            keeper(|k| k.drafts.insert(theirs.id.clone(), Seen::of(theirs.clone())));
            desk.open(theirs);
        }
    }
}

/// The same of an amendment in progress that a backup brought: a case that is only looked at takes it up, which it does
/// not of what somebody is typing in another tab.
pub fn meet_brought(desk: Desk, theirs: Draft) {
    match find(desk, &theirs.id).filter(|sheet| only_looked_at(desk, *sheet)) {
        Some(sheet) => take(desk, sheet, theirs),
        None => meet(desk, theirs),
    }
}

/// Lets an open case meet its record as another tab left it, before that is taken up in place of what is known here.
pub fn meet_record(desk: Desk, record: &Record) {
    let Some(sheet) = find(desk, record.id()) else { return };
    // A key that waits is part of what is here.
    typing::settle();
    let grown = |open: &Draft| {
        desk.records.with_untracked(|all| {
            let known = all.iter().find(|known| known.id() == record.id()).map(Record::latest);
            record.grown_over(known, open)
        })
    };
    follow(desk, sheet, record, sheet.draft.with_untracked(grown));
}

/// The same of a case that was just read or brought back: what it was begun on is not known here.
pub fn meet_again(desk: Desk, record: &Record) {
    if let Some(sheet) = find(desk, record.id()) {
        follow(desk, sheet, record, sheet.draft.with_untracked(|open| record.grown_over_stored(open)));
    }
}

fn follow(desk: Desk, sheet: Sheet, record: &Record, grown: Grown) {
    let grown = if asks_what_holds(desk, record.id()) {
        sheet.draft.with_untracked(|open| record.grown_while_asked(open))
    } else {
        grown
    };
    match grown {
        Grown::Holds => decided(desk, record.id()),
        Grown::Becomes(draft) => {
            becomes(sheet, *draft);
            decided(desk, record.id());
            desk.hide(|b| matches!(b, Banner::ChangedElsewhere { id, .. } if id == record.id()));
        }
        Grown::Asks => {
            let (id, sign) = (record.id().to_owned(), record.check_sign());
            // Of one case one question at a time, and this one says that nothing was signed.
            desk.hide(|b| match b {
                Banner::ChangedElsewhere { id: of, .. } => *of == id,
                Banner::NotSigned { sign: of, error: SaveError::Conflict } => *of == sign,
                _ => false,
            });
            desk.show(Banner::AmendedElsewhere { id, sign });
        }
    }
}

/// A case becomes another state of it, at the stage in view.
fn becomes(sheet: Sheet, draft: Draft) {
    let stage = sheet.draft.with_untracked(|d| d.stage);
    sheet.draft.set(Draft { stage, ..draft });
}

/// Whether it is still to be decided which of two tabs' cases stays, or whether a record holds or what is typed over it.
/// Until then it is not signed.
pub fn undecided(desk: Desk, id: &str) -> bool {
    let of = |b: &Banner| matches!(b, Banner::ChangedElsewhere { id: of, .. } if of == id);
    asks_what_holds(desk, id) || desk.banners.with_untracked(|all| all.iter().any(of))
}

/// Whether it is asked what holds, a record or what is typed over it.
fn asks_what_holds(desk: Desk, id: &str) -> bool {
    let of = |b: &Banner| matches!(b, Banner::AmendedElsewhere { id: of, .. } if of == id);
    desk.banners.with_untracked(|all| all.iter().any(of))
}

/// Asks no longer what holds of a case and its record.
pub fn decided(desk: Desk, id: &str) {
    desk.hide(|b| matches!(b, Banner::AmendedElsewhere { id: of, .. } if of == id));
}

/// Ends the question: takes the record as it stands, or keeps what is typed over it.
pub fn settle_record(desk: Desk, id: &str, take_record: bool) {
    typing::settle();
    let record = desk.records.with_untracked(|all| all.iter().find(|r| r.id() == id).cloned());
    if let Some((sheet, record)) = find(desk, id).zip(record).filter(|_| take_record) {
        becomes(sheet, record.latest().clone());
    }
    decided(desk, id);
    flush(desk);
}

/// The sheet of an open case.
pub fn find(desk: Desk, id: &str) -> Option<Sheet> {
    desk.open.with_untracked(|open| open.iter().copied().find(|s| s.id() == id))
}

fn take(desk: Desk, sheet: Sheet, theirs: Draft) {
    keeper(|k| k.drafts.insert(theirs.id.clone(), Seen::of(theirs.clone())));
    // What it knows of centrifuges the other tab may have from entries that were not read here yet.
    let older = |d: &Draft| d.kit.centrifuges.entries < theirs.kit.centrifuges.entries;
    if sheet.draft.with_untracked(older) {
        load::reread(desk, &[Part::Log]);
    }
    sheet.draft.set(theirs);
}

/// Ends a conflict: takes the other tab's case, or keeps the one here.
pub fn settle(desk: Desk, id: String, take_theirs: bool) {
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    spawn_local(async move {
        let theirs = match archive::load_draft(&stores.safe.drafts, &id).await {
            Ok(theirs) => theirs,
            Err(error) => return desk.show(Banner::NotRead(error)),
        };
        match (find(desk, &id), theirs) {
            (Some(sheet), Stored::Good(theirs)) if take_theirs => {
                take(desk, sheet, theirs);
                // It may amend a record that has grown since.
                load::with_record(desk, &id, move |record| meet_again(desk, &record));
            }
            // Seen, so it may be written over.
            (Some(_), Stored::Good(theirs)) => {
                keeper(|k| k.drafts.insert(id.clone(), Seen::of(theirs)));
            }
            // Signed or discarded there since: that is theirs.
            (Some(sheet), Stored::Absent) if take_theirs => {
                leave(desk, sheet, &id);
                keeper(|k| k.drafts.remove(&id));
            }
            _ => {}
        }
        desk.hide(|b| matches!(b, Banner::ChangedElsewhere { id: of, .. } if *of == id));
        flush(desk);
    });
}

/// Ends a conflict over Bench, settings or decisions: takes the other tab's, or keeps those here.
pub fn settle_shelf(desk: Desk, which: Shelf, take_theirs: bool) {
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    spawn_local(async move {
        let read = match which {
            Shelf::Bench => archive::load_bench(&stores.shelf).await.map(|found| {
                if let Stored::Good(theirs) = found {
                    keeper(|k| k.bench = Some(theirs.clone()));
                    if take_theirs {
                        desk.bench.set(theirs);
                    }
                }
            }),
            Shelf::Settings => archive::load_settings(&stores.shelf).await.map(|found| {
                if let Stored::Good(theirs) = found {
                    keeper(|k| k.settings = Some(theirs.clone()));
                    if take_theirs {
                        desk.settings.set(theirs);
                    }
                }
            }),
            Shelf::Decisions => archive::load_decisions(&stores.safe.drafts).await.map(|found| {
                if let Stored::Good(theirs) = found {
                    keeper(|k| k.decisions = Some(theirs.clone()));
                    if take_theirs {
                        desk.decisions.set(theirs);
                    }
                }
            }),
        };
        match read {
            Ok(()) => {
                desk.hide(|b| *b == Banner::ShelfElsewhere(which));
                flush(desk);
            }
            Err(error) => desk.show(Banner::NotRead(error)),
        }
    });
}
