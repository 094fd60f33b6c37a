//! Which radius is which, drawn beside the numbers as they are entered.

use super::row::Spot;
use crate::dom::prelude::*;
use crate::picture::rotor::{RadiiPicture, RadiiView};
use crate::state::Desk;
use strawline::quantity::Quantity;
use strawline::spin::rcf::RadiusKind;
use strawline::spin::rotor::RotorKind;
use strawline::words::rotor::{RadiiSaid, RadiusMark, RotorWord};

/// The drawing and its text.
pub fn radii(desk: Desk, spot: Signal<Spot>) -> Markup {
    let rotor = memo(move || desk.bench.with(|b| b.rotors.get(spot.get().item).cloned()));
    let conventions = move || desk.bench.with(|b| b.clinic.conventions);
    let view = Signal::derive(move || {
        rotor.with(|rotor| {
            let Some(rotor) = rotor else { return RadiiView::default() };
            let c = conventions();
            let kinds = [RadiusKind::Minimum, RadiusKind::Mean, RadiusKind::Maximum];
            let known = kinds.into_iter().filter_map(|kind| {
                let at = rotor.radius(kind).ok()?.radius;
                Some((at.get(), desk.say(RadiusMark(kind, at, &c))))
            });
            let mm = |kind| rotor.radius(kind).ok().map(|r| r.radius.get());
            RadiiView {
                slanted: rotor.kind == RotorKind::FixedAngle,
                ends: (mm(RadiusKind::Minimum), mm(RadiusKind::Maximum)),
                radii: known.collect(),
                axis: desk.say(RotorWord::Axis),
            }
        })
    });
    let said = Signal::derive(move || {
        let c = conventions();
        rotor.with(|r| r.as_ref().map(|r| desk.say(RadiiSaid(r, &c))).unwrap_or_default())
    });
    view! {
        <div class="radii">
            <RadiiPicture view=view label=said/>
            <p class="second">{move || said.get()}</p>
        </div>
    }
}
