//! What is assumed of cells and fluid, each with its width and source. Two were fitted to published spins by
//! `examples/calibrate`: clumping and the drag of platelets (`tests/spins.rs` holds them to it); no other was.

use crate::evidence::SourceId;

/// Kynch's waves as applied to blood in a centrifuge.
pub const WAVE_SOURCE: SourceId = SourceId::Lueptow1991;
/// Slip against the suspension's density.
pub const SLIP_SOURCE: SourceId = SourceId::SlipInSuspension;
/// How sharp the corner at packed is, from what fraction on cells are a layer, how far the picture goes.
pub const CORNER_SOURCE: SourceId = SourceId::ColumnChoices;

/// The force at which clumping is given [×g]: that of the row it rests on.
pub const CLUMPING_AT: f64 = 160.0;
/// The forces between which packing is a line in their logarithm [×g].
pub const PACKING_AT: [f64; 2] = [150.0, 1430.0];

/// Width of a prior, one standard deviation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Width {
    /// More or less by so much.
    Plus(f64),
    /// Times or divided by so much.
    Times(f64),
}

/// One assumption.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Prior {
    /// Key, as written to files.
    pub key: &'static str,
    /// Unit as printed; empty for a pure number.
    pub unit: &'static str,
    /// What is taken.
    pub value: f64,
    /// How far it may be off.
    pub width: Width,
    /// Where it comes from.
    pub source: SourceId,
}

impl Prior {
    /// The value so many standard deviations off.
    pub fn at(&self, z: f64) -> f64 {
        match self.width {
            Width::Plus(sd) => self.value + z * sd,
            Width::Times(factor) => self.value * libm::pow(factor, z),
        }
    }
}

macro_rules! priors {
    ($($(#[$doc:meta])* $field:ident, $unit:literal, $value:literal, $width:ident($sd:literal), $source:expr;)*) => {
        /// Every assumption, in the order varied.
        pub const PRIORS: &[Prior] = &[$(Prior {
            key: stringify!($field),
            unit: $unit,
            value: $value,
            width: Width::$width($sd),
            source: $source,
        }),*];

        /// One value for each assumption.
        #[derive(Debug, Clone, Copy, PartialEq)]
        pub struct Assumed { $($(#[$doc])* pub $field: f64),* }

        impl Default for Assumed {
            fn default() -> Self {
                Self { $($field: $value),* }
            }
        }

        impl Assumed {
            /// Each so many standard deviations off as said of its key.
            pub fn off_by(mut z: impl FnMut(&str) -> f64) -> Self {
                let mut assumed = Self::default();
                let fields = [$(&mut assumed.$field),*];
                for (prior, field) in PRIORS.iter().zip(fields) {
                    *field = prior.at(z(prior.key));
                }
                assumed
            }

            /// All as taken, but the one of this key, which is so many standard deviations off.
            pub fn but(key: &str, z: f64) -> Self {
                Self::off_by(|other| if other == key { z } else { 0.0 })
            }
        }
    };
}

priors! {
    /// Exponent of hindrance.
    hindrance, "", 4.65, Plus(0.2), SourceId::RichardsonZaki;
    /// Viscosity of plasma at room temperature.
    plasma_viscosity, "mPa·s", 1.6, Plus(0.05), SourceId::PlasmaViscosity;
    /// Density of plasma.
    plasma_density, "kg/m³", 1026.0, Plus(1.0), SourceId::CellSizes;
    /// Viscosity of an anticoagulant solution.
    anticoagulant_viscosity, "mPa·s", 1.15, Plus(0.1), SourceId::CitrateFluid;
    /// Density of an anticoagulant solution.
    anticoagulant_density, "kg/m³", 1020.0, Plus(10.0), SourceId::CitrateFluid;
    /// Volume of a red cell.
    red_volume, "fL", 90.0, Plus(5.0), SourceId::CellSizes;
    /// Density of red cells.
    red_density, "kg/m³", 1095.0, Plus(2.5), SourceId::CellSizes;
    /// Mean volume of a platelet.
    platelet_volume, "fL", 5.17, Plus(0.46), SourceId::Corash1977;
    /// Standard deviation of the logarithm of a platelet's volume.
    platelet_spread, "", 0.6, Plus(0.15), SourceId::ColumnChoices;
    /// Density of platelets: between what is remembered and the fractions that were weighed.
    platelet_density, "kg/m³", 1064.0, Plus(4.0), SourceId::Corash1977;
    /// Speed of a platelet over that of a sphere as large.
    platelet_drag, "", 0.97, Times(1.25), SourceId::PublishedSpins;
    /// Diameter of lymphocytes and monocytes.
    mononuclear_diameter, "µm", 8.0, Plus(1.0), SourceId::CellSizes;
    /// Density of lymphocytes and monocytes.
    mononuclear_density, "kg/m³", 1065.0, Plus(5.0), SourceId::CellSizes;
    /// Diameter of granulocytes.
    granulocyte_diameter, "µm", 9.0, Plus(1.0), SourceId::CellSizes;
    /// Density of granulocytes.
    granulocyte_density, "kg/m³", 1085.0, Plus(2.5), SourceId::CellSizes;
    /// Granulocytes among white cells.
    granulocyte_share, "", 0.62, Plus(0.08), SourceId::CellSizes;
    /// Packed fraction at the lower of [`PACKING_AT`]: the middle of 0.65 to 0.83.
    packed_soft, "", 0.74, Plus(0.05), SourceId::SoftSpinPacking;
    /// Packed fraction at the higher of [`PACKING_AT`].
    packed_hard, "", 0.94, Plus(0.01), SourceId::Clark1960;
    /// Packed fraction at no force is no less.
    packed_least, "", 0.65, Plus(0.02), SourceId::SoftSpinPacking;
    /// Packed fraction at any force is no more.
    packed_most, "", 0.97, Plus(0.005), SourceId::PackedMost;
    /// How many times as fast as single ones red cells fall at [`CLUMPING_AT`].
    clumping, "", 11.4, Times(1.91), SourceId::PublishedSpins;
    /// The power of the force with which that is lost.
    clumping_fall, "", 0.5, Plus(0.2), SourceId::RedClumping;
    /// Time in which it comes about.
    onset, "s", 60.0, Times(2.0), SourceId::RedClumping;
    /// The power of plasma's share of the fluid by which anticoagulant lessens it.
    clumping_thinned, "", 1.0, Plus(0.5), SourceId::RedClumping;
}
