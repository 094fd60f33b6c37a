//! The two stores of a page under one lock: what is known of it, and how it is put on, changed and taken off.
//!
//! The lock stands in both stores, first written and first changed in that of records, which waits for the disk. It
//! is only ever written over what was seen in its place. It is there before the first text is closed, and goes after
//! the last is open; whatever is cut short in between goes on towards closed, because then nothing is lost by it.

use super::store::{Closed, Left, Shared, Source, State};
use super::{ClosedError, Key, Lock, is_closed};
use crate::record::archive::{ASIDE, CLOCKS, LOCK, LOCK_ASIDE, OF_DRAFTS, OF_RECORDS, SETTLING};
use crate::record::store::{Batch, Store, StoreError};

/// What a look at both stores found.
#[derive(Debug, Clone, PartialEq)]
pub enum Found {
    /// No lock, and nothing closed.
    NoLock,
    /// A lock.
    Locked(Lock),
    /// Something that nobody can open here; nothing is read or written.
    Trouble(Trouble),
}

/// Why a lock cannot be opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Trouble {
    /// Texts are closed, and their lock is not there.
    Missing,
    /// Each store has another lock.
    Two,
    /// It cannot be read.
    Damaged,
}

/// Why the lock did not do as told.
#[derive(Debug, Clone, PartialEq)]
pub enum Refused {
    /// What was typed, or the lock.
    Closed(ClosedError),
    /// The store.
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

/// The stores of drafts and of records, shut until somebody looked. A clone is the same.
#[derive(Debug, Clone)]
pub struct Safe<S> {
    /// Open and discarded drafts, decisions.
    pub drafts: Closed<S>,
    /// Signed records.
    pub records: Closed<S>,
    state: Shared,
}

/// So often texts that somebody else writes meanwhile are tried again.
const ROUNDS: usize = 5;

impl<S: Store> Safe<S> {
    /// Over two stores.
    pub fn new(drafts: S, records: S, chance: Source) -> Self {
        let state = Shared::default();
        Self {
            drafts: Closed::new(drafts, state.clone(), chance),
            records: Closed::new(records, state.clone(), chance),
            state,
        }
    }

    /// Whether texts can be read and written.
    pub fn is_shut(&self) -> bool {
        matches!(*self.state.borrow(), State::Shut)
    }

    /// Reads and writes nothing from now on; what is on its way is refused.
    pub fn shut(&self) {
        self.state.replace(State::Shut);
    }

    /// Goes on in clear: a look found no lock.
    pub fn use_clear(&self) {
        self.state.replace(State::Clear);
    }

    /// Goes on under a lock that was opened.
    pub fn unlock(&self, lock: &Lock, key: Key) {
        self.state.replace(State::Keyed { id: lock.id.clone(), key, closes: true });
    }

    fn both(&self) -> [(&Closed<S>, &'static [&'static str]); 2] {
        [(&self.records, &OF_RECORDS), (&self.drafts, &OF_DRAFTS)]
    }

    /// Looks for the lock in both stores. Unless it is the one that is open here, or there is still none, they are
    /// shut. Errors: a store's; they are shut then.
    pub async fn look(&self) -> Result<Found, StoreError> {
        let found = self.find().await;
        let same = match (&found, &*self.state.borrow()) {
            (Ok(Found::NoLock), State::Clear) => true,
            (Ok(Found::Locked(lock)), State::Keyed { id, .. }) => lock.id == *id,
            _ => false,
        };
        if !same {
            self.shut();
        }
        found
    }

    /// The same of a page that may know a lock. If texts are closed and their lock is missing from both stores, that
    /// one is put back: whoever took it away would else have taken all that it closes. Errors: a store's.
    pub async fn look_knowing(&self, known: Option<&Lock>) -> Result<Found, StoreError> {
        match (self.look().await, known) {
            (Ok(Found::Trouble(Trouble::Missing)), Some(lock)) => {
                self.copy(lock).await?;
                self.look().await
            }
            (found, _) => found,
        }
    }

    async fn find(&self) -> Result<Found, StoreError> {
        let in_drafts = self.drafts.beneath().read(LOCK).await?;
        // Records that cannot be read hide no open case; each write of a record asks for its lock again.
        let in_records = self.records.beneath().read(LOCK).await.unwrap_or_default();
        let read = |text: Option<String>| text.map(|text| Lock::from_json(&text));
        Ok(match (read(in_records), read(in_drafts)) {
            (None, None) if self.some_closed().await => Found::Trouble(Trouble::Missing),
            (None, None) => Found::NoLock,
            (Some(Ok(a)), Some(Ok(b))) if a.id != b.id => Found::Trouble(Trouble::Two),
            (Some(Ok(a)), Some(Ok(b))) => Found::Locked(if b.change > a.change { b } else { a }),
            (Some(Ok(lock)), _) | (_, Some(Ok(lock))) => Found::Locked(lock),
            _ => Found::Trouble(Trouble::Damaged),
        })
    }

    /// Whether a closed text is met at the first and last key of each sort. One between them is met when it is read;
    /// so is what cannot be read now. What was put aside may have come from elsewhere, and tells nothing.
    async fn some_closed(&self) -> bool {
        for (store, prefixes) in self.both() {
            let of_here = prefixes.iter().filter(|p| !p.starts_with(ASIDE));
            for prefix in of_here {
                let keys = store.beneath().keys(prefix).await.unwrap_or_default();
                for key in keys.first().into_iter().chain(keys.last()) {
                    if matches!(store.beneath().read(key).await, Ok(Some(text)) if is_closed(&text)) {
                        return true;
                    }
                }
            }
        }
        false
    }

    /// Whether any text is closed.
    async fn any_closed(&self, pause: &impl AsyncFn()) -> Result<bool, StoreError> {
        for (store, prefixes) in self.both() {
            for prefix in prefixes {
                for (n, key) in store.beneath().keys(prefix).await?.iter().enumerate() {
                    if store.beneath().read(key).await?.is_some_and(|text| is_closed(&text)) {
                        return Ok(true);
                    }
                    if n % 16 == 15 {
                        pause().await;
                    }
                }
            }
        }
        Ok(false)
    }

    /// Puts a new lock on: from now on what is written is closed. What stands is closed by [`Safe::finish`]. Errors:
    /// there is a lock, or another tab put one on first; the store's. Nothing is closed then.
    pub async fn put_on(&self, lock: &Lock, key: Key) -> Result<(), Refused> {
        if self.look().await? != Found::NoLock {
            return Err(ClosedError::Elsewhere.into());
        }
        let text = lock.to_json()?;
        let records = self.records.beneath();
        let written = match records.write_all_if(LOCK, None, begun(&text)).await {
            Ok(written) => written,
            // Perhaps it was written all the same.
            Err(error) => match records.read(LOCK).await {
                Ok(Some(found)) if found == text => true,
                _ => return Err(error.into()),
            },
        };
        if !written {
            self.shut();
            return Err(ClosedError::Elsewhere.into());
        }
        self.unlock(lock, key);
        Ok(())
    }

    /// Writes what is still to be written of a lock that is open: its copies, and what a closing or opening that was
    /// cut short has left in clear. Gives how many texts are still left. Errors: the store's; the lock is another.
    pub async fn finish(&self, lock: &Lock, pause: &impl AsyncFn()) -> Result<usize, StoreError> {
        self.copy(lock).await?;
        let mut left = 0;
        for (store, prefixes) in self.both() {
            let beneath = store.beneath();
            if beneath.read(SETTLING).await?.is_none() {
                continue;
            }
            let Left { changed, .. } = rounds(store, prefixes, pause).await?;
            left += changed;
            if changed == 0
                && let Some(text) = beneath.read(LOCK).await?
            {
                // A lock that is changed meanwhile is no reason to stop; the mark goes another time.
                beneath.write_all_if(LOCK, Some(&text), vec![(SETTLING.to_owned(), None)]).await?;
            }
        }
        Ok(left)
    }

    /// The lock in both stores: the latest of those of its id. One that cannot be read is kept aside.
    /// Errors: there is another; the store's.
    pub async fn copy(&self, lock: &Lock) -> Result<(), StoreError> {
        let mut latest = lock.clone();
        for (store, _) in self.both() {
            match store.beneath().read(LOCK).await?.as_deref().map(Lock::from_json) {
                Some(Ok(found)) if found.id != lock.id => return Err(StoreError::Shut),
                Some(Ok(found)) if found.change > latest.change => latest = found,
                _ => {}
            }
        }
        let text = latest.to_json().map_err(|error| StoreError::Failed(format!("{error:?}")))?;
        for (store, _) in self.both() {
            let found = store.beneath().read(LOCK).await?;
            let batch = match found.as_deref().map(Lock::from_json) {
                Some(Ok(there)) if there == latest => continue,
                None => begun(&text),
                Some(Ok(_)) => vec![(LOCK.to_owned(), Some(text.clone()))],
                Some(Err(_)) => {
                    vec![(LOCK_ASIDE.to_owned(), found.clone()), (LOCK.to_owned(), Some(text.clone()))]
                }
            };
            if !store.beneath().write_all_if(LOCK, found.as_deref(), batch).await? {
                return Err(StoreError::Shut);
            }
        }
        Ok(())
    }

    /// Keeps the clocks of the open cases in clear beside the lock that is open here, or takes them away. False: it is not
    /// the one that stands there, or none is open, and nothing was changed. Errors: the store's.
    pub async fn keep_clocks(&self, text: Option<String>) -> Result<bool, StoreError> {
        let own = match &*self.state.borrow() {
            State::Keyed { id, closes: true, .. } => id.clone(),
            _ => return Ok(false),
        };
        let beneath = self.drafts.beneath();
        let Some(lock) = beneath.read(LOCK).await? else { return Ok(false) };
        if Lock::from_json(&lock).is_ok_and(|lock| lock.id == own) {
            return beneath.write_all_if(LOCK, Some(&lock), vec![(CLOCKS.to_owned(), text)]).await;
        }
        Ok(false)
    }

    /// The clocks that were kept there, also while it is shut. Errors: the store's.
    pub async fn clocks(&self) -> Result<Option<String>, StoreError> {
        self.drafts.beneath().read(CLOCKS).await
    }

    /// Puts a lock with another passphrase in the place of the one that was opened. The copy follows with
    /// [`Safe::finish`]. Errors: another tab changed it meanwhile; the store's.
    pub async fn change(&self, old: &Lock, new: &Lock) -> Result<(), Refused> {
        let records = self.records.beneath();
        let (seen, text) = (old.to_json()?, new.to_json()?);
        match records.write_all_if(LOCK, Some(&seen), vec![(LOCK.to_owned(), Some(text))]).await? {
            true => Ok(()),
            false => Err(ClosedError::Elsewhere.into()),
        }
    }

    /// Opens everything, then takes the lock off. Errors: some text is closed under another key; another tab wrote
    /// without end, or changed the lock; the store's. The lock then stays, and what was opened is closed again, now
    /// or when [`Safe::finish`] is called.
    pub async fn take_off(&self, lock: &Lock, key: Key, pause: &impl AsyncFn()) -> Result<(), Refused> {
        self.copy(lock).await?;
        let done = self.take_off_all(lock, key.clone(), pause).await;
        if done.is_err() {
            self.unlock(lock, key);
            // It says itself what is wrong, and is tried again.
            drop(self.finish(lock, pause).await);
        }
        done
    }

    async fn take_off_all(&self, lock: &Lock, key: Key, pause: &impl AsyncFn()) -> Result<(), Refused> {
        let text = lock.to_json()?;
        let put = async |batch: Batch, store: &Closed<S>| -> Result<(), Refused> {
            match store.beneath().write_all_if(LOCK, Some(&text), batch).await? {
                true => Ok(()),
                false => Err(ClosedError::Elsewhere.into()),
            }
        };
        for (store, _) in self.both() {
            put(vec![(SETTLING.to_owned(), Some(String::new()))], store).await?;
        }
        self.state.replace(State::Keyed { id: lock.id.clone(), key, closes: false });
        for (store, prefixes) in self.both() {
            let left = rounds(store, prefixes, pause).await?;
            if left != Left::default() {
                let error = if left.foreign > 0 { ClosedError::Foreign } else { ClosedError::Elsewhere };
                return Err(error.into());
            }
        }
        for (store, _) in self.both() {
            let gone = [LOCK, SETTLING, CLOCKS].map(|key| (key.to_owned(), None));
            put(gone.to_vec(), store).await?;
        }
        // What another tab closed in the moment before: then the lock comes back.
        if self.any_closed(pause).await? {
            return Err(ClosedError::Elsewhere.into());
        }
        self.use_clear();
        Ok(())
    }
}

/// A lock where there was none, and the mark that texts are still to be closed.
fn begun(lock: &str) -> Batch {
    vec![(LOCK.to_owned(), Some(lock.to_owned())), (SETTLING.to_owned(), Some(String::new()))]
}

/// Settles until nothing is left, or it does not end.
async fn rounds<S: Store>(
    store: &Closed<S>,
    prefixes: &[&str],
    pause: &impl AsyncFn(),
) -> Result<Left, StoreError> {
    let mut left = store.settle(prefixes, pause).await?;
    for _ in 1..ROUNDS {
        if left.changed == 0 {
            break;
        }
        left = store.settle(prefixes, pause).await?;
    }
    Ok(left)
}
