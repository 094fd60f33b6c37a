//! Fold or recovery against haematocrit, the blood's own count or the volume kept, with what was learned of it.

use super::facts::Observed;
use super::learn::Prior;
use super::line::{Covariate, Dot, Line, Slope};
use crate::quantity::Quantity;
use libm::exp;
use serde::Serialize;

/// Points the line is drawn through.
const STEPS: u32 = 40;
/// Fewest counts with the covariate known for a line [`SlopePrior`](crate::evidence::SourceId::SlopePrior).
const FEWEST_FOR_A_LINE: usize = 5;

/// One count on the picture; the table behind it has these columns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Mark<'a> {
    /// The count.
    pub observed: Observed<'a>,
    /// Its covariate: L/L, 10⁹/L or mL.
    pub x: f64,
}

/// The line at one place: the middle of what a count there will read, and the 80 % range of it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct LinePoint {
    /// Covariate: L/L, 10⁹/L or mL.
    pub x: f64,
    /// As likely above as below.
    pub median: f64,
    /// One in ten lies below.
    pub low: f64,
    /// One in ten lies above.
    pub high: f64,
}

/// A picture of counts against a covariate.
#[derive(Debug, Clone, PartialEq)]
pub struct Against<'a> {
    /// Which.
    pub covariate: Covariate,
    /// The counts of which it is known, oldest first.
    pub marks: Vec<Mark<'a>>,
    /// The line, over what was seen and no further; empty below five counts or where all have the same.
    pub line: Vec<LinePoint>,
    /// Slope of the logarithm of platelets in product: for [`Covariate::Baseline`] 1 is "in proportion".
    pub slope: Option<Slope>,
}

/// A count's covariate in its own unit.
pub fn value_of(covariate: Covariate, observed: &Observed<'_>) -> Option<f64> {
    let counted = observed.counted;
    match covariate {
        Covariate::Haematocrit => counted.haematocrit.map(Quantity::get),
        Covariate::Baseline => counted.baseline.map(|b| b.value.get()),
        Covariate::VolumeKept => counted.kept.map(Quantity::get).filter(|&v| v > 0.0),
    }
}

/// Counts against one covariate. `prior` is what was known before them.
pub fn against<'a>(counts: &[Observed<'a>], covariate: Covariate, prior: Prior) -> Against<'a> {
    let marks: Vec<Mark<'a>> =
        counts.iter().filter_map(|o| value_of(covariate, o).map(|x| Mark { observed: *o, x })).collect();
    let dots: Vec<Dot> = marks
        .iter()
        .filter_map(|m| {
            let x = [covariate.entered(m.x)?, 0.0, 0.0];
            Some(Dot { x, log: m.observed.log, counting: m.observed.counting })
        })
        .collect();
    let low = marks.iter().map(|m| m.x).fold(f64::INFINITY, f64::min);
    let high = marks.iter().map(|m| m.x).fold(f64::NEG_INFINITY, f64::max);
    let mut found = Against { covariate, marks, line: Vec::new(), slope: None };
    if dots.len() < FEWEST_FOR_A_LINE || low >= high {
        return found;
    }
    let line = Line::through(prior, &[covariate], &dots);
    found.line = (0..=STEPS)
        .filter_map(|i| {
            let x = low + (high - low) * f64::from(i) / f64::from(STEPS);
            let p = line.at([covariate.entered(x)?, 0.0, 0.0])?;
            let range = p.range();
            Some(LinePoint { x, median: exp(p.location), low: range.low, high: range.high })
        })
        .collect();
    let add = covariate.of_platelets();
    found.slope =
        line.slope(0).map(|s| Slope { middle: s.middle + add, low: s.low + add, high: s.high + add });
    found
}
