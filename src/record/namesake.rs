//! Whether what has the same patient reference is of the same person: the second identifier tells, where both have one.

use super::line::{Line, begun};
use crate::draft::{Draft, Field, Namesake};
use crate::quantity::time::read::{DateReading, date};
use crate::words::Language;
use std::sync::Arc;

/// Between the days that one text may mean.
const OR: char = '|';

/// What is written before a day of birth, word by word.
const BORN: [&[&str]; 8] = [
    &["date", "of", "birth"],
    &["birth", "date"],
    &["d", "o", "b"],
    &["born", "on"],
    &["born"],
    &["birthdate"],
    &["birthday"],
    &["dob"],
];
/// The most pieces that a day is written in: 4th of August, 1982.
const PIECES: usize = 5;

/// A second identifier as two are compared: the one day in it as one day however it was written, each of those it may
/// mean where it is not clear; any other in small letters and figures alone. Empty where none is typed.
pub(crate) fn plain(typed: &str) -> String {
    let pieces = pieces(typed);
    let born = |words: &&&[&str]| {
        words.len() < pieces.len() && words.iter().zip(&pieces).all(|(w, p)| p.text.to_lowercase() == **w)
    };
    let of = pieces.get(BORN.iter().find(born).map_or(0, |words| words.len())..).unwrap_or_default();
    let alone = of.first().and_then(|first| days(typed.get(first.at..)?));
    alone
        .or_else(|| one_day_within(typed, of))
        .unwrap_or_else(|| of.iter().flat_map(|p| p.text.chars()).flat_map(char::to_lowercase).collect())
}

/// A run of figures or of letters, and where it begins.
struct Piece<'a> {
    at: usize,
    text: &'a str,
}

impl Piece<'_> {
    fn end(&self) -> usize {
        self.at + self.text.len()
    }

    /// Whether a year, or a whole day, can be told by it alone.
    fn has_year(&self) -> bool {
        matches!(self.text.len(), 4 | 8) && self.text.bytes().all(|b| b.is_ascii_digit())
    }
}

fn pieces(text: &str) -> Vec<Piece<'_>> {
    let kind = |c: char| (c.is_alphanumeric(), c.is_ascii_digit());
    let mut found: Vec<Piece<'_>> = Vec::new();
    let mut before = (false, false);
    let mut start = 0;
    for (at, c) in text.char_indices().chain([(text.len(), ' ')]) {
        if kind(c) != before {
            if before.0
                && let Some(text) = text.get(start..at)
            {
                found.push(Piece { at: start, text });
            }
            (start, before) = (at, kind(c));
        }
    }
    found
}

/// The day that a text is, or those that it may be.
fn days(text: &str) -> Option<String> {
    // A stored text has no language; names of months are read in the first.
    match date(text, Language::English.months()) {
        DateReading::Date(day) => Some(day.to_string()),
        DateReading::Ask(days) => {
            Some(days.iter().map(ToString::to_string).collect::<Vec<_>>().join(OR.encode_utf8(&mut [0; 4])))
        }
        DateReading::Empty | DateReading::Wrong(_) => None,
    }
}

/// The only day in a text, its year in full; `None` where there is none, or another.
fn one_day_within(typed: &str, pieces: &[Piece<'_>]) -> Option<String> {
    let mut found = None;
    let mut from = 0;
    while let Some(rest) = pieces.get(from..).filter(|rest| !rest.is_empty()) {
        let day = (1..=PIECES.min(rest.len())).rev().find_map(|n| {
            let (first, last) = (rest.first()?, rest.get(n - 1)?);
            let year = rest.iter().take(n).any(Piece::has_year);
            Some((n, days(typed.get(first.at..last.end())?)?)).filter(|_| year)
        });
        match day {
            Some(_) if found.is_some() => return None,
            Some((n, day)) => (found, from) = (Some(day), from + n),
            None => from += 1,
        }
    }
    found
}

/// Whether two plain second identifiers are of two people: both are there, and nothing that one may mean is meant by the
/// other.
pub(super) fn differ(one: &str, other: &str) -> bool {
    !one.is_empty() && !other.is_empty() && !one.split(OR).any(|a| other.split(OR).any(|b| a == b))
}

/// Records and other open cases under the patient reference of this case that have another second identifier; the one
/// begun last is named. `None` where there is none, or where an identifier of this case is missing. Demo cases look at
/// demos alone.
pub fn namesake(lines: &[Arc<Line>], others: &[Draft], draft: &Draft) -> Option<Namesake> {
    let [patient, second] = draft.identifiers_told();
    if patient.is_empty() || second.is_empty() {
        return None;
    }
    let signed = lines.iter().filter(|line| {
        line.id != draft.id
            && line.demo == draft.demo
            && differ(&line.second, &second)
            && line.patient.to_lowercase() == patient
    });
    let signed = signed.map(|line| (line.begun, line.sign));
    let unsigned = others.iter().filter(|other| {
        other.id != draft.id
            && other.demo == draft.demo
            && other.reference_told() == patient
            && differ(&other.second_told(), &second)
            && lines.iter().all(|line| line.id != other.id)
    });
    let all: Vec<_> = signed.chain(unsigned.map(|other| (begun(other), other.sign))).collect();
    let (at, sign) = all.iter().max_by_key(|(at, _)| *at).copied()?;
    Some(Namesake { of: [patient, second], sign, at, others: all.len().saturating_sub(1) })
}

impl Draft {
    /// The second identifier as those of one patient are compared.
    pub fn second_told(&self) -> String {
        plain(self.text(Field::SecondIdentifier))
    }

    /// Reference and second identifier, both as they are compared.
    pub(crate) fn identifiers_told(&self) -> [String; 2] {
        [self.reference_told(), self.second_told()]
    }

    /// Keeps the identifiers once the needle is in. A needle that was a slip keeps nothing.
    pub(crate) fn keep_identifiers(&mut self) {
        match self.times.needle_in {
            None => self.identified = None,
            Some(_) if self.identified.is_none() => self.identified = Some(self.identifiers_told()),
            Some(_) => {}
        }
    }

    /// What is to be kept of others of this reference, as it is told now; `None` where nothing is to be changed. Once the
    /// needle is in, what was told before it stays, unless the identifiers were corrected since: whoever comes later
    /// under those that stood at the needle is told at the case that comes later.
    pub fn namesake_by(&self, told: Option<Namesake>) -> Option<Option<Namesake>> {
        let open = match (self.times.needle_in, &told) {
            (None, _) => self.namesake != told,
            (Some(_), None) => false,
            (Some(_), Some(told)) => match (&self.namesake, &self.identified) {
                (Some(kept), _) => kept.of != told.of,
                (None, at_needle) => at_needle.as_ref().is_some_and(|then| *then != told.of),
            },
        };
        open.then_some(told)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::trial;
    use crate::quantity::time::Instant;

    #[test]
    fn a_day_is_the_same_however_it_is_written_and_another_is_another() {
        let differ = |one: &str, other: &str| differ(&plain(one), &plain(other));
        for same in ["4 Aug 1982", "1982-08-04", "4 August 1982", " 4 aug 1982 ", ""] {
            assert!(!differ("4 Aug 1982", same), "{same}");
        }
        assert!(differ("4 Aug 1982", "5 Sep 1991") && differ("4 Aug 1982", "5/9/1991"));
        // What may mean the same is not called another.
        assert!(!differ("4 Aug 1982", "4/8/1982") && !differ("4 Aug 1982", "8/4/1982"));
        assert!(!differ("Ward B-12", "ward b12") && differ("Ward B-12", "ward b13"));
        // Words before it make no other day, nor does a name beside it; another day is another.
        for same in [
            "born 4 Aug 1982",
            "DOB 4/8/1982",
            "DOB:04/08/1982",
            "d.o.b. 4.8.82",
            "Date of birth 1982-08-04",
            "born on Aug 4, 1982",
            "born 4th of August, 1982",
            "born 19820804",
            "Mr M., 4 Aug 1982",
            "4 Aug 1982 (own word)",
        ] {
            assert!(!differ("4 Aug 1982", same), "{same}: {}", plain(same));
            assert!(differ("5 Sep 1991", same), "{same}");
        }
        assert!(differ("born 4 Aug 1982", "DOB 5/9/1991"));
        // Two days, or none: what is written is compared. A letter of a number is no word before a day.
        assert!(differ("4 Aug 1982 or 5 Aug 1982", "4 Aug 1982"));
        assert!(differ("B-12", "D-12") && differ("12 04.08.1982", "12 Apr 2008"));
        assert!(!differ("12 04.08.1982", "4 Aug 1982"));
        assert!(!differ("", "5 Sep 1991") && !differ("...", "5 Sep 1991"));
    }

    #[test]
    fn the_last_begun_of_another_second_identifier_is_named() {
        let mut draft = trial::drawn();
        draft.times = Default::default();
        draft.id = "next".to_owned();
        draft.write(Field::SecondIdentifier, "5 Sep 1991");
        let record = trial::signed(&trial::drawn());
        let line = Line::of(&record, &record.to_json().unwrap(), None);
        assert_eq!(line.second, plain(trial::drawn().text(Field::SecondIdentifier)));
        let lines = [Arc::new(line.clone())];
        let found = namesake(&lines, &[], &draft).unwrap();
        assert_eq!((found.sign, found.at, found.others), (line.sign, line.begun, 0));
        let mut open = trial::drawn();
        open.id = "open".to_owned();
        open.times.needle_in = open.times.needle_in.map(|at| Instant(at.0 + 1));
        let found = namesake(&lines, &[open.clone(), draft.clone()], &draft).unwrap();
        assert_eq!((found.at, found.others), (begun(&open), 1));
        // Told once by its record; nothing of a demo; nothing where an identifier is missing or the same.
        open.id.clone_from(&line.id);
        assert_eq!(namesake(&lines, &[open.clone()], &draft).unwrap().others, 0);
        let none = |change: &dyn Fn(&mut Draft)| {
            let mut other = draft.clone();
            change(&mut other);
            assert_eq!(namesake(&lines, &[], &other), None);
        };
        none(&|d| d.demo = !d.demo);
        none(&|d| d.write(Field::PatientReference, "HL-0418"));
        none(&|d| d.write(Field::SecondIdentifier, ""));
        none(&|d| d.write(Field::SecondIdentifier, trial::drawn().text(Field::SecondIdentifier)));
        // Kept until the needle is in.
        assert_eq!(draft.namesake_by(Some(found.clone())), Some(Some(found.clone())));
        draft.namesake = Some(found.clone());
        assert_eq!(draft.namesake_by(Some(found.clone())), None);
        assert_eq!(Draft::from_json(&draft.to_json()).unwrap(), draft);
        draft.times.needle_in = Some(Instant(0));
        assert_eq!(draft.namesake_by(None), None);
        let more = Namesake { others: 5, ..found.clone() };
        assert_eq!(draft.namesake_by(Some(more)), None, "told of these identifiers before");
    }

    #[test]
    fn after_the_needle_only_corrected_identifiers_are_told_of_others() {
        let lines: Vec<Arc<Line>> = Vec::new();
        let mut drawn = trial::drawn();
        drawn.times.needle_in = None;
        drawn.change(|d| d.times.needle_in = trial::drawn().times.needle_in);
        assert_eq!(drawn.identified, Some(drawn.identifiers_told()));
        // Drawn alone; months later somebody else comes under the same reference.
        let mut later = trial::drawn();
        later.id = "later".to_owned();
        later.write(Field::SecondIdentifier, "5 Sep 1991");
        let others = [later.clone()];
        let told = |d: &Draft| d.namesake_by(namesake(&lines, &others, d));
        assert!(namesake(&lines, &others, &drawn).is_some());
        assert_eq!(told(&drawn), None);
        drawn.change(|d| d.write(Field::Notes, "late count"));
        assert_eq!(told(&drawn), None);
        // The second identifier is corrected, or entered late: whom it meets is told also then.
        let mut corrected = drawn.clone();
        corrected.change(|d| d.write(Field::SecondIdentifier, "4 Aug 1983"));
        let found = told(&corrected).unwrap();
        assert_eq!(found.as_ref().map(|n| n.of.clone()), Some(corrected.identifiers_told()));
        corrected.namesake = found;
        assert_eq!(told(&corrected), None, "told once");
        // Corrected back, what is told of the other is no longer its own.
        corrected.change(|d| d.write(Field::SecondIdentifier, drawn.text(Field::SecondIdentifier)));
        assert!(told(&corrected).flatten().is_some_and(|n| n.of == drawn.identifiers_told()));
        // A draft of before keeps what stood before its first change; a needle that was a slip keeps nothing.
        let mut older = Draft { identified: None, ..drawn.clone() };
        assert_eq!(told(&older), None);
        older.change(|d| d.write(Field::SecondIdentifier, "4 Aug 1983"));
        assert_eq!(older.identified, drawn.identified);
        assert!(told(&older).is_some());
        assert_eq!(Draft::from_json(&older.to_json()).as_ref(), Ok(&older));
        older.change(|d| d.times.needle_in = None);
        assert_eq!(older.identified, None);
    }
}
