//! What was typed, as it is read.

use super::*;
use crate::draft::{AdditionChoice, CheckSign, Draft, Trouble, TroubleKind};
use crate::product::addition::AdditionAgent;
use crate::quantity::time::Offset;
use crate::quantity::unit::Conventions;
use crate::quantity::{AcRatio, Quantity, Strength};
use crate::words::Language;

#[test]
fn ready_by_is_a_time_of_the_day_the_case_was_begun_or_names_its_day() {
    // 12 March 2026, 23:10 where it was begun, 22:10 UTC.
    let begun = Instant(1_773_353_400_000);
    let mut d = Draft::new("d".into(), CheckSign::pick(0, &[]), begun, Conventions::default());
    d.offset = Offset::new(60);
    let mut at = |text: &str| {
        d.write(Field::ReadyBy, text);
        let ready = read(&d, Language::English).0.order.ready_by;
        let local = |at: Instant| at.local(Offset::new(60).unwrap()).unwrap();
        (ready, ready.at().map(local).map(|(day, time)| format!("{day} {}", time.text())))
    };
    assert_eq!(at("").0, TypedMoment::NotTyped);
    let said = |day: &str| Some(day.to_owned());
    assert_eq!(at("23:45").1, said("2026-03-12 23:45"));
    assert_eq!(at("22:00").1, said("2026-03-12 22:00"), "passed, and said to have passed");
    assert_eq!(at("00:30").1, said("2026-03-13 00:30"));
    assert_eq!(at("14 Mar 2026 9:15").1, said("2026-03-14 09:15"));
    assert_eq!(at("2026-03-14, 09:15").1, said("2026-03-14 09:15"));
    for wrong in ["soon", "25:00", "14 Mar 2026", "14 Mar 2026 25:00", ",", " T "] {
        assert_eq!(at(wrong).0, TypedMoment::Unreadable, "{wrong}");
    }
}

#[test]
fn a_part_was_given_at_the_time_nearest_to_the_hand_over_or_on_a_day_that_is_named() {
    let begun = Instant(1_773_353_400_000);
    let mut d = Draft::new("d".into(), CheckSign::pick(0, &[]), begun, Conventions::default());
    d.offset = Offset::new(60);
    // Handed over at 23:50 where it was begun.
    d.times.handed_over = Some(Instant(begun.0 + 2_400_000));
    let mut at = |text: &str| {
        d.write(Field::PartGivenAt(0), text);
        let given = read(&d, Language::English).0.order.parts[0].given_at;
        let local = |at: Instant| at.local(Offset::new(60).unwrap()).unwrap();
        (given, given.at().map(local).map(|(day, time)| format!("{day} {}", time.text())))
    };
    assert_eq!(at("").0, TypedMoment::NotTyped);
    assert_eq!(at("23:55").1.as_deref(), Some("2026-03-12 23:55"));
    assert_eq!(at("0:20").1.as_deref(), Some("2026-03-13 00:20"), "after midnight");
    assert_eq!(at("14 Mar 2026 9:15").1.as_deref(), Some("2026-03-14 09:15"));
    assert_eq!(at("at once").0, TypedMoment::Unreadable);
}

#[test]
fn a_temperature_that_cannot_be_read_raises_nothing() {
    let sign = CheckSign::pick(0, &[]);
    let mut d = Draft::demo("d".into(), sign, Instant(0), Conventions::default());
    d.write(Field::TemperatureSet(0), "20.5");
    d.write(Field::TemperatureSet(2), "68");
    let (case, readings) = read(&d, Language::English);
    assert_eq!(case.spin.actual[0].temperature.map(Quantity::get), Some(20.5));
    assert_eq!(case.spin.actual[2].temperature, None);
    assert!(matches!(readings.get(&Field::TemperatureSet(2)), Some(Reading::Wrong(_))), "told at the field");
    assert!(!case.is_unread(Field::TemperatureSet(2)));
}

#[test]
fn a_weight_that_cannot_be_read_is_told_only_where_it_is_asked() {
    let sign = CheckSign::pick(0, &[]);
    let mut d = Draft::demo("d".into(), sign, Instant(0), Conventions::default());
    d.write(Field::Containers, "3");
    let all = [
        Field::FilledWeight(1),
        Field::FilledWeightSecond(1),
        Field::FilledWeight(2),
        Field::FilledWeightSecond(2),
        Field::FilledWeight(3),
        Field::Counterweight,
        Field::CounterweightSecond,
    ];
    all.iter().for_each(|field| d.write(*field, "heavy"));
    let told = |d: &Draft| {
        let (case, _) = read(d, Language::English);
        all.into_iter().filter(|field| case.is_unread(*field)).collect::<Vec<_>>()
    };
    let not_of_four = |field: &Field| *field != Field::FilledWeight(3);
    assert_eq!(
        told(&d),
        all.into_iter().filter(not_of_four).collect::<Vec<_>>(),
        "three, and one faces them"
    );
    // One set aside: the other two face each other.
    let (kind, container, at, by) = (TroubleKind::Dropped, Some(2), Instant(5), "MO".into());
    let (set_aside, collected, withdrawn) = (true, false, None);
    d.troubles.push(Trouble { kind, container, at, by, set_aside, aside: None, collected, withdrawn });
    assert_eq!(told(&d), [Field::FilledWeight(1), Field::FilledWeightSecond(1)]);
    d.kit.protocol.as_mut().unwrap().programme.0.truncate(1);
    assert_eq!(told(&d), [Field::FilledWeight(1)], "nothing is spun twice");
}

#[test]
fn what_is_typed_in_another_unit_than_it_is_kept_in_is_converted_once() {
    let sign = CheckSign::pick(0, &[]);
    let mut d = Draft::demo("case".into(), sign, Instant(0), Conventions::default());
    d.rows.additions = 1;
    d.choices.additions.insert(0, AdditionChoice::CalciumGluconate);
    d.write(Field::AdditionStrength(0), "10");
    d.write(Field::AdditionVolume(0), "0.3");
    d.write(Field::MinutesActual(0), "10");
    d.write(Field::AnticoagulantPer100, "14");
    d.write(Field::BloodHaemoglobin, "143");
    d.write(Field::ProductHaematocrit, "0.2 %");
    let (case, _) = read(&d, Language::English);
    let strength = Strength::new(10.0).unwrap();
    let whole =
        Addition { agent: AdditionAgent::CalciumGluconate { strength }, volume: Volume::new(0.3).unwrap() };
    assert_eq!(case.additions, [AdditionTyped::Whole(whole)]);
    assert_eq!(case.spin.actual[0].time, Seconds::new(600.0).ok());
    assert_eq!(case.draw.dosing, AcRatio::new(0.14).ok().map(Dosing::PerBlood));
    assert_eq!(case.patient.haemoglobin, Haemoglobin::new(14.3).ok());
    assert_eq!(case.count.haematocrit, Haematocrit::new(0.002).ok());
}
