//! What is said of a bar code scanned into the field of a lot.

use super::Phrase;
use super::unit::Day;
use crate::scan::{Elements, ScanError};
use std::borrow::Cow;

crate::phrases! {
    /// Beside what was scanned into.
    ScanWord {
        TakeBack => "Take the code back",
        NoIdentifier => "This is the code of a label and no identifier. Type again what stood here, and scan into the field of the lot.",
    }
}

crate::phrases! {
    /// The camera at the field of a lot.
    CameraWord {
        Open => "Read by camera",
        Close => "Close the camera",
        Preview => "What the camera sees",
    }
}

crate::phrases! {
    /// What is said of the camera.
    CameraSays {
        Absent => "Typed, or scanned by a reader that types: both count the same.",
        Insecure => "Typed, or scanned by a reader that types: both count the same. Browsers give a camera only to pages that come by https or from this device.",
        Opening => "The browser asks for the camera. No picture is kept.",
        Looking => "Hold the code into the picture. No picture is kept.",
        Several => "More than one code is in the picture: bring one alone into it.",
        NoLot => "This code names no lot that can be relied on. Hold another one into the picture, or type the lot.",
        Nothing => "No code of a label was read in a minute; the camera is closed.",
        Denied => "The browser was not allowed the camera. Allow it for this page, or type the lot.",
        None => "No camera was found. Type the lot, or scan it.",
        NoSymbols => "This browser reads none of the codes that labels carry. Type the lot, or scan it.",
        Failed => "The camera could not be started. Type the lot, or scan it.",
    }
}

/// What a code filled in.
#[derive(Debug, Clone, Copy)]
pub struct FromCode<'a>(pub &'a Elements);

impl Phrase for FromCode<'_> {
    fn english(&self) -> Cow<'static, str> {
        let read = self.0;
        let day = |day| Day(day).english().into_owned();
        let lot = read.lot.as_ref().map_or("no lot".to_owned(), |lot| format!("lot {lot}"));
        let parts = [
            Some(lot),
            read.expiry.map(|last| format!("expiry {}", day(last))),
            read.produced.map(|made| format!("made {}", day(made))),
            read.serial.as_ref().map(|serial| format!("serial number {serial}")),
            read.product.map(|product| format!("product number {product}")),
        ];
        let parts: Vec<_> = parts.into_iter().flatten().collect();
        let doubt = if read.doubtful {
            " Compare it with the label: no separator came, and it may hold more than one element."
        } else {
            ""
        };
        Cow::Owned(format!("From the code: {}.{doubt}", parts.join(", ")))
    }
}

/// Why a code was refused, and what to do.
#[derive(Debug, Clone, Copy)]
pub struct CodeRefused<'a>(pub &'a ScanError);

impl Phrase for CodeRefused<'_> {
    fn english(&self) -> Cow<'static, str> {
        use ScanError as E;
        let why = match self.0 {
            E::OtherSymbol | E::Nothing => "This code names neither lot nor expiry".to_owned(),
            E::ProductAlone => {
                return "This is a product number, not a lot. Scan the code that holds the lot, or type lot and expiry from the label. If the lot really is these digits, type (10) before them.".into();
            }
            E::Link => "This code is the address of a page and is not read here".to_owned(),
            E::Behind => {
                return "A code was scanned behind another text. Empty the field and scan again.".into();
            }
            E::NoIdentifier => "The code could not be read to its end".to_owned(),
            E::Short { ai } => format!("In the code {} is too short", name(ai)),
            E::Long { ai } => format!("In the code {} is too long", name(ai)),
            E::Character { ai } => format!("In the code {} has a character that cannot be in it", name(ai)),
            E::CheckDigit => "The check digit of the product number does not hold".to_owned(),
            E::NoDate { ai } => format!("In the code {} is no day of the calendar", name(ai)),
            E::Twice { ai } => format!("The code names {} twice", name(ai)),
            E::Unseparated { ai } => {
                let of = name(ai);
                return format!(
                    "Where {of} ends is not certain: the reader drops the separator behind it. Type lot and expiry from the label, and have the reader set to send it (FNC1 as group separator)."
                )
                .into();
            }
        };
        Cow::Owned(format!("{why}. Scan again, or type lot and expiry from the label."))
    }
}

fn name(ai: &str) -> Cow<'static, str> {
    Cow::Borrowed(match ai {
        "01" => "the product number",
        "10" => "the lot",
        "11" => "the production date",
        "17" => "the expiry",
        "21" => "the serial number",
        _ => return Cow::Owned(format!("the element that begins with {ai}")),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::time::Date;

    #[test]
    fn what_a_code_filled_in_is_told_in_full() {
        let read = crate::scan::read(
            "]d2010629104150021317270300210007\u{1d}10K-0058",
            Date::new(2026, 3, 12).unwrap(),
        );
        let read = read.unwrap().unwrap();
        assert_eq!(
            FromCode(&read).english().replace('\u{a0}', " "),
            "From the code: lot K-0058, expiry 31 Mar 2027, serial number 0007, product number 06291041500213."
        );
        let lone = Elements { lot: None, serial: None, expiry: None, doubtful: true, ..read };
        assert!(FromCode(&lone).english().starts_with("From the code: no lot, product number"));
        assert!(FromCode(&lone).english().contains("Compare it with the label"));
    }
}
