//! Numbers in more than one piece: 5 ft 11 in, 1:48, 1 h 30 min, 1:10.

use super::number::split;
use super::units::{self, Unit, normal};
use super::{AsRead, Kind, Offer, Reading, Refusal, Why};
use crate::quantity::unit::{Conventions, HeightUnit, NumberStyle};
use crate::quantity::write::decimal::{Decimal, Scale};
use crate::quantity::write::{in_field, round_significant, with_unit};

/// The reading, if the text has a shape that this kind knows.
pub(super) fn read(typed: &str, kind: Kind, conv: &Conventions) -> Option<Reading> {
    match kind {
        Kind::Height => height(typed, conv),
        Kind::Minutes => span(typed, kind, conv.numbers),
        Kind::Factor { .. } => dilution(typed, kind, conv.numbers),
        Kind::RatioPer100 => ratio(typed, conv.numbers),
        _ => None,
    }
}

/// A literal reading within the range of its kind, else the refusal.
fn within(value: f64, why: AsRead, kind: Kind) -> Reading {
    let (min, max) = kind.range();
    if value >= min && value <= max {
        return Reading::Value { value, as_read: why };
    }
    Reading::Wrong(Refusal::OutOfRange { value, min, max, offers: Vec::new() })
}

/// A plain number without sign, unit or doubt.
fn plain(text: &str, style: NumberStyle) -> Option<f64> {
    let text = text.trim();
    text.starts_with(|c: char| c.is_ascii_digit()).then(|| super::number(text, style))?
}

fn height(typed: &str, conv: &Conventions) -> Option<Reading> {
    let lower = typed.to_lowercase();
    let own = conv.height == HeightUnit::FeetInches;
    let names = ["feet", "foot", "ft", "'", "′", "’"];
    let with_sign = names.iter().find_map(|name| lower.split_once(name));
    let (feet, inches) = match with_sign {
        Some((feet, inches)) => (feet, inches.trim_start_matches('.').trim()),
        None if own => lower.split_once(char::is_whitespace)?,
        None => return None,
    };
    let inches = ["inches", "inch", "in", "''", "\"", "″", "”"]
        .iter()
        .find_map(|name| inches.strip_suffix(name))
        .unwrap_or(inches);
    // 5.9 ft and 5 ft alone are numbers with a unit.
    if inches.trim().is_empty() {
        return None;
    }
    let (feet, inches) = (plain(feet, conv.numbers)?, plain(inches, conv.numbers)?);
    if feet.fract() != 0.0 || !(0.0..=8.0).contains(&feet) || !(0.0..12.0).contains(&inches) {
        return with_sign.map(|_| Reading::Wrong(Refusal::NotANumber));
    }
    let value = HeightUnit::FeetInches.to_core(12.0 * feet + inches);
    let why = if own { AsRead::AsTyped } else { AsRead::Otherwise(Why::UnitTyped("ft")) };
    Some(within(value, why, Kind::Height))
}

/// 1:48 in minutes and seconds, 1:05:00 with hours, 1 h 30 min, 10 min 30 s.
fn span(typed: &str, kind: Kind, style: NumberStyle) -> Option<Reading> {
    let parts: Vec<&str> = typed.split(':').map(str::trim).collect();
    let digits = |s: &str| s.bytes().all(|b| b.is_ascii_digit()).then(|| s.parse::<u32>().ok()).flatten();
    let sixty = |s: &str| digits(s).filter(|n| s.len() == 2 && *n < 60);
    let seconds = match parts.as_slice() {
        [m, s] => digits(m)?.checked_mul(60)?.checked_add(sixty(s)?)?,
        [h, m, s] => digits(h)?.checked_mul(3600)?.checked_add(sixty(m)? * 60 + sixty(s)?)?,
        _ => return pieces(typed, kind, style),
    };
    Some(within(f64::from(seconds), AsRead::Otherwise(Why::UnitTyped("min:s")), kind))
}

/// Two or more numbers, each with a smaller unit than the one before.
fn pieces(typed: &str, kind: Kind, style: NumberStyle) -> Option<Reading> {
    let mut rest = typed;
    let (mut total, mut count, mut last) = (0.0, 0, f64::INFINITY);
    while !rest.is_empty() {
        let unit_at = rest.find(char::is_alphabetic)?;
        let (number, after) = rest.split_at_checked(unit_at)?;
        let end = after.find(|c: char| !c.is_alphabetic()).unwrap_or(after.len());
        let (name, after) = after.split_at_checked(end)?;
        let unit: &Unit = units::TIME.iter().find(|u| u.names.contains(&normal(name).as_str()))?;
        let value = unit.scale.to_core(&Decimal::of(plain(number, style)?)?);
        let size = unit.scale.to_core(&Decimal::of(1.0)?);
        if size >= last {
            return None;
        }
        (total, count, last, rest) = (total + value, count + 1, size, after.trim_start());
    }
    (count >= 2).then(|| within(total, AsRead::AsTyped, kind))
}

/// Two numbers parted by a colon or a stroke, both above zero.
fn two(typed: &str, style: NumberStyle) -> Option<(f64, f64)> {
    let (a, b) = typed.split_once([':', '/'])?;
    Some((plain(a, style)?, plain(b, style)?)).filter(|(a, b)| *a > 0.0 && *b > 0.0)
}

/// 1:10 is one part in ten to some and one part to ten to others.
fn dilution(typed: &str, kind: Kind, style: NumberStyle) -> Option<Reading> {
    let (a, b) = two(typed, style)?;
    let whole = round_significant(b / a, 6);
    let parts = round_significant((a + b) / a, 6);
    let (min, max) = kind.range();
    let options: Vec<Offer> = [(whole, Why::PartInWhole), (parts, Why::PartToParts)]
        .into_iter()
        .filter(|(value, _)| *value >= min && *value <= max)
        .filter_map(|(value, why)| Some(Offer { value, why, text: in_field(&Decimal::of(value)?, style) }))
        .collect();
    Some(ask_or_refuse(options, whole, kind))
}

/// 1:9 for anticoagulant, or per cent: of the blood, or of the fill?
fn ratio(typed: &str, style: NumberStyle) -> Option<Reading> {
    let (a, b) = match two(typed, style) {
        Some(pair) => pair,
        None => {
            let number = split(typed, style)
                .ok()
                .filter(|t| units::PERCENT.names.contains(&normal(t.rest).as_str()))?;
            let [only] = number.figures.as_slice() else { return None };
            (only.number.value(), 100.0)
        }
    };
    let (min, max) = Kind::RatioPer100.range();
    let options: Vec<Offer> = [(a / b, Why::PartToParts), (a / (b - a), Why::PartInWhole)]
        .into_iter()
        .filter_map(|(ratio, why)| {
            let per_100 = Decimal::of(round_significant(100.0 * ratio, 4))?;
            let value = Scale::tens(-2).to_core(&per_100);
            let text = with_unit(&in_field(&per_100, style), "mL/100 mL");
            (value >= min && value <= max).then_some(Offer { value, why, text })
        })
        .collect();
    Some(ask_or_refuse(options, a / b, Kind::RatioPer100))
}

fn ask_or_refuse(options: Vec<Offer>, value: f64, kind: Kind) -> Reading {
    if options.is_empty() {
        let (min, max) = kind.range();
        return Reading::Wrong(Refusal::OutOfRange { value, min, max, offers: options });
    }
    Reading::Ask { options }
}
