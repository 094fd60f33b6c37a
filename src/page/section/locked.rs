//! What stands here while the page is locked: the clocks, and what opens it.

use super::header::{Banners, Clocks};
use crate::dom::prelude::*;
use crate::shell::keep::closing;
use crate::state::Desk;
use crate::widget::PassBox;
use strawline::record::closed::With;
use strawline::words::closed::{ClosedFault, ClosedSays as Says, ClosedWord as Word};

/// The locked page.
#[component]
pub fn Locked() -> impl IntoView {
    let desk = Desk::here();
    let typed = RwSignal::new(String::new());
    let recovery = RwSignal::new(false);
    let said = RwSignal::new(None::<String>);
    let open = move || {
        let text = typed.get_untracked();
        let with = match recovery.get_untracked() {
            true => With::Recovery(&text),
            false => With::Passphrase(&text),
        };
        typed.set(String::new());
        said.set(closing::open(desk, with).err().map(|error| desk.say(ClosedFault(error))));
    };
    let other = move |_| {
        recovery.update(|r| *r = !*r);
        said.set(None);
    };
    view! {
        <div class="page place">
            <Banners/>
            <header class="head">
                <span class="wordmark">"Strawline"</span>
                <div inert><Clocks/></div>
            </header>
            <main class="work" id="work" tabindex="-1">
                <h1 class="title">{desk.say(Word::Locked)}</h1>
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
            </main>
            <super::foot::Foot/>
        </div>
    }
}
