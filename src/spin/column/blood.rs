//! What is in the tube: blood with its anticoagulant as kinds of cell in a fluid, each with its drag and density.

use super::collect::LAYER;
use super::prior::{Assumed, CLUMPING_AT, PACKING_AT};
use crate::quantity::{CellCount, Haematocrit, Quantity, Volume};
use crate::spin::rcf::GRAVITY;
use serde::{Deserialize, Serialize};
use strawline_sedimentation::{Clumping, Kind, Law, Packing};

/// Blood as it is drawn onto a citrate solution. All are required: they decide the answer.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Blood {
    /// Blood in the container, 0.5 to 400 mL.
    pub blood: Volume,
    /// Anticoagulant solution in the container, at most as much as blood.
    pub anticoagulant: Volume,
    /// Haematocrit of the blood itself, at most 0.75.
    pub haematocrit: Haematocrit,
    /// Platelets of the blood itself, 1 to 3000 ×10⁹/L.
    pub platelets: CellCount,
    /// White cells of the blood itself, at most 200 ×10⁹/L; none are drawn where it is not known.
    #[serde(default)]
    pub white_cells: Option<CellCount>,
}

/// What a kind of cell is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Cell {
    Red,
    Platelet,
    White,
}

/// What fills a column before it turns: everywhere the same.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mixture {
    pub volume: Volume,
    pub cells: Vec<Cell>,
    pub kinds: Vec<Kind>,
    /// Volume fraction of each kind.
    pub filled: Vec<f64>,
    /// Volume of one cell of each kind [m³].
    pub each: Vec<f64>,
    /// Cells are a layer from this volume fraction on.
    pub layer: f64,
}

/// Nodes and weights of Gauss and Hermite's rule with five points, for the standard normal.
fn five_points() -> [(f64, f64); 5] {
    // roots of x⁵ − 10x³ + 15x; weights (7 ± 2√10)/60 and 8/15
    let ten = libm::sqrt(10.0);
    let (near, far) = (libm::sqrt(5.0 - ten), libm::sqrt(5.0 + ten));
    let (heavy, light) = ((7.0 + 2.0 * ten) / 60.0, (7.0 - 2.0 * ten) / 60.0);
    [(-far, light), (-near, heavy), (0.0, 8.0 / 15.0), (near, heavy), (far, light)]
}

/// Diameter of a sphere of this volume.
fn diameter(volume: f64) -> f64 {
    // d = (6V/π)^(1/3)
    libm::cbrt(6.0 * volume / core::f64::consts::PI)
}

/// Volume of a sphere of this diameter.
fn sphere(diameter: f64) -> f64 {
    core::f64::consts::PI * diameter * diameter * diameter / 6.0
}

const FEMTOLITRE: f64 = 1e-18;
const MICROMETRE: f64 = 1e-6;
/// 10⁹ cells a litre as cells a cubic metre.
const PER_CUBIC_METRE: f64 = 1e12;

impl Blood {
    /// Both together.
    pub fn fill(&self) -> Volume {
        Volume::new(self.blood.get() + self.anticoagulant.get()).unwrap_or(Volume::ZERO)
    }

    /// Share of plasma in the fluid between the cells.
    fn plasma_share(&self) -> f64 {
        let plasma = self.blood.get() * (1.0 - self.haematocrit.get());
        plasma / (plasma + self.anticoagulant.get())
    }

    /// The laws of its column.
    pub(super) fn law(&self, assumed: &Assumed) -> Law {
        let [soft, hard] = PACKING_AT.map(|g| libm::log(g * GRAVITY));
        let slope = (assumed.packed_hard - assumed.packed_soft) / (hard - soft);
        let packing = Packing {
            at_one: assumed.packed_soft - slope * soft,
            slope,
            low: assumed.packed_least,
            high: assumed.packed_most,
        };
        // M − 1 = (M₁₆₀ − 1)·(160·g₀/a)^q·(plasma's share of the fluid)^β
        let thinned = libm::pow(self.plasma_share(), assumed.clumping_thinned.max(0.0));
        let fall = assumed.clumping_fall.clamp(0.0, 0.95);
        let extra = (assumed.clumping - 1.0).max(0.0) * thinned * libm::pow(CLUMPING_AT * GRAVITY, fall);
        Law::new(assumed.hindrance, packing, Clumping { extra, fall })
    }

    /// What fills the container.
    pub(super) fn mixture(&self, assumed: &Assumed) -> Mixture {
        let share = self.plasma_share();
        let mixed = |plasma: f64, solution: f64| share * plasma + (1.0 - share) * solution;
        let density = mixed(assumed.plasma_density, assumed.anticoagulant_density);
        let viscosity = 1e-3
            * libm::exp(mixed(
                libm::log(assumed.plasma_viscosity),
                libm::log(assumed.anticoagulant_viscosity),
            ));
        let thinned = self.blood.get() / self.fill().get();
        let mut mixture = Mixture {
            volume: self.fill(),
            cells: Vec::new(),
            kinds: Vec::new(),
            filled: Vec::new(),
            each: Vec::new(),
            layer: LAYER,
        };
        let mut add = |cell, filled: f64, each: f64, density_of: f64, shape: f64| {
            let d = diameter(each);
            mixture.cells.push(cell);
            mixture.filled.push(filled * thinned);
            mixture.each.push(each);
            // K = d²/(18µ)
            mixture.kinds.push(Kind { drag: shape * d * d / (18.0 * viscosity), over: density_of - density });
        };
        let red = assumed.red_volume * FEMTOLITRE;
        add(Cell::Red, self.haematocrit.get(), red, assumed.red_density, 1.0);
        let platelets = self.platelets.get() * PER_CUBIC_METRE;
        let spread = assumed.platelet_spread.max(0.0);
        // log-normal with the mean as given: the mean of the logarithm is half the variance below its logarithm
        let middle = libm::log(assumed.platelet_volume * FEMTOLITRE) - 0.5 * spread * spread;
        for (node, weight) in five_points() {
            let each = libm::exp(middle + spread * node);
            let filled = weight * platelets * each;
            add(Cell::Platelet, filled, each, assumed.platelet_density, assumed.platelet_drag);
        }
        if let Some(white) = self.white_cells {
            let white = white.get() * PER_CUBIC_METRE;
            let granulocytes = assumed.granulocyte_share.clamp(0.0, 1.0);
            for (share, diameter, density) in [
                (1.0 - granulocytes, assumed.mononuclear_diameter, assumed.mononuclear_density),
                (granulocytes, assumed.granulocyte_diameter, assumed.granulocyte_density),
            ] {
                let each = sphere(diameter * MICROMETRE);
                add(Cell::White, share * white * each, each, density, 1.0);
            }
        }
        // Thin blood is a layer too: where its red cells come to half of what they begin with.
        if let Some(red) = mixture.filled.first().filter(|red| **red > 0.0) {
            mixture.layer = LAYER.min(mixture.filled.iter().sum::<f64>() - 0.5 * red);
        }
        mixture
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q};

    fn blood() -> Blood {
        Blood {
            blood: q(13.0),
            anticoagulant: q(2.0),
            haematocrit: q(0.42),
            platelets: q(210.0),
            white_cells: Some(q(6.0)),
        }
    }

    /// Moments of the standard normal up to the fourth, and of a log-normal.
    #[test]
    fn five_points_hold_the_moments() {
        let moment = |p: i32| five_points().iter().map(|(x, w)| w * x.powi(p)).sum::<f64>();
        for (p, wanted) in [(0, 1.0), (1, 0.0), (2, 1.0), (3, 0.0), (4, 3.0), (6, 15.0), (8, 105.0)] {
            near(moment(p), wanted, 1e-9);
        }
        let mean: f64 = five_points().iter().map(|(x, w)| w * (0.6 * x).exp()).sum();
        near(mean, (0.18_f64).exp(), 1e-5);
    }

    #[test]
    fn the_mixture_holds_what_was_drawn() {
        let mixture = blood().mixture(&Assumed::default());
        near(mixture.filled[0], 13.0 * 0.42 / 15.0, 1e-12);
        // counts add up: 210 and 6 ×10⁹/L, thinned by 13/15
        let count = |cell| {
            let all = mixture.cells.iter().zip(&mixture.filled).zip(&mixture.each);
            all.filter(|((c, _), _)| **c == cell).map(|((_, f), each)| f / each).sum::<f64>() / 1e12
        };
        near(count(Cell::Platelet), 210.0 * 13.0 / 15.0, 1e-9);
        near(count(Cell::White), 6.0 * 13.0 / 15.0, 1e-9);
        let platelets: f64 = mixture.filled[1..6].iter().sum();
        near(platelets / (182e12 * 5.17e-18), 1.0, 1e-4);
        assert!(Blood { white_cells: None, ..blood() }.mixture(&Assumed::default()).kinds.len() == 6);
    }

    /// Stokes' law by hand: a sphere of 90 fL, 69.8 kg/m³ above its fluid.
    #[test]
    fn a_red_cell_falls_as_stokes_says() {
        let alone = Blood { anticoagulant: Volume::ZERO, ..blood() };
        let red = alone.mixture(&Assumed::default()).kinds[0];
        let d2 = (6.0 * 90e-18 / std::f64::consts::PI).powf(2.0 / 3.0);
        near(red.drag, d2 / (18.0 * 1.6e-3), 1e-12 * red.drag);
        near(red.over, 69.0, 1e-9);
        // 160 ×g: 0.116 mm/s
        near(red.drag * red.over * 160.0 * GRAVITY * 1e3, 0.116, 0.001);
    }

    #[test]
    fn anticoagulant_thins_the_fluid_and_lessens_clumping() {
        let more = Blood { anticoagulant: q(4.0), ..blood() };
        let (less, more_in) = (blood().mixture(&Assumed::default()), more.mixture(&Assumed::default()));
        assert!(more_in.kinds[0].drag > less.kinds[0].drag && more_in.kinds[0].over > less.kinds[0].over);
        let extra = |b: Blood| b.law(&Assumed::default()).clumping.extra;
        assert!(extra(more) < extra(blood()));
        // as assumed at 160 ×g without any
        let alone = Blood { anticoagulant: Volume::ZERO, ..blood() };
        near(extra(alone) / (160.0 * GRAVITY).sqrt(), Assumed::default().clumping - 1.0, 1e-9);
    }

    #[test]
    fn packing_passes_through_what_was_read() {
        let packing = blood().law(&Assumed::default()).packing;
        let at =
            |g: f64| (packing.at_one + packing.slope * (g * GRAVITY).ln()).clamp(packing.low, packing.high);
        near(at(150.0), 0.74, 1e-12);
        near(at(1430.0), 0.94, 1e-12);
        assert_eq!((at(1.0), at(20_000.0)), (0.65, 0.97));
    }
}
