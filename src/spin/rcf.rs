//! Relative centrifugal force and speed, always at a named radius.

use crate::blood::NOISE;
use crate::evidence::SourceId;
use crate::quantity::{OutOfRange, Quantity, Radius, Rcf, Rpm};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// Standard gravity [m/s²] ([`SourceId::StandardGravity`]).
pub(crate) const GRAVITY: f64 = 9.806_65;

/// Which distance from the axis, in running position ([`SourceId::RadiusNamed`]).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum RadiusKind {
    /// To the surface of the fluid.
    Minimum,
    /// Half-way between the two.
    Mean,
    /// To the bottom of the tube.
    Maximum,
}

/// A radius that says which it is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NamedRadius {
    /// Which.
    pub kind: RadiusKind,
    /// How long.
    pub radius: Radius,
}

/// Half-way between the ends.
pub fn mean_radius(minimum: Radius, maximum: Radius) -> Checked<NamedRadius> {
    // r_mean = (r_min + r_max)/2
    let radius = Radius::new((minimum.get() + maximum.get()) / 2.0)?;
    let line = Working::line(
        StepName::MeanRadius,
        "r_mean = (r_min + r_max)/2",
        "({} + {})/2",
        vec![Figure::of(minimum), Figure::of(maximum)],
        Figure::of(radius),
    );
    Ok(Worked::new(NamedRadius { kind: RadiusKind::Mean, radius }, line.from(SourceId::RadiusNamed)))
}

/// Force at a radius, from the speed.
pub fn rcf(rpm: Rpm, at: NamedRadius) -> Checked<Rcf> {
    // RCF = (2π·n/60)²·r/(1000·g₀), r in mm
    let omega = 2.0 * core::f64::consts::PI * rpm.get() / 60.0;
    let value = Rcf::new(omega * omega * at.radius.get() / 1000.0 / GRAVITY)?;
    let line = Working::line(
        StepName::RcfFromRpm,
        "RCF = (2π·n/60)²·r/(1000·g₀)",
        "(2π·{}/60)²·{}/(1000·{})",
        vec![Figure::of(rpm), Figure::of(at.radius), gravity()],
        Figure::of(value),
    );
    Ok(Worked::new(value, sourced(line)))
}

/// Speed that gives a force at a radius.
pub fn rpm(rcf: Rcf, at: NamedRadius) -> Checked<Rpm> {
    // n = 60/(2π)·√(1000·RCF·g₀/r), r in mm
    let omega = libm::sqrt(1000.0 * rcf.get() * GRAVITY / at.radius.get());
    let value = Rpm::new(60.0 / (2.0 * core::f64::consts::PI) * omega)?;
    let line = Working::line(
        StepName::RpmFromRcf,
        "n = 60/(2π)·√(1000·RCF·g₀/r)",
        "60/(2π)·√(1000·{}·{}/{})",
        vec![Figure::of(rcf), gravity(), Figure::of(at.radius)],
        Figure::of(value),
    );
    Ok(Worked::new(value, sourced(line)))
}

/// The speed on the machine's scale nearest to the one asked for. Errors: a step of zero.
pub fn round_speed(rpm: Rpm, step: Rpm) -> Checked<Rpm> {
    on_scale(step, libm::round(rpm.get() / step.get()))
}

/// The speed on the machine's scale next below, or equal. Errors: a step of zero.
pub fn round_speed_down(rpm: Rpm, step: Rpm) -> Checked<Rpm> {
    on_scale(step, libm::floor(rpm.get() / step.get() * (1.0 + NOISE)))
}

fn on_scale(step: Rpm, count: f64) -> Checked<Rpm> {
    if step.get() == 0.0 {
        return Err(OutOfRange {
            quantity: "speed step",
            value: 0.0,
            min: 1.0,
            max: Rpm::MAX,
            unit: Rpm::UNIT,
        });
    }
    // n = k·s, k a whole number of steps s
    let value = Rpm::new(count * step.get())?;
    let line = Working::line(
        StepName::SpeedRounded,
        "n = k·s",
        "{}·{}",
        vec![Figure::pure(count), Figure::of(step)],
        Figure::of(value),
    );
    Ok(Worked::new(value, line))
}

fn gravity() -> Figure {
    Figure { value: GRAVITY, unit: "m/s²" }
}

fn sourced(line: Working) -> Working {
    line.from(SourceId::RcfFormula).from(SourceId::StandardGravity).from(SourceId::RadiusNamed)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, number, q, sound};

    fn max(radius: f64) -> NamedRadius {
        NamedRadius { kind: RadiusKind::Maximum, radius: q(radius) }
    }

    #[test]
    fn force_as_published() {
        // A01: the constant per cm and rpm², read off at 10 cm and 1000 rpm
        near(number(rcf(q(1000.0), max(100.0))) / 1e7, 1.118_244e-5, 1e-6 * 1.118_244e-5);
        // A02, A03, A04
        near(number(rcf(q(3000.0), max(100.0))), 1006.2, 0.0005 * 1006.2);
        near(number(rcf(q(1000.0), max(100.0))), 111.8, 0.0005 * 111.8);
        near(number(rcf(q(2000.0), max(240.0))), 1073.51, 0.0005 * 1073.51);
        // A07
        let ratio = number(rcf(q(2000.0), max(160.0))) / number(rcf(q(1000.0), max(160.0)));
        near(ratio, 4.0, 1e-12);
    }

    #[test]
    fn speed_as_published_and_back() {
        // A05, A06
        near(number(rpm(q(1500.0), max(160.0))), 2895.46, 0.001 * 2895.46);
        near(number(rpm(q(100.0), max(160.0))), 747.604, 0.001 * 747.604);
        let there = rpm(q(180.0), max(155.0)).unwrap().value;
        near(number(rcf(there, max(155.0))), 180.0, 1e-9);
        assert_eq!(number(rpm(q(0.0), max(155.0))), 0.0);
    }

    #[test]
    fn the_radius_decides() {
        // A08
        let (low, high) = (q(60.0), q(140.0));
        let mean = mean_radius(low, high).unwrap();
        sound(&mean);
        assert_eq!((mean.value.kind, mean.value.radius.get()), (RadiusKind::Mean, 100.0));
        let at = |radius| number(rcf(q(3000.0), radius));
        near(at(NamedRadius { kind: RadiusKind::Minimum, radius: low }), 603.852, 0.001 * 603.852);
        near(at(mean.value), 1006.42, 0.001 * 1006.42);
        near(at(max(140.0)), 1408.99, 0.001 * 1408.99);
        near(at(max(140.0)) / at(mean.value), 1.4, 1e-12);
    }

    #[test]
    fn rounded_to_the_step() {
        let nearest = |n, step| number(round_speed(q(n), q(step)));
        assert_eq!(
            [nearest(1019.2, 10.0), nearest(1014.9, 10.0), nearest(1019.2, 100.0)],
            [1020.0, 1010.0, 1000.0]
        );
        assert_eq!(number(round_speed_down(q(1019.2), q(10.0))), 1010.0);
        // already on the scale, float noise aside
        assert_eq!(number(round_speed_down(q(1_019.999_999_999_9), q(10.0))), 1020.0);
        assert!(round_speed(q(1000.0), q(0.0)).is_err());
        assert!(round_speed_down(q(0.0), q(0.0)).is_err());
    }

    #[test]
    fn a_force_beyond_any_rotor_is_refused() {
        assert_eq!(rcf(q(200_000.0), max(155.0)).unwrap_err().quantity, "relative centrifugal force");
    }
}
