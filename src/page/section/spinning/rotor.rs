//! Which rotor, and what it and the container are rated for.

use crate::dom::prelude::*;
use crate::section::order::RotorPick;
use crate::state::{Desk, Sheet};
use strawline::log::{Centrifuge, Checked};
use strawline::quantity::unit::Conventions;
use strawline::spin::rcf::RadiusKind;
use strawline::spin::rotor::Rotor;
use strawline::words::choice::{RadiusName, RotorKindName};
use strawline::words::log::{CheckLine, LogWord, MachineName};
use strawline::words::spin::{SpinLabel, SpinSentence};
use strawline::words::unit::{self, Written};

/// The rotor with its kind and radii.
#[component]
pub fn RotorChoice() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rotor = memo(move || sheet.draft.with(|d| d.kit.rotor.clone()));
    let about = Signal::derive(move || {
        let c = sheet.conventions();
        Some(rotor.with(|r| match r {
            Some(rotor) => radii(desk, rotor, &c),
            None => desk.say(SpinSentence::NoRotor),
        }))
    });
    view! { <RotorPick hint=about/> <CentrifugeChoice/> }
}

/// The centrifuge it spins on, with its checks: one of those of the log that turn the rotor, chosen by a tap until the
/// spin begins, and where none was chosen also after.
#[component]
fn CentrifugeChoice() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let all = memo(move || {
        sheet.draft.with(|d| {
            let begun = !d.times.stages.is_empty();
            d.kit.rotor.as_ref().map(|_| (d.kit.centrifuges.all.clone(), d.kit.centrifuge.clone(), begun))
        })
    });
    move || {
        let (all, chosen, begun) = all.get()?;
        let now = desk.minute.get();
        let day = now.at.local(now.offset).map(|(day, _)| day);
        let name = |c: &Centrifuge| desk.say(MachineName { name: &c.name, serial: &c.serial });
        let pick = (!all.is_empty() && (!begun || chosen.is_none())).then(|| {
            let options: Vec<_> = all
                .iter()
                .map(|c| {
                    let selected = chosen.as_ref().is_some_and(|own| own.id == c.id);
                    view! { <option value=c.id.clone() prop:selected=move || selected>{name(c)}</option> }
                })
                .collect();
            let none = chosen.is_none();
            let only = all.first().filter(|_| none && all.len() == 1).cloned().map(|c| {
                let words = format!("{} {}", desk.say(LogWord::SpinsOn), name(&c));
                let tap = move |_| sheet.edit(|d| d.kit.centrifuge = Some(c.clone()));
                view! { <button type="button" class="offer" id="centrifuge" on:click=tap>{words}</button> }.into_view()
            });
            let pick = move |event| {
                let id = event_target_value(&event);
                let centrifuge = all.iter().find(|c| c.id == id).cloned();
                sheet.edit(|d| d.kit.centrifuge = centrifuge);
            };
            let choice = only.unwrap_or_else(|| {
                view! {
                    <select id="centrifuge" class="words" aria-label=desk.say(LogWord::Centrifuge) on:change=pick>
                        <option value="" prop:selected=move || none>{desk.say(LogWord::NotSaid)}</option>
                        {options.into_iter().collect_view()}
                    </select>
                }
                .into_view()
            });
            view! {
                <p class="second">{desk.say(LogWord::WhichCentrifuge)}</p>
                {choice}
            }
        });
        let lines: Vec<_> = chosen
            .iter()
            .flat_map(|c| {
                Checked::ALL.map(|of| {
                    let check = c.check(of);
                    let state = day.and_then(|day| check.on_day(day));
                    view! { <p class="second" class:wrong=state.is_some()>{desk.say(CheckLine { of, check, state })}</p> }
                })
            })
            .collect();
        let named =
            chosen.as_ref().map(|c| view! { <p>{desk.say(LogWord::Centrifuge)} ": " <b>{name(c)}</b></p> });
        let none = (chosen.is_none() && pick.is_none())
            .then(|| view! { <p class="second">{desk.say(LogWord::NoCentrifuge)}</p> });
        Some(
            view! { <div class="field"><div class="field-name">{named} {pick} {lines.into_iter().collect_view()} {none}</div></div> },
        )
    }
}

/// Kind and radii of a rotor, in a line.
fn radii(desk: Desk, rotor: &Rotor, c: &Conventions) -> String {
    let known = [(RadiusKind::Minimum, rotor.minimum), (RadiusKind::Maximum, rotor.maximum)];
    let mut parts = vec![desk.say(RotorKindName(rotor.kind))];
    parts.extend(
        known
            .into_iter()
            .filter_map(|(kind, r)| Some(format!("{} {}", unit::radius(r?, c), desk.say(RadiusName(kind))))),
    );
    if parts.len() == 1 {
        parts.push(desk.say(SpinLabel::NoRadius));
    }
    parts.join("; ")
}

/// What must not be passed. A rating that is not on record is said to be none.
#[component]
pub fn Ratings() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rows = memo(move || {
        let c = sheet.conventions();
        sheet.draft.with(|d| {
            let (rotor, container) = (d.kit.rotor.as_ref(), d.kit.container.as_ref());
            [
                (SpinLabel::RatedRotor, rotor.and_then(|r| r.rated_rpm).map(|v| unit::rpm(v, &c))),
                (SpinLabel::RatedBucket, rotor.and_then(|r| r.rated_bucket).map(|v| unit::rcf(v, &c))),
                (SpinLabel::RatedContainer, container.and_then(|k| k.rated).map(|v| unit::rcf(v, &c))),
            ]
        })
    });
    let row = move |(label, rated): (SpinLabel, Option<Written>)| {
        let value = match rated {
            Some(w) => view! { <b>{w.to_string()}</b> },
            None => desk.say(SpinLabel::NotOnRecord).into_view(),
        };
        view! { <tr><th scope="row">{desk.say(label)}</th><td class="num">{value}</td></tr> }
    };
    view! {
        <table class="table">
            <caption>{desk.say(SpinLabel::Ratings)}</caption>
            <tbody>{move || rows.get().into_iter().map(row).collect_view()}</tbody>
        </table>
    }
}
