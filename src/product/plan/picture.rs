//! Product platelets against blood drawn, as plain points for a picture that is only looked at.

use super::super::kind::ProductKind;
use super::super::order::Bounds;
use super::super::predict::NativeCount;
use super::super::range::{HIGH, LOW, Range};
use super::OrderedAmount;
use super::search::{Candidate, Problem};
use crate::quantity::{Cells, Quantity, Volume};

/// One column of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point {
    /// Blood in all [mL].
    pub blood: Volume,
    /// Containers it takes.
    pub containers: u8,
    /// Platelets in product [10⁹], predicted.
    pub in_product: Range<Cells>,
}

/// What the picture shows.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// By rising blood.
    pub points: Vec<Point>,
    /// Product volume that holds throughout.
    pub product: Volume,
    /// Platelets in product that the order asks for, of the first amount it names; its high end may be absent.
    pub order: Option<(Cells, Option<Cells>)>,
    /// Most blood within the limits.
    pub limit: Option<Volume>,
    /// The way offered.
    pub plan: Point,
}

/// Columns of the picture.
const COLUMNS: u8 = 24;

pub(super) fn picture(problem: &Problem<'_>, c: &Candidate) -> Option<Picture> {
    let each = problem.vessel.fills.last()?.value.split.blood.get();
    let least = problem.blood_each(0);
    let at = problem.blood(c);
    let limit = problem.blood.map(|b| b.most);
    // Somewhat past the plan and, where that is near, past the limit.
    let most = f64::from(problem.most_containers) * each;
    let end = most.min(limit.map_or(f64::INFINITY, |l| 1.1 * l.get()).min((1.6 * at).max(at + each)));
    let columns = (0..=COLUMNS).map(|i| least + (end - least) * f64::from(i) / f64::from(COLUMNS));
    let mut known: Option<Point> = None;
    let mut column = |blood: f64| {
        let containers = containers(problem, blood, each)?;
        // A recovery gives in proportion to the blood, as long as the containers are as many.
        let same = known.filter(|k| k.containers == containers && problem.kind != ProductKind::OffTheTop);
        let found = match same {
            Some(k) => {
                let factor = blood / k.blood.get();
                let blood = Volume::new(blood).ok()?;
                Point { blood, containers, in_product: k.in_product.scaled(factor).ok()? }
            }
            None => point(problem, blood, containers, c.product)?,
        };
        known = Some(found);
        Some(found)
    };
    Some(Picture {
        points: columns.filter_map(&mut column).collect(),
        product: Volume::new(c.product).ok()?,
        order: order(problem, c),
        limit,
        plan: point(problem, at, c.containers, c.product)?,
    })
}

fn containers(problem: &Problem<'_>, blood: f64, each: f64) -> Option<u8> {
    (1..=problem.most_containers).find(|n| blood <= f64::from(*n) * each + 1e-9)
}

fn point(problem: &Problem<'_>, blood: f64, containers: u8, product: f64) -> Option<Point> {
    let amounts = problem.amounts(containers, blood, product)?;
    let at = |p| Cells::new(amounts.platelets(p)?).ok();
    let in_product = Range { median: at(0.5)?, low: at(LOW)?, high: at(HIGH)? };
    Some(Point { blood: Volume::new(blood).ok()?, containers, in_product })
}

fn order(problem: &Problem<'_>, c: &Candidate) -> Option<(Cells, Option<Cells>)> {
    let aim = problem.aims.first()?;
    let Bounds { low, high } = problem.needs(aim, c.product)?;
    let NativeCount { value, .. } = problem.native;
    // N = c·V/1000, c = fold·PLT
    let factor = c.product / 1000.0 * if aim.what == OrderedAmount::Fold { value.get() } else { 1.0 };
    let high = high.is_finite().then(|| Cells::new(high * factor).ok()).flatten();
    Some((Cells::new(low * factor).ok()?, high))
}
