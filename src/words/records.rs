//! Words of Records: open cases, those that wait for counts, signed records, what cannot be read.

use super::Phrase;
use super::banner::StoreFault;
use super::unit::Day;
use crate::assess::spin::Happening;
use crate::bench::ContainerFault;
use crate::draft::{CheckSign, Stage};
use crate::quantity::time::{Date, TimeOfDay};
use crate::record::archive::purge::Purged;
use crate::record::store::StoreError;
use crate::record::{Counts, Reason, SignError};
use std::borrow::Cow;

crate::phrases! {
    /// Fixed words.
    RecordsWord {
        Views => "Views of Records",
        CasesView => "Cases and records",
        LogView => "Log and lots",
        QualityView => "Quality charts",
        NewCase => "New case",
        OpenDemo => "Open the demo case",
        PrintBlank => "Print a blank worksheet",
        OpenCases => "Open cases",
        NoOpenCase => "No case is open.",
        Open => "Open",
        CloseCase => "Close",
        CloseNow => "Close it all the same",
        Duplicate => "Duplicate",
        Discard => "Discard",
        Unsigned => "What was entered since the signature is not signed yet: amend the record, or discard it.",
        SinceSigned => "Entries made after the signature; the record itself stands.",
        DiscardNow => "Discard it all the same",
        KeepIt => "Keep it open",
        SignFirst => "Handed over: sign its record under Product.",
        BringBack => "Bring back",
        DeleteForGood => "Delete for good",
        DeleteSure => "Nothing brings it back. Delete it?",
        DeleteNow => "Delete it",
        OnlyTrace => "Blood was drawn and no record tells of it: bring it back and sign it, without a product if there is none. It is not deleted.",
        DiscardedCases => "Discarded cases",
        Waiting => "Waiting for counts",
        TypeCount => "Type the count",
        Signed => "Signed records",
        NoRecord => "No record is signed yet.",
        Date => "Signed",
        Case => "Case",
        Patient => "Patient",
        Product => "Product",
        Platelets => "Platelets",
        Amended => "amended",
        Outside => "changed outside Strawline",
        Rebuilt => "rebuilt from the card’s code",
        Damaged => "newest state not readable; this is the state before",
        Lost => "taken away outside Strawline; only this line is left",
        Search => "Find a record",
        SearchHow => "By patient reference, site, check sign, technician or lot.",
        NoneFound => "No record has these words.",
        Newer => "Newer",
        Older => "Older",
        PrintCard => "Print card",
        Actions => "What can be done",
        Unreadable => "Stored, but not readable, or put aside",
        UnreadableWhat => "What cannot be read, and what was put aside when something else took its place. Each stays stored as it is. A downloaded copy can be looked at by whoever looks after this device.",
        Download => "Download",
        NoName => "no patient reference",
        Demo => "Demo",
    }
}

crate::phrases! {
    /// Sentences beside files made of records, and in them.
    RecordFile {
        NotAllRead => "Not all records of this device are read yet. Tables can be saved once they are.",
        ChangedOutside => "Changed outside Strawline: what stands here is not what was signed.",
        StateBefore => "The newest state of this record cannot be read: what stands here is the state before it.",
    }
}

/// So many records cannot be read and are missing in a file just made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LeftOut(pub usize);

impl Phrase for LeftOut {
    fn english(&self) -> Cow<'static, str> {
        match self.0 {
            1 => Cow::Borrowed("One record cannot be read and is not in the file."),
            n => Cow::Owned(format!("{n} records cannot be read and are not in the file.")),
        }
    }
}

/// That a case was discarded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Discarded(pub CheckSign);

impl Phrase for Discarded {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Case {} discarded.", self.0))
    }
}

/// What still runs of a case that is to be discarded.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DiscardSure<'a> {
    /// Its check sign.
    pub sign: CheckSign,
    /// What is happening.
    pub now: &'a Happening,
}

impl Phrase for DiscardSure<'_> {
    fn english(&self) -> Cow<'static, str> {
        let (sign, now) = (self.sign, super::header::NowShort(self.now).english());
        Cow::Owned(format!(
            "{sign}: blood was drawn ({now}). Discarded, its clocks are told nowhere. Without a product it can be signed so, under Product. Discard it?"
        ))
    }
}

/// That nobody says of a signed case that its product was given.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CloseSure(pub CheckSign);

impl Phrase for CloseSure {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!(
            "{}: it is not told of each part that it was given. Its use-by stays among the clocks, where a tap opens the record. Close it?",
            self.0
        ))
    }
}

/// Which rows of a list are in view, counted from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RowsLine {
    /// The first.
    pub from: usize,
    /// The last.
    pub to: usize,
    /// Of so many.
    pub of: usize,
}

impl Phrase for RowsLine {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("{} to {} of {}", self.from, self.to, self.of))
    }
}

/// Stage in hand and what is happening, in one line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CaseLine<'a> {
    /// The stage open on the worksheet.
    pub stage: Stage,
    /// What the clocks say.
    pub now: &'a Happening,
    /// It belongs to a signed record.
    pub signed: bool,
}

impl Phrase for CaseLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        let now = match self.now {
            Happening::NotBegun => "nothing drawn yet",
            Happening::Drawing { .. } => "needle is in",
            Happening::WaitingToSpin => "drawn, waiting to spin",
            Happening::Stage { due: false, .. } => "spin programme runs",
            Happening::Stage { due: true, .. } => "a stage of the spin programme is over",
            Happening::Stopped { .. } => "the spin has stopped",
            Happening::SpinOver => "spun, to be collected",
            Happening::Collected => "collected",
            Happening::HandedOver => "handed over",
            Happening::Ended => "ended without a product",
        };
        let signed = if self.signed { ", signed" } else { "" };
        Cow::Owned(format!("{}: {now}{signed}", self.stage.english()))
    }
}

/// A day and a time of it: 12 Mar 2026, 11:33.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayAndTime(pub Date, pub TimeOfDay);

impl Phrase for DayAndTime {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("{}, {:02}:{:02}", Day(self.0).english(), self.1.hour(), self.1.minute()))
    }
}

/// How a record stands with its count.
impl Phrase for Counts {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Counts::Counted => "counted",
            Counts::Later => "to be counted",
            Counts::NotCounted => "not counted",
            Counts::NoProduct => "no product",
        })
    }
}

/// Why a signature was refused, and what to do.
impl Phrase for SignError {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            SignError::NoName => "Nobody is named as technician. Enter the name in the Order, then sign.",
            SignError::NoAmender => "Nobody is named who amends. Enter the name under Later, then amend.",
            SignError::NoReason => "An amendment needs a reason; it prints on the card.",
            SignError::OtherCase => "The record of this case is not here. Open it from Records.",
            SignError::Unchanged => {
                "Nothing differs from what was signed last, so there is nothing to amend."
            }
            SignError::NotFinite { what } => {
                return Cow::Owned(format!(
                    "{what} cannot be reckoned. Check the entries it comes from, then sign."
                ));
            }
        })
    }
}

/// Why a stored or imported text cannot be used.
impl Phrase for Reason {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match self {
            Reason::Newer { found } => {
                format!(
                    "Written by a newer version of Strawline (layout {found}). Load that version to use it."
                )
            }
            Reason::Broken(at) => format!("Damaged or of another kind; reading stopped here: {at}."),
            Reason::Missing => "Taken away outside Strawline.".to_owned(),
            Reason::PutAside => {
                "Put aside: it could not be read, or differed from what is here, when something else took its place."
                    .to_owned()
            }
            Reason::Misplaced { id } => format!("Holds another case ({id}) than its place says."),
            Reason::Container { name, fault } => format!("{name}: {}", fault.english()),
            Reason::Twice { name } => {
                format!(
                    "{name}: it has the same key as another entry of its list. Import a file in which each has its own."
                )
            }
            Reason::Analyser => {
                "Analyser: the lowest reading it counts in proportion must be below the highest.".to_owned()
            }
            Reason::KeepYears => {
                "How long records are kept: it must be from 1 to 100 years, or not be set.".to_owned()
            }
            Reason::Band { name } => {
                format!("{name}: the lowest of its own band for the anticoagulant must be below the highest.")
            }
        })
    }
}

/// How a container contradicts itself, and what to do.
impl Phrase for ContainerFault {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            ContainerFault::NoGraduation => "A graduation cannot be zero.",
            ContainerFault::FillRange => {
                "The lowest fill, the highest fill and the capacity must rise in this order."
            }
            ContainerFault::ProductRange => "The least product must not exceed the most.",
            ContainerFault::NoDiameter => "The inner diameter must be more than zero.",
        })
    }
}

crate::phrases! {
    /// Labels and buttons of records past their time of keeping.
    KeepWord {
        Without => "Remove them without a backup",
        Remove => "Remove these records",
        RemoveCases => "Remove these cases",
        RemoveNow => "Remove for good",
        Removed => "What was removed",
    }
}

/// How many records, and discarded cases, are past the clinic’s time of keeping.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PastKeeping {
    /// Records.
    pub records: usize,
    /// Discarded cases.
    pub discarded: usize,
}

impl PastKeeping {
    /// 2 records and 1 discarded case.
    fn counted(self) -> String {
        let records = match self.records {
            0 => None,
            1 => Some("1 record".to_owned()),
            n => Some(format!("{n} records")),
        };
        let discarded = match self.discarded {
            0 => None,
            1 => Some("1 discarded case".to_owned()),
            n => Some(format!("{n} discarded cases")),
        };
        records.into_iter().chain(discarded).collect::<Vec<_>>().join(" and ")
    }
}

impl Phrase for PastKeeping {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("{} past the clinic’s time of keeping", self.counted()))
    }
}

/// Sentences beside them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum KeepSays {
    /// What this is.
    What,
    /// So many have a count.
    Learned(usize),
    /// So many are in no backup.
    NoBackup(usize),
    /// Asked before so many are removed.
    Sure(PastKeeping),
    /// What does not go with them.
    After,
}

impl Phrase for KeepSays {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match self {
            KeepSays::What => return Cow::Borrowed(
                "The time is set in Bench and counts from the last signature, or from the begin of a case that was discarded. Nothing is removed by itself, and what the clinic or the law asks to keep longer stays until somebody removes it.",
            ),
            KeepSays::Learned(1) => return Cow::Borrowed(
                "One of them has a count: ranges, charts and checks of the process will be reckoned without it.",
            ),
            KeepSays::Learned(n) => format!(
                "{n} of them have counts: ranges, charts and checks of the process will be reckoned without them."
            ),
            KeepSays::NoBackup(1) => {
                "One of them is in no backup made on this device as it now stands. Make one first, or say that it goes without.".to_owned()
            }
            KeepSays::NoBackup(n) => format!(
                "{n} of them are in no backup made on this device as they now stand. Make one first, or say that they go without."
            ),
            KeepSays::Sure(all) => format!(
                "To be removed for good, with everything kept of it here: {}. This cannot be undone.",
                all.counted()
            ),
            KeepSays::After => return Cow::Borrowed(
                "Backup files, cards, labels and files made of them before are not touched, nor is what the clinic logs of its equipment and lots. What counts teach is reckoned without them from now on.",
            ),
        })
    }
}

/// What became of one record that was to be removed: its line, and the day of its last signature, written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PurgedLine {
    /// Its check sign, and what became of it; an error of the store left it as it was.
    pub line: (String, Result<Purged, StoreError>),
    /// Day.
    pub day: String,
    /// It was a discarded case.
    pub discarded: bool,
}

impl Phrase for PurgedLine {
    fn english(&self) -> Cow<'static, str> {
        let (sign, done) = &self.line;
        let became = match done {
            Ok(Purged::Removed { texts, decisions, left }) => {
                let decided = match decisions {
                    0 => String::new(),
                    1 => " and 1 decision about its count".to_owned(),
                    n => format!(" and {n} decisions about its count"),
                };
                let left = match left {
                    0 => String::new(),
                    1 => "; 1 unreadable text put aside that names it among other cases stays".to_owned(),
                    n => format!("; {n} unreadable texts put aside that name it among other cases stay"),
                };
                format!("removed, {texts} stored texts{decided}{left}")
            }
            Ok(Purged::Open) if self.discarded => "not removed: it was brought back meanwhile".to_owned(),
            Ok(Purged::Open) => "not removed: it is open to be amended".to_owned(),
            Ok(Purged::Changed) => "not removed: it was changed meanwhile".to_owned(),
            Ok(Purged::Unreadable) => {
                "not removed: its newest state cannot be read by this version and may be newer than its line says".to_owned()
            }
            Ok(Purged::Partly) => {
                "removed, but not what stands beside it, which was written meanwhile; its line stays, so that it can be removed again".to_owned()
            }
            Ok(Purged::Decisions) => {
                "not removed: decisions about counts cannot be read, and may speak of it".to_owned()
            }
            Err(error) => format!("not removed: {}", StoreFault(error).english()),
        };
        Cow::Owned(match self.discarded {
            true => format!("Discarded case {sign}, begun {}: {became}.", self.day),
            false => format!("Record {sign}, signed {}: {became}.", self.day),
        })
    }
}
