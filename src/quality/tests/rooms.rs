//! Which counts enter, what is decided about them, what is drawn.

use super::super::against::against;
use super::super::chart::{FIRST, Settings, chart, in_period};
use super::super::decided::{ChosenBaseline, Decisions, Refused, Series};
use super::super::demo::{Chance, DRIFTING_LOT, HOW_MANY, history};
use super::super::facts::{Counted, Excluded, facts_of, facts_of_record, judge};
use super::super::group::{GroupBy, Lot, LotField, NamedIn, groups, recall};
use super::super::learn::Prior;
use super::super::learned::{Ground, History, OwnStands, learned};
use super::super::line::Covariate;
use super::super::process::{WANTED, adopt, process_check};
use super::super::rules::{Rule, Side};
use crate::assess::{Now, assess};
use crate::bench::{Bench, Protocol};
use crate::blood::baseline::SampleKind;
use crate::case;
use crate::draft::{
    AdditionChoice, CheckSign, CountStanding, Draft, Field, ProductTube, SampleDilution, Trouble, TroubleKind,
};
use crate::product::kind::{Basis, ProductKind};
use crate::product::predict::{ANALYSER, NativeCount};
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::Conventions;
use crate::quantity::{CellCount, Haematocrit, Quantity};
use crate::record::Record;
use crate::record::line::Line;
use crate::words::Language;
use libm::exp;

pub(in crate::quality) fn double_spin() -> Protocol {
    Bench::default().protocol("double-spin").cloned().unwrap()
}

fn q<Q: Quantity>(value: f64) -> Q {
    Q::new(value).unwrap()
}

/// A count that enters: 938 in 4 mL from 26 mL at 210, recovery 0.6872.
pub(in crate::quality) fn counted(id: &str, at: Instant) -> Counted {
    Counted {
        id: id.to_owned(),
        at,
        demo: false,
        protocol: Some("double-spin".to_owned()),
        kind: Some(ProductKind::Concentrate),
        container: Some("tube-15".to_owned()),
        container_lot: "K-0058".to_owned(),
        anticoagulant_lot: "AC-2291".to_owned(),
        operator: "MO".to_owned(),
        rotor: Some("swing-out-155".to_owned()),
        haematocrit: Haematocrit::new(0.42).ok(),
        baseline: Some(NativeCount { value: q(210.0), cv: ANALYSER }),
        sample: Some(SampleKind::LaboratoryEdta),
        blood: Some(q(26.0)),
        kept: Some(q(4.0)),
        product: CellCount::new(938.0).ok(),
        readings: 1,
        dilution_noted: true,
        mixed: Some(true),
        clumps: false,
        tube_said: true,
        rebuilt: false,
        linear: true,
        white_fold: None,
        outside: false,
    }
}

fn many(n: i64, of: impl Fn(i64, &mut Counted)) -> Vec<Counted> {
    let one = |i| {
        let mut c = counted(&format!("c{i}"), Instant(i * 86_400_000));
        of(i, &mut c);
        c
    };
    (0..n).map(one).collect()
}

fn series() -> Series {
    Series { protocol: "double-spin".into(), container: None }
}

/// The demo case, counted, no longer a demo.
fn typed() -> Draft {
    let sign = CheckSign::pick(0, &[]);
    let mut d = Draft::demo("case".into(), sign, Instant(1_795_597_200_000), Conventions::default());
    d.demo = false;
    for (field, text) in [
        (Field::ProductActual, "4"),
        (Field::Reading(0), "938"),
        (Field::BloodWhite, "6"),
        (Field::ProductWhite, "9"),
    ] {
        d.write(field, text);
    }
    d.choices.dilution = Some(SampleDilution::Undiluted);
    d.choices.cells_dilution = Some(SampleDilution::Undiluted);
    d.choices.product_tube = Some(ProductTube::Plain);
    d.choices.mixed_no_clumps = Some(true);
    d.times.collected = Some(Instant(1_795_600_000_000));
    d
}

fn facts(d: &Draft) -> Option<Counted> {
    let (case, _) = case::read(d, Language::English);
    facts_of(d, &case, &assess(&case, Now { at: d.begun, offset: Offset::UTC }), Instant(9))
}

#[test]
fn facts_are_those_of_the_case_and_its_assessment() {
    let c = facts(&typed()).unwrap();
    let mut expected = counted("case", Instant(1_795_600_000_000));
    expected.white_fold = Some(q(1.5));
    assert_eq!(c, expected);
    let found = judge(&c, &Decisions::default()).unwrap();
    // η = 938·4/(210·26); v = 2·ln(1 + 0.03²)
    assert!((found.value - 938.0 * 4.0 / (210.0 * 26.0)).abs() < 1e-14);
    assert!((found.counting - 2.0 * libm::log1p(0.0009)).abs() < 1e-18);
    // diluted 1 to 10 for white cells too, the product's sample in liquid citrate, the blood's as well: what is
    // learned is what was corrected, 0.9·10·1.1 over 6·1.1
    let mut diluted = typed();
    diluted.write(Field::Reading(0), "85");
    diluted.write(Field::Dilution, "10");
    diluted.write(Field::ProductWhite, "0.9");
    diluted.choices.dilution = Some(SampleDilution::Diluted);
    diluted.choices.cells_dilution = Some(SampleDilution::Diluted);
    diluted.choices.product_tube = Some(ProductTube::LiquidCitrate);
    diluted.choices.sample = Some(SampleKind::LiquidCitrate);
    let found = facts(&diluted).unwrap();
    assert!((found.white_fold.unwrap().get() - 1.5).abs() < 1e-12, "{found:?}");
    assert!(
        (judge(&found, &Decisions::default()).unwrap().value - 850.0 * 4.0 / (210.0 * 26.0)).abs() < 1e-12
    );
    // in a plain tube they are not multiplied by 1.1 too
    diluted.choices.product_tube = Some(ProductTube::Plain);
    assert!((facts(&diluted).unwrap().white_fold.unwrap().get() - 9.0 / 6.6).abs() < 1e-12);
    // without a reading there is nothing to say
    let mut none = typed();
    none.write(Field::Reading(0), "");
    assert_eq!(facts(&none), None);
    let record = Record::sign(typed(), "MO", Instant(9), vec![]).unwrap();
    assert_eq!(facts_of_record(&record), Some(expected));
    let record = Record::sign(none, "MO", Instant(9), vec![]).unwrap();
    assert_eq!(facts_of_record(&record), None);
}

#[test]
fn a_count_that_does_not_enter_says_why() {
    let why = |change: fn(&mut Draft)| {
        let mut d = typed();
        change(&mut d);
        judge(&facts(&d).unwrap(), &Decisions::default()).map(|o| o.value).unwrap_err()
    };
    assert_eq!(why(|d| d.demo = true), [Excluded::Demo]);
    assert_eq!(why(|d| d.choices.mixed_no_clumps = Some(false)), [Excluded::NotMixed]);
    assert_eq!(why(|d| d.choices.mixed_no_clumps = None), [Excluded::MixingUnsaid]);
    assert_eq!(why(|d| d.choices.sample = None), [Excluded::SampleUnknown]);
    // a count of the blood of an earlier day, however it is told; an age left from before the choice is out of use
    let older = |d: &mut Draft| {
        d.choices.count = Some(CountStanding::Older);
        d.write(Field::CountAge, "45");
    };
    assert_eq!(why(older), [Excluded::OlderBlood]);
    assert_eq!(why(|d| d.choices.count = Some(CountStanding::Older)), [Excluded::OlderBlood]);
    assert_eq!(why(|d| d.choices.sample = Some(SampleKind::OlderResult)), [Excluded::OlderBlood]);
    let mut today = typed();
    today.write(Field::CountAge, "45");
    assert!(judge(&facts(&today).unwrap(), &Decisions::default()).is_ok());
    assert_eq!(why(|d| d.choices.dilution = None), [Excluded::DilutionUnknown]);
    assert_eq!(why(|d| d.choices.product_tube = None), [Excluded::TubeUnsaid]);
    // the analyser is known to count to 900 in proportion
    assert_eq!(why(|d| d.kit.analyser.high = CellCount::new(900.0).ok()), [Excluded::NotLinear]);
    // the dilution is noted; it is the tube's factor that cannot be read
    let citrate = |d: &mut Draft| {
        d.choices.product_tube = Some(ProductTube::LiquidCitrate);
        d.write(Field::SampleFactor, "about one");
    };
    assert_eq!(why(citrate), [Excluded::NoProductCount]);
    assert_eq!(why(|d| d.write(Field::BloodCount, "")), [Excluded::NoBaseline]);
    assert_eq!(why(|d| d.write(Field::ProductActual, "")), [Excluded::NoVolume]);
    // without a protocol nobody says what is in the containers either
    assert_eq!(why(|d| d.kit.protocol = None), [Excluded::NoProtocol, Excluded::NoBlood]);
    assert_eq!(why(|d| d.write(Field::Containers, "")), [Excluded::NoBlood]);
    assert_eq!(why(|d| d.write(Field::Reading(0), "0")), [Excluded::NoPlatelets]);
    assert_eq!(
        why(|d| {
            d.demo = true;
            d.choices.mixed_no_clumps = None;
            d.choices.sample = None;
        }),
        [Excluded::Demo, Excluded::MixingUnsaid, Excluded::SampleUnknown]
    );
    let outside = Counted { outside: true, ..facts(&typed()).unwrap() };
    assert_eq!(judge(&outside, &Decisions::default()).unwrap_err(), [Excluded::ChangedOutside]);
    let mut clumps = typed();
    let (kind, at, by) = (TroubleKind::Clumps, Instant(5), "MO".to_owned());
    clumps.troubles.push(Trouble {
        kind,
        at,
        by,
        container: None,
        set_aside: false,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    assert_eq!(judge(&facts(&clumps).unwrap(), &Decisions::default()).unwrap_err(), [Excluded::Clumps]);
}

#[test]
fn off_the_top_needs_neither_volume_nor_blood() {
    let mut c = counted("a", Instant(0));
    (c.kind, c.kept, c.blood, c.product) =
        (Some(ProductKind::OffTheTop), None, None, CellCount::new(378.0).ok());
    // 378/222 is the series' 1.7
    c.baseline = Some(NativeCount { value: q(222.0), cv: ANALYSER });
    assert!((judge(&c, &Decisions::default()).unwrap().value - 1.7027).abs() < 1e-4);
}

#[test]
fn more_than_was_drawn_enters_and_replicates_count() {
    let mut c = counted("a", Instant(0));
    c.product = CellCount::new(1400.0).ok();
    assert!(judge(&c, &Decisions::default()).unwrap().value > 1.0);
    let one = judge(&c, &Decisions::default()).unwrap().counting;
    c.readings = 4;
    let four = judge(&c, &Decisions::default()).unwrap().counting;
    // the product's part is a quarter, the blood's stays
    assert!((four / one - 0.625).abs() < 1e-3, "{four} {one}");
}

#[test]
fn what_an_expectation_rests_on_follows_the_counts() {
    let protocol = double_spin();
    let mut decided = Decisions::default();
    let counts = many(12, |i, c| c.product = CellCount::new(880.0 + 10.0 * i as f64).ok());
    let none = learned(&protocol, None, &[], &decided, History::Clinic);
    assert_eq!(none.ground, Ground::Literature);
    // nothing of its own: what is known is what is published, its true content matched by moments
    let p = none.predictive.unwrap().true_content();
    let spread = libm::log1p((0.12_f64 / 0.7).powi(2));
    assert!((p.scale * p.scale * p.freedom / (p.freedom - 2.0) - spread).abs() < 1e-12);
    let all = learned(&protocol, None, &counts, &decided, History::Clinic);
    assert_eq!(
        (all.ground, all.accepted.len(), all.predictive.unwrap().n),
        (Ground::Counts { n: 12 }, 12, 12)
    );
    decided.exclude("c3", "MO", Instant(1), "clot").unwrap();
    let less = learned(&protocol, None, &counts, &decided, History::Clinic);
    assert_eq!(less.ground, Ground::Counts { n: 11 });
    assert_eq!(less.left_out.len(), 1);
    let by_hand = Excluded::ByHand { by: "MO".into(), at: Instant(1), why: "clot".into() };
    assert_eq!(less.left_out[0].why, [by_hand]);
    decided.include_again("c3", "MO", Instant(2)).unwrap();
    assert_eq!(learned(&protocol, None, &counts, &decided, History::Clinic), all);
    // so does one over a blood count of an earlier day stay out until somebody lets it in
    let mut with_older = counts.clone();
    with_older.iter_mut().filter(|c| c.id == "c7").for_each(|c| c.sample = Some(SampleKind::OlderResult));
    let mut by_hand = decided.clone();
    let out = learned(&protocol, None, &with_older, &by_hand, History::Clinic);
    assert_eq!((out.ground, &out.left_out[0].why), (Ground::Counts { n: 11 }, &vec![Excluded::OlderBlood]));
    assert!(out.left_out[0].why.iter().all(Excluded::can_be_let_in));
    by_hand.let_in("c7", "MO", Instant(3)).unwrap();
    let with = learned(&protocol, None, &with_older, &by_hand, History::Clinic);
    assert_eq!(with.ground, Ground::Counts { n: 12 });
    // one rebuilt from a card's code stays out until somebody lets it in, and can be left out again
    let mut with_rebuilt = counts.clone();
    with_rebuilt.iter_mut().filter(|c| c.id == "c5").for_each(|c| c.rebuilt = true);
    let without = learned(&protocol, None, &with_rebuilt, &decided, History::Clinic);
    assert_eq!(
        (without.ground, &without.left_out[0].why),
        (Ground::Counts { n: 11 }, &vec![Excluded::Rebuilt])
    );
    assert_eq!(decided.let_in("c5", " ", Instant(3)), Err(Refused::NoName));
    decided.let_in("c5", "MO", Instant(3)).unwrap();
    assert_eq!(decided.let_in("c5", "MO", Instant(3)), Err(Refused::Stands));
    let with = learned(&protocol, None, &with_rebuilt, &decided, History::Clinic);
    assert_eq!(with.ground, Ground::Counts { n: 12 });
    assert_eq!(Decisions::from_json(&crate::stored::write(&decided).unwrap()).unwrap(), decided);
    decided.keep_out("c5", "MO", Instant(4)).unwrap();
    assert_eq!(learned(&protocol, None, &with_rebuilt, &decided, History::Clinic), without);
    assert_eq!(decided.keep_out("c5", "MO", Instant(5)), Err(Refused::NothingStands));
    // another container has counts of its own
    let other = learned(&protocol, Some("tube-10"), &counts, &decided, History::Clinic);
    assert_eq!((other.accepted.len(), other.ground), (0, Ground::Literature));
    // a protocol that is of another kind now does not take them
    let top = Protocol { kind: ProductKind::OffTheTop, expectation: None, ..protocol };
    let found = learned(&top, None, &counts, &decided, History::Clinic);
    assert_eq!((found.accepted.len(), found.left_out[0].why.clone()), (0, vec![Excluded::OtherKind]));
    assert_eq!(found.ground, Ground::Nothing { wanted: 3 });
}

#[test]
fn white_cells_are_learned_from_own_counts_alone() {
    let protocol = double_spin();
    let counts = many(4, |i, c| {
        c.white_fold = (i > 0).then(|| q((9.0 + i as f64) / 6.0));
    });
    let found = learned(&protocol, None, &counts, &Decisions::default(), History::Clinic);
    let white = found.white.unwrap();
    let middle = (10.0_f64 * 11.0 * 12.0).cbrt() / 6.0;
    assert!((white.range().median - middle).abs() < 1e-9 && white.n == 3);
    assert!(learned(&protocol, None, &counts[..3], &Decisions::default(), History::Clinic).white.is_none());
}

#[test]
fn ten_counts_make_a_prior_of_the_clinics_own_and_are_not_counted_twice() {
    let protocol = double_spin();
    let mut decided = Decisions::default();
    let counts = many(16, |i, c| {
        c.product = CellCount::new(900.0 + 15.0 * (i % 5) as f64).ok();
        c.mixed = (i != 6).then_some(true);
        c.operator = if i % 2 == 0 { "MO" } else { "m o" }.to_owned();
    });
    assert!(process_check(&protocol, None, &counts, &decided).is_none());
    // begun with the third preparation
    decided.begin_check(series(), "Dr A. Reyes-Lindqvist", Instant(2 * 86_400_000)).unwrap();
    let early = process_check(&protocol, None, &counts[..6], &decided).unwrap();
    assert_eq!((early.accepted.len(), early.to_go), (4, 6));
    assert_eq!(
        adopt(&mut decided.clone(), &early, "Dr A. Reyes-Lindqvist", Instant(9)),
        Err(Refused::NotComplete)
    );
    let check = process_check(&protocol, None, &counts, &decided).unwrap();
    assert_eq!((check.accepted.len(), check.to_go, check.left_out.len()), (WANTED, 0, 1));
    assert_eq!(check.left_out[0].why, [Excluded::MixingUnsaid]);
    let report = check.report.as_ref().unwrap();
    assert_eq!((report.operators.clone(), report.container_lots.clone()), (vec!["MO"], vec!["K-0058"]));
    let values: Vec<f64> = check.accepted.iter().map(|o| o.value).collect();
    assert!((report.values.mean - values.iter().sum::<f64>() / 10.0).abs() < 1e-12);
    assert_eq!(adopt(&mut decided, &check, " ", Instant(9)), Err(Refused::NoName));
    let before = learned(&protocol, None, &counts, &decided, History::Clinic);
    adopt(&mut decided, &check, "Dr A. Reyes-Lindqvist", Instant(20 * 86_400_000)).unwrap();
    let after = learned(&protocol, None, &counts, &decided, History::Clinic);
    // ten in the prior, five beside: fifteen, as before, none twice, and no literature
    assert_eq!((before.ground, after.ground), (Ground::Counts { n: 15 }, Ground::Counts { n: 15 }));
    assert_eq!((after.prior.n, after.posterior.freedom), (10, 14.0));
    let logs: Vec<f64> = after.accepted.iter().map(|o| o.log).collect();
    assert!((after.posterior.location - logs.iter().sum::<f64>() / 15.0).abs() < 1e-12);
    decided.back_to_literature(&series(), "Dr A. Reyes-Lindqvist", Instant(30)).unwrap();
    assert_eq!(learned(&protocol, None, &counts, &decided, History::Clinic), before);
}

#[test]
fn the_demo_is_shown_apart_and_never_enters() {
    let demo = history(Instant(1_795_597_200_000));
    assert_eq!(demo.len(), usize::try_from(HOW_MANY).unwrap());
    assert!(demo.iter().all(|c| c.demo));
    assert_eq!(demo, history(Instant(1_795_597_200_000)));
    let protocol = double_spin();
    let mut both = many(3, |_, _| ());
    both.extend(demo.clone());
    let clinic = learned(&protocol, None, &both, &Decisions::default(), History::Clinic);
    assert_eq!((clinic.ground, clinic.left_out.len()), (Ground::LiteratureAndCounts { n: 3 }, 60));
    assert!(clinic.left_out.iter().all(|l| l.why == [Excluded::Demo]));
    let apart = learned(&protocol, None, &both, &Decisions::default(), History::Demo);
    assert_eq!((apart.accepted.len(), apart.left_out.len()), (60, 0));
    // the first forty are in control, then the lot that drifts is seen, low
    let chart = chart(&apart.accepted, None, None, &Settings::default());
    let speak: Vec<usize> = (0..60).filter(|&i| !chart.rows[i].signals.is_empty()).collect();
    assert!(speak.first().is_some_and(|&i| i >= 40), "{speak:?}");
    assert!(chart.rows[40..].iter().flat_map(|r| &r.signals).all(|s| s.side == Side::Low));
    let lots = groups(&apart.accepted, GroupBy::ContainerLot);
    assert_eq!(
        lots.iter().map(|l| (l.name.as_str(), l.n)).collect::<Vec<_>>(),
        [("K-0031", 20), ("K-0044", 20), (DRIFTING_LOT, 20)]
    );
    assert!(lots[2].middle < 0.9 * lots[0].middle, "{lots:?}");
}

#[test]
fn limits_come_from_the_first_twenty_or_a_named_period() {
    let counts = many(30, |i, c| c.product = CellCount::new(900.0 + 20.0 * (i % 4) as f64).ok());
    let found = learned(&double_spin(), None, &counts, &Decisions::default(), History::Clinic);
    let settings = Settings::default();
    let short = chart(&found.accepted[..FIRST - 1], None, None, &settings);
    assert!(short.limits.is_none() && short.to_go == 1 && short.rows.iter().all(|r| r.z.is_none()));
    let whole = chart(&found.accepted, None, None, &settings);
    let limits = whole.limits.clone().unwrap();
    let logs: Vec<f64> = found.accepted[..20].iter().map(|o| o.log).collect();
    let mean = logs.iter().sum::<f64>() / 20.0;
    assert!((limits.centre - mean).abs() < 1e-14 && limits.name.is_none() && limits.n == 20);
    assert_eq!(whole.rows.iter().filter(|r| r.running.is_some()).count(), 10);
    let chosen = ChosenBaseline {
        of: series(),
        name: "after the service".into(),
        from: found.accepted[8].counted.at,
        until: found.accepted[28].counted.at,
        by: "MO".into(),
        at: Instant(0),
        back: None,
    };
    let other = chart(&found.accepted, Some(&chosen), None, &settings);
    assert_eq!(
        other.limits.as_ref().map(|l| (l.n, l.name.as_deref())),
        Some((21, Some("after the service")))
    );
    assert_eq!(other.rows.iter().filter(|r| r.running.is_some()).count(), 1);
    // a count of the period left out since: too few for limits, and the first twenty speak again
    let twenty = ChosenBaseline { until: found.accepted[27].counted.at, ..chosen.clone() };
    assert_eq!(in_period(&found.accepted, twenty.from, twenty.until), 20);
    let fewer: Vec<_> =
        found.accepted.iter().enumerate().filter(|(i, _)| *i != 15).map(|(_, o)| *o).collect();
    let short = chart(&fewer, Some(&twenty), None, &settings);
    assert_eq!((short.short, short.to_go), (Some(19), 0));
    assert_eq!(short.limits, chart(&fewer, None, None, &settings).limits);
    assert!(short.limits.is_some_and(|l| l.name.is_none()));
    // a group is drawn against the limits of all
    let mut counts = counts.clone();
    counts[25].container_lot = " k-00 60 ".to_owned();
    let found = learned(&double_spin(), None, &counts, &Decisions::default(), History::Clinic);
    let lot = chart(&found.accepted, None, Some((GroupBy::ContainerLot, "K-0060")), &settings);
    assert_eq!((lot.rows.len(), lot.limits), (1, whole.limits));
}

#[test]
fn a_far_point_and_a_lasting_shift_speak() {
    let counts = many(45, |i, c| {
        let wave = [0.97, 1.0, 1.03, 1.0][usize::try_from(i % 4).unwrap()];
        let shift = if i >= 30 { 0.95 } else { 1.0 };
        let far = if i == 25 { 1.5 } else { 1.0 };
        c.product = CellCount::new(938.0 * wave * shift * far).ok();
    });
    let found = learned(&double_spin(), None, &counts, &Decisions::default(), History::Clinic);
    let chart = chart(&found.accepted, None, None, &Settings::default());
    let at = |i: usize, rule: Rule| chart.rows[i].signals.iter().any(|s| s.rule == rule);
    assert!(at(25, Rule::OneBeyond3));
    let running: Vec<usize> = (26..45).filter(|&i| at(i, Rule::RunningMean)).collect();
    assert!(running.iter().any(|&i| i > 30) && running.len() <= 2, "{running:?}");
}

#[test]
fn a_line_shows_what_the_counts_say() {
    // platelets rise less than in proportion to the count
    let counts = many(60, |i, c| {
        let (h, plt) = (0.36 + 0.002 * i as f64, 150.0 + 5.0 * ((i * 7) % 60) as f64);
        let eta = 0.7 * libm::exp(-3.0 * (h - 0.42)) * (plt / 236.0).powf(-0.3);
        c.haematocrit = Haematocrit::new(h).ok();
        c.baseline = Some(NativeCount { value: q(plt), cv: ANALYSER });
        c.product = CellCount::new(eta * plt * 26.0 / 4.0).ok();
    });
    let found = learned(&double_spin(), None, &counts, &Decisions::default(), History::Clinic);
    let h = against(&found.accepted, Covariate::Haematocrit, found.prior);
    assert_eq!((h.marks.len(), h.line.len()), (60, 41));
    assert!(h.line.iter().all(|p| p.low < p.median && p.median < p.high));
    assert_eq!((h.line[0].x, h.line[40].x), (0.36, 0.36 + 0.002 * 59.0));
    // 1 − 0.3: not in proportion
    let count = against(&found.accepted, Covariate::Baseline, found.prior).slope.unwrap();
    assert!((count.middle - 0.7).abs() < 0.1 && count.high < 1.0, "{count:?}");
    // all alike: no line
    let kept = against(&found.accepted, Covariate::VolumeKept, found.prior);
    assert!(kept.line.is_empty() && kept.slope.is_none() && kept.marks.len() == 60);
}

#[test]
fn the_range_of_a_slope_holds_the_true_one_as_often_as_it_says() {
    // Recovery falls by e^(−3) for a whole of haematocrit, and varies by 10 % beside; 60 counts each of 400 clinics.
    const TRUE: f64 = -3.0;
    let (mut inside, mut sum, clinics) = (0.0, 0.0, 400);
    for seed in 0..clinics {
        let mut chance = Chance(seed);
        let template = counted("one", Instant(0));
        let counts: Vec<Counted> = (0..60)
            .map(|_| {
                let h = 0.42 + 0.04 * chance.normal();
                let eta = 0.7 * exp(TRUE * (h - 0.42) + 0.1 * chance.normal());
                let haematocrit = Haematocrit::new(h).ok();
                let product = CellCount::new(eta * 210.0 * 26.0 / 4.0).ok();
                Counted { haematocrit, product, ..template.clone() }
            })
            .collect();
        let decided = Decisions::default();
        let observed: Vec<_> = counts.iter().map(|c| judge(c, &decided).unwrap()).collect();
        let prior = Prior::of_moments(0.7, 0.12, observed[0].counting).unwrap();
        let slope = against(&observed, Covariate::Haematocrit, prior).slope.unwrap();
        inside += f64::from(slope.low < TRUE && TRUE < slope.high);
        sum += slope.middle;
    }
    let all = clinics as f64;
    // The SD of such a share is 2 %. The middle's SD in one clinic is 0.1/(0.04·√60) = 0.32, of the mean 0.016; the
    // prior, 0 ± 2, draws it by 0.32²/(0.32² + 2²) = 2.5 % or 0.08 towards 0.
    println!("slope {:.3} on average, inside its 80 % range {:.3}", sum / all, inside / all);
    assert!((0.74..=0.86).contains(&(inside / all)), "{}", inside / all);
    assert!((sum / all - (TRUE + 0.08)).abs() < 0.06, "{}", sum / all);
}

#[test]
fn a_lot_is_found_however_it_was_spaced_and_nothing_else_is() {
    let with = |id: &str, containers: &str, anticoagulant: &str| {
        let sign = CheckSign::pick(0, &[]);
        let mut d = Draft::new(id.into(), sign, Instant(0), Conventions::default());
        d.write(Field::ContainerLot, containers);
        d.write(Field::AnticoagulantLot, anticoagulant);
        d
    };
    let cases = [
        with("a", "K-0058", "AC-2291"),
        with("b", " k - 0058", "AC-2292"),
        with("c", "K-00581", "ac-2291 "),
        with("d", "K-0058, K-0061", ""),
        with("e", "K0058", "K-0058"),
        with("f", "", ""),
        with("g", "K-0058 / K-0061", "12/34.A"),
        with("h", "K-0058 and K-0061", "12/34.A / 9 B"),
    ];
    let all = || cases.iter().map(|c| (NamedIn::OpenCase, c));
    let found = |lot, sure| {
        let all = Lot::read(lot).map(|lot| recall(all(), &lot)).unwrap_or_default();
        all.into_iter().filter(|u| u.sure == sure).map(|u| (u.case.id.as_str(), u.field)).collect::<Vec<_>>()
    };
    use LotField::{Anticoagulant, Containers};
    let six = [
        ("a", Containers),
        ("b", Containers),
        ("d", Containers),
        ("e", Anticoagulant),
        ("g", Containers),
        ("h", Containers),
    ];
    assert_eq!(found("K-0058", true), six);
    // without its hyphen it may be another: told apart
    assert_eq!(found("K-0058", false), [("e", Containers)]);
    assert_eq!(found("ac-2291", true), [("a", Anticoagulant), ("c", Anticoagulant)]);
    assert_eq!(found("K-0061", true), [("d", Containers), ("g", Containers), ("h", Containers)]);
    // a lot that holds what parts others is found whole, and looked for among others
    assert_eq!(found("12/34.a", true), [("g", Anticoagulant)]);
    assert_eq!(found("12/34.A", false), [("h", Anticoagulant)]);
    assert_eq!((found("9b", true), found("9b", false)), (vec![], vec![("h", Anticoagulant)]));
    assert_eq!((found(" ", true), found("K-00", true), found("K-00", false)), (vec![], vec![], vec![]));
    assert_eq!(found("K-005", false), []);
}

/// Everything a record ever said, the newest first.
fn entries_of(record: &Record) -> impl Iterator<Item = (NamedIn, &Draft)> {
    let entries = record.entries().map(|e| (NamedIn::EarlierEntry, &e.draft));
    let earlier: Vec<_> = entries.take(record.amendments().len()).collect();
    std::iter::once((NamedIn::Record, record.latest())).chain(earlier.into_iter().rev())
}

#[test]
fn a_lot_is_found_in_every_entry_of_a_record_and_in_an_open_amendment() {
    let lot = |text: &str| {
        let mut d = typed();
        d.write(Field::ContainerLot, text);
        d
    };
    let mut record = Record::sign(lot("K-0058"), "MO", Instant(9), vec![]).unwrap();
    record.amend(lot("K-0061"), "MO", Instant(10), vec![], "misread").unwrap();
    let open = lot("K-0077");
    let everything = || entries_of(&record).chain([(NamedIn::OpenAmendment, &open)]);
    let line = Line::of(&record, &record.to_json().unwrap(), None);
    let found = |lot: &str| {
        let lot = Lot::read(lot).unwrap();
        let all = recall(everything(), &lot);
        // the line of the record says of it what the record itself does
        let of_line: Vec<_> =
            line.names(&lot).into_iter().map(|(field, named_in, ..)| (field, named_in)).collect();
        let of_record = recall(entries_of(&record), &lot);
        assert_eq!(of_line, of_record.iter().map(|u| (u.field, u.named_in)).collect::<Vec<_>>());
        all.iter().map(|u| (u.named_in, u.typed.to_owned())).collect::<Vec<_>>()
    };
    assert_eq!(found("K-0061"), [(NamedIn::Record, "K-0061".to_owned())]);
    assert_eq!(found("K-0058"), [(NamedIn::EarlierEntry, "K-0058".to_owned())]);
    assert_eq!(found("K-0077"), [(NamedIn::OpenAmendment, "K-0077".to_owned())]);
    // the anticoagulant is the same in all three: one preparation, once
    let anticoagulant = typed().text(Field::AnticoagulantLot).to_owned();
    assert_eq!(found(&anticoagulant), [(NamedIn::Record, anticoagulant.clone())]);
}

#[test]
fn a_lot_that_was_in_hand_is_found_after_it_was_corrected() {
    let mut d = typed();
    d.rows.additions = 1;
    d.choices.additions.insert(0, AdditionChoice::CalciumGluconate);
    d.write(Field::ContainerLot, "K-0058");
    d.write(Field::AdditionLot(0), "G-0101");
    d.change(|d| d.times.needle_in = Some(Instant(1_795_599_600_000)));
    d.edit(None, |d| d.write(Field::ContainerLot, "K-0061"));
    d.edit(None, |d| d.hand_over(Instant(1_795_600_100_000)));
    d.edit(None, |d| d.write(Field::AdditionLot(0), "G-0102"));
    let open = d.clone();
    let record = Record::sign(d.clone(), "MO", Instant(9), vec![]).unwrap();
    let text = record.to_json().unwrap();
    let line = Line::of(&record, &text, None);
    assert_eq!(Line::from_json(&line.to_json()).as_ref(), Ok(&line));
    for (lot, field) in [
        ("K-0058", LotField::Containers),
        ("K-0061", LotField::Containers),
        ("G-0101", LotField::Additions),
        ("G-0102", LotField::Additions),
    ] {
        let lot = Lot::read(lot).unwrap();
        let of_case = recall([(NamedIn::OpenCase, &open)], &lot);
        assert_eq!(of_case.iter().map(|u| (u.field, u.sure)).collect::<Vec<_>>(), [(field, true)], "{lot:?}");
        let of_line: Vec<_> = line.names(&lot).into_iter().map(|(f, named, ..)| (f, named)).collect();
        assert_eq!(of_line, [(field, NamedIn::Record)], "{lot:?}");
    }
    assert!(line.has(&["k-0058".to_owned()]) && line.has(&["g-0101".to_owned()]));
    // An amendment that says otherwise leaves them in the entry before.
    d.hand_overs.clear();
    d.write(Field::AdditionLot(0), "G-0103");
    let mut record = record;
    record.amend(d, "MO", Instant(10), vec![], "misread").unwrap();
    let line = Line::of(&record, &record.to_json().unwrap(), None);
    let lot = Lot::read("G-0101").unwrap();
    let of_record: Vec<_> =
        recall(entries_of(&record), &lot).into_iter().map(|u| (u.field, u.named_in)).collect();
    let of_line: Vec<_> = line.names(&lot).into_iter().map(|(f, named, ..)| (f, named)).collect();
    assert_eq!((of_line.len(), of_line), (1, of_record));
}

#[test]
fn a_prior_of_the_clinics_own_holds_as_far_as_its_counts_do() {
    let protocol = double_spin();
    let counts = many(14, |i, c| c.product = CellCount::new(900.0 + 15.0 * (i % 5) as f64).ok());
    let mut decided = Decisions::default();
    decided.begin_check(series(), "MO", Instant(0)).unwrap();
    let check = process_check(&protocol, None, &counts, &decided).unwrap();
    adopt(&mut decided, &check, "MO", Instant(20)).unwrap();
    let at = |decided: &Decisions, protocol: &Protocol| {
        let found = learned(protocol, None, &counts, decided, History::Clinic);
        (found.own, found.prior, found.ground)
    };
    let whole = at(&decided, &protocol);
    assert_eq!((whole.0, whole.1.n), (Some(OwnStands::Holds { kept: 10, of: 10 }), 10));
    // what was stored when it was decided is what its counts say
    assert!((whole.1.location - decided.own[0].prior.location).abs() < 1e-12);
    // a count left out since is out of the prior too, and back when it is let in again
    let mut less = decided.clone();
    less.exclude("c3", "MO", Instant(21), "wrong dilution").unwrap();
    let short = at(&less, &protocol);
    assert_eq!((short.0, short.1.n), (Some(OwnStands::Holds { kept: 9, of: 10 }), 9));
    let nine: Vec<(f64, f64)> =
        check.accepted.iter().filter(|o| o.counted.id != "c3").map(|o| (o.log, o.counting)).collect();
    assert_eq!(short.1, Prior::NONE.after(&nine));
    less.include_again("c3", "MO", Instant(22)).unwrap();
    assert_eq!(at(&less, &protocol), whole);
    // with fewer than three of them nothing is taught, and what held before does
    (0..8).for_each(|i| less.exclude(&format!("c{i}"), "MO", Instant(23), "recalled lot").unwrap());
    let two = at(&less, &protocol);
    assert_eq!((two.0, two.1.n), (Some(OwnStands::TooFew { kept: 2, of: 10 }), 0));
    // a prior of recoveries says nothing of a fold, whether its kind was stored or its cases tell
    let top = Protocol {
        kind: ProductKind::OffTheTop,
        ..Bench::default().protocol("off-the-top").cloned().unwrap()
    };
    let top = Protocol { id: protocol.id.clone(), ..top };
    for kind in [Some(ProductKind::Concentrate), None] {
        decided.own[0].kind = kind;
        let other = at(&decided, &top);
        assert_eq!((other.0, other.2), (Some(OwnStands::OtherKind), Ground::Literature), "{kind:?}");
        assert!((exp(other.1.location) - 1.7).abs() < 0.01, "the fold's own expectation, not 0.69");
    }
}

#[test]
fn few_counts_are_told_beside_the_literature_until_ten() {
    let ground = |protocol: &Protocol, n| {
        learned(protocol, None, &many(n, |_, _| ()), &Decisions::default(), History::Clinic).ground
    };
    let literature = double_spin();
    assert_eq!(ground(&literature, 0), Ground::Literature);
    assert_eq!(ground(&literature, 1), Ground::LiteratureAndCounts { n: 1 });
    assert_eq!(ground(&literature, 9), Ground::LiteratureAndCounts { n: 9 });
    assert_eq!(ground(&literature, 10), Ground::Counts { n: 10 });
    let mut entry = double_spin();
    entry.expectation.as_mut().unwrap().basis = Basis::ClinicEntry;
    assert_eq!(ground(&entry, 3), Ground::EntryAndCounts { n: 3 });
    // where nothing was known before, the counts are all there is
    let nothing = Protocol { expectation: None, ..double_spin() };
    assert_eq!(ground(&nothing, 3), Ground::Counts { n: 3 });
}
