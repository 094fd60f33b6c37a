//! Reads what is stored, part by part: one that will not be read hides no other, is told, and can be tried again.

use super::{Then, closing, elsewhere, flush, focused, keeper};
use crate::dom::prelude::*;
use crate::shell::look;
use crate::shell::store::Stores;
use crate::state::{Banner, Desk};
use js_sys::Promise;
use leptos::task::spawn_local;
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;
use strawline::arrange::{gather, sort_by_key};
use strawline::draft::Draft;
use strawline::record::archive::{self, Kept, Looked, SaveError, Stored, Unreadable, backup};
use strawline::record::line::Line;
use strawline::record::store::{Store, StoreError};
use strawline::record::{Reason, Record};
use strawline::words::banner::Shelf;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;

/// What is read on its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Bench and settings.
    Shelf,
    /// What was decided about counts.
    Decisions,
    /// Open and discarded cases.
    Drafts,
    /// Signed records of the open cases.
    Records,
    /// The clinic's log.
    Log,
    /// What was put aside.
    Aside,
    /// The lines of all signed records.
    Lines,
}

/// The quick ones first: records are in the slower store, and there may be very many lines.
const PARTS: [Part; 7] =
    [Part::Shelf, Part::Decisions, Part::Drafts, Part::Records, Part::Log, Part::Aside, Part::Lines];

/// Reads each part that was not read yet. Before the lines, for which nobody has to wait, the stores are given free.
pub async fn load(desk: Desk, stores: &Stores) {
    let mut failed = None;
    for part in PARTS {
        // Another tab put a lock on: it is read when that is opened here.
        if stores.safe.is_shut() {
            return;
        }
        if part == Part::Lines {
            keeper(|k| k.stores = Some(stores.clone()));
            flush(desk);
        }
        if keeper(|k| k.read.contains(&part)) {
            continue;
        }
        let done = match part {
            Part::Shelf => shelf(desk, stores).await,
            Part::Decisions => decisions(desk, stores).await,
            Part::Drafts => drafts(desk, stores).await,
            Part::Records => records(desk, stores).await,
            Part::Log => log(desk, stores).await,
            Part::Aside => aside(desk, stores).await,
            Part::Lines => lines(desk, stores).await,
        };
        match done {
            Ok(()) => {
                keeper(|k| k.read.insert(part));
            }
            Err(error) => failed = Some(error),
        }
    }
    match failed {
        Some(_) if stores.safe.is_shut() => {}
        Some(error) => desk.show(Banner::NotRead(error)),
        None => desk.hide(|b| matches!(b, Banner::NotRead(_))),
    }
}

/// Reads anew what could not be read; where not even the lock could be, looks for that.
pub fn again(desk: Desk) {
    if keeper(|k| k.held.as_ref().is_some_and(|held| held.safe.is_shut())) {
        spawn_local(closing::begin(desk));
        return;
    }
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    spawn_local(async move {
        load(desk, &stores).await;
        flush(desk);
    });
}

/// Forgets what was read, so that all of it is read anew, and ends a look through the records.
pub fn forget(desk: Desk) {
    keeper(|k| {
        k.read.clear();
        k.clocks = None;
        k.turn = k.turn.wrapping_add(1);
    });
    desk.lines_read.set(false);
    desk.unreadable.set(Vec::new());
    desk.aside.set(Vec::new());
    desk.hide(|b| matches!(b, Banner::Unreadable(_)));
}

/// Reads parts anew, which another tab has changed. Of a page that is closed what is in clear; the rest is read when it
/// is opened, which nothing but the passphrase does.
pub fn reread(desk: Desk, parts: &[Part]) {
    let (stores, held) = keeper(|k| {
        k.read.retain(|part| !parts.contains(part));
        (k.stores.is_some(), k.held.clone())
    });
    match held {
        _ if stores => again(desk),
        Some(held) if parts.contains(&Part::Shelf) => spawn_local(async move {
            if let Err(error) = shelf(desk, &held).await {
                desk.show(Banner::NotRead(error));
            }
        }),
        _ => {}
    }
}

/// Reads one record and its line anew, which another tab may have signed or amended.
pub fn reread_record(desk: Desk, id: &str) {
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    let id = id.to_owned();
    spawn_local(async move {
        if let Err(error) = record_anew(desk, &stores, &id).await {
            desk.show(Banner::NotRead(error));
        }
    });
}

async fn record_anew(desk: Desk, stores: &Stores, id: &str) -> Result<(), StoreError> {
    let at_hand = elsewhere::find(desk, id).is_some()
        || desk.records.with_untracked(|all| all.iter().any(|r| r.id() == id));
    if at_hand && let Some(record) = take_up(desk, archive::load_record(&stores.safe.records, id).await?) {
        elsewhere::meet_record(desk, &record);
        desk.know(record);
    }
    line_anew(desk, stores, id).await
}

/// The line of a record as it was written with it, made anew if that is not what is stored now.
async fn line_anew(desk: Desk, stores: &Stores, id: &str) -> Result<(), StoreError> {
    let line = archive::load_line(&stores.safe.records, id).await?;
    match archive::look(&stores.safe.records, id, line.as_ref()).await? {
        Looked::Fits => desk.know_lines(line.into_iter().collect()),
        Looked::Renewed { line, damaged } => {
            list_unreadable(desk, damaged.into_iter().collect());
            desk.know_lines(vec![*line]);
        }
        Looked::Lost { line, item } => {
            list_unreadable(desk, vec![item]);
            desk.know_lines(vec![*line]);
        }
        Looked::Unreadable(item) => list_unreadable(desk, vec![item]),
        Looked::Gone => {}
    }
    Ok(())
}

/// Lists what is stored and cannot be read.
pub fn list_unreadable(desk: Desk, found: Vec<Unreadable>) {
    if found.is_empty() {
        return;
    }
    desk.unreadable.update(|all| {
        all.retain(|old| found.iter().all(|new| new.key != old.key));
        all.extend(found);
    });
    desk.show(Banner::Unreadable(desk.unreadable.with_untracked(Vec::len)));
}

/// Takes records that can be read again off the list.
fn no_longer_unreadable(desk: Desk, ids: &[&str]) {
    let of = |item: &Unreadable| {
        let id = item.key.strip_prefix(archive::RECORD);
        id.is_some_and(|id| ids.contains(&id)) && item.reason != Reason::Missing
    };
    if !desk.unreadable.with_untracked(|all| all.iter().any(of)) {
        return;
    }
    desk.unreadable.update(|all| all.retain(|item| !of(item)));
    match desk.unreadable.with_untracked(Vec::len) {
        0 => desk.hide(|b| matches!(b, Banner::Unreadable(_))),
        left => desk.show(Banner::Unreadable(left)),
    }
}

/// Bench and settings; for what cannot be read, what ships holds.
pub async fn shelf(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let theirs = archive::load_settings(&stores.shelf).await?;
    let known = keeper(|k| k.settings.take());
    let known = meet(desk, Shelf::Settings, desk.settings, known, theirs);
    keeper(|k| k.settings = known);
    let theirs = archive::load_bench(&stores.shelf).await?;
    let known = keeper(|k| k.bench.take());
    let known = meet(desk, Shelf::Bench, desk.bench, known, theirs);
    keeper(|k| k.bench = known);
    Ok(())
}

async fn decisions(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let theirs = archive::load_decisions(&stores.safe.drafts).await?;
    let known = keeper(|k| k.decisions.take());
    let known = meet(desk, Shelf::Decisions, desk.decisions, known, theirs);
    keeper(|k| k.decisions = known);
    Ok(())
}

/// Entries are only ever added: what is here and there makes the log.
async fn log(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let found = archive::log_entries(&stores.safe.records).await?;
    list_unreadable(desk, found.unreadable);
    let mut log = desk.log.get_untracked().unwrap_or_default();
    log.take_up(found.good);
    if desk.log.with_untracked(|here| here.as_ref() != Some(&log)) {
        desk.log.set(Some(log));
    }
    Ok(())
}

async fn aside(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let all = backup::put_aside(&stores.shelves()).await?;
    let item = |(key, text)| Unreadable { key, text, reason: Reason::PutAside };
    desk.aside.set(all.into_iter().map(item).collect());
    Ok(())
}

/// Takes what is stored, unless something else was decided here, and gives what is known from now on. If both
/// changed against what was known a person chooses, and until then no more is known than before. What no longer stands
/// is not known either, and is written again.
fn meet<T>(desk: Desk, which: Shelf, shown: RwSignal<T>, known: Option<T>, theirs: Stored<T>) -> Option<T>
where
    T: Clone + Default + PartialEq + Send + Sync + 'static,
{
    let theirs = match theirs {
        Stored::Good(theirs) => theirs,
        Stored::Absent => return Some(T::default()),
        Stored::Unreadable(item) => {
            list_unreadable(desk, vec![item]);
            return known.or_else(|| Some(T::default()));
        }
    };
    let before = known.clone().unwrap_or_default();
    let mine = shown.get_untracked();
    if mine != theirs && mine != before && before != theirs {
        desk.show(Banner::ShelfElsewhere(which));
        return known;
    }
    desk.hide(|b| *b == Banner::ShelfElsewhere(which));
    if mine != theirs && mine == before {
        shown.set(theirs.clone());
    }
    Some(theirs)
}

/// Records of cases that are stored as open and are not open here yet, or only looked at: such a case amends its record.
async fn amended(desk: Desk, stores: &Stores) -> Result<Vec<Record>, StoreError> {
    let mut found = Vec::new();
    for key in stores.safe.drafts.keys(archive::DRAFT).await? {
        let id = key.strip_prefix(archive::DRAFT).unwrap_or_default();
        if elsewhere::find(desk, id).is_none_or(|sheet| elsewhere::only_looked_at(desk, sheet)) {
            found.extend(take_up(desk, archive::load_record(&stores.safe.records, id).await?));
        }
    }
    Ok(found)
}

async fn drafts(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    // At the start records are read next, of the cases that are open by then.
    let amended = if keeper(|k| k.settled) { amended(desk, stores).await? } else { Vec::new() };
    let found = archive::drafts(&stores.safe.drafts).await?;
    let discarded = archive::discarded(&stores.safe.drafts).await?;
    let stored_current = stores.safe.drafts.read(archive::CURRENT).await?.filter(|id| !id.is_empty());
    let focus = stores.safe.drafts.read(archive::FOCUS).await?.unwrap_or_default();
    list_unreadable(desk, found.unreadable.into_iter().chain(discarded.unreadable).collect());
    desk.discarded.set(discarded.good);
    // A person may have begun a case meanwhile: that one stays in view.
    let begun = desk.current.get_untracked();
    let mut drafts = found.good;
    sort_by_key(&mut drafts, |draft| draft.begun);
    // Discarded elsewhere while this page was locked: as at any time, a case that was not touched since goes.
    for draft in desk.discarded.get_untracked() {
        let back = drafts.iter().any(|d| d.id == draft.id);
        if !back && keeper(|k| k.drafts.contains_key(&draft.id)) {
            elsewhere::gone(desk, &draft.id);
        }
    }
    // What no longer stands there is stored again.
    keeper(|k| {
        k.drafts.retain(|id, _| drafts.iter().any(|draft| draft.id == *id));
        k.current.clone_from(&stored_current);
    });
    let brought = keeper(|k| std::mem::take(&mut k.brought));
    for draft in drafts {
        match brought.contains(&draft.id) {
            true => elsewhere::meet_brought(desk, draft),
            false => elsewhere::meet(desk, draft),
        }
    }
    for record in amended {
        elsewhere::meet_again(desk, &record);
        desk.know(record);
    }
    let there = |id: &String| desk.open.with_untracked(|open| open.iter().any(|s| s.id() == *id));
    let latest = || desk.open.with_untracked(|open| open.last().map(|s| s.id()));
    let current = begun.or_else(|| stored_current.map_or_else(latest, Some)).filter(there);
    desk.current.set(current);
    // Once the case is drawn, unless the keyboard is somewhere by then.
    let back = move || {
        if focused().is_empty() && !focus.is_empty() {
            look::focus(&focus);
        }
    };
    request_animation_frame(move || request_animation_frame(back));
    Ok(())
}

/// Records of the open cases.
async fn records(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let open: Vec<String> = desk.open.with_untracked(|open| open.iter().map(|s| s.id()).collect());
    let mut found = Vec::new();
    for id in &open {
        found.extend(take_up(desk, archive::load_record(&stores.safe.records, id).await?));
    }
    // At the start: later, a case just signed stays in view until its worksheet is closed.
    let start = keeper(|k| !std::mem::replace(&mut k.settled, true));
    if start {
        close_repeats(desk, stores, &found).await?;
    }
    for record in found {
        match start {
            true => elsewhere::meet_again(desk, &record),
            false => elsewhere::meet_record(desk, &record),
        }
        desk.know(record);
    }
    Ok(())
}

/// The readable state of a record; what of it is damaged is listed.
fn take_up(desk: Desk, stored: Stored<Kept>) -> Option<Record> {
    match stored {
        Stored::Good(Kept { record, damaged }) => {
            list_unreadable(desk, damaged.into_iter().collect());
            Some(record)
        }
        Stored::Unreadable(item) => {
            list_unreadable(desk, vec![item]);
            None
        }
        Stored::Absent => None,
    }
}

/// Does something with a record, which is read first unless it is at hand; once, however many ask meanwhile.
pub fn with_record(desk: Desk, id: &str, then: impl FnOnce(Record) + 'static) {
    if let Some(record) = desk.records.with_untracked(|all| all.iter().find(|r| r.id() == id).cloned()) {
        return then(record);
    }
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    let id = id.to_owned();
    let being_read = keeper(|k| {
        let then: Then = Box::new(then);
        let waiting = k.reading.entry(id.clone()).or_default();
        waiting.push(then);
        waiting.len() > 1
    });
    if being_read {
        return;
    }
    spawn_local(async move {
        let read = archive::load_record(&stores.safe.records, &id).await;
        let waiting = keeper(|k| k.reading.remove(&id)).unwrap_or_default();
        match read {
            Ok(Stored::Absent) => lost(desk, &id),
            Ok(stored) => {
                // Its line tells how it stands before anything is made of it.
                if let Err(error) = line_anew(desk, &stores, &id).await {
                    desk.show(Banner::NotRead(error));
                }
                if let Some(record) = take_up(desk, stored) {
                    desk.know(record.clone());
                    waiting.into_iter().for_each(|then| then(record.clone()));
                }
            }
            Err(error) => desk.show(Banner::NotRead(error)),
        }
    });
}

/// Does something with a record as it stands in the store, which tells whether that is its newest state.
pub fn with_kept(desk: Desk, id: &str, then: impl FnOnce(Kept) + 'static) {
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    let id = id.to_owned();
    spawn_local(async move {
        match archive::load_record(&stores.safe.records, &id).await {
            Ok(Stored::Good(kept)) => then(kept),
            Ok(Stored::Absent) => lost(desk, &id),
            Ok(Stored::Unreadable(item)) => list_unreadable(desk, vec![item]),
            Err(error) => desk.show(Banner::NotRead(error)),
        }
    });
}

/// Says of a record that is listed and no longer there that it was taken away.
fn lost(desk: Desk, id: &str) {
    let Some(line) = desk.lines.with_untracked(|all| all.iter().find(|l| l.id == id).cloned()) else {
        return;
    };
    let (marked, item) = archive::lost(&line);
    list_unreadable(desk, vec![item]);
    if !line.lost {
        desk.know_lines(vec![marked]);
    }
}

/// So many lines, or looks at records, between two other things the page may have to do.
const LINES: usize = 1000;
const LOOKS: usize = 8;
/// So many lines made anew are taken up at once.
const MANY: usize = 500;
/// What it then may do.
const PAUSE: Duration = Duration::from_millis(4);
const REST: Duration = Duration::from_millis(40);

/// Reads all lines, then looks in idle moments whether each record is what its line says.
async fn lines(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let texts = archive::line_texts(&stores.safe.records).await?;
    let mut all = Vec::with_capacity(texts.len());
    for some in texts.chunks(LINES) {
        all.extend(some.iter().filter_map(|text| Line::from_json(text).ok()));
        pause(PAUSE).await;
    }
    desk.know_lines(all);
    desk.lines_read.set(true);
    let turn = keeper(|k| {
        k.turn = k.turn.wrapping_add(1);
        k.turn
    });
    let stores = stores.clone();
    spawn_local(async move {
        match look_through(desk, &stores, turn).await {
            // It goes on when the lock is opened here.
            Ok(()) | Err(StoreError::Shut) => {}
            Err(error) => desk.show(Banner::NotRead(error)),
        }
    });
    Ok(())
}

/// Looks at every record once, those without a line first; ends when a newer turn has begun.
async fn look_through(desk: Desk, stores: &Stores, turn: u32) -> Result<(), StoreError> {
    let known: BTreeMap<String, Arc<Line>> =
        desk.lines.with_untracked(|all| gather(all.iter().map(|l| (l.id.clone(), l.clone()))));
    let mut ids = archive::record_ids(&stores.safe.records).await?;
    sort_by_key(&mut ids, |id| known.contains_key(id));
    let mut renewed = Vec::new();
    for some in ids.chunks(LOOKS) {
        // What is being signed goes first.
        while keeper(|k| !k.signing.is_empty()) {
            pause(REST).await;
        }
        let (mut unreadable, mut readable) = (Vec::new(), Vec::new());
        for id in some {
            match archive::look(&stores.safe.records, id, known.get(id).map(Arc::as_ref)).await? {
                Looked::Fits => readable.push(id.as_str()),
                Looked::Gone => {}
                Looked::Renewed { line, damaged } => {
                    if damaged.is_none() {
                        readable.push(id.as_str());
                    }
                    renewed.push(*line);
                    unreadable.extend(damaged);
                }
                Looked::Lost { line, item } => {
                    renewed.push(*line);
                    unreadable.push(item);
                }
                Looked::Unreadable(item) => unreadable.push(item),
            }
        }
        if keeper(|k| k.turn != turn) {
            return Ok(());
        }
        no_longer_unreadable(desk, &readable);
        list_unreadable(desk, unreadable);
        // Many together, for each time the lists are drawn anew; at once when none is missing any more.
        let all_there = some.iter().any(|id| known.contains_key(id)) && !renewed.is_empty();
        if all_there || renewed.len() >= MANY {
            desk.know_lines(std::mem::take(&mut renewed));
        }
        pause(if known.is_empty() { PAUSE } else { REST }).await;
    }
    if keeper(|k| k.turn == turn) {
        desk.know_lines(renewed);
    }
    Ok(())
}

/// Lets the page do other things, between some texts that are closed or opened and the next.
pub async fn rest() {
    pause(PAUSE).await;
}

/// Lets the page do other things for a while.
pub async fn pause(time: Duration) {
    let over = Promise::new(&mut |resolve, _| {
        let resolve = move || drop(resolve.call0(&JsValue::NULL));
        set_timeout(resolve, time);
    });
    // It is only ever kept.
    drop(JsFuture::from(over).await);
}

/// Closes what a signature that was cut short has left open: a case that only repeats its record. It goes from the store
/// too, where it would stand in the way of a removal.
async fn close_repeats(desk: Desk, stores: &Stores, records: &[Record]) -> Result<(), StoreError> {
    let open: Vec<Draft> =
        desk.open.with_untracked(|open| open.iter().map(|s| s.draft.get_untracked()).collect());
    let mut kept = open.clone();
    archive::without_repeats(&mut kept, records);
    for gone in open.iter().filter(|draft| kept.iter().all(|k| k.id != draft.id)) {
        desk.close(&gone.id);
        let seen = keeper(|k| k.drafts.remove(&gone.id));
        let closed = archive::close_draft(&stores.safe.drafts, gone, seen.as_ref()).await;
        if let Err(SaveError::Store(error)) = closed {
            return Err(error);
        }
    }
    Ok(())
}
