//! What others have published of doses, and beside it the trials that found nothing: neither without the other, and
//! no recommendation.

use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use strawline::product::literature::{Side, of};
use strawline::words::literature::{Literature as Words, ReportWords};
use strawline::words::source::SourceLine;

/// The fold.
#[component]
pub fn Literature() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let side = move |side: Side| {
        let c = sheet.conventions();
        let reports = of(side).map(|report| {
            view! {
                <li>
                    <p>{desk.say(ReportWords(report, &c))}</p>
                    <p class="source">{desk.say(SourceLine(report.source))}</p>
                </li>
            }
        });
        view! {
            <section>
                <h3 class="subheading">{desk.say(side)}</h3>
                <ul class="reports">{reports.collect_view()}</ul>
            </section>
        }
    };
    view! {
        <Fold title=desk.say(Words::Heading) lazy=true>
            <p>{desk.say(Words::Describes)}</p>
            <p>{desk.say(Words::Confounded)}</p>
            // On a phone one side comes before the other: the one that is more easily passed over.
            <div class="pair literature">{side(Side::Null)} {side(Side::Reported)}</div>
        </Fold>
    }
}
