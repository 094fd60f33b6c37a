//! Drafts, records, the Bench and settings in a store, each under its key.
//!
//! A text that cannot be read is listed and left where it is; before something else takes its key it is copied
//! aside. Nothing is overwritten unseen.

use super::settings::Settings;
use super::store::{Store, StoreError};
use super::{Reason, Record};
use crate::bench::Bench;
use crate::draft::Draft;

/// Begins every key: pages opened from a disk may all share one store.
pub const PREFIX: &str = "strawline.";
const DRAFT: &str = "strawline.draft.";
const DISCARDED: &str = "strawline.discarded.";
const RECORD: &str = "strawline.record.";
const BENCH: &str = "strawline.bench";
const SETTINGS: &str = "strawline.settings";
const ASIDE: &str = "strawline.aside.";

/// A stored text that cannot be read, as it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Unreadable {
    /// Where it stays.
    pub key: String,
    /// All of it.
    pub text: String,
    /// Why.
    pub reason: Reason,
}

/// What is under one key.
#[derive(Debug, Clone, PartialEq)]
pub enum Stored<T> {
    /// Nothing.
    Absent,
    /// What was meant.
    Good(T),
    /// Something else.
    Unreadable(Unreadable),
}

/// What is under many keys.
#[derive(Debug, Clone, PartialEq)]
pub struct Listing<T> {
    /// What could be read, by key.
    pub good: Vec<T>,
    /// What could not.
    pub unreadable: Vec<Unreadable>,
}

/// What stands open and what is signed.
#[derive(Debug, Clone, PartialEq)]
pub struct Cases {
    /// Open drafts; one with the id of a record is an amendment not yet signed.
    pub drafts: Listing<Draft>,
    /// Signed records.
    pub records: Listing<Record>,
}

/// Why something was not kept. What was kept before still stands.
#[derive(Debug, Clone, PartialEq)]
pub enum SaveError {
    /// The store.
    Store(StoreError),
    /// It would not come back as it is: some number is not finite.
    NotExact,
    /// The stored record holds an entry that this one does not, as when another tab amended it.
    Conflict,
    /// What is stored cannot be read and is not written over.
    Occupied(Unreadable),
}

impl From<StoreError> for SaveError {
    fn from(error: StoreError) -> Self {
        SaveError::Store(error)
    }
}

fn read_text<T>(key: &str, text: String, read: impl Fn(&str) -> Result<T, Reason>) -> Stored<T> {
    match read(&text) {
        Ok(value) => Stored::Good(value),
        Err(reason) => Stored::Unreadable(Unreadable { key: key.to_owned(), text, reason }),
    }
}

async fn load<T>(
    store: &impl Store,
    key: &str,
    read: impl Fn(&str) -> Result<T, Reason>,
) -> Result<Stored<T>, StoreError> {
    Ok(match store.read(key).await? {
        Some(text) => read_text(key, text, read),
        None => Stored::Absent,
    })
}

/// Reads what belongs to a case: it must name the id of its key.
async fn list<T>(
    store: &impl Store,
    prefix: &str,
    read: impl Fn(&str) -> Result<T, Reason>,
    id: impl Fn(&T) -> &str,
) -> Result<Listing<T>, StoreError> {
    let mut listing = Listing { good: Vec::new(), unreadable: Vec::new() };
    for (key, text) in store.read_all(prefix).await? {
        let read = |text: &str| match read(text)? {
            value if key.strip_prefix(prefix) == Some(id(&value)) => Ok(value),
            value => Err(Reason::Misplaced { id: id(&value).to_owned() }),
        };
        match read_text(&key, text, read) {
            Stored::Good(value) => listing.good.push(value),
            Stored::Unreadable(unreadable) => listing.unreadable.push(unreadable),
            Stored::Absent => {}
        }
    }
    Ok(listing)
}

/// Writes to a key of which there is one; a text there that cannot be read is copied aside first.
async fn replace<T>(
    store: &impl Store,
    key: &str,
    text: String,
    read: impl Fn(&str) -> Result<T, Reason>,
) -> Result<(), SaveError> {
    if read(&text).is_err() {
        return Err(SaveError::NotExact);
    }
    let mut batch = vec![(key.to_owned(), Some(text))];
    if let Stored::Unreadable(old) = load(store, key, read).await? {
        let taken = store.read_all(ASIDE).await?;
        let name = key.strip_prefix(PREFIX).unwrap_or(key);
        let mut names = (1..=u32::MAX).map(|n| format!("{ASIDE}{name}.{n}"));
        let free = names.find(|name| taken.iter().all(|(key, _)| key != name)).ok_or(StoreError::Full)?;
        batch.push((free, Some(old.text)));
    }
    Ok(store.write_all(batch).await?)
}

fn read_draft(text: &str) -> Result<Draft, Reason> {
    Draft::from_json(text).map_err(Reason::from)
}

fn read_bench(text: &str) -> Result<Bench, Reason> {
    Bench::from_json(text).map_err(Reason::from)
}

/// Keeps an open draft. Errors: the store's.
pub async fn save_draft(store: &impl Store, draft: &Draft) -> Result<(), SaveError> {
    let text = draft.to_json();
    if text.is_empty() {
        return Err(SaveError::NotExact);
    }
    Ok(store.write(&format!("{DRAFT}{}", draft.id), text).await?)
}

/// An open draft. Errors: the store's.
pub async fn load_draft(store: &impl Store, id: &str) -> Result<Stored<Draft>, StoreError> {
    load(store, &format!("{DRAFT}{id}"), read_draft).await
}

/// Discarded drafts. Errors: the store's.
pub async fn discarded(store: &impl Store) -> Result<Listing<Draft>, StoreError> {
    list(store, DISCARDED, read_draft, |draft| &draft.id).await
}

/// Takes a draft from the open ones, to be brought back by [`restore_draft`]; false if there is none.
pub async fn discard_draft(store: &impl Store, id: &str) -> Result<bool, StoreError> {
    shift(store, format!("{DRAFT}{id}"), format!("{DISCARDED}{id}")).await
}

/// Brings a discarded draft back; false if there is none, or if one with its id is open.
pub async fn restore_draft(store: &impl Store, id: &str) -> Result<bool, StoreError> {
    let open = format!("{DRAFT}{id}");
    if store.read(&open).await?.is_some() {
        return Ok(false);
    }
    shift(store, format!("{DISCARDED}{id}"), open).await
}

/// Removes a discarded draft for good. Errors: the store's.
pub async fn forget_discarded(store: &impl Store, id: &str) -> Result<(), StoreError> {
    store.remove(&format!("{DISCARDED}{id}")).await
}

async fn shift(store: &impl Store, from: String, to: String) -> Result<bool, StoreError> {
    let Some(text) = store.read(&from).await? else { return Ok(false) };
    store.write_all(vec![(to, Some(text)), (from, None)]).await?;
    Ok(true)
}

/// Keeps a record: a new one, or one that adds to what is stored. Errors: see [`SaveError`].
pub async fn save_record(store: &impl Store, record: &Record) -> Result<(), SaveError> {
    let text = record.to_json().ok_or(SaveError::NotExact)?;
    match load_record(store, record.id()).await? {
        Stored::Unreadable(unreadable) => return Err(SaveError::Occupied(unreadable)),
        Stored::Good(stored) if !stored.is_start_of(record) => return Err(SaveError::Conflict),
        Stored::Good(_) | Stored::Absent => {}
    }
    Ok(store.write(&format!("{RECORD}{}", record.id()), text).await?)
}

/// A record. Errors: the store's.
pub async fn load_record(store: &impl Store, id: &str) -> Result<Stored<Record>, StoreError> {
    load(store, &format!("{RECORD}{id}"), Record::from_json).await
}

/// Keeps a signed or amended record, then takes its draft from the open ones. Cut short in between, the draft
/// stays and [`cases`] passes over it. Errors: see [`SaveError`]; the record is kept if a later
/// [`load_record`] finds it.
pub async fn sign_off(drafts: &impl Store, records: &impl Store, record: &Record) -> Result<(), SaveError> {
    save_record(records, record).await?;
    Ok(drafts.remove(&format!("{DRAFT}{}", record.id())).await?)
}

/// All records. Errors: the store's.
pub async fn records(store: &impl Store) -> Result<Listing<Record>, StoreError> {
    list(store, RECORD, Record::from_json, Record::id).await
}

/// All open drafts and records; a draft that only repeats an entry of its record is left out. Errors: a store's.
pub async fn cases(drafts: &impl Store, records: &impl Store) -> Result<Cases, StoreError> {
    let records = self::records(records).await?;
    let mut drafts = list(drafts, DRAFT, read_draft, |draft: &Draft| &draft.id).await?;
    drafts.good.retain(|draft| {
        let mut entries = records.good.iter().filter(|r| r.id() == draft.id).flat_map(Record::entries);
        !entries.any(|entry| entry.draft == *draft)
    });
    Ok(Cases { drafts, records })
}

/// Keeps the Bench. Errors: the store's, or a Bench that contradicts itself.
pub async fn save_bench(store: &impl Store, bench: &Bench) -> Result<(), SaveError> {
    replace(store, BENCH, bench.to_json(), read_bench).await
}

/// The Bench. Errors: the store's.
pub async fn load_bench(store: &impl Store) -> Result<Stored<Bench>, StoreError> {
    load(store, BENCH, read_bench).await
}

/// Keeps the settings. Errors: the store's.
pub async fn save_settings(store: &impl Store, settings: &Settings) -> Result<(), SaveError> {
    let text = serde_json::to_string(settings).map_err(|_| SaveError::NotExact)?;
    replace(store, SETTINGS, text, Settings::from_json).await
}

/// The settings. Errors: the store's.
pub async fn load_settings(store: &impl Store) -> Result<Stored<Settings>, StoreError> {
    load(store, SETTINGS, Settings::from_json).await
}

/// Texts that were copied aside, by key. Errors: the store's.
pub async fn aside(store: &impl Store) -> Result<Vec<(String, String)>, StoreError> {
    store.read_all(ASIDE).await
}

#[cfg(test)]
mod tests {
    use super::super::faulty::{Fault, Faulty};
    use super::super::journal::Journal;
    use super::super::settings::Theme;
    use super::super::store::Memory;
    use super::super::trial::{at, block_on, case};
    use super::*;
    use crate::draft::Field;
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
            let keys =
                |unreadable: &[Unreadable]| unreadable.iter().map(|u| u.key.clone()).collect::<Vec<_>>();
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
}
