//! Round steps of a scale, and a horizontal axis drawn in shares of the width, so that its type never shrinks.

use super::svg::{Len, Svg};

/// Text of the size of axis words measures its own heights: this many to one of the picture's.
const WORD: f64 = 17.0 / 15.0;

/// Steps of 1, 2 or 5 times a power of ten.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Step {
    digit: f64,
    power: i32,
}

impl Step {
    /// The smallest step that is at least this long. None unless `least` is a positive number.
    pub fn at_least(least: f64) -> Option<Self> {
        if !(least.is_normal() && least > 0.0) {
            return None;
        }
        let mut step = Self { digit: 1.0, power: -9 };
        // A hair of tolerance, so that 0.1 + 0.2 is not more than 0.3.
        while step.times(1.0) < least * (1.0 - 1e-9) {
            step = match step.digit {
                d if d < 1.5 => Self { digit: 2.0, ..step },
                d if d < 3.0 => Self { digit: 5.0, ..step },
                _ if step.power < 12 => Self { digit: 1.0, power: step.power + 1 },
                _ => return None,
            };
        }
        Some(step)
    }

    /// So many steps, as the nearest number to the decimal.
    pub fn times(self, n: f64) -> f64 {
        let factor = 10_f64.powi(self.power.abs());
        if self.power < 0 { n * self.digit / factor } else { n * self.digit * factor }
    }
}

/// Ticks from 0 to `max` in round steps, at most `count` steps.
pub fn ticks(max: f64, count: f64) -> Vec<f64> {
    let mut out = Vec::new();
    if let Some(step) = Step::at_least(max / count) {
        let mut n = 0.0;
        while step.times(n) <= max * (1.0 + 1e-9) {
            out.push(step.times(n));
            n += 1.0;
        }
    }
    out
}

/// A horizontal axis from 0 over the whole width of the picture.
#[derive(Debug, Clone, Copy)]
pub struct Axis {
    /// What stands at the right end.
    pub max: f64,
}

impl Axis {
    /// Where a value stands, in percent of the width.
    pub fn at(self, value: f64) -> f64 {
        if self.max > 0.0 { (value / self.max).clamp(0.0, 1.0) * 100.0 } else { 0.0 }
    }

    /// Draws line, ticks and numbers at this height.
    pub fn draw(self, svg: &mut Svg, y: f64, number: &dyn Fn(f64) -> String) {
        svg.line("axis", Len::Percent(0.0), Len::Em(y), Len::Percent(100.0), Len::Em(y));
        for value in ticks(self.max, 7.0) {
            upright(svg, "axis-tick", self.at(value), y, y + 0.35);
            word(svg, "middle", self.at(value), y + 1.35, &number(value));
        }
    }
}

/// An upright line at a percentage of the width, from one height to another.
pub fn upright(svg: &mut Svg, class: &str, x: f64, from: f64, to: f64) {
    svg.line(class, Len::Percent(x), Len::Em(from), Len::Percent(x), Len::Em(to));
}

/// An upright bar this many units wide.
pub fn bar(svg: &mut Svg, class: &str, x: f64, width: f64, from: f64, to: f64) {
    // A rectangle cannot start at "50% − 3": it is drawn in a frame of its own.
    svg.frame(Len::Percent(x), |svg| svg.rect(class, -width / 2.0, Len::Em(from), width, Len::Em(to - from)));
}

/// A band from one percentage of the width to another.
pub fn band(svg: &mut Svg, class: &str, x: (f64, f64), from: f64, to: f64) {
    svg.rect(class, Len::Percent(x.0), Len::Em(from), Len::Percent((x.1 - x.0).max(0.0)), Len::Em(to - from));
}

/// Words with a halo of paper, so that they can be read over a hatch.
pub fn word(svg: &mut Svg, class: &str, x: f64, y: f64, words: &str) {
    svg.text(&["tick-word ", class].concat(), Len::Percent(x), Len::Em(y * WORD), words);
}

/// Words over a place, kept within the width.
pub fn word_over(svg: &mut Svg, x: f64, y: f64, words: &str) {
    let class = match x {
        x if x < 20.0 => "",
        x if x > 80.0 => "end",
        _ => "middle",
    };
    word(svg, class, x, y, words);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_are_one_two_five() {
        let of = |least| Step::at_least(least).map(|s| s.times(1.0));
        let got: Vec<_> = [0.000_4, 0.03, 0.2, 0.21, 1.0, 1.3, 70.0, 500.0].map(of).into();
        assert_eq!(got, [0.000_5, 0.05, 0.2, 0.5, 1.0, 2.0, 100.0, 500.0].map(Some));
        assert_eq!([0.0, -1.0, f64::NAN, f64::INFINITY].map(of), [None; 4]);
    }

    #[test]
    fn ticks_are_the_nearest_decimals() {
        assert_eq!(ticks(1.0, 6.0), [0.0, 0.2, 0.4, 0.6, 0.8, 1.0]);
        assert_eq!(ticks(6.5, 7.0), [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0]);
        assert_eq!(ticks(1365.0, 7.0), [0.0, 200.0, 400.0, 600.0, 800.0, 1000.0, 1200.0]);
        assert_eq!(ticks(0.7, 7.0), [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7]);
        assert!(ticks(0.0, 7.0).is_empty() && ticks(f64::NAN, 7.0).is_empty());
    }

    #[test]
    fn a_place_is_a_share_of_the_width() {
        assert_eq!(Axis { max: 6.5 }.at(3.25), 50.0);
        assert_eq!(Axis { max: 6.5 }.at(9.0), 100.0);
        assert_eq!(Axis { max: 0.0 }.at(9.0), 0.0);
    }
}
