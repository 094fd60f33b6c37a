//! How far the picture may be off by what is assumed: the middle 80 % of pictures drawn with every prior at once. What
//! the model leaves out is in no band.

use super::draws::{DRAWS, draws, quantile};
use super::prior::{Assumed, PRIORS};
use super::{Above, ColumnError, Picture, Setup, Spun, Unparted, assuming, picture};
use crate::arrange::sort_by;
use crate::quantity::Quantity;

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

impl Band {
    /// Whether the figure hangs on anything assumed, and not on what was filled alone.
    pub fn hangs(&self) -> bool {
        self.high - self.low > 1e-9
    }
}

/// Bands of one spin.
#[derive(Debug, Clone, PartialEq)]
pub struct SpunBands {
    /// Height of the column [mm]; of a second spin, what the first leaves above its line.
    pub column: Band,
    /// Distance of its top from the axis [mm].
    pub top: Band,
    /// Height of the top of the cells above the bottom [mm], moment by moment.
    pub interface: Vec<Band>,
    /// Fluid above the cells [mL], moment by moment.
    pub volume: Vec<Band>,
    /// Share of the column's platelets more than 2 mm above the cells, moment by moment.
    pub platelets: Vec<Band>,
    /// Volume above the line [mL].
    pub above: Band,
    /// Volume below the line [mL].
    pub below: Band,
    /// Height of the line above the bottom [mm].
    pub line: Band,
    /// Share of the first tube's platelets above the line.
    pub platelets_above: Band,
    /// Share of the first tube's platelets below the line.
    pub platelets_below: Band,
    /// Draws in which neither share can be told.
    pub unparted: u16,
}

impl SpunBands {
    /// Bands of the shares above the line and below it. Errors: in more than a tenth of the draws there is no such share.
    pub fn shares(&self) -> Result<[&Band; 2], Unparted> {
        untold(self.unparted).map_or(Ok([&self.platelets_above, &self.platelets_below]), Err)
    }
}

/// Why no share is told of a line that parts nothing in so many draws: a band that leaves out more than a tenth of them
/// would hold no 80 %.
fn untold(unparted: u16) -> Option<Unparted> {
    (10 * unparted > DRAWS).then_some(Unparted::InDraws { unparted, draws: DRAWS })
}

/// How many of all of them.
fn count(all: impl Iterator<Item = bool>) -> u16 {
    all.map(u16::from).sum()
}

/// A picture and its bands.
#[derive(Debug, Clone, PartialEq)]
pub struct Banded {
    /// The picture itself.
    pub picture: Picture,
    /// Bands of each spin.
    pub bands: Vec<SpunBands>,
}

/// The picture with its bands. Errors: as [`picture`]; also where nothing is left to spin again in one of the draws.
pub fn banded(setup: &Setup) -> Result<Banded, ColumnError> {
    let middle = picture(setup)?;
    let drawn = draws().iter().map(|drawn| assuming(setup, drawn)).collect::<Result<Vec<_>, _>>()?;
    let bands = middle.spins.iter().enumerate().map(|(spin, spun)| {
        let course = |what: fn(&Above) -> f64| {
            let at =
                |i: usize| band(&middle, &drawn, &|p| Some(what(&p.spins.get(spin)?.series.get(i)?.above)));
            (0..spun.series.len()).map(at).collect()
        };
        let of = |what: fn(&Spun) -> f64| band(&middle, &drawn, &|p| p.spins.get(spin).map(what));
        SpunBands {
            column: of(|s| s.column),
            top: of(|s| s.top.get()),
            interface: course(|a| a.interface),
            volume: course(|a| a.volume),
            platelets: course(|a| a.clear),
            above: of(|s| s.collection.above.get()),
            below: of(|s| s.collection.below.get()),
            line: of(|s| s.collection.line),
            platelets_above: of(|s| s.collection.platelets_above),
            platelets_below: of(|s| s.collection.platelets_below),
            unparted: count(
                drawn.iter().map(|p| p.spins.get(spin).is_some_and(|s| s.collection.unparted.is_some())),
            ),
        }
    });
    let bands = bands.collect();
    Ok(Banded { picture: middle, bands })
}

/// How much larger the share of platelets above the first spin’s line is in one setup than in another: ends of the middle
/// 80 % of what the same draws of every prior give for both; `None` where in more than a tenth of them either line parts
/// nothing that can be told. Errors: as [`banded`].
pub fn draws_more(of: &Setup, than: &Setup) -> Result<Option<[f64; 2]>, ColumnError> {
    let first = |setup: &Setup, drawn: &Assumed| -> Result<(f64, bool), ColumnError> {
        let mut setup = setup.clone();
        setup.spins.truncate(1);
        let found = assuming(&setup, drawn)?;
        let collection = found.spins.first().map(|s| s.collection);
        Ok(collection.map_or((0.0, false), |c| (c.platelets_above, c.unparted.is_some())))
    };
    let (mut all, mut unparted) = (Vec::new(), 0);
    for drawn in &draws() {
        let ((one, hidden), (other, hidden_too)) = (first(of, drawn)?, first(than, drawn)?);
        all.push(one - other);
        unparted += u16::from(hidden || hidden_too);
    }
    if untold(unparted).is_some() {
        return Ok(None);
    }
    sort_by(&mut all, f64::total_cmp);
    Ok(Some([0.1, 0.9].map(|share| quantile(&all, share).unwrap_or(0.0))))
}

/// What each assumption alone does to the share of platelets above the first spin's line, one standard deviation up less
/// one down, halved: the largest first. Errors: as [`banded`].
pub fn changes(setup: &Setup) -> Result<Vec<(&'static str, f64)>, ColumnError> {
    let first = |key, z| -> Result<f64, ColumnError> {
        let picture = assuming(setup, &Assumed::but(key, z))?;
        Ok(picture.spins.first().map_or(0.0, |s| s.collection.platelets_above))
    };
    let half = |key| Ok((key, 0.5 * (first(key, 1.0)? - first(key, -1.0)?)));
    let mut all = PRIORS.iter().map(|prior| half(prior.key)).collect::<Result<Vec<_>, ColumnError>>()?;
    sort_by(&mut all, |a, b| b.1.abs().total_cmp(&a.1.abs()));
    Ok(all)
}

/// The picture itself is never outside of its band: it is one of those that may be.
fn band(middle: &Picture, drawn: &[Picture], get: &dyn Fn(&Picture) -> Option<f64>) -> Band {
    let value = get(middle).unwrap_or(0.0);
    let [low, high] = ends(drawn, get).unwrap_or([value; 2]);
    Band { value, low: low.min(value), high: high.max(value) }
}

/// Ends of the middle 80 % of what the draws give.
fn ends(drawn: &[Picture], get: &dyn Fn(&Picture) -> Option<f64>) -> Option<[f64; 2]> {
    let mut all: Vec<f64> = drawn.iter().filter_map(get).collect();
    sort_by(&mut all, f64::total_cmp);
    Some([quantile(&all, 0.1)?, quantile(&all, 0.9)?])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The picture itself lies in the middle 80 % of what the draws give, before its band is made to hold it.
    #[test]
    fn the_middle_lies_among_the_draws() {
        let mut setup = Setup::from_json(include_str!("../../../tests/shell/demo_spin.json")).unwrap();
        setup.cells = 50;
        let middle = picture(&setup).unwrap();
        let drawn: Vec<Picture> = draws().iter().map(|drawn| assuming(&setup, drawn).unwrap()).collect();
        let figures: [fn(&Spun, usize) -> f64; 6] = [
            |s, i| s.series[i].above.interface / s.column,
            |s, i| s.series[i].above.volume / 15.0,
            |s, i| s.series[i].above.clear,
            |s, _| s.collection.line / s.column,
            |s, _| s.collection.above.get() / 15.0,
            |s, _| s.collection.platelets_above,
        ];
        let mut worst = (0.0, 0, 0, 0);
        for spin in 0..2 {
            for (which, figure) in figures.iter().enumerate() {
                for moment in 0..61 {
                    let get = |p: &Picture| Some(figure(&p.spins[spin], moment));
                    let ([low, high], value) = (ends(&drawn, &get).unwrap(), get(&middle).unwrap());
                    let out = (low - value).max(value - high);
                    if out > worst.0 {
                        worst = (out, spin, which, moment);
                    }
                }
            }
        }
        println!("outside by {worst:?}");
        assert!(worst.0 < 0.01, "{worst:?}");
    }
}
