//! Whatever a reader types: no panic, nothing read that is not in the code, and no element guessed.

use crate::config;
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use std::cell::Cell;
use strawline::quantity::time::Date;
use strawline::scan::{Elements, Gtin, ScanError, read};

fn day() -> impl Strategy<Value = Date> {
    (1..=9999i32, 1..=12u8, 1..=28u8)
        .prop_map(|(year, month, day)| Date::new(year, month, day).expect("a day"))
}

/// Pieces of which codes are made, whole and broken.
fn soup() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        prop::sample::select(vec![
            "]C1",
            "]d2",
            "]Q3",
            "]e0",
            "]E0",
            "\u{1d}",
            "(",
            ")",
            "(01)",
            "(10)",
            "(17)",
            "(21)",
            "01",
            "10",
            "11",
            "17",
            "21",
            "00",
            "240",
            "3102",
            "414",
            "06291041500213",
            "270331",
            "270300",
            "279931",
            "AC-2291",
            "Ä",
            "１",
            " ",
            "\u{0}",
        ])
        .prop_map(str::to_owned),
        "[0-9]{0,8}",
        "[ -~]{0,4}",
        "\\PC{0,3}",
    ];
    prop::collection::vec(piece, 0..12).prop_map(|all| all.concat())
}

/// Whole elements behind one another, with or without what should be between them, and sometimes a piece too many.
fn nearly() -> impl Strategy<Value = String> {
    let whole = prop::sample::select(vec![
        "0106291041500213",
        "17270331",
        "17270300",
        "11250401",
        "10AC-2291\u{1d}",
        "10K-0058",
        "210007\u{1d}",
        "240REF\u{1d}",
        "3102000400",
        "(01)06291041500213",
        "(17)270331",
        "(10)AC-2291",
        "(21)7",
    ]);
    let mark = prop::sample::select(vec!["]C1", "]d2", "]Q3", "]e0", "\u{1d}", ""]);
    let all = prop::collection::vec(whole, 0..4).prop_map(|all| all.concat());
    (mark, all, prop_oneof![3 => Just(String::new()), 1 => soup()]).prop_map(|(m, a, s)| format!("{m}{a}{s}"))
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        2 => nearly(),
        2 => soup(),
        1 => any::<String>(),
        1 => prop::collection::vec(any::<u8>(), 0..60).prop_map(|b| String::from_utf8_lossy(&b).into_owned()),
    ]
}

/// A lot or serial number of character set 82.
fn value() -> impl Strategy<Value = String> {
    "[!\"%&'()*+,./0-9:;<=>?A-Z_a-z-]{1,20}"
}

fn label() -> impl Strategy<Value = Elements> {
    let digits = prop::collection::vec(0..10u8, 13);
    let expiry = (2000..=2070i32, 1..=12u8, 1..=28u8);
    (digits, value(), prop::option::of(value()), expiry).prop_map(
        |(digits, lot, serial, (year, month, day))| {
            let body: String = digits.iter().map(u8::to_string).collect();
            let product = (0..10).find_map(|check| Gtin::read(&format!("{body}{check}")));
            assert!(product.is_some(), "one of ten check digits holds");
            let expiry = Date::new(year, month, day);
            Elements { product, lot: Some(lot), serial, expiry, ..Elements::default() }
        },
    )
}

fn today() -> Date {
    Date::new(2026, 3, 12).expect("a day")
}

fn yymmdd(date: Date) -> String {
    format!("{:02}{:02}{:02}", date.year() % 100, date.month(), date.day())
}

#[test]
fn no_text_makes_the_reader_panic_and_what_it_reads_stands_there() {
    let mut runner = TestRunner::new(config());
    let codes = Cell::new(0);
    let law = |(text, today): (String, Date)| {
        let Ok(Some(read)) = read(&text, today) else { return Ok(()) };
        codes.set(codes.get() + 1);
        prop_assert_ne!(&read, &Elements::default());
        for part in [&read.lot, &read.serial].into_iter().flatten() {
            prop_assert!(text.contains(part.as_str()) && (1..=20).contains(&part.len()), "{:?}", part);
        }
        if let Some(product) = read.product {
            prop_assert!(text.contains(&product.to_string()));
        }
        for date in [read.expiry, read.produced].into_iter().flatten() {
            prop_assert!((date.year() - today.year()).abs() <= 50, "{date}");
        }
        Ok(())
    };
    runner.run(&(any_text(), day()), law).unwrap();
    assert!(codes.get() > 100, "only {} of the texts were codes", codes.get());
}

#[test]
fn every_label_is_read_back_with_its_separators_and_in_no_other_way() {
    let mut runner = TestRunner::new(config());
    let law = |label: Elements| {
        let (Some(product), Some(lot), Some(expiry)) = (label.product, &label.lot, label.expiry) else {
            return Err(TestCaseError::reject("whole labels"));
        };
        let serial = label.serial.as_ref().map(|s| format!("21{s}\u{1d}")).unwrap_or_default();
        let sent = format!("]d201{product}10{lot}\u{1d}{serial}17{}", yymmdd(expiry));
        prop_assert_eq!(read(&sent, today()), Ok(Some(label.clone())), "{:?}", sent);
        let first = format!("\u{1d}{serial}10{lot}\u{1d}01{product}17{}", yymmdd(expiry));
        prop_assert_eq!(read(&first, today()), Ok(Some(label.clone())), "{:?}", first);
        // The reader drops every separator: the lot runs into the expiry and is refused, whatever it is.
        let dropped = format!("01{product}10{lot}17{}", yymmdd(expiry));
        prop_assert_eq!(read(&dropped, today()), Err(ScanError::Unseparated { ai: "10".to_owned() }));
        // One wrong digit of the product number is always found.
        for at in 0..14 {
            let mut wrong = product.to_string().into_bytes();
            wrong[at] = b'0' + (wrong[at] - b'0' + 1 + u8::try_from(lot.len() % 9).expect("small")) % 10;
            let wrong = String::from_utf8(wrong).expect("digits");
            prop_assert_eq!(read(&format!("(01){wrong}(10){lot}"), today()), Err(ScanError::CheckDigit));
        }
        Ok(())
    };
    runner.run(&label(), law).unwrap();
}
