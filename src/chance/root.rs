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
        let (step, inside) = ((newton - x).abs() / (1.0 + x.abs()), newton > low && newton < high);
        // The error left falls with the square of the step.
        if step <= 1e-13 || (step <= 1e-8 && inside) {
            return newton.clamp(low, high);
        }
        let next = if inside { newton } else { 0.5 * (low + high) };
        if next == x {
            return x;
        }
        x = next;
    }
    x
}
