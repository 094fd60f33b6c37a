//! What was chosen from a few, as it was and as it is.

use super::Change;
use crate::arrange::gather;
use crate::blood::anticoagulant::{Agent, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::Sex;
use crate::draft::{
    AdditionChoice, Choices, CountStanding, Draft, KitPart, ProductTube, SampleDilution, Screening, Side,
    WhiteCellOrder,
};
use crate::product::order::{OrderSense, OrderedAmount};
use crate::quantity::unit::{
    Conventions, CountUnit, HaematocritUnit, HaemoglobinUnit, HeightUnit, MassUnit, NumberStyle,
};
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
    Numbers(NumberStyle),
    CountUnit(CountUnit),
    HaematocritUnit(HaematocritUnit),
    HaemoglobinUnit(HaemoglobinUnit),
    MassUnit(MassUnit),
    HeightUnit(HeightUnit),
    /// By its name.
    Entry(KitPart, Option<String>),
}

/// Every choice of a draft, units last; additions by these rows. Nothing chosen can be left out: it would not compile.
fn all(draft: &Draft, rows: &BTreeSet<u8>) -> Vec<Chosen> {
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
    let pairs =
        all(before, &rows).into_iter().zip(all(after, &rows)).filter(|(before, after)| before != after);
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
