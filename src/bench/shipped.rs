//! The Bench as it ships: generic, unbranded entries. Sizes are common shapes, no source: a clinic replaces
//! them with its own. Expectations name the rows they rest on; where there are none, they are empty.

use super::chart::ChartOrder;
use super::stock::Stock;
use super::{BENCH_SCHEMA, Bench, Bottom, Clinic, Container, Protocol, WhiteCells};
use crate::blood::anticoagulant::{Agent, Dosing};
use crate::blood::patient::Limits;
use crate::product::clock::ClockPolicy;
use crate::product::kind::{Expectation, ProductKind};
use crate::product::recipe::Analyser;
use crate::quantity::unit::Conventions;
use crate::quantity::{AcRatio, Millimetre, Radius, Rcf, Rpm, Seconds, Share, Volume};
use crate::spin::programme::{Programme, Speed, Stage};
use crate::spin::rcf::RadiusKind;
use crate::spin::rotor::{Rotor, RotorKind};

const fn ml(value: f64) -> Volume {
    Volume::constant(value)
}

pub(super) fn bench() -> Bench {
    Bench {
        schema: BENCH_SCHEMA,
        clinic: Clinic {
            name: String::new(),
            second_line: String::new(),
            autologous: "Own blood, for this patient only. Not tested for infection.".to_owned(),
            local_line: String::new(),
            conventions: Conventions::default(),
            chart: ChartOrder::default(),
            labels: Stock::default(),
            coded_reference: false,
        },
        containers: containers(),
        rotors: rotors(),
        protocols: protocols(),
        limits: Limits::SHIPPED,
        limits_lead: String::new(),
        clock: ClockPolicy::SHIPPED,
        analyser: Analyser::default(),
        keep_years: None,
    }
}

fn containers() -> Vec<Container> {
    let tube_15 = Container {
        id: "tube-15".to_owned(),
        name: "Tube, filled to 15 mL".to_owned(),
        capacity: ml(17.0),
        graduation: ml(1.0),
        fill_low: ml(8.0),
        fill_high: ml(15.0),
        anticoagulant_graduation: ml(0.2),
        prefill: None,
        product_low: None,
        product_high: None,
        rated: None,
        transfer_loss: ml(0.1),
        needle_loss: ml(0.1),
        inner_diameter: Millimetre::constant(15.0),
        bottom: Bottom::Round,
        product_number: None,
        separates: None,
    };
    let tube_10 = Container {
        id: "tube-10".to_owned(),
        name: "Tube, filled to 10 mL".to_owned(),
        capacity: ml(11.5),
        fill_low: ml(5.0),
        fill_high: ml(10.0),
        anticoagulant_graduation: ml(0.1),
        inner_diameter: Millimetre::constant(14.0),
        bottom: Bottom::Conical,
        ..tube_15.clone()
    };
    let chamber = Container {
        id: "chamber-50".to_owned(),
        name: "Chamber of an automatic process, 50 mL".to_owned(),
        capacity: ml(60.0),
        graduation: ml(5.0),
        fill_low: ml(20.0),
        fill_high: ml(50.0),
        anticoagulant_graduation: ml(1.0),
        inner_diameter: Millimetre::constant(40.0),
        bottom: Bottom::Flat,
        ..tube_15.clone()
    };
    vec![tube_15, tube_10, chamber]
}

fn rotors() -> Vec<Rotor> {
    // A radius is never assumed: the clinic reads its rotor's own before the page turns ×g into rpm.
    let rotor = |id: &str, name: &str, kind, maximum| Rotor {
        id: id.to_owned(),
        name: name.to_owned(),
        kind,
        minimum: None,
        maximum,
        rated_rpm: None,
        rated_bucket: None,
        speed_step: Some(Rpm::constant(10.0)),
        places: None,
        tolerance: None,
    };
    vec![
        rotor("swing-out", "Swing-out rotor (enter its radii)", RotorKind::SwingOut, None),
        rotor("fixed-angle", "Fixed-angle rotor (enter its radii)", RotorKind::FixedAngle, None),
    ]
}

/// The demo's rotor: swing-out, 155 mm.
pub(crate) fn demo_rotor() -> Rotor {
    Rotor {
        id: "swing-out-155".to_owned(),
        name: "Swing-out rotor, 155 mm".to_owned(),
        kind: RotorKind::SwingOut,
        minimum: None,
        maximum: Some(Radius::constant(155.0)),
        rated_rpm: None,
        rated_bucket: None,
        speed_step: Some(Rpm::constant(10.0)),
        places: None,
        tolerance: None,
    }
}

fn hold(g: Rcf, seconds: Seconds) -> Stage {
    Stage::Hold { speed: Speed::Rcf { g, at: RadiusKind::Maximum }, time: seconds }
}

fn protocols() -> Vec<Protocol> {
    const TEN_MINUTES: Seconds = Seconds::constant(600.0);
    let acd_a = Some(Dosing::PerBlood(AcRatio::constant(0.15)));
    let double_spin = Protocol {
        id: "double-spin".to_owned(),
        name: "Double-spin tube method".to_owned(),
        kind: ProductKind::Concentrate,
        white_cells: WhiteCells::Unknown,
        expectation: Some(Expectation::double_spin()),
        agent: Agent::AcdA,
        dosing: acd_a,
        own_band: None,
        programme: Programme(vec![
            hold(Rcf::constant(180.0), TEN_MINUTES),
            Stage::Handling { what: "move plasma above the cells to a new container".to_owned(), time: None },
            hold(Rcf::constant(900.0), TEN_MINUTES),
        ]),
        product: Some(ml(4.0)),
        count_sample: ml(0.2),
        left_behind: ml(0.5),
        packing: Share::constant(0.70),
        agent_product: None,
        programme_fixed: false,
    };
    let off_the_top = Protocol {
        id: "off-the-top".to_owned(),
        name: "Plasma off the top, single soft spin".to_owned(),
        kind: ProductKind::OffTheTop,
        white_cells: WhiteCells::LeftBehind,
        expectation: Some(Expectation::off_the_top()),
        // 160 ×g for 10 min, as in the row that its fold rests on (Petrushenko 2022).
        programme: Programme(vec![hold(Rcf::constant(160.0), TEN_MINUTES)]),
        ..double_spin.clone()
    };
    let with_cells = Protocol {
        id: "with-cells".to_owned(),
        name: "Single spin, cell layer kept".to_owned(),
        kind: ProductKind::WithCells,
        white_cells: WhiteCells::Kept,
        expectation: None,
        programme: Programme::default(),
        product: None,
        ..double_spin.clone()
    };
    let automatic = Protocol {
        id: "automatic".to_owned(),
        name: "Automatic chamber process, settings fixed by its maker".to_owned(),
        kind: ProductKind::Concentrate,
        white_cells: WhiteCells::Unknown,
        expectation: None,
        programme: Programme(vec![Stage::Handling {
            what: "the maker’s programme".to_owned(), time: None
        }]),
        product: None,
        ..double_spin.clone()
    };
    vec![double_spin, off_the_top, with_cells, automatic]
}
