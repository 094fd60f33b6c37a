//! Where every mL goes: in and out are the same total, or it says what is missing.

use crate::evidence::SourceId;
use crate::quantity::{OutOfRange, Quantity, Share, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// How far a ledger may be off and still close [mL].
const CLOSES_TO: f64 = 1e-9;

/// Losses in needles and transfers: per change, not per site.
#[derive(Debug, Clone, Copy, PartialEq)]
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
        let numbers = vec![
            Figure::pure(n),
            Figure::of(self.per_needle),
            Figure::pure(t),
            Figure::of(self.per_transfer),
        ];
        let formula = "L = n_needle·l_needle + n_transfer·l_transfer";
        Ok(Worked::new(
            total,
            Working::line(StepName::Losses, formula, "{} · {} + {} · {}", numbers, Figure::of(total)),
        ))
    }
}

/// What one site is to receive.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SiteVolume {
    /// Which site of the order, from 0.
    pub index: usize,
    /// Volume given there [mL].
    pub volume: Volume,
}

/// What is known of where it goes; all containers of the preparation together.
#[derive(Debug, Clone, PartialEq)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Where {
    /// More product than was filled.
    Fill,
    /// More for sample, losses and sites than there is product.
    Product,
}

/// Whether the ledger closes.
#[derive(Debug, Clone, Copy, PartialEq)]
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
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
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
#[derive(Debug, Clone, Copy, PartialEq)]
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
    /// What is left after the sample, with additions, less losses and sites; none if there is less than that.
    pub left_over: Worked<Volume>,
    /// Whether it closes.
    pub closure: Closure,
    /// Product beyond the fill; none where it fits.
    pub over_fill: Volume,
    /// What sample, losses and sites need beyond the product and what is added to it.
    pub over_product: Volume,
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
    // left over = V′ + X − L − Σ V_site
    let rest = after_sample.get() + ledger.added.get() - losses.value.get() - sites.get();
    let left_over = Volume::new(rest.max(0.0))?;
    // What is added later cannot have been in the sample.
    let short = (ledger.sample.get() - v.get()).max(0.0) + (-rest).max(0.0);
    let over_fill = v.get() - fill.get();
    let closure = if over_fill > CLOSES_TO {
        Closure::Short { at: Where::Fill, missing: Volume::new(over_fill)? }
    } else if short > CLOSES_TO {
        Closure::Short { at: Where::Product, missing: Volume::new(short)? }
    } else {
        Closure::Closes { left_over }
    };
    // Both shortfalls may happen at once; the strip carries their sum, so that its sides stay equal.
    let missing = Volume::new(over_fill.max(0.0) + short)?;

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
        left_behind: line(
            StepName::LeftBehind,
            "R = max(0, F − V)",
            "max(0, {} − {})",
            &[fill, v],
            left_behind,
        ),
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
            "max(0, V′ + X − L − Σ V_site)",
            "max(0, {} + {} − {} − {})",
            &[after_sample, ledger.added, losses.value, sites],
            left_over,
        ),
        losses,
        closure,
        over_fill: Volume::new(over_fill.max(0.0))?,
        over_product: Volume::new(short)?,
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

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn q(value: f64) -> Volume {
        Volume::new(value).unwrap()
    }

    /// Two fills of 2 + 13, 4 mL kept, 0.2 mL counted, two needle changes, one site of 3 mL.
    fn day() -> Ledger {
        Ledger {
            anticoagulant: q(4.0),
            blood: q(26.0),
            product: q(4.0),
            sample: q(0.2),
            losses: Losses { needle_changes: 2, per_needle: q(0.1), transfers: 1, per_transfer: q(0.1) },
            added: Volume::ZERO,
            sites: vec![SiteVolume { index: 0, volume: q(3.0) }],
        }
    }

    fn total(entries: &[Entry]) -> f64 {
        entries.iter().map(|entry| entry.volume.get()).sum()
    }

    fn shares(entries: &[Entry]) -> f64 {
        entries.iter().map(|entry| entry.share.get()).sum()
    }

    #[test]
    fn an_ordinary_day_closes() {
        let closed = close(&day()).unwrap();
        let Closure::Closes { left_over } = closed.closure else { panic!("{:?}", closed.closure) };
        assert!((left_over.get() - 0.5).abs() < 1e-12);
        assert_eq!((closed.fill.value.get(), closed.left_behind.value.get()), (30.0, 26.0));
        assert!((closed.after_sample.value.get() - 3.8).abs() < 1e-12);
        assert!((closed.losses.value.get() - 0.3).abs() < 1e-12);
        let kinds: Vec<_> = closed.going_out.iter().map(|entry| entry.kind).collect();
        use EntryKind::{LeftBehind, LeftOver, Losses, Sample, Site};
        assert_eq!(kinds, [LeftBehind, Sample, Losses, Site(0), LeftOver]);
        let blood = closed.coming_in.iter().find(|entry| entry.kind == EntryKind::Blood).unwrap();
        assert!((blood.share.get() - 26.0 / 30.0).abs() < 1e-12);
        // each amount shows its line
        for worked in
            [&closed.fill, &closed.left_behind, &closed.after_sample, &closed.losses, &closed.left_over]
        {
            assert_eq!(worked.working.steps.last().unwrap().result.value, worked.value.get());
        }
    }

    #[test]
    fn what_was_added_is_there_to_give() {
        let closed = close(&Ledger { added: q(0.4), ..day() }).unwrap();
        let Closure::Closes { left_over } = closed.closure else { panic!() };
        assert!((left_over.get() - 0.9).abs() < 1e-12);
        assert!((total(&closed.coming_in) - 30.4).abs() < 1e-9);
    }

    #[test]
    fn one_drop_more_than_there_is_does_not_close() {
        let with = |volume: f64| {
            let sites = vec![SiteVolume { index: 0, volume: q(volume) }];
            close(&Ledger { sites, ..day() }).unwrap().closure
        };
        // 4 − 0.2 − 0.3 = 3.5: to the last drop, a rounding error above it, and 0.01 mL above it
        assert!(matches!(with(3.5), Closure::Closes { left_over } if left_over.get() < 1e-9));
        assert!(matches!(with(3.5 + 9e-10), Closure::Closes { .. }));
        assert!(matches!(with(3.5 + 2e-9), Closure::Short { .. }));
        let Closure::Short { at, missing } = with(3.51) else { panic!() };
        assert_eq!(at, Where::Product);
        assert!((missing.get() - 0.01).abs() < 1e-12);
    }

    #[test]
    fn what_is_added_later_cannot_have_been_in_the_sample() {
        let sample = q(4.5);
        let closed = close(&Ledger { sample, added: q(9.0), ..day() }).unwrap();
        // 0.5 mL too much in the sample; 9 − 0.3 − 3 left over
        assert!(
            matches!(closed.closure, Closure::Short { at: Where::Product, missing } if missing.get() == 0.5)
        );
        assert!((closed.left_over.value.get() - 5.7).abs() < 1e-12);
        assert!((total(&closed.coming_in) - total(&closed.going_out)).abs() < 1e-9);
    }

    #[test]
    fn more_product_than_fill_does_not_close() {
        let closed = close(&Ledger { product: q(31.0), ..day() }).unwrap();
        assert!(
            matches!(closed.closure, Closure::Short { at: Where::Fill, missing } if missing.get() == 1.0)
        );
        assert_eq!(closed.left_behind.value, Volume::ZERO);
        let all = close(&Ledger { product: q(30.0), ..day() }).unwrap();
        assert!(matches!(all.closure, Closure::Closes { .. }));
    }

    #[test]
    fn nothing_at_all_closes_with_nothing() {
        let empty = Ledger {
            anticoagulant: Volume::ZERO,
            blood: Volume::ZERO,
            product: Volume::ZERO,
            sample: Volume::ZERO,
            losses: Losses::NONE,
            added: Volume::ZERO,
            sites: Vec::new(),
        };
        let closed = close(&empty).unwrap();
        assert_eq!(closed.closure, Closure::Closes { left_over: Volume::ZERO });
        assert_eq!((shares(&closed.coming_in), shares(&closed.going_out)), (0.0, 0.0));
    }

    proptest! {
        #[test]
        fn both_sides_have_the_same_total(
            volumes in prop::array::uniform5(0.0_f64..60.0),
            sites in prop::collection::vec(0.0_f64..10.0, 0..5),
            changes in 0_u32..5, per in 0.0_f64..0.5,
        ) {
            let [a, b, v, s, x] = volumes.map(q);
            let sites = sites.into_iter().enumerate().map(|(index, v)| SiteVolume { index, volume: q(v) }).collect();
            let losses = Losses { needle_changes: changes, per_needle: q(per), transfers: 1, per_transfer: q(per) };
            let ledger = Ledger { anticoagulant: a, blood: b, product: v, sample: s, losses, added: x, sites };
            let closed = close(&ledger).unwrap();
            prop_assert!((total(&closed.coming_in) - total(&closed.going_out)).abs() <= 1e-9);
            prop_assert!((shares(&closed.coming_in) - 1.0).abs() < 1e-12);
            prop_assert!((shares(&closed.going_out) - 1.0).abs() < 1e-12);
            let missing = closed.coming_in.iter().any(|entry| entry.kind == EntryKind::Missing);
            prop_assert_eq!(missing, matches!(closed.closure, Closure::Short { .. }));
        }
    }
}
