//! Everything that is kept, as one JSON file, and back (`restore`).
//!
//! The file lists keys with their texts as they are stored, one a line, so that what this version cannot read goes
//! along too. Settings of the device stay with the device; lines are made anew. Under a lock all of it is closed.

mod restore;
mod sealed;
#[cfg(test)]
mod tests;

pub use restore::{Item, Outcome, Restored, What, restore, take_over};
pub use sealed::{Closing, is_under, lock};

use super::{ASIDE, BENCH, DECISIONS, DISCARDED, DRAFT, LOG, OF_DRAFTS, keys, read_record, record_ids};
use crate::quantity::time::Instant;
use crate::record::closed::Key;
use crate::record::store::{Store, StoreError};
use crate::record::{APP, Reason};
use crate::stored;
use serde::Deserialize;
use serde_json::value::RawValue;

/// Version of a file in clear.
const CLEAR: u32 = 1;
/// Version of a closed one, and the newest.
const SCHEMA: u32 = 2;
/// What the file is.
const KIND: &str = "strawline_backup";

/// Each entry of the file is a key and its text, and is read when its turn comes: the file is long.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Layout<'a> {
    schema: u32,
    kind: String,
    #[serde(rename = "app")]
    _app: String,
    at: Instant,
    #[serde(borrow, default)]
    lock: Option<&'a RawValue>,
    #[serde(borrow)]
    texts: Vec<&'a RawValue>,
}

/// Reads what a file is, not yet what it holds. Errors: no backup, or of a newer version.
fn layout(text: &str) -> Result<Layout<'_>, Reason> {
    let layout: Layout<'_> = stored::read_around(text, SCHEMA)?;
    if layout.kind != KIND || (layout.schema == SCHEMA) != layout.lock.is_some() {
        return Err(Reason::Broken(layout.kind));
    }
    Ok(layout)
}

impl Layout<'_> {
    /// The entry at place `n`: a key and its text.
    fn entry(&self, n: usize, raw: &RawValue, key: Option<&Key>) -> Result<(String, String), Reason> {
        Ok(match key {
            Some(key) => stored::parse(&sealed::open(key, self.at, n, raw)?)?,
            None => stored::parse(raw.get())?,
        })
    }
}

/// The stores of a page.
#[derive(Debug)]
pub struct Shelves<'a, S, T> {
    /// Bench and settings.
    pub shelf: &'a S,
    /// Open and discarded cases, decisions about counts.
    pub drafts: &'a T,
    /// Signed records, and the clinic's log.
    pub records: &'a T,
}

/// Writes everything, piece by piece: ten thousand records need not be one text. Errors: the store's, no chance; the
/// pieces are no file then.
pub async fn write<S: Store, T: Store>(
    from: Shelves<'_, S, T>,
    at: Instant,
    closing: Option<Closing<'_>>,
    mut piece: impl FnMut(String),
) -> Result<(), StoreError> {
    let json = |text: &str| serde_json::Value::from(text).to_string();
    let lock = match closing {
        None => String::new(),
        Some(closing) => {
            let lock = closing.lock.to_json().map_err(|error| StoreError::Failed(format!("{error:?}")))?;
            format!(r#""lock":{lock},"#)
        }
    };
    let schema = if closing.is_some() { SCHEMA } else { CLEAR };
    piece(format!(
        r#"{{"schema":{schema},"kind":"{KIND}","app":{},"at":{},{lock}"texts":["#,
        json(APP),
        at.0
    ));
    let (mut comma, mut n) = ("", 0);
    let mut one = |key: String, text: &str| {
        let entry = format!("[{},{}]", json(&key), json(text));
        let entry = match closing {
            Some(closing) => json(&closing.close(at, n, &entry)?),
            None => entry,
        };
        piece(format!("{comma}\n{entry}"));
        (comma, n) = (",", n.saturating_add(1));
        Ok::<_, StoreError>(())
    };
    for id in record_ids(from.records).await? {
        let [key, before, _] = keys(&id);
        let newest = from.records.read(&key).await?;
        let readable = newest.as_ref().is_some_and(|text| read_record(&id, text).is_ok());
        if let Some(text) = newest {
            one(key, &text)?;
        }
        if !readable && let Some(text) = from.records.read(&before).await? {
            one(before, &text)?;
        }
    }
    let closable =
        [(from.drafts, DRAFT), (from.drafts, DISCARDED), (from.drafts, DECISIONS), (from.records, LOG)];
    for (store, prefix) in closable {
        for (key, text) in store.read_all(prefix).await? {
            one(key, &text)?;
        }
    }
    for (key, text) in from.shelf.read_all(BENCH).await?.into_iter().chain(put_aside(&from).await?) {
        one(key, &text)?;
    }
    if let Some(closing) = closing {
        piece(format!("{comma}\n{}", json(&closing.end(at, n)?)));
    }
    piece("\n]}\n".to_owned());
    Ok(())
}

/// Everything that was put aside, keys and texts. Two stores may have put different texts aside under one key, and one and
/// the same store may stand for two. Errors: the store's.
pub async fn put_aside<S: Store, T: Store>(
    from: &Shelves<'_, S, T>,
) -> Result<Vec<(String, String)>, StoreError> {
    let mut all = from.records.read_all(ASIDE).await?;
    all.extend(from.drafts.read_all(ASIDE).await?);
    // What may tell of a patient was read where it is opened.
    let of_drafts = |key: &str| OF_DRAFTS.iter().any(|prefix| key.starts_with(prefix));
    all.extend(from.shelf.read_all(ASIDE).await?.into_iter().filter(|(key, _)| !of_drafts(key)));
    let mut once = Vec::new();
    for one in all {
        if !once.contains(&one) {
            once.push(one);
        }
    }
    Ok(once)
}
