//! The programme, stage by stage: planned beside run, speed beside force.

use crate::dom::prelude::*;
use crate::shell::{clock, tap};
use crate::state::{Desk, Sheet};
use crate::widget::{Entry, Explained, Fold, Opens, WorkingTable};
use strawline::case::Weighed;
use strawline::draft::field::MAX_STAGES;
use strawline::draft::{Brake, Field};
use strawline::spin::programme::{Speed, Stage, StageForce};
use strawline::spin::rcf::RadiusKind;
use strawline::words::choice::{BrakeName, BrakeSet, RadiusShort};
use strawline::words::rotor::WeighedSaid;
use strawline::words::spin::{
    InAll, SpeedMissing, SpinLabel, SpinSentence, StageBegan, StagePlan, StageTitle,
};
use strawline::words::times::RunAgain;
use strawline::words::unit;
use strawline::working::Worked;

/// How many stages the protocol plans.
pub fn planned(sheet: Sheet) -> u8 {
    let stages = sheet.draft.with(|d| d.kit.protocol.as_ref().map_or(0, |p| p.programme.0.len()));
    u8::try_from(stages).unwrap_or(MAX_STAGES).min(MAX_STAGES)
}

/// A stage of the plan.
pub fn stage(sheet: Sheet, index: u8) -> Option<Stage> {
    sheet.draft.with(|d| d.kit.protocol.as_ref()?.programme.0.get(usize::from(index)).cloned())
}

/// Every stage of the programme.
#[component]
pub fn Programme() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let count = memo(move || planned(sheet));
    let none = move || {
        let chosen = sheet.draft.with(|d| d.kit.protocol.is_some());
        let words = if chosen { SpinSentence::NoProgramme } else { SpinSentence::NoProtocol };
        (count.get() == 0).then(|| view! { <p class="second">{desk.say(words)}</p> })
    };
    let takes = move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| a.spin.takes.map(|takes| desk.say(InAll(takes, &c))))
    };
    view! {
        {none}
        <For each=move || 0..count.get() key=|i| *i let:index>
            <StageRow index/>
        </For>
        <p class="second" id="programme-takes">{takes}</p>
    }
}

/// Where a stage's force is named: at the radius its plan names, else at the maximum.
fn named(stage: &Stage) -> RadiusKind {
    match stage.speed() {
        Some(Speed::Rcf { at, .. }) => at,
        _ => RadiusKind::Maximum,
    }
}

fn force(force: &StageForce, at: RadiusKind) -> Option<&Worked<strawline::quantity::Rcf>> {
    match at {
        RadiusKind::Minimum => force.minimum.as_ref(),
        RadiusKind::Mean => force.mean.as_ref(),
        RadiusKind::Maximum => force.maximum.as_ref(),
    }
}

/// Planned or run.
#[derive(Clone, Copy, PartialEq)]
enum Which {
    Planned,
    Run,
}

/// A speed and its force at a named radius, both open to their working. Shows nothing where nothing turns.
#[component]
fn SpeedAndForce(index: u8, which: Which) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let at = memo(move || stage(sheet, index).map_or(RadiusKind::Maximum, |s| named(&s)));
    let found =
        move |pick: fn(&StageForce, RadiusKind, &strawline::quantity::unit::Conventions) -> Explained| {
            let c = sheet.conventions();
            sheet.answer.with(|a| {
                let stage = a.spin.stages.get(usize::from(index))?;
                let force = if which == Which::Planned { &stage.planned } else { &stage.actual };
                pick(force.as_ref()?, at.get(), &c)
            })
        };
    let rpm =
        Signal::derive(move || found(|f, _, c| Some((unit::rpm(f.rpm.value, c), f.rpm.working.clone()))));
    let rcf = Signal::derive(move || {
        found(|f, at, c| force(f, at).map(|w| (unit::rcf(w.value, c), w.working.clone())))
    });
    let (rpm_open, rcf_open) = (RwSignal::new(false), RwSignal::new(false));
    let key = |what: &str| {
        let run = if which == Which::Run { "run-" } else { "" };
        format!("w-{run}{what}-{}", u32::from(index).saturating_add(1))
    };
    let (rpm_id, rcf_id) = (key("rpm"), key("rcf"));
    let turns = memo(move || rpm.with(Option::is_some));
    let forced = memo(move || rcf.with(Option::is_some));
    let lead = move || (which == Which::Run && turns.get()).then(|| desk.say(SpinLabel::RanShort));
    view! {
        <p class="entry">
            {lead}
            <Opens value=rpm open=rpm_open id=rpm_id.clone()/>
            {move || (turns.get() && forced.get()).then_some("↔")}
            <Opens value=rcf open=rcf_open id=rcf_id.clone()/>
            <span class="second">{move || forced.get().then(|| desk.say(RadiusShort(at.get())))}</span>
        </p>
        <WorkingTable value=rpm open=rpm_open id=rpm_id/>
        <WorkingTable value=rcf open=rcf_open id=rcf_id/>
    }
}

#[component]
fn StageRow(index: u8) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let plan = memo(move || stage(sheet, index));
    let title = move || plan.with(|s| desk.say(StageTitle { index, stage: s.as_ref() }));
    let planned = move || {
        let conventions = sheet.conventions();
        plan.with(|s| s.as_ref().map(|stage| desk.say(StagePlan { stage, conventions: &conventions })))
    };
    let turns = memo(move || plan.with(|s| s.as_ref().is_some_and(|s| s.speed().is_some())));
    let ran = memo(move || {
        sheet.answer.with(|a| a.spin.stages.get(usize::from(index)).is_some_and(|s| s.actual.is_some()))
    });
    let asked = memo(move || {
        let who = Some(Field::WhoSpin(index));
        sheet.draft.with(|d| d.times.stages.contains_key(&index) && d.who_of(index) == who)
    });
    let missing = move || {
        sheet.answer.with(|a| {
            let why = a.spin.stages.get(usize::from(index))?.without.as_ref()?;
            Some(view! { <p class="reading wrong">{desk.say(SpeedMissing(why))}</p> })
        })
    };
    view! {
        <div class="field">
            <div class="field-name">
                {title}
                <p class="second">{planned}</p>
            </div>
            <Begun index/>
            <Show when=move || turns.get()><SpeedAndForce index which=Which::Planned/></Show>
            <Show when=move || ran.get()><SpeedAndForce index which=Which::Run/></Show>
            {missing}
        </div>
        // Asked where the work begins, once it has; of what turns, above its balance until then.
        <Show when=move || asked.get()><Entry field=Field::WhoSpin(index)/></Show>
    }
}

/// When a stage began; or the button that says it has.
#[component]
fn Begun(index: u8) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    // Began, whether it was the last to begin, and whether it may begin now.
    let state = memo(move || {
        // The next one stands on the step beside the clock.
        let other = sheet.answer.with(|a| a.spin.next != Some(index));
        sheet.draft.with(|d| {
            let last = d.times.stages.keys().next_back().copied();
            // A start that stopped is not erased: it is run again, or the stop is taken back.
            let back = d.times.spin_end.is_none() && d.spin_stopped().is_none() && last == Some(index);
            (d.times.stages.get(&index).copied(), back, other && d.begins_by_its_row(index))
        })
    });
    let runs = memo(move || {
        let c = sheet.conventions();
        sheet.draft.with(|d| {
            let weighed = |run| {
                let (spin, texts) = d.weighed_before(index, run)?;
                Some(desk.say(WeighedSaid(&Weighed::of(texts, spin, &d.conventions), &c)))
            };
            let runs = d.times.runs_before(index).into_iter().enumerate();
            runs.map(|(run, times)| (times, weighed(run))).collect::<Vec<_>>()
        })
    });
    move || match state.get() {
        (Some(at), last, _) => {
            let at = format!("{} {}", desk.say(SpinLabel::Begun), unit::clock(at, sheet.offset.get()));
            let back = move |_| {
                sheet.edit(|d| d.take_back_stage(index));
            };
            let button = last.then(|| {
                view! { <button type="button" class="link" on:click=back>{desk.say(SpinLabel::TakeBack)}</button> }
            });
            let runs = runs.get().into_iter().map(|((began, stopped, again), weighed)| {
                let [began, stopped, again] =
                    [began, stopped, again].map(|at| unit::clock(at, sheet.offset.get()));
                view! { <p class="entry second">{desk.say(RunAgain { began, stopped, again, weighed })}</p> }
            });
            view! { {runs.collect_view()} <p class="entry">{at} " " {button}</p> }
        }
        (None, _, true) => view! {
            <p class="entry">
                <button type="button" class="button" on:click=move |event| {
                    if tap::meant(&event) {
                        begin(sheet, index);
                    }
                }>
                    {desk.say(StageBegan(index))}
                </button>
            </p>
        },
        (None, _, false) => Markup::None,
    }
}

/// A stage begins now.
pub fn begin(sheet: Sheet, index: u8) {
    let at = clock::now().at;
    sheet.edit(|d| d.begin_stage(index, at));
}

/// The stage that stopped begins again now.
pub fn run_again(sheet: Sheet) {
    let at = clock::now().at;
    sheet.edit(|d| d.run_again(at));
}

/// Speed and minutes as they were really run, for each stage that turns.
#[component]
pub fn WhatRan() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let turning = memo(move || {
        (0..planned(sheet))
            .filter(|i| stage(sheet, *i).is_some_and(|s| s.speed().is_some()))
            .collect::<Vec<u8>>()
    });
    let any = move || turning.with(|t| !t.is_empty());
    view! {
        <Show when=any>
            <Fold title=desk.say(SpinLabel::Ran)>
                <For each=move || turning.get() key=|i| *i let:index>
                    <div class="pair">
                        <Entry field=Field::SpeedActual(index)/>
                        <Entry field=Field::MinutesActual(index)/>
                        <Entry field=Field::TemperatureSet(index)/>
                        <BrakeAsSet index/>
                    </div>
                </For>
            </Fold>
        </Show>
    }
}

/// The brake as set; not noted until somebody says so.
#[component]
fn BrakeAsSet(index: u8) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let chosen = memo(move || sheet.draft.with(|d| d.choices.brakes.get(&index).copied()));
    let choose = move |event| {
        let at = event_target_value(&event).parse::<usize>().ok();
        let brake = at.and_then(|at| Brake::ALL.get(at).copied());
        sheet.edit(|d| match brake {
            Some(brake) => drop(d.choices.brakes.insert(index, brake)),
            None => drop(d.choices.brakes.remove(&index)),
        });
    };
    let id = format!("brake_{}", u32::from(index).saturating_add(1));
    let options = Brake::ALL
        .into_iter()
        .enumerate()
        .map(|(at, brake)| {
            view! {
                <option value=at prop:selected=move || chosen.get() == Some(brake)>{desk.say(BrakeName(brake))}</option>
            }
        })
        .collect_view();
    view! {
        <div class="field text">
            <div class="field-name"><label for=id.clone()>{desk.say(BrakeSet(index))}</label></div>
            <div class="entry">
                <select id=id class="words" on:change=choose>
                    <option value="" prop:selected=move || chosen.get().is_none()>{desk.say(SpinLabel::NotNoted)}</option>
                    {options}
                </select>
            </div>
        </div>
    }
}
