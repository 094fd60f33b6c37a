//! Keeps what is typed: loads at the start, stores after each change, says so when it cannot.
//!
//! A change is stored after the paint that shows it, all changes of one frame together; at once when the page is
//! left. A draft is written only over the text this page last wrote or read: what another tab wrote meanwhile is
//! never overwritten unseen.

mod cases;
mod elsewhere;

pub use cases::{amend, discard, duplicate, forget, sign, undo_discard};

use super::store::{Standing, Stores, Why, ask_to_persist};
use super::{clock, look, offline, typing};
use crate::state::{Banner, Desk, Sheet, Undo};
use leptos::prelude::*;
use leptos::task::spawn_local;
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::sync::Arc;
use std::time::Duration;
use strawline::bench::Bench;
use strawline::draft::Draft;
use strawline::record::archive::{self, SaveError, Stored, Unreadable};
use strawline::record::settings::Settings;
use strawline::record::store::{Store, StoreError};
use strawline::record::{Record, changes};
use strawline::words::banner::BannerButton;

/// Key of the case in view.
const CURRENT: &str = "strawline.current";
/// Id of the entry that had the keyboard.
const FOCUS: &str = "strawline.focus";
/// How long one tap takes something back.
const UNDO_FOR: Duration = Duration::from_secs(20);

/// What is known of the stores.
#[derive(Default)]
struct Keeper {
    /// `None` until they are open.
    stores: Option<Stores>,
    /// Each draft as it stands in the store.
    drafts: BTreeMap<String, Draft>,
    bench: Bench,
    settings: Settings,
    current: Option<String>,
    focus: String,
    /// A storing is on its way.
    planned: bool,
    /// The browser was asked to keep the data.
    asked: bool,
    /// Counts undo offers, so that only the last one is taken away by its timer.
    undos: u32,
}

thread_local! {
    static KEEPER: RefCell<Keeper> = RefCell::default();
}

fn keeper<R>(act: impl FnOnce(&mut Keeper) -> R) -> R {
    KEEPER.with_borrow_mut(act)
}

/// Loads what is stored, then stores each change.
pub fn start(desk: Desk) {
    spawn_local(async move {
        let stores = Stores::open().await;
        match stores.standing() {
            Standing::MemoryOnly { why: Why::OpenedFromDisk } => desk.show(Banner::OpenedFromDisk),
            Standing::MemoryOnly { why: Why::Store(error) } => {
                // Of two reasons the drafts' is the plainer: browsers word the database's in many ways.
                let error = match stores.drafts.standing() {
                    Standing::MemoryOnly { why: Why::Store(error) } => error,
                    _ => error,
                };
                desk.show(Banner::MemoryOnly(error));
            }
            Standing::Kept => {}
        }
        if let Err(error) = load(desk, &stores).await {
            desk.show(Banner::NotStored(error.into()));
        }
        keeper(|k| k.stores = Some(stores));
        flush(desk);
    });
    Effect::new(move |_| {
        desk.open.with(|open| open.iter().for_each(|sheet| sheet.draft.track()));
        desk.current.track();
        desk.bench.track();
        desk.settings.track();
        changed(desk);
    });
    Effect::new(move |_| desk.settings.with(look::follow));
    elsewhere::listen(desk);
    for leaving in ["pagehide", "visibilitychange"] {
        // The page is never taken down, so neither is the listener.
        let _stays = window_event_listener_untyped(leaving, move |_| flush(desk));
    }
}

/// Reads everything. Errors: the store's, at the first that will not be read.
async fn load(desk: Desk, stores: &Stores) -> Result<(), StoreError> {
    let mut unreadable = Vec::new();
    let shelf = load_shelf(desk, stores).await;
    unreadable.extend(shelf?);
    let found = archive::cases(&stores.drafts, &stores.records).await?;
    unreadable.extend(found.drafts.unreadable);
    unreadable.extend(found.records.unreadable);
    set_records(desk, found.records.good);
    let discarded = archive::discarded(&stores.drafts).await?;
    unreadable.extend(discarded.unreadable);
    desk.discarded.set(discarded.good);
    let count = unreadable.len();
    desk.unreadable.set(unreadable);
    if count > 0 {
        desk.show(Banner::Unreadable(count));
    }
    let stored_current = stores.drafts.read(CURRENT).await?;
    // A person may have begun a case meanwhile: that one stays in view.
    let begun = desk.current.get_untracked();
    let mut drafts = found.drafts.good;
    drafts.sort_by_key(|draft| draft.begun);
    for draft in drafts {
        keeper(|k| k.drafts.insert(draft.id.clone(), draft.clone()));
        desk.open(draft);
    }
    let there = |id: &String| desk.open.with_untracked(|open| open.iter().any(|s| s.id() == *id));
    let latest = || desk.open.with_untracked(|open| open.last().map(|s| s.id()));
    let current = begun.or_else(|| stored_current.map_or_else(latest, Some)).filter(there);
    keeper(|k| k.current.clone_from(&current));
    desk.current.set(current);
    if let Some(id) = stores.drafts.read(FOCUS).await? {
        // Once the case is drawn, unless the keyboard is somewhere by then.
        let back = move || {
            if focused().is_empty() && !id.is_empty() {
                look::focus(&id);
            }
        };
        request_animation_frame(move || request_animation_frame(back));
    }
    Ok(())
}

/// Reads Bench and settings; what cannot be read is returned and what ships holds.
async fn load_shelf(desk: Desk, stores: &Stores) -> Result<Vec<Unreadable>, StoreError> {
    let mut unreadable = Vec::new();
    match archive::load_settings(&stores.shelf).await? {
        Stored::Good(settings) => {
            keeper(|k| k.settings = settings.clone());
            desk.settings.set(settings);
        }
        Stored::Unreadable(item) => unreadable.push(item),
        Stored::Absent => {}
    }
    match archive::load_bench(&stores.shelf).await? {
        Stored::Good(bench) => {
            keeper(|k| k.bench = bench.clone());
            desk.bench.set(bench);
        }
        Stored::Unreadable(item) => unreadable.push(item),
        Stored::Absent => {}
    }
    Ok(unreadable)
}

fn set_records(desk: Desk, mut records: Vec<Record>) {
    records.sort_by_key(|record| record.first_signed().at);
    desk.records.set(records);
}

/// Tells `boot.js` whether a reload would bring everything back.
fn mark_saved(saved: bool) {
    let Some(root) = document().document_element() else { return };
    let done =
        if saved { root.set_attribute("data-draft", "saved") } else { root.remove_attribute("data-draft") };
    if let Err(error) = done {
        leptos::logging::warn!("{error:?}");
    }
}

/// Something changed: it is stored once it has been painted.
fn changed(desk: Desk) {
    mark_saved(false);
    if keeper(|k| std::mem::replace(&mut k.planned, true)) {
        return;
    }
    typing::after_paint(move || flush(desk));
}

/// Stores what is not stored yet.
pub fn flush(desk: Desk) {
    typing::settle();
    keeper(|k| k.planned = false);
    // Before the stores are open everything waits; opening them ends with a flush.
    if let Some(stores) = keeper(|k| k.stores.clone()) {
        spawn_local(async move { store(desk, stores).await });
    }
}

async fn store(desk: Desk, stores: Stores) {
    let (mut wrote, mut failed, mut waits) = (false, None, false);
    for sheet in desk.open.get_untracked() {
        match store_draft(desk, &stores, sheet).await {
            Ok(Kept::Wrote) => wrote = true,
            Ok(Kept::Already) => {}
            Ok(Kept::WaitsForChoice) => waits = true,
            Err(error) => failed = Some(error),
        }
    }
    if let Err(error) = store_rest(desk, &stores).await {
        failed = Some(error);
    }
    let kept = stores.drafts.standing() == Standing::Kept;
    match failed {
        Some(error) => {
            desk.saved.set(None);
            desk.show(Banner::NotStored(error));
        }
        None => {
            desk.hide(|b| matches!(b, Banner::NotStored(_)));
            if wrote && kept {
                desk.saved.set(Some(clock::now().at));
                persist(desk);
            }
            // A key pressed while this was stored is not.
            mark_saved(kept && !waits && !keeper(|k| k.planned));
        }
    }
}

enum Kept {
    Wrote,
    Already,
    /// Another tab wrote too: a person decides.
    WaitsForChoice,
}

async fn store_draft(desk: Desk, stores: &Stores, sheet: Sheet) -> Result<Kept, SaveError> {
    let draft = sheet.draft.get_untracked();
    let id = draft.id.clone();
    if keeper(|k| k.drafts.get(&id) == Some(&draft)) {
        return Ok(Kept::Already);
    }
    let record = desk.records.with_untracked(|all| all.iter().find(|r| r.id() == id).cloned());
    // Looking at a signed case is no amendment.
    if let Some(record) = record.filter(|r| changes::between(r.latest(), &draft).is_empty()) {
        if keeper(|k| k.drafts.contains_key(&id)) {
            archive::sign_off(&stores.drafts, &stores.records, &record).await?;
            keeper(|k| k.drafts.remove(&id));
        }
        return Ok(Kept::Already);
    }
    match archive::load_draft(&stores.drafts, &id).await? {
        Stored::Good(theirs) if theirs != draft && keeper(|k| k.drafts.get(&id) != Some(&theirs)) => {
            desk.show(Banner::ChangedElsewhere { id, sign: draft.sign });
            return Ok(Kept::WaitsForChoice);
        }
        Stored::Unreadable(theirs) => return Err(SaveError::Occupied(theirs)),
        Stored::Good(_) | Stored::Absent => {}
    }
    archive::save_draft(&stores.drafts, &draft).await?;
    keeper(|k| k.drafts.insert(id, draft));
    Ok(Kept::Wrote)
}

async fn store_rest(desk: Desk, stores: &Stores) -> Result<(), SaveError> {
    let bench = desk.bench.get_untracked();
    if keeper(|k| k.bench != bench) {
        archive::save_bench(&stores.shelf, &bench).await?;
        keeper(|k| k.bench = bench);
    }
    let settings = desk.settings.get_untracked();
    if keeper(|k| k.settings != settings) {
        archive::save_settings(&stores.shelf, &settings).await?;
        keeper(|k| k.settings = settings);
    }
    let focus = focused();
    if !focus.is_empty() && keeper(|k| k.focus != focus) {
        stores.drafts.write(FOCUS, focus.clone()).await?;
        keeper(|k| k.focus = focus);
    }
    let current = desk.current.get_untracked();
    if keeper(|k| k.current != current) {
        stores.drafts.write(CURRENT, current.clone().unwrap_or_default()).await?;
        keeper(|k| k.current = current);
    }
    Ok(())
}

/// Id of what has the keyboard; empty if nothing with an id has.
fn focused() -> String {
    document().active_element().map(|element| element.id()).unwrap_or_default()
}

/// Asks the browser once not to delete the data, when there is some.
fn persist(desk: Desk) {
    if !keeper(|k| std::mem::replace(&mut k.asked, true)) {
        spawn_local(async move { desk.persistence.set(Some(ask_to_persist().await)) });
    }
}

/// Offers to take something back, for a while.
pub fn offer_undo(desk: Desk, done: String, back: impl Fn() + Send + Sync + 'static) {
    let number = keeper(|k| {
        k.undos = k.undos.wrapping_add(1);
        k.undos
    });
    let back = move || {
        desk.undo.set(None);
        back();
    };
    desk.undo.set(Some(Undo { done, back: Arc::new(back) }));
    let over = move || {
        if keeper(|k| k.undos == number) {
            desk.undo.set(None);
        }
    };
    set_timeout(over, UNDO_FOR);
}

/// Does what a banner's button says.
pub fn press(desk: Desk, banner: &Banner, button: BannerButton) {
    match button {
        BannerButton::TryAgain => flush(desk),
        BannerButton::TakeTheirs | BannerButton::KeepMine => {
            if let Banner::ChangedElsewhere { id, .. } = banner {
                elsewhere::settle(desk, id.clone(), button == BannerButton::TakeTheirs);
            }
        }
        BannerButton::ShowRecords => super::hash::go(crate::state::Place::Records),
        BannerButton::LoadNew => offline::load_new(desk),
        BannerButton::LoadNow => offline::take_over(desk),
        BannerButton::Later => desk.show(Banner::Update { asks: false }),
        BannerButton::Close => {
            let banner = banner.clone();
            desk.hide(move |b| *b == banner);
        }
    }
}
