//! The ledger strip, of the page and of the card: where every millilitre goes, or went, in parts already in words.

use crate::assess::Assessment;
use crate::assess::draw::Standing;
use crate::product::ledger::{Closed, EntryKind};
use crate::quantity::unit::Conventions;
use crate::quantity::{Quantity, Volume};
use crate::words::choice::AgentName;
use crate::words::draw::{LedgerLine, PlannedBeside};
use crate::words::{Language, unit};
use serde::{Deserialize, Serialize};

/// How a part is filled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Ground {
    /// Anticoagulant.
    Agent,
    /// Blood not yet drawn.
    Blood,
    /// Blood drawn.
    BloodDone,
    /// Left behind, or lost.
    Left,
    /// Product, or a site that receives it.
    Product,
    /// Count sample.
    Sample,
    /// Left over.
    Over,
    /// What is missing for the ledger to close.
    Gap,
}

/// A part of a bar.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// How much.
    pub volume: Volume,
    /// How it is filled.
    pub ground: Ground,
    /// Its amount and name on the line of words; `*` before and after what is heavy: `*0.2* count sample`.
    pub label: String,
    /// Amount and name to stand inside it instead, when there is room.
    pub name: Option<(String, String)>,
}

/// Where every millilitre went.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Strip {
    /// In the containers: anticoagulant, blood.
    pub filled: Vec<Part>,
    /// The same volume, as it came out: left behind, then product. Empty while no product is planned.
    pub kept: Vec<Part>,
    /// The product, as it was shared out.
    pub shared: Vec<Part>,
    /// The sum at the end of `shared`, `*` as in a label.
    pub sum: String,
    /// It does not close.
    pub broken: bool,
}

/// The strip of an assessment, on the page and on the card; `None` while nothing is planned.
pub fn strip(a: &Assessment, language: Language, c: &Conventions, added: bool) -> Option<Strip> {
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
    let mut view = Strip { filled, ..Strip::default() };
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
    view: &mut Strip,
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
