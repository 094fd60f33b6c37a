use super::*;
use crate::blood::patient::{DrawDemand, PatientCheck, check};
use crate::blood::testing::{near, q, sound};
use LimitLevel::{Caution, Stop};

/// A man of 80 kg and 1.80 m: Nadler 5.319 L, Lemmens 5.287 L.
fn rower() -> Patient {
    Patient {
        sex: Some(Sex::Male),
        weight: Some(q(80.0)),
        height: Some(q(180.0)),
        age: Some(q(43.0)),
        haemoglobin: Some(q(15.0)),
        first_draw: Some(false),
    }
}

fn demand(today: f64, discards: f64, before: f64) -> DrawDemand {
    DrawDemand { today: q(today), discards: q(discards), previous_eight_weeks: q(before) }
}

fn judged(patient: &Patient, demand: &DrawDemand) -> PatientCheck {
    check(&Limits::SHIPPED, patient, demand).unwrap()
}

/// Rules and levels for a draw today, nothing before.
fn hits(patient: &Patient, today: f64) -> Vec<(LimitRule, LimitLevel)> {
    judged(patient, &demand(today, 0.0, 0.0)).hits.into_iter().map(|h| (h.rule, h.level)).collect()
}

/// The level of one rule.
fn level(patient: &Patient, demand: &DrawDemand, rule: LimitRule) -> Option<LimitLevel> {
    judged(patient, demand).hits.into_iter().find(|h| h.rule == rule).map(|h| h.level)
}

#[test]
fn the_ordinary_draw_passes() {
    let found = judged(&rower(), &demand(26.0, 4.0, 0.0));
    assert!(found.hits.is_empty() && found.missing.is_empty() && found.notes.is_empty());
    assert_eq!(found.drawn_today.value.get(), 30.0);
    assert!(!found.literature(&rower()).is_empty());
    near(found.per_kg.unwrap().value.get(), 0.375, 1e-12);
}

#[test]
fn share_of_the_blood_volume() {
    // C17, but of the smaller estimate
    let found = judged(&rower(), &demand(60.0, 0.0, 0.0));
    let ebv = found.ebv.unwrap();
    sound(&ebv);
    near(ebv.value.get(), 5286.0, 2.0);
    let share = found.share.unwrap();
    sound(&share);
    near(share.value.get(), 60.0 / ebv.value.get(), 1e-12);
    near(60.0 / 5319.1 * 100.0, 1.128, 0.001);
}

#[test]
fn discards_count_today_and_eight_weeks_count_all() {
    let found = judged(&rower(), &demand(100.0, 20.0, 300.0));
    assert_eq!((found.drawn_today.value.get(), found.eight_weeks.value.get()), (120.0, 420.0));
    near(found.eight_weeks_per_kg.unwrap().value.get(), 5.25, 1e-12);
}

#[test]
fn per_weight_on_both_sides() {
    // 80 kg: 3 mL/kg is 240 mL, 5 is 400; the eight-week Caution stands above 5 too
    let rule = |today| level(&rower(), &demand(today, 0.0, 0.0), LimitRule::PerKg);
    assert_eq!(
        [239.0, 240.0, 240.1, 400.0, 400.1].map(rule),
        [None, None, Some(Caution), Some(Caution), Some(Stop)]
    );
}

#[test]
fn share_on_both_sides() {
    let ebv = judged(&rower(), &demand(60.0, 0.0, 0.0)).ebv.unwrap().value.get();
    let rule = |share: f64| level(&rower(), &demand(share * ebv, 0.0, 0.0), LimitRule::Share);
    assert_eq!(
        [0.0499, 0.05, 0.0501, 0.075, 0.0751, 1.5].map(rule),
        [None, None, Some(Caution), Some(Caution), Some(Stop), Some(Stop)]
    );
}

#[test]
fn volume_on_both_sides() {
    assert_eq!(hits(&rower(), 200.0), []);
    assert_eq!(hits(&rower(), 200.1), [(LimitRule::Volume, Caution)]);
}

#[test]
fn eight_weeks_on_both_sides() {
    let per_kg = |before| level(&rower(), &demand(0.0, 0.0, before), LimitRule::EightWeeksPerKg);
    assert_eq!([400.0, 400.1, 560.0, 560.1].map(per_kg), [None, Some(Caution), Some(Caution), Some(Stop)]);
    let volume = |before| level(&rower(), &demand(50.0, 0.0, before), LimitRule::EightWeeksVolume);
    assert_eq!([499.9, 500.0, 500.1].map(volume), [None, None, Some(Stop)]);
}

#[test]
fn haemoglobin_on_both_sides() {
    let with = |hb: f64, sex| Patient { haemoglobin: Some(q(hb)), sex, ..rower() };
    let man = Some(Sex::Male);
    let low = |hb: f64| level(&with(hb, man), &demand(0.0, 0.0, 0.0), LimitRule::HaemoglobinLow);
    assert_eq!([9.9, 10.0].map(low), [Some(Caution), None]);
    let by_sex =
        |hb: f64, sex| level(&with(hb, sex), &demand(200.1, 0.0, 0.0), LimitRule::HaemoglobinForVolume);
    assert_eq!([12.9, 13.0].map(|hb| by_sex(hb, man)), [Some(Caution), None]);
    assert_eq!([12.4, 12.5].map(|hb| by_sex(hb, Some(Sex::Female))), [Some(Caution), None]);
    // sex unknown: the higher of the two
    assert_eq!([12.9, 13.0].map(|hb| by_sex(hb, None)), [Some(Caution), None]);
    let at_200 = level(&with(12.0, man), &demand(200.0, 0.0, 0.0), LimitRule::HaemoglobinForVolume);
    assert_eq!(at_200, None);
    let stop = |hb, today| level(&with(hb, man), &demand(today, 0.0, 0.0), LimitRule::HaemoglobinForPerKg);
    assert_eq!([stop(10.9, 240.1), stop(11.0, 240.1), stop(10.9, 240.0)], [Some(Stop), None, None]);
    let unknown = Patient { haemoglobin: None, ..rower() };
    assert_eq!(judged(&unknown, &demand(200.0, 0.0, 0.0)).missing, []);
    assert_eq!(judged(&unknown, &demand(200.1, 0.0, 0.0)).missing, [Missing::Haemoglobin]);
}

#[test]
fn light_small_and_first_above_three_per_weight() {
    // C18: a woman of 50 kg and 1.60 m has 3.296 L
    let woman = Patient { sex: Some(Sex::Female), weight: Some(q(50.0)), height: Some(q(160.0)), ..rower() };
    let found = judged(&woman, &demand(150.1, 0.0, 0.0));
    near(found.ebv.unwrap().value.get(), 3296.0, 2.0);
    let rules: Vec<LimitRule> = found.hits.iter().map(|h| h.rule).collect();
    assert_eq!(rules, [LimitRule::PerKg, LimitRule::SmallBloodVolume]);
    assert!(found.hits.iter().all(|h| h.level == Caution));
    assert_eq!(hits(&woman, 150.0), []);
    let light = Patient { weight: Some(q(49.9)), ..woman };
    assert!(hits(&light, 149.8).contains(&(LimitRule::LightWeight, Caution)));
    assert!(!hits(&light, 149.7).contains(&(LimitRule::LightWeight, Caution)));
    let first = Patient { first_draw: Some(true), ..rower() };
    assert!(hits(&first, 240.1).contains(&(LimitRule::FirstDraw, Caution)));
    assert!(!hits(&first, 240.0).contains(&(LimitRule::FirstDraw, Caution)));
}

#[test]
fn a_first_draw_is_asked_only_where_it_decides() {
    let unknown = Patient { first_draw: None, ..rower() };
    assert_eq!(judged(&unknown, &demand(240.1, 0.0, 0.0)).missing, []);
    let looser = Limits { per_kg_caution: q(4.0), ..Limits::SHIPPED };
    let found = check(&looser, &unknown, &demand(240.1, 0.0, 0.0)).unwrap();
    assert_eq!(found.missing, [Missing::FirstDraw]);
}

#[test]
fn under_eighteen_only_if_the_clinic_allows() {
    let aged = |age: f64| Patient { age: Some(q(age)), ..rower() };
    assert_eq!(hits(&aged(17.0), 30.0), [(LimitRule::Minor, Stop)]);
    assert_eq!(hits(&aged(18.0), 30.0), []);
    let allowing = Limits { minors: true, ..Limits::SHIPPED };
    assert!(check(&allowing, &aged(17.0), &demand(30.0, 0.0, 0.0)).unwrap().hits.is_empty());
}

#[test]
fn a_small_draw_asks_for_nothing() {
    let found = judged(&Patient::default(), &demand(60.0, 10.0, 30.0));
    assert_eq!(found.missing, []);
    assert_eq!(found.notes, [Note::WeightUnknownSmallDraw, Note::AgeUnknownSmallDraw]);
    assert!(found.hits.is_empty() && found.per_kg.is_none() && found.ebv.is_none());
    let adult = Patient { weight: Some(q(50.0)), age: Some(q(18.0)), ..Patient::default() };
    let found = judged(&adult, &demand(100.0, 0.0, 0.0));
    assert!(found.missing.is_empty() && found.notes.is_empty());
}

#[test]
fn a_larger_draw_a_light_or_a_young_patient_needs_more() {
    let size = [Missing::Weight, Missing::Height, Missing::Sex, Missing::Age];
    assert_eq!(judged(&Patient::default(), &demand(60.0, 10.0, 30.1)).missing, size);
    let light = Patient { weight: Some(q(49.9)), age: Some(q(30.0)), ..Patient::default() };
    assert_eq!(judged(&light, &demand(30.0, 0.0, 0.0)).missing, [Missing::Height, Missing::Sex]);
    let young = Patient { age: Some(q(17.0)), ..Patient::default() };
    let found = judged(&young, &demand(30.0, 0.0, 0.0));
    assert_eq!(found.missing, [Missing::Weight, Missing::Height, Missing::Sex]);
    assert_eq!(found.notes, []);
}

#[test]
fn a_limit_says_whose_it_is() {
    let found = judged(&rower(), &demand(400.1, 0.0, 0.0));
    let per_kg = found.hits.iter().find(|h| h.rule == LimitRule::PerKg).unwrap();
    assert_eq!((per_kg.limit.value, per_kg.limit.unit, per_kg.source), (5.0, "mL/kg", SourceId::Duke2012));
    let own = Limits { per_kg_stop: q(4.0), ..Limits::SHIPPED };
    let found = check(&own, &rower(), &demand(400.1, 0.0, 0.0)).unwrap();
    let per_kg = found.hits.iter().find(|h| h.rule == LimitRule::PerKg).unwrap();
    assert_eq!((per_kg.limit.value, per_kg.source), (4.0, SourceId::ClinicBench));
    let share = found.hits.iter().find(|h| h.rule == LimitRule::Share).unwrap();
    assert_eq!((share.limit.value, share.limit.unit), (7.5, "%"));
}

#[test]
fn more_than_all_the_blood_is_still_judged() {
    let found = judged(&rower(), &demand(6000.0, 0.0, 0.0));
    assert!(found.share.is_none());
    let share = found.hits.iter().find(|h| h.rule == LimitRule::Share).unwrap();
    assert_eq!(share.level, Stop);
    assert!(share.value.value > 100.0);
    let giant = Patient { weight: Some(q(390.0)), height: Some(q(200.0)), ..rower() };
    assert_eq!(judged(&giant, &demand(150.0, 0.0, 0.0)).notes, [Note::NoBloodVolumeEstimate]);
}
