//! What the pictures of the product need, from what is already reckoned.

use super::Assessment;
use super::product::ProductResult;
use crate::case::Case;
use crate::product::kind::ProductKind;
use crate::quantity::{CellCount, Cells, Fold, Quantity, Volume};

/// What each scale reads where all platelets drawn are in the product.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ceilings {
    /// Fold.
    pub fold: Fold,
    /// Concentration [10⁹/L].
    pub concentration: CellCount,
    /// Platelets in product [10⁹].
    pub in_product: Cells,
}

/// One container after its last spin, all containers alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layers {
    /// What is taken as product.
    pub kind: ProductKind,
    /// All that is in it.
    pub fill: Volume,
    /// Packed cells; none where plasma alone went into a further container.
    pub cells: Volume,
    /// Product taken from it.
    pub product: Volume,
    /// Packed cells that go with the product.
    pub cells_in_product: Volume,
    /// It is a further container that received the plasma above the cells.
    pub second: bool,
}

impl ProductResult {
    /// The upper ends of the scales; `None` without a count of the blood.
    pub fn ceilings(&self) -> Option<Ceilings> {
        let (native, prediction) = (self.native.as_ref()?, self.prediction.as_ref()?);
        let fold = prediction.ceiling.value;
        Some(Ceilings {
            fold,
            concentration: CellCount::new(native.count.value.get() * fold.get()).ok()?,
            in_product: prediction.drawn.as_ref()?.value,
        })
    }
}

impl Assessment {
    /// The spun container for the picture. `None` until fill, product and what is packed in it are known.
    pub fn layers(&self, case: &Case) -> Option<Layers> {
        let (protocol, totals) = (case.protocol.as_ref()?, self.draw.now.as_ref()?);
        let n = f64::from(totals.containers);
        let each = |v: f64| Volume::new(v / n).ok();
        let product = each(self.product.volume?.get())?;
        // Plasma that a person moves between two spins leaves its cells behind.
        let second = protocol.kind == ProductKind::Concentrate && moved(case);
        if second {
            let fill = each(totals.plasma.as_ref()?.value.get())?;
            let none = Volume::ZERO;
            return Some(Layers {
                kind: protocol.kind,
                fill,
                cells: none,
                product,
                cells_in_product: none,
                second,
            });
        }
        let packed = |haematocrit: f64, of: Volume| {
            let share = protocol.packing.get();
            Volume::new(haematocrit * of.get() / share).ok().filter(|v| v.get() <= of.get())
        };
        let fill = each(totals.fill.get())?;
        let with = self.product.prediction.as_ref().and_then(|p| p.haematocrit).map_or(0.0, Quantity::get);
        Some(Layers {
            kind: protocol.kind,
            fill,
            cells: packed(totals.haematocrit.as_ref()?.value.get(), fill)?,
            product,
            cells_in_product: packed(with, product).unwrap_or(product),
            second,
        })
    }
}

/// Whether something is done by hand between two stages that turn.
fn moved(case: &Case) -> bool {
    case.protocol.as_ref().is_some_and(|p| p.programme.spins().len() > 1)
}

#[cfg(test)]
mod tests {
    use super::super::{Now, assess};
    use super::*;
    use crate::case;
    use crate::draft::{CheckSign, Draft, Field};
    use crate::quantity::time::{Instant, Offset};
    use crate::words::Language;

    const NOW: Now = Now { at: Instant(1_795_597_200_000), offset: Offset::UTC };

    fn demo(change: impl FnOnce(&mut Draft)) -> (Case, Assessment) {
        let mut draft = Draft::demo("d".into(), CheckSign::pick(0, &[]), NOW.at, Default::default());
        change(&mut draft);
        let case = case::read(&draft, Language::English).0;
        let answer = assess(&case, NOW);
        (case, answer)
    }

    #[test]
    fn scales_end_where_all_platelets_are_in_the_product() {
        let (_, a) = demo(|_| ());
        let top = a.product.ceilings().unwrap();
        assert_eq!((top.fold.get(), top.concentration.get(), top.in_product.get()), (6.5, 1365.0, 5.46));
        assert_eq!(demo(|d| d.write(Field::BloodCount, "")).1.product.ceilings(), None);
    }

    #[test]
    fn plasma_moved_by_hand_has_no_cells_under_it() {
        let (case, a) = demo(|_| ());
        let layers = a.layers(&case).unwrap();
        assert!(layers.second);
        assert_eq!((layers.cells, layers.product.get()), (Volume::ZERO, 2.0));
        let (case, a) =
            demo(|d| d.kit.protocol = crate::bench::Bench::default().protocol("off-the-top").cloned());
        let layers = a.layers(&case).unwrap();
        assert!(!layers.second);
        // 13 mL of blood at 0.42 in each, packed to 0.70
        assert!((layers.cells.get() - 13.0 * 0.42 / 0.7).abs() < 1e-9);
        assert_eq!(layers.fill.get(), 15.0);
    }
}
