//! When the blood was taken that its count is of, as far as that is told: one reading for card, files and page.

use crate::blood::baseline::SampleKind;
use crate::case::Case;
use crate::draft::{CountStanding, Draft, Field};
use crate::words::Language;
use crate::words::card::CardLine;

/// When the blood was taken that was counted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sampled<'a> {
    /// Today, at a time as typed.
    At(&'a str),
    /// So many days ago.
    DaysOld(u32),
}

impl Sampled<'_> {
    /// In words; a time as typed.
    pub fn said(self, language: Language) -> String {
        match self {
            Sampled::At(typed) => typed.to_owned(),
            Sampled::DaysOld(days) => language.say(CardLine::DaysOld(days)).into_owned(),
        }
    }
}

/// What is told of it. A time is of a count of today and an age of an older one: what was typed before the choice was
/// changed is kept, and out of use.
pub fn sampled<'a>(draft: &'a Draft, case: &Case) -> Option<Sampled<'a>> {
    match case.baseline.standing? {
        CountStanding::Today => {
            let typed = draft.text(Field::BloodCountTime).trim();
            (!typed.is_empty()).then_some(Sampled::At(typed))
        }
        CountStanding::Older => case.baseline.age_days.map(Sampled::DaysOld),
        CountStanding::NoCount => None,
    }
}

/// What is said beside a number reckoned over the blood's count where that is not of the day: fold and recovery.
pub fn over_older(case: &Case, language: Language) -> Option<String> {
    let b = &case.baseline;
    let older = b.standing == Some(CountStanding::Older);
    let said = CardLine::OverOlderCount(b.age_days.filter(|_| older));
    (older || b.sample == Some(SampleKind::OlderResult)).then(|| language.say(said).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::trial;

    #[test]
    fn only_over_a_count_of_another_day_something_is_said() {
        let mut draft = trial::drawn();
        let told =
            |draft: &Draft| trial::with(draft, None, |given| over_older(given.case, Language::English));
        draft.write(Field::CountAge, "45");
        assert_eq!(told(&draft), None, "an age typed for a count of today is out of use");
        draft.choices.count = Some(CountStanding::Older);
        assert_eq!(told(&draft).as_deref(), Some("over a blood count 45 days old"));
        draft.write(Field::CountAge, "1");
        assert_eq!(told(&draft).as_deref(), Some("over a blood count 1 day old"));
        draft.write(Field::CountAge, "");
        assert_eq!(told(&draft).as_deref(), Some("over a blood count of an earlier day"));
        draft.choices.count = Some(CountStanding::Today);
        draft.choices.sample = Some(SampleKind::OlderResult);
        assert_eq!(told(&draft).as_deref(), Some("over a blood count of an earlier day"));
    }

    #[test]
    fn a_time_typed_for_a_count_of_today_is_none_of_an_older_one() {
        let mut draft = trial::drawn();
        let told = |draft: &Draft| {
            trial::with(draft, None, |given| sampled(draft, given.case).map(|s| s.said(Language::English)))
        };
        assert_eq!(told(&draft), None);
        draft.write(Field::BloodCountTime, " 08:30 ");
        assert_eq!(told(&draft).as_deref(), Some("08:30"));
        draft.choices.count = Some(CountStanding::Older);
        assert_eq!(told(&draft), None, "how old is not said");
        draft.write(Field::CountAge, "45");
        assert_eq!(told(&draft).as_deref(), Some("45 days old"));
        draft.choices.count = Some(CountStanding::NoCount);
        assert_eq!(told(&draft), None);
        draft.choices.count = Some(CountStanding::Today);
        assert_eq!(told(&draft).as_deref(), Some("08:30"));
    }
}
