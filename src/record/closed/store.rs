//! A store whose texts are closed.

use super::{Chance, ClosedError, Key, is_closed};
use crate::record::store::{Batch, Store, StoreError};
use std::cell::RefCell;
use std::rc::Rc;

/// Gives chance to whoever writes; see [`Chance`].
pub type Source = fn(&mut [u8]) -> Result<(), ClosedError>;

/// A store that closes what is written to it and opens what is read, once it has a key; without one, texts go
/// through as they are. A clone shares the key.
///
/// What will not open is given as it stands: whoever reads it finds no text of ours, lists it and leaves it alone.
#[derive(Debug, Clone)]
pub struct Closed<S> {
    store: S,
    key: Rc<RefCell<Option<Key>>>,
    chance: Source,
}

impl<S: Store> Closed<S> {
    /// Over a store; open until a key is given.
    pub fn new(store: S, chance: Source) -> Self {
        Self { store, key: Rc::default(), chance }
    }

    /// What it stands over.
    pub fn beneath(&self) -> &S {
        &self.store
    }

    /// Uses a key from now on, or none.
    pub fn set_key(&self, key: Option<Key>) {
        self.key.replace(key);
    }

    /// The key in use.
    pub fn key(&self) -> Option<Key> {
        self.key.borrow().clone()
    }

    fn shut(&self, place: &str, text: String) -> Result<String, StoreError> {
        match self.key.borrow().as_ref() {
            Some(key) => closed(key, place, &text, &mut { self.chance }),
            None => Ok(text),
        }
    }

    /// A text of its as it is read: open, where it opens.
    pub fn opened(&self, place: &str, text: String) -> String {
        let key = self.key.borrow();
        key.as_ref().and_then(|key| key.open(place, &text).ok()).unwrap_or(text)
    }

    fn shut_all(&self, batch: Batch) -> Result<Batch, StoreError> {
        let one = |(place, text): (String, Option<String>)| {
            let text = text.map(|text| self.shut(&place, text)).transpose()?;
            Ok((place, text))
        };
        batch.into_iter().map(one).collect()
    }

    /// Writes every text that begins so as it is to stand from now on: closed under the key in use, or in clear
    /// without one. `before` opens what is closed now. Each text is written on its own, and only as it was read: a
    /// crash or another tab in between leaves texts that can be read, and a second time does the rest. Gives how
    /// many still stand otherwise: changed meanwhile, or closed under a key that nobody has.
    pub async fn settle(&self, prefix: &str, before: Option<&Key>) -> Result<usize, StoreError> {
        let mut left = 0;
        for (place, text) in self.store.read_all(prefix).await? {
            let clear = match (is_closed(&text), before) {
                (false, _) => Some(text.clone()),
                (true, Some(key)) => key.open(&place, &text).ok(),
                (true, None) => None,
            };
            let in_use = self.key.borrow().clone();
            let stands = match &in_use {
                Some(key) => key.open(&place, &text).is_ok(),
                None => !is_closed(&text),
            };
            if stands {
                continue;
            }
            let Some(clear) = clear else {
                left += 1;
                continue;
            };
            let anew = self.shut(&place, clear)?;
            if !self.store.write_all_if(&place, Some(&text), vec![(place.clone(), Some(anew))]).await? {
                left += 1;
            }
        }
        Ok(left)
    }
}

fn closed(key: &Key, place: &str, text: &str, chance: Chance<'_>) -> Result<String, StoreError> {
    // Never in clear because it could not be closed.
    key.close(place, text, chance).map_err(|error| StoreError::Failed(format!("{error:?}")))
}

impl<S: Store> Store for Closed<S> {
    async fn read(&self, key: &str) -> Result<Option<String>, StoreError> {
        Ok(self.store.read(key).await?.map(|text| self.opened(key, text)))
    }

    async fn read_all(&self, prefix: &str) -> Result<Vec<(String, String)>, StoreError> {
        let found = self.store.read_all(prefix).await?;
        let open = |(key, text): (String, String)| {
            let text = self.opened(&key, text);
            (key, text)
        };
        Ok(found.into_iter().map(open).collect())
    }

    async fn keys(&self, prefix: &str) -> Result<Vec<String>, StoreError> {
        self.store.keys(prefix).await
    }

    async fn write_all(&self, batch: Batch) -> Result<(), StoreError> {
        self.store.write_all(self.shut_all(batch)?).await
    }

    // The same text is closed anew each time it is written: what is expected is compared open, and the store
    // beneath then makes sure that exactly what was compared still stands.
    async fn write_all_if(
        &self,
        key: &str,
        expected: Option<&str>,
        batch: Batch,
    ) -> Result<bool, StoreError> {
        let found = self.store.read(key).await?;
        if found.clone().map(|text| self.opened(key, text)).as_deref() != expected {
            return Ok(false);
        }
        self.store.write_all_if(key, found.as_deref(), self.shut_all(batch)?).await
    }
}
