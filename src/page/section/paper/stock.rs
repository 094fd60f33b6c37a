//! Labels on stock of their own: many on a sheet, or one a page as a roll takes them.

use super::{given, label};
use crate::dom::prelude::*;
use crate::section::header::solid;
use crate::state::{Desk, Sheet};
use strawline::bench::stock::{LabelSize, Stock};
use strawline::export::label::stock::{Stuck, stuck};
use strawline::export::signed::labels_now;
use strawline::quantity::Quantity;
use strawline::record::settings::Paper;
use strawline::words::label::LabelWord;

/// Every label of the case in the size that the clinic chose; none while a Stop without a way past stands, or where
/// no size is chosen.
pub fn set(desk: Desk, sheet: Sheet) -> Option<Vec<Stuck>> {
    let size = desk.bench.with(|b| b.clinic.labels.size)?;
    given(desk, sheet, labels_now).map(|all| stuck(&all, size, desk.language()))
}

/// The paper.
pub fn labels(desk: Desk, sheet: Sheet) -> Markup {
    let stock = desk.bench.with(|b| b.clinic.labels.clone());
    let Some(size) = stock.size else { return Markup::None };
    let Some(all) = set(desk, sheet) else { return view! { <p>{desk.say(LabelWord::NoneNow)}</p> } };
    let solid = solid(desk, sheet);
    let small = size == LabelSize::Small;
    let one = |stuck: &Stuck| {
        let inside = match stuck {
            Stuck::Fits { label: fitted, points } => {
                view! { <div style:font-size=format!("{points}pt")>{label(fitted, solid)}</div> }
            }
            Stuck::Refused { sign, says } => {
                let sign = sign.clone().unwrap_or_default();
                view! { <div><section class="label refused"><p><b>{sign}</b> " " {says.clone()}</p></section></div> }
            }
        };
        view! { <div class="stuck" class:small=small>{inside}</div> }
    };
    let all = all.iter().map(one).collect_view();
    if stock.roll {
        return view! { <div class="roll" class:small=small>{all}</div> };
    }
    let letter = desk.settings.with(|s| s.paper == Paper::Letter);
    let Stock { left, top, across, down, .. } = stock;
    let mm = |all: [f64; 2]| all.map(|mm| format!("{mm}mm")).join(" ");
    view! {
        <div
            class="sheet"
            class:small=small
            class:letter=letter
            style:padding=mm([top.get(), left.get()])
            style:gap=mm([down.get(), across.get()])
        >
            {all}
        </div>
    }
}
