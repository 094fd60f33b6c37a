//! Four families by white cells and fibrin. No number is published for either.

use super::{Classified, Family, Fibrin, Inputs, Meant, Needed, PartOf, code, missing, part};
use crate::evidence::SourceId;

const SOURCE: SourceId = SourceId::DohanEhrenfest2009;

pub(super) fn classify(inputs: &Inputs) -> Classified {
    let family = match (inputs.meant, inputs.fibrin) {
        (Some(Meant::Without), Some(Fibrin::LowDensity)) => code("P-PRP"),
        (Some(Meant::With), Some(Fibrin::LowDensity)) => code("L-PRP"),
        (Some(Meant::Without), Some(Fibrin::HighDensity)) => code("P-PRF"),
        (Some(Meant::With), Some(Fibrin::HighDensity)) => code("L-PRF"),
        (meant, fibrin) => missing(
            &[(meant.is_some(), Needed::Protocol), (fibrin.is_some(), Needed::Anticoagulant)],
            Needed::Protocol,
        ),
    };
    let parts = vec![part(PartOf::Type, family, SOURCE)];
    Classified { family: Family::DohanEhrenfest, parts }
}
