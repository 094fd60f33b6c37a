//! A control chart: single preparations against limits, with a running mean. A signal is told by shape, ring and
//! the words beside the picture.

use super::axis::word;
use super::frame::wide;
use super::plot::{HEIGHT, LEFT, Plot, RIGHT, TALL, TOP, across, polyline};
use super::svg::{Len, Path, Svg};
use crate::dom::prelude::*;

/// One preparation.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// Fold or recovery.
    pub value: f64,
    /// Running mean with its lower and upper limit.
    pub running: Option<[f64; 3]>,
    /// Something speaks here.
    pub signal: bool,
    /// Belongs to the period the limits come from.
    pub in_baseline: bool,
    /// Its number among all.
    pub number: usize,
    /// Its day, in short.
    pub day: String,
    /// Lot of its containers; empty if nobody said.
    pub lot: String,
}

/// What a chart shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ControlView {
    /// Oldest first.
    pub points: Vec<Point>,
    /// Lower limit, middle, upper limit.
    pub limits: Option<[f64; 3]>,
    /// Place of the one chosen.
    pub chosen: Option<usize>,
}

impl ControlView {
    fn plot(&self) -> Option<Plot> {
        let points = self.points.iter().flat_map(|p| {
            let running = p.running.into_iter().flatten();
            std::iter::once(p.value).chain(running)
        });
        Plot::over(points.chain(self.limits.into_iter().flatten()))
    }

    /// Share of the plot's width at which a point stands.
    fn x(&self, at: usize) -> f64 {
        (count(at) + 0.5) / count(self.points.len().max(1))
    }

    /// The point nearest to a share of the picture's width.
    pub fn nearest(&self, share: f64) -> Option<usize> {
        let inside = (100.0 * share - LEFT) / (RIGHT - LEFT);
        let far = |at: &usize| (self.x(*at) - inside).abs();
        (0..self.points.len()).min_by(|a, b| far(a).total_cmp(&far(b)))
    }
}

fn count(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::INFINITY, f64::from)
}

/// Draws the chart. `number` writes values.
pub fn draw(view: &ControlView, number: &dyn Fn(f64) -> String) -> String {
    let mut svg = Svg::default();
    let Some(plot) = view.plot() else { return svg.finish() };
    period(&mut svg, view);
    plot.draw(&mut svg, number);
    if let Some([low, middle, high]) = view.limits {
        for value in [low, high] {
            let y = Len::Em(plot.y(value));
            svg.line("limit", Len::Percent(LEFT), y, Len::Percent(RIGHT), y);
            word(&mut svg, "strong", RIGHT + 0.8, plot.y(value) + 0.3, &number(value));
        }
        let y = plot.y(middle);
        svg.rect("line-band", Len::Percent(LEFT), Len::Em(y), Len::Percent(RIGHT - LEFT), 6.0);
        svg.line("line-ink", Len::Percent(LEFT), Len::Em(y), Len::Percent(RIGHT), Len::Em(y));
        word(&mut svg, "strong", RIGHT + 0.8, y + 0.3, &number(middle));
    }
    changes(&mut svg, view);
    Plot::inside(&mut svg, |svg| lines(svg, view, plot));
    for (at, p) in view.points.iter().enumerate() {
        let (x, y) = (Len::Percent(across(view.x(at))), Len::Em(plot.y(p.value)));
        if p.signal {
            svg.circle("signal-ring", x, y, 10.0);
            svg.spot(x, y, |svg| svg.path("signal", &diamond()));
        } else {
            svg.circle("ring", x, y, 3.5);
        }
        if view.chosen == Some(at) {
            svg.spot(x, y, |svg| svg.rect("chosen", -13.0, -13.0, 26.0, 26.0));
        }
    }
    days(&mut svg, view);
    svg.finish()
}

fn diamond() -> Path {
    let mut path = Path::from(0.0, -6.0);
    path.line_to(6.0, 0.0);
    path.line_to(0.0, 6.0);
    path.line_to(-6.0, 0.0);
    path.close();
    path
}

/// The ground of the period that the limits come from.
fn period(svg: &mut Svg, view: &ControlView) {
    let first = view.points.iter().position(|p| p.in_baseline);
    let last = view.points.iter().rposition(|p| p.in_baseline);
    if let (Some(first), Some(last), Some(_)) = (first, last, view.limits) {
        let half = 0.5 / count(view.points.len());
        let (from, to) = (across(view.x(first) - half), across(view.x(last) + half));
        svg.rect("period", Len::Percent(from), Len::Em(TOP), Len::Percent(to - from), Len::Em(TALL));
    }
}

/// Where another lot of containers begins.
fn changes(svg: &mut Svg, view: &ControlView) {
    let half = 0.5 / count(view.points.len());
    let mut free = 0.0;
    let mut before = "";
    for (at, p) in view.points.iter().enumerate() {
        if p.lot.is_empty() || p.lot == before {
            continue;
        }
        let x = across(view.x(at) - half);
        if !before.is_empty() {
            svg.line("change", Len::Percent(x), Len::Em(TOP - 1.4), Len::Percent(x), Len::Em(TOP + TALL));
        }
        // A name that would run into the one before gives way; the table has it.
        if x >= free {
            word(svg, "", x + 0.8, TOP - 0.5, &p.lot);
            free = x + 2.2 * count(p.lot.chars().count()) + 2.0;
        }
        before = &p.lot;
    }
}

/// Running mean, its limits, and a hair from point to point.
fn lines(svg: &mut Svg, view: &ControlView, plot: Plot) {
    let all = || view.points.iter().enumerate();
    let mut line = |class: &str, of: &dyn Fn(&Point) -> Option<f64>| {
        let points = all().filter_map(|(at, p)| Some((view.x(at), plot.down(of(p)?))));
        if let Some(path) = polyline(points) {
            svg.path(class, &path);
        }
    };
    line("join", &|p| Some(p.value));
    line("limit planned", &|p| p.running.map(|[_, low, _]| low));
    line("limit planned", &|p| p.running.map(|[_, _, high]| high));
    line("mean", &|p| p.running.map(|[mean, _, _]| mean));
}

/// Numbers and days along the foot, as many as have room.
fn days(svg: &mut Svg, view: &ControlView) {
    let bottom = TOP + TALL;
    let last = view.points.len().saturating_sub(1);
    let mut free = f64::NEG_INFINITY;
    for (at, p) in view.points.iter().enumerate() {
        let x = across(view.x(at));
        // The last always has its place.
        let fits = x >= free && (at == last || x <= across(view.x(last)) - 17.0);
        let round = at == 0 || at == last || p.number.is_multiple_of(5);
        if fits && round {
            svg.line("axis-tick", Len::Percent(x), Len::Em(bottom), Len::Percent(x), Len::Em(bottom + 0.35));
            word(svg, "middle", x, bottom + 1.3, &p.number.to_string());
            word(svg, "middle second", x, bottom + 2.5, &p.day);
            free = x + 17.0;
        }
    }
}

/// A chart, with the words for a screen reader. As wide as the place it stands in.
#[component]
pub fn Control(
    /// What to draw.
    #[prop(into)]
    view: Signal<ControlView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
    /// Writes the values.
    #[prop(into)]
    number: Callback<f64, String>,
) -> impl IntoView {
    let body = memo(move || draw(&view.read(), &|value| number.run(value)));
    wide("picture control", label, HEIGHT.into(), body)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn view() -> ControlView {
        let point = |(i, value): (usize, f64)| Point {
            value,
            running: (i > 1).then_some([0.7, 0.6, 0.8]),
            signal: i == 3,
            in_baseline: i < 2,
            number: i + 1,
            day: format!("{} Mar", i + 1),
            lot: if i < 2 { "K-0044" } else { "K-0058" }.to_owned(),
        };
        let points = [0.7, 0.72, 0.66, 0.45].into_iter().enumerate().map(point).collect();
        ControlView { points, limits: Some([0.5, 0.7, 0.98]), chosen: Some(1) }
    }

    #[test]
    fn each_point_stands_once_and_a_signal_has_a_shape_of_its_own() {
        let body = draw(&view(), &|v| v.to_string());
        assert_eq!(body.matches("class=\"ring\"").count(), 3);
        assert_eq!(body.matches("class=\"signal\"").count(), 1);
        assert_eq!(body.matches("class=\"signal-ring\"").count(), 1);
        assert_eq!(body.matches("class=\"chosen\"").count(), 1);
        assert_eq!(body.matches("class=\"limit\"").count(), 2);
        assert!(body.contains(">K-0044</text>") && body.contains(">K-0058</text>"), "{body}");
        assert!(!body.contains("NaN") && !body.contains("inf"), "{body}");
    }

    #[test]
    fn a_tap_meets_the_nearest_point() {
        let v = view();
        // four points share the plot from 11 to 90 percent: their middles are 20.875, 40.625, 60.375, 80.125
        assert_eq!([0.0, 0.3, 0.32, 0.99].map(|x| v.nearest(x)), [Some(0), Some(0), Some(1), Some(3)]);
        assert_eq!(ControlView::default().nearest(0.5), None);
        assert_eq!(draw(&ControlView::default(), &|v| v.to_string()), "");
    }
}
