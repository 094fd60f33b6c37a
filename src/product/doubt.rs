//! How sure a prediction is: what a count will read, the chance that an order is met, what the doubt is made of.

use super::amount::{Amounts, Content, Volumes};
use super::kind::{self, Expectation};
use super::order::{Bounds, Needs, OrderedAmount};
use super::predict::{ANALYSER, NativeCount, count_cv, mean_and_sd, range, worked};
use super::range::Range;
use crate::arrange::sort_by;
use crate::evidence::SourceId;
use crate::quantity::Quantity;
use crate::quantity::{CellCount, Cells, OutOfRange, Share};
use crate::working::{Figure, StepName, Worked, Working};

pub use super::amount::Unknown;

/// What a count of the product will read, the mean of so many readings of one sample [10⁹/L]; `None` where nothing
/// is predicted. Errors as [`super::predict::predict`].
pub fn will_read(
    expectation: &Expectation,
    volumes: Volumes,
    native: NativeCount,
    readings: u8,
) -> Result<Option<Worked<Range<CellCount>>>, OutOfRange> {
    kind::ceiling(volumes.blood, volumes.product)?;
    let content = Content::Read { readings };
    let Some(amounts) = Amounts::new(expectation, volumes, Some(native), content, ANALYSER)? else {
        return Ok(None);
    };
    if native.value.get() == 0.0 {
        return Ok(None);
    }
    let reads: Range<CellCount> = range(|p| amounts.concentration(p).unwrap_or(0.0))?;
    let [one, two] = mean_and_sd(expectation, volumes.containers);
    let numbers = vec![
        one,
        two,
        Figure::of(native.value),
        Figure::of(native.cv),
        Figure::of(ANALYSER),
        Figure::pure(f64::from(readings.max(1))),
    ];
    let (formula, substituted) = ("r = c·e^ε, ε ~ CV_A/√n", "({} ± {}) · ({}, CV {}) · (CV {} / √{})");
    let mut reads = worked(reads, StepName::WillRead, formula, substituted, numbers, expectation);
    reads.working = reads.working.from(SourceId::AnalyserCv);
    Ok(Some(reads))
}

/// Chance that the true content lies within bounds, in the amount's own unit; a dose must be reckoned back to the
/// concentration it needs. `None` where nothing is predicted, or without a count where one is needed. Errors as
/// [`super::predict::predict`].
pub fn chance(
    expectation: &Expectation,
    volumes: Volumes,
    native: Option<NativeCount>,
    what: OrderedAmount,
    bounds: Bounds,
) -> Result<Option<f64>, OutOfRange> {
    kind::ceiling(volumes.blood, volumes.product)?;
    let amounts = Amounts::new(expectation, volumes, native, Content::True, ANALYSER)?;
    Ok(amounts.and_then(|a| a.chance(what, bounds)))
}

/// Chance that the true content meets all that is needed of it at once. `None` and errors as [`chance`].
pub fn chance_of_all(
    expectation: &Expectation,
    volumes: Volumes,
    native: Option<NativeCount>,
    needs: Needs,
) -> Result<Option<f64>, OutOfRange> {
    kind::ceiling(volumes.blood, volumes.product)?;
    let amounts = Amounts::new(expectation, volumes, native, Content::True, ANALYSER)?;
    Ok(amounts.and_then(|a| a.chance_of_all(needs)))
}

/// The chance of all with its working.
pub(crate) fn worked_chance_of_all(
    chance: f64,
    needs: Needs,
    expectation: &Expectation,
) -> Option<Worked<Share>> {
    let (concentration, fold) = match (needs.concentration, needs.fold) {
        (Some(one), None) | (None, Some(one)) => return worked_chance(chance, one, expectation),
        (Some(concentration), Some(fold)) => (concentration, fold),
        (None, None) => return None,
    };
    let chance = Share::new(chance).ok()?;
    let numbers = [concentration.low, concentration.high, fold.low, fold.high];
    let numbers: Vec<Figure> = numbers.into_iter().filter(|x| x.is_finite()).map(Figure::pure).collect();
    let (formula, substituted) = match (concentration.high.is_finite(), fold.high.is_finite()) {
        (true, true) => ("P(x₁ ≤ x ≤ x₂, y₁ ≤ y ≤ y₂)", "P({} ≤ x ≤ {}, {} ≤ y ≤ {})"),
        (true, false) => ("P(x₁ ≤ x ≤ x₂, y ≥ y₁)", "P({} ≤ x ≤ {}, y ≥ {})"),
        (false, true) => ("P(x ≥ x₁, y₁ ≤ y ≤ y₂)", "P(x ≥ {}, {} ≤ y ≤ {})"),
        (false, false) => ("P(x ≥ x₁, y ≥ y₁)", "P(x ≥ {}, y ≥ {})"),
    };
    let line = Working::line(StepName::ChanceMet, formula, substituted, numbers, Figure::of(chance));
    Some(Worked::new(chance, from_judgement(line, expectation)))
}

/// A chance with its working: `needed` is in concentrations or folds.
pub(crate) fn worked_chance(chance: f64, needed: Bounds, expectation: &Expectation) -> Option<Worked<Share>> {
    let chance = Share::new(chance).ok()?;
    let result = Figure::of(chance);
    let line = if needed.high.is_finite() {
        let numbers = vec![Figure::pure(needed.low), Figure::pure(needed.high)];
        Working::line(StepName::ChanceMet, "P(x₁ ≤ x ≤ x₂)", "P({} ≤ x ≤ {})", numbers, result)
    } else {
        Working::line(StepName::ChanceMet, "P(x ≥ x₁)", "P(x ≥ {})", vec![Figure::pure(needed.low)], result)
    };
    Some(Worked::new(chance, from_judgement(line, expectation)))
}

fn from_judgement(line: Working, expectation: &Expectation) -> Working {
    let line = line.from(SourceId::ChanceWanted).from(SourceId::AboutOrdered);
    expectation.sources().iter().fold(line, |w, &source| w.from(source))
}

/// What the doubt about the concentration is made of.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// Each unknown with its share of the variance of the logarithm, the largest first; they add to 1.
    pub shares: Vec<(Unknown, f64)>,
    /// The largest.
    pub largest: Unknown,
    /// Platelets in product [10⁹] as they are known now.
    pub now: Range<Cells>,
    /// Platelets in product [10⁹] if the largest unknown were known: a count as of today at the value that stands
    /// for it, a method or a volume at its middle.
    pub narrowed: Range<Cells>,
}

/// What makes a prediction unsure. `counted` says whether the count is this patient's. `None` where nothing is
/// predicted or nothing is in doubt. Errors as [`super::predict::predict`].
pub fn doubt(
    expectation: &Expectation,
    volumes: Volumes,
    native: NativeCount,
    counted: bool,
) -> Result<Option<Doubt>, OutOfRange> {
    kind::ceiling(volumes.blood, volumes.product)?;
    let Some(amounts) = Amounts::new(expectation, volumes, Some(native), Content::True, ANALYSER)? else {
        return Ok(None);
    };
    let count = if counted { Unknown::BloodCount } else { Unknown::NoCount };
    let variances = amounts.variances();
    let all: f64 = variances.iter().sum();
    let mut shares: Vec<_> = [count, Unknown::Method, Unknown::ProductVolume]
        .into_iter()
        .zip(variances.map(|v| v / all))
        .collect();
    shares.retain(|(_, share)| *share > 0.0);
    sort_by(&mut shares, |a, b| b.1.total_cmp(&a.1));
    let Some(&(largest, _)) = shares.first() else { return Ok(None) };
    if native.value.get() == 0.0 {
        return Ok(None);
    }
    let platelets = |a: &Amounts| range(|p| a.platelets(p).unwrap_or(0.0));
    let today = count_cv(Some(0))?.value;
    let narrowed = platelets(&amounts.knowing(largest, today))?;
    Ok(Some(Doubt { shares, largest, now: platelets(&amounts)?, narrowed }))
}
