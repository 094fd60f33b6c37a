//! What holds for a protocol: the counts that enter, those that do not and why, what is expected of the next.

use super::decided::{Decisions, Series};
use super::facts::{Counted, Excluded, Observed, judge, usual_counting, white_log};
use super::learn::{Next, Predictive, Prior};
use crate::bench::Protocol;
use crate::product::kind::Basis;
use serde::Serialize;
use std::collections::BTreeSet;

/// Whose counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum History {
    /// The clinic's: nothing invented enters.
    #[default]
    Clinic,
    /// The demo's, shown apart: nothing of the clinic's enters.
    Demo,
}

/// What an expectation rests on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ground {
    /// Published rows alone.
    Literature,
    /// The clinic's entry in Bench alone.
    ClinicEntry,
    /// So many of the clinic's own counts, with or without a prior.
    Counts {
        /// How many.
        n: u32,
    },
    /// Nothing yet: this many counts are still wanted.
    Nothing {
        /// How many more.
        wanted: u32,
    },
}

/// A count that does not enter, with every reason.
#[derive(Debug, Clone, PartialEq)]
pub struct LeftOut<'a> {
    /// The count.
    pub counted: &'a Counted,
    /// Why.
    pub why: Vec<Excluded>,
}

/// What holds for one protocol, or one container of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Learned<'a> {
    /// Of which preparations.
    pub of: Series,
    /// Counts that enter, oldest first.
    pub accepted: Vec<Observed<'a>>,
    /// Counts that do not, oldest first.
    pub left_out: Vec<LeftOut<'a>>,
    /// What the expectation rests on.
    pub ground: Ground,
    /// What was known before these counts.
    pub prior: Prior,
    /// What is known with them.
    pub posterior: Prior,
    /// What the next count will read; `None` while there is nothing to tell it from.
    pub predictive: Option<Predictive>,
    /// What one more count would change.
    pub next: Option<Next>,
    /// Fold of white cells, from own counts alone; `None` below three.
    pub white: Option<Predictive>,
}

/// What the counts of a protocol teach. `container` narrows it to one container of the Bench. The kind of product
/// is the protocol's as it is now: a count made when it was another is of another number and does not enter.
pub fn learned<'a>(
    protocol: &Protocol,
    container: Option<&str>,
    counts: &'a [Counted],
    decided: &Decisions,
    history: History,
) -> Learned<'a> {
    let of = Series { protocol: protocol.id.clone(), container: container.map(str::to_owned) };
    let (accepted, left_out) = sort_out(protocol, &of, counts, decided, history);
    let (prior, posterior) = reckon(protocol, &of, &accepted, decided, history);
    let predictive = posterior.predictive();
    let ground = match (&protocol.expectation, predictive) {
        (_, Some(_)) if posterior.n > 0 => Ground::Counts { n: posterior.n },
        (Some(e), Some(_)) if matches!(e.basis, Basis::Literature(_)) => Ground::Literature,
        (_, Some(_)) => Ground::ClinicEntry,
        (_, None) => Ground::Nothing { wanted: super::learn::FEWEST.saturating_sub(posterior.n).max(1) },
    };
    let white: Vec<(f64, f64)> =
        accepted.iter().filter_map(|o| white_log(o.counted)).map(|log| (log, 0.0)).collect();
    let white = Prior::NONE.after(&white).predictive();
    Learned { of, accepted, left_out, ground, prior, posterior, next: posterior.next(), predictive, white }
}

/// The counts of a series that enter, and those that do not; both oldest first.
pub(super) fn sort_out<'a>(
    protocol: &Protocol,
    of: &Series,
    counts: &'a [Counted],
    decided: &Decisions,
    history: History,
) -> (Vec<Observed<'a>>, Vec<LeftOut<'a>>) {
    let (mut accepted, mut left_out) = (Vec::new(), Vec::new());
    let belongs = |c: &&Counted| {
        c.protocol.as_deref() == Some(of.protocol.as_str())
            && (of.container.is_none() || c.container == of.container)
            && (history == History::Clinic || c.demo)
    };
    for counted in counts.iter().filter(belongs) {
        let judged = match history {
            History::Clinic => judge(counted, decided),
            // A demo is judged as if it were none, and by nobody's decisions.
            History::Demo => judge_as_real(counted),
        };
        match judged {
            Ok(_) if counted.kind != Some(protocol.kind) => {
                left_out.push(LeftOut { counted, why: vec![Excluded::OtherKind] });
            }
            Ok(observed) => accepted.push(observed),
            Err(why) => left_out.push(LeftOut { counted, why }),
        }
    }
    accepted.sort_by_key(|o| o.counted.at);
    left_out.sort_by_key(|l| l.counted.at);
    (accepted, left_out)
}

fn judge_as_real(counted: &Counted) -> Result<Observed<'_>, Vec<Excluded>> {
    super::facts::judge_but_for_demo(counted, &Decisions::default())
}

/// Before and after the counts. Counts that are in the clinic's own prior are not learned from again.
fn reckon(
    protocol: &Protocol,
    of: &Series,
    accepted: &[Observed<'_>],
    decided: &Decisions,
    history: History,
) -> (Prior, Prior) {
    let own = decided.own(of).filter(|_| history == History::Clinic);
    let inside: BTreeSet<&str> = own.iter().flat_map(|o| o.cases.iter().map(String::as_str)).collect();
    let new: Vec<(f64, f64)> = accepted
        .iter()
        .filter(|o| !inside.contains(o.counted.id.as_str()))
        .map(|o| (o.log, o.counting))
        .collect();
    let n = u32::try_from(new.len()).map_or(f64::INFINITY, f64::from);
    let counting =
        if new.is_empty() { usual_counting() } else { new.iter().map(|(_, v)| v).sum::<f64>() / n };
    let prior = match own {
        Some(own) => own.prior,
        None => protocol
            .expectation
            .as_ref()
            .and_then(|e| Prior::of_expectation(e, counting))
            .unwrap_or(Prior::NONE),
    };
    (prior, prior.after(&new))
}

/// Names of lots or people, each once, in the order they first appear.
pub(super) fn names<'a>(all: impl Iterator<Item = &'a str>) -> Vec<&'a str> {
    let mut found: Vec<&'a str> = Vec::new();
    for name in all.map(str::trim).filter(|n| !n.is_empty()) {
        if !found.iter().any(|f| super::group::same_name(f, name)) {
            found.push(name);
        }
    }
    found
}
