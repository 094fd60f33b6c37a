//! What a signed record says, for files: its latest entry, its figures as they were shown, its times in local time.

use super::sampled::{Sampled, sampled};
use crate::assess::{Now, assess};
use crate::case::{self, Case};
use crate::draft::Field;
use crate::product::clock::UseBy;
use crate::quantity::time::{Date, Instant, Offset};
use crate::record::shown::{ShownFigure, ShownStanding};
use crate::record::{Entry, Record};
use crate::words::Language;

pub(super) struct Facts<'a> {
    pub(super) record: &'a Record,
    pub(super) entry: &'a Entry,
    /// What was typed, as quantities.
    pub(super) case: Case,
}

impl<'a> Facts<'a> {
    pub(super) fn of(record: &'a Record) -> Self {
        let entry = record.latest_entry();
        let (case, _) = case::read(&entry.draft, Language::English);
        Self { record, entry, case }
    }

    /// A figure as it was shown, if it stood so: a planned one is never taken for a measured one.
    pub(super) fn figure(&self, what: &str, standing: ShownStanding) -> Option<&'a ShownFigure> {
        self.entry.shown.iter().find(|f| f.what == what && f.standing == standing)
    }

    /// A typed text, trimmed.
    pub(super) fn typed(&self, field: Field) -> &'a str {
        self.entry.draft.text(field).trim()
    }

    /// When the blood was taken that was counted.
    pub(super) fn sampled(&self) -> Option<Sampled<'a>> {
        sampled(&self.entry.draft, &self.case)
    }

    /// The use-by of the product as it followed when this was signed: kept is only the sentence on the card.
    pub(super) fn use_by(&self) -> Option<UseBy> {
        let now = Now { at: self.entry.at, offset: self.offset() };
        let none = self.entry.draft.without_product().is_some();
        assess(&self.case, now).spin.use_by.map(|by| by.value).filter(|_| !none)
    }

    fn offset(&self) -> Offset {
        self.entry.draft.offset.unwrap_or(Offset::UTC)
    }

    /// When the needle went in, else when the case was begun.
    pub(super) fn day(&self) -> Option<Date> {
        let draft = &self.entry.draft;
        Some(draft.times.needle_in.unwrap_or(draft.begun).local(self.offset())?.0)
    }

    /// A moment as ISO 8601 in the case's own local time, with its offset; none outside the years 1 to 9999.
    pub(super) fn moment(&self, at: Instant) -> Option<String> {
        let (date, time) = at.local(self.offset())?;
        let (hour, minute, second) = (time.hour(), time.minute(), time.second());
        let offset = self.offset().minutes();
        let (sign, of) = (if offset < 0 { '-' } else { '+' }, offset.unsigned_abs());
        let (h, m) = (of / 60, of % 60);
        Some(format!("{}T{hour:02}:{minute:02}:{second:02}{sign}{h:02}:{m:02}", iso(date)))
    }
}

/// A day as ISO 8601.
pub(super) fn iso(date: Date) -> String {
    format!("{:04}-{:02}-{:02}", date.year(), date.month(), date.day())
}

/// A number to ten figures: what lies beyond is what binary fractions make of decimal ones.
pub(super) fn number(value: f64) -> f64 {
    format!("{value:.9e}").parse().unwrap_or(value)
}
