//! A list of the Bench: each entry opens to its rows; one can be added, copied, deleted and brought back.

use super::kit::{Group, fresh, insert};
use super::programme::programme;
use super::row::{Spot, commit, rows};
use crate::dom::prelude::*;
use crate::place::quality::process::process;
use crate::shell::{clock, keep};
use crate::state::Desk;
use strawline::words::bench::BenchWord;

/// One list with its heading.
pub fn list(desk: Desk, group: Group) -> Markup {
    let keys = move || desk.bench.with(|b| group.keys(b));
    let add = move |_| {
        let name = desk.say(BenchWord::NewName);
        let thing = fresh(group).map(|t| t.named(clock::fresh_id(), |_| name));
        desk.bench.update(|b| {
            if let Some(thing) = thing {
                insert(b, usize::MAX, thing);
            }
        });
    };
    view! {
        <section class="bench-group">
            <h2 class="heading">{desk.say(group.words())}</h2>
            <For each=keys key=String::clone let:key>{item(desk, group, key)}</For>
            <div class="buttons">
                <button type="button" class="button" on:click=add>
                    {move || format!("{}: {}", desk.say(group.words()), desk.say(BenchWord::AddOne))}
                </button>
            </div>
        </section>
    }
}

fn item(desk: Desk, group: Group, key: String) -> Markup {
    let id = format!("{}-{key}", group.id());
    let own = key.clone();
    // Its place changes when one before it goes; after its own end it is nowhere.
    let at = memo(move || {
        let place = desk.bench.with(|b| group.keys(b).iter().position(|k| *k == key));
        place.unwrap_or(usize::MAX)
    });
    let spot = Signal::derive(move || Spot { item: at.get() });
    let head = memo(move || desk.bench.with(|b| group.summary(desk, b, at.get())).unwrap_or_default());
    // Rows are made when first looked at: there are many.
    let opened = RwSignal::new(false);
    let inside = move || {
        opened.get().then(|| {
            let protocol = (group == Group::Protocols).then(|| {
                view! { {programme(desk, &id, at)} {process(desk, own.clone())} }
            });
            view! { {rows(desk, &id, group.rows(), spot)} {protocol} }
        })
    };
    let copy = move |_| {
        let at = at.get_untracked();
        let copy_of = desk.say(BenchWord::CopyOf);
        let thing = desk.bench.with_untracked(|b| group.get(b, at));
        let thing = thing.map(|t| t.named(clock::fresh_id(), |name| format!("{name}, {copy_of}")));
        desk.bench.update(|b| {
            if let Some(thing) = thing {
                insert(b, at.saturating_add(1), thing);
            }
        });
    };
    let delete = move |_| {
        let at = at.get_untracked();
        let Some(thing) = desk.bench.with_untracked(|b| group.get(b, at)) else { return };
        let removed = commit(desk, |b| {
            group.remove(b, at);
            Some(())
        });
        if removed.is_ok() {
            keep::offer_undo(desk, None, desk.say(BenchWord::Deleted), move || {
                desk.bench.update(|b| insert(b, at, thing.clone()));
            });
        }
    };
    view! {
        <details class="item" on:toggle=move |_| opened.set(true)>
            <summary>
                <span>
                    <b>{move || head.get().0}</b>
                    " "
                    <span class="second">{move || head.get().1}</span>
                </span>
            </summary>
            <div>
                {inside}
                <div class="buttons">
                    <button type="button" class="button" on:click=copy>
                        {desk.say(BenchWord::Duplicate)}
                    </button>
                    <button type="button" class="button" on:click=delete>
                        {desk.say(BenchWord::Delete)}
                    </button>
                </div>
            </div>
        </details>
    }
}
