//! Words of Records: open cases, those that wait for counts, signed records, what cannot be read.

use super::Phrase;
use super::unit::Day;
use crate::assess::spin::Happening;
use crate::bench::ContainerFault;
use crate::draft::{CheckSign, Stage};
use crate::quantity::time::{Date, TimeOfDay};
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
        Duplicate => "Duplicate",
        Discard => "Discard",
        SignFirst => "Handed over: sign its record under Product.",
        BringBack => "Bring back",
        DeleteForGood => "Delete for good",
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
        Unreadable => "Stored, but not readable",
        UnreadableWhat => "Each stays stored as it is. A downloaded copy can be looked at by whoever looks after this device.",
        Download => "Download",
        NoName => "no patient reference",
        Demo => "Demo",
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
