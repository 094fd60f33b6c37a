//! What the earlier sessions of a course of treatment measured, as the signed records tell it. It stands beside the
//! plan of a later one and enters no prediction.

use super::line::Line;
use super::namesake::differ;
use crate::draft::{CheckSign, Draft, Field};
use crate::quality::decided::Decisions;
use crate::quantity::Recovery;
use crate::quantity::time::Instant;
use std::sync::Arc;

/// A session that was counted.
#[derive(Debug, Clone, PartialEq)]
pub struct Session {
    /// Check sign of its record.
    pub sign: CheckSign,
    /// Which, of how many.
    pub number: (u8, u8),
    /// When its needle went in.
    pub at: Instant,
    /// Platelets in its product over platelets drawn, both counted.
    pub recovery: Recovery,
    /// Made by the protocol that is chosen now.
    pub same_protocol: bool,
}

/// Reads "2 of 3": which session, of how many, and what stands behind the first number. `None` for any other text.
pub(crate) fn session(text: &str) -> Option<(u8, u8, &str)> {
    let digits = |text: &str| text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let text = text.trim();
    let (number, rest) = text.split_at_checked(digits(text))?;
    let last = rest.trim_start_matches(|c: char| !c.is_ascii_digit());
    let last = last.get(..digits(last))?;
    Some((number.parse().ok()?, last.parse().ok()?, rest))
}

/// The counted sessions of the course that a case goes on with, the first first; begun before `now`. One course is
/// what has the same patient reference, site and side, in small letters or large, and the same number of sessions, and
/// no other second identifier.
/// Left out are records changed, damaged or taken away outside and those rebuilt from a code: what they tell was not
/// measured for sure; and counts that the clinic left out by hand. A demo looks at demos alone.
pub fn measured_before(
    lines: &[Arc<Line>],
    decided: &Decisions,
    draft: &Draft,
    now: Instant,
) -> Vec<Session> {
    let Some((number, last, _)) = session(draft.text(Field::Session)) else { return Vec::new() };
    let lower = |text: &str| text.trim().to_lowercase();
    let (patient, site) = (lower(draft.text(Field::PatientReference)), lower(draft.text(Field::Site)));
    if patient.is_empty() {
        return Vec::new();
    }
    let second = draft.second_told();
    let at = draft.times.needle_in.unwrap_or(now);
    let protocol = draft.kit.protocol.as_ref().map(|p| p.id.as_str());
    let of = |line: &Arc<Line>| {
        let (n, of, _) = session(&line.session)?;
        let recovery = line.recovery?;
        let left_out = decided.exclusion(&line.id).is_some();
        let relied_on = !(left_out || line.outside || line.damaged || line.lost || line.rebuilt);
        let same = of == last && line.demo == draft.demo && line.side == draft.choices.side;
        let before = n < number && line.begun < at && line.id != draft.id;
        let same = same && !differ(&line.second, &second);
        let found =
            relied_on && same && before && lower(&line.patient) == patient && lower(&line.site) == site;
        let theirs = line.facts.as_ref().and_then(|f| f.protocol.as_deref());
        let same_protocol = theirs.is_some() && theirs == protocol;
        found.then_some(Session { sign: line.sign, number: (n, of), at: line.begun, recovery, same_protocol })
    };
    let mut all: Vec<Session> = lines.iter().filter_map(of).collect();
    crate::arrange::sort_by_key(&mut all, |s| (s.number, s.at));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::Side;
    use crate::export::trial;
    use crate::quantity::Quantity;
    use crate::record::Record;

    fn of(record: &Record) -> Line {
        Line::of(record, &record.to_json().unwrap(), None)
    }

    /// The invented case as session 1 of 3, counted.
    fn first() -> Line {
        let mut draft = trial::counted_draft();
        draft.write(Field::Session, "1 of 3");
        of(&trial::signed(&draft))
    }

    /// Its next session, a month later.
    fn next(text: &str) -> (Draft, Instant) {
        let mut draft = trial::drawn();
        draft.times = Default::default();
        draft.id = "next".to_owned();
        draft.write(Field::Session, text);
        (draft, Instant(trial::SIGNED.0 + 30 * 24 * 3_600_000))
    }

    #[test]
    fn an_earlier_session_says_what_it_recovered() {
        let (draft, now) = next("2 of 3");
        let line = Arc::new(first());
        let found = measured_before(&[Arc::clone(&line)], &Decisions::default(), &draft, now);
        let [one] = found.as_slice() else { panic!("{found:?}") };
        // 940·4/1000 of 210·26/1000, the invented case by hand.
        assert!((one.recovery.get() - 3.76 / 5.46).abs() < 1e-9);
        assert_eq!((one.number, one.at, one.same_protocol), ((1, 3), line.begun, true));
        assert_eq!(one.sign, line.sign);
        let mut other = draft.clone();
        other.kit.protocol.as_mut().unwrap().id = "another".to_owned();
        assert!(!measured_before(&[line], &Decisions::default(), &other, now)[0].same_protocol);
    }

    #[test]
    fn a_count_left_out_by_hand_is_none_until_it_is_taken_in_again() {
        let (draft, now) = next("2 of 3");
        let line = Arc::new(first());
        let mut decided = Decisions::default();
        let found =
            |decided: &Decisions| measured_before(std::slice::from_ref(&line), decided, &draft, now).len();
        decided.exclude(&line.id, "MO", now, "clumps were seen").unwrap();
        assert_eq!(found(&decided), 0);
        decided.include_again(&line.id, "MO", now).unwrap();
        assert_eq!(found(&decided), 1);
    }

    #[test]
    fn another_patient_site_side_course_or_a_later_session_is_none() {
        let (draft, now) = next("2 of 3");
        let none = |line: Line, draft: &Draft, why: &str| {
            assert_eq!(measured_before(&[Arc::new(line)], &Decisions::default(), draft, now), [], "{why}");
        };
        let with = |change: fn(&mut Line)| {
            let mut line = first();
            change(&mut line);
            line
        };
        none(with(|l| l.patient = "HL-0418".into()), &draft, "patient");
        none(with(|l| l.second = "1991-09-05".into()), &draft, "second identifier");
        none(with(|l| l.site = "elbow".into()), &draft, "site");
        none(with(|l| l.side = Some(Side::Left)), &draft, "side");
        none(with(|l| l.demo = false), &draft, "demo");
        none(with(|l| l.session = "1 of 2".into()), &draft, "course");
        none(with(|l| l.session = "2 of 3".into()), &draft, "the same session");
        none(with(|l| l.outside = true), &draft, "changed outside");
        none(with(|l| l.damaged = true), &draft, "damaged");
        none(with(|l| l.rebuilt = true), &draft, "rebuilt");
        none(with(|l| l.begun = Instant(i64::MAX)), &draft, "later");
        none(with(|l| l.id = "next".into()), &draft, "itself");
        for text in ["", "second", "1 of 3", "2"] {
            none(first(), &next(text).0, text);
        }
        let mut nobody = draft.clone();
        nobody.write(Field::PatientReference, " ");
        let mut line = first();
        line.patient = String::new();
        none(line, &nobody, "no reference");
        let unsaid = Arc::new(with(|l| l.second = String::new()));
        assert_eq!(measured_before(&[unsaid], &Decisions::default(), &draft, now).len(), 1, "not said");
        let mut small = draft;
        small.write(Field::PatientReference, " hl-0417 ");
        assert_eq!(measured_before(&[Arc::new(first())], &Decisions::default(), &small, now).len(), 1);
    }

    #[test]
    fn a_prediction_or_a_count_not_confirmed_is_no_measured_recovery() {
        let mut planned = trial::drawn();
        planned.write(Field::Session, "1 of 3");
        assert_eq!(of(&trial::signed(&planned)).recovery, None);
        let mut draft = trial::counted_draft();
        draft.choices.mixed_no_clumps = Some(false);
        assert_eq!(of(&trial::signed(&draft)).recovery, None);
    }
}
