//! One container's fill, split between anticoagulant and blood.

use super::Band;
use crate::blood::NOISE;
use crate::evidence::SourceId;
use crate::quantity::{AcRatio, OutOfRange, Quantity, Volume};
use crate::working::{Checked, Figure, StepName, Worked, Working};
use serde::{Deserialize, Serialize};

/// How the amount of anticoagulant is given.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Dosing {
    /// Per blood [mL/mL].
    PerBlood(AcRatio),
    /// Per filled container [mL].
    PerContainer(Volume),
}

/// What a container's volume means.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum VolumeConvention {
    /// The container is filled to the volume, anticoagulant included.
    FillMark,
    /// The volume is blood, added onto the anticoagulant.
    AddedBlood,
}

/// What one container holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Split {
    /// Anticoagulant.
    pub anticoagulant: Volume,
    /// Blood.
    pub blood: Volume,
    /// Both together.
    pub fill: Volume,
}

/// Which way the anticoagulant was rounded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// It stands on a graduation already.
    Exact,
    /// Up, the rule.
    Up,
    /// Down, because up would leave the band.
    Down,
}

/// A split that the measuring device can make.
#[derive(Debug, Clone, PartialEq)]
pub struct Rounded {
    /// What the container holds after rounding.
    pub split: Split,
    /// Anticoagulant per blood, as it truly is.
    pub ratio: AcRatio,
    /// Which way it was rounded.
    pub direction: Direction,
    /// Whether `ratio` lies in the band; `None`: no band known.
    pub in_band: Option<bool>,
}

/// How far a container must be filled to come back into the band.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TopUp {
    /// Blood needed in the container in all.
    pub blood: Volume,
    /// The fill mark that goes with it.
    pub fill: Volume,
}

/// Splits a container's volume, unrounded. `volume` is the fill or the blood, as `convention` says.
/// Errors: anticoagulant that does not go into the container, so that blood would be negative.
pub fn split(dosing: Dosing, convention: VolumeConvention, volume: Volume) -> Checked<Split> {
    match dosing {
        Dosing::PerContainer(anticoagulant) => {
            let (split, working) = complete(anticoagulant, convention, volume)?;
            Ok(Worked::new(split, working))
        }
        Dosing::PerBlood(ratio) => {
            let a = ratio.get();
            let (exact, formula, substituted, numbers) = match convention {
                VolumeConvention::FillMark => (
                    // A = F·a/(1+a)
                    volume.get() * a / (1.0 + a),
                    "A = F·a/(1+a)",
                    "{}·{}/(1+{})",
                    vec![Figure::of(volume), Figure::pure(a), Figure::pure(a)],
                ),
                VolumeConvention::AddedBlood => (
                    // A = a·B
                    a * volume.get(),
                    "A = a·B",
                    "{}·{}",
                    vec![Figure::pure(a), Figure::of(volume)],
                ),
            };
            let anticoagulant = Volume::new(exact)?;
            let first = Working::line(
                StepName::AnticoagulantExact,
                formula,
                substituted,
                numbers,
                Figure::of(anticoagulant),
            );
            let (split, rest) = complete(anticoagulant, convention, volume)?;
            Ok(Worked::new(split, first.then(rest)))
        }
    }
}

/// Blood and fill that go with an anticoagulant volume.
fn complete(
    anticoagulant: Volume,
    convention: VolumeConvention,
    volume: Volume,
) -> Result<(Split, Working), OutOfRange> {
    let numbers = vec![Figure::of(volume), Figure::of(anticoagulant)];
    let (split, working) = match convention {
        VolumeConvention::FillMark => {
            // B = F − A
            let blood = Volume::new(volume.get() - anticoagulant.get())?;
            let working = Working::line(StepName::Blood, "B = F − A", "{} − {}", numbers, Figure::of(blood));
            (Split { anticoagulant, blood, fill: volume }, working)
        }
        VolumeConvention::AddedBlood => {
            // F = B + A
            let fill = Volume::new(volume.get() + anticoagulant.get())?;
            let working = Working::line(StepName::Fill, "F = B + A", "{} + {}", numbers, Figure::of(fill));
            (Split { anticoagulant, blood: volume, fill }, working)
        }
    };
    Ok((split, working.from(SourceId::Conservation)))
}

/// Rounds the anticoagulant up to the graduation of the device that measures it; down if only that stays in
/// the band; up where neither does, with `in_band` false. `given_volume` is the container's volume in the
/// sense of `convention`. Errors: no graduation, or no blood left beside the anticoagulant.
pub fn round_up(
    exact: &Split,
    convention: VolumeConvention,
    given_volume: Volume,
    graduation: Volume,
    band: Option<Band>,
) -> Checked<Rounded> {
    let step = graduation.get();
    if step < SMALLEST_GRADUATION {
        return Err(OutOfRange {
            quantity: "graduation",
            value: step,
            min: SMALLEST_GRADUATION,
            max: Volume::MAX,
            unit: "mL",
        });
    }
    let steps = exact.anticoagulant.get() / step;
    let nearest = libm::round(steps);
    if (steps - nearest).abs() <= NOISE * nearest.max(1.0) {
        return candidate(
            nearest * step,
            Direction::Exact,
            exact,
            convention,
            given_volume,
            graduation,
            band,
        );
    }
    let make = |count: f64, direction| {
        candidate(count * step, direction, exact, convention, given_volume, graduation, band)
    };
    let up = make(libm::ceil(steps), Direction::Up);
    if up.as_ref().is_ok_and(|w| w.value.in_band != Some(false)) {
        return up;
    }
    let down = make(libm::floor(steps), Direction::Down);
    if down.as_ref().is_ok_and(|w| w.value.in_band == Some(true)) {
        return down;
    }
    up
}

/// No measuring device is finer [mL].
const SMALLEST_GRADUATION: f64 = 0.001;

fn candidate(
    amount: f64,
    direction: Direction,
    exact: &Split,
    convention: VolumeConvention,
    given_volume: Volume,
    graduation: Volume,
    band: Option<Band>,
) -> Checked<Rounded> {
    // 3 × 0.2 is 0.6000000000000001: the ninth decimal is the last that means anything.
    let anticoagulant = Volume::new(libm::round(amount * 1e9) / 1e9)?;
    let (split, completed) = complete(anticoagulant, convention, given_volume)?;
    let ratio = true_ratio(split.anticoagulant, split.blood)?;
    let numbers = vec![Figure::of(exact.anticoagulant), Figure::of(graduation), Figure::of(graduation)];
    let found = Figure::of(anticoagulant);
    let rounding = match direction {
        Direction::Exact => Working::default(),
        Direction::Up => Working::line(StepName::RoundedUp, "A = ⌈A₀/g⌉·g", "⌈{}/{}⌉·{}", numbers, found),
        Direction::Down => Working::line(StepName::RoundedDown, "A = ⌊A₀/g⌋·g", "⌊{}/{}⌋·{}", numbers, found),
    };
    let mut working = rounding.then(completed).then(ratio.working);
    if let Some(band) = band {
        working = working.from(band.source);
    }
    let in_band = band.map(|band| band.contains(ratio.value));
    Ok(Worked::new(Rounded { split, ratio: ratio.value, direction, in_band }, working))
}

/// Anticoagulant per blood as it truly is. Errors: no blood.
pub fn true_ratio(anticoagulant: Volume, blood: Volume) -> Checked<AcRatio> {
    // a = A/B
    let value = AcRatio::new(anticoagulant.get() / blood.get())?;
    let working = Working::line(
        StepName::TrueRatio,
        "100·A/B",
        "100·{}/{}",
        vec![Figure::of(anticoagulant), Figure::of(blood)],
        Figure { value: 100.0 * value.get(), unit: "mL/100 mL" },
    );
    Ok(Worked::new(value, working.from(SourceId::Conservation)))
}

/// How much blood brings anticoagulant that is already in the container down to the top of the band.
/// Errors: a band that ends at zero.
pub fn top_up(anticoagulant: Volume, band: Band) -> Checked<TopUp> {
    // B = A/a_max
    let blood = Volume::new(anticoagulant.get() / band.high.get())?;
    let working = Working::line(
        StepName::TopUpTo,
        "B = A/a_max",
        "{}/{}",
        vec![Figure::of(anticoagulant), Figure::pure(band.high.get())],
        Figure::of(blood),
    );
    let (split, rest) = complete(anticoagulant, VolumeConvention::AddedBlood, blood)?;
    Ok(Worked::new(TopUp { blood, fill: split.fill }, working.from(band.source).then(rest)))
}

#[cfg(test)]
#[path = "split_tests.rs"]
mod tests;
