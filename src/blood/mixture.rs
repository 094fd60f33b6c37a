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
pub fn mixture_haematocrit(anticoagulant: Volume, blood: Volume, haematocrit: Haematocrit) -> Checked<Haematocrit> {
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
