//! How an open case stands to its record once that has grown apart from it: another tab signed or amended it.

use super::Record;
use super::changes::{self, Change};
use crate::draft::Draft;

/// What becomes of a case that is open over a record which has grown.
#[derive(Debug, Clone, PartialEq)]
pub enum Grown {
    /// It stays as it is: it has all that was added, if anything was.
    Holds,
    /// It becomes this: the newest state, with what was typed here in fields that nobody changed elsewhere.
    Becomes(Box<Draft>),
    /// Signed as it is it would change or take out what was added: a person decides.
    Asks,
}

impl Record {
    /// How a case stands to this record. `known` is the state that it was begun on, `None` where it was begun before
    /// there was a record.
    pub fn grown_over(&self, known: Option<&Draft>, open: &Draft) -> Grown {
        let added = known.map(|known| changes::between(known, self.latest()));
        let left = changes::between(self.latest(), open);
        if left.is_empty() || added.as_ref().is_some_and(Vec::is_empty) {
            return Grown::Holds;
        }
        let (Some(known), Some(added)) = (known, added) else { return Grown::Asks };
        let added: Vec<String> = added.iter().map(Change::hangs_on).collect();
        if !left.iter().any(|change| added.contains(&change.hangs_on())) {
            return Grown::Holds;
        }
        let own = changes::between(known, open);
        let mut newest = self.latest().clone();
        // In other units, or with another decimal mark, what was typed here would be another number.
        if !own.is_empty() && newest.conventions != open.conventions {
            return Grown::Asks;
        }
        // What is chosen, timed or decided may hang together, and so does which container was taken; a text stands for
        // itself.
        if !own.is_empty() && open.rows.spare != known.rows.spare {
            return Grown::Asks;
        }
        for change in own {
            match &change {
                Change::Typed { field, after, .. } if !added.contains(&change.hangs_on()) => {
                    newest.write(*field, after.clone());
                    newest.rows.reach(*field);
                    newest.lies_ahead(*field, open.given_ahead.get(field).cloned());
                }
                _ => return Grown::Asks,
            }
        }
        Grown::Becomes(Box::new(newest))
    }

    /// The same while a person is still asked what holds: however the record goes on, that is not answered for them, until
    /// nothing is left to be asked.
    pub fn grown_while_asked(&self, open: &Draft) -> Grown {
        if changes::between(self.latest(), open).is_empty() { Grown::Holds } else { Grown::Asks }
    }

    /// The same of a case that comes from the store, where nothing tells which entry it was begun on: taken for that is
    /// the one it differs least from, of several the newest. It becomes nothing else, for what it has may have been typed.
    pub fn grown_over_stored(&self, open: &Draft) -> Grown {
        let (mut nearest, mut least) = (self.latest(), usize::MAX);
        for entry in self.entries() {
            let differs = changes::between(&entry.draft, open).len();
            if differs <= least {
                (nearest, least) = (&entry.draft, differs);
            }
        }
        match self.grown_over(Some(nearest), open) {
            Grown::Becomes(_) => Grown::Asks,
            grown => grown,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{Check, CheckKind, Field, Rows, Stage};
    use crate::record::trial::{at, case};

    /// With more typed.
    fn and(draft: &Draft, field: Field, text: &str) -> Draft {
        let mut draft = draft.clone();
        draft.write(field, text);
        draft
    }

    /// The state as first signed, and the record once a count was added elsewhere.
    fn grown() -> (Draft, Record) {
        let known = case("a");
        let mut record = Record::sign(known.clone(), "MO", at(0), vec![]).unwrap();
        let counted = and(&known, Field::Reading(0), "924");
        record.amend(counted, "JT", at(90), vec![], "count came back").unwrap();
        (known, record)
    }

    #[test]
    fn a_case_in_which_nothing_was_typed_follows_its_record() {
        let (known, record) = grown();
        let looked_at = Draft { stage: Stage::Later, ..known.clone() };
        assert_eq!(
            record.grown_over(Some(&known), &looked_at),
            Grown::Becomes(Box::new(record.latest().clone()))
        );
        // A record that has not grown takes nothing out.
        let typed = and(record.latest(), Field::Reading(0), "");
        assert_eq!(record.grown_over(Some(record.latest()), &typed), Grown::Holds);
        assert_eq!(record.grown_over(Some(record.latest()), record.latest()), Grown::Holds);
    }

    #[test]
    fn what_was_added_elsewhere_is_not_changed_or_taken_out_unasked() {
        let (known, record) = grown();
        let beside = and(&known, Field::AdverseEvent, "faint");
        let other = and(&known, Field::Reading(0), "942");
        assert_eq!(record.grown_over(Some(&known), &other), Grown::Asks, "both typed the count");
        let mut chosen = beside.clone();
        chosen.choices.side = Some(crate::draft::Side::Left);
        assert_eq!(record.grown_over(Some(&known), &chosen), Grown::Asks, "a choice is no text");
        let both = and(record.latest(), Field::AdverseEvent, "faint");
        assert_eq!(record.grown_over(Some(&known), &beside), Grown::Becomes(Box::new(both.clone())));
        assert_eq!(record.grown_over(Some(&known), &both), Grown::Holds, "it has what was added");
        assert_eq!(record.grown_over(Some(&known), record.latest()), Grown::Holds);
    }

    #[test]
    fn two_tabs_that_changed_different_times_or_checks_ask() {
        let known = case("a");
        let mut record = Record::sign(known.clone(), "MO", at(0), vec![]).unwrap();
        let mut there = known.clone();
        there.times.needle_in = Some(at(1));
        record.amend(there.clone(), "JT", at(90), vec![], "not tapped").unwrap();
        let mut here = known.clone();
        here.times.needle_out = Some(at(6));
        assert_eq!(record.grown_over(Some(&known), &here), Grown::Asks);
        // Also where this case has what was added there.
        here.times.needle_in = there.times.needle_in;
        assert_eq!(record.grown_over(Some(&known), &here), Grown::Asks);
        let check = |by: &str| Check { by: by.into(), at: at(2), of: String::new() };
        let mut record = Record::sign(known.clone(), "MO", at(0), vec![]).unwrap();
        let mut there = known.clone();
        there.checks.insert(CheckKind::Identity, check("JT"));
        record.amend(there, "JT", at(90), vec![], "not ticked").unwrap();
        let mut here = known.clone();
        here.checks.insert(CheckKind::Balance, check("MO"));
        assert_eq!(record.grown_over(Some(&known), &here), Grown::Asks);
    }

    #[test]
    fn what_was_typed_here_is_carried_over_as_it_is_read_here() {
        let (known, record) = grown();
        let read = |d: &Draft| crate::case::read(d, crate::words::Language::English).0;
        let carried = |open: &Draft| match record.grown_over(Some(&known), open) {
            Grown::Becomes(draft) => *draft,
            other => panic!("{other:?}"),
        };
        // A part, a reading and an addition in rows that only this case has open.
        let mut open = known.clone();
        open.rows = Rows { parts: 3, readings: 2, additions: 1, ..known.rows };
        let typed = [
            (Field::PartName(2), "third"),
            (Field::PartVolume(2), "0.5"),
            (Field::Reading(1), "931"),
            (Field::AdditionVolume(0), "0.4"),
        ];
        typed.iter().for_each(|(field, text)| open.write(*field, *text));
        let (here, there) = (read(&open), read(&carried(&open)));
        assert_eq!((here.order.parts.len(), &here.order.parts), (3, &there.order.parts));
        assert_eq!(here.additions, there.additions);
        assert_eq!(
            (there.count.readings.len(), there.count.readings.last()),
            (2, here.count.readings.last())
        );
        // A time that lay ahead when it was typed.
        let mut open = and(&known, Field::PartGivenAt(0), "12:15");
        open.lies_ahead(Field::PartGivenAt(0), Some("12:15".into()));
        assert!(read(&open).order.parts[0].given_ahead);
        assert_eq!(read(&open).order.parts, read(&carried(&open)).order.parts);
        // The same digits in other units are another number.
        let mut record = record;
        let mut other = record.latest().clone();
        other.conventions.numbers = crate::quantity::unit::NumberStyle::Comma;
        record.amend(other.clone(), "JT", at(99), vec![], "commas").unwrap();
        let typed = and(&known, Field::OrderPlatelets, "1,250");
        assert_eq!(record.grown_over(Some(&known), &typed), Grown::Asks);
        assert_eq!(record.grown_over(Some(&known), &known), Grown::Becomes(Box::new(other)));
    }

    #[test]
    fn a_row_taken_out_elsewhere_does_not_come_back() {
        let (known, mut less) = grown();
        let known = Draft { rows: Rows { parts: 2, readings: 1, additions: 1, ..known.rows }, ..known };
        let taken_out =
            Draft { rows: Rows { parts: 1, readings: 0, additions: 0, ..known.rows }, ..known.clone() };
        let latest = and(&taken_out, Field::Notes, "one part less");
        less.amend(latest.clone(), "JT", at(99), vec![], "less").unwrap();
        assert_eq!(less.grown_over(Some(&known), &known), Grown::Becomes(Box::new(latest.clone())));
        let typed = and(&known, Field::AdverseEvent, "faint");
        let both = and(&latest, Field::AdverseEvent, "faint");
        assert_eq!(less.grown_over(Some(&known), &typed), Grown::Becomes(Box::new(both)));
        let mut spare = typed;
        spare.rows.spare = 1;
        assert_eq!(less.grown_over(Some(&known), &spare), Grown::Asks);
    }

    #[test]
    fn a_case_signed_elsewhere_asks_unless_it_is_the_same() {
        let (known, record) = grown();
        let first = record.until(0);
        assert_eq!(first.grown_over(None, &known), Grown::Holds);
        assert_eq!(first.grown_over(None, &and(&known, Field::Notes, "second")), Grown::Asks);
    }

    #[test]
    fn what_is_asked_is_not_answered_by_the_next_amendment() {
        let (known, record) = grown();
        let mine = and(&known, Field::Reading(0), "942");
        assert_eq!(record.grown_over(Some(&known), &mine), Grown::Asks);
        let mut next = record.clone();
        let noted = and(record.latest(), Field::Notes, "warm to the touch");
        next.amend(noted, "JT", at(99), vec![], "asked again").unwrap();
        // Taken for begun on the newest, it would become that with its own count.
        assert!(matches!(next.grown_over(Some(record.latest()), &mine), Grown::Becomes(_)));
        assert_eq!(next.grown_while_asked(&mine), Grown::Asks);
        assert_eq!(next.grown_while_asked(next.latest()), Grown::Holds);
    }

    #[test]
    fn a_stored_case_asks_where_it_is_nearer_to_an_earlier_entry() {
        let (known, record) = grown();
        assert_eq!(record.grown_over_stored(&and(&known, Field::AdverseEvent, "faint")), Grown::Asks);
        // Whether nothing was typed, or the count taken out, is not told.
        assert_eq!(record.grown_over_stored(&known), Grown::Asks);
        let begun_on_it = and(record.latest(), Field::AdverseEvent, "faint");
        assert_eq!(record.grown_over_stored(&begun_on_it), Grown::Holds);
        assert_eq!(record.grown_over_stored(record.latest()), Grown::Holds);
        // As near to both: begun on the newest, where a count is corrected.
        assert_eq!(record.grown_over_stored(&and(&known, Field::Reading(0), "942")), Grown::Holds);
        assert_eq!(record.until(0).grown_over_stored(&begun_on_it), Grown::Holds);
    }
}
