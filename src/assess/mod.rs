//! The answer: everything that follows from a [`Case`], with its workings and findings. One entry, [`assess`];
//! every view shows an [`Assessment`] and reckons nothing itself.

mod about;
pub mod against;
pub mod balance;
pub mod column;
mod counting;
pub mod day;
pub mod draw;
pub mod given;
pub mod hand_over;
pub mod picture;
pub mod plan;
pub mod product;
pub mod running;
pub mod spin;
pub mod sure;

#[cfg(test)]
mod findings_tests;

use crate::arrange::sort_by;
use crate::blood::anticoagulant::{Split, VolumeConvention};
use crate::case::Case;
use crate::draft::{CheckKind, Stage};
use crate::finding::{Finding, FindingKind, HeldStep, LotOf};
use crate::quantity::time::{Instant, Offset};
use crate::quantity::{Quantity, Volume};
pub use plan::{Unplanned, is_set, plan, plan_among};
pub use product::Shared;
pub use sure::how_sure;

use draw::DrawResult;
use given::GivenOdd;
use product::ProductResult;
use spin::SpinResult;

/// Number of the model, kept with every signature: raised when the same case would give other numbers.
pub const MODEL: u32 = 4;

/// Everything that follows.
#[derive(Debug, Clone, PartialEq)]
pub struct Assessment {
    /// Containers, anticoagulant, blood, patient limits.
    pub draw: DrawResult,
    /// Rotor, stages, clock.
    pub spin: SpinResult,
    /// Expected, counted, shared out.
    pub product: ProductResult,
    /// For each part of the site what its time of giving does not go with.
    pub given: Vec<Option<GivenOdd>>,
    /// Findings, loudest first; within a level in the order of the job.
    pub findings: Vec<Finding>,
    /// What the order leaves open, for the prescriber.
    pub questions: Vec<Question>,
}

/// What an order may leave open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Question {
    /// Which patient: two identifiers.
    Identifiers,
    /// Where.
    Site,
    /// Which side.
    Side,
    /// How much to give.
    Volume,
    /// White cells wanted or not.
    WhiteCells,
    /// Platelets, concentration or fold, if any is meant.
    Amount,
    /// The second number, of an amount between two.
    SecondNumber,
    /// Who ordered it.
    Prescriber,
}

/// The civil moment a case is assessed at.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Now {
    /// The instant.
    pub at: Instant,
    /// The device's offset from UTC.
    pub offset: Offset,
}

/// Answers a case at a moment.
pub fn assess(case: &Case, now: Now) -> Assessment {
    let mut found = Vec::new();
    order(case, &mut found);
    checks(case, &mut found);
    found.extend(case.unread.keys().map(|field| FindingKind::Unread(*field)));
    // A lot is judged on the day it was used: what was in date then does not go out of date afterwards.
    let used = case.times.needle_in.unwrap_or(now.at).local(now.offset).map(|(date, _)| date);
    let draw = draw::draw(case, used, &mut found);
    let spin = spin::spin(case, now.at, &mut found);
    let spun = case.times.stages.values().next().copied().unwrap_or(now.at).local(now.offset);
    let use_by = spin.use_by.as_ref().map(|by| by.value.at);
    let given = given::given(case, use_by, now.at, &mut found);
    balance::out_of_balance(case, &draw, &mut found);
    spin::centrifuge(case, spun.map(|(day, _)| day), &mut found);
    let mut product = product::product(case, draw.now.as_ref(), now.at, &mut found);
    counting::complete(case, draw.now.as_ref(), &mut product, &mut found);
    troubles(case, &mut found);
    let mut findings: Vec<Finding> = Vec::with_capacity(found.len());
    for kind in found {
        let about = about::about(&kind, case, now.at);
        let finding = Finding::new(kind, about, &case.decisions);
        if !findings.contains(&finding) {
            findings.push(finding);
        }
    }
    sort_by(&mut findings, |a, b| b.level.cmp(&a.level).then(a.kind.stage().cmp(&b.kind.stage())));
    Assessment { questions: questions(case), draw, spin, product, given, findings }
}

/// What each planned container would hold if the volume that was named meant this; nothing else is reckoned.
pub fn split_under(case: &Case, convention: VolumeConvention) -> Option<Split> {
    let mut case = case.clone();
    case.draw.convention = Some(convention);
    draw::draw(&case, None, &mut Vec::new()).plan.map(|plan| plan.rounded.value.split)
}

/// What went wrong and still stands in the way. A container that was left out of the product has its own note, and
/// its Stop is resolved by that; one set aside when its blood was in the product already resolves nothing.
fn troubles(case: &Case, found: &mut Vec<FindingKind>) {
    for trouble in case.standing_troubles().filter(|t| !t.left_out(&case.times)) {
        found.push(spin::of_trouble(case, trouble));
        if let Some(container) = trouble.container.filter(|_| trouble.set_aside_late(&case.times)) {
            found.push(FindingKind::SetAsideLate(container));
        }
    }
    let in_hand = &case.draw.containers;
    if !in_hand.is_empty() && in_hand.iter().all(|c| c.set_aside) {
        found.push(FindingKind::NothingLeft);
    }
}

fn order(case: &Case, found: &mut Vec<FindingKind>) {
    parts_and_whole(case, found);
    for (&what, &yes) in &case.screening {
        if yes {
            found.push(FindingKind::ScreeningYes(what));
        }
    }
    if crate::draft::Screening::ALL.iter().any(|s| !case.screening.contains_key(s)) {
        found.push(FindingKind::ScreeningOpen);
    }
}

/// Whether the parts of the site come to the volume ordered, as far as both are said.
fn parts_and_whole(case: &Case, found: &mut Vec<FindingKind>) {
    let parts: Vec<f64> = case.order.parts.iter().filter_map(|p| p.planned).map(Quantity::get).collect();
    let sum = Volume::new(parts.iter().sum()).ok().filter(|_| !parts.is_empty());
    if let (Some(parts), Some(ordered)) = (sum, case.order.volume)
        && (parts.get() - ordered.get()).abs() > 1e-9
    {
        found.push(FindingKind::PartsDiffer { parts, ordered });
    }
}

fn checks(case: &Case, found: &mut Vec<FindingKind>) {
    if case.rebuilt_in_part {
        found.push(FindingKind::RebuiltInPart);
    }
    if let Some(n) = &case.namesake {
        found.push(FindingKind::OtherIdentifier { sign: n.sign, at: n.at, others: n.others });
    }
    if let Some((then, now)) = case.moved.clone() {
        found.push(FindingKind::SiteChanged { then, now });
    }
    if let Some((then, now)) = case.site_reworded.clone() {
        found.push(FindingKind::SiteReworded { then, now });
    }
    let done = |kind| case.checks.contains_key(&kind);
    if let Some(from) = case.taken_over.filter(|_| !done(CheckKind::TodaysOrder)) {
        found.push(FindingKind::OrderTakenOver { sign: from.sign, at: from.at });
    }
    if done(CheckKind::IdentityDiffers) {
        found.push(FindingKind::IdentityDiffers);
    } else if !done(CheckKind::Identity) && case.stage >= Stage::BeforeNeedle {
        found.push(FindingKind::IdentityUnchecked);
    }
    let anticoagulant = !done(CheckKind::AnticoagulantSound) && !done(CheckKind::AnticoagulantUnsound);
    let containers = !done(CheckKind::ContainersSound) && !done(CheckKind::ContainersUnsound);
    if (anticoagulant || containers) && case.stage >= Stage::BeforeNeedle {
        found.push(FindingKind::SoundUnchecked { anticoagulant, containers });
    }
    if done(CheckKind::AnticoagulantUnsound) {
        found.push(FindingKind::Unsound(LotOf::Anticoagulant));
    }
    if done(CheckKind::ContainersUnsound) {
        found.push(FindingKind::Unsound(LotOf::Containers));
    }
}

fn questions(case: &Case) -> Vec<Question> {
    let o = &case.order;
    let mut open = Vec::new();
    let mut ask = |missing: bool, question| {
        if missing {
            open.push(question);
        }
    };
    ask(o.reference.is_empty() || o.second.is_empty(), Question::Identifiers);
    ask(o.site.is_empty(), Question::Site);
    ask(o.side.is_none(), Question::Side);
    ask(o.volume.is_none() && o.parts.iter().all(|p| p.planned.is_none()), Question::Volume);
    ask(o.white_cells.is_none(), Question::WhiteCells);
    ask(o.platelets.is_none() && o.concentration.is_none() && o.fold.is_none(), Question::Amount);
    ask(against::asked(o).iter().any(against::Asked::second_missing), Question::SecondNumber);
    ask(o.prescriber.is_empty(), Question::Prescriber);
    open
}

impl Assessment {
    /// Findings of one stage, loudest first.
    pub fn at(&self, stage: Stage) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(move |f| f.kind.stage() == stage)
    }

    /// The gravest Stop that the lot in hand brings about and that still waits.
    pub fn stop_of_lot(&self, lot: LotOf) -> Option<&Finding> {
        use FindingKind as F;
        let by_lot = |f: &&Finding| match f.kind {
            F::Expired { of, .. } | F::OtherProduct { of, .. } | F::ExpiryDiffers { of, .. } => of == lot,
            _ => false,
        };
        self.findings.iter().filter(|f| f.is_open()).filter(by_lot).max_by_key(|f| f.level)
    }

    /// Stops that hold a step back now.
    pub fn holding(&self, step: HeldStep) -> impl Iterator<Item = &Finding> {
        self.findings.iter().filter(move |f| f.holds(step))
    }
}
