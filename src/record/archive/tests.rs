use super::*;
use crate::draft::Field;
use crate::record::faulty::{Fault, Faulty};
use crate::record::journal::Journal;
use crate::record::settings::Theme;
use crate::record::store::Memory;
use crate::record::trial::{Raced, at, block_on, case};
use proptest::prelude::*;

#[test]
fn drafts_bench_and_settings_come_back_exactly() {
    let store = Memory::default();
    assert_eq!(block_on(load_bench(&store)), Ok(Stored::Absent));
    let mut draft = case("a");
    draft.write(Field::Notes, "two lines\nand “quotes”, 0,5 µL \u{0}");
    let settings = Settings { theme: Theme::Dark, hide_study: true, ..Settings::default() };
    block_on(async {
        put(&store, &draft).await.unwrap();
        save_bench(&store, &Bench::default(), &Bench::default()).await.unwrap();
        save_settings(&store, &settings, &Settings::default()).await.unwrap();
        assert_eq!(load_draft(&store, "a").await, Ok(Stored::Good(draft)));
        assert_eq!(load_bench(&store).await, Ok(Stored::Good(Bench::default())));
        assert_eq!(load_settings(&store).await, Ok(Stored::Good(settings)));
        assert!(store.read_all(ASIDE).await.unwrap().is_empty());
    });
}

#[test]
fn what_cannot_be_read_is_listed_and_stays() {
    let store = Memory::default();
    block_on(async {
        let record = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
        save_record(&store, &record).await.unwrap();
        put(&store, &case("b")).await.unwrap();
        let broken = [
            ("strawline.record.b", "{\"schema\":1,\"id\":\"b\""),
            ("strawline.record.c", ""),
            ("strawline.record.d", "{\"schema\":9}"),
            ("strawline.draft.e", "\u{fffd}\u{0}"),
        ];
        for (key, text) in broken {
            store.write(key, text.to_owned()).await.unwrap();
        }
        store.write("strawline.draft.z", case("b").to_json()).await.unwrap();
        let before = store.texts();
        let (drafts, records) = (drafts(&store).await.unwrap(), all_records(&store).await.unwrap());
        assert_eq!(records.good, [record]);
        assert_eq!(drafts.good, [case("b")]);
        let keys = |unreadable: &[Unreadable]| unreadable.iter().map(|u| u.key.clone()).collect::<Vec<_>>();
        assert_eq!(
            keys(&records.unreadable),
            ["strawline.record.b", "strawline.record.c", "strawline.record.d"]
        );
        assert_eq!(records.unreadable[2].reason, Reason::Newer { found: 9 });
        assert_eq!(keys(&drafts.unreadable), ["strawline.draft.e", "strawline.draft.z"]);
        assert_eq!(drafts.unreadable[1].reason, Reason::Misplaced { id: "b".into() });
        let other = Record::sign(case("b"), "MO", at(0), vec![]).unwrap();
        assert!(matches!(save_record(&store, &other).await, Err(SaveError::Occupied(_))));
        assert!(matches!(save_draft(&store, &case("e"), None).await, Err(SaveError::Occupied(_))));
        assert_eq!(store.texts(), before);
    });
}

#[test]
fn a_record_cut_off_anywhere_is_listed_and_stays() {
    let whole = Record::sign(case("a"), "MO", at(0), vec![]).unwrap().to_json().unwrap();
    let store = Memory::default();
    for end in 0..whole.len() {
        let text = whole[..end].to_owned();
        let listing = block_on(async {
            store.write("strawline.record.a", text.clone()).await.unwrap();
            all_records(&store).await.unwrap()
        });
        assert!(listing.good.is_empty());
        assert_eq!(listing.unreadable[0].text, text);
        assert_eq!(store.texts().len(), 1);
    }
}

#[test]
fn an_unreadable_bench_is_copied_aside_before_a_new_one() {
    let store = Memory::default();
    block_on(async {
        for (n, text) in ["not a bench", "{\"schema\":1"].into_iter().enumerate() {
            store.write("strawline.bench", text.to_owned()).await.unwrap();
            assert!(matches!(load_bench(&store).await, Ok(Stored::Unreadable(_))));
            save_bench(&store, &Bench::default(), &Bench::default()).await.unwrap();
            assert_eq!(load_bench(&store).await, Ok(Stored::Good(Bench::default())));
            let kept = store.read_all(ASIDE).await.unwrap();
            assert_eq!(kept[n], (format!("strawline.aside.bench.{}", n + 1), text.to_owned()));
        }
    });
}

#[test]
fn a_record_is_never_shortened_or_rewritten() {
    let store = Memory::default();
    block_on(async {
        let first = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
        let mut later = case("a");
        later.write(Field::Reading(0), "924");
        let mut amended = first.clone();
        amended.amend(later.clone(), "MO", at(9), vec![], "count came back").unwrap();
        save_record(&store, &first).await.unwrap();
        save_record(&store, &amended).await.unwrap();
        assert_eq!(save_record(&store, &first).await, Err(SaveError::Conflict));
        let rewritten = Record::sign(later, "MO", at(0), vec![]).unwrap();
        assert_eq!(save_record(&store, &rewritten).await, Err(SaveError::Conflict));
        assert_eq!(good(&store, "a").await, amended);
    });
}

#[test]
fn a_draft_left_by_a_signature_cut_short_is_passed_over() {
    let (drafts, records) = (Memory::default(), Memory::default());
    block_on(async {
        let seen = put(&drafts, &case("a")).await.unwrap();
        let record = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
        let blocked = Faulty::new(drafts.clone(), 1, Fault::CrashBefore);
        assert_eq!(
            sign_off(&blocked, &records, &record, Some(&seen), None).await,
            Err(SaveError::Store(StoreError::Unreachable))
        );
        assert_eq!(open(&drafts, &records).await, []);
        assert_eq!(kept(&records).await, [record]);
        put(&drafts, &typed("a", "count came back")).await.unwrap();
        assert_eq!(open(&drafts, &records).await, [typed("a", "count came back")]);
    });
}

#[test]
fn of_two_signatures_at_once_the_earlier_stands() {
    block_on(async {
        let first = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
        let amended = |text: &str| {
            let mut record = first.clone();
            record.amend(typed("a", text), "MO", at(9), vec![], "count came back").unwrap();
            record
        };
        let ours = Record::sign(typed("a", "second tap"), "MO", at(1), vec![]).unwrap();
        for (stored, ours, theirs) in
            [(None, ours, first.clone()), (Some(&first), amended("924"), amended("942"))]
        {
            let memory = Memory::default();
            if let Some(stored) = stored {
                save_record(&memory, stored).await.unwrap();
            }
            let meanwhile = vec![(format!("{RECORD}a"), theirs.to_json())];
            let raced = Raced(&memory, Some(meanwhile).into());
            assert_eq!(save_record(&raced, &ours).await, Err(SaveError::Conflict));
            assert_eq!(kept(&memory).await, [theirs]);
        }
    });
}

#[test]
fn what_another_tab_typed_is_neither_written_over_nor_discarded() {
    block_on(async {
        let memory = Memory::default();
        let seen = put(&memory, &case("a")).await.unwrap();
        let meanwhile = || Some(vec![(draft_key("a"), Some(typed("a", "theirs").to_json()))]).into();
        let raced = Raced(&memory, meanwhile());
        assert_eq!(save_draft(&raced, &typed("a", "ours"), Some(&seen)).await, Err(SaveError::Conflict));
        assert_eq!(discard_draft(&memory, &typed("a", "ours"), Some(&seen)).await, Err(SaveError::Conflict));
        assert_eq!(open(&memory, &memory).await, [typed("a", "theirs")]);
        assert!(discarded(&memory).await.unwrap().good.is_empty());
        // Seen by a person, it may be.
        let theirs = Seen::of(typed("a", "theirs"));
        discard_draft(&memory, &typed("a", "ours"), Some(&theirs)).await.unwrap();
        assert_eq!(discarded(&memory).await.unwrap().good, [typed("a", "ours")]);
        restore_draft(&memory, &typed("a", "ours")).await.unwrap();
        assert_eq!(open(&memory, &memory).await, [typed("a", "ours")]);
        assert!(discarded(&memory).await.unwrap().good.is_empty());
        put(&memory, &typed("a", "typed since")).await.unwrap();
        assert_eq!(restore_draft(&memory, &typed("a", "ours")).await, Err(SaveError::Conflict));
    });
}

#[test]
fn a_draft_of_an_older_version_is_no_conflict() {
    block_on(async {
        let memory = Memory::default();
        // The same entries in another order, as another version may write them.
        let text =
            case("a").to_json().replacen("{\"schema\":6,\"id\":\"a\"", "{\"id\":\"a\",\"schema\":6", 1);
        assert_ne!(text, case("a").to_json());
        memory.write(&draft_key("a"), text).await.unwrap();
        let seen = Seen::of(case("a"));
        save_draft(&memory, &typed("a", "ours"), Some(&seen)).await.unwrap();
        assert_eq!(open(&memory, &memory).await, [typed("a", "ours")]);
    });
}

#[test]
fn a_key_typed_while_a_signature_is_stored_stays_and_is_not_signed() {
    block_on(async {
        let memory = Memory::default();
        let seen = put(&memory, &case("a")).await.unwrap();
        let record = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
        let raced =
            Raced(&memory, Some(vec![(draft_key("a"), Some(typed("a", "one more key").to_json()))]).into());
        sign_off(&memory, &raced, &record, Some(&seen), None).await.unwrap();
        assert_eq!(kept(&memory).await, [record]);
        assert_eq!(open(&memory, &memory).await, [typed("a", "one more key")]);
        // Without such a key the draft goes, also one that lags behind what was signed.
        let drafts = Memory::default();
        let seen = put(&drafts, &case("a")).await.unwrap();
        let record = Record::sign(typed("a", "signed"), "MO", at(0), vec![]).unwrap();
        sign_off(&drafts, &Memory::default(), &record, Some(&seen), None).await.unwrap();
        assert!(drafts.texts().is_empty());
    });
}

#[test]
fn an_amendment_of_what_is_known_here_is_one_change_and_else_stands_as_after_a_look() {
    block_on(async {
        let first = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
        let with = |record: &Record, text: &str, at| {
            let mut record = record.clone();
            record.amend(typed("a", text), "MO", at, vec![], "count came back").unwrap();
            record
        };
        let (second, third) = (with(&first, "924", at(8)), with(&with(&first, "924", at(8)), "931", at(9)));
        let kept = Memory::default();
        save_record(&kept, &first).await.unwrap();
        let line = save_record(&kept, &second).await.unwrap();
        let copy = async || {
            let copy = Memory::default();
            let texts = kept.texts().into_iter().map(|(key, text)| (key, Some(text))).collect();
            copy.write_all(texts).await.unwrap();
            copy
        };
        let looked = copy().await;
        save_record(&looked, &third).await.unwrap();
        let records = copy().await;
        let counted = Faulty::new(records.clone(), u32::MAX, Fault::CrashBefore);
        sign_off(&Memory::default(), &counted, &third, None, Some(&line)).await.unwrap();
        assert_eq!((counted.operations(), records.texts()), (1, looked.texts()));
        // Known otherwise than it stands, it is looked at.
        let mut other = line.clone();
        other.patient = "another".into();
        let records = copy().await;
        let line = sign_off(&Memory::default(), &records, &third, None, Some(&other)).await.unwrap();
        assert_eq!(records.texts(), looked.texts());
        // What another tab added stands.
        save_record(&kept, &with(&second, "theirs", at(9))).await.unwrap();
        let stands = kept.texts();
        let done = sign_off(&Memory::default(), &kept, &third, None, Some(&line)).await;
        assert_eq!((done, kept.texts()), (Err(SaveError::Conflict), stands));
    });
}

#[test]
fn bench_and_settings_of_another_tab_are_not_written_over() {
    let store = Memory::default();
    let named = |name: &str| {
        let mut bench = Bench::default();
        bench.clinic.name = name.to_owned();
        bench
    };
    block_on(async {
        save_bench(&store, &named("theirs"), &Bench::default()).await.unwrap();
        assert_eq!(save_bench(&store, &named("ours"), &Bench::default()).await, Err(SaveError::Conflict));
        assert_eq!(load_bench(&store).await, Ok(Stored::Good(named("theirs"))));
        save_bench(&store, &named("ours"), &named("theirs")).await.unwrap();
        let raced = Raced(&store, Some(vec![(BENCH.to_owned(), Some(named("theirs").to_json()))]).into());
        assert_eq!(save_bench(&raced, &named("new"), &named("ours")).await, Err(SaveError::Conflict));
        assert_eq!(load_bench(&store).await, Ok(Stored::Good(named("theirs"))));
        let dark = Settings { theme: Theme::Dark, ..Settings::default() };
        let light = Settings { theme: Theme::Light, ..Settings::default() };
        save_settings(&store, &dark, &Settings::default()).await.unwrap();
        assert_eq!(save_settings(&store, &light, &Settings::default()).await, Err(SaveError::Conflict));
        assert_eq!(load_settings(&store).await, Ok(Stored::Good(dark)));
    });
}

#[test]
fn decisions_about_counts_come_back_and_another_tabs_stand() {
    let store = Memory::default();
    let mut decided = Decisions::default();
    decided.exclude("a", "MO", at(0), "clotted tube").unwrap();
    block_on(async {
        assert_eq!(load_decisions(&store).await, Ok(Stored::Absent));
        save_decisions(&store, &decided, &Decisions::default()).await.unwrap();
        assert_eq!(load_decisions(&store).await, Ok(Stored::Good(decided.clone())));
        let mut other = Decisions::default();
        other.exclude("b", "MO", at(0), "spilt").unwrap();
        assert_eq!(save_decisions(&store, &other, &Decisions::default()).await, Err(SaveError::Conflict));
        let mut back = decided.clone();
        back.include_again("a", "MO", at(1)).unwrap();
        save_decisions(&store, &back, &decided).await.unwrap();
        assert_eq!(load_decisions(&store).await, Ok(Stored::Good(back)));
    });
}

/// All records, each in its newest readable state; what is damaged is listed beside them. Errors: the store's.
async fn all_records(store: &impl Store) -> Result<Listing<Record>, StoreError> {
    let mut listing = Listing { good: Vec::new(), unreadable: Vec::new() };
    for id in record_ids(store).await? {
        match load_record(store, &id).await? {
            Stored::Good(Kept { record, damaged }) => {
                listing.good.push(record);
                listing.unreadable.extend(damaged);
            }
            Stored::Unreadable(unreadable) => listing.unreadable.push(unreadable),
            Stored::Absent => {}
        }
    }
    Ok(listing)
}

/// Steps of a working day. Cases are `a` and `b`.
#[derive(Debug, Clone)]
pub(super) enum Step {
    Type(&'static str, String),
    Discard(&'static str),
    Restore(&'static str),
    SignOrAmend(&'static str, String),
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let id = || prop_oneof![Just("a"), Just("b")];
    let step = prop_oneof![
        (id(), "[0-9]{1,3}").prop_map(|(id, text)| Step::Type(id, text)),
        id().prop_map(Step::Discard),
        id().prop_map(Step::Restore),
        (id(), "[0-9]{1,3}").prop_map(|(id, text)| Step::SignOrAmend(id, text)),
    ];
    proptest::collection::vec(step, 1..8)
}

pub(super) fn typed(id: &str, text: &str) -> Draft {
    let mut draft = case(id);
    draft.write(Field::Notes, text);
    draft
}

pub(super) async fn take(step: &Step, drafts: &impl Store, records: &impl Store) -> Result<(), SaveError> {
    match step {
        Step::Type(id, text) => put(drafts, &typed(id, text)).await.map(drop),
        Step::Discard(id) => {
            // What only repeats its record is not on the page.
            let mut open = super::drafts(drafts).await?.good;
            without_repeats(&mut open, &all_records(records).await?.good);
            match seen(drafts, id).await?.filter(|seen| open.contains(&seen.draft)) {
                Some(seen) => discard_draft(drafts, &seen.draft, Some(&seen)).await,
                None => Ok(()),
            }
        }
        Step::Restore(id) => {
            let gone = discarded(drafts).await?.good.into_iter().find(|draft| draft.id == *id);
            match gone {
                // One with its id is open: it stays as it is.
                Some(gone) => match restore_draft(drafts, &gone).await {
                    Err(SaveError::Conflict) => Ok(()),
                    done => done.map(drop),
                },
                None => Ok(()),
            }
        }
        Step::SignOrAmend(id, text) => {
            let draft = typed(id, text);
            let record = match load_record(records, id).await? {
                Stored::Good(Kept { mut record, .. }) => {
                    match record.amend(draft, "MO", at(2), vec![], "why") {
                        Ok(()) => record,
                        Err(_) => return Ok(()),
                    }
                }
                _ => Record::sign(draft, "MO", at(1), vec![]).unwrap(),
            };
            let seen = seen(drafts, id).await?;
            let known = records.read(&format!("{LINE}{id}")).await?;
            let known = known.and_then(|text| Line::from_json(&text).ok());
            sign_off(drafts, records, &record, seen.as_ref(), known.as_ref()).await.map(drop)
        }
    }
}

/// What stands in the place of an open draft.
pub(super) async fn seen(store: &impl Store, id: &str) -> Result<Option<Seen>, StoreError> {
    Ok(match load_draft(store, id).await? {
        Stored::Good(draft) => Some(Seen::of(draft)),
        _ => None,
    })
}

/// Stores over whatever stands there, as a page does that has just read it.
pub(super) async fn put(store: &impl Store, draft: &Draft) -> Result<Seen, SaveError> {
    let seen = seen(store, &draft.id).await?;
    save_draft(store, draft, seen.as_ref()).await
}

/// The drafts that a page opens at its start.
pub(super) async fn open(drafts: &impl Store, records: &impl Store) -> Vec<Draft> {
    let mut found = super::drafts(drafts).await.unwrap().good;
    without_repeats(&mut found, &kept(records).await);
    found
}

/// The newest state of a record, which nothing has damaged.
pub(super) async fn good(store: &impl Store, id: &str) -> Record {
    match load_record(store, id).await {
        Ok(Stored::Good(Kept { record, damaged: None })) => record,
        other => panic!("{other:?}"),
    }
}

pub(super) async fn kept(records: &impl Store) -> Vec<Record> {
    all_records(records).await.unwrap().good
}

/// What a person would find after starting the page again.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found {
    pub open: Vec<Draft>,
    pub discarded: Vec<Draft>,
    pub records: Vec<Record>,
}

pub(super) fn found(drafts: &Memory, records: &Memory) -> Found {
    let drafts = Journal::open(drafts.clone()).unwrap();
    block_on(async {
        Found {
            open: open(&drafts, records).await,
            discarded: discarded(&drafts).await.unwrap().good,
            records: kept(records).await,
        }
    })
}

/// Runs a history with a fault in one of the two places; returns whether it was met.
fn run(history: &[Step], at: u32, fault: &Fault, in_records: bool) -> bool {
    let (cells, table) = (Memory::default(), Memory::default());
    let never = u32::MAX;
    let faulty = Faulty::new(cells.clone(), if in_records { never } else { at }, fault.clone());
    let records = Faulty::new(table.clone(), if in_records { at } else { never }, fault.clone());
    let Ok(drafts) = Journal::open(&faulty) else { return true };
    for step in history {
        let old = found(&cells, &table);
        let done = block_on(take(step, &drafts, &records));
        if done.is_ok() {
            continue;
        }
        let state = found(&cells, &table);
        // The same step on sound stores that held the old state.
        let new = {
            let (drafts, records) = (Memory::default(), Memory::default());
            block_on(async {
                for draft in &old.open {
                    put(&drafts, draft).await.unwrap();
                }
                for draft in &old.discarded {
                    let text = draft.to_json();
                    drafts.write(&format!("{DISCARDED}{}", draft.id), text).await.unwrap();
                }
                for record in &old.records {
                    save_record(&records, record).await.unwrap();
                }
                take(step, &drafts, &records).await.unwrap();
            });
            found(&drafts, &records)
        };
        // Between the two stores: signed, and the draft of before still open beside the record.
        let mut between = new.clone();
        between.open = old.open.clone();
        assert!(state == old || state == new || state == between, "{step:?}: {old:?} became {state:?}");
        return true;
    }
    false
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn a_crash_at_any_operation_loses_no_case(history in steps()) {
        let faults = [Fault::CrashBefore, Fault::CrashAfter, Fault::Refuse(StoreError::Full, 1)];
        for (fault, in_records) in faults.iter().flat_map(|f| [(f, false), (f, true)]) {
            let met = (1..).take_while(|&at| run(&history, at, fault, in_records)).count();
            prop_assert!(in_records || met > 0);
        }
    }
}
