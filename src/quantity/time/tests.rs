use super::read::{DateReading, DateRefusal, TimeReading, date, time_of_day};
use super::*;
use proptest::prelude::*;

const GERMAN: [&str; 12] = [
    "Januar",
    "Februar",
    "März",
    "April",
    "Mai",
    "Juni",
    "Juli",
    "August",
    "September",
    "Oktober",
    "November",
    "Dezember",
];

fn day(y: i32, m: u8, d: u8) -> Date {
    Date::new(y, m, d).unwrap()
}

/// Days since 1970 as Python's `datetime.date(y, m, d).toordinal() - 719163` gives them.
#[test]
fn days_agree_with_python() {
    for ((y, m, d), days) in [
        ((1, 1, 1), -719_162),
        ((1582, 10, 15), -141_427),
        ((1600, 2, 29), -135_081),
        ((1900, 2, 28), -25_509),
        ((1900, 3, 1), -25_508),
        ((1970, 1, 1), 0),
        ((1982, 8, 4), 4_598),
        ((2000, 2, 29), 11_016),
        ((2024, 12, 31), 20_088),
        ((2026, 3, 12), 20_524),
        ((2100, 3, 1), 47_541),
        ((9999, 12, 31), 2_932_896),
    ] {
        assert_eq!(day(y, m, d).days(), days, "{y}-{m}-{d}");
        assert_eq!(Date::from_days(days), Some(day(y, m, d)));
    }
    assert_eq!(Date::from_days(-719_163), None);
    assert_eq!(Date::from_days(2_932_897), None);
    assert_eq!(Date::from_days(i64::MAX), None);
    assert_eq!(Date::from_days(i64::MIN), None);
}

#[test]
fn every_day_follows_the_one_before() {
    let (mut y, mut m, mut d) = (1, 1, 1);
    for days in -719_162..=2_932_896 {
        let date = Date::from_days(days).unwrap();
        assert_eq!((date.year(), date.month(), date.day(), date.days()), (y, m, d, days));
        d += 1;
        if Date::new(y, m, d).is_none() {
            (m, d) = (m + 1, 1);
        }
        if m == 13 {
            (y, m) = (y + 1, 1);
        }
    }
    assert_eq!(y, 10_000);
}

#[test]
fn no_such_day() {
    for (y, m, d) in
        [(2023, 2, 29), (1900, 2, 29), (2024, 4, 31), (2024, 13, 1), (2024, 0, 1), (2024, 1, 0), (0, 1, 1)]
    {
        assert_eq!(Date::new(y, m, d), None);
    }
}

#[test]
fn local_time_and_back() {
    // 2026-03-12T13:24:00Z, from Python's datetime.timestamp().
    let at = Instant(1_773_321_840_000);
    let berlin = Offset::new(60).unwrap();
    assert_eq!(clock_text(at, berlin), "14:24");
    assert_eq!(clock_text(at, Offset::UTC), "13:24");
    assert_eq!(clock_text(at, Offset::new(-14 * 60).unwrap()), "23:24");
    assert_eq!(clock_text(Instant(i64::MAX), berlin), "–");
    let (date, time) = at.local(berlin).unwrap();
    assert_eq!((date, time), (day(2026, 3, 12), TimeOfDay::new(14, 24, 0).unwrap()));
    assert_eq!(Instant::of_local(date, time, berlin), at);
    assert_eq!(Offset::new(1081), None);
}

#[test]
fn spans() {
    let s = |x| Span::of(Seconds::new(x).unwrap());
    assert_eq!(s(108.0), Span(108_000));
    assert_eq!(s(0.0015), Span(2));
    assert_eq!(s(108.9).text(), "1:48");
    assert_eq!(s(3900.0).text(), "1:05:00");
    assert_eq!(Span(-3_000).text(), "−0:03");
    assert_eq!(Span(-999).text(), "0:00");
    assert_eq!(Span(i64::MIN).text().len(), "−2562047788015:12:55".len());
    assert_eq!(Span::minutes(4), Some(Span(240_000)));
    assert_eq!(Span::minutes(i64::MAX), None);
    assert_eq!(Span(1_500).seconds().unwrap().get(), 1.5);
    assert!(Span(-1).seconds().is_err());
    assert!(Span(i64::MAX).seconds().is_err());
    assert_eq!(Instant(5).since(Instant(2)), Some(Span(3)));
    assert_eq!(Instant(i64::MAX).since(Instant(-1)), None);
    assert_eq!(Instant(i64::MAX).checked_add(Span(1)), None);
    assert_eq!(Instant(i64::MIN).checked_sub(Span(1)), None);
}

#[test]
fn dates_as_typed() {
    let born = day(1982, 8, 4);
    for text in [
        "4 Aug 1982",
        "04 aug 1982",
        "4. August 1982",
        "4-Aug-1982",
        "Aug 4, 1982",
        "August 4 1982",
        "4th of August 1982",
        "4 de agosto de 1982",
        "1982 Aug 4",
        "1982-08-04",
        "1982/8/4",
        "1982.08.04",
        "19820804",
        "4.8.1982",
        "04.08.1982",
        " 4\u{a0}Aug\u{a0}1982 ",
    ] {
        let spanish = [
            "enero",
            "febrero",
            "marzo",
            "abril",
            "mayo",
            "junio",
            "julio",
            "agosto",
            "septiembre",
            "octubre",
            "noviembre",
            "diciembre",
        ];
        assert_eq!(date(text, &spanish), DateReading::Date(born), "{text}");
    }
    assert_eq!(date("1. Mär 2026", &GERMAN), DateReading::Date(day(2026, 3, 1)));
    assert_eq!(date("1 March 2026", &GERMAN), DateReading::Date(day(2026, 3, 1)));
    // Day and month cannot be exchanged.
    assert_eq!(date("13/08/1982", &GERMAN), DateReading::Date(day(1982, 8, 13)));
    assert_eq!(date("08/13/1982", &GERMAN), DateReading::Date(day(1982, 8, 13)));
    assert_eq!(date("8/8/1982", &GERMAN), DateReading::Date(day(1982, 8, 8)));
    assert_eq!(date("  ", &GERMAN), DateReading::Empty);
}

#[test]
fn dates_that_ask() {
    let both = DateReading::Ask(vec![day(1982, 8, 4), day(1982, 4, 8)]);
    for text in ["04/08/1982", "4-8-1982", "4 8 1982"] {
        assert_eq!(date(text, &GERMAN), both, "{text}");
    }
    assert_eq!(date("4.8.82", &GERMAN), DateReading::Ask(vec![day(1982, 8, 4), day(2082, 8, 4)]));
    // Only one of the two centuries had that day.
    assert_eq!(date("29.2.00", &GERMAN), DateReading::Date(day(2000, 2, 29)));
}

#[test]
fn dates_that_are_none() {
    let not = DateRefusal::NotADate;
    for (text, why) in [
        ("31.6.1982", DateRefusal::NoSuchDay),
        ("32/13/1982", DateRefusal::NoSuchDay),
        ("29 Feb 2023", DateRefusal::NoSuchDay),
        ("82-08-04", DateRefusal::NoSuchDay),
        ("4 Aug 1782", DateRefusal::Year),
        ("4 Aug 2982", DateRefusal::Year),
        ("4 Ju 1982", not),
        ("4 Foo 1982", not),
        ("4 Aug", not),
        ("4 Aug 198", not),
        ("1982", not),
        ("tomorrow", not),
        ("4:8:1982", not),
        ("4.8.1982.", not),
    ] {
        if text == "4.8.1982." {
            assert_eq!(
                date(text, &GERMAN),
                DateReading::Date(day(1982, 8, 4)),
                "a full stop parts nothing more"
            );
        } else {
            assert_eq!(date(text, &GERMAN), DateReading::Wrong(why), "{text}");
        }
    }
    assert_eq!(date(&"1".repeat(65), &GERMAN), DateReading::Wrong(DateRefusal::TooLong));
}

#[test]
fn times_of_day() {
    let t = |h, m, s| TimeReading::Time(TimeOfDay::new(h, m, s).unwrap());
    for (text, want) in [
        ("14:24", t(14, 24, 0)),
        ("1424", t(14, 24, 0)),
        ("14.24", t(14, 24, 0)),
        ("14,24", t(14, 24, 0)),
        ("14h24", t(14, 24, 0)),
        ("14 24", t(14, 24, 0)),
        ("14:24:30", t(14, 24, 30)),
        ("2:24 pm", t(14, 24, 0)),
        ("2:24PM", t(14, 24, 0)),
        ("12:05 am", t(0, 5, 0)),
        ("12:05 pm", t(12, 5, 0)),
        ("905", t(9, 5, 0)),
        ("9:05", t(9, 5, 0)),
        ("00:00", t(0, 0, 0)),
        ("", TimeReading::Empty),
    ] {
        assert_eq!(time_of_day(text), want, "{text}");
    }
    for text in [
        "24:00",
        "14:60",
        "14",
        "14:2",
        "14:5x",
        "13:00 pm",
        "0:30 am",
        "1:2:3",
        "-1:30",
        "+1:30",
        "14:24:30:00",
        "é24",
        ":24",
        "14:",
    ] {
        assert_eq!(time_of_day(text), TimeReading::Wrong, "{text}");
    }
}

proptest! {
    #[test]
    fn moments_survive_the_local_clock(ms in -62_000_000_000_000_i64..253_000_000_000_000, minutes in -1080..=1080_i32) {
        let (at, offset) = (Instant(ms), Offset::new(minutes).unwrap());
        let (date, time) = at.local(offset).unwrap();
        prop_assert_eq!(Instant::of_local(date, time, offset), Instant(ms - ms.rem_euclid(1000)));
    }

    #[test]
    fn every_date_reads_back_from_each_safe_spelling(days in -32_000..84_000_i64) {
        let d = Date::from_days(days).unwrap();
        let (y, m, dd) = (d.year(), d.month(), d.day());
        let name = GERMAN[usize::from(m) - 1];
        for text in [d.to_string(), format!("{dd}.{m}.{y}"), format!("{dd}. {name} {y}"), format!("{y:04}{m:02}{dd:02}")] {
            prop_assert_eq!(date(&text, &GERMAN), DateReading::Date(d), "{}", text);
        }
    }

    #[test]
    fn no_text_panics(text in "\\PC*", near in "[0-9:.,/ \\-a-zé§ü²٣]{0,14}", ms in any::<i64>(), minutes in -1080..=1080_i32) {
        for t in [&text, &near] {
            let _ = date(t, &GERMAN);
            let _ = time_of_day(t);
        }
        let offset = Offset::new(minutes).unwrap();
        let _ = Instant(ms).local(offset);
        let _ = (Span(ms).text(), Span(ms).seconds());
    }
}

#[test]
fn months_later_is_a_day_of_the_calendar_and_a_date_is_stored_as_it_is_written() {
    let day = |y, m, d| Date::new(y, m, d).unwrap();
    for (from, months, then) in [
        (day(2026, 3, 12), 12, day(2027, 3, 12)),
        (day(2026, 8, 31), 6, day(2027, 2, 28)),
        (day(2027, 8, 31), 6, day(2028, 2, 29)),
        (day(2026, 12, 1), 1, day(2027, 1, 1)),
        (day(2026, 11, 30), 0, day(2026, 11, 30)),
    ] {
        assert_eq!(from.months_later(months), Some(then));
    }
    assert_eq!(day(9999, 12, 1).months_later(1), None);
    assert_eq!(Date::try_from("2026-03-12".to_owned()), Ok(day(2026, 3, 12)));
    assert_eq!(serde_json::to_string(&day(2026, 3, 12)).unwrap(), "\"2026-03-12\"");
    for wrong in ["2026-3-12", "2026-02-30", "12.3.2026", "", "2026-03-12-1", "+2026-03-12"] {
        assert!(Date::try_from(wrong.to_owned()).is_err(), "{wrong}");
    }
}
