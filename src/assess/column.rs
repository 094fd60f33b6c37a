//! The picture of the spin that a case stands for, and another beside it: what is put in. Nothing that comes out of it
//! enters an [`super::Assessment`].

mod another;

pub use another::{Sum, sums, with_programme};

use super::Assessment;
use super::balance::drawn_off;
use super::draw::{DrawResult, Standing, Totals};
use crate::bench::{Bottom, Container, Separates};
use crate::blood::anticoagulant::Split;
use crate::case::{Case, StageRun};
use crate::product::kind::ProductKind;
use crate::product::predict::NativeCount;
use crate::quantity::{Haematocrit, Millimetre, Quantity, Rcf, Rpm, Seconds, Volume};
use crate::spin::SpinError;
use crate::spin::column::ask::Seen;
use crate::spin::column::{Blood, End, Line, Parting, Setup, Spin, Tube};
use crate::spin::exposure::stretches;
use crate::spin::programme::{Programme, Rating, RatingBreach, Speed, Stage, ratings, set_speed};
use crate::spin::rcf::{RadiusKind, rcf};
use crate::spin::rotor::{Rotor, RotorKind};
use crate::spin::transfer::{Fluid, NotCarried, carried};

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

/// What a person moves to see what it does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Knob {
    /// Left above the cells of the first spin [mL], of both pictures.
    LeftBehind,
    /// How far the hand stirs at the line [mm], of both pictures.
    Disturbed,
    /// Speed of the first spin beside, as a share of that of the case.
    Speed,
    /// Time of the first spin beside, as a share.
    Time,
    /// Inner diameter beside [mm]: a narrower tube is a higher column.
    Diameter,
    /// Haematocrit of the blood beside.
    Haematocrit,
    /// Height of the cone that is tried [mm], of both pictures; the three after it likewise.
    ConeHeight,
    /// Width of its tip [mm].
    ConeTip,
    /// Length of the hub that is tried [mm].
    HubLength,
    /// Its inner diameter [mm].
    HubDiameter,
}

/// Shape of a tube’s closed end that is tried in the picture, for both columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shape {
    /// A cylinder to the last.
    Flat,
    /// Half a sphere.
    Round,
    /// A cone, cut off where its tip is wide.
    Cone,
    /// A syringe: the hub below a flat shoulder.
    Hub,
}

impl Shape {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Flat, Self::Round, Self::Cone, Self::Hub];

    /// Key of a choice.
    pub fn key(self) -> &'static str {
        match self {
            Self::Flat => "flat",
            Self::Round => "round",
            Self::Cone => "cone",
            Self::Hub => "hub",
        }
    }
}

impl Knob {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::LeftBehind,
        Self::Disturbed,
        Self::ConeHeight,
        Self::ConeTip,
        Self::HubLength,
        Self::HubDiameter,
        Self::Speed,
        Self::Time,
        Self::Diameter,
        Self::Haematocrit,
    ];

    /// Those that make another picture beside.
    pub fn beside(self) -> bool {
        matches!(self, Self::Speed | Self::Time | Self::Diameter | Self::Haematocrit)
    }

    /// The shape that it is of.
    fn of(self) -> Option<Shape> {
        match self {
            Self::ConeHeight | Self::ConeTip => Some(Shape::Cone),
            Self::HubLength | Self::HubDiameter => Some(Shape::Hub),
            _ => None,
        }
    }

    /// Whether it is a width that stays under that of the tube.
    fn narrower(self) -> bool {
        matches!(self, Self::ConeTip | Self::HubDiameter)
    }

    /// Step, least and most.
    fn reach(self) -> (f64, f64, f64) {
        match self {
            Self::LeftBehind => (0.1, 0.0, 5.0),
            Self::Disturbed => (0.5, 0.0, 10.0),
            Self::Speed => (0.05, 0.5, 2.0),
            Self::Time => (0.1, 0.1, 3.0),
            Self::Diameter => (1.0, 5.0, 60.0),
            Self::Haematocrit => (0.01, 0.2, 0.65),
            Self::ConeHeight => (1.0, 1.0, 80.0),
            Self::ConeTip => (0.5, 0.0, 50.0),
            Self::HubLength => (1.0, 1.0, 50.0),
            Self::HubDiameter => (0.5, 0.5, 50.0),
        }
    }
}

/// Steps taken from where each knob stands by itself, and the shape of tube that is tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Turned {
    steps: [i16; 10],
    /// Shape of the tube; `None`: as on record.
    pub shape: Option<Shape>,
}

impl Turned {
    fn steps(&self, knob: Knob) -> i16 {
        Knob::ALL.iter().position(|k| *k == knob).and_then(|i| self.steps.get(i)).copied().unwrap_or(0)
    }

    /// What beside is otherwise, and where each of it stands.
    pub fn tried_beside(&self, from: &Stands) -> Vec<(Knob, f64)> {
        let turned = Knob::ALL.into_iter().filter(|k| k.beside() && self.steps(*k) != 0);
        turned.map(|knob| (knob, self.value(knob, from))).collect()
    }

    /// Whether anything beside is otherwise.
    pub fn beside(&self) -> bool {
        Knob::ALL.into_iter().any(|k| k.beside() && self.steps(k) != 0)
    }

    /// Steps of a knob after one on or back; `None` where it would leave its reach, or go on from outside of it away.
    fn next(&self, knob: Knob, up: bool, from: &Stands) -> Option<i16> {
        let (step, least, most) = knob.reach();
        let most = if knob.narrower() { most.min(NARROWER * from.diameter) } else { most };
        let next = self.steps(knob) + if up { 1 } else { -1 };
        let value = from.of(knob) + step * f64::from(next);
        let closer = next.abs() < self.steps(knob).abs();
        let within = if up { value <= most + 1e-9 } else { value >= least - 1e-9 };
        (closer || within).then_some(next)
    }

    /// Whether a knob has a step on or back.
    pub fn turns(&self, knob: Knob, up: bool, from: &Stands) -> bool {
        self.next(knob, up, from).is_some()
    }

    /// One step on or back, within its reach or towards it.
    pub fn turn(&mut self, knob: Knob, up: bool, from: &Stands) {
        let next = self.next(knob, up, from);
        if let Some(slot) = Knob::ALL.iter().position(|k| *k == knob).and_then(|i| self.steps.get_mut(i))
            && let Some(next) = next
        {
            *slot = next;
        }
    }

    /// The closed end that is tried in a tube so wide.
    fn end(&self, from: &Stands, wide: Millimetre) -> Option<End> {
        let mm = |knob| {
            let value = self.value(knob, from);
            let most = if knob.narrower() { NARROWER * wide.get() } else { value };
            Millimetre::new(value.min(most)).unwrap_or(wide)
        };
        Some(match self.shape? {
            Shape::Flat => End::Flat,
            Shape::Round => End::Round,
            Shape::Cone => End::Cone { height: mm(Knob::ConeHeight), tip: mm(Knob::ConeTip) },
            Shape::Hub => End::Hub { length: mm(Knob::HubLength), diameter: mm(Knob::HubDiameter) },
        })
    }

    /// Where a knob stands.
    pub fn value(&self, knob: Knob, from: &Stands) -> f64 {
        (from.of(knob) + knob.reach().0 * f64::from(self.steps(knob))).max(0.0)
    }
}

/// Tip and hub are no wider than this share of the tube.
const NARROWER: f64 = 0.9;

/// Where the knobs stand by themselves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stands {
    left_behind: f64,
    diameter: f64,
    haematocrit: f64,
}

impl Stands {
    fn of(&self, knob: Knob) -> f64 {
        match knob {
            Knob::LeftBehind => self.left_behind,
            Knob::Disturbed => 1.0,
            Knob::Speed | Knob::Time => 1.0,
            Knob::Diameter => self.diameter,
            Knob::Haematocrit => self.haematocrit,
            // A cone as high as it is wide, as of a container; a hub as of common syringes, no source.
            Knob::ConeHeight => self.diameter,
            Knob::ConeTip => 0.0,
            Knob::HubLength => 10.0,
            Knob::HubDiameter => 4.0_f64.min(0.5 * self.diameter),
        }
    }
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
    /// Force that the second tube is rated for.
    pub second_rated: Option<Rcf>,
    /// Where it has its line.
    pub collected: Collected,
    /// The shape of tube that is tried in place of the one on record.
    pub shape: Option<Shape>,
}

impl Pictured {
    /// The first rating that a setup like this one would pass, its second tube’s own included.
    pub fn over(&self, setup: &Setup) -> Option<RatingBreach> {
        let rated = [setup.container_rated, self.second_rated];
        let over = |(spin, rated): (&Spin, Option<Rcf>)| {
            ratings(&spin.programme, &setup.rotor, rated).breaches.first().copied()
        };
        setup.spins.iter().zip(rated).find_map(over)
    }

    /// A rating of the tube that is tried for the second spin, which the case’s own programme would pass.
    pub fn second_over(&self) -> Option<RatingBreach> {
        self.over(&self.setup).filter(|breach| self.second_own && breach.rating == Rating::Container)
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
    if spins(&protocol.programme).len() > 2 {
        return Err(NoColumn::Spins);
    }
    let mut rotor = case.spin.rotor.clone().ok_or(NoColumn::NoRotor)?;
    if rotor.kind == RotorKind::FixedAngle {
        return Err(NoColumn::FixedAngle);
    }
    rotor.radius(RadiusKind::Maximum)?;
    let rated = case.draw.container.as_ref().and_then(|c| c.rated);
    let as_run = case.spin.actual.iter().any(|run| run.speed.is_some() || run.time.is_some());
    let programmes = if as_run {
        let run = as_run_on(&protocol.programme, &case.spin.actual, &rotor, rated)?;
        // A speed read off the machine is taken as it is, not moved to the next step of its dial.
        rotor.speed_step = None;
        spins(&run)
    } else {
        spins(&protocol.programme)
    };
    for programme in &programmes {
        stretches(programme, &rotor, rated)?;
    }
    let container = case.draw.container.as_ref().ok_or(NoColumn::NoFill)?;
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
    let mut tube = tube(container.inner_diameter, container.bottom);
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
    let other = second.map(|c| self::tube(c.inner_diameter, c.bottom));
    let spin = |(index, programme)| {
        let tube = other.filter(|_| index > 0).unwrap_or(tube);
        Spin { tube, programme, parting: parting(index), profiles_at: Vec::new() }
    };
    let spins = programmes.into_iter().enumerate().map(spin).collect();
    let setup = Setup { rotor, container_rated: rated, blood, spins, cells: 100 };
    let (usual_count, second_own) = (counted.is_none(), other.is_some());
    let as_filled = totals.standing != Standing::Planned;
    let second_rated = second.map_or(rated, |c| c.rated);
    let shape = turned.shape;
    let found = Pictured {
        setup,
        stands,
        usual_count,
        as_run,
        as_filled,
        alone,
        second_own,
        second_rated,
        collected,
        shape,
    };
    Ok(found)
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

/// Why nothing stands beside a case.
#[derive(Debug, Clone, PartialEq)]
pub enum NotBeside {
    /// The programme cannot be carried there.
    Carried(NotCarried),
    /// It may not be run there.
    Over(RatingBreach),
    /// The other programme has a stage without speed or time.
    Unfinished,
    /// The other programme has no picture on the case’s rotor.
    Programme(NoColumn),
    /// The other programme may not be run on it.
    OverHere(RatingBreach),
    /// What is tried may not be run on the case’s own rotor.
    OverTried(RatingBreach),
}

impl From<NotCarried> for NotBeside {
    fn from(why: NotCarried) -> Self {
        Self::Carried(why)
    }
}

/// What stands beside it; on another rotor with the same force at each named radius. Errors: it cannot be carried there,
/// or may not be run.
pub fn beside(of: &Pictured, turned: &Turned, on: Option<&Rotor>) -> Result<Setup, NotBeside> {
    let setup = varied(of, turned);
    let Some(rotor) = on else {
        return of.over(&setup).map_or(Ok(setup), |breach| Err(NotBeside::OverTried(breach)));
    };
    let there = on_another(setup, rotor)?;
    of.over(&there).map_or(Ok(there), |breach| Err(NotBeside::Over(breach)))
}

fn on_another(mut setup: Setup, to: &Rotor) -> Result<Setup, NotBeside> {
    let from = std::mem::replace(&mut setup.rotor, to.clone());
    // The bottom of the tube is there, wherever the force is named.
    to.radius(RadiusKind::Maximum).map_err(NotCarried::from)?;
    for stage in setup.spins.iter_mut().flat_map(|spin| &mut spin.programme.0) {
        let Some(found) = carried(stage, Fluid::Unknown, &from, to, setup.container_rated)? else { continue };
        if let Stage::Ramp { to: speed, .. } | Stage::Hold { speed, .. } = stage {
            *speed = Speed::Rcf { g: found.force.value, at: found.at };
        }
    }
    Ok(setup)
}

fn varied(of: &Pictured, turned: &Turned) -> Setup {
    let mut setup = of.setup.clone();
    let value = |knob| turned.value(knob, &of.stands);
    if let Ok(haematocrit) = Haematocrit::new(value(Knob::Haematocrit)) {
        setup.blood.haematocrit = haematocrit;
    }
    for (index, spin) in setup.spins.iter_mut().enumerate() {
        // A second tube of its own keeps its shape.
        if index > 0 && of.second_own {
            continue;
        }
        if let Ok(diameter) = Millimetre::new(value(Knob::Diameter)) {
            spin.tube.inner_diameter = diameter;
            if let Some(end) = turned.end(&of.stands, diameter) {
                spin.tube.end = end;
            } else if let End::Cone { height, .. } = &mut spin.tube.end {
                *height = diameter;
            }
        }
        if index == 0 {
            let (speed, time) = (value(Knob::Speed), value(Knob::Time));
            spin.programme.0.iter_mut().for_each(|stage| vary(stage, speed, time));
        }
    }
    setup
}

/// Speed and time of a stage times so much; force goes with the square of the speed.
fn vary(stage: &mut Stage, speed_by: f64, time_by: f64) {
    let longer = |time: &mut Seconds| *time = Seconds::new(time_by * time.get()).unwrap_or(*time);
    let faster = |speed: &mut Speed| match speed {
        Speed::Rpm(rpm) => *rpm = Rpm::new(speed_by * rpm.get()).unwrap_or(*rpm),
        Speed::Rcf { g, .. } => *g = Rcf::new(speed_by * speed_by * g.get()).unwrap_or(*g),
    };
    match stage {
        Stage::Ramp { to, time } => {
            faster(to);
            longer(time);
        }
        Stage::Hold { speed, time } => {
            faster(speed);
            longer(time);
        }
        Stage::Stop { .. } | Stage::Handling { .. } => {}
    }
}

/// The programme with what was entered as run in place of what was planned; other speeds as they are set. Errors: a
/// radius the rotor lacks.
fn as_run_on(
    planned: &Programme,
    ran: &[StageRun],
    rotor: &Rotor,
    rated: Option<Rcf>,
) -> Result<Programme, SpinError> {
    let mut run = planned.clone();
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

fn tube(inner_diameter: Millimetre, bottom: Bottom) -> Tube {
    let end = match bottom {
        Bottom::Flat => End::Flat,
        Bottom::Round => End::Round,
        // A cone as high as it is wide.
        Bottom::Conical => End::Cone { height: inner_diameter, tip: Millimetre::constant(0.0) },
    };
    Tube { inner_diameter, end }
}

/// The programme cut where a person handles what was spun; what does not turn is left out.
fn spins(programme: &Programme) -> Vec<Programme> {
    let parts = programme.0.split(|stage| matches!(stage, Stage::Handling { .. }));
    let turning = parts.filter(|part| part.iter().any(|stage| stage.speed().is_some()));
    turning.map(|part| Programme(part.to_vec())).collect()
}

/// A moment of the course of a programme.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turning {
    /// Since it began [min].
    pub minutes: f64,
    /// Speed [rpm].
    pub rpm: f64,
}

/// The course of a whole programme: speed over time, and when somebody does something by hand [min].
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Course {
    /// Corners of the speed.
    pub corners: Vec<Turning>,
    /// By hand.
    pub by_hand: Vec<f64>,
    /// Stages that take time: number from 0, from and to [min].
    pub stages: Vec<(u8, f64, f64)>,
}

/// The course of a case’s programme in a container rated for so much; `None` without a rotor that can run it. What a
/// person ends takes no time.
pub fn course(programme: &Programme, rotor: &Rotor, rated: Option<Rcf>) -> Option<Course> {
    let mut found = Course::default();
    let mut now = 0.0;
    for (index, stage) in programme.0.iter().enumerate() {
        if matches!(stage, Stage::Handling { .. }) {
            found.by_hand.push(now);
        }
        let until = programme.0.get(..=index)?;
        let last = stretches(&Programme(until.to_vec()), rotor, rated).ok()?;
        let Some(stretch) = last.last().filter(|_| stage.time().is_some()) else { continue };
        found.corners.push(Turning { minutes: now, rpm: stretch.from.get() });
        let began = now;
        now += stretch.time.get() / 60.0;
        found.stages.extend(u8::try_from(index).ok().map(|index| (index, began, now)));
        found.corners.push(Turning { minutes: now, rpm: stretch.to.get() });
    }
    (now > 0.0).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::super::{Now, assess};
    use super::*;
    use crate::case;
    use crate::draft::{CheckSign, Draft, Field};
    use crate::quantity::time::{Instant, Offset};
    use crate::spin::column::ask::{Question, Reply};
    use crate::spin::column::picture;
    use crate::spin::programme::asked;
    use crate::words::Language;

    const NOW: Now = Now { at: Instant(1_795_597_200_000), offset: Offset::UTC };

    fn demo(change: impl FnOnce(&mut Draft)) -> (Case, Assessment) {
        let mut draft = Draft::demo("d".into(), CheckSign::pick(0, &[]), NOW.at, Default::default());
        change(&mut draft);
        let case = case::read(&draft, Language::English).0;
        let answer = assess(&case, NOW);
        (case, answer)
    }

    pub(super) fn of(change: impl FnOnce(&mut Draft)) -> Result<Pictured, NoColumn> {
        let (case, answer) = demo(change);
        pictured(&case, &answer, &Turned::default(), None)
    }

    /// The invented case: 2 and 13 mL in each of two tubes, 180 then 900 ×g, 2 mL of product from each.
    #[test]
    fn a_case_is_pictured_as_one_of_its_containers() {
        let found = of(|_| ()).unwrap();
        let Setup { blood, spins, .. } = &found.setup;
        assert_eq!((blood.blood.get(), blood.anticoagulant.get()), (13.0, 2.0));
        assert_eq!((blood.haematocrit.get(), blood.platelets.get()), (0.42, 210.0));
        assert_eq!(spins.len(), 2);
        assert_eq!(spins[1].parting.line, Line::AboveBottom { kept: Quantity::new(2.0).unwrap() });
        assert!(picture(&found.setup).is_ok());
        assert!(!found.usual_count && !found.as_run);
    }

    /// 15 mL go into a tube of 15 mm, what is drawn off into one of 12 with a cone; the knob moves the first alone.
    #[test]
    fn the_second_tube_may_have_a_shape_of_its_own() {
        let (case, answer) = demo(|_| ());
        let narrow = Container {
            inner_diameter: Quantity::new(12.0).unwrap(),
            bottom: Bottom::Conical,
            ..case.draw.container.clone().unwrap()
        };
        let found = pictured(&case, &answer, &Turned::default(), Some(&narrow)).unwrap();
        let wide =
            |setup: &Setup| setup.spins.iter().map(|s| s.tube.inner_diameter.get()).collect::<Vec<_>>();
        assert_eq!(wide(&found.setup), [15.0, 12.0]);
        assert!(matches!(found.setup.spins[1].tube.end, End::Cone { .. }));
        let mut turned = Turned::default();
        turned.turn(Knob::Diameter, false, &found.stands);
        let beside = |of, turned| beside(of, turned, None).unwrap();
        assert_eq!(wide(&beside(&found, &turned)), [14.0, 12.0]);
        // Its own too where it is as wide as the first.
        let alike = case.draw.container.clone().unwrap();
        let found_alike = pictured(&case, &answer, &Turned::default(), Some(&alike)).unwrap();
        assert_eq!(wide(&beside(&found_alike, &turned)), [14.0, 15.0]);
        let like_the_first = pictured(&case, &answer, &Turned::default(), None).unwrap();
        assert_eq!(wide(&beside(&like_the_first, &turned)), [14.0, 14.0]);
        // What is drawn off has to go into it.
        let text = crate::spin::column::ask::answer(&Question::Column(found.setup.clone()).text().unwrap());
        let Some(Reply::Column(seen)) = Reply::read(&text) else { panic!() };
        let of = |ml: f64| Container { capacity: Quantity::new(ml).unwrap(), ..narrow.clone() };
        let drawn = seen[0].parted[0];
        assert!(holds(&of(drawn + 0.1), &seen) && !holds(&of(drawn - 0.1), &seen) && holds(&of(1.0), &[]));
        assert!(picture(&found.setup).is_ok());
    }

    /// 180 ×g at 155 mm is set as 1020 rpm, 900 ×g as 2280; what was read off the machine is not moved to a step.
    #[test]
    fn a_run_that_was_entered_is_what_is_pictured() {
        let ran = |change: fn(&mut Draft)| {
            let found = of(change).unwrap();
            assert!(found.as_run && found.setup.rotor.speed_step.is_none());
            let hold = |i: usize| {
                let Stage::Hold { speed, time } = found.setup.spins[i].programme.0[0] else { panic!() };
                // It stays named as a force, where another rotor keeps it.
                assert!(matches!(speed, Speed::Rcf { at: RadiusKind::Maximum, .. }));
                let rpm = asked(speed, &found.setup.rotor).unwrap().value.get();
                ((rpm * 1e6).round() / 1e6, time.get())
            };
            (hold(0), hold(1))
        };
        let faster = ran(|d| d.write(Field::SpeedActual(0), "1205"));
        assert_eq!(faster, ((1205.0, 600.0), (2280.0, 600.0)));
        let shorter = ran(|d| d.write(Field::MinutesActual(2), "7"));
        assert_eq!(shorter, ((1020.0, 600.0), (2280.0, 420.0)));
    }

    #[test]
    fn what_is_missing_or_outside_is_said() {
        assert_eq!(of(|d| d.kit.rotor = None), Err(NoColumn::NoRotor));
        assert_eq!(of(|d| d.kit.protocol = None), Err(NoColumn::NoProgramme));
        assert_eq!(of(|d| d.kit.container = None), Err(NoColumn::NoFill));
        assert_eq!(of(|d| d.write(Field::BloodHaematocrit, "")), Err(NoColumn::NoHaematocrit));
        let rotor = |change: fn(&mut Rotor)| {
            of(move |d| {
                if let Some(rotor) = d.kit.rotor.as_mut() {
                    change(rotor);
                }
            })
        };
        assert_eq!(rotor(|r| r.kind = RotorKind::FixedAngle), Err(NoColumn::FixedAngle));
        assert_eq!(rotor(|r| r.maximum = None), Err(NoColumn::NoRadius));
        // Radii that are there and cannot be are not called missing.
        let reversed = |r: &mut Rotor| r.minimum = r.maximum;
        assert_eq!(rotor(reversed), Err(NoColumn::RadiiReversed));
        let impossible = |d: &mut Draft| {
            let g = Quantity::new(1_000_000.0).unwrap();
            let speed = Speed::Rcf { g, at: RadiusKind::Maximum };
            if let Some(p) = d.kit.protocol.as_mut() {
                p.programme.0[0] = Stage::Hold { speed, time: Quantity::new(60.0).unwrap() };
            }
            if let Some(r) = d.kit.rotor.as_mut() {
                r.maximum = Some(Quantity::new(10.0).unwrap());
            }
        };
        assert_eq!(of(impossible), Err(NoColumn::OutOfRange));
        // A chamber is one whatever else is missing.
        let chamber = of(|d| {
            d.kit.protocol = None;
            if let Some(container) = d.kit.container.as_mut() {
                container.bottom = Bottom::Flat;
            }
        });
        assert_eq!(chamber, Err(NoColumn::FlatBottom));
        // Uncounted blood has a picture: shares do not follow the count.
        assert!(of(|d| d.write(Field::BloodCount, "")).unwrap().usual_count);
        let by_hand = of(|d| {
            let programme = vec![Stage::Handling { what: String::new(), time: None }];
            if let Some(p) = d.kit.protocol.as_mut() {
                p.programme = Programme(programme);
            }
        });
        assert_eq!(by_hand, Err(NoColumn::NoProgramme));
    }

    /// What a container says of itself decides; a flat bottom that says it is open is a tube.
    #[test]
    fn gel_float_and_chamber_have_no_column() {
        let container = |separates: Option<Separates>, bottom: Bottom| {
            of(move |d| {
                if let Some(container) = d.kit.container.as_mut() {
                    (container.separates, container.bottom) = (separates, bottom);
                }
            })
            .map(|found| found.setup.spins[0].tube.end)
        };
        for bottom in [Bottom::Round, Bottom::Flat] {
            for (separates, why) in [
                (Separates::Gel, NoColumn::Gel),
                (Separates::Float, NoColumn::Float),
                (Separates::Chamber, NoColumn::Chamber),
            ] {
                assert_eq!(container(Some(separates), bottom), Err(why));
            }
        }
        assert_eq!(container(Some(Separates::Open), Bottom::Flat), Ok(End::Flat));
        assert_eq!(container(None, Bottom::Flat), Err(NoColumn::FlatBottom));
        assert_eq!(container(None, Bottom::Round), Ok(End::Round));
    }

    #[test]
    fn what_is_turned_stands_beside_and_goes_back() {
        let found = of(|_| ()).unwrap();
        let mut turned = Turned::default();
        assert!(!turned.beside());
        for _ in 0..4 {
            turned.turn(Knob::Speed, true, &found.stands);
        }
        turned.turn(Knob::Diameter, false, &found.stands);
        assert!(turned.beside());
        let other = beside(&found, &turned, None).unwrap();
        // 1.2 times as fast is 1.44 times the force
        let Stage::Hold { speed: Speed::Rcf { g, .. }, .. } = other.spins[0].programme.0[0] else { panic!() };
        assert!((g.get() - 1.44 * 180.0).abs() < 1e-9);
        let wide = found.setup.spins[0].tube.inner_diameter.get();
        assert_eq!(other.spins[0].tube.inner_diameter.get(), wide - 1.0);
        assert_eq!(other.spins[1].programme, found.setup.spins[1].programme);
        for _ in 0..100 {
            turned.turn(Knob::Speed, true, &found.stands);
        }
        assert!((turned.value(Knob::Speed, &found.stands) - 2.0).abs() < 1e-9);
    }

    /// What is tried holds for both columns, in a tube like the first only, and the knobs of a shape come with it.
    #[test]
    fn another_shape_of_tube_is_tried_in_the_picture_only() {
        let (case, answer) = demo(|_| ());
        let own = pictured(&case, &answer, &Turned::default(), None).unwrap();
        let (cone, hub) = ([Knob::ConeHeight, Knob::ConeTip], [Knob::HubLength, Knob::HubDiameter]);
        assert!(!cone.iter().chain(&hub).any(|k| own.offers(*k)));
        let mut turned = Turned { shape: Some(Shape::Cone), ..Turned::default() };
        turned.turn(Knob::ConeHeight, true, &own.stands);
        turned.turn(Knob::ConeTip, true, &own.stands);
        let found = pictured(&case, &answer, &turned, None).unwrap();
        let mm = |value| Quantity::new(value).unwrap();
        let ends = |setup: &Setup| setup.spins.iter().map(|s| s.tube.end).collect::<Vec<_>>();
        let tried = End::Cone { height: mm(16.0), tip: mm(0.5) };
        assert_eq!(ends(&found.setup), [tried, tried]);
        assert!(cone.iter().all(|k| found.offers(*k)) && !hub.iter().any(|k| found.offers(*k)));
        assert!(!turned.beside() && picture(&found.setup).is_ok());
        let second = case.draw.container.as_ref();
        let found = pictured(&case, &answer, &turned, second).unwrap();
        assert_eq!(ends(&found.setup), [tried, End::Round]);
        // A hub stays narrower than its barrel, beside too.
        let mut turned = Turned { shape: Some(Shape::Hub), ..Turned::default() };
        for _ in 0..100 {
            turned.turn(Knob::HubDiameter, true, &own.stands);
            turned.turn(Knob::Diameter, false, &own.stands);
        }
        let found = pictured(&case, &answer, &turned, None).unwrap();
        assert_eq!(ends(&found.setup)[0], End::Hub { length: mm(10.0), diameter: mm(13.5) });
        let narrow = beside(&found, &turned, None).unwrap();
        assert_eq!(ends(&narrow)[0], End::Hub { length: mm(10.0), diameter: mm(4.5) });
    }

    /// 180 ×g at 155 mm is set as 1020 rpm; 1.2 times as fast asks for 1223. The rating that is passed is named, whoever’s
    /// it is, and at it still drawn.
    #[test]
    fn nothing_beside_passes_a_rating() {
        let faster = |change: fn(&mut Draft), second: Option<Rcf>| {
            let (case, answer) = demo(change);
            let tube = case.draw.container.clone().map(|c| Container { rated: second, ..c });
            let found =
                pictured(&case, &answer, &Turned::default(), tube.as_ref().filter(|_| second.is_some()));
            let (found, mut turned) = (found.unwrap(), Turned::default());
            (0..4).for_each(|_| turned.turn(Knob::Speed, true, &found.stands));
            let over = match beside(&found, &turned, None) {
                Ok(_) => None,
                Err(NotBeside::OverTried(breach)) => Some((breach.stage, breach.rating)),
                Err(other) => panic!("{other:?}"),
            };
            (over, found.second_over().map(|breach| breach.rating))
        };
        fn rotor(d: &mut Draft) -> &mut Rotor {
            d.kit.rotor.as_mut().unwrap()
        }
        let g = |value| Some(Quantity::new(value).unwrap());
        assert_eq!(faster(|_| (), None), (None, None));
        let slow: fn(&mut Draft) = |d| rotor(d).rated_rpm = Some(Quantity::new(1100.0).unwrap());
        assert_eq!(faster(slow, None).0, Some((0, Rating::RotorSpeed)));
        let bucket: fn(&mut Draft) = |d| rotor(d).rated_bucket = Some(Quantity::new(250.0).unwrap());
        assert_eq!(faster(bucket, None).0, Some((0, Rating::Bucket)));
        let container: fn(&mut Draft) = |d| {
            d.kit.container.as_mut().unwrap().rated = Some(Quantity::new(250.0).unwrap());
        };
        assert_eq!(faster(container, None).0, Some((0, Rating::Container)));
        let enough: fn(&mut Draft) = |d| rotor(d).rated_bucket = Some(Quantity::new(1000.0).unwrap());
        assert_eq!(faster(enough, None), (None, None));
        // 900 ×g in a second tube rated for 800, and in one rated for 1000.
        assert_eq!(faster(|_| (), g(800.0)), (Some((0, Rating::Container)), Some(Rating::Container)));
        assert_eq!(faster(|_| (), g(1000.0)), (None, None));
    }

    /// 15 mL into one container and 8 into the other: the one that is pictured is the first, not one of 11.5.
    #[test]
    fn containers_filled_otherwise_are_not_averaged() {
        let filled = |marks: [&str; 2]| {
            let marks = marks.map(str::to_owned);
            let found = of(move |d| {
                for (i, mark) in (0..).zip(&marks) {
                    d.write(Field::FillActual(i), mark);
                }
            });
            let found = found.unwrap();
            let blood = found.setup.blood;
            (blood.blood.get() + blood.anticoagulant.get(), found.alone, found.as_filled)
        };
        assert_eq!(filled(["", ""]), (15.0, None, false));
        assert_eq!(filled(["15", "8"]), (15.0, Some(0), true));
        assert_eq!(filled(["8", "15"]), (15.0, Some(1), true));
        assert_eq!(filled(["14", "14"]), (14.0, None, true));
    }

    /// 4 mL of product off the top of 15 and 8 mL: of each as much as stands above its cells, not 2 of both.
    #[test]
    fn of_the_fullest_container_comes_its_own_part_of_the_product() {
        let found = |kind: ProductKind, stages: usize| {
            let (case, answer) = demo(|d| {
                if let Some(p) = d.kit.protocol.as_mut() {
                    p.kind = kind;
                    p.programme.0.truncate(stages);
                }
                d.write(Field::ProductVolume, "4");
                d.write(Field::FillActual(0), "15");
                d.write(Field::FillActual(1), "8");
            });
            let protocol = case.protocol.clone().unwrap();
            let above = |fill: f64, blood: f64| {
                let packed = blood * 0.42 / protocol.packing.get();
                (fill - packed - protocol.left_behind.get()).max(0.0)
            };
            let splits = answer.draw.containers.iter().map(|c| c.split.unwrap());
            let [one, other] = splits.map(|s| above(s.fill.get(), s.blood.get())).collect::<Vec<_>>()[..]
            else {
                panic!()
            };
            let pictured = pictured(&case, &answer, &Turned::default(), None).unwrap();
            let Some(Line::AboveBottom { kept }) = pictured.setup.spins.last().map(|s| s.parting.line) else {
                panic!()
            };
            (kept.get(), 4.0 * one / (one + other))
        };
        let (kept, part) = found(ProductKind::OffTheTop, 1);
        assert!(part > 2.2 && (kept - (15.0 - part)).abs() < 1e-9, "{kept} {part}");
        // In the second tube it is what stays.
        let (kept, part) = found(ProductKind::OffTheTop, 9);
        assert!((kept - part).abs() < 1e-9, "{kept} {part}");
    }

    /// Thin blood, a narrow tube and much left behind begin outside of what is tried: towards it there are steps, away
    /// from it none.
    #[test]
    fn a_knob_outside_of_its_reach_turns_towards_it() {
        let stands = Stands { left_behind: 6.0, diameter: 4.0, haematocrit: 0.15 };
        let mut turned = Turned::default();
        for (knob, up) in [(Knob::Haematocrit, true), (Knob::Diameter, true), (Knob::LeftBehind, false)] {
            assert!(turned.turns(knob, up, &stands) && !turned.turns(knob, !up, &stands), "{knob:?}");
            let before = turned.value(knob, &stands);
            turned.turn(knob, !up, &stands);
            assert_eq!(turned.value(knob, &stands), before);
            (0..9).for_each(|_| turned.turn(knob, up, &stands));
            assert!((turned.value(knob, &stands) - before).abs() > 8.9 * knob.reach().0, "{knob:?}");
            turned.turn(knob, !up, &stands);
        }
        assert!((turned.value(Knob::Haematocrit, &stands) - 0.23).abs() < 1e-9);
        // Within it the ends hold.
        let most = Stands { haematocrit: 0.65, ..stands };
        assert!(!Turned::default().turns(Knob::Haematocrit, true, &most));
        assert!(Turned::default().turns(Knob::Haematocrit, false, &most));
    }

    /// The same force at the same named radius; what may not be run there is not drawn, nor what cannot be carried.
    #[test]
    fn the_same_case_on_another_rotor_stands_beside() {
        let mut planned = of(|_| ()).unwrap();
        let mm = |value| Some(Quantity::new(value).unwrap());
        let other = Rotor { maximum: mm(110.0), id: "other".into(), ..planned.setup.rotor.clone() };
        let there = beside(&planned, &Turned::default(), Some(&other)).unwrap();
        assert_eq!((&there.rotor, &there.spins), (&other, &planned.setup.spins));
        assert!(picture(&there).is_ok());
        // A speed in rpm becomes the force it is here: 1000 rpm at 155 mm are 173 ×g.
        planned.setup.spins[0].programme.0[0] = Stage::Hold {
            speed: Speed::Rpm(Quantity::new(1000.0).unwrap()),
            time: Quantity::new(60.0).unwrap(),
        };
        let there = beside(&planned, &Turned::default(), Some(&other)).unwrap();
        let Some(Speed::Rcf { g, at }) = there.spins[0].programme.0[0].speed() else { panic!() };
        assert_eq!((g.get().round(), at), (173.0, RadiusKind::Maximum));
        let not = |rotor: &Rotor| beside(&planned, &Turned::default(), Some(rotor)).unwrap_err();
        let slow = Rotor { rated_rpm: Some(Quantity::new(2000.0).unwrap()), ..other.clone() };
        assert!(matches!(not(&slow), NotBeside::Over(_)));
        let angle = Rotor { kind: RotorKind::FixedAngle, ..other.clone() };
        assert_eq!(not(&angle), NotBeside::Carried(NotCarried::FixedAngle));
        let bare = Rotor { maximum: None, ..other };
        assert!(matches!(not(&bare), NotBeside::Carried(NotCarried::Spin(SpinError::RadiusMissing { .. }))));
    }

    /// 180 ×g at 155 mm is 1020 rpm (set in tens), 900 ×g 2280; ten minutes each, and the hand between.
    #[test]
    fn the_course_of_a_programme() {
        let (case, _) = demo(|_| ());
        let (protocol, rotor) = (case.protocol.unwrap(), case.spin.rotor.unwrap());
        let found = course(&protocol.programme, &rotor, None).unwrap();
        let at: Vec<(f64, f64)> = found.corners.iter().map(|c| (c.minutes, c.rpm)).collect();
        assert_eq!(at, [(0.0, 1020.0), (10.0, 1020.0), (10.0, 2280.0), (20.0, 2280.0)]);
        assert_eq!(found.by_hand, [10.0]);
        assert_eq!(found.stages, [(0, 0.0, 10.0), (2, 10.0, 20.0)]);
        assert_eq!(course(&Programme::default(), &rotor, None), None);
    }

    /// Rounded to the nearest ten, 180 ×g would be 180.3, which a container rated for 180 does not bear: set, drawn and
    /// pictured is 1010 rpm.
    #[test]
    fn the_picture_runs_at_the_speed_that_is_set() {
        let (case, answer) = demo(|d| {
            if let Some(container) = d.kit.container.as_mut() {
                container.rated = Some(Quantity::new(180.0).unwrap());
            }
        });
        let set = answer.spin.stages[0].planned.as_ref().unwrap().rpm.value.get();
        assert_eq!(set, 1010.0);
        let (protocol, rotor) = (case.protocol.clone().unwrap(), case.spin.rotor.clone().unwrap());
        let rated = case.draw.container.as_ref().unwrap().rated;
        assert_eq!(course(&protocol.programme, &rotor, rated).unwrap().corners[0].rpm, set);
        let mut found = pictured(&case, &answer, &Turned::default(), None).unwrap().setup;
        found.spins.truncate(1);
        let top = |setup: &Setup| picture(setup).unwrap().spins[0].series[30].above.interface;
        let mut at_set = Setup { container_rated: None, ..found.clone() };
        let rpm = |rpm| Speed::Rpm(Quantity::new(rpm).unwrap());
        at_set.spins[0].programme.0[0] = Stage::Hold { speed: rpm(set), time: Quantity::new(600.0).unwrap() };
        assert_eq!(top(&found), top(&at_set));
        assert!(top(&found) > top(&Setup { container_rated: None, ..found.clone() }));
        // So is what was entered of another stage only.
        let (case, answer) = demo(|d| {
            if let Some(container) = d.kit.container.as_mut() {
                container.rated = Some(Quantity::new(180.0).unwrap());
            }
            d.write(Field::MinutesActual(2), "7");
        });
        let run = pictured(&case, &answer, &Turned::default(), None).unwrap().setup;
        let rpm = asked(run.spins[0].programme.0[0].speed().unwrap(), &run.rotor).unwrap().value.get();
        assert!((rpm - set).abs() < 1e-6);
    }

    /// 4 mL off the top of two fills of 15 mL leave 13 in each, whatever is left above the cells; what is taken with the
    /// cells has no line in the picture.
    #[test]
    fn one_spin_is_parted_where_the_plan_collects() {
        let one = |kind: ProductKind, product: &str| {
            let product = product.to_owned();
            of(move |d| {
                if let Some(p) = d.kit.protocol.as_mut() {
                    p.kind = kind;
                    p.programme.0.truncate(1);
                    p.product = None;
                }
                d.write(Field::ProductVolume, &product);
            })
            .unwrap()
        };
        let off = one(ProductKind::OffTheTop, "4");
        assert_eq!(off.collected, Collected::OffTheTop);
        assert_eq!(off.setup.spins.len(), 1);
        assert_eq!(off.setup.spins[0].parting.line, Line::AboveBottom { kept: Quantity::new(13.0).unwrap() });
        assert!(!off.offers(Knob::LeftBehind) && off.offers(Knob::Disturbed) && off.offers(Knob::Speed));
        let open = one(ProductKind::OffTheTop, "");
        assert_eq!(open.collected, Collected::AboveCells);
        assert!(open.offers(Knob::LeftBehind));
        for kind in [ProductKind::Concentrate, ProductKind::WithCells] {
            let at = one(kind, "4");
            assert_eq!(at.collected, Collected::AtTheCells);
            assert!(!at.offers(Knob::LeftBehind) && !at.offers(Knob::Disturbed) && at.offers(Knob::Time));
        }
        // Two spins are parted as before: above the cells, then all but the product.
        let two = of(|_| ()).unwrap();
        assert_eq!(two.collected, Collected::AboveCells);
        assert!(matches!(two.setup.spins[0].parting.line, Line::AboveCells { .. }));
    }
}
