//! Relative centrifugal force and speed, always at a named radius.

use crate::blood::NOISE;
use crate::evidence::SourceId;
use crate::quantity::{OutOfRange, Quantity, Radius, Rcf, Rpm};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// Standard gravity [m/s²] ([`SourceId::StandardGravity`]).
const GRAVITY: f64 = 9.806_65;

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
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct NamedRadius {
    /// Which.
    pub kind: RadiusKind,
    /// How long.
    pub radius: Radius,
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
    on_scale(rpm, step, libm::round(steps(rpm, step)))
}

/// The speed on the machine's scale next below, or equal. Errors: a step of zero.
pub fn round_speed_down(rpm: Rpm, step: Rpm) -> Checked<Rpm> {
    on_scale(rpm, step, libm::floor(steps(rpm, step) * (1.0 + NOISE)))
}

fn steps(rpm: Rpm, step: Rpm) -> f64 {
    rpm.get() / step.get()
}

fn on_scale(rpm: Rpm, step: Rpm, count: f64) -> Checked<Rpm> {
    if step.get() == 0.0 {
        return Err(OutOfRange { quantity: "speed step", value: 0.0, min: 1.0, max: Rpm::MAX, unit: Rpm::UNIT });
    }
    // n = step·k, k a whole number
    let value = Rpm::new(count * step.get())?;
    let line = Working::line(
        StepName::SpeedRounded,
        "n = step·k",
        "{} on a scale of {}",
        vec![Figure::of(rpm), Figure::of(step)],
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
