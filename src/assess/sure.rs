//! How sure the prediction is and what would sharpen it. Apart from [`super::assess`]: not reckoned at every key.

use super::Assessment;
use super::product::volumes;
use crate::case::Case;
use crate::product::doubt::{self, Doubt};
use crate::product::predict::NativeCount;

/// What makes the prediction of a case unsure: shares of the variance, the largest unknown, and what knowing it
/// would narrow the platelets in product to. `None` where nothing is predicted.
pub fn how_sure(case: &Case, a: &Assessment) -> Option<Doubt> {
    let protocol = case.protocol.as_ref()?;
    let expectation = protocol.expectation.as_ref().filter(|e| e.kind() == protocol.kind)?;
    let totals = a.draw.now.as_ref().filter(|t| t.unknown.is_empty())?;
    let volumes = volumes(case, totals, a.product.volume?)?;
    let known = a.product.native.as_ref().map(|n| NativeCount { value: n.count.value, cv: n.cv.value });
    let native = known.or_else(|| a.product.any_adult.as_ref().map(|_| NativeCount::ADULTS))?;
    doubt::doubt(expectation, volumes, native, known.is_some()).ok().flatten()
}
