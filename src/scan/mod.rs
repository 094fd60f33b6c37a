//! What is printed in a bar code of a label, as a reader types it: GS1 element strings. Pure; nothing is guessed.
//!
//! Read are the product number (01), the lot (10), the production date (11), the expiry (17) and the serial number
//! (21). Other elements are passed over where it is known where they end.

use crate::quantity::time::Date;
use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use std::fmt;

#[cfg(test)]
mod tests;

/// FNC1 between two elements, as a reader transmits it: group separator, ASCII 29.
pub const SEPARATOR: char = '\u{1d}';

/// What stands before an element string where the reader says which symbol it read: GS1-128, GS1 DataMatrix, GS1 QR
/// Code, GS1 DataBar. From memory, verify.
const SYMBOLS: [&str; 4] = ["]C1", "]d2", "]Q3", "]e0"];

/// Most characters of a lot and of a serial number: X..20 in the list of application identifiers (gs1.org).
const LONGEST: usize = 20;

/// Product number (GTIN), 14 digits with leading zeros; its last digit checks the others.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Gtin(u64);

impl Gtin {
    /// Reads 8, 12, 13 or 14 digits, as printed. `None` for another length or where the check digit does not hold.
    ///
    /// From the right the digits count once and three times by turns; with the check digit the sum ends in 0
    /// (gs1.org, check digit).
    pub fn read(typed: &str) -> Option<Self> {
        let typed = typed.trim();
        if !matches!(typed.len(), 8 | 12..=14) || !digits(typed) {
            return None;
        }
        let weights = [1, 3].into_iter().cycle();
        let sum: u32 = typed.bytes().rev().zip(weights).map(|(b, w)| u32::from(b & 15) * w).sum();
        sum.is_multiple_of(10).then(|| typed.parse().ok().map(Self)).flatten()
    }
}

impl fmt::Display for Gtin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:014}", self.0)
    }
}

impl Serialize for Gtin {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Gtin {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let text = String::deserialize(deserializer)?;
        Gtin::read(&text).ok_or_else(|| de::Error::custom(format!("{text:?} is no product number")))
    }
}

/// What an element string says.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Elements {
    /// Product number (01).
    pub product: Option<Gtin>,
    /// Lot (10).
    pub lot: Option<String>,
    /// Production date (11); `None` where it names no day.
    pub produced: Option<Date>,
    /// Last good day (17).
    pub expiry: Option<Date>,
    /// Serial number (21).
    pub serial: Option<String>,
    /// Lot or serial number may hold a further element: no separator came, and what could begin one is in it.
    pub doubtful: bool,
}

impl Elements {
    /// Both, as bar codes of one lot; the newer one speaks first. `None` where they name two products or two lots.
    pub fn join(&self, newer: &Elements) -> Option<Elements> {
        let lots = newer.lot.as_ref().zip(self.lot.as_ref());
        if self.of_another(newer) || lots.is_some_and(|(a, b)| !same_lot(a, b)) {
            return None;
        }
        Some(Elements {
            product: newer.product.or(self.product),
            lot: newer.lot.as_ref().or(self.lot.as_ref()).cloned(),
            produced: newer.produced.or(self.produced),
            expiry: newer.expiry.or(self.expiry),
            serial: newer.serial.as_ref().or(self.serial.as_ref()).cloned(),
            doubtful: newer.doubtful || (self.doubtful && newer.lot.is_none()),
        })
    }

    /// Whether they name two products.
    pub fn of_another(&self, other: &Elements) -> bool {
        self.product.zip(other.product).is_some_and(|(a, b)| a != b)
    }
}

/// Whether two texts are one lot: as people write it, in small letters or large.
pub fn same_lot(a: &str, b: &str) -> bool {
    a.trim().eq_ignore_ascii_case(b.trim())
}

/// Why a text that is a bar code was refused. `ai` is the application identifier as it stands there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ScanError {
    /// A bar code without elements, such as the number at the till.
    OtherSymbol,
    /// Something stands before the code.
    Behind,
    /// No application identifier where one has to be.
    NoIdentifier,
    /// The element ends before its length, or is empty.
    Short {
        /// Of what.
        ai: String,
    },
    /// More than it may have.
    Long {
        /// Of what.
        ai: String,
    },
    /// A character that cannot be in it.
    Character {
        /// Of what.
        ai: String,
    },
    /// The check digit of the product number does not hold.
    CheckDigit,
    /// No day of the calendar.
    NoDate {
        /// Of what.
        ai: String,
    },
    /// The same element twice.
    Twice {
        /// Of what.
        ai: String,
    },
    /// Where the element ends is not known: the reader drops the separator.
    Unseparated {
        /// Of what.
        ai: String,
    },
    /// Nothing in it is of use here.
    Nothing,
    /// A product number alone: 13 or 14 digits whose last one checks the others.
    ProductAlone,
    /// The address of a page.
    Link,
}

/// Reads what a reader typed on the day `today`, which decides the century of a date. `None` is no element string:
/// an ordinary lot stays as it was typed. Errors: an element string that cannot be relied on, and why.
///
/// Without symbol and separator only what begins with a product number, or with a date and another element, is taken
/// as one: shorter texts may be lots.
pub fn read(text: &str, today: Date) -> Result<Option<Elements>, ScanError> {
    let text = text.trim();
    let mut reader = Reader { today, read: Elements::default(), seen: Vec::new(), separated: true };
    let marked = SYMBOLS.iter().find_map(|symbol| text.strip_prefix(symbol));
    if marked.is_none() && other_symbol(text) {
        return Err(ScanError::OtherSymbol);
    }
    if SYMBOLS.iter().any(|symbol| text.rfind(symbol).is_some_and(|at| at > 0)) {
        return Err(ScanError::Behind);
    }
    let within = marked.unwrap_or(text).to_ascii_lowercase();
    if let Some(at) = ["http://", "https://"].iter().find_map(|link| within.find(link)) {
        return Err(if at == 0 { ScanError::Link } else { ScanError::Behind });
    }
    // Lots of 8 or 12 digits are common enough to be left alone.
    if matches!(text.len(), 13 | 14) && Gtin::read(text).is_some() {
        return Err(ScanError::ProductAlone);
    }
    let body = marked.unwrap_or(text).trim_start_matches(SEPARATOR);
    if bracket(body).is_some() {
        reader.bracketed(body)?;
    } else if marked.is_some() || text.contains(SEPARATOR) || begins_bare(body, today) {
        reader.separated = body.contains(SEPARATOR);
        reader.plain(body)?;
    } else if (1..text.len()).filter_map(|at| text.get(at..)).any(|rest| begins_within(rest, today)) {
        return Err(ScanError::Behind);
    } else {
        return Ok(None);
    }
    if reader.read == Elements::default() {
        return Err(ScanError::Nothing);
    }
    Ok(Some(reader.read))
}

/// Whether a text is beyond doubt what a reader sends of a label, alone or behind what stood there, whether or not it
/// can be relied on. What is merely a number, such as an identifier of 13 digits, is none.
pub fn is_code(text: &str, today: Date) -> bool {
    let read = || matches!(read(text, today), Ok(Some(_)) | Err(ScanError::Behind));
    other_symbol(text.trim()) || text.contains(SEPARATOR) || read()
}

/// Whether a text begins with the mark of some symbol, as a reader sends it: a bracket, a letter and a digit.
fn other_symbol(text: &str) -> bool {
    matches!(text.as_bytes(), [b']', letter, digit, ..] if letter.is_ascii_alphabetic() && digit.is_ascii_digit())
}

/// Whether a text without any mark is an element string beyond doubt.
fn begins_bare(text: &str, today: Date) -> bool {
    let Some((ai, rest)) = text.split_at_checked(2) else { return false };
    match ai {
        "01" => rest.get(..14).is_some_and(digits),
        "11" | "17" => rest.split_at_checked(6).is_some_and(|(day, more)| {
            let further = more.len() > 2 && ["10", "11", "17", "21"].iter().any(|ai| more.starts_with(ai));
            further && date(day, today).is_some()
        }),
        _ => false,
    }
}

/// Whether an element string without any mark begins here, behind a text that stood in the field.
fn begins_within(text: &str, today: Date) -> bool {
    let product = |rest: &str| rest.get(..14).and_then(Gtin::read).is_some();
    match bracket(text) {
        Some(("01", rest)) => product(rest),
        Some(("11" | "17", rest)) => rest.get(..6).is_some_and(|day| date(day, today).is_some()),
        Some(_) => false,
        None => text.strip_prefix("01").map_or_else(|| begins_bare(text, today), product),
    }
}

/// The identifier in brackets that a text begins with, and what follows it.
fn bracket(text: &str) -> Option<(&str, &str)> {
    let (ai, rest) = text.strip_prefix('(')?.split_once(')')?;
    (matches!(ai.len(), 2..=4) && digits(ai)).then_some((ai, rest))
}

/// Digits behind the first two of an identifier, where the first two settle the length of the element: those that
/// need no separator in the GS1 Barcode Syntax Dictionary (`*`); 03 from memory, verify.
fn predefined(first_two: &str) -> Option<usize> {
    Some(match first_two {
        "00" => 18,
        "01" | "02" | "03" => 14,
        "11" | "12" | "13" | "15" | "16" | "17" => 6,
        "20" => 2,
        // Two further digits of the identifier and six of the number.
        "31" | "32" | "33" | "34" | "35" | "36" => 8,
        // One further digit of the identifier and thirteen of the number.
        "41" => 14,
        _ => return None,
    })
}

/// Reads YYMMDD.
///
/// Years 51 to 99 ahead of this year are of the century before, years 50 to 99 behind it of the next one; day 00 is
/// the last of the month (GS1 General Specifications, 7.12 and (17): from memory, verify).
fn date(text: &str, today: Date) -> Option<Date> {
    let (year, month, day) = parts(text)?;
    let now = today.year().rem_euclid(100);
    let century = match i32::from(year) - now {
        51..=99 => -100,
        -99..=-50 => 100,
        _ => 0,
    };
    let year = today.year() - now + i32::from(year) + century;
    match day {
        0 => (28..=31).rev().find_map(|last| Date::new(year, month, last)),
        day => Date::new(year, month, day),
    }
}

/// Year of the century, month and day.
fn parts(text: &str) -> Option<(u8, u8, u8)> {
    let two = |at: usize| text.get(at..at.checked_add(2)?)?.parse::<u8>().ok();
    (text.len() == 6 && digits(text)).then_some((two(0)?, two(2)?, two(4)?))
}

fn digits(text: &str) -> bool {
    text.bytes().all(|b| b.is_ascii_digit())
}

/// Character set 82 of the element strings (GS1 Barcode Syntax Dictionary, `cset82`).
fn allowed(c: char) -> bool {
    c.is_ascii_alphanumeric() || "!\"%&'()*+,-./:;<=>?_".contains(c)
}

struct Reader {
    today: Date,
    read: Elements,
    seen: Vec<String>,
    /// The reader sends separators, or brackets stand for them.
    separated: bool,
}

impl Reader {
    /// (01)…(17)…(10)…, as it is printed under a bar code.
    fn bracketed(&mut self, text: &str) -> Result<(), ScanError> {
        let mut rest = text;
        while !rest.is_empty() {
            let (ai, after) = bracket(rest).ok_or(ScanError::NoIdentifier)?;
            let end = after.match_indices('(').map(|(at, _)| at);
            let end = end.into_iter().find(|at| after.get(*at..).and_then(bracket).is_some());
            let (value, next) = end.and_then(|at| after.split_at_checked(at)).unwrap_or((after, ""));
            self.take(ai, value.trim_matches(|c: char| c == SEPARATOR || c.is_whitespace()))?;
            rest = next;
        }
        Ok(())
    }

    fn plain(&mut self, text: &str) -> Result<(), ScanError> {
        let mut rest = text;
        while !rest.is_empty() {
            let (ai, after) =
                rest.split_at_checked(2).filter(|(ai, _)| digits(ai)).ok_or(ScanError::NoIdentifier)?;
            let (value, next) = match predefined(ai) {
                Some(length) => {
                    after.split_at_checked(length).ok_or_else(|| ScanError::Short { ai: ai.to_owned() })?
                }
                None => {
                    let ended = after.split_once(SEPARATOR);
                    if ended.is_none() {
                        self.ends_here(ai, after)?;
                    }
                    ended.unwrap_or((after, ""))
                }
            };
            self.take(ai, value)?;
            rest = next.trim_start_matches(SEPARATOR);
        }
        Ok(())
    }

    /// Whether an element without a separator behind it ends with the text. Where separators came it does; where none
    /// did the reader may drop them, and what looks like a further element is not taken for a part of this one.
    fn ends_here(&mut self, ai: &str, value: &str) -> Result<(), ScanError> {
        if self.separated {
            return Ok(());
        }
        let open = || Err(ScanError::Unseparated { ai: ai.to_owned() });
        let within = |from: usize| value.get(from..).unwrap_or_default();
        let further = |from: usize| {
            let (ai, rest) = within(from).split_at_checked(2)?;
            match ai {
                "01" => Gtin::read(rest.get(..14)?).map(drop),
                "11" | "17" => date(rest.get(..6)?, self.today).map(drop),
                _ => None,
            }
        };
        let known = matches!(ai, "10" | "21");
        if value.len() > LONGEST || (1..value.len()).any(|at| further(at).is_some()) {
            return open();
        }
        // Of an element that is passed over the end matters only to what is still missing.
        if !known && self.read.lot.is_none() {
            return open();
        }
        let begins = |from: usize| {
            ["10", "21", "240"].iter().any(|ai| within(from).len() > ai.len() && within(from).starts_with(ai))
        };
        self.read.doubtful |= known && (1..value.len()).any(begins);
        Ok(())
    }

    /// Takes one element. Errors: what is wrong with it.
    fn take(&mut self, ai: &str, value: &str) -> Result<(), ScanError> {
        let of = ai.to_owned();
        if matches!(ai, "01" | "10" | "11" | "17" | "21") {
            if self.seen.contains(&of) {
                return Err(ScanError::Twice { ai: of });
            }
            self.seen.push(of.clone());
        }
        let length = match ai {
            "01" => Some(14),
            "11" | "17" => Some(6),
            "10" | "21" => None,
            _ => return Ok(()),
        };
        match length {
            _ if value.is_empty() => return Err(ScanError::Short { ai: of }),
            Some(_) if !digits(value) => return Err(ScanError::Character { ai: of }),
            Some(length) if value.len() < length => return Err(ScanError::Short { ai: of }),
            None if !value.chars().all(allowed) => return Err(ScanError::Character { ai: of }),
            _ if value.len() > length.unwrap_or(LONGEST) => return Err(ScanError::Long { ai: of }),
            _ => {}
        }
        match ai {
            "01" => self.read.product = Some(Gtin::read(value).ok_or(ScanError::CheckDigit)?),
            "10" => self.read.lot = Some(value.to_owned()),
            "21" => self.read.serial = Some(value.to_owned()),
            _ => {
                let day = date(value, self.today).ok_or(ScanError::NoDate { ai: of })?;
                match ai {
                    "17" => self.read.expiry = Some(day),
                    // A month of production is no last day.
                    _ => self.read.produced = Some(day).filter(|_| !value.ends_with("00")),
                }
            }
        }
        Ok(())
    }
}
