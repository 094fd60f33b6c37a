use super::*;
use crate::quantity::read::number;
use NumberStyle::{Comma, Point};
use proptest::prelude::*;

#[test]
fn full_is_shortest_and_grouped_from_five_digits() {
    for (x, point, comma) in [
        (0.0, "0", "0"),
        (-0.0, "0", "0"),
        (4.0, "4", "4"),
        (0.5, "0.5", "0,5"),
        (-2.5, "−2.5", "−2,5"),
        (1234.0, "1234", "1234"),
        (12_345.0, "12\u{202f}345", "12\u{202f}345"),
        (1_234_567.891, "1\u{202f}234\u{202f}567.891", "1\u{202f}234\u{202f}567,891"),
        (0.1 + 0.2, "0.30000000000000004", "0,30000000000000004"),
        (0.000_001, "0.000001", "0,000001"),
        (0.000_000_15, "1.5×10⁻⁷", "1,5×10⁻⁷"),
        (
            999_999_999_999_999.0,
            "999\u{202f}999\u{202f}999\u{202f}999\u{202f}999",
            "999\u{202f}999\u{202f}999\u{202f}999\u{202f}999",
        ),
        (1e15, "1×10¹⁵", "1×10¹⁵"),
        (-1.5e300, "−1.5×10³⁰⁰", "−1,5×10³⁰⁰"),
    ] {
        assert_eq!(full(x, Point), point);
        assert_eq!(full(x, Comma), comma);
    }
    assert_eq!(full(f64::NAN, Point), NOTHING);
    assert_eq!(significant(f64::INFINITY, 2, Point), NOTHING);
}

#[test]
fn rounding_is_that_of_the_decimal_text() {
    for (x, decimals, want) in [
        (2.675, 2, "2.68"), // the binary number is 2.67499999999999982
        (1.005, 2, "1.01"),
        (0.125, 2, "0.13"), // a half goes away from zero, also where binary holds it exactly
        (-0.125, 2, "−0.13"),
        (-0.004, 2, "0"),
        (4.0, 2, "4"),
        (12.3456, 3, "12.346"),
        (12.3996, 3, "12.4"),
        (99.996, 2, "100"),
        (0.4, 0, "0"),
        (0.5, 0, "1"),
    ] {
        assert_eq!(fixed(x, decimals, Point), want, "{x}");
    }
    for (x, digits, want) in [
        (0.9158, 2, "0.92"),
        (1.8476, 2, "1.8"),
        (1234.0, 2, "1200"),
        (3.85, 2, "3.9"),
        (3.96, 2, "4"),
        (9.96, 2, "10"),
        (99_600.0, 2, "100\u{202f}000"),
        (0.0, 2, "0"),
        (0.000_123_4, 2, "0.00012"),
        (7.0, 0, "7"),
    ] {
        assert_eq!(significant(x, digits, Point), want, "{x}");
    }
}

#[test]
fn volumes_whole_numbers_spans_and_units() {
    let v = |x| volume(Volume::new(x).unwrap(), Point);
    assert_eq!(v(4.0), "4");
    assert_eq!(v(1.956_521_739), "1.96");
    assert_eq!(v(0.5), "0.5");
    assert_eq!(integer(0, Comma), "0");
    assert_eq!(integer(9999, Comma), "9999");
    assert_eq!(integer(12_345_678, Point), "12\u{202f}345\u{202f}678");
    assert_eq!(integer(u64::MAX, Point), "1.8446744073709551615×10¹⁹");
    assert_eq!(with_unit("4", "mL"), "4\u{a0}mL");
    assert_eq!(with_unit("4", ""), "4");
}

fn anything() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>().prop_filter("finite", |x| x.is_finite()),
        -1e6..1e6_f64,
        0.0..1.0_f64,
        (any::<i32>(), 0..6_i32).prop_map(|(n, d)| f64::from(n) / 10f64.powi(d)),
    ]
}

proptest! {
    #[test]
    fn full_reads_back_exactly(x in anything()) {
        for style in [Point, Comma] {
            prop_assert_eq!(number(&full(x, style), style), Some(x));
        }
    }

    #[test]
    fn what_is_rounded_reads_back_as_the_rounded_number(x in anything(), n in 0..12_u8) {
        for style in [Point, Comma] {
            // The most negative exponents and the largest numbers may round to infinity.
            let (a, b) = (round_significant(x, n), round_to(x, n));
            if a.is_finite() {
                prop_assert_eq!(number(&significant(x, n, style), style), Some(a));
            }
            prop_assert_eq!(number(&fixed(x, n, style), style), Some(b));
        }
    }

    #[test]
    fn rounding_is_near_and_settles(x in -1e9..1e9_f64, n in 1..10_u8) {
        let a = round_significant(x, n);
        prop_assert!((a - x).abs() <= 0.5001 * x.abs() * 10f64.powi(1 - i32::from(n)));
        prop_assert_eq!(round_significant(a, n), a);
        let b = round_to(x, n);
        prop_assert!((b - x).abs() <= 0.5001 * 10f64.powi(-i32::from(n)) + x.abs() * f64::EPSILON);
        prop_assert_eq!(round_to(b, n), b);
    }

    #[test]
    fn nothing_written_ends_in_a_decimal_zero_or_begins_with_the_mark(x in -1e9..1e9_f64, n in 0..8_u8) {
        let text = fixed(x, n, Point);
        if text.contains('.') {
            prop_assert!(!text.ends_with(['0', '.']), "{}", text);
        }
        prop_assert!(!text.trim_start_matches(MINUS).starts_with('.'));
    }
}
