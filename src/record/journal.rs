//! Makes a store of a place that can change only one key at a time.
//!
//! Before several keys change, what they held is written under one key of its own; after the last change that key
//! goes. If it is still there at the next opening, the changes were cut short and are undone.

use super::archive::UNDO_ASIDE;
use super::store::{Batch, Expected, Store, StoreError};
use crate::arrange::sort_by;
use crate::stored;
use std::collections::BTreeMap;

/// Holds what to put back.
const UNDO: &str = "strawline.undo";

/// A place that keeps one text a key and changes one key at a time, wholly or not at all.
pub trait Cells {
    /// The text under a key, if there is one.
    fn get(&self, key: &str) -> Result<Option<String>, StoreError>;
    /// Puts a text under a key; none removes it.
    fn put(&self, key: &str, text: Option<&str>) -> Result<(), StoreError>;
    /// Every key, in any order; others may have put theirs there.
    fn keys(&self) -> Result<Vec<String>, StoreError>;
}

/// Whether a change has begun and not ended: cut short, or another page's that is still under way.
pub fn has_begun(cells: &impl Cells) -> bool {
    matches!(cells.get(UNDO), Ok(Some(_)))
}

/// Whether everything expected is found.
pub(super) fn holds(cells: &impl Cells, expected: &Expected<'_>) -> Result<bool, StoreError> {
    for (key, text) in expected {
        if cells.get(key)?.as_deref() != *text {
            return Ok(false);
        }
    }
    Ok(true)
}

/// A store over such a place.
#[derive(Debug, Clone)]
pub struct Journal<C>(C);

impl<C: Cells> Journal<C> {
    /// Opens it and undoes changes that were cut short. Errors: the place cannot be reached.
    pub fn open(cells: C) -> Result<Self, StoreError> {
        let journal = Self(cells);
        journal.undo()?;
        Ok(journal)
    }

    /// Puts everything back, then forgets what to put back; harmless when repeated.
    fn undo(&self) -> Result<(), StoreError> {
        let Some(text) = self.0.get(UNDO)? else { return Ok(()) };
        match stored::parse::<BTreeMap<String, Option<String>>>(&text) {
            Ok(before) => {
                // Make room first: what stood before fitted beside this note.
                before.keys().try_for_each(|key| self.0.put(key, None))?;
                before.iter().try_for_each(|(key, text)| self.0.put(key, text.as_deref()))?;
            }
            // Nothing it says can be followed; keep it for a person to look at.
            Err(_) => self.0.put(&self.free_key()?, Some(&text))?,
        }
        self.0.put(UNDO, None)
    }

    fn free_key(&self) -> Result<String, StoreError> {
        let taken = self.0.keys()?;
        let mut names = (1..=u32::MAX).map(|n| format!("{UNDO_ASIDE}{n}"));
        names.find(|name| !taken.contains(name)).ok_or(StoreError::Full)
    }
}

impl<C: Cells> Store for Journal<C> {
    async fn read_each(&self, keys: &[&str]) -> Result<Vec<Option<String>>, StoreError> {
        keys.iter().map(|key| self.0.get(key)).collect()
    }

    async fn keys(&self, prefix: &str) -> Result<Vec<String>, StoreError> {
        let mut keys = self.0.keys()?;
        keys.retain(|key| key.starts_with(prefix) && key != UNDO);
        sort_by(&mut keys, String::cmp);
        Ok(keys)
    }

    async fn read_all(&self, prefix: &str) -> Result<Vec<(String, String)>, StoreError> {
        let mut found = Vec::new();
        for key in self.keys(prefix).await? {
            // Another tab may have removed it meanwhile.
            if let Some(text) = self.0.get(&key)? {
                found.push((key, text));
            }
        }
        Ok(found)
    }

    async fn write_all(&self, batch: Batch) -> Result<(), StoreError> {
        // An undoing that failed since the page was opened comes first, or it would later undo this.
        self.undo()?;
        let put = |(key, text): &(String, Option<String>)| self.0.put(key, text.as_deref());
        if let [only] = batch.as_slice() {
            return put(only);
        }
        let mut before = BTreeMap::new();
        for (key, _) in &batch {
            before.insert(key, self.0.get(key)?);
        }
        let note = stored::write(&before).map_err(StoreError::Failed)?;
        self.0.put(UNDO, Some(&note))?;
        match batch.iter().try_for_each(put).and_then(|()| self.0.put(UNDO, None)) {
            Ok(()) => Ok(()),
            // If undoing fails too, the note stays and the next write or opening tries again.
            Err(error) => self.undo().and(Err(error)),
        }
    }

    /// A place like this one answers at once, so no other task of the page comes in between.
    async fn write_all_where(&self, expected: &Expected<'_>, batch: Batch) -> Result<bool, StoreError> {
        // What an undoing puts back may be what is expected.
        self.undo()?;
        if !holds(&self.0, expected)? {
            return Ok(false);
        }
        self.write_all(batch).await.map(|()| true)
    }
}

#[cfg(test)]
mod tests {
    use super::super::faulty::{Fault, Faulty};
    use super::super::store::Memory;
    use super::super::trial::block_on;
    use super::*;
    use proptest::prelude::*;

    /// Up to three keys, so that changes meet.
    fn batches() -> impl Strategy<Value = Vec<Batch>> {
        let change = ("[abc]", proptest::option::of("[xyz]{0,3}"));
        proptest::collection::vec(proptest::collection::vec(change, 1..5), 1..5)
    }

    /// What a whole batch makes of a state.
    fn after(state: &BTreeMap<String, String>, batch: &Batch) -> BTreeMap<String, String> {
        let mut state = state.clone();
        for (key, text) in batch {
            match text {
                Some(text) => state.insert(key.clone(), text.clone()),
                None => state.remove(key),
            };
        }
        state
    }

    /// What the next opening finds, also after openings that are themselves cut short at any operation.
    fn reopened(cells: &Memory) -> BTreeMap<String, String> {
        let open = |cells: &Memory| {
            let journal = Journal::open(cells.clone()).unwrap();
            assert!(journal.0.get(UNDO).unwrap().is_none());
            cells.texts()
        };
        let plain = open(&copy(cells));
        for fault in [Fault::CrashBefore, Fault::CrashAfter] {
            for at in 1.. {
                let cells = copy(cells);
                let faulty = Faulty::new(cells.clone(), at, fault.clone());
                let cut = Journal::open(&faulty).is_err();
                assert_eq!(open(&cells), plain);
                if !cut {
                    break;
                }
            }
        }
        plain
    }

    fn copy(cells: &Memory) -> Memory {
        let copy = Memory::default();
        for (key, text) in cells.texts() {
            copy.put(&key, Some(&text)).unwrap();
        }
        copy
    }

    /// Runs a history on a place that fails at one operation, and checks after every batch that its state is that
    /// of the batch before or of this one; returns whether the fault was met.
    fn run(history: &[Batch], at: u32, fault: &Fault) -> bool {
        let cells = Memory::default();
        let faulty = Faulty::new(cells.clone(), at, fault.clone());
        let mut expected = BTreeMap::new();
        let Ok(journal) = Journal::open(&faulty) else { return true };
        for batch in history {
            let done = block_on(journal.write_all(batch.clone()));
            let new = after(&expected, batch);
            if done.is_ok() {
                assert_eq!(cells.texts(), new, "a batch that was said to be kept");
                expected = new;
                continue;
            }
            let state = reopened(&cells);
            assert!(state == expected || state == new, "{state:?} is neither {expected:?} nor {new:?}");
            if matches!(fault, Fault::CrashBefore | Fault::CrashAfter) {
                return true;
            }
            // The page lives on, perhaps with an undoing still to do.
            expected = state;
        }
        faulty.operations() >= at
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(128))]
        #[test]
        fn a_crash_at_any_operation_leaves_old_or_new(history in batches()) {
            let refuse = |times| Fault::Refuse(StoreError::Full, times);
            for fault in [Fault::CrashBefore, Fault::CrashAfter, refuse(1), refuse(2), refuse(7)] {
                let met = (1..).take_while(|&at| run(&history, at, &fault)).count();
                prop_assert!(met > history.len());
            }
        }
    }

    #[test]
    fn nothing_is_written_where_another_text_stands() {
        let cells = Memory::default();
        let journal = Journal::open(cells.clone()).unwrap();
        let batch = |text: &str| vec![("a".to_owned(), Some(text.to_owned())), ("b".to_owned(), None)];
        let write = |store: &Journal<Memory>, seen: Option<&str>, text: &str| {
            block_on(store.write_all_if("a", seen, batch(text)))
        };
        assert_eq!(write(&journal, Some("0"), "1"), Ok(false), "nothing stands there");
        assert!(cells.texts().is_empty());
        assert_eq!(write(&journal, None, "1"), Ok(true));
        cells.put("b", Some("kept")).unwrap();
        assert_eq!(write(&journal, None, "2"), Ok(false));
        assert_eq!(write(&journal, Some("0"), "2"), Ok(false));
        assert_eq!(cells.get("a"), Ok(Some("1".to_owned())));
        assert_eq!(cells.get("b"), Ok(Some("kept".to_owned())));
        assert_eq!(write(&journal, Some("1"), "2"), Ok(true));
        assert_eq!(cells.texts(), BTreeMap::from([("a".to_owned(), "2".to_owned())]));
        for fault in [Fault::CrashBefore, Fault::Refuse(StoreError::Full, 1)] {
            let faulty = Faulty::new(cells.clone(), 1, fault);
            assert!(block_on(faulty.write_all_if("a", Some("2"), batch("3"))).is_err());
            assert_eq!(cells.get("a"), Ok(Some("2".to_owned())));
        }
    }

    #[test]
    fn an_unreadable_note_is_set_aside() {
        let cells = Memory::default();
        for (n, note) in ["{\"a\":", "\u{0}"].into_iter().enumerate() {
            cells.put(UNDO, Some(note)).unwrap();
            let journal = Journal::open(cells.clone()).unwrap();
            let kept = block_on(journal.read(&format!("{UNDO_ASIDE}{}", n + 1))).unwrap();
            assert_eq!(kept.as_deref(), Some(note));
        }
        assert_eq!(cells.texts().len(), 2);
    }

    #[test]
    fn a_note_never_shows_among_the_texts() {
        let cells = Memory::default();
        let faulty = Faulty::new(cells.clone(), 6, Fault::CrashBefore);
        let journal = Journal::open(&faulty).unwrap();
        let two = vec![("strawline.a".to_owned(), Some("1".to_owned())), ("strawline.b".to_owned(), None)];
        assert!(block_on(journal.write_all(two)).is_err());
        assert!(has_begun(&cells));
        let seen = block_on(Journal(cells).read_all("strawline.")).unwrap();
        assert!(seen.iter().all(|(key, _)| key != UNDO));
    }
}
