//! A choice of few, and a tick.

use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use strawline::draft::Draft;
use strawline::words::Phrase;

/// One outlined bar of two to five parts; the chosen part is solid. Tapping the chosen part again leaves the
/// question open, so that an order's silence can be restored.
#[component]
pub fn Choice<T, L, W>(
    /// Name of the group in the page; also the radio group's.
    name: &'static str,
    /// What is asked.
    legend: L,
    /// The parts, in order.
    of: Vec<T>,
    /// Words of a part.
    words: fn(T) -> W,
    /// What is chosen.
    get: fn(&Draft) -> Option<T>,
    /// Chooses.
    set: fn(&mut Draft, Option<T>),
) -> impl IntoView
where
    T: Copy + PartialEq + Send + Sync + 'static,
    L: Phrase + Copy + Send + Sync + 'static,
    W: Phrase + 'static,
{
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let chosen = memo(move || sheet.draft.with(get));
    let parts = of
        .into_iter()
        .enumerate()
        .map(|(i, part)| {
            let is_chosen = move || chosen.get() == Some(part);
            let tap = move |_| {
                let again = chosen.get_untracked() == Some(part);
                sheet.edit(|draft| set(draft, if again { None } else { Some(part) }));
            };
            view! {
                <label>
                    <input
                        type="radio"
                        name=name
                        value=i
                        prop:checked=is_chosen
                        on:click=tap
                    />
                    <span>{desk.say(words(part))}</span>
                </label>
            }
        })
        .collect_view();
    view! {
        <fieldset class="choice" id=name>
            <legend>{desk.say(legend)}</legend>
            <div class="choices">{parts}</div>
        </fieldset>
    }
}

/// A tick of the draft.
#[component]
pub fn Tick<L>(
    /// What is ticked.
    label: L,
    /// Whether it is.
    get: fn(&Draft) -> bool,
    /// Ticks or unticks.
    set: fn(&mut Draft, bool),
) -> impl IntoView
where
    L: Phrase + Copy + Send + Sync + 'static,
{
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let on = memo(move || sheet.draft.with(get));
    view! {
        <label class="check">
            <input
                type="checkbox"
                prop:checked=on
                on:change=move |event| sheet.edit(|d| set(d, event_target_checked(&event)))
            />
            <span>{desk.say(label)}</span>
        </label>
    }
}
