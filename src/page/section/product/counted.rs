//! What was counted: beside what was predicted, as one position on four scales, and against the order.

use super::classes::Classes;
use super::rows::{Beside, Line, ends, middle, shown};
use super::slips::Slips;
use crate::dom::prelude::*;
use crate::picture::scales::{Scale, Scales, ScalesView};
use crate::state::{Desk, Sheet};
use strawline::assess::product::{OrderLine, Shared};
use strawline::product::measured::against_range;
use strawline::quantity::{Cells, Quantity};
use strawline::words::card::by_the_count;
use strawline::words::page::Common;
use strawline::words::plan::AskedFor;
use strawline::words::product::{Count as Words, CountSays, InRange, OrderMet, OrderReached, OrderedName};
use strawline::words::unit;
use strawline::working::Figure;

/// What was counted, beside what was predicted and what was ordered.
#[component]
pub fn Counted() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let there = memo(move || sheet.answer.with(|a| a.product.measured.is_some()));
    let head = move |words| view! { <th scope="col" class="num">{desk.say(words)}</th> };
    let kept = memo(move || sheet.answer.with(|a| a.product.collected));
    let enter_kept = move || (!kept.get()).then(|| view! { <p><b>{desk.say(CountSays::EnterKept)}</b></p> });
    view! {
        <Show when=move || there.get()>
            <div class="wide" tabindex="0" role="region" aria-label=desk.say(Words::Beside)>
                <table class="table fold">
                    <caption>{desk.say(Words::Beside)}</caption>
                    <thead>
                        <tr>
                            <th scope="col">{desk.say(Words::Quantity)}</th>
                            {head(Words::CountedHead)}
                            <td class="unit"></td>
                            {head(Words::PredictedHead)}
                            <th scope="col" class="num">{desk.say(Common::Range80)}</th>
                        </tr>
                    </thead>
                    <tbody><BesideRows/></tbody>
                </table>
            </div>
            {enter_kept}
            <Line
                label=Words::Spread
                pick=|p, c| shown(p.measured.as_ref().and_then(|m| m.replicate_cv.as_ref()), c, unit::cv)
                id="w-spread"
            />
            <Slips/>
            <Position/>
        </Show>
        <AgainstOrder/>
        <Classes/>
    }
}

#[component]
fn BesideRows() -> impl IntoView {
    view! {
        <Beside
            label=Words::InProduct
            counted=|p, c| shown(p.measured.as_ref().and_then(|m| m.in_product.as_ref()), c, unit::cells)
            predicted=|p, c| middle(p.prediction.as_ref().and_then(|p| p.in_product.as_ref()), c, unit::cells)
            range=|p, c| ends(p.prediction.as_ref().and_then(|p| p.in_product.as_ref()), c, unit::cells)
            ids=["w-n", "w-np"]
        />
        <Beside
            label=Words::Concentration
            counted=|p, c| shown(p.measured.as_ref().map(|m| &m.concentration), c, unit::count)
            predicted=|p, c| {
                middle(p.prediction.as_ref().and_then(|p| p.concentration.as_ref()), c, unit::count_predicted)
            }
            range=|p, c| ends(p.prediction.as_ref().and_then(|p| p.concentration.as_ref()), c, unit::count_predicted)
            ids=["w-c", "w-cp"]
        />
        <Beside
            label=Words::Fold
            counted=|p, c| shown(p.measured.as_ref().and_then(|m| m.fold.as_ref()), c, unit::fold)
            predicted=|p, c| middle(p.prediction.as_ref().and_then(|p| p.fold.as_ref()), c, unit::fold)
            range=|p, c| ends(p.prediction.as_ref().and_then(|p| p.fold.as_ref()), c, unit::fold)
            ids=["w-f", "w-fp"]
        />
        <Beside
            label=Words::Recovery
            counted=|p, c| shown(p.measured.as_ref().and_then(|m| m.recovery.as_ref()), c, unit::recovery)
            predicted=|p, c| middle(p.prediction.as_ref().and_then(|p| p.recovery.as_ref()), c, unit::recovery)
            range=|p, c| ends(p.prediction.as_ref().and_then(|p| p.recovery.as_ref()), c, unit::recovery)
            ids=["w-r", "w-rp"]
        />
    }
}

/// One position on four scales, and whether it lies in the range.
#[component]
fn Position() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let says = move || {
        sheet.answer.with(|a| {
            let p = &a.product;
            let (m, expected) = (p.measured.as_ref()?, p.prediction.as_ref());
            if !p.confirmed {
                return Some(desk.say(CountSays::NotConfirmed));
            }
            Some(match expected.and_then(|e| e.concentration.as_ref()) {
                Some(range) => desk.say(InRange(against_range(m.concentration.value, range.value))),
                None if m.fold.is_none() => desk.say(CountSays::NoBaseline),
                None => desk.say(CountSays::NoPrediction),
            })
        })
    };
    let scales = memo(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let p = &a.product;
            let top = p.ceilings()?;
            let scale = |words: Words, unit: &str, at_ceiling: f64| Scale {
                name: if unit.is_empty() { desk.say(words) } else { format!("{}, {unit}", desk.say(words)) },
                at_ceiling,
            };
            Some(ScalesView {
                predicted: p.prediction.as_ref().and_then(|p| p.recovery.as_ref()).map(|w| w.value),
                counted: p.measured.as_ref().and_then(|m| m.recovery.as_ref()).map(|w| w.value),
                scales: vec![
                    scale(Words::Recovery, "", 1.0),
                    scale(Words::Fold, "", top.fold.get()),
                    scale(Words::Concentration, c.count.symbol(), c.count.from_core(top.concentration.get())),
                    scale(Words::InProduct, Cells::UNIT, top.in_product.get()),
                ],
                predicted_word: desk.say(Words::Predicted),
                counted_word: desk.say(Words::Counted),
                ceiling_word: desk.say(Words::Ceiling),
            })
        })
    });
    let number =
        Callback::new(move |value: f64| unit::figure(&Figure::pure(value), &sheet.conventions()).number);
    view! {
        <p>{says}</p>
        {move || {
            scales
                .get()
                .map(|view| view! { <Scales view label=desk.say(CountSays::ScalesPicture) number/> })
        }}
    }
}

/// Each amount the order names: met, not met, or too close to tell.
#[component]
fn AgainstOrder() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let lines = memo(move || sheet.answer.with(|a| a.product.order.clone()));
    let unconfirmed = memo(move || sheet.answer.with(|a| a.product.unconfirmed()));
    let row = move |line: OrderLine| {
        let amount = desk.say(AskedFor(&line, &sheet.conventions()));
        let by = line.shared.filter(|shared| *shared != Shared::Given).map(by_the_count);
        let by = by.map(|words| view! { <span class="second">" " {desk.say(words)}</span> });
        let counted = match line.counted {
            Some(met) => desk.say(OrderMet(met)),
            None if unconfirmed.get() => desk.say(Words::NotConfirmed),
            None => desk.say(Words::NotCounted),
        };
        let expected = line.expected.map(|reached| desk.say(OrderReached(reached)));
        view! {
            <tr>
                <th scope="row">{desk.say(OrderedName(line.what))}</th>
                <td class="num">{amount}</td>
                <td><b>{counted}</b>{by}</td>
                <td class="range">{expected}</td>
            </tr>
        }
    };
    let head = move |words| view! { <th scope="col">{desk.say(words)}</th> };
    move || {
        let lines = lines.get();
        (!lines.is_empty()).then(|| {
            view! {
                <div class="wide" tabindex="0" role="region" aria-label=desk.say(Words::AgainstOrder)>
                    <table class="table">
                        <caption>{desk.say(Words::AgainstOrder)}</caption>
                        <thead>
                            <tr>
                                {head(Words::Quantity)}
                                <th scope="col" class="num">{desk.say(Words::Ordered)}</th>
                                {head(Words::ByCount)}
                                {head(Words::AsExpected)}
                            </tr>
                        </thead>
                        <tbody>{lines.into_iter().map(row).collect_view()}</tbody>
                    </table>
                </div>
            }
        })
    }
}
