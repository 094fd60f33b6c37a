//! Platelets, activation and white cells against the blood.

use super::{Classified, Family, Inputs, Needed, Outcome, Part, PartOf, activation, code, missing, part};
use crate::blood::above;
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Quantity};

const SOURCE: SourceId = SourceId::Paw2012;

/// Edges of the platelet classes [10⁹/L] ([`SourceId::Paw2012`]); each edge belongs to the class below it.
const P2_TO: CellCount = CellCount::constant(750.0);
const P3_TO: CellCount = CellCount::constant(1250.0);

pub(super) fn classify(inputs: &Inputs) -> Classified {
    let parts = vec![
        part(PartOf::Platelets, platelets(inputs), SOURCE),
        part(PartOf::Activation, activation(inputs, "x", ""), SOURCE),
        white(inputs),
        part(PartOf::Neutrophils, neutrophils(inputs), SOURCE),
    ];
    Classified { family: Family::Paw, parts }
}

/// P4-x-Aα: a hyphen before the activation, one before the white cells.
pub(super) fn written(codes: &[&str]) -> Option<String> {
    let [platelets, activation, white, neutrophils] = codes else { return None };
    let activation = if activation.is_empty() { String::new() } else { format!("-{activation}") };
    Some(format!("{platelets}{activation}-{white}{neutrophils}"))
}

fn platelets(inputs: &Inputs) -> Outcome {
    let (Some(blood), Some(product)) = (inputs.native, inputs.product) else {
        return missing(
            &[
                (inputs.native.is_some(), Needed::BloodCount),
                (inputs.product.is_some(), Needed::ProductCount),
            ],
            Needed::ProductCount,
        );
    };
    // The first rule met: blood above 750 leaves nothing to the second class.
    code(match product.get() {
        c if !above(c, blood.get()) => "P1",
        c if !above(c, P2_TO.get()) => "P2",
        c if !above(c, P3_TO.get()) => "P3",
        _ => "P4",
    })
}

fn white(inputs: &Inputs) -> Part {
    part(
        PartOf::WhiteCells,
        match (inputs.white, inputs.blood_white) {
            (Some(white), Some(blood)) => code(if above(white.get(), blood.get()) { "A" } else { "B" }),
            (white, blood) => missing(
                &[(white.is_some(), Needed::ProductWhite), (blood.is_some(), Needed::BloodWhite)],
                Needed::ProductWhite,
            ),
        },
        SOURCE,
    )
}

/// Neutrophils per volume of product against the same in blood: each is white cells times the neutrophils' share.
fn neutrophils(inputs: &Inputs) -> Outcome {
    let all = (inputs.white, inputs.neutrophils, inputs.blood_white, inputs.blood_neutrophils);
    let (Some(white), Some(share), Some(blood), Some(blood_share)) = all else {
        return missing(
            &[
                (inputs.white.is_some(), Needed::ProductWhite),
                (inputs.neutrophils.is_some(), Needed::ProductNeutrophils),
                (inputs.blood_white.is_some(), Needed::BloodWhite),
                (inputs.blood_neutrophils.is_some(), Needed::BloodNeutrophils),
            ],
            Needed::ProductNeutrophils,
        );
    };
    let more = above(white.get() * share.get(), blood.get() * blood_share.get());
    code(if more { "α" } else { "β" })
}
