//! Dates and times of day as people type them.

use super::{Date, TimeOfDay};
use crate::quantity::read::LONGEST;

/// What a typed date means.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum DateReading {
    /// Nothing typed.
    Empty,
    /// One day and no other.
    Date(Date),
    /// Day and month could be exchanged, or the century is missing. The likelier first; `text` of each is
    /// [`Date`]'s own, which reads back without asking.
    Ask(Vec<Date>),
    /// No day.
    Wrong(DateRefusal),
}

/// Why a typed date is none.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DateRefusal {
    /// Longer than [`LONGEST`] characters.
    TooLong,
    /// Not three parts, or a word that is no month.
    NotADate,
    /// Looks like a date, but the calendar has no such day (31.6., month 13).
    NoSuchDay,
    /// The year is outside [`FIRST_YEAR`] to [`LAST_YEAR`].
    Year,
}

/// What a typed time of day means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeReading {
    /// Nothing typed.
    Empty,
    /// A time of day.
    Time(TimeOfDay),
    /// No time of day (also 24:00: the next day's 00:00 is meant, and the day must be told).
    Wrong,
}

/// First year that is read. Judgement: no patient and no lot is older.
pub const FIRST_YEAR: i32 = 1880;
/// Last year that is read. Judgement: no lot is younger.
pub const LAST_YEAR: i32 = 2200;

/// Month names that are always understood; the reader's own come as an argument.
const ENGLISH: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// Little words in dates that carry nothing: 4th of August, 4 de agosto de 1982.
const FILLERS: [&str; 8] = ["st", "nd", "rd", "th", "of", "de", "del", "den"];

enum Part<'a> {
    Number(&'a str),
    Word(String),
}

/// Reads a month with its year, as an expiry is often printed (03/2027, 2027-03, Mar 2027): its last day.
pub fn last_day_of_month(typed: &str, months: &[&str; 12]) -> Option<Date> {
    let mut parts = typed.trim().split(|c: char| !c.is_alphanumeric()).filter(|p| !p.is_empty());
    let (first, second) = (parts.next()?, parts.next()?);
    if typed.chars().count() > LONGEST || parts.next().is_some() {
        return None;
    }
    let (year, month) = if first.len() == 4 { (first, second) } else { (second, first) };
    let year: i32 = Some(year).filter(|y| y.len() == 4)?.parse().ok()?;
    let named =
        |name: &&str| month.chars().count() >= 3 && starts_with(&month.to_lowercase(), &name.to_lowercase());
    let month = match month.parse::<u8>() {
        Ok(number) => number,
        Err(_) => u8::try_from(months.iter().position(named)?).ok()?.checked_add(1)?,
    };
    let next = if month == 12 {
        Date::new(year.checked_add(1)?, 1, 1)?
    } else {
        Date::new(year, month.checked_add(1)?, 1)?
    };
    Date::from_days(next.days().checked_sub(1)?)
}

/// Whether a longer name begins with a shorter, either way round: March and Mar.
fn starts_with(a: &str, b: &str) -> bool {
    a.starts_with(b) || b.starts_with(a)
}

/// Reads a date and a time of day after it: 12 Mar 2026 14:05, 2026-03-12T14:05.
pub fn date_and_time(typed: &str, months: &[&str; 12]) -> Option<(Date, TimeOfDay)> {
    let (day, at) = typed.trim().rsplit_once([' ', ',', 'T'])?;
    match (date(day.trim_end_matches(','), months), time_of_day(at)) {
        (DateReading::Date(day), TimeReading::Time(at)) => Some((day, at)),
        _ => None,
    }
}

/// Reads a date: 4 Aug 1982, Aug 4, 1982, 4.8.1982, 1982-08-04, 19820804. `months` are the names of the
/// months in the reader's language, January first; three letters or more of one suffice.
///
/// Judgement: with points the day comes first (no country writes points with the month first); with
/// slashes, hyphens or spaces day and month are asked for where both could be either.
pub fn date(typed: &str, months: &[&str; 12]) -> DateReading {
    if typed.chars().count() > LONGEST {
        return DateReading::Wrong(DateRefusal::TooLong);
    }
    let typed = typed.trim();
    if typed.is_empty() {
        return DateReading::Empty;
    }
    let parts = parts(typed);
    let refuse = |r| DateReading::Wrong(r);
    match parts.as_slice() {
        [Part::Number(n)] if n.len() == 8 => {
            let (y, md) = n.split_at(4);
            let (m, d) = md.split_at(2);
            one(y, &[(m, d)])
        }
        [Part::Number(a), Part::Word(w), Part::Number(b)] => match month(w, months) {
            Some(m) if a.len() == 4 => one(a, &[(&m, b)]),
            Some(m) => one(b, &[(&m, a)]),
            None => refuse(DateRefusal::NotADate),
        },
        [Part::Word(w), Part::Number(d), Part::Number(y)] => match month(w, months) {
            Some(m) => one(y, &[(&m, d)]),
            None => refuse(DateRefusal::NotADate),
        },
        [Part::Number(y), Part::Number(m), Part::Number(d)] if y.len() == 4 => one(y, &[(m, d)]),
        [Part::Number(a), Part::Number(b), Part::Number(y)] if typed.contains('.') => one(y, &[(b, a)]),
        [Part::Number(a), Part::Number(b), Part::Number(y)] => one(y, &[(b, a), (a, b)]),
        _ => refuse(DateRefusal::NotADate),
    }
}

/// Reads a time of day: 14:24, 14.24, 14h24, 1424, 14:24:30, 2:24 pm.
pub fn time_of_day(typed: &str) -> TimeReading {
    if typed.chars().count() > LONGEST {
        return TimeReading::Wrong;
    }
    let lower = typed.trim().to_lowercase();
    if lower.is_empty() {
        return TimeReading::Empty;
    }
    let bare: String = lower.chars().filter(|c| !c.is_whitespace()).collect();
    let (digits, half) = match (bare.strip_suffix("am"), bare.strip_suffix("pm")) {
        (Some(rest), _) => (rest, Some(0)),
        (_, Some(rest)) => (rest, Some(12)),
        _ => (lower.as_str(), None),
    };
    read_time(digits, half).map_or(TimeReading::Wrong, TimeReading::Time)
}

fn read_time(text: &str, half: Option<u8>) -> Option<TimeOfDay> {
    let mut parts: Vec<&str> = text.split([':', '.', ',', 'h', ' ']).collect();
    if let [one] = parts.as_slice() {
        let at = one.len().checked_sub(2).filter(|at| (1..=2).contains(at) && one.is_ascii())?;
        let (h, m) = one.split_at(at);
        parts = vec![h, m];
    }
    let number = |s: &str| s.bytes().all(|b| b.is_ascii_digit()).then(|| s.parse::<u8>().ok()).flatten();
    let (h, m, s) = match parts.as_slice() {
        [h, m] => (*h, *m, "00"),
        [h, m, s] => (*h, *m, *s),
        _ => return None,
    };
    if h.len() > 2 || m.len() != 2 || s.len() != 2 {
        return None;
    }
    let hour = match (number(h)?, half) {
        (hour, None) => hour,
        (hour @ 1..=12, Some(half)) => hour % 12 + half,
        _ => return None,
    };
    TimeOfDay::new(hour, number(m)?, number(s)?)
}

/// Runs of digits and of letters; what stands between them only parts them.
fn parts(text: &str) -> Vec<Part<'_>> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let digit = |c: char| c.is_ascii_digit();
        let letter = |c: char| c.is_alphabetic();
        let end = |kind: &dyn Fn(char) -> bool| rest.find(|c| !kind(c)).unwrap_or(rest.len());
        let at = match first {
            c if digit(c) => {
                let at = end(&digit);
                out.push(Part::Number(rest.get(..at).unwrap_or_default()));
                at
            }
            c if letter(c) => {
                let at = end(&letter);
                let word = rest.get(..at).unwrap_or_default().to_lowercase();
                if !FILLERS.contains(&word.as_str()) {
                    out.push(Part::Word(word));
                }
                at
            }
            // Only these part a date; anything else makes a part that fits nowhere.
            '.' | '/' | '-' | '–' | ',' | ' ' | '\u{a0}' | '\u{202f}' => first.len_utf8(),
            _ => {
                out.push(Part::Word(first.into()));
                first.len_utf8()
            }
        };
        rest = rest.get(at..).unwrap_or_default();
    }
    out
}

/// The month's number as text, if exactly one month begins so.
fn month(word: &str, names: &[&str; 12]) -> Option<String> {
    let begins = |names: &[&str; 12]| {
        let mut at = names.iter().enumerate().filter(|(_, name)| name.to_lowercase().starts_with(word));
        match (at.next(), at.next()) {
            (Some((i, _)), None) if word.chars().count() >= 3 => Some((i + 1).to_string()),
            _ => None,
        }
    };
    begins(names).or_else(|| begins(&ENGLISH))
}

/// A year with one or two ways to read (month, day), the likelier first.
fn one(year: &str, month_day: &[(&str, &str)]) -> DateReading {
    let years: Vec<i32> = match (year.len(), year.parse::<i32>()) {
        (4, Ok(y)) => vec![y],
        (2, Ok(y)) => vec![1900 + y, 2000 + y],
        _ => return DateReading::Wrong(DateRefusal::NotADate),
    };
    if !years.iter().all(|y| (FIRST_YEAR..=LAST_YEAR).contains(y)) {
        return DateReading::Wrong(DateRefusal::Year);
    }
    let mut days = Vec::new();
    for year in years {
        for (m, d) in month_day {
            let number = |s: &str| s.parse::<u8>().ok().filter(|_| s.len() <= 2);
            let day = number(m).zip(number(d)).and_then(|(m, d)| Date::new(year, m, d));
            days.extend(day.filter(|day| !days.contains(day)));
        }
    }
    match days.as_slice() {
        [] => DateReading::Wrong(DateRefusal::NoSuchDay),
        [day] => DateReading::Date(*day),
        _ => DateReading::Ask(days),
    }
}
