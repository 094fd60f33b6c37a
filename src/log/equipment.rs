//! Equipment as it stands by the log, and when its checks are due.

use super::{CareKind, Checked, Checking, Log, What};
use crate::quantity::time::{Date, Instant};
use serde::{Deserialize, Serialize};

/// How a piece of equipment stands with one of its checks.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LastCheck {
    /// The day of the last one.
    pub on: Option<Date>,
    /// It was not in order then.
    pub failed: bool,
    /// Due again on this day, as the clinic set it.
    pub due: Option<Date>,
    /// The clinic set an interval and no check is entered.
    pub never: bool,
}

/// What is to be said of a check on a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CheckState {
    /// It was not in order on this day.
    Failed(Date),
    /// It was due on this day.
    Overdue(Date),
    /// None is entered, though the clinic set an interval.
    Never,
}

impl LastCheck {
    /// What is to be said on this day; a check that is due today is not overdue yet.
    pub fn on_day(self, today: Date) -> Option<CheckState> {
        match (self.on.filter(|_| self.failed), self.due) {
            (Some(on), _) => Some(CheckState::Failed(on)),
            (None, Some(due)) if due < today => Some(CheckState::Overdue(due)),
            (None, None) if self.never => Some(CheckState::Never),
            (None, _) => None,
        }
    }
}

/// The centrifuge that a case spins on, as it stood by the log.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Centrifuge {
    /// Key of its entry.
    pub id: String,
    /// Name in the clinic.
    pub name: String,
    /// Serial number; empty where it has none.
    #[serde(default)]
    pub serial: String,
    /// Its speed.
    #[serde(default)]
    pub speed: LastCheck,
    /// Its timer.
    #[serde(default)]
    pub timer: LastCheck,
}

impl Centrifuge {
    /// How it stands with a check.
    pub fn check(&self, what: Checked) -> LastCheck {
        match what {
            Checked::Speed => self.speed,
            Checked::Timer => self.timer,
        }
    }
}

/// The centrifuges in use that turn the rotor of a case, as the log had them.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Centrifuges {
    /// Bench key of the rotor; empty where none is chosen.
    pub rotor: String,
    /// So many entries the log had. Entries are only added: of two logs the longer one knows more.
    pub entries: u32,
    /// Each.
    pub all: Vec<Centrifuge>,
}

impl Centrifuges {
    /// Whether the log had nothing to say yet.
    pub fn is_unset(&self) -> bool {
        *self == Self::default()
    }
}

/// A piece of equipment as it now stands.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Machine {
    /// What it is and how it stands with its checks.
    pub centrifuge: Centrifuge,
    /// Bench key of the rotor it turns.
    pub rotor: Option<String>,
    /// Why it is in use no longer.
    pub ended: Option<String>,
    /// When it was last cleaned.
    pub cleaned: Option<Instant>,
}

impl Log {
    /// All equipment that was not taken out, in the order it was entered.
    pub fn machines(&self) -> Vec<Machine> {
        let held = self.held();
        let now: Vec<(&str, &What)> =
            held.iter().filter_map(|h| Some((h.entry.id.as_str(), h.now?))).collect();
        let mut all = Vec::new();
        for &(id, what) in &now {
            let What::Equipment(e) = what else { continue };
            let last = |what: Checked| {
                let checks = now.iter().filter_map(|(_, w)| match w {
                    What::Check(c) if c.of == id && c.what == what => Some(c),
                    _ => None,
                });
                last_check(checks, e.every.get(&what).copied())
            };
            let ended = now.iter().find_map(|(_, w)| match w {
                What::Ended(end) if end.of == id => Some(end.why.clone()),
                _ => None,
            });
            let cleaned = now.iter().filter_map(|(_, w)| match w {
                What::Care(c) if c.of.as_deref() == Some(id) && c.kind == CareKind::Cleaning => Some(c.when),
                _ => None,
            });
            let centrifuge = Centrifuge {
                id: id.to_owned(),
                name: e.name.clone(),
                serial: e.serial.clone(),
                speed: last(Checked::Speed),
                timer: last(Checked::Timer),
            };
            all.push(Machine { centrifuge, rotor: e.rotor.clone(), ended, cleaned: cleaned.max() });
        }
        all
    }

    /// The centrifuges in use that turn this rotor.
    pub fn centrifuges(&self, rotor: &str) -> Centrifuges {
        let turns = |m: &Machine| m.ended.is_none() && m.rotor.as_deref() == Some(rotor);
        Centrifuges {
            rotor: rotor.to_owned(),
            entries: u32::try_from(self.entries().len()).unwrap_or(u32::MAX),
            all: self.machines().into_iter().filter(turns).map(|m| m.centrifuge).collect(),
        }
    }

    /// What an entry may be about: what is in use, and what it was about until now, whatever became of that.
    pub fn to_choose(&self, own: Option<&str>) -> Vec<Machine> {
        let mut all = self.machines();
        all.retain(|m| m.ended.is_none() || own == Some(m.centrifuge.id.as_str()));
        all
    }
}

/// The check of the latest day; of two on one day the one entered later.
fn last_check<'a>(checks: impl Iterator<Item = &'a Checking>, every: Option<u16>) -> LastCheck {
    let mut last: Option<&Checking> = None;
    for check in checks {
        if last.is_none_or(|l| check.on >= l.on) {
            last = Some(check);
        }
    }
    let Some(last) = last else { return LastCheck { never: every.is_some(), ..LastCheck::default() } };
    LastCheck {
        on: Some(last.on),
        failed: !last.passed,
        // due = day of the check + interval, unless the check itself names the day
        due: last.due.or_else(|| last.on.months_later(every?)),
        never: false,
    }
}
