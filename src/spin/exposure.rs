//! A programme as the rotor runs it, second by second, and the force it adds up to.

use super::SpinError;
use super::programme::{Programme, Stage, set_speed};
use super::rcf::{GRAVITY, RadiusKind};
use super::rotor::Rotor;
use crate::evidence::SourceId;
use crate::quantity::{ForceTime, Quantity, Rcf, Rpm, Seconds};
use crate::working::{Figure, StepName, Worked, Working};

/// A stretch of a programme in which the speed changes evenly.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// How long.
    pub time: Seconds,
    /// Speed at its start.
    pub from: Rpm,
    /// Speed at its end.
    pub to: Rpm,
}

/// The programme as stretches, speeds as set on the machine. A hold begins at its speed; a stop whose time a person
/// decides takes none, and nothing turns while somebody handles the tube. Errors: as [`set_speed`].
pub fn stretches(
    programme: &Programme,
    rotor: &Rotor,
    container_rated: Option<Rcf>,
) -> Result<Vec<Stretch>, SpinError> {
    let still = Rpm::new(0.0)?;
    let mut speed = still;
    let mut found = Vec::with_capacity(programme.0.len());
    for stage in &programme.0 {
        let asked = |speed| Ok::<_, SpinError>(set_speed(speed, rotor, container_rated)?.value);
        let (from, to) = match stage {
            Stage::Ramp { to, .. } => (speed, asked(*to)?),
            Stage::Hold { speed, .. } => (asked(*speed)?, asked(*speed)?),
            Stage::Stop { .. } => (speed, still),
            Stage::Handling { .. } => (still, still),
        };
        if let Some(time) = stage.time() {
            found.push(Stretch { time, from, to });
        }
        speed = to;
    }
    Ok(found)
}

/// Force over time at a radius, ramps and all. Source: `T(n₀² + n₀·n₁ + n₁²)/3` is the integral of the square of a
/// speed that changes evenly. Errors: as [`stretches`], or a radius the rotor lacks.
pub fn exposure(
    programme: &Programme,
    rotor: &Rotor,
    at: RadiusKind,
    container_rated: Option<Rcf>,
) -> Result<Worked<ForceTime>, SpinError> {
    let radius = rotor.radius(at)?.radius;
    let stretches = stretches(programme, rotor, container_rated)?;
    // ∫n²dt = Σ T·(n₀² + n₀·n₁ + n₁²)/3
    let squared: f64 = stretches
        .iter()
        .map(|s| (s.time.get(), s.from.get(), s.to.get()))
        .map(|(time, from, to)| time * (from * from + from * to + to * to) / 3.0)
        .sum();
    // ∫RCF dt = (2π/60)²·r/(1000·g₀)·∫n²dt, r in mm
    let turn = 2.0 * core::f64::consts::PI / 60.0;
    let value = ForceTime::new(turn * turn * radius.get() / 1000.0 / GRAVITY * squared)?;
    let line = Working::line(
        StepName::Exposure,
        "∫RCF dt = (2π/60)²·r/(1000·g₀)·Σ T·(n₀² + n₀·n₁ + n₁²)/3",
        "(2π/60)²·{}/(1000·{})·{}",
        vec![
            Figure::of(radius),
            Figure { value: GRAVITY, unit: "m/s²" },
            Figure { value: squared, unit: "rpm²·s" },
        ],
        Figure::of(value),
    );
    let line = line.from(SourceId::RcfFormula).from(SourceId::StandardGravity).from(SourceId::RadiusNamed);
    Ok(Worked::new(value, line))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q, sound};
    use crate::spin::programme::Speed;
    use crate::spin::rotor::RotorKind;

    fn rotor() -> Rotor {
        Rotor {
            id: "r".into(),
            name: "Swing-out".into(),
            kind: RotorKind::SwingOut,
            minimum: None,
            maximum: Some(q(155.0)),
            rated_rpm: None,
            rated_bucket: None,
            speed_step: None,
            places: None,
            tolerance: None,
        }
    }

    fn at_max(stages: &[Stage]) -> f64 {
        let found = exposure(&Programme(stages.to_vec()), &rotor(), RadiusKind::Maximum, None);
        let found = found.unwrap();
        sound(&found);
        found.value.get()
    }

    fn hold(g: f64, time: f64) -> Stage {
        Stage::Hold { speed: Speed::Rcf { g: q(g), at: RadiusKind::Maximum }, time: q(time) }
    }

    fn ramp(g: f64, time: f64) -> Stage {
        Stage::Ramp { to: Speed::Rcf { g: q(g), at: RadiusKind::Maximum }, time: q(time) }
    }

    /// A hold is force times time; an even ramp from a standstill a third of it (the integral of t²).
    #[test]
    fn holds_and_ramps() {
        near(at_max(&[hold(180.0, 600.0)]), 108_000.0, 1e-6);
        near(at_max(&[ramp(180.0, 30.0)]), 1_800.0, 1e-9);
        near(
            at_max(&[ramp(180.0, 30.0), hold(180.0, 600.0), Stage::Stop { time: Some(q(60.0)) }]),
            113_400.0,
            1e-6,
        );
        // from 100 ×g to 400 ×g the speed doubles: T·(1 + 2 + 4)/3 of the lower force
        near(at_max(&[hold(100.0, 0.0), ramp(400.0, 3.0)]), 700.0, 1e-9);
        // any ramp may be cut in two
        let cut = [ramp(100.0, 10.0), ramp(400.0, 10.0)];
        near(at_max(&cut), at_max(&[ramp(400.0, 20.0)]), 1e-9);
    }

    #[test]
    fn an_open_stage_takes_no_time_and_stands_still_afterwards() {
        let open = [hold(180.0, 600.0), Stage::Stop { time: None }, ramp(180.0, 30.0)];
        near(at_max(&open), 109_800.0, 1e-6);
        let handled = [
            hold(180.0, 600.0),
            Stage::Handling { what: String::new(), time: Some(q(60.0)) },
            ramp(180.0, 30.0),
        ];
        near(at_max(&handled), 109_800.0, 1e-6);
        assert_eq!(at_max(&[]), 0.0);
    }

    #[test]
    fn speeds_are_those_set_on_the_machine() {
        let stepped = Rotor { speed_step: Some(q(100.0)), ..rotor() };
        let programme = Programme(vec![hold(180.0, 60.0)]);
        let found = stretches(&programme, &stepped, None).unwrap();
        assert_eq!(found, [Stretch { time: q(60.0), from: q(1000.0), to: q(1000.0) }]);
    }

    #[test]
    fn a_radius_the_rotor_lacks_is_named() {
        let programme = Programme(vec![hold(180.0, 60.0)]);
        let found = exposure(&programme, &rotor(), RadiusKind::Mean, None);
        assert_eq!(
            found,
            Err(SpinError::RadiusMissing { kind: RadiusKind::Mean, rotor: "Swing-out".into() })
        );
    }
}
