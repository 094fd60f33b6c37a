//! Who signed, and what an amendment changed.

use super::Writer;
use super::element::{concept, display, list, narrative, object, some};
use crate::draft::{Field, KitPart};
use crate::export::card::said_of;
use crate::record::changes::{Change, Chosen};
use crate::record::{Amendment, Entry};
use crate::words::out::FhirWord;

/// HL7 terminology, from memory.
const PARTICIPANT: &str = "http://terminology.hl7.org/CodeSystem/provenance-participant-type";

impl Writer<'_> {
    /// What an amendment changed, in words; of a demo's identifiers nothing, and without the clinic's names of rotor and
    /// container.
    fn changed(&self, changes: &[Change]) -> Vec<String> {
        let draft = &self.facts.entry.draft;
        let identifier =
            |field: &Field| matches!(field, Field::PatientReference | Field::SecondIdentifier) && draft.demo;
        let told = changes.iter().filter_map(|change| match change {
            Change::Typed { field, .. } if identifier(field) => None,
            Change::Entry { part, .. } | Change::Chosen { after: Chosen::Entry(part, _), .. }
                if *part != KitPart::Protocol =>
            {
                Some(Change::Entry { part: *part, name: None })
            }
            other => Some(other.clone()),
        });
        told.map(|change| said_of(&change, self.language, draft.conventions.numbers)).collect()
    }

    /// One for each signature.
    pub(super) fn provenance(&mut self) {
        let targets = std::mem::take(&mut self.targets);
        let changes: Vec<Vec<Change>> =
            self.facts.record.changes().into_iter().map(|(_, changed)| changed).collect();
        let first = (self.facts.record.first_signed(), None);
        let later = self.facts.record.amendments().iter().map(|a: &Amendment| (&a.entry, Some(&a.reason)));
        let entries: Vec<(&Entry, Option<&String>)> = std::iter::once(first).chain(later).collect();
        for (n, (entry, reason)) in entries.into_iter().enumerate() {
            let agent = |kind: &str, who: &str| {
                let coding = object(vec![("system", PARTICIPANT.into()), ("code", kind.into())]);
                object(vec![("type", object(vec![("coding", list(vec![coding]))])), ("who", display(who))])
            };
            let changed = n.checked_sub(1).and_then(|n| changes.get(n)).map(|all| self.changed(all));
            let model = entry.model;
            let program = self.say(FhirWord::Program { app: &entry.app, model });
            let resource = object(vec![
                ("text", narrative(&changed.unwrap_or_default())),
                ("target", list(targets.clone())),
                ("recorded", self.moment(Some(entry.at))),
                ("reason", some(reason.map(|r| concept(r)))),
                ("agent", list(vec![agent("author", &entry.by), agent("assembler", &program)])),
            ]);
            self.add("Provenance", &format!("provenance-{n}"), resource);
        }
    }
}
