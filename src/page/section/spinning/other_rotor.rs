//! The programme on another rotor of the Bench: each way to carry it over beside what it holds for.

use super::column::{OtherRotor, line};
use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use strawline::quantity::ClearingFactor;
use strawline::spin::rotor::Rotor;
use strawline::spin::transfer::{Carried, NotCarried, carried};
use strawline::words::choice::RadiusShort;
use strawline::words::column::ColumnWord;
use strawline::words::spin::{NotCarriedWords, OtherRotor as Words, OverThere, StageTitle};
use strawline::words::unit;
use strawline::working::{Figure, Worked};

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

#[component]
fn Inside() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let OtherRotor(chosen) = expect_context();
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
        let row = |(index, stage): (u8, &strawline::spin::programme::Stage)| {
            let title = desk.say(StageTitle { index, stage: Some(stage) });
            let cells = match carried(stage, &from, &to, rated) {
                Ok(None) => return None,
                Ok(Some(found)) => [
                    format!("{} {}", unit::rcf(found.force.value, &c), desk.say(RadiusShort(found.at))),
                    speed(&found),
                    match &found.clearing {
                        Some(Ok(clearing)) => {
                            let factor =
                                |of: &Worked<ClearingFactor>| unit::figure(&Figure::of(of.value), &c).number;
                            clearing.factors.each_ref().map(factor).join(" → ")
                        }
                        _ => none(),
                    },
                    match &found.clearing {
                        // A speed that may not be run has no time.
                        Some(Ok(_)) if !found.over.is_empty() => none(),
                        Some(Ok(clearing)) => unit::minutes(clearing.time.value, &c).number,
                        Some(Err(not)) => why(not),
                        None => none(),
                    },
                ],
                Err(not) => [why(&not), none(), none(), none()],
            };
            Some(line(title, cells.into()))
        };
        sheet.draft.with(|d| {
            let stages = &d.kit.protocol.as_ref()?.programme.0;
            Some((0u8..).zip(stages).filter_map(row).collect_view())
        })
    };
    let rows = StoredValue::new_local(rows);
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
            <p class="second">{desk.say(Words::ForceHolds)}</p>
            <p class="second">{desk.say(Words::ClearingHolds)}</p>
            <p class="second">{desk.say(Words::Limits)}</p>
            <p class="second">{desk.say(Words::Pictured)}</p>
        </Show>
    }
}
