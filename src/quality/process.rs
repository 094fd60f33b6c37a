//! Check your process: ten counted preparations of one protocol, then a prior of the clinic's own.

use super::decided::{Begun, Decisions, OwnPrior, Refused, Series};
use super::facts::{Counted, Observed};
use super::learn::{Predictive, Prior};
use super::learned::{History, LeftOut, names, sort_out};
use super::summary::Summary;
use crate::bench::Protocol;
use crate::quantity::time::Instant;

/// Accepted counts that make a check of the process complete [`TenCounts`](crate::evidence::SourceId::TenCounts).
pub const WANTED: usize = 10;

/// A check of the process, under way or complete.
#[derive(Debug, Clone, PartialEq)]
pub struct ProcessCheck<'a> {
    /// Who began it, when, of what.
    pub begun: Begun,
    /// Accepted counts since, oldest first, ten at most.
    pub accepted: Vec<Observed<'a>>,
    /// Counts since that do not enter, oldest first, up to the last that does when complete; with what is missing.
    pub left_out: Vec<LeftOut<'a>>,
    /// Accepted counts still wanted.
    pub to_go: usize,
    /// The report for the lead, from two counts on.
    pub report: Option<Report<'a>>,
}

/// What a lead reads before deciding.
#[derive(Debug, Clone, PartialEq)]
pub struct Report<'a> {
    /// Mean, SD, CV and range of fold or recovery.
    pub values: Summary,
    /// Mean and SD of the logarithm.
    pub logs: Summary,
    /// What the next count will read by these alone; from three on.
    pub predictive: Option<Predictive>,
    /// First preparation.
    pub from: Instant,
    /// Last preparation.
    pub until: Instant,
    /// Lots of containers, each once.
    pub container_lots: Vec<&'a str>,
    /// Lots of anticoagulant, each once.
    pub anticoagulant_lots: Vec<&'a str>,
    /// Who prepared them, each once.
    pub operators: Vec<&'a str>,
}

/// The check of the process that was begun for a protocol; `None` while none is.
pub fn process_check<'a>(
    protocol: &Protocol,
    container: Option<&str>,
    counts: &'a [Counted],
    decided: &Decisions,
) -> Option<ProcessCheck<'a>> {
    let of = Series { protocol: protocol.id.clone(), container: container.map(str::to_owned) };
    let begun = decided.check(&of)?.clone();
    let (mut accepted, mut left_out) = sort_out(protocol, &of, counts, decided, History::Clinic);
    accepted.retain(|o| o.counted.at >= begun.at);
    accepted.truncate(WANTED);
    let to_go = WANTED - accepted.len();
    let end = accepted.last().map(|o| o.counted.at).filter(|_| to_go == 0);
    left_out.retain(|l| l.counted.at >= begun.at && end.is_none_or(|end| l.counted.at <= end));
    let report = report(&accepted);
    Some(ProcessCheck { begun, accepted, left_out, to_go, report })
}

fn report<'a>(accepted: &[Observed<'a>]) -> Option<Report<'a>> {
    let values = Summary::of(&accepted.iter().map(|o| o.value).collect::<Vec<_>>()).filter(|s| s.n > 1)?;
    let logs = Summary::of(&accepted.iter().map(|o| o.log).collect::<Vec<_>>())?;
    let counted = || accepted.iter().map(|o| o.counted);
    Some(Report {
        values,
        logs,
        predictive: prior(accepted).and_then(|p| p.predictive()),
        from: counted().map(|c| c.at).min()?,
        until: counted().map(|c| c.at).max()?,
        container_lots: names(counted().map(|c| c.container_lot.as_str())),
        anticoagulant_lots: names(counted().map(|c| c.anticoagulant_lot.as_str())),
        operators: names(counted().map(|c| c.operator.as_str())),
    })
}

/// What these counts say by themselves; `None` below two.
fn prior(accepted: &[Observed<'_>]) -> Option<Prior> {
    let logs = Summary::of(&accepted.iter().map(|o| o.log).collect::<Vec<_>>())?;
    let held = accepted.iter().map(|o| o.counting).sum::<f64>() / f64::from(logs.n);
    Some(Prior::of_counts(logs.n, logs.mean, logs.sd?, held))
}

/// The lead decides that a complete check is the protocol's prior from now on. An earlier one is taken back.
/// Errors: nobody named, fewer than ten.
pub fn adopt(
    decided: &mut Decisions,
    check: &ProcessCheck<'_>,
    by: &str,
    at: Instant,
) -> Result<(), Refused> {
    let name = by.trim();
    if name.is_empty() {
        return Err(Refused::NoName);
    }
    let prior = prior(&check.accepted).filter(|_| check.to_go == 0).ok_or(Refused::NotComplete)?;
    let of = check.begun.of.clone();
    if decided.own(&of).is_some() {
        decided.back_to_literature(&of, name, at)?;
    }
    let kind = check.accepted.first().and_then(|o| o.counted.kind);
    let cases = check.accepted.iter().map(|o| o.counted.id.clone()).collect();
    decided.own.push(OwnPrior { of, by: name.to_owned(), at, kind, cases, prior, back: None });
    Ok(())
}
