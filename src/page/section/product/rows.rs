//! Rows of the product's tables: each number opens to its working in the row below.

use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use crate::widget::{Explained, Opens, WorkingTable};
use strawline::assess::product::ProductResult;
use strawline::product::range::Range;
use strawline::quantity::unit::Conventions;
use strawline::words::Phrase;
use strawline::words::product::{Count, ProductLine};
use strawline::words::unit::Written;
use strawline::working::Worked;

/// What a row shows of the product.
pub type Pick = fn(&ProductResult, &Conventions) -> Explained;
/// What a row shows of a predicted range.
pub type PickRange = fn(&ProductResult, &Conventions) -> Option<(Written, Written)>;

/// A result as it is shown.
pub fn shown<Q: Copy>(
    worked: Option<&Worked<Q>>,
    c: &Conventions,
    write: fn(Q, &Conventions) -> Written,
) -> Explained {
    worked.map(|w| (write(w.value, c), w.working.clone()))
}

/// The middle of a predicted range.
pub fn middle<Q: Copy>(
    worked: Option<&Worked<Range<Q>>>,
    c: &Conventions,
    write: fn(Q, &Conventions) -> Written,
) -> Explained {
    worked.map(|w| (write(w.value.median, c), w.working.clone()))
}

/// The ends of a predicted range.
pub fn ends<Q: Copy>(
    worked: Option<&Worked<Range<Q>>>,
    c: &Conventions,
    write: fn(Q, &Conventions) -> Written,
) -> Option<(Written, Written)> {
    worked.map(|w| (write(w.value.low, c), write(w.value.high, c)))
}

/// A figure of the product as it now stands.
pub fn figure(sheet: Sheet, pick: Pick) -> Signal<Explained> {
    Signal::derive(move || sheet.answer.with(|a| pick(&a.product, &sheet.conventions())))
}

/// A name and a number that opens below it. Nothing while there is no number.
#[component]
pub fn Line<L>(
    /// Name of the number.
    label: L,
    /// Where it comes from.
    pick: Pick,
    /// Key of its working.
    id: &'static str,
) -> impl IntoView
where
    L: Phrase + Copy + Send + Sync + 'static,
{
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let value = figure(sheet, pick);
    let there = memo(move || value.with(Option::is_some));
    let open = RwSignal::new(false);
    view! {
        <Show when=move || there.get()>
            <div class="field">
                <div class="field-name">{desk.say(label)}</div>
                <div class="entry"><Opens value open id/></div>
                <WorkingTable value open id/>
            </div>
        </Show>
    }
}

/// One amount counted beside predicted.
#[component]
pub fn Beside<L>(
    /// Name of the amount.
    label: L,
    /// Counted.
    counted: Pick,
    /// Middle of what is predicted.
    predicted: Pick,
    /// Its ends.
    range: PickRange,
    /// Keys of the two workings.
    ids: [&'static str; 2],
) -> impl IntoView
where
    L: Phrase + Copy + Send + Sync + 'static,
{
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let (counted, predicted) = (figure(sheet, counted), figure(sheet, predicted));
    let (counted_open, predicted_open) = (RwSignal::new(false), RwSignal::new(false));
    let [counted_id, predicted_id] = ids;
    let unit = memo(move || {
        let of = |v: Signal<Explained>| v.with(|v| v.as_ref().map(|(w, _)| w.unit));
        of(counted).or_else(|| of(predicted)).unwrap_or_default()
    });
    // A reading that may not be relied on says so beside its name.
    let doubtful = move || {
        let doubtful = sheet.answer.with(|a| a.product.unconfirmed()) && counted.with(Option::is_some);
        doubtful.then(|| view! { <b>{desk.say(Count::NotConfirmed)}</b> })
    };
    let bare = |v: Signal<Explained>| {
        Signal::derive(move || v.get().map(|(w, working)| (Written { unit: "", ..w }, working)))
    };
    let ends = move || {
        sheet.answer.with(|a| {
            let (low, high) = range(&a.product, &sheet.conventions())?;
            Some(desk.say(ProductLine::Range(low, high)))
        })
    };
    let working = move |value: Signal<Explained>, open: RwSignal<bool>, id: &'static str| {
        move || {
            open.get()
                .then(|| view! { <tr class="opened"><td colspan="5"><WorkingTable value open id/></td></tr> })
        }
    };
    view! {
        <tr>
            <th scope="row">
                {desk.say(label)} " " <span class="unit-name">{unit}</span> " " {doubtful}
            </th>
            <td class="num counted"><Opens value=bare(counted) open=counted_open id=counted_id/></td>
            <td class="unit">{unit}</td>
            <td class="num predicted"><Opens value=bare(predicted) open=predicted_open id=predicted_id/></td>
            <td class="num range">{ends}</td>
        </tr>
        {working(counted, counted_open, counted_id)}
        {working(predicted, predicted_open, predicted_id)}
    }
}
