//! How this device shows the page. Nothing about a patient.

use super::Reason;
use crate::stored;
use crate::words::Language;
use serde::{Deserialize, Serialize};

/// Version of the stored layout.
const SCHEMA: u32 = 1;

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
        }
    }
}

impl Settings {
    /// Reads stored settings. Errors: newer, or broken.
    pub fn from_json(text: &str) -> Result<Settings, Reason> {
        Ok(stored::read(text, SCHEMA)?)
    }
}
