//! The clocks of open cases, and of signed records whose product nobody says was given, kept in clear beside a lock: a
//! locked page that is loaded anew still tells what runs. Check signs and times stand in it and nothing else of a
//! case.

use crate::assess::running::Running;
use crate::assess::spin::{Happening, SpinResult, happening, latest, told_until};
use crate::case::Case;
use crate::draft::CheckSign;
use crate::quantity::time::{Instant, Span};
use crate::record::line::Line;
use crate::stored;
use serde::{Deserialize, Serialize};

/// Version of the stored layout.
const SCHEMA: u32 = 1;

/// No programme has more stages in a row.
const MOST: usize = 12;

/// What a clock of one case tells.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Clock {
    /// Check sign of the case.
    pub sign: CheckSign,
    /// The latest time that was entered of it.
    pub entered: Instant,
    /// The stage that runs and those that follow by themselves, by number from 0, each with its end.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ends: Vec<(u8, Instant)>,
    /// Latest start of the spin, while it is waited for.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub spin_by: Option<Instant>,
    /// Use-by, while it is watched.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub use_by: Option<Instant>,
    /// See [`Running::at_latest`].
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub at_latest: bool,
}

#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Layout {
    schema: u32,
    clocks: Vec<Clock>,
}

impl Clock {
    /// What is to be kept of a case; `None` while nothing of it runs.
    pub fn of(case: &Case, spin: &SpinResult, sign: CheckSign, now: Instant) -> Option<Clock> {
        if case.times.needle_in.is_none() || case.ended {
            return None;
        }
        let entered = latest(case)?;
        let (mut ends, mut at) = (Vec::new(), now);
        while let (Happening::Stage { index, ends: Some(end), due }, _) = happening(case, at) {
            if ends.last().is_none_or(|(last, _)| *last < index) {
                ends.push((index, end));
            }
            match end.checked_add(Span(1)) {
                Some(next) if !due && ends.len() < MOST => at = next,
                _ => break,
            }
        }
        let Running { spin_by, use_by, at_latest, .. } = Running::of(case, spin, now);
        let any = !ends.is_empty() || spin_by.is_some() || use_by.is_some();
        any.then_some(Clock { sign, entered, ends, spin_by, use_by, at_latest })
    }

    /// What is to be kept of a signed record; `None` where its product was given, or its use-by is told no more.
    pub fn of_record(line: &Line, now: Instant) -> Option<Clock> {
        let (sign, entered, use_by) = (line.sign, line.last_signed(), Some(line.use_by?));
        let clock = Clock { sign, entered, ends: Vec::new(), spin_by: None, use_by, at_latest: false };
        Some(clock).filter(|c| c.stands(now))
    }

    /// The stage that runs by the plan: its number from 0, its end, and whether that has passed with no stage after it.
    pub fn stage(&self, now: Instant) -> Option<(u8, Instant, bool)> {
        let next = self.ends.iter().find(|(_, end)| *end >= now).map(|(i, end)| (*i, *end, false));
        next.or_else(|| self.ends.last().map(|(i, end)| (*i, *end, true)))
    }

    /// Whether it is still told.
    fn stands(&self, now: Instant) -> bool {
        self.use_by.is_none_or(|by| told_until(by).is_none_or(|end| now <= end))
    }
}

/// As stored; `None` where nothing runs and nothing is kept.
pub fn to_text(clocks: Vec<Clock>) -> Option<String> {
    if clocks.is_empty() {
        return None;
    }
    stored::write(&Layout { schema: SCHEMA, clocks }).ok()
}

/// What is still told of it at a moment; nothing of a text that cannot be read.
pub fn from_text(text: &str, now: Instant) -> Vec<Clock> {
    let read = stored::read::<Layout>(text, SCHEMA);
    let all = read.map(|layout| layout.clocks).unwrap_or_default();
    all.into_iter().filter(|clock| clock.stands(now)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::{Now, assess};
    use crate::draft::{Draft, Field};
    use crate::quantity::time::Offset;
    use crate::quantity::unit::Conventions;
    use crate::record::Record;
    use crate::words::Language;

    const MINUTE: i64 = 60_000;

    fn demo() -> Draft {
        Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default())
    }

    fn kept(d: &Draft, minute: i64) -> Option<Clock> {
        let at = Instant(minute * MINUTE);
        let (case, _) = crate::case::read(d, Language::English);
        Clock::of(&case, &assess(&case, Now { at, offset: Offset::UTC }).spin, d.sign, at)
    }

    #[test]
    fn what_runs_is_kept_and_nothing_of_the_patient() {
        let mut d = demo();
        assert_eq!(kept(&d, 0), None, "nothing runs");
        d.times.needle_in = Some(Instant(0));
        let waiting = kept(&d, 1).unwrap();
        assert!(waiting.ends.is_empty() && waiting.spin_by.is_some() && waiting.use_by.is_some());
        d.times.needle_out = Some(Instant(5 * MINUTE));
        d.begin_stage(0, Instant(10 * MINUTE));
        let runs = kept(&d, 11).unwrap();
        let (first, end, due) = runs.stage(Instant(11 * MINUTE)).unwrap();
        assert_eq!((first, due, runs.spin_by), (0, false, None));
        assert!(end > Instant(10 * MINUTE));
        // A clock set back does not fit, as it does not on the open page.
        let fits = |minute: i64| runs.entered.has_come(Instant(minute * MINUTE));
        assert!(fits(11) && fits(9) && !fits(8));
        let (last, end) = *runs.ends.last().unwrap();
        assert_eq!(
            runs.stage(Instant(end.0 + 1)),
            Some((last, end, true)),
            "over, and nobody said what came next"
        );
        let text = to_text(vec![runs.clone()]).unwrap();
        for field in [Field::PatientReference, Field::SecondIdentifier, Field::Site, Field::Technician] {
            assert!(!d.text(field).is_empty() && !text.contains(d.text(field)), "{text}");
        }
        assert!(text.len() < 200, "{text}");
        let told = |at| from_text(&text, Instant(at)) == std::slice::from_ref(&runs);
        assert!(told(12 * MINUTE));
        // A day after the use-by nothing is told; of a text that is none, nothing.
        let by = runs.use_by.unwrap();
        assert!(told(by.0 + 24 * 60 * MINUTE));
        assert_eq!(from_text(&text, Instant(by.0 + 24 * 60 * MINUTE + 1)), []);
        assert_eq!(from_text("{\"schema\":9}", Instant(0)), []);
        d.ended_without = Some(Instant(15 * MINUTE));
        assert_eq!(kept(&d, 16), None);
        assert_eq!(to_text(vec![]), None);
    }

    #[test]
    fn a_signed_record_keeps_its_use_by_until_it_tells_what_was_given() {
        let minute = |n: i64| Instant(n * MINUTE);
        let mut d = demo();
        (d.times.needle_in, d.times.spin_end) = (Some(minute(0)), Some(minute(30)));
        d.times.collected = Some(minute(35));
        for (field, text) in [(Field::PartGiven(0), "2"), (Field::PartGiven(1), "1")] {
            d.write(field, text);
        }
        d.edit(None, |d| d.hand_over(minute(40)));
        let line = |record: &Record| Line::of(record, &record.to_json().unwrap(), None);
        let mut record = Record::sign(d.clone(), "MO", minute(41), vec![]).unwrap();
        let open = kept(&d, 41).unwrap();
        let clock = Clock::of_record(&line(&record), minute(42)).unwrap();
        assert_eq!((clock.sign, clock.use_by, clock.stage(minute(42))), (d.sign, open.use_by, None));
        assert!(clock.use_by.is_some());
        let stored = Line::from_json(&line(&record).to_json()).unwrap();
        assert_eq!(Clock::of_record(&stored, minute(42)), Some(clock.clone()));
        let by = clock.use_by.unwrap().0 / MINUTE;
        assert!(Clock::of_record(&stored, minute(by + 24 * 60)).is_some());
        assert_eq!(Clock::of_record(&stored, minute(by + 24 * 60 + 1)), None, "told for a day");
        d.all_given(&[0, 1], minute(45));
        record.amend(d.clone(), "MO", minute(46), vec![], "given").unwrap();
        assert_eq!(Clock::of_record(&line(&record), minute(47)), None);
        // Typed with its minute still to come it is told; with more to come it is not.
        for (given, told) in [(47, true), (48, false)] {
            let mut ahead = record.latest().clone();
            for part in [0, 1] {
                ahead.write(Field::PartGivenAt(part), "");
            }
            ahead.all_given(&[0, 1], minute(given));
            let early = Record::sign(ahead, "MO", minute(46), vec![]).unwrap();
            assert_eq!(line(&early).use_by.is_none(), told, "{given}");
        }
        // Without a product there is nothing to watch.
        d.times.handed_over = None;
        let none = Record::sign(d.as_signed_at(minute(41)), "MO", minute(41), vec![]).unwrap();
        assert_eq!(line(&none).use_by, None);
    }
}
