//! Spreads of positive amounts, truncated at what is possible, and their product. Deterministic, no random draws.
//!
//! Plain numbers in here: only [`super::amount`] calls it, with quantities on both sides.

use crate::chance::quadrature::{fine, integral};
use crate::chance::root::root;
use crate::chance::{normal, student};
use libm::{exp, fabs, hypot, log, log1p, sqrt};

/// Share of an expectation that must lie below the ceiling for the rest to mean anything; own judgement.
const KEPT_AT_LEAST: f64 = 0.001;
/// Half-width of an integral over a normal: 10⁻¹¹ lies outside.
const REACH: f64 = 7.0;

/// A spread on the log scale: `ln x = mu + sigma·Z`, Z standard normal or Student's t. `sigma` may be 0, then `x`
/// is certain.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct LogSpread {
    mu: f64,
    sigma: f64,
    /// Degrees of freedom and logarithm of the density at 0; none for a normal.
    freedom: Option<[f64; 2]>,
}

impl LogSpread {
    /// Log-normal with this mean (above 0) and this SD over mean, both of `x` itself.
    pub(super) fn matched(mean: f64, cv: f64) -> Self {
        // σ² = ln(1 + cv²), μ = ln mean − σ²/2
        let variance = log1p(cv * cv);
        Self { mu: log(mean) - 0.5 * variance, sigma: sqrt(variance), freedom: None }
    }

    /// Student's t of `ln x`.
    pub(super) fn student(location: f64, scale: f64, freedom: f64) -> Self {
        Self { mu: location, sigma: scale, freedom: Some([freedom, student::log_height(freedom)]) }
    }

    /// The same amount read with so much more variance of the logarithm.
    pub(super) fn with_noise(self, variance: f64) -> Self {
        Self { sigma: sqrt(self.sigma * self.sigma + variance), ..self }
    }

    fn below(self, z: f64) -> f64 {
        self.freedom.map_or_else(|| normal::below(z), |[nu, _]| student::below(z, nu))
    }

    fn density(self, z: f64) -> f64 {
        self.freedom.map_or_else(|| normal::density(z), |[nu, height]| student::density_of(z, nu, height))
    }
}

/// A spread of which only what lies at or below a ceiling is kept, renormalised.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Truncated {
    of: LogSpread,
    /// The ceiling as a standard deviate.
    top: f64,
    /// Share kept.
    kept: f64,
}

impl Truncated {
    /// Nothing when the ceiling cuts (all but a thousandth of) the spread away.
    pub(super) fn new(of: LogSpread, ceiling: f64) -> Option<Self> {
        let top = if of.sigma > 0.0 {
            (log(ceiling) - of.mu) / of.sigma
        } else if exp(of.mu) <= ceiling {
            f64::INFINITY
        } else {
            f64::NEG_INFINITY
        };
        let kept = of.below(top);
        (kept >= KEPT_AT_LEAST).then_some(Self { of, top, kept })
    }

    /// The same, of which only what lies at or below `x` is counted; not renormalised again.
    fn up_to(self, x: f64) -> Self {
        let at = if self.of.sigma > 0.0 {
            (log(x) - self.of.mu) / self.of.sigma
        } else if exp(self.of.mu) <= x {
            f64::INFINITY
        } else {
            f64::NEG_INFINITY
        };
        Self { top: self.top.min(at), ..self }
    }

    /// Chance of lying at or below `x`.
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

    /// Nothing spreads any more: the value at its middle.
    pub(super) fn at_its_middle(self) -> Self {
        let of = LogSpread { mu: log(self.quantile(0.5)), sigma: 0.0, freedom: None };
        Self { of, top: f64::INFINITY, kept: 1.0 }
    }

    /// Square of the spread of `ln x` before it was cut.
    pub(super) fn square_of_spread(self) -> f64 {
        self.of.sigma * self.of.sigma
    }

    /// Variance of `ln x`; of Student's t with two degrees of freedom or fewer, that of what lies within reach.
    pub(super) fn variance_of_log(self) -> f64 {
        let moment = |k: i32| match self.of.freedom {
            None => integral(f64::NEG_INFINITY, self.top, |z| powi(z, k)),
            Some([nu, _]) => {
                let [sum] = self.over_angles(nu, |z, weight| [weight * powi(z, k)]);
                sum
            }
        };
        let mean = moment(1) / self.kept;
        self.of.sigma * self.of.sigma * (moment(2) / self.kept - mean * mean)
    }

    /// `∫ f(z) g(z) dz` below the top for Student's t, in the angle θ with `z = √ν·tan θ`.
    fn over_angles<const N: usize>(self, nu: f64, g: impl Fn(f64, f64) -> [f64; N]) -> [f64; N] {
        // Beyond 12 deviates of a t that is nearly normal nothing is left; the heavier tails reach to the end.
        let reach = libm::atan((12.0 + 400.0 / nu) / sqrt(nu));
        let end = libm::atan(self.top / sqrt(nu)).clamp(-reach, reach);
        let at = |angle: f64| {
            let z = sqrt(nu) * libm::tan(angle);
            g(z, self.of.density(z) * sqrt(nu) * (1.0 + z * z / nu))
        };
        let middle = 0.5 * (end - reach);
        let (low, high) = (fine(-reach, middle, at), fine(middle, end, at));
        let mut sum = low;
        for (sum, more) in sum.iter_mut().zip(high) {
            *sum += more;
        }
        sum
    }

    fn cdf_deviate(self, z: f64) -> f64 {
        // F(x) = F₀(z)/F₀(z_top)
        (self.of.below(z.min(self.top)) / self.kept).min(1.0)
    }

    fn deviate(self, p: f64) -> f64 {
        match self.of.freedom {
            Some([nu, _]) => student::deviate(p * self.kept, nu).min(self.top),
            None => {
                let (low, high) = (-9.0, self.top.min(9.0));
                let off = |z: f64| (self.cdf_deviate(z) - p, normal::density(z) / self.kept);
                root(low, high, 0.0_f64.min(high), off)
            }
        }
    }
}

fn powi(x: f64, k: i32) -> f64 {
    (0..k).map(|_| x).product()
}

/// A volume read to a graduation: uniform within half of it either way, as a share `half` of the volume.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Read {
    half: f64,
    /// Whether the amount is in proportion to the volume; else it is inversely so.
    times: bool,
}

/// Closer readings than this share change nothing.
const FINEST: f64 = 1e-6;

impl Read {
    /// Nothing where the graduation changes nothing. More than all of the volume is not in doubt.
    pub(super) fn new(volume: f64, graduation: f64, times: bool) -> Option<Self> {
        let half = (0.5 * graduation / volume).min(0.999);
        (half > FINEST).then_some(Self { half, times })
    }

    fn ends(self) -> [f64; 2] {
        [log1p(-self.half), log1p(self.half)]
    }
}

/// What multiplies a truncated spread: a log-normal, times or over a volume that was read to its graduation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Free {
    by: LogSpread,
    read: Option<Read>,
}

impl Free {
    /// A log-normal that may be certain; with a volume read, as good as certain.
    pub(super) fn new(by: LogSpread, read: Option<Read>) -> Self {
        let least = read.map_or(0.0, |r| 1e-3 * r.half);
        Self { by: LogSpread { sigma: by.sigma.max(least), ..by }, read }
    }

    fn is_certain(self) -> bool {
        self.by.sigma == 0.0
    }

    /// Spread of the logarithm.
    fn width(self) -> f64 {
        hypot(self.by.sigma, self.read.map_or(0.0, |r| r.half / sqrt(3.0)))
    }

    /// Where the logarithm, from its `mu`, can lie.
    fn ends(self) -> (f64, f64) {
        let far = REACH * self.by.sigma;
        let [low, high] = self.read.map_or([0.0; 2], Read::ends);
        match self.read {
            Some(Read { times: false, .. }) => (-high - far, -low + far),
            _ => (low - far, high + far),
        }
    }

    /// Chance that the logarithm lies no more than `t` above its `mu`, and its density there.
    fn at(self, t: f64) -> [f64; 2] {
        let k = self.by.sigma;
        let Some(read) = self.read else { return [normal::below(t / k), normal::density(t / k) / k] };
        // G(t) = ∫ Φ((t − s·ln u)/k) du / 2h over 1 ± h, s = ±1; by parts, with a(u) = (t − s·ln u)/k:
        // 2h·G = [u·Φ(a) − e^(s·t + k²/2)·Φ(a + s·k)], 2h·g = −s·e^(s·t + k²/2)·[Φ(a + s·k)]
        let s = if read.times { 1.0 } else { -1.0 };
        let lift = exp(s * t + 0.5 * k * k);
        let part = |log_u: f64| {
            let a = (t - s * log_u) / k;
            let shifted = normal::below(a + s * k);
            [exp(log_u) * normal::below(a) - lift * shifted, -s * lift * shifted]
        };
        let [low, high] = read.ends();
        let ([g0, d0], [g1, d1]) = (part(low), part(high));
        [((g1 - g0) / (2.0 * read.half)).clamp(0.0, 1.0), ((d1 - d0) / (2.0 * read.half)).max(0.0)]
    }
}

/// A truncated spread times what multiplies it, independent of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Product {
    of: Truncated,
    by: Free,
}

impl Product {
    /// `of` times `by`.
    pub(super) fn new(of: Truncated, by: Free) -> Self {
        Self { of, by }
    }

    /// Chance of lying at or below `x`.
    pub(super) fn cdf(self, x: f64) -> f64 {
        if x <= 0.0 {
            return 0.0;
        }
        if self.by.is_certain() {
            return self.of.cdf(x / exp(self.by.by.mu));
        }
        let [below, _] = self.at(log(x) - self.of.of.mu - self.by.by.mu);
        below
    }

    /// Chance of lying at or below `x` while the truncated spread lies at or below `most`.
    pub(super) fn cdf_while(self, x: f64, most: f64) -> f64 {
        if x <= 0.0 || most <= 0.0 {
            return 0.0;
        }
        if x == f64::INFINITY {
            return self.of.cdf(most);
        }
        if self.by.is_certain() {
            return self.of.cdf((x / exp(self.by.by.mu)).min(most));
        }
        let of = self.of.up_to(most);
        if of.top == f64::NEG_INFINITY { 0.0 } else { Self { of, ..self }.cdf(x) }
    }

    /// About the chance of lying within `low` and `high` while the truncated spread lies within `from` and `to`: a
    /// volume that was read counts by its variance alone. For a search, never shown.
    pub(super) fn about(self, [low, high]: [f64; 2], [from, to]: [f64; 2]) -> f64 {
        let (of, s) = (self.of.of, self.of.of.sigma);
        let k = self.by.width();
        if s == 0.0 || k == 0.0 {
            let within = self.cdf_while(high, to) - self.cdf_while(low, to);
            return within - self.cdf_while(high, from) + self.cdf_while(low, from);
        }
        // ∫ f₀(z) [Φ((ln high − μ − s·z)/k) − Φ((ln low − μ − s·z)/k)] dz, where it is not 0
        let mu = of.mu + self.by.by.mu;
        let (low, high) = (log(low) - mu, log(high) - mu);
        let wide = if of.freedom.is_some() { 1.5 * REACH } else { REACH };
        let start = (-wide).max((log(from) - of.mu) / s).max((low - 5.0 * k) / s);
        let end = wide.min((log(to) - of.mu) / s).min((high + 5.0 * k) / s).min(self.of.top);
        if start >= end {
            return 0.0;
        }
        let [sum] = fine(start, end, |z| {
            let below = |x: f64| match x {
                f64::NEG_INFINITY => 0.0,
                f64::INFINITY => 1.0,
                _ => normal::about_below((x - s * z) / k),
            };
            [of.density(z) * (below(high) - below(low))]
        });
        sum / self.of.kept
    }

    /// The value with chance `p` below it.
    pub(super) fn quantile(self, p: f64) -> f64 {
        let s = self.of.of.sigma;
        let cut = s * self.of.deviate(p);
        let t = if self.by.is_certain() {
            cut
        } else {
            // Starts where the two spreads, each at its own quantile, add as normals do.
            let (middle, free) = (s * self.of.deviate(0.5), self.by.width() * normal::deviate(p));
            let start = middle + hypot(cut - middle, free).copysign(free);
            let reach = 40.0 * hypot(s, self.by.width()) + 2.0 * fabs(start);
            root(start - reach, start + reach, start, |t| {
                let [below, density] = self.at(t);
                (below - p, density)
            })
        };
        exp(self.of.of.mu + self.by.by.mu + t)
    }

    /// Chance that `s·Z + free ≤ t`, `Z` cut at the top, and the density there.
    fn at(self, t: f64) -> [f64; 2] {
        let (of, s, top) = (self.of.of, self.of.of.sigma, self.of.top);
        if s == 0.0 {
            return self.by.at(t);
        }
        // F = [F₀(z₀) + ∫_{z₀}^{z_top} f₀(z) G(t − s·z) dz] / F₀(z_top): below z₀, G is 1
        let kept = self.of.kept;
        let g = |z: f64, weight: f64| self.by.at(t - s * z).map(|v| v * weight / kept);
        let (low, high) = self.by.ends();
        let (from, to) = ((t - high) / s, ((t - low) / s).min(top));
        // A window wider than all of the spread: all of it goes under the integral.
        let (from, to) = match of.freedom {
            Some([nu, _]) if high - low > 2.0 * REACH * s => return self.of.over_angles(nu, g),
            Some(_) => (from, to),
            None => (from.max(-REACH), to.min(REACH)),
        };
        if from >= to {
            let all = of.below(from.min(top)) / kept;
            return [all.min(1.0), 0.0];
        }
        let under = of.below(from) / kept;
        let at = |z: f64| g(z, of.density(z));
        // A volume read coarsely has a flat top with steep ends: it is taken in more pieces.
        let flat = self.by.read.is_some_and(|r| r.half > self.by.by.sigma);
        let [below, density] = if flat {
            let step = (to - from) / 4.0;
            let mut sum = [0.0; 2];
            for i in 0..4 {
                let start = from + step * f64::from(i);
                for (sum, more) in sum.iter_mut().zip(fine(start, start + step, at)) {
                    *sum += more;
                }
            }
            sum
        } else {
            fine(from, to, at)
        };
        [(under + below).min(1.0), density]
    }
}

#[cfg(test)]
#[path = "spread_tests.rs"]
mod tests;
