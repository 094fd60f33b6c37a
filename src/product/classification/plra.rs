//! Platelets with volume, leukocytes, red cells, activation.

use super::{
    Class, Classified, Family, Inputs, Needed, Outcome, PartOf, Unassigned, activation, code, missing, part,
    without,
};
use crate::blood::{above, below};
use crate::evidence::SourceId;
use crate::quantity::{Quantity, Share};

const SOURCE: SourceId = SourceId::Plra2015;

/// Plus above, minus below; the edge itself is given to neither ([`SourceId::Plra2015`]).
const EDGE: Share = Share::constant(0.01);

/// The leukocytes appear twice: one table goes by the neutrophils among white cells, other reviews by white cells
/// in the product, and neither prints its whole. Which share stands there is told with each.
pub(super) fn classify(inputs: &Inputs) -> Classified {
    let by_neutrophils = match inputs.neutrophils {
        Some(share) => sign(share.get()),
        None => without(Needed::ProductNeutrophils),
    };
    let by_white = match inputs.white_share {
        Some(share) => sign(share.get()),
        None => missing(
            &[
                (inputs.product.is_some(), Needed::ProductCount),
                (inputs.white.is_some(), Needed::ProductWhite),
                (inputs.red.is_some(), Needed::RedCells),
            ],
            Needed::ProductCount,
        ),
    };
    let red = match inputs.haematocrit {
        Some(h) => sign(h.get()),
        None => without(Needed::ProductHaematocrit),
    };
    let parts = vec![
        part(PartOf::Platelets, platelets(inputs), SOURCE),
        part(PartOf::WhiteShare, by_white, SOURCE),
        part(PartOf::NeutrophilShare, by_neutrophils, SOURCE),
        part(PartOf::RedCells, red, SOURCE),
        part(PartOf::Activation, activation(inputs, "+", "−"), SOURCE),
    ];
    Classified { family: Family::Plra, parts }
}

fn platelets(inputs: &Inputs) -> Outcome {
    match (inputs.given_count, inputs.given) {
        (Some(count), Some(volume)) => Outcome::Is(Class::Amount { count, volume }),
        // Counted, and yet no count after what was added: that is not known in full.
        (count, volume) => missing(
            &[
                (inputs.product.is_some(), Needed::ProductCount),
                (count.is_some() || inputs.product.is_none(), Needed::WhatIsAdded),
                (volume.is_some(), Needed::VolumeGiven),
            ],
            Needed::ProductCount,
        ),
    }
}

fn sign(share: f64) -> Outcome {
    let edge = EDGE.get();
    match share {
        s if above(s, edge) => code("+"),
        s if below(s, edge) => code("−"),
        _ => Outcome::Undefined(Unassigned::Edge { one: "+", other: "−" }),
    }
}
