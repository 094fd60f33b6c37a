//! The lock of cases and records: made, opened, changed, taken off; and the page locked while nobody touches it.
//!
//! A locked page shows clocks, check signs and use-by times and nothing else of a case. The key stays in the memory of
//! the page until it is closed, so that what was typed last is still stored.

use super::load;
use super::{flush, keeper};
use crate::dom::prelude::*;
use crate::shell::clock;
use crate::shell::store::{Standing, Stores};
use crate::state::{Banner, Desk, Door, Paper};
use leptos::task::spawn_local;
use std::cell::Cell;
use strawline::record::archive::{self, SaveError, Stored};
use strawline::record::closed::{ClosedError, Cost, Key, Lock, With};
use strawline::record::store::{Store, StoreError};

/// Why the lock did not do as told.
pub enum Refused {
    /// What was typed, or the lock.
    Closed(ClosedError),
    /// The store; the lock is as it was.
    Store(StoreError),
}

impl From<ClosedError> for Refused {
    fn from(error: ClosedError) -> Self {
        Refused::Closed(error)
    }
}

impl From<StoreError> for Refused {
    fn from(error: StoreError) -> Self {
        Refused::Store(error)
    }
}

/// Reads what is stored: all of it, or where there is a lock what is in clear, until it is opened.
pub(super) async fn begin(desk: Desk, stores: Stores) {
    match archive::load_lock(&stores.shelf).await {
        Ok(Stored::Absent) => return load::load(desk, &stores).await,
        Ok(Stored::Good(lock)) => keeper(|k| k.lock = Some(lock)),
        Ok(Stored::Unreadable(item)) => load::list_unreadable(desk, vec![item]),
        Err(error) => desk.show(Banner::NotRead(error)),
    }
    desk.door.set(Door::Shut);
    if let Err(error) = load::shelf(desk, &stores).await {
        desk.show(Banner::NotRead(error));
    }
    keeper(|k| k.shut = Some(stores));
}

/// Opens the lock, and reads what was closed if that was not done before. Errors: not what opens it.
pub fn open(desk: Desk, with: With<'_>) -> Result<(), ClosedError> {
    let lock = keeper(|k| k.lock.clone()).ok_or(ClosedError::Damaged)?;
    let key = lock.open(with)?;
    if let Some(stores) = keeper(|k| k.shut.take().or_else(|| k.stores.clone())) {
        stores.set_key(Some(&key));
        spawn_local(async move {
            // What a closing that was cut short left in clear.
            if let Err(error) = settle(&stores, Some(&key)).await {
                desk.show(Banner::NotRead(error));
            }
            load::load(desk, &stores).await;
            keeper(|k| k.stores = Some(stores));
            flush(desk);
        });
    }
    touched();
    desk.door.set(Door::Open);
    Ok(())
}

/// Locks the page, where there is a lock.
pub fn shut(desk: Desk) {
    if desk.door.get_untracked() == Door::Open {
        flush(desk);
        desk.undo.set(None);
        desk.recovery.set(None);
        desk.paper.set(Paper::Blank);
        desk.door.set(Door::Shut);
    }
}

/// Makes a lock and closes everything under it; the recovery key is then shown. Errors: a passphrase too short, no
/// chance, the store.
pub async fn close(desk: Desk, passphrase: String) -> Result<(), Refused> {
    let stores = keeper(|k| k.stores.clone()).ok_or(StoreError::Unreachable)?;
    let (lock, key, recovery) = Lock::new(&passphrase, Cost::USUAL, &mut clock::secret)?;
    // First the lock: a text closed under a key that nobody can open again would be lost.
    stores.shelf.write(archive::LOCK, lock.to_json()?).await?;
    keeper(|k| k.lock = Some(lock));
    let stores = match stores.drafts.beneath().standing() {
        Standing::Kept => stores,
        // Opened from a disk: closed, they can now be kept.
        Standing::MemoryOnly { .. } => moved(&stores, &key).await?,
    };
    stores.set_key(Some(&key));
    keeper(|k| k.stores = Some(stores.clone()));
    desk.recovery.set(Some(recovery.to_string()));
    touched();
    desk.door.set(Door::Open);
    desk.hide(|b| *b == Banner::OpenedFromDisk);
    settle(&stores, Some(&key)).await?;
    Ok(())
}

/// Everything in memory, in stores that outlast the page.
async fn moved(from: &Stores, key: &Key) -> Result<Stores, StoreError> {
    let to = Stores::open().await;
    to.set_key(Some(key));
    for prefix in archive::OF_PATIENTS {
        for (old, new) in [(&from.drafts, &to.drafts), (&from.records, &to.records)] {
            let all = old.read_all(prefix).await?;
            new.write_all(all.into_iter().map(|(key, text)| (key, Some(text))).collect()).await?;
        }
    }
    Ok(to)
}

/// Puts another passphrase in the place of the one that is typed. Errors: not that one, too short, the store.
pub async fn change(current: String, passphrase: String) -> Result<(), Refused> {
    let (lock, shelf) =
        keeper(|k| Some((k.lock.clone()?, k.stores.as_ref()?.shelf.clone()))).ok_or(ClosedError::Damaged)?;
    let key = lock.open(With::Passphrase(&current))?;
    let lock = lock.with_passphrase(&key, &passphrase, &mut clock::secret)?;
    shelf.write(archive::LOCK, lock.to_json()?).await?;
    keeper(|k| k.lock = Some(lock));
    Ok(())
}

/// Takes the lock off: everything stands in clear again. Errors: not the passphrase, the store.
pub async fn remove(desk: Desk, current: String) -> Result<(), Refused> {
    let (lock, stores) =
        keeper(|k| Some((k.lock.clone()?, k.stores.clone()?))).ok_or(ClosedError::Damaged)?;
    let key = lock.open(With::Passphrase(&current))?;
    stores.set_key(None);
    // The lock goes last: until then what is still closed can be opened.
    settle(&stores, Some(&key)).await?;
    stores.shelf.remove(archive::LOCK).await?;
    keeper(|k| k.lock = None);
    desk.recovery.set(None);
    desk.door.set(Door::NoLock);
    Ok(())
}

/// Another tab made a lock, changed it or took it off.
pub(super) fn elsewhere(desk: Desk, text: Option<String>) {
    let Some(stores) = keeper(|k| k.stores.clone().or_else(|| k.shut.clone())) else { return };
    match text.map(|text| Lock::from_json(&text)) {
        Some(Ok(lock)) => {
            keeper(|k| k.lock = Some(lock));
            if desk.door.get_untracked() == Door::NoLock {
                // Nothing more is stored in clear: it waits until the lock is opened here too.
                keeper(|k| k.shut = k.stores.take().or(k.shut.take()));
                desk.door.set(Door::Shut);
            }
        }
        Some(Err(_)) => {}
        None => {
            let key = stores.key();
            stores.set_key(None);
            keeper(|k| {
                k.lock = None;
                k.shut = None;
            });
            desk.door.set(Door::NoLock);
            spawn_local(async move {
                if let Err(error) = settle(&stores, key.as_ref()).await {
                    desk.show(Banner::NotStored(SaveError::Store(error)));
                }
                load::load(desk, &stores).await;
                keeper(|k| k.stores = Some(stores));
                flush(desk);
            });
        }
    }
}

async fn settle(stores: &Stores, before: Option<&Key>) -> Result<(), StoreError> {
    for prefix in archive::OF_PATIENTS {
        stores.drafts.settle(prefix, before).await?;
        stores.records.settle(prefix, before).await?;
    }
    Ok(())
}

thread_local! {
    static TOUCHED: Cell<f64> = const { Cell::new(0.0) };
}

fn touched() {
    TOUCHED.set(ticks());
}

/// Milliseconds since the page began, whatever happens to the clock of the device.
fn ticks() -> f64 {
    window().performance().map_or(0.0, |p| p.now())
}

/// Locks the page after the time set without a touch or a key.
pub(super) fn watch(desk: Desk) {
    for touch in ["pointerdown", "keydown"] {
        // The page is never taken down, so neither is the listener.
        let _stays = window_event_listener_untyped(touch, move |_| touched());
    }
    Effect::new(move |_| {
        desk.second.track();
        if desk.door.get_untracked() != Door::Open {
            return;
        }
        let minutes = desk.settings.with_untracked(|s| s.lock_after);
        if minutes > 0 && ticks() - TOUCHED.get() > f64::from(minutes) * 60_000.0 {
            shut(desk);
        }
    });
}
