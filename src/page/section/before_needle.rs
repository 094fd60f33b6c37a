//! Before the needle: identity, what is in hand, the anticoagulant, the second pair of eyes, the patient's blood.

use super::needle_in::ContainersTable;
use super::order::{BloodBefore, Lots, Part};
use super::plan::Plan;
use super::product::sign::PrintLabels;
use crate::dom::prelude::*;
use crate::shell::{clock, focus};
use crate::state::{Desk, Sheet};
use crate::widget::{Entry, Explained, Findings, Opens, Stops, Who, WorkingTable, by, confirm, who};
use strawline::assess::draw::DrawResult;
use strawline::blood::patient::PatientCheck;
use strawline::draft::{Check, CheckKind, Draft, Field, Stage};
use strawline::finding::HeldStep;
use strawline::quantity::Quantity;
use strawline::words::Phrase;
use strawline::words::draw::{Before as Words, DrawLine, sum};
use strawline::words::order::MissingLine;
use strawline::words::unit::{self, clock as clock_words};

/// Before the needle.
#[component]
pub fn BeforeNeedle() -> impl IntoView {
    let sheet = Sheet::here();
    let identifiers = Signal::derive(move || {
        sheet.draft.with(|d| {
            let both = [d.text(Field::PatientReference), d.text(Field::SecondIdentifier)];
            both.into_iter().filter(|t| !t.trim().is_empty()).collect::<Vec<_>>().join(", ")
        })
    });
    let entered = memo(move || sheet.answer.with(|a| a.draw.containers.iter().any(|c| c.entered)));
    view! {
        <Who/>
        <Entry field=Field::WhoBefore/>
        <Confirm of=IDENTITY detail=identifiers/>
        <Confirm of=AGENT detail=said(Words::AgentLook)/>
        <Confirm of=VESSELS detail=said(Words::VesselsLook)/>
        <Part title=Words::Draw>
            <Anticoagulant/>
            <SecondPerson/>
            {move || entered.get().then(|| view! { <ContainersTable/> })}
        </Part>
        <Part title=Words::Limits>
            <Limits/>
            <BloodBefore/>
        </Part>
        <Part title=Words::Lots>
            <Lots/>
        </Part>
        <super::discards::Discards/>
        <PrintLabels/>
        <Plan/>
        <Stops step=HeldStep::Needle/>
        // What is known of the planned spin is told while no blood waits for it.
        <Findings stages=vec![Stage::Order, Stage::BeforeNeedle, Stage::Spinning]/>
    }
}

fn said(words: impl Phrase + Copy + Send + Sync + 'static) -> Signal<String> {
    let desk = Desk::here();
    Signal::derive(move || desk.say(words))
}

/// A check with two outcomes, and all its words.
#[derive(Clone, Copy)]
struct TwoWay {
    id: &'static str,
    name: Words,
    good: (CheckKind, Words, Words),
    bad: (CheckKind, Words, Words),
    undo: Words,
}

const IDENTITY: TwoWay = TwoWay {
    id: "check-identity",
    name: Words::Identity,
    good: (CheckKind::Identity, Words::BothAgree, Words::Agreed),
    bad: (CheckKind::IdentityDiffers, Words::TheyDiffer, Words::Differed),
    undo: Words::UndoIdentity,
};
const AGENT: TwoWay = TwoWay {
    id: "check-agent",
    name: Words::Agent,
    good: (CheckKind::AnticoagulantSound, Words::AgentSound, Words::Sound),
    bad: (CheckKind::AnticoagulantUnsound, Words::AgentUnsound, Words::Unsound),
    undo: Words::UndoAgent,
};
const VESSELS: TwoWay = TwoWay {
    id: "check-vessels",
    name: Words::Vessels,
    good: (CheckKind::ContainersSound, Words::VesselsSound, Words::Sound),
    bad: (CheckKind::ContainersUnsound, Words::VesselsUnsound, Words::Unsound),
    undo: Words::UndoVessels,
};

/// One check: two buttons, then what was found, by whom, when, and the way back.
#[component]
fn Confirm(of: TwoWay, detail: Signal<String>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let outcome = memo(move || {
        sheet.draft.with(|d| {
            [of.bad, of.good]
                .into_iter()
                .find_map(|(kind, _, found)| Some((found, d.checks.get(&kind)?.clone())))
        })
    });
    let undo = move |_| {
        if who(desk, sheet).is_none() {
            return;
        }
        sheet.edit(|d| {
            for (kind, ..) in [of.good, of.bad] {
                d.take_back(kind);
            }
        });
    };
    let buttons = move || {
        if outcome.with(Option::is_some) {
            let words = desk.say(of.undo);
            return view! { <button type="button" class="link" on:click=undo>{words}</button> };
        }
        [of.good, of.bad]
            .into_iter()
            .map(|(kind, words, _)| {
                view! {
                    <button type="button" class="button" on:click=move |_| {
                        if confirm(desk, sheet, kind) {
                            // The button goes; the keyboard stays at its place.
                            request_animation_frame(move || focus::keep(of.id));
                        }
                    }>
                        {desk.say(words)}
                    </button>
                }
            })
            .collect_view()
    };
    let found = move || {
        outcome.with(|o| o.as_ref().map(|(words, check)| checked(desk, sheet, desk.say(*words), check)))
    };
    view! {
        <div class="field" role="group" id=of.id aria-label=desk.say(of.name)>
            <div class="field-name">
                {desk.say(of.name)} <p class="second">{detail}</p>
            </div>
            <div class="entry">{buttons}</div>
            <p class="reading" aria-live="polite">{found}</p>
        </div>
    }
}

/// What was checked, when, by whom.
fn checked(desk: Desk, sheet: Sheet, what: String, check: &Check) -> String {
    let at = clock_words(check.at, sheet.offset.get());
    let what = [what, check.of.clone()].into_iter().filter(|s| !s.is_empty()).collect::<Vec<_>>().join(", ");
    desk.say(DrawLine::CheckedBy(what, check.by.clone(), at))
}

/// The amount in each container: how it is worked out, and another one chosen instead.
#[component]
fn Anticoagulant() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let open = RwSignal::new(false);
    let of_plan = move |f: fn(&DrawResult, &strawline::quantity::unit::Conventions) -> Explained| {
        Signal::derive(move || {
            let c = sheet.conventions();
            sheet.answer.with(|a| f(&a.draw, &c))
        })
    };
    let amount = of_plan(|draw, c| {
        let plan = draw.plan.as_ref()?;
        let working = plan.exact.working.clone().then(plan.rounded.working.clone());
        Some((unit::volume(plan.rounded.value.split.anticoagulant, c), working))
    });
    let standing = Signal::derive(move || {
        amount.with(|a| a.as_ref().map(|(w, _)| w.number.clone()).unwrap_or_default())
    });
    let line = Signal::derive(move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let plan = a.draw.plan.as_ref()?;
            let rounded = &plan.rounded.value;
            let exact = unit::volume(plan.exact.value.anticoagulant, &c);
            Some((desk.say(sum(&rounded.split, &c)), desk.say(DrawLine::Rounded(rounded.direction, exact))))
        })
    });
    let fixed =
        memo(move || sheet.draft.with(|d| d.kit.container.as_ref().is_some_and(|c| c.prefill.is_some())));
    let step = sheet
        .draft
        .with_untracked(|d| d.kit.container.as_ref().map_or(0.1, |c| c.anticoagulant_graduation.get()));
    view! {
        <div class="field">
            <div class="field-name">
                {desk.say(Words::InEach)}
                <p class="second">
                    {move || line.get().map(|(sum, rounded)| view! { <span class="n">{sum}</span> ", " {rounded} })}
                </p>
            </div>
            <div class="entry">
                <Opens value=amount open id="w-agent"/>
            </div>
            <WorkingTable value=amount open id="w-agent"/>
        </div>
        {move || (!fixed.get()).then(|| view! { <Entry field=Field::AnticoagulantChosen step standing/> })}
    }
}

/// Somebody else than the technician reads the amount.
#[component]
fn SecondPerson() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let name = RwSignal::new(String::new());
    let wrong = RwSignal::new(None::<Words>);
    let done = memo(move || sheet.draft.with(|d| d.checks.get(&CheckKind::Anticoagulant).cloned()));
    let own = memo(move || sheet.draft.with(Draft::second_was_own));
    let says = move || wrong.get().or_else(|| own.get().then_some(Words::SecondSame));
    let check = move |_| {
        if by(desk, sheet).is_none() {
            return;
        }
        let by = name.get_untracked().trim().to_owned();
        wrong.set(match (by.is_empty(), sheet.draft.with_untracked(|d| d.made_ready_by(&by))) {
            (true, _) => Some(Words::SecondEmpty),
            (_, true) => Some(Words::SecondSame),
            _ => None,
        });
        if wrong.get_untracked().is_none() {
            let at = clock::now().at;
            let c = sheet.draft.with_untracked(|d| d.conventions);
            let amount = sheet
                .answer
                .with_untracked(|a| a.draw.plan.as_ref().map(|p| p.rounded.value.split.anticoagulant));
            let of = amount.map(|v| unit::volume(v, &c).to_string()).unwrap_or_default();
            sheet.edit(|d| {
                d.checks.insert(CheckKind::Anticoagulant, Check { by, at, of });
            });
        }
    };
    let undo = move |_| {
        if who(desk, sheet).is_none() {
            return;
        }
        sheet.edit(|d| d.take_back(CheckKind::Anticoagulant));
    };
    let entry = move || match done.get() {
        Some(check) => view! {
            <p>{checked(desk, sheet, desk.say(Words::SecondChecked), &check)}</p>
            <button type="button" class="link" on:click=undo>{desk.say(Words::UndoSecond)}</button>
        },
        None => view! {
            <input
                id="second-person"
                class="words short"
                autocomplete="off"
                aria-describedby="second-person-more second-person-reading"
                aria-invalid=move || says().map(|_| "true")
                prop:value=name
                on:input=move |e| name.set(event_target_value(&e))
            />
            <button type="button" class="button" on:click=check>{desk.say(Words::SecondDone)}</button>
        },
    };
    view! {
        <div class="field text">
            <div class="field-name">
                <label for="second-person">{desk.say(Words::Second)}</label>
                <p class="second" id="second-person-more">{desk.say(Words::SecondIs)}</p>
            </div>
            <div class="entry">{entry}</div>
            <p class="reading" class:wrong=move || says().is_some() id="second-person-reading" aria-live="polite">
                {move || says().map(|w| desk.say(w))}
            </p>
        </div>
    }
}

/// What is drawn of this patient, today and lately.
#[component]
fn Limits() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let of = move |f: fn(&PatientCheck, &strawline::quantity::unit::Conventions) -> Explained| {
        Signal::derive(move || {
            let c = sheet.conventions();
            sheet.answer.with(|a| f(a.draw.patient.as_ref()?, &c))
        })
    };
    let today = of(|p, c| Some((unit::volume(p.drawn_today.value, c), p.drawn_today.working.clone())));
    let per_kg = of(|p, c| p.per_kg.as_ref().map(|w| (unit::volume_per_mass(w.value, c), w.working.clone())));
    let share = of(|p, c| {
        let share = p.share.as_ref()?;
        let working =
            p.ebv.as_ref().map(|e| e.working.clone()).unwrap_or_default().then(share.working.clone());
        Some((unit::percent(share.value, c), working))
    });
    let weeks = of(|p, c| {
        (p.eight_weeks.value > p.drawn_today.value)
            .then(|| (unit::volume(p.eight_weeks.value, c), p.eight_weeks.working.clone()))
    });
    let line = move || {
        sheet.answer.with(|a| {
            let patient = a.draw.patient.as_ref()?;
            if !patient.missing.is_empty() {
                return Some(desk.say(MissingLine(&patient.missing)));
            }
            patient.per_kg.is_none().then(|| desk.say(Words::LimitsSmall))
        })
    };
    view! {
        <OpenRow name=Words::DrawnToday value=today id="w-today"/>
        <OpenRow name=Words::PerWeight value=per_kg id="w-per-kg"/>
        <OpenRow name=Words::OfBlood value=share id="w-share"/>
        <OpenRow name=Words::EightWeeks value=weeks id="w-weeks"/>
        <p class="second">{line}</p>
    }
}

/// A row with one number that opens; nothing where there is no number.
#[component]
fn OpenRow(name: Words, value: Signal<Explained>, id: &'static str) -> impl IntoView {
    let desk = Desk::here();
    let open = RwSignal::new(false);
    view! {
        <div class="field" hidden=move || value.with(Option::is_none)>
            <div class="field-name">{desk.say(name)}</div>
            <div class="entry"><Opens value open id/></div>
            <WorkingTable value open id/>
        </div>
    }
}
