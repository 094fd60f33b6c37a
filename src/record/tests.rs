use super::changes::{Change, Chosen};
use super::trial::{at, case, figure};
use super::*;
use crate::draft::SampleDilution;

#[test]
fn a_record_comes_back_exactly() {
    let mut shown = vec![figure("fold", 0.1 + 0.2)];
    shown[0].low = Some(f64::MIN_POSITIVE);
    shown[0].high = Some(4.600_000_000_000_001);
    let mut record = Record::sign(case("a"), "MO", at(0), shown).unwrap();
    let mut later = case("a");
    later.write(Field::Reading(0), "924");
    record.amend(later, "MO", at(90), vec![figure("concentration", 924.0)], "count came back").unwrap();
    let text = record.to_json().unwrap();
    assert_eq!(Record::from_json(&text), Ok(record));
}

#[test]
fn an_amendment_stands_beside_the_first_entry() {
    let mut record = Record::sign(case("a"), " MO ", at(0), vec![]).unwrap();
    let first = record.first_signed().clone();
    assert_eq!((first.by.as_str(), first.model), ("MO", MODEL));
    assert!(!record.amended());
    let mut later = case("a");
    later.write(Field::ProductActual, "3.8");
    later.choices.count_later = true;
    record.amend(later.clone(), "MO", at(5), vec![], "misread the syringe").unwrap();
    assert!(record.amended());
    assert_eq!(record.first_signed(), &first);
    assert_eq!(record.latest(), &later);
    let changed = record.changes();
    assert_eq!(changed.len(), 1);
    assert_eq!(changed[0].0.reason, "misread the syringe");
    let typed = Change::Typed { field: Field::ProductActual, before: String::new(), after: "3.8".into() };
    assert_eq!(
        changed[0].1,
        [typed, Change::Chosen { before: Chosen::CountLater(false), after: Chosen::CountLater(true) }]
    );
}

#[test]
fn a_signature_needs_name_reason_case_and_change() {
    let none = Record::sign(case("a"), "  ", at(0), vec![]);
    assert_eq!(none, Err(SignError::NoName));
    let odd = Record::sign(case("a"), "MO", at(0), vec![figure("fold", f64::NAN)]);
    assert_eq!(odd, Err(SignError::NotFinite { what: "fold".into() }));
    let mut record = Record::sign(case("a"), "MO", at(0), vec![]).unwrap();
    let before = record.clone();
    let mut changed = case("a");
    changed.write(Field::Notes, "second");
    let mut amend = |draft, by, reason| record.amend(draft, by, at(1), vec![], reason);
    assert_eq!(amend(changed.clone(), "MO", " \n"), Err(SignError::NoReason));
    assert_eq!(amend(changed.clone(), " ", "why"), Err(SignError::NoAmender));
    assert_eq!(amend(case("b"), "MO", "why"), Err(SignError::OtherCase));
    assert_eq!(amend(case("a"), "MO", "why"), Err(SignError::Unchanged));
    assert_eq!(record, before);
}

#[test]
fn counts_are_awaited_until_one_is_typed() {
    let mut draft = case("a");
    let mut stand = vec![Counts::of(&draft)];
    draft.times.collected = Some(at(3));
    stand.push(Counts::of(&draft));
    draft.choices.count_later = true;
    stand.push(Counts::of(&draft));
    draft.rows.readings = 2;
    for text in [" ", "924"] {
        draft.write(Field::Reading(1), text);
        stand.push(Counts::of(&draft));
    }
    draft.choices.dilution = Some(SampleDilution::Undiluted);
    for text in ["no idea", "924"] {
        draft.write(Field::Reading(1), text);
        stand.push(Counts::of(&draft));
    }
    draft.write(Field::Reading(0), "about nine hundred");
    stand.push(Counts::of(&draft));
    draft.write(Field::Reading(0), "");
    use Counts as C;
    assert_eq!(
        stand,
        [C::NoProduct, C::NotCounted, C::Later, C::Later, C::Later, C::Later, C::Counted, C::Later],
        "what cannot be read is no count, and leaves none beside it"
    );
    let record = Record::sign(draft, "MO", at(4), vec![]).unwrap();
    assert!(!record.waiting_for_counts());
}

#[test]
fn a_full_count_may_come_late_and_is_no_longer_awaited() {
    let mut draft = case("a");
    draft.times.handed_over = Some(at(3));
    draft.choices.count_later = true;
    let mut record = Record::sign(draft.clone(), "MO", at(4), vec![]).unwrap();
    assert!(record.waiting_for_counts());
    draft.rows.readings = 2;
    let late = [
        (Field::Reading(0), "46.2"),
        (Field::Reading(1), "46.6"),
        (Field::Dilution, "20"),
        (Field::ProductWhite, "0.2"),
        (Field::ProductHaematocrit, "0.2 %"),
        (Field::ProductNeutrophils, "20"),
        (Field::PlasmaReading, "60"),
    ];
    for (field, text) in late {
        draft.type_in(field, text, at(90), None);
    }
    draft.choices.product_tube = Some(crate::draft::ProductTube::Plain);
    draft.choices.cells_dilution = Some(SampleDilution::Undiluted);
    draft.choices.mixed_no_clumps = Some(true);
    assert_eq!(draft.times.counted, Some(at(90)));
    record.amend(draft, "MO", at(91), vec![], "count came back from the laboratory").unwrap();
    assert!(!record.waiting_for_counts() && record.amended());
    let changed = record.changes().remove(0).1;
    for (field, text) in late {
        let typed = Change::Typed { field, before: String::new(), after: text.into() };
        assert!(changed.contains(&typed), "{field}");
    }
    let tube = Chosen::ProductTube(Some(crate::draft::ProductTube::Plain));
    assert!(changed.contains(&Change::Chosen { before: Chosen::ProductTube(None), after: tube }));
    assert_eq!(Record::from_json(&record.to_json().unwrap()), Ok(record));
}

#[test]
fn a_newer_record_or_case_inside_is_named_as_newer() {
    let text = Record::sign(case("a"), "MO", at(0), vec![]).unwrap().to_json().unwrap();
    let record = text.replacen("\"schema\":3", "\"schema\":7,\"new\":0", 1);
    assert_eq!(Record::from_json(&record), Err(Reason::Newer { found: 7 }));
    let inside = text.replace("\"draft\":{\"schema\":6", "\"draft\":{\"schema\":9,\"new\":0");
    assert_ne!(inside, text);
    assert_eq!(Record::from_json(&inside), Err(Reason::Newer { found: 9 }));
    let other = text.replacen("\"id\":\"a\"", "\"id\":\"b\"", 1);
    assert_eq!(Record::from_json(&other), Err(Reason::Misplaced { id: "a".into() }));
}

/// Records as the layout before the seals wrote them.
const OLD: [&str; 2] = [include_str!("samples/signed_1.json"), include_str!("samples/amended_1.json")];

#[test]
fn records_of_the_first_layout_are_read_and_added_to() {
    for (text, entries) in OLD.into_iter().zip([1, 2]) {
        let old = Record::from_json(text).unwrap();
        assert_eq!(old.entries().count(), entries);
        assert_eq!(old.first_signed().draft.text(Field::PatientReference), "HL-0417");
        assert!(old.entries().all(|e| e.card.is_none() && e.findings.is_none() && !e.shown.is_empty()));
        assert_eq!(old.verify(), Chain::Unsealed);
        assert_eq!(old.latest_seal(), None);
        let mut draft = old.latest().clone();
        draft.write(Field::Notes, "seen again");
        let mut record = old.clone();
        record.amend(draft, "MO", at(9), vec![], "asked for").unwrap();
        assert!(old.is_start_of(&record));
        let back = Record::from_json(&record.to_json().unwrap()).unwrap();
        assert_eq!(back, record);
        assert_eq!(back.verify(), Chain::Sound { since: entries });
        // What was written before stands in it letter by letter, and is covered from now on.
        let first = &back.texts[0];
        assert!(text.contains(first.as_str()));
        let spoilt = back.to_json().unwrap().replacen("HL-0417", "HL-0418", 1);
        let changed = Record::from_json(&spoilt).unwrap();
        assert_eq!(changed.verify(), Chain::Broken { entry: entries });
    }
}

#[test]
fn a_change_outside_shows_wherever_it_is_made() {
    let mut record = Record::sign(case("a"), "MO", at(0), vec![figure("fold", 4.0)]).unwrap();
    for n in 1..4 {
        let mut draft = record.latest().clone();
        draft.write(Field::Notes, format!("note {n}"));
        record.amend(draft, "JT", at(n), vec![], "why").unwrap();
    }
    assert_eq!(record.verify(), Chain::Sound { since: 0 });
    // Every entry, each with a letter of its text changed to another of its kind.
    for n in 0..4 {
        let mut bytes = record.texts[n].clone().into_bytes();
        for at in 0..bytes.len() {
            let was = bytes[at];
            bytes[at] = if was == b'x' { b'y' } else { b'x' };
            let mut spoilt = record.clone();
            spoilt.texts[n] = String::from_utf8(bytes.clone()).unwrap();
            assert_eq!(spoilt.verify(), Chain::Broken { entry: n }, "letter {at} of entry {n}");
            bytes[at] = was;
        }
    }
    let with = |change: &dyn Fn(&mut Record)| {
        let mut spoilt = record.clone();
        change(&mut spoilt);
        spoilt.verify()
    };
    let broken = |entry| Chain::Broken { entry };
    assert_eq!(with(&|r| drop((r.amendments.remove(1), r.texts.remove(2), r.seals.remove(2)))), broken(2));
    let last = |r: &mut Record| {
        r.amendments.pop();
        r.texts.pop();
        r.cut.extend(r.seals.pop());
    };
    assert_eq!(with(&last), broken(3), "a seal without its entry");
    assert_eq!(with(&|r| r.texts.swap(1, 2)), broken(1));
    assert_eq!(with(&|r| r.seals[2] = None), broken(2), "no seal among sealed ones");
    assert_eq!(with(&|r| r.seals[3] = Some(Seal::default())), broken(3));
    // A record whose newest entry was taken away with its seal fits: paper, and what lists it, tell.
    assert_eq!(with(&|r| *r = r.until(2)), Chain::Sound { since: 0 });
}

#[test]
fn a_newer_record_is_left_as_it_is() {
    for text in OLD {
        let newer = text.replacen("\"schema\":1", "\"schema\":4", 1);
        assert_eq!(Record::from_json(&newer), Err(Reason::Newer { found: 4 }));
    }
}

#[test]
fn the_text_of_an_entry_is_never_written_anew() {
    // As a version may have written it that knew its names in another order.
    let text = Record::sign(case("a"), "MO", at(0), vec![]).unwrap().to_json().unwrap();
    let other =
        text.replacen("{\"at\":1773270000000,\"by\":\"MO\"", "{\"by\":\"MO\",\"at\":1773270000000", 1);
    assert_ne!(other, text);
    let read = Record::from_json(&other).unwrap();
    assert_eq!(read.to_json().unwrap(), other);
    assert_eq!(read.verify(), Chain::Broken { entry: 0 }, "its seal was made over the other text");
}
