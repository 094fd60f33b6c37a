//! What to expect of a protocol at these volumes and this count. Never a measurement, never a recommendation.

use super::amount::{Amounts, CORRELATION, pooled, spread_factor};
pub use super::amount::{Content, Volumes};
use super::kind::{self, Expectation, Expected, ProductKind};
use super::range::{HIGH, LOW, Range};
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, Cv, Fold, Haematocrit, OutOfRange, Quantity, Recovery, Volume};
use crate::working::{Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

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
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
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

/// What to expect of a product made from these volumes.
///
/// Fold and recovery are those at the volumes as stated; concentration and platelets also hold how closely the
/// product volume is read. Errors: no product volume; an expectation whose mean is 0 or whose SD is above ten means;
/// a result outside the domain of its quantity.
pub fn predict(
    kind: ProductKind,
    expectation: Option<&Expectation>,
    volumes: Volumes,
    native: Option<NativeCount>,
) -> Result<Prediction, OutOfRange> {
    let ceiling = kind::ceiling(volumes.blood, volumes.product)?;
    let drawn = native.map(|n| kind::platelets_drawn(n.value, volumes.blood)).transpose()?;
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
    if let Expected::RecoveryWithCells { haematocrit, .. } = expectation.expected {
        found.haematocrit = Some(haematocrit);
    }
    let Some(amounts) = Amounts::new(expectation, volumes, native, Content::True, ANALYSER)? else {
        found.outcome = Outcome::CutAway;
        return Ok(found);
    };
    found.outcome = Outcome::Predicted;
    relative(&mut found, expectation, &amounts, volumes)?;
    if let Some(native) = native {
        absolute(&mut found, expectation, &amounts, native, volumes)?;
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
    volumes: Volumes,
) -> Result<Worked<Vec<Row>>, OutOfRange> {
    let today = count_cv(Some(0))?;
    let row = |&count: &CellCount| {
        let native = NativeCount { value: count, cv: today.value };
        Ok(Row { count, prediction: predict(kind, expectation, volumes, Some(native))? })
    };
    let rows = counts.iter().map(row).collect::<Result<_, OutOfRange>>()?;
    Ok(Worked::new(rows, today.working.from(SourceId::Nhanes2011)))
}

/// Median and ends of `quantile`.
pub(super) fn range<Q: Quantity>(quantile: impl Fn(f64) -> f64) -> Result<Range<Q>, OutOfRange> {
    Ok(Range { median: Q::new(quantile(0.5))?, low: Q::new(quantile(LOW))?, high: Q::new(quantile(HIGH))? })
}

/// The working of a range: its result is the median.
pub(super) fn worked<Q: Quantity>(
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

/// Mean and SD of a product from so many containers, as figures; of what was learned, median and scale.
pub(super) fn mean_and_sd(expectation: &Expectation, containers: u8) -> [Figure; 2] {
    if let Some(learned) = expectation.learned() {
        return [Figure::pure(libm::exp(learned.location)), Figure::pure(learned.true_scale())];
    }
    let factor = spread_factor(expectation, containers);
    let spread = |sd: Figure| Figure { value: sd.value * factor, ..sd };
    match expectation.expected {
        Expected::Fold { mean, sd } => [Figure::of(mean), spread(Figure::of(sd))],
        Expected::Recovery { mean, sd } | Expected::RecoveryWithCells { mean, sd, .. } => {
            [Figure::of(mean), spread(Figure::of(sd))]
        }
    }
}

/// How the spread of one container became that of the pooled product, if there are several.
fn pooling(expectation: &Expectation, containers: u8) -> Working {
    let factor = spread_factor(expectation, containers);
    if factor == 1.0 {
        return Working::default();
    }
    let [_, sd] = mean_and_sd(expectation, 1);
    let numbers =
        vec![sd, Figure::pure(CORRELATION), Figure::pure(CORRELATION), Figure::pure(f64::from(containers))];
    let result = Figure { value: sd.value * pooled(containers), ..sd };
    let (formula, substituted) = ("SD = SD₁·√(ρ + (1 − ρ)/n)", "{}·√({} + (1 − {})/{})");
    Working::line(StepName::PooledSpread, formula, substituted, numbers, result)
        .from(SourceId::ContainerCorrelation)
}

/// Fold and recovery: one spread, the other by the volumes.
fn relative(
    found: &mut Prediction,
    expectation: &Expectation,
    amounts: &Amounts,
    volumes: Volumes,
) -> Result<(), OutOfRange> {
    use StepName as S;
    let [mean, sd] = mean_and_sd(expectation, volumes.containers);
    let (b, v) = (Figure::of(volumes.blood), Figure::of(volumes.product));
    // fold = η·B/V, η = fold·V/B
    let fold: Range<Fold> = range(|p| amounts.fold(p))?;
    let recovery: Range<Recovery> = fold.scaled(1.0 / found.ceiling.value.get())?;
    let learned = expectation.learned().map(|l| Figure::pure(l.freedom));
    let line = |what, formula, substituted, numbers| (what, formula, substituted, numbers);
    let (of_fold, of_recovery) = if matches!(expectation.expected, Expected::Fold { .. }) {
        (
            match learned {
                None => {
                    line(S::Fold, "fold ~ log-normal, fold ≤ B/V", "{} ± {}, ≤ {} / {}", vec![mean, sd, b, v])
                }
                Some(nu) => line(
                    S::Fold,
                    "ln fold ~ t, fold ≤ B/V",
                    "{}, ±e^{}, ν {}, ≤ {} / {}",
                    vec![mean, sd, nu, b, v],
                ),
            },
            line(S::Recovery, "η = fold·V/B", "{} · {} / {}", vec![Figure::of(fold.median), v, b]),
        )
    } else {
        (
            line(S::Fold, "fold = η·B/V", "{} · {} / {}", vec![Figure::of(recovery.median), b, v]),
            match learned {
                None => line(S::Recovery, "η ~ log-normal, η ≤ 1", "{} ± {}, ≤ 1", vec![mean, sd]),
                Some(nu) => line(S::Recovery, "ln η ~ t, η ≤ 1", "{}, ±e^{}, ν {}, ≤ 1", vec![mean, sd, nu]),
            },
        )
    };
    let pooling = pooling(expectation, volumes.containers);
    let with_pooling = |w: Working| pooling.clone().then(w);
    let (what, formula, substituted, numbers) = of_fold;
    let mut fold = worked(fold, what, formula, substituted, numbers, expectation);
    fold.working = with_pooling(fold.working);
    found.fold = Some(fold);
    let (what, formula, substituted, numbers) = of_recovery;
    let mut recovery = worked(recovery, what, formula, substituted, numbers, expectation);
    recovery.working = with_pooling(recovery.working);
    found.recovery = Some(recovery);
    Ok(())
}

/// Concentration and platelets in product: the stable number times the count, and the volume as it is read.
fn absolute(
    found: &mut Prediction,
    expectation: &Expectation,
    amounts: &Amounts,
    native: NativeCount,
    volumes: Volumes,
) -> Result<(), OutOfRange> {
    // c = fold·PLT, both spread; the count too is log-normal with its own mean
    let concentration: Range<CellCount> = range(|p| amounts.concentration(p).unwrap_or(0.0))?;
    // N = c·V/1000: with a recovery the volume only says how far the same platelets are diluted
    let in_product: Range<Cells> = range(|p| amounts.platelets(p).unwrap_or(0.0))?;
    let [mean, sd] = mean_and_sd(expectation, volumes.containers);
    let (plt, cv) = (Figure::of(native.value), Figure::of(native.cv));
    let of_fold = matches!(expectation.expected, Expected::Fold { .. });
    let mut c = if of_fold {
        let numbers = vec![mean, sd, plt, cv];
        let what = StepName::Concentration;
        worked(concentration, what, "c = fold·PLT", "({} ± {}) · ({}, CV {})", numbers, expectation)
    } else {
        let numbers = vec![mean, sd, Figure::of(found.ceiling.value), plt, cv];
        let what = StepName::Concentration;
        worked(concentration, what, "c = η·(B/V)·PLT", "({} ± {}) · {} · ({}, CV {})", numbers, expectation)
    };
    let mut n = if of_fold {
        let numbers = vec![Figure::of(concentration.median), Figure::of(volumes.product)];
        let what = StepName::PlateletsInProduct;
        worked(in_product, what, "N = c·V/1000", "{} · {} / 1000", numbers, expectation)
    } else {
        let numbers = vec![mean, sd, plt, cv, Figure::of(volumes.blood)];
        let what = StepName::PlateletsInProduct;
        let substituted = "({} ± {}) · ({}, CV {}) · {} / 1000";
        worked(in_product, what, "N = η·PLT·B/1000", substituted, numbers, expectation)
    };
    let pooling = pooling(expectation, volumes.containers);
    let reading = volume_reading(volumes);
    let (of_c, of_n) = if of_fold { (None, reading) } else { (reading, None) };
    c.working = pooling.clone().then(of_c.unwrap_or_default()).then(c.working);
    n.working = pooling.then(of_n.unwrap_or_default()).then(n.working);
    (found.concentration, found.in_product) = (Some(c), Some(n));
    Ok(())
}

/// Within half a graduation, either way.
fn volume_reading(volumes: Volumes) -> Option<Working> {
    let g = volumes.graduation?;
    let half = Volume::new(0.5 * g.get()).ok()?;
    let (formula, substituted) = ("V ± g/2, uniform", "{} ± {} / 2");
    let numbers = vec![Figure::of(volumes.product), Figure::of(g)];
    let line = Working::line(StepName::VolumeReading, formula, substituted, numbers, Figure::of(half));
    Some(line.from(SourceId::GraduationUniform))
}

#[cfg(test)]
#[path = "predict_tests.rs"]
mod tests;
