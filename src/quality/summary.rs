//! Mean and spread of some numbers.

use libm::sqrt;
use serde::Serialize;

/// Mean and spread.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Summary {
    /// How many.
    pub n: u32,
    /// Their mean.
    pub mean: f64,
    /// Their SD, n − 1 in the denominator; `None` for one.
    pub sd: Option<f64>,
    /// Smallest.
    pub low: f64,
    /// Largest.
    pub high: f64,
}

impl Summary {
    /// Of these numbers; `None` without any.
    pub fn of(values: &[f64]) -> Option<Self> {
        let n = u32::try_from(values.len()).ok().filter(|&n| n > 0)?;
        let count = f64::from(n);
        let mean = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|x| (x - mean) * (x - mean)).sum();
        // s = √(Σ(x − x̄)²/(n − 1))
        let sd = (n > 1).then(|| sqrt(squares / (count - 1.0)));
        let low = values.iter().copied().fold(f64::INFINITY, f64::min);
        let high = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        Some(Self { n, mean, sd, low, high })
    }

    /// SD over mean; `None` for one number or a mean of 0.
    pub fn cv(&self) -> Option<f64> {
        self.sd.filter(|_| self.mean != 0.0).map(|sd| sd / self.mean)
    }
}
