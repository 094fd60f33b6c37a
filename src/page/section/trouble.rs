//! When something goes wrong: two taps, then what must stop, whom to ask and what can still be reckoned.

use super::header::go;
use crate::dom::prelude::*;
use crate::shell::{clock, focus};
use crate::state::{Desk, Sheet};
use crate::widget::{self, AmenderFirst};
use strawline::draft::{Check, Field, Stage, Trouble, TroubleKind};
use strawline::words::choice::TroubleName;
use strawline::words::draw::{DrawLine, TakenBack, TroubleLine, Wrong as Words};
use strawline::words::finding::{TroublePart, TroubleWords};
use strawline::words::unit;

/// Where the dialog stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Step {
    What,
    Which(TroubleKind),
    Now(TroubleKind, Option<u8>),
}

/// Who enters it; `None` where that is asked first, while the dialog stays as it is.
type Who = Callback<(), Option<String>>;

/// The button to the list of what can go wrong; on every stage from the needle on.
#[component]
pub fn TroubleButton(
    /// What stands on it.
    #[prop(default = Words::Open)]
    label: Words,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let dialog = NodeRef::new();
    let step = RwSignal::new(Step::What);
    let open = move |_| {
        step.set(Step::What);
        if let Some(Err(error)) = dialog.get::<web_sys::HtmlDialogElement>().map(|d| d.show_modal()) {
            web_sys::console::warn_1(&error);
        }
    };
    let who = Callback::new(move |()| widget::who(desk, sheet));
    let close = Callback::new(move |()| {
        if let Some(dialog) = dialog.get::<web_sys::HtmlDialogElement>() {
            dialog.close();
        }
        // A Stop that was raised in the dialog is what is to be read next.
        request_animation_frame(|| focus::first(".stops .halt, .stops .stop:has(input)"));
    });
    view! {
        <dialog class="dialog" node_ref=dialog aria-labelledby="trouble-head">
            {move || match step.get() {
                Step::What => view! { <What step who/> },
                Step::Which(kind) => view! { <Which kind step who/> },
                Step::Now(kind, container) => view! { <WhatNow kind container close who/> },
            }}
            <Entered who/>
            <AmenderFirst id="amender_trouble"/>
            <div class="buttons">
                <button type="button" class="button" on:click=move |_| close.run(())>
                    {desk.say(Words::BackToWork)}
                </button>
            </div>
        </dialog>
        <button type="button" class="button" on:click=open>{desk.say(label)}</button>
    }
}

fn head(words: Words) -> impl IntoView {
    let desk = Desk::here();
    view! { <h2 class="heading" id="trouble-head">{desk.say(words)}</h2> }
}

/// First tap.
#[component]
fn What(step: RwSignal<Step>, who: Who) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rows = TroubleKind::ALL
        .into_iter()
        .map(|kind| {
            let tap = move |_| {
                let many = in_hand(sheet);
                if kind.of_one_container() && many > 1 {
                    step.set(Step::Which(kind));
                } else {
                    let one = (kind.of_one_container() && many == 1).then_some(0);
                    enter(sheet, step, who, kind, one);
                }
            };
            view! {
                <li>
                    <button type="button" on:click=tap>{desk.say(TroubleName(kind))}</button>
                </li>
            }
        })
        .collect_view();
    view! {
        {head(Words::Title)}
        <ul class="menu">{rows}</ul>
    }
}

fn in_hand(sheet: Sheet) -> u8 {
    sheet.read.with_untracked(|(case, _)| u8::try_from(case.draw.containers.len()).unwrap_or(u8::MAX))
}

/// Second tap.
#[component]
fn Which(kind: TroubleKind, step: RwSignal<Step>, who: Who) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rows = (0..in_hand(sheet))
        .map(|i| {
            let tap = move |_| enter(sheet, step, who, kind, Some(i));
            view! {
                <li>
                    <button type="button" on:click=tap>{desk.say(DrawLine::ContainerNo(i))}</button>
                </li>
            }
        })
        .collect_view();
    view! {
        {head(Words::Which)}
        <p>{desk.say(TroubleName(kind))}</p>
        <ul class="menu">{rows}</ul>
    }
}

/// Writes the line, once for each event and container, and says what to do now.
fn enter(sheet: Sheet, step: RwSignal<Step>, who: Who, kind: TroubleKind, container: Option<u8>) {
    let Some(by) = who.run(()) else { return };
    let at = clock::now().at;
    sheet.edit(|d| {
        d.went_wrong(Trouble {
            kind,
            container,
            at,
            by,
            set_aside: false,
            aside: None,
            collected: false,
            withdrawn: None,
        });
    });
    step.set(Step::Now(kind, container));
}

/// What must stop, whom to ask, what can still be reckoned, what is recorded.
#[component]
fn WhatNow(kind: TroubleKind, container: Option<u8>, close: Callback<()>, who: Who) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let parts = TroublePart::ALL
        .into_iter()
        .map(|part| {
            let name = match part {
                TroublePart::MustStop => Words::MustStop,
                TroublePart::Ask => Words::Ask,
                TroublePart::Reckoned => Words::Reckoned,
                TroublePart::Record => Words::Record,
            };
            view! {
                <div>
                    <dt>{desk.say(name)}</dt>
                    <dd>{desk.say(TroubleWords { kind, part })}</dd>
                </div>
            }
        })
        .collect_view();
    let aside = memo(move || {
        sheet.draft.with(|d| {
            d.troubles.iter().any(|t| t.kind == kind && t.container == container && t.set_aside && t.stands())
        })
    });
    let late = memo(move || {
        sheet.draft.with(|d| {
            d.troubles
                .iter()
                .any(|t| t.kind == kind && t.container == container && t.set_aside_late(&d.times))
        })
    });
    // Collected by a slip that was taken back.
    let slip = memo(move || late.get() && sheet.draft.with(|d| d.times.collected.is_none()));
    let set_aside = move |_| {
        let Some(by) = who.run(()) else { return };
        sheet.edit(|d| d.set_aside(kind, container, by, clock::now().at));
    };
    let enter_mark = move |_| {
        let Some(i) = container else { return };
        close.run(());
        go(sheet, Stage::NeedleIn);
        request_animation_frame(move || focus::first(&format!("#{}", Field::FillActual(i).key())));
    };
    view! {
        {head(Words::WhatNow)}
        <p><b>{desk.say(TroubleLine(kind, container))}</b></p>
        <dl class="facts">{parts}</dl>
        <div class="buttons">
            {(kind == TroubleKind::ShortDraw)
                .then(|| {
                    view! {
                        <button type="button" class="button" on:click=enter_mark>{desk.say(Words::EnterMark)}</button>
                    }
                })}
            {move || {
                let i = container?;
                Some(if aside.get() {
                    let words = if late.get() { Words::AsideLate } else { Words::Aside };
                    let back = slip.get().then(|| view! { <p class="second">{desk.say(Words::AsideSlip)}</p> });
                    view! { <p role="status">{desk.say(words)}</p> {back} }
                } else {
                    view! {
                        <button type="button" class="button" on:click=set_aside>
                            {desk.say(DrawLine::SetAside(i))}
                        </button>
                    }
                })
            }}
        </div>
    }
}

/// What was entered so far, each line with its way back. What is taken back stays, struck through.
#[component]
fn Entered(who: Who) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let all = memo(move || sheet.draft.with(|d| d.troubles.clone()));
    let line = move |t: Trouble| {
        // The product was made without that container: no tap makes it part of it again.
        if t.stands() && sheet.draft.with(|d| t.fixed(&d.times)) {
            let (what, stays) = (desk.say(TroubleLine(t.kind, t.container)), desk.say(DrawLine::StaysAside));
            return view! { <li class="entry">{what} " " <span class="second">{stays}</span></li> };
        }
        let Trouble { kind, container, .. } = t;
        if let Some(back) = t.withdrawn {
            let at = unit::clock(back.at, sheet.offset.get());
            let said = desk.say(TakenBack(back.by, at));
            return view! { <li class="entry"><s>{desk.say(TroubleLine(kind, container))}</s> " " {said}</li> };
        }
        let take_back = move |_| {
            let Some(by) = who.run(()) else { return };
            let at = clock::now().at;
            sheet.edit(|d| d.withdraw(&t, Check { by, at, of: String::new() }));
        };
        view! {
            <li>
                <button type="button" class="link" on:click=take_back>{desk.say(DrawLine::TakeBack(kind, container))}</button>
            </li>
        }
    };
    view! {
        <div hidden=move || all.with(Vec::is_empty)>
            <h3 class="subheading">{desk.say(Words::Entered)}</h3>
            <ul class="menu">{move || all.get().into_iter().map(line).collect_view()}</ul>
        </div>
    }
}
