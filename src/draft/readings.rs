//! Readings of the product count taken away, and brought back.

use super::field::MAX_READINGS;
use super::{Draft, Field};
use crate::quantity::time::Instant;

/// Readings as they stood before they went, and when they were counted.
#[derive(Debug, Clone, PartialEq)]
pub struct ReadingsTaken {
    texts: Vec<(Field, String)>,
    counted: Option<Instant>,
}

impl Draft {
    /// The readings as typed; `None` where nothing is.
    pub fn readings_typed(&self) -> Option<ReadingsTaken> {
        let rows = (0..self.rows.readings.min(MAX_READINGS)).map(Field::Reading);
        let texts = rows.map(|field| (field, self.text(field).to_owned()));
        let texts: Vec<_> = texts.filter(|(_, text)| !text.is_empty()).collect();
        (!texts.is_empty()).then_some(ReadingsTaken { texts, counted: self.times.counted })
    }

    /// Takes the last row of readings out; `None` where nothing stood in it.
    pub fn take_reading(&mut self) -> Option<ReadingsTaken> {
        let row = self.rows.readings.min(MAX_READINGS).checked_sub(1)?;
        let field = Field::Reading(row);
        let text = self.text(field).to_owned();
        self.write(field, "");
        self.rows.readings = row;
        let counted = self.times.counted;
        (!text.is_empty()).then(|| ReadingsTaken { texts: vec![(field, text)], counted })
    }

    /// Brings readings back where nothing stands by now: what was typed since is what a person said. What comes back is
    /// counted now, however it was chosen since: a reading that nobody sees must not stand in a record.
    pub fn restore_readings(&mut self, taken: &ReadingsTaken) {
        for (field, text) in &taken.texts {
            if self.text(*field).trim().is_empty() {
                self.write(*field, text.clone());
                self.rows.reach(*field);
                self.choices.count_later = false;
                self.times.counted = self.times.counted.or(taken.counted);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quantity::unit::Conventions;

    /// Two readings, counted at 7.
    fn counted() -> Draft {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        d.rows.readings = 2;
        d.type_in(Field::Reading(0), "924", Instant(7), None);
        d.type_in(Field::Reading(1), "931", Instant(8), None);
        d
    }

    fn readings(d: &Draft) -> [&str; 3] {
        [0, 1, 2].map(|i| d.text(Field::Reading(i)))
    }

    #[test]
    fn a_reading_brought_back_leaves_what_was_typed_since() {
        let mut d = counted();
        let taken = d.take_reading().unwrap();
        assert_eq!((readings(&d), d.rows.readings), (["924", "", ""], 1));
        // Another corrected since stays corrected.
        let mut other = d.clone();
        other.type_in(Field::Reading(0), "942", Instant(9), None);
        other.restore_readings(&taken);
        assert_eq!((readings(&other), other.rows.readings), (["942", "931", ""], 2));
        assert_eq!(other.times.counted, Some(Instant(7)));
        // The row opened again and typed in is another reading.
        let mut row = d.clone();
        row.rows.readings = 3;
        row.type_in(Field::Reading(1), "950", Instant(9), None);
        let typed = row.clone();
        row.restore_readings(&taken);
        assert_eq!(row, typed);
        // Nothing was touched: all is as it stood.
        d.restore_readings(&taken);
        assert_eq!(d, counted());
        d.rows.readings = 3;
        assert_eq!(d.take_reading(), None, "nothing stood there");
    }

    #[test]
    fn readings_that_went_with_another_way_of_counting_come_back_beside_what_was_typed_since() {
        let mut d = counted();
        let taken = d.readings_typed().unwrap();
        for i in 0..MAX_READINGS {
            d.write(Field::Reading(i), "");
        }
        d.times.counted = None;
        d.choices.count_later = true;
        assert_eq!(d.readings_typed(), None);
        let mut untouched = d.clone();
        untouched.restore_readings(&taken);
        assert_eq!(untouched, counted());
        // Not counted, chosen since: what comes back is seen.
        let mut not = d.clone();
        not.choices.count_later = false;
        not.rows.readings = 0;
        not.restore_readings(&taken);
        assert_eq!(not, counted());
        // Counted after all, another number.
        d.choices.count_later = false;
        d.type_in(Field::Reading(0), "942", Instant(19), None);
        d.restore_readings(&taken);
        assert_eq!((readings(&d), d.times.counted), (["942", "931", ""], Some(Instant(19))));
    }
}
