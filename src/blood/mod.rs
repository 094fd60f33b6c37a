//! Blood: what is drawn, with how much anticoagulant, from whom, and what its count truly was.
//!
//! [`anticoagulant`] splits a container's fill, [`mixture`] says what stands in it afterwards, [`baseline`]
//! turns a reading into the blood's own count, [`patient`] weighs the draw against the clinic's limits.

pub mod anticoagulant;
pub mod baseline;
pub mod mixture;
pub mod patient;

/// Relative slack for comparisons: two figures closer than this are the same figure, because typed decimals
/// such as 0.2 have no exact binary form.
pub(crate) const NOISE: f64 = 1e-9;

/// Truly above, float noise aside.
pub(crate) fn above(value: f64, limit: f64) -> bool {
    value > limit + NOISE * limit.abs()
}

/// Truly below, float noise aside.
pub(crate) fn below(value: f64, limit: f64) -> bool {
    value < limit - NOISE * limit.abs()
}
