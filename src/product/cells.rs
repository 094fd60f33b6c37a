//! Cells of the product besides its platelets, from what the analyser read.

use crate::evidence::SourceId;
use crate::quantity::{CellCount, Factor, Fold, Haematocrit, OutOfRange, Quantity, RedCount, Share};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// What was read, of the product and of the blood.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Read {
    /// White cells of the product, as read [10⁹/L].
    pub white: Option<CellCount>,
    /// Red cells of the product, as read [10¹²/L].
    pub red: Option<RedCount>,
    /// Haematocrit of the product, as read.
    pub haematocrit: Option<Haematocrit>,
    /// Neutrophils among the white cells of the product.
    pub neutrophils: Option<Share>,
    /// White cells of the blood itself [10⁹/L].
    pub blood_white: Option<CellCount>,
    /// Neutrophils among the white cells of the blood.
    pub blood_neutrophils: Option<Share>,
}

/// Other cells of the product; each is `None` until it was read.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct OtherCells {
    /// White cells of the product [10⁹/L].
    pub white: Option<Worked<CellCount>>,
    /// Red cells of the product [10¹²/L].
    pub red: Option<Worked<RedCount>>,
    /// Haematocrit of the product.
    pub haematocrit: Option<Worked<Haematocrit>>,
    /// White cells of the product over those of the blood, if these are not 0.
    pub white_fold: Option<Worked<Fold>>,
    /// Neutrophils of the product [10⁹/L].
    pub neutrophils: Option<Worked<CellCount>>,
    /// Neutrophils of the blood [10⁹/L].
    pub blood_neutrophils: Option<Worked<CellCount>>,
    /// What came out of its domain and is left out.
    pub beyond: Vec<OutOfRange>,
}

/// Other cells of the product. `dilution` is that of the sample they were read from, `tube` what its tube adds.
/// Whatever would leave its domain is left out and told.
pub fn other_cells(read: &Read, dilution: Factor, tube: Factor) -> OtherCells {
    let times = |value: f64| value * dilution.get() * tube.get();
    let mut beyond = Vec::new();
    let white = read.white.map(|w| of(w, times, "WBC = r·d·k", StepName::WhiteCells, dilution, tube));
    let white = kept(white, &mut beyond);
    let red = read.red.map(|r| of(r, times, "RBC = r·d·k", StepName::RedCells, dilution, tube));
    let red = kept(red, &mut beyond);
    let haematocrit =
        read.haematocrit.map(|h| of(h, times, "H = r·d·k", StepName::ProductHaematocrit, dilution, tube));
    let haematocrit = kept(haematocrit, &mut beyond);
    // Over none in the blood there is no fold, and nothing is beyond.
    let in_blood = read.blood_white.filter(|w| w.get() > 0.0);
    let white_fold = white.as_ref().zip(in_blood).map(|(w, blood)| fold(w.value, blood));
    let neutrophils =
        white.as_ref().zip(read.neutrophils).and_then(|(white, share)| among(white.value, share).ok());
    OtherCells {
        white_fold: kept(white_fold, &mut beyond),
        neutrophils,
        blood_neutrophils: read
            .blood_white
            .zip(read.blood_neutrophils)
            .and_then(|(white, share)| among(white, share).ok()),
        white,
        red,
        haematocrit,
        beyond,
    }
}

/// What is inside its domain; what is not is put down.
fn kept<T>(found: Option<Result<T, OutOfRange>>, beyond: &mut Vec<OutOfRange>) -> Option<T> {
    match found? {
        Ok(found) => Some(found),
        Err(range) => {
            beyond.push(range);
            None
        }
    }
}

/// A reading × dilution × tube.
fn of<Q: Quantity>(
    reading: Q,
    times: impl Fn(f64) -> f64,
    formula: &'static str,
    what: StepName,
    dilution: Factor,
    tube: Factor,
) -> Checked<Q> {
    let value = Q::new(times(reading.get()))?;
    let numbers = vec![Figure::of(reading), Figure::of(dilution), Figure::of(tube)];
    let working = Working::line(what, formula, "{} · {} · {}", numbers, Figure::of(value));
    Ok(Worked::new(value, working.from(SourceId::ProductMeasured)))
}

/// Neutrophils per volume: white cells × their share.
fn among(white: CellCount, share: Share) -> Checked<CellCount> {
    // NEUT = WBC·s
    let value = CellCount::new(white.get() * share.get())?;
    let numbers = vec![Figure::of(white), Figure::of(share)];
    let working = Working::line(StepName::Neutrophils, "NEUT = WBC·s", "{} · {}", numbers, Figure::of(value));
    Ok(Worked::new(value, working.from(SourceId::ProductMeasured)))
}

/// White cells of the product over those of the blood. Errors: none in the blood.
pub fn fold(product: CellCount, blood: CellCount) -> Result<Worked<Fold>, OutOfRange> {
    // fold = WBC/WBC_blood
    let value = Fold::new(product.get() / blood.get())?;
    let numbers = vec![Figure::of(product), Figure::of(blood)];
    let working =
        Working::line(StepName::WhiteFold, "fold = WBC/WBC_blood", "{} / {}", numbers, Figure::of(value));
    Ok(Worked::new(value, working.from(SourceId::ProductMeasured)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q, sound};

    #[test]
    fn each_reading_is_multiplied_back_by_dilution_and_tube() {
        let read = Read {
            white: Some(q(0.5)),
            red: Some(q(0.01)),
            haematocrit: Some(q(0.001)),
            neutrophils: Some(q(0.4)),
            blood_white: Some(q(5.5)),
            blood_neutrophils: Some(q(0.6)),
        };
        let found = other_cells(&read, q(10.0), q(1.1));
        let white = found.white.unwrap();
        sound(&white);
        near(white.value.get(), 5.5, 1e-12);
        near(found.red.unwrap().value.get(), 0.11, 1e-12);
        near(found.haematocrit.unwrap().value.get(), 0.011, 1e-12);
        near(found.white_fold.unwrap().value.get(), 1.0, 1e-12);
        near(found.neutrophils.unwrap().value.get(), 2.2, 1e-12);
        near(found.blood_neutrophils.unwrap().value.get(), 3.3, 1e-12);
    }

    #[test]
    fn what_cannot_be_is_left_out() {
        let read = Read { haematocrit: Some(q(0.3)), white: Some(q(0.0)), ..Read::default() };
        let found = other_cells(&read, q(20.0), q(1.0));
        assert!(found.haematocrit.is_none(), "6 L/L is no haematocrit");
        let told: Vec<_> = found.beyond.iter().map(|r| (r.quantity, r.value)).collect();
        assert_eq!(told, [(Haematocrit::NAME, 6.0)]);
        assert_eq!(found.white.unwrap().value.get(), 0.0);
        assert!(found.white_fold.is_none() && fold(q(1.0), q(0.0)).is_err());
    }
}
