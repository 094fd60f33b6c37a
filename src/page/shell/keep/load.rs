//! Reads what is stored, part by part: one that will not be read hides no other, is told, and can be tried again.

use super::{CURRENT, FOCUS, flush, focused, keeper};
use crate::dom::prelude::*;
use crate::shell::look;
use crate::shell::store::Stores;
use crate::state::{Banner, Desk};
use leptos::task::spawn_local;
use strawline::draft::Draft;
use strawline::record::Record;
use strawline::record::archive::{self, Seen, Stored, Unreadable};
use strawline::record::store::{Store, StoreError};
use strawline::words::banner::Shelf;

/// What is read on its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Bench, settings and what was decided about counts.
    Shelf,
    /// Open and discarded cases.
    Drafts,
    /// Signed records.
    Records,
}

/// The quick ones first: records are in the slower store.
const PARTS: [Part; 3] = [Part::Shelf, Part::Drafts, Part::Records];

/// Reads each part that was not read yet.
pub async fn load(desk: Desk, stores: &Stores) {
    let mut failed = None;
    for part in PARTS {
        if keeper(|k| k.read.contains(&part)) {
            continue;
        }
        let done = match part {
            Part::Shelf => shelf(desk, stores).await,
            Part::Drafts => drafts(desk, stores).await,
            Part::Records => records(desk, stores).await,
        };
        match done {
            Ok(()) => {
                keeper(|k| k.read.insert(part));
            }
            Err(error) => failed = Some(error),
        }
    }
    match failed {
        Some(error) => desk.show(Banner::NotRead(error)),
        None => desk.hide(|b| matches!(b, Banner::NotRead(_))),
    }
}

/// Reads anew what could not be read.
pub fn again(desk: Desk) {
    let Some(stores) = keeper(|k| k.stores.clone()) else { return };
    spawn_local(async move {
        load(desk, &stores).await;
        flush(desk);
    });
}

/// Reads a part anew, which another tab has changed.
pub fn reread(desk: Desk, part: Part) {
    keeper(|k| k.read.remove(&part));
    again(desk);
}

/// Lists what is stored and cannot be read.
fn list_unreadable(desk: Desk, found: Vec<Unreadable>) {
    if found.is_empty() {
        return;
    }
    desk.unreadable.update(|all| {
        all.retain(|old| found.iter().all(|new| new.key != old.key));
        all.extend(found);
    });
    desk.show(Banner::Unreadable(desk.unreadable.with_untracked(Vec::len)));
}

/// Bench, settings and decisions; for what cannot be read, what ships holds.
async fn shelf(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let theirs = readable(desk, archive::load_settings(&stores.shelf).await?);
    let known = keeper(|k| k.settings.take());
    let known = meet(desk, Shelf::Settings, desk.settings, known, theirs);
    keeper(|k| k.settings = known);
    let theirs = readable(desk, archive::load_bench(&stores.shelf).await?);
    let known = keeper(|k| k.bench.take());
    let known = meet(desk, Shelf::Bench, desk.bench, known, theirs);
    keeper(|k| k.bench = known);
    let theirs = readable(desk, archive::load_decisions(&stores.drafts).await?);
    let known = keeper(|k| k.decisions.take());
    let known = meet(desk, Shelf::Decisions, desk.decisions, known, theirs);
    keeper(|k| k.decisions = known);
    Ok(())
}

fn readable<T>(desk: Desk, stored: Stored<T>) -> Option<T> {
    match stored {
        Stored::Good(value) => Some(value),
        Stored::Unreadable(item) => {
            list_unreadable(desk, vec![item]);
            None
        }
        Stored::Absent => None,
    }
}

/// Takes what is stored, unless something else was decided here, and gives what is known from now on. If both
/// changed against what was known a person chooses, and until then no more is known than before.
fn meet<T>(desk: Desk, which: Shelf, shown: RwSignal<T>, known: Option<T>, theirs: Option<T>) -> Option<T>
where
    T: Clone + Default + PartialEq + Send + Sync + 'static,
{
    let Some(theirs) = theirs else { return known.or_else(|| Some(T::default())) };
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

async fn drafts(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let found = archive::drafts(&stores.drafts).await?;
    let discarded = archive::discarded(&stores.drafts).await?;
    let stored_current = stores.drafts.read(CURRENT).await?;
    let focus = stores.drafts.read(FOCUS).await?.unwrap_or_default();
    list_unreadable(desk, found.unreadable.into_iter().chain(discarded.unreadable).collect());
    desk.discarded.set(discarded.good);
    // A person may have begun a case meanwhile: that one stays in view.
    let begun = desk.current.get_untracked();
    let mut drafts = found.good;
    drafts.sort_by_key(|draft| draft.begun);
    for draft in drafts {
        keeper(|k| k.drafts.insert(draft.id.clone(), Seen::of(draft.clone())));
        desk.open(draft);
    }
    let there = |id: &String| desk.open.with_untracked(|open| open.iter().any(|s| s.id() == *id));
    let latest = || desk.open.with_untracked(|open| open.last().map(|s| s.id()));
    let current = begun.or_else(|| stored_current.map_or_else(latest, Some)).filter(there);
    keeper(|k| k.current.clone_from(&current));
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

async fn records(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let found = archive::records(&stores.records).await?;
    list_unreadable(desk, found.unreadable);
    let mut records = found.good;
    records.sort_by_key(|record| record.first_signed().at);
    // At the start: later, a case just signed stays in view until its worksheet is closed.
    if keeper(|k| !std::mem::replace(&mut k.settled, true)) {
        close_repeats(desk, &records);
    }
    desk.records.set(records);
    crate::counts::warm(desk);
    Ok(())
}

/// Closes what a signature that was cut short has left open: a case that only repeats its record.
fn close_repeats(desk: Desk, records: &[Record]) {
    let open: Vec<Draft> =
        desk.open.with_untracked(|open| open.iter().map(|s| s.draft.get_untracked()).collect());
    let mut kept = open.clone();
    archive::without_repeats(&mut kept, records);
    for gone in open.iter().filter(|draft| kept.iter().all(|k| k.id != draft.id)) {
        desk.close(&gone.id);
    }
}
