//! The loaded rotor from above: what hangs in which place and what faces it across the axis. Only looked at.

use super::frame::scaled;
use super::svg::{Drawing, Svg};
use crate::dom::prelude::*;
use std::f64::consts::PI;

/// What hangs in a place.
#[derive(Debug, Clone, PartialEq)]
pub enum Spot {
    /// A container: check sign, its number, whether the sign stands on ink.
    Container(String, String, bool),
    /// A counterweight, by its word.
    Counterweight(String),
    /// Nothing.
    Empty,
}

/// What the picture shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LoadedView {
    /// Every place, clockwise from the top.
    pub places: Vec<Spot>,
    /// Whether places have numbers.
    pub numbered: bool,
}

/// Largest place, and the room beside it for its number.
const PLACE: f64 = 30.0;
const EDGE: f64 = 24.0;

/// Distance of so many places from the axis, and their size: no two touch.
fn sizes(count: usize) -> (f64, f64) {
    let n = count as f64;
    let ring = 92.0_f64.max(9.9 * n);
    (ring, PLACE.min(ring * (PI / n).sin() - 4.0))
}

/// Draws the picture.
pub fn draw(view: &LoadedView) -> Drawing {
    let mut svg = Svg::default();
    let count = view.places.len();
    if count == 0 {
        return Drawing::default();
    }
    let n = count as f64;
    let (ring, place) = sizes(count);
    let edge = if view.numbered { EDGE } else { 4.0 };
    let centre = ring + place + edge;
    // Clockwise from the top.
    let at = |i: usize, far: f64| {
        let turn = 2.0 * PI * i as f64 / n;
        (centre + far * turn.sin(), centre - far * turn.cos())
    };
    for (i, spot) in view.places.iter().enumerate().take(count / 2) {
        if *spot != Spot::Empty {
            let ((x1, y1), (x2, y2)) = (at(i, ring), at(i + count / 2, ring));
            svg.line("dim", x1, y1, x2, y2);
        }
    }
    svg.circle("ring", centre, centre, 5.0);
    for (i, spot) in view.places.iter().enumerate() {
        let (x, y) = at(i, ring);
        match spot {
            Spot::Container(sign, number, solid) => {
                svg.circle(if *solid { "place solid" } else { "place" }, x, y, place);
                let on = if *solid { "middle name on-solid" } else { "middle name" };
                svg.text(on, x, y - 1.0, sign);
                svg.text(on, x, y + 17.0, number);
            }
            Spot::Counterweight(word) => {
                svg.rect("place", x - place, y - 0.62 * place, 2.0 * place, 1.24 * place);
                svg.text("middle second", x, y + 5.0, word);
            }
            Spot::Empty => svg.circle("place empty", x, y, place),
        }
        if view.numbered {
            let (x, y) = at(i, ring + place + 12.0);
            svg.text("middle second", x, y + 5.0, &(i + 1).to_string());
        }
    }
    Drawing { width: 2.0 * centre, height: 2.0 * centre, body: svg.finish() }
}

/// The picture, with the words for a screen reader.
#[component]
pub fn LoadedPicture(
    /// What to draw.
    #[prop(into)]
    view: Signal<LoadedView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
) -> impl IntoView {
    let drawing = memo(move || draw(&view.read()));
    scaled("picture loaded-picture", label, drawing)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Four places about 92 + 30 + 24 = 146: the first at the top, the third below it, a line between them.
    #[test]
    fn what_faces_what_stands_across_the_axis() {
        let own = |number: &str| Spot::Container("7K".into(), number.into(), false);
        let places = vec![own("1"), Spot::Empty, Spot::Counterweight("weight".into()), Spot::Empty];
        let body = draw(&LoadedView { places, numbered: true }).body;
        assert!(body.contains("<circle class=\"place\" cx=\"146\" cy=\"54\" r=\"30\"/>"), "{body}");
        assert!(body.contains("<line class=\"dim\" x1=\"146\" y1=\"54\" x2=\"146\" y2=\"238\"/>"), "{body}");
        assert!(body.contains("<rect class=\"place\" x=\"116\" y=\"219.4\""), "{body}");
        assert_eq!(body.matches("place empty").count(), 2);
        assert!(body.contains(">7K</text>") && body.contains(">weight</text>") && body.contains(">4</text>"));
        assert_eq!(draw(&LoadedView::default()).body, "");
    }

    /// No two places overlap, however many there are.
    #[test]
    fn places_stay_apart() {
        for count in (2..=48).step_by(2) {
            let (ring, place) = sizes(count);
            let apart = 2.0 * ring * (PI / count as f64).sin();
            assert!(place > 20.0 && apart >= 2.0 * place + 7.9, "{count}: {place}");
        }
    }
}
