//! The loaded rotor of each spin: which container faces which across the axis, what faces an odd one, and by how much
//! they differ, by what the scale read ([`weigh`]) or, until both sides are weighed, by a guess from volumes ([`guess`]).
//! The centrifuge’s instructions decide.

mod guess;
mod weigh;

use super::Assessment;
use super::draw::DrawResult;
use super::spin::stopped;
use crate::arrange::sort_by;
use crate::blood::anticoagulant::Split;
use crate::case::{Case, Weighed};
use crate::draft::CheckSign;
use crate::product::kind::product_bound;
use crate::quantity::{Grams, Quantity, Volume};
use crate::spin::programme::Stage;
use crate::spin::rotor::Rotor;
use crate::working::Worked;
pub use guess::Fluid;
use std::collections::BTreeMap;
pub use weigh::{Sides, out_of_balance, spin_at, weighed_at};

/// More places than a drawing can tell apart.
const MOST_PLACES: u8 = 48;

/// A filled container: whose, and its number from 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Filled {
    /// Whose, by check sign.
    pub sign: CheckSign,
    /// Its number, as on its label.
    pub number: u8,
    /// What is in it, if that is known.
    pub volume: Option<Volume>,
    /// Most that one of its kind holds, if that is known.
    pub room: Option<Volume>,
    /// One of its kind comes with fluid in it.
    pub prefilled: bool,
    /// What fluid that volume is of.
    pub fluid: Fluid,
    /// What the scale read of it.
    pub weight: Option<Grams>,
    /// What the scale read of the counterweight that faces it, where it is the odd one or has one of its own.
    pub against: Option<Grams>,
    /// It has one of its own, and faces no other container.
    pub alone: bool,
}

/// What a difference follows from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// The scale’s reading of both sides.
    Weight,
    /// Volumes and densities: a guess.
    Guess {
        /// The side that was not weighed, where the other was.
        missing: Option<Side>,
    },
}

/// One side of two that face each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// The container of this number.
    Container(u8),
    /// The counterweight.
    Counterweight,
}

/// What hangs in a place of the rotor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Held {
    /// A container.
    Container(Filled),
    /// What is weighed against this container.
    Counterweight(Filled),
    /// Nothing.
    Empty,
}

/// What faces a container.
#[derive(Debug, Clone, PartialEq)]
pub enum Facing {
    /// Another container of the same patient.
    Container {
        /// Which.
        other: Filled,
        /// What follows is by weight, or a guess.
        by: By,
        /// Difference in weight; `None` where it is guessed and a volume is not known.
        apart: Option<Worked<Grams>>,
        /// That is more than the rotor's instructions allow.
        too_far: bool,
    },
    /// A counterweight.
    Counterweight {
        /// What follows is by weight, or a guess.
        by: By,
        /// By weight, by how much they differ.
        apart: Option<Worked<Grams>>,
        /// By weight, the counterweight is the heavier.
        heavier: bool,
        /// By weight, that is more than the rotor's instructions allow.
        too_far: bool,
        /// By weight, water that makes up the difference: to add, or where it is the heavier to take out. As a guess, water
        /// to begin from in a container of the same kind; `None` where the volume is not known.
        water: Option<Worked<Volume>>,
        /// One of the same kind does not hold that.
        too_much: bool,
        /// One of the same kind has to be emptied first.
        emptied: bool,
    },
}

impl Facing {
    /// What its difference follows from.
    pub fn by(&self) -> By {
        match self {
            Self::Container { by, .. } | Self::Counterweight { by, .. } => *by,
        }
    }
}

/// Two places across the axis from each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Numbers of both places from 1.
    pub places: [u8; 2],
    /// The container in the first.
    pub container: Filled,
    /// What is in the second.
    pub facing: Facing,
}

/// A loaded rotor.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// Every place, clockwise from the first. Where it is not on record how many there are, those in use.
    pub places: Vec<Held>,
    /// How many places there are is on record.
    pub numbered: bool,
    /// What faces what.
    pub pairs: Vec<Pair>,
    /// Containers of more than one patient stand in it.
    pub shared: bool,
}

/// Why no loading is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotLoaded {
    /// No container is known.
    Nothing,
    /// No rotor is chosen.
    NoRotor,
    /// Nothing in the programme on record turns.
    Still,
    /// It turns or has turned: no drawing changes beside it.
    Turns,
    /// More spins follow than the two of which it is on record what turns.
    Opened,
    /// A case chosen with this one may not stand with it any more.
    Parted,
    /// No place of this rotor has one across from it.
    OddPlaces(u8),
    /// Containers and counterweights want more places than there are.
    TooFew {
        /// Places there are.
        places: u8,
        /// Places wanted.
        wanted: usize,
    },
    /// More places than can be told apart in a drawing.
    TooMany(u8),
}

/// Spins of which it is drawn how the rotor is loaded, and weights are entered.
pub const SPINS: usize = 2;

/// The containers of a case that go into the rotor in a spin, from 0, as they count now. In the second it is taken that
/// what was drawn off each stands in one of its own, like the first.
pub fn filled(sign: CheckSign, case: &Case, answer: &Assessment, spin: usize) -> Vec<Filled> {
    of_draw(sign, case, &answer.draw, spin)
}

fn of_draw(sign: CheckSign, case: &Case, draw: &DrawResult, spin: usize) -> Vec<Filled> {
    let kind = case.draw.container.as_ref();
    let (room, prefilled) = (kind.map(|k| k.capacity), kind.is_some_and(|k| k.prefill.is_some()));
    let weighed = case.spin.weighed.get(spin);
    let of = |all: fn(&Weighed) -> &BTreeMap<u8, Grams>, number: u8| {
        weighed.and_then(|w| all(w).get(&number.checked_sub(1)?).copied())
    };
    let own = |number| of(|w| &w.own, number);
    let one = |number: u8, split: Option<Split>| Filled {
        sign,
        number,
        volume: if spin == 0 { split.map(|s| s.fill) } else { split.and_then(|s| drawn_off(case, draw, s)) },
        room,
        prefilled,
        fluid: if spin == 0 { Fluid::Blood } else { Fluid::Plasma },
        weight: of(|w| &w.containers, number),
        against: own(number).or(weighed.and_then(|w| w.counterweight)),
        alone: own(number).is_some(),
    };
    if draw.containers.is_empty() {
        let Some(plan) = &draw.plan else { return Vec::new() };
        let split = Some(plan.rounded.value.split);
        return (1..=plan.containers).map(|number| one(number, split)).collect();
    }
    let part = draw.containers.iter().filter(|c| !c.set_aside);
    part.map(|c| one(c.index.saturating_add(1), c.split)).collect()
}

/// What is taken off a container after the first spin: its fill less its share of the cells that were left, where those
/// were measured; else what stands above the packed cells, less what the protocol leaves there.
pub(super) fn drawn_off(case: &Case, draw: &DrawResult, split: Split) -> Option<Volume> {
    let fill = split.fill;
    if let (Some(left), Some(totals)) = (case.collect.cells, draw.now.as_ref()) {
        return Volume::new((fill.get() - left.get() / f64::from(totals.containers)).max(0.0)).ok();
    }
    let protocol = case.protocol.as_ref()?;
    let haematocrit = case.baseline.haematocrit?;
    let (packing, left) = (protocol.packing, protocol.left_behind);
    product_bound(fill, split.blood, haematocrit, packing, left).ok().map(|found| found.value)
}

/// Where the spins of a case begin: the first stage of each that turns.
fn spins(case: &Case) -> Vec<usize> {
    let Some(protocol) = &case.protocol else { return Vec::new() };
    let turns = |index: &usize| protocol.programme.0.get(*index).is_some_and(|s| s.speed().is_some());
    protocol.programme.spins().into_iter().filter_map(|mut stages| stages.find(turns)).collect()
}

/// How many spins of a case are drawn: one where nothing turns, to say so.
pub fn spins_of(case: &Case) -> usize {
    spins(case).len().clamp(1, SPINS)
}

/// Whether a spin of a case has begun: by the programme’s order, for a stage that turned may have been left untapped. One
/// that stands stopped is loaded and balanced anew, and has not.
fn begun(case: &Case, first: usize) -> bool {
    let last = case.times.stages.keys().next_back().map(|index| usize::from(*index));
    let by_hand = |stage: &Stage| matches!(stage, Stage::Handling { .. });
    let again = |stopped: u8| {
        let run = case.protocol.as_ref().and_then(|p| p.programme.0.get(first..=usize::from(stopped)));
        run.is_some_and(|run| !run.iter().any(by_hand))
    };
    last.is_some_and(|last| last >= first) && !stopped(case).is_some_and(|(stage, _)| again(stage))
}

/// Whether another case may stand in the rotor with this one: the same rotor, on the same centrifuge where both name
/// one, the same programme, in neither has it begun, and by its sign the other is told from every open case.
pub fn may_share(own: &Case, (sign, other): (CheckSign, &Case), open: &[CheckSign]) -> bool {
    let alone = open.iter().filter(|one| **one == sign).count() == 1;
    let waits = |case: &Case| case.times.stages.is_empty() && case.times.handed_over.is_none();
    let rotor = |case: &Case| case.spin.rotor.clone();
    let machine = |case: &Case| case.spin.centrifuge.as_ref().map(|c| c.id.clone());
    let programme = |case: &Case| case.protocol.as_ref().map(|p| p.programme.clone());
    let same_machine = machine(own).zip(machine(other)).is_none_or(|(own, other)| own == other);
    let same = |a: Option<_>, b: Option<_>| a.is_some() && a == b;
    alone
        && waits(own)
        && waits(other)
        && rotor(own).is_some()
        && rotor(own) == rotor(other)
        && same_machine
        && same(programme(own), programme(other))
}

/// The rotor loaded with the containers of a case, as [`filled`] for a spin, and those of others that share it. Errors: why
/// there is no drawing.
pub fn of_case(case: &Case, filled: &[Filled], spin: usize) -> Result<Loaded, NotLoaded> {
    let spins = spins(case);
    let Some(first) = spins.get(spin) else { return Err(NotLoaded::Still) };
    if begun(case, *first) {
        let more = spin + 1 == SPINS && spins.len() > SPINS;
        return Err(if more { NotLoaded::Opened } else { NotLoaded::Turns });
    }
    loaded(case.spin.rotor.as_ref().ok_or(NotLoaded::NoRotor)?, filled)
}

/// Patients in the order of their signs, so that every case of them is drawn alike. Each container across from one of the
/// same patient, those together that weigh nearly the same, or, until all are weighed, have nearly the same volume; one that
/// is left over across from a counterweight; pairs spread over the rotor. Errors: why there is none.
pub fn loaded(rotor: &Rotor, filled: &[Filled]) -> Result<Loaded, NotLoaded> {
    if filled.is_empty() {
        return Err(NotLoaded::Nothing);
    }
    let mut signs: Vec<CheckSign> = Vec::new();
    for one in filled {
        if !signs.contains(&one.sign) {
            signs.push(one.sign);
        }
    }
    sort_by(&mut signs, CheckSign::cmp);
    let shared = signs.len() > 1;
    let of = |sign: CheckSign| filled.iter().filter(|f| f.sign == sign).copied().collect::<Vec<_>>();
    let two: Vec<_> = signs.into_iter().flat_map(|sign| matched(of(sign))).collect();
    let wanted = 2 * two.len();
    let places = match rotor.places {
        Some(places) if places > MOST_PLACES => return Err(NotLoaded::TooMany(places)),
        Some(places) if places % 2 == 1 => return Err(NotLoaded::OddPlaces(places)),
        Some(places) if usize::from(places) < wanted => return Err(NotLoaded::TooFew { places, wanted }),
        Some(places) => usize::from(places),
        None => wanted,
    };
    let across = places / 2;
    let mut all = vec![Held::Empty; places];
    let mut pairs = Vec::with_capacity(two.len());
    for (i, (container, other)) in two.iter().enumerate() {
        // Spread: the i-th of m pairs on the ⌊i·across/m⌋-th line through the axis.
        let first = i * across / two.len();
        let second = first + across;
        let held = other.map_or(Held::Counterweight(*container), Held::Container);
        for (at, held) in [(first, Held::Container(*container)), (second, held)] {
            if let Some(slot) = all.get_mut(at) {
                *slot = held;
            }
        }
        let number = |at: usize| u8::try_from(at + 1).unwrap_or(u8::MAX);
        let facing = facing(container, other.as_ref(), rotor.tolerance);
        pairs.push(Pair { places: [number(first), number(second)], container: *container, facing });
    }
    Ok(Loaded { places: all, numbered: rotor.places.is_some(), pairs, shared })
}

/// Two by two, so that they differ least, by weight once all of them are weighed, else by volume; of an odd number the one
/// whose absence makes that so is alone, and so is one that has a counterweight of its own.
fn matched(filled: Vec<Filled>) -> Vec<(Filled, Option<Filled>)> {
    let (own, mut all): (Vec<Filled>, Vec<Filled>) = filled.into_iter().partition(|f| f.alone);
    let weighed = all.iter().all(|f| f.weight.is_some());
    let ml = |f: &Filled| match f.weight.filter(|_| weighed) {
        Some(weight) => weight.get(),
        None => f.volume.map_or(0.0, Volume::get),
    };
    sort_by(&mut all, |a, b| ml(b).total_cmp(&ml(a)));
    let mut alone = None;
    if all.len() % 2 == 1 {
        // Left out at an even place, what is before it and what is after it still goes two by two.
        let without = |out: usize| {
            let left: Vec<f64> =
                all.iter().enumerate().filter(|(i, _)| *i != out).map(|(_, f)| ml(f)).collect();
            left.chunks_exact(2).map(|two| two.iter().fold(0.0, |sum, v| v - sum).abs()).sum::<f64>()
        };
        // Of equal ones the last.
        let out = (0..all.len()).step_by(2).rev().min_by(|a, b| without(*a).total_cmp(&without(*b)));
        alone = out.map(|out| all.remove(out));
    }
    let two = all.chunks_exact(2).filter_map(|two| match two {
        [a, b] if a.number > b.number => Some((*b, Some(*a))),
        [a, b] => Some((*a, Some(*b))),
        _ => None,
    });
    let mut two: Vec<_> = two.collect();
    sort_by(&mut two, |(a, _), (b, _)| a.number.cmp(&b.number));
    two.extend(alone.into_iter().chain(own).map(|one| (one, None)));
    two
}

/// What faces a container, by weight where both sides were weighed.
fn facing(container: &Filled, other: Option<&Filled>, tolerance: Option<Grams>) -> Facing {
    weigh::facing(container, other, tolerance).unwrap_or_else(|| guess::facing(container, other, tolerance))
}

/// Whether a difference is more than the rotor allows; never where that is not on record.
fn too_far(apart: Option<&Worked<Grams>>, tolerance: Option<Grams>) -> bool {
    apart.zip(tolerance).is_some_and(|(apart, most)| apart.value > most)
}

#[cfg(test)]
mod tests;
