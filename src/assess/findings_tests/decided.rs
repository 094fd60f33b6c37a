//! A decision holds for what was decided on, and for nothing worse.

use super::*;
use crate::blood::baseline::SampleKind;
use crate::draft::About;

/// Decides every finding of a key as it stands.
fn decide(draft: &mut Draft, key: &str, reason: &str) {
    let a = answer(draft);
    let finding = a.findings.iter().find(|f| f.kind.key() == key).unwrap();
    let about = Some(finding.about.clone());
    let said = Decision::new("Dr A. Reyes-Lindqvist", reason, now().at);
    draft.decide(key.into(), Decision { about, ..said });
}

fn open(draft: &Draft, key: &str) -> bool {
    answer(draft).findings.iter().find(|f| f.kind.key() == key).unwrap().is_open()
}

#[track_caller]
fn holds_until(
    key: &str,
    change: impl Fn(&mut Draft),
    better: impl Fn(&mut Draft),
    worse: impl Fn(&mut Draft),
) {
    let mut d = quiet();
    change(&mut d);
    assert!(open(&d, key));
    decide(&mut d, key, "seen");
    assert!(!open(&d, key), "{key} as decided");
    let mut same = d.clone();
    better(&mut same);
    assert!(!open(&same, key), "{key} no worse");
    worse(&mut d);
    assert!(open(&d, key), "{key} worse than decided");
    // What was decided stays in the record, beside what is decided now.
    let a = answer(&d);
    let finding = a.findings.iter().find(|f| f.kind.key() == key).unwrap();
    assert_eq!(finding.past().map(|d| d.reason.as_str()).collect::<Vec<_>>(), ["seen"]);
    decide(&mut d, key, "seen again");
    assert!(!open(&d, key));
    let kept = &Draft::from_json(&d.to_json()).unwrap().decisions[key];
    assert_eq!((kept.reason.as_str(), kept.earlier.len()), ("seen again", 1));
}

#[test]
fn a_decision_does_not_outlive_what_was_decided() {
    let weight = |kg: &'static str| {
        move |d: &mut Draft| {
            d.write(Field::Discard, "200");
            d.write(Field::Weight, kg);
        }
    };
    holds_until("limit.per_kg", weight("42"), weight("43"), weight("40"));
    holds_until(
        "anticoagulant_high.1",
        |d| d.write(Field::FillActual(0), "11"),
        |d| d.write(Field::FillActual(0), "11.5"),
        |d| d.write(Field::FillActual(0), "10"),
    );
    holds_until(
        "rating_unchecked",
        |d| rotor(d).maximum = None,
        |d| d.write(Field::Notes, "asked"),
        |d| rotor(d).id = "another".into(),
    );
    holds_until(
        "identity_unchecked",
        |d| d.checks.retain(|kind, _| *kind != CheckKind::Identity),
        |d| d.write(Field::Notes, "known to me"),
        |d| d.write(Field::PatientReference, "HL-0418"),
    );
    holds_until(
        "past_use_by",
        |d| d.times.needle_in = hours_ago(5),
        |d| d.times.needle_in = Some(Instant(hours_ago(5).unwrap().0 - HOUR / 2)),
        |d| d.times.needle_in = hours_ago(8),
    );
    holds_until(
        "weak_sample",
        |d| d.choices.sample = Some(SampleKind::FingerPrick),
        |d| d.write(Field::Notes, "seen"),
        |d| d.choices.sample = Some(SampleKind::OlderResult),
    );
    holds_until(
        "parts_differ",
        |d| d.write(Field::PartVolume(1), "1.5"),
        // As far apart, and less far, on either side.
        |d| d.write(Field::PartVolume(1), "0.6"),
        |d| d.write(Field::PartVolume(1), "2"),
    );
    let addition = |d: &mut Draft| d.rows.additions = 1;
    holds_until(
        "addition_incomplete",
        addition,
        |d| d.write(Field::Notes, "asked"),
        |d| d.rows.additions = 2,
    );
    holds_until(
        "unread.weight",
        |d| d.write(Field::Weight, "heavy"),
        |d| d.write(Field::Weight, "heavy "),
        |d| d.write(Field::Weight, "very heavy"),
    );
    holds_until(
        "no_rating",
        |d| rotor(d).rated_rpm = None,
        |d| d.write(Field::Notes, "read off the lid"),
        |d| rotor(d).id = "another".into(),
    );
    let overdue = |on: u8| {
        move |d: &mut Draft| {
            let due = Date::new(2026, 3, on);
            let speed = crate::log::LastCheck { due, ..crate::log::LastCheck::default() };
            let id = "c".to_owned();
            d.kit.centrifuge =
                Some(crate::log::Centrifuge { id, speed, ..crate::log::Centrifuge::default() });
        }
    };
    holds_until("centrifuge_check.speed", overdue(10), |d| d.write(Field::Notes, "asked"), overdue(11));
    holds_until(
        "run_differs.3.time",
        |d| d.write(Field::MinutesActual(2), "12"),
        |d| d.write(Field::MinutesActual(2), "11.5"),
        |d| d.write(Field::MinutesActual(2), "13"),
    );
    let one_count = |d: &mut Draft, reading: &str| {
        d.write(Field::ProductActual, "4");
        d.write(Field::Reading(0), reading);
        d.choices.dilution = Some(SampleDilution::Undiluted);
        d.choices.mixed_no_clumps = Some(false);
    };
    holds_until(
        "not_mixed",
        |d| one_count(d, "924"),
        |d| d.write(Field::Notes, "asked"),
        |d| one_count(d, "700"),
    );
    let beyond = |factor: &'static str| {
        move |d: &mut Draft| {
            d.write(Field::ProductActual, "4");
            d.write(Field::Reading(0), "924");
            d.write(Field::Dilution, factor);
        }
    };
    holds_until("beyond.count", beyond("400"), beyond("300"), beyond("500"));
}

#[test]
fn what_a_decision_is_about_is_ids_and_numbers() {
    let of = |key: &str, change: fn(&mut Draft)| {
        let mut d = quiet();
        change(&mut d);
        answer(&d).findings.into_iter().find(|f| f.kind.key() == key).unwrap().about.of
    };
    assert_eq!(
        of("rating_unchecked", |d| rotor(d).maximum = None),
        r#"["swing-out-155","tube-15",[{"rcf":{"g":180.0,"at":"maximum"}},{"rcf":{"g":900.0,"at":"maximum"}}]]"#
    );
    let unchecked: fn(&mut Draft) = |d| d.checks.retain(|kind, _| *kind != CheckKind::Identity);
    assert_eq!(of("identity_unchecked", unchecked), r#"["HL-0417","4 Aug 1982"]"#);
    assert_eq!(of("calcium_added", |d| calcium(d, "10")), r#"[["chloride",10.0,0.2]]"#);
    assert_eq!(of("addition_incomplete", |d| calcium(d, "")), "[1]");
}

fn calcium(d: &mut Draft, strength: &str) {
    d.rows.additions = 1;
    d.choices.additions.insert(0, crate::draft::AdditionChoice::CalciumChloride);
    d.write(Field::AdditionStrength(0), strength);
    d.write(Field::AdditionVolume(0), "0.2");
}

#[test]
fn a_decision_stored_about_names_of_the_code_loads_and_is_asked_anew() {
    let mut d = quiet();
    rotor(&mut d).maximum = None;
    let old = r#"{"by":"Dr A. Reyes-Lindqvist","reason":"seen","at":5,
        "about":{"of":"(Some(\"swing-out-155\"), Some(\"tube-15\"), None)","grave":0.0,"slack":0.0}}"#;
    d.decisions.insert("rating_unchecked".into(), serde_json::from_str(old).unwrap());
    let d = Draft::from_json(&d.to_json()).unwrap();
    assert!(open(&d, "rating_unchecked"));
    let a = answer(&d);
    let finding = a.findings.iter().find(|f| f.kind.key() == "rating_unchecked").unwrap();
    assert_eq!(finding.overtaken.as_ref().map(|d| d.reason.as_str()), Some("seen"));
}

#[test]
fn a_trouble_that_comes_again_is_decided_anew() {
    let mut d = quiet();
    trouble(&mut d, TroubleKind::Clumps, None, false);
    decide(&mut d, "trouble.clumps", "used for a count");
    assert!(!open(&d, "trouble.clumps"));
    d.troubles[0].withdrawn = Some(Check { by: "MO".into(), at: now().at, of: String::new() });
    trouble(&mut d, TroubleKind::Clumps, None, false);
    d.troubles[1].at = Instant(now().at.0 + 60_000);
    assert!(open(&d, "trouble.clumps"));
}

#[test]
fn what_was_decided_before_this_was_kept_still_reads_and_holds() {
    let old = r#"{"by":"Dr A. Reyes-Lindqvist","reason":"seen","at":5}"#;
    let old: Decision = serde_json::from_str(old).unwrap();
    assert_eq!((old.about.as_ref(), old.earlier.len()), (None::<&About>, 0));
    let mut d = quiet();
    d.checks.remove(&CheckKind::Identity);
    d.decisions.insert("identity_unchecked".into(), old);
    assert!(!open(&d, "identity_unchecked"));
}
