//! Closing the spin by measurement: what came out against what went in, by volume and by platelets.

use super::kind;
use super::measured::{self, Bound};
use crate::chance::TWO_SIDED_95;
use crate::evidence::SourceId;
use crate::quantity::{CellCount, Cells, Cv, OutOfRange, Quantity, Recovery, Share, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// What was measured after the spin, all containers together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Volumes {
    /// Filled [mL].
    pub fill: Volume,
    /// Product kept [mL].
    pub product: Volume,
    /// Platelet-poor plasma [mL].
    pub plasma: Volume,
    /// Cells and whatever else was left in the containers [mL].
    pub cells: Volume,
    /// Lost in transfers, as far as is known [mL].
    pub losses: Volume,
    /// How many containers were read.
    pub containers: u8,
    /// Step of their scale [mL].
    pub step: Volume,
    /// Step of the device that measures the product [mL].
    pub product_step: Volume,
}

/// Whether what came out is what went in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Closes {
    /// Within what the scales can tell.
    Within,
    /// Less came out, beyond the losses known.
    TooLittle,
    /// More came out.
    TooMuch,
}

/// Volumes closed.
#[derive(Debug, Clone, PartialEq)]
pub struct VolumeClosing {
    /// Product, plasma and cells together [mL].
    pub found: Worked<Volume>,
    /// Filled [mL].
    pub fill: Volume,
    /// What the scales cannot tell [mL].
    pub tolerance: Worked<Volume>,
    /// Whether it closes.
    pub closes: Closes,
}

/// Volumes after the spin against the fill. Errors: outside the domain of a volume.
pub fn volumes(v: &Volumes) -> Result<VolumeClosing, OutOfRange> {
    // V + P + C
    let sum = v.product.get() + v.plasma.get() + v.cells.get();
    let found = Volume::new(sum)?;
    let numbers = vec![Figure::of(v.product), Figure::of(v.plasma), Figure::of(v.cells)];
    let line =
        Working::line(StepName::FoundAfterSpin, "V + P + C", "{} + {} + {}", numbers, Figure::of(found));
    let tolerance = tolerance(v)?;
    let closes = if sum - v.fill.get() > tolerance.value.get() {
        Closes::TooMuch
    } else if v.fill.get() - v.losses.get() - sum > tolerance.value.get() {
        Closes::TooLittle
    } else {
        Closes::Within
    };
    let found = Worked::new(found, line.from(SourceId::Conservation));
    Ok(VolumeClosing { found, fill: v.fill, tolerance, closes })
}

/// What the scales cannot tell: in each container the fill, the plasma and the cells are read on its scale, the
/// product once on its own device, each off by a half step at most ([`SourceId::GraduationError`]).
fn tolerance(v: &Volumes) -> Checked<Volume> {
    // t = 1.96·√((3·n·g² + g_V²)/12)
    let (n, g, own) = (f64::from(v.containers), v.step.get(), v.product_step.get());
    let t = Volume::new(TWO_SIDED_95 * libm::sqrt((3.0 * n * g * g + own * own) / 12.0))?;
    let numbers = vec![Figure::pure(n), Figure::of(v.step), Figure::of(v.product_step)];
    let line = Working::line(
        StepName::ScaleTolerance,
        "t = 1.96·√((3·n·g² + g_V²)/12)",
        "1.96 · √((3 · {} · {}² + {}²) / 12)",
        numbers,
        Figure::of(t),
    );
    Ok(Worked::new(t, line.from(SourceId::GraduationError)))
}

/// Where the platelets drawn are.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// Drawn [10⁹].
    pub drawn: Worked<Cells>,
    /// In product, counted [10⁹].
    pub product: Cells,
    /// In the platelet-poor plasma, counted [10⁹].
    pub plasma: Worked<Cells>,
    /// With the cells, in losses, or never there [10⁹]; `None` when product and plasma hold more than was drawn.
    pub elsewhere: Option<Worked<Cells>>,
    /// Shares of what was drawn in product, plasma and elsewhere; `None` likewise.
    pub shares: Option<[Share; 3]>,
    /// Product and plasma together against what was drawn.
    pub bound: Bound,
}

/// Where the platelets drawn are, once plasma and product are counted. `counting` is the relative counting error,
/// `native_cv` that of the blood's own count. `None` when none were drawn. Errors: outside the domain of cells.
pub fn balance(
    drawn: Worked<Cells>,
    product: Cells,
    plasma_count: CellCount,
    plasma: Volume,
    counting: Cv,
    native_cv: Cv,
) -> Result<Option<Balance>, OutOfRange> {
    let all = drawn.value;
    if all.get() <= 0.0 {
        return Ok(None);
    }
    let plasma = kind::in_product(plasma_count, plasma)?;
    let plasma = Worked::new(plasma.value, in_plasma(plasma.working));
    // N₀ − N − N_plasma
    let rest = all.get() - product.get() - plasma.value.get();
    let elsewhere = (rest >= 0.0).then(|| Cells::new(rest)).transpose()?.map(|cells| {
        let numbers = vec![Figure::of(all), Figure::of(product), Figure::of(plasma.value)];
        let line = Working::line(
            StepName::PlateletsElsewhere,
            "N₀ − N − N_P",
            "{} − {} − {}",
            numbers,
            Figure::of(cells),
        );
        let working = drawn.working.clone().then(plasma.working.clone()).then(line);
        Worked::new(cells, working.from(SourceId::Conservation))
    });
    let share = |n: Cells| Share::new(n.get() / all.get()).ok();
    let shares =
        elsewhere.as_ref().and_then(|rest| Some([share(product)?, share(plasma.value)?, share(rest.value)?]));
    let bound = match Recovery::new((product.get() + plasma.value.get()) / all.get()) {
        Ok(recovered) => measured::bound(recovered, counting.get(), native_cv),
        Err(_) => Bound::Above,
    };
    Ok(Some(Balance { drawn, product, plasma, elsewhere, shares, bound }))
}

/// The same line under its own name.
fn in_plasma(mut working: Working) -> Working {
    for step in &mut working.steps {
        step.what = StepName::PlateletsInPlasma;
    }
    working
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, q, sound};
    use proptest::prelude::*;

    fn drawn(cells: f64) -> Worked<Cells> {
        kind::platelets_drawn(q(1000.0 * cells), q(1.0)).unwrap()
    }

    fn day(product: f64, plasma: f64, cells: f64) -> VolumeClosing {
        volumes(&Volumes {
            fill: q(30.0),
            product: q(product),
            plasma: q(plasma),
            cells: q(cells),
            losses: q(0.2),
            containers: 2,
            step: q(1.0),
            product_step: q(0.2),
        })
        .unwrap()
    }

    #[test]
    fn volumes_close_within_what_the_scales_tell() {
        // 1.96·√((3·2·1 + 0.04)/12) = 1.390541
        let closed = day(4.0, 11.0, 15.0);
        near(closed.tolerance.value.get(), 1.390_541, 1e-6);
        sound(&closed.tolerance);
        sound(&closed.found);
        assert_eq!((closed.found.value.get(), closed.closes), (30.0, Closes::Within));
        assert_eq!(day(4.0, 12.39, 15.0).closes, Closes::Within);
        assert_eq!(day(4.0, 12.40, 15.0).closes, Closes::TooMuch);
        // the losses known may be missing besides
        assert_eq!(day(4.0, 9.42, 15.0).closes, Closes::Within);
        assert_eq!(day(4.0, 9.40, 15.0).closes, Closes::TooLittle);
    }

    #[test]
    fn a_count_of_the_plasma_finds_the_missing_platelets() {
        // 5.46 drawn, 3.752 in product, 60 ×10⁹/L in 11 mL of plasma: 0.66; 1.048 elsewhere
        let b = balance(drawn(5.46), q(3.752), q(60.0), q(11.0), q(0.03), q(0.03)).unwrap().unwrap();
        sound(&b.plasma);
        near(b.plasma.value.get(), 0.66, 1e-12);
        sound(&b.drawn);
        near(b.elsewhere.unwrap().value.get(), 1.048, 1e-12);
        near(b.shares.unwrap().iter().map(|s| s.get()).sum(), 1.0, 1e-12);
        assert_eq!(b.bound, Bound::Within);
    }

    #[test]
    fn more_found_than_drawn_is_told_from_counting_error() {
        let at =
            |count: f64| balance(drawn(5.0), q(4.5), q(count), q(10.0), q(0.03), q(0.03)).unwrap().unwrap();
        let little = at(60.0);
        assert_eq!((little.bound, little.elsewhere), (Bound::AboveWithinError, None));
        assert_eq!(at(200.0).bound, Bound::Above);
        assert_eq!(balance(drawn(0.0), q(1.0), q(1.0), q(1.0), q(0.03), q(0.03)).unwrap(), None);
    }

    proptest! {
        #[test]
        fn nothing_is_made_or_lost(drawn in 0.1_f64..20.0, product in 0.0_f64..20.0, count in 0.0_f64..500.0, v in 0.0_f64..60.0) {
            let b = balance(super::tests::drawn(drawn), q(product), q(count), q(v), q(0.03), q(0.03)).unwrap().unwrap();
            match &b.elsewhere {
                Some(rest) => {
                    prop_assert!((b.product.get() + b.plasma.value.get() + rest.value.get() - drawn).abs() < 1e-9);
                    prop_assert_eq!(b.bound, Bound::Within);
                }
                None => prop_assert!(b.product.get() + b.plasma.value.get() > drawn),
            }
        }
    }
}
