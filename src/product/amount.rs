//! The spreads behind every predicted amount: what is stable, what multiplies it, where it is cut.

use super::kind::{Basis, Expectation, Expected};
use super::order::{Bounds, Needs, OrderedAmount};
use super::predict::NativeCount;
use super::spread::{Free, LogSpread, Product, Read, Truncated};
use crate::quantity::{Cv, OutOfRange, Quantity, Volume};
use serde::Serialize;

/// Correlation between containers of one patient and run [`crate::evidence::SourceId::ContainerCorrelation`].
pub(super) const CORRELATION: f64 = 0.8;

/// The volumes that a prediction rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Volumes {
    /// Blood in all containers, without anticoagulant [mL].
    pub blood: Volume,
    /// Product from all containers [mL].
    pub product: Volume,
    /// Step to which the product volume is read [mL]; none: it is taken as exact.
    pub graduation: Option<Volume>,
    /// How many containers.
    pub containers: u8,
}

impl Volumes {
    /// One container, both volumes exact.
    pub fn exact(blood: Volume, product: Volume) -> Self {
        Self { blood, product, graduation: None, containers: 1 }
    }
}

/// What a range speaks of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Content {
    /// What is in the product.
    True,
    /// What a count of it will read: as many readings of one sample, averaged.
    Read {
        /// At least 1.
        readings: u8,
    },
}

/// What a share of the doubt comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Unknown {
    /// The blood has no count.
    NoCount,
    /// The count of the blood is an older one, or sure only as far as an analyser is.
    BloodCount,
    /// How much of the platelets the method takes.
    Method,
    /// How much was or will be kept.
    ProductVolume,
}

/// Standard deviation of a product pooled from `n` containers: their mean, with the correlation between them.
pub(super) fn pooled(containers: u8) -> f64 {
    // √(ρ + (1 − ρ)/n)
    libm::sqrt(CORRELATION + (1.0 - CORRELATION) / f64::from(containers.max(1)))
}

/// One product in the making.
#[derive(Debug, Clone, Copy)]
pub(super) struct Amounts {
    stable: Truncated,
    of_fold: bool,
    /// B/V.
    ceiling: f64,
    volumes: Volumes,
    native: Option<NativeCount>,
    /// Variance of the logarithm that counting the product adds.
    counting: f64,
}

impl Amounts {
    /// Nothing where the ceiling cuts the expectation away. Errors: a mean of 0, an SD above ten means.
    pub(super) fn new(
        expectation: &Expectation,
        volumes: Volumes,
        native: Option<NativeCount>,
        content: Content,
        analyser: Cv,
    ) -> Result<Option<Self>, OutOfRange> {
        let ceiling = volumes.blood.get() / volumes.product.get();
        let of_fold = matches!(expectation.expected, Expected::Fold { .. });
        let Some(stable) =
            Truncated::new(spread(expectation, volumes.containers)?, if of_fold { ceiling } else { 1.0 })
                .filter(|_| ceiling > 0.0)
        else {
            return Ok(None);
        };
        let counting = match content {
            Content::True => 0.0,
            Content::Read { readings } => {
                libm::log1p(analyser.get() * analyser.get()) / f64::from(readings.max(1))
            }
        };
        Ok(Some(Self { stable, of_fold, ceiling, volumes, native, counting }))
    }

    /// Fold that 1 of the stable number means.
    fn fold_of_one(&self) -> f64 {
        if self.of_fold { 1.0 } else { self.ceiling }
    }

    /// Fold at the volumes as stated.
    pub(super) fn fold(&self, p: f64) -> f64 {
        self.fold_of_one() * self.stable.quantile(p)
    }

    /// Chance that the fold lies at or below `x`.
    pub(super) fn fold_below(&self, x: f64) -> f64 {
        self.stable.cdf(x / self.fold_of_one())
    }

    fn read(&self, times: bool) -> Option<Read> {
        Read::new(self.volumes.product.get(), self.volumes.graduation?.get(), times)
    }

    fn count(&self) -> Option<LogSpread> {
        let native = self.native.filter(|n| n.value.get() > 0.0)?;
        Some(LogSpread::matched(native.value.get(), native.cv.get()).with_noise(self.counting))
    }

    /// Concentration over its factor; with a fold the volume kept does not enter.
    fn concentration_spread(&self) -> Option<Product> {
        let read = if self.of_fold { None } else { self.read(false) };
        Some(Product::new(self.stable, Free::new(self.count()?, read)))
    }

    /// Platelets in product over their factor; with a recovery the volume kept does not enter.
    fn platelets_spread(&self) -> Option<Product> {
        let read = if self.of_fold { self.read(true) } else { None };
        Some(Product::new(self.stable, Free::new(self.count()?, read)))
    }

    /// Platelets in product [10⁹] that 1 of the stable number means at a count of 1 ×10⁹/L.
    fn platelets_of_one(&self) -> f64 {
        self.fold_of_one() * self.volumes.product.get() / 1000.0
    }

    /// Concentration [10⁹/L] with chance `p` below it; none without a count above 0.
    pub(super) fn concentration(&self, p: f64) -> Option<f64> {
        Some(self.fold_of_one() * self.concentration_spread()?.quantile(p))
    }

    /// Platelets in product [10⁹] with chance `p` below it; none without a count above 0.
    pub(super) fn platelets(&self, p: f64) -> Option<f64> {
        Some(self.platelets_of_one() * self.platelets_spread()?.quantile(p))
    }

    /// Chance that an amount lies within bounds. Platelets stand here for a dose reckoned back to the
    /// concentration it needs. None without a count where one is needed.
    pub(super) fn chance(&self, what: OrderedAmount, bounds: Bounds) -> Option<f64> {
        let within = |below: &dyn Fn(f64) -> f64| {
            // The low end belongs to what is ordered.
            let under = if bounds.low > 0.0 { below(bounds.low * (1.0 - 1e-12)) } else { 0.0 };
            let up_to = if bounds.high.is_finite() { below(bounds.high) } else { 1.0 };
            (up_to - under).clamp(0.0, 1.0)
        };
        match what {
            OrderedAmount::Fold => Some(within(&|x| self.stable.cdf(x / self.fold_of_one()))),
            OrderedAmount::Platelets | OrderedAmount::Concentration => {
                if self.native?.value.get() == 0.0 {
                    return Some(within(&|_| 1.0));
                }
                let spread = self.concentration_spread()?;
                Some(within(&|x| spread.cdf(x / self.fold_of_one())))
            }
        }
    }

    /// Chance that all that is needed is met. None without a count where one is needed.
    pub(super) fn chance_of_all(&self, needs: Needs) -> Option<f64> {
        let (concentration, fold) = match (needs.concentration, needs.fold) {
            (Some(c), Some(f)) => (c, f),
            (Some(c), None) => return self.chance(OrderedAmount::Concentration, c),
            (None, Some(f)) => return self.chance(OrderedAmount::Fold, f),
            (None, None) => return Some(1.0),
        };
        if self.native?.value.get() == 0.0 {
            return self.chance(OrderedAmount::Concentration, concentration);
        }
        if concentration.low > concentration.high || fold.low > fold.high {
            return Some(0.0);
        }
        let spread = self.concentration_spread()?;
        let one = self.fold_of_one();
        let [low, high] = [concentration.low * (1.0 - 1e-12), concentration.high].map(|x| x / one);
        let [from, to] = [fold.low * (1.0 - 1e-12), fold.high].map(|x| x / one);
        // P(x₁ ≤ x ≤ x₂, y₁ ≤ y ≤ y₂) = F(x₂, y₂) − F(x₁, y₂) − F(x₂, y₁) + F(x₁, y₁)
        let within = |most: f64| spread.cdf_while(high, most) - spread.cdf_while(low, most);
        Some((within(to) - within(from)).clamp(0.0, 1.0))
    }

    /// About the same, for a search. None without a count.
    pub(super) fn about(&self, needs: Needs) -> Option<f64> {
        let one = self.fold_of_one();
        let ends = |b: Option<Bounds>| b.map_or([0.0, f64::INFINITY], |b| [b.low / one, b.high / one]);
        let (concentration, fold) = (ends(needs.concentration), ends(needs.fold));
        let empty = |[low, high]: [f64; 2]| low > high;
        if empty(concentration) || empty(fold) {
            return Some(0.0);
        }
        Some(match needs.concentration {
            Some(_) => self.concentration_spread()?.about(concentration, fold).clamp(0.0, 1.0),
            None => self.stable.cdf(fold[1]) - self.stable.cdf(fold[0]),
        })
    }

    /// How far the middles lie off what is needed, in squares of their spreads, uncut. None without a count where
    /// one is needed.
    pub(super) fn off(&self, needs: Needs) -> Option<f64> {
        let (count, stable) = (self.variance_of_count(), self.stable.square_of_spread());
        let away = |x: f64, b: Bounds, variance: f64| {
            let off = libm::log(b.low / x).max(libm::log(x / b.high)).max(0.0);
            off * off / variance.max(1e-6)
        };
        let fold = self.fold(0.5);
        let concentration = match needs.concentration {
            Some(b) => {
                away(fold * self.native.filter(|n| n.value.get() > 0.0)?.value.get(), b, count + stable)
            }
            None => 0.0,
        };
        Some(concentration + needs.fold.map_or(0.0, |b| away(fold, b, stable)))
    }

    /// Whether the middle of an amount lies within bounds.
    pub(super) fn middle_within(&self, what: OrderedAmount, bounds: Bounds) -> bool {
        // x₁ ≤ median ≤ x₂ where no more than half lies below x₁ and no less than half up to x₂
        let below = |x| self.chance(what, Bounds { low: 0.0, high: x }).unwrap_or(f64::NAN);
        below(bounds.low * (1.0 - 1e-12)) <= 0.5 && (bounds.high.is_infinite() || below(bounds.high) >= 0.5)
    }

    /// The same with one unknown known: at its middle, without spread. A missing count is taken as counted today
    /// at the value that stands for it.
    pub(super) fn knowing(self, what: Unknown, today: Cv) -> Self {
        let mut known = self;
        match what {
            Unknown::Method => known.stable = self.stable.at_its_middle(),
            Unknown::ProductVolume => known.volumes.graduation = None,
            Unknown::NoCount | Unknown::BloodCount => {
                known.native = self.native.map(|n| NativeCount { cv: today, ..n });
            }
        }
        known
    }

    fn variance_of_count(&self) -> f64 {
        self.native.map_or(0.0, |n| libm::log1p(n.cv.get() * n.cv.get()))
    }

    /// Variance of the logarithm of the concentration that each unknown brings, in the order of [`Unknown`]'s use:
    /// count of the blood, method, volume.
    pub(super) fn variances(&self) -> [f64; 3] {
        let half = |g: Volume| (0.5 * g.get() / self.volumes.product.get()).min(0.999);
        let volume = if self.of_fold { None } else { self.volumes.graduation.map(half) };
        [self.variance_of_count(), self.stable.variance_of_log(), volume.map_or(0.0, variance_of_log_uniform)]
    }
}

/// Variance of `ln u`, u uniform on 1 ± h.
fn variance_of_log_uniform(h: f64) -> f64 {
    if h < 1e-3 {
        return h * h / 3.0;
    }
    // E ln u = [u·ln u − u]/2h, E ln²u = [u·ln²u − 2u·ln u + 2u]/2h
    let at = |u: f64| {
        let l = libm::log(u);
        [u * l - u, u * l * l - 2.0 * u * l + 2.0 * u]
    };
    let ([a1, a2], [b1, b2]) = (at(1.0 - h), at(1.0 + h));
    let mean = (b1 - a1) / (2.0 * h);
    (b2 - a2) / (2.0 * h) - mean * mean
}

/// The stable number before its ceiling, counting error taken out.
fn spread(expectation: &Expectation, containers: u8) -> Result<LogSpread, OutOfRange> {
    if let Some(learned) = expectation.learned() {
        return Ok(LogSpread::student(learned.location, learned.true_scale(), learned.freedom));
    }
    let factor = spread_factor(expectation, containers);
    match expectation.expected {
        Expected::Fold { mean, sd } => matched(mean, sd, factor),
        Expected::Recovery { mean, sd } | Expected::RecoveryWithCells { mean, sd, .. } => {
            matched(mean, sd, factor)
        }
    }
}

/// Literature and an entry speak of one container; a clinic's counts are of products as it pools them.
pub(super) fn spread_factor(expectation: &Expectation, containers: u8) -> f64 {
    match expectation.basis {
        Basis::ClinicCounts { .. } | Basis::FewCounts { .. } => 1.0,
        Basis::Literature(_) | Basis::ClinicEntry => pooled(containers),
    }
}

/// Log-normal with this mean and SD of the quantity itself, the SD times `factor`.
fn matched<Q: Quantity>(mean: Q, sd: Q, factor: f64) -> Result<LogSpread, OutOfRange> {
    if mean.get() <= 0.0 {
        return Err(OutOfRange {
            quantity: Q::NAME,
            value: mean.get(),
            min: f64::MIN_POSITIVE,
            max: Q::MAX,
            unit: Q::UNIT,
        });
    }
    let cv = Cv::new(sd.get() / mean.get())?;
    Ok(LogSpread::matched(mean.get(), cv.get() * factor))
}
