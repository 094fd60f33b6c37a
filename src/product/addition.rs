//! What is added to the product on the clinician's order: agent, strength and volume are entered, never proposed.

use crate::evidence::SourceId;
use crate::quantity::{
    CellCount, Factor, Haematocrit, Millimolar, Millimole, OutOfRange, Quantity, Strength, Volume,
};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// Calcium in a 10 % solution of calcium chloride dihydrate [mmol/mL] [`SourceId::CaChloride`].
const CHLORIDE: f64 = 0.680;
/// Calcium in a 10 % solution of calcium gluconate [mmol/mL] [`SourceId::CaGluconate`].
const GLUCONATE: f64 = 0.232;
/// Strength these two are given at [% w/v].
const AT: f64 = 10.0;

/// What is added, with its strength where it has one.
#[derive(Debug, Clone, PartialEq)]
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

impl AdditionAgent {
    /// Its strength [% w/v], where it has one.
    pub fn strength(&self) -> Option<Strength> {
        match self {
            Self::CalciumChloride { strength }
            | Self::CalciumGluconate { strength }
            | Self::LocalAnaesthetic { strength } => Some(*strength),
            Self::AutologousThrombin => None,
            Self::Other { strength, .. } => *strength,
        }
    }
}

/// One addition. There is no default for any part of it.
#[derive(Debug, Clone, PartialEq)]
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
    let working =
        Working::line(StepName::VolumeAfterAddition, "V″ = V′ + ΣX", "{} + {}", numbers, Figure::of(after));
    Ok(Worked::new(after, working.from(SourceId::Conservation)))
}

/// Concentration after the additions [10⁹/L]: diluted, no platelet lost. `product` is what they are added to [mL].
/// Errors: nothing there at all.
pub fn concentration_after(
    concentration: CellCount,
    product: Volume,
    additions: &[Addition],
) -> Checked<CellCount> {
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
        let line = Working::line(
            StepName::CalciumAdded,
            "n_Ca = X·k·s/10",
            "{} · {} · {} / 10",
            numbers,
            Figure::of(calcium),
        );
        working = working.then(line.from(source));
    }
    Ok(Worked::new(Millimole::new(total)?, working))
}

/// Citrate in the product [mmol]: the citrate of its plasma [mmol/L], its volume [mL] and its plasma share, which
/// is all but the red cells. Errors: outside the domain.
pub fn citrate_present(
    plasma_citrate: Millimolar,
    product: Volume,
    haematocrit: Haematocrit,
) -> Checked<Millimole> {
    // n_cit = C_p·V·(1 − H_V)/1000
    let citrate = Millimole::new(plasma_citrate.get() * product.get() * (1.0 - haematocrit.get()) / 1000.0)?;
    let numbers = vec![Figure::of(plasma_citrate), Figure::of(product), Figure::of(haematocrit)];
    let formula = "n_cit = C_p·V·(1 − H_V)/1000";
    let working = Working::line(
        StepName::CitratePresent,
        formula,
        "{} · {} · (1 − {}) / 1000",
        numbers,
        Figure::of(citrate),
    );
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
        let working =
            Working::line(StepName::CalciumPerCitrate, "n_Ca/n_cit", "{} / {}", numbers, Figure::of(ratio));
        Some(Worked::new(ratio, working.from(SourceId::CaCitrate)))
    } else {
        None
    };
    Ok(CalciumAgainstCitrate { calcium, citrate, ratio })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn q<Q: Quantity>(value: f64) -> Q {
        Q::new(value).unwrap()
    }

    fn near(found: f64, expected: f64, relative: f64) {
        assert!((found - expected).abs() <= relative * expected.abs(), "{found} is not {expected}");
    }

    fn chloride(percent: f64, volume: f64) -> Addition {
        Addition { agent: AdditionAgent::CalciumChloride { strength: q(percent) }, volume: q(volume) }
    }

    fn gluconate(percent: f64, volume: f64) -> Addition {
        Addition { agent: AdditionAgent::CalciumGluconate { strength: q(percent) }, volume: q(volume) }
    }

    fn calcium(additions: &[Addition]) -> f64 {
        calcium_added(additions).unwrap().value.get()
    }

    #[test]
    fn calcium_in_10_ml_of_each_salt() {
        // I01, I02, I03
        near(calcium(&[chloride(10.0, 10.0)]), 6.802, 5e-3);
        near(calcium(&[gluconate(10.0, 10.0)]), 2.32, 5e-3);
        near(calcium(&[chloride(10.0, 1.0)]) / calcium(&[gluconate(10.0, 1.0)]), 2.93, 5e-3);
        // half the strength, half the calcium; several add up and name both sources
        near(calcium(&[chloride(5.0, 10.0)]), 3.4, 1e-12);
        let both = calcium_added(&[chloride(10.0, 1.0), gluconate(10.0, 1.0)]).unwrap();
        near(both.value.get(), 0.912, 1e-12);
        assert_eq!(both.working.sources, [SourceId::CaChloride, SourceId::CaGluconate]);
    }

    #[test]
    fn what_holds_no_calcium_adds_none() {
        let others = [
            AdditionAgent::AutologousThrombin,
            AdditionAgent::LocalAnaesthetic { strength: q(1.0) },
            AdditionAgent::Other { name: "saline".to_owned(), strength: Some(q(0.9)) },
        ]
        .map(|agent| Addition { agent, volume: q(1.0) });
        assert_eq!(calcium(&others), 0.0);
        near(volume_after(q(4.0), &others).unwrap().value.get(), 7.0, 1e-12);
        let against = calcium_against_citrate(&others, q(22.56), q(4.0), q(0.0)).unwrap();
        assert!(against.ratio.is_none());
    }

    #[test]
    fn final_calcium_depends_on_what_one_in_ten_means() {
        let final_mm = |addition: Addition, product: f64| {
            let additions = [addition];
            1000.0 * calcium(&additions) / volume_after(q(product), &additions).unwrap().value.get()
        };
        // I04: 1 mL onto 10 mL, and 1 mL in 10 mL in all; I05: 50 µL of 10 % chloride onto 1 mL
        near(final_mm(gluconate(10.0, 1.0), 10.0), 21.1, 5e-3);
        near(final_mm(gluconate(10.0, 1.0), 9.0), 23.21, 5e-3);
        near(final_mm(chloride(10.0, 0.05), 1.0), 32.39, 5e-3);
    }

    #[test]
    fn calcium_against_citrate_mol_by_mol() {
        // I06: plasma citrate 22.56 mmol/L; equal amounts are 1:1
        let product = 4.0;
        let one_to_one = 22.56 * product / 1000.0 / 0.680;
        let found =
            calcium_against_citrate(&[chloride(10.0, one_to_one)], q(22.56), q(product), q(0.0)).unwrap();
        near(found.citrate.value.get(), 0.090_24, 1e-12);
        near(found.calcium.value.get(), 0.090_24, 1e-12);
        let ratio = found.ratio.unwrap();
        near(ratio.value.get(), 1.0, 1e-12);
        assert!(ratio.working.sources.contains(&SourceId::CaCitrate));
        // red cells hold none of it
        near(citrate_present(q(22.56), q(product), q(0.25)).unwrap().value.get(), 0.067_68, 1e-12);
        assert_eq!(citrate_present(q(22.56), q(product), q(1.0)).unwrap().value.get(), 0.0);
        assert!(
            calcium_against_citrate(&[chloride(10.0, 1.0)], q(0.0), q(product), q(0.0))
                .unwrap()
                .ratio
                .is_none()
        );
    }

    #[test]
    fn dilution_halves_the_concentration_and_keeps_the_platelets() {
        // E15
        let added =
            [Addition { agent: AdditionAgent::LocalAnaesthetic { strength: q(1.0) }, volume: q(4.0) }];
        let c = concentration_after(q(1000.0), q(4.0), &added).unwrap().value;
        assert_eq!(c.get(), 500.0);
        let after = volume_after(q(4.0), &added).unwrap().value;
        assert_eq!(crate::product::kind::in_product(c, after).unwrap().value.get(), 4.0);
        assert_eq!(concentration_after(q(1000.0), q(4.0), &[]).unwrap().value.get(), 1000.0);
        assert!(concentration_after(q(1000.0), q(0.0), &[]).is_err());
    }
}
