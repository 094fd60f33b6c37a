//! Records past the clinic's time of keeping: proposed, and removed only when a person says so, then wholly.

use super::{ASIDE, CURRENT, DECISIONS, DISCARDED, DRAFT, PREFIX, UNDO, keys, read_record};
use crate::quality::decided::Decisions;
use crate::quantity::time::{Date, Instant, Offset};
use crate::record::line::Line;
use crate::record::store::{Batch, Store, StoreError};
use crate::stored;
use std::sync::Arc;

/// Records whose last signature lies so many years back or more, to the day, the oldest first; `today` is local, days of
/// signatures are reckoned with `offset`.
pub fn past(lines: &[Arc<Line>], years: u8, today: Date, offset: Offset) -> Vec<Arc<Line>> {
    let day = |date: Date| (i64::from(date.year()), date.month(), date.day());
    let is_past = |line: &&Arc<Line>| {
        let signed = line.last_signed().local(offset).map(|(date, _)| day(date));
        signed.is_some_and(|(year, month, of)| (year + i64::from(years), month, of) <= day(today))
    };
    let mut found: Vec<Arc<Line>> = lines.iter().filter(is_past).cloned().collect();
    crate::arrange::sort_by_key(&mut found, |line| line.last_signed());
    found
}

/// How many of them no backup of this device holds as they now stand.
pub fn not_in_a_backup(lines: &[Arc<Line>], backed_up: Option<Instant>) -> usize {
    lines.iter().filter(|line| backed_up.is_none_or(|at| line.last_signed() > at)).count()
}

/// What became of one record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Purged {
    /// It is gone, with everything kept under its key.
    Removed {
        /// How many texts were removed.
        texts: usize,
        /// Decisions about its count that went with it.
        decisions: usize,
    },
    /// It is open to be amended, and stays.
    Open,
    /// It was amended meanwhile, or something of it written, and stays.
    Changed,
    /// Decisions about counts cannot be read, so nothing was removed.
    Decisions,
}

/// Removes a record as its line tells it: its states, its line, discarded cases with its key, what was put aside of it, and
/// decisions about its count. What is beside it goes first: cut short, the record is still listed and can be removed
/// again. Errors: the store's; the record stays.
pub async fn purge<T: Store>(records: &T, drafts: &T, line: &Line) -> Result<Purged, StoreError> {
    let id = line.id.as_str();
    let [key, before, own_line] = keys(id);
    let found = records.read(&key).await?;
    let later = |text: &String| read_record(id, text).is_ok_and(|r| r.latest_entry().at > line.last_signed());
    if found.as_ref().is_some_and(later) {
        return Ok(Purged::Changed);
    }
    let draft = format!("{DRAFT}{id}");
    if drafts.read(&draft).await?.is_some() {
        return Ok(Purged::Open);
    }
    // Beside the records first.
    let mut batch: Batch = of_case(drafts, id).await?.into_iter().map(|key| (key, None)).collect();
    let discarded = format!("{DISCARDED}{id}");
    if drafts.read(&discarded).await?.is_some() {
        batch.push((discarded, None));
    }
    if drafts.read(CURRENT).await?.as_deref() == Some(id) {
        batch.push((CURRENT.to_owned(), None));
    }
    let mut texts = batch.len();
    let decided = drafts.read(DECISIONS).await?;
    let mut decisions = 0;
    if let Some(text) = decided.as_ref().filter(|text| text.contains(id)) {
        let Ok(mut all) = Decisions::from_json(text) else { return Ok(Purged::Decisions) };
        decisions = all.forget(id);
        let Ok(text) = stored::write(&all) else { return Ok(Purged::Decisions) };
        batch.push((DECISIONS.to_owned(), Some(text)));
    }
    if !batch.is_empty() {
        let expected = [(draft.as_str(), None), (DECISIONS, decided.as_deref())];
        if !drafts.write_all_where(&expected, batch).await? {
            return Ok(Purged::Changed);
        }
    }
    let mut all = of_case(records, id).await?;
    for key in [&key, &before, &own_line] {
        if records.read(key).await?.is_some() {
            all.push(key.clone());
        }
    }
    texts += all.len();
    let batch = all.into_iter().map(|key| (key, None)).collect();
    Ok(match records.write_all_if(&key, found.as_deref(), batch).await? {
        true => Purged::Removed { texts, decisions },
        false => Purged::Changed,
    })
}

/// Keys of what was put aside of a case, and of notes that hold something of it.
async fn of_case(store: &impl Store, id: &str) -> Result<Vec<String>, StoreError> {
    let of = [DRAFT, DISCARDED, super::RECORD, super::BEFORE, super::LINE];
    let names: Vec<String> = of
        .iter()
        .map(|prefix| format!("{ASIDE}{}{id}.", prefix.strip_prefix(PREFIX).unwrap_or(prefix)))
        .collect();
    let mut found = store.keys(ASIDE).await?;
    found.retain(|key| names.iter().any(|name| key.starts_with(name.as_str())));
    let noted = store.read_all(UNDO).await?.into_iter().filter(|(_, text)| text.contains(id));
    found.extend(noted.map(|(key, _)| key));
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::super::{discard_draft, save_decisions, save_draft, save_record};
    use super::*;
    use crate::draft::Field;
    use crate::record::Record;
    use crate::record::faulty::{Fault, Faulty};
    use crate::record::journal::Journal;
    use crate::record::store::Memory;
    use crate::record::trial::{at, block_on, case};

    fn record(id: &str, patient: &str) -> Record {
        let mut draft = case(id);
        draft.write(Field::PatientReference, patient);
        let mut record = Record::sign(draft.clone(), "MO", at(0), vec![]).unwrap();
        draft.write(Field::Notes, "more");
        record.amend(draft, "MO", at(1), vec![], "forgotten").unwrap();
        record
    }

    /// Two patients, with something under every key that a case can have.
    fn full() -> (Memory, Memory, Line) {
        let (records, drafts) = (Memory::default(), Memory::default());
        let mut decided = Decisions::default();
        decided.exclude("a", "MO", at(2), "HL-0417 moved").unwrap();
        decided.let_in("a", "MO", at(2)).unwrap();
        decided.exclude("b", "MO", at(2), "clots").unwrap();
        let mut thrown = case("a");
        thrown.write(Field::PatientReference, "HL-0417");
        let aside = "{\"patient\":\"HL-0417\",\"id\":\"a\"";
        let line = block_on(async {
            let line = save_record(&records, &record("a", "HL-0417")).await.unwrap();
            save_record(&records, &record("b", "HL-0999")).await.unwrap();
            discard_draft(&drafts, &thrown, None).await.unwrap();
            save_decisions(&drafts, &decided, &Decisions::default()).await.unwrap();
            for key in ["strawline.aside.record.a.1", "strawline.aside.before.a.1"] {
                records.write(key, aside.into()).await.unwrap();
            }
            for key in ["strawline.aside.draft.a.2", "strawline.aside.discarded.a.1", "strawline.undo.1"] {
                drafts.write(key, aside.into()).await.unwrap();
            }
            drafts.write("strawline.aside.draft.ab.1", "another case".into()).await.unwrap();
            drafts.write(CURRENT, "a".into()).await.unwrap();
            line
        });
        (records, drafts, line)
    }

    fn holds(store: &Memory, what: &str) -> Vec<String> {
        let all = store.texts().into_iter().filter(|(key, text)| key.contains(what) || text.contains(what));
        all.map(|(key, _)| key).collect()
    }

    #[test]
    fn nothing_of_a_purged_record_is_left_and_nothing_else_is_touched() {
        let (records, drafts, line) = full();
        let before = [&records, &drafts].map(|s| s.texts());
        assert!(holds(&records, "HL-0417").len() == 5 && holds(&drafts, "HL-0417").len() == 5);
        let done = block_on(purge(&records, &drafts, &line)).unwrap();
        assert_eq!(done, Purged::Removed { texts: 10, decisions: 2 });
        for (store, before) in [(&records, &before[0]), (&drafts, &before[1])] {
            assert_eq!(holds(store, "HL-0417"), [""; 0], "the reference is gone");
            let ends = |key: &String| key.ends_with(".a") || key.contains(".a.");
            assert!(!store.texts().keys().any(ends), "{:?}", store.texts().keys());
            for (key, text) in store.texts().into_iter().filter(|(key, _)| key != DECISIONS) {
                assert_eq!(before[&key], text, "{key}");
            }
        }
        let decided = Decisions::from_json(&drafts.texts()[DECISIONS]).unwrap();
        assert!(decided.exclusion("b").is_some() && decided.exclusion("a").is_none());
        assert!(!drafts.texts()[DECISIONS].contains("\"a\""));
        assert_eq!(holds(&records, "HL-0999").len(), 3);
        // A second time there is nothing.
        let again = block_on(purge(&records, &drafts, &line)).unwrap();
        assert_eq!(again, Purged::Removed { texts: 0, decisions: 0 });
    }

    #[test]
    fn what_is_open_or_was_amended_since_stays_whole() {
        let (records, drafts, line) = full();
        block_on(save_draft(&drafts, &case("a"), None)).unwrap();
        let before = [records.texts(), drafts.texts()];
        assert_eq!(block_on(purge(&records, &drafts, &line)), Ok(Purged::Open));
        assert_eq!([records.texts(), drafts.texts()], before);
        let (records, drafts, line) = full();
        let mut later = record("a", "HL-0417");
        let mut draft = later.latest().clone();
        draft.write(Field::Notes, "and more");
        later.amend(draft, "JT", at(5), vec![], "again").unwrap();
        block_on(save_record(&records, &later)).unwrap();
        let before = [records.texts(), drafts.texts()];
        assert_eq!(block_on(purge(&records, &drafts, &line)), Ok(Purged::Changed));
        assert_eq!([records.texts(), drafts.texts()], before);
        let (records, drafts, line) = full();
        block_on(drafts.write(DECISIONS, "{\"schema\":1,\"case\":\"a\"".into())).unwrap();
        assert_eq!(block_on(purge(&records, &drafts, &line)), Ok(Purged::Decisions));
    }

    #[test]
    fn cut_short_the_record_is_still_whole_or_gone() {
        let mut cut = 0;
        for n in 0..40 {
            let (records, drafts, line) = full();
            let faulty = [&records, &drafts].map(|s| Faulty::new(s.clone(), n, Fault::CrashBefore));
            let (Ok(r), Ok(d)) = (Journal::open(&faulty[0]), Journal::open(&faulty[1])) else { continue };
            let failed = block_on(purge(&r, &d, &line)).is_err();
            cut += usize::from(failed);
            // What a journal left is undone as the page opens.
            let r = Journal::open(records.clone()).unwrap();
            let d = Journal::open(drafts.clone()).unwrap();
            if let Some(text) = block_on(r.read("strawline.record.a")).unwrap() {
                assert!(read_record("a", &text).is_ok(), "{n}");
            }
            let done = block_on(purge(&r, &d, &line)).unwrap();
            assert!(matches!(done, Purged::Removed { .. }), "{n}: {done:?}");
            assert!(holds(&records, "HL-0417").is_empty() && holds(&drafts, "HL-0417").is_empty(), "{n}");
        }
        assert!(cut > 5, "{cut}");
    }

    #[test]
    fn past_the_time_of_keeping_counts_from_the_last_signature_to_the_day() {
        let (_, _, line) = full();
        let all = [Arc::new(line)];
        let day = |year, month, day| Date::new(year, month, day).unwrap();
        // Amended on 11 March 2026, UTC.
        let (signed, _) = all[0].last_signed().local(Offset::UTC).unwrap();
        let then = |years: i32| (signed.year() + years, signed.month(), signed.day());
        let (y, m, d) = then(10);
        assert_eq!(past(&all, 10, day(y, m, d), Offset::UTC).len(), 1);
        assert_eq!(past(&all, 10, day(y, m, d - 1), Offset::UTC).len(), 0);
        assert_eq!(past(&all, 11, day(y, m, d), Offset::UTC).len(), 0);
        assert_eq!(not_in_a_backup(&all, None), 1);
        assert_eq!(not_in_a_backup(&all, Some(at(0))), 1, "amended since");
        assert_eq!(not_in_a_backup(&all, Some(at(2))), 0);
    }
}
