//! The frame: header with clocks and places, stages, the four columns of the worksheet, the paper.

use crate::dom::prelude::*;
use crate::picture::defs::Patterns;
use crate::place;
use crate::section;
use crate::shell::{clock, hash};
use crate::state::{Desk, Door, Place, Sheet};
use strawline::draft::Stage;
use strawline::words::page::Frame;

/// The whole page.
#[component]
pub fn App() -> impl IntoView {
    let desk = Desk::new();
    provide_context(desk);
    clock::every_second(move || desk.tick());
    hash::follow(desk);
    crate::shell::typing::follow();
    crate::shell::keep::start(desk);
    crate::shell::offline::follow(desk);
    crate::shell::look::fonts_after_paint();
    // Words do not listen for the language: what says something is built anew when it changes.
    let language = memo(move || desk.language());
    let shut = memo(move || desk.door.get() == Door::Shut);
    view! {
        <Patterns/>
        <a class="skip" href="#work">{move || language.get().say(Frame::Skip).into_owned()}</a>
        {move || {
            language.track();
            match desk.place.get() {
                _ if shut.get() => view! { <section::locked::Locked/> },
                Place::Worksheet => view! { <Worksheet/> },
                Place::Records => view! { <place::records::Records/> },
                Place::Quality => view! { <place::quality::Quality/> },
                Place::Log => view! { <place::log::LogPlace/> },
                Place::Bench => view! { <place::bench::BenchPlace/> },
            }
        }}
        <section::paper::Paper/>
    }
}

/// The worksheet of the case in view, or the first screen when no case is open.
#[component]
fn Worksheet() -> impl IntoView {
    let desk = Desk::here();
    let sheet = memo(move || desk.sheet().map(|s| (s.id(), s.draft)));
    let in_view = move || sheet.get().and_then(|_| desk.sheet());
    view! {
        // Another case is made anew: what was typed beside one patient's Stop never stands beside another's.
        <For each=in_view key=|s: &Sheet| s.draft let:sheet><Case sheet/></For>
        {move || sheet.with(Option::is_none).then(|| view! { <section::first::First/> })}
    }
}

/// One case.
#[component]
fn Case(sheet: Sheet) -> impl IntoView {
    provide_context(sheet);
    let stage = memo(move || sheet.draft.with(|d| d.stage));
    move || match stage.get() {
        Stage::NeedleIn => view! { <section::needle_in::NeedleIn/> },
        stage => view! { <Columns stage/> },
    }
}

#[component]
fn Columns(stage: Stage) -> impl IntoView {
    let desk = Desk::here();
    let work = match stage {
        Stage::Order => view! { <section::order::Order/> },
        Stage::BeforeNeedle | Stage::NeedleIn => view! { <section::before_needle::BeforeNeedle/> },
        Stage::Spinning => view! { <section::spinning::Spinning/> },
        Stage::Product => view! { <section::product::Product/> },
        Stage::Later => view! { <section::later::Later/> },
    };
    let one_line = matches!(stage, Stage::Product | Stage::Later);
    view! {
        <div class="page" class:line=one_line>
            <section::header::Banners/>
            <section::header::Header/>
            <section::header::Stages/>
            <section::order_panel::OrderPanel/>
            <main class="work" id="work" tabindex="-1">
                <h1 class="title">{desk.say(stage)}</h1>
                {work}
            </main>
            <section class="answer" aria-label=desk.say(Frame::Answer)>
                <section::answer::Answer stage/>
            </section>
            <section::ledger::Ledger/>
            <section::foot::Foot/>
            <section::answer::Bar/>
        </div>
    }
}
