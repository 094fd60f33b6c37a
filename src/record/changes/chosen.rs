//! What was chosen from a few, as it was and as it is.

use super::Change;
use crate::arrange::gather;
use crate::blood::anticoagulant::{Agent, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::Sex;
use crate::draft::{
    AdditionChoice, Brake, Choices, CountStanding, Draft, KitPart, ProductTube, SampleDilution, Screening,
    Side, WhiteCellOrder,
};
use crate::product::order::{OrderSense, OrderedAmount};
use crate::quantity::unit::{
    Conventions, CountUnit, HaematocritUnit, HaemoglobinUnit, HeightUnit, MassUnit, NumberStyle,
};
use crate::stored;
use std::collections::BTreeSet;

/// One choice with what was chosen; `None` is "not said".
#[derive(Debug, Clone, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum Chosen {
    Side(Option<Side>),
    WhiteCells(Option<WhiteCellOrder>),
    OneContainer(bool),
    Sense(OrderedAmount, Option<OrderSense>),
    EachPart(bool),
    Count(Option<CountStanding>),
    Sample(Option<SampleKind>),
    Sex(Option<Sex>),
    FirstDraw(Option<bool>),
    Agent(Option<Agent>),
    Convention(Option<VolumeConvention>),
    /// By its row from 0.
    Addition(u8, Option<AdditionChoice>),
    Screening(Screening, Option<bool>),
    Dilution(Option<SampleDilution>),
    ProductTube(Option<ProductTube>),
    CellsDilution(Option<SampleDilution>),
    MixedNoClumps(Option<bool>),
    CountLater(bool),
    /// By its stage from 0.
    Brake(u8, Option<Brake>),
    Numbers(NumberStyle),
    CountUnit(CountUnit),
    HaematocritUnit(HaematocritUnit),
    HaemoglobinUnit(HaemoglobinUnit),
    MassUnit(MassUnit),
    HeightUnit(HeightUnit),
    /// By its name.
    Entry(KitPart, Option<String>),
}

impl Chosen {
    /// Which choice, as files name it.
    pub(super) fn key(&self) -> String {
        let numbered = |what: &str, row: &u8| format!("{what}_{}", u32::from(*row) + 1);
        let named = |what: &str, of: Option<String>| format!("{what}_{}", of.unwrap_or_default());
        match self {
            Chosen::Side(_) => "side",
            Chosen::WhiteCells(_) => "white_cells",
            Chosen::OneContainer(_) => "one_container",
            Chosen::Sense(what, _) => return named("order_sense", stored::key(what)),
            Chosen::EachPart(_) => "each_part",
            Chosen::Count(_) => "blood_count_standing",
            Chosen::Sample(_) => "blood_sample",
            Chosen::Sex(_) => "sex",
            Chosen::FirstDraw(_) => "first_draw",
            Chosen::Agent(_) => "anticoagulant",
            Chosen::Convention(_) => "volume_convention",
            Chosen::Addition(row, _) => return numbered("addition", row),
            Chosen::Screening(what, _) => return named("screening", stored::key(what)),
            Chosen::Dilution(_) => "dilution_of_sample",
            Chosen::ProductTube(_) => "product_tube",
            Chosen::CellsDilution(_) => "cells_dilution",
            Chosen::MixedNoClumps(_) => "mixed_no_clumps",
            Chosen::CountLater(_) => "count_later",
            Chosen::Brake(stage, _) => return numbered("brake", stage),
            Chosen::Numbers(_) => "decimal_mark",
            Chosen::CountUnit(_) => "count_unit",
            Chosen::HaematocritUnit(_) => "haematocrit_unit",
            Chosen::HaemoglobinUnit(_) => "haemoglobin_unit",
            Chosen::MassUnit(_) => "weight_unit",
            Chosen::HeightUnit(_) => "height_unit",
            Chosen::Entry(part, _) => return stored::key(part).unwrap_or_default(),
        }
        .to_owned()
    }
}

/// Every choice of a draft, units last; additions by these rows, brakes by these stages. Nothing chosen can be left out: it would not compile.
fn all(draft: &Draft, rows: &BTreeSet<u8>, stages: &BTreeSet<u8>) -> Vec<Chosen> {
    let Choices {
        side,
        white_cells,
        one_container,
        order_sense,
        each_part,
        count,
        sample,
        sex,
        first_draw,
        agent,
        convention,
        additions,
        screening,
        dilution,
        product_tube,
        cells_dilution,
        mixed_no_clumps,
        count_later,
        brakes,
    } = &draft.choices;
    let Conventions { numbers, count: cells, haematocrit, haemoglobin, mass, height } = draft.conventions;
    let mut found = vec![
        Chosen::Side(*side),
        Chosen::WhiteCells(*white_cells),
        Chosen::OneContainer(*one_container),
        Chosen::EachPart(*each_part),
        Chosen::Count(*count),
        Chosen::Sample(*sample),
        Chosen::Sex(*sex),
        Chosen::FirstDraw(*first_draw),
        Chosen::Agent(*agent),
        Chosen::Convention(*convention),
        Chosen::Dilution(*dilution),
        Chosen::ProductTube(*product_tube),
        Chosen::CellsDilution(*cells_dilution),
        Chosen::MixedNoClumps(*mixed_no_clumps),
        Chosen::CountLater(*count_later),
    ];
    found.extend(OrderedAmount::ALL.map(|what| Chosen::Sense(what, order_sense.get(&what).copied())));
    found.extend(rows.iter().map(|row| Chosen::Addition(*row, additions.get(row).copied())));
    found.extend(stages.iter().map(|stage| Chosen::Brake(*stage, brakes.get(stage).copied())));
    found.extend(Screening::ALL.map(|what| Chosen::Screening(what, screening.get(&what).copied())));
    found.extend([
        Chosen::Numbers(numbers),
        Chosen::CountUnit(cells),
        Chosen::HaematocritUnit(haematocrit),
        Chosen::HaemoglobinUnit(haemoglobin),
        Chosen::MassUnit(mass),
        Chosen::HeightUnit(height),
    ]);
    found
}

/// What was chosen otherwise, then the entries of the Bench.
pub(super) fn differences(before: &Draft, after: &Draft) -> Vec<Change> {
    let rows = gather([before, after].into_iter().flat_map(|d| d.choices.additions.keys().copied()));
    let stages = gather([before, after].into_iter().flat_map(|d| d.choices.brakes.keys().copied()));
    let [was, is] = [before, after].map(|draft| all(draft, &rows, &stages));
    let pairs = was.into_iter().zip(is).filter(|(before, after)| before != after);
    let chosen = pairs.map(|(before, after)| Change::Chosen { before, after });
    let entries = KitPart::ALL.into_iter().filter(|part| !part.same(&before.kit, &after.kit));
    let entries = entries.map(|part| {
        let [was, is] = [before, after].map(|draft| part.name(&draft.kit).map(str::to_owned));
        match was == is {
            true => Change::Entry { part, name: is },
            false => Change::Chosen { before: Chosen::Entry(part, was), after: Chosen::Entry(part, is) },
        }
    });
    chosen.chain(entries).collect()
}
