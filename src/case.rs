//! The question: what is meant by what was typed. [`read`] turns a [`Draft`] into a [`Case`] of typed
//! quantities and says, field by field, how each text was read.

mod reader;

#[cfg(test)]
mod tests;

pub use reader::read;
pub(crate) use reader::weight_asked;

use crate::bench::{Container, Protocol};
use crate::blood::anticoagulant::{Agent, Dosing, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::{Limits, Patient};
use crate::draft::field::Field;
use crate::draft::{
    Brake, Check, CheckKind, Correction, CountStanding, Decision, DrawnTo, Namesake, Placed, ProductTube,
    Screening, Side, Stage, TakenOver, Times, Trouble, WhiteCellOrder,
};
use crate::log::Centrifuge;
use crate::product::addition::Addition;
use crate::product::clock::ClockPolicy;
use crate::product::order::Ordered;
use crate::product::recipe::Analyser;
use crate::quantity::read::{self, Reading};
use crate::quantity::time::{Date, Instant};
use crate::quantity::unit::Conventions;
use crate::quantity::{
    CellCount, Cells, Factor, Fold, Grams, Haematocrit, Haemoglobin, Quantity, RedCount, Rpm, Seconds, Share,
    Temperature, Volume,
};
use crate::scan::{Elements, Gtin};
use crate::spin::rotor::Rotor;
use std::collections::BTreeMap;

/// How each typed field was read; untyped fields are absent.
pub type Readings = BTreeMap<Field, Reading>;

/// Everything `assess` needs to know, as quantities. What was not typed, or could not be read, is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Case {
    /// Who and what for.
    pub order: Order,
    /// Who gives the blood.
    pub patient: Patient,
    /// Discards and samples today.
    pub discard: Option<Volume>,
    /// Blood drawn in the eight weeks before: as entered, or what this device tells of it where that is more.
    pub previous: Option<Volume>,
    /// What this device tells of it, where that is more than was entered or not all that was drawn.
    pub blood_untold: Option<BloodUntold>,
    /// The blood's own count.
    pub baseline: Baseline,
    /// Containers, anticoagulant and blood.
    pub draw: Draw,
    /// Rotor and what was run.
    pub spin: Spin,
    /// What was or will be kept.
    pub collect: Collect,
    /// Count of the product.
    pub count: ProductCount,
    /// Changes and transfers on the way to the patient.
    pub passage: Passage,
    /// Additions ordered.
    pub additions: Vec<AdditionTyped>,
    /// Lot and expiry of each; nothing of what is made from the patient’s own blood.
    pub addition_lots: Vec<(LotInHand, Expiry)>,
    /// Screening answers.
    pub screening: BTreeMap<Screening, bool>,
    /// How the product is made.
    pub protocol: Option<Protocol>,
    /// Limits that hold for this case.
    pub limits: Limits,
    /// Clock policy that holds for this case.
    pub clock: ClockPolicy,
    /// The analyser of this case.
    pub analyser: Analyser,
    /// The stage in hand.
    pub stage: Stage,
    /// When things happened.
    pub times: Times,
    /// What was confirmed.
    pub checks: BTreeMap<CheckKind, Check>,
    /// What went wrong.
    pub troubles: Vec<Trouble>,
    /// What was seen or decided.
    pub decisions: BTreeMap<String, Decision>,
    /// Its order was taken over from another case.
    pub taken_over: Option<TakenOver>,
    /// It was signed without a product.
    pub ended: bool,
    /// Times that were corrected, oldest first.
    pub corrections: Vec<Correction>,
    /// Side and site at the needle, and now, where another stands there now.
    pub moved: Option<(Placed, Placed)>,
    /// The same where the site alone is written otherwise.
    pub site_reworded: Option<(Placed, Placed)>,
    /// What this device told before the needle of others with this reference and another second identifier.
    pub namesake: Option<Namesake>,
    /// Rebuilt from a code that did not hold all of it.
    pub rebuilt_in_part: bool,
    /// Fields in use whose text could not be read, or that wait for a choice between readings, with that text.
    pub unread: BTreeMap<Field, String>,
}

impl Case {
    /// Typed, but not read: it is not known, and nothing usual may stand in its place.
    pub fn is_unread(&self, field: Field) -> bool {
        self.unread.contains_key(&field)
    }

    /// Troubles that were not taken back.
    pub fn standing_troubles(&self) -> impl Iterator<Item = &Trouble> {
        self.troubles.iter().filter(|t| t.stands())
    }
}

/// Who and what for.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Order {
    /// First identifier.
    pub reference: String,
    /// Second identifier.
    pub second: String,
    /// Who prepares.
    pub technician: String,
    /// Who ordered.
    pub prescriber: String,
    /// Where it goes.
    pub site: String,
    /// Side of the site.
    pub side: Option<Side>,
    /// Volume to give.
    pub volume: Option<Volume>,
    /// Parts of the site.
    pub parts: Vec<Part>,
    /// White cells wanted or not.
    pub white_cells: Option<WhiteCellOrder>,
    /// One container only.
    pub one_container: bool,
    /// Platelets to give.
    pub platelets: Option<Ordered<Cells>>,
    /// They are for each part of the site; else in all.
    pub each_part: bool,
    /// Concentration ordered.
    pub concentration: Option<Ordered<CellCount>>,
    /// Fold ordered.
    pub fold: Option<Ordered<Fold>>,
    /// When the product is to be ready.
    pub ready_by: TypedMoment,
}

/// A moment as typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum TypedMoment {
    /// Nothing typed.
    #[default]
    NotTyped,
    /// Typed, but no time of day.
    Unreadable,
    /// At this moment.
    At(Instant),
}

impl TypedMoment {
    /// The moment, if there is one.
    pub fn at(self) -> Option<Instant> {
        match self {
            TypedMoment::At(at) => Some(at),
            TypedMoment::NotTyped | TypedMoment::Unreadable => None,
        }
    }
}

/// A part of the site.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Part {
    /// In the order's words.
    pub name: String,
    /// Ordered.
    pub planned: Option<Volume>,
    /// Really given.
    pub given: Option<Volume>,
    /// When.
    pub given_at: TypedMoment,
    /// The same, where it tells that it was given: typed neither for a time to come nor for one before the hand-over.
    pub told: Option<Instant>,
    /// When it was typed that time lay ahead.
    pub given_ahead: bool,
    /// Its amount was entered, or entered otherwise, after the hand-over.
    pub given_since: bool,
    /// An amount that is entered is what was given: entered since the hand-over, or it is told when; before that it is what
    /// is to be given. Where no version kept how the hand-over stood, it is taken for given.
    pub was_given: bool,
}

impl Case {
    /// The parts, from 0, whose time of giving lies ahead.
    pub fn given_ahead(&self, now: Instant) -> Vec<u8> {
        let ahead = |part: &Part| part.given_at.at().is_some_and(|at| !at.has_come(now));
        (0..).zip(&self.order.parts).filter(|(_, part)| ahead(part)).map(|(number, _)| number).collect()
    }

    /// The parts of which nobody says what became of them, from 0.
    pub fn untold(&self) -> Vec<u8> {
        let parts = (0..).zip(&self.order.parts);
        parts
            .filter(|(_, part)| part.told.is_none() && !part.none_given())
            .map(|(number, _)| number)
            .collect()
    }
}

impl Part {
    /// Whether somebody says what became of it: when it was given, or that none of it was. An amount alone does not say
    /// that it was given by now.
    pub fn told_given(&self, now: Instant) -> bool {
        self.told.is_some_and(|at| at.has_come(now)) || self.none_given()
    }

    /// Whether somebody says after the hand-over that none of it was given.
    pub fn none_given(&self) -> bool {
        self.given_since && self.given == Some(Volume::ZERO)
    }
}

/// The blood's own count.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Baseline {
    /// Whether it was counted.
    pub standing: Option<CountStanding>,
    /// From what.
    pub sample: Option<SampleKind>,
    /// The reading.
    pub reading: Option<CellCount>,
    /// Age of an older count [days].
    pub age_days: Option<u32>,
    /// The laboratory's own citrate factor.
    pub citrate_factor: Option<Factor>,
    /// Haematocrit of the blood.
    pub haematocrit: Option<Haematocrit>,
    /// Haemoglobin of the blood.
    pub haemoglobin: Option<Haemoglobin>,
    /// White cells of the blood, as read.
    pub white: Option<CellCount>,
    /// Neutrophils among them.
    pub neutrophils: Option<Share>,
}

/// Containers, anticoagulant and blood.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Draw {
    /// The container.
    pub container: Option<Container>,
    /// How many are planned. A number below the containers of which something was entered is refused, and what was
    /// planned before stands; once the needle is out, so it does against a higher one.
    pub planned: Option<u8>,
    /// The plan that blood was drawn to.
    pub drawn_to: Option<DrawnTo>,
    /// The anticoagulant.
    pub agent: Option<Agent>,
    /// How much of it; `None` until the label is read.
    pub dosing: Option<Dosing>,
    /// What the volume means.
    pub convention: Option<VolumeConvention>,
    /// The volume named.
    pub volume: Option<Volume>,
    /// Amount chosen for each container instead of the planned one.
    pub chosen: Option<Volume>,
    /// Each container in hand.
    pub containers: Vec<ContainerInHand>,
    /// Expiry of the anticoagulant, if typed and readable.
    pub anticoagulant_expiry: Expiry,
    /// Expiry of the containers.
    pub container_expiry: Expiry,
    /// Lot of the anticoagulant.
    pub anticoagulant_lot: LotInHand,
    /// Lot of the containers.
    pub container_lot: LotInHand,
}

impl Draw {
    /// Numbers, from 0, of the containers that go into the rotor.
    pub fn loaded(&self) -> impl Iterator<Item = u8> {
        (0u8..).zip(&self.containers).filter(|(_, container)| !container.set_aside).map(|(number, _)| number)
    }

    /// Whether one of them faces a counterweight that it has not for itself alone.
    pub fn odd(&self, weighed: &Weighed) -> bool {
        self.loaded().filter(|number| !weighed.own.contains_key(number)).count() % 2 == 1
    }
}

/// A lot and what there is to hold it against.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct LotInHand {
    /// As typed, or as a code names it.
    pub lot: String,
    /// What its code says, where it was scanned.
    pub code: Option<Elements>,
    /// Product number that the Bench names.
    pub named: Option<Gtin>,
}

impl LotInHand {
    /// Product number that its code names, where it was scanned.
    pub fn product(&self) -> Option<Gtin> {
        self.code.as_ref()?.product
    }
}

/// An expiry as typed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Expiry {
    /// Not typed.
    #[default]
    NotTyped,
    /// The last good day.
    Last(Date),
    /// Typed, but no date can be read from it.
    Unreadable,
}

/// What this device tells of blood drawn before, beside what was entered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BloodUntold {
    /// What it tells of.
    pub told: Volume,
    /// Whether each of those draws tells how much it was.
    pub whole: bool,
    /// What was entered; none where nothing was, or nothing that can be read.
    pub entered: Option<Volume>,
}

/// What is known of one container in hand.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct ContainerInHand {
    /// Anticoagulant really inside.
    pub anticoagulant: Option<Volume>,
    /// Mark really reached.
    pub fill: Option<Volume>,
    /// Takes no further part: set aside before the product was collected ([`Trouble::left_out`]).
    pub set_aside: bool,
}

/// Rotor and what was run.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Spin {
    /// The rotor.
    pub rotor: Option<Rotor>,
    /// The centrifuge it turns in, as it stood by the clinic's log.
    pub centrifuge: Option<Centrifuge>,
    /// All that turn the rotor, as they stood then.
    pub centrifuges: Vec<Centrifuge>,
    /// What was run, by stage.
    pub actual: Vec<StageRun>,
    /// What the scale read before the first spin and before the second.
    pub weighed: [Weighed; 2],
}

/// What the scale read of what stands in the rotor in one spin.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Weighed {
    /// Containers, filled and closed, by their number from 0.
    pub containers: BTreeMap<u8, Grams>,
    /// What faces the odd one.
    pub counterweight: Option<Grams>,
    /// What faces those that do not face another, by the number of the container from 0.
    pub own: BTreeMap<u8, Grams>,
}

impl Weighed {
    /// What the scale read for a spin, from 0, by these texts: those of a run that is over.
    pub fn of(texts: &BTreeMap<Field, String>, spin: usize, conventions: &Conventions) -> Self {
        let mut found = Self::default();
        for (field, text) in texts.iter().filter(|(field, _)| field.weighed_for() == Some(spin)) {
            let Some(Reading::Value { value, .. }) =
                field.kind().map(|kind| read::read(text, kind, conventions))
            else {
                continue;
            };
            let Ok(weight) = Grams::new(value) else { continue };
            match field {
                Field::FilledWeight(i) | Field::FilledWeightSecond(i) => {
                    found.containers.insert(*i, weight);
                }
                Field::OwnCounterweight(i) | Field::OwnCounterweightSecond(i) => {
                    found.own.insert(*i, weight);
                }
                _ => found.counterweight = Some(weight),
            }
        }
        found
    }
}

/// What was really run in one stage.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct StageRun {
    /// Speed.
    pub speed: Option<Rpm>,
    /// Time.
    pub time: Option<Seconds>,
    /// Temperature as set.
    pub temperature: Option<Temperature>,
    /// Brake as set; `None`: not noted.
    pub brake: Option<Brake>,
}

/// What was or will be kept.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Collect {
    /// Planned, from all containers.
    pub planned: Option<Volume>,
    /// Really kept.
    pub actual: Option<Volume>,
    /// Platelet-poor plasma kept.
    pub poor_plasma: Option<Volume>,
    /// Cells and whatever else was left in the containers.
    pub cells: Option<Volume>,
}

/// Count of the product.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ProductCount {
    /// Sample taken or planned; `None` where nothing is counted, or was before the product was handed over.
    pub sample: Option<Volume>,
    /// Whether it was taken; otherwise it is planned.
    pub sample_taken: bool,
    /// Readings as the analyser gave them.
    pub readings: Vec<CellCount>,
    /// Dilution before the analyser, 1 where the sample is said to be undiluted; `None` until one is said.
    pub dilution: Option<Factor>,
    /// What the sample went into.
    pub tube: Option<ProductTube>,
    /// The laboratory's own factor for a citrate tube.
    pub tube_factor: Option<Factor>,
    /// White cells, as read.
    pub white: Option<CellCount>,
    /// Red cells, as read.
    pub red: Option<RedCount>,
    /// Haematocrit, as read.
    pub haematocrit: Option<Haematocrit>,
    /// Dilution of the sample that white cells, red cells and haematocrit were read from; `None` until it is said.
    pub cells_dilution: Option<Factor>,
    /// Neutrophils among the white cells.
    pub neutrophils: Option<Share>,
    /// Lymphocytes among them.
    pub lymphocytes: Option<Share>,
    /// Monocytes among them.
    pub monocytes: Option<Share>,
    /// Platelets of the platelet-poor plasma.
    pub plasma: Option<CellCount>,
    /// Well mixed, no clumps.
    pub mixed: Option<bool>,
    /// To be counted later.
    pub later: bool,
}

/// Changes and transfers on the way to the patient.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Passage {
    /// Needle or syringe changes.
    pub needle_changes: Option<u32>,
    /// Transfers.
    pub transfers: Option<u32>,
}

/// An addition as far as it was typed; nothing of it is assumed.
#[derive(Debug, Clone, PartialEq)]
pub enum AdditionTyped {
    /// What, how strong and how much are all known.
    Whole(Addition),
    /// Something is missing.
    Partial,
}
