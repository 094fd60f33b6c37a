//! What a clinic prints its labels on.

use crate::quantity::Millimetre;
use serde::{Deserialize, Serialize};

/// Size of one label, across × down.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LabelSize {
    /// 50 × 25 mm.
    Small,
    /// 57 × 32 mm.
    Large,
}

impl LabelSize {
    /// The smaller first.
    pub const ALL: [LabelSize; 2] = [LabelSize::Small, LabelSize::Large];

    /// Across and down [mm].
    pub fn mm(self) -> (f64, f64) {
        match self {
            LabelSize::Small => (50.0, 25.0),
            LabelSize::Large => (57.0, 32.0),
        }
    }

    /// The next larger one.
    pub fn larger(self) -> Option<LabelSize> {
        (self == LabelSize::Small).then_some(LabelSize::Large)
    }
}

/// Size and paper of the labels beside the card's own strip. Distances are a sheet's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Stock {
    /// Size; `None`: only the strip of the card.
    pub size: Option<LabelSize>,
    /// One label a page, as a roll takes them; else many on a sheet.
    pub roll: bool,
    /// From the left edge of the sheet to the first label.
    pub left: Millimetre,
    /// From its top edge.
    pub top: Millimetre,
    /// Between two labels side by side.
    pub across: Millimetre,
    /// Between two rows.
    pub down: Millimetre,
}

impl Default for Stock {
    /// Sheets differ by maker: these distances leave room for scissors.
    fn default() -> Self {
        Self {
            size: None,
            roll: false,
            left: Millimetre::constant(10.0),
            top: Millimetre::constant(12.0),
            across: Millimetre::constant(3.0),
            down: Millimetre::constant(3.0),
        }
    }
}

impl Stock {
    /// Whether it need not be stored.
    pub fn is_shipped(&self) -> bool {
        *self == Self::default()
    }
}
