//! What comes in: what stands in the rotor and is done with it, held against what the picture reaches.

use super::run::{Run, angular};
use super::{Blood, Parting};
use crate::quantity::{OutOfRange, Quantity, Seconds};
use crate::spin::SpinError;
use crate::spin::exposure::stretches;
use crate::spin::programme::Programme;
use crate::spin::rcf::{GRAVITY, RadiusKind};
use crate::spin::rotor::{Rotor, RotorKind};
use crate::spin::tube::Tube;
use crate::stored::{self, Refused};
use serde::{Deserialize, Serialize};

/// What stands in the rotor and is done with it: one spin, or two of which the second takes what was drawn off the
/// first, mixed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Setup {
    /// The rotor; one that swings out, with its maximum radius.
    pub rotor: Rotor,
    /// What the first tube is filled with.
    pub blood: Blood,
    /// One or two.
    pub spins: Vec<Spin>,
    /// Cells the column is cut into, 20 to 400.
    #[serde(default = "usual_cells")]
    pub cells: u16,
}

fn usual_cells() -> u16 {
    100
}

/// One spin.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Spin {
    /// The tube.
    pub tube: Tube,
    /// What the rotor does; at most two hours.
    pub programme: Programme,
    /// Where the column is parted afterwards.
    pub parting: Parting,
    /// When to draw the whole column, at most 61 moments; its end is always drawn.
    #[serde(default)]
    pub profiles_at: Vec<Seconds>,
}

/// Why there is no picture.
#[derive(Debug, Clone, PartialEq)]
pub enum ColumnError {
    /// What came in is no setup: where and why.
    Unreadable(String),
    /// An entry lies outside what the picture reaches.
    Outside {
        /// Which, by its name in a setup.
        field: String,
        /// Value and range.
        range: OutOfRange,
    },
    /// The tubes keep their angle: the path of a cell is across the tube.
    FixedAngle,
    /// The column is higher than 200 mm.
    TooHigh {
        /// Which spin, counted from 0.
        spin: usize,
    },
    /// The first spin leaves nothing above its line.
    NothingDrawn,
    /// Speed or radius cannot be had.
    Spin(SpinError),
}

impl From<SpinError> for ColumnError {
    fn from(error: SpinError) -> Self {
        Self::Spin(error)
    }
}

/// Most force at the bottom [×g] and longest programme [s] that the picture reaches
/// ([`super::prior::CORNER_SOURCE`]).
const MOST_FORCE: f64 = 5_000.0;
const LONGEST: f64 = 7_200.0;
impl Setup {
    /// Reads a setup. Errors: where it is none, or an entry outside of what the picture reaches.
    pub fn from_json(text: &str) -> Result<Self, ColumnError> {
        let setup: Self = stored::parse(text).map_err(|refused| match refused {
            Refused::Unreadable(why) => ColumnError::Unreadable(why),
            Refused::Newer { found } => ColumnError::Unreadable(found.to_string()),
        })?;
        setup.check()?;
        Ok(setup)
    }

    /// Holds every entry against what the picture reaches. Errors: the first outside.
    pub(super) fn check(&self) -> Result<(), ColumnError> {
        if self.rotor.kind == RotorKind::FixedAngle {
            return Err(ColumnError::FixedAngle);
        }
        let blood = &self.blood;
        within("blood.blood", "volume", blood.blood.get(), [0.5, 400.0], "mL")?;
        let most = blood.blood.get();
        within("blood.anticoagulant", "volume", blood.anticoagulant.get(), [0.0, most], "mL")?;
        within("blood.haematocrit", "haematocrit", blood.haematocrit.get(), [0.0, 0.75], "L/L")?;
        within("blood.platelets", "cell count", blood.platelets.get(), [1.0, 3_000.0], "×10⁹/L")?;
        let white = blood.white_cells.map_or(0.0, Quantity::get);
        within("blood.white_cells", "cell count", white, [0.0, 200.0], "×10⁹/L")?;
        within("cells", "number of cells", f64::from(self.cells), [20.0, 400.0], "")?;
        within("spins", "number of spins", self.spins.len() as f64, [1.0, 2.0], "")?;
        (0..).zip(&self.spins).try_for_each(|(i, spin)| self.check_spin(i, spin))
    }

    fn check_spin(&self, index: usize, spin: &Spin) -> Result<(), ColumnError> {
        let name = |field: &str| format!("spins.{index}.{field}");
        for bound in spin.tube.bounds() {
            let field = name(&format!("tube.{}", bound.field));
            within(&field, "length", bound.value, [bound.low, bound.high], "mm")?;
        }
        let stirred = spin.parting.disturbed.get();
        within(&name("parting.disturbed"), "length", stirred, [0.0, 20.0], "mm")?;
        let moments = spin.profiles_at.len() as f64;
        within(&name("profiles_at"), "number of moments", moments, [0.0, 61.0], "")?;
        let run = self.run_of(spin)?;
        within(&name("programme"), "time", run.time, [1.0, LONGEST], "s")?;
        for at in &spin.profiles_at {
            within(&name("profiles_at"), "time", at.get(), [0.0, run.time], "s")?;
        }
        let force = run.fastest * run.fastest * run.bottom / GRAVITY;
        within(&name("programme"), "force at the maximum radius", force, [0.0, MOST_FORCE], "×g")
    }

    pub(super) fn run_of(&self, spin: &Spin) -> Result<Run, ColumnError> {
        let bottom = self.rotor.radius(RadiusKind::Maximum)?.radius.get() / 1000.0;
        let stretches = stretches(&spin.programme, &self.rotor, spin.tube.rated)?;
        let time = stretches.iter().map(|s| s.time.get()).sum();
        let fastest = stretches.iter().map(|s| s.from.get().max(s.to.get())).fold(0.0, f64::max);
        Ok(Run { bottom, stretches, time, fastest: angular(fastest) })
    }
}

/// Errors: outside the range, ends included.
fn within(
    field: &str,
    quantity: &'static str,
    value: f64,
    [min, max]: [f64; 2],
    unit: &'static str,
) -> Result<(), ColumnError> {
    if (min..=max).contains(&value) {
        return Ok(());
    }
    Err(ColumnError::Outside {
        field: field.to_owned(),
        range: OutOfRange { quantity, value, min, max, unit },
    })
}
