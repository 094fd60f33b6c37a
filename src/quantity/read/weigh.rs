//! Weighs the ways in which a number can be read against what the field can take.

use super::kind::Spec;
use super::number::{Figures, Typed, split};
use super::units::{Unit, normal};
use super::{AsRead, Offer, Reading, Refusal, Why};
use crate::quantity::unit::NumberStyle;
use crate::quantity::write::decimal::{Decimal, Scale};
use crate::quantity::write::in_field;
use crate::quantity::write::with_unit;

/// Most answers put to a person at once.
const MOST: usize = 4;

struct Found {
    offer: Offer,
    /// May be taken without a question if it is the only one.
    sure: bool,
}

pub(super) fn read(typed: &str, spec: &Spec, style: NumberStyle) -> Reading {
    let Typed { figures, rest } = match split(typed, style) {
        Ok(typed) => typed,
        Err(refusal) => return Reading::Wrong(refusal),
    };
    if figures.iter().any(|f| !f.number.value().is_finite()) {
        return Reading::Wrong(Refusal::NotANumber);
    }
    let weighing = Weighing { spec, style };
    if rest.is_empty() {
        return weighing.decide(&figures, None);
    }
    let name = normal(rest);
    let mut known = spec.units.iter().filter(|u| u.names.contains(&name.as_str()));
    match known.next() {
        Some(unit) => {
            // Single cells have no fractions: 210.000 /µL is grouped in either style.
            let grouped =
                figures.iter().filter(|f| unit.counts_single_cells() && f.why == Some(Why::Grouped));
            let grouped: Vec<Figures> = grouped.cloned().collect();
            let figures = if grouped.is_empty() { figures } else { grouped };
            weighing.decide(&figures, Some(unit))
        }
        None if rest.contains(char::is_alphabetic) => Reading::Wrong(Refusal::UnknownUnit(rest.into())),
        None => Reading::Wrong(Refusal::NotANumber),
    }
}

/// See [`super::against`].
pub(super) fn against(
    typed: &str,
    spec: &Spec,
    style: NumberStyle,
    fits: impl Fn(f64) -> bool,
) -> Option<Reading> {
    let Typed { figures, rest } = split(typed, style).ok()?;
    let figures = figures.first().filter(|_| rest.is_empty())?;
    let weighing = Weighing { spec, style };
    let literal = weighing.literal(figures, spec.own.scale.to_core(&figures.number));
    let others = spec.others.iter().map(|other| (other.scale.to_core(&figures.number), other.why));
    let others = others.filter(|(value, _)| weighing.is_usual(*value) && fits(*value));
    let others = others.map(|(value, why)| weighing.otherwise(figures, value, why));
    Some(Reading::Ask { options: std::iter::once(literal).chain(others).take(MOST).collect() })
}

struct Weighing<'a> {
    spec: &'a Spec,
    style: NumberStyle,
}

impl Weighing<'_> {
    fn decide(&self, figures: &[Figures], unit: Option<&Unit>) -> Reading {
        let ways = |f| unit.map_or_else(|| self.bare(f), |u| self.with(f, u));
        let gather = |last: bool| {
            let some = figures.iter().filter(|f| f.last_resort == last).flat_map(&ways);
            let mut all: Vec<Found> = Vec::new();
            for found in some {
                match all.iter_mut().find(|f| f.offer.value == found.offer.value) {
                    // Two ways to one number: the one that is not literal is the one to tell.
                    Some(same) => {
                        let sure = same.sure || found.sure;
                        if same.offer.why != Why::AsTyped {
                            *same = found;
                        }
                        same.sure = sure;
                    }
                    None => all.push(found),
                }
            }
            all
        };
        let mut all = gather(false);
        if !matches!(all.as_slice(), [Found { sure: true, .. }]) {
            all.extend(gather(true));
        }
        if let [Found { offer, sure: true }] = all.as_slice() {
            let as_read = match offer.why {
                Why::AsTyped => AsRead::AsTyped,
                why => AsRead::Otherwise(why),
            };
            return Reading::Value { value: offer.value, as_read };
        }
        if all.is_empty() && unit.is_none() {
            all = figures.iter().flat_map(|f| self.unlikely(f)).collect();
        }
        let asked = !all.is_empty();
        let mut offers: Vec<Offer> = Vec::new();
        let usual = all.iter().any(|f| self.is_usual(f.offer.value));
        let slips = figures.iter().filter(|_| !usual).flat_map(|f| self.slips(f, unit));
        for offer in all.into_iter().map(|f| f.offer).chain(slips) {
            if offers.len() < MOST && offers.iter().all(|o| o.value != offer.value) {
                offers.push(offer);
            }
        }
        if asked {
            return Reading::Ask { options: offers };
        }
        let scale = unit.map_or(self.spec.own.scale, |u| u.scale);
        Reading::Wrong(self.refuse(figures, scale, offers))
    }

    /// A number without unit: literally, and in the units it may have been meant in.
    fn bare(&self, f: &Figures) -> Vec<Found> {
        let mut out = Vec::new();
        let own = &self.spec.own;
        let literal = own.scale.to_core(&f.number);
        if self.is_allowed(literal) {
            let offer = self.literal(f, literal);
            out.push(Found { offer, sure: self.is_usual(literal) });
        }
        if !self.is_usual(literal) {
            for other in self.spec.others {
                let value = other.scale.to_core(&f.number);
                if self.is_usual(value) {
                    out.push(Found { offer: self.otherwise(f, value, other.why), sure: other.take });
                }
            }
        }
        out
    }

    /// A number with its unit: nothing to ask, whatever it is.
    fn with(&self, f: &Figures, unit: &Unit) -> Vec<Found> {
        let value = unit.scale.to_core(&f.number);
        if !self.is_allowed(value) {
            return Vec::new();
        }
        let same = unit.scale == self.spec.own.scale;
        let typed = if same { Why::AsTyped } else { Why::UnitTyped(unit.symbol) };
        let text = with_unit(&in_field(&f.number, self.style), unit.symbol);
        vec![Found { offer: Offer { value, why: f.why.unwrap_or(typed), text }, sure: true }]
    }

    /// Where nothing usual was found: other units that are at least possible.
    fn unlikely(&self, f: &Figures) -> Vec<Found> {
        let take = self.spec.others.iter().filter(|o| o.take);
        take.map(|o| (o.scale.to_core(&f.number), o.why))
            .filter(|(value, _)| self.is_allowed(*value))
            .map(|(value, why)| Found { offer: self.otherwise(f, value, why), sure: false })
            .collect()
    }

    /// Usual numbers that are a slip of the finger away, in the unit typed or, without one, in any.
    fn slips(&self, f: &Figures, unit: Option<&Unit>) -> Vec<Offer> {
        let own = unit.map_or(self.spec.own.scale, |u| u.scale);
        let others = self.spec.others.iter().filter(|o| o.take && unit.is_none()).map(|o| o.scale);
        let slip = |scale: Scale| {
            self.spec.slips.iter().map(move |&tens| {
                let number = f.number.clone().shift(tens);
                (scale.to_core(&number), number)
            })
        };
        std::iter::once(own)
            .chain(others)
            .flat_map(slip)
            .filter(|(value, _)| self.is_usual(*value))
            .map(|(value, number)| {
                let text = match unit {
                    Some(unit) => with_unit(&in_field(&number, self.style), unit.symbol),
                    None => self.sure_text(value, &number),
                };
                Offer { value, why: Why::Slip, text }
            })
            .collect()
    }

    fn literal(&self, f: &Figures, value: f64) -> Offer {
        let text = self.sure_text(value, &f.number);
        Offer { value, why: f.why.unwrap_or(Why::AsTyped), text }
    }

    fn otherwise(&self, f: &Figures, value: f64, why: Why) -> Offer {
        let text = match why {
            Why::OtherUnit(symbol) => with_unit(&in_field(&f.number, self.style), symbol),
            _ => self.sure_text(value, &f.number),
        };
        Offer { value, why, text }
    }

    /// The value with a unit that leaves no doubt; `number` is it in the field's own unit, if that is not
    /// a power of ten of the core's.
    fn sure_text(&self, value: f64, number: &Decimal) -> String {
        let sure = &self.spec.sure;
        let number = match (sure.scale, Decimal::of(value)) {
            (Scale::Exact { times: 1, shift }, Some(core)) => core.shift(shift.saturating_neg()),
            _ => number.clone(),
        };
        with_unit(&in_field(&number, self.style), sure.symbol)
    }

    fn is_allowed(&self, value: f64) -> bool {
        let (min, max) = self.spec.range;
        value >= min && value <= max && !(self.spec.whole && value.fract() != 0.0)
    }

    /// Zero stays zero in every unit, so that there is nothing to ask.
    fn is_usual(&self, value: f64) -> bool {
        let (low, high) = self.spec.usual;
        self.is_allowed(value) && (value == 0.0 || (value >= low && value <= high))
    }

    fn refuse(&self, figures: &[Figures], scale: Scale, offers: Vec<Offer>) -> Refusal {
        let (min, max) = self.spec.range;
        let value = figures.first().map_or(f64::NAN, |f| scale.to_core(&f.number));
        if self.spec.whole && value >= min && value <= max {
            return Refusal::NotWhole { value };
        }
        Refusal::OutOfRange { value, min, max, offers }
    }
}
