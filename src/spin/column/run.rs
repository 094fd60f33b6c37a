//! Lets a programme run: how long each step is, and when to look.

use super::blood::Mixture;
use super::prior::Assumed;
use super::{Moment, Profile, collect, layers};
use crate::arrange::sort_by;
use crate::quantity::{Quantity, Seconds};
use crate::spin::exposure::Stretch;
use strawline_sedimentation::{Column, Drive, Law, Solver};

/// Moments of a series, evenly over the programme, its start not counted.
const MOMENTS: u32 = 60;

/// A programme on a rotor.
pub(super) struct Run {
    /// Bottom of the tube from the axis [m].
    pub bottom: f64,
    pub stretches: Vec<Stretch>,
    /// In all [s].
    pub time: f64,
    /// Angular speed [1/s].
    pub fastest: f64,
}

/// Angular speed [1/s] of revolutions per minute.
pub(super) fn angular(rpm: f64) -> f64 {
    2.0 * core::f64::consts::PI * rpm / 60.0
}

/// When to look.
pub(super) struct Watch {
    /// Moments of the series [s].
    series: Vec<f64>,
    /// Moments of the profiles [s].
    profiles: Vec<f64>,
    /// It is of plasma that is spun again.
    again: bool,
}

impl Watch {
    pub fn new(run: &Run, profiles: &[Seconds], again: bool) -> Self {
        // The last is the very end, whatever a fraction of the whole rounds to.
        let moments = (0..MOMENTS).map(|i| run.time * f64::from(i) / f64::from(MOMENTS)).chain([run.time]);
        let mut profiles: Vec<f64> = profiles.iter().map(|at| at.get()).chain([run.time]).collect();
        sort_by(&mut profiles, f64::total_cmp);
        profiles.dedup();
        Self { series: moments.collect(), profiles, again }
    }

    /// The next moment to look, at or after a time.
    fn next(&self, time: f64) -> f64 {
        let after = |all: &[f64]| all.get(all.partition_point(|at| *at <= time)).copied();
        [after(&self.series), after(&self.profiles)].into_iter().flatten().fold(f64::INFINITY, f64::min)
    }
}

/// Lets the programme run. Every moment to look and every change of speed ends a step.
pub(super) fn turn(
    column: &mut Column,
    mixture: &Mixture,
    law: &Law,
    run: &Run,
    assumed: &Assumed,
    watch: Watch,
) -> (Vec<Moment>, Vec<Profile>, u64) {
    let (mut series, mut profiles, mut steps) = (Vec::new(), Vec::new(), 0_u64);
    let mut solver = Solver::new(column, law);
    let onset = |time: f64| 1.0 - libm::exp(-time / assumed.onset);
    let seconds = |time: f64| Seconds::new(time.max(0.0)).unwrap_or(Seconds::constant(0.0));
    let mut look = |column: &Column, time: f64| {
        if watch.series.contains(&time) {
            series.push(Moment { time: seconds(time), above: collect::above(column, mixture) });
        }
        if watch.profiles.contains(&time) {
            let gathered = collect::gathered(column, mixture, watch.again);
            profiles.push(Profile { time: seconds(time), layers: layers(column, mixture), gathered });
        }
    };
    look(column, 0.0);
    let mut begun = 0.0;
    let last = run.stretches.iter().rposition(|s| s.time.get() > 0.0);
    for (i, stretch) in run.stretches.iter().enumerate() {
        let length = stretch.time.get();
        // The last one ends where all end, whatever the sum of them rounds to.
        let end = if Some(i) == last { run.time } else { begun + length };
        let (from, to) = (angular(stretch.from.get()), angular(stretch.to.get()));
        let drive = |time: f64| {
            let part = ((time - begun) / length).clamp(0.0, 1.0);
            Drive { omega: from + part * (to - from), onset: onset(time) }
        };
        let mut now = begun;
        while now < end {
            let until = watch.next(now).min(end);
            let here = drive(now);
            // As fast and as clumped as it will be within the step.
            let most = |time: f64| {
                let there = drive(time);
                Drive { omega: here.omega.max(there.omega), onset: there.onset }
            };
            let reach = (now + solver.longest(here)).min(until);
            let long = (now + solver.longest(most(reach))).min(reach);
            // Too little to tell one moment from the next: take all of it, and leave the column as it is.
            if long > now {
                solver.step(long - now, here, drive(long));
                steps += 1;
                now = long;
            } else {
                now = until;
            }
            if now >= until {
                now = until;
                solver.show(column);
                look(column, now);
            }
        }
        begun = end;
    }
    (series, profiles, steps)
}
