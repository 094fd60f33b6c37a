//! Published classifications of platelet-rich plasma, from what was measured and from nothing else.
//!
//! One entry, [`classify`]. A class that needs what is not known names what is missing; a value on an edge that
//! a publication gives to no class, or gives no number for, is shown as such. A review of 2021 found that none
//! had been validated ([`SourceId::NoneValidated`]): they describe, and say nothing of what a product is good for.

mod depa;
mod fibrin;
mod mishra;
mod paw;
mod plra;
#[cfg(test)]
mod tests;

use super::addition::{Addition, AdditionAgent};
use crate::evidence::{SourceId, Standing};
use crate::quantity::{CellCount, Cells, Fold, Haematocrit, Quantity, Recovery, RedCount, Share, Volume};

pub use depa::purity;

/// What sets platelets going.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Activator {
    /// Calcium chloride.
    CalciumChloride,
    /// Calcium gluconate.
    CalciumGluconate,
    /// Thrombin of the patient's own blood.
    AutologousThrombin,
}

/// The activators among what is added; `None` when something is added of which it is not known.
pub fn activators(additions: &[Addition]) -> Option<Vec<Activator>> {
    let mut found = Vec::new();
    for addition in additions {
        match &addition.agent {
            AdditionAgent::CalciumChloride { .. } => found.push(Activator::CalciumChloride),
            AdditionAgent::CalciumGluconate { .. } => found.push(Activator::CalciumGluconate),
            AdditionAgent::AutologousThrombin => found.push(Activator::AutologousThrombin),
            AdditionAgent::LocalAnaesthetic { .. } => {}
            AdditionAgent::Other { .. } => return None,
        }
    }
    Some(found)
}

/// How dense the fibrin network of a product is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fibrin {
    /// Loose, as in blood taken onto anticoagulant.
    LowDensity,
    /// Dense, as in blood left to clot while it spins.
    HighDensity,
}

/// White cells of a product as its maker means them, where a publication gives no number.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Meant {
    /// With them.
    With,
    /// Without them.
    Without,
}

/// What is known of a product. Whatever is `None` is not known, and nothing usual stands in its place.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Inputs {
    /// The blood's own platelets [10⁹/L].
    pub native: Option<CellCount>,
    /// Platelets of the product, counted before anything was added [10⁹/L].
    pub product: Option<CellCount>,
    /// Product over blood, counted.
    pub fold: Option<Fold>,
    /// Platelets in product over platelets drawn, counted.
    pub recovery: Option<Recovery>,
    /// Platelets of what was given, after anything added [10⁹/L].
    pub given_count: Option<CellCount>,
    /// Volume given in all [mL].
    pub given: Option<Volume>,
    /// Platelets given in all, counted [10⁹].
    pub dose: Option<Cells>,
    /// White cells of the blood [10⁹/L].
    pub blood_white: Option<CellCount>,
    /// White cells of the product [10⁹/L].
    pub white: Option<CellCount>,
    /// Neutrophils among the white cells of the blood.
    pub blood_neutrophils: Option<Share>,
    /// Neutrophils among the white cells of the product.
    pub neutrophils: Option<Share>,
    /// White cells among all cells counted in the product; see [`white_share`].
    pub white_share: Option<Share>,
    /// Red cells of the product [10¹²/L].
    pub red: Option<RedCount>,
    /// Red-cell share of the product's volume.
    pub haematocrit: Option<Haematocrit>,
    /// What sets the platelets going; empty when nothing does.
    pub activators: Option<Vec<Activator>>,
    /// White cells as the protocol means them.
    pub meant: Option<Meant>,
    /// The fibrin network.
    pub fibrin: Option<Fibrin>,
    /// The product's sample was counted, and that count is not to be relied on: nothing of it is told here.
    pub unconfirmed: bool,
}

impl Inputs {
    /// Nothing of the product's sample.
    fn without_the_sample(&self) -> Inputs {
        Inputs {
            product: None,
            fold: None,
            recovery: None,
            given_count: None,
            dose: None,
            white: None,
            neutrophils: None,
            white_share: None,
            red: None,
            haematocrit: None,
            ..self.clone()
        }
    }
}

/// A family of classes, in the order shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Family {
    /// Platelets, activation, white cells.
    Paw,
    /// Four types by white cells and activation, A or B by fold.
    Mishra,
    /// Platelets, leukocytes, red cells, activation.
    Plra,
    /// Dose, efficiency, purity, activation.
    Depa,
    /// Four families by leukocytes and fibrin.
    DohanEhrenfest,
}

/// What a part of a class speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartOf {
    /// Platelets per volume.
    Platelets,
    /// Whether something sets them going.
    Activation,
    /// White cells.
    WhiteCells,
    /// Neutrophils.
    Neutrophils,
    /// White cells by their share of all cells counted.
    WhiteShare,
    /// White cells by the neutrophils among them.
    NeutrophilShare,
    /// Red cells.
    RedCells,
    /// Fold over the blood.
    Fold,
    /// Platelets given.
    Dose,
    /// Recovery.
    Efficiency,
    /// Platelets among all cells.
    Purity,
    /// White cells and activation together, or white cells and fibrin.
    Type,
}

/// What a class cannot be told without.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Needed {
    /// The blood's own platelet count.
    BloodCount,
    /// The platelet count of the product.
    ProductCount,
    /// A count of the product that may be relied on.
    ReliableCount,
    /// The blood drawn, in every container.
    BloodDrawn,
    /// The recovery: both counts, blood drawn and product kept.
    Recovery,
    /// The volume given.
    VolumeGiven,
    /// The white cells of the blood.
    BloodWhite,
    /// The white cells of the product.
    ProductWhite,
    /// The neutrophils of the blood.
    BloodNeutrophils,
    /// The neutrophils of the product.
    ProductNeutrophils,
    /// The red cells of the product.
    RedCells,
    /// The haematocrit of the product.
    ProductHaematocrit,
    /// Whether what is added sets platelets going.
    WhatIsAdded,
    /// What the protocol does with white cells.
    Protocol,
    /// Whether the blood was taken onto anticoagulant.
    Anticoagulant,
}

/// Why a publication gives a known value no class.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unassigned {
    /// It lies on an edge, and to which side the edge belongs is not said.
    Edge {
        /// The class above, or before it.
        one: &'static str,
        /// The class below, or after it.
        other: &'static str,
    },
    /// "Minimal" white cells have no number.
    MinimalHasNoNumber,
}

/// A class, or one letter of it.
#[derive(Debug, Clone, PartialEq)]
pub enum Class {
    /// As the publication writes it; empty where it writes nothing.
    Code(&'static str),
    /// Platelets per volume and the volume, written out.
    Amount {
        /// Concentration given.
        count: CellCount,
        /// Volume given.
        volume: Volume,
    },
    /// What sets the platelets going, by name; none when empty.
    Activators(Vec<Activator>),
}

/// What became of one part.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// Its class.
    Is(Class),
    /// The value is known and the publication gives it no class.
    Undefined(Unassigned),
    /// Not determinable without these.
    Without(Missing),
}

/// What is missing: one thing at least.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Missing {
    first: Needed,
    more: Vec<Needed>,
}

impl Missing {
    fn of(needed: impl IntoIterator<Item = Needed>, otherwise: Needed) -> Self {
        let mut all = needed.into_iter();
        let first = all.next().unwrap_or(otherwise);
        let mut more: Vec<Needed> = Vec::new();
        for one in all {
            if one != first && !more.contains(&one) {
                more.push(one);
            }
        }
        Self { first, more }
    }

    /// All of it, each once, in the order asked for.
    pub fn all(&self) -> Vec<Needed> {
        std::iter::once(self.first).chain(self.more.iter().copied()).collect()
    }

    /// What the product's sample would tell is not known for want of a count to be relied on.
    fn for_want_of_a_reliable_count(&self) -> Self {
        let told = |one: Needed| match one {
            Needed::ProductCount
            | Needed::Recovery
            | Needed::ProductWhite
            | Needed::ProductNeutrophils
            | Needed::RedCells
            | Needed::ProductHaematocrit => Needed::ReliableCount,
            other => other,
        };
        Self::of(self.all().into_iter().map(told), self.first)
    }
}

/// One part of a classification.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// What it speaks of.
    pub of: PartOf,
    /// Its class.
    pub outcome: Outcome,
    /// Where that class comes from.
    pub source: SourceId,
}

/// A product in one family of classes.
#[derive(Debug, Clone, PartialEq)]
pub struct Classified {
    /// Which family.
    pub family: Family,
    /// The parts, in the family's order.
    pub parts: Vec<Part>,
}

impl Classified {
    /// The whole code as the family writes it; `None` while a part of it is not known, or has words in it.
    pub fn code(&self) -> Option<String> {
        let codes = self.parts.iter().map(|part| match &part.outcome {
            Outcome::Is(Class::Code(code)) => Some(*code),
            _ => None,
        });
        let codes = codes.collect::<Option<Vec<&str>>>()?;
        match self.family {
            Family::Paw => paw::written(&codes),
            Family::Mishra | Family::DohanEhrenfest => Some(codes.concat()),
            Family::Plra | Family::Depa => None,
        }
    }

    /// Where its classes come from, each once, in the order of the parts.
    pub fn sources(&self) -> Vec<SourceId> {
        let mut all = Vec::new();
        for part in &self.parts {
            if !all.contains(&part.source) {
                all.push(part.source);
            }
        }
        all
    }

    /// What one part became.
    pub fn part(&self, of: PartOf) -> Option<&Outcome> {
        self.parts.iter().find(|part| part.of == of).map(|part| &part.outcome)
    }
}

/// A product in every family, in the order of [`Family`].
pub fn classify(inputs: &Inputs) -> Vec<Classified> {
    if !inputs.unconfirmed {
        return families(inputs);
    }
    let mut found = families(&inputs.without_the_sample());
    for part in found.iter_mut().flat_map(|c| &mut c.parts) {
        if let Outcome::Without(missing) = &mut part.outcome {
            *missing = missing.for_want_of_a_reliable_count();
        }
    }
    found
}

fn families(inputs: &Inputs) -> Vec<Classified> {
    vec![
        paw::classify(inputs),
        mishra::classify(inputs),
        plra::classify(inputs),
        depa::classify(inputs),
        fibrin::classify(inputs),
    ]
}

/// White cells among platelets, red and white cells, by number. `None` without any cell.
pub fn white_share(platelets: CellCount, red: RedCount, white: CellCount) -> Option<Share> {
    // WBC/(PLT + RBC + WBC), all in 10⁹/L
    let all = platelets.get() + per_nanolitre(red) + white.get();
    Share::new(white.get() / all).ok()
}

/// Red cells in the unit of the others [10⁹/L].
fn per_nanolitre(red: RedCount) -> f64 {
    red.get() * 1000.0
}

impl Part {
    /// Whether the class rests on a table that was recalled and not read.
    pub fn from_memory(&self) -> bool {
        self.source.source().standing == Standing::FromMemory
    }
}

fn part(of: PartOf, outcome: Outcome, source: SourceId) -> Part {
    Part { of, outcome, source }
}

fn code(code: &'static str) -> Outcome {
    Outcome::Is(Class::Code(code))
}

/// What is not there of what is needed; where all of it is there, what is wanted is `otherwise`.
fn missing(needed: &[(bool, Needed)], otherwise: Needed) -> Outcome {
    let absent = needed.iter().filter(|(there, _)| !there).map(|(_, what)| *what);
    Outcome::Without(Missing::of(absent, otherwise))
}

/// Not determinable without this one.
fn without(needed: Needed) -> Outcome {
    missing(&[], needed)
}

/// Whether anything sets the platelets going, in two codes.
fn activation(inputs: &Inputs, yes: &'static str, no: &'static str) -> Outcome {
    match &inputs.activators {
        Some(found) => code(if found.is_empty() { no } else { yes }),
        None => without(Needed::WhatIsAdded),
    }
}
