//! The labels of a case set for label stock of one size. Nothing on them is left out: type is set smaller, down to
//! [`LEAST`], and a label that is too full even then is refused for that size.

mod room;

use self::room::{Face, POINT, letters, rows, wide};
use super::{Label, LabelKind, Labels, LineKind};
use crate::bench::stock::LabelSize;
use crate::export::card::{Run, Text, plain};
use crate::words::Language;
use crate::words::label::Refused;

/// Smallest type on a label [pt]; the card's own smallest is 5.9.
pub const LEAST: f64 = 6.0;
/// Sizes tried, the largest first [pt].
const SIZES: [f64; 7] = [9.0, 8.5, 8.0, 7.5, 7.0, 6.5, LEAST];
/// Below this size [pt] short lines stand beside one another rather than all of them smaller.
const JOINED: f64 = 8.0;
/// Left white inside the edge of a label, line included [mm].
const INSIDE: f64 = 1.3;

/// A label for stock.
#[derive(Debug, Clone, PartialEq)]
pub enum Stuck {
    /// It fits.
    Fits {
        /// With short lines side by side.
        label: Label,
        /// Type size of its lines [pt].
        points: f64,
    },
    /// It does not: which, and what to print instead, in words.
    Refused {
        /// The check sign, so that a sheet tells whose it is.
        sign: Option<String>,
        /// The sentence.
        says: String,
    },
}

/// Every label of a case in this size, in the order of the strip.
pub fn stuck(labels: &Labels, size: LabelSize, language: Language) -> Vec<Stuck> {
    let one = |label: &Label| match set(label, size) {
        Some((label, points)) => Stuck::Fits { label, points },
        None => Stuck::Refused {
            sign: label.sign.clone(),
            says: language.say(Refused { label: named(label), size }).into_owned(),
        },
    };
    labels.large.iter().chain(&labels.small).map(one).collect()
}

/// Its first words, without what is ruled for a hand.
fn named(label: &Label) -> String {
    let words = label.head.iter().filter(|run| !matches!(run, Run::Rule | Run::LongRule));
    plain(&words.cloned().collect::<Text>()).trim().to_owned()
}

/// The sentences of those that are refused.
pub fn refused(all: &[Stuck]) -> Vec<String> {
    let says = |stuck: &Stuck| match stuck {
        Stuck::Refused { says, .. } => Some(says.clone()),
        Stuck::Fits { .. } => None,
    };
    all.iter().filter_map(says).collect()
}

fn set(label: &Label, size: LabelSize) -> Option<(Label, f64)> {
    let (across, down) = size.mm();
    let (across, down) = (across - 2.0 * INSIDE, down - 2.0 * INSIDE);
    let fits = |points: f64, lines: Vec<(LineKind, Text)>| {
        let head = head(label, across, points)?;
        let high: f64 =
            lines.iter().map(|(kind, text)| high(*kind, text, across, points)).sum::<Option<f64>>()?;
        (head + high <= down).then(|| (Label { lines, ..label.clone() }, points))
    };
    let lines = weighty_first(label);
    // Each line stands alone as long as that does not make it small.
    SIZES.into_iter().find_map(|points| {
        let alone = fits(points, lines.clone());
        alone.or_else(|| fits(points, joined(&lines, across, points)).filter(|_| points < JOINED))
    })
}

/// What must not be missed stands before the rest: the first line, side and site, use-by, what is wholly heavy, and
/// the wording for own blood, which comes last on the strip. A browser told to set larger type than the page asks for
/// would cut a label from below.
fn weighty_first(label: &Label) -> Vec<(LineKind, Text)> {
    let own = matches!(label.kind, LabelKind::Product | LabelKind::Poor).then_some(label.lines.len());
    let weighty = |at: usize, kind: LineKind, text: &Text| {
        let heavy = text.iter().all(|run| matches!(run, Run::Heavy(_)));
        at == 0 || kind != LineKind::Plain || heavy || own == Some(at + 1)
    };
    let lines = label.lines.iter().cloned().enumerate();
    let (mut first, rest): (Vec<_>, Vec<_>) = lines.partition(|(at, (kind, text))| weighty(*at, *kind, text));
    first.extend(rest);
    first.into_iter().map(|(_, line)| line).collect()
}

/// How much larger a line is set than the plain ones.
fn larger(kind: LineKind) -> f64 {
    match kind {
        LineKind::Plain => 1.0,
        LineKind::Site => 1.2,
        LineKind::UseBy => 1.35,
    }
}

fn face(kind: LineKind) -> Face {
    match kind {
        LineKind::Plain | LineKind::UseBy => Face::Sans,
        LineKind::Site => Face::Serif,
    }
}

/// A row is 1.1 of its size; below a line are 0.1 mm.
fn high(kind: LineKind, text: &Text, across: f64, points: f64) -> Option<f64> {
    let points = points * larger(kind);
    Some(rows(text, face(kind), across, points)? * points * POINT * 1.1 + 0.1)
}

/// The head is set half as large again, beside the check sign in its box; `None` where it has no room on one row.
fn head(label: &Label, across: f64, points: f64) -> Option<f64> {
    let large = points * 1.5;
    // Of the box: 0.2 of its size at both sides and 1 pt of line all round; the plasma's head has 0.3 and 0.75 pt.
    let sign = label
        .sign
        .as_ref()
        .map_or(0.0, |sign| letters(sign, Face::Sans, true, large) + (0.4 * large + 2.0) * POINT + 1.5);
    let (beside, above) = if label.kind == LabelKind::Poor { (0.6 * large + 1.5, 1.5) } else { (0.0, 0.0) };
    let wide = wide(&label.head, Face::Sans, large) + beside * POINT;
    let high = (1.1 * large + above).max(large + 2.0) * POINT;
    (wide + sign <= across).then_some(high + 0.3)
}

/// Plain lines that have room beside one another stand in one.
fn joined(lines: &[(LineKind, Text)], across: f64, points: f64) -> Vec<(LineKind, Text)> {
    let mut all: Vec<(LineKind, Text)> = Vec::with_capacity(lines.len());
    for (kind, text) in lines {
        if text.iter().all(|run| matches!(run, Run::Plain(s) if s.trim().is_empty())) {
            continue;
        }
        let beside: Text = vec![Run::Plain("\u{2002}".to_owned())];
        let wide = |text: &Text| wide(text, Face::Sans, points);
        let room = |before: &Text| wide(before) + wide(&beside) + wide(text) <= across;
        match all.last_mut() {
            Some((LineKind::Plain, before)) if *kind == LineKind::Plain && room(before) => {
                before.extend(beside);
                before.extend(text.iter().cloned());
            }
            _ => all.push((*kind, text.clone())),
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{Check, CheckKind, Draft, Field};
    use crate::export::label::line;
    use crate::export::trial::{self, counted_draft};

    fn label(kind: LabelKind, lines: usize) -> Label {
        let text = |n| vec![Run::Plain(format!("line {n} of a label, in so many letters"))];
        Label {
            kind,
            head: vec![Run::Heavy("PRP 3.8 mL".into())],
            sign: Some("7K".into()),
            lines: (0..lines).map(|n| line(text(n))).collect(),
        }
    }

    fn of(label: Label, size: LabelSize) -> Stuck {
        let labels =
            Labels { cut: String::new(), sticker: String::new(), large: vec![label], small: Vec::new() };
        stuck(&labels, size, Language::English).remove(0)
    }

    fn words(lines: &[(LineKind, Text)]) -> String {
        lines.iter().map(|(_, t)| plain(t)).collect::<Vec<_>>().join("\u{2002}")
    }

    #[test]
    fn type_shrinks_and_no_word_is_lost() {
        let mut before = 99.0;
        for lines in 1..14 {
            let whole = label(LabelKind::Product, lines);
            let Stuck::Fits { label, points } = of(whole.clone(), LabelSize::Large) else { break };
            assert!(points <= before && points >= LEAST, "{lines}: {points}");
            assert_eq!(words(&label.lines), words(&weighty_first(&whole)));
            before = points;
        }
        assert!(before < 8.0, "{before}");
    }

    /// Every label of the invented case, at each step and in both sizes.
    #[test]
    fn the_labels_of_the_strip_fit_with_every_word() {
        let mut counted = counted_draft();
        counted.times.handed_over = None;
        for draft in [drawn_again(), counted] {
            let labels = trial::with(&draft, None, super::super::labels).unwrap();
            for size in LabelSize::ALL {
                let strip = labels.large.iter().chain(&labels.small);
                for (of, stuck) in strip.zip(stuck(&labels, size, Language::English)) {
                    let Stuck::Fits { label, points } = stuck else { panic!("{size:?}: {of:?}") };
                    assert!(points >= LEAST);
                    assert_eq!((&label.head, &label.sign), (&of.head, &of.sign));
                    assert_eq!(words(&label.lines), words(&weighty_first(of)));
                }
            }
        }
        // A copy says more than the small one holds.
        let copies = trial::with(&counted_draft(), None, super::super::labels).unwrap();
        assert!(refused(&stuck(&copies, LabelSize::Large, Language::English)).is_empty());
    }

    /// Each that fits was laid out with the style sheet in Chromium 156: nothing was cut, and the height counted was
    /// 0.15 to 0.32 mm more than the page's.
    #[test]
    fn a_site_in_capitals_or_at_length_fits_or_is_refused() {
        let (small, large) = (LabelSize::Small, LabelSize::Large);
        for (site, size, product) in [
            ("KNEE, MEDIAL COMPARTMENT", small, Some(6.0)),
            ("KNEE, MEDIAL COMPARTMENT", large, Some(7.0)),
            ("ACHILLES TENDON MID PORTION", small, None),
            ("ACHILLES TENDON MID PORTION", large, Some(7.0)),
            ("COMMON EXTENSOR ORIGIN AT THE LATERAL EPICONDYLE, DEEP FIBRES", small, None),
            ("COMMON EXTENSOR ORIGIN AT THE LATERAL EPICONDYLE, DEEP FIBRES", large, Some(6.5)),
        ] {
            let mut counted = counted_draft();
            counted.times.handed_over = None;
            for mut draft in [drawn_again(), counted] {
                draft.write(Field::Site, site);
                let labels = trial::with(&draft, None, super::super::labels).unwrap();
                let strip = labels.large.iter().chain(&labels.small);
                for (of, stuck) in strip.zip(stuck(&labels, size, Language::English)) {
                    let points = match stuck {
                        Stuck::Fits { label, points } => {
                            assert_eq!(words(&label.lines), words(&weighty_first(of)));
                            Some(points)
                        }
                        Stuck::Refused { says, .. } => {
                            assert!(says.contains("57\u{a0}×\u{a0}32"), "{says}");
                            None
                        }
                    };
                    if of.kind == LabelKind::Product {
                        assert!(plain(&of.lines[1].1).ends_with(site));
                        assert_eq!(points, product, "{site} on {size:?}");
                    } else {
                        assert!(points.is_some(), "{of:?}");
                    }
                }
            }
        }
    }

    #[test]
    fn what_must_not_be_missed_is_not_what_stands_last() {
        let labels = trial::with(&drawn_again(), None, super::super::labels).unwrap();
        let mut seen = 0;
        for label in labels.large.iter().chain(&labels.small) {
            let lines: Vec<String> = weighty_first(label).iter().map(|(_, text)| plain(text)).collect();
            let place = |words: &str| lines.iter().position(|line| line.contains(words)).unwrap();
            let last = match label.kind {
                LabelKind::Product => {
                    ["HL-0417", "RIGHT", "Use by", "Own blood"].map(place).into_iter().max()
                }
                LabelKind::Poor => {
                    ["not the product", "Own blood", "Not for injection"].map(place).into_iter().max()
                }
                LabelKind::Syringe => Some(place("Not for intravenous use")),
                LabelKind::Withheld | LabelKind::Container => continue,
            };
            assert!(last.unwrap() + 2 < lines.len(), "{lines:?}");
            let demo = label.kind == LabelKind::Syringe || lines[place("Own blood")].contains("Demo");
            assert!(demo && lines.len() == label.lines.len(), "{lines:?}");
            seen += 1;
        }
        assert_eq!(seen, 3);
    }

    /// Before the needle: containers and syringe too.
    fn drawn_again() -> Draft {
        let mut draft = trial::drawn();
        (draft.times.needle_in, draft.times.needle_out) = (None, None);
        let check = Check { by: "MO".into(), at: draft.begun, of: String::new() };
        draft.checks.insert(CheckKind::Identity, check);
        draft
    }

    #[test]
    fn a_label_too_full_is_refused_with_the_larger_size_named() {
        let Stuck::Refused { says, sign } = of(label(LabelKind::Product, 11), LabelSize::Small) else {
            panic!("it fits")
        };
        assert!(says.contains("PRP 3.8") && says.contains("57\u{a0}×\u{a0}32"), "{says}");
        assert_eq!(sign.as_deref(), Some("7K"));
        let Stuck::Refused { says, .. } = of(label(LabelKind::Product, 30), LabelSize::Large) else {
            panic!("it fits")
        };
        assert!(says.contains("card"), "{says}");
    }
}
