//! A spun column to scale, its layers by name, and beside it at the same heights what is in them. Only looked at.

use super::frame::scaled;
use super::plot::polyline;
use super::profile::Pen;
use super::svg::{Drawing, Len, Svg, width as text_width};
use crate::dom::prelude::*;
use strawline::arrange::sort_by;
use strawline::spin::tube::Tube;

/// What the picture shows.
#[derive(Debug, Clone, PartialEq)]
pub struct SpunView {
    /// The tube.
    pub tube: Tube,
    /// Height of the column [mm].
    pub column: f64,
    /// Most that any column beside it is high [mm]: one scale for all.
    pub highest: f64,
    /// Most that any tube beside it is wide [mm].
    pub widest: f64,
    /// Layers by class, name, upper and lower height [mm], from the top down.
    pub parts: Vec<(&'static str, String, f64, f64)>,
    /// Height [mm], red cells [share], platelets [times the start], these only where they can be told.
    pub layers: Vec<(f64, f64, Option<f64>)>,
    /// From where to where platelets gather and cannot be told [mm], with its word.
    pub gathers: Option<([f64; 2], String)>,
    /// Most that platelets come to, on the scale.
    pub most: f64,
    /// Where fluid is drawn to [mm], and its name.
    pub line: Option<(f64, String)>,
    /// Words of the two curves.
    pub words: [String; 2],
}

/// Height of the highest column, in user units; the same above it and below.
const TALL: f64 = 230.0;
const EDGE: f64 = 14.0;
/// Width of the widest tube: it stands clear of the curves.
const BROAD: f64 = 80.0;
const FOOT: f64 = 44.0;
/// Left end and width of the curves, and where names begin.
const CURVES: f64 = 96.0;
const WIDE: f64 = 88.0;
const NAMES: f64 = 194.0;
/// Names no nearer than this.
const APART: f64 = 19.0;

/// Draws the picture.
pub fn draw(view: &SpunView) -> Drawing {
    let mut svg = Svg::default();
    let scale = (TALL / view.highest.max(1.0)).min(BROAD / view.widest.max(1.0));
    let pen = Pen { axis: 44.0, base: EDGE + TALL, scale };
    let mut longest = 0.0_f64;
    let mut names = Vec::new();
    for (class, name, upper, lower) in &view.parts {
        let mut shape = pen.outline(&view.tube, *lower, *upper);
        shape.close();
        svg.path(class, &shape);
        names.push((f64::midpoint(pen.y(*upper), pen.y(*lower)), "name", name));
    }
    if let Some((height, name)) = &view.line {
        names.push((pen.y(*height), "second", name));
    }
    sort_by(&mut names, |a, b| a.0.total_cmp(&b.0));
    let mut name_at = f64::NEG_INFINITY;
    for (middle, class, name) in names {
        name_at = (middle + 5.0).max(name_at + APART);
        svg.text(class, NAMES, name_at, name);
        longest = longest.max(text_width(name, 17.0));
    }
    svg.path("glass", &pen.outline(&view.tube, 0.0, view.column + 6.0));
    // Beside it, at the same heights.
    let (top, base) = (pen.y(view.column), pen.y(0.0));
    svg.line("axis", CURVES, top, CURVES, base);
    svg.line("axis", CURVES, base, CURVES + WIDE, base);
    if let Some(([from, to], _)) = &view.gathers {
        let (from, to) = (pen.y(*from), pen.y(*to));
        svg.rect("gathers", CURVES, from, WIDE, to - from);
    }
    let place = [Len::Unit(CURVES), Len::Unit(top), Len::Unit(WIDE), Len::Unit(base - top)];
    svg.stretched(place, |svg| {
        let down = |h: f64| 1.0 - h / view.column.max(0.1);
        let red = view.layers.iter().map(|(h, red, _)| (red.clamp(0.0, 1.0), down(*h)));
        let at = |(h, _, p): &(f64, f64, Option<f64>)| {
            p.map(|p| ((p / view.most.max(1e-6)).clamp(0.0, 1.0), down(*h)))
        };
        // What cannot be told parts the curve: no line is drawn across.
        let told = view.layers.split(|(_, _, p)| p.is_none());
        let pieces = told.map(|piece| ("curve", polyline(piece.iter().filter_map(at))));
        for (class, path) in pieces.chain([("curve second", polyline(red))]) {
            if let Some(path) = path {
                svg.path(class, &path);
            }
        }
    });
    let [platelets, red] = &view.words;
    // Under a low column, names reach below it.
    let under = base.max(name_at);
    for (words, class, y) in [(platelets, "curve", under + 18.0), (red, "curve second", under + 37.0)] {
        svg.line(class, 4.0, y - 5.0, 30.0, y - 5.0);
        svg.text("second", 36.0, y, words);
        longest = longest.max(text_width(words, 14.0) + 36.0 - NAMES);
    }
    let mut foot = FOOT;
    if let Some((_, words)) = &view.gathers {
        let y = under + 56.0;
        svg.rect("gathers", 4.0, y - 11.0, 26.0, 12.0);
        svg.text("second", 36.0, y, words);
        longest = longest.max(text_width(words, 14.0) + 36.0 - NAMES);
        foot += 19.0;
    }
    if let Some((height, _)) = &view.line {
        let y = pen.y(*height);
        svg.line("line-ink", 2.0, y, NAMES - 4.0, y);
    }
    Drawing { width: NAMES + longest + 8.0, height: under + foot, body: svg.finish() }
}

/// The picture, with the words for a screen reader.
#[component]
pub fn SpunPicture(
    /// What to draw.
    #[prop(into)]
    view: Signal<SpunView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
) -> impl IntoView {
    let drawing = memo(move || draw(&view.read()));
    scaled("picture spun-picture", label, drawing)
}

#[cfg(test)]
mod tests {
    use super::*;
    use strawline::quantity::{Millimetre, Quantity};
    use strawline::spin::tube::End;

    fn mm(value: f64) -> Millimetre {
        Millimetre::new(value).unwrap()
    }

    #[test]
    fn layers_stand_at_their_heights_under_their_names() {
        let view = SpunView {
            tube: Tube { inner_diameter: mm(15.0), end: End::Flat, rated: None },
            column: 100.0,
            highest: 115.0,
            widest: 15.0,
            parts: vec![("plasma", "plasma".into(), 100.0, 50.0), ("blood", "packed".into(), 50.0, 0.0)],
            layers: vec![(75.0, 0.0, Some(1.5)), (25.0, 0.8, Some(0.2))],
            gathers: None,
            most: 2.0,
            line: Some((60.0, "line".into())),
            words: ["platelets".into(), "red".into()],
        };
        let body = draw(&view).body;
        // 2 units a mm, 0 at 244: 50 mm at 144, 60 mm at 124
        assert!(body.contains("<path class=\"blood\" d=\"M29 144L"), "{body}");
        assert!(body.contains("<line class=\"line-ink\" x1=\"2\" y1=\"124\""), "{body}");
        // 1.5 of 2 across, a quarter down
        assert!(body.contains("<path class=\"curve\" d=\"M75 25L10 75\"/>"), "{body}");
        assert!(body.contains(">plasma</text>") && body.contains(">packed</text>"));
        // Its word stands among the names, clear of the wall.
        assert!(body.contains("x=\"194\" y=\"129\">line</text>"), "{body}");
        // What cannot be told is hatched, and no line crosses it.
        let layers =
            [(95.0, Some(1.5)), (85.0, Some(1.6)), (55.0, None), (25.0, Some(0.4)), (15.0, Some(0.2))];
        let gathers = SpunView {
            layers: layers.map(|(h, p)| (h, 0.0, p)).into(),
            gathers: Some(([60.0, 50.0], "gathers".into())),
            ..view.clone()
        };
        let hatched = draw(&gathers).body;
        assert_eq!(hatched.matches("class=\"curve\" d").count(), 2, "{hatched}");
        assert!(hatched.contains("class=\"gathers\" x=\"96\" y=\"124\" width=\"88\" height=\"20\""));
        // A tube of 100 mm, or one beside it, keeps to its place at 0.8 units a mm: 30 mm stand 24 units high.
        let wide = Tube { inner_diameter: mm(100.0), end: End::Flat, rated: None };
        let view = SpunView {
            tube: wide,
            column: 30.0,
            highest: 36.0,
            widest: 100.0,
            parts: vec![("blood", "packed".into(), 30.0, 0.0)],
            ..view
        };
        let body = draw(&view).body;
        assert!(body.contains("<path class=\"blood\" d=\"M4 220L4 244L84 244L84 220Z\"/>"), "{body}");
    }
}
