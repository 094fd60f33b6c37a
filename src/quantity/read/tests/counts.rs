use super::*;

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
