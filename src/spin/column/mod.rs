//! The column a spin makes: a picture for understanding, in one dimension along r, of a tube that swings out.
//!
//! **Never a prediction.** It may show how the top of the cells falls, which of two programmes gives more, why the
//! height of the column or the haematocrit matters, what fluid left behind costs. It says nothing of dose, of whether an
//! order is met, of white or red cells in a product, and recommends no speed and no time; it feeds neither plan, card nor
//! label. A fixed angle, a gel, a float, a chamber or a bag is outside of it.
//!
//! [`Setup`] (what stands in the rotor) → [`picture`] → [`Picture`]. [`prior`] holds every assumption with its width
//! and source; two of them were fitted to published spins. Left out: gravity where nothing turns, the wall that cells
//! meet because the tube is straight and the pull is not, swirling while the speed changes.

pub mod ask;
mod band;
mod blood;
mod collect;
mod draws;
pub mod prior;
mod run;
mod setup;
mod turning;

pub use band::{Band, Banded, SpunBands, banded, changes, draws_more};
pub use blood::Blood;
pub use collect::{Above, Line, Parting, Unparted, too_low};
pub use setup::{ColumnError, Setup, Spin};
pub use turning::{TurningPoint, turning_point};

use crate::quantity::{Quantity, Radius, Seconds, Volume};
use blood::{Cell, Mixture};
use prior::Assumed;
use run::{Watch, turn};
use strawline_sedimentation::{Column, Law};

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
    /// Where platelets gather on the cells, from, to above the bottom [mm]; `None` before anything is clear.
    pub gathered: Option<[f64; 2]>,
}

impl Profile {
    /// Whether it can be told at a height [mm] how many platelets or white cells are there: among what gathers on the
    /// cells that follows the grid.
    pub fn told(&self, height: f64) -> bool {
        told(self.gathered, height)
    }
}

/// Likewise, of where they gather.
fn told(gathered: Option<[f64; 2]>, height: f64) -> bool {
    gathered.is_none_or(|[from, to]| height > from || height < to)
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
    /// How far above and below it the hand stirs [mm].
    pub stirred: f64,
    /// Share of the platelets of the *first* tube that are above the line, as reckoned: for what may be told of it see
    /// [`Collection::shares`].
    pub platelets_above: f64,
    /// Likewise, below it.
    pub platelets_below: f64,
    /// Why neither share can be told, where it cannot: of this line, or of the one before it.
    pub unparted: Option<Unparted>,
}

impl Collection {
    /// Shares of the platelets of the first tube above the line and below it. Errors: why they cannot be told.
    pub fn shares(&self) -> Result<[f64; 2], Unparted> {
        self.unparted.map_or(Ok([self.platelets_above, self.platelets_below]), Err)
    }
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
    assuming(setup, &Assumed::default())
}

/// The picture of a setup with assumptions of one's own. Errors: as [`picture`].
pub fn assuming(setup: &Setup, assumed: &Assumed) -> Result<Picture, ColumnError> {
    setup.check()?;
    let law = setup.blood.law(assumed);
    let mut mixture = setup.blood.mixture(assumed);
    // Share of the first tube's platelets that went into this one.
    let mut brought = 1.0;
    let mut unparted = None;
    let mut spins = Vec::new();
    for (index, spin) in setup.spins.iter().enumerate() {
        // Less than that wets a tube.
        if mixture.volume.get() < 0.05 {
            return Err(ColumnError::NothingDrawn);
        }
        let (mut spun, above) = spun(setup, index, spin, &mixture, &law, assumed, brought)?;
        brought = spun.collection.platelets_above;
        // What nobody can tell of the first line, nobody can of what became of it.
        unparted = unparted.or(spun.collection.unparted);
        spun.collection.unparted = unparted;
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
    let watch = Watch::new(&run, &spin.profiles_at, index > 0);
    let (series, profiles, steps) = turn(&mut column, mixture, law, &run, assumed, watch);
    let after = amounts(&column);
    let error = |(b, a): (&f64, &f64)| if *b > 0.0 { (a / b - 1.0).abs() } else { a.abs() };
    let mass_error = before.iter().zip(&after).map(error).fold(0.0, f64::max);
    let parted = collect::part(&column, mixture, spin.parting);
    let collection = Collection {
        above: parted.above.volume,
        below: parted.below,
        line: parted.height,
        stirred: spin.parting.disturbed.get(),
        platelets_above: brought * parted.platelets,
        platelets_below: brought * (1.0 - parted.platelets),
        unparted: parted.unparted,
    };
    let each_step = u64::try_from(2 * cells * column.kinds.len()).unwrap_or(u64::MAX);
    let updates = steps.saturating_mul(each_step);
    let column = 1000.0 * height;
    Ok((Spun { column, top, series, profiles, collection, mass_error, steps, updates }, parted.above))
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
