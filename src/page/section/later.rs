//! Later: the count that comes days after, the amendment with its reason, the amended card.

use super::header::go;
use super::product::cells::OtherCells;
use super::product::closing::Closing;
use super::product::count::Readings;
use super::product::counted::Counted;
use super::product::recipe::Prepared;
use super::product::sign::{Given, PrintCard, Signed, refusal, signature};
use super::times::Times;
use crate::dom::prelude::*;
use crate::shell::{focus, keep};
use crate::state::{Desk, Sheet};
use crate::widget::{Entry, Findings, NextStep, Stops, Who, WordsBox};
use strawline::draft::{Field, Stage};
use strawline::finding::HeldStep;
use strawline::record::Counts;
use strawline::words::product::{Late as Words, LateSays, Sign};

/// The stage itself.
#[component]
pub fn Later() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let id = sheet.id();
    let stands = move || {
        let counts =
            desk.records.with(|all| all.iter().find(|r| r.id() == id).map(|r| Counts::of(r.latest())));
        desk.say(LateSays::of(counts))
    };
    view! {
        <p>{stands}</p>
        <section class="part-of">
            <h2 class="heading">{desk.say(Words::Heading)}</h2>
            <Prepared/>
            <Readings/>
            <OtherCells/>
            <Closing alone=true/>
            <Counted/>
        </section>
        <Given/>
        <Entry field=Field::AdverseEvent long=true/>
        <section class="part-of">
            <h2 class="heading">{desk.say(Words::Card)}</h2>
            <Stops step=HeldStep::HandOver/>
            <Amend/>
            <Signed/>
            <div class="buttons"><PrintCard label=Sign::PrintAmended/></div>
        </section>
        <Times/>
        <Findings stages=vec![Stage::Product, Stage::Later]/>
    }
}

/// Who amends, the reason, and the signature of an amendment; before there is a record, the way to it.
#[component]
fn Amend() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let signed = signature(desk, sheet);
    let is_signed = memo(move || signed.with(Option::is_some));
    let (by, reason) = (sheet.amender(), sheet.half_typed.of("amend_reason", ""));
    let said = RwSignal::new(None::<String>);
    let amend = move || {
        let (who, why) = (by.get_untracked(), reason.get_untracked());
        if who.trim().is_empty() {
            focus::first("#amend_by");
        }
        // Said once it is stored; by then a person may have gone to another stage.
        let kept = move || {
            // The next to amend may be somebody else.
            by.try_set(String::new());
            reason.try_set(String::new());
            said.try_set(Some(desk.say(Words::Amended)));
        };
        said.set(refusal(desk, keep::amend(desk, sheet, &who, &why, kept)));
    };
    move || {
        if !is_signed.get() {
            return view! { <Who/> <NextStep label=Words::ToProduct go=move || go(sheet, Stage::Product)/> };
        }
        view! {
            <div class="field text">
                <div class="field-name">
                    <label for="amend_by">{desk.say(Words::Who)}</label>
                    <p class="second" id="amend_by-more">{desk.say(LateSays::WhoMore)}</p>
                </div>
                <WordsBox id="amend_by" text=by/>
            </div>
            <div class="field text">
                <div class="field-name">
                    <label for="amend_reason">{desk.say(Words::Why)}</label>
                </div>
                <WordsBox id="amend_reason" text=reason/>
                // The reason there mostly is, in one tap; it is typed text all the same, and can be changed.
                <div class="slip">
                    <button
                        type="button"
                        class="offer"
                        on:click=move |_| reason.set(desk.say(Words::CameBack))
                    >
                        {desk.say(Words::CameBack)}
                    </button>
                </div>
                <p class="reading" role="status">{said}</p>
            </div>
            <NextStep label=Words::Amend go=amend/>
        }
    }
}
