//! Cells of the product besides its platelets, one tap behind the count.

use super::rows::{Line, shown};
use crate::dom::prelude::*;
use crate::state::{Desk, Sheet};
use crate::widget::{Choice, Entry, Fold};
use strawline::draft::{Draft, Field, SampleDilution};
use strawline::words::choice::CellsDilutionName;
use strawline::words::counting::Counting as Words;
use strawline::words::unit;

/// What is entered here of the product; what is entered of the blood may stand in the order already.
const FIELDS: [Field; 6] = [
    Field::ProductWhite,
    Field::ProductNeutrophils,
    Field::ProductLymphocytes,
    Field::ProductMonocytes,
    Field::ProductRed,
    Field::ProductHaematocrit,
];

/// The fold; open once something stands in it.
#[component]
pub fn OtherCells() -> impl IntoView {
    let desk = Desk::here();
    let sheet = Sheet::here();
    let typed = memo(move || sheet.draft.with(|d| FIELDS.iter().any(|f| !d.text(*f).is_empty())));
    let diluted = memo(move || sheet.draft.with(|d| d.dilution() == Some(SampleDilution::Diluted)));
    view! {
        <Fold title=desk.say(Words::OtherCells) wanted=typed lazy=true>
            <Show when=move || diluted.get()>
                <Choice
                    name="cells_dilution"
                    legend=Words::CellsFrom
                    of=vec![SampleDilution::Undiluted, SampleDilution::Diluted]
                    words=CellsDilutionName
                    get=|d: &Draft| d.choices.cells_dilution
                    set=|d: &mut Draft, to| d.choices.cells_dilution = to
                />
            </Show>
            <div class="pair">
                <Entry field=Field::ProductWhite/>
                <Entry field=Field::ProductHaematocrit/>
                <Entry field=Field::ProductRed/>
            </div>
            <h3 class="subheading">{desk.say(Words::Differential)}</h3>
            <div class="pair">
                <Entry field=Field::ProductNeutrophils/>
                <Entry field=Field::ProductLymphocytes/>
                <Entry field=Field::ProductMonocytes/>
            </div>
            <h3 class="subheading">{desk.say(Words::OfBlood)}</h3>
            <div class="pair">
                <Entry field=Field::BloodWhite/>
                <Entry field=Field::BloodNeutrophils/>
            </div>
            <Lines/>
        </Fold>
    }
}

/// What follows from them.
#[component]
fn Lines() -> impl IntoView {
    view! {
        <Line
            label=Words::White
            pick=|p, c| shown(p.other.white.as_ref(), c, unit::count)
            id="w-white"
        />
        <Line
            label=Words::WhiteFold
            pick=|p, c| shown(p.other.white_fold.as_ref(), c, unit::fold)
            id="w-white-fold"
        />
        <Line
            label=Words::Neutrophils
            pick=|p, c| shown(p.other.neutrophils.as_ref(), c, unit::count)
            id="w-neutrophils"
        />
        <Line label=Words::Red pick=|p, c| shown(p.other.red.as_ref(), c, unit::red_count) id="w-red"/>
        <Line
            label=Words::Haematocrit
            pick=|p, c| shown(p.other.haematocrit.as_ref(), c, unit::haematocrit)
            id="w-haematocrit"
        />
    }
}
