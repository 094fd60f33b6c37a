//! Where each finding is shown, and which step it holds back.

use super::{FindingKind, HeldStep, LotOf};
use crate::draft::{Field, Stage, TroubleKind};

impl FindingKind {
    /// The stage whose place it is shown at.
    pub fn stage(&self) -> Stage {
        use FindingKind as F;
        match self {
            F::MoreThanOneContainer
            | F::PartsDiffer { .. }
            | F::OrderUpsideDown { .. }
            | F::Beyond { counted: false, .. }
            | F::WhiteCellsContradict
            | F::SampleUnsaid
            | F::WeakSample(..)
            | F::NoCount
            | F::PlateletsLow(_)
            | F::HaemoglobinLow(_)
            | F::ScreeningYes(_)
            | F::ScreeningOpen
            | F::SiteChanged { .. }
            | F::NothingToPredictFrom
            | F::LiteratureRange => Stage::Order,
            F::Expired { of: LotOf::Addition(_), .. }
            | F::ExpiryDiffers { of: LotOf::Addition(_), .. }
            | F::SameProduct { of: LotOf::Addition(_), .. }
            | F::ExpiryUnreadable(LotOf::Addition(_)) => Stage::Product,
            F::AgentUnsuitable(_)
            | F::AmountUnknown(_)
            | F::BandUnknown(_)
            | F::RoundedDown
            | F::ConventionUnsaid
            | F::FillOutsideRange { .. }
            | F::Limit(_)
            | F::LimitUnknown { .. }
            | F::BloodUntold(_)
            | F::OtherIdentifier { .. }
            | F::OrderTakenOver { .. }
            | F::NoPlan
            | F::IdentityUnchecked
            | F::IdentityDiffers
            | F::SoundUnchecked { .. }
            | F::Unsound(_)
            | F::Expired { .. }
            | F::OtherProduct { .. }
            | F::ExpiryDiffers { .. }
            | F::SameProduct { .. }
            | F::ExpiryUnreadable(_) => Stage::BeforeNeedle,
            F::AnticoagulantLow { container, .. }
            | F::AnticoagulantFarLow { container, .. }
            | F::AnticoagulantHigh { container, .. }
            | F::AboveCapacity { container, .. } => match container {
                Some(_) => Stage::NeedleIn,
                None => Stage::BeforeNeedle,
            },
            F::MarkMissing { .. }
            | F::MarkBelowAnticoagulant { .. }
            | F::UnderFilledTube { .. }
            | F::SetAside(_)
            | F::SetAsideLate(_)
            | F::NothingLeft => Stage::NeedleIn,
            F::OverRating(_)
            | F::RanOverRating(_)
            | F::OutOfBalance { .. }
            | F::RunDiffers { .. }
            | F::NoRating { .. }
            | F::NoRotor
            | F::CentrifugeCheck { .. }
            | F::RatingUnchecked
            | F::RadiusUnknown
            | F::PastSpinBy(_)
            | F::SpinCutShort
            | F::ClockWentBack => Stage::Spinning,
            F::HaematocritUnknown
            | F::ProductAboveBound { .. }
            | F::KeptAboveFill { .. }
            | F::DrawnWithOther { .. }
            | F::SiteReworded { .. }
            | F::RebuiltInPart
            | F::ProductOutsideRange { .. }
            | F::LedgerShort { .. }
            | F::PastUseBy(_)
            | F::GivenPastUseBy { .. }
            | F::UseByEarlier { .. }
            | F::AboveCeiling { .. }
            | F::FoldUnlikely { .. }
            | F::Beyond { counted: true, .. }
            | F::MixingUnsaid
            | F::NotMixed
            | F::DilutionUnsaid
            | F::ProductTubeUnsaid
            | F::CellsDilutionUnsaid
            | F::ReadingNotLinear { .. }
            | F::DifferentialOver { .. }
            | F::VolumesOpen { .. }
            | F::PlateletsOver { .. }
            | F::WhiteCellsNotCounted
            | F::AdditionIncomplete
            | F::CalciumAdded
            | F::BloodUnknown
            | F::ProductNotCounted => Stage::Product,
            F::Unread(field) => place(*field),
            F::Trouble(kind, _) => match kind {
                TroubleKind::ShortDraw
                | TroubleKind::Clot
                | TroubleKind::AnticoagulantForgotten
                | TroubleKind::Dropped
                | TroubleKind::Unlabelled => Stage::NeedleIn,
                TroubleKind::SpinStopped | TroubleKind::PinkPlasma | TroubleKind::MilkyPlasma => {
                    Stage::Spinning
                }
                TroubleKind::RedCells | TroubleKind::Clumps => Stage::Product,
            },
        }
    }

    /// The first step it holds back when it is a Stop.
    pub fn step(&self) -> HeldStep {
        use FindingKind as F;
        match self {
            F::Expired { of: LotOf::Addition(_), .. }
            | F::ExpiryDiffers { of: LotOf::Addition(_), .. }
            | F::SameProduct { of: LotOf::Addition(_), .. }
            | F::ExpiryUnreadable(LotOf::Addition(_)) => HeldStep::HandOver,
            F::OverRating(_)
            | F::OutOfBalance { .. }
            | F::NothingLeft
            | F::RanOverRating(_)
            | F::RunDiffers { .. }
            | F::NoRating { .. }
            | F::NoRotor
            | F::CentrifugeCheck { .. }
            | F::RadiusUnknown
            | F::RatingUnchecked
            | F::PastSpinBy(_)
            | F::AboveCapacity { container: Some(_), .. }
            | F::MarkMissing { .. }
            | F::MarkBelowAnticoagulant { .. }
            | F::UnderFilledTube { .. }
            | F::SetAside(_) => HeldStep::Spin,
            F::AnticoagulantLow { container, .. }
            | F::AnticoagulantFarLow { container, .. }
            | F::AnticoagulantHigh { container, .. } => match container {
                Some(_) => HeldStep::Spin,
                None => HeldStep::Needle,
            },
            F::Unread(field) => held(*field).unwrap_or(HeldStep::HandOver),
            F::Trouble(kind, _) => match kind {
                TroubleKind::RedCells | TroubleKind::Clumps => HeldStep::HandOver,
                TroubleKind::ShortDraw
                | TroubleKind::Clot
                | TroubleKind::AnticoagulantForgotten
                | TroubleKind::Dropped
                | TroubleKind::Unlabelled
                | TroubleKind::SpinStopped
                | TroubleKind::PinkPlasma
                | TroubleKind::MilkyPlasma => HeldStep::Spin,
            },
            F::PastUseBy(_)
            | F::GivenPastUseBy { .. }
            | F::UseByEarlier { .. }
            | F::SpinCutShort
            | F::KeptAboveFill { .. }
            | F::RebuiltInPart
            | F::DrawnWithOther { .. }
            | F::SiteChanged { .. }
            | F::SiteReworded { .. }
            | F::SetAsideLate(_)
            | F::FoldUnlikely { .. }
            | F::NotMixed
            | F::AdditionIncomplete
            | F::HaematocritUnknown
            | F::ProductAboveBound { .. }
            | F::ProductOutsideRange { .. }
            | F::LedgerShort { .. }
            | F::AboveCeiling { .. }
            | F::Beyond { counted: true, .. }
            | F::MixingUnsaid
            | F::DilutionUnsaid
            | F::WhiteCellsNotCounted
            | F::CalciumAdded
            | F::ProductNotCounted
            | F::BloodUnknown
            | F::ProductTubeUnsaid
            | F::CellsDilutionUnsaid
            | F::ReadingNotLinear { .. }
            | F::DifferentialOver { .. }
            | F::VolumesOpen { .. }
            | F::PlateletsOver { .. } => HeldStep::HandOver,
            F::AgentUnsuitable(_)
            | F::AmountUnknown(_)
            | F::BandUnknown(_)
            | F::RoundedDown
            | F::ConventionUnsaid
            | F::AboveCapacity { container: None, .. }
            | F::FillOutsideRange { .. }
            | F::MoreThanOneContainer
            | F::OrderUpsideDown { .. }
            | F::PartsDiffer { .. }
            | F::Beyond { counted: false, .. }
            | F::Limit(_)
            | F::LimitUnknown { .. }
            | F::BloodUntold(_)
            | F::OtherIdentifier { .. }
            | F::OrderTakenOver { .. }
            | F::NoPlan
            | F::PlateletsLow(_)
            | F::HaemoglobinLow(_)
            | F::ScreeningYes(_)
            | F::ScreeningOpen
            | F::SampleUnsaid
            | F::WeakSample(..)
            | F::NoCount
            | F::IdentityUnchecked
            | F::IdentityDiffers
            | F::SoundUnchecked { .. }
            | F::Unsound(_)
            | F::Expired { .. }
            | F::ExpiryUnreadable(_)
            | F::OtherProduct { .. }
            | F::ExpiryDiffers { .. }
            | F::SameProduct { .. }
            | F::WhiteCellsContradict
            | F::NothingToPredictFrom
            | F::LiteratureRange
            | F::ClockWentBack => HeldStep::Needle,
        }
    }

    /// Whether it is shown above a step when it is a Stop: above what it holds back; and two that hold the hand-over
    /// alone from their own stage on, because what was changed or cut short there is worked with meanwhile.
    pub fn stands_above(&self, step: HeldStep) -> bool {
        let told_at_once = matches!(self, FindingKind::SiteChanged { .. } | FindingKind::SpinCutShort);
        self.step() <= step || (told_at_once && self.stage() <= step.stage())
    }
}

impl HeldStep {
    /// The stage at whose foot its button stands.
    pub fn stage(self) -> Stage {
        match self {
            HeldStep::Needle => Stage::BeforeNeedle,
            HeldStep::Spin => Stage::Spinning,
            HeldStep::HandOver => Stage::Product,
        }
    }
}

/// The step that waits for a text to be read: what rests on it comes after. `None` where nothing does.
pub(super) fn held(field: Field) -> Option<HeldStep> {
    use Field as E;
    match field {
        E::Containers
        | E::FillVolume
        | E::AnticoagulantChosen
        | E::AnticoagulantPer100
        | E::AnticoagulantPerContainer
        | E::Weight
        | E::Height
        | E::Age
        | E::BloodHaemoglobin
        | E::Discard
        | E::PreviousBlood => Some(HeldStep::Needle),
        E::FillActual(_) | E::AnticoagulantActual(_) => Some(HeldStep::Spin),
        E::OrderVolume
        | E::PartVolume(_)
        | E::BloodCount
        | E::CountAge
        | E::CitrateFactor
        | E::BloodHaematocrit
        | E::ProductVolume => Some(HeldStep::HandOver),
        // Nothing that is given rests on what is measured beside the product.
        E::PoorPlasma
        | E::CellsVolume
        | E::PlasmaReading
        | E::ProductNeutrophils
        | E::ProductLymphocytes
        | E::ProductMonocytes => None,
        _ => (place(field) == Stage::Product).then_some(HeldStep::HandOver),
    }
}

/// The stage at which an entry is typed.
fn place(field: Field) -> Stage {
    use Field as E;
    match field {
        E::AnticoagulantChosen | E::AnticoagulantLot | E::ContainerLot => Stage::BeforeNeedle,
        E::FillActual(_) | E::AnticoagulantActual(_) => Stage::NeedleIn,
        E::SpeedActual(_)
        | E::MinutesActual(_)
        | E::FilledWeight(_)
        | E::FilledWeightSecond(_)
        | E::OwnCounterweight(_)
        | E::OwnCounterweightSecond(_)
        | E::Counterweight
        | E::CounterweightSecond => Stage::Spinning,
        E::ProductActual
        | E::PoorPlasma
        | E::CellsVolume
        | E::PlasmaReading
        | E::CountSample
        | E::Dilution
        | E::SampleFactor
        | E::Reading(_)
        | E::ProductRed
        | E::ProductNeutrophils
        | E::ProductLymphocytes
        | E::ProductMonocytes
        | E::ProductWhite
        | E::ProductHaematocrit
        | E::NeedleChanges
        | E::Transfers
        | E::AdditionStrength(_)
        | E::AdditionVolume(_)
        | E::PartGiven(_) => Stage::Product,
        _ => Stage::Order,
    }
}
