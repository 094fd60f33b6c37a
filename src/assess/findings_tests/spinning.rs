//! Findings around the spin.

use super::*;
use crate::quantity::{Radius, Rcf, Rpm};

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
    let a = caution("radius_unknown", |d| d.kit.rotor.as_mut().unwrap().maximum = None);
    assert!(a.spin.stages.iter().all(|s| s.planned.is_none()));
    // A minimum radius does not stand in for the maximum.
    caution("radius_unknown", |d| {
        let rotor = d.kit.rotor.as_mut().unwrap();
        rotor.minimum = Some(Radius::new(100.0).unwrap());
        rotor.maximum = None;
    });
}

#[test]
fn blood_past_its_spin_by_is_a_caution() {
    caution("past_spin_by", |d| d.times.needle_in = hours_ago(5));
    let mut d = quiet();
    d.times.needle_in = hours_ago(3);
    assert_eq!(keys(&answer(&d)), [""; 0]);
}

#[test]
fn a_clock_set_back_is_told() {
    caution("clock_went_back", |d| d.times.needle_in = hours_ago(-1));
    caution("clock_went_back", |d| {
        d.times.needle_in = hours_ago(1);
        d.times.needle_out = hours_ago(2);
    });
}
