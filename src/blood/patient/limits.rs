//! The clinic's limits on a draw. It may tighten them; loosening needs the lead.

use crate::blood::{above, below};
use crate::quantity::{Haemoglobin, Mass, Quantity, Share, Volume, VolumePerMass};
use crate::working::Figure;
use serde::{Deserialize, Serialize};

/// Limits on a draw. A field missing from a file takes the shipped value. Which published value became which
/// level is judgement (`SourceId::LimitsJudgement`).
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Limits {
    /// Caution above this today.
    pub per_kg_caution: VolumePerMass,
    /// Stop above this today.
    pub per_kg_stop: VolumePerMass,
    /// Caution above this share of the blood volume today.
    pub share_caution: Share,
    /// Stop above this share of the blood volume today.
    pub share_stop: Share,
    /// Caution above this today.
    pub volume_caution: Volume,
    /// Caution above this in eight weeks.
    pub eight_weeks_per_kg_caution: VolumePerMass,
    /// Stop above this in eight weeks.
    pub eight_weeks_per_kg_stop: VolumePerMass,
    /// Stop above this in eight weeks.
    pub eight_weeks_volume_stop: Volume,
    /// Caution below this at any draw.
    pub haemoglobin_caution: Haemoglobin,
    /// Caution for women below this, above `haemoglobin_volume`.
    pub haemoglobin_female: Haemoglobin,
    /// Caution for men below this, above `haemoglobin_volume`.
    pub haemoglobin_male: Haemoglobin,
    /// The draw above which `haemoglobin_female` and `haemoglobin_male` apply.
    pub haemoglobin_volume: Volume,
    /// Stop below this, above `haemoglobin_stop_per_kg`.
    pub haemoglobin_stop: Haemoglobin,
    /// The draw above which `haemoglobin_stop` applies.
    pub haemoglobin_stop_per_kg: VolumePerMass,
    /// Light patients are lighter than this.
    pub light_weight: Mass,
    /// A small blood volume is smaller than this.
    pub small_blood_volume: Volume,
    /// Caution above this today in a light patient, with a small blood volume, or at a first draw.
    pub vulnerable_per_kg: VolumePerMass,
    /// In an adult not light, draws up to this need no height: discards and eight weeks included.
    pub no_height_up_to: Volume,
    /// Whether the clinic prepares for patients under 18.
    pub minors: bool,
}

impl Limits {
    /// The limits as shipped.
    pub const SHIPPED: Self = Self {
        per_kg_caution: VolumePerMass::constant(3.0),
        per_kg_stop: VolumePerMass::constant(5.0),
        share_caution: Share::constant(0.05),
        share_stop: Share::constant(0.075),
        volume_caution: Volume::constant(200.0),
        eight_weeks_per_kg_caution: VolumePerMass::constant(5.0),
        eight_weeks_per_kg_stop: VolumePerMass::constant(7.0),
        eight_weeks_volume_stop: Volume::constant(550.0),
        haemoglobin_caution: Haemoglobin::constant(10.0),
        haemoglobin_female: Haemoglobin::constant(12.5),
        haemoglobin_male: Haemoglobin::constant(13.0),
        haemoglobin_volume: Volume::constant(200.0),
        haemoglobin_stop: Haemoglobin::constant(11.0),
        haemoglobin_stop_per_kg: VolumePerMass::constant(3.0),
        light_weight: Mass::constant(50.0),
        small_blood_volume: Volume::constant(3_500.0),
        vulnerable_per_kg: VolumePerMass::constant(3.0),
        no_height_up_to: Volume::constant(100.0),
        minors: false,
    };
}

impl Default for Limits {
    fn default() -> Self {
        Self::SHIPPED
    }
}

/// An entry of [`Limits`], by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs)]
pub enum LimitEntry {
    PerKgCaution,
    PerKgStop,
    ShareCaution,
    ShareStop,
    VolumeCaution,
    EightWeeksPerKgCaution,
    EightWeeksPerKgStop,
    EightWeeksVolumeStop,
    HaemoglobinCaution,
    HaemoglobinFemale,
    HaemoglobinMale,
    HaemoglobinVolume,
    HaemoglobinStop,
    HaemoglobinStopPerKg,
    LightWeight,
    SmallBloodVolume,
    VulnerablePerKg,
    NoHeightUpTo,
    Minors,
}

/// An entry that lets more through than before.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Loosened {
    /// Which entry.
    pub entry: LimitEntry,
    /// What it was; for [`LimitEntry::Minors`] 0 or 1.
    pub shipped: Figure,
    /// What it is now.
    pub now: Figure,
}

impl Limits {
    /// The entries looser here than in `shipped`. A ceiling is looser when higher, a floor when lower.
    pub fn loosened_from(&self, shipped: &Limits) -> Vec<Loosened> {
        use LimitEntry as E;
        fn pair<Q: Quantity>(entry: LimitEntry, shipped: Q, now: Q) -> Loosened {
            Loosened { entry, shipped: Figure::of(shipped), now: Figure::of(now) }
        }
        let yes_no = |yes: bool| Figure::pure(f64::from(u8::from(yes)));
        let ceilings = [
            pair(E::PerKgCaution, shipped.per_kg_caution, self.per_kg_caution),
            pair(E::PerKgStop, shipped.per_kg_stop, self.per_kg_stop),
            pair(E::ShareCaution, shipped.share_caution, self.share_caution),
            pair(E::ShareStop, shipped.share_stop, self.share_stop),
            pair(E::VolumeCaution, shipped.volume_caution, self.volume_caution),
            pair(
                E::EightWeeksPerKgCaution,
                shipped.eight_weeks_per_kg_caution,
                self.eight_weeks_per_kg_caution,
            ),
            pair(E::EightWeeksPerKgStop, shipped.eight_weeks_per_kg_stop, self.eight_weeks_per_kg_stop),
            pair(E::EightWeeksVolumeStop, shipped.eight_weeks_volume_stop, self.eight_weeks_volume_stop),
            pair(E::HaemoglobinVolume, shipped.haemoglobin_volume, self.haemoglobin_volume),
            pair(E::HaemoglobinStopPerKg, shipped.haemoglobin_stop_per_kg, self.haemoglobin_stop_per_kg),
            pair(E::VulnerablePerKg, shipped.vulnerable_per_kg, self.vulnerable_per_kg),
            pair(E::NoHeightUpTo, shipped.no_height_up_to, self.no_height_up_to),
            Loosened { entry: E::Minors, shipped: yes_no(shipped.minors), now: yes_no(self.minors) },
        ];
        let floors = [
            pair(E::HaemoglobinCaution, shipped.haemoglobin_caution, self.haemoglobin_caution),
            pair(E::HaemoglobinFemale, shipped.haemoglobin_female, self.haemoglobin_female),
            pair(E::HaemoglobinMale, shipped.haemoglobin_male, self.haemoglobin_male),
            pair(E::HaemoglobinStop, shipped.haemoglobin_stop, self.haemoglobin_stop),
            pair(E::LightWeight, shipped.light_weight, self.light_weight),
            pair(E::SmallBloodVolume, shipped.small_blood_volume, self.small_blood_volume),
        ];
        let mut loosened: Vec<Loosened> =
            ceilings.into_iter().filter(|l| above(l.now.value, l.shipped.value)).collect();
        loosened.extend(floors.into_iter().filter(|l| below(l.now.value, l.shipped.value)));
        loosened
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::q;

    fn loosened(limits: &Limits) -> Vec<LimitEntry> {
        limits.loosened_from(&Limits::SHIPPED).into_iter().map(|l| l.entry).collect()
    }

    #[test]
    fn as_shipped_nothing_is_loosened() {
        assert_eq!(loosened(&Limits::default()), []);
    }

    #[test]
    fn every_entry_is_watched_in_its_own_direction() {
        let up = Limits {
            per_kg_caution: q(3.1),
            per_kg_stop: q(5.1),
            share_caution: q(0.051),
            share_stop: q(0.076),
            volume_caution: q(201.0),
            eight_weeks_per_kg_caution: q(5.1),
            eight_weeks_per_kg_stop: q(7.1),
            eight_weeks_volume_stop: q(551.0),
            haemoglobin_caution: q(10.1),
            haemoglobin_female: q(12.6),
            haemoglobin_male: q(13.1),
            haemoglobin_volume: q(201.0),
            haemoglobin_stop: q(11.1),
            haemoglobin_stop_per_kg: q(3.1),
            light_weight: q(51.0),
            small_blood_volume: q(3600.0),
            vulnerable_per_kg: q(3.1),
            no_height_up_to: q(101.0),
            minors: true,
        };
        use LimitEntry as E;
        let ceilings = [
            E::PerKgCaution,
            E::PerKgStop,
            E::ShareCaution,
            E::ShareStop,
            E::VolumeCaution,
            E::EightWeeksPerKgCaution,
            E::EightWeeksPerKgStop,
            E::EightWeeksVolumeStop,
            E::HaemoglobinVolume,
            E::HaemoglobinStopPerKg,
            E::VulnerablePerKg,
            E::NoHeightUpTo,
            E::Minors,
        ];
        assert_eq!(loosened(&up), ceilings);
        let back: Vec<LimitEntry> = Limits::SHIPPED.loosened_from(&up).into_iter().map(|l| l.entry).collect();
        let floors = [
            E::HaemoglobinCaution,
            E::HaemoglobinFemale,
            E::HaemoglobinMale,
            E::HaemoglobinStop,
            E::LightWeight,
            E::SmallBloodVolume,
        ];
        assert_eq!(back, floors);
        assert_eq!(
            ceilings.len() + floors.len(),
            serde_json::to_value(&up).unwrap().as_object().unwrap().len()
        );
    }

    #[test]
    fn says_from_what_to_what() {
        let limits = Limits { light_weight: q(45.0), ..Limits::default() };
        let [only] = limits.loosened_from(&Limits::SHIPPED)[..] else { panic!("one entry") };
        assert_eq!((only.shipped.value, only.now.value, only.now.unit), (50.0, 45.0, "kg"));
    }

    #[test]
    fn a_file_may_leave_entries_out() {
        let limits: Limits = serde_json::from_str(r#"{"volume_caution": 150}"#).unwrap();
        assert_eq!(limits, Limits { volume_caution: q(150.0), ..Limits::SHIPPED });
        assert!(serde_json::from_str::<Limits>(r#"{"volume_caution": -1}"#).is_err());
        assert!(serde_json::from_str::<Limits>(r#"{"volume_cautoin": 150}"#).is_err());
    }
}
