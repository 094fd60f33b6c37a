//! The blood and the product as specimens.

use super::Writer;
use super::element::{ML, amount, concept, list, object, reference, some};
use crate::draft::Field;
use crate::record::shown::ShownStanding as S;
use crate::words::card::CardLine;
use crate::words::choice::AgentName;
use crate::words::out::FhirWord;
use serde_json::Value;

impl Writer<'_> {
    pub(super) fn blood(&mut self, patient: &str) -> String {
        let (draft, f) = (&self.facts.entry.draft, &self.facts);
        let measured = f.figure("blood_in_all", S::Measured).filter(|f| f.value > 0.0);
        let agent = f.case.draw.agent.map(|a| self.say(AgentName(a, draft.conventions.numbers)));
        let lot = f.typed(Field::AnticoagulantLot);
        let lot = (!lot.is_empty()).then(|| self.say(CardLine::Lot(lot.to_owned())));
        let number = f.case.draw.anticoagulant_lot.product().map(|n| self.say(FhirWord::ProductNumber(n)));
        let additive =
            agent.map(|agent| std::iter::once(agent).chain(lot).chain(number).collect::<Vec<_>>().join(", "));
        let containers = additive.map(|a| object(vec![("additiveCodeableConcept", concept(&a))]));
        let collection = object(vec![
            ("collector", self.who(Field::WhoDraw)),
            ("collectedPeriod", self.period(draft.times.needle_in, draft.times.needle_out)),
            ("quantity", measured.map_or(Value::Null, |m| amount(m.value, ML))),
            ("bodySite", concept(f.typed(Field::DrawSite))),
        ]);
        let resource = object(vec![
            ("type", concept(&self.say(FhirWord::Blood))),
            ("subject", reference(patient)),
            ("collection", collection),
            ("container", some(containers)),
        ]);
        self.add("Specimen", "blood", resource)
    }

    /// Whether there is a product at all: kept, or counted.
    pub(super) fn product(&mut self, patient: &str, blood: &str) -> Option<String> {
        let (draft, f) = (&self.facts.entry.draft, &self.facts);
        let kept = f.figure("product_volume", S::Measured);
        if kept.is_none() && draft.times.collected.is_none() && f.case.count.readings.is_empty() {
            return None;
        }
        let collection = object(vec![
            ("collectedDateTime", self.moment(draft.times.collected)),
            ("quantity", kept.map_or(Value::Null, |k| amount(k.value, ML))),
        ]);
        let resource = object(vec![
            ("type", concept(&self.say(FhirWord::Product))),
            ("subject", reference(patient)),
            ("parent", list(vec![reference(blood)])),
            ("collection", collection),
            ("processing", list(self.processing())),
        ]);
        Some(self.add("Specimen", "product", resource))
    }
}
