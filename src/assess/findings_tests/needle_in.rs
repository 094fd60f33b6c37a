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
fn nothing_inside_is_anticoagulant_forgotten() {
    let key = "trouble.anticoagulant_forgotten.1";
    stops(key, HeldStep::Spin, |d| {
        d.times.needle_in = hours_ago(1);
        d.write(Field::FillActual(0), "15");
        d.write(Field::AnticoagulantActual(0), "0");
    });
    // The same as if it had been entered as what went wrong, and set aside it is settled.
    let mut d = quiet();
    d.write(Field::FillActual(0), "15");
    d.write(Field::AnticoagulantActual(0), "0");
    let split = answer(&d).draw.containers[0].split.unwrap();
    assert_eq!((split.anticoagulant, split.blood), (Volume::ZERO, ml(15.0)));
    trouble(&mut d, TroubleKind::AnticoagulantForgotten, Some(0), false);
    assert_eq!(keys(&answer(&d)), [key], "told once");
    d.troubles[0].set_aside = true;
    assert_eq!(keys(&answer(&d)), ["set_aside.1"]);
}

#[test]
fn limits_follow_the_plan_and_every_container_taken_to_it() {
    let drawn = |d: &Draft| {
        let a = answer(d);
        (a.draw.patient.as_ref().unwrap().drawn_today.value, a.draw.containers.len())
    };
    let mut d = quiet();
    d.one_more_container(2);
    assert_eq!(drawn(&d), (ml(39.0), 3));
    assert!(d.last_is_spare(2));
    // Planned anew, the limits are those of the plan with what was taken to it, and all of them can be marked.
    d.write(Field::Containers, "10");
    assert_eq!(drawn(&d), (ml(143.0), 11));
    assert_eq!(answer(&d).draw.plan.unwrap().containers, 10);
    d.one_less_container(11);
    assert_eq!(drawn(&d), (ml(130.0), 10));
    assert!(!d.last_is_spare(10));
    d.write(Field::Containers, "1");
    assert_eq!(drawn(&d), (ml(13.0), 1));
    // Never beyond what a case can hold.
    d.write(Field::Containers, "12");
    d.one_more_container(12);
    assert_eq!(drawn(&d).1, 12);
    // As older versions wrote it: three in hand, whatever is planned; but no fewer than planned.
    let mut old = quiet();
    old.rows.containers = 3;
    assert_eq!(drawn(&old), (ml(39.0), 3));
    // One more is one more than there were.
    let mut more = old.clone();
    more.one_more_container(2);
    assert_eq!(drawn(&more), (ml(52.0), 4));
    old.write(Field::Containers, "10");
    assert_eq!(drawn(&old), (ml(130.0), 10));
}

#[test]
fn a_plan_used_leaves_out_what_was_taken_to_another() {
    let mut d = quiet();
    d.one_more_container(2);
    let before = d.to_put_back();
    (d.rows.spare, d.rows.containers) = (0, 0);
    d.put_back(before);
    assert_eq!(answer(&d).draw.containers.len(), 3);
}

#[test]
fn a_container_of_which_something_was_entered_stays_in_the_case() {
    use crate::draft::Entered;
    use crate::quantity::read::{Reading, Refusal};
    let refused = |d: &Draft| match crate::case::read(d, Language::English).1.get(&Field::Containers) {
        Some(Reading::Wrong(Refusal::Entered { container, what, least })) => {
            Some((*container, what.clone(), *least))
        }
        _ => None,
    };
    let mark = Entered::Mark("15".into());
    // Both at the mark and the needle out, then planned as one.
    let mut d = quiet();
    d.times.needle_in = hours_ago(1);
    let plan = answer(&d).draw.to_keep();
    for i in 0..2 {
        d.change_under(plan.clone(), |d| d.type_in(Field::FillActual(i), "15", now().at, Some(ml(2.0))));
    }
    d.change_under(plan, |d| d.times.needle_out = hours_ago(1));
    d.write(Field::Containers, "1");
    let a = answer(&d);
    assert_eq!(a.draw.now.as_ref().unwrap().blood.value, ml(26.0));
    assert_eq!(a.draw.patient.as_ref().unwrap().drawn_today.value, ml(26.0));
    assert_eq!(keys(&a), [""; 0]);
    assert_eq!(refused(&d), Some((1, mark.clone(), 2)));
    // The same of one that clotted and was set aside, also before a plan was kept.
    let mut d = quiet();
    trouble(&mut d, TroubleKind::Clot, Some(1), true);
    d.write(Field::Containers, "1");
    let a = answer(&d);
    assert_eq!((a.draw.containers.len(), a.draw.patient.unwrap().drawn_today.value), (2, ml(26.0)));
    assert_eq!(refused(&d), Some((1, Entered::Trouble(TroubleKind::Clot), 2)));
    d.troubles[0].withdrawn = Some(Check { by: "MO".into(), at: now().at, of: String::new() });
    assert_eq!((refused(&d), answer(&d).draw.containers.len()), (None, 1), "taken back, nothing holds it");
    d.write(Field::AnticoagulantActual(1), "2.2");
    assert_eq!(refused(&d), Some((1, Entered::Anticoagulant("2.2".into()), 2)));
    // What was taken to the plan is not planned: with its mark it needs no higher number.
    let mut d = quiet();
    d.one_more_container(2);
    for i in 0..3 {
        d.write(Field::FillActual(i), "15");
    }
    assert_eq!((refused(&d), answer(&d).draw.containers.len()), (None, 3));
    d.write(Field::Containers, "1");
    assert_eq!((refused(&d), answer(&d).draw.containers.len()), (Some((2, mark, 2)), 3));
}

#[test]
fn more_containers_after_the_needle_is_out_are_refused_with_what_to_do() {
    use crate::quantity::read::{Reading, Refusal};
    let mut d = quiet();
    let reading =
        |d: &Draft| crate::case::read(d, Language::English).1.get(&Field::Containers).cloned().unwrap();
    d.times.needle_in = hours_ago(1);
    let plan = answer(&d).draw.to_keep();
    for i in 0..2 {
        d.change_under(plan.clone(), |d| d.type_in(Field::FillActual(i), "15", now().at, Some(ml(2.0))));
    }
    d.write(Field::Containers, "3");
    assert_eq!(answer(&d).draw.containers.len(), 3, "with the needle in, one more is planned");
    d.times.needle_out = hours_ago(1);
    assert_eq!(reading(&d), Reading::Wrong(Refusal::NeedleOut { drawn_to: 2 }));
    assert_eq!(answer(&d).draw.containers.len(), 2);
    // One that was filled is in the case, whatever is planned: nothing is refused.
    d.write(Field::FillActual(2), "15");
    assert!(matches!(reading(&d), Reading::Value { .. }));
    assert_eq!(answer(&d).draw.containers.len(), 3);
    d.write(Field::FillActual(2), "");
    d.write(Field::Containers, "2");
    assert!(matches!(reading(&d), Reading::Value { .. }));
}

#[test]
fn the_plan_that_blood_was_drawn_to_stands() {
    let mut d = quiet();
    d.times.needle_in = hours_ago(1);
    let plan = |d: &Draft| {
        let plan = answer(d).draw.plan.unwrap();
        (plan.rounded.value.split.anticoagulant, plan.rounded.value.split.blood, plan.containers)
    };
    let edit = |d: &mut Draft, field, text: &str| {
        let kept = answer(d).draw.to_keep();
        d.change_under(kept, |d| d.type_in(field, text, now().at, Some(ml(2.0))));
    };
    edit(&mut d, Field::FillVolume, "12");
    assert_eq!(plan(&d).0, ml(1.6), "no blood yet: the order is followed");
    edit(&mut d, Field::FillVolume, "15");
    let drawn = (ml(2.0), ml(13.0), 2);
    edit(&mut d, Field::FillActual(0), "15");
    edit(&mut d, Field::FillVolume, "12");
    edit(&mut d, Field::Containers, "3");
    assert_eq!(plan(&d), drawn);
    let a = answer(&d);
    assert_eq!(a.draw.containers.len(), 3, "while the needle is in one more can be planned");
    assert!(a.draw.containers[2].extra && a.draw.patient.unwrap().drawn_today.value == ml(39.0));
    edit(&mut d, Field::FillActual(1), "15");
    d.change_under(None, |d| d.times.needle_out = hours_ago(1));
    assert_eq!((plan(&d), answer(&d).draw.containers.len()), (drawn, 2));
    // It is stored; what follows from the order still follows.
    let mut d = Draft::from_json(&d.to_json()).unwrap();
    assert_eq!(plan(&d), drawn);
    let product = |d: &Draft| answer(d).product.volume.unwrap();
    edit(&mut d, Field::ProductVolume, "3");
    assert_eq!((product(&d), plan(&d)), (ml(3.0), drawn));
    // Other ways to another plan do not reach it either.
    d.choices.convention = None;
    d.write(Field::AnticoagulantChosen, "x");
    assert_eq!(plan(&d), drawn);
    // Every mark a slip and the needle not out: nothing was drawn.
    d.choices.convention = Some(VolumeConvention::FillMark);
    d.change_under(None, |d| {
        d.write(Field::AnticoagulantChosen, "");
        d.times.needle_out = None;
    });
    assert_eq!(plan(&d), drawn);
    for i in 0..2 {
        edit(&mut d, Field::FillActual(i), "");
    }
    assert_eq!((plan(&d).0, d.drawn_to), (ml(1.6), None));
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

#[test]
fn what_blood_was_drawn_with_is_not_changed_in_silence() {
    let drawn = |d: &mut Draft| {
        d.times.needle_in = hours_ago(1);
        let plan = answer(d).draw.to_keep();
        d.change_under(plan, |d| d.write(Field::FillActual(0), "15"));
    };
    let mut same = quiet();
    drawn(&mut same);
    let before = answer(&same);
    assert!(!keys(&before).contains(&"drawn_with_other".to_owned()));
    assert!(same.drawn_to.as_ref().is_some_and(|kept| kept.agent.is_some() && kept.container.is_some()));
    waits("drawn_with_other", HeldStep::HandOver, |d| {
        drawn(d);
        d.change(|d| d.choices.agent = Some(Agent::Cpd));
    });
    waits("drawn_with_other", HeldStep::HandOver, |d| {
        drawn(d);
        d.change(|d| {
            if let Some(container) = &mut d.kit.container {
                container.id = "another".to_owned();
            }
        });
    });
    // A mark that was a slip gives the plan up, and with it what it was drawn with.
    same.change_under(None, |d| d.write(Field::FillActual(0), ""));
    same.change(|d| d.choices.agent = Some(Agent::Cpd));
    assert!(!keys(&answer(&same)).contains(&"drawn_with_other".to_owned()));
}

#[test]
fn side_and_site_are_not_changed_in_silence_once_the_needle_was_in() {
    use crate::draft::Side;
    let needle = |d: &mut Draft| d.change(|d| d.times.needle_in = hours_ago(1));
    let mut same = quiet();
    needle(&mut same);
    assert!(!keys(&answer(&same)).contains(&"site_changed".to_owned()));
    waits("site_changed", HeldStep::HandOver, |d| {
        needle(d);
        d.change(|d| d.choices.side = Some(Side::Left));
    });
    waits("site_changed", HeldStep::HandOver, |d| {
        needle(d);
        d.change(|d| d.write(Field::Site, "Achilles tendon"));
    });
    // Decided for one change, it is asked anew for another; changed back, nothing is left to decide.
    same.change(|d| d.choices.side = Some(Side::Left));
    let open = |d: &Draft| answer(d).findings.iter().any(|f| f.kind.key() == "site_changed" && f.is_open());
    let found = answer(&same).findings.into_iter().find(|f| f.kind.key() == "site_changed").unwrap();
    // Told where it is changed and from there on; what else holds the hand-over alone is told at the product.
    assert_eq!(found.kind.stage(), Stage::Order);
    assert_eq!(STEPS.map(|step| found.kind.stands_above(step)), [true; 3]);
    let other = FindingKind::DrawnWithOther { anticoagulant: true, container: false };
    assert_eq!(STEPS.map(|step| other.stands_above(step)), [false, false, true]);
    let mut decision = Decision::new("Dr A. Reyes-Lindqvist", "left was meant", now().at);
    decision.about = Some(found.about);
    same.decide("site_changed".to_owned(), decision);
    assert!(!open(&same));
    same.change(|d| d.write(Field::Site, "Achilles tendon"));
    assert!(open(&same));
    same.change(|d| d.write(Field::Site, "patellar tendon"));
    same.change(|d| d.choices.side = Some(Side::Right));
    assert!(!keys(&answer(&same)).contains(&"site_changed".to_owned()));
}

#[test]
fn a_site_spelt_otherwise_is_a_caution_and_another_is_the_prescribers() {
    let spelt = |site: &'static str| {
        move |d: &mut Draft| {
            d.change(|d| d.times.needle_in = hours_ago(1));
            d.change(|d| d.write(Field::Site, site));
        }
    };
    for site in ["patellar-tendon", "Patellar tendon."] {
        let a = caution("site_reworded", spelt(site));
        assert!(a.holding(HeldStep::HandOver).all(|f| f.kind.key() != "site_changed"), "{site}");
    }
    for site in
        ["Achilles tendon", "tendon", "patelar tendon", "patellar tendon, distal", "left patellar tendon", ""]
    {
        let a = waits("site_changed", HeldStep::HandOver, spelt(site));
        assert!(!keys(&a).contains(&"site_reworded".to_owned()), "{site}");
    }
    // The side with it is the prescriber's; seen for one wording, it is seen anew for another.
    let mut d = quiet();
    spelt("patellar-tendon")(&mut d);
    let open = |d: &Draft| answer(d).findings.into_iter().find(|f| f.kind.key() == "site_reworded");
    let mut decision = Decision::new("MO", "", now().at);
    decision.about = Some(open(&d).unwrap().about);
    d.decide("site_reworded".to_owned(), decision);
    assert!(!open(&d).unwrap().is_open());
    d.change(|d| d.write(Field::Site, "patellar/tendon"));
    assert!(open(&d).unwrap().is_open());
    d.change(|d| d.choices.side = Some(crate::draft::Side::Left));
    assert!(open(&d).is_none() && keys(&answer(&d)).contains(&"site_changed".to_owned()));
}
