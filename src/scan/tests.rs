use super::*;

fn today() -> Date {
    Date::new(2026, 3, 12).unwrap()
}

fn read_today(text: &str) -> Result<Option<Elements>, ScanError> {
    read(text, today())
}

fn day(year: i32, month: u8, day: u8) -> Option<Date> {
    Date::new(year, month, day)
}

/// Product number of the check-digit page of gs1.org: 629104150021 with check digit 3.
const PRODUCT: &str = "06291041500213";

fn label() -> Elements {
    Elements {
        product: Gtin::read(PRODUCT),
        lot: Some("AC-2291".to_owned()),
        expiry: day(2027, 3, 31),
        ..Elements::default()
    }
}

#[test]
fn check_digits_are_those_of_the_published_examples() {
    // gs1.org, check digit: 629104150021 → 3; gs1.se: 730001100001 → 7; gs1india.org: 890400021003 → 7.
    for (number, check) in [("629104150021", 3), ("730001100001", 7), ("890400021003", 7)] {
        for last in 0..10 {
            assert_eq!(Gtin::read(&format!("{number}{last}")).is_some(), last == check, "{number}{last}");
        }
    }
    // The same product in 13 and in 14 digits; other lengths are none.
    assert_eq!(Gtin::read("6291041500213"), Gtin::read(PRODUCT));
    assert_eq!(Gtin::read(PRODUCT).unwrap().to_string(), PRODUCT);
    for none in ["", "0", "291041500213", "006291041500213", "629104150021x", "６291041500213"] {
        assert_eq!(Gtin::read(none), None, "{none}");
    }
    let stored = serde_json::to_string(&Gtin::read(PRODUCT)).unwrap();
    assert_eq!(stored, format!("{PRODUCT:?}"));
    assert_eq!(serde_json::from_str::<Option<Gtin>>(&stored).unwrap(), Gtin::read(PRODUCT));
    assert!(serde_json::from_str::<Gtin>("\"06291041500214\"").is_err());
}

#[test]
fn one_label_reads_alike_in_every_form() {
    // Formats N2+N14, N2+N6, N2+X..20: list of application identifiers, gs1.org.
    let plain = format!("01{PRODUCT}1727033110AC-2291");
    let mut forms = vec![plain.clone(), format!("\u{1d}{plain}"), format!("{plain}\u{1d}")];
    // Marks of the symbols: from memory, verify.
    forms.extend(["]C1", "]d2", "]Q3", "]e0"].map(|symbol| format!("{symbol}{plain}")));
    forms.push(format!("]d2\u{1d}10AC-2291\u{1d}01{PRODUCT}17270331"));
    forms.push(format!("(01){PRODUCT}(17)270331(10)AC-2291"));
    forms.push(format!(" (01) {PRODUCT} (17) 270331 (10) AC-2291 "));
    for form in forms {
        assert_eq!(read_today(&form), Ok(Some(label())), "{form:?}");
    }
    let serial = Elements { serial: Some("000123".to_owned()), produced: day(2025, 4, 1), ..label() };
    let long = format!("]C101{PRODUCT}1125040110AC-2291\u{1d}21000123\u{1d}17270331");
    assert_eq!(read_today(&long), Ok(Some(serial)));
}

#[test]
fn an_ordinary_lot_stays_as_typed() {
    for lot in [
        "",
        "AC-2291",
        "K-0058",
        "101234",
        "10AC-2291",
        "17270331",
        "172703",
        "2103",
        "0101",
        "(lot) 12",
        "(1)2",
        "]",
        "]]1",
        "1799331 10A",
        "179933110A",
        "Ä010",
        "01062910415002",
        "(ab)1",
    ] {
        assert_eq!(read_today(lot), Ok(None), "{lot}");
    }
    // A second bar code without the product number is one all the same.
    let second = Elements { product: None, ..label() };
    assert_eq!(read_today("1727033110AC-2291"), Ok(Some(second.clone())));
    let first = read_today(&format!("01{PRODUCT}")).unwrap().unwrap();
    assert_eq!(first.join(&second), Some(label()));
    assert_eq!(label().join(&second), Some(label()), "the same lot again");
    let other = Elements { lot: Some("AC-2292".to_owned()), ..second.clone() };
    assert_eq!(label().join(&other), None, "of two lots");
    let product = Elements { product: Gtin::read("7300011000017"), ..second };
    assert_eq!(label().join(&product), None, "of two products");
}

#[test]
fn a_product_number_and_a_link_are_no_lots() {
    // Check digits as on gs1.org and gs1.se; one digit off, it is a number like any other.
    for number in ["6291041500213", PRODUCT, "7300011000017"] {
        assert_eq!(read_today(number), Err(ScanError::ProductAlone));
    }
    for lot in [
        "6291041500214",
        "62910415 00213",
        "40170725",
        "729104150021",
        "AC-2291, then AC-2292 from the second bottle",
        "K-0058 (10)",
        "K0106291041500214",
        "K-17270331",
    ] {
        assert_eq!(read_today(lot), Ok(None), "{lot}");
    }
    assert_eq!(read_today(&format!("(10){PRODUCT}")).unwrap().unwrap().lot.as_deref(), Some(PRODUCT));
    for link in
        ["https://example.org/01/06291041500213/10/K-0058", "HTTP://example.org", "]Q3https://example.org"]
    {
        assert_eq!(read_today(link), Err(ScanError::Link), "{link}");
    }
    assert_eq!(read_today("K-0058https://example.org"), Err(ScanError::Behind));
}

#[test]
fn dates_follow_the_century_and_the_last_day_of_a_month() {
    // GS1 General Specifications 7.12 and (17): from memory, verify.
    let on = |year, text: &str| date(text, Date::new(year, 6, 15).unwrap());
    assert_eq!(on(2026, "260229"), None);
    assert_eq!(on(2026, "280200"), day(2028, 2, 29));
    assert_eq!(on(2026, "270200"), day(2027, 2, 28));
    assert_eq!(on(2026, "270400"), day(2027, 4, 30));
    assert_eq!(on(2026, "761231"), day(2076, 12, 31), "50 ahead is this century");
    assert_eq!(on(2026, "771231"), day(1977, 12, 31), "51 ahead is the one before");
    assert_eq!(on(2051, "021231"), day(2002, 12, 31), "49 behind is this century");
    assert_eq!(on(2051, "011231"), day(2101, 12, 31), "50 behind is the next");
    for none in ["001331", "000031", "26a101", "2601011", "26010", "26043１"] {
        assert_eq!(on(2026, none), None, "{none}");
    }
    let made = |text: &str| read_today(&format!("(11){text}(10)A")).unwrap().unwrap().produced;
    assert_eq!((made("250401"), made("250400")), (day(2025, 4, 1), None));
}

#[test]
fn what_cannot_be_relied_on_is_refused() {
    use ScanError as E;
    let ai = |ai: &str| ai.to_owned();
    let cases = [
        (format!("]C101{}17270331", "06291041500214"), E::CheckDigit),
        (format!("(01){}(10)A", "06291041500214"), E::CheckDigit),
        ("]E06291041500213".to_owned(), E::OtherSymbol),
        ("]C0AC-2291".to_owned(), E::OtherSymbol),
        (format!("AC-2291]C101{PRODUCT}"), E::Behind),
        (format!("]C101{PRODUCT}]C101{PRODUCT}"), E::Behind),
        // Without any mark, behind a lot that stood in the field.
        (format!("K-005801{PRODUCT}1727033110K-0059"), E::Behind),
        (format!("K-0058(01){PRODUCT}"), E::Behind),
        ("K-00581727033110K-0059".to_owned(), E::Behind),
        ("K-0058 (17)270331(10)K-0059".to_owned(), E::Behind),
        ("]C117271331".to_owned(), E::NoDate { ai: ai("17") }),
        ("]C1172703".to_owned(), E::Short { ai: ai("17") }),
        ("(17)2703(10)A".to_owned(), E::Short { ai: ai("17") }),
        ("(17)2703311(10)A".to_owned(), E::Long { ai: ai("17") }),
        ("]C11727a331".to_owned(), E::Character { ai: ai("17") }),
        ("]C110".to_owned(), E::Short { ai: ai("10") }),
        ("(10)".to_owned(), E::Short { ai: ai("10") }),
        ("(10)A 1".to_owned(), E::Character { ai: ai("10") }),
        ("(10)A#1".to_owned(), E::Character { ai: ai("10") }),
        ("(21)Ä".to_owned(), E::Character { ai: ai("21") }),
        (format!("(10){}", "A".repeat(21)), E::Long { ai: ai("10") }),
        ("(10)A(10)A".to_owned(), E::Twice { ai: ai("10") }),
        ("]C110A\u{1d}10B".to_owned(), E::Twice { ai: ai("10") }),
        ("]C1AC-2291".to_owned(), E::NoIdentifier),
        ("]C100106141411234567897".to_owned(), E::Nothing),
    ];
    for (text, error) in cases {
        assert_eq!(read_today(&text), Err(error), "{text:?}");
    }
    assert_eq!(read_today(&format!("(10){}", "A".repeat(20))).unwrap().unwrap().lot, Some("A".repeat(20)));
}

#[test]
fn a_lot_with_more_behind_it_is_not_guessed() {
    let open = |of: &str| Err(ScanError::Unseparated { ai: of.to_owned() });
    // The separator between lot and expiry, serial or product number is gone.
    assert_eq!(read_today(&format!("01{PRODUCT}10AC-229117270331")), open("10"));
    assert_eq!(read_today(&format!("]C11010AC{PRODUCT}01{PRODUCT}")), open("10"));
    assert_eq!(read_today(&format!("01{PRODUCT}172703312112345678901234510AC-2291")), open("21"));
    assert_eq!(read_today(&format!("01{PRODUCT}240REF10AC-2291")), open("24"));
    // With it, all is known; what is not of use is passed over.
    let read =
        read_today(&format!("01{PRODUCT}240REF\u{1d}10AC-2291\u{1d}3102000400172703314101234567890128"))
            .unwrap();
    assert_eq!(read, Some(label()));
    // Nothing but a serial number begins like one: taken, and told.
    let doubt = read_today(&format!("01{PRODUCT}1727033110AC-229121SN7")).unwrap().unwrap();
    assert_eq!((doubt.lot.as_deref(), doubt.doubtful), (Some("AC-229121SN7"), true));
    let sure = read_today(&format!("01{PRODUCT}1727033110AC-229121SN7\u{1d}")).unwrap().unwrap();
    assert!(!sure.doubtful);
}
