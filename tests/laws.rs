//! What holds for every case whatever was typed. Each law is tried on 2,000 cases to which it applies, on
//! twenty times as many with `STRAWLINE_LONG=1`.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::indexing_slicing,
    reason = "a test"
)]

#[path = "laws/drafts.rs"]
mod drafts;
#[path = "laws/numbers.rs"]
mod numbers;
#[path = "laws/robust.rs"]
mod robust;
#[path = "laws/scan.rs"]
mod scan;

use drafts::{Answer, draft, q};
use proptest::prelude::*;
use proptest::test_runner::{Config, TestCaseError, TestRunner};
use strawline::assess::{Now, assess};
use strawline::blood::anticoagulant::{Agent, Direction, VolumeConvention};
use strawline::blood::baseline::SampleKind;
use strawline::draft::{CountStanding, Draft, Field};
use strawline::finding::FindingKind;
use strawline::product::kind::{Expected, ProductKind};
use strawline::product::ledger::{Closure, EntryKind};
use strawline::quantity::read::{Kind, spell};
use strawline::quantity::write::full;
use strawline::quantity::{CellCount, Quantity, Volume};

pub type Verdict = Result<(), TestCaseError>;

/// How often each law is tried.
pub fn config() -> Config {
    let long = std::env::var_os("STRAWLINE_LONG").is_some();
    Config {
        cases: if long { 40_000 } else { 2_000 },
        max_global_rejects: 4_000_000,
        failure_persistence: None,
        // A smaller seed draws another case, not a simpler one.
        max_shrink_iters: 100,
        ..Config::default()
    }
}

/// Tries a law on drafts; one to which it does not apply is rejected and not counted.
fn holds(law: impl Fn(&Answer) -> Verdict) {
    let mut runner = TestRunner::new(config());
    runner.run(&any::<u64>(), |seed| law(&Answer::of(draft(seed)))).unwrap_or_else(|e| panic!("{e}"));
}

/// What a law speaks of; without it the law does not apply.
fn given<T>(what: Option<T>) -> Result<T, TestCaseError> {
    what.ok_or_else(|| TestCaseError::reject("does not apply"))
}

fn applies(yes: bool) -> Verdict {
    given(yes.then_some(()))
}

/// Equal to 1 part in 10⁹ (of 1 where both are less).
fn same(what: &str, a: f64, b: f64) -> Verdict {
    let off = (a - b).abs();
    prop_assert!(off <= 1e-9 * a.abs().max(b.abs()).max(1.0), "{what}: {a} is not {b}");
    Ok(())
}

#[test]
fn volumes_are_conserved() {
    holds(|answer| {
        let now = given(answer.found.draw.now.as_ref())?;
        let (mut a, mut b) = (0.0, 0.0);
        for c in &answer.found.draw.containers {
            let Some(split) = c.split else {
                prop_assert!(c.set_aside || now.unknown.contains(&c.index), "{c:?}");
                continue;
            };
            same("one container", split.anticoagulant.get() + split.blood.get(), split.fill.get())?;
            if !c.set_aside {
                a += split.anticoagulant.get();
                b += split.blood.get();
            }
        }
        same("anticoagulant", a, now.anticoagulant.value.get())?;
        same("blood", b, now.blood.value.get())?;
        same("fill", a + b, now.fill.get())?;
        let Some(plasma) = &now.plasma else { return Ok(()) };
        let mixture = now.haematocrit.as_ref().expect("a haematocrit").value.get();
        let cells = now.fill.get() * mixture;
        same("cells and plasma", cells + plasma.value.get(), now.fill.get())
    });
}

#[test]
fn citrate_is_conserved() {
    holds(|answer| {
        let now = given(answer.found.draw.now.as_ref())?;
        let (citrate, plasma) = (given(now.citrate.as_ref())?, given(now.plasma.as_ref())?);
        let put_in =
            given(answer.found.draw.agent.and_then(Agent::citrate))?.0.get() * now.anticoagulant.value.get();
        same("citrate [µmol]", citrate.value.get() * plasma.value.get(), put_in)
    });
}

#[test]
fn a_count_from_the_container_means_the_same_platelets() {
    holds(|answer| {
        let native = given(answer.found.product.native.as_ref())?.count.value.get();
        let now = given(answer.found.draw.now.as_ref())?;
        // The mixture of all is known only when every container is.
        applies(now.blood.value.get() > 0.0 && now.unknown.is_empty())?;
        let mut draft = answer.draft.clone();
        draft.choices.sample = Some(SampleKind::FilledContainer);
        draft.choices.count = Some(CountStanding::Today);
        // all platelets of the blood, in the whole fill
        let mixed = native * now.blood.value.get() / now.fill.get();
        let (low, high) = Kind::BloodCount.range();
        applies((low..=high).contains(&mixed))?;
        draft.write(Field::BloodCount, spell(mixed, Kind::BloodCount, &draft.conventions));
        let other = Answer::of(draft);
        same("count", other.found.product.native.as_ref().expect("a count").count.value.get(), native)
    });
}

#[test]
fn platelets_are_conserved_from_product_to_parts() {
    holds(|answer| {
        let p = &answer.found.product;
        let (measured, ledger) = (given(p.measured.as_ref())?, given(p.ledger.as_ref())?);
        applies(matches!(ledger.closure, Closure::Closes { .. }))?;
        let volume = |kind: EntryKind| {
            ledger.going_out.iter().filter(|e| e.kind == kind).map(|e| e.volume.get()).sum::<f64>()
        };
        let counted = measured.concentration.value.get();
        let mixed = p.mixed.as_ref().and_then(|m| m.counted.as_ref()).map_or(counted, |c| c.value.get());
        // the sample is taken before anything is added; all else has the concentration of what is given
        let given_away = ledger.losses.value.get() + ledger.left_over.value.get();
        // while an addition is not known in full there is no dose
        applies(p.mixed.is_some() || answer.case.additions.is_empty())?;
        let doses = p.shares.iter().map(|s| s.counted.as_ref().map(|d| d.value.get())).sum::<Option<f64>>();
        let doses = given(doses)?;
        let out = (counted * volume(EntryKind::Sample) + mixed * given_away) / 1000.0 + doses;
        same("platelets", out, given(measured.in_product.as_ref())?.value.get())?;
        let all = p.dose_counted.as_ref().map_or(0.0, |d| d.value.get());
        same("dose in all", doses, all)
    });
}

#[test]
fn the_ledger_closes() {
    holds(|answer| {
        let ledger = given(answer.found.product.ledger.as_ref())?;
        let sum =
            |side: &[strawline::product::ledger::Entry]| side.iter().map(|e| e.volume.get()).sum::<f64>();
        let (came, went) = (sum(&ledger.coming_in), sum(&ledger.going_out));
        prop_assert!((came - went).abs() <= 1e-9, "{came} mL in, {went} mL out");
        let short = ledger.coming_in.iter().any(|e| e.kind == EntryKind::Missing);
        prop_assert_eq!(short, matches!(ledger.closure, Closure::Short { .. }));
        let said = ["ledger_short", "product_above_bound", "kept_above_fill"];
        prop_assert!(!short || said.into_iter().any(|key| answer.says(key)));
        Ok(())
    });
}

#[test]
fn fill_mark_and_added_blood_are_two_names_of_one_split() {
    holds(|answer| {
        let plan = given(answer.found.draw.plan.as_ref())?;
        let container = given(answer.draft.kit.container.as_ref())?;
        applies(container.prefill.is_none() && answer.case.draw.chosen.is_none())?;
        let exact = plan.exact.value;
        let (volume, convention) = match given(answer.draft.choices.convention)? {
            VolumeConvention::FillMark => (exact.blood, VolumeConvention::AddedBlood),
            VolumeConvention::AddedBlood => (exact.fill, VolumeConvention::FillMark),
        };
        let (low, high) = Field::FillVolume.kind().expect("a number").range();
        applies((low..=high).contains(&volume.get()))?;
        let mut draft = answer.draft.clone();
        draft.choices.convention = Some(convention);
        draft.write(Field::FillVolume, full(volume.get(), draft.conventions.numbers));
        // what was typed for single containers follows from no convention
        let other = Answer::of(draft).found.draw;
        let other = given(other.plan)?.exact.value;
        same("anticoagulant", other.anticoagulant.get(), exact.anticoagulant.get())?;
        same("blood", other.blood.get(), exact.blood.get())?;
        same("fill", other.fill.get(), exact.fill.get())
    });
}

#[test]
fn nothing_recovers_more_than_all() {
    holds(|answer| {
        let prediction = given(answer.found.product.prediction.as_ref())?;
        let fold = given(prediction.fold.as_ref())?.value;
        let recovery = prediction.recovery.as_ref().expect("comes with the fold").value;
        let ceiling = prediction.ceiling.value.get();
        let now = answer.found.draw.now.as_ref().expect("blood");
        let volume = answer.found.product.volume.expect("a product");
        same("ceiling", ceiling, now.blood.value.get() / volume.get())?;
        prop_assert!(fold.low <= fold.median && fold.median <= fold.high);
        prop_assert!(fold.high.get() <= ceiling * (1.0 + 1e-12), "{} of {ceiling}", fold.high.get());
        prop_assert!(recovery.high.get() <= 1.0 + 1e-12, "recovery {}", recovery.high.get());
        Ok(())
    });
}

#[test]
fn a_counted_product_above_the_ceiling_is_said() {
    holds(|answer| {
        let measured = given(answer.found.product.measured.as_ref())?;
        let fold = given(measured.fold.as_ref())?.value.get();
        let ceiling = given(answer.found.product.prediction.as_ref())?.ceiling.value.get();
        // the ceiling of a planned volume is held against no count
        applies(answer.found.product.collected && (fold - ceiling).abs() > 1e-9 * ceiling)?;
        prop_assert_eq!(answer.says("above_ceiling"), fold > ceiling, "{} of {}", fold, ceiling);
        Ok(())
    });
}

#[test]
fn plasma_off_the_top_is_no_more_than_stands_above_the_cells() {
    holds(|answer| {
        let protocol = given(answer.draft.kit.protocol.as_ref())?;
        applies(protocol.kind == ProductKind::OffTheTop)?;
        let now = given(answer.found.draw.now.as_ref())?;
        let (volume, h) = (given(answer.found.product.volume)?, given(answer.case.baseline.haematocrit)?);
        let packed = now.blood.value.get() * h.get() / protocol.packing.get();
        let bound = ((now.fill.get() - packed).max(0.0) - protocol.left_behind.get()).max(0.0);
        let said = given(answer.found.product.bound.as_ref())?.value.get();
        same("bound", said, bound)?;
        applies((volume.get() - bound).abs() > 1e-9)?;
        let said = answer.says("product_above_bound") || answer.says("kept_above_fill");
        prop_assert_eq!(said, volume.get() > bound);
        Ok(())
    });
}

#[test]
fn rounding_up_stays_in_the_band_or_says_so() {
    holds(|answer| {
        let draw = &answer.found.draw;
        let plan = given(draw.plan.as_ref())?;
        let container = given(answer.draft.kit.container.as_ref())?;
        applies(container.prefill.is_none() && answer.case.draw.chosen.is_none())?;
        let (exact, rounded) = (plan.exact.value.anticoagulant.get(), &plan.rounded.value);
        let (amount, step) = (rounded.split.anticoagulant.get(), container.anticoagulant_graduation.get());
        let count = amount / step;
        prop_assert!((count - count.round()).abs() < 1e-6, "{amount} mL is on no graduation of {step} mL");
        prop_assert!((amount - exact).abs() < step * (1.0 + 1e-9), "{exact} mL rounded to {amount} mL");
        match rounded.direction {
            Direction::Exact => same("exact", amount, exact)?,
            Direction::Up => prop_assert!(amount > exact),
            Direction::Down => prop_assert!(amount < exact && answer.says("rounded_down")),
        }
        same("ratio", rounded.ratio.get() * rounded.split.blood.get(), amount)?;
        let agent = given(draw.agent)?;
        let Some(band) = draw.band else {
            prop_assert!(rounded.direction != Direction::Down);
            prop_assert!(answer.says("band_unknown") || !agent.suits_process());
            return Ok(());
        };
        let (ratio, low, high) = (rounded.ratio.get(), band.low.get(), band.high.get());
        let said = |kind: fn(&FindingKind) -> bool| answer.found.findings.iter().any(|f| kind(&f.kind));
        let said_low = said(|k| {
            use FindingKind as F;
            matches!(
                k,
                F::AnticoagulantLow { container: None, .. } | F::AnticoagulantFarLow { container: None, .. }
            )
        });
        let said_high = said(|k| matches!(k, FindingKind::AnticoagulantHigh { container: None, .. }));
        applies((ratio - low).abs() > 1e-8 && (ratio - high).abs() > 1e-8)?;
        prop_assert_eq!((said_low, said_high), (ratio < low, ratio > high), "{} mL/mL", ratio);
        if ratio > high && rounded.direction == Direction::Up {
            // one step less would not have come into the band either
            let less = amount - step;
            let blood = match answer.draft.choices.convention {
                Some(VolumeConvention::FillMark) => rounded.split.fill.get() - less,
                _ => rounded.split.blood.get(),
            };
            prop_assert!(!(low + 1e-8..high - 1e-8).contains(&(less / blood)), "{less} mL would do");
        }
        prop_assert!(rounded.direction != Direction::Down || (ratio >= low && ratio <= high));
        Ok(())
    });
}

#[test]
fn an_addition_dilutes_and_takes_nothing_away() {
    holds(|answer| {
        let p = &answer.found.product;
        let (mixed, ledger) = (given(p.mixed.as_ref())?, given(p.ledger.as_ref())?);
        let measured = given(p.measured.as_ref())?;
        let counted = given(mixed.counted.as_ref())?.value.get();
        let before = ledger.after_sample.value.get();
        same("platelets", counted * mixed.volume.value.get(), measured.concentration.value.get() * before)?;
        prop_assert!(counted <= measured.concentration.value.get());
        Ok(())
    });
}

#[test]
fn a_range_rests_on_the_stable_number_of_its_kind() {
    holds(|answer| {
        let protocol = given(answer.draft.kit.protocol.as_ref())?;
        let prediction = given(answer.found.product.prediction.as_ref())?;
        let (fold, recovery) =
            (given(prediction.fold.as_ref())?.value, given(prediction.recovery.as_ref())?.value);
        same("fold = η·B/V", fold.median.get(), recovery.median.get() * prediction.ceiling.value.get())?;
        let (mean, stable) = match given(protocol.expectation.as_ref())?.expected {
            Expected::Fold { mean, .. } => (mean.get(), fold.median.get()),
            Expected::Recovery { mean, .. } | Expected::RecoveryWithCells { mean, .. } => {
                (mean.get(), recovery.median.get())
            }
        };
        // cut at the ceiling and skewed: the median never lies above the mean
        prop_assert!(stable <= mean * (1.0 + 1e-12), "median {stable}, mean {mean}");
        let (Some(c), Some(n)) = (&prediction.concentration, &prediction.in_product) else { return Ok(()) };
        let volume: Volume = answer.found.product.volume.expect("a product");
        // One of the two also holds how closely V is read: N/(c·V) lies within half a graduation of 1.
        let step = answer.draft.kit.container.as_ref().expect("blood is in one").anticoagulant_graduation;
        let half = (0.5 * step.get() / volume.get()).min(0.999);
        for (n, c) in
            [(n.value.low, c.value.low), (n.value.median, c.value.median), (n.value.high, c.value.high)]
        {
            let read = n.get() * 1000.0 / (c.get() * volume.get());
            prop_assert!(c.get() == 0.0 || (read - 1.0).abs() <= half + 1e-9, "N/(c·V) = {read}, ± {half}");
        }
        let _: CellCount = q(c.value.high.get());
        Ok(())
    });
}

#[test]
fn what_was_handed_over_is_judged_as_it_was() {
    holds(|answer| {
        let times = &answer.case.times;
        applies(times.needle_in.is_some() && times.handed_over.is_some())?;
        let mut draft = answer.draft.clone();
        // The last good day is that of the needle, or the day before it.
        for (field, text) in
            [(Field::AnticoagulantExpiry, "25 Nov 2026"), (Field::ContainerExpiry, "24 Nov 2026")]
        {
            draft.write(field, text);
        }
        let case = strawline::case::read(&draft, strawline::words::Language::English).0;
        let at = |days: i64| {
            let at = strawline::quantity::time::Instant(drafts::NOW.at.0 + days * 86_400_000);
            assess(&case, Now { at, ..drafts::NOW }).findings
        };
        let then = at(0);
        for days in [1, 40, 4000] {
            prop_assert_eq!(&at(days), &then, "{} days later", days);
        }
        Ok(())
    });
}

#[test]
fn another_unit_changes_no_case() {
    let mut runner = TestRunner::new(config());
    let all = drafts::all_conventions();
    let both = (any::<u64>(), 0..all.len());
    let law = |(seed, to): (u64, usize)| {
        let before: Draft = draft(seed);
        let after = before.in_conventions(all[to]);
        prop_assert_eq!(after.conventions, all[to]);
        let (before, after) = (Answer::of(before), Answer::of(after));
        prop_assert_eq!(&before.case, &after.case);
        prop_assert_eq!(&before.found, &after.found);
        // and back: still the same case
        let back = Answer::of(after.draft.in_conventions(before.draft.conventions));
        prop_assert_eq!(&before.case, &back.case);
        Ok(())
    };
    runner.run(&both, law).unwrap_or_else(|e| panic!("{e}"));
}
