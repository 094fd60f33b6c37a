//! Something decided about counts: who, sometimes why, and one tap back.

use crate::dom::prelude::*;
use crate::shell::{clock, keep};
use crate::state::Desk;
use crate::widget::WordsBox;
use std::sync::Arc;
use strawline::quality::decided::{Decisions, Refused};
use strawline::quantity::time::Instant;
use strawline::words::charts::{ChartSays, ChartWord};

/// How a decision is asked for.
pub struct Deciding {
    /// What begins the ids of its inputs.
    pub id: String,
    /// Words of the button.
    pub button: ChartWord,
    /// Who is asked.
    pub who: ChartWord,
    /// Whether a reason is asked too.
    pub reason: bool,
    /// What is said once it is done.
    pub done: ChartSays,
}

/// Takes a decision back.
pub type Back = Arc<dyn Fn(&mut Decisions, &str, Instant) -> Result<(), Refused> + Send + Sync>;

/// Words in a line, with their label.
pub fn line(desk: Desk, id: &str, label: ChartWord, text: RwSignal<String>) -> Markup {
    view! {
        <div class="field">
            <div class="field-name">
                <label for=id.to_owned()>{desk.say(label)}</label>
            </div>
            <WordsBox id text/>
        </div>
    }
}

/// Changes the decisions, if `act` does not refuse. Errors: why it does, in words.
pub fn change(desk: Desk, act: impl FnOnce(&mut Decisions) -> Result<(), Refused>) -> Result<(), String> {
    let mut all = desk.decisions.get_untracked();
    act(&mut all).map_err(|refused| desk.say(refused))?;
    desk.decisions.set(all);
    Ok(())
}

/// Asks who decides, and why if a reason belongs to it; a button does it.
pub fn decide(
    desk: Desk,
    what: Deciding,
    act: impl Fn(&mut Decisions, &str, Instant, &str) -> Result<(), Refused> + Send + Sync + 'static,
    back: Option<Back>,
) -> Markup {
    let Deciding { id, button, who, reason, done } = what;
    let (by, why, said) = (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new(None));
    let tap = move |_| {
        let (name, why) = (by.get_untracked(), why.get_untracked());
        let decided = change(desk, |all| act(all, &name, clock::now().at, &why));
        if decided.is_ok() {
            let words = desk.say(done);
            if let Some(back) = back.clone() {
                keep::offer_undo(desk, None, words, move || {
                    let undone = change(desk, |all| back(all, &name, clock::now().at));
                    if let Err(why) = undone {
                        keep::undo_refused(desk, why);
                    }
                });
            }
        }
        // The form may have gone with what it decided.
        said.try_set(decided.err());
    };
    let reason = reason.then(|| line(desk, &format!("{id}-why"), ChartWord::Why, why));
    view! {
        {line(desk, &format!("{id}-who"), who, by)}
        {reason}
        {move || said.get().map(|why: String| view! { <p class="wrong" role="alert">{why}</p> })}
        <div class="buttons">
            <button type="button" class="button" on:click=tap>{desk.say(button)}</button>
        </div>
    }
}
