//! Names of the stages, levels and held steps, of the lines of a working, and of how a source was consulted.

use super::Phrase;
use crate::draft::Stage;
use crate::evidence::Standing;
use crate::finding::{HeldStep, Level};
use crate::working::StepName;
use std::borrow::Cow;

impl Phrase for Stage {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Stage::Order => "Order",
            Stage::BeforeNeedle => "Before the needle",
            Stage::NeedleIn => "Needle in",
            Stage::Spinning => "Spinning",
            Stage::Product => "Product",
            Stage::Later => "Later",
        })
    }
}

/// The steps that cannot be taken back, as on their button.
impl Phrase for HeldStep {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            HeldStep::Needle => "Needle in",
            HeldStep::Spin => "Start the spin",
            HeldStep::HandOver => "Hand over",
        })
    }
}

/// The word that leads a finding.
impl Phrase for Level {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Level::Note => "Note",
            Level::Caution => "Caution",
            Level::StopClinician => "Stop",
            Level::StopFinal => "Stop. Do not go on.",
        })
    }
}

/// What follows the leading word, where something does.
pub fn after_lead(level: Level) -> Option<AfterLead> {
    match level {
        Level::Note | Level::Caution | Level::StopFinal => None,
        Level::StopClinician => Some(AfterLead::PrescriberDecides),
    }
}

crate::phrases! {
    /// What follows the leading word of a finding.
    AfterLead {
        PrescriberDecides => "the prescriber decides",
    }
}

/// How a source was consulted, after its citation.
impl Phrase for Standing {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Standing::Read => "read",
            Standing::ReadSecondHand => "read as quoted by another page",
            Standing::FromMemory => "from memory, verify",
            Standing::CommonPractice => "common practice, no source",
            Standing::Judgement => "judgement",
            Standing::Arithmetic => "arithmetic",
        })
    }
}

impl Phrase for StepName {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            StepName::AnticoagulantExact => "Anticoagulant",
            StepName::RoundedUp => "Rounded up",
            StepName::RoundedDown => "Rounded down",
            StepName::Blood => "Blood",
            StepName::Fill => "Fill",
            StepName::TrueRatio => "True ratio, per 100\u{a0}mL of blood",
            StepName::BloodInAll => "Blood in all",
            StepName::AnticoagulantInAll => "Anticoagulant in all",
            StepName::MixtureHaematocrit => "Haematocrit of the mixture",
            StepName::MixturePlatelets => "Platelets of the mixture",
            StepName::Plasma => "Plasma with anticoagulant",
            StepName::AgentCitrate => "Citrate in the anticoagulant",
            StepName::AgentComposition => "Part of the anticoagulant",
            StepName::Citrate => "Citrate in the plasma",
            StepName::TopUpTo => "Top up to at least",
            StepName::NativeCount => "The blood’s own count",
            StepName::CountSpread => "Spread of the count",
            StepName::PooledSpread => "Spread of a product from several containers",
            StepName::VolumeReading => "Error of the product volume",
            StepName::ChanceMet => "Chance that the order is met",
            StepName::WillRead => "What a count of the product will read",
            StepName::PlateletsDrawn => "Platelets drawn",
            StepName::Ceiling => "Ceiling of the fold",
            StepName::Fold => "Fold",
            StepName::Recovery => "Recovery",
            StepName::ExpectedReading => "Reading to expect",
            StepName::Concentration => "Concentration",
            StepName::PlateletsInProduct => "Platelets in product",
            StepName::PassiveFold => "Fold if all platelets stay in the plasma",
            StepName::Supernatant => "Plasma above the cells",
            StepName::ProductBound => "Most plasma that can be taken",
            StepName::LeftBehind => "Left behind in the containers",
            StepName::AfterSample => "Product after the count sample",
            StepName::Losses => "Losses in needles and transfers",
            StepName::SitesTotal => "For all sites",
            StepName::LeftOver => "Left over",
            StepName::Dose => "Dose",
            StepName::BloodVolumeNadler => "Blood volume, Nadler",
            StepName::BloodVolumeLemmens => "Blood volume, Lemmens, Bernstein and Brodsky",
            StepName::BloodVolumeIcsh => "Blood volume, ICSH (literature)",
            StepName::BloodVolume => "Blood volume, the smaller estimate",
            StepName::BloodVolumeChild => "Blood volume of a child (literature)",
            StepName::BloodVolumeFunctional => "Blood volume by haemoglobin (literature)",
            StepName::BodyMassIndex => "Body-mass index",
            StepName::BodySurface => "Body surface",
            StepName::DrawnToday => "Drawn today",
            StepName::DrawnPerKg => "Drawn today per weight",
            StepName::DrawnShare => "Drawn today, share of the blood volume",
            StepName::DrawnEightWeeks => "Drawn in 8 weeks",
            StepName::DrawnEightWeeksPerKg => "Drawn in 8 weeks per weight",
            StepName::DonorLimit => "Donation limit per weight (literature)",
            StepName::DonorShareLimit => "Donation limit, share of the blood volume (literature)",
            StepName::ResearchLimit => "Research limit in 8 weeks (literature)",
            StepName::ChildLimit => "Limit for a child (literature)",
            StepName::MeanRadius => "Mean radius",
            StepName::SpeedRounded => "Rounded to the machine’s step",
            StepName::RcfFromRpm => "Force from speed",
            StepName::RpmFromRcf => "Speed from force",
            StepName::ClearingFactor => "Clearing factor",
            StepName::Clearing => "Time for the same clearing",
            StepName::WaterAsHeavy => "Water that weighs as much",
            StepName::WeightApart => "Difference in weight, by volume",
            StepName::WeighedApart => "Difference in weight, as weighed",
            StepName::WaterForWeight => "Water that makes it up",
            StepName::Exposure => "Force over time",
            StepName::VolumeAfterAddition => "Volume after the addition",
            StepName::ConcentrationAfterAddition => "Concentration after the addition",
            StepName::CalciumAdded => "Calcium added",
            StepName::CitratePresent => "Citrate in the product",
            StepName::CalciumPerCitrate => "Calcium per citrate",
            StepName::CountFromReading => "Count from the reading",
            StepName::MeanReading => "Mean of the readings",
            StepName::ReplicateCv => "Spread of the readings",
            StepName::WhiteCells => "White cells of the product",
            StepName::RedCells => "Red cells of the product",
            StepName::ProductHaematocrit => "Haematocrit of the product",
            StepName::Neutrophils => "Neutrophils",
            StepName::WhiteFold => "White cells over the blood’s",
            StepName::Diluent => "Diluent",
            StepName::ReadingAtMost => "Highest reading possible",
            StepName::ProductAtMost => "Most product possible",
            StepName::FoundAfterSpin => "Found after the spin",
            StepName::ScaleTolerance => "What the scales cannot tell",
            StepName::PlateletsInPlasma => "Platelets in the poor plasma",
            StepName::PlateletsElsewhere => "Platelets elsewhere",
            StepName::UseBy => "Use by",
            StepName::SpinBy => "Spin by, so that the programme is over at the use-by",
        })
    }
}
