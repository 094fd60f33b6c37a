//! What was shown at a signature, kept so that the record can be read and its card printed without reckoning anew.

use crate::draft::Decision;
use crate::export::card::Card;
use crate::finding::Level;
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

/// One finding as it stood before the signer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ShownFinding {
    /// Key a decision on it is stored under.
    pub key: String,
    /// How loud.
    pub level: Level,
    /// Cause, in the sentence that was shown.
    pub cause: String,
    /// What to do, in the sentence that was shown.
    pub action: String,
    /// Nobody had decided, or seen it, as its level asks.
    pub open: bool,
    /// Who had, when and why.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub decision: Option<Decision>,
    /// Decisions that no longer held, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub past: Vec<Decision>,
}

/// All that stood before the signer.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Shown {
    /// Figures, in the order of the job.
    pub figures: Vec<ShownFigure>,
    /// Findings, loudest first; none when they were not looked at.
    pub findings: Option<Vec<ShownFinding>>,
    /// The card; none when it was not made.
    pub card: Option<Box<Card>>,
}

/// Figures alone.
impl From<Vec<ShownFigure>> for Shown {
    fn from(figures: Vec<ShownFigure>) -> Self {
        Self { figures, ..Self::default() }
    }
}
