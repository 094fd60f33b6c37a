//! Findings while the needle is in.

use super::*;
use crate::bench::Prefill;
use crate::blood::anticoagulant::Agent;

#[test]
fn a_mark_below_the_anticoagulant_is_not_reckoned() {
    let a = waits("mark_below_anticoagulant.1", HeldStep::Spin, |d| d.write(Field::FillActual(0), "1"));
    let now = a.draw.now.unwrap();
    assert_eq!((now.blood.value, now.unknown), (ml(13.0), vec![0]), "the other container alone");
    assert!(a.product.prediction.is_none() && a.product.ledger.is_none());
}

#[test]
fn a_mark_not_entered_is_not_taken_as_planned() {
    let out = |d: &mut Draft| {
        d.times.needle_in = hours_ago(1);
        d.times.needle_out = hours_ago(1);
        d.write(Field::FillActual(0), "15");
        d.write(Field::ProductActual, "4");
        d.write(Field::Reading(0), "924");
        d.write(Field::ProductWhite, "0.2");
        d.choices.mixed_no_clumps = Some(true);
        d.choices.dilution = Some(SampleDilution::Undiluted);
    };
    let a = caution("mark_missing.2", out);
    let totals = a.draw.now.as_ref().unwrap();
    assert_eq!((totals.blood.value, &totals.unknown), (ml(13.0), &vec![1]));
    assert_eq!(totals.standing, draw::Standing::Partly);
    assert_eq!(a.draw.containers[1].split, None);
    // What rests on all the blood is withheld; the count itself stands.
    assert!(totals.ratio.is_none() && totals.plasma.is_none() && a.product.ledger.is_none());
    let measured = a.product.measured.as_ref().unwrap();
    assert!(a.product.prediction.is_none() && measured.fold.is_none() && measured.recovery.is_none());
    // Limits count it as planned, the careful side.
    assert_eq!(a.draw.patient.as_ref().unwrap().drawn_today.value, ml(26.0));
    // With no mark at all there is nothing to add up.
    let mut none = quiet();
    out(&mut none);
    none.write(Field::FillActual(0), "");
    assert!(answer(&none).draw.now.is_none());
    // While the needle is in, the plan stands.
    none.times.needle_out = None;
    assert_eq!(answer(&none).draw.now.unwrap().blood.value, ml(26.0));
}

#[test]
fn a_trouble_taken_back_raises_nothing_and_is_kept() {
    let mut d = quiet();
    trouble(&mut d, TroubleKind::Clot, Some(0), true);
    d.troubles[0].withdrawn = Some(Check { by: "MO".into(), at: now().at, of: String::new() });
    let a = answer(&d);
    assert_eq!(keys(&a), [""; 0]);
    assert_eq!(a.draw.now.unwrap().containers, 2);
    let stored = Draft::from_json(&d.to_json()).unwrap();
    assert_eq!(stored.troubles, d.troubles);
    // Stored before a trouble could be taken back.
    let old = r#"{"kind":"clot","container":0,"at":5,"by":"MO","set_aside":true}"#;
    assert!(serde_json::from_str::<Trouble>(old).unwrap().stands());
}

#[test]
fn an_under_filled_tube_is_a_caution() {
    let prefilled = |d: &mut Draft| {
        container(d).prefill = Some(Prefill { agent: Agent::AcdA, volume: ml(2.0) });
        container(d).fill_low = ml(15.0);
    };
    caution("under_filled_tube.2", |d| {
        prefilled(d);
        d.write(Field::FillActual(1), "13");
    });
    let mut full = quiet();
    prefilled(&mut full);
    full.write(Field::FillActual(1), "15");
    assert_eq!(keys(&answer(&full)), [""; 0]);
}

#[test]
fn an_amount_typed_for_another_container_is_not_in_a_filled_tube() {
    let mut d = quiet();
    d.write(Field::AnticoagulantChosen, "3");
    assert_eq!(answer(&d).draw.plan.unwrap().rounded.value.split.anticoagulant, ml(3.0));
    container(&mut d).prefill = Some(Prefill { agent: Agent::AcdA, volume: ml(2.0) });
    let a = answer(&d);
    let split = a.draw.plan.unwrap().rounded.value.split;
    assert_eq!((split.anticoagulant, split.blood), (ml(2.0), ml(13.0)));
    assert_eq!(a.draw.containers[0].split.unwrap().anticoagulant, ml(2.0));
}

#[test]
fn a_container_set_aside_leaves_the_sums() {
    let a = note("set_aside.1", |d| trouble(d, TroubleKind::Clot, Some(0), true));
    assert!(!keys(&a).iter().any(|k| k.starts_with("trouble")), "setting it aside settles it");
    let now = a.draw.now.unwrap();
    assert_eq!((now.containers, now.blood.value), (1, ml(13.0)));
    assert_eq!(a.draw.patient.unwrap().drawn_today.value, ml(26.0), "it was drawn all the same");
}

#[test]
fn a_container_set_aside_after_collection_lifts_nothing() {
    use TroubleKind as T;
    for kind in [T::Clot, T::AnticoagulantForgotten, T::Dropped, T::Unlabelled] {
        let spun = |d: &mut Draft, minutes_before_collection: i64| {
            let collected = hours_ago(1).unwrap();
            d.times.needle_in = hours_ago(3);
            d.times.needle_out = hours_ago(3);
            d.times.stages.insert(0, hours_ago(2).unwrap());
            d.times.collected = Some(collected);
            for i in 0..2 {
                d.write(Field::FillActual(i), "15");
            }
            trouble(d, kind, Some(1), true);
            d.troubles[0].at = Instant(collected.0 - minutes_before_collection * 60_000);
        };
        let key = FindingKind::Trouble(kind, Some(1)).key();
        for minutes in [0, -5] {
            let a = caution("set_aside_late.2", |d| spun(d, minutes));
            let stop = a.findings.iter().find(|f| f.kind.key() == key).unwrap();
            assert!(stop.level == Level::StopFinal && stop.holds(HeldStep::HandOver), "{key}");
            assert!(!keys(&a).contains(&"set_aside.2".to_owned()));
            assert_eq!(a.draw.now.unwrap().containers, 2, "its blood is in the product");
        }
        // Set aside while the tubes were apart, also between two spins, it takes no part.
        let mut d = quiet();
        spun(&mut d, 5);
        let a = answer(&d);
        assert!(!keys(&a).contains(&key) && keys(&a).contains(&"set_aside.2".to_owned()), "{:?}", keys(&a));
        assert_eq!(a.draw.now.unwrap().containers, 1);
        // Entered before and set aside only once the product was collected.
        d.troubles[0].collected = true;
        assert!(keys(&answer(&d)).contains(&key));
    }
}

#[test]
fn with_every_container_set_aside_nothing_is_spun_or_handed_over() {
    let all = |d: &mut Draft| {
        trouble(d, TroubleKind::Clot, Some(0), true);
        trouble(d, TroubleKind::Dropped, Some(1), true);
    };
    let a = stops("nothing_left", HeldStep::Spin, all);
    assert!(a.draw.now.is_none());
    let mut more = quiet();
    all(&mut more);
    more.one_more_container(2);
    assert!(!keys(&answer(&more)).contains(&"nothing_left".to_owned()), "another one is there");
}

#[test]
fn each_trouble_has_its_level() {
    use TroubleKind as T;
    for kind in T::ALL {
        let container = kind.of_one_container().then_some(1);
        let name = match kind {
            T::ShortDraw => "trouble.short_draw.2",
            T::Clot => "trouble.clot.2",
            T::AnticoagulantForgotten => "trouble.anticoagulant_forgotten.2",
            T::Dropped => "trouble.dropped.2",
            T::Unlabelled => "trouble.unlabelled.2",
            T::SpinStopped => "trouble.spin_stopped",
            T::PinkPlasma => "trouble.pink_plasma",
            T::MilkyPlasma => "trouble.milky_plasma",
            T::RedCells => "trouble.red_cells",
            T::Clumps => "trouble.clumps",
        };
        let happens = |d: &mut Draft| trouble(d, kind, container, false);
        match kind {
            T::ShortDraw | T::SpinStopped | T::PinkPlasma | T::MilkyPlasma => caution(name, happens),
            T::RedCells | T::Clumps => waits(name, HeldStep::HandOver, happens),
            T::Clot | T::AnticoagulantForgotten | T::Dropped | T::Unlabelled => {
                stops(name, HeldStep::Spin, happens)
            }
        };
    }
}
