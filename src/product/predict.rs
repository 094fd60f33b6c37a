//! What to expect of a protocol at these volumes and this count. Never a measurement, never a recommendation.

use super::kind::{self, Expectation, Expected, ProductKind};
use super::range::{HIGH, LOW, Range};
use super::spread::{LogNormal, Product, Truncated};
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, Cv, Fold, Haematocrit, OutOfRange, Quantity, Recovery, Volume};
use crate::working::{Figure, StepName, Worked, Working};

/// Platelet analyser, one reading: CV 3 % [`SourceId::AnalyserCv`].
pub const ANALYSER: Cv = Cv::constant(0.03);
/// Within a person over a year, the larger of the two published: CV 8.6 % [`SourceId::WithinPersonCv`].
const WITHIN_PERSON: Cv = Cv::constant(0.086);
/// Pace at which an older count comes to be that unsure [days] [`SourceId::CountAgeing`].
const AGEING_DAYS: f64 = 30.0;

/// Counts of the no-count table: 150 to 350 ×10⁹/L, the middle nine tenths of adults [`SourceId::Nhanes2011`].
pub const PLAUSIBLE: [CellCount; 5] = [
    CellCount::constant(150.0),
    CellCount::constant(200.0),
    CellCount::constant(250.0),
    CellCount::constant(300.0),
    CellCount::constant(350.0),
];

/// The blood's own count, EDTA-equivalent, and how sure it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NativeCount {
    /// The count [10⁹/L].
    pub value: CellCount,
    /// Its relative SD, see [`count_cv`].
    pub cv: Cv,
}

impl NativeCount {
    /// Adults without a count: 236 ± 59 ×10⁹/L [`SourceId::Nhanes2011`].
    pub const ADULTS: Self = Self { value: CellCount::constant(236.0), cv: Cv::constant(59.0 / 236.0) };
}

/// Relative SD of the blood's own count, by its age in whole days: 0 is today's, none is "age not known".
/// An older count also holds what the person's count moved since; that grows to its limit in some months.
pub fn count_cv(age_days: Option<u32>) -> Result<Worked<Cv>, OutOfRange> {
    // share of the within-person variance: s = 1 − e^(−days/30), 1 when the age is not known
    let share = age_days.map_or(1.0, |days| -libm::expm1(-f64::from(days) / AGEING_DAYS));
    // CV = √(CV_A² + CV_I²·s)
    let (analyser, person) = (ANALYSER.get(), WITHIN_PERSON.get());
    let cv = Cv::new(libm::sqrt(analyser * analyser + person * person * share))?;
    let numbers = vec![Figure::of(ANALYSER), Figure::of(WITHIN_PERSON), Figure::pure(share)];
    let working = Working::line(
        StepName::CountSpread,
        "CV = √(CV_A² + CV_I²·s)",
        "√({}² + {}² · {})",
        numbers,
        Figure::of(cv),
    )
    .from(SourceId::AnalyserCv);
    let aged = age_days != Some(0);
    let working =
        if aged { working.from(SourceId::WithinPersonCv).from(SourceId::CountAgeing) } else { working };
    Ok(Worked::new(cv, working))
}

/// How far a prediction could go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Outcome {
    /// Fold and recovery are given; concentration and platelets in product too if there is a count.
    Predicted,
    /// Nothing is known of this protocol yet: enter counts. Ceiling and platelets drawn only.
    NoExpectation,
    /// The expectation speaks of another kind of product. Ceiling and platelets drawn only.
    OtherKind,
    /// At these volumes the ceiling lies below (all but a thousandth of) what was expected: the volumes or the
    /// expectation are wrong. Ceiling and platelets drawn only.
    CutAway,
}

/// What to expect. Ranges are of the true content.
#[derive(Debug, Clone, PartialEq)]
pub struct Prediction {
    /// How far it could go.
    pub outcome: Outcome,
    /// No method can exceed this fold.
    pub ceiling: Worked<Fold>,
    /// Platelets drawn, if there is a count.
    pub drawn: Option<Worked<Cells>>,
    /// Concentration over the blood's own count.
    pub fold: Option<Worked<Range<Fold>>>,
    /// Platelets in product over platelets drawn.
    pub recovery: Option<Worked<Range<Recovery>>>,
    /// Concentration in the product [10⁹/L], if there is a count.
    pub concentration: Option<Worked<Range<CellCount>>>,
    /// Platelets in product [10⁹], if there is a count.
    pub in_product: Option<Worked<Range<Cells>>>,
    /// Haematocrit of a product taken with the cell layer, as expected.
    pub haematocrit: Option<Haematocrit>,
}

/// What to expect of `product` [mL] made from `blood` [mL, without anticoagulant].
///
/// Errors: no product volume; an expectation whose mean is 0 or whose SD is above ten means; a result outside the
/// domain of its quantity.
pub fn predict(
    kind: ProductKind,
    expectation: Option<&Expectation>,
    blood: Volume,
    product: Volume,
    native: Option<NativeCount>,
) -> Result<Prediction, OutOfRange> {
    let ceiling = kind::ceiling(blood, product)?;
    let drawn = native.map(|n| kind::platelets_drawn(n.value, blood)).transpose()?;
    let mut found = Prediction {
        outcome: Outcome::NoExpectation,
        ceiling,
        drawn,
        fold: None,
        recovery: None,
        concentration: None,
        in_product: None,
        haematocrit: None,
    };
    let Some(expectation) = expectation else { return Ok(found) };
    if expectation.kind() != kind {
        found.outcome = Outcome::OtherKind;
        return Ok(found);
    }
    let top = found.ceiling.value.get();
    // The stable number is spread; the other follows from it: fold = η·B/V.
    let (spread, limit, to_fold) = match expectation.expected {
        Expected::Fold { mean, sd } => (matched(mean, sd)?, top, 1.0),
        Expected::Recovery { mean, sd } | Expected::RecoveryWithCells { mean, sd, .. } => {
            (matched(mean, sd)?, 1.0, top)
        }
    };
    if let Expected::RecoveryWithCells { haematocrit, .. } = expectation.expected {
        found.haematocrit = Some(haematocrit);
    }
    let Some(stable) = Truncated::new(spread, limit).filter(|_| top > 0.0) else {
        found.outcome = Outcome::CutAway;
        return Ok(found);
    };
    found.outcome = Outcome::Predicted;
    relative(&mut found, expectation, stable, to_fold, blood, product)?;
    if let Some(native) = native {
        absolute(&mut found, expectation, stable, to_fold, native, product)?;
    }
    Ok(found)
}

/// One row of the no-count table.
#[derive(Debug, Clone, PartialEq)]
pub struct Row {
    /// If the blood's own count were this [10⁹/L],
    pub count: CellCount,
    /// then this would be expected.
    pub prediction: Prediction,
}

/// One prediction for each of several counts, as if each were today's: the table for a patient without a count,
/// see [`PLAUSIBLE`]. Errors as [`predict`].
pub fn table(
    counts: &[CellCount],
    kind: ProductKind,
    expectation: Option<&Expectation>,
    blood: Volume,
    product: Volume,
) -> Result<Worked<Vec<Row>>, OutOfRange> {
    let today = count_cv(Some(0))?;
    let row = |&count: &CellCount| {
        let native = NativeCount { value: count, cv: today.value };
        Ok(Row { count, prediction: predict(kind, expectation, blood, product, Some(native))? })
    };
    let rows = counts.iter().map(row).collect::<Result<_, OutOfRange>>()?;
    Ok(Worked::new(rows, today.working.from(SourceId::Nhanes2011)))
}

/// Log-normal with this mean and SD of the quantity itself.
fn matched<Q: Quantity>(mean: Q, sd: Q) -> Result<LogNormal, OutOfRange> {
    if mean.get() <= 0.0 {
        return Err(OutOfRange {
            quantity: Q::NAME,
            value: mean.get(),
            min: f64::MIN_POSITIVE,
            max: Q::MAX,
            unit: Q::UNIT,
        });
    }
    let cv = Cv::new(sd.get() / mean.get())?;
    Ok(LogNormal::matched(mean.get(), cv.get()))
}

/// Median and ends of `quantile`.
fn range<Q: Quantity>(quantile: impl Fn(f64) -> f64) -> Result<Range<Q>, OutOfRange> {
    Ok(Range { median: Q::new(quantile(0.5))?, low: Q::new(quantile(LOW))?, high: Q::new(quantile(HIGH))? })
}

/// The working of a range: its result is the median.
fn worked<Q: Quantity>(
    range: Range<Q>,
    what: StepName,
    formula: &'static str,
    substituted: &'static str,
    numbers: Vec<Figure>,
    expectation: &Expectation,
) -> Worked<Range<Q>> {
    let working = Working::line(what, formula, substituted, numbers, Figure::of(range.median));
    Worked::new(range, expectation.sources().iter().fold(working, |w, &source| w.from(source)))
}

/// Mean and SD as figures.
fn mean_and_sd(expected: Expected) -> [Figure; 2] {
    match expected {
        Expected::Fold { mean, sd } => [Figure::of(mean), Figure::of(sd)],
        Expected::Recovery { mean, sd } | Expected::RecoveryWithCells { mean, sd, .. } => {
            [Figure::of(mean), Figure::of(sd)]
        }
    }
}

/// Fold and recovery: one spread, the other by the volumes.
fn relative(
    found: &mut Prediction,
    expectation: &Expectation,
    stable: Truncated,
    to_fold: f64,
    blood: Volume,
    product: Volume,
) -> Result<(), OutOfRange> {
    let [mean, sd] = mean_and_sd(expectation.expected);
    let (b, v) = (Figure::of(blood), Figure::of(product));
    let pure: Range<Fold> = range(|p| stable.quantile(p))?;
    // fold = η·B/V, η = fold·V/B
    let fold = pure.scaled(to_fold)?;
    let recovery = pure.scaled(to_fold / found.ceiling.value.get())?;
    let of_fold = matches!(expectation.expected, Expected::Fold { .. });
    found.fold = Some(if of_fold {
        let numbers = vec![mean, sd, b, v];
        worked(
            fold,
            StepName::Fold,
            "fold ~ log-normal, fold ≤ B/V",
            "{} ± {}, ≤ {} / {}",
            numbers,
            expectation,
        )
    } else {
        let numbers = vec![Figure::of(recovery.median), b, v];
        worked(fold, StepName::Fold, "fold = η·B/V", "{} · {} / {}", numbers, expectation)
    });
    found.recovery = Some(if of_fold {
        let numbers = vec![Figure::of(fold.median), v, b];
        worked(recovery, StepName::Recovery, "η = fold·V/B", "{} · {} / {}", numbers, expectation)
    } else {
        worked(
            recovery,
            StepName::Recovery,
            "η ~ log-normal, η ≤ 1",
            "{} ± {}, ≤ 1",
            vec![mean, sd],
            expectation,
        )
    });
    Ok(())
}

/// Concentration and platelets in product: the stable number times the count.
fn absolute(
    found: &mut Prediction,
    expectation: &Expectation,
    stable: Truncated,
    to_fold: f64,
    native: NativeCount,
    product: Volume,
) -> Result<(), OutOfRange> {
    // c = fold·PLT, both spread; the count too is log-normal with its own mean
    let concentration: Range<CellCount> = if native.value.get() > 0.0 {
        let spread = Product::new(stable, LogNormal::matched(native.value.get(), native.cv.get()));
        range(|p| to_fold * spread.quantile(p))?
    } else {
        Range { median: native.value, low: native.value, high: native.value }
    };
    // N = c·V/1000
    let in_product: Range<Cells> = concentration.scaled(product.get() / 1000.0)?;
    let [mean, sd] = mean_and_sd(expectation.expected);
    let (plt, cv) = (Figure::of(native.value), Figure::of(native.cv));
    found.concentration = Some(if matches!(expectation.expected, Expected::Fold { .. }) {
        let numbers = vec![mean, sd, plt, cv];
        let what = StepName::Concentration;
        worked(concentration, what, "c = fold·PLT", "({} ± {}) · ({}, CV {})", numbers, expectation)
    } else {
        let numbers = vec![mean, sd, Figure::of(found.ceiling.value), plt, cv];
        let what = StepName::Concentration;
        worked(concentration, what, "c = η·(B/V)·PLT", "({} ± {}) · {} · ({}, CV {})", numbers, expectation)
    });
    let numbers = vec![Figure::of(concentration.median), Figure::of(product)];
    found.in_product = Some(worked(
        in_product,
        StepName::PlateletsInProduct,
        "N = c·V/1000",
        "{} · {} / 1000",
        numbers,
        expectation,
    ));
    Ok(())
}

#[cfg(test)]
#[path = "predict_tests.rs"]
mod tests;
