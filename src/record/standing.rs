//! How a record stands to what was signed, for files made of it: there nobody sees the marks of the list.

use crate::record::Record;
use crate::record::chain::Chain;
use serde::Serialize;

/// How a record stands to what was signed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum RecordStanding {
    /// As it was signed.
    Sound,
    /// Signed before there were seals: a change would not be seen.
    Unsealed,
    /// Something was changed, taken out or put in outside Strawline.
    ChangedOutside,
    /// Its newest state cannot be read: this is the one before.
    StateBeforeTheNewest,
}

impl RecordStanding {
    /// Of a record, and what only its store and its line tell: `damaged`, it is the state before its newest;
    /// `outside`, it was found changed outside.
    pub fn of(record: &Record, damaged: bool, outside: bool) -> Self {
        match record.verify() {
            Chain::Broken { .. } => Self::ChangedOutside,
            // Its line misses the newest entry then, and takes it for one that was taken out.
            _ if damaged => Self::StateBeforeTheNewest,
            _ if outside => Self::ChangedOutside,
            Chain::Unsealed => Self::Unsealed,
            Chain::Sound { .. } => Self::Sound,
        }
    }
}
