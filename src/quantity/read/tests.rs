use super::*;
use crate::quantity::unit::*;
use proptest::prelude::*;
use std::fmt::Write;

fn si() -> Conventions {
    Conventions::default()
}
fn comma() -> Conventions {
    Conventions { numbers: NumberStyle::Comma, ..si() }
}
fn american() -> Conventions {
    Conventions {
        numbers: NumberStyle::Point,
        count: CountUnit::PerMicrolitre,
        haematocrit: HaematocritUnit::Percent,
        haemoglobin: HaemoglobinUnit::GramPerDecilitre,
        mass: MassUnit::Pound,
        height: HeightUnit::FeetInches,
    }
}

/// A reading in a line: `210`, `210 PerMicrolitre`, `ask 2.5 AsTyped | 250 Slip`, `OutOfRange offers 0.42`.
fn told(typed: &str, kind: Kind, conv: &Conventions) -> String {
    match read(typed, kind, conv) {
        Reading::Empty => "empty".into(),
        Reading::Value { value, as_read: AsRead::AsTyped } => format!("{value}"),
        Reading::Value { value, as_read: AsRead::Otherwise(why) } => format!("{value} {why:?}"),
        Reading::Ask { options } => {
            let options: Vec<String> = options.iter().map(|o| format!("{} {:?}", o.value, o.why)).collect();
            format!("ask {}", options.join(" | "))
        }
        Reading::Wrong(refusal) => {
            let mut out = match &refusal {
                Refusal::OutOfRange { .. } => "OutOfRange".into(),
                other => format!("{other:?}"),
            };
            for o in refusal.offers() {
                let _ = write!(out, " offers {}", o.value);
            }
            out
        }
    }
}

#[track_caller]
fn table(kind: Kind, conv: &Conventions, rows: &[(&str, &str)]) {
    for (typed, want) in rows {
        assert_eq!(&told(typed, kind, conv), want, "{typed:?} as {kind:?}");
    }
}

const ML: Kind = Kind::Volume { min: 0.0, max: 100.0 };

#[test]
fn decimal_marks_and_grouping() {
    table(
        ML,
        &si(),
        &[
            ("4", "4"),
            ("0.5", "0.5"),
            (".5", "0.5"),
            ("5.", "5"),
            ("+5", "5"),
            ("007", "7"),
            ("2,5", "2.5 OtherDecimalMark"),
            (",5", "0.5 OtherDecimalMark"),
            // 1234 mL is more than the field takes, so that only 1.234 mL can be meant.
            ("1,234", "1.234 OtherDecimalMark"),
            ("0,123", "0.123 OtherDecimalMark"),
            ("1,2345", "1.2345 OtherDecimalMark"),
            ("", "empty"),
            (" \u{a0}\u{200b}", "empty"),
        ],
    );
    table(
        ML,
        &comma(),
        &[
            ("0,5", "0.5"),
            ("0.5", "0.5 OtherDecimalMark"),
            ("1,234", "1.234"),
            ("1.234", "1.234 OtherDecimalMark"),
        ],
    );
    let wide = Kind::Factor { min: 0.0, max: 1e7 };
    table(
        wide,
        &si(),
        &[
            ("1,234", "ask 1.234 OtherDecimalMark | 1234 Grouped"),
            ("1.234", "1.234"),
            ("1,234.5", "1234.5"),
            ("1.234,5", "1234.5 OtherDecimalMark"),
            ("1,234,567", "1234567 Grouped"),
            ("1.234.567", "1234567 Grouped"),
            ("1 234 567", "1234567"),
            ("1\u{202f}234\u{202f}567.25", "1234567.25"),
            ("1\u{a0}234", "1234"),
            ("1\u{2007}234", "1234"),
            ("1'234", "1234"),
            ("1’234,5", "1234.5 OtherDecimalMark"),
            ("2.1e3", "2100"),
            ("2.1E-1", "0.21"),
        ],
    );
    table(
        wide,
        &comma(),
        &[
            ("1.234", "ask 1.234 OtherDecimalMark | 1234 Grouped"),
            ("1.234,5", "1234.5"),
            ("1,234.5", "1234.5 OtherDecimalMark"),
        ],
    );
}

#[test]
fn the_own_mark_parts_thousands_only_if_nothing_else_fits() {
    table(
        Kind::Speed,
        &si(),
        &[
            ("3.000", "3000 Grouped"),
            ("3,000", "3000 Grouped"),
            ("3000", "3000"),
            ("3 000", "3000"),
            ("1500 rpm", "1500"),
            ("1500/min", "1500"),
            ("1500 min⁻¹", "1500"),
            ("60", "ask 60 AsTyped | 600 Slip"),
        ],
    );
    table(Kind::Speed, &comma(), &[("3,000", "3000 Grouped"), ("3.000", "3000 Grouped")]);
}

#[test]
fn what_is_no_number() {
    table(
        ML,
        &si(),
        &[
            ("x", "NotANumber"),
            ("-", "NotANumber"),
            (".", "NotANumber"),
            ("mL", "NotANumber"),
            ("1-2", "NotANumber"),
            ("4 / 5", "NotANumber"),
            ("--4", "NotANumber"),
            ("12 5", "Grouping"),
            ("1 2345", "Grouping"),
            ("1'23", "Grouping"),
            ("1,2,3", "Grouping"),
            ("1.2.3,4,5", "Grouping"),
            ("1,23.4.5", "Grouping"),
            ("0,123,456", "Grouping"),
            ("1 234'567", "Grouping"),
            ("١٢", "OtherDigits"),
            ("４", "OtherDigits"),
            ("4½", "OtherDigits"),
            ("4 kg", "UnknownUnit(\"kg\")"),
            ("4 mL blood", "UnknownUnit(\"mL blood\")"),
            ("1e999999999999", "NotANumber"),
            ("-4", "OutOfRange"),
            ("\u{2212}4", "OutOfRange"),
            ("101", "OutOfRange"),
        ],
    );
    assert_eq!(told(&"1".repeat(64), ML, &si()), "OutOfRange");
    assert_eq!(told(&"1".repeat(65), ML, &si()), "TooLong");
    assert_eq!(told(&" ".repeat(65), ML, &si()), "TooLong");
}

#[test]
fn volumes_with_units() {
    table(
        ML,
        &si(),
        &[
            ("4 mL", "4"),
            ("4ml", "4"),
            ("4 ML", "4"),
            ("4\u{a0}cm³", "4"),
            ("4 cc", "4"),
            ("500 µL", "0.5 UnitTyped(\"µL\")"),
            ("500 μl", "0.5 UnitTyped(\"µL\")"),
            ("500uL", "0.5 UnitTyped(\"µL\")"),
            ("0.05 L", "50 UnitTyped(\"L\")"),
            ("4 L", "OutOfRange"),
            ("2,5 mL", "2.5 OtherDecimalMark"),
        ],
    );
}

#[test]
fn platelets_in_blood() {
    table(
        Kind::BloodCount,
        &si(),
        &[
            ("210", "210"),
            ("210.0", "210"),
            ("210.000", "210"),
            ("50", "50"),
            ("1000", "1000"),
            ("210000", "210 PerMicrolitre"),
            ("210 000", "210 PerMicrolitre"),
            ("210,000", "210 PerMicrolitre"),
            ("210,500", "210.5 PerMicrolitre"),
            ("210e9", "210 AllDigits"),
            ("210000000000", "210 AllDigits"),
            ("0.21", "210 TenToTwelvePerLitre"),
            ("0,21", "210 TenToTwelvePerLitre"),
            ("2.5", "ask 2.5 AsTyped | 250 Slip"),
            ("25", "ask 25 AsTyped | 250 Slip"),
            ("19", "ask 19 AsTyped | 190 Slip"),
            ("49", "ask 49 AsTyped | 490 Slip"),
            ("5", "ask 5 AsTyped | 50 Slip | 500 Slip"),
            ("1001", "ask 1001 AsTyped | 100.1 Slip"),
            ("2500", "ask 2500 AsTyped | 250 Slip"),
            ("21000", "ask 21 PerMicrolitre | 210 Slip"),
            ("0.021", "ask 21 TenToTwelvePerLitre | 210 Slip"),
            ("1,234", "ask 1.234 OtherDecimalMark | 1234 Grouped | 123.4 Slip"),
            ("0", "OutOfRange"),
            ("-210", "OutOfRange"),
        ],
    );
    table(
        Kind::BloodCount,
        &comma(),
        &[("210.000", "210 PerMicrolitre"), ("210,000", "210"), ("0,21", "210 TenToTwelvePerLitre")],
    );
}

#[test]
fn counts_with_units_are_not_asked_about() {
    for conv in [si(), american()] {
        table(
            Kind::BloodCount,
            &conv,
            &[
                ("210 ×10⁹/L", "210"),
                ("210×10⁹/L", "210"),
                ("210 x10^9/L", "210"),
                ("210 x 10^9 / L", "210"),
                ("210 10^9/L", "210"),
                ("210 10*9/L", "210"),
                ("210 10⁹/l", "210"),
                ("210x10e9/L", "210"),
                ("210·10⁹/L", "210"),
                ("210 G/L", "210"),
                ("210 ×10³/µL", "210"),
                ("210 10^3/uL", "210"),
                ("210 K/uL", "210"),
                ("210 k/µl", "210"),
                ("210e9/L", "210 UnitTyped(\"/L\")"),
                ("210 000/µL", "210 UnitTyped(\"/µL\")"),
                ("210000 /uL", "210 UnitTyped(\"/µL\")"),
                ("210000/mm³", "210 UnitTyped(\"/µL\")"),
                ("0.21 ×10¹²/L", "210 UnitTyped(\"×10¹²/L\")"),
                ("0.21 ×10⁶/µL", "210 UnitTyped(\"×10¹²/L\")"),
                ("25 ×10⁹/L", "25"),
                ("2.5 ×10⁹/L", "2.5"),
                ("4900 ×10⁹/L", "4900"),
                // Cells are whole, so that these can only be groups.
                ("210.000/µl", "210 Grouped"),
                ("210,000 /µL", "210 Grouped"),
                ("0.21 ×10⁹/L", "OutOfRange"),
                ("21000 ×10⁹/L", "OutOfRange"),
                ("210 M/µL", "UnknownUnit(\"M/µL\")"),
                ("210 mL", "UnknownUnit(\"mL\")"),
            ],
        );
    }
}

#[test]
fn other_counts() {
    table(
        Kind::ProductCount,
        &si(),
        &[
            ("945", "945"),
            ("20", "20"),
            ("5000", "5000"),
            ("0", "0"),
            ("945000", "945 PerMicrolitre"),
            ("1 200 000", "1200 PerMicrolitre"),
            ("1,200,000", "1200 PerMicrolitre"),
            ("1.2", "ask 1.2 AsTyped | 1200 TenToTwelvePerLitre"),
            ("12000", "ask 12000 AsTyped"),
            ("1.200.000/µL", "1200 Grouped"),
            ("945.000/µL", "945 Grouped"),
        ],
    );
    table(
        Kind::WhiteCount,
        &si(),
        &[
            ("6.5", "6.5"),
            ("0.05", "0.05"),
            ("6500", "6.5 PerMicrolitre"),
            ("6 500 /µL", "6.5 UnitTyped(\"/µL\")"),
            ("500", "ask 500 AsTyped | 0.5 PerMicrolitre"),
        ],
    );
    table(
        Kind::Cells,
        &si(),
        &[
            ("3.9", "3.9"),
            ("3.9 ×10⁹", "3.9"),
            ("3.9x10^9", "3.9"),
            ("3900 ×10⁶", "3.9 UnitTyped(\"×10⁶\")"),
            ("3900000000", "3.9 AllDigits"),
            ("3.9e9", "3.9 AllDigits"),
            ("3900", "ask 3.9 Millions"),
            ("3.9 billion", "UnknownUnit(\"billion\")"),
        ],
    );
}

#[test]
fn haematocrit() {
    table(
        Kind::Haematocrit,
        &si(),
        &[
            ("0.42", "0.42"),
            ("42", "0.42 Percent"),
            ("42.3", "0.423 Percent"),
            ("42 %", "0.42 UnitTyped(\"%\")"),
            ("0.42 L/L", "0.42"),
            ("4.2", "ask 0.042 Percent | 0.42 Slip"),
            ("1", "ask 0.01 Percent"),
            ("14.9", "ask 0.149 Percent"),
            ("15", "0.15 Percent"),
            ("65", "0.65 Percent"),
            ("66", "ask 0.66 Percent"),
            ("0.7", "ask 0.7 AsTyped"),
            ("0.042", "ask 0.042 AsTyped | 0.42 Slip"),
            ("76", "OutOfRange"),
            ("420", "OutOfRange offers 0.42"),
            ("420 %", "OutOfRange offers 0.42"),
            ("0.80", "OutOfRange"),
            ("4.2 %", "0.042 UnitTyped(\"%\")"),
        ],
    );
    let percent = Conventions { haematocrit: HaematocritUnit::Percent, ..si() };
    table(
        Kind::Haematocrit,
        &percent,
        &[
            ("42", "0.42"),
            ("0.42", "0.42 Fraction"),
            ("0.42 L/L", "0.42 UnitTyped(\"L/L\")"),
            ("4.2", "ask 0.042 AsTyped | 0.42 Slip"),
            ("70", "ask 0.7 AsTyped"),
            ("420", "OutOfRange offers 0.42"),
            ("0.7", "ask 0.7 Fraction"),
            ("0,42", "0.42 Fraction"),
        ],
    );
    table(
        Kind::ProductHaematocrit,
        &percent,
        &[("5", "0.05"), ("0", "0"), ("0.5", "ask 0.005 AsTyped | 0.5 Fraction"), ("0.5 %", "0.005")],
    );
}

#[test]
fn haemoglobin_is_read_in_the_unit_chosen() {
    let unit = |haemoglobin| Conventions { haemoglobin, ..si() };
    table(
        Kind::Haemoglobin,
        &unit(HaemoglobinUnit::GramPerDecilitre),
        &[
            ("14", "14"),
            // 8.7 mmol/L would be 14 g/dL, but 8.7 g/dL is possible too and is what the field says.
            ("8.7", "8.7"),
            ("140", "ask 14 OtherUnit(\"g/L\")"),
            ("140 g/L", "14 UnitTyped(\"g/L\")"),
            ("8.6884 mmol/L", "14 UnitTyped(\"mmol/L\")"),
        ],
    );
    table(
        Kind::Haemoglobin,
        &unit(HaemoglobinUnit::GramPerLitre),
        &[("140", "14"), ("143", "14.3"), ("14", "ask 14 OtherUnit(\"g/dL\")"), ("2", "OutOfRange")],
    );
    table(
        Kind::Haemoglobin,
        &unit(HaemoglobinUnit::MillimolePerLitre),
        &[("8.6884", "14"), ("140", "ask 14 OtherUnit(\"g/L\")")],
    );
    assert!(told("14", Kind::Haemoglobin, &unit(HaemoglobinUnit::GramPerLitre)).contains("14 OtherUnit"));
}

#[test]
fn bodies() {
    table(
        Kind::Weight,
        &si(),
        &[
            ("82", "82"),
            ("82,5 kg", "82.5 OtherDecimalMark"),
            ("180 lb", "81.6466266 UnitTyped(\"lb\")"),
            ("1800", "OutOfRange offers 180"),
            ("18", "ask 18 AsTyped"),
            ("250", "ask 250 AsTyped | 113.3980925 OtherUnit(\"lb\")"),
        ],
    );
    table(
        Kind::Weight,
        &american(),
        &[("180", "81.6466266"), ("82 kg", "82 UnitTyped(\"kg\")"), ("1800", "OutOfRange offers 81.6466266")],
    );
    table(
        Kind::Height,
        &si(),
        &[
            ("178", "178"),
            ("1.78", "178 OtherUnit(\"m\")"),
            ("1,78 m", "178 OtherDecimalMark"),
            ("1780 mm", "178 UnitTyped(\"mm\")"),
            ("5'11\"", "180.34 UnitTyped(\"ft\")"),
            ("5 ft 11 in", "180.34 UnitTyped(\"ft\")"),
            ("5ft 11", "180.34 UnitTyped(\"ft\")"),
            ("5’ 11.5”", "181.61 UnitTyped(\"ft\")"),
            ("6 ft", "182.88 UnitTyped(\"ft\")"),
            ("71 in", "180.34 UnitTyped(\"in\")"),
            ("71", "ask 71 AsTyped | 180.34 OtherUnit(\"in\")"),
            ("6", "ask 182.88 OtherUnit(\"ft\")"),
            ("5 11", "Grouping"),
            ("5'12\"", "NotANumber"),
            ("9'1\"", "NotANumber"),
        ],
    );
    table(
        Kind::Height,
        &american(),
        &[
            ("5'11\"", "180.34"),
            ("5 11", "180.34"),
            ("5 ft 11 in", "180.34"),
            ("71", "180.34"),
            ("178", "178 OtherUnit(\"cm\")"),
            ("178 cm", "178 UnitTyped(\"cm\")"),
            ("6 ft", "182.88 UnitTyped(\"ft\")"),
        ],
    );
    table(
        Kind::Age,
        &si(),
        &[("43", "43"), ("43 years", "43"), ("43.5", "NotWhole { value: 43.5 }"), ("143", "OutOfRange")],
    );
    table(
        Kind::WholeNumber { min: 1, max: 12 },
        &si(),
        &[
            ("2", "2"),
            ("2.0", "2"),
            ("2.5", "NotWhole { value: 2.5 }"),
            ("13", "OutOfRange"),
            ("2 mL", "UnknownUnit(\"mL\")"),
        ],
    );
}

#[test]
fn the_centrifuge() {
    table(
        Kind::RadiusMm,
        &si(),
        &[
            ("155", "155"),
            ("15.5 cm", "155 UnitTyped(\"cm\")"),
            ("15.5", "ask 15.5 AsTyped | 155 OtherUnit(\"cm\")"),
            ("5", "ask 50 OtherUnit(\"cm\")"),
            ("1500", "OutOfRange offers 150"),
        ],
    );
    table(
        Kind::Rcf,
        &si(),
        &[
            ("180", "180"),
            ("900 ×g", "900"),
            ("900 × g", "900"),
            ("900g", "900"),
            ("900 x g", "900"),
            ("1,200", "1200 Grouped"),
        ],
    );
    table(
        Kind::Minutes,
        &si(),
        &[
            ("10", "600"),
            ("1.5", "90"),
            ("2.3", "138"),
            ("90 s", "90 UnitTyped(\"s\")"),
            ("1 h", "3600 UnitTyped(\"h\")"),
            ("10:30", "630 UnitTyped(\"min:s\")"),
            ("1:05:00", "3900 UnitTyped(\"min:s\")"),
            ("1 h 30 min", "5400"),
            ("10 min 30 s", "630"),
            ("600", "ask 36000 AsTyped | 600 OtherUnit(\"s\")"),
            ("10:60", "NotANumber"),
            ("10:5", "NotANumber"),
            ("30 s 10 min", "UnknownUnit(\"s 10 min\")"),
        ],
    );
    table(
        Kind::SecondsSpan,
        &si(),
        &[("108", "108"), ("1:48", "108 UnitTyped(\"min:s\")"), ("2 min", "120 UnitTyped(\"min\")")],
    );
    table(
        Kind::Celsius,
        &si(),
        &[("22", "22"), ("\u{2212}20", "ask -20 AsTyped"), ("-20 °C", "-20"), ("22 °C", "22")],
    );
    table(
        Kind::Millimetre,
        &si(),
        &[("100", "100"), ("1.6 cm", "16 UnitTyped(\"cm\")"), ("0,5", "ask 0.5 OtherDecimalMark")],
    );
}

#[test]
fn pure_numbers_and_shares() {
    table(
        Kind::Recovery,
        &si(),
        &[
            ("0.7", "0.7"),
            ("70 %", "0.7 UnitTyped(\"%\")"),
            ("70", "0.7 Percent"),
            ("1.05", "1.05"),
            ("7", "ask 0.07 Percent"),
            ("1.5", "ask 1.5 AsTyped"),
        ],
    );
    table(
        Kind::Fold,
        &si(),
        &[("4.5", "4.5"), ("4.5 ×", "4.5"), ("4.5-fold", "4.5"), ("45", "ask 45 AsTyped")],
    );
    table(Kind::Spread, &si(), &[("0.12", "0.12"), ("12", "0.12 Percent"), ("12%", "0.12 UnitTyped(\"%\")")]);
    table(
        Kind::Percent,
        &si(),
        &[("25", "0.25"), ("25 %", "0.25"), ("0.25", "ask 0.0025 AsTyped | 0.25 Fraction"), ("0", "0")],
    );
    table(Kind::Millimolar, &si(), &[("22.8", "22.8"), ("0.5 mol/L", "500 UnitTyped(\"mol/L\")")]);
    table(
        Kind::Factor { min: 1.0, max: 1000.0 },
        &si(),
        &[
            ("20", "20"),
            ("1:10", "ask 10 PartInWhole | 11 PartToParts"),
            ("1/20", "ask 20 PartInWhole | 21 PartToParts"),
            ("1:0", "NotANumber"),
            ("5:1", "ask 1.2 PartToParts"),
        ],
    );
    table(
        Kind::RatioPer100,
        &si(),
        &[
            ("15", "0.15"),
            ("15 mL/100 mL", "0.15"),
            ("15 mL", "0.15"),
            ("0.15 mL/mL", "0.15 UnitTyped(\"mL/mL\")"),
            ("0.15", "ask 0.15 OtherUnit(\"mL/mL\")"),
            ("1:9", "ask 0.1111 PartToParts | 0.125 PartInWhole"),
            ("15 %", "ask 0.15 PartToParts | 0.1765 PartInWhole"),
            ("1:1", "ask 1 PartToParts"),
            ("9:1", "OutOfRange"),
        ],
    );
}

#[test]
fn offers_name_their_unit() {
    let text = |typed, kind, conv: &Conventions| match read(typed, kind, conv) {
        Reading::Ask { options } => {
            options.into_iter().map(|o| o.text.replace('\u{a0}', " ")).collect::<Vec<_>>()
        }
        Reading::Wrong(r) => r.offers().iter().map(|o| o.text.replace('\u{a0}', " ")).collect(),
        other => panic!("{other:?}"),
    };
    assert_eq!(text("2.5", Kind::BloodCount, &si()), ["2.5 ×10⁹/L", "250 ×10⁹/L"]);
    assert_eq!(
        text("2,5", Kind::BloodCount, &Conventions { numbers: NumberStyle::Comma, ..american() }),
        ["2,5 ×10³/µL", "250 ×10³/µL"]
    );
    assert_eq!(text("420", Kind::Haematocrit, &american()), ["42 %"]);
    assert_eq!(text("420", Kind::Haematocrit, &si()), ["0.42 L/L"]);
    assert_eq!(text("250", Kind::Weight, &si()), ["250 kg", "250 lb"]);
    assert_eq!(text("1.5", Kind::Recovery, &si()), ["150 %"]);
    assert_eq!(text("15 %", Kind::RatioPer100, &comma()), ["15 mL/100 mL", "17,65 mL/100 mL"]);
    assert_eq!(text("600", Kind::Minutes, &si()), ["600 min", "600 s"]);
}

#[test]
fn spelling() {
    let s = |x, kind, conv: &Conventions| spell(x, kind, conv).replace('\u{a0}', " ");
    assert_eq!(s(0.42, Kind::Haematocrit, &american()), "42");
    assert_eq!(s(0.42, Kind::Haematocrit, &si()), "0.42");
    assert_eq!(s(0.42, Kind::Haematocrit, &comma()), "0,42");
    assert_eq!(s(0.042, Kind::Haematocrit, &american()), "4.2 %");
    assert_eq!(s(25.0, Kind::BloodCount, &si()), "25 ×10⁹/L");
    assert_eq!(s(14.3, Kind::Haemoglobin, &si()), "143");
    assert_eq!(s(81.646_626_6, Kind::Weight, &american()), "180");
    assert_eq!(s(70.0, Kind::Weight, &american()), "70 kg");
    assert_eq!(s(180.34, Kind::Height, &american()), "5 ft 11 in");
    assert_eq!(s(178.0, Kind::Height, &american()), "178 cm");
    assert_eq!(s(90.0, Kind::Minutes, &si()), "1.5");
    assert_eq!(s(100.0, Kind::Minutes, &si()), "100 s");
    assert_eq!(s(12_000.0, Kind::Speed, &si()), "12000");
    assert_eq!(s(f64::NAN, Kind::Speed, &si()), "");
    let shown = |x, kind, conv: &Conventions, n| shown(x, kind, conv, n).replace('\u{a0}', " ");
    assert_eq!(shown(0.5, Kind::Weight, &american(), 2), "1.1 lb");
    assert_eq!(shown(260.0, Kind::Height, &american(), 3), "8 ft 6 in");
    assert_eq!(shown(182.88, Kind::Height, &american(), 3), "6 ft 0 in");
    assert_eq!(shown(0.75, Kind::Haematocrit, &american(), 2), "75 %");
    assert_eq!(shown(5000.0, Kind::BloodCount, &si(), 2), "5000 ×10⁹/L");
}

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

const KINDS: [Kind; 26] = [
    ML,
    Kind::BloodCount,
    Kind::ProductCount,
    Kind::WhiteCount,
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
    Kind::SecondsSpan,
    Kind::Factor { min: 0.1, max: 1e5 },
    Kind::Recovery,
    Kind::Fold,
    Kind::Spread,
    Kind::Cells,
    Kind::RatioPer100,
    Kind::WholeNumber { min: 0, max: 4000 },
    Kind::Percent,
    Kind::Millimetre,
    Kind::Celsius,
    Kind::Millimolar,
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
