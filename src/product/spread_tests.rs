//! Spreads against SciPy, their moments, and what holds for all of them.

use super::*;
use proptest::prelude::*;

fn near(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "{found} is not {expected}");
}

fn times(of: Truncated, by: LogSpread) -> Product {
    Product::new(of, Free::new(by, None))
}

fn truncated(mean: f64, sd: f64, ceiling: f64) -> Truncated {
    Truncated::new(LogSpread::matched(mean, sd / mean), ceiling).unwrap()
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
fn a_product_while_its_factor_is_bounded_agrees_with_adding_it_up() {
    // P(S·C ≤ x, S ≤ m), S cut at its ceiling, in 40 000 strips of ln S.
    let normal = |z: f64| 0.5 * libm::erfc(-z / std::f64::consts::SQRT_2);
    for (mean, sd, ceiling, cv, x, most) in [
        (0.7, 0.12, 1.0, 0.03, 150.0, 0.72),
        (0.7, 0.12, 1.0, 0.25, 150.0, 0.72),
        (1.7, 0.1, 1.625, 0.09, 350.0, 1.6),
        (0.7, 0.12, 1.0, 0.09, 150.0, 3.0),
        (0.7, 0.12, 1.0, 0.09, 150.0, 0.4),
    ] {
        let count = LogSpread::matched(210.0, cv);
        let of = truncated(mean, sd, ceiling);
        let product = times(of, count);
        let (low, high) = (of.of.mu - 8.0 * of.of.sigma, log(f64::min(most, ceiling)));
        let strip = (high - low) / 40_000.0;
        let sum: f64 = (0..40_000)
            .map(|i| {
                let s = low + (f64::from(i) + 0.5) * strip;
                let z = (s - of.of.mu) / of.of.sigma;
                let density = exp(-0.5 * z * z) / sqrt(2.0 * std::f64::consts::PI) / of.of.sigma;
                density * strip * normal((log(x) - s - count.mu) / count.sigma)
            })
            .sum();
        let found = product.cdf_while(x, most);
        near(found, sum / of.kept, 1e-6);
        assert!((product.about([0.0, x], [0.0, most]) - found).abs() < 2e-3, "{found}");
        assert_eq!(product.cdf_while(f64::INFINITY, most), of.cdf(most));
        assert_eq!(product.cdf_while(x, 0.0), 0.0);
    }
    let t = Truncated::new(LogSpread::student(-0.4, 0.16, 4.0), 1.0).unwrap();
    let product = times(t, LogSpread::matched(210.0, 0.03));
    near(product.cdf_while(150.0, 5.0), product.cdf(150.0), 1e-12);
    assert!(product.cdf_while(150.0, 0.6) < t.cdf(0.6));
    near(product.cdf_while(1e9, 0.6), t.cdf(0.6), 1e-9);
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
        let product = times(truncated(mean, sd, ceiling), LogSpread::matched(count, cv));
        for (p, expected) in [0.1, 0.5, 0.9].into_iter().zip(expected) {
            near(product.quantile(p), expected, 1e-9);
            near(product.cdf(expected), p, 1e-9);
        }
    }
    let product = times(truncated(0.7, 0.12, 1.0), LogSpread::matched(210.0, 0.03));
    near(product.cdf(150.0), 0.5891542494146115, 1e-9);
    let product = times(truncated(1.7, 0.1, 1.625), LogSpread::matched(236.0, 0.25));
    near(product.cdf(380.0), 0.5881989183370894, 1e-9);
}

#[test]
fn moments_are_matched() {
    // mean e^(μ + σ²/2), variance mean²·(e^σ² − 1)
    for mean in [0.05, 0.7, 1.7, 236.0] {
        for cv in [0.001, 0.03, 0.12 / 0.7, 0.25, 1.0, 9.5] {
            let spread = LogSpread::matched(mean, cv);
            let variance = spread.sigma * spread.sigma;
            near(exp(spread.mu + variance / 2.0), mean, 1e-12);
            near(mean * sqrt(libm::expm1(variance)), mean * cv, 1e-12);
        }
    }
}

#[test]
fn variance_of_what_is_left_below_a_ceiling() {
    // scipy.stats.truncnorm(-inf, z).var() and numeric integration of t, times σ²
    let normal = |top: f64| {
        let of = LogSpread { mu: 0.0, sigma: 0.2, freedom: None };
        Truncated::new(of, exp(0.2 * top)).unwrap().variance_of_log() / 0.04
    };
    near(normal(8.0), 1.0, 1e-9);
    near(normal(0.0), 1.0 - 2.0 / std::f64::consts::PI, 1e-9);
    // uncut, the variance of t is ν/(ν − 2)
    for nu in [5.0, 12.0, 60.0] {
        let of = LogSpread::student(0.0, 0.2, nu);
        near(Truncated::new(of, 1e9).unwrap().variance_of_log() / 0.04, nu / (nu - 2.0), 2e-3);
    }
}

#[test]
fn a_volume_read_to_a_graduation_spreads_what_goes_with_it() {
    // alone: even on 1 ± h, or its inverse
    let certain = truncated(0.5, 0.0, 1.0);
    let one = LogSpread::matched(1.0, 0.0);
    let at = |times| Product::new(certain, Free::new(one, Read::new(4.0, 0.4, times)));
    // 0.5·(1 + 0.05·(2p − 1)); as good as certain means 10⁻³ of the half-width
    near(at(true).quantile(0.9), 0.5 * 1.04, 1e-6);
    near(at(false).quantile(0.9), 0.5 / 0.96, 1e-6);
    near(at(true).quantile(0.1), 0.5 * 0.96, 1e-6);
    assert!(Read::new(4.0, 0.0, true).is_none());
}

#[test]
fn ceiling_cuts_away_at_a_thousandth() {
    let spread = LogSpread::matched(1.7, 0.1 / 1.7);
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
    let spread = LogSpread::matched(200.0, 0.1);
    near(
        times(certain, spread).quantile(0.9),
        0.5 * exp(spread.mu + 1.2815515655446004 * spread.sigma),
        1e-9,
    );
    // only the recovery spreads
    let product = times(truncated(0.7, 0.12, 1.0), LogSpread::matched(200.0, 0.0));
    near(product.quantile(0.9), 200.0 * 0.847701424337237, 1e-9);
}

proptest! {
    #[test]
    fn quantiles_rise_stay_below_the_ceiling_and_invert(
        mean in 0.01_f64..10.0, cv in 0.0_f64..10.0, ceiling in 0.01_f64..20.0,
        count_cv in 0.0_f64..1.0, p in 0.001_f64..0.998, step in 0.0005_f64..0.001,
    ) {
        let Some(spread) = Truncated::new(LogSpread::matched(mean, cv), ceiling) else { return Ok(()) };
        let (low, high) = (spread.quantile(p), spread.quantile(p + step));
        prop_assert!(low > 0.0 && low <= high && high <= ceiling * (1.0 + 1e-12));
        let product = times(spread, LogSpread::matched(200.0, count_cv));
        let (low, high) = (product.quantile(p), product.quantile(p + step));
        prop_assert!(low.is_finite() && low <= high);
        if cv > 1e-6 && count_cv > 1e-6 {
            prop_assert!((spread.cdf(spread.quantile(p)) - p).abs() < 1e-9);
            prop_assert!((product.cdf(low) - p).abs() < 1e-9);
        }
    }
}
