//! What an amendment chose otherwise: the choice, and what was chosen.

use super::Phrase;
use super::bench::BenchWord;
use super::choice::{
    AdditionName, AgentName, BrakeName, BrakeSet, CellsDilutionName, ConventionName, CountStandingName,
    ProductTubeName, SampleDilutionName, SampleName, ScreeningQuestion, SexName, SideMark, SideName,
    WhiteCellOrderName,
};
use super::counting::Counting;
use super::order::{OrderWords, YesNo};
use super::plan::{MeantAs, PlanWord};
use super::product::{Count, CountHow, OrderSenseName, OrderedFor, ProductLine};
use crate::draft::{KitPart, Side};
use crate::quantity::unit::{HeightUnit, NumberStyle};
use crate::record::changes::Chosen;
use std::borrow::Cow;

/// Which choice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChosenLabel<'a>(pub &'a Chosen);

impl Phrase for ChosenLabel<'_> {
    fn english(&self) -> Cow<'static, str> {
        match self.0 {
            Chosen::Side(_) => OrderWords::Side.english(),
            Chosen::WhiteCells(_) => OrderWords::WhiteCells.english(),
            Chosen::OneContainer(_) => OrderWords::OneContainer.english(),
            Chosen::Sense(what, _) => MeantAs(*what).english(),
            Chosen::EachPart(_) => PlanWord::For.english(),
            Chosen::Count(_) => OrderWords::IsCounted.english(),
            Chosen::Sample(_) => OrderWords::Sample.english(),
            Chosen::Sex(_) => OrderWords::Sex.english(),
            Chosen::FirstDraw(_) => OrderWords::FirstDraw.english(),
            Chosen::Agent(_) => OrderWords::Agent.english(),
            Chosen::Convention(_) => OrderWords::Convention.english(),
            Chosen::Addition(row, _) => ProductLine::Addition(*row).english(),
            Chosen::Screening(what, _) => ScreeningQuestion(*what).english(),
            Chosen::Dilution(_) => Count::Dilution.english(),
            Chosen::ProductTube(_) => Counting::Tube.english(),
            Chosen::CellsDilution(_) => Counting::CellsFrom.english(),
            Chosen::MixedNoClumps(_) => Count::Mixed.english(),
            Chosen::CountLater(_) => CountHow::Later.english(),
            Chosen::Brake(stage, _) => BrakeSet(*stage).english(),
            Chosen::Numbers(_) => BenchWord::Decimal.english(),
            Chosen::CountUnit(_) => BenchWord::Counts.english(),
            Chosen::HaematocritUnit(_) => BenchWord::HaematocritUnit.english(),
            Chosen::HaemoglobinUnit(_) => BenchWord::HaemoglobinUnit.english(),
            Chosen::MassUnit(_) => BenchWord::WeightUnit.english(),
            Chosen::HeightUnit(_) => BenchWord::HeightUnit.english(),
            Chosen::Entry(part, _) => entry(*part).english(),
        }
    }
}

/// Which entry of the Bench.
pub fn entry(part: KitPart) -> OrderWords {
    match part {
        KitPart::Container => OrderWords::Container,
        KitPart::Protocol => OrderWords::Protocol,
        KitPart::Rotor => OrderWords::Rotor,
    }
}

/// What was chosen; empty where nothing was. Numbers in a name are written in this style.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ChosenName<'a>(pub &'a Chosen, pub NumberStyle);

impl Phrase for ChosenName<'_> {
    fn english(&self) -> Cow<'static, str> {
        let name = match self.0 {
            Chosen::Side(Some(Side::NoSide)) => Some(SideName(Side::NoSide).english()),
            Chosen::Side(side) => side.map(|side| SideMark(side).english()),
            Chosen::WhiteCells(to) => to.map(|to| WhiteCellOrderName(to).english()),
            Chosen::Sense(_, to) => Some(OrderSenseName(to.unwrap_or_default()).english()),
            Chosen::EachPart(each) => {
                Some(if *each { OrderedFor::EachPart } else { OrderedFor::InAll }.english())
            }
            Chosen::Count(to) => to.map(|to| CountStandingName(to).english()),
            Chosen::Sample(to) => to.map(|to| SampleName(to).english()),
            Chosen::Sex(to) => to.map(|to| SexName(to).english()),
            Chosen::Agent(to) => to.map(|to| AgentName(to, self.1).english()),
            Chosen::Convention(to) => to.map(|to| ConventionName(to).english()),
            Chosen::Addition(_, to) => to.map(|to| AdditionName(to).english()),
            Chosen::Dilution(to) => to.map(|to| SampleDilutionName(to).english()),
            Chosen::ProductTube(to) => to.map(|to| ProductTubeName(to).english()),
            Chosen::CellsDilution(to) => to.map(|to| CellsDilutionName(to).english()),
            Chosen::Brake(_, to) => to.map(|to| BrakeName(to).english()),
            Chosen::FirstDraw(to) | Chosen::Screening(_, to) | Chosen::MixedNoClumps(to) => {
                to.map(|to| YesNo(to).english())
            }
            Chosen::OneContainer(to) | Chosen::CountLater(to) => Some(YesNo(*to).english()),
            Chosen::Numbers(NumberStyle::Point) => Some(BenchWord::Point.english()),
            Chosen::Numbers(NumberStyle::Comma) => Some(BenchWord::Comma.english()),
            Chosen::CountUnit(unit) => Some(unit.symbol().into()),
            Chosen::HaematocritUnit(unit) => Some(unit.symbol().into()),
            Chosen::HaemoglobinUnit(unit) => Some(unit.symbol().into()),
            Chosen::MassUnit(unit) => Some(unit.symbol().into()),
            Chosen::HeightUnit(HeightUnit::FeetInches) => Some(BenchWord::FeetInches.english()),
            Chosen::HeightUnit(unit) => Some(unit.symbol().into()),
            Chosen::Entry(_, name) => name.clone().map(Cow::Owned),
        };
        name.unwrap_or_default()
    }
}
