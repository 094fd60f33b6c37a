//! Drafts, records, the Bench and settings in a store, each under its key.
//!
//! A text that cannot be read is listed and left where it is; before something else takes its key it is copied
//! aside. Nothing is overwritten unseen.

#[cfg(test)]
mod tests;

use super::settings::Settings;
use super::store::{Store, StoreError};
use super::{Reason, Record};
use crate::bench::Bench;
use crate::draft::Draft;

/// Begins every key: pages opened from a disk may all share one store.
pub const PREFIX: &str = "strawline.";
const DRAFT: &str = "strawline.draft.";
const DISCARDED: &str = "strawline.discarded.";
const RECORD: &str = "strawline.record.";
const BENCH: &str = "strawline.bench";
const SETTINGS: &str = "strawline.settings";
const ASIDE: &str = "strawline.aside.";

/// A stored text that cannot be read, as it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Unreadable {
    /// Where it stays.
    pub key: String,
    /// All of it.
    pub text: String,
    /// Why.
    pub reason: Reason,
}

/// What is under one key.
#[derive(Debug, Clone, PartialEq)]
pub enum Stored<T> {
    /// Nothing.
    Absent,
    /// What was meant.
    Good(T),
    /// Something else.
    Unreadable(Unreadable),
}

/// What is under many keys.
#[derive(Debug, Clone, PartialEq)]
pub struct Listing<T> {
    /// What could be read, by key.
    pub good: Vec<T>,
    /// What could not.
    pub unreadable: Vec<Unreadable>,
}

/// What stands open and what is signed.
#[derive(Debug, Clone, PartialEq)]
pub struct Cases {
    /// Open drafts; one with the id of a record is an amendment not yet signed.
    pub drafts: Listing<Draft>,
    /// Signed records.
    pub records: Listing<Record>,
}

/// Why something was not kept. What was kept before still stands.
#[derive(Debug, Clone, PartialEq)]
pub enum SaveError {
    /// The store.
    Store(StoreError),
    /// It would not come back as it is: some number is not finite.
    NotExact,
    /// The stored record holds an entry that this one does not, as when another tab amended it.
    Conflict,
    /// What is stored cannot be read and is not written over.
    Occupied(Unreadable),
}

impl From<StoreError> for SaveError {
    fn from(error: StoreError) -> Self {
        SaveError::Store(error)
    }
}

fn read_text<T>(key: &str, text: String, read: impl Fn(&str) -> Result<T, Reason>) -> Stored<T> {
    match read(&text) {
        Ok(value) => Stored::Good(value),
        Err(reason) => Stored::Unreadable(Unreadable { key: key.to_owned(), text, reason }),
    }
}

async fn load<T>(
    store: &impl Store,
    key: &str,
    read: impl Fn(&str) -> Result<T, Reason>,
) -> Result<Stored<T>, StoreError> {
    Ok(match store.read(key).await? {
        Some(text) => read_text(key, text, read),
        None => Stored::Absent,
    })
}

/// Reads what belongs to a case: it must name the id of its key.
async fn list<T>(
    store: &impl Store,
    prefix: &str,
    read: impl Fn(&str) -> Result<T, Reason>,
    id: impl Fn(&T) -> &str,
) -> Result<Listing<T>, StoreError> {
    let mut listing = Listing { good: Vec::new(), unreadable: Vec::new() };
    for (key, text) in store.read_all(prefix).await? {
        let read = |text: &str| match read(text)? {
            value if key.strip_prefix(prefix) == Some(id(&value)) => Ok(value),
            value => Err(Reason::Misplaced { id: id(&value).to_owned() }),
        };
        match read_text(&key, text, read) {
            Stored::Good(value) => listing.good.push(value),
            Stored::Unreadable(unreadable) => listing.unreadable.push(unreadable),
            Stored::Absent => {}
        }
    }
    Ok(listing)
}

/// Writes to a key of which there is one; a text there that cannot be read is copied aside first.
async fn replace<T>(
    store: &impl Store,
    key: &str,
    text: String,
    read: impl Fn(&str) -> Result<T, Reason>,
) -> Result<(), SaveError> {
    if read(&text).is_err() {
        return Err(SaveError::NotExact);
    }
    let mut batch = vec![(key.to_owned(), Some(text))];
    if let Stored::Unreadable(old) = load(store, key, read).await? {
        let taken = store.read_all(ASIDE).await?;
        let name = key.strip_prefix(PREFIX).unwrap_or(key);
        let mut names = (1..=u32::MAX).map(|n| format!("{ASIDE}{name}.{n}"));
        let free = names.find(|name| taken.iter().all(|(key, _)| key != name)).ok_or(StoreError::Full)?;
        batch.push((free, Some(old.text)));
    }
    Ok(store.write_all(batch).await?)
}

fn read_draft(text: &str) -> Result<Draft, Reason> {
    Draft::from_json(text).map_err(Reason::from)
}

fn read_bench(text: &str) -> Result<Bench, Reason> {
    Bench::from_json(text).map_err(Reason::from)
}

/// Keeps an open draft. Errors: the store's.
pub async fn save_draft(store: &impl Store, draft: &Draft) -> Result<(), SaveError> {
    let text = draft.to_json();
    if text.is_empty() {
        return Err(SaveError::NotExact);
    }
    Ok(store.write(&format!("{DRAFT}{}", draft.id), text).await?)
}

/// An open draft. Errors: the store's.
pub async fn load_draft(store: &impl Store, id: &str) -> Result<Stored<Draft>, StoreError> {
    load(store, &format!("{DRAFT}{id}"), read_draft).await
}

/// Discarded drafts. Errors: the store's.
pub async fn discarded(store: &impl Store) -> Result<Listing<Draft>, StoreError> {
    list(store, DISCARDED, read_draft, |draft| &draft.id).await
}

/// Takes a draft from the open ones, to be brought back by [`restore_draft`]; false if there is none.
pub async fn discard_draft(store: &impl Store, id: &str) -> Result<bool, StoreError> {
    shift(store, format!("{DRAFT}{id}"), format!("{DISCARDED}{id}")).await
}

/// Brings a discarded draft back; false if there is none, or if one with its id is open.
pub async fn restore_draft(store: &impl Store, id: &str) -> Result<bool, StoreError> {
    let open = format!("{DRAFT}{id}");
    if store.read(&open).await?.is_some() {
        return Ok(false);
    }
    shift(store, format!("{DISCARDED}{id}"), open).await
}

/// Removes a discarded draft for good. Errors: the store's.
pub async fn forget_discarded(store: &impl Store, id: &str) -> Result<(), StoreError> {
    store.remove(&format!("{DISCARDED}{id}")).await
}

async fn shift(store: &impl Store, from: String, to: String) -> Result<bool, StoreError> {
    let Some(text) = store.read(&from).await? else { return Ok(false) };
    store.write_all(vec![(to, Some(text)), (from, None)]).await?;
    Ok(true)
}

/// Keeps a record: a new one, or one that adds to what is stored. Errors: see [`SaveError`].
pub async fn save_record(store: &impl Store, record: &Record) -> Result<(), SaveError> {
    let text = record.to_json().ok_or(SaveError::NotExact)?;
    match load_record(store, record.id()).await? {
        Stored::Unreadable(unreadable) => return Err(SaveError::Occupied(unreadable)),
        Stored::Good(stored) if !stored.is_start_of(record) => return Err(SaveError::Conflict),
        Stored::Good(_) | Stored::Absent => {}
    }
    Ok(store.write(&format!("{RECORD}{}", record.id()), text).await?)
}

/// A record. Errors: the store's.
pub async fn load_record(store: &impl Store, id: &str) -> Result<Stored<Record>, StoreError> {
    load(store, &format!("{RECORD}{id}"), Record::from_json).await
}

/// Keeps a signed or amended record, then takes its draft from the open ones. Cut short in between, the draft
/// stays and [`cases`] passes over it. Errors: see [`SaveError`]; the record is kept if a later
/// [`load_record`] finds it.
pub async fn sign_off(drafts: &impl Store, records: &impl Store, record: &Record) -> Result<(), SaveError> {
    save_record(records, record).await?;
    Ok(drafts.remove(&format!("{DRAFT}{}", record.id())).await?)
}

/// All records. Errors: the store's.
pub async fn records(store: &impl Store) -> Result<Listing<Record>, StoreError> {
    list(store, RECORD, Record::from_json, Record::id).await
}

/// All open drafts and records; a draft that only repeats an entry of its record is left out. Errors: a store's.
pub async fn cases(drafts: &impl Store, records: &impl Store) -> Result<Cases, StoreError> {
    let records = self::records(records).await?;
    let mut drafts = list(drafts, DRAFT, read_draft, |draft: &Draft| &draft.id).await?;
    drafts.good.retain(|draft| {
        let mut entries = records.good.iter().filter(|r| r.id() == draft.id).flat_map(Record::entries);
        !entries.any(|entry| entry.draft == *draft)
    });
    Ok(Cases { drafts, records })
}

/// Keeps the Bench. Errors: the store's, or a Bench that contradicts itself.
pub async fn save_bench(store: &impl Store, bench: &Bench) -> Result<(), SaveError> {
    replace(store, BENCH, bench.to_json(), read_bench).await
}

/// The Bench. Errors: the store's.
pub async fn load_bench(store: &impl Store) -> Result<Stored<Bench>, StoreError> {
    load(store, BENCH, read_bench).await
}

/// Keeps the settings. Errors: the store's.
pub async fn save_settings(store: &impl Store, settings: &Settings) -> Result<(), SaveError> {
    let text = serde_json::to_string(settings).map_err(|_| SaveError::NotExact)?;
    replace(store, SETTINGS, text, Settings::from_json).await
}

/// The settings. Errors: the store's.
pub async fn load_settings(store: &impl Store) -> Result<Stored<Settings>, StoreError> {
    load(store, SETTINGS, Settings::from_json).await
}

/// Texts that were copied aside, by key. Errors: the store's.
pub async fn aside(store: &impl Store) -> Result<Vec<(String, String)>, StoreError> {
    store.read_all(ASIDE).await
}
