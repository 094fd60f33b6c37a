//! Estimates of the blood volume. Each is a population formula, not a measurement.

use super::Sex;
use crate::evidence::SourceId;
use crate::quantity::{Age, BodyMassIndex, BodySurface, Height, Mass, Quantity, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};

/// Nadler's formula is for adults above this weight ([`SourceId::Nadler1962`]).
const NADLER_ABOVE: Mass = Mass::constant(35.0);

/// Nadler's estimate [mL], from height in metres and weight ([`SourceId::Nadler1962`]).
pub fn nadler(sex: Sex, height: Height, weight: Mass) -> Checked<Volume> {
    let (cube, per_kg, constant) = match sex {
        Sex::Female => (0.3561, 0.03308, 0.1833),
        Sex::Male => (0.3669, 0.03219, 0.6041),
    };
    let h = height.get() / 100.0;
    // BV = 1000·(k₁·h³ + k₂·W + k₃), h in m
    let value = Volume::new(1000.0 * (cube * h * h * h + per_kg * weight.get() + constant))?;
    let working = Working::line(
        StepName::BloodVolumeNadler,
        "BV = 1000·(k₁·h³ + k₂·W + k₃)",
        "1000·({}·{}³ + {}·{} + {})",
        vec![Figure::pure(cube), metres(h), Figure::pure(per_kg), Figure::of(weight), Figure::pure(constant)],
        Figure::of(value),
    );
    Ok(Worked::new(value, working.from(SourceId::Nadler1962)))
}

/// Lemmens, Bernstein and Brodsky's estimate [mL]; knows no sex ([`SourceId::Lemmens2006`]).
pub fn lemmens(height: Height, weight: Mass) -> Checked<Volume> {
    let bmi = body_mass_index(height, weight)?;
    // BV = W·70/√(BMI/22)
    let value = Volume::new(weight.get() * 70.0 / libm::sqrt(bmi.value.get() / 22.0))?;
    let line = Working::line(
        StepName::BloodVolumeLemmens,
        "BV = W·70/√(BMI/22)",
        "{}·70/√({}/22)",
        vec![Figure::of(weight), Figure::of(bmi.value)],
        Figure::of(value),
    );
    Ok(Worked::new(value, bmi.working.then(line).from(SourceId::Lemmens2006)))
}

/// The smaller of the estimates that are possible [mL]: Nadler needs the sex and an adult's weight. Errors:
/// no estimate within the domain of a volume.
pub fn blood_volume(sex: Option<Sex>, height: Height, weight: Mass) -> Checked<Volume> {
    let lemmens = lemmens(height, weight);
    let nadler = sex.filter(|_| weight > NADLER_ABOVE).map(|sex| nadler(sex, height, weight));
    let (smaller, other) = match (nadler, lemmens) {
        (Some(Ok(n)), Ok(l)) if l.value < n.value => (l, n),
        (Some(Ok(n)), Ok(l)) => (n, l),
        (Some(Ok(only)), Err(_)) | (_, Ok(only)) => return Ok(only),
        (_, Err(error)) => return Err(error),
    };
    // BV = min(BV₁, BV₂)
    let line = Working::line(
        StepName::BloodVolume,
        "BV = min(BV₁, BV₂)",
        "min({}, {})",
        vec![Figure::of(smaller.value), Figure::of(other.value)],
        Figure::of(smaller.value),
    );
    Ok(Worked::new(smaller.value, other.working.then(smaller.working).then(line)))
}

/// Body-mass index [kg/m²].
pub fn body_mass_index(height: Height, weight: Mass) -> Checked<BodyMassIndex> {
    let h = height.get() / 100.0;
    // BMI = W/h², h in m
    let value = BodyMassIndex::new(weight.get() / (h * h))?;
    let working = Working::line(
        StepName::BodyMassIndex,
        "BMI = W/h²",
        "{}/{}²",
        vec![Figure::of(weight), metres(h)],
        Figure::of(value),
    );
    Ok(Worked::new(value, working))
}

/// Body surface [m²], Du Bois ([`SourceId::DuBois1916`], from memory).
pub fn body_surface(height: Height, weight: Mass) -> Checked<BodySurface> {
    // S = 0.007184·W^0.425·h^0.725, h in cm
    let value =
        BodySurface::new(0.007_184 * libm::pow(weight.get(), 0.425) * libm::pow(height.get(), 0.725))?;
    let working = Working::line(
        StepName::BodySurface,
        "S = 0.007184·W^0.425·h^0.725",
        "0.007184·{}^0.425·{}^0.725",
        vec![Figure::of(weight), Figure::of(height)],
        Figure::of(value),
    );
    Ok(Worked::new(value, working.from(SourceId::DuBois1916)))
}

/// ICSH estimate [mL]: red-cell mass and plasma volume from the body surface. Shown as literature, never used
/// for a limit ([`SourceId::Icsh1995`], coefficients from memory). The age enters for women only.
pub fn icsh(sex: Sex, age: Age, height: Height, weight: Mass) -> Checked<Volume> {
    let surface = body_surface(height, weight)?;
    let s = surface.value.get();
    let (red_cells, plasma, formula, substituted, numbers) = match sex {
        // BV = (1.06·age + 822·S) + 1395·S
        Sex::Female => (
            1.06 * age.get() + 822.0 * s,
            1395.0 * s,
            "BV = (1.06·age + 822·S) + 1395·S",
            "(1.06·{} + 822·{}) + 1395·{}",
            vec![Figure::of(age), Figure::of(surface.value), Figure::of(surface.value)],
        ),
        // BV = (1486·S − 825) + 1578·S
        Sex::Male => (
            1486.0 * s - 825.0,
            1578.0 * s,
            "BV = (1486·S − 825) + 1578·S",
            "(1486·{} − 825) + 1578·{}",
            vec![Figure::of(surface.value), Figure::of(surface.value)],
        ),
    };
    let value = Volume::new(red_cells + plasma)?;
    let line = Working::line(StepName::BloodVolumeIcsh, formula, substituted, numbers, Figure::of(value));
    Ok(Worked::new(value, surface.working.then(line).from(SourceId::Icsh1995)))
}

fn metres(value: f64) -> Figure {
    Figure { value, unit: "m" }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::blood::testing::{near, number, q};
    use Sex::{Female, Male};

    #[test]
    fn nadler_as_published() {
        // C01 to C04
        for (sex, height, weight, wanted) in [
            (Male, 180.0, 80.0, 5319.1),
            (Female, 165.0, 60.0, 3767.7),
            (Male, 175.0, 70.0, 4823.8),
            (Female, 160.0, 50.0, 3295.9),
        ] {
            near(number(nadler(sex, q(height), q(weight))), wanted, 1.0);
        }
    }

    #[test]
    fn lemmens_as_published() {
        // C05
        near(number(body_mass_index(q(170.0), q(100.0))), 34.602, 0.001 * 34.602);
        near(number(lemmens(q(170.0), q(100.0))), 5581.59, 0.001 * 5581.59);
        // C06: 22 kg/m² is 88 kg at 2 m
        near(number(lemmens(q(200.0), q(88.0))) / 88.0, 70.0, 1e-9);
    }

    #[test]
    fn the_smaller_of_the_two_where_both_are_possible() {
        // C07
        let (h, w) = (q(160.0), q(60.0));
        let (n, l) = (number(nadler(Female, h, w)), number(lemmens(h, w)));
        near(100.0 * (l - n) / n, 12.2, 0.2);
        assert_eq!(number(blood_volume(Some(Female), h, w)), n);
        assert_eq!(number(blood_volume(None, h, w)), l);
        let (h, w) = (q(170.0), q(150.0));
        assert_eq!(number(blood_volume(Some(Male), h, w)), number(lemmens(h, w)));
        // Nadler is not for the very light
        for (weight, nadlers) in [(35.0, false), (35.1, true)] {
            let (h, w) = (q(150.0), q(weight));
            let found = number(blood_volume(Some(Female), h, w));
            assert_eq!(found == number(nadler(Female, h, w)), nadlers);
        }
    }

    #[test]
    fn an_estimate_beyond_a_volume_is_left_out() {
        // Nadler gives 10.8 L here, Lemmens 9.4
        let (h, w) = (q(180.0), q(250.0));
        assert!(nadler(Male, h, w).is_err());
        assert_eq!(number(blood_volume(Some(Male), h, w)), number(lemmens(h, w)));
        assert!(blood_volume(Some(Male), q(200.0), q(390.0)).is_err());
    }

    #[test]
    fn icsh_from_the_body_surface() {
        // C08
        near(number(body_surface(q(170.0), q(70.0))), 1.81, 0.005);
        near(number(icsh(Male, q(40.0), q(170.0), q(70.0))), 4719.9, 0.002 * 4719.9);
        let (h, w) = (q(165.0), q(60.0));
        let s = number(body_surface(h, w));
        near(number(icsh(Female, q(40.0), h, w)), 42.4 + 2217.0 * s, 1e-6);
    }
}
