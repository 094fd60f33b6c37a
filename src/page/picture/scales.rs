//! One position on several aligned scales: while blood and product volume are fixed, recovery, fold,
//! concentration and platelets in product are the same place, read in four units.

use super::axis::{Axis, band, bar, upright, word, word_over};
use super::frame::wide;
use super::svg::Svg;
use crate::dom::prelude::*;
use strawline::product::range::Range;
use strawline::quantity::{Quantity, Recovery};

/// Text heights: a line of words over the scales, a scale with its name and numbers.
const LINE: f64 = 1.3;
const ROW: f64 = 3.7;

/// One scale.
#[derive(Debug, Clone, PartialEq)]
pub struct Scale {
    /// Its name, with the unit of its numbers.
    pub name: String,
    /// What it reads where all platelets drawn are in the product (recovery 1), in the unit of its numbers.
    pub at_ceiling: f64,
}

/// The scales and what stands on them.
#[derive(Debug, Clone, PartialEq)]
pub struct ScalesView {
    /// Expected recovery. Hatched.
    pub predicted: Option<Range<Recovery>>,
    /// Recovery by count. Solid.
    pub counted: Option<Recovery>,
    /// From the top.
    pub scales: Vec<Scale>,
    /// Word at the predicted median.
    pub predicted_word: String,
    /// Word at the counted bar.
    pub counted_word: String,
    /// Word at the ceiling.
    pub ceiling_word: String,
}

impl ScalesView {
    /// Recovery at the right end: the ceiling, unless something stands beyond it.
    fn end(&self) -> f64 {
        let high = self.predicted.map_or(0.0, |p| p.high.get());
        let counted = self.counted.map_or(0.0, Quantity::get);
        high.max(counted * 1.02).max(1.0)
    }

    fn lines(&self) -> f64 {
        1.0 + f64::from(u8::from(self.predicted.is_some())) + f64::from(u8::from(self.counted.is_some()))
    }

    /// Height in text heights.
    pub fn height(&self) -> f64 {
        self.scales.iter().fold(self.lines() * LINE, |sum, _| sum + ROW)
    }
}

/// Draws the scales. `number` writes the numbers at their ticks.
pub fn draw(view: &ScalesView, number: &dyn Fn(f64) -> String) -> String {
    let mut svg = Svg::default();
    let place = Axis { max: view.end() };
    let top = view.lines() * LINE + 0.4;
    let bottom = view.height() - ROW + 2.6;
    let mut line = LINE;
    let ceiling = place.at(1.0);
    // Each word has a line of its own, so that none runs into another wherever they stand.
    let ceiling_line = line;
    let predicted = view.predicted.map(|p| {
        line += LINE;
        (p, line)
    });
    let counted = view.counted.map(|c| (place.at(c.get()), line + LINE));

    if let Some((p, line)) = predicted {
        band(&mut svg, "expected", (place.at(p.low.get()), place.at(p.high.get())), top, bottom);
        upright(&mut svg, "median", place.at(p.median.get()), line + 0.2, bottom);
    }
    if let Some((x, line)) = counted {
        bar(&mut svg, "counted", x, 6.0, line + 0.2, bottom);
    }
    upright(&mut svg, "ceiling", ceiling, ceiling_line + 0.2, bottom);
    let mut y = view.lines() * LINE;
    for scale in &view.scales {
        word(&mut svg, "strong", 0.0, y + 1.2, &scale.name);
        Axis { max: scale.at_ceiling * view.end() }.draw(&mut svg, y + 2.0, number);
        y += ROW;
    }
    word_over(&mut svg, ceiling, ceiling_line, &view.ceiling_word);
    if let Some((p, line)) = predicted {
        word_over(&mut svg, place.at(p.median.get()), line, &view.predicted_word);
    }
    if let Some((x, line)) = counted {
        word_over(&mut svg, x, line, &view.counted_word);
    }
    svg.finish()
}

/// The scales, with the words for a screen reader. As wide as the place it stands in; its type keeps its size.
#[component]
pub fn Scales(
    /// What to draw.
    #[prop(into)]
    view: Signal<ScalesView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
    /// Writes the numbers at the ticks.
    #[prop(into)]
    number: Callback<f64, String>,
) -> impl IntoView {
    let body = memo(move || draw(&view.read(), &|value| number.run(value)));
    wide("picture scales", label, memo(move || view.read().height()).into(), body)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of<Q: Quantity>(value: f64) -> Q {
        Q::new(value).unwrap()
    }

    fn demo(counted: Option<f64>) -> ScalesView {
        let scales =
            [("Recovery", 1.0), ("Fold", 6.5), ("Concentration, ×10⁹/L", 1365.0), ("In product, ×10⁹", 5.46)];
        ScalesView {
            predicted: Some(Range { median: of(0.7), low: of(0.55), high: of(0.85) }),
            counted: counted.map(of),
            scales: scales.map(|(name, at_ceiling)| Scale { name: name.into(), at_ceiling }).into(),
            predicted_word: "predicted".into(),
            counted_word: "counted".into(),
            ceiling_word: "ceiling".into(),
        }
    }

    #[test]
    fn one_position_serves_all_scales() {
        let body = draw(&demo(Some(0.68)), &|v| v.to_string());
        assert_eq!(body.matches("class=\"expected\"").count(), 1);
        assert!(body.contains("<rect class=\"expected\" x=\"55%\""), "{body}");
        assert!(
            body.contains("<svg overflow=\"visible\" x=\"68%\"><rect class=\"counted\" x=\"-3\""),
            "{body}"
        );
        assert!(body.contains("<line class=\"ceiling\" x1=\"100%\""), "{body}");
        // 1000 on the third scale stands at 1000/1365 of the width.
        assert!(body.contains("x=\"73.26%\"") && body.contains(">1000</text>"), "{body}");
    }

    #[test]
    fn a_count_beyond_the_ceiling_is_shown_beyond_it() {
        let body = draw(&demo(Some(1.25)), &|v| v.to_string());
        assert!(body.contains("<line class=\"ceiling\" x1=\"78.43%\""), "{body}");
        assert!(body.contains("x=\"98.04%\"><rect class=\"counted\""), "{body}");
    }

    #[test]
    fn nothing_counted_draws_no_bar() {
        let body = draw(&demo(None), &|v| v.to_string());
        assert!(!body.contains("counted"), "{body}");
    }
}
