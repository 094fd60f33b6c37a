//! An invented history of 60 counted preparations, each marked as demo: it never enters the clinic's statistics.
//! The same every time. The last lot of containers gives less and less.

use super::facts::Counted;
use crate::blood::baseline::SampleKind;
use crate::product::kind::ProductKind;
use crate::product::predict::{ANALYSER, NativeCount};
use crate::quantity::time::{Instant, Span};
use crate::quantity::{CellCount, Fold, Haematocrit, Quantity, Volume};
use libm::{cos, exp, log, sqrt};
use std::f64::consts::TAU;

/// How many.
pub const HOW_MANY: u32 = 60;
/// The lot that drifts.
pub const DRIFTING_LOT: &str = "K-0058";
/// From this preparation on, counted from 0, it is used.
const DRIFTS_FROM: u32 = 40;
/// Where the invented chance begins.
const SEED: u64 = 417;

/// Even numbers below 1 and normal deviates, the same in every place (Steele, Lea and Flood's mixing of a counter).
pub(crate) struct Chance(pub(crate) u64);

impl Chance {
    /// From 0 to below 1.
    pub(crate) fn even(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        // The upper 52 bits, put behind the point of a number from 1 to 2.
        f64::from_bits((z >> 12) | 0x3ff0_0000_0000_0000) - 1.0
    }

    /// Standard normal (Box and Muller).
    pub(crate) fn normal(&mut self) -> f64 {
        let (u, v) = (1.0 - self.even(), self.even());
        sqrt(-2.0 * log(u)) * cos(TAU * v)
    }
}

/// The history, the last preparation four days before `until`.
pub fn history(until: Instant) -> Vec<Counted> {
    let mut chance = Chance(SEED);
    (0..HOW_MANY).filter_map(|i| preparation(i, until, &mut chance)).collect()
}

fn to<Q: Quantity>(value: f64, step: f64) -> Option<Q> {
    Q::new((value / step).round() * step).ok()
}

fn preparation(i: u32, until: Instant, chance: &mut Chance) -> Option<Counted> {
    let blood = Volume::new(26.0).ok()?;
    let native: CellCount = to(235.0 * exp(0.2 * chance.normal()), 1.0)?;
    let kept: Volume = to(4.0 + 0.3 * chance.normal(), 0.1)?;
    let haematocrit: Haematocrit = to(0.42 + 0.03 * chance.normal(), 0.01)?;
    let drift = 0.025 * f64::from(i.saturating_sub(DRIFTS_FROM));
    // 70 % recovered on the middle, less with more red cells; both counts have their error
    let recovery = exp(log(0.70) - 0.8 * (haematocrit.get() - 0.42) + 0.08 * chance.normal() - drift
        + ANALYSER.get() * 1.4 * chance.normal());
    let product: CellCount = to(recovery * native.get() * blood.get() / kept.get(), 1.0)?;
    let white: CellCount = to(6.5 * exp(0.25 * chance.normal()), 0.1)?;
    let white_fold = exp(log(1.8) + 0.35 * chance.normal());
    let days_before = i64::from(HOW_MANY - i) * 4;
    let lot = match i {
        0..20 => "K-0031",
        20..DRIFTS_FROM => "K-0044",
        _ => DRIFTING_LOT,
    };
    Some(Counted {
        id: format!("demo-history-{:02}", i + 1),
        at: until.checked_sub(Span::minutes(days_before * 24 * 60)?)?,
        demo: true,
        protocol: Some("double-spin".to_owned()),
        kind: Some(ProductKind::Concentrate),
        container: Some("tube-15".to_owned()),
        container_lot: lot.to_owned(),
        anticoagulant_lot: if i < 30 { "AC-2207" } else { "AC-2291" }.to_owned(),
        operator: "MO".to_owned(),
        rotor: Some("swing-out-155".to_owned()),
        haematocrit: Some(haematocrit),
        baseline: Some(NativeCount { value: native, cv: ANALYSER }),
        sample: Some(SampleKind::LaboratoryEdta),
        blood: Some(blood),
        kept: Some(kept),
        product: Some(product),
        readings: 1,
        dilution_noted: true,
        mixed: Some(true),
        clumps: false,
        tube_said: true,
        linear: true,
        white_fold: to::<CellCount>(white.get() * white_fold, 0.1)
            .and_then(|after| Fold::new(after.get() / white.get()).ok()),
        outside: false,
        rebuilt: false,
    })
}
