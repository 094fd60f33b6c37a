//! Everything a person types, by name. One entry here gives a field its stored key, what sort of number it
//! takes and its range; the words are in `words::field`.

use crate::quantity::read::Kind;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

macro_rules! fields {
    (
        single { $($(#[$sdoc:meta])* $single:ident $skey:literal $skind:expr;)* }
        indexed { $($(#[$idoc:meta])* $indexed:ident $ikey:literal $count:literal $ikind:expr;)* }
    ) => {
        /// A typed entry of the worksheet. Indexed entries count from 0 here and from 1 in the stored key.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Field {
            $($(#[$sdoc])* $single,)*
            $($(#[$idoc])* $indexed(u8),)*
        }

        impl Field {
            /// What sort of number the entry takes; `None` for words.
            pub fn kind(self) -> Option<Kind> {
                match self {
                    $(Field::$single => $skind,)*
                    $(Field::$indexed(_) => $ikind,)*
                }
            }

            /// The stored key.
            pub fn key(self) -> String {
                match self {
                    $(Field::$single => $skey.to_owned(),)*
                    $(Field::$indexed(i) => format!(concat!($ikey, "_{}"), u32::from(i) + 1),)*
                }
            }

            /// The entry behind a stored key.
            pub fn from_key(key: &str) -> Option<Field> {
                $(if key == $skey { return Some(Field::$single); })*
                let (stem, number) = key.rsplit_once('_')?;
                if number.starts_with('0') || number.starts_with('+') { return None; }
                let number = number.parse::<u8>().ok()?.checked_sub(1)?;
                match stem {
                    $($ikey if number < $count => Some(Field::$indexed(number)),)*
                    _ => None,
                }
            }

            /// Every entry, indexed ones to their highest number.
            pub fn all() -> Vec<Field> {
                let mut all = vec![$(Field::$single),*];
                $(all.extend((0..$count).map(Field::$indexed));)*
                all
            }
        }
    };
}

const fn millilitres(min: f64, max: f64) -> Option<Kind> {
    Some(Kind::Volume { min, max })
}

pub use crate::product::MAX_CONTAINERS;
/// The most parts one order can name.
pub const MAX_SITES: u8 = 8;
/// The most readings of one product count.
pub const MAX_READINGS: u8 = 5;
/// The most additions to one product.
pub const MAX_ADDITIONS: u8 = 3;
/// The most stages of one spin programme.
pub const MAX_STAGES: u8 = 12;

fields! {
    single {
        /// First identifier of the patient.
        PatientReference "patient_reference" None;
        /// Second identifier, often a birth date.
        SecondIdentifier "second_identifier" None;
        /// Who prepares.
        Technician "technician" None;
        /// Who ordered.
        Prescriber "prescriber" None;
        /// Where the product goes.
        Site "site" None;
        /// Volume ordered, to be given [mL].
        OrderVolume "order_volume" millilitres(0.05, 100.0);
        /// Platelets to give, if the order names them: in all or in each part, as chosen [10⁹].
        OrderPlatelets "order_platelets" Some(Kind::Cells);
        /// No more platelets than this, where the order names two numbers [10⁹].
        OrderPlateletsMost "order_platelets_most" Some(Kind::Cells);
        /// Concentration ordered [10⁹/L].
        OrderConcentration "order_concentration" Some(Kind::ProductCount);
        /// No higher concentration than this, where the order names two numbers [10⁹/L].
        OrderConcentrationMost "order_concentration_most" Some(Kind::ProductCount);
        /// Fold ordered.
        OrderFold "order_fold" Some(Kind::Fold);
        /// No higher fold than this, where the order names two numbers.
        OrderFoldMost "order_fold_most" Some(Kind::Fold);
        /// When the product is to be ready.
        ReadyBy "ready_by" None;
        /// What else the order says.
        OrderNote "order_note" None;
        /// Screening: what the patient said, for the prescriber.
        ScreeningNote "screening_note" None;
        /// Weight.
        Weight "weight" Some(Kind::Weight);
        /// Height.
        Height "height" Some(Kind::Height);
        /// Age [years].
        Age "age" Some(Kind::Age);
        /// Discards and samples today [mL].
        Discard "discard" millilitres(0.0, 200.0);
        /// Blood drawn in the eight weeks before [mL].
        PreviousBlood "previous_blood" Some(Kind::BloodBefore);
        /// Platelet count as the laboratory or analyser read it.
        BloodCount "blood_count" Some(Kind::BloodCount);
        /// Haematocrit.
        BloodHaematocrit "blood_haematocrit" Some(Kind::Haematocrit);
        /// Haemoglobin.
        BloodHaemoglobin "blood_haemoglobin" Some(Kind::Haemoglobin);
        /// White cells of the blood.
        BloodWhite "blood_white" Some(Kind::WhiteCount);
        /// Neutrophils among the white cells of the blood [%].
        BloodNeutrophils "blood_neutrophils" Some(Kind::Percent);
        /// When the blood was sampled, in words.
        BloodCountTime "blood_count_time" None;
        /// How the blood was counted, in words: an analyser, a counting chamber.
        BloodCountMethod "blood_count_method" None;
        /// Age of an older count [days].
        CountAge "count_age" Some(Kind::WholeNumber { min: 0, max: 3650 });
        /// The laboratory's own factor for a citrate tube.
        CitrateFactor "citrate_factor" Some(Kind::Factor { min: 1.0, max: 1.5 });
        /// How many containers.
        Containers "containers" Some(Kind::WholeNumber { min: 1, max: 12 });
        /// The volume that the order or habit names, read by the volume convention [mL].
        FillVolume "fill_volume" millilitres(0.5, 500.0);
        /// Anticoagulant chosen for each container instead of the planned amount [mL].
        AnticoagulantChosen "anticoagulant_chosen" millilitres(0.0, 200.0);
        /// Anticoagulant per 100 mL of blood, when the clinic or the label says so.
        AnticoagulantPer100 "anticoagulant_per_100" Some(Kind::RatioPer100);
        /// Anticoagulant for each filled container, when the label says so [mL].
        AnticoagulantPerContainer "anticoagulant_per_container" millilitres(0.0, 200.0);
        /// Name of the clinic's own anticoagulant.
        OwnAgent "own_agent" None;
        /// Lot of the anticoagulant.
        AnticoagulantLot "anticoagulant_lot" None;
        /// Its expiry.
        AnticoagulantExpiry "anticoagulant_expiry" None;
        /// Lot of the containers.
        ContainerLot "container_lot" None;
        /// Their expiry.
        ContainerExpiry "container_expiry" None;
        /// What is weighed against the odd container of the first spin, closed, as the scale reads it [g].
        Counterweight "counterweight" Some(Kind::Grams);
        /// The same of the second spin.
        CounterweightSecond "counterweight_second" Some(Kind::Grams);
        /// Product to keep, from all containers together [mL].
        ProductVolume "product_volume" millilitres(0.05, 200.0);
        /// Product really kept [mL].
        ProductActual "product_actual" millilitres(0.0, 200.0);
        /// Platelet-poor plasma kept [mL].
        PoorPlasma "poor_plasma" millilitres(0.0, 500.0);
        /// Cells and whatever else was left in the containers [mL].
        CellsVolume "cells_volume" millilitres(0.0, 500.0);
        /// Platelets of the platelet-poor plasma, undiluted.
        PlasmaReading "plasma_reading" Some(Kind::ProductCount);
        /// Sample taken for counting [mL].
        CountSample "count_sample" millilitres(0.0, 10.0);
        /// Dilution of that sample before the analyser (20 means 1 part in 20).
        Dilution "dilution" Some(Kind::Factor { min: 1.0, max: 1000.0 });
        /// What the tube of the counted sample multiplies a reading by, by the laboratory's own word.
        SampleFactor "sample_factor" Some(Kind::Factor { min: 1.0, max: 1.5 });
        /// White cells of the product.
        ProductWhite "product_white" Some(Kind::WhiteCount);
        /// Red cells of the product.
        ProductRed "product_red" Some(Kind::RedCount);
        /// Neutrophils among the white cells of the product [%].
        ProductNeutrophils "product_neutrophils" Some(Kind::Percent);
        /// Lymphocytes among them [%].
        ProductLymphocytes "product_lymphocytes" Some(Kind::Percent);
        /// Monocytes among them [%].
        ProductMonocytes "product_monocytes" Some(Kind::Percent);
        /// Haematocrit of the product.
        ProductHaematocrit "product_haematocrit" Some(Kind::ProductHaematocrit);
        /// Needle or syringe changes on the way to the patient.
        NeedleChanges "needle_changes" Some(Kind::WholeNumber { min: 0, max: 20 });
        /// Transfers from one container to another.
        Transfers "transfers" Some(Kind::WholeNumber { min: 0, max: 20 });
        /// Who received the product.
        HandedTo "handed_to" None;
        /// Why no product is handed over although the needle was in.
        NoProduct "no_product" None;
        /// Why something was changed after the product was handed over.
        WhyChanged "why_changed" None;
        /// Free notes.
        Notes "notes" None;
        /// Which session of a course of treatment it is, in words.
        Session "session" None;
        /// Where blood was drawn from: a vein, an arm, in words.
        DrawSite "draw_site" None;
        /// How the product was kept until it was given, and at what temperature, in words.
        KeptUntilGiven "kept_until_given" None;
        /// Initials of who made ready before the needle: identity, anticoagulant, containers.
        WhoBefore "who_before" None;
        /// Initials of who drew the blood.
        WhoDraw "who_draw" None;
        /// Initials of who made the product of what was spun.
        WhoProduct "who_product" None;
        /// Initials of who handed it over.
        WhoHandOver "who_hand_over" None;
        /// What happened to the patient at or after the draw or the injection, and who was told.
        AdverseEvent "adverse_event" None;
    }
    indexed {
        /// Part of the site, in the order's words.
        PartName "part_name" 8 None;
        /// Volume ordered for it [mL].
        PartVolume "part_volume" 8 millilitres(0.01, 100.0);
        /// Volume really given there [mL].
        PartGiven "part_given" 8 millilitres(0.0, 100.0);
        /// When a part was given: a time of day, or a day and a time.
        PartGivenAt "part_given_at" 8 None;
        /// Anticoagulant really in a container [mL].
        AnticoagulantActual "anticoagulant_actual" 12 millilitres(0.0, 200.0);
        /// The mark the blood really reached [mL, anticoagulant included].
        FillActual "fill_actual" 12 millilitres(0.0, 500.0);
        /// Speed really run in a stage.
        SpeedActual "speed_actual" 12 Some(Kind::Speed);
        /// Minutes really run.
        MinutesActual "minutes_actual" 12 Some(Kind::Minutes);
        /// A container of the first spin, filled and closed, as the scale reads it [g].
        FilledWeight "filled_weight" 12 Some(Kind::Grams);
        /// The same of the second spin.
        FilledWeightSecond "filled_weight_second" 12 Some(Kind::Grams);
        /// What is weighed against a container of the first spin that does not face another, as the scale reads it [g].
        OwnCounterweight "own_counterweight" 12 Some(Kind::Grams);
        /// The same of the second spin.
        OwnCounterweightSecond "own_counterweight_second" 12 Some(Kind::Grams);
        /// Temperature as set on the machine [°C].
        TemperatureSet "temperature_set" 12 Some(Kind::Temperature);
        /// Initials of who did a stage of the programme; see [`super::Draft::who_of`].
        WhoSpin "who_spin" 12 None;
        /// A reading of the product count.
        Reading "reading" 5 Some(Kind::ProductCount);
        /// What is added.
        AdditionName "addition_name" 3 None;
        /// Its strength [% w/v].
        AdditionStrength "addition_strength" 3 Some(Kind::Percent);
        /// Its volume [mL].
        AdditionVolume "addition_volume" 3 millilitres(0.001, 50.0);
        /// Its lot.
        AdditionLot "addition_lot" 3 None;
        /// Its expiry.
        AdditionExpiry "addition_expiry" 3 None;
    }
}

impl Field {
    /// For how many letters a card has room, of words on one line.
    fn room(self) -> usize {
        match self {
            field if field.is_who() => 40,
            Field::BloodCountMethod | Field::DrawSite | Field::KeptUntilGiven => 60,
            Field::PartGivenAt(_) => 40,
            _ => TooLong::USUAL,
        }
    }

    /// Letters of a text that is longer than there is room for, and for how many there is. Nothing is cut.
    pub fn too_long(self, text: &str) -> Option<TooLong> {
        TooLong::of(text, self.room())
    }

    /// Whether it says who did a stage.
    pub fn is_who(self) -> bool {
        use Field as F;
        matches!(self, F::WhoBefore | F::WhoDraw | F::WhoSpin(_) | F::WhoProduct | F::WhoHandOver)
    }

    /// The spin, from 0, that something is weighed for.
    pub fn weighed_for(self) -> Option<usize> {
        use Field as F;
        match self {
            F::FilledWeight(_) | F::OwnCounterweight(_) | F::Counterweight => Some(0),
            F::FilledWeightSecond(_) | F::OwnCounterweightSecond(_) | F::CounterweightSecond => Some(1),
            _ => None,
        }
    }

    /// Those that name a person or a place.
    pub const IDENTIFIERS: [Field; 6] = [
        Field::PatientReference,
        Field::SecondIdentifier,
        Field::Technician,
        Field::Prescriber,
        Field::Site,
        Field::HandedTo,
    ];
}

/// A text is longer than there is room for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct TooLong {
    /// Letters typed.
    pub letters: usize,
    /// Letters there is room for.
    pub room: usize,
}

impl TooLong {
    /// Room for most lines of words.
    pub const USUAL: usize = 200;

    /// Of a text with more letters than there is room for.
    pub fn of(text: &str, room: usize) -> Option<Self> {
        let letters = text.trim().chars().count();
        (letters > room).then_some(Self { letters, room })
    }
}

impl fmt::Display for Field {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.key())
    }
}

impl Serialize for Field {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.key())
    }
}

impl<'de> Deserialize<'de> for Field {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let key = String::deserialize(deserializer)?;
        Field::from_key(&key).ok_or_else(|| de::Error::custom(format!("no field is called {key:?}")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_text_without_room_is_told_by_its_letters() {
        let (site, text) = (Field::DrawSite, "é".repeat(60));
        assert_eq!(site.too_long(&format!(" {text} ")), None);
        assert_eq!(site.too_long(&format!("{text}e")), Some(TooLong { letters: 61, room: 60 }));
        assert_eq!(Field::KeptUntilGiven.too_long(&"e".repeat(61)).map(|t| t.room), Some(60));
        assert_eq!(Field::WhoSpin(0).too_long(&"e".repeat(41)).map(|t| t.room), Some(40));
        assert_eq!(Field::Site.too_long(&"e".repeat(200)), None);
    }

    #[test]
    fn every_key_names_its_field() {
        for field in Field::all() {
            assert_eq!(Field::from_key(&field.key()), Some(field), "{field}");
        }
        for none in ["", "reading", "reading_0", "reading_6", "reading_01", "reading_+1", "blood"] {
            assert_eq!(Field::from_key(none), None, "{none}");
        }
    }
}
