//! Fold or recovery against something known of the blood or the product, with the learned line and its band.

use super::axis::{Step, word};
use super::frame::wide;
use super::plot::{HEIGHT, Plot, TALL, TOP, across, polyline};
use super::svg::{Len, Svg};
use crate::dom::prelude::*;

/// What the picture shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AgainstView {
    /// What stands along the foot, and fold or recovery.
    pub marks: Vec<(f64, f64)>,
    /// Place, lower end, middle and upper end of the line.
    pub line: Vec<[f64; 4]>,
    /// Name of what stands along the foot, with its unit.
    pub foot: String,
}

/// Draws the picture. `value` writes fold or recovery, `place` what stands along the foot.
pub fn draw(view: &AgainstView, value: &dyn Fn(f64) -> String, place: &dyn Fn(f64) -> String) -> String {
    let mut svg = Svg::default();
    let values = view.marks.iter().map(|m| m.1);
    let ends = view.line.iter().flat_map(|[_, low, _, high]| [*low, *high]);
    let Some(plot) = Plot::over(values.chain(ends)) else { return svg.finish() };
    let places = || view.marks.iter().map(|m| m.0);
    let (low, high) = (places().fold(f64::INFINITY, f64::min), places().fold(f64::NEG_INFINITY, f64::max));
    // A twentieth of the span on either side.
    let room = ((high - low) / 20.0).max(high.abs() / 100.0);
    let (low, high) = (low - room, high + room);
    let share = |x: f64| ((x - low) / (high - low)).clamp(0.0, 1.0);
    plot.draw(&mut svg, value);
    Plot::inside(&mut svg, |svg| {
        let lower = view.line.iter().map(|[x, low, _, _]| (share(*x), plot.down(*low)));
        let upper = view.line.iter().rev().map(|[x, _, _, high]| (share(*x), plot.down(*high)));
        if let Some(mut band) = polyline(lower.chain(upper)) {
            band.close();
            svg.path("band", &band);
        }
        let middle = view.line.iter().map(|[x, _, middle, _]| (share(*x), plot.down(*middle)));
        if let Some(line) = polyline(middle) {
            svg.path("curve", &line);
        }
    });
    for (x, y) in &view.marks {
        svg.circle("ring", Len::Percent(across(share(*x))), Len::Em(plot.y(*y)), 3.5);
    }
    let bottom = TOP + TALL;
    if let Some(step) = Step::at_least((high - low) / 5.0) {
        let mut n = (low / step.times(1.0)).ceil();
        while step.times(n) <= high {
            let x = across(share(step.times(n)));
            svg.line("axis-tick", Len::Percent(x), Len::Em(bottom), Len::Percent(x), Len::Em(bottom + 0.35));
            word(&mut svg, "middle", x, bottom + 1.3, &place(step.times(n)));
            n += 1.0;
        }
    }
    word(&mut svg, "middle second", across(0.5), bottom + 2.6, &view.foot);
    svg.finish()
}

/// The picture, with the words for a screen reader.
#[component]
pub fn AgainstPicture(
    /// What to draw.
    #[prop(into)]
    view: Signal<AgainstView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
    /// Writes fold or recovery.
    #[prop(into)]
    value: Callback<f64, String>,
    /// Writes what stands along the foot.
    #[prop(into)]
    place: Callback<f64, String>,
) -> impl IntoView {
    let body = memo(move || draw(&view.read(), &|v| value.run(v), &|x| place.run(x)));
    wide("picture control", label, HEIGHT.into(), body)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_line_and_band_are_drawn_once() {
        let view = AgainstView {
            marks: vec![(0.38, 0.7), (0.42, 0.68), (0.46, 0.6)],
            line: vec![[0.38, 0.6, 0.7, 0.8], [0.46, 0.52, 0.61, 0.7]],
            foot: "Haematocrit".into(),
        };
        let body = draw(&view, &|v| v.to_string(), &|v| v.to_string());
        assert_eq!(body.matches("class=\"ring\"").count(), 3);
        assert_eq!(body.matches("class=\"band\"").count(), 1);
        assert_eq!(body.matches("class=\"curve\"").count(), 1);
        assert!(body.contains(">0.4</text>") && body.contains(">Haematocrit</text>"), "{body}");
        assert_eq!(draw(&AgainstView::default(), &|v| v.to_string(), &|v| v.to_string()), "");
    }

    #[test]
    fn counts_that_all_have_the_same_stand_in_the_middle() {
        let view = AgainstView { marks: vec![(4.0, 0.7), (4.0, 0.6)], ..AgainstView::default() };
        let body = draw(&view, &|v| v.to_string(), &|v| v.to_string());
        assert!(!body.contains("NaN") && body.contains("cx=\"50.5%\""), "{body}");
    }
}
