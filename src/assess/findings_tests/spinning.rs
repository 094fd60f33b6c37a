//! Findings around the spin.

use super::*;
use crate::quantity::{Grams, Radius};

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
fn the_whole_programme_fits_before_the_use_by() {
    // Use-by 4 h after the needle; the programme needs 10 min and 10 min, and what a person does in between.
    let planned = protocol(&mut quiet()).programme.planned().unwrap().known.get();
    assert!(planned >= 1200.0, "{planned} s");
    let mut d = quiet();
    d.times.needle_in = hours_ago(2);
    let a = answer(&d);
    let (spin_by, use_by) = (a.spin.spin_by.unwrap().value, a.spin.use_by.unwrap().value.at);
    assert_eq!(use_by.since(spin_by).unwrap().seconds().unwrap().get(), planned);
    // Begun a minute before the use-by, it is too late.
    caution("past_spin_by", |d| {
        let needle_in = hours_ago(4).unwrap();
        d.times.needle_in = Some(needle_in);
        d.times.stages.insert(0, Instant(now().at.0 - 60_000));
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

/// 1 g is allowed: 1.2 g apart stops the spin, and is a Caution once it has turned; the second waits for the first.
#[test]
fn weights_out_of_tolerance_stop_the_spin() {
    let weigh = |d: &mut Draft, one: fn(u8) -> Field, other: &str| {
        rotor(d).tolerance = Some(Grams::new(1.0).unwrap());
        d.write(one(0), "31.2");
        d.write(one(1), other);
    };
    stops("out_of_balance.first", HeldStep::Spin, |d| weigh(d, Field::FilledWeight, "32.4"));
    let mut d = quiet();
    weigh(&mut d, Field::FilledWeight, "32.2");
    assert_eq!(keys(&answer(&d)), [""; 0], "as much as is allowed is allowed");
    weigh(&mut d, Field::FilledWeight, "32.4");
    rotor(&mut d).tolerance = None;
    assert_eq!(keys(&answer(&d)), [""; 0], "nothing is made up");
    let mut d = quiet();
    weigh(&mut d, Field::FilledWeightSecond, "32.4");
    assert_eq!(keys(&answer(&d)), [""; 0], "the first has not begun");
    d.times.stages.insert(0, now().at);
    assert!(answer(&d).holding(HeldStep::Spin).any(|f| f.kind.key() == "out_of_balance.second"));
    d.times.stages.insert(2, now().at);
    let turned = answer(&d);
    let one = turned.findings.iter().find(|f| f.kind.key() == "out_of_balance.second").unwrap();
    assert_eq!(one.level, Level::Caution);
    // Each across from a counterweight of its own, both are held against that.
    let mut own = quiet();
    weigh(&mut own, Field::FilledWeight, "32.4");
    own.write(Field::OwnCounterweight(0), "31");
    own.write(Field::OwnCounterweight(1), "31.3");
    let found = answer(&own).findings.iter().map(|f| f.kind.clone()).collect::<Vec<_>>();
    let apart = Grams::new(1.1).unwrap();
    assert!(
        matches!(found[..], [FindingKind::OutOfBalance { container: 1, other: None, apart: a, .. }] if a == apart),
        "{found:?}"
    );
    own.write(Field::OwnCounterweight(1), "32");
    assert_eq!(keys(&answer(&own)), [""; 0]);
    // What stands stopped is weighed anew before it is run again.
    let mut d = quiet();
    weigh(&mut d, Field::FilledWeight, "32.4");
    d.times.stages.insert(0, now().at);
    let held = |d: &Draft| answer(d).holding(HeldStep::Spin).any(|f| f.kind.key() == "out_of_balance.first");
    assert!(!held(&d), "it turns");
    let (kind, at, by) = (TroubleKind::SpinStopped, now().at, "MO".into());
    d.went_wrong(Trouble {
        kind,
        container: None,
        at,
        by,
        set_aside: false,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    assert!(held(&d));
    d.run_again(now().at);
    assert!(!held(&d));
    // So it is where no start was tapped, and the spin is over.
    let mut d = quiet();
    weigh(&mut d, Field::FilledWeight, "32.4");
    d.times.spin_end = Some(now().at);
    let over = answer(&d);
    assert_eq!(
        over.findings.iter().find(|f| f.kind.key() == "out_of_balance.first").unwrap().level,
        Level::Caution
    );
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

/// The quiet case spun as planned: 10 min, by hand, 10 min.
fn spun(d: &mut Draft) {
    let minutes_ago = |minutes: i64| Instant(now().at.0 - minutes * 60_000);
    d.times.stages = [(0, minutes_ago(40)), (1, minutes_ago(30)), (2, minutes_ago(20))].into();
    d.times.spin_end = Some(minutes_ago(10));
}

#[test]
fn times_that_leave_a_stage_too_little_are_told() {
    let mut d = quiet();
    spun(&mut d);
    assert_eq!(keys(&answer(&d)), [""; 0]);
    // All tapped in one minute.
    let at_once = |d: &mut Draft| {
        spun(d);
        for began in d.times.stages.values_mut() {
            *began = now().at;
        }
        d.times.spin_end = Some(now().at);
    };
    let mut d = quiet();
    at_once(&mut d);
    assert_eq!(keys(&answer(&d)), ["run_differs.1.clock", "run_differs.3.clock"]);
    // Minutes that were typed say it better; for the other stage the clock still does.
    d.write(Field::MinutesActual(0), "10");
    assert_eq!(keys(&answer(&d)), ["run_differs.3.clock"]);
    // What cannot be read is told as such, and is not passed over for the clock.
    d.write(Field::MinutesActual(2), "ten");
    assert_eq!(keys(&answer(&d)), ["unread.minutes_actual_3"]);
    // 10 % is the tolerance: one minute in ten.
    for (minutes, told) in [(1, false), (2, true), (-1, false), (-2, true)] {
        let mut d = quiet();
        spun(&mut d);
        let end = d.times.spin_end.unwrap();
        d.times.spin_end = Some(Instant(end.0 + minutes * 60_000));
        assert_eq!(keys(&answer(&d)).contains(&"run_differs.3.clock".to_owned()), told, "{minutes}");
    }
    // A machine goes on by itself: its stages are judged together, also where no one tapped between them.
    let mut d = quiet();
    spun(&mut d);
    let first = protocol(&mut d).programme.0[0].clone();
    protocol(&mut d).programme.0 = vec![first.clone(), first];
    d.times.stages = [(0, d.times.stages[&0]), (1, d.times.stages[&1])].into();
    d.times.spin_end = Some(Instant(now().at.0 - 20 * 60_000));
    assert_eq!(keys(&answer(&d)), [""; 0]);
    d.times.stages.remove(&1);
    assert_eq!(keys(&answer(&d)), [""; 0]);
    d.times.spin_end = Some(now().at);
    assert_eq!(keys(&answer(&d)), ["run_differs.1.clock"]);
}

#[test]
fn a_spin_that_stopped_stands_until_it_is_run_again() {
    let mut d = quiet();
    spun(&mut d);
    d.times.spin_end = None;
    d.went_wrong(Trouble {
        kind: TroubleKind::SpinStopped,
        container: None,
        at: Instant(now().at.0 - 16 * 60_000),
        by: "MO".into(),
        set_aside: false,
        aside: None,
        collected: false,
        withdrawn: None,
    });
    let since = Instant(now().at.0 - 16 * 60_000);
    let a = answer(&d);
    assert_eq!((a.spin.now, a.spin.next), (super::super::spin::Happening::Stopped { index: 2, since }, None));
    // Ended where it stopped, it ran 4 of 10 min.
    let mut ended = d.clone();
    ended.times.spin_end = Some(now().at);
    assert!(keys(&answer(&ended)).contains(&"run_differs.3.clock".to_owned()));
    d.run_again(Instant(now().at.0 - 11 * 60_000));
    assert!(matches!(answer(&d).spin.now, super::super::spin::Happening::Stage { index: 2, due: true, .. }));
    d.times.spin_end = Some(now().at);
    assert_eq!(keys(&answer(&d)), ["trouble.spin_stopped"], "11 min for 10: only that it stopped is told");
    // The run before it belongs to the order of times.
    d.times.interrupted[0].stopped = now().at;
    assert!(keys(&answer(&d)).contains(&"clock_went_back".to_owned()));
}

#[test]
fn a_spin_ended_where_it_stopped_waits_for_the_prescriber() {
    use crate::draft::TimeOf;
    let key = "trouble.spin_stopped";
    let ago = |minutes: i64| Instant(now().at.0 - minutes * 60_000);
    let stop = |d: &mut Draft, minutes: i64| {
        trouble(d, TroubleKind::SpinStopped, None, false);
        let mut stop = d.troubles.pop().unwrap();
        stop.at = ago(minutes);
        d.went_wrong(stop);
    };
    // The second spin, 2 of its 10 min.
    let stopped = |d: &mut Draft| {
        spun(d);
        d.times.spin_end = None;
        stop(d, 18);
    };
    let ended = |d: &mut Draft| {
        stopped(d);
        d.times.spin_end = d.spin_stopped();
    };
    let a = waits(key, HeldStep::HandOver, ended);
    let found = a.findings.iter().find(|f| f.kind.key() == key).unwrap();
    assert_eq!(found.kind, FindingKind::SpinCutShort);
    let above = STEPS.map(|step| found.kind.stands_above(step));
    assert_eq!(above, [false, true, true], "told where it was ended");
    let level = |d: &Draft| answer(d).findings.iter().find(|f| f.kind.key() == key).map(|f| f.level);
    let mut d = quiet();
    stopped(&mut d);
    assert_eq!(level(&d), Some(Level::Caution), "it may run again");
    let mut again = d.clone();
    again.run_again(ago(11));
    again.times.spin_end = Some(now().at);
    assert_eq!(level(&again), Some(Level::Caution));
    // What older versions stored of a stop told its run by its time.
    d.times.spin_end = d.spin_stopped();
    d.times.stops.clear();
    assert_eq!(level(&d), Some(Level::StopClinician));
    // As decided it stays, also when the end is set right; the stop taken back, there is nothing to decide.
    let about = answer(&d).findings.into_iter().find(|f| f.kind.key() == key).map(|f| f.about);
    let said = Decision::new("Dr A. Reyes-Lindqvist", "enough for today", now().at);
    d.decide(key.to_owned(), Decision { about, ..said });
    d.correct(TimeOf::SpinEnd, ago(17), "MO".into(), now().at);
    let a = answer(&d);
    let found = a.findings.iter().find(|f| f.kind.key() == key).unwrap();
    assert!(found.kind == FindingKind::SpinCutShort && !found.is_open(), "{found:?}");
    d.troubles[0].withdrawn = Some(Check { by: "MO".into(), at: now().at, of: String::new() });
    assert_eq!(level(&d), None);
    // The first spin was left where it stopped, and the work went on.
    let mut first = quiet();
    first.times.stages = [(0, ago(40))].into();
    stop(&mut first, 38);
    assert_eq!(level(&first), Some(Level::Caution));
    first.times.stages.extend([(1, ago(30)), (2, ago(20))]);
    assert_eq!(level(&first), Some(Level::StopClinician));
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
fn an_overdue_check_of_the_centrifuge_is_told() {
    use crate::log::{Centrifuge, LastCheck};
    let day = |d| Date::new(2026, 3, d).unwrap();
    let with = |speed: LastCheck, timer: LastCheck| {
        let centrifuge =
            Centrifuge { id: "c".into(), name: "Centrifuge 1".into(), speed, timer, ..Centrifuge::default() };
        move |d: &mut Draft| d.kit.centrifuge = Some(centrifuge)
    };
    let due = |on| LastCheck { on: Some(day(1)), due: Some(on), ..LastCheck::default() };
    let none = LastCheck::default();
    // It is 12 March: what is due that day is not overdue.
    caution("centrifuge_check.speed", with(due(day(11)), none));
    caution("centrifuge_check.timer", with(due(day(12)), due(day(11))));
    caution("centrifuge_check.speed", with(LastCheck { failed: true, ..due(day(30)) }, none));
    caution("centrifuge_check.timer", with(none, LastCheck { never: true, ..none }));
    let mut d = quiet();
    with(due(day(12)), none)(&mut d);
    assert_eq!(keys(&answer(&d)), [""; 0], "no interval is invented, and that day it still holds");
    with(due(day(11)), due(day(11)))(&mut d);
    // A spin that began while it held is not judged by a later day.
    d.times.needle_in = hours_ago(26);
    d.times.stages.insert(0, hours_ago(25).unwrap());
    assert!(!keys(&answer(&d)).iter().any(|k| k.starts_with("centrifuge_check")));
    d.times.stages.clear();
    assert_eq!(keys(&answer(&d)).iter().filter(|k| k.starts_with("centrifuge_check")).count(), 2);
    protocol(&mut d).programme.0.clear();
    assert!(!keys(&answer(&d)).iter().any(|k| k.starts_with("centrifuge_check")), "nothing turns");
    // None is chosen, and one of those that turn the rotor is overdue: it may be that one.
    let one = |id: &str, speed| Centrifuge { id: id.into(), speed, ..Centrifuge::default() };
    let turning = |all: Vec<Centrifuge>| move |d: &mut Draft| d.kit.centrifuges.all = all;
    let two = || vec![one("a", due(day(30))), one("b", due(day(11)))];
    let a = caution("centrifuge_check.speed", turning(two()));
    assert!(a.findings.iter().any(|f| matches!(f.kind, FindingKind::CentrifugeCheck { chosen: false, .. })));
    let mut d = quiet();
    turning(two())(&mut d);
    d.kit.centrifuge = d.kit.centrifuges.all.first().cloned();
    assert_eq!(keys(&answer(&d)), [""; 0], "the one chosen is in order");
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
