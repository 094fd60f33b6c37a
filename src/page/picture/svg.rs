//! Writes SVG text: numbers to two decimals, words escaped.

/// A finished picture.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Drawing {
    /// Width in user units.
    pub width: f64,
    /// Height in user units.
    pub height: f64,
    /// What stands inside the `svg` element.
    pub body: String,
}

impl Drawing {
    /// The `viewBox`.
    pub fn view_box(&self) -> String {
        ["0 0 ", &number(self.width), " ", &number(self.height)].concat()
    }
}

/// A length in a picture.
#[derive(Debug, Clone, Copy)]
pub enum Len {
    /// User units, one to a CSS pixel at the drawn size.
    Unit(f64),
    /// Share of the picture's width, 0 to 100. Keeps type at its size whatever the width.
    Percent(f64),
    /// Text heights, so that rows part when a person enlarges the text.
    Em(f64),
}

impl From<f64> for Len {
    fn from(value: f64) -> Self {
        Len::Unit(value)
    }
}

/// SVG elements in the making.
#[derive(Debug, Default)]
pub struct Svg(String);

impl Svg {
    /// All that was drawn.
    pub fn finish(self) -> String {
        self.0
    }

    /// A path from its data.
    pub fn path(&mut self, class: &str, data: &Path) {
        self.open("path", class);
        self.attribute("d", &data.0);
        self.0.push_str("/>");
    }

    /// A line from one point to another.
    pub fn line(
        &mut self,
        class: &str,
        x1: impl Into<Len>,
        y1: impl Into<Len>,
        x2: impl Into<Len>,
        y2: impl Into<Len>,
    ) {
        self.shape(
            "line",
            class,
            [("x1", x1.into()), ("y1", y1.into()), ("x2", x2.into()), ("y2", y2.into())],
        );
    }

    /// A rectangle from its corner, width and height.
    pub fn rect(
        &mut self,
        class: &str,
        x: impl Into<Len>,
        y: impl Into<Len>,
        width: impl Into<Len>,
        height: impl Into<Len>,
    ) {
        self.shape(
            "rect",
            class,
            [("x", x.into()), ("y", y.into()), ("width", width.into()), ("height", height.into())],
        );
    }

    /// Words at a point of their baseline.
    pub fn text(&mut self, class: &str, x: impl Into<Len>, y: impl Into<Len>, words: &str) {
        self.open("text", class);
        self.length("x", x.into());
        self.length("y", y.into());
        self.0.push('>');
        self.escape(words);
        self.0.push_str("</text>");
    }

    /// A frame of its own that starts at `x`: what is drawn in it counts from there.
    pub fn frame(&mut self, x: impl Into<Len>, draw: impl FnOnce(&mut Self)) {
        self.0.push_str("<svg overflow=\"visible\"");
        self.length("x", x.into());
        self.0.push('>');
        draw(self);
        self.0.push_str("</svg>");
    }

    /// A place of its own, from which what is drawn in it counts both ways.
    pub fn spot(&mut self, x: impl Into<Len>, y: impl Into<Len>, draw: impl FnOnce(&mut Self)) {
        self.0.push_str("<svg overflow=\"visible\"");
        self.length("x", x.into());
        self.length("y", y.into());
        self.0.push('>');
        draw(self);
        self.0.push_str("</svg>");
    }

    /// A place of 100 by 100, stretched over so much of the picture: for paths, which know no shares of a width.
    pub fn stretched(&mut self, [x, y, width, height]: [Len; 4], draw: impl FnOnce(&mut Self)) {
        self.0.push_str("<svg viewBox=\"0 0 100 100\" preserveAspectRatio=\"none\"");
        for (name, value) in [("x", x), ("y", y), ("width", width), ("height", height)] {
            self.length(name, value);
        }
        self.0.push('>');
        draw(self);
        self.0.push_str("</svg>");
    }

    /// A circle about a point.
    pub fn circle(&mut self, class: &str, x: impl Into<Len>, y: impl Into<Len>, radius: f64) {
        self.open("circle", class);
        self.length("cx", x.into());
        self.length("cy", y.into());
        self.length("r", Len::Unit(radius));
        self.0.push_str("/>");
    }

    fn shape(&mut self, tag: &str, class: &str, lengths: [(&str, Len); 4]) {
        self.open(tag, class);
        for (name, value) in lengths {
            self.length(name, value);
        }
        self.0.push_str("/>");
    }

    fn open(&mut self, tag: &str, class: &str) {
        self.0.push('<');
        self.0.push_str(tag);
        self.attribute("class", class);
    }

    fn length(&mut self, name: &str, value: Len) {
        let (value, unit) = match value {
            Len::Unit(v) => (v, ""),
            Len::Percent(v) => (v, "%"),
            Len::Em(v) => (v, "em"),
        };
        self.attribute(name, &(number(value) + unit));
    }

    fn attribute(&mut self, name: &str, value: &str) {
        for part in [" ", name, "=\"", value, "\""] {
            self.0.push_str(part);
        }
    }

    fn escape(&mut self, words: &str) {
        for c in words.chars() {
            match c {
                '<' => self.0.push_str("&lt;"),
                '>' => self.0.push_str("&gt;"),
                '&' => self.0.push_str("&amp;"),
                '"' => self.0.push_str("&quot;"),
                other => self.0.push(other),
            }
        }
    }
}

/// The data of a path.
#[derive(Debug, Default)]
pub struct Path(String);

impl Path {
    /// Starts at a point.
    pub fn from(x: f64, y: f64) -> Self {
        let mut path = Self::default();
        path.push("M", &[x, y]);
        path
    }
    /// A straight line to a point.
    pub fn line_to(&mut self, x: f64, y: f64) {
        self.push("L", &[x, y]);
    }
    /// A circle's arc of at most a half turn to a point, turning to the left on the screen.
    pub fn arc_to(&mut self, radius: f64, x: f64, y: f64) {
        self.push("A", &[radius, radius, 0.0, 0.0, 0.0, x, y]);
    }
    /// Back to the start.
    pub fn close(&mut self) {
        self.0.push('Z');
    }
    fn push(&mut self, command: &str, numbers: &[f64]) {
        self.0.push_str(command);
        for (i, value) in numbers.iter().enumerate() {
            if i > 0 {
                self.0.push(' ');
            }
            self.0.push_str(&number(*value));
        }
    }
}

/// A number for an attribute: two decimals at most; 0 where there is no finite number.
pub fn number(value: f64) -> String {
    let rounded = (value * 100.0).round() / 100.0;
    // `+ 0.0` turns a negative zero into zero.
    if rounded.is_finite() { (rounded + 0.0).to_string() } else { "0".into() }
}

/// Rough width of words in user units, `size` units high: enough to keep neighbours apart.
pub fn width(words: &str, size: f64) -> f64 {
    words.chars().fold(0.0, |sum, _| sum + size * 0.5)
}

/// A natural size that grows with the text of the page.
pub fn rem(units: f64) -> String {
    number(units / 16.0) + "rem"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_short_and_finite() {
        let written: Vec<_> =
            [12.345_678, -0.001, 0.1 + 0.2, 4.0, f64::NAN, f64::INFINITY].map(number).into();
        assert_eq!(written, ["12.35", "0", "0.3", "4", "0", "0"]);
    }

    #[test]
    fn words_cannot_become_markup() {
        let mut svg = Svg::default();
        svg.text("name", 1.0, Len::Percent(50.0), "<script>\"a\" & b");
        assert_eq!(
            svg.finish(),
            "<text class=\"name\" x=\"1\" y=\"50%\">&lt;script&gt;&quot;a&quot; &amp; b</text>"
        );
    }

    #[test]
    fn a_path_writes_its_commands() {
        let mut path = Path::from(1.0, 2.0);
        path.line_to(3.0, 4.5);
        path.arc_to(2.0, 0.333, 1.0);
        path.close();
        assert_eq!(path.0, "M1 2L3 4.5A2 2 0 0 0 0.33 1Z");
    }
}
