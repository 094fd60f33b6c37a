//! The way back: from a number to the text that reads as it.

use super::{Kind, read};
use crate::quantity::unit::{Conventions, HeightUnit};
use crate::quantity::write::decimal::{Decimal, Scale};
use crate::quantity::write::{full, in_field, round_significant, significant, with_unit};

/// The text that reads back as exactly `value` [core unit] under these conventions: what a field shows
/// after its unit was changed. Where the unit cannot hold the number exactly, or the bare number would be
/// asked about, the unit is written too. Empty for what is not finite.
pub fn spell(value: f64, kind: Kind, conv: &Conventions) -> String {
    let spec = kind.spec(conv);
    let Some(core) = Decimal::of(value) else { return String::new() };
    let figure = |scale: Scale| match scale {
        Scale::Exact { times: 1, shift } => Some(core.clone().shift(shift.saturating_neg())),
        // Six figures: 154.3 lb is worth writing, 154.3235835294143 lb is not.
        scale => Decimal::of(round_significant(scale.undo(value), 6)),
    };
    let written = |scale, symbol| figure(scale).map(|d| with_unit(&in_field(&d, conv.numbers), symbol));
    let feet = (kind == Kind::Height && conv.height == HeightUnit::FeetInches)
        .then(|| feet_inches(round_significant(spec.own.scale.undo(value), 6), conv));
    let bare = written(spec.own.scale, "");
    let sure = written(spec.sure.scale, spec.sure.symbol);
    [feet, bare, sure]
        .into_iter()
        .flatten()
        .find(|text| read(text, kind, conv).value() == Some(value))
        .unwrap_or_else(|| {
            let unit = spec.units.iter().find(|u| u.scale == Scale::ONE);
            with_unit(&in_field(&core, conv.numbers), unit.map_or("", |u| u.symbol))
        })
}

/// A number for the eye, with its unit, to this many significant figures. Not finite: a dash.
pub fn shown(value: f64, kind: Kind, conv: &Conventions, digits: u8) -> String {
    let spec = kind.spec(conv);
    let own = spec.own.scale.undo(value);
    if kind == Kind::Height && conv.height == HeightUnit::FeetInches && own.is_finite() {
        return feet_inches(round_significant(own, digits), conv);
    }
    with_unit(&significant(own, digits, conv.numbers), spec.own.symbol)
}

/// 71 in as 5 ft 11 in.
fn feet_inches(inches: f64, conv: &Conventions) -> String {
    let feet = (inches / 12.0).floor();
    // Whole feet are exact, so that the rest has no more decimals than the inches had.
    let rest = crate::quantity::write::round_to(inches - 12.0 * feet, 6);
    let part = |x: f64, unit| with_unit(&full(x, conv.numbers), unit);
    format!("{} {}", part(feet, "ft"), part(rest, "in"))
}
