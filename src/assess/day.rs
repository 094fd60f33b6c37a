//! The day: open cases by the time they are to be ready, and which of them has which centrifuge.

use super::Assessment;
use super::spin::Happening;
use crate::arrange::sort_by_key;
use crate::case::Case;
use crate::draft::{CheckSign, Draft};
use crate::quantity::Quantity;
use crate::quantity::time::{Instant, Span};
use crate::spin::programme::{Programme, Stage};

/// An open case.
#[derive(Debug, Clone, Copy)]
pub struct Open<'a> {
    /// As typed.
    pub draft: &'a Draft,
    /// As meant.
    pub case: &'a Case,
    /// What follows.
    pub answer: &'a Assessment,
    /// It is signed and only looked at, or amended.
    pub signed: bool,
}

/// When the needle has to be in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NeedleBy {
    /// It is not said when the product is to be ready.
    NotSaid,
    /// No programme tells how long it takes.
    NoPlan,
    /// A stage has no planned time, so that nothing says how long it takes.
    OpenStages,
    /// Before this moment, by the machine's times alone: draw and handling have to be taken off it.
    At(Instant),
    /// It is in.
    IsIn,
}

/// One preparation of the day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayLine {
    /// Key of the case.
    pub id: String,
    /// When it is to be ready.
    pub ready_by: Option<Instant>,
    /// That time has passed and nothing was handed over.
    pub late: bool,
    /// When the needle has to be in.
    pub needle_by: NeedleBy,
    /// That time has passed and it is not in.
    pub needle_late: bool,
}

/// The open cases that are not handed over, the one to be ready first before the others; those of which it is not said
/// last, in the order they were begun.
pub fn day(open: &[Open<'_>], now: Instant) -> Vec<DayLine> {
    let mut all: Vec<(DayLine, Instant)> = Vec::new();
    for one in open.iter().filter(|o| !o.signed && o.case.times.handed_over.is_none()) {
        let ready_by = one.case.order.ready_by.at();
        let machine = one.case.protocol.as_ref().and_then(|p| p.programme.planned().ok());
        // needle in < ready by − planned times of the programme
        let needle_by = match (one.case.times.needle_in, ready_by, machine) {
            (Some(_), ..) => NeedleBy::IsIn,
            (None, None, _) => NeedleBy::NotSaid,
            (None, Some(_), Some(takes)) if takes.open_stages > 0 => NeedleBy::OpenStages,
            (None, Some(ready), Some(takes)) if takes.known.get() > 0.0 => {
                ready.checked_sub(Span::of(takes.known)).map_or(NeedleBy::NoPlan, NeedleBy::At)
            }
            (None, Some(_), _) => NeedleBy::NoPlan,
        };
        let needle_late = matches!(needle_by, NeedleBy::At(at) if at < now);
        let late = ready_by.is_some_and(|at| at < now);
        let line = DayLine { id: one.draft.id.clone(), ready_by, late, needle_by, needle_late };
        all.push((line, one.draft.begun));
    }
    sort_by_key(&mut all, |(line, begun)| (line.ready_by.is_none(), line.ready_by, *begun));
    all.into_iter().map(|(line, _)| line).collect()
}

/// What a case does with its centrifuge.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Taking {
    /// It turns until this moment; `None` where a person ends it.
    Turns(Option<Instant>),
    /// Its time is over or it stopped, and what comes next is not entered.
    Over,
    /// It is drawn and waits, to be spun by this moment.
    Waits(Option<Instant>),
}

/// Cases that cannot both have a centrifuge, or may not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Clash {
    /// They turn at once in the one machine that both name, by what is entered.
    Both(Vec<CheckSign>),
    /// They may be in one machine: of one nothing says that it was taken out, or no machine is named.
    MayBe(Vec<CheckSign>),
    /// One has to be spun before the other is out.
    TooLate {
        /// Who waits.
        waits: CheckSign,
        /// Spin by.
        by: Instant,
        /// Who turns.
        turns: CheckSign,
        /// Both name the one machine; else they only share a rotor entry.
        named: bool,
    },
}

/// A centrifuge and who has it or waits for it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Occupied {
    /// Its name in the log; the rotor's where no case names a centrifuge.
    pub name: String,
    /// Serial number; empty where none is known.
    pub serial: String,
    /// Who, by check sign.
    pub cases: Vec<(CheckSign, Taking)>,
    /// What cannot be.
    pub clashes: Vec<Clash>,
}

/// Each centrifuge that an open case has or waits for. A case that names no centrifuge has whichever turns its rotor:
/// two such cases may be in two machines, so that is told by the rotor's name.
pub fn occupied(open: &[Open<'_>], now: Instant) -> Vec<Occupied> {
    let mut all: Vec<(String, Occupied)> = Vec::new();
    for one in open.iter().filter(|o| !o.signed) {
        let Some(taking) = taking(one, now) else { continue };
        let spin = &one.case.spin;
        let (key, name, serial) = match (&spin.centrifuge, &spin.rotor) {
            (Some(c), _) => (format!("c.{}", c.id), c.name.clone(), c.serial.clone()),
            (None, Some(r)) => (format!("r.{}", r.id), r.name.clone(), String::new()),
            (None, None) => continue,
        };
        let case = (one.draft.sign, taking);
        match all.iter_mut().find(|(known, _)| *known == key) {
            Some((_, occupied)) => occupied.cases.push(case),
            None => all.push((key, Occupied { name, serial, cases: vec![case], clashes: Vec::new() })),
        }
    }
    for (key, occupied) in &mut all {
        occupied.clashes = clashes(&occupied.cases, key.starts_with("c."));
    }
    all.into_iter().map(|(_, occupied)| occupied).collect()
}

fn taking(one: &Open<'_>, now: Instant) -> Option<Taking> {
    let programme = one.case.protocol.as_ref().map(|p| &p.programme);
    let stages = programme.map_or(&[][..], |p| &p.0);
    let by_hand = |stage: &&Stage| matches!(stage, Stage::Handling { .. });
    let turns = |from: usize| {
        let run: Vec<Stage> = stages.iter().skip(from).take_while(|s| !by_hand(s)).cloned().collect();
        run.iter().any(|s| s.speed().is_some()).then_some(Programme(run))
    };
    match one.answer.spin.now {
        Happening::WaitingToSpin => {
            let first = stages.iter().any(|s| s.speed().is_some());
            first.then(|| Taking::Waits(one.answer.spin.spin_by.as_ref().map(|by| by.value)))
        }
        Happening::Stopped { .. } => Some(Taking::Over),
        Happening::Stage { .. } => {
            let (&index, &began) = one.case.times.stages.last_key_value()?;
            let run = turns(usize::from(index))?;
            let planned = run.planned().ok()?;
            if planned.open_stages > 0 {
                return Some(Taking::Turns(None));
            }
            let until = began.checked_add(Span::of(planned.known))?;
            Some(if until <= now { Taking::Over } else { Taking::Turns(Some(until)) })
        }
        _ => None,
    }
}

fn clashes(cases: &[(CheckSign, Taking)], named: bool) -> Vec<Clash> {
    let has: Vec<CheckSign> =
        cases.iter().filter(|(_, t)| !matches!(t, Taking::Waits(_))).map(|(sign, _)| *sign).collect();
    let mut found = Vec::new();
    for (waits, taking) in cases {
        let Taking::Waits(Some(by)) = taking else { continue };
        let late = cases.iter().find_map(|(turns, t)| match t {
            Taking::Turns(Some(until)) if until > by => Some(*turns),
            _ => None,
        });
        found.extend(late.map(|turns| Clash::TooLate { waits: *waits, by: *by, turns, named }));
    }
    let turn: Vec<CheckSign> =
        cases.iter().filter(|(_, t)| matches!(t, Taking::Turns(_))).map(|(sign, _)| *sign).collect();
    let both = named && turn.len() > 1;
    if has.len() > 1 && !(both && turn.len() == has.len()) {
        found.insert(0, Clash::MayBe(has));
    }
    if both {
        found.insert(0, Clash::Both(turn));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assess::{Now, assess};
    use crate::draft::Field;
    use crate::log::Centrifuge;
    use crate::quantity::time::Offset;
    use crate::quantity::unit::Conventions;
    use crate::words::Language;

    /// 12 Mar 2026, 10:31 UTC, and so many minutes.
    fn at(minutes: i64) -> Instant {
        Instant(1_773_311_460_000 + minutes * 60_000)
    }

    fn case(id: &str, sign: &str, ready: &str, change: impl FnOnce(&mut Draft)) -> Draft {
        let sign = CheckSign::try_from(sign.to_owned()).unwrap();
        let mut d = Draft::demo(id.into(), sign, at(0), Conventions::default());
        d.offset = Some(Offset::UTC);
        d.write(Field::ReadyBy, ready);
        change(&mut d);
        d
    }

    fn with<T>(drafts: &[Draft], minutes: i64, act: impl FnOnce(&[Open<'_>], Instant) -> T) -> T {
        let now = Now { at: at(minutes), offset: Offset::UTC };
        let read = |d: &Draft| {
            let case = crate::case::read(d, Language::English).0;
            let answer = assess(&case, now);
            (d.clone(), case, answer)
        };
        let all: Vec<_> = drafts.iter().map(read).collect();
        let signed = |draft: &Draft| draft.id.starts_with("signed");
        let open: Vec<_> = all
            .iter()
            .map(|(draft, case, answer)| Open { draft, case, answer, signed: signed(draft) })
            .collect();
        act(&open, now.at)
    }

    #[test]
    fn the_day_is_in_the_order_of_ready_by_and_the_needle_has_the_machine_s_times_before_it() {
        // The handling of the demo's programme is open; here it is planned with 5 min.
        let mut drafts = [
            case("none", "3A", "", |_| ()),
            case("late", "4C", "14:30", |_| ()),
            case("soon", "6D", "11:00", |_| ()),
            case("in", "7K", "12:00", |d| d.times.needle_in = Some(at(-5))),
            case("gone", "9M", "10:00", |d| d.times.handed_over = Some(at(-5))),
            case("signed", "4Q", "10:00", |_| ()),
        ];
        for stage in
            drafts.iter_mut().filter_map(|d| d.kit.protocol.as_mut()).flat_map(|p| &mut p.programme.0)
        {
            if let Stage::Handling { time, .. } = stage {
                *time = crate::quantity::Seconds::new(300.0).ok();
            }
        }
        let lines = with(&drafts, 20, day);
        let ids: Vec<_> = lines.iter().map(|l| l.id.as_str()).collect();
        assert_eq!(ids, ["soon", "in", "late", "none"]);
        // The programme holds 10 min and 10 min: 11:00 − 25 min = 10:35, and it is 10:51.
        assert_eq!(lines[0].needle_by, NeedleBy::At(at(4)));
        assert!(lines[0].needle_late && !lines[0].late);
        assert_eq!((lines[1].needle_by, lines[3].needle_by), (NeedleBy::IsIn, NeedleBy::NotSaid));
        assert!(!lines[2].needle_late);
        assert!(with(&drafts, 30, day)[0].late);
        // A stage without a time takes longer than nothing: no time is given then.
        let open = case("open", "6D", "11:00", |_| ());
        let lines = with(&[open], 20, day);
        assert_eq!((lines[0].needle_by, lines[0].needle_late), (NeedleBy::OpenStages, false));
    }

    #[test]
    fn who_has_a_centrifuge_until_when_and_what_cannot_be() {
        let machine = |id: &str| {
            Some(Centrifuge { id: id.into(), name: format!("Centrifuge {id}"), ..Centrifuge::default() })
        };
        let turning = |id: &'static str, began: i64, of: &'static str| {
            case(id, if id == "a" { "4C" } else { "6D" }, "", move |d| {
                d.kit.centrifuge = machine(of);
                d.times.needle_in = Some(at(-20));
                d.times.needle_out = Some(at(-15));
                d.times.stages.insert(0, at(began));
            })
        };
        let waiting = |needle: i64| {
            case("w", "7K", "", move |d| {
                d.kit.centrifuge = machine("1");
                d.times.needle_in = Some(at(needle));
                d.times.needle_out = Some(at(needle + 2));
            })
        };
        let sign = |s: &str| CheckSign::try_from(s.to_owned()).unwrap();
        let two = with(&[turning("a", -4, "1"), turning("b", -2, "2")], 0, occupied);
        assert_eq!(two.len(), 2);
        assert_eq!(two[0].cases, [(sign("4C"), Taking::Turns(Some(at(6))))]);
        assert!(two.iter().all(|o| o.clashes.is_empty()));
        let both = with(&[turning("a", -4, "1"), turning("b", -2, "1")], 0, occupied);
        assert_eq!(both[0].clashes, [Clash::Both(vec![sign("4C"), sign("6D")])]);
        // It is still in there: nothing says that it was taken out.
        let over = with(&[turning("a", -40, "1"), turning("b", -2, "1")], 0, occupied);
        assert_eq!(over[0].cases[0].1, Taking::Over);
        assert_eq!(over[0].clashes, [Clash::MayBe(vec![sign("4C"), sign("6D")])], "it is not known to turn");
        // A case that waits is no clash, unless it has to be spun before the other is out.
        let queue = with(&[turning("a", -4, "1"), waiting(-10)], 0, occupied);
        assert!(matches!(queue[0].cases[1].1, Taking::Waits(Some(_))) && queue[0].clashes.is_empty());
        let late = with(&[turning("a", -4, "1"), waiting(-10)], 0, |open, now| {
            let by = open[1].answer.spin.spin_by.as_ref().unwrap().value;
            (by, occupied(open, now))
        });
        // Use-by is 4 h after the needle, the programme takes 20 min of them.
        let minutes = (late.0.0 - at(0).0) / 60_000;
        assert_eq!(minutes, 210);
        let late = with(&[turning("a", -4, "1"), waiting(-218)], 0, occupied);
        assert_eq!(
            late[0].clashes,
            [Clash::TooLate { waits: sign("7K"), by: at(2), turns: sign("4C"), named: true }]
        );
        // Without a centrifuge the rotor is named.
        let mut bare = turning("a", -4, "1");
        bare.kit.centrifuge = None;
        let name = bare.kit.rotor.as_ref().unwrap().name.clone();
        assert_eq!(with(&[bare.clone()], 0, occupied)[0].name, name);
        // Two of the same rotor entry may be in two machines.
        let mut other = turning("b", -2, "1");
        other.kit.centrifuge = None;
        let shared = with(&[bare, other], 0, occupied);
        assert_eq!(shared[0].clashes, [Clash::MayBe(vec![sign("4C"), sign("6D")])]);
        // A signed one that is looked at has none.
        let signed = with(&[turning("a", -4, "1"), turning("signed", -2, "1")], 0, occupied);
        assert_eq!((signed[0].cases.len(), signed[0].clashes.len()), (1, 0));
    }
}
