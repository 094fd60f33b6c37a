//! Log-normal spreads, truncated at what is possible, and their product. Deterministic, no random draws.
//!
//! Plain numbers in here: only [`super::predict`] calls it, with quantities on both sides.

use libm::{erfc, exp, hypot, log, sqrt};
use std::f64::consts::{FRAC_1_SQRT_2, PI};

/// Share of an expectation that must lie below the ceiling for the rest to mean anything. Judgement.
const KEPT_AT_LEAST: f64 = 0.001;

/// Half-width of all integrals over a standard normal: 10⁻¹¹ lies outside.
const REACH: f64 = 7.0;

/// Chance that a standard normal lies below `z`.
fn below(z: f64) -> f64 {
    0.5 * erfc(-z * FRAC_1_SQRT_2)
}

/// Density of a standard normal.
fn density(z: f64) -> f64 {
    exp(-0.5 * z * z) / sqrt(2.0 * PI)
}

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
        let start = s * self.of.deviate(p);
        let t = if k > 0.0 {
            let (low, high) = (-9.0 * self.both, s * self.of.top.min(9.0) + 9.0 * k);
            // 0·∞ when the truncated factor is certain.
            let high = if high.is_nan() { 9.0 * k } else { high };
            root(low, high, start, |t| (self.cdf_log(t) - p, self.density_log(t)))
        } else {
            start
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

/// Where a rising function crosses 0 between `low` and `high`: Newton inside a bracket that only shrinks, halved
/// whenever Newton would leave it. `f` gives value and slope.
fn root(mut low: f64, mut high: f64, start: f64, f: impl Fn(f64) -> (f64, f64)) -> f64 {
    let mut x = start.clamp(low, high);
    for _ in 0..200 {
        let (value, slope) = f(x);
        if value < 0.0 {
            low = x;
        } else {
            high = x;
        }
        let newton = x - value / slope;
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if (next - x).abs() <= 1e-13 * (1.0 + x.abs()) {
            return next;
        }
        x = next;
    }
    x
}

/// `∫ φ(u) g(u) du` between `from` and `to`, by Gauss and Legendre's rule of 32 points.
fn integral(from: f64, to: f64, g: impl Fn(f64) -> f64) -> f64 {
    let (from, to) = (from.max(-REACH), to.min(REACH));
    if from >= to {
        return 0.0;
    }
    let (centre, half) = (0.5 * (from + to), 0.5 * (to - from));
    let at = |u: f64| density(u) * g(u);
    half * GAUSS_32.iter().map(|(x, w)| w * (at(centre - half * x) + at(centre + half * x))).sum::<f64>()
}

/// Positive nodes and weights of the rule of 32 points.
const GAUSS_32: [(f64, f64); 16] = [
    (0.04830766568773832, 0.0965400885147278),
    (0.1444719615827965, 0.09563872007927486),
    (0.23928736225213706, 0.09384439908080457),
    (0.33186860228212767, 0.09117387869576389),
    (0.42135127613063533, 0.08765209300440381),
    (0.5068999089322294, 0.08331192422694675),
    (0.5877157572407623, 0.07819389578707031),
    (0.6630442669302152, 0.0723457941088485),
    (0.7321821187402897, 0.06582222277636185),
    (0.7944837959679424, 0.058684093478535544),
    (0.84936761373257, 0.050998059262376175),
    (0.8963211557660521, 0.04283589802222668),
    (0.9349060759377397, 0.03427386291302143),
    (0.9647622555875064, 0.02539206530926206),
    (0.9856115115452684, 0.01627439473090567),
    (0.9972638618494816, 0.007018610009470096),
];
