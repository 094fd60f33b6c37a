//! Spinning: rotor, stages, speed and force, what runs, what is due, and a count that comes meanwhile.

mod balance;
mod column;
mod other_rotor;
mod rotor;
mod stages;

use super::header::{countdown, go, running, until};
use super::times::{TakeBack, Times};
use crate::dom::prelude::*;
use crate::shell::{clock, focus};
use crate::state::{Desk, Sheet};
use crate::widget::{Choice, Confirm, Entry, Findings, NextStep, Stops, Who};
use strawline::assess::running::Running;
use strawline::assess::spin::Happening;
use strawline::draft::{CheckKind, CountStanding, Draft, Field, Stage, TimeOf};
use strawline::finding::HeldStep;
use strawline::quantity::time::{Instant, Span};
use strawline::words::card::CardLine;
use strawline::words::choice::{BeforeChange, CheckName, CountStandingName};
use strawline::words::header::Clock;
use strawline::words::order::OrderWords;
use strawline::words::page::Frame;
use strawline::words::spin::{
    NowLong, SpinLabel, SpinSentence, StageBegan, StagePlan, StageTitle, UseByWithin,
};
use strawline::words::unit;

/// Key of the box for the balance check.
const BALANCE: &str = "check_balance";

/// The stage itself.
#[component]
pub fn Spinning() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    // A number typed there would stand beside "not counted" and count for nothing.
    let uncounted = memo(move || sheet.draft.with(|d| d.choices.count == Some(CountStanding::NoCount)));
    let other = RwSignal::new(String::new());
    provide_context(column::OtherRotor(other));
    // What became the case's own rotor is no other one.
    Effect::new(move |_| {
        let own = sheet.draft.with(|d| d.kit.rotor.as_ref().map(|r| r.id.clone()));
        if own.is_some_and(|id| other.with_untracked(|other| *other == id)) {
            other.set(String::new());
        }
    });
    // Why it is to be checked again; nothing is any more once no spin follows.
    let lapsed = memo(move || {
        sheet.draft.with(|d| {
            let was = d.lapsed_last(CheckKind::Balance).filter(|_| d.who_balances().is_some())?;
            let (by, at) = (was.check.by.clone(), unit::clock(was.check.at, sheet.offset.get()).to_string());
            let (what, before) = (desk.say(CheckName(was.kind)), desk.say(BeforeChange(was.changed)));
            Some(desk.say(CardLine::Lapsed { what, by, at, before }))
        })
    });
    // Whoever is named for the next spin makes the check for it; what has begun asks in its row.
    let next = memo(move || {
        sheet.draft.with(|d| {
            let waits = |i: &u8| !d.times.stages.contains_key(i) && d.times.spin_end.is_none();
            d.who_balances().filter(|who| matches!(who, Field::WhoSpin(i) if waits(i)))
        })
    });
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(SpinLabel::Heading)}</h2>
            <rotor::RotorChoice/>
            <Who/>
            <balance::Balance/>
            {move || next.get().map(|field| view! { <Entry field/> })}
            <Confirm kind=CheckKind::Balance id=BALANCE/>
            {move || lapsed.get().map(|said| view! { <p class="second">{said}</p> })}
        </section>
        <section class="part-of">
            <h2 class="heading">{desk.say(SpinLabel::Programme)}</h2>
            <stages::Programme/>
            <stages::WhatRan/>
            <rotor::Ratings/>
            <Times/>
            <other_rotor::OnAnotherRotor/>
            <column::Pictured/>
        </section>
        <section class="part-of">
            <h2 class="heading">{desk.say(SpinLabel::BloodCount)}</h2>
            <p class="second">{desk.say(SpinSentence::CountHint)}</p>
            <Choice
                name="count_standing"
                legend=OrderWords::IsCounted
                of=vec![CountStanding::Today, CountStanding::Older, CountStanding::NoCount]
                words=CountStandingName
                get=|d: &Draft| d.choices.count
                set=|d: &mut Draft, to| d.choices.count = to
            />
            <div hidden=move || uncounted.get()><Entry field=Field::BloodCount/></div>
            <Entry field=Field::BloodHaematocrit/>
        </section>
        <Findings stages=vec![Stage::NeedleIn, Stage::Spinning]/>
    }
}

/// What runs now, in words and as the large figure of its clock.
fn large(
    desk: Desk,
    sheet: Sheet,
    clock: Memo<Running>,
) -> (impl Fn() -> String + Copy, impl Fn() -> Option<String> + Copy) {
    let what = move || {
        clock.with(|c| {
            let stage = match c.now {
                Happening::Stage { index, .. } | Happening::Stopped { index, .. } => {
                    stages::stage(sheet, index)
                }
                _ => None,
            };
            desk.say(NowLong { now: &c.now, stage: stage.as_ref() })
        })
    };
    let large = move || {
        if clock.with(|c| c.unfit) {
            return Some(desk.say(Clock::Unfit));
        }
        if matches!(clock.with(|c| c.now.clone()), Happening::Stage { due: true, .. }) {
            return Some(desk.say(SpinLabel::Due));
        }
        countdown(desk, clock).or_else(|| Some(desk.second.get().at.since(since(sheet, clock)?)?.text()))
    };
    (what, large)
}

/// The same on a phone, in short.
#[component]
pub fn SpinBar() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let clock = running(desk, sheet);
    let (what, large) = large(desk, sheet, clock);
    view! {
        <section class="bar" aria-label=desk.say(Frame::AnswerShort)>
            <p><span>{what}</span><b>{large}</b></p>
            <super::product::UseByBar/>
        </section>
    }
}

/// How the use-by is told: one that is no more than the latest, with the window that may still set an earlier one.
pub fn use_by_label(desk: Desk, sheet: Sheet, at_latest: bool) -> String {
    let window = sheet.read.with(|(case, _)| case.clock.product_window).filter(|_| at_latest);
    match window {
        Some(window) => desk.say(UseByWithin(unit::span(Span::of(window), &sheet.conventions()))),
        None => desk.say(SpinLabel::UseBy),
    }
}

/// The clock, what comes next, until when, and the step.
#[component]
pub fn SpinAnswer() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let clock = running(desk, sheet);
    let (what, large) = large(desk, sheet, clock);
    let next = move || {
        let conventions = sheet.conventions();
        let index = clock.with(|c| c.next)?;
        let stage = stages::stage(sheet, index)?;
        let title = desk.say(StageTitle { index, stage: Some(&stage) });
        let plan = desk.say(StagePlan { stage: &stage, conventions: &conventions });
        Some(
            view! { <p>{desk.say(SpinLabel::Next)} ": " <b>{title}</b> " " <span class="second">{plan}</span></p> },
        )
    };
    let left_out = memo(move || sheet.draft.with(|d| d.left_out().contains(&TimeOf::SpinEnd)));
    let by = move |words: String, at: Option<Instant>| {
        let (at, left) = until(desk, sheet, at?);
        Some(view! { <div><dt>{words}</dt><dd><b>{at}</b> " " <span class="second">{left}</span></dd></div> })
    };
    view! {
        <Stops step=HeldStep::Spin/>
        <p class="clock-large" class:due=move || clock.with(|c| matches!(c.now, Happening::Stage { due: true, .. }))>
            <span>{what}</span>
            <b class="large" role="timer">{large}</b>
        </p>
        {next}
        <dl class="facts">
            {move || by(desk.say(SpinLabel::SpinBy), clock.with(|c| c.spin_by))}
            {move || by(use_by_label(desk, sheet, clock.with(|c| c.at_latest)), clock.with(|c| c.use_by))}
        </dl>
        {move || left_out.get().then(|| view! {
            <div class="buttons">
                <button type="button" class="button" on:click=move |_| focus::unfolded("time_spin_end")>
                    {desk.say(SpinLabel::EndLeftOut)}
                </button>
            </div>
        })}
        <p>
            <button type="button" class="link" on:click=move |_| to_count(sheet)>
                {desk.say(SpinLabel::CountNow)}
            </button>
        </p>
        <Step clock/>
        <TakeBack/>
    }
}

/// Since when what happens now has been so.
fn since(sheet: Sheet, clock: Memo<Running>) -> Option<Instant> {
    let now = clock.with(|c| c.now.clone());
    sheet.draft.with(|d| {
        let t = &d.times;
        match now {
            Happening::NotBegun => None,
            Happening::Drawing { since } | Happening::Stopped { since, .. } => Some(since),
            Happening::WaitingToSpin => t.needle_out,
            Happening::Stage { .. } => t.stages.values().next_back().copied(),
            Happening::SpinOver => t.spin_end,
            Happening::Collected => t.collected,
            Happening::HandedOver => t.handed_over,
            Happening::Ended => d.ended_without,
        }
    })
}

/// Leads to the count; to whether there is one, while "not counted" stands.
fn to_count(sheet: Sheet) {
    let uncounted = sheet.draft.with_untracked(|d| d.choices.count == Some(CountStanding::NoCount));
    focus::first(if uncounted { "input[name=count_standing]:checked" } else { "#blood_count" });
}

/// What is to be said or done next.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Next {
    NeedleIn,
    NeedleOut,
    Start,
    /// A stage that a person begins, after the rotor was opened if so.
    Stage(u8, bool),
    /// The stage that stopped, run again; whether it is the last.
    Again(bool),
    End,
    Product,
}

#[component]
fn Step(clock: Memo<Running>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let next = memo(move || {
        clock.with(|c| match (&c.now, c.next) {
            (Happening::Stage { index, .. }, Some(next)) => {
                Next::Stage(next, sheet.draft.with(|d| d.by_hand(*index) && !d.by_hand(next)))
            }
            (Happening::Stage { .. }, None) => Next::End,
            (Happening::Stopped { index, .. }, _) => {
                Next::Again(index.saturating_add(1) >= stages::planned(sheet))
            }
            (Happening::NotBegun, _) => Next::NeedleIn,
            (Happening::Drawing { .. }, _) => Next::NeedleOut,
            (Happening::WaitingToSpin, _) => Next::Start,
            _ => Next::Product,
        })
    });
    let balance = (CheckKind::Balance, BALANCE);
    move || match next.get() {
        Next::NeedleIn => view! {
            <NextStep label=SpinLabel::NeedleInFirst go=move || go(sheet, Stage::BeforeNeedle)/>
        },
        Next::NeedleOut => {
            view! { <NextStep label=SpinLabel::NeedleOutFirst go=move || go(sheet, Stage::NeedleIn)/> }
        }
        Next::Start => {
            view! { <NextStep label=HeldStep::Spin step=HeldStep::Spin needs=balance go=move || stages::begin(sheet, 0)/> }
        }
        Next::Stage(index, true) => view! {
            <NextStep label=StageBegan(index) step=HeldStep::Spin needs=balance go=move || stages::begin(sheet, index)/>
        },
        Next::Stage(index, false) => {
            view! { <NextStep label=StageBegan(index) go=move || stages::begin(sheet, index)/> }
        }
        Next::Again(last) => view! {
            <NextStep label=SpinLabel::RunAgain step=HeldStep::Spin needs=balance go=move || stages::run_again(sheet)/>
            {last.then(|| view! {
                <div class="buttons">
                    <button type="button" class="button" on:click=move |_| end_where_it_stopped(sheet)>
                        {desk.say(SpinLabel::EndedSo)}
                    </button>
                </div>
            })}
        },
        Next::End => view! { <NextStep label=SpinLabel::Ended go=move || end(sheet)/> },
        Next::Product => {
            view! { <NextStep label=SpinLabel::ToProduct go=move || go(sheet, Stage::Product)/> }
        }
    }
}

fn end(sheet: Sheet) {
    let at = clock::now().at;
    sheet.edit(|d| d.times.spin_end = Some(at));
}

/// What ran is all that ran: whether the product is used waits for the prescriber before the hand-over.
fn end_where_it_stopped(sheet: Sheet) {
    sheet.edit(|d| d.times.spin_end = d.spin_stopped());
}
