//! Another whole programme beside the case’s own: what is put in, and what both add up to. It says which of them draws more
//! off in the picture, and of none that it is better.

use super::{NoColumn, NotBeside, Pictured};
use crate::quantity::Quantity;
use crate::spin::column::{Setup, Spin};
use crate::spin::exposure::{exposure, stretches};
use crate::spin::programme::{Programme, Stage, ratings};
use crate::spin::rcf::RadiusKind;
use crate::spin::rotor::Rotor;

/// The case with another programme in place of its own: in the same tubes, parted at the same lines, as many spins as
/// both have. On another rotor it is held against the ratings there, when it is carried over ([`super::beside`]). Errors:
/// why it is not drawn.
pub fn with_programme(
    of: &Pictured,
    programme: &Programme,
    on: Option<&Rotor>,
) -> Result<Pictured, NotBeside> {
    if !programme.0.iter().all(Stage::is_whole) {
        return Err(NotBeside::Unfinished);
    }
    let all: Vec<_> = programme.spins().into_iter().map(|stages| programme.part(stages)).collect();
    if all.is_empty() {
        return Err(NotBeside::Programme(NoColumn::NoProgramme));
    }
    if on.is_none() {
        for (index, programme) in all.iter().enumerate() {
            let rated = of.setup.spins.get(index).or(of.setup.spins.first()).and_then(|spin| spin.tube.rated);
            if let Some(breach) = ratings(programme, &of.setup.rotor, rated).breaches.first() {
                return Err(NotBeside::OverHere(*breach));
            }
            stretches(programme, &of.setup.rotor, rated).map_err(|why| NotBeside::Programme(why.into()))?;
        }
    }
    let mut found = of.clone();
    found.setup.spins.truncate(all.len());
    for (spin, programme) in found.setup.spins.iter_mut().zip(all) {
        spin.programme = programme;
    }
    Ok(found)
}

/// What the spins of a picture add up to, one by one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sum {
    /// How long it takes [min].
    pub minutes: f64,
    /// ∫RCF dt at the maximum radius [×g·min].
    pub force: f64,
}

/// How long each spin takes and the force it adds up to; `None` where the rotor cannot run it.
pub fn sums(setup: &Setup) -> Option<Vec<Sum>> {
    let one = |Spin { programme, tube, .. }: &Spin| {
        let force = exposure(programme, &setup.rotor, RadiusKind::Maximum, tube.rated).ok()?;
        let minutes = programme.planned().ok()?.known.get() / 60.0;
        Some(Sum { minutes, force: force.value.get() / 60.0 })
    };
    setup.spins.iter().map(one).collect()
}

#[cfg(test)]
mod tests {
    use super::super::tests::of;
    use super::super::{Knob, Turned, beside};
    use super::*;
    use crate::quantity::Rpm;
    use crate::spin::programme::Speed;

    fn hold(g: f64, minutes: f64) -> Stage {
        let speed = Speed::Rcf { g: Quantity::new(g).unwrap(), at: RadiusKind::Maximum };
        Stage::Hold { speed, time: Quantity::new(60.0 * minutes).unwrap() }
    }

    fn by_hand() -> Stage {
        Stage::Handling { what: String::new(), time: None }
    }

    /// The demo’s 180 ×g for 10 min are set as 1020 rpm, 180.28 ×g at 155 mm: 1,803 ×g·min. Beside it 250 ×g for 5 min,
    /// then by hand, then 900 ×g for 4.
    #[test]
    fn another_programme_stands_in_the_same_tubes() {
        let own = of(|_| ()).unwrap();
        let there =
            with_programme(&own, &Programme(vec![hold(250.0, 5.0), by_hand(), hold(900.0, 4.0)]), None)
                .unwrap();
        let setup = beside(&there, &Turned::default(), None).unwrap();
        assert_eq!(setup.spins.len(), 2);
        for (one, other) in setup.spins.iter().zip(&own.setup.spins) {
            assert_eq!((one.tube, one.parting), (other.tube, other.parting));
        }
        assert!(crate::spin::column::picture(&setup).is_ok());
        let [first, second] = sums(&setup).unwrap()[..] else { panic!() };
        assert_eq!((first.minutes, second.minutes), (5.0, 4.0));
        let [first, _] = sums(&own.setup).unwrap()[..] else { panic!() };
        assert!((first.force - 1803.0).abs() < 1.0, "{}", first.force);
        // Another tube or haematocrit beside goes with it.
        let mut turned = Turned::default();
        turned.turn(Knob::Diameter, false, &there.stands);
        turned.turn(Knob::Haematocrit, true, &there.stands);
        let varied = beside(&there, &turned, None).unwrap();
        assert_eq!(varied.spins[0].programme, setup.spins[0].programme);
        assert_eq!(varied.spins[0].tube.inner_diameter.get(), 14.0);
        assert!((varied.blood.haematocrit.get() - 0.43).abs() < 1e-9);
        // One spin beside two stands for the first.
        let one = with_programme(&own, &Programme(vec![hold(250.0, 5.0)]), None).unwrap();
        assert_eq!(one.setup.spins.len(), 1);
    }

    /// 2000 ×g at 155 mm are 3398 rpm, over the own rotor’s 3000; the other rotor bears them, or refuses them itself. In a
    /// second tube rated for 800 a second spin at 900 is refused, and a first one is not.
    #[test]
    fn a_programme_is_held_against_the_rotor_and_the_tube_it_is_in() {
        let own = of(|d| d.kit.rotor.as_mut().unwrap().rated_rpm = Some(Rpm::constant(3000.0))).unwrap();
        let fast = Programme(vec![hold(2000.0, 5.0)]);
        assert!(matches!(with_programme(&own, &fast, None), Err(NotBeside::OverHere(_))));
        let other =
            |rpm| Rotor { rated_rpm: Some(Rpm::constant(rpm)), id: "b".into(), ..own.setup.rotor.clone() };
        let on = |rotor: &Rotor| {
            let there = with_programme(&own, &fast, Some(rotor)).unwrap();
            beside(&there, &Turned::default(), Some(rotor)).map(|setup| setup.rotor)
        };
        assert_eq!(on(&other(4000.0)).unwrap(), other(4000.0));
        assert!(matches!(on(&other(3100.0)), Err(NotBeside::Over(_))));
        let mut own = of(|_| ()).unwrap();
        own.setup.spins[1].tube.rated = Some(Quantity::new(800.0).unwrap());
        let two = |first, second| Programme(vec![hold(first, 5.0), by_hand(), hold(second, 5.0)]);
        assert!(with_programme(&own, &two(900.0, 700.0), None).is_ok());
        assert!(matches!(with_programme(&own, &two(180.0, 900.0), None), Err(NotBeside::OverHere(_))));
    }

    #[test]
    fn a_programme_that_cannot_run_is_not_drawn() {
        let own = of(|d| d.kit.rotor.as_mut().unwrap().rated_rpm = Some(Rpm::constant(3000.0))).unwrap();
        let not = |stages: Vec<Stage>| with_programme(&own, &Programme(stages), None).unwrap_err();
        assert_eq!(not(vec![]), NotBeside::Programme(NoColumn::NoProgramme));
        assert_eq!(not(vec![by_hand()]), NotBeside::Programme(NoColumn::NoProgramme));
        assert_eq!(not(vec![hold(180.0, 0.0)]), NotBeside::Unfinished);
        assert_eq!(not(vec![hold(0.0, 5.0)]), NotBeside::Unfinished);
        assert!(matches!(not(vec![hold(2000.0, 5.0)]), NotBeside::OverHere(_)));
        let mean = Speed::Rcf { g: Quantity::new(100.0).unwrap(), at: RadiusKind::Mean };
        let at_mean = Stage::Hold { speed: mean, time: Quantity::new(60.0).unwrap() };
        assert_eq!(not(vec![at_mean]), NotBeside::Programme(NoColumn::NoRadius));
    }
}
