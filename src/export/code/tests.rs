use super::*;
use crate::draft::{
    Changed, Check, CheckKind, CheckSign, Correction, Decision, Discard, DiscardKind, DrawnTo, Field, Lapsed,
    SampleDilution, Scan, Stage, TimeOf, Trouble, TroubleKind,
};
use crate::export::trial;
use crate::finding::LotOf;
use crate::quantity::unit::Conventions;
use crate::quantity::{Quantity, Volume};
use crate::record::closed::{Cost, Lock, With};
use proptest::prelude::*;
use serde_json::Value;

const BEGUN: i64 = 1_795_597_200_123;

fn at(minutes: i64) -> Instant {
    Instant(BEGUN + minutes * 60_000 + minutes * 317 % 1000)
}

/// The invented case, handed over.
fn done() -> Draft {
    let sign = CheckSign::pick(0, &[]);
    let mut d =
        Draft::demo("3f0c2a7e-9b5d-4c18-8e0a-51d2f7a6c3b9".into(), sign, at(0), Conventions::default());
    d.offset = Some(crate::quantity::time::Offset::UTC);
    let check = |by: &str, minutes, of: &str| Check { by: by.into(), at: at(minutes), of: of.into() };
    d.checks.insert(CheckKind::Identity, check("MO", 10, ""));
    d.checks.insert(CheckKind::Anticoagulant, check("JT", 11, "2 mL"));
    d.checks.insert(CheckKind::AnticoagulantSound, check("MO", 12, ""));
    d.checks.insert(CheckKind::ContainersSound, check("MO", 12, ""));
    d.checks.insert(CheckKind::Balance, check("MO", 24, ""));
    d.stage = Stage::Product;
    d.times.needle_in = Some(at(15));
    d.times.needle_out = Some(at(19));
    d.times.stages = [(0, at(25)), (1, at(36)), (2, at(41))].into();
    d.times.spin_end = Some(at(52));
    d.times.collected = Some(at(60));
    d.times.counted = Some(at(66));
    d.corrections.push(Correction {
        what: TimeOf::NeedleIn,
        was: at(17),
        now: at(15),
        by: "MO".into(),
        at: at(18),
    });
    let decision = |by: &str, reason: &str, minutes| Decision::new(by, reason, at(minutes));
    d.decide("screening_anti_inflammatory".into(), decision("Dr A. Reyes-Lindqvist", "seen at the chair", 5));
    for (field, text) in [
        (Field::FillActual(0), "15"),
        (Field::FillActual(1), "15"),
        (Field::AnticoagulantActual(0), "2"),
        (Field::AnticoagulantActual(1), "2"),
        (Field::SpeedActual(0), "1020"),
        (Field::MinutesActual(0), "10"),
        (Field::ProductActual, "4"),
        (Field::CountSample, "0.2"),
        (Field::Dilution, "20"),
        (Field::Reading(0), "45.9"),
        (Field::Reading(1), "46.5"),
        (Field::PartGiven(0), "2"),
        (Field::PartGiven(1), "1"),
        (Field::AnticoagulantExpiry, "2027-03-31"),
        (Field::ContainerExpiry, "2028-01"),
        (Field::HandedTo, "Dr A. Reyes-Lindqvist"),
        (Field::Notes, "second of three"),
    ] {
        d.write(field, text);
    }
    d.rows.readings = 2;
    d.choices.dilution = Some(SampleDilution::Diluted);
    d.choices.mixed_no_clumps = Some(true);
    d.checks.insert(CheckKind::HandOver, check("JT", 70, ""));
    d.hand_over(at(71));
    d
}

/// It with something in every place that can hold a word.
fn full() -> Draft {
    let mut d = done();
    let check = || Check { by: "MO".into(), at: at(9), of: "2 mL".into() };
    d.troubles.push(Trouble {
        kind: TroubleKind::ShortDraw,
        container: Some(1),
        at: at(18),
        by: "MO".into(),
        set_aside: true,
        aside: None,
        collected: true,
        withdrawn: Some(check()),
    });
    d.lapsed.push(Lapsed { kind: CheckKind::Identity, check: check(), changed: Changed::Site });
    d.corrected_lots = [(Field::ContainerLot, "x".into()), (Field::ContainerExpiry, "x".into())].into();
    let was = ["x".to_owned(), "x".to_owned()];
    d.scans.push(Scan { of: LotOf::Containers, text: "x".into(), at: at(3), was, taken_back: true });
    let ml = |v| Volume::new(v).unwrap();
    let container = Some("tube-15".into());
    d.drawn_to =
        Some(DrawnTo { containers: 2, anticoagulant: ml(2.0), fill: ml(15.0), agent: None, container });
    d.decide(
        "screening_anti_inflammatory".into(),
        Decision {
            found: "x".into(),
            about: Some(crate::draft::About { of: "x".into(), grave: 1.0, slack: 0.0 }),
            ..Decision::new("JT", "another", at(8))
        },
    );
    d.discards.push(Discard {
        kind: DiscardKind::OpenedUnused,
        count: Some(1),
        volume: Some(ml(2.0)),
        what: "plasma".into(),
        lot: "K-0077".into(),
        why: "seal torn".into(),
        at: at(70),
        by: "MO".into(),
        withdrawn: Some(check()),
    });
    d.not_handed_over(at(72));
    d.hand_over(at(73));
    d
}

/// Puts a word wherever the stored case takes any, in texts of every field and in names of decisions too.
fn marked(mut draft: Draft, word: &str) -> Draft {
    for field in Field::all() {
        draft.write(field, word);
    }
    draft.decisions.insert(word.to_owned(), Decision::new(word, word, at(1)));
    let mut tree: Value = serde_json::from_str(&draft.to_json()).unwrap();
    let mut paths = Vec::new();
    leaves(&tree, String::new(), &mut paths);
    let (mut put, all) = (0, paths.len());
    // The key of the case is made by chance and not typed.
    for path in paths.into_iter().filter(|path| path != "/id") {
        let before = std::mem::replace(tree.pointer_mut(&path).unwrap(), Value::from(word));
        match Draft::from_json(&tree.to_string()) {
            Ok(_) => put += 1,
            Err(_) => *tree.pointer_mut(&path).unwrap() = before,
        }
    }
    assert!(put > 150 && put < all, "{put} of {all}");
    Draft::from_json(&tree.to_string()).unwrap()
}

fn leaves(tree: &Value, path: String, all: &mut Vec<String>) {
    match tree {
        Value::String(_) => all.push(path),
        Value::Array(items) => {
            items.iter().enumerate().for_each(|(n, item)| leaves(item, format!("{path}/{n}"), all));
        }
        Value::Object(items) => items.iter().for_each(|(key, item)| {
            leaves(item, format!("{path}/{}", key.replace('~', "~0").replace('/', "~1")), all);
        }),
        _ => {}
    }
}

fn of(draft: &Draft) -> Of<'_> {
    Of { draft, entry: None, reference: true }
}

/// What stands in a code in clear, as anybody can take it apart.
fn inside(texts: &[String]) -> String {
    let bytes = whole(&texts.join("\n")).unwrap();
    squeeze::unsqueeze(&bytes[1..bytes.len() - CHECK]).unwrap()
}

fn lock(passphrase: &str) -> (Lock, Key) {
    let mut n = passphrase.bytes().fold(0_u8, |n, b| n.wrapping_mul(31).wrapping_add(b));
    let mut chance = |bytes: &mut [u8]| {
        bytes.iter_mut().for_each(|b| {
            n = n.wrapping_mul(31).wrapping_add(7);
            *b = n;
        });
        Ok(())
    };
    let (lock, key, _) = Lock::new(passphrase, Cost { memory: 64, passes: 1 }, &mut chance).unwrap();
    (lock, key)
}

fn chance(bytes: &mut [u8]) -> Result<(), ClosedError> {
    bytes.fill(7);
    Ok(())
}

fn closed(draft: &Draft, (lock, key): &(Lock, Key)) -> Vec<String> {
    texts(of(draft), Some(Closing { lock, key, chance }), at(98)).unwrap()
}

#[test]
fn in_clear_no_word_that_was_typed_leaves() {
    for word in ["Märker Anna", "Marker", "4 Aug 1982", "1982-08-04"] {
        let marked = marked(full(), word);
        assert!(marked.to_json().matches(word).count() > 200);
        let all = inside(&texts(of(&marked), None, at(98)).unwrap());
        // A date is one only where an expiry belongs.
        let expiry = |key: &str| format!("\"{key}\":\"{word}\"");
        let added: [String; 3] = [1, 2, 3].map(|n| format!("addition_expiry_{n}"));
        let all = ["anticoagulant_expiry", "container_expiry"]
            .into_iter()
            .chain(added.iter().map(String::as_str))
            .fold(all, |all, key| all.replace(&expiry(key), ""));
        assert!(!all.contains(word), "{word}: {all}");
    }
    // One that looks like a code: the reference where the clinic says it is one, and no lot that is the reference.
    let mut marked = marked(full(), "MA-4711");
    let found = |draft: &Draft, reference| {
        let all = inside(&texts(Of { reference, ..of(draft) }, None, at(98)).unwrap());
        all.matches("MA-4711").count()
    };
    assert_eq!((found(&marked, false), found(&marked, true)), (0, 1));
    // Where it names nobody, where lots belong.
    let names = Field::all().into_iter().filter(|f| f.is_who()).chain(Field::IDENTIFIERS);
    names.for_each(|field| marked.write(field, "someone else"));
    let lots = inside(&texts(Of { reference: false, ..of(&marked) }, None, at(98)).unwrap());
    for place in ["\"anticoagulant_lot\":\"MA-4711\"", "\"container_lot\":\"MA-4711\""] {
        assert!(lots.contains(place), "{lots}");
    }
    assert_eq!(found(&marked, true), 7, "two lots, three of additions, one corrected, one discarded");
    assert!(lots.contains("\"corrected_lots\":{\"container_lot\":\"MA-4711\"}"), "{lots}");
}

#[test]
fn what_the_patient_is_or_answered_does_not_leave_in_clear() {
    let mut d = full();
    for (field, text) in [(Field::Weight, "71.25"), (Field::Height, "163.5"), (Field::Age, "43")] {
        d.write(field, text);
    }
    d.choices.sex = Some(crate::blood::patient::Sex::Female);
    let all = inside(&texts(of(&d), None, at(98)).unwrap());
    for none in
        ["71.25", "163.5", "\"female\"", "\"age\"", "pregnancy", "infection", "right", "Reyes", "tendon"]
    {
        assert!(!all.contains(none), "{none}: {all}");
    }
    for some in ["HL-0417", "AC-2291", "K-0058", "\"blood_count\":\"210\"", "\"reading_2\":\"46.5\""] {
        assert!(all.contains(some), "{some}: {all}");
    }
}

#[test]
fn a_case_comes_back_from_its_code() {
    let d = full();
    let back = read(&texts(of(&d), None, at(98)).unwrap().join("\n"), &[], at(99)).unwrap();
    let mut expected = bare::bare(&d, true);
    expected.rebuilt = Some(Rebuilt {
        at: at(99),
        whole: false,
        signed: None,
        check: None,
        printed: Some(bare::second(at(98))),
    });
    assert_eq!(back, expected);
    let under = lock("a passphrase");
    let back = read(&closed(&d, &under).join("\n"), std::slice::from_ref(&under.1), at(99)).unwrap();
    let rebuilt = Some(Rebuilt {
        at: at(99),
        whole: true,
        signed: None,
        check: None,
        printed: Some(bare::second(at(98))),
    });
    assert_eq!(back, Draft { rebuilt, ..d });
    // Also without the key that closed it, nothing of it can be read.
    let all = whole(&closed(&full(), &under).join("\n")).unwrap();
    let Held::Closed { closed, .. } = held(&all).unwrap() else { panic!("in clear") };
    let clear = squeeze::squeeze(&full().to_json()).unwrap();
    assert!(squeeze::unsqueeze(closed).is_none());
    assert!(closed.windows(16).all(|part| !clear.windows(16).any(|of| of == part)));
}

#[test]
fn a_closed_code_is_opened_on_another_device_by_passphrase_or_recovery_key() {
    let (made, key, recovery) =
        Lock::new("straw and garnet", Cost { memory: 64, passes: 1 }, &mut chance).unwrap();
    let d = full();
    let texts = closed(&d, &(made.clone(), key)).join("\n");
    // The other device has a lock of its own, or none.
    let carried = super::lock(&texts).unwrap().unwrap();
    for with in [With::Passphrase("straw and garnet"), With::Either(&recovery.to_string())] {
        let key = carried.open(with).unwrap();
        let back = read(&texts, &[lock("a passphrase").1, key], at(99)).unwrap();
        assert!(back.rebuilt.is_some_and(|r| r.whole));
        assert_eq!(back.texts, d.texts);
    }
    assert_eq!(carried.open(With::Either("straw and garnets")).err(), Some(ClosedError::Wrong));
    // What is carried holds nothing more than the lock that is stored: nothing secret.
    assert_eq!(carried.to_bytes(), made.to_bytes());
    // One in clear asks for none.
    assert_eq!(super::lock(&super::texts(of(&d), None, at(98)).unwrap().join("\n")), Ok(None));
}

#[test]
fn when_each_part_was_given_stands_in_a_code_in_clear_with_a_day_or_without() {
    let mut d = done();
    let handed = d.times.handed_over.unwrap();
    for later in [5, 900] {
        for part in [0, 1] {
            d.write(Field::PartGivenAt(part), "");
        }
        d.all_given(&[0, 1], Instant(handed.0 + later * 60_000));
        let told = d.text(Field::PartGivenAt(1)).to_owned();
        assert_eq!(told.len() > 5, later == 900, "{told}");
        let back = read(&texts(of(&d), None, at(98)).unwrap().join("\n"), &[], at(99)).unwrap();
        assert_eq!(back.text(Field::PartGivenAt(1)), told);
    }
    // That it lay ahead when it was typed goes along, a space behind it or not.
    for told in [d.text(Field::PartGivenAt(1)).to_owned(), "12:15 ".to_owned()] {
        d.write(Field::PartGivenAt(1), told);
        d.given_ahead = d.ahead_by(&[1]).unwrap();
        let back = read(&texts(of(&d), None, at(98)).unwrap().join("\n"), &[], at(99)).unwrap();
        assert!(back.is_ahead(1) && !back.is_ahead(0));
    }
    d.write(Field::PartGivenAt(1), "after lunch");
    let back = read(&texts(of(&d), None, at(98)).unwrap().join("\n"), &[], at(99)).unwrap();
    assert_eq!(back.text(Field::PartGivenAt(1)), "");
}

#[test]
fn a_code_in_clear_says_that_no_product_came_and_not_why() {
    let mut d = done();
    d.times.handed_over = None;
    d.write(Field::NoProduct, "both containers clotted");
    d.ended_without = Some(at(80));
    let back = read(&texts(of(&d), None, at(98)).unwrap().join("\n"), &[], at(99)).unwrap();
    assert_eq!((back.ended_without, back.without_product()), (Some(bare::second(at(80))), Some("")));
    let said = holds(&back, Language::English, Offset::UTC);
    let ended = said.iter().filter(|line| line.starts_with("Signed without a product: "));
    assert_eq!(ended.count(), 1, "{said:?}");
    // Signed here, it is asked anew why, and is still of that day.
    let (case, _) = crate::case::read(&back, Language::English);
    let needs = crate::assess::hand_over::needs_to_sign(&back, &case);
    assert!(needs.contains(&crate::assess::hand_over::Need::WhyNone), "{needs:?}");
    assert_eq!(back.as_signed_at(at(120)).ended_without, back.ended_without);
    d.ended_without = None;
    let open = read(&texts(of(&d), None, at(98)).unwrap().join("\n"), &[], at(99)).unwrap();
    assert_eq!(open.ended_without, None);
}

#[test]
fn the_code_of_a_record_tells_its_signature() {
    let record = trial::signed(&done());
    let entry = Some((&record, 0));
    let of = Of { draft: record.latest(), entry, reference: false };
    let back = read(&texts(of, None, at(98)).unwrap().join("\n"), &[], at(99)).unwrap().rebuilt.unwrap();
    assert_eq!(back.signed, Some(record.first_signed().at));
    assert_eq!(back.check, Some(record.seal(0).unwrap().short()));
}

#[test]
fn the_invented_case_is_one_code() {
    let under = lock("a passphrase");
    let side = |texts: Vec<String>| {
        assert_eq!(texts.len(), 1);
        println!("{} bytes", whole(&texts[0]).unwrap().len());
        Symbol::of(&texts[0]).unwrap().side()
    };
    let (clear, closed) = (side(texts(of(&done()), None, at(98)).unwrap()), side(closed(&done(), &under)));
    println!("{clear} mm, closed {closed} mm");
    assert!(clear <= 34.0 && closed <= 58.0, "{clear} mm, closed {closed} mm");
}

#[test]
fn a_code_is_no_wider_and_its_modules_no_smaller_than_told() {
    for bytes in [1, 100, 400, MOST - 1, MOST] {
        let text = format!("SL3:22:{}:", base45::encode(&vec![255; bytes]));
        let symbol = Symbol::of(&text).unwrap();
        let module = symbol.side() / f64::from(symbol.modules);
        assert!(symbol.side() <= symbol::WIDEST && module >= symbol::LEAST, "{bytes}: {module}");
    }
    assert_eq!(Symbol::of(&base45::encode(&vec![255; MOST + 20])), None);
    assert_eq!(Symbol::of("small letters"), None);
}

#[test]
fn a_long_case_is_two_codes_in_any_order_and_a_longer_one_none() {
    let under = lock("a passphrase");
    let mut d = full();
    let words = |n: usize| (0..n).map(|i| format!("{:x}", i * i * 7919 % 65521)).collect::<String>();
    d.write(Field::Notes, words(300));
    let texts = closed(&d, &under);
    let [first, second] = texts.as_slice() else { panic!("{} codes", texts.len()) };
    let read = |typed: &str| super::read(typed, std::slice::from_ref(&under.1), at(99));
    assert!(read(&format!("{second}\r\n{first}\n")).is_ok());
    assert!(read(&format!("{first}\t{second}\n{first}").to_lowercase()).is_ok());
    assert_eq!(read(first), Err(Unread::Part { missing: 2 }));
    assert_eq!(read(second), Err(Unread::Part { missing: 1 }));
    assert_eq!(read(&format!("{first}\n{}", closed(&done(), &under)[0])), Err(Unread::TwoCards));
    let other = second.replace("SL3:22:", "SL3:12:");
    assert_eq!(read(&format!("{first}\n{other}")), Err(Unread::TwoCards));
    d.write(Field::Notes, words(4000));
    let closing = Closing { lock: &under.0, key: &under.1, chance };
    assert_eq!(super::texts(of(&d), Some(closing), at(98)), Err(NoCode::TooLong));
}

#[test]
fn what_is_no_code_is_refused_and_says_why() {
    let (clear, under, (_, other)) =
        (texts(of(&done()), None, at(98)).unwrap(), lock("a passphrase"), lock("another one"));
    let (shut, key) = (closed(&done(), &under), under.1);
    let read =
        |typed: &str, key: Option<&Key>| super::read(typed, key.map_or(&[], std::slice::from_ref), at(99));
    assert_eq!(read(&shut[0], None), Err(Unread::Closed));
    assert_eq!(read(&shut[0], Some(&other)), Err(Unread::Closed));
    assert!(read(&shut[0], Some(&key)).is_ok() && read(&clear[0], Some(&other)).is_ok());
    assert_eq!(read(" \n", None), Err(Unread::Empty));
    assert_eq!(read("https://example.org", None), Err(Unread::NotACode));
    assert_eq!(read("SL:11:AB:", None), Err(Unread::NotACode));
    assert_eq!(read(&clear[0].replace("SL3:", "SL4:"), None), Err(Unread::Newer));
    assert_eq!(read(&clear[0].replace("SL3:", "SL2:"), None), Err(Unread::Older));
    assert_eq!(read(&clear[0].replace("SL3:11:", "SL3:21:"), None), Err(Unread::NotWhole));
    assert_eq!(read(&"A".repeat(LONGEST + 1), None), Err(Unread::NotACode));
    // Each character in turn another one, or missing.
    let text = &clear[0];
    for n in 7..text.len() - 1 {
        let swapped = if &text[n..=n] == "A" { "B" } else { "A" };
        for typed in [
            format!("{}{swapped}{}", &text[..n], &text[n + 1..]),
            format!("{}{}", &text[..n], &text[n + 1..]),
        ] {
            assert!(read(&typed, None).is_err(), "{n}");
        }
    }
}

/// A code that anybody may have made: whole by its check, and anything inside.
fn forged(kind: u8, inside: &[u8]) -> String {
    let mut bytes = [&[kind], inside].concat();
    bytes.extend(check(&bytes));
    format!("SL3:11:{}:", base45::encode(&bytes))
}

#[test]
fn what_names_somebody_is_no_lot_of_a_code_in_clear() {
    let lot = |typed: &str| {
        let mut d = done();
        d.write(Field::ContainerLot, typed);
        bare::bare(&d, true).texts.contains_key(&Field::ContainerLot)
    };
    assert!(lot("K-0058") && lot("240711-3") && lot("991399"));
    // Identifiers of this case, in another writing or in part; days of birth in figures.
    for typed in [
        "HL-0417",
        "hl0417",
        "0417/HL-0417",
        "Lindqvist7",
        "04081982",
        "19820804",
        "040882",
        "820804",
        "Aug1982",
        "4.8.1880",
    ] {
        assert!(!lot(typed), "{typed}");
    }
    // Nor the lot of what was thrown away.
    let thrown_away = |typed: &str| {
        let mut d = full();
        d.discards.iter_mut().for_each(|line| line.lot = typed.to_owned());
        let lots: Vec<_> = bare::bare(&d, true).discards.into_iter().map(|line| line.lot).collect();
        lots == [typed]
    };
    assert!(thrown_away("K-0077"));
    for typed in ["HL-0417", "hl0417", "Lindqvist7"] {
        assert!(!thrown_away(typed), "{typed}");
    }
    // No check comes in by a code in clear but what told against going on.
    let mut d = done();
    assert!(bare::bare(&d, true).checks.is_empty());
    d.checks.insert(CheckKind::IdentityDiffers, Check { by: "MO".into(), at: at(10), of: String::new() });
    assert_eq!(bare::bare(&d, true).checks.into_keys().collect::<Vec<_>>(), [CheckKind::IdentityDiffers]);
}

#[test]
fn a_forged_code_brings_in_nothing_that_none_of_ours_holds() {
    let marked = marked(full(), "Marker");
    let text = forged(0, &squeeze::squeeze(&marked.to_json()).unwrap());
    let back = read(&text, &[], at(99)).unwrap();
    assert!(!back.to_json().contains("Marker"));
    for id in ["", "a/b", "strawline.record.x"] {
        let d = Draft { id: id.into(), ..done() };
        assert_eq!(
            read(&forged(0, &squeeze::squeeze(&d.to_json()).unwrap()), &[], at(99)),
            Err(Unread::NoCase)
        );
    }
    assert_eq!(read(&forged(2, b"x"), &[], at(99)), Err(Unread::Newer));
    let newer = done().to_json().replacen("\"schema\":6", "\"schema\":9", 1);
    assert_eq!(read(&forged(0, &squeeze::squeeze(&newer).unwrap()), &[], at(99)), Err(Unread::Newer));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn any_text_gives_a_case_or_a_reason(typed in "(SL[0-9]{0,2}:[0-3]{0,3}:)?\\PC{0,120}:?") {
        let (_, key) = lock("a passphrase");
        prop_assert!(super::lock(&typed).is_err());
        prop_assert!(read(&typed, &[key], at(9)).is_err());
    }

    #[test]
    fn any_bytes_inside_give_a_case_or_a_reason(
        kind in 0_u8..3,
        inside in proptest::collection::vec(any::<u8>(), 0..200),
    ) {
        let (_, key) = lock("a passphrase");
        let text = forged(kind, &inside);
        // A lock in it or none, or the reason why not.
        let _carried = super::lock(&text);
        prop_assert!(read(&text, std::slice::from_ref(&key), at(9)).is_err());
    }
}
