//! Log-normal spreads, truncated at what is possible, and their product. Deterministic, no random draws.
//!
//! Plain numbers in here: only [`super::predict`] calls it, with quantities on both sides.

use crate::chance::normal::{below, density, deviate};
use crate::chance::quadrature::integral;
use crate::chance::root::root;
use libm::{exp, hypot, log, sqrt};

/// Share of an expectation that must lie below the ceiling for the rest to mean anything. Judgement.
const KEPT_AT_LEAST: f64 = 0.001;

/// A log-normal: `ln x ~ Normal(mu, sigma²)`. `sigma` may be 0, then `x` is certain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LogNormal {
    mu: f64,
    sigma: f64,
}

impl LogNormal {
    /// With this mean (above 0) and this SD over mean, both of `x` itself.
    pub(super) fn matched(mean: f64, cv: f64) -> Self {
        // σ² = ln(1 + cv²), μ = ln mean − σ²/2
        let variance = libm::log1p(cv * cv);
        Self { mu: log(mean) - 0.5 * variance, sigma: sqrt(variance) }
    }
}

/// A log-normal of which only what lies at or below a ceiling is kept, renormalised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Truncated {
    of: LogNormal,
    /// The ceiling as a standard normal deviate.
    top: f64,
    /// Share kept.
    kept: f64,
}

impl Truncated {
    /// Nothing when the ceiling cuts (all but a thousandth of) the spread away.
    pub(super) fn new(of: LogNormal, ceiling: f64) -> Option<Self> {
        let top = if of.sigma > 0.0 {
            (log(ceiling) - of.mu) / of.sigma
        } else if exp(of.mu) <= ceiling {
            f64::INFINITY
        } else {
            f64::NEG_INFINITY
        };
        let kept = below(top);
        (kept >= KEPT_AT_LEAST).then_some(Self { of, top, kept })
    }

    /// Chance of lying at or below `x`.
    #[cfg(test)]
    pub(super) fn cdf(self, x: f64) -> f64 {
        if self.of.sigma == 0.0 {
            return if x >= exp(self.of.mu) { 1.0 } else { 0.0 };
        }
        self.cdf_deviate((log(x) - self.of.mu) / self.of.sigma)
    }

    /// The value with chance `p` below it.
    pub(super) fn quantile(self, p: f64) -> f64 {
        exp(self.of.mu + self.of.sigma * self.deviate(p))
    }

    fn cdf_deviate(self, z: f64) -> f64 {
        // F(x) = Φ(z)/Φ(z_top)
        (below(z.min(self.top)) / self.kept).min(1.0)
    }

    fn deviate(self, p: f64) -> f64 {
        let (low, high) = (-9.0, self.top.min(9.0));
        root(low, high, 0.0_f64.min(high), |z| (self.cdf_deviate(z) - p, density(z) / self.kept))
    }
}

/// A truncated log-normal times an independent log-normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Product {
    of: Truncated,
    by: LogNormal,
    /// Spread of the logarithm before truncation.
    both: f64,
}

impl Product {
    /// `of` times `by`.
    pub(super) fn new(of: Truncated, by: LogNormal) -> Self {
        Self { of, by, both: hypot(of.of.sigma, by.sigma) }
    }

    /// Chance of lying at or below `x`.
    #[cfg(test)]
    pub(super) fn cdf(self, x: f64) -> f64 {
        self.cdf_log(log(x) - self.of.of.mu - self.by.mu)
    }

    /// The value with chance `p` below it.
    pub(super) fn quantile(self, p: f64) -> f64 {
        let (s, k) = (self.of.of.sigma, self.by.sigma);
        let cut = s * self.of.deviate(p);
        let t = if k > 0.0 {
            // Starts where the two spreads, each at its own quantile, add as normals do.
            let (middle, free) = (s * self.of.deviate(0.5), k * deviate(p));
            let start = middle + hypot(cut - middle, free).copysign(free);
            let (low, high) = (-9.0 * self.both, s * self.of.top.min(9.0) + 9.0 * k);
            root(low, high, start, |t| (self.cdf_log(t) - p, self.density_log(t)))
        } else {
            cut
        };
        exp(self.of.of.mu + self.by.mu + t)
    }

    /// Chance that `s·Z₁ + k·Z₂ ≤ t`, `Z₁` cut at the top.
    fn cdf_log(self, t: f64) -> f64 {
        let (s, k, top) = (self.of.of.sigma, self.by.sigma, self.of.top);
        if k == 0.0 {
            return if s > 0.0 { self.of.cdf_deviate(t / s) } else { f64::from(t >= 0.0) };
        }
        if s == 0.0 {
            return below(t / k);
        }
        // The narrower spread goes under the integral, so that the integrand never bends sharply.
        if k <= s {
            // F = Φ(w*) + ∫_{w*} φ(w) Φ((t − k·w)/s) dw / Φ(z_top), w* = (t − s·z_top)/k
            let bend = (t - s * top) / k;
            below(bend) + integral(bend, f64::INFINITY, |w| below((t - k * w) / s)) / self.of.kept
        } else {
            // F = ∫^{z_top} φ(z) Φ((t − s·z)/k) dz / Φ(z_top)
            integral(f64::NEG_INFINITY, top, |z| below((t - s * z) / k)) / self.of.kept
        }
    }

    /// Density of the same sum: normal, times the chance that its first part stayed below the top.
    fn density_log(self, t: f64) -> f64 {
        let (s, k, v) = (self.of.of.sigma, self.by.sigma, self.both);
        // f = φ(t/v)/v · Φ((z_top − s·t/v²)·v/k) / Φ(z_top), v² = s² + k²
        density(t / v) / v * below((self.of.top - s * t / (v * v)) * v / k) / self.of.kept
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn near(found: f64, expected: f64, relative: f64) {
        assert!((found - expected).abs() <= relative * expected.abs(), "{found} is not {expected}");
    }

    fn truncated(mean: f64, sd: f64, ceiling: f64) -> Truncated {
        Truncated::new(LogNormal::matched(mean, sd / mean), ceiling).unwrap()
    }

    // Reference values: SciPy 1.17.1, truncnorm on the log scale; products by quad and brentq.

    #[test]
    fn truncated_quantiles_agree_with_scipy() {
        for (mean, sd, ceiling, expected) in [
            (0.7, 0.12, 1.0, [0.5539472147127655, 0.6877906488241382, 0.847701424337237]),
            (1.7, 0.1, 1.625, [1.5092963197095175, 1.581504793915884, 1.617562778149437]),
            (1.7, 0.1, 6.5, [1.5739381237412804, 1.697066434397493, 1.8298270048334078]),
            (0.9, 0.3, 1.0, [0.5271454555255389, 0.7490847498289813, 0.9413303103018176]),
        ] {
            let spread = truncated(mean, sd, ceiling);
            for (p, expected) in [0.1, 0.5, 0.9].into_iter().zip(expected) {
                near(spread.quantile(p), expected, 1e-9);
                near(spread.cdf(expected), p, 1e-9);
            }
        }
        near(truncated(0.7, 0.12, 1.0).cdf(0.8), 0.8197340634404854, 1e-9);
        near(truncated(0.7, 0.12, 1.0).kept, 0.9854029391308591, 1e-12);
        near(truncated(1.7, 0.1, 1.625).kept, 0.2301588239263473, 1e-12);
        assert_eq!(truncated(0.7, 0.12, 1.0).cdf(1.0), 1.0);
        assert_eq!(truncated(0.7, 0.12, 1.0).cdf(1.2), 1.0);
        assert_eq!(truncated(0.7, 0.12, 1.0).cdf(0.0), 0.0);
    }

    #[test]
    fn product_quantiles_agree_with_scipy() {
        let old = libm::hypot(0.03, 0.086);
        for (mean, sd, ceiling, count, cv, expected) in [
            (0.7, 0.12, 1.0, 210.0, 0.03, [115.88389295655573, 144.36415644688137, 178.50283074932202]),
            (1.7, 0.1, 1.625, 236.0, 0.25, [261.6950639782356, 359.5770368497922, 493.9458399662209]),
            (1.7, 0.1, 1.625, 210.0, 0.03, [312.31475471268175, 330.54570433838785, 346.63513584706317]),
            (0.9, 0.3, 1.0, 210.0, old, [108.21797506622836, 155.87491633737625, 201.17198756280587]),
        ] {
            let product = Product::new(truncated(mean, sd, ceiling), LogNormal::matched(count, cv));
            for (p, expected) in [0.1, 0.5, 0.9].into_iter().zip(expected) {
                near(product.quantile(p), expected, 1e-9);
                near(product.cdf(expected), p, 1e-9);
            }
        }
        let product = Product::new(truncated(0.7, 0.12, 1.0), LogNormal::matched(210.0, 0.03));
        near(product.cdf(150.0), 0.5891542494146115, 1e-9);
        let product = Product::new(truncated(1.7, 0.1, 1.625), LogNormal::matched(236.0, 0.25));
        near(product.cdf(380.0), 0.5881989183370894, 1e-9);
    }

    #[test]
    fn moments_are_matched() {
        // mean e^(μ + σ²/2), variance mean²·(e^σ² − 1)
        let spread = LogNormal::matched(0.7, 0.12 / 0.7);
        let variance = spread.sigma * spread.sigma;
        near(exp(spread.mu + variance / 2.0), 0.7, 1e-14);
        near(0.7 * sqrt(libm::expm1(variance)), 0.12, 1e-14);
    }

    #[test]
    fn ceiling_cuts_away_at_a_thousandth() {
        let spread = LogNormal::matched(1.7, 0.1 / 1.7);
        // Φ(−3.0902) is a thousandth
        let at = |z: f64| Truncated::new(spread, exp(spread.mu + z * spread.sigma)).is_some();
        assert!(at(-3.0902) && !at(-3.0903));
        assert!(Truncated::new(spread, 0.0).is_none());
    }

    #[test]
    fn certainty_on_either_side() {
        let certain = truncated(0.5, 0.0, 1.0);
        assert_eq!((certain.cdf(0.49), certain.cdf(0.51)), (0.0, 1.0));
        near(certain.quantile(0.1), 0.5, 1e-14);
        // only the count spreads: Φ⁻¹(0.9) = 1.2815515655446004
        let spread = LogNormal::matched(200.0, 0.1);
        near(
            Product::new(certain, spread).quantile(0.9),
            0.5 * exp(spread.mu + 1.2815515655446004 * spread.sigma),
            1e-9,
        );
        // only the recovery spreads
        let product = Product::new(truncated(0.7, 0.12, 1.0), LogNormal::matched(200.0, 0.0));
        near(product.quantile(0.9), 200.0 * 0.847701424337237, 1e-9);
    }

    proptest! {
        #[test]
        fn quantiles_rise_stay_below_the_ceiling_and_invert(
            mean in 0.01_f64..10.0, cv in 0.0_f64..10.0, ceiling in 0.01_f64..20.0,
            count_cv in 0.0_f64..1.0, p in 0.001_f64..0.998, step in 0.0005_f64..0.001,
        ) {
            let Some(spread) = Truncated::new(LogNormal::matched(mean, cv), ceiling) else { return Ok(()) };
            let (low, high) = (spread.quantile(p), spread.quantile(p + step));
            prop_assert!(low > 0.0 && low <= high && high <= ceiling * (1.0 + 1e-12));
            let product = Product::new(spread, LogNormal::matched(200.0, count_cv));
            let (low, high) = (product.quantile(p), product.quantile(p + step));
            prop_assert!(low.is_finite() && low <= high);
            if cv > 1e-6 && count_cv > 1e-6 {
                prop_assert!((spread.cdf(spread.quantile(p)) - p).abs() < 1e-9);
                prop_assert!((product.cdf(low) - p).abs() < 1e-9);
            }
        }
    }
}
