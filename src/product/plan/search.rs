//! The search: fewest containers, then least blood, then least product left over.

use super::super::amount::{Amounts, Content, Volumes};
use super::super::kind::{self, Expectation, ProductKind};
use super::super::order::{Bounds, Giving, Needs, OrderedAmount};
use super::super::predict::{ANALYSER, NativeCount};
use super::reach::Reach;
use crate::blood::anticoagulant::Rounded;
use crate::blood::patient::LimitRule;
use crate::quantity::{Haematocrit, Quantity, Share, Volume};
use crate::working::Worked;

/// One amount that the plan is to meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Aim {
    /// Which amount.
    pub what: OrderedAmount,
    /// Ends, in the amount's own unit.
    pub bounds: Bounds,
    /// A dose for each part of the site.
    pub each_part: bool,
}

/// What limits plasma taken off the top.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plasma {
    /// Of the blood.
    pub haematocrit: Haematocrit,
    /// Packed red-cell share of the spin.
    pub packing: Share,
    /// Left above the cells.
    pub left_behind: Volume,
}

/// A container and what may be made in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Vessel {
    /// Key in Bench.
    pub id: String,
    /// Name in the clinic.
    pub name: String,
    /// Every mark it may be filled to, with its anticoagulant, by rising blood.
    pub fills: Vec<Worked<Rounded>>,
    /// Step to which its product is measured.
    pub graduation: Volume,
    /// Least product for each container that there is experience with; none: the usual volume alone.
    pub product_low: Option<Volume>,
    /// Most product for each container, likewise.
    pub product_high: Option<Volume>,
}

/// Most blood that may be drawn today for containers.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BloodLimit {
    /// Most [mL], discards and what was drawn lately taken into account.
    pub most: Volume,
    /// The rule that says so; none: weight, height or sex are asked for before more is drawn.
    pub rule: Option<LimitRule>,
}

/// What is asked, and inside what.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem<'a> {
    /// Kind of product.
    pub kind: ProductKind,
    /// What is expected of the protocol.
    pub expectation: &'a Expectation,
    /// Count of the blood, or that of any adult.
    pub native: NativeCount,
    /// The count is this patient's.
    pub counted: bool,
    /// What the order names; never empty.
    pub aims: Vec<Aim>,
    /// How the product is given.
    pub giving: Giving,
    /// The container.
    pub vessel: Vessel,
    /// Product usually kept, from all containers.
    pub usual: Option<Volume>,
    /// What limits plasma off the top.
    pub plasma: Option<Plasma>,
    /// Most blood within every limit.
    pub blood: Option<BloodLimit>,
    /// Most blood that no Stop forbids.
    pub blood_to_stop: Option<BloodLimit>,
    /// Most containers.
    pub most_containers: u8,
}

/// One way to make it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Candidate {
    pub(super) containers: u8,
    /// Which fill of the vessel.
    pub(super) fill: usize,
    pub(super) product: f64,
    /// The chance that everything ordered is met.
    pub(super) chance: f64,
}

/// Tolerance of limits and grids [mL].
pub(super) const NOISE: f64 = 1e-9;

impl Problem<'_> {
    /// Blood of one container at each fill [mL].
    pub(super) fn blood_each(&self, fill: usize) -> f64 {
        self.vessel.fills.get(fill).map_or(0.0, |f| f.value.split.blood.get())
    }

    /// Blood of all containers of a candidate [mL].
    pub(super) fn blood(&self, c: &Candidate) -> f64 {
        f64::from(c.containers) * self.blood_each(c.fill)
    }

    pub(super) fn allows(&self, blood: f64) -> bool {
        self.blood.is_none_or(|limit| blood <= limit.most.get() + NOISE)
    }

    /// Product volumes to be tried from `n` containers, rising.
    pub(super) fn products(&self, n: u8, fill: usize) -> Vec<f64> {
        let containers = f64::from(n);
        let usual = self.usual.map(Quantity::get);
        let end = |each: Option<Volume>| each.map(|v| v.get() * containers).or(usual);
        let (Some(low), Some(high)) = (end(self.vessel.product_low), end(self.vessel.product_high)) else {
            return Vec::new();
        };
        let most = high.min(self.most_product(n, fill));
        let least = low.max(self.giving.least_product());
        if least > most + NOISE {
            return Vec::new();
        }
        // A usual volume alone is taken as it is; a range, in steps of the device that measures it.
        let step = self.vessel.graduation.get();
        if (high - low).abs() <= NOISE || step < 1e-3 {
            return if least <= low + NOISE { vec![low] } else { Vec::new() };
        }
        let (first, last) = (libm::ceil(least / step - NOISE), libm::floor(most / step + NOISE));
        // Of very many only every second, third, …, and both ends: never the low ones alone.
        let wider = libm::ceil((last - first) / PRODUCTS).max(1.0);
        let steps = (0_u16..=1000).map(|i| first + f64::from(i) * wider).take_while(|s| *s < last);
        steps.chain((first <= last).then_some(last)).map(|s| s * step).collect()
    }

    /// Most product that containers filled so can give [mL].
    fn most_product(&self, n: u8, fill: usize) -> f64 {
        let containers = f64::from(n);
        let Some(filled) = self.vessel.fills.get(fill) else { return 0.0 };
        let split = filled.value.split;
        let most = split.fill.get() * containers;
        let (Some(p), ProductKind::OffTheTop) = (self.plasma, self.kind) else { return most };
        let all = |v: Volume| Volume::new(v.get() * containers);
        let bound = all(split.fill)
            .and_then(|f| kind::product_bound(f, all(split.blood)?, p.haematocrit, p.packing, p.left_behind));
        most.min(bound.map_or(0.0, |b| b.value.get()))
    }

    fn volumes(&self, n: u8, blood: f64, product: f64) -> Option<Volumes> {
        Some(Volumes {
            blood: Volume::new(blood).ok()?,
            product: Volume::new(product).ok()?,
            graduation: Some(self.vessel.graduation),
            containers: n,
        })
    }

    pub(super) fn amounts(&self, n: u8, blood: f64, product: f64) -> Option<Amounts> {
        let volumes = self.volumes(n, blood, product)?;
        Amounts::new(self.expectation, volumes, Some(self.native), Content::True, ANALYSER).ok().flatten()
    }

    /// Ends of an aim as concentration or fold of this product.
    pub(super) fn needs(&self, aim: &Aim, product: f64) -> Option<Bounds> {
        match aim.what {
            OrderedAmount::Platelets => self.giving.needs(aim.bounds, aim.each_part, product),
            OrderedAmount::Concentration | OrderedAmount::Fold => Some(aim.bounds),
        }
    }

    /// All that is needed of this product at once.
    pub(super) fn needs_of_all(&self, product: f64) -> Option<Needs> {
        self.aims
            .iter()
            .try_fold(Needs::default(), |all, aim| Some(all.and(aim.what, self.needs(aim, product)?)))
    }

    /// The chance that everything ordered is met; 0 where nothing can be predicted.
    pub(super) fn chance(&self, n: u8, blood: f64, product: f64) -> f64 {
        self.amounts(n, blood, product).map_or(0.0, |amounts| self.chance_of_all(&amounts, product))
    }

    fn chance_of_all(&self, amounts: &Amounts, product: f64) -> f64 {
        self.needs_of_all(product).and_then(|needs| amounts.chance_of_all(needs)).unwrap_or(0.0)
    }

    fn only_at_least(&self) -> bool {
        self.aims.iter().all(|a| a.bounds.high.is_infinite())
    }

    /// More of the product concentrates nothing, so that its least volume is the surest.
    fn least_product_is_surest(&self) -> bool {
        self.only_at_least() && self.giving.added.get() == 0.0
    }

    /// Fills whose blood is allowed, by rising blood.
    pub(super) fn fills(&self, n: u8) -> impl DoubleEndedIterator<Item = usize> {
        (0..self.vessel.fills.len()).filter(move |&i| self.allows(f64::from(n) * self.blood_each(i)))
    }

    /// Fewest containers, then least blood, then least product with at least this chance.
    pub(super) fn least(&self, wanted: f64) -> Option<Candidate> {
        let mut reach: Option<Reach> = None;
        (1..=self.most_containers).find_map(|n| {
            // What a method can reach depends on the number of containers only where they are pooled anew.
            let reach = *match &reach {
                Some(known) if !known.pooled => reach.as_ref()?,
                _ => reach.insert(Reach::of(self, n, wanted)?),
            };
            self.least_with(n, wanted, &reach)
        })
    }

    /// The same with exactly `n` containers.
    pub(super) fn least_from(&self, n: u8, wanted: f64) -> Option<Candidate> {
        self.least_with(n, wanted, &Reach::of(self, n, wanted)?)
    }

    fn least_with(&self, n: u8, wanted: f64, reach: &Reach) -> Option<Candidate> {
        let containers = f64::from(n);
        if !reach.possible {
            return None;
        }
        let surest = self.least_product_is_surest();
        if surest {
            // With the most blood nothing is less likely: if that is not enough, nothing is.
            let fill = self.fills(n).next_back()?;
            let most = self
                .products(n, fill)
                .first()
                .map(|&v| self.chance(n, containers * self.blood_each(fill), v));
            if most.is_some_and(|chance| chance < wanted) {
                return None;
            }
        }
        // With a fold what is expected hangs on the blood by its ceiling alone: one chance, uncut, for each product.
        let mut uncut: Vec<(f64, f64)> = Vec::new();
        self.fills(n).find_map(|fill| {
            let blood = containers * self.blood_each(fill);
            let products = self.products(n, fill);
            let tried = if surest { 1 } else { products.len() };
            products.into_iter().take(tried).find_map(|product| {
                if !reach.may(self, blood, product) {
                    return None;
                }
                let found = |chance| Candidate { containers: n, fill, product, chance };
                if let (ProductKind::OffTheTop, Some(amounts)) = (self.kind, &reach.amounts) {
                    let known =
                        uncut.iter().find(|(v, _)| (v - product).abs() < NOISE).map(|(_, chance)| *chance);
                    let whole = known.unwrap_or_else(|| self.chance_of_all(amounts, product));
                    if known.is_none() {
                        uncut.push((product, whole));
                    }
                    // P(within, not cut)/P(not cut) is no more than P(within)/P(not cut).
                    let kept = amounts.fold_below(blood / product);
                    if whole < wanted * kept {
                        return None;
                    }
                    if kept >= 1.0 - 1e-12 {
                        return Some(found(whole));
                    }
                }
                let chance = self.chance(n, blood, product);
                (chance >= wanted).then(|| found(chance))
            })
        })
    }

    /// The surest way within all limits; a larger one only where it is surer by `WORTH`.
    pub(super) fn surest(&self) -> Option<Candidate> {
        let mut best: Option<Candidate> = None;
        let at_most = self.at_most();
        for n in 1..=self.most_containers {
            let fills: Vec<usize> = self.fills(n).collect();
            if fills.is_empty() {
                break;
            }
            let found = self.surest_from(n, &fills);
            best = match (best, found) {
                (Some(b), Some(c)) if c.chance <= b.chance + WORTH => Some(b),
                (known, found) => found.or(known),
            };
            // More containers only spread less: nothing is left to be won.
            if best.is_some_and(|b| b.chance > at_most - WORTH) {
                break;
            }
        }
        best
    }

    /// No way is surer than this, however much is drawn and kept.
    fn at_most(&self) -> f64 {
        if self.kind == ProductKind::OffTheTop {
            return 1.0;
        }
        Reach::at_most(self, self.most_containers)
    }

    /// The surest with exactly `n` containers, filled to one of these marks.
    fn surest_from(&self, n: u8, fills: &[usize]) -> Option<Candidate> {
        let last = *fills.last()?;
        let products = self.products(n, last);
        let exact = |fill: usize, product: f64| {
            let chance = self.chance(n, f64::from(n) * self.blood_each(fill), product);
            Candidate { containers: n, fill, product, chance }
        };
        if self.least_product_is_surest() {
            return products.first().map(|&product| exact(last, product));
        }
        let marks = self.marks(fills);
        // Coarsely over all products, then more and more closely about the best.
        let mut step = products.len().div_ceil(8).max(1);
        let (mut from, mut to) = (0, products.len().checked_sub(1)?);
        let mut best: Option<(f64, usize, usize)> = None;
        let mut near = None;
        loop {
            for place in (from..=to).step_by(step).chain([to]) {
                let Some((score, fill)) =
                    products.get(place).and_then(|&v| self.best_fill(n, &marks, v, near))
                else {
                    continue;
                };
                near = Some(fill);
                if best.is_none_or(|(known, ..)| score > known + NOISE) {
                    best = Some((score, place, fill));
                }
            }
            let (_, place, _) = best?;
            if step == 1 {
                break;
            }
            (from, to) = (place.saturating_sub(step), (place + step).min(products.len() - 1));
            step = step.div_ceil(6);
        }
        let (score, place, fill) = best?;
        let product = *products.get(place)?;
        // As sure with less blood, as far as that is worth anything.
        let fits = fills.partition_point(|&f| self.most_product(n, f) + NOISE < product);
        let fills = fills.get(fits..)?;
        let below = fills.partition_point(|&f| f < fill);
        let least = fills.get(..below)?.partition_point(|&f| self.score(n, f, product) < score - 0.2 * WORTH);
        Some(exact(*fills.get(least).unwrap_or(&fill), product))
    }

    /// Of fills with the same blood the last, which takes the most product: where the anticoagulant takes a step, two
    /// marks hold the same.
    fn marks(&self, fills: &[usize]) -> Vec<usize> {
        let mut marks: Vec<usize> = Vec::with_capacity(fills.len());
        for &fill in fills {
            match marks.last_mut() {
                Some(last) if self.blood_each(fill) <= self.blood_each(*last) + NOISE => *last = fill,
                _ => marks.push(fill),
            }
        }
        marks
    }

    /// The mark that is surest with this product, as [`Self::score`] tells, looked for from one near it: the score
    /// rises with the blood to one top.
    fn best_fill(&self, n: u8, marks: &[usize], product: f64, near: Option<usize>) -> Option<(f64, usize)> {
        let from = marks.partition_point(|&f| self.most_product(n, f) + NOISE < product);
        let fits = marks.get(from..).filter(|f| !f.is_empty())?;
        let last = fits.len() - 1;
        let at = |place: usize| fits.get(place).map_or(f64::NEG_INFINITY, |&f| self.score(n, f, product));
        if self.only_at_least() {
            return Some((at(last), *fits.get(last)?));
        }
        let (mut place, mut step) = match near {
            Some(near) => (fits.partition_point(|&f| f < near).min(last), 1),
            None => (last / 2, fits.len().div_ceil(4)),
        };
        let mut best = at(place);
        // The top lies between these.
        let (mut low, mut high) = (0, last);
        let mut up = true;
        while low < high {
            up = place == low || (up && place < high);
            let next = if up { (place + step).min(high) } else { place.saturating_sub(step).max(low) };
            let score = at(next);
            if score > best {
                (low, high) = if up { (place + 1, high) } else { (low, place - 1) };
                (best, place, step) = (score, next, step * 2);
            } else {
                (low, high) = if up { (low, next - 1) } else { (next + 1, high) };
                (up, step) = (!up, step.div_ceil(2));
            }
        }
        Some((best, *fits.get(place)?))
    }

    /// About the chance; where that is next to nothing, below 0 by how far the middle lies off.
    fn score(&self, n: u8, fill: usize, product: f64) -> f64 {
        let blood = f64::from(n) * self.blood_each(fill);
        // The ceiling cuts all of it away: more blood is nearer.
        let none = -1e6 + blood;
        let Some((amounts, needs)) = self.amounts(n, blood, product).zip(self.needs_of_all(product)) else {
            return none;
        };
        match amounts.about(needs).unwrap_or(0.0) {
            next_to_none if next_to_none < 1e-4 => amounts.off(needs).map_or(none, |off| next_to_none - off),
            chance => chance,
        }
    }

    /// Whether the middle of what is expected meets everything ordered.
    pub(super) fn at_the_middle(&self, n: u8, fill: usize, product: f64) -> bool {
        let amounts = self.amounts(n, f64::from(n) * self.blood_each(fill), product);
        amounts.is_some_and(|amounts| {
            let within = |aim: &Aim| amounts.middle_within(aim.what, self.needs(aim, product)?).then_some(());
            self.aims.iter().all(|aim| within(aim).is_some())
        })
    }

    /// A way whose middle meets everything, with the fewest containers: of those looked at, the surest.
    pub(super) fn middle(&self) -> Option<Candidate> {
        (1..=self.most_containers).find_map(|n| {
            let fills: Vec<usize> = self.fills(n).collect();
            let products = self.products(n, *fills.last()?);
            let reach = Reach::of(self, n, 0.5)?;
            let found: Vec<Candidate> =
                products.iter().filter_map(|&product| self.middle_with(n, &fills, product, &reach)).collect();
            let few = found.len().div_ceil(16).max(1);
            let exact = found.iter().step_by(few).map(|c| {
                let chance = self.chance(n, self.blood(c), c.product);
                Candidate { chance, ..*c }
            });
            exact.max_by(|a, b| a.chance.total_cmp(&b.chance))
        })
    }

    /// The same with this product; its chance is not reckoned.
    fn middle_with(&self, n: u8, fills: &[usize], product: f64, reach: &Reach) -> Option<Candidate> {
        let from = fills.partition_point(|&f| self.most_product(n, f) + NOISE < product);
        let fits = fills.get(from..)?;
        // Ratio of blood to product at which the middle of each amount goes through its ends.
        let (mut low, mut high) = (0.0_f64, f64::INFINITY);
        for aim in &self.aims {
            let needs = self.needs(aim, product)?;
            let [is, _] = if aim.what == OrderedAmount::Fold { reach.fold } else { reach.concentration };
            (low, high) = (low.max(needs.low / is), high.min(needs.high / is));
        }
        if low > high * (1.0 + 1e-3) {
            return None;
        }
        let near = |ratio: f64| {
            let each = ratio * product / f64::from(n);
            fits.partition_point(|&f| self.blood_each(f) < each)
        };
        let places: Vec<usize> = if self.kind == ProductKind::OffTheTop {
            // Nothing but its ceiling changes a fold with the blood: uncut it is at its most.
            if low > 1.0 + 1e-9 {
                return None;
            }
            let enough = |f: &usize| {
                let amounts = self.amounts(n, f64::from(n) * self.blood_each(*f), product);
                let low = |aim: &Aim| Some(Bounds { high: f64::INFINITY, ..self.needs(aim, product)? });
                amounts.is_some_and(|a| {
                    self.aims.iter().all(|aim| low(aim).is_some_and(|needs| a.middle_within(aim.what, needs)))
                })
            };
            if high >= 1.0 {
                vec![fits.len().checked_sub(1)?]
            } else {
                vec![fits.partition_point(|f| !enough(f))]
            }
        } else if high.is_infinite() {
            vec![fits.len().checked_sub(1)?]
        } else {
            let place = near(libm::sqrt(low.max(1e-9) * high));
            vec![place.saturating_sub(1), place, near(low)]
        };
        let fill = places
            .into_iter()
            .filter_map(|place| fits.get(place).copied())
            .find(|&fill| self.at_the_middle(n, fill, product))?;
        Some(Candidate { containers: n, fill, product, chance: 0.0 })
    }
}

/// A larger plan must be so much surer ([`SourceId::PlanSteps`](crate::evidence::SourceId::PlanSteps)).
const WORTH: f64 = 0.005;
/// Product volumes of one way that are tried, at most.
const PRODUCTS: f64 = 400.0;
