//! What the view looks at: of which protocol, clinic or demo, which group; and what the core says of it, as it is
//! written down.

use crate::counts::Counts;
use crate::dom::prelude::*;
use crate::shell::{focus, keep};
use crate::state::Desk;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;
use strawline::arrange::gather;
use strawline::bench::{Bench, Protocol};
use strawline::draft::Draft;
use strawline::product::kind::ProductKind;
use strawline::quality::chart::{Limits, Running, Settings, chart};
use strawline::quality::decided::{ChosenBaseline, Series};
use strawline::quality::demo;
use strawline::quality::facts::{Excluded, Observed};
use strawline::quality::group::GroupBy;
use strawline::quality::learn::{LogRange, Next, Prior};
use strawline::quality::learned::FOR_THEMSELVES;
use strawline::quality::rules::{Rule, Signal};
use strawline::quality::{Counted, Ground, History, learned};
use strawline::quantity::time::Instant;
use strawline::quantity::write;
use strawline::words::charts::{ChartLine, ChartWord};
use strawline::words::unit::{self, FromTo, Written};

/// So many points stand on the picture at a time.
pub const WINDOW: usize = 60;
/// Protocol of the demo's history.
const DEMO_PROTOCOL: &str = "double-spin";

/// One accepted count.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// Its number among all accepted ones, from 1.
    pub number: usize,
    /// What is known of it.
    pub counted: Counted,
    /// Fold or recovery.
    pub value: f64,
    /// Belongs to the period of the limits.
    pub in_baseline: bool,
    /// The running mean there.
    pub running: Option<Running>,
    /// What speaks there.
    pub signals: Vec<Signal>,
}

/// A count that does not enter.
#[derive(Debug, Clone, PartialEq)]
pub struct Out {
    /// What is known of it.
    pub counted: Counted,
    /// Why.
    pub why: Vec<Excluded>,
}

/// What the core says of a protocol's counts, reckoned once for chart, groups and lines.
#[derive(Debug, Clone, PartialEq)]
pub struct All {
    protocol: Protocol,
    of: Series,
    counts: Counts,
    /// Accepted, oldest first: the place among the counts, and value, logarithm and counting variance.
    accepted: Vec<(usize, f64, f64, f64)>,
    left_out: Vec<(usize, Vec<Excluded>)>,
    ground: Ground,
    /// What was known before the counts.
    pub prior: Prior,
    range: Option<LogRange>,
    next: Option<Next>,
    white: Option<LogRange>,
    baseline: Option<ChosenBaseline>,
}

impl All {
    /// The accepted counts, oldest first.
    pub fn observed(&self) -> Vec<Observed<'_>> {
        let one = |&(place, value, log, counting): &(usize, f64, f64, f64)| {
            self.counts.get(place).map(|counted| Observed { counted, value, log, counting })
        };
        self.accepted.iter().filter_map(one).collect()
    }

    /// When the accepted count of this number, from 1, was made.
    pub fn moment(&self, number: usize) -> Option<Instant> {
        let (place, ..) = self.accepted.get(number.checked_sub(1)?)?;
        self.counts.get(*place).map(|c| c.at)
    }
}

/// Everything the core says of a protocol's counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// The protocol as it stands in the Bench.
    pub protocol: Protocol,
    /// Of which counts.
    pub of: Series,
    /// Accepted counts in all.
    pub accepted: usize,
    /// What the expectation rests on.
    pub ground: Ground,
    /// What the next count will read.
    pub range: Option<LogRange>,
    /// What it would change.
    pub next: Option<Next>,
    /// Fold of white cells.
    pub white: Option<LogRange>,
    /// Limits.
    pub limits: Option<Limits>,
    /// The period they were chosen from.
    pub chosen_baseline: Option<ChosenBaseline>,
    /// Counts until there are limits.
    pub to_go: usize,
    /// Counts left in the chosen period where they are too few for limits.
    pub short: Option<usize>,
    /// Accepted counts of the group in view, oldest first.
    pub rows: Vec<Line>,
    /// Those that do not enter.
    pub left_out: Vec<Out>,
}

impl Sight {
    /// Kind of product.
    pub fn kind(&self) -> ProductKind {
        self.protocol.kind
    }
}

/// What a person looks at.
#[derive(Clone, Copy)]
pub struct View {
    /// The page's desk.
    pub desk: Desk,
    /// Key of the protocol.
    pub protocol: RwSignal<String>,
    /// The demo's history instead of the clinic's.
    pub demo: RwSignal<bool>,
    /// One group alone.
    pub only: RwSignal<Option<(GroupBy, String)>>,
    /// Rules that speak.
    pub rules: RwSignal<Vec<Rule>>,
    /// Case of the count chosen.
    pub chosen: RwSignal<Option<String>>,
    /// How many windows back the picture stands.
    pub back: RwSignal<usize>,
    /// Key of one container alone; empty for all together.
    pub container: RwSignal<String>,
    /// The counts looked at.
    pub counts: Memo<Counts>,
    /// What they teach.
    pub all: Memo<Option<All>>,
    /// What the core says of them.
    pub sight: Memo<Option<Sight>>,
}

impl View {
    /// Looks at the protocol of the latest count.
    pub fn new(desk: Desk) -> Self {
        let latest = untrack(|| {
            let newest = desk.counts.get();
            let newest = newest.iter().filter(|c| !c.demo).max_by_key(|c| c.at);
            newest.and_then(|c| c.protocol.clone())
        });
        let first = || desk.bench.with_untracked(|b| b.protocols.first().map(|p| p.id.clone()));
        let protocol = RwSignal::new(latest.or_else(first).unwrap_or_default());
        let demo = RwSignal::new(false);
        let only = RwSignal::new(None);
        let rules = RwSignal::new(Rule::USUAL.to_vec());
        let now = desk.minute.get_untracked().at;
        let counts = memo(move || match demo.get() {
            true => Arc::new(demo::history(now)),
            false => desk.counts.get(),
        });
        let container = RwSignal::new(String::new());
        let all = memo(move || {
            let history = if demo.get() { History::Demo } else { History::Clinic };
            let protocol = protocol_of(desk, &protocol.get(), history)?;
            Some(container.with(|container| all(desk, protocol, container, counts.get(), history)))
        });
        let sight = memo(move || {
            let settings = Settings { rules: rules.get(), offset: desk.offset.get(), ..Settings::default() };
            all.with(|all| only.with(|only| all.as_ref().map(|all| sight(all, only.as_ref(), &settings))))
        });
        let (chosen, back) = (RwSignal::new(None), RwSignal::new(0));
        Self { desk, protocol, demo, only, rules, chosen, back, container, counts, all, sight }
    }

    /// Keys and names to choose from: those of the Bench, then those that only records know.
    pub fn names(self) -> Vec<(String, String)> {
        let desk = self.desk;
        let all = |b: &Bench| {
            let of_bench = b.protocols.iter().map(|p| (p.id.clone(), p.name.clone()));
            // Each key once: what it was called is looked up in a record.
            let counted: BTreeSet<String> = desk.counts.with(|counts| {
                let keys = counts.iter().filter(|c| !c.demo).filter_map(|c| c.protocol.as_ref());
                gather(keys.filter(|key| b.protocol(key).is_none()).cloned())
            });
            let gone = |key: String| {
                let name = desk.say(ChartLine::Gone(of_records(desk, &key)?.name));
                Some((key, name))
            };
            of_bench.chain(counted.into_iter().filter_map(gone)).collect()
        };
        match self.demo.get() {
            true => self
                .sight
                .with(|s| s.iter().map(|s| (s.of.protocol.clone(), s.protocol.name.clone())).collect()),
            false => self.desk.bench.with(all),
        }
    }

    /// Keys and names of the containers that counts of the protocol were made with, each with how many there are.
    pub fn containers(self) -> Vec<(String, String)> {
        let mut found: BTreeMap<String, usize> = BTreeMap::new();
        let (key, demo) = (self.protocol.get(), self.demo.get());
        self.counts.with(|counts| {
            let of = counts.iter().filter(|c| c.demo == demo && (demo || c.protocol.as_ref() == Some(&key)));
            for container in of.filter_map(|c| c.container.clone()) {
                *found.entry(container).or_default() += 1;
            }
        });
        let name = |key: &str| {
            let own = self.desk.bench.with(|b| b.container(key).map(|c| c.name.clone()));
            own.or_else(|| container_of_records(self.desk, key))
                .unwrap_or_else(|| self.desk.say(ChartWord::NotInBench))
        };
        let one = |(key, n): (String, usize)| {
            let words = self.desk.say(ChartLine::InContainer(name(&key), n));
            (key, words)
        };
        found.into_iter().map(one).collect()
    }

    /// Looks at one container, or at all together.
    pub fn show_container(self, key: String) {
        self.afresh();
        self.container.set(key);
    }

    /// What a case with the container looked at rests on; nothing while all are looked at.
    pub fn rests_on(self) -> Option<ChartLine> {
        self.all.with(|all| {
            let all = all.as_ref().filter(|all| all.of.container.is_some())?;
            let (n, wanted) = (all.accepted.len(), usize::try_from(FOR_THEMSELVES).ok()?);
            Some(if n < wanted { ChartLine::ContainerFew(n) } else { ChartLine::ContainerOwn(n) })
        })
    }

    /// Looks at another protocol.
    pub fn show_protocol(self, key: String) {
        self.afresh();
        self.container.set(String::new());
        self.protocol.set(key);
    }

    /// Looks at the demo's history, or away from it.
    pub fn show_demo(self, demo: bool) {
        self.afresh();
        self.container.set(String::new());
        self.demo.set(demo);
    }

    /// Looks at one group, or at all.
    pub fn show_only(self, only: Option<(GroupBy, String)>) {
        self.chosen.set(None);
        self.back.set(0);
        self.only.set(only);
    }

    fn afresh(self) {
        self.show_only(None);
    }

    /// Chooses a count, and brings it onto the picture and under the keyboard.
    pub fn choose(self, id: &str) {
        let place = self.sight.with_untracked(|s| {
            let rows = &s.as_ref()?.rows;
            let at = rows.iter().position(|r| r.counted.id == id)?;
            Some((rows.len() - 1 - at) / WINDOW)
        });
        if let Some(back) = place {
            self.back.set(back);
            self.chosen.set(Some(id.to_owned()));
            request_animation_frame(|| focus::first("#point"));
        }
    }

    /// The rows that stand on the picture.
    pub fn window(self) -> Vec<Line> {
        let back = self.back.get();
        self.sight.with(|s| {
            let rows = s.as_ref().map(|s| s.rows.as_slice()).unwrap_or_default();
            let end = rows.len().saturating_sub(back * WINDOW);
            rows.get(end.saturating_sub(WINDOW)..end).unwrap_or_default().to_vec()
        })
    }

    /// A fold or recovery, two figures.
    pub fn value(self, x: f64) -> String {
        value(self.desk, x)
    }

    /// From one fold or recovery to another, two figures each.
    pub fn range(self, low: f64, high: f64) -> FromTo {
        let plain = |x| Written { number: self.value(x), unit: "" };
        FromTo(plain(low), plain(high))
    }

    /// A day.
    pub fn day(self, at: Instant) -> String {
        day(self.desk, at)
    }

    /// The name of a group as a person knows it.
    pub fn group_name(self, by: GroupBy, name: &str) -> String {
        if by != GroupBy::Rotor {
            return name.to_owned();
        }
        if name.is_empty() {
            return String::new();
        }
        let known = self.desk.bench.with_untracked(|b| b.rotor(name).map(|r| r.name.clone()));
        let demo = || self.desk.demo_draft().kit.rotor.filter(|r| r.id == name).map(|r| r.name);
        known.or_else(demo).unwrap_or_else(|| self.desk.say(ChartWord::NotInBench))
    }
}

/// A fold or recovery, two figures.
pub fn value(desk: Desk, x: f64) -> String {
    write::significant(x, 2, desk.bench.with_untracked(|b| b.clinic.conventions.numbers))
}

/// A day where this device stands.
pub fn day(desk: Desk, at: Instant) -> String {
    unit::date(at, desk.offset.get_untracked()).map(|day| desk.say(day)).unwrap_or_default()
}

fn protocol_of(desk: Desk, key: &str, history: History) -> Option<Protocol> {
    match history {
        History::Clinic => desk.bench.with(|b| b.protocol(key).cloned()).or_else(|| of_records(desk, key)),
        History::Demo => Bench::default().protocol(DEMO_PROTOCOL).cloned(),
    }
}

/// A protocol that is no longer in the Bench, as a record of it holds it: the latest one that is at hand, else the
/// latest there is, which is read. What counts had taught of it then is no prior of those counts.
fn of_records(desk: Desk, key: &str) -> Option<Protocol> {
    let mut found = at_hand(
        desk,
        |d| d.kit.protocol.as_ref().filter(|p| p.id == key).cloned(),
        |c| c.protocol.as_deref() == Some(key),
    )?;
    found.expectation = found.expectation.filter(|e| e.counts() == 0);
    Some(found)
}

fn container_of_records(desk: Desk, key: &str) -> Option<String> {
    let name = |d: &Draft| d.kit.container.as_ref().filter(|c| c.id == key).map(|c| c.name.clone());
    at_hand(desk, name, |c| c.container.as_deref() == Some(key))
}

/// What the latest record at hand says; where none does, the latest whose count is `of` it is read, and who asked is
/// told once it is there.
fn at_hand<T>(desk: Desk, says: impl Fn(&Draft) -> Option<T>, of: impl Fn(&Counted) -> bool) -> Option<T> {
    let found = desk.records.with(|all| all.iter().rev().find_map(|r| says(r.latest())));
    if found.is_none() {
        let says = |l: &&Arc<strawline::record::line::Line>| !l.lost && l.facts.as_ref().is_some_and(&of);
        let line = desk.lines.with(|all| all.iter().rev().find(says).cloned());
        if let Some(line) = line {
            keep::with_record(desk, &line.id, |_| ());
        }
    }
    found
}

fn all(desk: Desk, protocol: Protocol, container: &str, counts: Counts, history: History) -> All {
    let places: BTreeMap<&str, usize> = gather(counts.iter().zip(0..).map(|(c, at)| (c.id.as_str(), at)));
    let place = |c: &Counted| places.get(c.id.as_str()).copied();
    let container = Some(container).filter(|key| !key.is_empty());
    desk.decisions.with(|decided| {
        let found = learned(&protocol, container, &counts, decided, history);
        let baseline = decided.baseline(&found.of).filter(|_| history == History::Clinic).cloned();
        let accepted = found.accepted.iter();
        let left_out = found.left_out.iter();
        All {
            accepted: accepted
                .filter_map(|o| Some((place(o.counted)?, o.value, o.log, o.counting)))
                .collect(),
            left_out: left_out.filter_map(|l| Some((place(l.counted)?, l.why.clone()))).collect(),
            ground: found.ground,
            prior: found.prior,
            range: found.predictive.map(|p| p.range()),
            next: found.next,
            white: found.white.map(|p| p.range()),
            of: found.of,
            baseline,
            protocol: protocol.clone(),
            counts: counts.clone(),
        }
    })
}

fn sight(all: &All, only: Option<&(GroupBy, String)>, settings: &Settings) -> Sight {
    let only = only.map(|(by, name)| (*by, name.as_str()));
    let accepted = all.observed();
    let drawn = chart(&accepted, all.baseline.as_ref(), only, settings);
    let numbers: BTreeMap<&str, usize> =
        gather(accepted.iter().zip(1..).map(|(o, n)| (o.counted.id.as_str(), n)));
    let rows = drawn.rows.iter().map(|row| Line {
        number: numbers.get(row.observed.counted.id.as_str()).copied().unwrap_or_default(),
        counted: row.observed.counted.clone(),
        value: row.observed.value,
        in_baseline: row.in_baseline,
        running: row.running,
        signals: row.signals.clone(),
    });
    let left_out = all.left_out.iter();
    let out = |(place, why): &(usize, Vec<Excluded>)| {
        Some(Out { counted: all.counts.get(*place)?.clone(), why: why.clone() })
    };
    Sight {
        rows: rows.collect(),
        protocol: all.protocol.clone(),
        of: all.of.clone(),
        accepted: accepted.len(),
        ground: all.ground,
        range: all.range,
        next: all.next,
        white: all.white,
        limits: drawn.limits,
        chosen_baseline: all.baseline.clone(),
        to_go: drawn.to_go,
        short: drawn.short,
        left_out: left_out.filter_map(out).collect(),
    }
}
