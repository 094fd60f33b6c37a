use super::*;
use crate::draft::Field;
use crate::record::faulty::{Fault, Faulty};
use crate::record::journal::Journal;
use crate::record::settings::Theme;
use crate::record::store::Memory;
use crate::record::trial::{at, block_on, case};
use proptest::prelude::*;

#[test]
fn drafts_bench_and_settings_come_back_exactly() {
    let store = Memory::default();
    assert_eq!(block_on(load_bench(&store)), Ok(Stored::Absent));
    let mut draft = case("a");
    draft.write(Field::Notes, "two lines\nand “quotes”, 0,5 µL \u{0}");
    let settings = Settings { theme: Theme::Dark, hide_study: true, ..Settings::default() };
    block_on(async {
        save_draft(&store, &draft).await.unwrap();
        save_bench(&store, &Bench::default()).await.unwrap();
        save_settings(&store, &settings).await.unwrap();
        assert_eq!(load_draft(&store, "a").await, Ok(Stored::Good(draft)));
        assert_eq!(load_bench(&store).await, Ok(Stored::Good(Bench::default())));
        assert_eq!(load_settings(&store).await, Ok(Stored::Good(settings)));
        assert!(aside(&store).await.unwrap().is_empty());
    });
}

#[test]
fn what_cannot_be_read_is_listed_and_stays() {
    let store = Memory::default();
    block_on(async {
        let record = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
        save_record(&store, &record).await.unwrap();
        save_draft(&store, &case("b")).await.unwrap();
        let broken = [
            ("strawline.record.b", "{\"schema\":1,\"id\":\"b\""),
            ("strawline.record.c", ""),
            ("strawline.record.d", "{\"schema\":2}"),
            ("strawline.draft.e", "\u{fffd}\u{0}"),
        ];
        for (key, text) in broken {
            store.write(key, text.to_owned()).await.unwrap();
        }
        store.write("strawline.draft.z", case("b").to_json()).await.unwrap();
        let before = store.texts();
        let cases = cases(&store, &store).await.unwrap();
        assert_eq!(cases.records.good, [record]);
        assert_eq!(cases.drafts.good, [case("b")]);
        let keys = |unreadable: &[Unreadable]| unreadable.iter().map(|u| u.key.clone()).collect::<Vec<_>>();
        assert_eq!(
            keys(&cases.records.unreadable),
            ["strawline.record.b", "strawline.record.c", "strawline.record.d"]
        );
        assert_eq!(cases.records.unreadable[2].reason, Reason::Newer { found: 2 });
        assert_eq!(keys(&cases.drafts.unreadable), ["strawline.draft.e", "strawline.draft.z"]);
        assert_eq!(cases.drafts.unreadable[1].reason, Reason::Misplaced { id: "b".into() });
        let other = Record::sign(case("b"), "MO", at(0), vec![]).unwrap();
        assert!(matches!(save_record(&store, &other).await, Err(SaveError::Occupied(_))));
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
            records(&store).await.unwrap()
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
        for (n, text) in ["not a bench", "{\"schema\":99}"].into_iter().enumerate() {
            store.write("strawline.bench", text.to_owned()).await.unwrap();
            assert!(matches!(load_bench(&store).await, Ok(Stored::Unreadable(_))));
            save_bench(&store, &Bench::default()).await.unwrap();
            assert_eq!(load_bench(&store).await, Ok(Stored::Good(Bench::default())));
            let kept = aside(&store).await.unwrap();
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
        assert_eq!(load_record(&store, "a").await, Ok(Stored::Good(amended)));
    });
}

#[test]
fn a_draft_left_by_a_signature_cut_short_is_passed_over() {
    let (drafts, records) = (Memory::default(), Memory::default());
    block_on(async {
        save_draft(&drafts, &case("a")).await.unwrap();
        let record = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
        let blocked = Faulty::new(drafts.clone(), 1, Fault::CrashBefore);
        assert_eq!(
            sign_off(&blocked, &records, &record).await,
            Err(SaveError::Store(StoreError::Unreachable))
        );
        let found = cases(&drafts, &records).await.unwrap();
        assert_eq!((found.drafts.good, found.records.good), (vec![], vec![record]));
        save_draft(&drafts, &typed("a", "count came back")).await.unwrap();
        let found = cases(&drafts, &records).await.unwrap();
        assert_eq!(found.drafts.good, [typed("a", "count came back")]);
    });
}

/// Steps of a working day. Cases are `a` and `b`.
#[derive(Debug, Clone)]
enum Step {
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

fn typed(id: &str, text: &str) -> Draft {
    let mut draft = case(id);
    draft.write(Field::Notes, text);
    draft
}

async fn take(step: &Step, drafts: &impl Store, records: &impl Store) -> Result<(), SaveError> {
    match step {
        Step::Type(id, text) => save_draft(drafts, &typed(id, text)).await,
        Step::Discard(id) => Ok(discard_draft(drafts, id).await.map(drop)?),
        Step::Restore(id) => Ok(restore_draft(drafts, id).await.map(drop)?),
        Step::SignOrAmend(id, text) => {
            let draft = typed(id, text);
            let record = match load_record(records, id).await? {
                Stored::Good(mut record) => match record.amend(draft, "MO", at(2), vec![], "why") {
                    Ok(()) => record,
                    Err(_) => return Ok(()),
                },
                _ => Record::sign(draft, "MO", at(1), vec![]).unwrap(),
            };
            sign_off(drafts, records, &record).await
        }
    }
}

/// What a person would find after starting the page again: drafts, discarded drafts, records.
fn found(drafts: &Memory, records: &Memory) -> (Cases, Listing<Draft>) {
    let drafts = Journal::open(drafts.clone()).unwrap();
    block_on(async { (cases(&drafts, records).await.unwrap(), discarded(&drafts).await.unwrap()) })
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
                for draft in &old.0.drafts.good {
                    save_draft(&drafts, draft).await.unwrap();
                }
                for draft in &old.1.good {
                    let text = draft.to_json();
                    drafts.write(&format!("{DISCARDED}{}", draft.id), text).await.unwrap();
                }
                for record in &old.0.records.good {
                    save_record(&records, record).await.unwrap();
                }
                take(step, &drafts, &records).await.unwrap();
            });
            found(&drafts, &records)
        };
        // Between the two stores: signed, and the draft of before still open beside the record.
        let mut between = new.clone();
        between.0.drafts = old.0.drafts.clone();
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
