//! Distributions and quadrature that more than one room reckons with. Plain numbers, deterministic, no random draws.
//!
//! [`normal`] · [`student`] · [`quadrature`] · [`root`] of a rising function.

pub(crate) mod normal;
pub(crate) mod quadrature;
pub(crate) mod root;
pub(crate) mod student;
