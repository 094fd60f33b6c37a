//! Blood drawn from the same person in the weeks before, as signed records and cases without a record tell it.

use super::line::{Line, begun};
use super::namesake::differ;
use crate::assess::draw::DrawnToday;
use crate::assess::{Now, assess};
use crate::case;
use crate::draft::{BloodTold, Draft, Field};
use crate::quantity::time::{Instant, Offset, Span};
use crate::quantity::{Quantity, Volume};
use crate::words::Language;
use std::sync::Arc;

/// The time over which draws add up: eight weeks [`crate::evidence::SourceId::LimitsJudgement`].
const WEEKS: Span = Span(56 * 24 * 3_600_000);

/// What was drawn in the eight weeks before a case.
#[derive(Debug, Clone, PartialEq)]
pub struct BloodBefore {
    /// Each draw, the oldest first: when, and how much where that is told.
    pub draws: Vec<(Instant, Option<DrawnToday>)>,
    /// All that is told [mL].
    pub sum: Volume,
}

impl BloodBefore {
    /// Whether each draw tells how much it was.
    pub fn is_whole(&self) -> bool {
        self.draws.iter().all(|(_, drawn)| drawn.is_some())
    }

    /// The sum; `None` where nothing is known of it.
    pub fn known(&self) -> Option<Volume> {
        Some(self.sum).filter(|sum| self.is_whole() || *sum > Volume::ZERO)
    }
}

/// What records under the patient reference of this case, in small letters or large, and `others`, open or discarded
/// cases, tell of the eight weeks before its needle, before `now` while it is not in; `None` where there are none, or no
/// reference. What has another second identifier is of somebody else. A case with a record is told by that. Demo records are of a demo alone; what is on another device is not in
/// it.
pub fn blood_before(
    lines: &[Arc<Line>],
    others: &[Draft],
    draft: &Draft,
    now: Instant,
) -> Option<BloodBefore> {
    let (patient, second) = (draft.reference_told(), draft.second_told());
    let at = draft.times.needle_in.unwrap_or(now);
    if patient.is_empty() {
        return None;
    }
    let from = at.checked_sub(WEEKS)?;
    // The days first: of ten thousand records few are of these weeks, and this is asked at each key of the reference.
    let these = |line: &&Arc<Line>| from <= line.begun && line.begun < at;
    let same = |line: &&Arc<Line>| {
        line.id != draft.id
            && line.demo == draft.demo
            && line.patient.to_lowercase() == patient
            && !differ(&line.second, &second)
    };
    let signed = lines.iter().filter(these).filter(same).map(|line| (line.begun, line.drawn_today()));
    let unsigned = others.iter().filter(|other| {
        let began = begun(other);
        let here = other.reference_told() == patient && !differ(&other.second_told(), &second);
        let drawn = other.times.needle_in.is_some() && from <= began && began < at;
        here && drawn
            && other.id != draft.id
            && other.demo == draft.demo
            && lines.iter().all(|line| line.id != other.id)
    });
    let unsigned = unsigned.map(|other| (begun(other), drawn_today(other, now)));
    let mut draws: Vec<_> = signed.chain(unsigned).collect();
    crate::arrange::sort_by_key(&mut draws, |(at, _)| *at);
    let sum = draws.iter().filter_map(|(_, v)| v.map(|drawn| drawn.volume.get())).sum();
    (!draws.is_empty()).then_some(())?;
    Some(BloodBefore { sum: Volume::new(sum).ok()?, draws })
}

/// Whether blood was drawn in a case that no record tells of: then it is not deleted. An invented case may go.
pub fn only_trace(lines: &[Arc<Line>], draft: &Draft) -> bool {
    draft.times.needle_in.is_some() && !draft.demo && lines.iter().all(|line| line.id != draft.id)
}

/// What was drawn in a case, discards included; `None` where that is not known.
pub(super) fn drawn_today(draft: &Draft, now: Instant) -> Option<DrawnToday> {
    let (case, _) = case::read(draft, Language::English);
    assess(&case, Now { at: now, offset: draft.offset.unwrap_or(Offset::UTC) }).draw.today
}

impl Draft {
    /// The patient reference as cases of one patient are looked for.
    pub fn reference_told(&self) -> String {
        self.text(Field::PatientReference).trim().to_lowercase()
    }

    /// What is to be kept of blood drawn before, as it is told now, if anything is; `None` where nothing is to be changed.
    /// Once the needle is in, what was told before it stays, unless the identifiers were corrected since.
    pub fn blood_by(&self, before: Option<&BloodBefore>) -> Option<Option<BloodTold>> {
        let [of, second] = self.identifiers_told();
        let told = before.map(|b| BloodTold {
            of: of.clone(),
            second: Some(second.clone()),
            sum: b.sum,
            whole: b.is_whole(),
        });
        let open = match (self.times.needle_in, &told) {
            (None, _) => self.blood_told != told,
            (Some(_), None) => false,
            (Some(_), Some(_)) => match (&self.blood_told, &self.identified) {
                (Some(kept), _) => !self.is_told_of(kept),
                (None, at_needle) => at_needle.as_ref().is_some_and(|then| *then != [of, second]),
            },
        };
        open.then_some(told)
    }

    /// Whether it was told of the identifiers that stand now.
    pub(crate) fn is_told_of(&self, told: &BloodTold) -> bool {
        let second = told.second.as_ref().is_none_or(|second| *second == self.second_told());
        told.of == self.reference_told() && second
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::case::BloodUntold;
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
        let namesake = {
            let mut line = (*line("n", 3, Some(60.0))).clone();
            line.second = "1991-09-05".to_owned();
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
            namesake,
            real,
        ];
        let found = blood_before(&lines, &[], &draft, Instant(0)).unwrap();
        assert_eq!(found.sum, Volume::new(39.5).unwrap());
        let volumes: Vec<_> = found.draws.iter().map(|(_, v)| v.map(|d| d.volume.get())).collect();
        assert_eq!(volumes, [Some(13.5), Some(26.0), None]);
        assert!(!found.is_whole());
        // Begun days ago and not drawn yet, it is asked about today.
        let mut waits = draft.clone();
        (waits.times.needle_in, waits.begun) = (None, Instant(0));
        waits.write(Field::PatientReference, "hl-0417");
        let found = blood_before(&lines[..1], &[], &waits, begun(&draft)).unwrap();
        assert!(found.is_whole() && found.sum == Volume::new(26.0).unwrap());
        let mut nobody = draft.clone();
        nobody.write(Field::PatientReference, " ");
        assert_eq!(blood_before(&lines, &[], &nobody, Instant(0)), None);
        assert_eq!(blood_before(&[], &[], &draft, Instant(0)), None);
    }

    #[test]
    fn what_was_drawn_without_a_record_counts_and_what_has_one_counts_once() {
        let draft = trial::drawn();
        let mut open = trial::drawn();
        open.id = "open".to_owned();
        for at in [&mut open.times.needle_in, &mut open.times.needle_out] {
            *at = at.and_then(|at| at.checked_sub(Span(5 * DAY)));
        }
        let mut waits = open.clone();
        (waits.id, waits.times.needle_in) = ("waits".to_owned(), None);
        let mut other = open.clone();
        other.id = "other".to_owned();
        other.write(Field::PatientReference, "HL-0418");
        let mut namesake = open.clone();
        namesake.id = "namesake".to_owned();
        namesake.write(Field::SecondIdentifier, "5 Sep 1991");
        let others = [open.clone(), waits, other, namesake, draft.clone()];
        let told = |lines: &[Arc<Line>]| blood_before(lines, &others, &draft, Instant(0)).unwrap();
        let found = told(&[]);
        assert_eq!((found.draws.len(), found.sum), (1, Volume::new(26.0).unwrap()));
        let found = told(&[line("open", 5, Some(25.0)), line("b", 7, Some(13.0))]);
        assert_eq!((found.draws.len(), found.sum), (2, Volume::new(38.0).unwrap()));
        // What alone tells of a draw is not deleted.
        let alone = |d: &Draft| only_trace(&[line("open", 5, Some(25.0))], d);
        assert!(!alone(&draft), "invented");
        let real = Draft { demo: false, ..draft.clone() };
        assert!(alone(&real) && !alone(&Draft { id: "open".to_owned(), ..real.clone() }));
        let mut undrawn = real;
        undrawn.times.needle_in = None;
        assert!(!alone(&undrawn));
        // Kept with the case until its needle is in.
        let mut next = draft.clone();
        next.times.needle_in = None;
        let told = next.blood_by(Some(&found)).unwrap().unwrap();
        let second = Some("1982-08-04".to_owned());
        assert_eq!(told, BloodTold { of: "hl-0417".to_owned(), second, sum: found.sum, whole: true });
        assert_eq!(next.blood_by(None), None, "nothing told, nothing kept");
        next.blood_told = Some(told.clone());
        assert_eq!(next.blood_by(Some(&found)), None);
        assert_eq!(next.blood_by(None), Some(None), "told no more, it is kept no more");
        assert_eq!(Draft::from_json(&next.to_json()).unwrap(), next);
        let untold = |d: &Draft| case::read(d, Language::English).0.blood_untold;
        let whole = BloodUntold { told: found.sum, whole: true, entered: None };
        assert_eq!(untold(&next), Some(whole));
        // Stored before it was asked whether each draw tells its volume.
        assert!(!next.to_json().contains("whole"));
        next.blood_told = Some(BloodTold { whole: false, ..told });
        assert_eq!(Draft::from_json(&next.to_json()).unwrap(), next);
        next.write(Field::PreviousBlood, "500");
        let more = Volume::new(500.0).ok();
        assert_eq!(untold(&next), Some(BloodUntold { whole: false, entered: more, ..whole }));
        assert_eq!(case::read(&next, Language::English).0.previous, more);
        next.write(Field::PatientReference, "HL-0418");
        assert_eq!(untold(&next), None, "of another patient it tells nothing");
    }

    #[test]
    fn identifiers_corrected_after_the_needle_are_looked_for_again() {
        let before = |sum| BloodBefore { draws: Vec::new(), sum: Volume::new(sum).unwrap() };
        let untold = |d: &Draft| case::read(d, Language::English).0.blood_untold.map(|b| b.told.get());
        let mut d = trial::drawn();
        let needle_in = d.times.needle_in.take();
        d.blood_told = d.blood_by(Some(&before(39.0))).unwrap();
        d.times.needle_in = needle_in;
        assert_eq!((d.blood_by(Some(&before(52.0))), d.blood_by(None)), (None, None), "the needle was in");
        assert_eq!(untold(&d), Some(39.0));
        for (field, text) in [(Field::PatientReference, "HL-0418"), (Field::SecondIdentifier, "5 Sep 1991")] {
            let mut d = d.clone();
            d.write(field, text);
            assert_eq!(untold(&d), None, "of another patient it tells nothing");
            assert_eq!(d.blood_by(None), None, "and is kept, should that be the slip");
            d.blood_told = d.blood_by(Some(&before(13.0))).unwrap();
            assert_eq!((untold(&d), d.blood_by(Some(&before(14.0)))), (Some(13.0), None));
        }
        // Written otherwise it is the same day; told of the reference alone, as it was once kept, it holds for that.
        d.write(Field::SecondIdentifier, "1982-08-04");
        assert_eq!(untold(&d), Some(39.0));
        d.blood_told.as_mut().unwrap().second = None;
        d.write(Field::SecondIdentifier, "5 Sep 1991");
        assert_eq!((untold(&d), d.blood_by(Some(&before(13.0)))), (Some(39.0), None));
        // Where nothing was told before the needle, only what was corrected since is looked for.
        d.blood_told = None;
        d.identified = Some(d.identifiers_told());
        assert_eq!(d.blood_by(Some(&before(13.0))), None);
        d.write(Field::SecondIdentifier, "6 Sep 1991");
        assert!(d.blood_by(Some(&before(13.0))).is_some());
    }

    #[test]
    fn what_is_told_of_a_draw_is_marked_where_it_was_planned_and_asks_for_no_draw_before() {
        let told = |change: &dyn Fn(&mut Draft)| {
            let mut draft = trial::drawn();
            change(&mut draft);
            let record = trial::signed(&draft);
            let line = Line::of(&record, &record.to_json().unwrap(), None);
            let open = drawn_today(&draft, Instant(0));
            assert_eq!(line.drawn_today(), open, "signed or not");
            open.map(|d| (d.volume.get(), d.planned))
        };
        assert_eq!(told(&|_| {}), Some((26.0, false)));
        assert_eq!(told(&|d| d.write(Field::FillActual(1), "")), Some((26.0, true)));
        assert_eq!(told(&|d| d.write(Field::PreviousBlood, "many")), Some((26.0, false)));
        assert_eq!(told(&|d| d.write(Field::Discard, "some")), None);
        // A mark at the 2 mL of anticoagulant, and one below.
        assert_eq!(told(&|d| d.write(Field::FillActual(0), "2")), Some((13.0, false)));
        let none = |d: &mut Draft| [0, 1].into_iter().for_each(|i| d.write(Field::FillActual(i), "1"));
        assert_eq!(told(&none), Some((0.0, false)));
        let unknown = BloodBefore { draws: vec![(Instant(0), None)], sum: Volume::ZERO };
        assert_eq!(unknown.known(), None);
    }
}
