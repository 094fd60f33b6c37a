//! What is kept: signed records, open drafts, the Bench and settings, over any [`store::Store`].
//!
//! A [`Record`] holds what was typed and what was shown at the time. It can be amended and read, never changed:
//! a later reckoning stands beside it.

pub mod archive;
pub mod changes;
#[cfg(test)]
mod faulty;
pub mod journal;
pub mod settings;
pub mod shown;
pub mod store;
#[cfg(test)]
mod tests;
#[cfg(test)]
pub(crate) mod trial;

use crate::assess::MODEL;
use crate::bench::{BenchError, ContainerFault};
use crate::case;
use crate::draft::{CheckSign, Draft, DraftError, Field, SCHEMA as DRAFT_SCHEMA};
use crate::quantity::Quantity;
use crate::quantity::time::Instant;
use crate::stored::{self, Head, Refused};
use crate::words::Language;
use changes::Change;
use serde::{Deserialize, Serialize};
use shown::ShownFigure;

/// Version of the stored layout.
pub const SCHEMA: u32 = 1;
/// Version of the program, kept with every entry.
pub const APP: &str = env!("CARGO_PKG_VERSION");

/// One signed preparation with everything that was said of it since.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    schema: u32,
    id: String,
    sign: CheckSign,
    signed: Entry,
    amendments: Vec<Amendment>,
}

/// One signature: what was typed and shown, by whom, when, with which program.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Entry {
    /// When.
    pub at: Instant,
    /// Who.
    pub by: String,
    /// The case as typed.
    pub draft: Draft,
    /// The figures as they stood before the signer.
    pub shown: Vec<ShownFigure>,
    /// Version of the program.
    pub app: String,
    /// Number of the model.
    pub model: u32,
}

/// A later entry, which stands beside the earlier ones and not in their place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Amendment {
    /// Why.
    pub reason: String,
    /// What now holds.
    pub entry: Entry,
}

/// Why a signature was refused; the record is as it was.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SignError {
    /// Nobody is named.
    NoName,
    /// Nobody is named who amends.
    NoAmender,
    /// An amendment needs a reason.
    NoReason,
    /// The draft belongs to another case.
    OtherCase,
    /// Nothing typed, chosen or shown differs from the entry before.
    Unchanged,
    /// A figure that is not a number cannot be kept.
    NotFinite {
        /// Which.
        what: String,
    },
}

/// Why a stored text cannot be read. It is left as it is.
#[derive(Debug, Clone, PartialEq)]
pub enum Reason {
    /// Written by a newer version of Strawline.
    Newer {
        /// Its schema number.
        found: u32,
    },
    /// Not what its key promises; says where reading stopped.
    Broken(String),
    /// Holds another case than its key or its record says.
    Misplaced {
        /// The case inside.
        id: String,
    },
    /// A container of the Bench or of a case contradicts itself.
    Container {
        /// Its name.
        name: String,
        /// How.
        fault: ContainerFault,
    },
    /// An entry of the Bench has the key of an earlier one of its list.
    Twice {
        /// Its name.
        name: String,
    },
    /// A protocol's own band does not rise.
    Band {
        /// Its name.
        name: String,
    },
    /// The analyser's range does not rise.
    Analyser,
}

impl From<Refused> for Reason {
    fn from(refused: Refused) -> Self {
        match refused {
            Refused::Unreadable(at) => Reason::Broken(at),
            Refused::Newer { found } => Reason::Newer { found },
        }
    }
}

impl From<DraftError> for Reason {
    fn from(error: DraftError) -> Self {
        match error {
            DraftError::Unreadable(at) => Reason::Broken(at),
            DraftError::Newer { found } => Reason::Newer { found },
            DraftError::Container { name, fault } => Reason::Container { name, fault },
            DraftError::Band { name } => Reason::Band { name },
            DraftError::Analyser => Reason::Analyser,
        }
    }
}

impl From<BenchError> for Reason {
    fn from(error: BenchError) -> Self {
        match error {
            BenchError::Unreadable(at) => Reason::Broken(at),
            BenchError::Newer { found } => Reason::Newer { found },
            BenchError::Container { name, fault } => Reason::Container { name, fault },
            BenchError::Twice { name } => Reason::Twice { name },
            BenchError::Band { name } => Reason::Band { name },
            BenchError::Analyser => Reason::Analyser,
        }
    }
}

/// How a case stands with the count of its product.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Counts {
    /// A reading can be read, and how its sample was diluted is said: without it a reading is no count.
    Counted,
    /// There is none, and one was promised.
    Later,
    /// There is none though there is a product.
    NotCounted,
    /// Nothing to count was made.
    NoProduct,
}

impl Counts {
    /// Reads it off a case, as everything else reads it: what cannot be read is no count.
    pub fn of(draft: &Draft) -> Counts {
        let (case, _) = case::read(draft, Language::English);
        let unread = case.unread.keys().any(|f| matches!(f, Field::Reading(_) | Field::Dilution));
        let kept = case.collect.actual.is_some_and(|v| v.get() > 0.0) || case.is_unread(Field::ProductActual);
        let made = kept || case.times.collected.is_some() || case.times.handed_over.is_some();
        if !case.count.readings.is_empty() && case.count.dilution.is_some() && !unread {
            Counts::Counted
        } else if case.count.later {
            Counts::Later
        } else if made {
            Counts::NotCounted
        } else {
            Counts::NoProduct
        }
    }
}

impl Entry {
    fn new(draft: Draft, by: &str, at: Instant, shown: Vec<ShownFigure>) -> Result<Entry, SignError> {
        let by = by.trim();
        if by.is_empty() {
            return Err(SignError::NoName);
        }
        if let Some(figure) = shown.iter().find(|figure| !figure.is_finite()) {
            return Err(SignError::NotFinite { what: figure.what.clone() });
        }
        Ok(Entry { at, by: by.to_owned(), draft, shown, app: APP.to_owned(), model: MODEL })
    }
}

impl Record {
    /// Signs a case. Errors: nobody named, a figure that is not a number.
    pub fn sign(draft: Draft, by: &str, at: Instant, shown: Vec<ShownFigure>) -> Result<Record, SignError> {
        let signed = Entry::new(draft, by, at, shown)?;
        let (id, sign) = (signed.draft.id.clone(), signed.draft.sign);
        Ok(Record { schema: SCHEMA, id, sign, signed, amendments: Vec::new() })
    }

    /// Adds an amendment, signed by whoever amends. Errors: nobody named, no reason, another case, nothing changed, a figure that is not a
    /// number.
    pub fn amend(
        &mut self,
        draft: Draft,
        by: &str,
        at: Instant,
        shown: Vec<ShownFigure>,
        reason: &str,
    ) -> Result<(), SignError> {
        if by.trim().is_empty() {
            return Err(SignError::NoAmender);
        }
        let reason = reason.trim();
        if reason.is_empty() {
            return Err(SignError::NoReason);
        }
        if draft.id != self.id || draft.sign != self.sign {
            return Err(SignError::OtherCase);
        }
        let latest = self.latest_entry();
        if changes::between(&latest.draft, &draft).is_empty() && latest.shown == shown {
            return Err(SignError::Unchanged);
        }
        let entry = Entry::new(draft, by, at, shown)?;
        self.amendments.push(Amendment { reason: reason.to_owned(), entry });
        Ok(())
    }

    /// Key of the case on this device.
    pub fn id(&self) -> &str {
        &self.id
    }
    /// The check sign it went by.
    pub fn check_sign(&self) -> CheckSign {
        self.sign
    }
    /// The first signature.
    pub fn first_signed(&self) -> &Entry {
        &self.signed
    }
    /// What was added later, oldest first.
    pub fn amendments(&self) -> &[Amendment] {
        &self.amendments
    }
    /// Every entry, oldest first.
    pub fn entries(&self) -> impl Iterator<Item = &Entry> {
        std::iter::once(&self.signed).chain(self.amendments.iter().map(|a| &a.entry))
    }
    /// The entry that now holds.
    pub fn latest_entry(&self) -> &Entry {
        self.amendments.last().map_or(&self.signed, |a| &a.entry)
    }
    /// The case as it now holds.
    pub fn latest(&self) -> &Draft {
        &self.latest_entry().draft
    }
    /// Whether anything was added after the first signature.
    pub fn amended(&self) -> bool {
        !self.amendments.is_empty()
    }
    /// Whether a product was made, or a count promised, and there is no count. [`Counts::of`] tells the two
    /// apart.
    pub fn waiting_for_counts(&self) -> bool {
        matches!(Counts::of(self.latest()), Counts::Later | Counts::NotCounted)
    }
    /// What each amendment changed against the entry before it, oldest first.
    pub fn changes(&self) -> Vec<(&Amendment, Vec<Change>)> {
        let before = self.entries();
        self.amendments
            .iter()
            .zip(before)
            .map(|(a, b)| (a, changes::between(&b.draft, &a.entry.draft)))
            .collect()
    }

    /// Whether `later` only adds to this record: every entry of this one stands unchanged in it.
    pub fn is_start_of(&self, later: &Record) -> bool {
        self.id == later.id
            && self.sign == later.sign
            && self.signed == later.signed
            && later.amendments.starts_with(&self.amendments)
    }

    /// Reads a stored record. Errors: newer, broken, or of another case.
    pub fn from_json(text: &str) -> Result<Record, Reason> {
        // The cases inside carry their own version, which says more than the first unknown name in a newer one.
        #[derive(Deserialize)]
        struct Heads {
            signed: EntryHead,
            amendments: Vec<AmendmentHead>,
        }
        #[derive(Deserialize)]
        struct AmendmentHead {
            entry: EntryHead,
        }
        #[derive(Deserialize)]
        struct EntryHead {
            draft: Head,
        }
        stored::version(text, SCHEMA)?;
        let heads: Heads = stored::parse(text)?;
        let inside = heads.amendments.iter().map(|a| &a.entry).chain([&heads.signed]);
        let found = inside.map(|entry| entry.draft.schema).max().unwrap_or(0);
        if found > DRAFT_SCHEMA {
            return Err(Reason::Newer { found });
        }
        let record: Record = stored::parse(text)?;
        let other = record.entries().map(|entry| &entry.draft.id).find(|id| **id != record.id).cloned();
        other.map_or(Ok(record), |id| Err(Reason::Misplaced { id }))
    }

    /// Writes the record as stored; none if reading it back would give another one.
    pub fn to_json(&self) -> Option<String> {
        let text = serde_json::to_string(self).ok()?;
        (Record::from_json(&text).as_ref() == Ok(self)).then_some(text)
    }
}
