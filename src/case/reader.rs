//! How each text of a draft is read.

use super::{
    AdditionTyped, Baseline, BloodUntold, Case, Collect, ContainerInHand, Draw, Expiry, LotInHand, Order,
    Part, Passage, ProductCount, Readings, Spin, StageRun, TypedMoment, Weighed,
};
use crate::arrange::gather;
use crate::bench::{Container, Protocol};
use crate::blood::anticoagulant::{Agent, Dosing, VolumeConvention};
use crate::blood::baseline::SampleKind;
use crate::blood::patient::Patient;
use crate::draft::field::{Field, MAX_ADDITIONS, MAX_CONTAINERS, MAX_READINGS, MAX_SITES, MAX_STAGES};
use crate::draft::{AdditionChoice, CountStanding, Draft, ProductTube, SampleDilution};
use crate::evidence::SourceId;
use crate::finding::LotOf;
use crate::product::addition::{Addition, AdditionAgent};
use crate::product::order::{OrderSense, Ordered, OrderedAmount};
use crate::quantity::read::{self, Kind, Reading, Refusal};
use crate::quantity::time::read::{
    DateReading, TimeReading, date, date_and_time, last_day_of_month, time_of_day,
};
use crate::quantity::time::{Date, Instant, Offset, TimeOfDay};
use crate::quantity::{AcRatio, Factor, Grams, Mass, Quantity, Strength, Volume};
use crate::words::Language;

/// The factor of a sample that was not diluted.
const UNDILUTED: Factor = Factor::constant(1.0);

/// Body-mass index that needs no question [kg/m²], and where that comes from. Wider than most people by far, and narrow
/// enough that the pounds of an adult of ordinary weight, taken as kilograms, fall outside.
const BODY_MASS: (f64, f64, SourceId) = (12.0, 50.0, SourceId::BodyMassSlip);

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
            let (day, at) = date_and_time(text, self.months)?;
            Some(Instant::of_local(day, at, offset))
        };
        time(text).and_then(day).or_else(with_date).map_or(TypedMoment::Unreadable, TypedMoment::At)
    }

    /// The same, where it tells that it was given.
    fn told_given(&self, part: u8) -> Option<Instant> {
        self.given_at(part).at().filter(|at| self.draft.tells_given(part, *at))
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
            told: r.told_given(i),
            given_ahead: draft.is_ahead(i),
            given_since: draft.given_since(i),
            was_given: draft.times.handed_over.is_some()
                && (!draft.hand_over_kept() || draft.given_since(i) || r.told_given(i).is_some()),
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
    let told = draft.blood_told.as_ref().filter(|told| draft.is_told_of(told));
    let previous = told.map(|told| told.sum).filter(|told| less(*told)).or(entered);
    let blood_untold = told.filter(|told| !told.whole || less(told.sum));
    let blood_untold = blood_untold.map(|b| BloodUntold { told: b.sum, whole: b.whole, entered });
    let programme = protocol.as_ref().map_or(0, |p| p.programme.0.len());
    // What the page asks to be weighed: what goes into the rotor, and what faces the odd one.
    let loaded: Vec<u8> = draw.loaded().collect();
    let several = loaded.len() > 1;
    let [first_odd, second_odd] = weighed.each_ref().map(|weighed| draw.odd(weighed));
    let twice = protocol.as_ref().is_some_and(|p| p.programme.spins().len() > 1);
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
        Field::FilledWeight(i) => loaded.contains(&i),
        Field::FilledWeightSecond(i) => twice && loaded.contains(&i),
        // What faces the only one is the odd one’s.
        Field::OwnCounterweight(i) => several && loaded.contains(&i),
        Field::OwnCounterweightSecond(i) => twice && several && loaded.contains(&i),
        Field::Counterweight => first_odd,
        Field::CounterweightSecond => twice && second_odd,
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
        corrections: draft.corrections.clone(),
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
