//! Where the layers stand, and what a line drawn through the column leaves on either side.

use super::blood::{Cell, Mixture};
use crate::quantity::{Millimetre, Quantity, Volume};
use serde::{Deserialize, Serialize};
use strawline_sedimentation::Column;

/// Cells are a layer from this volume fraction on, or from half of what red cells begin with where that is less
/// ([`super::prior::CORNER_SOURCE`]).
pub(super) const LAYER: f64 = 0.1;
/// So far above the cells what gathers on them no longer counts with the fluid [m], also [`super::prior::CORNER_SOURCE`]:
/// a layer thinner than a cell of the grid, so that a share read right at the top of the cells follows the grid.
pub(super) const GATHERED: f64 = 0.002;
/// Cells of the grid that the top of what lies may be smeared over.
pub(super) const FRONT: f64 = 3.0;
/// So near above the cells what is stirred takes of the layer that gathers there more or less with each grid [mm].
const THIN: f64 = 0.7;

/// Why a line parts nothing that can be told: it lies in the cells, or platelets gather on them in a layer thinner than
/// the picture can part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Unparted {
    /// The line lies below the top of the cells.
    Among,
    /// The line lies among what gathers on them.
    Line,
    /// What the hand stirs ends there.
    Stirred,
    /// It parts what can be told with each assumption at its middle, and in so many draws of so many it does not.
    InDraws {
        /// Those that do not.
        unparted: u16,
        /// All of them.
        draws: u16,
    },
}

impl Unparted {
    /// Of a line, over the top of the cells, with so much stirred to either side [mm].
    fn of(line: f64, stirred: f64) -> Option<Self> {
        let gathered = 1e3 * GATHERED;
        if line < 0.0 {
            Some(Self::Among)
        } else if line < gathered {
            Some(Self::Line)
        } else if (-gathered..=THIN).contains(&(line - stirred)) {
            Some(Self::Stirred)
        } else {
            None
        }
    }
}

/// Where fluid is drawn to.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Line {
    /// All above the cells, but so much just above them.
    AboveCells {
        /// Left behind.
        left_behind: Volume,
    },
    /// All, but so much at the bottom.
    AboveBottom {
        /// Kept in the tube.
        kept: Volume,
    },
}

/// How a column is parted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Parting {
    /// Where.
    pub line: Line,
    /// How far above and below the line the hand stirs, at most 20 mm.
    pub disturbed: Millimetre,
}

impl Parting {
    /// Nothing is parted: all stays above.
    pub const NOWHERE: Self =
        Self { line: Line::AboveBottom { kept: Volume::ZERO }, disturbed: Millimetre::constant(0.0) };
}

/// Distances along a column as volumes above, for cells that are each filled evenly.
struct Depths {
    faces: Vec<f64>,
    /// Volume above each face [m³].
    above: Vec<f64>,
}

impl Depths {
    fn of(column: &Column) -> Self {
        Self { faces: column.grid.faces.clone(), above: running(column.grid.volume.iter().copied()) }
    }
    fn volume(&self, r: f64) -> f64 {
        between(&self.faces, &self.above, r)
    }
    fn distance(&self, volume: f64) -> f64 {
        between(&self.above, &self.faces, volume)
    }
}

/// Sums of what went before, the first of nothing.
fn running(parts: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut sum = 0.0;
    let sums = parts.map(|part| {
        sum += part;
        sum
    });
    std::iter::once(0.0).chain(sums).collect()
}

/// Value of a line through points in order, held at its ends.
fn between(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let i = xs.partition_point(|at| *at < x).clamp(1, xs.len().saturating_sub(1).max(1));
    match (xs.get(i - 1), xs.get(i), ys.get(i - 1), ys.get(i)) {
        (Some(x0), Some(x1), Some(y0), Some(y1)) if x1 > x0 => {
            y0 + (y1 - y0) * ((x - x0) / (x1 - x0)).clamp(0.0, 1.0)
        }
        _ => ys.first().copied().unwrap_or(0.0),
    }
}

/// Distance of the top of the cells from the axis [m].
fn interface(column: &Column, layer: f64) -> f64 {
    let solids = column.solids();
    let faces = &column.grid.faces;
    let middles: Vec<f64> = faces.iter().zip(faces.iter().skip(1)).map(|(a, b)| 0.5 * (a + b)).collect();
    let ends = |r: Option<&f64>| r.copied().unwrap_or(0.0);
    match solids.iter().position(|s| *s >= layer) {
        Some(0) => ends(faces.first()),
        Some(i) => match (solids.get(i - 1), solids.get(i), middles.get(i - 1), middles.get(i)) {
            (Some(above), Some(here), Some(r0), Some(r1)) => {
                r0 + (r1 - r0) * (layer - above) / (here - above)
            }
            _ => ends(faces.last()),
        },
        None => ends(faces.last()),
    }
}

/// What stands above the cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Above {
    /// Height of the top of the cells above the bottom [mm].
    pub interface: f64,
    /// Fluid above them [mL].
    pub volume: f64,
    /// Share of the column's platelets that is in it.
    pub platelets: f64,
    /// Share of them more than 2 mm above the cells: without what gathers on them.
    pub clear: f64,
}

/// Whether the top of the cells is lower than the picture can tell: what was spun again leaves a pellet thinner than a
/// cell of the grid. Height in mm.
pub fn too_low(again: bool, interface: f64) -> bool {
    again && interface < 1e3 * GATHERED
}

/// Where platelets gather on the cells, from, to above the bottom [mm]: how many lie there follows the grid and cannot be
/// told, nor how many white cells. `None` before anything is clear.
pub(super) fn gathered(column: &Column, mixture: &Mixture, again: bool) -> Option<[f64; 2]> {
    let faces = &column.grid.faces;
    let (first, bottom) = (*faces.first()?, *faces.last()?);
    let (height, top) = (1e3 * (bottom - first), 1e3 * (bottom - interface(column, mixture.layer)));
    let (clear, thin) = (height - top > 0.2, 1e3 * GATHERED);
    let cell = faces.get(2).map_or(0.0, |third| 0.5e3 * (third - first));
    // Under plasma all that has settled lies in the pellet. A front takes a few cells of the grid.
    let under = if again { 0.0 } else { (top - thin.max(FRONT * cell)).max(0.0) };
    (clear || again).then(|| [(top + thin).min(height), under])
}

pub(super) fn above(column: &Column, mixture: &Mixture) -> Above {
    let depths = Depths::of(column);
    let interface = interface(column, mixture.layer);
    let volume = depths.volume(interface);
    let until = |volume| share(mixture, column, &taken(column, &depths, [volume; 3]), Cell::Platelet);
    let bottom = column.grid.faces.last().copied().unwrap_or(0.0);
    Above {
        interface: 1e3 * (bottom - interface),
        volume: 1e6 * volume,
        platelets: until(volume),
        clear: until(depths.volume(interface - GATHERED)),
    }
}

/// Volume of each kind above the line [m³]: all above the stirred part, and of what is stirred as much as lies above.
/// Volumes above the stirred part's top, the line, and its bottom.
fn taken(column: &Column, depths: &Depths, [top, line, bottom]: [f64; 3]) -> Vec<f64> {
    let part = if bottom > top { ((line - top) / (bottom - top)).clamp(0.0, 1.0) } else { 0.0 };
    let of = |kind: usize| {
        let cells = column.of(kind).iter().zip(&column.grid.volume).map(|(filled, volume)| filled * volume);
        let sums = running(cells);
        let until = |volume| between(&depths.above, &sums, volume);
        until(top) + part * (until(bottom) - until(top))
    };
    (0..column.kinds.len()).map(of).collect()
}

/// Share by number of one sort of cell in what was taken.
fn share(mixture: &Mixture, column: &Column, taken: &[f64], cell: Cell) -> f64 {
    let (mut some, mut all) = (0.0, 0.0);
    for (kind, (sort, each)) in mixture.cells.iter().zip(&mixture.each).enumerate() {
        if *sort == cell {
            some += taken.get(kind).copied().unwrap_or(0.0) / each;
            all += column.amount(kind) / each;
        }
    }
    if all > 0.0 { (some / all).clamp(0.0, 1.0) } else { 0.0 }
}

/// A column parted: what is above the line, mixed, and shares of its platelets.
pub(super) struct Parted {
    pub above: Mixture,
    pub below: Volume,
    /// Share of the column's platelets above the line.
    pub platelets: f64,
    /// Height of the line above the bottom [mm].
    pub height: f64,
    /// Why that share cannot be told, where it cannot.
    pub unparted: Option<Unparted>,
}

pub(super) fn part(column: &Column, mixture: &Mixture, parting: Parting) -> Parted {
    let depths = Depths::of(column);
    let all = depths.above.last().copied().unwrap_or(0.0);
    let top = interface(column, mixture.layer);
    let volume = match parting.line {
        Line::AboveCells { left_behind } => depths.volume(top) - left_behind.get() / 1e6,
        Line::AboveBottom { kept } => all - kept.get() / 1e6,
    };
    let volume = volume.clamp(0.0, all);
    let line = depths.distance(volume);
    let stirred = parting.disturbed.get() / 1e3;
    let reach = [depths.volume(line - stirred), volume, depths.volume(line + stirred)];
    // With nothing stirred the three are one.
    let taken = taken(column, &depths, if stirred > 0.0 { reach } else { [volume; 3] });
    // What does not come to a millionth of a cell is none.
    let filled = |(amount, each): (&f64, &f64)| if *amount > 1e-6 * each { amount / volume } else { 0.0 };
    let filled = taken.iter().zip(&mixture.each).map(filled).collect();
    let ml = |cubic: f64| Volume::new(1e6 * cubic.max(0.0)).unwrap_or(Volume::ZERO);
    let bottom = column.grid.faces.last().copied().unwrap_or(0.0);
    Parted {
        platelets: share(mixture, column, &taken, Cell::Platelet),
        // What lies under plasma is a pellet: half of what began in it would be nowhere.
        above: Mixture { volume: ml(volume), filled, layer: LAYER, ..mixture.clone() },
        below: ml(all - volume),
        height: 1e3 * (bottom - line),
        unparted: Unparted::of(1e3 * (top - line), parting.disturbed.get()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q};
    use strawline_sedimentation::{Grid, Kind};

    /// Ten cells of 1 mL and 10 mm: clear, a thin part, and six full of red cells.
    fn column() -> (Column, Mixture) {
        let grid = Grid {
            faces: (0..=10).map(|i| 0.05 + 0.01 * f64::from(i)).collect(),
            pull: vec![0.1; 9],
            area: vec![1e-4; 9],
            volume: vec![1e-6; 10],
        };
        let red = [0.0, 0.0, 0.0, 0.0, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5];
        let platelets = [1e-3, 1e-3, 1e-3, 2e-3, 5e-3, 0.0, 0.0, 0.0, 0.0, 0.0];
        let kind = Kind { drag: 1.0, over: 50.0 };
        let mixture = Mixture {
            volume: q(10.0),
            cells: vec![Cell::Red, Cell::Platelet],
            kinds: vec![kind; 2],
            filled: vec![0.3, 1e-3],
            each: vec![9e-17, 5e-18],
            layer: LAYER,
        };
        let filled = red.into_iter().chain(platelets).collect();
        (Column { grid, kinds: vec![kind; 2], filled }, mixture)
    }

    #[test]
    fn the_top_of_the_cells() {
        let (column, mixture) = column();
        let found = above(&column, &mixture);
        // 0 at 85 mm to 0.505 at 95 mm passes 0.1 after (0.1 − 0.002)/0.503 of the way; 10 mm to each cell
        near(found.interface, 150.0 - 85.0 - 10.0 * (0.1 - 0.002) / 0.503, 1e-9);
        near(found.volume, (150.0 - found.interface - 50.0) / 10.0, 1e-9);
        // 10 in all: three cells of 1, and of the fourth, of 2, what is 2 mm above that
        near(found.clear, (3.0 + 2.0 * (found.volume - 0.2 - 3.0)) / 10.0, 1e-9);
    }

    #[test]
    fn a_line_parts_what_is_there() {
        let (column, mixture) = column();
        let at = |kept: f64, disturbed: f64| {
            let line = Line::AboveBottom { kept: q(kept) };
            part(&column, &mixture, Parting { line, disturbed: q(disturbed) })
        };
        let clean = at(7.0, 0.0);
        near(clean.above.volume.get(), 3.0, 1e-12);
        near(clean.below.get(), 7.0, 1e-12);
        near(clean.platelets, 3.0 / 10.0, 1e-12);
        near(clean.above.filled[0], 0.0, 0.0);
        near(clean.above.filled[1], 1e-3, 1e-15);
        near(clean.height, 70.0, 1e-9);
        // 20 mm either way of 70 mm: 4 mL with 1 + 1 + 2 + 5 in it, of which half is taken, after 1 from above
        let stirred = at(7.0, 20.0);
        near(stirred.platelets, (1.0 + 0.5 * 9.0) / 10.0, 1e-12);
        near(stirred.above.filled[0], 0.5 * 0.5 / 3.0, 1e-12);
        let nothing = at(12.0, 5.0);
        assert_eq!((nothing.above.volume.get(), nothing.platelets), (0.0, 0.0));
        let everything = at(0.0, 5.0);
        near(everything.platelets, 1.0, 1e-12);
    }

    /// 2 mm above the cells, and not where the hand stirs down to about their top.
    #[test]
    fn what_cannot_be_told_is_said_with_its_reason() {
        let of = |line, stirred| Unparted::of(line, stirred);
        assert_eq!(
            [-0.1, 0.0, 1.9, 2.0].map(|line| of(line, 0.0)),
            [Some(Unparted::Among), Some(Unparted::Line), Some(Unparted::Line), None]
        );
        let stirred = [2.0, 2.4, 5.0, 5.1].map(|stirred| of(3.0, stirred));
        assert_eq!(stirred, [None, Some(Unparted::Stirred), Some(Unparted::Stirred), None]);
        assert_eq!([1.9, 2.0].map(|mm| too_low(true, mm)), [true, false]);
        assert!(!too_low(false, 0.0));
    }

    #[test]
    fn what_is_left_behind_lies_just_above_the_cells() {
        let (column, mixture) = column();
        let line = |ml: f64| Line::AboveCells { left_behind: q(ml) };
        let all = above(&column, &mixture);
        let some = part(&column, &mixture, Parting { line: line(1.0), disturbed: q(0.0) });
        near(some.above.volume.get(), all.volume - 1.0, 1e-9);
        assert!(some.platelets < all.platelets);
    }
}
