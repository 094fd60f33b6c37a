//! How the product's sample is counted: what goes into it, what the analyser should read, and whether it counts
//! in proportion there.

use super::range::Range;
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Factor, Volume};
use crate::quantity::{OutOfRange, Quantity};
use crate::working::{Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// What the clinic knows of its analyser; nothing of it until it is set ([`SourceId::LinearRange`]).
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields, default)]
pub struct Analyser {
    /// Lowest platelet reading it counts in proportion [10⁹/L].
    pub low: Option<CellCount>,
    /// Highest platelet reading it counts in proportion [10⁹/L].
    pub high: Option<CellCount>,
    /// Product taken for a dilution [mL].
    pub pipetted: Option<Volume>,
}

/// Product taken for a dilution where the clinic has set none ([`SourceId::RecipePipette`]).
pub const PIPETTED: Volume = Volume::constant(0.05);

/// Dilutions in use, from the weakest.
const DILUTIONS: [f64; 10] = [1.0, 2.0, 4.0, 5.0, 10.0, 20.0, 25.0, 40.0, 50.0, 100.0];

impl Analyser {
    /// Nothing is set.
    pub fn is_unset(&self) -> bool {
        *self == Self::default()
    }

    /// Its two ends do not rise.
    pub fn upside_down(&self) -> bool {
        matches!((self.low, self.high), (Some(low), Some(high)) if low >= high)
    }

    /// Where a reading lies.
    pub fn holds(&self, reading: CellCount) -> Linear {
        match (self.low, self.high) {
            (_, Some(high)) if reading > high => Linear::Above,
            (Some(low), _) if reading < low => Linear::Below,
            // With one end alone, a reading is only known not to be beyond that end.
            (_, Some(_)) => Linear::Inside,
            _ => Linear::NotKnown,
        }
    }

    /// Where a range of readings lies.
    fn holds_range(&self, reading: Range<CellCount>) -> Linear {
        match (self.holds(reading.low), self.holds(reading.high)) {
            (low, high) if low == high => low,
            (_, Linear::Above) => Linear::PartlyAbove,
            (Linear::Below, _) => Linear::PartlyBelow,
            _ => Linear::NotKnown,
        }
    }

    /// The weakest usual dilution at which this concentration is read wholly inside; `None` when there is none or
    /// nothing is known. `tube` is what the sample's tube adds.
    pub fn dilution_for(&self, concentration: Range<CellCount>, tube: Factor) -> Option<Factor> {
        DILUTIONS.into_iter().filter_map(|d| Factor::new(d).ok()).find(|&d| {
            let reading = reading(concentration, d, tube);
            reading.is_ok_and(|r| self.holds_range(r) == Linear::Inside)
        })
    }
}

/// A reading against what the analyser counts in proportion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Linear {
    /// The clinic has not entered its analyser's range.
    NotKnown,
    /// Inside.
    Inside,
    /// The high end of what to expect is above it.
    PartlyAbove,
    /// The low end of what to expect is below it.
    PartlyBelow,
    /// Above it.
    Above,
    /// Below it.
    Below,
}

/// What goes together for a dilution.
#[derive(Debug, Clone, PartialEq)]
pub struct Mix {
    /// Product taken [mL].
    pub product: Volume,
    /// Diluent it goes into [mL].
    pub diluent: Worked<Volume>,
}

/// Product and diluent of a dilution: what the clinic takes, or as much as the sample gives, without a sample what is
/// usually taken. `None` undiluted, or where the sample is 0. Errors: outside the domain of a volume.
pub fn mix(dilution: Factor, sample: Option<Volume>, analyser: &Analyser) -> Result<Option<Mix>, OutOfRange> {
    let (usual, source) = match analyser.pipetted {
        Some(own) => (own, SourceId::ClinicBench),
        None => (PIPETTED, SourceId::RecipePipette),
    };
    let product = sample.map_or(usual, |s| if s < usual { s } else { usual });
    if dilution.get() <= 1.0 || product.get() <= 0.0 {
        return Ok(None);
    }
    // d = s·(D − 1)
    let diluent = Volume::new(product.get() * (dilution.get() - 1.0))?;
    let numbers = vec![Figure::of(product), Figure::of(dilution)];
    let working =
        Working::line(StepName::Diluent, "s·(D − 1)", "{} · ({} − 1)", numbers, Figure::of(diluent));
    Ok(Some(Mix { product, diluent: Worked::new(diluent, working.from(source)) }))
}

/// What the analyser reads of a concentration [10⁹/L]. Errors: outside the domain of a count.
fn reading(
    concentration: Range<CellCount>,
    dilution: Factor,
    tube: Factor,
) -> Result<Range<CellCount>, OutOfRange> {
    // r = c/(d·k)
    let at = |c: CellCount| CellCount::new(c.get() / (dilution.get() * tube.get()));
    Ok(Range {
        median: at(concentration.median)?,
        low: at(concentration.low)?,
        high: at(concentration.high)?,
    })
}

/// The recipe of a count.
#[derive(Debug, Clone, PartialEq)]
pub struct Recipe {
    /// Sample to take [mL].
    pub sample: Option<Volume>,
    /// Its dilution, 1 where it is undiluted; `None` until it is said.
    pub dilution: Option<Factor>,
    /// What goes together; `None` undiluted or not said.
    pub mix: Option<Mix>,
    /// What the analyser should read [10⁹/L]; `None` without a prediction or a dilution.
    pub reading: Option<Worked<Range<CellCount>>>,
    /// Whether it counts in proportion there; `None` without a reading to expect.
    pub linear: Option<Linear>,
    /// A dilution that brings the reading wholly inside, when this one does not.
    pub rather: Option<Factor>,
}

/// The recipe of a count from what the product is expected to be. Errors: outside the domain.
pub fn recipe(
    sample: Option<Volume>,
    dilution: Option<Factor>,
    tube: Factor,
    analyser: &Analyser,
    expected: Option<&Worked<Range<CellCount>>>,
) -> Result<Recipe, OutOfRange> {
    let mix = dilution.map(|d| mix(d, sample, analyser)).transpose()?.flatten();
    let mut recipe = Recipe { sample, dilution, mix, reading: None, linear: None, rather: None };
    if let (Some(expected), Some(dilution)) = (expected, dilution) {
        let found = reading(expected.value, dilution, tube)?;
        let numbers = vec![Figure::of(expected.value.median), Figure::of(dilution), Figure::of(tube)];
        let line = Working::line(
            StepName::ExpectedReading,
            "r = c/(d·k)",
            "{} / ({} · {})",
            numbers,
            Figure::of(found.median),
        );
        let linear = analyser.holds_range(found);
        if !matches!(linear, Linear::Inside | Linear::NotKnown) {
            recipe.rather = analyser.dilution_for(expected.value, tube);
        }
        let line = match linear {
            Linear::NotKnown => line,
            _ => line.from(SourceId::LinearRange),
        };
        recipe.reading = Some(Worked::new(found, expected.working.clone().then(line)));
        recipe.linear = Some(linear);
    }
    Ok(recipe)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q};

    fn analyser() -> Analyser {
        Analyser { low: Some(q(10.0)), high: Some(q(1000.0)), pipetted: None }
    }

    fn expected(low: f64, median: f64, high: f64) -> Worked<Range<CellCount>> {
        Worked::new(Range { median: q(median), low: q(low), high: q(high) }, Working::default())
    }

    #[test]
    fn microlitres_of_product_go_into_microlitres_of_diluent() {
        let of = |dilution: f64, sample: Option<Volume>, analyser: Analyser| {
            mix(q(dilution), sample, &analyser).unwrap().map(|m| (m.product.get(), m.diluent.value.get()))
        };
        // 50 µL into 950 µL make 1 part in 20
        let (product, diluent) = of(20.0, Some(q(0.2)), Analyser::default()).unwrap();
        assert_eq!(product, 0.05);
        near(diluent, 0.95, 1e-12);
        let own = Analyser { pipetted: Some(q(0.1)), ..Analyser::default() };
        assert_eq!(of(5.0, None, own), Some((0.1, 0.4)));
        // no more than the sample gives
        assert_eq!(of(2.0, Some(q(0.02)), own), Some((0.02, 0.02)));
        assert_eq!(of(1.0, Some(q(0.2)), own), None);
        assert_eq!(of(20.0, Some(Volume::ZERO), own), None);
    }

    #[test]
    fn both_ends_of_the_range_belong_to_it() {
        use Linear::{Above, Below, Inside, NotKnown};
        let at = |r: f64| analyser().holds(q(r));
        assert_eq!([9.99, 10.0, 1000.0, 1000.1].map(at), [Below, Inside, Inside, Above]);
        assert_eq!(Analyser::default().holds(q(5e4)), NotKnown);
        let low = Analyser { high: None, ..analyser() };
        assert_eq!([9.0, 5e4].map(|r| low.holds(q(r))), [Below, NotKnown]);
        assert!(Analyser { low: Some(q(5.0)), high: Some(q(5.0)), pipetted: None }.upside_down());
    }

    #[test]
    fn an_expected_reading_outside_is_told_with_a_dilution_that_is_inside() {
        let found = |d: f64, high: f64| {
            let expected = expected(700.0, 900.0, high);
            recipe(Some(q(0.2)), Some(q(d)), q(1.0), &analyser(), Some(&expected)).unwrap()
        };
        let plain = found(1.0, 1200.0);
        assert_eq!((plain.linear, plain.rather), (Some(Linear::PartlyAbove), Some(q(2.0))));
        assert_eq!(plain.reading.unwrap().value.median.get(), 900.0);
        let fine = found(2.0, 1200.0);
        assert_eq!((fine.linear, fine.rather), (Some(Linear::Inside), None));
        let thin = found(100.0, 1200.0);
        assert_eq!((thin.linear, thin.rather), (Some(Linear::PartlyBelow), Some(q(2.0))));
        let unset = recipe(None, Some(q(1.0)), q(1.0), &Analyser::default(), Some(&expected(1.0, 2.0, 3.0)));
        assert_eq!(unset.unwrap().linear, Some(Linear::NotKnown));
        assert_eq!(recipe(None, None, q(1.0), &analyser(), None).unwrap().linear, None);
    }

    #[test]
    fn a_citrate_tube_makes_the_analyser_read_less() {
        let expected = expected(1000.0, 1100.0, 1210.0);
        let found = recipe(None, Some(q(10.0)), q(1.1), &analyser(), Some(&expected)).unwrap();
        near(found.reading.unwrap().value.median.get(), 100.0, 1e-9);
    }
}
