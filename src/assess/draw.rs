//! What goes into the containers: planned, actual, and what counts now.

use crate::bench::Container;
use crate::blood::anticoagulant::{
    self, Agent, Band, Direction, FAR_LOW, Rounded, Split, TopUp, VolumeConvention,
};
use crate::blood::mixture;
use crate::blood::patient::{DrawDemand, PatientCheck, check};
use crate::case::{Case, LotInHand};
use crate::draft::{DrawnTo, Field, Stage, TroubleKind};
use crate::finding::{FindingKind, LotOf};
use crate::quantity::time::Date;
use crate::quantity::{AcRatio, Haematocrit, Millimolar, Quantity, Volume};
use crate::working::{Figure, StepName, Worked, Working};

/// Where an amount comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Planned throughout.
    Planned,
    /// Entered for some containers; the rest planned or not known.
    Partly,
    /// Entered for every container.
    Done,
}

/// The plan for each container and for all. Once blood was drawn it is the plan that it was drawn to.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawPlan {
    /// Before rounding.
    pub exact: Worked<Split>,
    /// After rounding to the measuring device.
    pub rounded: Worked<Rounded>,
    /// How many containers.
    pub containers: u8,
}

/// One container as it counts now.
#[derive(Debug, Clone, PartialEq)]
pub struct ContainerNow {
    /// Its number from 0.
    pub index: u8,
    /// Anticoagulant, blood, fill: as entered, before the needle is out as planned; `None` when not known.
    pub split: Option<Split>,
    /// Anticoagulant per blood; `None` without blood.
    pub ratio: Option<AcRatio>,
    /// Whether a mark was entered, readable or not.
    pub entered: bool,
    /// Takes no further part.
    pub set_aside: bool,
    /// Came in addition to those planned.
    pub extra: bool,
    /// Mark at which too much anticoagulant would come back into its band.
    pub top_up: Option<Worked<TopUp>>,
}

/// All containers that take part, together.
#[derive(Debug, Clone, PartialEq)]
pub struct Totals {
    /// Planned, partly entered, or entered for every container.
    pub standing: Standing,
    /// How many containers take part and are known.
    pub containers: u8,
    /// Numbers from 0 of those that take part and are not known: in none of the sums, so that nothing that
    /// rests on all the blood is reckoned.
    pub unknown: Vec<u8>,
    /// Anticoagulant.
    pub anticoagulant: Worked<Volume>,
    /// Blood.
    pub blood: Worked<Volume>,
    /// Fill.
    pub fill: Volume,
    /// Anticoagulant per blood.
    pub ratio: Option<Worked<AcRatio>>,
    /// Haematocrit of the mixture.
    pub haematocrit: Option<Worked<Haematocrit>>,
    /// Plasma with its anticoagulant.
    pub plasma: Option<Worked<Volume>>,
    /// Citrate in that plasma.
    pub citrate: Option<Worked<Millimolar>>,
}

/// Everything about the draw.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct DrawResult {
    /// The agent.
    pub agent: Option<Agent>,
    /// Its band, the clinic's before the shipped one.
    pub band: Option<Band>,
    /// The plan; `None` while container, amount, convention or volume are missing.
    pub plan: Option<DrawPlan>,
    /// Containers as they count now.
    pub containers: Vec<ContainerNow>,
    /// What counts now, in all.
    pub now: Option<Totals>,
    /// Patient limits against everything drawn.
    pub patient: Option<PatientCheck>,
    /// What was drawn, for whoever asks later; `None` where that is not known.
    pub today: Option<DrawnToday>,
}

/// What was drawn in all, discards included.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DrawnToday {
    /// How much [mL].
    pub volume: Volume,
    /// A container without a mark that can be read counts as planned in it.
    pub planned: bool,
}

impl DrawResult {
    /// The plan as it is kept once blood is drawn to it; what it is drawn with the draft knows.
    pub fn to_keep(&self) -> Option<DrawnTo> {
        let plan = self.plan.as_ref()?;
        let split = plan.rounded.value.split;
        Some(DrawnTo {
            containers: plan.containers,
            anticoagulant: split.anticoagulant,
            fill: split.fill,
            agent: None,
            container: None,
        })
    }
}

/// Works out the draw and says what was found. `used` is the civil date of the needle, for expiries.
pub(super) fn draw(case: &Case, used: Option<Date>, found: &mut Vec<FindingKind>) -> DrawResult {
    let d = &case.draw;
    let mut result = DrawResult { agent: d.agent, band: band(case), ..DrawResult::default() };
    if let Some(agent) = d.agent {
        if !agent.suits_process() {
            found.push(FindingKind::AgentUnsuitable(agent));
        } else if d.dosing.is_none() {
            found.push(FindingKind::AmountUnknown(agent));
        } else if result.band.is_none() {
            found.push(FindingKind::BandUnknown(agent));
        }
    }
    if d.volume.is_some() && d.convention.is_none() {
        found.push(FindingKind::ConventionUnsaid);
    }
    lots(case, used, found);
    if case.order.one_container && (d.planned.is_some_and(|n| n > 1) || d.containers.len() > 1) {
        found.push(FindingKind::MoreThanOneContainer);
    }
    result.plan = plan(case, result.band, found);
    if result.plan.is_none() && case.stage >= Stage::BeforeNeedle {
        found.push(FindingKind::NoPlan);
    }
    if let Some(container) = &d.container {
        result.containers = containers(case, container, result.plan.as_ref(), result.band, found);
    }
    result.now = totals(case, &result);
    result.patient = patient(case, &result, found);
    result.today = drawn_today(case, &result);
    result
}

/// The clinic's own band for this agent, else the shipped one.
fn band(case: &Case) -> Option<Band> {
    let agent = case.draw.agent?;
    case.protocol.as_ref().filter(|p| p.agent == agent).and_then(|p| p.band()).or_else(|| agent.band())
}

/// The plan that blood was drawn to, where it was; else what the order makes of it now.
fn plan(case: &Case, band: Option<Band>, found: &mut Vec<FindingKind>) -> Option<DrawPlan> {
    let container = case.draw.container.as_ref()?;
    let ordered = ordered_plan(case, container, band);
    if let Some(kept) = &case.draw.drawn_to {
        let anticoagulant = kept.agent.is_some_and(|then| case.draw.agent != Some(then));
        let other = kept.container.as_ref().is_some_and(|then| *then != container.id);
        if anticoagulant || other {
            found.push(FindingKind::DrawnWithOther { anticoagulant, container: other });
        }
    }
    let plan = match &case.draw.drawn_to {
        Some(kept) => as_drawn(kept, ordered, band)?,
        None => ordered?,
    };
    let rounded = &plan.rounded.value;
    if rounded.direction == Direction::Down {
        found.push(FindingKind::RoundedDown);
    }
    let fill = rounded.split.fill;
    if fill > container.capacity {
        found.push(FindingKind::AboveCapacity { fill, capacity: container.capacity, container: None });
    } else if fill < container.fill_low || fill > container.fill_high {
        found.push(FindingKind::FillOutsideRange {
            fill,
            low: container.fill_low,
            high: container.fill_high,
        });
    }
    let when_bought = container.prefill.is_some();
    out_of_band(rounded.ratio, rounded.split.anticoagulant, band, None, when_bought, found);
    Some(plan)
}

/// What the order makes of it.
fn ordered_plan(case: &Case, container: &Container, band: Option<Band>) -> Option<DrawPlan> {
    let d = &case.draw;
    let containers = d.planned?;
    if case.is_unread(Field::AnticoagulantChosen) {
        return None;
    }
    let (dosing, convention, volume) = (d.dosing?, d.convention?, d.volume?);
    let exact = anticoagulant::split(dosing, convention, volume).ok()?;
    let rounded = match d.chosen {
        Some(chosen) => chosen_amount(chosen, convention, volume, band).ok()?,
        // An evacuated tube has its amount inside: nothing to measure, nothing to round.
        None if container.prefill.is_some() => {
            chosen_amount(exact.value.anticoagulant, convention, volume, band).ok()?
        }
        None => anticoagulant::round_up(
            &exact.value,
            convention,
            volume,
            container.anticoagulant_graduation,
            band,
        )
        .ok()?,
    };
    Some(DrawPlan { exact, rounded, containers })
}

/// The plan as it was kept; with its own working where the order still says the same of each container.
fn as_drawn(kept: &DrawnTo, ordered: Option<DrawPlan>, band: Option<Band>) -> Option<DrawPlan> {
    let same = |plan: &DrawPlan| {
        let split = plan.rounded.value.split;
        let off = |a: Volume, b: Volume| (a.get() - b.get()).abs() > 1e-9;
        !off(split.anticoagulant, kept.anticoagulant) && !off(split.fill, kept.fill)
    };
    if let Some(plan) = ordered.filter(same) {
        return Some(DrawPlan { containers: kept.containers, ..plan });
    }
    let rounded = chosen_amount(kept.anticoagulant, VolumeConvention::FillMark, kept.fill, band).ok()?;
    let exact = Worked::new(rounded.value.split, rounded.working.clone());
    Some(DrawPlan { exact, rounded, containers: kept.containers })
}

/// An amount somebody chose: taken as it is, with blood and fill following from it.
pub(super) fn chosen_amount(
    chosen: Volume,
    convention: VolumeConvention,
    volume: Volume,
    band: Option<Band>,
) -> crate::working::Checked<Rounded> {
    let split = anticoagulant::split(anticoagulant::Dosing::PerContainer(chosen), convention, volume)?;
    let ratio = anticoagulant::true_ratio(split.value.anticoagulant, split.value.blood)?;
    let rounded = Rounded {
        split: split.value,
        ratio: ratio.value,
        direction: Direction::Exact,
        in_band: band.map(|b| b.contains(ratio.value)),
    };
    Ok(Worked::new(rounded, split.working.then(ratio.working)))
}

/// What is found of an amount that is not in the band. None at all, or less than [`FAR_LOW`] of its lower edge, is
/// graver, unless it is inside when bought: that is for the maker to have chosen.
fn out_of_band(
    ratio: AcRatio,
    anticoagulant: Volume,
    band: Option<Band>,
    container: Option<u8>,
    when_bought: bool,
    found: &mut Vec<FindingKind>,
) {
    let low = band.map(|b| b.low);
    let far = ratio.get() <= 0.0 || low.is_some_and(|low| ratio.get() < FAR_LOW * low.get());
    if far && !when_bought {
        found.push(FindingKind::AnticoagulantFarLow { ratio, low, container });
        return;
    }
    let Some(band) = band.filter(|b| !b.contains(ratio)) else { return };
    if ratio < band.low {
        found.push(FindingKind::AnticoagulantLow { ratio, low: band.low, container });
    } else {
        let mark = anticoagulant::top_up(anticoagulant, band).ok().map(|t| t.value.fill);
        found.push(FindingKind::AnticoagulantHigh { ratio, high: band.high, container, mark });
    }
}

fn containers(
    case: &Case,
    container: &Container,
    plan: Option<&DrawPlan>,
    band: Option<Band>,
    found: &mut Vec<FindingKind>,
) -> Vec<ContainerNow> {
    let planned = plan.map(|p| p.rounded.value.split);
    let needle_out = case.times.needle_out.is_some();
    let mut now = Vec::new();
    for (i, typed) in (0u8..).zip(&case.draw.containers) {
        let mark_unread = case.is_unread(Field::FillActual(i));
        let entered = typed.fill.is_some() || mark_unread;
        if planned.is_none() && !entered && !needle_out {
            continue;
        }
        // Forgotten anticoagulant is none, whatever was planned.
        let forgotten = case
            .standing_troubles()
            .any(|t| t.kind == TroubleKind::AnticoagulantForgotten && t.container.is_none_or(|c| c == i));
        // Nothing inside where something was planned is the same, whoever says it.
        let nothing = typed.anticoagulant == Some(Volume::ZERO)
            && planned.is_none_or(|p| p.anticoagulant > Volume::ZERO);
        if nothing && !forgotten && !typed.set_aside {
            found.push(FindingKind::Trouble(TroubleKind::AnticoagulantForgotten, Some(i)));
        }
        let forgotten = forgotten || nothing;
        let inside = match typed.anticoagulant {
            _ if forgotten => Some(Volume::ZERO),
            None if case.is_unread(Field::AnticoagulantActual(i)) => None,
            typed => typed.or(planned.map(|p| p.anticoagulant)),
        };
        // The plan is no mark: with the needle out, one that was not entered is not known.
        let mark = match typed.fill {
            None if mark_unread || needle_out => None,
            typed => typed.or(planned.map(|p| p.fill)),
        };
        if typed.set_aside {
            found.push(FindingKind::SetAside(i));
        } else if needle_out && !entered {
            found.push(FindingKind::MarkMissing { container: i });
        }
        let split = inside.zip(mark).and_then(|(anticoagulant, fill)| {
            let blood = Volume::new(fill.get() - anticoagulant.get()).ok();
            if blood.is_none() && !typed.set_aside {
                found.push(FindingKind::MarkBelowAnticoagulant { container: i });
            }
            Some(Split { anticoagulant, blood: blood?, fill })
        });
        let ratio = split.and_then(|s| anticoagulant::true_ratio(s.anticoagulant, s.blood).ok());
        let ratio = ratio.map(|r| r.value);
        let mut top_up = None;
        let measured = typed.fill.is_some() || typed.anticoagulant.is_some();
        if let (Some(split), Some(ratio), true, false, false) =
            (split, ratio, measured, typed.set_aside, forgotten)
        {
            out_of_band(ratio, split.anticoagulant, band, Some(i), container.prefill.is_some(), found);
            top_up = band
                .filter(|b| ratio > b.high)
                .and_then(|b| anticoagulant::top_up(split.anticoagulant, b).ok());
        }
        if container.prefill.is_some()
            && typed.fill.is_some_and(|f| f < container.fill_low)
            && !typed.set_aside
        {
            found.push(FindingKind::UnderFilledTube { container: i });
        }
        if let Some(fill) = typed.fill.filter(|f| *f > container.capacity && !typed.set_aside) {
            let capacity = container.capacity;
            found.push(FindingKind::AboveCapacity { fill, capacity, container: Some(i) });
        }
        let extra = plan.map(|p| p.containers).or(case.draw.planned).is_some_and(|n| i >= n);
        now.push(ContainerNow { index: i, split, ratio, entered, set_aside: typed.set_aside, extra, top_up });
    }
    now
}

fn totals(case: &Case, result: &DrawResult) -> Option<Totals> {
    let taking_part = || result.containers.iter().filter(|c| !c.set_aside);
    let known: Vec<Split> = taking_part().filter_map(|c| c.split).collect();
    let unknown: Vec<u8> = taking_part().filter(|c| c.split.is_none()).map(|c| c.index).collect();
    let standing = match taking_part().filter(|c| c.entered).count() {
        0 if unknown.is_empty() => Standing::Planned,
        n if n == known.len() && unknown.is_empty() => Standing::Done,
        _ => Standing::Partly,
    };
    let anticoagulant =
        sum(StepName::AnticoagulantInAll, "A = A₁ + A₂ + …", &known, |s| s.anticoagulant)?;
    let blood = sum(StepName::BloodInAll, "B = B₁ + B₂ + …", &known, |s| s.blood)?;
    let fill = Volume::new(anticoagulant.value.get() + blood.value.get()).ok()?;
    // The mixture of all is not that of some.
    let complete = unknown.is_empty();
    let haematocrit = case.baseline.haematocrit.filter(|_| complete);
    let (a, b) = (anticoagulant.value, blood.value);
    let citrate_of_agent = result.agent.and_then(Agent::citrate);
    Some(Totals {
        standing,
        containers: u8::try_from(known.len()).ok()?,
        ratio: anticoagulant::true_ratio(a, b).ok().filter(|_| complete),
        haematocrit: haematocrit.and_then(|h| mixture::mixture_haematocrit(a, b, h).ok()),
        plasma: haematocrit.and_then(|h| mixture::plasma(a, b, h).ok()),
        citrate: haematocrit.zip(citrate_of_agent).and_then(|(h, (c, source))| {
            let worked = mixture::plasma_citrate(c, a, b, h).ok()?;
            Some(Worked::new(worked.value, worked.working.from(source)))
        }),
        unknown,
        anticoagulant,
        blood,
        fill,
    })
}

/// Adds one volume of each container; `None` when no container takes part.
fn sum(
    what: StepName,
    formula: &'static str,
    containers: &[Split],
    of: impl Fn(&Split) -> Volume,
) -> Option<Worked<Volume>> {
    if containers.is_empty() {
        return None;
    }
    let parts: Vec<Volume> = containers.iter().map(of).collect();
    let total = Volume::new(parts.iter().map(|v| v.get()).sum()).ok()?;
    let numbers = parts.into_iter().map(Figure::of).collect();
    Some(Worked::new(total, Working::line(what, formula, "+", numbers, Figure::of(total))))
}

fn patient(case: &Case, result: &DrawResult, found: &mut Vec<FindingKind>) -> Option<PatientCheck> {
    found.extend(case.blood_untold.map(FindingKind::BloodUntold));
    // Every container in hand, which are those planned and those taken to them. Blood of containers set aside was
    // drawn all the same; one whose mark is not known counts as planned here,
    // so that no limit is passed because a mark is missing.
    let planned = result.plan.as_ref().map_or(0.0, |p| p.rounded.value.split.blood.get());
    let drawn: f64 = result.containers.iter().map(|c| c.split.map_or(planned, |s| s.blood.get())).sum();
    let demand = DrawDemand {
        today: Volume::new(drawn).ok().filter(|v| v.get() > 0.0)?,
        discards: case.discard.unwrap_or(Volume::ZERO),
        previous_eight_weeks: case.previous.unwrap_or(Volume::ZERO),
    };
    let check = check(&case.limits, &case.patient, &demand).ok()?;
    if let Some(level) = check.unknown {
        found.push(FindingKind::LimitUnknown { level, drawn: check.eight_weeks.value });
    }
    found.extend(check.hits.iter().copied().map(FindingKind::Limit));
    // A limit passed without what was typed unreadably is passed; the figures would be too low.
    let whole = !case.is_unread(Field::Discard) && !case.is_unread(Field::PreviousBlood);
    Some(check).filter(|_| whole)
}

/// Draw and discards. A mark at or below the anticoagulant is no blood.
fn drawn_today(case: &Case, result: &DrawResult) -> Option<DrawnToday> {
    let typed = &case.draw.containers;
    if typed.is_empty() || typed.len() != result.containers.len() || case.is_unread(Field::Discard) {
        return None;
    }
    let plan = result.plan.as_ref().map(|p| p.rounded.value.split.blood);
    let mut volume = case.discard.unwrap_or(Volume::ZERO).get();
    let mut planned = false;
    for (now, typed) in result.containers.iter().zip(typed) {
        let unread = case.is_unread(Field::AnticoagulantActual(now.index));
        let inside = typed.anticoagulant.is_some() || (plan.is_some() && !unread);
        let blood = match now.split {
            Some(split) => split.blood,
            None if typed.fill.is_some() && inside => Volume::ZERO,
            None => plan?,
        };
        planned |= typed.fill.is_none() || (now.split.is_none() && !inside);
        volume += blood.get();
    }
    Some(DrawnToday { volume: Volume::new(volume).ok()?, planned })
}

fn lots(case: &Case, used: Option<Date>, found: &mut Vec<FindingKind>) {
    use crate::case::Expiry;
    let draw = &case.draw;
    let lots = [
        (LotOf::Anticoagulant, draw.anticoagulant_expiry, &draw.anticoagulant_lot),
        (LotOf::Containers, draw.container_expiry, &draw.container_lot),
    ];
    let added = (0..).zip(&case.addition_lots);
    let added = added.map(|(i, (in_hand, expiry))| (LotOf::Addition(i), *expiry, in_hand));
    for (of, expiry, in_hand) in lots.into_iter().chain(added) {
        let entered = match expiry {
            Expiry::Last(date) => Some(date),
            Expiry::NotTyped | Expiry::Unreadable => None,
        };
        if expiry == Expiry::Unreadable {
            found.push(FindingKind::ExpiryUnreadable(of));
        }
        if let Some(last) = entered.filter(|last| used.is_some_and(|day| *last < day)) {
            found.push(FindingKind::Expired { of, lot: in_hand.lot.clone(), last });
        }
        if let Some(code) = in_hand.code.as_ref().and_then(|code| code.expiry)
            && entered != Some(code)
        {
            found.push(FindingKind::ExpiryDiffers { of, code, entered });
        }
        let scanned = in_hand.code.as_ref().and_then(|code| code.product);
        if let (Some(scanned), Some(expected)) = (scanned, in_hand.named)
            && scanned != expected
        {
            found.push(FindingKind::OtherProduct { of, scanned, expected });
        }
    }
    let product = |lot: &LotInHand| lot.code.as_ref().and_then(|code| code.product);
    let anticoagulant = product(&draw.anticoagulant_lot);
    // What is inside when bought comes with its container.
    let apart = draw.container.as_ref().is_none_or(|c| c.prefill.is_none());
    let container = product(&draw.container_lot);
    if let Some(product) = anticoagulant.filter(|a| apart && container == Some(*a)) {
        found.push(FindingKind::SameProduct { of: LotOf::Anticoagulant, product });
    }
    // What is added is neither of them.
    for (row, (in_hand, _)) in (0..).zip(&case.addition_lots) {
        if let Some(product) = product(in_hand).filter(|p| [anticoagulant, container].contains(&Some(*p))) {
            found.push(FindingKind::SameProduct { of: LotOf::Addition(row), product });
        }
    }
}
