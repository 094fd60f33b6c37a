//! The plan of a case: the problem put together from order, kit and patient. Apart from [`super::assess`]: not
//! reckoned at every key.

use super::against::asked;
use super::draw::chosen_amount;
use super::product::giving_of;
use super::{Assessment, Now, assess};
use crate::arrange::sort_by;
use crate::bench::{Container, WhiteCells};
use crate::blood::anticoagulant::{self, Band, Dosing, Rounded, VolumeConvention};
use crate::blood::patient::{DrawDemand, LimitLevel, PatientCheck, check};
use crate::case::Case;
use crate::draft::{Field, WhiteCellOrder};
use crate::product::MAX_CONTAINERS;
use crate::product::kind::ProductKind;
use crate::product::order::OrderedAmount;
use crate::product::plan::{self, Aim, BloodLimit, Plan, Plasma, Problem, Vessel, Way};
use crate::product::predict::NativeCount;
use crate::quantity::{Quantity, Volume};
use crate::working::Worked;

/// Marks of one container that are tried, at most.
const MARKS: f64 = 500.0;
/// More than any draw [mL].
const FAR: f64 = 2000.0;

/// Why nothing can be planned, the first that holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unplanned {
    /// The order names no amount.
    NoAmount,
    /// The needle is in: what is planned is drawn.
    NeedleIn,
    /// This cannot be read.
    Unread(Field),
    /// Of two numbers ordered the second is the smaller.
    UpsideDown,
    /// No container is chosen.
    NoContainer,
    /// No protocol is chosen.
    NoProtocol,
    /// The protocol has no counts behind it.
    NoExpectation,
    /// White cells are ordered otherwise than the protocol leaves them.
    WhiteCells,
    /// No anticoagulant that suits the process, or its amount is not known.
    Anticoagulant,
    /// What is given, or what is added to it, is not known in full.
    NothingToGive,
    /// Between two numbers, and the second is not there yet.
    SecondNumber,
    /// The same dose is ordered in each part, and no concentration is enough for the smallest and not too much for
    /// the largest.
    PartsDiffer,
}

/// What to draw so that the order is met, in the container chosen. `None` while nothing can be planned.
pub fn plan(case: &Case, now: Now) -> Option<Plan> {
    plan_among(case, &assess(case, now), &[]).ok()
}

/// The same from its assessment, beside other containers of the shelf; that the protocol is used with them is not
/// known ([`crate::bench::Bench::alike`]). Errors: why nothing can be planned.
pub fn plan_among(case: &Case, answer: &Assessment, shelf: &[Container]) -> Result<Plan, Unplanned> {
    let problem = problem(case, answer)?;
    let own = case.draw.container.as_ref().ok_or(Unplanned::NoContainer)?;
    // The same case in each other container.
    let others: Vec<Case> = shelf
        .iter()
        .filter(|c| c.id != own.id)
        .filter_map(|container| {
            let mut other = case.clone();
            other.draw.dosing = Some(dosing_in(container, own, case)?);
            other.draw.container = Some(container.clone());
            Some(other)
        })
        .collect();
    let shelf: Vec<Problem<'_>> =
        others.iter().filter_map(|other| self::problem(other, answer).ok()).collect();
    Ok(plan::plan(&problem, &shelf))
}

/// The anticoagulant of another container: what is inside it when bought, or the same amount for its blood. An amount
/// for a filled container is that of one container and says nothing of another.
fn dosing_in(container: &Container, own: &Container, case: &Case) -> Option<Dosing> {
    match &container.prefill {
        Some(p) => (case.draw.agent == Some(p.agent)).then_some(Dosing::PerContainer(p.volume)),
        None => case.draw.dosing.filter(|d| own.prefill.is_none() && matches!(d, Dosing::PerBlood(_))),
    }
}

/// Whether the draft's own plan is this way already.
pub fn is_set(case: &Case, answer: &Assessment, way: &Way) -> bool {
    let own = case.draw.container.as_ref().is_some_and(|c| c.id == way.container);
    let drawn = answer.draw.plan.as_ref().is_some_and(|p| {
        let (set, planned) = (p.rounded.value.split, way.each.value.split);
        let same = |a: Volume, b: Volume| (a.get() - b.get()).abs() < 0.005;
        p.containers == way.containers
            && same(set.fill, planned.fill)
            && same(set.anticoagulant, planned.anticoagulant)
    });
    own && drawn && case.collect.planned.is_some_and(|v| (v.get() - way.product.get()).abs() < 0.005)
}

fn problem<'a>(case: &'a Case, answer: &Assessment) -> Result<Problem<'a>, Unplanned> {
    let orders = asked(&case.order);
    let unread = || case.unread.keys().copied();
    if orders.is_empty() && !unread().any(names_an_amount) {
        return Err(Unplanned::NoAmount);
    }
    if case.times.needle_in.is_some() {
        return Err(Unplanned::NeedleIn);
    }
    if let Some(field) = unread().find(|f| rests_on(*f)) {
        return Err(Unplanned::Unread(field));
    }
    let aims: Vec<Aim> = orders
        .into_iter()
        .map(|a| Some(Aim { what: a.what, bounds: a.bounds?, each_part: a.each_part }))
        .collect::<Option<_>>()
        .ok_or(Unplanned::UpsideDown)?;
    if orders_lack_second(case) {
        return Err(Unplanned::SecondNumber);
    }
    let protocol = case.protocol.as_ref().ok_or(Unplanned::NoProtocol)?;
    let container = case.draw.container.as_ref().ok_or(Unplanned::NoContainer)?;
    let expectation = protocol.expectation.as_ref().filter(|e| e.kind() == protocol.kind);
    let expectation = expectation.ok_or(Unplanned::NoExpectation)?;
    let against = matches!(
        (case.order.white_cells, protocol.white_cells),
        (Some(WhiteCellOrder::NotWanted), WhiteCells::Kept)
            | (Some(WhiteCellOrder::Wanted), WhiteCells::LeftBehind)
    );
    if against {
        return Err(Unplanned::WhiteCells);
    }
    let suits = case.draw.agent.is_some_and(|a| a.suits_process());
    let dosing = case.draw.dosing.filter(|_| suits).ok_or(Unplanned::Anticoagulant)?;
    let giving = giving_of(case).ok_or(Unplanned::NothingToGive)?;
    if giving.smallest == Volume::ZERO && aims.iter().any(|a| a.what == OrderedAmount::Platelets) {
        return Err(Unplanned::NothingToGive);
    }
    if aims.iter().any(|a| a.what == OrderedAmount::Platelets && !giving.parts_agree(a.bounds, a.each_part)) {
        return Err(Unplanned::PartsDiffer);
    }
    let counted = answer.product.native.as_ref();
    let native =
        counted.map_or(NativeCount::ADULTS, |n| NativeCount { value: n.count.value, cv: n.cv.value });
    if native.value.get() == 0.0 {
        return Err(Unplanned::Unread(Field::BloodCount));
    }
    let haematocrit = case.baseline.haematocrit.filter(|_| protocol.kind == ProductKind::OffTheTop);
    let plasma = haematocrit.map(|haematocrit| Plasma {
        haematocrit,
        packing: protocol.packing,
        left_behind: protocol.left_behind,
    });
    let vessel = vessel(container, dosing, answer.draw.band);
    Ok(Problem {
        kind: protocol.kind,
        expectation,
        native,
        counted: counted.is_some(),
        aims,
        giving,
        vessel,
        usual: case.collect.planned.filter(|v| v.get() > 0.0),
        plasma,
        blood: most_blood(case, |before, after| {
            after.missing.iter().all(|m| before.missing.contains(m))
                && after
                    .hits
                    .iter()
                    .all(|h| before.hits.iter().any(|b| b.rule == h.rule && b.level == h.level))
        }),
        blood_to_stop: most_blood(case, |before, after| {
            let stops = after.hits.iter().filter(|h| h.level == LimitLevel::Stop);
            // So much that is not known may be a Stop of its own.
            (after.unknown != Some(LimitLevel::Stop) || before.unknown == Some(LimitLevel::Stop))
                && stops
                    .into_iter()
                    .all(|h| before.hits.iter().any(|b| b.rule == h.rule && b.level == h.level))
        }),
        most_containers: if case.order.one_container { 1 } else { MAX_CONTAINERS },
    })
}

/// An amount is ordered between two numbers of which the second is not there.
fn orders_lack_second(case: &Case) -> bool {
    asked(&case.order).iter().any(|a| a.second_missing())
}

/// An amount that an order may name.
fn names_an_amount(field: Field) -> bool {
    matches!(field, Field::OrderPlatelets | Field::OrderConcentration | Field::OrderFold)
}

/// What a plan cannot do without, once somebody typed it.
fn rests_on(field: Field) -> bool {
    use Field as E;
    matches!(
        field,
        E::OrderVolume
            | E::OrderPlatelets
            | E::OrderPlateletsMost
            | E::OrderConcentration
            | E::OrderConcentrationMost
            | E::OrderFold
            | E::OrderFoldMost
            | E::PartVolume(_)
            | E::BloodCount
            | E::CountAge
            | E::CitrateFactor
            | E::BloodHaematocrit
            | E::BloodHaemoglobin
            | E::AnticoagulantPer100
            | E::AnticoagulantPerContainer
            | E::ProductVolume
            | E::CountSample
            | E::Weight
            | E::Height
            | E::Age
            | E::Discard
            | E::PreviousBlood
    )
}

/// Every mark of a container with the anticoagulant that goes with it, by rising blood. One whose anticoagulant
/// cannot be measured within its range is left out.
fn vessel(container: &Container, dosing: Dosing, band: Option<Band>) -> Vessel {
    let fill = |fill: f64| -> Option<Worked<Rounded>> {
        let (fill, mark) = (Volume::new(fill).ok()?, VolumeConvention::FillMark);
        let exact = anticoagulant::split(dosing, mark, fill).ok()?;
        let step = container.anticoagulant_graduation;
        match &container.prefill {
            Some(p) => chosen_amount(p.volume, mark, fill, band).ok(),
            None => anticoagulant::round_up(&exact.value, mark, fill, step, band).ok(),
        }
        .filter(|r| r.value.in_band != Some(false) && r.value.split.blood.get() > 0.0)
    };
    let (low, high) = (container.fill_low.get(), container.fill_high.get());
    // Every mark, or of very many every second, third, …: never the low ones alone.
    let one = container.graduation.get().max(0.05);
    let step = one * libm::ceil((high - low) / (MARKS * one)).max(1.0);
    let marks =
        (0_u16..2000).map(|i| low_mark(low, step) + f64::from(i) * step).take_while(|f| *f < high - 1e-9);
    // A tube with anticoagulant inside is filled to its line.
    let marks: Vec<f64> =
        if container.prefill.is_some() { vec![high] } else { marks.chain([high]).collect() };
    let mut fills: Vec<_> = marks.into_iter().filter_map(fill).collect();
    sort_by(&mut fills, |a, b| a.value.split.blood.get().total_cmp(&b.value.split.blood.get()));
    Vessel {
        id: container.id.clone(),
        name: container.name.clone(),
        fills,
        graduation: container.anticoagulant_graduation,
        product_low: container.product_low,
        product_high: container.product_high,
    }
}

/// The lowest mark that is not below the range.
fn low_mark(low: f64, step: f64) -> f64 {
    libm::ceil(low / step - 1e-9) * step
}

/// Most blood for which what is found is no worse than without it; `None` where nothing stands in the way. What cannot
/// be judged even without a draw allows none.
fn most_blood(case: &Case, as_good: impl Fn(&PatientCheck, &PatientCheck) -> bool) -> Option<BloodLimit> {
    let judge = |blood: f64| {
        let demand = DrawDemand {
            today: Volume::new(blood).ok()?,
            discards: case.discard.unwrap_or(Volume::ZERO),
            previous_eight_weeks: case.previous.unwrap_or(Volume::ZERO),
        };
        check(&case.limits, &case.patient, &demand).ok()
    };
    let none = BloodLimit { most: Volume::ZERO, rule: None };
    let Some(before) = judge(0.0) else { return Some(none) };
    let good = |blood: f64| judge(blood).is_some_and(|after| as_good(&before, &after));
    if good(FAR) {
        return None;
    }
    let (mut low, mut high) = (0.0, FAR);
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if good(middle) { low = middle } else { high = middle }
    }
    let past = judge(high);
    let new = past.iter().flat_map(|p| &p.hits);
    let rule = new
        .map(|h| (h.rule, h.level))
        .find(|(rule, level)| !before.hits.iter().any(|b| b.rule == *rule && b.level == *level));
    let asked = past.is_some_and(|p| p.missing.iter().any(|m| !before.missing.contains(m)));
    let most = Volume::new(low).unwrap_or(Volume::ZERO);
    Some(BloodLimit { most, rule: rule.map(|(r, _)| r).filter(|_| !asked) })
}

#[cfg(test)]
mod tests;
