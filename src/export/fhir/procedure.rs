//! The preparation, and the product with how it was processed and kept.

use super::element::{coding, concept, display, list, note, object, reference, some, string};
use super::{LOCAL, Writer};
use crate::assess::balance::spin_at;
use crate::case::{StageRun, Weighed};
use crate::draft::{Field, TroubleKind};
use crate::export::card::{changed_and_why, corrected_lots, plain, rebuilt_line, trouble_line};
use crate::export::facts::number;
use crate::export::signed;
use crate::finding::Level;
use crate::quantity::time::Offset;
use crate::record::shown::{ShownFigure, ShownFinding, ShownStanding as S};
use crate::spin::programme::{Speed, Stage};
use crate::words::card::{CardLine, CardWord, UseByLine};
use crate::words::choice::{BrakeName, RadiusShort, SiteLine, SpinStageName, TroubleName};
use crate::words::field::Label;
use crate::words::out::{FhirWord, OutWord};
use crate::words::rotor::WeighedSaid;
use crate::words::unit;
use serde_json::Value;

impl Writer<'_> {
    /// Stages that ran, each as planned and as run; of one without a start of its own it is not known when.
    fn stages(&self) -> Vec<(String, Value)> {
        let (f, c) = (&self.facts, self.facts.entry.draft.conventions);
        let (Some(protocol), times) = (&f.case.protocol, &f.entry.draft.times) else { return Vec::new() };
        let stages = protocol.programme.0.iter().zip(0u8..).flat_map(|(stage, n)| {
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
            let run = f.case.spin.actual.get(usize::from(n)).filter(|run| **run != StageRun::default());
            if !f.entry.draft.ran(n) && run.is_none() {
                return Vec::new();
            }
            let ran = run.and_then(|r| r.speed).map(|s| unit::rpm(s, &c).to_string());
            let ran: Vec<String> = ran
                .into_iter()
                .chain(run.and_then(|r| r.time).map(|t| unit::minutes(t, &c).to_string()))
                .collect();
            let mut said = format!("{}: {}", self.say(SpinStageName(stage)), self.say(CardWord::Planned));
            said = format!("{said} {}", planned.join(", "));
            let mut all = self.stopped(n, &said);
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
            let began = times.stages.get(&n).copied();
            all.push((said, began.map_or(Value::Null, |began| self.period(Some(began), ended))));
            all
        });
        stages.collect()
    }

    /// Runs of a stage that stopped, with what the scale had read where it was weighed otherwise since.
    fn stopped(&self, stage: u8, planned: &str) -> Vec<(String, Value)> {
        let draft = &self.facts.entry.draft;
        let one = |(run, (began, stopped, _))| {
            let mut said = format!("{planned}; {}", self.say(TroubleName(TroubleKind::SpinStopped)));
            if let Some((spin, texts)) = draft.weighed_before(stage, run) {
                let weighed = Weighed::of(texts, spin, &draft.conventions);
                said = format!("{said}; {}", self.say(WeighedSaid(&weighed, &draft.conventions)));
            }
            (said, self.period(Some(began), Some(stopped)))
        };
        draft.times.runs_before(stage).into_iter().enumerate().map(one).collect()
    }

    /// The same as elements.
    pub(super) fn processing(&self) -> Vec<Value> {
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

    /// That what stands here is not what was signed, or that nothing tells whether it is; nothing of a sound record.
    fn not_sound(&self) -> Option<String> {
        let offset = self.facts.entry.draft.offset.unwrap_or(Offset::UTC);
        signed::stands(self.facts.record, self.standing, self.language, offset).map(|(_, said)| said)
    }

    /// How it stands, unless sound; that the case was rebuilt; predictions as they were shown, in words that say so; the
    /// use-by; a count that is not confirmed; findings; what went wrong; lots corrected after the needle; what was changed after
    /// the hand-over; notes.
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
        let use_by = self.facts.use_by().map(|by| {
            let at = self.facts.moment(by.at).unwrap_or_default();
            let (policy, conventions) = (self.facts.case.clock, &entry.draft.conventions);
            self.say(UseByLine { set_by: by.set_by, at, policy, conventions })
        });
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
        let all = self
            .not_sound()
            .into_iter()
            .chain(rebuilt)
            .chain(predicted)
            .chain(use_by)
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

    pub(super) fn procedure(&mut self, patient: &str, devices: Vec<String>) {
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

    pub(super) fn derived(&mut self, patient: &str, added: Vec<Value>) {
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
}
