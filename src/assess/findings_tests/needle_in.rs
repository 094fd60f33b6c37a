//! Findings while the needle is in.

use super::*;
use crate::bench::Prefill;
use crate::blood::anticoagulant::Agent;

#[test]
fn a_mark_below_the_anticoagulant_is_not_reckoned() {
    let a = caution("mark_below_anticoagulant.1", |d| d.write(Field::FillActual(0), "1"));
    assert_eq!(a.draw.now.unwrap().blood.value, ml(13.0), "the other container alone");
}

#[test]
fn an_under_filled_tube_is_a_caution() {
    let prefilled = |d: &mut Draft| {
        container(d).prefill = Some(Prefill { agent: Agent::AcdA, volume: ml(2.0) });
        container(d).fill_low = ml(15.0);
    };
    caution("under_filled_tube.2", |d| {
        prefilled(d);
        d.write(Field::FillActual(1), "13");
    });
    let mut full = quiet();
    prefilled(&mut full);
    full.write(Field::FillActual(1), "15");
    assert_eq!(keys(&answer(&full)), [""; 0]);
}

#[test]
fn a_container_set_aside_leaves_the_sums() {
    let a = note("set_aside.1", |d| trouble(d, TroubleKind::Clot, Some(0), true));
    assert!(!keys(&a).iter().any(|k| k.starts_with("trouble")), "setting it aside settles it");
    let now = a.draw.now.unwrap();
    assert_eq!((now.containers, now.blood.value), (1, ml(13.0)));
    assert_eq!(a.draw.patient.unwrap().drawn_today.value, ml(26.0), "it was drawn all the same");
}

#[test]
fn each_trouble_has_its_level() {
    use TroubleKind as T;
    for kind in T::ALL {
        let container = kind.of_one_container().then_some(1);
        let name = match kind {
            T::ShortDraw => "trouble.short_draw.2",
            T::Clot => "trouble.clot.2",
            T::AnticoagulantForgotten => "trouble.anticoagulant_forgotten.2",
            T::Dropped => "trouble.dropped.2",
            T::Unlabelled => "trouble.unlabelled.2",
            T::SpinStopped => "trouble.spin_stopped",
            T::PinkPlasma => "trouble.pink_plasma",
            T::MilkyPlasma => "trouble.milky_plasma",
            T::RedCells => "trouble.red_cells",
            T::Clumps => "trouble.clumps",
        };
        let happens = |d: &mut Draft| trouble(d, kind, container, false);
        match kind {
            T::ShortDraw | T::SpinStopped | T::PinkPlasma | T::MilkyPlasma => caution(name, happens),
            T::RedCells | T::Clumps => waits(name, HeldStep::HandOver, happens),
            T::Clot | T::AnticoagulantForgotten | T::Dropped | T::Unlabelled => {
                stops(name, HeldStep::Spin, happens)
            }
        };
    }
}
