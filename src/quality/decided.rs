//! What people decided about counts: left out by hand, a check of the process, a prior of the clinic's own, the
//! preparations a chart's limits come from. Everything names who and when, nothing is erased, all can be taken
//! back. Kept under a key of its own, beside the records and never in them.

use super::chart::FIRST;
use super::learn::Prior;
use crate::product::kind::ProductKind;
use crate::quantity::time::Instant;
use crate::record::Reason;
use crate::stored;
use serde::{Deserialize, Serialize};

/// Version of the stored layout.
const SCHEMA: u32 = 2;

/// All decisions, oldest first in each list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Decisions {
    /// Version of this layout.
    #[serde(deserialize_with = "stored::newest::<SCHEMA, _>")]
    pub schema: u32,
    /// Counts left out by hand.
    pub exclusions: Vec<Exclusion>,
    /// Counts that stay out by themselves and were let in.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub let_in: Vec<LetIn>,
    /// Checks of the process that were begun.
    pub checks: Vec<Begun>,
    /// Priors of the clinic's own.
    pub own: Vec<OwnPrior>,
    /// Preparations a chart's limits come from, where they are not the first twenty.
    pub baselines: Vec<ChosenBaseline>,
}

impl Default for Decisions {
    fn default() -> Self {
        Self {
            schema: SCHEMA,
            exclusions: vec![],
            let_in: vec![],
            checks: vec![],
            own: vec![],
            baselines: vec![],
        }
    }
}

/// That somebody took a decision back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TakenBack {
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
}

/// A count left out by hand.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Exclusion {
    /// Key of the case.
    pub case: String,
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
    /// Why.
    pub why: String,
    /// Whether it was taken back.
    #[serde(default)]
    pub back: Option<TakenBack>,
}

/// The count of a case rebuilt from a card's code, or over a blood count of an earlier day, let in by hand: it stays out
/// otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LetIn {
    /// Key of the case.
    pub case: String,
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
    /// Whether it was taken back.
    #[serde(default)]
    pub back: Option<TakenBack>,
}

/// A check of the process that was begun: counts from then on make its ten.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Begun {
    /// Of which preparations.
    pub of: Series,
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
    /// Whether it was given up.
    #[serde(default)]
    pub back: Option<TakenBack>,
}

/// Preparations that are learned from together.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Series {
    /// Bench key of the protocol.
    pub protocol: String,
    /// Bench key of the container; `None` takes all containers together.
    #[serde(default)]
    pub container: Option<String>,
}

/// A prior from the clinic's own counts in place of the literature's, decided by the lead.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnPrior {
    /// Of which preparations.
    pub of: Series,
    /// The lead.
    pub by: String,
    /// When.
    pub at: Instant,
    /// What kind of product the protocol made; absent where it was not stored yet: its cases tell.
    #[serde(default)]
    pub kind: Option<ProductKind>,
    /// Cases it was made of; they are in it and are not learned from again. What holds is made of those of them
    /// that still enter.
    pub cases: Vec<String>,
    /// The prior as it was when decided, to be read.
    pub prior: Prior,
    /// Whether the lead took it back.
    #[serde(default)]
    pub back: Option<TakenBack>,
}

/// Preparations that a chart's limits come from.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ChosenBaseline {
    /// Of which preparations.
    pub of: Series,
    /// Name of the period.
    pub name: String,
    /// First moment of it.
    pub from: Instant,
    /// Last moment of it.
    pub until: Instant,
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
    /// Whether it was taken back.
    #[serde(default)]
    pub back: Option<TakenBack>,
}

/// Why a decision was refused; nothing is changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refused {
    /// Nobody is named.
    NoName,
    /// Leaving out a count needs a reason.
    NoReason,
    /// It stands already.
    Stands,
    /// There is nothing to take back.
    NothingStands,
    /// The check of the process is not complete.
    NotComplete,
    /// The period ends before it begins.
    UpsideDown,
    /// The first or the last count of the period is not named.
    NoPeriod,
    /// The period has no name.
    NoPeriodName,
    /// The period holds too few accepted counts for limits.
    TooFew {
        /// How many.
        n: usize,
    },
}

fn named(by: &str) -> Result<String, Refused> {
    match by.trim() {
        "" => Err(Refused::NoName),
        name => Ok(name.to_owned()),
    }
}

/// Marks the one that stands as taken back.
fn take_back<'a>(
    mut standing: impl Iterator<Item = &'a mut Option<TakenBack>>,
    by: &str,
    at: Instant,
) -> Result<(), Refused> {
    let by = named(by)?;
    let back = standing.next().ok_or(Refused::NothingStands)?;
    *back = Some(TakenBack { by, at });
    Ok(())
}

impl Decisions {
    /// Reads what is stored. Errors: newer, or broken.
    pub fn from_json(text: &str) -> Result<Decisions, Reason> {
        Ok(stored::read(text, SCHEMA)?)
    }

    /// The exclusion that stands for a case.
    pub fn exclusion(&self, case: &str) -> Option<&Exclusion> {
        self.exclusions.iter().find(|e| e.back.is_none() && e.case == case)
    }

    /// Leaves a count out. Errors: nobody named, no reason, left out already.
    pub fn exclude(&mut self, case: &str, by: &str, at: Instant, why: &str) -> Result<(), Refused> {
        let (by, why) = (named(by)?, why.trim());
        if why.is_empty() {
            return Err(Refused::NoReason);
        }
        if self.exclusion(case).is_some() {
            return Err(Refused::Stands);
        }
        let (case, why) = (case.to_owned(), why.to_owned());
        self.exclusions.push(Exclusion { case, by, at, why, back: None });
        Ok(())
    }

    /// Lets a count in again. Errors: nobody named, not left out.
    pub fn include_again(&mut self, case: &str, by: &str, at: Instant) -> Result<(), Refused> {
        let of = |e: &&mut Exclusion| e.back.is_none() && e.case == case;
        take_back(self.exclusions.iter_mut().filter(of).map(|e| &mut e.back), by, at)
    }

    /// Removes what was decided about a case whose record is removed for good, also from what a prior was made of. Gives
    /// how many decisions that were.
    pub fn forget(&mut self, case: &str) -> usize {
        let count = |all: &Self| {
            let own = all.own.iter().map(|own| own.cases.len());
            own.fold(all.exclusions.len().saturating_add(all.let_in.len()), usize::saturating_add)
        };
        let before = count(self);
        self.exclusions.retain(|e| e.case != case);
        self.let_in.retain(|l| l.case != case);
        self.own.iter_mut().for_each(|own| own.cases.retain(|c| c != case));
        before.saturating_sub(count(self))
    }

    /// Whether a count that stays out by itself was let in.
    pub fn is_let_in(&self, case: &str) -> bool {
        self.let_in.iter().any(|l| l.back.is_none() && l.case == case)
    }

    /// Lets a count in that stays out by itself. Errors: nobody named, let in already.
    pub fn let_in(&mut self, case: &str, by: &str, at: Instant) -> Result<(), Refused> {
        let by = named(by)?;
        if self.is_let_in(case) {
            return Err(Refused::Stands);
        }
        self.let_in.push(LetIn { case: case.to_owned(), by, at, back: None });
        Ok(())
    }

    /// Leaves it out again, as by default. Errors: nobody named, not let in.
    pub fn keep_out(&mut self, case: &str, by: &str, at: Instant) -> Result<(), Refused> {
        let of = |l: &&mut LetIn| l.back.is_none() && l.case == case;
        take_back(self.let_in.iter_mut().filter(of).map(|l| &mut l.back), by, at)
    }

    /// The check of the process that is under way or done.
    pub fn check(&self, of: &Series) -> Option<&Begun> {
        self.checks.iter().rev().find(|b| b.back.is_none() && b.of == *of)
    }

    /// Begins a check of the process. Errors: nobody named, begun already.
    pub fn begin_check(&mut self, of: Series, by: &str, at: Instant) -> Result<(), Refused> {
        let by = named(by)?;
        if self.check(&of).is_some() {
            return Err(Refused::Stands);
        }
        self.checks.push(Begun { of, by, at, back: None });
        Ok(())
    }

    /// Gives a check up. Errors: nobody named, none begun.
    pub fn give_up_check(&mut self, of: &Series, by: &str, at: Instant) -> Result<(), Refused> {
        let begun = self.checks.iter_mut().filter(|b| b.back.is_none() && b.of == *of);
        take_back(begun.map(|b| &mut b.back), by, at)
    }

    /// The clinic's own prior that holds.
    pub fn own(&self, of: &Series) -> Option<&OwnPrior> {
        self.own.iter().rev().find(|o| o.back.is_none() && o.of == *of)
    }

    /// Takes back the clinic's own prior: the literature's holds again. Errors: nobody named, none holds.
    pub fn back_to_literature(&mut self, of: &Series, by: &str, at: Instant) -> Result<(), Refused> {
        let own = self.own.iter_mut().filter(|o| o.back.is_none() && o.of == *of);
        take_back(own.map(|o| &mut o.back), by, at)
    }

    /// The period that was chosen for limits.
    pub fn baseline(&self, of: &Series) -> Option<&ChosenBaseline> {
        self.baselines.iter().rev().find(|b| b.back.is_none() && b.of == *of)
    }

    /// Chooses the period that limits come from; an earlier choice is thereby taken back. `n` is how many accepted
    /// counts lie in it. Errors: nobody named, no name for the period, it is upside down, it holds fewer than
    /// [`FIRST`].
    pub fn choose_baseline(&mut self, chosen: ChosenBaseline, n: usize) -> Result<(), Refused> {
        let by = named(&chosen.by)?;
        if chosen.name.trim().is_empty() {
            return Err(Refused::NoPeriodName);
        }
        if chosen.from > chosen.until {
            return Err(Refused::UpsideDown);
        }
        if n < FIRST {
            return Err(Refused::TooFew { n });
        }
        for earlier in self.baselines.iter_mut().filter(|b| b.back.is_none() && b.of == chosen.of) {
            earlier.back = Some(TakenBack { by: by.clone(), at: chosen.at });
        }
        self.baselines.push(ChosenBaseline { by, back: None, ..chosen });
        Ok(())
    }

    /// Takes the last choice of a period back, and lets the one before it hold again if the choice had ended it.
    /// Errors: nobody named, nothing chosen.
    pub fn choose_again(&mut self, of: &Series, by: &str, at: Instant) -> Result<(), Refused> {
        let chosen = self.baseline(of).ok_or(Refused::NothingStands)?.at;
        self.first_twenty_again(of, by, at)?;
        let by = named(by)?;
        // Nothing is erased: what holds again is decided anew, by whoever took the other back.
        let ended = |b: &&ChosenBaseline| {
            b.of == *of && b.at != chosen && b.back.as_ref().is_some_and(|t| t.at == chosen)
        };
        if let Some(before) = self.baselines.iter().rev().find(ended).cloned() {
            self.baselines.push(ChosenBaseline { by, at, back: None, ..before });
        }
        Ok(())
    }

    /// The period that was chosen last, and taken back since, holds again, decided anew by whoever says so. Errors: nobody named, a period
    /// that is chosen now, none that was ever taken back.
    pub fn last_chosen_again(&mut self, of: &Series, by: &str, at: Instant) -> Result<(), Refused> {
        let by = named(by)?;
        if self.baseline(of).is_some() {
            return Err(Refused::Stands);
        }
        let last = self.baselines.iter().rfind(|b| b.of == *of).cloned().ok_or(Refused::NothingStands)?;
        self.baselines.push(ChosenBaseline { by, at, back: None, ..last });
        Ok(())
    }

    /// Back to the first twenty. Errors: nobody named, nothing chosen.
    pub fn first_twenty_again(&mut self, of: &Series, by: &str, at: Instant) -> Result<(), Refused> {
        let chosen = self.baselines.iter_mut().filter(|b| b.back.is_none() && b.of == *of);
        take_back(chosen.map(|b| &mut b.back), by, at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const AT: Instant = Instant(5);

    fn series() -> Series {
        Series { protocol: "double-spin".into(), container: None }
    }

    #[test]
    fn a_count_is_left_out_with_name_and_reason_and_comes_back() {
        let mut d = Decisions::default();
        assert_eq!(d.exclude("a", " ", AT, "clotted tube"), Err(Refused::NoName));
        assert_eq!(d.exclude("a", "MO", AT, " "), Err(Refused::NoReason));
        assert_eq!(d.include_again("a", "MO", AT), Err(Refused::NothingStands));
        d.exclude("a", " MO ", AT, "clotted tube").unwrap();
        assert_eq!(d.exclusion("a").map(|e| e.by.as_str()), Some("MO"));
        assert_eq!(d.exclude("a", "MO", AT, "again"), Err(Refused::Stands));
        assert!(d.exclusion("b").is_none());
        d.include_again("a", "MO", Instant(6)).unwrap();
        assert!(d.exclusion("a").is_none());
        // what was decided stays to be read
        assert_eq!(d.exclusions[0].back, Some(TakenBack { by: "MO".into(), at: Instant(6) }));
        d.exclude("a", "MO", Instant(7), "wrong dilution").unwrap();
        assert_eq!((d.exclusions.len(), d.exclusion("a").unwrap().why.as_str()), (2, "wrong dilution"));
    }

    #[test]
    fn what_is_stored_comes_back_and_a_newer_one_is_refused() {
        let mut d = Decisions::default();
        d.exclude("a", "MO", AT, "clotted tube").unwrap();
        d.begin_check(series(), "MO", AT).unwrap();
        let prior = Prior { location: -0.3612, squares: 0.1 + 0.2, ..Prior::NONE };
        let kind = Some(ProductKind::Concentrate);
        d.own.push(OwnPrior {
            of: series(),
            by: "MO".into(),
            at: AT,
            kind,
            cases: vec!["b".into(), "c".into()],
            prior,
            back: None,
        });
        let text = serde_json::to_string(&d).unwrap();
        assert_eq!(Decisions::from_json(&text), Ok(d.clone()));
        // stored before the kind was: its cases tell
        d.own[0].kind = None;
        assert_eq!(Decisions::from_json(&text.replace("\"kind\":\"concentrate\",", "")), Ok(d));
        assert_eq!(Decisions::from_json("{\"schema\":1}"), Ok(Decisions::default()));
        assert_eq!(Decisions::from_json("{\"schema\":3}"), Err(Reason::Newer { found: 3 }));
        assert!(matches!(Decisions::from_json("{\"schema\":1,\"own\":3}"), Err(Reason::Broken(_))));
    }

    #[test]
    fn of_a_removed_case_no_decision_and_no_prior_speaks() {
        let mut d = Decisions::default();
        d.exclude("a", "MO", AT, "clotted tube").unwrap();
        let (of, by, cases) = (series(), "MO".into(), vec!["b".into(), "c".into()]);
        d.own.push(OwnPrior { of, by, at: AT, kind: None, cases, prior: Prior::NONE, back: None });
        assert_eq!(["a", "b", "d"].map(|case| d.forget(case)), [1, 1, 0]);
        assert_eq!((d.exclusions.len(), d.own[0].cases.as_slice()), (0, ["c".to_owned()].as_slice()));
    }

    #[test]
    fn one_period_holds_at_a_time() {
        let mut d = Decisions::default();
        let chosen = |from, until, at| ChosenBaseline {
            of: series(),
            name: "spring".into(),
            from: Instant(from),
            until: Instant(until),
            by: "MO".into(),
            at: Instant(at),
            back: None,
        };
        assert_eq!(d.choose_baseline(chosen(3, 2, 5), 20), Err(Refused::UpsideDown));
        let nameless = ChosenBaseline { name: " ".into(), ..chosen(1, 2, 5) };
        assert_eq!(d.choose_baseline(nameless, 20), Err(Refused::NoPeriodName));
        // too few counts make no limits, and the chart keeps those it has
        assert_eq!(d.choose_baseline(chosen(1, 2, 5), 19), Err(Refused::TooFew { n: 19 }));
        assert!(d.baselines.is_empty());
        d.choose_baseline(chosen(1, 2, 5), 20).unwrap();
        d.choose_baseline(chosen(3, 4, 6), 20).unwrap();
        // one tap back: the period before it holds again, and what was decided stays to be read
        let mut undone = d.clone();
        undone.choose_again(&series(), "MO", Instant(7)).unwrap();
        assert_eq!(undone.baseline(&series()).map(|b| b.from), Some(Instant(1)));
        assert_eq!(undone.baselines.len(), 3);
        // the first choice taken back leaves the first twenty
        let mut first = Decisions::default();
        first.choose_baseline(chosen(1, 2, 5), 20).unwrap();
        first.choose_again(&series(), "MO", Instant(7)).unwrap();
        assert!(first.baseline(&series()).is_none());
        assert_eq!(first.choose_again(&series(), "MO", Instant(8)), Err(Refused::NothingStands));
        assert_eq!(d.baseline(&series()).map(|b| b.from), Some(Instant(3)));
        assert_eq!(d.baselines.iter().filter(|b| b.back.is_none()).count(), 1);
        d.first_twenty_again(&series(), "MO", AT).unwrap();
        assert!(d.baseline(&series()).is_none());
        // taken back by mistake, it holds again, however many counts it has by now
        d.last_chosen_again(&series(), "MO", Instant(9)).unwrap();
        assert_eq!(d.baseline(&series()).map(|b| (b.from, b.at)), Some((Instant(3), Instant(9))));
        assert_eq!(d.last_chosen_again(&series(), "MO", Instant(9)), Err(Refused::Stands));
    }

    #[test]
    fn a_check_is_begun_once_and_given_up() {
        let mut d = Decisions::default();
        d.begin_check(series(), "MO", AT).unwrap();
        assert_eq!(d.begin_check(series(), "MO", AT), Err(Refused::Stands));
        d.give_up_check(&series(), "MO", AT).unwrap();
        assert!(d.check(&series()).is_none());
        assert_eq!(d.give_up_check(&series(), "MO", AT), Err(Refused::NothingStands));
    }
}
