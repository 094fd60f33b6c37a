//! What was thrown away: containers opened and not used, containers discarded, product left over.

use crate::dom::prelude::*;
use crate::shell::clock;
use crate::state::{Desk, Sheet};
use crate::widget::{AmenderFirst, Fold, WordsBox, who};
use strawline::draft::{Check, Discard, DiscardKind, Field};
use strawline::words::log::{Discarded, LogWord as Word};
use strawline::words::unit;

/// Ids of what is typed for a line and kept until it is entered.
pub const TYPED: [&str; 5] =
    ["discard-count", "discard-lot", "discard-what", "discard-volume", "discard-why"];

/// The part, folded away.
#[component]
pub fn Discards() -> impl IntoView {
    let desk = Desk::here();
    view! { <Fold title=desk.say(Word::Discards) lazy=true><Inside/></Fold> }
}

#[component]
fn Inside() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let kind = RwSignal::new(0_usize);
    let of = move || DiscardKind::ALL.get(kind.get()).copied().unwrap_or(DiscardKind::OpenedUnused);
    let containers = memo(move || of().of_containers());
    // Kept until it is entered, however often the page is locked or another place looked at.
    let [count, lot, what, volume, why] = TYPED.map(|id| sheet.half_typed.of(id, ""));
    // The lot of the case is what is usually meant: it holds while nothing is typed.
    let own = memo(move || sheet.draft.with(|d| d.text(Field::ContainerLot).to_owned()));
    let standing = move |id: &str| if id == "discard-lot" { own.get() } else { String::new() };
    let said = RwSignal::new(String::new());
    let enter = move |_| {
        let Some(by) = who(desk, sheet) else { return };
        let (at, text) = (clock::now().at, |t: RwSignal<String>| t.get_untracked());
        let kind = untrack(of);
        let mut refused = None;
        sheet.edit(|d| {
            let line = Discard {
                kind,
                count: text(count).trim().parse().ok(),
                volume: d.left_over(&text(volume)),
                what: text(what),
                lot: text(lot),
                why: text(why),
                at,
                by,
                withdrawn: None,
            };
            refused = d.throw_away(line).err();
        });
        match refused {
            Some(why) => said.set(desk.say(why)),
            None => {
                said.set(String::new());
                [count, lot, what, volume, why].iter().for_each(|t| t.set(String::new()));
            }
        }
    };
    let line = |id: &'static str, label: Word, text: RwSignal<String>, when: Signal<bool>| {
        view! {
            <div class="field text" hidden=move || !when.get()>
                <div class="field-name">
                    <label for=id>{desk.say(label)}</label>
                </div>
                <WordsBox id text standing=Signal::derive(move || standing(id))/>
            </div>
        }
    };
    let of_containers: Signal<bool> = containers.into();
    let of_rest = Signal::derive(move || !containers.get());
    let always = Signal::derive(|| true);
    let kinds = DiscardKind::ALL.into_iter().enumerate().map(|(i, k)| {
        view! { <option value=i prop:selected=move || kind.get() == i>{desk.say(k)}</option> }
    });
    let reason = move || desk.say(if containers.get() { Word::DiscardWhy } else { Word::DiscardHow });
    view! {
        <p class="second">{desk.say(Word::DiscardsWhat)}</p>
        <Lines/>
        <div class="field">
            <div class="field-name">
                <label for="discard-kind">{desk.say(Word::DiscardKindIs)}</label>
            </div>
            <div class="entry">
                <select
                    id="discard-kind"
                    class="words"
                    on:change=move |event| {
                        if let Ok(i) = event_target_value(&event).parse() {
                            kind.set(i);
                        }
                    }
                >
                    {kinds.collect_view()}
                </select>
            </div>
        </div>
        {line("discard-count", Word::DiscardCount, count, of_containers)}
        {line("discard-lot", Word::DiscardLot, lot, of_containers)}
        {line("discard-what", Word::DiscardWhat, what, of_rest)}
        {line("discard-volume", Word::DiscardVolume, volume, of_rest)}
        <p class="second">{reason}</p>
        {line("discard-why", Word::Why, why, always)}
        <AmenderFirst id="amender_discards"/>
        <p class="wrong" role="status">{move || said.get()}</p>
        <div class="buttons">
            <button type="button" class="button" on:click=enter>{desk.say(Word::Enter)}</button>
        </div>
    }
}

/// What was entered, each line with its way back.
#[component]
fn Lines() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let all = memo(move || sheet.draft.with(|d| d.discards.clone()));
    let line = move |d: Discard| {
        let c = sheet.conventions();
        let written = |at| unit::clock(at, sheet.offset.get());
        let volume = d.volume.map(|v| unit::volume(v, &c).to_string());
        let back = d.withdrawn.as_ref().map(|w| (w.by.clone(), written(w.at)));
        let words = desk.say(Discarded { line: &d, volume, at: written(d.at), back });
        if !d.stands() {
            return view! { <li><s>{words}</s></li> };
        }
        let take_back = move |_| {
            let Some(by) = who(desk, sheet) else { return };
            let at = clock::now().at;
            sheet.edit(|draft| draft.take_back_discard(&d, Check { by, at, of: String::new() }));
        };
        view! {
            <li>
                {words}
                " "
                <button type="button" class="link" on:click=take_back>{desk.say(Word::TakeBack)}</button>
            </li>
        }
    };
    view! { <ul>{move || all.get().into_iter().map(line).collect_view()}</ul> }
}
