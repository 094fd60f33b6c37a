//! Words of the code on a card, and of reading one back.

use super::Phrase;
use crate::export::bench_link::{LONGEST, NoBench};
use crate::export::code::{NoCode, Unread};
use std::borrow::Cow;

crate::phrases! {
    /// Labels, buttons, names.
    CodeWord {
        ReferenceNo => "no",
        ReferenceYes => "yes, ours is a coded one",
        Read => "Read a card’s code",
        Typed => "What the reader types",
        Look => "Look what it holds",
        Add => "Add it as a case",
        Leave => "Leave it",
        Open => "Open it",
        Added => "Added to the open cases.",
        KitName => "from a card’s code",
        Sign => "Check sign",
        Begun => "Begun",
        Ended => "Signed without a product",
        Holds => "The code holds",
        Alone => "Print the code alone",
        AloneTitle => "Code of a preparation card",
    }
}

crate::phrases! {
    /// Sentences.
    CodeSays {
        ReadWhat => "Put the cursor in the field and read the code on the card with a reader that types; where there are two codes, both, in any order. A phone’s text can be pasted. Nothing is added before you confirm it.",
        Closed => "Code: this case as typed, closed under the clinic’s passphrase.",
        Clear => "Code: quantities, lots as typed and times of this case; no name, nothing typed in words.",
        ClearReference => "Code: patient reference, quantities, lots as typed and times of this case; no name, nothing typed in words.",
        NoRoom => "The code has no room on this card; it can be printed alone.",
        WholeHeld => "It was closed and holds the whole case as typed when the card printed. Signatures and what was shown then are not in it: hold it against the card.",
        ClearHeld => "It holds quantities, lots and times. Names, site, answers, notes, checks, decisions and what a Stop rested on are not in it: the case waits for the prescriber before it is handed over.",
        Asks => "This code is encrypted, and not under a passphrase that is open here. Type the one that held when it printed, or its recovery key.",
        NotItsPassphrase => "That does not open the code. Look at capitals and spaces, and type it again.",
        Here => "This case is here already. Nothing is added: the one that is here stays as it is.",
        NotAllRead => "Not all records of this device are read yet, so it is not known whether this case is among them. It can be added once they are.",
        OtherSign => "Its check sign is in use here, so it gets another than the card’s.",
    }
}

impl Phrase for NoCode {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            NoCode::TooLong => "No code: this case is longer than two codes hold. A backup keeps it.",
            NoCode::NotClosed => "No code: it could not be closed under the passphrase.",
        })
    }
}

impl Phrase for Unread {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            Unread::Empty => "Nothing was read.",
            Unread::NotACode => "This is no code of a card printed by Strawline.",
            Unread::Newer => {
                "This code was printed by a newer Strawline. Load that version, then read it again."
            }
            Unread::Older => {
                "This code was printed by a version before the first that packs as this one does, and no other reads it. Type the case in from the card."
            }
            Unread::Part { missing: 1 } => "The card has two codes: read the first one too.",
            Unread::Part { .. } => "The card has two codes: read the second one too.",
            Unread::TwoCards => {
                "These are codes of two cards, or of two prints of one. Read those of one card."
            }
            Unread::NotWhole => {
                "The code did not arrive whole: a character is missing or another. Read it again; a reader must be set \
                 to this keyboard’s layout."
            }
            Unread::Closed => "This code is encrypted under a passphrase that is not open here.",
            Unread::NoCase => "What this code holds cannot be read as a case.",
        })
    }
}

/// Where a case on paper comes from: the day and clock it was read; when the case had been signed, and that record's
/// check.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RebuiltLine {
    /// Day and clock.
    pub read: String,
    /// The whole case; else quantities, lots and times.
    pub whole: bool,
    /// Day and clock of the signature.
    pub signed: Option<String>,
    /// Start of the seal.
    pub check: Option<String>,
    /// Day and clock the code printed.
    pub printed: Option<String>,
}

/// When a code that was read printed, day and clock; older codes do not say.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CodePrinted(pub Option<String>);

impl Phrase for CodePrinted {
    fn english(&self) -> Cow<'static, str> {
        match &self.0 {
            Some(at) => Cow::Owned(format!("Printed {at}; what was entered after that is not in it.")),
            None => {
                Cow::Borrowed("It does not say when it printed; what was entered after that is not in it.")
            }
        }
    }
}

impl Phrase for RebuiltLine {
    fn english(&self) -> Cow<'static, str> {
        let from = if self.whole {
            "the code on a card"
        } else {
            "quantities, lots and times in the code on a card"
        };
        let check = self.check.as_ref().map(|c| format!(", record check {c}")).unwrap_or_default();
        let signed = match &self.signed {
            Some(at) if self.whole => format!("that record was signed {at}{check}"),
            Some(at) => format!("it names a signature of {at}{check}, which nothing here confirms"),
            None => "not signed when the card printed".to_owned(),
        };
        let printed = match &self.printed {
            Some(at) => format!(" its code printed {at}, and what was entered later is not in it;"),
            None => String::new(),
        };
        Cow::Owned(format!("Rebuilt from {from}, {};{printed} {signed}.", self.read))
    }
}

/// Why a link carries no Bench, or a Bench no link.
impl Phrase for NoBench {
    fn english(&self) -> Cow<'static, str> {
        Cow::Borrowed(match self {
            NoBench::TooLong { found } => {
                return Cow::Owned(format!(
                    "Too long for a link: {found} characters, and {LONGEST} at most behind the #. Use the file."
                ));
            }
            NoBench::Newer => {
                "This link was made by a newer Strawline. Load that version, then open it again."
            }
            NoBench::Older => {
                "This link was made by a version before the first that packs as this one does. Make it anew there as a file, or type the Bench in."
            }
            NoBench::Character { at } => {
                return Cow::Owned(format!(
                    "This link is no Bench, or was changed on the way: character {at} behind “bench=” belongs in none. Nothing was changed."
                ));
            }
            NoBench::NotWhole => {
                "The Bench behind the # of this link did not arrive whole: its end does not fit. Nothing was changed; copy the link again, or use the file."
            }
            NoBench::Refused(reason) => {
                return Cow::Owned(format!("The Bench in this link is not taken. {}", reason.english()));
            }
        })
    }
}
