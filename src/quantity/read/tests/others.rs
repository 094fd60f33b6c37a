use super::*;

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
        Kind::Millimetre,
        &si(),
        &[("100", "100"), ("1.6 cm", "16 UnitTyped(\"cm\")"), ("0,5", "ask 0.5 OtherDecimalMark")],
    );
    table(
        Kind::Temperature,
        &si(),
        &[
            ("22", "22"),
            ("22 °C", "22"),
            ("20.5C", "20.5"),
            ("0", "0"),
            ("72", "OutOfRange"),
            ("22 F", "UnknownUnit(\"F\")"),
        ],
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
