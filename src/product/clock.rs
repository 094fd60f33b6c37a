//! Until when: spin-by and use-by from the clinic's policy. Software never extends either.

use crate::evidence::SourceId;
use crate::quantity::time::{Instant, Span};
use crate::quantity::{Quantity, Seconds};
use crate::working::{Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// The clinic's policy on time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct ClockPolicy {
    /// From needle in to use-by.
    pub total: Seconds,
    /// From needle in to the start of the first spin.
    pub spin_by: Seconds,
    /// From the end of the last spin to use-by, if the clinic has such a window.
    pub product_window: Option<Seconds>,
}

impl ClockPolicy {
    /// 4 h for both, no window of its own: by analogy with platelets separated from blood [`SourceId::Cfr64024`].
    pub const SHIPPED: Self =
        Self { total: Seconds::constant(14_400.0), spin_by: Seconds::constant(14_400.0), product_window: None };
}

impl Default for ClockPolicy {
    fn default() -> Self {
        Self::SHIPPED
    }
}

/// What set the use-by time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum SetBy {
    /// Time since the needle went in.
    Collection,
    /// Time since the last spin ended.
    SpinEnd,
}

/// A use-by time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct UseBy {
    /// Not to be used after this.
    pub at: Instant,
    /// What set it.
    pub set_by: SetBy,
}

/// Use-by: the earlier of needle in + total and spin end + product window. A spin end before the needle went in
/// is a clock that was changed; the earlier time still counts. The working counts from needle in.
pub fn use_by(needle_in: Instant, spin_end: Option<Instant>, policy: ClockPolicy) -> Worked<UseBy> {
    // t_use = min(t_in + T, t_end + W)
    let by_collection = later(needle_in, policy.total);
    let seconds = |from: Instant, to: Instant| Figure { value: span(from, to), unit: Seconds::UNIT };
    match spin_end.zip(policy.product_window) {
        Some((end, window)) => {
            let by_spin = later(end, window);
            let (at, set_by) = if by_spin < by_collection {
                (by_spin, SetBy::SpinEnd)
            } else {
                (by_collection, SetBy::Collection)
            };
            let numbers = vec![Figure::of(policy.total), seconds(needle_in, end), Figure::of(window)];
            let formula = "t_use − t_in = min(T, t_end − t_in + W)";
            let working =
                Working::line(StepName::UseBy, formula, "min({}, {} + {})", numbers, seconds(needle_in, at));
            Worked::new(UseBy { at, set_by }, working.from(SourceId::ClinicBench).from(SourceId::Cfr64024))
        }
        None => {
            let at = by_collection;
            let numbers = vec![Figure::of(policy.total)];
            let working = Working::line(StepName::UseBy, "t_use − t_in = T", "{}", numbers, seconds(needle_in, at));
            Worked::new(UseBy { at, set_by: SetBy::Collection }, working.from(SourceId::ClinicBench).from(SourceId::Cfr64024))
        }
    }
}

/// Latest start of the first spin. The working counts from needle in.
pub fn spin_by(needle_in: Instant, policy: ClockPolicy) -> Worked<Instant> {
    // t_spin = t_in + S
    let at = later(needle_in, policy.spin_by);
    let numbers = vec![Figure::of(policy.spin_by)];
    let result = Figure { value: span(needle_in, at), unit: Seconds::UNIT };
    let working = Working::line(StepName::SpinBy, "t_spin − t_in = S", "{}", numbers, result);
    Worked::new(at, working.from(SourceId::ClinicBench).from(SourceId::Cfr64024))
}

/// Some seconds later; the same instant where that cannot be told, which never extends anything.
fn later(from: Instant, by: Seconds) -> Instant {
    from.checked_add(Span::of(by)).unwrap_or(from)
}

/// Seconds from one instant to another; negative when `to` is earlier.
fn span(from: Instant, to: Instant) -> f64 {
    to.0.saturating_sub(from.0) as f64 / 1000.0
}
