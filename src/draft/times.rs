//! When things happened: entered by a tap, corrected with a trace, entered late where the tap was forgotten, taken back,
//! and a spin that stopped and is run again.

use super::{Changed, Check, CheckKind, Draft, Field, Trouble, TroubleKind};
use crate::arrange::{gather, sort_by_key};
use crate::quantity::time::read::{TimeReading, time_of_day};
use crate::quantity::time::{Instant, Offset, Span};
use serde::de::IgnoredAny;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// When things happened, as wall-clock instants.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Times {
    /// Needle in.
    pub needle_in: Option<Instant>,
    /// Needle out.
    pub needle_out: Option<Instant>,
    /// Start of each programme stage, by its number from 0; of one run again, the last start.
    pub stages: BTreeMap<u8, Instant>,
    /// Runs that stopped and were run again, oldest first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub interrupted: Vec<Interrupted>,
    /// Which run each stop of the spin belongs to. Older versions wrote none: such a stop belongs to the run in which
    /// it lies by its time.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub stops: Vec<StopOf>,
    /// End of the last stage.
    pub spin_end: Option<Instant>,
    /// Product collected.
    pub collected: Option<Instant>,
    /// First reading of the product typed.
    pub counted: Option<Instant>,
    /// Handed over.
    pub handed_over: Option<Instant>,
    /// Written by older versions, and empty in all of them: read and passed over.
    #[serde(skip_serializing)]
    pub(super) given: IgnoredAny,
}

/// A run of a stage that stopped before its time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Interrupted {
    /// Stage, from 0.
    pub stage: u8,
    /// When it had begun.
    pub began: Instant,
    /// When it was entered that it stopped.
    pub stopped: Instant,
}

/// The run that a stop of the spin belongs to, whatever its start is corrected to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct StopOf {
    /// When the stop was entered: the time of its trouble.
    pub at: Instant,
    /// Stage, from 0.
    pub stage: u8,
    /// Which run of the stage, from 0.
    pub run: usize,
    /// What was typed of what the scale read for it: it is weighed anew before it turns again.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub weighed: BTreeMap<Field, String>,
}

/// A time that is entered by a tap.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TimeOf {
    /// Needle in.
    NeedleIn,
    /// Needle out.
    NeedleOut,
    /// Start of a programme stage, from 0.
    Stage(u8),
    /// End of the last stage.
    SpinEnd,
    /// Product collected.
    Collected,
    /// First reading of the product typed.
    Counted,
    /// Handed over.
    HandedOver,
}

impl TimeOf {
    /// Its key in the page.
    pub fn key(self) -> String {
        match self {
            TimeOf::NeedleIn => "time_needle_in".into(),
            TimeOf::NeedleOut => "time_needle_out".into(),
            TimeOf::Stage(index) => format!("time_stage_{}", u32::from(index) + 1),
            TimeOf::SpinEnd => "time_spin_end".into(),
            TimeOf::Collected => "time_collected".into(),
            TimeOf::Counted => "time_counted".into(),
            TimeOf::HandedOver => "time_handed_over".into(),
        }
    }
}

/// One correction of a time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// Which time.
    pub what: TimeOf,
    /// As it stood.
    pub was: Instant,
    /// As it stands since.
    pub now: Instant,
    /// Who corrected it.
    pub by: String,
    /// When.
    pub at: Instant,
}

/// Why a typed time was not taken.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeRefused {
    /// No time of day.
    NotATime,
    /// It lies ahead of now.
    Ahead,
    /// It stands so already, to the minute.
    Same,
    /// It would change places with another time, or with a stop of the spin.
    Crosses,
}

impl Times {
    /// A time, if it was entered.
    pub fn get(&self, what: TimeOf) -> Option<Instant> {
        match what {
            TimeOf::NeedleIn => self.needle_in,
            TimeOf::NeedleOut => self.needle_out,
            TimeOf::Stage(index) => self.stages.get(&index).copied(),
            TimeOf::SpinEnd => self.spin_end,
            TimeOf::Collected => self.collected,
            TimeOf::Counted => self.counted,
            TimeOf::HandedOver => self.handed_over,
        }
    }

    /// The times entered, in the order of the job.
    pub fn entered(&self) -> Vec<TimeOf> {
        let before = [TimeOf::NeedleIn, TimeOf::NeedleOut];
        let after = [TimeOf::SpinEnd, TimeOf::Collected, TimeOf::Counted, TimeOf::HandedOver];
        let stages = self.stages.keys().map(|index| TimeOf::Stage(*index));
        let all = before.into_iter().chain(stages).chain(after);
        all.filter(|what| self.get(*what).is_some()).collect()
    }

    fn set(&mut self, what: TimeOf, to: Instant) {
        match what {
            TimeOf::NeedleIn => self.needle_in = Some(to),
            TimeOf::NeedleOut => self.needle_out = Some(to),
            TimeOf::Stage(index) => {
                self.stages.insert(index, to);
            }
            TimeOf::SpinEnd => self.spin_end = Some(to),
            TimeOf::Collected => self.collected = Some(to),
            TimeOf::Counted => self.counted = Some(to),
            TimeOf::HandedOver => self.handed_over = Some(to),
        }
    }

    /// Runs of a stage that stopped, oldest first: began, stopped, run again.
    pub fn runs_before(&self, stage: u8) -> Vec<(Instant, Instant, Instant)> {
        let runs: Vec<&Interrupted> = self.interrupted.iter().filter(|run| run.stage == stage).collect();
        let again = runs.iter().skip(1).map(|run| run.began).chain(self.stages.get(&stage).copied());
        runs.iter().zip(again).map(|(run, again)| (run.began, run.stopped, again)).collect()
    }

    /// Since when the last stage that began stands still: it was entered that the spin stopped, and neither a
    /// stage nor the end of the spin since.
    pub fn stopped(&self, troubles: &[Trouble]) -> Option<Instant> {
        let (stage, began) = self.stages.last_key_value().filter(|_| self.spin_end.is_none())?;
        self.first_stop(troubles, |of| of == *stage, *began, None)
    }

    /// The first stop in the run that stands now of any of these stages; one that no run is known of, from `began` on
    /// and before `until`.
    pub fn first_stop(
        &self,
        troubles: &[Trouble],
        of: impl Fn(u8) -> bool,
        began: Instant,
        until: Option<Instant>,
    ) -> Option<Instant> {
        let within = |at: &Instant| match self.stops.iter().find(|stop| stop.at == *at) {
            Some(stop) => of(stop.stage) && stop.run == self.runs(stop.stage),
            None => *at >= began && until.is_none_or(|end| *at < end),
        };
        stops(troubles).filter(within).min()
    }

    /// How many runs of a stage stopped before the one that stands.
    fn runs(&self, stage: u8) -> usize {
        self.interrupted.iter().filter(|run| run.stage == stage).count()
    }

    /// When what follows a time in the order of the job was entered, the first of it.
    fn next_after(&self, what: TimeOf) -> Option<Instant> {
        let follows = |other: &TimeOf| *other > what && *other != TimeOf::Counted;
        self.entered().into_iter().find(follows).and_then(|next| self.get(next))
    }

    /// A time that this one had its turn before or after, and would no longer; of one that never stood, the order of the
    /// job alone. The count of the product is typed when it is there, early or late.
    fn crosses(&self, what: TimeOf, was: Option<Instant>, to: Instant, troubles: &[Trouble]) -> bool {
        if what == TimeOf::Counted {
            return false;
        }
        let minute = |at: Instant| at.0.div_euclid(60_000);
        let passed = |(other, at): (TimeOf, Instant)| {
            (other < what && was.is_none_or(|was| was >= at) && minute(to) < minute(at))
                || (other > what && was.is_none_or(|was| was <= at) && minute(to) > minute(at))
        };
        let others = self.entered().into_iter().filter(|other| *other != TimeOf::Counted);
        let mut others = others.filter_map(|other| Some((other, self.get(other)?)));
        let runs =
            || self.interrupted.iter().flat_map(|run| [(run.stage, run.began), (run.stage, run.stopped)]);
        let Some(was) = was else {
            // A stop that was entered only after what followed says nothing of when that was.
            let after = self.next_after(what);
            let stood = |stop: &&StopOf| {
                after.is_none_or(|after| stop.at <= after) && stops(troubles).any(|at| at == stop.at)
            };
            let stopped = self.stops.iter().filter(stood).map(|stop| (stop.stage, stop.at));
            let of_stages = runs().chain(stopped).map(|(stage, at)| (TimeOf::Stage(stage), at));
            return others.chain(of_stages).any(passed);
        };
        let turns = matches!(what, TimeOf::Stage(_) | TimeOf::SpinEnd);
        let mut stopped = stops(troubles).chain(runs().map(|(_, at)| at));
        others.any(passed) || (turns && stopped.any(|at| (was < at) != (to < at)))
    }
}

/// When the spin stopped, as far as it stands.
fn stops(troubles: &[Trouble]) -> impl Iterator<Item = Instant> {
    troubles.iter().filter(|t| t.kind == TroubleKind::SpinStopped && t.stands()).map(|t| t.at)
}

/// No needle stays in for longer: then "needle out" was not entered. Own judgement.
const LONGEST_DRAW: Span = Span(3_600_000);

impl Draft {
    /// Whether the needle is in the arm, as far as was entered: for an hour at most, by a clock that may be set
    /// meanwhile. What is looked at and tapped then is not hidden by itself.
    pub fn needle_is_in(&self, now: Instant) -> bool {
        let t = &self.times;
        let over = [t.needle_out, t.spin_end, t.collected, t.handed_over, self.ended_without];
        let since = t.needle_in.and_then(|at| now.since(at));
        let over = over.iter().any(Option::is_some) || !t.stages.is_empty();
        !over && since.is_some_and(|since| since.0.saturating_abs() <= LONGEST_DRAW.0)
    }

    /// Times that were never entered although what follows them was, in the order of the job: their taps were forgotten.
    /// Not of the needle going in, on which more hangs than its time.
    pub fn left_out(&self) -> Vec<TimeOf> {
        let t = &self.times;
        let programme = self.kit.protocol.as_ref().map(|p| p.programme.0.as_slice()).unwrap_or_default();
        let spins = !t.stages.is_empty() || programme.iter().any(|stage| stage.speed().is_some());
        let stages = (0..super::field::MAX_STAGES).take(programme.len()).map(TimeOf::Stage);
        let all = [TimeOf::NeedleOut].into_iter().chain(stages).chain(spins.then_some(TimeOf::SpinEnd));
        all.filter(|what| t.get(*what).is_none() && t.next_after(*what).is_some()).collect()
    }

    /// Whether one of them is asked for: the product was taken, and no machine went on to it by itself.
    pub fn asks_left_out(&self) -> bool {
        let t = &self.times;
        let taken = t.collected.or(t.handed_over).is_some() && self.ended_without.is_none();
        taken && self.left_out().iter().any(|what| !matches!(what, TimeOf::Stage(index) if self.ran(*index)))
    }

    /// The times entered and those left out, in the order of the job.
    pub fn times_told(&self) -> Vec<TimeOf> {
        let mut all = self.times.entered();
        all.extend(self.left_out());
        sort_by_key(&mut all, |what| *what);
        all
    }

    /// What a typed clock time means for a time that was entered, or left out: the moment at which the local clock shows
    /// so, nearest to it or to what followed it. Errors: no time of day, ahead of `now`, nothing to correct or to enter,
    /// or its place among the others lost.
    pub fn corrected_time(
        &self,
        what: TimeOf,
        typed: &str,
        offset: Offset,
        now: Instant,
    ) -> Result<Instant, TimeRefused> {
        let was = self.times.get(what);
        let followed = || self.times.next_after(what).filter(|_| self.left_out().contains(&what));
        let near = was.or_else(followed).ok_or(TimeRefused::NotATime)?;
        let TimeReading::Time(time) = time_of_day(typed) else { return Err(TimeRefused::NotATime) };
        let to = near.nearest(time, offset).ok_or(TimeRefused::NotATime)?;
        let minute = |at: Instant| at.0.div_euclid(60_000);
        match to {
            to if to > now => Err(TimeRefused::Ahead),
            to if was.is_some_and(|was| minute(to) == minute(was)) => Err(TimeRefused::Same),
            to if self.times.crosses(what, was, to, &self.troubles) => Err(TimeRefused::Crosses),
            to => Ok(to),
        }
    }

    /// Corrects a time that was entered; what stood there stays as a trace. Of one that was left out nothing stood: it is
    /// entered.
    pub fn correct(&mut self, what: TimeOf, to: Instant, by: String, at: Instant) {
        let was = self.times.get(what);
        self.times.set(what, to);
        if let Some(was) = was {
            self.corrections.push(Correction { what, was, now: to, by, at });
        }
    }

    /// That the needle was in was no mistake: it is again as it stood before that was said. Gone in again meanwhile, the
    /// later start is the true one; so are containers that were taken meanwhile.
    pub fn needle_in_again(&mut self, before: &Draft) {
        if self.times.needle_in.is_none() {
            self.times.needle_in = before.times.needle_in;
            self.corrected_lots.clone_from(&before.corrected_lots);
            self.placed.clone_from(&before.placed);
            self.identified.clone_from(&before.identified);
        }
        if (self.rows.spare, self.rows.containers) == (0, 0) {
            (self.rows.spare, self.rows.containers) = (before.rows.spare, before.rows.containers);
        }
    }

    /// Whether "needle out" may still have been a mistake: nothing was spun.
    pub fn needle_out_can_go(&self) -> bool {
        let t = &self.times;
        t.needle_out.is_some() && t.stages.is_empty() && t.spin_end.is_none() && t.collected.is_none()
    }

    /// Whether "spin ended" may still have been a mistake: nothing was collected.
    pub fn spin_end_can_go(&self) -> bool {
        let t = &self.times;
        t.spin_end.is_some() && t.collected.is_none() && t.handed_over.is_none()
    }

    /// Whether "collected" may still have been a mistake: nothing was ever handed over. Afterwards its time is corrected,
    /// which leaves a trace.
    pub fn collected_can_go(&self) -> bool {
        let t = &self.times;
        t.collected.is_some() && t.handed_over.is_none() && self.hand_overs.is_empty()
    }

    /// Whether a stage of the programme ran. A machine goes from stage to stage by itself: one without a start of its
    /// own ran where it lies between two that have one, or, after the last of them, where the spin went on to its end
    /// without a stop and without a hand.
    pub fn ran(&self, stage: u8) -> bool {
        let times = &self.times;
        let Some((&last, &began)) = times.stages.last_key_value() else { return false };
        if stage <= last {
            return times.stages.keys().next().is_some_and(|first| *first <= stage);
        }
        let stopped = times.first_stop(&self.troubles, |of| of == last, began, times.spin_end);
        times.spin_end.is_some() && stopped.is_none() && !(last..=stage).any(|i| self.by_hand(i))
    }

    /// Since when the spin stands still.
    pub fn spin_stopped(&self) -> Option<Instant> {
        let (last, _) = self.times.stages.last_key_value()?;
        // What a person does does not turn.
        self.times.stopped(&self.troubles).filter(|_| !self.by_hand(*last))
    }

    /// Something went wrong. What was entered already and still stands is not entered twice; a spin that was run
    /// again can stop again, and one entered once it has ended is always another. A rotor that came to rest is balanced
    /// again before it turns.
    pub fn went_wrong(&mut self, trouble: Trouble) {
        let stop = trouble.kind == TroubleKind::SpinStopped;
        let turning = self.times.stages.last_key_value().is_some() && self.times.spin_end.is_none();
        let there = match (stop, turning) {
            (true, true) => self.times.stopped(&self.troubles).is_some(),
            // Entered when all is over, it may be of any run: it is another one.
            (true, false) if self.times.spin_end.is_some() => false,
            _ => self
                .troubles
                .iter()
                .any(|t| t.kind == trouble.kind && t.container == trouble.container && t.stands()),
        };
        if !there {
            // What a person does does not turn: a stop entered meanwhile is of what turned before.
            let running =
                self.times.stages.last_key_value().filter(|(stage, _)| turning && !self.by_hand(**stage));
            if let Some((&stage, _)) = running.filter(|_| stop) {
                let run = self.times.runs(stage);
                let weighed = self.weights(self.spin_of(stage));
                self.times.stops.push(StopOf { at: trouble.at, stage, run, weighed });
            }
            self.troubles.push(trouble);
            if stop && self.spin_stopped().is_some() {
                self.lapse(Changed::Rotor);
            }
        }
    }

    /// It did not go wrong after all; the line stays, struck through. A rotor that never stopped is still balanced.
    /// A container that the product was collected without stays out.
    pub fn withdraw(&mut self, of: &Trouble, back: Check) {
        if of.fixed(&self.times) {
            return;
        }
        let stopped = self.spin_stopped() == Some(of.at);
        if let Some(trouble) = self.troubles.iter_mut().find(|t| *t == of && t.stands()) {
            trouble.withdrawn = Some(back);
        }
        if stopped && of.kind == TroubleKind::SpinStopped && self.spin_stopped().is_none() {
            self.unlapse_balance();
        }
    }

    /// The stage that turns next: the one that stands stopped, else the next of the programme that turns, by its order, for
    /// one that turned may have been left untapped.
    pub(super) fn turns_next(&self) -> Option<u8> {
        let last = self.times.stages.keys().next_back().copied();
        let from = match last {
            Some(last) if self.spin_stopped().is_some() => last,
            _ => last.map_or(0, |last| last.saturating_add(1)),
        };
        let programme = &self.kit.protocol.as_ref()?.programme.0;
        let turns = |i: &u8| programme.get(usize::from(*i)).is_some_and(|stage| stage.speed().is_some());
        (from..super::field::MAX_STAGES).find(turns)
    }

    /// The spin, from 0, that the rotor is loaded for: none while one turns, nor once the last is over.
    pub(super) fn loads(&self) -> Option<usize> {
        let t = &self.times;
        let over = [t.spin_end, t.collected, t.handed_over, self.ended_without].iter().any(Option::is_some);
        let last = t.stages.keys().next_back();
        let turns = last.is_some_and(|last| !self.by_hand(*last) && self.spin_stopped().is_none());
        self.turns_next().filter(|_| !over && !turns).map(|stage| self.spin_of(stage))
    }

    /// The spin, from 0, of a stage that turns.
    fn spin_of(&self, stage: u8) -> usize {
        let spins = self.kit.protocol.as_ref().map(|p| p.programme.spins()).unwrap_or_default();
        spins.iter().position(|stages| stages.contains(&usize::from(stage))).unwrap_or_default()
    }

    /// What was typed of what the scale read for a spin.
    pub(super) fn weights(&self, spin: usize) -> BTreeMap<Field, String> {
        let typed = self
            .texts
            .iter()
            .filter(|(field, text)| field.weighed_for() == Some(spin) && !text.trim().is_empty());
        gather(typed.map(|(field, text)| (*field, text.trim().to_owned())))
    }

    /// What the scale read before a run of a stage that stopped, from 0, by the texts of then, and of which spin that is;
    /// `None` where nothing else was weighed for the run that followed.
    pub fn weighed_before(&self, stage: u8, run: usize) -> Option<(usize, &BTreeMap<Field, String>)> {
        let spin = self.spin_of(stage);
        let of = |run: usize| self.times.stops.iter().rev().find(|s| (s.stage, s.run) == (stage, run));
        let then = &of(run)?.weighed;
        let next = of(run.saturating_add(1)).map_or_else(|| self.weights(spin), |stop| stop.weighed.clone());
        (!then.is_empty() && *then != next).then_some((spin, then))
    }

    /// Whether a stage may begin out of turn, by its row in the programme. What is by hand is not skipped; and what turns
    /// after it, or after a stop, begins by the step that every Stop and the balance hold.
    pub fn begins_by_its_row(&self, index: u8) -> bool {
        let last = self.times.stages.keys().next_back().copied().filter(|last| *last < index);
        let at_rest = |last| self.by_hand(last) || self.spin_stopped().is_some();
        self.times.spin_end.is_none()
            && last.is_some_and(|last| {
                !(last.saturating_add(1)..index).any(|i| self.by_hand(i))
                    && (self.by_hand(index) || !at_rest(last))
            })
    }

    /// The stage that stopped runs again from its start; the run before it stays in the record.
    pub fn run_again(&mut self, at: Instant) {
        let last = self.times.stages.last_key_value().map(|(index, began)| (*index, *began));
        if let (Some((stage, began)), Some(stopped)) = (last, self.spin_stopped()) {
            self.times.interrupted.push(Interrupted { stage, began, stopped });
            self.times.stages.insert(stage, at);
        }
    }

    /// A stage did not begin after all; the rotor was then not opened for it either, and one that is at rest after all
    /// is balanced again. One that was not run again after all stands as it had stopped.
    pub fn take_back_stage(&mut self, index: u8) {
        // A stop of the run that is no longer there is told by its time.
        let run = self.times.runs(index);
        self.times.stops.retain(|stop| (stop.stage, stop.run) != (index, run));
        match self.times.interrupted.pop_if(|run| run.stage == index) {
            Some(run) => drop(self.times.stages.insert(index, run.began)),
            None => drop(self.times.stages.remove(&index)),
        }
        if self.by_hand(index) {
            self.unlapse_balance();
        } else if self.loads().is_some() {
            // What was put into the rotor or taken out of it meanwhile is not known.
            self.take_back(CheckKind::Balance);
        }
    }

    /// The rotor was not touched after all; a newer check stays.
    fn unlapse_balance(&mut self) {
        if !self.checks.contains_key(&CheckKind::Balance)
            && let Some(place) = self.lapsed.iter().rposition(|l| l.changed == Changed::Rotor)
        {
            let was = self.lapsed.remove(place);
            self.checks.insert(was.kind, was.check);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;
    use crate::quantity::unit::Conventions;

    const UTC: Offset = Offset::UTC;

    /// 25 Nov 2026, 00:00 UTC, and minutes after it.
    fn at(hours: i64, minutes: i64) -> Instant {
        Instant(1_795_564_800_000 + (hours * 60 + minutes) * 60_000)
    }

    fn demo() -> Draft {
        Draft::demo("d".into(), CheckSign::pick(0, &[]), at(10, 0), Conventions::default())
    }

    fn stop(minutes: i64) -> Trouble {
        let (kind, at) = (TroubleKind::SpinStopped, at(10, minutes));
        Trouble {
            kind,
            container: None,
            at,
            by: "MO".into(),
            set_aside: false,
            aside: None,
            collected: false,
            withdrawn: None,
        }
    }

    #[test]
    fn the_needle_is_in_from_its_tap_to_the_next_and_for_an_hour_at_most() {
        let mut d = demo();
        assert!(!d.needle_is_in(at(10, 0)));
        d.times.needle_in = Some(at(10, 5));
        assert!(d.needle_is_in(at(10, 5)) && d.needle_is_in(at(11, 5)) && !d.needle_is_in(at(11, 6)));
        assert!(d.needle_is_in(at(9, 30)) && !d.needle_is_in(at(9, 0)), "a clock set back");
        type Step = fn(&mut Draft, Instant);
        let steps: [Step; 5] = [
            |d, t| d.times.needle_out = Some(t),
            |d, t| d.begin_stage(0, t),
            |d, t| d.times.spin_end = Some(t),
            |d, t| d.times.handed_over = Some(t),
            |d, t| d.ended_without = Some(t),
        ];
        for step in steps {
            let mut over = d.clone();
            step(&mut over, at(10, 9));
            assert!(!over.needle_is_in(at(10, 10)));
        }
    }

    fn balanced(d: &mut Draft, minutes: i64) {
        d.checks
            .insert(CheckKind::Balance, Check { by: "MO".into(), at: at(10, minutes), of: String::new() });
    }

    #[test]
    fn a_needle_that_was_no_slip_is_in_again_with_its_containers_and_not_over_what_was_tapped_since() {
        let mut d = demo();
        d.change(|d| d.times.needle_in = Some(at(10, 5)));
        d.one_more_container(2);
        let before = d.clone();
        d.change(|d| {
            d.times.needle_in = None;
            (d.rows.spare, d.rows.containers) = (0, 0);
        });
        let mut again = d.clone();
        again.change(|d| d.needle_in_again(&before));
        assert_eq!(again, before);
        d.change(|d| d.times.needle_in = Some(at(10, 9)));
        d.one_more_container(2);
        d.one_more_container(2);
        d.change(|d| d.needle_in_again(&before));
        assert_eq!((d.times.needle_in, d.rows.spare), (Some(at(10, 9)), 2));
    }

    #[test]
    fn a_time_is_corrected_to_another_of_the_nearest_day_and_leaves_a_trace() {
        let mut d = demo();
        d.times.needle_in = Some(at(10, 45));
        let read = |d: &Draft, typed, offset| d.corrected_time(TimeOf::NeedleIn, typed, offset, at(11, 2));
        assert_eq!(read(&d, "10:31", UTC), Ok(at(10, 31)));
        assert_eq!(read(&d, "11:31", Offset::new(60).unwrap()), Ok(at(10, 31)), "the case's own local time");
        for typed in ["", "soon", "25:00", "10:3"] {
            assert_eq!(read(&d, typed, UTC), Err(TimeRefused::NotATime), "{typed}");
        }
        assert_eq!(read(&d, "11:02", UTC), Ok(at(11, 2)));
        assert_eq!(read(&d, "11:03", UTC), Err(TimeRefused::Ahead));
        assert_eq!(read(&d, "10:45", UTC), Err(TimeRefused::Same));
        assert_eq!(d.corrected_time(TimeOf::SpinEnd, "10:31", UTC, at(11, 2)), Err(TimeRefused::NotATime));
        d.correct(TimeOf::NeedleIn, at(10, 31), "MO".into(), at(11, 2));
        assert_eq!(d.times.needle_in, Some(at(10, 31)));
        let (was, now) = (at(10, 45), at(10, 31));
        let trace = Correction { what: TimeOf::NeedleIn, was, now, by: "MO".into(), at: at(11, 2) };
        assert_eq!(d.corrections, [trace]);
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        // Shortly after midnight the evening before is meant.
        d.times.needle_in = Some(at(0, 5));
        assert_eq!(d.corrected_time(TimeOf::NeedleIn, "23:50", UTC, at(11, 2)), Ok(at(-1, 50)));
    }

    #[test]
    fn every_time_that_is_entered_can_be_corrected() {
        let mut d = demo();
        assert_eq!(d.times.entered(), []);
        let all = [
            TimeOf::NeedleIn,
            TimeOf::NeedleOut,
            TimeOf::Stage(0),
            TimeOf::Stage(2),
            TimeOf::SpinEnd,
            TimeOf::Collected,
            TimeOf::Counted,
            TimeOf::HandedOver,
        ];
        for what in all {
            d.times.set(what, at(10, 30));
            d.correct(what, at(10, 20), "MO".into(), at(11, 0));
            assert_eq!(d.times.get(what), Some(at(10, 20)), "{what:?}");
        }
        assert_eq!(d.times.entered(), all);
        assert_eq!(d.corrections.len(), all.len());
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
    }

    #[test]
    fn a_draft_stored_before_times_could_be_corrected_still_loads() {
        let d = demo();
        let text = d.to_json();
        assert!(!text.contains("corrections") && !text.contains("interrupted"), "{text}");
        assert_eq!(Draft::from_json(&text).unwrap(), d);
    }

    #[test]
    fn needle_out_and_spin_end_can_go_until_something_rests_on_them() {
        let mut d = demo();
        assert!(!d.needle_out_can_go() && !d.spin_end_can_go());
        d.times.needle_out = Some(at(10, 40));
        assert!(d.needle_out_can_go());
        d.begin_stage(0, at(10, 50));
        assert!(!d.needle_out_can_go());
        d.times.spin_end = Some(at(11, 0));
        assert!(d.spin_end_can_go());
        d.times.collected = Some(at(11, 10));
        assert!(!d.spin_end_can_go());
    }

    #[test]
    fn a_spin_that_stopped_is_run_again_and_both_starts_stay() {
        let mut d = demo();
        balanced(&mut d, 49);
        d.went_wrong(stop(49));
        assert_eq!(d.spin_stopped(), None, "nothing had begun");
        d.troubles.clear();
        d.begin_stage(0, at(10, 50));
        d.went_wrong(stop(54));
        d.went_wrong(stop(55));
        assert_eq!((d.spin_stopped(), d.troubles.len()), (Some(at(10, 54)), 1));
        assert!(!d.checks.contains_key(&CheckKind::Balance), "it is balanced again");
        balanced(&mut d, 64);
        d.run_again(at(11, 5));
        let first = Interrupted { stage: 0, began: at(10, 50), stopped: at(10, 54) };
        assert_eq!(d.times.interrupted, [first]);
        assert_eq!((d.times.stages.get(&0), d.spin_stopped()), (Some(&at(11, 5)), None));
        // Tapped by mistake, it stands as it had stopped.
        let mut back = d.clone();
        back.take_back_stage(0);
        assert_eq!((back.times.stages.get(&0), back.spin_stopped()), (Some(&at(10, 50)), Some(at(10, 54))));
        assert_eq!(back.times.interrupted, []);
        // It can stop again.
        d.went_wrong(stop(68));
        d.run_again(at(11, 15));
        assert_eq!((d.times.interrupted.len(), d.troubles.len()), (2, 2));
        d.run_again(at(11, 16));
        assert_eq!(d.times.interrupted.len(), 2, "what turns is not run again");
        d.begin_stage(1, at(11, 26));
        assert_eq!(d.spin_stopped(), None);
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
    }

    /// Hold, by hand, ramp, hold.
    fn with_a_ramp() -> Draft {
        use crate::spin::programme::Stage;
        let mut d = demo();
        let programme = &mut d.kit.protocol.as_mut().unwrap().programme.0;
        let ramp = Stage::Ramp { to: programme[2].speed().unwrap(), time: programme[2].time().unwrap() };
        programme.insert(2, ramp);
        d
    }

    #[test]
    fn nothing_turns_by_its_row_that_the_step_would_hold() {
        let mut d = with_a_ramp();
        balanced(&mut d, 49);
        let rows = |d: &Draft| (0..4).filter(|i| d.begins_by_its_row(*i)).collect::<Vec<_>>();
        assert_eq!(rows(&d), [0u8; 0], "the first begins by the step");
        d.begin_stage(0, at(10, 50));
        assert_eq!(rows(&d), [1], "what is by hand is not skipped");
        d.begin_stage(1, at(11, 0));
        balanced(&mut d, 62);
        assert_eq!(rows(&d), [0u8; 0], "balanced or not");
        d.begin_stage(2, at(11, 3));
        assert_eq!(rows(&d), [3], "a machine goes on by itself");
        d.went_wrong(stop(64));
        balanced(&mut d, 66);
        assert_eq!(rows(&d), [0u8; 0], "what stands still is run again");
        d.run_again(at(11, 7));
        assert_eq!(rows(&d), [3]);
        d.times.spin_end = Some(at(11, 20));
        assert_eq!(rows(&d), [0u8; 0]);
    }

    #[test]
    fn what_was_weighed_before_a_run_that_stopped_is_kept_with_it() {
        use crate::quantity::unit::NumberStyle;
        let mut d = demo();
        d.write(Field::FilledWeight(0), "31.2");
        d.write(Field::FilledWeightSecond(0), "22.5");
        d.begin_stage(0, at(10, 50));
        d.went_wrong(stop(54));
        d.run_again(at(11, 5));
        assert_eq!(d.weighed_before(0, 0), None, "weighed as before");
        d.went_wrong(stop(68));
        d.write(Field::FilledWeight(0), "30.9");
        let then = |text: &str| [(Field::FilledWeight(0), text.to_owned())].into();
        d.run_again(at(11, 15));
        assert_eq!((d.weighed_before(0, 0), d.weighed_before(0, 1)), (None, Some((0, &then("31.2")))));
        let comma = d.in_conventions(Conventions { numbers: NumberStyle::Comma, ..d.conventions });
        assert_eq!(comma.weighed_before(0, 1), Some((0, &then("31,2"))));
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        // Of a second spin, its own; nothing weighed is nothing to keep.
        d.begin_stage(1, at(11, 25));
        d.begin_stage(2, at(11, 30));
        d.went_wrong(stop(95));
        d.write(Field::FilledWeightSecond(0), "");
        d.run_again(at(11, 40));
        let second = [(Field::FilledWeightSecond(0), "22.5".to_owned())].into();
        assert_eq!(d.weighed_before(2, 0), Some((1, &second)));
        let mut bare = demo();
        bare.begin_stage(0, at(10, 50));
        bare.went_wrong(stop(54));
        assert!(!bare.to_json().contains("weighed"));
    }

    #[test]
    fn a_start_taken_back_takes_the_balance_with_it_where_nothing_turns_then() {
        let mut d = with_a_ramp();
        d.times.needle_in = Some(at(10, 31));
        balanced(&mut d, 49);
        d.begin_stage(0, at(10, 50));
        d.take_back_stage(0);
        let back = |d: &Draft| d.lapsed.iter().filter(|l| l.changed == Changed::TakenBack).count();
        assert_eq!((d.checks.contains_key(&CheckKind::Balance), back(&d)), (false, 1));
        // Run again by mistake, it stands stopped.
        d.begin_stage(0, at(10, 51));
        d.went_wrong(stop(54));
        balanced(&mut d, 56);
        d.run_again(at(10, 57));
        d.take_back_stage(0);
        assert_eq!((d.checks.contains_key(&CheckKind::Balance), back(&d)), (false, 2));
        // What a machine goes on to by itself leaves it turning.
        d.run_again(at(10, 58));
        d.begin_stage(1, at(11, 0));
        balanced(&mut d, 62);
        d.begin_stage(2, at(11, 3));
        d.begin_stage(3, at(11, 4));
        d.take_back_stage(3);
        assert_eq!((d.checks.contains_key(&CheckKind::Balance), back(&d)), (true, 2));
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
    }

    #[test]
    fn a_stop_entered_once_all_is_over_is_another() {
        let mut d = demo();
        d.begin_stage(0, at(10, 50));
        d.went_wrong(stop(54));
        d.run_again(at(11, 5));
        d.begin_stage(1, at(11, 20));
        d.begin_stage(2, at(11, 25));
        d.times.spin_end = Some(at(11, 40));
        d.went_wrong(stop(110));
        let stops = |d: &Draft| d.troubles.iter().map(|t| t.at).collect::<Vec<_>>();
        assert_eq!(stops(&d), [at(10, 54), at(11, 50)]);
        assert_eq!((d.spin_stopped(), d.times.runs_before(0).len()), (None, 1), "of which run is not known");
        d.withdraw(&stop(110), Check { by: "MO".into(), at: at(11, 51), of: String::new() });
        assert_eq!(d.troubles.iter().filter(|t| t.stands()).count(), 1);
    }

    #[test]
    fn a_stop_taken_back_gives_the_balance_back() {
        let mut d = demo();
        balanced(&mut d, 49);
        d.begin_stage(0, at(10, 50));
        d.went_wrong(stop(54));
        assert!(!d.checks.contains_key(&CheckKind::Balance));
        d.withdraw(&stop(54), Check { by: "MO".into(), at: at(10, 55), of: String::new() });
        assert_eq!(d.spin_stopped(), None);
        assert_eq!(d.checks.get(&CheckKind::Balance).map(|c| c.at), Some(at(10, 49)));
        assert!(d.lapsed.is_empty() && !d.troubles[0].stands());
    }

    #[test]
    fn a_stop_belongs_to_its_run_whatever_the_start_is_corrected_to() {
        let mut d = demo();
        d.begin_stage(0, at(10, 50));
        d.went_wrong(stop(54));
        // Moved past its stop it still stands still.
        let mut late = d.clone();
        late.correct(TimeOf::Stage(0), at(10, 58), "MO".into(), at(11, 0));
        assert_eq!(late.spin_stopped(), Some(at(10, 54)));
        // Run again, and moved to before the stop, it turns.
        d.run_again(at(11, 5));
        d.correct(TimeOf::Stage(0), at(10, 52), "MO".into(), at(11, 6));
        assert_eq!(d.spin_stopped(), None);
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        // Stored before stops knew their run: by the time, as it was then.
        let mut old = late.clone();
        old.times.stops.clear();
        assert!(!old.to_json().contains("stops"));
        let old = Draft::from_json(&old.to_json()).unwrap();
        assert_eq!(old.spin_stopped(), None);
    }

    #[test]
    fn a_correction_that_crosses_a_neighbour_is_refused() {
        let mut d = demo();
        d.times.needle_in = Some(at(10, 31));
        d.times.needle_out = Some(at(10, 40));
        d.begin_stage(0, at(10, 50));
        d.went_wrong(stop(54));
        let read = |d: &Draft, what, typed| d.corrected_time(what, typed, UTC, at(11, 30));
        for (what, typed) in [
            (TimeOf::NeedleIn, "10:41"),
            (TimeOf::NeedleOut, "10:30"),
            (TimeOf::NeedleOut, "10:51"),
            (TimeOf::Stage(0), "10:39"),
            (TimeOf::Stage(0), "10:55"),
        ] {
            assert_eq!(read(&d, what, typed), Err(TimeRefused::Crosses), "{what:?} {typed}");
        }
        assert_eq!(read(&d, TimeOf::NeedleIn, "10:40"), Ok(at(10, 40)));
        assert_eq!(read(&d, TimeOf::Stage(0), "10:53"), Ok(at(10, 53)));
        d.run_again(at(11, 5));
        assert_eq!(read(&d, TimeOf::Stage(0), "10:53"), Err(TimeRefused::Crosses));
        assert_eq!(read(&d, TimeOf::Stage(0), "11:00"), Ok(at(11, 0)));
        // Out of order already, it may go to its place.
        d.times.needle_in = Some(at(10, 45));
        assert_eq!(read(&d, TimeOf::NeedleIn, "10:31"), Ok(at(10, 31)));
        // A count is typed when it is there.
        d.times.counted = Some(at(11, 20));
        d.times.handed_over = Some(at(11, 15));
        assert_eq!(read(&d, TimeOf::Counted, "11:10"), Ok(at(11, 10)));
    }

    #[test]
    fn a_time_that_was_left_out_is_entered_in_its_place_and_leaves_no_trace() {
        let mut d = demo();
        d.times.needle_in = Some(at(10, 31));
        assert_eq!(d.left_out(), [], "nothing follows yet");
        d.begin_stage(0, at(10, 50));
        assert_eq!((d.left_out(), d.asks_left_out()), (vec![TimeOf::NeedleOut], false));
        d.times.collected = Some(at(11, 33));
        let (second, third) = (TimeOf::Stage(1), TimeOf::Stage(2));
        assert_eq!(d.left_out(), [TimeOf::NeedleOut, second, third, TimeOf::SpinEnd]);
        assert!(d.asks_left_out());
        let told = [
            TimeOf::NeedleIn,
            TimeOf::NeedleOut,
            TimeOf::Stage(0),
            second,
            third,
            TimeOf::SpinEnd,
            TimeOf::Collected,
        ];
        assert_eq!(d.times_told(), told);
        let read = |d: &Draft, what, typed| d.corrected_time(what, typed, UTC, at(11, 50));
        for (what, typed, why) in [
            (TimeOf::SpinEnd, "soon", TimeRefused::NotATime),
            (TimeOf::SpinEnd, "11:51", TimeRefused::Ahead),
            (TimeOf::SpinEnd, "11:34", TimeRefused::Crosses),
            (TimeOf::SpinEnd, "10:49", TimeRefused::Crosses),
            (TimeOf::NeedleOut, "10:30", TimeRefused::Crosses),
            (TimeOf::NeedleOut, "10:51", TimeRefused::Crosses),
            (TimeOf::HandedOver, "11:40", TimeRefused::NotATime),
        ] {
            assert_eq!(read(&d, what, typed), Err(why), "{what:?} {typed}");
        }
        for (what, early, typed, to) in [
            (TimeOf::SpinEnd, "10:49", "11:16", at(11, 16)),
            (second, "11:17", "11:00", at(11, 0)),
            (third, "10:59", "11:06", at(11, 6)),
            (TimeOf::NeedleOut, "10:30", "10:40", at(10, 40)),
        ] {
            assert_eq!(read(&d, what, early), Err(TimeRefused::Crosses), "{what:?}");
            assert_eq!(read(&d, what, typed), Ok(to), "{what:?}");
            d.correct(what, to, "MO".into(), at(11, 50));
            assert_eq!(d.times.get(what), Some(to));
        }
        assert_eq!((d.left_out(), d.asks_left_out(), d.corrections.len()), (vec![], false, 0));
        assert_eq!(Draft::from_json(&d.to_json()).unwrap(), d);
        // Taken shortly after midnight, it ended the evening before.
        d.times.spin_end = None;
        d.times.collected = Some(at(24, 20));
        assert_eq!(d.corrected_time(TimeOf::SpinEnd, "23:50", UTC, at(24, 30)), Ok(at(23, 50)));
    }

    #[test]
    fn what_a_machine_goes_on_to_by_itself_is_not_asked_for() {
        let mut d = with_a_ramp();
        d.times.needle_out = Some(at(10, 40));
        for (stage, minutes) in [(0, 50), (1, 60), (2, 66)] {
            d.begin_stage(stage, at(10, minutes));
        }
        d.times.collected = Some(at(11, 33));
        assert!(d.asks_left_out(), "the end of the spin");
        d.correct(TimeOf::SpinEnd, at(11, 17), "MO".into(), at(11, 40));
        assert_eq!((d.left_out(), d.asks_left_out()), (vec![TimeOf::Stage(3)], false));
        d.times.stages.remove(&2);
        assert!(d.asks_left_out(), "what a person did before it began when they said so");
        d.ended_without = Some(at(11, 45));
        assert!(!d.asks_left_out());
        d.kit.protocol = None;
        d.times = Times { collected: Some(at(11, 33)), ..Times::default() };
        assert_eq!(d.left_out(), [TimeOf::NeedleOut], "nothing is to be spun");
    }

    #[test]
    fn an_end_of_the_spin_that_was_left_out_lies_after_every_run_that_stopped() {
        let mut d = demo();
        d.begin_stage(0, at(10, 50));
        d.went_wrong(stop(54));
        d.run_again(at(11, 5));
        d.begin_stage(1, at(11, 15));
        d.begin_stage(2, at(11, 20));
        d.went_wrong(stop(85));
        d.times.collected = Some(at(11, 40));
        let read = |d: &Draft, what, typed| d.corrected_time(what, typed, UTC, at(11, 50));
        assert_eq!(read(&d, TimeOf::SpinEnd, "11:24"), Err(TimeRefused::Crosses));
        assert_eq!(read(&d, TimeOf::SpinEnd, "11:25"), Ok(at(11, 25)));
        // The needle was out before the run that stopped, not only before the one that followed.
        assert_eq!(read(&d, TimeOf::NeedleOut, "10:51"), Err(TimeRefused::Crosses));
        assert_eq!(read(&d, TimeOf::NeedleOut, "10:40"), Ok(at(10, 40)));
        // Said only after it was collected, a stop tells nothing of when the spin ended.
        let mut late = demo();
        late.begin_stage(0, at(10, 50));
        late.times.collected = Some(at(11, 33));
        late.went_wrong(stop(100));
        assert_eq!(late.times.stops.len(), 1);
        assert_eq!(read(&late, TimeOf::SpinEnd, "11:16"), Ok(at(11, 16)));
    }

    #[test]
    fn what_is_done_by_hand_does_not_stop() {
        let mut d = demo();
        d.begin_stage(0, at(10, 50));
        d.begin_stage(1, at(11, 0));
        d.went_wrong(stop(62));
        assert_eq!(d.spin_stopped(), None);
        // It had stopped in the stage before: without the later tap it stands.
        d.take_back_stage(1);
        assert_eq!(d.spin_stopped(), Some(at(11, 2)));
    }
}
