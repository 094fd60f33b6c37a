//! Every sentence a person reads, by language.
//!
//! A phrase is a value: an entry of an enum, with its numbers already written. Each language answers every
//! phrase by an exhaustive match, so a missing sentence does not compile. [`Language::Pseudo`] turns any English sentence
//! into an unmistakable other one; a page in which it leaves plain English anywhere has a sentence hard-wired.

pub mod banner;
pub mod bench;
pub mod card;
pub mod charts;
pub mod choice;
pub mod chosen;
pub mod classification;
pub mod closed;
pub mod code;
pub mod column;
pub mod counting;
pub mod draw;
pub mod field;
pub mod finding;
pub mod header;
pub mod label;
pub mod literature;
pub mod log;
pub mod order;
pub mod out;
pub mod page;
pub mod plan;
pub mod product;
pub mod quality;
pub mod reading;
pub mod records;
pub mod rotor;
pub mod scan;
pub mod set_out;
pub mod settings;
pub mod source;
pub mod spin;
pub mod step;
pub mod times;
pub mod unit;

#[cfg(test)]
mod tests;

use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// A language of the page, card and labels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Language {
    /// English.
    #[default]
    English,
    /// English made strange, to prove that nothing is hard-wired.
    Pseudo,
}

/// Something that can be said in every language.
pub trait Phrase {
    /// The English of it.
    fn english(&self) -> Cow<'static, str>;
}

impl Language {
    /// Names of the months, as read and as written in dates.
    pub const fn months(self) -> &'static [&'static str; 12] {
        &["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
    }
    /// Says a phrase in this language.
    pub fn say(self, phrase: impl Phrase) -> Cow<'static, str> {
        match self {
            Language::English => phrase.english(),
            Language::Pseudo => Cow::Owned(pseudo(&phrase.english())),
        }
    }
}

/// Brackets a sentence and accents its vowels; figures, units and names put in stay readable.
fn pseudo(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    out.push('⟦');
    for c in text.chars() {
        out.push(match c {
            'a' => 'á',
            'e' => 'ë',
            'i' => 'ï',
            'o' => 'ø',
            'u' => 'ü',
            other => other,
        });
    }
    out.push('⟧');
    out
}

/// Declares an enum of fixed phrases with their English.
#[macro_export]
macro_rules! phrases {
    ($(#[$meta:meta])* $name:ident { $($id:ident => $english:literal,)* }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
        #[allow(missing_docs)]
        pub enum $name { $($id),* }
        impl $name {
            /// Every phrase of this table.
            pub const ALL: &'static [$name] = &[$($name::$id),*];
        }
        impl $crate::words::Phrase for $name {
            fn english(&self) -> std::borrow::Cow<'static, str> {
                std::borrow::Cow::Borrowed(match self { $($name::$id => $english),* })
            }
        }
    };
}
