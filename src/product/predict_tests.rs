//! Predictions against SciPy, published rows and the ceiling.

use super::*;
use crate::product::doubt::{Unknown, doubt, will_read};
use crate::product::kind::{Basis, Learned};

fn q<Q: Quantity>(value: f64) -> Q {
    Q::new(value).unwrap()
}

fn near(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "{found} is not {expected}");
}

fn ends<Q: Quantity>(range: &Option<Worked<Range<Q>>>) -> [f64; 3] {
    let range = range.as_ref().unwrap().value;
    [range.low.get(), range.median.get(), range.high.get()]
}

fn today(count: f64) -> Option<NativeCount> {
    Some(NativeCount { value: q(count), cv: count_cv(Some(0)).unwrap().value })
}

fn double_spin(native: Option<NativeCount>, blood: f64, product: f64) -> Prediction {
    let expectation = Expectation::double_spin();
    predict(ProductKind::Concentrate, Some(&expectation), Volumes::exact(q(blood), q(product)), native)
        .unwrap()
}

fn off_the_top(native: Option<NativeCount>, blood: f64, product: f64) -> Prediction {
    let expectation = Expectation::off_the_top();
    predict(ProductKind::OffTheTop, Some(&expectation), Volumes::exact(q(blood), q(product)), native).unwrap()
}

fn all_near(found: [f64; 3], expected: [f64; 3], factor: f64, relative: f64) {
    for (found, expected) in found.into_iter().zip(expected) {
        near(found, expected * factor, relative);
    }
}

// Reference values: SciPy 1.17.1, truncnorm.ppf on the log scale; products by quad and brentq.

#[test]
fn double_spin_of_26_ml_with_todays_count() {
    let found = double_spin(today(210.0), 26.0, 4.0);
    let recovery = [0.5539472147127655, 0.6877906488241382, 0.847701424337237];
    let counted = [115.88389295655573, 144.36415644688137, 178.50283074932202];
    assert_eq!(found.outcome, Outcome::Predicted);
    all_near(ends(&found.recovery), recovery, 1.0, 1e-9);
    all_near(ends(&found.fold), recovery, 6.5, 1e-9);
    all_near(ends(&found.concentration), counted, 6.5, 1e-8);
    all_near(ends(&found.in_product), counted, 0.026, 1e-8);
    near(found.drawn.unwrap().value.get(), 5.46, 1e-12);
    // every number names the rows it rests on
    for source in Expectation::double_spin().sources() {
        assert!(found.in_product.as_ref().unwrap().working.sources.contains(source));
    }
}

#[test]
fn no_count_is_wider_and_says_nothing_by_itself() {
    let found = double_spin(Some(NativeCount::ADULTS), 26.0, 4.0);
    // 2.8 (2.79…) to 6 (5.96) ×10⁹: what a count would narrow
    all_near(ends(&found.in_product), [2.791_638_017_6, 4.086_466_938_1, 5.955_611_289_4], 1.0, 1e-8);
    let none = double_spin(None, 26.0, 4.0);
    assert!(none.drawn.is_none() && none.concentration.is_none() && none.in_product.is_none());
    assert!(none.fold.is_some() && none.recovery.is_some());
}

#[test]
fn off_the_top_keeps_the_fold_and_lets_recovery_follow() {
    let found = off_the_top(today(210.0), 26.0, 16.0);
    let fold = [1.5092963197095175, 1.581504793915884, 1.617562778149437];
    assert_eq!(found.ceiling.value.get(), 1.625);
    all_near(ends(&found.fold), fold, 1.0, 1e-9);
    all_near(ends(&found.recovery), fold, 16.0 / 26.0, 1e-9);
    let c = [312.31475471268175, 330.54570433838785, 346.63513584706317];
    all_near(ends(&found.concentration), c, 1.0, 1e-8);
    // E04: published 222 → 378 lies inside what 1.7 ± 0.1 says of a count of 222
    let roomy = off_the_top(today(221.97), 26.0, 4.0);
    let [low, _, high] = ends(&roomy.concentration);
    assert!(low < 378.01 && 378.01 < high);
}

#[test]
fn ceiling_is_never_passed_and_a_cut_expectation_is_said() {
    for product in [4.0, 10.0, 15.0, 16.0, 17.0] {
        let found = off_the_top(today(210.0), 26.0, product);
        let [low, median, high] = ends(&found.fold);
        assert!(0.0 < low && low < median && median < high && high <= found.ceiling.value.get());
        assert!(ends(&found.recovery)[2] <= 1.0 + 1e-12);
    }
    // fold 1.7 ± 0.1 from a ceiling of 1.3: nothing left of it
    let cut = off_the_top(today(210.0), 26.0, 20.0);
    assert_eq!(cut.outcome, Outcome::CutAway);
    assert!(cut.fold.is_none() && cut.in_product.is_none() && cut.drawn.is_some());
    // no blood at all
    assert_eq!(double_spin(today(210.0), 0.0, 4.0).outcome, Outcome::CutAway);
}

#[test]
fn a_certain_expectation_on_both_sides_of_the_ceiling() {
    let at = |mean: f64| {
        let expected = Expected::Recovery { mean: q(mean), sd: q(0.0) };
        let expectation = Expectation { expected, basis: Basis::ClinicEntry };
        let native = Some(NativeCount { value: q(200.0), cv: q(0.0) });
        predict(ProductKind::Concentrate, Some(&expectation), Volumes::exact(q(10.0), q(2.0)), native)
            .unwrap()
    };
    all_near(ends(&at(0.5).in_product), [1.0; 3], 1.0, 1e-12);
    all_near(ends(&at(1.0).fold), [5.0; 3], 1.0, 1e-12);
    assert_eq!(at(1.01).outcome, Outcome::CutAway);
}

#[test]
fn what_cannot_be_predicted_is_said() {
    let blood = q(26.0);
    let nothing =
        predict(ProductKind::Concentrate, None, Volumes::exact(blood, q(4.0)), today(210.0)).unwrap();
    assert_eq!(nothing.outcome, Outcome::NoExpectation);
    assert!(nothing.fold.is_none() && nothing.drawn.is_some());
    let double = Expectation::double_spin();
    let other =
        predict(ProductKind::OffTheTop, Some(&double), Volumes::exact(blood, q(4.0)), today(210.0)).unwrap();
    assert_eq!(other.outcome, Outcome::OtherKind);
    assert!(predict(ProductKind::Concentrate, Some(&double), Volumes::exact(blood, q(0.0)), None).is_err());
    let of = |mean: f64, sd: f64| {
        let expected = Expected::Recovery { mean: q(mean), sd: q(sd) };
        let expectation = Expectation { expected, basis: Basis::ClinicEntry };
        predict(ProductKind::Concentrate, Some(&expectation), Volumes::exact(blood, q(4.0)), None)
    };
    assert!(of(0.0, 0.1).is_err());
    assert!(of(0.05, 0.51).is_err() && of(0.05, 0.49).is_ok());
    // a count of 0 on the way to another is no error
    assert_eq!(ends(&double_spin(today(0.0), 26.0, 4.0).in_product), [0.0; 3]);
}

#[test]
fn with_cells_carries_its_haematocrit() {
    let expected = Expected::RecoveryWithCells { mean: q(0.7), sd: q(0.12), haematocrit: q(0.08) };
    let expectation = Expectation { expected, basis: Basis::ClinicEntry };
    let found =
        predict(ProductKind::WithCells, Some(&expectation), Volumes::exact(q(26.0), q(4.0)), today(210.0))
            .unwrap();
    let without = double_spin(today(210.0), 26.0, 4.0);
    assert_eq!(found.haematocrit.unwrap().get(), 0.08);
    assert_eq!(ends(&found.in_product), ends(&without.in_product));
}

#[test]
fn published_yields_predict_published_doses() {
    // E10: 250 ×10⁹/L in 10 mL; 53 ± 18 % and 72 ± 13 % of 2.5 ×10⁹ are 1.325 and 1.8 before truncation
    for (mean, sd, dose) in [(0.53, 0.18, 1.325), (0.72, 0.13, 1.8)] {
        let expected = Expected::Recovery { mean: q(mean), sd: q(sd) };
        let expectation = Expectation { expected, basis: Basis::ClinicEntry };
        let found = predict(
            ProductKind::Concentrate,
            Some(&expectation),
            Volumes::exact(q(10.0), q(1.0)),
            today(250.0),
        )
        .unwrap();
        let [low, median, high] = ends(&found.in_product);
        assert!(low < dose && dose < high);
        // the median of a log-normal lies below its mean by √(1 + CV²), truncation lowers it by less than 4 %
        let middle = dose / libm::hypot(1.0, sd / mean);
        assert!(median < middle && median > 0.96 * middle, "{median} {middle}");
    }
}

#[test]
fn a_count_grows_unsure_with_age_and_stops() {
    let cv = |days| count_cv(days).unwrap().value.get();
    assert_eq!(cv(Some(0)), 0.03);
    // √(0.03² + 0.086²)
    near(cv(None), 0.091_082_380_293_885_6, 1e-12);
    near(cv(Some(365)), cv(None), 1e-4);
    // 30 days: √(0.0009 + 0.007396·(1 − 1/e))
    near(cv(Some(30)), 0.074_667_018_509_486_58, 1e-12);
    let ages = [0, 1, 7, 30, 90, 365, u32::MAX].map(|days| cv(Some(days)));
    assert!(ages.windows(2).all(|w| w[0] <= w[1]));
    assert!(!count_cv(Some(0)).unwrap().working.sources.contains(&SourceId::WithinPersonCv));
    assert!(count_cv(Some(1)).unwrap().working.sources.contains(&SourceId::WithinPersonCv));
}

#[test]
fn the_no_count_table_rises_and_names_its_source() {
    let expectation = Expectation::double_spin();
    let table =
        table(&PLAUSIBLE, ProductKind::Concentrate, Some(&expectation), Volumes::exact(q(26.0), q(4.0)))
            .unwrap();
    assert!(table.working.sources.contains(&SourceId::Nhanes2011));
    let medians: Vec<f64> = table.value.iter().map(|row| ends(&row.prediction.in_product)[1]).collect();
    assert_eq!(medians.len(), 5);
    for (row, median) in table.value.iter().zip(&medians) {
        near(*median, 144.364_156_446_9 * 0.026 * row.count.get() / 210.0, 1e-8);
    }
}

#[test]
fn several_containers_share_most_of_their_error() {
    let spread = |containers| {
        let volumes = Volumes { containers, ..Volumes::exact(q(26.0), q(4.0)) };
        let expected = Expected::Recovery { mean: q(0.4), sd: q(0.04) };
        let expectation = Expectation { expected, basis: Basis::ClinicEntry };
        let found = predict(ProductKind::Concentrate, Some(&expectation), volumes, None).unwrap();
        let [low, _, high] = ends(&found.recovery);
        libm::log(high / low)
    };
    // √(0.8 + 0.2/n), far from the ceiling; on the log scale not quite
    for (n, factor) in [(1, 1.0), (2, 0.948_683), (4, 0.921_954), (12, 0.903_696)] {
        near(spread(n), factor * spread(1), 1e-3);
    }
}

#[test]
fn a_volume_read_coarsely_blurs_what_it_enters_and_nothing_else() {
    let with = |kind, expectation: Expectation, graduation: f64| {
        let volumes = Volumes { graduation: Some(q(graduation)), ..Volumes::exact(q(26.0), q(4.0)) };
        predict(kind, Some(&expectation), volumes, today(210.0)).unwrap()
    };
    let width = |r: [f64; 3]| libm::log(r[2] / r[0]);
    for (kind, expectation) in [
        (ProductKind::Concentrate, Expectation::double_spin()),
        (ProductKind::OffTheTop, Expectation::off_the_top()),
    ] {
        let (fine, coarse) = (with(kind, expectation.clone(), 0.0), with(kind, expectation, 1.0));
        assert_eq!(ends(&fine.fold), ends(&coarse.fold));
        let c = width(ends(&coarse.concentration)) / width(ends(&fine.concentration));
        let n = width(ends(&coarse.in_product)) / width(ends(&fine.in_product));
        match kind {
            ProductKind::OffTheTop => assert!((c - 1.0).abs() < 1e-9 && n > 1.1, "{c} {n}"),
            _ => assert!(c > 1.05 && (n - 1.0).abs() < 1e-9, "{c} {n}"),
        }
    }
}

#[test]
fn counting_error_counts_once() {
    let v = 2.0 * libm::log1p(0.03 * 0.03);
    let learned = Learned { location: libm::log(0.5), scale: 0.12, freedom: 1e6, counting_variance: v };
    let basis = Basis::ClinicCounts { n: 20, learned: Some(learned) };
    let expectation = Expectation { basis, ..Expectation::double_spin() };
    let volumes = Volumes::exact(q(26.0), q(4.0));
    let width =
        |range: Range<CellCount>| libm::log(range.high.get() / range.low.get()) / (2.0 * 1.281_551_565_5);
    let native = today(210.0).unwrap();
    // what a count will read spreads as the counts did that it was learned from: blood and product counted once each
    let reads = will_read(&expectation, volumes, native, 1).unwrap().unwrap().value;
    near(width(reads), 0.12, 1e-4);
    // the true content lacks the product's count
    let found = predict(ProductKind::Concentrate, Some(&expectation), volumes, Some(native)).unwrap();
    let truth = found.concentration.unwrap().value;
    near(width(truth), libm::sqrt(0.12 * 0.12 - v / 2.0), 1e-4);
    // four readings halve what is added
    let four = will_read(&expectation, volumes, native, 4).unwrap().unwrap().value;
    near(width(four), libm::sqrt(0.12 * 0.12 - 0.75 * v / 2.0), 1e-4);
}

#[test]
fn the_largest_unknown_is_named_with_what_knowing_it_would_buy() {
    let volumes = Volumes { graduation: Some(q(0.2)), containers: 2, ..Volumes::exact(q(26.0), q(4.0)) };
    let expectation = Expectation::double_spin();
    let none = doubt(&expectation, volumes, NativeCount::ADULTS, false).unwrap().unwrap();
    assert_eq!(none.largest, Unknown::NoCount);
    // about 2.8 to 5.9 without a count, 3.4 to 5.1 with one of 236
    assert!(none.narrowed.low > none.now.low && none.narrowed.high < none.now.high);
    near(none.narrowed.high.get() - none.narrowed.low.get(), 1.75, 0.05);
    let today = doubt(&expectation, volumes, today(210.0).unwrap(), true).unwrap().unwrap();
    assert_eq!(today.largest, Unknown::Method);
    for found in [none, today] {
        near(found.shares.iter().map(|(_, share)| share).sum(), 1.0, 1e-12);
        assert!(found.shares.windows(2).all(|w| w[0].1 >= w[1].1));
    }
}
