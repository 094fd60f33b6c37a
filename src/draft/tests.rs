use super::*;
use crate::product::order::{OrderSense, OrderedAmount};
use crate::spin::programme::Stage;

fn demo() -> Draft {
    Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default())
}

fn check(draft: &mut Draft, kind: CheckKind) {
    draft.checks.insert(kind, Check { by: "MO".into(), at: Instant(5), of: String::new() });
}

#[test]
fn only_a_person_who_types_a_reading_says_when_it_was_counted() {
    let mut stored = demo();
    stored.write(Field::Reading(0), "924");
    let mut loaded = Draft::from_json(&stored.to_json()).unwrap();
    assert_eq!(loaded.times.counted, None);
    loaded.type_in(Field::Notes, "slow", Instant(7), None);
    loaded.type_in(Field::Reading(1), "", Instant(8), None);
    assert_eq!(loaded.times.counted, None);
    loaded.type_in(Field::Reading(1), "930", Instant(9), None);
    loaded.type_in(Field::Reading(1), "931", Instant(10), None);
    assert_eq!(loaded.times.counted, Some(Instant(9)));
    // A reading taken away leaves the time of the other; with none left, the next one is counted anew.
    loaded.type_in(Field::Reading(0), "", Instant(11), None);
    assert_eq!(loaded.times.counted, Some(Instant(9)));
    loaded.type_in(Field::Reading(1), "", Instant(12), None);
    assert_eq!(loaded.times.counted, None);
    loaded.type_in(Field::Reading(0), "918", Instant(99), None);
    assert_eq!(loaded.times.counted, Some(Instant(99)));
    // What stands there already is no new count; another reading days later is.
    let later = Instant(99 + 2 * 86_400_000);
    loaded.type_in(Field::Reading(0), loaded.text(Field::Reading(0)).to_owned(), later, None);
    assert_eq!(loaded.times.counted, Some(Instant(99)));
    loaded.type_in(Field::Reading(0), "1204", later, None);
    assert_eq!(loaded.times.counted, Some(later));
}

#[test]
fn a_check_lapses_with_what_it_spoke_of_also_after_the_needle() {
    for drawn in [None, Some(Instant(6))] {
        let mut d = demo();
        d.times.needle_in = drawn;
        for kind in [CheckKind::Identity, CheckKind::HandOver, CheckKind::AnticoagulantSound] {
            check(&mut d, kind);
        }
        d.lapse(Changed::Site);
        assert!(d.checks.contains_key(&CheckKind::Identity) && !d.checks.contains_key(&CheckKind::HandOver));
        d.lapse(Changed::Identifiers);
        assert_eq!(d.checks.keys().copied().collect::<Vec<_>>(), [CheckKind::AnticoagulantSound]);
        let kept: Vec<_> = d.lapsed.iter().map(|l| (l.kind, l.check.by.as_str(), l.changed)).collect();
        assert_eq!(
            kept,
            [(CheckKind::HandOver, "MO", Changed::Site), (CheckKind::Identity, "MO", Changed::Identifiers)]
        );
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
    }
}

#[test]
fn what_was_inside_when_a_mark_was_entered_is_not_planned_anew() {
    let ml = |v| Volume::new(v).unwrap();
    let (one, two) = (Field::AnticoagulantActual(0), Field::AnticoagulantActual(1));
    let mut d = demo();
    d.type_in(Field::FillActual(0), "15", Instant(7), Some(ml(2.0)));
    let planned = Split { anticoagulant: ml(2.0), blood: ml(13.0), fill: ml(15.0) };
    d.fill_as_planned(1, planned);
    assert_eq!((d.text(one), d.text(Field::FillActual(1)), d.text(two)), ("2", "15", "2"));
    // Another plan, and a mark corrected under it: what was done stays done.
    d.write(Field::AnticoagulantChosen, "3");
    d.type_in(Field::FillActual(0), "14", Instant(8), Some(ml(3.0)));
    let (case, _) = crate::case::read(&d, crate::words::Language::English);
    let inside: Vec<_> = case.draw.containers.iter().map(|c| c.anticoagulant).collect();
    assert_eq!(inside, [Some(ml(2.0)); 2]);
    // A mark that was a slip leaves nothing behind; an amount that somebody entered stays.
    d.type_in(Field::FillActual(1), "", Instant(9), Some(ml(2.0)));
    assert_eq!(d.text(two), "");
    d.write(two, "2.4");
    d.type_in(Field::FillActual(1), "15", Instant(9), Some(ml(2.0)));
    d.type_in(Field::FillActual(1), "", Instant(9), Some(ml(2.0)));
    assert_eq!(d.text(two), "2.4");
}

#[test]
fn a_rotor_that_was_opened_is_balanced_anew() {
    let mut d = demo();
    let programme = &d.kit.protocol.as_ref().unwrap().programme.0;
    let by_hand = (0u8..).zip(programme).find(|(_, s)| matches!(s, Stage::Handling { .. })).unwrap().0;
    check(&mut d, CheckKind::Balance);
    d.begin_stage(0, Instant(6));
    assert!(d.checks.contains_key(&CheckKind::Balance), "what turns stays balanced");
    d.begin_stage(by_hand, Instant(7));
    assert!(!d.checks.contains_key(&CheckKind::Balance));
    let kept: Vec<_> = d.lapsed.iter().map(|l| (l.kind, l.check.at, l.changed)).collect();
    assert_eq!(kept, [(CheckKind::Balance, Instant(5), Changed::Rotor)]);
    let mut back = d.clone();
    back.take_back_stage(by_hand);
    assert_eq!(back.checks.get(&CheckKind::Balance).map(|c| c.at), Some(Instant(5)));
    assert!(back.lapsed.is_empty() && !back.times.stages.contains_key(&by_hand));
    d.checks.insert(CheckKind::Balance, Check { by: "MO".into(), at: Instant(8), of: String::new() });
    d.take_back_stage(by_hand);
    assert_eq!(d.checks.get(&CheckKind::Balance).map(|c| c.at), Some(Instant(8)), "the newer one stays");
}

#[test]
fn identifiers_that_differed_at_the_needle_still_differ_when_they_are_typed_anew() {
    let mut d = demo();
    check(&mut d, CheckKind::IdentityDiffers);
    d.times.needle_in = Some(Instant(6));
    d.lapse(Changed::Identifiers);
    assert!(d.checks.contains_key(&CheckKind::IdentityDiffers));
}

#[test]
fn how_an_order_is_meant_is_kept_and_says_nothing_where_nothing_was_chosen() {
    let mut d = demo();
    let text = d.to_json();
    assert!(!text.contains("order_sense") && !text.contains("each_part"), "{text}");
    d.choices.order_sense.insert(OrderedAmount::Platelets, OrderSense::Between);
    d.choices.each_part = true;
    let text = d.to_json();
    assert!(text.contains(r#""order_sense":{"platelets":"between"},"each_part":true"#), "{text}");
    assert_eq!(Draft::from_json(&text).unwrap(), d);
}

#[test]
fn a_kit_that_contradicts_itself_is_refused_and_the_entry_is_named() {
    use crate::record::Reason;
    use crate::words::Phrase;
    let refused = |change: fn(&mut Kit)| {
        let mut d = demo();
        change(&mut d.kit);
        Draft::from_json(&d.to_json()).map_err(|error| Reason::from(error).english().into_owned())
    };
    assert!(refused(|_| ()).is_ok());
    let said = refused(|kit| kit.container.as_mut().unwrap().graduation = crate::quantity::Volume::ZERO);
    assert_eq!(said.unwrap_err(), "Tube, filled to 15 mL: A graduation cannot be zero.");
    let said = refused(|kit| {
        let ratio = crate::quantity::AcRatio::constant(0.1);
        kit.protocol.as_mut().unwrap().own_band = Some(crate::bench::OwnBand { low: ratio, high: ratio });
    });
    assert!(said.unwrap_err().starts_with("Double-spin tube method: the lowest of its own band"));
    let said = refused(|kit| {
        kit.analyser.low = Some(crate::quantity::CellCount::constant(600.0));
        kit.analyser.high = Some(crate::quantity::CellCount::constant(10.0));
    });
    assert!(said.unwrap_err().starts_with("Analyser: the lowest reading"));
}

#[test]
fn a_time_of_giving_that_older_versions_wrote_is_passed_over() {
    let mut d = demo();
    d.times.needle_in = Some(Instant(6));
    let text = d.to_json();
    assert!(!text.contains("given\":null"), "{text}");
    for given in ["null", "7"] {
        let old =
            text.replacen("\"handed_over\":null", &format!("\"handed_over\":null,\"given\":{given}"), 1);
        assert_ne!(old, text);
        assert_eq!(Draft::from_json(&old), Ok(d.clone()));
    }
}

#[test]
fn setting_aside_keeps_whether_the_product_was_collected() {
    for (collected, kept, late) in [(None, "", false), (Some(Instant(9)), "", true), (None, "4", true)] {
        let mut d = demo();
        let (kind, container) = (TroubleKind::Clot, Some(0));
        let (at, by) = (Instant(7), "MO".into());
        d.troubles.push(Trouble {
            kind,
            container,
            at,
            by,
            set_aside: false,
            aside: None,
            collected: false,
            withdrawn: None,
        });
        d.times.collected = collected;
        d.write(Field::ProductActual, kept);
        d.set_aside(kind, container, "MO".to_owned(), Instant(9));
        // Collected after all, or not after all: what was in the pool then, was.
        for times in [Times::default(), Times { collected: Some(Instant(11)), ..Times::default() }] {
            assert_eq!((d.troubles[0].left_out(&times), d.troubles[0].set_aside_late(&times)), (!late, late));
        }
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
    }
}

#[test]
fn a_container_the_product_was_collected_without_stays_out() {
    let mut d = demo();
    let stop = Trouble {
        kind: TroubleKind::Clot,
        container: Some(0),
        at: Instant(7),
        by: "MO".into(),
        set_aside: false,
        aside: None,
        collected: false,
        withdrawn: None,
    };
    d.troubles.push(stop);
    d.set_aside(TroubleKind::Clot, Some(0), "MO".to_owned(), Instant(7));
    let back = || Check { by: "MO".into(), at: Instant(9), of: String::new() };
    let mut before = d.clone();
    before.withdraw(&before.troubles[0].clone(), back());
    assert!(!before.troubles[0].stands(), "nothing was collected yet");
    d.times.collected = Some(Instant(8));
    d.withdraw(&d.troubles[0].clone(), back());
    assert!(d.troubles[0].stands() && d.troubles[0].left_out(&d.times));
}

#[test]
fn a_draft_stored_before_dilution_was_asked_still_loads() {
    let mut d = demo();
    let text = d.to_json();
    assert!(!text.contains("dilution") && !text.contains("lapsed"), "{text}");
    assert_eq!(Draft::from_json(&text).unwrap().dilution(), None);
    d.write(Field::Dilution, "20");
    assert_eq!(d.dilution(), Some(SampleDilution::Diluted));
}

#[test]
fn a_part_that_is_left_out_takes_all_along_that_was_entered_of_it() {
    let mut draft = demo();
    draft.rows.parts = 2;
    for i in 0..2 {
        for field in [Field::PartName(i), Field::PartVolume(i), Field::PartGiven(i), Field::PartGivenAt(i)] {
            draft.write(field, "11:50");
        }
    }
    draft.one_part_less();
    assert_eq!(draft.rows.parts, 1);
    for field in [Field::PartName(1), Field::PartVolume(1), Field::PartGiven(1), Field::PartGivenAt(1)] {
        assert_eq!(draft.text(field), "", "{field:?}");
    }
    assert_eq!(draft.text(Field::PartGivenAt(0)), "11:50");
}
