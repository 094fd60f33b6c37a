//! How often charts speak when nothing is wrong. 4,000 clinics by default, more with `STRAWLINE_LONG=1`.

use super::super::chart::{Chart, Ewma, FIRST, IN_CONTROL, Settings, chart};
use super::super::demo::Chance;
use super::super::facts::{Counted, Observed};
use super::super::rules::Rule;
use super::rooms::counted;
use crate::quantity::time::Instant;

fn long() -> bool {
    std::env::var_os("STRAWLINE_LONG").is_some()
}

/// Mean run until a rule speaks, limits known.
fn mean_run(runs: u32, seed: u64, mut speaks: impl FnMut(&mut Chance, bool) -> bool) -> f64 {
    let mut chance = Chance(seed);
    let mut points = 0.0;
    for _ in 0..runs {
        let mut first = true;
        loop {
            points += 1.0;
            if speaks(&mut chance, first) {
                break;
            }
            first = false;
        }
    }
    points / f64::from(runs)
}

#[test]
fn with_known_limits_runs_are_as_long_as_published() {
    // 370.4 = 1/(2·Φ(−3)), arithmetic. λ = 0.10, L = 2.814: about 500 (Lucas and Saccucci 1990, Technometrics
    // 32:1, from memory). A run's SD is about its mean: 1 % in 10,000 runs, 0.3 % in 100,000.
    let (runs, off) = if long() { (100_000, 0.012) } else { (10_000, 0.04) };
    let one = mean_run(runs, 1, |chance, _| chance.normal().abs() > 3.0);
    println!("individuals beyond 3 SD, limits known, {runs} runs: {one:.1}");
    assert!((one / 370.4 - 1.0).abs() < off, "{one}");
    let ewma = Ewma { lambda: 0.10, width: 2.814 };
    let settled = ewma.limit(1.0, None);
    let mut mean = 0.0;
    let slow = mean_run(runs, 2, |chance, first| {
        mean = ewma.next(if first { 0.0 } else { mean }, chance.normal());
        mean.abs() > settled
    });
    println!("EWMA λ 0.10, L 2.814, limits known and settled, {runs} runs: {slow:.1}");
    assert!((slow / 500.0 - 1.0).abs() < off + 0.01, "{slow}");
}

fn signals(chart: &Chart<'_>) -> impl Iterator<Item = usize> {
    let after: Vec<usize> = chart.rows.iter().filter(|r| !r.in_baseline).map(|r| r.signals.len()).collect();
    after.into_iter()
}

#[test]
fn with_limits_from_twenty_counts_it_speaks_as_often_as_is_said() {
    /// Followed after the twenty.
    const FOLLOWED: usize = 100;
    let clinics = if long() { 100_000 } else { 3_000 };
    let mut chance = Chance(3);
    let template: Vec<Counted> = (0..FIRST + FOLLOWED)
        .map(|i| counted(&i.to_string(), Instant(i64::try_from(i).unwrap() * 86_400_000)))
        .collect();
    let (mut all, mut by_rule, mut runs) = (0.0, [0.0; 2], Vec::new());
    for _ in 0..clinics {
        let counts: Vec<Observed<'_>> = template
            .iter()
            .map(|counted| Observed { counted, value: 1.0, log: chance.normal(), counting: 0.0 })
            .collect();
        let chart = chart(&counts, None, None, &Settings::default());
        all += signals(&chart).map(|n| n as f64).sum::<f64>();
        for (sum, rule) in by_rule.iter_mut().zip(Rule::USUAL) {
            let rows = chart.rows.iter().filter(|r| !r.in_baseline);
            *sum += rows.map(|r| r.signals.iter().filter(|s| s.rule == rule).count() as f64).sum::<f64>();
        }
        runs.push(signals(&chart).position(|n| n > 0).map_or(FOLLOWED + 1, |i| i + 1));
    }
    runs.sort_unstable();
    let per_100 = all / f64::from(clinics);
    let median = runs[runs.len() / 2];
    println!(
        "limits from {FIRST} counts, {clinics} clinics: {per_100:.3} signals in 100 ({:.3} beyond 3 SD, {:.3} running \
         mean), median run {median}",
        by_rule[0] / f64::from(clinics),
        by_rule[1] / f64::from(clinics)
    );
    // Clinics differ much: the SD of one clinic's number is about 3.
    let off = if long() { 0.04 } else { 0.2 };
    assert!((per_100 - IN_CONTROL.per_100).abs() <= off, "{per_100}");
    let off = if long() { 1.0 } else { 6.0 };
    assert!((median as f64 - IN_CONTROL.median_run).abs() <= off, "{median}");
}
