//! The search: fewest containers, then least blood, then least product left over.

use super::super::amount::{Amounts, Content, Volumes};
use super::super::kind::{self, Expectation, ProductKind};
use super::super::order::{Bounds, Giving, OrderedAmount};
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
    /// Most, discards and what was drawn lately taken into account.
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
    /// The least chance of any aim.
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
        let Some(filled) = self.vessel.fills.get(fill) else { return Vec::new() };
        let split = filled.value.split;
        let mut most = high.min(split.fill.get() * containers);
        if let (Some(p), ProductKind::OffTheTop) = (self.plasma, self.kind) {
            let all = |v: Volume| Volume::new(v.get() * containers);
            let bound = all(split.fill).and_then(|f| {
                kind::product_bound(f, all(split.blood)?, p.haematocrit, p.packing, p.left_behind)
            });
            most = most.min(bound.map_or(0.0, |b| b.value.get()));
        }
        let least = low.max(self.giving.least_product());
        if least > most + NOISE {
            return Vec::new();
        }
        // A usual volume alone is taken as it is; a range, in steps of the device that measures it.
        let step = self.vessel.graduation.get();
        if (high - low).abs() <= NOISE || step < 1e-3 {
            return if least <= low + NOISE { vec![low] } else { Vec::new() };
        }
        let first = libm::ceil(least / step - NOISE);
        let count = libm::floor(most / step + NOISE) - first;
        (0_u16..1000).map(f64::from).take_while(|i| *i <= count).map(|i| (first + i) * step).collect()
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

    /// The least chance of any aim; 0 where nothing can be predicted.
    pub(super) fn chance(&self, n: u8, blood: f64, product: f64) -> f64 {
        self.amounts(n, blood, product).map_or(0.0, |amounts| self.least_chance(&amounts, product))
    }

    fn least_chance(&self, amounts: &Amounts, product: f64) -> f64 {
        let one = |aim: &Aim| amounts.chance(aim.what, self.needs(aim, product)?);
        self.aims.iter().map(|aim| one(aim).unwrap_or(0.0)).fold(1.0, f64::min)
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
                    let whole = known.unwrap_or_else(|| self.least_chance(amounts, product));
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
        let mut middle: Option<Reach> = None;
        for n in 1..=self.most_containers {
            let reach = match middle {
                Some(known) if !known.pooled => known,
                _ => match Reach::of(self, n, 0.5) {
                    Some(found) => *middle.insert(found),
                    None => break,
                },
            };
            let fills: Vec<usize> = self.fills(n).collect();
            let Some(&last) = fills.last() else { break };
            let few: Vec<usize> = if self.only_at_least() {
                vec![last]
            } else {
                let step = fills.len().div_ceil(6).max(1);
                fills.iter().copied().step_by(step).chain([last]).collect()
            };
            for fill in few {
                let blood = f64::from(n) * self.blood_each(fill);
                for product in self.promising(n, fill, blood, &reach) {
                    let chance = self.chance(n, blood, product);
                    if best.is_none_or(|b| chance > b.chance + WORTH) {
                        best = Some(Candidate { containers: n, fill, product, chance });
                    }
                }
            }
        }
        best
    }

    /// Product volumes among which the surest is to be found; `reach` is that of the middle.
    fn promising(&self, n: u8, fill: usize, blood: f64, reach: &Reach) -> Vec<f64> {
        let products = self.products(n, fill);
        if self.least_product_is_surest() {
            return products.into_iter().take(1).collect();
        }
        // The middle of the amount goes through what is ordered somewhere: there, and at the ends.
        let above = |product: f64| -> bool {
            let Some((aim, needs)) = self.aims.first().and_then(|a| Some((a, self.needs(a, product)?)))
            else {
                return false;
            };
            let centre = if needs.high.is_finite() { libm::sqrt(needs.low * needs.high) } else { needs.low };
            let [is, _] = if aim.what == OrderedAmount::Fold { reach.fold } else { reach.concentration };
            is * if self.kind == ProductKind::OffTheTop { 1.0 } else { blood / product } > centre
        };
        let at = products.partition_point(|&v| above(v));
        let mut few: Vec<f64> = products.iter().copied().skip(at.saturating_sub(1)).take(2).collect();
        few.extend(products.first().copied());
        few.extend(products.last().copied());
        few
    }
}

/// A larger plan must be so much surer.
const WORTH: f64 = 0.005;
