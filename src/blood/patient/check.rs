//! A draw against the clinic's limits.

use super::Sex;
use super::findings::{Findings, percent};
use super::limits::Limits;
use super::literature::literature;
use super::volume::blood_volume;
use crate::blood::above;
use crate::evidence::SourceId;
use crate::quantity::{Age, Haemoglobin, Height, Mass, OutOfRange, Quantity, Share, Volume, VolumePerMass};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// What is known of the patient's body. All may be unknown.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Patient {
    /// Sex.
    pub sex: Option<Sex>,
    /// Weight.
    pub weight: Option<Mass>,
    /// Height.
    pub height: Option<Height>,
    /// Age in completed years.
    pub age: Option<Age>,
    /// Haemoglobin.
    pub haemoglobin: Option<Haemoglobin>,
    /// Whether this is the first draw of this kind.
    pub first_draw: Option<bool>,
}

/// Blood to be drawn and drawn lately; blood alone, no anticoagulant.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawDemand {
    /// Blood for all containers today.
    pub today: Volume,
    /// Blood for samples and discards today.
    pub discards: Volume,
    /// Blood drawn in the eight weeks before, for whatever purpose.
    pub previous_eight_weeks: Volume,
}

/// Which limit was passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum LimitRule {
    /// Drawn today per weight.
    PerKg,
    /// Drawn today as a share of the blood volume.
    Share,
    /// Drawn today in all.
    Volume,
    /// Drawn in eight weeks per weight.
    EightWeeksPerKg,
    /// Drawn in eight weeks in all.
    EightWeeksVolume,
    /// Haemoglobin low for any draw.
    HaemoglobinLow,
    /// Haemoglobin low for a draw of this volume, by sex; the higher value if the sex is unknown.
    HaemoglobinForVolume,
    /// Haemoglobin too low for a draw of this volume per weight.
    HaemoglobinForPerKg,
    /// A light patient, drawn more from than a light patient should be.
    LightWeight,
    /// A small blood volume, likewise.
    SmallBloodVolume,
    /// A first draw, likewise.
    FirstDraw,
    /// Under 18, and the clinic does not allow it.
    Minor,
}

/// How serious.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LimitLevel {
    /// Shown, the work goes on.
    Caution,
    /// The clinician decides.
    Stop,
}

/// A limit passed; the highest level of each rule only.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LimitHit {
    /// Which rule.
    pub rule: LimitRule,
    /// The patient's or the draw's figure.
    pub value: Figure,
    /// The limit it passed.
    pub limit: Figure,
    /// How serious.
    pub level: LimitLevel,
    /// Who published the value of the limit; the clinic's own where it differs from the shipped one. The level
    /// is judgement throughout.
    pub source: SourceId,
}

/// What must be known before the draw can be judged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum Missing {
    Weight,
    Height,
    Sex,
    Age,
    Haemoglobin,
    FirstDraw,
}

/// What was taken as given, to be shown and not asked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Note {
    /// A small draw with the weight unknown: not reckoned per weight.
    WeightUnknownSmallDraw,
    /// A small draw with the age unknown: taken for an adult.
    AgeUnknownSmallDraw,
    /// No estimate of the blood volume lies within its range.
    NoBloodVolumeEstimate,
}

/// A draw judged.
#[derive(Debug, Clone, PartialEq)]
pub struct PatientCheck {
    /// Drawn today, discards and samples included.
    pub drawn_today: Worked<Volume>,
    /// Drawn today and in the eight weeks before.
    pub eight_weeks: Worked<Volume>,
    /// Drawn today per weight.
    pub per_kg: Option<Worked<VolumePerMass>>,
    /// Drawn in eight weeks per weight.
    pub eight_weeks_per_kg: Option<Worked<VolumePerMass>>,
    /// Estimated blood volume.
    pub ebv: Option<Worked<Volume>>,
    /// Drawn today as a share of it; `None` also where more is drawn than the estimate, which is a hit.
    pub share: Option<Worked<Share>>,
    /// Limits passed, in the order of [`LimitRule`].
    pub hits: Vec<LimitHit>,
    /// What must be asked.
    pub missing: Vec<Missing>,
    /// How serious that is; `None` when nothing is missing. Stop where a limit per weight is unknown and more is drawn
    /// than it would allow [`LIGHTEST_ADULT`].
    pub unknown: Option<LimitLevel>,
    /// What was taken as given.
    pub notes: Vec<Note>,
}

impl PatientCheck {
    /// Published limits and estimates, for display only; reckoned when they are asked for.
    pub fn literature(&self, patient: &Patient) -> Vec<Worked<Volume>> {
        literature(patient, self.ebv.as_ref().map(|e| e.value))
    }
}

/// Judges a draw. Errors: volumes that add up, or a volume per weight that goes, beyond its domain.
pub fn check(limits: &Limits, patient: &Patient, demand: &DrawDemand) -> Result<PatientCheck, OutOfRange> {
    let drawn_today = sum(StepName::DrawnToday, "V = B + D", demand.today, demand.discards)?;
    let eight_weeks =
        sum(StepName::DrawnEightWeeks, "V₈ = V + V_p", drawn_today.value, demand.previous_eight_weeks)?;
    let weight = patient.weight;
    let per_kg = weight.map(|w| per_weight(StepName::DrawnPerKg, "V/W", drawn_today.value, w)).transpose()?;
    let eight_weeks_per_kg = weight
        .map(|w| per_weight(StepName::DrawnEightWeeksPerKg, "V₈/W", eight_weeks.value, w))
        .transpose()?;

    let mut notes = Vec::new();
    let ebv = match (patient.height, weight) {
        (Some(height), Some(weight)) => {
            let estimate = blood_volume(patient.sex, height, weight).ok();
            if estimate.is_none() {
                notes.push(Note::NoBloodVolumeEstimate);
            }
            estimate
        }
        _ => None,
    };
    let share = ebv.as_ref().and_then(|ebv| share_of(drawn_today.value, ebv.value).ok());

    let small = !above(eight_weeks.value.get(), limits.no_height_up_to.get());
    let mut findings = Findings {
        limits,
        patient,
        drawn_today: drawn_today.value,
        eight_weeks: eight_weeks.value,
        per_kg: per_kg.as_ref().map(|w| w.value),
        eight_weeks_per_kg: eight_weeks_per_kg.as_ref().map(|w| w.value),
        ebv: ebv.as_ref().map(|w| w.value),
        hits: Vec::new(),
        missing: Vec::new(),
        notes,
    };
    findings.find(small);
    let Findings { hits, missing, notes, .. } = findings;
    let unknown =
        (!missing.is_empty()).then(|| unknown(limits, patient, drawn_today.value, eight_weeks.value));
    Ok(PatientCheck {
        drawn_today,
        eight_weeks,
        per_kg,
        eight_weeks_per_kg,
        ebv,
        share,
        hits,
        missing,
        unknown,
        notes,
    })
}

/// What an adult of unknown weight may weigh least [kg]; own judgement (`SourceId::LimitsJudgement`). At the shipped
/// 5 mL/kg it makes 200 mL in a day.
pub const LIGHTEST_ADULT: Mass = Mass::constant(40.0);

/// How serious it is that something must be asked.
fn unknown(limits: &Limits, patient: &Patient, today: Volume, eight_weeks: Volume) -> LimitLevel {
    // V > limit·W at the least weight
    let passes = |drawn: Volume, limit: VolumePerMass| above(drawn.get(), limit.get() * LIGHTEST_ADULT.get());
    let passed = passes(today, limits.per_kg_stop) || passes(eight_weeks, limits.eight_weeks_per_kg_stop);
    if patient.weight.is_none() && passed { LimitLevel::Stop } else { LimitLevel::Caution }
}

fn sum(what: StepName, formula: &'static str, one: Volume, other: Volume) -> Checked<Volume> {
    // V₁ + V₂
    let value = Volume::new(one.get() + other.get())?;
    let line =
        Working::line(what, formula, "{} + {}", vec![Figure::of(one), Figure::of(other)], Figure::of(value));
    Ok(Worked::new(value, line))
}

fn per_weight(what: StepName, formula: &'static str, drawn: Volume, weight: Mass) -> Checked<VolumePerMass> {
    // V/W
    let value = VolumePerMass::new(drawn.get() / weight.get())?;
    let line =
        Working::line(what, formula, "{}/{}", vec![Figure::of(drawn), Figure::of(weight)], Figure::of(value));
    Ok(Worked::new(value, line.from(SourceId::LimitsJudgement)))
}

fn share_of(drawn: Volume, blood_volume: Volume) -> Checked<Share> {
    // 100·V/BV
    let value = Share::new(drawn.get() / blood_volume.get())?;
    let line = Working::line(
        StepName::DrawnShare,
        "100·V/BV",
        "100·{}/{}",
        vec![Figure::of(drawn), Figure::of(blood_volume)],
        percent(value),
    );
    Ok(Worked::new(value, line.from(SourceId::LimitsJudgement)))
}
