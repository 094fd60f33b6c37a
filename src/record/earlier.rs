//! Blood drawn from the same person in the weeks before, as the signed records tell it.

use super::line::Line;
use crate::draft::{Draft, Field};
use crate::quantity::time::{Instant, Span};
use crate::quantity::{Quantity, Volume};
use std::sync::Arc;

/// The time over which draws add up: eight weeks [`crate::evidence::SourceId::LimitsJudgement`].
const WEEKS: Span = Span(56 * 24 * 3_600_000);

/// What was drawn in the eight weeks before a case.
#[derive(Debug, Clone, PartialEq)]
pub struct BloodBefore {
    /// Each draw, the oldest first: when, and how much where the record tells it [mL].
    pub draws: Vec<(Instant, Option<Volume>)>,
    /// All that is told [mL].
    pub sum: Volume,
}

impl BloodBefore {
    /// Whether each record tells how much was drawn.
    pub fn is_whole(&self) -> bool {
        self.draws.iter().all(|(_, volume)| volume.is_some())
    }
}

/// What the records under the patient reference of this case, in small letters or large, tell of the eight weeks before
/// its needle, before `now` while it is not in; `None` where there are none, or no reference.
/// Demo records are of a demo alone. Records that were never signed, or are on another device, are not in it.
pub fn blood_before(lines: &[Arc<Line>], draft: &Draft, now: Instant) -> Option<BloodBefore> {
    let patient = draft.text(Field::PatientReference).trim();
    let at = draft.times.needle_in.unwrap_or(now);
    if patient.is_empty() {
        return None;
    }
    let from = at.checked_sub(WEEKS)?;
    // The days first: of ten thousand records few are of these weeks, and this is asked at each key of the reference.
    let patient = patient.to_lowercase();
    let these = |line: &&Arc<Line>| from <= line.begun && line.begun < at;
    let same = |line: &&Arc<Line>| {
        line.id != draft.id && line.demo == draft.demo && line.patient.to_lowercase() == patient
    };
    let draws = lines.iter().filter(these).filter(same);
    let mut draws: Vec<_> = draws.map(|line| (line.begun, line.drawn)).collect();
    crate::arrange::sort_by_key(&mut draws, |(at, _)| *at);
    let sum = draws.iter().filter_map(|(_, v)| v.map(Quantity::get)).sum();
    (!draws.is_empty()).then_some(())?;
    Some(BloodBefore { sum: Volume::new(sum).ok()?, draws })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::trial;
    use crate::record::line::begun;

    const DAY: i64 = 24 * 3_600_000;

    fn line(id: &str, days_before: i64, drawn: Option<f64>) -> Arc<Line> {
        let record = trial::planned();
        let mut line = Line::of(&record, &record.to_json().unwrap(), None);
        assert_eq!(line.drawn, Volume::new(26.0).ok(), "two times 13 mL");
        id.clone_into(&mut line.id);
        line.begun = Instant(begun(&trial::drawn()).0 - days_before * DAY);
        line.drawn = drawn.and_then(|v| Volume::new(v).ok());
        Arc::new(line)
    }

    #[test]
    fn draws_of_eight_weeks_add_up_for_this_patient_alone() {
        let draft = trial::drawn();
        let other = {
            let mut line = (*line("o", 3, Some(60.0))).clone();
            line.patient = "HL-0418".to_owned();
            Arc::new(line)
        };
        let real = {
            let mut line = (*line("r", 3, Some(60.0))).clone();
            line.demo = false;
            Arc::new(line)
        };
        let lines = [
            line("b", 7, Some(26.0)),
            line("x", 56, Some(13.5)),
            line("old", 57, Some(100.0)),
            line("later", -1, Some(100.0)),
            line("c", 1, None),
            line(&draft.id, 2, Some(100.0)),
            other,
            real,
        ];
        let found = blood_before(&lines, &draft, Instant(0)).unwrap();
        assert_eq!(found.sum, Volume::new(39.5).unwrap());
        let volumes: Vec<_> = found.draws.iter().map(|(_, v)| v.map(Quantity::get)).collect();
        assert_eq!(volumes, [Some(13.5), Some(26.0), None]);
        assert!(!found.is_whole());
        // Begun days ago and not drawn yet, it is asked about today.
        let mut waits = draft.clone();
        (waits.times.needle_in, waits.begun) = (None, Instant(0));
        waits.write(Field::PatientReference, "hl-0417");
        let found = blood_before(&lines[..1], &waits, begun(&draft)).unwrap();
        assert!(found.is_whole() && found.sum == Volume::new(26.0).unwrap());
        let mut nobody = draft.clone();
        nobody.write(Field::PatientReference, " ");
        assert_eq!(blood_before(&lines, &nobody, Instant(0)), None);
        assert_eq!(blood_before(&[], &draft, Instant(0)), None);
    }
}
