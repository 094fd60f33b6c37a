//! What was used, thrown away and added.

use super::Writer;
use super::element::{concept, list, note, object, reference, some, string};
use crate::case::{AdditionTyped, Expiry};
use crate::draft::{AdditionChoice, Discard, Field};
use crate::export::facts::iso;
use crate::log::Checked;
use crate::words::choice::{AdditionName, RotorKindName};
use crate::words::log::Discarded;
use crate::words::out::FhirWord;
use crate::words::unit;
use serde_json::Value;

/// Device identifiers of GS1 (hl7.org/fhir, UDI issuers).
const GS1: &str = "http://hl7.org/fhir/NamingSystem/gs1-di";

impl Writer<'_> {
    /// Rotor, centrifuge and container, by what they are and not by their name in the clinic.
    pub(super) fn devices(&mut self) -> Vec<String> {
        let (case, c) = (&self.facts.case, self.facts.entry.draft.conventions);
        let mut found = Vec::new();
        if let Some(rotor) = &case.spin.rotor {
            let text = format!("{}, {}", self.say(FhirWord::Rotor), self.say(RotorKindName(rotor.kind)));
            let radius = rotor
                .maximum
                .map(|r| format!("{}: {}", self.say(FhirWord::MaximumRadius), unit::radius(r, &c)));
            found.push((
                "rotor",
                object(vec![("type", concept(&text)), ("note", some(radius.map(|r| note(&r))))]),
            ));
        }
        if let Some(centrifuge) = &case.spin.centrifuge {
            let checks = [Checked::Speed, Checked::Timer].map(|what| {
                let on = centrifuge.check(what).on?;
                Some(note(&self.say(FhirWord::CheckedOn { what, on, failed: centrifuge.check(what).failed })))
            });
            let fields = vec![
                ("serialNumber", string(&centrifuge.serial)),
                ("type", concept(&self.say(FhirWord::Centrifuge))),
                ("note", list(checks.into_iter().flatten().collect())),
            ];
            found.push(("centrifuge", object(fields)));
        }
        if let Some(container) = &case.draw.container {
            let filled =
                format!("{}, {}", self.say(FhirWord::Container), unit::volume(container.fill_high, &c));
            let expiry = match case.draw.container_expiry {
                Expiry::Last(day) => iso(day).into(),
                Expiry::NotTyped | Expiry::Unreadable => Value::Null,
            };
            let lot = string(self.facts.typed(Field::ContainerLot));
            let code = case.draw.container_lot.product().map(|number| {
                let number = number.to_string();
                object(vec![
                    ("deviceIdentifier", number.into()),
                    ("issuer", GS1.into()),
                    ("entryType", "barcode".into()),
                ])
            });
            let fields = vec![
                ("udiCarrier", some(code)),
                ("type", concept(&filled)),
                ("lotNumber", lot),
                ("expirationDate", expiry),
            ];
            found.push(("container", object(fields)));
        }
        found.into_iter().map(|(name, device)| self.add("Device", name, device)).collect()
    }

    /// Containers opened and not used or discarded: devices out of use, that the procedure did not use. What was taken
    /// back as a mistake is left out.
    pub(super) fn thrown_away(&mut self) {
        let lines = self.facts.entry.draft.discards.iter().filter(|d| d.stands() && d.kind.of_containers());
        let devices = lines.map(|line| {
            let device = vec![
                ("status", "inactive".into()),
                ("type", concept(&self.say(FhirWord::DiscardedContainer))),
                ("lotNumber", string(&line.lot)),
                ("note", list(vec![note(&self.discarded(line))])),
            ];
            object(device)
        });
        for (n, device) in devices.collect::<Vec<_>>().into_iter().enumerate() {
            self.add("Device", &format!("discarded-{n}"), device);
        }
    }

    pub(super) fn discarded(&self, line: &Discard) -> String {
        let c = self.facts.entry.draft.conventions;
        let volume = line.volume.map(|v| unit::volume(v, &c).to_string());
        let at = self.facts.moment(line.at).unwrap_or_default();
        self.say(Discarded { line, volume, at, back: None })
    }

    /// What is added to the product, with its lot and expiry: a step of the processing for each, as entered. Until the
    /// hand-over it is said to be meant. One that is not whole is told too where its box is known.
    pub(super) fn additions(&mut self) -> Vec<Value> {
        let (draft, case, c) =
            (&self.facts.entry.draft, &self.facts.case, self.facts.entry.draft.conventions);
        let done = case.times.handed_over.is_some();
        let word = self.say(if done { FhirWord::Added } else { FhirWord::ToBeAdded });
        let rows = (0u8..).zip(&case.additions).zip(&case.addition_lots);
        let rows = rows.filter_map(|((n, added), (lot, expiry))| {
            let whole = match added {
                AdditionTyped::Whole(added) => Some(added),
                AdditionTyped::Partial if lot.lot.is_empty() && *expiry == Expiry::NotTyped => return None,
                AdditionTyped::Partial => None,
            };
            let typed = self.facts.typed(Field::AdditionName(n));
            let name = match draft.choices.additions.get(&n) {
                Some(AdditionChoice::Other) if !typed.is_empty() => typed.to_owned(),
                Some(choice) => self.say(AdditionName(*choice)),
                None => self.say(FhirWord::NotSaidWhat),
            };
            let strength = whole.and_then(|a| a.agent.strength()).map(|s| unit::strength(s, &c).to_string());
            let what = std::iter::once(name).chain(strength).collect::<Vec<_>>().join(" ");
            let volume = whole.map(|a| unit::volume(a.volume, &c).to_string());
            let volume = volume.unwrap_or_else(|| self.say(FhirWord::NoAmount));
            let said = format!("{word}: {what}, {volume}");
            let lot = object(vec![("type", concept(&self.say(FhirWord::Lot))), ("value", string(&lot.lot))]);
            let lot = Some(lot).filter(|lot| lot.get("value").is_some());
            let instance = object(vec![
                ("identifier", lot.unwrap_or(Value::Null)),
                ("expiry", if let Expiry::Last(day) = expiry { iso(*day).into() } else { Value::Null }),
            ]);
            Some((n, said, object(vec![("code", concept(&what)), ("instance", list(vec![instance]))])))
        });
        let rows: Vec<_> = rows.collect();
        let step = |(n, said, substance): (u8, String, Value)| {
            let urn = self.add("Substance", &format!("addition-{n}"), substance);
            object(vec![("description", string(&said)), ("additive", reference(&urn))])
        };
        rows.into_iter().map(step).collect()
    }
}
