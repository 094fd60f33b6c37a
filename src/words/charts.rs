//! Words of the page about what counts say: charts, lot recall, check of the process. The sentences of the
//! reckoning itself are in [`super::quality`].

use super::{Language, Phrase};
use crate::product::kind::ProductKind;
use crate::quality::learned::OwnStands;
use crate::quantity::time::Date;
use crate::quantity::write::NO_BREAK;
use std::borrow::Cow;

crate::phrases! {
    /// Labels, headings and buttons.
    ChartWord {
        Protocol => "Protocol",
        Container => "Container",
        AllContainers => "all containers together",
        ShowDemo => "Show the demo history",
        DemoHistory => "Demo history, kept out of the clinic’s statistics",
        // The table
        Number => "Number",
        Day => "Day",
        ContainerLot => "Containers, lot",
        AnticoagulantLot => "Anticoagulant, lot",
        By => "By",
        RunningMean => "Running mean",
        Notes => "Remarks",
        Latest => "Latest nine",
        AllRows => "All counts on the chart, as a table",
        InBaseline => "in the limits’ period",
        Earlier => "Earlier counts",
        Later => "Later counts",
        // One count
        Point => "The count chosen",
        ShowCount => "Show this count",
        OpenRecord => "Open its record",
        LeaveOut => "Leave this count out",
        LeaveOutNow => "Leave it out",
        LetIn => "Let it in again",
        Who => "Who decides",
        Why => "Why",
        NotEntering => "Counts that do not enter",
        // Signals and limits
        Signals => "What to investigate",
        InOrder => "Look at, in this order",
        Rules => "Which rules speak",
        Limits => "Where the limits come from",
        PeriodName => "Name of the period",
        FromNumber => "Number of the first count",
        UntilNumber => "Number of the last count",
        TakePeriod => "Take the limits from this period",
        FirstTwenty => "Back to the first 20",
        // Groups
        Groups => "By lot, technician or rotor",
        ToldApart => "Told apart by",
        Count => "Counts",
        Middle => "Middle",
        LeastToMost => "Least to most",
        FirstToLast => "First to last",
        ShowAll => "Show all again",
        NotSaid => "not said",
        NotInBench => "no longer in the Bench",
        // Against
        Against => "Against haematocrit, count and volume",
        LineTable => "The line as a table",
        MarksTable => "The counts as a table",
        // Recall
        Recall => "Which preparations used lot …",
        Lot => "Lot",
        Case => "Case",
        Patient => "Patient",
        Where => "Lot of the",
        Standing => "Record",
        SignedRecord => "signed",
        EarlierEntry => "signed, amended since",
        OpenAmendment => "open amendment",
        OpenCase => "open case",
        DiscardedCase => "discarded case",
        // Check of the process
        Process => "Check your process",
        Begin => "Begin a check of ten",
        GiveUp => "Give the check up",
        Report => "Report for the lead",
        PrintReport => "Print the report",
        Adopt => "Make it this protocol’s own",
        BackToLiterature => "Back to what held before",
        Lead => "Lead’s name",
        Accepted => "Counts accepted",
        Mean => "Mean",
        Deviation => "Standard deviation",
        Variation => "Coefficient of variation",
        Days => "First to last",
        ContainerLots => "Lots of containers",
        AnticoagulantLots => "Lots of anticoagulant",
        Technicians => "Technicians",
        NextReads => "The next count will read, 80\u{a0}% range",
        LeftOut => "Counts left out",
        BegunBy => "Check begun by",
        Signature => "Lead, day and signature",
        NextCount => "What the next count would change",
    }
}

crate::phrases! {
    /// Sentences.
    ChartSays {
        NoCounts => "No count of this protocol enters yet. A count enters when its sample, mixing and dilution are said.",
        NoSignal => "No rule speaks.",
        Key => "Straw: middle of the limits’ period. Dashed: 3 SD from it. Heavy line: running mean; dotted: its limits. A diamond in a ring asks to investigate.",
        TapPoint => "Tap a point, or its number in the table, to see the preparation it stands for.",
        KeyAgainst => "Line: middle of what a count there will read; hatched: 80\u{a0}% of counts. Drawn over what was seen and no further.",
        NoLine => "A line needs five counts that differ in this.",
        LineOnly => "These lines are shown. What a case expects is not drawn from them.",
        OfContainer => "Of the counts with this container alone.",
        MayHold => "What is typed there reads like this lot, or holds it beside other signs. Look at each.",
        LeftOutDone => "Count left out.",
        LetInDone => "Count let in again.",
        Decided => "Decided.",
        RecallHow => "Counted or not, signed, open or discarded; also where the lot was corrected after the needle or the hand-over. Capitals and spaces do not matter.",
        NoneUsed => "No preparation on this device names this lot by exactly this spelling.",
        ProcessWhat => "Ten counted preparations of this protocol show what it gives here. Until then a range from literature says what others found.",
        ProcessEnd => "The check is complete. The lead may make these ten counts the protocol’s own.",
        DemoNotDecided => "Nothing is decided about a demo.",
        RulesHold => "They speak until this view is left.",
    }
}

/// The stable number of a kind of product.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct StableName(pub ProductKind);

impl Phrase for StableName {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            ProductKind::OffTheTop => "Fold",
            ProductKind::Concentrate | ProductKind::WithCells => "Recovery",
        })
    }
}

/// A day of a year that is told elsewhere: 12 Mar.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ShortDay(pub Date);

impl Phrase for ShortDay {
    fn english(&self) -> Cow<'static, str> {
        let at = usize::from(self.0.month()).wrapping_sub(1);
        let month = Language::English.months().get(at).copied().unwrap_or_default();
        Cow::Owned(format!("{}{NO_BREAK}{month}", self.0.day()))
    }
}

fn counts(n: usize) -> String {
    if n == 1 { "1 accepted count".to_owned() } else { format!("{n} accepted counts") }
}

fn more(n: usize) -> String {
    if n == 1 { "1 more accepted count".to_owned() } else { format!("{n} more accepted counts") }
}

/// Lines put together from what was written before.
#[derive(Debug, Clone, PartialEq)]
pub enum ChartLine {
    /// What is charted, of which protocol.
    Title(ProductKind, String),
    /// How many counts, from which day to which.
    Counts(ProductKind, usize, String, String),
    /// What is expected of the next count: middle, low, high, and what it rests on.
    Expected(String, String, String, String),
    /// So many invented counts, as what something rests on.
    Invented(usize),
    /// What an expectation in a case rests on.
    RestsOn(ProductKind, String),
    /// Fold of white cells: middle, low, high.
    White(String, String, String),
    /// Limits of the first twenty: how many, days, low, middle, high.
    FirstTwenty(usize, String, String, [String; 3]),
    /// Limits of a chosen period: name, how many, low, middle, high, who chose it.
    Period(String, usize, [String; 3], String),
    /// Counts until there are limits.
    ToGo(usize),
    /// A chart in words: counts, signals.
    Picture(usize, usize),
    /// Counts against something, in words.
    AgainstPicture(String, usize),
    /// One count: its number, day, kind, value.
    Point(usize, String, ProductKind, String),
    /// Signals that are not listed.
    MoreSignals(usize),
    /// Slope with its range, of platelets on the count.
    Proportion(String, String, String),
    /// Accepted counts of a check.
    Progress(usize, usize),
    /// Still wanted.
    Wanted(usize),
    /// Who made ten counts the protocol's own, and when.
    Own(String, String),
    /// How the ten counts stand today; nothing to say where all of them enter.
    OwnNow(OwnStands),
    /// So many preparations used the lot.
    Used(usize),
    /// So many preparations may have used it.
    MayHaveUsed(usize),
    /// A protocol that only records know.
    Gone(String),
    /// A container, and how many counts of it there are.
    InContainer(String, usize),
    /// A container with too few accepted counts for a series of its own.
    ContainerFew(usize),
    /// A container with a series of its own.
    ContainerOwn(usize),
    /// A chosen period, and how many accepted counts are left in it.
    PeriodShort(String, usize),
    /// Report of a protocol.
    ReportOf(String),
    /// A lot that begins to be used.
    From(String, String),
}

impl Phrase for ChartLine {
    fn english(&self) -> Cow<'static, str> {
        use ChartLine as L;
        let what = |kind: &ProductKind| match kind {
            ProductKind::OffTheTop => "Concentration of the product over the blood’s own",
            ProductKind::Concentrate | ProductKind::WithCells => "Platelets in product over platelets drawn",
        };
        Cow::Owned(match self {
            L::Title(kind, name) => format!("{}, {name}", StableName(*kind).english()),
            L::Counts(kind, n, from, until) => {
                format!("{}, {from} to {until}. {}, logarithmic scale.", counts(*n), what(kind))
            }
            L::Expected(middle, low, high, ground) => {
                format!("The next count will read about {middle} ({low} to {high}), {ground}.")
            }
            L::Invented(n) => format!("from {n} invented counts"),
            L::RestsOn(kind, ground) => format!("{} {ground}", StableName(*kind).english()),
            L::White(middle, low, high) => {
                format!("White cells: {middle} ({low} to {high}) times the blood’s own.")
            }
            L::FirstTwenty(n, from, until, [low, middle, high]) => format!(
                "Limits from the first {n} accepted counts, {from} to {until}: middle {middle}, 3 SD from it {low} and {high}."
            ),
            L::Period(name, n, [low, middle, high], by) => format!(
                "Limits from the period “{name}”, {}, chosen by {by}: middle {middle}, 3 SD from it {low} and {high}.",
                counts(*n)
            ),
            L::ToGo(n) => format!("{} until there are limits.", more(*n)),
            L::Picture(n, 0) => {
                format!("Chart of {}; no rule speaks. The table below holds the same.", counts(*n))
            }
            L::Picture(n, s) => {
                let signals = if *s == 1 { "1 of them asks".to_owned() } else { format!("{s} of them ask") };
                format!("Chart of {}; {signals} to investigate. The table below holds the same.", counts(*n))
            }
            L::AgainstPicture(covariate, n) => {
                format!("{} against: {covariate}. The tables below hold the same.", counts(*n))
            }
            L::Point(n, day, kind, value) => {
                format!("No. {n}, {day}: {} {value}", StableName(*kind).english().to_lowercase())
            }
            L::MoreSignals(n) => format!("{n} earlier, in the table."),
            L::Proportion(middle, low, high) => format!(
                "Platelets in product follow the blood’s own count to the power {middle} ({low} to {high}); 1 is in proportion."
            ),
            L::Progress(n, of) => format!("{n} of {of} accepted counts"),
            L::Wanted(n) => format!("{} wanted.", more(*n)),
            L::Own(by, day) => format!("Ten counts are this protocol’s own since {day}, decided by {by}."),
            L::OwnNow(OwnStands::Holds { kept, of }) if kept == of => return "".into(),
            L::OwnNow(OwnStands::Holds { kept, of }) => {
                format!("{} of them no longer enter; the other {kept} hold.", of.saturating_sub(*kept))
            }
            L::OwnNow(OwnStands::OtherKind) => {
                return "The protocol made another kind of product then, so they say nothing of this one and do not hold."
                    .into();
            }
            L::OwnNow(OwnStands::TooFew { kept, of }) => format!(
                "Only {kept} of the {of} still enter; three are the least, so what held before holds."
            ),
            L::MayHaveUsed(1) => "1 preparation may have used it: it is written otherwise there.".to_owned(),
            L::MayHaveUsed(n) => format!("{n} preparations may have used it: it is written otherwise there."),
            L::Gone(name) => format!("{name} (no longer in Bench)"),
            L::InContainer(name, 1) => format!("{name}: 1 count, entering or not"),
            L::InContainer(name, n) => format!("{name}: {n} counts, entering or not"),
            L::ContainerFew(n) => format!(
                "{} with this container. From ten on a case with it rests on them alone; until then on those of all containers.",
                counts(*n)
            ),
            L::ContainerOwn(n) => {
                format!("{} with this container: a case with it rests on these alone.", counts(*n))
            }
            L::PeriodShort(name, n) => format!(
                "The period “{name}” holds {} now, fewer than 20, so it does not count until they enter again.",
                counts(*n)
            ),
            L::Used(1) => "1 preparation used it.".to_owned(),
            L::Used(n) => format!("{n} preparations used it."),
            L::ReportOf(name) => format!("Check of the process: {name}"),
            L::From(what, lot) => format!("{what}: {lot}"),
        })
    }
}
