//! The spin at named radii and against every rating; the clock from needle in to use-by.

use crate::case::{Case, StageRun};
use crate::draft::{Field, TimeOf, Trouble, TroubleKind};
use crate::finding::{FindingKind, RunDiffers};
use crate::log::{CheckState, Checked};
use crate::product::clock::{self, UseBy};
use crate::quantity::time::{Date, Instant, Span};
use crate::quantity::{Quantity, Rcf, Seconds};
use crate::spin::SpinError;
use crate::spin::programme::{self, PlannedTime, Programme, Rating, RatingBreach, StageForce};
use crate::spin::rotor::Rotor;
use crate::working::Worked;

/// A speed further from its stage than this share is said to differ (`SourceId::RunTolerance`).
const SPEED_TOLERANCE: f64 = 0.05;
/// The same of a time.
const TIME_TOLERANCE: f64 = 0.1;
/// A use-by that moved by less is not told: times are entered and written to the minute.
const MOVED: Span = Span(60_000);

/// One stage of the programme on this rotor.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct StageResult {
    /// Speed to set and force at each radius, as planned; `None` for a stage without speed or radius.
    pub planned: Option<StageForce>,
    /// Why a stage with a speed has none.
    pub without: Option<SpinError>,
    /// The same for the speed that was entered as run.
    pub actual: Option<StageForce>,
    /// Minutes entered as run.
    pub ran: Option<Seconds>,
}

/// What is happening now.
#[derive(Debug, Clone, PartialEq)]
pub enum Happening {
    /// Nothing has begun.
    NotBegun,
    /// Blood is being drawn since needle in.
    Drawing {
        /// Since.
        since: Instant,
    },
    /// Drawn, waiting for the spin.
    WaitingToSpin,
    /// A stage of the programme is running.
    Stage {
        /// Its number from 0.
        index: u8,
        /// Its planned end; `None` when the plan names no time.
        ends: Option<Instant>,
        /// Its planned end has passed.
        due: bool,
    },
    /// The last stage that began stopped before its time.
    Stopped {
        /// Its number from 0.
        index: u8,
        /// Since.
        since: Instant,
    },
    /// All planned stages are over.
    SpinOver,
    /// The product is collected.
    Collected,
    /// Handed over.
    HandedOver,
    /// Signed without a product.
    Ended,
}

/// Spin and clock.
#[derive(Debug, Clone, PartialEq)]
pub struct SpinResult {
    /// Stage by stage.
    pub stages: Vec<StageResult>,
    /// How long all of them take, as far as planned; `None` without a programme.
    pub takes: Option<PlannedTime>,
    /// What is happening now.
    pub now: Happening,
    /// The stage that comes next, from 0; `None` when none is left.
    pub next: Option<u8>,
    /// Latest start of the first spin.
    pub spin_by: Option<Worked<Instant>>,
    /// Use-by.
    pub use_by: Option<Worked<UseBy>>,
}

pub(super) fn spin(case: &Case, now: Instant, found: &mut Vec<FindingKind>) -> SpinResult {
    let empty = Programme::default();
    let programme = case.protocol.as_ref().map_or(&empty, |p| &p.programme);
    let (happening, next) = happening(case, now);
    let times = &case.times;
    // What a person ends has no planned time: it is not counted.
    let takes = programme.planned().ok().filter(|_| !programme.0.is_empty());
    let planned = takes.map_or(Seconds::constant(0.0), |time| time.known);
    let spin_by = times.needle_in.map(|t| clock::spin_by(t, case.clock, planned));
    let use_by = times.needle_in.map(|t| use_by_from(case, t, times.spin_end));
    // A spin that began too late stays so; without a start, what is collected or gone cannot be judged, and what ended
    // without a product is neither spun nor given.
    let started = times.stages.values().next().copied();
    let waits = times.collected.is_none() && times.handed_over.is_none() && !case.ended;
    if let Some(by) = &spin_by
        && started.or(Some(now).filter(|_| waits)).is_some_and(|at| at > by.value)
    {
        found.push(FindingKind::PastSpinBy(by.value));
    }
    if let Some(by) = &use_by
        && !case.ended
        && times.handed_over.unwrap_or(now) > by.value.at
    {
        found.push(FindingKind::PastUseBy(by.value.at));
    }
    // Of what was given, its time of giving tells whether that was in time.
    let given = times.handed_over.is_some() && told_given(case, now);
    if let Some((was, now)) = use_by_collected(case).zip(use_by.as_ref().map(|by| by.value.at))
        && !(case.ended || given)
        && was.since(now).is_some_and(|moved| moved >= MOVED)
    {
        found.push(FindingKind::UseByEarlier { was, now });
    }
    // Instants are kept in the order of the job; one that lies before its forerunner, or after now, was
    // entered wrong, or taken from a clock that has since been set.
    let mut order: Vec<Instant> = [times.needle_in, times.needle_out].into_iter().flatten().collect();
    for (stage, began) in &times.stages {
        let runs = times.interrupted.iter().filter(|run| run.stage == *stage);
        order.extend(runs.flat_map(|run| [run.began, run.stopped]));
        order.push(*began);
    }
    order.extend([times.spin_end, times.collected, times.handed_over].into_iter().flatten());
    let backwards = order.windows(2).any(|pair| matches!(pair, [a, b] if b < a));
    if backwards || !fits(case, now) {
        found.push(FindingKind::ClockWentBack);
    }
    let stages = stages(case, programme, found);
    by_the_clock(case, programme, found);
    SpinResult { stages, takes, now: happening, next, spin_by, use_by }
}

/// The use-by from a needle and an end of the spin. What is to be spun and has no end yet had ended before it was taken.
fn use_by_from(case: &Case, needle_in: Instant, spin_end: Option<Instant>) -> Worked<UseBy> {
    let times = &case.times;
    let mut planned = case.protocol.iter().flat_map(|p| &p.programme.0);
    let spins = !times.stages.is_empty() || planned.any(|stage| stage.speed().is_some());
    match spin_end {
        None if spins => {
            clock::use_by_until_spun(needle_in, times.collected.or(times.handed_over), case.clock)
        }
        end => clock::use_by(needle_in, end, case.clock),
    }
}

/// The use-by as it stood when the product was collected, or handed over: what was corrected of needle and spin from
/// then on is undone. A label may have been printed by it. An end of the spin that was first entered only then leaves no
/// trace, and needs none: until it stands no label bears a use-by that it could bring forward ([`UseBy::settled`]).
fn use_by_collected(case: &Case) -> Option<Instant> {
    let times = &case.times;
    let corrected = |what: TimeOf| case.corrections.iter().filter(move |c| c.what == what);
    // By the earliest that stood there: corrected to a later time, it would hide what was corrected before that.
    let first = |what: TimeOf| corrected(what).map(|c| c.was).chain([times.get(what)?]).min();
    let from = [TimeOf::Collected, TimeOf::HandedOver].into_iter().filter_map(first).min()?;
    let stood = |what: TimeOf| corrected(what).find(|c| c.at >= from).map(|c| c.was).or(times.get(what));
    let needle_in = stood(TimeOf::NeedleIn)?;
    Some(use_by_from(case, needle_in, stood(TimeOf::SpinEnd)).value.at)
}

/// What is found of something that went wrong.
pub fn of_trouble(case: &Case, trouble: &Trouble) -> FindingKind {
    match trouble.kind {
        TroubleKind::SpinStopped if cut_short(case) => FindingKind::SpinCutShort,
        kind => FindingKind::Trouble(kind, trouble.container),
    }
}

/// Whether what turned was ended where it stopped: a stop stands in the run that stands, and the next stage or the end
/// of the spin was entered. Without a product nothing is given by what was predicted.
fn cut_short(case: &Case) -> bool {
    let times = &case.times;
    let stage = |index: u8| case.protocol.as_ref().and_then(|p| p.programme.0.get(usize::from(index)));
    let by_hand = |index: u8| matches!(stage(index), Some(programme::Stage::Handling { .. }));
    // Ended where it stopped, the spin ended in the moment of the stop.
    let over = times.spin_end.or(times.collected).or(times.handed_over);
    let over = over.and_then(|at| at.checked_add(Span(1)));
    let next = times.stages.values().skip(1).copied().map(Some).chain([None]);
    let left = |index: u8, began: Instant, until: Instant| {
        times.first_stop(&case.troubles, |of| of == index, began, Some(until)).is_some()
    };
    let mut runs = times.stages.iter().zip(next);
    !case.ended
        && runs.any(|((&index, &began), next)| {
            !by_hand(index) && next.or(over).is_some_and(|until| left(index, began, until))
        })
}

/// Says of the centrifuge that a case spins on, on the day it spins, which of its checks are overdue or were not
/// passed. What is due when is the clinic's own word; where it said nothing, nothing is due.
pub(super) fn centrifuge(case: &Case, day: Option<Date>, found: &mut Vec<FindingKind>) {
    let turns = case.protocol.iter().flat_map(|p| &p.programme.0).any(|stage| stage.speed().is_some());
    let (Some(day), true) = (day, turns) else { return };
    // Where none is chosen it may be any that turns the rotor.
    let chosen = case.spin.centrifuge.is_some();
    let all = case.spin.centrifuge.iter().chain(case.spin.centrifuges.iter().filter(|_| !chosen));
    for of in Checked::ALL {
        let states = all.clone().filter_map(|c| c.check(of).on_day(day));
        let worst = states.max_by_key(|state| match state {
            CheckState::Failed(_) => 2,
            CheckState::Overdue(_) => 1,
            CheckState::Never => 0,
        });
        found.extend(worst.map(|state| FindingKind::CentrifugeCheck { of, state, chosen }));
    }
}

fn stages(case: &Case, programme: &Programme, found: &mut Vec<FindingKind>) -> Vec<StageResult> {
    let ran = |i: usize| case.spin.actual.get(i).copied().unwrap_or_default();
    let turns = programme.0.iter().any(|s| s.speed().is_some());
    let Some(rotor) = &case.spin.rotor else {
        if turns {
            found.push(FindingKind::NoRotor);
        }
        for ((i, number), stage) in (0..).zip(0u8..).zip(&programme.0) {
            differs(number, stage, None, ran(i), found);
        }
        let of_time = |i| StageResult { ran: ran(i).time, ..StageResult::default() };
        return (0..programme.0.len()).map(of_time).collect();
    };
    let rated = case.draw.container.as_ref().and_then(|c| c.rated);
    let ratings = programme::ratings(programme, rotor, rated);
    found.extend(worst(&ratings.breaches).map(FindingKind::OverRating));
    if !ratings.unchecked.is_empty() {
        let rated = rated.is_some() || rotor.rated_bucket.is_some() || rotor.rated_rpm.is_some();
        found.push(if rated { FindingKind::RatingUnchecked } else { FindingKind::RadiusUnknown });
    }
    if turns {
        let (rotor, container) =
            (rotor.rated_rpm.is_none(), case.draw.container.is_some() && rated.is_none());
        if rotor || container {
            found.push(FindingKind::NoRating { rotor, container });
        }
    }
    // A speed read off the machine is taken as it is, not moved to the next step of its dial.
    let as_read = Rotor { speed_step: None, ..rotor.clone() };
    let results: Vec<StageResult> = programme
        .0
        .iter()
        .enumerate()
        .map(|(i, stage)| {
            let run = ran(i);
            let as_run = run.speed.map(|rpm| programme::Stage::Hold {
                speed: programme::Speed::Rpm(rpm),
                time: run.time.unwrap_or(Seconds::constant(0.0)),
            });
            let planned = programme::stage_force(stage, rotor, rated);
            StageResult {
                without: planned.as_ref().err().cloned(),
                planned: planned.ok().flatten(),
                actual: as_run.and_then(|s| programme::stage_force(&s, &as_read, None).ok().flatten()),
                ran: run.time,
            }
        })
        .collect();
    over_when_run(&results, &as_read, rated, found);
    for (((i, number), stage), result) in (0..).zip(0u8..).zip(&programme.0).zip(&results) {
        differs(number, stage, result.planned.as_ref(), ran(i), found);
    }
    results
}

/// Ratings passed by what really ran: one finding a rating, the worst stage.
fn over_when_run(results: &[StageResult], as_read: &Rotor, rated: Option<Rcf>, found: &mut Vec<FindingKind>) {
    let ran = results.iter().map(|r| match &r.actual {
        Some(force) => programme::Stage::Hold {
            speed: programme::Speed::Rpm(force.rpm.value),
            time: Seconds::constant(0.0),
        },
        None => programme::Stage::Stop { time: None },
    });
    let breaches = programme::ratings(&Programme(ran.collect()), as_read, rated).breaches;
    found.extend(worst(&breaches).map(FindingKind::RanOverRating));
}

/// The worst stage of each rating passed.
fn worst(breaches: &[RatingBreach]) -> impl Iterator<Item = RatingBreach> {
    [Rating::RotorSpeed, Rating::Bucket, Rating::Container].into_iter().filter_map(|rating| {
        let of = breaches.iter().filter(|b| b.rating == rating);
        of.max_by(|a, b| a.value.value.total_cmp(&b.value.value)).copied()
    })
}

/// Whether what ran lies further from what was planned than a share of it.
fn far(ran: f64, planned: f64, tolerance: f64) -> bool {
    (ran - planned).abs() > tolerance * planned * (1.0 + 1e-9)
}

/// Says where a stage that turns was run otherwise than planned. A speed planned in rpm and a time need no rotor.
fn differs(
    stage: u8,
    planned: &programme::Stage,
    set: Option<&StageForce>,
    run: StageRun,
    found: &mut Vec<FindingKind>,
) {
    let Some(asked) = planned.speed() else { return };
    let speed = set.map(|force| force.rpm.value).or(match asked {
        programme::Speed::Rpm(rpm) => Some(rpm),
        programme::Speed::Rcf { .. } => None,
    });
    if let (Some(planned), Some(ran)) = (speed, run.speed)
        && far(ran.get(), planned.get(), SPEED_TOLERANCE)
    {
        found.push(FindingKind::RunDiffers { stage, what: RunDiffers::Speed { planned, ran } });
    }
    if let (Some(planned), Some(ran)) = (planned.time(), run.time)
        && far(ran.get(), planned.get(), TIME_TOLERANCE)
    {
        found.push(FindingKind::RunDiffers { stage, what: RunDiffers::Time { planned, ran } });
    }
}

/// Says where the times entered leave what turns another time than planned. A machine goes from stage to stage by
/// itself: what counts is from the first start to what a person does next, to the end of the spin, or to a stop.
/// Minutes that were typed as run say it better.
fn by_the_clock(case: &Case, programme: &Programme, found: &mut Vec<FindingKind>) {
    let by_hand = |index: u8| {
        matches!(programme.0.get(usize::from(index)), Some(programme::Stage::Handling { .. }) | None)
    };
    let times = &case.times;
    let mut starts = times.stages.iter().map(|(index, began)| (*index, *began)).peekable();
    while let Some((first, began)) = starts.next() {
        if by_hand(first) {
            continue;
        }
        while starts.next_if(|(index, _)| !by_hand(*index)).is_some() {}
        let next = starts.peek().copied();
        let Some(until) = next.map(|(_, at)| at).or(times.spin_end) else { continue };
        let after = next.map_or(programme.0.len(), |(index, _)| usize::from(index));
        let these = |stage: u8| (usize::from(first)..after).contains(&usize::from(stage));
        let until = times.first_stop(&case.troubles, these, began, Some(until)).unwrap_or(until);
        let run = programme.0.get(usize::from(first)..after).unwrap_or_default();
        let said = |index: usize| {
            let typed = case.spin.actual.get(index).is_some_and(|run| run.time.is_some());
            typed || u8::try_from(index).is_ok_and(|i| case.is_unread(Field::MinutesActual(i)))
        };
        let typed = (usize::from(first)..after).any(said);
        let turns = run.iter().any(|stage| stage.speed().is_some());
        let left = until.since(began).and_then(|s| s.seconds().ok());
        let planned = Programme(run.to_vec()).planned();
        let (Some(left), Ok(planned)) = (left, planned) else { continue };
        // Where a person ends a stage among them, the time planned is only the least.
        let open = planned.open_stages > 0 && left.get() >= planned.known.get();
        if turns && !typed && !open && far(left.get(), planned.known.get(), TIME_TOLERANCE) {
            let what = RunDiffers::Clock { planned: planned.known, left };
            found.push(FindingKind::RunDiffers { stage: first, what });
        }
    }
}

/// What runs since the last start that was entered. A machine goes from stage to stage by itself; what a
/// person does begins when they say so, and until then the stage before it is due.
fn running(programme: &Programme, index: u8, began: Instant, now: Instant) -> (Happening, Option<u8>) {
    let by_hand = |s: &programme::Stage| matches!(s, programme::Stage::Handling { .. });
    let rest = programme.0.get(usize::from(index)..).unwrap_or_default();
    if rest.is_empty() {
        // No plan says what runs or until when.
        return (Happening::Stage { index, ends: None, due: false }, None);
    }
    let together = match rest.first() {
        Some(first) if by_hand(first) => 1,
        _ => rest.iter().take_while(|s| !by_hand(s)).count(),
    };
    let run = Programme(rest.iter().take(together).cloned().collect());
    let elapsed = now.since(began).and_then(|s| s.seconds().ok()).unwrap_or(Seconds::constant(0.0));
    let (at, ends, due) = match run.at(elapsed) {
        Some(p) => {
            // Counted from the start: `now` may lie before it, at the last full minute.
            let end = p.remaining.and_then(|left| Seconds::new(elapsed.get() + left.get()).ok());
            (p.index, end.and_then(|end| began.checked_add(Span::of(end))), false)
        }
        None => {
            let end = run.planned().ok().and_then(|p| began.checked_add(Span::of(p.known)));
            (together.saturating_sub(1), end, true)
        }
    };
    let at = u8::try_from(at).ok().and_then(|at| index.checked_add(at)).unwrap_or(index);
    let next = at.checked_add(1).filter(|n| usize::from(*n) < programme.0.len());
    (Happening::Stage { index: at, ends, due }, next)
}

/// So long after a use-by that passed it is still told, where nobody says what was given: the next day somebody looks.
/// Own judgement.
const TOLD_PAST: Span = Span(24 * 3_600_000);

/// Until when a use-by is told at the longest.
pub fn told_until(use_by: Instant) -> Option<Instant> {
    use_by.checked_add(TOLD_PAST)
}

/// Whether the use-by is still to be watched: until the hand-over, and after it until every part is told to be given.
/// Where that is never entered it is told as past for a day, so that what lies on a bench is not forgotten and the strip
/// does not fill for ever.
pub fn watches(case: &Case, use_by: Instant, now: Instant) -> bool {
    let a_day_on = told_until(use_by).is_some_and(|end| now > end);
    case.times.handed_over.is_none() || !(told_given(case, now) || a_day_on)
}

/// Whether somebody says of each part what became of it.
fn told_given(case: &Case, now: Instant) -> bool {
    let parts = &case.order.parts;
    !parts.is_empty() && parts.iter().all(|part| part.told_given(now))
}

/// Whether the clock can be as it stands: no time that was entered lies ahead of it by more than a minute. Where it
/// does not fit, nothing is counted down.
pub fn fits(case: &Case, now: Instant) -> bool {
    latest(case).is_none_or(|at| at.has_come(now))
}

/// The latest time that was entered of draw, spin and product.
pub fn latest(case: &Case) -> Option<Instant> {
    let times = &case.times;
    let single = [times.needle_in, times.needle_out, times.spin_end, times.collected, times.handed_over];
    let runs = times.interrupted.iter().flat_map(|run| [run.began, run.stopped]);
    single.into_iter().flatten().chain(times.stages.values().copied()).chain(runs).max()
}

/// The stage that stands stopped, from 0, and since when: what is over, or done by hand, does not.
pub(super) fn stopped(case: &Case) -> Option<(u8, Instant)> {
    let times = &case.times;
    let over = case.ended || times.collected.or(times.handed_over).is_some();
    let last = times.stages.keys().next_back().copied().filter(|_| !over)?;
    let stage = case.protocol.as_ref().and_then(|p| p.programme.0.get(usize::from(last)));
    let by_hand = matches!(stage, Some(programme::Stage::Handling { .. }));
    times.stopped(&case.troubles).filter(|_| !by_hand).map(|since| (last, since))
}

/// What is happening at a moment, and the stage that comes next. A running clock asks every second.
pub fn happening(case: &Case, now: Instant) -> (Happening, Option<u8>) {
    let empty = Programme::default();
    let programme = case.protocol.as_ref().map_or(&empty, |p| &p.programme);
    let times = &case.times;
    let first = if programme.0.is_empty() { None } else { Some(0) };
    if case.ended {
        return (Happening::Ended, None);
    }
    if times.handed_over.is_some() {
        return (Happening::HandedOver, None);
    }
    if times.collected.is_some() {
        return (Happening::Collected, None);
    }
    if let Some((&index, &began)) = times.stages.last_key_value() {
        if times.spin_end.is_some() {
            return (Happening::SpinOver, None);
        }
        if let Some((index, since)) = stopped(case) {
            return (Happening::Stopped { index, since }, None);
        }
        return running(programme, index, began, now);
    }
    if times.needle_out.is_some() {
        return (Happening::WaitingToSpin, first);
    }
    match times.needle_in {
        Some(since) => (Happening::Drawing { since }, first),
        None => (Happening::NotBegun, first),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{CheckSign, Draft, Field};
    use crate::quantity::unit::Conventions;
    use crate::words::Language;

    #[test]
    fn the_use_by_is_watched_until_the_product_is_given_and_a_day_after_it_passed() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let (by, day) = (Instant(1000), 24 * 3_600_000);
        let watched = |d: &Draft, now| watches(&crate::case::read(d, Language::English).0, by, Instant(now));
        assert!(watched(&d, 1000) && watched(&d, 1001), "still here, and late");
        d.hand_over(Instant(500));
        assert!(watched(&d, 1000) && watched(&d, 1001), "gone, and nobody said that it was given");
        assert!(watched(&d, 1000 + day) && !watched(&d, 1001 + day));
        d.write(Field::PartGiven(0), "2");
        assert!(watched(&d, 900) && watched(&d, 1001));
        d.write(Field::PartGiven(1), "1");
        assert!(watched(&d, 900) && watched(&d, 1001), "how much, and nobody said when");
        d.write(Field::PartGivenAt(0), "0:00");
        assert!(watched(&d, 1001));
        d.write(Field::PartGiven(1), "0");
        assert!(!watched(&d, 900) && !watched(&d, 1001), "of the other nothing was given");
    }

    #[test]
    fn an_amount_typed_before_the_hand_over_tells_of_nothing_given() {
        let minute = 60_000;
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let by = Instant(300 * minute);
        let watched =
            |d: &Draft, at| watches(&crate::case::read(d, Language::English).0, by, Instant(at * minute));
        d.write(Field::PartGiven(0), "2");
        d.write(Field::PartGiven(1), "1");
        let mut older = d.clone();
        d.hand_over(Instant(60 * minute));
        assert!(watched(&d, 61), "the syringe has only just left");
        older.times.handed_over = Some(Instant(60 * minute));
        assert!(watched(&older, 61), "of a hand-over that kept nothing it is not known");
        // One was given less; of the other it is told when.
        let mut other = d.clone();
        other.write(Field::PartGiven(0), "1.5");
        assert!(watched(&other, 65));
        other.write(Field::PartGivenAt(1), "1:10");
        assert!(watched(&other, 70), "one amount tells no time");
        other.write(Field::PartGivenAt(0), "1:10");
        assert!(watched(&other, 68) && !watched(&other, 69), "not a minute before that time");
        // Typed while it was to come, it never tells of itself that it has.
        other.given_ahead = other.ahead_by(&[1]).unwrap();
        assert_eq!((watched(&other, 80), other.ahead_by(&[])), (true, None));
        other.write(Field::PartGivenAt(1), "");
        other.given_ahead = other.ahead_by(&[]).unwrap();
        other.write(Field::PartGivenAt(1), "1:10");
        assert!(!watched(&other, 80), "entered again");
        // One tap for both, to the minute; one that has a time keeps it.
        d.write(Field::PartGivenAt(0), "1:05");
        let untold = |d: &Draft| crate::case::read(d, Language::English).0.untold();
        assert_eq!(untold(&d), [1]);
        d.all_given(&untold(&d), Instant(66 * minute + 59_999));
        assert_eq!(
            (d.text(Field::PartGivenAt(0)), d.text(Field::PartGivenAt(1)), untold(&d).len()),
            ("1:05", "01:06", 0)
        );
        assert!(!watched(&d, 66) && !d.reason_wanted());
        // Also where the text is the one that was typed for a time to come.
        let mut same = older.clone();
        same.edit(None, |d| d.hand_over(Instant(61 * minute)));
        same.write(Field::PartGivenAt(0), "01:06");
        same.write(Field::PartGivenAt(1), "01:06");
        same.given_ahead = same.ahead_by(&[0, 1]).unwrap();
        assert!(watched(&same, 67));
        same.all_given(&untold(&same), Instant(66 * minute));
        assert!(!watched(&same, 67));
        // Nor is an amount of none lost that stood there before.
        let mut none = older.clone();
        none.write(Field::PartGiven(0), "0");
        none.edit(None, |d| d.hand_over(Instant(61 * minute)));
        assert_eq!((watched(&none, 62), untold(&none)), (true, vec![0, 1]));
        none.none_given(&[0, 1]);
        assert_eq!((none.text(Field::PartGiven(0)), none.text(Field::PartGiven(1))), ("0.0", "0"));
        assert!(!watched(&none, 62));
        let changed: Vec<String> =
            none.changed_since_hand_over().iter().map(|(since, _)| since.key()).collect();
        assert_eq!(changed, [Field::PartGiven(1).key()], "none stays none");
        // Handed over anew, what was typed before is again only what is to be given; so long after, the day is named.
        let mut again = older;
        again.edit(None, |d| d.not_handed_over(Instant(70 * minute)));
        again.edit(None, |d| d.hand_over(Instant(80 * minute)));
        assert!(watched(&again, 81));
        let next_day = 80 + 13 * 60;
        again.all_given(&[0, 1], Instant(next_day * minute));
        assert_eq!(again.text(Field::PartGivenAt(1)), "1970-01-01 14:20");
        assert!(!watched(&again, next_day));
        // A time before the hand-over that holds is of the one that was taken back.
        again.write(Field::PartGivenAt(0), "1:05");
        assert_eq!((watched(&again, 90), untold(&again)), (true, vec![0]));
    }

    #[test]
    fn a_case_signed_without_a_product_waits_for_nothing() {
        use crate::words::Phrase;
        use crate::words::records::CaseLine;
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        d.times.needle_in = Some(Instant(0));
        d.begin_stage(0, Instant(1));
        d.times.spin_end = Some(Instant(2));
        let now = |d: &Draft| happening(&crate::case::read(d, Language::English).0, Instant(9)).0;
        assert_eq!(now(&d), Happening::SpinOver);
        d.ended_without = Some(Instant(5));
        assert_eq!(now(&d), Happening::Ended);
        let line = CaseLine { stage: crate::draft::Stage::Later, now: &now(&d), signed: true }.english();
        assert_eq!(line, "Later: ended without a product, signed");
    }

    #[test]
    fn a_clock_set_back_before_what_was_entered_does_not_fit() {
        let mut d = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let fit = |d: &Draft, now| fits(&crate::case::read(d, Language::English).0, Instant(now));
        let hour = 3_600_000;
        assert!(fit(&d, -hour), "nothing was entered");
        d.times.needle_in = Some(Instant(0));
        d.times.stages.insert(0, Instant(hour));
        assert!(fit(&d, hour) && fit(&d, hour - 60_000) && fit(&d, 2 * hour));
        assert!(!fit(&d, hour - 60_001) && !fit(&d, -hour));
        d.times.stages.clear();
        assert!(fit(&d, hour - 60_001));
    }
}
