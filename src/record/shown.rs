//! A figure as it was shown at a signature, kept so that the card can be audited without reckoning anew.

use serde::{Deserialize, Serialize};

/// How a figure came about. A predicted one is never kept as a measured one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ShownStanding {
    /// Asked for by the prescriber.
    Ordered,
    /// Worked out beforehand.
    Planned,
    /// Expected, from literature or from this clinic's counts.
    Predicted,
    /// Taken as given without a look at this patient: a factor, a spread.
    Assumed,
    /// Read off a scale or a clock and typed.
    Measured,
    /// From a count of cells.
    Counted,
}

/// One figure with its range, unit, standing and sources.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShownFigure {
    /// Stable name of what it is.
    pub what: String,
    /// The number, in `unit`.
    pub value: f64,
    /// Lower end of its range, if it has one.
    pub low: Option<f64>,
    /// Upper end of its range, if it has one.
    pub high: Option<f64>,
    /// The unit as printed; empty for a pure number.
    pub unit: String,
    /// How it came about.
    pub standing: ShownStanding,
    /// Keys of the sources behind it.
    pub sources: Vec<String>,
}

impl ShownFigure {
    /// Whether the number and its range can be stored: JSON knows neither infinity nor NaN.
    pub fn is_finite(&self) -> bool {
        [Some(self.value), self.low, self.high].into_iter().flatten().all(f64::is_finite)
    }
}
