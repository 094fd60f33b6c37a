//! What is typed into the forms of the log.

use crate::quantity::time::read::{DateReading, TimeReading, date, last_day_of_month, time_of_day};
use crate::quantity::time::{Date, Instant, Offset};
use crate::scan::Gtin;

/// What a field of the log could not take.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotRead {
    /// No day.
    Day,
    /// A day that may be two.
    DayAsked,
    /// No time of day.
    Time,
    /// No product number.
    Product,
    /// No number of months.
    Months,
    /// Nothing is chosen.
    NotChosen,
}

/// A day; `None` where nothing is typed. Errors: none, or two.
pub fn day(text: &str, months: &[&str; 12]) -> Result<Option<Date>, NotRead> {
    match date(text, months) {
        DateReading::Empty => Ok(None),
        DateReading::Date(day) => Ok(Some(day)),
        DateReading::Ask(_) => Err(NotRead::DayAsked),
        DateReading::Wrong(_) => Err(NotRead::Day),
    }
}

/// An expiry: a day, or a month, which ends on its last day. Errors: neither.
pub fn expiry(text: &str, months: &[&str; 12]) -> Result<Option<Date>, NotRead> {
    day(text, months).or_else(|error| last_day_of_month(text, months).map(Some).ok_or(error))
}

/// Months between two checks; `None` where nothing is typed. Errors: none, or beyond [`super::LONGEST_INTERVAL`].
pub fn interval(text: &str) -> Result<Option<u16>, NotRead> {
    match text.trim() {
        "" => Ok(None),
        text => {
            let read = text.parse().ok().filter(|n| (1..=super::LONGEST_INTERVAL).contains(n));
            read.map(Some).ok_or(NotRead::Months)
        }
    }
}

/// A product number; `None` where nothing is typed. Errors: its check digit does not hold.
pub fn product(text: &str) -> Result<Option<Gtin>, NotRead> {
    match text.trim() {
        "" => Ok(None),
        text => Gtin::read(text).map(Some).ok_or(NotRead::Product),
    }
}

/// Which of these was chosen, where the first place stands for none yet. Errors: none was.
pub fn chosen<T: Clone>(all: &[T], place: usize) -> Result<T, NotRead> {
    let at = place.checked_sub(1).and_then(|at| all.get(at));
    at.cloned().ok_or(NotRead::NotChosen)
}

/// Keys with their names, and among them the one that an entry names already, whatever became of it.
pub fn with_own(mut all: Vec<(String, String)>, own: Option<(String, String)>) -> Vec<(String, String)> {
    all.extend(own.filter(|own| all.iter().all(|one| one.0 != own.0)));
    all
}

/// The place of a key among them as [`chosen`] reads it; the first of all where there is none.
pub fn place(all: &[(String, String)], key: Option<&str>) -> usize {
    key.and_then(|key| all.iter().position(|one| one.0 == key)).map_or(0, |at| at + 1)
}

/// A day with a time of it. Errors: which of them cannot be read.
pub fn moment(on: &str, at: &str, months: &[&str; 12], offset: Offset) -> Result<Instant, NotRead> {
    let day = day(on, months)?.ok_or(NotRead::Day)?;
    match time_of_day(at) {
        TimeReading::Time(time) => Ok(Instant::of_local(day, time, offset)),
        TimeReading::Empty | TimeReading::Wrong => Err(NotRead::Time),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::Language;

    #[test]
    fn what_is_typed_is_read_or_refused_never_guessed() {
        let months = Language::English.months();
        let on = |m, d| Date::new(2026, m, d);
        assert_eq!(day(" ", months), Ok(None));
        assert_eq!(day("12 Mar 2026", months), Ok(on(3, 12)));
        assert_eq!(day("3/4/2026", months), Err(NotRead::DayAsked));
        assert_eq!(day("soon", months), Err(NotRead::Day));
        assert_eq!(expiry("03/2026", months), Ok(on(3, 31)));
        assert_eq!(expiry("never", months), Err(NotRead::Day));
        assert_eq!((interval(""), interval(" 12 ")), (Ok(None), Ok(Some(12))));
        for wrong in ["0", "121", "-1", "1.5", "a year", "99999999"] {
            assert_eq!(interval(wrong), Err(NotRead::Months), "{wrong}");
        }
        assert_eq!(chosen(&["a", "b"], 0), Err(NotRead::NotChosen), "nothing is chosen for anybody");
        assert_eq!((chosen(&["a", "b"], 2), chosen(&["a"], 2)), (Ok("b"), Err(NotRead::NotChosen)));
        let one = |key: &str| (key.to_owned(), key.to_uppercase());
        let all = with_own(vec![one("a")], Some(one("gone")));
        assert_eq!(all, [one("a"), one("gone")]);
        assert_eq!(with_own(all.clone(), Some(("a".into(), "other".into()))), all);
        assert_eq!([Some("gone"), Some("b"), None].map(|key| place(&all, key)), [2, 0, 0]);
        assert_eq!(product("06291041500213").map(|p| p.is_some()), Ok(true));
        assert_eq!(product("06291041500214"), Err(NotRead::Product));
        let at = moment("12 Mar 2026", "14:24", months, Offset::UTC);
        assert_eq!(at, Ok(Instant(1_773_325_440_000)));
        assert_eq!(moment("", "14:24", months, Offset::UTC), Err(NotRead::Day));
        assert_eq!(moment("12 Mar 2026", "", months, Offset::UTC), Err(NotRead::Time));
    }
}
