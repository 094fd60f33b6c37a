//! How sure the prediction is: the one largest unknown in words; behind a tap what the doubt is made of and what a
//! count will read. Reckoned once typing rests.

use crate::dom::prelude::*;
use crate::shell::quiet::quiet;
use crate::state::{Desk, Sheet};
use crate::widget::{Fold, WorkingTable};
use strawline::assess::how_sure;
use strawline::product::order::Likelihood;
use strawline::product::range::Range;
use strawline::quantity::Cells;
use strawline::quantity::unit::Conventions;
use strawline::words::plan::{AllAtOnce, Narrows, OrderedBeside, PlanSays, PlanWord as Words, ShareWords};
use strawline::words::unit::{self, FromTo, Written};
use strawline::working::Working;

fn ends(range: Range<Cells>, c: &Conventions) -> FromTo {
    FromTo(unit::cells(range.low, c), unit::cells(range.high, c))
}

/// The largest unknown, and behind it the rest.
#[component]
pub(super) fn HowSure() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let sure = quiet(
        move || {
            sheet.read.track();
            sheet.answer.track();
        },
        move || sheet.read.with(|(case, _)| sheet.answer.with(|a| how_sure(case, a))),
    );
    let doubt = memo(move || sure.answer.get().flatten());
    let says = move || {
        let c = sheet.conventions();
        doubt.with(|d| {
            let d = d.as_ref()?;
            Some(desk.say(Narrows(d.largest, ends(d.now, &c), ends(d.narrowed, &c))))
        })
    };
    let shares = memo(move || {
        let c = sheet.conventions();
        doubt.with(|d| {
            let shares = d.iter().flat_map(|d| &d.shares);
            let row = |(what, share): &(_, f64)| (desk.say(*what), desk.say(ShareWords(*share, c.numbers)));
            shares.map(row).collect::<Vec<(String, String)>>()
        })
    });
    let rows = move || {
        let row = |(what, share)| view! { <tr><th scope="row">{what}</th><td class="num">{share}</td></tr> };
        shares.get().into_iter().map(row).collect_view()
    };
    let reads = memo(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let range = a.product.will_read.as_ref()?.value;
            let ends = FromTo(unit::count_predicted(range.low, &c), unit::count_predicted(range.high, &c));
            Some((desk.say(ends), c.count.symbol()))
        })
    });
    let read_line = move || {
        reads.get().map(|(range, unit)| {
            view! { <p>{desk.say(Words::WillRead)} " " <b>{range}</b> {crate::widget::unit_after(unit)}</p> }
        })
    };
    // In figures only from ten counts on: until then the words are all that can be said.
    let chances = memo(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let lines = a.product.order.iter().filter_map(|line| {
                let chance = line.chance.as_ref()?;
                Some((desk.say(OrderedBeside(line, &c)), chance))
            });
            let at_once = a.product.order_at_once.iter().map(|c| (desk.say(AllAtOnce(c.likelihood)), c));
            let figures =
                lines.chain(at_once).filter(|(_, c)| matches!(c.likelihood, Likelihood::OutOfTen(_)));
            figures.map(|(said, c)| (said, c.chance.working.clone())).collect::<Vec<(String, Working)>>()
        })
    });
    let workings = move || {
        let open = RwSignal::new(true);
        let one = |(n, (said, working)): (usize, (String, Working))| {
            let none = Written { number: String::new(), unit: "" };
            let value = Signal::derive(move || Some((none.clone(), working.clone())));
            view! { <p class="second">{said}</p> <WorkingTable value open id=format!("chance-{n}-working")/> }
        };
        chances.get().into_iter().enumerate().map(one).collect_view()
    };
    let workings = StoredValue::new(workings);
    let (rows, read_line) = (StoredValue::new(rows), StoredValue::new(read_line));
    view! {
        <div class="how-sure" hidden=move || doubt.with(Option::is_none)>
            <p class="second" aria-live="polite">{says}</p>
            <Fold title=desk.say(Words::HowSure) lazy=true>
                <p class="second">{desk.say(PlanSays::Describes)}</p>
                {move || read_line.with_value(|line| line())}
                <table class="table">
                    <caption>{desk.say(Words::MadeOf)}</caption>
                    <thead>
                        <tr>
                            <th scope="col">{desk.say(Words::Unknown)}</th>
                            <th scope="col" class="num">{desk.say(Words::Share)}</th>
                        </tr>
                    </thead>
                    <tbody>{move || rows.with_value(|rows| rows())}</tbody>
                </table>
                {move || workings.with_value(|workings| workings())}
            </Fold>
        </div>
    }
}
