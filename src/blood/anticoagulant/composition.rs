//! What a litre of anticoagulant holds, and the citrate and sodium in it.

use crate::evidence::SourceId;
use crate::quantity::{GramsPerLitre, Millimolar, OutOfRange, Quantity, Strength};
use crate::working::{Checked, Figure, StepName, Worked, Working};

// Molar masses [g/mol], standard atomic weights, from memory (SourceId::MolarMasses).
const CITRIC_ACID: f64 = 192.124;
const CITRIC_ACID_MONOHYDRATE: f64 = 210.139;
const CITRATE_ANHYDROUS: f64 = 258.07;
const CITRATE_DIHYDRATE: f64 = 294.10;
const DEXTROSE_ANHYDROUS: f64 = 180.156;
const DEXTROSE_MONOHYDRATE: f64 = 198.171;
const SODIUM: f64 = 22.990;

/// A litre of anticoagulant, in the hydrates the monograph names.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Composition {
    /// Citric acid, anhydrous.
    pub citric_acid: GramsPerLitre,
    /// Trisodium citrate dihydrate.
    pub citrate_dihydrate: GramsPerLitre,
    /// Dextrose monohydrate.
    pub dextrose_monohydrate: GramsPerLitre,
}

impl Composition {
    const fn of(citric_acid: f64, citrate_dihydrate: f64, dextrose_monohydrate: f64) -> Self {
        Self {
            citric_acid: GramsPerLitre::constant(citric_acid),
            citrate_dihydrate: GramsPerLitre::constant(citrate_dihydrate),
            dextrose_monohydrate: GramsPerLitre::constant(dextrose_monohydrate),
        }
    }
    /// ACD-A ([`SourceId::UspAcd`]).
    pub const ACD_A: Self = Self::of(7.3, 22.0, 24.5);
    /// ACD-B ([`SourceId::UspAcd`]).
    pub const ACD_B: Self = Self::of(4.4, 13.2, 14.7);
    /// CPD ([`SourceId::UspCpd`], from memory); its phosphate is left out.
    pub const CPD: Self = Self::of(2.99, 26.3, 25.5);
    /// 3.2 % w/v trisodium citrate dihydrate.
    pub const CITRATE_3_2: Self = Self::of(0.0, 32.0, 0.0);
    /// 3.8 % w/v trisodium citrate dihydrate.
    pub const CITRATE_3_8: Self = Self::of(0.0, 38.0, 0.0);

    /// Citrate in all, from the acid and from the salt [mmol/L].
    pub fn total_citrate(&self) -> Checked<Millimolar> {
        let (acid, salt) = (self.citric_acid, self.citrate_dihydrate);
        // C = 1000·(acid/192.124 + salt/294.10)
        let value = Millimolar::new(1000.0 * (acid.get() / CITRIC_ACID + salt.get() / CITRATE_DIHYDRATE))?;
        let working = Working::line(
            StepName::AgentCitrate,
            "C = 1000·(m_acid/M_acid + m_salt/M_salt)",
            "1000·({}/{} + {}/{})",
            vec![Figure::of(acid), molar(CITRIC_ACID), Figure::of(salt), molar(CITRATE_DIHYDRATE)],
            Figure::of(value),
        );
        Ok(Worked::new(value, working.from(SourceId::MolarMasses)))
    }

    /// Citrate in all, written as anhydrous citric acid [g/L], the way the monograph limits it.
    pub fn citrate_as_citric_acid(&self) -> Checked<GramsPerLitre> {
        let citrate = self.total_citrate()?;
        // m = C·192.124/1000
        let value = GramsPerLitre::new(citrate.value.get() * CITRIC_ACID / 1000.0)?;
        let working = Working::line(
            StepName::AgentComposition,
            "m = C·M_acid/1000",
            "{}·{}/1000",
            vec![Figure::of(citrate.value), molar(CITRIC_ACID)],
            Figure::of(value),
        );
        Ok(Worked::new(value, citrate.working.then(working)))
    }

    /// Sodium from the trisodium citrate [g/L].
    pub fn sodium(&self) -> Checked<GramsPerLitre> {
        // m_Na = 3·22.990·salt/294.10
        by_mass(self.citrate_dihydrate, 3.0 * SODIUM, CITRATE_DIHYDRATE)
    }
}

/// Citrate in a solution of trisodium citrate dihydrate [mmol/L].
pub fn trisodium_citrate(dihydrate: Strength) -> Checked<Millimolar> {
    // 1 % w/v is 10 g/L
    let citrate_dihydrate = GramsPerLitre::new(10.0 * dihydrate.get())?;
    Composition { citrate_dihydrate, ..Composition::of(0.0, 0.0, 0.0) }.total_citrate()
}

/// Anhydrous citric acid as its monohydrate [g/L].
pub fn citric_acid_monohydrate(anhydrous: GramsPerLitre) -> Checked<GramsPerLitre> {
    // m = m_anhydrous·210.139/192.124
    by_mass(anhydrous, CITRIC_ACID_MONOHYDRATE, CITRIC_ACID)
}

/// Trisodium citrate dihydrate as the anhydrous salt [g/L].
pub fn citrate_anhydrous(dihydrate: GramsPerLitre) -> Checked<GramsPerLitre> {
    // m = m_dihydrate·258.07/294.10
    by_mass(dihydrate, CITRATE_ANHYDROUS, CITRATE_DIHYDRATE)
}

/// Dextrose monohydrate as anhydrous dextrose [g/L].
pub fn dextrose_anhydrous(monohydrate: GramsPerLitre) -> Checked<GramsPerLitre> {
    // m = m_monohydrate·180.156/198.171
    by_mass(monohydrate, DEXTROSE_ANHYDROUS, DEXTROSE_MONOHYDRATE)
}

/// The same amount of substance as another mass.
fn by_mass(given: GramsPerLitre, wanted: f64, present: f64) -> Result<Worked<GramsPerLitre>, OutOfRange> {
    // m₂ = m₁·M₂/M₁
    let value = GramsPerLitre::new(given.get() * wanted / present)?;
    let working = Working::line(
        StepName::AgentComposition,
        "m₂ = m₁·M₂/M₁",
        "{}·{}/{}",
        vec![Figure::of(given), molar(wanted), molar(present)],
        Figure::of(value),
    );
    Ok(Worked::new(value, working.from(SourceId::MolarMasses)))
}

fn molar(mass: f64) -> Figure {
    Figure { value: mass, unit: "g/mol" }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, number, q};

    #[test]
    fn acd_a_keeps_the_limits_of_its_monograph() {
        // B17, B18
        near(number(Composition::ACD_A.total_citrate()), 112.8, 0.1);
        let as_acid = number(Composition::ACD_A.citrate_as_citric_acid());
        near(as_acid, 21.672, 0.002 * 21.672);
        assert!((20.59..=22.75).contains(&as_acid));
        let sodium = number(Composition::ACD_A.sodium());
        near(sodium, 5.159, 0.002 * 5.159);
        assert!((4.90..=5.42).contains(&sodium));
    }

    #[test]
    fn acd_b_keeps_the_limits_of_its_monograph() {
        // B20
        let as_acid = number(Composition::ACD_B.citrate_as_citric_acid());
        near(as_acid, 13.023, 0.002 * 13.023);
        assert!((12.37..=13.67).contains(&as_acid));
        assert!((2.94..=3.25).contains(&number(Composition::ACD_B.sodium())));
    }

    #[test]
    fn hydrates_agree_with_the_permitted_equivalents() {
        // B19
        let acd_a = Composition::ACD_A;
        near(number(citric_acid_monohydrate(acd_a.citric_acid)), 8.0, 0.06);
        near(number(citrate_anhydrous(acd_a.citrate_dihydrate)), 19.3, 0.06);
        near(number(dextrose_anhydrous(acd_a.dextrose_monohydrate)), 22.3, 0.06);
    }

    #[test]
    fn citrate_from_per_cent() {
        // B21, B22
        near(number(trisodium_citrate(q(3.8))), 129.0, 0.5);
        near(number(trisodium_citrate(q(3.2))), 108.8, 0.5);
        near(number(Composition::CITRATE_3_2.total_citrate()), 108.8, 0.05);
    }
}
