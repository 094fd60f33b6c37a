//! What an entry said, removed for good: a name that should never have been written there, for example. That something
//! was entered, when and by whom stays, so that a log only grows.

use super::{Correction, Entry, Log, Refused, What};
use crate::quantity::time::Instant;
use serde::{Deserialize, Serialize};

/// Stands in place of what an entry said.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Removed {
    /// Who removed it.
    pub by: String,
    /// When.
    pub at: Instant,
    /// Why, in words.
    pub why: String,
}

impl Entry {
    /// Whether its text was removed. No correction is made without a reason.
    pub(super) fn is_blank(&self) -> bool {
        match &self.what {
            What::Removed(_) => true,
            What::Correction(c) => c.now.is_none() && c.why.is_empty(),
            _ => false,
        }
    }
}

impl Log {
    /// Whether the text of an entry may be removed: it was taken out, and it or a correction of it still says something.
    pub fn may_lose_text(&self, id: &str) -> bool {
        let of = |entry: &Entry| match &entry.what {
            What::Correction(c) => c.of == id,
            _ => entry.id == id,
        };
        self.held().iter().any(|h| h.entry.id == id && h.now.is_none())
            && self.entries.iter().any(|entry| of(entry) && !entry.is_blank())
    }

    /// An entry that was taken out and its corrections, each as it stands and without its text. Errors: nobody is
    /// named, no reason, no such entry.
    pub fn without_text(
        &self,
        id: &str,
        by: &str,
        at: Instant,
        why: &str,
    ) -> Result<Vec<(Entry, Entry)>, Refused> {
        let (by, why) = (by.trim().to_owned(), why.trim().to_owned());
        match (by.is_empty(), why.is_empty(), self.may_lose_text(id)) {
            (true, ..) => return Err(Refused::NoName),
            (_, true, _) => return Err(Refused::NoReason),
            (.., false) => return Err(Refused::NotThere),
            _ => {}
        }
        let blank = |entry: &Entry| {
            let what = match &entry.what {
                What::Correction(c) if c.of == id && !entry.is_blank() => {
                    What::Correction(Correction { of: c.of.clone(), why: String::new(), now: None })
                }
                What::Removed(_) => return None,
                _ if entry.id == id => What::Removed(Removed { by: by.clone(), at, why: why.clone() }),
                _ => return None,
            };
            Some((entry.clone(), Entry { what, ..entry.clone() }))
        };
        Ok(self.entries.iter().filter_map(blank).collect())
    }
}
