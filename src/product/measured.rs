//! What was made, from the count of the product, and how it stands to what is possible, expected and ordered.

use super::kind;
use super::range::Range;
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, Cv, Factor, Fold, OutOfRange, Quantity, Recovery, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// Normal deviate of a two-sided 95 % interval, as in the usual reckoning of a significant change.
const TWO_SIDED_95: f64 = 1.96;

/// Readings of one product, as the analyser gave them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bound {
    /// No count of the blood to hold it against.
    NoBaseline,
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
    /// Platelets in product [10⁹].
    pub in_product: Worked<Cells>,
    /// Concentration over the blood's own count.
    pub fold: Option<Worked<Fold>>,
    /// Platelets in product over platelets drawn; may exceed 1 by error.
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
    let numbers = vec![Figure::of(mean.value), Figure::of(readings.dilution), Figure::of(readings.sample_kind)];
    let line = Working::line(StepName::CountFromReading, "c = r̄·d·k", "{} · {} · {}", numbers, Figure::of(c));
    Ok(Worked::new(c, mean.working.then(line).from(SourceId::ProductMeasured)))
}

/// What was made of it. `counting` is the analyser's relative SD of one reading. Errors: outside a domain, as when
/// the baseline has no blood.
pub fn measure(
    readings: &Readings,
    product: Volume,
    baseline: Option<Baseline>,
    counting: Cv,
) -> Result<Measured, OutOfRange> {
    let concentration = concentration(readings)?;
    let in_product = kind::in_product(concentration.value, product)?;
    let mut found = Measured {
        replicate_cv: replicate_cv(readings)?,
        concentration,
        in_product,
        fold: None,
        recovery: None,
        bound: Bound::NoBaseline,
    };
    let Some(baseline) = baseline.filter(|b| b.native.get() > 0.0) else { return Ok(found) };
    let (c, native) = (found.concentration.value, baseline.native);
    // fold = c/PLT
    let fold = Fold::new(c.get() / native.get())?;
    let numbers = vec![Figure::of(c), Figure::of(native)];
    let working = Working::line(StepName::Fold, "fold = c/PLT", "{} / {}", numbers, Figure::of(fold));
    let recovery = kind::recovery_from_fold(fold, baseline.blood, product)?;
    found.bound = bound(recovery.value, counting_error(counting, readings), baseline.cv);
    found.fold = Some(Worked::new(fold, working.from(SourceId::ProductMeasured)));
    found.recovery = Some(recovery);
    Ok(found)
}

/// Relative SD of the mean of the readings.
fn counting_error(one: Cv, readings: &Readings) -> f64 {
    one.get() / libm::sqrt(count(readings))
}

/// fold ≤ B/V is the same as η ≤ 1.
fn bound(recovery: Recovery, count_cv: f64, baseline_cv: Cv) -> Bound {
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
    Ok(Worked::new(mean, Working::line(StepName::MeanReading, "r̄ = Σr/n", "{} / {}", numbers, Figure::of(mean))))
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
    let working = Working::line(StepName::ReplicateCv, formula, "√({} / ({} − 1)) / {}", numbers, Figure::of(cv));
    Ok(Some(Worked::new(cv, working)))
}

/// A measured amount against its predicted range.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
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

/// What the clinician ordered of one amount.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ordered<Q> {
    /// No less than this.
    AtLeast(Q),
    /// No less than the first, no more than the second.
    Between(Q, Q),
}

/// A measured amount against the order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AgainstOrder {
    /// Met, beyond counting error.
    Met,
    /// Not met, beyond counting error.
    NotMet,
    /// A second count could say the other.
    WithinCountingError,
}

/// A measured amount against the order, `cv` being its relative counting error.
pub fn against_order<Q: Quantity>(measured: Q, cv: Cv, ordered: Ordered<Q>) -> AgainstOrder {
    // low, high = x·e^(∓1.96·CV)
    let width = libm::exp(TWO_SIDED_95 * cv.get());
    let (low, high) = (measured.get() / width, measured.get() * width);
    let (least, most) = match ordered {
        Ordered::AtLeast(least) => (least.get(), f64::INFINITY),
        Ordered::Between(least, most) => (least.get(), most.get()),
    };
    if low >= least && high <= most {
        AgainstOrder::Met
    } else if high < least || low > most {
        AgainstOrder::NotMet
    } else {
        AgainstOrder::WithinCountingError
    }
}
