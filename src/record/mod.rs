//! What is kept: signed records, open drafts, the Bench and settings, over any [`store::Store`].
//!
//! A [`Record`] holds what was typed and what was shown at the time. It can be amended and read, never changed:
//! a later reckoning stands beside it.

pub mod archive;
pub mod chain;
pub mod changes;
pub mod clocks;
pub mod closed;
pub mod course;
pub mod earlier;
#[cfg(test)]
mod faulty;
pub mod grown;
pub mod journal;
pub mod line;
pub mod namesake;
pub mod settings;
pub mod shown;
pub mod standing;
pub mod store;
#[cfg(test)]
mod tests;
#[cfg(test)]
pub(crate) mod trial;

use crate::assess::MODEL;
use crate::bench::{BenchError, ContainerFault};
use crate::case;
use crate::draft::{CheckSign, Draft, DraftError, Field, SCHEMA as DRAFT_SCHEMA};
use crate::export::card::Card;
use crate::quantity::Quantity;
use crate::quantity::time::Instant;
use crate::stored::{self, Head, Refused};
use crate::words::Language;
use chain::{Chain, Seal};
use changes::Change;
use serde::de::DeserializeOwned;
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use shown::{Shown, ShownFigure, ShownFinding};

/// Version of the stored layout. 1 had no seals, and kept neither findings nor card.
pub const SCHEMA: u32 = 3;
/// Version of the program, kept with every entry.
pub const APP: &str = env!("CARGO_PKG_VERSION");

/// One signed preparation with everything that was said of it since.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    id: String,
    sign: CheckSign,
    signed: Entry,
    amendments: Vec<Amendment>,
    /// Each entry as the text it was signed as, oldest first: stored again as it is, whatever this version would
    /// make of it.
    texts: Vec<String>,
    /// The seal of each; none for an entry signed before there were any.
    seals: Vec<Option<Seal>>,
    /// Seals whose entry was taken away outside: kept, so that what is added later does not hide it.
    cut: Vec<Option<Seal>>,
}

/// A record as it is stored: its entries are texts of their own.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
struct Layout {
    schema: u32,
    id: String,
    sign: CheckSign,
    signed: Box<RawValue>,
    amendments: Vec<Box<RawValue>>,
    /// Those beyond the last entry have lost theirs.
    #[serde(default)]
    seals: Vec<Option<Seal>>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    cut: Vec<Option<Seal>>,
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
    /// Every finding as it stood before the signer; none in an entry that was signed before they were kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub findings: Option<Vec<ShownFinding>>,
    /// The card as it stood, without its foot; none in an entry that was signed before it was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub card: Option<Box<Card>>,
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
    /// Taken away outside Strawline.
    Missing,
    /// It could not be read, or held something else than what is here, and made room.
    PutAside,
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
    /// Years of keeping records that a Bench cannot have.
    KeepYears,
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
            BenchError::KeepYears => Reason::KeepYears,
        }
    }
}

/// How a case stands with the count of its product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
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
        } else if case.count.later && draft.without_product().is_none() {
            Counts::Later
        } else if made && draft.without_product().is_none() {
            Counts::NotCounted
        } else {
            Counts::NoProduct
        }
    }
}

impl Entry {
    fn new(draft: Draft, by: &str, at: Instant, shown: Shown) -> Result<Entry, SignError> {
        let by = by.trim();
        if by.is_empty() {
            return Err(SignError::NoName);
        }
        let Shown { figures, findings, card } = shown;
        if let Some(figure) = figures.iter().find(|figure| !figure.is_finite()) {
            return Err(SignError::NotFinite { what: figure.what.clone() });
        }
        let (by, app) = (by.to_owned(), APP.to_owned());
        Ok(Entry { at, by, draft, shown: figures, app, model: MODEL, findings, card })
    }
}

impl Record {
    /// Signs a case. Errors: nobody named, a figure that is not a number.
    pub fn sign(draft: Draft, by: &str, at: Instant, shown: impl Into<Shown>) -> Result<Record, SignError> {
        let signed = Entry::new(draft, by, at, shown.into())?;
        let (id, sign) = (signed.draft.id.clone(), signed.draft.sign);
        let (texts, seals) = (vec![String::new()], vec![None]);
        let (amendments, cut) = (Vec::new(), Vec::new());
        let mut record = Record { id, sign, signed, amendments, texts, seals, cut };
        record.seal_latest();
        Ok(record)
    }

    /// Adds an amendment, signed by whoever amends. Errors: nobody named, no reason, another case, nothing changed,
    /// a figure that is not a number.
    pub fn amend(
        &mut self,
        draft: Draft,
        by: &str,
        at: Instant,
        shown: impl Into<Shown>,
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
        let (latest, shown) = (self.latest_entry(), shown.into());
        if changes::between(&latest.draft, &draft).is_empty() && latest.shown == shown.figures {
            return Err(SignError::Unchanged);
        }
        let entry = Entry::new(draft, by, at, shown)?;
        self.amendments.push(Amendment { reason: reason.to_owned(), entry });
        self.texts.push(String::new());
        self.seals.push(None);
        self.seal_latest();
        Ok(())
    }

    /// Keeps the card with the entry just signed, which it can only be made from.
    pub(crate) fn keep_card(&mut self, card: Card) {
        let latest = self.amendments.last_mut().map_or(&mut self.signed, |a| &mut a.entry);
        latest.card = Some(Box::new(card));
        self.seal_latest();
    }

    /// Writes the newest entry as its text and seals it over those before it.
    fn seal_latest(&mut self) {
        // What would not come back as it is leaves an empty text, which `to_json` refuses.
        let text = match self.amendments.last() {
            Some(amendment) => exactly(amendment),
            None => exactly(&self.signed),
        };
        let text = text.unwrap_or_default();
        let (Some((last, earlier)), Some((seal, seals))) =
            (self.texts.split_last_mut(), self.seals.split_last_mut())
        else {
            return;
        };
        let before = match seals.last() {
            Some(Some(before)) => before.clone(),
            // Signed before there were seals.
            _ => earlier.iter().fold(Seal::default(), |before, text| Seal::over(&before, text)),
        };
        *seal = Some(Seal::over(&before, &text));
        *last = text;
    }

    /// How the entries stand with their seals: names the first that does not fit.
    pub fn verify(&self) -> Chain {
        // An entry has kept its findings for as long as there are seals.
        let sealed = self.entries().map(|entry| entry.findings.is_some() || entry.card.is_some());
        match chain::verify(self.texts.iter().map(String::as_str).zip(sealed), &self.seals) {
            Chain::Unsealed | Chain::Sound { .. } if !self.cut.is_empty() => {
                Chain::Broken { entry: self.texts.len() }
            }
            chain => chain,
        }
    }

    /// The seal of an entry, counted from 0; none for one signed before there were any.
    pub fn seal(&self, entry: usize) -> Option<&Seal> {
        self.seals.get(entry)?.as_ref()
    }

    /// The seal of the entry that now holds.
    pub fn latest_seal(&self) -> Option<&Seal> {
        self.seal(self.amendments.len())
    }

    /// The record as it stood with this entry, counted from 0; as it stands if there are not so many.
    pub fn until(&self, entry: usize) -> Record {
        let mut then = self.clone();
        then.amendments.truncate(entry);
        let entries = then.amendments.len().saturating_add(1);
        then.texts.truncate(entries);
        then.seals.truncate(entries);
        then
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

    /// Whether `later` only adds to this record: every entry of this one stands unchanged in it, and it has lost no
    /// seal, not even one whose entry is missing here.
    pub fn is_start_of(&self, later: &Record) -> bool {
        self.id == later.id
            && self.sign == later.sign
            && self.signed == later.signed
            && later.amendments.starts_with(&self.amendments)
            && later.seals.starts_with(&self.seals)
            && self.cut.iter().all(|seal| later.cut.contains(seal) || later.seals.contains(seal))
    }

    /// Reads a stored record of this layout or an older one. Errors: newer, broken, or of another case.
    pub fn from_json(text: &str) -> Result<Record, Reason> {
        let layout: Layout = stored::read_around(text, SCHEMA)?;
        // The cases inside carry their own version, which says more than the first unknown name in a newer one.
        #[derive(Deserialize)]
        struct AmendmentHead {
            entry: EntryHead,
        }
        #[derive(Deserialize)]
        struct EntryHead {
            draft: Head,
        }
        let mut found = stored::parse::<EntryHead>(layout.signed.get())?.draft.schema;
        for amendment in &layout.amendments {
            found = found.max(stored::parse::<AmendmentHead>(amendment.get())?.entry.draft.schema);
        }
        if found > DRAFT_SCHEMA {
            return Err(Reason::Newer { found });
        }
        let signed = stored::parse(layout.signed.get())?;
        let amendments =
            layout.amendments.iter().map(|a| stored::parse(a.get())).collect::<Result<_, _>>()?;
        let texts: Vec<String> =
            std::iter::once(&layout.signed).chain(&layout.amendments).map(|t| t.get().to_owned()).collect();
        let mut seals = layout.seals;
        let mut cut = layout.cut;
        cut.extend(seals.drain(texts.len().min(seals.len())..));
        seals.resize(texts.len(), None);
        let record = Record { id: layout.id, sign: layout.sign, signed, amendments, texts, seals, cut };
        let other = record.entries().map(|entry| &entry.draft.id).find(|id| **id != record.id).cloned();
        other.map_or(Ok(record), |id| Err(Reason::Misplaced { id }))
    }

    /// Writes the record as stored; none if reading it back would give another one. Each entry was read from its text,
    /// or tried when it was signed.
    pub fn to_json(&self) -> Option<String> {
        self.first_as_stored(self.texts.len())
    }

    /// As this version had stored it before its newest entry; none of a record with one entry.
    pub fn before_newest(&self) -> Option<String> {
        let entries = self.amendments.len();
        (entries > 0).then(|| self.first_as_stored(entries))?
    }

    fn first_as_stored(&self, entries: usize) -> Option<String> {
        let raw = |text: &String| RawValue::from_string(text.clone()).ok();
        let (signed, amendments) = self.texts.get(..entries)?.split_first()?;
        let layout = Layout {
            schema: SCHEMA,
            id: self.id.clone(),
            sign: self.sign,
            signed: raw(signed)?,
            amendments: amendments.iter().map(raw).collect::<Option<_>>()?,
            seals: self.seals.get(..entries)?.to_vec(),
            cut: self.cut.clone(),
        };
        stored::write_around(&layout).ok()
    }
}

/// A value as its text; none if that would not come back as the same.
fn exactly<T: Serialize + DeserializeOwned + PartialEq>(value: &T) -> Option<String> {
    let text = stored::write(value).ok()?;
    (stored::parse::<T>(&text).as_ref() == Ok(value)).then_some(text)
}
