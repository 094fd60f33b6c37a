//! The number at the head of a typed text, in every way it can be read, and what follows it.

use super::{Refusal, Why};
use crate::quantity::unit::NumberStyle;
use crate::quantity::write::decimal::Decimal;

/// One way to read the figures.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Figures {
    pub number: Decimal,
    /// None: literally, in the style of the field.
    pub why: Option<Why>,
    /// Looked at only if no other way leads anywhere.
    pub last_resort: bool,
}

/// A number with what follows it, without space at either end.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Typed<'a> {
    pub figures: Vec<Figures>,
    pub rest: &'a str,
}

/// Reads a number as `write` writes it, or as typed without a doubt; none if anything else is in the text.
pub fn number(text: &str, style: NumberStyle) -> Option<f64> {
    if text.chars().count() > super::LONGEST {
        return None;
    }
    let typed = split(text, style).ok()?;
    let mut figures = typed.figures.into_iter().filter(|f| !f.last_resort);
    let (Some(only), None) = (figures.next(), figures.next()) else { return None };
    let tens = match typed.rest {
        "" => 0,
        unit => super::units::normal(unit).strip_prefix("10^")?.parse().ok()?,
    };
    Some(only.number.shift(tens).value()).filter(|x| x.is_finite())
}

fn is_space(c: char) -> bool {
    c.is_whitespace()
}

fn is_apostrophe(c: char) -> bool {
    matches!(c, '\'' | '’' | 'ʼ')
}

/// Superior figures stand in units (10⁹, cm³) and are no figures of another script.
fn is_superior(c: char) -> bool {
    matches!(c, '⁰' | '¹' | '²' | '³' | '⁴'..='⁹')
}

/// Parts number and unit. Errors: no number, figures of another script, groups that are none.
pub(super) fn split(text: &str, style: NumberStyle) -> Result<Typed<'_>, Refusal> {
    let text = text.trim();
    if text.chars().any(|c| c.is_numeric() && !c.is_ascii_digit() && !is_superior(c)) {
        return Err(Refusal::OtherDigits);
    }
    let (negative, text) = match text.strip_prefix(['-', '\u{2212}', '–']) {
        Some(rest) => (true, rest.trim_start()),
        None => (false, text.strip_prefix('+').unwrap_or(text).trim_start()),
    };
    let end = body_end(text);
    let (body, rest) = text.split_at_checked(end).unwrap_or((text, ""));
    if !body.contains(|c: char| c.is_ascii_digit()) {
        return Err(Refusal::NotANumber);
    }
    let (exponent, rest) = exponent(rest);
    let figures = ways(body, style)?
        .into_iter()
        .map(|(whole, part, why, last_resort)| {
            let digits = whole.bytes().chain(part.bytes()).map(|b| b.wrapping_sub(b'0')).collect();
            let places = i32::try_from(part.len()).unwrap_or(0);
            let number = Decimal::new(negative, digits, exponent.saturating_sub(places));
            Figures { number, why, last_resort }
        })
        .collect();
    Ok(Typed { figures, rest: rest.trim() })
}

/// Where the figures end: spaces and apostrophes belong to them only between digits.
fn body_end(text: &str) -> usize {
    let mut end = 0;
    let mut chars = text.char_indices().peekable();
    while let Some((at, c)) = chars.next() {
        let next = chars.peek().map(|&(_, c)| c);
        let inside = at > 0
            && next.is_some_and(|c| c.is_ascii_digit())
            && ((is_space(c) && !is_power(text.get(at..).unwrap_or_default())) || is_apostrophe(c));
        if !(c.is_ascii_digit() || matches!(c, '.' | ',') || inside) {
            break;
        }
        end = at + c.len_utf8();
    }
    end
}

/// Whether a unit such as 10^9/L, 10*9/L, 10⁹/L or 10e9/L begins here: its 10 is no group of digits.
fn is_power(text: &str) -> bool {
    let Some(after) = text.trim_start().strip_prefix("10") else { return false };
    match after.chars().next() {
        Some('^' | '*') => true,
        Some('e' | 'E') => after.chars().nth(1).is_some_and(|c| c.is_ascii_digit()),
        Some(c) => is_superior(c),
        None => false,
    }
}

/// The 9 of 2.1e9, and what follows it.
fn exponent(rest: &str) -> (i32, &str) {
    let Some(after) = rest.strip_prefix(['e', 'E']) else { return (0, rest) };
    let (negative, digits) = match after.strip_prefix(['-', '\u{2212}']) {
        Some(digits) => (true, digits),
        None => (false, after.strip_prefix('+').unwrap_or(after)),
    };
    let end = digits.find(|c: char| !c.is_ascii_digit()).unwrap_or(digits.len());
    match digits.split_at_checked(end) {
        Some((power, rest)) if !power.is_empty() => {
            let power = power.parse().unwrap_or(i32::MAX);
            (if negative { -power } else { power }, rest)
        }
        _ => (0, rest),
    }
}

/// Digits before and after the mark, why, and whether only as a last resort.
type Way = (String, String, Option<Why>, bool);

/// Digits before and after the decimal mark, for each way to take points and commas.
fn ways(body: &str, style: NumberStyle) -> Result<Vec<Way>, Refusal> {
    let own = style.mark();
    let whole_only = |text: &str, mark| ungrouped(text, mark).ok_or(Refusal::Grouping);
    let split_at = |mark: char, by: Option<char>| {
        let (whole, part) = body.rsplit_once(mark).ok_or(Refusal::Grouping)?;
        if !part.bytes().all(|b| b.is_ascii_digit()) {
            return Err(Refusal::Grouping);
        }
        let why = (mark != own).then_some(Why::OtherDecimalMark);
        let whole = if whole.is_empty() { String::new() } else { whole_only(whole, by)? };
        Ok((whole, part.to_string(), why, false))
    };
    let count = |mark| body.chars().filter(|&c| c == mark).count();
    match (count('.'), count(',')) {
        (0, 0) => Ok(vec![(whole_only(body, None)?, String::new(), None, false)]),
        (1, n) if n > 0 && body.rfind('.') > body.rfind(',') => Ok(vec![split_at('.', Some(','))?]),
        (n, 1) if n > 0 && body.rfind(',') > body.rfind('.') => Ok(vec![split_at(',', Some('.'))?]),
        (0, 1) | (1, 0) => {
            let mark = if body.contains('.') { '.' } else { ',' };
            let mut ways = vec![split_at(mark, None)?];
            if let Some(whole) = ungrouped(body, Some(mark)) {
                // The mark of the field's own style is the decimal mark unless that leads nowhere.
                ways.push((whole, String::new(), Some(Why::Grouped), mark == own));
            }
            Ok(ways)
        }
        (0, _) => Ok(vec![(whole_only(body, Some(','))?, String::new(), Some(Why::Grouped), false)]),
        (_, 0) => Ok(vec![(whole_only(body, Some('.'))?, String::new(), Some(Why::Grouped), false)]),
        _ => Err(Refusal::Grouping),
    }
}

/// Digits without the one kind of sign that parts them in threes: spaces, apostrophes or `mark`. None if
/// they are not parted in threes or by two kinds of sign.
fn ungrouped(text: &str, mark: Option<char>) -> Option<String> {
    let kind = |c: char| match c {
        c if is_space(c) => ' ',
        c if is_apostrophe(c) => '\'',
        c => c,
    };
    let mut signs = text.chars().filter(|c| !c.is_ascii_digit()).map(kind);
    let Some(sign) = signs.next() else { return Some(text.into()) };
    if signs.any(|s| s != sign) || !(sign == ' ' || sign == '\'' || Some(sign) == mark) {
        return None;
    }
    let mut groups = text.split(|c: char| !c.is_ascii_digit());
    let first = groups.next()?;
    let threes = groups.all(|g| g.len() == 3);
    ((1..=3).contains(&first.len()) && !first.starts_with('0') && threes)
        .then(|| text.chars().filter(char::is_ascii_digit).collect())
}
