//! The tube: its cross-section along r, and the height a volume fills it to.

use crate::quantity::{Millimetre, Quantity, Rcf, Volume};
use serde::{Deserialize, Serialize};
use strawline_sedimentation::Grid;

/// Shape of the closed end, which points away from the axis.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum End {
    /// A cylinder to the last.
    Flat,
    /// Half a sphere.
    Round,
    /// A cone.
    Cone {
        /// How high, at most 200 mm.
        height: Millimetre,
        /// How wide at its tip, less than the tube.
        tip: Millimetre,
    },
    /// The nozzle of a syringe, below a flat shoulder.
    Hub {
        /// How long, 1 to 50 mm.
        length: Millimetre,
        /// How wide, 0.5 mm to less than the barrel.
        diameter: Millimetre,
    },
}

/// A tube in a bucket that swings out.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Tube {
    /// Inner diameter, 3 to 100 mm.
    pub inner_diameter: Millimetre,
    /// Closed end.
    pub end: End,
    /// Force that it is rated for, so that no speed is set above it by rounding alone.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rated: Option<Rcf>,
}

/// Highest column [m].
pub(super) const HIGHEST: f64 = 0.2;

/// What a length of a tube may be.
pub(super) struct Bounds {
    pub field: &'static str,
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

impl Tube {
    /// Every length with what it may be [mm].
    pub(super) fn bounds(&self) -> Vec<Bounds> {
        let wide = self.inner_diameter.get();
        let of = |field, value: Millimetre, low, high| Bounds { field, value: value.get(), low, high };
        let mut all = vec![of("inner_diameter", self.inner_diameter, 3.0, 100.0)];
        match self.end {
            End::Flat | End::Round => {}
            End::Cone { height, tip } => all.extend([
                of("end.cone.height", height, 1.0, 1000.0 * HIGHEST),
                of("end.cone.tip", tip, 0.0, 0.9 * wide),
            ]),
            End::Hub { length, diameter } => all.extend([
                of("end.hub.length", length, 1.0, 50.0),
                of("end.hub.diameter", diameter, 0.5, 0.9 * wide),
            ]),
        }
        all
    }

    /// Height of the closed end [mm].
    pub fn end_height(&self) -> f64 {
        1000.0 * self.end()
    }

    /// Height to which a volume [mL] fills it, however high it would have to be [mm].
    pub fn height_of(&self, volume: f64) -> f64 {
        1000.0 * self.filled_to(volume.max(0.0) / 1e6)
    }

    /// Height of a millilitre in the barrel [mm].
    pub fn millilitre(&self) -> f64 {
        1e-3 / self.area(f64::INFINITY)
    }

    /// Inner width at a height above the bottom [mm]; at a shoulder, that of the opening.
    pub fn wide_at(&self, height: f64) -> f64 {
        1000.0 * self.width_at(height.max(0.0) / 1000.0)
    }

    fn width(&self) -> f64 {
        self.inner_diameter.get() / 1000.0
    }

    /// Height of the closed end [m].
    fn end(&self) -> f64 {
        match self.end {
            End::Flat => 0.0,
            End::Round => 0.5 * self.width(),
            End::Cone { height, .. } => height.get() / 1000.0,
            End::Hub { length, .. } => length.get() / 1000.0,
        }
    }

    /// Width at a height above the bottom [m].
    fn width_at(&self, x: f64) -> f64 {
        let width = self.width();
        if x > self.end() {
            return width;
        }
        match self.end {
            End::Flat => width,
            End::Round => 2.0 * libm::sqrt((x * (width - x)).max(0.0)),
            End::Cone { tip, .. } => {
                let tip = tip.get() / 1000.0;
                tip + (width - tip) * x / self.end()
            }
            End::Hub { diameter, .. } => diameter.get() / 1000.0,
        }
    }

    /// Cross-section at a height above the bottom [m²]; at a shoulder, that of the opening.
    fn area(&self, x: f64) -> f64 {
        let width = self.width_at(x);
        core::f64::consts::FRAC_PI_4 * width * width
    }

    /// Volume below a height above the bottom [m³].
    fn volume(&self, x: f64) -> f64 {
        let (end, within) = (self.end(), x.min(self.end()));
        let below = match self.end {
            End::Flat => 0.0,
            // π·(r·x² − x³/3)
            End::Round => core::f64::consts::PI * within * within * (0.5 * self.width() - within / 3.0),
            // a cone cut off: x·(A₀ + √(A₀·A₁) + A₁)/3
            End::Cone { .. } => {
                let (low, high) = (self.width_at(0.0), self.width_at(within));
                core::f64::consts::FRAC_PI_4 * within * (low * low + low * high + high * high) / 3.0
            }
            End::Hub { .. } => self.area(within) * within,
        };
        let width = self.width();
        below + core::f64::consts::FRAC_PI_4 * width * width * (x - end).max(0.0)
    }

    /// Height that a volume fills [m]; `None` where it is higher than [`HIGHEST`].
    pub(super) fn height(&self, volume: Volume) -> Option<f64> {
        Some(self.filled_to(volume.get() / 1e6)).filter(|height| *height <= HIGHEST)
    }

    /// Height that a volume [m³] fills [m].
    fn filled_to(&self, wanted: f64) -> f64 {
        let end = self.volume(self.end());
        if wanted >= end {
            return self.end() + (wanted - end) / self.area(f64::INFINITY);
        }
        let (mut low, mut high) = (0.0, self.end());
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.volume(middle) < wanted { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    /// Cuts a column so high into about so many cells, its bottom so far from the axis [m]. No cell reaches across the
    /// edge between end and barrel, where the cross-section may jump.
    pub(super) fn grid(&self, height: f64, bottom: f64, cells: u16) -> Grid {
        let end = self.end();
        // A sliver above or below the edge is left to the other part: it would make every step as short as itself.
        let sliver = 0.25 * height / f64::from(cells);
        let parts = if end > sliver && height - end > sliver {
            vec![(height, end), (end, 0.0)]
        } else {
            vec![(height, 0.0)]
        };
        let mut heights = vec![height];
        for (from, to) in parts {
            let wanted = libm::round(f64::from(cells) * (from - to) / height).max(1.0);
            let step = (from - to) / wanted;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "1 to 400")]
            let steps = 1..wanted as u32;
            heights.extend(steps.map(|i| from - step * f64::from(i)));
            heights.push(to);
        }
        let inner = heights.get(1..heights.len() - 1).unwrap_or_default();
        Grid {
            pull: inner.iter().map(|x| bottom - x).collect(),
            area: inner.iter().map(|x| self.area(*x)).collect(),
            volume: heights
                .iter()
                .zip(heights.iter().skip(1))
                .map(|(above, below)| self.volume(*above) - self.volume(*below))
                .collect(),
            faces: heights.iter().map(|x| bottom - x).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q};

    fn tube(end: End) -> Tube {
        Tube { inner_diameter: q(15.0), end, rated: None }
    }

    const ALL: [End; 4] = [
        End::Flat,
        End::Round,
        End::Cone { height: Millimetre::constant(15.0), tip: Millimetre::constant(2.0) },
        End::Hub { length: Millimetre::constant(10.0), diameter: Millimetre::constant(4.0) },
    ];

    /// Volumes of solids, as in any table of mensuration.
    #[test]
    fn volumes_as_tabulated() {
        use core::f64::consts::PI;
        let all = ALL.map(|end| tube(end).volume(0.03) * 1e6);
        let body = |mm: f64| PI / 4.0 * 0.225 * mm;
        near(all[0], body(30.0), 1e-12);
        near(all[1], 2.0 / 3.0 * PI * 0.75 * 0.75 * 0.75 + body(22.5), 1e-12);
        near(all[2], PI / 12.0 * 1.5 * (1.5 * 1.5 + 1.5 * 0.2 + 0.2 * 0.2) + body(15.0), 1e-12);
        near(all[3], PI / 4.0 * 0.16 + body(20.0), 1e-12);
    }

    #[test]
    fn a_height_holds_its_volume_and_the_cells_hold_it_too() {
        for end in ALL {
            let tube = tube(end);
            for ml in [0.05, 0.5, 1.0, 2.0, 5.0, 15.0] {
                let height = tube.height(q(ml)).unwrap();
                near(tube.volume(height) * 1e6, ml, 1e-9);
                let grid = tube.grid(height, 0.155, 60);
                near(grid.volume.iter().sum::<f64>() * 1e6, ml, 1e-9);
                assert_eq!(grid.faces.len(), grid.volume.len() + 1);
                assert!(grid.volume.iter().all(|v| *v > 0.0) && grid.area.iter().all(|a| *a > 0.0));
                assert!(grid.faces.windows(2).all(|f| f[0] < f[1]));
            }
            assert_eq!(tube.height(q(100.0)), None);
            // What only draws it wants a height whatever it is: of 100 mL in a barrel of 15 mm over half a metre.
            near(tube.volume(tube.height_of(100.0) / 1000.0) * 1e6, 100.0, 1e-9);
            near(tube.height_of(101.0) - tube.height_of(100.0), tube.millilitre(), 1e-9);
        }
    }

    #[test]
    fn the_cross_section_is_what_the_volume_grows_by() {
        for end in ALL {
            let tube = tube(end);
            for x in [0.001, 0.004, 0.0071, 0.0112, 0.02] {
                let grown = (tube.volume(x + 1e-6) - tube.volume(x - 1e-6)) / 2e-6;
                near(grown / tube.area(x), 1.0, 1e-6);
            }
        }
    }
}
