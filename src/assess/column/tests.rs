use super::super::{Now, assess};
use super::*;
use crate::bench::Bottom;
use crate::case;
use crate::draft::{CheckSign, Draft, Field};
use crate::quantity::time::{Instant, Offset};
use crate::spin::column::ask::{Question, Reply};
use crate::spin::column::picture;
use crate::spin::programme::asked;
use crate::spin::tube::End;
use crate::words::Language;

const NOW: Now = Now { at: Instant(1_795_597_200_000), offset: Offset::UTC };

pub(super) fn demo(change: impl FnOnce(&mut Draft)) -> (Case, Assessment) {
    let mut draft = Draft::demo("d".into(), CheckSign::pick(0, &[]), NOW.at, Default::default());
    change(&mut draft);
    let case = case::read(&draft, Language::English).0;
    let answer = assess(&case, NOW);
    (case, answer)
}

pub(super) fn of(change: impl FnOnce(&mut Draft)) -> Result<Pictured, NoColumn> {
    let (case, answer) = demo(change);
    pictured(&case, &answer, &Turned::default(), None)
}

/// The invented case: 2 and 13 mL in each of two tubes, 180 then 900 ×g, 2 mL of product from each.
#[test]
fn a_case_is_pictured_as_one_of_its_containers() {
    let found = of(|_| ()).unwrap();
    let Setup { blood, spins, .. } = &found.setup;
    assert_eq!((blood.blood.get(), blood.anticoagulant.get()), (13.0, 2.0));
    assert_eq!((blood.haematocrit.get(), blood.platelets.get()), (0.42, 210.0));
    assert_eq!(spins.len(), 2);
    assert_eq!(spins[1].parting.line, Line::AboveBottom { kept: Quantity::new(2.0).unwrap() });
    assert!(picture(&found.setup).is_ok());
    assert!(!found.usual_count && !found.as_run);
}

/// 15 mL go into a tube of 15 mm, what is drawn off into one of 12 with a cone; the knob moves the first alone.
#[test]
fn the_second_tube_may_have_a_shape_of_its_own() {
    let (case, answer) = demo(|_| ());
    let narrow = Container {
        inner_diameter: Quantity::new(12.0).unwrap(),
        bottom: Bottom::Conical,
        ..case.draw.container.clone().unwrap()
    };
    let found = pictured(&case, &answer, &Turned::default(), Some(&narrow)).unwrap();
    let wide = |setup: &Setup| setup.spins.iter().map(|s| s.tube.inner_diameter.get()).collect::<Vec<_>>();
    assert_eq!(wide(&found.setup), [15.0, 12.0]);
    assert!(matches!(found.setup.spins[1].tube.end, End::Cone { .. }));
    let mut turned = Turned::default();
    turned.turn(Knob::Diameter, false, &found.stands);
    let beside = |of, turned| beside(of, turned, None).unwrap();
    assert_eq!(wide(&beside(&found, &turned)), [14.0, 12.0]);
    // Its own too where it is as wide as the first.
    let alike = case.draw.container.clone().unwrap();
    let found_alike = pictured(&case, &answer, &Turned::default(), Some(&alike)).unwrap();
    assert_eq!(wide(&beside(&found_alike, &turned)), [14.0, 15.0]);
    let like_the_first = pictured(&case, &answer, &Turned::default(), None).unwrap();
    assert_eq!(wide(&beside(&like_the_first, &turned)), [14.0, 14.0]);
    // What is drawn off has to go into it.
    let text = crate::spin::column::ask::answer(&Question::Column(found.setup.clone()).text().unwrap());
    let Some(Reply::Column(seen)) = Reply::read(&text) else { panic!() };
    let of = |ml: f64| Container { capacity: Quantity::new(ml).unwrap(), ..narrow.clone() };
    let drawn = seen[0].parted[0];
    assert!(holds(&of(drawn + 0.1), &seen) && !holds(&of(drawn - 0.1), &seen) && holds(&of(1.0), &[]));
    assert!(picture(&found.setup).is_ok());
}

/// 180 ×g at 155 mm is set as 1020 rpm, 900 ×g as 2280; what was read off the machine is not moved to a step.
#[test]
fn a_run_that_was_entered_is_what_is_pictured() {
    let ran = |change: fn(&mut Draft)| {
        let found = of(change).unwrap();
        assert!(found.as_run && found.setup.rotor.speed_step.is_none());
        let hold = |i: usize| {
            let Stage::Hold { speed, time } = found.setup.spins[i].programme.0[0] else { panic!() };
            // It stays named as a force, where another rotor keeps it.
            assert!(matches!(speed, Speed::Rcf { at: RadiusKind::Maximum, .. }));
            let rpm = asked(speed, &found.setup.rotor).unwrap().value.get();
            ((rpm * 1e6).round() / 1e6, time.get())
        };
        (hold(0), hold(1))
    };
    let faster = ran(|d| d.write(Field::SpeedActual(0), "1205"));
    assert_eq!(faster, ((1205.0, 600.0), (2280.0, 600.0)));
    let shorter = ran(|d| d.write(Field::MinutesActual(2), "7"));
    assert_eq!(shorter, ((1020.0, 600.0), (2280.0, 420.0)));
}

#[test]
fn what_is_missing_or_outside_is_said() {
    assert_eq!(of(|d| d.kit.rotor = None), Err(NoColumn::NoRotor));
    assert_eq!(of(|d| d.kit.protocol = None), Err(NoColumn::NoProgramme));
    assert_eq!(of(|d| d.kit.container = None), Err(NoColumn::NoFill));
    assert_eq!(of(|d| d.write(Field::BloodHaematocrit, "")), Err(NoColumn::NoHaematocrit));
    let rotor = |change: fn(&mut Rotor)| {
        of(move |d| {
            if let Some(rotor) = d.kit.rotor.as_mut() {
                change(rotor);
            }
        })
    };
    assert_eq!(rotor(|r| r.kind = RotorKind::FixedAngle), Err(NoColumn::FixedAngle));
    assert_eq!(rotor(|r| r.maximum = None), Err(NoColumn::NoRadius));
    // Radii that are there and cannot be are not called missing.
    let reversed = |r: &mut Rotor| r.minimum = r.maximum;
    assert_eq!(rotor(reversed), Err(NoColumn::RadiiReversed));
    let impossible = |d: &mut Draft| {
        let g = Quantity::new(1_000_000.0).unwrap();
        let speed = Speed::Rcf { g, at: RadiusKind::Maximum };
        if let Some(p) = d.kit.protocol.as_mut() {
            p.programme.0[0] = Stage::Hold { speed, time: Quantity::new(60.0).unwrap() };
        }
        if let Some(r) = d.kit.rotor.as_mut() {
            r.maximum = Some(Quantity::new(10.0).unwrap());
        }
    };
    assert_eq!(of(impossible), Err(NoColumn::OutOfRange));
    // A chamber is one whatever else is missing.
    let chamber = of(|d| {
        d.kit.protocol = None;
        if let Some(container) = d.kit.container.as_mut() {
            container.bottom = Bottom::Flat;
        }
    });
    assert_eq!(chamber, Err(NoColumn::FlatBottom));
    // Uncounted blood has a picture: shares do not follow the count.
    assert!(of(|d| d.write(Field::BloodCount, "")).unwrap().usual_count);
    let by_hand = of(|d| {
        let programme = vec![Stage::Handling { what: String::new(), time: None }];
        if let Some(p) = d.kit.protocol.as_mut() {
            p.programme = Programme(programme);
        }
    });
    assert_eq!(by_hand, Err(NoColumn::NoProgramme));
}

/// What a container says of itself decides; a flat bottom that says it is open is a tube.
#[test]
fn gel_float_and_chamber_have_no_column() {
    let container = |separates: Option<Separates>, bottom: Bottom| {
        of(move |d| {
            if let Some(container) = d.kit.container.as_mut() {
                (container.separates, container.bottom) = (separates, bottom);
            }
        })
        .map(|found| found.setup.spins[0].tube.end)
    };
    for bottom in [Bottom::Round, Bottom::Flat] {
        for (separates, why) in [
            (Separates::Gel, NoColumn::Gel),
            (Separates::Float, NoColumn::Float),
            (Separates::Chamber, NoColumn::Chamber),
        ] {
            assert_eq!(container(Some(separates), bottom), Err(why));
        }
    }
    assert_eq!(container(Some(Separates::Open), Bottom::Flat), Ok(End::Flat));
    assert_eq!(container(None, Bottom::Flat), Err(NoColumn::FlatBottom));
    assert_eq!(container(None, Bottom::Round), Ok(End::Round));
}

/// 15 mL into one container and 8 into the other: the one that is pictured is the first, not one of 11.5.
#[test]
fn containers_filled_otherwise_are_not_averaged() {
    let filled = |marks: [&str; 2]| {
        let marks = marks.map(str::to_owned);
        let found = of(move |d| {
            for (i, mark) in (0..).zip(&marks) {
                d.write(Field::FillActual(i), mark);
            }
        });
        let found = found.unwrap();
        let blood = found.setup.blood;
        (blood.blood.get() + blood.anticoagulant.get(), found.alone, found.as_filled)
    };
    assert_eq!(filled(["", ""]), (15.0, None, false));
    assert_eq!(filled(["15", "8"]), (15.0, Some(0), true));
    assert_eq!(filled(["8", "15"]), (15.0, Some(1), true));
    assert_eq!(filled(["14", "14"]), (14.0, None, true));
}

/// 4 mL of product off the top of 15 and 8 mL: of each as much as stands above its cells, not 2 of both.
#[test]
fn of_the_fullest_container_comes_its_own_part_of_the_product() {
    let found = |kind: ProductKind, stages: usize| {
        let (case, answer) = demo(|d| {
            if let Some(p) = d.kit.protocol.as_mut() {
                p.kind = kind;
                p.programme.0.truncate(stages);
            }
            d.write(Field::ProductVolume, "4");
            d.write(Field::FillActual(0), "15");
            d.write(Field::FillActual(1), "8");
        });
        let protocol = case.protocol.clone().unwrap();
        let above = |fill: f64, blood: f64| {
            let packed = blood * 0.42 / protocol.packing.get();
            (fill - packed - protocol.left_behind.get()).max(0.0)
        };
        let splits = answer.draw.containers.iter().map(|c| c.split.unwrap());
        let [one, other] = splits.map(|s| above(s.fill.get(), s.blood.get())).collect::<Vec<_>>()[..] else {
            panic!()
        };
        let pictured = pictured(&case, &answer, &Turned::default(), None).unwrap();
        let Some(Line::AboveBottom { kept }) = pictured.setup.spins.last().map(|s| s.parting.line) else {
            panic!()
        };
        (kept.get(), 4.0 * one / (one + other))
    };
    let (kept, part) = found(ProductKind::OffTheTop, 1);
    assert!(part > 2.2 && (kept - (15.0 - part)).abs() < 1e-9, "{kept} {part}");
    // In the second tube it is what stays.
    let (kept, part) = found(ProductKind::OffTheTop, 9);
    assert!((kept - part).abs() < 1e-9, "{kept} {part}");
}

/// Rounded to the nearest ten, 180 ×g would be 180.3, which a container rated for 180 does not bear: set, drawn and
/// pictured is 1010 rpm.
#[test]
fn the_picture_runs_at_the_speed_that_is_set() {
    let (case, answer) = demo(|d| {
        if let Some(container) = d.kit.container.as_mut() {
            container.rated = Some(Quantity::new(180.0).unwrap());
        }
    });
    let set = answer.spin.stages[0].planned.as_ref().unwrap().rpm.value.get();
    assert_eq!(set, 1010.0);
    let (protocol, rotor) = (case.protocol.clone().unwrap(), case.spin.rotor.clone().unwrap());
    let rated = case.draw.container.as_ref().unwrap().rated;
    assert_eq!(course(&protocol.programme, &rotor, rated).unwrap().corners[0].rpm, set);
    let mut found = pictured(&case, &answer, &Turned::default(), None).unwrap().setup;
    found.spins.truncate(1);
    let top = |setup: &Setup| picture(setup).unwrap().spins[0].series[30].above.interface;
    let mut unrated = found.clone();
    unrated.spins[0].tube.rated = None;
    let mut at_set = unrated.clone();
    let rpm = |rpm| Speed::Rpm(Quantity::new(rpm).unwrap());
    at_set.spins[0].programme.0[0] = Stage::Hold { speed: rpm(set), time: Quantity::new(600.0).unwrap() };
    assert_eq!(top(&found), top(&at_set));
    assert!(top(&found) > top(&unrated));
    // So is what was entered of another stage only.
    let (case, answer) = demo(|d| {
        if let Some(container) = d.kit.container.as_mut() {
            container.rated = Some(Quantity::new(180.0).unwrap());
        }
        d.write(Field::MinutesActual(2), "7");
    });
    let run = pictured(&case, &answer, &Turned::default(), None).unwrap().setup;
    let rpm = asked(run.spins[0].programme.0[0].speed().unwrap(), &run.rotor).unwrap().value.get();
    assert!((rpm - set).abs() < 1e-6);
}

/// 900 ×g at 155 mm are 2279 rpm. Rounded to the nearest ten they pass 900, which a second tube rated for 900 does not bear:
/// it turns at 2270, whatever the first one bears. A first tube’s rating says nothing of a second without one.
#[test]
fn each_spin_is_set_by_the_rating_of_its_own_tube() {
    let turns = |first: Option<f64>, second: Option<f64>, ran: bool| {
        let rated = |g: Option<f64>| g.map(|g| Quantity::new(g).unwrap());
        let (case, answer) = demo(|d| {
            d.kit.container.as_mut().unwrap().rated = rated(first);
            if ran {
                d.write(Field::MinutesActual(0), "9");
            }
        });
        let tube = Container { rated: rated(second), ..case.draw.container.clone().unwrap() };
        let setup = pictured(&case, &answer, &Turned::default(), Some(&tube)).unwrap().setup;
        let drawn = |setup: &Setup| picture(setup).unwrap().spins[1].collection.platelets_above;
        let at = |rpm: f64| {
            let mut at_set = setup.clone();
            let speed = Speed::Rpm(Quantity::new(rpm).unwrap());
            at_set.spins[1].tube.rated = None;
            at_set.spins[1].programme.0[0] = Stage::Hold { speed, time: Quantity::new(600.0).unwrap() };
            drawn(&at_set)
        };
        let near = |rpm: f64| (drawn(&setup) / at(rpm) - 1.0).abs() < 1e-6;
        assert!(near(2270.0) != near(2280.0));
        if near(2270.0) { 2270 } else { 2280 }
    };
    for ran in [false, true] {
        assert_eq!(turns(None, Some(900.0), ran), 2270);
        assert_eq!(turns(Some(1000.0), Some(900.0), ran), 2270);
        assert_eq!(turns(Some(900.0), None, ran), 2280);
        assert_eq!(turns(None, None, ran), 2280);
    }
}

/// 4 mL off the top of two fills of 15 mL leave 13 in each, whatever is left above the cells; what is taken with the
/// cells has no line in the picture.
#[test]
fn one_spin_is_parted_where_the_plan_collects() {
    let one = |kind: ProductKind, product: &str| {
        let product = product.to_owned();
        of(move |d| {
            if let Some(p) = d.kit.protocol.as_mut() {
                p.kind = kind;
                p.programme.0.truncate(1);
                p.product = None;
            }
            d.write(Field::ProductVolume, &product);
        })
        .unwrap()
    };
    let off = one(ProductKind::OffTheTop, "4");
    assert_eq!(off.collected, Collected::OffTheTop);
    assert_eq!(off.setup.spins.len(), 1);
    assert_eq!(off.setup.spins[0].parting.line, Line::AboveBottom { kept: Quantity::new(13.0).unwrap() });
    assert!(!off.offers(Knob::LeftBehind) && off.offers(Knob::Disturbed) && off.offers(Knob::Speed));
    let open = one(ProductKind::OffTheTop, "");
    assert_eq!(open.collected, Collected::AboveCells);
    assert!(open.offers(Knob::LeftBehind));
    for kind in [ProductKind::Concentrate, ProductKind::WithCells] {
        let at = one(kind, "4");
        assert_eq!(at.collected, Collected::AtTheCells);
        assert!(!at.offers(Knob::LeftBehind) && !at.offers(Knob::Disturbed) && at.offers(Knob::Time));
    }
    // Two spins are parted as before: above the cells, then all but the product.
    let two = of(|_| ()).unwrap();
    assert_eq!(two.collected, Collected::AboveCells);
    assert!(matches!(two.setup.spins[0].parting.line, Line::AboveCells { .. }));
}
