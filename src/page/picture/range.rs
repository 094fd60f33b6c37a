//! A prediction on one axis: the fold when there is no count, and the small ranges in the rows of its table.

use super::axis::{Axis, band, ticks, upright, word};
use super::frame::wide;
use super::svg::{Len, Svg, number as attribute};
use crate::dom::prelude::*;

/// Median and range of any quantity, on one axis from 0.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Low end.
    pub low: f64,
    /// Median.
    pub median: f64,
    /// High end.
    pub high: f64,
    /// Right end of the axis: the ceiling, or in a table one end for all rows.
    pub end: f64,
}

impl Spread {
    fn band_on(&self, axis: Axis) -> (f64, f64) {
        (axis.at(self.low), axis.at(self.high))
    }
}

/// Height of the axis with band and numbers, and of a range in a row, in text heights.
const HEIGHT: f64 = 3.2;
const SMALL: f64 = 1.4;

/// Draws the axis with band, dotted median, end-stop at the ceiling and numbers.
pub fn draw(spread: &Spread, number: &dyn Fn(f64) -> String) -> String {
    let mut svg = Svg::default();
    let axis = Axis { max: spread.end.max(spread.high) };
    let line = 1.7;
    axis.draw(&mut svg, line, number);
    band(&mut svg, "expected", spread.band_on(axis), line - 1.1, line);
    upright(&mut svg, "median", axis.at(spread.median), line - 1.5, line);
    upright(&mut svg, "ceiling", axis.at(spread.end), line - 1.6, line + 0.45);
    svg.finish()
}

/// Draws the range of one row: band and dotted median over faint ticks shared by all rows.
pub fn draw_row(spread: &Spread) -> String {
    let mut svg = Svg::default();
    // What lies beyond the end is drawn at it, so that all rows keep one scale.
    let axis = Axis { max: spread.end };
    let middle = SMALL / 2.0;
    svg.line("axis-tick", Len::Percent(0.0), Len::Em(middle), Len::Percent(100.0), Len::Em(middle));
    for value in ticks(axis.max, 2.0) {
        upright(&mut svg, "axis-tick", axis.at(value), middle - 0.2, middle + 0.2);
    }
    band(&mut svg, "expected", spread.band_on(axis), middle - 0.4, middle + 0.4);
    upright(&mut svg, "median", axis.at(spread.median), 0.0, SMALL);
    svg.finish()
}

/// Draws the numbers over a column of [`draw_row`].
pub fn draw_head(end: f64, number: &dyn Fn(f64) -> String) -> String {
    let mut svg = Svg::default();
    for value in ticks(end, 2.0) {
        word(&mut svg, "middle", Axis { max: end }.at(value), SMALL - 0.3, &number(value));
    }
    svg.finish()
}

/// One axis with a prediction on it.
#[component]
pub fn RangeAxis(
    /// What to draw.
    #[prop(into)]
    view: Signal<Spread>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
    /// Writes the numbers at the ticks.
    #[prop(into)]
    number: Callback<f64, String>,
) -> impl IntoView {
    let body = memo(move || draw(&view.read(), &|value| number.run(value)));
    wide("picture range-axis", label, HEIGHT.into(), body)
}

/// The range of one row of a table. Says nothing to a screen reader: the row's numbers stand beside it.
#[component]
pub fn RangeRow(
    /// What to draw.
    #[prop(into)]
    view: Signal<Spread>,
) -> impl IntoView {
    let body = memo(move || draw_row(&view.read()));
    small(Signal::from(body))
}

/// The numbers over a column of [`RangeRow`], for the table's head.
#[component]
pub fn RangeHead(
    /// Right end of every row.
    #[prop(into)]
    end: Signal<f64>,
    /// Writes the numbers.
    #[prop(into)]
    number: Callback<f64, String>,
) -> impl IntoView {
    let body = memo(move || draw_head(end.get(), &|value| number.run(value)));
    small(Signal::from(body))
}

fn small(body: Signal<String>) -> impl IntoView {
    view! {
        <svg
            class="picture range-row"
            aria-hidden="true"
            width="100%"
            height=attribute(SMALL) + "em"
            font-size="1.0625rem"
            inner_html=move || body.get()
        ></svg>
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn band_median_and_ceiling_stand_where_they_read() {
        let body = draw(&Spread { low: 3.25, median: 4.55, high: 5.2, end: 6.5 }, &|v| v.to_string());
        assert!(body.contains("<rect class=\"expected\" x=\"50%\" y=\"0.6em\" width=\"30%\""), "{body}");
        assert!(body.contains("<line class=\"median\" x1=\"70%\""), "{body}");
        assert!(body.contains("<line class=\"ceiling\" x1=\"100%\""), "{body}");
    }

    #[test]
    fn a_row_stands_on_the_axis_of_its_table() {
        let body = draw_row(&Spread { low: 2.0, median: 3.0, high: 4.0, end: 8.0 });
        assert!(
            body.contains("x=\"25%\"") && body.contains("x1=\"37.5%\"") && body.contains("width=\"25%\""),
            "{body}"
        );
    }
}
