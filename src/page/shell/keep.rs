//! Keeps what is typed: loads at the start, stores after each change, says so when it cannot.
//!
//! A change is stored soon after the paint that shows it, with all that follow it until then; at once when the page is
//! left. Everything is written only over what this page last wrote or read there: what another tab wrote meanwhile,
//! or what could not be read, is never overwritten unseen.

mod cases;
pub mod closing;
mod elsewhere;
mod load;
pub mod log;
pub mod out;

pub use cases::{NotSigned, amend, discard, duplicate, forget, sign, undo_discard};
pub use load::{pause, with_kept, with_record};

use super::store::{Standing, Stores, Why, ask_to_persist};
use super::{clock, look, offline, typing};
use crate::dom::prelude::*;
use crate::state::{Banner, Desk, Door, Sheet, Undo};
use leptos::task::spawn_local;
use std::cell::RefCell;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use std::time::Duration;
use strawline::bench::Bench;
use strawline::draft::Draft;
use strawline::quality::decided::Decisions;
use strawline::record::archive::{self, SaveError, Seen};
use strawline::record::changes;
use strawline::record::clocks::{self, Clock};
use strawline::record::closed::{Key, Lock};
use strawline::record::settings::Settings;
use strawline::record::store::Store;
use strawline::record::{Reason, Record};
use strawline::words::banner::{BannerButton, Shelf};

/// How long one tap takes something back.
const UNDO_FOR: Duration = Duration::from_secs(20);

/// What is done with a record once it is read.
type Then = Box<dyn FnOnce(Record)>;

/// What is known of the stores.
#[derive(Default)]
struct Keeper {
    /// Those in use; `None` until they are read, and while a lock is on that was not opened here.
    stores: Option<Stores>,
    /// As they were opened, in use or not.
    held: Option<Stores>,
    /// The lock, where there is one.
    lock: Option<Lock>,
    /// Its key, while it is open: what leaves on paper is closed under it too.
    key: Option<Key>,
    /// Keys of other locks that were opened here, of a backup or a code: codes closed under them can be read.
    others: Vec<Key>,
    /// Memory of which not all stands yet in the stores that are closed.
    moving: Option<Stores>,
    /// Counts looks for the lock: only the last decides.
    looks: u32,
    /// What the door was when the stores were shut for a look that is still on its way.
    before: Option<Door>,
    /// Each draft as it stands in the store.
    drafts: BTreeMap<String, Seen>,
    /// The Bench as it stands there; `None` until it was read, and until then none is written.
    bench: Option<Bench>,
    /// Settings, likewise.
    settings: Option<Settings>,
    /// What was decided about counts, likewise.
    decisions: Option<Decisions>,
    /// What a signature cut short had left open is closed.
    settled: bool,
    /// Counts the times all records were looked at, so that an earlier look ends.
    turn: u32,
    /// The clocks as they stand beside the lock, where they were written from here.
    clocks: Option<Option<String>>,
    /// What was read.
    read: BTreeSet<load::Part>,
    /// Records that are being read, each with what is to be done with it then.
    reading: BTreeMap<String, Vec<Then>>,
    /// Open cases that a backup has just brought.
    brought: BTreeSet<String>,
    /// Cases whose signature is being stored; it takes no second one meanwhile.
    signing: BTreeSet<String>,
    /// A newer version is to be loaded once they are.
    load_new: bool,
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
        keeper(|k| k.held = Some(stores));
        closing::begin(desk).await;
    });
    closing::watch(desk);
    Effect::new(move |_| {
        desk.open.with(|open| open.iter().for_each(|sheet| sheet.draft.track()));
        desk.current.track();
        desk.bench.track();
        desk.settings.track();
        desk.decisions.track();
        changed(desk);
    });
    Effect::new(move |_| desk.settings.with(look::follow));
    elsewhere::listen(desk);
    for leaving in ["pagehide", "visibilitychange"] {
        // The page is never taken down, so neither is the listener.
        let _stays = window_event_listener_untyped(leaving, move |_| flush(desk));
    }
}

/// Says what does not outlast the page.
fn tell_standing(desk: Desk, stores: &Stores) {
    match stores.standing() {
        Standing::MemoryOnly { why: Why::OpenedFromDisk } => desk.show(Banner::OpenedFromDisk),
        Standing::MemoryOnly { why: Why::Store(error) } => {
            // Of two reasons the drafts' is the plainer: browsers word the database's in many ways.
            let error = match stores.safe.drafts.beneath().standing() {
                Standing::MemoryOnly { why: Why::Store(error) } => error,
                _ => error,
            };
            desk.show(Banner::MemoryOnly(error));
        }
        Standing::Kept => {}
    }
}

/// Tells `boot.js` whether a reload would bring everything back.
pub fn mark_saved(saved: bool) {
    let Some(root) = document().document_element() else { return };
    let done =
        if saved { root.set_attribute("data-draft", "saved") } else { root.remove_attribute("data-draft") };
    if let Err(error) = done {
        leptos::logging::warn!("{error:?}");
    }
}

/// What changed is stored after so long: keys typed in one go are stored together, and no key waits for it.
const SOON: Duration = Duration::from_millis(150);

/// Something changed: it is stored soon, and at once when the page is left.
fn changed(desk: Desk) {
    mark_saved(false);
    if keeper(|k| std::mem::replace(&mut k.planned, true)) {
        return;
    }
    set_timeout(move || write(desk), SOON);
}

/// Stores what is not stored yet.
pub fn flush(desk: Desk) {
    typing::settle();
    write(desk);
}

/// Stores what the drafts hold; a key that waits for the next pause goes on waiting.
fn write(desk: Desk) {
    keeper(|k| k.planned = false);
    // Before the stores are open everything waits; opening them ends with a flush.
    if let Some(stores) = keeper(|k| k.stores.clone()) {
        spawn_local(async move {
            store(desk, &stores).await;
        });
    }
}

/// Stores what is not stored yet, and tells whether the page can now be left without a loss. It cannot while a
/// signature is being stored; the end of that then lets the newer version take over.
pub async fn may_leave(desk: Desk) -> bool {
    typing::settle();
    keeper(|k| k.planned = false);
    let Some(stores) = keeper(|k| k.stores.clone()) else {
        // Locked or stuck from the start: nothing was typed here, and a newer version may be what helps.
        let empty = desk.open.with_untracked(Vec::is_empty) && keeper(|k| k.moving.is_none());
        return empty && desk.door.get_untracked() == Door::Shut;
    };
    let done = store(desk, &stores).await;
    let saved = done.saved || done.newer_only;
    let records = desk.lines.with_untracked(Vec::is_empty)
        || stores.safe.records.beneath().standing() == Standing::Kept;
    let signing = keeper(|k| {
        k.load_new = !k.signing.is_empty();
        k.load_new
    });
    saved && records && !signing
}

/// What came of a storing.
struct Done {
    /// All of it stands in the stores that are in use, except keys that were pressed meanwhile.
    all: bool,
    /// A reload would now bring everything typed back.
    saved: bool,
    /// It would but for what a newer version wrote over: that is told, and only that version can go on with it.
    newer_only: bool,
}

/// Stores what is not stored yet.
async fn store(desk: Desk, stores: &Stores) -> Done {
    let (mut wrote, mut failed, mut waits, mut newer) = (false, None, false, false);
    let mut note = |kept| match kept {
        Ok(Kept::Wrote) => wrote = true,
        Ok(Kept::Already) => {}
        Ok(Kept::Waits) => waits = true,
        Ok(Kept::Newer) => newer = true,
        Err(error) => failed = Some(error),
    };
    for sheet in desk.open.get_untracked() {
        note(store_draft(desk, stores, sheet).await);
    }
    note(store_bench(desk, stores).await);
    note(store_settings(desk, stores).await);
    note(store_decisions(desk, stores).await);
    note(store_view(desk, stores).await);
    store_clocks(desk, stores).await;
    let moved = keeper(|k| k.moving.is_none());
    let kept = moved && stores.safe.drafts.beneath().standing() == Standing::Kept;
    match failed {
        Some(error) => {
            desk.saved.set(None);
            desk.show(Banner::NotStored(error));
            Done { all: false, saved: false, newer_only: false }
        }
        None => {
            desk.hide(|b| matches!(b, Banner::NotStored(_)));
            if wrote && kept {
                desk.saved.set(Some(clock::now().at));
                persist(desk);
            }
            // A key pressed while this was stored is not.
            let rest = kept && !waits && !keeper(|k| k.planned) && !typing::waits();
            let saved = rest && !newer;
            mark_saved(saved);
            Done { all: moved && !waits && !newer, saved, newer_only: rest && newer }
        }
    }
}

/// Keeps beside a lock which clocks run, once the open cases were read. It is tried again with the next storing.
async fn store_clocks(desk: Desk, stores: &Stores) {
    if desk.door.get_untracked() == Door::NoLock || !keeper(|k| k.read.contains(&load::Part::Drafts)) {
        return;
    }
    let now = clock::now().at;
    let of = |sheet: &Sheet| {
        let sign = sheet.draft.with_untracked(|d| d.sign);
        let spin = sheet.answer.with_untracked(|a| a.spin.clone());
        sheet.read.with_untracked(|(case, _)| Clock::of(case, &spin, sign, now))
    };
    let mut all: Vec<Clock> = desk.open.with_untracked(|open| open.iter().filter_map(of).collect());
    all.extend(untrack(|| desk.signed_clocks(now)).into_iter().map(|(_, clock)| clock));
    // Of a record whose line was not read yet it stays as it was kept.
    if !desk.lines_read.get_untracked() {
        let sign = |sheet: &Sheet| sheet.draft.with_untracked(|d| d.sign);
        let mut known: Vec<_> = desk.open.with_untracked(|open| open.iter().map(sign).collect());
        known.extend(all.iter().map(|clock| clock.sign));
        all.extend(desk.clocks.get_untracked().into_iter().filter(|c| !known.contains(&c.sign)));
    }
    let text = clocks::to_text(all.clone());
    if keeper(|k| k.clocks.as_ref() == Some(&text)) {
        return;
    }
    match stores.safe.keep_clocks(text.clone()).await {
        Ok(true) => {
            keeper(|k| k.clocks = Some(text));
            // What a page that is closed again shows.
            desk.clocks.set(all);
        }
        Ok(false) => {}
        Err(error) => leptos::logging::warn!("{error:?}"),
    }
}

enum Kept {
    Wrote,
    Already,
    /// Another tab wrote too, and a person decides; or what is stored must be read first.
    Waits,
    /// A newer version wrote it: this one leaves it alone.
    Newer,
}

async fn store_draft(desk: Desk, stores: &Stores, sheet: Sheet) -> Result<Kept, SaveError> {
    let known = |k: &mut Keeper| {
        sheet.draft.with_untracked(|draft| k.drafts.get(&draft.id).is_some_and(|seen| seen.draft == *draft))
    };
    if keeper(known) {
        return Ok(Kept::Already);
    }
    let draft = sheet.draft.get_untracked();
    let seen = keeper(|k| k.drafts.get(&draft.id).cloned());
    // Looking at a signed case is no amendment.
    if as_signed(desk, &draft) {
        if let Some(seen) = seen {
            archive::close_draft(&stores.safe.drafts, &seen.draft, Some(&seen)).await?;
            keeper(|k| k.drafts.remove(&draft.id));
        }
        return Ok(Kept::Already);
    }
    match archive::save_draft(&stores.safe.drafts, &draft, seen.as_ref()).await {
        Ok(seen) => {
            desk.hide(|b| matches!(b, Banner::ChangedElsewhere { id, .. } if *id == draft.id));
            keeper(|k| k.drafts.insert(draft.id, seen));
            Ok(Kept::Wrote)
        }
        Err(SaveError::Conflict) => {
            desk.show(Banner::ChangedElsewhere { id: draft.id, sign: draft.sign });
            Ok(Kept::Waits)
        }
        Err(error) => Err(error),
    }
}

/// Whether a case is as its record has it.
fn as_signed(desk: Desk, draft: &Draft) -> bool {
    desk.records.with_untracked(|all| {
        let record = all.iter().find(|r| r.id() == draft.id);
        record.is_some_and(|r| changes::between(r.latest(), draft).is_empty())
    })
}

async fn store_bench(desk: Desk, stores: &Stores) -> Result<Kept, SaveError> {
    // Compared in place: this runs after each key.
    if keeper(|k| desk.bench.with_untracked(|mine| k.bench.as_ref() == Some(mine))) {
        return Ok(as_before(desk, Shelf::Bench));
    }
    let mine = desk.bench.get_untracked();
    let Some(seen) = keeper(|k| k.bench.clone()) else {
        return Ok(if mine == Bench::default() { Kept::Already } else { Kept::Waits });
    };
    shelf_kept(desk, Shelf::Bench, archive::save_bench(&stores.shelf, &mine, &seen).await, |k| {
        k.bench = Some(mine);
    })
}

async fn store_settings(desk: Desk, stores: &Stores) -> Result<Kept, SaveError> {
    let mine = desk.settings.get_untracked();
    let Some(seen) = keeper(|k| k.settings.clone()) else {
        return Ok(if mine == Settings::default() { Kept::Already } else { Kept::Waits });
    };
    if mine == seen {
        return Ok(as_before(desk, Shelf::Settings));
    }
    shelf_kept(desk, Shelf::Settings, archive::save_settings(&stores.shelf, &mine, &seen).await, |k| {
        k.settings = Some(mine);
    })
}

/// They name people and cases: kept where open cases are, and like them in memory only when opened from a disk.
async fn store_decisions(desk: Desk, stores: &Stores) -> Result<Kept, SaveError> {
    if keeper(|k| desk.decisions.with_untracked(|mine| k.decisions.as_ref() == Some(mine))) {
        return Ok(as_before(desk, Shelf::Decisions));
    }
    let mine = desk.decisions.get_untracked();
    let Some(seen) = keeper(|k| k.decisions.clone()) else {
        return Ok(if mine == Decisions::default() { Kept::Already } else { Kept::Waits });
    };
    shelf_kept(
        desk,
        Shelf::Decisions,
        archive::save_decisions(&stores.safe.drafts, &mine, &seen).await,
        |k| {
            k.decisions = Some(mine);
        },
    )
}

/// Nothing of it is left to be stored, so that no newer version is in its way.
fn as_before(desk: Desk, which: Shelf) -> Kept {
    desk.hide(|b| *b == Banner::ShelfNewer(which));
    Kept::Already
}

fn shelf_kept(
    desk: Desk,
    which: Shelf,
    done: Result<(), SaveError>,
    remember: impl FnOnce(&mut Keeper),
) -> Result<Kept, SaveError> {
    match done {
        Ok(()) => {
            keeper(remember);
            desk.hide(|b| *b == Banner::ShelfElsewhere(which) || *b == Banner::ShelfNewer(which));
            Ok(Kept::Already)
        }
        Err(SaveError::Conflict) => {
            desk.show(Banner::ShelfElsewhere(which));
            Ok(Kept::Waits)
        }
        Err(SaveError::Occupied(item)) if matches!(item.reason, Reason::Newer { .. }) => {
            desk.show(Banner::ShelfNewer(which));
            Ok(Kept::Newer)
        }
        Err(error) => Err(error),
    }
}

/// Which case is in view, and which entry has the keyboard.
async fn store_view(desk: Desk, stores: &Stores) -> Result<Kept, SaveError> {
    let focus = focused();
    if !focus.is_empty() && keeper(|k| k.focus != focus) {
        stores.safe.drafts.write(archive::FOCUS, focus.clone()).await?;
        keeper(|k| k.focus = focus);
    }
    let current = desk.current.get_untracked();
    if keeper(|k| k.current != current) {
        stores.safe.drafts.write(archive::CURRENT, current.clone().unwrap_or_default()).await?;
        keeper(|k| k.current = current);
    }
    Ok(Kept::Already)
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

/// Offers to take something back, for a while; in the worksheet of one case if it belongs to one.
pub fn offer_undo(desk: Desk, case: Option<String>, done: String, back: impl Fn() + Send + Sync + 'static) {
    let back = move || {
        desk.undo.set(None);
        back();
    };
    show_undo(desk, Undo { case, done, back: Arc::new(back), refused: false });
}

/// Tells why something could not be taken back, where taking it back was offered.
pub fn undo_refused(desk: Desk, why: String) {
    show_undo(desk, Undo { case: None, done: why, back: Arc::new(|| ()), refused: true });
}

fn show_undo(desk: Desk, undo: Undo) {
    let number = keeper(|k| {
        k.undos = k.undos.wrapping_add(1);
        k.undos
    });
    desk.undo.set(Some(undo));
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
        _ if button.acts_on_data() && desk.door.get_untracked() == Door::Shut => {}
        BannerButton::TryAgain if matches!(banner, Banner::NotClosed(_)) => closing::finish_again(desk),
        BannerButton::TryAgain if matches!(banner, Banner::NotRead(_)) => load::again(desk),
        BannerButton::TryAgain => flush(desk),
        BannerButton::TakeTheirs | BannerButton::TakeRecord | BannerButton::KeepMine => {
            let theirs = button != BannerButton::KeepMine;
            match banner {
                Banner::ChangedElsewhere { id, .. } => elsewhere::settle(desk, id.clone(), theirs),
                Banner::AmendedElsewhere { id, .. } => elsewhere::settle_record(desk, id, theirs),
                Banner::ShelfElsewhere(which) => elsewhere::settle_shelf(desk, *which, theirs),
                _ => {}
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
