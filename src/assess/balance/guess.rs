//! By how much two sides may differ, from volumes and densities: a first guess, until both are weighed.

use super::{By, Facing, Filled, Side, too_far};
use crate::evidence::SourceId;
use crate::quantity::{Grams, Quantity, Volume};
use crate::working::{Figure, StepName, Worked, Working};

/// What stands in a container.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fluid {
    /// Blood with its anticoagulant.
    Blood,
    /// Plasma with its anticoagulant.
    Plasma,
}

impl Fluid {
    /// What a millilitre of it weighs, water 1.00 [g], and where that comes from.
    fn weighs(self) -> (f64, SourceId) {
        match self {
            Self::Blood => (1.05, SourceId::BloodWeighs),
            Self::Plasma => (1.026, SourceId::CellSizes),
        }
    }
}

/// What faces a container, as far as volumes tell.
pub(super) fn facing(container: &Filled, other: Option<&Filled>, tolerance: Option<Grams>) -> Facing {
    let Some(other) = other else {
        let water = container.volume.and_then(|volume| water(volume, container.fluid));
        let too_much = water.as_ref().zip(container.room).is_some_and(|(water, room)| water.value > room);
        let missing = match (container.weight, container.against) {
            (Some(_), None) => Some(Side::Counterweight),
            (None, Some(_)) => Some(Side::Container(container.number)),
            _ => None,
        };
        let (by, emptied) = (By::Guess { missing }, container.prefilled);
        return Facing::Counterweight {
            by,
            apart: None,
            heavier: false,
            too_far: false,
            water,
            too_much,
            emptied,
        };
    };
    let apart = container.volume.zip(other.volume).and_then(|(a, b)| apart(a, b, container.fluid));
    let too_far = too_far(apart.as_ref(), tolerance);
    let missing = match (container.weight, other.weight) {
        (Some(_), None) => Some(Side::Container(other.number)),
        (None, Some(_)) => Some(Side::Container(container.number)),
        _ => None,
    };
    Facing::Container { other: *other, by: By::Guess { missing }, apart, too_far }
}

fn water(filled: Volume, fluid: Fluid) -> Option<Worked<Volume>> {
    let (weighs, source) = fluid.weighs();
    // V_water = ρ·V/1.00
    let water = Volume::new(weighs * filled.get()).ok()?;
    let numbers = vec![Figure::pure(weighs), Figure::of(filled)];
    let line = Working::line(
        StepName::WaterAsHeavy,
        "V_water = ρ·V/1.00",
        "{} · {} / 1.00",
        numbers,
        Figure::of(water),
    );
    Some(Worked::new(water, line.from(source)))
}

fn apart(a: Volume, b: Volume, fluid: Fluid) -> Option<Worked<Grams>> {
    let (weighs, source) = fluid.weighs();
    // Δm = ρ·|V₁ − V₂|
    let (more, less) = if a < b { (b, a) } else { (a, b) };
    let grams = Grams::new(weighs * (more.get() - less.get())).ok()?;
    let numbers = vec![Figure::pure(weighs), Figure::of(more), Figure::of(less)];
    let line = Working::line(
        StepName::WeightApart,
        "Δm = ρ·(V₁ − V₂)",
        "{} · ({} − {})",
        numbers,
        Figure::of(grams),
    );
    Some(Worked::new(grams, line.from(source)))
}
