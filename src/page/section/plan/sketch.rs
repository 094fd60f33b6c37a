//! The picture of the plan and the table behind it.

use super::{Answer, ends};
use crate::dom::prelude::*;
use crate::picture::plan::{Column, PlanPicture, PlanView};
use crate::shell::quiet::Quiet;
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use strawline::product::plan::{Picture, Point};
use strawline::quantity::Quantity;
use strawline::quantity::unit::Conventions;
use strawline::words::page::Common;
use strawline::words::plan::{PlanLine, PlanWord as Words};
use strawline::words::unit::{self, figure};
use strawline::working::Figure;

fn column(point: &Point) -> Column {
    let range = point.in_product;
    Column {
        blood: point.blood.get(),
        low: range.low.get(),
        median: range.median.get(),
        high: range.high.get(),
    }
}

/// What the order comes to in the product, as it is written.
fn needed(picture: &Picture, c: &Conventions) -> Option<String> {
    let (low, high) = picture.order?;
    let low = unit::cells(low, c).number;
    Some(match high {
        Some(high) => format!("{low} – {}", unit::cells(high, c).number),
        None => low,
    })
}

fn view_of(desk: Desk, picture: &Picture, c: &Conventions) -> PlanView {
    let order = needed(picture, c).unwrap_or_default();
    PlanView {
        columns: picture.points.iter().map(column).collect(),
        order: picture.order.map(|(low, high)| (low.get(), high.map(Quantity::get))),
        limit: picture.limit.map(Quantity::get),
        plan: column(&picture.plan),
        words: [
            format!("{} {order}", desk.say(Words::Needs)),
            desk.say(Words::Limit),
            desk.say(Words::Planned),
            desk.say(Words::Blood),
            desk.say(Words::InProduct),
        ],
    }
}

/// Blood, containers, platelets and their range at each place of the picture.
fn rows_of(desk: Desk, picture: &Picture, c: &Conventions) -> Vec<[String; 4]> {
    let row = |p: &Point| {
        [
            unit::volume(p.blood, c).number,
            p.containers.to_string(),
            unit::cells(p.in_product.median, c).number,
            desk.say(ends(p.in_product, c)),
        ]
    };
    picture.points.iter().map(row).collect()
}

/// Product platelets against blood drawn, and the same as a table.
#[component]
pub(super) fn Sketch(plan: Quiet<Answer>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let picture = memo(move || {
        plan.answer.with(|a| match a {
            Some(Ok(found)) => found.picture.clone(),
            _ => None,
        })
    });
    let view_of = memo(move || {
        let c = sheet.conventions();
        picture.with(|p| p.as_ref().map(|p| view_of(desk, p, &c)))
    });
    let label = memo(move || {
        let c = sheet.conventions();
        let says = |p: &Picture| {
            let (product, plan) = (unit::volume(p.product, &c), unit::volume(p.plan.blood, &c));
            let limit = p.limit.map(|l| unit::volume(l, &c));
            desk.say(PlanLine::Picture(product, plan, ends(p.plan.in_product, &c), needed(p, &c), limit))
        };
        picture.with(|p| p.as_ref().map(says)).unwrap_or_default()
    });
    let number = Callback::new(move |value: f64| figure(&Figure::pure(value), &sheet.conventions()).number);
    let drawn = move || {
        let there = view_of.get()?;
        Some(view! { <PlanPicture view=Signal::stored(there) label number/> })
    };
    let rows = memo(move || {
        let c = sheet.conventions();
        picture.with(|p| p.as_ref().map(|p| rows_of(desk, p, &c))).unwrap_or_default()
    });
    let body = move || {
        let row = |[blood, containers, median, range]: [String; 4]| {
            view! {
                <tr>
                    <th scope="row">{blood}</th>
                    <td class="num">{containers}</td>
                    <td class="num predicted">{median}</td>
                    <td class="num range">{range}</td>
                </tr>
            }
        };
        rows.get().into_iter().map(row).collect_view()
    };
    let body = StoredValue::new(body);
    let head = move |words: String| view! { <th scope="col" class="num">{words}</th> };
    view! {
        <div class="plan-sketch" hidden=move || picture.with(Option::is_none)>
            <h3>{desk.say(Words::Picture)}</h3>
            {drawn}
            <Fold title=desk.say(Words::AsTable) lazy=true>
                <table class="table">
                    <thead>
                        <tr>
                            <th scope="col">{desk.say(Words::Blood)}</th>
                            {head(desk.say(Words::Containers))}
                            {head(desk.say(Words::InProduct))}
                            {head(desk.say(Common::Range80))}
                        </tr>
                    </thead>
                    <tbody>{move || body.with_value(|body| body())}</tbody>
                </table>
            </Fold>
        </div>
    }
}
