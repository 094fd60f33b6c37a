//! Speed against time: how much of something there is at each place, darker for more. Only looked at; the table beside
//! it says the same.

use super::axis::{upright, word};
use super::frame::wide;
use super::svg::{Len, Svg};
use crate::dom::prelude::*;

/// What the picture shows.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct MapView {
    /// Rows from the bottom up, each from left to right, 0 to 1; `None` where it is not reckoned yet.
    pub rows: Vec<Option<Vec<f64>>>,
    /// Places of a row.
    pub places: usize,
    /// Rows that are hatched: nothing is to be run there.
    pub over: Vec<usize>,
    /// Row and place to mark.
    pub own: Option<(usize, usize)>,
    /// Row, and places from and to where a bar lies; without an end it is open to the right.
    pub bars: Vec<(usize, f64, Option<f64>)>,
    /// Words at each tick upwards (row) and along (place).
    pub up: Vec<(usize, String)>,
    /// Along.
    pub along: Vec<(usize, String)>,
    /// Words at the upright and the level axis.
    pub words: [String; 2],
}

const LEFT: f64 = 12.0;
const RIGHT: f64 = 98.0;
const TOP: f64 = 2.0;
const TALL: f64 = 15.0;
const HEIGHT: f64 = TOP + TALL + 2.9;

/// Steps of darkness.
const SHADES: f64 = 8.0;

/// Class of how dark a share is.
pub fn shade(share: f64) -> String {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 8")]
    let shade = (share.clamp(0.0, 1.0) * SHADES).round() as u8;
    ["shade s", &shade.to_string()].concat()
}

/// Draws the picture.
pub fn draw(view: &MapView) -> String {
    let mut svg = Svg::default();
    let (rows, places) = (view.rows.len() as f64, view.places as f64);
    if rows == 0.0 || places == 0.0 {
        return svg.finish();
    }
    let (wide, tall) = ((RIGHT - LEFT) / places, TALL / rows);
    let x = |place: usize| LEFT + wide * place as f64;
    let y = |row: usize| TOP + TALL - tall * (row as f64 + 1.0);
    for (row, shares) in view.rows.iter().enumerate() {
        for (place, share) in shares.iter().flatten().enumerate() {
            svg.rect(
                &shade(*share),
                Len::Percent(x(place)),
                Len::Em(y(row)),
                Len::Percent(wide),
                Len::Em(tall),
            );
        }
    }
    for row in &view.over {
        svg.rect("hatched", Len::Percent(LEFT), Len::Em(y(*row)), Len::Percent(RIGHT - LEFT), Len::Em(tall));
    }
    if let Some((row, place)) = view.own {
        svg.rect("chosen", Len::Percent(x(place)), Len::Em(y(row)), Len::Percent(wide), Len::Em(tall));
    }
    for (row, from, to) in &view.bars {
        let at = |place: f64| LEFT + wide * place.clamp(0.0, places);
        let (left, right, middle) = (at(*from), at(to.unwrap_or(places)), y(*row) + tall / 2.0);
        for class in ["turn-halo", "turn"] {
            svg.line(class, Len::Percent(left), Len::Em(middle), Len::Percent(right), Len::Em(middle));
            for end in [Some(left), to.map(|_| right)].into_iter().flatten() {
                upright(&mut svg, class, end, middle - 0.4, middle + 0.4);
            }
        }
    }
    for (row, words) in &view.up {
        word(&mut svg, "end", LEFT - 1.0, y(*row) + tall / 2.0 + 0.3, words);
    }
    for (place, words) in &view.along {
        word(&mut svg, "middle", x(*place) + wide / 2.0, TOP + TALL + 1.2, words);
    }
    let [up, along] = &view.words;
    word(&mut svg, "second", 0.0, TOP - 0.7, up);
    word(&mut svg, "second end", RIGHT, TOP + TALL + 2.5, along);
    svg.finish()
}

/// The picture, with the words for a screen reader.
#[component]
pub fn MapPicture(
    /// What to draw.
    #[prop(into)]
    view: Signal<MapView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
) -> impl IntoView {
    let body = memo(move || draw(&view.read()));
    wide("picture map-picture", label, HEIGHT.into(), body)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn places_are_darker_for_more_and_missing_rows_are_empty() {
        let view = MapView {
            rows: vec![Some(vec![0.0, 1.0]), None],
            places: 2,
            own: Some((0, 0)),
            ..MapView::default()
        };
        let body = draw(&view);
        assert!(body.contains("class=\"shade s0\" x=\"12%\" y=\"9.5em\" width=\"43%\""), "{body}");
        assert!(body.contains("class=\"shade s8\" x=\"55%\""), "{body}");
        assert_eq!(body.matches("class=\"shade").count(), 2);
        assert_eq!(body.matches("class=\"chosen\"").count(), 1);
        let over = draw(&MapView { over: vec![1], ..view.clone() });
        assert!(over.contains("class=\"hatched\" x=\"12%\" y=\"2em\" width=\"86%\""), "{over}");
        assert!(!draw(&MapView { own: None, ..view.clone() }).contains("chosen"));
        // From the middle of the map, closed and open: with both ends, and with the first alone.
        let bars = |to| draw(&MapView { bars: vec![(0, 1.0, to)], ..view.clone() });
        assert_eq!(bars(Some(1.5)).matches("class=\"turn\"").count(), 3);
        let open = bars(None);
        assert_eq!(open.matches("class=\"turn\"").count(), 2);
        assert!(
            open.contains("<line class=\"turn\" x1=\"55%\" y1=\"13.25em\" x2=\"98%\" y2=\"13.25em\"/>"),
            "{open}"
        );
    }
}
