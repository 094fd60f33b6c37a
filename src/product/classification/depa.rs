//! Dose, efficiency, purity, activation, in grades from A to D.

use super::{
    Class, Classified, Family, Inputs, Needed, Outcome, PartOf, Unassigned, code, missing, part,
    per_nanolitre, without,
};
use crate::blood::{above, below};
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Quantity, RedCount, Share};

/// Edges from the top [10⁹ platelets given] ([`SourceId::DepaGrades`]).
const DOSE: [f64; 3] = [5.0, 3.0, 1.0];
/// Edges from the top [share of one]; of these only that purity above 0.9 is A was read
/// ([`SourceId::Depa2016`], [`SourceId::DepaGrades`]).
const SHARES: [f64; 3] = [0.9, 0.7, 0.3];
const GRADES: [&str; 4] = ["A", "B", "C", "D"];

pub(super) fn classify(inputs: &Inputs) -> Classified {
    let dose = match inputs.dose {
        Some(dose) => grade(dose.get(), DOSE),
        // Counted and given: then it is what was added that is not known in full.
        None => missing(
            &[
                (inputs.product.is_some(), Needed::ProductCount),
                (inputs.given.is_some(), Needed::VolumeGiven),
            ],
            Needed::WhatIsAdded,
        ),
    };
    let efficiency = match inputs.recovery {
        Some(recovery) => grade(recovery.get(), SHARES),
        None => without(Needed::Recovery),
    };
    let activation = match &inputs.activators {
        Some(found) => Outcome::Is(Class::Activators(found.clone())),
        None => without(Needed::WhatIsAdded),
    };
    let purity = pure(inputs);
    // Of the grades only this one was read.
    let purity_from = if purity == code("A") { SourceId::Depa2016 } else { SourceId::DepaGrades };
    let parts = vec![
        part(PartOf::Dose, dose, SourceId::DepaGrades),
        part(PartOf::Efficiency, efficiency, SourceId::DepaGrades),
        part(PartOf::Purity, purity, purity_from),
        part(PartOf::Activation, activation, SourceId::Depa2016),
    ];
    Classified { family: Family::Depa, parts }
}

/// Platelets among platelets, red and white cells, by number. `None` without any cell.
pub fn purity(platelets: CellCount, red: RedCount, white: CellCount) -> Option<Share> {
    // PLT/(PLT + RBC + WBC), all in 10⁹/L
    let all = platelets.get() + per_nanolitre(red) + white.get();
    Share::new(platelets.get() / all).ok()
}

fn pure(inputs: &Inputs) -> Outcome {
    match (inputs.product, inputs.red, inputs.white) {
        (Some(platelets), Some(red), Some(white)) => match purity(platelets, red, white) {
            Some(share) => grade(share.get(), SHARES),
            None => without(Needed::ProductCount),
        },
        (platelets, red, white) => missing(
            &[
                (platelets.is_some(), Needed::ProductCount),
                (red.is_some(), Needed::RedCells),
                (white.is_some(), Needed::ProductWhite),
            ],
            Needed::ProductCount,
        ),
    }
}

/// To which side an edge belongs was not read.
fn grade(value: f64, edges: [f64; 3]) -> Outcome {
    for ((edge, one), other) in edges.into_iter().zip(GRADES).zip(GRADES.into_iter().skip(1)) {
        if above(value, edge) {
            return code(one);
        }
        if !below(value, edge) {
            return Outcome::Undefined(Unassigned::Edge { one, other });
        }
    }
    code("D")
}
