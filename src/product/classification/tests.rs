use super::*;
use crate::blood::testing::q;
use proptest::prelude::*;

fn of(family: Family, inputs: &Inputs) -> Classified {
    classify(inputs).into_iter().find(|c| c.family == family).unwrap()
}

/// Everything known.
fn whole() -> Inputs {
    Inputs {
        native: Some(q(220.0)),
        product: Some(q(378.0)),
        fold: Some(q(378.0 / 220.0)),
        recovery: Some(q(0.78)),
        given_count: Some(q(378.0)),
        given: Some(q(4.0)),
        dose: Some(q(4.2)),
        blood_white: Some(q(6.0)),
        white: Some(q(1.0)),
        blood_neutrophils: Some(q(0.6)),
        neutrophils: Some(q(0.2)),
        white_share: white_share(q(378.0), q(0.02), q(1.0)),
        red: Some(q(0.02)),
        haematocrit: Some(q(0.002)),
        activators: Some(vec![]),
        meant: Some(Meant::Without),
        fibrin: Some(Fibrin::LowDensity),
        unconfirmed: false,
    }
}

#[test]
fn nothing_known_gives_no_class_and_says_what_it_takes() {
    for classified in classify(&Inputs::default()) {
        for part in &classified.parts {
            let Outcome::Without(needed) = &part.outcome else { panic!("{part:?}") };
            assert!(!needed.all().is_empty(), "{part:?}");
        }
        assert_eq!(classified.code(), None);
    }
    let needed = |family, of_part| match of(family, &Inputs::default()).part(of_part) {
        Some(Outcome::Without(needed)) => needed.all(),
        other => panic!("{other:?}"),
    };
    use Needed as N;
    assert_eq!(needed(Family::Paw, PartOf::Platelets), [N::BloodCount, N::ProductCount]);
    assert_eq!(needed(Family::Mishra, PartOf::Type), [N::ProductWhite, N::BloodWhite, N::WhatIsAdded]);
    assert_eq!(needed(Family::Depa, PartOf::Purity), [N::ProductCount, N::RedCells, N::ProductWhite]);
    assert_eq!(needed(Family::DohanEhrenfest, PartOf::Type), [N::Protocol, N::Anticoagulant]);
}

#[test]
fn what_is_counted_and_still_open_names_what_it_waits_for() {
    let without = |inputs: Inputs, family, of_part| match of(family, &inputs).part(of_part) {
        Some(Outcome::Without(needed)) => needed.all(),
        other => panic!("{other:?}"),
    };
    // both counts are there and the blood of a container is not
    let open = Inputs { fold: None, ..whole() };
    assert_eq!(without(open, Family::Mishra, PartOf::Fold), [Needed::BloodDrawn]);
    // counted and given, and what was added is not known in full
    let open = Inputs { dose: None, given_count: None, activators: None, ..whole() };
    assert_eq!(without(open.clone(), Family::Depa, PartOf::Dose), [Needed::WhatIsAdded]);
    assert_eq!(without(open, Family::Plra, PartOf::Platelets), [Needed::WhatIsAdded]);
    // a count that is not to be relied on is classed nowhere, and named once
    let doubtful = Inputs { unconfirmed: true, ..whole() };
    let asked = |family, part| without(doubtful.clone(), family, part);
    assert_eq!(asked(Family::Paw, PartOf::Platelets), [Needed::ReliableCount]);
    assert_eq!(asked(Family::Paw, PartOf::Neutrophils), [Needed::ReliableCount]);
    assert_eq!(asked(Family::Plra, PartOf::Platelets), [Needed::ReliableCount]);
    assert_eq!(asked(Family::Depa, PartOf::Purity), [Needed::ReliableCount]);
    assert_eq!(asked(Family::Depa, PartOf::Efficiency), [Needed::ReliableCount]);
    assert_eq!(asked(Family::Mishra, PartOf::Type), [Needed::ReliableCount]);
    // what rests on no count stays
    assert_eq!(of(Family::DohanEhrenfest, &doubtful).code().as_deref(), Some("P-PRP"));
}

#[test]
fn all_known_gives_whole_codes() {
    let paw = of(Family::Paw, &whole());
    assert_eq!(paw.code().as_deref(), Some("P2-Bβ"));
    let calcium = Inputs { activators: Some(vec![Activator::CalciumChloride]), ..whole() };
    assert_eq!(of(Family::Paw, &calcium).code().as_deref(), Some("P2-x-Bβ"));
    assert_eq!(of(Family::DohanEhrenfest, &whole()).code().as_deref(), Some("P-PRP"));
}

#[test]
fn a_patient_with_many_platelets_meets_the_first_rule() {
    // Blood above 750 leaves the second class empty.
    let class = |c: f64| of(Family::Paw, &Inputs { native: Some(q(900.0)), product: Some(q(c)), ..whole() });
    let p = |c| class(c).part(PartOf::Platelets).cloned();
    assert_eq!(p(900.0), Some(code("P1")));
    assert_eq!(p(901.0), Some(code("P3")));
}

#[test]
fn white_cells_fewer_than_the_bloods_and_not_none_have_no_type() {
    let kind = |white: f64| {
        of(Family::Mishra, &Inputs { white: Some(q(white)), ..whole() }).part(PartOf::Type).cloned().unwrap()
    };
    assert_eq!(kind(6.1), code("1"));
    assert_eq!(kind(0.0), code("3"));
    for few in [0.01, 1.0, 6.0] {
        assert_eq!(kind(few), Outcome::Undefined(Unassigned::MinimalHasNoNumber), "{few}");
    }
    // None needs no count of the blood to be none.
    let none = Inputs { white: Some(q(0.0)), blood_white: None, ..whole() };
    assert_eq!(of(Family::Mishra, &none).part(PartOf::Type), Some(&code("3")));
}

#[test]
fn edges_that_belong_nowhere_are_undefined() {
    let edge = |one, other| Outcome::Undefined(Unassigned::Edge { one, other });
    let depa = |dose: f64| {
        of(Family::Depa, &Inputs { dose: Some(q(dose)), ..whole() }).part(PartOf::Dose).cloned().unwrap()
    };
    assert_eq!([5.01, 4.99, 2.99, 0.99].map(depa), ["A", "B", "C", "D"].map(code));
    assert_eq!([5.0, 3.0, 1.0].map(depa), [edge("A", "B"), edge("B", "C"), edge("C", "D")]);
    let red = |h: f64| {
        let inputs = Inputs { haematocrit: Some(q(h)), ..whole() };
        of(Family::Plra, &inputs).part(PartOf::RedCells).cloned().unwrap()
    };
    assert_eq!([0.0101, 0.01, 0.0099].map(red), [code("+"), edge("+", "−"), code("−")]);
}

#[test]
fn an_addition_of_unknown_effect_leaves_activation_open() {
    let volume = q(0.1);
    let other = Addition { agent: AdditionAgent::Other { name: "saline".into(), strength: None }, volume };
    let numb = Addition { agent: AdditionAgent::LocalAnaesthetic { strength: q(1.0) }, volume };
    let calcium = Addition { agent: AdditionAgent::CalciumGluconate { strength: q(10.0) }, volume };
    assert_eq!(activators(&[]), Some(vec![]));
    assert_eq!(activators(std::slice::from_ref(&numb)), Some(vec![]));
    assert_eq!(activators(&[numb, calcium.clone()]), Some(vec![Activator::CalciumGluconate]));
    assert_eq!(activators(&[calcium, other]), None);
}

#[test]
fn purity_brings_red_cells_to_the_others_unit() {
    // F11 and F12 of the published rows: 100 and 500 ×10³/µL of red cells are 0.1 and 0.5 ×10¹²/L
    let share = |red: f64| purity(q(1000.0), q(red), q(2.0)).unwrap().get();
    assert!((share(0.1) - 0.9074).abs() < 5e-5 && (share(0.5) - 0.6658).abs() < 5e-5);
    assert_eq!(purity(q(0.0), q(0.0), q(0.0)), None);
}

fn counts() -> impl Strategy<Value = f64> {
    prop_oneof![Just(0.0), Just(250.0), Just(750.0), Just(1250.0), 0.0..3000.0_f64]
}

proptest! {
    /// One thing less known never makes a class another one: it stays, or is said to be missing.
    #[test]
    fn knowing_less_never_changes_a_class(
        native in counts(), product in counts(), white in 0.0..20.0_f64, blood in 0.0..20.0_f64, gone in 0_usize..12,
    ) {
        let all = Inputs {
            native: Some(q(native)),
            product: Some(q(product)),
            white: Some(q(white)),
            blood_white: Some(q(blood)),
            ..whole()
        };
        let mut less = all.clone();
        match gone {
            0 => less.native = None,
            1 => less.product = None,
            2 => less.fold = None,
            3 => less.recovery = None,
            4 => less.given = None,
            5 => less.dose = None,
            6 => less.blood_white = None,
            7 => less.white = None,
            8 => less.neutrophils = None,
            9 => less.red = None,
            10 => less.haematocrit = None,
            _ => less.activators = None,
        }
        for (more, less) in classify(&all).iter().zip(classify(&less)) {
            for (more, less) in more.parts.iter().zip(&less.parts) {
                prop_assert!(more == less || matches!(less.outcome, Outcome::Without(_)), "{:?} {:?}", more, less);
            }
        }
    }

    /// More platelets never give a lower class.
    #[test]
    fn more_platelets_never_give_a_lower_class(native in counts(), one in counts(), other in counts()) {
        let p = |c: f64| {
            let inputs = Inputs { native: Some(q(native)), product: Some(q(c)), ..Inputs::default() };
            match of(Family::Paw, &inputs).part(PartOf::Platelets) {
                Some(Outcome::Is(Class::Code(code))) => *code,
                other => panic!("{other:?}"),
            }
        };
        prop_assert!(p(one.min(other)) <= p(one.max(other)));
    }
}
