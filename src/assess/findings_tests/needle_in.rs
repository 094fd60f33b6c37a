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
    d.troubles[0].withdrawn = Some(Check { by: "MO".into(), at: now().at });
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
fn a_container_set_aside_leaves_the_sums() {
    let a = note("set_aside.1", |d| trouble(d, TroubleKind::Clot, Some(0), true));
    assert!(!keys(&a).iter().any(|k| k.starts_with("trouble")), "setting it aside settles it");
    let now = a.draw.now.unwrap();
    assert_eq!((now.containers, now.blood.value), (1, ml(13.0)));
    assert_eq!(a.draw.patient.unwrap().drawn_today.value, ml(26.0), "it was drawn all the same");
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
