//! Containers to draw blood into, side by side and to scale, with their graduations and what is in them.

use super::graduation::{Graduation, graduations};
use super::profile::Pen;
use super::svg::{Drawing, Svg, width};
use crate::dom::prelude::*;
use strawline::bench::Container;
use strawline::quantity::{Quantity, Volume};
use strawline::spin::tube;

/// Height of the picture in user units, as `style/` sets it on a tablet.
const HEIGHT: f64 = 352.0;
/// Kept free above the lip and below the end, for the width of their lines.
const EDGE: f64 = 2.0;
/// The lip stands out by this much on either side.
const LIP: f64 = 4.0;
/// Between two containers.
const GAP: f64 = 16.0;
/// Height of words on the scale, and of a line of caption.
const WORD: f64 = 15.0;
const LINE: f64 = 19.0;
/// Captions break into lines to be no wider than this, or than their glass.
const CAPTION: f64 = 84.0;
/// The most that a container's inside is wide.
const WIDEST: f64 = 150.0;

/// Width that the answer panel has for containers.
pub const ANSWER: f64 = 190.0;
/// Width that the page has for them while the needle is in.
pub const NEEDLE: f64 = 352.0;

/// What is drawn of a container from the Bench.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Glass {
    /// Most it can hold: where its lip is.
    pub capacity: Volume,
    /// Step of its own scale.
    pub graduation: Volume,
    /// Its inside.
    pub tube: tube::Tube,
}

impl From<&Container> for Glass {
    fn from(c: &Container) -> Self {
        Self { capacity: c.capacity, graduation: c.graduation, tube: c.tube() }
    }
}

impl Glass {
    /// Height of the lip over the lowest point [mm].
    pub(super) fn rim(&self) -> f64 {
        self.tube.height_of(self.capacity.get()).max(0.1)
    }
    /// Height at which a volume stands [mm]; never above the lip.
    pub(super) fn level(&self, volume: Volume) -> f64 {
        self.tube.height_of(volume.get()).min(self.rim())
    }
}

/// One of the containers.
#[derive(Debug, Clone, PartialEq)]
pub struct Tube {
    /// Where its content stands or is to stand, anticoagulant included.
    pub fill: Volume,
    /// Drawn and mixed: solid, and the anticoagulant is no longer seen apart.
    pub done: bool,
    /// No longer used: its outline is crossed.
    pub set_aside: bool,
    /// Under it, in few words; may be empty.
    pub caption: String,
}

/// Containers side by side: at most two in the answer and three at the needle; say their number in words.
#[derive(Debug, Clone, PartialEq)]
pub struct ContainersView {
    /// What each of them is.
    pub glass: Glass,
    /// Fill mark.
    pub mark: Volume,
    /// Anticoagulant at the bottom of each.
    pub agent: Volume,
    /// From left to right.
    pub tubes: Vec<Tube>,
    /// The most the containers may be wide in all, in user units: [`ANSWER`] or [`NEEDLE`].
    pub widest: f64,
}

/// Where everything stands on the page.
struct Layout {
    width: f64,
    pens: Vec<Pen>,
    /// Numbers do not fit into the glass and stand at its left.
    outside: bool,
}

impl ContainersView {
    /// Height of the fill mark, as a fraction of the picture's height from its top: the value of `--mark`.
    pub fn mark_fraction(&self) -> f64 {
        self.fraction(self.mark)
    }
    /// The same for the level of the anticoagulant: the value of `--agent`.
    pub fn agent_fraction(&self) -> f64 {
        self.fraction(self.agent)
    }
    fn fraction(&self, volume: Volume) -> f64 {
        let pen = Pen { axis: 0.0, base: self.base(), scale: self.scale() };
        // Four decimals are a small part of a pixel, and make a short value.
        (pen.y(self.glass.level(volume)) / HEIGHT * 10_000.0).round() / 10_000.0
    }

    fn base(&self) -> f64 {
        let lines = self.tubes.iter().map(|t| wrapped(&t.caption).len()).max().unwrap_or(0);
        (0..lines).fold(HEIGHT - EDGE, |base, _| base - LINE)
    }

    /// Units per mm, in both directions the same.
    fn scale(&self) -> f64 {
        let n = self.tubes.iter().fold(0.0, |n: f64, _| n + 1.0).max(1.0);
        let room = (self.widest / n - GAP - 2.0 * LIP).clamp(8.0, WIDEST);
        let high = (self.base() - EDGE) / self.glass.rim();
        high.min(room / self.glass.tube.inner_diameter.get())
    }

    fn layout(&self, words: f64) -> Layout {
        let (scale, base) = (self.scale(), self.base());
        let inner = self.glass.tube.inner_diameter.get() * scale;
        let outside = words + long(inner) + 8.0 > inner;
        let beside = if outside { words + 6.0 } else { 0.0 };
        let captions = self.tubes.iter().flat_map(|t| wrapped(&t.caption));
        let captions = captions.map(|line| width(&line, WORD)).fold(0.0, f64::max);
        let glass = inner + 2.0 * LIP + beside;
        let place = glass.max(captions);
        let mut left = 0.0;
        let mut pens = Vec::new();
        for _ in &self.tubes {
            // Numbers at the left shift the glass, not its caption's room.
            pens.push(Pen { axis: left + (place + beside) / 2.0, base, scale });
            left += place + GAP;
        }
        Layout { width: (left - GAP).max(1.0), pens, outside }
    }
}

/// A caption in lines.
fn wrapped(caption: &str) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in caption.split(' ').filter(|word| !word.is_empty()) {
        match lines.last_mut() {
            Some(line) if width(line, WORD) + width(word, WORD) < CAPTION => {
                line.push(' ');
                line.push_str(word);
            }
            _ => lines.push(word.into()),
        }
    }
    lines
}

fn long(inner: f64) -> f64 {
    (inner * 0.28).clamp(5.0, 18.0)
}

/// Draws the containers. `number` writes the numbers of their scale.
pub fn draw(view: &ContainersView, number: &dyn Fn(f64) -> String) -> Drawing {
    let glass = &view.glass;
    // One mL in the cylinder, where lines stand closest.
    let per_ml = glass.tube.millilitre() * view.scale();
    let lines = graduations(glass, per_ml);
    let words =
        lines.iter().filter(|g| g.numbered).map(|g| width(&number(g.volume), WORD)).fold(0.0, f64::max);
    let layout = view.layout(words);
    let mut svg = Svg::default();
    for (tube, pen) in view.tubes.iter().zip(&layout.pens) {
        content(&mut svg, view, tube, *pen);
        ruler(&mut svg, view, tube, *pen, &lines, layout.outside, number);
        shell(&mut svg, glass, *pen, tube.set_aside);
        let middle = if layout.outside { pen.axis - (words + 6.0) / 2.0 } else { pen.axis };
        let mut y = pen.base + LINE;
        for line in wrapped(&tube.caption) {
            svg.text("tick-word strong middle", middle, y, &line);
            y += LINE;
        }
    }
    Drawing { width: layout.width, height: HEIGHT, body: svg.finish() }
}

/// What is inside: anticoagulant under planned blood, or the mixture.
fn content(svg: &mut Svg, view: &ContainersView, tube: &Tube, pen: Pen) {
    let mut layer = |class: &str, low: f64, high: f64| {
        if high > low {
            let mut path = pen.outline(&view.glass.tube, low, high);
            path.close();
            svg.path(class, &path);
        }
    };
    let (agent, fill) = (view.glass.level(view.agent), view.glass.level(tube.fill));
    if tube.done {
        layer("blood done", 0.0, fill);
    } else {
        layer("agent", 0.0, agent);
        layer("blood", agent, fill);
    }
}

fn ruler(
    svg: &mut Svg,
    view: &ContainersView,
    tube: &Tube,
    pen: Pen,
    lines: &[Graduation],
    outside: bool,
    number: &dyn Fn(f64) -> String,
) {
    let glass = &view.glass.tube;
    let inner = glass.inner_diameter.get() * pen.scale;
    let surface = pen.y(view.glass.level(tube.fill));
    let mark = pen.y(view.glass.level(view.mark));
    for line in lines {
        let height = glass.height_of(line.volume);
        let (y, half) = (pen.y(height), pen.half(glass, height));
        let length = if line.numbered { long(inner) } else { long(inner) * 0.55 };
        let dark = if tube.done && y > surface { " on-dark" } else { "" };
        let (class, left) = (if line.numbered { "tick long" } else { "tick" }, pen.axis - half);
        svg.line(&[class, dark].concat(), left, y, left + length.min(half), y);
        // A number is not written across the line it would be read against, nor into a narrow end.
        let clear = (y - surface).abs() > WORD * 0.6 && (y - mark).abs() > WORD * 0.6;
        if line.numbered && outside {
            svg.text("tick-word end", pen.axis - inner / 2.0 - 6.0, y + WORD * 0.35, &number(line.volume));
        } else if line.numbered && clear && half > inner * 0.45 {
            svg.text(
                &["tick-word", dark].concat(),
                left + length + 4.0,
                y + WORD * 0.35,
                &number(line.volume),
            );
        }
    }
}

/// Outline, lip, and the cross of one that is set aside.
pub(super) fn shell(svg: &mut Svg, glass: &Glass, pen: Pen, set_aside: bool) {
    let rim = glass.rim();
    svg.path("glass", &pen.outline(&glass.tube, 0.0, rim));
    let (half, top) = (pen.half(&glass.tube, rim), pen.y(rim));
    svg.line("lip", pen.axis - half - LIP, top, pen.axis + half + LIP, top);
    if set_aside {
        let (left, right) = (pen.axis - half - LIP, pen.axis + half + LIP);
        svg.line("glass", left, top, right, pen.base);
        svg.line("glass", right, top, left, pen.base);
    }
}

/// Containers, with the words for a screen reader.
#[component]
pub fn Containers(
    /// What to draw.
    #[prop(into)]
    view: Signal<ContainersView>,
    /// The picture in words.
    #[prop(into)]
    label: Signal<String>,
    /// Writes the numbers of the scale.
    #[prop(into)]
    number: Callback<f64, String>,
) -> impl IntoView {
    let drawing = memo(move || draw(&view.read(), &|value| number.run(value)));
    view! {
        <svg
            class="picture containers"
            role="img"
            aria-label=move || label.get()
            viewBox=move || drawing.read().view_box()
            // Should the page squeeze the picture, the mark still stands on its line.
            preserveAspectRatio="none"
            inner_html=move || drawing.read().body.clone()
        ></svg>
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use strawline::quantity::Millimetre;
    use strawline::spin::tube::End;

    fn ml(value: f64) -> Volume {
        Volume::new(value).unwrap()
    }

    fn glass(capacity: f64, graduation: f64, diameter: f64, end: End) -> Glass {
        let inner_diameter = Millimetre::new(diameter).unwrap();
        let tube = tube::Tube { inner_diameter, end, rated: None };
        Glass { capacity: ml(capacity), graduation: ml(graduation), tube }
    }

    fn view(glass: Glass, mark: f64, agent: f64, tubes: usize) -> ContainersView {
        let tube = Tube { fill: ml(mark), done: false, set_aside: false, caption: String::new() };
        ContainersView { glass, mark: ml(mark), agent: ml(agent), tubes: vec![tube; tubes], widest: ANSWER }
    }

    #[test]
    fn fractions_are_those_of_a_cylinder() {
        // A flat end: heights go as volumes, between 2 and 350 of 352 units.
        let view = view(glass(10.0, 1.0, 14.0, End::Flat), 7.5, 2.5, 1);
        assert_eq!(view.mark_fraction(), 0.2528); // (2 + 0.25·348)/352
        assert_eq!(view.agent_fraction(), 0.7472); // (2 + 0.75·348)/352
    }

    #[test]
    fn every_size_fits_the_picture() {
        for (capacity, diameter) in
            [(0.5, 6.0), (0.5, 12.0), (17.0, 15.0), (60.0, 40.0), (60.0, 27.0), (500.0, 80.0)]
        {
            let cone =
                End::Cone { height: Millimetre::new(diameter).unwrap(), tip: Millimetre::constant(0.0) };
            for end in [End::Round, cone, End::Flat] {
                for (tubes, widest) in [(1, ANSWER), (2, ANSWER), (3, NEEDLE)] {
                    let glass = glass(capacity, capacity / 50.0, diameter, end);
                    let view =
                        ContainersView { widest, ..view(glass, capacity * 0.8, capacity * 0.1, tubes) };
                    let drawing = draw(&view, &|v| v.to_string());
                    let (mark, agent) = (view.mark_fraction(), view.agent_fraction());
                    assert!(drawing.width <= widest, "{capacity} mL: {} wide", drawing.width);
                    assert!(0.0 < mark && mark < agent && agent < 1.0, "{capacity} mL: {mark}, {agent}");
                    assert!(!drawing.body.contains("NaN"), "{capacity} mL");
                }
            }
        }
    }

    #[test]
    fn a_mixed_tube_shows_no_separate_anticoagulant() {
        let mut view = view(glass(17.0, 0.5, 15.0, End::Round), 15.0, 2.0, 2);
        view.tubes[0].done = true;
        view.tubes[1].set_aside = true;
        let body = draw(&view, &|v| v.to_string()).body;
        for (class, times) in [("blood done", 1), ("agent", 1), ("blood", 1), ("lip", 2), ("glass", 4)] {
            assert_eq!(body.matches(&format!("class=\"{class}\"")).count(), times, "{class}");
        }
    }

    #[test]
    fn captions_take_room_from_the_glass_and_move_its_mark() {
        let mut view = view(glass(10.0, 1.0, 14.0, End::Flat), 7.5, 2.5, 1);
        view.tubes[0].caption = "1 · at the mark".into();
        assert_eq!(wrapped(&view.tubes[0].caption), ["1 · at the", "mark"]);
        assert_eq!(view.mark_fraction(), 0.2259); // two lines of 19: (2 + 0.25·310)/352
    }
}
