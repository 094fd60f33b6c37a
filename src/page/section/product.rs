//! Product: collect, count, share out, hand over and sign.

pub mod cells;
mod classes;
pub mod closing;
mod collect;
pub mod count;
pub mod counted;
pub mod recipe;
mod rows;
mod share;
mod share_out;
pub mod sign;
mod slips;

use super::header::{running, until};
use super::spinning::use_by_label;
use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use crate::widget::{Explained, Findings, Opens, Stops, WorkingTable};
use rows::{Pick, PickRange, ends, figure, middle, shown};
use strawline::assess::product::Shared;
use strawline::draft::Stage;
use strawline::finding::HeldStep;
use strawline::words::page::{Common, Frame};
use strawline::words::product::{Count as CountWords, CountHow, ProductLine, Sign as Words};
use strawline::words::unit::{self, Written};

/// The stage itself.
#[component]
pub fn Product() -> impl IntoView {
    view! {
        <collect::Collect/>
        <count::Count/>
        <share::Share/>
        <sign::Card/>
        <super::discards::Discards/>
        <super::times::Times/>
        <Findings stages=vec![Stage::Product]/>
    }
}

/// What was made, who gets how much, the label; under Product the step as well.
#[component]
pub fn ProductAnswer(stage: Stage) -> impl IntoView {
    view! {
        {(stage == Stage::Product).then(|| view! { <Stops step=HeldStep::HandOver/> })}
        <Made/>
        <share_out::ShareOut/>
        <sign::LabelPreview/>
        {(stage == Stage::Product).then(|| view! { <sign::Step/> })}
    }
}

/// Dose and use-by on a phone, in short. What is predicted is named so, and set no larger than its name.
#[component]
pub fn ProductBar() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let counted = move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let words = match a.product.shared {
                Some(Shared::Given) | None => Words::DoseCounted,
                Some(Shared::Partly) => Words::DosePartly,
                Some(Shared::Planned) => Words::DosePlanned,
            };
            a.product.dose_counted.as_ref().map(|w| (words, unit::cells(w.value, &c)))
        })
    };
    let predicted = move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| a.product.dose_predicted.as_ref().map(|w| unit::cells(w.value.median, &c)))
    };
    let dose = move || match (counted(), predicted()) {
        (Some((words, w)), _) => view! {
            <p><span>{desk.say(words)}</span><b>{w.number}</b> " " {w.unit}</p>
        },
        (None, Some(w)) => {
            view! { <p><span>{desk.say(Words::DosePredicted)}</span>{w.to_string()}</p> }
        }
        (None, None) => Markup::None,
    };
    view! {
        <section class="bar" aria-label=desk.say(Frame::AnswerShort)>
            {dose}
            <UseByBar/>
        </section>
    }
}

/// Until when, in the bar of a phone.
#[component]
pub fn UseByBar() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let clock = running(desk, sheet);
    move || {
        let use_by = sheet.answer.with(|a| a.spin.use_by.as_ref().map(|w| w.value))?;
        let (by, words) = (use_by.at, use_by_label(desk, sheet, !use_by.settled()));
        let (at, left) = until(desk, sheet, by);
        // Watched no more, it only says when it was.
        let past = clock.with(|c| c.use_by.is_some_and(|by| by < desk.minute.get().at)).then_some(left);
        Some(view! { <p><span>{words}</span><b>{at} " " {past}</b></p> })
    }
}

/// What was made by the count, or what is expected and named so.
#[component]
pub fn Made() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let counted = memo(move || sheet.answer.with(|a| a.product.confirmed));
    let unconfirmed = memo(move || sheet.answer.with(|a| a.product.unconfirmed()));
    let caption = move || {
        if counted.get() { desk.say(Words::Made) } else { desk.say(Words::Expected) }
    };
    let standing = move || {
        let how = sheet.draft.with(count::how);
        match (counted.get(), how) {
            (true, _) => desk.say(CountWords::Counted),
            _ if unconfirmed.get() => {
                format!("{}; {}", desk.say(CountWords::CountNotConfirmed), desk.say(CountWords::Predicted))
            }
            // That nothing was counted is said first; what stands below it is a prediction.
            (false, CountHow::Not) => {
                format!("{}; {}", desk.say(CountHow::Not), desk.say(CountWords::Predicted))
            }
            (false, CountHow::Later) => {
                format!("{}; {}", desk.say(CountHow::Later), desk.say(CountWords::Predicted))
            }
            (false, CountHow::Now) => desk.say(Common::Predicted),
        }
    };
    view! {
        <table class="table expected">
            <caption><h2>{caption}</h2> <span class="second">{standing}</span></caption>
            <tbody>
                <Row
                    label=CountWords::InProduct
                    counted=|p, c| shown(p.counted().and_then(|m| m.in_product.as_ref()), c, unit::cells)
                    predicted=|p, c| middle(p.prediction.as_ref().and_then(|p| p.in_product.as_ref()), c, unit::cells)
                    range=|p, c| ends(p.prediction.as_ref().and_then(|p| p.in_product.as_ref()), c, unit::cells)
                    id="w-made-n"
                />
                <Row
                    label=CountWords::Concentration
                    counted=|p, c| shown(p.counted().map(|m| &m.concentration), c, unit::count)
                    predicted=|p, c| {
                        middle(p.prediction.as_ref().and_then(|p| p.concentration.as_ref()), c, unit::count_predicted)
                    }
                    range=|p, c| {
                        ends(p.prediction.as_ref().and_then(|p| p.concentration.as_ref()), c, unit::count_predicted)
                    }
                    id="w-made-c"
                />
                <Row
                    // Where the blood was not counted, the fold is all that can be said beforehand.
                    label=CountWords::FoldShort
                    counted=|_, _| None
                    predicted=|p, c| {
                        let said = p.confirmed || p.native.is_some();
                        let fold = p.prediction.as_ref().and_then(|p| p.fold.as_ref());
                        middle(fold.filter(|_| !said), c, unit::fold)
                    }
                    range=|p, c| ends(p.prediction.as_ref().and_then(|p| p.fold.as_ref()), c, unit::fold)
                    id="w-made-f"
                />
            </tbody>
        </table>
    }
}

/// One amount: counted and heavy, or predicted and light with its range; nothing when neither is known.
#[component]
fn Row(
    label: CountWords,
    counted: Pick,
    predicted: Pick,
    range: PickRange,
    id: &'static str,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let (counted, predicted) = (figure(sheet, counted), figure(sheet, predicted));
    let is_counted = memo(move || counted.with(Option::is_some));
    let value = Signal::derive(move || -> Explained {
        if is_counted.get() { counted.get() } else { predicted.get() }
    });
    let bare = Signal::derive(move || value.get().map(|(w, working)| (Written { unit: "", ..w }, working)));
    let unit = memo(move || value.with(|v| v.as_ref().map(|(w, _)| w.unit)));
    let there = memo(move || value.with(Option::is_some));
    let ends = move || {
        let (low, high) =
            sheet.answer.with(|a| range(&a.product, &sheet.conventions())).filter(|_| !is_counted.get())?;
        Some(desk.say(ProductLine::Range(low, high)))
    };
    // Among counted amounts one that is not says so.
    let odd = move || {
        let among = sheet.answer.with(|a| a.product.confirmed);
        (among && !is_counted.get())
            .then(|| view! { <span class="second">{desk.say(Common::Predicted)}</span> })
    };
    let open = RwSignal::new(false);
    view! {
        <Show when=move || there.get()>
            <tr>
                <th scope="row">{desk.say(label)} " " {odd}</th>
                <td class="num" class:counted=is_counted class:predicted=move || !is_counted.get()>
                    <Opens value=bare open id/>
                </td>
                <td class="unit">{unit}</td>
                <td class="num range">{ends}</td>
            </tr>
            {move || {
                open.get().then(|| view! { <tr class="opened"><td colspan="4"><WorkingTable value open id/></td></tr> })
            }}
        </Show>
    }
}
