//! The inside of a container: how high a volume stands, and how wide it is there. Lengths in mm, volumes in mL.

use super::svg::Path;
use std::f64::consts::PI;
use strawline::bench::Bottom;
use strawline::quantity::{Millimetre, Quantity};

/// Cubic millimetres in a millilitre.
const MM3: f64 = 1000.0;

/// A straight cylinder on a closed end.
#[derive(Debug, Clone, Copy)]
pub struct Profile {
    radius: f64,
    bottom: Bottom,
}

/// Where a profile is drawn: its axis, the height of its lowest point, units per mm.
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
}

impl Profile {
    /// From the inner diameter. One of nothing is drawn as a hair, so that no height is infinite.
    pub fn new(inner_diameter: Millimetre, bottom: Bottom) -> Self {
        Self { radius: (inner_diameter.get() / 2.0).max(0.01), bottom }
    }

    /// Inner diameter [mm].
    pub fn diameter(&self) -> f64 {
        self.radius * 2.0
    }

    /// Height of the closed end [mm].
    fn end(&self) -> f64 {
        match self.bottom {
            Bottom::Round => self.radius,
            Bottom::Conical => self.radius * 2.0,
            Bottom::Flat => 0.0,
        }
    }

    /// Volume below a height [mL].
    pub fn volume(&self, height: f64) -> f64 {
        let (r, h) = (self.radius, height.max(0.0));
        let low = h.min(self.end());
        let end = match self.bottom {
            // Cap of a sphere: π·h²·(3r − h)/3
            Bottom::Round => PI * low * low * (3.0 * r - low) / 3.0,
            // Cone as high as it is wide, so that its radius is h/2: π·h³/12
            Bottom::Conical => PI * low * low * low / 12.0,
            Bottom::Flat => 0.0,
        };
        (end + PI * r * r * (h - low)) / MM3
    }

    /// Height at which a volume stands [mm]: the inverse of [`Profile::volume`].
    pub fn height_of(&self, volume: f64) -> f64 {
        let (r, end) = (self.radius, self.end());
        let above = volume.max(0.0) - self.volume(end);
        if above >= 0.0 {
            return end + above * MM3 / (PI * r * r);
        }
        // In the closed end: halve until the step is below any number that a picture shows.
        let (mut low, mut high) = (0.0, end);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if self.volume(middle) < volume { low = middle } else { high = middle }
        }
        f64::midpoint(low, high)
    }

    /// Inner radius at a height [mm].
    pub fn radius_at(&self, height: f64) -> f64 {
        let (r, h) = (self.radius, height.max(0.0));
        match self.bottom {
            _ if h >= self.end() => r,
            Bottom::Round => (h * (2.0 * r - h)).max(0.0).sqrt(),
            Bottom::Conical => h / 2.0,
            Bottom::Flat => r,
        }
    }

    /// The outline from one height [mm] to another: down the left wall, across, up the right wall.
    pub fn outline(&self, pen: Pen, low: f64, high: f64) -> Path {
        let end = self.end();
        let at = |side: f64, h: f64| (pen.axis + side * self.radius_at(h) * pen.scale, pen.y(h));
        let (x, y) = at(-1.0, high);
        let mut path = Path::from(x, y);
        let knee = low.max(end.min(high));
        let mut wall = |side: f64, to: f64, curved: bool| {
            let (x, y) = at(side, to);
            if curved { path.arc_to(self.radius * pen.scale, x, y) } else { path.line_to(x, y) }
        };
        let curved = matches!(self.bottom, Bottom::Round) && low < knee;
        wall(-1.0, knee, false);
        wall(-1.0, low, curved);
        wall(1.0, low, false);
        wall(1.0, knee, curved);
        wall(1.0, high, false);
        path
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn profiles() -> Vec<Profile> {
        let mut all = Vec::new();
        for bottom in [Bottom::Round, Bottom::Conical, Bottom::Flat] {
            for diameter in [4.0, 14.5, 27.0, 80.0] {
                all.push(Profile::new(Millimetre::new(diameter).unwrap(), bottom));
            }
        }
        all
    }

    #[test]
    fn height_is_the_inverse_of_volume() {
        for profile in profiles() {
            for volume in [0.0, 0.01, 0.3, 0.5, 1.0, 2.0, 7.3, 15.0, 60.0, 500.0] {
                let back = profile.volume(profile.height_of(volume));
                assert!((back - volume).abs() < 1e-9, "{profile:?}: {volume} came back as {back}");
            }
        }
    }

    #[test]
    fn known_solids() {
        let of = |bottom| Profile::new(Millimetre::new(20.0).unwrap(), bottom);
        // Half a sphere of 10 mm: 2/3·π·10³ = 2094.395 mm³; a cone 20 by 20: 2094.395 mm³ too.
        assert!((of(Bottom::Round).volume(10.0) - 2.094_395).abs() < 1e-6);
        assert!((of(Bottom::Conical).volume(20.0) - 2.094_395).abs() < 1e-6);
        // A cylinder 20 wide holds 1 mL in 1000/(π·100) = 3.183 mm.
        assert!((of(Bottom::Flat).height_of(1.0) - 3.183_099).abs() < 1e-6);
        assert!((of(Bottom::Round).height_of(2.094_395) - 10.0).abs() < 1e-5);
    }

    #[test]
    fn the_outline_of_a_round_end_closes_in_its_lowest_point() {
        let profile = Profile::new(Millimetre::new(20.0).unwrap(), Bottom::Round);
        let pen = Pen { axis: 50.0, base: 100.0, scale: 1.0 };
        let mut svg = super::super::svg::Svg::default();
        svg.path("glass", &profile.outline(pen, 0.0, 30.0));
        let want = "M40 70L40 90A10 10 0 0 0 50 100L50 100A10 10 0 0 0 60 90L60 70";
        assert_eq!(svg.finish(), format!("<path class=\"glass\" d=\"{want}\"/>"));
    }

    #[test]
    fn a_slice_above_the_end_has_straight_walls() {
        let profile = Profile::new(Millimetre::new(20.0).unwrap(), Bottom::Conical);
        let mut svg = super::super::svg::Svg::default();
        svg.path("blood", &profile.outline(Pen { axis: 0.0, base: 0.0, scale: 1.0 }, 25.0, 30.0));
        assert_eq!(
            svg.finish(),
            "<path class=\"blood\" d=\"M-10 -30L-10 -25L-10 -25L10 -25L10 -25L10 -30\"/>"
        );
    }
}
