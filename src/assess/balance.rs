//! The loaded rotor: which container faces which across the axis, what faces an odd one, and what to begin from before
//! both sides are weighed. A drawing and a first guess; the scale and the centrifuge’s instructions decide.

use super::Assessment;
use crate::arrange::sort_by;
use crate::case::Case;
use crate::draft::CheckSign;
use crate::evidence::SourceId;
use crate::quantity::{Grams, Quantity, Volume};
use crate::spin::programme::Stage;
use crate::spin::rotor::Rotor;
use crate::working::{Figure, StepName, Worked, Working};

/// What a millilitre of blood with its anticoagulant weighs, water 1.00 [g].
const BLOOD_WEIGHS: f64 = 1.05;
/// Where that comes from.
const WEIGHS_SOURCE: SourceId = SourceId::BloodWeighs;
/// More places than a drawing can tell apart.
const MOST_PLACES: u8 = 48;

/// A filled container: whose, and its number from 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Filled {
    /// Whose, by check sign.
    pub sign: CheckSign,
    /// Its number, as on its label.
    pub number: u8,
    /// What is in it, if that is known.
    pub volume: Option<Volume>,
    /// Most that one of its kind holds, if that is known.
    pub room: Option<Volume>,
    /// One of its kind comes with fluid in it.
    pub prefilled: bool,
}

/// What hangs in a place of the rotor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Held {
    /// A container.
    Container(Filled),
    /// What is weighed against this container.
    Counterweight(Filled),
    /// Nothing.
    Empty,
}

/// What faces a container.
#[derive(Debug, Clone, PartialEq)]
pub enum Facing {
    /// Another container of the same patient.
    Container {
        /// Which.
        other: Filled,
        /// Difference in weight by their volumes; `None` where one is not known.
        apart: Option<Worked<Grams>>,
        /// That is more than the rotor's instructions allow.
        too_far: bool,
    },
    /// A counterweight.
    Counterweight {
        /// Water to begin from, in a container of the same kind; `None` where the volume is not known.
        water: Option<Worked<Volume>>,
        /// One of the same kind does not hold that.
        too_much: bool,
        /// One of the same kind has to be emptied first.
        emptied: bool,
    },
}

/// Two places across the axis from each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Pair {
    /// Numbers of both places from 1.
    pub places: [u8; 2],
    /// The container in the first.
    pub container: Filled,
    /// What is in the second.
    pub facing: Facing,
}

/// A loaded rotor.
#[derive(Debug, Clone, PartialEq)]
pub struct Loaded {
    /// Every place, clockwise from the first. Where it is not on record how many there are, those in use.
    pub places: Vec<Held>,
    /// How many places there are is on record.
    pub numbered: bool,
    /// What faces what.
    pub pairs: Vec<Pair>,
    /// Containers of more than one patient stand in it.
    pub shared: bool,
}

/// Why no loading is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotLoaded {
    /// No container is known.
    Nothing,
    /// No rotor is chosen.
    NoRotor,
    /// Nothing in the programme on record turns.
    Still,
    /// It turns or has turned: no drawing changes beside it.
    Turns,
    /// What was filled was opened by hand since it turned: what turns next is not on record.
    Opened,
    /// A case chosen with this one may not stand with it any more.
    Parted,
    /// No place of this rotor has one across from it.
    OddPlaces(u8),
    /// Containers and counterweights want more places than there are.
    TooFew {
        /// Places there are.
        places: u8,
        /// Places wanted.
        wanted: usize,
    },
    /// More places than can be told apart in a drawing.
    TooMany(u8),
}

/// The containers of a case that go into the rotor, as they count now.
pub fn filled(sign: CheckSign, case: &Case, answer: &Assessment) -> Vec<Filled> {
    let draw = &answer.draw;
    let kind = case.draw.container.as_ref();
    let (room, prefilled) = (kind.map(|k| k.capacity), kind.is_some_and(|k| k.prefill.is_some()));
    let one = |number, volume| Filled { sign, number, volume, room, prefilled };
    if draw.containers.is_empty() {
        let Some(plan) = &draw.plan else { return Vec::new() };
        let volume = Some(plan.rounded.value.split.fill);
        return (1..=plan.containers).map(|number| one(number, volume)).collect();
    }
    let part = draw.containers.iter().filter(|c| !c.set_aside);
    part.map(|c| one(c.index.saturating_add(1), c.split.map(|s| s.fill))).collect()
}

/// Whether another case may stand in the rotor with this one: the same rotor, on the same centrifuge where both name
/// one, the same programme, in neither has it begun, and by its sign the other is told from every open case.
pub fn may_share(own: &Case, (sign, other): (CheckSign, &Case), open: &[CheckSign]) -> bool {
    let alone = open.iter().filter(|one| **one == sign).count() == 1;
    let waits = |case: &Case| case.times.stages.is_empty() && case.times.handed_over.is_none();
    let rotor = |case: &Case| case.spin.rotor.clone();
    let machine = |case: &Case| case.spin.centrifuge.as_ref().map(|c| c.id.clone());
    let programme = |case: &Case| case.protocol.as_ref().map(|p| p.programme.clone());
    let same_machine = machine(own).zip(machine(other)).is_none_or(|(own, other)| own == other);
    let same = |a: Option<_>, b: Option<_>| a.is_some() && a == b;
    alone
        && waits(own)
        && waits(other)
        && rotor(own).is_some()
        && rotor(own) == rotor(other)
        && same_machine
        && same(programme(own), programme(other))
}

/// The rotor loaded with the containers of a case and those of others that share it. Errors: why there is no drawing.
pub fn of_case(case: &Case, filled: &[Filled]) -> Result<Loaded, NotLoaded> {
    let stages = case.protocol.as_ref().map_or(&[][..], |p| &p.programme.0);
    let turns = |stage: &Stage| stage.speed().is_some();
    let Some(first) = stages.iter().position(turns) else { return Err(NotLoaded::Still) };
    // By the programme's order: a stage that turned may have been left untapped.
    let last = case.times.stages.keys().next_back().map(|index| usize::from(*index));
    if let Some(last) = last.filter(|last| *last >= first) {
        let done = stages.iter().take(last + 1).skip(first);
        let by_hand = done.into_iter().any(|stage| matches!(stage, Stage::Handling { .. }));
        return Err(if by_hand { NotLoaded::Opened } else { NotLoaded::Turns });
    }
    loaded(case.spin.rotor.as_ref().ok_or(NotLoaded::NoRotor)?, filled)
}

/// Patients in the order of their signs, so that every case of them is drawn alike. Each container across from one of the
/// same patient, those of nearly the same volume together; one that is left over
/// across from a counterweight; pairs spread over the rotor. Errors: why there is none.
pub fn loaded(rotor: &Rotor, filled: &[Filled]) -> Result<Loaded, NotLoaded> {
    if filled.is_empty() {
        return Err(NotLoaded::Nothing);
    }
    let mut signs: Vec<CheckSign> = Vec::new();
    for one in filled {
        if !signs.contains(&one.sign) {
            signs.push(one.sign);
        }
    }
    sort_by(&mut signs, CheckSign::cmp);
    let shared = signs.len() > 1;
    let of = |sign: CheckSign| filled.iter().filter(|f| f.sign == sign).copied().collect::<Vec<_>>();
    let two: Vec<_> = signs.into_iter().flat_map(|sign| matched(of(sign))).collect();
    let wanted = 2 * two.len();
    let places = match rotor.places {
        Some(places) if places > MOST_PLACES => return Err(NotLoaded::TooMany(places)),
        Some(places) if places % 2 == 1 => return Err(NotLoaded::OddPlaces(places)),
        Some(places) if usize::from(places) < wanted => return Err(NotLoaded::TooFew { places, wanted }),
        Some(places) => usize::from(places),
        None => wanted,
    };
    let across = places / 2;
    let mut all = vec![Held::Empty; places];
    let mut pairs = Vec::with_capacity(two.len());
    for (i, (container, other)) in two.iter().enumerate() {
        // Spread: the i-th of m pairs on the ⌊i·across/m⌋-th line through the axis.
        let first = i * across / two.len();
        let second = first + across;
        let held = other.map_or(Held::Counterweight(*container), Held::Container);
        for (at, held) in [(first, Held::Container(*container)), (second, held)] {
            if let Some(slot) = all.get_mut(at) {
                *slot = held;
            }
        }
        let number = |at: usize| u8::try_from(at + 1).unwrap_or(u8::MAX);
        let facing = facing(container, other.as_ref(), rotor.tolerance);
        pairs.push(Pair { places: [number(first), number(second)], container: *container, facing });
    }
    Ok(Loaded { places: all, numbered: rotor.places.is_some(), pairs, shared })
}

/// Two by two, so that the volumes differ least; of an odd number the one whose absence makes that so is alone.
fn matched(mut all: Vec<Filled>) -> Vec<(Filled, Option<Filled>)> {
    let ml = |f: &Filled| f.volume.map_or(0.0, Volume::get);
    sort_by(&mut all, |a, b| ml(b).total_cmp(&ml(a)));
    let mut alone = None;
    if all.len() % 2 == 1 {
        // Left out at an even place, what is before it and what is after it still goes two by two.
        let without = |out: usize| {
            let left: Vec<f64> =
                all.iter().enumerate().filter(|(i, _)| *i != out).map(|(_, f)| ml(f)).collect();
            left.chunks_exact(2).map(|two| two.iter().fold(0.0, |sum, v| v - sum).abs()).sum::<f64>()
        };
        // Of equal ones the last.
        let out = (0..all.len()).step_by(2).rev().min_by(|a, b| without(*a).total_cmp(&without(*b)));
        alone = out.map(|out| all.remove(out));
    }
    let two = all.chunks_exact(2).filter_map(|two| match two {
        [a, b] if a.number > b.number => Some((*b, Some(*a))),
        [a, b] => Some((*a, Some(*b))),
        _ => None,
    });
    let mut two: Vec<_> = two.collect();
    sort_by(&mut two, |(a, _), (b, _)| a.number.cmp(&b.number));
    two.extend(alone.map(|one| (one, None)));
    two
}

fn facing(container: &Filled, other: Option<&Filled>, tolerance: Option<Grams>) -> Facing {
    let Some(other) = other else {
        let water = container.volume.and_then(water);
        let too_much = water.as_ref().zip(container.room).is_some_and(|(water, room)| water.value > room);
        return Facing::Counterweight { water, too_much, emptied: container.prefilled };
    };
    let apart = container.volume.zip(other.volume).and_then(|(a, b)| apart(a, b));
    let too_far = apart.as_ref().zip(tolerance).is_some_and(|(apart, most)| apart.value > most);
    Facing::Container { other: *other, apart, too_far }
}

fn water(filled: Volume) -> Option<Worked<Volume>> {
    // V_water = 1.05·V
    let water = Volume::new(BLOOD_WEIGHS * filled.get()).ok()?;
    let numbers = vec![Figure::pure(BLOOD_WEIGHS), Figure::of(filled)];
    let line = Working::line(
        StepName::WaterAsHeavy,
        "V_water = 1.05·V/1.00",
        "{} · {} / 1.00",
        numbers,
        Figure::of(water),
    );
    Some(Worked::new(water, line.from(WEIGHS_SOURCE)))
}

fn apart(a: Volume, b: Volume) -> Option<Worked<Grams>> {
    // Δm = 1.05·|V₁ − V₂|
    let (more, less) = if a < b { (b, a) } else { (a, b) };
    let grams = Grams::new(BLOOD_WEIGHS * (more.get() - less.get())).ok()?;
    let numbers = vec![Figure::pure(BLOOD_WEIGHS), Figure::of(more), Figure::of(less)];
    let line = Working::line(
        StepName::WeightApart,
        "Δm = 1.05·(V₁ − V₂)",
        "{} · ({} − {})",
        numbers,
        Figure::of(grams),
    );
    Some(Worked::new(grams, line.from(WEIGHS_SOURCE)))
}

#[cfg(test)]
mod tests {
    use super::super::{Now, assess};
    use super::*;
    use crate::bench::demo_rotor;
    use crate::blood::testing::q;
    use crate::case;
    use crate::draft::{Draft, Field};
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
        let all = filled(sign("7K"), &case, &answer);
        let room = Some(case.draw.container.as_ref().unwrap().capacity);
        let wanted: Vec<_> = of("7K", &[15.0, 15.0]).into_iter().map(|f| Filled { room, ..f }).collect();
        assert_eq!(all, wanted);
        let unknown = of_case(&case, &all).unwrap();
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
                            wanted > usize::from(places)
                                && wanted == 2 * (own.div_ceil(2) + others.div_ceil(2))
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
            let Facing::Container { apart: Some(apart), too_far, .. } = &found.pairs[0].facing else {
                panic!()
            };
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
        let all = filled(sign("7K"), &case, &answer);
        case.times.stages.insert(0, NOW.at);
        assert_eq!(of_case(&case, &all), Err(NotLoaded::Turns));
        case.times.stages.insert(1, NOW.at);
        assert_eq!(of_case(&case, &all), Err(NotLoaded::Opened), "stage 2 of the demo is by hand");
        case.times.stages = [(1, NOW.at)].into();
        assert_eq!(
            of_case(&case, &all),
            Err(NotLoaded::Opened),
            "the first spin was not tapped, and has turned"
        );
        let programme = case.protocol.as_ref().unwrap().programme.clone();
        // What is done by hand before it turns opens nothing that was drawn.
        case.protocol.as_mut().unwrap().programme.0.insert(0, programme.0[1].clone());
        case.times.stages = [(0, NOW.at)].into();
        assert!(of_case(&case, &all).is_ok());
        case.times.stages.insert(2, NOW.at);
        assert_eq!(of_case(&case, &all), Err(NotLoaded::Opened));
        case.times.stages.clear();
        case.protocol.as_mut().unwrap().programme.0.retain(|stage| stage.speed().is_none());
        assert_eq!(of_case(&case, &all), Err(NotLoaded::Still));
        case.protocol.as_mut().unwrap().programme = programme;
        case.spin.rotor = None;
        assert_eq!(of_case(&case, &all), Err(NotLoaded::NoRotor));
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
        assert_eq!(filled(sign("7K"), &case, &answer).len(), 3);
        if let Some(one) = answer.draw.containers.get_mut(1) {
            one.set_aside = true;
            let numbers: Vec<u8> = filled(sign("7K"), &case, &answer).iter().map(|f| f.number).collect();
            assert_eq!(numbers, [1, 3]);
        }
    }
}
