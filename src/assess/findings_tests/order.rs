//! Findings at the order.

use super::*;
use crate::bench::WhiteCells;
use crate::blood::baseline::SampleKind;
use crate::draft::{CountStanding, WhiteCellOrder};
use crate::product::order::{OrderSense, OrderedAmount};

#[test]
fn identity_unchecked_waits_and_shows_the_amounts() {
    let a = waits("identity_unchecked", HeldStep::Needle, |d| {
        d.checks.remove(&CheckKind::Identity);
    });
    let split = a.draw.plan.unwrap().rounded.value.split;
    assert_eq!((split.anticoagulant, split.fill), (ml(2.0), ml(15.0)));
    // Still at the order, nobody has had occasion to check.
    let mut d = quiet();
    d.checks.clear();
    d.stage = Stage::Order;
    assert_eq!(keys(&answer(&d)), [""; 0]);
}

#[test]
fn identity_that_differs_cannot_be_overridden() {
    stops("identity_differs", HeldStep::Needle, |d| check(d, CheckKind::IdentityDiffers));
}

#[test]
fn a_screening_answer_goes_to_the_prescriber() {
    for (what, key) in [
        (Screening::AntiInflammatory, "screening_yes.anti_inflammatory"),
        (Screening::Cancer, "screening_yes.cancer"),
    ] {
        caution(key, |d| {
            d.choices.screening.insert(what, true);
        });
    }
}

#[test]
fn a_question_not_asked_is_not_a_no() {
    note("screening_open", |d| {
        d.choices.screening.remove(&Screening::Allergy);
    });
}

#[test]
fn white_cells_against_the_order_wait() {
    for (order, protocols) in
        [(WhiteCellOrder::NotWanted, WhiteCells::Kept), (WhiteCellOrder::Wanted, WhiteCells::LeftBehind)]
    {
        waits("white_cells_contradict", HeldStep::Needle, |d| {
            d.choices.white_cells = Some(order);
            protocol(d).white_cells = protocols;
        });
    }
    // What is not known until counted contradicts nothing.
    let mut d = quiet();
    d.choices.white_cells = Some(WhiteCellOrder::NotWanted);
    assert_eq!(keys(&answer(&d)), [""; 0]);
}

#[test]
fn more_containers_than_ordered_are_a_caution() {
    caution("more_than_one_container", |d| d.choices.one_container = true);
}

#[test]
fn an_order_upside_down_is_held_against_nothing() {
    for (what, first, second, numbers) in [
        (OrderedAmount::Platelets, Field::OrderPlatelets, Field::OrderPlateletsMost, ["3", "2"]),
        (
            OrderedAmount::Concentration,
            Field::OrderConcentration,
            Field::OrderConcentrationMost,
            ["900", "800"],
        ),
        (OrderedAmount::Fold, Field::OrderFold, Field::OrderFoldMost, ["5", "4"]),
    ] {
        let between = |d: &mut Draft, numbers: [&str; 2]| {
            d.choices.order_sense.insert(what, OrderSense::Between);
            d.write(first, numbers[0]);
            d.write(second, numbers[1]);
        };
        let key = format!("order_upside_down.{}", format!("{what:?}").to_lowercase());
        let a = caution(&key, |d| between(d, numbers));
        assert_eq!(a.product.order, []);
        // The right way round nothing is found, nor where the second number is out of use.
        let mut d = quiet();
        between(&mut d, [numbers[1], numbers[0]]);
        assert_eq!(keys(&answer(&d)), [""; 0]);
        assert_eq!(answer(&d).product.order.len(), 1);
        between(&mut d, numbers);
        d.choices.order_sense.insert(what, OrderSense::About);
        assert_eq!(keys(&answer(&d)), [""; 0]);
    }
}

#[test]
fn parts_that_do_not_add_up_are_a_caution() {
    let sums = |a: Assessment| {
        a.findings.into_iter().find_map(|f| match f.kind {
            FindingKind::PartsDiffer { parts, ordered } => Some((parts.get(), ordered.get())),
            _ => None,
        })
    };
    let more = caution("parts_differ", |d| d.write(Field::PartVolume(1), "1.5"));
    assert_eq!(sums(more), Some((3.5, 3.0)));
    let less = caution("parts_differ", |d| d.write(Field::PartVolume(1), ""));
    assert_eq!(sums(less), Some((2.0, 3.0)));
    let mut d = quiet();
    for (field, text) in
        [(Field::PartVolume(0), "0.1"), (Field::PartVolume(1), "0.2"), (Field::OrderVolume, "0.3")]
    {
        d.write(field, text);
    }
    assert_eq!(keys(&answer(&d)), [""; 0]);
    d.write(Field::PartVolume(0), "");
    d.write(Field::PartVolume(1), "");
    assert_eq!(keys(&answer(&d)), [""; 0], "one volume for the whole site is enough");
}

#[test]
fn without_a_count_there_is_a_table_and_no_figure() {
    let a = note("no_count", |d| d.choices.count = Some(CountStanding::NoCount));
    assert!(a.product.native.is_none());
    let prediction = a.product.prediction.unwrap();
    assert!(prediction.in_product.is_none() && prediction.fold.is_some());
    assert!(a.product.table.unwrap().value.len() >= 3);
    assert!(a.product.dose_predicted.is_none());
}

#[test]
fn an_unsaid_sample_is_told() {
    let a = note("sample_unsaid", |d| d.choices.sample = None);
    assert_eq!(a.product.native.unwrap().count.value.get(), 210.0);
}

#[test]
fn a_weak_sample_is_a_caution() {
    caution("weak_sample", |d| d.choices.sample = Some(SampleKind::FingerPrick));
    let older = caution("weak_sample", |d| {
        d.choices.count = Some(CountStanding::Older);
        d.write(Field::CountAge, "90");
    });
    let told = older.findings.iter().map(|f| &f.kind).find(|kind| kind.key() == "weak_sample");
    assert_eq!(told, Some(&FindingKind::WeakSample(SampleKind::OlderResult, Some(90))));
    let today = answer(&quiet());
    let cv = |a: Assessment| a.product.native.unwrap().cv.value.get();
    assert!(cv(older) > 1.3 * cv(today), "an older count is less sure");
}

#[test]
fn low_platelets_are_a_caution() {
    caution("platelets_low", |d| d.write(Field::BloodCount, "92"));
    let mut d = quiet();
    d.write(Field::BloodCount, "100");
    assert_eq!(keys(&answer(&d)), [""; 0], "the limit itself is not below it");
}

#[test]
fn low_haemoglobin_is_a_caution() {
    caution("limit.haemoglobin_low", |d| d.write(Field::BloodHaemoglobin, "95 g/L"));
    let mut early = quiet();
    early.write(Field::Containers, "");
    early.write(Field::BloodHaemoglobin, "95 g/L");
    let found = keys(&answer(&early));
    assert!(found.contains(&"haemoglobin_low".to_owned()), "said before a draw is planned: {found:?}");
    let mut d = quiet();
    d.write(Field::BloodHaemoglobin, "100 g/L");
    assert_eq!(keys(&answer(&d)), [""; 0], "the limit itself is not below it");
}

#[test]
fn no_expectation_no_prediction() {
    let a = note("nothing_to_predict_from", |d| protocol(d).expectation = None);
    assert!(a.product.prediction.is_none_or(|p| p.fold.is_none() && p.in_product.is_none()));
    assert!(a.product.dose_predicted.is_none());
}

#[test]
fn a_literature_range_says_so() {
    note("literature_range", |d| d.kit.protocol = Bench::default().protocol("double-spin").cloned());
}

#[test]
fn an_order_taken_over_is_held_against_todays() {
    use crate::draft::TakenOver;
    let from = TakenOver { sign: CheckSign::pick(7, &[]), at: now().at };
    caution("order_taken_over", |d| d.taken_over = Some(from));
    let mut held = quiet();
    held.taken_over = Some(from);
    check(&mut held, CheckKind::TodaysOrder);
    assert!(!keys(&answer(&held)).contains(&"order_taken_over".to_owned()));
}
