//! A rotor from the side, as it runs: from the axis to the surface of the fluid, half-way down it, to the bottom of the
//! tube. To scale along the radius; how wide the tube is and how it slants is an example. Only looked at.

use super::frame::scaled;
use super::svg::{Drawing, Path, Svg, width as text_width};
use crate::dom::prelude::*;

/// What the picture shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct RadiiView {
    /// The tube keeps its angle.
    pub slanted: bool,
    /// Minimum and maximum radius [mm], where they are known.
    pub ends: (Option<f64>, Option<f64>),
    /// Every radius that is known [mm], with its words, the smallest first.
    pub radii: Vec<(f64, String)>,
    /// Word at the axis.
    pub axis: String,
}

/// Where the axis stands, and how far from it the largest radius.
const AXIS: f64 = 16.0;
const LONG: f64 = 250.0;
/// Half the width of the tube.
const HALF: f64 = 12.0;
/// Between dimension lines.
const ROW: f64 = 27.0;
/// Glass above the fluid.
const RIM: f64 = 18.0;

/// Draws the picture; nothing where no radius is known.
pub fn draw(view: &RadiiView) -> Drawing {
    let mut svg = Svg::default();
    let largest = view.radii.iter().map(|(r, _)| *r).fold(0.0, f64::max);
    if largest <= 0.0 {
        return Drawing::default();
    }
    let x = |mm: f64| AXIS + LONG * mm / largest;
    // Along the tube, outward: level, or half-way down.
    let (s, c) = if view.slanted { (0.5_f64.sqrt(), 0.5_f64.sqrt()) } else { (1.0, 0.0) };
    let mut base = 52.0;
    // Where the middle of the tube is at a place along the radius.
    let mut level = (0.0, 28.0);
    if let Some(bottom) = view.ends.1.map(x) {
        let surface = view.ends.0.map(x);
        let half = surface.map_or(HALF, |surface| HALF.min((bottom - surface) / 4.0)).max(1.0);
        let middle = bottom - half;
        // From the round end back along either wall to where the upright surface meets it.
        let to = |surface: f64| [(middle - half * c - surface) / s, (middle + half * c - surface) / s];
        let rim = match surface {
            Some(surface) => to(surface)[1] + RIM.min((surface - AXIS) / 2.0),
            None => LONG * 0.3,
        };
        let down = 20.0 + rim * c + half;
        let tube = |[near, far]: [f64; 2]| {
            let mut path = Path::from(middle - half * c - near * s, down + half * s - near * c);
            path.line_to(middle - half * c, down + half * s);
            path.arc_to(half, middle + half * c, down - half * s);
            path.line_to(middle + half * c - far * s, down - half * s - far * c);
            path
        };
        if let Some(surface) = surface {
            let mut fluid = tube(to(surface));
            fluid.close();
            svg.path("blood", &fluid);
        }
        svg.path("glass", &tube([rim, rim]));
        base = down + half;
        level = (middle, down);
    }
    let mut right: f64 = 0.0;
    let mut y = base;
    for (mm, words) in &view.radii {
        y += ROW;
        let from = level.1 - (level.0 - x(*mm)).max(0.0) * c / s;
        svg.line("leader", x(*mm), from, x(*mm), y + 5.0);
        svg.line("dim", AXIS, y, x(*mm), y);
        svg.text("axis-word", AXIS + 8.0, y - 5.0, words);
        right = right.max(x(*mm)).max(AXIS + 8.0 + text_width(words, 16.0));
    }
    svg.line("change", AXIS, 4.0, AXIS, y + 6.0);
    svg.text("second", 0.0, y + 24.0, &view.axis);
    Drawing { width: right + 8.0, height: y + 30.0, body: svg.finish() }
}

/// The picture, with the words for a screen reader.
#[component]
pub fn RadiiPicture(
    /// What to draw.
    #[prop(into)]
    view: Signal<RadiiView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
) -> impl IntoView {
    let drawing = memo(move || draw(&view.read()));
    scaled("picture radii-picture", label, drawing)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn both(slanted: bool) -> RadiiView {
        RadiiView {
            slanted,
            ends: (Some(75.0), Some(150.0)),
            radii: vec![(75.0, "least".into()), (112.5, "mean".into()), (150.0, "most".into())],
            axis: "axis".into(),
        }
    }

    /// 250 units for 150 mm: 75 mm ends at 16 + 125 = 141, the bottom at 266.
    #[test]
    fn radii_are_to_scale_and_the_fluid_lies_between_them() {
        let level = draw(&both(false)).body;
        assert!(level.contains("<line class=\"dim\" x1=\"16\" y1=\"71\" x2=\"141\" y2=\"71\"/>"), "{level}");
        assert!(level.contains("x2=\"203.5\"") && level.contains("x2=\"266\""));
        // The fluid of a level tube begins at its minimum radius on both walls, and ends in a round end at the maximum.
        assert!(
            level.contains("<path class=\"blood\" d=\"M141 44L254 44A12 12 0 0 0 254 20L141 20Z\"/>"),
            "{level}"
        );
    }

    /// In running position the surface is upright in a slanted tube too: both its ends stand at the minimum radius.
    #[test]
    fn the_surface_in_a_slanted_tube_is_upright() {
        let body = draw(&both(true)).body;
        let fluid = body.split("class=\"blood\" d=\"M").nth(1).unwrap();
        assert!(fluid.starts_with("141 "), "{body}");
        let last = fluid.split('"').next().unwrap().rsplit('L').next().unwrap();
        assert!(last.starts_with("141 "), "{last}");
    }

    #[test]
    fn what_is_not_known_is_not_drawn() {
        assert_eq!(draw(&RadiiView::default()).body, "");
        let most =
            RadiiView { ends: (None, Some(155.0)), radii: vec![(155.0, "most".into())], ..both(false) };
        let body = draw(&most).body;
        assert!(body.contains("glass") && !body.contains("blood"));
        let least = RadiiView { ends: (Some(75.0), None), radii: vec![(75.0, "least".into())], ..both(true) };
        assert!(!draw(&least).body.contains("glass"));
    }
}
