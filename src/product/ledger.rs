//! Where every mL goes: in and out are the same total, or it says what is missing.

use crate::evidence::SourceId;
use crate::quantity::{OutOfRange, Quantity, Share, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// How far a ledger may be off and still close [mL].
const CLOSES_TO: f64 = 1e-9;

/// Losses in needles and transfers: per change, not per site.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct Losses {
    /// Needle or syringe changes.
    pub needle_changes: u32,
    /// Loss at one change [mL].
    pub per_needle: Volume,
    /// Transfers from one container to another.
    pub transfers: u32,
    /// Loss at one transfer [mL].
    pub per_transfer: Volume,
}

impl Losses {
    /// No losses.
    pub const NONE: Self =
        Self { needle_changes: 0, per_needle: Volume::ZERO, transfers: 0, per_transfer: Volume::ZERO };

    /// All of them together [mL]. Errors: outside the domain of a volume.
    pub fn total(&self) -> Checked<Volume> {
        // L = n_needle·l_needle + n_transfer·l_transfer
        let (n, t) = (f64::from(self.needle_changes), f64::from(self.transfers));
        let total = Volume::new(n * self.per_needle.get() + t * self.per_transfer.get())?;
        let numbers = vec![Figure::pure(n), Figure::of(self.per_needle), Figure::pure(t), Figure::of(self.per_transfer)];
        let formula = "L = n_needle·l_needle + n_transfer·l_transfer";
        Ok(Worked::new(total, Working::line(StepName::Losses, formula, "{} · {} + {} · {}", numbers, Figure::of(total))))
    }
}

/// What one site is to receive.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct SiteVolume {
    /// Which site of the order, from 0.
    pub index: usize,
    /// Volume given there [mL].
    pub volume: Volume,
}

/// What is known of where it goes; all containers of the preparation together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct Ledger {
    /// Anticoagulant [mL].
    pub anticoagulant: Volume,
    /// Blood without the anticoagulant [mL].
    pub blood: Volume,
    /// Product kept [mL].
    pub product: Volume,
    /// Taken from the product for a count [mL].
    pub sample: Volume,
    /// Losses in needles and transfers.
    pub losses: Losses,
    /// Activator and the like, added to the product after the sample [mL].
    pub added: Volume,
    /// What each site receives.
    pub sites: Vec<SiteVolume>,
}

/// Where a ledger that does not close falls short.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Where {
    /// More product than was filled.
    Fill,
    /// More for sample, losses and sites than there is product.
    Product,
}

/// Whether the ledger closes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Closure {
    /// It does; this is left over after the last site.
    Closes {
        /// [mL]
        left_over: Volume,
    },
    /// It does not.
    Short {
        /// Where.
        at: Where,
        /// By how much [mL].
        missing: Volume,
    },
}

/// What an entry of the strip is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum EntryKind {
    /// In: anticoagulant.
    Anticoagulant,
    /// In: blood.
    Blood,
    /// In: added after the sample.
    Added,
    /// In: what is not there and would have to be.
    Missing,
    /// Out: left behind in the containers.
    LeftBehind,
    /// Out: count sample.
    Sample,
    /// Out: needles and transfers.
    Losses,
    /// Out: one site, by its index.
    Site(usize),
    /// Out: left over.
    LeftOver,
}

/// One entry of the strip.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub struct Entry {
    /// What it is.
    pub kind: EntryKind,
    /// How much [mL].
    pub volume: Volume,
    /// Its share of the total of its side; both sides have the same total.
    pub share: Share,
}

/// A ledger reckoned through.
#[derive(Debug, Clone, PartialEq)]
pub struct Closed {
    /// Anticoagulant and blood together.
    pub fill: Worked<Volume>,
    /// What is not kept as product; none if the product is more than the fill.
    pub left_behind: Worked<Volume>,
    /// Product left after the count sample; none if the sample is more.
    pub after_sample: Worked<Volume>,
    /// Needles and transfers.
    pub losses: Worked<Volume>,
    /// All sites together.
    pub sites: Worked<Volume>,
    /// Product with additions, less sample, losses and sites; none if there is less than that.
    pub left_over: Worked<Volume>,
    /// Whether it closes.
    pub closure: Closure,
    /// What went in, in order; its shares sum to 1 unless everything is 0.
    pub coming_in: Vec<Entry>,
    /// Where it went, in order; its shares sum to 1 unless everything is 0.
    pub going_out: Vec<Entry>,
}

/// Reckons a ledger through. Errors: a sum outside the domain of a volume.
pub fn close(ledger: &Ledger) -> Result<Closed, OutOfRange> {
    let (a, b, v) = (ledger.anticoagulant, ledger.blood, ledger.product);
    // F = A + B
    let fill = Volume::new(a.get() + b.get())?;
    // R = max(0, F − V)
    let left_behind = Volume::new((fill.get() - v.get()).max(0.0))?;
    // V′ = max(0, V − S)
    let after_sample = Volume::new((v.get() - ledger.sample.get()).max(0.0))?;
    let losses = ledger.losses.total()?;
    // Σ V_site
    let sites = Volume::new(ledger.sites.iter().map(|site| site.volume.get()).sum())?;
    // left over = V − S + X − L − Σ V_site
    let rest = v.get() - ledger.sample.get() + ledger.added.get() - losses.value.get() - sites.get();
    let left_over = Volume::new(rest.max(0.0))?;
    let over_fill = v.get() - fill.get();
    let closure = if over_fill > CLOSES_TO {
        Closure::Short { at: Where::Fill, missing: Volume::new(over_fill)? }
    } else if rest < -CLOSES_TO {
        Closure::Short { at: Where::Product, missing: Volume::new(-rest)? }
    } else {
        Closure::Closes { left_over }
    };
    // Both shortfalls may happen at once; the strip carries their sum, so that its sides stay equal.
    let missing = Volume::new(over_fill.max(0.0) + (-rest).max(0.0))?;

    let mut into = vec![(EntryKind::Anticoagulant, a), (EntryKind::Blood, b)];
    into.extend((ledger.added > Volume::ZERO).then_some((EntryKind::Added, ledger.added)));
    into.extend((missing.get() > CLOSES_TO).then_some((EntryKind::Missing, missing)));
    let mut out = vec![(EntryKind::LeftBehind, left_behind), (EntryKind::Sample, ledger.sample)];
    out.push((EntryKind::Losses, losses.value));
    out.extend(ledger.sites.iter().map(|site| (EntryKind::Site(site.index), site.volume)));
    out.push((EntryKind::LeftOver, left_over));

    let line = |what, formula, substituted, numbers: &[Volume], value: Volume| {
        let numbers = numbers.iter().map(|&n| Figure::of(n)).collect();
        let working = Working::line(what, formula, substituted, numbers, Figure::of(value));
        Worked::new(value, working.from(SourceId::Conservation))
    };
    Ok(Closed {
        fill: line(StepName::Fill, "F = A + B", "{} + {}", &[a, b], fill),
        left_behind: line(StepName::LeftBehind, "R = max(0, F − V)", "max(0, {} − {})", &[fill, v], left_behind),
        after_sample: line(
            StepName::AfterSample,
            "V′ = max(0, V − S)",
            "max(0, {} − {})",
            &[v, ledger.sample],
            after_sample,
        ),
        sites: line(StepName::SitesTotal, "Σ V_site", "{}", &[sites], sites),
        left_over: line(
            StepName::LeftOver,
            "max(0, V − S + X − L − Σ V_site)",
            "max(0, {} − {} + {} − {} − {})",
            &[v, ledger.sample, ledger.added, losses.value, sites],
            left_over,
        ),
        losses,
        closure,
        coming_in: strip(&into)?,
        going_out: strip(&out)?,
    })
}

/// Entries with their shares.
fn strip(parts: &[(EntryKind, Volume)]) -> Result<Vec<Entry>, OutOfRange> {
    let total: f64 = parts.iter().map(|(_, volume)| volume.get()).sum();
    parts
        .iter()
        .map(|&(kind, volume)| {
            // min: a quotient of sums may round above 1
            let share = if total > 0.0 { (volume.get() / total).min(1.0) } else { 0.0 };
            Ok(Entry { kind, volume, share: Share::new(share)? })
        })
        .collect()
}
