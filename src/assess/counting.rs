//! The count with all that belongs to it: other cells, the analyser's range, the spin closed by measurement, what
//! to check above 100 %, published classes. What the platelets' own reading gives is in [`super::product`].

use super::draw::Totals;
use super::product::ProductResult;
use crate::bench::WhiteCells;
use crate::blood::baseline::{self, CITRATE_TUBE, SampleKind};
use crate::case::{AdditionTyped, Case};
use crate::draft::{CountStanding, Field, ProductTube};
use crate::evidence::SourceId;
use crate::finding::FindingKind;
use crate::product::cells::{self, OtherCells, Read};
use crate::product::classification::{self, Fibrin, Inputs, Meant};
use crate::product::closing::{self, Closes, Volumes};
use crate::product::kind;
use crate::product::measured::{Baseline, Bound, Readings};
use crate::product::predict::ANALYSER;
use crate::product::range::Range;
use crate::product::recipe::{self, Linear, Recipe};
use crate::product::slip::{self, BloodRead};
use crate::quantity::{CellCount, Cells, Factor, Quantity, Share, Volume};

/// Nothing is added by the tube.
const ONE: Factor = Factor::constant(1.0);

/// What the tube of the product's sample multiplies a reading by, and where that comes from. `None` while the
/// laboratory's factor was typed and cannot be read.
pub(super) fn tube(case: &Case) -> Option<(Factor, Option<SourceId>)> {
    match case.count.tube {
        Some(ProductTube::LiquidCitrate) if case.is_unread(Field::SampleFactor) => None,
        Some(ProductTube::LiquidCitrate) => Some(match case.count.tube_factor {
            Some(own) => (own, Some(SourceId::ClinicBench)),
            None => (CITRATE_TUBE, Some(SourceId::CitrateTube)),
        }),
        Some(ProductTube::Plain) | None => Some((ONE, None)),
    }
}

/// Everything beyond the platelets' own reading, onto a product already reckoned.
pub(super) fn complete(
    case: &Case,
    totals: Option<&Totals>,
    result: &mut ProductResult,
    found: &mut Vec<FindingKind>,
) {
    said(case, found);
    result.other = other(case, totals);
    found
        .extend(result.other.beyond.iter().map(|range| FindingKind::Beyond { counted: true, range: *range }));
    result.linear = linear(case, result, found);
    // With a container of unknown fill, nothing is held against all the blood.
    if let Some(totals) = totals.filter(|t| t.unknown.is_empty()) {
        close(case, totals, result, found);
        result.slips = slips(case, totals, result).unwrap_or_default();
    }
    if result.measured.is_some() {
        result.classified = classification::classify(&inputs(case, totals, result));
    }
}

/// What was said of the sample, and what was not.
fn said(case: &Case, found: &mut Vec<FindingKind>) {
    let count = &case.count;
    let cells = count.white.is_some() || count.red.is_some() || count.haematocrit.is_some();
    if cells && count.dilution.is_some() && count.cells_dilution.is_none() {
        found.push(FindingKind::CellsDilutionUnsaid);
    }
    if count.tube.is_none() && !count.readings.is_empty() {
        found.push(FindingKind::ProductTubeUnsaid);
    }
    let parts = [count.neutrophils, count.lymphocytes, count.monocytes];
    let sum: f64 = parts.into_iter().flatten().map(Share::get).sum();
    // Three shares, each rounded to whole per cent by an analyser: `SourceId::SharesRounded`.
    const ROUNDED: f64 = 0.015;
    if sum > 1.0 + ROUNDED
        && let Ok(sum) = Factor::new(sum)
    {
        found.push(FindingKind::DifferentialOver { sum });
    }
}

fn other(case: &Case, totals: Option<&Totals>) -> OtherCells {
    let (b, count) = (&case.baseline, &case.count);
    let read = Read {
        white: count.white,
        red: count.red,
        haematocrit: count.haematocrit,
        neutrophils: count.neutrophils,
        blood_white: blood_white(case, totals),
        blood_neutrophils: b.neutrophils,
    };
    match (count.cells_dilution, tube(case)) {
        (Some(dilution), Some((tube, _))) => cells::other_cells(&read, dilution, tube),
        // Not known of which sample: nothing is said of the product's.
        _ => {
            let blood = Read { white: None, red: None, haematocrit: None, ..read };
            cells::other_cells(&blood, ONE, ONE)
        }
    }
}

/// White cells of the blood itself, corrected for its sample as the platelets are.
fn blood_white(case: &Case, totals: Option<&Totals>) -> Option<CellCount> {
    let b = &case.baseline;
    let ratio = totals.and_then(|t| t.ratio.as_ref()).map(|r| r.value);
    let kind = b.sample.unwrap_or(SampleKind::LaboratoryEdta);
    let white = b.white.filter(|_| !case.is_unread(Field::CitrateFactor))?;
    Some(baseline::native(white, kind, ratio, b.citrate_factor).ok()?.value)
}

/// The worst of the readings against the analyser's range.
fn linear(case: &Case, result: &ProductResult, found: &mut Vec<FindingKind>) -> Option<Linear> {
    let analyser = &case.analyser;
    let outside = case.count.readings.iter().map(|r| (*r, analyser.holds(*r)));
    let worst = outside.clone().find(|(_, l)| matches!(l, Linear::Above | Linear::Below));
    let Some((reading, linear)) = worst else { return outside.map(|(_, l)| l).next() };
    let above = linear == Linear::Above;
    if let Some(end) = if above { analyser.high } else { analyser.low } {
        let point = |c: CellCount| Range { median: c, low: c, high: c };
        let tube = tube(case).map_or(ONE, |(factor, _)| factor);
        let counted = result.measured.as_ref().map(|m| m.concentration.value);
        let rather = counted.and_then(|c| analyser.dilution_for(point(c), tube));
        found.push(FindingKind::ReadingNotLinear { reading, end, above, rather });
    }
    Some(linear)
}

/// Volumes and platelets after the spin against what was filled and drawn.
fn close(case: &Case, totals: &Totals, result: &mut ProductResult, found: &mut Vec<FindingKind>) {
    let (Some(product), Some(plasma)) = (case.collect.actual, case.collect.poor_plasma) else { return };
    if let (Some(cells), Some(container)) = (case.collect.cells, &case.draw.container) {
        let transfers = f64::from(case.passage.transfers.unwrap_or(0));
        let losses = Volume::new(transfers * container.transfer_loss.get()).unwrap_or(Volume::ZERO);
        let closed = closing::volumes(&Volumes {
            fill: totals.fill,
            product,
            plasma,
            cells,
            losses,
            containers: totals.containers,
            step: container.graduation,
            product_step: container.anticoagulant_graduation,
        });
        if let Ok(closed) = closed {
            if closed.closes != Closes::Within {
                let (fill, tolerance) = (closed.fill, closed.tolerance.value);
                found.push(FindingKind::VolumesOpen { found: closed.found.value, fill, tolerance });
            }
            result.volumes = Some(closed);
        }
    }
    let counted = result.measured.as_ref().and_then(|m| m.in_product.as_ref()).map(|n| n.value);
    let (Some(counted), Some(reading), Some(native)) = (counted, case.count.plasma, &result.native) else {
        return;
    };
    let balance = kind::platelets_drawn(native.count.value, totals.blood.value)
        .and_then(|drawn| closing::balance(drawn, counted, reading, plasma, ANALYSER, native.cv.value))
        .ok()
        .flatten();
    // What the product alone has too much of is told with the ceiling.
    let already = result.measured.as_ref().is_some_and(|m| m.bound != Bound::Within);
    if let Some(b) = balance.as_ref().filter(|b| b.bound == Bound::Above && !already)
        && let Ok(both) = Cells::new(b.product.get() + b.plasma.value.get())
    {
        found.push(FindingKind::PlateletsOver { found: both, drawn: b.drawn.value });
    }
    result.balance = balance;
}

/// What to check above 100 %, with what each would make of the number; `None` where nothing is above.
fn slips(case: &Case, totals: &Totals, result: &ProductResult) -> Option<Vec<slip::Slip>> {
    let (measured, native) = (result.measured.as_ref()?, result.native.as_ref()?);
    if !matches!(measured.bound, Bound::Above | Bound::AboveWithinError) {
        return None;
    }
    let (first, more) = case.count.readings.split_first()?;
    let (sample_kind, _) = tube(case)?;
    let readings =
        Readings { first: *first, more: more.to_vec(), dilution: case.count.dilution?, sample_kind };
    let b = &case.baseline;
    let kind = match (b.standing, b.sample) {
        (_, Some(kind)) => kind,
        (Some(CountStanding::Older), None) => SampleKind::OlderResult,
        (_, None) => SampleKind::LaboratoryEdta,
    };
    let blood = BloodRead {
        reading: b.reading?,
        kind,
        ratio: totals.ratio.as_ref().map(|r| r.value),
        lab_factor: b.citrate_factor,
    };
    let baseline = Baseline { native: native.count.value, cv: native.cv.value, blood: totals.blood.value };
    Some(slip::slips(&readings, case.collect.actual?, baseline, &blood, ANALYSER))
}

impl ProductResult {
    /// How the product's sample is counted, and what the analyser should read. `None` while the laboratory's
    /// factor cannot be read, or where a number leaves its domain.
    pub fn recipe(&self, case: &Case) -> Option<Recipe> {
        let (tube, _) = tube(case)?;
        let expected = self.prediction.as_ref().and_then(|p| p.concentration.as_ref());
        recipe::recipe(case.count.sample, case.count.dilution, tube, &case.analyser, expected).ok()
    }
}

/// What is known of the product, for the published classes. Nothing is assumed.
fn inputs(case: &Case, totals: Option<&Totals>, result: &ProductResult) -> Inputs {
    let measured = result.counted();
    let product = measured.map(|m| m.concentration.value);
    let other = &result.other;
    let whole = case.additions.iter().map(|a| match a {
        AdditionTyped::Whole(addition) => Some(addition.clone()),
        AdditionTyped::Partial => None,
    });
    let additions: Option<Vec<_>> = whole.collect();
    // Only what was given is a dose.
    let given = !result.shares.is_empty() && result.shares.iter().all(|s| s.given);
    let given_volume = result.ledger.as_ref().map(|l| l.sites.value).filter(|_| given);
    let after_additions = match case.additions.is_empty() {
        true => product,
        false => result.mixed.as_ref().and_then(|m| m.counted.as_ref()).map(|c| c.value),
    };
    let red = other.red.as_ref().map(|r| r.value);
    let white = other.white.as_ref().map(|w| w.value);
    Inputs {
        native: result.native.as_ref().map(|n| n.count.value),
        product,
        fold: measured.and_then(|m| m.fold.as_ref()).map(|f| f.value),
        recovery: measured.and_then(|m| m.recovery.as_ref()).map(|r| r.value),
        given_count: after_additions,
        given: given_volume,
        dose: result.dose_counted.as_ref().map(|d| d.value).filter(|_| given),
        blood_white: blood_white(case, totals),
        white,
        blood_neutrophils: case.baseline.neutrophils,
        neutrophils: case.count.neutrophils,
        white_share: product
            .zip(red)
            .zip(white)
            .and_then(|((platelets, red), white)| classification::white_share(platelets, red, white)),
        red,
        haematocrit: other.haematocrit.as_ref().map(|h| h.value),
        activators: additions.as_deref().and_then(classification::activators),
        meant: case.protocol.as_ref().and_then(|p| match p.white_cells {
            WhiteCells::Kept => Some(Meant::With),
            WhiteCells::LeftBehind => Some(Meant::Without),
            WhiteCells::Unknown => None,
        }),
        // Blood taken onto anticoagulant does not clot while it spins.
        fibrin: totals
            .filter(|t| t.unknown.is_empty() && t.anticoagulant.value.get() > 0.0)
            .map(|_| Fibrin::LowDensity),
        unconfirmed: result.unconfirmed(),
    }
}
