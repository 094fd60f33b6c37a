//! Counts by lot, person or rotor, and which preparations used a lot.

use super::facts::{Counted, Observed};
use super::summary::Summary;
use crate::draft::field::MAX_ADDITIONS;
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LotField {
    /// Of the containers.
    Containers,
    /// Of the anticoagulant.
    Anticoagulant,
    /// Of what was added to the product.
    Additions,
}

impl LotField {
    /// All.
    pub const ALL: [LotField; 3] = [LotField::Containers, LotField::Anticoagulant, LotField::Additions];

    /// What a case names, as typed; one text, or nothing, for each that it may name.
    pub fn texts(self, case: &Draft) -> Vec<&str> {
        match self {
            LotField::Containers => vec![case.text(Field::ContainerLot)],
            LotField::Anticoagulant => vec![case.text(Field::AnticoagulantLot)],
            LotField::Additions => {
                let rows = (0..MAX_ADDITIONS).filter(|row| case.has_addition_lot(*row));
                rows.map(|row| case.text(Field::AdditionLot(row))).collect()
            }
        }
    }

    /// What it named when the needle went in, or when the product was handed over, and no longer does: that was in hand.
    pub fn corrected(self, case: &Draft) -> Vec<&str> {
        let fields: Vec<Field> = match self {
            LotField::Containers => vec![Field::ContainerLot],
            LotField::Anticoagulant => vec![Field::AnticoagulantLot],
            LotField::Additions => (0..MAX_ADDITIONS).map(Field::AdditionLot).collect(),
        };
        let handed = case.hand_overs.iter().map(|then| &then.texts);
        let now = self.texts(case);
        let mut found: Vec<&str> = Vec::new();
        for texts in std::iter::once(&case.corrected_lots).chain(handed) {
            for typed in fields.iter().filter_map(|field| texts.get(field)).map(|text| text.trim()) {
                let stands = now.iter().any(|now| now.trim() == typed);
                if !typed.is_empty() && !stands && !found.contains(&typed) {
                    found.push(typed);
                }
            }
        }
        found
    }
}

/// Where a preparation names a lot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum NamedIn {
    /// The signed record as it now holds.
    Record,
    /// An entry of the record that was amended since.
    EarlierEntry,
    /// An amendment that is open and not signed.
    OpenAmendment,
    /// A case that is open and not signed.
    OpenCase,
    /// A case that was discarded.
    Discarded,
}

/// A preparation that used a lot, or threw some of it away.
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
    /// In what it is named.
    pub named_in: NamedIn,
    /// The lot itself is named. Otherwise what is typed reads like it but for marks and spaces, or holds it beside
    /// other signs: a person has to look.
    pub sure: bool,
}

/// A lot that is looked for. Case and spacing do not matter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Lot {
    name: String,
    bare: String,
}

impl Lot {
    /// Reads what was typed; none when that is nothing.
    pub fn read(typed: &str) -> Option<Lot> {
        let name = plain(typed);
        let bare = name.chars().filter(|c| c.is_alphanumeric()).collect();
        (!name.is_empty()).then_some(Lot { name, bare })
    }

    /// Whether a typed text names it: for sure, perhaps, or not. Where several lots are typed, parted by whatever is
    /// no letter, digit or hyphen, each is looked at.
    pub fn is_in(&self, typed: &str) -> Option<bool> {
        let whole = plain(typed);
        if whole == self.name {
            return Some(true);
        }
        // Few name it at all, and thousands are looked at while somebody types.
        let letters: String = whole.chars().filter(|c| c.is_alphanumeric()).collect();
        if !letters.contains(&self.bare) {
            return None;
        }
        let parts = |apart: fn(char) -> bool| -> Vec<String> {
            typed.split(apart).map(plain).filter(|part| !part.is_empty()).collect()
        };
        // A lot may hold any sign, so what commas part is looked at before every word.
        let listed = |apart| parts(apart).contains(&self.name);
        if listed(|c| matches!(c, ',' | ';')) || listed(|c| !c.is_alphanumeric() && c != '-') {
            return Some(true);
        }
        // Letters and digits alone: neighbours that together read as the lot does.
        let words = parts(|c| !c.is_alphanumeric());
        let from = |start: usize| {
            let mut read = String::new();
            words.iter().skip(start).any(|word| {
                read.push_str(word);
                read == self.bare
            })
        };
        (!self.bare.is_empty() && (0..words.len()).any(from)).then_some(false)
    }
}

/// Which preparations used a lot, counted or not, demo or not, in the order given, each once for each of its lots:
/// where the lot is named for sure first, else where it was met first.
pub fn recall<'a>(cases: impl IntoIterator<Item = (NamedIn, &'a Draft)>, lot: &Lot) -> Vec<Used<'a>> {
    let mut found: Vec<Used<'a>> = Vec::new();
    for (named_in, case) in cases {
        for field in LotField::ALL {
            let thrown = case.discarded_lots().filter(|_| field == LotField::Containers);
            for typed in field.texts(case).into_iter().chain(thrown).chain(field.corrected(case)) {
                let Some(sure) = lot.is_in(typed) else { continue };
                let used = Used { case, sign: case.sign, field, typed, named_in, sure };
                match found.iter_mut().find(|u| u.case.id == case.id && u.field == field) {
                    Some(known) if sure && !known.sure => *known = used,
                    Some(_) => {}
                    None => found.push(used),
                }
            }
        }
    }
    found
}
