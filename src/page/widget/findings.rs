//! Findings in their reserved places: notes and cautions at the foot of a stage, stops above the step they
//! hold back.

use crate::shell::clock;
use crate::state::{Desk, Sheet};
use crate::wire::{dynamic, memo};
use leptos::prelude::*;
use strawline::draft::{Decision, Field, Stage};
use strawline::finding::{Finding, HeldStep, Level};
use strawline::words::finding::{FindingWords, Part};
use strawline::words::page::Common;
use strawline::words::step::after_lead;
use strawline::words::unit::clock as clock_words;

/// Cause and action of a finding in the reader's words.
pub fn sentences(desk: Desk, sheet: Sheet, finding: &Finding) -> (String, String) {
    let conventions = sheet.conventions();
    let offset = desk.offset.get();
    let say = |part| desk.say(FindingWords { kind: &finding.kind, part, conventions: &conventions, offset });
    (say(Part::Cause), say(Part::Action))
}

/// Notes and cautions of the stages given, the cautions acknowledged once for all of them.
#[component]
pub fn Findings(
    /// Stages whose findings stand here.
    stages: Vec<Stage>,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let found = memo(move || {
        sheet.answer.with(|a| {
            a.findings
                .iter()
                .filter(|f| f.level <= Level::Caution && stages.contains(&f.kind.stage()))
                .cloned()
                .collect::<Vec<_>>()
        })
    });
    let rows = move |level: Level| {
        found.with(|all| {
            all.iter()
                .filter(|f| f.level == level)
                .map(|f| {
                    let (cause, action) = sentences(desk, sheet, f);
                    let class = if level == Level::Caution { "finding caution" } else { "finding note" };
                    let lead = desk.say(level);
                    let lead = match level {
                        Level::Caution => view! { <strong class="level">{lead}</strong> }.into_any(),
                        _ => view! { <em class="level">{lead}</em> }.into_any(),
                    };
                    view! {
                        <div class=class>
                            <p>{lead} " " {cause} " " {action}</p>
                        </div>
                    }
                })
                .collect_view()
        })
    };
    let seen = move |_| {
        let at = clock::now().at;
        let keys: Vec<String> = found.with_untracked(|all| {
            all.iter().filter(|f| f.level == Level::Caution && f.is_open()).map(|f| f.kind.key()).collect()
        });
        sheet.edit(|draft| {
            let by = draft.text(Field::Technician).trim().to_owned();
            for key in keys {
                draft.decisions.insert(key, Decision { by: by.clone(), reason: String::new(), at });
            }
        });
    };
    let acknowledgement = move || {
        found.with(|all| {
            let cautions: Vec<&Finding> = all.iter().filter(|f| f.level == Level::Caution).collect();
            if cautions.is_empty() {
                return None;
            }
            if cautions.iter().any(|f| f.is_open()) {
                let button = view! {
                    <div class="seen">
                        <button type="button" class="button" on:click=seen>{desk.say(Common::Seen)}</button>
                    </div>
                };
                return Some(button.into_any());
            }
            let last = cautions.iter().filter_map(|f| f.decision.as_ref()).max_by_key(|d| d.at)?;
            let at = clock_words(last.at, desk.offset.get());
            Some(
                view! { <p class="seen second">{format!("{} {} {at}", desk.say(Common::Seen), last.by)}</p> }
                    .into_any(),
            )
        })
    };
    view! {
        <div class="findings" aria-live="polite">
            {dynamic(move || rows(Level::Caution))}
            {acknowledgement}
            {dynamic(move || rows(Level::Note))}
        </div>
    }
}

/// Stops that hold back a step: those without a way past, then those the prescriber decides.
#[component]
pub fn Stops(
    /// The step below.
    step: HeldStep,
    /// The last stage whose Stops stand here.
    #[prop(default = Stage::Later)]
    until: Stage,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let found = memo(move || {
        sheet.answer.with(|a| {
            a.findings
                .iter()
                .filter(|f| {
                    f.level >= Level::StopClinician && f.kind.step() <= step && f.kind.stage() <= until
                })
                .cloned()
                .collect::<Vec<_>>()
        })
    });
    view! {
        <div class="stops" role="alert">
            <For each=move || found.get() key=|f| (f.kind.key(), f.decision.clone().map(|d| (d.by, d.at.0))) let:finding>
                {stop(desk, sheet, &finding)}
            </For>
        </div>
    }
}

fn stop(desk: Desk, sheet: Sheet, finding: &Finding) -> AnyView {
    let (cause, action) = sentences(desk, sheet, finding);
    let key = finding.kind.key();
    let id = format!("stop-{key}");
    let labelled = id.clone();
    if finding.level == Level::StopFinal {
        return view! {
            <section class="finding halt" aria-labelledby=labelled.clone()>
                <h2 class="level" id=id>{desk.say(Level::StopFinal)}</h2>
                <p>{cause}</p>
                <p>{action}</p>
            </section>
        }
        .into_any();
    }
    let lead = desk.say(Level::StopClinician);
    let decides = after_lead(Level::StopClinician).map(|w| desk.say(w));
    let body = match finding.decision.clone().filter(|_| !finding.is_open()) {
        Some(decision) => {
            let at = clock_words(decision.at, desk.offset.get());
            view! { <p class="second">{format!("{} {at}: {}", decision.by, decision.reason)}</p> }.into_any()
        }
        None => view! { <Deciding key/> }.into_any(),
    };
    view! {
        <section class="finding stop" aria-labelledby=labelled.clone()>
            <h2 class="level" id=id>{lead}</h2>
            <p><b>{cause}</b> " " {action}</p>
            <p class="decides">{decides}</p>
            {body}
        </section>
    }
    .into_any()
}

/// Name and reason of the prescriber, then the way on.
#[component]
fn Deciding(key: String) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let name = RwSignal::new(String::new());
    let reason = RwSignal::new(String::new());
    let missing = RwSignal::new(false);
    let (name_id, reason_id) = (format!("by-{key}"), format!("why-{key}"));
    let decide = move |_| {
        let (by, why) = (name.get_untracked().trim().to_owned(), reason.get_untracked().trim().to_owned());
        if by.is_empty() || why.is_empty() {
            missing.set(true);
            return;
        }
        let at = clock::now().at;
        sheet.edit(|draft| {
            draft.decisions.insert(key.clone(), Decision { by, reason: why, at });
        });
    };
    view! {
        <div class="field text">
            <div class="field-name"><label for=name_id.clone()>{desk.say(Common::PrescriberName)}</label></div>
            <div class="entry">
                <input id=name_id class="words" autocomplete="off" maxlength="200"
                    on:input=move |e| name.set(event_target_value(&e))/>
            </div>
        </div>
        <div class="field text">
            <div class="field-name"><label for=reason_id.clone()>{desk.say(Common::ReasonGiven)}</label></div>
            <div class="entry">
                <input id=reason_id class="words" autocomplete="off" maxlength="200"
                    on:input=move |e| reason.set(event_target_value(&e))/>
            </div>
            <p class="reading" class:wrong=missing aria-live="polite">
                {dynamic(move || missing.get().then(|| desk.say(Common::NameAndReasonNeeded)))}
            </p>
        </div>
        <div class="buttons">
            <button type="button" class="button" on:click=decide>{desk.say(Common::GoOnAsDecided)}</button>
        </div>
    }
}
