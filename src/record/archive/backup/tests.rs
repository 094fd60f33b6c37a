use super::super::*;
use super::*;
use crate::bench::Bench;
use crate::draft::{Draft, Field};
use crate::quality::decided::{Begun, Decisions, Exclusion, Series, TakenBack};
use crate::record::Record;
use crate::record::faulty::{Fault, Faulty};
use crate::record::journal::Journal;
use crate::record::store::Memory;
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
    for (here, there, outcome) in [(0, 2, Outcome::Amended(2)), (2, 2, Outcome::Same), (2, 1, Outcome::Older)]
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
    assert!(done.items.iter().any(|i| matches!(i.what, What::OpenCase(_)) && i.outcome == Outcome::Differs));
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
        done.items
            .contains(&Item { what: What::Unknown("strawline.shelves".into()), outcome: Outcome::NotKnown })
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
    let spoilt =
        file.replace("strawline.log.a", "strawline.log.z").replace("\\\"schema\\\":2", "\\\"schema\\\":9");
    let done = bring(&Memory::default(), &spoilt);
    assert!(done.items.iter().all(|i| matches!(i.outcome, Outcome::Unreadable(_))), "{:?}", done.items);
    // Written into twice, the first stands.
    assert_eq!(block_on(save_entry(&here, &entry("a", "else"))), Err(SaveError::Conflict));
    assert_eq!(block_on(save_entry(&here, &entry("a", "used up"))), Ok(()));
}
