//! Opens what the browser offers for keeping things, and says plainly what could not be had.
//!
//! The Bench, settings and open drafts are in localStorage, signed records in IndexedDB. Every page that a
//! browser opens from a disk may read one and the same storage, so there drafts and records, which name
//! patients, stay in memory until they can be closed under a passphrase.

mod indexed;
mod local;

use crate::shell::clock;
use crate::shell::keep::pause;
use indexed::Indexed;
use local::Local;
use std::time::Duration;
use strawline::record::archive::backup::Shelves;
use strawline::record::closed::safe::Safe;
use strawline::record::closed::store::Closed;
use strawline::record::journal::{self, Journal};
use strawline::record::store::{Batch, Expected, Memory, Store, StoreError};
use wasm_bindgen::{JsCast, JsValue};

/// The page's stores, open.
#[derive(Debug, Clone)]
pub struct Stores {
    /// Bench and settings.
    pub shelf: AnyStore,
    /// Drafts and records, shut until their lock was looked for.
    pub safe: Safe<AnyStore>,
}

/// One of the stores there are. A clone is the same store.
#[derive(Debug, Clone)]
pub enum AnyStore {
    /// localStorage.
    Local(Journal<Local>),
    /// IndexedDB.
    Indexed(Indexed),
    /// Only until the page closes.
    Memory(Memory, Why),
}

/// Whether what is written outlasts the page.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Standing {
    /// It does.
    Kept,
    /// It does not.
    MemoryOnly {
        /// Why not.
        why: Why,
    },
}

/// Why something is held in memory only.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Why {
    /// The page was opened from a disk, where other pages could read it.
    OpenedFromDisk,
    /// The browser's storage would not open.
    Store(StoreError),
}

/// What the browser says to keeping the data when it needs room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Persistence {
    /// Kept until a person deletes it.
    Granted,
    /// May be deleted to make room, or after a time without use.
    Refused,
    /// This browser, or this address without encryption, cannot be asked.
    NotOffered,
}

/// By then every change that another page made together has arrived (own judgement; 10 ms were seen).
const OTHERS: Duration = Duration::from_millis(100);

impl Stores {
    /// Opens all. What cannot be opened is replaced by memory, which [`Stores::standing`] tells.
    pub async fn open() -> Stores {
        let local = Local::reach();
        // The changes of another page arrive one by one: opened in between, they would be taken for cut short.
        if local.as_ref().is_ok_and(journal::has_begun) {
            pause(OTHERS).await;
        }
        let local = local.and_then(Journal::open);
        let kept = |local| match local {
            Ok(local) => AnyStore::Local(local),
            Err(error) => AnyStore::Memory(Memory::default(), Why::Store(error)),
        };
        let records = match Indexed::open().await {
            Ok(indexed) => AnyStore::Indexed(indexed),
            Err(error) => AnyStore::Memory(Memory::default(), Why::Store(error)),
        };
        Stores { shelf: kept(local.clone()), safe: Safe::new(kept(local), records, clock::secret) }
    }

    /// The same with drafts and records in memory, for a page opened from a disk while there is no lock.
    pub fn in_memory(&self) -> Stores {
        let memory = || AnyStore::Memory(Memory::default(), Why::OpenedFromDisk);
        let safe = Safe::new(memory(), memory(), clock::secret);
        safe.use_clear();
        Stores { shelf: self.shelf.clone(), safe }
    }

    /// Whether these are [`Stores::in_memory`].
    pub fn only_here(&self) -> bool {
        matches!(self.safe.records.beneath(), AnyStore::Memory(_, Why::OpenedFromDisk))
    }

    /// As a backup goes by them, and a restore.
    pub fn shelves(&self) -> Shelves<'_, AnyStore, Closed<AnyStore>> {
        Shelves { shelf: &self.shelf, drafts: &self.safe.drafts, records: &self.safe.records }
    }

    /// Whether all that is written outlasts the page; if not, why the most precious of it does not.
    pub fn standing(&self) -> Standing {
        let all = [self.safe.records.beneath(), self.safe.drafts.beneath(), &self.shelf];
        all.into_iter().map(AnyStore::standing).find(|s| *s != Standing::Kept).unwrap_or(Standing::Kept)
    }
}

impl AnyStore {
    /// Whether what is written here outlasts the page.
    pub fn standing(&self) -> Standing {
        match self {
            AnyStore::Local(_) | AnyStore::Indexed(_) => Standing::Kept,
            AnyStore::Memory(_, why) => Standing::MemoryOnly { why: why.clone() },
        }
    }
}

impl Store for AnyStore {
    async fn read_each(&self, keys: &[&str]) -> Result<Vec<Option<String>>, StoreError> {
        match self {
            AnyStore::Local(store) => store.read_each(keys).await,
            AnyStore::Indexed(store) => store.read_each(keys).await,
            AnyStore::Memory(store, _) => store.read_each(keys).await,
        }
    }

    async fn read_all(&self, prefix: &str) -> Result<Vec<(String, String)>, StoreError> {
        match self {
            AnyStore::Local(store) => store.read_all(prefix).await,
            AnyStore::Indexed(store) => store.read_all(prefix).await,
            AnyStore::Memory(store, _) => store.read_all(prefix).await,
        }
    }

    async fn keys(&self, prefix: &str) -> Result<Vec<String>, StoreError> {
        match self {
            AnyStore::Local(store) => store.keys(prefix).await,
            AnyStore::Indexed(store) => store.keys(prefix).await,
            AnyStore::Memory(store, _) => store.keys(prefix).await,
        }
    }

    async fn write_all(&self, batch: Batch) -> Result<(), StoreError> {
        match self {
            AnyStore::Local(store) => store.write_all(batch).await,
            AnyStore::Indexed(store) => store.write_all(batch).await,
            AnyStore::Memory(store, _) => store.write_all(batch).await,
        }
    }

    async fn write_all_where(&self, expected: &Expected<'_>, batch: Batch) -> Result<bool, StoreError> {
        match self {
            AnyStore::Local(store) => store.write_all_where(expected, batch).await,
            AnyStore::Indexed(store) => store.write_all_where(expected, batch).await,
            AnyStore::Memory(store, _) => store.write_all_where(expected, batch).await,
        }
    }
}

/// Asks the browser not to delete the data by itself. Some browsers ask the person in turn, so ask when there is
/// something to keep.
pub async fn ask_to_persist() -> Persistence {
    let manager = web_sys::window().map(|window| window.navigator().storage());
    // Absent where the address is not encrypted, though the binding says otherwise.
    let Some(manager) = manager.filter(|manager| manager.is_object()) else { return Persistence::NotOffered };
    let Ok(promise) = manager.persist() else { return Persistence::NotOffered };
    match promise.await.map(|answer| answer.as_bool()) {
        Ok(Some(true)) => Persistence::Granted,
        Ok(_) => Persistence::Refused,
        Err(_) => Persistence::NotOffered,
    }
}

/// Whether no host served the page; an address that cannot be told counts as one of a disk.
pub fn opened_from_disk() -> bool {
    let protocol = web_sys::window().and_then(|window| window.location().protocol().ok());
    !matches!(protocol.as_deref(), Some("http:" | "https:"))
}

/// What the browser threw, as a store's error.
fn fault(thrown: &JsValue) -> StoreError {
    let Some(exception) = thrown.dyn_ref::<web_sys::DomException>() else {
        return StoreError::Failed(format!("{thrown:?}"));
    };
    match exception.name().as_str() {
        // The second is Firefox's name for localStorage.
        "QuotaExceededError" | "NS_ERROR_DOM_QUOTA_REACHED" => StoreError::Full,
        "SecurityError" => StoreError::Unreachable,
        "VersionError" => StoreError::Newer,
        name => StoreError::Failed(format!("{name}: {}", exception.message())),
    }
}
