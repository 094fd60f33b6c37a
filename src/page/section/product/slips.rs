//! More platelets than were drawn: what to check, in order, and what the number would become if that were it.

use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use strawline::product::measured::{Bound, Check};
use strawline::words::counting::SlipWords;
use strawline::words::product::{CheckThis, CountSays};

/// The checks; nothing while the count can be.
#[component]
pub fn Slips() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let lines = memo(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let slips = &a.product.slips;
            let said = |check: Check| -> Vec<String> {
                slips.iter().filter(|s| s.check == check).map(|s| desk.say(SlipWords(&s.if_so, &c))).collect()
            };
            (!slips.is_empty())
                .then(|| Check::IN_ORDER.map(|check| (desk.say(CheckThis(check)), said(check))))
        })
    });
    let by_error = memo(move || {
        sheet.answer.with(|a| a.product.measured.as_ref().is_some_and(|m| m.bound == Bound::AboveWithinError))
    });
    move || {
        let rows = lines.get()?.map(|(check, then)| {
            let then = then.into_iter().map(|words| view! { <p class="second">{words}</p> }).collect_view();
            view! { <li><div><p>{check}</p> {then}</div></li> }
        });
        let error =
            by_error.get().then(|| view! { <p class="second">{desk.say(CountSays::ExplainedByError)}</p> });
        Some(view! {
            <section class="well" id="slips">
                <p><b>{desk.say(CountSays::CheckInOrder)}</b></p>
                <ol class="list">{rows.into_iter().collect_view()}</ol>
                {error}
            </section>
        })
    }
}
