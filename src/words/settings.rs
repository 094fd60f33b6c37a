//! Words of the settings of this device.

use super::Phrase;
use std::borrow::Cow;

crate::phrases! {
    /// Labels and choices.
    SettingsWord {
        Heading => "This device",
        ThemeDevice => "As the device",
        ThemeLight => "Light",
        ThemeDark => "Dark",
        English => "English",
        Pseudo => "Strange English, to test the page",
        PaperA4 => "A4",
        PaperLetter => "Letter",
        Stored => "What is stored",
        OfflineCopy => "Without a network",
        // As long as the sentence that follows it, so that nothing moves.
        OfflineUnknown => "Not known yet: the browser may still be copying the page.",
    }
}

/// How the offline copy stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Offline {
    /// Complete.
    Ready,
    /// None, or not all of it.
    Incomplete,
    /// Complete, and a newer one waits.
    Update,
}

impl Phrase for Offline {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Offline::Ready => "Ready: this browser holds a complete copy of the page.",
            Offline::Incomplete => "Not ready: this browser holds no complete copy of the page.",
            Offline::Update => "Ready, and a newer version waits.",
        })
    }
}

/// What the browser said to keeping the data when it needs room.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeepAnswer {
    /// It keeps it.
    Granted,
    /// It may not.
    Refused,
    /// It cannot be asked.
    NotOffered,
    /// It was not asked yet.
    NotAsked,
}

impl Phrase for KeepAnswer {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            KeepAnswer::Granted => "The browser keeps it until a person deletes it.",
            KeepAnswer::Refused => {
                "The browser may delete it to make room or after weeks without use. Print the cards; export the Bench."
            }
            KeepAnswer::NotOffered => {
                "This browser cannot be asked to keep it. Print the cards; export the Bench."
            }
            KeepAnswer::NotAsked => "The browser is asked to keep it once there is something to keep.",
        })
    }
}
