//! The answer that matters now, always in view: beside the work, or in a bar at the foot of a phone.

mod expected;
mod sure;

use super::header::go;
use super::product::{ProductAnswer, ProductBar};
use super::spinning::{SpinAnswer, SpinBar};
use super::trouble::TroubleButton;
use crate::dom::prelude::*;
use crate::picture::container::{ANSWER, Containers, ContainersView, Tube};
use crate::shell::{clock, focus};
use crate::state::{Desk, Sheet};
use crate::widget::{NextStep, sentences};
use expected::Expected;
use strawline::assess::draw::DrawPlan;
use strawline::draft::{Draft, Stage};
use strawline::finding::{Finding, HeldStep, Level};
use strawline::quantity::{Quantity, write};
use strawline::words::choice::AgentName;
use strawline::words::draw::{AnswerWords as Words, DrawLine, Drawn, Needed, Waiting};
use strawline::words::page::Frame;
use strawline::words::unit::{self, Written};

/// The answer of a stage.
#[component]
pub fn Answer(stage: Stage) -> impl IntoView {
    match stage {
        Stage::Order | Stage::BeforeNeedle | Stage::NeedleIn => view! {
            <Fill/>
            <Expected/>
            <Next stage/>
        },
        Stage::Spinning => view! { <SpinAnswer/> <Trouble/> },
        Stage::Product | Stage::Later => view! { <ProductAnswer stage/> <Trouble/> },
    }
}

#[component]
fn Trouble() -> impl IntoView {
    view! { <div class="buttons"><TroubleButton/></div> }
}

/// The step that follows Order and Before the needle.
#[component]
fn Next(stage: Stage) -> impl IntoView {
    let sheet = Sheet::here();
    // Looked up again after the draw, the way on is back to where the case is.
    let drawn = memo(move || sheet.draft.with(|d| d.blood_drawn().then(|| d.reached())));
    let next = move || match drawn.get() {
        Some(to) => view! { <NextStep label=to go=move || go(sheet, to)/> },
        None if stage == Stage::Order => view! {
            <NextStep label=Stage::BeforeNeedle go=move || go(sheet, Stage::BeforeNeedle)/>
        },
        None => view! { <ToNeedle/> },
    };
    next.into_view()
}

/// The needle goes in.
#[component]
fn ToNeedle() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let needle_in = move || {
        let at = clock::now().at;
        sheet.edit(|d| {
            // Gone back to and come again, the watch runs on.
            d.times.needle_in.get_or_insert(at);
        });
        // What is in hand now stays in hand.
        desk.undo.update(|undo| {
            if undo.as_ref().is_some_and(|u| u.case.as_deref() == Some(sheet.id().as_str())) {
                *undo = None;
            }
        });
        go(sheet, Stage::NeedleIn);
    };
    view! { <NextStep label=HeldStep::Needle step=HeldStep::Needle go=needle_in/> }
}

/// What the plan still waits for, in one line; nothing when there is a plan.
pub fn waiting(desk: Desk, sheet: Sheet) -> Option<String> {
    if sheet.answer.with(|a| a.draw.plan.is_some()) {
        return None;
    }
    let needed = sheet.read.with(|(case, _)| {
        let d = &case.draw;
        let open = [
            (d.container.is_none(), Needed::Container),
            (d.planned.is_none(), Needed::HowMany),
            (d.volume.is_none(), Needed::Volume),
            (d.volume.is_some() && d.convention.is_none(), Needed::Meaning),
            (d.agent.is_none(), Needed::Agent),
            (d.agent.is_some() && d.dosing.is_none(), Needed::Amount),
        ];
        open.into_iter().filter(|(missing, _)| *missing).map(|(_, what)| what).collect::<Vec<_>>()
    });
    let needed = if needed.is_empty() { vec![Needed::Fit] } else { needed };
    Some(desk.say(Waiting(&needed)))
}

/// What was drawn: once it was, there is nothing to instruct.
fn drawn_line(desk: Desk, sheet: Sheet) -> String {
    let conventions = &sheet.conventions();
    sheet.answer.with(|a| desk.say(Drawn { containers: &a.draw.containers, conventions }))
}

/// What the words beside the picture say.
#[derive(Debug, Clone, PartialEq)]
struct Plan {
    containers: u8,
    agent: Written,
    agent_name: String,
    blood: Written,
    blood_in_all: Written,
    mark: Written,
    step: Written,
    prefilled: bool,
}

fn plan(desk: Desk, sheet: Sheet) -> Option<Plan> {
    let c = sheet.conventions();
    let (step, prefilled) = sheet.draft.with(|d| {
        d.kit.container.as_ref().map(|k| (unit::volume(k.anticoagulant_graduation, &c), k.prefill.is_some()))
    })?;
    sheet.answer.with(|a| {
        let DrawPlan { rounded, containers, .. } = a.draw.plan.as_ref()?;
        let split = rounded.value.split;
        let agent_name = desk.say(AgentName(a.draw.agent?, c.numbers));
        let all = strawline::quantity::Volume::new(split.blood.get() * f64::from(*containers)).ok()?;
        Some(Plan {
            containers: *containers,
            agent: unit::volume(split.anticoagulant, &c),
            agent_name,
            blood: unit::volume(split.blood, &c),
            blood_in_all: unit::volume(all, &c),
            mark: unit::volume(split.fill, &c),
            step,
            prefilled,
        })
    })
}

/// Anticoagulant, mark and blood beside the container to scale.
#[component]
fn Fill() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let picture = memo(move || {
        let glass = sheet.draft.with(|d| d.kit.container.as_ref().map(Into::into))?;
        sheet.answer.with(|a| {
            let plan = a.draw.plan.as_ref()?;
            let split = plan.rounded.value.split;
            let tube = Tube { fill: split.fill, done: false, set_aside: false, caption: String::new() };
            let tubes = vec![tube; usize::from(plan.containers.min(2))];
            Some(ContainersView {
                glass,
                mark: split.fill,
                agent: split.anticoagulant,
                tubes,
                widest: ANSWER,
            })
        })
    });
    let plan = memo(move || plan(desk, sheet));
    let drawn = memo(move || sheet.draft.with(Draft::blood_drawn));
    let there = memo(move || picture.with(Option::is_some) && plan.with(Option::is_some));
    move || {
        if drawn.get() {
            view! { <p class="waiting">{move || drawn_line(desk, sheet)}</p> }
        } else if there.get() {
            view! { <FillPicture picture plan/> }
        } else {
            view! { <p class="waiting">{move || waiting(desk, sheet)}</p> }
        }
    }
}

#[component]
fn FillPicture(picture: Memo<Option<ContainersView>>, plan: Memo<Option<Plan>>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let fraction = move |of: fn(&ContainersView) -> f64| picture.with(|p| p.as_ref().map(of)).unwrap_or(1.0);
    let mark = move || fraction(ContainersView::mark_fraction);
    // What is inside when bought is not put in: no line of its own.
    let plain = memo(move || plan.with(|p| p.as_ref().is_some_and(|p| p.prefilled)));
    let agent = move || if plain.get() { 1.0 } else { fraction(ContainersView::agent_fraction) };
    let number = Callback::new(move |value: f64| write::significant(value, 3, sheet.conventions().numbers));
    let label = Signal::derive(move || {
        plan.with(|p| {
            let p = p.as_ref()?;
            Some(desk.say(DrawLine::PictureOf(p.containers, p.agent.clone(), p.mark.clone())))
        })
        .unwrap_or_default()
    });
    let say = move |line: fn(&Plan) -> DrawLine| move || plan.with(|p| p.as_ref().map(|p| desk.say(line(p))));
    let part = move |of: fn(&Plan) -> String| move || plan.with(|p| p.as_ref().map(of));
    let line = move || desk.say(if plain.get() { Words::BloodTo } else { Words::ThenBlood });
    let device = say(|p| {
        if p.prefilled {
            DrawLine::AlreadyInside(p.agent_name.clone())
        } else {
            DrawLine::ByStep(p.step.clone())
        }
    });
    let view_of = Signal::derive(move || picture.get().unwrap_or_else(super::needle_in::nothing));
    view! {
        <div
            class="fill"
            class:plain=plain
            class:low=move || { mark() > 0.5 }
            style:--mark=move || mark().to_string()
            style:--agent=move || agent().to_string()
        >
            <h2 class="fill-head">{say(|p| DrawLine::InEachOf(p.containers))}</h2>
            <p class="fill-mark">
                <b class="huge" class:long=move || plan.with(|p| p.as_ref().is_some_and(|p| p.mark.number.chars().count() > 2))>
                    {part(|p| p.mark.number.clone())}
                </b>
                " "
                <span><b>{say(|p| DrawLine::MarkUnit(p.mark.unit))}</b> " " {line}</span>
            </p>
            <p class="fill-blood">
                <b>{say(|p| DrawLine::BloodEach(p.blood.clone()))}</b>
                " "
                <span class="second">{say(|p| DrawLine::InAll(p.containers, p.blood_in_all.clone()))}</span>
            </p>
            <p class="fill-agent" hidden=plain>
                <b class="large">{part(|p| p.agent.number.clone())}</b>
                " "
                <b>{part(|p| p.agent.unit.to_owned())} " " {say(|p| DrawLine::AgentFirst(p.agent_name.clone()))}</b>
                " "
                <span class="second">{device}</span>
            </p>
            <Containers view=view_of label number/>
        </div>
    }
}

/// The answer in short, at the foot of a phone. What ends the work stands in its place, and from the spin on whatever
/// holds the next step: before the needle a check not made yet is no alarm.
#[component]
pub fn Bar() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let halted = memo(move || {
        let after = sheet.draft.with(|d| d.stage) >= Stage::Spinning;
        let stops = |f: &&Finding| {
            f.level == Level::StopFinal || (after && f.level == Level::StopClinician && f.is_open())
        };
        let first = sheet.answer.with(|a| a.findings.iter().find(stops).cloned())?;
        Some((first.level, sentences(desk, sheet, &first).0))
    });
    move || match halted.get() {
        Some((level, cause)) => view! {
            <section class="bar halted" aria-label=desk.say(Frame::AnswerShort)>
                <button type="button" on:click=move |_| focus::first(".stops .finding")>
                    <b>{desk.say(level)}</b>
                    <span>{cause}</span>
                </button>
            </section>
        },
        None => view! { <InShort/> },
    }
}

#[component]
fn InShort() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    // A change of stage makes the whole worksheet anew, and this bar with it.
    match sheet.draft.with_untracked(|d| d.stage) {
        Stage::Spinning => return view! { <SpinBar/> },
        Stage::Product | Stage::Later => return view! { <ProductBar/> },
        Stage::Order | Stage::BeforeNeedle | Stage::NeedleIn => {}
    }
    let plan = memo(move || {
        let drawing = sheet.draft.with(|d| d.stage <= Stage::BeforeNeedle);
        plan(desk, sheet).filter(|_| drawing)
    });
    let drawn = memo(move || sheet.draft.with(|d| d.stage <= Stage::BeforeNeedle && d.blood_drawn()));
    let bar = move || {
        if drawn.get() {
            return Some(view! {
                <section class="bar" aria-label=desk.say(Frame::AnswerShort)><p><span>{drawn_line(desk, sheet)}</span></p></section>
            });
        }
        plan.get().map(|p| {
            let first = (!p.prefilled).then(|| {
                view! { <p><span>{desk.say(DrawLine::AgentFirst(p.agent_name))}</span><b>{p.agent.number}</b> " " {p.agent.unit}</p> }
            });
            let then = if p.prefilled { Words::BloodUpTo } else { Words::ThenBloodTo };
            view! {
                <section class="bar" aria-label=desk.say(Frame::AnswerShort)>
                    {first}
                    <p><span>{desk.say(then)}</span><b>{p.mark.number}</b> " " {desk.say(DrawLine::MarkUnit(p.mark.unit))}</p>
                    <p class="bar-each">{desk.say(DrawLine::EachOf(p.containers))}</p>
                </section>
            }
        })
    };
    bar.into_view()
}
