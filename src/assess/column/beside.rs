//! What stands beside a case: tried in its own tubes, or carried to another rotor.

use super::{Knob, NoColumn, Pictured, Turned, over};
use crate::quantity::{Haematocrit, Millimetre, Quantity, Rcf, Rpm, Seconds};
use crate::spin::column::{Setup, Spin};
use crate::spin::programme::{RatingBreach, Speed, Stage};
use crate::spin::rcf::RadiusKind;
use crate::spin::rotor::Rotor;
use crate::spin::transfer::{Fluid, NotCarried, carried};
use crate::spin::tube::End;

/// Why nothing stands beside a case.
#[derive(Debug, Clone, PartialEq)]
pub enum NotBeside {
    /// The programme cannot be carried there.
    Carried(NotCarried),
    /// It may not be run there.
    Over(RatingBreach),
    /// The other programme has a stage without speed or time.
    Unfinished,
    /// The other programme has no picture on the case’s rotor.
    Programme(NoColumn),
    /// The other programme may not be run on it.
    OverHere(RatingBreach),
    /// What is tried may not be run on the case’s own rotor.
    OverTried(RatingBreach),
}

impl From<NotCarried> for NotBeside {
    fn from(why: NotCarried) -> Self {
        Self::Carried(why)
    }
}

/// What stands beside it; on another rotor with the same force at each named radius. Errors: it cannot be carried there,
/// or may not be run.
pub fn beside(of: &Pictured, turned: &Turned, on: Option<&Rotor>) -> Result<Setup, NotBeside> {
    let setup = varied(of, turned);
    let Some(rotor) = on else {
        return over(&setup).map_or(Ok(setup), |breach| Err(NotBeside::OverTried(breach)));
    };
    let there = on_another(setup, rotor)?;
    over(&there).map_or(Ok(there), |breach| Err(NotBeside::Over(breach)))
}

fn on_another(mut setup: Setup, to: &Rotor) -> Result<Setup, NotBeside> {
    let from = std::mem::replace(&mut setup.rotor, to.clone());
    // The bottom of the tube is there, wherever the force is named.
    to.radius(RadiusKind::Maximum).map_err(NotCarried::from)?;
    for Spin { programme, tube, .. } in &mut setup.spins {
        for stage in &mut programme.0 {
            let found = carried(stage, Fluid::Unknown, &from, to, tube.rated)?;
            if let (Some(found), Some(speed)) = (found, stage.speed_mut()) {
                *speed = Speed::Rcf { g: found.force.value, at: found.at };
            }
        }
    }
    Ok(setup)
}

fn varied(of: &Pictured, turned: &Turned) -> Setup {
    let mut setup = of.setup.clone();
    let value = |knob| turned.value(knob, &of.stands);
    if let Ok(haematocrit) = Haematocrit::new(value(Knob::Haematocrit)) {
        setup.blood.haematocrit = haematocrit;
    }
    for (index, spin) in setup.spins.iter_mut().enumerate() {
        // A second tube of its own keeps its shape.
        if index > 0 && of.second_own {
            continue;
        }
        if let Ok(diameter) = Millimetre::new(value(Knob::Diameter)) {
            spin.tube.inner_diameter = diameter;
            if let Some(end) = turned.end(&of.stands, diameter) {
                spin.tube.end = end;
            } else if let End::Cone { height, .. } = &mut spin.tube.end {
                *height = diameter;
            }
        }
        if index == 0 {
            let (speed, time) = (value(Knob::Speed), value(Knob::Time));
            spin.programme.0.iter_mut().for_each(|stage| vary(stage, speed, time));
        }
    }
    setup
}

/// Speed and time of a stage times so much; force goes with the square of the speed.
fn vary(stage: &mut Stage, speed_by: f64, time_by: f64) {
    let longer = |time: &mut Seconds| *time = Seconds::new(time_by * time.get()).unwrap_or(*time);
    let faster = |speed: &mut Speed| match speed {
        Speed::Rpm(rpm) => *rpm = Rpm::new(speed_by * rpm.get()).unwrap_or(*rpm),
        Speed::Rcf { g, .. } => *g = Rcf::new(speed_by * speed_by * g.get()).unwrap_or(*g),
    };
    match stage {
        Stage::Ramp { to, time } => {
            faster(to);
            longer(time);
        }
        Stage::Hold { speed, time } => {
            faster(speed);
            longer(time);
        }
        Stage::Stop { .. } | Stage::Handling { .. } => {}
    }
}

#[cfg(test)]
mod tests {
    use super::super::pictured;
    use super::super::tests::{demo, of};
    use super::*;
    use crate::bench::Container;
    use crate::draft::Draft;
    use crate::spin::SpinError;
    use crate::spin::column::picture;
    use crate::spin::programme::Rating;
    use crate::spin::rotor::RotorKind;

    #[test]
    fn what_is_turned_stands_beside_and_goes_back() {
        let found = of(|_| ()).unwrap();
        let mut turned = Turned::default();
        assert!(!turned.beside());
        for _ in 0..4 {
            turned.turn(Knob::Speed, true, &found.stands);
        }
        turned.turn(Knob::Diameter, false, &found.stands);
        assert!(turned.beside());
        let other = beside(&found, &turned, None).unwrap();
        // 1.2 times as fast is 1.44 times the force
        let Stage::Hold { speed: Speed::Rcf { g, .. }, .. } = other.spins[0].programme.0[0] else { panic!() };
        assert!((g.get() - 1.44 * 180.0).abs() < 1e-9);
        let wide = found.setup.spins[0].tube.inner_diameter.get();
        assert_eq!(other.spins[0].tube.inner_diameter.get(), wide - 1.0);
        assert_eq!(other.spins[1].programme, found.setup.spins[1].programme);
        for _ in 0..100 {
            turned.turn(Knob::Speed, true, &found.stands);
        }
        assert!((turned.value(Knob::Speed, &found.stands) - 2.0).abs() < 1e-9);
    }

    /// 180 ×g at 155 mm is set as 1020 rpm; 1.2 times as fast asks for 1223. The rating that is passed is named, whoever’s
    /// it is, and at it still drawn.
    #[test]
    fn nothing_beside_passes_a_rating() {
        let faster = |change: fn(&mut Draft), second: Option<Rcf>| {
            let (case, answer) = demo(change);
            let tube = case.draw.container.clone().map(|c| Container { rated: second, ..c });
            let found =
                pictured(&case, &answer, &Turned::default(), tube.as_ref().filter(|_| second.is_some()));
            let (found, mut turned) = (found.unwrap(), Turned::default());
            (0..4).for_each(|_| turned.turn(Knob::Speed, true, &found.stands));
            let over = match beside(&found, &turned, None) {
                Ok(_) => None,
                Err(NotBeside::OverTried(breach)) => Some((breach.stage, breach.rating)),
                Err(other) => panic!("{other:?}"),
            };
            (over, found.second_over().map(|breach| breach.rating))
        };
        fn rotor(d: &mut Draft) -> &mut Rotor {
            d.kit.rotor.as_mut().unwrap()
        }
        let g = |value| Some(Quantity::new(value).unwrap());
        assert_eq!(faster(|_| (), None), (None, None));
        let slow: fn(&mut Draft) = |d| rotor(d).rated_rpm = Some(Quantity::new(1100.0).unwrap());
        assert_eq!(faster(slow, None).0, Some((0, Rating::RotorSpeed)));
        let bucket: fn(&mut Draft) = |d| rotor(d).rated_bucket = Some(Quantity::new(250.0).unwrap());
        assert_eq!(faster(bucket, None).0, Some((0, Rating::Bucket)));
        let container: fn(&mut Draft) = |d| {
            d.kit.container.as_mut().unwrap().rated = Some(Quantity::new(250.0).unwrap());
        };
        assert_eq!(faster(container, None).0, Some((0, Rating::Container)));
        let enough: fn(&mut Draft) = |d| rotor(d).rated_bucket = Some(Quantity::new(1000.0).unwrap());
        assert_eq!(faster(enough, None), (None, None));
        // 900 ×g in a second tube rated for 800, and in one rated for 1000.
        assert_eq!(faster(|_| (), g(800.0)), (Some((0, Rating::Container)), Some(Rating::Container)));
        assert_eq!(faster(|_| (), g(1000.0)), (None, None));
    }

    /// The same force at the same named radius; what may not be run there is not drawn, nor what cannot be carried.
    #[test]
    fn the_same_case_on_another_rotor_stands_beside() {
        let mut planned = of(|_| ()).unwrap();
        let mm = |value| Some(Quantity::new(value).unwrap());
        let other = Rotor { maximum: mm(110.0), id: "other".into(), ..planned.setup.rotor.clone() };
        let there = beside(&planned, &Turned::default(), Some(&other)).unwrap();
        assert_eq!((&there.rotor, &there.spins), (&other, &planned.setup.spins));
        assert!(picture(&there).is_ok());
        // A speed in rpm becomes the force it is here: 1000 rpm at 155 mm are 173 ×g.
        planned.setup.spins[0].programme.0[0] = Stage::Hold {
            speed: Speed::Rpm(Quantity::new(1000.0).unwrap()),
            time: Quantity::new(60.0).unwrap(),
        };
        let there = beside(&planned, &Turned::default(), Some(&other)).unwrap();
        let Some(Speed::Rcf { g, at }) = there.spins[0].programme.0[0].speed() else { panic!() };
        assert_eq!((g.get().round(), at), (173.0, RadiusKind::Maximum));
        let not = |rotor: &Rotor| beside(&planned, &Turned::default(), Some(rotor)).unwrap_err();
        let slow = Rotor { rated_rpm: Some(Quantity::new(2000.0).unwrap()), ..other.clone() };
        assert!(matches!(not(&slow), NotBeside::Over(_)));
        let angle = Rotor { kind: RotorKind::FixedAngle, ..other.clone() };
        assert_eq!(not(&angle), NotBeside::Carried(NotCarried::FixedAngle));
        let bare = Rotor { maximum: None, ..other };
        assert!(matches!(not(&bare), NotBeside::Carried(NotCarried::Spin(SpinError::RadiusMissing { .. }))));
    }
}
