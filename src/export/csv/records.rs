//! The table of records: who, with what, when, what ran, what was counted and shown, what was found, decided and changed.
//! It is not all of a record: the patient's size, amounts ordered other than for a part, each container's mark, single
//! readings and times as they stood before one corrected ahead of the signature are in the record, or on its card, alone.

use super::FIGURES;
use super::cell::{Row, one_line};
use crate::case::{AdditionTyped, Weighed};
use crate::draft::field::{MAX_ADDITIONS, MAX_STAGES};
use crate::draft::{AdditionChoice, Decision, Draft, Field, Since};
use crate::export::facts::{Facts, number};
use crate::export::sampled::Sampled;
use crate::product::clock::SetBy;
use crate::quantity::time::Instant;
use crate::quantity::unit::NumberStyle;
use crate::quantity::{Grams, Quantity};
use crate::record::Record;
use crate::record::changes::{Change, Chosen};
use crate::record::shown::ShownStanding as S;
use crate::record::standing::RecordStanding;
use crate::spin::programme::{Speed, Stage};
use crate::stored::key;
use crate::words::Language;
use crate::words::card::CardLine;
use crate::words::chosen::ChosenName;

/// Texts as typed.
const TEXTS: [(&str, Field); 23] = [
    ("patient_reference", Field::PatientReference),
    ("second_identifier", Field::SecondIdentifier),
    ("site", Field::Site),
    ("prescriber", Field::Prescriber),
    ("technician", Field::Technician),
    ("handed_to", Field::HandedTo),
    ("container_lot", Field::ContainerLot),
    ("container_expiry_as_typed", Field::ContainerExpiry),
    ("anticoagulant_lot", Field::AnticoagulantLot),
    ("anticoagulant_expiry_as_typed", Field::AnticoagulantExpiry),
    ("order_note", Field::OrderNote),
    ("screening_note", Field::ScreeningNote),
    ("notes", Field::Notes),
    ("session", Field::Session),
    ("adverse_event", Field::AdverseEvent),
    ("blood_counted_by", Field::BloodCountMethod),
    ("no_product_because", Field::NoProduct),
    ("drawn_from", Field::DrawSite),
    ("kept_until_given", Field::KeptUntilGiven),
    ("made_ready_by", Field::WhoBefore),
    ("drawn_by", Field::WhoDraw),
    ("product_made_by", Field::WhoProduct),
    ("handed_over_by", Field::WhoHandOver),
];

/// Lots and expiries, by the name of what stood when the needle was in, where it was corrected since.
pub(super) const AT_NEEDLE: [(&str, Field); 4] = [
    ("container_lot_at_needle", Field::ContainerLot),
    ("container_expiry_at_needle_as_typed", Field::ContainerExpiry),
    ("anticoagulant_lot_at_needle", Field::AnticoagulantLot),
    ("anticoagulant_expiry_at_needle_as_typed", Field::AnticoagulantExpiry),
];

/// Every record, one a row, as it now holds. Names patients.
#[derive(Debug, Clone)]
pub struct RecordTable(String);

impl Default for RecordTable {
    fn default() -> Self {
        Self(record_row(None, None).head.join(",") + "\r\n")
    }
}

impl RecordTable {
    /// Adds a row, which says how the record stands to what was signed.
    pub fn add(&mut self, record: &Record, standing: RecordStanding) {
        self.0 += &record_row(Some(&Facts::of(record)), Some(standing)).end();
    }
    /// The whole text.
    pub fn text(self) -> String {
        self.0
    }
}

/// What the scale read, each with its container’s number, `counterweight`, or that and the number of the container it is
/// the own of, then grams.
fn scale(weighed: &Weighed) -> Vec<String> {
    let one = |(i, weight): (&u8, &Grams)| format!("{} {}", u32::from(*i) + 1, number(weight.get()));
    let against = weighed.counterweight.map(|w| format!("counterweight {}", number(w.get())));
    let own = weighed.own.iter().map(|weighed| format!("counterweight {}", one(weighed)));
    weighed.containers.iter().map(one).chain(against).chain(own).collect()
}

pub(super) fn record_row(f: Option<&Facts<'_>>, standing: Option<RecordStanding>) -> Row {
    let mut row = Row::default();
    let draft: Option<&Draft> = f.map(|f| &f.entry.draft);
    let record = f.map(|f| f.record);
    row.words("record", record.map(Record::id));
    row.words("check_sign", record.map(|r| r.check_sign().to_string()).as_deref());
    row.words("standing", standing.and_then(|s| key(&s)).as_deref());
    row.yes("demo", draft.map(|d| d.demo));
    for (name, field) in TEXTS {
        row.words(name, f.map(|f| f.typed(field)));
        if field == Field::SecondIdentifier {
            row.words("side", draft.and_then(|d| key(&d.choices.side?)).as_deref());
        }
    }
    let local = |at| f.and_then(|f| f.moment(at));
    row.words("ready_by", f.and_then(|f| f.case.order.ready_by.at()).and_then(local).as_deref());
    row.screening(draft);
    row.spins(f, local);
    row.stopped(draft, local);
    row.discards(draft, local);
    let centrifuge = f.and_then(|f| f.case.spin.centrifuge.as_ref());
    row.words("centrifuge", centrifuge.map(|c| c.name.as_str()));
    row.words("centrifuge_serial", centrifuge.map(|c| c.serial.as_str()));
    for (name, spin) in [("weighed_first_spin_g", 0), ("weighed_second_spin_g", 1)] {
        let read = f.and_then(|f| f.case.spin.weighed.get(spin)).map(scale);
        row.words(name, read.map(|read| read.join("\n")).as_deref());
    }
    for (name, field) in AT_NEEDLE {
        row.words(name, draft.and_then(|d| d.corrected_lots.get(&field)).map(String::as_str));
    }
    row.words("protocol", f.and_then(|f| Some(f.case.protocol.as_ref()?.name.as_str())));
    row.words("container", f.and_then(|f| Some(f.case.draw.container.as_ref()?.name.as_str())));
    row.words("anticoagulant", f.and_then(|f| key(&f.case.draw.agent?)).as_deref());
    for n in 0..MAX_ADDITIONS {
        let texts = [("lot", Field::AdditionLot(n)), ("expiry_as_typed", Field::AdditionExpiry(n))];
        let added = draft.filter(|d| n < d.rows.additions);
        let what =
            added.and_then(|d| match (d.choices.additions.get(&n), d.text(Field::AdditionName(n)).trim()) {
                (Some(AdditionChoice::Other), name) if !name.is_empty() => Some(name.to_owned()),
                (what, _) => key(what?),
            });
        row.words(&format!("addition_{}_what", n.saturating_add(1)), what.as_deref());
        let whole = f.and_then(|f| match f.case.additions.get(usize::from(n))? {
            AdditionTyped::Whole(addition) => Some(addition),
            AdditionTyped::Partial => None,
        });
        let strength = whole.and_then(|a| Some(a.agent.strength()?.into()));
        row.number(&format!("addition_{}_strength_g_per_dL", n.saturating_add(1)), strength);
        row.number(&format!("addition_{}_volume_mL", n.saturating_add(1)), whole.map(|a| a.volume.into()));
        for (name, field) in texts {
            row.words(
                &format!("addition_{}_{name}", n.saturating_add(1)),
                added.filter(|d| d.has_addition_lot(n)).map(|d| d.text(field).trim()),
            );
        }
    }
    let draw = f.map(|f| &f.case.draw);
    let numbers = [
        ("container_product_number", draw.and_then(|d| d.container_lot.product())),
        ("anticoagulant_product_number", draw.and_then(|d| d.anticoagulant_lot.product())),
    ];
    for (name, number) in numbers {
        row.words(name, number.map(|n| n.to_string()).as_deref());
    }
    let times = draft.map(|d| &d.times);
    let moments = [
        ("needle_in", times.and_then(|t| t.needle_in)),
        ("needle_out", times.and_then(|t| t.needle_out)),
        ("spin_end", times.and_then(|t| t.spin_end)),
        ("collected", times.and_then(|t| t.collected)),
        ("handed_over", times.and_then(|t| t.handed_over)),
        ("first_signed", record.map(|r| r.first_signed().at)),
        ("last_signed", f.map(|f| f.entry.at)),
    ];
    for (name, at) in moments {
        row.words(name, f.zip(at).and_then(|(f, at)| f.moment(at)).as_deref());
        if name == "collected" {
            row.use_by(f);
        }
    }
    let rebuilt = draft.and_then(|d| d.rebuilt.as_ref());
    row.words("rebuilt_from_code", rebuilt.map(|r| if r.whole { "whole" } else { "in_part" }));
    for (name, at) in [("rebuilt", rebuilt.map(|r| r.at)), ("code_printed", rebuilt.and_then(|r| r.printed))]
    {
        row.words(name, f.zip(at).and_then(|(f, at)| f.moment(at)).as_deref());
    }
    row.words("first_signed_by", record.map(|r| r.first_signed().by.as_str()));
    row.words("last_signed_by", f.map(|f| f.entry.by.as_str()));
    row.words("amended_times", record.map(|r| r.amendments().len().to_string()).as_deref());
    row.after_hand_over(record);
    row.amendments(record, local);
    row.blood(f);
    let typed = f.and_then(|f| match f.sampled()? {
        Sampled::At(typed) => Some(typed),
        Sampled::DaysOld(_) => None,
    });
    row.words("blood_sampled_as_typed", typed);
    row.counting(f);
    for (what, unit, standings) in FIGURES {
        row.figure(f, what, what, unit, standings);
    }
    row.number("poor_plasma_mL", f.and_then(|f| Some(f.case.collect.poor_plasma?.into())));
    let passage = f.map(|f| f.case.passage);
    row.number("transfers", passage.and_then(|p| p.transfers).map(f64::from));
    row.number("needle_changes", passage.and_then(|p| p.needle_changes).map(f64::from));
    for n in 1..=crate::draft::field::MAX_SITES {
        row.words(&format!("part_{n}_name"), f.map(|f| f.typed(Field::PartName(n.saturating_sub(1)))));
        let volume = format!("part_{n}_volume");
        // As shown; beside a volume given, which took its place there, as typed.
        let shown = f.and_then(|f| f.figure(&volume, S::Ordered)).map(|f| f.value);
        let part = f.and_then(|f| f.case.order.parts.get(usize::from(n.saturating_sub(1))));
        row.number(&format!("{volume}_ordered_mL"), shown.or(part.and_then(|p| Some(p.planned?.into()))));
        row.figure(f, &volume, &format!("{volume}_given"), "mL", &[S::Measured]);
        let at = part.and_then(|p| p.told).and_then(|at| f?.moment(at));
        row.words(&format!("part_{n}_given_at"), at.as_deref());
        let typed = f.map(|f| f.typed(Field::PartGivenAt(n.saturating_sub(1))));
        row.words(&format!("part_{n}_given_at_as_typed"), typed);
        let dose = format!("part_{n}_dose_predicted");
        row.figure(f, &dose, &dose, "1e9", &[S::Predicted]);
        let dose = format!("part_{n}_dose_counted");
        row.figure(f, &dose, &dose, "1e9", &[S::Counted]);
    }
    for (name, open) in [("findings_open", true), ("findings_decided", false)] {
        let kept = f.and_then(|f| f.entry.findings.as_ref());
        let keys = kept.map(|all| {
            let which = all.iter().filter(|f| if open { f.open } else { f.decision.is_some() });
            which.map(|f| f.key.as_str()).collect::<Vec<_>>().join(" ")
        });
        row.words(name, keys.as_deref());
    }
    // In the order of their keys.
    let decided = f.and_then(|f| f.entry.findings.as_ref());
    let decided: Vec<_> = decided.into_iter().flatten().filter_map(|f| f.decision.as_ref()).collect();
    let lines =
        |of: fn(&Decision) -> &str| decided.iter().map(|d| one_line(of(d))).collect::<Vec<_>>().join("\n");
    row.words("findings_decided_by", Some(&lines(|d| &d.by)));
    row.words("findings_decided_why", Some(&lines(|d| &d.reason)));
    row.troubles(draft, local);
    row.checks(draft, local);
    row.words("program", f.map(|f| f.entry.app.as_str()));
    row.words("model", f.map(|f| f.entry.model.to_string()).as_deref());
    row
}

impl Row {
    /// The use-by and what set it; one that the end of the spin may still bring forward stands in a column of its own.
    fn use_by(&mut self, f: Option<&Facts<'_>>) {
        let by = f.and_then(Facts::use_by);
        for (name, settled) in [("use_by", true), ("use_by_at_the_latest", false)] {
            let at = by.filter(|by| by.settled() == settled).and_then(|by| f?.moment(by.at));
            self.words(name, at.as_deref());
        }
        let set_by = by.map(|by| match by.set_by {
            SetBy::Collection | SetBy::CollectionAtLatest => "needle_in",
            SetBy::SpinEnd => "spin_end",
            SetBy::TakenAtLatest => "collected",
        });
        self.words("use_by_set_by", set_by);
    }

    /// What was changed between hand-over and first signature, field by field, a line each; what an amendment changed
    /// is its own.
    fn after_hand_over(&mut self, record: Option<&Record>) {
        let draft = record.map(|record| &record.first_signed().draft);
        let line = one_line;
        let one = |(draft, (since, why)): (&Draft, (Since, Option<&str>))| {
            let what = since.key();
            let [before, now] = match since {
                Since::Text(field, before) => [line(&before), line(draft.text(field))],
                Since::Side(before) => {
                    [Some(before), draft.choices.side].map(|s| s.and_then(|s| key(&s)).unwrap_or_default())
                }
                Since::Kit(part, before) => {
                    [before.as_deref(), part.name(&draft.kit)].map(|name| line(name.unwrap_or_default()))
                }
                Since::Choices => Default::default(),
            };
            [what, before, now, line(why.unwrap_or_default())]
        };
        let changed =
            draft.iter().flat_map(|d| d.changed_since_hand_over().into_iter().map(|told| (*d, told)));
        let mut columns: [Vec<String>; 4] = Default::default();
        for told in changed.map(one) {
            columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
        }
        let names = ["", "_before", "_now", "_why"];
        for (name, cells) in names.into_iter().zip(&columns) {
            self.words(&format!("changed_after_hand_over{name}"), Some(&cells.join("\n")));
        }
    }

    /// What amendments changed, a line for each change, in the words of the card, times as in other columns; of what is
    /// not told in words the key alone.
    fn amendments(&mut self, record: Option<&Record>, moment: impl Fn(Instant) -> Option<String>) {
        let line = one_line;
        let chosen = |c: &Chosen| Language::English.say(ChosenName(c, NumberStyle::Point)).into_owned();
        let mut columns: [Vec<String>; 6] = Default::default();
        for (amendment, changed) in record.into_iter().flat_map(Record::changes) {
            for change in changed {
                let [before, now] = match &change {
                    Change::Typed { before, after, .. } => [line(before), line(after)],
                    Change::Chosen { before, after } => [before, after].map(|c| line(&chosen(c))),
                    Change::Entry { name, .. } => [(); 2].map(|()| line(name.as_deref().unwrap_or_default())),
                    Change::Time { before, after, .. } => {
                        [*before, *after].map(|at| at.and_then(&moment).unwrap_or_default())
                    }
                    Change::Check { before, after, .. } => [before, after].map(|check| {
                        let made = check.as_ref().map(|c| CardLine::Confirmed {
                            by: c.by.clone(),
                            at: moment(c.at).unwrap_or_default(),
                        });
                        made.map(|made| line(&Language::English.say(made))).unwrap_or_default()
                    }),
                    Change::Part(_) => Default::default(),
                };
                let entry = &amendment.entry;
                let at = moment(entry.at).unwrap_or_default();
                let told = [change.key(), before, now, line(&amendment.reason), line(&entry.by), at];
                columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
            }
        }
        let names = ["", "_before", "_now", "_why", "_by", "_at"];
        for (name, cells) in names.into_iter().zip(&columns) {
            self.words(&format!("amended{name}"), Some(&cells.join("\n")));
        }
    }

    /// What was thrown away, a line each; what was taken back is left out.
    fn discards(&mut self, draft: Option<&Draft>, moment: impl Fn(Instant) -> Option<String>) {
        let line = one_line;
        let mut columns: [Vec<String>; 8] = Default::default();
        for d in draft.iter().flat_map(|d| &d.discards).filter(|d| d.stands()) {
            let told = [
                key(&d.kind).unwrap_or_default(),
                d.count.map(|n| n.to_string()).unwrap_or_default(),
                d.volume.map(|v| number(v.get()).to_string()).unwrap_or_default(),
                line(&d.what),
                line(&d.lot),
                line(&d.why),
                line(&d.by),
                moment(d.at).unwrap_or_default(),
            ];
            columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
        }
        let names = ["", "_containers", "_mL", "_what", "_lot", "_why", "_by", "_at"];
        for (name, cells) in names.into_iter().zip(&columns) {
            self.words(&format!("discarded{name}"), Some(&cells.join("\n")));
        }
    }

    /// What went wrong, a line each, also what was taken back as a mistake.
    fn troubles(&mut self, draft: Option<&Draft>, moment: impl Fn(Instant) -> Option<String>) {
        let mut columns: [Vec<String>; 8] = Default::default();
        for (d, t) in draft.iter().flat_map(|d| d.troubles.iter().map(move |t| (d, t))) {
            let aside = match (t.set_aside, t.set_aside_late(&d.times)) {
                (false, _) => "no",
                (true, false) => "yes",
                (true, true) => "after_collection",
            };
            let told = [
                key(&t.kind).unwrap_or_default(),
                t.container.map(|i| (u16::from(i) + 1).to_string()).unwrap_or_default(),
                aside.to_owned(),
                t.aside.as_ref().map(|a| one_line(&a.by)).unwrap_or_default(),
                t.aside.as_ref().and_then(|a| moment(a.at)).unwrap_or_default(),
                one_line(&t.by),
                moment(t.at).unwrap_or_default(),
                t.withdrawn.as_ref().map(|back| one_line(&back.by)).unwrap_or_default(),
            ];
            columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
        }
        let names = [
            "",
            "_container",
            "_set_aside",
            "_set_aside_by",
            "_set_aside_at",
            "_by",
            "_at",
            "_taken_back_by",
        ];
        for (name, cells) in names.into_iter().zip(&columns) {
            self.words(&format!("went_wrong{name}"), Some(&cells.join("\n")));
        }
    }

    /// What was confirmed and stands, a line each: identifiers, lots, balance, read-back.
    fn checks(&mut self, draft: Option<&Draft>, moment: impl Fn(Instant) -> Option<String>) {
        let mut columns: [Vec<String>; 3] = Default::default();
        for (kind, check) in draft.iter().flat_map(|d| &d.checks) {
            let told =
                [key(kind).unwrap_or_default(), one_line(&check.by), moment(check.at).unwrap_or_default()];
            columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
        }
        for (name, cells) in ["", "_by", "_at"].into_iter().zip(&columns) {
            self.words(&format!("confirmed{name}"), Some(&cells.join("\n")));
        }
    }

    /// What the patient was asked before the draw, a line each.
    fn screening(&mut self, draft: Option<&Draft>) {
        let mut columns: [Vec<String>; 2] = Default::default();
        for (what, yes) in draft.iter().flat_map(|d| &d.choices.screening) {
            let answer = if *yes { "yes" } else { "no" };
            let told = [key(what).unwrap_or_default(), answer.to_owned()];
            columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
        }
        for (name, cells) in ["", "_answer"].into_iter().zip(&columns) {
            self.words(&format!("screening{name}"), Some(&cells.join("\n")));
        }
    }

    /// What was noted of the stages of the programme, a line each, beside what was planned: the speed as it was shown
    /// on the rotor, else as the programme names it.
    fn spins(&mut self, f: Option<&Facts<'_>>, moment: impl Fn(Instant) -> Option<String>) {
        let mut columns: [Vec<String>; 9] = Default::default();
        for (f, stage) in f.into_iter().flat_map(|f| (0..MAX_STAGES).map(move |stage| (f, stage))) {
            // What was typed of a stage that the programme no longer has is out of use.
            let stages = f.case.protocol.as_ref().map(|p| p.programme.0.as_slice()).unwrap_or_default();
            let run = f.case.spin.actual.iter().take(stages.len()).nth(usize::from(stage));
            let run = run.copied().unwrap_or_default();
            let planned = stages.get(usize::from(stage));
            let named = planned.and_then(|s| match s.speed()? {
                Speed::Rpm(rpm) => Some(rpm.get()),
                Speed::Rcf { .. } => None,
            });
            let shown = f.figure(&format!("stage_{}_speed", u32::from(stage) + 1), S::Planned);
            let planned_rpm = shown.map(|f| f.value).or(named).map(|v| number(v).to_string());
            let planned_time = planned.and_then(Stage::time).map(|t| number(t.get() / 60.0).to_string());
            let rpm = run.speed.map(|s| number(s.get()).to_string()).unwrap_or_default();
            let minutes = run.time.map(|t| number(t.get() / 60.0).to_string()).unwrap_or_default();
            let began = f.entry.draft.times.stages.get(&stage).and_then(|at| moment(*at)).unwrap_or_default();
            let who = one_line(f.typed(Field::WhoSpin(stage)));
            let temperature = run.temperature.map(|t| number(t.get()).to_string()).unwrap_or_default();
            let brake = run.brake.and_then(|b| key(&b)).unwrap_or_default();
            if [&began, &who, &rpm, &minutes, &temperature, &brake].iter().any(|cell| !cell.is_empty()) {
                let stage = stage.saturating_add(1).to_string();
                let [planned_rpm, planned_time] = [planned_rpm, planned_time].map(Option::unwrap_or_default);
                let told = [stage, began, who, planned_rpm, planned_time, rpm, minutes, temperature, brake];
                columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
            }
        }
        let names =
            ["stage", "began", "by", "planned_rpm", "planned_min", "rpm", "min", "temperature_C", "brake"];
        for (name, cells) in names.into_iter().zip(&columns) {
            self.words(&format!("spin_{name}"), Some(&cells.join("\n")));
        }
    }

    /// Runs of a stage that stopped and was run again, a line each; weights where it was weighed otherwise since.
    fn stopped(&mut self, draft: Option<&Draft>, moment: impl Fn(Instant) -> Option<String>) {
        let mut columns: [Vec<String>; 5] = Default::default();
        for (d, stage) in draft.into_iter().flat_map(|d| (0..MAX_STAGES).map(move |stage| (d, stage))) {
            for (run, (began, at, again)) in d.times.runs_before(stage).into_iter().enumerate() {
                let weighed = d.weighed_before(stage, run);
                let weighed = weighed.map(|(spin, texts)| Weighed::of(texts, spin, &d.conventions));
                let [began, at, again] = [began, at, again].map(|at| moment(at).unwrap_or_default());
                let read = weighed.as_ref().map(scale).unwrap_or_default().join(", ");
                let told = [stage.saturating_add(1).to_string(), began, at, again, read];
                columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
            }
        }
        for (name, cells) in ["stage", "began", "at", "run_again", "weighed_g"].into_iter().zip(&columns) {
            self.words(&format!("spin_stopped_{name}"), Some(&cells.join("\n")));
        }
    }
}
