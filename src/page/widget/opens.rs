//! A number that opens to how it was worked out.

use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use strawline::words::page::Common;
use strawline::words::source::SourceLine;
use strawline::words::unit::{Written, figure, substituted};
use strawline::working::Working;

/// A written number and how it came about.
pub type Explained = Option<(Written, Working)>;

/// The number, heavy, dotted underline; a tap opens its working wherever [`WorkingTable`] with the same
/// `open` stands.
#[component]
pub fn Opens(
    /// The number with its working; `None` shows nothing.
    #[prop(into)]
    value: Signal<Explained>,
    /// Whether the working is open.
    open: RwSignal<bool>,
    /// Key of the working in the page.
    #[prop(into)]
    id: String,
) -> impl IntoView {
    let number = memo(move || value.with(|v| v.as_ref().map(|(w, _)| w.clone())));
    // Entered as it stands, there is nothing to open.
    let opens = memo(move || value.with(|v| v.as_ref().map(|(_, working)| !working.steps.is_empty())));
    let written = move || number.get().map(|w| w.number);
    let unit = move || number.get().map(|w| super::unit_after(w.unit));
    // The button stays while its number changes, and the keyboard with it.
    move || {
        let id = id.clone();
        opens.get().map(|opens| {
            let number = match opens {
                false => view! { <b>{written}</b> },
                true => view! {
                    <button
                        type="button"
                        class="opens"
                        aria-expanded=move || if open.get() { "true" } else { "false" }
                        aria-controls=id
                        on:click=move |_| open.update(|o| *o = !*o)
                    >
                        {written}
                    </button>
                },
            };
            view! { <span class="n">{number} {unit}</span> }
        })
    }
}

/// The working itself, line by line, with its sources. Stands directly after the row of its number.
#[component]
pub fn WorkingTable(
    /// The number with its working.
    #[prop(into)]
    value: Signal<Explained>,
    /// Whether it is open.
    open: RwSignal<bool>,
    /// Key of the working in the page.
    #[prop(into)]
    id: String,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    move || {
        let working = value.with(|v| v.as_ref().map(|(_, w)| w.clone())).filter(|_| open.get())?;
        let c = sheet.conventions();
        let last = working.steps.last().map(|s| desk.say(s.what)).unwrap_or_default();
        let label = format!("{}: {last}", desk.say(Common::HowWorkedOut));
        let lines = working
            .steps
            .iter()
            .map(|step| {
                let result = figure(&step.result, &c).to_string();
                view! {
                    <tbody>
                        <tr><th scope="rowgroup" colspan="2">{desk.say(step.what)}</th></tr>
                        <tr><td colspan="2"><i class="letter">{step.formula}</i></td></tr>
                        <tr>
                            <td>{format!("= {}", substituted(step, &c))}</td>
                            <td><b>{result}</b></td>
                        </tr>
                    </tbody>
                }
            })
            .collect_view();
        let sources =
            working.sources.iter().map(|s| view! { <li>{desk.say(SourceLine(*s))}</li> }).collect_view();
        Some(view! {
            <section class="working" id=id.clone() aria-label=label>
                <table class="steps">{lines}</table>
                <ul class="source">{sources}</ul>
            </section>
        })
    }
}
