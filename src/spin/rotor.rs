//! A rotor as the clinic has it in Bench.

use super::SpinError;
use super::rcf::{NamedRadius, RadiusKind};
use crate::quantity::{Quantity, Radius, Rcf, Rpm};
use serde::{Deserialize, Serialize};

/// How the tubes hang.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RotorKind {
    /// The tubes swing out to the horizontal.
    SwingOut,
    /// The tubes keep their angle: the path of a cell is across the tube.
    FixedAngle,
}

/// A rotor, radii in running position.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct Rotor {
    /// Stable id, the clinic's.
    pub id: String,
    /// Name as shown.
    pub name: String,
    /// How the tubes hang.
    pub kind: RotorKind,
    /// From the axis to the surface of the fluid.
    pub minimum: Option<Radius>,
    /// From the axis to the bottom of the tube.
    pub maximum: Option<Radius>,
    /// Highest speed the rotor is rated for.
    pub rated_rpm: Option<Rpm>,
    /// Highest force its buckets are rated for, at the maximum radius.
    pub rated_bucket: Option<Rcf>,
    /// The step in which the machine's speed is set.
    pub speed_step: Option<Rpm>,
}

impl Rotor {
    /// A radius by name; the mean needs both ends. Errors: not on record, or the ends reversed.
    pub fn radius(&self, kind: RadiusKind) -> Result<NamedRadius, SpinError> {
        let missing = || SpinError::RadiusMissing { kind, rotor: self.name.clone() };
        if let (Some(minimum), Some(maximum)) = (self.minimum, self.maximum)
            && minimum >= maximum
        {
            return Err(SpinError::RadiiReversed { rotor: self.name.clone() });
        }
        let radius = match kind {
            RadiusKind::Minimum => self.minimum.ok_or_else(missing)?,
            RadiusKind::Maximum => self.maximum.ok_or_else(missing)?,
            RadiusKind::Mean => {
                let (minimum, maximum) =
                    (self.minimum.ok_or_else(missing)?, self.maximum.ok_or_else(missing)?);
                // r_mean = (r_min + r_max)/2
                Radius::new((minimum.get() + maximum.get()) / 2.0)?
            }
        };
        Ok(NamedRadius { kind, radius })
    }
}
