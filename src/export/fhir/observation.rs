//! What was measured or counted, or follows from it.

use super::element::{
    ML, Unit, absent, amount, coded, concept, list, note, object, optional, reference, some,
};
use super::{LOCAL, Writer};
use crate::blood::baseline::SampleKind;
use crate::case::TypedMoment;
use crate::draft::{CountStanding, Field};
use crate::export::facts::iso;
use crate::export::sampled::{Sampled, over_older};
use crate::quantity::Quantity;
use crate::quantity::time::Instant;
use crate::record::shown::ShownStanding as S;
use crate::words::choice::{CountStandingName, SampleName, SiteLine};
use crate::words::field::Label;
use crate::words::out::{FhirWord, OutWord};
use crate::words::unit;
use serde_json::Value;

const LOINC: &str = "http://loinc.org";

/// HL7 terminology, from memory.
const CATEGORY: &str = "http://terminology.hl7.org/CodeSystem/observation-category";
const COUNT: Unit = ("10*9/L", "×10⁹/L");
const RED: Unit = ("10*12/L", "×10¹²/L");
const CELLS: Unit = ("10*9", "×10⁹");
const PERCENT: Unit = ("%", "%");
const GRAMS: Unit = ("g/dL", "g/dL");
const FOLD: Unit = ("{fold}", "fold");

/// The blood's platelets, by an automated count and by whatever method.
const AUTOMATED: (&str, &str) = ("777-3", "Platelets [#/volume] in Blood by Automated count");
const ANY_METHOD: (&str, &str) = ("26515-7", "Platelets [#/volume] in Blood");

/// What follows from the record's shown figures: name, code, words, unit, what to multiply by.
const SHOWN: [(&str, &str, FhirWord, Unit, f64); 10] = [
    ("concentration_counted", "product-platelets", FhirWord::ProductPlatelets, COUNT, 1.0),
    ("white_cells_counted", "product-white-cells", FhirWord::ProductWhite, COUNT, 1.0),
    ("red_cells_counted", "product-red-cells", FhirWord::ProductRed, RED, 1.0),
    ("product_haematocrit_counted", "product-haematocrit", FhirWord::ProductHaematocrit, PERCENT, 100.0),
    ("platelets_in_product_counted", "platelets-in-product", FhirWord::InProduct, CELLS, 1.0),
    ("platelets_drawn", "platelets-drawn", FhirWord::Drawn, CELLS, 1.0),
    ("fold_counted", "fold", FhirWord::Fold, FOLD, 1.0),
    ("recovery_counted", "recovery", FhirWord::Recovery, PERCENT, 100.0),
    ("dose_counted", "dose-in-all", FhirWord::DoseInAll, CELLS, 1.0),
    ("neutrophils_counted", "product-neutrophils", FhirWord::ProductNeutrophils, COUNT, 1.0),
];

/// Whether a method as typed names an analyser and nothing that is done by eye. In doubt it is not taken for one: the
/// general code is true of an analyser too.
fn automated(method: &str) -> bool {
    let lower = method.to_lowercase();
    let words: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).collect();
    let any = |starts: &[&str]| words.iter().any(|word| starts.iter().any(|start| word.starts_with(start)));
    let by_eye = ["chamber", "manual", "hand", "microscop", "smear", "estimat"];
    let denied = words.iter().any(|word| ["not", "no", "non", "without"].contains(word));
    any(&["analyser", "analyzer", "automat"]) && !any(&by_eye) && !denied
}

impl Writer<'_> {
    fn observation(
        &mut self,
        name: &str,
        category: &str,
        code: Value,
        patient: &str,
        rest: Vec<(&str, Value)>,
    ) -> String {
        let category = object(vec![(
            "coding",
            list(vec![object(vec![("system", CATEGORY.into()), ("code", category.into())])]),
        )]);
        let mut resource = object(vec![
            ("status", "final".into()),
            ("category", list(vec![category])),
            ("code", code),
            ("subject", reference(patient)),
        ]);
        if let (Value::Object(fields), Value::Object(more)) = (&mut resource, object(rest)) {
            fields.extend(more);
        }
        self.add("Observation", name, resource)
    }

    /// Today's counts of the blood are of the day of the draw; an older one has no date and says how old it is.
    pub(super) fn blood_counts(&mut self, patient: &str, blood: &str) {
        let f = &self.facts;
        let b = f.case.baseline.clone();
        let today = (b.standing == Some(CountStanding::Today)).then(|| f.day()).flatten().map(iso);
        let today = optional(today);
        let of_container = b.sample == Some(SampleKind::FilledContainer);
        let specimen = if of_container { reference(blood) } else { Value::Null };
        let sample =
            b.sample.map(|s| format!("{} {}", self.say(OutWord::SampleFrom), self.say(SampleName(s))));
        let sampled = f.sampled();
        let older = (b.standing == Some(CountStanding::Older)).then(|| {
            let standing = self.say(CountStandingName(CountStanding::Older));
            match sampled {
                Some(old) => format!("{standing}: {}", old.said(self.language)),
                None => standing,
            }
        });
        let at = match sampled {
            Some(Sampled::At(typed)) => Some(format!("{}: {typed}", self.say(Label(Field::BloodCountTime)))),
            Some(Sampled::DaysOld(_)) | None => None,
        };
        // As the record shows it: corrected for the kind of sample, with the reading beside it.
        let count = f.figure("blood_count", S::Counted).map(|c| c.value);
        let corrected = count.zip(b.reading).filter(|(c, r)| (c - r.get()).abs() > 1e-9 * c.abs());
        let corrected = corrected.map(|(_, r)| {
            let read = unit::count(r, &f.entry.draft.conventions);
            format!("{} {read}", self.say(OutWord::Corrected))
        });
        let method = Some(f.typed(Field::BloodCountMethod)).filter(|m| !m.is_empty()).map(str::to_owned);
        // The other cells are not corrected: of a diluted sample they are not the blood's.
        let diluted = matches!(b.sample, Some(SampleKind::FilledContainer | SampleKind::LiquidCitrate));
        let white = b.white.filter(|_| !diluted).map(Quantity::get);
        let platelets = if method.as_deref().is_none_or(automated) { AUTOMATED } else { ANY_METHOD };
        let rows = [
            (platelets.0, platelets.1, count, COUNT, 1.0),
            ("6690-2", "Leukocytes [#/volume] in Blood by Automated count", white, COUNT, 1.0),
            (
                "4544-3",
                "Hematocrit [Volume Fraction] of Blood by Automated count",
                b.haematocrit.map(Quantity::get),
                PERCENT,
                100.0,
            ),
            ("718-7", "Hemoglobin [Mass/volume] in Blood", b.haemoglobin.map(Quantity::get), GRAMS, 1.0),
        ];
        for (code, name, value, unit, times) in rows {
            let Some(value) = value else { continue };
            // The other cells may be of another sample.
            let of_count = at.iter().chain(&corrected).filter(|_| code == platelets.0);
            let notes =
                sample.iter().chain(&older).chain(of_count).map(|said| note(said)).collect::<Vec<_>>();
            let method = method.iter().filter(|_| code == platelets.0).map(|m| concept(m)).next();
            let rest = vec![
                ("effectiveDateTime", today.clone()),
                ("specimen", specimen.clone()),
                ("method", method.unwrap_or(Value::Null)),
                ("valueQuantity", amount(value * times, unit)),
                ("note", list(notes)),
            ];
            self.observation(code, "laboratory", coded(LOINC, code, name), patient, rest);
        }
    }

    pub(super) fn figures(&mut self, patient: &str, product: Option<&str>) {
        let collected = self.moment(self.facts.entry.draft.times.collected);
        // When it was entered; it may have been counted before.
        let entered = self.moment(self.facts.entry.draft.times.counted);
        for (what, code, word, unit, times) in SHOWN {
            let Some(shown) = self.facts.figure(what, S::Counted) else { continue };
            let counted = code.starts_with("product-");
            let (effective, specimen) = match word {
                FhirWord::Drawn => (("effectiveDateTime", Value::Null), None),
                // What was given, as of each part; what was left over is of the product too.
                FhirWord::DoseInAll => (self.given(), None),
                _ => (("effectiveDateTime", collected.clone()), product),
            };
            let over = matches!(word, FhirWord::Fold | FhirWord::Recovery)
                .then(|| over_older(&self.facts.case, self.language))
                .flatten();
            let rest = vec![
                effective,
                ("issued", if counted { entered.clone() } else { Value::Null }),
                ("specimen", specimen.map_or(Value::Null, reference)),
                ("note", some(over.map(|said| note(&said)))),
                ("valueQuantity", amount(shown.value * times, unit)),
            ];
            let category = if counted { "laboratory" } else { "procedure" };
            self.observation(code, category, coded(LOCAL, code, &self.say(word)), patient, rest);
        }
    }

    /// When all was given that was, part by part; nothing while of one of them nobody says when.
    fn given(&self) -> (&'static str, Value) {
        let given = |n: u8| self.facts.figure(&format!("part_{n}_volume"), S::Measured);
        let parts = (1..).zip(&self.facts.case.order.parts);
        let parts = parts.filter(|(n, _)| given(*n).is_some_and(|volume| volume.value > 0.0));
        let told: Option<Vec<Instant>> = parts.map(|(_, part)| part.told).collect();
        let told = told.unwrap_or_default();
        match (told.iter().min(), told.iter().max()) {
            (Some(first), Some(last)) if first != last => {
                ("effectivePeriod", self.period(Some(*first), Some(*last)))
            }
            (one, _) => ("effectiveDateTime", self.moment(one.copied())),
        }
    }

    /// Volume and dose of each part, once given; of one told without an amount when that was.
    pub(super) fn parts(&mut self, patient: &str) {
        for n in 1..=crate::draft::field::MAX_SITES {
            let name = self.facts.typed(Field::PartName(n.saturating_sub(1)));
            let order = &self.facts.case.order;
            let part = order.parts.get(usize::from(n.saturating_sub(1)));
            // Where nobody said when, it is not known: the hand-over is not when it was given.
            let at = part.map(|p| p.given_at).unwrap_or_default();
            let typed = self.facts.typed(Field::PartGivenAt(n.saturating_sub(1)));
            let said = (at == TypedMoment::Unreadable).then(|| note(&self.say(FhirWord::GivenAt(typed))));
            let site = self.say(SiteLine { side: order.side, site: &order.site });
            let site = if name.is_empty() { site } else { format!("{site}, {name}") };
            let rows = [
                (format!("part_{n}_volume"), "volume-given", FhirWord::VolumeGiven, S::Measured, ML),
                (format!("part_{n}_dose_counted"), "dose-of-part", FhirWord::DoseOfPart, S::Counted, CELLS),
            ];
            let told = part.and_then(|p| p.told);
            for (what, code, word, standing, unit) in rows {
                let value = match self.facts.figure(&what, standing) {
                    Some(shown) => ("valueQuantity", amount(shown.value, unit)),
                    // When it was given is told without how much.
                    None if told.is_some() && standing == S::Measured => ("dataAbsentReason", absent()),
                    None => continue,
                };
                let rest = vec![
                    ("effectiveDateTime", self.moment(told)),
                    ("note", some(said.clone())),
                    ("bodySite", concept(&site)),
                    value,
                ];
                let code = coded(LOCAL, code, &self.say(word));
                self.observation(&what, "procedure", code, patient, rest);
            }
        }
    }
}
