//! Words of the clinic's log, of the shelf, of the day and of what was thrown away.

use super::Phrase;
use super::banner::StoreFault;
use super::choice::AgentName;
use super::product::{DayAndTime, beside};
use super::unit::Day;
use crate::assess::given::GivenOdd;
use crate::draft::{Discard, DiscardKind, DiscardRefused, NotOffered};
use crate::log::typed::NotRead;
use crate::log::{CareKind, CheckState, Checked, Good, LotEntry, ProductIs, Refused};
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::NumberStyle;
use crate::record::archive::unsaid::Unsaid;
use crate::record::store::StoreError;
use std::borrow::Cow;

crate::phrases! {
    /// Headings, labels, buttons and hints.
    LogWord {
        Title => "Log",
        What => "Equipment with its checks, what was cleaned or spilled, and the lots in use. Entries are added and never altered: a correction is an entry of its own, and what it corrects stays to be read.",
        // Equipment
        Equipment => "Equipment",
        NoEquipment => "No equipment is entered.",
        AddEquipment => "Add equipment",
        NotChosen => "choose",
        NotInBench => "no longer in the Bench",
        Name => "Name",
        Serial => "Serial number",
        Rotor => "Rotor of the Bench that it turns",
        RotorHint => "of a centrifuge; a case with this rotor spins on it",
        NoRotor => "none: other equipment",
        EverySpeed => "Months between checks of the speed",
        EveryTimer => "Months between checks of the timer",
        EveryHint => "as the clinic sets it; empty: none is set",
        SerialIs => "serial number",
        Turns => "turns",
        NoSerial => "no serial number",
        // Checks
        EnterCheck => "Enter a check",
        OfEquipment => "Equipment",
        Checked => "Checked",
        On => "Day of the check",
        Result => "Result",
        Passed => "in order",
        Failed => "not in order",
        Found => "What was found",
        FoundHint => "what was set, what was measured, with what",
        Due => "Next due on",
        DueHint => "empty: by the months set for it, if any",
        // Care
        EnterCare => "Enter a cleaning or a spill",
        Kind => "What happened",
        Where => "Where",
        Elsewhere => "elsewhere: say so below",
        OnDay => "Day",
        AtTime => "Time",
        Done => "What was done",
        DoneHint => "no patient’s name",
        // Shelf
        Shelf => "Lots in use",
        ShelfWhat => "Offered at the fields of lots, so that a tap fills lot and expiry. What counts is the label in hand.",
        NoLots => "No lot is on the list.",
        AddLot => "Add a lot",
        LotOf => "Of what",
        AdditionName => "Name of the addition",
        AdditionNameHint => "of an addition only",
        Lot => "Lot",
        LotHint => "typed, or its bar code scanned",
        Expiry => "Expiry",
        ExpiryHint => "the last good day",
        Product => "Product number",
        ProductHint => "the digits behind (01), if it is there",
        Opened => "Opened on",
        OpenedHint => "empty: not opened",
        Proposed => "In recent records, and not on the list",
        WhichContainer => "Which container",
        WhichAgent => "Which anticoagulant",
        ProductNotSaid => "not said: shown, and not offered",
        FromShelf => "In use by the log:",
        LabelCounts => "What counts is the label in hand.",
        ExpiredLot => "out of date",
        // Doing
        By => "Who enters it",
        Enter => "Enter",
        Cancel => "Cancel",
        Why => "Why",
        EndEquipment => "No longer in use",
        EndLot => "No longer in use",
        Correct => "Correct",
        TakeOut => "It should not have been entered",
        Correcting => "What stands now is corrected by a new entry. Who and why are kept.",
        Entered => "Entered.",
        NotNow => "The stores are not open yet. Try again.",
        // Entries
        Entries => "All entries",
        NoEntry => "Nothing is entered yet.",
        TakenOut => "taken out",
        RemoveText => "Remove its text for good",
        RemoveTextWhat => "What it said, and what its corrections said and why, is removed from this device. That something was entered, when and by whom stays. Cases and records keep what they took over from it. Backups made before still hold it; one may bring back what had been put aside.",
        RemoveTextSure => "It is final: no backup made from now on holds the text.",
        RemoveTextNow => "Remove for good",
        Before => "before",
        // Day
        Today => "Today, of the cases open on this device",
        Case => "Case",
        Patient => "Patient",
        ReadyBy => "Ready by",
        NeedleBy => "Machine time alone: needle before",
        Method => "Kind",
        Stage => "Stage",
        NeedleByWhat => "Needle before: ready-by less the machine’s planned times, and nothing else. Draw, handling, collection and a count have to be taken off as well.",
        Centrifuges => "Centrifuges, by the cases open on this device",
        NotSaid => "not said",
        Late => "passed",
        NeedleIsIn => "it is in",
        NoPlan => "no programme chosen",
        OpenStages => "not told: a stage has no planned time",
        Free => "free",
        // In the case
        Centrifuge => "Centrifuge",
        WhichCentrifuge => "Choose the centrifuge it spins on, so that its checks are looked at and it stands in the record.",
        SpinsOn => "It spins on",
        NoCentrifuge => "No centrifuge of the log turns this rotor, so no check of speed or timer is looked at.",
        Discards => "Discarded",
        DiscardsWhat => "Containers opened and not used, containers discarded, product left over: with reason, lot and who.",
        DiscardKindIs => "What",
        DiscardCount => "How many containers",
        DiscardLot => "Their lot",
        DiscardWhat => "What was left over",
        DiscardWhatHint => "product, plasma or cells",
        DiscardVolume => "How much",
        DiscardWhy => "Reason",
        DiscardHow => "How it was disposed of",
        TakeBack => "Take back",
    }
}

impl Phrase for Checked {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Checked::Speed => "Speed",
            Checked::Timer => "Timer",
        })
    }
}

impl Phrase for CareKind {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            CareKind::Cleaning => "Cleaned",
            CareKind::Spill => "Spilled",
        })
    }
}

impl Phrase for Good {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Good::Containers => "Containers",
            Good::Anticoagulant => "Anticoagulant",
            Good::Addition => "Addition",
        })
    }
}

impl Phrase for DiscardKind {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            DiscardKind::OpenedUnused => "Opened, not used",
            DiscardKind::Container => "Container discarded",
            DiscardKind::LeftOver => "Left over",
        })
    }
}

/// Why an entry was refused, and what to do.
impl Phrase for Refused {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Refused::NoName => "Say who enters it.",
            Refused::NoReason => "Say why.",
            Refused::NoEquipmentName => "Give it a name.",
            Refused::NothingDone => "Say what was done.",
            Refused::NoLot => "Enter the lot.",
            Refused::NoAdditionName => "Name the addition.",
            Refused::NotThere => "What it is about is no longer there. Look at the entries below.",
            Refused::OtherKind => "A correction must be of the same kind.",
            Refused::DueBefore => {
                "It is due again on or before the day it was checked. Correct one of the two days."
            }
            Refused::Ahead => "That lies ahead. Enter what has happened.",
            Refused::Interval => "Enter 1 to 120 months, or leave it empty.",
            Refused::Listed => "This lot is on the list already.",
        })
    }
}

impl Phrase for DiscardRefused {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            DiscardRefused::NoName => "Nobody is named as technician. Enter the name in the Order first.",
            DiscardRefused::NoReason => "Say why, or how it was disposed of.",
            DiscardRefused::NoCount => "Enter how many containers, 1 to 12.",
            DiscardRefused::NoVolume => "Enter how much, in mL.",
            DiscardRefused::NoWhat => "Say what was left over.",
            DiscardRefused::NoLot => "Enter their lot; where it cannot be read, say so.",
        })
    }
}

/// What a field of the log could not take, and how to type it.
impl Phrase for NotRead {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            NotRead::Day => "No day can be read here. Type it as 12 Mar 2026.",
            NotRead::DayAsked => "Day and month could be exchanged. Type it as 12 Mar 2026.",
            NotRead::Time => "No time can be read here. Type it as 14:30.",
            NotRead::Product => {
                "This is no product number: 8, 12, 13 or 14 digits, of which the last checks the others."
            }
            NotRead::Months => "Enter 1 to 120 months, or leave it empty.",
            NotRead::NotChosen => "Choose one.",
        })
    }
}

/// How a check stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CheckLine {
    /// Of what.
    pub of: Checked,
    /// How it stands.
    pub check: crate::log::LastCheck,
    /// What is to be said of it today.
    pub state: Option<CheckState>,
}

impl Phrase for CheckLine {
    fn english(&self) -> Cow<'static, str> {
        let of = self.of.english();
        let day = |day| Day(day).english().into_owned();
        let due = self.check.due.map(|due| format!(", next due {}", day(due))).unwrap_or_default();
        Cow::Owned(match (self.state, self.check.on) {
            (Some(CheckState::Failed(on)), _) => format!("{of}: NOT in order on {}{due}", day(on)),
            (Some(CheckState::Overdue(due)), _) => format!("{of}: check OVERDUE since {}", day(due)),
            (Some(CheckState::Never), _) => format!("{of}: no check entered, and the clinic set an interval"),
            (None, Some(on)) if due.is_empty() => {
                format!("{of}: in order on {}; no next day is set", day(on))
            }
            (None, Some(on)) => format!("{of}: in order on {}{due}", day(on)),
            (None, None) => format!("{of}: no check entered, no interval set"),
        })
    }
}

/// A lot as it stands on the shelf list.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotLine<'a> {
    /// Its entry.
    pub lot: &'a LotEntry,
    /// It is out of date.
    pub expired: bool,
    /// How numbers are written.
    pub numbers: NumberStyle,
}

impl Phrase for LotLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        let day = |day| Day(day).english().into_owned();
        let lot = self.lot;
        let parts = [
            named(lot, self.numbers),
            Some(format!("lot {}", lot.lot)),
            Some(lot.expiry.map_or("no expiry entered".to_owned(), |last| format!("expiry {}", day(last)))),
            lot.opened.map(|on| format!("opened {}", day(on))),
            lot.product.map(|number| format!("product number {number}")),
        ];
        let all: Vec<_> = parts.into_iter().flatten().collect();
        let expired = if self.expired { " — OUT OF DATE" } else { "" };
        Cow::Owned(format!("{}{expired}", all.join(", ")))
    }
}

/// What it is a lot of, where its entry says so.
fn named(lot: &LotEntry, numbers: NumberStyle) -> Option<String> {
    match &lot.product_is {
        Some(ProductIs::Container { name, .. }) => Some(name.clone()),
        Some(ProductIs::Agent(agent)) => Some(AgentName(*agent, numbers).english().into_owned()),
        None => Some(lot.name.clone()).filter(|name| !name.is_empty()),
    }
}

/// A lot of the list at the field of a case: its button, or why it has none.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LotOffer<'a> {
    /// Its entry.
    pub lot: &'a LotEntry,
    /// Why it is not offered.
    pub not: Option<NotOffered>,
    /// How numbers are written.
    pub numbers: NumberStyle,
}

impl Phrase for LotOffer<'_> {
    fn english(&self) -> Cow<'static, str> {
        let day = self.lot.expiry.map(|day| Day(day).english().into_owned()).unwrap_or_default();
        let lot = match named(self.lot, self.numbers) {
            Some(name) => format!("{name}, lot {}", self.lot.lot),
            None => format!("Lot {}", self.lot.lot),
        };
        Cow::Owned(match self.not {
            None => format!("{lot}, expiry {day}"),
            Some(NotOffered::Expired) => format!("{lot}: OUT OF DATE since {day}."),
            Some(NotOffered::OtherProduct) => format!("{lot}: not what this case uses."),
            Some(NotOffered::ProductNotSaid) => {
                format!("{lot}: the log does not say of which product. Look at the label; scan or type it.")
            }
            Some(NotOffered::CaseOpen) => format!("{lot}: offered once the case says what it uses."),
            Some(NotOffered::InContainer) => {
                format!("{lot}: these containers come with their anticoagulant. Scan or type its lot.")
            }
            Some(NotOffered::OtherNumber) => {
                format!("{lot}: another product number than the Bench names. Look at the label, and scan it.")
            }
            Some(NotOffered::NoExpiry) => format!("{lot}: expiry not entered. Type it from the label."),
        })
    }
}

/// What became of the text of an entry that was to be removed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnsaidLine(pub Result<Unsaid, StoreError>);

impl Phrase for UnsaidLine {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match &self.0 {
            Ok(Unsaid::Removed { texts, left }) => {
                let left = match left {
                    0 => "",
                    _ => "; a text put aside that names it among other things stays",
                };
                let texts =
                    if *texts == 1 { "1 stored text".to_owned() } else { format!("{texts} stored texts") };
                format!("Removed: {texts}{left}.")
            }
            Ok(Unsaid::Changed) => "Not removed: it was changed meanwhile. Look at it again.".to_owned(),
            Err(error) => format!("Not removed: {}.", StoreFault(error).english().trim_end_matches('.')),
        })
    }
}

/// One line of what was thrown away, as it stands on card and screen.
#[derive(Debug, Clone)]
pub struct Discarded<'a> {
    /// The line.
    pub line: &'a Discard,
    /// Its volume as written.
    pub volume: Option<String>,
    /// When, as written.
    pub at: String,
    /// Who took it back, and when.
    pub back: Option<(String, String)>,
}

impl Phrase for Discarded<'_> {
    fn english(&self) -> Cow<'static, str> {
        let Discard { kind, count, what, lot, why, by, .. } = self.line;
        let how_many = match count {
            Some(1) => Some("1 container".to_owned()),
            Some(n) => Some(format!("{n} containers")),
            None => None,
        };
        let said = |text: &String| Some(text.clone()).filter(|t| !t.is_empty());
        let lot = said(lot).map(|lot| format!("lot {lot}"));
        let parts = [how_many, said(what), self.volume.clone(), lot, said(why), said(by)];
        let parts: Vec<_> = parts.into_iter().flatten().collect();
        let back = match &self.back {
            Some((by, at)) if by.is_empty() => format!(", taken back {at}"),
            Some((by, at)) => format!(", taken back {by}, {at}"),
            None => String::new(),
        };
        Cow::Owned(format!("{}, {}: {}{back}", self.at, kind.english(), parts.join(", ")))
    }
}

/// What is said under the field of a moment: when a product is to be ready, when a part was given.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReadyLine {
    /// It could not be read.
    Unreadable,
    /// Day and time, as written.
    At(String),
    /// When a part was given could not be read.
    GivenUnreadable,
    /// Day and time it was given, as written.
    GivenAt(String),
    /// When a part was given, and what that does not go with.
    GivenOdd {
        /// When.
        at: Instant,
        /// What.
        odd: GivenOdd,
        /// Local time.
        offset: Offset,
    },
}

impl Phrase for ReadyLine {
    fn english(&self) -> Cow<'static, str> {
        match self {
            ReadyLine::Unreadable => Cow::Borrowed(
                "No time can be read here, so the day list does not show it. Type it as 14:30, or as 14 Mar 2026 9:15.",
            ),
            ReadyLine::At(at) => Cow::Owned(format!("Ready by {at}.")),
            ReadyLine::GivenUnreadable => Cow::Borrowed(
                "No time can be read here; the card shows it as typed. Type it as 14:30, or as 14 Mar 2026 9:15.",
            ),
            ReadyLine::GivenAt(at) => Cow::Owned(format!("Given {at}.")),
            ReadyLine::GivenOdd { at, odd, offset } => {
                let given = DayAndTime(*at, *offset).english();
                let other = |other: Instant| beside(other, *at, *offset);
                let odd = match *odd {
                    GivenOdd::BeforeHandOver(over) => format!(
                        "before the hand-over at {}. Correct the one that is wrong; a time of another day is typed with its day.",
                        other(over)
                    ),
                    GivenOdd::BeforeCollected(collected) => format!(
                        "before the product was collected at {}. Correct the one that is wrong; a time of another day is typed with its day.",
                        other(collected)
                    ),
                    GivenOdd::Ahead => {
                        "which lies ahead of this device’s clock. Look whether it is right.".to_owned()
                    }
                    GivenOdd::WasAhead => {
                        "typed before that time had come, so it does not say that it was given. Enter it again once it was."
                            .to_owned()
                    }
                    GivenOdd::PastUseBy(by) => {
                        format!(
                            "after the use-by, {}. If that is right, tell the prescriber; the card says it.",
                            other(by)
                        )
                    }
                };
                Cow::Owned(format!("Given {given}, {odd}"))
            }
        }
    }
}

/// The moment that the needle has to be in before, by the machine's times alone, as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NeedleBefore(pub String);

impl Phrase for NeedleBefore {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("before {}, less draw and handling", self.0))
    }
}

/// What a centrifuge is doing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Taken {
    /// A case turns in it, until a time as written.
    Until {
        /// Its check sign.
        sign: String,
        /// Until when; `None` where no plan tells.
        until: Option<String>,
    },
    /// Its time is over, or it stopped, and nothing says that it was emptied.
    Over {
        /// Its check sign.
        sign: String,
    },
    /// A case is drawn and waits for it.
    Waits {
        /// Its check sign.
        sign: String,
        /// Spin by, as written.
        by: Option<String>,
    },
}

impl Phrase for Taken {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match self {
            Taken::Until { sign, until: Some(at) } => format!("{sign} turns until {at}"),
            Taken::Until { sign, until: None } => format!("{sign} turns; no plan says until when"),
            Taken::Over { sign } => {
                format!("{sign} is over or has stopped, and its next step is not entered")
            }
            Taken::Waits { sign, by: Some(by) } => format!("{sign} is drawn and waits; spin by {by}"),
            Taken::Waits { sign, by: None } => format!("{sign} is drawn and waits"),
        })
    }
}

/// What is wrong with two cases on one centrifuge.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ClashLine {
    /// They turn in it at once, by what is entered.
    Both(Vec<String>),
    /// They may be in one machine.
    MayBe(Vec<String>),
    /// One waits, and must spin before the other is out.
    TooLate {
        /// Who waits.
        waits: String,
        /// Spin by, as written.
        by: String,
        /// Who turns.
        turns: String,
        /// Both name the one machine.
        named: bool,
    },
}

impl Phrase for ClashLine {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match self {
            ClashLine::Both(signs) => format!(
                "CLASH: {} turn in it at once, by what is entered. Look which is in it, and correct the other.",
                signs.join(" and ")
            ),
            ClashLine::MayBe(signs) => {
                format!("{} may be in one centrifuge, by what is entered: look.", signs.join(" and "))
            }
            ClashLine::TooLate { waits, by, turns, named: true } => {
                format!("CLASH: {waits} must spin by {by}, and {turns} is in it until after that.")
            }
            ClashLine::TooLate { waits, by, turns, named: false } => format!(
                "{waits} must spin by {by}, and {turns} turns until after that: look whether they need one centrifuge."
            ),
        })
    }
}

/// The name of a centrifuge and its serial number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MachineName<'a> {
    /// Name.
    pub name: &'a str,
    /// Serial number; empty where it has none.
    pub serial: &'a str,
}

impl Phrase for MachineName<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match self.serial {
            "" => self.name.to_owned(),
            serial => format!("{}, serial number {serial}", self.name),
        })
    }
}

/// One entry of the log, in a line.
#[derive(Debug, Clone)]
pub struct EntryLine<'a> {
    /// What it says.
    pub what: &'a crate::log::What,
    /// Name of the equipment it is about, or lot; empty where it is about none.
    pub about: &'a str,
    /// When a cleaning or a spill was, as written; empty otherwise.
    pub when: String,
    /// How numbers are written.
    pub numbers: NumberStyle,
}

impl Phrase for EntryLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        use crate::log::What as W;
        let day = |day| Day(day).english().into_owned();
        let of = if self.about.is_empty() { "elsewhere" } else { self.about };
        Cow::Owned(match self.what {
            W::Equipment(e) => {
                let every = e.every.iter().map(|(what, months)| {
                    format!(", {} checked every {months} months", what.english().to_lowercase())
                });
                let name = MachineName { name: &e.name, serial: &e.serial }.english();
                format!("Equipment: {name}{}", every.collect::<String>())
            }
            W::Check(c) => {
                let result = if c.passed { "in order" } else { "NOT in order" };
                let due = c.due.map(|d| format!(", next due {}", day(d))).unwrap_or_default();
                let found = if c.found.is_empty() { String::new() } else { format!(", {}", c.found) };
                format!("{} of {of} checked on {}: {result}{found}{due}", c.what.english(), day(c.on))
            }
            W::Care(c) => format!("{}, {of}, {}: {}", c.kind.english(), self.when, c.done),
            W::Lot(lot) => format!(
                "{}: {}",
                lot.of.english(),
                LotLine { lot, expired: false, numbers: self.numbers }.english()
            ),
            W::Ended(e) => format!("No longer in use, {of}: {}", e.why),
            W::Correction(c) => format!("Correction: {}", c.why),
            W::Removed(r) => format!("Text removed, {}, {}: {}", r.by, self.when, r.why),
        })
    }
}
