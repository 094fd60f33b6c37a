use super::*;

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
