//! What a finding is about at this moment: kept with a decision, and compared with it ever after, so that a
//! decision does not outlive what was decided.

use crate::blood::patient::LimitRule;
use crate::case::{AdditionTyped, Case};
use crate::draft::{About, TroubleKind};
use crate::finding::{FindingKind, RunDiffers};
use crate::log::CheckState;
use crate::product::addition::AdditionAgent;
use crate::quantity::Quantity;
use crate::quantity::time::Instant;
use crate::stored;
use serde::Serialize;

/// A delay that was decided on may grow by so much before it is decided anew [h]; own judgement.
const DELAY: f64 = 1.0;

/// What this finding turns on and how grave it is.
pub(super) fn about(kind: &FindingKind, case: &Case, now: Instant) -> About {
    use FindingKind as F;
    let times = &case.times;
    let rotor = case.spin.rotor.as_ref().map(|r| &r.id);
    let container = case.draw.container.as_ref().map(|c| &c.id);
    let in_hand = |i: u8| case.draw.containers.get(usize::from(i));
    match kind {
        F::AnticoagulantLow { ratio, low, .. } => grave(low.get() - ratio.get()),
        F::AnticoagulantFarLow { ratio, .. } => grave(-ratio.get()),
        F::AnticoagulantHigh { ratio, high, .. } => grave(ratio.get() - high.get()),
        F::FillOutsideRange { fill, low, high } => {
            let of = if fill < low { "below" } else { "above" };
            About { of: of.to_owned(), ..grave((low.get() - fill.get()).max(fill.get() - high.get())) }
        }
        F::UnderFilledTube { container } => {
            grave(-in_hand(*container).and_then(|c| c.fill).map_or(0.0, Quantity::get))
        }
        F::MarkBelowAnticoagulant { container } => of(in_hand(*container).map(|c| (c.anticoagulant, c.fill))),
        F::MoreThanOneContainer => grave(case.draw.planned.map_or(0.0, f64::from)),
        F::PartsDiffer { parts, ordered } => grave((parts.get() - ordered.get()).abs()),
        F::Beyond { range, .. } => {
            let beyond = (range.min - range.value).max(range.value - range.max);
            with(grave(beyond), (range.quantity, range.value > range.max))
        }
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
        F::BloodUntold(b) => with(grave(b.told.get() - b.entered.map_or(0.0, Quantity::get)), b.whole),
        F::FoldUnlikely { fold } => grave(-fold.get()),
        F::PlateletsLow(count) => grave(-count.get()),
        F::HaemoglobinLow(haemoglobin) => grave(-haemoglobin.get()),
        F::WeakSample(kind, _) => with(grave(case.baseline.age_days.map_or(0.0, f64::from)), kind),
        // Whom nobody checked.
        F::IdentityUnchecked => of((&case.order.reference, &case.order.second)),
        F::DrawnWithOther { .. } => of((case.draw.agent, container)),
        F::OrderTakenOver { sign, at } => of((sign, at.0)),
        F::OtherIdentifier { sign, at, others } => {
            of((&case.order.reference, &case.order.second, sign, at.0, others))
        }
        F::SiteChanged { then, now } | F::SiteReworded { then, now } => of((then, now)),
        F::OtherProduct { scanned, expected, .. } => of((scanned, expected)),
        F::ExpiryDiffers { code, entered, .. } => of((code.to_string(), entered.map(|day| day.to_string()))),
        F::SameProduct { product, .. } => of(product),
        F::SoundUnchecked { anticoagulant, containers } => of((anticoagulant, containers)),
        F::NoRating { rotor: no_speed, container: no_force } => {
            of((Some(rotor).filter(|_| *no_speed), Some(container).filter(|_| *no_force)))
        }
        F::OutOfBalance { container, other, apart, allowed, .. } => {
            with(grave(apart.get()), (container, other, allowed.get()))
        }
        F::RanOverRating(breach) => with(grave(breach.value.value), (breach.stage, breach.limit.value)),
        F::RunDiffers { what, .. } => {
            let (planned, ran) = match what {
                RunDiffers::Speed { planned, ran } => (planned.get(), ran.get()),
                RunDiffers::Time { planned, ran } => (planned.get(), ran.get()),
                RunDiffers::Clock { planned, left } => (planned.get(), left.get()),
            };
            with(grave((ran - planned).abs()), (planned, ran > planned))
        }
        F::WhiteCellsContradict => {
            of((case.order.white_cells, case.protocol.as_ref().map(|p| p.white_cells)))
        }
        F::ProductAboveBound { asked, bound } => grave(asked.get() - bound.get()),
        F::ProductOutsideRange { asked } => of((asked, container)),
        F::KeptAboveFill { kept, fill } => grave(kept.get() - fill.get()),
        F::LedgerShort { missing } => grave(missing.get()),
        F::NoRotor => of(speeds(case)),
        F::CentrifugeCheck { state, .. } => {
            let day = match state {
                CheckState::Failed(day) => ("failed", Some(*day)),
                CheckState::Overdue(day) => ("overdue", Some(*day)),
                CheckState::Never => ("never", None),
            };
            let own = case.spin.centrifuge.as_ref().map(|c| &c.id);
            let all = case.spin.centrifuges.iter().filter(|_| own.is_none()).map(|c| &c.id);
            of((own, all.collect::<Vec<_>>(), day))
        }
        F::RatingUnchecked | F::RadiusUnknown => of((rotor, container, speeds(case))),
        F::PastSpinBy(by) => delay(*by, times.stages.values().next().copied().unwrap_or(now)),
        F::PastUseBy(by) => delay(*by, times.handed_over.unwrap_or(now)),
        F::GivenPastUseBy { at, by } => delay(*by, *at),
        F::UseByEarlier { was, now } => of((was, now)),
        F::Trouble(kind, container) => {
            let same = case.standing_troubles().filter(|t| t.kind == *kind && t.container == *container);
            of(same.map(|t| t.at).collect::<Vec<_>>())
        }
        F::SpinCutShort => about(&F::Trouble(TroubleKind::SpinStopped, None), case, now),
        F::AboveCeiling { fold, ceiling } => grave(fold.get() - ceiling.get()),
        F::OrderUpsideDown { least, most, .. } => of([*least, *most]),
        F::ReadingNotLinear { reading, end, above, .. } => {
            About { of: of(above).of, ..grave((reading.get() - end.get()).abs()) }
        }
        F::DifferentialOver { sum } => grave(sum.get()),
        F::VolumesOpen { found, fill, .. } => {
            let of = if found < fill { "less" } else { "more" };
            About { of: of.to_owned(), ..grave((found.get() - fill.get()).abs()) }
        }
        F::PlateletsOver { found, drawn } => grave(found.get() - drawn.get()),
        // Of this count and of no other.
        F::MixingUnsaid | F::NotMixed => of(&case.count.readings),
        // Which rows.
        F::AdditionIncomplete => {
            let rows = (1..).zip(&case.additions).filter(|(_, a)| matches!(a, AdditionTyped::Partial));
            of(rows.map(|(row, _): (u8, _)| row).collect::<Vec<_>>())
        }
        F::CalciumAdded => of(case.additions.iter().map(calcium).collect::<Vec<_>>()),
        F::Unread(field) => of(case.unread.get(field)),
        // These turn on nothing but themselves, or on what is in their key.
        F::AgentUnsuitable(_)
        | F::AmountUnknown(_)
        | F::BandUnknown(_)
        | F::RoundedDown
        | F::ConventionUnsaid
        | F::MarkMissing { .. }
        | F::AboveCapacity { .. }
        | F::NoPlan
        | F::RebuiltInPart
        | F::NothingLeft
        | F::SetAsideLate(_)
        | F::ScreeningYes(_)
        | F::ScreeningOpen
        | F::SampleUnsaid
        | F::NoCount
        | F::HaematocritUnknown
        | F::IdentityDiffers
        | F::Unsound(_)
        | F::Expired { .. }
        | F::ExpiryUnreadable(_)
        | F::NothingToPredictFrom
        | F::LiteratureRange
        | F::OverRating(_)
        | F::ClockWentBack
        | F::SetAside(_)
        | F::DilutionUnsaid
        | F::WhiteCellsNotCounted
        | F::ProductNotCounted
        | F::BloodUnknown
        | F::ProductTubeUnsaid
        | F::CellsDilutionUnsaid => About::default(),
    }
}

/// Salt, strength and volume of an addition that holds calcium.
fn calcium(addition: &AdditionTyped) -> Option<(&'static str, f64, f64)> {
    let AdditionTyped::Whole(addition) = addition else { return None };
    let (salt, strength) = match addition.agent {
        AdditionAgent::CalciumChloride { strength } => ("chloride", strength),
        AdditionAgent::CalciumGluconate { strength } => ("gluconate", strength),
        AdditionAgent::AutologousThrombin
        | AdditionAgent::LocalAnaesthetic { .. }
        | AdditionAgent::Other { .. } => return None,
    };
    Some((salt, strength.get(), addition.volume.get()))
}

/// The speeds that the programme asks for, as they are stored.
fn speeds(case: &Case) -> Vec<crate::spin::programme::Speed> {
    let stages = case.protocol.iter().flat_map(|p| &p.programme.0);
    stages.filter_map(crate::spin::programme::Stage::speed).collect()
}

/// It is stored: made of ids, numbers and names that are stored themselves, as JSON, which tells them apart.
fn of(what: impl Serialize) -> About {
    with(About::default(), what)
}

fn with(about: About, what: impl Serialize) -> About {
    About { of: stored::write(&what).unwrap_or_default(), ..about }
}

fn grave(value: f64) -> About {
    About { grave: if value.is_finite() { value } else { 0.0 }, ..About::default() }
}

/// Hours since a time that was set.
fn delay(by: Instant, at: Instant) -> About {
    let hours = at.since(by).and_then(|s| s.seconds().ok()).map_or(0.0, |s| s.get() / 3600.0);
    About { slack: DELAY, ..grave(hours) }
}
