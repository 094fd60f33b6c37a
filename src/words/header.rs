//! Words of the header: banners, clocks, stages, and whether the draft is kept.

use super::Phrase;
use super::unit;
use crate::assess::spin::Happening;
use crate::quantity::time::{Instant, Offset};
use crate::quantity::unit::Conventions;
use std::borrow::Cow;

crate::phrases! {
    /// Short words of the clock strip.
    Clock {
        SpinBy => "spin by",
        UseBy => "use by",
        UseByAtLatest => "use by, at the latest",
        Due => "due",
        Unfit => "clock does not fit",
    }
}

/// What a case is doing, short enough for the clock strip.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NowShort<'a>(pub &'a Happening);

impl Phrase for NowShort<'_> {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self.0 {
            Happening::NotBegun => "not begun",
            Happening::Drawing { .. } => "drawing",
            Happening::WaitingToSpin => "waiting to spin",
            Happening::Stage { index, .. } => {
                return Cow::Owned(format!("stage {}", u32::from(*index).saturating_add(1)));
            }
            Happening::Stopped { index, .. } => {
                return Cow::Owned(format!("stage {} stopped", u32::from(*index).saturating_add(1)));
            }
            Happening::SpinOver => "spun",
            Happening::Collected => "collected",
            Happening::HandedOver => "handed over",
            Happening::Ended => "no product",
        })
    }
}

/// Time until a moment, or that it has passed: "in 2 h 38 min", "past".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Until<'a> {
    /// The moment.
    pub at: Instant,
    /// Now.
    pub now: Instant,
    /// Number style of the reader.
    pub conventions: &'a Conventions,
}

impl Phrase for Until<'_> {
    fn english(&self) -> Cow<'static, str> {
        match self.at.since(self.now) {
            Some(left) if left.0 >= 0 => Cow::Owned(format!("in {}", unit::span(left, self.conventions))),
            _ => Cow::Borrowed("past"),
        }
    }
}

/// That the draft was stored, and when.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SavedAt(pub Instant, pub Offset);

impl Phrase for SavedAt {
    fn english(&self) -> Cow<'static, str> {
        Cow::Owned(format!("Draft saved {}", unit::clock(self.0, self.1)))
    }
}

/// A check sign as it is read out: "Check sign 7 K".
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SignSpoken(pub crate::draft::CheckSign);

impl Phrase for SignSpoken {
    fn english(&self) -> Cow<'static, str> {
        let spaced: Vec<String> = self.0.to_string().chars().map(String::from).collect();
        Cow::Owned(format!("Check sign {}", spaced.join(" ")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::draft::CheckSign;

    #[test]
    fn time_left_never_promises_more_than_there_is() {
        let c = Conventions::default();
        let say = |ms| Until { at: Instant(ms), now: Instant(0), conventions: &c }.english().into_owned();
        assert_eq!(say(9_539_000), "in 2\u{a0}h\u{a0}38\u{a0}min");
        assert_eq!(say(59_999), "in 59\u{a0}s");
        assert_eq!(say(-1), "past");
    }

    #[test]
    fn a_sign_is_read_out_letter_by_letter() {
        let sign = CheckSign::try_from("7K".to_owned()).unwrap();
        assert_eq!(SignSpoken(sign).english(), "Check sign 7 K");
    }
}
