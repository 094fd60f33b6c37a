//! How this device shows the page. Nothing about a patient.

use super::Reason;
use crate::quantity::time::{Instant, Span};
use crate::stored;
use crate::words::Language;
use serde::{Deserialize, Serialize};

/// Version of the stored layout.
const SCHEMA: u32 = 2;

/// Light or dark.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Theme {
    /// As the device.
    #[default]
    Device,
    /// Light.
    Light,
    /// Dark.
    Dark,
}

/// Paper of the card.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Paper {
    /// 210 × 297 mm.
    #[default]
    A4,
    /// 8.5 × 11 in.
    Letter,
}

/// Settings of this device.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Settings {
    /// Version of this layout.
    #[serde(deserialize_with = "stored::newest::<SCHEMA, _>")]
    pub schema: u32,
    /// Language of the page.
    pub language: Language,
    /// Light or dark.
    pub theme: Theme,
    /// Study is not offered.
    pub hide_study: bool,
    /// Paper of the card.
    pub paper: Paper,
    /// After so many minutes without a touch the page is locked, where there is a lock; 0: never.
    pub lock_after: u8,
    /// When everything was last saved as a backup; none: never.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub backed_up: Option<Instant>,
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            schema: SCHEMA,
            language: Language::default(),
            theme: Theme::default(),
            hide_study: false,
            paper: Paper::default(),
            lock_after: 10,
            backed_up: None,
        }
    }
}

/// After so long a backup is old. Own judgement.
const OLD: Span = Span(30 * 86_400_000);

impl Settings {
    /// Whether a backup is due: something was signed that none holds, and the last is old or there is none.
    pub fn backup_is_due(&self, signed_since: usize, now: Instant) -> bool {
        let old = |last: Instant| now.since(last).is_none_or(|ago| ago >= OLD);
        signed_since > 0 && self.last_backup(now).is_none_or(old)
    }

    /// When everything was last saved as a backup. One from later than now was made while the clock was ahead: what was
    /// signed since then cannot be told by it, and it counts as none.
    pub fn last_backup(&self, now: Instant) -> Option<Instant> {
        self.backed_up.filter(|last| *last <= now)
    }

    /// Whether what is signed at this moment would seem to be in the last backup: that was made while the clock was ahead,
    /// and is to be forgotten, for once the clock has come to it nobody could tell.
    pub fn backup_is_ahead_of(&self, signed: Instant) -> bool {
        self.backed_up.is_some_and(|last| signed <= last)
    }

    /// Reads stored settings. Errors: newer, or broken.
    pub fn from_json(text: &str) -> Result<Settings, Reason> {
        Ok(stored::read(text, SCHEMA)?)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_backup_is_due_when_something_new_is_signed_and_the_last_is_old_or_there_is_none() {
        let now = Instant(100 * 86_400_000);
        let at = |days_ago: i64| Settings {
            backed_up: Some(Instant(now.0 - days_ago * 86_400_000)),
            ..Settings::default()
        };
        assert!(Settings::default().backup_is_due(1, now));
        assert!(!Settings::default().backup_is_due(0, now));
        assert!(!at(29).backup_is_due(5, now));
        assert!(at(30).backup_is_due(5, now));
        assert!(!at(30).backup_is_due(0, now));
    }

    #[test]
    fn a_backup_from_a_clock_that_was_ahead_is_none_and_what_is_signed_after_it_is_in_none() {
        let now = Instant(100 * 86_400_000);
        let made = |at: Instant| Settings { backed_up: Some(at), ..Settings::default() };
        let ahead = made(Instant(now.0 + 86_400_000));
        assert_eq!(ahead.last_backup(now), None);
        assert!(ahead.backup_is_due(5, now) && !ahead.backup_is_due(0, now));
        assert!(ahead.backup_is_ahead_of(now), "signed today, it would seem to be in the backup of tomorrow");
        let before = made(Instant(now.0 - 1));
        assert_eq!(before.last_backup(now), Some(Instant(now.0 - 1)));
        assert!(!before.backup_is_ahead_of(now) && !Settings::default().backup_is_ahead_of(now));
    }
}
