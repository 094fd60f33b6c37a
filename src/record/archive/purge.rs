//! Records past the clinic's time of keeping: proposed, and removed only when a person says so, then wholly.

use super::{ASIDE, CURRENT, DECISIONS, DISCARDED, DRAFT, FOCUS, PREFIX, UNDO_ASIDE, keys, read_record};
use crate::draft::Draft;
use crate::quality::decided::Decisions;
use crate::quantity::time::{Date, Instant, Offset};
use crate::record::line::Line;
use crate::record::store::{Batch, Store, StoreError};
use crate::stored;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Records whose last signature lies so many years back or more, to the day, the oldest first; `today` is local, days of
/// signatures are reckoned with `offset`.
pub fn past(lines: &[Arc<Line>], years: u8, today: Date, offset: Offset) -> Vec<Arc<Line>> {
    let is_past = |line: &&Arc<Line>| lies_back(line.last_signed(), years, today, offset);
    let mut found: Vec<Arc<Line>> = lines.iter().filter(is_past).cloned().collect();
    crate::arrange::sort_by_key(&mut found, |line| line.last_signed());
    found
}

/// Discarded cases that were begun so long ago, the oldest first. One that was to amend a record goes with that.
pub fn past_discarded(
    discarded: &[Draft],
    lines: &[Arc<Line>],
    years: u8,
    today: Date,
    offset: Offset,
) -> Vec<Draft> {
    let signed = |draft: &Draft| lines.iter().any(|line| line.id == draft.id);
    let is_past = |draft: &&Draft| lies_back(draft.begun, years, today, offset) && !signed(draft);
    let mut found: Vec<Draft> = discarded.iter().filter(is_past).cloned().collect();
    crate::arrange::sort_by_key(&mut found, |draft| draft.begun);
    found
}

fn lies_back(at: Instant, years: u8, today: Date, offset: Offset) -> bool {
    let day = |date: Date| (i64::from(date.year()), date.month(), date.day());
    let then = at.local(offset).map(|(date, _)| day(date));
    then.is_some_and(|(year, month, of)| (year + i64::from(years), month, of) <= day(today))
}

/// How many of them no backup of this device holds as they now stand.
pub fn not_in_a_backup<'a>(
    lines: impl IntoIterator<Item = &'a Arc<Line>>,
    backed_up: Option<Instant>,
) -> usize {
    lines.into_iter().filter(|line| backed_up.is_none_or(|at| line.last_signed() > at)).count()
}

/// How many of these were begun after the last backup of this device.
pub fn begun_since(discarded: &[Draft], backed_up: Option<Instant>) -> usize {
    discarded.iter().filter(|draft| backed_up.is_none_or(|at| draft.begun > at)).count()
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
        /// Texts put aside that speak of it among other cases, and stay.
        left: usize,
    },
    /// It is open to be amended, and stays.
    Open,
    /// It was amended meanwhile, or something of it written, and stays.
    Changed,
    /// Its newest state cannot be read, perhaps by this version only, so nothing was removed.
    Unreadable,
    /// Decisions about counts cannot be read, so nothing was removed.
    Decisions,
    /// The record is gone, and its line stays to remove the rest by: something beside it was written meanwhile.
    Partly,
}

/// How often what is beside a record is looked at anew when it was written meanwhile.
const TRIES: usize = 4;

/// Removes a record as its line tells it: its states and what was put aside of them, then discarded cases with its key and
/// decisions about its count, its line last: cut short, it is still listed and can be removed again. Errors: the store's;
/// then the record stays whole, or is gone with only its line and what is beside it left.
pub async fn purge<T: Store>(records: &T, drafts: &T, line: &Line) -> Result<Purged, StoreError> {
    let id = line.id.as_str();
    let [key, before, own_line] = keys(id);
    let found = records.read(&key).await?;
    if let Some(text) = &found {
        match read_record(id, text) {
            // The line may be of an older state.
            Err(_) => return Ok(Purged::Unreadable),
            Ok(record) if record.latest_entry().at > line.last_signed() => return Ok(Purged::Changed),
            Ok(_) => {}
        }
    }
    if drafts.read(&format!("{DRAFT}{id}")).await?.is_some() {
        return Ok(Purged::Open);
    }
    if without_decisions(drafts.read(DECISIONS).await?.as_deref(), id).is_none() {
        return Ok(Purged::Decisions);
    }
    let Aside { mut own, foreign } = aside(records, id).await?;
    for key in [&key, &before] {
        if records.read(key).await?.is_some() {
            own.push(key.clone());
        }
    }
    let (mut texts, mut left) = (own.len(), foreign);
    let batch = own.into_iter().map(|key| (key, None)).collect();
    if !records.write_all_if(&key, found.as_deref(), batch).await? {
        return Ok(Purged::Changed);
    }
    let Some((removed, decisions, foreign)) = beside(drafts, id).await? else { return Ok(Purged::Partly) };
    left += foreign;
    texts += removed;
    // Signed anew in another tab meanwhile, the line is of that.
    let listed = records.read(&own_line).await?.is_some();
    if listed && !records.write_all_if(&key, None, vec![(own_line, None)]).await? {
        return Ok(Purged::Changed);
    }
    texts += usize::from(listed);
    Ok(Purged::Removed { texts, decisions, left })
}

/// Removes a discarded case that has no record, with everything kept under its key: what was put aside of it and decisions
/// about its count. Errors: the store's; what was removed till then is gone, and it can be removed again.
pub async fn purge_discarded<T: Store>(records: &T, drafts: &T, id: &str) -> Result<Purged, StoreError> {
    for key in keys(id) {
        if records.read(&key).await?.is_some() {
            return Ok(Purged::Changed);
        }
    }
    if drafts.read(&format!("{DRAFT}{id}")).await?.is_some() {
        return Ok(Purged::Open);
    }
    if without_decisions(drafts.read(DECISIONS).await?.as_deref(), id).is_none() {
        return Ok(Purged::Decisions);
    }
    // The case itself last, with what is beside it: cut short it is still listed.
    let Aside { own, foreign } = aside(records, id).await?;
    let [key, ..] = keys(id);
    let texts = own.len();
    let batch: Batch = own.into_iter().map(|key| (key, None)).collect();
    if texts > 0 && !records.write_all_if(&key, None, batch).await? {
        return Ok(Purged::Changed);
    }
    let Some((removed, decisions, left)) = beside(drafts, id).await? else { return Ok(Purged::Open) };
    Ok(Purged::Removed { texts: texts + removed, decisions, left: left + foreign })
}

/// Removes what the store of drafts holds of a case that has no record: how many texts, how many decisions, and how many
/// texts stay that speak of it among others. `None`: it was written meanwhile, again and again, or is open anew.
async fn beside(drafts: &impl Store, id: &str) -> Result<Option<(usize, usize, usize)>, StoreError> {
    let draft = format!("{DRAFT}{id}");
    for _ in 0..TRIES {
        let Aside { own, foreign } = aside(drafts, id).await?;
        let mut batch: Batch = own.into_iter().map(|key| (key, None)).collect();
        let discarded = format!("{DISCARDED}{id}");
        if drafts.read(&discarded).await?.is_some() {
            batch.push((discarded, None));
        }
        if drafts.read(CURRENT).await?.as_deref() == Some(id) {
            batch.push((CURRENT.to_owned(), None));
        }
        if drafts.read(FOCUS).await?.is_some_and(|entry| speaks_of(&entry, id)) {
            batch.push((FOCUS.to_owned(), None));
        }
        let texts = batch.len();
        let decided = drafts.read(DECISIONS).await?;
        let Some((text, decisions)) = without_decisions(decided.as_deref(), id) else { return Ok(None) };
        if decisions > 0 {
            batch.push((DECISIONS.to_owned(), text));
        }
        if batch.is_empty() {
            return Ok(drafts.read(&draft).await?.is_none().then_some((0, 0, foreign)));
        }
        let expected = [(draft.as_str(), None), (DECISIONS, decided.as_deref())];
        if drafts.write_all_where(&expected, batch).await? {
            return Ok(Some((texts, decisions, foreign)));
        }
    }
    Ok(None)
}

/// Decisions about counts without those about a case, and how many those were; `None` where they speak of it and cannot be
/// read.
fn without_decisions(decided: Option<&str>, id: &str) -> Option<(Option<String>, usize)> {
    let Some(text) = decided.filter(|text| speaks_of(text, id)) else { return Some((None, 0)) };
    let mut all = Decisions::from_json(text).ok()?;
    let decisions = all.forget(id);
    Some((Some(stored::write(&all).ok()?), decisions))
}

/// What was put aside and speaks of a case.
struct Aside {
    /// Keys of what is of this case alone.
    own: Vec<String>,
    /// How many texts speak of others too, or may.
    foreign: usize,
}

async fn aside(store: &impl Store, id: &str) -> Result<Aside, StoreError> {
    let of = [DRAFT, DISCARDED, super::RECORD, super::BEFORE, super::LINE];
    let kept = of.map(|prefix| format!("{prefix}{id}"));
    let names = kept.each_ref().map(|key| format!("{ASIDE}{}.", key.strip_prefix(PREFIX).unwrap_or(key)));
    let mut found = Aside { own: Vec::new(), foreign: 0 };
    for (key, text) in
        store.read_all(ASIDE).await?.into_iter().filter(|(key, _)| !key.starts_with(UNDO_ASIDE))
    {
        if names.iter().any(|name| key.starts_with(name.as_str())) {
            found.own.push(key);
        } else if speaks_of(&key, id) || speaks_of(&text, id) {
            found.foreign += 1;
        }
    }
    for (key, text) in store.read_all(UNDO_ASIDE).await? {
        if !speaks_of(&text, id) {
            continue;
        }
        // A note is of many keys: of this case alone only if it can be read and says so.
        let note = stored::parse::<BTreeMap<String, Option<String>>>(&text).unwrap_or_default();
        let own =
            |key: &String| kept.contains(key) || names.iter().any(|name| key.starts_with(name.as_str()));
        if !note.is_empty() && note.keys().all(own) {
            found.own.push(key);
        } else {
            found.foreign += 1;
        }
    }
    Ok(found)
}

/// Whether a text names a case: its id stands there by itself, not as part of a longer word.
pub(super) fn speaks_of(text: &str, id: &str) -> bool {
    let word = |c: Option<char>| c.is_some_and(char::is_alphanumeric);
    !id.is_empty()
        && text.match_indices(id).any(|(at, _)| {
            let (before, after) = (text.get(..at).unwrap_or_default(), text.get(at + id.len()..));
            !word(before.chars().next_back()) && !word(after.unwrap_or_default().chars().next())
        })
}

#[cfg(test)]
mod tests {
    use super::super::{
        OF_DRAFTS, OF_RECORDS, discard_draft, save_decisions, save_draft, save_record, sign_off,
    };
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
            for key in
                ["strawline.aside.record.a.1", "strawline.aside.before.a.1", "strawline.aside.line.a.1"]
            {
                records.write(key, aside.into()).await.unwrap();
            }
            for key in ["strawline.aside.draft.a.2", "strawline.aside.discarded.a.1"] {
                drafts.write(key, aside.into()).await.unwrap();
            }
            // The clinic's log is of no case and stays.
            records.write("strawline.log.1", "{\"by\":\"MO\"}".into()).await.unwrap();
            let note = "{\"strawline.draft.a\":\"of HL-0417\",\"strawline.discarded.a\":null}";
            drafts.write("strawline.aside.undo.1", note.into()).await.unwrap();
            drafts.write(FOCUS, "notes-a".into()).await.unwrap();
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
        assert!(holds(&records, "HL-0417").len() == 6 && holds(&drafts, "HL-0417").len() == 5);
        // Something stands under every key that may tell of a patient, an open case and unreadable decisions apart.
        let others = [DRAFT, "strawline.aside.quality."];
        for prefix in OF_DRAFTS.iter().filter(|prefix| !others.contains(prefix)) {
            assert!(before[1].keys().any(|key| key.starts_with(prefix)), "{prefix}");
        }
        for prefix in OF_RECORDS {
            assert!(before[0].keys().any(|key| key.starts_with(prefix)), "{prefix}");
        }
        let done = block_on(purge(&records, &drafts, &line)).unwrap();
        assert_eq!(done, Purged::Removed { texts: 12, decisions: 2, left: 0 });
        for store in [&records, &drafts] {
            for (key, text) in store.texts() {
                assert!(!speaks_of(&key, "a") && !text.contains("\"a\""), "{key}: {text}");
            }
        }
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
        assert_eq!(again, Purged::Removed { texts: 0, decisions: 0, left: 0 });
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
    fn what_is_put_aside_among_other_cases_is_told_and_stays() {
        let (records, drafts, line) = full();
        let told = [
            (
                "strawline.aside.undo.2",
                "{\"strawline.draft.a\":\"HL-0417\",\"strawline.draft.b\":\"HL-0999\"}",
            ),
            ("strawline.aside.undo.3", "{\"strawline.draft.a\":\"HL-0417"),
            ("strawline.aside.quality.1", "{\"let_in\":[{\"case\":\"a\"}"),
            ("strawline.aside.draft.b.1", "{\"course\":\"a\"}"),
        ];
        for (key, text) in told {
            block_on(drafts.write(key, text.into())).unwrap();
        }
        block_on(records.write("strawline.aside.record.b.1", "after \"a\"".into())).unwrap();
        block_on(drafts.write("strawline.aside.draft.b.2", "\"aa\"".into())).unwrap();
        let done = block_on(purge(&records, &drafts, &line)).unwrap();
        assert_eq!(done, Purged::Removed { texts: 12, decisions: 2, left: 5 });
        for (key, text) in told {
            assert_eq!(drafts.texts()[key], text);
        }
    }

    #[test]
    fn what_cannot_be_read_is_not_removed_on_the_word_of_an_older_line() {
        for newest in ["{\"schema\":999,\"more\":1}", "{\"schema\":1,\"ent", ""] {
            let (records, drafts, line) = full();
            block_on(records.write("strawline.record.a", newest.into())).unwrap();
            let before = [records.texts(), drafts.texts()];
            assert_eq!(block_on(purge(&records, &drafts, &line)), Ok(Purged::Unreadable), "{newest}");
            assert_eq!([records.texts(), drafts.texts()], before);
        }
    }

    #[test]
    fn nothing_beside_a_record_goes_that_itself_stays() {
        let mut failed = [0, 0];
        for n in 1..30 {
            for which in [0, 1] {
                let (records, drafts, line) = full();
                let whole = [records.texts(), drafts.texts()];
                let never = u32::MAX;
                let of = |on: usize| if on == which { n } else { never };
                let r = Faulty::new(records.clone(), of(0), Fault::CrashBefore);
                let d = Faulty::new(drafts.clone(), of(1), Fault::CrashBefore);
                if block_on(purge(&r, &d, &line)).is_ok() {
                    continue;
                }
                failed[which] += 1;
                let is_there = records.texts().contains_key("strawline.record.a");
                assert!(!is_there || [records.texts(), drafts.texts()] == whole, "{which} {n}");
                // Its line is there as long as anything is.
                assert!(records.texts().contains_key("strawline.line.a"), "{which} {n}");
                let done = block_on(purge(&records, &drafts, &line)).unwrap();
                assert!(matches!(done, Purged::Removed { .. }), "{which} {n}: {done:?}");
                assert!(holds(&records, "HL-0417").is_empty() && holds(&drafts, "HL-0417").is_empty());
            }
        }
        assert!(failed[0] > 3 && failed[1] > 3, "{failed:?}");
    }

    #[test]
    fn an_amendment_in_another_tab_does_not_bring_a_purged_record_back() {
        let (records, drafts, line) = full();
        let mut amended = record("a", "HL-0417");
        let mut draft = amended.latest().clone();
        draft.write(Field::Notes, "seen in another tab");
        amended.amend(draft, "JT", at(9), vec![], "again").unwrap();
        block_on(purge(&records, &drafts, &line)).unwrap();
        let done = block_on(sign_off(&drafts, &records, &amended, None, None));
        assert_eq!(done.unwrap_err(), super::super::SaveError::Conflict);
        assert!(holds(&records, "HL-0417").is_empty() && holds(&drafts, "HL-0417").is_empty());
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
    fn a_discarded_case_is_proposed_and_removed_with_everything_kept_of_it() {
        let full = || {
            let (records, drafts, line) = full();
            let mut thrown = case("c");
            thrown.write(Field::PatientReference, "HL-0417");
            block_on(async {
                discard_draft(&drafts, &thrown, None).await.unwrap();
                drafts.write("strawline.aside.draft.c.1", "{\"of\":\"HL-0417\"".into()).await.unwrap();
                records.write("strawline.aside.discarded.c.1", "{\"of\":\"HL-0417\"".into()).await.unwrap();
                drafts.write("strawline.aside.draft.b.1", "{\"course\":\"c\"}".into()).await.unwrap();
            });
            (records, drafts, line, thrown)
        };
        let (records, drafts, line, thrown) = full();
        // The other discarded case belongs to a record, and goes with that.
        let all = block_on(super::super::discarded(&drafts)).unwrap().good;
        assert_eq!(all.len(), 2);
        let (begun, _) = thrown.begun.local(Offset::UTC).unwrap();
        let day = |years, back| Date::new(begun.year() + years, begun.month(), begun.day() - back).unwrap();
        let lines = [Arc::new(line)];
        let past = |today| past_discarded(&all, &lines, 10, today, Offset::UTC);
        assert_eq!(past(day(10, 0)), std::slice::from_ref(&thrown));
        assert!(past(day(10, 1)).is_empty() && past(day(9, 0)).is_empty());
        let others = |store: &Memory| -> Vec<_> {
            let of = |key: &String| !key.ends_with(".c") && !key.contains(".c.");
            store.texts().into_iter().filter(|(key, _)| of(key)).collect()
        };
        let before = [others(&records), others(&drafts)];
        let done = block_on(purge_discarded(&records, &drafts, "c")).unwrap();
        assert_eq!(done, Purged::Removed { texts: 3, decisions: 0, left: 1 });
        assert_eq!([records.texts(), drafts.texts()].map(|t| t.into_iter().collect::<Vec<_>>()), before);
        // Brought back, or with a record, it stays whole.
        let (records, drafts, _, thrown) = full();
        block_on(save_draft(&drafts, &thrown, None)).unwrap();
        let before = [records.texts(), drafts.texts()];
        assert_eq!(block_on(purge_discarded(&records, &drafts, "c")), Ok(Purged::Open));
        assert_eq!(block_on(purge_discarded(&records, &drafts, "a")), Ok(Purged::Changed));
        assert_eq!([records.texts(), drafts.texts()], before);
    }

    #[test]
    fn a_discarded_case_whose_removal_is_cut_short_is_still_listed_or_gone() {
        let mut cut = 0;
        for n in 0..30 {
            let (records, drafts) = (Memory::default(), Memory::default());
            block_on(async {
                discard_draft(&drafts, &case("c"), None).await.unwrap();
                records.write("strawline.aside.draft.c.1", "{\"cut".into()).await.unwrap();
                drafts.write("strawline.aside.draft.c.1", "{\"cut".into()).await.unwrap();
            });
            let r = Faulty::new(records.clone(), n, Fault::CrashBefore);
            let d = Faulty::new(drafts.clone(), n, Fault::CrashBefore);
            if block_on(purge_discarded(&r, &d, "c")).is_ok() {
                continue;
            }
            cut += 1;
            assert!(drafts.texts().contains_key("strawline.discarded.c"), "{n}");
            block_on(purge_discarded(&records, &drafts, "c")).unwrap();
            assert!(records.texts().is_empty() && drafts.texts().is_empty(), "{n}");
        }
        assert!(cut > 2, "{cut}");
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
