//! What counts teach: the logarithm of a fold or a recovery is taken as normal, its mean and variance have a
//! Normal-Inverse-Gamma prior, and what the next count will read follows Student's t. Plain numbers on the
//! logarithmic scale.

use super::facts::log_variance;
use crate::chance::{HIGH, student};
use crate::evidence::SourceId;
use crate::product::kind::{Expectation, Expected};
use crate::quantity::Quantity;
use libm::{exp, log, sqrt};
use serde::{Deserialize, Serialize};

/// As how many of the clinic's own counts a published expectation weighs, for the middle
/// [`SourceId::PriorWeight`].
pub const LITERATURE_WEIGHT: f64 = 1.0;
/// The same for the spread, as degrees of freedom [`SourceId::PriorWeight`].
pub const LITERATURE_FREEDOM: f64 = 6.0;
/// Where both come from.
pub const WEIGHT_SOURCE: SourceId = SourceId::PriorWeight;
/// Fewest counts that teach where nothing is known before [`SourceId::PriorWeight`].
pub const FEWEST: u32 = 3;
/// Counting is taken to be no more than this much of what a published expectation's preparations are made of:
/// [`SourceId::PriorWeight`].
const MOST_COUNTING: f64 = 10.0;

/// What is known before a clinic's counts: middle and variance of the logarithm, each with a weight.
/// Mean given variance ~ Normal(`location`, variance/`weight`); `squares`/variance ~ χ² with `freedom`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Prior {
    /// Middle of the logarithm.
    pub location: f64,
    /// As how many counts the middle weighs.
    pub weight: f64,
    /// Degrees of freedom of the spread; −1 where nothing is known.
    pub freedom: f64,
    /// Sum of squares about the middle that goes with them.
    pub squares: f64,
    /// Variance by counting alone that the spread holds.
    pub held: f64,
    /// Own counts in it.
    pub n: u32,
}

impl Prior {
    /// Nothing known: what three counts say is all there is.
    pub const NONE: Self = Self { location: 0.0, weight: 0.0, freedom: -1.0, squares: 0.0, held: 0.0, n: 0 };

    /// A published expectation: its mean and SD matched by moments as a log-normal, taken to be of the true
    /// content; `counting` is the variance that counts add. `None` for a mean of 0.
    pub fn of_expectation(expectation: &Expectation, counting: f64) -> Option<Self> {
        let (mean, sd) = match expectation.expected {
            Expected::Fold { mean, sd } => (mean.get(), sd.get()),
            Expected::Recovery { mean, sd } | Expected::RecoveryWithCells { mean, sd, .. } => {
                (mean.get(), sd.get())
            }
        };
        Self::of_moments(mean, sd, counting)
    }

    /// The same for a mean and SD. `None` for a mean that is not above 0, or an SD that is not finite.
    pub fn of_moments(mean: f64, sd: f64, counting: f64) -> Option<Self> {
        if !(mean > 0.0 && mean.is_finite() && sd >= 0.0 && sd.is_finite()) {
            return None;
        }
        // σ² = ln(1 + (SD/mean)²), μ = ln mean − σ²/2
        let spread = log_variance(sd / mean);
        let location = log(mean) - 0.5 * spread;
        // Of σ², w = σ²/(1 + 1/κ₀) is between a clinic's preparations and w/κ₀ between clinics. Counting is between
        // preparations alone: a count varies by w + v about its clinic's middle, which lies where it did without
        // counting, so κ = κ₀·(w + v)/w; and counting is known, so that of the spread less is unknown: the variance
        // of w + v is that of w, and that of S/χ²_ν is 2/(ν − 4) of its square.
        let within = spread / (1.0 + 1.0 / LITERATURE_WEIGHT);
        let least = counting / (MOST_COUNTING - 1.0);
        let times = if within > 0.0 || counting > 0.0 { 1.0 + counting / within.max(least) } else { 1.0 };
        let freedom = 4.0 + (LITERATURE_FREEDOM - 4.0) * times * times;
        let squares = (freedom - 2.0) * (within + counting);
        let weight = LITERATURE_WEIGHT * times;
        Some(Self { location, weight, freedom, squares, held: counting, n: 0 })
    }

    /// What so many counts with this mean and SD (n − 1 in the denominator) say where nothing was known before.
    pub fn of_counts(n: u32, mean: f64, sd: f64, held: f64) -> Self {
        let (weight, freedom) = (f64::from(n), f64::from(n) - 1.0);
        Self { location: mean, weight, freedom, squares: freedom * sd * sd, held, n }
    }

    /// What is known after these logarithms, each with its variance by counting.
    #[must_use]
    pub fn after(self, counts: &[(f64, f64)]) -> Self {
        let Ok(more) = u32::try_from(counts.len()) else { return self };
        if more == 0 {
            return self;
        }
        let n = f64::from(more);
        let mean = counts.iter().map(|(x, _)| x).sum::<f64>() / n;
        let about_mean: f64 = counts.iter().map(|(x, _)| (x - mean) * (x - mean)).sum();
        let counting: f64 = counts.iter().map(|(_, v)| v).sum();
        let off = mean - self.location;
        // κ' = κ + n, μ' = (κμ + nx̄)/κ', ν' = ν + n, S' = S + Σ(x − x̄)² + κn/κ'·(x̄ − μ)²
        let weight = self.weight + n;
        let known = self.freedom.max(0.0);
        Self {
            location: (self.weight * self.location + n * mean) / weight,
            weight,
            freedom: self.freedom + n,
            squares: self.squares + about_mean + self.weight * n / weight * off * off,
            held: (known * self.held + counting) / (known + n),
            n: self.n.saturating_add(more),
        }
    }

    /// What the next count will read, as a logarithm; `None` while too little is known ([`FEWEST`] counts where
    /// nothing was known before), and where nothing at all seems to vary: counts that are all alike are not certain,
    /// they vary by counting at least.
    pub fn predictive(&self) -> Option<Predictive> {
        let enough = self.weight > 0.0 && self.freedom >= f64::from(FEWEST) - 1.0;
        // s² = S/ν·(1 + 1/κ), counting at least
        let learned = self.squares / self.freedom * (1.0 + 1.0 / self.weight);
        let scale = sqrt(learned.max(self.held));
        let found =
            Predictive { location: self.location, scale, freedom: self.freedom, n: self.n, held: self.held };
        (enough && scale > 0.0 && scale.is_finite() && self.location.is_finite()).then_some(found)
    }

    /// What one more count would do to the 80 % range, before it is taken; `None` while nothing is predicted.
    pub fn next(&self) -> Option<Next> {
        let now = self.predictive()?;
        let (nu, k) = (self.freedom, self.weight);
        // The range after the count depends on it by √(1 + T²/ν), T ~ t_ν; on average that is
        // Γ((ν−1)/2)·Γ((ν+1)/2)/Γ(ν/2)². And S'/ν'·(1 + 1/κ') takes the place of S/ν·(1 + 1/κ).
        let half = student::log_half_step(0.5 * nu) - student::log_half_step(0.5 * (nu - 1.0));
        let learned = self.squares / (nu + 1.0) * (1.0 + 1.0 / (k + 1.0));
        let scale = sqrt((learned * exp(2.0 * half)).max(self.held));
        let width = 2.0 * scale * student::deviate(HIGH, nu + 1.0);
        let off = 0.5 * width;
        Some(Next {
            now: now.range(),
            expected: LogRange {
                median: exp(self.location),
                low: exp(self.location - off),
                high: exp(self.location + off),
            },
            narrower: 1.0 - width / (2.0 * now.scale * student::deviate(HIGH, nu)),
        })
    }
}

/// What the next count will read: the logarithm of a fold or recovery is `location + scale·T`, T being Student's
/// t with `freedom` degrees. `held` is the variance by counting alone in there: the true content has less.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Predictive {
    /// Middle of the logarithm.
    pub location: f64,
    /// Scale of the logarithm.
    pub scale: f64,
    /// Degrees of freedom.
    pub freedom: f64,
    /// Own counts it rests on.
    pub n: u32,
    /// Variance of the logarithm by counting alone, on average; 0 in a spread of the true content.
    pub held: f64,
}

/// Median and 80 % range, no logarithm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LogRange {
    /// As likely above as below.
    pub median: f64,
    /// One in ten lies below.
    pub low: f64,
    /// One in ten lies above.
    pub high: f64,
}

/// What the next count would change.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Next {
    /// The range as it is.
    pub now: LogRange,
    /// The range to be expected after one more count.
    pub expected: LogRange,
    /// Share by which the range of the logarithm is expected to narrow; below 0 it widens.
    pub narrower: f64,
}

impl Predictive {
    /// The value, no logarithm, with chance `p` below it.
    pub fn quantile(&self, p: f64) -> f64 {
        exp(self.location + self.scale * student::deviate(p, self.freedom))
    }

    /// Chance that the value, no logarithm, lies below `x`.
    pub fn below(&self, x: f64) -> f64 {
        match self.scale {
            _ if x <= 0.0 => 0.0,
            0.0 => f64::from(log(x) >= self.location),
            scale => student::below((log(x) - self.location) / scale, self.freedom),
        }
    }

    /// Median and 80 % range.
    pub fn range(&self) -> LogRange {
        LogRange { median: exp(self.location), low: self.quantile(1.0 - HIGH), high: self.quantile(HIGH) }
    }

    /// The spread of the true content: what counting adds is taken out once. A variance from ν degrees of freedom is
    /// itself known to √(2/ν) of it; so much is left, lest a few counts that agree by luck look certain.
    #[must_use]
    pub fn true_content(&self) -> Self {
        // The variance of T is ν/(ν − 2): s²·ν/(ν − 2) − v is the variance left.
        let share = ((self.freedom - 2.0) / self.freedom).max(0.0);
        let square = self.scale * self.scale;
        let least = sqrt(2.0 / self.freedom).min(1.0);
        let left = (square - self.held * share).max(least * square);
        Self { scale: sqrt(left), held: 0.0, ..*self }
    }

    /// The same but for rounding.
    #[cfg(test)]
    fn is_like(&self, other: &Self) -> bool {
        let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * (1.0 + b.abs());
        near(self.location, other.location)
            && near(self.scale, other.scale)
            && near(self.freedom, other.freedom)
            && near(self.held, other.held)
            && self.n == other.n
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn near(found: f64, expected: f64, relative: f64) {
        assert!((found - expected).abs() <= relative * expected.abs(), "{found} is not {expected}");
    }

    #[test]
    fn the_literature_is_matched_by_its_moments() {
        let v = 0.0018;
        let prior = Prior::of_moments(0.7, 0.12, v).unwrap();
        // what counts read of a clinic's preparations varies by half of the published variance and by counting; of
        // their middle as much is unknown as before: half of the published variance, and of the spread as much
        let spread = libm::log1p((0.12 / 0.7) * (0.12 / 0.7));
        near(prior.squares / (prior.freedom - 2.0), spread / 2.0 + v, 1e-12);
        near(prior.squares / (prior.freedom - 2.0) / prior.weight, spread / 2.0, 1e-12);
        near((prior.freedom - 4.0).recip().sqrt() * (spread / 2.0 + v), 0.5_f64.sqrt() * spread / 2.0, 1e-12);
        let p = prior.predictive().unwrap();
        // the variance of the next count's logarithm is ln(1 + (0.12/0.7)²) + v, its median 0.7·e^(−σ²/2)
        near(p.scale * p.scale * p.freedom / (p.freedom - 2.0), spread + v, 1e-12);
        near(p.range().median, 0.7 * exp(-0.5 * spread), 1e-12);
        // and the true content has the published variance
        let t = p.true_content();
        near(t.scale * t.scale * t.freedom / (t.freedom - 2.0), spread, 1e-12);
        assert_eq!((t.held, p.n), (0.0, 0));
        // a published SD of nothing, or of next to nothing beside counting, stays a number
        for sd in [0.0, 1e-9] {
            let p = Prior::of_moments(0.7, sd, v).unwrap();
            assert!(p.freedom < 205.0 && p.weight < 10.1 && p.predictive().is_some(), "{p:?}");
        }
        assert!(Prior::of_moments(0.7, 0.0, 0.0).unwrap().predictive().is_none());
        assert!(Prior::of_moments(0.0, 0.1, v).is_none() && Prior::of_moments(f64::NAN, 0.1, v).is_none());
    }

    #[test]
    fn a_posterior_by_hand() {
        // κ 1 → 3, μ (1·0 + 2·0.3)/3 = 0.2, ν 6 → 8, S 0.4 + 0.02 + 1·2/3·0.09 = 0.48
        let prior = Prior { location: 0.0, weight: 1.0, freedom: 6.0, squares: 0.4, held: 0.002, n: 0 };
        let after = prior.after(&[(0.2, 0.001), (0.4, 0.003)]);
        near(after.location, 0.2, 1e-15);
        near(after.squares, 0.48, 1e-15);
        assert_eq!((after.weight, after.freedom, after.n), (3.0, 8.0, 2));
        // held (6·0.002 + 0.004)/8 = 0.002
        near(after.held, 0.002, 1e-15);
        let p = after.predictive().unwrap();
        near(p.scale, libm::sqrt(0.06 * 4.0 / 3.0), 1e-15);
        // t of 8 degrees at 0.9: 1.396815 (table)
        near(p.quantile(0.9), exp(0.2 + p.scale * 1.396_815_309_743_3), 1e-9);
    }

    #[test]
    fn without_any_prior_three_counts_are_the_least() {
        assert!(Prior::NONE.predictive().is_none() && Prior::NONE.next().is_none());
        let two = Prior::NONE.after(&[(-0.3, 0.0), (-0.4, 0.0)]);
        assert!(two.predictive().is_none());
        let three = Prior::NONE.after(&[(-0.3, 0.0), (-0.4, 0.0), (-0.5, 0.0)]);
        let p = three.predictive().unwrap();
        // mean −0.4, s 0.1, freedom 2, scale 0.1·√(1 + 1/3)
        near(p.location, -0.4, 1e-15);
        near(p.scale, 0.1 * libm::sqrt(4.0 / 3.0), 1e-12);
        assert_eq!((p.freedom, p.n), (2.0, 3));
        // the same from its summary
        assert!(Prior::of_counts(3, -0.4, 0.1, 0.0).predictive().unwrap().is_like(&p));
    }

    #[test]
    fn counting_is_taken_out_once_and_never_all_of_it() {
        let p = Predictive { location: -0.4, scale: 0.1, freedom: 10.0, n: 4, held: 0.004 };
        near(p.true_content().scale, libm::sqrt(0.01 - 0.004 * 0.8), 1e-12);
        assert_eq!(p.true_content().true_content(), p.true_content());
        let all = Predictive { held: 0.02, ..p };
        near(all.true_content().scale, 0.1 * libm::sqrt(libm::sqrt(0.2)), 1e-12);
        let few = Predictive { freedom: 2.0, ..p };
        assert_eq!(few.true_content().scale, 0.1);
    }

    #[test]
    fn counts_that_are_all_alike_are_not_certain() {
        let alike = Prior::NONE.after(&[(-0.4, 0.0018); 4]);
        let p = alike.predictive().unwrap();
        near(p.scale, libm::sqrt(0.0018), 1e-12);
        assert!(p.true_content().scale > 0.0 && p.range().low < p.range().high);
        let next = alike.next().unwrap();
        assert!(next.narrower.is_finite() && next.expected.low < next.expected.high, "{next:?}");
        // where counting is not known either there is no spread to tell
        let none = Prior::NONE.after(&[(0.5, 0.0); 4]);
        assert!(none.predictive().is_none() && none.next().is_none());
    }

    #[test]
    fn a_recovery_above_1_is_kept() {
        let prior = Prior::of_moments(0.7, 0.12, 0.0018).unwrap();
        let p = prior.after(&[(log(1.04), 0.0018)]).predictive().unwrap();
        assert!(p.location > prior.location && p.n == 1);
        assert!(p.below(1.0) < 1.0 && p.below(0.0) == 0.0);
    }

    #[test]
    fn what_the_next_count_changes_is_what_it_changes_on_average() {
        // Over a fine grid of what the next count may read, each as likely as it is.
        let prior = Prior::of_moments(0.7, 0.12, 0.0018).unwrap();
        let four: Vec<(f64, f64)> = [0.62, 0.7, 0.75, 0.58].map(|x: f64| (log(x), 0.0018)).to_vec();
        for known in [prior, prior.after(&four)] {
            let p = known.predictive().unwrap();
            let (mut mean, cells) = (0.0, 20_000);
            for i in 0..cells {
                let at = log(p.quantile((f64::from(i) + 0.5) / f64::from(cells)));
                let then = known.after(&[(at, 0.0018)]).predictive().unwrap().range();
                mean += log(then.high / then.low) / f64::from(cells);
            }
            let next = known.next().unwrap();
            near(log(next.expected.high / next.expected.low), mean, 2e-4);
            near(next.narrower, 1.0 - mean / log(next.now.high / next.now.low), 1e-2);
            near(next.expected.median, p.range().median, 1e-12);
        }
    }

    proptest! {
        #[test]
        fn all_at_once_or_one_by_one_is_the_same(
            counts in proptest::collection::vec((-1.5_f64..0.5, 0.0_f64..0.01), 0..30),
            mean in 0.2_f64..5.0, cv in 0.01_f64..0.5,
        ) {
            let prior = Prior::of_moments(mean, mean * cv, 0.0018).unwrap();
            let at_once = prior.after(&counts).predictive().unwrap();
            let one_by_one = counts.iter().fold(prior, |p, &c| p.after(&[c])).predictive().unwrap();
            prop_assert!(at_once.is_like(&one_by_one), "{at_once:?} {one_by_one:?}");
            let reversed: Vec<_> = counts.iter().rev().copied().collect();
            prop_assert!(at_once.is_like(&prior.after(&reversed).predictive().unwrap()));
            let t = at_once.true_content();
            prop_assert!(t.scale <= at_once.scale && t.scale > 0.0);
        }
    }
}
