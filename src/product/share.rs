//! The dose: what is given at each site. Never the platelets in product, never the platelets drawn.

use super::range::Range;
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, Quantity, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// Dose at one site [10⁹] from the concentration given there [10⁹/L], after any addition, and its volume [mL].
/// Errors: outside the domain of cells.
pub fn dose(concentration: CellCount, site: Volume) -> Checked<Cells> {
    // D = c·V_site/1000
    let dose = Cells::new(concentration.get() * site.get() / 1000.0)?;
    Ok(Worked::new(dose, working(concentration, site, dose)))
}

/// The same from a predicted concentration: a range, its working shows the medians.
pub fn dose_range(concentration: Range<CellCount>, site: Volume) -> Checked<Range<Cells>> {
    // D = c·V_site/1000
    let dose: Range<Cells> = concentration.scaled(site.get() / 1000.0)?;
    Ok(Worked::new(dose, working(concentration.median, site, dose.median)))
}

/// Dose if all that remains after sample and losses is given [10⁹]; an addition dilutes but takes nothing away.
/// None remains when sample and losses are more than the product. Errors: no product volume.
pub fn dose_of_rest(in_product: Cells, product: Volume, sample: Volume, losses: Volume) -> Checked<Cells> {
    // D = N·max(0, V − S − L)/V
    let rest = (product.get() - sample.get() - losses.get()).max(0.0);
    let dose = Cells::new(in_product.get() * rest / product.get())?;
    let numbers = vec![
        Figure::of(in_product),
        Figure::of(product),
        Figure::of(sample),
        Figure::of(losses),
        Figure::of(product),
    ];
    let formula = "D = N·max(0, V − S − L)/V";
    let working =
        Working::line(StepName::Dose, formula, "{} · max(0, {} − {} − {}) / {}", numbers, Figure::of(dose));
    Ok(Worked::new(dose, working.from(SourceId::Conservation)))
}

fn working(concentration: CellCount, site: Volume, dose: Cells) -> Working {
    let numbers = vec![Figure::of(concentration), Figure::of(site)];
    Working::line(StepName::Dose, "D = c·V_site/1000", "{} · {} / 1000", numbers, Figure::of(dose))
        .from(SourceId::Conservation)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn q<Q: Quantity>(value: f64) -> Q {
        Q::new(value).unwrap()
    }

    fn near(found: f64, expected: f64, relative: f64) {
        assert!((found - expected).abs() <= relative * expected.abs(), "{found} is not {expected}");
    }

    #[test]
    fn two_sites_of_one_product() {
        // E14: 7 ×10⁹ in 7 mL, 2 and 5 mL
        assert_eq!([2.0, 5.0].map(|v| dose(q(1000.0), q(v)).unwrap().value.get()), [2.0, 5.0]);
        // E16: three injections of 1 ×10⁹ are 3 ×10⁹ in all, 1 ×10⁹ each
        let three: f64 = (0..3).map(|_| dose(q(500.0), q(2.0)).unwrap().value.get()).sum();
        assert_eq!(three, 3.0);
        assert_eq!(dose(q(1000.0), q(0.0)).unwrap().value.get(), 0.0);
    }

    #[test]
    fn dose_is_less_than_platelets_in_product_by_sample_and_losses() {
        // E18
        near(dose_of_rest(q(3.9), q(4.0), q(0.2), q(0.3)).unwrap().value.get(), 3.4125, 1e-12);
        assert_eq!(dose_of_rest(q(3.9), q(4.0), q(3.7), q(0.3)).unwrap().value.get(), 0.0);
        assert_eq!(dose_of_rest(q(3.9), q(4.0), q(4.0), q(0.3)).unwrap().value.get(), 0.0);
        assert!(dose_of_rest(q(3.9), q(0.0), q(0.0), q(0.0)).is_err());
    }

    #[test]
    fn a_predicted_concentration_gives_a_range_of_doses() {
        let c = Range { median: q(938.0), low: q(753.0), high: q(1160.0) };
        let found = dose_range(c, q(3.0)).unwrap();
        near(found.value.median.get(), 2.814, 1e-12);
        near(found.value.low.get(), 2.259, 1e-12);
        near(found.value.high.get(), 3.48, 1e-12);
        assert_eq!(found.working.steps[0].result.value, found.value.median.get());
    }
}
