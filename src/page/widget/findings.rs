//! Findings in their reserved places: notes and cautions at the foot of a stage, stops above the step they
//! hold back.

use super::{WordsBox, by};
use crate::dom::prelude::*;
use crate::shell::clock;
use crate::state::{Desk, Sheet};
use strawline::draft::{Decision, Field, Stage};
use strawline::finding::{Finding, HeldStep, Level};
use strawline::words::card::CardLine::DecidedBefore;
use strawline::words::finding::{FindingWords, Part};
use strawline::words::page::Common;
use strawline::words::step::after_lead;
use strawline::words::unit::clock as clock_words;

/// Cause and action of a finding in the reader's words.
pub fn sentences(desk: Desk, sheet: Sheet, finding: &Finding) -> (String, String) {
    let conventions = sheet.conventions();
    let offset = sheet.offset.get();
    let say = |part| desk.say(FindingWords { kind: &finding.kind, part, conventions: &conventions, offset });
    (say(Part::Cause), say(Part::Action))
}

/// A decision with what it is about, as it stands before whoever decides.
fn said(desk: Desk, sheet: Sheet, finding: &Finding, decision: Decision) -> Decision {
    let (found, _) = sentences(desk, sheet, finding);
    Decision { found, about: Some(finding.about.clone()), ..decision }
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
    // Written before they are compared: of many findings, a key typed changes the words of one or two.
    let rows = memo(move || {
        found.with(|all| all.iter().map(|f| (f.level, sentences(desk, sheet, f))).collect::<Vec<_>>())
    });
    let of = move |level: Level| move || rows.get().into_iter().filter(move |(l, _)| *l == level);
    let seen = move |_| {
        let Some(by) = by(desk, sheet) else { return };
        let at = clock::now().at;
        let open: Vec<(String, Decision)> = found.with_untracked(|all| {
            all.iter()
                .filter(|f| f.level == Level::Caution && f.is_open())
                .map(|f| (f.kind.key(), said(desk, sheet, f, Decision::new(by.clone(), "", at))))
                .collect()
        });
        sheet.edit(|draft| open.into_iter().for_each(|(key, decision)| draft.decide(key, decision)));
    };
    let acknowledged = memo(move || {
        found.with(|all| {
            let cautions = || all.iter().filter(|f| f.level == Level::Caution);
            if cautions().any(Finding::is_open) {
                return Acknowledged::Open;
            }
            let last = cautions().filter_map(|f| f.decision.as_ref()).max_by_key(|d| d.at);
            last.map_or(Acknowledged::Nothing, |last| {
                let at = clock_words(last.at, sheet.offset.get());
                Acknowledged::Seen(format!("{} {} {at}", desk.say(Common::Seen), last.by))
            })
        })
    });
    let acknowledgement = move || match acknowledged.get() {
        Acknowledged::Nothing => Markup::None,
        Acknowledged::Seen(words) => view! { <p class="seen second">{words}</p> },
        Acknowledged::Open => view! {
            <div class="seen">
                <button type="button" class="button" on:click=seen>{desk.say(Common::Seen)}</button>
            </div>
        },
    };
    view! {
        <div class="findings" class:unseen-caution=move || acknowledged.with(|a| *a == Acknowledged::Open) aria-live="polite">
            <For each=of(Level::Caution) key=Clone::clone let:row>{line(desk, row)}</For>
            {acknowledgement}
        </div>
        <div class="findings notes" aria-live="polite">
            <For each=of(Level::Note) key=Clone::clone let:row>{line(desk, row)}</For>
        </div>
    }
}

/// Whether the cautions of a stage were seen.
#[derive(Debug, Clone, PartialEq)]
enum Acknowledged {
    /// There is none.
    Nothing,
    /// One was not.
    Open,
    /// All were: by whom and when.
    Seen(String),
}

fn line(desk: Desk, (level, (cause, action)): (Level, (String, String))) -> Markup {
    let caution = level == Level::Caution;
    let lead = desk.say(level);
    let lead = match caution {
        true => view! { <strong class="level">{lead}</strong> },
        false => view! { <em class="level">{lead}</em> },
    };
    let class = if caution { "finding caution" } else { "finding note" };
    view! { <div class=class><p>{lead} " " {cause} " " {action}</p></div> }
}

/// Stops that hold back a step, or are told above it: those without a way past, then those the prescriber decides.
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
                    f.level >= Level::StopClinician && f.kind.stands_above(step) && f.kind.stage() <= until
                })
                .cloned()
                .collect::<Vec<_>>()
        })
    });
    // What waits for the prescriber stands before what is pinned at the foot.
    let waits = move || found.with(|all| all.iter().any(|f| f.level == Level::StopClinician && f.is_open()));
    let halts = move || found.with(|all| all.iter().any(|f| f.level == Level::StopFinal));
    view! {
        <div class="stops" class:halts=halts class:waits=waits role="alert">
            // Made anew when it says something else, so that nobody decides on what stood there before.
            <For
                each=move || found.get()
                key=move |f| (f.kind.key(), sentences(desk, sheet, f).0, f.decision.as_ref().map(|d| (d.by.clone(), d.at.0)))
                let:finding
            >
                {stop(desk, sheet, &finding)}
            </For>
        </div>
    }
}

fn stop(desk: Desk, sheet: Sheet, finding: &Finding) -> Markup {
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
        };
    }
    let lead = desk.say(Level::StopClinician);
    let decides = after_lead(Level::StopClinician).map(|w| desk.say(w));
    let body = match finding.decision.clone().filter(|_| !finding.is_open()) {
        Some(decision) => {
            let at = clock_words(decision.at, sheet.offset.get());
            view! { <p class="second">{format!("{} {at}: {}", decision.by, decision.reason)}</p> }
        }
        None => view! { <Deciding finding=finding.clone()/> },
    };
    let past: Vec<_> = finding
        .past()
        .map(|d| {
            let at = clock_words(d.at, sheet.offset.get());
            let before = desk.say(DecidedBefore {
                by: d.by.clone(),
                at,
                reason: d.reason.clone(),
                found: d.found.clone(),
            });
            view! { <p class="second">{before}</p> }
        })
        .collect();
    view! {
        <section class="finding stop" aria-labelledby=labelled.clone()>
            <h2 class="level" id=id>{lead}</h2>
            <p><b>{cause}</b> " " {action}</p>
            <p class="decides">{decides}</p>
            {past}
            {body}
        </section>
    }
}

/// Name and reason of the prescriber, then the way on.
#[component]
fn Deciding(finding: Finding) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let key = finding.kind.key();
    let missing = RwSignal::new(None::<Common>);
    let (name_id, reason_id) = (format!("by-{key}"), format!("why-{key}"));
    // A reason outlasts a locked page, and is of what is found alone; the name is said by whoever is there.
    let name = RwSignal::new(String::new());
    let reason = sheet.half_typed.of(&reason_id, &sentences(desk, sheet, &finding).0);
    let decide = move |_| {
        let (by, why) = (name.get_untracked().trim().to_owned(), reason.get_untracked().trim().to_owned());
        let technician = sheet.draft.with_untracked(|d| d.text(Field::Technician).trim().to_lowercase());
        missing.set(if by.is_empty() || why.is_empty() {
            Some(Common::NameAndReasonNeeded)
        } else if by.to_lowercase() == technician {
            Some(Common::NotTheTechnician)
        } else {
            None
        });
        if missing.get_untracked().is_some() {
            return;
        }
        let at = clock::now().at;
        let decision = said(desk, sheet, &finding, Decision::new(by, why, at));
        reason.set(String::new());
        sheet.edit(|draft| draft.decide(finding.kind.key(), decision));
    };
    view! {
        <div class="field text">
            <div class="field-name"><label for=name_id.clone()>{desk.say(Common::PrescriberName)}</label></div>
            <WordsBox id=name_id text=name/>
        </div>
        <div class="field text">
            <div class="field-name"><label for=reason_id.clone()>{desk.say(Common::ReasonGiven)}</label></div>
            <WordsBox id=reason_id text=reason/>
            <p class="reading" class:wrong=move || missing.get().is_some() aria-live="polite">
                {move || missing.get().map(|words| desk.say(words))}
            </p>
        </div>
        <div class="buttons">
            <button type="button" class="button" on:click=decide>{desk.say(Common::GoOnAsDecided)}</button>
        </div>
    }
}
