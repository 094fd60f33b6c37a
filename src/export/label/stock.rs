//! The labels of a case set for label stock of one size. Nothing on them is left out: type is set smaller, down to
//! [`LEAST`], and a label that is too full even then is refused for that size.

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
        let high: f64 = lines.iter().map(|(kind, text)| high(*kind, text, across, points)).sum();
        (head + high <= down).then(|| (Label { lines, ..label.clone() }, points))
    };
    // Each line stands alone as long as that does not make it small.
    SIZES.into_iter().find_map(|points| {
        let alone = fits(points, label.lines.clone());
        alone.or_else(|| fits(points, joined(&label.lines, across, points)).filter(|_| points < JOINED))
    })
}

/// How much larger a line is set than the plain ones.
fn larger(kind: LineKind) -> f64 {
    match kind {
        LineKind::Plain => 1.0,
        LineKind::Site => 1.2,
        LineKind::UseBy => 1.35,
    }
}

/// Width of a text [mm] at a type size [pt]: letters a little wider than they were measured on the card, heavy ones
/// more, ruled places as long as they are ruled.
fn wide(text: &Text, points: f64) -> f64 {
    let letters = |s: &str| f64::from(u32::try_from(s.chars().count()).unwrap_or(u32::MAX));
    let run = |run: &Run| match run {
        Run::Plain(s) => letters(s) * 0.152 * points,
        Run::Heavy(s) | Run::Id(s) => letters(s) * 0.165 * points,
        Run::Amount { .. } => letters(&plain(std::slice::from_ref(run))) * 0.165 * points,
        Run::Rule => 13.0,
        Run::LongRule => 20.0,
    };
    text.iter().map(run).sum()
}

fn rows(text: &Text, across: f64, points: f64) -> f64 {
    libm::ceil(wide(text, points) / across).max(1.0)
}

/// A line is 1.1 of its size, with 0.1 mm below it.
fn high(kind: LineKind, text: &Text, across: f64, points: f64) -> f64 {
    let points = points * larger(kind);
    rows(text, across, points) * points * 0.3528 * 1.1 + 0.1
}

/// The head is set half as large again, beside the check sign in its box; `None` where it has no room on one line.
fn head(label: &Label, across: f64, points: f64) -> Option<f64> {
    let room = across - 2.4 * points * 0.3528 - 1.5;
    let hatch = if label.kind == LabelKind::Poor { 0.8 } else { 0.0 };
    (wide(&label.head, points * 1.5) <= room).then_some(points * 1.5 * 0.3528 * 1.1 + 0.6 + hatch)
}

/// Plain lines that have room beside one another stand in one.
fn joined(lines: &[(LineKind, Text)], across: f64, points: f64) -> Vec<(LineKind, Text)> {
    let mut all: Vec<(LineKind, Text)> = Vec::with_capacity(lines.len());
    for (kind, text) in lines {
        if text.iter().all(|run| matches!(run, Run::Plain(s) if s.trim().is_empty())) {
            continue;
        }
        let room = |before: &Text| wide(before, points) + wide(text, points) + 0.2 * points <= 0.96 * across;
        match all.last_mut() {
            Some((LineKind::Plain, before)) if *kind == LineKind::Plain && room(before) => {
                before.push(Run::Plain("\u{2002}".to_owned()));
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
    use crate::draft::{Check, CheckKind, Draft};
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
            assert_eq!(words(&label.lines), words(&whole.lines));
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
                    assert_eq!(words(&label.lines), words(&of.lines));
                }
            }
        }
        // A copy says more than the small one holds.
        let copies = trial::with(&counted_draft(), None, super::super::labels).unwrap();
        assert!(refused(&stuck(&copies, LabelSize::Large, Language::English)).is_empty());
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
