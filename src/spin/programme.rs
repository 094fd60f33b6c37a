//! A spin programme: stages in any order, what the clock says, and what the ratings say.

use super::SpinError;
use super::rcf::{RadiusKind, rcf, round_speed, round_speed_down, rpm};
use super::rotor::Rotor;
use crate::blood::above;
use crate::quantity::{OutOfRange, Quantity, Rcf, Rpm, Seconds};
use crate::working::{Figure, Worked, Working};
use core::ops::Range;
use serde::{Deserialize, Serialize};

/// A speed as it was given.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Speed {
    /// Revolutions per minute.
    Rpm(Rpm),
    /// Force at a named radius.
    Rcf {
        /// The force.
        g: Rcf,
        /// Where.
        at: RadiusKind,
    },
}

/// One stage. Times in seconds.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Stage {
    /// Speeding up or slowing down, from wherever the stage before ended.
    Ramp {
        /// The speed reached.
        to: Speed,
        /// How long it takes.
        time: Seconds,
    },
    /// A constant speed.
    Hold {
        /// The speed.
        speed: Speed,
        /// How long it is held.
        time: Seconds,
    },
    /// Braking to a standstill.
    Stop {
        /// How long it takes; `None`: until a person says it stands.
        time: Option<Seconds>,
    },
    /// A person does something.
    Handling {
        /// What, in the clinic's words.
        what: String,
        /// How long; `None`: until a person says it is done.
        time: Option<Seconds>,
    },
}

/// What a stage does.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StageKind {
    /// A constant speed.
    Hold,
    /// Speeding up or slowing down.
    Ramp,
    /// Braking to a standstill.
    Stop,
    /// A person does something.
    Handling,
}

impl StageKind {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Hold, Self::Ramp, Self::Stop, Self::Handling];
}

impl Speed {
    /// The same speed is given otherwise from now on: at a radius, or `None` in rpm. A force of another radius is another
    /// speed, but its number stays to be looked at; between force and rpm nothing is carried over.
    pub fn give(&mut self, at: Option<RadiusKind>) {
        *self = match (at, *self) {
            (None, Speed::Rpm(rpm)) => Speed::Rpm(rpm),
            (None, Speed::Rcf { .. }) => Stage::NO_SPEED,
            (Some(at), Speed::Rcf { g, .. }) => Speed::Rcf { g, at },
            (Some(at), Speed::Rpm(_)) => Speed::Rcf { g: Rcf::constant(0.0), at },
        };
    }
}

impl Stage {
    /// A speed that was not said.
    pub const NO_SPEED: Speed = Speed::Rpm(Rpm::constant(0.0));

    /// What it does.
    pub fn kind(&self) -> StageKind {
        match self {
            Stage::Hold { .. } => StageKind::Hold,
            Stage::Ramp { .. } => StageKind::Ramp,
            Stage::Stop { .. } => StageKind::Stop,
            Stage::Handling { .. } => StageKind::Handling,
        }
    }
    /// It does something else from now on, with the speed and time it had; what was not said is zero.
    pub fn turn_into(&mut self, kind: StageKind) {
        let (speed, time) = (self.speed().unwrap_or(Self::NO_SPEED), self.time());
        let fixed = time.unwrap_or(Seconds::constant(0.0));
        *self = match kind {
            StageKind::Hold => Stage::Hold { speed, time: fixed },
            StageKind::Ramp => Stage::Ramp { to: speed, time: fixed },
            StageKind::Stop => Stage::Stop { time },
            StageKind::Handling => Stage::Handling { what: String::new(), time },
        };
    }
    /// Its speed; `None` for a stop and for handling.
    pub fn speed_mut(&mut self) -> Option<&mut Speed> {
        match self {
            Stage::Hold { speed, .. } | Stage::Ramp { to: speed, .. } => Some(speed),
            Stage::Stop { .. } | Stage::Handling { .. } => None,
        }
    }
    /// Another time; a hold and a ramp have one, and stay as they are without.
    pub fn take(&mut self, new: Option<Seconds>) {
        match self {
            Stage::Ramp { time, .. } | Stage::Hold { time, .. } => *time = new.unwrap_or(*time),
            Stage::Stop { time } | Stage::Handling { time, .. } => *time = new,
        }
    }
    /// Whether it can run: what turns has a speed, and a hold a time.
    pub fn is_whole(&self) -> bool {
        let turns = |speed: &Speed| match speed {
            Speed::Rpm(rpm) => rpm.get() > 0.0,
            Speed::Rcf { g, .. } => g.get() > 0.0,
        };
        match self {
            Stage::Hold { speed, time } => turns(speed) && time.get() > 0.0,
            Stage::Ramp { to, .. } => turns(to),
            Stage::Stop { .. } | Stage::Handling { .. } => true,
        }
    }
    /// Planned time; `None` where a person ends the stage.
    pub fn time(&self) -> Option<Seconds> {
        match self {
            Stage::Ramp { time, .. } | Stage::Hold { time, .. } => Some(*time),
            Stage::Stop { time } | Stage::Handling { time, .. } => *time,
        }
    }
    /// The highest speed asked for; `None` for a stop and for handling.
    pub fn speed(&self) -> Option<Speed> {
        match self {
            Stage::Ramp { to: speed, .. } | Stage::Hold { speed, .. } => Some(*speed),
            Stage::Stop { .. } | Stage::Handling { .. } => None,
        }
    }
}

/// Stages in the order they run.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Programme(pub Vec<Stage>);

/// Time planned for a programme.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlannedTime {
    /// All stages whose time is known.
    pub known: Seconds,
    /// How many stages a person ends.
    pub open_stages: usize,
}

/// Where the clock stands.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Stage, counted from 0.
    pub index: usize,
    /// Time left in it; `None` where a person ends it.
    pub remaining: Option<Seconds>,
}

impl Programme {
    /// Time planned. Errors: more than a clock of a week holds.
    pub fn planned(&self) -> Result<PlannedTime, OutOfRange> {
        let known = Seconds::new(self.0.iter().filter_map(Stage::time).map(Seconds::get).sum())?;
        Ok(PlannedTime { known, open_stages: self.0.iter().filter(|s| s.time().is_none()).count() })
    }

    /// The stage that runs `elapsed` after the start. A stage begins the moment the one before ends; an open
    /// stage runs until a person ends it. `None`: all are over.
    pub fn at(&self, elapsed: Seconds) -> Option<Position> {
        let mut end = 0.0;
        for (index, stage) in self.0.iter().enumerate() {
            let Some(time) = stage.time() else {
                return Some(Position { index, remaining: None });
            };
            end += time.get();
            if elapsed.get() < end {
                return Some(Position { index, remaining: Seconds::new(end - elapsed.get()).ok() });
            }
        }
        None
    }

    /// The stages of each spin: cut where a person handles what was spun; what does not turn is none.
    pub fn spins(&self) -> Vec<Range<usize>> {
        let mut begin = 0;
        let one = |part: &[Stage]| {
            let stages = begin..begin + part.len();
            // The one that cuts belongs to neither.
            begin = stages.end + 1;
            part.iter().any(|stage| stage.speed().is_some()).then_some(stages)
        };
        self.0.split(|stage| matches!(stage, Stage::Handling { .. })).filter_map(one).collect()
    }

    /// Some of its stages, as a programme.
    pub fn part(&self, stages: Range<usize>) -> Self {
        Self(self.0.get(stages).unwrap_or_default().to_vec())
    }

    /// The highest speed of all stages and the stage that has it; `None` where nothing turns.
    pub fn peak(&self, rotor: &Rotor) -> Result<Option<(usize, Rpm)>, SpinError> {
        let mut peak: Option<(usize, Rpm)> = None;
        for (index, stage) in self.0.iter().enumerate() {
            if let Some(speed) = stage.speed() {
                let rpm = asked(speed, rotor)?.value;
                if peak.is_none_or(|(_, highest)| rpm > highest) {
                    peak = Some((index, rpm));
                }
            }
        }
        Ok(peak)
    }
}

/// A speed as revolutions per minute on this rotor, unrounded. Errors: a radius the rotor lacks.
pub fn asked(speed: Speed, rotor: &Rotor) -> Result<Worked<Rpm>, SpinError> {
    match speed {
        Speed::Rpm(value) => Ok(Worked::new(value, Working::default())),
        Speed::Rcf { g, at } => Ok(rpm(g, rotor.radius(at)?)?),
    }
}

/// What to set on the machine: the nearest step, or the one below where rounding up alone would pass a
/// rating. Without a step, the speed asked for.
pub fn set_speed(
    speed: Speed,
    rotor: &Rotor,
    container_rated: Option<Rcf>,
) -> Result<Worked<Rpm>, SpinError> {
    let asked = asked(speed, rotor)?;
    let Some(step) = rotor.speed_step else {
        return Ok(asked);
    };
    let nearest = round_speed(asked.value, step)?;
    let passes = |rpm| passed(rpm, rotor, container_rated, 0).breaches.len();
    let rounded = if passes(nearest.value) > passes(asked.value) {
        round_speed_down(asked.value, step)?
    } else {
        nearest
    };
    Ok(Worked::new(rounded.value, asked.working.then(rounded.working)))
}

/// Force of a stage, wherever the rotor has a radius on record.
#[derive(Debug, Clone, PartialEq)]
pub struct StageForce {
    /// Speed set on the machine.
    pub rpm: Worked<Rpm>,
    /// At the minimum radius.
    pub minimum: Option<Worked<Rcf>>,
    /// At the mean radius.
    pub mean: Option<Worked<Rcf>>,
    /// At the maximum radius.
    pub maximum: Option<Worked<Rcf>>,
}

/// Force of a stage at its highest speed, as set; `None` for a stop and for handling. Errors: a speed given at
/// a radius the rotor lacks.
pub fn stage_force(
    stage: &Stage,
    rotor: &Rotor,
    container_rated: Option<Rcf>,
) -> Result<Option<StageForce>, SpinError> {
    let Some(speed) = stage.speed() else {
        return Ok(None);
    };
    let rpm = set_speed(speed, rotor, container_rated)?;
    let at = |kind| match rotor.radius(kind) {
        Ok(radius) => rcf(rpm.value, radius).map(Some).map_err(SpinError::from),
        Err(SpinError::RadiusMissing { .. }) => Ok(None),
        Err(error) => Err(error),
    };
    Ok(Some(StageForce {
        minimum: at(RadiusKind::Minimum)?,
        mean: at(RadiusKind::Mean)?,
        maximum: at(RadiusKind::Maximum)?,
        rpm,
    }))
}

/// What is rated.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rating {
    /// The rotor's speed.
    RotorSpeed,
    /// The bucket's force.
    Bucket,
    /// The container's force.
    Container,
}

/// A rating passed. It cannot be overridden.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatingBreach {
    /// Stage, counted from 0.
    pub stage: usize,
    /// Which rating.
    pub rating: Rating,
    /// What the stage would do.
    pub value: Figure,
    /// What is allowed.
    pub limit: Figure,
}

/// A programme held against its ratings.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ratings {
    /// Ratings passed.
    pub breaches: Vec<RatingBreach>,
    /// Stage and reason where a rating on record could not be checked: to be treated as a Stop too.
    pub unchecked: Vec<(usize, SpinError)>,
}

/// Every stage against every rating on record, forces at the maximum radius, speeds as set on the machine.
/// A rating reached exactly is kept; only above is a breach.
pub fn ratings(programme: &Programme, rotor: &Rotor, container_rated: Option<Rcf>) -> Ratings {
    let mut all = Ratings::default();
    for (index, stage) in programme.0.iter().enumerate() {
        let Some(speed) = stage.speed() else { continue };
        match set_speed(speed, rotor, container_rated) {
            Ok(rpm) => {
                let found = passed(rpm.value, rotor, container_rated, index);
                all.breaches.extend(found.breaches);
                all.unchecked.extend(found.unchecked);
            }
            Err(error) => all.unchecked.push((index, error)),
        }
    }
    all
}

fn passed(rpm: Rpm, rotor: &Rotor, container_rated: Option<Rcf>, stage: usize) -> Ratings {
    let mut found = Ratings::default();
    let mut breach = |rating, value: Figure, limit: Figure| {
        if above(value.value, limit.value) {
            found.breaches.push(RatingBreach { stage, rating, value, limit });
        }
    };
    if let Some(rated) = rotor.rated_rpm {
        breach(Rating::RotorSpeed, Figure::of(rpm), Figure::of(rated));
    }
    let rated = [(Rating::Bucket, rotor.rated_bucket), (Rating::Container, container_rated)];
    if rated.iter().all(|(_, limit)| limit.is_none()) {
        return found;
    }
    let force = rotor.radius(RadiusKind::Maximum).and_then(|radius| Ok(rcf(rpm, radius)?));
    match force {
        Ok(force) => {
            for (rating, limit) in rated {
                if let Some(limit) = limit {
                    breach(rating, Figure::of(force.value), Figure::of(limit));
                }
            }
        }
        Err(error) => found.unchecked.push((stage, error)),
    }
    found
}

#[cfg(test)]
#[path = "programme_tests.rs"]
mod tests;
