//! The amounts an order may name, and how it means each: at least, between, about.

use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use crate::widget::{Choice, Entry};
use strawline::draft::{Draft, Field};
use strawline::finding::FindingKind;
use strawline::product::order::{OrderSense, OrderedAmount};
use strawline::words::finding::{FindingWords, Part};
use strawline::words::plan::{MeantAs, PlanSays, PlanWord};
use strawline::words::product::{OrderSenseName, OrderedFor};

/// One amount: where it is typed and how its sense is kept.
#[derive(Clone, Copy)]
struct Of {
    what: OrderedAmount,
    first: Field,
    second: Field,
    name: &'static str,
    get: fn(&Draft) -> Option<OrderSense>,
    set: fn(&mut Draft, Option<OrderSense>),
}

fn sense(d: &Draft, what: OrderedAmount) -> OrderSense {
    d.choices.order_sense.get(&what).copied().unwrap_or_default()
}

fn mean(d: &mut Draft, what: OrderedAmount, sense: Option<OrderSense>) {
    match sense {
        Some(sense) => d.choices.order_sense.insert(what, sense),
        None => d.choices.order_sense.remove(&what),
    };
}

const ALL: [Of; 3] = [
    Of {
        what: OrderedAmount::Platelets,
        first: Field::OrderPlatelets,
        second: Field::OrderPlateletsMost,
        name: "meant-platelets",
        get: |d| Some(sense(d, OrderedAmount::Platelets)),
        set: |d, v| mean(d, OrderedAmount::Platelets, v),
    },
    Of {
        what: OrderedAmount::Concentration,
        first: Field::OrderConcentration,
        second: Field::OrderConcentrationMost,
        name: "meant-concentration",
        get: |d| Some(sense(d, OrderedAmount::Concentration)),
        set: |d, v| mean(d, OrderedAmount::Concentration, v),
    },
    Of {
        what: OrderedAmount::Fold,
        first: Field::OrderFold,
        second: Field::OrderFoldMost,
        name: "meant-fold",
        get: |d| Some(sense(d, OrderedAmount::Fold)),
        set: |d, v| mean(d, OrderedAmount::Fold, v),
    },
];

/// Every amount an order may name.
#[component]
pub fn Amounts() -> impl IntoView {
    ALL.map(|of| view! { <Amount of/> }).into_iter().collect_view()
}

/// One amount. How it is meant is asked once it is typed.
#[component]
fn Amount(of: Of) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let typed = memo(move || sheet.draft.with(|d| !d.text(of.first).trim().is_empty()));
    let meant = memo(move || sheet.draft.with(|d| sense(d, of.what)));
    let parts = memo(move || sheet.draft.with(|d| d.rows.parts > 1));
    let upside_down = move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let found = a
                .findings
                .iter()
                .find(|f| matches!(f.kind, FindingKind::OrderUpsideDown { what, .. } if what == of.what))?;
            let (kind, offset) = (&found.kind, sheet.offset.get());
            Some(desk.say(FindingWords { kind, part: Part::Cause, conventions: &c, offset }))
        })
    };
    let wrong = memo(upside_down);
    let waits = move || {
        let second = sheet.draft.with(|d| !d.text(of.second).trim().is_empty());
        (!second).then(|| desk.say(PlanSays::OneNumber))
    };
    let for_each = (of.what == OrderedAmount::Platelets).then(|| {
        view! {
            <div hidden=move || !parts.get()>
                <Choice
                    name="ordered-for"
                    legend=PlanWord::For
                    of=vec![OrderedFor::InAll, OrderedFor::EachPart]
                    words=|o| o
                    get=|d| Some(if d.choices.each_part { OrderedFor::EachPart } else { OrderedFor::InAll })
                    set=|d, v| d.choices.each_part = v == Some(OrderedFor::EachPart)
                />
            </div>
        }
    });
    view! {
        <Entry field=of.first/>
        <div hidden=move || !typed.get()>
            <Choice
                name=of.name
                legend=MeantAs(of.what)
                of=OrderSense::ALL.to_vec()
                words=OrderSenseName
                get=of.get
                set=of.set
            />
            <div hidden=move || meant.get() != OrderSense::Between>
                <Entry field=of.second/>
                <p class="second">{waits}</p>
                <p class="reading" class:wrong=move || wrong.with(Option::is_some) aria-live="polite">
                    {wrong}
                </p>
            </div>
            <p class="second" hidden=move || meant.get() != OrderSense::About>{desk.say(PlanSays::About)}</p>
            {for_each}
        </div>
    }
}
