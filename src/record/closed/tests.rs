use super::safe::{Found, Refused, Safe, Trouble};
use super::store::{Closed, Shared, State};
use super::*;
use crate::draft::Draft;
use crate::export::card::Given;
use crate::record::archive;
use crate::record::archive::{CLOCKS, LOCK, LOCK_ASIDE, SETTLING};
use crate::record::faulty::{Fault, Faulty};
use crate::record::journal::Cells;
use crate::record::store::{Memory, Store, StoreError};
use crate::record::trial::{Raced, at, block_on, case};
use crate::record::{Record, archive::Stored};
use proptest::prelude::*;
use std::sync::atomic::{AtomicU64, Ordering};

/// Small, so that the tests are quick; the usual cost is tried once.
const QUICK: Cost = Cost { memory: 64, passes: 1 };
const PHRASE: &str = "straw and garnet";

/// A different sequence at every call, as chance would give.
fn chance(bytes: &mut [u8]) -> Result<(), ClosedError> {
    static COUNT: AtomicU64 = AtomicU64::new(0);
    for part in bytes.chunks_mut(8) {
        let n = COUNT.fetch_add(1, Ordering::Relaxed).wrapping_mul(0x9e37_79b9_7f4a_7c15).rotate_left(23);
        for (byte, of) in part.iter_mut().zip(n.to_le_bytes()) {
            *byte = of;
        }
    }
    Ok(())
}

fn lock() -> (Lock, Key, RecoveryKey) {
    Lock::new(PHRASE, QUICK, &mut chance).unwrap()
}

fn hex(text: &str) -> Vec<u8> {
    let text: String = text.split_whitespace().collect();
    (0..text.len()).step_by(2).map(|i| u8::from_str_radix(&text[i..i + 2], 16).unwrap()).collect()
}

#[test]
fn a_key_is_made_as_the_reference_implementation_of_argon2_makes_it() {
    // test.c of the reference implementation, version 19, m = 2^16, t = 2, p = 1; read as quoted in the tests of the
    // crate argon2 0.5.3.
    let made = slow_key(b"password", b"somesalt", Cost::USUAL).unwrap();
    assert_eq!(made.to_vec(), hex("09316115d5cf24ed5a15a31a3ba326e5cf32edc24702987c02b6566f61913cf7"));
}

#[test]
fn argon2id_gives_the_tag_of_rfc_9106() {
    // RFC 9106, 5.3; read as quoted there.
    let data = argon2::AssociatedData::new(&[4; 12]).unwrap();
    let params = argon2::ParamsBuilder::new().m_cost(32).t_cost(3).p_cost(4).data(data).build().unwrap();
    let argon = Argon2::new_with_secret(&[3; 8], Algorithm::Argon2id, Version::V0x13, params).unwrap();
    let mut tag = [0; 32];
    argon.hash_password_into(&[1; 32], &[2; 16], &mut tag).unwrap();
    assert_eq!(tag.to_vec(), hex("0d640df58d78766c08c037a34a8b53c9d01ef0452d75b65eb52520e96b01e659"));
}

#[test]
fn a_text_is_encrypted_as_the_draft_of_xchacha_says() {
    // draft-irtf-cfrg-xchacha, A.3.1; read as quoted in the tests of the crate chacha20poly1305 0.10.
    let key: Vec<u8> = (0x80..=0x9f).collect();
    let nonce: Vec<u8> = (0x40..=0x57).collect();
    let mut text =
        b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the future, \
sunscreen would be it."
            .to_vec();
    let cipher = Key::new(key.try_into().unwrap()).cipher;
    let tag = cipher
        .encrypt_in_place_detached(XNonce::from_slice(&nonce), &hex("50515253c0c1c2c3c4c5c6c7"), &mut text)
        .unwrap();
    assert_eq!(tag.to_vec(), hex("c0875924c1c7987947deafd8780acf49"));
    let wanted = "bd6d179d3e83d43b9576579493c0e939572a1700252bfaccbed2902c21396cbb731c7f1b0b4aa6440bf3a82f4eda7e39\
ae64c6708c54c216cb96b72e1213b4522f8c9ba40db5d945b11b69b982c1bb9e3f3fac2bc369488f76b2383565d3fff921f9664c97637da976\
8812f615c68b13b52e";
    assert_eq!(text, hex(wanted));
}

#[test]
fn what_opens_a_lock_opens_every_text_and_nothing_else_does() {
    let (lock, key, recovery) = lock();
    let closed = key.close("strawline.draft.a", "HL-0417", &mut chance).unwrap();
    let back = Lock::from_json(&lock.to_json().unwrap()).unwrap();
    assert_eq!(back, lock);
    let typed = recovery.to_string().to_lowercase().replace('-', " ").replace('0', "o").replace('1', "l");
    for with in [With::Passphrase(PHRASE), With::Recovery(&typed), With::Either(PHRASE), With::Either(&typed)]
    {
        let key = back.open(with).unwrap();
        assert_eq!(key.open("strawline.draft.a", &closed), Ok("HL-0417".into()));
        assert_eq!(key.open("strawline.draft.b", &closed), Err(ClosedError::Wrong), "put in another's place");
    }
    let wrong = |with| back.open(with).unwrap_err();
    assert_eq!(wrong(With::Passphrase("straw and garnets")), ClosedError::Wrong);
    assert_eq!(wrong(With::Passphrase("")), ClosedError::Wrong);
    assert_eq!(wrong(With::Either("straw and garnets")), ClosedError::Wrong);
    assert_eq!(wrong(With::Either(&typed[1..])), ClosedError::Wrong);
    assert_eq!(wrong(With::Recovery(PHRASE)), ClosedError::NotARecoveryKey);
    let (other, _, others) = self::lock();
    assert_eq!(wrong(With::Recovery(&others.to_string())), ClosedError::Wrong);
    assert!(other.open(With::Passphrase(PHRASE)).unwrap().open("strawline.draft.a", &closed).is_err());
    assert_eq!(Lock::new("too short", QUICK, &mut chance).err(), Some(ClosedError::TooShort));
}

#[test]
fn another_passphrase_opens_the_same_texts_and_the_old_one_no_longer() {
    let (lock, key, recovery) = lock();
    let closed = key.close("p", "HL-0417", &mut chance).unwrap();
    let anew = lock.with_passphrase(&key, "another one altogether", &mut chance).unwrap();
    let opens = |with| anew.open(with).and_then(|k| k.open("p", &closed));
    assert_eq!(opens(With::Passphrase("another one altogether")), Ok("HL-0417".into()));
    assert_eq!(opens(With::Passphrase(PHRASE)), Err(ClosedError::Wrong));
    assert_eq!(opens(With::Recovery(&recovery.to_string())), Ok("HL-0417".into()));
}

#[test]
fn a_lock_that_was_tampered_with_opens_nothing_and_asks_for_no_more_memory() {
    let (lock, ..) = lock();
    let text = lock.to_json().unwrap();
    // More than 256 MiB, or less than what any lock was made with: the first ends the page, the second makes
    // guessing cheap.
    for memory in ["4000000", "262145", "63"] {
        let other = text.replace("\"memory\":64", &format!("\"memory\":{memory}"));
        assert_ne!(other, text);
        assert_eq!(Lock::from_json(&other), Err(ClosedError::Damaged), "{memory}");
    }
    for passes in ["0", "17"] {
        let other = text.replace("\"passes\":1", &format!("\"passes\":{passes}"));
        assert_eq!(Lock::from_json(&other), Err(ClosedError::Damaged), "{passes}");
    }
    let dearer = Lock::from_json(&text.replace("\"memory\":64", "\"memory\":128")).unwrap();
    assert_eq!(dearer.open(With::Passphrase(PHRASE)).unwrap_err(), ClosedError::Wrong);
    for text in ["", "{}", "closed-1 ", &text[1..], &text.replace("\"schema\":1", "\"schema\":2")] {
        assert_eq!(Lock::from_json(text), Err(ClosedError::Damaged), "{text}");
    }
}

#[test]
fn memory_that_is_not_to_be_had_is_said_and_ends_nothing() {
    // More than any address reaches.
    assert_eq!(blocks(usize::MAX >> 10).err(), Some(ClosedError::NoMemory));
    assert_eq!(blocks(3).map(|memory| memory.len()), Ok(3));
}

/// A store under a key of its own, its lock beneath it.
fn keyed() -> Closed<Memory> {
    let (lock, key, _) = lock();
    let memory = Memory::default();
    memory.put(LOCK, Some(&lock.to_json().unwrap())).unwrap();
    Closed::new(memory, under(&lock, &key), chance)
}

fn under(lock: &Lock, key: &Key) -> Shared {
    Shared::new(State::Keyed { id: lock.id().to_owned(), key: key.clone(), closes: true }.into())
}

#[test]
fn without_chance_nothing_is_closed_and_nothing_is_written() {
    fn none(_: &mut [u8]) -> Result<(), ClosedError> {
        Err(ClosedError::NoChance)
    }
    assert_eq!(Lock::new(PHRASE, QUICK, &mut none).err(), Some(ClosedError::NoChance));
    let (lock, key, _) = lock();
    let memory = Memory::default();
    memory.put(LOCK, Some(&lock.to_json().unwrap())).unwrap();
    let store = Closed::new(memory, under(&lock, &key), none);
    assert!(block_on(store.write("strawline.draft.a", "HL-0417".into())).is_err());
    assert_eq!(store.beneath().texts().len(), 1, "never in clear because it could not be closed");
}

proptest! {
    #[test]
    fn any_text_comes_back_and_any_change_of_it_is_refused(text in ".*", place in ".{0,20}", at in any::<usize>(), bit in 0..8_u8) {
        let (_, key, _) = lock();
        let closed = key.close(&place, &text, &mut chance).unwrap();
        prop_assert_eq!(key.open(&place, &closed), Ok(text));
        let mut bytes = STANDARD.decode(&closed[MARK.len()..]).unwrap();
        let at = at % bytes.len();
        bytes[at] ^= 1 << bit;
        let spoilt = format!("{MARK}{}", STANDARD.encode(&bytes));
        prop_assert_eq!(key.open(&place, &spoilt), Err(ClosedError::Wrong));
        bytes.truncate(at);
        let cut = format!("{MARK}{}", STANDARD.encode(bytes));
        prop_assert_eq!(key.open(&place, &cut), Err(ClosedError::Wrong));
    }

    #[test]
    fn no_text_opens_or_locks_by_accident(text in ".*") {
        let key = lock().1;
        prop_assert!(key.open("p", &text).is_err());
        let marked = format!("{MARK}{text}");
        prop_assert!(key.open("p", &marked).is_err());
        prop_assert!(Lock::from_json(&text).is_err());
        // Whatever is typed is a recovery key or is refused, without a panic.
        if let Ok(recovery) = RecoveryKey::read(&text) {
            prop_assert_eq!(recovery.to_string().len(), 39);
        }
    }
}

/// A signed case that names a patient, a prescriber and a note.
fn signed(id: &str) -> (Draft, Record) {
    use crate::assess::{Now, assess};
    use crate::quantity::time::Offset;
    use crate::words::Language;
    let mut draft = case(id);
    draft.write(crate::draft::Field::Notes, "rowed on Sunday");
    draft.write(crate::draft::Field::Prescriber, "Dr A. Reyes-Lindqvist");
    let now = Now { at: at(60), offset: Offset::UTC };
    let (read, _) = crate::case::read(&draft, Language::English);
    let answer = assess(&read, now);
    let clinic = crate::bench::Bench::default().clinic;
    let given = Given {
        draft: &draft,
        case: &read,
        answer: &answer,
        clinic: &clinic,
        language: Language::English,
        now,
        record: None,
        standing: crate::record::standing::RecordStanding::Sound,
        sessions: &[],
    };
    let record = crate::export::signed::sign(given, "MO", at(61)).unwrap();
    (draft, record)
}

fn kept(record: &Record) -> archive::Kept {
    archive::Kept { record: record.clone(), damaged: None }
}

/// Each has a sign that no closed text is written with, so that none stands in one by chance.
const TELLING: [&str; 4] = ["HL-0417", "rowed on", "Reyes-", "blood_"];

fn tells(store: &Memory) -> Vec<String> {
    let texts = store.texts();
    let all = texts.iter().filter(|(_, text)| TELLING.iter().any(|word| text.contains(word)));
    all.map(|(key, _)| key.clone()).collect()
}

#[test]
fn a_stolen_store_tells_nothing_of_a_patient_and_the_archive_works_as_ever() {
    let store = keyed();
    let (draft, record) = signed("a");
    block_on(async {
        archive::save_draft(&store, &draft, None).await.unwrap();
        archive::save_record(&store, &record).await.unwrap();
        assert_eq!(archive::load_draft(&store, "a").await, Ok(Stored::Good(draft.clone())));
        assert_eq!(archive::load_record(&store, "a").await, Ok(Stored::Good(kept(&record))));
    });
    assert!(store.beneath().texts().len() >= 5);
    assert_eq!(tells(store.beneath()), [""; 0]);
    // Without the key nothing is read, written or listed, nothing is lost, and nothing is called unreadable.
    let before = store.beneath().texts();
    for state in [State::Shut, State::Clear] {
        let again = Closed::new(store.beneath().clone(), Shared::new(state.into()), chance);
        block_on(async {
            let shut = Err(StoreError::Shut);
            assert_eq!(archive::load_record(&again, "a").await, shut);
            assert_eq!(archive::look(&again, "a", None).await, Err(StoreError::Shut));
            assert_eq!(archive::drafts(&again).await, Err(StoreError::Shut));
            assert_eq!(again.write("strawline.draft.b", "HL-0417".into()).await, Err(StoreError::Shut));
            let put = vec![("strawline.draft.b".to_owned(), Some("HL-0417".to_owned()))];
            assert_eq!(again.write_all_if("strawline.draft.b", None, put).await, Err(StoreError::Shut));
        });
        assert_eq!(again.beneath().texts(), before);
    }
}

#[test]
fn a_write_that_names_what_it_expects_still_finds_another_writer_out() {
    let store = keyed();
    block_on(async {
        let put = |text: &str| vec![("k".to_owned(), Some(text.to_owned()))];
        assert_eq!(store.write_all_if("k", None, put("one")).await, Ok(true));
        assert_eq!(store.write_all_if("k", None, put("two")).await, Ok(false));
        assert_eq!(store.write_all_if("k", Some("two"), put("three")).await, Ok(false));
        assert_eq!(store.write_all_if("k", Some("one"), put("two")).await, Ok(true));
        assert_eq!(store.read("k").await, Ok(Some("two".into())));
    });
}

#[test]
fn nothing_is_closed_under_a_lock_that_goes_in_that_moment() {
    let (lock, key, _) = lock();
    let text = lock.to_json().unwrap();
    let other = lock.with_passphrase(&key, "another one altogether", &mut chance).unwrap().to_json().unwrap();
    let memory = Memory::default();
    let place = "strawline.draft.a";
    let put = || vec![(place.to_owned(), Some("HL-0417".to_owned()))];
    // Another tab puts this in the place of the lock just before the next change.
    let store = |instead: Option<&str>| {
        let theirs = vec![(LOCK.to_owned(), instead.map(str::to_owned))];
        Closed::new(Raced(&memory, Some(theirs).into()), under(&lock, &key), chance)
    };
    block_on(async {
        memory.put(LOCK, Some(&text)).unwrap();
        assert_eq!(store(None).write_all_if(place, None, put()).await, Err(StoreError::Shut));
        memory.put(LOCK, Some(&text)).unwrap();
        assert_eq!(store(None).write_all(put()).await, Err(StoreError::Shut));
        assert!(memory.texts().is_empty());
        // Nor is what stands in clear closed then.
        memory.put(LOCK, Some(&text)).unwrap();
        memory.put(place, Some("HL-0417")).unwrap();
        let left = store(None).settle(&["strawline.draft."], &at_once).await;
        assert_eq!(left.map(|left| left.changed), Ok(1));
        assert_eq!(memory.get(place), Ok(Some("HL-0417".into())));
        // The same lock under another passphrase is no reason to refuse, or to say that somebody wrote.
        memory.put(place, None).unwrap();
        memory.put(LOCK, Some(&text)).unwrap();
        assert_eq!(store(Some(&other)).write_all_if(place, None, put()).await, Ok(true));
        memory.put(LOCK, Some(&text)).unwrap();
        assert_eq!(store(Some(&other)).write_all(put()).await, Ok(()));
        let kept = memory.get(place).unwrap().unwrap();
        assert_eq!(key.open(place, &kept), Ok("HL-0417".into()));
    });
}

#[test]
fn the_case_closed_last_is_compared_without_opening_it_and_any_other_text_is_opened() {
    let (one, key, _) = lock();
    let memory = Memory::default();
    memory.put(LOCK, Some(&one.to_json().unwrap())).unwrap();
    let state = under(&one, &key);
    let store = Closed::new(memory.clone(), state.clone(), chance);
    let place = "strawline.draft.a";
    let put = |text: &str| vec![(place.to_owned(), Some(text.to_owned()))];
    block_on(async {
        assert_eq!(store.write_all_if(place, None, put("HL-0417")).await, Ok(true));
        // Another tab wrote: what was closed here last says nothing of that.
        let theirs = key.close(place, "theirs", &mut chance).unwrap();
        let mine = memory.get(place).unwrap().unwrap();
        memory.put(place, Some(&theirs)).unwrap();
        assert_eq!(store.read(place).await, Ok(Some("theirs".into())));
        assert_eq!(store.write_all_if(place, Some("HL-0417"), put("more")).await, Ok(false));
        memory.put(place, Some(&mine)).unwrap();
        // A key that opens nothing shows what was not opened.
        state.replace(State::Keyed { id: one.id().to_owned(), key: lock().1, closes: true });
        assert_eq!(store.write_all_if(place, Some("HL-0417"), put("more")).await, Ok(true));
        memory.put("strawline.draft.b", Some(&mine)).unwrap();
        assert_eq!(store.read("strawline.draft.b").await, Ok(Some(mine)), "put in another's place");
        state.replace(State::Shut);
        assert_eq!(store.read(place).await, Err(StoreError::Shut));
    });
}

/// Nothing else has to be done in between.
async fn at_once() {}

type Texts = std::collections::BTreeMap<String, String>;

/// Two stores as a page keeps them: open, discarded and unreadable drafts, the view, records, and things set aside.
#[derive(Clone)]
struct Two {
    drafts: Memory,
    records: Memory,
}

impl Two {
    fn new() -> Self {
        let two = Two { drafts: Memory::default(), records: Memory::default() };
        block_on(async {
            for id in ["a", "b"] {
                let (draft, record) = signed(id);
                archive::save_draft(&two.drafts, &draft, None).await.unwrap();
                archive::save_record(&two.records, &record).await.unwrap();
            }
            let (draft, _) = signed("c");
            archive::discard_draft(&two.drafts, &draft, None).await.unwrap();
        });
        for key in [
            "strawline.draft.x",
            "strawline.quality",
            "strawline.current",
            "strawline.focus",
            "strawline.aside.quality.1",
            "strawline.aside.undo.1",
        ] {
            two.drafts.put(key, Some("HL-0417 rowed")).unwrap();
        }
        for key in ["strawline.log.c", "strawline.aside.record.a.1", "strawline.aside.draft.a.1"] {
            two.records.put(key, Some("HL-0417 rowed")).unwrap();
        }
        // These tell of no patient, and stay as they are.
        for key in ["strawline.bench", "strawline.settings", "strawline.aside.bench.1", "other.page"] {
            two.drafts.put(key, Some("the clinic's")).unwrap();
        }
        two
    }

    fn copy(&self) -> Self {
        let copy = |of: &Memory| {
            let to = Memory::default();
            of.texts().iter().for_each(|(key, text)| to.put(key, Some(text)).unwrap());
            to
        };
        Two { drafts: copy(&self.drafts), records: copy(&self.records) }
    }

    fn texts(&self) -> [Texts; 2] {
        [self.drafts.texts(), self.records.texts()]
    }

    fn tells(&self) -> usize {
        tells(&self.drafts).len() + tells(&self.records).len()
    }

    fn closed(&self) -> usize {
        self.texts().iter().flat_map(Texts::values).filter(|text| is_closed(text)).count()
    }

    /// As another page opens it.
    fn safe(&self) -> Safe<Memory> {
        Safe::new(self.drafts.clone(), self.records.clone(), chance)
    }

    /// With a fault in the store of drafts, or in that of records.
    fn dying(&self, in_records: bool, at: u32, fault: &Fault) -> Safe<Faulty<Memory>> {
        let faulty = |of: &Memory, at| Faulty::new(of.clone(), at, fault.clone());
        let (drafts, records) = if in_records { (u32::MAX, at) } else { (at, u32::MAX) };
        Safe::new(faulty(&self.drafts, drafts), faulty(&self.records, records), chance)
    }

    /// Everything as it is read by who has the key.
    fn read(&self, lock: &Lock, key: &Key) -> [Texts; 2] {
        [&self.drafts, &self.records].map(|store| {
            let open = Closed::new(store.clone(), under(lock, key), chance);
            let all = block_on(open.read_all("")).unwrap();
            all.into_iter().filter(|(key, _)| key != LOCK && key != SETTLING).collect()
        })
    }

    /// The next page finds all that was there, and every way to it.
    fn comes_back(&self, lock: &Lock, wanted: &[Texts; 2], said: &str) {
        let next = self.safe();
        match block_on(next.look()).unwrap() {
            Found::NoLock => assert_eq!(self.texts(), *wanted, "{said}"),
            Found::Locked(found) => {
                assert_eq!(found.id(), lock.id(), "{said}");
                let key = found.open(With::Passphrase(PHRASE)).unwrap();
                assert_eq!(self.read(lock, &key), *wanted, "{said}");
                next.unlock(&found, key.clone());
                assert_eq!(block_on(next.finish(&found, &at_once)), Ok(0), "{said}");
                assert_eq!(self.tells(), 0, "{said}");
                assert_eq!(self.read(lock, &key), *wanted, "{said}");
                for store in [&self.drafts, &self.records] {
                    assert_eq!(store.get(LOCK).unwrap(), Some(found.to_json().unwrap()), "{said}");
                    assert_eq!(store.get(SETTLING), Ok(None), "{said}");
                }
            }
            Found::Trouble(trouble) => panic!("{trouble:?} {said}"),
        }
    }
}

fn closed_two() -> (Two, Lock, Key, [Texts; 2]) {
    let two = Two::new();
    let wanted = two.texts();
    let (lock, key, _) = lock();
    let safe = two.safe();
    block_on(async {
        safe.put_on(&lock, key.clone()).await.unwrap();
        assert_eq!(safe.finish(&lock, &at_once).await, Ok(0));
    });
    (two, lock, key, wanted)
}

#[test]
fn what_is_closed_is_all_that_may_tell_and_nothing_else() {
    let (two, lock, key, wanted) = closed_two();
    assert_eq!(two.tells(), 0);
    assert_eq!(two.read(&lock, &key), wanted);
    let drafts = two.drafts.texts();
    for key in ["strawline.bench", "strawline.settings", "strawline.aside.bench.1", "other.page"] {
        assert_eq!(drafts[key], "the clinic's");
    }
    assert_eq!(two.drafts.get(SETTLING), Ok(None));
    // A second look of the page that has the key changes nothing, and a finished closing settles nothing.
    let before = two.texts();
    let safe = two.safe();
    block_on(async {
        assert_eq!(safe.look().await, Ok(Found::Locked(lock.clone())));
        assert!(safe.is_shut());
        safe.unlock(&lock, key.clone());
        assert_eq!(safe.look().await, Ok(Found::Locked(lock.clone())));
        assert!(!safe.is_shut());
        assert_eq!(safe.finish(&lock, &at_once).await, Ok(0));
    });
    assert_eq!(two.texts(), before);
}

const FAULTS: [Fault; 4] = [
    Fault::CrashBefore,
    Fault::CrashAfter,
    Fault::Refuse(StoreError::Full, 1),
    Fault::Refuse(StoreError::Full, 3),
];

#[test]
fn a_closing_loses_nothing_and_is_finished_wherever_it_is_cut_short() {
    let two = Two::new();
    let wanted = two.texts();
    let of_patients = wanted.iter().flat_map(Texts::values).filter(|text| *text != "the clinic's").count();
    assert_eq!(two.tells(), of_patients, "in clear each of them tells");
    let (lock, key, _) = lock();
    for in_records in [false, true] {
        for fault in &FAULTS {
            let mut met = 0;
            for at in 1.. {
                let two = two.copy();
                let said = format!("{in_records} {at} {fault:?}");
                let safe = two.dying(in_records, at, fault);
                let done = block_on(async {
                    safe.put_on(&lock, key.clone()).await.map_err(|_| ())?;
                    // Now the page says that it is closed: the lock stands where it waits for the disk.
                    assert!(two.records.texts().contains_key(LOCK), "{said}");
                    safe.finish(&lock, &at_once).await.map_err(|_| ())
                });
                if done.is_err() {
                    met += 1;
                } else {
                    assert_eq!(two.tells(), 0, "{said}");
                }
                two.comes_back(&lock, &wanted, &said);
                let store = if in_records { safe.records.beneath() } else { safe.drafts.beneath() };
                if store.operations() < at {
                    break;
                }
            }
            assert!(met > 20, "{met} {in_records} {fault:?}");
        }
    }
}

#[test]
fn taking_the_lock_off_loses_nothing_and_goes_back_wherever_it_is_cut_short() {
    let (two, lock, key, wanted) = closed_two();
    for in_records in [false, true] {
        for fault in &FAULTS {
            let mut met = 0;
            for at in 1.. {
                let two = two.copy();
                let said = format!("{in_records} {at} {fault:?}");
                let safe = two.dying(in_records, at, fault);
                safe.unlock(&lock, key.clone());
                let done = block_on(safe.take_off(&lock, key.clone(), &at_once));
                match &done {
                    Ok(()) => assert_eq!(two.texts(), wanted, "{said}"),
                    Err(_) => {
                        met += 1;
                        // The page lives on under the lock: what it writes is closed, or refused.
                        let write = block_on(safe.drafts.write("strawline.draft.new", "HL-0417 new".into()));
                        let new = two.drafts.texts().get("strawline.draft.new").cloned();
                        match write {
                            Ok(()) => assert!(is_closed(&new.unwrap()), "{said}"),
                            Err(_) => assert!(new.is_none_or(|text| is_closed(&text)), "{said}"),
                        }
                        two.drafts.put("strawline.draft.new", None).unwrap();
                    }
                }
                two.comes_back(&lock, &wanted, &said);
                let store = if in_records { safe.records.beneath() } else { safe.drafts.beneath() };
                if store.operations() < at {
                    assert_eq!(done, Ok(()), "{said}");
                    break;
                }
            }
            assert!(met > 20, "{met} {in_records} {fault:?}");
        }
    }
}

#[test]
fn of_two_tabs_that_close_at_once_one_is_refused_and_closes_nothing() {
    let two = Two::new();
    let (one, other) = (two.safe(), two.safe());
    let ((lock, key, _), (second, its, _)) = (lock(), lock());
    block_on(async {
        for safe in [&one, &other] {
            assert_eq!(safe.look().await, Ok(Found::NoLock));
            safe.use_clear();
        }
        one.put_on(&lock, key).await.unwrap();
        let refused = other.put_on(&second, its).await;
        assert_eq!(refused, Err(Refused::Closed(ClosedError::Elsewhere)));
        assert!(other.is_shut());
        one.finish(&lock, &at_once).await.unwrap();
        // Nor does it write in clear, though it never heard of the lock.
        let deaf = two.safe();
        deaf.use_clear();
        for store in [&deaf.drafts, &deaf.records] {
            assert_eq!(store.write("strawline.draft.n", "HL-0417".into()).await, Err(StoreError::Shut));
        }
        assert_eq!(two.tells(), 0);
        let found = two.safe().look().await;
        assert_eq!(found, Ok(Found::Locked(lock)));
    });
}

#[test]
fn a_lock_that_is_gone_from_one_place_stands_in_the_other() {
    for gone in [true, false] {
        for instead in [None, Some("{\"schema\":9}")] {
            let (two, lock, key, wanted) = closed_two();
            let (store, rest) = if gone { (&two.drafts, &two.records) } else { (&two.records, &two.drafts) };
            store.put(LOCK, instead).unwrap();
            // Whoever has the key open writes nothing under a lock that is not there.
            let working = two.safe();
            working.unlock(&lock, key.clone());
            let in_store = if gone { &working.drafts } else { &working.records };
            let written = block_on(in_store.write("strawline.draft.n", "HL-0417".into()));
            assert_eq!(written, Err(StoreError::Shut));
            assert!(rest.texts().contains_key(LOCK));
            two.comes_back(
                &lock,
                &{
                    let mut wanted = wanted;
                    if let Some(text) = instead {
                        let at = usize::from(!gone);
                        let key = LOCK_ASIDE.to_owned();
                        let next = two.safe();
                        block_on(next.look()).unwrap();
                        next.unlock(&lock, lock.open(With::Passphrase(PHRASE)).unwrap());
                        block_on(next.finish(&lock, &at_once)).unwrap();
                        wanted[at].insert(key, text.to_owned());
                    }
                    wanted
                },
                "",
            );
        }
    }
}

#[test]
fn closed_texts_without_a_lock_are_never_taken_for_no_lock() {
    let (two, ..) = closed_two();
    two.drafts.put(LOCK, None).unwrap();
    two.records.put(LOCK, None).unwrap();
    let before = two.texts();
    let safe = two.safe();
    // Also a page that was in clear, or had the key, shuts.
    safe.use_clear();
    assert_eq!(block_on(safe.look()), Ok(Found::Trouble(Trouble::Missing)));
    assert!(safe.is_shut());
    assert_eq!(block_on(archive::drafts(&safe.drafts)), Err(StoreError::Shut));
    let (new, key, _) = lock();
    assert!(block_on(safe.put_on(&new, key)).is_err(), "no second lock over what the first has closed");
    assert_eq!(two.texts(), before);
}

#[test]
fn a_lock_that_is_missing_from_both_places_is_put_back_by_who_knows_it() {
    let (two, lock, key, wanted) = closed_two();
    let take_out = || [&two.drafts, &two.records].map(|store| store.put(LOCK, None).unwrap());
    take_out();
    let safe = two.safe();
    safe.unlock(&lock, key);
    let found = block_on(safe.look_knowing(Some(&lock)));
    assert_eq!(found, Ok(Found::Locked(lock.clone())));
    assert!(safe.is_shut(), "it is asked for again");
    two.comes_back(&lock, &wanted, "put back");
    // Who knows none puts none back.
    take_out();
    let before = two.texts();
    assert_eq!(block_on(two.safe().look_knowing(None)), Ok(Found::Trouble(Trouble::Missing)));
    // Nor is one put over another, or where nothing is closed: there it was taken off.
    assert_eq!(two.texts(), before);
    two.drafts.put(LOCK, Some(&self::lock().0.to_json().unwrap())).unwrap();
    two.records.put(LOCK, Some(&self::lock().0.to_json().unwrap())).unwrap();
    let before = two.texts();
    assert_eq!(block_on(two.safe().look_knowing(Some(&lock))), Ok(Found::Trouble(Trouble::Two)));
    assert_eq!(two.texts(), before);
    let clear = Two::new();
    let before = clear.texts();
    assert_eq!(block_on(clear.safe().look_knowing(Some(&lock))), Ok(Found::NoLock));
    assert_eq!(clear.texts(), before);
}

#[test]
fn another_lock_in_the_other_store_shuts_both() {
    let (two, lock, key, _) = closed_two();
    two.drafts.put(LOCK, Some(&self::lock().0.to_json().unwrap())).unwrap();
    let before = two.texts();
    let safe = two.safe();
    safe.unlock(&lock, key);
    assert_eq!(block_on(safe.drafts.write("strawline.draft.n", "t".into())), Err(StoreError::Shut));
    assert_eq!(block_on(safe.finish(&lock, &at_once)), Err(StoreError::Shut));
    assert_eq!(block_on(safe.look()), Ok(Found::Trouble(Trouble::Two)));
    assert!(safe.is_shut());
    assert_eq!(two.texts(), before);
}

#[test]
fn a_store_that_cannot_be_read_is_not_one_without_a_lock() {
    let (two, lock, ..) = closed_two();
    // What stands in the store of drafts is enough.
    for (in_records, found) in [(false, Err(StoreError::Unreachable)), (true, Ok(Found::Locked(lock)))] {
        let safe = two.dying(in_records, 1, &Fault::Refuse(StoreError::Unreachable, 1));
        safe.use_clear();
        assert_eq!(block_on(safe.look()), found);
        assert!(safe.is_shut());
    }
}

#[test]
fn clocks_stand_in_clear_beside_the_lock_that_is_open_and_go_with_it() {
    let (two, lock, key, _) = closed_two();
    let (safe, text) = (two.safe(), Some("clocks".to_owned()));
    let kept = || two.drafts.get(CLOCKS).unwrap();
    block_on(async {
        assert_eq!(safe.keep_clocks(text.clone()).await, Ok(false), "shut");
        safe.use_clear();
        assert_eq!(safe.keep_clocks(text.clone()).await, Ok(false), "no lock is known here");
        safe.unlock(&self::lock().0, key.clone());
        assert_eq!((safe.keep_clocks(text.clone()).await, kept()), (Ok(false), None), "another lock");
        safe.unlock(&lock, key.clone());
        assert_eq!((safe.keep_clocks(text.clone()).await, kept()), (Ok(true), text.clone()));
        assert_eq!(two.safe().clocks().await, Ok(text.clone()), "read while it is shut");
        assert_eq!((safe.keep_clocks(None).await, kept()), (Ok(true), None));
        assert_eq!(safe.keep_clocks(text.clone()).await, Ok(true));
        safe.take_off(&lock, key, &at_once).await.unwrap();
        assert_eq!((kept(), safe.keep_clocks(text).await), (None, Ok(false)));
    });
}

#[test]
fn a_changed_passphrase_is_compared_and_its_copy_follows() {
    let (two, lock, key, wanted) = closed_two();
    let new = lock.with_passphrase(&key, "another one altogether", &mut chance).unwrap();
    assert_eq!(new.id(), lock.id());
    let (one, other) = (two.safe(), two.safe());
    block_on(async {
        one.unlock(&lock, key.clone());
        other.unlock(&lock, key.clone());
        one.change(&lock, &new).await.unwrap();
        // Cut short before the copy: the later of the two holds.
        assert_eq!(two.safe().look().await, Ok(Found::Locked(new.clone())));
        // The other tab has not heard of it: it neither changes nor takes off what it does not know.
        let theirs = lock.with_passphrase(&key, "a third one, also long", &mut chance).unwrap();
        assert_eq!(other.change(&lock, &theirs).await, Err(Refused::Closed(ClosedError::Elsewhere)));
        let off = other.take_off(&lock, key.clone(), &at_once).await;
        assert_eq!(off, Err(Refused::Closed(ClosedError::Elsewhere)));
        // Nor does it put the old one back.
        assert_eq!(other.finish(&lock, &at_once).await, Ok(0));
        for store in [&two.drafts, &two.records] {
            assert_eq!(store.get(LOCK).unwrap(), Some(new.to_json().unwrap()));
        }
        assert_eq!(two.read(&lock, &key), wanted);
        assert_eq!(two.tells(), 0);
        // Taken off by one, it cannot be written back by the other.
        one.take_off(&new, key.clone(), &at_once).await.unwrap();
        assert!(other.change(&new, &theirs).await.is_err());
        let written = other.drafts.write("strawline.draft.n", "t".into()).await;
        assert_eq!(written, Err(StoreError::Shut), "nothing is closed any more that nobody could open");
    });
    assert_eq!(two.texts(), wanted);
    assert_eq!(two.closed(), 0);
}

#[test]
fn a_lock_is_not_taken_off_while_something_is_closed_under_another_key() {
    let (two, lock, key, _) = closed_two();
    let lost = self::lock().1.close("strawline.draft.y", "HL-0417", &mut chance).unwrap();
    two.drafts.put("strawline.draft.y", Some(&lost)).unwrap();
    let safe = two.safe();
    safe.unlock(&lock, key.clone());
    let off = block_on(safe.take_off(&lock, key.clone(), &at_once));
    assert_eq!(off, Err(Refused::Closed(ClosedError::Foreign)));
    assert_eq!(two.drafts.texts()["strawline.draft.y"], lost);
    assert_eq!(two.tells(), 0, "what was opened meanwhile is closed again");
    assert_eq!(block_on(two.safe().look()), Ok(Found::Locked(lock)));
    let found = block_on(archive::drafts(&safe.drafts)).unwrap();
    assert!(found.unreadable.iter().any(|item| item.text == lost), "listed, and left alone");
}

#[test]
fn what_another_tab_closes_while_the_lock_is_taken_off_brings_it_back() {
    let (two, lock, key, _) = closed_two();
    let safe = two.safe();
    safe.unlock(&lock, key.clone());
    // A write that was on its way when the last look at the texts was over.
    let late = key.close("strawline.draft.z", "HL-0417", &mut chance).unwrap();
    let pauses = std::cell::Cell::new(0);
    let pause = async || {
        pauses.set(pauses.get() + 1);
        if pauses.get() == 9 {
            two.records.put("strawline.record.z", Some(&late)).unwrap();
        }
    };
    let off = block_on(safe.take_off(&lock, key.clone(), &pause));
    assert_eq!(off, Err(Refused::Closed(ClosedError::Elsewhere)), "{}", pauses.get());
    assert!(matches!(block_on(two.safe().look()), Ok(Found::Locked(_))));
    assert_eq!(two.records.texts()["strawline.record.z"], late);
    assert_eq!(two.tells(), 0);
}

#[test]
fn what_was_closed_elsewhere_and_put_aside_shuts_nothing() {
    let memory = Memory::default();
    let foreign = lock().1.close("elsewhere", "HL-0417", &mut chance).unwrap();
    block_on(async {
        memory.write("strawline.aside.record.a.1", foreign.clone()).await.unwrap();
        memory.write("strawline.aside.record.b.1", "cut o".into()).await.unwrap();
        let safe = Safe::new(Memory::default(), memory.clone(), chance);
        assert_eq!(safe.look().await, Ok(Found::NoLock));
        safe.use_clear();
        assert_eq!(safe.records.read_all(archive::ASIDE).await.unwrap().len(), 2, "one hides no other");
        // A restored backup brings none of it where it would look as if a lock were missing.
        assert_eq!(safe.records.write("strawline.record.c", foreign).await, Err(StoreError::Shut));
    });
}

#[test]
fn records_that_cannot_be_read_hide_no_open_case() {
    let failing = || Faulty::new(Memory::default(), 1, Fault::CrashBefore);
    let working = || Faulty::new(Memory::default(), u32::MAX, Fault::CrashBefore);
    let safe = Safe::new(working(), failing(), chance);
    block_on(async {
        assert_eq!(safe.look().await, Ok(Found::NoLock));
        safe.use_clear();
        safe.drafts.write("strawline.draft.a", "typed".into()).await.unwrap();
        assert!(safe.records.write("strawline.record.a", "signed".into()).await.is_err());
    });
    // With a lock in the other store nobody goes on in clear, and whoever opens it finds what is open.
    let (lock, key, _) = lock();
    let drafts = working();
    let closed = key.close("strawline.draft.a", "typed", &mut chance).unwrap();
    block_on(async {
        drafts.write(LOCK, lock.to_json().unwrap()).await.unwrap();
        drafts.write("strawline.draft.a", closed).await.unwrap();
        let safe = Safe::new(drafts, failing(), chance);
        assert_eq!(safe.look().await, Ok(Found::Locked(lock.clone())));
        assert!(safe.is_shut());
        safe.unlock(&lock, key);
        assert_eq!(safe.drafts.read("strawline.draft.a").await, Ok(Some("typed".into())));
        safe.drafts.write("strawline.draft.a", "typed on".into()).await.unwrap();
        assert!(safe.records.write("strawline.record.a", "signed".into()).await.is_err());
        assert!(safe.finish(&lock, &at_once).await.is_err(), "not everything is closed, and that is said");
    });
}
