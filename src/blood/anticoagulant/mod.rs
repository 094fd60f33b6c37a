//! Anticoagulants: which, how much of each, and how a container's fill is split between it and the blood.

mod composition;
mod split;

pub use composition::{
    Composition, citrate_anhydrous, citric_acid_monohydrate, dextrose_anhydrous, trisodium_citrate,
};
pub use split::{
    Direction, Dosing, Rounded, Split, TopUp, VolumeConvention, round_up, split, top_up, true_ratio,
};

use crate::blood::{above, below};
use crate::evidence::SourceId;
use crate::quantity::{AcRatio, Millimolar, Quantity};
use crate::working::Checked;
use serde::{Deserialize, Serialize};

/// Below this share of the lowest accepted amount there is too little to rely on, and [`SourceId::AnticoagulantFarLow`]
/// says that it is judgement.
pub const FAR_LOW: f64 = 0.5;

/// What keeps the blood from clotting.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Agent {
    /// Anticoagulant citrate dextrose solution, formula A.
    AcdA,
    /// Anticoagulant citrate dextrose solution, formula B.
    AcdB,
    /// Trisodium citrate dihydrate, 3.2 % w/v.
    #[serde(rename = "sodium_citrate_3_2")]
    SodiumCitrate32,
    /// Trisodium citrate dihydrate, 3.8 % w/v.
    #[serde(rename = "sodium_citrate_3_8")]
    SodiumCitrate38,
    /// Anticoagulant citrate phosphate dextrose solution.
    Cpd,
    /// The clinic's own, with its own amount and band.
    ClinicOwn,
    /// Counting tubes only.
    Edta,
    /// Laboratory tubes only.
    Heparin,
}

/// Amounts of anticoagulant per blood [mL/mL] between which a preparation is accepted, both ends included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Lowest amount.
    pub low: AcRatio,
    /// Highest amount.
    pub high: AcRatio,
    /// Who says so.
    pub source: SourceId,
}

impl Band {
    /// Whether a ratio lies in the band; the ends do.
    pub fn contains(&self, ratio: AcRatio) -> bool {
        !below(ratio.get(), self.low.get()) && !above(ratio.get(), self.high.get())
    }
}

impl Agent {
    /// Every agent, in the order offered.
    pub const ALL: [Agent; 8] = [
        Agent::AcdA,
        Agent::AcdB,
        Agent::SodiumCitrate32,
        Agent::SodiumCitrate38,
        Agent::Cpd,
        Agent::ClinicOwn,
        Agent::Edta,
        Agent::Heparin,
    ];

    /// The amount a label names [mL per mL of blood]; `None`: read the label.
    pub fn label_amount(self) -> Option<(AcRatio, SourceId)> {
        const ACD_A: AcRatio = AcRatio::constant(0.15);
        const CPD: AcRatio = AcRatio::constant(0.14);
        match self {
            Agent::AcdA => Some((ACD_A, SourceId::AcdLabel15)),
            Agent::Cpd => Some((CPD, SourceId::UspCpd)),
            _ => None,
        }
    }

    /// The band shipped for the agent; `None` until the clinic sets one.
    pub fn band(self) -> Option<Band> {
        const LOW: AcRatio = AcRatio::constant(0.10);
        const HIGH: AcRatio = AcRatio::constant(0.20);
        match self {
            Agent::AcdA => Some(Band { low: LOW, high: HIGH, source: SourceId::AcdBand }),
            _ => None,
        }
    }

    /// What a litre holds; `None` for the clinic's own and for what is not a citrate.
    pub fn composition(self) -> Option<(Composition, SourceId)> {
        match self {
            Agent::AcdA => Some((Composition::ACD_A, SourceId::UspAcd)),
            Agent::AcdB => Some((Composition::ACD_B, SourceId::UspAcd)),
            Agent::SodiumCitrate32 => Some((Composition::CITRATE_3_2, SourceId::CitrateMolarity)),
            Agent::SodiumCitrate38 => Some((Composition::CITRATE_3_8, SourceId::CitrateMolarity)),
            Agent::Cpd => Some((Composition::CPD, SourceId::UspCpd)),
            Agent::ClinicOwn | Agent::Edta | Agent::Heparin => None,
        }
    }

    /// Citrate in it [mmol/L], reckoned from its composition, with the source of the composition.
    pub fn citrate(self) -> Option<(Millimolar, SourceId)> {
        let (_, source) = self.composition()?;
        let worked = self.citrate_worked()?.ok()?;
        Some((worked.value, source))
    }

    /// Citrate in it [mmol/L] with the working; `None` where the composition is not known.
    pub fn citrate_worked(self) -> Option<Checked<Millimolar>> {
        let (composition, source) = self.composition()?;
        Some(composition.total_citrate().map(|mut worked| {
            worked.working = worked.working.from(source);
            worked
        }))
    }

    /// What speaks against drawing blood for re-injection onto it: EDTA and heparin are for counting and the
    /// laboratory.
    pub fn objection(self) -> Option<SourceId> {
        matches!(self, Agent::Edta | Agent::Heparin).then_some(SourceId::EdtaHeparin)
    }

    /// Whether blood for re-injection may be drawn onto it.
    pub fn suits_process(self) -> bool {
        self.objection().is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q, sound};

    #[test]
    fn amounts_and_bands_are_known_for_what_has_a_source() {
        let amounts = Agent::ALL.map(|a| a.label_amount().map(|(ratio, _)| ratio.get()));
        assert_eq!(amounts, [Some(0.15), None, None, None, Some(0.14), None, None, None]);
        assert_eq!(Agent::Cpd.label_amount().unwrap().1, SourceId::UspCpd);
        let banded: Vec<Agent> = Agent::ALL.into_iter().filter(|a| a.band().is_some()).collect();
        assert_eq!(banded, [Agent::AcdA]);
    }

    #[test]
    fn the_band_holds_its_ends_and_nothing_beyond() {
        let band = Agent::AcdA.band().unwrap();
        assert!(band.contains(q(0.10)) && band.contains(q(0.20)));
        assert!(!band.contains(q(0.0999)) && !band.contains(q(0.2001)));
        // 0.6/3 is 0.19999999999999998 and 0.3/3 is 0.09999999999999999
        assert!(band.contains(q(0.6 / 3.0)) && band.contains(q(0.3 / 3.0)));
    }

    #[test]
    fn citrate_of_each_agent() {
        let found = Agent::ALL.map(|a| a.citrate().map(|(c, _)| c.get()));
        for (found, wanted) in found.into_iter().zip([112.8, 67.785, 108.8, 129.2, 104.99]) {
            near(found.unwrap_or(f64::NAN), wanted, 0.05);
        }
        assert_eq!(found[5..], [None, None, None].map(|n: Option<f64>| n));
        for agent in Agent::ALL {
            if let Some(worked) = agent.citrate_worked() {
                let worked = worked.unwrap();
                sound(&worked);
                assert!(worked.working.sources.contains(&agent.composition().unwrap().1));
            }
        }
    }

    #[test]
    fn counting_tubes_are_not_for_blood_that_goes_back() {
        let unsuited: Vec<Agent> = Agent::ALL.into_iter().filter(|a| !a.suits_process()).collect();
        assert_eq!(unsuited, [Agent::Edta, Agent::Heparin]);
    }

    #[test]
    fn names_in_files() {
        let names = serde_json::to_string(&Agent::ALL).unwrap();
        let wanted = r#"["acd_a","acd_b","sodium_citrate_3_2","sodium_citrate_3_8","cpd","clinic_own","edta","heparin"]"#;
        assert_eq!(names, wanted);
        assert_eq!(serde_json::from_str::<[Agent; 8]>(&names).unwrap(), Agent::ALL);
    }
}
