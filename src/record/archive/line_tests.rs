//! A line always says what its record says.

use super::tests::{good, kept, typed};
use super::*;
use crate::draft::Field;
use crate::quantity::Quantity;
use crate::record::chain::Chain;
use crate::record::line::{self, words};
use crate::record::store::Memory;
use crate::record::trial::{at, block_on, figure};
use crate::record::{Counts, Layout, shown::ShownStanding};
use proptest::prelude::*;
use std::sync::Arc;

#[test]
fn a_line_that_does_not_say_when_its_record_was_amended_is_made_anew() {
    let mut record = Record::sign(typed("a", "1"), "MO", at(0), vec![]).unwrap();
    record.amend(typed("a", "2"), "JT", at(9), vec![], "late count").unwrap();
    let text = record.to_json().unwrap();
    let line = Line::of(&record, &text, None);
    assert!(line.is_of(&text));
    let named = format!(",\"amended_at\":{}", at(9).0);
    let written = line.to_json();
    assert!(written.contains(&named), "{written}");
    let older = Line::from_json(&written.replace(&named, "")).unwrap();
    assert!(!older.is_of(&text));
    assert_eq!(older.last_signed(), at(0));
    // One of the layout before is good until then: of a record taken away it is all there is.
    let before = Line::from_json(&written.replacen("\"schema\":10", "\"schema\":1", 1)).unwrap();
    assert!(!before.is_of(&text) && before.patient == line.patient);
}

async fn lines(store: &impl Store) -> Vec<Line> {
    line_texts(store).await.unwrap().iter().map(|text| Line::from_json(text).unwrap()).collect()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn the_line_is_what_the_record_says(history in proptest::collection::vec(("[abc]", "[0-9]{1,3}", any::<bool>()), 1..12)) {
        let store = Memory::default();
        block_on(async {
            for (n, (id, text, counted)) in (0..).zip(history) {
                let mut draft = typed(&id, &text);
                draft.write(Field::ProductActual, &text);
                draft.write(Field::ContainerLot, "K-0058");
                draft.choices.count_later = !counted;
                let mut count = figure("concentration_counted", 924.0);
                count.standing = ShownStanding::Counted;
                let shown = if counted { vec![count] } else { vec![] };
                let record = match load_record(&store, &id).await.unwrap() {
                    Stored::Good(Kept { mut record, .. }) => {
                        if record.amend(draft, "JT", at(n), shown, "why").is_err() { continue; }
                        record
                    }
                    _ => Record::sign(draft, "MO", at(n), shown).unwrap(),
                };
                save_record(&store, &record).await.unwrap();
                let lines = lines(&store).await;
                let records = kept(&store).await;
                assert_eq!(lines.len(), records.len());
                for (line, record) in lines.iter().zip(&records) {
                    let text = record.to_json().unwrap();
                    assert!(line.is_of(&text) && *line == Line::of(record, &text, None));
                    let latest = record.latest();
                    assert_eq!((line.id.as_str(), line.sign, line.amended), (record.id(), record.check_sign(), record.amendments().len()));
                    assert_eq!(line.last_signed(), record.latest_entry().at);
                    assert_eq!(line.counts, Counts::of(latest));
                    let typed = latest.text(Field::ProductActual).parse::<f64>().ok();
                    assert_eq!(line.kept.map(Quantity::get), typed.filter(|v| *v <= 200.0));
                    assert_eq!(line.count.is_some(), !record.latest_entry().shown.is_empty());
                    assert_eq!(line.container_lot, latest.text(Field::ContainerLot));
                    assert_eq!(look(&store, record.id(), Some(line)).await.unwrap(), Looked::Fits);
                }
            }
        });
    }
}

#[test]
fn a_line_missing_older_or_of_another_version_is_made_anew() {
    block_on(async {
        let store = Memory::default();
        let first = Record::sign(typed("a", "first"), "MO", at(0), vec![]).unwrap();
        let line = save_record(&store, &first).await.unwrap();
        let key = format!("{LINE}a");
        let text = line.to_json();
        assert_eq!(Line::from_json(&text).as_ref(), Ok(&line));
        let another = text.replacen("\"schema\":10", "\"schema\":11", 1);
        assert!(Line::from_json(&another).is_err());
        for spoilt in [None, Some(another), Some("{".to_owned())] {
            store.write_all(vec![(key.clone(), spoilt.clone())]).await.unwrap();
            let known = spoilt.and_then(|text| Line::from_json(&text).ok());
            let looked = look(&store, "a", known.as_ref()).await.unwrap();
            assert_eq!(looked, Looked::Renewed { line: Box::new(line.clone()), damaged: None });
            assert_eq!(store.texts()[&key], text);
        }
        // Another program amended the record and knew of no lines.
        let mut record = first.clone();
        record.amend(typed("a", "second"), "JT", at(1), vec![], "why").unwrap();
        store.write(&format!("{RECORD}a"), record.to_json().unwrap()).await.unwrap();
        let Looked::Renewed { line: renewed, .. } = look(&store, "a", Some(&line)).await.unwrap() else {
            panic!()
        };
        assert_eq!((renewed.amended, renewed.outside), (1, false));
        // An entry taken away with its seal fits itself, and not what the line knew.
        store.write(&format!("{RECORD}a"), first.to_json().unwrap()).await.unwrap();
        let Looked::Renewed { line: shorter, .. } = look(&store, "a", Some(&renewed)).await.unwrap() else {
            panic!()
        };
        assert!(shorter.outside);
    });
}

#[test]
fn a_damaged_newest_state_that_comes_back_whole_is_as_it_was_signed() {
    block_on(async {
        let store = Memory::default();
        let mut record = Record::sign(typed("a", "first"), "MO", at(0), vec![]).unwrap();
        save_record(&store, &record).await.unwrap();
        record.amend(typed("a", "second"), "JT", at(1), vec![], "why").unwrap();
        let known = save_record(&store, &record).await.unwrap();
        let key = format!("{RECORD}a");
        let whole = store.read(&key).await.unwrap().unwrap();
        store.write(&key, whole.replacen("second", "sec", 1).replacen('{', "[", 1)).await.unwrap();
        let mut line = known.clone();
        for _ in 0..2 {
            let Looked::Renewed { line: renewed, damaged: Some(_) } =
                look(&store, "a", Some(&line)).await.unwrap()
            else {
                panic!()
            };
            assert_eq!((renewed.amended, renewed.damaged, renewed.outside), (0, true, false));
            line = *renewed;
        }
        // Another entry in its place is not what was signed.
        let mut other = record.until(0);
        other.amend(typed("a", "third"), "JT", at(1), vec![], "why").unwrap();
        let text = other.to_json().unwrap();
        assert!(Line::of(&other, &text, Some(&line)).outside);
        // From a backup.
        let restored = save_record(&store, &record).await.unwrap();
        assert_eq!((restored.amended, restored.damaged, restored.outside), (1, false, false));
        assert_eq!(look(&store, "a", Some(&restored)).await.unwrap(), Looked::Fits);
    });
}

#[test]
fn a_record_from_which_an_entry_was_cut_takes_a_late_count_and_stays_marked() {
    block_on(async {
        let store = Memory::default();
        let mut draft = typed("a", "first");
        draft.times.handed_over = Some(at(1));
        draft.choices.count_later = true;
        let mut whole = Record::sign(draft.clone(), "MO", at(2), vec![]).unwrap();
        save_record(&store, &whole).await.unwrap();
        draft.write(Field::Notes, "second");
        whole.amend(draft.clone(), "JT", at(3), vec![], "why").unwrap();
        save_record(&store, &whole).await.unwrap();
        // The entry goes and its seal stays.
        let mut layout: Layout = serde_json::from_str(&whole.to_json().unwrap()).unwrap();
        layout.amendments.clear();
        let text = serde_json::to_string(&layout).unwrap();
        store.write(&format!("{RECORD}a"), text.clone()).await.unwrap();
        let mut cut = good(&store, "a").await;
        assert_eq!(cut.verify(), Chain::Broken { entry: 1 });
        // One who never saw the entry and its seal does not write over them.
        let mut blind = whole.until(0);
        blind.amend(draft.clone(), "JT", at(4), vec![], "why").unwrap();
        assert_eq!(save_record(&store, &blind).await, Err(SaveError::Conflict));
        for (n, reading) in [(1, "924"), (2, "942")] {
            draft.write(Field::Reading(0), reading);
            draft.choices.dilution = Some(crate::draft::SampleDilution::Undiluted);
            cut.amend(draft.clone(), "MO", at(4 + n), vec![], "count came back").unwrap();
            let line = save_record(&store, &cut).await.unwrap();
            assert!(line.outside);
            assert_eq!(line.counts, Counts::Counted);
            assert!(line.counted().is_some_and(|c| c.outside), "and it does not teach");
            let back = good(&store, "a").await;
            assert_eq!((&back, back.amendments().len() as i64), (&cut, n));
            assert!(matches!(back.verify(), Chain::Broken { .. }));
            let text = back.to_json().unwrap();
            assert!(Line::of(&back, &text, None).outside, "without a line that knew it");
        }
        // Who still has the whole record puts the entry back.
        store.write(&format!("{RECORD}a"), text).await.unwrap();
        draft.write(Field::Notes, "third");
        whole.amend(draft, "JT", at(9), vec![], "why").unwrap();
        save_record(&store, &whole).await.unwrap();
        assert_eq!(good(&store, "a").await.verify(), Chain::Sound { since: 0 });
    });
}

#[test]
fn of_a_record_taken_away_the_line_stays_and_says_so() {
    block_on(async {
        let store = Memory::default();
        let mut record = Record::sign(typed("a", "first"), "MO", at(0), vec![]).unwrap();
        let line = save_record(&store, &record).await.unwrap();
        save_record(&store, &Record::sign(typed("b", "other"), "MO", at(0), vec![]).unwrap()).await.unwrap();
        let [key, before, line_key] = keys("a");
        let taken = vec![(key.clone(), None), (before.clone(), None)];
        store.write_all(taken.clone()).await.unwrap();
        assert_eq!(load_record(&store, "a").await, Ok(Stored::Absent));
        assert_eq!(record_ids(&store).await.unwrap(), ["a", "b"]);
        let Looked::Lost { line: marked, item } = look(&store, "a", Some(&line)).await.unwrap() else {
            panic!("listed, and nothing said of it")
        };
        assert!(marked.lost && marked.id == "a" && marked.patient == line.patient);
        assert_eq!((item.key.as_str(), item.reason.clone()), (key.as_str(), Reason::Missing));
        assert_eq!(item.text, store.texts()[&line_key]);
        // A line that is no longer understood is all that is left, and is listed as it is.
        let older = line.to_json().replacen("\"schema\":10,", "\"schema\":0,\"state\":0,", 1);
        assert!(Line::from_json(&older).is_err());
        store.write(&line_key, older.clone()).await.unwrap();
        let left = Unreadable { key: key.clone(), text: older, reason: Reason::Missing };
        assert_eq!(look(&store, "a", None).await, Ok(Looked::Unreadable(left)));
        // Put back as it was, it fits no marked line.
        store.write(&key, record.to_json().unwrap()).await.unwrap();
        let found = look(&store, "a", Some(&marked)).await.unwrap();
        assert_eq!(found, Looked::Renewed { line: Box::new(line.clone()), damaged: None });
        // Whoever still has it open signs it anew, and the mark is gone.
        record.amend(typed("a", "second"), "JT", at(1), vec![], "why").unwrap();
        let again = save_record(&store, &record).await.unwrap();
        let mut all = vec![Arc::new(*marked.clone())];
        line::take_up(&mut all, vec![again.clone()]);
        assert_eq!(all, [Arc::new(again)]);
        store.write_all(taken).await.unwrap();
        store.remove(&line_key).await.unwrap();
        assert_eq!(look(&store, "a", None).await, Ok(Looked::Gone));
    });
}

#[test]
fn an_older_line_does_not_take_the_place_of_a_newer_one() {
    let of = |record: &Record| Line::of(record, &record.to_json().unwrap(), None);
    let mut record = Record::sign(typed("a", "first"), "MO", at(2), vec![]).unwrap();
    let first = of(&record);
    record.amend(typed("a", "second"), "JT", at(3), vec![], "why").unwrap();
    let second = of(&record);
    let other = of(&Record::sign(typed("b", "other"), "MO", at(1), vec![]).unwrap());
    let mut all: Vec<Arc<Line>> = Vec::new();
    let mut known = |new: &[&Line]| -> Vec<Line> {
        line::take_up(&mut all, new.iter().map(|l| (*l).clone()).collect());
        all.iter().map(|l| l.as_ref().clone()).collect()
    };
    assert_eq!(known(&[&first, &second, &other]), [other.clone(), second.clone()]);
    assert_eq!(known(&[&first]), [other.clone(), second.clone()]);
    // Shorter because of what was done outside, it is newer all the same.
    let mut damaged = first.clone();
    damaged.damaged = true;
    assert_eq!(known(&[&damaged]), [other.clone(), damaged]);
    assert_eq!(known(&[&second]), [other.clone(), second.clone()]);
    let mut cut = first;
    cut.outside = true;
    assert_eq!(known(&[&cut]), [other, cut]);
}

#[test]
fn a_search_finds_every_word_wherever_it_stands() {
    let mut draft = typed("a", "");
    draft.write(Field::Site, "Patellar tendon");
    draft.write(Field::ContainerLot, "K-0058");
    let record = Record::sign(draft, "MO", at(0), vec![]).unwrap();
    let line = Line::of(&record, &record.to_json().unwrap(), None);
    let has = |typed: &str| line.has(&words(typed));
    for typed in ["", "hl-04", "k-0058", "7K", "TENDON  0417"] {
        assert!(has(typed), "{typed}");
    }
    assert!(!has("tendon 0418") && !has("achilles"));
}
