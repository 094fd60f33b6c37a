//! What stands above, beside and under each entry of the worksheet.

use super::Phrase;
use crate::draft::Field;
use crate::draft::field::TooLong;
use crate::quantity::read::Kind;
use crate::quantity::unit::{Conventions, HeightUnit};
use std::borrow::Cow;

/// Name of an entry, short enough for the narrow column. Rows are counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Label(pub Field);

/// A line that helps to fill an entry in; see [`hint`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hint(Field);

/// What is said under an entry with more letters than there is room for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct NoRoom(pub TooLong);

/// The same of a line that is no field of the worksheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LongLine(pub TooLong);

/// What stands behind an entry; see [`unit`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FieldUnit {
    /// A symbol, the same in every language.
    Symbol(&'static str),
    /// Feet and inches.
    FeetInches,
    /// Completed years.
    Years,
    /// Days.
    Days,
}

impl Phrase for Label {
    fn english(&self) -> Cow<'static, str> {
        let row = |words: &str, i: u8| Cow::Owned(format!("{words} {}", u32::from(i) + 1));
        Cow::Borrowed(match self.0 {
            Field::PatientReference => "Patient reference",
            Field::SecondIdentifier => "Second identifier",
            Field::Technician => "Technician",
            Field::Prescriber => "Prescriber",
            Field::Site => "Site",
            Field::OrderVolume => "Volume to give",
            Field::OrderPlatelets => "Platelets to give",
            Field::OrderPlateletsMost => "Platelets to give, no more than",
            Field::OrderConcentration => "Concentration ordered",
            Field::OrderConcentrationMost => "Concentration, no more than",
            Field::OrderFold => "Fold ordered",
            Field::OrderFoldMost => "Fold, no more than",
            Field::ReadyBy => "Ready by",
            Field::OrderNote => "Also ordered",
            Field::ScreeningNote => "What the patient said",
            Field::Weight => "Weight",
            Field::Height => "Height",
            Field::Age => "Age",
            Field::Discard => "Discards and samples today",
            Field::PreviousBlood => "Drawn in the last 8 weeks",
            Field::BloodCount => "Platelet count",
            Field::BloodHaematocrit => "Haematocrit",
            Field::BloodHaemoglobin => "Haemoglobin",
            Field::BloodWhite => "White cells",
            Field::BloodNeutrophils => "Neutrophils",
            Field::BloodCountTime => "Sampled at",
            Field::BloodCountMethod => "Counted by",
            Field::CountAge => "Age of the result",
            Field::CitrateFactor => "Laboratory’s citrate factor",
            Field::Containers => "Containers",
            Field::FillVolume => "Volume of each container",
            Field::AnticoagulantChosen => "Anticoagulant in each",
            Field::AnticoagulantPer100 => "Anticoagulant per 100\u{a0}mL blood",
            Field::AnticoagulantPerContainer => "Anticoagulant per container",
            Field::OwnAgent => "Name of the anticoagulant",
            Field::AnticoagulantLot => "Anticoagulant lot",
            Field::AnticoagulantExpiry => "Anticoagulant expiry",
            Field::ContainerLot => "Container lot",
            Field::ContainerExpiry => "Container expiry",
            Field::Counterweight => "Spin 1: counterweight",
            Field::CounterweightSecond => "Spin 2: counterweight",
            Field::ProductVolume => "Product to keep",
            Field::ProductActual => "Product kept",
            Field::PoorPlasma => "Platelet-poor plasma kept",
            Field::CellsVolume => "Cells left in the containers",
            Field::PlasmaReading => "Platelets of the poor plasma",
            Field::CountSample => "Count sample",
            Field::Dilution => "Diluted, 1 part in",
            Field::SampleFactor => "Laboratory’s factor of that tube",
            Field::ProductWhite => "White cells of the product",
            Field::ProductRed => "Red cells of the product",
            Field::ProductNeutrophils => "Neutrophils of the product",
            Field::ProductLymphocytes => "Lymphocytes of the product",
            Field::ProductMonocytes => "Monocytes of the product",
            Field::ProductHaematocrit => "Haematocrit of the product",
            Field::NeedleChanges => "Needle or syringe changes",
            Field::Transfers => "Transfers",
            Field::HandedTo => "Handed to",
            Field::NoProduct => "Why no product is handed over",
            Field::WhyChanged => "Why it was changed",
            Field::Notes => "Notes",
            Field::Session => "Session of a course",
            Field::DrawSite => "Drawn from",
            Field::KeptUntilGiven => "Kept until given",
            Field::PartGivenAt(i) => return row("Given at, part", i),
            Field::TemperatureSet(i) => return row("Temperature set, stage", i),
            Field::WhoBefore => "Made ready by",
            Field::WhoDraw => "Drawn by",
            Field::WhoSpin(i) => return row("By whom, stage", i),
            Field::WhoProduct => "Product made by",
            Field::WhoHandOver => "Handed over by",
            Field::AdverseEvent => "Adverse event",
            Field::PartName(i) => return row("Part", i),
            Field::PartVolume(i) => return row("Volume for part", i),
            Field::PartGiven(i) => return row("Given to part", i),
            Field::AnticoagulantActual(i) => return row("Anticoagulant in container", i),
            Field::FillActual(i) => return row("Mark reached in container", i),
            Field::SpeedActual(i) => return row("Speed run in stage", i),
            Field::MinutesActual(i) => return row("Time run in stage", i),
            Field::FilledWeight(i) => return row("Spin 1: weight of container", i),
            Field::FilledWeightSecond(i) => return row("Spin 2: weight of container", i),
            Field::OwnCounterweight(i) => return row("Spin 1: across from container", i),
            Field::OwnCounterweightSecond(i) => return row("Spin 2: across from container", i),
            Field::Reading(i) => return row("Reading", i),
            Field::AdditionName(i) => return row("Addition", i),
            Field::AdditionStrength(i) => return row("Strength of addition", i),
            Field::AdditionVolume(i) => return row("Volume of addition", i),
            Field::AdditionLot(i) => return row("Lot of addition", i),
            Field::AdditionExpiry(i) => return row("Expiry of addition", i),
        })
    }
}

impl Phrase for Hint {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(self.text())
    }
}

impl Hint {
    /// The English of it; empty where the label says enough.
    fn text(self) -> &'static str {
        match self.0 {
            Field::PatientReference => "as it stands on the order",
            Field::SecondIdentifier => "often the birth date",
            Field::Technician => "who prepares",
            Field::Prescriber => "who ordered, and decides",
            Field::Site => "without the side, which is chosen beside it",
            Field::OrderVolume => "all parts of the site together",
            Field::OrderPlatelets => "only if the order names a number of platelets",
            Field::OrderPlateletsMost | Field::OrderConcentrationMost | Field::OrderFoldMost => {
                "the second number of the order"
            }
            Field::OrderConcentration => "only if the order names one",
            Field::OrderFold => "times the blood’s own count, only if ordered",
            Field::ReadyBy => "a time of today, such as 14:30, or day and time",
            Field::OrderNote => "in the order’s words",
            Field::ScreeningNote => "in the patient’s words, for the prescriber",
            Field::Discard => "tubes and first blood that do not go into a container",
            Field::PreviousBlood => "donations and laboratory tubes too, as the patient recalls",
            Field::BloodCount => "as the laboratory or analyser read it",
            Field::BloodCountTime => "day and time",
            Field::BloodCountMethod => "analyser, counting chamber, or in your words",
            Field::CitrateFactor | Field::SampleFactor => "left open, the published factor is used",
            Field::FillVolume => "a fill mark or blood alone: say which beside it",
            Field::AnticoagulantChosen => "instead of the amount planned",
            Field::AnticoagulantPer100 => "as the label or the clinic says; blood, not the filled volume",
            Field::AnticoagulantPerContainer => "if the label names it for a filled container",
            Field::AnticoagulantExpiry | Field::ContainerExpiry | Field::AdditionExpiry(_) => {
                "the last good day"
            }
            Field::Counterweight | Field::CounterweightSecond => "closed, as the scale reads it",
            Field::OwnCounterweight(_) | Field::OwnCounterweightSecond(_) => {
                "its own counterweight, closed, as the scale reads it"
            }
            Field::FilledWeight(_) | Field::FilledWeightSecond(_) => {
                "filled and closed, as the scale reads it"
            }
            Field::ProductVolume => "from all containers together",
            Field::ProductActual => "measured, from all containers together",
            Field::PoorPlasma => "plasma set apart; not the product",
            Field::CountSample => "taken out of the product",
            Field::Dilution => "20: one part product, 20 parts in all",
            Field::ProductWhite | Field::ProductRed | Field::ProductHaematocrit => {
                "only if counted; as the analyser shows it"
            }
            Field::ProductNeutrophils | Field::ProductLymphocytes | Field::ProductMonocytes => {
                "of its white cells, only if counted"
            }
            Field::BloodNeutrophils => "of its white cells, only if counted",
            Field::CellsVolume => "packed cells and what was left above them, only if measured",
            Field::PlasmaReading => "undiluted, only if counted: it finds the missing platelets",
            Field::NeedleChanges | Field::Transfers => "each loses a little",
            Field::PartName(_) => "in the order’s words",
            Field::FillActual(_) => "anticoagulant and blood together",
            Field::Reading(_) => "as the analyser shows it, before any dilution is reckoned in",
            Field::AdditionName(_) => "substance and salt, as ordered",
            Field::AdditionStrength(_) => "grams in 100\u{a0}mL",
            Field::Session => "such as 2 of 3; Duplicate goes on to the next",
            Field::NoProduct => "what went wrong; kept in the record and on its card",
            Field::DrawSite => "vein and arm, in a word or two",
            Field::KeptUntilGiven => "how, and at what °C, as it was done",
            Field::PartGivenAt(_) => "a time of that day, such as 14:30, or day and time",
            Field::TemperatureSet(_) => "as set on the machine",
            Field::WhoBefore => "initials: identity, anticoagulant, containers",
            Field::WhoDraw | Field::WhoSpin(_) | Field::WhoProduct | Field::WhoHandOver => "initials",
            Field::AdverseEvent => {
                "what, when, and who was told; the prescriber decides what is done and reported"
            }
            Field::Weight
            | Field::Height
            | Field::Age
            | Field::BloodHaematocrit
            | Field::BloodHaemoglobin
            | Field::BloodWhite
            | Field::CountAge
            | Field::Containers
            | Field::OwnAgent
            | Field::AnticoagulantLot
            | Field::ContainerLot
            | Field::HandedTo
            | Field::WhyChanged
            | Field::Notes
            | Field::PartVolume(_)
            | Field::PartGiven(_)
            | Field::AnticoagulantActual(_)
            | Field::SpeedActual(_)
            | Field::MinutesActual(_)
            | Field::AdditionVolume(_)
            | Field::AdditionLot(_) => "",
        }
    }
}

/// The line that helps to fill an entry in; `None` where the label says enough.
pub fn hint(field: Field) -> Option<Hint> {
    Some(Hint(field)).filter(|hint| !hint.text().is_empty())
}

impl Phrase for NoRoom {
    fn english(&self) -> Cow<'static, str> {
        let TooLong { letters, room } = self.0;
        Cow::Owned(format!(
            "{letters} letters; there is room for {room}. All of it is kept and printed, but on a full card something else may be left out for it: use fewer words, and put the rest into the notes."
        ))
    }
}

impl Phrase for LongLine {
    fn english(&self) -> Cow<'static, str> {
        let TooLong { letters, room } = self.0;
        Cow::Owned(format!(
            "{letters} letters; there is room for {room}. All of it is kept, but fewer words are read sooner."
        ))
    }
}

impl Phrase for FieldUnit {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            FieldUnit::Symbol(symbol) => symbol,
            FieldUnit::FeetInches => "ft and in",
            FieldUnit::Years => "years",
            FieldUnit::Days => "days",
        })
    }
}

/// The unit in which a bare number is taken; `None` for words and pure numbers.
pub fn unit(field: Field, c: &Conventions) -> Option<FieldUnit> {
    match (field, field.kind()?) {
        (_, Kind::Age) => Some(FieldUnit::Years),
        (Field::CountAge, _) => Some(FieldUnit::Days),
        (_, Kind::Height) if c.height == HeightUnit::FeetInches => Some(FieldUnit::FeetInches),
        // The label says: for 100 mL of blood.
        (_, Kind::RatioPer100) => Some(FieldUnit::Symbol("mL")),
        (_, kind) => Some(kind.unit(c)).filter(|symbol| !symbol.is_empty()).map(FieldUnit::Symbol),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn labels_fit_their_column_and_count_from_one() {
        for field in Field::all() {
            let label = Label(field).english();
            // 15 rem at 0.8125 rem a line and about half an em a letter.
            assert!(label.chars().count() <= 32, "{label}");
        }
        assert_eq!(Label(Field::FillActual(0)).english(), "Mark reached in container 1");
    }

    #[test]
    fn units_follow_the_reader() {
        let metric = Conventions::default();
        let other = Conventions { height: HeightUnit::FeetInches, ..metric };
        assert_eq!(unit(Field::Height, &metric), Some(FieldUnit::Symbol("cm")));
        assert_eq!(unit(Field::Height, &other), Some(FieldUnit::FeetInches));
        assert_eq!(unit(Field::BloodCount, &metric), Some(FieldUnit::Symbol("×10⁹/L")));
        assert_eq!(unit(Field::Site, &metric), None);
        assert_eq!(unit(Field::Containers, &metric), None);
        assert_eq!(unit(Field::CountAge, &metric), Some(FieldUnit::Days));
    }
}
