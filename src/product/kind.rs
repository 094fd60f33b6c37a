//! The three kinds of product, what each keeps stable, and the identities that hold for all of them.

use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, Fold, Haematocrit, Quantity, Recovery, Share, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// What the protocol takes from the spun blood.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum ProductKind {
    /// Plasma off the top, the cell layer left behind: the fold is stable.
    OffTheTop,
    /// Pellet resuspended, interface layer or automatic chamber: the recovery is stable.
    Concentrate,
    /// Taken with the cell layer: recovery and product haematocrit together.
    WithCells,
}

/// What is expected of a protocol, as mean and SD of the one number that its kind keeps stable.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Expected {
    /// Off the top: concentration over the blood's own count.
    Fold {
        /// Mean fold.
        mean: Fold,
        /// Standard deviation of the fold.
        sd: Fold,
    },
    /// Concentrate: platelets in product over platelets drawn.
    Recovery {
        /// Mean recovery.
        mean: Recovery,
        /// Standard deviation of the recovery.
        sd: Recovery,
    },
    /// With the cell layer: recovery, and the red cells that come with it.
    RecoveryWithCells {
        /// Mean recovery.
        mean: Recovery,
        /// Standard deviation of the recovery.
        sd: Recovery,
        /// Haematocrit of the product.
        haematocrit: Haematocrit,
    },
}

/// Where an expectation comes from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Published rows, not checked in this clinic.
    Literature(Vec<SourceId>),
    /// Learned from this clinic's accepted counts.
    ClinicCounts {
        /// How many counts.
        n: u32,
    },
    /// Entered by the clinic in Bench.
    ClinicEntry,
}

/// An expectation and where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct Expectation {
    /// Mean and SD.
    pub expected: Expected,
    /// Literature, this clinic's counts, or its entry.
    pub basis: Basis,
}

impl Expectation {
    /// The kind of product it speaks of.
    pub fn kind(&self) -> ProductKind {
        match self.expected {
            Expected::Fold { .. } => ProductKind::OffTheTop,
            Expected::Recovery { .. } => ProductKind::Concentrate,
            Expected::RecoveryWithCells { .. } => ProductKind::WithCells,
        }
    }

    /// Accepted counts of this clinic behind it; none for literature or an entry.
    pub fn counts(&self) -> u32 {
        match self.basis {
            Basis::ClinicCounts { n } => n,
            Basis::Literature(_) | Basis::ClinicEntry => 0,
        }
    }

    /// Sources to name beside any number made with it.
    pub fn sources(&self) -> &[SourceId] {
        match &self.basis {
            Basis::Literature(rows) => rows,
            Basis::ClinicCounts { .. } => &[SourceId::ProductMeasured],
            Basis::ClinicEntry => &[SourceId::ClinicBench],
        }
    }

    /// Plasma off the top of a soft spin: fold 1.7 ± 0.1, literature (Petrushenko 2022; series of 686).
    pub fn off_the_top() -> Option<Self> {
        let (mean, sd) = (Fold::new(1.7).ok()?, Fold::new(0.1).ok()?);
        let rows = vec![SourceId::Petrushenko2022, SourceId::Series686];
        Some(Self { expected: Expected::Fold { mean, sd }, basis: Basis::Literature(rows) })
    }

    /// Double-spin tube method: recovery 0.70 ± 0.12, judgement over the four papers it names.
    pub fn double_spin() -> Option<Self> {
        let (mean, sd) = (Recovery::new(0.7).ok()?, Recovery::new(0.12).ok()?);
        let rows = vec![
            SourceId::RecoveryJudgement,
            SourceId::Amable2013,
            SourceId::Perez2014,
            SourceId::JOralImplantol2013,
            SourceId::Pmc9577528,
        ];
        Some(Self { expected: Expected::Recovery { mean, sd }, basis: Basis::Literature(rows) })
    }
}

/// Platelets drawn `N₀` [10⁹] from the blood's own count [10⁹/L] and the blood [mL], anticoagulant not counted.
/// Errors: outside the domain of cells.
pub fn platelets_drawn(native: CellCount, blood: Volume) -> Checked<Cells> {
    // N₀ = PLT·B/1000
    let drawn = Cells::new(native.get() * blood.get() / 1000.0)?;
    let numbers = vec![Figure::of(native), Figure::of(blood)];
    Ok(Worked::new(
        drawn,
        Working::line(StepName::PlateletsDrawn, "N₀ = PLT·B/1000", "{} · {} / 1000", numbers, Figure::of(drawn))
            .from(SourceId::Conservation),
    ))
}

/// Highest possible fold: all platelets of the blood [mL] in the product volume [mL].
/// Errors: no product volume, or a fold outside its domain.
pub fn ceiling(blood: Volume, product: Volume) -> Checked<Fold> {
    // fold ≤ B/V
    let top = Fold::new(blood.get() / product.get())?;
    let numbers = vec![Figure::of(blood), Figure::of(product)];
    Ok(Worked::new(
        top,
        Working::line(StepName::Ceiling, "fold ≤ B/V", "{} / {}", numbers, Figure::of(top)).from(SourceId::Conservation),
    ))
}

/// Fold that a recovery gives in this product volume [mL] from this blood [mL].
/// Errors: no product volume, or a fold outside its domain.
pub fn fold_from_recovery(recovery: Recovery, blood: Volume, product: Volume) -> Checked<Fold> {
    // fold = η·B/V
    let fold = Fold::new(recovery.get() * blood.get() / product.get())?;
    let numbers = vec![Figure::of(recovery), Figure::of(blood), Figure::of(product)];
    Ok(Worked::new(
        fold,
        Working::line(StepName::Fold, "fold = η·B/V", "{} · {} / {}", numbers, Figure::of(fold)).from(SourceId::Conservation),
    ))
}

/// Recovery that a fold means in this product volume [mL] from this blood [mL]. `blood` is without
/// anticoagulant when the fold is over the blood's own count. Errors: no blood, or outside the domain.
pub fn recovery_from_fold(fold: Fold, blood: Volume, product: Volume) -> Checked<Recovery> {
    // η = fold·V/B
    let recovery = Recovery::new(fold.get() * product.get() / blood.get())?;
    let numbers = vec![Figure::of(fold), Figure::of(product), Figure::of(blood)];
    Ok(Worked::new(
        recovery,
        Working::line(StepName::Recovery, "η = fold·V/B", "{} · {} / {}", numbers, Figure::of(recovery))
            .from(SourceId::Conservation),
    ))
}

/// Concentration in the product [10⁹/L] from the blood's own count [10⁹/L] and the fold.
/// Errors: outside the domain of a count.
pub fn concentration(native: CellCount, fold: Fold) -> Checked<CellCount> {
    // c = fold·PLT
    let c = CellCount::new(native.get() * fold.get())?;
    let numbers = vec![Figure::of(fold), Figure::of(native)];
    Ok(Worked::new(
        c,
        Working::line(StepName::Concentration, "c = fold·PLT", "{} · {}", numbers, Figure::of(c)).from(SourceId::Conservation),
    ))
}

/// Platelets in product `N` [10⁹] from the concentration [10⁹/L] and the product volume [mL].
/// Errors: outside the domain of cells.
pub fn in_product(concentration: CellCount, product: Volume) -> Checked<Cells> {
    // N = c·V/1000
    let n = Cells::new(concentration.get() * product.get() / 1000.0)?;
    let numbers = vec![Figure::of(concentration), Figure::of(product)];
    Ok(Worked::new(
        n,
        Working::line(StepName::PlateletsInProduct, "N = c·V/1000", "{} · {} / 1000", numbers, Figure::of(n))
            .from(SourceId::Conservation),
    ))
}

/// Fold that plasma reaches by carrying along every platelet: the blood [mL] over its plasma with the
/// anticoagulant in it [mL]. With the fill in place of the blood it is over the mixture's count.
/// Errors: no plasma.
pub fn passive_fold(blood: Volume, plasma: Volume) -> Checked<Fold> {
    // fold_p = B/P
    let fold = Fold::new(blood.get() / plasma.get())?;
    let numbers = vec![Figure::of(blood), Figure::of(plasma)];
    Ok(Worked::new(
        fold,
        Working::line(StepName::PassiveFold, "fold_p = B/P", "{} / {}", numbers, Figure::of(fold)).from(SourceId::Conservation),
    ))
}

/// Packed red-cell share of a soft spin, default: 0.70 [`SourceId::SoftSpinPacking`].
pub fn soft_spin_packing() -> Result<Share, crate::quantity::OutOfRange> {
    Share::new(0.7)
}

/// Most plasma that can be taken off the top [mL]: what stands above the packed cells, less what is left
/// behind, never below none. `packing` is the packed red-cell share φ of that spin. For the other kinds the
/// only bound is [`within_fill`]. Errors: φ of 0.
pub fn product_bound(
    fill: Volume,
    blood: Volume,
    haematocrit: Haematocrit,
    packing: Share,
    left_behind: Volume,
) -> Checked<Volume> {
    // V_s = max(0, F − B·H/φ)
    let above = (fill.get() - blood.get() * haematocrit.get() / packing.get()).max(0.0);
    // A φ of 0 with no cells at all is 0/0: `max` would hide it.
    let above = Volume::new(if packing.get() > 0.0 { above } else { f64::NAN })?;
    // V ≤ max(0, V_s − left)
    let bound = Volume::new((above.get() - left_behind.get()).max(0.0))?;
    let numbers = vec![Figure::of(fill), Figure::of(blood), Figure::of(haematocrit), Figure::of(packing)];
    let first = Working::line(
        StepName::Supernatant,
        "V_s = max(0, F − B·H/φ)",
        "max(0, {} − {} · {} / {})",
        numbers,
        Figure::of(above),
    );
    let second = Working::line(
        StepName::ProductBound,
        "V ≤ max(0, V_s − left)",
        "max(0, {} − {})",
        vec![Figure::of(above), Figure::of(left_behind)],
        Figure::of(bound),
    );
    Ok(Worked::new(bound, first.then(second).from(SourceId::Conservation)))
}

/// Whether a product volume fits into what was filled, for every kind: V ≤ F.
pub fn within_fill(product: Volume, fill: Volume) -> bool {
    product <= fill
}
