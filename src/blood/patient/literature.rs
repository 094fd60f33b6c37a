//! Published limits, shown beside the clinic's own. None was written for this work: donors are screened and
//! rested, research subjects are healthy, children have a pathway of their own.

use super::check::Patient;
use super::volume::icsh;
use crate::evidence::SourceId;
use crate::quantity::{Haemoglobin, Mass, Quantity, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// Most drawn at a donation, samples included [mL]: 10.5 mL/kg ([`SourceId::Donor105`]).
pub fn donor_limit(weight: Mass) -> Checked<Volume> {
    // V = 10.5·W
    one(
        StepName::DonorLimit,
        10.5 * weight.get(),
        "V = 10.5·W",
        "10.5·{}",
        Figure::of(weight),
        SourceId::Donor105,
    )
}

/// Most drawn at a donation [mL]: 15 % of the blood volume ([`SourceId::Jpac15`]).
pub fn donor_share_limit(blood_volume: Volume) -> Checked<Volume> {
    // V = 0.15·BV
    one(
        StepName::DonorShareLimit,
        0.15 * blood_volume.get(),
        "V = 0.15·BV",
        "0.15·{}",
        Figure::of(blood_volume),
        SourceId::Jpac15,
    )
}

/// Most drawn for research in eight weeks [mL]: 550 mL in healthy adults of 110 lb (49.9 kg) or more, else
/// the limit of [`research_limit_other`] ([`SourceId::Cfr46110`]).
pub fn research_limit(healthy_adult: bool, weight: Mass) -> Checked<Volume> {
    const HEALTHY: Volume = Volume::constant(550.0);
    if !healthy_adult || weight.get() < 110.0 * KG_PER_LB {
        return research_limit_other(weight);
    }
    let figure = Figure::of(HEALTHY);
    let line = Working::line(StepName::ResearchLimit, "V = 550", "{}", vec![figure], figure);
    Ok(Worked::new(HEALTHY, line.from(SourceId::Cfr46110)))
}

/// The international pound [kg], exact by definition.
const KG_PER_LB: f64 = 0.453_592_37;

/// Most drawn for research in eight weeks from others [mL]: the lesser of 50 mL and 3 mL/kg
/// ([`SourceId::Cfr46110`]).
pub fn research_limit_other(weight: Mass) -> Checked<Volume> {
    // V = min(50, 3·W)
    one(
        StepName::ResearchLimit,
        (3.0 * weight.get()).min(50.0),
        "V = min(50, 3·W)",
        "min(50, 3·{})",
        Figure::of(weight),
        SourceId::Cfr46110,
    )
}

/// Blood volume of a child of 2 months to under 12 years [mL]: 80 mL/kg ([`SourceId::ChildVolume`]).
pub fn child_blood_volume(weight: Mass) -> Checked<Volume> {
    // BV = 80·W
    one(
        StepName::BloodVolumeChild,
        80.0 * weight.get(),
        "BV = 80·W",
        "80·{}",
        Figure::of(weight),
        SourceId::ChildVolume,
    )
}

/// Blood volume in proportion to haemoglobin [mL] ([`SourceId::ChildVolume`]). Errors: a reference of zero.
pub fn functional_blood_volume(
    blood_volume: Volume,
    haemoglobin: Haemoglobin,
    reference: Haemoglobin,
) -> Checked<Volume> {
    // BV_f = BV·Hb/Hb₀
    let value = Volume::new(blood_volume.get() * haemoglobin.get() / reference.get())?;
    let line = Working::line(
        StepName::BloodVolumeFunctional,
        "BV_f = BV·Hb/Hb₀",
        "{}·{}/{}",
        vec![Figure::of(blood_volume), Figure::of(haemoglobin), Figure::of(reference)],
        Figure::of(value),
    );
    Ok(Worked::new(value, line.from(SourceId::ChildVolume)))
}

/// Most drawn from a child [mL]: 3.8 % of the blood volume, plain or functional ([`SourceId::ChildVolume`]).
pub fn child_limit(blood_volume: Volume) -> Checked<Volume> {
    // V = 0.038·BV
    one(
        StepName::ChildLimit,
        0.038 * blood_volume.get(),
        "V = 0.038·BV",
        "0.038·{}",
        Figure::of(blood_volume),
        SourceId::ChildVolume,
    )
}

/// Every published limit and estimate that can be reckoned for this patient, for display only.
/// `blood_volume` is the estimate the check uses.
pub fn literature(patient: &Patient, blood_volume: Option<Volume>) -> Vec<Worked<Volume>> {
    let mut shown = Vec::new();
    if let Some(weight) = patient.weight {
        shown.push(donor_limit(weight));
        shown.push(research_limit(true, weight));
        shown.push(research_limit_other(weight));
    }
    if let Some(volume) = blood_volume {
        shown.push(donor_share_limit(volume));
    }
    if let (Some(sex), Some(age), Some(height), Some(weight)) =
        (patient.sex, patient.age, patient.height, patient.weight)
    {
        shown.push(icsh(sex, age, height, weight));
    }
    if let (Some(age), Some(weight)) = (patient.age, patient.weight)
        && age.get() < 12.0
        && let Ok(child) = child_blood_volume(weight)
    {
        shown.push(child_limit(child.value));
        shown.push(Ok(child));
    }
    shown.into_iter().filter_map(Result::ok).collect()
}

fn one(
    what: StepName,
    value: f64,
    formula: &'static str,
    substituted: &'static str,
    number: Figure,
    source: SourceId,
) -> Checked<Volume> {
    let value = Volume::new(value)?;
    let line = Working::line(what, formula, substituted, vec![number], Figure::of(value));
    Ok(Worked::new(value, line.from(source)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, number, q, sound};

    #[test]
    fn published_limits() {
        // C09 to C16
        assert_eq!(number(donor_limit(q(50.0))), 525.0);
        assert_eq!(number(donor_limit(q(42.0))), 441.0);
        near(number(donor_share_limit(q(5319.0))), 797.85, 0.001 * 797.85);
        assert_eq!(number(research_limit(true, q(50.0))), 550.0);
        assert_eq!(number(research_limit(true, q(49.8))), 50.0);
        assert_eq!(number(research_limit(false, q(12.0))), 36.0);
        assert_eq!(number(research_limit_other(q(70.0))), 50.0);
        let child = child_blood_volume(q(15.0)).unwrap().value;
        assert_eq!(child.get(), 1200.0);
        near(number(child_limit(child)), 45.6, 0.1);
        let anaemic = functional_blood_volume(q(960.0), q(7.0), q(11.0)).unwrap();
        near(anaemic.value.get(), 610.91, 0.005 * 610.91);
        near(number(child_limit(anaemic.value)), 23.21, 0.005 * 23.21);
        assert!(functional_blood_volume(q(960.0), q(7.0), q(0.0)).is_err());
    }

    #[test]
    fn only_what_can_be_reckoned_is_shown() {
        assert!(literature(&Patient::default(), None).is_empty());
        let adult = Patient {
            sex: Some(super::super::Sex::Male),
            weight: Some(q(80.0)),
            height: Some(q(180.0)),
            age: Some(q(43.0)),
            ..Patient::default()
        };
        let shown = literature(&adult, Some(q(5319.0)));
        shown.iter().for_each(sound);
        let names: Vec<StepName> =
            shown.iter().filter_map(|w| w.working.steps.last()).map(|s| s.what).collect();
        assert_eq!(
            names,
            [
                StepName::DonorLimit,
                StepName::ResearchLimit,
                StepName::ResearchLimit,
                StepName::DonorShareLimit,
                StepName::BloodVolumeIcsh,
            ]
        );
        let child = Patient { weight: Some(q(30.0)), age: Some(q(11.0)), ..Patient::default() };
        assert!(literature(&child, None).iter().any(|w| w.value.get() == 2400.0));
    }
}
