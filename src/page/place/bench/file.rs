//! The Bench to another device, as a file or a link, and from one: in only after a look at each thing it would change.

use super::review::{Came, review};
use crate::dom::prelude::*;
use crate::shell::copy::{Copied, copy};
use crate::shell::files;
use crate::shell::store::opened_from_disk;
use crate::state::{CameBy, Desk};
use crate::widget::chart_text::copied_text;
use leptos::task::spawn_local;
use strawline::bench::Bench;
use strawline::export::bench_link;
use strawline::record::Reason;
use strawline::words::bench::BenchWord;

/// Export, import, a link, and what would be taken of what came.
pub fn file(desk: Desk) -> Markup {
    let refused = RwSignal::new(String::new());
    let copied: Copied = RwSignal::new(None);
    let no_link = RwSignal::new(String::new());
    let export = move |_| {
        let text = desk.bench.with_untracked(Bench::to_json);
        files::download(desk, &desk.say(BenchWord::FileName), "application/json", &text);
    };
    let import = move |event: web_sys::Event| {
        let input = event_target::<web_sys::HtmlInputElement>(&event);
        spawn_local(async move {
            desk.carried.set(None);
            let Some(text) = files::picked(input).await else {
                return refused.set(desk.say(BenchWord::NotAText));
            };
            match Bench::from_json(&text) {
                Ok(bench) => {
                    refused.set(String::new());
                    desk.carried.set(Some(Ok((bench, CameBy::File))));
                }
                Err(error) => refused.set(desk.say(Reason::from(error))),
            }
        });
    };
    let link = move |_| match desk.bench.with_untracked(bench_link::fragment) {
        Ok(fragment) => {
            no_link.set(String::new());
            let here = window().location().href().unwrap_or_default();
            let page = here.split('#').next().unwrap_or_default();
            copy(format!("{page}#{fragment}"), copied);
        }
        Err(why) => {
            copied.set(None);
            no_link.set(desk.say(why));
        }
    };
    let came: Signal<Option<Came>> =
        Signal::derive(move || desk.carried.with(|c| c.as_ref().and_then(|c| c.as_ref().ok().cloned())));
    let not_taken = move || {
        let why = desk.carried.with(|c| c.as_ref().and_then(|c| c.as_ref().err().cloned()))?;
        Some(view! { <p class="wrong" role="alert" id="link-refused">{desk.say(why)}</p> })
    };
    let by_link = match opened_from_disk() {
        true => view! { <p class="second">{desk.say(BenchWord::NoLinkFromDisk)}</p> },
        false => view! {
            <p class="second">{desk.say(BenchWord::LinkWhat)}</p>
            <div class="buttons">
                <button type="button" class="button" on:click=link>{desk.say(BenchWord::CopyLink)}</button>
            </div>
            {copied_text(desk, copied, BenchWord::LinkCopied, BenchWord::Link)}
            <p class="wrong" role="status">{no_link}</p>
        },
    };
    view! {
        <section class="bench-group" aria-labelledby="bench-file-heading">
            <h2 class="heading" id="bench-file-heading">{desk.say(BenchWord::File)}</h2>
            <p class="second">{desk.say(BenchWord::FileWhat)}</p>
            <div class="buttons">
                <button type="button" class="button" on:click=export>
                    {desk.say(BenchWord::Export)}
                </button>
            </div>
            {by_link}
            <div class="field">
                <div class="field-name">
                    <label for="bench-file">{desk.say(BenchWord::Import)}</label>
                </div>
                <div class="entry">
                    <input
                        id="bench-file"
                        class="words"
                        type="file"
                        accept=".json,application/json"
                        aria-describedby="bench-file-reading"
                        on:change=import
                    />
                </div>
                <p
                    class="reading"
                    class:wrong=move || refused.with(|r| !r.is_empty())
                    id="bench-file-reading"
                    aria-live="polite"
                >
                    {refused}
                </p>
            </div>
            {not_taken}
            {review(desk, came, |desk| desk.carried.set(None))}
        </section>
    }
}
