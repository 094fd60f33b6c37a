//! A restore adds what is not here and says of each thing what became of it. It never replaces or removes what is here.

use super::{Shelves, layout, sealed, write};
use crate::bench::Bench;
use crate::draft::{CheckSign, Draft};
use crate::log;
use crate::quality::decided::{Begun, ChosenBaseline, Decisions, Exclusion, LetIn, OwnPrior, TakenBack};
use crate::quantity::time::Instant;
use crate::record::archive::{
    ASIDE, BENCH, DECISIONS, DISCARDED, DRAFT, Kept, LOG, PREFIX, SaveError, Stored, free_aside, keys,
    load_bench, load_decisions, load_record, read_bench, read_draft, read_record, save_bench, save_decisions,
    save_entry, save_record,
};
use crate::record::closed::Key;
use crate::record::line::Line;
use crate::record::store::{Memory, Store, StoreError};
use crate::record::{Reason, Record};
use std::collections::BTreeSet;

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
    /// Ids of the open cases that were added.
    pub brought: Vec<String>,
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
            Some((kind @ ("draft" | "discarded"), id)) => {
                let item = case(&into, kind == "draft", id, &key, &text, level.contains(id)).await;
                if kind == "draft" && item.outcome == Outcome::Added {
                    done.brought.push(id.to_owned());
                }
                item
            }
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
fn read_case(id: &str, text: &str) -> Result<Draft, Reason> {
    match read_draft(text)? {
        draft if draft.id == id => Ok(draft),
        draft => Err(Reason::Misplaced { id: draft.id }),
    }
}

/// An open or a discarded case of the file; nothing is put where the same case stands here as the other of the two.
async fn case<S, T: Store>(
    into: &Shelves<'_, S, T>,
    open: bool,
    id: &str,
    key: &str,
    text: &str,
    level: bool,
) -> Item {
    let draft = match read_case(id, text) {
        Ok(draft) => draft,
        Err(reason) => {
            return Item { what: What::Unknown(key.to_owned()), outcome: Outcome::Unreadable(reason) };
        }
    };
    let (what, other, there) = match open {
        // Open, it would take the place of what was discarded when it is discarded again.
        true => (What::OpenCase(draft.sign), DISCARDED, Outcome::Discarded),
        // Brought back here since.
        false => (What::DiscardedCase(draft.sign), DRAFT, Outcome::Older),
    };
    let outcome = match into.drafts.read(&format!("{other}{id}")).await {
        Ok(Some(_)) => there,
        Ok(None) => or_refused(put_case(into, &draft, key, text, level).await),
        Err(_) => Outcome::NotKept,
    };
    Item { what, outcome }
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
        let here = match load_bench(store).await? {
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
