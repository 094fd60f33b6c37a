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
    draft.write(Field::Reading(1), " ");
    stand.push(Counts::of(&draft));
    draft.write(Field::Reading(1), "924");
    stand.push(Counts::of(&draft));
    draft.choices.dilution = Some(SampleDilution::Undiluted);
    stand.push(Counts::of(&draft));
    use Counts as C;
    assert_eq!(stand, [C::NoProduct, C::NotCounted, C::Later, C::Later, C::Later, C::Counted]);
    let record = Record::sign(draft, "MO", at(4), vec![]).unwrap();
    assert!(!record.waiting_for_counts());
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
