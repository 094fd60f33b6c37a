//! What sort of number a field wants: what it can take, what needs no question, how it is written.
//!
//! Ranges are judgement: wide enough for any case the trade meets, narrow enough to notice another unit, a
//! digit too many or a forgotten decimal mark. They are about typing; what is *advisable* is told by findings.

use super::Why;
use super::units::{self, Unit};
use crate::quantity::unit::{Conventions, CountUnit, HaematocritUnit, HaemoglobinUnit, HeightUnit, MassUnit};
use crate::quantity::write::decimal::Scale;

/// What sort of number a field wants. The core unit is in brackets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A volume [mL] within what this field can take.
    Volume {
        /// Lowest [mL].
        min: f64,
        /// Highest [mL].
        max: f64,
    },
    /// Blood drawn in the weeks before [mL], which people also know in litres. Above nothing and below 5 it asks.
    BloodBefore,
    /// Platelets in blood [10⁹/L]. Below 50 and above 1000 it asks.
    BloodCount,
    /// Platelets in product, or an analyser's reading of it [10⁹/L].
    ProductCount,
    /// White cells [10⁹/L].
    WhiteCount,
    /// Red cells of the product [10¹²/L].
    RedCount,
    /// Haematocrit of blood [L/L].
    Haematocrit,
    /// Haematocrit of product, where a hundredth is ordinary [L/L].
    ProductHaematocrit,
    /// Haemoglobin [g/dL].
    Haemoglobin,
    /// Body weight [kg].
    Weight,
    /// Body height [cm].
    Height,
    /// Completed years.
    Age,
    /// Rotor radius [mm].
    RadiusMm,
    /// Rotor speed [rpm].
    Speed,
    /// Relative centrifugal force [×g].
    Rcf,
    /// A span typed in minutes [s].
    Minutes,
    /// A pure number, such as a dilution, within what this field can take.
    Factor {
        /// Lowest.
        min: f64,
        /// Highest.
        max: f64,
    },
    /// Recovery as a fraction of one; a measured one may exceed it.
    Recovery,
    /// Fold, concentration in product over that in blood.
    Fold,
    /// A relative spread, SD over mean, as a fraction of one.
    Spread,
    /// Cells in all [10⁹].
    Cells,
    /// Anticoagulant typed in mL per 100 mL of blood [mL/mL].
    RatioPer100,
    /// How many of something.
    WholeNumber {
        /// Lowest.
        min: u32,
        /// Highest.
        max: u32,
    },
    /// A share typed in per cent, 0 to 100 [fraction of one].
    Percent,
    /// A length in a container [mm].
    Millimetre,
    /// What a scale reads of a filled container or its counterweight [g].
    Grams,
    /// A temperature as set on a machine [°C].
    Temperature,
}

/// Another way to take a number typed without unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Alternative {
    pub why: Why,
    pub scale: Scale,
    /// May be taken, and said so, where the literal number is impossible. Else it is only offered.
    pub take: bool,
}

pub(super) struct Spec {
    /// What the field can take [core unit].
    pub range: (f64, f64),
    /// What is taken without a question [core unit].
    pub usual: (f64, f64),
    /// The unit of a number typed without one.
    pub own: Unit,
    /// A unit that leaves no doubt, written where there was one.
    pub sure: Unit,
    pub units: &'static [Unit],
    pub others: &'static [Alternative],
    /// Powers of ten by which a slip of the finger is off.
    pub slips: &'static [i32],
    pub whole: bool,
}

const fn take(why: Why, shift: i32) -> Alternative {
    Alternative { why, scale: Scale::tens(shift), take: true }
}
const fn offer(symbol: &'static str, scale: Scale) -> Alternative {
    Alternative { why: Why::OtherUnit(symbol), scale, take: false }
}
const fn taken_unit(symbol: &'static str, shift: i32) -> Alternative {
    Alternative { why: Why::OtherUnit(symbol), scale: Scale::tens(shift), take: true }
}

const COUNT_OTHERS: &[Alternative] =
    &[take(Why::PerMicrolitre, -3), take(Why::TenToTwelvePerLitre, 3), take(Why::AllDigits, -9)];
const FRACTION: &[Alternative] = &[take(Why::Fraction, 0)];
const PERCENT: &[Alternative] = &[take(Why::Percent, -2)];
const LB: Scale = MassUnit::Pound.scale();
const INCH: Scale = HeightUnit::FeetInches.scale();
const FOOT: Scale = Scale::Exact { times: 3048, shift: -2 };
const MMOL: Scale = HaemoglobinUnit::MillimolePerLitre.scale();

impl Kind {
    /// Lowest and highest number the field can take [core unit].
    pub fn range(self) -> (f64, f64) {
        self.spec(&Conventions::default()).range
    }
    /// Lowest and highest number that is taken without a question [core unit].
    pub fn usual(self) -> (f64, f64) {
        self.spec(&Conventions::default()).usual
    }
    /// The unit in which a bare number is typed, as printed; empty for a pure number.
    pub fn unit(self, conv: &Conventions) -> &'static str {
        self.spec(conv).own.symbol
    }
    /// A core value in that unit. Feet and inches give inches.
    pub fn in_unit(self, core: f64, conv: &Conventions) -> f64 {
        self.spec(conv).own.scale.undo(core)
    }

    pub(super) fn spec(self, conv: &Conventions) -> Spec {
        let pick = |units: &'static [Unit], at: usize| units.get(at).copied().unwrap_or(units::NONE);
        let spec = |range, usual, units: &'static [Unit], at| Spec {
            range,
            usual,
            own: pick(units, at),
            sure: pick(units, at),
            units,
            others: &[],
            slips: &[],
            whole: false,
        };
        let any = |range, units, at| spec(range, range, units, at);
        let bare = |s: Spec| Spec { own: units::NONE, ..s };
        let count = |range, usual| Spec {
            others: COUNT_OTHERS,
            ..spec(
                range,
                usual,
                units::COUNT,
                match conv.count {
                    CountUnit::PerLitre => 0,
                    CountUnit::PerMicrolitre => 1,
                },
            )
        };
        let share = |range, usual| {
            let (at, others) = match conv.haematocrit {
                HaematocritUnit::Percent => (0, FRACTION),
                HaematocritUnit::Ratio => (1, PERCENT),
            };
            Spec { others, slips: &[1, -1], ..spec(range, usual, units::SHARE, at) }
        };
        match self {
            Self::BloodBefore => Spec {
                others: const { &[offer("L", Scale::tens(3))] },
                ..spec((0.0, 2000.0), (5.0, 2000.0), units::VOLUME, 0)
            },
            Self::Volume { min, max } => any((min, max), units::VOLUME, 0),
            Self::BloodCount => Spec { slips: &[1, 2, -1], ..count((1.0, 5e3), (50.0, 1e3)) },
            Self::ProductCount => count((0.0, 2e4), (20.0, 5e3)),
            Self::WhiteCount => count((0.0, 1e3), (0.01, 100.0)),
            Self::RedCount => Spec {
                others: const { &[take(Why::PerMicrolitre, -6), take(Why::AllDigits, -12)] },
                ..spec((0.0, 12.0), (0.0, 8.0), units::RED_COUNT, 0)
            },
            Self::Haematocrit => share((0.01, 0.75), (0.15, 0.65)),
            Self::ProductHaematocrit => share((0.0, 0.75), (0.01, 0.5)),
            Self::Haemoglobin => {
                let (at, others): (_, &[Alternative]) = match conv.haemoglobin {
                    HaemoglobinUnit::GramPerDecilitre => {
                        (0, const { &[offer("g/L", Scale::tens(-1)), offer("mmol/L", MMOL)] })
                    }
                    HaemoglobinUnit::GramPerLitre => {
                        (1, const { &[offer("g/dL", Scale::ONE), offer("mmol/L", MMOL)] })
                    }
                    HaemoglobinUnit::MillimolePerLitre => {
                        (2, const { &[offer("g/dL", Scale::ONE), offer("g/L", Scale::tens(-1))] })
                    }
                };
                Spec { others, ..spec((3.0, 25.0), (7.0, 20.0), units::HAEMOGLOBIN, at) }
            }
            Self::Weight => {
                let (at, others): (_, &[Alternative]) = match conv.mass {
                    MassUnit::Kilogram => (0, const { &[offer("lb", LB)] }),
                    MassUnit::Pound => (1, const { &[offer("kg", Scale::ONE)] }),
                };
                Spec { others, slips: &[-1], ..spec((0.5, 400.0), (30.0, 200.0), units::MASS, at) }
            }
            Self::Height => {
                let (at, others): (_, &[Alternative]) = match conv.height {
                    HeightUnit::Centimetre => {
                        (0, const { &[taken_unit("m", 2), offer("in", INCH), offer("ft", FOOT)] })
                    }
                    HeightUnit::FeetInches => {
                        (3, const { &[taken_unit("cm", 0), taken_unit("m", 2), offer("ft", FOOT)] })
                    }
                };
                Spec { others, ..spec((30.0, 260.0), (120.0, 220.0), units::LENGTH_CM, at) }
            }
            Self::Age => Spec { whole: true, ..bare(any((0.0, 120.0), units::YEARS, 0)) },
            Self::RadiusMm => Spec {
                others: const { &[offer("cm", Scale::tens(1))] },
                slips: &[-1],
                ..spec((10.0, 500.0), (40.0, 300.0), units::LENGTH_MM, 0)
            },
            Self::Speed => Spec { slips: &[-1, 1], ..spec((50.0, 5e4), (100.0, 2e4), units::SPEED, 0) },
            Self::Rcf => Spec { slips: &[-1, 1], ..spec((5.0, 3e4), (20.0, 6e3), units::RCF, 0) },
            Self::Minutes => Spec {
                others: const { &[offer("s", Scale::ONE)] },
                ..spec((0.0, 86_400.0), (0.0, 14_400.0), units::TIME, 1)
            },
            Self::Factor { min, max } => bare(any((min, max), units::FOLD, 0)),
            Self::Recovery => {
                Spec { others: PERCENT, ..bare(spec((0.001, 5.0), (0.1, 1.2), units::RATIO, 0)) }
            }
            Self::Fold => bare(spec((0.01, 100.0), (0.5, 20.0), units::FOLD, 0)),
            Self::Spread => Spec { others: PERCENT, ..bare(spec((0.0, 2.0), (0.005, 0.8), units::RATIO, 0)) },
            Self::Cells => Spec {
                others: const {
                    &[
                        take(Why::AllDigits, -9),
                        Alternative { why: Why::Millions, scale: Scale::tens(-3), take: false },
                    ]
                },
                ..spec((0.0, 1e3), (0.05, 50.0), units::CELLS, 0)
            },
            Self::RatioPer100 => Spec {
                others: const { &[offer("mL/mL", Scale::ONE)] },
                ..spec((0.01, 1.0), (0.05, 0.4), units::PER_100, 0)
            },
            Self::WholeNumber { min, max } => {
                Spec { whole: true, ..any((f64::from(min), f64::from(max)), &[], 0) }
            }
            Self::Percent => Spec {
                others: const { &[Alternative { why: Why::Fraction, scale: Scale::ONE, take: false }] },
                ..spec((0.0, 1.0), (0.01, 1.0), units::RATIO, 0)
            },
            Self::Millimetre => spec((0.1, 1e3), (1.0, 300.0), units::LENGTH_MM, 0),
            Self::Grams => spec((0.1, 1e3), (1.0, 600.0), units::GRAMS, 0),
            // What a machine that blood is spun in may be set to; room temperature in °F is refused.
            Self::Temperature => any((0.0, 50.0), units::CELSIUS, 0),
        }
    }
}
