//! Numbers as text, and the rounding that goes with it. Views show nothing rounded in any other way.
//!
//! No zero stands at the end of a decimal, one always stands before its mark, and five or more integer
//! digits are grouped by a narrow no-break space: never by a point or a comma, which mean the decimal mark
//! somewhere. Rounding works on the shortest decimal text of a number and sends a half away from zero.

pub(in crate::quantity) mod decimal;

use super::unit::NumberStyle;
use super::{Quantity, Volume};
use decimal::Decimal;

/// Stands between a number and its unit.
pub const NO_BREAK: char = '\u{a0}';
/// Stands between groups of three digits.
pub const GROUP: char = '\u{202f}';
/// The minus sign as written; a hyphen is understood too.
pub const MINUS: char = '\u{2212}';
/// What stands where there is no finite number.
pub const NOTHING: &str = "–";

/// Shortest decimal that reads back as exactly this number. Below 0.000001 and from 10¹⁵ up, as 1.5×10⁻⁷.
pub fn full(value: f64, style: NumberStyle) -> String {
    Decimal::of(value).map_or(NOTHING.into(), |d| text(&d, style))
}

/// Rounded to this many decimals, trailing zeros removed: 4, 0.5, 12.35.
pub fn fixed(value: f64, decimals: u8, style: NumberStyle) -> String {
    full(round_to(value, decimals), style)
}

/// Rounded to this many significant figures, no zeros after the last decimal: 0.92, 1.8, 1200.
pub fn significant(value: f64, digits: u8, style: NumberStyle) -> String {
    full(round_significant(value, digits), style)
}

/// A whole number of things.
pub fn integer(value: u64, style: NumberStyle) -> String {
    let digits = value.to_string().bytes().map(|b| b.wrapping_sub(b'0')).collect();
    text(&Decimal::new(false, digits, 0), style)
}

/// A volume in mL without its unit, to 0.01 mL.
pub fn volume(volume: Volume, style: NumberStyle) -> String {
    fixed(volume.get(), 2, style)
}

/// A number with its unit, kept on one line. An empty unit adds nothing.
pub fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() { number.into() } else { format!("{number}{NO_BREAK}{unit}") }
}

/// The number as [`fixed`] shows it. What is not finite is returned unchanged.
pub fn round_to(value: f64, decimals: u8) -> f64 {
    Decimal::of(value).map_or(value, |d| d.round_at(-i32::from(decimals)).value())
}

/// The number as [`significant`] shows it; no digits counts as one. What is not finite is returned unchanged.
pub fn round_significant(value: f64, digits: u8) -> f64 {
    let digits = i32::from(digits.max(1));
    Decimal::of(value).map_or(value, |d| d.round_at(d.lead().saturating_sub(digits - 1)).value())
}

fn text(d: &Decimal, style: NumberStyle) -> String {
    let sign = if d.negative { String::from(MINUS) } else { String::new() };
    let lead = d.lead();
    if !(-6..15).contains(&lead) {
        let mantissa = Decimal { negative: false, ..d.clone() }.shift(lead.saturating_neg());
        return format!("{sign}{}×10{}", positional(&mantissa, style), superior(lead));
    }
    format!("{sign}{}", positional(d, style))
}

/// A number as it stands in a field while it is edited: no groups, a plain minus, 1.5e-30 at the extremes.
pub(in crate::quantity) fn in_field(d: &Decimal, style: NumberStyle) -> String {
    let sign = if d.negative { "-" } else { "" };
    let (whole, rest) = d.parts();
    if whole.len() + rest.len() > 30 {
        let digits = Decimal { negative: false, ..d.clone() }.shift(d.lead().saturating_neg());
        return format!("{sign}{}e{}", positional(&digits, style), d.lead());
    }
    let mark = if rest.is_empty() { String::new() } else { style.mark().into() };
    format!("{sign}{whole}{mark}{rest}")
}

fn positional(d: &Decimal, style: NumberStyle) -> String {
    let (whole, rest) = d.parts();
    let mut out = String::new();
    for (i, digit) in whole.chars().enumerate() {
        let to_come = whole.len() - i;
        if i > 0 && whole.len() >= 5 && to_come % 3 == 0 {
            out.push(GROUP);
        }
        out.push(digit);
    }
    if !rest.is_empty() {
        out.push(style.mark());
        out.push_str(&rest);
    }
    out
}

/// An exponent in superior figures: 10⁻⁷, 10⁹.
fn superior(exponent: i32) -> String {
    exponent
        .to_string()
        .chars()
        .map(|c| match c {
            '-' => '⁻',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            '0' => '⁰',
            '4' => '⁴',
            '5' => '⁵',
            '6' => '⁶',
            '7' => '⁷',
            '8' => '⁸',
            _ => '⁹',
        })
        .collect()
}

#[cfg(test)]
mod tests;
