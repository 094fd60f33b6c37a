//! The outline of a tube’s inside. Its shape, and how high a volume stands in it, are the core’s.

use super::svg::Path;
use strawline::spin::tube::{End, Tube};

/// Where a tube is drawn: its axis, the height of its lowest point, units per mm.
#[derive(Debug, Clone, Copy)]
pub struct Pen {
    pub axis: f64,
    pub base: f64,
    pub scale: f64,
}

impl Pen {
    /// The place on the page of a height above the bottom [mm].
    pub fn y(&self, height: f64) -> f64 {
        self.base - height * self.scale
    }

    /// Half of a tube’s inside at a height [mm], as drawn.
    pub fn half(&self, tube: &Tube, height: f64) -> f64 {
        0.5 * tube.wide_at(height) * self.scale
    }

    /// The outline from one height [mm] to another: down the left wall, across, up the right wall.
    pub fn outline(&self, tube: &Tube, low: f64, high: f64) -> Path {
        let end = tube.end_height();
        let mut heights = vec![high];
        if low < end && end < high {
            // At a shoulder the wall goes inwards at one height.
            heights.extend([end + 1e-6, end]);
        }
        heights.push(low);
        let left = heights.iter().map(|h| (-1.0, *h));
        let right = heights.iter().rev().map(|h| (1.0, *h));
        let mut path = Path::default();
        let mut before = None;
        for (side, h) in left.chain(right) {
            let (x, y) = (self.axis + side * self.half(tube, h), self.y(h));
            let curved =
                |(was, from): (f64, f64)| was == side && from.max(h) <= end && tube.end == End::Round;
            match before.replace((side, h)) {
                None => path = Path::from(x, y),
                Some(from) if curved(from) => {
                    path.arc_to(self.half(tube, end), x, y);
                }
                Some(_) => path.line_to(x, y),
            }
        }
        path
    }
}

#[cfg(test)]
mod tests {
    use super::super::svg::Svg;
    use super::*;
    use strawline::quantity::{Millimetre, Quantity};

    fn path(end: End, low: f64, high: f64) -> String {
        let tube = Tube { inner_diameter: mm(20.0), end, rated: None };
        let mut svg = Svg::default();
        svg.path("glass", &Pen { axis: 0.0, base: 0.0, scale: 1.0 }.outline(&tube, low, high));
        svg.finish().split('"').nth(3).unwrap_or_default().to_owned()
    }

    fn mm(value: f64) -> Millimetre {
        Millimetre::new(value).unwrap()
    }

    #[test]
    fn every_end_has_its_shape() {
        let hub = path(End::Hub { length: mm(10.0), diameter: mm(4.0) }, 0.0, 30.0);
        assert_eq!(hub, "M-10 -30L-10 -10L-2 -10L-2 0L2 0L2 -10L10 -10L10 -30");
        let cone = path(End::Cone { height: mm(20.0), tip: mm(2.0) }, 0.0, 30.0);
        assert_eq!(cone, "M-10 -30L-10 -20L-10 -20L-1 0L1 0L10 -20L10 -20L10 -30");
        // Half a sphere of 10 mm closes in its lowest point.
        let round = path(End::Round, 0.0, 30.0);
        assert_eq!(round, "M-10 -30L-10 -10L-10 -10A10 10 0 0 0 0 0L0 0A10 10 0 0 0 10 -10L10 -10L10 -30");
    }

    /// Half way up half a sphere of 10 mm it is √75 wide to each side.
    #[test]
    fn a_slice_is_cut_where_it_stands() {
        assert_eq!(path(End::Round, 5.0, 10.0), "M-10 -10A10 10 0 0 0 -8.66 -5L8.66 -5A10 10 0 0 0 10 -10");
        let cone = End::Cone { height: mm(20.0), tip: mm(0.0) };
        assert_eq!(path(cone, 25.0, 30.0), "M-10 -30L-10 -25L10 -25L10 -30");
    }
}
