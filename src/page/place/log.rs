//! The clinic's log: equipment with its checks, cleaning and spills, lots in use, and every entry ever made.

mod entries;
mod form;
mod forms;

use crate::dom::prelude::*;
use crate::place::bench::Undoing;
use crate::place::records::views;
use crate::section::foot::Foot;
use crate::section::header::{Banners, Header};
use crate::shell::keep;
use crate::state::Desk;
use strawline::finding::LotOf;
use strawline::log::{Checked, Good, Log, Machine, ShelfLot, proposed};
use strawline::quantity::time::Date;
use strawline::quantity::unit::NumberStyle;
use strawline::words::log::{CheckLine, LogWord as Word, LotLine, MachineName};

/// The place.
#[component]
pub fn LogPlace() -> impl IntoView {
    let desk = Desk::here();
    keep::log::look_again(desk);
    view! {
        <div class="page place">
            <Banners/>
            <Header/>
            <main class="work" id="work" tabindex="-1">
                <h1 class="title">{desk.say(Word::Title)}</h1>
                {views(desk)}
                <p class="second">{desk.say(Word::What)}</p>
                <Undoing/>
                {equipment(desk)}
                {shelf(desk)}
                {entries::entries(desk)}
            </main>
            <Foot/>
        </div>
    }
}

/// The day here and now; listens to the minute.
fn today(desk: Desk) -> Option<Date> {
    let now = desk.minute.get();
    now.at.local(now.offset).map(|(day, _)| day)
}

/// How the clinic writes numbers.
fn numbers(desk: Desk) -> NumberStyle {
    desk.bench.with_untracked(|b| b.clinic.conventions.numbers)
}

/// Reads something off the log; nothing before it was read.
fn of_log<T: Default>(desk: Desk, pick: impl Fn(&Log) -> T) -> T {
    desk.log.with(|log| log.as_ref().map(pick).unwrap_or_default())
}

/// A part of the page that is folded away, with its heading.
fn fold(title: String, id: &'static str, inside: impl Fn() -> Markup + Send + 'static) -> Markup {
    let opened = RwSignal::new(false);
    view! {
        <details class="item" id=id on:toggle=move |_| opened.set(true)>
            <summary>{title}</summary>
            <div>{move || opened.get().then(&inside)}</div>
        </details>
    }
    .into_view()
}

fn equipment(desk: Desk) -> Markup {
    let row = move |m: Machine| {
        let day = today(desk);
        let (name, serial) = (m.centrifuge.name.clone(), m.centrifuge.serial.clone());
        let turns = desk.bench.with(|b| m.rotor.as_ref().and_then(|id| b.rotor(id)).map(|r| r.name.clone()));
        let turns = turns.map(|rotor| format!("{}: {rotor}", desk.say(Word::Turns)));
        let serial = if serial.is_empty() {
            desk.say(Word::NoSerial)
        } else {
            format!("{} {serial}", desk.say(Word::SerialIs))
        };
        let line = |of: Checked| {
            let check = m.centrifuge.check(of);
            let state = day.and_then(|day| check.on_day(day));
            let words = desk.say(CheckLine { of, check, state });
            view! { <p class:wrong=state.is_some() class="second">{words}</p> }
        };
        let id = m.centrifuge.id.clone();
        let lines: Vec<_> = Checked::ALL.into_iter().map(line).collect();
        view! {
            <div class="field">
                <div class="field-name">
                    <p><b>{name}</b></p>
                    <p class="second">{serial}</p>
                    <p class="second">{turns}</p>
                    {lines.into_iter().collect_view()}
                </div>
                {forms::end(desk, &id, Word::EndEquipment)}
            </div>
        }
    };
    let machines = memo(move || {
        of_log(desk, |l| l.machines().into_iter().filter(|m| m.ended.is_none()).collect::<Vec<_>>())
    });
    let none = move || {
        machines.with(Vec::is_empty).then(|| view! { <p class="second">{desk.say(Word::NoEquipment)}</p> })
    };
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Word::Equipment)}</h2>
            {none}
            {move || machines.get().into_iter().map(row).collect_view()}
            {fold(desk.say(Word::AddEquipment), "log-equipment", move || forms::equipment(desk, None))}
            {fold(desk.say(Word::EnterCheck), "log-check", move || forms::check(desk, None))}
            {fold(desk.say(Word::EnterCare), "log-care", move || forms::care(desk, None))}
        </section>
    }
    .into_view()
}

fn shelf(desk: Desk) -> Markup {
    let row = move |s: ShelfLot| {
        let expired = today(desk).is_some_and(|day| s.expired(day));
        let words = desk.say(LotLine { lot: &s.lot, expired, numbers: numbers(desk) });
        view! {
            <div class="field">
                <div class="field-name">
                    <p><b>{desk.say(s.lot.of)}</b></p>
                    <p class="second" class:wrong=expired>{words}</p>
                </div>
                {forms::end(desk, &s.id, Word::EndLot)}
            </div>
        }
    };
    let lots =
        memo(move || of_log(desk, |l| Good::ALL.into_iter().flat_map(|of| l.shelf(of)).collect::<Vec<_>>()));
    let none =
        move || lots.with(Vec::is_empty).then(|| view! { <p class="second">{desk.say(Word::NoLots)}</p> });
    let wanted = RwSignal::new(None::<(Good, String)>);
    let propose = move || {
        let found: Vec<(LotOf, String)> = of_log(desk, |log| {
            desk.lines.with(|lines| {
                let all = LotOf::ALL.into_iter();
                all.flat_map(|of| proposed(log, lines, of).into_iter().map(move |lot| (of, lot))).collect()
            })
        });
        (!found.is_empty()).then(|| {
            let one = |(of, lot): (LotOf, String)| {
                let words = format!("{}: {lot}", desk.say(Good::from(of)));
                let tap = move |_| wanted.set(Some((Good::from(of), lot.clone())));
                view! { <button type="button" class="offer" on:click=tap>{words}</button> }
            };
            view! {
                <p class="second">{desk.say(Word::Proposed)}</p>
                <div class="slip" role="group" aria-label=desk.say(Word::Proposed)>
                    {found.into_iter().map(one).collect_view()}
                </div>
            }
        })
    };
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Word::Shelf)}</h2>
            <p class="second">{desk.say(Word::ShelfWhat)}</p>
            {none}
            {move || lots.get().into_iter().map(row).collect_view()}
            <h3 class="subheading">{desk.say(Word::AddLot)}</h3>
            {propose}
            {move || forms::lot(desk, None, wanted.get())}
        </section>
    }
    .into_view()
}

/// Name and serial number of the equipment with this key, or the lot.
fn name_of(log: &Log, id: &str) -> Option<String> {
    let machine = log.machines().into_iter().find(|m| m.centrifuge.id == id);
    let lot = || log.lots().into_iter().find(|s| s.id == id).map(|s| s.lot.lot);
    machine.map(|m| m.centrifuge.name).or_else(lot)
}

/// The equipment that may be named in an entry, with what it names already.
fn machines(desk: Desk, own: Option<&str>) -> Vec<(String, String)> {
    desk.log.with_untracked(|log| {
        let all = log.iter().flat_map(|log| log.to_choose(own));
        let named = |m: Machine| {
            let c = m.centrifuge;
            let name = desk.say(MachineName { name: &c.name, serial: &c.serial });
            (c.id, name)
        };
        all.map(named).collect()
    })
}
