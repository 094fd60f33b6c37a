//! A container after its spin: cells, buffy coat, plasma, and which of it is the product.

use super::container::{Glass, shell};
use super::profile::Pen;
use super::svg::{Drawing, Svg, rem, width};
use crate::dom::prelude::*;
use strawline::arrange::sort_by;
use strawline::product::kind::ProductKind;
use strawline::quantity::{Quantity, Volume};

/// Height of the picture and most that the inside is wide, in user units.
const HEIGHT: f64 = 300.0;
const WIDEST: f64 = 120.0;
/// Kept free round the glass for its lines and lip.
const EDGE: f64 = 6.0;
/// Length of a leader, and least distance of two labels.
const LEADER: f64 = 26.0;
const LINE: f64 = 21.0;

/// A spun container.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnView {
    /// What it is.
    pub glass: Glass,
    /// What is taken as product.
    pub kind: ProductKind,
    /// All that is in it.
    pub fill: Volume,
    /// Packed cells at the bottom; none in a second container that received plasma only.
    pub cells: Volume,
    /// Product taken from it.
    pub product: Volume,
    /// How much of the product is packed cells; only when it is taken with the cell layer.
    pub cells_in_product: Volume,
    /// Spun and taken: solid.
    pub done: bool,
    /// Words at the layers; an empty one leaves its leader out.
    pub words: ColumnWords,
}

/// Words at the layers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ColumnWords {
    /// At the product.
    pub product: String,
    /// At the plasma that is left.
    pub plasma: String,
    /// At the buffy coat.
    pub coat: String,
    /// At the cells that are left.
    pub cells: String,
}

/// The layers, each from one volume to another, counted from the bottom [mL].
#[derive(Debug, Clone, Copy, PartialEq)]
struct Layers {
    cells: (f64, f64),
    product: (f64, f64),
    /// Plasma left under the product, and over it. One of them is empty for every kind.
    under: (f64, f64),
    over: (f64, f64),
    coat: Option<f64>,
}

impl ColumnView {
    fn layers(&self) -> Layers {
        let (fill, product) = (self.fill.get(), self.product.get());
        let cells = self.cells.get().min(fill);
        let low = match self.kind {
            ProductKind::OffTheTop => (fill - product).max(cells),
            ProductKind::Concentrate => cells,
            ProductKind::WithCells => (cells - self.cells_in_product.get()).max(0.0),
        };
        let high = (low + product).min(fill);
        Layers {
            cells: (0.0, cells.min(low)),
            product: (low, high),
            under: (cells.min(low), low),
            over: (high, fill),
            coat: (cells > 0.0 && cells < fill).then_some(cells),
        }
    }
}

/// Draws the column with its leaders.
pub fn draw(view: &ColumnView) -> Drawing {
    let tube = &view.glass.tube;
    let wide = tube.inner_diameter.get();
    let scale = ((HEIGHT - 2.0 * EDGE) / view.glass.rim()).min(WIDEST / wide);
    let half = wide / 2.0 * scale;
    let pen = Pen { axis: half + EDGE, base: HEIGHT - EDGE, scale };
    let layers = view.layers();
    let height = |volume: f64| tube.height_of(volume).min(view.glass.rim());
    let mut svg = Svg::default();
    let mut layer = |classes: &[&str], (low, high): (f64, f64)| {
        if high > low {
            for class in classes {
                let mut path = pen.outline(tube, height(low), height(high));
                path.close();
                svg.path(class, &path);
            }
        }
    };
    layer(&[if view.done { "blood done" } else { "blood" }], layers.cells);
    layer(&["plasma"], layers.under);
    layer(&["plasma"], layers.over);
    layer(if view.done { &["product"] } else { &["product", "expected"] }, layers.product);
    if let Some(coat) = layers.coat {
        let (h, y) = (pen.half(tube, height(coat)), pen.y(height(coat)));
        svg.line("coat", pen.axis - h, y, pen.axis + h, y);
    }
    shell(&mut svg, &view.glass, pen, false);

    let middle = |(low, high): (f64, f64)| (high > low).then(|| height(f64::midpoint(low, high)));
    let plasma = middle(layers.over).or(middle(layers.under));
    let words = &view.words;
    let named = [
        (middle(layers.product), &words.product),
        (plasma, &words.plasma),
        (layers.coat.map(height), &words.coat),
        (middle(layers.cells), &words.cells),
    ];
    let mut labels: Vec<_> = named
        .into_iter()
        .filter_map(|(h, words)| h.filter(|_| !words.is_empty()).map(|h| (h, words)))
        .collect();
    sort_by(&mut labels, |a, b| b.0.total_cmp(&a.0));
    let places = apart(labels.iter().map(|(h, _)| pen.y(*h)), HEIGHT - EDGE);
    let text = pen.axis + half + LEADER;
    let mut right = text;
    for ((h, words), y) in labels.into_iter().zip(places) {
        svg.line("leader", pen.axis + pen.half(tube, h), pen.y(h), text - 4.0, y);
        svg.text("", text, y + 5.5, words);
        right = f64::max(right, text + width(words, 17.0));
    }
    Drawing { width: right, height: HEIGHT, body: svg.finish() }
}

/// Moves places that come from the top to the bottom apart by a line, and up again from the lower end.
fn apart(wanted: impl Iterator<Item = f64>, lowest: f64) -> Vec<f64> {
    let mut least = 0.0;
    let mut places: Vec<f64> = wanted
        .map(|y| {
            let y = y.max(least);
            least = y + LINE;
            y
        })
        .collect();
    let mut most = lowest;
    for y in places.iter_mut().rev() {
        *y = y.min(most);
        most = *y - LINE;
    }
    places
}

/// A spun container, with the words for a screen reader.
#[component]
pub fn Column(
    /// What to draw.
    #[prop(into)]
    view: Signal<ColumnView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
) -> impl IntoView {
    let drawing = memo(move || draw(&view.read()));
    view! {
        <svg
            class="picture column"
            role="img"
            aria-label=move || label.get()
            width=move || rem(drawing.read().width)
            viewBox=move || drawing.read().view_box()
            inner_html=move || drawing.read().body.clone()
        ></svg>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use strawline::quantity::Millimetre;
    use strawline::spin::tube::{End, Tube};

    fn ml(value: f64) -> Volume {
        Volume::new(value).unwrap()
    }

    fn demo(kind: ProductKind) -> ColumnView {
        ColumnView {
            glass: Glass {
                capacity: ml(17.0),
                graduation: ml(0.5),
                tube: Tube { inner_diameter: Millimetre::new(15.0).unwrap(), end: End::Round, rated: None },
            },
            kind,
            fill: ml(15.0),
            cells: ml(8.0),
            product: ml(3.0),
            cells_in_product: ml(1.0),
            done: false,
            words: ColumnWords::default(),
        }
    }

    #[test]
    fn each_kind_takes_its_own_layer() {
        let of = |kind| demo(kind).layers();
        let top = of(ProductKind::OffTheTop);
        assert_eq!(
            (top.cells, top.under, top.product, top.over),
            ((0.0, 8.0), (8.0, 12.0), (12.0, 15.0), (15.0, 15.0))
        );
        let concentrate = of(ProductKind::Concentrate);
        assert_eq!((concentrate.product, concentrate.over), ((8.0, 11.0), (11.0, 15.0)));
        let with = of(ProductKind::WithCells);
        assert_eq!(
            (with.cells, with.product, with.over, with.coat),
            ((0.0, 7.0), (7.0, 10.0), (10.0, 15.0), Some(8.0))
        );
    }

    #[test]
    fn more_product_than_plasma_stays_out_of_the_cells() {
        let view = ColumnView { product: ml(9.0), ..demo(ProductKind::OffTheTop) };
        assert_eq!(view.layers().product, (8.0, 15.0));
    }

    #[test]
    fn plasma_alone_has_no_coat() {
        let view = ColumnView { cells: Volume::ZERO, ..demo(ProductKind::Concentrate) };
        let layers = view.layers();
        assert_eq!((layers.coat, layers.product, layers.over), (None, (0.0, 3.0), (3.0, 15.0)));
    }

    #[test]
    fn labels_part_and_stay_in_the_picture() {
        assert_eq!(apart([10.0, 15.0, 200.0].into_iter(), 294.0), [10.0, 31.0, 200.0]);
        assert_eq!(apart([280.0, 285.0, 293.0].into_iter(), 294.0), [252.0, 273.0, 294.0]);
    }
}
