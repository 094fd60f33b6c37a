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

/// What tests of this crate lean on.
#[cfg(test)]
pub(crate) mod testing {
    use crate::quantity::Quantity;
    use crate::working::{Checked, Worked, Working};

    /// A quantity that is known to be in its domain.
    pub fn q<Q: Quantity>(value: f64) -> Q {
        Q::new(value).unwrap()
    }

    /// The number of a result, after its working was looked at.
    pub fn number<Q: Quantity>(result: Checked<Q>) -> f64 {
        let worked = result.unwrap();
        sound(&worked);
        worked.value.get()
    }

    /// Every line has a number for each gap, and finds something finite.
    pub fn sound<T>(worked: &Worked<T>) {
        sound_working(&worked.working);
        assert!(!worked.working.steps.is_empty());
    }

    /// Likewise, for a working that may be empty.
    pub fn sound_working(working: &Working) {
        for step in &working.steps {
            assert_eq!(step.substituted.matches("{}").count(), step.numbers.len(), "{}", step.formula);
            assert!(step.result.value.is_finite(), "{}", step.formula);
        }
    }

    /// Equal within an absolute tolerance.
    #[track_caller]
    pub fn near(found: f64, wanted: f64, tolerance: f64) {
        assert!((found - wanted).abs() <= tolerance, "{found}, wanted {wanted} ± {tolerance}");
    }
}
