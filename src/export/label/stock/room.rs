//! How many rows a text takes on a label, never fewer than the page that prints it.
//!
//! Widths are the fonts' own: the advance of every character from space to tilde, read once from `public/fonts` with
//! fontTools (`hmtx`, the sans at weights 400 and 600 of its axis). Other characters count as the widest of their
//! class there, and twice the type size where the fonts do not draw them. The style sheet turns kerning and hinted
//! widths off on these labels, so that the sum of advances is the width.

use crate::export::card::{Run, Text};
use crate::quantity::write::with_unit;

/// A typographic point [mm].
pub const POINT: f64 = 25.4 / 72.0;
/// What a browser's rounding of each width may add.
const ROUNDING: f64 = 1.005;

/// The cuts that stand on a label.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Face {
    /// Sans, weight 400 and, where heavy, 600.
    Sans,
    /// Serif, weight 600 throughout.
    Serif,
}

// Advances in thousandths of the type size, from space to tilde.
#[rustfmt::skip]
const SANS: [u16; 95] = [
    200, 289, 426, 497, 497, 824, 609, 249, 303, 303, 418, 497, 249, 311, 249, 350, 497, 497, 497,
    497, 497, 497, 497, 497, 497, 497, 249, 249, 497, 497, 497, 425, 847, 543, 588, 571, 615, 527,
    494, 617, 652, 263, 479, 579, 486, 727, 647, 664, 566, 664, 569, 534, 536, 645, 515, 786, 513,
    476, 539, 303, 350, 303, 497, 500, 542, 504, 553, 456, 555, 496, 292, 504, 544, 246, 247, 495,
    255, 829, 547, 542, 555, 555, 347, 419, 338, 544, 467, 719, 446, 467, 425, 303, 241, 303, 497,
];
#[rustfmt::skip]
const SANS_HEAVY: [u16; 95] = [
    200, 315, 483, 513, 513, 841, 639, 275, 324, 324, 438, 513, 275, 322, 275, 344, 513, 513, 513,
    513, 513, 513, 513, 513, 513, 513, 275, 275, 513, 513, 513, 444, 875, 558, 597, 576, 625, 538,
    509, 628, 663, 282, 494, 597, 502, 745, 657, 674, 581, 674, 591, 545, 546, 655, 536, 800, 540,
    501, 540, 324, 344, 324, 513, 500, 548, 516, 563, 462, 564, 507, 317, 519, 558, 261, 263, 522,
    271, 843, 560, 548, 564, 564, 373, 431, 361, 556, 495, 748, 480, 494, 443, 324, 254, 324, 513,
];
#[rustfmt::skip]
const SERIF: [u16; 95] = [
    219, 306, 391, 545, 513, 873, 711, 204, 353, 353, 432, 530, 292, 319, 292, 349, 513, 513, 513,
    513, 513, 513, 513, 513, 513, 513, 292, 292, 530, 530, 530, 422, 858, 659, 623, 615, 694, 587,
    565, 664, 761, 368, 374, 669, 574, 881, 716, 692, 586, 692, 657, 517, 609, 713, 657, 955, 644,
    622, 547, 331, 349, 331, 530, 517, 400, 509, 583, 488, 571, 505, 351, 522, 599, 301, 287, 561,
    304, 892, 601, 548, 586, 560, 436, 434, 336, 585, 507, 764, 526, 513, 453, 339, 297, 339, 530,
];

/// Advance of a character in thousandths of the type size.
fn advance(c: char, face: Face, heavy: bool) -> u16 {
    let table = match (face, heavy) {
        (Face::Sans, false) => &SANS,
        (Face::Sans, true) => &SANS_HEAVY,
        (Face::Serif, _) => &SERIF,
    };
    let place = u32::from(c).checked_sub(32).and_then(|n| usize::try_from(n).ok());
    if let Some(known) = place.and_then(|n| table.get(n)) {
        return *known;
    }
    // The widest of each class in any of the three.
    match c {
        '\u{a0}' | '\u{2009}' | '\u{200a}' | '\u{202f}' => 219,
        '²' | '³' | '¹' | '⁰' | '⁴'..='⁹' | '⁻' | '₀'..='₉' | '°' | '·' | '‘' | '’' | '′' | '‐' | '‑' => {
            372
        }
        '×' | '÷' | '±' | '−' | '≈' | '≤' | '≥' | '–' | '“' | '”' | '\u{2007}' => 530,
        'à'..='å' | 'ç'..='ÿ' | 'ß' | 'µ' | 'μ' | '\u{2002}' => 617,
        'À'..='Å' | 'Ç'..='Þ' => 716,
        'Æ' | 'æ' | 'Œ' | 'œ' | '—' | '…' => 963,
        _ => 2000,
    }
}

/// Width of words [mm].
pub fn letters(words: &str, face: Face, heavy: bool, points: f64) -> f64 {
    let sum: f64 = words.chars().map(|c| f64::from(advance(c, face, heavy))).sum();
    sum / 1000.0 * points * POINT * ROUNDING
}

/// What a row is filled with.
enum Bit {
    /// Here it may end.
    Space(f64),
    /// What is broken only where it is wider than a whole row, after a letter.
    Letter(f64),
    /// There, the row may also end early: after a hyphen, a stroke.
    Mark(f64),
    /// What is never broken.
    Whole(f64),
}

impl Bit {
    fn wide(&self) -> f64 {
        match self {
            Bit::Space(w) | Bit::Letter(w) | Bit::Mark(w) | Bit::Whole(w) => *w,
        }
    }
}

fn bits(run: &Run, face: Face, points: f64) -> Vec<Bit> {
    let wide = |words: &str, heavy| letters(words, face, heavy, points);
    let each = |words: &str, heavy| {
        let one = |c: char| {
            let wide = wide(c.encode_utf8(&mut [0; 4]), heavy);
            match c {
                ' ' | '\t' | '\n' => Bit::Space(wide),
                c if c.is_alphanumeric() => Bit::Letter(wide),
                _ => Bit::Mark(wide),
            }
        };
        words.chars().map(one).collect()
    };
    match run {
        Run::Plain(words) => each(words, false),
        Run::Heavy(words) => each(words, true),
        Run::Id(words) => vec![Bit::Whole(wide(words, true))],
        Run::Amount { number, unit } => vec![Bit::Whole(wide(&with_unit(number, unit), true))],
        Run::Rule => vec![Bit::Whole(13.0)],
        Run::LongRule => vec![Bit::Whole(20.0)],
    }
}

/// Width of a text on one row [mm].
pub fn wide(text: &Text, face: Face, points: f64) -> f64 {
    text.iter().flat_map(|run| bits(run, face, points)).map(|bit| bit.wide()).sum()
}

/// Rows that a text takes where a row is `across` [mm]: each word in the first row that holds it, a word wider than
/// that broken. `None` where something that is never broken is wider.
pub fn rows(text: &Text, face: Face, across: f64, points: f64) -> Option<f64> {
    let mut page = Page { across, rows: 1.0, filled: 0.0, gap: 0.0 };
    let mut word = Vec::new();
    for bit in text.iter().flat_map(|run| bits(run, face, points)) {
        match bit {
            Bit::Space(wide) => {
                page.add(&std::mem::take(&mut word))?;
                page.gap = wide.max(page.gap);
            }
            bit => word.push(bit),
        }
    }
    page.add(&word)?;
    Some(page.rows)
}

struct Page {
    across: f64,
    rows: f64,
    filled: f64,
    gap: f64,
}

impl Page {
    fn add(&mut self, word: &[Bit]) -> Option<()> {
        if word.is_empty() {
            return Some(());
        }
        let whole: f64 = word.iter().map(Bit::wide).sum();
        let gap = std::mem::take(&mut self.gap);
        if self.filled == 0.0 || self.filled + gap + whole > self.across {
            self.row();
        } else {
            self.filled += gap;
        }
        if self.filled + whole <= self.across {
            self.filled += whole;
            return Some(());
        }
        for bit in word {
            let wide = bit.wide();
            if wide > self.across {
                return None;
            }
            if self.filled + wide > self.across {
                self.row();
            }
            self.filled += wide;
            if matches!(bit, Bit::Mark(_)) {
                self.row();
            }
        }
        Some(())
    }

    /// The next row, unless this one is empty.
    fn row(&mut self) {
        if self.filled > 0.0 {
            self.rows += 1.0;
            self.filled = 0.0;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows_of(words: &str, across: f64) -> Option<f64> {
        rows(&vec![Run::Plain(words.into())], Face::Sans, across, 10.0)
    }

    /// By hand from the advances of the sans: H 652, space 200.
    #[test]
    fn a_row_holds_what_its_advances_say() {
        let h = 0.652 * 10.0 * POINT * ROUNDING;
        let space = 0.2 * 10.0 * POINT * ROUNDING;
        assert!((letters("HH", Face::Sans, false, 10.0) - 2.0 * h).abs() < 1e-9);
        assert_eq!(rows_of("HH HH", 4.0 * h + space + 1e-6), Some(1.0));
        assert_eq!(rows_of("HH HH", 4.0 * h + space - 1e-6), Some(2.0));
        // Ragged: 15 letters at 5.5 to a row are three rows by width alone, five by words.
        assert_eq!(rows_of("HHH HHH HHH HHH HHH", 5.5 * h), Some(5.0));
        // A word wider than a row begins one and is broken.
        assert_eq!(rows_of("H HHHHHHHH", 3.5 * h), Some(4.0));
        assert_eq!(rows_of("H  H", 2.0 * h + space + 1e-6), Some(1.0));
        assert_eq!(rows_of("", h), Some(1.0));
    }

    /// Sums of `hmtx` advances of `strawline-serif.woff2` by fontTools 4: 17.822 and 18.867 em, 0.57 to 0.59 a letter.
    #[test]
    fn capitals_of_the_serif_count_in_full() {
        for (site, em) in
            [("RIGHT KNEE, MEDIAL COMPARTMENT", 17.822), ("RIGHT ACHILLES TENDON MID PORTION", 18.867)]
        {
            let real = em * 9.0 * POINT;
            let counted = letters(site, Face::Serif, false, 9.0);
            assert!(counted >= real && counted < 1.01 * real, "{site}: {counted} for {real}");
            // On 50 mm with 1.3 mm white at both sides.
            assert_eq!(rows(&vec![Run::Plain(site.into())], Face::Serif, 47.4, 9.0), Some(2.0));
        }
    }

    #[test]
    fn what_is_never_broken_needs_its_width() {
        let id = vec![Run::Id("HHHHHHHH".into())];
        assert_eq!(rows(&id, Face::Sans, 10.0, 10.0), None);
        assert_eq!(rows(&id, Face::Sans, 20.0, 10.0), Some(1.0));
        assert_eq!(rows(&vec![Run::Rule], Face::Sans, 12.0, 10.0), None);
    }

    /// Every character the fonts do not draw counts at least as wide as any they do.
    #[test]
    fn nothing_counts_for_less_than_it_may_be() {
        for (face, heavy) in [(Face::Sans, false), (Face::Sans, true), (Face::Serif, true)] {
            assert!(advance('W', face, heavy) > advance('i', face, heavy));
            assert!(advance('Щ', face, heavy) > advance('W', face, heavy));
            assert!(advance('É', face, heavy) >= advance('E', face, heavy));
            assert!(advance('ü', face, heavy) >= advance('u', face, heavy));
        }
    }
}
