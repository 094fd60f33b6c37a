//! Until when: spin-by and use-by from the clinic's policy. Software never extends either.

use crate::evidence::SourceId;
use crate::quantity::time::{Instant, Span};
use crate::quantity::{Quantity, Seconds};
use crate::working::{Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// The clinic's policy on time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub struct ClockPolicy {
    /// From needle in to use-by.
    pub total: Seconds,
    /// From needle in to the start of the first spin, at the latest; [`spin_by()`] is earlier where the programme
    /// would not be over at the use-by.
    pub spin_by: Seconds,
    /// From the end of the last spin to use-by, if the clinic has such a window.
    pub product_window: Option<Seconds>,
}

impl ClockPolicy {
    /// 4 h for both, no window of its own: by analogy with platelets separated from blood [`SourceId::Cfr64024`].
    pub const SHIPPED: Self = Self {
        total: Seconds::constant(14_400.0),
        spin_by: Seconds::constant(14_400.0),
        product_window: None,
    };
}

impl Default for ClockPolicy {
    fn default() -> Self {
        Self::SHIPPED
    }
}

/// What set the use-by time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SetBy {
    /// Time since the needle went in.
    Collection,
    /// The same, and no more than the latest: the end of a spin that is not over may still set an earlier one.
    CollectionAtLatest,
    /// Time since the product was taken, and no more than the latest: its spin had ended by then, when is not entered.
    TakenAtLatest,
    /// Time since the last spin ended.
    SpinEnd,
}

/// A use-by time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct UseBy {
    /// Not to be used after this.
    pub at: Instant,
    /// What set it.
    pub set_by: SetBy,
}

impl UseBy {
    /// Whether it stands so far; else it is the latest that it can be.
    pub fn settled(self) -> bool {
        !matches!(self.set_by, SetBy::CollectionAtLatest | SetBy::TakenAtLatest)
    }
}

/// Use-by: the earlier of needle in + total and spin end + product window. A spin end before the needle went in
/// is a clock that was changed; the earlier time still counts. The working counts from needle in.
pub fn use_by(needle_in: Instant, spin_end: Option<Instant>, policy: ClockPolicy) -> Worked<UseBy> {
    // t_use = min(t_in + T, t_end + W)
    let by_collection = later(needle_in, policy.total);
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
            Worked::new(UseBy { at, set_by }, working.from(source(policy)))
        }
        None => {
            let at = by_collection;
            let numbers = vec![Figure::of(policy.total)];
            let working =
                Working::line(StepName::UseBy, "t_use − t_in = T", "{}", numbers, seconds(needle_in, at));
            Worked::new(UseBy { at, set_by: SetBy::Collection }, working.from(source(policy)))
        }
    }
}

/// The same while no end of the last spin is entered: where the clinic has a window from its end, that may set an earlier
/// one. Of a product that was `taken` the spin had ended by then, so the window from there is the latest.
pub fn use_by_until_spun(needle_in: Instant, taken: Option<Instant>, policy: ClockPolicy) -> Worked<UseBy> {
    // t_latest = min(t_in + T, t_taken + W)
    let mut found = use_by(needle_in, None, policy);
    // No spin ends before its needle: of a window as long as the whole time nothing earlier follows.
    let Some(window) = policy.product_window.filter(|window| *window < policy.total) else { return found };
    found.value.set_by = SetBy::CollectionAtLatest;
    let Some(taken) = taken else { return found };
    let by_taken = later(taken, window);
    if by_taken < found.value.at {
        found.value = UseBy { at: by_taken, set_by: SetBy::TakenAtLatest };
    }
    let numbers = vec![Figure::of(policy.total), seconds(needle_in, taken), Figure::of(window)];
    let formula = "t_latest − t_in = min(T, t_taken − t_in + W)";
    let result = seconds(needle_in, found.value.at);
    let working = Working::line(StepName::UseBy, formula, "min({}, {} + {})", numbers, result);
    Worked::new(found.value, working.from(source(policy)))
}

/// Latest start of the first spin: the clinic's own, and no later than leaves `programme`, the planned time of all
/// its stages as far as it is known, before the use-by; never before the needle. The working counts from needle in.
pub fn spin_by(needle_in: Instant, policy: ClockPolicy, programme: Seconds) -> Worked<Instant> {
    // t_spin = t_in + min(S, max(0, T − P))
    let left = Seconds::new((policy.total.get() - programme.get()).max(0.0)).unwrap_or(policy.total);
    let (of, total, all) = (Figure::of(policy.spin_by), Figure::of(policy.total), Figure::of(programme));
    let (formula, substituted, numbers) = match () {
        () if programme.get() <= 0.0 => ("t_spin − t_in = min(S, T)", "min({}, {})", vec![of, total]),
        () if programme > policy.total => {
            ("t_spin − t_in = max(0, T − P)", "max(0, {} − {})", vec![total, all])
        }
        () => ("t_spin − t_in = min(S, T − P)", "min({}, {} − {})", vec![of, total, all]),
    };
    let at = later(needle_in, if left < policy.spin_by { left } else { policy.spin_by });
    let result = seconds(needle_in, at);
    let working = Working::line(StepName::SpinBy, formula, substituted, numbers, result);
    Worked::new(at, working.from(source(policy)))
}

/// The shipped policy rests on its source, any other on the clinic.
fn source(policy: ClockPolicy) -> SourceId {
    if policy == ClockPolicy::SHIPPED { SourceId::Cfr64024 } else { SourceId::ClinicBench }
}

/// Some seconds later; the same instant where that cannot be told, which never extends anything.
fn later(from: Instant, by: Seconds) -> Instant {
    from.checked_add(Span::of(by)).unwrap_or(from)
}

/// Seconds from one instant to another; negative when `to` is earlier.
fn seconds(from: Instant, to: Instant) -> Figure {
    Figure { value: to.0.saturating_sub(from.0) as f64 / 1000.0, unit: Seconds::UNIT }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const HOUR: i64 = 3_600_000;

    fn at(hours: i64, minutes: i64) -> Instant {
        Instant(hours * HOUR + minutes * 60_000)
    }

    fn window(minutes: f64) -> ClockPolicy {
        ClockPolicy { product_window: Some(Seconds::new(minutes * 60.0).unwrap()), ..ClockPolicy::SHIPPED }
    }

    #[test]
    fn four_hours_from_the_needle() {
        // G02
        let found = use_by(at(10, 0), None, ClockPolicy::SHIPPED);
        assert_eq!(found.value, UseBy { at: at(14, 0), set_by: SetBy::Collection });
        assert_eq!(found.working.steps[0].result.value, 14_400.0);
        assert_eq!(found.working.sources, [SourceId::Cfr64024]);
        assert_eq!(spin_by(at(10, 0), ClockPolicy::SHIPPED, Seconds::constant(0.0)).value, at(14, 0));
        // without a window of its own the spin's end changes nothing
        assert_eq!(use_by(at(10, 0), Some(at(13, 0)), ClockPolicy::SHIPPED).value.at, at(14, 0));
    }

    #[test]
    fn the_earlier_of_the_two() {
        let by = |end: Instant| use_by(at(10, 0), Some(end), window(60.0)).value;
        assert_eq!(by(at(10, 30)), UseBy { at: at(11, 30), set_by: SetBy::SpinEnd });
        // one minute before, at, and after the hour that would pass four hours
        assert_eq!(by(at(12, 59)), UseBy { at: at(13, 59), set_by: SetBy::SpinEnd });
        assert_eq!(by(at(13, 0)), UseBy { at: at(14, 0), set_by: SetBy::Collection });
        assert_eq!(by(at(13, 1)), UseBy { at: at(14, 0), set_by: SetBy::Collection });
        assert_eq!(use_by(at(10, 0), None, window(60.0)).value.at, at(14, 0));
        assert_eq!(
            use_by(at(10, 0), Some(at(10, 30)), window(60.0)).working.sources,
            [SourceId::ClinicBench]
        );
    }

    #[test]
    fn until_the_spin_is_over_a_window_leaves_the_use_by_unsettled() {
        let until_spun = |policy| use_by_until_spun(at(10, 0), None, policy).value;
        let open = until_spun(window(60.0));
        assert_eq!(open, UseBy { at: at(14, 0), set_by: SetBy::CollectionAtLatest });
        assert!(!open.settled() && use_by(at(10, 0), Some(at(10, 30)), window(60.0)).value.settled());
        // Nothing earlier can follow of the whole time, or without a window.
        for policy in [window(240.0), ClockPolicy::SHIPPED] {
            assert_eq!(until_spun(policy), use_by(at(10, 0), None, policy).value);
            assert!(until_spun(policy).settled());
        }
        assert!(!until_spun(window(239.0)).settled());
    }

    #[test]
    fn what_was_taken_had_ended_its_spin_by_then() {
        let found = |taken, policy| use_by_until_spun(at(10, 0), Some(taken), policy);
        // 45 minutes after the needle and an hour on: 105 minutes.
        let taken = found(at(10, 45), window(60.0));
        assert_eq!(taken.value, UseBy { at: at(11, 45), set_by: SetBy::TakenAtLatest });
        assert!(!taken.value.settled());
        let step = &taken.working.steps[0];
        let numbers: Vec<f64> = step.numbers.iter().map(|n| n.value).collect();
        assert_eq!((numbers, step.result.value), (vec![14_400.0, 2_700.0, 3_600.0], 6_300.0));
        // Taken late, the whole time is the latest; without a window, or with one as long, it stands.
        let late = found(at(13, 30), window(60.0)).value;
        assert_eq!(late, UseBy { at: at(14, 0), set_by: SetBy::CollectionAtLatest });
        for policy in [window(240.0), ClockPolicy::SHIPPED] {
            assert_eq!(found(at(10, 45), policy).value, use_by(at(10, 0), None, policy).value);
        }
    }

    #[test]
    fn the_spin_begins_early_enough_to_be_over_at_the_use_by() {
        let minutes = |m: f64| Seconds::new(60.0 * m).unwrap();
        // Use-by 14:00, 25 minutes of programme: 13:35 and no later.
        let found = spin_by(at(10, 0), ClockPolicy::SHIPPED, minutes(25.0));
        assert_eq!(found.value, at(13, 35));
        assert_eq!(found.working.steps[0].result.value, 12_900.0);
        // The clinic's own, earlier one holds, and one that is too late does not.
        let own = |m| ClockPolicy { spin_by: minutes(m), ..ClockPolicy::SHIPPED };
        assert_eq!(spin_by(at(10, 0), own(60.0), minutes(25.0)).value, at(11, 0));
        assert_eq!(spin_by(at(10, 0), own(230.0), minutes(25.0)).value, at(13, 35));
        // A programme longer than the whole window: never before the needle.
        assert_eq!(spin_by(at(10, 0), ClockPolicy::SHIPPED, minutes(300.0)).value, at(10, 0));
    }

    #[test]
    fn a_clock_at_its_end_is_not_extended() {
        let end = Instant(i64::MAX);
        assert_eq!(use_by(end, Some(end), window(60.0)).value.at, end);
    }

    proptest! {
        #[test]
        fn never_later_than_collection_allows(start in 0..1_i64 << 50, ran in -HOUR..9 * HOUR, minutes in 0.0_f64..10_000.0) {
            let found = use_by(Instant(start), Some(Instant(start + ran)), window(minutes)).value;
            prop_assert!(found.at <= Instant(start + 4 * HOUR));
            // Nor does the end of the spin, entered late, move the latest back.
            let taken = Some(Instant(start + ran));
            let latest = use_by_until_spun(Instant(start), taken, window(minutes)).value;
            prop_assert!(found.at <= latest.at);
        }
    }
}
