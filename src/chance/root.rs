//! Where a rising function crosses 0.

/// Where a rising function crosses 0 between `low` and `high`: Newton inside a bracket that only shrinks, halved
/// whenever Newton would leave it. `f` gives value and slope.
pub(crate) fn root(mut low: f64, mut high: f64, start: f64, f: impl Fn(f64) -> (f64, f64)) -> f64 {
    let mut x = start.clamp(low, high);
    for _ in 0..200 {
        let (value, slope) = f(x);
        if value < 0.0 {
            low = x;
        } else {
            high = x;
        }
        let newton = x - value / slope;
        if (newton - x).abs() <= 1e-13 * (1.0 + x.abs()) {
            return newton.clamp(low, high);
        }
        let next = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
        if next == x {
            return x;
        }
        x = next;
    }
    x
}
