//! What a finding is about at this moment: kept with a decision, and compared with it ever after, so that a
//! decision does not outlive what was decided.

use crate::blood::patient::LimitRule;
use crate::case::Case;
use crate::draft::About;
use crate::finding::FindingKind;
use crate::quantity::Quantity;
use crate::quantity::time::Instant;
use std::fmt::Debug;

/// A delay that was decided on may grow by so much before it is decided anew [h]; own judgement.
const DELAY: f64 = 1.0;

/// What this finding turns on and how grave it is.
pub(super) fn about(kind: &FindingKind, case: &Case, now: Instant) -> About {
    use FindingKind as F;
    let times = &case.times;
    let rotor = case.spin.rotor.as_ref().map(|r| &r.id);
    match kind {
        F::AnticoagulantLow { ratio, low, .. } => grave(low.get() - ratio.get()),
        F::AnticoagulantHigh { ratio, high, .. } => grave(ratio.get() - high.get()),
        F::FillOutsideRange { fill, low, high } => {
            let of = if fill < low { "below" } else { "above" };
            About { of: of.to_owned(), ..grave((low.get() - fill.get()).max(fill.get() - high.get())) }
        }
        F::UnderFilledTube { container } => {
            let fill = case.draw.containers.get(usize::from(*container)).and_then(|c| c.fill);
            grave(-fill.map_or(0.0, Quantity::get))
        }
        F::MarkBelowAnticoagulant { container } => of(&case.draw.containers.get(usize::from(*container))),
        F::MoreThanOneContainer => grave(case.draw.planned.map_or(0.0, f64::from)),
        F::Limit(hit) => {
            let over = hit.value.value - hit.limit.value;
            let less_is_worse = matches!(
                hit.rule,
                LimitRule::HaemoglobinLow
                    | LimitRule::HaemoglobinForVolume
                    | LimitRule::HaemoglobinForPerKg
                    | LimitRule::Minor
            );
            grave(if less_is_worse { -over } else { over })
        }
        F::LimitUnknown { drawn, .. } => grave(drawn.get()),
        F::FoldBelowOne { fold } => grave(-fold.get()),
        F::PlateletsLow(count) => grave(-count.get()),
        F::HaemoglobinLow(haemoglobin) => grave(-haemoglobin.get()),
        F::WeakSample(kind) => {
            About { of: format!("{kind:?}"), ..grave(case.baseline.age_days.map_or(0.0, f64::from)) }
        }
        // Whom nobody checked.
        F::IdentityUnchecked => of(&(&case.order.reference, &case.order.second)),
        F::SoundUnchecked { .. } | F::NoRating { .. } | F::RanOverRating(_) | F::RunDiffers { .. } => {
            of(kind)
        }
        F::WhiteCellsContradict => {
            of(&(case.order.white_cells, case.protocol.as_ref().map(|p| p.white_cells)))
        }
        F::ProductAboveBound { asked, bound } => grave(asked.get() - bound.get()),
        F::KeptAboveFill { kept, fill } => grave(kept.get() - fill.get()),
        F::ProductOutsideRange { .. } => of(kind),
        F::LedgerShort { missing } => grave(missing.get()),
        F::RatingUnchecked | F::RadiusUnknown => {
            let programme = case.protocol.as_ref().map(|p| &p.programme.0);
            of(&(rotor, case.draw.container.as_ref().map(|c| &c.id), programme))
        }
        F::PastSpinBy(by) => delay(*by, times.stages.values().next().copied().unwrap_or(now)),
        F::PastUseBy(by) => delay(*by, times.handed_over.unwrap_or(now)),
        F::Trouble(kind, container) => {
            let same = case.standing_troubles().filter(|t| t.kind == *kind && t.container == *container);
            of(&same.map(|t| t.at.0).collect::<Vec<_>>())
        }
        F::AboveCeiling { fold, ceiling } => grave(fold.get() - ceiling.get()),
        F::CalciumAdded => of(&case.additions),
        _ => About::default(),
    }
}

fn of(what: &impl Debug) -> About {
    About { of: format!("{what:?}"), ..About::default() }
}

fn grave(value: f64) -> About {
    About { grave: if value.is_finite() { value } else { 0.0 }, ..About::default() }
}

/// Hours since a time that was set.
fn delay(by: Instant, at: Instant) -> About {
    let hours = at.since(by).and_then(|s| s.seconds().ok()).map_or(0.0, |s| s.get() / 3600.0);
    About { slack: DELAY, ..grave(hours) }
}
