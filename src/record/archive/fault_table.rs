//! The fault table: a crash after every single storage operation of many mixed histories, and every kind of damage to
//! what is stored. Told with `--nocapture`: tried, lost, shown wrong. A sample of the histories in the standard run,
//! all of them with `STRAWLINE_LONG=1`.

use super::tests::{Found, Step, found, good, kept, take, typed};
use super::*;
use crate::record::chain::Chain;
use crate::record::faulty::{Fault, Faulty};
use crate::record::journal::Journal;
use crate::record::store::Memory;
use crate::record::trial::{at, block_on};

/// Histories in the long run.
const ALL: u64 = 200;
/// Storage operations of a history at least.
const OPERATIONS: u32 = 50;

fn long() -> bool {
    std::env::var_os("STRAWLINE_LONG").is_some()
}

/// Numbers by chance, the same in each run (xorshift).
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from(self.0 % u64::try_from(n).unwrap()).unwrap()
    }

    fn step(&mut self) -> Step {
        let id = ["a", "b", "c"][self.below(3)];
        let text = self.below(1000).to_string();
        match self.below(8) {
            0..3 => Step::Type(id, text),
            3 => Step::Discard(id),
            4 => Step::Restore(id),
            _ => Step::SignOrAmend(id, text),
        }
    }
}

/// One thing a fault did to somebody.
#[derive(Debug, Default)]
struct Table {
    tried: u32,
    lost: u32,
    wrong: u32,
}

/// A history long enough, and what a person finds before it and after each step.
fn history(chance: &mut Chance) -> (Vec<Step>, Vec<Found>) {
    let (cells, table) = (Memory::default(), Memory::default());
    let counting = Faulty::new(cells.clone(), u32::MAX, Fault::CrashAfter);
    let records = Faulty::new(table.clone(), u32::MAX, Fault::CrashAfter);
    let journal = Journal::open(&counting).unwrap();
    let (mut steps, mut states) = (Vec::new(), vec![found(&cells, &table)]);
    while counting.operations() + records.operations() < OPERATIONS {
        let step = chance.step();
        block_on(take(&step, &journal, &records)).unwrap();
        states.push(found(&cells, &table));
        steps.push(step);
    }
    (steps, states)
}

/// Every record's line, after a look at it, is of it; and what is listed is what is there.
fn lines_fit(table: &Memory) -> bool {
    block_on(async {
        let read =
            |texts: Vec<String>| texts.iter().filter_map(|t| Line::from_json(t).ok()).collect::<Vec<_>>();
        let before = read(line_texts(table).await.unwrap());
        for id in record_ids(table).await.unwrap() {
            look(table, &id, before.iter().find(|line| line.id == id)).await.unwrap();
        }
        let lines = read(line_texts(table).await.unwrap());
        let records = kept(table).await;
        lines.len() == records.len()
            && records
                .iter()
                .zip(&lines)
                .all(|(record, line)| *line == Line::of(record, &record.to_json().unwrap(), None))
    })
}

/// Runs a history until its fault; whether it met it.
fn crash(steps: &[Step], states: &[Found], at: u32, in_records: bool, told: &mut Table) -> bool {
    let (cells, table) = (Memory::default(), Memory::default());
    let never = u32::MAX;
    let drafts = Faulty::new(cells.clone(), if in_records { never } else { at }, Fault::CrashAfter);
    let records = Faulty::new(table.clone(), if in_records { at } else { never }, Fault::CrashAfter);
    let met = match Journal::open(&drafts) {
        Err(_) => Some(0),
        Ok(journal) => steps.iter().position(|step| block_on(take(step, &journal, &records)).is_err()),
    };
    let Some(step) = met else { return false };
    told.tried += 1;
    let (old, new) = (&states[step], &states[(step + 1).min(states.len() - 1)]);
    let state = found(&cells, &table);
    // Between the two stores: signed, and the draft of before still open beside the record.
    let between = Found { open: old.open.clone(), ..new.clone() };
    let right = [old, new, &between].contains(&&state) && lines_fit(&table);
    let there = |id: &str| {
        state.open.iter().chain(&state.discarded).any(|d| d.id == id)
            || state.records.iter().any(|r| r.id() == id)
    };
    let cases = old.open.iter().chain(&old.discarded).map(|d| d.id.as_str());
    told.lost += u32::from(!cases.chain(old.records.iter().map(Record::id)).all(there));
    told.wrong += u32::from(!right);
    true
}

#[test]
fn a_crash_after_any_operation_of_any_history_loses_nothing() {
    let mut chance = Chance(0x5EED);
    let (histories, mut told) = (if long() { ALL } else { ALL / 20 }, Table::default());
    for _ in 0..histories {
        let (steps, states) = history(&mut chance);
        let mut operations = 0;
        for in_records in [false, true] {
            let met = (1..).take_while(|&at| crash(&steps, &states, at, in_records, &mut told));
            operations += u32::try_from(met.count()).unwrap();
        }
        assert!(operations >= OPERATIONS, "{operations}");
    }
    println!("crash after an operation: {histories} histories, {told:?}");
    assert!(told.tried >= if long() { 10_000 } else { 500 });
    assert_eq!((told.lost, told.wrong), (0, 0));
}

#[test]
fn damage_to_what_is_stored_is_never_shown_as_right() {
    let mut chance = Chance(0xDA4A);
    let mut told = Table::default();
    let (mut whole, mut before, mut changed) = (0, 0, 0);
    let store = Memory::default();
    let first = Record::sign(typed("a", "first"), "MO", at(0), vec![]).unwrap();
    let mut record = first.clone();
    record.amend(typed("a", "second"), "JT", at(1), vec![], "why").unwrap();
    block_on(async {
        save_record(&store, &first).await.unwrap();
        save_record(&store, &record).await.unwrap();
    });
    let sound = store.texts();
    let key = format!("{RECORD}a");
    let text = sound[&key].clone();
    for _ in 0..if long() { 10_000 } else { 1_000 } {
        let mut bytes = text.clone().into_bytes();
        let place = chance.below(bytes.len());
        match chance.below(4) {
            0 => bytes.truncate(place),
            // Any printable letter; a changed bit may be no text at all, which the browser would not give back.
            _ => bytes[place] = u8::try_from(32 + chance.below(95)).unwrap(),
        }
        let spoilt = String::from_utf8_lossy(&bytes).into_owned();
        if spoilt == text {
            continue;
        }
        told.tried += 1;
        let found = block_on(async {
            store.write(&key, spoilt.clone()).await.unwrap();
            let line = Line::from_json(&sound[&format!("{LINE}a")]).unwrap();
            let looked = look(&store, "a", Some(&line)).await.unwrap();
            (load_record(&store, "a").await.unwrap(), looked)
        });
        match found {
            (Stored::Good(Kept { record: shown, damaged: None }), Looked::Renewed { line, .. }) => {
                // Letters of the layout alone may change without a change of what it says.
                match shown.verify() {
                    Chain::Broken { .. } if line.outside => changed += 1,
                    Chain::Sound { since: 0 } if shown == record => whole += 1,
                    _ => told.wrong += 1,
                }
            }
            (Stored::Good(Kept { record: shown, damaged: Some(d) }), Looked::Renewed { line, .. }) => {
                before += 1;
                told.wrong += u32::from(shown != first || d.text != spoilt || !line.damaged);
            }
            _ => told.lost += 1,
        }
        assert_eq!(store.texts()[&key], spoilt, "what is damaged stays as it is");
    }
    println!(
        "damage: {told:?}, of them {before} shown as the state before, {changed} as changed, {whole} the same"
    );
    assert_eq!((told.lost, told.wrong), (0, 0));
    assert!(before > 0 && changed > 0);
}

#[test]
fn a_damaged_newest_state_is_added_to_over_the_state_before() {
    block_on(async {
        let store = Memory::default();
        let first = Record::sign(typed("a", "first"), "MO", at(0), vec![]).unwrap();
        save_record(&store, &first).await.unwrap();
        let key = format!("{RECORD}a");
        store.write(&key, "cut o".to_owned()).await.unwrap();
        let Ok(Stored::Good(Kept { record, damaged: Some(damaged) })) = load_record(&store, "a").await else {
            panic!("signed once, its second copy stands");
        };
        assert_eq!((record, damaged.text.as_str()), (first.clone(), "cut o"));
        let mut record = first.clone();
        record.amend(typed("a", "second"), "JT", at(1), vec![], "why").unwrap();
        let other = Record::sign(typed("a", "another"), "MO", at(0), vec![]).unwrap();
        assert_eq!(save_record(&store, &other).await, Err(SaveError::Conflict));
        save_record(&store, &record).await.unwrap();
        assert_eq!(good(&store, "a").await, record);
        assert_eq!(store.texts()["strawline.aside.record.a.1"], "cut o");
        // Taken away outside, it is still there.
        store.remove(&key).await.unwrap();
        let Ok(Stored::Good(kept)) = load_record(&store, "a").await else { panic!("gone") };
        assert_eq!((kept.record, kept.damaged.unwrap().reason), (first, Reason::Missing));
        // Of a newer version nothing older is shown, and nothing is written over it.
        store.write(&key, "{\"schema\":9}".to_owned()).await.unwrap();
        assert!(matches!(load_record(&store, "a").await, Ok(Stored::Unreadable(_))));
        assert!(matches!(save_record(&store, &record).await, Err(SaveError::Occupied(_))));
    });
}
