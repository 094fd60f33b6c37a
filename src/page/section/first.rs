//! The first screen: begin a case, open the demo, or go on with an open one.

use super::header::{Banners, Header};
use crate::dom::prelude::*;
use crate::shell::hash;
use crate::state::{Desk, Place};
use strawline::words::order::First as Words;

/// What stands here while no case is open.
#[component]
pub fn First() -> impl IntoView {
    let desk = Desk::here();
    let line = move |words: Words, class: &'static str| view! { <p class=class>{desk.say(words)}</p> };
    view! {
        <div class="page place">
            <Banners/>
            <Header/>
            <main class="work" id="work" tabindex="-1">
                <h1 class="title">{desk.say(Words::Title)}</h1>
                <div class="prose">
                    {line(Words::What, "")} {line(Words::Limits, "second")} {line(Words::DemoIs, "second")}
                </div>
                <div class="buttons">
                    <button type="button" class="button solid" on:click=move |_| desk.open(desk.new_draft())>
                        {desk.say(Words::NewCase)}
                    </button>
                    <button type="button" class="button" on:click=move |_| desk.open(desk.demo_draft())>
                        {desk.say(Words::OpenDemo)}
                    </button>
                    <button type="button" class="button" on:click=move |_| hash::go(Place::Records)>
                        {desk.say(Words::Drafts)}
                    </button>
                </div>
            </main>
            <super::foot::Foot/>
        </div>
    }
}
