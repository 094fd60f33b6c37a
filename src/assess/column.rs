//! The picture of the spin that a case stands for, and another beside it: what is put in. Nothing that comes out of it
//! enters an [`super::Assessment`].

mod another;
mod beside;
mod course;
mod tried;

pub use another::{Sum, sums, with_programme};
pub use beside::{NotBeside, beside};
pub use course::{Course, Turning, course};
pub use tried::{Knob, Shape, Stands, Turned};

use super::Assessment;
use super::balance::drawn_off;
use super::draw::{DrawResult, Standing, Totals};
use crate::bench::{Container, Separates};
use crate::blood::anticoagulant::Split;
use crate::case::{Case, StageRun};
use crate::product::kind::ProductKind;
use crate::product::predict::NativeCount;
use crate::quantity::{Millimetre, Quantity, Rcf, Volume};
use crate::spin::SpinError;
use crate::spin::column::ask::Seen;
use crate::spin::column::{Blood, Line, Parting, Setup, Spin};
use crate::spin::exposure::stretches;
use crate::spin::programme::{Programme, Rating, RatingBreach, Speed, Stage, ratings, set_speed};
use crate::spin::rcf::{RadiusKind, rcf};
use crate::spin::rotor::{Rotor, RotorKind};
use core::ops::Range;

/// Why a case has no picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoColumn {
    /// No protocol, or one whose process sets its own speeds.
    NoProgramme,
    /// Nothing turns in it, or more than two spins do.
    Spins,
    /// No rotor is chosen.
    NoRotor,
    /// A radius that the programme or the picture needs is not on record.
    NoRadius,
    /// The rotor's minimum radius is not below its maximum.
    RadiiReversed,
    /// A speed or force of the programme is none that a rotor can run.
    OutOfRange,
    /// The tubes keep their angle.
    FixedAngle,
    /// A gel parts the layers in the container.
    Gel,
    /// A float parts them.
    Float,
    /// The container is a chamber or a bag, as its entry says.
    Chamber,
    /// It does not say, and has a flat bottom: it is taken for a chamber.
    FlatBottom,
    /// No container is chosen, or its fill is not known.
    NoFill,
    /// No haematocrit is known.
    NoHaematocrit,
}

impl From<SpinError> for NoColumn {
    fn from(error: SpinError) -> Self {
        match error {
            SpinError::RadiusMissing { .. } => Self::NoRadius,
            SpinError::RadiiReversed { .. } => Self::RadiiReversed,
            SpinError::OutOfRange(_) => Self::OutOfRange,
        }
    }
}

/// Where the picture of a case has its line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Collected {
    /// So much is left behind above the cells of the first spin; the product stays in the tube of a second.
    AboveCells,
    /// The plasma of the one spin is the product: where the plan collects it.
    OffTheTop,
    /// The product of the one spin lies at the cells, where the picture parts nothing: there is no line.
    AtTheCells,
}

/// The picture of a case.
#[derive(Debug, Clone, PartialEq)]
pub struct Pictured {
    /// What it is made of.
    pub setup: Setup,
    /// Where the knobs stand by themselves.
    pub stands: Stands,
    /// The blood was not counted: adults' mean stands in. Shares do not follow it.
    pub usual_count: bool,
    /// A speed or time was entered as run and stands in place of the planned one.
    pub as_run: bool,
    /// What was entered of the draw stands in place of the plan.
    pub as_filled: bool,
    /// The container that is pictured, numbered from 0, where they are not filled alike: the fullest.
    pub alone: Option<u8>,
    /// The second spin is in a tube of its own, not in one like the first.
    pub second_own: bool,
    /// Where it has its line.
    pub collected: Collected,
    /// The shape of tube that is tried in place of the one on record.
    pub shape: Option<Shape>,
}

impl Pictured {
    /// A rating of the tube that is tried for the second spin, which the case’s own programme would pass.
    pub fn second_over(&self) -> Option<RatingBreach> {
        over(&self.setup).filter(|breach| self.second_own && breach.rating == Rating::Container)
    }

    /// Whether a knob moves anything in it.
    pub fn offers(&self, knob: Knob) -> bool {
        if knob.of().is_some_and(|shape| self.shape != Some(shape)) {
            return false;
        }
        match self.collected {
            Collected::AboveCells => true,
            Collected::OffTheTop => knob != Knob::LeftBehind,
            Collected::AtTheCells => !matches!(knob, Knob::LeftBehind | Knob::Disturbed),
        }
    }
}

/// The first rating of rotor, bucket or tube that a setup would pass.
pub fn over(setup: &Setup) -> Option<RatingBreach> {
    let over =
        |spin: &Spin| ratings(&spin.programme, &setup.rotor, spin.tube.rated).breaches.first().copied();
    setup.spins.iter().find_map(over)
}

/// What a case is pictured as: one of its containers, the fullest where they are not alike. The second spin is in such a container too, or in
/// the one given. Errors: what is missing or outside.
pub fn pictured(
    case: &Case,
    answer: &Assessment,
    turned: &Turned,
    second: Option<&Container>,
) -> Result<Pictured, NoColumn> {
    if let Some(why) = case.draw.container.as_ref().and_then(outside) {
        return Err(why);
    }
    let protocol = case.protocol.as_ref().ok_or(NoColumn::NoProgramme)?;
    if protocol.programme.0.iter().all(|s| s.speed().is_none()) {
        return Err(NoColumn::NoProgramme);
    }
    let stages = protocol.programme.spins();
    if stages.len() > 2 {
        return Err(NoColumn::Spins);
    }
    let mut rotor = case.spin.rotor.clone().ok_or(NoColumn::NoRotor)?;
    if rotor.kind == RotorKind::FixedAngle {
        return Err(NoColumn::FixedAngle);
    }
    rotor.radius(RadiusKind::Maximum)?;
    let container = case.draw.container.as_ref();
    let rated = |spin: usize| second.filter(|_| spin > 0).or(container).and_then(|c| c.rated);
    let as_run = case.spin.actual.iter().any(|run| run.speed.is_some() || run.time.is_some());
    let run = |(spin, stages): (usize, Range<usize>)| {
        let ran = case.spin.actual.get(stages.start..).unwrap_or_default();
        let planned = protocol.programme.part(stages);
        if as_run { as_run_on(planned, ran, &rotor, rated(spin)) } else { Ok(planned) }
    };
    let programmes = stages.into_iter().enumerate().map(run).collect::<Result<Vec<_>, _>>()?;
    if as_run {
        // A speed read off the machine is taken as it is, not moved to the next step of its dial.
        rotor.speed_step = None;
    }
    for (spin, programme) in programmes.iter().enumerate() {
        stretches(programme, &rotor, rated(spin))?;
    }
    let container = container.ok_or(NoColumn::NoFill)?;
    let totals = answer.draw.now.as_ref().filter(|t| t.containers > 0).ok_or(NoColumn::NoFill)?;
    let (fullest, alone) = fullest(&answer.draw).ok_or(NoColumn::NoFill)?;
    let haematocrit = case.baseline.haematocrit.ok_or(NoColumn::NoHaematocrit)?;
    let counted = answer.product.native.as_ref().map(|n| n.count.value);
    let stands = Stands {
        left_behind: protocol.left_behind.get(),
        diameter: container.inner_diameter.get(),
        haematocrit: haematocrit.get(),
    };
    let blood = Blood {
        blood: fullest.blood,
        anticoagulant: fullest.anticoagulant,
        haematocrit,
        platelets: counted.unwrap_or(NativeCount::ADULTS.value),
        white_cells: None,
    };
    let mut tube = container.tube();
    if let Some(end) = turned.end(&stands, tube.inner_diameter) {
        tube.end = end;
    }
    let mm = |value: f64| Millimetre::new(value).unwrap_or(Millimetre::constant(0.0));
    let disturbed = mm(turned.value(Knob::Disturbed, &stands));
    let left_behind = Volume::new(turned.value(Knob::LeftBehind, &stands)).unwrap_or(Volume::ZERO);
    let product = answer.product.volume.and_then(|v| match alone {
        None => each(totals, v).ok(),
        Some(_) => part(case, &answer.draw, &fullest, v),
    });
    let collected = match (programmes.len(), protocol.kind) {
        (1, ProductKind::OffTheTop) if product.is_some() => Collected::OffTheTop,
        (1, ProductKind::Concentrate | ProductKind::WithCells) => Collected::AtTheCells,
        _ => Collected::AboveCells,
    };
    let product = product.unwrap_or(Volume::ZERO);
    // All but the product stays in the tube, where it is what is drawn off.
    let fill = blood.blood.get() + blood.anticoagulant.get();
    let under = Volume::new((fill - product.get()).max(0.0)).unwrap_or(Volume::ZERO);
    let parting = |index: usize| Parting {
        line: match (index, collected) {
            (0, Collected::OffTheTop) => Line::AboveBottom { kept: under },
            (0, _) => Line::AboveCells { left_behind },
            _ => Line::AboveBottom { kept: product },
        },
        disturbed,
    };
    let other = second.map(Container::tube);
    let spin = |(index, programme)| {
        let tube = other.filter(|_| index > 0).unwrap_or(tube);
        Spin { tube, programme, parting: parting(index), profiles_at: Vec::new() }
    };
    let spins = programmes.into_iter().enumerate().map(spin).collect();
    let setup = Setup { rotor, blood, spins, cells: 100 };
    let (usual_count, second_own) = (counted.is_none(), other.is_some());
    let as_filled = totals.standing != Standing::Planned;
    let shape = turned.shape;
    Ok(Pictured { setup, stands, usual_count, as_run, as_filled, alone, second_own, collected, shape })
}

/// The container that holds the most, the first of them, and which it is where not all are filled alike: to 0.05 mL,
/// finer than any mark.
fn fullest(draw: &DrawResult) -> Option<(Split, Option<u8>)> {
    let known = draw.containers.iter().filter(|c| !c.set_aside).filter_map(|c| Some((c.index, c.split?)));
    let (index, most) = known.clone().reduce(|a, b| if b.1.fill > a.1.fill { b } else { a })?;
    let apart = |a: Volume, b: Volume| (a.get() - b.get()).abs() > 0.05;
    let other = |(_, s): (u8, Split)| apart(s.fill, most.fill) || apart(s.anticoagulant, most.anticoagulant);
    Some((most, known.clone().any(other).then_some(index)))
}

/// Why a container is outside the picture, whatever turns it; `None` where it is not.
pub fn outside(container: &Container) -> Option<NoColumn> {
    match container.separates {
        Some(Separates::Open) => None,
        Some(Separates::Gel) => Some(NoColumn::Gel),
        Some(Separates::Float) => Some(NoColumn::Float),
        Some(Separates::Chamber) => Some(NoColumn::Chamber),
        None => container.is_chamber().then_some(NoColumn::FlatBottom),
    }
}

/// Whether a container holds what the first spin’s line leaves above it, as far as that is pictured.
pub fn holds(container: &Container, spins: &[Seen]) -> bool {
    spins.first().is_none_or(|first| first.parted[0] <= container.capacity.get())
}

/// The programme of a spin with what was entered as run in place of what was planned; other speeds as they are set.
/// Errors: a radius the rotor lacks.
fn as_run_on(
    mut run: Programme,
    ran: &[StageRun],
    rotor: &Rotor,
    rated: Option<Rcf>,
) -> Result<Programme, SpinError> {
    for (index, stage) in run.0.iter_mut().enumerate() {
        let entered = ran.get(index).copied().unwrap_or_default();
        match stage {
            Stage::Ramp { to: speed, time } | Stage::Hold { speed, time } => {
                let rpm = match entered.speed {
                    Some(rpm) => rpm,
                    None => set_speed(*speed, rotor, rated)?.value,
                };
                // A force stays named by its radius, where another rotor keeps it.
                *speed = match *speed {
                    Speed::Rcf { at, .. } => Speed::Rcf { g: rcf(rpm, rotor.radius(at)?)?.value, at },
                    Speed::Rpm(_) => Speed::Rpm(rpm),
                };
                *time = entered.time.unwrap_or(*time);
            }
            Stage::Stop { time } | Stage::Handling { time, .. } => *time = entered.time.or(*time),
        }
    }
    Ok(run)
}

/// Part of the product that comes of one of containers filled otherwise: as much of it as of what is drawn off them all
/// after the first spin. `None` where that is not known.
fn part(case: &Case, draw: &DrawResult, of: &Split, product: Volume) -> Option<Volume> {
    let one = |split: Split| drawn_off(case, draw, split).map(Quantity::get);
    let known = draw.containers.iter().filter(|c| !c.set_aside).filter_map(|c| c.split);
    let all = known.map(one).sum::<Option<f64>>().filter(|all| *all > 0.0)?;
    Volume::new(product.get() * one(*of)? / all).ok()
}

fn each(totals: &Totals, all: Volume) -> Result<Volume, NoColumn> {
    Volume::new(all.get() / f64::from(totals.containers)).map_err(|_| NoColumn::NoFill)
}

#[cfg(test)]
mod tests;
