//! What the signed records say of their counts: their lines hold it, reckoned once when each was signed.

use crate::dom::prelude::*;
use crate::state::Desk;
use std::sync::Arc;
use strawline::draft::Draft;
use strawline::quality::Counted;
use strawline::quality::expect::{learned_protocol, same_but_for_counts};
use strawline::record::line::Line;

/// The facts of all records that have a count.
pub type Counts = Arc<Vec<Counted>>;

/// The facts of the records with these lines.
pub fn of(lines: &[Arc<Line>]) -> Counts {
    Arc::new(lines.iter().filter_map(|line| line.counted()).collect())
}

/// Gives the protocol that was just copied into a case what the clinic's counts taught of it.
pub fn teach(desk: Desk, draft: &mut Draft) {
    let Some(own) = &draft.kit.protocol else { return };
    let bench = desk.bench.with_untracked(|b| b.protocol(&own.id).cloned());
    let Some(bench) = bench.filter(|theirs| same_but_for_counts(own, theirs)) else { return };
    let counts = desk.counts.get_untracked();
    let container = draft.kit.container.as_ref().map(|c| c.id.as_str());
    let taught =
        desk.decisions.with_untracked(|decided| learned_protocol(&bench, container, &counts, decided));
    draft.kit.protocol = Some(taught);
}
