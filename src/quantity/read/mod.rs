//! Typed text into numbers.
//!
//! A reading is never a guess in silence: it is the number as typed, or another number *with the reason*, or
//! a question with the possible answers, or a refusal. What is said about it stands in `words`.

use super::unit::Conventions;
use crate::draft::Entered;

mod kind;
mod number;
mod shape;
mod spell;
mod units;
mod weigh;

pub use kind::Kind;
pub use number::number;
pub use spell::{shown, spell};

/// Longest text that is looked at [characters].
pub const LONGEST: usize = 64;

/// What a typed text means.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// Nothing typed.
    Empty,
    /// One number.
    Value {
        /// In the core unit of the [`Kind`].
        value: f64,
        /// Whether it was taken literally.
        as_read: AsRead,
    },
    /// Several numbers may be meant, or one that is seldom meant: the person chooses.
    Ask {
        /// At least one; the literal reading first where there is one.
        options: Vec<Offer>,
    },
    /// No number this field can take.
    Wrong(Refusal),
}

impl Reading {
    /// The number, if there is one and nothing has to be asked.
    pub fn value(&self) -> Option<f64> {
        match self {
            Self::Value { value, .. } => Some(*value),
            _ => None,
        }
    }
}

/// Whether a number was taken literally.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum AsRead {
    /// The number typed, in the field's own unit.
    AsTyped,
    /// Another reading: show it.
    Otherwise(Why),
}

/// The thought behind a reading that is not literal, or behind an offer.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Why {
    /// The number as typed, in the field's own unit (offers only).
    AsTyped,
    /// A number of cells per microlitre.
    PerMicrolitre,
    /// In 10¹² per litre.
    TenToTwelvePerLitre,
    /// A number of cells per litre, or a number of cells, all digits written out.
    AllDigits,
    /// In millions (10⁶) of cells.
    Millions,
    /// As a fraction of one, where hundredths are the custom.
    Fraction,
    /// In hundredths, where a fraction of one is the custom.
    Percent,
    /// With the decimal mark of the other style.
    OtherDecimalMark,
    /// Point or comma taken as parting thousands.
    Grouped,
    /// In a unit that was typed and is not the field's own; this is its symbol.
    UnitTyped(&'static str),
    /// In a unit that was not typed but would make sense; this is its symbol.
    OtherUnit(&'static str),
    /// A digit too many, too few, or the decimal mark forgotten (offers only).
    Slip,
    /// 1 : N as one part to N parts of blood.
    PartToParts,
    /// 1 : N as one part in N parts in all; for per cent, of the fill and not of the blood.
    PartInWhole,
}

/// A number that may be meant, and how to write it so that nothing need be asked.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// In the core unit of the [`Kind`].
    pub value: f64,
    /// Why it may be meant.
    pub why: Why,
    /// A spelling with its unit. Put into the field it reads as exactly `value`.
    pub text: String,
}

/// Why a text is no number for this field. Carries all a sentence needs.
#[derive(Debug, Clone, PartialEq)]
pub enum Refusal {
    /// Longer than [`LONGEST`] characters.
    TooLong,
    /// No number in it, or something else beside one.
    NotANumber,
    /// Figures of another script; 0 to 9 are read.
    OtherDigits,
    /// A number, but its spaces, points or commas do not part thousands.
    Grouping,
    /// A number followed by something that is no unit of this field.
    UnknownUnit(String),
    /// Only a whole number makes sense here [core unit].
    NotWhole {
        /// The number typed.
        value: f64,
    },
    /// A number of containers below one of which something was entered.
    Entered {
        /// That container, from 0.
        container: u8,
        /// What was entered of it.
        what: Entered,
        /// The lowest number that leaves it in the case.
        least: u8,
    },
    /// More containers than blood was drawn to, after the needle is out.
    NeedleOut {
        /// How many blood was drawn to, as planned then.
        drawn_to: u8,
    },
    /// Outside what the field can take [core unit].
    OutOfRange {
        /// The number read.
        value: f64,
        /// Lowest allowed.
        min: f64,
        /// Highest allowed.
        max: f64,
        /// What was perhaps meant; may be empty.
        offers: Vec<Offer>,
    },
}

impl Refusal {
    /// What was perhaps meant.
    pub fn offers(&self) -> &[Offer] {
        match self {
            Self::OutOfRange { offers, .. } => offers,
            _ => &[],
        }
    }
}

/// What `typed` means in a field for this kind of number, under these conventions.
pub fn read(typed: &str, kind: Kind, conv: &Conventions) -> Reading {
    if typed.chars().count() > LONGEST {
        return Reading::Wrong(Refusal::TooLong);
    }
    // Signs without width come along when a number is copied from elsewhere.
    let typed = typed.replace(['\u{feff}', '\u{200b}', '\u{200e}', '\u{200f}', '\u{2060}'], "");
    let typed = typed.trim();
    if typed.is_empty() {
        return Reading::Empty;
    }
    shape::read(typed, kind, conv).unwrap_or_else(|| weigh::read(typed, &kind.spec(conv), conv.numbers))
}

/// A number that was read as typed, held against what else is known: where it does not fit that, a question, with
/// the number as typed first and then those other units in which it would fit. `None` where it fits, or where a unit
/// was typed with it.
pub fn against(typed: &str, kind: Kind, conv: &Conventions, fits: impl Fn(f64) -> bool) -> Option<Reading> {
    match read(typed, kind, conv) {
        Reading::Value { value, as_read: AsRead::AsTyped } if !fits(value) => {
            weigh::against(typed.trim(), &kind.spec(conv), conv.numbers, fits)
        }
        _ => None,
    }
}

#[cfg(test)]
mod tests;
