//! When each part was given, held against the times that stand. A time that does not fit is told at its field and
//! stays as it is; only one after the use-by is a finding.

use super::Assessment;
use crate::case::{Case, Part};
use crate::finding::{Finding, FindingKind};
use crate::quantity::time::Instant;

/// What a time of giving does not go with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GivenOdd {
    /// It is before the hand-over.
    BeforeHandOver(Instant),
    /// Nothing was handed over, and it is before the product was collected.
    BeforeCollected(Instant),
    /// It lies ahead of the device's clock.
    Ahead,
    /// It lay ahead when it was typed.
    WasAhead,
    /// It is after the use-by.
    PastUseBy(Instant),
}

/// For each part of the site what its time of giving does not go with. Times are read and written to the minute.
pub(super) fn given(
    case: &Case,
    use_by: Option<Instant>,
    now: Instant,
    found: &mut Vec<FindingKind>,
) -> Vec<Option<GivenOdd>> {
    let minute = |at: Instant| at.0.div_euclid(60_000);
    let after = |at: Instant, other: Instant| minute(at) > minute(other);
    // What is to come may still be put right, and what was typed for then does not say that it was given.
    let told = case.order.parts.iter().filter_map(|part| part.told).filter(|at| at.has_come(now));
    if let Some((at, by)) = told.max().zip(use_by).filter(|(at, by)| after(*at, *by)) {
        found.push(FindingKind::GivenPastUseBy { at, by });
    }
    let odd = |at: Instant, was_ahead: bool| match (case.times.handed_over, case.times.collected) {
        (Some(over), _) if after(over, at) => Some(GivenOdd::BeforeHandOver(over)),
        (None, Some(collected)) if after(collected, at) => Some(GivenOdd::BeforeCollected(collected)),
        _ if !at.has_come(now) => Some(GivenOdd::Ahead),
        _ if was_ahead => Some(GivenOdd::WasAhead),
        _ => use_by.filter(|by| after(at, *by)).map(GivenOdd::PastUseBy),
    };
    let of = |part: &Part| part.given_at.at().and_then(|at| odd(at, part.given_ahead));
    case.order.parts.iter().map(of).collect()
}

/// Whether the minute of a tap may stand as the time of giving. Not once the use-by is past, when it was most likely given
/// before, nor while nobody has decided on a use-by that moved earlier: then a person says when it was.
pub fn tap_tells(answer: &Assessment, now: Instant) -> bool {
    let minute = |at: Instant| at.0.div_euclid(60_000);
    let past = answer.spin.use_by.as_ref().is_some_and(|by| minute(now) > minute(by.value.at));
    let moved = |f: &Finding| matches!(f.kind, FindingKind::UseByEarlier { .. }) && f.is_open();
    !past && !answer.findings.iter().any(moved)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::{Now, assess};
    use crate::case::read;
    use crate::draft::{CheckSign, Decision, Draft, TimeOf};
    use crate::quantity::time::Offset;
    use crate::quantity::unit::Conventions;
    use crate::words::Language;

    #[test]
    fn a_tap_tells_when_it_was_given_until_the_use_by_and_while_no_earlier_one_waits_for_the_prescriber() {
        let at = |minutes: i64| Instant(1_795_597_200_000 + minutes * 60_000);
        let answer = |d: &Draft| {
            let (case, _) = read(d, Language::English);
            assess(&case, Now { at: at(70), offset: Offset::UTC })
        };
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), at(0), Conventions::default());
        (d.times.needle_in, d.times.spin_end) = (Some(at(0)), Some(at(40)));
        (d.times.collected, d.times.handed_over) = (Some(at(50)), Some(at(60)));
        let a = answer(&d);
        let by = a.spin.use_by.as_ref().unwrap().value.at;
        assert!(tap_tells(&a, at(70)) && tap_tells(&a, Instant(by.0 + 59_999)));
        assert!(!tap_tells(&a, Instant(by.0 + 60_000)));
        d.correct(TimeOf::NeedleIn, at(-30), "MO".into(), at(70));
        assert!(!tap_tells(&answer(&d), at(70)));
        let decision = Decision::new("Dr A. Reyes-Lindqvist", "given at once", at(71));
        d.decide("use_by_earlier".into(), decision);
        assert!(tap_tells(&answer(&d), at(70)));
    }
}
