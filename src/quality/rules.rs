//! Rules of control charts, on distances from the centre in SDs. Made for control material; here each point is
//! another patient, so that a signal asks to look, and never judges a product.

use crate::evidence::SourceId;
use serde::{Deserialize, Serialize};

/// A rule. Numbers are those it was published with.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// 1₂ₛ: one beyond 2 SD. A warning only.
    OneBeyond2,
    /// 1₃ₛ: one beyond 3 SD.
    OneBeyond3,
    /// 2₂ₛ: two in a row beyond the same 2 SD.
    TwoBeyond2,
    /// 2 of 3₂ₛ: two of three in a row beyond the same 2 SD.
    TwoOfThreeBeyond2,
    /// R₄ₛ: within one run, one beyond +2 SD and one beyond −2 SD.
    Range4,
    /// 4₁ₛ: four in a row beyond the same 1 SD.
    FourBeyond1,
    /// 8ₓ: eight in a row on one side.
    EightOneSide,
    /// 10ₓ: ten in a row on one side.
    TenOneSide,
    /// 12ₓ: twelve in a row on one side.
    TwelveOneSide,
    /// Nine in a row on one side.
    NineOneSide,
    /// Six in a row that all rise or all fall.
    SixRisingOrFalling,
    /// Fourteen in a row, up and down in turn.
    FourteenUpAndDown,
    /// Four of five in a row beyond the same 1 SD.
    FourOfFiveBeyond1,
    /// Fifteen in a row within 1 SD.
    FifteenWithin1,
    /// Eight in a row beyond 1 SD, either side.
    EightOutside1,
    /// The running mean (EWMA) leaves its limits.
    RunningMean,
}

/// Side of the centre.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Above.
    High,
    /// Below.
    Low,
    /// Neither: the pattern is in the spread.
    Spread,
}

impl Rule {
    /// In the order offered.
    pub const ALL: [Rule; 16] = [
        Rule::OneBeyond3,
        Rule::RunningMean,
        Rule::OneBeyond2,
        Rule::TwoBeyond2,
        Rule::TwoOfThreeBeyond2,
        Rule::Range4,
        Rule::FourBeyond1,
        Rule::EightOneSide,
        Rule::TenOneSide,
        Rule::TwelveOneSide,
        Rule::NineOneSide,
        Rule::SixRisingOrFalling,
        Rule::FourteenUpAndDown,
        Rule::FourOfFiveBeyond1,
        Rule::FifteenWithin1,
        Rule::EightOutside1,
    ];
    /// On unless the clinic says otherwise.
    pub const USUAL: [Rule; 2] = [Rule::OneBeyond3, Rule::RunningMean];
    /// The family by which control material is judged in laboratories.
    pub const WESTGARD: [Rule; 6] = [
        Rule::OneBeyond2,
        Rule::OneBeyond3,
        Rule::TwoBeyond2,
        Rule::Range4,
        Rule::FourBeyond1,
        Rule::TenOneSide,
    ];

    /// Where it was published.
    pub const fn source(self) -> SourceId {
        match self {
            Rule::RunningMean => SourceId::NistEwma,
            Rule::NineOneSide
            | Rule::SixRisingOrFalling
            | Rule::FourteenUpAndDown
            | Rule::FourOfFiveBeyond1
            | Rule::FifteenWithin1
            | Rule::EightOutside1 => SourceId::Nelson1984,
            _ => SourceId::Westgard,
        }
    }

    /// Whether it only warns.
    pub const fn warns_only(self) -> bool {
        matches!(self, Rule::OneBeyond2)
    }

    /// How many points in a row it looks at.
    const fn reach(self) -> usize {
        match self {
            Rule::OneBeyond2 | Rule::OneBeyond3 | Rule::RunningMean => 1,
            Rule::TwoBeyond2 | Rule::Range4 => 2,
            Rule::TwoOfThreeBeyond2 => 3,
            Rule::FourBeyond1 => 4,
            Rule::FourOfFiveBeyond1 => 5,
            Rule::SixRisingOrFalling => 6,
            Rule::EightOneSide | Rule::EightOutside1 => 8,
            Rule::NineOneSide => 9,
            Rule::TenOneSide => 10,
            Rule::TwelveOneSide => 12,
            Rule::FourteenUpAndDown => 14,
            Rule::FifteenWithin1 => 15,
        }
    }

    /// Whether the newest of these points completes the pattern. The running mean is judged where it is reckoned.
    fn holds(self, until: &[Judged]) -> Option<Side> {
        let reach = self.reach();
        let window = until.get(until.len().checked_sub(reach)?..)?;
        let newest = window.last()?;
        let some = |least: usize, beyond: f64| {
            let side = if newest.z > 0.0 { Side::High } else { Side::Low };
            let sign = if newest.z > 0.0 { 1.0 } else { -1.0 };
            let found = window.iter().filter(|p| p.z * sign > beyond).count();
            (found >= least && newest.z * sign > beyond).then_some(side)
        };
        let spread = |is: bool| is.then_some(Side::Spread);
        match self {
            Rule::OneBeyond2 => some(1, 2.0),
            Rule::OneBeyond3 => some(1, 3.0),
            Rule::TwoBeyond2 | Rule::TwoOfThreeBeyond2 => some(2, 2.0),
            Rule::FourBeyond1 | Rule::FourOfFiveBeyond1 => some(4, 1.0),
            Rule::EightOneSide | Rule::NineOneSide | Rule::TenOneSide | Rule::TwelveOneSide => {
                some(reach, 0.0)
            }
            Rule::Range4 => {
                let run = newest.run?;
                let opposite = |p: &Judged| p.z * newest.z < 0.0 && p.z.abs() > 2.0 && p.run == Some(run);
                let before = until.get(..until.len() - 1)?;
                let mut same = before.iter().rev().take_while(|p| p.run == Some(run));
                spread(newest.z.abs() > 2.0 && same.any(opposite))
            }
            Rule::SixRisingOrFalling => {
                let steps = || window.iter().zip(window.iter().skip(1)).map(|(a, b)| b.z - a.z);
                match (steps().all(|s| s > 0.0), steps().all(|s| s < 0.0)) {
                    (true, _) => Some(Side::High),
                    (_, true) => Some(Side::Low),
                    _ => None,
                }
            }
            Rule::FourteenUpAndDown => {
                let steps: Vec<f64> =
                    window.iter().zip(window.iter().skip(1)).map(|(a, b)| b.z - a.z).collect();
                spread(steps.iter().zip(steps.iter().skip(1)).all(|(a, b)| a * b < 0.0))
            }
            Rule::FifteenWithin1 => spread(window.iter().all(|p| p.z.abs() < 1.0)),
            Rule::EightOutside1 => spread(window.iter().all(|p| p.z.abs() > 1.0)),
            Rule::RunningMean => None,
        }
    }
}

/// A point as rules see it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// Distance from the centre in SDs.
    pub z: f64,
    /// The run it belongs to, where runs have more than one point.
    pub run: Option<i64>,
}

/// A rule that speaks at a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Signal {
    /// Which rule.
    pub rule: Rule,
    /// To which side.
    pub side: Side,
}

/// What each point completes. A pattern that goes on is said once; a single point beyond its limit each time.
pub fn signals(points: &[Judged], rules: &[Rule]) -> Vec<Vec<Signal>> {
    let mut found = vec![Vec::new(); points.len()];
    for &rule in rules {
        let mut before = None;
        for (i, signals) in found.iter_mut().enumerate() {
            let side = points.get(..=i).and_then(|until| rule.holds(until));
            if let Some(side) = side.filter(|_| side != before || rule.reach() == 1) {
                signals.push(Signal { rule, side });
            }
            before = side;
        }
    }
    found
}

/// What to look at after a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ToCheck {
    /// Which tube or container the blood's own count came from.
    BaselineKind,
    /// The dilution before the analyser.
    Dilution,
    /// Whether the product was mixed before sampling, and free of clumps.
    Mixing,
    /// The volume kept, and the mark the blood reached.
    Volume,
    /// A clot, or platelets left on the wall.
    Clots,
    /// Speed and time really run.
    SpinRun,
    /// How close to the cells it was collected.
    Collection,
    /// Whether the lot of containers changed.
    ContainerLot,
    /// Whether the lot of anticoagulant changed.
    AnticoagulantLot,
    /// Whether the analyser was serviced, or its own controls moved.
    Analyser,
    /// Whether rotor, radius or speed display changed.
    Rotor,
    /// Whether somebody else prepares, or does it otherwise.
    Operator,
    /// Whether other patients come: haematocrit, count.
    Patients,
}

impl Signal {
    /// What to look at, in this order: first whether the count is right, then what was done, then what changed.
    /// Above 100 % has an order of its own, [`crate::product::measured::Check::IN_ORDER`], with which both begin.
    pub const fn to_check(self) -> &'static [ToCheck] {
        use ToCheck as C;
        const ONE_LOW: &[ToCheck] =
            &[C::BaselineKind, C::Dilution, C::Mixing, C::Volume, C::Clots, C::SpinRun, C::Collection];
        const ONE_HIGH: &[ToCheck] = &[C::BaselineKind, C::Dilution, C::Mixing, C::Volume, C::Collection];
        const SHIFT: &[ToCheck] = &[
            C::BaselineKind,
            C::Dilution,
            C::Mixing,
            C::Volume,
            C::ContainerLot,
            C::AnticoagulantLot,
            C::Analyser,
            C::SpinRun,
            C::Rotor,
            C::Operator,
            C::Patients,
        ];
        match (self.rule, self.side) {
            (Rule::OneBeyond2 | Rule::OneBeyond3 | Rule::Range4, Side::High) => ONE_HIGH,
            (Rule::OneBeyond2 | Rule::OneBeyond3 | Rule::Range4, _) => ONE_LOW,
            _ => SHIFT,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Which rules speak, point by point.
    fn speak(z: &[f64], rules: &[Rule]) -> Vec<(usize, Rule, Side)> {
        let points: Vec<_> = z.iter().map(|&z| Judged { z, run: None }).collect();
        let each = signals(&points, rules).into_iter().enumerate();
        each.flat_map(|(i, all)| all.into_iter().map(move |s| (i, s.rule, s.side))).collect()
    }

    // Definitions: reference of the rules as read at medialabinc.net and westgard.com; J02 to J08 run in published.rs.

    #[test]
    fn a_pattern_is_said_once_a_point_each_time() {
        assert_eq!(
            speak(&[3.1, 3.2, -3.3], &[Rule::OneBeyond3]),
            [
                (0, Rule::OneBeyond3, Side::High),
                (1, Rule::OneBeyond3, Side::High),
                (2, Rule::OneBeyond3, Side::Low)
            ]
        );
        assert_eq!(
            speak(&[2.1, 2.2, 2.3, 0.0, -2.1, -2.2], &[Rule::TwoBeyond2]),
            [(1, Rule::TwoBeyond2, Side::High), (5, Rule::TwoBeyond2, Side::Low)]
        );
        assert_eq!(speak(&[0.1; 25], &[Rule::TenOneSide]), [(9, Rule::TenOneSide, Side::High)]);
    }

    #[test]
    fn limits_themselves_are_not_beyond() {
        let all = [3.0, -3.0, 2.0, 2.0, 1.0, 1.0, 1.0, 1.0];
        assert_eq!(speak(&all[..2], &[Rule::OneBeyond3]), []);
        assert_eq!(speak(&all[2..], &[Rule::TwoBeyond2, Rule::FourBeyond1]), []);
        assert_eq!(speak(&[0.0; 12], &[Rule::TenOneSide]), []);
    }

    #[test]
    fn two_of_three_needs_the_newest_among_them() {
        let rule = [Rule::TwoOfThreeBeyond2];
        assert_eq!(speak(&[2.1, 0.0, 2.2], &rule), [(2, Rule::TwoOfThreeBeyond2, Side::High)]);
        assert_eq!(speak(&[2.1, 0.0, 0.0, 2.2], &rule), []);
        assert_eq!(speak(&[2.1, -2.2, 0.0], &rule), []);
    }

    #[test]
    fn a_range_is_within_one_run() {
        let of = |runs: [Option<i64>; 2]| {
            let points = [Judged { z: 2.1, run: runs[0] }, Judged { z: -2.4, run: runs[1] }];
            signals(&points, &[Rule::Range4])[1].len()
        };
        assert_eq!([of([Some(1), Some(1)]), of([Some(1), Some(2)]), of([None, None])], [1, 0, 0]);
    }

    #[test]
    fn nelsons_patterns() {
        use Rule as R;
        let rising: Vec<f64> = (0..6).map(|i| -1.0 + 0.3 * f64::from(i)).collect();
        assert_eq!(speak(&rising, &[R::SixRisingOrFalling]), [(5, R::SixRisingOrFalling, Side::High)]);
        assert_eq!(speak(&rising[..5], &[R::SixRisingOrFalling]), []);
        let zigzag: Vec<f64> = (0..14).map(|i| if i % 2 == 0 { 0.5 } else { -0.2 }).collect();
        assert_eq!(speak(&zigzag, &[R::FourteenUpAndDown]), [(13, R::FourteenUpAndDown, Side::Spread)]);
        assert_eq!(
            speak(&[0.9, -0.9, 0.1, 1.2, 0.2, 1.1, 1.3, 1.4], &[R::FourOfFiveBeyond1]),
            [(7, R::FourOfFiveBeyond1, Side::High)]
        );
        assert_eq!(speak(&[0.5; 15], &[R::FifteenWithin1]), [(14, R::FifteenWithin1, Side::Spread)]);
        let out: Vec<f64> = (0..8).map(|i| if i % 3 == 0 { 1.5 } else { -1.2 }).collect();
        assert_eq!(speak(&out, &[R::EightOutside1]), [(7, R::EightOutside1, Side::Spread)]);
        assert_eq!(
            speak(&[-0.1; 9], &[R::NineOneSide, R::EightOneSide, R::TwelveOneSide]),
            [(7, R::EightOneSide, Side::Low), (8, R::NineOneSide, Side::Low)]
        );
    }

    #[test]
    fn every_signal_says_what_to_check_and_the_count_comes_first() {
        use crate::product::measured::Check;
        let first = [ToCheck::BaselineKind, ToCheck::Dilution, ToCheck::Mixing, ToCheck::Volume];
        assert_eq!(first.len(), Check::IN_ORDER.len());
        for rule in Rule::ALL {
            for side in [Side::High, Side::Low, Side::Spread] {
                assert_eq!(Signal { rule, side }.to_check()[..4], first);
            }
        }
    }
}
