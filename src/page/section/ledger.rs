//! The ledger strip along the foot.

use crate::picture::ledger::{Ground, LedgerStrip, LedgerView, Part};
use crate::state::{Desk, Sheet};
use crate::wire::memo;
use leptos::prelude::*;
use strawline::assess::Assessment;
use strawline::assess::draw::Standing;
use strawline::product::ledger::{Closed, EntryKind};
use strawline::quantity::unit::Conventions;
use strawline::quantity::{Quantity, Volume};
use strawline::words::choice::AgentName;
use strawline::words::draw::{LedgerLine, PlannedBeside};
use strawline::words::page::Frame;
use strawline::words::{Language, unit};

/// Where every millilitre goes, or went. Nothing while nothing is planned.
#[component]
pub fn Ledger() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let strip = memo(move || {
        let c = sheet.conventions();
        let added = sheet.read.with(|(case, _)| !case.additions.is_empty());
        sheet.answer.with(|a| view_of(a, desk.language(), &c, added))
    });
    let there = memo(move || strip.with(Option::is_some));
    move || {
        there.get().then(|| {
            let view = Signal::derive(move || strip.get().unwrap_or_default());
            let label = Signal::derive(move || desk.say(Frame::Ledger));
            view! { <LedgerStrip view label/> }
        })
    }
}

/// The strip of an assessment, on the page and on the card; `None` while nothing is planned.
pub fn view_of(a: &Assessment, language: Language, c: &Conventions, added: bool) -> Option<LedgerView> {
    let now = a.draw.now.as_ref()?;
    let said = |line: LedgerLine| language.say(line).into_owned();
    let agent = a.draw.agent.map(|g| language.say(AgentName(g, c.numbers)).into_owned()).unwrap_or_default();
    let done = now.standing == Standing::Done;
    let planned = a.draw.plan.as_ref().and_then(|p| {
        let blood = p.rounded.value.split.blood;
        let differs = now.containers != p.containers
            || a.draw.containers.iter().any(|n| !n.set_aside && n.split.is_none_or(|s| s.blood != blood));
        let beside = PlannedBeside(p.containers, unit::volume(blood, c), now.unknown.len());
        differs.then(|| language.say(beside).into_owned())
    });
    let blood = LedgerLine::Blood(unit::volume(now.blood.value, c), unit::volume(now.fill, c), planned);
    let filled = vec![
        part(
            now.anticoagulant.value,
            Ground::Agent,
            said(LedgerLine::Agent(unit::volume(now.anticoagulant.value, c), agent)),
        ),
        part(now.blood.value, if done { Ground::BloodDone } else { Ground::Blood }, said(blood)),
    ];
    let mut view = LedgerView { filled, ..LedgerView::default() };
    if let (Some(closed), Some(product)) = (&a.product.ledger, a.product.volume) {
        share_out(&mut view, a, closed, product, language, c, added);
    }
    Some(view)
}

fn part(volume: Volume, ground: Ground, label: String) -> Part {
    Part { volume, ground, label, name: None }
}

/// What became of it: left behind and product, then the product to its own scale.
fn share_out(
    view: &mut LedgerView,
    a: &Assessment,
    closed: &Closed,
    product: Volume,
    language: Language,
    c: &Conventions,
    added: bool,
) {
    let write = |v| unit::volume(v, c);
    let said = |line: LedgerLine| language.say(line).into_owned();
    let mut numbers = Vec::new();
    for entry in &closed.going_out {
        let amount = write(entry.volume);
        if entry.kind == EntryKind::LeftBehind {
            view.kept.push(part(entry.volume, Ground::Left, said(LedgerLine::LeftBehind(amount))));
            continue;
        }
        if entry.volume.get() <= 0.0 {
            continue;
        }
        numbers.push(amount.number.clone());
        let this = match entry.kind {
            EntryKind::Sample => {
                let line = LedgerLine::Sample(amount, a.product.sample_taken);
                part(entry.volume, Ground::Sample, said(line))
            }
            EntryKind::Losses => part(entry.volume, Ground::Left, said(LedgerLine::Losses(amount))),
            EntryKind::LeftOver => part(entry.volume, Ground::Over, said(LedgerLine::LeftOver(amount))),
            EntryKind::Site(at) => {
                let name = a.product.shares.get(at).map(|s| s.name.clone()).filter(|n| !n.is_empty());
                let name = name.unwrap_or_else(|| said(LedgerLine::Given));
                let label = said(LedgerLine::Site(amount.clone(), name.clone()));
                Part { name: Some((amount.to_string(), name)), ..part(entry.volume, Ground::Product, label) }
            }
            _ => continue,
        };
        view.shared.push(this);
    }
    view.kept.push(part(
        product,
        Ground::Product,
        said(LedgerLine::Product(write(product), a.product.collected)),
    ));
    let into = |kind| closed.coming_in.iter().find(|e| e.kind == kind).map(|e| e.volume);
    if let Some(missing) = into(EntryKind::Missing) {
        view.broken = true;
        view.shared.push(part(missing, Ground::Gap, said(LedgerLine::Missing(write(missing)))));
    }
    let added = into(EntryKind::Added).filter(|_| added).map(write);
    view.sum = said(LedgerLine::of(closed, write(product), a.product.collected, numbers, added, write));
}
