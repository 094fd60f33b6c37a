//! Collect: how much is kept, what is left behind, and the spun container to scale.

use super::rows::{Line, shown};
use crate::dom::prelude::*;
use crate::picture::column::{Column, ColumnView, ColumnWords};
use crate::picture::container::Glass;
use crate::shell::clock;
use crate::state::{Desk, Sheet};
use crate::widget::{Entry, needs};
use strawline::assess::hand_over::Need;
use strawline::draft::{Draft, Field};
use strawline::words::product::{Collect as Words, ProductLine};
use strawline::words::spin::SpinSentence;
use strawline::words::unit;

/// The section.
#[component]
pub fn Collect() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let planned = Signal::derive(move || {
        let c = sheet.conventions();
        sheet
            .read
            .with(|(case, _)| case.collect.planned.map(|v| unit::volume(v, &c).number).unwrap_or_default())
    });
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Words::Heading)}</h2>
            <Entry field=Field::ProductVolume step=0.5 standing=planned/>
            <Line
                label=Words::Bound
                pick=|p, c| shown(p.bound.as_ref(), c, unit::volume)
                id="w-bound"
            />
            // What is kept is measured: the plan must not look as if it were entered.
            <Entry field=Field::ProductActual step=0.1 near=planned/>
            <Line
                label=Words::LeftBehind
                pick=|p, c| shown(p.ledger.as_ref().map(|l| &l.left_behind), c, unit::volume)
                id="w-left-behind"
            />
            <Entry field=Field::PoorPlasma step=1.0/>
            <Collected/>
            <Entry field=Field::WhoProduct/>
            <Spun/>
        </section>
    }
}

/// When it was collected, taken back while nothing was handed over; or the button that says it is, and that the end of
/// the spin was forgotten: once collected, no step asks for it.
#[component]
fn Collected() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let at = memo(move || sheet.draft.with(|d| d.times.collected));
    let can_go = memo(move || sheet.draft.with(Draft::collected_can_go));
    let set = move |to| sheet.edit(|d| d.times.collected = to);
    let forgotten = memo(move || {
        let drawn = sheet.draft.with(|d| d.times.needle_in.is_some() && d.ended_without.is_none());
        drawn && at.with(Option::is_none) && needs(sheet).contains(&Need::SpinEnd)
    });
    move || {
        let step = match at.get() {
            Some(at) => view! {
                {unit::clock(at, sheet.offset.get())}
                {can_go.get().then(|| view! {
                    <button type="button" class="link" on:click=move |_| set(None)>{desk.say(Words::TakeBack)}</button>
                })}
            },
            None => view! {
                <button type="button" class="button" on:click=move |_| set(Some(clock::now().at))>
                    {desk.say(Words::Now)}
                </button>
            },
        };
        let said = forgotten.get().then(|| {
            view! { <p class="reading" id="spin_end_missing">{desk.say(SpinSentence::EndMissing)}</p> }
        });
        view! {
            <div class="field">
                <div class="field-name">{desk.say(Words::Collected)}</div>
                <div class="entry" id="collected">{step}</div>
                {said}
            </div>
        }
    }
}

/// One spun container, its layers to scale.
#[component]
fn Spun() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let layers = memo(move || sheet.read.with(|(case, _)| sheet.answer.with(|a| a.layers(case))));
    let glass = memo(move || sheet.draft.with(|d| d.kit.container.as_ref().map(Glass::from)));
    let done = memo(move || sheet.draft.with(|d| d.times.collected.is_some()));
    move || {
        let (layers, glass) = layers.get().zip(glass.get())?;
        let c = sheet.conventions();
        let (product, fill) = (unit::volume(layers.product, &c), unit::volume(layers.fill, &c));
        let caption = desk.say(if layers.second { Words::Second } else { Words::One });
        let view = ColumnView {
            glass,
            kind: layers.kind,
            fill: layers.fill,
            cells: layers.cells,
            product: layers.product,
            cells_in_product: layers.cells_in_product,
            done: done.get(),
            words: ColumnWords {
                product: format!("{} {}", product.clone(), desk.say(Words::Product)),
                plasma: desk.say(Words::Plasma),
                coat: desk.say(Words::Coat),
                cells: desk.say(Words::Cells),
            },
        };
        let label = desk.say(ProductLine::Column(product, fill));
        Some(view! {
            <figure>
                <Column view label/>
                <figcaption class="second">{caption}</figcaption>
            </figure>
        })
    }
}
