//! Share out: what each part is given, losses on the way, and what is added on the order.

use super::rows::{Line, shown};
use crate::dom::prelude::*;
use crate::shell::keep;
use crate::state::{Desk, Sheet};
use crate::widget::{Entry, NoCamera};
use strawline::draft::field::{MAX_ADDITIONS, MAX_SITES};
use strawline::draft::{AdditionChoice, Field};
use strawline::words::choice::AdditionName;
use strawline::words::product::{ProductLine, Share as Words, ShareSays};
use strawline::words::unit;
use strawline::working::Figure;

/// The section.
#[component]
pub fn Share() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let parts = memo(move || sheet.draft.with(|d| d.rows.parts.min(MAX_SITES)));
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Words::Heading)}</h2>
            <For each=move || 0..parts.get() key=|i| *i let:row>
                <Part row/>
            </For>
            <h3 class="subheading">{desk.say(Words::Passage)}</h3>
            <div class="pair">
                <Entry field=Field::NeedleChanges step=1.0/>
                <Entry field=Field::Transfers step=1.0/>
            </div>
            <h3 class="subheading">{desk.say(Words::Additions)}</h3>
            <Additions/>
        </section>
    }
}

/// What one part is given, under what was ordered for it.
#[component]
fn Part(row: u8) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let planned = memo(move || {
        let c = sheet.conventions();
        sheet.read.with(|(case, _)| {
            let part = case.order.parts.get(usize::from(row))?;
            Some((part.name.clone(), part.planned.map(|v| unit::volume(v, &c))))
        })
    });
    let line = move || {
        let (name, volume) = planned.get()?;
        let volume = volume.map(|v| v.to_string()).unwrap_or_default();
        let part = [volume, name].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join(" ");
        (!part.is_empty()).then(|| desk.say(ProductLine::OrderedPart(part)))
    };
    let near =
        Signal::derive(move || planned.get().and_then(|(_, v)| v).map(|v| v.number).unwrap_or_default());
    view! {
        <p class="second">{line}</p>
        <Entry field=Field::PartGiven(row) step=0.1 near/>
    }
}

#[component]
fn Additions() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rows = memo(move || sheet.draft.with(|d| d.rows.additions.min(MAX_ADDITIONS)));
    let more =
        move |_| sheet.edit(|d| d.rows.additions = d.rows.additions.saturating_add(1).min(MAX_ADDITIONS));
    let fewer = move |_| {
        let mut taken = None;
        sheet.edit(|d| taken = d.take_addition());
        let Some(taken) = taken else { return };
        keep::offer_undo(desk, Some(sheet.id()), desk.say(ShareSays::AdditionRemoved), move || {
            sheet.edit(|d| d.restore_addition(&taken));
        });
    };
    let calcium =
        memo(move || sheet.answer.with(|a| a.product.mixed.as_ref().is_some_and(|m| m.calcium.is_some())));
    view! {
        <p class="second">{desk.say(ShareSays::AdditionHow)}</p>
        <Show when=move || { rows.get() > 0 }>
            <NoCamera/>
        </Show>
        <For each=move || 0..rows.get() key=|i| *i let:row>
            <Addition row/>
        </For>
        <div class="buttons">
            <Show when=move || rows.get() < MAX_ADDITIONS>
                <button type="button" class="button" on:click=more>{desk.say(Words::AddAddition)}</button>
            </Show>
            <Show when=move || { rows.get() > 0 }>
                <button type="button" class="button" on:click=fewer>{desk.say(Words::RemoveAddition)}</button>
            </Show>
        </div>
        <Line
            label=Words::AfterVolume
            pick=|p, c| shown(p.mixed.as_ref().map(|m| &m.volume), c, unit::volume)
            id="w-mixed"
        />
        <Line
            label=Words::AfterCount
            pick=|p, c| shown(p.mixed.as_ref().and_then(|m| m.counted.as_ref()), c, unit::count)
            id="w-mixed-count"
        />
        <Line
            label=Words::Calcium
            pick=|p, c| {
                let ratio = p.mixed.as_ref()?.calcium.as_ref()?.ratio.as_ref();
                shown(ratio, c, |f, c| unit::figure(&Figure::of(f), c))
            }
            id="w-calcium"
        />
        <Show when=move || calcium.get()>
            <p class="second">{desk.say(ShareSays::CalciumAbout)}</p>
        </Show>
    }
}

/// One addition: nothing of it is filled in.
#[component]
fn Addition(row: u8) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let chosen = memo(move || sheet.draft.with(|d| d.choices.additions.get(&row).copied()));
    let choose = move |event| {
        let at = event_target_value(&event).parse::<usize>().ok();
        let what = at.and_then(|at| AdditionChoice::ALL.get(at).copied());
        let mut taken = None;
        sheet.edit(|d| taken = d.choose_addition(row, what));
        let Some(taken) = taken else { return };
        keep::offer_undo(desk, Some(sheet.id()), desk.say(ShareSays::LotCleared), move || {
            sheet.edit(|d| d.restore_addition(&taken));
        });
    };
    let id = format!("addition_{}", u32::from(row).saturating_add(1));
    let options = AdditionChoice::ALL
        .into_iter()
        .enumerate()
        .map(|(at, what)| {
            view! {
                <option value=at prop:selected=move || chosen.get() == Some(what)>
                    {desk.say(AdditionName(what))}
                </option>
            }
        })
        .collect_view();
    let strong = move || !matches!(chosen.get(), Some(AdditionChoice::AutologousThrombin));
    view! {
        <fieldset class="addition">
            <legend class="unseen">{desk.say(ProductLine::Addition(row))}</legend>
            <div class="field text">
                <div class="field-name">
                    <label for=id.clone()>
                        {move || format!("{}: {}", desk.say(ProductLine::Addition(row)), desk.say(Words::What))}
                    </label>
                </div>
                <div class="entry">
                    <select id=id class="words" on:change=choose>
                        <option value="" prop:selected=move || chosen.get().is_none()>
                            {desk.say(Words::NotChosen)}
                        </option>
                        {options}
                    </select>
                </div>
            </div>
            <Show when=move || chosen.get() == Some(AdditionChoice::Other)>
                <Entry field=Field::AdditionName(row)/>
            </Show>
            <Show when=strong>
                <Entry field=Field::AdditionStrength(row)/>
            </Show>
            <Entry field=Field::AdditionVolume(row)/>
            <Show when=strong>
                <Entry field=Field::AdditionLot(row)/>
                <Entry field=Field::AdditionExpiry(row)/>
            </Show>
        </fieldset>
    }
}
