//! When each part was given, held against the times that stand. A time that does not fit is told at its field and
//! stays as it is; only one after the use-by is a finding.

use crate::case::{Case, Part};
use crate::finding::FindingKind;
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
