//! Curves over an axis from 0, with a band about each that has one. Only looked at.

use super::axis::{ticks, upright, word};
use super::frame::wide;
use super::plot::polyline;
use super::svg::{Len, Svg};
use crate::dom::prelude::*;

/// What the picture shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CurveView {
    /// Right and upper end.
    pub ends: (f64, f64),
    /// Points of each curve; the second is drawn broken.
    pub curves: Vec<Vec<(f64, f64)>>,
    /// Low and high end about each curve, where each of its points is; empty where it has none. The second is drawn by
    /// its edge alone.
    pub bands: Vec<Vec<(f64, f64)>>,
    /// Where to stand an upright line over the whole, with its word.
    pub marks: Vec<(f64, String)>,
    /// Stretches of the whole by name: from, to, the name and a short one for where there is little room.
    pub named: Vec<(f64, f64, [String; 2])>,
    /// From where to where something lies, with its word; without an end to the right end of the picture.
    pub span: Option<(f64, Option<f64>, String)>,
    /// Words at the upright and the level axis.
    pub words: [String; 2],
}

const LEFT: f64 = 12.0;
const RIGHT: f64 = 97.0;
/// So wide a stretch has room for its whole name on a phone.
const ROOM: f64 = 30.0;
const TOP: f64 = 2.6;
const TALL: f64 = 8.0;
/// A strip above the plot for names of stretches, in two rows.
const STRIP: f64 = 2.2;

/// Upper end of the plot, under the strip where there is one.
fn top_of(view: &CurveView) -> f64 {
    if view.named.is_empty() { TOP } else { TOP + STRIP }
}

/// Height of the whole.
fn height(view: &CurveView) -> f64 {
    top_of(view) + TALL + 2.9
}

/// Draws the picture. `number` writes the numbers at both axes.
pub fn draw(view: &CurveView, number: &dyn Fn(f64) -> String) -> String {
    let mut svg = Svg::default();
    let (right, upper) = view.ends;
    if !(right > 0.0 && upper > 0.0) {
        return svg.finish();
    }
    let place = |(x, y): (f64, f64)| ((x / right).clamp(0.0, 1.0), 1.0 - (y / upper).clamp(0.0, 1.0));
    let top = top_of(view);
    let bottom = top + TALL;
    let x_of = |x: f64| LEFT + (x / right).clamp(0.0, 1.0) * (RIGHT - LEFT);
    if let Some((from, to, words)) = &view.span {
        let (left, end) = (x_of(*from), to.map_or(RIGHT, x_of));
        svg.rect("turn-band", Len::Percent(left), Len::Em(top), Len::Percent(end - left), Len::Em(TALL));
        upright(&mut svg, "turn-end", left, top, bottom);
        // Where there is no later end it stays open.
        if to.is_some() {
            upright(&mut svg, "turn-end", end, top, bottom);
        }
        word(&mut svg, "middle second", f64::midpoint(left, end), top - 0.4, words);
    }
    svg.stretched([Len::Percent(LEFT), Len::Em(top), Len::Percent(RIGHT - LEFT), Len::Em(TALL)], |svg| {
        let banded =
            view.curves.iter().zip(&view.bands).enumerate().filter(|(_, (_, band))| !band.is_empty());
        for (i, (curve, band)) in banded {
            let low = curve.iter().zip(band).map(|((x, _), (low, _))| place((*x, *low)));
            let high = curve.iter().zip(band).rev().map(|((x, _), (_, high))| place((*x, *high)));
            if let Some(mut band) = polyline(low.chain(high)) {
                band.close();
                svg.path(if i == 0 { "curve-band" } else { "curve-band second" }, &band);
            }
        }
        for (i, curve) in view.curves.iter().enumerate() {
            if let Some(path) = polyline(curve.iter().map(|p| place(*p))) {
                svg.path(if i == 0 { "curve" } else { "curve second" }, &path);
            }
        }
    });
    // Neighbours take turns in height, so that short ones do not meet.
    for (i, (from, to, [name, short])) in view.named.iter().enumerate() {
        let (left, end) = (x_of(*from), x_of(*to));
        let y = top - STRIP + if i % 2 == 0 { 0.0 } else { 1.0 };
        let name = if end - left > ROOM { name } else { short };
        word(&mut svg, "middle second", f64::midpoint(left, end), y, name);
        upright(&mut svg, "stage-end", end, top - STRIP - 0.7, bottom);
    }
    upright(&mut svg, "axis", LEFT, top, bottom);
    svg.line("axis", Len::Percent(LEFT), Len::Em(bottom), Len::Percent(RIGHT), Len::Em(bottom));
    for value in ticks(right, 6.0) {
        upright(&mut svg, "axis-tick", x_of(value), bottom, bottom + 0.35);
        word(&mut svg, "middle", x_of(value), bottom + 1.3, &number(value));
    }
    for value in ticks(upper, 4.0) {
        let y = top + TALL * (1.0 - value / upper);
        svg.line("axis-tick", Len::Percent(LEFT - 1.0), Len::Em(y), Len::Percent(LEFT), Len::Em(y));
        word(&mut svg, "end", LEFT - 1.6, y + 0.3, &number(value));
    }
    for (x, words) in &view.marks {
        upright(&mut svg, "change", x_of(*x), top - 0.4, bottom);
        word(&mut svg, "middle second", x_of(*x), top - 0.5, words);
    }
    let [y, x] = &view.words;
    word(&mut svg, "second end", RIGHT, bottom + 2.5, x);
    word(&mut svg, "second", 0.0, TOP - 1.5, y);
    svg.finish()
}

/// The picture, with the words for a screen reader. As wide as the place it stands in.
#[component]
pub fn CurvePicture(
    /// What to draw.
    #[prop(into)]
    view: Signal<CurveView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
    /// Writes the numbers.
    #[prop(into)]
    number: Callback<f64, String>,
) -> impl IntoView {
    let body = memo(move || draw(&view.read(), &|value| number.run(value)));
    wide("picture curve-picture", label, memo(move || view.with(height)).into(), body)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn curves_and_bands_stand_where_they_read() {
        let view = CurveView {
            ends: (10.0, 100.0),
            curves: vec![vec![(0.0, 0.0), (10.0, 50.0)], vec![(0.0, 0.0), (5.0, 100.0)]],
            bands: vec![vec![(0.0, 0.0), (25.0, 75.0)], vec![(0.0, 10.0), (90.0, 100.0)]],
            marks: vec![(5.0, "by hand".into())],
            named: vec![
                (0.0, 5.0, ["Stage 1, hold".into(), "1".into()]),
                (5.0, 6.0, ["Stage 2".into(), "2".into()]),
            ],
            span: Some((5.0, None, "turns".into())),
            words: ["mm".into(), "min".into()],
        };
        let body = draw(&view, &|v| v.to_string());
        assert!(body.contains("<path class=\"curve\" d=\"M0 100L100 50\"/>"), "{body}");
        assert!(body.contains("<path class=\"curve second\" d=\"M0 100L50 0\"/>"), "{body}");
        assert!(body.contains("<path class=\"curve-band\" d=\"M0 100L100 75L100 25L0 100Z\"/>"), "{body}");
        // The second by its edge: two greys would be one where they meet.
        assert_eq!(body.matches("class=\"curve-band second\"").count(), 1);
        assert!(body.contains(">by hand</text>"));
        // Names stand in their strip, above the plot.
        assert!(body.contains("y=\"2.95em\">Stage 1, hold</text>"), "{body}");
        let plain = CurveView { named: Vec::new(), ..view.clone() };
        assert!((height(&view) - height(&plain) - STRIP).abs() < 1e-9);
        // A short stretch has its short name.
        assert!(
            body.contains(">Stage 1, hold</text>") && body.contains(">2</text>") && !body.contains("Stage 2")
        );
        assert_eq!(body.matches("class=\"stage-end\"").count(), 2);
        // From the middle, 12 + 85/2 %, to the right end.
        assert!(body.contains("<rect class=\"turn-band\" x=\"54.5%\" y=\"4.8em\" width=\"42.5%\""), "{body}");
        // Open where there is no later end, closed where there is.
        assert_eq!(body.matches("class=\"turn-end\"").count(), 1);
        let closed = CurveView { span: Some((5.0, Some(7.0), "turns".into())), ..view };
        assert_eq!(draw(&closed, &|v| v.to_string()).matches("class=\"turn-end\"").count(), 2);
        assert_eq!(draw(&CurveView::default(), &|v| v.to_string()), "");
    }
}
