use super::*;
use proptest::prelude::*;

#[test]
fn every_symbol_is_a_known_spelling_of_its_unit() {
    for kind in KINDS {
        for unit in kind.spec(&si()).units {
            assert!(unit.names.contains(&units::normal(unit.symbol).as_str()), "{}", unit.symbol);
            for name in unit.names {
                assert_eq!(&units::normal(name), name);
            }
        }
        let (min, max) = kind.range();
        let (low, high) = kind.usual();
        assert!(min <= low && low < high && high <= max, "{kind:?}");
    }
}

const KINDS: [Kind; 27] = [
    ML,
    Kind::BloodBefore,
    Kind::BloodCount,
    Kind::ProductCount,
    Kind::WhiteCount,
    Kind::RedCount,
    Kind::Haematocrit,
    Kind::ProductHaematocrit,
    Kind::Haemoglobin,
    Kind::Weight,
    Kind::Height,
    Kind::Age,
    Kind::RadiusMm,
    Kind::Speed,
    Kind::Rcf,
    Kind::Minutes,
    Kind::Factor { min: 0.1, max: 1e5 },
    Kind::Recovery,
    Kind::Fold,
    Kind::Spread,
    Kind::Cells,
    Kind::RatioPer100,
    Kind::WholeNumber { min: 0, max: 4000 },
    Kind::Percent,
    Kind::Millimetre,
    Kind::Grams,
    Kind::Temperature,
];

fn any_conventions() -> impl Strategy<Value = Conventions> {
    (0..2_usize, 0..2_usize, 0..2_usize, 0..3_usize, 0..2_usize, 0..2_usize).prop_map(|(a, b, c, d, e, f)| {
        Conventions {
            numbers: [NumberStyle::Point, NumberStyle::Comma][a],
            count: CountUnit::ALL[b],
            haematocrit: HaematocritUnit::ALL[c],
            haemoglobin: HaemoglobinUnit::ALL[d],
            mass: MassUnit::ALL[e],
            height: HeightUnit::ALL[f],
        }
    })
}

/// What is read, of any text, holds together.
fn consistent(typed: &str, kind: Kind, conv: &Conventions) -> Result<(), TestCaseError> {
    let (min, max) = kind.range();
    let check = |offers: &[Offer]| -> Result<(), TestCaseError> {
        for o in offers {
            prop_assert!(o.value >= min && o.value <= max);
            prop_assert_eq!(
                read(&o.text, kind, conv).value(),
                Some(o.value),
                "{} of {} as {:?}",
                o.text,
                typed,
                kind
            );
        }
        Ok(())
    };
    match read(typed, kind, conv) {
        Reading::Value { value, .. } => {
            prop_assert!(value >= min && value <= max);
            let spelt = spell(value, kind, conv);
            prop_assert_eq!(
                read(&spelt, kind, conv).value(),
                Some(value),
                "{} of {} as {:?}",
                spelt,
                typed,
                kind
            );
        }
        Reading::Ask { options } => {
            prop_assert!(!options.is_empty() && options.len() <= 4);
            check(&options)?;
        }
        Reading::Wrong(refusal) => check(refusal.offers())?,
        Reading::Empty => prop_assert!(!typed.contains(|c: char| c.is_ascii_digit())),
    }
    Ok(())
}

proptest! {
    #[test]
    fn no_text_panics_and_every_answer_holds(text in "\\PC{0,70}", conv in any_conventions()) {
        for kind in KINDS {
            consistent(&text, kind, &conv)?;
        }
    }

    #[test]
    fn nor_any_text_that_looks_like_a_number(
        number in "[-+−]?[0-9]{0,6}([.,' \u{a0}][0-9]{1,4}){0,3}(e-?[0-9]{1,3})?",
        unit in "( ?(mL|µL|%|L/L|×10⁹/L|/µL|10\\^12/L|g/dL|mmol/L|kg|lb|cm|m|in|ft 3|rpm|×g|min|:30|h 20 min|°C|mL/mL|:9))?",
        conv in any_conventions(),
    ) {
        for kind in KINDS {
            consistent(&format!("{number}{unit}"), kind, &conv)?;
        }
    }

    #[test]
    fn what_is_spelt_reads_back_exactly(share in 0.0..=1.0_f64, decimals in 0..17_u8, conv in any_conventions()) {
        for kind in KINDS {
            let (min, max) = kind.range();
            for range in [(min, max), kind.usual()] {
                let exact = range.0 + share * (range.1 - range.0);
                let whole = matches!(kind, Kind::Age | Kind::WholeNumber { .. });
                let x = if whole { exact.round() } else { crate::quantity::write::round_to(exact, decimals) };
                if x >= min && x <= max {
                    let text = spell(x, kind, &conv);
                    prop_assert_eq!(read(&text, kind, &conv).value(), Some(x), "{} as {:?}", text, kind);
                }
            }
        }
    }

    #[test]
    fn a_changed_unit_loses_nothing(typed in 0..4000_u32, from in any_conventions(), to in any_conventions()) {
        let typed = format!("{}{}{}", typed / 10, from.numbers.mark(), typed % 10);
        for kind in KINDS {
            if let Some(x) = read(&typed, kind, &from).value() {
                let there = spell(x, kind, &to);
                let back = spell(read(&there, kind, &to).value().unwrap(), kind, &from);
                prop_assert_eq!(read(&back, kind, &from).value(), Some(x), "{} {} {} as {:?}", typed, there, back, kind);
            }
        }
    }
}
