//! Findings around the spin.

use super::*;
use crate::quantity::Radius;

#[test]
fn a_rating_passed_cannot_be_overridden() {
    // The second spin asks 900 ×g, which is 2279 rpm at 155 mm, on a dial of 10: 2280.
    stops("over_rating", HeldStep::Spin, |d| container(d).rated = Some(Rcf::new(500.0).unwrap()));
    stops("over_rating", HeldStep::Spin, |d| {
        d.kit.rotor.as_mut().unwrap().rated_bucket = Some(Rcf::new(500.0).unwrap());
    });
    stops("over_rating", HeldStep::Spin, |d| {
        d.kit.rotor.as_mut().unwrap().rated_rpm = Some(Rpm::new(2000.0).unwrap());
    });
    let mut d = quiet();
    d.kit.rotor.as_mut().unwrap().rated_rpm = Some(Rpm::new(2280.0).unwrap());
    assert_eq!(keys(&answer(&d)), [""; 0], "the rating itself is kept");
}

#[test]
fn a_rating_that_cannot_be_checked_waits() {
    waits("rating_unchecked", HeldStep::Spin, |d| {
        let rotor = d.kit.rotor.as_mut().unwrap();
        rotor.maximum = None;
        rotor.rated_rpm = Some(Rpm::new(4000.0).unwrap());
    });
}

#[test]
fn without_a_radius_there_is_no_speed() {
    let unrated = |d: &mut Draft| {
        container(d).rated = None;
        rotor(d).rated_rpm = None;
        rotor(d).maximum = None;
    };
    let a = caution("radius_unknown", unrated);
    assert!(a.spin.stages.iter().all(|s| s.planned.is_none()));
    // A minimum radius does not stand in for the maximum.
    caution("radius_unknown", |d| {
        unrated(d);
        rotor(d).minimum = Some(Radius::new(100.0).unwrap());
    });
}

#[test]
fn blood_past_its_spin_by_is_a_caution() {
    caution("past_spin_by", |d| d.times.needle_in = hours_ago(5));
    let mut d = quiet();
    d.times.needle_in = hours_ago(3);
    assert_eq!(keys(&answer(&d)), [""; 0]);
    // A late start stays late once it has begun; one in time stays in time.
    caution("past_spin_by", |d| {
        d.times.needle_in = hours_ago(7);
        d.times.stages.insert(0, hours_ago(1).unwrap());
    });
    d.times.needle_in = hours_ago(7);
    d.times.stages.insert(0, hours_ago(6).unwrap());
    assert!(!keys(&answer(&d)).contains(&"past_spin_by".to_owned()));
}

#[test]
fn a_rating_passed_when_run_is_told() {
    // 4000 rpm are the rotor's limit, 3000 ×g the container's; at 155 mm 4100 rpm make 2913 ×g, 4300 make 3204.
    let a = caution("ran_over_rating.rotor_speed", |d| d.write(Field::SpeedActual(2), "4100"));
    assert_eq!(keys(&a), ["ran_over_rating.rotor_speed", "run_differs.3.speed"]);
    let mut d = quiet();
    d.write(Field::SpeedActual(2), "4300");
    // Each of two is seen by itself.
    assert_eq!(
        keys(&answer(&d)),
        ["ran_over_rating.rotor_speed", "ran_over_rating.container", "run_differs.3.speed"]
    );
    d.write(Field::SpeedActual(2), "2280");
    assert_eq!(keys(&answer(&d)), [""; 0]);
}

#[test]
fn a_run_that_differs_from_its_stage_is_told() {
    // 2280 rpm and 10 min are planned: 5 % and 10 % are the tolerance.
    caution("run_differs.3.speed", |d| d.write(Field::SpeedActual(2), "2160"));
    caution("run_differs.3.time", |d| d.write(Field::MinutesActual(2), "12"));
    let mut d = quiet();
    d.write(Field::SpeedActual(2), "2170");
    d.write(Field::MinutesActual(2), "11");
    assert_eq!(keys(&answer(&d)), [""; 0]);
}

#[test]
fn a_speed_that_nothing_holds_against_a_rating_is_told() {
    caution("no_rating", |d| rotor(d).rated_rpm = None);
    caution("no_rating", |d| container(d).rated = None);
    let mut d = quiet();
    container(&mut d).rated = None;
    protocol(&mut d).programme.0.clear();
    assert_eq!(keys(&answer(&d)), [""; 0], "nothing turns");
}

#[test]
fn a_spin_without_a_rotor_is_told() {
    let a = caution("no_rotor", |d| d.kit.rotor = None);
    assert!(a.spin.stages.iter().all(|s| s.planned.is_none()));
    // What ran is held against the plan all the same, as far as that needs no rotor.
    let mut d = quiet();
    d.kit.rotor = None;
    d.write(Field::MinutesActual(2), "12");
    d.write(Field::SpeedActual(2), "2000");
    assert_eq!(
        keys(&answer(&d)),
        ["no_rotor", "run_differs.3.time"],
        "a speed planned in ×g needs its radius"
    );
    assert_eq!(answer(&d).spin.stages[2].ran.map(Quantity::get), Some(720.0));
    let rpm = crate::spin::programme::Speed::Rpm(Rpm::new(2280.0).unwrap());
    if let crate::spin::programme::Stage::Hold { speed, .. } = &mut protocol(&mut d).programme.0[2] {
        *speed = rpm;
    }
    assert_eq!(keys(&answer(&d)), ["no_rotor", "run_differs.3.speed", "run_differs.3.time"]);
    protocol(&mut d).programme.0.clear();
    assert_eq!(keys(&answer(&d)), [""; 0], "nothing turns");
}

#[test]
fn a_clock_set_back_is_told() {
    caution("clock_went_back", |d| d.times.needle_in = hours_ago(-1));
    caution("clock_went_back", |d| {
        d.times.needle_in = hours_ago(1);
        d.times.needle_out = hours_ago(2);
    });
}
