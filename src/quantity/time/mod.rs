//! The wall clock: moments, spans, civil dates. No clock is read here; now and the offset come in as
//! arguments. Names of months and the order of a date on screen belong to `words`.

pub mod read;

use super::{OutOfRange, Quantity, Seconds};
use serde::{Deserialize, Serialize};
use std::fmt;

const MS_PER_SECOND: i64 = 1_000;
const MS_PER_MINUTE: i64 = 60_000;
const MS_PER_DAY: i64 = 86_400_000;

/// A moment: milliseconds since 1 January 1970, 00:00 UTC.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Instant(pub i64);

/// A span between two moments [ms]; negative if the clock was set back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span(pub i64);

/// Local time minus UTC [min], −1080 to 1080.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
#[serde(try_from = "i32", into = "i32")]
pub struct Offset(i32);

/// A day of the Gregorian calendar, years 1 to 9999; stored as it is written, 2026-03-12.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Date {
    year: i32,
    month: u8,
    day: u8,
}

/// A time of day, 00:00:00 to 23:59:59.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct TimeOfDay {
    hour: u8,
    minute: u8,
    second: u8,
}

impl Instant {
    /// The moment `span` later; none if it cannot be told.
    pub fn checked_add(self, span: Span) -> Option<Self> {
        self.0.checked_add(span.0).map(Self)
    }
    /// The moment `span` earlier; none if it cannot be told.
    pub fn checked_sub(self, span: Span) -> Option<Self> {
        self.0.checked_sub(span.0).map(Self)
    }
    /// What has passed since `earlier`, negative if it lies ahead; none if it cannot be told.
    pub fn since(self, earlier: Self) -> Option<Span> {
        self.0.checked_sub(earlier.0).map(Span)
    }
    /// Whether it lies ahead of `now` by no more than a minute: times are entered to the minute.
    pub fn has_come(self, now: Self) -> bool {
        self.since(now).is_some_and(|ahead| ahead <= Span(MS_PER_MINUTE))
    }
    /// Day and time where the clock is `offset` from UTC; none outside the years 1 to 9999.
    pub fn local(self, offset: Offset) -> Option<(Date, TimeOfDay)> {
        let local = self.0.checked_add(offset.ms())?;
        let date = Date::from_days(local.div_euclid(MS_PER_DAY))?;
        let seconds = local.rem_euclid(MS_PER_DAY) / MS_PER_SECOND;
        let part = |n: i64| u8::try_from(n).ok();
        let time = TimeOfDay::new(part(seconds / 3600)?, part(seconds / 60 % 60)?, part(seconds % 60)?)?;
        Some((date, time))
    }
    /// The moment of a day and time where the clock is `offset` from UTC.
    pub fn of_local(date: Date, time: TimeOfDay, offset: Offset) -> Self {
        // Years 1 to 9999 keep every term below 10¹⁵.
        Self(date.days() * MS_PER_DAY + i64::from(time.seconds()) * MS_PER_SECOND - offset.ms())
    }
    /// The moment nearest to this one at which the local clock shows `time`: a time typed shortly after
    /// midnight may belong to the day before. None outside the years 1 to 9999.
    pub fn nearest(self, time: TimeOfDay, offset: Offset) -> Option<Self> {
        let (today, _) = self.local(offset)?;
        [-1, 0, 1]
            .into_iter()
            .filter_map(|step| Date::from_days(today.days() + step))
            .map(|day| Self::of_local(day, time, offset))
            .min_by_key(|at| at.0.abs_diff(self.0))
    }
}

impl Span {
    /// No time.
    pub const ZERO: Self = Self(0);

    /// Whole minutes; none beyond what 64 bits of milliseconds hold.
    pub fn minutes(minutes: i64) -> Option<Self> {
        minutes.checked_mul(MS_PER_MINUTE).map(Self)
    }
    /// A span of a few days at most, to the millisecond.
    pub fn of(seconds: Seconds) -> Self {
        // `Seconds` ends at a week, 6.048e8 ms: the text of the rounded number is a whole number.
        Self(format!("{:.0}", seconds.get() * 1000.0).parse().unwrap_or(i64::MAX))
    }
    /// The span in seconds. Errors: negative, or more than a week.
    pub fn seconds(self) -> Result<Seconds, OutOfRange> {
        let whole = self.0.div_euclid(MS_PER_SECOND);
        let rest = self.0.rem_euclid(MS_PER_SECOND);
        let as_f64 = |n: i64| n.to_string().parse().unwrap_or(f64::NAN);
        Seconds::new(as_f64(whole) + as_f64(rest) / 1000.0)
    }
    /// Seconds completed as on a stopwatch: 1:48, from an hour 1:05:00, before zero −0:03.
    pub fn text(self) -> String {
        let seconds = self.0.unsigned_abs() / MS_PER_SECOND.unsigned_abs();
        let sign = if self.0 < 0 && seconds > 0 { "\u{2212}" } else { "" };
        let (h, m, s) = (seconds / 3600, seconds / 60 % 60, seconds % 60);
        if h > 0 { format!("{sign}{h}:{m:02}:{s:02}") } else { format!("{sign}{m}:{s:02}") }
    }
}

impl TryFrom<i32> for Offset {
    type Error = String;
    fn try_from(minutes: i32) -> Result<Self, String> {
        Offset::new(minutes).ok_or_else(|| format!("{minutes} min is no local time: −1080 to 1080"))
    }
}

impl From<Offset> for i32 {
    fn from(offset: Offset) -> i32 {
        offset.0
    }
}

impl Offset {
    /// The offset of UTC itself.
    pub const UTC: Self = Self(0);

    /// None beyond 18 hours, which no place on Earth uses.
    pub fn new(minutes: i32) -> Option<Self> {
        (-1080..=1080).contains(&minutes).then_some(Self(minutes))
    }
    /// Local time minus UTC [min].
    pub fn minutes(self) -> i32 {
        self.0
    }
    fn ms(self) -> i64 {
        i64::from(self.0) * MS_PER_MINUTE
    }
}

impl Date {
    /// None if there is no such day.
    pub fn new(year: i32, month: u8, day: u8) -> Option<Self> {
        let there = (1..=9999).contains(&year) && (1..=12).contains(&month);
        (there && (1..=days_in(year, month)).contains(&day)).then_some(Self { year, month, day })
    }
    /// The same day so many months later, or the last of that month where it has no such day; none outside the years 1
    /// to 9999.
    pub fn months_later(self, months: u16) -> Option<Self> {
        let all = 12 * self.year + i32::from(self.month) - 1 + i32::from(months);
        let (year, month) = (all.div_euclid(12), u8::try_from(all.rem_euclid(12)).ok()? + 1);
        Self::new(year, month, self.day.min(days_in(year, month)))
    }
    /// Year, 1 to 9999.
    pub fn year(self) -> i32 {
        self.year
    }
    /// Month, 1 to 12.
    pub fn month(self) -> u8 {
        self.month
    }
    /// Day of the month, 1 to 31.
    pub fn day(self) -> u8 {
        self.day
    }
    /// Days since 1 January 1970; negative before it.
    pub fn days(self) -> i64 {
        // The year is counted from 1 March, so that a leap day is its last; months from March follow the
        // straight line (153 m + 2) / 5 days.
        let early = i64::from(self.month < 3);
        let year = i64::from(self.year) - early;
        let month = i64::from(self.month) + 12 * early - 3;
        let leap_days = year.div_euclid(4) - year.div_euclid(100) + year.div_euclid(400);
        365 * year + leap_days + (153 * month + 2) / 5 + i64::from(self.day) - 719_469
    }
    /// The day this many days after 1 January 1970; none outside the years 1 to 9999.
    pub fn from_days(days: i64) -> Option<Self> {
        let from_march_0 = days.checked_add(719_468)?;
        let (era, day) = (from_march_0.div_euclid(146_097), from_march_0.rem_euclid(146_097));
        // Of 400 years the last day of every 4th, but not of every 100th, and of the 400th, is a leap day.
        let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
        let day = day - (365 * year + year / 4 - year / 100);
        let month = (5 * day + 2) / 153;
        let day = day - (153 * month + 2) / 5 + 1;
        let early = i64::from(month >= 10);
        let year = i32::try_from(era.checked_mul(400)? + year + early).ok()?;
        Self::new(year, u8::try_from(month + 3 - 12 * early).ok()?, u8::try_from(day).ok()?)
    }
}

fn days_in(year: i32, month: u8) -> u8 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if year % 4 == 0 && (year % 100 != 0 || year % 400 == 0) => 29,
        2 => 28,
        _ => 31,
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

impl TryFrom<String> for Date {
    type Error = String;
    fn try_from(text: String) -> Result<Self, String> {
        let mut parts = text.split('-');
        let (year, month, day) = (parts.next(), parts.next(), parts.next());
        let read = || Date::new(year?.parse().ok()?, month?.parse().ok()?, day?.parse().ok()?);
        read().filter(|day| day.to_string() == text).ok_or_else(|| format!("{text:?} is no day: 2026-03-12"))
    }
}

impl From<Date> for String {
    fn from(day: Date) -> String {
        day.to_string()
    }
}

impl TimeOfDay {
    /// None if no clock shows it.
    pub fn new(hour: u8, minute: u8, second: u8) -> Option<Self> {
        (hour < 24 && minute < 60 && second < 60).then_some(Self { hour, minute, second })
    }
    /// Hour, 0 to 23.
    pub fn hour(self) -> u8 {
        self.hour
    }
    /// Minute, 0 to 59.
    pub fn minute(self) -> u8 {
        self.minute
    }
    /// Second, 0 to 59.
    pub fn second(self) -> u8 {
        self.second
    }
    fn seconds(self) -> u32 {
        u32::from(self.hour) * 3600 + u32::from(self.minute) * 60 + u32::from(self.second)
    }
    /// Hours and minutes, 24-hour clock: 14:24, 09:05.
    pub fn text(self) -> String {
        format!("{:02}:{:02}", self.hour, self.minute)
    }
}

/// Hours and minutes on the local clock: 14:24. A dash where it cannot be told.
pub fn clock_text(at: Instant, offset: Offset) -> String {
    at.local(offset).map_or(super::write::NOTHING.into(), |(_, time)| time.text())
}

#[cfg(test)]
mod tests;
