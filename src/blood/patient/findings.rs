//! The findings of a draw: what passed a limit, what must be asked, what was taken as given.

use super::Sex;
use super::check::{LimitHit, LimitLevel, LimitRule, Missing, Note, Patient};
use super::limits::Limits;
use crate::arrange::{sort_by, sort_by_key};
use crate::blood::{above, below};
use crate::evidence::SourceId;
use crate::quantity::{Age, Haemoglobin, Quantity, Share, Volume, VolumePerMass};
use crate::working::Figure;

/// Age from which a patient is an adult here.
const ADULT: Age = Age::constant(18.0);

/// The draw in figures, and what was found.
pub(super) struct Findings<'a> {
    pub limits: &'a Limits,
    pub patient: &'a Patient,
    pub drawn_today: Volume,
    pub eight_weeks: Volume,
    pub per_kg: Option<VolumePerMass>,
    pub eight_weeks_per_kg: Option<VolumePerMass>,
    pub ebv: Option<Volume>,
    pub hits: Vec<LimitHit>,
    pub missing: Vec<Missing>,
    pub notes: Vec<Note>,
}

impl Findings<'_> {
    /// Fills `hits` in the order of their rules, `missing` and `notes`. `small`: a draw that needs no height.
    pub fn find(&mut self, small: bool) {
        self.size_and_age(small);
        self.amounts();
        self.haemoglobin();
        self.vulnerable();
        self.minor();
        sort_by_key(&mut self.hits, |hit| hit.rule);
        sort_by(&mut self.missing, Ord::cmp);
    }

    fn light(&self) -> bool {
        self.patient.weight.is_some_and(|w| below(w.get(), self.limits.light_weight.get()))
    }

    fn size_and_age(&mut self, small: bool) {
        let patient = self.patient;
        let minor = patient.age.is_some_and(|age| age < ADULT);
        if patient.weight.is_none() {
            if small && !minor {
                self.notes.push(Note::WeightUnknownSmallDraw);
            } else {
                self.missing.push(Missing::Weight);
            }
        }
        if patient.age.is_none() {
            if small {
                self.notes.push(Note::AgeUnknownSmallDraw);
            } else {
                self.missing.push(Missing::Age);
            }
        }
        if !small || self.light() || minor {
            if patient.height.is_none() {
                self.missing.push(Missing::Height);
            }
            if patient.sex.is_none() {
                self.missing.push(Missing::Sex);
            }
        }
    }

    fn amounts(&mut self) {
        let (own, shipped) = (self.limits, &Limits::SHIPPED);
        if let Some(per_kg) = self.per_kg {
            let caution = Limit::of(own.per_kg_caution, shipped.per_kg_caution, SourceId::Cfr46110);
            let stop = Limit::of(own.per_kg_stop, shipped.per_kg_stop, SourceId::Duke2012);
            self.ceiling(LimitRule::PerKg, Figure::of(per_kg), Some(caution), Some(stop));
        }
        if let Some(ebv) = self.ebv {
            // 100·V/BV; may exceed 100, which no share can
            let share = Figure { value: 100.0 * self.drawn_today.get() / ebv.get(), unit: "%" };
            let caution = Limit::percent(own.share_caution, shipped.share_caution);
            let stop = Limit::percent(own.share_stop, shipped.share_stop);
            self.ceiling(LimitRule::Share, share, Some(caution), Some(stop));
        }
        let caution = Limit::of(own.volume_caution, shipped.volume_caution, SourceId::Partners200);
        self.ceiling(LimitRule::Volume, Figure::of(self.drawn_today), Some(caution), None);
        if let Some(per_kg) = self.eight_weeks_per_kg {
            let (caution, stop) = (own.eight_weeks_per_kg_caution, own.eight_weeks_per_kg_stop);
            let caution = Limit::of(caution, shipped.eight_weeks_per_kg_caution, SourceId::LimitsJudgement);
            let stop = Limit::of(stop, shipped.eight_weeks_per_kg_stop, SourceId::Duke2012);
            self.ceiling(LimitRule::EightWeeksPerKg, Figure::of(per_kg), Some(caution), Some(stop));
        }
        let stop =
            Limit::of(own.eight_weeks_volume_stop, shipped.eight_weeks_volume_stop, SourceId::Cfr46110);
        self.ceiling(LimitRule::EightWeeksVolume, Figure::of(self.eight_weeks), None, Some(stop));
    }

    fn haemoglobin(&mut self) {
        let (own, shipped) = (self.limits, &Limits::SHIPPED);
        let large = above(self.drawn_today.get(), own.haemoglobin_volume.get());
        let heavy = self.per_kg.is_some_and(|v| above(v.get(), own.haemoglobin_stop_per_kg.get()));
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

    /// Patients who faint more easily.
    fn vulnerable(&mut self) {
        let (own, shipped) = (self.limits, &Limits::SHIPPED);
        let Some(per_kg) = self.per_kg.filter(|v| above(v.get(), own.vulnerable_per_kg.get())) else {
            return;
        };
        let light = self.light();
        let mut hit = |rule, source| {
            let limit = Limit::of(own.vulnerable_per_kg, shipped.vulnerable_per_kg, source);
            self.hits.push(limit.hit(rule, Figure::of(per_kg), LimitLevel::Caution));
        };
        if light {
            hit(LimitRule::LightWeight, SourceId::Cfr46110);
        }
        if self.ebv.is_some_and(|v| below(v.get(), own.small_blood_volume.get())) {
            hit(LimitRule::SmallBloodVolume, SourceId::LowEbv);
        }
        if self.patient.first_draw == Some(true) {
            hit(LimitRule::FirstDraw, SourceId::LowEbv);
        }
        // Asked only where the answer would change the level.
        if self.patient.first_draw.is_none() && !self.hits.iter().any(|h| h.rule == LimitRule::PerKg) {
            self.missing.push(Missing::FirstDraw);
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

pub(super) fn percent(share: Share) -> Figure {
    Figure { value: 100.0 * share.get(), unit: "%" }
}

#[cfg(test)]
#[path = "findings_tests.rs"]
mod tests;
