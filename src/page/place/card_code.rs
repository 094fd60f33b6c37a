//! The code of a card back as a case: what a reader types is looked at, shown, and added only when a person says so.

use crate::dom::prelude::*;
use crate::shell::clock;
use crate::shell::keep::{closing, out};
use crate::state::Desk;
use crate::widget::PassBox;
use leptos::task::spawn_local;
use std::sync::Arc;
use strawline::draft::{CheckKind, Draft};
use strawline::export::code::{self, Unread};
use strawline::record::closed::{ClosedError, Lock};
use strawline::words::closed::{ClosedFault, ClosedSays, ClosedWord};
use strawline::words::code::{CodeSays, CodeWord};

/// What came of a look.
#[derive(Clone)]
enum Look {
    Refused(Unread),
    /// It is closed under this lock, which is not open here.
    Asks(Arc<Lock>),
    Holds(Box<Draft>),
    Added,
}

/// Whether a case of this key is here in any shape; it is then left as it is.
fn is_here(desk: Desk, id: &str) -> bool {
    desk.open.with_untracked(|all| all.iter().any(|s| s.id() == id))
        || desk.lines.with_untracked(|all| all.iter().any(|line| line.id == id))
        || desk.discarded.with_untracked(|all| all.iter().any(|d| d.id == id))
        || desk.unreadable.with_untracked(|all| all.iter().any(|u| u.key.ends_with(id)))
}

/// The group in Records.
pub fn card_code(desk: Desk) -> Markup {
    let typed = RwSignal::new(String::new());
    let found = RwSignal::new(None::<Look>);
    let (phrase, said) = (RwSignal::new(String::new()), RwSignal::new(None::<String>));
    let look = move || {
        let text = typed.get_untracked();
        said.set(None);
        found.set(Some(match code::read(&text, &closing::paper_keys(desk), clock::now().at) {
            Ok(draft) => Look::Holds(Box::new(draft)),
            Err(unread @ Unread::Closed) => match code::lock(&text) {
                Ok(Some(lock)) => Look::Asks(Arc::new(lock)),
                _ => Look::Refused(unread),
            },
            Err(unread) => Look::Refused(unread),
        }));
    };
    let open = move || {
        let Some(Look::Asks(lock)) = found.get_untracked() else { return };
        let secret = phrase.get_untracked();
        phrase.set(String::new());
        said.set(Some(desk.say(ClosedSays::Wait)));
        spawn_local(async move {
            match out::open(&lock, &secret).await {
                Ok(key) => {
                    closing::keep_other(key);
                    look();
                }
                Err(ClosedError::Wrong | ClosedError::NotARecoveryKey) => {
                    said.set(Some(desk.say(CodeSays::NotItsPassphrase)));
                }
                Err(error) => said.set(Some(desk.say(ClosedFault(error)))),
            }
        });
    };
    let add = move |mut draft: Draft| {
        // Asked once more: another tab may have brought it meanwhile.
        if !desk.lines_read.get_untracked() || is_here(desk, &draft.id) {
            return;
        }
        if sign_taken(desk, &draft) {
            draft.sign = desk.fresh_sign();
            // Read back was the sign on the card.
            draft.checks.remove(&CheckKind::HandOver);
        }
        desk.open(code::named(draft, desk.language()));
        typed.set(String::new());
        found.set(Some(Look::Added));
    };
    let leave = move |_| {
        typed.set(String::new());
        found.set(None);
    };
    let shown = move |draft: Draft| {
        let lines = code::holds(&draft, desk.language(), desk.offset.get_untracked());
        let lines = lines.into_iter().map(|line| view! { <li>{line}</li> }).collect_view();
        let whole = draft.rebuilt.as_ref().is_some_and(|r| r.whole);
        let here = is_here(desk, &draft.id);
        let other = (!here && sign_taken(desk, &draft))
            .then(|| view! { <p class="second">{desk.say(CodeSays::OtherSign)}</p> });
        let says = if whole { CodeSays::WholeHeld } else { CodeSays::ClearHeld };
        let adds = match (here, desk.lines_read.get()) {
            (true, _) => view! { <p class="wrong">{desk.say(CodeSays::Here)}</p> },
            (false, false) => view! { <p class="wrong">{desk.say(CodeSays::NotAllRead)}</p> },
            (false, true) => view! {
                <div class="buttons">
                    <button type="button" class="button" on:click=move |_| add(draft.clone())>
                        {desk.say(CodeWord::Add)}
                    </button>
                    <button type="button" class="button" on:click=leave>{desk.say(CodeWord::Leave)}</button>
                </div>
            },
        };
        view! {
            <p>{desk.say(CodeWord::Holds)}</p>
            <ul>{lines}</ul>
            <p class="second">{desk.say(says)}</p>
            {other}
            {adds}
        }
    };
    let came = move || {
        found.get().map(|look| match look {
            Look::Refused(unread) => view! { <p class="wrong">{desk.say(unread)}</p> },
            Look::Asks(_) => view! {
                <p>{desk.say(CodeSays::Asks)}</p>
                <PassBox id="code-passphrase" label=ClosedWord::OfTheCode value=phrase go=open/>
                <p class="wrong" role="alert">{said}</p>
                <div class="buttons">
                    <button type="button" class="button" on:click=move |_| open()>{desk.say(CodeWord::Open)}</button>
                    <button type="button" class="button" on:click=leave>{desk.say(CodeWord::Leave)}</button>
                </div>
            },
            Look::Holds(draft) => shown(*draft),
            Look::Added => view! { <p>{desk.say(CodeWord::Added)}</p> },
        })
    };
    view! {
        <section class="part-of">
            <details class="item">
                <summary>
                    <h2 class="heading">{desk.say(CodeWord::Read)}</h2>
                </summary>
                <div>
                    <p class="second" id="card-code-more">{desk.say(CodeSays::ReadWhat)}</p>
                    <div class="field text">
                        <div class="field-name">
                            <label for="card-code">{desk.say(CodeWord::Typed)}</label>
                        </div>
                        <div class="entry">
                            <textarea
                                id="card-code"
                                class="words"
                                rows="3"
                                autocomplete="off"
                                spellcheck="false"
                                maxlength="12000"
                                aria-describedby="card-code-more"
                                prop:value=typed
                                on:input=move |e| typed.set(event_target_value(&e))
                            ></textarea>
                        </div>
                    </div>
                    <div class="buttons">
                        <button type="button" class="button" on:click=move |_| look()>{desk.say(CodeWord::Look)}</button>
                    </div>
                    <div role="status" id="card-code-read">{came}</div>
                </div>
            </details>
        </section>
    }
}

/// Whether an open case bears its check sign.
fn sign_taken(desk: Desk, draft: &Draft) -> bool {
    desk.open.with_untracked(|all| all.iter().any(|s| s.draft.with_untracked(|d| d.sign == draft.sign)))
}
