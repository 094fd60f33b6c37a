//! Findings: what Strawline has to say about a case, at four levels that are told apart without colour.
//!
//! A finding is not an error. Its level and the step it holds back are fixed here by its kind; its sentences
//! are in `words::finding`; its entry in the hazard list is in `evidence::hazard`.

mod key;
mod level;
mod place;

use crate::blood::anticoagulant::Agent;
use crate::blood::baseline::SampleKind;
use crate::blood::patient::{LimitHit, LimitLevel};
use crate::case::BloodUntold;
use crate::draft::{About, CheckSign, Decision, Field, Placed, Screening, TroubleKind};
use crate::evidence::SourceId;
use crate::log::{CheckState, Checked};
use crate::product::order::OrderedAmount;
use crate::quantity::time::{Date, Instant};
use crate::quantity::{
    AcRatio, CellCount, Cells, Factor, Fold, Grams, Haemoglobin, OutOfRange, Rpm, Seconds, Volume,
};
use crate::scan::Gtin;
use crate::spin::programme::RatingBreach;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How loud a finding is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Information; nothing to acknowledge.
    Note,
    /// Shown, seen once for all of a stage, printed.
    Caution,
    /// The next irreversible step waits for the prescriber's word and reason, which print.
    StopClinician,
    /// No way past; only what to do with the container and whom to tell.
    StopFinal,
}

/// The steps that cannot be taken back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum HeldStep {
    /// Needle in.
    Needle,
    /// Start of the spin.
    Spin,
    /// Hand-over.
    HandOver,
}

/// Which lot is meant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LotOf {
    /// The anticoagulant.
    Anticoagulant,
    /// The containers.
    Containers,
    /// What is added to the product, by its row from 0.
    Addition(u8),
}

/// What was found. Container numbers count from 0.
#[derive(Debug, Clone, PartialEq)]
pub enum FindingKind {
    /// The agent is not for a product that goes back into a person.
    AgentUnsuitable(Agent),
    /// No amount is known for the agent.
    AmountUnknown(Agent),
    /// No band is known for the agent, so the amount was rounded up without one.
    BandUnknown(Agent),
    /// Less anticoagulant than the band.
    AnticoagulantLow {
        /// As it is.
        ratio: AcRatio,
        /// Lower edge.
        low: AcRatio,
        /// Container, or all alike.
        container: Option<u8>,
    },
    /// No anticoagulant, or less than half of the band’s lower edge; never of a tube with its amount inside when
    /// bought.
    AnticoagulantFarLow {
        /// As it is.
        ratio: AcRatio,
        /// Lower edge; `None` where no band is known.
        low: Option<AcRatio>,
        /// Container, or all alike.
        container: Option<u8>,
    },
    /// More anticoagulant than the band: a short fill dilutes with it.
    AnticoagulantHigh {
        /// As it is.
        ratio: AcRatio,
        /// Upper edge.
        high: AcRatio,
        /// Container, or all alike.
        container: Option<u8>,
        /// Mark that would come back into the band.
        mark: Option<Volume>,
    },
    /// Rounding up would have left the band, so the amount was rounded down.
    RoundedDown,
    /// The volume named fits a fill mark as well as a volume of blood: which is meant?
    ConventionUnsaid,
    /// The needle is out and no mark was entered: what is inside is not known.
    MarkMissing {
        /// Container.
        container: u8,
    },
    /// The mark reached lies below the anticoagulant that is inside.
    MarkBelowAnticoagulant {
        /// Container.
        container: u8,
    },
    /// The fill is above what the container holds.
    AboveCapacity {
        /// Fill.
        fill: Volume,
        /// Capacity.
        capacity: Volume,
        /// Container, or as planned for all.
        container: Option<u8>,
    },
    /// The fill is outside the range the container is used for.
    FillOutsideRange {
        /// Fill.
        fill: Volume,
        /// Lowest.
        low: Volume,
        /// Highest.
        high: Volume,
    },
    /// A tube with anticoagulant inside was not filled to its line.
    UnderFilledTube {
        /// Container.
        container: u8,
    },
    /// Anticoagulant or container is another than the one blood was drawn with.
    DrawnWithOther {
        /// The anticoagulant is.
        anticoagulant: bool,
        /// The container is.
        container: bool,
    },
    /// Side or site is another than the one that stood when the needle went in.
    SiteChanged {
        /// What stood then.
        then: Placed,
        /// What stands now.
        now: Placed,
    },
    /// The site is the one that stood when the needle went in, with other hyphens, punctuation or spaces.
    SiteReworded {
        /// What stood then.
        then: Placed,
        /// What stands now.
        now: Placed,
    },
    /// The order was taken over from another case, and nobody held it against today's.
    OrderTakenOver {
        /// Check sign of that.
        sign: CheckSign,
        /// When its needle went in, else when it was begun.
        at: Instant,
    },
    /// Records or other cases here have the same patient reference and another second identifier.
    OtherIdentifier {
        /// Check sign of the one begun last.
        sign: CheckSign,
        /// When that was begun.
        at: Instant,
        /// How many more there are.
        others: usize,
    },
    /// The order asks for one container, more are planned.
    MoreThanOneContainer,
    /// The parts of the site do not come to the volume ordered.
    PartsDiffer {
        /// All parts together.
        parts: Volume,
        /// Ordered.
        ordered: Volume,
    },
    /// The order names two numbers for one amount, and the second is the smaller.
    OrderUpsideDown {
        /// Which amount.
        what: OrderedAmount,
        /// The first, in the amount's own unit.
        least: f64,
        /// The second.
        most: f64,
    },
    /// A prediction or a count comes to more than can be, and is left out.
    Beyond {
        /// Of the count; else of the prediction.
        counted: bool,
        /// What came out, and what it may be.
        range: OutOfRange,
    },
    /// A limit on the blood drawn.
    Limit(LimitHit),
    /// The draw is large enough to need what is not known of the patient.
    LimitUnknown {
        /// Stop where it is more than even the limit of a light adult.
        level: LimitLevel,
        /// Drawn today and in the eight weeks before.
        drawn: Volume,
    },
    /// This device tells of more blood drawn in the eight weeks before than was entered, or of a draw without its volume.
    BloodUntold(BloodUntold),
    /// Nothing says how much anticoagulant and blood go into a container.
    NoPlan,
    /// Rebuilt from a card's code in clear: what checks and Stops rest on was not in it.
    RebuiltInPart,
    /// Platelets below 100 ×10⁹/L.
    PlateletsLow(CellCount),
    /// Haemoglobin below 10 g/dL.
    HaemoglobinLow(Haemoglobin),
    /// A screening answer for the prescriber.
    ScreeningYes(Screening),
    /// Screening was not asked in full.
    ScreeningOpen,
    /// Kind of baseline sample not said.
    SampleUnsaid,
    /// The sample kind is a weak one; with how many days old an older count is, where that is told.
    WeakSample(SampleKind, Option<u32>),
    /// No count of the blood.
    NoCount,
    /// The haematocrit is needed and not known.
    HaematocritUnknown,
    /// The identifiers were not checked.
    IdentityUnchecked,
    /// The identifiers do not agree.
    IdentityDiffers,
    /// Nobody said whether they are sound.
    SoundUnchecked {
        /// Nothing was said of the anticoagulant.
        anticoagulant: bool,
        /// Nothing was said of the containers.
        containers: bool,
    },
    /// Anticoagulant or containers not sound.
    Unsound(LotOf),
    /// Out of date.
    Expired {
        /// What.
        of: LotOf,
        /// Its lot; empty where none is entered.
        lot: String,
        /// Its last good day.
        last: Date,
    },
    /// The expiry that stands is not the one of the code that was scanned.
    ExpiryDiffers {
        /// Of what.
        of: LotOf,
        /// Last good day in the code.
        code: Date,
        /// The one entered; `None` where none is, or none that can be read.
        entered: Option<Date>,
    },
    /// Two things were scanned from codes of one product.
    SameProduct {
        /// The anticoagulant, as the containers; or an addition, as one of these two.
        of: LotOf,
        /// Product number in both codes.
        product: Gtin,
    },
    /// An expiry that cannot be read as a date.
    ExpiryUnreadable(LotOf),
    /// The code scanned is of another product than the Bench names.
    OtherProduct {
        /// Of what.
        of: LotOf,
        /// Product number in the code.
        scanned: Gtin,
        /// Product number in the Bench.
        expected: Gtin,
    },
    /// The order wants no white cells, the protocol keeps them, or the other way round.
    WhiteCellsContradict,
    /// The protocol has no counts behind it: nothing is predicted.
    NothingToPredictFrom,
    /// Ranges come from literature.
    LiteratureRange,
    /// More product than can stand above the cells.
    ProductAboveBound {
        /// Asked.
        asked: Volume,
        /// Most that can be had.
        bound: Volume,
    },
    /// More product was kept than was filled into all containers.
    KeptAboveFill {
        /// Kept.
        kept: Volume,
        /// Filled in all.
        fill: Volume,
    },
    /// Product outside the container's range.
    ProductOutsideRange {
        /// Asked.
        asked: Volume,
    },
    /// The shares need more than there is.
    LedgerShort {
        /// Missing.
        missing: Volume,
    },
    /// A rotor, bucket or container is over its limit.
    OverRating(RatingBreach),
    /// What really ran was over a limit.
    RanOverRating(RatingBreach),
    /// Two sides of a rotor that face each other were weighed, and differ by more than it allows.
    OutOfBalance {
        /// It is the second spin.
        second: bool,
        /// The container on one side, from 0.
        container: u8,
        /// The one on the other; `None`: a counterweight.
        other: Option<u8>,
        /// By how much they differ.
        apart: Grams,
        /// What the rotor’s entry allows.
        allowed: Grams,
        /// It has turned since.
        turned: bool,
    },
    /// What really ran differs from its stage.
    RunDiffers {
        /// Stage, from 0.
        stage: u8,
        /// What was run beside what was planned.
        what: RunDiffers,
    },
    /// A speed is planned and nothing says how fast is too fast.
    NoRating {
        /// The rotor has no highest speed on record.
        rotor: bool,
        /// The container has no highest force on record.
        container: bool,
    },
    /// The programme turns and no rotor is chosen: no speed is checked.
    NoRotor,
    /// A check of the centrifuge that the case spins on is overdue, was not passed, or is not entered.
    CentrifugeCheck {
        /// Of what.
        of: Checked,
        /// How it stands.
        state: CheckState,
        /// It is the centrifuge chosen; else one of those that turn the rotor, and none is chosen.
        chosen: bool,
    },
    /// A stage is planned in ×g at a radius that this rotor has no value for.
    RadiusUnknown,
    /// A rating is on record but cannot be held against the planned speed.
    RatingUnchecked,
    /// Blood should have been spun by now.
    PastSpinBy(Instant),
    /// The product is past its use-by.
    PastUseBy(Instant),
    /// A part of the site was given after the use-by.
    GivenPastUseBy {
        /// When the last of them was given.
        at: Instant,
        /// Use-by.
        by: Instant,
    },
    /// What was corrected after the product was collected, or handed over, moved the use-by earlier.
    UseByEarlier {
        /// Use-by as it stood then.
        was: Instant,
        /// Use-by now.
        now: Instant,
    },
    /// Times are not in the order of the job, or lie ahead of this device's clock.
    ClockWentBack,
    /// Something went wrong.
    Trouble(TroubleKind, Option<u8>),
    /// The spin stopped before its time and was ended there: said in place of the trouble, under its key.
    SpinCutShort,
    /// A container was set aside.
    SetAside(u8),
    /// A container was set aside when its blood was in the product already.
    SetAsideLate(u8),
    /// Every container is set aside: nothing is left to spin or to hand over.
    NothingLeft,
    /// More fold than the volumes allow.
    AboveCeiling {
        /// Counted.
        fold: Fold,
        /// Highest possible.
        ceiling: Fold,
    },
    /// A concentrate counts hardly more platelets than the blood itself, or far fewer than expected.
    FoldUnlikely {
        /// Counted.
        fold: Fold,
    },
    /// The product count was not confirmed as well mixed and without clumps.
    MixingUnsaid,
    /// The sample was not mixed, or clumps were seen in it.
    NotMixed,
    /// Whether the counted sample was diluted is not said, or not by how much.
    DilutionUnsaid,
    /// What the counted sample went into is not said.
    ProductTubeUnsaid,
    /// Whether white or red cells were read from the diluted sample is not said.
    CellsDilutionUnsaid,
    /// A reading outside what the analyser counts in proportion.
    ReadingNotLinear {
        /// As read.
        reading: CellCount,
        /// The end it is beyond.
        end: CellCount,
        /// Above it; else below.
        above: bool,
        /// A dilution that would be inside, if one is known.
        rather: Option<Factor>,
    },
    /// Neutrophils, lymphocytes and monocytes come to more than all white cells.
    DifferentialOver {
        /// Together, 1 for all.
        sum: Factor,
    },
    /// Product, plasma and cells do not come to what was filled.
    VolumesOpen {
        /// Found.
        found: Volume,
        /// Filled.
        fill: Volume,
        /// What the scales cannot tell.
        tolerance: Volume,
    },
    /// Product and plasma together hold more platelets than were drawn.
    PlateletsOver {
        /// Found.
        found: Cells,
        /// Drawn.
        drawn: Cells,
    },
    /// White cells of the product were not counted.
    WhiteCellsNotCounted,
    /// An addition lacks its name, strength or volume.
    AdditionIncomplete,
    /// Calcium: a concentrated irritant, with its amount against the citrate.
    CalciumAdded,
    /// The product was not counted.
    ProductNotCounted,
    /// The product was counted, and the blood it came from is not known in full: no fold, no recovery.
    BloodUnknown,
    /// A text that cannot be read, or still asks: nothing usual stands in its place.
    Unread(Field),
}

/// An amount of the spin that was run otherwise than planned.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum RunDiffers {
    /// Speed.
    Speed {
        /// As planned and set.
        planned: Rpm,
        /// As run.
        ran: Rpm,
    },
    /// Time.
    Time {
        /// As planned.
        planned: Seconds,
        /// As run.
        ran: Seconds,
    },
    /// Time by the starts that were entered, of this stage and those the machine runs after it.
    Clock {
        /// As planned.
        planned: Seconds,
        /// What the times entered leave.
        left: Seconds,
    },
}

/// A finding with what was said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What.
    pub kind: FindingKind,
    /// How loud.
    pub level: Level,
    /// What it is about now, to be kept with a decision.
    pub about: About,
    /// What was seen or decided, if it holds for what it is about now.
    pub decision: Option<Decision>,
    /// What was decided about something less or something else, and does not hold.
    pub overtaken: Option<Decision>,
}

impl Finding {
    /// Pairs a kind with its level and what was said of it.
    pub fn new(kind: FindingKind, about: About, decisions: &BTreeMap<String, Decision>) -> Self {
        let said = decisions.get(&kind.key()).cloned();
        let holds = said.as_ref().and_then(|d| d.about.as_ref()).is_none_or(|then| then.covers(&about));
        let (decision, overtaken) = if holds { (said, None) } else { (None, said) };
        Self { level: kind.level(), kind, about, decision, overtaken }
    }

    /// Every decision that does not hold any more, oldest first.
    pub fn past(&self) -> impl Iterator<Item = &Decision> {
        let last = self.overtaken.as_ref();
        let before = self.decision.as_ref().or(last).map_or(&[][..], |d| &d.earlier);
        before.iter().chain(last)
    }

    /// Still waiting: a Caution not seen, a Stop not decided, a final Stop always.
    pub fn is_open(&self) -> bool {
        match self.level {
            Level::Note => false,
            Level::Caution => self.decision.is_none(),
            Level::StopClinician => {
                self.decision.as_ref().is_none_or(|d| d.by.is_empty() || d.reason.is_empty())
            }
            Level::StopFinal => true,
        }
    }

    /// Whether it holds back a step now.
    pub fn holds(&self, step: HeldStep) -> bool {
        self.level >= Level::StopClinician && self.is_open() && self.kind.step() <= step
    }
}

impl FindingKind {
    /// The published rule behind it, where there is one.
    pub fn source(&self) -> Option<SourceId> {
        use FindingKind as F;
        match self {
            F::AgentUnsuitable(agent) => agent.objection(),
            F::AnticoagulantFarLow { .. } => Some(SourceId::AnticoagulantFarLow),
            F::PlateletsLow(_) => Some(SourceId::PltBelow100),
            F::HaemoglobinLow(_) => Some(SourceId::HbBelow10),
            F::Limit(hit) => Some(hit.source),
            F::MixingUnsaid | F::NotMixed => Some(SourceId::Mixing),
            F::ReadingNotLinear { .. } => Some(SourceId::LinearRange),
            F::VolumesOpen { .. } => Some(SourceId::GraduationError),
            F::RunDiffers { .. } => Some(SourceId::RunTolerance),
            F::FoldUnlikely { .. } => Some(SourceId::UnlikelyCount),
            F::DifferentialOver { .. } => Some(SourceId::SharesRounded),
            F::PastSpinBy(_) | F::PastUseBy(_) | F::GivenPastUseBy { .. } => Some(SourceId::Cfr64024),
            _ => None,
        }
    }
}
