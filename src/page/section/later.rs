//! Later: the count that comes days after, the amendment with its reason, the amended card.

use super::discards;
use super::header::go;
use super::product::cells::OtherCells;
use super::product::closing::Closing;
use super::product::count::Readings;
use super::product::counted::Counted;
use super::product::recipe::Prepared;
use super::product::sign::{Given, PrintCard, Signed, refusal, signature, until_decided};
use super::times::Times;
use crate::dom::prelude::*;
use crate::shell::{focus, keep};
use crate::state::{Desk, Sheet};
use crate::widget::{Entry, Findings, NextStep, Stops, Who, WordsBox};
use strawline::draft::{Draft, Field, Stage};
use strawline::export::signed::pending;
use strawline::finding::{HeldStep, Level};
use strawline::record::Counts;
use strawline::words::finding::Short;
use strawline::words::log::LogWord;
use strawline::words::product::{Late as Words, LateSays, ProductLine, Sign};
use strawline::words::times::TimeName;

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
            <Signed listed=true/>
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
    until_decided(desk, sheet, said);
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
            <div class="field text amender">
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
            <ToSign/>
            <NextStep label=Words::Amend go=amend/>
        }
    }
}

/// What an amendment would sign, seen before anybody signs it; which Stops stand all the same, and what is typed and not
/// entered, which it leaves out.
#[component]
fn ToSign() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let id = sheet.id();
    let changed = memo(move || {
        desk.records.with(|all| {
            let record = all.iter().find(|r| r.id() == id);
            let of = |record| sheet.draft.with(|d| pending(record, d, desk.language()));
            record.map(of).unwrap_or_default()
        })
    });
    let open = memo(move || {
        let mut names = Vec::new();
        sheet.answer.with(|a| {
            for stop in a.findings.iter().filter(|f| f.level >= Level::StopClinician && f.is_open()) {
                let name = desk.say(Short(&stop.kind));
                if !names.contains(&name) {
                    names.push(name);
                }
            }
        });
        names
    });
    let times = memo(move || sheet.draft.with(Draft::times_told));
    let waits = memo(move || {
        let typed = |id: &str| sheet.half_typed.of(id, "").with(|text| !text.trim().is_empty());
        let times = times.get().into_iter().filter(|what| typed(&what.key()));
        let discard = discards::TYPED.into_iter().any(typed).then(|| desk.say(LogWord::Discards));
        times.map(|what| desk.say(TimeName(what))).chain(discard).collect::<Vec<_>>()
    });
    let line = |of: Memo<Vec<String>>, says: fn(Vec<String>) -> ProductLine| {
        view! {
            <p class="wrong" hidden=move || of.with(Vec::is_empty)>{move || desk.say(says(of.get()))}</p>
        }
    };
    view! {
        <div hidden=move || changed.with(Vec::is_empty)>
            <h3 class="subheading" id="to_sign">{desk.say(Words::ToSign)}</h3>
            <ul aria-labelledby="to_sign">
                {move || changed.get().into_iter().map(|line| view! { <li>{line}</li> }).collect_view()}
            </ul>
        </div>
        {line(open, ProductLine::StillOpen)}
        {line(waits, ProductLine::NotEntered)}
    }
}
