//! Platelets in product against blood drawn: the band of what is predicted, the line that the order asks for, the
//! limit on blood and the plan. Only looked at.

use super::axis::{ticks, upright, word, word_over};
use super::frame::wide;
use super::svg::{Len, Path, Svg};
use crate::dom::prelude::*;

/// One amount of blood: platelets predicted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Column {
    /// Blood in all [mL].
    pub blood: f64,
    /// Low end.
    pub low: f64,
    /// Median.
    pub median: f64,
    /// High end.
    pub high: f64,
}

impl Column {
    fn halfway(&self, next: &Self) -> Self {
        Self {
            blood: f64::midpoint(self.blood, next.blood),
            low: f64::midpoint(self.low, next.low),
            median: f64::midpoint(self.median, next.median),
            high: f64::midpoint(self.high, next.high),
        }
    }
}

/// What the picture shows.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanView {
    /// By rising blood.
    pub columns: Vec<Column>,
    /// Ends of what the order asks for; the high one may be absent.
    pub order: Option<(f64, Option<f64>)>,
    /// Most blood within the limits.
    pub limit: Option<f64>,
    /// The plan.
    pub plan: Column,
    /// Words at the order's line, at the limit, at the plan, at the two axes.
    pub words: [String; 5],
}

/// Left and right end of the plot, in percent of the width.
const LEFT: f64 = 9.0;
const RIGHT: f64 = 98.0;
/// Upper end and height of the plot, and of all, in text heights.
const TOP: f64 = 4.0;
const TALL: f64 = 12.0;
const HEIGHT: f64 = TOP + TALL + 2.9;

/// Where amounts stand.
struct Plot {
    blood: f64,
    platelets: f64,
}

impl Plot {
    /// From nothing to a little beyond all that is shown.
    fn over(view: &PlanView) -> Option<Self> {
        let columns = || view.columns.iter().chain(std::iter::once(&view.plan));
        let blood = columns().map(|c| c.blood).fold(0.0, f64::max);
        let ordered = view.order.map_or(0.0, |(low, high)| high.unwrap_or(low));
        let platelets = columns().map(|c| c.high).fold(ordered, f64::max);
        let fit = blood.is_normal() && platelets.is_normal();
        fit.then_some(Self { blood: 1.04 * blood, platelets: 1.08 * platelets })
    }

    fn across(&self, blood: f64) -> f64 {
        (blood / self.blood).clamp(0.0, 1.0)
    }

    fn down(&self, platelets: f64) -> f64 {
        1.0 - (platelets / self.platelets).clamp(0.0, 1.0)
    }

    /// Percent of the width.
    fn x(&self, blood: f64) -> f64 {
        LEFT + self.across(blood) * (RIGHT - LEFT)
    }

    /// Text heights.
    fn y(&self, platelets: f64) -> f64 {
        TOP + TALL * self.down(platelets)
    }

    /// A line through amounts, in hundredths of the plot.
    fn path(&self, points: impl Iterator<Item = (f64, f64)>) -> Option<Path> {
        let mut path: Option<Path> = None;
        for (blood, platelets) in points {
            let (x, y) = (100.0 * self.across(blood), 100.0 * self.down(platelets));
            match &mut path {
                Some(path) => path.line_to(x, y),
                None => path = Some(Path::from(x, y)),
            }
        }
        path
    }
}

/// A level line over the whole plot.
fn level(svg: &mut Svg, class: &str, y: f64) {
    svg.line(class, Len::Percent(LEFT), Len::Em(y), Len::Percent(RIGHT), Len::Em(y));
}

/// Draws the picture. `number` writes the numbers at both axes.
pub fn draw(view: &PlanView, number: &dyn Fn(f64) -> String) -> String {
    let mut svg = Svg::default();
    let Some(plot) = Plot::over(view) else { return svg.finish() };
    let [ordered, limit, planned, blood, platelets] = &view.words;
    let bottom = TOP + TALL;
    if let Some((low, high)) = view.order {
        for value in std::iter::once(low).chain(high) {
            let y = plot.y(value);
            svg.rect("line-band", Len::Percent(LEFT), Len::Em(y), Len::Percent(RIGHT - LEFT), 6.0);
        }
    }
    svg.stretched([Len::Percent(LEFT), Len::Em(TOP), Len::Percent(RIGHT - LEFT), Len::Em(TALL)], |svg| {
        let lower = view.columns.iter().map(|c| (c.blood, c.low));
        let upper = view.columns.iter().rev().map(|c| (c.blood, c.high));
        if let Some(mut band) = plot.path(lower.chain(upper)) {
            band.close();
            svg.path("band-edge", &band);
        }
        // A pattern would be stretched with the plot: the hatch is drawn, from the lower edge to the upper.
        for pair in view.columns.windows(2) {
            let [one, next] = pair else { continue };
            let middle = one.halfway(next);
            for (from, to) in [(*one, middle), (middle, *next)] {
                if let Some(line) = plot.path([(from.blood, from.low), (to.blood, to.high)].into_iter()) {
                    svg.path("hatch", &line);
                }
            }
        }
        if let Some(middle) = plot.path(view.columns.iter().map(|c| (c.blood, c.median))) {
            svg.path("median", &middle);
        }
    });
    // The axes.
    upright(&mut svg, "axis", LEFT, TOP, bottom);
    level(&mut svg, "axis", bottom);
    for value in ticks(plot.blood, 6.0) {
        upright(&mut svg, "axis-tick", plot.x(value), bottom, bottom + 0.35);
        word(&mut svg, "middle", plot.x(value), bottom + 1.3, &number(value));
    }
    for value in ticks(plot.platelets, 5.0) {
        let y = plot.y(value);
        svg.line("axis-tick", Len::Percent(LEFT - 1.0), Len::Em(y), Len::Percent(LEFT), Len::Em(y));
        word(&mut svg, "end", LEFT - 1.6, y + 0.3, &number(value));
    }
    word(&mut svg, "second end", RIGHT, bottom + 2.5, blood);
    word(&mut svg, "second", 0.0, TOP - 0.8, platelets);
    if let Some(most) = view.limit.filter(|most| *most <= plot.blood) {
        upright(&mut svg, "limit", plot.x(most), 1.2, bottom);
        word_over(&mut svg, plot.x(most), 0.9, limit);
    }
    if let Some((low, high)) = view.order {
        level(&mut svg, "line-ink", plot.y(low));
        if let Some(high) = high {
            level(&mut svg, "line-ink", plot.y(high));
        }
        // Over its line, or under it where that is the upper end of the plot.
        let y = plot.y(high.unwrap_or(low));
        let y = if y < TOP + 1.4 { y + 1.6 } else { y - 0.4 };
        word(&mut svg, "strong", LEFT + 1.2, y, ordered);
    }
    let x = plot.x(view.plan.blood);
    upright(&mut svg, "leader", x, 2.3, bottom);
    upright(&mut svg, "plan-range", x, plot.y(view.plan.high), plot.y(view.plan.low));
    svg.circle("ring", Len::Percent(x), Len::Em(plot.y(view.plan.median)), 5.0);
    word_over(&mut svg, x, 2.1, planned);
    svg.finish()
}

/// The picture, with the words for a screen reader. As wide as the place it stands in.
#[component]
pub fn PlanPicture(
    /// What to draw.
    #[prop(into)]
    view: Signal<PlanView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
    /// Writes the numbers.
    #[prop(into)]
    number: Callback<f64, String>,
) -> impl IntoView {
    let body = memo(move || draw(&view.read(), &|value| number.run(value)));
    wide("picture plan-picture", label, HEIGHT.into(), body)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view() -> PlanView {
        let column = |blood: f64| Column { blood, low: 0.1 * blood, median: 0.15 * blood, high: 0.2 * blood };
        PlanView {
            columns: [10.0, 30.0, 50.0].map(column).into(),
            order: Some((5.0, None)),
            limit: Some(45.0),
            plan: column(40.0),
            words: ["the order needs 5", "limit", "plan", "blood, mL", "in product"].map(str::to_owned),
        }
    }

    #[test]
    fn plan_order_and_limit_stand_where_they_read() {
        let body = draw(&view(), &|v| v.to_string());
        // 40 of 52 mL, 89 percent wide from 9
        assert!(body.contains("<circle class=\"ring\" cx=\"77.46%\""), "{body}");
        assert!(body.contains("<line class=\"limit\" x1=\"86.02%\""), "{body}");
        // 5 of 10.8, 12 text heights from 4
        assert!(body.contains("<line class=\"line-ink\" x1=\"9%\" y1=\"10.44em\""), "{body}");
        for once in [
            "class=\"band-edge\"",
            "class=\"median\"",
            ">plan</text>",
            ">limit</text>",
            ">the order needs 5</text>",
        ] {
            assert_eq!(body.matches(once).count(), 1, "{once} {body}");
        }
    }

    #[test]
    fn both_ends_of_an_order_are_drawn_and_a_far_limit_is_not() {
        let far = PlanView { order: Some((5.0, Some(6.0))), limit: Some(100.0), ..view() };
        let body = draw(&far, &|v| v.to_string());
        assert_eq!(body.matches("class=\"line-ink\"").count(), 2);
        assert!(!body.contains("class=\"limit\""), "{body}");
    }

    #[test]
    fn nothing_predicted_draws_nothing() {
        let nothing = Column { blood: 0.0, low: 0.0, median: 0.0, high: 0.0 };
        let empty = PlanView { columns: Vec::new(), order: None, plan: nothing, ..view() };
        assert_eq!(draw(&empty, &|v| v.to_string()), "");
    }
}
