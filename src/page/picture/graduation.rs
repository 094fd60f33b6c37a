//! The lines of a container's own scale, thinned to what can be told apart in the picture.

use super::axis::Step;
use super::container::Glass;
use strawline::quantity::Quantity;

/// Small graduations stay this far apart.
const CLOSE: f64 = 4.0;
/// Numbered ones stay this far apart, nearer in a low container.
const APART: (f64, f64) = (22.0, 40.0);

/// A line of the container's own scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Graduation {
    /// Where it stands [mL].
    pub volume: f64,
    /// Long and numbered.
    pub numbered: bool,
}

/// The lines of a container's scale that can be told apart when 1 mL is `per_ml` units high.
pub fn graduations(glass: &Glass, per_ml: f64) -> Vec<Graduation> {
    let (step, capacity) = (glass.graduation.get(), glass.capacity.get());
    let mut out = Vec::new();
    let apart = (capacity * per_ml * 0.3).clamp(APART.0, APART.1);
    let Some(numbered) = Step::at_least((apart / per_ml).max(step)).map(|s| s.times(1.0)) else {
        return out;
    };
    // The smallest multiple of the container's own step that leaves room and meets every number.
    let fits = |m: &f64| step * m * per_ml >= CLOSE && whole(numbered / (step * m));
    let small = [1.0, 2.0, 4.0, 5.0, 10.0, 20.0, 25.0, 50.0, 100.0]
        .into_iter()
        .find(fits)
        .map_or(numbered, |m| step * m);
    let mut n = 1.0;
    // The lip itself needs no line.
    while n * small < capacity * 0.995 {
        let volume = n * small;
        out.push(Graduation { volume, numbered: whole(volume / numbered) });
        n += 1.0;
    }
    out
}

fn whole(ratio: f64) -> bool {
    ratio > 0.5 && (ratio - ratio.round()).abs() < 1e-6
}

#[cfg(test)]
mod tests {
    use super::*;
    use strawline::quantity::{Millimetre, Volume};
    use strawline::spin::tube::{End, Tube};

    #[test]
    fn graduations_thin_out_to_what_can_be_told_apart() {
        let glass = Glass {
            capacity: Volume::constant(17.0),
            graduation: Volume::constant(0.2),
            tube: Tube { inner_diameter: Millimetre::constant(15.0), end: End::Round, rated: None },
        };
        for per_ml in [3.0, 9.0, 20.0, 60.0] {
            let lines = graduations(&glass, per_ml);
            for pair in lines.windows(2) {
                assert!((pair[1].volume - pair[0].volume) * per_ml > CLOSE - 1e-6, "{per_ml}: {pair:?}");
            }
            let numbers: Vec<_> = lines.iter().filter(|l| l.numbered).map(|l| l.volume).collect();
            assert!(
                numbers.windows(2).all(|p| (p[1] - p[0]) * per_ml > APART.0 - 1e-6),
                "{per_ml}: {numbers:?}"
            );
            assert!(lines.iter().all(|l| whole(l.volume / 0.2)), "{per_ml}: off the container's own scale");
        }
        let numbers = |per_ml| {
            let lines = graduations(&glass, per_ml).into_iter().filter(|l| l.numbered);
            lines.map(|l| (l.volume * 100.0).round() / 100.0).collect::<Vec<_>>()
        };
        assert_eq!(numbers(20.0), [2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0]);
        assert_eq!(numbers(9.0), [5.0, 10.0, 15.0]);
    }
}
