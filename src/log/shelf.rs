//! The shelf: lots in use, and lots of recent records that may be put on it.

use super::{Log, LotEntry, What};
use crate::blood::anticoagulant::Agent;
use crate::finding::LotOf;
use crate::quantity::time::Date;
use crate::record::line::Line;
use crate::scan::same_lot;
use serde::{Deserialize, Serialize};
use std::sync::Arc;

/// What a lot is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Good {
    /// Containers.
    Containers,
    /// Anticoagulant.
    Anticoagulant,
    /// Something that is added to the product.
    Addition,
}

impl Good {
    /// In the order shown.
    pub const ALL: [Good; 3] = [Good::Containers, Good::Anticoagulant, Good::Addition];

    /// The lot of a case that it may be; `None` for an addition.
    pub fn lot_of(self) -> Option<LotOf> {
        match self {
            Good::Containers => Some(LotOf::Containers),
            Good::Anticoagulant => Some(LotOf::Anticoagulant),
            Good::Addition => None,
        }
    }
}

impl From<LotOf> for Good {
    fn from(of: LotOf) -> Self {
        match of {
            LotOf::Containers => Good::Containers,
            LotOf::Anticoagulant => Good::Anticoagulant,
            LotOf::Addition(_) => Good::Addition,
        }
    }
}

/// Which product a lot is of: only a case that uses it is offered the lot.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum ProductIs {
    /// A container of the Bench.
    Container {
        /// Its key.
        id: String,
        /// Its name when the lot was entered.
        name: String,
    },
    /// An anticoagulant.
    Agent(Agent),
}

impl ProductIs {
    /// Whether both are the same product, whatever a container is called by now.
    fn same(&self, other: &ProductIs) -> bool {
        match (self, other) {
            (ProductIs::Container { id: a, .. }, ProductIs::Container { id: b, .. }) => a == b,
            (a, b) => a == b,
        }
    }
}

/// A lot on the shelf.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ShelfLot {
    /// Key of its entry.
    pub id: String,
    /// What its entry says.
    pub lot: LotEntry,
    /// Why it is in use no longer.
    pub ended: Option<String>,
}

impl ShelfLot {
    /// Whether it is out of date on a day; its last good day is still good.
    pub fn expired(&self, today: Date) -> bool {
        self.lot.expiry.is_some_and(|last| last < today)
    }
}

impl Log {
    /// All lots that were not taken out, in the order they were entered.
    pub fn lots(&self) -> Vec<ShelfLot> {
        let held = self.held();
        let ended = |id: &str| {
            held.iter().find_map(|h| match h.now {
                Some(What::Ended(end)) if end.of == id => Some(end.why.clone()),
                _ => None,
            })
        };
        let lot = |h: &super::Held<'_>| match h.now? {
            What::Lot(lot) => {
                Some(ShelfLot { id: h.entry.id.clone(), lot: lot.clone(), ended: ended(&h.entry.id) })
            }
            _ => None,
        };
        held.iter().filter_map(lot).collect()
    }

    /// The lots in use of one kind.
    pub fn shelf(&self, of: Good) -> Vec<ShelfLot> {
        self.lots().into_iter().filter(|s| s.ended.is_none() && s.lot.of == of).collect()
    }

    /// Whether a lot stands among those in use, in another entry than `but`.
    pub(super) fn lists(&self, lot: &LotEntry, but: Option<&str>) -> bool {
        let same = |s: &ShelfLot| {
            let products = s.lot.product_is.as_ref().zip(lot.product_is.as_ref());
            same_lot(&s.lot.lot, &lot.lot)
                && same_lot(&s.lot.name, &lot.name)
                && products.is_none_or(|(a, b)| a.same(b))
                && but != Some(s.id.as_str())
        };
        self.shelf(lot.of).iter().any(same)
    }
}

/// So many lots are proposed of each kind; own judgement.
const PROPOSED: usize = 3;

/// Lots of the latest records that are not on the list, whether in use or not, the latest first. Invented ones are
/// left out. A line holds no expiry: that is to be read from the label.
pub fn proposed(log: &Log, lines: &[Arc<Line>], of: LotOf) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    let known = log.lots();
    for line in lines.iter().rev().filter(|line| !line.demo) {
        let lot = match of {
            LotOf::Containers => line.container_lot.trim(),
            LotOf::Anticoagulant => line.anticoagulant_lot.trim(),
            // Its name belongs to it, and a line has none.
            LotOf::Addition(_) => break,
        };
        let listed = |s: &ShelfLot| s.lot.of == of.into() && same_lot(&s.lot.lot, lot);
        if lot.is_empty() || found.iter().any(|f| same_lot(f, lot)) || known.iter().any(listed) {
            continue;
        }
        found.push(lot.to_owned());
        if found.len() == PROPOSED {
            break;
        }
    }
    found
}
