//! What stands here while the page is locked: the clocks, and what opens it.

use super::header::{Banners, Clocks};
use crate::dom::prelude::*;
use crate::place::closing::refused;
use crate::shell::keep::closing;
use crate::state::Desk;
use crate::widget::PassBox;
use leptos::task::spawn_local;
use strawline::record::closed::With;
use strawline::words::closed::{ClosedSays as Says, ClosedWord as Word};

/// The locked page.
#[component]
pub fn Locked() -> impl IntoView {
    let desk = Desk::here();
    let typed = RwSignal::new(String::new());
    let recovery = RwSignal::new(false);
    let said = RwSignal::new(None::<String>);
    let open = move || {
        let text = typed.get_untracked();
        let recovery = recovery.get_untracked();
        typed.set(String::new());
        said.set(Some(desk.say(Says::Wait)));
        spawn_local(async move {
            let with = if recovery { With::Recovery(&text) } else { With::Passphrase(&text) };
            // Opened, this view is gone.
            let done = closing::open(desk, with).await;
            let _gone = said.try_set(done.err().map(|why| refused(desk, &why)));
        });
    };
    let other = move |_| {
        recovery.update(|r| *r = !*r);
        said.set(None);
    };
    let entry = move || {
        view! {
            <p class="second">{desk.say(Says::Locked)}</p>
            {move || {
                let label = if recovery.get() { Word::RecoveryKey } else { Word::Passphrase };
                view! { <PassBox id="unlock" label value=typed go=open show=recovery.get()/> }
            }}
            <p class="wrong" role="alert">{said}</p>
            <div class="buttons">
                <button type="button" class="button solid" on:click=move |_| open()>{desk.say(Word::Unlock)}</button>
                <button type="button" class="button" on:click=other>
                    {move || desk.say(if recovery.get() { Word::WithPassphrase } else { Word::WithRecovery })}
                </button>
            </div>
        }
    };
    let stuck = move |says: Says| {
        let anew = move |_| {
            if let Err(error) = window().location().reload() {
                leptos::logging::warn!("{error:?}");
            }
        };
        view! {
            <p role="alert">{desk.say(says)}</p>
            <div class="buttons">
                <button type="button" class="button" on:click=anew>{desk.say(Word::LoadAnew)}</button>
            </div>
        }
    };
    view! {
        <div class="page place locked">
            <Banners/>
            <header class="head">
                <span class="wordmark">"Strawline"</span>
                <div inert><Clocks/></div>
            </header>
            <main class="work" id="work" tabindex="-1">
                <h1 class="title">{desk.say(Word::Locked)}</h1>
                {move || match desk.stuck.get() {
                    Some(says) => stuck(says),
                    None => entry(),
                }}
            </main>
            <super::foot::Foot/>
        </div>
    }
}
