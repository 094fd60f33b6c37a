//! Order, doubt and plan as the shell prints them, at full precision.

use crate::assess::product::{OrderChance, OrderLine};
use crate::assess::{self, Assessment};
use crate::case::Case;
use crate::product::doubt::Doubt;
use crate::product::plan::{MoreBlood, Plan, Point, Way};
use crate::product::range::Range;
use crate::quantity::Quantity;
use crate::words::Language;
use crate::working::Worked;
use serde_json::{Value, json};

fn range<Q: Quantity>(r: Range<Q>) -> Value {
    json!({ "median": r.median.get(), "low": r.low.get(), "high": r.high.get(), "unit": Q::UNIT })
}

fn worked<Q: Quantity>(w: Option<&Worked<Range<Q>>>) -> Value {
    w.map_or(Value::Null, |w| range(w.value))
}

/// One amount ordered.
pub(super) fn order(line: &OrderLine, language: Language) -> Value {
    json!({
        "what": line.what,
        "sense": line.sense,
        "ordered": line.ordered,
        "most": line.most,
        "each_part": line.each_part,
        "expected_at_the_middle": line.expected,
        "chance": line.chance.as_ref().map(|c| chance(c, language)),
        "counted": line.counted,
        "counted_on_volume": line.shared,
    })
}

/// How likely an order is met, in figures and as it may be said.
pub(super) fn chance(c: &OrderChance, language: Language) -> Value {
    json!({ "value": c.chance.value.get(), "likelihood": language.say(c.likelihood) })
}

/// What is read, what is known without a count, and what the doubt is made of.
pub(super) fn sure(case: &Case, a: &Assessment) -> Value {
    let any = a.product.any_adult.as_ref();
    json!({
        "concentration_a_count_will_read": worked(a.product.will_read.as_ref()),
        "concentration_of_any_adult": worked(any.and_then(|p| p.concentration.as_ref())),
        "platelets_in_product_of_any_adult": worked(any.and_then(|p| p.in_product.as_ref())),
        "doubt": assess::how_sure(case, a).as_ref().map(doubt),
    })
}

fn doubt(doubt: &Doubt) -> Value {
    let shares: Vec<Value> =
        doubt.shares.iter().map(|(what, share)| json!({ "what": what, "share": share })).collect();
    json!({
        "largest": doubt.largest,
        "shares_of_variance": shares,
        "platelets_in_product": range(doubt.now),
        "if_the_largest_were_known": range(doubt.narrowed),
    })
}

fn way(way: &Way, language: Language) -> Value {
    let split = way.each.value.split;
    let aims: Vec<Value> = way
        .aims
        .iter()
        .map(|a| json!({ "what": a.aim.what, "chance": a.chance.value.get(), "at_the_middle": a.at_the_middle }))
        .collect();
    json!({
        "why": way.why,
        "container": way.container,
        "containers": way.containers,
        "anticoagulant_each": split.anticoagulant.get(),
        "blood_each": split.blood.get(),
        "fill_mark": split.fill.get(),
        "blood_in_all": way.blood.value.get(),
        "product_volume": way.product.get(),
        "left_over": way.left_over.value.get(),
        "chance": way.chance.value.get(),
        "likelihood": language.say(way.likelihood),
        "order": aims,
        "fold": worked(way.prediction.fold.as_ref()),
        "concentration": worked(way.prediction.concentration.as_ref()),
        "platelets_in_product": worked(way.prediction.in_product.as_ref()),
    })
}

fn point(p: &Point) -> Value {
    let containers = p.containers;
    json!({ "blood": p.blood.get(), "containers": containers, "platelets_in_product": range(p.in_product) })
}

fn more(m: &MoreBlood) -> Value {
    let chance = m.chance.value.get();
    json!({ "blood": m.blood.get(), "chance": chance, "platelets_in_product": worked(m.in_product.as_ref()) })
}

/// The whole plan.
pub(super) fn plan(plan: &Plan, language: Language) -> Value {
    let ways = |ways: &[Way]| ways.iter().map(|w| way(w, language)).collect::<Vec<_>>();
    let relaxed: Vec<Value> = plan
        .relaxed
        .iter()
        .map(|r| json!({ "limit": r.limit, "met": r.met, "way": way(&r.way, language) }))
        .collect();
    let reachable: Vec<Value> =
        plan.reachable.iter().map(|(what, at_least)| json!({ "what": what, "at_least": at_least })).collect();
    let count_now = plan.count_now.as_ref().map(|c| {
        json!({
            "at": c.at.get(),
            "uncounted": c.uncounted,
            "platelets_in_product": c.now.map(range),
            "if_counted": c.counted.map(range),
            "way": c.way.as_ref().map(|w| way(w, language)),
        })
    });
    let picture = plan.picture.as_ref().map(|p| {
        json!({
            "points": p.points.iter().map(point).collect::<Vec<_>>(),
            "product_volume": p.product.get(),
            "order": p.order.map(|(low, high)| json!({ "low": low.get(), "high": high.map(Quantity::get) })),
            "limit": p.limit.map(Quantity::get),
            "plan": point(&p.plan),
        })
    });
    json!({
        "verdict": plan.verdict,
        "way": plan.way.as_ref().map(|w| way(w, language)),
        "others": ways(&plan.others),
        "five_more": plan.five_more.as_ref().map(more),
        "count_now": count_now,
        "doubt": plan.doubt.as_ref().map(doubt),
        "binds": plan.binds,
        "relaxed": relaxed,
        "reachable": reachable,
        "picture": picture,
    })
}
