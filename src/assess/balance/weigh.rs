//! By how much two sides differ, as the scale read them.

use super::{By, Facing, Filled, SPINS, begun, matched, of_draw, spins, too_far};
use crate::assess::draw::DrawResult;
use crate::case::Case;
use crate::draft::CheckSign;
use crate::finding::FindingKind;
use crate::quantity::{Grams, Quantity, Volume};
use crate::working::{Figure, StepName, Worked, Working};

/// What faces a container; `None` until both sides are weighed.
pub(super) fn facing(container: &Filled, other: Option<&Filled>, tolerance: Option<Grams>) -> Option<Facing> {
    let own = container.weight?;
    let against = match other {
        Some(other) => other.weight?,
        None => container.against?,
    };
    let apart = apart(own, against)?;
    let too_far = too_far(Some(&apart), tolerance);
    let by = By::Weight;
    let Some(other) = other else {
        let water = water(&apart).filter(|_| apart.value.get() > 0.0);
        let heavier = against > own;
        let too_much = water.as_ref().zip(container.room).is_some_and(|(water, room)| water.value > room);
        let (apart, too_much, emptied) = (Some(apart), too_much && !heavier, false);
        return Some(Facing::Counterweight { by, apart, heavier, too_far, water, too_much, emptied });
    };
    Some(Facing::Container { other: *other, by, apart: Some(apart), too_far })
}

fn apart(a: Grams, b: Grams) -> Option<Worked<Grams>> {
    // Δm = |m₁ − m₂|, free of what the last bits of a decimal leave
    let (more, less) = if a < b { (b, a) } else { (a, b) };
    let grams = Grams::new(libm::round(1e6 * (more.get() - less.get())) / 1e6).ok()?;
    let numbers = vec![Figure::of(more), Figure::of(less)];
    let line = Working::line(StepName::WeighedApart, "Δm = m₁ − m₂", "{} − {}", numbers, Figure::of(grams));
    Some(Worked::new(grams, line))
}

fn water(apart: &Worked<Grams>) -> Option<Worked<Volume>> {
    // V_water = Δm/1.00
    let water = Volume::new(apart.value.get()).ok()?;
    let numbers = vec![Figure::of(apart.value)];
    let line =
        Working::line(StepName::WaterForWeight, "V_water = Δm/1.00", "{} / 1.00", numbers, Figure::of(water));
    Some(Worked::new(water, apart.working.clone().then(line)))
}

/// What faces what in a spin of the case alone, where both sides were weighed; the first by its number.
fn pairs(case: &Case, draw: &DrawResult, spin: usize) -> Vec<(u8, Facing)> {
    // Whose they are says nothing of what they weigh.
    let all = of_draw(CheckSign::pick(0, &[]), case, draw, spin);
    let tolerance = case.spin.rotor.as_ref().and_then(|r| r.tolerance);
    let two = matched(all).into_iter();
    two.filter_map(|(one, other)| Some((one.number, facing(&one, other.as_ref(), tolerance)?))).collect()
}

/// Two sides that face each other, both weighed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sides {
    /// Number of the container on one, from 1.
    pub container: u8,
    /// Number of that on the other; `None`: a counterweight.
    pub other: Option<u8>,
    /// By how much they differ.
    pub apart: Grams,
    /// That is more than the rotor’s entry allows.
    pub too_far: bool,
}

/// Sides that were weighed before a spin, from 0.
fn weighed(case: &Case, draw: &DrawResult, spin: usize) -> Vec<Sides> {
    let one = |(container, facing): (u8, Facing)| match facing {
        Facing::Container { other, apart, too_far, .. } => {
            Some(Sides { container, other: Some(other.number), apart: apart?.value, too_far })
        }
        Facing::Counterweight { apart, too_far, .. } => {
            Some(Sides { container, other: None, apart: apart?.value, too_far })
        }
    };
    pairs(case, draw, spin).into_iter().filter_map(one).collect()
}

/// Sides that were weighed before the spin that begins with a stage of the programme, from 0; none before any other stage.
pub fn weighed_at(case: &Case, draw: &DrawResult, stage: usize) -> Vec<Sides> {
    spin_at(case, stage).map(|spin| weighed(case, draw, spin)).unwrap_or_default()
}

/// The spin, from 0, that begins with a stage of the programme, of those for which weights are entered.
pub fn spin_at(case: &Case, stage: usize) -> Option<usize> {
    spins(case).iter().position(|first| *first == stage).filter(|spin| *spin < SPINS)
}

/// Finds what was weighed and differs by more than the rotor’s entry allows: the worst of each spin. What is weighed for
/// the second is held against it once the first has begun.
pub fn out_of_balance(case: &Case, draw: &DrawResult, found: &mut Vec<FindingKind>) {
    let Some(allowed) = case.spin.rotor.as_ref().and_then(|r| r.tolerance) else { return };
    let spins = spins(case);
    // Its stages may have been left untapped.
    let times = &case.times;
    let over = times.spin_end.or(times.collected).or(times.handed_over).is_some();
    for (spin, first) in spins.iter().enumerate().take(SPINS) {
        if spin > 0 && !over && !spins.first().is_some_and(|first| begun(case, *first)) {
            continue;
        }
        let all = weighed(case, draw, spin).into_iter().filter(|sides| sides.too_far);
        let worst = all.max_by(|a, b| a.apart.get().total_cmp(&b.apart.get()));
        found.extend(worst.map(|sides| FindingKind::OutOfBalance {
            second: spin > 0,
            container: sides.container.saturating_sub(1),
            other: sides.other.map(|other| other.saturating_sub(1)),
            apart: sides.apart,
            allowed,
            turned: over || begun(case, *first),
        }));
    }
}
