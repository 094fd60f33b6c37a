//! Everything chosen from a few: button words, and the forms that stand in a sentence.

use super::Phrase;
use crate::assess::Question;
use crate::bench::{Bottom, Separates, WhiteCells};
use crate::blood::anticoagulant::{Agent, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::{Missing, Sex};
use crate::draft::{
    AdditionChoice, Brake, Changed, CheckKind, CountStanding, ProductTube, SampleDilution, Screening, Side,
    TroubleKind, WhiteCellOrder,
};
use crate::product::kind::ProductKind;
use crate::quantity::unit::NumberStyle;
use crate::quantity::write;
use crate::spin::programme::{self, Rating};
use crate::spin::rcf::RadiusKind;
use crate::spin::rotor::RotorKind;
use std::borrow::Cow;

/// Gives each choice of an enum its English.
macro_rules! choices {
    ($($(#[$doc:meta])* $name:ident of $type:ty { $($variant:pat => $english:literal,)* })*) => {$(
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq)]
        pub struct $name(pub $type);

        impl Phrase for $name {
            fn english(&self) -> Cow<'static, str> {
                Cow::Borrowed(match self.0 { $($variant => $english),* })
            }
        }
    )*};
}

choices! {
    /// Side on a button.
    SideName of Side {
        Side::Left => "Left",
        Side::Right => "Right",
        Side::NoSide => "No side",
    }
    /// Side before a site; empty where the site has none.
    SideMark of Side {
        Side::Left => "LEFT",
        Side::Right => "RIGHT",
        Side::NoSide => "",
    }
    /// What the order says of white cells.
    WhiteCellOrderName of WhiteCellOrder {
        WhiteCellOrder::Wanted => "White cells wanted",
        WhiteCellOrder::NotWanted => "White cells not wanted",
    }
    /// Whether the blood was counted.
    CountStandingName of CountStanding {
        CountStanding::Today => "Counted today",
        CountStanding::Older => "Older count",
        CountStanding::NoCount => "No count",
    }
    /// A screening question, as it is asked.
    ScreeningQuestion of Screening {
        Screening::Infection => "Unwell, feverish or with an infection now, also at the site?",
        Screening::BloodDisorder => "A known disorder of platelets, blood or clotting?",
        Screening::Cancer => "Cancer, now or before?",
        Screening::AntithromboticMedicine => "A medicine against clotting or platelets, aspirin included?",
        Screening::AntiInflammatory => "An anti-inflammatory pain medicine in the last days? Which, and when last?",
        Screening::Corticosteroid => "A corticosteroid in the last weeks, by mouth or injected?",
        Screening::Pregnancy => "Pregnant or breast-feeding?",
        Screening::Fainted => "Fainted at a blood draw before?",
        Screening::Allergy => "An allergy to anything that will be used?",
    }
    /// What a yes to it means, for the prescriber and the card.
    ScreeningStatement of Screening {
        Screening::Infection => "unwell, feverish or with an infection",
        Screening::BloodDisorder => "a known disorder of platelets, blood or clotting",
        Screening::Cancer => "cancer, now or before",
        Screening::AntithromboticMedicine => "takes a medicine against clotting or platelets",
        Screening::AntiInflammatory => "an anti-inflammatory pain medicine in the last days",
        Screening::Corticosteroid => "a corticosteroid in the last weeks",
        Screening::Pregnancy => "pregnant or breast-feeding",
        Screening::Fainted => "fainted at a blood draw before",
        Screening::Allergy => "an allergy to something that will be used",
    }
    /// Sex.
    SexName of Sex {
        Sex::Female => "Female",
        Sex::Male => "Male",
    }
    /// What the blood count was taken from.
    SampleName of SampleKind {
        SampleKind::LaboratoryEdta => "Laboratory EDTA tube",
        SampleKind::FilledContainer => "From the filled container",
        SampleKind::LiquidCitrate => "Liquid-citrate tube",
        SampleKind::FingerPrick => "Finger-prick",
        SampleKind::OlderResult => "Result of an earlier day",
    }
    /// Whether the product's sample was diluted.
    SampleDilutionName of SampleDilution {
        SampleDilution::Undiluted => "Undiluted",
        SampleDilution::Diluted => "Diluted",
    }
    /// What the product's sample went into.
    ProductTubeName of ProductTube {
        ProductTube::Plain => "Dry tube or straight from the product",
        ProductTube::LiquidCitrate => "Liquid-citrate tube",
    }
    /// How a centrifuge was set to come to rest.
    BrakeName of Brake {
        Brake::Off => "brake off",
        Brake::On => "brake on",
    }
    /// Which sample white and red cells were read from.
    CellsDilutionName of SampleDilution {
        SampleDilution::Undiluted => "The product itself",
        SampleDilution::Diluted => "The diluted sample",
    }
    /// After a check that holds no longer.
    BeforeChange of Changed {
        Changed::Identifiers => "before the identifiers changed",
        Changed::Site => "before site or side changed",
        Changed::Rotor => "before the rotor was opened",
        Changed::Load => "before what goes into the rotor changed",
        Changed::Anticoagulant => "before the anticoagulant or its lot changed",
        Changed::Containers => "before the containers or their lot changed",
        Changed::Amount => "before the amount changed",
        Changed::Receiver => "before the receiver changed",
        Changed::OnePerson => "before one person was named as both",
        Changed::Order => "before the order changed",
        Changed::TakenBack => "taken back",
    }
    /// What the container's volume means, on a button.
    ConventionName of VolumeConvention {
        VolumeConvention::FillMark => "To the fill mark, anticoagulant included",
        VolumeConvention::AddedBlood => "Blood alone, added to the anticoagulant",
    }
    /// The same, after a volume in a sentence.
    ConventionAfterVolume of VolumeConvention {
        VolumeConvention::FillMark => "in the container, anticoagulant and blood together",
        VolumeConvention::AddedBlood => "of blood, on top of the anticoagulant",
    }
    /// What a protocol takes from the spun blood.
    ProductKindName of ProductKind {
        ProductKind::OffTheTop => "Plasma off the top, cells left behind",
        ProductKind::Concentrate => "Concentrate: pellet or interface layer taken up in plasma",
        ProductKind::WithCells => "Taken with the cell layer",
    }
    /// What a protocol does with white cells.
    WhiteCellsName of WhiteCells {
        WhiteCells::LeftBehind => "White cells left behind",
        WhiteCells::Kept => "White cells kept",
        WhiteCells::Unknown => "White cells not known until counted",
    }
    /// What went wrong, on a button.
    TroubleName of TroubleKind {
        TroubleKind::ShortDraw => "Draw stopped short",
        TroubleKind::Clot => "Clot",
        TroubleKind::AnticoagulantForgotten => "Anticoagulant forgotten",
        TroubleKind::Dropped => "Container dropped, leaking or opened",
        TroubleKind::Unlabelled => "Container without label, or in doubt",
        TroubleKind::SpinStopped => "Spin stopped midway",
        TroubleKind::PinkPlasma => "Pink plasma",
        TroubleKind::MilkyPlasma => "Milky plasma",
        TroubleKind::RedCells => "Red cells in the product",
        TroubleKind::Clumps => "Clumps in the product",
    }
    /// What is confirmed, as the person confirming would say it.
    CheckName of CheckKind {
        CheckKind::Identity => "Patient stated both identifiers, and they agree",
        CheckKind::IdentityDiffers => "The identifiers do not agree",
        CheckKind::Anticoagulant => "Anticoagulant amount checked by a second person",
        CheckKind::AnticoagulantSound => "Anticoagulant clear, in date, seal whole",
        CheckKind::AnticoagulantUnsound => "Anticoagulant cloudy, out of date or opened",
        CheckKind::ContainersSound => "Containers whole, sealed, in date and labelled",
        CheckKind::ContainersUnsound => "A container cracked, opened or out of date",
        CheckKind::Balance => "Rotor balanced, lids closed",
        CheckKind::TodaysOrder => "Order taken over held against today’s order, and they agree",
        CheckKind::HandOver => "Both identifiers, side and site, and the check sign read back at hand-over",
    }
    /// A radius, always in running position.
    RadiusName of RadiusKind {
        RadiusKind::Minimum => "minimum radius, at the surface of the fluid",
        RadiusKind::Mean => "mean radius, half-way down the fluid",
        RadiusKind::Maximum => "maximum radius, at the bottom of the tube",
    }
    /// The same after ×g: 180 ×g at the maximum radius.
    RadiusShort of RadiusKind {
        RadiusKind::Minimum => "at the minimum radius",
        RadiusKind::Mean => "at the mean radius",
        RadiusKind::Maximum => "at the maximum radius",
    }
    /// How the tubes hang.
    RotorKindName of RotorKind {
        RotorKind::SwingOut => "Swing-out",
        RotorKind::FixedAngle => "Fixed angle",
    }
    /// What is rated, in a sentence.
    RatingName of Rating {
        Rating::RotorSpeed => "the rotor",
        Rating::Bucket => "the bucket",
        Rating::Container => "the container",
    }
    /// Shape of a container’s closed end.
    BottomName of Bottom {
        Bottom::Round => "Round",
        Bottom::Conical => "Conical",
        Bottom::Flat => "Flat",
    }
    /// What parts the layers in a container.
    SeparatesName of Separates {
        Separates::Open => "Nothing: an open tube or a syringe",
        Separates::Gel => "A gel between the layers",
        Separates::Float => "A float between the layers",
        Separates::Chamber => "A chamber or a bag",
    }
    /// What is added to the product.
    AdditionName of AdditionChoice {
        AdditionChoice::CalciumChloride => "Calcium chloride, strength as the dihydrate",
        AdditionChoice::CalciumGluconate => "Calcium gluconate",
        AdditionChoice::AutologousThrombin => "Thrombin from the patient’s own blood",
        AdditionChoice::LocalAnaesthetic => "Local anaesthetic",
        AdditionChoice::Other => "Something else",
    }
    /// What must be known before the draw can be judged.
    MissingName of Missing {
        Missing::Weight => "weight",
        Missing::Height => "height",
        Missing::Sex => "sex",
        Missing::Age => "age",
        Missing::Haemoglobin => "haemoglobin",
        Missing::FirstDraw => "whether this is a first draw",
    }
}

/// An anticoagulant; the number is written in the reader's style.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AgentName(pub Agent, pub NumberStyle);

impl Phrase for AgentName {
    fn english(&self) -> Cow<'static, str> {
        let citrate = |strength| {
            let percent = write::with_unit(&write::fixed(strength, 1, self.1), "%");
            Cow::Owned(format!("sodium citrate {percent}"))
        };
        Cow::Borrowed(match self.0 {
            Agent::AcdA => "ACD-A",
            Agent::AcdB => "ACD-B",
            Agent::SodiumCitrate32 => return citrate(3.2),
            Agent::SodiumCitrate38 => return citrate(3.8),
            Agent::Cpd => "CPD",
            Agent::ClinicOwn => "the clinic’s own anticoagulant",
            Agent::Edta => "EDTA",
            Agent::Heparin => "heparin",
        })
    }
}

/// A kind of spin stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SpinStageName<'a>(pub &'a programme::Stage);

impl Phrase for SpinStageName<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            programme::Stage::Ramp { .. } => "Ramp",
            programme::Stage::Hold { .. } => "Hold",
            programme::Stage::Stop { .. } => "Stop",
            programme::Stage::Handling { .. } => "Handling",
        })
    }
}

/// What the order leaves open, within a line.
impl Phrase for Question {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Question::Identifiers => "two identifiers",
            Question::Site => "site",
            Question::Side => "side",
            Question::Volume => "volume to give",
            Question::WhiteCells => "white cells",
            Question::Amount => "platelets to give",
            Question::SecondNumber => "second of the two numbers ordered",
            Question::Prescriber => "prescriber",
        })
    }
}

/// The site with its side in capitals before it, every time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct SiteLine<'a> {
    /// Side; `None` is not said yet.
    pub side: Option<Side>,
    /// The site in the order’s words.
    pub site: &'a str,
}

impl Phrase for SiteLine<'_> {
    fn english(&self) -> Cow<'static, str> {
        match self.side {
            None if self.site.is_empty() => Cow::Borrowed("site not said"),
            None => Cow::Owned(format!("{}, side not said", self.site)),
            Some(side) => {
                let mark = SideMark(side).english();
                Cow::Owned(format!("{mark} {}", self.site).trim().to_owned())
            }
        }
    }
}

/// Which brake: of a stage of the programme, from 0.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct BrakeSet(pub u8);

impl Phrase for BrakeSet {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Brake set, stage {}", u32::from(self.0) + 1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_side_stands_in_capitals_before_the_site() {
        let line = |side, site| SiteLine { side, site }.english().into_owned();
        assert_eq!(line(Some(Side::Right), "patellar tendon"), "RIGHT patellar tendon");
        assert_eq!(line(Some(Side::Left), ""), "LEFT");
        assert_eq!(line(Some(Side::NoSide), "lumbar fascia"), "lumbar fascia");
        assert_eq!(line(None, "patellar tendon"), "patellar tendon, side not said");
        assert_eq!(line(None, ""), "site not said");
    }

    #[test]
    fn fill_mark_and_blood_alone_cannot_be_confused() {
        let both = [VolumeConvention::FillMark, VolumeConvention::AddedBlood];
        for c in both {
            assert!(ConventionName(c).english().contains("anticoagulant"));
            assert!(ConventionAfterVolume(c).english().contains("anticoagulant"));
        }
        assert!(ConventionName(VolumeConvention::AddedBlood).english().starts_with("Blood alone"));
        assert!(ConventionName(VolumeConvention::FillMark).english().contains("fill mark"));
    }
}
