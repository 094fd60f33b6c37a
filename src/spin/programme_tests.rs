use super::*;
use crate::blood::testing::{near, q, sound};
use crate::spin::rotor::RotorKind;

fn rotor() -> Rotor {
    Rotor {
        id: "r".into(),
        name: "Swing-out".into(),
        kind: RotorKind::SwingOut,
        minimum: Some(q(75.0)),
        maximum: Some(q(155.0)),
        rated_rpm: Some(q(4000.0)),
        rated_bucket: Some(q(2500.0)),
        speed_step: None,
        places: None,
        tolerance: None,
    }
}

fn at_max(g: f64) -> Speed {
    Speed::Rcf { g: q(g), at: RadiusKind::Maximum }
}

fn hold(speed: Speed) -> Stage {
    Stage::Hold { speed, time: q(600.0) }
}

fn one(speed: Speed) -> Programme {
    Programme(vec![hold(speed)])
}

fn double_spin() -> Programme {
    Programme(vec![
        Stage::Ramp { to: at_max(180.0), time: q(30.0) },
        hold(at_max(180.0)),
        Stage::Stop { time: Some(q(60.0)) },
        Stage::Handling { what: "plasma to the second tube".into(), time: None },
        hold(at_max(900.0)),
        Stage::Stop { time: None },
    ])
}

/// A hand before anything turned makes no spin, nor do two hands one after the other, and a spin may be of several holds.
#[test]
fn spins_are_what_turns_between_two_hands() {
    let by_hand = || Stage::Handling { what: String::new(), time: None };
    let stop = || Stage::Stop { time: None };
    let of = |stages: &[Stage]| Programme(stages.to_vec()).spins();
    assert_eq!(double_spin().spins(), [0..3, 4..6]);
    let turns = hold(at_max(180.0));
    let stages = [by_hand(), turns.clone(), turns.clone(), stop(), by_hand(), by_hand(), turns.clone()];
    assert_eq!(of(&stages), [1..4, 6..7]);
    assert_eq!(Programme(stages.into()).part(6..7), Programme(vec![turns.clone()]));
    let one = of(&[turns, by_hand(), stop(), by_hand()]);
    assert_eq!((one.len(), one.first()), (1, Some(&(0..1))));
    assert!(of(&[by_hand(), stop()]).is_empty() && of(&[]).is_empty());
}

#[test]
fn the_clock_knows_its_stage() {
    let programme = double_spin();
    let at = |s: f64| programme.at(q(s)).map(|p| (p.index, p.remaining.map(Seconds::get)));
    assert_eq!(at(0.0), Some((0, Some(30.0))));
    assert_eq!(at(29.0), Some((0, Some(1.0))));
    assert_eq!(at(30.0), Some((1, Some(600.0))));
    assert_eq!(at(689.5), Some((2, Some(0.5))));
    // handling lasts until a person ends it
    assert_eq!(at(690.0), Some((3, None)));
    assert_eq!(at(9000.0), Some((3, None)));
    let closed = one(at_max(180.0));
    assert_eq!(closed.at(q(599.9)).map(|p| p.index), Some(0));
    assert_eq!(closed.at(q(600.0)), None);
    assert_eq!(Programme::default().at(q(0.0)), None);
}

#[test]
fn planned_time_says_what_is_open() {
    let planned = double_spin().planned().unwrap();
    assert_eq!((planned.known.get(), planned.open_stages), (1290.0, 2));
    let week = Programme(vec![Stage::Hold { speed: at_max(1.0), time: q(604_800.0) }; 2]);
    assert!(week.planned().is_err());
}

#[test]
fn the_peak_is_the_fastest_stage() {
    let (stage, rpm) = double_spin().peak(&rotor()).unwrap().unwrap();
    assert_eq!(stage, 4);
    near(rpm.get(), 2278.9, 0.5);
    let still = Programme(vec![Stage::Stop { time: None }]);
    assert_eq!(still.peak(&rotor()), Ok(None));
}

#[test]
fn force_at_each_radius() {
    let force = stage_force(&hold(at_max(900.0)), &rotor(), None).unwrap().unwrap();
    sound(&force.rpm);
    let [low, mean, high] = [force.minimum, force.mean, force.maximum].map(|f| f.unwrap().value.get());
    near(high, 900.0, 1e-9);
    near(mean, 900.0 * 115.0 / 155.0, 1e-9);
    near(low, 900.0 * 75.0 / 155.0, 1e-9);
    let no_minimum = Rotor { minimum: None, ..rotor() };
    let force = stage_force(&hold(at_max(900.0)), &no_minimum, None).unwrap().unwrap();
    assert!(force.minimum.is_none() && force.mean.is_none() && force.maximum.is_some());
    assert_eq!(stage_force(&Stage::Stop { time: None }, &rotor(), None), Ok(None));
}

#[test]
fn a_force_at_a_radius_not_on_record_is_named() {
    let no_minimum = Rotor { minimum: None, ..rotor() };
    let speed = Speed::Rcf { g: q(180.0), at: RadiusKind::Mean };
    let wanted = SpinError::RadiusMissing { kind: RadiusKind::Mean, rotor: "Swing-out".into() };
    assert_eq!(asked(speed, &no_minimum), Err(wanted.clone()));
    assert_eq!(one(speed).peak(&no_minimum), Err(wanted.clone()));
    assert_eq!(ratings(&one(speed), &no_minimum, None).unchecked, [(0, wanted)]);
}

#[test]
fn the_rotors_speed_on_both_sides() {
    let free = Rotor { rated_bucket: None, ..rotor() };
    assert_eq!(ratings(&one(Speed::Rpm(q(4000.0))), &free, None), Ratings::default());
    let found = ratings(&one(Speed::Rpm(q(4000.1))), &free, None);
    let [breach] = found.breaches[..] else { panic!("one breach") };
    assert_eq!((breach.stage, breach.rating, breach.limit.value), (0, Rating::RotorSpeed, 4000.0));
}

#[test]
fn bucket_and_container_on_both_sides() {
    let rated = |g: f64, container: Option<f64>| {
        let found = ratings(&one(at_max(g)), &rotor(), container.map(q));
        assert!(found.unchecked.is_empty());
        found.breaches.into_iter().map(|b| b.rating).collect::<Vec<_>>()
    };
    assert_eq!(rated(2500.0, None), []);
    assert_eq!(rated(2500.1, None), [Rating::Bucket]);
    assert_eq!(rated(900.0, Some(900.0)), []);
    assert_eq!(rated(900.1, Some(900.0)), [Rating::Container]);
    assert_eq!(rated(2600.0, Some(900.0)), [Rating::Bucket, Rating::Container]);
}

#[test]
fn ratings_hold_at_the_maximum_radius_whatever_the_speed_was_given_at() {
    let speed = Speed::Rcf { g: q(900.0), at: RadiusKind::Minimum };
    let found = ratings(&one(speed), &rotor(), Some(q(1000.0)));
    let [breach] = found.breaches[..] else { panic!("one breach") };
    assert_eq!(breach.rating, Rating::Container);
    near(breach.value.value, 1860.0, 1e-6);
}

#[test]
fn a_ramp_counts_and_every_stage_is_looked_at() {
    let mut programme = double_spin();
    programme.0.push(Stage::Ramp { to: Speed::Rpm(q(5000.0)), time: q(10.0) });
    let found = ratings(&programme, &rotor(), None);
    let stages: Vec<(usize, Rating)> = found.breaches.iter().map(|b| (b.stage, b.rating)).collect();
    assert_eq!(stages, [(6, Rating::RotorSpeed), (6, Rating::Bucket)]);
}

#[test]
fn a_rating_without_a_maximum_radius_is_unchecked_not_kept() {
    let no_maximum = Rotor { maximum: None, ..rotor() };
    let found = ratings(&one(Speed::Rpm(q(4500.0))), &no_maximum, None);
    assert_eq!(found.breaches.iter().map(|b| b.rating).collect::<Vec<_>>(), [Rating::RotorSpeed]);
    let wanted = SpinError::RadiusMissing { kind: RadiusKind::Maximum, rotor: "Swing-out".into() };
    assert_eq!(found.unchecked, [(0, wanted)]);
    let unrated = Rotor { rated_bucket: None, ..no_maximum };
    assert!(ratings(&one(Speed::Rpm(q(1000.0))), &unrated, None).unchecked.is_empty());
}

#[test]
fn the_machines_step() {
    let stepped = Rotor { speed_step: Some(q(10.0)), ..rotor() };
    // 900 ×g at 155 mm is 2279 rpm
    let free = set_speed(at_max(900.0), &stepped, None).unwrap();
    assert_eq!(free.value.get(), 2280.0);
    // rounding up alone would pass a container rated 900 ×g, so it goes down and nothing is passed
    let rated = set_speed(at_max(900.0), &stepped, Some(q(900.0))).unwrap();
    assert_eq!(rated.value.get(), 2270.0);
    sound(&rated);
    assert_eq!(ratings(&one(at_max(900.0)), &stepped, Some(q(900.0))), Ratings::default());
    // what was asked beyond the rating stays a breach
    assert_eq!(ratings(&one(at_max(910.0)), &stepped, Some(q(900.0))).breaches.len(), 1);
    assert_eq!(
        set_speed(at_max(900.0), &rotor(), None).unwrap().value,
        asked(at_max(900.0), &rotor()).unwrap().value
    );
}

#[test]
fn survives_a_file() {
    let text = serde_json::to_string(&double_spin()).unwrap();
    assert!(text.starts_with(r#"[{"ramp":{"to":{"rcf":{"g":180.0,"at":"maximum"}},"time":30.0}}"#), "{text}");
    assert_eq!(serde_json::from_str::<Programme>(&text).unwrap(), double_spin());
}
