//! What holds for a protocol: the counts that enter, those that do not and why, what is expected of the next.

use super::decided::{Decisions, Series};
use super::facts::{Counted, Excluded, Observed, judge, usual_counting, white_log};
use super::learn::{Next, Predictive, Prior};
use crate::arrange::{gather, sort_by_key};
use crate::bench::Protocol;
use crate::evidence::SourceId;
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
    /// So many of the clinic's own counts; what was known before no longer weighs, or nothing was.
    Counts {
        /// How many.
        n: u32,
    },
    /// Published rows and so many of the clinic's own counts, too few to speak for themselves.
    LiteratureAndCounts {
        /// How many.
        n: u32,
    },
    /// The clinic's entry in Bench and so many of its own counts, too few to speak for themselves.
    EntryAndCounts {
        /// How many.
        n: u32,
    },
    /// Nothing yet: this many counts are still wanted.
    Nothing {
        /// How many more.
        wanted: u32,
    },
}

/// From so many accepted counts on, they speak for themselves: what was known before is not told beside them any
/// more, and a container has a series of its own [`SourceId::TenCounts`].
pub const FOR_THEMSELVES: u32 = 10;
/// Where [`FOR_THEMSELVES`] comes from.
pub const FOR_THEMSELVES_SOURCE: SourceId = SourceId::TenCounts;

/// How the prior of the clinic's own that a lead decided on stands today.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OwnStands {
    /// It holds, made of the counts of it that still enter.
    Holds {
        /// How many those are.
        kept: usize,
        /// Of how many it was made.
        of: usize,
    },
    /// The protocol made another kind of product then: it says nothing of this one, and does not hold.
    OtherKind,
    /// Fewer of its counts enter than teach anything: it does not hold until they do again.
    TooFew {
        /// How many still enter.
        kept: usize,
        /// Of how many it was made.
        of: usize,
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
    /// How the prior of the clinic's own stands; `None` where no lead decided on one.
    pub own: Option<OwnStands>,
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
    let (own, prior) = own_prior(protocol, &of, counts, &accepted, decided, history);
    let (prior, posterior) = reckon(protocol, prior, &accepted);
    let predictive = posterior.predictive();
    let n = posterior.n;
    // What was known before weighs beside few counts. The clinic's own prior is counts itself.
    let few = n < FOR_THEMSELVES && prior.weight > 0.0 && prior.n == 0;
    let ground = match (&protocol.expectation, predictive) {
        (Some(e), Some(_)) if n > 0 && few && matches!(e.basis, Basis::Literature(_)) => {
            Ground::LiteratureAndCounts { n }
        }
        (_, Some(_)) if n > 0 && few => Ground::EntryAndCounts { n },
        (_, Some(_)) if n > 0 => Ground::Counts { n },
        (Some(e), Some(_)) if matches!(e.basis, Basis::Literature(_)) => Ground::Literature,
        (_, Some(_)) => Ground::ClinicEntry,
        (_, None) => Ground::Nothing { wanted: super::learn::FEWEST.saturating_sub(posterior.n).max(1) },
    };
    let white: Vec<(f64, f64)> =
        accepted.iter().filter_map(|o| white_log(o.counted)).map(|log| (log, 0.0)).collect();
    let white = Prior::NONE.after(&white).predictive();
    let next = posterior.next();
    Learned { of, accepted, left_out, ground, prior, own, posterior, next, predictive, white }
}

/// What the counts of a protocol teach of one container: its own series from [`FOR_THEMSELVES`] accepted counts on,
/// else that of all containers together.
pub fn learned_for<'a>(
    protocol: &Protocol,
    container: Option<&str>,
    counts: &'a [Counted],
    decided: &Decisions,
    history: History,
) -> Learned<'a> {
    let of_container = container.map(|own| learned(protocol, Some(own), counts, decided, history));
    let enough = |l: &Learned<'_>| u32::try_from(l.accepted.len()).is_ok_and(|n| n >= FOR_THEMSELVES);
    of_container.filter(enough).unwrap_or_else(|| learned(protocol, None, counts, decided, history))
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
    sort_by_key(&mut accepted, |o| o.counted.at);
    sort_by_key(&mut left_out, |l| l.counted.at);
    (accepted, left_out)
}

fn judge_as_real(counted: &Counted) -> Result<Observed<'_>, Vec<Excluded>> {
    super::facts::judge_but_for_demo(counted, &Decisions::default())
}

/// The clinic's own prior as it holds today, of the counts in it that still enter, with the keys of those: a count
/// left out or amended after the lead decided is out of it or as it now is, and one let in again is back. A container
/// of its own has that of the protocol, by its own counts, unless one was decided for it.
fn own_prior<'d>(
    protocol: &Protocol,
    of: &Series,
    counts: &[Counted],
    accepted: &[Observed<'_>],
    decided: &'d Decisions,
    history: History,
) -> (Option<OwnStands>, Option<(Prior, BTreeSet<&'d str>)>) {
    let whole = Series { container: None, ..of.clone() };
    let found = decided.own(of).or_else(|| decided.own(&whole)).filter(|_| history == History::Clinic);
    let Some(own) = found else { return (None, None) };
    let cases: BTreeSet<&str> = gather(own.cases.iter().map(String::as_str));
    let inside = |c: &Counted| cases.contains(c.id.as_str());
    let kind = own.kind.or_else(|| counts.iter().filter(|c| inside(c)).find_map(|c| c.kind));
    if kind.is_some_and(|kind| kind != protocol.kind) {
        return (Some(OwnStands::OtherKind), None);
    }
    let held: Vec<(f64, f64)> =
        accepted.iter().filter(|o| inside(o.counted)).map(|o| (o.log, o.counting)).collect();
    let (kept, of) = (held.len(), own.cases.len());
    let prior = Prior::NONE.after(&held);
    match prior.predictive() {
        Some(_) => (Some(OwnStands::Holds { kept, of }), Some((prior, cases))),
        None => (Some(OwnStands::TooFew { kept, of }), None),
    }
}

/// Before and after the counts. Counts that are in the clinic's own prior are not learned from again.
fn reckon(
    protocol: &Protocol,
    own: Option<(Prior, BTreeSet<&str>)>,
    accepted: &[Observed<'_>],
) -> (Prior, Prior) {
    let inside =
        |o: &Observed<'_>| own.as_ref().is_some_and(|(_, cases)| cases.contains(o.counted.id.as_str()));
    let new: Vec<(f64, f64)> = accepted.iter().filter(|o| !inside(o)).map(|o| (o.log, o.counting)).collect();
    let n = u32::try_from(new.len()).map_or(f64::INFINITY, f64::from);
    let counting =
        if new.is_empty() { usual_counting() } else { new.iter().map(|(_, v)| v).sum::<f64>() / n };
    let prior = match own {
        Some((own, _)) => own,
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
