use super::*;
use crate::blood::anticoagulant::Agent;
use crate::blood::testing::{near, q, sound};
use VolumeConvention::{AddedBlood, FillMark};
use proptest::prelude::*;

fn per_blood(ratio: f64) -> Dosing {
    Dosing::PerBlood(q(ratio))
}

/// Rounds a fill to be made at a ratio.
fn rounded(
    ratio: f64,
    convention: VolumeConvention,
    volume: f64,
    graduation: f64,
    band: Option<Band>,
) -> Rounded {
    let exact = split(per_blood(ratio), convention, q(volume)).unwrap();
    sound(&exact);
    let worked = round_up(&exact.value, convention, q(volume), q(graduation), band).unwrap();
    sound(&worked);
    worked.value
}

fn band(low: f64, high: f64) -> Option<Band> {
    Some(Band { low: q(low), high: q(high), source: SourceId::ClinicBench })
}

fn volumes(split: &Split) -> [f64; 3] {
    [split.anticoagulant.get(), split.blood.get(), split.fill.get()]
}

#[test]
fn an_amount_per_blood_in_a_fill() {
    // B14
    let split = split(per_blood(0.15), FillMark, q(60.0)).unwrap().value;
    near(split.anticoagulant.get(), 7.8261, 1e-4);
    near(split.blood.get(), 52.174, 1e-3);
    assert_eq!(split.fill.get(), 60.0);
}

#[test]
fn an_amount_per_blood_onto_blood() {
    // B12, B13
    let bag = split(per_blood(0.15), AddedBlood, q(450.0)).unwrap().value;
    near(bag.anticoagulant.get(), 67.5, 1e-12);
    let tube = split(per_blood(0.15), AddedBlood, q(10.0)).unwrap().value;
    assert_eq!(volumes(&tube), [1.5, 10.0, 11.5]);
    near(tube.blood.get() / tube.anticoagulant.get(), 6.6667, 1e-3);
    near(tube.anticoagulant.get() / tube.fill.get(), 0.13043, 1e-4);
    // B16: a bag made for 450 mL and used for 300
    let small = split(per_blood(63.0 / 450.0), AddedBlood, q(300.0)).unwrap().value;
    near(small.anticoagulant.get(), 42.0, 1e-12);
}

#[test]
fn an_amount_per_container() {
    let filled = split(Dosing::PerContainer(q(2.0)), FillMark, q(15.0)).unwrap().value;
    assert_eq!(volumes(&filled), [2.0, 13.0, 15.0]);
    let added = split(Dosing::PerContainer(q(2.0)), AddedBlood, q(15.0)).unwrap().value;
    assert_eq!(volumes(&added), [2.0, 15.0, 17.0]);
    let error = split(Dosing::PerContainer(q(16.0)), FillMark, q(15.0)).unwrap_err();
    assert_eq!((error.quantity, error.value), ("volume", -1.0));
}

#[test]
fn rounded_up_and_blood_follows() {
    // B25, B26
    let sixty = rounded(0.15, FillMark, 60.0, 1.0, Agent::AcdA.band());
    assert_eq!(volumes(&sixty.split), [8.0, 52.0, 60.0]);
    near(100.0 * sixty.ratio.get(), 15.385, 0.01);
    assert_eq!((sixty.direction, sixty.in_band), (Direction::Up, Some(true)));
    let thirty = rounded(0.15, FillMark, 30.0, 1.0, Agent::AcdA.band());
    assert_eq!(volumes(&thirty.split), [4.0, 26.0, 30.0]);
    let fifteen = rounded(0.15, FillMark, 15.0, 0.2, Agent::AcdA.band());
    assert_eq!(volumes(&fifteen.split), [2.0, 13.0, 15.0]);
    let added = rounded(0.15, AddedBlood, 13.0, 0.2, Agent::AcdA.band());
    assert_eq!(volumes(&added.split), [2.0, 13.0, 15.0]);
}

#[test]
fn down_where_up_would_leave_the_band() {
    // 5 mL at 15/100 is 0.652 mL: 1 mL would be 25 in 100, 0 mL nothing at all
    let neither = rounded(0.15, FillMark, 5.0, 1.0, Agent::AcdA.band());
    assert_eq!(neither.split.anticoagulant.get(), 1.0);
    assert_eq!((neither.direction, neither.in_band), (Direction::Up, Some(false)));
    // 9 mL at 15/100 is 1.174 mL: 2 mL would be 28.6 in 100, 1 mL is 12.5
    let down = rounded(0.15, FillMark, 9.0, 1.0, Agent::AcdA.band());
    assert_eq!(volumes(&down.split), [1.0, 8.0, 9.0]);
    assert_eq!((down.direction, down.in_band), (Direction::Down, Some(true)));
}

#[test]
fn the_end_of_the_band_is_in_it() {
    // 12 mL at 18/100 is 1.83 mL: 2 mL is 20 in 100
    let end = rounded(0.18, FillMark, 12.0, 1.0, Agent::AcdA.band());
    assert_eq!((end.split.anticoagulant.get(), end.direction, end.in_band), (2.0, Direction::Up, Some(true)));
    let tighter = rounded(0.18, FillMark, 12.0, 1.0, band(0.09, 0.199));
    assert_eq!((tighter.split.anticoagulant.get(), tighter.direction), (1.0, Direction::Down));
}

#[test]
fn no_band_rounds_up_and_does_not_claim_one() {
    let unknown = rounded(0.15, FillMark, 9.0, 1.0, None);
    assert_eq!(
        (unknown.split.anticoagulant.get(), unknown.direction, unknown.in_band),
        (2.0, Direction::Up, None)
    );
}

#[test]
fn float_noise_adds_no_graduation() {
    // 0.6/0.2 is 2.9999999999999996
    for (ratio, fill, graduation, wanted) in
        [(0.15, 2.3, 0.1, 0.3), (0.15, 4.6, 0.2, 0.6), (0.25, 1.0, 0.2, 0.2), (0.1, 11.0, 0.2, 1.0)]
    {
        let found = rounded(ratio, FillMark, fill, graduation, None);
        assert_eq!((found.split.anticoagulant.get(), found.direction), (wanted, Direction::Exact));
    }
    let exact = Split { anticoagulant: q(1.999_999_999_9), blood: q(13.0), fill: q(15.0) };
    let found = round_up(&exact, FillMark, q(15.0), q(0.2), None).unwrap().value;
    assert_eq!((found.split.anticoagulant.get(), found.direction), (2.0, Direction::Exact));
    // what a person can see is not noise
    let above = Split { anticoagulant: q(2.000_1), ..exact };
    let found = round_up(&above, FillMark, q(15.0), q(0.2), None).unwrap().value;
    assert_eq!((found.split.anticoagulant.get(), found.direction), (2.2, Direction::Up));
}

#[test]
fn what_cannot_be_measured_is_refused() {
    let exact = split(per_blood(0.15), FillMark, q(15.0)).unwrap().value;
    assert_eq!(round_up(&exact, FillMark, q(15.0), Volume::ZERO, None).unwrap_err().quantity, "graduation");
    // up fills the container with anticoagulant, down leaves it without
    let tiny = split(per_blood(0.15), FillMark, q(1.0)).unwrap().value;
    assert!(round_up(&tiny, FillMark, q(1.0), q(1.0), Agent::AcdA.band()).is_err());
    assert!(true_ratio(q(2.0), Volume::ZERO).is_err());
    assert!(true_ratio(Volume::ZERO, Volume::ZERO).is_err());
}

#[test]
fn a_short_draw_and_what_brings_it_back() {
    // B29
    for (blood, wanted) in [(40.0, 20.0), (30.0, 26.67), (20.0, 40.0)] {
        let worked = true_ratio(q(8.0), q(blood)).unwrap();
        near(100.0 * worked.value.get(), wanted, 0.01);
        near(worked.working.steps[0].result.value, wanted, 0.01);
    }
    let needed = top_up(q(2.0), Agent::AcdA.band().unwrap()).unwrap();
    sound(&needed);
    assert_eq!((needed.value.blood.get(), needed.value.fill.get()), (10.0, 12.0));
    assert!(Agent::AcdA.band().unwrap().contains(true_ratio(q(2.0), needed.value.blood).unwrap().value));
    assert!(top_up(q(2.0), band(0.0, 0.0).unwrap()).is_err());
}

#[test]
fn a_bag_by_its_volumes() {
    // B15
    let ratio = true_ratio(q(63.0), q(450.0)).unwrap().value.get();
    near(100.0 * ratio, 14.0, 0.01);
    near(1.0 / ratio, 7.1429, 0.01);
}

proptest! {
    #[test]
    fn rounding_keeps_volume_and_goes_less_than_a_graduation(
        ratio in 0.05..0.3f64, volume in 5.0..200.0f64, graduation in 0.01..1.0f64, added: bool, banded: bool,
    ) {
        let convention = if added { AddedBlood } else { FillMark };
        let band = if banded { Agent::AcdA.band() } else { None };
        let exact = split(per_blood(ratio), convention, q(volume)).unwrap().value;
        let found = round_up(&exact, convention, q(volume), q(graduation), band).unwrap().value;
        let change = found.split.anticoagulant.get() - exact.anticoagulant.get();
        prop_assert!(change.abs() < graduation + 1e-9);
        match found.direction {
            Direction::Exact => prop_assert!(change.abs() < 1e-6),
            Direction::Up => prop_assert!(change > 0.0),
            Direction::Down => prop_assert!(change < 0.0 && found.in_band == Some(true)),
        }
        let sum = found.split.anticoagulant.get() + found.split.blood.get();
        prop_assert!((sum - found.split.fill.get()).abs() < 1e-9);
        let kept = if added { found.split.blood } else { found.split.fill };
        prop_assert_eq!(kept.get(), volume);
        let count = found.split.anticoagulant.get() / graduation;
        prop_assert!((count - count.round()).abs() < 1e-6);
        prop_assert_eq!(found.in_band.is_some(), banded);
    }
}
