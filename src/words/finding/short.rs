//! A finding in two or three words, for the line of a button.

use super::super::Phrase;
use super::super::choice::TroubleName;
use super::super::field::Label;
use crate::blood::patient::LimitRule;
use crate::finding::{FindingKind, LotOf};
use crate::log::CheckState;
use std::borrow::Cow;

/// The name of a finding within a line.
#[derive(Debug, Clone, Copy)]
pub struct Short<'a>(pub &'a FindingKind);

impl Phrase for Short<'_> {
    fn english(&self) -> Cow<'static, str> {
        use FindingKind as F;
        Cow::Borrowed(match self.0 {
            F::AgentUnsuitable(_) => "unsuitable anticoagulant",
            F::AmountUnknown(_) => "anticoagulant amount",
            F::BandUnknown(_) => "range of the anticoagulant",
            F::AnticoagulantLow { .. } => "too little anticoagulant",
            F::AnticoagulantFarLow { .. } => "far too little anticoagulant",
            F::AnticoagulantHigh { .. } => "too much anticoagulant",
            F::RoundedDown => "rounded down",
            F::ConventionUnsaid => "fill mark or blood",
            F::MarkMissing { .. } => "mark not entered",
            F::MarkBelowAnticoagulant { .. } => "mark below anticoagulant",
            F::AboveCapacity { .. } => "fill above capacity",
            F::FillOutsideRange { .. } => "fill outside range",
            F::UnderFilledTube { .. } => "tube not filled",
            F::OrderUpsideDown { .. } => "order upside down",
            F::PartsDiffer { .. } => "parts and volume ordered",
            F::Beyond { .. } => "beyond what can be",
            F::MoreThanOneContainer => "more than one container",
            F::Limit(hit) => match hit.rule {
                LimitRule::PerKg
                | LimitRule::Share
                | LimitRule::Volume
                | LimitRule::LightWeight
                | LimitRule::SmallBloodVolume
                | LimitRule::FirstDraw => "blood drawn today",
                LimitRule::EightWeeksPerKg | LimitRule::EightWeeksVolume => "blood drawn in 8 weeks",
                LimitRule::HaemoglobinLow
                | LimitRule::HaemoglobinForVolume
                | LimitRule::HaemoglobinForPerKg => "haemoglobin",
                LimitRule::Minor => "age",
            },
            F::LimitUnknown { .. } => "draw limit not checked",
            F::BloodUntold(_) => "blood drawn before",
            F::NoPlan => "no draw plan",
            F::RebuiltInPart => "rebuilt in part",
            F::PlateletsLow(_) => "low platelets",
            F::HaemoglobinLow(_) => "low haemoglobin",
            F::ScreeningYes(_) => "screening answer",
            F::ScreeningOpen => "screening",
            F::SampleUnsaid | F::WeakSample(..) => "kind of blood sample",
            F::NoCount => "no count",
            F::HaematocritUnknown => "haematocrit",
            F::IdentityUnchecked => "identity",
            F::IdentityDiffers => "identity differs",
            F::DrawnWithOther { .. } => "drawn with another",
            F::OrderTakenOver { .. } => "order taken over",
            F::OtherIdentifier { .. } => "another second identifier",
            F::SiteChanged { .. } => "side or site changed",
            F::SiteReworded { .. } => "site written otherwise",
            F::SoundUnchecked { .. } => "soundness not checked",
            F::Unsound(LotOf::Anticoagulant) => "anticoagulant not sound",
            F::Unsound(LotOf::Containers | LotOf::Addition(_)) => "container not sound",
            F::Expired { of: LotOf::Anticoagulant, .. } => "anticoagulant expired",
            F::Expired { of: LotOf::Containers, .. } => "container expired",
            F::Expired { of: LotOf::Addition(_), .. } => "addition expired",
            F::ExpiryUnreadable(_) => "expiry date",
            F::ExpiryDiffers { .. } => "expiry differs from the code",
            F::SameProduct { .. } => "one product scanned twice",
            F::OtherProduct { of: LotOf::Anticoagulant, .. } => "another anticoagulant",
            F::OtherProduct { of: LotOf::Containers, .. } => "another container",
            F::OtherProduct { of: LotOf::Addition(_), .. } => "another addition",
            F::WhiteCellsContradict => "white cells",
            F::NothingToPredictFrom => "nothing to predict from",
            F::LiteratureRange => "range from literature",
            F::ProductAboveBound { .. } => "more product than plasma",
            F::KeptAboveFill { .. } => "more kept than filled",
            F::ProductOutsideRange { .. } => "product outside range",
            F::LedgerShort { .. } => "volumes do not add up",
            F::OverRating(_) => "rating",
            F::RanOverRating(_) => "rating passed",
            F::OutOfBalance { .. } => "out of balance",
            F::RunDiffers { .. } => "run differs from plan",
            F::NoRating { .. } => "no rating on record",
            F::NoRotor => "no rotor chosen",
            F::CentrifugeCheck { state: CheckState::Failed(_), .. } => "centrifuge check not passed",
            F::CentrifugeCheck { .. } => "centrifuge check overdue",
            F::RatingUnchecked => "rating not checked",
            F::RadiusUnknown => "rotor radius",
            F::PastSpinBy(_) => "past spin-by",
            F::PastUseBy(_) => "past use-by",
            F::GivenPastUseBy { .. } => "given past use-by",
            F::UseByEarlier { .. } => "earlier use-by",
            F::SpinCutShort => "spin cut short",
            F::ClockWentBack => "order of times",
            F::Trouble(kind, _) => return Cow::Owned(TroubleName(*kind).english().to_lowercase()),
            F::SetAside(_) => "container set aside",
            F::SetAsideLate(_) => "container set aside too late",
            F::NothingLeft => "no container left",
            F::AboveCeiling { .. } => "count above the ceiling",
            F::FoldUnlikely { .. } => "unlikely count",
            F::MixingUnsaid => "mixing not confirmed",
            F::NotMixed => "sample not mixed",
            F::DilutionUnsaid => "dilution of the sample",
            F::ProductTubeUnsaid => "tube of the count sample",
            F::CellsDilutionUnsaid => "dilution of the other cells",
            F::ReadingNotLinear { .. } => "reading outside the range",
            F::DifferentialOver { .. } => "differential above 100\u{a0}%",
            F::VolumesOpen { .. } => "volumes after the spin",
            F::PlateletsOver { .. } => "more platelets than drawn",
            F::WhiteCellsNotCounted => "white cells not counted",
            F::AdditionIncomplete => "incomplete addition",
            F::CalciumAdded => "calcium added",
            F::ProductNotCounted => "product not counted",
            F::BloodUnknown => "blood not known",
            F::Unread(field) => return Cow::Owned(format!("“{}” not read", Label(*field).english())),
        })
    }
}
