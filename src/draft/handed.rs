//! What was handed over, and what was changed since.

use super::{Changed, Check, CheckKind, Choices, Draft, Field, Side};
use crate::quantity::time::Instant;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A hand-over, and how everything stood then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HandOver {
    /// When it was entered.
    pub at: Instant,
    /// Who said later that it was none, and when.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken_back: Option<Check>,
    /// What was typed.
    pub texts: BTreeMap<Field, String>,
    /// What was chosen.
    pub choices: Choices,
}

/// One thing that is no longer as it was handed over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Since {
    /// A text, as it was then.
    Text(Field, String),
    /// The side, as it was then.
    Side(Side),
    /// Something else that was chosen.
    Choices,
}

impl Draft {
    /// The product is handed over now, as everything stands.
    pub fn hand_over(&mut self, now: Instant) {
        self.times.handed_over = Some(now);
        self.hand_overs.push(HandOver {
            at: now,
            taken_back: None,
            texts: self.texts.clone(),
            choices: self.choices.clone(),
        });
    }

    /// It was not handed over, says the technician: that it was entered stays in the record, and who receives it is read
    /// back anew.
    pub fn not_handed_over(&mut self, now: Instant) {
        self.times.handed_over = None;
        let by = self.text(Field::Technician).trim().to_owned();
        if let Some(last) = self.hand_overs.last_mut() {
            last.taken_back = Some(Check { by, at: now, of: String::new() });
        }
        let was = self.checks.remove(&CheckKind::HandOver);
        self.lapsed.extend(was.map(|check| super::Lapsed {
            kind: CheckKind::HandOver,
            check,
            changed: Changed::TakenBack,
        }));
    }

    /// What is no longer as it was at a hand-over, one taken back among them. To add to what was empty, or not said,
    /// changes nothing that was handed over; a note is a note.
    pub fn changed_since_hand_over(&self) -> Vec<Since> {
        let mut found: Vec<Since> = Vec::new();
        for then in &self.hand_overs {
            let side = then.choices.side.filter(|side| self.choices.side != Some(*side));
            if let Some(side) = side
                && !found.iter().any(|known| matches!(known, Since::Side(_)))
            {
                found.push(Since::Side(side));
            }
            for (&field, text) in &then.texts {
                let changed = !text.trim().is_empty() && self.text(field) != text;
                let noted = matches!(field, Field::Notes | Field::WhyChanged);
                let known = found.iter().any(|known| matches!(known, Since::Text(of, _) if *of == field));
                if changed && !noted && !known {
                    found.push(Since::Text(field, text.clone()));
                }
            }
            if !found.contains(&Since::Choices) && then.choices.changed_to(&self.choices) {
                found.push(Since::Choices);
            }
        }
        found
    }
}

impl Choices {
    /// Whether anything chosen here, but the side, is chosen otherwise in `now`. What was not said here may be said
    /// since; that a count will come later ends when it has come.
    fn changed_to(&self, now: &Choices) -> bool {
        let mut now = now.clone();
        now.side = self.side;
        now.count_later = self.count_later;
        macro_rules! said_since {
            ($($choice:ident)*) => { $( if self.$choice.is_none() { now.$choice = None; } )* };
        }
        said_since! {
            white_cells count sample sex first_draw agent convention dilution product_tube cells_dilution
            mixed_no_clumps
        }
        now.order_sense.retain(|key, _| self.order_sense.contains_key(key));
        now.additions.retain(|key, _| self.additions.contains_key(key));
        now.screening.retain(|key, _| self.screening.contains_key(key));
        now != *self
    }
}
