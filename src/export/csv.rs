//! Tables as CSV (RFC 4180): comma, CRLF, quotation marks doubled; UTF-8 without a mark in front, decimal point
//! always. A text that a spreadsheet would take for a formula gets an apostrophe in front.

use super::facts::{Facts, iso, number};
use crate::case::Weighed;
use crate::draft::field::{MAX_ADDITIONS, MAX_STAGES};
use crate::draft::{AdditionChoice, Decision, Draft, Field, Since};
use crate::product::kind::ProductKind;
use crate::quantity::time::Instant;
use crate::quantity::unit::NumberStyle;
use crate::quantity::{Grams, Quantity};
use crate::record::Record;
use crate::record::changes::{Change, Chosen};
use crate::record::shown::ShownStanding as S;
use crate::stored::key;
use crate::words::Language;
use crate::words::chosen::ChosenName;

/// Figures of a record: name, unit as in the header, how they may stand. One that stands otherwise leaves its cell
/// empty.
const FIGURES: [(&str, &str, &[S]); 26] = [
    ("anticoagulant_each", "mL", &[S::Planned]),
    ("fill_mark", "mL", &[S::Planned]),
    ("blood_in_all", "mL", &[S::Planned, S::Measured]),
    ("anticoagulant_in_all", "mL", &[S::Planned, S::Measured]),
    ("drawn_today", "mL", &[S::Planned, S::Measured]),
    ("blood_count", "1e9_per_L", &[S::Counted]),
    ("platelets_drawn", "1e9", &[S::Planned, S::Counted]),
    ("product_volume", "mL", &[S::Planned, S::Measured]),
    ("fold_predicted", "ratio", &[S::Predicted]),
    ("recovery_predicted", "ratio", &[S::Predicted]),
    ("concentration_predicted", "1e9_per_L", &[S::Predicted]),
    ("platelets_in_product_predicted", "1e9", &[S::Predicted]),
    ("dose_predicted", "1e9", &[S::Predicted]),
    ("concentration_counted", "1e9_per_L", &[S::Counted]),
    ("concentration_not_confirmed", "1e9_per_L", &[S::Counted]),
    ("replicate_cv", "ratio", &[S::Counted]),
    ("platelets_in_product_counted", "1e9", &[S::Counted]),
    ("fold_counted", "ratio", &[S::Counted]),
    ("recovery_counted", "ratio", &[S::Counted]),
    ("white_cells_counted", "1e9_per_L", &[S::Counted]),
    ("red_cells_counted", "1e12_per_L", &[S::Counted]),
    ("product_haematocrit_counted", "ratio", &[S::Counted]),
    ("neutrophils_counted", "1e9_per_L", &[S::Counted]),
    ("volume_after_additions", "mL", &[S::Planned, S::Measured]),
    ("dose_counted", "1e9", &[S::Counted]),
    ("left_over", "mL", &[S::Planned, S::Assumed, S::Measured]),
];

/// Those of them that say how a count came out, for quality data.
const OF_QUALITY: [&str; 14] = [
    "blood_in_all",
    "blood_count",
    "platelets_drawn",
    "product_volume",
    "fold_predicted",
    "recovery_predicted",
    "concentration_predicted",
    "concentration_counted",
    "replicate_cv",
    "platelets_in_product_counted",
    "fold_counted",
    "recovery_counted",
    "white_cells_counted",
    "product_haematocrit_counted",
];

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
const AT_NEEDLE: [(&str, Field); 4] = [
    ("container_lot_at_needle", Field::ContainerLot),
    ("container_expiry_at_needle_as_typed", Field::ContainerExpiry),
    ("anticoagulant_lot_at_needle", Field::AnticoagulantLot),
    ("anticoagulant_expiry_at_needle_as_typed", Field::AnticoagulantExpiry),
];

/// A text that a spreadsheet takes for more than a text begins with one of these.
const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// One cell of words.
fn cell(text: &str) -> String {
    let text: String = text.chars().filter(|c| !c.is_control() || matches!(c, '\t' | '\r' | '\n')).collect();
    let guard = if text.starts_with(FORMULA) { "'" } else { "" };
    if text.contains([',', '"', '\r', '\n']) {
        format!("\"{guard}{}\"", text.replace('"', "\"\""))
    } else {
        format!("{guard}{text}")
    }
}

/// A text as one line of several in a cell.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// One row with its header, column by column.
#[derive(Default)]
struct Row {
    head: Vec<String>,
    cells: Vec<String>,
}

impl Row {
    fn words(&mut self, name: &str, text: Option<&str>) {
        self.head.push(name.to_owned());
        self.cells.push(text.map(cell).unwrap_or_default());
    }

    fn number(&mut self, name: &str, value: Option<f64>) {
        self.head.push(name.to_owned());
        self.cells.push(value.map(|v| number(v).to_string()).unwrap_or_default());
    }

    fn yes(&mut self, name: &str, is: Option<bool>) {
        self.words(name, is.map(|is| if is { "yes" } else { "no" }));
    }

    /// A figure under its name, standing and unit; a prediction with both ends of its range.
    fn figure(&mut self, f: Option<&Facts<'_>>, what: &str, name: &str, unit: &str, standings: &[S]) {
        for &standing in standings {
            let found = f.and_then(|f| f.figure(what, standing));
            let mut named = name.to_owned();
            let said = key(&standing).filter(|said| !name.ends_with(said.as_str()) && standings.len() > 1);
            if let Some(said) = said {
                named = format!("{named}_{said}");
            }
            self.number(&format!("{named}_{unit}"), found.map(|f| f.value));
            if standing == S::Predicted {
                self.number(&format!("{named}_low_{unit}"), found.and_then(|f| f.low));
                self.number(&format!("{named}_high_{unit}"), found.and_then(|f| f.high));
            }
        }
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

    /// What amendments changed, a line for each change, in the words of the card; of what is not told in words the key
    /// alone.
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
        let mut columns: [Vec<String>; 6] = Default::default();
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
                one_line(&t.by),
                moment(t.at).unwrap_or_default(),
                t.withdrawn.as_ref().map(|back| one_line(&back.by)).unwrap_or_default(),
            ];
            columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
        }
        let names = ["", "_container", "_set_aside", "_by", "_at", "_taken_back_by"];
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

    /// What was noted of the stages of the programme, a line each.
    fn spins(&mut self, f: Option<&Facts<'_>>) {
        let mut columns: [Vec<String>; 4] = Default::default();
        for (f, stage) in f.into_iter().flat_map(|f| (0..MAX_STAGES).map(move |stage| (f, stage))) {
            let run = f.case.spin.actual.get(usize::from(stage)).copied().unwrap_or_default();
            let who = one_line(f.typed(Field::WhoSpin(stage)));
            let temperature = run.temperature.map(|t| number(t.get()).to_string()).unwrap_or_default();
            let brake = run.brake.and_then(|b| key(&b)).unwrap_or_default();
            if [&who, &temperature, &brake].iter().any(|cell| !cell.is_empty()) {
                let told = [stage.saturating_add(1).to_string(), who, temperature, brake];
                columns.iter_mut().zip(told).for_each(|(column, cell)| column.push(cell));
            }
        }
        for (name, cells) in ["stage", "by", "temperature_C", "brake"].into_iter().zip(&columns) {
            self.words(&format!("spin_{name}"), Some(&cells.join("\n")));
        }
    }

    fn blood(&mut self, f: Option<&Facts<'_>>) {
        let baseline = f.map(|f| &f.case.baseline);
        let sample = baseline.and_then(|b| key(&b.sample?));
        self.words("blood_sample", sample.as_deref());
        self.number("blood_haematocrit_ratio", baseline.and_then(|b| Some(b.haematocrit?.into())));
        self.number("blood_haemoglobin_g_per_dL", baseline.and_then(|b| Some(b.haemoglobin?.into())));
        self.number("blood_white_cells_1e9_per_L", baseline.and_then(|b| Some(b.white?.into())));
    }

    fn counting(&mut self, f: Option<&Facts<'_>>) {
        let count = f.map(|f| &f.case.count);
        let standing = f.and_then(|f| key(&crate::record::Counts::of(&f.entry.draft)));
        self.words("count", standing.as_deref());
        self.number("dilution_ratio", count.and_then(|c| Some(c.dilution?.into())));
        self.yes("sample_mixed_no_clumps", count.and_then(|c| c.mixed));
    }

    fn end(&self) -> String {
        self.cells.join(",") + "\r\n"
    }
}

/// Every record, one a row, as it now holds. Names patients.
#[derive(Debug, Clone)]
pub struct RecordTable(String);

impl Default for RecordTable {
    fn default() -> Self {
        Self(record_row(None).head.join(",") + "\r\n")
    }
}

impl RecordTable {
    /// Adds a row.
    pub fn add(&mut self, record: &Record) {
        self.0 += &record_row(Some(&Facts::of(record))).end();
    }
    /// The whole text.
    pub fn text(self) -> String {
        self.0
    }
}

/// What the scale read, a line for each: the container’s number, `counterweight`, or that and the number of the container
/// it is the own of, then grams.
fn scale(weighed: &Weighed) -> String {
    let one = |(i, weight): (&u8, &Grams)| format!("{} {}", u32::from(*i) + 1, number(weight.get()));
    let against = weighed.counterweight.map(|w| format!("counterweight {}", number(w.get())));
    let own = weighed.own.iter().map(|weighed| format!("counterweight {}", one(weighed)));
    let all: Vec<String> = weighed.containers.iter().map(one).chain(against).chain(own).collect();
    all.join("\n")
}

fn record_row(f: Option<&Facts<'_>>) -> Row {
    let mut row = Row::default();
    let draft: Option<&Draft> = f.map(|f| &f.entry.draft);
    let record = f.map(|f| f.record);
    row.words("record", record.map(Record::id));
    row.words("check_sign", record.map(|r| r.check_sign().to_string()).as_deref());
    row.yes("demo", draft.map(|d| d.demo));
    for (name, field) in TEXTS {
        row.words(name, f.map(|f| f.typed(field)));
        if field == Field::SecondIdentifier {
            row.words("side", draft.and_then(|d| key(&d.choices.side?)).as_deref());
        }
    }
    let local = |at| f.and_then(|f| f.moment(at));
    row.words("ready_by", f.and_then(|f| f.case.order.ready_by.at()).and_then(local).as_deref());
    row.spins(f);
    row.discards(draft, local);
    let centrifuge = f.and_then(|f| f.case.spin.centrifuge.as_ref());
    row.words("centrifuge", centrifuge.map(|c| c.name.as_str()));
    row.words("centrifuge_serial", centrifuge.map(|c| c.serial.as_str()));
    for (name, spin) in [("weighed_first_spin_g", 0), ("weighed_second_spin_g", 1)] {
        row.words(name, f.and_then(|f| f.case.spin.weighed.get(spin)).map(scale).as_deref());
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
    row.counting(f);
    for (what, unit, standings) in FIGURES {
        row.figure(f, what, what, unit, standings);
    }
    for n in 1..=crate::draft::field::MAX_SITES {
        row.words(&format!("part_{n}_name"), f.map(|f| f.typed(Field::PartName(n.saturating_sub(1)))));
        let volume = format!("part_{n}_volume");
        // As shown; beside a volume given, which took its place there, as typed.
        let shown = f.and_then(|f| f.figure(&volume, S::Ordered)).map(|f| f.value);
        let part = f.and_then(|f| f.case.order.parts.get(usize::from(n.saturating_sub(1))));
        row.number(&format!("{volume}_ordered_mL"), shown.or(part.and_then(|p| Some(p.planned?.into()))));
        row.figure(f, &volume, &format!("{volume}_given"), "mL", &[S::Measured]);
        let at = part.and_then(|p| p.given_at.at()).and_then(|at| f?.moment(at));
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

/// How exactly quality data say when.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Dates {
    /// The day.
    #[default]
    Day,
    /// The month.
    Month,
    /// Not at all.
    None,
}

impl Dates {
    /// In the order offered.
    pub const ALL: [Dates; 3] = [Dates::Day, Dates::Month, Dates::None];
}

/// What counts say of the process, one preparation a row: no identifier, no name, nothing typed in words. Lots are
/// numbered in the order they are met. Demo cases are left out.
#[derive(Debug, Clone)]
pub struct QualityTable {
    text: String,
    dates: Dates,
    lots: [Vec<String>; 2],
    rows: u32,
}

impl QualityTable {
    /// Its header.
    pub fn new(dates: Dates) -> Self {
        let mut table = Self { text: String::new(), dates, lots: Default::default(), rows: 0 };
        table.text = table.row(None).head.join(",") + "\r\n";
        table
    }

    /// Adds a row, unless it is a demo.
    pub fn add(&mut self, record: &Record) {
        if !record.latest().demo {
            self.rows = self.rows.saturating_add(1);
            let row = self.row(Some(&Facts::of(record))).end();
            self.text += &row;
        }
    }

    /// The whole text.
    pub fn text(self) -> String {
        self.text
    }

    fn row(&mut self, f: Option<&Facts<'_>>) -> Row {
        let mut row = Row::default();
        row.words("row", f.map(|_| self.rows.to_string()).as_deref());
        let day = f.and_then(Facts::day).and_then(|day| match self.dates {
            Dates::Day => Some(iso(day)),
            Dates::Month => Some(format!("{:04}-{:02}", day.year(), day.month())),
            Dates::None => None,
        });
        row.words("prepared", day.as_deref());
        row.yes("rebuilt_from_code", f.map(|f| f.entry.draft.rebuilt.is_some()));
        let kind: Option<ProductKind> = f.and_then(|f| Some(f.case.protocol.as_ref()?.kind));
        row.words("product", kind.and_then(|k| key(&k)).as_deref());
        row.words("anticoagulant", f.and_then(|f| key(&f.case.draw.agent?)).as_deref());
        let lots = [("container_lot", Field::ContainerLot), ("anticoagulant_lot", Field::AnticoagulantLot)];
        for ((name, field), met) in lots.into_iter().zip(&mut self.lots) {
            let lot = f.map(|f| f.typed(field).to_lowercase()).filter(|lot| !lot.is_empty());
            row.words(name, lot.map(|lot| numbered(met, lot)).as_deref());
        }
        row.blood(f);
        row.counting(f);
        for (what, unit, standings) in FIGURES.into_iter().filter(|(what, ..)| OF_QUALITY.contains(what)) {
            row.figure(f, what, what, unit, standings);
        }
        let times = f.map(|f| &f.entry.draft.times);
        let since = |to: Option<crate::quantity::time::Instant>| {
            let passed = to?.since(times?.needle_in?)?.seconds().ok()?;
            Some(f64::from(passed) / 60.0)
        };
        row.number("needle_in_to_spin_end_min", since(times.and_then(|t| t.spin_end)));
        row.number("needle_in_to_collected_min", since(times.and_then(|t| t.collected)));
        row.words("amended_times", f.map(|f| f.record.amendments().len().to_string()).as_deref());
        row.words("program", f.map(|f| f.entry.app.as_str()));
        row.words("model", f.map(|f| f.entry.model.to_string()).as_deref());
        row
    }
}

/// Number of a lot among those met.
fn numbered(met: &mut Vec<String>, lot: String) -> String {
    let at = met.iter().position(|known| *known == lot).unwrap_or_else(|| {
        met.push(lot);
        met.len().saturating_sub(1)
    });
    at.saturating_add(1).to_string()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::{Check, CheckKind, Rebuilt, Trouble, TroubleKind};
    use crate::export::trial;
    use crate::quantity::time::Instant;

    fn table(record: &Record) -> String {
        let mut table = RecordTable::default();
        table.add(record);
        table.text()
    }

    fn quality(record: &Record, dates: Dates) -> String {
        let mut table = QualityTable::new(dates);
        table.add(record);
        table.text()
    }

    /// Cells of a line; a quotation mark opens or closes what commas do not part.
    fn cells(line: &str) -> Vec<String> {
        let (mut all, mut quoted) = (vec![String::new()], false);
        for c in line.chars() {
            match c {
                '"' => quoted = !quoted,
                ',' if !quoted => all.push(String::new()),
                c => all.last_mut().unwrap().push(c),
            }
        }
        all
    }

    /// Cell by column, of a table of one row.
    fn at(table: &str, name: &str) -> String {
        let mut lines = table.split("\r\n");
        let (head, row) = (cells(lines.next().unwrap()), cells(lines.next().unwrap()));
        let n = head.iter().position(|h| h == name).unwrap_or_else(|| panic!("no {name} in {head:?}"));
        row[n].clone()
    }

    #[test]
    fn cells_as_rfc_4180_writes_them_and_no_formula() {
        assert_eq!(cell("K-0058"), "K-0058");
        assert_eq!(cell("a,b"), "\"a,b\"");
        assert_eq!(cell("say \"b\""), "\"say \"\"b\"\"\"");
        assert_eq!(cell("one\ntwo"), "\"one\ntwo\"");
        assert_eq!(cell("a\u{0}b"), "ab");
        for begins in FORMULA {
            let guarded = cell(&format!("{begins}1"));
            assert!(guarded.trim_start_matches('"').starts_with('\''), "{guarded:?}");
        }
        assert_eq!(cell("=1,2"), "\"'=1,2\"");
        assert_eq!(cell("5-3"), "5-3");
    }

    #[test]
    fn each_figure_stands_under_its_standing_alone() {
        let planned = table(&trial::planned());
        assert_eq!(at(&planned, "product_volume_planned_mL"), "4");
        assert_eq!(at(&planned, "product_volume_measured_mL"), "");
        assert_eq!(at(&planned, "platelets_in_product_counted_1e9"), "");
        let predicted: f64 = at(&planned, "platelets_in_product_predicted_1e9").parse().unwrap();
        let low: f64 = at(&planned, "platelets_in_product_predicted_low_1e9").parse().unwrap();
        assert!(low < predicted);
        let counted = table(&trial::counted());
        // 210·26/1000 = 5.46; 47·20 = 940; 940·4/1000 = 3.76
        for (name, is) in [
            ("product_volume_planned_mL", ""),
            ("product_volume_measured_mL", "4"),
            ("blood_in_all_measured_mL", "26"),
            ("platelets_drawn_counted_1e9", "5.46"),
            ("concentration_counted_1e9_per_L", "940"),
            ("platelets_in_product_counted_1e9", "3.76"),
            ("part_1_volume_given_mL", "2"),
            ("part_1_volume_ordered_mL", "2"),
            ("needle_in", "2026-11-25T10:40:00+01:00"),
            ("patient_reference", "HL-0417"),
            ("demo", "yes"),
        ] {
            assert_eq!(at(&counted, name), is, "{name}");
        }
    }

    #[test]
    fn what_was_ordered_stays_beside_what_was_given() {
        let mut draft = trial::counted_draft();
        draft.write(Field::PartGiven(0), "2.5");
        let text = table(&trial::signed(&draft));
        assert_eq!(at(&text, "part_1_volume_ordered_mL"), "2");
        assert_eq!(at(&text, "part_1_volume_given_mL"), "2.5");
        let planned = table(&trial::planned());
        assert_eq!(at(&planned, "part_1_volume_ordered_mL"), "2");
        assert_eq!(at(&planned, "part_1_volume_given_mL"), "");
    }

    #[test]
    fn what_was_changed_after_the_hand_over_keeps_what_stood_there_and_why() {
        let mut draft = trial::counted_draft();
        draft.hand_over(trial::SIGNED);
        let type_in = |draft: &mut Draft, field, text: &str| {
            draft.edit(None, |d| d.type_in(field, text, trial::SIGNED, None));
        };
        type_in(&mut draft, Field::ProductActual, "3.6");
        type_in(&mut draft, Field::WhyChanged, "misread, twice");
        type_in(&mut draft, Field::PartGiven(1), "0.8");
        draft.edit(None, |d| d.kit.rotor.as_mut().unwrap().name = "Rotor B".into());
        type_in(&mut draft, Field::WhyChanged, "not all given");
        let record = trial::signed(&draft);
        // What an amendment changes is its own to say.
        draft.write(Field::HandedTo, "somebody else");
        let later = trial::SIGNED;
        let record = trial::with(&draft, Some(&record), |given| {
            crate::export::signed::amend(&record, given, "JT", later, "wrong name")
        });
        let text = table(&record.unwrap());
        let listed = |name: &str| {
            let cell = at(&text, &format!("changed_after_hand_over{name}"));
            cell.split('\n').map(str::to_owned).collect::<Vec<_>>()
        };
        assert_eq!(listed(""), ["product_actual", "part_given_2", "rotor"]);
        let rotor = trial::counted_draft().kit.rotor.unwrap().name;
        assert_eq!(listed("_before"), ["4", "1", rotor.as_str()]);
        assert_eq!(listed("_now"), ["3.6", "0.8", "Rotor B"]);
        assert_eq!(listed("_why"), ["misread, twice", "not all given", "not all given"]);
        assert_eq!(at(&table(&trial::counted()), "changed_after_hand_over_why"), "");
    }

    #[test]
    fn what_an_amendment_changed_is_told_line_by_line_with_who_and_why() {
        let record = trial::counted();
        let mut draft = record.latest().clone();
        let amend = |record: &Record, draft: &Draft, later: i64, why: &str| {
            let at = Instant(trial::SIGNED.0 + later);
            let amended = trial::with(draft, Some(record), |given| {
                crate::export::signed::amend(record, given, "JT", at, why)
            });
            amended.unwrap()
        };
        draft.write(Field::ProductActual, "3.8");
        draft.choices.side = Some(crate::draft::Side::Left);
        draft.times.collected = draft.times.spin_end;
        let record = amend(&record, &draft, 60_000, "misread, twice");
        draft.write(Field::WhoDraw, "=KL");
        let record = amend(&record, &draft, 120_000, "nobody was named");
        let text = table(&record);
        let listed = |name: &str| {
            at(&text, &format!("amended{name}")).split('\n').map(str::to_owned).collect::<Vec<_>>()
        };
        assert_eq!(listed(""), ["product_actual", "side", "times", "who_draw"]);
        assert_eq!(listed("_before"), ["4", "RIGHT", "", ""]);
        assert_eq!(listed("_now"), ["3.8", "LEFT", "", "=KL"]);
        let twice = "misread, twice";
        assert_eq!(listed("_why"), [twice, twice, twice, "nobody was named"]);
        assert_eq!(listed("_by"), ["JT"; 4]);
        let [first, second] = ["2026-11-25T11:41:00+01:00", "2026-11-25T11:42:00+01:00"];
        assert_eq!(listed("_at"), [first, first, first, second]);
        assert_eq!(at(&table(&trial::counted()), "amended"), "");
    }

    #[test]
    fn who_did_each_stage_and_what_was_set_are_told_line_by_line() {
        let mut draft = trial::counted_draft();
        let typed = [
            (Field::WhoBefore, "MO"),
            (Field::WhoDraw, "JT"),
            (Field::WhoSpin(0), "MO"),
            (Field::TemperatureSet(0), "20.5"),
            (Field::WhoSpin(1), "JT"),
            (Field::WhoHandOver, "JT"),
            (Field::DrawSite, "left arm"),
            (Field::KeptUntilGiven, "on the rocker"),
            (Field::PartGivenAt(0), "11:50"),
            (Field::PartGivenAt(1), "at once"),
        ];
        typed.into_iter().for_each(|(field, text)| draft.write(field, text));
        draft.choices.brakes.insert(2, crate::draft::Brake::On);
        let text = table(&trial::signed(&draft));
        for (name, is) in [
            ("made_ready_by", "MO"),
            ("drawn_by", "JT"),
            ("product_made_by", ""),
            ("handed_over_by", "JT"),
            ("drawn_from", "left arm"),
            ("kept_until_given", "on the rocker"),
            ("spin_stage", "1\n2\n3"),
            ("spin_by", "MO\nJT\n"),
            ("spin_temperature_C", "20.5\n\n"),
            ("spin_brake", "\n\non"),
            ("part_1_given_at", "2026-11-25T11:50:00+01:00"),
            ("part_1_given_at_as_typed", "11:50"),
            ("part_2_given_at", ""),
            ("part_2_given_at_as_typed", "at once"),
        ] {
            assert_eq!(at(&text, name), is, "{name}");
        }
        assert_eq!(at(&table(&trial::counted()), "spin_stage"), "");
    }

    #[test]
    fn a_scanned_product_number_names_container_and_anticoagulant() {
        let text = table(&trial::signed(&trial::scanned()));
        assert_eq!(at(&text, "container_product_number"), "06291041500213");
        assert_eq!(at(&text, "anticoagulant_product_number"), "04012345678901");
        assert_eq!(at(&text, "container_lot"), "K-0058");
        assert_eq!(at(&table(&trial::counted()), "container_product_number"), "");
    }

    #[test]
    fn what_the_scale_read_stands_with_its_spin() {
        let mut draft = trial::counted_draft();
        draft.write(Field::FilledWeight(1), "31.9");
        draft.write(Field::FilledWeightSecond(0), "22.5");
        draft.write(Field::OwnCounterweightSecond(0), "22.4");
        let text = table(&trial::signed(&draft));
        assert_eq!(at(&text, "weighed_first_spin_g"), "2 31.9");
        assert_eq!(at(&text, "weighed_second_spin_g"), "1 22.5\ncounterweight 1 22.4");
        assert_eq!(at(&table(&trial::counted()), "weighed_first_spin_g"), "");
    }

    #[test]
    fn a_lot_corrected_after_the_needle_stands_beside_the_one_before() {
        let mut draft = trial::counted_draft();
        draft.write(Field::AnticoagulantExpiry, "2027-04");
        draft.change(|d| d.write(Field::ContainerLot, "K-0099"));
        draft.change(|d| d.write(Field::AnticoagulantExpiry, "2027-05"));
        let text = table(&trial::signed(&draft));
        assert_eq!(at(&text, "container_lot"), "K-0099");
        assert_eq!(at(&text, "container_lot_at_needle"), "K-0058");
        assert_eq!(at(&text, "anticoagulant_expiry_at_needle_as_typed"), "2027-04");
        for (name, _) in AT_NEEDLE {
            assert_eq!(at(&table(&trial::counted()), name), "", "nothing was corrected");
        }
    }

    #[test]
    fn what_went_wrong_and_what_was_confirmed_are_told_with_who_and_when() {
        let mut draft = trial::counted_draft();
        let clot = Trouble {
            kind: TroubleKind::Clot,
            container: Some(1),
            at: draft.times.needle_in.unwrap(),
            by: "MO".into(),
            set_aside: true,
            collected: false,
            withdrawn: None,
        };
        let mistaken = Check { by: "JT".into(), at: clot.at, of: String::new() };
        draft.checks.insert(CheckKind::Identity, mistaken.clone());
        draft.troubles.push(Trouble { withdrawn: Some(mistaken), set_aside: false, ..clot.clone() });
        draft.troubles.push(clot);
        let text = table(&trial::signed(&draft));
        let listed = |name: &str| {
            let cell = at(&text, name);
            cell.trim_matches('"').split('\n').map(str::to_owned).collect::<Vec<_>>()
        };
        assert_eq!(listed("went_wrong"), ["clot", "clot"]);
        assert_eq!(listed("went_wrong_container"), ["2", "2"]);
        assert_eq!(listed("went_wrong_set_aside"), ["no", "yes"]);
        assert_eq!(listed("went_wrong_taken_back_by"), ["JT", ""]);
        let confirmed: Vec<_> = draft.checks.keys().map(|kind| key(kind).unwrap()).collect();
        assert!(confirmed.contains(&"identity".to_owned()), "{confirmed:?}");
        assert_eq!(listed("confirmed"), confirmed);
        assert_eq!(listed("confirmed_by").len(), confirmed.len());
        assert!(listed("confirmed_by").contains(&"JT".to_owned()));
        assert_eq!(at(&table(&trial::counted()), "went_wrong"), "");
    }

    #[test]
    fn a_rebuilt_record_says_so() {
        for (whole, is) in [(true, "whole"), (false, "in_part")] {
            let mut draft = trial::counted_draft();
            draft.demo = false;
            let (at_read, printed) = (Instant(1_795_602_960_000), Some(Instant(1_795_602_930_000)));
            draft.rebuilt = Some(Rebuilt { at: at_read, whole, signed: None, check: None, printed });
            let record = trial::signed(&draft);
            let text = table(&record);
            assert_eq!(at(&text, "rebuilt_from_code"), is);
            assert_eq!(at(&text, "rebuilt"), "2026-11-25T11:36:00+01:00");
            assert_eq!(at(&text, "code_printed"), "2026-11-25T11:35:30+01:00");
            assert_eq!(at(&quality(&record, Dates::Day), "rebuilt_from_code"), "yes");
        }
        assert_eq!(at(&table(&trial::counted()), "rebuilt_from_code"), "");
        assert_eq!(at(&table(&trial::counted()), "rebuilt"), "");
    }

    #[test]
    fn every_column_of_the_guide_is_there_and_no_other() {
        let guide = include_str!("../../DEVELOPERS.md");
        let both = [record_row(None).head, QualityTable::new(Dates::Day).row(None).head];
        for name in both.iter().flatten() {
            let digits = |c: char| c.is_ascii_digit();
            let counted = name.starts_with("part_") || name.starts_with("addition_");
            let stem = if counted { name.replacen(digits, "N", 1) } else { name.clone() };
            let stem = stem.replace("_low_", "_").replace("_high_", "_");
            assert!(guide.contains(&format!("`{stem}`")), "{stem} is not in the guide");
        }
    }

    #[test]
    fn quality_data_name_nobody() {
        let mut draft = trial::counted_draft();
        draft.demo = false;
        draft.id = "key-of-the-case".into();
        for field in Field::all().into_iter().filter(|f| f.kind().is_none()) {
            draft.write(field, format!("told {field}"));
        }
        let record = trial::signed(&draft);
        for dates in Dates::ALL {
            let text = quality(&record, dates);
            assert!(!text.contains("told") && !text.contains(record.id()), "{text}");
            let day = at(&text, "prepared");
            assert_eq!(
                day,
                ["2026-11-25", "2026-11", ""][Dates::ALL.iter().position(|d| *d == dates).unwrap()]
            );
            assert!(!text.contains(":40"), "{text}");
            assert_eq!(at(&text, "container_lot"), "1");
            assert_eq!(at(&text, "recovery_counted_ratio"), "0.6886446886");
        }
        assert_eq!(quality(&trial::counted(), Dates::Day).lines().count(), 1, "a demo is left out");
    }
}
