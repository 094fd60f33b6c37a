//! Seals each entry of a record over the entries before it, so that a silent change shows.
//!
//! A seal can be reckoned by anyone, so who rewrites a whole record can seal it anew: then the start of the seal
//! printed on the card tells.

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fmt::Write;

/// How many hexadecimal digits of a seal stand on paper.
const SHORT: usize = 8;

/// SHA-256 (FIPS 180-4), in hexadecimal digits, over the seal before, a line feed, and an entry as the text it was
/// signed as.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Seal(String);

impl Seal {
    /// Seals an entry; nothing is before the first one but an empty seal.
    pub(super) fn over(before: &Seal, text: &str) -> Seal {
        let mut hash = Sha256::new();
        hash.update(before.0.as_bytes());
        hash.update(b"\n");
        hash.update(text.as_bytes());
        let mut hex = String::with_capacity(64);
        for byte in hash.finalize() {
            // A text takes whatever is written to it.
            write!(hex, "{byte:02x}").unwrap_or_default();
        }
        Seal(hex)
    }

    /// What stands on paper, and beside the record on the screen: its first eight digits.
    pub fn short(&self) -> String {
        self.0.chars().take(SHORT).collect()
    }
}

/// How the entries of a record stand with their seals.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Chain {
    /// No entry has one: signed before there were any.
    Unsealed,
    /// Every entry from this one on, counted from 0, fits, and those before it stand as they stood then.
    Sound {
        /// The first sealed one.
        since: usize,
    },
    /// Something was changed, taken out or put in outside Strawline.
    Broken {
        /// The first entry that does not fit, counted from 0; so many as there are, when all fit and one is missing.
        entry: usize,
    },
}

/// Checks entries, oldest first: the text of each, and whether it must have a seal, against the seals kept.
pub(super) fn verify<'a>(entries: impl Iterator<Item = (&'a str, bool)>, seals: &[Option<Seal>]) -> Chain {
    let (mut before, mut since, mut n) = (Seal::default(), None, 0);
    for (text, must) in entries {
        let now = Seal::over(&before, text);
        match seals.get(n).and_then(Option::as_ref) {
            Some(kept) if *kept != now => return Chain::Broken { entry: n },
            Some(_) => since = since.or(Some(n)),
            None if must || since.is_some() => return Chain::Broken { entry: n },
            None => {}
        }
        before = now;
        n += 1;
    }
    match since {
        Some(since) => Chain::Sound { since },
        None => Chain::Unsealed,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_seal_is_what_any_tool_reckons() {
        // FIPS 180-4's own example "abc" gives ba7816bf…; this one is `printf '\nabc' | sha256sum`.
        assert_eq!(Seal::over(&Seal::default(), "abc").0, SEAL_OF_ABC);
        assert_eq!(Seal::over(&Seal::default(), "abc").short(), SEAL_OF_ABC[..8]);
        assert_eq!(Seal("é".into()).short(), "é", "a seal that is none is shown as it is");
    }

    const SEAL_OF_ABC: &str = "f39d39bfc99287b848780d4110eb663f0e7c344ae41f46a390c4135b89dc2756";
}
