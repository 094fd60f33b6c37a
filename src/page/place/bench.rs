//! Bench: header, label wording, units, containers, rotors, protocols, limits, clock, analyser, the settings of this device.

mod chart;
mod clinic;
mod file;
mod kit;
mod list;
mod programme;
mod radii;
mod review;
mod row;

use crate::dom::prelude::*;
use crate::place::{closing, settings};
use crate::section::foot::Foot;
use crate::section::header::{Banners, Header};
use crate::state::{CameBy, Desk};
use kit::Group;
use row::{Row, Spot, rows};
use strawline::words::bench::BenchWord;
use strawline::words::page::{Common, Frame};

/// The place.
#[component]
pub fn BenchPlace() -> impl IntoView {
    let desk = Desk::here();
    view! {
        <div class="page place">
            <Banners/>
            <Header/>
            <main class="work" id="work" tabindex="-1">
                <h1 class="title">{desk.say(Frame::Bench)}</h1>
                <p class="second">{desk.say(BenchWord::What)}</p>
                <Undoing/>
                {came_from_afar(desk)}
                {once(desk, BenchWord::Clinic, "clinic", clinic::CLINIC)}
                {once(desk, BenchWord::Labels, "labels", clinic::LABELS)}
                {once(desk, BenchWord::Units, "units", clinic::UNITS)}
                {switch_open_case(desk)}
                {chart::order(desk)}
                {list::list(desk, Group::Containers)}
                {list::list(desk, Group::Rotors)}
                {list::list(desk, Group::Protocols)}
                {once(desk, BenchWord::Limits, "limits", clinic::LIMITS)}
                {once(desk, BenchWord::Clock, "clock", clinic::CLOCK)}
                {once(desk, BenchWord::Analyser, "analyser", clinic::ANALYSER)}
                {once(desk, BenchWord::Keeping, "keeping", clinic::KEEPING)}
                {file::file(desk)}
                {closing::closing(desk)}
                {settings::settings(desk)}
            </main>
            <Foot/>
        </div>
    }
}

/// That a Bench came by a link or in a backup, with the way to it: the group stands far below.
fn came_from_afar(desk: Desk) -> Markup {
    let to = move |_| crate::shell::focus::first("#review, #link-refused");
    let told = move || {
        let word = desk.carried.with(|c| match c {
            Some(Ok((_, CameBy::Link)) | Err(_)) => Some(BenchWord::CameByLink),
            Some(Ok((_, CameBy::Backup))) => Some(BenchWord::CameInBackup),
            Some(Ok((_, CameBy::File))) | None => None,
        });
        word.map(|word| {
            view! {
                <p role="status">
                    {desk.say(word)} " "
                    <button type="button" class="link" on:click=to>{desk.say(BenchWord::LookAtIt)}</button>
                </p>
            }
        })
    };
    told.into_view()
}

/// What one tap takes back, outside the worksheet.
#[component]
pub fn Undoing() -> impl IntoView {
    let desk = Desk::here();
    let offer = move || {
        desk.undo.get().filter(|undo| undo.case.is_none()).map(|undo| {
            let (back, refused) = (move |_| (undo.back)(), undo.refused);
            view! {
                {undo.done}
                " "
                <button type="button" class="link" hidden=refused on:click=back>{desk.say(Common::Undo)}</button>
            }
        })
    };
    view! { <p class="saved" role="status">{offer}</p> }
}

/// A group of which there is one, folded away until it is wanted.
fn once(desk: Desk, words: BenchWord, id: &'static str, table: &'static [Row]) -> Markup {
    let opened = RwSignal::new(false);
    let spot = Signal::derive(Spot::default);
    view! {
        <section class="bench-group">
            <details class="item" on:toggle=move |_| opened.set(true)>
                <summary>
                    <h2 class="heading">{desk.say(words)}</h2>
                </summary>
                <div>{move || opened.get().then(|| rows(desk, id, table, spot))}</div>
            </details>
        </section>
    }
}

/// The open case keeps the units it was begun with, unless a person says otherwise.
fn switch_open_case(desk: Desk) -> Markup {
    let to = memo(move || desk.bench.with(|b| b.clinic.conventions));
    let sheet = move || desk.sheet().filter(|s| s.conventions() != to.get());
    let offer = move || {
        sheet().map(|sheet| {
            let switch = move |_| sheet.edit(|draft| *draft = draft.in_conventions(to.get_untracked()));
            view! {
                <p class="second">{desk.say(BenchWord::OpenCaseDiffers)}</p>
                <div class="buttons">
                    <button type="button" class="button" on:click=switch>
                        {desk.say(BenchWord::SwitchOpenCase)}
                    </button>
                </div>
            }
        })
    };
    offer.into_view()
}
