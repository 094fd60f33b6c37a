//! Student's t.

use super::root::root;
use libm::{exp, lgamma, log, log1p, sqrt};
use std::f64::consts::PI;

/// Density of Student's t with `nu` degrees of freedom (above 0).
pub(crate) fn density(t: f64, nu: f64) -> f64 {
    density_of(t, nu, log_height(nu))
}

/// The same with [`log_height`] known already.
pub(crate) fn density_of(t: f64, nu: f64, log_height: f64) -> f64 {
    exp(log_height - 0.5 * (nu + 1.0) * log1p(t * t / nu))
}

/// Chance that Student's t with `nu` degrees of freedom lies below `t`.
pub(crate) fn below(t: f64, nu: f64) -> f64 {
    if t.is_infinite() {
        return if t > 0.0 { 1.0 } else { 0.0 };
    }
    // I_x(ν/2, ½)/2 with x = ν/(ν + t²) is the chance beyond |t| on one side
    let tail = 0.5 * beta_share(0.5 * nu, nu / (nu + t * t), t * t / (nu + t * t));
    if t > 0.0 { 1.0 - tail } else { tail }
}

/// Student's t with `nu` degrees of freedom that has chance `p` below it.
pub(crate) fn deviate(p: f64, nu: f64) -> f64 {
    // In the angle θ with t = √ν·tan θ the reach is finite however heavy the tails.
    let (low, high) = (-0.5 * PI, 0.5 * PI);
    let at = |angle: f64| sqrt(nu) * libm::tan(angle);
    let angle = root(low, high, 0.0, |angle| {
        let t = at(angle);
        let stretch = sqrt(nu) * (1.0 + t * t / nu);
        (below(t, nu) - p, density(t, nu) * stretch)
    });
    at(angle)
}

/// Logarithm of the density at 0.
pub(crate) fn log_height(nu: f64) -> f64 {
    lgamma(0.5 * (nu + 1.0)) - lgamma(0.5 * nu) - 0.5 * log(nu * PI)
}

/// Regularised incomplete beta function `I_x(a, ½)`; `rest` is `1 − x`, given apart so that nothing is lost.
fn beta_share(a: f64, x: f64, rest: f64) -> f64 {
    const B: f64 = 0.5;
    if x <= 0.0 {
        return 0.0;
    }
    if rest <= 0.0 {
        return 1.0;
    }
    let log_x = if x < 0.5 { log(x) } else { log1p(-rest) };
    // x^a·(1 − x)^b / B(a, b)
    let front = exp(a * log_x + B * log(rest) + lgamma(a + B) - lgamma(a) - lgamma(B));
    if x < (a + 1.0) / (a + B + 2.0) {
        front * fraction(a, B, x) / a
    } else {
        1.0 - front * fraction(B, a, rest) / B
    }
}

/// The continued fraction of the incomplete beta function, by Lentz' method.
fn fraction(a: f64, b: f64, x: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let safe = |v: f64| if v.abs() < TINY { TINY } else { v };
    let mut c = 1.0;
    let mut d = 1.0 / safe(1.0 - (a + b) * x / (a + 1.0));
    let mut h = d;
    let mut m = 1.0;
    while m < 300.0 {
        let two = 2.0 * m;
        let mut turn = |term: f64| {
            d = 1.0 / safe(1.0 + term * d);
            c = safe(1.0 + term / c);
            h *= c * d;
            c * d
        };
        turn(m * (b - m) * x / ((a + two - 1.0) * (a + two)));
        let last = turn(-(a + m) * (a + b + m) * x / ((a + two) * (a + two + 1.0)));
        if (last - 1.0).abs() < 1e-15 {
            break;
        }
        m += 1.0;
    }
    h
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn agrees_with_scipy() {
        // scipy.stats.t 1.17: pdf, cdf at t; ppf gives t back
        for (t, nu, pdf, cdf) in REFERENCE {
            assert!((density(t, nu) - pdf).abs() <= 1e-12 * pdf, "{t} {nu}");
            assert!((below(t, nu) - cdf).abs() <= 1e-12 * cdf, "{t} {nu}: {}", below(t, nu));
            if cdf < 0.999 {
                assert!((deviate(cdf, nu) - t).abs() <= 1e-9 * t.abs().max(1.0), "{t} {nu}");
            }
        }
    }

    // t, ν, density, chance below
    const REFERENCE: [(f64, f64, f64, f64); 14] = [
        (0.0, 5.0, 0.3796066898224944, 0.5),
        (0.5, 1.0, 0.2546479089470326, 0.6475836176504333),
        (-1.0, 3.0, 0.206748335783172, 0.19550110947788524),
        (2.5, 4.5, 0.03442959814910769, 0.9700471567488997),
        (-6.0, 2.2, 0.003711504362743533, 0.010589042171176946),
        (-20.0, 4.0, 3.65786634965931e-06, 1.8441552901498655e-05),
        (1.2815, 30.0, 0.17319233604192624, 0.8950825432195494),
        (0.01, 12.0, 0.39070514154289415, 0.5039071925057482),
        (3.0, 200.0, 0.004777272450550088, 0.9984784764430471),
        (-0.3, 1000.0, 0.3812760954732366, 0.38211975208362203),
        (-12.0, 60.0, 2.4490272609989805e-17, 6.893161320908875e-18),
        (4.0, 1.5, 0.015802770584720408, 0.9550837365228358),
        (-10000.0, 1.0, 3.1830988300069192e-09, 3.183098851227577e-05),
        (1.7, 7.25, 0.09659809565452396, 0.9342752907165217),
    ];
}
