//! Signing a case with all that stands before the signer, and the card of a signed record as it was shown then.

use super::card::{Card, CardCode, Fit, Given, card_with, said_of, to_one_page, whole};
use super::code::{Code, NoCode, Of};
use super::{label, report};
use crate::assess::{MODEL, Now, assess};
use crate::bench::Clinic;
use crate::case;
use crate::draft::Draft;
use crate::finding::Finding;
use crate::quantity::time::{Instant, Offset};
use crate::record::chain::Chain;
use crate::record::changes::{self, Change};
use crate::record::shown::{Shown, ShownFinding};
use crate::record::standing::RecordStanding;
use crate::record::{Entry, Record, SignError};
use crate::words::Language;
use crate::words::card::CardLine;
use crate::words::finding::{FindingWords, Part};
use crate::words::records::RecordFile;
use crate::words::unit;
use label::Labels;

/// Signs a case: keeps what was typed, every figure and finding shown, and the card. Errors: nobody named, a figure
/// that is not a number.
///
/// That it ends without a product, the case learns only by that.
pub fn sign(given: Given<'_>, by: &str, at: Instant) -> Result<Record, SignError> {
    anew(given.draft, given, |given| {
        let mut record = Record::sign(given.draft.clone(), by, at, shown(given))?;
        record.keep_card(whole(Given { record: Some(&record), ..given }));
        Ok(record)
    })
}

/// What is shown of a draft that says more than the case that stands before the signer.
fn anew<T>(draft: &Draft, given: Given<'_>, act: impl FnOnce(Given<'_>) -> T) -> T {
    let (case, _) = case::read(draft, given.language);
    let answer = assess(&case, given.now);
    act(Given { draft, case: &case, answer: &answer, ..given })
}

/// The record with an amendment, which keeps its own figures, findings and card. That it ended without a product the
/// case need not know: it may have been signed elsewhere. Errors: see [`Record::amend`].
pub fn amend(
    record: &Record,
    given: Given<'_>,
    by: &str,
    at: Instant,
    reason: &str,
) -> Result<Record, SignError> {
    let ended = record.latest().ended_without.filter(|_| given.draft.times.handed_over.is_none());
    if given.draft.ended_without.is_none() && ended.is_some() {
        let draft = Draft { ended_without: ended, ..given.draft.clone() };
        return anew(&draft, given, |given| amend(record, given, by, at, reason));
    }
    let mut record = record.clone();
    record.amend(given.draft.clone(), by, at, shown(given), reason)?;
    record.keep_card(whole(Given { record: Some(&record), ..given }));
    Ok(record)
}

fn shown(given: Given<'_>) -> Shown {
    let findings = given.answer.findings.iter().map(|f| finding(given, f)).collect();
    Shown { figures: report::shown(given.answer), findings: Some(findings), card: None }
}

fn finding(given: Given<'_>, finding: &Finding) -> ShownFinding {
    let conventions = &given.draft.conventions;
    let say = |part| {
        let words = FindingWords { kind: &finding.kind, part, conventions, offset: given.now.offset };
        given.language.say(words).into_owned()
    };
    ShownFinding {
        key: finding.kind.key(),
        level: finding.level,
        cause: say(Part::Cause),
        action: say(Part::Action),
        open: finding.is_open(),
        decision: finding.decision.clone(),
        past: finding.past().cloned().collect(),
    }
}

/// The card of a case: as it was signed while nothing was changed since, else as the case stands. `code` makes the
/// code that belongs on it.
pub fn card_now(given: Given<'_>, code: MakeCode<'_>) -> Card {
    match as_signed(given) {
        Some(record) => {
            let (entry, offset) = (record.amendments().len(), given.now.offset);
            card_then(record, entry, given.standing, given.clinic, given.language, offset, code)
        }
        None => card_with(given, code_now(given, code)),
    }
}

/// The code of a case, as on its card, whether or not that has room for it.
pub fn code_now(given: Given<'_>, code: MakeCode<'_>) -> Option<CardCode> {
    let reference = given.clinic.coded_reference;
    let of = match as_signed(given) {
        Some(record) => {
            Of { draft: record.latest(), entry: Some((record, record.amendments().len())), reference }
        }
        None => Of { draft: given.draft, entry: None, reference },
    };
    code(of).map(|made| CardCode::new(made, of.draft, given.language))
}

/// Makes the code of a case; `None`: there shall be none.
pub type MakeCode<'a> = &'a mut dyn FnMut(Of<'_>) -> Option<Result<Code, NoCode>>;

/// The labels of a case, likewise; none while a Stop without a way past stands.
pub fn labels_now(given: Given<'_>) -> Option<Labels> {
    match as_signed(given).and_then(|record| record.latest_entry().card.as_ref()) {
        Some(kept) => kept.labels.clone(),
        None => label::labels(given),
    }
}

/// The record of a case in which nothing was changed since it was signed.
pub(super) fn as_signed(given: Given<'_>) -> Option<&Record> {
    given.record.filter(|record| changes::between(record.latest(), given.draft).is_empty())
}

/// The card of an entry, counted from 0, as it was shown at its signature. An entry that kept none is reckoned
/// anew, and its card says so, as it does of a record that does not stand as it was signed. Clinic, language and offset are for what is said of it today.
pub fn card_then(
    record: &Record,
    entry: usize,
    standing: RecordStanding,
    clinic: &Clinic,
    language: Language,
    offset: Offset,
    code: MakeCode<'_>,
) -> Card {
    let mut shown = whole_then(record, entry, standing, clinic, language, offset);
    let entry = entry.min(record.amendments().len());
    if let Some(signed) = record.entries().nth(entry) {
        let of = Of { draft: &signed.draft, entry: Some((record, entry)), reference: clinic.coded_reference };
        shown.code = code(of).map(|made| CardCode::new(made, &signed.draft, language));
    }
    to_one_page(&mut shown);
    checked(shown, record, entry, language)
}

/// The card of a record's latest entry with nothing left out that was kept; of an entry that kept only what fitted
/// its paper, it says so.
pub(super) fn whole_of(
    record: &Record,
    standing: RecordStanding,
    clinic: &Clinic,
    language: Language,
    offset: Offset,
) -> Card {
    let entry = record.amendments().len();
    let mut shown = whole_then(record, entry, standing, clinic, language, offset);
    let signed = record.latest_entry();
    let fitted = signed.card.as_ref().is_some_and(|kept| {
        kept.fit != Fit::Ordinary || signed.findings.as_ref().is_some_and(|f| kept.findings.len() < f.len())
    });
    if fitted {
        shown.amended.insert(0, language.say(CardLine::KeptFitted).into_owned());
    }
    checked(shown, record, entry, language)
}

/// With the start of the entry's seal at the foot, for which a fitted card has room.
fn checked(mut shown: Card, record: &Record, entry: usize, language: Language) -> Card {
    if let Some(seal) = record.seal(entry.min(record.amendments().len())) {
        shown.notice.push(language.say(CardLine::RecordCheck(seal.short())).into_owned());
    }
    shown
}

fn whole_then(
    record: &Record,
    entry: usize,
    standing: RecordStanding,
    clinic: &Clinic,
    language: Language,
    offset: Offset,
) -> Card {
    let then = record.until(entry);
    let signed = then.latest_entry();
    let offset = signed.draft.offset.unwrap_or(offset);
    let mut said: Vec<String> =
        not_as_signed(record, entry, standing, language, offset).into_iter().collect();
    let mut shown = match &signed.card {
        Some(kept) => kept.as_ref().clone(),
        None => {
            said.push(language.say(CardLine::Reckoned { model: MODEL }).into_owned());
            reckoned(&then, clinic, language, offset)
        }
    };
    let times = record.amendments().len().saturating_sub(entry);
    if times > 0 {
        let (day, clock) = dated(language, offset);
        let (by, day, at) = (signed.by.clone(), day(signed.at), clock(signed.at));
        said.push(language.say(CardLine::AmendedSince { by, day, at, times }).into_owned());
    }
    shown.amended.splice(..0, said);
    shown
}

/// The card of the latest entry, reckoned by the model of today from what was typed.
fn reckoned(record: &Record, clinic: &Clinic, language: Language, offset: Offset) -> Card {
    let signed = record.latest_entry();
    let draft = &signed.draft;
    let now = Now { at: signed.at, offset };
    let (case, _) = case::read(draft, language);
    let answer = assess(&case, now);
    whole(Given {
        draft,
        case: &case,
        answer: &answer,
        clinic,
        language,
        now,
        record: Some(record),
        standing: RecordStanding::Sound,
        sessions: &[],
    })
}

/// That what stands here is not what was signed, if this entry is touched by it.
fn not_as_signed(
    record: &Record,
    entry: usize,
    standing: RecordStanding,
    language: Language,
    offset: Offset,
) -> Option<String> {
    let last = record.amendments().len();
    let touched = match record.verify() {
        Chain::Broken { entry: first } => first <= entry || first > last,
        _ => standing != RecordStanding::StateBeforeTheNewest || entry == last,
    };
    let said = stands(record, standing, language, offset).filter(|(changed, _)| *changed && touched);
    said.map(|(_, said)| said)
}

/// What is said of a record from whose entry on something was changed outside; none: entries are missing.
fn changed_outside(
    first: Option<&Entry>,
    day: impl Fn(Instant) -> String,
    clock: impl Fn(Instant) -> String,
) -> CardLine {
    match first {
        Some(e) => CardLine::ChangedOutside { by: e.by.clone(), day: day(e.at), at: clock(e.at) },
        None => CardLine::CutOutside,
    }
}

/// One entry of a record, as it is listed beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// Who signed, when; of an amendment also why.
    pub said: String,
    /// What it changed against the entry before: old value and new.
    pub changed: Vec<String>,
    /// The start of its seal, as it stands on its card; none for one signed before there were any.
    pub check: Option<String>,
}

/// The entries of a record, oldest first.
pub fn history(record: &Record, language: Language, offset: Offset) -> Vec<Listed> {
    let say = |line: CardLine| language.say(line).into_owned();
    let (day, clock) = dated(language, offset);
    let check = |n| record.seal(n).map(|seal| say(CardLine::RecordCheck(seal.short())));
    let first = record.first_signed();
    let signed = CardLine::SignedBy { by: first.by.clone(), day: day(first.at), at: clock(first.at) };
    let mut listed = vec![Listed { said: say(signed), changed: Vec::new(), check: check(0) }];
    for (n, (amendment, changed)) in (1..).zip(record.changes()) {
        let (entry, reason) = (&amendment.entry, amendment.reason.clone());
        let (by, day, at) = (entry.by.clone(), day(entry.at), clock(entry.at));
        listed.push(Listed {
            said: say(CardLine::AmendedBy { by, day, at, reason }),
            changed: told(&changed, &entry.draft, language),
            check: check(n),
        });
    }
    listed
}

/// What an amendment would sign, each change in the words that list it once it is signed.
pub fn pending(record: &Record, draft: &Draft, language: Language) -> Vec<String> {
    told(&changes::between(record.latest(), draft), draft, language)
}

/// What changed to this draft, old value and new.
fn told(changed: &[Change], draft: &Draft, language: Language) -> Vec<String> {
    changed.iter().map(|change| said_of(change, language, draft.conventions.numbers)).collect()
}

/// What is to be said of how a record stands to what was signed; nothing while every entry has a seal that fits.
/// `true`: what stands here is not what was signed last.
pub fn stands(
    record: &Record,
    standing: RecordStanding,
    language: Language,
    offset: Offset,
) -> Option<(bool, String)> {
    let (day, clock) = dated(language, offset);
    let file = |word: RecordFile| Some((true, language.say(word).into_owned()));
    let line = match (record.verify(), standing) {
        // Names who signed what was changed, where the record itself shows the change.
        (Chain::Broken { entry }, _) => {
            let line = changed_outside(record.entries().nth(entry), day, clock);
            return Some((true, language.say(line).into_owned()));
        }
        (_, RecordStanding::ChangedOutside) => return file(RecordFile::ChangedOutside),
        (_, RecordStanding::StateBeforeTheNewest) => return file(RecordFile::StateBefore),
        (Chain::Sound { since: 0 }, _) => return None,
        (Chain::Sound { since }, _) => {
            let entry = record.entries().nth(since)?;
            CardLine::CheckedSince { by: entry.by.clone(), day: day(entry.at), at: clock(entry.at) }
        }
        (Chain::Unsealed, _) => CardLine::NotChecked,
    };
    Some((false, language.say(line).into_owned()))
}

/// Day and clock of a moment, in words.
fn dated(
    language: Language,
    offset: Offset,
) -> (impl Fn(Instant) -> String + Copy, impl Fn(Instant) -> String + Copy) {
    let day = move |at| unit::date(at, offset).map(|day| language.say(day).into_owned()).unwrap_or_default();
    (day, move |at| unit::clock(at, offset))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bench::Bench;
    use crate::draft::{CheckSign, Decision, Draft, Field};
    use crate::export::card::{Row, plain};
    use crate::export::trial::{SIGNED, with};
    use crate::quantity::unit::Conventions;

    fn demo() -> Draft {
        let sign = CheckSign::pick(0, &[]);
        let mut draft = Draft::demo("a".into(), sign, Instant(1_795_597_200_000), Conventions::default());
        draft.times.needle_in = Some(Instant(1_795_599_600_000));
        draft.write(Field::FillActual(0), "15");
        draft.write(Field::FillActual(1), "15");
        draft.write(Field::ProductActual, "4");
        draft
    }

    fn signed(draft: &Draft) -> Record {
        with(draft, None, |given| sign(given, "MO", SIGNED)).unwrap()
    }

    fn amended() -> (Record, Draft) {
        let mut draft = demo();
        let record = signed(&draft);
        draft.write(Field::ProductActual, "3.8");
        let amend = |given: Given<'_>| {
            super::amend(&record, given, "JT", Instant(SIGNED.0 + 60_000), "misread the syringe")
        };
        (with(&draft, Some(&record), amend).unwrap(), draft)
    }

    fn then_as(record: &Record, entry: usize, standing: RecordStanding) -> Card {
        let clinic = Bench::default().clinic;
        card_then(record, entry, standing, &clinic, Language::English, Offset::UTC, &mut |_| None)
    }

    fn then(record: &Record, entry: usize) -> Card {
        then_as(record, entry, RecordStanding::of(record, false, false))
    }

    fn kept(card: &Card) -> String {
        let cells = |r: &Row| r.cells.iter().map(|c| plain(c)).collect::<Vec<_>>().join("|");
        card.done.rows.iter().map(cells).collect::<Vec<_>>().join("\n").replace('\u{a0}', " ")
    }

    #[test]
    fn the_card_of_each_entry_is_printed_from_what_was_shown() {
        let (record, draft) = amended();
        assert_eq!(record.verify(), Chain::Sound { since: 0 });
        let back = Record::from_json(&record.to_json().unwrap()).unwrap();
        let (first, last) = (then(&back, 0), then(&back, 1));
        assert!(kept(&first).contains("Product kept|4 mL|4 mL"), "{}", kept(&first));
        assert!(kept(&last).contains("Product kept|4 mL|3.8 mL"), "{}", kept(&last));
        let said: Vec<String> = first.amended.iter().map(|line| line.replace('\u{a0}', " ")).collect();
        assert_eq!(said, ["State as signed by MO, 25 Nov 2026, 10:40; amended once since."]);
        assert!(last.title.starts_with("Amended"));
        assert!(!last.amended.iter().any(|line| line.starts_with("State as signed")));
        // A later model would print other numbers: what was shown is spoilt on purpose, and prints as kept.
        let mut other = record.clone();
        let mut card = other.latest_entry().card.as_deref().unwrap().clone();
        card.made.heading = "as it was shown then".into();
        other.keep_card(card);
        assert_eq!(then(&other, 1).made.heading, "as it was shown then");
        // The worksheet prints the kept one too, until something is changed.
        let now = |draft: &Draft| with(draft, Some(&other), |g| card_now(g, &mut |_| None));
        assert_eq!(now(&draft).made.heading, "as it was shown then");
        let mut more = draft.clone();
        more.write(Field::ProductActual, "3.7");
        assert_ne!(now(&more).made.heading, "as it was shown then");
        assert!(now(&more).amended.iter().any(|l| l.contains("not signed yet")));
    }

    #[test]
    fn an_amendment_shows_old_value_new_value_and_reason() {
        let (record, _) = amended();
        let said = then(&record, 1).amended.join(" ");
        for words in ["Amended by JT", "misread the syringe", "now “3.8”, “4” before", "First signed by MO"]
        {
            assert!(said.contains(words), "{words}: {said}");
        }
    }

    #[test]
    fn the_card_of_each_earlier_entry_says_how_often_it_was_amended_since() {
        let (record, mut draft) = amended();
        draft.write(Field::ProductActual, "3.7");
        let at = Instant(SIGNED.0 + 120_000);
        let record =
            with(&draft, Some(&record), |g| super::amend(&record, g, "KL", at, "read again")).unwrap();
        let said = |entry| {
            let card = then(&record, entry);
            let line = card.amended.iter().find(|line| line.starts_with("State as signed"));
            line.map(|line| line.replace('\u{a0}', " "))
        };
        let first = "State as signed by MO, 25 Nov 2026, 10:40; amended 2 times since.";
        let second = "State as signed by JT, 25 Nov 2026, 10:41; amended once since.";
        assert_eq!((said(0).as_deref(), said(1).as_deref(), said(2)), (Some(first), Some(second), None));
        assert!(!chart_of_latest(&record).contains("State as signed"));
    }

    fn chart_of_latest(record: &Record) -> String {
        let clinic = Bench::default().clinic;
        crate::export::chart::chart_of(record, RecordStanding::Sound, &clinic, Language::English, Offset::UTC)
    }

    #[test]
    fn the_entries_are_listed_with_what_each_changed() {
        let (record, _) = amended();
        let listed = history(&record, Language::English, Offset::UTC);
        assert_eq!(listed[0].said.replace('\u{a0}', " "), "Signed by MO, 25 Nov 2026, 10:40");
        assert_eq!(
            listed[1].said.replace('\u{a0}', " "),
            "Amended by JT, 25 Nov 2026, 10:41: misread the syringe"
        );
        assert!(listed[1].changed[0].ends_with("now “3.8”, “4” before"), "{:?}", listed[1].changed);
        assert_eq!(listed[1].check, Some(format!("Record check {}.", record.seal(1).unwrap().short())));
        let said =
            |record| stands(record, RecordStanding::of(record, false, false), Language::English, Offset::UTC);
        assert_eq!(said(&record), None);
        let old = Record::from_json(include_str!("../record/samples/signed_1.json")).unwrap();
        let (changed, said) = said(&old).unwrap();
        assert!(!changed && said.starts_with("Signed before records carried a check"), "{said}");
    }

    #[test]
    fn what_an_amendment_would_sign_is_told_before_in_the_words_of_afterwards() {
        let (record, mut draft) = amended();
        assert_eq!(pending(&record, &draft, Language::English), Vec::<String>::new());
        draft.write(Field::ProductActual, "3.7");
        draft.write(Field::AdverseEvent, "faint at 11:50");
        let before = pending(&record, &draft, Language::English);
        assert_eq!(before.len(), 2);
        assert!(before.iter().any(|line| line.ends_with("now “3.7”, “3.8” before")), "{before:?}");
        let at = Instant(SIGNED.0 + 120_000);
        let record =
            with(&draft, Some(&record), |g| super::amend(&record, g, "KL", at, "read again")).unwrap();
        assert_eq!(history(&record, Language::English, Offset::UTC)[2].changed, before);
    }

    #[test]
    fn the_foot_bears_the_start_of_the_seal_and_the_card_stays_one_page() {
        let (record, _) = amended();
        for entry in 0..2 {
            let card = then(&record, entry);
            let check = format!("Record check {}.", record.seal(entry).unwrap().short());
            assert_eq!(card.notice.last(), Some(&check));
            assert_eq!(check.len(), "Record check 01234567.".len());
            let mut again = card.clone();
            to_one_page(&mut again);
            assert_eq!(again, card, "nothing more had to be left out for it");
        }
        assert_ne!(record.seal(0), record.seal(1));
    }

    #[test]
    fn every_finding_is_kept_with_its_sentence_and_who_decided() {
        let mut draft = demo();
        let findings = |draft: &Draft| signed(draft).first_signed().findings.clone().unwrap();
        let before = findings(&draft);
        assert!(!before.is_empty() && before.iter().all(|f| !f.cause.is_empty() && f.key.len() > 2));
        let open = before.iter().find(|f| f.open && f.level > crate::finding::Level::Note).unwrap();
        draft.decide(open.key.clone(), Decision::new("Dr A. Reyes-Lindqvist", "seen at the chair", SIGNED));
        let after = findings(&draft);
        let decided = after.iter().find(|f| f.key == open.key).unwrap();
        assert!(!decided.open);
        let said = decided.decision.as_ref().unwrap();
        assert_eq!((said.by.as_str(), said.reason.as_str()), ("Dr A. Reyes-Lindqvist", "seen at the chair"));
    }

    #[test]
    fn a_card_that_was_not_kept_says_that_it_is_reckoned() {
        let text = include_str!("../record/samples/amended_1.json");
        let record = Record::from_json(text).unwrap();
        for entry in 0..2 {
            let card = then(&record, entry);
            assert!(card.amended[0].contains("reckoned anew from what was typed"), "{:?}", card.amended);
            assert!(!card.notice.iter().any(|n| n.contains("Record check")));
        }
    }

    #[test]
    fn a_card_of_a_changed_record_says_so() {
        let (record, _) = amended();
        let text = record.to_json().unwrap();
        // The volume kept of the first entry, in its case.
        let at = text.find("\"product_actual\":\"4\"").unwrap();
        let spoilt = format!("{}\"product_actual\":\"9\"{}", &text[..at], &text[at + 20..]);
        let changed = Record::from_json(&spoilt).unwrap();
        assert_eq!(changed.verify(), Chain::Broken { entry: 0 });
        let said = |n| then(&changed, n).amended.first().cloned().unwrap_or_default();
        for n in 0..2 {
            assert!(said(n).starts_with("Changed outside Strawline since MO signed it"), "{}", said(n));
        }
    }

    #[test]
    fn a_card_says_what_only_store_and_list_know_of_its_record_once() {
        let (record, mut draft) = amended();
        let clinic = Bench::default().clinic;
        let chart = |standing| {
            crate::export::chart::chart_of(&record, standing, &clinic, Language::English, Offset::UTC)
        };
        for (standing, says, first) in [
            (RecordStanding::ChangedOutside, "Changed outside Strawline: what stands here", true),
            (RecordStanding::StateBeforeTheNewest, "The newest state of this record cannot be read", false),
        ] {
            let told = |card: &Card| card.amended.iter().filter(|said| said.starts_with(says)).count();
            assert_eq!(told(&then_as(&record, 0, standing)), usize::from(first), "{standing:?}");
            assert_eq!(told(&then_as(&record, 1, standing)), 1, "{standing:?}");
            assert_eq!(chart(standing).matches(says).count(), 1, "{standing:?}");
            // What is entered since, and the amendment it becomes, which is told anew each time.
            draft.write(Field::ProductActual, "3.7");
            let now = with(&draft, Some(&record), |g| card_now(Given { standing, ..g }, &mut |_| None));
            assert_eq!(told(&now), 1, "{standing:?}");
            let next = with(&draft, Some(&record), |g| {
                let given = Given { standing, ..g };
                super::amend(&record, given, "JT", Instant(SIGNED.0 + 90_000), "read again").unwrap()
            });
            assert_eq!(told(&then_as(&next, 2, standing)), 1, "{standing:?}");
            assert_eq!(told(&then_as(&next, 2, RecordStanding::Sound)), 0, "{standing:?}");
        }
        for entry in 0..2 {
            assert_eq!(then_as(&record, entry, RecordStanding::Sound), then(&record, entry));
        }
        assert!(!chart(RecordStanding::Sound).contains("outside"));
    }
}
