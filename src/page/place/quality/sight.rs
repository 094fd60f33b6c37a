//! What the view looks at: of which protocol, clinic or demo, which group; and what the core says of it, as it is
//! written down.

use crate::counts::Counts;
use crate::dom::prelude::*;
use crate::shell::focus;
use crate::state::Desk;
use std::collections::BTreeMap;
use std::sync::Arc;
use strawline::bench::{Bench, Protocol};
use strawline::product::kind::ProductKind;
use strawline::quality::chart::{Limits, Running, Settings, chart};
use strawline::quality::decided::{ChosenBaseline, Series};
use strawline::quality::demo;
use strawline::quality::facts::Excluded;
use strawline::quality::group::GroupBy;
use strawline::quality::learn::{LogRange, Next};
use strawline::quality::rules::{Rule, Signal};
use strawline::quality::{Counted, Ground, History, Learned, learned};
use strawline::quantity::time::Instant;
use strawline::quantity::write;
use strawline::words::charts::ChartWord;
use strawline::words::unit;

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
    /// The counts looked at.
    pub counts: Memo<Counts>,
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
        let sight = memo(move || {
            let history = if demo.get() { History::Demo } else { History::Clinic };
            let protocol = protocol_of(desk, &protocol.get(), history)?;
            let settings = Settings { rules: rules.get(), offset: desk.offset.get(), ..Settings::default() };
            only.with(|only| sight(desk, protocol, &counts.get(), history, only.as_ref(), &settings))
        });
        let (chosen, back) = (RwSignal::new(None), RwSignal::new(0));
        Self { desk, protocol, demo, only, rules, chosen, back, counts, sight }
    }

    /// Keys and names to choose from.
    pub fn names(self) -> Vec<(String, String)> {
        let all = |b: &Bench| b.protocols.iter().map(|p| (p.id.clone(), p.name.clone())).collect::<Vec<_>>();
        match self.demo.get() {
            true => self
                .sight
                .with(|s| s.iter().map(|s| (s.of.protocol.clone(), s.protocol.name.clone())).collect()),
            false => self.desk.bench.with(all),
        }
    }

    /// Looks at another protocol.
    pub fn show_protocol(self, key: String) {
        self.afresh();
        self.protocol.set(key);
    }

    /// Looks at the demo's history, or away from it.
    pub fn show_demo(self, demo: bool) {
        self.afresh();
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
        History::Clinic => desk.bench.with(|b| b.protocol(key).cloned()),
        History::Demo => Bench::default().protocol(DEMO_PROTOCOL).cloned(),
    }
}

fn sight(
    desk: Desk,
    protocol: Protocol,
    counts: &[Counted],
    history: History,
    only: Option<&(GroupBy, String)>,
    settings: &Settings,
) -> Option<Sight> {
    let (found, baseline) = desk.decisions.with(|decided| {
        let found = learned(&protocol, None, counts, decided, history);
        let baseline = decided.baseline(&found.of).filter(|_| history == History::Clinic).cloned();
        (found, baseline)
    });
    let only = only.map(|(by, name)| (*by, name.as_str()));
    let drawn = chart(&found.accepted, baseline.as_ref(), only, settings);
    let numbers: BTreeMap<&str, usize> =
        found.accepted.iter().zip(1..).map(|(o, n)| (o.counted.id.as_str(), n)).collect();
    let rows = drawn.rows.iter().map(|row| Line {
        number: numbers.get(row.observed.counted.id.as_str()).copied().unwrap_or_default(),
        counted: row.observed.counted.clone(),
        value: row.observed.value,
        in_baseline: row.in_baseline,
        running: row.running,
        signals: row.signals.clone(),
    });
    let rows = rows.collect();
    let Learned { of, accepted, left_out, ground, predictive, next, white, .. } = found;
    Some(Sight {
        protocol,
        of,
        accepted: accepted.len(),
        ground,
        range: predictive.map(|p| p.range()),
        next,
        white: white.map(|p| p.range()),
        limits: drawn.limits,
        chosen_baseline: baseline,
        to_go: drawn.to_go,
        rows,
        left_out: left_out.into_iter().map(|l| Out { counted: l.counted.clone(), why: l.why }).collect(),
    })
}
