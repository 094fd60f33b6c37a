//! The spin closed by measurement: what came out against what was filled, and where the platelets are.

use super::rows::{Line, shown};
use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use crate::widget::{Entry, Fold};
use strawline::draft::Field;
use strawline::product::closing::Closes;
use strawline::words::counting::{Counting as Words, SharesWords};
use strawline::words::product::CountSays;
use strawline::words::unit;

/// The fold; open once something stands in it.
#[component]
pub fn Closing(
    /// The platelet-poor plasma is asked here too, where Collect is not in view.
    #[prop(optional)]
    alone: bool,
) -> impl IntoView {
    let desk = Desk::here();
    let sheet = Sheet::here();
    let typed = memo(move || {
        let fields = [Field::CellsVolume, Field::PlasmaReading];
        sheet.draft.with(|d| fields.iter().any(|f| !d.text(*f).is_empty()))
    });
    let closes = memo(move || sheet.answer.with(|a| a.product.volumes.as_ref().map(|v| v.closes)));
    let shares = move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let shares = a.product.balance.as_ref()?.shares.as_ref()?;
            Some(desk.say(SharesWords(shares, &c)))
        })
    };
    view! {
        <Fold title=desk.say(Words::Closing) wanted=typed lazy=true>
            <p class="second">{desk.say(CountSays::ClosingNeeds)}</p>
            {alone.then(|| view! { <Entry field=Field::PoorPlasma step=1.0/> })}
            <Entry field=Field::CellsVolume step=1.0/>
            <Entry field=Field::PlasmaReading/>
            <Line
                label=Words::FoundVolumes
                pick=|p, c| shown(p.volumes.as_ref().map(|v| &v.found), c, unit::volume)
                id="w-found"
            />
            <Line
                label=Words::Tolerance
                pick=|p, c| shown(p.volumes.as_ref().map(|v| &v.tolerance), c, unit::volume)
                id="w-tolerance"
            />
            // What does not close is a finding as well, with what to do.
            <p class:wrong=move || closes.get().is_some_and(|c| c != Closes::Within) aria-live="polite">
                {move || closes.get().map(|c| desk.say(c))}
            </p>
            <Line
                label=Words::InPlasma
                pick=|p, c| shown(p.balance.as_ref().map(|b| &b.plasma), c, unit::cells)
                id="w-in-plasma"
            />
            <Line
                label=Words::Elsewhere
                pick=|p, c| shown(p.balance.as_ref().and_then(|b| b.elsewhere.as_ref()), c, unit::cells)
                id="w-elsewhere"
            />
            <p aria-live="polite">{shares}</p>
        </Fold>
    }
}
