//! What was typed, chosen, ticked and timed in one preparation. Nothing here is reckoned; [`crate::case`]
//! reads it. This is also the stored form of a case, so that nothing typed is ever lost.

mod additions;
mod again;
mod centrifuge;
mod checks;
mod choices;
mod convert;
mod demo;
mod discards;
pub mod field;
mod ground;
mod handed;
mod placed;
mod planned;
mod readings;
mod rebuilt;
mod scans;
mod sign;
#[cfg(test)]
mod tests;
mod times;
mod trouble;
mod who;

use crate::bench::{Container, ContainerFault, Protocol};
use crate::blood::anticoagulant::{Agent, Split};
use crate::blood::patient::Limits;
use crate::finding::LotOf;
use crate::log::{Centrifuge, Centrifuges};
use crate::product::clock::ClockPolicy;
use crate::product::recipe::Analyser;
use crate::quantity::read::spell;
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::Conventions;
use crate::quantity::{Quantity, Volume};
use crate::spin::rotor::Rotor;
use crate::stored::{self, Refused};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

pub use additions::AdditionTaken;
pub use centrifuge::{NotOffered, ShelfOffer};
pub use checks::{Changed, Check, CheckKind, Lapsed};
pub use choices::{
    AdditionChoice, Brake, Choices, CountStanding, ProductTube, SampleDilution, Screening, Side,
    WhiteCellOrder,
};
pub use demo::CLINIC as DEMO_CLINIC;
pub use discards::{Discard, DiscardKind, DiscardRefused};
pub use field::Field;
pub use ground::AmountSeen;
pub use handed::{HandOver, KitPart, Reason, Since};
pub use placed::Placed;
pub use planned::Replaced;
pub use readings::ReadingsTaken;
pub use rebuilt::Rebuilt;
pub use scans::Scan;
pub use sign::CheckSign;
pub use times::{Correction, Interrupted, StopOf, TimeOf, TimeRefused, Times};
pub use trouble::{Trouble, TroubleKind};

/// Version of the stored layout.
pub const SCHEMA: u32 = 6;

/// Readings typed within this time of the first are of one count, or mend a slip; in ms. Our own judgement.
const ONE_COUNT_MS: i64 = 15 * 60_000;

/// One preparation as typed.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Draft {
    /// Version of this layout.
    #[serde(deserialize_with = "stored::newest::<SCHEMA, _>")]
    pub schema: u32,
    /// Key of the case on this device.
    pub id: String,
    /// Two characters that tell this case from the others open.
    pub sign: CheckSign,
    /// Invented data, marked wherever it shows.
    #[serde(default)]
    pub demo: bool,
    /// When the case was begun.
    pub begun: Instant,
    /// Read from the code on a card, and not made on this device.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub rebuilt: Option<Rebuilt>,
    /// Its order was taken over from another case.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken_over: Option<TakenOver>,
    /// Local time against UTC where and when it was begun: its times are written in that, also years later. Absent
    /// in what was stored before this was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub offset: Option<Offset>,
    /// Units and number style its texts are typed in.
    #[serde(default)]
    pub conventions: Conventions,
    /// The stage in hand.
    #[serde(default)]
    pub stage: Stage,
    /// Bench entries as they stood when chosen.
    #[serde(default)]
    pub kit: Kit,
    /// Everything typed.
    #[serde(default)]
    pub texts: BTreeMap<Field, String>,
    /// Everything chosen.
    #[serde(default)]
    pub choices: Choices,
    /// What stood as a lot or an expiry when the needle was in and is corrected since; empty where nothing is.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub corrected_lots: BTreeMap<Field, String>,
    /// Side and site as they stood when the needle went in; `None` until then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub placed: Option<Placed>,
    /// Reference and second identifier, as both are compared, as they stood when the needle went in; `None` until then.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub identified: Option<[String; 2]>,
    /// Lots that were scanned, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub scans: Vec<Scan>,
    /// How many rows of each list are open.
    #[serde(default)]
    pub rows: Rows,
    /// When things happened.
    #[serde(default)]
    pub times: Times,
    /// Times that were corrected, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub corrections: Vec<Correction>,
    /// What was confirmed, by whom, when.
    #[serde(default)]
    pub checks: BTreeMap<CheckKind, Check>,
    /// What was confirmed and holds no longer, because what it spoke of has changed since.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub lapsed: Vec<Lapsed>,
    /// Hand-overs, oldest first, those taken back among them.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub hand_overs: Vec<HandOver>,
    /// What went wrong.
    #[serde(default)]
    pub troubles: Vec<Trouble>,
    /// What was thrown away, oldest first, what was taken back among it.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub discards: Vec<Discard>,
    /// When it was signed without a product.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub ended_without: Option<Instant>,
    /// Times of giving that lay ahead of the device's clock when they were typed, as typed: that they have come by now
    /// tells nobody that it was given.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub given_ahead: BTreeMap<Field, String>,
    /// What this device told of blood drawn in the eight weeks before its needle.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blood_told: Option<BloodTold>,
    /// What this device told before its needle of others under its reference who have another second identifier.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub namesake: Option<Namesake>,
    /// The plan that blood was drawn to, as it stood then; `None` until blood was drawn.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub drawn_to: Option<DrawnTo>,
    /// What was seen or decided about findings, by finding key.
    #[serde(default)]
    pub decisions: BTreeMap<String, Decision>,
}

/// The case that an order was taken over from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakenOver {
    /// Its check sign.
    pub sign: CheckSign,
    /// When its needle went in, else when it was begun.
    pub at: Instant,
}

/// The stages of the job; they are the navigation of the worksheet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// What is ordered, for whom, with what.
    #[default]
    Order,
    /// Identity, anticoagulant, fill mark.
    BeforeNeedle,
    /// Blood is being drawn.
    NeedleIn,
    /// Between draw and collection.
    Spinning,
    /// Collect, count, share, card.
    Product,
    /// Late counts and the amended card.
    Later,
}

impl Stage {
    /// In the order of the job.
    pub const ALL: [Stage; 6] =
        [Stage::Order, Stage::BeforeNeedle, Stage::NeedleIn, Stage::Spinning, Stage::Product, Stage::Later];
}

/// Bench entries a case was begun with; a later change of Bench does not reach into it.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Kit {
    /// Container.
    #[serde(default)]
    pub container: Option<Container>,
    /// Protocol.
    #[serde(default)]
    pub protocol: Option<Protocol>,
    /// Rotor.
    #[serde(default)]
    pub rotor: Option<Rotor>,
    /// The centrifuge it turns in, as it stood by the clinic's log until the spin began.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub centrifuge: Option<Centrifuge>,
    /// All that turn the rotor, as they stood then.
    #[serde(default, skip_serializing_if = "Centrifuges::is_unset")]
    pub centrifuges: Centrifuges,
    /// Blood-draw limits.
    #[serde(default)]
    pub limits: Limits,
    /// Clock policy.
    #[serde(default)]
    pub clock: ClockPolicy,
    /// What the clinic knows of its analyser.
    #[serde(default, skip_serializing_if = "Analyser::is_unset")]
    pub analyser: Analyser,
}

impl Kit {
    /// Whether its entries can be used, as the Bench asks of its own. Errors: which cannot, and why.
    fn check(&self) -> Result<(), DraftError> {
        if let Some(c) = &self.container {
            c.check().map_err(|fault| DraftError::Container { name: c.name.clone(), fault })?;
        }
        if self.analyser.upside_down() {
            return Err(DraftError::Analyser);
        }
        match self.protocol.as_ref().filter(|p| !p.band_rises()) {
            Some(p) => Err(DraftError::Band { name: p.name.clone() }),
            None => Ok(()),
        }
    }
}

/// How many rows of each list are open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Rows {
    /// Parts of the site.
    pub parts: u8,
    /// Readings of the product count.
    pub readings: u8,
    /// Additions.
    pub additions: u8,
    /// At least so many containers are in hand, as older versions wrote it; 0 in everything written since.
    pub containers: u8,
    /// Containers taken to those planned.
    #[serde(skip_serializing_if = "is_none_taken")]
    pub spare: u8,
}

/// Whether a number of rows need not be stored.
#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
fn is_none_taken(spare: &u8) -> bool {
    *spare == 0
}

impl Rows {
    /// Opens the row of a part, a reading or an addition in which something is typed.
    pub(crate) fn reach(&mut self, field: Field) {
        let (rows, row) = match field {
            Field::PartName(row)
            | Field::PartVolume(row)
            | Field::PartGiven(row)
            | Field::PartGivenAt(row) => (&mut self.parts, row),
            Field::Reading(row) => (&mut self.readings, row),
            Field::AdditionName(row)
            | Field::AdditionStrength(row)
            | Field::AdditionVolume(row)
            | Field::AdditionLot(row)
            | Field::AdditionExpiry(row) => (&mut self.additions, row),
            _ => return,
        };
        *rows = (*rows).max(row.saturating_add(1));
    }
}

impl Default for Rows {
    fn default() -> Self {
        Self { parts: 1, readings: 1, additions: 0, containers: 0, spare: 0 }
    }
}

/// What was entered of one container.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Entered {
    /// The mark reached, as typed.
    Mark(String),
    /// The anticoagulant inside, as typed.
    Anticoagulant(String),
    /// Something that went wrong with it.
    Trouble(TroubleKind),
}

/// What records and cases of one patient told of blood drawn before.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct BloodTold {
    /// The reference, in small letters: of another it tells nothing.
    pub of: String,
    /// The second identifier as two are compared: likewise. Drafts were once stored without it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub second: Option<String>,
    /// All that is told [mL].
    pub sum: Volume,
    /// Whether each draw told how much it was.
    #[serde(default = "whole", skip_serializing_if = "Clone::clone")]
    pub whole: bool,
}

/// Records and cases with the same patient reference and another second identifier.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Namesake {
    /// Reference and second identifier of this case, as both are compared: with others it tells nothing.
    pub of: [String; 2],
    /// Check sign of the one begun last.
    pub sign: CheckSign,
    /// When that was begun.
    pub at: Instant,
    /// How many more there are.
    #[serde(default, skip_serializing_if = "is_zero")]
    pub others: usize,
}

#[expect(clippy::trivially_copy_pass_by_ref, reason = "as serde calls it")]
fn is_zero(n: &usize) -> bool {
    *n == 0
}

fn whole() -> bool {
    true
}

/// A plan as it stood when blood was drawn to it: an order that is changed afterwards does not rewrite it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct DrawnTo {
    /// How many containers.
    pub containers: u8,
    /// Anticoagulant in each [mL].
    pub anticoagulant: Volume,
    /// Mark of each, anticoagulant included [mL].
    pub fill: Volume,
    /// What it was; `None` in drafts of older versions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub agent: Option<Agent>,
    /// Bench key of the container; `None` in drafts of older versions.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub container: Option<String>,
}

/// What was said of a finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Decision {
    /// Who saw it, or who decided (the prescriber, for a Stop).
    pub by: String,
    /// Reason given; empty for a Caution that was seen.
    #[serde(default)]
    pub reason: String,
    /// When.
    pub at: Instant,
    /// The sentence that stood there then.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub found: String,
    /// What it was about; absent in what was stored before this was kept.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub about: Option<About>,
    /// Decisions before it that no longer held, oldest first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub earlier: Vec<Decision>,
}

impl Decision {
    /// Said by somebody, at a moment, about nothing in particular.
    pub fn new(by: impl Into<String>, reason: impl Into<String>, at: Instant) -> Self {
        let (by, reason) = (by.into(), reason.into());
        Self { by, reason, at, found: String::new(), about: None, earlier: Vec::new() }
    }
}

/// What was decided on: a decision holds for this and for nothing worse.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct About {
    /// What it turns on, besides how grave it is: another rotor, another occurrence.
    pub of: String,
    /// How grave, in the finding's own unit; more is worse.
    pub grave: f64,
    /// How much graver it may become before it is decided anew.
    pub slack: f64,
}

impl About {
    /// Whether what was decided about this holds for `now` as well.
    pub fn covers(&self, now: &About) -> bool {
        // What was typed in another unit may differ in its last figure.
        let most = self.grave + self.slack + 1e-9 * self.grave.abs().max(1.0);
        self.of == now.of && now.grave <= most
    }
}

impl Draft {
    /// An empty case.
    pub fn new(id: String, sign: CheckSign, begun: Instant, conventions: Conventions) -> Self {
        Self {
            schema: SCHEMA,
            id,
            sign,
            demo: false,
            begun,
            rebuilt: None,
            taken_over: None,
            offset: None,
            conventions,
            stage: Stage::default(),
            kit: Kit::default(),
            texts: BTreeMap::new(),
            choices: Choices::default(),
            corrected_lots: BTreeMap::new(),
            placed: None,
            identified: None,
            scans: Vec::new(),
            rows: Rows::default(),
            times: Times::default(),
            corrections: Vec::new(),
            checks: BTreeMap::new(),
            lapsed: Vec::new(),
            hand_overs: Vec::new(),
            troubles: Vec::new(),
            discards: Vec::new(),
            ended_without: None,
            given_ahead: BTreeMap::new(),
            blood_told: None,
            namesake: None,
            drawn_to: None,
            decisions: BTreeMap::new(),
        }
    }

    /// What was typed in a field; empty when nothing was.
    pub fn text(&self, field: Field) -> &str {
        self.texts.get(&field).map_or("", String::as_str)
    }

    /// Types into a field; an empty text clears it.
    pub fn write(&mut self, field: Field, text: impl Into<String>) {
        let text = text.into();
        if text.is_empty() {
            self.texts.remove(&field);
        } else {
            self.texts.insert(field, text);
        }
    }

    /// Keeps what was said of a finding, by its key. What was said of it before stays in the record.
    pub fn decide(&mut self, key: String, mut decision: Decision) {
        if let Some(mut before) = self.decisions.remove(&key) {
            decision.earlier = std::mem::take(&mut before.earlier);
            decision.earlier.push(before);
        }
        self.decisions.insert(key, decision);
    }

    /// A person types into a field now, while `planned` anticoagulant is meant for each container. The first reading
    /// typed of the product says when it was counted, and one that is changed long after, a count that came late; with
    /// none left, it was not. A mark says what is inside. A bar code in the field of a lot is scanned; one that is
    /// refused stays as it came. A reason is kept with what it is for.
    pub fn type_in(&mut self, field: Field, text: impl Into<String>, now: Instant, planned: Option<Volume>) {
        let text = text.into();
        if LotOf::of_lot(field).is_some_and(|of| self.scan(of, &text, now) == Ok(true)) {
            return;
        }
        let before = self.text(field).to_owned();
        match LotOf::of_lot(field) {
            Some(of) => self.type_lot(of, text),
            None => self.write(field, text),
        }
        match field {
            Field::WhyChanged => self.give_reason(&before),
            Field::Reading(_) if !self.text(field).trim().is_empty() => {
                let same = self.times.counted.filter(|at| now.0.saturating_sub(at.0) <= ONE_COUNT_MS);
                if self.text(field) != before {
                    self.times.counted = same.or(Some(now));
                }
            }
            Field::Reading(_)
                if (0..field::MAX_READINGS).all(|i| self.text(Field::Reading(i)).trim().is_empty()) =>
            {
                self.times.counted = None;
            }
            Field::FillActual(i) => self.keep_inside(i, planned),
            _ => {}
        }
    }

    /// A container is filled as planned.
    pub fn fill_as_planned(&mut self, i: u8, planned: Split) {
        self.spell(Field::FillActual(i), planned.fill);
        self.keep_inside(i, Some(planned.anticoagulant));
    }

    /// With a mark, what was planned until then is what is inside, whatever is planned afterwards; an amount that
    /// was entered stands. Without its mark again, a container follows the plan unless another amount was entered.
    fn keep_inside(&mut self, i: u8, planned: Option<Volume>) {
        let Some(planned) = planned else { return };
        let inside = Field::AnticoagulantActual(i);
        let marked = !self.text(Field::FillActual(i)).trim().is_empty();
        let before = self.text(inside).to_owned();
        if marked && before.is_empty() {
            self.spell(inside, planned);
        } else if !marked && !before.is_empty() {
            self.spell(inside, planned);
            let same = self.text(inside) == before;
            self.write(inside, if same { String::new() } else { before });
        }
    }

    fn spell(&mut self, field: Field, volume: Volume) {
        if let Some(kind) = field.kind() {
            let text = spell(volume.get(), kind, &self.conventions);
            self.write(field, text);
        }
    }

    /// A stage of the spin begins. One by hand opens the rotor: what turned in balance before it says nothing of
    /// what turns after it.
    pub fn begin_stage(&mut self, index: u8, at: Instant) {
        if self.by_hand(index) {
            self.lapse(Changed::Rotor);
        }
        self.times.stages.insert(index, at);
    }

    /// The container of a trouble is set aside now; whether its blood is in the product by now is kept with it.
    pub fn set_aside(&mut self, kind: TroubleKind, container: Option<u8>, by: String, at: Instant) {
        let collected = self.times.collected.is_some() || !self.text(Field::ProductActual).trim().is_empty();
        let same = |t: &&mut Trouble| t.kind == kind && t.container == container && t.stands();
        if let Some(trouble) = self.troubles.iter_mut().find(same)
            && !trouble.set_aside
        {
            (trouble.set_aside, trouble.collected) = (true, collected);
            trouble.aside = Some(Check { by, at, of: String::new() });
        }
    }

    /// One more container is taken to those in hand; none beyond [`field::MAX_CONTAINERS`].
    pub fn one_more_container(&mut self, planned: u8) {
        let there = self.in_hand(planned);
        if there < field::MAX_CONTAINERS {
            self.rows.spare = there.saturating_add(1).saturating_sub(planned);
        }
    }

    /// The last of the containers there are is left out again. Call only where [`Draft::last_is_spare`].
    pub fn one_less_container(&mut self, there: u8) {
        self.rows.spare = self.rows.spare.saturating_sub(1);
        self.rows.containers = self.rows.containers.min(there.saturating_sub(1));
    }

    /// The last part of the site is left out again, with all that was entered of it; the first one's time of giving is
    /// the whole site's once that is one again.
    pub fn one_part_less(&mut self) {
        let last = self.rows.parts.saturating_sub(1);
        let told = [Field::PartName(last), Field::PartVolume(last), Field::PartGiven(last)];
        let time = (last > 0).then_some(Field::PartGivenAt(last));
        for field in told.into_iter().chain(time) {
            self.write(field, "");
        }
        self.rows.parts = last.max(1);
    }

    /// Whether the last container came in addition and nothing was entered of it, so that it can be left out again.
    pub fn last_is_spare(&self, planned: u8) -> bool {
        let there = self.in_hand(planned);
        there > planned && self.entered_of(there.saturating_sub(1)).is_none()
    }

    /// How many containers are in hand: those planned and those taken to them, and no fewer than the last of which
    /// something was entered, whatever is planned by now.
    pub fn in_hand(&self, planned: u8) -> u8 {
        let taken = planned.saturating_add(self.rows.spare).max(self.rows.containers);
        taken.max(self.last_entered(field::MAX_CONTAINERS)).min(field::MAX_CONTAINERS)
    }

    /// The number, from 1, of the last container below `end` of which something was entered; 0 when of none.
    pub fn last_entered(&self, end: u8) -> u8 {
        let last = (0..end.min(field::MAX_CONTAINERS)).rev().find(|i| self.entered_of(*i).is_some());
        last.map_or(0, |i| i.saturating_add(1))
    }

    /// What was entered of a container: it is part of what was done, and stays in the case.
    pub fn entered_of(&self, container: u8) -> Option<Entered> {
        let typed = |field| Some(self.text(field).trim().to_owned()).filter(|text| !text.is_empty());
        let trouble = || self.troubles.iter().find(|t| t.container == Some(container) && t.stands());
        typed(Field::FillActual(container))
            .map(Entered::Mark)
            .or_else(|| trouble().map(|t| Entered::Trouble(t.kind)))
            .or_else(|| typed(Field::AnticoagulantActual(container)).map(Entered::Anticoagulant))
    }

    /// Whether blood was drawn: with the needle in, from the first mark on.
    pub fn blood_drawn(&self) -> bool {
        let marked = |i| !self.text(Field::FillActual(i)).trim().is_empty();
        let t = &self.times;
        t.needle_out.is_some() || (t.needle_in.is_some() && (0..field::MAX_CONTAINERS).any(marked))
    }

    /// The stage that the times entered have reached, wherever a person looks something up meanwhile.
    pub fn reached(&self) -> Stage {
        let t = &self.times;
        match () {
            () if t.handed_over.is_some() => Stage::Later,
            () if t.spin_end.is_some() || t.collected.is_some() => Stage::Product,
            () if t.needle_out.is_some() || !t.stages.is_empty() => Stage::Spinning,
            () if t.needle_in.is_some() => Stage::NeedleIn,
            () => self.stage,
        }
    }

    /// Whether a stage of the plan is done by hand.
    pub fn by_hand(&self, index: u8) -> bool {
        let stage = self.kit.protocol.as_ref().and_then(|p| p.programme.0.get(usize::from(index)));
        matches!(stage, Some(crate::spin::programme::Stage::Handling { .. }))
    }

    /// Whether the product is counted, now or later; otherwise no sample is taken of it.
    pub fn counts(&self) -> bool {
        self.choices.count_later || self.rows.readings > 0
    }

    /// Whether the sample was taken: read by an analyser, or kept to be counted later. Until then it is planned.
    pub fn sample_taken(&self) -> bool {
        let read = |i| !self.text(Field::Reading(i)).is_empty();
        self.choices.count_later || (0..self.rows.readings.min(field::MAX_READINGS)).any(read)
    }

    /// Whether the sample was diluted: as chosen; a typed factor alone says it too.
    pub fn dilution(&self) -> Option<SampleDilution> {
        let typed = (!self.text(Field::Dilution).is_empty()).then_some(SampleDilution::Diluted);
        self.choices.dilution.or(typed)
    }

    /// Reads a stored case. Errors: where reading stopped and why; an entry of its kit that contradicts itself.
    pub fn from_json(text: &str) -> Result<Draft, DraftError> {
        let draft: Draft = stored::read(text, SCHEMA)?;
        draft.kit.check()?;
        Ok(draft)
    }

    /// Writes the case as stored.
    pub fn to_json(&self) -> String {
        stored::write(self).unwrap_or_default()
    }
}

/// Why a stored case was refused.
#[derive(Debug, Clone, PartialEq)]
pub enum DraftError {
    /// Not a case; the text says where reading stopped.
    Unreadable(String),
    /// Written by a newer version of Strawline; it is left untouched.
    Newer {
        /// Its schema number.
        found: u32,
    },
    /// Its container contradicts itself.
    Container {
        /// Its name.
        name: String,
        /// How.
        fault: ContainerFault,
    },
    /// The own band of its protocol does not rise.
    Band {
        /// Name of the protocol.
        name: String,
    },
    /// The range of its analyser does not rise.
    Analyser,
}

impl From<Refused> for DraftError {
    fn from(refused: Refused) -> Self {
        match refused {
            Refused::Unreadable(at) => DraftError::Unreadable(at),
            Refused::Newer { found } => DraftError::Newer { found },
        }
    }
}
