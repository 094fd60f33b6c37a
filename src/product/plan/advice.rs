//! Beside the plan: other ways, what more blood or a count would buy, what binds and what relaxing it would change.

use super::super::MAX_CONTAINERS;
use super::super::doubt;
use super::super::order::{OrderedAmount, WANTED};
use super::super::predict::{self, NativeCount, count_cv};
use super::super::range::{HIGH, LOW, Range};
use super::search::{BloodLimit, Candidate, Problem};
use super::{CountNow, Limit, MoreBlood, Relaxed, Way, Why};
use crate::arrange::sort_by;
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, Quantity, Volume};

/// The step of blood that is priced [mL] ([`crate::evidence::SourceId::PlanSteps`]).
const MORE: f64 = 5.0;
/// Ways that differ by less are the same: in blood, in product, and in chance where one is fuller
/// ([`crate::evidence::SourceId::PlanSteps`]).
const BLOOD_APART: f64 = 0.1;
const PRODUCT_APART: f64 = 0.2;
const SURER: f64 = 0.02;
/// Ways offered beside the first ([`crate::evidence::SourceId::PlanSteps`]).
const OTHERS: usize = 3;
/// A limit binds where relaxing it makes the order surer by more ([`crate::evidence::SourceId::PlanSteps`]).
const GAIN: f64 = 0.01;

impl Problem<'_> {
    /// Up to three other ways that differ in earnest from the first and from each other.
    pub(super) fn others(
        &self,
        way: Option<&Way>,
        found: Option<Candidate>,
        shelf: &[Problem<'_>],
    ) -> Vec<Way> {
        let mut kept: Vec<Way> = Vec::new();
        let mut offer = |other: Option<Way>| {
            if let Some(other) = other
                && kept.len() < OTHERS
                && way.into_iter().chain(&kept).all(|w| differs(w, &other))
            {
                kept.push(other);
            }
        };
        if let (Some(c), Some(first)) = (found, way) {
            let met = c.chance >= WANTED;
            if met {
                let in_more = self.least_from(c.containers.saturating_add(1), WANTED);
                let in_more = in_more.filter(|m| {
                    c.containers < self.most_containers
                        && self.blood(m) < (1.0 - BLOOD_APART) * self.blood(&c)
                });
                offer(in_more.and_then(|m| self.way(&m, Why::LessBloodInMore)));
                let fuller = self.fullest(&c).filter(|f| f.chance > c.chance + SURER);
                offer(fuller.and_then(|f| self.way(&f, Why::Fuller)));
                offer(self.more_product(&c).and_then(|m| self.way(&m, Why::MoreProduct)));
            }
            let least = first.chance.value.get();
            let middle = self.least(0.5).filter(|m| m.chance < least);
            let less = middle.filter(|m| self.blood(m) < (1.0 - BLOOD_APART) * self.blood(&c));
            let less = less.and_then(|m| self.way(&m, Why::OnlyAtTheMiddle)).filter(Way::at_the_middle);
            offer(less);
        }
        let mut from_shelf: Vec<Way> =
            shelf.iter().filter_map(|p| p.way(&p.least(WANTED)?, Why::OtherContainer)).collect();
        sort_by(&mut from_shelf, |a, b| {
            a.containers.cmp(&b.containers).then(a.blood.value.get().total_cmp(&b.blood.value.get()))
        });
        for other in from_shelf {
            offer(Some(other));
        }
        kept
    }

    /// As many containers, filled as far as allowed.
    fn fullest(&self, c: &Candidate) -> Option<Candidate> {
        let fill = self.fills(c.containers).next_back()?;
        self.at(c.containers, fill, c.product)
    }

    /// The most product that is still sure enough, with the blood at its most.
    fn more_product(&self, c: &Candidate) -> Option<Candidate> {
        let fill = self.fills(c.containers).next_back()?;
        let blood = f64::from(c.containers) * self.blood_each(fill);
        let products = self.products(c.containers, fill);
        let more = products.iter().rev().copied().take_while(|v| *v > c.product);
        // Few enough to look at each; half the steps of a long range.
        let step = products.len().div_ceil(24).max(1);
        let product = more.step_by(step).find(|v| self.chance(c.containers, blood, *v) >= WANTED)?;
        self.at(c.containers, fill, product)
    }

    fn at(&self, containers: u8, fill: usize, product: f64) -> Option<Candidate> {
        let fits = self.products(containers, fill).iter().any(|v| (v - product).abs() < 1e-6);
        let blood = f64::from(containers) * self.blood_each(fill);
        fits.then(|| Candidate { containers, fill, product, chance: self.chance(containers, blood, product) })
    }

    /// What 5 mL more would buy, in as many containers or one more.
    pub(super) fn five_more(&self, c: &Candidate) -> Option<MoreBlood> {
        let blood = self.blood(c) + MORE;
        let fullest = self.vessel.fills.last()?.value.split.blood.get();
        let n = (c.containers..=self.most_containers).find(|n| blood <= f64::from(*n) * fullest + 1e-9)?;
        if !self.allows(blood) {
            return None;
        }
        let mut chance = self.chance_worked(n, blood, c.product)?;
        chance.working = chance.working.from(SourceId::PlanSteps);
        let volumes = predict::Volumes {
            blood: Volume::new(blood).ok()?,
            product: Volume::new(c.product).ok()?,
            graduation: Some(self.vessel.graduation),
            containers: n,
        };
        let predicted =
            predict::predict(self.kind, Some(self.expectation), volumes, Some(self.native)).ok()?;
        Some(MoreBlood {
            blood: volumes.blood,
            likelihood: self.likelihood(chance.value.get()),
            chance,
            in_product: predicted.in_product,
        })
    }

    /// Platelets in product, predicted.
    fn platelets(&self, n: u8, blood: f64, product: f64) -> Option<Range<Cells>> {
        let amounts = self.amounts(n, blood, product)?;
        let at = |p| Cells::new(amounts.platelets(p)?).ok();
        Some(Range { median: at(0.5)?, low: at(LOW)?, high: at(HIGH)? })
    }

    /// The same problem with today's count at the value taken now; `None` where it is as sure as that.
    fn counted_today(&self) -> Option<Self> {
        let today = count_cv(Some(0)).ok()?.value;
        let surer = self.native.cv.get() > today.get() + 1e-12;
        surer.then(|| {
            let native = NativeCount { cv: today, ..self.native };
            Self { native, counted: true, ..self.clone() }
        })
    }

    /// What a count before the draw would change.
    pub(super) fn count_now(&self, c: Option<&Candidate>) -> Option<CountNow> {
        let counted = self.counted_today()?;
        let way = counted.least(WANTED).and_then(|c| counted.way(&c, Why::Least));
        let ranges = |p: &Self| c.and_then(|c| p.platelets(c.containers, p.blood(c), c.product));
        Some(CountNow {
            at: CellCount::new(self.native.value.get()).ok()?,
            uncounted: !self.counted,
            now: ranges(self),
            counted: ranges(&counted),
            way,
        })
    }

    pub(super) fn doubt(&self, c: &Candidate) -> Option<doubt::Doubt> {
        let volumes = predict::Volumes {
            blood: Volume::new(self.blood(c)).ok()?,
            product: Volume::new(c.product).ok()?,
            graduation: Some(self.vessel.graduation),
            containers: c.containers,
        };
        doubt::doubt(self.expectation, volumes, self.native, self.counted).ok().flatten()
    }

    /// What could be ordered as "at least" and met with the wanted chance, in the unit of each aim.
    pub(super) fn reachable(&self, c: &Candidate) -> Vec<(OrderedAmount, f64)> {
        let Some(amounts) = self.amounts(c.containers, self.blood(c), c.product) else { return Vec::new() };
        let one = |aim: &super::Aim| {
            let at = match aim.what {
                OrderedAmount::Fold => amounts.fold(1.0 - WANTED),
                _ => amounts.concentration(1.0 - WANTED)?,
            };
            // A dose is in proportion to the concentration it needs.
            let needs = self.needs(aim, c.product)?;
            Some((aim.what, if needs.low > 0.0 { aim.bounds.low * at / needs.low } else { at }))
        };
        self.aims.iter().filter_map(one).collect()
    }

    /// The surest or least way after each limit is relaxed in turn, and the limit that binds: the one whose relaxing
    /// makes the order surest, the method where none makes it surer. What is not known of the patient is to be
    /// entered, not passed over: no way is told for it.
    pub(super) fn relaxed(&self, found: Option<Candidate>) -> (Vec<Relaxed>, Limit) {
        let mut all = Vec::new();
        let mut most = found.map_or(-1.0, |c| c.chance) + GAIN;
        // Where nothing may be drawn, that is what binds.
        let mut binds = match self.blood.filter(|_| found.is_none()) {
            Some(limit) => Limit::Blood(limit.rule),
            None => Limit::Method,
        };
        let mut with = |limit: Limit, p: Self| {
            // The surest is found faster than that nothing is sure enough, and is no further off than this.
            let Some(surest) = p.surest() else { return };
            let least = if surest.chance > WANTED - OFF { p.least(WANTED) } else { None };
            let found = least.unwrap_or(surest);
            if found.chance > most {
                (most, binds) = (found.chance, limit);
            }
            let why = if least.is_some() { Why::Least } else { Why::Surest };
            if limit != Limit::Blood(None)
                && let Some(way) = p.way(&found, why)
            {
                all.push(Relaxed { limit, way, met: least.is_some() });
            }
        };
        if self.most_containers < MAX_CONTAINERS {
            with(Limit::Containers, Self { most_containers: MAX_CONTAINERS, ..self.clone() });
        }
        if let Some(BloodLimit { rule, .. }) = self.blood {
            with(Limit::Blood(rule), Self { blood: self.blood_to_stop, ..self.clone() });
        }
        let least = Volume::new(self.giving.least_product()).ok();
        if let Some(least) = least {
            // The least volume that can be given, from however many containers: there is no experience with it.
            let (low, high) = (Volume::ZERO, self.usual.filter(|u| u.get() > least.get()).unwrap_or(least));
            let vessel = super::Vessel {
                product_low: Some(low),
                product_high: self.vessel.product_high.filter(|h| h.get() > high.get()).or(Some(high)),
                ..self.vessel.clone()
            };
            let ends = self.vessel.product_low.and(self.vessel.product_high);
            let limit = if ends.is_some() { Limit::ProductVolume } else { Limit::ProductKept };
            with(limit, Self { vessel, ..self.clone() });
        }
        if let Some(counted) = self.counted_today() {
            with(Limit::Count, counted);
        }
        (all, binds)
    }
}

/// The surest way found is less sure than the surest there is by less: tested against trying everything.
const OFF: f64 = 0.02;

/// Not near-duplicates.
fn differs(a: &Way, b: &Way) -> bool {
    let apart = |a: Volume, b: Volume, share: f64| (a.get() - b.get()).abs() > share * a.get().min(b.get());
    a.container != b.container
        || a.containers != b.containers
        || apart(a.blood.value, b.blood.value, BLOOD_APART)
        || apart(a.product, b.product, PRODUCT_APART)
}
