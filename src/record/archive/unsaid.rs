//! The text of an entry of the log that was taken out, removed for good with what was put aside of it.

use super::purge::speaks_of;
use super::{ASIDE, LOG, PREFIX};
use crate::log::Entry;
use crate::record::store::{Batch, Store, StoreError};

/// What became of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Unsaid {
    /// It is gone.
    Removed {
        /// How many texts were removed or emptied.
        texts: usize,
        /// Texts put aside that speak of it among other things, and stay.
        left: usize,
    },
    /// Something of it was written meanwhile, or cannot be read; nothing was removed.
    Changed,
}

/// Puts each entry without its text in place of the one with it, and removes what was put aside under its key, in one
/// change. Errors: the store's; then everything stays.
pub async fn unsay(store: &impl Store, all: &[(Entry, Entry)]) -> Result<Unsaid, StoreError> {
    let mut stood = Vec::new();
    let mut batch: Batch = Vec::new();
    for (entry, blank) in all {
        let key = format!("{LOG}{}", entry.id);
        let Some(text) = store.read(&key).await? else { return Ok(Unsaid::Changed) };
        if Entry::from_json(&text).as_ref() != Ok(entry) {
            return Ok(Unsaid::Changed);
        }
        let Some(new) = blank.to_json() else { return Ok(Unsaid::Changed) };
        batch.push((key.clone(), Some(new)));
        stood.push((key, text));
    }
    let own = |key: &str| {
        stood
            .iter()
            .any(|(of, _)| key.starts_with(&format!("{ASIDE}{}.", of.strip_prefix(PREFIX).unwrap_or(of))))
    };
    let mut left = 0;
    for (key, text) in store.read_all(ASIDE).await? {
        if own(&key) {
            batch.push((key, None));
        } else if all.iter().any(|(entry, _)| speaks_of(&key, &entry.id) || speaks_of(&text, &entry.id)) {
            left += 1;
        }
    }
    let texts = batch.len();
    let expected: Vec<(&str, Option<&str>)> =
        stood.iter().map(|(key, text)| (key.as_str(), Some(text.as_str()))).collect();
    let done = store.write_all_where(&expected, batch).await?;
    Ok(if done { Unsaid::Removed { texts, left } } else { Unsaid::Changed })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::log::{Care, CareKind, Correction, Log, Refused, What};
    use crate::quantity::time::{Date, Instant};
    use crate::record::archive::{log_entries, save_entry};
    use crate::record::store::Memory;
    use crate::record::trial::{at, block_on};

    /// A spill whose text names somebody, corrected once and taken out, and another entry.
    fn log() -> Log {
        let mut log = Log::default();
        let today = Date::new(2026, 3, 12).unwrap();
        let spill =
            |done: &str| What::Care(Care { kind: CareKind::Spill, of: None, when: at(0), done: done.into() });
        let correct = |why: &str, now: Option<What>| {
            What::Correction(Correction { of: "s".into(), why: why.into(), now: now.map(Box::new) })
        };
        for (n, (id, what)) in (0..).zip([
            ("s", spill("blood of HL-0417")),
            ("o", spill("bench wiped")),
            ("c", correct("HL-0417 again", Some(spill("of HL-0417, wiped")))),
            ("t", correct("names HL-0417", None)),
        ]) {
            log.take_up(vec![log.draw_up(id.into(), "MO", at(n), today, what).unwrap()]);
        }
        log
    }

    async fn stored(log: &Log) -> Memory {
        let store = Memory::default();
        for entry in log.entries() {
            save_entry(&store, entry).await.unwrap();
        }
        store.write(&format!("{ASIDE}log.s.1"), "of HL-0417".into()).await.unwrap();
        store.write(&format!("{ASIDE}log.so.1"), "another".into()).await.unwrap();
        store
    }

    #[test]
    fn no_text_of_it_is_left_and_the_rest_stays() {
        block_on(async {
            let log = log();
            let store = stored(&log).await;
            let all = log.without_text("s", " MO ", at(9), " a name ").unwrap();
            let done = unsay(&store, &all).await.unwrap();
            assert_eq!(done, Unsaid::Removed { texts: 4, left: 0 });
            let texts = store.texts();
            assert!(!texts.values().any(|text| text.contains("HL-0417")), "{texts:?}");
            assert_eq!(texts.len(), log.entries().len() + 1, "what was put aside of another entry stays");
            // Read anew, and taken up by a tab that still knows the text.
            let read = log_entries(&store).await.unwrap();
            assert!(read.unreadable.is_empty());
            let mut other = log.clone();
            other.take_up(read.good.clone());
            assert_eq!(other, Log::new(read.good));
            let held = other.held();
            assert_eq!((held.len(), held[0].now, held[1].now.is_some()), (2, None, true));
            assert!(matches!(&held[0].entry.what, What::Removed(r) if r.by == "MO" && r.why == "a name"));
            assert_eq!((held[0].entry.by.as_str(), held[0].entry.at), ("MO", log.entries()[0].at));
            // An older copy does not bring it back.
            other.take_up(log.entries().to_vec());
            assert!(!format!("{other:?}").contains("HL-0417"));
            assert!(!other.may_lose_text("s"), "nothing is left to remove");
            assert!(save_entry(&store, &log.entries()[0]).await.is_err());
            // A correction that another device made meanwhile arrives later: it does not bring the entry back, and what it
            // says can be removed too.
            let mut there = Log::new(log.entries()[..3].to_vec());
            let now = What::Care(Care {
                kind: CareKind::Spill,
                of: None,
                when: at(0),
                done: "of HL-0417, late".into(),
            });
            let late = What::Correction(Correction {
                of: "s".into(),
                why: "HL-0417, late".into(),
                now: Some(Box::new(now)),
            });
            let today = Date::new(2026, 3, 12).unwrap();
            let late = there.draw_up("z".into(), "AK", at(60), today, late).unwrap();
            there.take_up(vec![late.clone()]);
            save_entry(&store, &late).await.unwrap();
            other.take_up(vec![late]);
            assert_eq!((other.held()[0].now, other.may_lose_text("s")), (None, true));
            let all = other.without_text("s", "AK", at(90), "a name").unwrap();
            assert_eq!(all.len(), 1, "what was removed before stays as it is");
            assert!(matches!(unsay(&store, &all).await.unwrap(), Unsaid::Removed { texts: 1, .. }));
            assert!(!store.texts().values().any(|text| text.contains("HL-0417")));
        });
    }

    #[test]
    fn only_what_was_taken_out_and_with_name_and_reason() {
        let log = log();
        let asked = |id: &str, by: &str, why: &str| log.without_text(id, by, Instant(0), why).err();
        assert_eq!(asked("o", "MO", "why"), Some(Refused::NotThere), "it still holds");
        assert_eq!(asked("c", "MO", "why"), Some(Refused::NotThere), "a correction");
        assert_eq!(asked("s", " ", "why"), Some(Refused::NoName));
        assert_eq!(asked("s", "MO", " "), Some(Refused::NoReason));
        assert_eq!(asked("s", "MO", "why"), None);
    }

    #[test]
    fn what_was_written_meanwhile_stays() {
        block_on(async {
            let log = log();
            let store = stored(&log).await;
            let all = log.without_text("s", "MO", at(9), "a name").unwrap();
            store.write(&format!("{LOG}c"), "{\"schema\":99}".into()).await.unwrap();
            let before = store.texts();
            assert_eq!(unsay(&store, &all).await.unwrap(), Unsaid::Changed);
            assert_eq!(store.texts(), before);
        });
    }
}
