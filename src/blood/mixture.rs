//! What stands in a container once blood has met anticoagulant. This is what is spun, not native blood.

use crate::evidence::SourceId;
use crate::quantity::{CellCount, Fold, Haematocrit, Millimolar, OutOfRange, Quantity, Share, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// Packed red-cell fraction taken for a soft spin ([`SourceId::SoftSpinPacking`], judgement).
pub const SOFT_SPIN_PACKING: Share = Share::constant(0.70);

/// All that follows from volumes, haematocrit and count, as far as they are known.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixture {
    /// Anticoagulant and blood together.
    pub fill: Volume,
    /// Haematocrit of the mixture.
    pub haematocrit: Option<Worked<Haematocrit>>,
    /// Platelet count of the mixture.
    pub platelets: Option<Worked<CellCount>>,
    /// Plasma with the anticoagulant in it.
    pub plasma: Option<Worked<Volume>>,
    /// Fold, over native blood, of plasma that carried all platelets and no cells.
    pub passive_fold: Option<Worked<Fold>>,
}

/// The mixture in one container. Errors: no fill, no plasma.
pub fn mixture(
    anticoagulant: Volume,
    blood: Volume,
    haematocrit: Option<Haematocrit>,
    platelets: Option<CellCount>,
) -> Result<Mixture, OutOfRange> {
    Ok(Mixture {
        fill: Volume::new(anticoagulant.get() + blood.get())?,
        haematocrit: haematocrit.map(|h| mixture_haematocrit(anticoagulant, blood, h)).transpose()?,
        platelets: platelets.map(|p| mixture_platelets(anticoagulant, blood, p)).transpose()?,
        plasma: haematocrit.map(|h| plasma(anticoagulant, blood, h)).transpose()?,
        passive_fold: haematocrit.map(|h| passive_fold(anticoagulant, blood, h)).transpose()?,
    })
}

/// Haematocrit of the mixture. Errors: an empty container.
pub fn mixture_haematocrit(
    anticoagulant: Volume,
    blood: Volume,
    haematocrit: Haematocrit,
) -> Checked<Haematocrit> {
    // H_m = B·H/(A + B)
    let value = Haematocrit::new(blood.get() * haematocrit.get() / (anticoagulant.get() + blood.get()))?;
    Ok(conserved(
        value,
        StepName::MixtureHaematocrit,
        "H_m = B·H/(A + B)",
        "{}·{}/({} + {})",
        vec![Figure::of(blood), Figure::of(haematocrit), Figure::of(anticoagulant), Figure::of(blood)],
    ))
}

/// Platelet count of the mixture. Errors: an empty container.
pub fn mixture_platelets(anticoagulant: Volume, blood: Volume, platelets: CellCount) -> Checked<CellCount> {
    // PLT_m = PLT·B/(A + B)
    let value = CellCount::new(platelets.get() * blood.get() / (anticoagulant.get() + blood.get()))?;
    Ok(conserved(
        value,
        StepName::MixturePlatelets,
        "PLT_m = PLT·B/(A + B)",
        "{}·{}/({} + {})",
        vec![Figure::of(platelets), Figure::of(blood), Figure::of(anticoagulant), Figure::of(blood)],
    ))
}

/// Plasma with the anticoagulant in it.
pub fn plasma(anticoagulant: Volume, blood: Volume, haematocrit: Haematocrit) -> Checked<Volume> {
    // P = A + B·(1 − H)
    let value = Volume::new(anticoagulant.get() + blood.get() * (1.0 - haematocrit.get()))?;
    Ok(conserved(
        value,
        StepName::Plasma,
        "P = A + B·(1 − H)",
        "{} + {}·(1 − {})",
        vec![Figure::of(anticoagulant), Figure::of(blood), Figure::of(haematocrit)],
    ))
}

/// Citrate in that plasma, taken to stay outside the cells: about ±5 %, and nothing about pH
/// ([`SourceId::CitrateLimits`]). `agent` is the citrate in the anticoagulant. Errors: no plasma.
pub fn plasma_citrate(
    agent: Millimolar,
    anticoagulant: Volume,
    blood: Volume,
    haematocrit: Haematocrit,
) -> Checked<Millimolar> {
    let plasma = plasma(anticoagulant, blood, haematocrit)?;
    // c = C·A/P
    let value = Millimolar::new(agent.get() * anticoagulant.get() / plasma.value.get())?;
    let line = Working::line(
        StepName::Citrate,
        "c = C·A/P",
        "{}·{}/{}",
        vec![Figure::of(agent), Figure::of(anticoagulant), Figure::of(plasma.value)],
        Figure::of(value),
    );
    Ok(Worked::new(value, plasma.working.then(line).from(SourceId::CitrateLimits)))
}

/// Fold over native blood if all platelets stayed in the plasma and it took no other volume with it:
/// B/P = 1/(1 + a − H). Errors: no plasma.
pub fn passive_fold(anticoagulant: Volume, blood: Volume, haematocrit: Haematocrit) -> Checked<Fold> {
    let plasma = plasma(anticoagulant, blood, haematocrit)?;
    // B/P
    let value = Fold::new(blood.get() / plasma.value.get())?;
    let line = Working::line(
        StepName::PassiveFold,
        "B/P",
        "{}/{}",
        vec![Figure::of(blood), Figure::of(plasma.value)],
        Figure::of(value),
    );
    Ok(Worked::new(value, plasma.working.then(line)))
}

/// Most that can stand above packed cells, never below nothing. `packed` is the red-cell fraction of the
/// packed layer, `source` who says so ([`SOFT_SPIN_PACKING`] by default). Errors: a packed fraction of zero.
pub fn supernatant(
    fill: Volume,
    blood: Volume,
    haematocrit: Haematocrit,
    packed: Share,
    source: SourceId,
) -> Checked<Volume> {
    // V_s = max(0, F − B·H/φ)
    let layer = Volume::new(blood.get() * haematocrit.get() / packed.get())?;
    let value = Volume::new((fill.get() - layer.get()).max(0.0))?;
    let mut worked = conserved(
        value,
        StepName::Supernatant,
        "V_s = max(0, F − B·H/φ)",
        "max(0, {} − {}·{}/{})",
        vec![Figure::of(fill), Figure::of(blood), Figure::of(haematocrit), Figure::of(packed)],
    );
    worked.working = worked.working.from(source);
    Ok(worked)
}

fn conserved<Q: Quantity>(
    value: Q,
    what: StepName,
    formula: &'static str,
    substituted: &'static str,
    numbers: Vec<Figure>,
) -> Worked<Q> {
    let working = Working::line(what, formula, substituted, numbers, Figure::of(value));
    Worked::new(value, working.from(SourceId::Conservation))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, number, q, sound};

    #[test]
    fn sixty_millilitres_at_label_amount() {
        // B27
        let (a, b, h) = (q(7.826), q(52.174), q(0.42));
        let all = mixture(a, b, Some(h), Some(q(210.0))).unwrap();
        near(all.fill.get(), 60.0, 1e-9);
        near(number(Ok(all.haematocrit.unwrap())), 0.3652, 0.002 * 0.3652);
        near(number(Ok(all.platelets.unwrap())), 182.6, 0.002 * 182.6);
        near(number(Ok(all.plasma.unwrap())), 38.09, 0.002 * 38.09);
        let fold = number(Ok(all.passive_fold.unwrap()));
        near(fold, 1.370, 0.002 * 1.370);
        near(fold, 1.0 / (1.0 + 7.826 / 52.174 - 0.42), 1e-12);
        near(fold * 60.0 / 52.174, 1.575, 0.002 * 1.575);
        near(number(plasma_citrate(q(112.8), a, b, h)), 23.18, 0.002 * 23.18);
    }

    #[test]
    fn a_citrate_tube() {
        // B23, B24
        let (a, b) = (q(1.0), q(9.0));
        let agent = q(108.8);
        near(number(plasma_citrate(agent, a, b, q(0.40))), 17.0, 0.005 * 17.0);
        near(number(plasma_citrate(agent, a, b, q(0.60))), 23.65, 0.005 * 23.65);
        assert_eq!(number(mixture_platelets(a, b, q(250.0))), 225.0);
    }

    #[test]
    fn what_can_stand_above_the_cells() {
        // B28
        let (f, b, h) = (q(60.0), q(52.174), q(0.42));
        for (packed, wanted) in [(SOFT_SPIN_PACKING, 28.70), (q(0.94), 36.69)] {
            let worked = supernatant(f, b, h, packed, SourceId::SoftSpinPacking).unwrap();
            assert!(worked.working.sources.contains(&SourceId::SoftSpinPacking));
            near(number(Ok(worked)), wanted, 0.02);
        }
        assert_eq!(number(supernatant(q(10.0), q(10.0), q(0.7), q(0.5), SourceId::ClinicBench)), 0.0);
        assert!(supernatant(f, b, h, q(0.0), SourceId::ClinicBench).is_err());
    }

    #[test]
    fn what_is_not_known_is_left_out() {
        let all = mixture(q(2.0), q(13.0), None, Some(q(210.0))).unwrap();
        assert!(all.haematocrit.is_none() && all.plasma.is_none() && all.passive_fold.is_none());
        sound(&all.platelets.unwrap());
    }

    #[test]
    fn nothing_in_the_container_is_refused() {
        let none = Volume::ZERO;
        assert!(mixture_haematocrit(none, none, q(0.4)).is_err());
        assert!(mixture_platelets(none, none, q(200.0)).is_err());
        assert!(passive_fold(none, q(10.0), q(1.0)).is_err());
        assert!(plasma_citrate(q(112.8), none, q(10.0), q(1.0)).is_err());
    }
}
