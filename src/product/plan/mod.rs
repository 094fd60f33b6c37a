//! Backwards: what to draw and keep so that an order is met, inside the limits of patient, container and protocol.
//!
//! The aim is a chance of at least 0.8 that everything ordered is met at once; among the ways that reach it, the fewest
//! containers, then the least blood, then the least product left over. Where none does, the surest way, the limit
//! that binds, and what relaxing each would buy. Only product volumes that there is experience with are tried: the
//! container's range, or the usual volume alone. Never a recommendation of a dose.

mod advice;
mod picture;
mod reach;
mod search;

pub use picture::{Picture, Point};
pub use search::{Aim, BloodLimit, Plasma, Problem, Vessel};

use super::doubt;
use super::order::{Bounds, Likelihood, OrderedAmount, WANTED};
use super::predict::{self, Prediction};
use super::range::Range;
use crate::blood::anticoagulant::Rounded;
use crate::blood::patient::LimitRule;
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, Quantity, Share, Volume};
use crate::working::{Figure, StepName, Worked, Working};
use search::Candidate;
use serde::Serialize;

/// Whether the order can be met.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Verdict {
    /// With a chance of at least [`WANTED`].
    Met,
    /// The middle of what is expected meets it, the chance is less than [`WANTED`].
    OnlyAtTheMiddle,
    /// Not even the middle of what is expected.
    CannotMeet,
}

/// Why a way is offered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// Fewest containers, then least blood, then least left over.
    Least,
    /// The surest within the limits, where none is sure enough; of those whose middle meets the order, if any does.
    Surest,
    /// As many containers, filled as far as allowed: surer.
    Fuller,
    /// One container more and less blood in all.
    LessBloodInMore,
    /// More product in hand, less concentrated.
    MoreProduct,
    /// Less blood, and only the middle of what is expected meets the order.
    OnlyAtTheMiddle,
    /// Another container from the shelf.
    OtherContainer,
}

/// How one amount ordered stands in a way.
#[derive(Debug, Clone, PartialEq)]
pub struct AimOutcome {
    /// What is ordered.
    pub aim: Aim,
    /// Chance that it is met.
    pub chance: Worked<Share>,
    /// The middle of what is expected lies within it.
    pub at_the_middle: bool,
}

/// One way to make the product.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Why it is offered.
    pub why: Why,
    /// Key of the container in Bench.
    pub container: String,
    /// Its name in the clinic.
    pub container_name: String,
    /// How many.
    pub containers: u8,
    /// What each holds [mL].
    pub each: Worked<Rounded>,
    /// Blood in all [mL].
    pub blood: Worked<Volume>,
    /// Product to keep, from all [mL].
    pub product: Volume,
    /// Product left when all is given [mL].
    pub left_over: Worked<Volume>,
    /// What to expect.
    pub prediction: Prediction,
    /// Each amount ordered.
    pub aims: Vec<AimOutcome>,
    /// The chance that all of them are met at once.
    pub chance: Worked<Share>,
    /// The same as it may be said.
    pub likelihood: Likelihood,
}

impl Way {
    /// Whether the middle of what is expected meets all that is ordered.
    pub fn at_the_middle(&self) -> bool {
        self.aims.iter().all(|a| a.at_the_middle)
    }
}

/// What 5 mL more of blood would buy.
#[derive(Debug, Clone, PartialEq)]
pub struct MoreBlood {
    /// Blood in all [mL].
    pub blood: Volume,
    /// Chance that the order is met.
    pub chance: Worked<Share>,
    /// The same as it may be said.
    pub likelihood: Likelihood,
    /// Platelets in product [10⁹].
    pub in_product: Option<Worked<Range<Cells>>>,
}

/// What a count of the blood before the draw would change, at the value that is taken now.
#[derive(Debug, Clone, PartialEq)]
pub struct CountNow {
    /// The value taken: an older count, or that of any adult.
    pub at: CellCount,
    /// No count is there at all.
    pub uncounted: bool,
    /// Platelets in product of the way offered, as sure as now.
    pub now: Option<Range<Cells>>,
    /// The same if today's count said this value.
    pub counted: Option<Range<Cells>>,
    /// What would then be the least way, if the order could be met.
    pub way: Option<Way>,
}

/// What stands in the way of an order.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Limit {
    /// One container ordered, or no more at hand.
    Containers,
    /// Blood of the patient, by this rule; none: weight, height or sex are not known.
    Blood(Option<LimitRule>),
    /// Product volumes that there is experience with.
    ProductVolume,
    /// Product volume planned to be kept, where there is no experience to go by.
    ProductKept,
    /// The count of the blood.
    Count,
    /// The method itself: what it takes is too little, or varies more than the order allows.
    Method,
}

/// What relaxing one limit would buy.
#[derive(Debug, Clone, PartialEq)]
pub struct Relaxed {
    /// Which.
    pub limit: Limit,
    /// The way that would then be offered.
    pub way: Way,
    /// It would meet the order with a chance of at least [`WANTED`].
    pub met: bool,
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    /// Whether the order can be met.
    pub verdict: Verdict,
    /// The way offered first; `None` where no way keeps all limits.
    pub way: Option<Way>,
    /// Other ways that differ in earnest, at most three.
    pub others: Vec<Way>,
    /// What 5 mL more of blood would buy; `None` where no more can be drawn.
    pub five_more: Option<MoreBlood>,
    /// What a count now would change; `None` where today's is there.
    pub count_now: Option<CountNow>,
    /// The largest unknown, with what knowing it would narrow the platelets to.
    pub doubt: Option<doubt::Doubt>,
    /// The limit that binds, where the order is not met.
    pub binds: Option<Limit>,
    /// What relaxing each limit would buy, where the order is not met.
    pub relaxed: Vec<Relaxed>,
    /// What could be ordered as "at least" of each amount and met with a chance of [`WANTED`], in its own unit.
    pub reachable: Vec<(OrderedAmount, f64)>,
    /// Product platelets against blood drawn.
    pub picture: Option<Picture>,
}

/// Plans one container; `shelf` are the same problem with other containers.
pub fn plan(problem: &Problem<'_>, shelf: &[Problem<'_>]) -> Plan {
    let least = problem.least(WANTED);
    // Where none is sure enough: the surest, if its middle meets the order, else one whose middle does.
    let surest = if least.is_none() { problem.surest() } else { None };
    let middle = surest.and_then(|c| {
        if problem.at_the_middle(c.containers, c.fill, c.product) { Some(c) } else { problem.middle() }
    });
    let found = least.or(middle).or(surest);
    let why = if least.is_some() { Why::Least } else { Why::Surest };
    let way = found.and_then(|c| problem.way(&c, why));
    let verdict = match (&way, middle) {
        (Some(_), _) if least.is_some() => Verdict::Met,
        (Some(_), Some(_)) => Verdict::OnlyAtTheMiddle,
        _ => Verdict::CannotMeet,
    };
    let (relaxed, binds) = match least {
        Some(_) => (Vec::new(), None),
        None => {
            let (relaxed, binds) = problem.relaxed(surest);
            (relaxed, Some(binds))
        }
    };
    Plan {
        verdict,
        others: problem.others(way.as_ref(), found, shelf),
        five_more: found.and_then(|c| problem.five_more(&c)),
        count_now: problem.count_now(found.as_ref()),
        doubt: found.and_then(|c| problem.doubt(&c)),
        binds,
        relaxed,
        reachable: found.map(|c| problem.reachable(&c)).unwrap_or_default(),
        picture: found.and_then(|c| picture::picture(problem, &c)),
        way,
    }
}

impl Problem<'_> {
    /// A candidate with its results and workings.
    fn way(&self, c: &Candidate, why: Why) -> Option<Way> {
        let each = self.vessel.fills.get(c.fill)?.clone();
        let blood = Volume::new(self.blood(c)).ok()?;
        let product = Volume::new(c.product).ok()?;
        let volumes = predict::Volumes {
            blood,
            product,
            graduation: Some(self.vessel.graduation),
            containers: c.containers,
        };
        let prediction =
            predict::predict(self.kind, Some(self.expectation), volumes, Some(self.native)).ok()?;
        let amounts = self.amounts(c.containers, blood.get(), c.product)?;
        let aims = self
            .aims
            .iter()
            .map(|aim| {
                let needs = self.needs(aim, c.product)?;
                let chance = amounts.chance(aim.what, needs)?;
                Some(AimOutcome {
                    aim: *aim,
                    chance: self.worked_chance(chance, needs)?,
                    at_the_middle: amounts.middle_within(aim.what, needs),
                })
            })
            .collect::<Option<Vec<_>>>()?;
        let one = each.value.split.blood;
        let numbers = vec![Figure::pure(f64::from(c.containers)), Figure::of(one)];
        let line = Working::line(StepName::BloodInAll, "B = n·B₁", "{} · {}", numbers, Figure::of(blood));
        let chance = self.chance_worked(c.containers, blood.get(), c.product)?;
        Some(Way {
            why,
            container: self.vessel.id.clone(),
            container_name: self.vessel.name.clone(),
            containers: c.containers,
            each,
            blood: Worked::new(blood, line.from(SourceId::Conservation)),
            product,
            left_over: self.left_over(product)?,
            prediction,
            aims,
            likelihood: self.likelihood(chance.value.get()),
            chance,
        })
    }

    /// Product left when all is given.
    fn left_over(&self, product: Volume) -> Option<Worked<Volume>> {
        // R = V − V_least
        let least = Volume::new(self.giving.least_product()).ok()?;
        let over = Volume::new((product.get() - least.get()).max(0.0)).ok()?;
        let numbers = vec![Figure::of(product), Figure::of(least)];
        let line = Working::line(StepName::LeftOver, "R = V − V_least", "{} − {}", numbers, Figure::of(over));
        Some(Worked::new(over, line.from(SourceId::Conservation)))
    }

    /// The chance that everything ordered is met, with its working.
    fn chance_worked(&self, n: u8, blood: f64, product: f64) -> Option<Worked<Share>> {
        let chance = self.chance(n, blood, product);
        doubt::worked_chance_of_all(chance, self.needs_of_all(product)?, self.expectation)
    }

    /// Words until the protocol has counts enough.
    fn likelihood(&self, chance: f64) -> Likelihood {
        Likelihood::of(chance, self.expectation.counts())
    }

    /// A chance with its working; `needs` is in concentrations or folds.
    fn worked_chance(&self, chance: f64, needs: Bounds) -> Option<Worked<Share>> {
        doubt::worked_chance(chance, needs, self.expectation)
    }
}

#[cfg(test)]
mod tests;
