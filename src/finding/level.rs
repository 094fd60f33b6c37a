//! How loud each finding is.

use super::place::held;
use super::{FindingKind, Level};
use crate::blood::patient::{LimitHit, LimitLevel};
use crate::draft::TroubleKind;

impl FindingKind {
    /// How loud it is.
    pub fn level(&self) -> Level {
        use FindingKind as F;
        match self {
            F::BandUnknown(_)
            | F::RoundedDown
            | F::NoCount
            | F::HaematocritUnknown
            | F::SampleUnsaid
            | F::NothingToPredictFrom
            | F::LiteratureRange
            | F::ScreeningOpen
            | F::SetAside(_)
            | F::WhiteCellsNotCounted
            | F::ProductTubeUnsaid
            | F::ProductNotCounted
            | F::BloodUnknown
            | F::Beyond { counted: false, .. }
            | F::AmountUnknown(_)
            | F::ConventionUnsaid => Level::Note,
            F::AnticoagulantLow { .. }
            | F::AnticoagulantHigh { .. }
            | F::MarkMissing { .. }
            | F::SoundUnchecked { .. }
            | F::RanOverRating(_)
            | F::OutOfBalance { turned: true, .. }
            | F::RunDiffers { .. }
            | F::NoRating { .. }
            | F::NoRotor
            | F::CentrifugeCheck { .. }
            | F::FillOutsideRange { .. }
            | F::UnderFilledTube { .. }
            | F::SetAsideLate(_)
            | F::MoreThanOneContainer
            | F::PlateletsLow(_)
            | F::HaemoglobinLow(_)
            | F::ScreeningYes(_)
            | F::WeakSample(..)
            | F::ExpiryUnreadable(_)
            | F::SameProduct { .. }
            | F::ProductAboveBound { .. }
            | F::ProductOutsideRange { .. }
            | F::LedgerShort { .. }
            | F::RadiusUnknown
            | F::PastSpinBy(_)
            | F::GivenPastUseBy { .. }
            | F::ClockWentBack
            | F::AboveCeiling { .. }
            | F::FoldUnlikely { .. }
            | F::PartsDiffer { .. }
            | F::OrderUpsideDown { .. }
            | F::Beyond { counted: true, .. }
            | F::MixingUnsaid
            | F::DilutionUnsaid
            | F::CellsDilutionUnsaid
            | F::ReadingNotLinear { .. }
            | F::DifferentialOver { .. }
            | F::VolumesOpen { .. }
            | F::PlateletsOver { .. }
            | F::BloodUntold(_)
            | F::OtherIdentifier { .. }
            | F::OrderTakenOver { .. }
            | F::SiteReworded { .. }
            | F::CalciumAdded => Level::Caution,
            F::AgentUnsuitable(_)
            | F::AnticoagulantFarLow { .. }
            | F::IdentityUnchecked
            | F::OtherProduct { .. }
            | F::ExpiryDiffers { .. }
            | F::MarkBelowAnticoagulant { .. }
            | F::WhiteCellsContradict
            | F::RatingUnchecked
            | F::NoPlan
            | F::RebuiltInPart
            | F::KeptAboveFill { .. }
            | F::DrawnWithOther { .. }
            | F::SiteChanged { .. }
            | F::NotMixed
            | F::AdditionIncomplete
            | F::SpinCutShort
            | F::UseByEarlier { .. }
            | F::PastUseBy(_) => Level::StopClinician,
            F::Unread(field) => match held(*field) {
                Some(_) => Level::StopClinician,
                None => Level::Caution,
            },
            F::AboveCapacity { .. }
            | F::IdentityDiffers
            | F::NothingLeft
            | F::Unsound(_)
            | F::Expired { .. }
            | F::OutOfBalance { turned: false, .. }
            | F::OverRating(_) => Level::StopFinal,
            F::LimitUnknown { level, .. } | F::Limit(LimitHit { level, .. }) => match level {
                LimitLevel::Caution => Level::Caution,
                LimitLevel::Stop => Level::StopClinician,
            },
            F::Trouble(kind, _) => match kind {
                TroubleKind::ShortDraw
                | TroubleKind::SpinStopped
                | TroubleKind::PinkPlasma
                | TroubleKind::MilkyPlasma => Level::Caution,
                TroubleKind::RedCells | TroubleKind::Clumps => Level::StopClinician,
                TroubleKind::Clot
                | TroubleKind::AnticoagulantForgotten
                | TroubleKind::Dropped
                | TroubleKind::Unlabelled => Level::StopFinal,
            },
        }
    }

    /// Whether the people in the room settle it among themselves: no answer of the prescriber could.
    pub fn settled_in_room(&self) -> bool {
        use FindingKind as F;
        match self {
            F::SoundUnchecked { .. }
            | F::NoRating { .. }
            | F::NoRotor
            | F::CentrifugeCheck { .. }
            | F::RadiusUnknown
            | F::ExpiryUnreadable(_)
            | F::SameProduct { .. }
            | F::ClockWentBack
            | F::MixingUnsaid
            | F::DilutionUnsaid
            | F::AboveCapacity { .. }
            | F::Unsound(_)
            | F::Expired { .. }
            | F::OutOfBalance { .. }
            | F::OverRating(_) => true,
            F::Unread(field) => held(*field).is_none(),
            _ => false,
        }
    }
}
