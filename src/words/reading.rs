//! What is said about a typed text: how it was read, what may be meant, why it is no number.

use super::Phrase;
use super::choice::TroubleName;
use super::unit::Day;
use crate::draft::Entered;
use crate::quantity::OutOfRange;
use crate::quantity::read::{AsRead, Kind, Offer, Reading, Refusal, Why, shown};
use crate::quantity::time::Date;
use crate::quantity::time::read::{DateRefusal, FIRST_YEAR, LAST_YEAR};
use crate::quantity::unit::{Conventions, NumberStyle};
use crate::quantity::write::{self, with_unit};
use std::borrow::Cow;

/// Figures shown of a number that was read another way: enough to see a slip, and no long tail.
const DIGITS: u8 = 5;

/// The line under an entry; empty where there is nothing typed, or only one way to take it.
#[derive(Debug, Clone, Copy)]
pub struct ReadingWords<'a> {
    /// How the text was read.
    pub reading: &'a Reading,
    /// The text.
    pub typed: &'a str,
    /// What sort of number the entry takes.
    pub kind: Kind,
    /// Units and number style of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for ReadingWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        let c = self.conventions;
        match self.reading {
            Reading::Empty => Cow::Borrowed(""),
            // Counts and shares can be written in several ways: how they were taken is always said.
            Reading::Value { value, as_read: AsRead::AsTyped } if written_many_ways(self.kind) => {
                Cow::Owned(format!("Read as {}.", shown(*value, self.kind, c, DIGITS)))
            }
            Reading::Value { as_read: AsRead::AsTyped, .. } => Cow::Borrowed(""),
            Reading::Value { value, as_read: AsRead::Otherwise(why) } => Cow::Owned(format!(
                "Read as {}: {} {}.",
                shown(*value, self.kind, c, DIGITS),
                self.typed.trim(),
                how(*why, c.numbers)
            )),
            Reading::Ask { options } => Question(options).english(),
            Reading::Wrong(refusal) => {
                RefusalWords { refusal, kind: self.kind, conventions: self.conventions }.english()
            }
        }
    }
}

/// Whether people write this sort of number in more than one unit.
fn written_many_ways(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::BloodCount
            | Kind::ProductCount
            | Kind::WhiteCount
            | Kind::RedCount
            | Kind::Haematocrit
            | Kind::ProductHaematocrit
            | Kind::Haemoglobin
            | Kind::Weight
            | Kind::Height
            | Kind::BloodBefore
    )
}

/// How a number was taken, after the text that was typed.
fn how(why: Why, style: NumberStyle) -> Cow<'static, str> {
    Cow::Borrowed(match why {
        Why::AsTyped => "as typed",
        Why::PerMicrolitre => "taken per µL",
        Why::TenToTwelvePerLitre => "taken as ×10¹²/L",
        Why::AllDigits => "taken with all its digits written out",
        Why::Millions => "taken in millions of cells",
        Why::Fraction => "taken as a share of one",
        Why::Percent => "taken as per cent",
        Why::OtherDecimalMark => match style {
            NumberStyle::Point => "taken with a decimal comma",
            NumberStyle::Comma => "taken with a decimal point",
        },
        Why::Grouped => "taken with its point or comma between thousands",
        Why::UnitTyped(symbol) | Why::OtherUnit(symbol) => return Cow::Owned(format!("taken in {symbol}")),
        Why::Slip => "taken with a digit or decimal mark slipped",
        Why::PartToParts => "taken as one part to so many parts of blood",
        Why::PartInWhole => "taken as one part in so many parts in all",
    })
}

/// The question put to a person when a text may mean several numbers.
#[derive(Debug, Clone, Copy)]
pub struct Question<'a>(pub &'a [Offer]);

impl Phrase for Question<'_> {
    fn english(&self) -> Cow<'static, str> {
        match self.0 {
            [] => Cow::Borrowed(""),
            [only] if only.why == Why::AsTyped => Cow::Owned(format!("Is {} right?", only.text)),
            [only] => Cow::Owned(format!("Did you mean {}?", only.text)),
            [literal, other] if literal.why == Why::AsTyped => {
                Cow::Owned(format!("Did you mean {}?", other.text))
            }
            _ => Cow::Borrowed("Which is meant?"),
        }
    }
}

/// One answer to it, on a button.
#[derive(Debug, Clone, Copy)]
pub struct OfferWords<'a>(pub &'a Offer, pub NumberStyle);

impl Phrase for OfferWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("{}, {}", self.0.text, how(self.0.why, self.1)))
    }
}

/// Why a text is no number for an entry, and what to do.
#[derive(Debug, Clone, Copy)]
pub struct RefusalWords<'a> {
    /// Why.
    pub refusal: &'a Refusal,
    /// What sort of number the entry takes.
    pub kind: Kind,
    /// Units and number style of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for RefusalWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        let c = self.conventions;
        let number = |core: f64| shown(core, self.kind, c, DIGITS);
        let (min, max) = self.kind.range();
        let range = |min: f64, max: f64| format!("{} to {}", number(min), number(max));
        Cow::Owned(match self.refusal {
            Refusal::TooLong => {
                return "This is too long for a number. Type the number and its unit alone.".into();
            }
            Refusal::NotANumber => format!("There is no number here. Type one from {}.", range(min, max)),
            Refusal::OtherDigits => {
                return "Only the figures 0 to 9 are read. Type the number with them.".into();
            }
            Refusal::Grouping => {
                return "The spaces, points or commas do not part thousands. Type the number without them."
                    .into();
            }
            Refusal::UnknownUnit(unit) => match self.kind.unit(c) {
                "" => format!("{unit} is not known here. Type the number alone."),
                own => {
                    format!("{unit} is no unit of this entry. Type the number alone; it is taken in {own}.")
                }
            },
            Refusal::NotWhole { value } => {
                format!("{} is not a whole number. Type one from {}.", number(*value), range(min, max))
            }
            Refusal::Entered { container, what, least } => {
                let n = u32::from(*container) + 1;
                let entered = match what {
                    Entered::Mark(mark) => format!("A mark of {mark}"),
                    Entered::Anticoagulant(inside) => format!("Anticoagulant, {inside},"),
                    Entered::Trouble(kind) => format!("“{}”", TroubleName(*kind).english()),
                };
                format!(
                    "{entered} was entered for container {n}: it stays in the case, and so does the number of containers. Type {least} or more."
                )
            }
            Refusal::NeedleOut { drawn_to } => format!(
                "The needle is out: blood was drawn to a plan of {drawn_to}, and more containers change nothing now. Enter {drawn_to}; one that was filled beside the plan is entered under Needle in, as one more container."
            ),
            Refusal::OutOfRange { value, min, max, offers } => {
                let refused = format!("{} is outside {}.", number(*value), range(*min, *max));
                match offers.as_slice() {
                    [] => format!("{refused} Check the number and its unit."),
                    offers => format!("{refused} {}", Question(offers).english()),
                }
            }
        })
    }
}

/// A result outside the domain of its quantity: what follows from the entries cannot be.
#[derive(Debug, Clone, Copy)]
pub struct OutOfRangeWords<'a>(pub &'a OutOfRange, pub &'a Conventions);

impl Phrase for OutOfRangeWords<'_> {
    fn english(&self) -> Cow<'static, str> {
        let (e, style) = (self.0, self.1.numbers);
        let number = |value| write::significant(value, DIGITS, style);
        let range = format!("{} to {}", number(e.min), with_unit(&number(e.max), e.unit));
        let what = if e.value.is_finite() {
            format!("The {} comes to {}, outside {range}.", e.quantity, with_unit(&number(e.value), e.unit))
        } else {
            format!("The {} cannot be reckoned; it must be {range}.", e.quantity)
        };
        Cow::Owned(format!("{what} Check the entries it is reckoned from."))
    }
}

/// The question when a typed date could be several days.
#[derive(Debug, Clone, Copy)]
pub struct DateQuestion<'a>(pub &'a [Date]);

impl Phrase for DateQuestion<'_> {
    fn english(&self) -> Cow<'static, str> {
        let days: Vec<String> = self.0.iter().map(|d| Day(*d).english().into_owned()).collect();
        Cow::Owned(format!("Which day is meant: {}?", days.join(", ")))
    }
}

/// Why a typed date is none, and what to do.
impl Phrase for DateRefusal {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            DateRefusal::TooLong => {
                "This is too long for a date. Type the day, the month as a word and the year."
            }
            DateRefusal::NotADate => "This is no date. Type the day, the month as a word and the year.",
            DateRefusal::NoSuchDay => "The calendar has no such day. Read it again.",
            DateRefusal::Year => {
                return Cow::Owned(format!(
                    "The year is outside {FIRST_YEAR} to {LAST_YEAR}. Read it again."
                ));
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::read::read;
    use crate::quantity::write::NO_BREAK;

    fn said(typed: &str, kind: Kind) -> String {
        let c = Conventions::default();
        let reading = read(typed, kind, &c);
        let words = ReadingWords { reading: &reading, typed, kind, conventions: &c };
        words.english().replace([NO_BREAK, write::GROUP], " ")
    }

    #[test]
    fn readings_are_told() {
        for (typed, kind, want) in [
            ("210", Kind::BloodCount, "Read as 210 ×10⁹/L."),
            ("72", Kind::Weight, "Read as 72 kg."),
            ("178", Kind::Height, "Read as 178 cm."),
            ("450", Kind::BloodBefore, "Read as 450 mL."),
            ("0.45 L", Kind::BloodBefore, "Read as 450 mL: 0.45 L taken in L."),
            ("0.45", Kind::BloodBefore, "Did you mean 0.45 L?"),
            ("15", Kind::Volume { min: 0.0, max: 100.0 }, ""),
            ("210000", Kind::BloodCount, "Read as 210 ×10⁹/L: 210000 taken per µL."),
            ("42", Kind::Haematocrit, "Read as 0.42 L/L: 42 taken as per cent."),
            ("180 lb", Kind::Weight, "Read as 81.647 kg: 180 lb taken in lb."),
            ("3,5", Kind::Cells, "Read as 3.5 ×10⁹: 3,5 taken with a decimal comma."),
            ("abc", Kind::Weight, "There is no number here. Type one from 0.5 kg to 400 kg."),
            (
                "12 stone",
                Kind::Weight,
                "stone is no unit of this entry. Type the number alone; it is taken in kg.",
            ),
        ] {
            assert_eq!(said(typed, kind), want, "{typed}");
        }
    }

    #[test]
    fn a_slip_is_asked_about() {
        let asked = said("25", Kind::BloodCount);
        assert!(asked.ends_with('?'), "{asked}");
        let refused = said("600", Kind::Weight);
        assert!(refused.starts_with("600 kg is outside 0.5 kg to 400 kg. "), "{refused}");
    }
}
