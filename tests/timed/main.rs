//! What the core takes in WebAssembly. Compiled for the browser and called again and again by
//! `tests/browser/bench.mjs`, which times each call: the calls up to [`ANSWERS`] answer the demo case, each with
//! another count; those up to [`PLANS`] plan backwards from what it orders; those up to [`LEARNED`] learn from 5,000 counts,
//! draw their chart with every rule, three lines and the groups by lot; the rest draw the demo's double spin
//! in columns of more and more cells, [`DRAWN`] times each.

use std::cell::Cell;
use std::hint::black_box;
use strawline::assess::{Now, assess, plan_among};
use strawline::bench::Bench;
use strawline::case;
use strawline::draft::{CheckSign, Draft, Field};
use strawline::quality::against::against;
use strawline::quality::chart::{Settings, chart};
use strawline::quality::decided::Decisions;
use strawline::quality::facts::Counted;
use strawline::quality::group::{GroupBy, groups};
use strawline::quality::line::Covariate;
use strawline::quality::rules::Rule;
use strawline::quality::{History, demo, learned};
use strawline::quantity::time::{Instant, Offset};
use strawline::spin::column::{Setup, picture};
use strawline::words::Language;

/// Calls that answer.
const ANSWERS: u32 = 4_000;
/// Calls that answer or plan.
const PLANS: u32 = 4_200;
/// Calls that answer, plan or learn.
const LEARNED: u32 = 4_220;
/// Columns drawn with as many cells: 25, then twice, four, eight and sixteen times as many.
const DRAWN: u32 = 20;
/// 12 March 2026.
const NOW: Now = Now { at: Instant(1_773_307_860_000), offset: Offset::UTC };

thread_local! {
    static CALLS: Cell<u32> = const { Cell::new(0) };
    static COUNTS: Vec<Counted> = counts();
    static SPIN: Option<Setup> = spin();
}

fn main() {
    let n = CALLS.replace(CALLS.get() + 1);
    match n {
        0..ANSWERS => answer(n, ""),
        ANSWERS..PLANS => answer(n, "3.5"),
        PLANS..LEARNED => learn(),
        _ => draw(25 << ((n - LEARNED) / DRAWN).min(4)),
    }
}

/// The demo case with a count of 100 to 399, and platelets ordered.
fn answer(n: u32, platelets: &str) {
    let sign = CheckSign::pick(0, &[]);
    let mut draft = Draft::demo("timed".to_owned(), sign, NOW.at, Default::default());
    draft.write(Field::BloodCount, (100 + n * 7 % 300).to_string());
    draft.write(Field::OrderPlatelets, platelets);
    let (case, _) = case::read(&draft, Language::English);
    let answer = assess(&case, NOW);
    if !platelets.is_empty() {
        let _done = black_box(plan_among(&case, &answer, &[]));
    }
    black_box(answer);
}

/// The demo history, over and over, as if it were a clinic's own.
fn counts() -> Vec<Counted> {
    let history = demo::history(NOW.at);
    let one = |(i, counted): (i64, &Counted)| {
        let mut counted = counted.clone();
        counted.id = format!("case-{i}");
        counted.at = Instant(NOW.at.0 - (5_000 - i) * 7_200_000);
        counted.demo = false;
        counted
    };
    (0..5_000).zip(history.iter().cycle()).map(one).collect()
}

fn learn() {
    let bench = Bench::default();
    let settings = Settings { rules: Rule::ALL.to_vec(), ..Settings::default() };
    COUNTS.with(|counts| {
        for protocol in
            bench.protocols.iter().filter(|p| counts.iter().any(|c| c.protocol.as_ref() == Some(&p.id)))
        {
            let found = learned(protocol, None, counts, &Decisions::default(), History::Clinic);
            assert_eq!(found.accepted.len(), counts.len(), "all of them enter");
            black_box(chart(&found.accepted, None, None, &settings));
            black_box(Covariate::ALL.map(|c| against(&found.accepted, c, found.prior)));
            black_box(groups(&found.accepted, GroupBy::ContainerLot));
        }
    });
}

/// The demo's spins as the page asks for them: without white cells.
fn spin() -> Option<Setup> {
    let mut setup = Setup::from_json(include_str!("../shell/demo_spin.json")).ok()?;
    setup.blood.white_cells = None;
    setup.spins.iter_mut().for_each(|spin| spin.profiles_at.clear());
    Some(setup)
}

fn draw(cells: u16) {
    SPIN.with(|setup| {
        let setup = setup.clone().map(|setup| Setup { cells, ..setup });
        let picture = setup.and_then(|setup| picture(&setup).ok());
        assert!(black_box(picture).is_some(), "a picture");
    });
}
