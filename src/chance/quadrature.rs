//! Integrals by Gauss and Legendre's rules.

use super::normal::density;

/// Half-width of all integrals over a standard normal: 10⁻¹¹ lies outside.
const REACH: f64 = 7.0;

/// `∫ φ(u) g(u) du` between `from` and `to`, by the rule of 32 points.
pub(crate) fn integral(from: f64, to: f64, g: impl Fn(f64) -> f64) -> f64 {
    let (from, to) = (from.max(-REACH), to.min(REACH));
    if from >= to {
        return 0.0;
    }
    let [sum] = fine(from, to, |u| [density(u) * g(u)]);
    sum
}

/// `∫ g(u) du` between `from` and `to`, by Gauss and Legendre's rule of 32 points; several integrands at once.
pub(crate) fn fine<const N: usize>(from: f64, to: f64, g: impl Fn(f64) -> [f64; N]) -> [f64; N] {
    let (centre, half) = (0.5 * (from + to), 0.5 * (to - from));
    let mut sum = [0.0; N];
    for (x, w) in GAUSS_32 {
        for u in [centre - half * x, centre + half * x] {
            for (sum, value) in sum.iter_mut().zip(g(u)) {
                *sum += half * w * value;
            }
        }
    }
    sum
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
