//! Lines above the page: what is not stored, what changed behind its back, what can be loaded.

use super::Phrase;
use crate::draft::CheckSign;
use crate::record::Reason;
use crate::record::archive::{SaveError, Unreadable};
use crate::record::store::StoreError;
use std::borrow::Cow;

/// One line above the page.
#[derive(Debug, Clone, PartialEq)]
pub enum Banner {
    /// The last change is only on the screen.
    NotStored(SaveError),
    /// A signature was given and its record could not be stored.
    NotSigned {
        /// The case.
        sign: CheckSign,
        /// Why.
        error: SaveError,
    },
    /// There is a lock, and some texts are not closed under it yet; why, or another tab goes on writing.
    NotClosed(Option<StoreError>),
    /// Some of what is stored could not be read; it is not written over.
    NotRead(StoreError),
    /// The browser's storage would not open; everything lives until the page closes.
    MemoryOnly(StoreError),
    /// The page was opened from a disk: names and records live until it closes.
    OpenedFromDisk,
    /// Another tab changed a case that is also being changed here.
    ChangedElsewhere {
        /// The case's key.
        id: String,
        /// The case.
        sign: CheckSign,
    },
    /// A record was signed or amended apart from what is typed here, which would change that or take it out.
    AmendedElsewhere {
        /// The case's key.
        id: String,
        /// The case.
        sign: CheckSign,
    },
    /// Another tab signed or discarded the case that was in view.
    ClosedElsewhere(CheckSign),
    /// Another tab changed Bench, settings or what was decided about counts, and so did this one.
    ShelfElsewhere(Shelf),
    /// A newer version wrote Bench, settings or what was decided about counts; changes made here live until the page
    /// closes.
    ShelfNewer(Shelf),
    /// A file could not be handed to the browser; why, in its words.
    NoDownload(String),
    /// So many stored items cannot be read.
    Unreadable(usize),
    /// A newer version waits.
    Update {
        /// A case is open: it asks once more before it loads.
        asks: bool,
    },
    /// No complete offline copy.
    OfflineIncomplete,
}

/// What belongs to no case.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Shelf {
    /// The clinic's Bench.
    Bench,
    /// Settings of this device.
    Settings,
    /// What was decided about counts.
    Decisions,
}

crate::phrases! {
    /// Buttons on a banner.
    BannerButton {
        LoadNew => "Load the new version",
        LoadNow => "Load it now",
        Later => "Later",
        TryAgain => "Try again",
        TakeTheirs => "Take the other tab’s",
        TakeRecord => "Take the record as it stands",
        KeepMine => "Keep what is here",
        ShowRecords => "Show them in Records",
        Close => "Close",
    }
}

impl BannerButton {
    /// Whether it shows or changes cases and records: on a locked page it does nothing.
    pub fn acts_on_data(self) -> bool {
        matches!(self, Self::TakeTheirs | Self::TakeRecord | Self::KeepMine | Self::ShowRecords)
    }
}

crate::phrases! {
    /// What is said elsewhere of a banner.
    BannerSays {
        DecideFirst => "Not signed: first decide above the page whether what another tab left is taken, or what is typed here is kept.",
    }
}

crate::phrases! {
    /// The foot of the page.
    FootWord {
        OfflineReady => "Ready for use without a network.",
        Use => "Supports trained people and takes no decision from them; recommends no dose. The clinician’s order comes first.",
    }
}

/// Which program and which model.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VersionLine {
    /// Version of the program.
    pub app: &'static str,
    /// Number of the model.
    pub model: u32,
}

impl Phrase for VersionLine {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Strawline {}, model {}", self.app, self.model))
    }
}

impl Banner {
    /// Place among the banners, the gravest first.
    pub fn rank(&self) -> u8 {
        match self {
            Banner::NotStored(_) => 0,
            Banner::NotSigned { .. } => 1,
            Banner::NotClosed(_) => 2,
            Banner::NotRead(_) => 3,
            Banner::MemoryOnly(_) => 4,
            Banner::ChangedElsewhere { .. } => 5,
            Banner::AmendedElsewhere { .. } => 6,
            Banner::ClosedElsewhere(_) => 7,
            Banner::ShelfElsewhere(_) => 8,
            Banner::ShelfNewer(_) => 9,
            Banner::NoDownload(_) => 10,
            Banner::OpenedFromDisk => 11,
            Banner::Unreadable(_) => 12,
            Banner::Update { .. } => 13,
            Banner::OfflineIncomplete => 14,
        }
    }

    /// Whether `other` is shown in place of this one.
    pub fn replaced_by(&self, other: &Banner) -> bool {
        match (self, other) {
            (Banner::ChangedElsewhere { id: a, .. }, Banner::ChangedElsewhere { id: b, .. }) => a == b,
            (Banner::AmendedElsewhere { id: a, .. }, Banner::AmendedElsewhere { id: b, .. }) => a == b,
            (Banner::ShelfElsewhere(a), Banner::ShelfElsewhere(b)) => a == b,
            (Banner::ShelfNewer(a), Banner::ShelfNewer(b)) => a == b,
            (Banner::NotSigned { sign: a, .. }, Banner::NotSigned { sign: b, .. }) => a == b,
            _ => self.rank() == other.rank(),
        }
    }

    /// What can be done about it, in order.
    pub fn buttons(&self) -> &'static [BannerButton] {
        use BannerButton as B;
        match self {
            Banner::NotStored(_) | Banner::NotClosed(_) | Banner::NotRead(_) => &[B::TryAgain],
            Banner::ChangedElsewhere { .. } | Banner::ShelfElsewhere(_) => &[B::TakeTheirs, B::KeepMine],
            Banner::AmendedElsewhere { .. } => &[B::TakeRecord, B::KeepMine],
            Banner::Unreadable(_) => &[B::ShowRecords],
            Banner::Update { asks: false } => &[B::LoadNew],
            Banner::Update { asks: true } => &[B::LoadNow, B::Later],
            Banner::NotSigned { .. }
            | Banner::ClosedElsewhere(_)
            | Banner::NoDownload(_)
            | Banner::OfflineIncomplete => &[B::Close],
            Banner::MemoryOnly(_) | Banner::OpenedFromDisk | Banner::ShelfNewer(_) => &[],
        }
    }
}

/// Why a store would not do it, within a sentence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StoreFault<'a>(pub &'a StoreError);

impl Phrase for StoreFault<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            StoreError::Unreachable => "this browser blocks its storage",
            StoreError::Full => "this browser’s storage is full",
            StoreError::Newer => "a newer version of Strawline has set up the storage of this browser",
            StoreError::Shut => "it is closed under a passphrase that was not typed here",
            StoreError::Failed(said) => {
                return Cow::Owned(format!("the browser says: {}", said.trim_end_matches('.')));
            }
        })
    }
}

/// Why something was not kept, within a sentence.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SaveFault<'a>(pub &'a SaveError);

impl Phrase for SaveFault<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            SaveError::Store(error) => return StoreFault(error).english(),
            SaveError::NotExact => "it would not come back as it is",
            SaveError::Conflict => "another tab has signed or amended the same case",
            SaveError::Occupied(Unreadable { reason: Reason::Newer { .. }, .. }) => {
                "a newer version of Strawline wrote what stands in its place; open that version"
            }
            SaveError::Occupied(_) => "its place holds something that cannot be read and is not written over",
        })
    }
}

impl Phrase for Banner {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Banner::NotStored(error) => {
                return Cow::Owned(format!(
                    "Not saved: {}. What you typed is on the screen only; write down what you need before you close the page.",
                    SaveFault(error).english()
                ));
            }
            Banner::NotSigned { sign, error } => {
                return Cow::Owned(format!(
                    "Case {sign} is not recorded: {}. The case stays open; print its card.",
                    SaveFault(error).english()
                ));
            }
            Banner::NotClosed(Some(error)) => {
                return Cow::Owned(format!(
                    "Not everything is encrypted yet: {}. Nothing is lost; leave the page open and try again.",
                    StoreFault(error).english()
                ));
            }
            Banner::NotClosed(None) => {
                "Not everything is encrypted yet: another tab goes on writing. Nothing is lost; close the other tabs and try again."
            }
            Banner::NotRead(error) => {
                return Cow::Owned(format!(
                    "Some of what is stored could not be read: {}. Cases, records or the Bench may be missing here; what is stored is left as it is.",
                    StoreFault(error).english()
                ));
            }
            Banner::MemoryOnly(error) => {
                return Cow::Owned(format!(
                    "Nothing outlasts this page: {}. Print the card before you close it.",
                    StoreFault(error).english()
                ));
            }
            Banner::OpenedFromDisk => {
                "Opened from a disk: other pages there could read what this one stores, so cases and records are kept only until you close it. Print the card first. Bench and settings are stored."
            }
            Banner::ChangedElsewhere { sign, .. } => {
                return Cow::Owned(format!(
                    "Case {sign} was changed in another tab and here. Only one of the two can stay."
                ));
            }
            Banner::AmendedElsewhere { sign, .. } => {
                return Cow::Owned(format!(
                    "Case {sign}: its record was signed or amended apart from what is typed here, which is not signed and would change that or take it out. Take the record as it stands, and what is typed here is gone; or keep what is typed here."
                ));
            }
            Banner::ClosedElsewhere(sign) => {
                return Cow::Owned(format!(
                    "Case {sign} was signed or discarded in another tab, and is closed here."
                ));
            }
            Banner::ShelfElsewhere(Shelf::Bench) => {
                "The Bench was changed in another tab and here. Only one of the two can stay."
            }
            Banner::ShelfElsewhere(Shelf::Settings) => {
                "The settings of this device were changed in another tab and here. Only one of the two can stay."
            }
            Banner::ShelfElsewhere(Shelf::Decisions) => {
                "Something was decided about counts in another tab and here. Only one of the two can stay."
            }
            Banner::ShelfNewer(Shelf::Bench) => {
                "A newer version of Strawline wrote the Bench; it is left as it is. What you change in the Bench here is gone when this page closes: open the newer version for that."
            }
            Banner::ShelfNewer(Shelf::Settings) => {
                "A newer version of Strawline wrote the settings of this device; they are left as they are. What you set here is gone when this page closes: open the newer version for that."
            }
            Banner::ShelfNewer(Shelf::Decisions) => {
                "A newer version of Strawline wrote what was decided about counts; it is left as it is. What you decide here is gone when this page closes: open the newer version for that."
            }
            Banner::NoDownload(said) => {
                return Cow::Owned(format!(
                    "The file could not be saved; the browser says: {}.",
                    said.trim_end_matches('.')
                ));
            }
            Banner::Unreadable(1) => "One stored item cannot be read. It is kept as it is.",
            Banner::Unreadable(n) => {
                return Cow::Owned(format!("{n} stored items cannot be read. They are kept as they are."));
            }
            Banner::Update { asks: false } => "A newer version of Strawline is ready.",
            Banner::Update { asks: true } => {
                "A case is open. Loading the new version starts the page anew; what is saved comes back at the same stage."
            }
            Banner::OfflineIncomplete => {
                "Not ready for use without a network: this browser holds no complete copy of the page."
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::words::Language;

    #[test]
    fn an_amended_record_is_asked_about_for_each_case_and_only_on_an_open_page() {
        let sign = CheckSign::try_from("7K".to_owned()).unwrap();
        let of = |id: &str| Banner::AmendedElsewhere { id: id.to_owned(), sign };
        let one = of("a");
        assert!(one.replaced_by(&of("a")) && !one.replaced_by(&of("b")));
        let draft = Banner::ChangedElsewhere { id: "a".to_owned(), sign };
        assert!(!one.replaced_by(&draft) && !draft.replaced_by(&one));
        assert_eq!(one.buttons(), [BannerButton::TakeRecord, BannerButton::KeepMine]);
        assert!(one.buttons().iter().all(|button| button.acts_on_data()));
        let said = Language::English.say(one).into_owned();
        assert!(said.contains("Case 7K") && said.contains("what is typed here is gone"), "{said}");
    }
}
