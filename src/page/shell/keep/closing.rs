//! The lock of cases and records: looked for, made, opened, changed, taken off; and the page locked while nobody
//! touches it.
//!
//! A locked page shows clocks, check signs and use-by times and nothing else of a case. The key stays in the memory of
//! the page until it is closed, so that what was typed last is still stored. What another tab does to the lock shuts
//! the stores at once, and a look at them decides: nothing is opened because a lock is gone.

use super::{flush, keeper, load, tell_standing};
use crate::dom::prelude::*;
use crate::shell::store::{Standing, Stores, opened_from_disk};
use crate::shell::{clock, typing};
use crate::state::{Banner, Desk, Door};
use js_sys::Promise;
use leptos::task::spawn_local;
use std::cell::Cell;
use strawline::record::archive::{self, backup};
use strawline::record::clocks;
use strawline::record::closed::safe::{Found, Refused, Trouble};
use strawline::record::closed::{ClosedError, Cost, Key, Lock, With};
use strawline::record::store::StoreError;
use strawline::words::closed::ClosedSays;
use wasm_bindgen::JsValue;
use wasm_bindgen_futures::JsFuture;

/// Looks for the lock, then reads what is stored: all of it, or where there is a lock what is in clear, until it is
/// opened.
pub(super) async fn begin(desk: Desk) {
    // The look that shut the stores decides: it knows whether the page stood open.
    if keeper(|k| k.before.is_some()) {
        return;
    }
    let Some((stores, found)) = look().await else { return };
    match found {
        // Of a lock that was here and is gone, `stay_shut` says so.
        Ok(Found::NoLock) if keeper(|k| k.lock.is_none()) => return go_on_in_clear(desk, stores).await,
        found => stay_shut(desk, &stores, found),
    }
    // What cannot be read is not told: the page then says that clocks are closed too.
    let kept = stores.safe.clocks().await.unwrap_or_default();
    desk.clocks.set(kept.map(|text| clocks::from_text(&text, clock::now().at)).unwrap_or_default());
    tell_standing(desk, &stores);
    if let Err(error) = load::shelf(desk, &stores).await {
        desk.show(Banner::NotRead(error));
    }
}

/// What a look finds, unless a later one has begun. Of a page that holds cases in memory only, in the stores that
/// another such page may have closed.
async fn look() -> Option<(Stores, Result<Found, StoreError>)> {
    let (turn, held) = keeper(|k| {
        k.looks = k.looks.wrapping_add(1);
        (k.looks, k.held.clone())
    });
    let held = held?;
    let stores = if held.only_here() { Stores::open().await } else { held };
    let known = keeper(|k| k.lock.clone());
    let found = stores.safe.look_knowing(known.as_ref()).await;
    keeper(|k| k.looks == turn).then_some((stores, found))
}

async fn go_on_in_clear(desk: Desk, stores: Stores) {
    let in_memory = keeper(|k| k.held.clone().filter(Stores::only_here).or_else(|| k.moving.take()));
    let stores = match in_memory {
        Some(held) => held,
        None if opened_from_disk() => stores.in_memory(),
        None => {
            stores.safe.use_clear();
            stores
        }
    };
    keeper(|k| {
        k.held = Some(stores.clone());
        k.lock = None;
        k.key = None;
    });
    desk.stuck.set(None);
    desk.door.set(Door::NoLock);
    tell_standing(desk, &stores);
    load::load(desk, &stores).await;
}

fn stay_shut(desk: Desk, stores: &Stores, found: Result<Found, StoreError>) {
    // What is wrong is said anew.
    desk.hide(|b| matches!(b, Banner::NotRead(_)));
    let stuck = match found {
        Ok(Found::Locked(lock)) => {
            keeper(|k| k.lock = Some(lock));
            // Opened while this was looked for: the page stands as whoever opened it left it.
            if !stores.safe.is_shut() {
                return desk.stuck.set(None);
            }
            None
        }
        Ok(Found::Trouble(Trouble::Missing)) => Some(ClosedSays::Missing),
        Ok(Found::Trouble(Trouble::Two)) => Some(ClosedSays::Two),
        Ok(Found::Trouble(Trouble::Damaged)) => Some(ClosedSays::Damaged),
        // A lock that was taken off elsewhere opens no page that asks for the passphrase.
        Ok(Found::NoLock) => Some(ClosedSays::Gone),
        Err(error) => {
            desk.show(Banner::NotRead(error));
            Some(ClosedSays::NotLooked)
        }
    };
    desk.stuck.set(stuck);
    desk.door.set(Door::Shut);
}

/// Opens the lock, and reads what was closed if that was not done before. Errors: not what opens it.
pub async fn open(desk: Desk, with: With<'_>) -> Result<(), Refused> {
    flush(desk);
    painted().await;
    let lock = keeper(|k| k.lock.clone()).ok_or(ClosedError::Damaged)?;
    let key = lock.open(with)?;
    // Another tab may have changed it while this was reckoned or painted.
    let stores = keeper(|k| k.held.clone().filter(|_| k.lock.as_ref() == Some(&lock)));
    let stores = stores.filter(|_| desk.stuck.get_untracked().is_none()).ok_or(ClosedError::Elsewhere)?;
    if stores.safe.is_shut() || keeper(|k| k.stores.is_none()) {
        stores.safe.unlock(&lock, key.clone());
        spawn_local(read_opened(desk, lock, stores));
    }
    keeper(|k| k.key = Some(key));
    touched();
    desk.door.set(Door::Open);
    Ok(())
}

async fn read_opened(desk: Desk, lock: Lock, stores: Stores) {
    // What is written while it is read needs the lock beneath it.
    let ready = async {
        stores.safe.copy(&lock).await?;
        moved(&stores).await
    };
    if let Err(error) = ready.await {
        desk.show(Banner::NotClosed(Some(error)));
    }
    load::load(desk, &stores).await;
    flush(desk);
    finish(desk).await;
}

/// Takes over what was in memory only; tells whether all of it now stands.
async fn moved(stores: &Stores) -> Result<bool, StoreError> {
    let Some(from) = keeper(|k| k.moving.clone()) else { return Ok(true) };
    let all = backup::take_over([&from.safe.drafts, &from.safe.records], stores.shelves()).await?;
    // An open case in whose place something else stands is stored from the page, which then asks.
    let there = archive::drafts(&stores.safe.drafts).await?.good;
    keeper(|k| {
        k.drafts.retain(|_, seen| there.contains(&seen.draft));
        if all {
            k.moving = None;
        }
    });
    Ok(all)
}

/// Closes what is still in clear; says so when it cannot.
async fn finish(desk: Desk) {
    let Some((stores, lock)) = keeper(|k| Some((k.held.clone()?, k.lock.clone()?))) else { return };
    if stores.safe.is_shut() {
        return;
    }
    desk.unfinished.set(true);
    let done = async {
        stores.safe.copy(&lock).await?;
        let all = moved(&stores).await?;
        let left = stores.safe.finish(&lock, &load::rest).await?;
        Ok(all && left == 0)
    };
    match done.await {
        Ok(true) => {
            desk.unfinished.set(false);
            desk.hide(|b| matches!(b, Banner::NotClosed(_) | Banner::OpenedFromDisk));
            flush(desk);
        }
        Ok(false) => desk.show(Banner::NotClosed(None)),
        // Another tab has the lock now, or took it off.
        Err(_) if stores.safe.is_shut() => {}
        Err(error) => desk.show(Banner::NotClosed(Some(error))),
    }
}

/// What closes a code on paper, and opens one.
pub enum Paper {
    /// Nothing: there is no lock, and it stands in clear.
    Clear,
    /// The lock that is open, and its key.
    Under(Lock, Key),
}

/// How a code leaves; `None`: not at all, as long as a lock is not open.
pub fn on_paper(desk: Desk) -> Option<Paper> {
    match (desk.door.get_untracked(), keeper(|k| (k.lock.clone(), k.key.clone()))) {
        (Door::NoLock, (None, _)) => Some(Paper::Clear),
        (Door::Open, (Some(lock), Some(key))) => Some(Paper::Under(lock, key)),
        _ => None,
    }
}

/// Keys that open codes on paper: of the lock that is open, and of others that were opened here.
pub fn paper_keys(desk: Desk) -> Vec<Key> {
    let own = match on_paper(desk) {
        Some(Paper::Under(_, key)) => Some(key),
        _ => None,
    };
    own.into_iter().chain(keeper(|k| k.others.clone())).collect()
}

/// Keeps the key of another lock until the page is locked or closed.
pub fn keep_other(key: Key) {
    keeper(|k| k.others.push(key));
}

/// Closes what could not be closed before.
pub(super) fn finish_again(desk: Desk) {
    spawn_local(finish(desk));
}

/// Locks the page, where there is a lock. A recovery key not yet kept is shown again when it is opened.
pub fn shut(desk: Desk) {
    if desk.door.get_untracked() == Door::Open {
        flush(desk);
        leave(desk);
    }
}

/// The page is locked: whoever opens it may be somebody else.
fn leave(desk: Desk) {
    keeper(|k| k.others.clear());
    desk.undo.set(None);
    desk.open.with_untracked(|open| open.iter().for_each(|sheet| sheet.amender().set(String::new())));
    desk.door.set(Door::Shut);
}

/// Makes a lock and closes everything under it; the recovery key is shown before anything is closed. Errors: a
/// passphrase too short, no chance, no memory, stores that do not outlast the page, another lock, the store. Nothing
/// is closed then.
pub async fn close(desk: Desk, passphrase: String) -> Result<(), Refused> {
    flush(desk);
    painted().await;
    let held = keeper(|k| k.stores.clone()).ok_or(StoreError::Unreachable)?;
    // Opened from a disk: closed, cases can now be kept.
    let stores = if held.only_here() { Stores::open().await } else { held.clone() };
    if stores.standing() != Standing::Kept {
        return Err(ClosedError::NotKept.into());
    }
    let (lock, key, recovery) = Lock::new(&passphrase, Cost::USUAL, &mut clock::secret)?;
    if let Err(error) = stores.safe.put_on(&lock, key.clone()).await {
        // Refused because of another lock, they are shut.
        if stores.safe.is_shut() {
            look_anew(desk);
        }
        return Err(error);
    }
    // From here on there is a lock, whatever becomes of the rest.
    desk.recovery.set(Some(recovery.to_string()));
    keeper(|k| {
        k.looks = k.looks.wrapping_add(1);
        k.before = None;
        k.lock = Some(lock);
        k.key = Some(key);
        k.moving = held.only_here().then_some(held);
        k.held = Some(stores.clone());
        k.stores = Some(stores);
    });
    desk.unfinished.set(true);
    touched();
    desk.hide(|b| *b == Banner::OpenedFromDisk);
    desk.door.set(Door::Open);
    spawn_local(finish(desk));
    Ok(())
}

/// Puts another passphrase in the place of the one that is typed. Errors: not that one, nor the recovery key; too
/// short; another tab changed the lock; the store. The passphrase is as it was then.
pub async fn change(desk: Desk, current: String, passphrase: String) -> Result<(), Refused> {
    flush(desk);
    painted().await;
    let (lock, stores) =
        keeper(|k| Some((k.lock.clone()?, k.stores.clone()?))).ok_or(ClosedError::Elsewhere)?;
    let key = lock.open(With::Either(&current))?;
    let new = lock.with_passphrase(&key, &passphrase, &mut clock::secret)?;
    stores.safe.change(&lock, &new).await?;
    keeper(|k| k.lock = Some(new));
    finish(desk).await;
    Ok(())
}

/// Takes the lock off: everything stands in clear again. Errors: neither passphrase nor recovery key; something is
/// closed under another key; another tab changed the lock or goes on writing; the store. The lock then stays.
pub async fn remove(desk: Desk, current: String) -> Result<(), Refused> {
    flush(desk);
    painted().await;
    let (lock, stores) =
        keeper(|k| Some((k.lock.clone()?, k.stores.clone()?))).ok_or(ClosedError::Elsewhere)?;
    // There, other pages would read what this one leaves in clear.
    if opened_from_disk() {
        return Err(ClosedError::NotKept.into());
    }
    let key = lock.open(With::Either(&current))?;
    if let Err(error) = stores.safe.take_off(&lock, key, &load::rest).await {
        // Says, should this view be gone by now, what is still in clear.
        finish(desk).await;
        return Err(error);
    }
    keeper(|k| {
        k.looks = k.looks.wrapping_add(1);
        k.before = None;
        k.lock = None;
        k.key = None;
        k.clocks = None;
    });
    desk.recovery.set(None);
    desk.door.set(Door::NoLock);
    flush(desk);
    Ok(())
}

/// Another tab made a lock, changed it or took it off; or something else on this address did.
pub(super) fn elsewhere(desk: Desk, text: Option<String>) {
    let known = |lock: &Lock| keeper(|k| k.lock.as_ref().is_some_and(|known| known.id() == lock.id()));
    match text.map(|text| Lock::from_json(&text)) {
        // Under another passphrase, the texts under the same key.
        Some(Ok(lock)) if known(&lock) => keeper(|k| k.lock = Some(lock)),
        _ => look_anew(desk),
    }
}

/// Everything on this address was cleared, the lock with it. What is here is stored again.
pub(super) fn cleared(desk: Desk) {
    if keeper(|k| k.lock.is_some()) {
        return look_anew(desk);
    }
    load::forget(desk);
    load::again(desk);
}

/// Shuts the stores, and looks what stands there now.
fn look_anew(desk: Desk) {
    // Before they are open, the first look finds it.
    let Some(held) = keeper(|k| {
        k.stores = None;
        k.key = None;
        k.held.clone()
    }) else {
        return;
    };
    // Of several looks the first met the page as it was left.
    let before = keeper(|k| *k.before.get_or_insert_with(|| desk.door.get_untracked()));
    typing::settle();
    if !held.only_here() {
        held.safe.shut();
    }
    load::forget(desk);
    leave(desk);
    spawn_local(async move {
        let Some((stores, found)) = look().await else { return };
        keeper(|k| k.before = None);
        match found {
            // Whoever works here under an open lock works on; a locked page is not opened by this.
            Ok(Found::NoLock) if held.only_here() || (before != Door::Shut && !opened_from_disk()) => {
                desk.recovery.set(None);
                return go_on_in_clear(desk, stores).await;
            }
            found => stay_shut(desk, &stores, found),
        }
        keeper(|k| {
            if held.only_here() {
                k.moving = Some(held);
            }
            k.held = Some(stores);
        });
    });
}

/// Waits until what was said is on the screen.
pub(super) async fn painted() {
    let over = Promise::new(&mut |resolve, _| {
        typing::after_paint(move || drop(resolve.call0(&JsValue::NULL)));
    });
    // It is only ever kept.
    drop(JsFuture::from(over).await);
}

thread_local! {
    /// When the page was last touched, by both clocks.
    static TOUCHED: Cell<(f64, f64)> = const { Cell::new((0.0, 0.0)) };
}

fn touched() {
    TOUCHED.set(clocks());
}

/// Milliseconds since the page began, whatever happens to the clock of the device, and by that: the first may stand
/// still while the device sleeps.
fn clocks() -> (f64, f64) {
    (window().performance().map_or(0.0, |p| p.now()), js_sys::Date::now())
}

/// Locks the page, if it stands open under a lock and was not touched for the time set. The longer of the two clocks
/// holds. With a needle in the arm it waits: the hands are there, and the mark is read off the page.
fn lock_if_left(desk: Desk) {
    if desk.door.get_untracked() != Door::Open {
        return;
    }
    let now = clock::now().at;
    if desk.open.with_untracked(|open| open.iter().any(|s| s.draft.with_untracked(|d| d.needle_is_in(now)))) {
        return touched();
    }
    let ((ticks, date), (since, of)) = (clocks(), TOUCHED.get());
    let minutes = desk.settings.with_untracked(|s| s.lock_after);
    if minutes > 0 && (ticks - since).max(date - of) > f64::from(minutes) * 60_000.0 {
        shut(desk);
    }
}

/// Locks the page after the time set without a touch or a key.
pub(super) fn watch(desk: Desk) {
    for touch in ["pointerdown", "keydown"] {
        // The page is never taken down, so neither is the listener. The touch that comes too late puts nothing off.
        let _stays = window_event_listener_untyped(touch, move |_| {
            lock_if_left(desk);
            // Of a page that cannot be locked nobody asks, and this runs at each key.
            if desk.door.get_untracked() == Door::Open {
                touched();
            }
        });
    }
    let _stays = window_event_listener_untyped("visibilitychange", move |_| lock_if_left(desk));
    Effect::new(move |_| {
        desk.second.track();
        lock_if_left(desk);
    });
}
