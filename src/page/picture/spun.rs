//! A spun column to scale, its layers by name, and beside it at the same heights what is in them. Only looked at.

use super::plot::polyline;
use super::profile::{Pen, Profile};
use super::svg::{Drawing, Len, Svg, rem, width as text_width};
use crate::dom::prelude::*;
use strawline::bench::Bottom;
use strawline::quantity::Millimetre;

/// What the picture shows.
#[derive(Debug, Clone, PartialEq)]
pub struct SpunView {
    /// Inner diameter.
    pub diameter: Millimetre,
    /// Closed end.
    pub bottom: Bottom,
    /// Height of the column [mm].
    pub column: f64,
    /// Most that any column beside it is high [mm]: one scale for all.
    pub highest: f64,
    /// Layers by class, name, upper and lower height [mm], from the top down.
    pub parts: Vec<(&'static str, String, f64, f64)>,
    /// Height [mm], red cells [share], platelets [times the start].
    pub layers: Vec<(f64, f64, f64)>,
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
    let scale = TALL / view.highest.max(1.0);
    let pen = Pen { axis: 44.0, base: EDGE + TALL, scale };
    // So wide a tube is drawn narrower than to scale only where it would meet the curves.
    let profile = Profile::new(view.diameter, view.bottom);
    let mut name_at = f64::NEG_INFINITY;
    let mut longest = 0.0_f64;
    for (class, name, upper, lower) in &view.parts {
        let mut shape = profile.outline(pen, *lower, *upper);
        shape.close();
        svg.path(class, &shape);
        let middle = f64::midpoint(pen.y(*upper), pen.y(*lower));
        name_at = (middle + 5.0).max(name_at + APART);
        svg.text("name", NAMES, name_at, name);
        longest = longest.max(text_width(name, 17.0));
    }
    svg.path("glass", &profile.outline(pen, 0.0, view.column + 6.0));
    // Beside it, at the same heights.
    let (top, base) = (pen.y(view.column), pen.y(0.0));
    svg.line("axis", CURVES, top, CURVES, base);
    svg.line("axis", CURVES, base, CURVES + WIDE, base);
    let place = [Len::Unit(CURVES), Len::Unit(top), Len::Unit(WIDE), Len::Unit(base - top)];
    svg.stretched(place, |svg| {
        let down = |h: f64| 1.0 - h / view.column.max(0.1);
        let red = view.layers.iter().map(|(h, red, _)| (red.clamp(0.0, 1.0), down(*h)));
        let platelets =
            view.layers.iter().map(|(h, _, p)| ((p / view.most.max(1e-6)).clamp(0.0, 1.0), down(*h)));
        for (class, path) in [("curve", polyline(platelets)), ("curve second", polyline(red))] {
            if let Some(path) = path {
                svg.path(class, &path);
            }
        }
    });
    let [platelets, red] = &view.words;
    for (words, class, y) in [(platelets, "curve", base + 18.0), (red, "curve second", base + 37.0)] {
        svg.line(class, 4.0, y - 5.0, 30.0, y - 5.0);
        svg.text("second", 36.0, y, words);
        longest = longest.max(text_width(words, 14.0) + 36.0 - NAMES);
    }
    if let Some((height, name)) = &view.line {
        let y = pen.y(*height);
        svg.line("line-ink", 6.0, y, CURVES + WIDE, y);
        svg.text("second", 2.0, y - 4.0, name);
    }
    Drawing { width: NAMES + longest + 8.0, height: EDGE + TALL + FOOT, body: svg.finish() }
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
    view! {
        <svg
            class="picture spun-picture"
            role="img"
            aria-label=move || label.get()
            viewBox=move || drawing.with(Drawing::view_box)
            width=move || drawing.with(|d| rem(d.width))
            height=move || drawing.with(|d| rem(d.height))
            inner_html=move || drawing.with(|d| d.body.clone())
        ></svg>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use strawline::quantity::Quantity;

    #[test]
    fn layers_stand_at_their_heights_under_their_names() {
        let view = SpunView {
            diameter: Millimetre::new(15.0).unwrap(),
            bottom: Bottom::Flat,
            column: 100.0,
            highest: 115.0,
            parts: vec![("plasma", "plasma".into(), 100.0, 50.0), ("blood", "packed".into(), 50.0, 0.0)],
            layers: vec![(75.0, 0.0, 1.5), (25.0, 0.8, 0.2)],
            most: 2.0,
            line: Some((60.0, "line".into())),
            words: ["platelets".into(), "red".into()],
        };
        let body = draw(&view).body;
        // 2 units a mm, 0 at 244: 50 mm at 144, 60 mm at 124
        assert!(body.contains("<path class=\"blood\" d=\"M29 144L"), "{body}");
        assert!(body.contains("<line class=\"line-ink\" x1=\"6\" y1=\"124\""), "{body}");
        // 1.5 of 2 across, a quarter down
        assert!(body.contains("<path class=\"curve\" d=\"M75 25L10 75\"/>"), "{body}");
        assert!(body.contains(">plasma</text>") && body.contains(">packed</text>"));
    }
}
