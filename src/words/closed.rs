//! Words of the lock that closes cases and records.

use super::Phrase;
use super::banner::StoreFault;
use super::unit::Day;
use crate::record::closed::{ClosedError, SHORTEST};
use crate::record::store::StoreError;
use std::borrow::Cow;

crate::phrases! {
    /// Labels and buttons.
    ClosedWord {
        Heading => "Closing the records",
        Locked => "Locked",
        Passphrase => "Passphrase",
        NewPassphrase => "New passphrase",
        Again => "The same again",
        Current => "Passphrase now, or recovery key",
        OfTheFile => "Passphrase of the file, or recovery key",
        OfTheCode => "Passphrase of the code, or recovery key",
        RecoveryKey => "Recovery key",
        Unlock => "Open",
        LoadAnew => "Load the page anew",
        WithRecovery => "Use the recovery key",
        WithPassphrase => "Use the passphrase",
        Close => "Close cases and records",
        LockNow => "Lock the page now",
        Alter => "Another passphrase, or none",
        Change => "Change the passphrase",
        Remove => "Leave everything open",
        PrintIt => "Print the recovery key",
        Kept => "It is kept safe",
        RecoveryTitle => "Recovery key of the preparation records",
    }
}

/// Sentences beside them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ClosedSays {
    /// Nothing is closed.
    Open,
    /// What cannot be undone.
    NoWayBack,
    /// Everything is closed.
    IsClosed,
    /// Texts are still being closed.
    Closing,
    /// The page was opened from a disk: the lock stays.
    Stays,
    /// The page is locked.
    Locked,
    /// Texts are closed and their lock is missing.
    Missing,
    /// Two stores, two locks.
    Two,
    /// The lock cannot be read.
    Damaged,
    /// Whether there is a lock could not be found out.
    NotLooked,
    /// Another tab took the lock off.
    Gone,
    /// The recovery key is shown.
    Recovery,
    /// What stands on its paper.
    OnPaper,
    /// What it opens, likewise.
    OnPaperOpens,
    /// The two differ.
    Differ,
    /// It takes a moment.
    Wait,
    /// Done.
    Changed,
}

impl ClosedSays {
    /// Each of them.
    pub const ALL: [ClosedSays; 17] = [
        Self::Open,
        Self::NoWayBack,
        Self::IsClosed,
        Self::Closing,
        Self::Stays,
        Self::Locked,
        Self::Missing,
        Self::Two,
        Self::Damaged,
        Self::NotLooked,
        Self::Gone,
        Self::Recovery,
        Self::OnPaper,
        Self::OnPaperOpens,
        Self::Differ,
        Self::Wait,
        Self::Changed,
    ];
}

impl Phrase for ClosedSays {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Self::Open => {
                "Without a passphrase anyone who holds this device can read the cases and records on it."
            }
            Self::NoWayBack => {
                return Cow::Owned(format!(
                    "At least {SHORTEST} characters; several words are easier to keep than signs. Whoever loses both passphrase and recovery key loses the records: nobody can open them. Whoever holds a printed code or a backup can try passphrases on it: choose a long one. What was stored in clear before may stay in the browser’s own files until it tidies them."
                ));
            }
            Self::IsClosed => {
                "Cases and records on this device are encrypted. Bench and settings, which name no patient, are not. The page asks for the passphrase when it is opened."
            }
            Self::Closing => {
                "There is a passphrase. Cases and records are being encrypted; leave the page open until this line goes."
            }
            Self::Stays => {
                "This page was opened from a disk, where other pages could read what it stores: here the passphrase can be changed and not taken off."
            }
            Self::Missing => {
                "Cases and records here are encrypted, and what opens them is missing: the browser’s data were tidied or changed from outside. Nothing was changed. Keep the device and its backup files as they are, and ask whoever looks after it."
            }
            Self::Two => {
                "Two different locks are stored here, and none is sure to open everything. Nothing was changed. Keep the device and its backup files as they are, and ask whoever looks after it."
            }
            Self::Damaged => return ClosedFault(ClosedError::Damaged).english(),
            Self::NotLooked => {
                "Whether cases and records are closed could not be found out, so none is shown. Try again."
            }
            Self::Gone => {
                "The passphrase was taken off in another tab or from outside. This page stays locked; load it anew to go on."
            }
            Self::Locked => {
                "Cases and records are closed. Clocks go on. Type the clinic’s passphrase to go on working."
            }
            Self::Recovery => {
                "Write this recovery key down or print it, and keep it away from this device. It opens the records when the passphrase is lost, and is not shown again."
            }
            Self::OnPaper => {
                "Opens the records of this device when the passphrase is lost. Keep it where patients’ papers are kept, away from the device."
            }
            Self::OnPaperOpens => {
                "It opens what is closed under the passphrase of this device: cases and records, and backup files and codes of cards made under it."
            }
            Self::Differ => "The two are not the same. Type the passphrase twice alike.",
            Self::Wait => "This takes a moment.",
            Self::Changed => {
                "From now on the new passphrase opens the records; the recovery key is the same. Cards and backup files made before keep opening with the passphrase of then, and what that opens opens every text here."
            }
        })
    }
}

/// When its paper was printed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RecoveryPrinted(pub Day);

impl Phrase for RecoveryPrinted {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Printed {}.", self.0.english()))
    }
}

/// Why the lock did not do as told.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClosedFault(pub ClosedError);

impl Phrase for ClosedFault {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            ClosedError::TooShort => {
                return Cow::Owned(format!("Too short: a passphrase has at least {SHORTEST} characters."));
            }
            ClosedError::Wrong => {
                "That does not open the records. Look at capitals and spaces, and type it again."
            }
            ClosedError::NotARecoveryKey => {
                "A recovery key has 32 letters and figures, in groups of four. Type it as it stands on its paper."
            }
            ClosedError::NoChance => {
                "This browser gives no random numbers to make a key from. Nothing was closed; use another browser."
            }
            ClosedError::Damaged => {
                "The lock of this device cannot be read. Nothing was changed; keep the device and its backup files as they are, and ask whoever looks after it."
            }
            ClosedError::NoMemory => {
                "This device has too little memory free to make a key. Close other programs and pages, and try again."
            }
            ClosedError::Elsewhere => {
                "Another tab has changed the lock meanwhile. Close the other tabs, load this page anew, and try again."
            }
            ClosedError::NotKept => {
                "This browser does not keep what is stored, so a lock would be lost and everything under it. Nothing was closed; use another browser, or one that is not set to forget."
            }
            ClosedError::Foreign => {
                "Something stored here is closed under another key and cannot be opened. The lock stays; everything else is as it was."
            }
        })
    }
}

/// Why the store did not do as told, as a sentence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NotDone<'a>(pub &'a StoreError);

impl Phrase for NotDone<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Not done: {}. Try again.", StoreFault(self.0).english()))
    }
}

/// After how many minutes the page is locked; 0 is never.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LockAfter(pub u8);

impl Phrase for LockAfter {
    fn english(&self) -> Cow<'static, str> {
        match self.0 {
            0 => Cow::Borrowed("never by itself"),
            n => Cow::Owned(format!("after {n} minutes without a touch")),
        }
    }
}
