//! Words of the list of what to lay out.

use super::Phrase;
use std::borrow::Cow;

crate::phrases! {
    /// Headings, buttons and lines without a number.
    SetOutWord {
        Title => "What to lay out",
        Print => "Print the list",
        NoContainer => "Containers: none chosen yet",
        NoAmount => "Anticoagulant: its amount is not known yet",
        BloodTube => "A tube for the blood’s own count, if it is taken at this needle",
        Pairs => "A balance: weigh the filled containers against each other, in pairs",
        Sticker => "The patient’s sticker",
    }
}

crate::phrases! {
    /// Sentences.
    SetOutSays {
        AskFirst => "A Stop is open: ask the prescriber before anything is laid out.",
        What => "From the plan as it stands. Gloves, needles, swabs and what local policy asks for are not in it.",
        Counterweight => "A counterweight: the number of containers is odd. Weigh it against a filled container, as the centrifuge’s instructions say.",
    }
}

/// A line with its numbers already written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SetOutLine {
    /// Containers: how many, which.
    Containers(usize, String),
    /// They hold their anticoagulant already: which, how much in each.
    Prefilled(String, String),
    /// Anticoagulant: which, in all, into each, step of what measures it.
    Agent {
        /// Its name.
        name: String,
        /// In all containers, where it is planned.
        all: Option<String>,
        /// In each.
        each: String,
        /// Step of the device that measures it.
        step: String,
    },
    /// Discarded first, in a tube of its own.
    Discard(String),
    /// A syringe for each part of the site, by its name and volume.
    Syringes(Vec<String>),
    /// A tube for the sample that is counted.
    Sample(String),
    /// Added to the product.
    Added(String),
    /// Labels: large and small ones, check sign.
    Labels(usize, usize, String),
}

impl Phrase for SetOutLine {
    fn english(&self) -> Cow<'static, str> {
        use SetOutLine as L;
        Cow::Owned(match self {
            L::Containers(1, name) => format!("1 container: {name}"),
            L::Containers(n, name) => format!("{n} containers: {name}"),
            L::Prefilled(name, each) => {
                format!("No anticoagulant to draw up: {each} {name} is in each container")
            }
            L::Agent { name, all, each, step } => {
                let all = all.as_ref().map_or_else(String::new, |all| format!("{all} in all, "));
                format!("{name}: {all}{each} into each container; a syringe in steps of {step}")
            }
            L::Discard(v) => format!("A tube for the blood that is discarded first: {v}"),
            L::Syringes(of) if of.is_empty() => "A syringe for the product".to_owned(),
            L::Syringes(of) if of.len() == 1 => format!("A syringe for the product: {}", of.join("")),
            L::Syringes(of) => format!("{} syringes for the product: {}", of.len(), of.join(", ")),
            L::Sample(v) => format!("A tube for the sample that is counted: {v}"),
            L::Added(what) => format!("For the product, as ordered: {what}"),
            L::Labels(large, 0, sign) => format!("{large} labels with check sign {sign}"),
            L::Labels(large, small, sign) => {
                format!(
                    "{} labels with check sign {sign}: {large} for what is made, {small} for containers and anticoagulant",
                    large + small
                )
            }
        })
    }
}
