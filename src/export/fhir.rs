//! A signed record as a FHIR R4 (4.0.1) Bundle of type collection; the elements used are the same in R4B. A number
//! is an Observation only if it was measured or counted, or follows from such numbers; what was predicted stands
//! in a note that says so.
//!
//! LOINC names the blood's own count (public FHIR value sets; HL7 US Core for 777-3 and 4544-3). Platelet-rich
//! plasma has no agreed code: its codes are local, each with its text. Units are UCUM.

use super::card::{changed_and_why, corrected_lots, plain, rebuilt_line, said_of, trouble_line};
use super::facts::{Facts, iso, number};
use crate::assess::balance::spin_at;
use crate::blood::baseline::SampleKind;
use crate::case::{AdditionTyped, Expiry, Weighed};
use crate::draft::{AdditionChoice, CountStanding, Discard, Field, KitPart};
use crate::finding::Level;
use crate::log::Checked;
use crate::quantity::Quantity;
use crate::quantity::time::Instant;
use crate::record::changes::{Change, Chosen};
use crate::record::shown::{ShownFigure, ShownFinding, ShownStanding as S};
use crate::record::{Amendment, Entry, Record};
use crate::spin::programme::{Speed, Stage};
use crate::words::card::{CardLine, CardWord};
use crate::words::choice::{
    AdditionName, AgentName, BrakeName, RadiusShort, RotorKindName, SampleName, SiteLine, SpinStageName,
};
use crate::words::field::Label;
use crate::words::log::Discarded;
use crate::words::out::{FhirWord, OutWord};
use crate::words::rotor::WeighedSaid;
use crate::words::unit;
use crate::words::{Language, Phrase};
use serde_json::{Map, Value};
use sha2::{Digest, Sha256};

const UCUM: &str = "http://unitsofmeasure.org";
const LOINC: &str = "http://loinc.org";
/// System of the local codes: a UUID of our own, since no address on the network stands for them.
const LOCAL: &str = "urn:uuid:6f0f4b0e-52b7-8d0a-9a7e-0f6f1c2b5d31";
/// HL7 terminology, from memory.
const CATEGORY: &str = "http://terminology.hl7.org/CodeSystem/observation-category";
const PARTICIPANT: &str = "http://terminology.hl7.org/CodeSystem/provenance-participant-type";
const ACT_REASON: &str = "http://terminology.hl7.org/CodeSystem/v3-ActReason";

/// Device identifiers of GS1 (hl7.org/fhir, UDI issuers).
const GS1: &str = "http://hl7.org/fhir/NamingSystem/gs1-di";

/// UCUM: code, and as it is printed.
type Unit = (&'static str, &'static str);
const COUNT: Unit = ("10*9/L", "×10⁹/L");
const RED: Unit = ("10*12/L", "×10¹²/L");
const CELLS: Unit = ("10*9", "×10⁹");
const PERCENT: Unit = ("%", "%");
const GRAMS: Unit = ("g/dL", "g/dL");
const ML: Unit = ("mL", "mL");
const FOLD: Unit = ("{fold}", "fold");

/// What follows from the record's shown figures: name, code, words, unit, what to multiply by. The first five are of
/// the product.
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

/// The record as one Bundle, as text; the same record gives the same text.
pub fn bundle(record: &Record, language: Language) -> String {
    Writer { facts: Facts::of(record), language, entries: Vec::new(), targets: Vec::new() }
        .write()
        .to_string()
}

/// An object of the fields that hold something.
fn object(fields: Vec<(&str, Value)>) -> Value {
    let full = |v: &Value| match v {
        Value::Null => false,
        Value::Array(all) => !all.is_empty(),
        Value::Object(all) => !all.is_empty(),
        _ => true,
    };
    let fields = fields.into_iter().filter(|(_, v)| full(v));
    Value::Object(fields.map(|(k, v)| (k.to_owned(), v)).collect::<Map<_, _>>())
}

/// A FHIR string: none when nothing is left of it.
fn string(text: &str) -> Value {
    let text: String = text.chars().filter(|c| !c.is_control() || *c == '\n').collect();
    match text.trim() {
        "" => Value::Null,
        text => text.into(),
    }
}

fn optional(text: Option<String>) -> Value {
    text.map_or(Value::Null, |text| string(&text))
}

fn list(all: Vec<Value>) -> Value {
    Value::Array(all.into_iter().filter(|v| !v.is_null() && *v != Value::Object(Map::new())).collect())
}

/// A list of one, or none.
fn some(one: Option<Value>) -> Value {
    list(one.into_iter().collect())
}

fn concept(text: &str) -> Value {
    object(vec![("text", string(text))])
}

fn coding(system: &str, code: &str, display: &str) -> Value {
    object(vec![("system", system.into()), ("code", code.into()), ("display", string(display))])
}

fn coded(system: &str, code: &str, display: &str) -> Value {
    object(vec![("coding", list(vec![coding(system, code, display)])), ("text", string(display))])
}

fn amount(value: f64, (code, unit): Unit) -> Value {
    let value = number(value).into();
    object(vec![("value", value), ("unit", unit.into()), ("system", UCUM.into()), ("code", code.into())])
}

fn note(text: &str) -> Value {
    object(vec![("text", string(text))])
}

/// Lines as the text of a resource, in the little XHTML that it may hold; none where there is nothing to say.
fn narrative(lines: &[String]) -> Value {
    let said = lines.iter().filter_map(|line| Some(string(line).as_str()?.to_owned()));
    let marked = |c: char| match c {
        '&' => "&amp;".to_owned(),
        '<' => "&lt;".to_owned(),
        '>' => "&gt;".to_owned(),
        // What XML has no place for.
        '\u{fffe}' | '\u{ffff}' => String::new(),
        c => c.to_string(),
    };
    let div: String =
        said.map(|line| format!("<p>{}</p>", line.chars().map(marked).collect::<String>())).collect();
    if div.is_empty() {
        return Value::Null;
    }
    let div = format!("<div xmlns=\"http://www.w3.org/1999/xhtml\">{div}</div>");
    object(vec![("status", "generated".into()), ("div", div.into())])
}

fn display(name: &str) -> Value {
    object(vec![("display", string(name))])
}

fn reference(urn: &str) -> Value {
    object(vec![("reference", urn.into())])
}

struct Writer<'a> {
    facts: Facts<'a>,
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

    fn blood(&mut self, patient: &str) -> String {
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
    fn product(&mut self, patient: &str, blood: &str) -> Option<String> {
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

    /// Today's counts of the blood are of the day of the draw; when an older one was taken is not known.
    fn blood_counts(&mut self, patient: &str, blood: &str) {
        let f = &self.facts;
        let b = f.case.baseline.clone();
        let today = (b.standing == Some(CountStanding::Today)).then(|| f.day()).flatten().map(iso);
        let today = optional(today);
        let of_container = b.sample == Some(SampleKind::FilledContainer);
        let specimen = if of_container { reference(blood) } else { Value::Null };
        let sample =
            b.sample.map(|s| format!("{} {}", self.say(OutWord::SampleFrom), self.say(SampleName(s))));
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
        let rows = [
            ("777-3", "Platelets [#/volume] in Blood by Automated count", count, COUNT, 1.0),
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
            let corrected = corrected.iter().filter(|_| code == "777-3");
            let notes = sample.iter().chain(corrected).map(|said| note(said)).collect::<Vec<_>>();
            let method = method.iter().filter(|_| code == "777-3").map(|m| concept(m)).next();
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

    fn figures(&mut self, patient: &str, product: Option<&str>) {
        let collected = self.moment(self.facts.entry.draft.times.collected);
        // When it was entered; it may have been counted before.
        let entered = self.moment(self.facts.entry.draft.times.counted);
        for (what, code, word, unit, times) in SHOWN {
            let Some(shown) = self.facts.figure(what, S::Counted) else { continue };
            let of_product = !matches!(word, FhirWord::Drawn);
            let counted = code.starts_with("product-");
            let specimen = product.filter(|_| of_product).map_or(Value::Null, reference);
            let rest = vec![
                ("effectiveDateTime", if of_product { collected.clone() } else { Value::Null }),
                ("issued", if counted { entered.clone() } else { Value::Null }),
                ("specimen", specimen),
                ("valueQuantity", amount(shown.value * times, unit)),
            ];
            let category = if counted { "laboratory" } else { "procedure" };
            self.observation(code, category, coded(LOCAL, code, &self.say(word)), patient, rest);
        }
    }

    /// Volume and dose of each part, once given.
    fn parts(&mut self, patient: &str) {
        let over = self.facts.entry.draft.times.handed_over;
        for n in 1..=crate::draft::field::MAX_SITES {
            let name = self.facts.typed(Field::PartName(n.saturating_sub(1)));
            let order = &self.facts.case.order;
            let part = order.parts.get(usize::from(n.saturating_sub(1)));
            let given = self.moment(part.and_then(|p| p.given_at.at()).or(over));
            let site = self.say(SiteLine { side: order.side, site: &order.site });
            let site = if name.is_empty() { site } else { format!("{site}, {name}") };
            let rows = [
                (format!("part_{n}_volume"), "volume-given", FhirWord::VolumeGiven, S::Measured, ML),
                (format!("part_{n}_dose_counted"), "dose-of-part", FhirWord::DoseOfPart, S::Counted, CELLS),
            ];
            for (what, code, word, standing, unit) in rows {
                let Some(shown) = self.facts.figure(&what, standing) else { continue };
                let rest = vec![
                    ("effectiveDateTime", given.clone()),
                    ("bodySite", concept(&site)),
                    ("valueQuantity", amount(shown.value, unit)),
                ];
                let code = coded(LOCAL, code, &self.say(word));
                self.observation(&what, "procedure", code, patient, rest);
            }
        }
    }

    /// Rotor, centrifuge and container, by what they are and not by their name in the clinic.
    fn devices(&mut self) -> Vec<String> {
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
    fn thrown_away(&mut self) {
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

    fn discarded(&self, line: &Discard) -> String {
        let c = self.facts.entry.draft.conventions;
        let volume = line.volume.map(|v| unit::volume(v, &c).to_string());
        let at = self.facts.moment(line.at).unwrap_or_default();
        self.say(Discarded { line, volume, at, back: None })
    }

    /// What is added to the product, with its lot and expiry: a step of the processing for each, as entered. Until the
    /// hand-over it is said to be meant. One that is not whole is told too where its box is known.
    fn additions(&mut self) -> Vec<Value> {
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

    /// Stages that were begun, each as planned and as run.
    fn stages(&self) -> Vec<(String, Value)> {
        let (f, c) = (&self.facts, self.facts.entry.draft.conventions);
        let (Some(protocol), times) = (&f.case.protocol, &f.entry.draft.times) else { return Vec::new() };
        let stages = protocol.programme.0.iter().zip(0u8..).filter_map(|(stage, n)| {
            let began = *times.stages.get(&n)?;
            let next = n.saturating_add(1);
            let last = usize::from(next) == protocol.programme.0.len();
            let ended = if last { times.spin_end } else { times.stages.get(&next).copied() };
            let speed = stage.speed().map(|speed| match speed {
                Speed::Rpm(rpm) => unit::rpm(rpm, &c).to_string(),
                Speed::Rcf { g, at } => format!("{} {}", unit::rcf(g, &c), self.say(RadiusShort(at))),
            });
            let handled = match stage {
                Stage::Handling { what, .. } => Some(what.clone()),
                _ => None,
            };
            let time = stage.time().map(|t| unit::minutes(t, &c).to_string());
            let planned: Vec<String> = speed.into_iter().chain(handled).chain(time).collect();
            let run = f.case.spin.actual.get(usize::from(n));
            let ran = run.and_then(|r| r.speed).map(|s| unit::rpm(s, &c).to_string());
            let ran: Vec<String> = ran
                .into_iter()
                .chain(run.and_then(|r| r.time).map(|t| unit::minutes(t, &c).to_string()))
                .collect();
            let mut said = format!("{}: {}", self.say(SpinStageName(stage)), self.say(CardWord::Planned));
            said = format!("{said} {}", planned.join(", "));
            if !ran.is_empty() {
                said = format!("{said}; {} {}", self.say(CardWord::Done), ran.join(", "));
            }
            let weighed = spin_at(&f.case, usize::from(n)).and_then(|spin| f.case.spin.weighed.get(spin));
            if let Some(weighed) = weighed.filter(|w| **w != Weighed::default()) {
                said = format!("{said}; {}", self.say(WeighedSaid(weighed, &c)));
            }
            let set = run.and_then(|r| r.temperature).map(|t| unit::temperature(t, &c).to_string());
            let set = set.into_iter().chain(run.and_then(|r| r.brake).map(|b| self.say(BrakeName(b))));
            let who = f.entry.draft.who_of(n).map(|field| f.typed(field)).filter(|who| !who.is_empty());
            let who = who.map(|who| format!("{} {who}", self.say(CardWord::By)));
            for more in set.chain(who) {
                said = format!("{said}; {more}");
            }
            Some((said, self.period(Some(began), ended)))
        });
        stages.collect()
    }

    /// The same as elements.
    fn processing(&self) -> Vec<Value> {
        let mut all = Vec::new();
        for (said, time) in self.stages() {
            all.push(object(vec![("description", string(&said)), ("timePeriod", time)]));
        }
        all
    }

    /// What was changed after the hand-over, with what stood there and why; of a demo's identifiers nothing, and
    /// without the clinic's names of rotor and container.
    fn after_hand_over(&self) -> Vec<String> {
        let mut draft = self.facts.record.first_signed().draft.clone();
        if draft.demo {
            for field in [Field::PatientReference, Field::SecondIdentifier] {
                draft.hand_overs.iter_mut().for_each(|h| drop(h.texts.remove(&field)));
            }
        }
        let kits = draft
            .hand_overs
            .iter_mut()
            .flat_map(|h| h.kit.iter_mut().chain(h.reasons.iter_mut().map(|reason| &mut reason.kit)));
        for kit in std::iter::once(&mut draft.kit).chain(kits) {
            kit.container.iter_mut().for_each(|container| container.name.clear());
            kit.rotor.iter_mut().for_each(|rotor| rotor.name.clear());
        }
        changed_and_why(&draft, self.language)
    }

    /// That the case was rebuilt; predictions as they were shown, in words that say so; a count that is not confirmed;
    /// findings; what went wrong; lots corrected after the needle; what was changed after the hand-over; notes.
    fn notes(&self) -> Vec<Value> {
        let entry = self.facts.entry;
        let predicted: Vec<String> = entry
            .card
            .iter()
            .flat_map(|card| &card.made.rows)
            .filter_map(|row| {
                let (name, said) = (plain(row.cells.first()?), plain(row.cells.get(2)?));
                (!said.is_empty()).then(|| format!("{name}: {said}"))
            })
            .collect();
        let predicted = (!predicted.is_empty())
            .then(|| format!("{}\n{}", self.say(OutWord::Predicted), predicted.join("\n")));
        let unconfirmed = self.facts.figure("concentration_not_confirmed", S::Counted);
        let unconfirmed = unconfirmed.map(|f: &ShownFigure| {
            format!("{} {} {}", self.say(OutWord::NotConfirmed), number(f.value), f.unit)
        });
        let findings =
            entry.findings.iter().flatten().filter(|f| f.level > Level::Note).map(|f| self.finding(f));
        let typed = [Field::Session, Field::AdverseEvent, Field::Notes].into_iter().filter_map(|field| {
            let text = string(self.facts.typed(field)).as_str().map(str::to_owned)?;
            Some(if field == Field::Notes { text } else { format!("{}: {text}", self.say(Label(field))) })
        });
        let rebuilt =
            entry.draft.rebuilt.as_ref().map(|rebuilt| {
                self.say(rebuilt_line(rebuilt, |at| self.facts.moment(at).unwrap_or_default()))
            });
        let left_over = entry.draft.discards.iter().filter(|d| d.stands() && !d.kind.of_containers());
        let left_over: Vec<String> = left_over.map(|line| self.discarded(line)).collect();
        let wrong = entry.draft.troubles.iter().map(|t| {
            let moment = |at| self.facts.moment(at).unwrap_or_default();
            trouble_line(t, &entry.draft.times, self.language, moment)
        });
        let lots = corrected_lots(&entry.draft, self.language);
        let changed = wrong.chain(left_over).chain(lots).chain(self.after_hand_over());
        let all = rebuilt
            .into_iter()
            .chain(predicted)
            .chain(unconfirmed)
            .chain(findings)
            .chain(changed)
            .chain(typed);
        all.map(|said| note(&said)).collect()
    }

    fn finding(&self, finding: &ShownFinding) -> String {
        let decided = finding.decision.as_ref().map(|d| {
            let (by, at) = (d.by.clone(), self.facts.moment(d.at).unwrap_or_default());
            self.say(match d.reason.as_str() {
                "" => CardLine::SeenBy { by, at },
                reason => CardLine::DecidedBy { by, at, reason: reason.to_owned() },
            })
        });
        let open =
            (finding.open && finding.level >= Level::StopClinician).then(|| self.say(CardWord::OpenStop));
        let said = [self.say(finding.level) + ":", finding.cause.clone()];
        said.into_iter().chain(decided).chain(open).collect::<Vec<_>>().join(" ")
    }

    fn procedure(&mut self, patient: &str, devices: Vec<String>) {
        let (draft, f) = (&self.facts.entry.draft, &self.facts);
        let times = &draft.times;
        let end = times.handed_over.or(times.collected);
        let without = draft.without_product();
        let status = match (times.handed_over, times.needle_in) {
            (Some(_), _) => "completed",
            (None, Some(_)) if without.is_some() => "stopped",
            (None, Some(_)) => "in-progress",
            (None, None) => "preparation",
        };
        let why = without.map(|why| concept(&self.say(CardLine::NoProduct(why.to_owned()))));
        let technician = f.typed(Field::Technician);
        let performer = (!technician.is_empty()).then(|| object(vec![("actor", display(technician))]));
        let stages = draft.who_asked().into_iter().filter(|field| !f.typed(*field).is_empty());
        let stages = stages.map(|field| {
            let function = concept(&self.say(Label(field)));
            object(vec![("function", function), ("actor", display(f.typed(field)))])
        });
        let performer: Vec<Value> = performer.into_iter().chain(stages).collect();
        let prescriber = f.typed(Field::Prescriber);
        let ordered =
            (!prescriber.is_empty()).then(|| display(&self.say(CardLine::OrderedBy(prescriber.to_owned()))));
        let tag = coding(LOCAL, "rebuilt-from-code", &self.say(FhirWord::Rebuilt));
        let tag = draft.rebuilt.is_some().then_some(tag);
        let order = &f.case.order;
        let site = concept(&self.say(SiteLine { side: order.side, site: &order.site }));
        let resource = object(vec![
            ("meta", object(vec![("tag", some(tag))])),
            ("status", status.into()),
            ("statusReason", why.unwrap_or(Value::Null)),
            ("basedOn", some(ordered)),
            ("code", concept(&self.say(FhirWord::Preparation))),
            ("subject", reference(patient)),
            ("performedPeriod", self.period(times.needle_in, end)),
            ("performer", list(performer)),
            ("bodySite", list(vec![site])),
            ("note", list(self.notes())),
            ("usedReference", list(devices.iter().map(|urn| reference(urn)).collect())),
        ]);
        self.add("Procedure", "procedure", resource);
    }

    fn derived(&mut self, patient: &str, added: Vec<Value>) {
        let (draft, f) = (&self.facts.entry.draft, &self.facts);
        let technician = f.typed(Field::Technician);
        let drawn = f.typed(Field::WhoDraw);
        let collector = if drawn.is_empty() { technician } else { drawn };
        let collector = if collector.is_empty() { Value::Null } else { display(collector) };
        let kept = object(vec![("description", string(f.typed(Field::KeptUntilGiven)))]);
        let collection = object(vec![
            ("collector", collector),
            ("source", reference(patient)),
            ("collectedPeriod", self.period(draft.times.needle_in, draft.times.needle_out)),
        ]);
        let resource = object(vec![
            ("productCategory", "fluid".into()),
            ("productCode", concept(&self.say(FhirWord::Product))),
            ("collection", collection),
            ("processing", list(self.processing().into_iter().chain(added).collect())),
            ("storage", list(vec![kept])),
        ]);
        self.add("BiologicallyDerivedProduct", "derived", resource);
    }

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
    fn provenance(&mut self) {
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{Draft, Trouble, TroubleKind};
    use crate::export::trial;

    fn read(record: &Record) -> Vec<Value> {
        let bundle: Value = serde_json::from_str(&bundle(record, Language::English)).unwrap();
        assert_eq!(bundle["type"], "collection");
        bundle["entry"].as_array().unwrap().iter().map(|e| e["resource"].clone()).collect()
    }

    fn of<'a>(all: &'a [Value], kind: &str) -> Vec<&'a Value> {
        all.iter().filter(|r| r["resourceType"] == kind).collect()
    }

    fn value<'a>(all: &'a [Value], code: &str) -> Option<&'a Value> {
        let found = of(all, "Observation").into_iter().find(|o| o["code"]["coding"][0]["code"] == code)?;
        Some(&found["valueQuantity"])
    }

    #[test]
    fn counted_numbers_are_observations_with_their_units() {
        let all = read(&trial::counted());
        // 210·26/1000; 47·20; 940·4/1000; 940·2/1000
        for (code, is, unit) in [
            ("777-3", 210.0, "10*9/L"),
            ("4544-3", 42.0, "%"),
            ("platelets-drawn", 5.46, "10*9"),
            ("product-platelets", 940.0, "10*9/L"),
            ("platelets-in-product", 3.76, "10*9"),
            ("volume-given", 2.0, "mL"),
            ("dose-of-part", 1.88, "10*9"),
        ] {
            let found = value(&all, code).unwrap_or_else(|| panic!("no {code}"));
            assert_eq!((found["value"].as_f64(), found["code"].as_str()), (Some(is), Some(unit)), "{code}");
        }
        assert_eq!(of(&all, "Specimen").len(), 2);
        assert_eq!(of(&all, "Device").len(), 2);
        assert_eq!(of(&all, "Procedure")[0]["status"], "completed");
    }

    #[test]
    fn a_predicted_number_is_no_observation() {
        let all = read(&trial::planned());
        for code in
            ["product-platelets", "platelets-in-product", "fold", "recovery", "dose-of-part", "volume-given"]
        {
            assert_eq!(value(&all, code), None, "{code}");
        }
        let note = of(&all, "Procedure")[0]["note"][0]["text"].as_str().unwrap();
        assert!(
            note.starts_with("Predicted, not measured") && note.contains("Platelets in product"),
            "{note}"
        );
        // An unconfirmed count is none either.
        let mut draft = trial::counted_draft();
        draft.choices.mixed_no_clumps = Some(false);
        let all = read(&trial::signed(&draft));
        assert_eq!((value(&all, "product-platelets"), value(&all, "dose-of-part")), (None, None));
        let notes = of(&all, "Procedure")[0]["note"].to_string();
        assert!(notes.contains("not confirmed: 940"), "{notes}");
    }

    #[test]
    fn a_demo_names_nobody_and_a_patient_only_by_what_is_stored() {
        let demo = read(&trial::counted());
        assert!(!demo.iter().any(|r| r.to_string().contains("HL-0417")));
        assert_eq!(of(&demo, "Patient")[0]["meta"]["tag"][0]["code"], "HTEST");
        let mut draft = trial::counted_draft();
        draft.demo = false;
        let all = read(&trial::signed(&draft));
        let patient = of(&all, "Patient")[0];
        assert_eq!(patient["identifier"][0]["value"], "HL-0417");
        assert!(patient.get("name").is_none() && patient.get("birthDate").is_none());
    }

    #[test]
    fn a_change_after_the_hand_over_is_told_with_what_stood_there_and_why() {
        let mut draft = trial::counted_draft();
        draft.hand_over(trial::SIGNED);
        draft.write(Field::ProductActual, "3.6");
        draft.write(Field::PatientReference, "HL-0471");
        let rotor = draft.kit.rotor.as_mut().unwrap();
        (rotor.id, rotor.name) = ("b".into(), "Rotor B".into());
        draft.type_in(Field::WhyChanged, "misread the syringe", trial::SIGNED, None);
        let notes = |draft: &Draft| {
            let all = read(&trial::signed(draft));
            let notes = of(&all, "Procedure")[0]["note"].as_array().unwrap().clone();
            notes.iter().map(|n| n["text"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
        };
        let demo = notes(&draft);
        let said = "Changed after hand-over: Product kept now “3.6”, “4” before".to_owned();
        assert!(demo.contains(&said) && demo.contains(&"misread the syringe".to_owned()), "{demo:?}");
        assert!(!demo.iter().any(|n| n.contains("HL-0417")), "a demo names nobody: {demo:?}");
        assert!(demo.contains(&"Changed after hand-over: Rotor changed".to_owned()), "{demo:?}");
        assert!(!demo.iter().any(|n| n.contains("Rotor B")), "without the clinic’s name: {demo:?}");
        // The only change, it has its reason too.
        let mut rotor_alone = trial::counted_draft();
        rotor_alone.hand_over(trial::SIGNED);
        let rotor = rotor_alone.kit.rotor.as_mut().unwrap();
        (rotor.id, rotor.name) = ("b".into(), "Rotor B".into());
        rotor_alone.type_in(Field::WhyChanged, "the other centrifuge was free", trial::SIGNED, None);
        let told = notes(&rotor_alone);
        assert!(told.contains(&"the other centrifuge was free".to_owned()), "{told:?}");
        draft.demo = false;
        assert!(notes(&draft).iter().any(|n| n.contains("now “HL-0471”, “HL-0417” before")));
        assert!(!notes(&trial::counted_draft()).iter().any(|n| n.contains("after hand-over")));
    }

    #[test]
    fn what_went_wrong_lots_corrected_after_the_needle_and_a_rebuilt_case_are_told() {
        let notes = |draft: &Draft| {
            let all = read(&trial::signed(draft));
            let procedure = of(&all, "Procedure")[0].clone();
            let notes = procedure["note"].as_array().unwrap();
            let notes = notes.iter().map(|n| n["text"].as_str().unwrap().to_owned()).collect::<Vec<_>>();
            (notes, procedure["meta"]["tag"][0]["code"].as_str().map(str::to_owned))
        };
        let mut draft = trial::counted_draft();
        draft.troubles.push(Trouble {
            kind: TroubleKind::Clot,
            container: Some(0),
            at: trial::SIGNED,
            by: "MO".into(),
            set_aside: true,
            collected: false,
            withdrawn: None,
        });
        assert!(
            notes(&draft).0.iter().any(|n| n.contains("Clot, container 1, set aside")),
            "{:?}",
            notes(&draft)
        );
        draft.change(|d| d.write(Field::ContainerLot, "K-0099"));
        let said = "Container lot: K-0099; lot corrected after the needle, K-0058 before".to_owned();
        let (told, tag) = notes(&draft);
        assert!(told.contains(&said) && tag.is_none(), "{told:?}");
        let printed = Some(Instant(1_795_602_930_000));
        let at = Instant(1_795_602_960_000);
        let rebuilt = crate::draft::Rebuilt { at, whole: true, signed: None, check: None, printed };
        draft.rebuilt = Some(rebuilt);
        let (told, tag) = notes(&draft);
        let said = "Rebuilt from the code on a card, 2026-11-25T11:36:00+01:00; its code printed 2026-11-25T11:35:30+01:00, and what was entered later is not in it; not signed when the card printed.";
        assert!(told.contains(&said.to_owned()), "{told:?}");
        assert_eq!(tag.as_deref(), Some("rebuilt-from-code"));
        let (told, _) = notes(&trial::counted_draft());
        assert!(!told.iter().any(|n| n.contains("corrected after") || n.contains("Rebuilt")), "{told:?}");
    }

    #[test]
    fn who_did_each_stage_where_blood_was_drawn_and_when_it_was_given_are_told() {
        let mut draft = trial::counted_draft();
        let typed = [
            (Field::WhoDraw, "JT"),
            (Field::WhoSpin(0), "KL"),
            (Field::TemperatureSet(0), "20.5"),
            (Field::DrawSite, "left arm"),
            (Field::KeptUntilGiven, "on the rocker"),
            (Field::PartGivenAt(0), "11:50"),
        ];
        typed.into_iter().for_each(|(field, text)| draft.write(field, text));
        draft.choices.brakes.insert(0, crate::draft::Brake::Off);
        draft.times.stages.insert(0, Instant(1_795_600_200_000));
        let all = read(&trial::signed(&draft));
        let collection = &of(&all, "Specimen")[0]["collection"];
        assert_eq!(
            (&collection["collector"]["display"], &collection["bodySite"]["text"]),
            (&"JT".into(), &"left arm".into())
        );
        let performer = of(&all, "Procedure")[0]["performer"].as_array().unwrap().clone();
        let who = |p: &Value| (p["function"]["text"].clone(), p["actor"]["display"].clone());
        let told: Vec<_> = performer.iter().map(who).collect();
        assert_eq!(told[1..], [("Drawn by".into(), "JT".into()), ("By whom, stage 1".into(), "KL".into())]);
        let derived = of(&all, "BiologicallyDerivedProduct")[0];
        assert_eq!(derived["collection"]["collector"]["display"], "JT");
        assert_eq!(derived["storage"][0]["description"], "on the rocker");
        let step = derived["processing"][0]["description"].as_str().unwrap().replace('\u{a0}', " ");
        assert!(step.ends_with("; 20.5 °C; brake off; by KL"), "{step}");
        let given = |name: &str| {
            let all = of(&all, "Observation");
            let of_part = all.iter().filter(|o| o["code"]["coding"][0]["code"] == name);
            of_part.map(|o| o["effectiveDateTime"].as_str().unwrap().to_owned()).collect::<Vec<_>>()
        };
        // The second part: when all was handed over.
        let times = ["2026-11-25T11:50:00+01:00", "2026-11-25T11:35:00+01:00"];
        assert_eq!(
            (given("volume-given"), given("dose-of-part")),
            (times.map(str::to_owned).into(), times.map(str::to_owned).into())
        );
        let before = read(&trial::counted());
        assert_eq!(of(&before, "Procedure")[0]["performer"].as_array().unwrap().len(), 1);
        assert!(of(&before, "BiologicallyDerivedProduct")[0].get("storage").is_none());
    }

    #[test]
    fn a_scanned_product_number_is_told() {
        let all = read(&trial::signed(&trial::scanned()));
        let devices = of(&all, "Device");
        let code = devices.iter().find_map(|d| d["udiCarrier"].as_array()).unwrap();
        assert_eq!(code[0]["deviceIdentifier"], "06291041500213");
        let additive = of(&all, "Specimen")[0]["container"][0]["additiveCodeableConcept"]["text"].to_string();
        assert!(additive.contains("lot AC-2291, product number 04012345678901"), "{additive}");
        assert!(of(&read(&trial::counted()), "Device").iter().all(|d| d.get("udiCarrier").is_none()));
    }

    #[test]
    fn what_the_scale_read_is_told_with_its_spin() {
        let mut draft = trial::counted_draft();
        let begun = draft.times.needle_out.unwrap();
        draft.times.stages = [(0, begun), (2, begun)].into();
        draft.write(Field::FilledWeight(0), "31.2");
        draft.write(Field::Counterweight, "30");
        draft.write(Field::OwnCounterweight(0), "31");
        let all = read(&trial::signed(&draft));
        let said = |kind: &str, stage: usize| {
            let text = of(&all, kind)[usize::from(kind == "Specimen")]["processing"][stage]["description"]
                .to_string();
            text.contains("weighed: container 1 31.2\u{a0}g, counterweight 30\u{a0}g, counterweight of container 1 31\u{a0}g")
        };
        for kind in ["Specimen", "BiologicallyDerivedProduct"] {
            assert!(said(kind, 0) && !said(kind, 1), "{kind}");
        }
    }

    #[test]
    fn the_centrifuge_and_what_was_thrown_away_are_told() {
        use crate::draft::{Discard, DiscardKind};
        use crate::log::{Centrifuge, LastCheck};
        use crate::quantity::time::Date;
        let mut draft = trial::counted_draft();
        let on = Date::new(2026, 11, 2);
        draft.kit.centrifuge = Some(Centrifuge {
            id: "c".into(),
            name: "By the window".into(),
            serial: "0007".into(),
            speed: LastCheck { on, ..LastCheck::default() },
            ..Centrifuge::default()
        });
        let line = |kind, why: &str| Discard {
            kind,
            count: Some(1),
            volume: crate::quantity::Volume::new(1.0).ok(),
            what: "plasma".into(),
            lot: "K-0058".into(),
            why: why.into(),
            at: trial::SIGNED,
            by: "MO".into(),
            withdrawn: None,
        };
        draft.throw_away(line(DiscardKind::OpenedUnused, "cap cracked")).unwrap();
        draft.throw_away(line(DiscardKind::LeftOver, "clinical waste")).unwrap();
        draft.throw_away(line(DiscardKind::Container, "a slip")).unwrap();
        let back = crate::draft::Check { by: "MO".into(), at: trial::SIGNED, of: String::new() };
        draft.discards[2].withdrawn = Some(back);
        let all = read(&trial::signed(&draft));
        let devices = of(&all, "Device");
        assert!(devices.iter().any(|d| d["serialNumber"] == "0007" && d["type"]["text"] == "Centrifuge"));
        let told = devices.iter().filter_map(|d| d["note"][0]["text"].as_str());
        let told: Vec<String> = told.map(|t| t.replace('\u{a0}', " ")).collect();
        assert!(told.iter().any(|t| t.contains("2 Nov 2026") && t.contains("speed")), "{told:?}");
        assert!(
            !devices.iter().any(|d| d.to_string().contains("window")),
            "the clinic's own name stays here"
        );
        let out: Vec<&&Value> = devices.iter().filter(|d| d["status"] == "inactive").collect();
        assert_eq!((out.len(), &out[0]["lotNumber"]), (1, &"K-0058".into()));
        assert!(
            out[0]["note"][0]["text"]
                .as_str()
                .unwrap()
                .contains("Opened, not used: 1 container, lot K-0058, cap cracked, MO")
        );
        let procedure = of(&all, "Procedure")[0];
        assert!(procedure["note"].to_string().contains("Left over: plasma, 1"), "{procedure}");
        assert!(!procedure.to_string().contains("a slip"));
        let used = procedure["usedReference"].as_array().unwrap();
        assert_eq!(used.len(), devices.len() - 1, "what was not used is not among what was");
    }

    #[test]
    fn what_was_added_is_a_substance_with_its_lot_and_expiry() {
        let mut draft = trial::counted_draft();
        draft.rows.additions = 1;
        draft.choices.additions.insert(0, crate::draft::AdditionChoice::CalciumGluconate);
        for (field, text) in [
            (Field::AdditionStrength(0), "10"),
            (Field::AdditionVolume(0), "0.3"),
            (Field::AdditionLot(0), "AC-2291"),
            (Field::AdditionExpiry(0), "31 Mar 2028"),
        ] {
            draft.write(field, text);
        }
        let all = read(&trial::signed(&draft));
        let [added] = of(&all, "Substance")[..] else { panic!() };
        assert_eq!(added["instance"][0]["identifier"]["value"], "AC-2291");
        assert_eq!(added["instance"][0]["expiry"], "2028-03-31");
        let steps = of(&all, "BiologicallyDerivedProduct")[0]["processing"].to_string();
        assert!(steps.contains(added["id"].as_str().unwrap()) && steps.contains("0.3"), "{steps}");
        assert_eq!(of(&read(&trial::counted()), "Substance").len(), 0);
        // It is said to have been added only where the product was handed over.
        let told = |draft: &Draft| {
            let all = read(&trial::signed(draft));
            let steps = of(&all, "BiologicallyDerivedProduct")[0]["processing"].to_string();
            (steps, of(&all, "Substance").first().map(|s| s.to_string()))
        };
        let moment = draft.times.collected;
        draft.times.handed_over = None;
        let (before, _) = told(&draft);
        assert!(before.contains("To be added, as entered: Calcium gluconate"), "{before}");
        draft.times.handed_over = moment;
        let (after, _) = told(&draft);
        assert!(after.contains("Added to the product: Calcium gluconate"), "{after}");
        // Not whole, its box is told all the same; with neither lot nor expiry there is nothing to tell.
        draft.write(Field::AdditionVolume(0), "");
        let (steps, substance) = told(&draft);
        assert!(steps.contains("Calcium gluconate, amount not entered"), "{steps}");
        assert!(substance.unwrap().contains("AC-2291"));
        draft.clear_lot(crate::finding::LotOf::Addition(0));
        assert_eq!(told(&draft).1, None);
        // What comes from the patient's own blood has no box, whatever a text of before says.
        draft.write(Field::AdditionVolume(0), "0.3");
        draft.choices.additions.insert(0, AdditionChoice::AutologousThrombin);
        draft.write(Field::AdditionLot(0), "AC-2291");
        assert!(!told(&draft).1.unwrap().contains("AC-2291"));
    }

    #[test]
    fn what_an_amendment_changed_is_the_text_of_its_provenance() {
        let mut draft = trial::counted_draft();
        draft.kit.rotor.as_mut().unwrap().name = "By the window".into();
        let record = trial::signed(&draft);
        let mut later = draft.clone();
        later.write(Field::ProductActual, "3.8");
        later.write(Field::Notes, "a < b & \"c\"");
        later.write(Field::PatientReference, "HL-0471");
        later.kit.rotor.as_mut().unwrap().name = "At the door".into();
        let at = Instant(trial::SIGNED.0 + 60_000);
        let amended = trial::with(&later, Some(&record), |given| {
            crate::export::signed::amend(&record, given, "JT", at, "misread the syringe")
        });
        let all = read(&amended.unwrap());
        let [first, second] = of(&all, "Provenance")[..] else { panic!() };
        assert!(first.get("text").is_none());
        assert_eq!(second["text"]["status"], "generated");
        let div = second["text"]["div"].as_str().unwrap();
        assert!(
            div.starts_with("<div xmlns=\"http://www.w3.org/1999/xhtml\"><p>") && div.ends_with("</p></div>")
        );
        assert!(div.contains("<p>Product kept now “3.8”, “4” before</p>"), "{div}");
        assert!(div.contains("a &lt; b &amp; \"c\""), "{div}");
        assert!(div.contains("<p>Rotor changed</p>") && !div.contains("the door"), "{div}");
        assert!(!div.contains("HL-04"), "a demo names nobody: {div}");
    }

    #[test]
    fn every_reference_leads_to_an_entry_and_each_signature_is_told() {
        let record = trial::amended();
        let text = bundle(&record, Language::English);
        assert_eq!(text, bundle(&record, Language::English));
        let whole: Value = serde_json::from_str(&text).unwrap();
        let urls: Vec<&str> =
            whole["entry"].as_array().unwrap().iter().map(|e| e["fullUrl"].as_str().unwrap()).collect();
        let mut unlike = urls.clone();
        unlike.sort_unstable();
        unlike.dedup();
        assert_eq!(unlike.len(), urls.len());
        let mut seen = 0;
        for part in text.split("\"reference\":\"").skip(1) {
            assert!(urls.contains(&part.split('"').next().unwrap()));
            seen += 1;
        }
        assert!(seen > 20);
        let all = read(&record);
        let told = of(&all, "Provenance");
        assert_eq!((told.len(), &told[1]["reason"][0]["text"]), (2, &"misread the syringe".into()));
        assert_eq!(told[0]["recorded"], "2026-11-25T11:40:00+01:00");
        assert!(text.contains("Strawline"));
    }
}
