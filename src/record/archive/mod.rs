//! Drafts, records, the Bench, settings and decisions about counts in a store, each under its key.
//!
//! A text that cannot be read is listed and left where it is; before something else takes its key it is copied
//! aside. Nothing is overwritten unseen. Beside each record stand the state before it, which takes its place when it
//! cannot be read, and its line; all three are written in one change.

pub mod backup;
#[cfg(test)]
mod fault_table;
#[cfg(test)]
mod line_tests;
pub mod purge;
#[cfg(test)]
mod tests;
pub mod unsaid;

use super::line::Line;
use super::settings::Settings;
use super::store::{Batch, Store, StoreError};
use super::{Reason, Record};
use crate::arrange::sort_by;
use crate::bench::Bench;
use crate::draft::Draft;
use crate::log;
use crate::quality::decided::Decisions;
use crate::stored;

/// Begins every key: pages opened from a disk may all share one store.
pub const PREFIX: &str = "strawline.";
/// Before the id of an open case.
pub const DRAFT: &str = "strawline.draft.";
/// Before the id of a discarded case.
pub const DISCARDED: &str = "strawline.discarded.";
/// Begins the key of every record.
pub const RECORD: &str = "strawline.record.";
/// The state of a record before its newest; of one signed once, a second copy.
const BEFORE: &str = "strawline.before.";
const LINE: &str = "strawline.line.";
/// Begins the key of every entry of the clinic's log.
pub const LOG: &str = "strawline.log.";
/// The clinic's Bench.
pub const BENCH: &str = "strawline.bench";
/// Language, theme and the like.
pub const SETTINGS: &str = "strawline.settings";
/// What was decided about counts.
pub const DECISIONS: &str = "strawline.quality";
/// Begins every key of a text that was put aside.
pub const ASIDE: &str = "strawline.aside.";
/// Begins every key of a note that a [journal](super::journal) could not follow.
pub const UNDO_ASIDE: &str = "strawline.aside.undo.";
/// Key of the lock that cases and records are closed with, in the store of drafts and in that of records.
pub const LOCK: &str = "strawline.lock";
/// Beside the lock, in clear: [clocks](super::clocks) of the open cases, and nothing else of them.
pub const CLOCKS: &str = "strawline.clocks";
/// Beside the lock: a closing or an opening of all texts of this store has begun and not ended.
pub const SETTLING: &str = "strawline.settling";
/// A lock that could not be read, kept when the other copy takes its place.
pub const LOCK_ASIDE: &str = "strawline.lock.unreadable";
/// Key of the case in view.
pub const CURRENT: &str = "strawline.current";
/// Key of the entry that had the keyboard.
pub const FOCUS: &str = "strawline.focus";
/// Begins every key of the store of drafts whose text may tell of a patient.
pub const OF_DRAFTS: [&str; 9] = [
    DRAFT,
    DISCARDED,
    DECISIONS,
    CURRENT,
    FOCUS,
    "strawline.aside.draft.",
    "strawline.aside.discarded.",
    "strawline.aside.quality.",
    UNDO_ASIDE,
];
/// Likewise of the store of records; a restored backup puts aside here whatever it could not read.
pub const OF_RECORDS: [&str; 5] = [RECORD, BEFORE, LINE, LOG, ASIDE];

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

/// Why something was not kept. What was kept before still stands.
#[derive(Debug, Clone, PartialEq)]
pub enum SaveError {
    /// The store.
    Store(StoreError),
    /// It would not come back as it is: some number is not finite.
    NotExact,
    /// Another tab wrote something else there since: an entry of a record, a case, the Bench.
    Conflict,
    /// What is stored cannot be read, or is of a newer version, and is not written over.
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

/// Writes to a key of which there is one, over what was seen there; a text that cannot be read is copied aside
/// first; one of a newer version is [`SaveError::Occupied`] and stays. What somebody else wrote since is a
/// [`SaveError::Conflict`], unless it is the same.
async fn replace<T: PartialEq>(
    store: &impl Store,
    key: &str,
    text: String,
    seen: &T,
    read: impl Fn(&str) -> Result<T, Reason>,
) -> Result<(), SaveError> {
    let new = read(&text).map_err(|_| SaveError::NotExact)?;
    let found = store.read(key).await?;
    let mut batch = vec![(key.to_owned(), Some(text))];
    match found.as_deref().map(read) {
        Some(Ok(theirs)) if theirs == new => return Ok(()),
        Some(Ok(theirs)) if theirs != *seen => return Err(SaveError::Conflict),
        Some(Err(reason @ Reason::Newer { .. })) => {
            let text = found.unwrap_or_default();
            return Err(SaveError::Occupied(Unreadable { key: key.to_owned(), text, reason }));
        }
        Some(Err(_)) => {
            batch.push((free_aside(store, key).await?, found.clone()));
        }
        Some(Ok(_)) | None => {}
    }
    match store.write_all_if(key, found.as_deref(), batch).await? {
        true => Ok(()),
        false => Err(SaveError::Conflict),
    }
}

/// A key on which a text that cannot be read is kept aside.
async fn free_aside(store: &impl Store, key: &str) -> Result<String, StoreError> {
    let taken = store.keys(ASIDE).await?;
    let name = key.strip_prefix(PREFIX).unwrap_or(key);
    let mut names = (1..=u32::MAX).map(|n| format!("{ASIDE}{name}.{n}"));
    names.find(|name| !taken.contains(name)).ok_or(StoreError::Full)
}

fn read_draft(text: &str) -> Result<Draft, Reason> {
    Draft::from_json(text).map_err(Reason::from)
}

fn read_bench(text: &str) -> Result<Bench, Reason> {
    Bench::from_json(text).map_err(Reason::from)
}

/// A draft with the text that stands for it in the store.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// What was typed.
    pub draft: Draft,
    /// As it is stored.
    text: String,
}

impl Seen {
    /// A draft as it is written today. One that an older version wrote may have another text; that is found out.
    pub fn of(draft: Draft) -> Self {
        let text = draft.to_json();
        Self { draft, text }
    }
}

fn draft_key(id: &str) -> String {
    format!("{DRAFT}{id}")
}

/// Makes changes to an open draft, if its place holds what was seen there, or already `new`. Errors:
/// [`SaveError::Conflict`] when another tab wrote something else, [`SaveError::Occupied`] when that cannot be
/// read; nothing is changed then.
async fn change_draft(
    store: &impl Store,
    new: &Draft,
    seen: Option<&Seen>,
    batch: Batch,
) -> Result<(), SaveError> {
    let key = draft_key(&new.id);
    let mut expected = seen.map(|s| s.text.clone());
    while !store.write_all_if(&key, expected.as_deref(), batch.clone()).await? {
        expected = store.read(&key).await?;
        match expected.as_deref().map(read_draft) {
            // Signed or discarded elsewhere, and still open here.
            None => {}
            // The same in other words.
            Some(Ok(theirs)) if theirs == *new || seen.is_some_and(|s| s.draft == theirs) => {}
            Some(Ok(_)) => return Err(SaveError::Conflict),
            Some(Err(reason)) => {
                let text = expected.unwrap_or_default();
                return Err(SaveError::Occupied(Unreadable { key, text, reason }));
            }
        }
    }
    Ok(())
}

/// Keeps an open draft over what was last seen in its place, and gives what now stands there. Errors: the store's;
/// another tab wrote something else since.
pub async fn save_draft(store: &impl Store, draft: &Draft, seen: Option<&Seen>) -> Result<Seen, SaveError> {
    let new = Seen::of(draft.clone());
    let batch = vec![(draft_key(&draft.id), Some(new.text.clone()))];
    change_draft(store, draft, seen, batch).await?;
    Ok(new)
}

/// An open draft. Errors: the store's.
pub async fn load_draft(store: &impl Store, id: &str) -> Result<Stored<Draft>, StoreError> {
    load(store, &draft_key(id), read_draft).await
}

/// Discarded drafts. Errors: the store's.
pub async fn discarded(store: &impl Store) -> Result<Listing<Draft>, StoreError> {
    list(store, DISCARDED, read_draft, |draft| &draft.id).await
}

/// Takes a draft, as it stands before a person, from the open ones; [`restore_draft`] brings it back. Errors: the
/// store's; another tab wrote something else since.
pub async fn discard_draft(store: &impl Store, draft: &Draft, seen: Option<&Seen>) -> Result<(), SaveError> {
    let text = Seen::of(draft.clone()).text;
    let batch = vec![(format!("{DISCARDED}{}", draft.id), Some(text)), (draft_key(&draft.id), None)];
    change_draft(store, draft, seen, batch).await
}

/// Brings a discarded draft back and gives what now stands among the open ones. Errors: the store's; one with its
/// id is open.
pub async fn restore_draft(store: &impl Store, draft: &Draft) -> Result<Seen, SaveError> {
    let new = Seen::of(draft.clone());
    let batch =
        vec![(draft_key(&draft.id), Some(new.text.clone())), (format!("{DISCARDED}{}", draft.id), None)];
    change_draft(store, draft, None, batch).await?;
    Ok(new)
}

/// Removes a discarded draft, as it stands before a person, for good. Errors: the store's; another tab wrote something
/// else since.
pub async fn forget_discarded(store: &impl Store, draft: &Draft) -> Result<(), SaveError> {
    let key = format!("{DISCARDED}{}", draft.id);
    let Some(found) = store.read(&key).await? else { return Ok(()) };
    let same = read_draft(&found).is_ok_and(|stands| stands == *draft);
    match same && store.write_all_if(&key, Some(&found), vec![(key.clone(), None)]).await? {
        true => Ok(()),
        false => Err(SaveError::Conflict),
    }
}

/// A record as it could be read.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Its newest readable state.
    pub record: Record,
    /// The newest, if that could not be read: then `record` is the state before it.
    pub damaged: Option<Unreadable>,
}

fn keys(id: &str) -> [String; 3] {
    [RECORD, BEFORE, LINE].map(|prefix| format!("{prefix}{id}"))
}

/// Reads the record of a case: it must be of the case its key names.
fn read_record(id: &str, text: &str) -> Result<Record, Reason> {
    match Record::from_json(text)? {
        record if record.id() == id => Ok(record),
        record => Err(Reason::Misplaced { id: record.id().to_owned() }),
    }
}

/// The state before, where the newest text is damaged. One of a newer version is not: it is left to that.
async fn or_before(
    store: &impl Store,
    id: &str,
    newest: Result<Record, Unreadable>,
) -> Result<Stored<Kept>, StoreError> {
    let damaged = match newest {
        Ok(record) => return Ok(Stored::Good(Kept { record, damaged: None })),
        Err(damaged) => damaged,
    };
    if matches!(damaged.reason, Reason::Newer { .. }) {
        return Ok(Stored::Unreadable(damaged));
    }
    let [_, before, _] = keys(id);
    let before = store.read(&before).await?.and_then(|text| read_record(id, &text).ok());
    Ok(match before {
        Some(record) => Stored::Good(Kept { record, damaged: Some(damaged) }),
        None => Stored::Unreadable(damaged),
    })
}

/// Keeps a record, new or adding to what is stored, with the state before it and its line, in one change. A damaged
/// newest state that it stands for anew is copied aside. Gives the line. Errors: see [`SaveError`].
pub async fn save_record(store: &impl Store, record: &Record) -> Result<Line, SaveError> {
    put_record(store, record, None, true).await
}

/// The same; where nothing is stored of it, only if it may be `new`: one that was removed meanwhile does not come back.
/// `known` is its line before the newest entry.
async fn put_record(
    store: &impl Store,
    record: &Record,
    known: Option<&Line>,
    new: bool,
) -> Result<Line, SaveError> {
    let text = record.to_json().ok_or(SaveError::NotExact)?;
    let id = record.id();
    let [key, before_key, line_key] = keys(id);
    // Mostly the store holds record and line as they were known here before this entry: then none of it needs to be
    // read.
    if let Some((before, earlier)) = record.before_newest().zip(known) {
        let line = Line::of(record, &text, Some(earlier));
        let earlier = earlier.to_json();
        let expected = [(key.as_str(), Some(before.as_str())), (&line_key, Some(&earlier))];
        let new = [(&key, &text), (&before_key, &before), (&line_key, &line.to_json())];
        let batch = new.map(|(key, text)| (key.clone(), Some(text.clone()))).to_vec();
        if store.write_all_where(&expected, batch).await? {
            return Ok(line);
        }
    }
    let mut stored = store.read_each(&[&key, &line_key]).await?;
    let earlier = stored.pop().flatten().and_then(|text| Line::from_json(&text).ok());
    let found = stored.pop().flatten();
    let mut batch = Vec::new();
    let before = match found.clone() {
        None if !new && store.read(&before_key).await?.is_none() => return Err(SaveError::Conflict),
        None => text.clone(),
        Some(found) => {
            let newest = read_record(id, &found).map_err(|reason| Unreadable {
                key: key.clone(),
                text: found.clone(),
                reason,
            });
            match or_before(store, id, newest).await? {
                Stored::Good(stored) if !stored.record.is_start_of(record) => {
                    return Err(SaveError::Conflict);
                }
                Stored::Good(Kept { damaged: None, .. }) => found,
                Stored::Good(Kept { record, damaged: Some(damaged) }) => {
                    batch.push((free_aside(store, &key).await?, Some(damaged.text)));
                    record.to_json().ok_or(SaveError::NotExact)?
                }
                Stored::Unreadable(unreadable) => return Err(SaveError::Occupied(unreadable)),
                Stored::Absent => return Err(SaveError::Conflict),
            }
        }
    };
    let line = Line::of(record, &text, earlier.as_ref());
    batch.extend([(key.clone(), Some(text)), (before_key, Some(before)), (line_key, Some(line.to_json()))]);
    // Another tab may have signed or amended since the look: then nothing is written.
    match store.write_all_if(&key, found.as_deref(), batch).await? {
        true => Ok(line),
        false => Err(SaveError::Conflict),
    }
}

/// A record, in the state before its newest if that is damaged. Errors: the store's.
pub async fn load_record(store: &impl Store, id: &str) -> Result<Stored<Kept>, StoreError> {
    let [key, before, _] = keys(id);
    let newest = match store.read(&key).await? {
        Some(text) => read_record(id, &text).map_err(|reason| Unreadable { key, text, reason }),
        None => {
            // Taken away outside: what stood before is still there.
            if store.read(&before).await?.is_none() {
                return Ok(Stored::Absent);
            }
            Err(Unreadable { key, text: String::new(), reason: Reason::Missing })
        }
    };
    or_before(store, id, newest).await
}

/// Ids of all records, and of those of which only the state before or the line is left. Errors: the store's.
pub async fn record_ids(store: &impl Store) -> Result<Vec<String>, StoreError> {
    let mut ids = Vec::new();
    for prefix in [RECORD, BEFORE, LINE] {
        let found = store.keys(prefix).await?;
        ids.extend(found.iter().filter_map(|key| key.strip_prefix(prefix)).map(str::to_owned));
    }
    sort_by(&mut ids, String::cmp);
    ids.dedup();
    Ok(ids)
}

/// The texts of all lines, for [`Line::from_json`]; many are read a few at a time. Errors: the store's.
pub async fn line_texts(store: &impl Store) -> Result<Vec<String>, StoreError> {
    Ok(store.read_all(LINE).await?.into_iter().map(|(_, text)| text).collect())
}

/// The line of a record; none where there is none, or one of another version. Errors: the store's.
pub async fn load_line(store: &impl Store, id: &str) -> Result<Option<Line>, StoreError> {
    let [_, _, key] = keys(id);
    Ok(store.read(&key).await?.and_then(|text| Line::from_json(&text).ok()))
}

/// What a look at a record found.
#[derive(Debug, Clone, PartialEq)]
pub enum Looked {
    /// Its line is of it.
    Fits,
    /// Its line was missing, or older than it, or of another version, and is made anew.
    Renewed {
        /// As it now stands.
        line: Box<Line>,
        /// Its newest state, if that is damaged: the line is of the state before.
        damaged: Option<Unreadable>,
    },
    /// It cannot be read, and nothing before it.
    Unreadable(Unreadable),
    /// It was taken away outside, and what was before it.
    Lost {
        /// Its line, which says so.
        line: Box<Line>,
        /// What is left of it.
        item: Unreadable,
    },
    /// There is no such record.
    Gone,
}

/// The line of a record that was taken away, marked, and what is left to be listed: that line.
pub fn lost(line: &Line) -> (Line, Unreadable) {
    let [key, ..] = keys(&line.id);
    let item = Unreadable { key, text: line.to_json(), reason: Reason::Missing };
    let mut line = line.clone();
    line.lost = true;
    (line, item)
}

/// Looks whether a record is what its line says, and makes the line anew if not. Errors: the store's.
pub async fn look(store: &impl Store, id: &str, line: Option<&Line>) -> Result<Looked, StoreError> {
    let [key, _, line_key] = keys(id);
    let text = store.read(&key).await?;
    if text.as_deref().zip(line).is_some_and(|(text, line)| line.id == id && line.is_of(text)) {
        return Ok(Looked::Fits);
    }
    let Kept { record, damaged } = match load_record(store, id).await? {
        Stored::Good(kept) => kept,
        Stored::Unreadable(unreadable) => return Ok(Looked::Unreadable(unreadable)),
        Stored::Absent => {
            return Ok(match (line, store.read(&line_key).await?) {
                (Some(line), _) => {
                    let (line, item) = lost(line);
                    Looked::Lost { line: Box::new(line), item }
                }
                // Its line is of another version.
                (None, Some(text)) => Looked::Unreadable(Unreadable { key, text, reason: Reason::Missing }),
                (None, None) => Looked::Gone,
            });
        }
    };
    let of = if damaged.is_some() { Line::of_state_before } else { Line::of };
    let line = of(&record, text.as_deref().unwrap_or_default(), line);
    // Signed or amended meanwhile: then its line was written with it.
    let batch = vec![(line_key, Some(line.to_json()))];
    store.write_all_if(&key, text.as_deref(), batch).await?;
    Ok(Looked::Renewed { line: Box::new(line), damaged })
}

/// Keeps a signed or amended record, then takes its draft from the open ones, if that is the one signed or the one
/// `seen` before: what was typed since, here or in another tab, stays. Cut short in between, the draft stays and
/// [`without_repeats`] passes over it. `known` is the record's line before, as far as it is known: with it an amendment
/// is one look and one change. Errors: see [`SaveError`]; the record is kept if a later [`load_record`] finds it.
pub async fn sign_off(
    drafts: &impl Store,
    records: &impl Store,
    record: &Record,
    seen: Option<&Seen>,
    known: Option<&Line>,
) -> Result<Line, SaveError> {
    let line = put_record(records, record, known, record.entries().count() == 1).await?;
    close_draft(drafts, record.latest(), seen).await?;
    Ok(line)
}

/// Takes a draft that is signed from the open ones, unless something else was typed since. Errors: the store's.
pub async fn close_draft(store: &impl Store, signed: &Draft, seen: Option<&Seen>) -> Result<(), SaveError> {
    match change_draft(store, signed, seen, vec![(draft_key(&signed.id), None)]).await {
        Err(SaveError::Conflict | SaveError::Occupied(_)) => Ok(()),
        done => done,
    }
}

/// All open drafts; one with the id of a record is an amendment not yet signed, or [repeats it](without_repeats).
/// Errors: the store's.
pub async fn drafts(store: &impl Store) -> Result<Listing<Draft>, StoreError> {
    list(store, DRAFT, read_draft, |draft: &Draft| &draft.id).await
}

/// Leaves out drafts that only repeat what holds of their record: one that repeats an earlier entry may be about to take
/// the newest back. That it was signed without a product, a case knows only from its record.
pub fn without_repeats(drafts: &mut Vec<Draft>, records: &[Record]) {
    drafts.retain(|draft| {
        let latest = records.iter().find(|r| r.id() == draft.id).map(Record::latest);
        latest.is_none_or(|latest| *latest != Draft { ended_without: latest.ended_without, ..draft.clone() })
    });
}

/// Keeps the Bench over the one that was last seen. Errors: the store's, a Bench that contradicts itself, another
/// tab changed it since, a newer version wrote it.
pub async fn save_bench(store: &impl Store, bench: &Bench, seen: &Bench) -> Result<(), SaveError> {
    replace(store, BENCH, bench.to_json(), seen, read_bench).await
}

/// The Bench. Errors: the store's.
pub async fn load_bench(store: &impl Store) -> Result<Stored<Bench>, StoreError> {
    load(store, BENCH, read_bench).await
}

/// Keeps the settings over those that were last seen. Errors: the store's, another tab changed them since, a
/// newer version wrote them.
pub async fn save_settings(
    store: &impl Store,
    settings: &Settings,
    seen: &Settings,
) -> Result<(), SaveError> {
    let text = stored::write(settings).map_err(|_| SaveError::NotExact)?;
    replace(store, SETTINGS, text, seen, Settings::from_json).await
}

/// The settings. Errors: the store's.
pub async fn load_settings(store: &impl Store) -> Result<Stored<Settings>, StoreError> {
    load(store, SETTINGS, Settings::from_json).await
}

/// Keeps what was decided about counts over what was last seen. Errors: the store's, another tab decided something
/// since, a newer version wrote it.
pub async fn save_decisions(
    store: &impl Store,
    decisions: &Decisions,
    seen: &Decisions,
) -> Result<(), SaveError> {
    let text = stored::write(decisions).map_err(|_| SaveError::NotExact)?;
    replace(store, DECISIONS, text, seen, Decisions::from_json).await
}

/// What was decided about counts. Errors: the store's.
pub async fn load_decisions(store: &impl Store) -> Result<Stored<Decisions>, StoreError> {
    load(store, DECISIONS, Decisions::from_json).await
}

/// Keeps an entry of the clinic's log under a key of its own; one that stands there already is left as it is. Errors:
/// the store's; another entry stands there, or a text that cannot be read.
pub async fn save_entry(store: &impl Store, entry: &log::Entry) -> Result<(), SaveError> {
    let key = format!("{LOG}{}", entry.id);
    let text = entry.to_json().ok_or(SaveError::NotExact)?;
    if store.write_all_if(&key, None, vec![(key.clone(), Some(text))]).await? {
        return Ok(());
    }
    match load(store, &key, log::Entry::from_json).await? {
        Stored::Good(theirs) if theirs == *entry => Ok(()),
        Stored::Unreadable(item) => Err(SaveError::Occupied(item)),
        Stored::Good(_) | Stored::Absent => Err(SaveError::Conflict),
    }
}

/// All entries of the clinic's log. Errors: the store's.
pub async fn log_entries(store: &impl Store) -> Result<Listing<log::Entry>, StoreError> {
    list(store, LOG, log::Entry::from_json, |entry| &entry.id).await
}
