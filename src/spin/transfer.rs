//! A programme carried to another rotor: what keeps the same, for which step, and what does not follow.
//!
//! For a first spin nothing is validated: the same force at a named radius is a start, and counts decide. What is dilute
//! and goes to the bottom in a rotor that swings out, as in a second spin, wants the same clearing: how far a cell gets
//! from the axis grows as e^{s·∫ω²dt}, so that the way from the minimum to the maximum radius takes
//! `∫ω²dt = ln(r_max/r_min)/s`. At a fixed angle the way is across the tube, and neither holds: nothing is carried.

use super::SpinError;
use super::programme::{Programme, RatingBreach, Stage, asked, ratings, set_speed};
use super::rcf::{NamedRadius, RadiusKind, rcf};
use super::rotor::{Rotor, RotorKind};
use crate::evidence::SourceId;
use crate::quantity::{ClearingFactor, Quantity, Rcf, Rpm, Seconds};
use crate::spin::programme::Speed;
use crate::working::{Figure, StepName, Worked, Working};

/// Why a stage cannot be carried over.
#[derive(Debug, Clone, PartialEq)]
pub enum NotCarried {
    /// A radius is missing, or a number leaves its range.
    Spin(SpinError),
    /// One of the two keeps its tubes at an angle.
    FixedAngle,
}

impl From<SpinError> for NotCarried {
    fn from(error: SpinError) -> Self {
        Self::Spin(error)
    }
}

/// A stage on another rotor.
#[derive(Debug, Clone, PartialEq)]
pub struct Carried {
    /// Force that is kept.
    pub force: Worked<Rcf>,
    /// Where it is kept.
    pub at: RadiusKind,
    /// Speed to set for that force there, by the steps of its dial: the one that is held against the ratings.
    pub rpm: Worked<Rpm>,
    /// Ratings of the other rotor, its buckets and the container that this would pass: it may not be run.
    pub over: Vec<RatingBreach>,
    /// A rating on record could not be held against it.
    pub unchecked: bool,
    /// The same clearing at that speed; `None` for a stage whose time is not known.
    pub clearing: Option<Result<Clearing, NotCarried>>,
}

/// A time with the same clearing.
#[derive(Debug, Clone, PartialEq)]
pub struct Clearing {
    /// Clearing factor of the one rotor at its speed, and of the other at its own.
    pub factors: [Worked<ClearingFactor>; 2],
    /// Time on the other.
    pub time: Worked<Seconds>,
}

/// A stage carried over; `None` where nothing turns. A speed in rpm becomes a force at the maximum radius first.
/// Errors: a fixed angle, or a radius that one of the rotors lacks.
pub fn carried(
    stage: &Stage,
    from: &Rotor,
    to: &Rotor,
    container_rated: Option<Rcf>,
) -> Result<Option<Carried>, NotCarried> {
    let Some(speed) = stage.speed() else { return Ok(None) };
    if [from, to].iter().any(|rotor| rotor.kind == RotorKind::FixedAngle) {
        return Err(NotCarried::FixedAngle);
    }
    let (at, force) = match speed {
        Speed::Rcf { g, at } => (at, Worked::new(g, Working::default())),
        Speed::Rpm(rpm) => {
            let at = RadiusKind::Maximum;
            (at, rcf(rpm, from.radius(at)?).map_err(SpinError::from)?)
        }
    };
    let old = asked(speed, from)?.value;
    let kept = Speed::Rcf { g: force.value, at };
    let new = set_speed(kept, to, container_rated)?;
    let there = Stage::Hold { speed: kept, time: Seconds::constant(0.0) };
    let held = ratings(&Programme(vec![there]), to, container_rated);
    let clearing = stage.time().map(|time| clearing(time, (old, from), (new.value, to)));
    let (over, unchecked) = (held.breaches, !held.unchecked.is_empty());
    Ok(Some(Carried { force, at, rpm: new, over, unchecked, clearing }))
}

/// Clearing factor of a rotor at a speed: a cell of so many svedbergs gets from the minimum to the maximum radius in so
/// many hours as the one goes into it [S·h]. Errors: a radius that the rotor lacks, or a rotor that stands still.
/// Source: [`SourceId::Clearing`].
pub fn clearing_factor(rpm: Rpm, rotor: &Rotor) -> Result<Worked<ClearingFactor>, SpinError> {
    let [min, max] = ends(rotor)?.map(|r| r.radius);
    let omega = 2.0 * core::f64::consts::PI * rpm.get() / 60.0;
    // k = ln(r_max/r_min)/ω² · 10¹³/3600: a svedberg is 10⁻¹³ s, an hour 3600 s
    let value = ClearingFactor::new(libm::log(max.get() / min.get()) / (omega * omega) * 1e13 / 3600.0)?;
    let line = Working::line(
        StepName::ClearingFactor,
        "k = ln(r_max/r_min)/(2π·n/60)²·10¹³/3600",
        "ln({}/{})/(2π·{}/60)²·10¹³/3600",
        vec![Figure::of(max), Figure::of(min), Figure::of(rpm)],
        Figure::of(value),
    );
    Ok(Worked::new(value, line.from(SourceId::Clearing).from(SourceId::RadiusNamed)))
}

fn ends(rotor: &Rotor) -> Result<[NamedRadius; 2], SpinError> {
    Ok([rotor.radius(RadiusKind::Minimum)?, rotor.radius(RadiusKind::Maximum)?])
}

/// The time at another speed on another rotor with the same clearing. Source: [`SourceId::Clearing`].
fn clearing(
    time: Seconds,
    (old, from): (Rpm, &Rotor),
    (new, to): (Rpm, &Rotor),
) -> Result<Clearing, NotCarried> {
    let factors = [clearing_factor(old, from)?, clearing_factor(new, to)?];
    let ([min_1, max_1], [min_2, max_2]) = (ends(from)?, ends(to)?);
    let way = |min: NamedRadius, max: NamedRadius| libm::log(max.radius.get() / min.radius.get());
    let ratio = way(min_2, max_2) / way(min_1, max_1);
    let speeds = old.get() / new.get();
    // t₂ = t₁·(n₁/n₂)²·ln(r_max,2/r_min,2)/ln(r_max,1/r_min,1)
    let value = Seconds::new(time.get() * speeds * speeds * ratio).map_err(SpinError::from)?;
    let line = Working::line(
        StepName::Clearing,
        "t₂ = t₁·(n₁/n₂)²·ln(r_max,2/r_min,2)/ln(r_max,1/r_min,1)",
        "{}·({}/{})²·ln({}/{})/ln({}/{})",
        vec![
            Figure::of(time),
            Figure::of(old),
            Figure::of(new),
            Figure::of(max_2.radius),
            Figure::of(min_2.radius),
            Figure::of(max_1.radius),
            Figure::of(min_1.radius),
        ],
        Figure::of(value),
    );
    let time = Worked::new(value, line.from(SourceId::Clearing).from(SourceId::RadiusNamed));
    Ok(Clearing { factors, time })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q, sound};

    fn rotor(minimum: Option<f64>, maximum: Option<f64>, kind: RotorKind) -> Rotor {
        Rotor {
            id: "r".into(),
            name: "Rotor".into(),
            kind,
            minimum: minimum.map(q),
            maximum: maximum.map(q),
            rated_rpm: None,
            rated_bucket: None,
            speed_step: None,
            places: None,
            tolerance: None,
        }
    }

    fn swings(minimum: f64, maximum: f64) -> Rotor {
        rotor(Some(minimum), Some(maximum), RotorKind::SwingOut)
    }

    fn hold(speed: Speed) -> Stage {
        Stage::Hold { speed, time: q(600.0) }
    }

    /// A single cell with dr/dt = s·ω²·r gets from the surface to the bottom in the carried time, if it did in the old
    /// one (Svedberg and Pedersen 1940, from memory: r = r₀·e^{sω²t}).
    #[test]
    fn a_cell_that_just_reached_the_bottom_just_does() {
        let (from, to) = (swings(75.0, 155.0), swings(60.0, 110.0));
        let speed = Speed::Rcf { g: q(900.0), at: RadiusKind::Maximum };
        let found = carried(&hold(speed), &from, &to, None).unwrap().unwrap();
        // √(155/110) times as fast for the same force
        let old = asked(speed, &from).unwrap().value.get();
        near(found.rpm.value.get() / old, (155.0_f64 / 110.0).sqrt(), 1e-12);
        let Clearing { factors, time } = found.clearing.unwrap().unwrap();
        sound(&time);
        factors.iter().for_each(sound);
        // t₂/t₁ = k₂/k₁
        near(time.value.get() / 600.0, factors[1].value.get() / factors[0].value.get(), 1e-12);
        let omega = |rpm: f64| 2.0 * std::f64::consts::PI * rpm / 60.0;
        let s = (155.0_f64 / 75.0).ln() / (omega(old).powi(2) * 600.0);
        let reached = 60.0 * (s * omega(found.rpm.value.get()).powi(2) * time.value.get()).exp();
        near(reached, 110.0, 1e-9);
        // back again is where it began
        let there = Stage::Hold { speed: Speed::Rpm(found.rpm.value), time: time.value };
        let back = carried(&there, &to, &from, None).unwrap().unwrap();
        near(back.rpm.value.get(), old, 1e-9);
        near(back.clearing.unwrap().unwrap().time.value.get(), 600.0, 1e-9);
    }

    #[test]
    fn a_speed_in_rpm_needs_a_radius_to_be_carried() {
        let none = rotor(None, None, RotorKind::SwingOut);
        let speed = hold(Speed::Rpm(q(1000.0)));
        let missing = |kind| Err(NotCarried::Spin(SpinError::RadiusMissing { kind, rotor: "Rotor".into() }));
        assert_eq!(carried(&speed, &none, &swings(75.0, 155.0), None), missing(RadiusKind::Maximum));
        assert_eq!(carried(&speed, &swings(75.0, 155.0), &none, None), missing(RadiusKind::Maximum));
        // The same force needs one radius, the same clearing both.
        let one = rotor(None, Some(155.0), RotorKind::SwingOut);
        let found = carried(&speed, &one, &swings(60.0, 110.0), None).unwrap().unwrap();
        let wanted = SpinError::RadiusMissing { kind: RadiusKind::Minimum, rotor: "Rotor".into() };
        assert_eq!(found.clearing, Some(Err(NotCarried::Spin(wanted))));
        assert_eq!(carried(&Stage::Stop { time: None }, &one, &one, None), Ok(None));
    }

    #[test]
    fn at_a_fixed_angle_nothing_is_carried() {
        let fixed = rotor(Some(50.0), Some(100.0), RotorKind::FixedAngle);
        let swings = swings(75.0, 155.0);
        for speed in [Speed::Rpm(q(1000.0)), Speed::Rcf { g: q(180.0), at: RadiusKind::Maximum }] {
            assert_eq!(carried(&hold(speed), &swings, &fixed, None), Err(NotCarried::FixedAngle));
            assert_eq!(carried(&hold(speed), &fixed, &swings, None), Err(NotCarried::FixedAngle));
        }
    }

    /// 900 ×g are 2278 rpm at 155 mm and 2705 rpm at 110 mm (n = √(900·g₀·1000/110)·60/2π).
    #[test]
    fn what_passes_a_rating_there_is_told() {
        use crate::spin::programme::Rating;
        let (from, to) = (swings(75.0, 155.0), swings(60.0, 110.0));
        let speed = hold(Speed::Rcf { g: q(900.0), at: RadiusKind::Maximum });
        let over = |to: &Rotor, container: Option<f64>| {
            let found = carried(&speed, &from, to, container.map(q)).unwrap().unwrap();
            assert!(!found.unchecked);
            found.over.iter().map(|b| (b.rating, b.value.value.round(), b.limit.value)).collect::<Vec<_>>()
        };
        assert_eq!(over(&to, None), []);
        assert_eq!(over(&Rotor { rated_rpm: Some(q(2706.0)), ..to.clone() }, Some(900.0)), []);
        let slow = Rotor { rated_rpm: Some(q(2700.0)), rated_bucket: Some(q(800.0)), ..to.clone() };
        assert_eq!(
            over(&slow, Some(850.0)),
            [
                (Rating::RotorSpeed, 2705.0, 2700.0),
                (Rating::Bucket, 900.0, 800.0),
                (Rating::Container, 900.0, 850.0)
            ]
        );
    }

    /// What is shown is what was held against the ratings.
    #[test]
    fn the_speed_shown_is_the_one_to_set() {
        let from = swings(75.0, 155.0);
        let speed = hold(Speed::Rcf { g: q(880.0), at: RadiusKind::Maximum });
        // 880 ×g at 110 mm are 2675 rpm
        let to = Rotor { speed_step: Some(q(100.0)), rated_rpm: Some(q(2690.0)), ..swings(60.0, 110.0) };
        let found = carried(&speed, &from, &to, None).unwrap().unwrap();
        assert_eq!((found.rpm.value, found.over.len()), (q(2600.0), 0));
        let free = Rotor { rated_rpm: None, ..to };
        assert_eq!(carried(&speed, &from, &free, None).unwrap().unwrap().rpm.value, q(2700.0));
    }

    #[test]
    fn a_rotor_that_stands_still_clears_nothing() {
        assert!(matches!(clearing_factor(q(0.0), &swings(75.0, 155.0)), Err(SpinError::OutOfRange(_))));
    }
}
