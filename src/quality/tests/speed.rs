//! Learning and charts over 5,000 counts.

use super::super::against::against;
use super::super::chart::{Settings, chart};
use super::super::decided::Decisions;
use super::super::demo::Chance;
use super::super::group::{GroupBy, groups};
use super::super::learned::{History, learned};
use super::super::line::Covariate;
use super::super::rules::Rule;
use super::rooms::{counted, double_spin};
use crate::product::predict::{ANALYSER, NativeCount};
use crate::quantity::time::Instant;
use crate::quantity::{CellCount, Haematocrit, Quantity, Volume};
use std::time::Instant as Clock;

#[test]
fn five_thousand_counts_are_learned_and_drawn_at_once() {
    let mut chance = Chance(5);
    let counts: Vec<_> = (0..5_000)
        .map(|i| {
            let mut c = counted(&format!("case-{i}"), Instant(i * 7_200_000));
            c.product = CellCount::new(938.0 * libm::exp(0.12 * chance.normal())).ok();
            c.haematocrit = Haematocrit::new(0.3 + 0.2 * chance.even()).ok();
            c.kept = Volume::new(3.5 + chance.even()).ok();
            c.baseline = CellCount::new(180.0 + 80.0 * chance.even())
                .ok()
                .map(|value| NativeCount { value, cv: ANALYSER });
            c.container_lot = format!("K-{:04}", i / 100);
            c
        })
        .collect();
    let decided = Decisions::default();
    let protocol = double_spin();
    let settings = Settings { rules: Rule::ALL.to_vec(), ..Settings::default() };
    let mut best = f64::INFINITY;
    for _ in 0..7 {
        let start = Clock::now();
        let found = learned(&protocol, None, &counts, &decided, History::Clinic);
        let drawn = chart(&found.accepted, None, None, &settings);
        let lines = Covariate::ALL.map(|c| against(&found.accepted, c, found.prior));
        let lots = groups(&found.accepted, GroupBy::ContainerLot);
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
        assert_eq!((found.accepted.len(), drawn.rows.len(), lots.len()), (5_000, 5_000, 50));
        assert!(lines.iter().all(|l| l.line.len() == 41));
    }
    println!("5,000 counts: learned, charted with every rule, three lines, by lot: {best:.2} ms");
    // Native, as built for tests. 30 ms are wanted; 3.3 times that is let pass, so that a busy machine does not fail it.
    assert!(best < 100.0, "{best} ms");
}
