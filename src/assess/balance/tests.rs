//! What faces what, by weight and by guess.

use super::super::{Now, assess};
use super::*;
use crate::bench::demo_rotor;
use crate::blood::testing::q;
use crate::case;
use crate::draft::{Draft, Field};
use crate::evidence::SourceId;
use crate::quantity::time::{Instant, Offset};
use crate::words::Language;

const NOW: Now = Now { at: Instant(1_795_597_200_000), offset: Offset::UTC };

fn sign(text: &str) -> CheckSign {
    text.to_owned().try_into().unwrap()
}

fn of(who: &str, volumes: &[f64]) -> Vec<Filled> {
    let one = |(number, v): (u8, &f64)| Filled {
        sign: sign(who),
        number,
        volume: Some(q(*v)),
        room: None,
        prefilled: false,
        fluid: Fluid::Blood,
        weight: None,
        against: None,
        alone: false,
    };
    (1..).zip(volumes).map(one).collect()
}

fn rotor(places: Option<u8>, tolerance: Option<f64>) -> Rotor {
    Rotor { places, tolerance: tolerance.map(q), ..demo_rotor() }
}

fn demo() -> (Case, Assessment) {
    let draft = Draft::demo("d".into(), sign("7K"), NOW.at, Default::default());
    let case = case::read(&draft, Language::English).0;
    let answer = assess(&case, NOW);
    (case, answer)
}

/// Who stands at a place: sign and number, the same in brackets for a counterweight.
fn who(loaded: &Loaded) -> Vec<String> {
    let one = |held: &Held| match held {
        Held::Container(f) => format!("{}{}", f.sign, f.number),
        Held::Counterweight(f) => format!("({}{})", f.sign, f.number),
        Held::Empty => "-".to_owned(),
    };
    loaded.places.iter().map(one).collect()
}

/// The invented case: two containers of 15 mL face each other, nothing apart by volume.
#[test]
fn two_containers_face_each_other() {
    let (case, answer) = demo();
    let all = filled(sign("7K"), &case, &answer, 0);
    let room = Some(case.draw.container.as_ref().unwrap().capacity);
    let wanted: Vec<_> = of("7K", &[15.0, 15.0]).into_iter().map(|f| Filled { room, ..f }).collect();
    assert_eq!(all, wanted);
    let unknown = of_case(&case, &all, 0).unwrap();
    assert!(!unknown.numbered);
    assert_eq!(who(&unknown), ["7K1", "7K2"]);
    let four = loaded(&rotor(Some(4), None), &all).unwrap();
    assert!(four.numbered);
    assert_eq!(who(&four), ["7K1", "-", "7K2", "-"]);
    let Facing::Container { apart: Some(apart), too_far: false, .. } = &four.pairs[0].facing else {
        panic!()
    };
    assert_eq!((four.pairs[0].places, apart.value.get()), ([1, 3], 0.0));
}

/// Every place in use has one across from it, for every number of containers and of places.
#[test]
fn what_is_loaded_always_faces_something() {
    for places in (2..=24).step_by(2) {
        for (own, others) in (0..=12_usize).flat_map(|a| (0..=6_usize).map(move |b| (a, b))) {
            let mut all = of("7K", &vec![15.0; own]);
            all.extend(of("4R", &vec![15.0; others]));
            let found = match loaded(&rotor(Some(places), None), &all) {
                Ok(found) => found,
                Err(NotLoaded::Nothing) if own + others == 0 => continue,
                Err(NotLoaded::TooFew { wanted, .. }) => {
                    assert!(
                        wanted > usize::from(places) && wanted == 2 * (own.div_ceil(2) + others.div_ceil(2))
                    );
                    continue;
                }
                Err(other) => panic!("{other:?}"),
            };
            let half = usize::from(places / 2);
            let of = |held: &Held| match held {
                Held::Container(f) | Held::Counterweight(f) => Some(f.sign),
                Held::Empty => None,
            };
            for (a, b) in (0..half).map(|i| (&found.places[i], &found.places[i + half])) {
                assert_eq!(of(a), of(b), "one patient’s containers face each other: {found:?}");
            }
            let held = found.places.iter().filter(|h| matches!(h, Held::Container(_))).count();
            assert_eq!(held, own + others);
        }
    }
}

/// Two of 15 and one of 12 mL: the one of 12 is alone, wherever it stands; 1.05 · 12 = 12.6 mL of water.
#[test]
fn the_odd_one_faces_a_counterweight() {
    for volumes in [[15.0, 15.0, 12.0], [15.0, 12.0, 15.0], [12.0, 15.0, 15.0]] {
        let found = loaded(&rotor(Some(8), None), &of("7K", &volumes)).unwrap();
        let last = found.pairs.last().unwrap();
        assert_eq!(last.container.volume, Some(q(12.0)));
        let Facing::Counterweight { water: Some(water), .. } = &last.facing else { panic!() };
        assert!((water.value.get() - 12.6).abs() < 1e-12);
        assert_eq!(water.working.sources, [SourceId::BloodWeighs]);
    }
    // Two of 12 and one of 15: the one of 15.
    let found = loaded(&rotor(None, None), &of("7K", &[15.0, 12.0, 12.0])).unwrap();
    assert_eq!(found.pairs[1].container.volume, Some(q(15.0)));
    assert_eq!(who(&found), ["7K2", "7K1", "7K3", "(7K1)"]);
}

/// Whoever’s case it is drawn for, the rotor is the same.
#[test]
fn every_case_of_a_shared_rotor_is_drawn_alike() {
    let both = |first: Vec<Filled>, second: Vec<Filled>| {
        loaded(&rotor(Some(8), None), &[first, second].concat()).unwrap()
    };
    let (one, other) = (of("7K", &[15.0, 15.0]), of("4R", &[15.0, 12.0]));
    let found = both(one.clone(), other.clone());
    assert_eq!(found, both(other, one.clone()));
    assert_eq!(who(&found), ["4R1", "-", "7K1", "-", "4R2", "-", "7K2", "-"]);
    assert!(found.shared && !loaded(&rotor(Some(8), None), &one).unwrap().shared);
}

/// 1.05 · 15 = 15.75 mL of water: a container of 15 mL does not hold it, one of 16 does.
#[test]
fn a_counterweight_has_to_fit() {
    for (room, prefilled, wanted) in
        [(None, false, false), (Some(15.0), true, true), (Some(16.0), true, false)]
    {
        let one = Filled { room: room.map(q), prefilled, ..of("7K", &[15.0])[0] };
        let found = loaded(&rotor(Some(4), None), &[one]).unwrap();
        let Facing::Counterweight { too_much, emptied, .. } = found.pairs[0].facing else { panic!() };
        assert_eq!((too_much, emptied), (wanted, prefilled));
    }
}

/// 15 and 13 mL are 1.05 · 2 = 2.1 g apart: more than 1 g, less than 5.
#[test]
fn a_difference_is_held_against_what_the_rotor_allows() {
    for (tolerance, wanted) in [(None, false), (Some(1.0), true), (Some(5.0), false)] {
        let found = loaded(&rotor(Some(4), tolerance), &of("7K", &[15.0, 13.0])).unwrap();
        let Facing::Container { apart: Some(apart), too_far, .. } = &found.pairs[0].facing else { panic!() };
        assert!((apart.value.get() - 2.1).abs() < 1e-12);
        assert_eq!(*too_far, wanted);
    }
}

#[test]
fn rotors_that_cannot_be_loaded_say_why() {
    let two = of("7K", &[15.0, 15.0]);
    let why = |places, all: &[Filled]| loaded(&rotor(Some(places), None), all).unwrap_err();
    assert_eq!(why(3, &two), NotLoaded::OddPlaces(3));
    assert_eq!(why(255, &two), NotLoaded::TooMany(255));
    assert_eq!(why(0, &two), NotLoaded::TooFew { places: 0, wanted: 2 });
    assert_eq!(why(4, &[]), NotLoaded::Nothing);
    let (mut case, answer) = demo();
    let all = filled(sign("7K"), &case, &answer, 0);
    case.times.stages.insert(0, NOW.at);
    assert_eq!(of_case(&case, &all, 0), Err(NotLoaded::Turns));
    case.times.stages.insert(1, NOW.at);
    assert_eq!(of_case(&case, &all, 0), Err(NotLoaded::Turns), "stage 2 of the demo is by hand");
    assert!(of_case(&case, &all, 1).is_ok(), "what turns next is the second spin");
    case.times.stages = [(1, NOW.at)].into();
    assert_eq!(
        of_case(&case, &all, 0),
        Err(NotLoaded::Turns),
        "the first spin was not tapped, and has turned"
    );
    let programme = case.protocol.as_ref().unwrap().programme.clone();
    // Of a third spin it is not on record what turns.
    let again = [programme.0[1].clone(), programme.0[2].clone()];
    case.protocol.as_mut().unwrap().programme.0.extend(again);
    case.times.stages = [(2, NOW.at)].into();
    assert_eq!(of_case(&case, &all, 1), Err(NotLoaded::Opened));
    case.protocol.as_mut().unwrap().programme = programme.clone();
    assert_eq!(of_case(&case, &all, 1), Err(NotLoaded::Turns));
    // What is done by hand before it turns opens nothing that was drawn.
    case.protocol.as_mut().unwrap().programme.0.insert(0, programme.0[1].clone());
    case.times.stages = [(0, NOW.at)].into();
    assert!(of_case(&case, &all, 0).is_ok());
    case.times.stages.insert(2, NOW.at);
    assert_eq!(of_case(&case, &all, 0), Err(NotLoaded::Turns));
    case.times.stages.clear();
    case.protocol.as_mut().unwrap().programme.0.retain(|stage| stage.speed().is_none());
    assert_eq!(of_case(&case, &all, 0), Err(NotLoaded::Still));
    case.protocol.as_mut().unwrap().programme = programme;
    case.spin.rotor = None;
    assert_eq!(of_case(&case, &all, 0), Err(NotLoaded::NoRotor));
}

/// A spin that stopped is loaded anew, and the one before it is not.
#[test]
fn what_stands_stopped_is_drawn_as_it_is_loaded_for_its_next_run() {
    use crate::draft::{Trouble, TroubleKind};
    let mut draft = Draft::demo("d".into(), sign("7K"), NOW.at, Default::default());
    let drawn = |draft: &Draft| {
        let case = case::read(draft, Language::English).0;
        let all = filled(sign("7K"), &case, &assess(&case, NOW), 0);
        [0, 1].map(|spin| of_case(&case, &all, spin).map(|_| ()))
    };
    let stop = |draft: &mut Draft, minutes: i64| {
        draft.went_wrong(Trouble {
            kind: TroubleKind::SpinStopped,
            container: None,
            at: Instant(NOW.at.0 + minutes * 60_000),
            by: "MO".into(),
            set_aside: false,
            aside: None,
            collected: false,
            withdrawn: None,
        });
    };
    draft.begin_stage(0, NOW.at);
    assert_eq!(drawn(&draft), [Err(NotLoaded::Turns), Ok(())]);
    stop(&mut draft, 4);
    assert_eq!(drawn(&draft), [Ok(()), Ok(())]);
    let mut over = draft.clone();
    over.times.spin_end = Some(Instant(NOW.at.0 + 240_000));
    assert_eq!(drawn(&over)[0], Err(NotLoaded::Turns), "gone on with what ran");
    over.times.spin_end = None;
    over.times.collected = Some(Instant(NOW.at.0 + 300_000));
    assert_eq!(drawn(&over)[0], Err(NotLoaded::Turns));
    draft.run_again(Instant(NOW.at.0 + 300_000));
    assert_eq!(drawn(&draft), [Err(NotLoaded::Turns), Ok(())]);
    draft.begin_stage(1, Instant(NOW.at.0 + 900_000));
    draft.begin_stage(2, Instant(NOW.at.0 + 960_000));
    assert_eq!(drawn(&draft), [Err(NotLoaded::Turns); 2]);
    stop(&mut draft, 18);
    assert_eq!(drawn(&draft), [Err(NotLoaded::Turns), Ok(())]);
}

#[test]
fn cases_share_a_rotor_only_before_it_turns_and_by_one_programme() {
    let (own, _) = demo();
    let open = [sign("7K"), sign("4R"), sign("3P"), sign("3P")];
    assert!(may_share(&own, (sign("4R"), &own.clone()), &open));
    // Two cases with one sign are no two patients in a drawing.
    assert!(!may_share(&own, (sign("3P"), &own.clone()), &open));
    assert!(!may_share(&own, (sign("7K"), &own.clone()), &[sign("7K"), sign("7K")]));
    let otherwise = |change: fn(&mut Case)| {
        let mut other = own.clone();
        change(&mut other);
        may_share(&own, (sign("4R"), &other), &open)
    };
    assert!(!otherwise(|c| c.spin.rotor = None));
    assert!(!otherwise(|c| c.spin.rotor.as_mut().unwrap().id = "another".into()));
    assert!(!otherwise(|c| c.spin.rotor.as_mut().unwrap().places = Some(4)), "entered otherwise since");
    assert!(!otherwise(|c| c.times.stages = [(0, NOW.at)].into()));
    assert!(!otherwise(|c| drop(c.protocol.as_mut().unwrap().programme.0.pop())));
    assert!(!otherwise(|c| c.protocol = None));
}

/// A container that takes no further part is not in the rotor.
#[test]
fn what_is_set_aside_is_not_loaded() {
    let mut draft = Draft::demo("d".into(), sign("7K"), NOW.at, Default::default());
    draft.write(Field::Containers, "3");
    let case = case::read(&draft, Language::English).0;
    let mut answer = assess(&case, NOW);
    assert_eq!(filled(sign("7K"), &case, &answer, 0).len(), 3);
    if let Some(one) = answer.draw.containers.get_mut(1) {
        one.set_aside = true;
        let numbers: Vec<u8> = filled(sign("7K"), &case, &answer, 0).iter().map(|f| f.number).collect();
        assert_eq!(numbers, [1, 3]);
    }
}

/// What the scale read of three fills of 15 mL that a guess takes for alike, and of what faces the odd one.
fn weighed(texts: &[(Field, &str)]) -> Vec<Pair> {
    let mut draft = Draft::demo("d".into(), sign("7K"), NOW.at, Default::default());
    draft.write(Field::Containers, "3");
    if let Some(rotor) = draft.kit.rotor.as_mut() {
        rotor.tolerance = Some(q(1.0));
    }
    texts.iter().for_each(|(field, text)| draft.write(*field, *text));
    let case = case::read(&draft, Language::English).0;
    let all = filled(sign("7K"), &case, &assess(&case, NOW), 0);
    of_case(&case, &all, 0).unwrap().pairs
}

/// 31.2 and 31.9 g are 0.7 apart, whatever their volumes; the last faces a counterweight, which is 1.5 g light and wants
/// 1.5 mL of water, or 0.4 g heavy.
#[test]
fn what_the_scale_read_comes_before_volumes() {
    let own =
        |a, b, c| [(Field::FilledWeight(0), a), (Field::FilledWeight(1), b), (Field::FilledWeight(2), c)];
    let two = weighed(&own("31.2", "31.9", "35"));
    let Facing::Container { by: By::Weight, apart: Some(apart), too_far: false, .. } = &two[0].facing else {
        panic!("{two:?}")
    };
    assert!((apart.value.get() - 0.7).abs() < 1e-9);
    assert_eq!(two[1].facing, guess::facing(&two[1].container, None, Some(q(1.0))));
    let against = |text| {
        let mut all = own("31.2", "31.9", "35").to_vec();
        all.push((Field::Counterweight, text));
        weighed(&all).remove(1).facing
    };
    let Facing::Counterweight { by: By::Weight, water: Some(water), heavier: false, too_far: true, .. } =
        against("33.5")
    else {
        panic!()
    };
    assert!((water.value.get() - 1.5).abs() < 1e-9);
    let Facing::Counterweight { water: Some(water), heavier: true, too_far: false, .. } = against("35.4")
    else {
        panic!()
    };
    assert!((water.value.get() - 0.4).abs() < 1e-9);
    let Facing::Counterweight { water: None, too_far: false, .. } = against("35") else { panic!() };
}

/// 31.2 and 32.9 g are too far apart for each other: each stands across from a counterweight of its own and is held
/// against that, until then the other two of three face each other.
#[test]
fn a_container_with_a_counterweight_of_its_own_faces_no_other() {
    let mut texts = vec![
        (Field::FilledWeight(0), "31.2"),
        (Field::FilledWeight(1), "32.9"),
        (Field::FilledWeight(2), "31"),
        (Field::OwnCounterweight(1), "31.8"),
    ];
    let faces = |pairs: &[Pair]| -> Vec<(u8, Option<u8>)> {
        let other = |facing: &Facing| match facing {
            Facing::Container { other, .. } => Some(other.number),
            Facing::Counterweight { .. } => None,
        };
        pairs.iter().map(|p| (p.container.number, other(&p.facing))).collect()
    };
    let one = weighed(&texts);
    assert_eq!(faces(&one), [(1, Some(3)), (2, None)]);
    // 32.9 − 31.8 = 1.1 g, where 1 g is allowed.
    let Facing::Counterweight { by: By::Weight, apart: Some(apart), too_far: true, .. } = &one[1].facing
    else {
        panic!("{one:?}")
    };
    assert!((apart.value.get() - 1.1).abs() < 1e-9);
    texts.extend([(Field::OwnCounterweight(0), "31"), (Field::OwnCounterweight(2), "30.5")]);
    // What was typed for an odd one has nothing to face.
    texts.push((Field::Counterweight, "20"));
    let all = weighed(&texts);
    assert_eq!(faces(&all), [(1, None), (2, None), (3, None)]);
    let against: Vec<_> = all.iter().map(|p| p.container.against.map(Quantity::get)).collect();
    assert_eq!(against, [Some(31.0), Some(31.8), Some(30.5)]);
}

/// Where one side has no weight it is named, and what is said is a guess; a text that is no weight is none.
#[test]
fn a_side_that_was_not_weighed_is_named() {
    for other in ["", "heavy"] {
        let two = weighed(&[(Field::FilledWeight(0), "31.2"), (Field::FilledWeight(1), other)]);
        let Facing::Container { by, apart: Some(apart), .. } = &two[0].facing else { panic!() };
        assert_eq!((*by, apart.value.get()), (By::Guess { missing: Some(Side::Container(2)) }, 0.0));
    }
    let Facing::Counterweight { by, .. } = weighed(&[(Field::FilledWeight(2), "31")])[1].facing else {
        panic!()
    };
    assert_eq!(by, By::Guess { missing: Some(Side::Counterweight) });
    let Facing::Counterweight { by, .. } = weighed(&[(Field::Counterweight, "31")])[1].facing else {
        panic!()
    };
    assert_eq!(by, By::Guess { missing: Some(Side::Container(3)) });
}

/// Once all are weighed, those face each other that differ least.
#[test]
fn pairs_follow_the_weights_once_all_are_known() {
    let two = weighed(&[
        (Field::FilledWeight(0), "31"),
        (Field::FilledWeight(1), "33"),
        (Field::FilledWeight(2), "31.2"),
    ]);
    let number = |facing: &Facing| match facing {
        Facing::Container { other, .. } => Some(other.number),
        Facing::Counterweight { .. } => None,
    };
    let found: Vec<_> = two.iter().map(|p| (p.container.number, number(&p.facing))).collect();
    assert_eq!(found, [(1, Some(3)), (2, None)]);
}

/// Above 13·0.42/0.70 = 7.8 mL of packed cells stand 7.2 of 15 mL, less 0.5 left behind; 16 mL left in both containers
/// leave 7 of 15 to each.
#[test]
fn the_second_spin_holds_what_was_drawn_off_the_first() {
    let (mut case, answer) = demo();
    let volumes = |case: &Case| {
        let all = filled(sign("7K"), case, &answer, 1);
        all.iter().map(|f| f.volume.unwrap().get()).collect::<Vec<_>>()
    };
    let planned = volumes(&case);
    assert!(planned.len() == 2 && planned.iter().all(|v| (v - 6.7).abs() < 1e-9), "{planned:?}");
    case.collect.cells = Some(q(16.0));
    assert_eq!(volumes(&case), [7.0, 7.0]);
    case.baseline.haematocrit = None;
    case.collect.cells = None;
    assert!(filled(sign("7K"), &case, &answer, 1).iter().all(|f| f.volume.is_none()));
    // 1.026 · 0.3 = 0.3078 g apart by volume, of plasma.
    let mut two = filled(sign("7K"), &demo().0, &answer, 1);
    two[1].volume = Some(q(7.0));
    let Facing::Container { apart: Some(apart), .. } = facing(&two[0], Some(&two[1]), None) else { panic!() };
    assert!((apart.value.get() - 1.026 * 0.3).abs() < 1e-9);
    assert_eq!(apart.working.sources, [SourceId::CellSizes]);
    // Its own weights.
    let mut draft = Draft::demo("d".into(), sign("7K"), NOW.at, Default::default());
    draft.write(Field::FilledWeight(0), "31.2");
    draft.write(Field::FilledWeightSecond(0), "22.5");
    let case = case::read(&draft, Language::English).0;
    let weight = |spin| filled(sign("7K"), &case, &answer, spin)[0].weight.map(Quantity::get);
    assert_eq!([0, 1].map(weight), [Some(31.2), Some(22.5)]);
}
