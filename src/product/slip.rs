//! More platelets than were drawn: each slip that could make it so, in the order to check, with what the number
//! would become if that were it. Nothing is corrected.

use super::measured::{self, Baseline, Bound, Check, Readings};
use crate::blood::baseline::{self, SampleKind};
use crate::evidence::SourceId;
use crate::quantity::{AcRatio, CellCount, Cv, Factor, Quantity, Recovery, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// What the blood's own count was taken from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BloodRead {
    /// As the analyser read it [10⁹/L].
    pub reading: CellCount,
    /// The kind of sample it was taken as.
    pub kind: SampleKind,
    /// Anticoagulant per blood in the container, if known.
    pub ratio: Option<AcRatio>,
    /// The laboratory's own factor for its citrate tubes.
    pub lab_factor: Option<Factor>,
}

/// What would follow.
#[derive(Debug, Clone, PartialEq)]
pub enum IfSo {
    /// The blood was sampled in another way than was said.
    Sampled {
        /// In which.
        kind: SampleKind,
        /// The blood's own count would be [10⁹/L].
        native: Worked<CellCount>,
        /// The recovery would be.
        recovery: Worked<Recovery>,
        /// And would stand so.
        bound: Bound,
    },
    /// The sample was not diluted, though a dilution was reckoned in.
    NotDiluted {
        /// The recovery would be.
        recovery: Worked<Recovery>,
        /// And would stand so.
        bound: Bound,
    },
    /// No dilution was reckoned in: this slip cannot have made the number too high.
    NoDilution,
    /// A mixed sample could have read so much at most [10⁹/L].
    ReadAtMost(Worked<CellCount>),
    /// So much product could hold all that was drawn at this concentration, at most [mL].
    ProductAtMost(Worked<Volume>),
}

/// One slip.
#[derive(Debug, Clone, PartialEq)]
pub struct Slip {
    /// What to check.
    pub check: Check,
    /// What would follow.
    pub if_so: IfSo,
}

/// Every slip in the order of [`Check::IN_ORDER`]; a check may have several, or none that can be reckoned.
pub fn slips(
    readings: &Readings,
    product: Volume,
    baseline: Baseline,
    blood: &BloodRead,
    counting: Cv,
) -> Vec<Slip> {
    let mut found = Vec::new();
    let recovered = |readings: &Readings, baseline: Baseline| {
        let m = measured::measure(readings, Some(product), Some(baseline), counting).ok()?;
        Some((m.recovery?, m.bound))
    };
    for check in Check::IN_ORDER {
        let mut slip = |if_so| found.push(Slip { check, if_so });
        match check {
            Check::BaselineKind => {
                let kinds = [SampleKind::FilledContainer, SampleKind::LiquidCitrate];
                for kind in kinds.into_iter().filter(|k| *k != blood.kind) {
                    let native = baseline::native(blood.reading, kind, blood.ratio, blood.lab_factor).ok();
                    let Some(native) = native.filter(|n| n.value > baseline.native) else { continue };
                    let other = Baseline { native: native.value, ..baseline };
                    if let Some((recovery, bound)) = recovered(readings, other) {
                        slip(IfSo::Sampled { kind, native, recovery, bound });
                    }
                }
            }
            Check::Dilution if readings.dilution.get() > 1.0 => {
                let plain = Readings { dilution: Factor::constant(1.0), ..readings.clone() };
                if let Some((recovery, bound)) = recovered(&plain, baseline) {
                    slip(IfSo::NotDiluted { recovery, bound });
                }
            }
            Check::Dilution => slip(IfSo::NoDilution),
            Check::Mixing => {
                if let Ok(most) = reading_at_most(readings, product, baseline) {
                    slip(IfSo::ReadAtMost(most));
                }
            }
            Check::Volume => {
                if let Ok(most) = product_at_most(readings, baseline) {
                    slip(IfSo::ProductAtMost(most));
                }
            }
        }
    }
    found
}

/// The reading at which all platelets drawn are in the product.
fn reading_at_most(readings: &Readings, product: Volume, baseline: Baseline) -> Checked<CellCount> {
    // r ≤ PLT·B/(V·d·k)
    let (native, blood) = (baseline.native, baseline.blood);
    let (d, k) = (readings.dilution, readings.sample_kind);
    let most = CellCount::new(native.get() * blood.get() / (product.get() * d.get() * k.get()))?;
    let numbers =
        vec![Figure::of(native), Figure::of(blood), Figure::of(product), Figure::of(d), Figure::of(k)];
    let formula = "r ≤ PLT·B/(V·d·k)";
    let line = Working::line(
        StepName::ReadingAtMost,
        formula,
        "{} · {} / ({} · {} · {})",
        numbers,
        Figure::of(most),
    );
    Ok(Worked::new(most, line.from(SourceId::Conservation)))
}

/// The product volume at which all platelets drawn are in it.
fn product_at_most(readings: &Readings, baseline: Baseline) -> Checked<Volume> {
    // V ≤ PLT·B/c
    let c = measured::concentration(readings)?.value;
    let (native, blood) = (baseline.native, baseline.blood);
    let most = Volume::new(native.get() * blood.get() / c.get())?;
    let numbers = vec![Figure::of(native), Figure::of(blood), Figure::of(c)];
    let line =
        Working::line(StepName::ProductAtMost, "V ≤ PLT·B/c", "{} · {} / {}", numbers, Figure::of(most));
    Ok(Worked::new(most, line.from(SourceId::Conservation)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q, sound};

    fn readings(first: f64, dilution: f64) -> Readings {
        Readings { first: q(first), more: vec![], dilution: q(dilution), sample_kind: q(1.0) }
    }

    fn all(first: f64, dilution: f64, kind: SampleKind) -> Vec<Slip> {
        let blood = BloodRead { reading: q(200.0), kind, ratio: Some(q(0.15)), lab_factor: None };
        let native = baseline::native(blood.reading, kind, blood.ratio, None).unwrap().value;
        let baseline = Baseline { native, cv: q(0.03), blood: q(26.0) };
        slips(&readings(first, dilution), q(4.0), baseline, &blood, q(0.03))
    }

    #[test]
    fn the_order_of_checks_is_kept() {
        let found = all(1450.0, 1.0, SampleKind::LaboratoryEdta);
        let order: Vec<Check> = found.iter().map(|s| s.check).collect();
        use Check::{BaselineKind, Dilution, Mixing, Volume};
        assert_eq!(order, [BaselineKind, BaselineKind, Dilution, Mixing, Volume]);
        assert_eq!(found[2].if_so, IfSo::NoDilution);
    }

    #[test]
    fn a_sample_with_anticoagulant_in_it_explains_a_tenth_or_more() {
        // 1450·4/(200·26) = 1.115; over 1.15 it is 0.970, over 1.1 it is 1.014
        let found = all(1450.0, 1.0, SampleKind::LaboratoryEdta);
        let recovered: Vec<_> = found
            .iter()
            .filter_map(|s| match &s.if_so {
                IfSo::Sampled { kind, native, recovery, bound } => {
                    sound(native);
                    Some((*kind, native.value.get(), recovery.value.get(), *bound))
                }
                _ => None,
            })
            .collect();
        let [container, citrate] = recovered[..] else { panic!("{recovered:?}") };
        assert_eq!((container.0, container.3), (SampleKind::FilledContainer, Bound::Within));
        near(container.1, 230.0, 1e-9);
        near(container.2, 1450.0 * 4.0 / (230.0 * 26.0), 1e-12);
        assert_eq!((citrate.0, citrate.3), (SampleKind::LiquidCitrate, Bound::AboveWithinError));
        // taken as the container's already, citrate would make it worse
        assert!(
            all(1700.0, 1.0, SampleKind::FilledContainer)
                .iter()
                .all(|s| !matches!(s.if_so, IfSo::Sampled { .. }))
        );
    }

    #[test]
    fn a_dilution_reckoned_in_by_mistake_and_the_most_that_can_be() {
        let found = all(300.0, 5.0, SampleKind::LaboratoryEdta);
        let not = found.iter().find_map(|s| match &s.if_so {
            IfSo::NotDiluted { recovery, bound } => Some((recovery.value.get(), *bound)),
            _ => None,
        });
        // 300·4/(200·26)
        let (recovery, bound) = not.unwrap();
        near(recovery, 0.230_769, 1e-6);
        assert_eq!(bound, Bound::Within);
        let most = found.iter().find_map(|s| match &s.if_so {
            IfSo::ReadAtMost(most) => Some(most.clone()),
            _ => None,
        });
        let most = most.unwrap();
        sound(&most);
        // 200·26/(4·5) = 260; 200·26/1500 = 3.4667
        near(most.value.get(), 260.0, 1e-9);
        let most = found.iter().find_map(|s| match &s.if_so {
            IfSo::ProductAtMost(most) => Some(most.value.get()),
            _ => None,
        });
        near(most.unwrap(), 3.466_667, 1e-6);
    }
}
