//! The facts of many records, each reckoned once.

use super::facts::{Counted, facts_of_record};
use crate::record::Record;
use std::collections::BTreeMap;

/// What is known of each record, by its key, and of how many entries it then was made.
#[derive(Debug, Default)]
pub struct Known {
    of: BTreeMap<String, (usize, Option<Counted>)>,
    reckoned: usize,
}

impl Known {
    /// The facts of these records, in their order, without those that have no count. Only a record that was not
    /// seen before, or was amended since, is reckoned.
    pub fn facts(&mut self, records: &[Record]) -> Vec<Counted> {
        records.iter().filter_map(|record| self.one(record).cloned()).collect()
    }

    /// Reckons the first few of these that are not known yet, and tells whether some are left: for the idle moments
    /// of a page.
    pub fn learn_some(&mut self, records: &[Record], few: usize) -> bool {
        let until = self.reckoned.saturating_add(few);
        for record in records {
            if self.reckoned >= until {
                return true;
            }
            self.one(record);
        }
        false
    }

    fn one(&mut self, record: &Record) -> Option<&Counted> {
        // A record is only added to, so the number of its entries tells one state from another.
        let entries = record.amendments().len();
        if self.of.get(record.id()).is_none_or(|(known, _)| *known != entries) {
            self.reckoned = self.reckoned.saturating_add(1);
            self.of.insert(record.id().to_owned(), (entries, facts_of_record(record)));
        }
        self.of.get(record.id()).and_then(|(_, facts)| facts.as_ref())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{CheckSign, Draft, Field, SampleDilution};
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;

    fn draft(id: &str, reading: &str) -> Draft {
        let sign = CheckSign::pick(0, &[]);
        let mut d = Draft::demo(id.to_owned(), sign, Instant(1_795_597_200_000), Conventions::default());
        d.demo = false;
        d.write(Field::ProductActual, "4");
        d.write(Field::Reading(0), reading);
        d.choices.dilution = Some(SampleDilution::Undiluted);
        d.choices.mixed_no_clumps = Some(true);
        d
    }

    fn signed(id: &str, reading: &str) -> Record {
        Record::sign(draft(id, reading), "MO", Instant(1_795_600_000_000), vec![]).unwrap()
    }

    #[test]
    fn each_state_of_a_record_is_reckoned_once() {
        let mut known = Known::default();
        let mut records = vec![signed("a", "938"), signed("b", ""), signed("c", "900")];
        let ids = |facts: &[Counted]| facts.iter().map(|c| c.id.clone()).collect::<Vec<_>>();
        assert_eq!(ids(&known.facts(&records)), ["a", "c"]);
        assert_eq!((known.facts(&records).len(), known.reckoned), (2, 3));
        // the late count of b comes in as an amendment
        records[1].amend(draft("b", "924"), "MO", Instant(1_795_700_000_000), vec![], "counted").unwrap();
        assert_eq!(ids(&known.facts(&records)), ["a", "b", "c"]);
        assert_eq!(known.reckoned, 4);
    }

    #[test]
    fn idle_moments_come_to_an_end() {
        let records: Vec<Record> = (0..5).map(|i| signed(&format!("r{i}"), "938")).collect();
        let mut known = Known::default();
        assert!(known.learn_some(&records, 2) && known.reckoned == 2);
        assert!(known.learn_some(&records, 2) && known.reckoned == 4);
        assert!(!known.learn_some(&records, 2) && known.reckoned == 5);
        assert!(!known.learn_some(&records, 2) && known.reckoned == 5);
    }
}
