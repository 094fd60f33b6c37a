//! A backup closed under the clinic's lock. The file carries the lock, which holds nothing secret, so that the passphrase
//! or the recovery key opens it on any device; each text is closed with its key, bound to its place in this file, and
//! the last one counts them: what was changed, moved or cut off is refused before anything is restored.

use super::Layout;
use crate::quantity::time::Instant;
use crate::record::Reason;
use crate::record::closed::store::Source;
use crate::record::closed::{Key, Lock};
use crate::record::store::StoreError;
use crate::stored;
use serde_json::value::RawValue;

/// What each text is bound to, with moment and number.
const PLACE: &str = "strawline.backup";

/// What closes a file.
#[derive(Debug, Clone, Copy)]
pub struct Closing<'a> {
    /// The lock.
    pub lock: &'a Lock,
    /// The key that it holds.
    pub key: &'a Key,
    /// Gives chance.
    pub chance: Source,
}

impl Closing<'_> {
    /// The text at place `n` as it stands in the file. Errors: no chance.
    pub(super) fn close(&self, at: Instant, n: usize, text: &str) -> Result<String, StoreError> {
        self.put(&format!("{PLACE}.{}.{n}", at.0), text)
    }

    /// What stands after `n` texts. Errors: no chance.
    pub(super) fn end(&self, at: Instant, n: usize) -> Result<String, StoreError> {
        self.put(&format!("{PLACE}.{}.end", at.0), &n.to_string())
    }

    fn put(&self, place: &str, text: &str) -> Result<String, StoreError> {
        let closed = self.key.close(place, text, &mut { self.chance });
        // Never in clear because it could not be closed.
        closed.map_err(|error| StoreError::Failed(format!("{error:?}")))
    }
}

/// The lock of a file; `None` where it is in clear. Errors: no backup, of a newer version, or its lock is damaged.
pub fn lock(text: &str) -> Result<Option<Lock>, Reason> {
    super::layout(text)?.lock.map(read_lock).transpose()
}

pub(super) fn read_lock(raw: &RawValue) -> Result<Lock, Reason> {
    Lock::from_json(raw.get()).map_err(|_| Reason::Broken("lock".to_owned()))
}

/// Whether a file is closed with this key.
pub fn is_under(text: &str, key: &Key) -> bool {
    super::layout(text).is_ok_and(|file| file.lock.is_some() && end(&file, key).is_ok())
}

/// The text at place `n`. Errors: under another key, changed, or of another place.
pub(super) fn open(key: &Key, at: Instant, n: usize, raw: &RawValue) -> Result<String, Reason> {
    get(key, &format!("{PLACE}.{}.{n}", at.0), raw).ok_or_else(|| Reason::Broken(format!("texts[{n}]")))
}

/// How many texts stand before the end. Errors: there is no end, or it does not say so.
pub(super) fn end(file: &Layout<'_>, key: &Key) -> Result<usize, Reason> {
    let counted = file.texts.split_last().and_then(|(end, before)| {
        let told = get(key, &format!("{PLACE}.{}.end", file.at.0), end)?;
        (told == before.len().to_string()).then_some(before.len())
    });
    counted.ok_or_else(|| Reason::Broken(format!("texts[{}]", file.texts.len().saturating_sub(1))))
}

fn get(key: &Key, place: &str, raw: &RawValue) -> Option<String> {
    let closed: String = stored::parse(raw.get()).ok()?;
    key.open(place, &closed).ok()
}

#[cfg(test)]
mod tests {
    use super::super::{Outcome, Shelves, restore, write};
    use super::*;
    use crate::bench::Bench;
    use crate::record::Record;
    use crate::record::archive::{save_bench, save_draft, save_record};
    use crate::record::closed::{ClosedError, Cost, RecoveryKey, With};
    use crate::record::store::{Memory, Store};
    use crate::record::trial::{at, block_on, case};
    use std::sync::atomic::{AtomicU64, Ordering};

    const QUICK: Cost = Cost { memory: 64, passes: 1 };
    const PHRASE: &str = "straw and garnet";

    fn chance(bytes: &mut [u8]) -> Result<(), ClosedError> {
        static COUNT: AtomicU64 = AtomicU64::new(0);
        for byte in bytes {
            *byte =
                COUNT.fetch_add(1, Ordering::Relaxed).wrapping_mul(0x9e37_79b9_7f4a_7c15).to_be_bytes()[0];
        }
        Ok(())
    }

    fn shelves(store: &Memory) -> Shelves<'_, Memory, Memory> {
        Shelves { shelf: store, drafts: store, records: store }
    }

    fn whole() -> Memory {
        let store = Memory::default();
        let mut bench = Bench::default();
        bench.clinic.name = "Harbour Lane Joint Clinic".into();
        block_on(async {
            let record = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
            save_record(&store, &record).await.unwrap();
            save_draft(&store, &case("b"), None).await.unwrap();
            save_bench(&store, &bench, &Bench::default()).await.unwrap();
        });
        store
    }

    fn file(store: &Memory) -> (String, Lock, Key, RecoveryKey) {
        let (lock, key, recovery) = Lock::new(PHRASE, QUICK, &mut chance).unwrap();
        let mut file = String::new();
        let closing = Closing { lock: &lock, key: &key, chance };
        block_on(write(shelves(store), at(9), Some(closing), |piece| file += &piece)).unwrap();
        (file, lock, key, recovery)
    }

    #[test]
    fn a_closed_backup_comes_back_on_another_device_by_passphrase_or_recovery_key() {
        let store = whole();
        let (file, made, _, recovery) = file(&store);
        let mut clear = String::new();
        block_on(write(shelves(&store), at(9), None, |piece| clear += &piece)).unwrap();
        // Each has a sign that no closed text is written with, so that none stands in one by chance.
        for word in ["HL-0417", "Harbour Lane", "strawline.record", "strawline.draft", "blood_count"] {
            assert!(clear.contains(word) && !file.contains(word), "{word}");
        }
        let lock = lock(&file).unwrap().unwrap();
        assert_eq!(lock, made);
        for with in [With::Passphrase(PHRASE), With::Either(&recovery.to_string())] {
            let key = lock.open(with).unwrap();
            assert!(is_under(&file, &key));
            let new = Memory::default();
            let done = block_on(restore(shelves(&new), &file, Some(&key))).unwrap();
            assert_eq!(done.items.len(), 3);
            assert!(done.items.iter().all(|item| item.outcome == Outcome::Added), "{done:?}");
            let (texts, now) = (store.texts(), new.texts());
            assert!(texts.iter().all(|(key, text)| key.contains(".line.") || now[key] == *text));
        }
        assert_eq!(lock.open(With::Either("straw and garnets")).err(), Some(ClosedError::Wrong));
    }

    #[test]
    fn under_another_key_or_none_nothing_is_restored() {
        let (file, ..) = file(&whole());
        let (_, other, _) = Lock::new(PHRASE, QUICK, &mut chance).unwrap();
        assert!(!is_under(&file, &other));
        for key in [Some(&other), None] {
            let new = Memory::default();
            let refused = block_on(restore(shelves(&new), &file, key));
            assert!(matches!(refused, Err(Reason::Broken(_))), "{refused:?}");
            assert!(new.texts().is_empty());
        }
        // A file in clear is what it was.
        let mut plain = String::new();
        block_on(write(shelves(&whole()), at(9), None, |piece| plain += &piece)).unwrap();
        assert!(plain.starts_with("{\"schema\":1,") && lock(&plain) == Ok(None) && !is_under(&plain, &other));
    }

    #[test]
    fn what_was_changed_moved_or_cut_off_is_refused_before_anything_is_restored() {
        let (file, _, key, _) = file(&whole());
        let lines: Vec<&str> = file.lines().collect();
        let refused = |text: &str, what: &str| {
            let new = Memory::default();
            let done = block_on(restore(shelves(&new), text, Some(&key)));
            assert!(done.is_err(), "{what}: {done:?}");
            assert!(new.texts().is_empty(), "{what}");
        };
        let without = |n: usize| {
            let mut all = lines.clone();
            all.remove(n);
            all.join("\n")
        };
        // First the head, then one text a line, the end that counts them, and the bracket.
        assert_eq!(lines.len(), 6, "{lines:?}");
        for n in 1..4 {
            refused(&without(n), "cut out");
        }
        refused(&without(4).replacen(",\n]}", "\n]}", 1), "the end cut off");
        let mut swapped = lines.clone();
        swapped.swap(2, 3);
        refused(&swapped.join("\n"), "put in another's place");
        refused(
            &file.replace(&format!("\"at\":{}", at(9).0), &format!("\"at\":{}", at(8).0)),
            "another moment",
        );
        let mut tried = 0;
        for (n, byte) in file.bytes().enumerate().filter(|(n, _)| n % 7 == 0 && *n > lines[0].len()) {
            let mut bytes = file.clone().into_bytes();
            bytes[n] = if byte == b'A' { b'B' } else { b'A' };
            // Of the last character of base64 not each bit counts.
            if String::from_utf8(bytes.clone()).is_ok_and(|text| text != file) {
                tried += 1;
                refused(&String::from_utf8(bytes).unwrap(), "a byte changed");
            }
        }
        assert!(tried > 500, "{tried}");
    }

    #[test]
    fn a_store_that_refuses_is_told_of_a_closed_file_as_of_any() {
        let (file, _, key, _) = file(&whole());
        let new = Memory::default();
        block_on(new.write("strawline.record.a", "{\"cut".into())).unwrap();
        let done = block_on(restore(shelves(&new), &file, Some(&key))).unwrap();
        assert_eq!(done.items.len(), 3);
        assert!(new.texts().contains_key("strawline.aside.record.a.1"));
    }
}
