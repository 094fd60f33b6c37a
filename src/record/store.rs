//! Where texts are kept, by key. The page brings the browser's stores, tests bring [`Memory`].

use super::journal::{Cells, holds};
use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

/// Why a store did not do as told. What it held before still stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum StoreError {
    /// It cannot be reached: blocked, or gone.
    Unreachable,
    /// No room left.
    Full,
    /// Set up by a newer version of Strawline.
    Newer,
    /// Its texts are closed, and the key is not at hand; or the lock is not the one this page knows.
    Shut,
    /// Anything else, in the browser's words.
    Failed(String),
}

/// Changes to make together: a key with its new text, or none to remove it. Of two changes to one key the later
/// holds.
pub type Batch = Vec<(String, Option<String>)>;

/// What a careful write expects to find: keys, each with exactly its text, or none for nothing at all.
pub type Expected<'a> = [(&'a str, Option<&'a str>)];

/// Keeps texts by key.
#[expect(async_fn_in_trait, reason = "one thread: no caller needs the futures to be Send")]
pub trait Store {
    /// The texts under these keys, where there is one, in the order of the keys, as they stand at one moment.
    async fn read_each(&self, keys: &[&str]) -> Result<Vec<Option<String>>, StoreError>;

    /// The text under a key, if there is one.
    async fn read(&self, key: &str) -> Result<Option<String>, StoreError> {
        Ok(self.read_each(&[key]).await?.pop().flatten())
    }

    /// Every key that begins so, with its text, by key.
    async fn read_all(&self, prefix: &str) -> Result<Vec<(String, String)>, StoreError>;

    /// Every key that begins so, in order.
    async fn keys(&self, prefix: &str) -> Result<Vec<String>, StoreError>;

    /// Makes all changes or, on an error or a crash, none.
    async fn write_all(&self, batch: Batch) -> Result<(), StoreError>;

    /// Makes all changes if everything expected is found; on an error or a crash, none. False: something else stands
    /// there, and nothing was changed. Nobody can write between the look and the changes.
    async fn write_all_where(&self, expected: &Expected<'_>, batch: Batch) -> Result<bool, StoreError>;

    /// The same where one key is expected to hold a text, or nothing.
    async fn write_all_if(
        &self,
        key: &str,
        expected: Option<&str>,
        batch: Batch,
    ) -> Result<bool, StoreError> {
        self.write_all_where(&[(key, expected)], batch).await
    }

    /// Puts a text under a key.
    async fn write(&self, key: &str, text: String) -> Result<(), StoreError> {
        self.write_all(vec![(key.to_owned(), Some(text))]).await
    }

    /// Removes a key, if it is there.
    async fn remove(&self, key: &str) -> Result<(), StoreError> {
        self.write_all(vec![(key.to_owned(), None)]).await
    }
}

/// Keeps texts until the page closes. A clone shares them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Memory(Rc<RefCell<BTreeMap<String, String>>>);

impl Memory {
    /// Everything in it.
    pub fn texts(&self) -> BTreeMap<String, String> {
        self.0.borrow().clone()
    }
}

impl Store for Memory {
    async fn read_each(&self, keys: &[&str]) -> Result<Vec<Option<String>>, StoreError> {
        keys.iter().map(|key| self.get(key)).collect()
    }

    async fn read_all(&self, prefix: &str) -> Result<Vec<(String, String)>, StoreError> {
        let texts = self.0.borrow();
        let found = texts.iter().filter(|(key, _)| key.starts_with(prefix));
        Ok(found.map(|(key, text)| (key.clone(), text.clone())).collect())
    }

    async fn keys(&self, prefix: &str) -> Result<Vec<String>, StoreError> {
        Ok(self.0.borrow().keys().filter(|key| key.starts_with(prefix)).cloned().collect())
    }

    async fn write_all(&self, batch: Batch) -> Result<(), StoreError> {
        batch.iter().try_for_each(|(key, text)| self.put(key, text.as_deref()))
    }

    async fn write_all_where(&self, expected: &Expected<'_>, batch: Batch) -> Result<bool, StoreError> {
        if !holds(self, expected)? {
            return Ok(false);
        }
        self.write_all(batch).await.map(|()| true)
    }
}

impl Cells for Memory {
    fn get(&self, key: &str) -> Result<Option<String>, StoreError> {
        Ok(self.0.borrow().get(key).cloned())
    }

    fn put(&self, key: &str, text: Option<&str>) -> Result<(), StoreError> {
        let mut texts = self.0.borrow_mut();
        match text {
            Some(text) => texts.insert(key.to_owned(), text.to_owned()),
            None => texts.remove(key),
        };
        Ok(())
    }

    fn keys(&self) -> Result<Vec<String>, StoreError> {
        Ok(self.0.borrow().keys().cloned().collect())
    }
}
