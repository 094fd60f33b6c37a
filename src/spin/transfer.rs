//! A programme carried to another rotor: what keeps the same, for which step, and what does not follow.
//!
//! For a first spin nothing is validated: the same force at a named radius is a start, and counts decide. What is dilute
//! and goes to the bottom in a rotor that swings out, as in a second spin, wants the same clearing: how far a cell gets
//! from the axis grows as e^{s·∫ω²dt}, so that the way from the surface of the fluid to the bottom of the tube takes
//! `∫ω²dt = ln(r_max/r_top)/s`. The surface is where the fluid of that spin stands, not the rotor's minimum radius: that
//! is of a full tube, and a second spin's seldom is. At a fixed angle the way is across the tube, and neither holds:
//! nothing is carried.

use super::SpinError;
use super::programme::{Programme, RatingBreach, Stage, ratings, set_speed};
use super::rcf::{RadiusKind, rcf};
use super::rotor::{Rotor, RotorKind};
use crate::evidence::SourceId;
use crate::quantity::{ClearingFactor, Millimetre, Quantity, Radius, Rcf, Rpm, Seconds};
use crate::spin::programme::Speed;
use crate::working::{Figure, StepName, Worked, Working};

/// Why a stage cannot be carried over.
#[derive(Debug, Clone, PartialEq)]
pub enum NotCarried {
    /// A radius is missing, or a number leaves its range.
    Spin(SpinError),
    /// One of the two keeps its tubes at an angle.
    FixedAngle,
    /// The same clearing does not hold for a first spin, where cells hinder one another.
    FirstSpin,
    /// How high the fluid stands in that spin is not known.
    HeightUnknown,
    /// So high a fluid would reach to the axis of a rotor, by its name.
    NoRoom(String),
}

impl From<SpinError> for NotCarried {
    fn from(error: SpinError) -> Self {
        Self::Spin(error)
    }
}

/// What stands in the tube of a stage: what the same clearing is reckoned for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fluid {
    /// Whole blood, before anybody handled what was spun.
    Whole,
    /// What is dilute, so high above the bottom, on either rotor.
    Dilute(Millimetre),
    /// What is dilute, nobody knows how high.
    Unknown,
}

/// What stands in the tube of each stage of a programme, `height` being what a spin’s fluid is known to stand at,
/// counted from 0: whole blood up to the first handling.
pub fn fluids(programme: &Programme, height: impl Fn(usize) -> Option<Millimetre>) -> Vec<Fluid> {
    let spins = programme.spins();
    let one = |index| match spins.iter().filter(|spin| spin.end <= index).count() {
        0 => Fluid::Whole,
        spin => height(spin).map_or(Fluid::Unknown, Fluid::Dilute),
    };
    (0..programme.0.len()).map(one).collect()
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
    /// The same clearing at that speed, or why there is none; `None` for a stage whose time is not known.
    pub clearing: Option<Result<Clearing, NotCarried>>,
}

/// A time with the same clearing.
#[derive(Debug, Clone, PartialEq)]
pub struct Clearing {
    /// Clearing factor of the one rotor at its speed, and of the other at its own.
    pub factors: [Worked<ClearingFactor>; 2],
    /// Time on the other.
    pub time: Worked<Seconds>,
    /// Of the one and the other: the fluid stands nearer to the axis than the minimum radius on record says.
    pub above_minimum: [bool; 2],
}

/// A stage carried over; `None` where nothing turns. A speed in rpm becomes a force at the maximum radius first.
/// Errors: a fixed angle, or a radius that one of the rotors lacks.
pub fn carried(
    stage: &Stage,
    fluid: Fluid,
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
    // Here as there what is set, by the steps of each dial.
    let old = set_speed(speed, from, container_rated)?.value;
    let kept = Speed::Rcf { g: force.value, at };
    let new = set_speed(kept, to, container_rated)?;
    let there = Stage::Hold { speed: kept, time: Seconds::constant(0.0) };
    let held = ratings(&Programme(vec![there]), to, container_rated);
    let clearing = stage.time().map(|time| match fluid {
        Fluid::Whole => Err(NotCarried::FirstSpin),
        Fluid::Unknown => Err(NotCarried::HeightUnknown),
        Fluid::Dilute(height) => {
            let ways = [way(from, height)?, way(to, height)?];
            let [(here, _), (there, _)] = ways;
            let above_minimum = ways.map(|(_, above)| above);
            let (factors, time) = cleared(time, (old, here), (new.value, there))?;
            Ok(Clearing { factors, time, above_minimum })
        }
    });
    let (over, unchecked) = (held.breaches, !held.unchecked.is_empty());
    Ok(Some(Carried { force, at, rpm: new, over, unchecked, clearing }))
}

/// How far a clearing lies off where the fluid stands at either end of a band: the less and the more, less what was
/// found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClearingOff {
    /// Clearing factors of the one rotor and of the other [S·h].
    pub factors: [[f64; 2]; 2],
    /// Time on the other [s].
    pub time: [f64; 2],
}

/// How far a clearing that was found lies off by the height of its fluid. `None` where there is none at an end.
pub fn clearing_off(
    stage: &Stage,
    ends: [Millimetre; 2],
    from: &Rotor,
    to: &Rotor,
    container_rated: Option<Rcf>,
    found: &Clearing,
) -> Option<ClearingOff> {
    let at = |height| carried(stage, Fluid::Dilute(height), from, to, container_rated).ok()??.clearing?.ok();
    let [low, high] = ends.map(at);
    let (low, high) = (low?, high?);
    let off = |of: &dyn Fn(&Clearing) -> f64| {
        let [low, high] = [&low, &high].map(|end| of(end) - of(found));
        [low.min(high).min(0.0), low.max(high).max(0.0)]
    };
    Some(ClearingOff {
        factors: [off(&|c| c.factors[0].value.get()), off(&|c| c.factors[1].value.get())],
        time: off(&|c| c.time.value.get()),
    })
}

/// Way of a cell: from the surface of the fluid to the bottom of the tube.
pub type Way = [Radius; 2];

/// The way in a fluid so high, and whether it begins nearer to the axis than the minimum radius on record. Errors: no
/// maximum radius, or no room for so much.
fn way(rotor: &Rotor, height: Millimetre) -> Result<(Way, bool), NotCarried> {
    let bottom = rotor.radius(RadiusKind::Maximum)?.radius;
    let top = Radius::new(bottom.get() - height.get()).map_err(|_| NotCarried::NoRoom(rotor.name.clone()))?;
    // Half a millimetre is what a radius is measured to.
    Ok(([top, bottom], rotor.minimum.is_some_and(|minimum| top.get() < minimum.get() - 0.5)))
}

/// Clearing factor at a speed: a cell of so many svedbergs goes its way in so many hours as the one goes into it [S·h].
/// Errors: a rotor that stands still. Source: [`SourceId::Clearing`].
pub fn clearing_factor(rpm: Rpm, [top, bottom]: Way) -> Result<Worked<ClearingFactor>, SpinError> {
    let omega = 2.0 * core::f64::consts::PI * rpm.get() / 60.0;
    // k = ln(r_max/r_top)/ω² · 10¹³/3600: a svedberg is 10⁻¹³ s, an hour 3600 s
    let value = ClearingFactor::new(libm::log(bottom.get() / top.get()) / (omega * omega) * 1e13 / 3600.0)?;
    let line = Working::line(
        StepName::ClearingFactor,
        "k = ln(r_max/r_top)/(2π·n/60)²·10¹³/3600",
        "ln({}/{})/(2π·{}/60)²·10¹³/3600",
        vec![Figure::of(bottom), Figure::of(top), Figure::of(rpm)],
        Figure::of(value),
    );
    Ok(Worked::new(value, line.from(SourceId::Clearing).from(SourceId::RadiusNamed)))
}

/// The time on another speed and way with the same clearing, and the factors of both. Errors: a rotor that stands still,
/// a way of no length. Source: [`SourceId::Clearing`].
pub fn cleared(
    time: Seconds,
    (old, here): (Rpm, Way),
    (new, there): (Rpm, Way),
) -> Result<([Worked<ClearingFactor>; 2], Worked<Seconds>), SpinError> {
    let factors = [clearing_factor(old, here)?, clearing_factor(new, there)?];
    let long = |[top, bottom]: Way| libm::log(bottom.get() / top.get());
    let speeds = old.get() / new.get();
    // t₂ = t₁·(n₁/n₂)²·ln(r_max,2/r_top,2)/ln(r_max,1/r_top,1)
    let value = Seconds::new(time.get() * speeds * speeds * (long(there) / long(here)))?;
    let ([top_1, max_1], [top_2, max_2]) = (here, there);
    let line = Working::line(
        StepName::Clearing,
        "t₂ = t₁·(n₁/n₂)²·ln(r_max,2/r_top,2)/ln(r_max,1/r_top,1)",
        "{}·({}/{})²·ln({}/{})/ln({}/{})",
        vec![
            Figure::of(time),
            Figure::of(old),
            Figure::of(new),
            Figure::of(max_2),
            Figure::of(top_2),
            Figure::of(max_1),
            Figure::of(top_1),
        ],
        Figure::of(value),
    );
    let time = Worked::new(value, line.from(SourceId::Clearing).from(SourceId::RadiusNamed));
    Ok((factors, time))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q, sound};
    use crate::spin::programme::asked;

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

    /// 39 mm of plasma, as the example’s second spin stands.
    const PLASMA: Fluid = Fluid::Dilute(Millimetre::constant(39.0));

    /// A single cell with dr/dt = s·ω²·r gets from the surface to the bottom in the carried time, if it did in the old
    /// one (Svedberg and Pedersen 1940, from memory: r = r₀·e^{sω²t}).
    #[test]
    fn a_cell_that_just_reached_the_bottom_just_does() {
        let (from, to) = (swings(75.0, 155.0), swings(60.0, 110.0));
        let speed = Speed::Rcf { g: q(900.0), at: RadiusKind::Maximum };
        let found = carried(&hold(speed), PLASMA, &from, &to, None).unwrap().unwrap();
        // √(155/110) times as fast for the same force
        let old = asked(speed, &from).unwrap().value.get();
        near(found.rpm.value.get() / old, (155.0_f64 / 110.0).sqrt(), 1e-12);
        let Clearing { factors, time, above_minimum } = found.clearing.unwrap().unwrap();
        sound(&time);
        factors.iter().for_each(sound);
        // t₂/t₁ = k₂/k₁
        near(time.value.get() / 600.0, factors[1].value.get() / factors[0].value.get(), 1e-12);
        let omega = |rpm: f64| 2.0 * std::f64::consts::PI * rpm / 60.0;
        let s = (155.0_f64 / (155.0 - 39.0)).ln() / (omega(old).powi(2) * 600.0);
        let reached = (110.0 - 39.0) * (s * omega(found.rpm.value.get()).powi(2) * time.value.get()).exp();
        near(reached, 110.0, 1e-9);
        // 10 min · 110/155 · ln(110/71)/ln(155/116)
        near(time.value.get() / 60.0, 10.720, 1e-3);
        assert_eq!(above_minimum, [false, false]);
        // back again is where it began
        let there = Stage::Hold { speed: Speed::Rpm(found.rpm.value), time: time.value };
        let back = carried(&there, PLASMA, &to, &from, None).unwrap().unwrap();
        near(back.rpm.value.get(), old, 1e-9);
        near(back.clearing.unwrap().unwrap().time.value.get(), 600.0, 1e-9);
    }

    /// 900 ×g at 155 mm are 2279 rpm, set as 2300 by steps of a hundred: on a rotor like it the time is the same.
    #[test]
    fn what_is_set_here_is_held_against_what_is_set_there() {
        let dial = Rotor { speed_step: Some(q(100.0)), ..swings(75.0, 155.0) };
        let speed = hold(Speed::Rcf { g: q(900.0), at: RadiusKind::Maximum });
        let found = carried(&speed, PLASMA, &dial, &dial, None).unwrap().unwrap();
        near(found.rpm.value.get(), 2300.0, 1e-9);
        let Clearing { factors, time, .. } = found.clearing.unwrap().unwrap();
        near(time.value.get(), 600.0, 1e-9);
        near(factors[0].value.get(), factors[1].value.get(), 1e-9);
    }

    /// 37 and 41 mm about 39: by hand 10 min · 110/155 · ln(110/(110 − h))/ln(155/(155 − h)), 10.646 and 10.796 for 10.720;
    /// a clearing factor goes with ln(r/(r − h)).
    #[test]
    fn a_clearing_is_as_far_off_as_the_height_it_rests_on() {
        let (from, to) = (swings(75.0, 155.0), swings(60.0, 110.0));
        let speed = hold(Speed::Rcf { g: q(900.0), at: RadiusKind::Maximum });
        let clearing = carried(&speed, PLASMA, &from, &to, None).unwrap().unwrap().clearing.unwrap().unwrap();
        let long = |r: f64, h: f64| (r / (r - h)).ln();
        let time = |h: f64| 600.0 * 110.0 / 155.0 * long(110.0, h) / long(155.0, h);
        let found = clearing_off(&speed, [q(37.0), q(41.0)], &from, &to, None, &clearing).unwrap();
        near(found.time[0], time(37.0) - time(39.0), 1e-6);
        near(found.time[1], time(41.0) - time(39.0), 1e-6);
        assert!(found.time[0] < -1.0 && found.time[1] > 1.0, "{found:?}");
        for (r, (factor, off)) in [155.0, 110.0].into_iter().zip(clearing.factors.iter().zip(found.factors)) {
            let of = |h: f64| factor.value.get() * (long(r, h) / long(r, 39.0) - 1.0);
            near(off[0], of(37.0), 1e-6);
            near(off[1], of(41.0), 1e-6);
            assert!(off[0] < -100.0 && off[1] > 100.0, "{off:?}");
        }
        assert_eq!(clearing_off(&speed, [q(37.0), q(108.0)], &from, &to, None, &clearing), None);
    }

    #[test]
    fn a_speed_in_rpm_needs_a_radius_to_be_carried() {
        let none = rotor(None, None, RotorKind::SwingOut);
        let speed = hold(Speed::Rpm(q(1000.0)));
        let missing = |kind| Err(NotCarried::Spin(SpinError::RadiusMissing { kind, rotor: "Rotor".into() }));
        assert_eq!(carried(&speed, PLASMA, &none, &swings(75.0, 155.0), None), missing(RadiusKind::Maximum));
        assert_eq!(carried(&speed, PLASMA, &swings(75.0, 155.0), &none, None), missing(RadiusKind::Maximum));
        let one = rotor(None, Some(155.0), RotorKind::SwingOut);
        assert_eq!(carried(&Stage::Stop { time: None }, PLASMA, &one, &one, None), Ok(None));
    }

    /// Where the fluid stands decides, not what a rotor has on record as its minimum radius.
    #[test]
    fn no_time_where_the_way_is_not_known() {
        let speed = hold(Speed::Rcf { g: q(900.0), at: RadiusKind::Maximum });
        let (from, to) = (swings(75.0, 155.0), swings(60.0, 110.0));
        let clearing = |fluid, to: &Rotor| {
            let found = carried(&speed, fluid, &from, to, None).unwrap().unwrap();
            // The force stays, whatever becomes of the time.
            assert_eq!(found.force.value.get(), 900.0);
            found.clearing.unwrap()
        };
        let bare = rotor(None, Some(110.0), RotorKind::SwingOut);
        assert_eq!(clearing(PLASMA, &bare).unwrap().time.value, clearing(PLASMA, &to).unwrap().time.value);
        assert_eq!(clearing(Fluid::Whole, &to), Err(NotCarried::FirstSpin));
        assert_eq!(clearing(Fluid::Unknown, &to), Err(NotCarried::HeightUnknown));
        assert_eq!(clearing(Fluid::Dilute(q(105.0)), &to), Err(NotCarried::NoRoom("Rotor".into())));
        // 60 mm of fluid reach to 50 mm from the axis, where the record says 60; in the other to 95 of 75.
        assert_eq!(clearing(Fluid::Dilute(q(60.0)), &to).unwrap().above_minimum, [false, true]);
        assert!(clearing(Fluid::Dilute(q(0.0)), &to).is_err());
    }

    #[test]
    fn whole_blood_stands_in_the_tube_until_somebody_handles_it() {
        let speed = Speed::Rcf { g: q(180.0), at: RadiusKind::Maximum };
        let by_hand = || Stage::Handling { what: String::new(), time: None };
        let stop = || Stage::Stop { time: None };
        let heights = |spin: usize| (spin == 1).then(|| q(39.0));
        let of = |stages: Vec<Stage>| fluids(&Programme(stages), heights);
        use Fluid::{Unknown, Whole};
        // Two holds of one spin are both of it; a hand before anything turned moves nothing on.
        assert_eq!(of(vec![by_hand(), hold(speed), hold(speed)]), [Whole; 3]);
        let stages = vec![hold(speed), stop(), by_hand(), by_hand(), hold(speed), by_hand(), hold(speed)];
        assert_eq!(of(stages), [Whole, Whole, PLASMA, PLASMA, PLASMA, Unknown, Unknown]);
    }

    /// The share that stays above the line at the same line, by the solver of the whole column: plasma without red cells,
    /// 900 ×g at 155 mm for ten minutes, and on rotors of 110 and 200 mm for the time with the same clearing. The way
    /// between the radii on record would leave 45 or 7 % there in place of 22.
    #[test]
    fn the_column_clears_as_far_in_the_time_that_is_told() {
        use crate::spin::column::{Line, Setup, picture};
        let mut plasma = Setup::from_json(include_str!("../../tests/shell/demo_spin.json")).unwrap();
        plasma.spins.truncate(1);
        plasma.spins[0].profiles_at.clear();
        plasma.blood.haematocrit = q(0.0);
        plasma.blood.blood = q(6.0);
        plasma.blood.anticoagulant = q(0.9);
        plasma.rotor = swings(75.0, 155.0);
        plasma.spins[0].parting.line = Line::AboveBottom { kept: q(1.0) };
        let shares = |rotor: &Rotor, stage: Stage| {
            let mut setup = Setup { rotor: rotor.clone(), ..plasma.clone() };
            setup.spins[0].programme = Programme(vec![stage]);
            let spun = picture(&setup).unwrap().spins.swap_remove(0);
            (spun.column, spun.collection.platelets_above)
        };
        let speed = Speed::Rcf { g: q(900.0), at: RadiusKind::Maximum };
        let (height, here) = shares(&plasma.rotor, hold(speed));
        let fluid = Fluid::Dilute(q(height));
        for to in [swings(60.0, 110.0), swings(90.0, 200.0)] {
            let found = carried(&hold(speed), fluid, &plasma.rotor, &to, None).unwrap().unwrap();
            let time = found.clearing.unwrap().unwrap().time.value;
            let (_, there) = shares(&to, Stage::Hold { speed: Speed::Rpm(found.rpm.value), time });
            println!(
                "{height:.1} mm: {here:.4} above the line, {there:.4} after {:.1} min",
                time.get() / 60.0
            );
            assert!((there / here - 1.0).abs() < 0.03, "{here} {there}");
            let long = |r: &Rotor| (r.maximum.unwrap().get() / r.minimum.unwrap().get()).ln();
            let time = 600.0 * to.maximum.unwrap().get() / 155.0 * long(&to) / long(&plasma.rotor);
            let (_, wrong) = shares(&to, Stage::Hold { speed: Speed::Rpm(found.rpm.value), time: q(time) });
            assert!((wrong / here - 1.0).abs() > 0.3, "{here} {wrong}");
        }
    }

    #[test]
    fn at_a_fixed_angle_nothing_is_carried() {
        let fixed = rotor(Some(50.0), Some(100.0), RotorKind::FixedAngle);
        let swings = swings(75.0, 155.0);
        for speed in [Speed::Rpm(q(1000.0)), Speed::Rcf { g: q(180.0), at: RadiusKind::Maximum }] {
            assert_eq!(carried(&hold(speed), PLASMA, &swings, &fixed, None), Err(NotCarried::FixedAngle));
            assert_eq!(carried(&hold(speed), PLASMA, &fixed, &swings, None), Err(NotCarried::FixedAngle));
        }
    }

    /// 900 ×g are 2278 rpm at 155 mm and 2705 rpm at 110 mm (n = √(900·g₀·1000/110)·60/2π).
    #[test]
    fn what_passes_a_rating_there_is_told() {
        use crate::spin::programme::Rating;
        let (from, to) = (swings(75.0, 155.0), swings(60.0, 110.0));
        let speed = hold(Speed::Rcf { g: q(900.0), at: RadiusKind::Maximum });
        let over = |to: &Rotor, container: Option<f64>| {
            let found = carried(&speed, PLASMA, &from, to, container.map(q)).unwrap().unwrap();
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
        let found = carried(&speed, PLASMA, &from, &to, None).unwrap().unwrap();
        assert_eq!((found.rpm.value, found.over.len()), (q(2600.0), 0));
        let free = Rotor { rated_rpm: None, ..to };
        assert_eq!(carried(&speed, PLASMA, &from, &free, None).unwrap().unwrap().rpm.value, q(2700.0));
    }

    #[test]
    fn a_rotor_that_stands_still_clears_nothing() {
        assert!(matches!(clearing_factor(q(0.0), [q(75.0), q(155.0)]), Err(SpinError::OutOfRange(_))));
    }
}
