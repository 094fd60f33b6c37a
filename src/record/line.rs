//! A small line for each record: all that lists, search, lot recall and quality charts need, so that ten thousand
//! records are listed without reading one.
//!
//! It is written in one change with its record, never decides anything, and is made anew from the record when it is
//! missing, older than the record, or of another version.

use super::chain::{Chain, Seal};
use super::earlier::drawn_today;
use super::shown::ShownStanding;
use super::{Counts, Reason, Record};
use crate::arrange::sort_by_key;
use crate::assess::MODEL;
use crate::assess::draw::DrawnToday;
use crate::assess::spin::watches;
use crate::case;
use crate::draft::{CheckSign, Draft, Field, Side};
use crate::product::clock;
use crate::quality::facts::{Counted, facts_of_record};
use crate::quality::group::{Lot, LotField, NamedIn};
use crate::quantity::read::{self, Kind};
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::Conventions;
use crate::quantity::{CellCount, Quantity, Recovery, Volume};
use crate::stored;
use crate::words::Language;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Version of the stored layout; a line of any other is made anew.
const SCHEMA: u32 = 10;

/// What a record says, in short.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Line {
    schema: u32,
    /// Number of the model that reckoned the facts.
    model: u32,
    /// The record's stored text that it was made from, as a hash.
    of: Seal,
    /// Seal of the record's latest entry.
    seal: Option<Seal>,
    /// Key of the case on this device.
    pub id: String,
    /// Its check sign.
    pub sign: CheckSign,
    /// When it was first signed.
    pub signed: Instant,
    /// How often it was amended since.
    pub amended: usize,
    /// When that was done last; lines were once made without it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    amended_at: Option<Instant>,
    /// When the needle went in, else when the case was begun.
    pub begun: Instant,
    /// Local time where it was prepared, as its card tells it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset: Option<Offset>,
    /// Invented.
    pub demo: bool,
    /// Patient reference, trimmed.
    pub patient: String,
    /// Second identifier, plain as two are compared; empty where none was typed, and in lines of older layouts.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub second: String,
    /// Side of the body.
    pub side: Option<Side>,
    /// Site as typed.
    pub site: String,
    /// Who made it.
    pub technician: String,
    /// Lot of the containers as typed.
    pub container_lot: String,
    /// Lot of the anticoagulant as typed.
    pub anticoagulant_lot: String,
    /// Lots of what was added to the product, as typed.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    addition_lots: Vec<String>,
    /// Lots that an earlier entry names and the latest does not.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    earlier_lots: Vec<(LotField, String)>,
    /// Lots of containers that were thrown away, each once.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    discarded_lots: Vec<String>,
    /// Lots that were in hand at the needle or at a hand-over and were corrected since.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    corrected_lots: Vec<(LotField, String)>,
    /// Units and number style of the case.
    pub conventions: Conventions,
    /// Product kept [mL].
    pub kept: Option<Volume>,
    /// Drawn from the patient on its day, discards included, measured or else planned, as shown at the last signature
    /// [mL]; none before the needle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drawn: Option<Volume>,
    /// A container without a mark counts as planned in it.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    drawn_planned: bool,
    /// Count of the product as it was shown at the last signature.
    pub count: Option<CellCount>,
    /// Use-by, where the last entry leaves it to be watched: nobody says that the product was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub use_by: Option<Instant>,
    /// Which session of a course, as typed.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub session: String,
    /// Recovery by the counts of blood and product, as it was shown at the last signature.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub recovery: Option<Recovery>,
    /// How it stands with its count.
    pub counts: Counts,
    /// What its count says of the process, as [`Line::counted`] gives it on; none without a reading.
    pub facts: Option<Counted>,
    /// Rebuilt from the code on a card.
    #[serde(default)]
    pub rebuilt: bool,
    /// It was found changed outside Strawline.
    pub outside: bool,
    /// Its newest state could not be read: it is the state before that one.
    pub damaged: bool,
    /// The record itself was taken away outside, and this is all that is left.
    #[serde(skip)]
    pub lost: bool,
    /// What a search looks in.
    #[serde(skip)]
    looked_in: String,
}

impl Line {
    /// The line of a record whose stored text this is. What an `earlier` line knew and the record can no longer
    /// tell stays said: that it was changed outside, or that an entry is missing that was there.
    pub fn of(record: &Record, text: &str, earlier: Option<&Line>) -> Line {
        let entry = record.latest_entry();
        let draft = &entry.draft;
        let typed = |field| draft.text(field).trim().to_owned();
        let entries = record.amendments().len();
        let outside = matches!(record.verify(), Chain::Broken { .. })
            || earlier.is_some_and(|line| line.finds_changed(record));
        let kind = Kind::Volume { min: 0.0, max: 200.0 };
        let kept = read::read(draft.text(Field::ProductActual), kind, &draft.conventions).value();
        let figure = |what: &str| {
            let counted = entry.shown.iter().filter(|f| f.standing == ShownStanding::Counted);
            counted.into_iter().find(|f| f.what == what)
        };
        let counted = figure("concentration_counted");
        // A recovery follows from a confirmed count alone; a text made elsewhere may hold one all the same.
        let recovery = figure("recovery_counted").filter(|_| counted.is_some());
        let recovery = recovery.filter(|_| draft.without_product().is_none());
        // Not as shown: that is left out where an amount drawn before cannot be read, or nothing came.
        let drawn = drawn_today(draft, entry.at).filter(|_| draft.times.needle_in.is_some());
        let line = Line {
            schema: SCHEMA,
            model: MODEL,
            of: Seal::over(&Seal::default(), text),
            seal: record.latest_seal().cloned(),
            id: record.id().to_owned(),
            sign: record.check_sign(),
            signed: record.first_signed().at,
            amended: entries,
            amended_at: (entries > 0).then_some(entry.at),
            begun: begun(draft),
            offset: draft.offset,
            demo: draft.demo,
            patient: typed(Field::PatientReference),
            second: draft.second_told(),
            side: draft.choices.side,
            site: draft.text(Field::Site).to_owned(),
            technician: typed(Field::Technician),
            container_lot: typed(Field::ContainerLot),
            anticoagulant_lot: typed(Field::AnticoagulantLot),
            addition_lots: {
                let typed = LotField::Additions.texts(draft).into_iter().map(str::trim);
                typed.filter(|lot| !lot.is_empty()).map(str::to_owned).collect()
            },
            earlier_lots: earlier_lots(record),
            discarded_lots: discarded_lots(draft),
            corrected_lots: corrected_lots(draft),
            conventions: draft.conventions,
            kept: kept.and_then(|v| Volume::new(v).ok()),
            drawn: drawn.map(|d| d.volume),
            drawn_planned: drawn.is_some_and(|d| d.planned),
            count: counted.and_then(|f| CellCount::new(f.value).ok()),
            use_by: watched(draft, entry.at),
            session: typed(Field::Session),
            recovery: recovery.and_then(|f| Recovery::new(f.value).ok()),
            counts: Counts::of(draft),
            facts: facts_of_record(record),
            rebuilt: draft.rebuilt.is_some(),
            outside,
            damaged: false,
            lost: false,
            looked_in: String::new(),
        };
        line.ready()
    }

    /// The line of the state before one that cannot be read. For no other reason the seal of the newest is not there: it
    /// stays known, so that the record is as it was signed once it is whole again.
    pub fn of_state_before(record: &Record, text: &str, earlier: Option<&Line>) -> Line {
        let mut line = Line { damaged: true, ..Line::of(record, text, None) };
        if let Some(earlier) = earlier {
            line.outside |= earlier.outside;
            line.seal = earlier.seal.clone().or(line.seal);
        }
        line
    }

    /// Whether this line, made of a record earlier, tells that it was changed outside since or before: the seal of what
    /// was the newest entry is gone.
    pub fn finds_changed(&self, record: &Record) -> bool {
        let gone = || (0..=record.amendments().len()).all(|n| record.seal(n) != self.seal.as_ref());
        self.outside || (self.seal.is_some() && gone())
    }

    /// What was drawn, where that is known.
    pub fn drawn_today(&self) -> Option<DrawnToday> {
        self.drawn.map(|volume| DrawnToday { volume, planned: self.drawn_planned })
    }

    /// Whether it was made by this version from a record whose stored text is this one.
    pub fn is_of(&self, text: &str) -> bool {
        let as_today =
            self.schema == SCHEMA && self.model == MODEL && (self.amended > 0) == self.amended_at.is_some();
        as_today && !self.damaged && !self.lost && self.of == Seal::over(&Seal::default(), text)
    }

    /// When it was signed or amended last.
    pub fn last_signed(&self) -> Instant {
        self.amended_at.unwrap_or(self.signed)
    }

    /// Reads a stored line. Errors: of another version, or broken; then it is made anew.
    pub fn from_json(text: &str) -> Result<Line, Reason> {
        // Those of the layouts before are good until they are made anew; of a record taken away they are all there is.
        Ok(stored::read::<Line>(text, SCHEMA)?.ready())
    }

    /// Writes it as stored; empty if it cannot be written, which the next reading makes anew.
    pub fn to_json(&self) -> String {
        stored::write(self).unwrap_or_default()
    }

    /// Whether each word stands somewhere in it; `words` are in small letters. Sign, patient, site, technician and
    /// lots are looked in.
    pub fn has(&self, words: &[String]) -> bool {
        words.iter().all(|word| self.looked_in.contains(word.as_str()))
    }

    /// Where it names a lot, once for each field: for sure first, else where it was met first, the newest entry first.
    pub fn names(&self, lot: &Lot) -> Vec<(LotField, NamedIn, &str, bool)> {
        let of = |field: LotField| {
            let earlier = self.earlier_lots.iter().rev().filter(move |(f, _)| *f == field);
            let now = self.lots(field).into_iter().map(|typed| (NamedIn::Record, typed));
            let thrown = self.discarded_lots.iter().filter(move |_| field == LotField::Containers);
            let corrected = self.corrected_lots.iter().filter(move |(f, _)| *f == field);
            let before = thrown.chain(corrected.map(|(_, typed)| typed));
            let all = now.chain(before.map(|typed| (NamedIn::Record, typed.as_str())));
            let all = all.chain(earlier.map(|(_, typed)| (NamedIn::EarlierEntry, typed.as_str())));
            let mut found = None;
            for (named_in, typed) in all {
                match (lot.is_in(typed), found) {
                    (Some(true), _) => return Some((field, named_in, typed, true)),
                    (Some(false), None) => found = Some((field, named_in, typed, false)),
                    _ => {}
                }
            }
            found
        };
        LotField::ALL.into_iter().filter_map(of).collect()
    }

    /// What its count says of the process, marked where the record is not what was signed.
    pub fn counted(&self) -> Option<Counted> {
        let outside = self.outside || self.damaged || self.lost;
        self.facts.clone().map(|facts| Counted { outside, rebuilt: self.rebuilt, ..facts })
    }

    /// Whether it is no older than what is known of the same record. One that lost an entry outside is shorter and
    /// yet newer, as is the state before one that can no longer be read.
    fn replaces(&self, known: &Line) -> bool {
        self.amended >= known.amended || (self.outside && !known.outside) || (self.damaged && !known.damaged)
    }

    fn lots(&self, field: LotField) -> Vec<&str> {
        match field {
            LotField::Containers => vec![&self.container_lot],
            LotField::Anticoagulant => vec![&self.anticoagulant_lot],
            LotField::Additions => self.addition_lots.iter().map(String::as_str).collect(),
        }
    }

    fn ready(mut self) -> Line {
        let mut all = vec![
            self.sign.to_string(),
            self.patient.clone(),
            self.site.clone(),
            self.technician.clone(),
            self.container_lot.clone(),
            self.anticoagulant_lot.clone(),
        ];
        let corrected = self.corrected_lots.iter().map(|(_, typed)| typed);
        all.extend(self.discarded_lots.iter().chain(&self.addition_lots).chain(corrected).cloned());
        self.looked_in = all.join("\n").to_lowercase();
        self
    }
}

/// Takes up lines in place of older ones of the same records, in the order of the first signatures.
pub fn take_up(all: &mut Vec<Arc<Line>>, new: Vec<Line>) {
    // Mostly one comes to very many.
    let mut newest: BTreeMap<String, Line> = BTreeMap::new();
    for line in new {
        if newest.get(&line.id).is_none_or(|known| line.replaces(known)) {
            newest.insert(line.id.clone(), line);
        }
    }
    for known in all.iter_mut() {
        if let Some(line) = newest.remove(&known.id).filter(|line| line.replaces(known)) {
            *known = Arc::new(line);
        }
    }
    all.extend(newest.into_values().map(Arc::new));
    sort_by_key(all, |line| line.signed);
}

/// The use-by of a product that nobody says was given.
fn watched(draft: &Draft, at: Instant) -> Option<Instant> {
    let (case, _) = case::read(draft, Language::English);
    let by = clock::use_by(case.times.needle_in?, case.times.spin_end, case.clock).value.at;
    (!case.ended && watches(&case, by, at)).then_some(by)
}

/// What earlier entries say of lots, the oldest first, where the latest says otherwise.
fn earlier_lots(record: &Record) -> Vec<(LotField, String)> {
    let mut found: Vec<(LotField, String)> = Vec::new();
    for entry in record.entries() {
        for field in LotField::ALL {
            let named = |draft| field.texts(draft).into_iter().chain(field.corrected(draft)).map(str::trim);
            let now: Vec<&str> = named(record.latest()).collect();
            for typed in named(&entry.draft) {
                let then = (field, typed.to_owned());
                if !typed.is_empty() && !now.contains(&typed) && !found.contains(&then) {
                    found.push(then);
                }
            }
        }
    }
    found
}

fn corrected_lots(draft: &Draft) -> Vec<(LotField, String)> {
    let of = |field: LotField| field.corrected(draft).into_iter().map(move |lot| (field, lot.to_owned()));
    LotField::ALL.into_iter().flat_map(of).collect()
}

fn discarded_lots(draft: &Draft) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for lot in draft.discarded_lots() {
        if !all.iter().any(|known| known == lot) {
            all.push(lot.to_owned());
        }
    }
    all
}

/// The words of a search, in small letters.
pub fn words(typed: &str) -> Vec<String> {
    typed.split_whitespace().map(str::to_lowercase).collect()
}

/// When the needle went in, else when the case was begun.
pub fn begun(draft: &Draft) -> Instant {
    draft.times.needle_in.unwrap_or(draft.begun)
}
