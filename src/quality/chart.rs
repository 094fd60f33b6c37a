//! Control charts: each preparation's logarithm of fold or recovery against limits from a named period, with a
//! running mean. A signal says "investigate"; it never judges a patient's product.

use super::decided::ChosenBaseline;
use super::facts::Observed;
use super::group::{GroupBy, same_name};
use super::rules::{Judged, Rule, Side, Signal, signals};
use crate::evidence::SourceId;
use crate::quantity::time::{Instant, Offset};
use libm::{exp, pow, sqrt};
use serde::Serialize;

/// Fewest counts that limits are set from [`SourceId::TwentyPoints`].
pub const FIRST: usize = 20;
/// Where [`FIRST`] comes from.
pub const FIRST_SOURCE: SourceId = SourceId::TwentyPoints;

/// How a running mean is kept.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ewma {
    /// Weight of the newest, 0 to 1.
    pub lambda: f64,
    /// Limits, in SDs of the running mean.
    pub width: f64,
}

impl Ewma {
    /// λ = 0.2, L = 3: the weight within what the handbook names [`SourceId::NistEwma`].
    pub const USUAL: Self = Self { lambda: 0.2, width: 3.0 };

    /// The running mean after `x`.
    pub fn next(self, before: f64, x: f64) -> f64 {
        // z = λx + (1 − λ)z
        self.lambda * x + (1.0 - self.lambda) * before
    }

    /// Distance of its limits from the centre after so many points; `None` is after very many.
    pub fn limit(self, sd: f64, points: Option<u32>) -> f64 {
        // L·s·√(λ/(2 − λ)·(1 − (1 − λ)^(2t)))
        let settled = points.map_or(1.0, |t| 1.0 - pow(1.0 - self.lambda, 2.0 * f64::from(t)));
        self.width * sd * sqrt(self.lambda / (2.0 - self.lambda) * settled)
    }
}

/// What a chart is to show.
#[derive(Debug, Clone, PartialEq)]
pub struct Settings {
    /// Rules that speak.
    pub rules: Vec<Rule>,
    /// The running mean.
    pub ewma: Ewma,
    /// Local time, for the runs: counts of one day are one run.
    pub offset: Offset,
}

impl Default for Settings {
    fn default() -> Self {
        Self { rules: Rule::USUAL.to_vec(), ewma: Ewma::USUAL, offset: Offset::UTC }
    }
}

/// For the usual rules with limits from 20 counts, each a preparation in control: signals in 100 of the following
/// ones, and after how many in half of the clinics the first comes. Measured by simulation; the tests measure again.
pub const IN_CONTROL: InControl = InControl { per_100: 1.93, median_run: 82.0 };

/// What a chart says when nothing is wrong.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct InControl {
    /// Signals in 100 preparations.
    pub per_100: f64,
    /// Preparations until the first signal, in half of the clinics.
    pub median_run: f64,
}

/// Limits of a chart, on the logarithm.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Limits {
    /// Mean of the period.
    pub centre: f64,
    /// SD of the period, n − 1 in the denominator.
    pub sd: f64,
    /// How many counts it rests on.
    pub n: usize,
    /// First of them.
    pub from: Instant,
    /// Last of them.
    pub until: Instant,
    /// Name of a chosen period; `None` for the first twenty.
    pub name: Option<String>,
}

impl Limits {
    /// From logarithms; `None` with fewer than two or no spread.
    fn of(period: &[Observed<'_>], name: Option<&str>) -> Option<Self> {
        let logs: Vec<f64> = period.iter().map(|o| o.log).collect();
        let summary = super::summary::Summary::of(&logs)?;
        let (from, until) = (period.first()?.counted.at, period.last()?.counted.at);
        let name = name.map(str::to_owned);
        let sd = summary.sd.filter(|&sd| sd > 0.0)?;
        Some(Self { centre: summary.mean, sd, n: logs.len(), from, until, name })
    }

    /// So many SDs from the centre, on the logarithm: below and above.
    pub fn line(&self, sds: f64) -> (f64, f64) {
        (self.centre - sds * self.sd, self.centre + sds * self.sd)
    }

    /// The same, no logarithm.
    pub fn at(&self, sds: f64) -> (f64, f64) {
        let (low, high) = self.line(sds);
        (exp(low), exp(high))
    }
}

/// One preparation on the chart; the table behind the picture has these columns.
#[derive(Debug, Clone, PartialEq)]
pub struct Row<'a> {
    /// The count it stands for.
    pub observed: Observed<'a>,
    /// Belongs to the period the limits come from.
    pub in_baseline: bool,
    /// Distance from the centre in SDs; `None` while there are no limits.
    pub z: Option<f64>,
    /// The running mean with its limits, no logarithm; from the first count after the period.
    pub running: Option<Running>,
    /// What speaks here.
    pub signals: Vec<Signal>,
}

/// A running mean with its limits, no logarithm.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Running {
    /// The mean.
    pub mean: f64,
    /// Its lower limit.
    pub low: f64,
    /// Its upper limit.
    pub high: f64,
}

/// A chart.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart<'a> {
    /// Limits; `None` until there are counts enough.
    pub limits: Option<Limits>,
    /// Counts that are still wanted for limits.
    pub to_go: usize,
    /// Accepted counts left in the chosen period where they are fewer than [`FIRST`], some having been left out
    /// since: the limits then come from the first twenty.
    pub short: Option<usize>,
    /// The counts, oldest first.
    pub rows: Vec<Row<'a>>,
}

/// How many of these counts lie in a period, both ends in it.
pub fn in_period(counts: &[Observed<'_>], from: Instant, until: Instant) -> usize {
    counts.iter().filter(|o| (from..=until).contains(&o.counted.at)).count()
}

/// A chart of accepted counts, oldest first, of one protocol. `chosen` is the period the limits come from while it
/// holds [`FIRST`] counts, else the first [`FIRST`] do; `only` shows one group of them against the limits of all.
pub fn chart<'a>(
    counts: &[Observed<'a>],
    chosen: Option<&ChosenBaseline>,
    only: Option<(GroupBy, &str)>,
    settings: &Settings,
) -> Chart<'a> {
    let inside = chosen.map(|c| in_period(counts, c.from, c.until));
    let short = inside.filter(|&n| n < FIRST);
    let chosen = chosen.filter(|_| short.is_none());
    let period: Vec<Observed<'a>> = match chosen {
        Some(c) => counts.iter().filter(|o| (c.from..=c.until).contains(&o.counted.at)).copied().collect(),
        None => counts.iter().take(FIRST).copied().collect(),
    };
    let to_go = FIRST.saturating_sub(period.len());
    let limits = if to_go == 0 { Limits::of(&period, chosen.map(|c| c.name.as_str())) } else { None };
    let shown = |o: &&Observed<'a>| only.is_none_or(|(by, name)| same_name(by.of(o.counted), name));
    let mut rows: Vec<Row<'a>> = counts
        .iter()
        .enumerate()
        .filter(|(_, o)| shown(o))
        .map(|(i, o)| Row {
            observed: *o,
            in_baseline: match chosen {
                Some(c) => (c.from..=c.until).contains(&o.counted.at),
                None => i < FIRST,
            },
            z: limits.as_ref().map(|l| (o.log - l.centre) / l.sd),
            running: None,
            signals: Vec::new(),
        })
        .collect();
    if let Some(limits) = &limits {
        judge(&mut rows, limits, settings);
    }
    Chart { limits, to_go, short, rows }
}

fn judge(rows: &mut [Row<'_>], limits: &Limits, settings: &Settings) {
    let day = |at: Instant| at.local(settings.offset).map(|(date, _)| date.days());
    let points: Vec<Judged> =
        rows.iter().map(|r| Judged { z: r.z.unwrap_or(0.0), run: day(r.observed.counted.at) }).collect();
    for (row, found) in rows.iter_mut().zip(signals(&points, &settings.rules)) {
        row.signals = found;
    }
    // The running mean starts at the centre, after the period the limits come from.
    let speaks = settings.rules.contains(&Rule::RunningMean);
    let (mut mean, mut points, mut before) = (limits.centre, 0_u32, None);
    for row in rows.iter_mut().filter(|r| !r.in_baseline && r.observed.counted.at >= limits.from) {
        mean = settings.ewma.next(mean, row.observed.log);
        points = points.saturating_add(1);
        let off = settings.ewma.limit(limits.sd, Some(points));
        let (low, high) = (limits.centre - off, limits.centre + off);
        row.running = Some(Running { mean: exp(mean), low: exp(low), high: exp(high) });
        let side = match mean {
            m if m > high => Some(Side::High),
            m if m < low => Some(Side::Low),
            _ => None,
        };
        if let Some(side) = side.filter(|_| speaks && side != before) {
            row.signals.push(Signal { rule: Rule::RunningMean, side });
        }
        before = side;
    }
}
