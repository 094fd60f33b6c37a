//! Typed quantities: the only numbers that pass from one room to another.
//!
//! Each is a newtype over one unit. Constructors refuse what is not finite or not in the domain and say so
//! with the value, the range and the unit. [`read`] turns typed text into numbers, [`write`] turns numbers
//! into text, [`unit`] holds the units a person may choose, [`time`] the wall clock.

pub mod read;
pub mod time;
pub mod unit;
pub mod write;

use serde::{Deserialize, Serialize};
use std::fmt;

/// A value outside the domain of its quantity. Carries all a sentence needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OutOfRange {
    /// Which quantity refused.
    pub quantity: &'static str,
    /// The refused value, in `unit`; may be NaN or infinite.
    pub value: f64,
    /// Lowest allowed value, in `unit`.
    pub min: f64,
    /// Highest allowed value, in `unit`.
    pub max: f64,
    /// The unit as printed; empty for a pure number.
    pub unit: &'static str,
}

impl fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} {} {} is outside {} to {} {}",
            self.quantity, self.value, self.unit, self.min, self.max, self.unit
        )
    }
}

impl std::error::Error for OutOfRange {}

/// What all quantities share.
pub trait Quantity: Copy + Sized {
    /// Name used in errors.
    const NAME: &'static str;
    /// Unit as printed; empty for a pure number.
    const UNIT: &'static str;
    /// Lowest value of the domain.
    const MIN: f64;
    /// Highest value of the domain.
    const MAX: f64;
    /// Checked constructor. Errors: not finite, below `MIN`, above `MAX`.
    fn new(value: f64) -> Result<Self, OutOfRange>;
    /// The number, in `UNIT`.
    fn get(self) -> f64;
}

macro_rules! quantities {
    ($($(#[$doc:meta])* $name:ident, $label:literal, $unit:literal, $min:expr, $max:expr;)*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(try_from = "f64", into = "f64")]
        pub struct $name(f64);

        impl Quantity for $name {
            const NAME: &'static str = $label;
            const UNIT: &'static str = $unit;
            const MIN: f64 = $min;
            const MAX: f64 = $max;
            fn new(value: f64) -> Result<Self, OutOfRange> {
                if (Self::MIN..=Self::MAX).contains(&value) {
                    // `+ 0.0` turns a negative zero into zero, so that it never prints with a sign.
                    Ok(Self(value + 0.0))
                } else {
                    Err(OutOfRange { quantity: $label, value, min: $min, max: $max, unit: $unit })
                }
            }
            fn get(self) -> f64 {
                self.0
            }
        }

        impl $name {
            /// A constant of the code. Use it to initialise a `const` only: out of the domain, it does not compile.
            pub const fn constant(value: f64) -> Self {
                assert!(value >= $min && value <= $max, "constant outside the domain of its quantity");
                Self(value)
            }
        }

        impl TryFrom<f64> for $name {
            type Error = OutOfRange;
            fn try_from(value: f64) -> Result<Self, OutOfRange> {
                Self::new(value)
            }
        }

        impl From<$name> for f64 {
            fn from(q: $name) -> f64 {
                q.0
            }
        }
    )*};
}

quantities! {
    /// A volume of fluid [mL].
    Volume, "volume", "mL", 0.0, 10_000.0;
    /// Cells per volume, platelets or white cells [10⁹/L = 10³/µL].
    CellCount, "cell count", "×10⁹/L", 0.0, 100_000.0;
    /// Red cells per volume [10¹²/L = 10⁶/µL].
    RedCount, "red-cell count", "×10¹²/L", 0.0, 100.0;
    /// A number of cells in all [10⁹].
    Cells, "cells", "×10⁹", 0.0, 1_000_000.0;
    /// Red-cell share of the volume [L/L].
    Haematocrit, "haematocrit", "L/L", 0.0, 1.0;
    /// Haemoglobin [g/dL].
    Haemoglobin, "haemoglobin", "g/dL", 0.0, 40.0;
    /// Platelets in product over platelets drawn. A measured one may exceed 1 by counting error.
    Recovery, "recovery", "", 0.0, 100.0;
    /// Concentration in the product over the blood's own.
    Fold, "fold", "", 0.0, 1_000.0;
    /// Anticoagulant per blood [mL/mL]. Never stored as "1:N" or as a percentage.
    AcRatio, "anticoagulant per blood", "mL/mL", 0.0, 1_000.0;
    /// A share of a whole, 0 to 1.
    Share, "share", "", 0.0, 1.0;
    /// Mass per volume of a solution [g/L]; 1 % w/v is 10 g/L.
    GramsPerLitre, "mass concentration", "g/L", 0.0, 2_000.0;
    /// Amount per volume [mmol/L].
    Millimolar, "concentration", "mmol/L", 0.0, 100_000.0;
    /// Amount of substance [mmol].
    Millimole, "amount", "mmol", 0.0, 100_000.0;
    /// Strength of a solution, grams in 100 mL [% w/v].
    Strength, "strength", "% w/v", 0.0, 100.0;
    /// Body weight [kg].
    Mass, "weight", "kg", 0.5, 400.0;
    /// What the scale reads of what is loaded into a rotor, and by how much two sides differ [g].
    Grams, "weight on the scale", "g", 0.0, 1_000.0;
    /// Body height [cm].
    Height, "height", "cm", 30.0, 260.0;
    /// Age [completed years].
    Age, "age", "years", 0.0, 120.0;
    /// Body-mass index [kg/m²].
    BodyMassIndex, "body-mass index", "kg/m²", 1.0, 500.0;
    /// Body surface [m²].
    BodySurface, "body surface", "m²", 0.01, 6.0;
    /// Blood drawn per body weight [mL/kg].
    VolumePerMass, "volume per weight", "mL/kg", 0.0, 10_000.0;
    /// Distance from the axis in running position [mm].
    Radius, "radius", "mm", 10.0, 500.0;
    /// Rotor speed [revolutions per minute].
    Rpm, "speed", "rpm", 0.0, 200_000.0;
    /// Relative centrifugal force [×g].
    Rcf, "relative centrifugal force", "×g", 0.0, 1_000_000.0;
    /// Force over time [×g·s].
    ForceTime, "force over time", "×g·s", 0.0, 1_000_000_000_000.0;
    /// How hard it is to clear a rotor of a cell: hours times the cell's svedbergs [S·h].
    ClearingFactor, "clearing factor", "S·h", 0.0, 1_000_000_000_000.0;
    /// A span of time [s].
    Seconds, "time", "s", 0.0, 604_800.0;
    /// Inner width or height of a container [mm].
    Millimetre, "length", "mm", 0.0, 1_000.0;
    /// A temperature as set on a machine [°C].
    Temperature, "temperature", "°C", 0.0, 100.0;
    /// A relative spread, SD over mean.
    Cv, "coefficient of variation", "", 0.0, 10.0;
    /// A factor that multiplies a reading (dilution, sample kind).
    Factor, "factor", "", 0.000_001, 1_000_000.0;
}

impl Volume {
    /// No volume [mL].
    pub const ZERO: Self = Self(0.0);
}
