//! What the method alone can reach: bounds that save the search most evaluations and let no way be missed.

use super::super::amount::{Amounts, Content, Volumes, spread_factor};
use super::super::kind::ProductKind;
use super::super::order::{Bounds, Needs, OrderedAmount};
use super::super::predict::ANALYSER;
use super::search::{NOISE, Problem};
use crate::quantity::{Quantity, Volume};

/// What the method alone can reach with so many containers: bounds that let no way be missed and save most
/// evaluations.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reach {
    /// Chance is asked of the method before pooling changed it.
    pub(super) pooled: bool,
    /// With a fold, what is expected if no ceiling cuts it.
    pub(super) amounts: Option<Amounts>,
    /// Some ratio of blood to product may meet every aim.
    pub(super) possible: bool,
    /// Of the amount over its ratio (with a fold: of the amount): what all but a wanted share exceed, and what a
    /// wanted share stays under. First of the concentration, then of the fold.
    pub(super) concentration: [f64; 2],
    pub(super) fold: [f64; 2],
}

impl Reach {
    pub(super) fn of(problem: &Problem<'_>, n: u8, wanted: f64) -> Option<Self> {
        let pooled =
            spread_factor(problem.expectation, n) != spread_factor(problem.expectation, n.saturating_add(1));
        // Blood to product so large that no fold is cut; read without error.
        let ratio = if problem.kind == ProductKind::OffTheTop { 500.0 } else { 1.0 };
        let volumes = Volumes {
            blood: Volume::new(ratio).ok()?,
            product: Volume::new(1.0).ok()?,
            graduation: None,
            containers: n,
        };
        let native = Some(problem.native);
        let amounts = Amounts::new(problem.expectation, volumes, native, Content::True, ANALYSER).ok()??;
        let concentration = |p| amounts.concentration(p).unwrap_or(0.0);
        let mut reach = Self {
            pooled,
            amounts: (problem.kind == ProductKind::OffTheTop).then_some(amounts),
            possible: true,
            concentration: [concentration(1.0 - wanted), concentration(wanted)],
            fold: [amounts.fold(1.0 - wanted), amounts.fold(wanted)],
        };
        reach.possible = problem.aims.iter().all(|aim| {
            let Bounds { low, high } = aim.bounds;
            high.is_infinite()
                || problem.kind == ProductKind::OffTheTop
                || most_between(&amounts, aim.what, high / low) >= wanted
        });
        Some(reach)
    }

    /// No ratio of blood to product meets everything with a higher chance than this.
    pub(super) fn at_most(problem: &Problem<'_>, n: u8) -> f64 {
        let one = Volume::new(1.0).ok();
        let amounts = one.and_then(|one| {
            let volumes = Volumes { blood: one, product: one, graduation: None, containers: n };
            let native = Some(problem.native);
            Amounts::new(problem.expectation, volumes, native, Content::True, ANALYSER).ok()?
        });
        let Some(amounts) = amounts else { return 1.0 };
        let two_sided = problem.aims.iter().filter(|a| a.bounds.high.is_finite());
        two_sided.map(|a| most_between(&amounts, a.what, a.bounds.high / a.bounds.low)).fold(1.0, f64::min)
    }

    /// Whether this ratio may meet every aim: never false where one does.
    pub(super) fn may(&self, problem: &Problem<'_>, blood: f64, product: f64) -> bool {
        let off_the_top = problem.kind == ProductKind::OffTheTop;
        let ratio = if off_the_top { 1.0 } else { blood / product };
        let half = (0.5 * problem.vessel.graduation.get() / product).min(0.999);
        problem.aims.iter().all(|aim| {
            let Some(needs) = problem.needs(aim, product) else { return false };
            let ([low, high], half) = match aim.what {
                OrderedAmount::Fold => (self.fold, 0.0),
                _ if off_the_top => (self.concentration, 0.0),
                _ => (self.concentration, half),
            };
            let enough = needs.low * (1.0 - half) <= low * ratio * (1.0 + NOISE);
            // A fold that is cut may stay under more than one that is not.
            let not_too_much = off_the_top || needs.high * (1.0 + half) >= high * ratio * (1.0 - NOISE);
            enough && not_too_much
        })
    }
}

/// The greatest chance of lying between two ends of this ratio, wherever they lie. An error of the volume only
/// lowers it: it is a mean over such ends.
fn most_between(amounts: &Amounts, what: OrderedAmount, ratio: f64) -> f64 {
    let quantile = |p: f64| match what {
        OrderedAmount::Fold => Some(amounts.fold(p)),
        _ => amounts.concentration(p),
    };
    let (Some(from), Some(to)) = (quantile(0.001), quantile(0.999)) else { return 1.0 };
    let at = |share: f64| {
        let low = libm::exp(libm::log(from / ratio) + share * libm::log(to / (from / ratio)));
        amounts.about(Needs::default().and(what, Bounds { low, high: low * ratio })).unwrap_or(0.0)
    };
    // Each density here has one top, so the chance rises to one top and falls: by golden section.
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    let inner = |from: f64, to: f64| [to - GOLDEN * (to - from), from + GOLDEN * (to - from)];
    let [left, right] = inner(from, to);
    let (mut left, mut right) = ((left, at(left)), (right, at(right)));
    for _ in 0..SECTIONS {
        if left.1 < right.1 {
            (from, left) = (left.0, right);
            let [_, next] = inner(from, to);
            right = (next, at(next));
        } else {
            (to, right) = (right.0, left);
            let [next, _] = inner(from, to);
            left = (next, at(next));
        }
    }
    // Between the last points it is no more than this higher.
    left.1.max(right.1) + 1e-3
}

/// Of a section, the share kept: (√5 − 1)/2.
const GOLDEN: f64 = 0.618_033_988_749_894_9;
/// Leaves a two-hundredth of where the top was looked for, about a thirtieth of a deviate.
const SECTIONS: usize = 11;
