//! The standard normal.

use super::root::root;
use libm::{erfc, exp, sqrt};
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Chance that a standard normal lies below `z`.
pub(crate) fn below(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}

/// Density of a standard normal.
pub(crate) fn density(z: f64) -> f64 {
    exp(-0.5 * z * z) / sqrt(2.0 * PI)
}

/// The standard normal deviate with chance `p` below it.
pub(crate) fn deviate(p: f64) -> f64 {
    root(-9.0, 9.0, 0.0, |z| (below(z) - p, density(z)))
}
