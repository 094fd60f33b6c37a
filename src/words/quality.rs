//! Words of what the clinic's counts say: learning, checks of the process, charts.

use super::Phrase;
use super::unit::Day;
use crate::quality::chart::InControl;
use crate::quality::decided::Refused;
use crate::quality::facts::Excluded;
use crate::quality::group::{GroupBy, LotField};
use crate::quality::learn::Next;
use crate::quality::learned::Ground;
use crate::quality::line::Covariate;
use crate::quality::rules::{Rule, Side, Signal, ToCheck};
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::NumberStyle;
use crate::quantity::write;
use std::borrow::Cow;

fn plural(n: u32, one: &'static str, more: &'static str) -> String {
    if n == 1 { format!("1 {one}") } else { format!("{n} {more}") }
}

/// What an expectation rests on, wherever one is shown.
impl Phrase for Ground {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(match self {
            Ground::Literature => return "from literature".into(),
            Ground::ClinicEntry => return "from your entry in Bench".into(),
            Ground::Counts { n } => format!("from {}", plural(*n, "of your counts", "of your counts")),
            Ground::LiteratureAndCounts { n } => {
                format!("from literature and {}", plural(*n, "of your counts", "of your counts"))
            }
            Ground::EntryAndCounts { n } => {
                format!("from your entry in Bench and {}", plural(*n, "of your counts", "of your counts"))
            }
            Ground::Nothing { wanted } => {
                format!("nothing to go by yet: {}", plural(*wanted, "more count", "more counts"))
            }
        })
    }
}

/// Why a count does not enter, with what would let it in. The day is local.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ExcludedWords<'a>(pub &'a Excluded, pub Offset);

impl Phrase for ExcludedWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            Excluded::Demo => "Demo: invented, never in the clinic’s statistics.",
            Excluded::ChangedOutside => {
                "The record was changed, damaged or taken away outside Strawline: its count may not be what was signed. The printed card tells."
            }
            Excluded::Rebuilt => {
                "The case was rebuilt from the code on a card: what was entered after it printed is not in it, and the case it came from may be among these counts too. Let it in if it is complete and stands here once."
            }
            Excluded::NotMixed => {
                "The sample was said not to be well mixed and free of clumps. Count a new sample, if there is one."
            }
            Excluded::MixingUnsaid => {
                "Nobody said whether the sample was well mixed and free of clumps. Amend the record if it is known."
            }
            Excluded::Clumps => "Clumps were reported, and clumps are not counted.",
            Excluded::SampleUnknown => {
                "Nobody said what the blood’s own count was taken from. Amend the record if it is known."
            }
            Excluded::OlderBlood => {
                "The blood count is of an earlier day, and may have changed since: fold and recovery over it say less of the process. Let it in if that is known not to matter."
            }
            Excluded::DilutionUnknown => {
                "Nobody said how the product’s sample was diluted. Amend the record if it is known."
            }
            Excluded::TubeUnsaid => {
                "Nobody said what tube the product’s sample was in. Amend the record if it is known."
            }
            Excluded::NotLinear => {
                "A reading lies where the analyser does not count in proportion. Count again, diluted, if there is a sample."
            }
            Excluded::NoProductCount => {
                "The readings give no count: the tube’s factor cannot be read, or the number is out of range. Amend the record."
            }
            Excluded::NoProtocol => "The case names no protocol of the Bench.",
            Excluded::NoBaseline => "The blood was not counted, so neither fold nor recovery follows.",
            Excluded::NoBlood => {
                "The blood of some container is not known. Amend the record with the mark it reached."
            }
            Excluded::NoVolume => "The product kept was not entered. Amend the record if it is known.",
            Excluded::NoPlatelets => "A count of none has no place on this scale. Check the reading.",
            Excluded::OtherKind => "The protocol made another kind of product then.",
            Excluded::ByHand { by, at, why } => {
                let day = day(*at, self.1);
                return Cow::Owned(format!("Left out by {by}{day}: {}.", why.trim_end_matches('.')));
            }
        })
    }
}

fn day(at: Instant, offset: Offset) -> String {
    at.local(offset).map(|(date, _)| format!(" on {}", Day(date).english())).unwrap_or_default()
}

/// Why a decision was refused.
impl Phrase for Refused {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Refused::NoName => "Say who decides it.",
            Refused::NoReason => "Leaving out a count needs a reason; it stays beside the count.",
            Refused::Stands => "That is decided already.",
            Refused::NothingStands => "There is nothing to take back.",
            Refused::NotComplete => "Ten accepted counts are needed before they can be the protocol’s own.",
            Refused::UpsideDown => "The period ends before it begins.",
            Refused::NoPeriod => {
                "Enter the numbers of the first and the last count of the period, as in the table."
            }
            Refused::NoPeriodName => "Give the period a name.",
            Refused::TooFew { n } => {
                return Cow::Owned(format!(
                    "The period holds {}; limits need 20.",
                    plural(u32::try_from(*n).unwrap_or(u32::MAX), "accepted count", "accepted counts")
                ));
            }
        })
    }
}

/// The name of a rule.
impl Phrase for Rule {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Rule::OneBeyond2 => "1₂ₛ: one beyond 2 SD (warning)",
            Rule::OneBeyond3 => "1₃ₛ: one beyond 3 SD",
            Rule::TwoBeyond2 => "2₂ₛ: two in a row beyond the same 2 SD",
            Rule::TwoOfThreeBeyond2 => "2 of 3₂ₛ: two of three beyond the same 2 SD",
            Rule::Range4 => "R₄ₛ: on one day, one beyond +2 SD and one beyond −2 SD",
            Rule::FourBeyond1 => "4₁ₛ: four in a row beyond the same 1 SD",
            Rule::EightOneSide => "8ₓ: eight in a row on one side",
            Rule::TenOneSide => "10ₓ: ten in a row on one side",
            Rule::TwelveOneSide => "12ₓ: twelve in a row on one side",
            Rule::NineOneSide => "nine in a row on one side",
            Rule::SixRisingOrFalling => "six in a row rising or falling",
            Rule::FourteenUpAndDown => "fourteen in a row up and down",
            Rule::FourOfFiveBeyond1 => "four of five beyond the same 1 SD",
            Rule::FifteenWithin1 => "fifteen in a row within 1 SD",
            Rule::EightOutside1 => "eight in a row beyond 1 SD, either side",
            Rule::RunningMean => "running mean (EWMA) beyond its limits",
        })
    }
}

/// That a chart speaks: always to investigate, never about a product.
impl Phrase for Signal {
    fn english(&self) -> Cow<'static, str> {
        let side = match self.side {
            Side::High => ", high",
            Side::Low => ", low",
            Side::Spread => "",
        };
        Cow::Owned(format!("Investigate: {}{side}.", self.rule.english()))
    }
}

/// What to look at after a signal.
impl Phrase for ToCheck {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            ToCheck::BaselineKind => "what the blood’s own count was taken from",
            ToCheck::Dilution => "the dilution before the analyser",
            ToCheck::Mixing => "whether the sample was well mixed and free of clumps",
            ToCheck::Volume => "the volume kept and the mark the blood reached",
            ToCheck::Clots => "clots, or platelets left on the wall",
            ToCheck::SpinRun => "speed and time really run",
            ToCheck::Collection => "how close to the cells it was collected",
            ToCheck::ContainerLot => "a new lot of containers",
            ToCheck::AnticoagulantLot => "a new lot of anticoagulant",
            ToCheck::Analyser => "the analyser: service, or its own controls",
            ToCheck::Rotor => "rotor, radius or speed display changed",
            ToCheck::Operator => "somebody else prepares, or does it otherwise",
            ToCheck::Patients => "other patients: haematocrit, count",
        })
    }
}

/// What counts are told apart by.
impl Phrase for GroupBy {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            GroupBy::ContainerLot => "Lot of the containers",
            GroupBy::AnticoagulantLot => "Lot of the anticoagulant",
            GroupBy::Operator => "Technician",
            GroupBy::Rotor => "Rotor",
        })
    }
}

/// Which lot a preparation names.
impl Phrase for LotField {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            LotField::Containers => "containers",
            LotField::Anticoagulant => "anticoagulant",
            LotField::Additions => "addition",
        })
    }
}

/// What a stable number is drawn against.
impl Phrase for Covariate {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Covariate::Haematocrit => "Haematocrit of the blood",
            Covariate::Baseline => "The blood’s own count",
            Covariate::VolumeKept => "Volume kept",
        })
    }
}

/// How often a chart speaks when nothing is wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct InControlWords(pub InControl, pub NumberStyle);

impl Phrase for InControlWords {
    fn english(&self) -> Cow<'static, str> {
        let (InControl { per_100, median_run }, style) = (self.0, self.1);
        Cow::Owned(format!(
            "Even when nothing is wrong these rules speak about {} times in 100 preparations, and in half of all \
             clinics for the first time within {} (by simulation, limits from 20 counts).",
            write::significant(per_100, 2, style),
            write::significant(median_run, 2, style)
        ))
    }
}

/// What one more count would do to a range.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NextWords(pub Next, pub NumberStyle);

impl Phrase for NextWords {
    fn english(&self) -> Cow<'static, str> {
        let Next { now, expected, .. } = self.0;
        let two = |x: f64| write::significant(x, 2, self.1);
        Cow::Owned(format!(
            "Now {} to {}; one more count is expected to make it about {} to {} wide.",
            two(now.low),
            two(now.high),
            two(expected.low),
            two(expected.high)
        ))
    }
}

crate::phrases! {
    /// Sentences about what counts say.
    QualitySays {
        Signal => "A signal asks to investigate. It says nothing about a patient’s product.",
        NotMaterial => "These rules were made for control material. Here each point is another patient, so some spread is the patients’ own.",
        NotYet => "Limits need 20 accepted counts, or a period you name.",
        AboveAll => "A count may show more than was drawn, by counting error; it is kept.",
        OwnPrior => "These ten counts replace the published expectation until the lead takes that back.",
        DemoApart => "Demo: invented preparations, shown apart from the clinic’s own.",
    }
}
