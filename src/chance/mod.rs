//! Distributions and quadrature that more than one room reckons with. Plain numbers, deterministic, no random draws.
//!
//! [`normal`] · [`quadrature`] over a standard normal · [`root`] of a rising function ·
//! Student's [`student`].

pub(crate) mod normal;
pub(crate) mod quadrature;
pub(crate) mod root;
pub(crate) mod student;
