//! A store whose texts are closed.

use super::{Chance, ClosedError, Key, Lock, is_closed};
use crate::record::archive::{ASIDE, LOCK};
use crate::record::store::{Batch, Expected, Store, StoreError};
use std::cell::RefCell;
use std::rc::Rc;

/// Gives chance to whoever writes; see [`Chance`].
pub type Source = fn(&mut [u8]) -> Result<(), ClosedError>;

/// What is known of the lock. No key never means that there is no lock: that must be found out first.
#[derive(Debug, Clone, Default)]
pub enum State {
    /// Nothing is read or written: there is a lock that was not opened, or nobody has looked yet.
    #[default]
    Shut,
    /// There is no lock; texts go through as they are.
    Clear,
    /// The lock is open.
    Keyed {
        /// The lock's.
        id: String,
        /// Opens what is read.
        key: Key,
        /// What is written is closed; not while the lock is being taken off.
        closes: bool,
    },
}

/// Shared by the stores under one lock.
pub type Shared = Rc<RefCell<State>>;

/// A store that closes what is written to it and opens what is read, as its [`State`] says. A clone shares the state.
///
/// Nothing is written unless the lock that stands in the store beneath is the one the state was made for, or there is
/// none and none is known: what another tab did is met here, whether or not this one has heard of it. A text in clear
/// is read as it is, also under a lock: it was left by a closing cut short. What is closed under another key is given
/// as it stands: whoever reads it finds no text of ours, lists it and leaves it alone.
#[derive(Debug, Clone)]
pub struct Closed<S> {
    store: S,
    state: Shared,
    chance: Source,
    last: Rc<RefCell<Option<Last>>>,
}

/// The case that was closed here last: it is written over at each pause in typing, and need not be opened for that.
#[derive(Clone)]
struct Last {
    place: String,
    closed: String,
    text: String,
}

impl std::fmt::Debug for Last {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Last")
    }
}

/// Texts that do not stand as they should.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Left {
    /// Written by somebody else meanwhile: another time will do.
    pub changed: usize,
    /// Closed under a key that nobody here has.
    pub foreign: usize,
}

/// So many texts are looked at between two other things the page may have to do.
const SOME: usize = 16;

impl<S: Store> Closed<S> {
    /// Over a store, under what is known of its lock.
    pub fn new(store: S, state: Shared, chance: Source) -> Self {
        Self { store, state, chance, last: Rc::default() }
    }

    /// What it stands over.
    pub fn beneath(&self) -> &S {
        &self.store
    }

    /// A text of its as it is read. Errors: it is closed, and the key is not at hand.
    pub fn opened(&self, place: &str, text: String) -> Result<String, StoreError> {
        match &*self.state.borrow() {
            State::Shut => Err(StoreError::Shut),
            State::Clear if is_closed(&text) => Err(StoreError::Shut),
            State::Clear => Ok(text),
            State::Keyed { key, .. } => match &*self.last.borrow() {
                Some(last) if last.closed == text && last.place == place => Ok(last.text.clone()),
                _ => Ok(key.open(place, &text).unwrap_or(text)),
            },
        }
    }

    /// What is remembered of a change to the one place that is written over.
    fn last(expected: &Expected<'_>, batch: &Batch, closed: &Batch) -> Option<Last> {
        let ([(over, _)], [(place, Some(text))], [(_, Some(closed))]) = (expected, &**batch, &**closed)
        else {
            return None;
        };
        let meant = *over == place && is_closed(closed);
        meant.then(|| Last { place: place.clone(), closed: closed.clone(), text: text.clone() })
    }

    /// The state, the text of the lock beneath, and what stands under these keys, closed as it is. Errors: the lock
    /// is not the state's own.
    async fn look(&self, keys: &[&str]) -> Result<(State, Option<String>, Vec<Option<String>>), StoreError> {
        let mut found = self.store.read_each(&[&[LOCK], keys].concat()).await?;
        let lock = found.remove(0);
        let state = self.state.borrow().clone();
        let fits = match (&state, &lock) {
            (State::Clear, None) => true,
            (State::Keyed { id, .. }, Some(text)) => Lock::from_json(text).is_ok_and(|lock| lock.id() == id),
            _ => false,
        };
        if fits { Ok((state, lock, found)) } else { Err(StoreError::Shut) }
    }

    fn close(&self, state: &State, place: &str, text: &str) -> Result<String, StoreError> {
        match state {
            State::Keyed { key, closes: true, .. } => closed(key, place, text, &mut { self.chance }),
            // Closed elsewhere, as a backup may hold it: here it would look as if a lock were missing.
            State::Clear if is_closed(text) => Err(StoreError::Shut),
            _ => Ok(text.to_owned()),
        }
    }

    fn close_all(&self, state: &State, batch: &Batch) -> Result<Batch, StoreError> {
        let one = |(place, text): &(String, Option<String>)| {
            let text = text.as_deref().map(|text| self.close(state, place, text)).transpose()?;
            Ok((place.clone(), text))
        };
        batch.iter().map(one).collect()
    }

    /// Writes every text under these prefixes as it is to stand from now on. Each is written on its own, and only as
    /// it was read: a crash or another tab in between leaves texts that can be read, and another time does the rest.
    /// `pause` is awaited now and then. Errors: the store's; the lock is not the one known.
    pub async fn settle(&self, prefixes: &[&str], pause: &impl AsyncFn()) -> Result<Left, StoreError> {
        let mut left = Left::default();
        for prefix in prefixes {
            for some in self.store.keys(prefix).await?.chunks(SOME) {
                for place in some {
                    self.settle_one(place, &mut left).await?;
                }
                pause().await;
            }
        }
        Ok(left)
    }

    async fn settle_one(&self, place: &str, left: &mut Left) -> Result<(), StoreError> {
        let (state, lock, found) = self.look(&[place]).await?;
        let Some(text) = found.into_iter().next().flatten() else { return Ok(()) };
        let State::Keyed { key, closes, .. } = &state else { return Err(StoreError::Shut) };
        if is_closed(&text) == *closes {
            return Ok(());
        }
        let anew = match closes {
            true => self.close(&state, place, &text)?,
            false => match key.open(place, &text) {
                Ok(clear) => clear,
                Err(_) => {
                    left.foreign += 1;
                    return Ok(());
                }
            },
        };
        let batch = vec![(place.to_owned(), Some(anew))];
        let expected = [(LOCK, lock.as_deref()), (place, Some(text.as_str()))];
        if !self.store.write_all_where(&expected, batch).await? {
            left.changed += 1;
        }
        Ok(())
    }
}

fn closed(key: &Key, place: &str, text: &str, chance: Chance<'_>) -> Result<String, StoreError> {
    // Never in clear because it could not be closed.
    key.close(place, text, chance).map_err(|error| StoreError::Failed(format!("{error:?}")))
}

impl<S: Store> Store for Closed<S> {
    async fn read_each(&self, keys: &[&str]) -> Result<Vec<Option<String>>, StoreError> {
        let found = self.store.read_each(keys).await?;
        if matches!(*self.state.borrow(), State::Shut) {
            return Err(StoreError::Shut);
        }
        let open = |(key, text): (&&str, Option<String>)| text.map(|text| self.opened(key, text)).transpose();
        keys.iter().zip(found).map(open).collect()
    }

    async fn read_all(&self, prefix: &str) -> Result<Vec<(String, String)>, StoreError> {
        let found = self.store.read_all(prefix).await?;
        if matches!(*self.state.borrow(), State::Shut) {
            return Err(StoreError::Shut);
        }
        // One text put aside that was closed elsewhere hides no other.
        let foreign = prefix.starts_with(ASIDE) && matches!(*self.state.borrow(), State::Clear);
        let open = |(key, text): (String, String)| match foreign {
            true => Ok((key, text)),
            false => self.opened(&key, text).map(|text| (key, text)),
        };
        found.into_iter().map(open).collect()
    }

    async fn keys(&self, prefix: &str) -> Result<Vec<String>, StoreError> {
        let keys = self.store.keys(prefix).await?;
        if matches!(*self.state.borrow(), State::Shut) { Err(StoreError::Shut) } else { Ok(keys) }
    }

    async fn write_all(&self, batch: Batch) -> Result<(), StoreError> {
        match self.write_all_where(&[], batch).await? {
            true => Ok(()),
            false => Err(StoreError::Shut),
        }
    }

    // The same text is closed anew each time it is written: what is expected is compared open, and the store
    // beneath then makes sure that exactly what was compared still stands, and the lock as it was seen.
    async fn write_all_where(&self, expected: &Expected<'_>, batch: Batch) -> Result<bool, StoreError> {
        // In clear what is expected is what stands beneath: no look is needed where it does.
        if matches!(*self.state.borrow(), State::Clear) {
            let clear = self.close_all(&State::Clear, &batch)?;
            if self.store.write_all_where(&[&[(LOCK, None)], expected].concat(), clear).await? {
                return Ok(true);
            }
        }
        let keys: Vec<&str> = expected.iter().map(|(key, _)| *key).collect();
        loop {
            let (state, lock, found) = self.look(&keys).await?;
            for ((key, text), stands) in expected.iter().zip(&found) {
                if stands.clone().map(|text| self.opened(key, text)).transpose()?.as_deref() != *text {
                    return Ok(false);
                }
            }
            let mut beneath = vec![(LOCK, lock.as_deref())];
            beneath.extend(keys.iter().zip(&found).map(|(key, text)| (*key, text.as_deref())));
            let closed = self.close_all(&state, &batch)?;
            let last = Self::last(expected, &batch, &closed);
            if self.store.write_all_where(&beneath, closed).await? {
                if last.is_some() {
                    self.last.replace(last);
                }
                return Ok(true);
            }
            // Under another passphrase it is the same lock, and another time will do.
            if self.store.read(LOCK).await? == lock {
                return Ok(false);
            }
        }
    }
}
