//! A signed record as a FHIR R4 (4.0.1) Bundle of type collection; the elements used are the same in R4B. A number
//! is an Observation only if it was measured or counted, or follows from such numbers; what was predicted stands
//! in a note that says so.
//!
//! LOINC names the blood's own count (public FHIR value sets; HL7 US Core for 777-3 and 4544-3, loinc.org for 26515-7).
//! Platelet-rich plasma has no agreed code: its codes are local, each with its text. Units are UCUM.

mod device;
mod element;
mod observation;
mod procedure;
mod provenance;
mod specimen;

#[cfg(test)]
mod tests;

use super::facts::Facts;
use crate::draft::Field;
use crate::quantity::time::Instant;
use crate::record::Record;
use crate::record::standing::RecordStanding;
use crate::words::card::CardWord;
use crate::words::{Language, Phrase};
use element::{concept, display, list, object, optional, reference, string};
use serde_json::Value;
use sha2::{Digest, Sha256};

/// System of the local codes: a UUID of our own, since no address on the network stands for them.
const LOCAL: &str = "urn:uuid:6f0f4b0e-52b7-8d0a-9a7e-0f6f1c2b5d31";
/// HL7 terminology, from memory.
const ACT_REASON: &str = "http://terminology.hl7.org/CodeSystem/v3-ActReason";

/// The record as one Bundle, as text, which says how it stands to what was signed; the same gives the same text.
pub fn bundle(record: &Record, standing: RecordStanding, language: Language) -> String {
    Writer { facts: Facts::of(record), standing, language, entries: Vec::new(), targets: Vec::new() }
        .write()
        .to_string()
}

struct Writer<'a> {
    facts: Facts<'a>,
    standing: RecordStanding,
    language: Language,
    entries: Vec<Value>,
    targets: Vec<Value>,
}

impl Writer<'_> {
    fn say(&self, phrase: impl Phrase) -> String {
        self.language.say(phrase).into_owned()
    }

    /// A name that follows from the record and this word alone (UUID version 8 of RFC 9562, over SHA-256).
    fn uuid(&self, name: &str) -> String {
        let mut hash = Sha256::new();
        hash.update(self.facts.record.id().as_bytes());
        hash.update(b"\n");
        hash.update(name.as_bytes());
        let hex: String = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
        let part = |from: usize, to: usize| hex.get(from..to).unwrap_or_default();
        let parts = (part(0, 8), part(8, 12), part(13, 16), part(17, 20), part(20, 32));
        format!("{}-{}-8{}-8{}-{}", parts.0, parts.1, parts.2, parts.3, parts.4)
    }

    /// Adds a resource and gives its URN.
    fn add(&mut self, kind: &str, name: &str, mut resource: Value) -> String {
        let id = self.uuid(name);
        let urn = format!("urn:uuid:{id}");
        if let Value::Object(fields) = &mut resource {
            fields.insert("resourceType".to_owned(), kind.into());
            fields.insert("id".to_owned(), id.into());
        }
        self.targets.push(reference(&urn));
        self.entries.push(object(vec![("fullUrl", urn.clone().into()), ("resource", resource)]));
        urn
    }

    /// Who did a stage; nobody where none is named.
    fn who(&self, field: Field) -> Value {
        match self.facts.typed(field) {
            "" => Value::Null,
            who => display(who),
        }
    }

    fn moment(&self, at: Option<Instant>) -> Value {
        optional(at.and_then(|at| self.facts.moment(at)))
    }

    fn period(&self, from: Option<Instant>, to: Option<Instant>) -> Value {
        // A period runs forward.
        let to = to.filter(|to| from.is_none_or(|from| from <= *to));
        object(vec![("start", self.moment(from)), ("end", self.moment(to))])
    }

    fn write(mut self) -> Value {
        let patient = self.patient();
        let blood = self.blood(&patient);
        self.blood_counts(&patient, &blood);
        let product = self.product(&patient, &blood);
        self.figures(&patient, product.as_deref());
        self.parts(&patient);
        let devices = self.devices();
        self.procedure(&patient, devices);
        self.thrown_away();
        if product.is_some() {
            let added = self.additions();
            self.derived(&patient, added);
        }
        self.provenance();
        let id = self.uuid("bundle");
        object(vec![
            ("resourceType", "Bundle".into()),
            ("id", id.into()),
            ("type", "collection".into()),
            ("timestamp", self.moment(Some(self.facts.entry.at))),
            ("entry", list(self.entries)),
        ])
    }

    /// As little as the clinic stores; of a demo nothing, and it says that it is test data.
    fn patient(&mut self) -> String {
        let demo = self.facts.entry.draft.demo;
        let identifier = |field, word| {
            let value = string(self.facts.typed(field));
            if value.is_null() || demo {
                return Value::Null;
            }
            object(vec![("type", concept(&self.say(word))), ("value", value)])
        };
        let identifiers = list(vec![
            identifier(Field::PatientReference, CardWord::Reference),
            identifier(Field::SecondIdentifier, CardWord::SecondIdentifier),
        ]);
        let test = object(vec![
            ("system", ACT_REASON.into()),
            ("code", "HTEST".into()),
            ("display", "test health data".into()),
        ]);
        let meta = if demo { object(vec![("tag", list(vec![test]))]) } else { Value::Null };
        self.add("Patient", "patient", object(vec![("meta", meta), ("identifier", identifiers)]))
    }
}
