//! How far the picture may be off by what is assumed: each prior one standard deviation down and up, one at a time,
//! the halves of what that changes added as squares. A first-order reckoning: it holds as far as the answer follows
//! each prior in a line and the priors say nothing of one another. What the model leaves out is in no band.

use super::prior::{Assumed, PRIORS};
use super::{Above, Collection, ColumnError, Picture, Setup, assuming, picture};
use crate::arrange::sort_by;
use crate::quantity::Quantity;

/// Standard deviations to either side of the middle that hold 80 %.
const EIGHTY: f64 = 1.281_551_565_544_6;

/// A figure with its band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// With every assumption as taken.
    pub value: f64,
    /// Low end of the 80 % band.
    pub low: f64,
    /// High end of the 80 % band.
    pub high: f64,
}

/// Bands of one spin.
#[derive(Debug, Clone, PartialEq)]
pub struct SpunBands {
    /// Height of the top of the cells above the bottom [mm], moment by moment.
    pub interface: Vec<Band>,
    /// Share of the column's platelets more than 2 mm above the cells, moment by moment.
    pub platelets: Vec<Band>,
    /// Volume above the line [mL].
    pub above: Band,
    /// Share of the first tube's platelets above the line.
    pub platelets_above: Band,
    /// Share of the first tube's platelets below the line.
    pub platelets_below: Band,
}

/// A picture and its bands.
#[derive(Debug, Clone, PartialEq)]
pub struct Banded {
    /// The picture itself.
    pub picture: Picture,
    /// Bands of each spin.
    pub bands: Vec<SpunBands>,
    /// What each assumption does to the share of platelets above the first spin's line, one standard deviation up less
    /// one down, halved: the largest first.
    pub widest: Vec<(&'static str, f64)>,
}

/// The picture with its bands. Errors: as [`picture`]; also where nothing is left to spin again with one of the
/// assumptions off.
pub fn banded(setup: &Setup) -> Result<Banded, ColumnError> {
    let middle = picture(setup)?;
    let mut sides = Vec::with_capacity(PRIORS.len());
    for prior in PRIORS {
        let side = |z| assuming(setup, &Assumed::but(prior.key, z));
        sides.push([side(-1.0)?, side(1.0)?]);
    }
    let bands = middle.spins.iter().enumerate().map(|(spin, spun)| {
        let course = |what: fn(&Above) -> f64, limits| {
            let at = |i: usize| {
                let get = |p: &Picture| Some(what(&p.spins.get(spin)?.series.get(i)?.above));
                band(&middle, &sides, &get, limits)
            };
            (0..spun.series.len()).map(at).collect()
        };
        let parted = |what: fn(&Collection) -> f64, limits| {
            band(&middle, &sides, &|p: &Picture| Some(what(&p.spins.get(spin)?.collection)), limits)
        };
        let all = spun.collection.above.get() + spun.collection.below.get();
        SpunBands {
            interface: course(|a| a.interface, [0.0, spun.column]),
            platelets: course(|a| a.clear, [0.0, 1.0]),
            above: parted(|c| c.above.get(), [0.0, all]),
            platelets_above: parted(|c| c.platelets_above, [0.0, 1.0]),
            platelets_below: parted(|c| c.platelets_below, [0.0, 1.0]),
        }
    });
    let bands = bands.collect();
    let first = |p: &Picture| p.spins.first().map_or(0.0, |s| s.collection.platelets_above);
    let mut widest: Vec<_> = PRIORS
        .iter()
        .zip(&sides)
        .map(|(prior, [down, up])| (prior.key, 0.5 * (first(up) - first(down))))
        .collect();
    sort_by(&mut widest, |a, b| b.1.abs().total_cmp(&a.1.abs()));
    Ok(Banded { picture: middle, bands, widest })
}

fn band(
    middle: &Picture,
    sides: &[[Picture; 2]],
    get: &dyn Fn(&Picture) -> Option<f64>,
    [least, most]: [f64; 2],
) -> Band {
    let value = get(middle).unwrap_or(0.0);
    let half = |[down, up]: &[Picture; 2]| 0.5 * (get(up).unwrap_or(value) - get(down).unwrap_or(value));
    let spread = libm::sqrt(sides.iter().map(|s| half(s) * half(s)).sum());
    Band {
        value,
        low: (value - EIGHTY * spread).max(least.min(value)),
        high: (value + EIGHTY * spread).min(most.max(value)),
    }
}
