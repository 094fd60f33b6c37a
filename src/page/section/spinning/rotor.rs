//! Which rotor, and what it and the container are rated for.

use crate::state::{Desk, Sheet};
use crate::wire::{dynamic, memo};
use leptos::prelude::*;
use strawline::quantity::unit::Conventions;
use strawline::spin::rcf::RadiusKind;
use strawline::spin::rotor::Rotor;
use strawline::words::choice::{RadiusName, RotorKindName};
use strawline::words::spin::{SpinLabel, SpinSentence};
use strawline::words::unit::{self, Written};

/// The rotor, chosen from Bench and copied into the case.
#[component]
pub fn RotorChoice() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rotor = memo(move || sheet.draft.with(|d| d.kit.rotor.clone()));
    // The rotor of the case first, as it was when it was chosen; Bench may have changed since.
    let offered = memo(move || {
        let mut all: Vec<Rotor> = rotor.get().into_iter().collect();
        desk.bench.with(|b| {
            all.extend(
                b.rotors.iter().filter(|r| all.iter().all(|a| a.id != r.id)).cloned().collect::<Vec<_>>(),
            )
        });
        all
    });
    let choose = move |event| {
        let id = event_target_value(&event);
        let chosen = offered.with_untracked(|all| all.iter().find(|r| r.id == id).cloned());
        sheet.edit(|draft| draft.kit.rotor = chosen);
    };
    let options = move || {
        let current = rotor.with(|r| r.as_ref().map(|r| r.id.clone()));
        let none = current.is_none();
        let rows = offered
            .get()
            .into_iter()
            .map(|r| {
                let selected = current.as_deref() == Some(r.id.as_str());
                view! { <option value=r.id selected=selected>{r.name}</option> }
            })
            .collect_view();
        view! {
            <option value="" selected=none>{desk.say(SpinLabel::NoRotor)}</option>
            {rows}
        }
    };
    let about = move || {
        let c = sheet.conventions();
        rotor.with(|r| match r {
            Some(rotor) => radii(desk, rotor, &c),
            None => desk.say(SpinSentence::NoRotor),
        })
    };
    view! {
        <div class="field text">
            <div class="field-name">
                <label for="rotor">{desk.say(SpinLabel::Rotor)}</label>
                <p class="second" id="rotor-more">{about}</p>
            </div>
            <div class="entry">
                <select id="rotor" class="words" aria-describedby="rotor-more" on:change=choose>{options}</select>
            </div>
        </div>
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
            Some(w) => view! { <b>{w.to_string()}</b> }.into_any(),
            None => desk.say(SpinLabel::NotOnRecord).into_any(),
        };
        view! { <tr><th scope="row">{desk.say(label)}</th><td class="num">{value}</td></tr> }
    };
    view! {
        <table class="table">
            <caption>{desk.say(SpinLabel::Ratings)}</caption>
            <tbody>{dynamic(move || rows.get().into_iter().map(row).collect_view())}</tbody>
        </table>
    }
}
