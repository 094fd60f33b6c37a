//! The spin: force from speed and a named radius, the rotor, the tube, the programme and its ratings.

pub mod column;
pub mod exposure;
pub mod programme;
pub mod rcf;
pub mod rotor;
pub mod transfer;
pub mod tube;

use crate::quantity::OutOfRange;
use rcf::RadiusKind;

/// Why a speed or a force could not be reckoned.
#[derive(Debug, Clone, PartialEq)]
pub enum SpinError {
    /// The rotor has no such radius on record.
    RadiusMissing {
        /// The radius asked for.
        kind: RadiusKind,
        /// The rotor's name.
        rotor: String,
    },
    /// The rotor's minimum radius is not below its maximum.
    RadiiReversed {
        /// The rotor's name.
        rotor: String,
    },
    /// The result leaves the domain of its quantity.
    OutOfRange(OutOfRange),
}

impl From<OutOfRange> for SpinError {
    fn from(error: OutOfRange) -> Self {
        Self::OutOfRange(error)
    }
}
