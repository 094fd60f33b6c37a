//! What stands on the printed card, its labels, the blank worksheet and the question list. Amounts are written
//! before they come here; what was typed is put in as typed.

use super::spin::UseByTaken;
use super::{Phrase, unit};
use crate::assess::{Question, Shared};
use crate::product::clock::{ClockPolicy, SetBy};
use crate::quantity::Seconds;
use crate::quantity::time::Span;
use crate::quantity::unit::Conventions;
use crate::record::changes::Part;
use crate::scan::Gtin;
use std::borrow::Cow;

crate::phrases! {
    /// Fixed words of the paper.
    CardWord {
        Title => "Preparation card, platelet-rich plasma",
        AmendedTitle => "Amended preparation card, platelet-rich plasma",
        BlankTitle => "Worksheet by hand, platelet-rich plasma",
        QuestionTitle => "Questions for the prescriber",
        DemoPaper => "Demo, not a patient",
        DemoLabel => "Demo",
        NoPatient => "no patient reference",
        NoSecond => "no second identifier",
        SecondIdentifier => "second identifier",
        Reference => "patient reference",
        Date => "date",
        PlannedAndDone => "Planned and done",
        Planned => "planned",
        Done => "done",
        Time => "time",
        By => "by",
        With => "with",
        BloodCount => "Blood count",
        NotCounted => "not counted",
        NotConfirmed => "not confirmed",
        NotRead => "typed, not read",
        NoMark => "mark not entered",
        NotCertain => "mark or amount not certain",
        BloodUsed => "Blood used",
        Spin => "Spin",
        ByHand => "By hand",
        ProductKept => "Product kept",
        PoorPlasmaKept => "Platelet-poor plasma kept",
        Added => "Added",
        AddedUnsaid => "Added, not said in full",
        Made => "What was made",
        MadePlanned => "What to expect",
        Doses => "Dose by part of the site",
        DosesPlanned => "Dose by part of the site, as planned",
        Today => "today",
        PlateletsDrawn => "Platelets drawn",
        ProductCount => "Product count",
        FromBloodCount => "from the blood’s count",
        FromPlannedDraw => "from the blood’s count, as planned",
        Concentration => "Concentration",
        Fold => "Fold",
        Ceiling => "ceiling",
        PlateletsInProduct => "Platelets in product",
        Recovery => "Recovery",
        WhiteCells => "White cells",
        RedCells => "Haematocrit",
        RedCount => "Red cells",
        IfCount => "If the blood’s count were",
        InAll => "in all",
        WholeSite => "whole site",
        PlannedVolume => "planned",
        GivenVolume => "given",
        ByTheCount => "by the count",
        PlannedByCount => "planned volume, by the count",
        PartlyByCount => "volume planned in part, by the count",
        NoDose => "dose not known",
        Ledger => "Where every millilitre went",
        Troubles => "What went wrong",
        SetAside => "set aside",
        SetAsideLate => "set aside after collection",
        OpenStop => "Open: not decided.",
        CopyHead => "Copy:",
        NoLabelHead => "No product label",
        NoLabelWhy => "A Stop is open. The label prints when the prescriber has decided, or not at all.",
        MadeBy => "made by, signature, time",
        CheckedBy => "checked by, signature, time",
        HandedTo => "handed to, signature, time",
        AnsweredBy => "answered by, signature, time",
        AskedBy => "asked by, signature, time",
        HandDrawSite => "site of the draw",
        HandSpin => "spin temperature and brake as set",
        HandGivenAt => "given at",
        HandKept => "stored at",
        HandNotes => "notes",
        NotesByHand => "by hand: site of the draw; spin temperature and brake as set; given at; stored at; notes",
        CutHere => "cut here",
        Sticker => "clinic’s own patient sticker, 50\u{a0}×\u{a0}45\u{a0}mm",
        ProductHead => "PRP",
        PoorHead => "PPP",
        PoorName => "Platelet-poor plasma.",
        NotProduct => "This is not the product.",
        NotForInjection => "Not for injection unless ordered.",
        NotIntravenous => "Not for intravenous use.",
        NotCountedLabel => "platelets not counted",
        UseBy => "Use by",
        MadeAt => "made",
        Volume => "volume",
        DrawnUp => "drawn up",
        PointsAsk => "The order leaves open",
        NothingOpen => "The order leaves nothing open.",
        CautionsAsk => "For the prescriber to decide or know",
        Answer => "answer",
        Identity => "identity checked: how, by, time",
        OpenPoints => "left open by the order",
        OrderedBy => "ordered by",
        MadeByShort => "made by",
        Anticoagulant => "Anticoagulant in each",
        EachContainer => "In each container",
        Standing => "counted, or predicted, not counted",
        Checks => "second person’s check, lot, expiry",
        ContainerWith => "container, lot, expiry",
        SpinWith => "rotor, radius (maximum, mean, minimum)",
        CountWith => "kind of sample, haematocrit",
        ProductCountWith => "kind of sample, dilution, mixed",
        UseByWith => "use by, and what set it",
        NeedleWith => "needle in, needle out",
        AddedWith => "what, strength, volume after it",
        Site => "side and site",
        LabelContents => "platelets, counted or not",
        FillMark => "blood to mark",
        DoseStanding => "dose, how known",
        NoSecondCheck => "no second person’s check of the amount",
        IdentityOpen => "identity not checked",
        IdentityDiffers => "the identifiers do not agree",
        NoPrescriber => "prescriber not named",
        NoLot => "lot not entered",
        Unsigned => "Changed since it was signed; the change is not signed yet.",
    }
}

/// A line with what was typed or written put in.
#[derive(Debug, Clone, PartialEq, Eq)]
#[allow(missing_docs)]
pub enum CardLine {
    /// The second identifier, a date: born 4 Aug 1982.
    Born(String),
    /// How and when identity was checked.
    IdentityBy { by: String, at: String },
    /// A check and what changed after it.
    Lapsed { what: String, by: String, at: String, before: String },
    /// What the order leaves open.
    LeavesOpen(Vec<String>),
    /// Volume of a part: 2 mL into the tendon.
    PartOf { volume: String, name: String },
    /// Ordered by.
    OrderedBy(String),
    /// From which case the order was taken over, and who held it against today's.
    TakenOver { sign: String, day: String, held: Option<(String, String)> },
    /// Made by.
    MadeBy(String),
    /// Also ordered.
    Also(String),
    /// Which session of a course.
    Session(String),
    /// What happened to the patient.
    AdverseEvent(String),
    /// That there was no product, and why.
    NoProduct(String),
    /// How the blood was counted.
    CountedBy(String),
    /// What the patient said.
    Said(String),
    /// Anticoagulant in each of n containers.
    AgentInEach { agent: String, n: u8 },
    /// Containers 1 to 3 in front of what they hold.
    ContainersHold { from: usize, to: usize, holds: String },
    /// 2 + 13 = 15 mL.
    Sum { anticoagulant: String, blood: String, fill: String },
    /// Containers that are in no sum, counted from 1.
    WithoutContainers(Vec<usize>),
    /// Containers without a mark yet, taken as planned.
    AsPlanned(Vec<usize>),
    /// Something set aside.
    SetAside(String),
    /// On a label printed after hand-over: when that was.
    CopyOf(String),
    /// What is left to a hand.
    ByHand(Vec<String>),
    /// Where blood was drawn from.
    DrawnFrom(String),
    /// When a part was given.
    GivenAt(String),
    /// A time of giving that does not tell that it was given.
    GivenUntold(String),
    /// A time that tells that it was given, of a part whose amount nobody entered.
    GivenAmountUntold(String),
    /// How the product was kept until it was given.
    Kept(String),
    /// Lot as typed.
    Lot(String),
    /// Lot as read from its code.
    LotScanned(String),
    /// Expiry as typed.
    Expiry(String),
    /// Expiry as read from its code.
    ExpiryScanned(String),
    /// Expiry as typed, empty where none is, beside the one in the code of the lot.
    ExpiryBesideCode { typed: String, code: String },
    /// What stood as a lot when the needle was in.
    LotCorrected(String),
    /// What stood as an expiry then; empty where nothing did.
    ExpiryCorrected(String),
    /// A check, and the lot that was looked at.
    CheckOfLot { what: String, lot: String },
    /// Product numbers of codes that were scanned and are of none that the Bench names.
    OtherProductScanned(Vec<Gtin>),
    /// Second person's check.
    SecondCheck { of: String, by: String, at: String },
    /// Corrected count.
    Corrected(String),
    /// Haematocrit of the blood.
    Haematocrit(String),
    /// Haemoglobin of the blood.
    Haemoglobin(String),
    /// White cells of the blood.
    White(String),
    /// Age of an older count.
    DaysOld(u32),
    /// Anticoagulant for 100 mL of blood.
    Per100 { agent: String, amount: String },
    /// Blood drawn from the patient today, discards and samples included.
    DrawnToday(String),
    /// What that is of the patient's blood.
    OfBloodVolume(String),
    /// Drawn today and in the eight weeks before.
    InEightWeeks(String),
    /// Spin by number.
    SpinNumber(usize),
    /// From a time to a time.
    FromTo { from: String, to: String },
    /// That what is reckoned over the blood's count rests on an older one; how many days old, where that is told.
    OverOlderCount(Option<u32>),
    /// Use-by, by the time since needle in.
    UseByCollection { at: String, after: String },
    /// Use-by, by the time since needle in at the latest: the spin's end may set an earlier one.
    UseByAtLatest { at: String, after: String, window: String },
    /// Use-by, by the time since the spin ended.
    UseBySpin { at: String, after: String },
    /// Volume after additions.
    AfterAdditions(String),
    /// Fold with its ceiling.
    FoldCeiling(String),
    /// Median and range: 4.6 (3.5 to 5.5).
    Ranged { median: String, low: String, high: String, unit: String },
    /// Platelets in product at a plausible count.
    IfCount { count: String, cells: String },
    /// A container by number.
    Container(usize),
    /// A container of so many.
    ContainerOf { n: usize, all: usize },
    /// Seen by.
    SeenBy { by: String, at: String },
    /// Decided by, and why.
    DecidedBy { by: String, at: String, reason: String },
    /// Decided by, why, and on what, before it became another matter.
    DecidedBefore { by: String, at: String, reason: String, found: String },
    /// Taken back as a mistake.
    TakenBack { by: String, at: String },
    /// Blood to a mark.
    ToMark(String),
    /// Amount of an agent.
    AgentAmount { agent: String, amount: String },
    /// The syringe fills each of so many containers.
    ForEachOf { amount: String, n: u8 },
    /// Product is in an anticoagulant.
    InAgent(String),
    /// Read by an analyser, but not to be relied on, or not after what was added.
    LabelUnsure(String),
    /// Counted, on a label.
    LabelCounted { count: String, agent: String },
    /// Product with what was added to it.
    WithAdded(String),
    /// Made when, by.
    MadeAt { day: String, at: String, by: String },
    /// Drawn up by.
    DrawnUpBy(String),
    /// Counted by dilution and readings, with their spread where there are several.
    Readings { readings: Vec<String>, dilution: String, spread: String },
    /// White cells over the blood's.
    OfTheBloods(String),
    /// When something was typed in; it may have happened before.
    EnteredAt(String),
    /// Amended by.
    AmendedBy { by: String, day: String, at: String, reason: String },
    /// On the card of an entry that is not the latest: who signed it when, and how often it was amended since.
    AmendedSince { by: String, day: String, at: String, times: usize },
    /// What an amendment changed.
    Changed(Vec<String>),
    /// One typed entry that changed.
    ChangedField { label: String, before: String, after: String },
    /// An entry of the Bench that is otherwise under the same name; without the name where that is not told.
    ChangedEntry { label: String, name: String },
    /// Who confirmed something, and when.
    Confirmed { by: String, at: String },
    /// Day and time that are not local.
    Utc(String),
    /// A side that was changed, written out with its site.
    ChangedSide { before: String, after: String },
    /// A hand-over that was entered and taken back.
    HandOverTakenBack { at: String, by: String, back: String },
    /// One change made after the hand-over.
    SinceHandOver(String),
    /// Something added since the first signature.
    FirstSigned { by: String, day: String, at: String },
    /// Handed over; to nobody by name where none is.
    HandedOver { to: String, at: String, who: String },
    /// What was done, before the signature.
    ToSign(String),
    /// Identifiers read back at hand-over, with side and site where `site` says so.
    ReadBack { by: String, at: String, site: bool },
    /// The rotor was balanced.
    Balanced { by: String, at: String },
    /// Made by, before the signature.
    MadeBySign(String),
    /// The start of the record's seal, to compare paper and record.
    RecordCheck(String),
    /// A card that was not kept at its signature.
    Reckoned { model: u32 },
    /// A card that was kept without what did not fit its page.
    KeptFitted,
    /// The record does not fit its seals from the entry of this signature on.
    ChangedOutside { by: String, day: String, at: String },
    /// Entries are missing at the end of the record.
    CutOutside,
    /// No entry has a seal.
    NotChecked,
    /// Only the entries from this signature on have one.
    CheckedSince { by: String, day: String, at: String },
    /// Who signed first.
    SignedBy { by: String, day: String, at: String },
    /// What always stands on the card.
    Notice { app: String, model: u32, agent: String },
}

impl Phrase for CardLine {
    fn english(&self) -> Cow<'static, str> {
        use CardLine as L;
        Cow::Owned(match self {
            L::Born(day) => format!("born {day}"),
            L::IdentityBy { by, at } => {
                format!("both stated by the patient: {}", by_at(by, at))
            }
            L::Lapsed { what, by, at, before } => format!("{what}: {}, {before}", by_at(by, at)),
            L::LeavesOpen(what) => format!("the order does not say: {}", what.join(", ")),
            L::PartOf { volume, name } => format!("{volume} {name}"),
            L::OrderedBy(who) => format!("ordered by {who}"),
            L::TakenOver { sign, day, held } => {
                let held = match held {
                    Some((by, at)) => format!("held against today’s: {}", by_at(by, at)),
                    None => "not held against today’s".to_owned(),
                };
                format!("order taken over from {sign}, {day}; {held}")
            }
            L::MadeBy(who) => format!("made by {who}"),
            L::Also(what) => format!("also ordered: {what}"),
            L::Session(text) => format!("session {text}"),
            L::AdverseEvent(text) => format!("Adverse event: {text}"),
            L::NoProduct(why) => format!("No product was handed over: {why}"),
            L::ByHand(what) => format!("by hand: {}", what.join("; ")),
            L::DrawnFrom(site) => format!("drawn from {site}"),
            L::GivenAt(at) => format!("at {at}"),
            L::GivenAmountUntold(at) => format!("given at {at}, how much is not told"),
            L::GivenUntold(at) => format!("{at} typed, not told as given"),
            L::Kept(how) => format!("kept until given: {how}"),
            L::CountedBy(method) => format!("counted by {method}"),
            L::Said(what) => format!("patient said: {what}"),
            L::AgentInEach { agent, n: 1 } => format!("{agent} in the container"),
            L::AgentInEach { agent, n } => format!("{agent} in each of {n}"),
            L::ContainersHold { from, to, holds } if from == to => format!("{from}: {holds}"),
            L::ContainersHold { from, to, holds } => format!("{from} to {to}: {holds} each"),
            L::Sum { anticoagulant, blood, fill } => {
                format!("{anticoagulant}\u{a0}+\u{a0}{blood}\u{a0}=\u{a0}{fill}")
            }
            L::WithoutContainers(which) => {
                format!("without container {}, whose content is not known", numbers(which))
            }
            L::AsPlanned(which) => {
                format!("no mark yet for container {}: as planned, not drawn", numbers(which))
            }
            L::SetAside(what) => format!("{what}, set aside"),
            L::CopyOf(at) => format!("for the chart only: handed over {at}"),
            L::Lot(lot) => format!("lot {lot}"),
            L::LotScanned(lot) => format!("lot {lot} (scanned)"),
            L::Expiry(day) => format!("expiry {day}"),
            L::ExpiryScanned(day) => format!("expiry {day} (scanned)"),
            L::ExpiryBesideCode { typed, code } if typed.is_empty() => {
                format!("expiry not entered ({code} in the code)")
            }
            L::ExpiryBesideCode { typed, code } => format!("expiry {typed} (typed; {code} in the code)"),
            L::LotCorrected(before) => format!("lot corrected after the needle, {before} before"),
            L::ExpiryCorrected(before) => format!("expiry corrected after the needle, {before} before"),
            L::CheckOfLot { what, lot } => format!("{what}: looked at lot {lot}"),
            L::OtherProductScanned(numbers) => {
                let numbers: Vec<_> = numbers.iter().map(Gtin::to_string).collect();
                format!("a code of another product was scanned, {}", numbers.join(", "))
            }
            L::SecondCheck { of, by, at } if of.is_empty() => {
                format!("checked by a second person, {}", by_at(by, at))
            }
            L::SecondCheck { of, by, at } => format!("{of} checked by a second person, {}", by_at(by, at)),
            L::Corrected(count) => format!("corrected {count}"),
            L::Haematocrit(h) => format!("haematocrit {h}"),
            L::Haemoglobin(h) => format!("haemoglobin {h}"),
            L::White(count) => format!("white cells {count}"),
            L::DaysOld(1) => "1 day old".to_owned(),
            L::DaysOld(days) => format!("{days} days old"),
            L::Per100 { agent, amount } => format!("{amount} {agent} for 100\u{a0}mL blood"),
            L::DrawnToday(volume) => format!("{volume} drawn today"),
            L::OfBloodVolume(share) => format!("{share} of the estimated blood volume"),
            L::InEightWeeks(volume) => format!("{volume} drawn in eight weeks"),
            L::SpinNumber(n) => format!("Spin {n}"),
            L::FromTo { from, to } => format!("{from} to {to}"),
            L::OverOlderCount(Some(days)) => format!("over a blood count {}", L::DaysOld(*days).english()),
            L::OverOlderCount(None) => "over a blood count of an earlier day".to_owned(),
            L::UseByCollection { at, after } => format!("use by {at}, set by {after} from needle in"),
            L::UseByAtLatest { at, after, window } => format!(
                "use by {at} at the latest, set by {after} from needle in; {window} from the end of the spin, if \
                 that is earlier"
            ),
            L::UseBySpin { at, after } => format!("use by {at}, set by {after} from the end of the spin"),
            L::AfterAdditions(volume) => format!("{volume} after additions"),
            L::FoldCeiling(ceiling) => format!("Fold, ceiling {ceiling}"),
            L::Ranged { median, low, high, unit } if unit.is_empty() => format!("{median} ({low} to {high})"),
            L::Ranged { median, low, high, unit } => format!("{median}\u{a0}{unit} ({low} to {high})"),
            L::IfCount { count, cells } => format!("at {count}: {cells}"),
            L::Container(n) => format!("container {n}"),
            L::ContainerOf { n, all } => format!("{n} of {all}"),
            L::SeenBy { by, at } => format!("Seen: {}.", by_at(by, at)),
            L::DecidedBy { by, at, reason } => format!("Decided: {}: {reason}", by_at(by, at)),
            L::DecidedBefore { by, at, reason, found } => {
                let reason = if reason.is_empty() { String::new() } else { format!(": {reason}") };
                let found = if found.is_empty() { String::new() } else { format!(" On: {found}") };
                format!("No longer holds: {}{reason}.{found}", by_at(by, at))
            }
            L::TakenBack { by, at } => format!("taken back {}", by_at(by, at)),
            L::ToMark(mark) => format!("blood to the {mark} mark"),
            L::AgentAmount { agent, amount } => format!("{agent} {amount}"),
            L::ForEachOf { amount, n: 1 } => format!("{amount} for the container"),
            L::ForEachOf { amount, n } => format!("{amount} for each of {n} containers"),
            L::InAgent(agent) => format!("platelets not counted; in {agent}"),
            L::LabelUnsure(agent) => format!("concentration not confirmed; in {agent}"),
            L::LabelCounted { count, agent } => format!("{count}, counted; in {agent}"),
            L::WithAdded(what) => format!("with {what}"),
            L::MadeAt { day, at, by } => format!("made {}", [day, at, by].map(String::as_str).join(", ")),
            L::DrawnUpBy(who) => format!("drawn up by {who}, at"),
            L::Readings { readings, dilution, spread } => {
                let spread = if spread.is_empty() { String::new() } else { format!(" (spread {spread})") };
                let diluted = match dilution.as_str() {
                    "" => "undiluted".to_owned(),
                    dilution => format!("diluted 1 part in {dilution}"),
                };
                format!("product read as {}{spread}, {diluted}", readings.join(", "))
            }
            L::OfTheBloods(fold) => format!("{fold} of the blood’s"),
            L::EnteredAt(at) => format!("entered {at}"),
            L::AmendedBy { by, day, at, reason } => format!("Amended by {by}, {day}, {at}: {reason}"),
            L::AmendedSince { by, day, at, times } => {
                let since = if *times == 1 { "once".to_owned() } else { format!("{times} times") };
                format!("State as signed by {by}, {day}, {at}; amended {since} since.")
            }
            L::Changed(what) => format!("What changed: {}.", what.join("; ")),
            L::ChangedField { label, before, after } => match (before.is_empty(), after.is_empty()) {
                (true, _) => format!("{label} now “{after}”, nothing before"),
                (_, true) => format!("{label} taken out, “{before}” before"),
                _ => format!("{label} now “{after}”, “{before}” before"),
            },
            L::ChangedEntry { label, name } if name.is_empty() => format!("{label} changed"),
            L::ChangedEntry { label, name } => format!("{label} “{name}” taken from the Bench anew"),
            L::Confirmed { by, at } => by_at(by, at),
            L::Utc(moment) => format!("{moment} UTC"),
            L::ChangedSide { before, after } => format!("now {after}, {before} before"),
            L::HandOverTakenBack { at, by, back } => {
                format!("hand-over entered {at}, taken back: {}", by_at(by, back))
            }
            L::SinceHandOver(what) => format!("Changed after hand-over: {what}"),
            L::FirstSigned { by, day, at } => format!("First signed by {by}, {day}, {at}."),
            L::HandedOver { to, at, who } => {
                let over = if to.is_empty() { format!("handed over {at}") } else { format!("handed to {}", by_at(to, at)) };
                if who.is_empty() { over } else { format!("{over}, by {who}") }
            }
            L::ToSign(what) => format!("{what}; signature"),
            L::ReadBack { by, at, site: false } => format!("identifiers read back, {}", by_at(by, at)),
            L::ReadBack { by, at, site: true } => {
                format!("identifiers, side and site read back, {}", by_at(by, at))
            }
            L::Balanced { by, at } => format!("balanced {}", by_at(by, at)),
            L::MadeBySign(who) => format!("made by {who}; signature, time"),
            L::RecordCheck(check) => format!("Record check {check}."),
            L::Reckoned { model } => format!(
                "Signed by a version that kept no card: this one is reckoned anew from what was typed, by model {model}."
            ),
            L::KeptFitted => {
                "Signed by a version that kept of the card what fits one page: notes, predictions or what to do \
                 about a caution may be missing here."
                    .to_owned()
            }
            L::ChangedOutside { by, day, at } => format!(
                "Changed outside Strawline since {by} signed it, {day}, {at}: what stands here is not what was signed."
            ),
            L::CutOutside => "Changed outside Strawline: an entry of this record is missing.".to_owned(),
            L::NotChecked => {
                "Signed before records carried a check: a change outside Strawline would not be seen."
                    .to_owned()
            }
            L::CheckedSince { by, day, at } => {
                format!(
                    "Carries a check from what {by} signed, {day}, {at}; what is older was signed without one."
                )
            }
            L::SignedBy { by, day, at } => format!("Signed by {by}, {day}, {at}"),
            L::Notice { app, model, agent } => format!(
                "Strawline {app}, model {model}. Supports trained people: the clinician’s order, the instructions \
                 of container, anticoagulant and centrifuge, and local policy and law come first. No dose is \
                 recommended. A predicted number is never a measured one; brackets hold an 80\u{a0}% range. Not \
                 reviewed by a licensed person. {agent}: not for intravenous infusion."
            ),
        })
    }
}

fn numbers(which: &[usize]) -> String {
    which.iter().map(usize::to_string).collect::<Vec<_>>().join(", ")
}

fn by_at(by: &str, at: &str) -> String {
    [by, at].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join(", ")
}

/// The use-by and what set it.
#[derive(Debug, Clone, PartialEq)]
pub struct UseByLine<'a> {
    /// What set it.
    pub set_by: SetBy,
    /// Until when, written.
    pub at: String,
    /// The clinic's policy.
    pub policy: ClockPolicy,
    /// Units and number style of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for UseByLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        let span = |time: Seconds| unit::span(Span::of(time), self.conventions);
        let (at, after) = (self.at.clone(), span(self.policy.total));
        match (self.set_by, self.policy.product_window.map(span)) {
            (SetBy::SpinEnd, Some(after)) => CardLine::UseBySpin { at, after }.english(),
            (SetBy::CollectionAtLatest, Some(window)) => {
                CardLine::UseByAtLatest { at, after, window }.english()
            }
            (SetBy::TakenAtLatest, Some(window)) => UseByTaken { at, window }.english(),
            (SetBy::Collection, _) | (_, None) => CardLine::UseByCollection { at, after }.english(),
        }
    }
}

/// How a dose stands that is reckoned from the count.
pub fn by_the_count(shared: Shared) -> CardWord {
    match shared {
        Shared::Given => CardWord::ByTheCount,
        Shared::Partly => CardWord::PartlyByCount,
        Shared::Planned => CardWord::PlannedByCount,
    }
}

/// A part of a case that an amendment changed without typing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ChangedPart(pub Part);

impl Phrase for ChangedPart {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            Part::Kit => "limits, use-by, analyser or centrifuge",
            Part::Choices => "choices",
            Part::Times => "times",
            Part::Checks => "checks",
            Part::Troubles => "what went wrong",
            Part::Discards => "what was discarded",
            Part::Decisions => "decisions",
        })
    }
}

/// An open point of the order as a question to the prescriber.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked(pub Question);

impl Phrase for Asked {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            Question::Identifiers => "Which two identifiers name the patient?",
            Question::Site => "Where is the product to go?",
            Question::Side => "Which side is meant, or has the site none?",
            Question::Volume => "How much is to be given, and how much to each part?",
            Question::WhiteCells => "Are white cells wanted in the product or not?",
            Question::Amount => "Is a number of platelets, a concentration or a fold meant, or none of them?",
            Question::SecondNumber => "What is the second of the two numbers ordered?",
            Question::Prescriber => "Who orders this, and answers for it?",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_the_paper_keep_the_house_rules() {
        for word in CardWord::ALL {
            let english = word.english();
            assert!(!english.is_empty() && english.trim() == english, "{english}");
            assert!(!english.contains("  ") && !english.contains('"'), "{english}");
        }
        for q in [
            Question::Identifiers,
            Question::Site,
            Question::Side,
            Question::Volume,
            Question::WhiteCells,
            Question::Amount,
            Question::SecondNumber,
            Question::Prescriber,
        ] {
            assert!(Asked(q).english().ends_with('?'));
        }
    }

    #[test]
    fn lines_say_only_what_is_known() {
        let line = |l: CardLine| l.english().into_owned();
        assert_eq!(line(CardLine::SeenBy { by: "MO".into(), at: "10:33".into() }), "Seen: MO, 10:33.");
        assert_eq!(line(CardLine::SeenBy { by: String::new(), at: "10:33".into() }), "Seen: 10:33.");
        let holds = || "2 + 13 = 15 mL".to_owned();
        assert_eq!(line(CardLine::ContainersHold { from: 1, to: 1, holds: holds() }), "1: 2 + 13 = 15 mL");
        assert_eq!(
            line(CardLine::ContainersHold { from: 1, to: 2, holds: holds() }),
            "1 to 2: 2 + 13 = 15 mL each"
        );
        let notice = CardLine::Notice { app: "0.1.0".into(), model: 1, agent: "ACD-A".into() }.english();
        for must in [
            "order",
            "instructions",
            "local policy",
            "predicted",
            "Not reviewed",
            "ACD-A: not for intravenous",
        ] {
            assert!(notice.contains(must), "{must}");
        }
    }
}
