//! The share-out: who gets how much, by the count or as predicted.

use super::rows::shown;
use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use crate::widget::{Explained, Opens, WorkingTable};
use strawline::assess::product::ShareLine;
use strawline::product::range::Range;
use strawline::quantity::unit::Conventions;
use strawline::quantity::{Cells, Quantity};
use strawline::words::page::Common;
use strawline::words::product::{ProductLine, Share as Words, ShareSays};
use strawline::words::unit::{self, Written};
use strawline::working::Worked;

/// Dose of a share: by the count if there is one, else predicted with its range.
fn dose(line: &ShareLine, c: &Conventions) -> Explained {
    match (&line.counted, &line.predicted) {
        (Some(w), _) => Some((unit::cells(w.value, c), w.working.clone())),
        (None, Some(w)) => Some((unit::cells(w.value.median, c), w.working.clone())),
        (None, None) => None,
    }
}

/// A row of the share-out, as far as it can be said without opening anything.
#[derive(Debug, Clone, PartialEq)]
struct Shown {
    name: String,
    volume: String,
    given: bool,
    counted: bool,
    range: Option<(Written, Written)>,
}

fn range_of(worked: Option<&Worked<Range<Cells>>>, c: &Conventions) -> Option<(Written, Written)> {
    worked.map(|w| (unit::cells(w.value.low, c), unit::cells(w.value.high, c)))
}

/// Who gets how much: the table of the answer.
#[component]
pub fn ShareOut() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let count = memo(move || sheet.answer.with(|a| a.product.shares.len()));
    let caption = move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| a.product.volume.map(|v| desk.say(ProductLine::ShareOf(unit::volume(v, &c)))))
    };
    let counted = memo(move || sheet.answer.with(|a| a.product.shares.iter().any(|s| s.counted.is_some())));
    let standing = move || desk.say(if counted.get() { Common::Counted } else { Common::Predicted });
    view! {
        <table class="table">
            <caption><h2>{caption}</h2></caption>
            <thead>
                <tr>
                    <th scope="col">{desk.say(Words::Site)}</th>
                    <th scope="col" class="num">{move || format!("{}, mL", desk.say(Words::Volume))}</th>
                    <th scope="col" class="num">
                        {move || format!("{}, ×10⁹", desk.say(Words::Dose))} <br/> {standing}
                    </th>
                </tr>
            </thead>
            <tbody>
                <For each=move || 0..count.get() key=|i| *i let:index>
                    <ShareRow index/>
                </For>
                <Total/>
            </tbody>
        </table>
        {move || (count.get() == 0).then(|| view! { <p class="second">{desk.say(ShareSays::NoParts)}</p> })}
    }
}

/// Name, volume, and the dose that opens. `None` of a dose says that it is not known.
fn dose_row(row: Memo<Option<Shown>>, value: Signal<Explained>, class: &'static str, id: String) -> Markup {
    let desk = Desk::here();
    let open = RwSignal::new(false);
    let bare = Signal::derive(move || value.get().map(|(w, working)| (Written { unit: "", ..w }, working)));
    let text = move |pick: fn(&Shown) -> String| move || row.with(|r| r.as_ref().map(pick));
    let state = move || {
        row.with(|r| {
            // The sum says it in its name.
            let words = if r.as_ref()?.given { Words::GivenWord } else { Words::PlannedWord };
            (class != "sum").then(|| desk.say(words))
        })
    };
    let range = move || {
        row.with(|r| r.as_ref()?.range.clone()).map(|(low, high)| {
            view! { " " <span class="range">{format!("({})", desk.say(ProductLine::Range(low, high)))}</span> }
        })
    };
    let counted = memo(move || row.with(|r| r.as_ref().is_some_and(|r| r.counted)));
    let unknown = move || value.with(Option::is_none).then(|| desk.say(Words::NoDose));
    let working_id = id.clone();
    view! {
        <tr class=class>
            <th scope="row">{text(|r| r.name.clone())} " " <span class="second">{state}</span></th>
            <td class="num">{text(|r| r.volume.clone())}</td>
            <td class="num" class:counted=counted class:predicted=move || !counted.get()>
                <Opens value=bare open id/>
                {range}
                {unknown}
            </td>
        </tr>
        {move || {
            let id = working_id.clone();
            open.get().then(|| view! { <tr class="opened"><td colspan="3"><WorkingTable value open id/></td></tr> })
        }}
    }
}

#[component]
fn ShareRow(index: usize) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let row = memo(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let line = a.product.shares.get(index)?;
            let name = if line.name.is_empty() { desk.say(Words::WholeSite) } else { line.name.clone() };
            Some(Shown {
                name,
                volume: unit::volume(line.volume, &c).number,
                given: line.given,
                counted: line.counted.is_some(),
                range: range_of(line.predicted.as_ref().filter(|_| line.counted.is_none()), &c),
            })
        })
    });
    let value = Signal::derive(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| a.product.shares.get(index).and_then(|line| dose(line, &c)))
    });
    dose_row(row, value, "", format!("w-share-{index}"))
}

/// All parts together.
#[component]
fn Total() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let row = memo(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let p = &a.product;
            let given = !p.shares.is_empty() && p.shares.iter().all(|s| s.given);
            let volume = p.ledger.as_ref().map(|l| l.sites.value).filter(|v| v.get() > 0.0)?;
            Some(Shown {
                name: desk.say(if given { Words::Given } else { Words::Planned }),
                volume: unit::volume(volume, &c).number,
                given,
                counted: p.dose_counted.is_some(),
                range: range_of(p.dose_predicted.as_ref().filter(|_| p.dose_counted.is_none()), &c),
            })
        })
    });
    let value = Signal::derive(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let p = &a.product;
            let counted = shown(p.dose_counted.as_ref(), &c, unit::cells);
            counted.or_else(|| {
                p.dose_predicted.as_ref().map(|w| (unit::cells(w.value.median, &c), w.working.clone()))
            })
        })
    });
    let there = memo(move || row.with(Option::is_some));
    move || there.get().then(|| dose_row(row, value, "sum", "w-share-all".to_owned()))
}
