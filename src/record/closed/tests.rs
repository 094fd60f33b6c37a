use super::store::Closed;
use super::*;
use crate::draft::Draft;
use crate::export::card::Given;
use crate::record::archive;
use crate::record::faulty::{Fault, Faulty};
use crate::record::store::{Memory, Store};
use crate::record::trial::{at, block_on, case};
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
    for with in [With::Passphrase(PHRASE), With::Recovery(&typed)] {
        let key = back.open(with).unwrap();
        assert_eq!(key.open("strawline.draft.a", &closed), Ok("HL-0417".into()));
        assert_eq!(key.open("strawline.draft.b", &closed), Err(ClosedError::Wrong), "put in another's place");
    }
    let wrong = |with| back.open(with).unwrap_err();
    assert_eq!(wrong(With::Passphrase("straw and garnets")), ClosedError::Wrong);
    assert_eq!(wrong(With::Passphrase("")), ClosedError::Wrong);
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
    let big = text.replace("\"memory\":64", "\"memory\":4000000");
    assert_eq!(Lock::from_json(&big), Err(ClosedError::Damaged));
    let cheap = Lock::from_json(&text.replace("\"memory\":64", "\"memory\":32")).unwrap();
    assert_eq!(cheap.open(With::Passphrase(PHRASE)).unwrap_err(), ClosedError::Wrong);
    for text in ["", "{}", "closed-1 ", &text[1..], &text.replace("\"schema\":1", "\"schema\":2")] {
        assert_eq!(Lock::from_json(text), Err(ClosedError::Damaged), "{text}");
    }
}

#[test]
fn without_chance_nothing_is_closed_and_nothing_is_written() {
    fn none(_: &mut [u8]) -> Result<(), ClosedError> {
        Err(ClosedError::NoChance)
    }
    assert_eq!(Lock::new(PHRASE, QUICK, &mut none).err(), Some(ClosedError::NoChance));
    let store = Closed::new(Memory::default(), none);
    store.set_key(Some(lock().1));
    assert!(block_on(store.write("strawline.draft.a", "HL-0417".into())).is_err());
    assert!(store.beneath().texts().is_empty(), "never in clear because it could not be closed");
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
    };
    let record = crate::export::signed::sign(given, "MO", at(61)).unwrap();
    (draft, record)
}

fn kept(record: &Record) -> archive::Kept {
    archive::Kept { record: record.clone(), damaged: None }
}

const TELLING: [&str; 4] = ["HL-0417", "rowed", "Reyes", "blood"];

fn tells(store: &Memory) -> Vec<String> {
    let texts = store.texts();
    let all = texts.iter().filter(|(_, text)| TELLING.iter().any(|word| text.contains(word)));
    all.map(|(key, _)| key.clone()).collect()
}

#[test]
fn a_stolen_store_tells_nothing_of_a_patient_and_the_archive_works_as_ever() {
    let (lock, key, _) = lock();
    let store = Closed::new(Memory::default(), chance);
    store.set_key(Some(key));
    let (draft, record) = signed("a");
    block_on(async {
        archive::save_draft(&store, &draft, None).await.unwrap();
        archive::save_record(&store, &record).await.unwrap();
        assert_eq!(archive::load_draft(&store, "a").await, Ok(Stored::Good(draft.clone())));
        assert_eq!(archive::load_record(&store, "a").await, Ok(Stored::Good(kept(&record))));
    });
    assert!(store.beneath().texts().len() >= 4);
    assert_eq!(tells(store.beneath()), [""; 0]);
    // Opened anew with the passphrase; without it nothing is read, nothing is lost.
    let again = Closed::new(store.beneath().clone(), chance);
    let before = again.beneath().texts();
    let without = block_on(archive::load_record(&again, "a")).unwrap();
    assert!(matches!(without, Stored::Unreadable(_)), "{without:?}");
    assert_eq!(again.beneath().texts(), before);
    again.set_key(Some(lock.open(With::Passphrase(PHRASE)).unwrap()));
    assert_eq!(block_on(archive::load_record(&again, "a")), Ok(Stored::Good(kept(&record))));
}

#[test]
fn a_write_that_names_what_it_expects_still_finds_another_writer_out() {
    let store = Closed::new(Memory::default(), chance);
    store.set_key(Some(lock().1));
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
fn closing_what_is_there_loses_nothing_wherever_it_is_interrupted() {
    let (_, key, _) = lock();
    let fill = || {
        let store = Memory::default();
        block_on(async {
            for id in ["a", "b"] {
                let (draft, record) = signed(id);
                archive::save_draft(&store, &draft, None).await.unwrap();
                archive::save_record(&store, &record).await.unwrap();
            }
        });
        store
    };
    let wanted = fill().texts();
    let read = |store: &Memory| {
        let open = Closed::new(store.clone(), chance);
        open.set_key(Some(key.clone()));
        block_on(open.read_all(archive::PREFIX))
            .unwrap()
            .into_iter()
            .collect::<std::collections::BTreeMap<_, _>>()
    };
    let whole = Faulty::new(fill(), u32::MAX, Fault::CrashBefore);
    let closed = Closed::new(whole, chance);
    closed.set_key(Some(key.clone()));
    assert_eq!(block_on(closed.settle(archive::PREFIX, None)), Ok(0));
    let operations = closed.beneath().operations();
    assert!(operations > 8, "{operations}");
    for at in 1..=operations {
        for fault in [Fault::CrashBefore, Fault::CrashAfter] {
            let memory = fill();
            let dying = Closed::new(Faulty::new(memory.clone(), at, fault), chance);
            dying.set_key(Some(key.clone()));
            assert!(block_on(dying.settle(archive::PREFIX, None)).is_err());
            assert_eq!(read(&memory), wanted, "operation {at}");
            let next = Closed::new(memory.clone(), chance);
            next.set_key(Some(key.clone()));
            assert_eq!(block_on(next.settle(archive::PREFIX, None)), Ok(0));
            assert_eq!(tells(&memory), [""; 0], "operation {at}");
            assert_eq!(read(&memory), wanted);
            // And back into the clear.
            next.set_key(None);
            assert_eq!(block_on(next.settle(archive::PREFIX, Some(&key))), Ok(0));
            assert_eq!(memory.texts(), wanted);
        }
    }
}

#[test]
fn what_is_closed_under_a_key_that_nobody_has_stays_as_it_is() {
    let memory = Memory::default();
    let lost = lock().1.close("strawline.draft.x", "HL-0417", &mut chance).unwrap();
    block_on(memory.write("strawline.draft.x", lost.clone())).unwrap();
    let store = Closed::new(memory.clone(), chance);
    store.set_key(Some(lock().1));
    assert_eq!(block_on(store.settle(archive::PREFIX, None)), Ok(1));
    assert_eq!(memory.texts()["strawline.draft.x"], lost);
    let found = block_on(archive::drafts(&store)).unwrap();
    assert_eq!(found.unreadable.len(), 1, "listed, and left alone");
}
