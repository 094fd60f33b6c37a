//! Every kind of finding, brought about in the demo case: it was not there before, and afterwards it is there
//! at its level, under its key, holding back what it should. The hazard list names these tests.

mod before_needle;
mod counting;
mod decided;
mod needle_in;
mod order;
mod product;
mod spinning;
mod unread;

use super::*;
use crate::bench::Bench;
use crate::blood::patient::Sex;
use crate::draft::{
    BloodTold, Check, CheckSign, Decision, Draft, Field, SampleDilution, Screening, Trouble, TroubleKind,
};
use crate::finding::{Level, LotOf};
use crate::product::kind::Basis;
use crate::quantity::time::{Date, TimeOfDay};
use crate::quantity::unit::Conventions;
use crate::quantity::{Quantity, Rcf, Rpm, Volume};
use crate::scan::Gtin;
use crate::words::Language;

const STEPS: [HeldStep; 3] = [HeldStep::Needle, HeldStep::Spin, HeldStep::HandOver];
const HOUR: i64 = 3_600_000;

/// 12 Mar 2026, 10:31 UTC.
fn now() -> Now {
    let (date, time) = (Date::new(2026, 3, 12).unwrap(), TimeOfDay::new(10, 31, 0).unwrap());
    Now { at: Instant::of_local(date, time, Offset::UTC), offset: Offset::UTC }
}

fn hours_ago(hours: i64) -> Option<Instant> {
    Some(Instant(now().at.0 - hours * HOUR))
}

fn check(draft: &mut Draft, kind: CheckKind) {
    draft.checks.insert(kind, Check { by: "MO".into(), at: now().at, of: String::new() });
}

/// The demo case with everything asked, known and checked: nothing is found in it.
fn quiet() -> Draft {
    let mut d = Draft::demo("case".into(), CheckSign::pick(1, &[]), now().at, Conventions::default());
    d.stage = Stage::BeforeNeedle;
    for kind in [CheckKind::Identity, CheckKind::AnticoagulantSound, CheckKind::ContainersSound] {
        check(&mut d, kind);
    }
    d.choices.screening.insert(Screening::AntiInflammatory, false);
    d.choices.sex = Some(Sex::Male);
    d.choices.first_draw = Some(false);
    d.write(Field::Weight, "81");
    d.write(Field::Height, "180");
    container(&mut d).rated = Some(Rcf::new(3000.0).unwrap());
    rotor(&mut d).rated_rpm = Some(Rpm::new(4000.0).unwrap());
    // Counts of its own instead of literature.
    let expectation = d.kit.protocol.as_mut().unwrap().expectation.as_mut().unwrap();
    expectation.basis = Basis::ClinicCounts { n: 12, learned: None };
    d
}

fn answer(draft: &Draft) -> Assessment {
    assess(&crate::case::read(draft, Language::English).0, now())
}

fn keys(a: &Assessment) -> Vec<String> {
    a.findings.iter().map(|f| f.kind.key()).collect()
}

/// Not there in the quiet case, there once after the change, at this level, holding back exactly this step and
/// those after it. Returns the answer.
#[track_caller]
fn brings(key: &str, level: Level, held: Option<HeldStep>, change: impl FnOnce(&mut Draft)) -> Assessment {
    let mut draft = quiet();
    assert_eq!(keys(&answer(&draft)), [""; 0], "the quiet case is not quiet");
    change(&mut draft);
    let a = answer(&draft);
    let found: Vec<_> = a.findings.iter().filter(|f| f.kind.key() == key).collect();
    let [one] = found.as_slice() else { panic!("{key}: {} times in {:?}", found.len(), keys(&a)) };
    assert_eq!(one.level, level, "{key}");
    for step in STEPS {
        assert_eq!(one.holds(step), held.is_some_and(|first| first <= step), "{key}: {step:?}");
    }
    a
}

#[track_caller]
fn caution(key: &str, change: impl FnOnce(&mut Draft)) -> Assessment {
    let a = brings(key, Level::Caution, None, change);
    let one = a.findings.iter().find(|f| f.kind.key() == key).unwrap();
    assert!(one.is_open(), "a caution waits to be seen");
    a
}

#[track_caller]
fn note(key: &str, change: impl FnOnce(&mut Draft)) -> Assessment {
    brings(key, Level::Note, None, change)
}

/// A Stop that the prescriber can lift with name and reason, and with nothing less.
#[track_caller]
fn waits(key: &str, held: HeldStep, change: impl Fn(&mut Draft)) -> Assessment {
    let a = brings(key, Level::StopClinician, Some(held), &change);
    for (by, reason, lifts) in
        [("Dr A. Reyes-Lindqvist", "", false), ("", "seen", false), ("Dr A. Reyes-Lindqvist", "seen", true)]
    {
        let mut draft = quiet();
        change(&mut draft);
        let said = Decision::new(by, reason, now().at);
        draft.decisions.insert(key.into(), said);
        let held = answer(&draft).holding(held).any(|f| f.kind.key() == key);
        assert_eq!(held, !lifts, "{key}: {by:?} {reason:?}");
    }
    a
}

/// A Stop that no decision lifts.
#[track_caller]
fn stops(key: &str, held: HeldStep, change: impl Fn(&mut Draft)) -> Assessment {
    let a = brings(key, Level::StopFinal, Some(held), &change);
    let mut draft = quiet();
    change(&mut draft);
    let said = Decision::new("Dr A. Reyes-Lindqvist", "seen", now().at);
    draft.decisions.insert(key.into(), said);
    assert!(answer(&draft).holding(held).any(|f| f.kind.key() == key), "{key} was lifted");
    a
}

fn ml(value: f64) -> Volume {
    Volume::new(value).unwrap()
}

fn protocol(draft: &mut Draft) -> &mut crate::bench::Protocol {
    draft.kit.protocol.as_mut().unwrap()
}

fn container(draft: &mut Draft) -> &mut crate::bench::Container {
    draft.kit.container.as_mut().unwrap()
}

fn rotor(draft: &mut Draft) -> &mut crate::spin::rotor::Rotor {
    draft.kit.rotor.as_mut().unwrap()
}

fn off_the_top(draft: &mut Draft) {
    let mut taken = Bench::default().protocol("off-the-top").cloned().unwrap();
    taken.expectation.as_mut().unwrap().basis = Basis::ClinicCounts { n: 12, learned: None };
    draft.kit.protocol = Some(taken);
}

fn trouble(draft: &mut Draft, kind: TroubleKind, container: Option<u8>, set_aside: bool) {
    draft.troubles.push(Trouble {
        kind,
        container,
        at: now().at,
        by: "MO".into(),
        set_aside,
        aside: None,
        collected: false,
        withdrawn: None,
    });
}
