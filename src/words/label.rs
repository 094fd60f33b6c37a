//! Words of labels on stock of their own.

use super::Phrase;
use crate::bench::stock::LabelSize;
use std::borrow::Cow;

crate::phrases! {
    /// Labels, buttons and hints.
    LabelWord {
        OnCard => "on the card only",
        Sheet => "sheet, many labels",
        Roll => "roll, one label a page",
        What => "No words are left out on a label: type is set smaller, down to 6 pt, or the label is refused for that size. Print without scaling, margins and headers of the browser, and hold a first print against the sheet.",
        Print => "Print labels",
        NoneNow => "No label: a Stop is open.",
        Choose => "Labels of their own, beside the strip of the card, are set up in Bench.",
    }
}

impl Phrase for LabelSize {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            LabelSize::Small => "50\u{a0}×\u{a0}25\u{a0}mm",
            LabelSize::Large => "57\u{a0}×\u{a0}32\u{a0}mm",
        })
    }
}

/// That a label does not fit, and where it does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    /// Its first words.
    pub label: String,
    /// The size it was to have.
    pub size: LabelSize,
}

impl Phrase for Refused {
    fn english(&self) -> Cow<'static, str> {
        let instead = match self.size.larger() {
            Some(larger) => format!("print it on {}, or cut it from the card", larger.english()),
            None => "cut it from the card".to_owned(),
        };
        let (label, size) = (self.label.trim(), self.size.english());
        Cow::Owned(format!("{label}: too much for {size} at 6\u{a0}pt; {instead}."))
    }
}
