//! The Bench as a file: out in one tap; in only after a look at what it would replace.

use super::kit::Group;
use crate::dom::prelude::*;
use crate::shell::{files, keep};
use crate::state::Desk;
use leptos::task::spawn_local;
use strawline::bench::Bench;
use strawline::record::Reason;
use strawline::words::bench::BenchWord;

/// Export, import, and what an import would replace.
pub fn file(desk: Desk) -> Markup {
    let offered = RwSignal::new(None::<Bench>);
    let refused = RwSignal::new(String::new());
    let export = move |_| {
        let text = desk.bench.with_untracked(Bench::to_json);
        files::download(desk, &desk.say(BenchWord::FileName), "application/json", &text);
    };
    let import = move |event: web_sys::Event| {
        let input = event_target::<web_sys::HtmlInputElement>(&event);
        spawn_local(async move {
            let Some(text) = files::picked(input).await else {
                return refused.set(desk.say(BenchWord::NotAText));
            };
            let read = Bench::from_json(&text).map_err(|error| desk.say(Reason::from(error)));
            let read = read.and_then(|bench| {
                if bench.needs_lead() { Err(desk.say(BenchWord::FileNeedsLead)) } else { Ok(bench) }
            });
            refused.set(read.as_ref().err().cloned().unwrap_or_default());
            offered.set(read.ok());
        });
    };
    let replace = move |_| {
        let Some(new) = offered.get_untracked() else { return };
        offered.set(None);
        let old = desk.bench.get_untracked();
        desk.bench.set(new);
        keep::offer_undo(desk, None, desk.say(BenchWord::Replaced), move || desk.bench.set(old.clone()));
    };
    let review = move || {
        offered.with(|new| {
            new.as_ref().map(|new| {
                let rows = desk.bench.with(|now| compare(desk, now, new));
                let rows = rows.into_iter().map(|(what, now, new)| {
                    view! {
                        <tr>
                            <th scope="row">{what}</th>
                            <td>{now}</td>
                            <td>{new}</td>
                        </tr>
                    }
                });
                view! {
                    <h3 class="subheading">{desk.say(BenchWord::Review)}</h3>
                    <div class="wide" tabindex="0">
                        <table class="table">
                            <thead>
                                <tr>
                                    <td></td>
                                    <th scope="col">{desk.say(BenchWord::Now)}</th>
                                    <th scope="col">{desk.say(BenchWord::InFile)}</th>
                                </tr>
                            </thead>
                            <tbody>{rows.collect_view()}</tbody>
                        </table>
                    </div>
                    <div class="buttons">
                        <button type="button" class="button solid" on:click=replace>
                            {desk.say(BenchWord::Replace)}
                        </button>
                        <button type="button" class="button" on:click=move |_| offered.set(None)>
                            {desk.say(strawline::words::page::Common::Cancel)}
                        </button>
                    </div>
                }
            })
        })
    };
    view! {
        <section class="bench-group">
            <h2 class="heading">{desk.say(BenchWord::File)}</h2>
            <p class="second">{desk.say(BenchWord::FileWhat)}</p>
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
            {review}
            <div class="buttons">
                <button type="button" class="button" on:click=export>
                    {desk.say(BenchWord::Export)}
                </button>
            </div>
        </section>
    }
}

/// What differs, part by part: what it is, now, in the file.
fn compare(desk: Desk, now: &Bench, new: &Bench) -> Vec<(String, String, String)> {
    let named = |b: &Bench, group: Group| {
        let names: Vec<String> =
            (0..group.keys(b).len()).filter_map(|i| Some(group.summary(desk, b, i)?.0)).collect();
        if names.is_empty() { desk.say(BenchWord::None) } else { names.join("; ") }
    };
    let differs = |differs: bool| desk.say(if differs { BenchWord::Differs } else { BenchWord::Same });
    let or_none = |text: &str| if text.is_empty() { desk.say(BenchWord::None) } else { text.to_owned() };
    let mut rows = vec![(desk.say(BenchWord::Clinic), or_none(&now.clinic.name), or_none(&new.clinic.name))];
    let parts = [
        (Group::Containers, now.containers == new.containers),
        (Group::Rotors, now.rotors == new.rotors),
        (Group::Protocols, now.protocols == new.protocols),
    ];
    for (group, same) in parts {
        let file = if same { differs(false) } else { named(new, group) };
        rows.push((desk.say(group.words()), named(now, group), file));
    }
    let wordings =
        |b: &Bench| (b.clinic.second_line.clone(), b.clinic.autologous.clone(), b.clinic.local_line.clone());
    let rest = [
        (BenchWord::Wordings, wordings(now) != wordings(new)),
        (BenchWord::ChartOrder, now.clinic.chart != new.clinic.chart),
        (BenchWord::Units, now.clinic.conventions != new.clinic.conventions),
        (BenchWord::Limits, now.limits != new.limits || now.limits_lead != new.limits_lead),
        (BenchWord::Clock, now.clock != new.clock),
        (BenchWord::Analyser, now.analyser != new.analyser),
    ];
    rows.extend(rest.map(|(words, other)| (desk.say(words), String::new(), differs(other))));
    rows
}
