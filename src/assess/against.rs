//! The order beside what is expected and what was counted.

use super::product::{ProductResult, Shared};
use crate::case::{Case, Order};
use crate::evidence::SourceId;
use crate::finding::FindingKind;
use crate::product::doubt;
use crate::product::kind::Expectation;
use crate::product::measured::{self, AgainstOrder};
use crate::product::order::{Bounds, Giving, Likelihood, Needs, OrderSense, Ordered};
use crate::product::predict::{ANALYSER, NativeCount, Volumes};
use crate::quantity::{Cv, Quantity, Share};
use crate::working::Worked;

pub use crate::product::order::OrderedAmount;

/// What the order asked of one amount, beside what is expected and counted.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderLine {
    /// Which amount.
    pub what: OrderedAmount,
    /// How its number is meant.
    pub sense: OrderSense,
    /// Ordered, in the amount's own unit.
    pub ordered: f64,
    /// The second number, where the order names two.
    pub most: Option<f64>,
    /// It is for each part of the site.
    pub each_part: bool,
    /// Counted against it; `None` while not counted.
    pub counted: Option<AgainstOrder>,
    /// Of platelets counted against it, how much was given; what is not is a dose on a planned volume.
    pub shared: Option<Shared>,
    /// Whether the median expected lies within it; `None` without a prediction or without a count of the blood.
    pub expected: Option<bool>,
    /// Chance that it is met.
    pub chance: Option<OrderChance>,
}

/// A chance that what is ordered is met. Without a count of the blood the patient is taken for any adult. Not for a
/// label.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderChance {
    /// In figures.
    pub chance: Worked<Share>,
    /// As it may be said: words until the clinic has counts enough.
    pub likelihood: Likelihood,
}

/// An amount ordered, whatever its unit.
#[derive(Debug, Clone, Copy)]
pub(super) struct Asked {
    pub(super) what: OrderedAmount,
    pub(super) sense: OrderSense,
    pub(super) named: f64,
    pub(super) most: Option<f64>,
    pub(super) each_part: bool,
    pub(super) bounds: Option<Bounds>,
}

impl Asked {
    /// Between two numbers, and the second is not there.
    pub(super) fn second_missing(&self) -> bool {
        self.sense == OrderSense::Between && self.most.is_none()
    }
}

/// Everything the order names, in the order asked.
pub(super) fn asked(order: &Order) -> Vec<Asked> {
    fn one<Q: Quantity>(what: OrderedAmount, ordered: Ordered<Q>, each_part: bool) -> Asked {
        Asked {
            what,
            sense: ordered.sense(),
            named: ordered.named().get(),
            most: ordered.most().map(Quantity::get),
            each_part,
            bounds: ordered.bounds(),
        }
    }
    let platelets = order.platelets.map(|o| one(OrderedAmount::Platelets, o, order.each_part));
    let concentration = order.concentration.map(|o| one(OrderedAmount::Concentration, o, false));
    let fold = order.fold.map(|o| one(OrderedAmount::Fold, o, false));
    [platelets, concentration, fold].into_iter().flatten().collect()
}

/// Says where an order names two numbers upside down.
pub(super) fn upside_down(order: &Order, found: &mut Vec<FindingKind>) {
    for asked in asked(order) {
        if let (None, Some(most)) = (asked.bounds, asked.most) {
            found.push(FindingKind::OrderUpsideDown { what: asked.what, least: asked.named, most });
        }
    }
}

/// Each amount ordered beside what is expected and counted, and where there are several, the chance that all are met
/// at once; an order that contradicts itself is left out.
pub(super) fn against_order(
    case: &Case,
    result: &ProductResult,
    volumes: Option<Volumes>,
    giving: Option<Giving>,
) -> (Vec<OrderLine>, Option<OrderChance>) {
    let expectation =
        case.protocol.as_ref().and_then(|p| p.expectation.as_ref().filter(|e| e.kind() == p.kind));
    let asked = asked(&case.order);
    let said = |e: &Expectation, chance: Worked<Share>| OrderChance {
        likelihood: Likelihood::of(chance.value.get(), e.counts()),
        chance,
    };
    let of_all = expectation
        .zip(volumes)
        .filter(|_| asked.iter().filter(|one| one.bounds.is_some()).count() > 1)
        .and_then(|(e, v)| Some(said(e, chance_of_all(&asked, result, e, v, giving)?)));
    let lines = asked
        .into_iter()
        .filter_map(|asked| {
            let bounds = asked.bounds?;
            let chance = expectation
                .zip(volumes)
                .and_then(|(e, v)| Some(said(e, chance(&asked, bounds, result, e, v, giving)?)));
            let counted = counted(case, result, &asked);
            let a_dose = asked.what == OrderedAmount::Platelets && counted.is_some();
            Some(OrderLine {
                what: asked.what,
                sense: asked.sense,
                ordered: asked.named,
                most: asked.most,
                each_part: asked.each_part,
                counted,
                shared: result.shared.filter(|_| a_dose),
                expected: median(result, &asked).map(|m| bounds.contains(m)),
                chance,
            })
        })
        .collect();
    (lines, of_all)
}

/// The median expected of the amount; of a dose for each part, that of the part furthest from the order.
fn median(result: &ProductResult, asked: &Asked) -> Option<f64> {
    let prediction = result.prediction.as_ref()?;
    match asked.what {
        OrderedAmount::Platelets if asked.each_part => {
            let bounds = asked.bounds?;
            let doses =
                || result.shares.iter().filter_map(|s| Some(s.predicted.as_ref()?.value.median.get()));
            doses().find(|d| !bounds.contains(*d)).or_else(|| doses().next())
        }
        OrderedAmount::Platelets => Some(result.dose_predicted.as_ref()?.value.median.get()),
        OrderedAmount::Concentration => Some(prediction.concentration.as_ref()?.value.median.get()),
        OrderedAmount::Fold => Some(prediction.fold.as_ref()?.value.median.get()),
    }
}

fn counted(case: &Case, result: &ProductResult, asked: &Asked) -> Option<AgainstOrder> {
    let replicates = f64::from(u32::try_from(case.count.readings.len()).unwrap_or(1).max(1));
    let cv = Cv::new(ANALYSER.get() / libm::sqrt(replicates)).unwrap_or(ANALYSER);
    let measured = result.counted();
    let order = &case.order;
    match asked.what {
        OrderedAmount::Platelets if asked.each_part => {
            let parts: Vec<AgainstOrder> = result
                .shares
                .iter()
                .filter_map(|s| measured::against_order(s.counted.as_ref()?.value, cv, order.platelets?))
                .collect();
            // The part that stands worst stands for all.
            [AgainstOrder::NotMet, AgainstOrder::WithinCountingError, AgainstOrder::Met]
                .into_iter()
                .find(|state| parts.contains(state))
        }
        OrderedAmount::Platelets => {
            measured::against_order(result.dose_counted.as_ref()?.value, cv, order.platelets?)
        }
        OrderedAmount::Concentration => {
            measured::against_order(measured?.concentration.value, cv, order.concentration?)
        }
        OrderedAmount::Fold => {
            // A fold rests on two counts.
            let both = result.native.as_ref().map_or(0.0, |n| n.cv.value.get());
            let cv = Cv::new(libm::hypot(cv.get(), both)).unwrap_or(cv);
            measured::against_order(measured?.fold.as_ref()?.value, cv, order.fold?)
        }
    }
}

/// Chance that the true content lies within what is ordered.
fn chance(
    asked: &Asked,
    bounds: Bounds,
    result: &ProductResult,
    expectation: &Expectation,
    volumes: Volumes,
    giving: Option<Giving>,
) -> Option<Worked<Share>> {
    let (native, adult) = native_of(result);
    let needed = needed(asked, bounds, volumes, giving)?;
    let chance = doubt::chance(expectation, volumes, native, asked.what, needed).ok().flatten()?;
    let mut worked = doubt::worked_chance(chance, needed, expectation)?;
    if adult && asked.what != OrderedAmount::Fold {
        worked.working = worked.working.from(SourceId::Nhanes2011);
    }
    Some(worked)
}

/// The count of the blood, or that of any adult.
fn native_of(result: &ProductResult) -> (Option<NativeCount>, bool) {
    let known = result.native.as_ref().map(|n| NativeCount { value: n.count.value, cv: n.cv.value });
    (known.or_else(|| result.any_adult.as_ref().map(|_| NativeCount::ADULTS)), known.is_none())
}

/// What an amount asks of concentration or fold.
fn needed(asked: &Asked, bounds: Bounds, volumes: Volumes, giving: Option<Giving>) -> Option<Bounds> {
    match asked.what {
        OrderedAmount::Platelets => giving?.needs(bounds, asked.each_part, volumes.product.get()),
        OrderedAmount::Concentration | OrderedAmount::Fold => Some(bounds),
    }
}

/// Chance that the true content meets everything ordered that does not contradict itself.
fn chance_of_all(
    asked: &[Asked],
    result: &ProductResult,
    expectation: &Expectation,
    volumes: Volumes,
    giving: Option<Giving>,
) -> Option<Worked<Share>> {
    let (native, adult) = native_of(result);
    let mut needs = Needs::default();
    for one in asked {
        let Some(bounds) = one.bounds else { continue };
        needs = needs.and(one.what, needed(one, bounds, volumes, giving)?);
    }
    let chance = doubt::chance_of_all(expectation, volumes, native, needs).ok().flatten()?;
    let mut worked = doubt::worked_chance_of_all(chance, needs, expectation)?;
    if adult && needs.concentration.is_some() {
        worked.working = worked.working.from(SourceId::Nhanes2011);
    }
    Some(worked)
}
