//! Card, hand-over and signature; the label as it will print.

use crate::section::header::{Sign as SignBox, go};
use crate::shell::{clock, focus, keep, print};
use crate::state::{Desk, Paper, Sheet};
use crate::widget::{Confirm, Entry, NextStep, Stops};
use crate::wire::{dynamic, memo};
use leptos::prelude::*;
use strawline::draft::{CheckKind, Draft, Field, Stage};
use strawline::finding::HeldStep;
use strawline::record::{SignError, changes};
use strawline::words::card::{CardLine, CardWord};
use strawline::words::choice::{AgentName, SiteLine};
use strawline::words::product::{DayAndTime, ProductLine, Sign as Words, SignRefused, SignSays};
use strawline::words::unit;

/// The section.
#[component]
pub fn Card() -> impl IntoView {
    let desk = Desk::here();
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Words::Heading)}</h2>
            <Entry field=Field::HandedTo/>
            <Confirm kind=CheckKind::HandOver id="check_hand_over"/>
            <Entry field=Field::Notes long=true/>
            <HandedOver/>
            <Signed/>
            <div class="buttons"><PrintCard label=Words::Print/></div>
        </section>
    }
}

/// Prints the card of the case in view.
#[component]
pub fn PrintCard(label: Words) -> impl IntoView {
    let desk = Desk::here();
    let tap = move |_| {
        desk.paper.set(Paper::Card);
        print::print();
    };
    view! { <button type="button" class="button" on:click=tap>{desk.say(label)}</button> }
}

/// When it was handed over and to whom; taken back while the record is not signed.
#[component]
fn HandedOver() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let at = memo(move || sheet.draft.with(|d| d.times.handed_over));
    let signed = signature(desk, sheet);
    move || {
        let at = unit::clock(at.get()?, desk.offset.get());
        let to = sheet.draft.with(|d| d.text(Field::HandedTo).trim().to_owned());
        let back = signed.with(Option::is_none).then(|| {
            view! {
                <button
                    type="button"
                    class="link"
                    on:click=move |_| sheet.edit(|d| d.times.handed_over = None)
                >
                    {desk.say(Words::NotHandedOver)}
                </button>
            }
        });
        Some(view! { <p>{desk.say(ProductLine::HandedTo(to, at))} " " {back}</p> })
    }
}

/// The last signature of this case: who and when, and how often it was amended.
pub fn signature(desk: Desk, sheet: Sheet) -> Memo<Option<(String, String, usize)>> {
    let id = sheet.id();
    memo(move || {
        let offset = desk.offset.get();
        desk.records.with(|all| {
            let record = all.iter().find(|r| r.id() == id)?;
            let first = record.first_signed();
            Some((first.by.clone(), desk.say(DayAndTime(first.at, offset)), record.amendments().len()))
        })
    })
}

/// Who signed, and that from then on the record is only added to.
#[component]
pub fn Signed() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let signed = signature(desk, sheet);
    let id = sheet.id();
    let changed = memo(move || {
        desk.records.with(|all| {
            let record = all.iter().find(|r| r.id() == id);
            record.is_some_and(|r| sheet.draft.with(|d| !changes::between(r.latest(), d).is_empty()))
        })
    });
    move || {
        signed.get().map(|(by, at, amended)| {
            let unsigned =
                changed.get().then(|| view! { <p class="wrong">{desk.say(CardWord::Unsigned)}</p> });
            let times = (amended > 0).then(|| desk.say(ProductLine::AmendedTimes(amended)));
            view! {
                <p role="status"><b>{desk.say(ProductLine::SignedBy(by, at))}</b> " " {times}</p>
                {unsigned}
                <p class="second">{desk.say(SignSays::AmendOnly)}</p>
            }
        })
    }
}

/// The step that is next: hand over, sign, go on to what comes later.
#[component]
pub fn Step() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let over = memo(move || sheet.draft.with(|d| d.times.handed_over.is_some()));
    let signed = signature(desk, sheet);
    let is_signed = memo(move || signed.with(Option::is_some));
    let said = RwSignal::new(None::<String>);
    let hand_over = move || match sheet.draft.with_untracked(missing) {
        Some((field, words)) => {
            said.set(Some(desk.say(words)));
            focus::first(field);
        }
        None => {
            said.set(None);
            let at = clock::now().at;
            sheet.edit(|d| d.times.handed_over = Some(at));
        }
    };
    let sign = move || said.set(refusal(desk, keep::sign(desk, sheet)));
    view! {
        <Stops step=HeldStep::HandOver/>
        <p class="second" role="status">{said}</p>
        {dynamic(move || match (over.get(), is_signed.get()) {
            (_, true) => {
                view! { <NextStep label=Words::ToLater go=move || go(sheet, Stage::Later)/> }.into_any()
            }
            (true, false) => view! { <NextStep label=Words::Sign go=sign/> }.into_any(),
            (false, false) => {
                view! { <NextStep label=HeldStep::HandOver step=HeldStep::HandOver go=hand_over/> }.into_any()
            }
        })}
    }
}

/// What a hand-over still needs, and where it is entered.
fn missing(draft: &Draft) -> Option<(&'static str, SignSays)> {
    if draft.text(Field::HandedTo).trim().is_empty() {
        Some(("#handed_to", SignSays::WhoReceives))
    } else if !draft.checks.contains_key(&CheckKind::HandOver) {
        Some(("#check_hand_over", SignSays::ReadBack))
    } else {
        None
    }
}

/// Why a signature was refused, as a sentence; `None` when it was given.
pub fn refusal(desk: Desk, result: Result<(), SignError>) -> Option<String> {
    result.err().map(|error| desk.say(SignRefused(&error)))
}

/// The product label as it will print.
#[component]
pub fn LabelPreview() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let who = move || sheet.draft.with(|d| d.text(Field::PatientReference).to_owned());
    let second = move || sheet.draft.with(|d| d.text(Field::SecondIdentifier).to_owned());
    let site =
        move || sheet.draft.with(|d| desk.say(SiteLine { side: d.choices.side, site: d.text(Field::Site) }));
    let what = move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let volume = a.product.volume.map(|v| unit::volume(v, &c).to_string());
            let agent = a.draw.agent.map(|agent| desk.say(AgentName(agent, c.numbers))).unwrap_or_default();
            // On the label stands what was counted, or that nothing was: never what is predicted.
            let count = match &a.product.measured {
                Some(m) => CardLine::LabelCounted {
                    count: unit::count(m.concentration.value, &c).to_string(),
                    agent,
                },
                None => CardLine::InAgent(agent),
            };
            (volume, desk.say(count))
        })
    };
    let made = move || {
        let offset = desk.offset.get();
        sheet.draft.with(|d| {
            let at = d.times.collected?;
            Some(desk.say(CardLine::MadeAt {
                day: unit::date(at, offset).map(|day| desk.say(day)).unwrap_or_default(),
                at: unit::clock(at, offset),
                by: d.text(Field::Technician).to_owned(),
            }))
        })
    };
    let use_by = move || {
        let at = sheet.answer.with(|a| a.spin.use_by.as_ref().map(|w| w.value.at));
        match at {
            Some(at) => {
                let offset = desk.offset.get();
                let day = unit::date(at, offset).map(|day| desk.say(day));
                view! { {desk.say(CardWord::UseBy)} " " <b>{unit::clock(at, offset)}</b> " " {day} }
                    .into_any()
            }
            None => desk.say(Words::NoUseBy).into_any(),
        }
    };
    let demo = move || sheet.draft.with(|d| d.demo).then(|| desk.say(Words::Demo));
    view! {
        <section class="label-preview" aria-label=desk.say(Words::Preview)>
            <SignBox sheet/>
            <p><b class="id">{who}</b> " " {second}</p>
            <p><b class="site">{site}</b></p>
            <p><b>{desk.say(CardWord::ProductHead)} " " {dynamic(move || what().0)}</b></p>
            <p>{dynamic(move || what().1)}</p>
            <p>{made}</p>
            <p>{use_by}</p>
            <p class="second">
                {dynamic(move || desk.bench.with(|b| b.clinic.autologous.clone()))}
                " "
                <b>{demo}</b>
            </p>
            <p class="second">{desk.say(Words::Preview)}</p>
        </section>
    }
}
