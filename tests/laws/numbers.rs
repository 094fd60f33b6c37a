//! Numbers and texts: what is written reads back, in every unit, style and language.

use crate::drafts::all_conventions;
use crate::{Verdict, config};
use proptest::prelude::*;
use strawline::quantity::read::{Kind, Reading, number, read, shown, spell};
use strawline::quantity::unit::{Conventions, NumberStyle};
use strawline::quantity::write::{fixed, full, round_significant, round_to, significant};
use strawline::words::Language;
use strawline::words::reading::ReadingWords;

const STYLES: [NumberStyle; 2] = [NumberStyle::Point, NumberStyle::Comma];

/// Every kind of number an entry can take.
fn kinds() -> Vec<Kind> {
    use Kind as K;
    vec![
        K::Volume { min: 0.0, max: 500.0 },
        K::Volume { min: 0.05, max: 100.0 },
        K::BloodBefore,
        K::BloodCount,
        K::ProductCount,
        K::WhiteCount,
        K::RedCount,
        K::Haematocrit,
        K::ProductHaematocrit,
        K::Haemoglobin,
        K::Weight,
        K::Height,
        K::Age,
        K::RadiusMm,
        K::Speed,
        K::Rcf,
        K::Minutes,
        K::Factor { min: 1.0, max: 1000.0 },
        K::Recovery,
        K::Fold,
        K::Spread,
        K::Cells,
        K::RatioPer100,
        K::WholeNumber { min: 0, max: 3650 },
        K::Percent,
        K::Millimetre,
        K::Grams,
        K::Temperature,
    ]
}

/// No kind is forgotten above: a new one does not compile here.
fn named(kind: Kind) -> &'static str {
    use Kind as K;
    match kind {
        K::Volume { .. } => "volume",
        K::BloodBefore => "blood before",
        K::BloodCount => "blood count",
        K::ProductCount => "product count",
        K::WhiteCount => "white count",
        K::RedCount => "red count",
        K::Haematocrit => "haematocrit",
        K::ProductHaematocrit => "product haematocrit",
        K::Haemoglobin => "haemoglobin",
        K::Weight => "weight",
        K::Height => "height",
        K::Age => "age",
        K::RadiusMm => "radius",
        K::Speed => "speed",
        K::Rcf => "force",
        K::Minutes => "minutes",
        K::Factor { .. } => "factor",
        K::Recovery => "recovery",
        K::Fold => "fold",
        K::Spread => "spread",
        K::Cells => "cells",
        K::RatioPer100 => "ratio",
        K::WholeNumber { .. } => "whole",
        K::Percent => "percent",
        K::Millimetre => "millimetre",
        K::Grams => "grams",
        K::Temperature => "temperature",
    }
}

/// A number of a kind at this share of its range, to so many figures.
fn of_kind(kind: Kind, share: f64, digits: u8) -> f64 {
    let (low, high) = kind.range();
    let value = round_significant(low + (high - low) * share, digits);
    let whole = matches!(kind, Kind::Age | Kind::WholeNumber { .. });
    (if whole { value.round() } else { value }).clamp(low, high)
}

/// What is spelt reads back as exactly the number, whatever the unit.
fn spells(kind: Kind, value: f64, conv: &Conventions) -> Verdict {
    let text = spell(value, kind, conv);
    let back = read(&text, kind, conv);
    prop_assert_eq!(back.value(), Some(value), "{}: {} spelt {:?}, {:?}", named(kind), value, text, conv);
    Ok(())
}

#[test]
fn spelt_reads_back_for_every_kind_under_all_conventions() {
    let (kinds, all) = (kinds(), all_conventions());
    assert_eq!(all.len(), 96);
    let shares = [0.0, 1e-6, 0.001, 0.0123, 0.05, 0.137, 1.0 / 3.0, 0.5, 0.77, 0.999, 1.0];
    let mut tried = 0;
    for &kind in &kinds {
        for conv in &all {
            for share in shares {
                for digits in [2, 4, 17] {
                    spells(kind, of_kind(kind, share, digits), conv).unwrap_or_else(|e| panic!("{e}"));
                    tried += 1;
                }
            }
        }
    }
    println!("{tried} numbers of {} kinds under {} conventions", kinds.len(), all.len());
}

/// Offered texts read as the number offered, and what is said of a reading keeps its figures in every language.
fn told(text: &str, kind: Kind, conv: &Conventions) -> Verdict {
    let reading = read(text, kind, conv);
    let offers = match &reading {
        Reading::Ask { options } => options.as_slice(),
        Reading::Wrong(refusal) => refusal.offers(),
        _ => &[],
    };
    for offer in offers {
        prop_assert_eq!(
            read(&offer.text, kind, conv).value(),
            Some(offer.value),
            "{} offers {:?}",
            text,
            offer
        );
    }
    let say = |language: Language| {
        let words = ReadingWords { reading: &reading, typed: text, kind, conventions: conv };
        language.say(words).chars().filter(char::is_ascii_digit).collect::<String>()
    };
    prop_assert_eq!(say(Language::English), say(Language::Pseudo));
    Ok(())
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn written_in_full_reads_back_exactly(value in any::<f64>().prop_filter("finite", |x| x.is_finite())) {
        for style in STYLES {
            let text = full(value, style);
            prop_assert_eq!(number(&text, style), Some(value), "{}", text);
        }
    }

    #[test]
    fn ordinary_numbers_too(whole in 0..10_000_000_u32, shift in -9..4_i32, negative in any::<bool>()) {
        let value = f64::from(whole) * 10_f64.powi(shift) * if negative { -1.0 } else { 1.0 };
        for style in STYLES {
            let text = full(value, style);
            prop_assert_eq!(number(&text, style), Some(value), "{}", text);
            let mark = style.mark();
            prop_assert!(!(text.contains(mark) && text.ends_with('0') && !text.contains('×')), "{}", text);
        }
    }

    #[test]
    fn rounded_reads_back_as_the_rounded(
        value in any::<f64>().prop_filter("finite", |x| x.is_finite() && x.abs() < 1e300),
        near in -1e6..1e6_f64,
        digits in 1..18_u8,
    ) {
        for style in STYLES {
            for x in [value, near] {
                let text = significant(x, digits, style);
                prop_assert_eq!(number(&text, style), Some(round_significant(x, digits)), "{}", text);
            }
            let text = fixed(near, digits.min(9), style);
            prop_assert_eq!(number(&text, style), Some(round_to(near, digits.min(9))), "{}", text);
        }
    }

    #[test]
    fn spelt_reads_back(
        share in 0.0..=1.0_f64, digits in 1..18_u8, at in 0..kinds().len(), conv in 0..96_usize,
    ) {
        let kind = kinds()[at];
        spells(kind, of_kind(kind, share, digits), &all_conventions()[conv])?;
    }

    #[test]
    fn what_is_shown_says_the_rounded_number(
        share in 0.0..=1.0_f64, digits in 2..8_u8, at in 0..kinds().len(), conv in 0..96_usize,
    ) {
        let (kind, conv) = (kinds()[at], all_conventions()[conv]);
        let value = of_kind(kind, share, 17);
        let text = shown(value, kind, &conv, digits);
        let figure = text.split(strawline::quantity::write::NO_BREAK).next().expect("a number");
        let feet = kind.unit(&conv) == "in";
        if !feet {
            let rounded = round_significant(kind.in_unit(value, &conv), digits);
            prop_assert_eq!(number(figure, conv.numbers), Some(rounded), "{}", text);
        }
    }

    #[test]
    fn every_answer_offered_is_understood(
        text in "[0-9]{1,6}[.,:]?[0-9]{0,4} ?(%|g/L|g/dL|lb|kg|cm|in|/µL|×10⁹/L|mL|s|min)?",
        at in 0..kinds().len(),
        conv in 0..96_usize,
    ) {
        told(&text, kinds()[at], &all_conventions()[conv])?;
    }
}
