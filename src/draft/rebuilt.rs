//! That a case was rebuilt from the code on its card.

use crate::quantity::time::Instant;
use serde::{Deserialize, Serialize};

/// Where a rebuilt case comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Rebuilt {
    /// When it was read; in the code itself when that was made, 0 in codes printed before this was kept.
    pub at: Instant,
    /// The code was closed and held the whole case; else quantities, lots and times only.
    pub whole: bool,
    /// When the case had been signed, if it was when the card printed.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub signed: Option<Instant>,
    /// The start of that record's seal.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub check: Option<String>,
    /// When the code was made, which is as it was printed: what was entered later is not in it. Unknown of older codes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub printed: Option<Instant>,
}
