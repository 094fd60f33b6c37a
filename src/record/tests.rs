use super::changes::{Change, Part};
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
    assert_eq!(changed[0].1, [typed, Change::Part(Part::Choices)]);
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
    assert!(changed.contains(&Change::Part(Part::Choices)));
    assert_eq!(Record::from_json(&record.to_json().unwrap()), Ok(record));
}

#[test]
fn a_newer_record_or_case_inside_is_named_as_newer() {
    let text = Record::sign(case("a"), "MO", at(0), vec![]).unwrap().to_json().unwrap();
    let record = text.replacen("\"schema\":1", "\"schema\":7,\"new\":0", 1);
    assert_eq!(Record::from_json(&record), Err(Reason::Newer { found: 7 }));
    let inside = text.replace("\"draft\":{\"schema\":1", "\"draft\":{\"schema\":9,\"new\":0");
    assert_ne!(inside, text);
    assert_eq!(Record::from_json(&inside), Err(Reason::Newer { found: 9 }));
    let other = text.replacen("\"id\":\"a\"", "\"id\":\"b\"", 1);
    assert_eq!(Record::from_json(&other), Err(Reason::Misplaced { id: "a".into() }));
}
