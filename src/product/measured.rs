//! What was made, from the count of the product, and how it stands to what is possible, expected and ordered.

use super::kind;
use super::order::{Bounds, Ordered};
use super::range::Range;
use crate::chance::TWO_SIDED_95;
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, Cv, Factor, Fold, OutOfRange, Quantity, Recovery, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// Readings of one product, as the analyser gave them.
#[derive(Debug, Clone, PartialEq)]
pub struct Readings {
    /// First reading [10⁹/L].
    pub first: CellCount,
    /// Replicates, if any [10⁹/L].
    pub more: Vec<CellCount>,
    /// How many times the product was diluted before the analyser: 5 for 1 part in 5, 1 if it was not.
    pub dilution: Factor,
    /// Factor of the sample kind: 1.1 for a liquid-citrate tube or the laboratory's own, else 1.
    pub sample_kind: Factor,
}

/// What to check, in this order, when more platelets are found than were drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Check {
    /// Which tube or container the blood's own count came from.
    BaselineKind,
    /// The dilution before the analyser.
    Dilution,
    /// Whether the product was mixed before sampling.
    Mixing,
    /// The product volume.
    Volume,
}

impl Check {
    /// All, in order.
    pub const IN_ORDER: [Check; 4] = [Check::BaselineKind, Check::Dilution, Check::Mixing, Check::Volume];
}

/// A measured content against what was drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bound {
    /// No count of the blood, or no volume of the product, to hold it against.
    Unknown,
    /// No more than was drawn.
    Within,
    /// More than was drawn, by no more than counting error explains. See [`Check::IN_ORDER`].
    AboveWithinError,
    /// More than was drawn and than counting error explains. See [`Check::IN_ORDER`].
    Above,
}

/// What was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Measured {
    /// Concentration of the product [10⁹/L].
    pub concentration: Worked<CellCount>,
    /// Spread of the replicates; absent for one reading or a mean of 0.
    pub replicate_cv: Option<Worked<Cv>>,
    /// Platelets in product [10⁹]; absent until the volume kept is known.
    pub in_product: Option<Worked<Cells>>,
    /// Concentration over the blood's own count, if that and the blood are known and not 0.
    pub fold: Option<Worked<Fold>>,
    /// Platelets in product over platelets drawn; may exceed 1 by error. Absent until the volume kept is known.
    pub recovery: Option<Worked<Recovery>>,
    /// Against what was drawn.
    pub bound: Bound,
}

/// What the blood gave: its own count and its volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Baseline {
    /// The blood's own count [10⁹/L].
    pub native: CellCount,
    /// Its relative SD.
    pub cv: Cv,
    /// Blood in all containers, without anticoagulant [mL].
    pub blood: Volume,
}

/// Concentration of the product [10⁹/L]: mean reading × dilution × sample kind. Errors: outside the domain.
pub fn concentration(readings: &Readings) -> Checked<CellCount> {
    let mean = mean(readings)?;
    // c = r̄·d·k
    let c = CellCount::new(mean.value.get() * readings.dilution.get() * readings.sample_kind.get())?;
    let numbers =
        vec![Figure::of(mean.value), Figure::of(readings.dilution), Figure::of(readings.sample_kind)];
    let line = Working::line(StepName::CountFromReading, "c = r̄·d·k", "{} · {} · {}", numbers, Figure::of(c));
    Ok(Worked::new(c, mean.working.then(line).from(SourceId::ProductMeasured)))
}

/// What was made. `product` is the volume kept [mL], if it was measured: a planned volume makes no counted total.
/// `counting` is the analyser's relative SD of one reading. A fold or recovery too large to be one
/// is left out and the bound says above. Errors: concentration or platelets outside their domain.
pub fn measure(
    readings: &Readings,
    product: Option<Volume>,
    baseline: Option<Baseline>,
    counting: Cv,
) -> Result<Measured, OutOfRange> {
    let concentration = concentration(readings)?;
    let in_product = product.map(|v| kind::in_product(concentration.value, v)).transpose()?;
    let mut found = Measured {
        replicate_cv: replicate_cv(readings)?,
        concentration,
        in_product,
        fold: None,
        recovery: None,
        bound: Bound::Unknown,
    };
    let there = |b: &Baseline| b.native.get() > 0.0 && b.blood.get() > 0.0;
    let Some(baseline) = baseline.filter(there) else { return Ok(found) };
    let (c, native) = (found.concentration.value, baseline.native);
    // fold = c/PLT
    let Ok(fold) = Fold::new(c.get() / native.get()) else {
        found.bound = Bound::Above;
        return Ok(found);
    };
    let numbers = vec![Figure::of(c), Figure::of(native)];
    let working = Working::line(StepName::Fold, "fold = c/PLT", "{} / {}", numbers, Figure::of(fold));
    found.fold = Some(Worked::new(fold, working.from(SourceId::ProductMeasured)));
    let Some(product) = product else { return Ok(found) };
    found.recovery = kind::recovery_from_fold(fold, baseline.blood, product).ok();
    found.bound = match &found.recovery {
        Some(recovery) => bound(recovery.value, counting_error(counting, readings), baseline.cv),
        None => Bound::Above,
    };
    Ok(found)
}

/// Relative SD of the mean of the readings.
fn counting_error(one: Cv, readings: &Readings) -> f64 {
    one.get() / libm::sqrt(count(readings))
}

/// fold ≤ B/V is the same as η ≤ 1.
pub(super) fn bound(recovery: Recovery, count_cv: f64, baseline_cv: Cv) -> Bound {
    // η ≤ e^(1.96·√(CV_c² + CV_PLT²)) is within counting error
    let explained = libm::exp(TWO_SIDED_95 * libm::hypot(count_cv, baseline_cv.get()));
    if recovery.get() <= 1.0 {
        Bound::Within
    } else if recovery.get() <= explained {
        Bound::AboveWithinError
    } else {
        Bound::Above
    }
}

/// How many readings.
fn count(readings: &Readings) -> f64 {
    1.0 + readings.more.iter().map(|_| 1.0).sum::<f64>()
}

fn each(readings: &Readings) -> impl Iterator<Item = CellCount> {
    std::iter::once(readings.first).chain(readings.more.iter().copied())
}

/// Mean reading [10⁹/L].
fn mean(readings: &Readings) -> Checked<CellCount> {
    // r̄ = Σr/n
    let (sum, n) = (each(readings).map(CellCount::get).sum::<f64>(), count(readings));
    let mean = CellCount::new(sum / n)?;
    let numbers = vec![Figure { value: sum, unit: CellCount::UNIT }, Figure::pure(n)];
    Ok(Worked::new(
        mean,
        Working::line(StepName::MeanReading, "r̄ = Σr/n", "{} / {}", numbers, Figure::of(mean)),
    ))
}

/// Spread of the replicates.
fn replicate_cv(readings: &Readings) -> Result<Option<Worked<Cv>>, OutOfRange> {
    let (mean, n) = (mean(readings)?.value, count(readings));
    if n < 2.0 || mean.get() == 0.0 {
        return Ok(None);
    }
    // CV = √(Σ(r − r̄)²/(n − 1))/r̄
    let squares: f64 = each(readings).map(|r| (r.get() - mean.get()) * (r.get() - mean.get())).sum();
    let cv = Cv::new(libm::sqrt(squares / (n - 1.0)) / mean.get())?;
    let numbers = vec![Figure::pure(squares), Figure::pure(n), Figure::of(mean)];
    let formula = "CV = √(Σ(r − r̄)²/(n − 1))/r̄";
    let working =
        Working::line(StepName::ReplicateCv, formula, "√({} / ({} − 1)) / {}", numbers, Figure::of(cv));
    Ok(Some(Worked::new(cv, working)))
}

/// A measured amount against its predicted range.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AgainstRange {
    /// Below the low end.
    Below,
    /// From the low to the high end, both included.
    Inside,
    /// Above the high end.
    Above,
}

/// Where a measured amount lies in its predicted range.
pub fn against_range<Q: Quantity + PartialOrd>(measured: Q, predicted: Range<Q>) -> AgainstRange {
    if measured < predicted.low {
        AgainstRange::Below
    } else if measured > predicted.high {
        AgainstRange::Above
    } else {
        AgainstRange::Inside
    }
}

/// A measured amount against the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum AgainstOrder {
    /// Met, beyond counting error.
    Met,
    /// Not met, beyond counting error.
    NotMet,
    /// A second count could say the other.
    WithinCountingError,
}

/// A measured amount against the order, `cv` being its relative counting error. An order that contradicts itself is
/// held against nothing.
pub fn against_order<Q: Quantity>(measured: Q, cv: Cv, ordered: Ordered<Q>) -> Option<AgainstOrder> {
    // low, high = x·e^(∓1.96·CV)
    let width = libm::exp(TWO_SIDED_95 * cv.get());
    let (low, high) = (measured.get() / width, measured.get() * width);
    let Bounds { low: least, high: most } = ordered.bounds()?;
    Some(if low >= least && high <= most {
        AgainstOrder::Met
    } else if high < least || low > most {
        AgainstOrder::NotMet
    } else {
        AgainstOrder::WithinCountingError
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn q<Q: Quantity>(value: f64) -> Q {
        Q::new(value).unwrap()
    }

    fn near(found: f64, expected: f64, relative: f64) {
        assert!((found - expected).abs() <= relative * expected.abs(), "{found} is not {expected}");
    }

    fn readings(all: &[f64], dilution: f64, sample_kind: f64) -> Readings {
        Readings {
            first: q(all[0]),
            more: all[1..].iter().map(|&r| q(r)).collect(),
            dilution: q(dilution),
            sample_kind: q(sample_kind),
        }
    }

    fn baseline(native: f64, blood: f64) -> Option<Baseline> {
        Some(Baseline { native: q(native), cv: q(0.03), blood: q(blood) })
    }

    #[test]
    fn a_diluted_reading_is_multiplied_back() {
        // D04: 480 at 1 part in 5; E19: 182.6 from a container with 15 mL in 100 mL of blood
        assert_eq!(concentration(&readings(&[480.0], 5.0, 1.0)).unwrap().value.get(), 2400.0);
        near(concentration(&readings(&[182.6], 1.0, 1.15)).unwrap().value.get(), 210.0, 5e-4);
        let worked = concentration(&readings(&[480.0, 500.0], 5.0, 1.1)).unwrap();
        near(worked.value.get(), 2695.0, 1e-12);
        assert_eq!(worked.working.steps.len(), 2);
        assert!(concentration(&readings(&[50_000.0], 3.0, 1.0)).is_err());
    }

    #[test]
    fn replicates_have_a_mean_and_a_spread() {
        // statistics.stdev([53, 60, 66, 72, 69, 75])/mean = 0.12356 (J15)
        let found =
            measure(&readings(&[53.0, 60.0, 66.0, 72.0, 69.0, 75.0], 1.0, 1.0), Some(q(4.0)), None, q(0.03))
                .unwrap();
        near(found.concentration.value.get(), 65.8333, 1e-5);
        near(found.replicate_cv.unwrap().value.get(), 0.1236, 1e-3);
        assert_eq!(found.bound, Bound::Unknown);
        let one = measure(&readings(&[900.0], 1.0, 1.0), Some(q(4.0)), None, q(0.03)).unwrap();
        assert!(one.replicate_cv.is_none());
        assert!(
            measure(&readings(&[0.0, 0.0], 1.0, 1.0), Some(q(4.0)), None, q(0.03))
                .unwrap()
                .replicate_cv
                .is_none()
        );
    }

    #[test]
    fn fold_and_recovery_of_a_counted_product() {
        let found =
            measure(&readings(&[938.0], 1.0, 1.0), Some(q(4.0)), baseline(210.0, 26.0), q(0.03)).unwrap();
        near(found.in_product.unwrap().value.get(), 3.752, 1e-12);
        near(found.fold.unwrap().value.get(), 938.0 / 210.0, 1e-12);
        near(found.recovery.unwrap().value.get(), 3.752 / 5.46, 1e-12);
        assert_eq!(found.bound, Bound::Within);
    }

    #[test]
    fn without_the_volume_kept_there_is_a_concentration_and_a_fold_and_no_total() {
        let found = measure(&readings(&[938.0], 1.0, 1.0), None, baseline(210.0, 26.0), q(0.03)).unwrap();
        assert_eq!(found.concentration.value.get(), 938.0);
        near(found.fold.unwrap().value.get(), 938.0 / 210.0, 1e-12);
        assert!(found.in_product.is_none() && found.recovery.is_none());
        assert_eq!(found.bound, Bound::Unknown);
    }

    #[test]
    fn more_than_was_drawn_is_told_from_counting_error() {
        // ceiling 6.5 × 210 = 1365; e^(1.96·√(0.03² + 0.03²)) = 1.08671…, 1483.4
        let at = |reading: f64| {
            measure(&readings(&[reading], 1.0, 1.0), Some(q(4.0)), baseline(210.0, 26.0), q(0.03))
                .unwrap()
                .bound
        };
        assert_eq!(at(1364.9), Bound::Within);
        assert_eq!(at(1365.1), Bound::AboveWithinError);
        assert_eq!(at(1483.0), Bound::AboveWithinError);
        assert_eq!(at(1484.0), Bound::Above);
        // four replicates halve the analyser's part: e^(1.96·√(0.015² + 0.03²)) = 1.06795…, 1457.8
        let four = |reading: f64| {
            let readings = readings(&[reading; 4], 1.0, 1.0);
            measure(&readings, Some(q(4.0)), baseline(210.0, 26.0), q(0.03)).unwrap().bound
        };
        assert_eq!((four(1457.0), four(1459.0)), (Bound::AboveWithinError, Bound::Above));
        assert_eq!(Check::IN_ORDER[0], Check::BaselineKind);
    }

    #[test]
    fn an_absurd_reading_still_shows_its_concentration() {
        let found =
            measure(&readings(&[99_000.0], 1.0, 1.0), Some(q(4.0)), baseline(90.0, 26.0), q(0.03)).unwrap();
        assert_eq!((found.concentration.value.get(), found.bound), (99_000.0, Bound::Above));
        assert!(found.fold.is_none() && found.recovery.is_none());
        // without blood, or with a count of 0, there is nothing to hold it against
        for baseline in [baseline(210.0, 0.0), baseline(0.0, 26.0)] {
            let found = measure(&readings(&[900.0], 1.0, 1.0), Some(q(4.0)), baseline, q(0.03)).unwrap();
            assert_eq!(found.bound, Bound::Unknown);
        }
    }

    #[test]
    fn against_its_range_both_ends_belong() {
        let range = Range { median: q::<Cells>(3.8), low: q(3.0), high: q(4.6) };
        let at = |n: f64| against_range(q(n), range);
        use AgainstRange::{Above, Below, Inside};
        assert_eq!([2.99, 3.0, 4.6, 4.61].map(at), [Below, Inside, Inside, Above]);
    }

    #[test]
    fn against_the_order_in_three_states() {
        // e^(1.96·0.03) = 1.060563…: 5 ×10⁹ ordered is met from 5.303, not met below 4.715
        use AgainstOrder::{Met, NotMet, WithinCountingError};
        let at = |n: f64| against_order(q::<Cells>(n), q(0.03), Ordered::AtLeast(q(5.0))).unwrap();
        assert_eq!([4.71, 5.31].map(at), [NotMet, Met]);
        assert_eq!([4.72, 5.0, 5.30].map(at), [WithinCountingError; 3]);
        let between =
            |n: f64| against_order(q::<Cells>(n), q(0.03), Ordered::Between(q(5.0), q(6.0))).unwrap();
        assert_eq!([4.71, 5.4, 5.8, 6.37].map(between), [NotMet, Met, WithinCountingError, NotMet]);
        // counted without error there is no third state
        let exact = |n: f64| against_order(q::<Cells>(n), q(0.0), Ordered::AtLeast(q(5.0))).unwrap();
        assert_eq!([4.999, 5.0].map(exact), [NotMet, Met]);
        // about 5 is 4.5 to 5.5; counted with an error of 3 % met from 4.7726 to 5.1859
        let about = |n: f64| against_order(q::<Cells>(n), q(0.03), Ordered::About(q(5.0))).unwrap();
        assert_eq!(
            [4.24, 4.77, 4.78, 5.18, 5.19, 5.84].map(about),
            [NotMet, WithinCountingError, Met, Met, WithinCountingError, NotMet]
        );
        // upside down it is held against nothing
        assert_eq!(against_order(q::<Cells>(5.5), q(0.03), Ordered::Between(q(6.0), q(5.0))), None);
    }
}
