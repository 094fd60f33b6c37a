//! What a finding says: its cause with the numbers, and what to do about it.
//!
//! Sentences defer to the prescriber. None recommends a dose, and none says to stop a medicine.

mod action;
mod cause;
mod short;
mod trouble;

#[cfg(test)]
pub(crate) mod tests;

use super::Phrase;
use super::choice::CheckName;
use crate::assess::hand_over::Need;
use crate::draft::CheckKind;
use crate::finding::{Finding, FindingKind, HeldStep, Level};
use crate::quantity::time::Offset;
use crate::quantity::unit::Conventions;
use std::borrow::Cow;

pub use short::Short;
pub use trouble::{TroublePart, TroubleWords};

/// Which of its two sentences.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Part {
    /// What was found, with the numbers.
    Cause,
    /// What to do, whom to ask, what can still be reckoned.
    Action,
}

/// One sentence of a finding, for one reader.
#[derive(Debug, Clone, Copy)]
pub struct FindingWords<'a> {
    /// What was found.
    pub kind: &'a FindingKind,
    /// Cause or action.
    pub part: Part,
    /// Units and number style of the reader.
    pub conventions: &'a Conventions,
    /// Of the local clock.
    pub offset: Offset,
}

impl Phrase for FindingWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        match self.part {
            Part::Cause => cause::cause(self.kind, self.conventions, self.offset),
            Part::Action => action::action(self.kind, self.conventions),
        }
    }
}

/// What a button still waits for: "still open: identity, 1 caution". Says nothing when nothing is open.
#[derive(Debug, Clone, Copy)]
pub struct StillOpen<'a> {
    /// All findings of the case.
    pub findings: &'a [Finding],
    /// The step on the button.
    pub step: HeldStep,
    /// A check that the step needs and that is not done.
    pub check: Option<CheckKind>,
    /// What must be entered before a hand-over; nothing for other steps.
    pub needs: &'a [Need],
}

impl Phrase for StillOpen<'_> {
    fn english(&self) -> Cow<'static, str> {
        let mut parts: Vec<String> = Vec::new();
        for finding in self.findings.iter().filter(|f| f.holds(self.step)) {
            let name = Short(&finding.kind).english().into_owned();
            if !parts.contains(&name) {
                parts.push(name);
            }
        }
        if let Some(check) = self.check {
            let name = CheckName(check).english();
            let mut letters = name.chars();
            let first = letters.next().map(|c| c.to_lowercase().to_string()).unwrap_or_default();
            parts.push(format!("{first}{}", letters.as_str()));
        }
        parts.extend(self.needs.iter().map(|need| need.english().into_owned()));
        let cautions = self
            .findings
            .iter()
            .filter(|f| f.level == Level::Caution && f.is_open() && f.kind.stage() <= self.step.stage())
            .count();
        match cautions {
            0 => {}
            1 => parts.push("1 caution".to_owned()),
            n => parts.push(format!("{n} cautions")),
        }
        if parts.is_empty() {
            Cow::Borrowed("")
        } else {
            Cow::Owned(format!("still open: {}", parts.join(", ")))
        }
    }
}
