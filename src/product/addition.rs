//! What is added to the product on the clinician's order: agent, strength and volume are entered, never proposed.

use crate::evidence::SourceId;
use crate::quantity::{CellCount, Factor, Haematocrit, Millimolar, Millimole, OutOfRange, Quantity, Strength, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// Calcium in a 10 % solution of calcium chloride dihydrate [mmol/mL] [`SourceId::CaChloride`].
const CHLORIDE: f64 = 0.680;
/// Calcium in a 10 % solution of calcium gluconate [mmol/mL] [`SourceId::CaGluconate`].
const GLUCONATE: f64 = 0.232;
/// Strength these two are given at [% w/v].
const AT: f64 = 10.0;

/// What is added, with its strength where it has one.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AdditionAgent {
    /// Calcium chloride, strength as the dihydrate.
    CalciumChloride {
        /// [% w/v]
        strength: Strength,
    },
    /// Calcium gluconate.
    CalciumGluconate {
        /// [% w/v]
        strength: Strength,
    },
    /// Thrombin made from the patient's own blood; its strength is not known.
    AutologousThrombin,
    /// Local anaesthetic.
    LocalAnaesthetic {
        /// [% w/v]
        strength: Strength,
    },
    /// Anything else, as the clinic calls it.
    Other {
        /// The clinic's name for it.
        name: String,
        /// [% w/v], if it has one.
        strength: Option<Strength>,
    },
}

/// One addition. There is no default for any part of it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct Addition {
    /// What.
    pub agent: AdditionAgent,
    /// How much [mL].
    pub volume: Volume,
}

/// Calcium added against the citrate in the product.
#[derive(Debug, Clone, PartialEq)]
pub struct CalciumAgainstCitrate {
    /// Calcium in all additions.
    pub calcium: Worked<Millimole>,
    /// Citrate in the product.
    pub citrate: Worked<Millimole>,
    /// Calcium per citrate, mol:mol; absent without calcium or without citrate. Binding is about 1:1.
    pub ratio: Option<Worked<Factor>>,
}

/// Volume after the additions [mL]. Errors: outside the domain of a volume.
pub fn volume_after(product: Volume, additions: &[Addition]) -> Checked<Volume> {
    // V″ = V′ + Σ X
    let added = added(additions)?;
    let after = Volume::new(product.get() + added.get())?;
    let numbers = vec![Figure::of(product), Figure::of(added)];
    let working = Working::line(StepName::VolumeAfterAddition, "V″ = V′ + ΣX", "{} + {}", numbers, Figure::of(after));
    Ok(Worked::new(after, working.from(SourceId::Conservation)))
}

/// Concentration after the additions [10⁹/L]: diluted, no platelet lost. `product` is what they are added to [mL].
/// Errors: nothing there at all.
pub fn concentration_after(concentration: CellCount, product: Volume, additions: &[Addition]) -> Checked<CellCount> {
    let after = volume_after(product, additions)?;
    // c″ = c·V′/V″
    let diluted = CellCount::new(concentration.get() * product.get() / after.value.get())?;
    let numbers = vec![Figure::of(concentration), Figure::of(product), Figure::of(after.value)];
    let what = StepName::ConcentrationAfterAddition;
    let line = Working::line(what, "c″ = c·V′/V″", "{} · {} / {}", numbers, Figure::of(diluted));
    Ok(Worked::new(diluted, after.working.then(line)))
}

/// All additions together [mL]. Errors: outside the domain of a volume.
pub fn added(additions: &[Addition]) -> Result<Volume, OutOfRange> {
    Volume::new(additions.iter().map(|addition| addition.volume.get()).sum())
}

/// Calcium in all additions [mmol]; other strengths than 10 % in proportion. 0 if none holds calcium.
pub fn calcium_added(additions: &[Addition]) -> Checked<Millimole> {
    let mut total = 0.0;
    let mut working = Working::default();
    for addition in additions {
        let (per_ml, strength, source) = match addition.agent {
            AdditionAgent::CalciumChloride { strength } => (CHLORIDE, strength, SourceId::CaChloride),
            AdditionAgent::CalciumGluconate { strength } => (GLUCONATE, strength, SourceId::CaGluconate),
            AdditionAgent::AutologousThrombin
            | AdditionAgent::LocalAnaesthetic { .. }
            | AdditionAgent::Other { .. } => continue,
        };
        // n_Ca = X·k·s/10
        let calcium = Millimole::new(addition.volume.get() * per_ml * strength.get() / AT)?;
        total += calcium.get();
        let k = Figure { value: per_ml, unit: "mmol/mL" };
        let numbers = vec![Figure::of(addition.volume), k, Figure::of(strength)];
        let line = Working::line(StepName::CalciumAdded, "n_Ca = X·k·s/10", "{} · {} · {} / 10", numbers, Figure::of(calcium));
        working = working.then(line.from(source));
    }
    Ok(Worked::new(Millimole::new(total)?, working))
}

/// Citrate in the product [mmol]: the citrate of its plasma [mmol/L], its volume [mL] and its plasma share, which
/// is all but the red cells. Errors: outside the domain.
pub fn citrate_present(plasma_citrate: Millimolar, product: Volume, haematocrit: Haematocrit) -> Checked<Millimole> {
    // n_cit = C_p·V·(1 − H_V)/1000
    let citrate = Millimole::new(plasma_citrate.get() * product.get() * (1.0 - haematocrit.get()) / 1000.0)?;
    let numbers = vec![Figure::of(plasma_citrate), Figure::of(product), Figure::of(haematocrit)];
    let formula = "n_cit = C_p·V·(1 − H_V)/1000";
    let working = Working::line(StepName::CitratePresent, formula, "{} · {} · (1 − {}) / 1000", numbers, Figure::of(citrate));
    Ok(Worked::new(citrate, working.from(SourceId::CitrateLimits)))
}

/// Both amounts and their ratio. Errors: outside the domain.
pub fn calcium_against_citrate(
    additions: &[Addition],
    plasma_citrate: Millimolar,
    product: Volume,
    haematocrit: Haematocrit,
) -> Result<CalciumAgainstCitrate, OutOfRange> {
    let calcium = calcium_added(additions)?;
    let citrate = citrate_present(plasma_citrate, product, haematocrit)?;
    let (ca, cit) = (calcium.value.get(), citrate.value.get());
    let ratio = if ca > 0.0 && cit > 0.0 {
        // n_Ca/n_cit
        let ratio = Factor::new(ca / cit)?;
        let numbers = vec![Figure::of(calcium.value), Figure::of(citrate.value)];
        let working = Working::line(StepName::CalciumPerCitrate, "n_Ca/n_cit", "{} / {}", numbers, Figure::of(ratio));
        Some(Worked::new(ratio, working.from(SourceId::CaCitrate)))
    } else {
        None
    };
    Ok(CalciumAgainstCitrate { calcium, citrate, ratio })
}
