//! A rotor as the clinic has it in Bench.

use super::SpinError;
use super::rcf::{NamedRadius, RadiusKind, mean_radius};
use crate::quantity::{Grams, Radius, Rcf, Rpm};
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
#[serde(rename_all = "snake_case", deny_unknown_fields)]
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
    /// How many places it has for tubes or buckets, around the axis. Older versions stored none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub places: Option<u8>,
    /// By how much opposite places may differ in weight, as the centrifuge’s instructions say. Older versions stored none.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub tolerance: Option<Grams>,
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
        let end = |radius: Option<Radius>| radius.ok_or_else(missing);
        let radius = match kind {
            RadiusKind::Minimum => end(self.minimum)?,
            RadiusKind::Maximum => end(self.maximum)?,
            RadiusKind::Mean => {
                return Ok(mean_radius(end(self.minimum)?, end(self.maximum)?)?.value);
            }
        };
        Ok(NamedRadius { kind, radius })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::q;
    use crate::quantity::Quantity;

    fn rotor(minimum: Option<f64>, maximum: Option<f64>) -> Rotor {
        Rotor {
            id: "r".into(),
            name: "Swing-out".into(),
            kind: RotorKind::SwingOut,
            minimum: minimum.map(q),
            maximum: maximum.map(q),
            rated_rpm: None,
            rated_bucket: None,
            speed_step: None,
            places: None,
            tolerance: None,
        }
    }

    #[test]
    fn radii_by_name() {
        let both = rotor(Some(75.0), Some(155.0));
        let found =
            [RadiusKind::Minimum, RadiusKind::Mean, RadiusKind::Maximum].map(|k| both.radius(k).unwrap());
        assert_eq!(found.map(|r| r.radius.get()), [75.0, 115.0, 155.0]);
        assert_eq!(found.map(|r| r.kind), [RadiusKind::Minimum, RadiusKind::Mean, RadiusKind::Maximum]);
    }

    #[test]
    fn a_missing_radius_is_named() {
        let only_max = rotor(None, Some(155.0));
        assert!(only_max.radius(RadiusKind::Maximum).is_ok());
        for kind in [RadiusKind::Minimum, RadiusKind::Mean] {
            let wanted = SpinError::RadiusMissing { kind, rotor: "Swing-out".into() };
            assert_eq!(only_max.radius(kind), Err(wanted));
        }
    }

    #[test]
    fn reversed_ends_are_refused() {
        for maximum in [75.0, 60.0] {
            let wrong = rotor(Some(75.0), Some(maximum));
            let wanted = SpinError::RadiiReversed { rotor: "Swing-out".into() };
            assert_eq!(wrong.radius(RadiusKind::Maximum), Err(wanted));
        }
    }

    #[test]
    fn survives_a_file() {
        let both = rotor(Some(75.0), Some(155.0));
        let text = serde_json::to_string(&both).unwrap();
        assert!(text.contains(r#""kind":"swing_out""#));
        assert_eq!(serde_json::from_str::<Rotor>(&text).unwrap(), both);
        // As older versions wrote it, and as a clinic that counted its places has it.
        assert!(!text.contains("places") && !text.contains("tolerance"), "{text}");
        let counted = Rotor { places: Some(4), tolerance: Some(q(1.0)), ..both };
        let text = serde_json::to_string(&counted).unwrap();
        assert_eq!(serde_json::from_str::<Rotor>(&text).unwrap(), counted);
    }
}
