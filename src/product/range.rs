//! A predicted amount: median and 80 % interval of the true content.

use crate::quantity::{OutOfRange, Quantity};

/// Chance below the low end.
pub(super) const LOW: f64 = 0.1;
/// Chance below the high end.
pub(super) use crate::chance::HIGH;

/// Median and 80 % interval of a true content, not of what a count will read. Always predicted, never measured.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range<Q> {
    /// As likely above as below.
    pub median: Q,
    /// One in ten lies below.
    pub low: Q,
    /// One in ten lies above.
    pub high: Q,
}

impl<Q: Quantity> Range<Q> {
    /// The same range in another quantity, `factor` times as large. Errors: an end outside the domain.
    pub(super) fn scaled<R: Quantity>(self, factor: f64) -> Result<Range<R>, OutOfRange> {
        Ok(Range {
            median: R::new(self.median.get() * factor)?,
            low: R::new(self.low.get() * factor)?,
            high: R::new(self.high.get() * factor)?,
        })
    }
}
