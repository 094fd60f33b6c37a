//! The ground of a chart: values upwards on a logarithmic scale, with numbers at the left. Shares of the width and
//! text heights, so that type keeps its size.

use super::axis::{Step, word};
use super::svg::{Len, Path, Svg};

/// Left and right end of the plot, in percent of the width.
pub const LEFT: f64 = 11.0;
pub const RIGHT: f64 = 90.0;
/// Upper end and height of the plot, and height of the whole picture, in text heights.
pub const TOP: f64 = 2.4;
pub const TALL: f64 = 16.0;
pub const HEIGHT: f64 = TOP + TALL + 3.2;

/// A logarithmic scale from the smallest to the largest value.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plot {
    low: f64,
    high: f64,
}

impl Plot {
    /// Over all of these with a little room; `None` without any above 0.
    pub fn over(values: impl Iterator<Item = f64>) -> Option<Self> {
        let fit = values.filter(|v| v.is_finite() && *v > 0.0);
        let (low, high) = fit.fold((f64::INFINITY, 0.0_f64), |(l, h), v| (l.min(v), h.max(v)));
        // A tenth of the span on either side, a twentieth of the value at least.
        let room = (high / low).powf(0.1).max(1.05);
        (low <= high).then_some(Self { low: low / room, high: high * room })
    }

    /// Where a value stands, from 0 at the upper end to 1 at the lower.
    pub fn down(self, value: f64) -> f64 {
        let share = (self.high.ln() - value.max(f64::MIN_POSITIVE).ln()) / (self.high.ln() - self.low.ln());
        share.clamp(0.0, 1.0)
    }

    /// The same as a height in the picture.
    pub fn y(self, value: f64) -> f64 {
        TOP + TALL * self.down(value)
    }

    /// Round numbers between the ends, at most about eight.
    fn ticks(self) -> Vec<f64> {
        let Some(step) = Step::at_least((self.high - self.low) / 7.0) else { return Vec::new() };
        let mut n = (self.low / step.times(1.0)).ceil();
        let mut out = Vec::new();
        while step.times(n) <= self.high && out.len() < 20 {
            out.push(step.times(n));
            n += 1.0;
        }
        out
    }

    /// Draws both axes and the numbers of the upright one.
    pub fn draw(self, svg: &mut Svg, number: &dyn Fn(f64) -> String) {
        let bottom = TOP + TALL;
        svg.line("axis", Len::Percent(LEFT), Len::Em(TOP), Len::Percent(LEFT), Len::Em(bottom));
        svg.line("axis", Len::Percent(LEFT), Len::Em(bottom), Len::Percent(RIGHT), Len::Em(bottom));
        let mut last = f64::INFINITY;
        for value in self.ticks() {
            let y = self.y(value);
            svg.line("axis-tick", Len::Percent(LEFT - 1.0), Len::Em(y), Len::Percent(LEFT), Len::Em(y));
            // Numbers that would touch give way.
            if last - y > 1.2 {
                word(svg, "end", LEFT - 1.6, y + 0.3, &number(value));
                last = y;
            }
        }
    }

    /// What is drawn over the plot in hundredths of it, both ways.
    pub fn inside(svg: &mut Svg, draw: impl FnOnce(&mut Svg)) {
        let place = [Len::Percent(LEFT), Len::Em(TOP), Len::Percent(RIGHT - LEFT), Len::Em(TALL)];
        svg.stretched(place, draw);
    }
}

/// Percent of the picture for a share of the plot's width.
pub fn across(share: f64) -> f64 {
    LEFT + share * (RIGHT - LEFT)
}

/// A line through points given as shares of the plot; `None` below two.
pub fn polyline(points: impl Iterator<Item = (f64, f64)>) -> Option<Path> {
    let mut path: Option<Path> = None;
    let mut n = 0;
    for (x, y) in points {
        n += 1;
        match &mut path {
            Some(path) => path.line_to(100.0 * x, 100.0 * y),
            None => path = Some(Path::from(100.0 * x, 100.0 * y)),
        }
    }
    path.filter(|_| n > 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn equal_ratios_are_equal_distances() {
        let plot = Plot::over([0.5, 0.7, 0.98].into_iter()).unwrap();
        let step = plot.y(0.5) - plot.y(0.7);
        assert!((step - (plot.y(0.7) - plot.y(0.98))).abs() < 1e-9);
        assert!(plot.y(0.98) > TOP && plot.y(0.5) < TOP + TALL);
        // beyond the ends is drawn at them
        assert_eq!((plot.y(0.0), plot.y(9.0)), (TOP + TALL, TOP));
    }

    #[test]
    fn one_value_has_room_and_none_has_no_plot() {
        let plot = Plot::over([0.7].into_iter()).unwrap();
        assert!((plot.y(0.7) - (TOP + TALL / 2.0)).abs() < 1e-9);
        assert_eq!(Plot::over([0.0, f64::NAN].into_iter()), None);
    }
}
