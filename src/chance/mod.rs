//! Distributions and quadrature that more than one room reckons with. Plain numbers, deterministic, no random draws.
//!
//! [`normal`] · [`student`] · [`quadrature`] · [`root`] of a rising function.

/// Chance below the high end of an 80 % range.
pub(crate) const HIGH: f64 = 0.9;
/// Half the width of a 95 % range, in SDs of a normal.
pub(crate) const TWO_SIDED_95: f64 = 1.96;

pub(crate) mod normal;
pub(crate) mod quadrature;
pub(crate) mod root;
pub(crate) mod student;
