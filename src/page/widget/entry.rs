//! A typed field: label, input, unit, steppers, how it was read, and the likely slips in one tap.

use super::by_whom::Offered;
use crate::dom::prelude::*;
use crate::shell::{camera, focus, typing};
use crate::state::{Desk, Sheet, Shown};
use strawline::case::TypedMoment;
use strawline::draft::{Field, ShelfOffer};
use strawline::finding::LotOf;
use strawline::quantity::read::{Offer, Reading, Refusal, spell};
use strawline::quantity::write;
use strawline::words::field::{Label, NoRoom, hint, unit};
use strawline::words::log::{LogWord, LotOffer, ReadyLine};
use strawline::words::page::Common;
use strawline::words::reading::{OfferWords, ReadingWords};
use strawline::words::records::DayAndTime;
use strawline::words::scan::{CameraWord, CodeRefused, FromCode, ScanWord};

/// One typed field of the worksheet.
#[component]
pub fn Entry(
    /// Which.
    field: Field,
    /// Step of the − and + buttons, in the core unit; none leaves them out.
    #[prop(optional, into)]
    step: Option<f64>,
    /// What stands in the field when nothing is typed: the value that then holds.
    #[prop(optional, into)]
    standing: Option<Signal<String>>,
    /// Where − and + begin while nothing is typed and no value holds; it is not shown.
    #[prop(optional, into)]
    near: Option<Signal<String>>,
    /// Several lines of text.
    #[prop(optional)]
    long: bool,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let id = field.key();
    let shown = sheet.field(field);
    let text = Signal::derive(move || shown.with(|s| s.text.clone()));
    let wrong = move || shown.with(|s| matches!(s.reading, Some(Reading::Wrong(_))));
    let asked = Signal::derive(move || {
        shown.with(|s| matches!(s.reading, Some(Reading::Ask { .. } | Reading::Wrong(_))))
    });
    let type_in = move |event| typing::typed(sheet, field, event_target_value(&event));
    let said = move || {
        let c = sheet.conventions();
        shown.with(|s| {
            let (reading, kind) = (s.reading.as_ref()?, field.kind()?);
            Some(desk.say(ReadingWords { reading, typed: &s.text, kind, conventions: &c }))
        })
    };
    let described = format!("{id}-unit {id}-more {id}-reading {id}-room");
    let number = field.kind().is_some();
    let input = if long {
        view! {
            <textarea id=id.clone() class="words" rows="2" autocomplete="off" prop:value=text on:input=type_in></textarea>
        }
    } else {
        view! {
            <input
                id=id.clone()
                class=if number { "number" } else { "words" }
                inputmode=if number { "decimal" } else { "text" }
                autocomplete="off"
                autocapitalize="off"
                spellcheck="false"
                enterkeyhint="next"
                placeholder=move || standing.map(|s| s.get())
                aria-describedby=described
                aria-invalid=move || wrong().then_some("true")
                prop:value=text
                on:input=type_in
            />
        }
    };
    let hint_line = hint(field).map(|h| {
        view! { <p class="second" id=format!("{id}-more")>{desk.say(h)}</p> }
    });
    let from = standing.or(near);
    let steppers = step.map(|by| view! { <Steppers field by from/> });
    view! {
        <div class="field" class:text=!number>
            <div class="field-name">
                <label for=id.clone()>{desk.say(Label(field))}</label>
                {hint_line}
            </div>
            <div class="entry">
                {input}
                {number
                    .then(|| {
                        view! {
                            <span class="unit" id=format!("{id}-unit")>
                                {move || unit(field, &sheet.conventions()).map(|u| desk.say(u))}
                            </span>
                        }
                    })}
                {steppers}
            </div>
            {number
                .then(|| {
                    view! {
                        <p class="reading" class:wrong=asked id=format!("{id}-reading") aria-live="polite">
                            {said}
                        </p>
                    }
                })}
            {(!number && !long).then(|| view! { <Room field text/> })}
            {LotOf::of_lot(field).map(|of| view! { <Code of/> <Camera of/> <Shelf of/> })}
            {field.is_who().then(|| view! { <Offered field/> })}
            {matches!(field, Field::ReadyBy | Field::PartGivenAt(_)).then(|| view! { <Moment field/> })}
            {Field::IDENTIFIERS.contains(&field).then(|| view! { <NoIdentifier field/> })}
            <Slips field shown/>
        </div>
    }
}

/// That there are more letters than there is room for. What is typed stays.
#[component]
fn Room(field: Field, text: Signal<String>) -> impl IntoView {
    let desk = Desk::here();
    let over = memo(move || text.with(|text| field.too_long(text)));
    view! {
        <p class="reading wrong" id=format!("{field}-room") aria-live="polite">
            {move || over.get().map(|over| desk.say(NoRoom(over)))}
        </p>
    }
}

/// What a scanned code filled in, and the way back; or why it was refused.
#[component]
fn Code(of: LotOf) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let lot = of.lot();
    let said = memo(move || {
        sheet.draft.with(|d| match d.scanned(of) {
            Some(read) => Some((desk.say(FromCode(&read)), true)),
            None => {
                let refused = d.refused_code(of)?;
                Some((desk.say(CodeRefused(&refused)), false))
            }
        })
    });
    let filled = memo(move || said.with(|s| s.as_ref().is_some_and(|s| s.1)));
    let back = move |_| {
        sheet.edit(|d| d.take_back_scan(of));
        focus::first(&format!("#{lot}"));
    };
    view! {
        <p
            class="reading"
            class:wrong=move || said.with(Option::is_some) && !filled.get()
            id=format!("{lot}-reading")
            aria-live="polite"
        >
            {move || said.with(|s| s.as_ref().map(|s| s.0.clone()))}
        </p>
        {move || {
            filled
                .get()
                .then(|| {
                    view! { <button type="button" class="link" on:click=back>{desk.say(ScanWord::TakeBack)}</button> }
                })
        }}
    }
}

/// Reads the code by the camera, where the browser can.
#[component]
fn Camera(of: LotOf) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    if camera::here().is_err() {
        return None;
    }
    let lot = of.lot();
    let seen: camera::Seen = RwSignal::new((false, None));
    let open = memo(move || seen.get().0);
    let preview = NodeRef::new();
    let press = move |_| match open.get_untracked() {
        true => camera::close(seen),
        false => camera::open(sheet, lot, seen, preview),
    };
    on_cleanup(move || camera::close(seen));
    Some(view! {
        <div class="camera">
            <video
                node_ref=preview
                hidden=move || !open.get()
                prop:muted=true
                playsinline=true
                aria-label=desk.say(CameraWord::Preview)
            ></video>
            <p class="reading" aria-live="polite">{move || seen.get().1.map(|s| desk.say(s))}</p>
            <button
                type="button"
                class="button small"
                aria-label=move || {
                    let words = if open.get() { CameraWord::Close } else { CameraWord::Open };
                    format!("{}: {}", desk.say(words), desk.say(Label(lot)))
                }
                on:click=press
            >
                {move || desk.say(if open.get() { CameraWord::Close } else { CameraWord::Open })}
            </button>
        </div>
    })
}

/// Once above the lots of a section: what does as well where this browser reads no codes.
#[component]
pub fn NoCamera() -> impl IntoView {
    let desk = Desk::here();
    camera::here().err().map(|why| view! { <p class="second">{desk.say(why)}</p> })
}

/// The lots in use by the clinic's list: a tap fills lot and expiry. One that is not offered is told with the reason.
#[component]
fn Shelf(of: LotOf) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let lots = memo(move || {
        let now = desk.minute.get();
        let Some((day, _)) = now.at.local(now.offset) else { return Vec::new() };
        desk.log.with(|log| match log {
            Some(log) => sheet.draft.with(|d| d.shelf(of, log, day, desk.language())),
            None => Vec::new(),
        })
    });
    let one = move |offer: ShelfOffer| {
        let numbers = sheet.conventions().numbers;
        let words = desk.say(LotOffer { lot: &offer.lot, not: offer.not, numbers });
        if offer.not.is_some() {
            return view! { <p class="reading wrong">{words}</p> };
        }
        let tap = move |_| sheet.edit(|d| d.take_from_shelf(of, &offer.lot));
        view! { <button type="button" class="offer" on:click=tap>{words}</button> }
    };
    move || {
        let all = lots.get();
        (!all.is_empty()).then(|| {
            view! {
                <div class="slip" role="group" aria-label=desk.say(LogWord::Shelf)>
                    <span class="second">{desk.say(LogWord::FromShelf)} " " {desk.say(LogWord::LabelCounts)}</span>
                    {all.into_iter().map(one).collect_view()}
                </div>
            }
        })
    }
}

/// A moment as it was read.
#[component]
fn Moment(field: Field) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let said = memo(move || {
        let row = if let Field::PartGivenAt(row) = field { Some(usize::from(row)) } else { None };
        let read = sheet.read.with(|(case, _)| match row {
            Some(row) => case.order.parts.get(row).map(|p| p.given_at).unwrap_or_default(),
            None => case.order.ready_by,
        });
        let odd = row.and_then(|row| sheet.answer.with(|a| a.given.get(row).copied().flatten()));
        let offset = sheet.offset.get();
        let line = match (read, odd) {
            (TypedMoment::NotTyped, _) => return None,
            (TypedMoment::Unreadable, _) if row.is_none() => ReadyLine::Unreadable,
            (TypedMoment::Unreadable, _) => ReadyLine::GivenUnreadable,
            (TypedMoment::At(at), Some(odd)) => ReadyLine::GivenOdd { at, odd, offset },
            (TypedMoment::At(at), None) => {
                let (day, time) = at.local(offset)?;
                let at = desk.say(DayAndTime(day, time));
                if row.is_some() { ReadyLine::GivenAt(at) } else { ReadyLine::At(at) }
            }
        };
        let wrong = !matches!(line, ReadyLine::At(_) | ReadyLine::GivenAt(_));
        Some((desk.say(line), wrong))
    });
    view! {
        <p
            class="reading"
            class:wrong=move || said.with(|s| s.as_ref().is_some_and(|s| s.1))
            id=format!("{field}-reading")
            aria-live="polite"
        >
            {move || said.with(|s| s.as_ref().map(|s| s.0.clone()))}
        </p>
    }
}

/// That a code of a label was scanned into this field.
#[component]
fn NoIdentifier(field: Field) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let code = memo(move || sheet.draft.with(|d| d.code_as_identifier(field)));
    view! {
        <p class="reading wrong" id=format!("{field}-reading") aria-live="polite">
            {move || code.get().then(|| desk.say(ScanWord::NoIdentifier))}
        </p>
    }
}

/// The readings that may have been meant, each one tap away.
#[component]
fn Slips(field: Field, shown: RwSignal<Shown>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    move || {
        let all = shown.with(|s| s.reading.as_ref().map(offers).unwrap_or_default());
        (!all.is_empty()).then(|| {
            let buttons = all
                .into_iter()
                .map(|offer| {
                    let words = move |o: &Offer| desk.say(OfferWords(o, sheet.conventions().numbers));
                    let label = words(&offer);
                    view! {
                        <button
                            type="button"
                            class="offer"
                            on:click=move |_| sheet.write(field, offer.text.clone())
                        >
                            {label}
                        </button>
                    }
                })
                .collect_view();
            view! {
                <div class="slip" role="group" aria-label=desk.say(Common::DidYouMean)>
                    {buttons}
                </div>
            }
        })
    }
}

fn offers(reading: &Reading) -> Vec<Offer> {
    match reading {
        Reading::Ask { options } => options.clone(),
        Reading::Wrong(refusal) => Refusal::offers(refusal).to_vec(),
        Reading::Empty | Reading::Value { .. } => Vec::new(),
    }
}

/// − and + beside a number. They move what is typed, or where they begin while nothing is typed.
#[component]
fn Steppers(field: Field, by: f64, from: Option<Signal<String>>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shift = move |sign: f64| {
        let Some(kind) = field.kind() else { return };
        let c = sheet.conventions();
        let typed = sheet.draft.with_untracked(|d| d.text(field).to_owned());
        let text = if typed.is_empty() { from.map(|s| s.get_untracked()).unwrap_or_default() } else { typed };
        let from = strawline::quantity::read::read(&text, kind, &c).value().unwrap_or(0.0);
        // On the grid of the step, so that 1.95 goes to 2 and not to 2.15.
        let steps = if sign > 0.0 { (from / by + 1e-9).floor() } else { (from / by - 1e-9).ceil() };
        let to = write::round_significant((steps + sign) * by, 12);
        let text = spell(to.max(0.0), kind, &c);
        if strawline::quantity::read::read(&text, kind, &c).value().is_some() {
            sheet.write(field, text);
        }
    };
    let named = move |words: Common| format!("{}: {}", desk.say(Label(field)), desk.say(words));
    view! {
        <button type="button" class="step" aria-label=move || named(Common::Less) on:click=move |_| shift(-1.0)>
            "−"
        </button>
        <button type="button" class="step" aria-label=move || named(Common::More) on:click=move |_| shift(1.0)>
            "+"
        </button>
    }
}
