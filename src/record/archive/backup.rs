//! Everything that is kept, as one JSON file, and back: a restore adds what is not here and says of each thing what
//! became of it. It never replaces or removes what is here.
//!
//! The file lists keys with their texts as they are stored, one a line, so that what this version cannot read goes
//! along too. Settings of the device stay with the device; lines are made anew. Under a lock all of it is closed.

mod sealed;
pub use sealed::{Closing, is_under, lock};

use super::{
    ASIDE, BENCH, DECISIONS, DISCARDED, DRAFT, Kept, LOG, OF_DRAFTS, PREFIX, SaveError, Stored, free_aside,
    keys, load_decisions, load_record, read_bench, read_draft, read_record, record_ids, save_bench,
    save_decisions, save_entry, save_record,
};
use crate::bench::Bench;
use crate::draft::{CheckSign, Draft};
use crate::log;
use crate::quality::decided::{Begun, ChosenBaseline, Decisions, Exclusion, LetIn, OwnPrior, TakenBack};
use crate::quantity::time::Instant;
use crate::record::closed::Key;
use crate::record::line::Line;
use crate::record::store::{Memory, Store, StoreError};
use crate::record::{APP, Reason, Record};
use crate::stored;
use serde::Deserialize;
use serde_json::value::RawValue;
use std::collections::BTreeSet;

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

/// What a line of the report is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum What {
    /// A signed record.
    Record(CheckSign),
    /// An open case.
    OpenCase(CheckSign),
    /// A discarded one.
    DiscardedCase(CheckSign),
    /// The Bench.
    Bench,
    /// What was decided about counts.
    Decisions,
    /// The clinic's log.
    Log,
    /// A text that could not be read where it was stored.
    SetAside(String),
    /// Something else, by its key.
    Unknown(String),
}

/// What became of it.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// It was not here.
    Added,
    /// It was here with fewer amendments.
    Amended(usize),
    /// It is here as it is in the file.
    Same,
    /// What is here goes on from it.
    Older,
    /// Something else is here.
    Differs,
    /// Another record is here under its key: the text of the file is kept aside.
    PutAside,
    /// It was discarded here.
    Discarded,
    /// Decisions that were not here.
    Merged(usize),
    /// Entries of the log that were not here.
    Entered(usize),
    /// The clinic has another Bench here, and decides what of this one is taken: see [`Restored::bench`].
    BenchDiffers,
    /// It cannot be read, in the file or here.
    Unreadable(Reason),
    /// The store refused it.
    NotKept,
    /// Nothing this version knows.
    NotKnown,
}

/// One line of the report.
#[derive(Debug, Clone, PartialEq)]
pub struct Item {
    /// What.
    pub what: What,
    /// What became of it.
    pub outcome: Outcome,
}

/// What a restore did.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Restored {
    /// Line by line, in the order of the file.
    pub items: Vec<Item>,
    /// Lines of the records that were added or added to.
    pub lines: Vec<Line>,
    /// A Bench that differs from the one here, to be looked at part by part.
    pub bench: Option<Bench>,
}

/// Adds what a file holds and is not here; a closed one is read with its `key`. Errors: it is no backup, of a newer
/// version, or closed under another key, changed or cut short since; nothing is changed then.
pub async fn restore<S: Store, T: Store>(
    into: Shelves<'_, S, T>,
    text: &str,
    key: Option<&Key>,
) -> Result<Restored, Reason> {
    let file = layout(text)?;
    let key = match file.lock {
        Some(_) => Some(key.ok_or_else(|| Reason::Broken("lock".to_owned()))?),
        None => None,
    };
    let texts = match key {
        Some(key) => sealed::end(&file, key)?,
        None => file.texts.len(),
    };
    let texts = || file.texts.iter().take(texts).enumerate();
    // Each is read when its turn comes, and once before anything is changed.
    texts().try_for_each(|(n, raw)| file.entry(n, raw, key).map(drop))?;
    let mut done = Restored::default();
    let mut told = BTreeSet::new();
    // Entries of the log are told together.
    let mut logged = None;
    // Records of which the file knows as much as now stands here.
    let mut level = BTreeSet::new();
    for (n, raw) in texts() {
        let (key, text) = file.entry(n, raw, key)?;
        let item = match key.strip_prefix(PREFIX).and_then(|rest| rest.split_once('.')) {
            Some(("record" | "before", id)) => {
                let item = record(into.records, id, &key, &text, &mut done.lines).await;
                // The state before stands in only where the newest could not be read.
                if told.contains(id) && matches!(item.outcome, Outcome::Same | Outcome::Older) {
                    continue;
                }
                if !matches!(item.outcome, Outcome::Unreadable(_)) {
                    told.insert(id.to_owned());
                }
                if matches!(item.outcome, Outcome::Added | Outcome::Amended(_) | Outcome::Same) {
                    level.insert(id.to_owned());
                }
                item
            }
            Some(("draft", id)) => open_case(&into, id, &key, &text, level.contains(id)).await,
            Some(("discarded", id)) => discarded_case(&into, id, &key, &text, level.contains(id)).await,
            Some(("log", id)) => match log_entry(into.records, id, &text).await {
                Outcome::Added => {
                    *logged.get_or_insert(0) += 1;
                    continue;
                }
                Outcome::Same => {
                    logged.get_or_insert(0_usize);
                    continue;
                }
                outcome => Item { what: What::Unknown(key), outcome },
            },
            Some(("aside", _)) => set_aside(&into, &key, &text).await,
            None if key == BENCH => bench(into.shelf, &text, &mut done.bench).await,
            None if key == DECISIONS => decisions(into.drafts, &text).await,
            _ => Item { what: What::Unknown(key), outcome: Outcome::NotKnown },
        };
        done.items.push(item);
    }
    if let Some(new) = logged {
        let outcome = if new == 0 { Outcome::Same } else { Outcome::Entered(new) };
        done.items.push(Item { what: What::Log, outcome });
    }
    Ok(done)
}

/// Takes over what stands in the stores of drafts and of records, as a restore of their backup would, and tells whether
/// all of it now stands: an open case is left to whoever has it open. Errors: they cannot be read.
pub async fn take_over<S: Store, T: Store>(
    [drafts, records]: [&T; 2],
    into: Shelves<'_, S, T>,
) -> Result<bool, StoreError> {
    let mut file = String::new();
    let from = Shelves { shelf: &Memory::default(), drafts, records };
    write(from, Instant(0), None, |piece| file += &piece).await?;
    let done =
        restore(into, &file, None).await.map_err(|reason| StoreError::Failed(format!("{reason:?}")))?;
    let stands = |item: &Item| match item.outcome {
        Outcome::Added
        | Outcome::Amended(_)
        | Outcome::Same
        | Outcome::Older
        | Outcome::Merged(_)
        | Outcome::Entered(_) => true,
        _ => matches!(item.what, What::OpenCase(_)),
    };
    Ok(done.items.iter().all(stands))
}

/// An outcome, or that the store refused.
fn or_refused(outcome: Result<Outcome, SaveError>) -> Outcome {
    outcome.unwrap_or_else(|error| match error {
        SaveError::Conflict => Outcome::Differs,
        SaveError::Occupied(item) => Outcome::Unreadable(item.reason),
        SaveError::Store(_) | SaveError::NotExact => Outcome::NotKept,
    })
}

async fn record(store: &impl Store, id: &str, key: &str, text: &str, lines: &mut Vec<Line>) -> Item {
    match read_record(id, text) {
        Err(reason) => Item { what: What::Unknown(key.to_owned()), outcome: Outcome::Unreadable(reason) },
        Ok(record) => Item {
            what: What::Record(record.check_sign()),
            outcome: or_refused(merge_record(store, &record, text, lines).await),
        },
    }
}

async fn merge_record(
    store: &impl Store,
    theirs: &Record,
    text: &str,
    lines: &mut Vec<Line>,
) -> Result<Outcome, SaveError> {
    let outcome = match load_record(store, theirs.id()).await? {
        Stored::Absent => Outcome::Added,
        Stored::Good(Kept { record, damaged: None }) if record == *theirs => return Ok(Outcome::Same),
        Stored::Good(Kept { record, .. }) if record.is_start_of(theirs) => {
            match theirs.amendments().len().saturating_sub(record.amendments().len()) {
                0 => Outcome::Added,
                more => Outcome::Amended(more),
            }
        }
        Stored::Good(Kept { record, .. }) if theirs.is_start_of(&record) => return Ok(Outcome::Older),
        // Amended on two devices, perhaps: what the file holds more is not lost.
        Stored::Good(_) => {
            let [key, ..] = keys(theirs.id());
            return put_aside_once(store, &key, text).await;
        }
        Stored::Unreadable(item) if matches!(item.reason, Reason::Newer { .. }) => {
            return Ok(Outcome::Unreadable(item.reason));
        }
        // What is here cannot be read: it makes room, and stays aside.
        Stored::Unreadable(_) => {
            let [key, before, _] = keys(theirs.id());
            let found = store.read(&key).await?;
            let mut batch = Vec::new();
            for key in [&key, &before] {
                if let Some(text) = store.read(key).await? {
                    batch.push((free_aside(store, key).await?, Some(text)));
                    batch.push((key.clone(), None));
                }
            }
            if !store.write_all_if(&key, found.as_deref(), batch).await? {
                return Err(SaveError::Conflict);
            }
            Outcome::Added
        }
    };
    lines.push(save_record(store, theirs).await?);
    Ok(outcome)
}

/// Keeps a text of the file aside, unless it was before.
async fn put_aside_once(store: &impl Store, key: &str, text: &str) -> Result<Outcome, SaveError> {
    if store.read_all(ASIDE).await?.iter().any(|(_, here)| here == text) {
        return Ok(Outcome::PutAside);
    }
    let key = free_aside(store, key).await?;
    match store.write_all_if(&key, None, vec![(key.clone(), Some(text.to_owned()))]).await? {
        true => Ok(Outcome::PutAside),
        false => Err(SaveError::Conflict),
    }
}

/// Reads a case of the file: it must be of the case its key names.
fn case(id: &str, text: &str) -> Result<Draft, Reason> {
    match read_draft(text)? {
        draft if draft.id == id => Ok(draft),
        draft => Err(Reason::Misplaced { id: draft.id }),
    }
}

async fn open_case<S, T: Store>(
    into: &Shelves<'_, S, T>,
    id: &str,
    key: &str,
    text: &str,
    level: bool,
) -> Item {
    match case(id, text) {
        Err(reason) => Item { what: What::Unknown(key.to_owned()), outcome: Outcome::Unreadable(reason) },
        Ok(draft) => {
            let discarded = into.drafts.read(&format!("{DISCARDED}{id}")).await;
            let outcome = match discarded {
                // Open, it would take the place of what was discarded when it is discarded again.
                Ok(Some(_)) => Outcome::Discarded,
                Ok(None) => or_refused(put_case(into, &draft, key, text, level).await),
                Err(_) => Outcome::NotKept,
            };
            Item { what: What::OpenCase(draft.sign), outcome }
        }
    }
}

async fn discarded_case<S, T: Store>(
    into: &Shelves<'_, S, T>,
    id: &str,
    key: &str,
    text: &str,
    level: bool,
) -> Item {
    match case(id, text) {
        Err(reason) => Item { what: What::Unknown(key.to_owned()), outcome: Outcome::Unreadable(reason) },
        Ok(draft) => {
            let open = into.drafts.read(&format!("{DRAFT}{id}")).await;
            let outcome = match open {
                // Brought back here since.
                Ok(Some(_)) => Outcome::Older,
                Ok(None) => or_refused(put_case(into, &draft, key, text, level).await),
                Err(_) => Outcome::NotKept,
            };
            Item { what: What::DiscardedCase(draft.sign), outcome }
        }
    }
}

/// Puts a case under its key, unless something is there or it was signed since: then it would stand as an amendment
/// that takes out what was typed between. `level`: the file knows its record as it stands here.
async fn put_case<S, T: Store>(
    into: &Shelves<'_, S, T>,
    draft: &Draft,
    key: &str,
    text: &str,
    level: bool,
) -> Result<Outcome, SaveError> {
    if let Some(here) = into.drafts.read(key).await? {
        let same = read_draft(&here).is_ok_and(|here| here == *draft);
        return Ok(if same { Outcome::Same } else { Outcome::Differs });
    }
    match load_record(into.records, &draft.id).await? {
        Stored::Absent => {}
        Stored::Good(Kept { record, .. }) if level && record.entries().all(|entry| entry.draft != *draft) => {
        }
        Stored::Good(_) => return Ok(Outcome::Older),
        Stored::Unreadable(item) => return Ok(Outcome::Unreadable(item.reason)),
    }
    match into.drafts.write_all_if(key, None, vec![(key.to_owned(), Some(text.to_owned()))]).await? {
        true => Ok(Outcome::Added),
        false => Err(SaveError::Conflict),
    }
}

/// Adds an entry of the clinic's log. Nothing that is here is altered.
async fn log_entry(store: &impl Store, id: &str, text: &str) -> Outcome {
    let put = async || -> Result<Outcome, SaveError> {
        let entry = match log::Entry::from_json(text) {
            Ok(entry) if entry.id == id => entry,
            Ok(entry) => return Ok(Outcome::Unreadable(Reason::Misplaced { id: entry.id })),
            Err(reason) => return Ok(Outcome::Unreadable(reason)),
        };
        if store.read(&format!("{LOG}{id}")).await?.is_some() {
            return save_entry(store, &entry).await.map(|()| Outcome::Same);
        }
        save_entry(store, &entry).await.map(|()| Outcome::Added)
    };
    or_refused(put().await)
}

async fn set_aside<S: Store, T: Store>(into: &Shelves<'_, S, T>, key: &str, text: &str) -> Item {
    let put = async || -> Result<Outcome, SaveError> {
        let store = into.records;
        let here = |all: Vec<(String, String)>| all.iter().any(|(_, here)| here == text);
        if here(store.read_all(ASIDE).await?)
            || here(into.drafts.read_all(ASIDE).await?)
            || here(into.shelf.read_all(ASIDE).await?)
        {
            return Ok(Outcome::Same);
        }
        let name =
            key.strip_prefix(ASIDE).and_then(|name| name.rsplit_once('.')).map_or("", |(name, _)| name);
        let key = free_aside(store, name).await?;
        match store.write_all_if(&key, None, vec![(key.clone(), Some(text.to_owned()))]).await? {
            true => Ok(Outcome::Added),
            false => Err(SaveError::Conflict),
        }
    };
    Item { what: What::SetAside(key.to_owned()), outcome: or_refused(put().await) }
}

async fn bench(store: &impl Store, text: &str, differs: &mut Option<Bench>) -> Item {
    let mut put = async || -> Result<Outcome, SaveError> {
        let theirs = match read_bench(text) {
            Ok(theirs) => theirs,
            Err(reason) => return Ok(Outcome::Unreadable(reason)),
        };
        let here = match super::load_bench(store).await? {
            Stored::Good(here) => here,
            Stored::Absent => Bench::default(),
            Stored::Unreadable(item) => return Ok(Outcome::Unreadable(item.reason)),
        };
        if here == theirs {
            return Ok(Outcome::Same);
        }
        if here != Bench::default() || theirs.needs_lead() {
            *differs = Some(theirs);
            return Ok(Outcome::BenchDiffers);
        }
        save_bench(store, &theirs, &here).await.map(|()| Outcome::Added)
    };
    Item { what: What::Bench, outcome: or_refused(put().await) }
}

async fn decisions(store: &impl Store, text: &str) -> Item {
    let put = async || -> Result<Outcome, SaveError> {
        let theirs = match Decisions::from_json(text) {
            Ok(theirs) => theirs,
            Err(reason) => return Ok(Outcome::Unreadable(reason)),
        };
        let here = match load_decisions(store).await? {
            Stored::Good(here) => here,
            Stored::Absent => Decisions::default(),
            Stored::Unreadable(item) => return Ok(Outcome::Unreadable(item.reason)),
        };
        let mut all = here.clone();
        let new = [
            merge(&mut all.exclusions, theirs.exclusions),
            merge(&mut all.let_in, theirs.let_in),
            merge(&mut all.checks, theirs.checks),
            merge(&mut all.own, theirs.own),
            merge(&mut all.baselines, theirs.baselines),
        ];
        match new.iter().sum() {
            0 => Ok(Outcome::Same),
            new => save_decisions(store, &all, &here).await.map(|()| Outcome::Merged(new)),
        }
    };
    Item { what: What::Decisions, outcome: or_refused(put().await) }
}

/// A decision that can be taken back.
trait Decided: Clone + PartialEq {
    fn at(&self) -> Instant;
    fn back(&mut self) -> &mut Option<TakenBack>;
}

macro_rules! decided {
    ($($what:ty),*) => {$(
        impl Decided for $what {
            fn at(&self) -> Instant {
                self.at
            }
            fn back(&mut self) -> &mut Option<TakenBack> {
                &mut self.back
            }
        }
    )*};
}
decided!(Exclusion, LetIn, Begun, OwnPrior, ChosenBaseline);

/// Adds decisions that are not here, and that some were taken back; gives how many.
fn merge<T: Decided>(here: &mut Vec<T>, theirs: Vec<T>) -> usize {
    let mut new = 0;
    for mut one in theirs {
        let back = one.back().take();
        let as_made = |here: &T| {
            let mut here = here.clone();
            *here.back() = None;
            here == one
        };
        match here.iter_mut().find(|here| as_made(here)).map(T::back) {
            Some(known @ None) if back.is_some() => *known = back,
            Some(_) => continue,
            None => {
                *one.back() = back;
                here.insert(here.partition_point(|h| h.at() <= one.at()), one);
            }
        }
        new += 1;
    }
    new
}

#[cfg(test)]
mod tests {
    use super::super::{discard_draft, discarded, drafts, load_bench, save_draft};
    use super::*;
    use crate::draft::Field;
    use crate::quality::decided::Series;
    use crate::record::faulty::{Fault, Faulty};
    use crate::record::journal::Journal;
    use crate::record::trial::{at, block_on, case};

    fn shelves<S>(store: &S) -> Shelves<'_, S, S> {
        Shelves { shelf: store, drafts: store, records: store }
    }

    fn backup(store: &Memory) -> String {
        let mut file = String::new();
        block_on(write(shelves(store), at(9), None, |piece| file += &piece)).unwrap();
        file
    }

    fn bring(store: &Memory, file: &str) -> Restored {
        block_on(restore(shelves(store), file, None)).unwrap()
    }

    fn amended(times: usize) -> Record {
        let mut record = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
        for n in 0..times {
            let mut draft = record.latest().clone();
            draft.write(Field::Notes, format!("note {n}"));
            record.amend(draft, "JT", at(1), vec![], "more was said").unwrap();
        }
        record
    }

    fn exclusion(by: &str, back: bool) -> Exclusion {
        let back = back.then(|| TakenBack { by: "JT".into(), at: at(5) });
        Exclusion { case: "a".into(), by: by.into(), at: at(2), why: "clots".into(), back }
    }

    /// A store with something of everything.
    fn whole() -> Memory {
        let store = Memory::default();
        let decided = Decisions { exclusions: vec![exclusion("MO", false)], ..Decisions::default() };
        let mut bench = Bench::default();
        bench.clinic.name = "Harbour Lane Joint Clinic".into();
        block_on(async {
            save_record(&store, &amended(1)).await.unwrap();
            save_draft(&store, &case("b"), None).await.unwrap();
            discard_draft(&store, &case("c"), None).await.unwrap();
            save_bench(&store, &bench, &Bench::default()).await.unwrap();
            save_decisions(&store, &decided, &Decisions::default()).await.unwrap();
            store.write("strawline.aside.record.x.1", "{\"cut".into()).await.unwrap();
        });
        store
    }

    fn outcomes(restored: &Restored) -> Vec<&Outcome> {
        restored.items.iter().map(|item| &item.outcome).collect()
    }

    #[test]
    fn all_comes_back_into_an_empty_store_and_a_second_time_changes_nothing() {
        let store = whole();
        let file = backup(&store);
        let new = Memory::default();
        let done = bring(&new, &file);
        assert_eq!(done.items.len(), 6, "{:?}", done.items);
        assert!(outcomes(&done).iter().all(|o| matches!(o, Outcome::Added | Outcome::Merged(1))), "{done:?}");
        assert_eq!(done.lines.len(), 1);
        let texts = new.texts();
        for (key, text) in store.texts() {
            // Of a record brought back the state before is a second copy.
            if !key.contains(".before.") {
                assert_eq!(texts.get(&key), Some(&text), "{key}");
            }
        }
        let again = bring(&new, &file);
        assert!(outcomes(&again).iter().all(|o| **o == Outcome::Same), "{again:?}");
        assert_eq!(new.texts(), texts);
        assert_eq!(backup(&new), file);
    }

    #[test]
    fn amendments_are_added_and_nothing_here_is_replaced() {
        for (here, there, outcome) in
            [(0, 2, Outcome::Amended(2)), (2, 2, Outcome::Same), (2, 1, Outcome::Older)]
        {
            let (store, other) = (Memory::default(), Memory::default());
            block_on(save_record(&store, &amended(here))).unwrap();
            block_on(save_record(&other, &amended(there))).unwrap();
            let done = bring(&store, &backup(&other));
            assert_eq!(outcomes(&done), [&outcome]);
            let kept = block_on(load_record(&store, "a")).unwrap();
            assert_eq!(kept, Stored::Good(Kept { record: amended(here.max(there)), damaged: None }));
        }
        let store = Memory::default();
        block_on(save_record(&store, &Record::sign(case("a"), "JT", at(3), vec![]).unwrap())).unwrap();
        let mut other = case("b");
        other.write(Field::Notes, "typed here");
        block_on(save_draft(&store, &other, None)).unwrap();
        let before = store.texts();
        let done = bring(&store, &backup(&whole()));
        assert_eq!(done.items[0].outcome, Outcome::PutAside);
        assert!(
            done.items.iter().any(|i| matches!(i.what, What::OpenCase(_)) && i.outcome == Outcome::Differs)
        );
        for (key, text) in before {
            assert_eq!(store.texts().get(&key), Some(&text), "{key}");
        }
    }

    #[test]
    fn of_a_record_amended_on_two_devices_what_the_file_holds_is_kept_aside_and_listed() {
        let (here, there) = (Memory::default(), Memory::default());
        let by = |who: &str, word: &str| {
            let mut record = amended(0);
            let mut draft = record.latest().clone();
            draft.write(Field::Notes, word);
            record.amend(draft, who, at(4), vec![], "asked again").unwrap();
            record
        };
        block_on(async {
            save_record(&here, &by("MO", "swollen")).await.unwrap();
            save_record(&there, &by("JT", "counted late")).await.unwrap();
        });
        let before = here.texts();
        for again in [false, true] {
            let done = bring(&here, &backup(&there));
            assert_eq!(outcomes(&done), [&Outcome::PutAside], "{again}");
            assert!(done.lines.is_empty());
        }
        let aside = block_on(put_aside(&shelves(&here))).unwrap();
        let kept = block_on(there.read("strawline.record.a")).unwrap().unwrap();
        assert_eq!(aside, [("strawline.aside.record.a.1".to_owned(), kept)], "once");
        assert!(before.iter().all(|(key, text)| here.texts().get(key) == Some(text)));
        // It leaves with a backup, and goes with its record.
        assert!(backup(&here).contains("counted late"));
        let line = block_on(super::super::load_line(&here, "a")).unwrap().unwrap();
        block_on(super::super::purge::purge(&here, &here, &line)).unwrap();
        assert!(here.texts().values().all(|text| !text.contains("counted late")));
    }

    #[test]
    fn a_bench_that_differs_is_handed_over_to_be_looked_at_and_what_is_here_stays() {
        let (store, other) = (whole(), Memory::default());
        let mut theirs = Bench::default();
        theirs.clinic.second_line = "Second floor".into();
        block_on(save_bench(&other, &theirs, &Bench::default())).unwrap();
        let before = store.texts();
        let done = bring(&store, &backup(&other));
        assert_eq!((outcomes(&done), done.bench.as_ref()), (vec![&Outcome::BenchDiffers], Some(&theirs)));
        assert_eq!(store.texts(), before);
        // The same, or taken into an empty store, there is nothing to look at.
        assert_eq!(bring(&store, &backup(&store)).bench, None);
        assert_eq!(bring(&Memory::default(), &backup(&other)).bench, None);
    }

    #[test]
    fn a_record_that_cannot_be_read_here_comes_back_and_what_was_there_stays_aside() {
        let store = Memory::default();
        block_on(async {
            save_record(&store, &amended(1)).await.unwrap();
            store.write("strawline.record.a", "{\"cut".into()).await.unwrap();
            store.write("strawline.before.a", "{\"too".into()).await.unwrap();
        });
        let done = bring(&store, &backup(&whole()));
        assert_eq!(done.items[0].outcome, Outcome::Added);
        let kept = block_on(load_record(&store, "a")).unwrap();
        assert_eq!(kept, Stored::Good(Kept { record: amended(1), damaged: None }));
        let aside: Vec<String> =
            store.texts().into_iter().filter(|(k, _)| k.starts_with(ASIDE)).map(|(_, t)| t).collect();
        assert!(aside.contains(&"{\"cut".to_owned()) && aside.contains(&"{\"too".to_owned()), "{aside:?}");
    }

    #[test]
    fn the_state_before_stands_in_for_a_damaged_newest_in_the_file() {
        let store = Memory::default();
        block_on(async {
            save_record(&store, &amended(0)).await.unwrap();
            save_record(&store, &amended(1)).await.unwrap();
            store.write("strawline.record.a", "{\"cut".into()).await.unwrap();
        });
        let new = Memory::default();
        let done = bring(&new, &backup(&store));
        assert!(matches!(done.items[0].outcome, Outcome::Unreadable(_)), "{done:?}");
        assert_eq!(done.items[1].outcome, Outcome::Added);
        let kept = block_on(load_record(&new, "a")).unwrap();
        assert_eq!(kept, Stored::Good(Kept { record: amended(0), damaged: None }));
    }

    #[test]
    fn decisions_of_both_stand_once_and_one_taken_back_stays_so() {
        let of = |all: Vec<Exclusion>| Decisions { exclusions: all, ..Decisions::default() };
        let (store, other) = (Memory::default(), Memory::default());
        let begun = Begun {
            of: Series { protocol: "double-spin".into(), container: None },
            by: "MO".into(),
            at: at(1),
            back: None,
        };
        let here = of(vec![exclusion("MO", false), exclusion("AK", true)]);
        let mut there = of(vec![exclusion("MO", true), exclusion("AK", false), exclusion("JT", false)]);
        there.checks.push(begun.clone());
        block_on(async {
            save_decisions(&store, &here, &Decisions::default()).await.unwrap();
            save_decisions(&other, &there, &Decisions::default()).await.unwrap();
        });
        let done = bring(&store, &backup(&other));
        assert_eq!(outcomes(&done), [&Outcome::Merged(3)]);
        let mut all = of(vec![exclusion("MO", true), exclusion("AK", true), exclusion("JT", false)]);
        all.checks.push(begun);
        assert_eq!(block_on(load_decisions(&store)), Ok(Stored::Good(all)));
    }

    /// Here a case was open when a backup was made.
    fn open_at_noon() -> (Memory, String) {
        let store = Memory::default();
        block_on(save_draft(&store, &case("a"), None)).unwrap();
        let file = backup(&store);
        (store, file)
    }

    fn evening() -> Draft {
        let mut draft = case("a");
        draft.write(Field::Notes, "counted in the afternoon");
        draft
    }

    #[test]
    fn a_case_signed_since_is_not_opened_again_as_it_was() {
        let (store, file) = open_at_noon();
        let record = Record::sign(evening(), "MO", at(600), vec![]).unwrap();
        block_on(async {
            save_record(&store, &record).await.unwrap();
            store.remove("strawline.draft.a").await.unwrap();
        });
        let before = store.texts();
        assert_eq!(outcomes(&bring(&store, &file)), [&Outcome::Older]);
        assert_eq!(store.texts(), before);
        // Nor an amendment begun at noon, amended otherwise in the evening; nor one that was discarded.
        let (noon, put_off) = (Memory::default(), Memory::default());
        let mut begun = record.latest().clone();
        begun.write(Field::Notes, "more");
        block_on(async {
            save_record(&noon, &record).await.unwrap();
            save_draft(&noon, &begun, None).await.unwrap();
            save_record(&put_off, &record).await.unwrap();
            discard_draft(&put_off, &begun, None).await.unwrap();
        });
        let (open, off) = (backup(&noon), backup(&put_off));
        // With nothing amended since it comes back.
        assert_eq!(outcomes(&bring(&store, &open)), [&Outcome::Same, &Outcome::Added]);
        let mut amended = record.clone();
        let mut then = record.latest().clone();
        then.write(Field::Notes, "quite other words");
        amended.amend(then, "MO", at(700), vec![], "late count").unwrap();
        let store = Memory::default();
        block_on(save_record(&store, &amended)).unwrap();
        let before = store.texts();
        assert_eq!(outcomes(&bring(&store, &open)), [&Outcome::Older, &Outcome::Older]);
        assert_eq!(outcomes(&bring(&store, &off)), [&Outcome::Older, &Outcome::Older]);
        assert_eq!(store.texts(), before);
    }

    #[test]
    fn a_case_discarded_here_is_not_opened_again_over_what_was_discarded() {
        let (store, file) = open_at_noon();
        block_on(discard_draft(&store, &evening(), Some(&super::super::Seen::of(case("a"))))).unwrap();
        let before = store.texts();
        assert_eq!(outcomes(&bring(&store, &file)), [&Outcome::Discarded]);
        assert_eq!(store.texts(), before);
    }

    #[test]
    fn texts_put_aside_under_one_key_in_two_stores_all_leave_and_come_back_once() {
        let stores = || [Memory::default(), Memory::default(), Memory::default()];
        let [shelf, drafts, records] = stores();
        let key = "strawline.aside.bench.1";
        block_on(async {
            shelf.write(key, "of the shelf".into()).await.unwrap();
            drafts.write("strawline.aside.quality.1", "of the drafts".into()).await.unwrap();
            records.write("strawline.aside.quality.1", "of the records".into()).await.unwrap();
            records.write(key, "of a restore".into()).await.unwrap();
            let three = || Shelves { shelf: &shelf, drafts: &drafts, records: &records };
            let mut file = String::new();
            write(three(), at(9), None, |piece| file += &piece).await.unwrap();
            for text in ["of the shelf", "of the drafts", "of the records", "of a restore"] {
                assert_eq!(file.matches(text).count(), 1, "{text}");
            }
            let before = [shelf.texts(), drafts.texts(), records.texts()];
            let done = restore(three(), &file, None).await.unwrap();
            assert!(outcomes(&done).iter().all(|o| **o == Outcome::Same), "{done:?}");
            assert_eq!([shelf.texts(), drafts.texts(), records.texts()], before);
            let [shelf, drafts, records] = stores();
            let into = Shelves { shelf: &shelf, drafts: &drafts, records: &records };
            let done = restore(into, &file, None).await.unwrap();
            assert_eq!(outcomes(&done), [&Outcome::Added; 4]);
        });
        // What is read closed on the shelf was read open among the drafts.
        let closed = Memory::default();
        block_on(async {
            closed.write("strawline.aside.quality.1", "closed-1 AAAA".into()).await.unwrap();
            let mut file = String::new();
            let from = Shelves { shelf: &closed, drafts: &drafts, records: &records };
            write(from, at(9), None, |piece| file += &piece).await.unwrap();
            assert!(!file.contains("closed-1 "));
        });
    }

    #[test]
    fn what_two_pages_decided_stands_when_one_takes_over_into_what_the_other_left() {
        let decided = |by| Decisions { exclusions: vec![exclusion(by, false)], ..Decisions::default() };
        let (here, there) = (Memory::default(), Memory::default());
        block_on(async {
            save_decisions(&there, &decided("AK"), &Decisions::default()).await.unwrap();
            save_decisions(&here, &decided("MO"), &Decisions::default()).await.unwrap();
            save_draft(&here, &case("b"), None).await.unwrap();
            save_record(&here, &amended(1)).await.unwrap();
            assert_eq!(take_over([&here, &here], shelves(&there)).await, Ok(true));
            let mut both = decided("AK");
            both.exclusions.push(exclusion("MO", false));
            assert_eq!(load_decisions(&there).await, Ok(Stored::Good(both)));
            assert_eq!(drafts(&there).await.unwrap().good, [case("b")]);
            let kept = Kept { record: amended(1), damaged: None };
            assert_eq!(load_record(&there, "a").await, Ok(Stored::Good(kept)));
            // A second time it changes nothing, and a record that differs there is not called taken over.
            let before = there.texts();
            assert_eq!(take_over([&here, &here], shelves(&there)).await, Ok(true));
            assert_eq!(there.texts(), before);
            let other = Memory::default();
            save_record(&other, &Record::sign(case("a"), "JT", at(3), vec![]).unwrap()).await.unwrap();
            assert_eq!(take_over([&here, &here], shelves(&other)).await, Ok(false));
        });
    }

    #[test]
    fn what_is_no_backup_or_newer_changes_nothing() {
        let store = whole();
        let before = store.texts();
        let file = backup(&whole());
        for bad in [
            String::new(),
            "null".into(),
            case("a").to_json(),
            Bench::default().to_json(),
            file.replacen(KIND, "another", 1),
            file[..file.len() / 2].to_owned(),
            // One entry of many is no pair.
            file.replacen("[\"strawline.bench\",", "[\"strawline.bench\",1,", 1),
        ] {
            assert!(block_on(restore(shelves(&store), &bad, None)).is_err(), "{bad:.40}");
        }
        let newer = file.replacen("\"schema\":1", "\"schema\":3", 1);
        assert_eq!(block_on(restore(shelves(&store), &newer, None)), Err(Reason::Newer { found: 3 }));
        assert_eq!(store.texts(), before);
        // Something unknown inside is told, and the rest comes in.
        let odd = file.replacen("strawline.bench", "strawline.shelves", 1);
        let new = Memory::default();
        let done = bring(&new, &odd);
        assert!(
            done.items.contains(&Item {
                what: What::Unknown("strawline.shelves".into()),
                outcome: Outcome::NotKnown
            })
        );
        assert_eq!(block_on(load_bench(&new)), Ok(Stored::Absent));
        assert_eq!(block_on(drafts(&new)).unwrap().good.len(), 1);
        assert_eq!(block_on(discarded(&new)).unwrap().good.len(), 1);
    }

    #[test]
    fn a_restore_cut_short_anywhere_is_finished_by_the_next() {
        let file = backup(&whole());
        let mut cut = 0;
        for n in 1..200 {
            let cells = Memory::default();
            let faulty = Faulty::new(cells.clone(), n, Fault::CrashBefore);
            let crashed = match Journal::open(&faulty) {
                Err(_) => true,
                Ok(journal) => match block_on(restore(shelves(&journal), &file, None)) {
                    Ok(done) => done.items.iter().any(|i| i.outcome == Outcome::NotKept),
                    Err(_) => true,
                },
            };
            cut += usize::from(crashed);
            let journal = Journal::open(cells).unwrap();
            let again = block_on(restore(shelves(&journal), &file, None)).unwrap();
            let fine = |o: &&Outcome| matches!(o, Outcome::Added | Outcome::Same | Outcome::Merged(_));
            assert!(outcomes(&again).iter().all(fine), "{n}: {again:?}");
            let kept = block_on(load_record(&journal, "a")).unwrap();
            assert_eq!(kept, Stored::Good(Kept { record: amended(1), damaged: None }));
        }
        assert!(cut > 20, "{cut}");
    }

    #[test]
    fn entries_of_the_log_are_added_once_and_never_altered() {
        use crate::log::{Ended, Entry, What as Says};
        let entry = |id: &str, why: &str| Entry {
            schema: 2,
            id: id.to_owned(),
            at: at(0),
            by: "MO".to_owned(),
            what: Says::Ended(Ended { of: "c".to_owned(), why: why.to_owned() }),
        };
        let (there, here) = (Memory::default(), Memory::default());
        for one in [entry("a", "used up"), entry("b", "broken"), entry("d", "lent")] {
            block_on(save_entry(&there, &one)).unwrap();
        }
        let file = backup(&there);
        block_on(save_entry(&here, &entry("b", "given away"))).unwrap();
        block_on(save_entry(&here, &entry("d", "lent"))).unwrap();
        let kept = block_on(super::super::log_entries(&here)).unwrap().good;
        let done = bring(&here, &file);
        let key = What::Unknown("strawline.log.b".to_owned());
        let told = [
            Item { what: key.clone(), outcome: Outcome::Differs },
            Item { what: What::Log, outcome: Outcome::Entered(1) },
        ];
        assert_eq!(done.items, told);
        let now = block_on(super::super::log_entries(&here)).unwrap().good;
        assert_eq!(now.len(), 3);
        assert!(kept.iter().all(|k| now.contains(k)));
        let again = bring(&here, &file);
        assert_eq!(again.items[1], Item { what: What::Log, outcome: Outcome::Same });
        // One of another key, and a newer one, are told and not taken.
        let spoilt = file
            .replace("strawline.log.a", "strawline.log.z")
            .replace("\\\"schema\\\":2", "\\\"schema\\\":9");
        let done = bring(&Memory::default(), &spoilt);
        assert!(done.items.iter().all(|i| matches!(i.outcome, Outcome::Unreadable(_))), "{:?}", done.items);
        // Written into twice, the first stands.
        assert_eq!(block_on(save_entry(&here, &entry("a", "else"))), Err(SaveError::Conflict));
        assert_eq!(block_on(save_entry(&here, &entry("a", "used up"))), Ok(()));
    }
}
