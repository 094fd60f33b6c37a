//! The column a spin makes: a picture for understanding, in one dimension along r, of a tube that swings out.
//!
//! **Never a prediction.** It may show how the top of the cells falls, which of two programmes gives more, why the
//! height of the column or the haematocrit matters, what fluid left behind costs. It says nothing of dose, of whether an
//! order is met, of white or red cells in a product, and recommends no speed and no time; it feeds neither plan, card nor
//! label. A fixed angle, a gel, a float, a chamber or a bag is outside of it.
//!
//! [`Setup`] (what stands in the rotor) → [`picture`] → [`Picture`]. [`prior`] holds every assumption with its width
//! and source: none of them was fitted to a measured spin. Left out: gravity where nothing turns, the wall that cells
//! meet because the tube is straight and the pull is not, swirling while the speed changes.

mod band;
mod blood;
mod collect;
pub mod prior;
mod solver;
mod tube;

pub use band::{Band, Banded, SpunBands, banded};
pub use blood::Blood;
pub use collect::{Above, Line, Parting};
pub use tube::{End, Tube};

use super::SpinError;
use super::exposure::{Stretch, stretches};
use super::programme::Programme;
use super::rcf::RadiusKind;
use super::rotor::{Rotor, RotorKind};
use crate::arrange::sort_by;
use crate::quantity::{OutOfRange, Quantity, Radius, Seconds, Volume};
use crate::stored::{self, Refused};
use blood::{Cell, Mixture};
use prior::Assumed;
use serde::{Deserialize, Serialize};
use solver::{Column, Drive, Law, Solver};

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
    /// When to draw the whole column, at most 20 moments; its end is always drawn.
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
/// ([`prior::CORNER_SOURCE`]).
const MOST_FORCE: f64 = 5_000.0;
const LONGEST: f64 = 7_200.0;
/// Moments of a series, evenly over the programme, its start not counted.
const MOMENTS: u32 = 60;

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
    fn check(&self) -> Result<(), ColumnError> {
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
        within(&name("profiles_at"), "number of moments", moments, [0.0, 20.0], "")?;
        let run = self.run_of(spin)?;
        within(&name("programme"), "time", run.time, [1.0, LONGEST], "s")?;
        for at in &spin.profiles_at {
            within(&name("profiles_at"), "time", at.get(), [0.0, run.time], "s")?;
        }
        let force = run.fastest * run.fastest * run.bottom / super::rcf::GRAVITY;
        within(&name("programme"), "force at the maximum radius", force, [0.0, MOST_FORCE], "×g")
    }

    fn run_of(&self, spin: &Spin) -> Result<Run, ColumnError> {
        let bottom = self.rotor.radius(RadiusKind::Maximum)?.radius.get() / 1000.0;
        let stretches = stretches(&spin.programme, &self.rotor, None)?;
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

/// A programme on a rotor.
struct Run {
    /// Bottom of the tube from the axis [m].
    bottom: f64,
    stretches: Vec<Stretch>,
    /// In all [s].
    time: f64,
    /// Angular speed [1/s].
    fastest: f64,
}

/// Angular speed [1/s] of revolutions per minute.
fn angular(rpm: f64) -> f64 {
    2.0 * core::f64::consts::PI * rpm / 60.0
}

/// One moment of a spin.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Since the programme began.
    pub time: Seconds,
    /// What stands above the cells.
    pub above: Above,
}

/// One layer of a drawn column.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Height of its middle above the bottom [mm].
    pub height: f64,
    /// Volume fraction of red cells.
    pub red: f64,
    /// Platelets per volume, over those of this column before it turned.
    pub platelets: f64,
    /// White cells likewise; nothing where none were drawn.
    pub white: Option<f64>,
}

/// The whole column at one moment, from the top down.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    /// Since the programme began.
    pub time: Seconds,
    /// Its layers.
    pub layers: Vec<Layer>,
}

/// What the line leaves on either side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Collection {
    /// Above the line.
    pub above: Volume,
    /// Below the line.
    pub below: Volume,
    /// Height of the line above the bottom [mm].
    pub line: f64,
    /// Share of the platelets of the *first* tube that are above the line.
    pub platelets_above: f64,
    /// Likewise, below it.
    pub platelets_below: f64,
}

/// What became of one spin.
#[derive(Debug, Clone, PartialEq)]
pub struct Spun {
    /// Height of the column [mm].
    pub column: f64,
    /// Distance of its top from the axis.
    pub top: Radius,
    /// The course of it.
    pub series: Vec<Moment>,
    /// The column as asked for, and at the end.
    pub profiles: Vec<Profile>,
    /// What the line leaves on either side.
    pub collection: Collection,
    /// Largest share of any kind of cell that was made or lost in the reckoning.
    pub mass_error: f64,
    /// Steps taken.
    pub steps: u64,
    /// Kinds of cell, times cells, times the two stages of each step.
    pub updates: u64,
}

/// What became of all spins.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// In order.
    pub spins: Vec<Spun>,
}

/// The picture of a setup with every assumption as taken. Errors: an entry outside of what it reaches, or nothing left
/// to spin again.
pub fn picture(setup: &Setup) -> Result<Picture, ColumnError> {
    setup.check()?;
    assuming(setup, &Assumed::default())
}

fn assuming(setup: &Setup, assumed: &Assumed) -> Result<Picture, ColumnError> {
    let law = setup.blood.law(assumed);
    let mut mixture = setup.blood.mixture(assumed);
    // Share of the first tube's platelets that went into this one.
    let mut brought = 1.0;
    let mut spins = Vec::new();
    for (index, spin) in setup.spins.iter().enumerate() {
        // Less than that wets a tube.
        if mixture.volume.get() < 0.05 {
            return Err(ColumnError::NothingDrawn);
        }
        let (spun, above) = spun(setup, index, spin, &mixture, &law, assumed, brought)?;
        brought = spun.collection.platelets_above;
        spins.push(spun);
        mixture = above;
    }
    Ok(Picture { spins })
}

fn spun(
    setup: &Setup,
    index: usize,
    spin: &Spin,
    mixture: &Mixture,
    law: &Law,
    assumed: &Assumed,
    brought: f64,
) -> Result<(Spun, Mixture), ColumnError> {
    let run = setup.run_of(spin)?;
    let height = spin.tube.height(mixture.volume).ok_or(ColumnError::TooHigh { spin: index })?;
    let top = Radius::new(1000.0 * (run.bottom - height))
        .map_err(|range| ColumnError::Outside { field: "rotor.maximum".to_owned(), range })?;
    let grid = spin.tube.grid(height, run.bottom, setup.cells);
    let cells = grid.volume.len();
    let filled = mixture.filled.iter().flat_map(|f| std::iter::repeat_n(*f, cells)).collect();
    let mut column = Column { grid, kinds: mixture.kinds.clone(), filled };
    let amounts = |column: &Column| (0..column.kinds.len()).map(|k| column.amount(k)).collect::<Vec<_>>();
    let before = amounts(&column);
    let watch = Watch::new(&run, &spin.profiles_at);
    let turn = if column.kinds.len() <= 6 { turn::<6> } else { turn::<8> };
    let (series, profiles, steps) = turn(&mut column, mixture, law, &run, assumed, watch);
    let after = amounts(&column);
    let error = |(b, a): (&f64, &f64)| if *b > 0.0 { (a / b - 1.0).abs() } else { a.abs() };
    let mass_error = before.iter().zip(&after).map(error).fold(0.0, f64::max);
    let parted = collect::part(&column, mixture, spin.parting);
    let collection = Collection {
        above: parted.above.volume,
        below: parted.below,
        line: parted.height,
        platelets_above: brought * parted.platelets,
        platelets_below: brought * (1.0 - parted.platelets),
    };
    let each_step = u64::try_from(2 * cells * column.kinds.len()).unwrap_or(u64::MAX);
    let updates = steps.saturating_mul(each_step);
    let column = 1000.0 * height;
    Ok((Spun { column, top, series, profiles, collection, mass_error, steps, updates }, parted.above))
}

/// When to look.
struct Watch {
    /// Moments of the series [s].
    series: Vec<f64>,
    /// Moments of the profiles [s].
    profiles: Vec<f64>,
}

impl Watch {
    fn new(run: &Run, profiles: &[Seconds]) -> Self {
        // The last is the very end, whatever a fraction of the whole rounds to.
        let moments = (0..MOMENTS).map(|i| run.time * f64::from(i) / f64::from(MOMENTS)).chain([run.time]);
        let mut profiles: Vec<f64> = profiles.iter().map(|at| at.get()).chain([run.time]).collect();
        sort_by(&mut profiles, f64::total_cmp);
        profiles.dedup();
        Self { series: moments.collect(), profiles }
    }

    /// The next moment to look, at or after a time.
    fn next(&self, time: f64) -> f64 {
        let after = |all: &[f64]| all.get(all.partition_point(|at| *at <= time)).copied();
        [after(&self.series), after(&self.profiles)].into_iter().flatten().fold(f64::INFINITY, f64::min)
    }
}

/// Lets the programme run. Every moment to look and every change of speed ends a step.
fn turn<const K: usize>(
    column: &mut Column,
    mixture: &Mixture,
    law: &Law,
    run: &Run,
    assumed: &Assumed,
    watch: Watch,
) -> (Vec<Moment>, Vec<Profile>, u64) {
    let (mut series, mut profiles, mut steps) = (Vec::new(), Vec::new(), 0_u64);
    let mut solver = Solver::<K>::new(column, law);
    let onset = |time: f64| 1.0 - libm::exp(-time / assumed.onset);
    let seconds = |time: f64| Seconds::new(time.max(0.0)).unwrap_or(Seconds::constant(0.0));
    let mut look = |column: &Column, time: f64| {
        if watch.series.contains(&time) {
            series.push(Moment { time: seconds(time), above: collect::above(column, mixture) });
        }
        if watch.profiles.contains(&time) {
            profiles.push(Profile { time: seconds(time), layers: layers(column, mixture) });
        }
    };
    look(column, 0.0);
    let mut begun = 0.0;
    let last = run.stretches.iter().rposition(|s| s.time.get() > 0.0);
    for (i, stretch) in run.stretches.iter().enumerate() {
        let length = stretch.time.get();
        // The last one ends where all end, whatever the sum of them rounds to.
        let end = if Some(i) == last { run.time } else { begun + length };
        let (from, to) = (angular(stretch.from.get()), angular(stretch.to.get()));
        let drive = |time: f64| {
            let part = ((time - begun) / length).clamp(0.0, 1.0);
            Drive { omega: from + part * (to - from), onset: onset(time) }
        };
        let mut now = begun;
        while now < end {
            let until = watch.next(now).min(end);
            let here = drive(now);
            // As fast and as clumped as it will be within the step.
            let most = |time: f64| {
                let there = drive(time);
                Drive { omega: here.omega.max(there.omega), onset: there.onset }
            };
            let reach = (now + solver.longest(here)).min(until);
            let long = (now + solver.longest(most(reach))).min(reach);
            // Too little to tell one moment from the next: take all of it, and leave the column as it is.
            if long > now {
                solver.step(long - now, here, drive(long));
                steps += 1;
                now = long;
            } else {
                now = until;
            }
            if now >= until {
                now = until;
                solver.show(column);
                look(column, now);
            }
        }
        begun = end;
    }
    (series, profiles, steps)
}

fn layers(column: &Column, mixture: &Mixture) -> Vec<Layer> {
    let faces = &column.grid.faces;
    let bottom = faces.last().copied().unwrap_or(0.0);
    let sum = |cell: Cell, filled: &dyn Fn(usize) -> f64| -> f64 {
        let kinds = mixture.cells.iter().zip(&mixture.each).enumerate().filter(|(_, (c, _))| **c == cell);
        kinds.map(|(kind, (_, each))| filled(kind) / each).sum()
    };
    let before = |cell| sum(cell, &|kind| mixture.filled.get(kind).copied().unwrap_or(0.0));
    let (platelets, white) = (before(Cell::Platelet), before(Cell::White));
    let over = |now: f64, before: f64| if before > 0.0 { now / before } else { 0.0 };
    let layer = |(i, (above, below)): (usize, (&f64, &f64))| {
        let here = |kind: usize| column.of(kind).get(i).copied().unwrap_or(0.0);
        Layer {
            height: 1000.0 * (bottom - 0.5 * (above + below)),
            red: here(0),
            platelets: over(sum(Cell::Platelet, &here), platelets),
            white: (white > 0.0).then(|| over(sum(Cell::White, &here), white)),
        }
    };
    faces.iter().zip(faces.iter().skip(1)).enumerate().map(layer).collect()
}

#[cfg(test)]
mod tests;
