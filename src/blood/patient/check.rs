//! A draw against the clinic's limits.

use super::limits::Limits;
use super::literature::literature;
use super::volume::blood_volume;
use super::Sex;
use crate::blood::{above, below};
use crate::evidence::SourceId;
use crate::quantity::{Age, Haemoglobin, Height, Mass, OutOfRange, Quantity, Share, Volume, VolumePerMass};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// What is known of the patient's body. All may be unknown.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", default)]
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
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct DrawDemand {
    /// Blood for all containers today.
    pub today: Volume,
    /// Blood for samples and discards today.
    pub discards: Volume,
    /// Blood drawn in the eight weeks before, for whatever purpose.
    pub previous_eight_weeks: Volume,
}

/// Which limit was passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
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
    /// Drawn today as a share of it.
    pub share: Option<Worked<Share>>,
    /// Limits passed, in the order of [`LimitRule`].
    pub hits: Vec<LimitHit>,
    /// What must be asked.
    pub missing: Vec<Missing>,
    /// What was taken as given.
    pub notes: Vec<Note>,
    /// Published limits and estimates, for display only.
    pub literature: Vec<Worked<Volume>>,
}

/// Judges a draw. Errors: volumes that add up beyond the domain of a volume, or more blood than the patient
/// has by estimate.
pub fn check(limits: &Limits, patient: &Patient, demand: &DrawDemand) -> Result<PatientCheck, OutOfRange> {
    let drawn_today = sum(
        StepName::DrawnToday,
        "V = blood + discards",
        demand.today,
        demand.discards,
    )?;
    let eight_weeks = sum(
        StepName::DrawnEightWeeks,
        "V₈ = V + eight weeks before",
        drawn_today.value,
        demand.previous_eight_weeks,
    )?;
    let weight = patient.weight;
    let per_kg =
        weight.map(|w| per_weight(StepName::DrawnPerKg, "V/W", drawn_today.value, w)).transpose()?;
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
    let share = ebv.as_ref().map(|ebv| share_of(drawn_today.value, ebv.value)).transpose()?;

    let small = !above(eight_weeks.value.get(), limits.no_height_up_to.get());
    let mut findings = Findings { limits, patient, hits: Vec::new(), missing: Vec::new() };
    findings.what_is_missing(small, &mut notes);
    findings.amounts(drawn_today.value, eight_weeks.value, &per_kg, &eight_weeks_per_kg, &share);
    findings.haemoglobin(drawn_today.value, &per_kg);
    findings.vulnerable(&per_kg, &ebv);
    findings.minor();
    let Findings { mut hits, mut missing, .. } = findings;
    hits.sort_by_key(|hit| hit.rule);
    missing.sort();
    missing.dedup();
    let literature = literature(patient, ebv.as_ref().map(|e| e.value));
    Ok(PatientCheck {
        drawn_today,
        eight_weeks,
        per_kg,
        eight_weeks_per_kg,
        ebv,
        share,
        hits,
        missing,
        notes,
        literature,
    })
}

/// Age from which a patient is an adult here.
const ADULT: Age = Age::constant(18.0);

struct Findings<'a> {
    limits: &'a Limits,
    patient: &'a Patient,
    hits: Vec<LimitHit>,
    missing: Vec<Missing>,
}

impl Findings<'_> {
    fn what_is_missing(&mut self, small: bool, notes: &mut Vec<Note>) {
        let patient = self.patient;
        let light = patient.weight.is_some_and(|w| below(w.get(), self.limits.light_weight.get()));
        let minor = patient.age.is_some_and(|age| age < ADULT);
        match (patient.weight, small) {
            (None, true) if !minor => notes.push(Note::WeightUnknownSmallDraw),
            (None, _) => self.missing.push(Missing::Weight),
            _ => {}
        }
        match (patient.age, small) {
            (None, true) => notes.push(Note::AgeUnknownSmallDraw),
            (None, false) => self.missing.push(Missing::Age),
            _ => {}
        }
        if !small || light || minor {
            if patient.height.is_none() {
                self.missing.push(Missing::Height);
            }
            if patient.sex.is_none() {
                self.missing.push(Missing::Sex);
            }
        }
    }

    fn amounts(
        &mut self,
        today: Volume,
        eight_weeks: Volume,
        per_kg: &Option<Worked<VolumePerMass>>,
        eight_weeks_per_kg: &Option<Worked<VolumePerMass>>,
        share: &Option<Worked<Share>>,
    ) {
        let (own, shipped) = (self.limits, &Limits::SHIPPED);
        if let Some(per_kg) = per_kg {
            let caution = Limit::of(own.per_kg_caution, shipped.per_kg_caution, SourceId::Cfr46110);
            let stop = Limit::of(own.per_kg_stop, shipped.per_kg_stop, SourceId::Duke2012);
            self.ceiling(LimitRule::PerKg, Figure::of(per_kg.value), Some(caution), Some(stop));
        }
        if let Some(share) = share {
            let caution = Limit::percent(own.share_caution, shipped.share_caution);
            let stop = Limit::percent(own.share_stop, shipped.share_stop);
            self.ceiling(LimitRule::Share, percent(share.value), Some(caution), Some(stop));
        }
        let caution = Limit::of(own.volume_caution, shipped.volume_caution, SourceId::Partners200);
        self.ceiling(LimitRule::Volume, Figure::of(today), Some(caution), None);
        if let Some(per_kg) = eight_weeks_per_kg {
            let caution = Limit::of(
                own.eight_weeks_per_kg_caution,
                shipped.eight_weeks_per_kg_caution,
                SourceId::LimitsJudgement,
            );
            let stop =
                Limit::of(own.eight_weeks_per_kg_stop, shipped.eight_weeks_per_kg_stop, SourceId::Duke2012);
            self.ceiling(LimitRule::EightWeeksPerKg, Figure::of(per_kg.value), Some(caution), Some(stop));
        }
        let stop =
            Limit::of(own.eight_weeks_volume_stop, shipped.eight_weeks_volume_stop, SourceId::Cfr46110);
        self.ceiling(LimitRule::EightWeeksVolume, Figure::of(eight_weeks), None, Some(stop));
    }

    fn haemoglobin(&mut self, today: Volume, per_kg: &Option<Worked<VolumePerMass>>) {
        let (own, shipped) = (self.limits, &Limits::SHIPPED);
        let large = above(today.get(), own.haemoglobin_volume.get());
        let heavy = per_kg
            .as_ref()
            .is_some_and(|per_kg| above(per_kg.value.get(), own.haemoglobin_stop_per_kg.get()));
        let Some(haemoglobin) = self.patient.haemoglobin else {
            if large || heavy {
                self.missing.push(Missing::Haemoglobin);
            }
            return;
        };
        let low = Limit::of(own.haemoglobin_caution, shipped.haemoglobin_caution, SourceId::HbBelow10);
        self.floor(LimitRule::HaemoglobinLow, haemoglobin, low, LimitLevel::Caution);
        if large {
            let female = Limit::of(own.haemoglobin_female, shipped.haemoglobin_female, SourceId::DonorHb);
            let male = Limit::of(own.haemoglobin_male, shipped.haemoglobin_male, SourceId::DonorHb);
            let limit = match self.patient.sex {
                Some(Sex::Female) => female,
                Some(Sex::Male) => male,
                None if female.figure.value > male.figure.value => female,
                None => male,
            };
            self.floor(LimitRule::HaemoglobinForVolume, haemoglobin, limit, LimitLevel::Caution);
        }
        if heavy {
            let stop = Limit::of(own.haemoglobin_stop, shipped.haemoglobin_stop, SourceId::DonorHb);
            self.floor(LimitRule::HaemoglobinForPerKg, haemoglobin, stop, LimitLevel::Stop);
        }
    }

    fn vulnerable(&mut self, per_kg: &Option<Worked<VolumePerMass>>, ebv: &Option<Worked<Volume>>) {
        let (own, shipped) = (self.limits, &Limits::SHIPPED);
        let Some(per_kg) = per_kg else { return };
        if !above(per_kg.value.get(), own.vulnerable_per_kg.get()) {
            return;
        }
        let value = Figure::of(per_kg.value);
        let mut hit = |rule, source| {
            let limit = Limit::of(own.vulnerable_per_kg, shipped.vulnerable_per_kg, source);
            self.hits.push(limit.hit(rule, value, LimitLevel::Caution));
        };
        if self.patient.weight.is_some_and(|w| below(w.get(), own.light_weight.get())) {
            hit(LimitRule::LightWeight, SourceId::Cfr46110);
        }
        if ebv.as_ref().is_some_and(|e| below(e.value.get(), own.small_blood_volume.get())) {
            hit(LimitRule::SmallBloodVolume, SourceId::LowEbv);
        }
        match self.patient.first_draw {
            Some(true) => hit(LimitRule::FirstDraw, SourceId::LowEbv),
            Some(false) => {}
            None => self.missing.push(Missing::FirstDraw),
        }
    }

    fn minor(&mut self) {
        if let Some(age) = self.patient.age
            && age < ADULT
            && !self.limits.minors
        {
            self.hits.push(LimitHit {
                rule: LimitRule::Minor,
                value: Figure::of(age),
                limit: Figure::of(ADULT),
                level: LimitLevel::Stop,
                source: SourceId::LimitsJudgement,
            });
        }
    }

    /// The highest level whose limit is passed; equality passes nothing.
    fn ceiling(&mut self, rule: LimitRule, value: Figure, caution: Option<Limit>, stop: Option<Limit>) {
        let passed = |limit: &Limit| above(value.value, limit.figure.value);
        if let Some(limit) = stop.filter(passed) {
            self.hits.push(limit.hit(rule, value, LimitLevel::Stop));
        } else if let Some(limit) = caution.filter(passed) {
            self.hits.push(limit.hit(rule, value, LimitLevel::Caution));
        }
    }

    fn floor(&mut self, rule: LimitRule, value: Haemoglobin, limit: Limit, level: LimitLevel) {
        if below(value.get(), limit.figure.value) {
            self.hits.push(limit.hit(rule, Figure::of(value), level));
        }
    }
}

/// A limit and who says so.
struct Limit {
    figure: Figure,
    source: SourceId,
}

impl Limit {
    /// The clinic's own value; `published` holds only while it is the shipped one.
    fn of<Q: Quantity + PartialEq>(own: Q, shipped: Q, published: SourceId) -> Self {
        let source = if own == shipped { published } else { SourceId::ClinicBench };
        Self { figure: Figure::of(own), source }
    }
    fn percent(own: Share, shipped: Share) -> Self {
        Self { figure: percent(own), ..Self::of(own, shipped, SourceId::LimitsJudgement) }
    }
    fn hit(&self, rule: LimitRule, value: Figure, level: LimitLevel) -> LimitHit {
        LimitHit { rule, value, limit: self.figure, level, source: self.source }
    }
}

fn percent(share: Share) -> Figure {
    Figure { value: 100.0 * share.get(), unit: "%" }
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
