//! The picture as a whole.

use super::*;
use crate::blood::testing::{near, q};
use crate::quantity::{Millimetre, Rpm};
use crate::spin::programme::{Programme, Speed, Stage};
use crate::spin::rotor::RotorKind;
use crate::spin::tube::{End, Tube};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestRunner};

/// The example that ships with the tests of the shell.
fn demo() -> Setup {
    Setup::from_json(include_str!("../../../tests/shell/demo_spin.json")).unwrap()
}

fn first_of(setup: &Setup) -> Spun {
    picture(setup).unwrap().spins.swap_remove(0)
}

/// Every number finite and within what it can be; nothing made or lost.
fn sound(setup: &Setup, picture: &Picture) -> Result<(), TestCaseError> {
    prop_assert_eq!(picture.spins.len(), setup.spins.len());
    let mut brought = 1.0;
    for (index, (spun, spin)) in picture.spins.iter().zip(&setup.spins).enumerate() {
        prop_assert!(spun.mass_error <= 1e-10, "{}", spun.mass_error);
        prop_assert!(spun.column > 0.0 && spun.steps > 0);
        prop_assert_eq!(spun.series.len(), 61);
        for moment in &spun.series {
            let Above { interface, volume, platelets, clear } = moment.above;
            prop_assert!((0.0..=spun.column + 1e-9).contains(&interface), "{:?}", moment);
            prop_assert!(volume >= 0.0 && (0.0..=1.0).contains(&platelets), "{:?}", moment);
            prop_assert!((0.0..=platelets + 1e-9).contains(&clear), "{:?}", moment);
        }
        // Before anything turned nothing is clear of red cells, however thin the blood.
        if index == 0 && setup.blood.haematocrit.get() > 1e-6 {
            let begun = spun.series[0].above;
            prop_assert_eq!((begun.volume, begun.platelets, begun.clear), (0.0, 0.0, 0.0));
        }
        prop_assert!(spun.profiles.len() > spin.profiles_at.len().min(1));
        for layer in spun.profiles.iter().flat_map(|p| &p.layers) {
            prop_assert!((0.0..=1.0 + 1e-9).contains(&layer.red), "{:?}", layer);
            prop_assert!(layer.platelets >= 0.0 && layer.platelets.is_finite(), "{:?}", layer);
            prop_assert!(layer.white.is_none_or(|w| w >= 0.0 && w.is_finite()), "{:?}", layer);
        }
        let c = spun.collection;
        prop_assert!((c.platelets_above + c.platelets_below - brought).abs() < 1e-9, "{:?}", c);
        brought = c.platelets_above;
    }
    Ok(())
}

/// A length, as a share of the way from the least to the most.
fn mm(least: f64, most: f64) -> impl Strategy<Value = Millimetre> {
    (least..=most).prop_map(q)
}

fn end() -> impl Strategy<Value = End> {
    prop_oneof![
        Just(End::Flat),
        Just(End::Round),
        (mm(1.0, 60.0), mm(0.0, 2.7)).prop_map(|(height, tip)| End::Cone { height, tip }),
        (mm(1.0, 50.0), mm(0.5, 2.7)).prop_map(|(length, diameter)| End::Hub { length, diameter }),
    ]
}

/// Any stages in any order, up to the most force; most of them short, so that many can be tried.
fn programme() -> impl Strategy<Value = Programme> {
    let time = || prop_oneof![Just(0.0), 0.1..90.0_f64, 1.0..10.0_f64];
    let speed = || (0.0..1.0_f64).prop_map(|x| Speed::Rpm(q(5_000.0 * x * x)));
    let stage = prop_oneof![
        (speed(), time()).prop_map(|(to, time)| Stage::Ramp { to, time: q(time) }),
        (speed(), time()).prop_map(|(speed, time)| Stage::Hold { speed, time: q(time) }),
        prop::option::of(time()).prop_map(|time| Stage::Stop { time: time.map(q) }),
        prop::option::of(time()).prop_map(|time| Stage::Handling { what: String::new(), time: time.map(q) }),
    ];
    prop::collection::vec(stage, 1..6).prop_map(|mut stages| {
        stages.push(Stage::Hold { speed: Speed::Rpm(q(900.0)), time: q(2.0) });
        Programme(stages)
    })
}

fn parting() -> impl Strategy<Value = Parting> {
    let line = prop_oneof![
        (0.0..3.0_f64).prop_map(|ml| Line::AboveCells { left_behind: q(ml) }),
        (0.0..12.0_f64).prop_map(|ml| Line::AboveBottom { kept: q(ml) }),
    ];
    (line, mm(0.0, 20.0)).prop_map(|(line, disturbed)| Parting { line, disturbed })
}

fn spin() -> impl Strategy<Value = Spin> {
    (mm(3.0, 40.0), end(), programme(), parting()).prop_map(|(inner_diameter, end, programme, parting)| {
        Spin {
            tube: Tube { inner_diameter, end, rated: None },
            programme,
            parting,
            profiles_at: vec![q(0.0), q(1.0)],
        }
    })
}

fn setup() -> impl Strategy<Value = Setup> {
    let blood =
        (0.5..40.0_f64, 0.0..=1.0_f64, 0.0..=0.75_f64, 1.0..3000.0_f64, prop::option::of(0.0..=200.0_f64))
            .prop_map(|(blood, anticoagulant, haematocrit, platelets, white)| Blood {
                blood: q(blood),
                anticoagulant: q(blood * anticoagulant * anticoagulant),
                haematocrit: q(haematocrit),
                platelets: q(platelets),
                white_cells: white.map(q),
            });
    let spins = prop::collection::vec(spin(), 1..=2);
    (blood, spins, 100.0..300.0_f64).prop_map(|(blood, spins, bottom)| {
        let mut setup = demo();
        setup.rotor.maximum = Some(q(bottom));
        Setup { blood, spins, cells: 20, ..setup }
    })
}

/// Random programmes, tubes and bloods: a picture with nothing negative, nothing lost and no number that is none, or a
/// reason why there is none.
#[test]
fn random_programmes_and_tubes_hold() {
    let cases = if std::env::var_os("STRAWLINE_LONG").is_some() { 20_000 } else { 2_000 };
    let drawn = std::cell::Cell::new(0_u32);
    let (double, steps) = (std::cell::Cell::new(0_u32), std::cell::Cell::new(0_u64));
    let config = Config { cases, failure_persistence: None, max_shrink_iters: 200, ..Config::default() };
    let refused = |setup: &Setup, why: ColumnError| {
        match why {
            // What a wide choice of numbers runs into.
            ColumnError::TooHigh { .. } | ColumnError::NothingDrawn => {}
            ColumnError::Outside { field, .. } => {
                prop_assert!(field.ends_with("programme") || field == "rotor.maximum", "{}", field);
            }
            other => prop_assert!(false, "{:?} of {:?}", other, setup),
        }
        Err(TestCaseError::reject("no picture"))
    };
    let law = |setup: Setup| match picture(&setup) {
        Err(why) => refused(&setup, why),
        Ok(picture) => {
            drawn.set(drawn.get() + 1);
            double.set(double.get() + u32::from(picture.spins.len() == 2));
            steps.set(steps.get() + picture.spins.iter().map(|s| s.steps).sum::<u64>());
            sound(&setup, &picture)
        }
    };
    let config = Config { max_global_rejects: 50 * cases, ..config };
    TestRunner::new(config).run(&setup(), law).unwrap_or_else(|e| panic!("{e}"));
    println!("{} pictures, {} of two spins, {} steps", drawn.get(), double.get(), steps.get());
    assert!(drawn.get() >= cases && double.get() > cases / 10);
}

/// The usual number of cells shows what many cells do, to 1 % of the column: the whole double spin.
#[test]
fn the_usual_cells_are_enough() {
    let (usual, fine) = (picture(&demo()).unwrap(), picture(&Setup { cells: 300, ..demo() }).unwrap());
    for (usual, fine) in usual.spins.iter().zip(&fine.spins) {
        let pairs = usual.series.iter().zip(&fine.series);
        let most =
            pairs.clone().map(|(u, f)| (u.above.interface - f.above.interface).abs()).fold(0.0, f64::max);
        let share = (usual.collection.platelets_above - fine.collection.platelets_above).abs();
        println!(
            "interface within {:.3} % of the column, share within {share:.4}",
            100.0 * most / usual.column
        );
        assert!(most / usual.column < 0.01 && share < 0.01, "{most} mm of {}, {share}", usual.column);
    }
}

/// What the guide says of the usual number of cells, at worst of both spins.
#[test]
fn the_guide_says_how_near_the_usual_cells_come() {
    let guide = include_str!("../../../DEVELOPERS.md");
    let fine = picture(&Setup { cells: 400, ..demo() }).unwrap();
    let all = off(&picture(&demo()).unwrap(), &fine);
    println!("off from 400 cells: {all:.4?}");
    let limits = [0.01, 0.03, 0.01];
    let [top, clear, line] = limits;
    let said = format!(
        "within {:.0} % of the column of what 400 cells show, the share above the line (of the demo’s spins) within {line}, the share clear of the cells at the worst moment within {clear}",
        100.0 * top
    );
    assert!(guide.contains(&said), "{said}");
    for (off_top, off_clear, off_line) in all {
        assert!(off_top < top && off_clear < clear && off_line < line, "{off_top} {off_clear} {off_line}");
    }
}

/// How far a picture is from a finer one, spin by spin: the top of the cells at worst, as a share of the column; the
/// share of platelets clear of it at worst; and that above the line.
fn off(found: &Picture, fine: &Picture) -> Vec<(f64, f64, f64)> {
    let pairs = found.spins.iter().zip(&fine.spins);
    pairs
        .map(|(f, g)| {
            let course = f.series.iter().zip(&g.series);
            let most = |what: fn(&Above) -> f64| {
                course.clone().map(|(a, b)| (what(&a.above) - what(&b.above)).abs()).fold(0.0, f64::max)
            };
            (
                most(|a| a.interface) / g.column,
                most(|a| a.clear),
                (f.collection.platelets_above - g.collection.platelets_above).abs(),
            )
        })
        .collect()
}

/// Nothing falls that does not turn; a faster or longer spin leaves more clear.
#[test]
fn more_turning_leaves_more_clear() {
    let with = |rpm: f64, time: f64| {
        let mut setup = demo();
        setup.spins.truncate(1);
        setup.spins[0].profiles_at.clear();
        setup.spins[0].programme = Programme(vec![Stage::Hold { speed: Speed::Rpm(q(rpm)), time: q(time) }]);
        let spun = first_of(&setup);
        spun.series.last().unwrap().above
    };
    let still = with(0.0, 600.0);
    assert_eq!((still.volume, still.platelets), (0.0, 0.0));
    let [slow, fast, long] = [with(800.0, 300.0), with(1100.0, 300.0), with(800.0, 600.0)];
    assert!(slow.volume < fast.volume && slow.volume < long.volume);
    assert!(slow.interface > fast.interface && slow.interface > long.interface);
}

/// Soft spins enrich the fluid above the cells (Petrushenko 2022, abstract: fold 1.71 at 160 ×g, 10 min). Here the sign
/// only: how near it comes is in `tests/spins.rs`.
#[test]
fn what_sinks_sends_platelets_up() {
    let mut setup = demo();
    setup.spins.truncate(1);
    let spun = first_of(&setup);
    let clear = spun.series.last().unwrap().above;
    let fold = clear.platelets / (clear.volume / 15.0);
    println!("fold of the fluid above the cells over the mixture {fold:.3}");
    assert!(fold > 1.0);
}

/// A tenth of red cells, thinned to less than a tenth by the anticoagulant, is a layer as any other.
#[test]
fn thin_blood_has_a_top_of_its_cells() {
    for haematocrit in [0.02, 0.1, 0.15] {
        let mut setup = demo();
        setup.spins.truncate(1);
        setup.blood.haematocrit = q(haematocrit);
        let spun = first_of(&setup);
        let (begun, ended) = (spun.series[0].above, spun.series[60].above);
        near(begun.interface, spun.column, 1e-9);
        assert_eq!((begun.volume, begun.clear), (0.0, 0.0));
        // What lies at the end is at least what red cells there are, and not much more.
        let packed = haematocrit * 13.0 / (15.0 - ended.volume);
        println!("{haematocrit}: {:.1} mm of {:.1}, filled to {packed:.2}", ended.interface, spun.column);
        assert!((0.45..1.0).contains(&packed), "{haematocrit}: {packed}");
    }
}

/// The same blood in a narrower tube stands higher: it takes longer to clear, whatever else is the same.
#[test]
fn a_higher_column_clears_a_smaller_share() {
    let with = |width: f64, haematocrit: f64| {
        let mut setup = demo();
        setup.spins.truncate(1);
        setup.spins[0].tube = Tube { inner_diameter: q(width), end: End::Flat, rated: None };
        setup.blood.haematocrit = q(haematocrit);
        first_of(&setup).series.last().unwrap().above.volume
    };
    assert!(with(15.0, 0.42) < with(20.0, 0.42));
    assert!(with(15.0, 0.48) < with(15.0, 0.36));
}

#[test]
fn bands_hold_the_picture() {
    let mut setup = Setup { cells: 20, ..demo() };
    setup.spins[1].parting.line = Line::AboveCells { left_behind: q(0.2) };
    let found = banded(&setup).unwrap();
    assert_eq!(found.bands.len(), 2);
    assert_eq!(found.picture, picture(&setup).unwrap());
    for bands in &found.bands {
        let parted = [bands.above, bands.below, bands.line, bands.platelets_above, bands.platelets_below];
        let moments = bands.interface.iter().chain(&bands.volume).chain(&bands.platelets);
        for band in moments.chain(&parted).chain([&bands.column, &bands.top]) {
            assert!(band.low <= band.value && band.value <= band.high, "{band:?}");
        }
        assert!(bands.platelets_above.high > bands.platelets_above.low);
    }
    // A band is what the draws say: within it lie four fifths of them.
    let bands = &found.bands[0];
    let drawn = draws::draws();
    let inside = |pick: &dyn Fn(&Spun) -> f64, band: &Band| {
        let all = drawn.iter().map(|a| pick(&assuming(&setup, a).unwrap().spins[0]));
        all.filter(|v| (band.low..=band.high).contains(v)).count()
    };
    let kept = inside(&|s| s.collection.platelets_above, &bands.platelets_above);
    assert!((37..=41).contains(&kept), "{kept} of 48");
    let early = inside(&|s| s.series[20].above.interface, &bands.interface[20]);
    assert!((37..=41).contains(&early), "{early} of 48");
    // one standard deviation of clumping, by hand
    let share =
        |z: f64| assuming(&setup, &Assumed::but("clumping", z)).unwrap().spins[0].collection.platelets_above;
    let alone = changes(&setup).unwrap();
    assert_eq!(alone.len(), prior::PRIORS.len());
    let half = alone.iter().find(|(key, _)| *key == "clumping").unwrap().1;
    near(half, 0.5 * (share(1.0) - share(-1.0)), 1e-12);
    assert!(half > 0.0);
}

#[test]
fn what_is_outside_is_named_with_its_range() {
    let refused = |change: &dyn Fn(&mut Setup)| {
        let mut setup = demo();
        change(&mut setup);
        picture(&setup).unwrap_err()
    };
    let outside = |change: &dyn Fn(&mut Setup)| match refused(change) {
        ColumnError::Outside { field, range } => (field, range.min, range.max),
        other => panic!("{other:?}"),
    };
    let named = |name: &str, min: f64, max: f64| (name.to_owned(), min, max);
    assert_eq!(outside(&|s| s.cells = 19), named("cells", 20.0, 400.0));
    assert_eq!(outside(&|s| s.blood.anticoagulant = q(14.0)), named("blood.anticoagulant", 0.0, 13.0));
    assert_eq!(outside(&|s| s.blood.haematocrit = q(0.8)), named("blood.haematocrit", 0.0, 0.75));
    assert_eq!(outside(&|s| s.spins.clear()), named("spins", 1.0, 2.0));
    let narrow = outside(&|s| s.spins[1].tube.inner_diameter = q(2.0));
    assert_eq!(narrow, named("spins.1.tube.inner_diameter", 3.0, 100.0));
    let tip = End::Cone { height: q(20.0), tip: q(14.0) };
    assert_eq!(outside(&|s| s.spins[0].tube.end = tip), named("spins.0.tube.end.cone.tip", 0.0, 13.5));
    let rpm = |rpm: f64| Stage::Hold { speed: Speed::Rpm(Rpm::new(rpm).unwrap()), time: q(60.0) };
    let fast = outside(&|s| s.spins[0].programme.0.push(rpm(6000.0)));
    assert_eq!(fast, named("spins.0.programme", 0.0, 5_000.0));
    assert_eq!(outside(&|s| s.spins[0].programme.0.clear()), named("spins.0.programme", 1.0, 7_200.0));
    let late = outside(&|s| s.spins[0].profiles_at = vec![q(691.0)]);
    assert_eq!(late, named("spins.0.profiles_at", 0.0, 690.0));
    assert_eq!(refused(&|s| s.rotor.kind = RotorKind::FixedAngle), ColumnError::FixedAngle);
    assert!(matches!(refused(&|s| s.rotor.maximum = None), ColumnError::Spin(_)));
    let high = refused(&|s| s.spins[0].tube = Tube { inner_diameter: q(5.0), end: End::Flat, rated: None });
    assert_eq!(high, ColumnError::TooHigh { spin: 0 });
    let nothing = refused(&|s| s.spins[0].parting.line = Line::AboveCells { left_behind: q(50.0) });
    assert_eq!(nothing, ColumnError::NothingDrawn);
}

#[test]
fn an_open_stage_takes_no_time_and_nothing_turns_in_it() {
    let with = |extra: Stage| {
        let mut setup = demo();
        setup.spins.truncate(1);
        setup.spins[0].programme.0.push(extra);
        first_of(&setup)
    };
    let mut plain = demo();
    plain.spins.truncate(1);
    assert_eq!(with(Stage::Stop { time: None }), first_of(&plain));
    let rested = with(Stage::Handling { what: String::new(), time: Some(q(300.0)) });
    let ends = |spun: &Spun| spun.series.last().unwrap().above;
    // Other moments to look cut the steps otherwise: a hundredth of a millimetre of 95.
    near(ends(&rested).interface, ends(&first_of(&plain)).interface, 0.02);
}

#[test]
fn survives_a_file() {
    let text = serde_json::to_string(&demo()).unwrap();
    assert_eq!(Setup::from_json(&text).unwrap(), demo());
    assert!(matches!(Setup::from_json("{}"), Err(ColumnError::Unreadable(_))));
}

/// What an update takes: one kind of cell, in one cell, in one of the two stages of a step. Over a sixteenfold range of
/// cells, and as many times more steps. `cargo test --release --lib column -- --ignored --nocapture`
#[test]
#[ignore = "times; to be run by itself, built for speed"]
fn what_an_update_takes() {
    let mut took = Vec::new();
    let fine = picture(&Setup { cells: 400, ..demo() }).unwrap();
    for cells in [25_u16, 50, 80, 100, 200, 400] {
        let off = off(&picture(&Setup { cells, ..demo() }).unwrap(), &fine);
        println!("off from 400 cells: {off:.4?}");
        let setup = Setup { cells, ..demo() };
        let times = (0..9).map(|_| {
            let begun = std::time::Instant::now();
            let picture = picture(&setup).unwrap();
            let time = begun.elapsed().as_secs_f64();
            (time, picture.spins.iter().map(|s| s.updates).sum::<u64>() as f64)
        });
        let (best, updates) = times.fold((f64::INFINITY, 0.0), |(best, _), (t, u)| (t.min(best), u));
        println!(
            "{cells:>4} cells: {:.2} ms, {updates:.3e} updates, {:.2} ns each",
            1e3 * best,
            1e9 * best / updates
        );
        took.push(best / updates);
    }
    // In proportion to the number of updates, but for the series, whose 61 moments are the same for all.
    let (least, most) = took.iter().fold((f64::INFINITY, 0.0_f64), |(l, m), t| (l.min(*t), m.max(*t)));
    assert!(most / least < 2.0, "{took:?}");
}
