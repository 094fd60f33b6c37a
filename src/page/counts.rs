//! What the signed records say of their counts, each reckoned once: many records must cost no key.

use crate::dom::prelude::*;
use crate::state::Desk;
use std::cell::RefCell;
use std::sync::Arc;
use std::time::Duration;
use strawline::draft::Draft;
use strawline::quality::Counted;
use strawline::quality::expect::{learned_protocol, same_but_for_counts};
use strawline::quality::known::Known;
use strawline::record::Record;

/// The facts of all records that have a count.
pub type Counts = Arc<Vec<Counted>>;

/// So many records are reckoned between two other things the page may have to do.
const FEW: usize = 20;

thread_local! {
    static KNOWN: RefCell<Known> = RefCell::default();
}

/// The facts of these records.
pub fn of(records: &[Record]) -> Counts {
    KNOWN.with_borrow_mut(|known| Arc::new(known.facts(records)))
}

/// Reckons the records in idle moments, so that nobody waits for all of them at once.
pub fn warm(desk: Desk) {
    let some = move || {
        let left =
            desk.records.with_untracked(|all| KNOWN.with_borrow_mut(|known| known.learn_some(all, FEW)));
        if left {
            warm(desk);
        }
    };
    set_timeout(some, Duration::from_millis(40));
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
