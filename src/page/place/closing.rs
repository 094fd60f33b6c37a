//! Closing cases and records under a passphrase.

use super::field::PickBox;
use crate::dom::prelude::*;
use crate::shell::keep::closing;
use crate::shell::{print, store};
use crate::state::{Desk, Door, Paper};
use crate::widget::PassBox;
use leptos::task::spawn_local;
use strawline::record::closed::ClosedError;
use strawline::record::closed::safe::Refused;
use strawline::words::bench::BenchWord;
use strawline::words::closed::{ClosedFault, ClosedSays as Says, ClosedWord as Word, LockAfter, NotDone};

/// Minutes offered; 0 is never.
const MINUTES: [u8; 6] = [2, 5, 10, 20, 60, 0];

/// The group on the Bench.
pub fn closing(desk: Desk) -> Markup {
    let locked = memo(move || desk.door.get() != Door::NoLock);
    let minutes = Signal::derive(move || {
        let now = desk.settings.with(|s| s.lock_after);
        MINUTES.iter().position(|m| *m == now).unwrap_or_default()
    });
    let set = move |i: usize| {
        if let Some(minutes) = MINUTES.get(i) {
            desk.settings.update(|s| s.lock_after = *minutes);
        }
        Ok(())
    };
    let names = |desk: Desk| MINUTES.map(|m| desk.say(LockAfter(m))).to_vec();
    let after = move || PickBox::new(BenchWord::LockAfter, None, names, minutes, set).view("lock_after");
    view! {
        <section class="bench-group" aria-labelledby="closing">
            <h2 class="heading" id="closing">{desk.say(Word::Heading)}</h2>
            {move || match locked.get() {
                false => make(desk),
                true => view! {
                    <p role="status">
                        {move || desk.say(if desk.unfinished.get() { Says::Closing } else { Says::IsClosed })}
                    </p>
                    {recovery(desk)}
                    <div class="buttons">
                        <button type="button" class="button solid" on:click=move |_| closing::shut(desk)>
                            {desk.say(Word::LockNow)}
                        </button>
                    </div>
                    {after()}
                    {alter(desk)}
                },
            }}
        </section>
    }
}

/// Why the lock did not do as told.
pub fn refused(desk: Desk, why: &Refused) -> String {
    match why {
        Refused::Closed(error) => desk.say(ClosedFault(*error)),
        Refused::Store(error) => desk.say(NotDone(error)),
    }
}

/// Does what may take a while; says why it was refused. What it did may have changed the view.
fn run<F>(desk: Desk, said: RwSignal<Option<String>>, done: Option<Says>, work: F)
where
    F: Future<Output = Result<(), Refused>> + 'static,
{
    said.set(Some(desk.say(Says::Wait)));
    spawn_local(async move {
        let _gone = said.try_set(match work.await {
            Ok(()) => done.map(|says| desk.say(says)),
            Err(why) => Some(refused(desk, &why)),
        });
    });
}

/// Asks for a passphrase, twice.
fn make(desk: Desk) -> Markup {
    let (first, again, said) =
        (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new(None));
    let go = move || {
        let (typed, same) =
            (first.get_untracked(), again.with_untracked(|a| first.with_untracked(|f| a == f)));
        match same {
            true => run(desk, said, None, closing::close(desk, typed)),
            false => said.set(Some(desk.say(Says::Differ))),
        }
    };
    view! {
        <p class="second">{desk.say(Says::Open)}</p>
        <p class="second">{desk.say(Says::NoWayBack)}</p>
        <PassBox id="passphrase" label=Word::NewPassphrase value=first go=go/>
        <PassBox id="passphrase-again" label=Word::Again value=again go=go/>
        <p class="second" role="status">{said}</p>
        <div class="buttons">
            <button type="button" class="button" on:click=move |_| go()>{desk.say(Word::Close)}</button>
        </div>
    }
}

/// The recovery key, until a person says that it is kept.
fn recovery(desk: Desk) -> Markup {
    let shown = move || {
        let key = desk.recovery.get()?;
        let print = move |_| {
            desk.paper.set(Paper::Recovery);
            print::print();
        };
        Some(view! {
            <div class="note" role="status">
                <p>{desk.say(Says::Recovery)}</p>
                <p><b class="id recovery">{key}</b></p>
                <div class="buttons">
                    <button type="button" class="button" on:click=print>{desk.say(Word::PrintIt)}</button>
                    <button type="button" class="button" on:click=move |_| desk.recovery.set(None)>
                        {desk.say(Word::Kept)}
                    </button>
                </div>
            </div>
        })
    };
    shown.into_view()
}

/// Another passphrase, or none.
fn alter(desk: Desk) -> Markup {
    let (now, new, said) = (RwSignal::new(String::new()), RwSignal::new(String::new()), RwSignal::new(None));
    let taken = move |signal: RwSignal<String>| {
        let text = signal.get_untracked();
        signal.set(String::new());
        text
    };
    let change = move || run(desk, said, Some(Says::Changed), closing::change(desk, taken(now), taken(new)));
    let remove = move |_| match now.with_untracked(String::is_empty) {
        true => said.set(Some(desk.say(ClosedFault(ClosedError::Wrong)))),
        false => run(desk, said, None, closing::remove(desk, taken(now))),
    };
    let from_disk = store::opened_from_disk();
    view! {
        <details class="more">
            <summary>{desk.say(Word::Alter)}</summary>
            <div>
                <PassBox id="passphrase-now" label=Word::Current value=now go=change/>
                <PassBox id="passphrase-new" label=Word::NewPassphrase value=new go=change/>
                <p class="second" role="status">{said}</p>
                <div class="buttons">
                    <button type="button" class="button" on:click=move |_| change()>{desk.say(Word::Change)}</button>
                    {(!from_disk).then(|| view! {
                        <button type="button" class="button" on:click=remove>{desk.say(Word::Remove)}</button>
                    })}
                </div>
                {from_disk.then(|| view! { <p class="second">{desk.say(Says::Stays)}</p> })}
            </div>
        </details>
    }
}
