//! The clinic's log: its equipment with the checks of speed and timer, what was cleaned and spilled, and the lots in
//! use. Entries are added and never altered: a correction is an entry of its own, with a reason, and what it corrects
//! stays to be read, until the text of one that was taken out is removed for good. Each entry stands under a key of its own, so that two tabs, or a backup, only ever add.

mod equipment;
mod removed;
mod shelf;
pub mod typed;

pub use equipment::{Centrifuge, Centrifuges, CheckState, LastCheck, Machine};
pub use removed::Removed;
pub use shelf::{Good, ProductIs, ShelfLot, proposed};

use crate::arrange::sort_by;
use crate::quantity::time::{Date, Instant, Span};
use crate::record::Reason;
use crate::scan::Gtin;
use crate::stored;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Version of the stored layout of an entry.
const SCHEMA: u32 = 2;

/// Longest interval between two checks [months]: ten years.
pub const LONGEST_INTERVAL: u16 = 120;

/// One entry as it was made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// Version of this layout.
    #[serde(deserialize_with = "stored::newest::<SCHEMA, _>")]
    pub schema: u32,
    /// Key of the entry.
    pub id: String,
    /// When it was entered.
    pub at: Instant,
    /// Who.
    pub by: String,
    /// What.
    pub what: What,
}

/// What an entry says.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum What {
    /// A piece of equipment came into use; the entry's key is its key.
    Equipment(Equipment),
    /// Speed or timer of one was checked.
    Check(Checking),
    /// Something was cleaned, or spilled.
    Care(Care),
    /// A lot is in use.
    Lot(LotEntry),
    /// A piece of equipment or a lot is in use no longer.
    Ended(Ended),
    /// An earlier entry was wrong.
    Correction(Correction),
    /// What the entry said was removed for good.
    Removed(Removed),
}

/// A piece of equipment.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Equipment {
    /// Name in the clinic.
    pub name: String,
    /// Serial number; empty where it has none.
    #[serde(default)]
    pub serial: String,
    /// Bench key of the rotor that a centrifuge turns; `None` for other equipment.
    #[serde(default)]
    pub rotor: Option<String>,
    /// Months between two checks, as the clinic sets them; absent where it sets none.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub every: BTreeMap<Checked, u16>,
}

/// What of a piece of equipment is checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Checked {
    /// Its speed.
    Speed,
    /// Its timer.
    Timer,
}

impl Checked {
    /// Both.
    pub const ALL: [Checked; 2] = [Checked::Speed, Checked::Timer];
}

/// A check of speed or timer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Checking {
    /// Key of the equipment.
    pub of: String,
    /// What was checked.
    pub what: Checked,
    /// On which day.
    pub on: Date,
    /// Whether it was found in order.
    pub passed: bool,
    /// What was found, in words; may be empty.
    #[serde(default)]
    pub found: String,
    /// Due again on this day; `None` where the interval of the equipment tells, or nothing does.
    #[serde(default)]
    pub due: Option<Date>,
}

/// Cleaned or spilled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CareKind {
    /// It was cleaned.
    Cleaning,
    /// Something was spilled there.
    Spill,
}

/// Something cleaned or spilled.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Care {
    /// Which.
    pub kind: CareKind,
    /// Key of the equipment; `None` where it was elsewhere, which `done` tells.
    #[serde(default)]
    pub of: Option<String>,
    /// When it happened.
    pub when: Instant,
    /// What was done, in words.
    pub done: String,
}

/// A lot that the clinic has in use.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LotEntry {
    /// Of what.
    pub of: Good,
    /// Name of an addition; empty otherwise.
    #[serde(default)]
    pub name: String,
    /// The lot as on the label.
    pub lot: String,
    /// Which container or anticoagulant it is a lot of; `None` where that is not said, and of an addition.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub product_is: Option<ProductIs>,
    /// Its last good day.
    #[serde(default)]
    pub expiry: Option<Date>,
    /// Product number, where a code or a person told it.
    #[serde(default)]
    pub product: Option<Gtin>,
    /// The day it was opened on.
    #[serde(default)]
    pub opened: Option<Date>,
}

/// Something is in use no longer.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ended {
    /// Key of the entry that began it.
    pub of: String,
    /// Why, in words.
    pub why: String,
}

/// An earlier entry was wrong.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Correction {
    /// Key of the entry, never of a correction.
    pub of: String,
    /// Why.
    pub why: String,
    /// What it should have said; `None`: it should not have been made.
    #[serde(default)]
    pub now: Option<Box<What>>,
}

/// Why an entry was refused; nothing is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refused {
    /// Nobody is named.
    NoName,
    /// A correction, or an end, needs a reason.
    NoReason,
    /// The equipment has no name.
    NoEquipmentName,
    /// It is not said what was done.
    NothingDone,
    /// No lot is named.
    NoLot,
    /// An addition has no name.
    NoAdditionName,
    /// The entry it is about is not there, or was taken out.
    NotThere,
    /// What was corrected is of another kind.
    OtherKind,
    /// Due before, or on, the day it was checked.
    DueBefore,
    /// It lies in the future.
    Ahead,
    /// The interval is none, or longer than [`LONGEST_INTERVAL`].
    Interval,
    /// This lot stands on the list already.
    Listed,
}

impl Entry {
    /// Reads a stored entry. Errors: newer, or broken.
    pub fn from_json(text: &str) -> Result<Entry, Reason> {
        Ok(stored::read(text, SCHEMA)?)
    }

    /// Writes it as stored; `None` if it has no text.
    pub fn to_json(&self) -> Option<String> {
        stored::write(self).ok()
    }
}

/// All entries, oldest first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Log {
    entries: Vec<Entry>,
}

/// An entry that is no correction, with what was corrected of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Held<'a> {
    /// As it was made.
    pub entry: &'a Entry,
    /// What it says now; `None` where it was taken out.
    pub now: Option<&'a What>,
    /// Its corrections, oldest first.
    log: &'a Log,
}

impl<'a> Held<'a> {
    /// Each correction with who made it and when, oldest first.
    pub fn corrections(self) -> impl Iterator<Item = (&'a Entry, &'a Correction)> {
        let of = self.entry.id.as_str();
        self.log.entries.iter().filter_map(move |entry| match &entry.what {
            What::Correction(c) if c.of == of => Some((entry, c)),
            _ => None,
        })
    }

    /// What it said before each correction, then what it says now; the texts of the log, oldest first.
    pub fn versions(self) -> Vec<Option<&'a What>> {
        let first = std::iter::once(Some(&self.entry.what));
        first.chain(self.corrections().map(|(_, c)| c.now.as_deref())).collect()
    }
}

impl Log {
    /// The log of these entries, in any order; of two with one key the first stands, or the one without its text.
    pub fn new(entries: Vec<Entry>) -> Self {
        let mut log = Self::default();
        log.take_up(entries);
        log
    }

    /// Takes up entries that are not in it, and those whose text was removed.
    pub fn take_up(&mut self, new: Vec<Entry>) {
        let mut known: BTreeSet<String> = BTreeSet::new();
        for entry in &self.entries {
            known.insert(entry.id.clone());
        }
        for entry in new {
            if known.insert(entry.id.clone()) {
                self.entries.push(entry);
            } else if entry.is_blank()
                && let Some(own) = self.entries.iter_mut().find(|own| own.id == entry.id)
            {
                *own = entry;
            }
        }
        sort_by(&mut self.entries, |a, b| a.at.cmp(&b.at).then_with(|| a.id.cmp(&b.id)));
    }

    /// Every entry, corrections among them, oldest first.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// Entries that are no corrections, as they now hold, oldest first.
    pub fn held(&self) -> Vec<Held<'_>> {
        let mut last: BTreeMap<&str, Option<&What>> = BTreeMap::new();
        for entry in &self.entries {
            if let What::Correction(c) = &entry.what {
                last.insert(&c.of, c.now.as_deref());
            }
        }
        let own = self.entries.iter().filter(|e| !matches!(e.what, What::Correction(_)));
        own.map(|entry| {
            let now = match &entry.what {
                // Taken out for good, whatever a correction says that came later.
                What::Removed(_) => None,
                what => last.get(entry.id.as_str()).copied().unwrap_or(Some(what)),
            };
            Held { entry, now, log: self }
        })
        .collect()
    }

    /// The entry with this key as it now holds; `None` where there is none, or it was taken out.
    fn now(&self, id: &str) -> Option<&What> {
        self.held().into_iter().find(|h| h.entry.id == id).and_then(|h| h.now)
    }

    /// Whether a key is of something that was ended.
    fn ended(&self, id: &str) -> bool {
        self.held().iter().any(|h| matches!(h.now, Some(What::Ended(e)) if e.of == id))
    }

    /// Makes an entry that may be kept, on the day `today`. Texts are trimmed. Errors: why it is refused; the log is as
    /// before either way.
    pub fn draw_up(
        &self,
        id: String,
        by: &str,
        at: Instant,
        today: Date,
        mut what: What,
    ) -> Result<Entry, Refused> {
        let by = by.trim();
        if by.is_empty() {
            return Err(Refused::NoName);
        }
        trim(&mut what);
        match &what {
            What::Correction(c) => {
                if c.why.is_empty() {
                    return Err(Refused::NoReason);
                }
                let before = self.now(&c.of).ok_or(Refused::NotThere)?;
                if let Some(now) = c.now.as_deref() {
                    if !before.same_kind(now) {
                        return Err(Refused::OtherKind);
                    }
                    self.check(now, at, today, Some(&c.of))?;
                }
            }
            other => self.check(other, at, today, None)?,
        }
        // What is entered later holds, also after the clock was set back.
        let at = match self.entries.last() {
            Some(last) => at.max(last.at.checked_add(Span(1)).unwrap_or(last.at)),
            None => at,
        };
        Ok(Entry { schema: SCHEMA, id, at, by: by.to_owned(), what })
    }

    fn check(&self, what: &What, at: Instant, today: Date, corrects: Option<&str>) -> Result<(), Refused> {
        let known = |id: &str| matches!(self.now(id), Some(What::Equipment(_)));
        match what {
            What::Equipment(e) if e.name.is_empty() => Err(Refused::NoEquipmentName),
            What::Equipment(e) if e.every.values().any(|m| !(1..=LONGEST_INTERVAL).contains(m)) => {
                Err(Refused::Interval)
            }
            What::Equipment(_) => Ok(()),
            What::Check(c) if !known(&c.of) => Err(Refused::NotThere),
            What::Check(c) if c.on > today => Err(Refused::Ahead),
            What::Check(c) if c.due.is_some_and(|due| due <= c.on) => Err(Refused::DueBefore),
            What::Check(_) => Ok(()),
            What::Care(c) if c.done.is_empty() => Err(Refused::NothingDone),
            What::Care(c) if c.of.as_deref().is_some_and(|of| !known(of)) => Err(Refused::NotThere),
            // The clock of a device may run a minute behind the one on the wall.
            What::Care(c) if c.when.since(at).is_some_and(|ahead| ahead.0 > 60_000) => Err(Refused::Ahead),
            What::Care(_) => Ok(()),
            What::Lot(lot) if lot.lot.is_empty() => Err(Refused::NoLot),
            What::Lot(lot) if lot.of == Good::Addition && lot.name.is_empty() => Err(Refused::NoAdditionName),
            What::Lot(lot) if lot.opened.is_some_and(|day| day > today) => Err(Refused::Ahead),
            What::Lot(lot) if self.lists(lot, corrects) => Err(Refused::Listed),
            What::Lot(_) => Ok(()),
            What::Ended(e) if e.why.is_empty() => Err(Refused::NoReason),
            What::Ended(e) => match self.now(&e.of) {
                Some(What::Equipment(_) | What::Lot(_)) if !self.ended(&e.of) => Ok(()),
                _ => Err(Refused::NotThere),
            },
            What::Correction(_) | What::Removed(_) => Err(Refused::OtherKind),
        }
    }
}

impl What {
    fn same_kind(&self, other: &What) -> bool {
        std::mem::discriminant(self) == std::mem::discriminant(other)
    }
}

fn trim(what: &mut What) {
    let all: Vec<&mut String> = match what {
        What::Equipment(e) => vec![&mut e.name, &mut e.serial],
        What::Check(c) => vec![&mut c.found],
        What::Care(c) => vec![&mut c.done],
        What::Lot(l) => vec![&mut l.name, &mut l.lot],
        What::Ended(e) => vec![&mut e.why],
        What::Removed(r) => vec![&mut r.by, &mut r.why],
        What::Correction(c) => {
            if let Some(now) = c.now.as_deref_mut() {
                trim(now);
            }
            vec![&mut c.why]
        }
    };
    for text in all {
        *text = text.trim().to_owned();
    }
}

#[cfg(test)]
mod tests;
