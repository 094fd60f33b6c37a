//! The dose: what is given at each site. Never the platelets in product, never the platelets drawn.

use super::ledger::SiteVolume;
use super::range::Range;
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, OutOfRange, Quantity, Volume};
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

/// The dose at each site, in the order of the sites. Errors as [`dose`].
pub fn doses(concentration: CellCount, sites: &[SiteVolume]) -> Result<Vec<(SiteVolume, Worked<Cells>)>, OutOfRange> {
    sites.iter().map(|&site| Ok((site, dose(concentration, site.volume)?))).collect()
}

/// The same from a predicted concentration.
pub fn dose_ranges(
    concentration: Range<CellCount>,
    sites: &[SiteVolume],
) -> Result<Vec<(SiteVolume, Worked<Range<Cells>>)>, OutOfRange> {
    sites.iter().map(|&site| Ok((site, dose_range(concentration, site.volume)?))).collect()
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
    let working = Working::line(StepName::Dose, formula, "{} · max(0, {} − {} − {}) / {}", numbers, Figure::of(dose));
    Ok(Worked::new(dose, working.from(SourceId::Conservation)))
}

fn working(concentration: CellCount, site: Volume, dose: Cells) -> Working {
    let numbers = vec![Figure::of(concentration), Figure::of(site)];
    Working::line(StepName::Dose, "D = c·V_site/1000", "{} · {} / 1000", numbers, Figure::of(dose))
        .from(SourceId::Conservation)
}
