//! The question: what is meant by what was typed. [`read`] turns a [`Draft`] into a [`Case`] of typed
//! quantities and says, field by field, how each text was read.

use crate::arrange::gather;
use crate::bench::{Container, Protocol};
use crate::blood::anticoagulant::{Agent, Dosing, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::{Limits, Patient};
use crate::draft::field::{Field, MAX_ADDITIONS, MAX_CONTAINERS, MAX_READINGS, MAX_SITES, MAX_STAGES};
use crate::draft::{
    AdditionChoice, Brake, Check, CheckKind, CountStanding, Decision, Draft, DrawnTo, Namesake, Placed,
    ProductTube, SampleDilution, Screening, Side, Stage, TakenOver, Times, Trouble, WhiteCellOrder,
};
use crate::evidence::SourceId;
use crate::finding::LotOf;
use crate::log::Centrifuge;
use crate::product::addition::{Addition, AdditionAgent};
use crate::product::clock::ClockPolicy;
use crate::product::order::{OrderSense, Ordered, OrderedAmount};
use crate::product::recipe::Analyser;
use crate::quantity::read::{self, Kind, Reading, Refusal};
use crate::quantity::time::read::{DateReading, TimeReading, date, last_day_of_month, time_of_day};
use crate::quantity::time::{Date, Instant, Offset, TimeOfDay};
use crate::quantity::unit::Conventions;
use crate::quantity::{
    AcRatio, CellCount, Cells, Factor, Fold, Grams, Haematocrit, Haemoglobin, Mass, Quantity, RedCount, Rpm,
    Seconds, Share, Strength, Temperature, Volume,
};
use crate::scan::{Elements, Gtin};
use crate::spin::rotor::Rotor;
use crate::words::Language;
use std::collections::BTreeMap;

/// The factor of a sample that was not diluted.
const UNDILUTED: Factor = Factor::constant(1.0);

/// Body-mass index that needs no question [kg/m²], and where that comes from. Wider than most people by far, and narrow
/// enough that the pounds of an adult of ordinary weight, taken as kilograms, fall outside.
const BODY_MASS: (f64, f64, SourceId) = (12.0, 50.0, SourceId::BodyMassSlip);

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

/// Reads one draft; keeps how each text was read.
struct Reader<'a> {
    draft: &'a Draft,
    months: &'static [&'static str; 12],
    readings: Readings,
}

impl Reader<'_> {
    /// Typed, but refused or still a question: nothing may stand in its place.
    fn unread(&self, field: Field) -> bool {
        self.readings.get(&field).is_some_and(|r| matches!(r, Reading::Ask { .. } | Reading::Wrong(_)))
    }

    /// What was typed; where nothing was, what is usual.
    fn or<Q: Quantity>(&mut self, field: Field, usual: Option<Q>) -> Option<Q> {
        let typed = self.quantity(field);
        if typed.is_some() || self.unread(field) { typed } else { usual }
    }

    /// The number behind a field, in the core unit; `None` when empty, refused or still a question.
    fn number(&mut self, field: Field) -> Option<f64> {
        let kind = field.kind()?;
        let text = self.draft.text(field);
        if text.is_empty() {
            return None;
        }
        let reading = read::read(text, kind, &self.draft.conventions);
        let value = reading.value();
        self.readings.insert(field, reading);
        value
    }

    fn quantity<Q: Quantity>(&mut self, field: Field) -> Option<Q> {
        self.number(field).and_then(|v| Q::new(v).ok())
    }

    /// What is ordered of one amount; between two numbers of which the second cannot be read, it is not known.
    fn ordered<Q: Quantity>(
        &mut self,
        what: OrderedAmount,
        first: Field,
        second: Field,
    ) -> Option<Ordered<Q>> {
        let sense = self.draft.choices.order_sense.get(&what).copied().unwrap_or_default();
        let (named, most) = (self.quantity(first), self.quantity(second));
        let named = named?;
        match sense {
            OrderSense::AtLeast => Some(Ordered::AtLeast(named)),
            OrderSense::About => Some(Ordered::About(named)),
            OrderSense::Between if self.unread(second) => None,
            OrderSense::Between => {
                Some(most.map_or(Ordered::BetweenFrom(named), |most| Ordered::Between(named, most)))
            }
        }
    }

    /// Weight, unless it is asked about.
    fn weight(&mut self) -> Option<Mass> {
        let weight = self.quantity(Field::Weight);
        let Some(asked) = weight_asked(self.draft) else { return weight };
        self.readings.insert(Field::Weight, asked);
        None
    }

    fn whole(&mut self, field: Field) -> Option<u32> {
        self.number(field).and_then(whole)
    }

    fn words(&self, field: Field) -> String {
        self.draft.text(field).trim().to_owned()
    }

    /// A time of day on the day the case was begun, or a date and a time. A time that had passed when it was begun is
    /// of the next day only where it had passed by more than half a day: 00:30 of a case begun at 23:00.
    fn ready_by(&self) -> TypedMoment {
        let offset = self.draft.offset.unwrap_or(Offset::UTC);
        self.moment(Field::ReadyBy, |at| {
            let (begun, clock) = self.draft.begun.local(offset)?;
            let next = u8::saturating_sub(clock.hour(), at.hour()) > 12;
            let day = Date::from_days(begun.days().checked_add(i64::from(next))?)?;
            Some(Instant::of_local(day, at, offset))
        })
    }

    /// When a part was given: the time nearest to the hand-over, or a date and a time.
    fn given_at(&self, part: u8) -> TypedMoment {
        let (times, offset) = (&self.draft.times, self.draft.offset.unwrap_or(Offset::UTC));
        let near = times.handed_over.or(times.collected).unwrap_or(self.draft.begun);
        self.moment(Field::PartGivenAt(part), |at| near.nearest(at, offset))
    }

    /// A time of day, on the day that `day` tells, or a date and a time.
    fn moment(&self, field: Field, day: impl Fn(TimeOfDay) -> Option<Instant>) -> TypedMoment {
        let text = self.draft.text(field).trim();
        if text.is_empty() {
            return TypedMoment::NotTyped;
        }
        let offset = self.draft.offset.unwrap_or(Offset::UTC);
        let time = |text| match time_of_day(text) {
            TimeReading::Time(time) => Some(time),
            TimeReading::Empty | TimeReading::Wrong => None,
        };
        let with_date = || {
            let (day, at) = text.rsplit_once([' ', ',', 'T'])?;
            let DateReading::Date(day) = date(day.trim_end_matches(','), self.months) else { return None };
            Some(Instant::of_local(day, time(at)?, offset))
        };
        time(text).and_then(day).or_else(with_date).map_or(TypedMoment::Unreadable, TypedMoment::At)
    }

    fn expiry(&self, field: Field) -> Expiry {
        let text = self.draft.text(field).trim();
        if text.is_empty() {
            return Expiry::NotTyped;
        }
        match date(text, self.months) {
            DateReading::Date(day) => Expiry::Last(day),
            _ => last_day_of_month(text, self.months).map_or(Expiry::Unreadable, Expiry::Last),
        }
    }
}

/// Where the weight does not go with the height, the question which is meant: kilograms and pounds differ by as much as
/// the limits on the blood drawn do. A typed unit is an answer, and without a height there is nothing to ask.
pub(crate) fn weight_asked(draft: &Draft) -> Option<Reading> {
    let (weight, height) = (Field::Weight, Field::Height);
    let metres = read::read(draft.text(height), height.kind()?, &draft.conventions).value()? / 100.0;
    let (least, most, _) = BODY_MASS;
    let fits = |kg: f64| (least..=most).contains(&(kg / (metres * metres)));
    read::against(draft.text(weight), weight.kind()?, &draft.conventions, fits)
}

/// A whole number that fits, from a number already checked to be whole.
fn whole(value: f64) -> Option<u32> {
    if !(0.0..=1e6).contains(&value) || value.fract() != 0.0 {
        return None;
    }
    // Bounded and whole by the line above.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole, 0 to 1e6")]
    Some(value as u32)
}

/// Reads a draft; `language` knows the names of the months.
pub fn read(draft: &Draft, language: Language) -> (Case, Readings) {
    let mut r = Reader { draft, months: language.months(), readings: Readings::new() };
    let choices = &draft.choices;
    let container = draft.kit.container.clone();
    let protocol = draft.kit.protocol.clone();

    let parts = (0..draft.rows.parts.min(MAX_SITES))
        .map(|i| Part {
            name: r.words(Field::PartName(i)),
            planned: r.quantity(Field::PartVolume(i)),
            given: r.quantity(Field::PartGiven(i)),
            given_at: r.given_at(i),
        })
        .collect();
    let order = Order {
        reference: r.words(Field::PatientReference),
        second: r.words(Field::SecondIdentifier),
        technician: r.words(Field::Technician),
        prescriber: r.words(Field::Prescriber),
        site: r.words(Field::Site),
        side: choices.side,
        volume: r.quantity(Field::OrderVolume),
        parts,
        white_cells: choices.white_cells,
        one_container: choices.one_container,
        platelets: r.ordered(OrderedAmount::Platelets, Field::OrderPlatelets, Field::OrderPlateletsMost),
        each_part: choices.each_part,
        concentration: r.ordered(
            OrderedAmount::Concentration,
            Field::OrderConcentration,
            Field::OrderConcentrationMost,
        ),
        fold: r.ordered(OrderedAmount::Fold, Field::OrderFold, Field::OrderFoldMost),
        ready_by: r.ready_by(),
    };

    let haemoglobin = r.quantity(Field::BloodHaemoglobin);
    let patient = Patient {
        sex: choices.sex,
        weight: r.weight(),
        height: r.quantity(Field::Height),
        age: r.quantity(Field::Age),
        haemoglobin,
        first_draw: choices.first_draw,
    };
    let reading = r.quantity(Field::BloodCount);
    let baseline = Baseline {
        standing: choices.count,
        sample: choices.sample,
        reading: if choices.count == Some(CountStanding::NoCount) { None } else { reading },
        age_days: r.whole(Field::CountAge),
        citrate_factor: r.quantity(Field::CitrateFactor),
        haematocrit: r.quantity(Field::BloodHaematocrit),
        haemoglobin,
        white: r.quantity(Field::BloodWhite),
        neutrophils: r.quantity(Field::BloodNeutrophils),
    };

    let draw = read_draw(&mut r, container, protocol.as_ref());
    let actual = (0..MAX_STAGES)
        .map(|i| StageRun {
            speed: r.quantity(Field::SpeedActual(i)),
            time: r.quantity(Field::MinutesActual(i)),
            temperature: r.quantity(Field::TemperatureSet(i)),
            brake: choices.brakes.get(&i).copied(),
        })
        .collect();
    let mut weighed = |each: [fn(u8) -> Field; 2], counterweight| {
        let [containers, own] = each.map(|field| {
            gather((0..MAX_CONTAINERS).filter_map(|i| Some((i, r.quantity::<Grams>(field(i))?))))
        });
        Weighed { containers, counterweight: r.quantity(counterweight), own }
    };
    let weighed = [
        weighed([Field::FilledWeight, Field::OwnCounterweight], Field::Counterweight),
        weighed([Field::FilledWeightSecond, Field::OwnCounterweightSecond], Field::CounterweightSecond),
    ];
    let collect = Collect {
        planned: r.or(Field::ProductVolume, protocol.as_ref().and_then(|p| p.product)),
        actual: r.quantity(Field::ProductActual),
        poor_plasma: r.quantity(Field::PoorPlasma),
        cells: r.quantity(Field::CellsVolume),
    };
    let dilution = read_dilution(&mut r);
    let sample_taken = draft.sample_taken();
    let sampled = draft.counts() && (sample_taken || draft.times.handed_over.is_none());
    let count = ProductCount {
        sample: r.or(Field::CountSample, protocol.as_ref().map(|p| p.count_sample)).filter(|_| sampled),
        sample_taken,
        readings: (0..draft.rows.readings.min(MAX_READINGS))
            .filter_map(|i| r.quantity(Field::Reading(i)))
            .collect(),
        dilution,
        tube: choices.product_tube,
        tube_factor: r.quantity(Field::SampleFactor),
        white: r.quantity(Field::ProductWhite),
        red: r.quantity(Field::ProductRed),
        haematocrit: r.quantity(Field::ProductHaematocrit),
        cells_dilution: dilution.and_then(|d| match choices.cells_dilution {
            _ if d == UNDILUTED => Some(UNDILUTED),
            Some(SampleDilution::Undiluted) => Some(UNDILUTED),
            Some(SampleDilution::Diluted) => Some(d),
            None => None,
        }),
        neutrophils: r.quantity(Field::ProductNeutrophils),
        lymphocytes: r.quantity(Field::ProductLymphocytes),
        monocytes: r.quantity(Field::ProductMonocytes),
        plasma: r.quantity(Field::PlasmaReading),
        mixed: choices.mixed_no_clumps,
        later: choices.count_later,
    };
    let passage =
        Passage { needle_changes: r.whole(Field::NeedleChanges), transfers: r.whole(Field::Transfers) };
    let additions = (0..draft.rows.additions.min(MAX_ADDITIONS))
        .map(|i| read_addition(&mut r, i).map_or(AdditionTyped::Partial, AdditionTyped::Whole))
        .collect();
    let addition_lots = (0..draft.rows.additions.min(MAX_ADDITIONS))
        .map(|i| match draft.has_addition_lot(i) {
            false => (LotInHand::default(), Expiry::NotTyped),
            true => (lot(draft, LotOf::Addition(i)), r.expiry(Field::AdditionExpiry(i))),
        })
        .collect();
    let discard = r.quantity(Field::Discard);
    let entered: Option<Volume> = r.quantity(Field::PreviousBlood);
    // To the tenth of a millilitre that volumes are written to.
    let less = |told: Volume| entered.map_or(0.0, Quantity::get) + 0.05 < told.get();
    let told = draft.blood_told.as_ref().filter(|told| told.of == draft.reference_told());
    let previous = told.map(|told| told.sum).filter(|told| less(*told)).or(entered);
    let blood_untold = told.filter(|told| !told.whole || less(told.sum));
    let blood_untold = blood_untold.map(|b| BloodUntold { told: b.sum, whole: b.whole, entered });
    let programme = protocol.as_ref().map_or(0, |p| p.programme.0.len());
    let prefilled = draw.container.as_ref().is_some_and(|c| c.prefill.is_some());
    let between = |what| choices.order_sense.get(&what) == Some(&OrderSense::Between);
    // What a choice has put out of use may say anything.
    let asked = |field: &Field| match *field {
        Field::BloodCount => choices.count != Some(CountStanding::NoCount),
        Field::CountAge => choices.count == Some(CountStanding::Older),
        Field::SampleFactor => choices.product_tube == Some(ProductTube::LiquidCitrate),
        Field::CitrateFactor => choices.sample == Some(SampleKind::LiquidCitrate),
        Field::AnticoagulantChosen | Field::AnticoagulantPer100 | Field::AnticoagulantPerContainer => {
            !prefilled
        }
        // Refused because of what was done: that is known, and stands.
        Field::Containers => draw.planned.is_none(),
        Field::OrderPlateletsMost => between(OrderedAmount::Platelets),
        Field::OrderConcentrationMost => between(OrderedAmount::Concentration),
        Field::OrderFoldMost => between(OrderedAmount::Fold),
        Field::CountSample => sampled,
        Field::SpeedActual(i) | Field::MinutesActual(i) => usize::from(i) < programme,
        Field::FilledWeight(i)
        | Field::FilledWeightSecond(i)
        | Field::OwnCounterweight(i)
        | Field::OwnCounterweightSecond(i) => i < draft.in_hand(draw.planned.unwrap_or(0)),
        // Only told: nothing is reckoned with it.
        Field::TemperatureSet(_) => false,
        Field::AdditionStrength(i) => choices.additions.get(&i) != Some(&AdditionChoice::AutologousThrombin),
        _ => true,
    };
    let unread = r.readings.keys().filter(|f| r.unread(**f) && asked(f));
    // A code that was refused is no lot, and one of a label is no identifier.
    let refused = LotOf::ALL.into_iter().filter(|of| draft.refused_code(*of).is_some()).map(LotOf::lot);
    let named = Field::IDENTIFIERS.into_iter().filter(|field| draft.code_as_identifier(*field));
    let refused: Vec<Field> = refused.chain(named).collect();
    let unread = gather(unread.chain(&refused).map(|f| (*f, draft.text(*f).trim().to_owned())));

    let case = Case {
        order,
        patient,
        discard,
        previous,
        blood_untold,
        baseline,
        draw,
        spin: Spin {
            rotor: draft.kit.rotor.clone(),
            centrifuge: draft.kit.centrifuge.clone(),
            centrifuges: draft.kit.centrifuges.all.clone(),
            actual,
            weighed,
        },
        collect,
        count,
        passage,
        additions,
        addition_lots,
        screening: choices.screening.clone(),
        protocol,
        limits: draft.kit.limits.clone(),
        clock: draft.kit.clock,
        analyser: draft.kit.analyser,
        stage: draft.stage,
        times: draft.times.clone(),
        checks: draft.checks.clone(),
        troubles: draft.troubles.clone(),
        decisions: draft.decisions.clone(),
        taken_over: draft.taken_over,
        ended: draft.without_product().is_some(),
        moved: draft.moved(),
        site_reworded: draft.site_reworded(),
        namesake: draft.namesake.clone().filter(|n| n.of == [draft.reference_told(), draft.second_told()]),
        rebuilt_in_part: draft.rebuilt.as_ref().is_some_and(|rebuilt| !rebuilt.whole),
        unread,
    };
    (case, r.readings)
}

/// Undiluted only where that is said and no factor stands against it.
fn read_dilution(r: &mut Reader<'_>) -> Option<Factor> {
    let typed = r.quantity(Field::Dilution);
    match r.draft.dilution()? {
        SampleDilution::Undiluted if r.draft.text(Field::Dilution).is_empty() => Some(UNDILUTED),
        SampleDilution::Undiluted => None,
        SampleDilution::Diluted => typed,
    }
}

fn read_addition(r: &mut Reader<'_>, row: u8) -> Option<Addition> {
    let name = r.words(Field::AdditionName(row));
    // Typed in per cent and read as a share of one; a strength is grams in 100 mL.
    let share = r.number(Field::AdditionStrength(row));
    let percent = share.map(|s| Kind::Percent.in_unit(s, &r.draft.conventions));
    let strength = percent.and_then(|p| Strength::new(p).ok());
    let volume = r.quantity(Field::AdditionVolume(row));
    let agent = match r.draft.choices.additions.get(&row)? {
        AdditionChoice::CalciumChloride => AdditionAgent::CalciumChloride { strength: strength? },
        AdditionChoice::CalciumGluconate => AdditionAgent::CalciumGluconate { strength: strength? },
        AdditionChoice::LocalAnaesthetic => AdditionAgent::LocalAnaesthetic { strength: strength? },
        AdditionChoice::AutologousThrombin => AdditionAgent::AutologousThrombin,
        AdditionChoice::Other if name.is_empty() || r.unread(Field::AdditionStrength(row)) => return None,
        AdditionChoice::Other => AdditionAgent::Other { name, strength },
    };
    Some(Addition { agent, volume: volume? })
}

/// How many containers are planned; see [`Draw::planned`].
fn read_planned(r: &mut Reader<'_>) -> Option<u8> {
    let draft = r.draft;
    let kept = draft.drawn_to.as_ref().map(|plan| plan.containers);
    let Some(typed) = r.whole(Field::Containers).and_then(|n| u8::try_from(n).ok()) else { return kept };
    // What was entered of a planned container does not make it one that was taken to them.
    let taken = typed.saturating_add(draft.rows.spare).max(draft.rows.containers);
    let all = draft.last_entered(MAX_CONTAINERS);
    let of_plan = draft.last_entered(kept.unwrap_or(0));
    let stands = match () {
        () if typed < of_plan => of_plan,
        () if taken < all => all,
        () if draft.times.needle_out.is_none() => return Some(typed),
        () => {
            let Some(drawn_to) = kept.filter(|kept| typed > *kept) else { return Some(typed) };
            if typed > all {
                r.readings.insert(Field::Containers, Reading::Wrong(Refusal::NeedleOut { drawn_to }));
            }
            return Some(drawn_to);
        }
    };
    let container = stands.saturating_sub(1);
    let least = stands.saturating_sub(if stands == all { draft.rows.spare } else { 0 }).max(of_plan);
    if let Some(what) = draft.entered_of(container) {
        let refusal = Refusal::Entered { container, what, least };
        r.readings.insert(Field::Containers, Reading::Wrong(refusal));
    }
    kept.or(Some(least))
}

fn lot(draft: &Draft, of: LotOf) -> LotInHand {
    let lot = draft.text(of.lot()).trim().to_owned();
    LotInHand { lot, code: draft.scanned(of), named: draft.named_product(of) }
}

fn read_draw(r: &mut Reader<'_>, container: Option<Container>, protocol: Option<&Protocol>) -> Draw {
    let draft = r.draft;
    let planned = read_planned(r);
    let prefill = container.as_ref().and_then(|c| c.prefill.as_ref());
    let agent = draft.agent();
    // What the clinic types for this case comes first, then the protocol's, then the agent's label.
    let typed_ratio = r.quantity::<AcRatio>(Field::AnticoagulantPer100).map(Dosing::PerBlood);
    let typed_volume = r.quantity(Field::AnticoagulantPerContainer).map(Dosing::PerContainer);
    let protocols = protocol.filter(|p| agent == Some(p.agent)).and_then(|p| p.dosing);
    let label = agent.and_then(Agent::label_amount).map(|(ratio, _)| Dosing::PerBlood(ratio));
    let unread = r.unread(Field::AnticoagulantPer100) || r.unread(Field::AnticoagulantPerContainer);
    let dosing = match prefill {
        Some(p) => Some(Dosing::PerContainer(p.volume)),
        None if unread => None,
        None => typed_ratio.or(typed_volume).or(protocols).or(label),
    };
    let containers = (0..draft.in_hand(planned.unwrap_or(0)))
        .map(|i| ContainerInHand {
            anticoagulant: r.quantity(Field::AnticoagulantActual(i)),
            fill: r.quantity(Field::FillActual(i)),
            set_aside: draft.troubles.iter().any(|t| t.container == Some(i) && t.left_out(&draft.times)),
        })
        .collect();
    let full = container.as_ref().filter(|c| c.prefill.is_some()).map(|c| c.fill_high);
    let volume = r.or(Field::FillVolume, full);
    let convention = match prefill {
        Some(_) => Some(VolumeConvention::FillMark),
        None => draft.choices.convention,
    };
    Draw {
        planned,
        drawn_to: draft.drawn_to.clone(),
        agent,
        dosing,
        convention,
        volume,
        // What is inside when bought is not chosen: an amount typed for another container is out of use.
        chosen: r.quantity(Field::AnticoagulantChosen).filter(|_| prefill.is_none()),
        containers,
        anticoagulant_expiry: r.expiry(Field::AnticoagulantExpiry),
        container_expiry: r.expiry(Field::ContainerExpiry),
        anticoagulant_lot: lot(draft, LotOf::Anticoagulant),
        container_lot: lot(draft, LotOf::Containers),
        container,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;

    #[test]
    fn ready_by_is_a_time_of_the_day_the_case_was_begun_or_names_its_day() {
        // 12 March 2026, 23:10 where it was begun, 22:10 UTC.
        let begun = Instant(1_773_353_400_000);
        let mut d = Draft::new("d".into(), CheckSign::pick(0, &[]), begun, Conventions::default());
        d.offset = Offset::new(60);
        let mut at = |text: &str| {
            d.write(Field::ReadyBy, text);
            let ready = read(&d, Language::English).0.order.ready_by;
            let local = |at: Instant| at.local(Offset::new(60).unwrap()).unwrap();
            (ready, ready.at().map(local).map(|(day, time)| format!("{day} {}", time.text())))
        };
        assert_eq!(at("").0, TypedMoment::NotTyped);
        let said = |day: &str| Some(day.to_owned());
        assert_eq!(at("23:45").1, said("2026-03-12 23:45"));
        assert_eq!(at("22:00").1, said("2026-03-12 22:00"), "passed, and said to have passed");
        assert_eq!(at("00:30").1, said("2026-03-13 00:30"));
        assert_eq!(at("14 Mar 2026 9:15").1, said("2026-03-14 09:15"));
        assert_eq!(at("2026-03-14, 09:15").1, said("2026-03-14 09:15"));
        for wrong in ["soon", "25:00", "14 Mar 2026", "14 Mar 2026 25:00", ",", " T "] {
            assert_eq!(at(wrong).0, TypedMoment::Unreadable, "{wrong}");
        }
    }

    #[test]
    fn a_part_was_given_at_the_time_nearest_to_the_hand_over_or_on_a_day_that_is_named() {
        let begun = Instant(1_773_353_400_000);
        let mut d = Draft::new("d".into(), CheckSign::pick(0, &[]), begun, Conventions::default());
        d.offset = Offset::new(60);
        // Handed over at 23:50 where it was begun.
        d.times.handed_over = Some(Instant(begun.0 + 2_400_000));
        let mut at = |text: &str| {
            d.write(Field::PartGivenAt(0), text);
            let given = read(&d, Language::English).0.order.parts[0].given_at;
            let local = |at: Instant| at.local(Offset::new(60).unwrap()).unwrap();
            (given, given.at().map(local).map(|(day, time)| format!("{day} {}", time.text())))
        };
        assert_eq!(at("").0, TypedMoment::NotTyped);
        assert_eq!(at("23:55").1.as_deref(), Some("2026-03-12 23:55"));
        assert_eq!(at("0:20").1.as_deref(), Some("2026-03-13 00:20"), "after midnight");
        assert_eq!(at("14 Mar 2026 9:15").1.as_deref(), Some("2026-03-14 09:15"));
        assert_eq!(at("at once").0, TypedMoment::Unreadable);
    }

    #[test]
    fn a_temperature_that_cannot_be_read_raises_nothing() {
        let sign = CheckSign::pick(0, &[]);
        let mut d = Draft::demo("d".into(), sign, Instant(0), Conventions::default());
        d.write(Field::TemperatureSet(0), "20.5");
        d.write(Field::TemperatureSet(2), "68");
        let (case, readings) = read(&d, Language::English);
        assert_eq!(case.spin.actual[0].temperature.map(Quantity::get), Some(20.5));
        assert_eq!(case.spin.actual[2].temperature, None);
        assert!(
            matches!(readings.get(&Field::TemperatureSet(2)), Some(Reading::Wrong(_))),
            "told at the field"
        );
        assert!(!case.is_unread(Field::TemperatureSet(2)));
    }

    #[test]
    fn what_is_typed_in_another_unit_than_it_is_kept_in_is_converted_once() {
        let sign = CheckSign::pick(0, &[]);
        let mut d = Draft::demo("case".into(), sign, Instant(0), Conventions::default());
        d.rows.additions = 1;
        d.choices.additions.insert(0, AdditionChoice::CalciumGluconate);
        d.write(Field::AdditionStrength(0), "10");
        d.write(Field::AdditionVolume(0), "0.3");
        d.write(Field::MinutesActual(0), "10");
        d.write(Field::AnticoagulantPer100, "14");
        d.write(Field::BloodHaemoglobin, "143");
        d.write(Field::ProductHaematocrit, "0.2 %");
        let (case, _) = read(&d, Language::English);
        let strength = Strength::new(10.0).unwrap();
        let whole = Addition {
            agent: AdditionAgent::CalciumGluconate { strength },
            volume: Volume::new(0.3).unwrap(),
        };
        assert_eq!(case.additions, [AdditionTyped::Whole(whole)]);
        assert_eq!(case.spin.actual[0].time, Seconds::new(600.0).ok());
        assert_eq!(case.draw.dosing, AcRatio::new(0.14).ok().map(Dosing::PerBlood));
        assert_eq!(case.patient.haemoglobin, Haemoglobin::new(14.3).ok());
        assert_eq!(case.count.haematocrit, Haematocrit::new(0.002).ok());
    }
}
