//! Counts by lot, person or rotor, and which preparations used a lot.

use super::facts::{Counted, Observed};
use super::summary::Summary;
use crate::draft::{CheckSign, Draft, Field};
use crate::quantity::time::Instant;
use libm::exp;
use serde::{Deserialize, Serialize};

/// What counts can be told apart by, inside a protocol.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GroupBy {
    /// Lot of the containers.
    ContainerLot,
    /// Lot of the anticoagulant.
    AnticoagulantLot,
    /// Who prepared it.
    Operator,
    /// Rotor, by its Bench key.
    Rotor,
}

impl GroupBy {
    /// In the order offered.
    pub const ALL: [GroupBy; 4] =
        [GroupBy::ContainerLot, GroupBy::AnticoagulantLot, GroupBy::Operator, GroupBy::Rotor];

    /// What a count says of it; empty when nothing.
    pub fn of(self, counted: &Counted) -> &str {
        match self {
            GroupBy::ContainerLot => &counted.container_lot,
            GroupBy::AnticoagulantLot => &counted.anticoagulant_lot,
            GroupBy::Operator => &counted.operator,
            GroupBy::Rotor => counted.rotor.as_deref().unwrap_or_default(),
        }
    }
}

/// Counts of one group.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Group {
    /// As first typed; empty for those that say nothing.
    pub name: String,
    /// How many.
    pub n: u32,
    /// Middle fold or recovery (mean of the logarithms).
    pub middle: f64,
    /// Smallest.
    pub low: f64,
    /// Largest.
    pub high: f64,
    /// First of them.
    pub from: Instant,
    /// Last of them.
    pub until: Instant,
}

/// The groups of these counts, in the order they first appear.
pub fn groups(counts: &[Observed<'_>], by: GroupBy) -> Vec<Group> {
    let mut found: Vec<(String, &str, Vec<&Observed<'_>>)> = Vec::new();
    for o in counts {
        let name = by.of(o.counted);
        let key = plain(name);
        match found.iter_mut().find(|(k, _, _)| *k == key) {
            Some((_, _, all)) => all.push(o),
            None => found.push((key, name, vec![o])),
        }
    }
    let group = |(_, name, all): (String, &str, Vec<&Observed<'_>>)| {
        let logs: Vec<f64> = all.iter().map(|o| o.log).collect();
        let s = Summary::of(&logs)?;
        let times = || all.iter().map(|o| o.counted.at);
        let (low, high) = (exp(s.low), exp(s.high));
        let (from, until) = (times().min()?, times().max()?);
        Some(Group { name: name.trim().to_owned(), n: s.n, middle: exp(s.mean), low, high, from, until })
    };
    found.into_iter().filter_map(group).collect()
}

/// A name without spaces, in small letters.
fn plain(name: &str) -> String {
    name.split_whitespace().collect::<String>().to_lowercase()
}

/// Whether two names differ in nothing but case and spacing.
pub(super) fn same_name(a: &str, b: &str) -> bool {
    plain(a) == plain(b)
}

/// Which lot a preparation names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LotField {
    /// Of the containers.
    Containers,
    /// Of the anticoagulant.
    Anticoagulant,
}

impl LotField {
    /// All.
    pub const ALL: [LotField; 2] = [LotField::Containers, LotField::Anticoagulant];

    /// Where it is typed.
    pub const fn field(self) -> Field {
        match self {
            LotField::Containers => Field::ContainerLot,
            LotField::Anticoagulant => Field::AnticoagulantLot,
        }
    }
}

/// A preparation that used a lot.
#[derive(Debug, Clone, PartialEq)]
pub struct Used<'a> {
    /// The case.
    pub case: &'a Draft,
    /// Its check sign.
    pub sign: CheckSign,
    /// Where the lot stands.
    pub field: LotField,
    /// As typed.
    pub typed: &'a str,
}

/// A lot that is looked for. Case and spacing do not matter, anything else does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot(String);

impl Lot {
    /// Reads what was typed; none when that is nothing.
    pub fn read(typed: &str) -> Option<Lot> {
        Some(plain(typed)).filter(|name| !name.is_empty()).map(Lot)
    }

    /// Whether what is typed in a field names it; where several lots are typed, parted by commas or semicolons, each
    /// is looked at.
    pub fn is_in(&self, typed: &str) -> bool {
        let all = plain(typed);
        // Few name it at all, and thousands are looked at while somebody types.
        all.contains(&self.0) && (all == self.0 || all.split([',', ';']).any(|one| one == self.0))
    }
}

/// Which preparations used a lot, counted or not, demo or not, in the order given.
pub fn recall<'a>(cases: impl IntoIterator<Item = &'a Draft>, lot: &str) -> Vec<Used<'a>> {
    let Some(lot) = Lot::read(lot) else { return Vec::new() };
    let each =
        |case: &'a Draft| LotField::ALL.into_iter().map(move |field| (case, field, case.text(field.field())));
    cases
        .into_iter()
        .flat_map(each)
        .filter(|(_, _, typed)| lot.is_in(typed))
        .map(|(case, field, typed)| Used { case, sign: case.sign, field, typed })
        .collect()
}
