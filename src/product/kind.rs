//! The three kinds of product, what each keeps stable, and the identities that hold for all of them.

use crate::blood::mixture::{SOFT_SPIN_PACKING, supernatant};
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
#[serde(rename_all = "snake_case", deny_unknown_fields)]
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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Basis {
    /// Published rows, not checked in this clinic.
    Literature(Vec<SourceId>),
    /// Learned from this clinic's accepted counts.
    ClinicCounts {
        /// How many counts.
        n: u32,
        /// What they teach of the next preparation; absent: the mean and SD beside it are all that is known.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        learned: Option<Learned>,
    },
    /// Entered by the clinic in Bench.
    ClinicEntry,
}

/// What accepted counts teach of the next preparation's fold or recovery: its logarithm is Student's t. It speaks
/// of products as this clinic makes them, from as many containers as it uses.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Learned {
    /// Middle of the logarithm.
    pub location: f64,
    /// Its scale, as learned from counts: counting error is in it.
    pub scale: f64,
    /// Degrees of freedom, above 0.
    pub freedom: f64,
    /// Variance of the logarithm that counting put into the scale: that of the product's count and of the blood's.
    /// It is taken out before what counting adds today is put in, so that it never counts twice.
    pub counting_variance: f64,
}

impl Learned {
    /// Least share of the learned scale that is left when counting is taken out
    /// ([`SourceId::LeastTrueScale`]).
    const LEAST: f64 = 0.1;

    /// Whether the numbers can be reckoned with.
    pub fn is_sound(&self) -> bool {
        let finite =
            [self.location, self.scale, self.freedom, self.counting_variance].iter().all(|x| x.is_finite());
        finite && self.scale >= 0.0 && self.freedom > 0.0 && self.counting_variance >= 0.0
    }

    /// Scale without counting error.
    pub(super) fn true_scale(&self) -> f64 {
        // s² − v, never below (s/10)²
        let least = Self::LEAST * self.scale;
        libm::sqrt((self.scale * self.scale - self.counting_variance).max(least * least))
    }
}

/// An expectation and where it comes from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
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
            Basis::ClinicCounts { n, .. } => n,
            Basis::Literature(_) | Basis::ClinicEntry => 0,
        }
    }

    /// What counts teach beyond mean and SD, if that can be reckoned with.
    pub fn learned(&self) -> Option<Learned> {
        match self.basis {
            Basis::ClinicCounts { learned, .. } => learned.filter(Learned::is_sound),
            Basis::Literature(_) | Basis::ClinicEntry => None,
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
    pub fn off_the_top() -> Self {
        const EXPECTED: Expected = Expected::Fold { mean: Fold::constant(1.7), sd: Fold::constant(0.1) };
        let rows = vec![SourceId::Petrushenko2022, SourceId::Series686];
        Self { expected: EXPECTED, basis: Basis::Literature(rows) }
    }

    /// Double-spin tube method: recovery 0.70 ± 0.12, judgement over the four papers it names.
    pub fn double_spin() -> Self {
        const EXPECTED: Expected =
            Expected::Recovery { mean: Recovery::constant(0.7), sd: Recovery::constant(0.12) };
        let rows = vec![
            SourceId::RecoveryJudgement,
            SourceId::Amable2013,
            SourceId::Perez2014,
            SourceId::JOralImplantol2013,
            SourceId::Pmc9577528,
        ];
        Self { expected: EXPECTED, basis: Basis::Literature(rows) }
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
        Working::line(
            StepName::PlateletsDrawn,
            "N₀ = PLT·B/1000",
            "{} · {} / 1000",
            numbers,
            Figure::of(drawn),
        )
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
        Working::line(StepName::Ceiling, "fold ≤ B/V", "{} / {}", numbers, Figure::of(top))
            .from(SourceId::Conservation),
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
        Working::line(StepName::Fold, "fold = η·B/V", "{} · {} / {}", numbers, Figure::of(fold))
            .from(SourceId::Conservation),
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
        Working::line(StepName::Concentration, "c = fold·PLT", "{} · {}", numbers, Figure::of(c))
            .from(SourceId::Conservation),
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
    let source = if packing == SOFT_SPIN_PACKING { SourceId::SoftSpinPacking } else { SourceId::ClinicBench };
    let above = supernatant(fill, blood, haematocrit, packing, source)?;
    // V ≤ max(0, V_s − left)
    let bound = Volume::new((above.value.get() - left_behind.get()).max(0.0))?;
    let numbers = vec![Figure::of(above.value), Figure::of(left_behind)];
    let line = Working::line(
        StepName::ProductBound,
        "V ≤ max(0, V_s − left)",
        "max(0, {} − {})",
        numbers,
        Figure::of(bound),
    );
    Ok(Worked::new(bound, above.working.then(line)))
}

/// Whether a product volume fits into what was filled, for every kind: V ≤ F.
pub fn within_fill(product: Volume, fill: Volume) -> bool {
    product <= fill
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

    #[test]
    fn platelets_drawn_and_the_ceiling() {
        // 210 ×10⁹/L in 26 mL: 5.46 ×10⁹
        near(platelets_drawn(q(210.0), q(26.0)).unwrap().value.get(), 5.46, 1e-12);
        // 200 000/µL in 10 mL are 2 ×10⁹, not a hundred times that
        near(platelets_drawn(q(200.0), q(10.0)).unwrap().value.get(), 2.0, 1e-12);
        // E17
        assert_eq!(ceiling(q(26.0), q(4.0)).unwrap().value.get(), 6.5);
        assert!(ceiling(q(26.0), q(0.0)).is_err());
        assert!(ceiling(q(0.0), q(0.0)).is_err());
        assert_eq!(ceiling(q(0.0), q(4.0)).unwrap().value.get(), 0.0);
    }

    #[test]
    fn dose_by_definition_and_its_inverse() {
        // E01: 1 000 000/µL in 5 mL; E02: 10 ×10⁹ in 8 mL are 1 250 000/µL
        assert_eq!(in_product(q(1000.0), q(5.0)).unwrap().value.get(), 5.0);
        assert_eq!(in_product(q(1250.0), q(8.0)).unwrap().value.get(), 10.0);
    }

    #[test]
    fn published_folds_and_recoveries_agree() {
        // E03: fold 2645/328 and recovery 0.76 mean a product of 0.09425 of the blood
        let fold: Fold = q(2645.0 / 328.0);
        near(fold.get(), 8.064, 1e-3);
        near(recovery_from_fold(fold, q(100.0), q(9.425)).unwrap().value.get(), 0.76, 1e-3);
        // E04
        near(concentration(q(221.97), q(1.703)).unwrap().value.get(), 378.01, 1e-3);
        // E05: a rise by 358 % is 4.58-fold
        near(concentration(q(100.0), q(4.58)).unwrap().value.get(), 458.0, 1e-12);
        // E07, E08: volumes that published recoveries and folds mean
        for (blood, fold, recovery, product) in
            [(3.5, 5.0, 0.7, 0.49), (3.5, 5.0, 0.8, 0.56), (10.0, 6.4, 0.86, 1.344), (10.0, 6.4, 0.99, 1.547)]
        {
            near(fold_from_recovery(q(recovery), q(blood), q(product)).unwrap().value.get(), fold, 1e-3);
        }
        // E09: 40 % over the blood's own count, 34.78 % if the baseline was that of the mixture
        near(recovery_from_fold(q(4.0), q(10.0), q(1.0)).unwrap().value.get(), 0.4, 1e-12);
        near(recovery_from_fold(q(4.0), q(11.5), q(1.0)).unwrap().value.get(), 0.3478, 1e-3);
        assert!(recovery_from_fold(q(4.0), q(0.0), q(1.0)).is_err());
    }

    #[test]
    fn draw_split_to_product() {
        // E12: 26.087 mL of blood at 250, 70 % in 4 mL; E11: 33.333 mL give 5 ×10⁹ at 60 %
        let blood = q(26.087);
        near(platelets_drawn(q(250.0), blood).unwrap().value.get(), 6.52175, 1e-9);
        let fold = fold_from_recovery(q(0.7), blood, q(4.0)).unwrap().value;
        let c = concentration(q(250.0), fold).unwrap().value;
        near(c.get(), 1141.306, 1e-6);
        near(in_product(c, q(4.0)).unwrap().value.get(), 4.565_225, 1e-9);
        near(0.6 * platelets_drawn(q(250.0), q(33.333_333)).unwrap().value.get(), 5.0, 1e-6);
        // E06: two steps
        near(fold_from_recovery(q(0.92 * 0.843), q(1.0), q(1.0)).unwrap().value.get(), 0.7756, 1e-3);
    }

    #[test]
    fn supernatant_bound() {
        // B28
        for (packing, above) in [(0.70, 28.70), (0.94, 36.69)] {
            let found = product_bound(q(60.0), q(52.174), q(0.42), q(packing), q(0.0)).unwrap();
            assert!((found.value.get() - above).abs() <= 0.02, "{found:?}");
            let less = product_bound(q(60.0), q(52.174), q(0.42), q(packing), q(2.0)).unwrap();
            near(less.value.get(), found.value.get() - 2.0, 1e-12);
        }
        let says =
            |packing| product_bound(q(60.0), q(52.0), q(0.42), packing, q(0.0)).unwrap().working.sources;
        assert!(says(SOFT_SPIN_PACKING).contains(&SourceId::SoftSpinPacking));
        assert!(!says(q(0.94)).contains(&SourceId::SoftSpinPacking));
        // never below none, never above the fill; a packing of 0 is refused, cells or not
        assert_eq!(product_bound(q(60.0), q(60.0), q(0.7), q(0.7), q(1.0)).unwrap().value, Volume::ZERO);
        assert_eq!(product_bound(q(15.0), q(13.0), q(0.42), q(0.1), q(0.0)).unwrap().value, Volume::ZERO);
        assert_eq!(product_bound(q(15.0), q(13.0), q(0.0), q(0.7), q(0.0)).unwrap().value.get(), 15.0);
        assert!(product_bound(q(15.0), q(13.0), q(0.42), q(0.0), q(0.0)).is_err());
        assert!(product_bound(q(15.0), q(13.0), q(0.0), q(0.0), q(0.0)).is_err());
        assert!(within_fill(q(15.0), q(15.0)) && !within_fill(q(15.01), q(15.0)));
    }

    #[test]
    fn expectations_name_their_rows_and_survive_files() {
        let top = Expectation::off_the_top();
        let double = Expectation::double_spin();
        assert_eq!((top.kind(), double.kind()), (ProductKind::OffTheTop, ProductKind::Concentrate));
        assert_eq!(double.sources().len(), 5);
        let learned = Expectation { basis: Basis::ClinicCounts { n: 12, learned: None }, ..double.clone() };
        assert_eq!((double.counts(), learned.counts()), (0, 12));
        let text = serde_json::to_string(&top).unwrap();
        assert_eq!(
            text,
            r#"{"expected":{"fold":{"mean":1.7,"sd":0.1}},"basis":{"literature":["petrushenko-2022","series-686"]}}"#
        );
        assert_eq!(serde_json::from_str::<Expectation>(&text).unwrap(), top);
        // what was stored before counts could teach more still loads, and is stored as it was
        let text = serde_json::to_string(&learned).unwrap();
        assert!(text.ends_with(r#""basis":{"clinic_counts":{"n":12}}}"#), "{text}");
        assert_eq!(serde_json::from_str::<Expectation>(&text).unwrap(), learned);
        let mut more = learned;
        let known = Learned { location: -0.4, scale: 0.15, freedom: 18.5, counting_variance: 0.0018 };
        more.basis = Basis::ClinicCounts { n: 12, learned: Some(known) };
        let text = serde_json::to_string(&more).unwrap();
        assert_eq!(serde_json::from_str::<Expectation>(&text).unwrap(), more);
        assert_eq!(more.learned(), Some(known));
        more.basis = Basis::ClinicCounts { n: 12, learned: Some(Learned { freedom: 0.0, ..known }) };
        assert_eq!(more.learned(), None);
    }

    #[test]
    fn counting_error_is_taken_out_of_what_was_learned_and_never_all_of_it() {
        let learned = |v| Learned { location: -0.4, scale: 0.15, freedom: 18.5, counting_variance: v };
        near(learned(0.0).true_scale(), 0.15, 1e-15);
        near(learned(0.0081).true_scale(), 0.12, 1e-12);
        near(learned(0.0225).true_scale(), 0.015, 1e-12);
        near(learned(1.0).true_scale(), 0.015, 1e-12);
    }
}
