//! A learned line: the logarithm of fold or recovery against what is known of the blood or the product, as a
//! Bayesian regression that takes one count at a time.

use super::learn::{Predictive, Prior};
use crate::chance::{HIGH, student};
use crate::evidence::SourceId;
use libm::{log, sqrt};
use serde::Serialize;

/// The most numbers a line may rest on, its height included.
const WIDE: usize = 4;
/// Weight that stands for "nothing known" of a height: a ten-thousandth of a count, at the counts' own mean
/// [`SourceId::SlopePrior`].
const NEXT_TO_NOTHING: f64 = 1e-4;

/// Variance about a line where nothing was known before, against which a slope's width is held
/// [`SourceId::SlopePrior`].
const USUAL_VARIANCE: f64 = 0.02;
/// Least such variance, so that a width stays a number.
const LEAST_VARIANCE: f64 = 1e-6;

/// What a stable number may depend on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Covariate {
    /// Haematocrit of the blood.
    Haematocrit,
    /// The blood's own count. The dose is usually taken as proportional to it; counts may say otherwise.
    Baseline,
    /// Volume kept.
    VolumeKept,
}

impl Covariate {
    /// In the order shown.
    pub const ALL: [Covariate; 3] = [Covariate::Haematocrit, Covariate::Baseline, Covariate::VolumeKept];

    /// The covariate as it enters the line: haematocrit as it is, the others as logarithms. `None` outside what a
    /// logarithm takes.
    pub fn entered(self, x: f64) -> Option<f64> {
        match self {
            Covariate::Haematocrit => x.is_finite().then_some(x),
            Covariate::Baseline | Covariate::VolumeKept => (x > 0.0 && x.is_finite()).then(|| log(x)),
        }
    }

    /// How far a slope may lie from its prior middle, as one SD [`SourceId::SlopePrior`]: of the logarithm for
    /// 0.5 of haematocrit, or for e-fold of count or volume.
    const fn slope_sd(self) -> f64 {
        match self {
            // a tenth of haematocrit: 20 %
            Covariate::Haematocrit => 2.0,
            Covariate::Baseline | Covariate::VolumeKept => 0.5,
        }
    }

    /// What is added to a slope to give the slope of platelets in product: they follow the blood's own count
    /// one for one before anything is learned.
    pub const fn of_platelets(self) -> f64 {
        match self {
            Covariate::Baseline => 1.0,
            Covariate::Haematocrit | Covariate::VolumeKept => 0.0,
        }
    }
}

/// Where the width of the slopes' prior comes from.
pub const SLOPE_SOURCE: SourceId = SourceId::SlopePrior;

/// One count with its covariates, as they enter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dot {
    /// Covariates as [entered](Covariate::entered), in the order of the line's; the rest 0.
    pub x: [f64; 3],
    /// Logarithm of fold or recovery.
    pub log: f64,
    /// Its variance by counting.
    pub counting: f64,
}

type Vector = [f64; WIDE];

/// A line through counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    used: usize,
    /// Middle of each covariate, so that height and slopes do not lean on each other.
    centre: [f64; 3],
    /// Height at the centre, then a slope each.
    slopes: Vector,
    /// Their covariance, in units of the variance about the line.
    covariance: [Vector; WIDE],
    freedom: f64,
    squares: f64,
    held: f64,
    n: u32,
}

fn dot(a: &Vector, b: &Vector) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

impl Line {
    /// The line after these counts. `prior` speaks of the height at the middle of the covariates; where it says
    /// nothing the counts' own mean does.
    pub fn through(prior: Prior, covariates: &[Covariate], dots: &[Dot]) -> Self {
        let count = |n: usize| u32::try_from(n).map_or(f64::INFINITY, f64::from);
        let n = count(dots.len()).max(1.0);
        let mut centre = [0.0; 3];
        for d in dots {
            centre.iter_mut().zip(d.x).for_each(|(c, x)| *c += x / n);
        }
        let known = prior.weight > 0.0;
        let mean = dots.iter().map(|d| d.log).sum::<f64>() / n;
        let (height, weight) = if known { (prior.location, prior.weight) } else { (mean, NEXT_TO_NOTHING) };
        // A slope's prior SD is stated as it is; the regression wants it over the SD about the line.
        let (variance, freedom) = match prior.freedom {
            nu if nu > 2.0 => (prior.squares / (nu - 2.0), nu),
            _ => (USUAL_VARIANCE, prior.freedom),
        };
        let mut covariance = [[0.0; WIDE]; WIDE];
        let widths =
            covariates.iter().take(3).map(|c| c.slope_sd() * c.slope_sd() / variance.max(LEAST_VARIANCE));
        let diagonal = std::iter::once(1.0 / weight).chain(widths);
        for (i, (row, v)) in covariance.iter_mut().zip(diagonal).enumerate() {
            if let Some(cell) = row.get_mut(i) {
                *cell = v;
            }
        }
        let slopes = [height, 0.0, 0.0, 0.0];
        let (squares, held) = (prior.squares, prior.held);
        let used = covariates.len().min(3);
        let start = Self { used, centre, slopes, covariance, freedom, squares, held, n: prior.n };
        dots.iter().fold(start, Self::and)
    }

    /// The covariates as they stand about the centre, with a 1 for the height.
    fn about(&self, x: [f64; 3]) -> Vector {
        let mut out = [1.0, 0.0, 0.0, 0.0];
        let about = x.iter().zip(&self.centre).map(|(x, c)| x - c).take(self.used);
        out.iter_mut().skip(1).zip(about).for_each(|(o, v)| *o = v);
        out
    }

    fn times(&self, x: &Vector) -> Vector {
        let mut out = [0.0; WIDE];
        out.iter_mut().zip(&self.covariance).for_each(|(o, row)| *o = dot(row, x));
        out
    }

    /// The line after one more count.
    fn and(mut self, d: &Dot) -> Self {
        let x = self.about(d.x);
        let px = self.times(&x);
        // f = 1 + xᵀPx, e = y − xᵀb: b += Px·e/f, P −= Px·(Px)ᵀ/f, S += e²/f
        let f = 1.0 + dot(&x, &px);
        let e = d.log - dot(&x, &self.slopes);
        self.slopes.iter_mut().zip(&px).for_each(|(b, p)| *b += p * e / f);
        for (row, a) in self.covariance.iter_mut().zip(&px) {
            row.iter_mut().zip(&px).for_each(|(c, b)| *c -= a * b / f);
        }
        self.squares += e * e / f;
        let known = self.freedom.max(0.0);
        self.held = (known * self.held + d.counting) / (known + 1.0);
        self.freedom += 1.0;
        self.n = self.n.saturating_add(1);
        self
    }

    /// What the next count will read at these covariates, as [entered](Covariate::entered); `None` while too little
    /// is known: two degrees of freedom at least.
    pub fn at(&self, x: [f64; 3]) -> Option<Predictive> {
        let x = self.about(x);
        let f = 1.0 + dot(&x, &self.times(&x));
        let scale = sqrt((self.squares / self.freedom * f).max(self.held));
        (self.freedom >= 2.0 && scale > 0.0 && scale.is_finite()).then_some(Predictive {
            location: dot(&x, &self.slopes),
            scale,
            freedom: self.freedom,
            n: self.n,
            held: self.held,
        })
    }

    /// Slope of one covariate, by its place from 0: middle and 80 % range; `None` while too little is known.
    pub fn slope(&self, place: usize) -> Option<Slope> {
        let at = place.checked_add(1).filter(|&i| i <= self.used)?;
        let middle = *self.slopes.get(at)?;
        let width = *self.covariance.get(at)?.get(at)?;
        let half = sqrt(self.squares / self.freedom * width) * student::deviate(HIGH, self.freedom);
        (self.freedom >= 2.0 && half.is_finite()).then_some(Slope {
            middle,
            low: middle - half,
            high: middle + half,
        })
    }
}

/// A slope of the logarithm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Slope {
    /// As likely above as below.
    pub middle: f64,
    /// One in ten lies below.
    pub low: f64,
    /// One in ten lies above.
    pub high: f64,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(found: f64, expected: f64, relative: f64) {
        assert!((found - expected).abs() <= relative * (1.0 + expected.abs()), "{found} is not {expected}");
    }

    fn dots(all: &[(f64, f64)]) -> Vec<Dot> {
        all.iter().map(|&(x, log)| Dot { x: [x, 0.0, 0.0], log, counting: 0.0018 }).collect()
    }

    #[test]
    fn without_covariates_it_is_the_plain_posterior() {
        let prior = Prior::of_moments(0.7, 0.12, 0.0018).unwrap();
        let counts = [(-0.3, 0.0018), (-0.5, 0.0018), (-0.2, 0.0018), (-0.41, 0.002)];
        let all: Vec<Dot> =
            counts.iter().map(|&(log, counting)| Dot { x: [0.0; 3], log, counting }).collect();
        let line = Line::through(prior, &[], &all).at([0.0; 3]).unwrap();
        let plain = prior.after(&counts).predictive().unwrap();
        near(line.location, plain.location, 1e-13);
        near(line.scale, plain.scale, 1e-13);
        near(line.held, plain.held, 1e-13);
        assert_eq!((line.freedom, line.n), (plain.freedom, plain.n));
    }

    #[test]
    fn a_slope_agrees_with_numpy() {
        // NumPy 2.4.6: Λ = Λ₀ + XᵀX, b = Λ⁻¹(Λ₀b₀ + XᵀY), S = S₀ + |Y − Xb|² + (b − b₀)ᵀΛ₀(b − b₀), x about its mean;
        // Λ₀ = diag(κ, variance/2²), prior of 0.7 ± 0.12 with 0.0018: κ = 1 + 0.0018/w, ν = 4 + 2κ², S = (ν − 2)(w + 0.0018),
        // w half of ln(1 + (0.12/0.7)²)
        let prior = Prior::of_moments(0.7, 0.12, 0.0018).unwrap();
        let all = dots(&[(0.38, -0.25), (0.41, -0.31), (0.44, -0.36), (0.47, -0.52), (0.36, -0.20)]);
        let line = Line::through(prior, &[Covariate::Haematocrit], &all);
        let slope = line.slope(0).unwrap();
        let at = line.at([0.45, 0.0, 0.0]).unwrap();
        near(slope.middle, -1.7756539664700306, 1e-10);
        near(at.location, -0.4033975791428896, 1e-10);
        near(at.scale, 0.10471340130942643, 1e-10);
        near(at.freedom, 11.528061903339784, 1e-12);
        assert_eq!(at.n, 5);
        assert!(slope.low < slope.middle && slope.middle < slope.high && line.slope(1).is_none());
    }

    #[test]
    fn where_nothing_is_known_the_counts_speak() {
        // exact line −0.4 + 2·(x − 0.42), prior slope 0 ± 2
        let all = dots(&[(0.36, -0.52), (0.40, -0.44), (0.44, -0.36), (0.48, -0.28)]);
        let line = Line::through(Prior::NONE, &[Covariate::Haematocrit], &all);
        near(line.at([0.42, 0.0, 0.0]).unwrap().location, -0.4, 1e-9);
        let slope = line.slope(0).unwrap().middle;
        assert!(slope > 0.5 && slope < 2.0, "{slope} is drawn towards 0");
        assert!(Line::through(Prior::NONE, &[], &all[..2]).at([0.0; 3]).is_none());
    }
}
