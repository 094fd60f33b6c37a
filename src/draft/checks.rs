//! What a person confirmed, and what took the ground from it.

use crate::quantity::time::Instant;
use serde::{Deserialize, Serialize};

/// What can be confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum CheckKind {
    /// The patient stated both identifiers and they agree.
    Identity,
    /// The identifiers do not agree.
    IdentityDiffers,
    /// A second person checked the anticoagulant amount.
    Anticoagulant,
    /// Anticoagulant clear, in date, seal whole.
    AnticoagulantSound,
    /// Anticoagulant cloudy, out of date, or its seal broken.
    AnticoagulantUnsound,
    /// Containers whole, sealed, in date, labelled.
    ContainersSound,
    /// A container cracked, opened or out of date.
    ContainersUnsound,
    /// Rotor balanced, lids closed.
    Balance,
    /// Identifiers, side and site read back between two people at hand-over.
    HandOver,
    /// An order that was taken over was held against the one given for today.
    TodaysOrder,
}

/// One confirmation.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Check {
    /// Who.
    pub by: String,
    /// When.
    pub at: Instant,
    /// Of what, as it was written then: the amount that a second person read, the lot that was looked at where it was
    /// corrected since. Empty where the kind says it all.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub of: String,
}

/// What a check spoke of, and is no longer as it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Changed {
    /// One of the two identifiers.
    Identifiers,
    /// Site or side.
    Site,
    /// What is in the rotor: it was opened and handled.
    Rotor,
    /// What goes into the rotor: which rotor in which centrifuge, the containers, their marks, what they weigh.
    Load,
    /// The anticoagulant, its lot or its expiry.
    Anticoagulant,
    /// The containers, their lot or their expiry.
    Containers,
    /// How much anticoagulant.
    Amount,
    /// Who receives the product.
    Receiver,
    /// Who is named for the stage: the two that it was between are one.
    OnePerson,
    /// What is ordered, or by whom.
    Order,
    /// Nothing: whoever made it took it back.
    TakenBack,
}

/// A confirmation that a later change took the ground from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lapsed {
    /// What was confirmed.
    pub kind: CheckKind,
    /// By whom and when.
    pub check: Check,
    /// What changed afterwards.
    pub changed: Changed,
}
