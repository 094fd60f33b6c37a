//! Findings at the product.

use super::*;
use crate::assess::given::GivenOdd;
use crate::draft::{AdditionChoice, TimeOf};

#[test]
fn past_use_by_waits_at_hand_over() {
    let a = waits("past_use_by", HeldStep::HandOver, |d| {
        d.times.needle_in = hours_ago(5);
        d.times.stages.insert(0, hours_ago(4).unwrap());
    });
    assert_eq!(a.spin.use_by.unwrap().value.at, hours_ago(1).unwrap());
}

#[test]
fn a_part_given_past_the_use_by_is_a_caution() {
    // Needle in at 6:31, use-by four hours after it: 10:31.
    let handed_over = |d: &mut Draft| {
        d.times.needle_in = hours_ago(4);
        d.times.stages.insert(0, hours_ago(3).unwrap());
        d.times.handed_over = hours_ago(1);
    };
    let late = |d: &mut Draft| d.times.needle_in = Some(Instant(hours_ago(4).unwrap().0 - HOUR / 2));
    let a = caution("given_past_use_by", |d| {
        handed_over(d);
        late(d);
        d.write(Field::PartGivenAt(0), "9:45");
        d.write(Field::PartGivenAt(1), "10:05");
    });
    assert_eq!(a.given.first(), Some(&None));
    let given = |text: &str, change: fn(&mut Draft)| {
        let mut d = quiet();
        handed_over(&mut d);
        change(&mut d);
        d.write(Field::PartGivenAt(0), text);
        let a = answer(&d);
        (a.given[0], keys(&a).contains(&"given_past_use_by".to_owned()))
    };
    let over = hours_ago(1).unwrap();
    let by = Instant(now().at.0 - HOUR / 2);
    assert_eq!(given("10:31", |_| ()), (None, false), "in the last minute");
    assert_eq!(given("10:01", late), (None, false), "use-by 10:01");
    assert_eq!(given("10:02", late), (Some(GivenOdd::PastUseBy(by)), true));
    assert_eq!(given("10:33", |_| ()), (Some(GivenOdd::Ahead), false), "still to come");
    let mut d = quiet();
    handed_over(&mut d);
    late(&mut d);
    d.write(Field::PartGivenAt(0), "10:05");
    d.given_ahead = d.ahead_by(&[0]).unwrap();
    let a = answer(&d);
    assert_eq!(a.given[0], Some(GivenOdd::WasAhead), "typed for a time to come, past the use-by at 10:01");
    assert!(!keys(&a).contains(&"given_past_use_by".to_owned()));
    assert_eq!(given("9:30", |_| ()), (Some(GivenOdd::BeforeHandOver(over)), false));
    assert_eq!(given("9:31", |_| ()), (None, false), "the minute of the hand-over");
    assert_eq!(given("soon", |_| ()), (None, false), "told as what cannot be read");
    let collected = |d: &mut Draft| (d.times.handed_over, d.times.collected) = (None, hours_ago(1));
    assert_eq!(given("9:30", collected), (Some(GivenOdd::BeforeCollected(over)), false));
}

#[test]
fn a_use_by_that_moved_earlier_waits_for_the_prescriber() {
    let key = "use_by_earlier";
    let ago = |minutes: i64| Instant(now().at.0 - minutes * 60_000);
    let set = |d: &mut Draft, what: TimeOf, to: i64, at: i64| d.correct(what, ago(to), "MO".into(), ago(at));
    let needle = |d: &mut Draft, to: i64, at: i64| set(d, TimeOf::NeedleIn, to, at);
    // Needle in an hour ago, collected half an hour ago.
    let collected = |d: &mut Draft| {
        d.times.needle_in = Some(ago(60));
        d.times.collected = Some(ago(30));
    };
    let moved = |d: &Draft| {
        answer(d).findings.into_iter().find_map(|f| match f.kind {
            FindingKind::UseByEarlier { was, now } => Some((was, now)),
            _ => None,
        })
    };
    let a = waits(key, HeldStep::HandOver, |d| {
        collected(d);
        needle(d, 80, 10);
    });
    let found = a.findings.iter().find(|f| f.kind.key() == key).unwrap();
    // Four hours on.
    assert_eq!(found.kind, FindingKind::UseByEarlier { was: ago(60 - 240), now: ago(80 - 240) });
    // So it is of what was handed over, and afterwards.
    waits(key, HeldStep::HandOver, |d| {
        d.times.needle_in = Some(ago(60));
        d.times.handed_over = Some(ago(20));
        needle(d, 80, 10);
    });
    // Of what was given by then nothing is to be asked any more.
    let given = |told: &str| {
        let mut d = quiet();
        d.times.needle_in = Some(ago(240));
        d.times.collected = Some(ago(60));
        d.times.handed_over = Some(ago(50));
        needle(&mut d, 260, 10);
        d.rows.parts = 1;
        d.write(Field::PartGivenAt(0), told);
        (moved(&d).is_some(), keys(&answer(&d)).contains(&"given_past_use_by".to_owned()))
    };
    assert_eq!(given(""), (true, false));
    assert_eq!(given("9:50"), (false, false));
    assert_eq!(given("10:20"), (false, true), "before the old use-by at 10:31, after the new one at 10:11");
    let with = |change: &dyn Fn(&mut Draft)| {
        let mut d = quiet();
        collected(&mut d);
        change(&mut d);
        moved(&d)
    };
    assert_eq!(with(&|d: &mut Draft| needle(d, 80, 31)), None, "before any label of the product");
    assert_eq!(with(&|d: &mut Draft| needle(d, 50, 10)), None, "later");
    let by_seconds = |seconds: i64| {
        with(&|d: &mut Draft| {
            let to = Instant(ago(60).0 - seconds * 1000);
            d.correct(TimeOf::NeedleIn, to, "MO".into(), ago(10));
        })
    };
    assert!(by_seconds(59).is_none() && by_seconds(60).is_some());
    // From what stood then, however often it was corrected since; back there, nothing is left.
    let twice = |to: i64| {
        with(&|d: &mut Draft| {
            needle(d, 80, 20);
            needle(d, to, 10);
        })
    };
    assert_eq!(twice(60), None);
    assert_eq!(twice(70), Some((ago(60 - 240), ago(70 - 240))));
    // Collected later than was tapped, it hides nothing that was corrected in between.
    let late = with(&|d: &mut Draft| {
        needle(d, 80, 25);
        set(d, TimeOf::Collected, 20, 15);
    });
    assert!(late.is_some());
    // The end of the spin counts where the clinic has a window from there.
    let spin_end = |window: bool| {
        with(&|d: &mut Draft| {
            d.kit.clock.product_window = window.then(|| crate::quantity::Seconds::new(3600.0).unwrap());
            d.times.spin_end = Some(ago(40));
            set(d, TimeOf::SpinEnd, 50, 10);
        })
    };
    assert_eq!((spin_end(false), spin_end(true)), (None, Some((ago(40 - 60), ago(50 - 60)))));
    // Decided for one time, it is decided anew for another.
    let mut d = quiet();
    collected(&mut d);
    needle(&mut d, 80, 10);
    let open = |d: &Draft| answer(d).findings.into_iter().find(|f| f.kind.key() == key).unwrap();
    let said = Decision::new("Dr A. Reyes-Lindqvist", "labels are back", now().at);
    d.decide(key.to_owned(), Decision { about: Some(open(&d).about), ..said });
    assert!(!open(&d).is_open());
    needle(&mut d, 90, 5);
    assert!(open(&d).is_open());
}

#[test]
fn an_end_of_the_spin_entered_late_moves_no_use_by_that_a_label_bears() {
    let ago = |minutes: i64| Instant(now().at.0 - minutes * 60_000);
    let use_by = |d: &Draft| {
        let a = answer(d);
        let by = a.spin.use_by.as_ref().unwrap().value;
        (by.at, by.settled(), keys(&a).contains(&"use_by_earlier".to_owned()))
    };
    let mut d = quiet();
    d.times.needle_in = Some(ago(60));
    d.times.collected = Some(ago(30));
    assert_eq!(use_by(&d), (ago(60 - 240), true, false), "no window");
    d.kit.clock.product_window = Some(crate::quantity::Seconds::new(3600.0).unwrap());
    let mut unspun = d.clone();
    unspun.kit.protocol = None;
    assert_eq!(use_by(&unspun), (ago(60 - 240), true, false), "nothing is to be spun");
    unspun.times.stages.insert(0, ago(50));
    assert!(!use_by(&unspun).1, "it spins all the same");
    // Collected half an hour ago, it is good for no more than an hour from there, whatever is corrected of the needle.
    assert_eq!(use_by(&d), (ago(30 - 60), false, false));
    let mut earlier = d.clone();
    earlier.correct(TimeOf::NeedleIn, ago(80), "MO".into(), ago(10));
    assert_eq!(use_by(&earlier), (ago(30 - 60), false, false));
    let mut spinning = d.clone();
    spinning.times.collected = None;
    assert_eq!(use_by(&spinning), (ago(60 - 240), false, false));
    spinning.times.handed_over = Some(ago(20));
    assert_eq!(use_by(&spinning).0, ago(20 - 60));
    // Entered only then, it brings the use-by forward, which stood on no label before; corrected, it may have.
    d.correct(TimeOf::SpinEnd, ago(40), "MO".into(), ago(15));
    assert!(d.corrections.is_empty());
    assert_eq!(use_by(&d), (ago(40 - 60), true, false));
    d.correct(TimeOf::SpinEnd, ago(50), "MO".into(), ago(10));
    assert_eq!(use_by(&d), (ago(50 - 60), true, true));
}

#[test]
fn without_a_haematocrit_the_bound_is_said_to_be_missing() {
    let a = note("haematocrit_unknown", |d| {
        off_the_top(d);
        d.write(Field::BloodHaematocrit, "");
    });
    assert!(a.product.bound.is_none());
    let mut known = quiet();
    off_the_top(&mut known);
    assert!(answer(&known).product.bound.is_some());
}

#[test]
fn more_product_than_there_is_is_a_caution() {
    caution("product_above_bound", |d| d.write(Field::ProductVolume, "31"));
    // Off the top: 30 − 26·0.42/0.7 − 0.5 = 13.9 mL stand above the cells.
    let a = caution("product_above_bound", |d| {
        off_the_top(d);
        d.write(Field::ProductVolume, "14");
    });
    assert!((a.product.bound.unwrap().value.get() - 13.9).abs() < 1e-9);
}

#[test]
fn more_kept_than_was_filled_waits_at_hand_over() {
    let a = waits("kept_above_fill", HeldStep::HandOver, |d| {
        d.write(Field::ProductActual, "31");
        d.rows.readings = 0;
    });
    assert!(!keys(&a).contains(&"product_above_bound".to_owned()), "said once");
    let mut all = quiet();
    all.write(Field::ProductActual, "30");
    assert!(!keys(&answer(&all)).contains(&"kept_above_fill".to_owned()));
}

#[test]
fn a_concentrate_that_hardly_concentrates_is_not_confirmed_until_somebody_looked() {
    // The blood's own count, less than it, and a tenth of a likely one.
    for reading in ["210", "200", "94"] {
        caution("fold_below_one", |d| {
            counted(d);
            d.write(Field::Reading(0), reading);
        });
    }
    let mut d = quiet();
    counted(&mut d);
    d.write(Field::Reading(0), "210");
    let before = answer(&d);
    assert!(before.product.unconfirmed() && before.product.dose_counted.is_none());
    let about = before.findings.iter().find(|f| f.kind.key() == "fold_below_one").map(|f| f.about.clone());
    d.decide("fold_below_one".to_owned(), Decision { about, ..Decision::new("MO", "", Instant(0)) });
    assert!(answer(&d).product.counted().is_some(), "somebody looked");
    d.write(Field::Reading(0), "180");
    assert!(answer(&d).product.unconfirmed(), "a lower one is looked at anew");
    d.write(Field::Reading(0), "924");
    assert!(!keys(&answer(&d)).contains(&"fold_below_one".to_owned()));
    off_the_top(&mut d);
    d.write(Field::Reading(0), "200");
    assert!(!keys(&answer(&d)).contains(&"fold_below_one".to_owned()), "plasma is not said to concentrate");
}

#[test]
fn a_product_outside_the_range_is_a_caution() {
    caution("product_outside_range", |d| container(d).product_high = Some(ml(1.0)));
    caution("product_outside_range", |d| container(d).product_low = Some(ml(3.0)));
}

#[test]
fn a_ledger_that_does_not_close_says_by_how_much() {
    // 0.2 sample, 0.3 lost, 3 + 1 given: 4.5 of 4.
    let a = caution("ledger_short", |d| d.write(Field::PartVolume(0), "3"));
    let missing = a.findings.into_iter().find_map(|f| match f.kind {
        FindingKind::LedgerShort { missing } => Some(missing.get()),
        _ => None,
    });
    assert!((missing.unwrap() - 0.5).abs() < 1e-9, "{missing:?}");
}

pub(super) fn counted(draft: &mut Draft) {
    draft.write(Field::ProductActual, "4");
    draft.write(Field::Reading(0), "924");
    draft.write(Field::ProductWhite, "0.2");
    draft.choices.dilution = Some(SampleDilution::Undiluted);
    draft.choices.product_tube = Some(crate::draft::ProductTube::Plain);
    draft.choices.mixed_no_clumps = Some(true);
}

#[test]
fn a_sample_is_taken_only_where_something_is_counted() {
    let sample = |d: &Draft| answer(d).product.ledger.unwrap().after_sample.value;
    let inside = |d: &Draft| answer(d).product.inside;
    let mut d = quiet();
    d.write(Field::ProductActual, "4");
    // Planned, it is kept free of; it is in the syringe until it is taken.
    assert_eq!((sample(&d), inside(&d), answer(&d).product.sample_taken), (ml(3.8), Some(ml(4.0)), false));
    for taken in [|d: &mut Draft| counted(d), |d: &mut Draft| d.choices.count_later = true] {
        let mut d = d.clone();
        taken(&mut d);
        assert_eq!((sample(&d), inside(&d)), (ml(3.8), Some(ml(3.8))));
    }
    let (mut not, mut given) = (d.clone(), d);
    not.rows.readings = 0;
    given.times.needle_in = hours_ago(2);
    given.times.handed_over = Some(now().at);
    for d in [&mut not, &mut given] {
        assert_eq!((sample(d), inside(d)), (ml(4.0), Some(ml(4.0))));
        calcium(d);
        assert_eq!((answer(d).product.mixed.unwrap().volume.value, inside(d)), (ml(4.2), Some(ml(4.2))));
    }
    // An unreadable sample that nobody takes holds nothing back.
    not.write(Field::CountSample, "some");
    assert!(!keys(&answer(&not)).iter().any(|k| k.starts_with("unread")));
}

#[test]
fn a_count_above_the_ceiling_is_a_caution() {
    // 26 mL of blood in 4 mL of product can make 6.5-fold at most: 1365 ×10⁹/L of 210.
    caution("above_ceiling", |d| {
        counted(d);
        d.write(Field::Reading(0), "2000");
    });
    let mut fine = quiet();
    counted(&mut fine);
    assert_eq!(keys(&answer(&fine)), [""; 0]);
}

#[test]
fn a_count_that_may_not_be_relied_on_makes_no_dose() {
    let doubts: [fn(&mut Draft); 4] = [
        |d| d.write(Field::Reading(0), "2000"),
        |d| d.choices.mixed_no_clumps = Some(false),
        |d| d.choices.mixed_no_clumps = None,
        |d| trouble(d, TroubleKind::Clumps, None, false),
    ];
    let mut sound = quiet();
    counted(&mut sound);
    calcium(&mut sound);
    sound.write(Field::OrderPlatelets, "2");
    let p = answer(&sound).product;
    assert!(p.confirmed && p.dose_counted.is_some() && p.mixed.unwrap().counted.is_some());
    for doubt in doubts {
        let mut d = sound.clone();
        doubt(&mut d);
        let p = answer(&d).product;
        assert!(p.unconfirmed() && p.counted().is_none());
        let m = p.measured.as_ref().unwrap();
        assert!(m.concentration.value.get() > 900.0, "the reading stays in view");
        assert!(m.fold.is_none() && m.recovery.is_none() && m.in_product.is_none());
        assert!(p.dose_counted.is_none() && p.dose_predicted.is_some());
        assert!(p.shares.iter().all(|s| s.counted.is_none() && s.predicted.is_some()));
        assert!(p.mixed.unwrap().counted.is_none());
        assert!(p.order.iter().all(|line| line.counted.is_none() && line.expected.is_some()));
    }
    // Clumps entered by mistake and taken back leave the count as it was.
    trouble(&mut sound, TroubleKind::Clumps, None, false);
    sound.troubles[0].withdrawn = Some(Check { by: "MO".into(), at: now().at, of: String::new() });
    assert!(answer(&sound).product.confirmed);
}

#[test]
fn mixing_not_confirmed_is_a_caution() {
    caution("mixing_unsaid", |d| {
        counted(d);
        d.choices.mixed_no_clumps = None;
    });
}

#[test]
fn an_unmixed_sample_waits_at_hand_over() {
    waits("not_mixed", HeldStep::HandOver, |d| {
        counted(d);
        d.choices.mixed_no_clumps = Some(false);
    });
}

#[test]
fn a_reading_without_its_dilution_is_no_count() {
    let unsaid: [fn(&mut Draft); 3] = [
        |d| d.choices.dilution = None,
        |d| d.choices.dilution = Some(SampleDilution::Diluted),
        // Said both ways, it is not said.
        |d| d.write(Field::Dilution, "20"),
    ];
    for change in unsaid {
        let a = caution("dilution_unsaid", |d| {
            counted(d);
            change(d);
        });
        assert!(a.product.measured.is_none() && a.product.dose_counted.is_none());
        assert!(a.product.shares.iter().all(|s| s.counted.is_none() && s.predicted.is_some()));
    }
    // A factor stands for itself, as in drafts stored before it was asked.
    let mut d = quiet();
    counted(&mut d);
    d.choices.dilution = None;
    d.choices.cells_dilution = Some(SampleDilution::Undiluted);
    d.write(Field::Dilution, "2");
    d.write(Field::Reading(0), "462");
    let a = answer(&d);
    assert_eq!(keys(&a), [""; 0]);
    assert_eq!(a.product.measured.unwrap().concentration.value.get(), 924.0);
}

#[test]
fn a_count_stands_without_a_single_mark() {
    let unmarked = |d: &mut Draft| {
        counted(d);
        d.times.needle_in = hours_ago(1);
        d.times.needle_out = hours_ago(1);
    };
    let a = note("blood_unknown", unmarked);
    assert!(a.draw.now.is_none());
    let p = &a.product;
    let m = p.measured.as_ref().unwrap();
    assert_eq!((m.concentration.value.get(), m.in_product.as_ref().unwrap().value.get()), (924.0, 3.696));
    assert!(m.fold.is_none() && m.recovery.is_none() && p.prediction.is_none() && p.ledger.is_none());
    assert!(p.shares.iter().all(|s| s.counted.is_some() && s.predicted.is_none()));
    // Nor does a Stop of the product vanish with the marks.
    let mut d = quiet();
    unmarked(&mut d);
    d.rows.additions = 1;
    d.choices.mixed_no_clumps = Some(false);
    let found = keys(&answer(&d));
    for key in ["addition_incomplete", "not_mixed"] {
        assert!(found.contains(&key.to_owned()), "{key}: {found:?}");
    }
    // A concentration needs no volume either.
    d.write(Field::ProductActual, "");
    d.write(Field::ProductVolume, "");
    assert_eq!(answer(&d).product.measured.unwrap().concentration.value.get(), 924.0);
    // With every mark there is a fold, and nothing to say.
    unmarked(&mut d);
    d.rows.additions = 0;
    d.choices.mixed_no_clumps = Some(true);
    for i in 0..2 {
        d.write(Field::FillActual(i), "15");
    }
    let a = answer(&d);
    assert!(
        a.product.measured.as_ref().unwrap().fold.is_some() && !keys(&a).contains(&"blood_unknown".into())
    );
}

#[test]
fn a_counted_total_waits_for_the_volume_kept() {
    let mut d = quiet();
    counted(&mut d);
    d.write(Field::ProductActual, "");
    let p = answer(&d).product;
    let m = p.measured.unwrap();
    assert_eq!((m.concentration.value.get(), m.fold.unwrap().value.get()), (924.0, 4.4));
    assert!(m.in_product.is_none() && m.recovery.is_none());
    assert!(p.dose_counted.is_none() && p.shares.iter().all(|s| s.counted.is_none()));
    assert!(p.dose_predicted.is_some(), "what is predicted stays");
    calcium(&mut d);
    assert!(answer(&d).product.mixed.unwrap().counted.is_none(), "how far it is diluted rests on the volume");
    d.write(Field::ProductActual, "4");
    let p = answer(&d).product;
    assert!(p.measured.unwrap().in_product.is_some() && p.dose_counted.is_some());
}

#[test]
fn what_is_out_of_range_is_told() {
    let of = |a: &Assessment| {
        let kind = a.findings.iter().find(|f| f.kind.name() == "beyond").unwrap();
        match kind.kind {
            FindingKind::Beyond { range, .. } => (range.quantity, range.value > range.max),
            _ => unreachable!(),
        }
    };
    // 26 mL of blood in 0.05 mL of product: 520-fold at most, and two thirds of that of 900 ×10⁹/L.
    let a = note("beyond.prediction", |d| {
        d.write(Field::BloodCount, "900");
        d.write(Field::ProductVolume, "0.05");
    });
    assert!(a.product.prediction.is_none());
    assert_eq!(of(&a), ("cell count", true));
    let a = caution("beyond.count", |d| {
        counted(d);
        d.choices.dilution = Some(SampleDilution::Diluted);
        d.write(Field::Dilution, "1000");
    });
    assert!(a.product.measured.is_none());
    assert_eq!(of(&a), ("cell count", true));
    // A fold that cannot be is said as well: 99 000 of 60.
    let a = caution("beyond.count", |d| {
        counted(d);
        d.write(Field::BloodCount, "60");
        d.choices.dilution = Some(SampleDilution::Diluted);
        d.write(Field::Dilution, "100");
        d.write(Field::Reading(0), "990");
    });
    assert_eq!(of(&a), ("fold", true));
    // Cells besides the platelets: a haematocrit of 0.1 of a sample diluted twentyfold.
    let a = caution("beyond.count.haematocrit", |d| {
        counted(d);
        d.choices.dilution = Some(SampleDilution::Diluted);
        d.write(Field::Dilution, "20");
        d.write(Field::Reading(0), "46.9");
        d.choices.cells_dilution = Some(SampleDilution::Diluted);
        d.write(Field::ProductHaematocrit, "0.1");
    });
    assert!(a.product.other.haematocrit.is_none() && a.product.measured.is_some());
    assert_eq!(of(&a), ("haematocrit", true));
}

#[test]
fn white_cells_not_counted_are_told() {
    note("white_cells_not_counted", |d| {
        counted(d);
        d.write(Field::ProductWhite, "");
    });
}

#[test]
fn a_product_not_counted_stays_a_prediction() {
    let a = note("product_not_counted", |d| d.write(Field::ProductActual, "4"));
    assert!(a.product.measured.is_none() && a.product.dose_counted.is_none());
    assert!(a.product.dose_predicted.is_some());
}

fn calcium(draft: &mut Draft) {
    draft.rows.additions = 1;
    draft.choices.additions.insert(0, AdditionChoice::CalciumChloride);
    draft.write(Field::AdditionStrength(0), "10");
    draft.write(Field::AdditionVolume(0), "0.2");
}

#[test]
fn an_incomplete_addition_is_not_reckoned() {
    for missing in [Field::AdditionStrength(0), Field::AdditionVolume(0)] {
        let a = waits("addition_incomplete", HeldStep::HandOver, |d| {
            counted(d);
            calcium(d);
            d.write(missing, "");
        });
        let p = a.product;
        assert!(p.mixed.is_none() && p.dose_predicted.is_none() && p.dose_counted.is_none());
        assert!(p.shares.iter().all(|s| s.predicted.is_none() && s.counted.is_none()));
        assert!(p.measured.unwrap().in_product.is_some(), "what is before the addition stays");
    }
    waits("addition_incomplete", HeldStep::HandOver, |d| d.rows.additions = 1);
    // One that is known does not make up for one that is not.
    let a = waits("addition_incomplete", HeldStep::HandOver, |d| {
        counted(d);
        calcium(d);
        d.rows.additions = 2;
    });
    assert!(a.product.mixed.is_none() && a.product.dose_counted.is_none());
    assert!(keys(&a).contains(&"calcium_added".to_owned()));
}

#[test]
fn calcium_is_a_caution_with_its_amount() {
    let a = caution("calcium_added", calcium);
    // 0.2 mL of 10 % calcium chloride dihydrate: 0.136 mmol.
    let calcium = a.product.mixed.unwrap().calcium.unwrap().calcium.value.get();
    assert!((calcium - 0.136).abs() < 1e-9, "{calcium}");
}

#[test]
fn what_is_rebuilt_in_part_waits_for_the_prescriber() {
    let rebuilt = |whole| {
        move |d: &mut Draft| {
            let at = now().at;
            d.rebuilt = Some(crate::draft::Rebuilt { at, whole, signed: None, check: None, printed: None });
        }
    };
    waits("rebuilt_in_part", HeldStep::HandOver, rebuilt(false));
    let mut whole = quiet();
    rebuilt(true)(&mut whole);
    assert!(!keys(&answer(&whole)).contains(&"rebuilt_in_part".to_owned()));
}
