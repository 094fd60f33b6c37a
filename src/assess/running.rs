//! Where the clocks of a case stand at a moment: what the strip shows, and what is kept of it beside a lock.

use super::spin::{Happening, SpinResult, fits, happening, watches};
use crate::case::Case;
use crate::quantity::time::Instant;

/// Where a running clock stands, to the second.
#[derive(Debug, Clone, PartialEq)]
pub struct Running {
    /// What is happening.
    pub now: Happening,
    /// The stage that comes next.
    pub next: Option<u8>,
    /// What counts down: the end of a stage.
    pub ends: Option<Instant>,
    /// Latest start of the spin, while it has not begun.
    pub spin_by: Option<Instant>,
    /// Use-by, while it is to be watched.
    pub use_by: Option<Instant>,
    /// That is no more than the latest: the end of the spin may still set an earlier one.
    pub at_latest: bool,
    /// Something should have been done by now.
    pub due: bool,
    /// The clock of the device was set back before something that was entered: nothing is counted down.
    pub unfit: bool,
    /// It was signed without a product: nothing runs out.
    pub without: bool,
}

impl Running {
    /// The clocks of a case.
    pub fn of(case: &Case, spin: &SpinResult, at: Instant) -> Running {
        let (now, next) = happening(case, at);
        let (without, unfit) = (case.ended, !fits(case, at));
        let waits = matches!(now, Happening::Drawing { .. } | Happening::WaitingToSpin);
        let (ends, stage_due) = match now {
            Happening::Stage { ends, due, .. } => (ends, due),
            _ => (None, false),
        };
        let ends = ends.filter(|_| !unfit);
        let spin_by = spin.spin_by.as_ref().map(|w| w.value).filter(|_| waits && !without);
        let use_by = spin.use_by.as_ref().map(|w| w.value.at).filter(|by| !without && watches(case, *by, at));
        let at_latest = use_by.is_some() && spin.use_by.as_ref().is_some_and(|w| !w.value.settled());
        let passed = |t: Option<Instant>| t.is_some_and(|t| t < at);
        let due = !without && (stage_due || passed(spin_by) || passed(use_by));
        Running { now, next, ends, spin_by, use_by, at_latest, due, unfit, without }
    }

    /// Nothing of it is to be watched any more.
    pub fn over(&self) -> bool {
        self.without || (self.now == Happening::HandedOver && self.use_by.is_none() && !self.due)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::{Now, assess};
    use crate::draft::{CheckSign, Draft, Field};
    use crate::quantity::time::Offset;
    use crate::quantity::unit::Conventions;
    use crate::record::clocks::Clock;
    use crate::words::Language;

    const MINUTE: i64 = 60_000;

    /// What runs a number of minutes after the needle, on the strip and beside a lock.
    fn both(d: &Draft, minutes: i64) -> (Running, Option<Clock>) {
        let at = Instant(minutes * MINUTE);
        let (case, _) = crate::case::read(d, Language::English);
        let spin = assess(&case, Now { at, offset: Offset::UTC }).spin;
        (Running::of(&case, &spin, at), Clock::of(&case, &spin, d.sign, at))
    }

    #[test]
    fn what_is_kept_beside_a_lock_is_what_the_strip_shows() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let same = |d: &Draft, minutes| {
            let (shown, kept) = both(d, minutes);
            let kept_of = |time: fn(&Clock) -> Option<Instant>| kept.as_ref().and_then(time);
            assert_eq!(
                (shown.spin_by, shown.use_by),
                (kept_of(|c| c.spin_by), kept_of(|c| c.use_by)),
                "{minutes}"
            );
            shown
        };
        assert!(!same(&d, 0).over());
        d.times.needle_in = Some(Instant(0));
        let drawing = same(&d, 1);
        assert!(drawing.spin_by.is_some() && drawing.use_by.is_some() && !drawing.due);
        assert!(same(&d, 24 * 60).due, "neither spun nor given");
        d.times.needle_out = Some(Instant(5 * MINUTE));
        d.begin_stage(0, Instant(10 * MINUTE));
        let turns = same(&d, 11);
        assert!(turns.spin_by.is_none() && turns.ends.is_some() && !turns.unfit);
        let back = same(&d, 2);
        assert!(back.unfit && back.ends.is_none(), "the clock was set back: {back:?}");
        assert!(same(&d, 60).due);
        d.times.spin_end = Some(Instant(40 * MINUTE));
        d.times.collected = Some(Instant(45 * MINUTE));
        d.hand_over(Instant(50 * MINUTE));
        let gone = same(&d, 51);
        assert!(gone.use_by.is_some() && !gone.over(), "until it is said to be given");
        assert!(same(&d, 3 * 24 * 60).over());
        d.times.handed_over = None;
        d.write(Field::NoProduct, "dropped");
        d.ended_without = Some(Instant(55 * MINUTE));
        let ended = same(&d, 3 * 24 * 60);
        assert!(ended.over() && !ended.due && ended.use_by.is_none());
    }
}
