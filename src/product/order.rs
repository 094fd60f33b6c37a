//! What an order asks of an amount, how likely it is met, and which words a chance takes.

use crate::quantity::{Quantity, Volume};
use serde::{Deserialize, Serialize};

/// An order for about so much is met within this share of it [`crate::evidence::SourceId::AboutOrdered`].
pub const ABOUT: f64 = 0.1;
/// A plan is made for at least this chance [`crate::evidence::SourceId::ChanceWanted`].
pub const WANTED: f64 = 0.8;
/// Accepted counts from which a chance is said in figures.
pub const COUNTS_FOR_FIGURES: u32 = 10;

/// An amount that an order may name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OrderedAmount {
    /// Platelets given, in all or in each part [10⁹].
    Platelets,
    /// Concentration of the product [10⁹/L].
    Concentration,
    /// Fold.
    Fold,
}

impl OrderedAmount {
    /// In the order asked.
    pub const ALL: [OrderedAmount; 3] =
        [OrderedAmount::Platelets, OrderedAmount::Concentration, OrderedAmount::Fold];
}

/// How an order means its number.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum OrderSense {
    /// No less.
    #[default]
    AtLeast,
    /// No less than the first, no more than the second.
    Between,
    /// Within a tenth of it.
    About,
}

impl OrderSense {
    /// In the order offered.
    pub const ALL: [OrderSense; 3] = [OrderSense::AtLeast, OrderSense::Between, OrderSense::About];
}

/// What the clinician ordered of one amount.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ordered<Q> {
    /// No less than this.
    AtLeast(Q),
    /// No less than the first, no more than the second.
    Between(Q, Q),
    /// No less than this, and no more than a second number that is not there yet.
    BetweenFrom(Q),
    /// Within a tenth of it either way, see [`ABOUT`].
    About(Q),
}

/// Ends of what is ordered, both included, in the amount's own unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounds {
    /// Least, in the amount's own unit.
    pub low: f64,
    /// Most; infinite where no more is no harm to the order.
    pub high: f64,
}

impl Bounds {
    /// Whether an amount lies within.
    pub fn contains(self, x: f64) -> bool {
        self.low <= x && x <= self.high
    }
}

/// Everything an order needs of one product: a dose and a concentration are one variable, a fold is another that
/// hangs together with it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Needs {
    /// Of the concentration [10⁹/L], by doses and concentrations ordered.
    pub concentration: Option<Bounds>,
    /// Of the fold.
    pub fold: Option<Bounds>,
}

impl Needs {
    /// What else is needed: `bounds` of the fold, or of the concentration, to which a dose is reckoned back.
    #[must_use]
    pub fn and(mut self, what: OrderedAmount, bounds: Bounds) -> Self {
        let known = match what {
            OrderedAmount::Fold => &mut self.fold,
            OrderedAmount::Platelets | OrderedAmount::Concentration => &mut self.concentration,
        };
        *known = Some(
            known.map_or(bounds, |k| Bounds { low: k.low.max(bounds.low), high: k.high.min(bounds.high) }),
        );
        self
    }
}

impl<Q: Quantity> Ordered<Q> {
    /// The number first named.
    pub fn named(self) -> Q {
        match self {
            Ordered::AtLeast(q) | Ordered::Between(q, _) | Ordered::BetweenFrom(q) | Ordered::About(q) => q,
        }
    }

    /// The second number, where there is one.
    pub fn most(self) -> Option<Q> {
        match self {
            Ordered::Between(_, most) => Some(most),
            Ordered::AtLeast(_) | Ordered::BetweenFrom(_) | Ordered::About(_) => None,
        }
    }

    /// How it is meant.
    pub fn sense(self) -> OrderSense {
        match self {
            Ordered::AtLeast(_) => OrderSense::AtLeast,
            Ordered::Between(..) | Ordered::BetweenFrom(_) => OrderSense::Between,
            Ordered::About(_) => OrderSense::About,
        }
    }

    /// Its ends; `None` where the second number is less than the first. A second number that is not there yet bounds
    /// nothing: nothing is planned then.
    pub fn bounds(self) -> Option<Bounds> {
        match self {
            Ordered::AtLeast(least) | Ordered::BetweenFrom(least) => {
                Some(Bounds { low: least.get(), high: f64::INFINITY })
            }
            Ordered::Between(least, most) => Some(Bounds { low: least.get(), high: most.get() }),
            Ordered::About(q) => Some(Bounds { low: q.get() * (1.0 - ABOUT), high: q.get() * (1.0 + ABOUT) }),
        }
        .filter(|b| b.low <= b.high)
    }
}

/// How the product is given: what turns a dose into the concentration it needs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Giving {
    /// All parts of the site together [mL].
    pub sites: Volume,
    /// The smallest part [mL].
    pub smallest: Volume,
    /// The largest part [mL].
    pub largest: Volume,
    /// Taken for a count before anything is added [mL].
    pub sample: Volume,
    /// Added before it is given [mL].
    pub added: Volume,
    /// Lost in needles and transfers [mL].
    pub losses: Volume,
}

impl Giving {
    /// Least product from which all parts can be given [mL].
    pub fn least_product(&self) -> f64 {
        // V ≥ S + max(0, ΣV_site + L − added)
        self.sample.get() + (self.sites.get() + self.losses.get() - self.added.get()).max(0.0)
    }

    /// Whether one concentration can give this dose: in each part of a site, enough for the smallest is not too much
    /// for the largest.
    pub fn parts_agree(&self, dose: Bounds, each_part: bool) -> bool {
        // D_low/V_smallest ≤ D_high/V_largest
        !each_part || dose.low * self.largest.get() <= dose.high * self.smallest.get() * (1.0 + 1e-12)
    }

    /// Concentration of this product [10⁹/L] that a dose asks for. `None` where nothing is given or nothing of the
    /// product is left to be given.
    pub fn needs(&self, dose: Bounds, each_part: bool, product: f64) -> Option<Bounds> {
        let left = product - self.sample.get();
        // c = 1000·D/V_site, and more by as much as an addition dilutes: (V − S + added)/(V − S)
        let more = 1000.0 * (left + self.added.get()) / left;
        let (least, most) = if each_part { (self.smallest, self.largest) } else { (self.sites, self.sites) };
        let bounds = Bounds { low: dose.low * more / least.get(), high: dose.high * more / most.get() };
        (left > 0.0 && least.get() > 0.0).then_some(bounds)
    }
}

/// How likely an order is met, as it may be said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Likelihood {
    /// In fewer than 1 of 10.
    VeryUnlikely,
    /// In fewer than 4 of 10.
    Unlikely,
    /// In 4 to 6 of 10.
    AsLikelyAsNot,
    /// In more than 6 of 10.
    Likely,
    /// In more than 9 of 10.
    VeryLikely,
    /// In about so many of 10 such preparations, 0 to 10: said only with enough counts behind it.
    OutOfTen(u8),
}

impl Likelihood {
    /// Words below [`COUNTS_FOR_FIGURES`] accepted counts, tenths from there on.
    pub fn of(chance: f64, counts: u32) -> Self {
        if counts >= COUNTS_FOR_FIGURES {
            // The tenth nearest to the chance, 0 to 10.
            let tenths = (0u8..=10).find(|t| 10.0 * chance < f64::from(*t) + 0.5);
            return Likelihood::OutOfTen(tenths.unwrap_or(10));
        }
        match chance {
            p if p > 0.9 => Likelihood::VeryLikely,
            p if p > 0.6 => Likelihood::Likely,
            p if p >= 0.4 => Likelihood::AsLikelyAsNot,
            p if p >= 0.1 => Likelihood::Unlikely,
            _ => Likelihood::VeryUnlikely,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::Cells;

    #[test]
    fn a_chance_takes_words_until_ten_counts_are_in() {
        use Likelihood as L;
        let words = |p| L::of(p, 9);
        assert_eq!(
            [0.05, 0.2, 0.5, 0.8, 0.95].map(words),
            [L::VeryUnlikely, L::Unlikely, L::AsLikelyAsNot, L::Likely, L::VeryLikely]
        );
        let tenths = |p| L::of(p, 10);
        assert_eq!(
            [0.0, 0.049, 0.051, 0.79, 0.949, 0.951, 1.0].map(tenths),
            [0, 0, 1, 8, 9, 10, 10].map(L::OutOfTen)
        );
    }

    #[test]
    fn ends_of_an_order() {
        let q = |v| Cells::new(v).unwrap();
        let ends = |o: Ordered<Cells>| o.bounds().map(|b| (b.low, b.high));
        assert_eq!(ends(Ordered::AtLeast(q(5.0))), Some((5.0, f64::INFINITY)));
        assert_eq!(ends(Ordered::Between(q(5.0), q(6.0))), Some((5.0, 6.0)));
        assert_eq!(ends(Ordered::Between(q(6.0), q(5.0))), None);
        assert_eq!(ends(Ordered::About(q(5.0))), Some((4.5, 5.5)));
    }
}
