//! Which rotor, and what it and the container are rated for.

use crate::dom::prelude::*;
use crate::section::order::RotorPick;
use crate::state::{Desk, Sheet};
use strawline::quantity::unit::Conventions;
use strawline::spin::rcf::RadiusKind;
use strawline::spin::rotor::Rotor;
use strawline::words::choice::{RadiusName, RotorKindName};
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
    view! { <RotorPick hint=about/> }
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
