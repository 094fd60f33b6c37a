//! Where the first spin turns to fewer platelets above the cells, as a band over what is assumed: each draw takes every
//! prior at once, and in each the picture turns at a moment of its own, or not at all. Part of the picture, never a time
//! to spin.

use super::draws::{DRAWS, draws, quantile};
use super::{ColumnError, Parting, Picture, Setup, assuming};
use crate::arrange::sort_by;
use crate::quantity::Quantity;
use serde::{Deserialize, Serialize};

/// Less than that below the highest is no turn but the last of a plateau: grids of 50 to 400 cells differ by no more
/// (judgement, with the other choices of the picture).
const FALL: f64 = 0.03;
/// The highest is a plateau of minutes: what comes as near to it counts for it, and the turn is the middle of that.
const FLAT: f64 = 0.02;

/// When the share of the platelets clear of the cells is highest and falls from then on.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct TurningPoint {
    /// The low end of the 80 % band, its middle and its high end, since the spin began [s]; `None` where so many draws
    /// do not turn before the programme ends.
    pub ends: [Option<f64>; 3],
    /// Draws that turn before the programme ends.
    pub turned: u16,
    /// Draws in all.
    pub draws: u16,
}

/// Turning point of the first spin. Errors: as [`super::picture`], also with one of the draws.
pub fn turning_point(setup: &Setup) -> Result<TurningPoint, ColumnError> {
    setup.check()?;
    let mut first = setup.clone();
    first.spins.truncate(1);
    for spin in &mut first.spins {
        // Where it is parted moves nothing above the cells.
        spin.parting = Parting::NOWHERE;
        spin.profiles_at.clear();
    }
    let mut found = Vec::with_capacity(usize::from(DRAWS));
    for drawn in draws() {
        let picture = assuming(&first, &drawn)?;
        found.push(turns(&course(&picture)).unwrap_or(f64::INFINITY));
    }
    sort_by(&mut found, f64::total_cmp);
    let at = |share: f64| quantile(&found, share).filter(|t| t.is_finite());
    let turned = found.iter().filter(|t| t.is_finite()).count();
    Ok(TurningPoint {
        ends: [at(0.1), at(0.5), at(0.9)],
        turned: u16::try_from(turned).unwrap_or(DRAWS),
        draws: DRAWS,
    })
}

/// Moments of the first spin [s], with the share clear of the cells.
fn course(picture: &Picture) -> Vec<(f64, f64)> {
    let series = picture.spins.first().map_or(&[][..], |s| &s.series);
    series.iter().map(|m| (m.time.get(), m.above.clear)).collect()
}

/// The middle of the plateau of the highest share, if it falls afterwards.
fn turns(course: &[(f64, f64)]) -> Option<f64> {
    let highest = course.iter().map(|at| at.1).fold(f64::NEG_INFINITY, f64::max);
    let flat = highest - FLAT;
    // Where the line between two moments, one outside of the plateau and one on it, passes its edge.
    let edge = |[out, on]: [(f64, f64); 2]| out.0 + (on.0 - out.0) * (flat - out.1) / (on.1 - out.1);
    let first = course.iter().position(|at| at.1 >= flat)?;
    let last = course.iter().rposition(|at| at.1 >= flat)?;
    let (on, off) = (*course.get(first)?, *course.get(last)?);
    let begin = first.checked_sub(1).and_then(|i| course.get(i)).map_or(on.0, |out| edge([*out, on]));
    let end = edge([*course.get(last + 1)?, off]);
    (highest - course.last()?.1 > FALL).then_some(0.5 * (begin + end))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Seconds;
    use crate::spin::column::picture;
    use crate::spin::programme::Stage;

    /// The invented case’s first spin, held so many minutes.
    fn held(minutes: f64) -> Setup {
        let mut setup = Setup::from_json(include_str!("../../../tests/shell/demo_spin.json")).unwrap();
        setup.cells = 50;
        setup.spins[0].profiles_at.clear();
        for stage in &mut setup.spins[0].programme.0 {
            if let Stage::Hold { time, .. } = stage {
                *time = Seconds::new(60.0 * minutes).unwrap();
            }
        }
        setup
    }

    #[test]
    fn a_turn_is_the_middle_of_a_plateau_that_is_left() {
        // 0.58 is passed at 0.58/0.6 of the first minute and at 0.02/0.1 of the second.
        let found = turns(&[(0.0, 0.0), (60.0, 0.6), (120.0, 0.5)]).unwrap();
        assert!((found - 0.5 * (58.0 + 72.0)).abs() < 1e-9, "{found}");
        assert_eq!(turns(&[(0.0, 0.0), (1.0, 0.5), (2.0, 0.6)]), None);
        assert_eq!(turns(&[(0.0, 0.0), (1.0, 0.6), (2.0, 0.58)]), None, "a plateau");
        assert_eq!(turns(&[(0.0, 0.6), (1.0, 0.6), (2.0, 0.6)]), None);
        assert_eq!(turns(&[]), None);
        // A dip within the plateau, as grids make, moves nothing.
        let dip = [(0.0, 0.0), (60.0, 0.6), (90.0, 0.57), (120.0, 0.6), (180.0, 0.5)];
        assert!((turns(&dip).unwrap() - 0.5 * (58.0 + 132.0)).abs() < 1e-9);
    }

    /// However fine the grid and however long the hold, the same moment within a step of the longest course, or none.
    #[test]
    fn neither_grid_nor_hold_moves_the_turn() {
        let mut found = Vec::new();
        for (cells, minutes) in [(50, 20.0), (50, 40.0), (50, 60.0), (200, 20.0), (200, 40.0), (200, 60.0)] {
            let setup = Setup { cells, ..held(minutes) };
            let course = course(&picture(&setup).unwrap());
            let at = turns(&course).map(|t| t / 60.0);
            println!("{cells} cells, {minutes} min: turns at {at:?} min");
            found.extend(at);
            assert!(at.is_some() || minutes < 40.0);
        }
        let (low, high) = found.iter().fold((f64::INFINITY, 0.0_f64), |(l, h), t| (l.min(*t), h.max(*t)));
        assert!(high - low < 61.5 / 60.0, "{low} {high}");
    }

    /// What is shown of an hour is that of finer grids.
    #[test]
    fn an_hour_looks_the_same_on_finer_grids() {
        let of = |cells| course(&picture(&Setup { cells, ..held(60.0) }).unwrap());
        let fine = of(400);
        for (cells, most) in [(50, 0.03), (100, 0.02), (200, 0.01)] {
            let apart = of(cells).iter().zip(&fine).map(|(a, b)| (a.1 - b.1).abs()).fold(0.0, f64::max);
            println!("{cells} cells: {apart:.4} off 400 at the worst moment");
            assert!(apart < most, "{cells} {apart}");
        }
    }

    /// Long enough, every draw turns, and the picture of the middle turns within the band; too short, none does.
    #[test]
    fn the_band_holds_the_turn_of_the_middle() {
        let long = turning_point(&held(60.0)).unwrap();
        println!("60 min: {long:?}");
        let [Some(low), Some(middle), Some(high)] = long.ends else { panic!("{long:?}") };
        assert!(low < middle && middle < high);
        let series = picture(&held(60.0)).unwrap().spins.swap_remove(0).series;
        let course: Vec<_> = series.iter().map(|m| (m.time.get(), m.above.clear)).collect();
        let own = turns(&course).unwrap();
        assert!((low..=high).contains(&own), "{low} {own} {high}");
        let short = turning_point(&held(0.5)).unwrap();
        println!("0.5 min: {short:?}");
        assert_eq!((short.ends, short.turned), ([None; 3], 0));
    }

    /// What is cut off by the end of the programme is told as not turned.
    #[test]
    fn a_shorter_programme_hides_the_late_end() {
        let ten = turning_point(&held(10.0)).unwrap();
        println!("10 min: {ten:?}");
        let long = turning_point(&held(60.0)).unwrap();
        assert!(ten.turned < long.turned);
        assert_eq!(long.turned, DRAWS);
    }

    /// Faster, it turns sooner.
    #[test]
    fn more_force_turns_sooner() {
        use crate::spin::programme::Speed;
        let by = |g: f64| {
            let mut setup = held(60.0);
            for stage in &mut setup.spins[0].programme.0 {
                if let Stage::Hold { speed: Speed::Rcf { g: force, .. }, .. }
                | Stage::Ramp { to: Speed::Rcf { g: force, .. }, .. } = stage
                {
                    *force = Quantity::new(g).unwrap();
                }
            }
            turning_point(&setup).unwrap().ends[1].unwrap()
        };
        assert!(by(300.0) < by(180.0));
    }
}
