//! The programme on another rotor of the Bench: each way to carry it over beside what it holds for.

use super::column::{OtherRotor, REST, line};
use crate::dom::prelude::*;
use crate::shell::{aside, typing};
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use strawline::assess::column::{self, Turned};
use strawline::quantity::{Millimetre, Quantity};
use strawline::spin::column::ask::{Question, Reply, Seen};
use strawline::spin::programme::{Programme, Stage};
use strawline::spin::rotor::Rotor;
use strawline::spin::transfer::{Carried, Fluid, NotCarried, carried, clearing_off, fluids};
use strawline::words::choice::RadiusShort;
use strawline::words::column::{ColumnWord, WithBand};
use strawline::words::spin::{FluidStands, NotCarriedWords, OtherRotor as Words, OverThere, StageTitle};
use strawline::words::unit;

/// One tap behind the programme.
#[component]
pub fn OnAnotherRotor() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let turns = memo(move || {
        sheet.draft.with(|d| {
            let stages = d.kit.protocol.as_ref().map_or(&[][..], |p| &p.programme.0);
            d.kit.rotor.is_some() && stages.iter().any(|s| s.speed().is_some())
        })
    });
    view! {
        <Show when=move || turns.get()>
            <Fold title=desk.say(Words::Title) lazy=true>
                <Inside/>
            </Fold>
        </Show>
    }
}

/// A height, and what to add for the ends of its band [mm] once that is worked out.
type Height = (Millimetre, Option<[f64; 2]>);

/// What stands in the tube of a stage, and what to add for the ends of the band of its height [mm].
type InTube = (Fluid, Option<[f64; 2]>);

/// Heights at which the fluid of each spin stands, as this case is pictured in tubes like the first; none until they are
/// reckoned, aside.
fn heights(sheet: Sheet) -> RwSignal<Vec<Height>> {
    let found = RwSignal::new(Vec::<Height>::new());
    let asked = StoredValue::new(0_u64);
    let setup = memo(move || {
        sheet.draft.track();
        let turned = Turned::default();
        let pictured = |case: &_, answer: &_| column::pictured(case, answer, &turned, None);
        sheet.read.with(|(case, _)| sheet.answer.with(|a| pictured(case, a).ok().map(|p| p.setup)))
    });
    let OtherRotor(chosen) = expect_context();
    Effect::new(move |_| {
        let number = asked.get_value() + 1;
        asked.set_value(number);
        // They are of what was typed before.
        found.set(Vec::new());
        let Some(setup) = setup.get().filter(|_| chosen.with(|c| !c.is_empty())) else { return };
        typing::after_paint(move || {
            set_timeout(
                move || {
                    let current = move || asked.try_get_value() == Some(number);
                    if !current() {
                        return;
                    }
                    let then = setup.clone();
                    aside::ask(&Question::Column(setup), move |reply| {
                        let Some(Reply::Column(spins)) = reply.filter(|_| current()) else { return };
                        let one = |s: &Seen| Some((Millimetre::new(s.column).ok()?, None));
                        found.set(spins.iter().filter_map(one).collect());
                        aside::ask(&Question::Bands(then), move |reply| {
                            if let Some(Reply::Bands(off)) = reply.filter(|_| current()) {
                                found.update(|all| {
                                    all.iter_mut().zip(&off).for_each(|((_, slot), off)| *slot = off.column);
                                });
                            }
                        });
                    });
                },
                REST,
            );
        });
    });
    found
}

/// Ends of the height at which a fluid stands.
fn ends(fluid: Fluid, off: Option<[f64; 2]>) -> Option<[Millimetre; 2]> {
    let Fluid::Dilute(height) = fluid else { return None };
    let [low, high] = off?.map(|off| Millimetre::new(height.get() + off).ok());
    Some([low?, high?])
}

#[component]
fn Inside() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let OtherRotor(chosen) = expect_context();
    let heights = heights(sheet);
    let own = memo(move || sheet.draft.with(|d| d.kit.rotor.clone()));
    let others = move || {
        let own = own.with(|r| r.as_ref().map(|r| r.id.clone()));
        desk.bench.with(|b| {
            let others = b.rotors.iter().filter(|r| Some(&r.id) != own.as_ref());
            let one = |r: &Rotor| {
                let id = r.id.clone();
                view! {
                    <option value=r.id.clone() prop:selected=move || chosen.with(|c| *c == id)>{r.name.clone()}</option>
                }
            };
            others.map(one).collect_view()
        })
    };
    // What stands in the tube of each stage, and how far its height may be off.
    let stand_in = move |programme: &Programme| {
        heights.with(|all| {
            let off = |fluid: &Fluid| match fluid {
                Fluid::Dilute(height) => all.iter().find(|(at, _)| at == height).and_then(|(_, off)| *off),
                _ => None,
            };
            let fluids = fluids(programme, |spin| all.get(spin).map(|(at, _)| *at));
            fluids.into_iter().map(|fluid| (fluid, off(&fluid))).collect::<Vec<_>>()
        })
    };
    let why = move |why: &NotCarried| desk.say(NotCarriedWords(why));
    let rows = move || {
        let c = sheet.conventions();
        let to = desk.bench.with(|b| b.rotor(&chosen.get()).cloned())?;
        let from = own.get()?;
        let rated = sheet.draft.with(|d| d.kit.container.as_ref().and_then(|c| c.rated));
        let speed = |found: &Carried| match found.over.first() {
            Some(breach) => desk.say(OverThere(breach, c.numbers)),
            None if found.unchecked => {
                format!("{} ({})", unit::rpm(found.rpm.value, &c).number, desk.say(Words::Unchecked))
            }
            None => unit::rpm(found.rpm.value, &c).number,
        };
        let none = || "–".to_owned();
        let row = |((index, stage), (fluid, off)): ((u8, &Stage), InTube)| {
            let title = desk.say(StageTitle { index, stage: Some(stage) });
            let cells = match carried(stage, fluid, &from, &to, rated) {
                Ok(None) => return None,
                Ok(Some(found)) => {
                    let off = match (&found.clearing, ends(fluid, off)) {
                        (Some(Ok(clearing)), Some(ends)) => {
                            clearing_off(stage, ends, &from, &to, rated, clearing)
                        }
                        _ => None,
                    };
                    let banded =
                        |value, off, decimals| desk.say(WithBand { value, off, decimals, style: c.numbers });
                    [
                        format!("{} {}", unit::rcf(found.force.value, &c), desk.say(RadiusShort(found.at))),
                        speed(&found),
                        match &found.clearing {
                            Some(Ok(clearing)) => {
                                let [here, there] = clearing.factors.each_ref().map(|k| k.value.get());
                                let [off_here, off_there] =
                                    off.map_or([None; 2], |off| off.factors.map(Some));
                                format!("{} → {}", banded(here, off_here, 0), banded(there, off_there, 0))
                            }
                            _ => none(),
                        },
                        match &found.clearing {
                            // A speed that may not be run has no time.
                            Some(Ok(_)) if !found.over.is_empty() => none(),
                            Some(Ok(clearing)) => {
                                let off = off.map(|off| off.time.map(|s| s / 60.0));
                                banded(clearing.time.value.get() / 60.0, off, 1)
                            }
                            Some(Err(not)) => why(not),
                            None => none(),
                        },
                    ]
                }
                Err(not) => [why(&not), none(), none(), none()],
            };
            Some(line(title, cells.into()))
        };
        sheet.draft.with(|d| {
            let programme = &d.kit.protocol.as_ref()?.programme;
            let fluids = stand_in(programme);
            Some((0u8..).zip(&programme.0).zip(fluids).filter_map(row).collect_view())
        })
    };
    // How high the fluid stands by which a time is reckoned, stage by stage.
    let stand = move || {
        let style = sheet.conventions().numbers;
        let to = desk.bench.with(|b| b.rotor(&chosen.get()).cloned())?;
        let from = own.get()?;
        let container = sheet.read.with(|(case, _)| {
            sheet.answer.with(|a| column::pictured(case, a, &Turned::default(), None).ok()?.alone)
        });
        let one = |((index, stage), (fluid, off)): ((u8, &Stage), InTube)| {
            let Fluid::Dilute(height) = fluid else { return None };
            let found = carried(stage, fluid, &from, &to, None).ok()??.clearing?.ok()?;
            let (rotors, above_minimum) = ([from.name.as_str(), to.name.as_str()], found.above_minimum);
            let height = desk.say(WithBand { value: height.get(), off, decimals: 0, style });
            let said = desk.say(FluidStands { index, height: &height, container, rotors, above_minimum });
            Some(view! { <p class="second">{said}</p> })
        };
        sheet.draft.with(|d| {
            let programme = &d.kit.protocol.as_ref()?.programme;
            let fluids = stand_in(programme);
            Some((0u8..).zip(&programme.0).zip(fluids).filter_map(one).collect_view())
        })
    };
    let (rows, stand) = (StoredValue::new_local(rows), StoredValue::new_local(stand));
    let head = move |words: Words| view! { <th scope="col" class="num">{desk.say(words)}</th> };
    view! {
        <div class="field text">
            <div class="field-name"><label for="other-rotor">{desk.say(Words::Which)}</label></div>
            <div class="entry">
                <select id="other-rotor" class="words" on:change=move |event| chosen.set(event_target_value(&event))>
                    <option value="" prop:selected=move || chosen.with(String::is_empty)>{desk.say(Words::None)}</option>
                    {others}
                </select>
            </div>
        </div>
        <Show when=move || chosen.with(|c| !c.is_empty())>
            <div class="scroll" tabindex="0" role="group" aria-label=desk.say(Words::Title)>
                <table class="table" id="carried">
                    <thead>
                        <tr>
                            <th scope="col">{desk.say(ColumnWord::Stage)}</th>
                            {head(Words::Force)}
                            {head(Words::Speed)}
                            {head(Words::Factors)}
                            {head(Words::Clearing)}
                        </tr>
                    </thead>
                    <tbody>{move || rows.with_value(|r| r())}</tbody>
                </table>
            </div>
            {move || stand.with_value(|s| s())}
            <p class="second">{desk.say(Words::ForceHolds)}</p>
            <p class="second">{desk.say(Words::ClearingHolds)}</p>
            <p class="second">{desk.say(Words::Limits)}</p>
            <p class="second">{desk.say(Words::Pictured)}</p>
        </Show>
    }
}
