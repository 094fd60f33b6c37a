//! What the spun blood gives: expected, counted, shared out; one ledger for all of it.

pub use super::against::{OrderChance, OrderLine, OrderedAmount};
use super::against::{against_order, upside_down};
use super::draw::Totals;
use super::{about, counting};
use crate::bench::WhiteCells;
use crate::blood::baseline::{self, SampleKind};
use crate::blood::patient::LimitRule;
use crate::case::{AdditionTyped, Case};
use crate::draft::{CountStanding, Field, TroubleKind, WhiteCellOrder};
use crate::finding::{Finding, FindingKind};
use crate::product::addition::{self, Addition, CalciumAgainstCitrate};
use crate::product::cells::OtherCells;
use crate::product::classification::Classified;
use crate::product::closing::{Balance, VolumeClosing};
use crate::product::doubt;
use crate::product::kind::{self, ProductKind};
use crate::product::ledger::{self, Closed, Closure, Ledger, Losses, SiteVolume};
use crate::product::measured::{self, Bound, Measured, Readings};
use crate::product::order::Giving;
use crate::product::predict::{self, ANALYSER, NativeCount, Prediction, Row, Volumes};
use crate::product::range::Range;
use crate::product::recipe::Linear;
use crate::product::share;
use crate::product::slip::Slip;
use crate::quantity::time::Instant;
use crate::quantity::{CellCount, Cells, Cv, Fold, Quantity, Volume};
use crate::working::{Worked, Working};
use serde::Serialize;

/// A concentrate that holds less than so many times the blood's own platelets, or than this part of the low end of
/// what is expected, is not taken for the product without a look; own judgement ([`SourceId::UnlikelyCount`]).
const UNLIKELY_FOLD: f64 = 1.2;
const UNLIKELY_PART: f64 = 0.5;

/// The blood's own count and how sure it is.
#[derive(Debug, Clone, PartialEq)]
pub struct Native {
    /// Corrected for the kind of sample.
    pub count: Worked<CellCount>,
    /// Relative SD by age.
    pub cv: Worked<Cv>,
}

/// What one part of the site gets.
#[derive(Debug, Clone, PartialEq)]
pub struct ShareLine {
    /// Row of the order, from 0; `None` when the order names one volume for the whole site.
    pub part: Option<u8>,
    /// The part in the order's words; empty for the whole site.
    pub name: String,
    /// Volume: what was entered for it, else ordered.
    pub volume: Volume,
    /// Whether it was entered and the product handed over: until then it is only planned.
    pub given: bool,
    /// Dose expected there.
    pub predicted: Option<Worked<Range<Cells>>>,
    /// Dose there by the count.
    pub counted: Option<Worked<Cells>>,
}

/// How much of what is shared out was given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Shared {
    /// All of it.
    Given,
    /// Some parts, others are planned.
    Partly,
    /// Nothing yet.
    Planned,
}

/// Product after additions.
#[derive(Debug, Clone, PartialEq)]
pub struct Mixed {
    /// Volume after sample and additions, before sharing.
    pub volume: Worked<Volume>,
    /// Concentration by the count.
    pub counted: Option<Worked<CellCount>>,
    /// Calcium against citrate, when calcium is added and the citrate is known.
    pub calcium: Option<CalciumAgainstCitrate>,
}

/// Everything about the product.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct ProductResult {
    /// The blood's own count.
    pub native: Option<Native>,
    /// Product volume: kept if entered, else planned.
    pub volume: Option<Volume>,
    /// Whether the volume was entered as kept.
    pub collected: bool,
    /// What to expect.
    pub prediction: Option<Prediction>,
    /// What a count of the product will read, the mean of the readings asked for.
    pub will_read: Option<Worked<Range<CellCount>>>,
    /// What to expect when there is no count of the blood, taking the patient for any adult: one wide range. Its
    /// platelets drawn are nobody's.
    pub any_adult: Option<Prediction>,
    /// What to expect at plausible counts, when there is no count.
    pub table: Option<Worked<Vec<Row>>>,
    /// Most plasma that can be taken off the top.
    pub bound: Option<Worked<Volume>>,
    /// What was counted. Unless it is `confirmed` it is a reading alone: no fold, recovery or total follows.
    pub measured: Option<Measured>,
    /// Whether the count may be relied on: its sample was said to be mixed and free of clumps, no clumps stand in
    /// what went wrong, and it is no more than can be.
    pub confirmed: bool,
    /// Where every millilitre goes.
    pub ledger: Option<Closed>,
    /// What each part gets.
    pub shares: Vec<ShareLine>,
    /// How much of them was given; `None` without one.
    pub shared: Option<Shared>,
    /// Dose in all parts together, expected.
    pub dose_predicted: Option<Worked<Range<Cells>>>,
    /// Dose in all parts together, by the count.
    pub dose_counted: Option<Worked<Cells>>,
    /// After additions.
    pub mixed: Option<Mixed>,
    /// Volume in the syringe: kept, less the count sample once it was taken, with what was added. `None` until the
    /// volume kept is entered, and while an addition is not known in full.
    pub inside: Option<Volume>,
    /// Whether the count sample was taken; otherwise it is planned.
    pub sample_taken: bool,
    /// Against what the order names.
    pub order: Vec<OrderLine>,
    /// Chance that all of several amounts ordered are met at once.
    pub order_at_once: Option<OrderChance>,
    /// White cells, red cells, haematocrit, neutrophils.
    pub other: OtherCells,
    /// The readings against the analyser's range: the first that lies outside, else the first; `None` without a
    /// reading.
    pub linear: Option<Linear>,
    /// Volumes after the spin against the fill, once product, plasma and cells are measured.
    pub volumes: Option<VolumeClosing>,
    /// Where the platelets drawn are, once the plasma is counted too.
    pub balance: Option<Balance>,
    /// More platelets than were drawn: what to check, in order, and what each would make of the number.
    pub slips: Vec<Slip>,
    /// Published classes, once the product is counted.
    pub classified: Vec<Classified>,
}

pub(super) fn product(
    case: &Case,
    totals: Option<&Totals>,
    now: Instant,
    found: &mut Vec<FindingKind>,
) -> ProductResult {
    let mut result = ProductResult { native: native(case, totals, found), ..ProductResult::default() };
    let unread = case.is_unread(Field::ProductActual);
    let volume = case.collect.actual.or(case.collect.planned.filter(|_| !unread));
    result.volume = volume.filter(|v| v.get() > 0.0);
    // A planned volume makes no counted total.
    result.collected = case.collect.actual.is_some();
    contradictions(case, found);
    upside_down(&case.order, found);
    result.sample_taken = case.count.sample_taken;
    // With a container of unknown fill, nothing is held against all the blood.
    let all = totals.filter(|t| t.unknown.is_empty());
    if let (Some(totals), Some(volume)) = (all, result.volume) {
        bounds(case, totals, volume, &mut result, found);
        expect(case, totals, volume, &mut result, found);
    }
    result.measured = measure(case, all, &result, found);
    let doubted =
        found.iter().any(|kind| matches!(kind, FindingKind::FoldUnlikely { .. }) && waits(case, kind, now));
    result.confirmed = result.measured.as_ref().is_some_and(|m| !doubted && confirmed(case, m));
    if let Some(m) = result.measured.as_mut().filter(|_| !result.confirmed) {
        (m.in_product, m.fold, m.recovery) = (None, None, None);
    }
    let (additions, all_known) = additions(case, found);
    let parts = parts(case);
    let Some(volume) = result.volume else { return result };
    if let Some(totals) = all {
        result.ledger = close(case, totals, volume, &additions, &parts, found);
    }
    // Additions go into what is left after the count sample.
    let Some(left) = after_sample(case, volume) else { return result };
    result.mixed = mixed(totals, left, &additions, &result, found).filter(|_| all_known);
    result.inside = inside(&additions, if result.sample_taken { left } else { volume })
        .filter(|_| all_known && result.collected);
    shares(&parts, all_known.then_some(additions.as_slice()), left, &mut result);
    let giving = giving(case, &parts, &additions).filter(|_| all_known);
    let basis = all.and_then(|totals| volumes(case, totals, volume));
    (result.order, result.order_at_once) = against_order(case, &result, basis, giving);
    result
}

/// What is left of the product after the count sample; `None` when the sample cannot be read.
fn after_sample(case: &Case, volume: Volume) -> Option<Volume> {
    let sample = case.count.sample.unwrap_or(Volume::ZERO);
    Volume::new((volume.get() - sample.get()).max(0.0)).ok().filter(|_| !case.is_unread(Field::CountSample))
}

/// What is in the syringe, with what was added.
fn inside(additions: &[Addition], rest: Volume) -> Option<Volume> {
    match additions {
        [] => Some(rest),
        additions => addition::volume_after(rest, additions).ok().map(|w| w.value),
    }
}

/// Whether something the blood's own count rests on was typed and not read.
fn count_unread(case: &Case) -> bool {
    [Field::BloodCount, Field::CountAge, Field::CitrateFactor].into_iter().any(|f| case.is_unread(f))
}

fn native(case: &Case, totals: Option<&Totals>, found: &mut Vec<FindingKind>) -> Option<Native> {
    let b = &case.baseline;
    // Once a draw is planned, the clinic's own limit speaks of the same thing.
    let limit_speaks =
        found.iter().any(|f| matches!(f, FindingKind::Limit(hit) if hit.rule == LimitRule::HaemoglobinLow));
    if let Some(haemoglobin) = b.haemoglobin
        && baseline::haemoglobin_below_10(haemoglobin)
        && !limit_speaks
    {
        found.push(FindingKind::HaemoglobinLow(haemoglobin));
    }
    if count_unread(case) {
        return None;
    }
    let Some(reading) = b.reading else {
        if b.standing.is_some() {
            found.push(FindingKind::NoCount);
        }
        return None;
    };
    let kind = match (b.standing, b.sample) {
        (Some(CountStanding::Older), None) => SampleKind::OlderResult,
        (_, Some(kind)) => kind,
        (_, None) => {
            found.push(FindingKind::SampleUnsaid);
            SampleKind::LaboratoryEdta
        }
    };
    let older = b.standing == Some(CountStanding::Older);
    let days = b.age_days.filter(|_| older);
    match kind {
        _ if older && kind != SampleKind::FingerPrick => {
            found.push(FindingKind::WeakSample(SampleKind::OlderResult, days));
        }
        SampleKind::FingerPrick | SampleKind::OlderResult => found.push(FindingKind::WeakSample(kind, days)),
        _ => {}
    }
    let ratio = totals.and_then(|t| t.ratio.as_ref()).map(|r| r.value);
    let count = baseline::native(reading, kind, ratio, b.citrate_factor).ok()?;
    if baseline::platelets_below_100(count.value) {
        found.push(FindingKind::PlateletsLow(count.value));
    }
    let age = match b.standing {
        Some(CountStanding::Older) => b.age_days,
        _ => Some(0),
    };
    Some(Native { cv: predict::count_cv(age).ok()?, count })
}

fn contradictions(case: &Case, found: &mut Vec<FindingKind>) {
    let Some(protocol) = &case.protocol else { return };
    let contradict = matches!(
        (case.order.white_cells, protocol.white_cells),
        (Some(WhiteCellOrder::NotWanted), WhiteCells::Kept)
            | (Some(WhiteCellOrder::Wanted), WhiteCells::LeftBehind)
    );
    if contradict {
        found.push(FindingKind::WhiteCellsContradict);
    }
}

fn bounds(
    case: &Case,
    totals: &Totals,
    volume: Volume,
    result: &mut ProductResult,
    found: &mut Vec<FindingKind>,
) {
    if let Some(protocol) = case.protocol.as_ref().filter(|p| p.kind == ProductKind::OffTheTop) {
        match case.baseline.haematocrit {
            Some(h) => {
                result.bound = kind::product_bound(
                    totals.fill,
                    totals.blood.value,
                    h,
                    protocol.packing,
                    protocol.left_behind,
                )
                .ok();
            }
            None => found.push(FindingKind::HaematocritUnknown),
        }
    }
    let bound = result.bound.as_ref().map_or(totals.fill, |b| b.value);
    if case.collect.actual.is_some() && volume > totals.fill {
        found.push(FindingKind::KeptAboveFill { kept: volume, fill: totals.fill });
    } else if volume > bound {
        found.push(FindingKind::ProductAboveBound { asked: volume, bound });
    }
    if let Some(container) = &case.draw.container {
        let times = f64::from(totals.containers);
        let below = container.product_low.is_some_and(|low| volume.get() < low.get() * times);
        let above = container.product_high.is_some_and(|high| volume.get() > high.get() * times);
        if below || above {
            found.push(FindingKind::ProductOutsideRange { asked: volume });
        }
    }
}

fn expect(
    case: &Case,
    totals: &Totals,
    volume: Volume,
    result: &mut ProductResult,
    found: &mut Vec<FindingKind>,
) {
    let Some(protocol) = &case.protocol else { return };
    let expectation = protocol.expectation.as_ref();
    match expectation {
        None => found.push(FindingKind::NothingToPredictFrom),
        Some(e) if e.literature().is_some() => found.push(FindingKind::LiteratureRange),
        Some(_) => {}
    }
    let known = result.native.as_ref().map(|n| NativeCount { value: n.count.value, cv: n.cv.value });
    let Some(volumes) = volumes(case, totals, volume) else { return };
    match predict::predict(protocol.kind, expectation, volumes, known) {
        Ok(prediction) => result.prediction = Some(prediction),
        Err(range) => found.push(FindingKind::Beyond { counted: false, range }),
    }
    let expected = expectation.filter(|e| e.kind() == protocol.kind);
    if let (Some(known), Some(expectation)) = (known, expected) {
        let readings = u8::try_from(case.count.readings.len()).unwrap_or(u8::MAX);
        result.will_read = doubt::will_read(expectation, volumes, known, readings).ok().flatten();
    }
    if known.is_none() && expectation.is_some() && !count_unread(case) {
        let adult = Some(NativeCount::ADULTS);
        result.any_adult = predict::predict(protocol.kind, expectation, volumes, adult).ok();
        result.table = predict::table(&predict::PLAUSIBLE, protocol.kind, expectation, volumes).ok();
    }
}

/// What a prediction of this product rests on. The product is read to the graduation of the device that measures
/// small volumes, the one for the anticoagulant.
pub(super) fn volumes(case: &Case, totals: &Totals, product: Volume) -> Option<Volumes> {
    Some(Volumes {
        blood: totals.blood.value,
        product,
        graduation: case.draw.container.as_ref().map(|c| c.anticoagulant_graduation),
        containers: totals.containers,
    })
}

/// How the product will be given; no sites while the order names no volume. `None` while an addition is not known in
/// full or something it rests on cannot be read.
pub(super) fn giving_of(case: &Case) -> Option<Giving> {
    let (additions, all_known) = additions(case, &mut Vec::new());
    giving(case, &parts(case), &additions).filter(|_| all_known)
}

fn giving(case: &Case, parts: &[PartVolume], additions: &[Addition]) -> Option<Giving> {
    let unread = |f: &Field| {
        matches!(f, Field::PartVolume(_) | Field::PartGiven(_) | Field::CountSample)
            || matches!(f, Field::NeedleChanges | Field::Transfers)
            || (*f == Field::OrderVolume && parts.is_empty())
    };
    if case.unread.keys().any(unread) {
        return None;
    }
    let each = || parts.iter().map(|p| p.volume.get());
    let largest = Volume::new(each().fold(0.0, f64::max)).ok()?;
    Some(Giving {
        sites: Volume::new(each().sum()).ok()?,
        smallest: Volume::new(each().filter(|v| *v > 0.0).fold(largest.get(), f64::min)).ok()?,
        largest,
        sample: case.count.sample.unwrap_or(Volume::ZERO),
        added: addition::added(additions).ok()?,
        losses: losses(case).total().ok()?.value,
    })
}

fn losses(case: &Case) -> Losses {
    let container = case.draw.container.as_ref();
    Losses {
        needle_changes: case.passage.needle_changes.unwrap_or(0),
        per_needle: container.map_or(Volume::ZERO, |c| c.needle_loss),
        transfers: case.passage.transfers.unwrap_or(0),
        per_transfer: container.map_or(Volume::ZERO, |c| c.transfer_loss),
    }
}

/// What was counted. `all` is all the blood, if it is known: without it neither fold nor recovery is reckoned, and
/// that is said.
fn measure(
    case: &Case,
    all: Option<&Totals>,
    so_far: &ProductResult,
    found: &mut Vec<FindingKind>,
) -> Option<Measured> {
    if case.unread.keys().any(|f| matches!(f, Field::Reading(_) | Field::Dilution)) {
        return None;
    }
    let kept = so_far.volume.filter(|_| so_far.collected);
    let Some((first, more)) = case.count.readings.split_first() else {
        if kept.is_some() {
            found.push(FindingKind::ProductNotCounted);
        }
        return None;
    };
    match case.count.mixed {
        Some(true) => {}
        Some(false) => found.push(FindingKind::NotMixed),
        None => found.push(FindingKind::MixingUnsaid),
    }
    if case.count.white.is_none() {
        found.push(FindingKind::WhiteCellsNotCounted);
    }
    let Some(dilution) = case.count.dilution else {
        found.push(FindingKind::DilutionUnsaid);
        return None;
    };
    if all.is_none() {
        found.push(FindingKind::BloodUnknown);
    }
    let (sample_kind, source) = counting::tube(case)?;
    let readings = Readings { first: *first, more: more.to_vec(), dilution, sample_kind };
    let baseline = all.zip(so_far.native.as_ref()).map(|(totals, n)| measured::Baseline {
        native: n.count.value,
        cv: n.cv.value,
        blood: totals.blood.value,
    });
    let measured = match measured::measure(&readings, kept, baseline, ANALYSER) {
        Ok(mut measured) => {
            if let Some(source) = source {
                let working = std::mem::take(&mut measured.concentration.working);
                measured.concentration.working = working.from(source);
            }
            measured
        }
        Err(range) => {
            found.push(FindingKind::Beyond { counted: true, range });
            return None;
        }
    };
    let concentrate = case.protocol.as_ref().is_some_and(|p| p.kind == ProductKind::Concentrate);
    let expected =
        so_far.prediction.as_ref().and_then(|p| p.fold.as_ref()).map_or(0.0, |f| f.value.low.get());
    let least = UNLIKELY_FOLD.max(expected * UNLIKELY_PART);
    if let Some(fold) = measured.fold.as_ref().map(|f| f.value).filter(|f| concentrate && f.get() < least) {
        found.push(FindingKind::FoldUnlikely { fold });
    }
    if let (Bound::Above | Bound::AboveWithinError, Some(baseline)) = (measured.bound, baseline) {
        match &measured.fold {
            Some(fold) => {
                if let Some(Ok(ceiling)) = kept.map(|volume| kind::ceiling(baseline.blood, volume)) {
                    found.push(FindingKind::AboveCeiling { fold: fold.value, ceiling: ceiling.value });
                }
            }
            None => {
                let fold = Fold::new(measured.concentration.value.get() / baseline.native.get());
                found.extend(fold.err().map(|range| FindingKind::Beyond { counted: true, range }));
            }
        }
    }
    Some(measured)
}

/// Whether nobody has looked at this finding as it stands.
fn waits(case: &Case, kind: &FindingKind, now: Instant) -> bool {
    Finding::new(kind.clone(), about::about(kind, case, now), &case.decisions).is_open()
}

/// The one rule for what a count may carry, on page, card and label.
fn confirmed(case: &Case, measured: &Measured) -> bool {
    let clumps = case.standing_troubles().any(|t| t.kind == TroubleKind::Clumps);
    let read = |r: &CellCount| !matches!(case.analyser.holds(*r), Linear::Above | Linear::Below);
    let linear = case.count.readings.iter().all(read);
    case.count.mixed == Some(true) && !clumps && linear && measured.bound != Bound::Above
}

impl ProductResult {
    /// The count, where it may be relied on.
    pub fn counted(&self) -> Option<&Measured> {
        self.measured.as_ref().filter(|_| self.confirmed)
    }

    /// Read, but not to be relied on.
    pub fn unconfirmed(&self) -> bool {
        self.measured.is_some() && !self.confirmed
    }
}

/// Additions that are known in full, and whether these are all; says when they are not.
fn additions(case: &Case, found: &mut Vec<FindingKind>) -> (Vec<Addition>, bool) {
    let whole: Vec<Addition> = case
        .additions
        .iter()
        .filter_map(|a| match a {
            AdditionTyped::Whole(addition) => Some(addition.clone()),
            AdditionTyped::Partial => None,
        })
        .collect();
    let all_known = whole.len() == case.additions.len();
    if !all_known {
        found.push(FindingKind::AdditionIncomplete);
    }
    (whole, all_known)
}

fn mixed(
    totals: Option<&Totals>,
    rest: Volume,
    additions: &[Addition],
    result: &ProductResult,
    found: &mut Vec<FindingKind>,
) -> Option<Mixed> {
    if additions.is_empty() {
        return None;
    }
    let calcium = addition::calcium_added(additions).ok().filter(|c| c.value.get() > 0.0);
    if calcium.is_some() {
        found.push(FindingKind::CalciumAdded);
    }
    // The product is taken as plasma without red cells: its citrate is then the most that can be present.
    let none = crate::quantity::Haematocrit::constant(0.0);
    let citrate = totals.and_then(|t| t.citrate.as_ref());
    let against = calcium.and(citrate).and_then(|citrate| {
        let mut against = addition::calcium_against_citrate(additions, citrate.value, rest, none).ok()?;
        against.citrate.working = citrate.working.clone().then(against.citrate.working);
        Some(against)
    });
    Some(Mixed {
        volume: addition::volume_after(rest, additions).ok()?,
        // How far it is diluted rests on the volume kept.
        counted: result
            .counted()
            .filter(|_| result.collected)
            .and_then(|m| addition::concentration_after(m.concentration.value, rest, additions).ok()),
        calcium: against,
    })
}

/// A part of the site with its volume: what was entered for it, else ordered. Nothing is given before the hand-over.
struct PartVolume {
    row: Option<u8>,
    name: String,
    volume: Volume,
    given: bool,
}

fn parts(case: &Case) -> Vec<PartVolume> {
    let rows = (0u8..).zip(&case.order.parts);
    let parts: Vec<_> = rows
        .filter(|(i, _)| !case.is_unread(Field::PartGiven(*i)))
        .filter_map(|(i, part)| {
            // Signed without a product, what was to be given from it is none.
            let entered = part.given.filter(|_| !case.ended);
            let volume = entered.or(part.planned)?;
            let given = part.was_given && entered.is_some();
            Some(PartVolume { row: Some(i), name: part.name.clone(), volume, given })
        })
        .collect();
    if !parts.is_empty()
        || case.unread.keys().any(|f| matches!(f, Field::PartVolume(_) | Field::PartGiven(_)))
    {
        return parts;
    }
    let whole =
        case.order.volume.map(|volume| PartVolume { row: None, name: String::new(), volume, given: false });
    whole.into_iter().collect()
}

fn close(
    case: &Case,
    totals: &Totals,
    volume: Volume,
    additions: &[Addition],
    parts: &[PartVolume],
    found: &mut Vec<FindingKind>,
) -> Option<Closed> {
    let rests_on = |f: &Field| match f {
        Field::CountSample | Field::NeedleChanges | Field::Transfers => true,
        Field::PartVolume(_) | Field::PartGiven(_) => true,
        Field::OrderVolume => parts.is_empty(),
        _ => false,
    };
    if case.unread.keys().any(rests_on) {
        return None;
    }
    let sites = parts.iter().enumerate().map(|(index, p)| SiteVolume { index, volume: p.volume }).collect();
    let closed = ledger::close(&Ledger {
        anticoagulant: totals.anticoagulant.value,
        blood: totals.blood.value,
        product: volume,
        sample: case.count.sample.unwrap_or(Volume::ZERO),
        losses: losses(case),
        added: addition::added(additions).ok()?,
        sites,
    })
    .ok()?;
    if let Closure::Short { at: ledger::Where::Product, missing } = closed.closure {
        found.push(FindingKind::LedgerShort { missing });
    }
    Some(closed)
}

/// How much was given; `None` where nothing is shared out.
fn shared(shares: &[ShareLine]) -> Option<Shared> {
    match (shares.iter().any(|s| s.given), shares.iter().any(|s| !s.given)) {
        (true, false) => Some(Shared::Given),
        (true, true) => Some(Shared::Partly),
        (false, true) => Some(Shared::Planned),
        (false, false) => None,
    }
}

/// Doses; none while an addition is not known in full.
fn shares(parts: &[PartVolume], additions: Option<&[Addition]>, rest: Volume, result: &mut ProductResult) {
    let after = |c: CellCount| match additions? {
        [] => Some(c),
        additions => addition::concentration_after(c, rest, additions).ok().map(|w| w.value),
    };
    // No dose is counted of a product whose volume is not known.
    let measured = result.counted().filter(|_| result.collected);
    let counted = measured.and_then(|m| after(m.concentration.value));
    let predicted = result.prediction.as_ref().and_then(|p| p.concentration.as_ref()).and_then(|c| {
        Some(Range { median: after(c.value.median)?, low: after(c.value.low)?, high: after(c.value.high)? })
    });
    result.shares = parts
        .iter()
        .map(|p| ShareLine {
            part: p.row,
            name: p.name.clone(),
            volume: p.volume,
            given: p.given,
            predicted: predicted.and_then(|c| share::dose_range(c, p.volume).ok()),
            counted: counted.and_then(|c| share::dose(c, p.volume).ok()),
        })
        .collect();
    result.shared = shared(&result.shares);
    let Some(all) = result.ledger.as_ref().map(|l| l.sites.clone()).filter(|v| v.value.get() > 0.0) else {
        return;
    };
    let joined = |working: Working| all.working.clone().then(working);
    result.dose_predicted = predicted
        .and_then(|c| share::dose_range(c, all.value).ok())
        .map(|w| Worked::new(w.value, joined(w.working)));
    result.dose_counted =
        counted.and_then(|c| share::dose(c, all.value).ok()).map(|w| Worked::new(w.value, joined(w.working)));
}
