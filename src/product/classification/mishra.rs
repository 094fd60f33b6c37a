//! Four types by white cells and activation, with A or B by the fold.

use super::{Classified, Family, Inputs, Needed, Outcome, PartOf, Unassigned, code, missing, part, without};
use crate::blood::{above, below};
use crate::evidence::SourceId;
use crate::quantity::{Fold, Quantity};

const SOURCE: SourceId = SourceId::Mishra2012;

/// A from here on, B below ([`SourceId::Mishra2012`]).
const A_FROM: Fold = Fold::constant(5.0);

pub(super) fn classify(inputs: &Inputs) -> Classified {
    let fold = match inputs.fold {
        Some(fold) => code(if below(fold.get(), A_FROM.get()) { "B" } else { "A" }),
        // With both counts, the fold still waits for the blood of every container.
        None => missing(
            &[
                (inputs.native.is_some(), Needed::BloodCount),
                (inputs.product.is_some(), Needed::ProductCount),
            ],
            Needed::BloodDrawn,
        ),
    };
    let parts = vec![part(PartOf::Type, kind(inputs), SOURCE), part(PartOf::Fold, fold, SOURCE)];
    Classified { family: Family::Mishra, parts }
}

/// "Increased" is more than in the blood; "minimal or none" has a number only where it is none.
fn kind(inputs: &Inputs) -> Outcome {
    let none = inputs.white.is_some_and(|w| w.get() == 0.0);
    let (Some(white), Some(activators)) = (inputs.white, &inputs.activators) else {
        return missing(
            &[
                (inputs.white.is_some(), Needed::ProductWhite),
                (none || inputs.blood_white.is_some(), Needed::BloodWhite),
                (inputs.activators.is_some(), Needed::WhatIsAdded),
            ],
            Needed::ProductWhite,
        );
    };
    let increased = match inputs.blood_white {
        _ if none => false,
        None => return without(Needed::BloodWhite),
        Some(blood) if above(white.get(), blood.get()) => true,
        Some(_) => return Outcome::Undefined(Unassigned::MinimalHasNoNumber),
    };
    code(match (increased, activators.is_empty()) {
        (true, true) => "1",
        (true, false) => "2",
        (false, true) => "3",
        (false, false) => "4",
    })
}
