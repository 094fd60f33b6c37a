//! The recipe of a count: how much to take, what it goes into, what the analyser should then read and whether it
//! counts in proportion there.

use crate::dom::prelude::*;
use crate::section::order::Newer;
use crate::state::{Desk, Sheet};
use crate::widget::{Choice, Entry, Explained, Opens, WorkingTable};
use strawline::draft::{Draft, Field, ProductTube, SampleDilution};
use strawline::product::recipe::{self, Linear};
use strawline::quantity::Quantity;
use strawline::words::choice::{ProductTubeName, SampleDilutionName};
use strawline::words::counting::{Counting, LinearWords, MixWords};
use strawline::words::page::Common;
use strawline::words::product::{Count as Words, CountSays, ProductLine};
use strawline::words::unit::{self, Written};

/// Before the count.
#[component]
pub fn Recipe() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let standing = Signal::derive(move || {
        let c = sheet.conventions();
        sheet.read.with(|(case, _)| case.count.sample.map(|v| unit::volume(v, &c).number).unwrap_or_default())
    });
    let recipe: Memo<Option<recipe::Recipe>> =
        memo(move || sheet.read.with(|(case, _)| sheet.answer.with(|a| a.product.recipe(case))));
    view! {
        <h3 class="subheading">{desk.say(Counting::Recipe)}</h3>
        <Entry field=Field::CountSample step=0.1 standing/>
        <Prepared/>
        <Mix recipe/>
        <Expected recipe/>
        <Newer
            differs=|d, b| d.kit.analyser != b.analyser
            copy=|d, b| d.kit.analyser = b.analyser
            says=desk.say(CountSays::AnalyserChanged)
        />
    }
}

/// How the sample came to the analyser: its tube, undiluted or diluted by how much. One of these must be said
/// before a reading is a count.
#[component]
pub fn Prepared() -> impl IntoView {
    let sheet = Sheet::here();
    let diluted = memo(move || sheet.draft.with(|d| d.dilution() == Some(SampleDilution::Diluted)));
    let citrate =
        memo(move || sheet.draft.with(|d| d.choices.product_tube == Some(ProductTube::LiquidCitrate)));
    view! {
        <Choice
            name="product_tube"
            legend=Counting::Tube
            of=vec![ProductTube::Plain, ProductTube::LiquidCitrate]
            words=ProductTubeName
            get=|d: &Draft| d.choices.product_tube
            set=|d: &mut Draft, to| {
                d.choices.product_tube = to;
                if to != Some(ProductTube::LiquidCitrate) {
                    // A factor that nobody sees must not stand in a record.
                    d.write(Field::SampleFactor, "");
                }
            }
        />
        <Show when=move || citrate.get()>
            <Entry field=Field::SampleFactor/>
        </Show>
        <Choice
            name="dilution_how"
            legend=Words::Dilution
            of=vec![SampleDilution::Undiluted, SampleDilution::Diluted]
            words=SampleDilutionName
            get=Draft::dilution
            set=|d: &mut Draft, to| {
                d.choices.dilution = to;
                if to != Some(SampleDilution::Diluted) {
                    d.write(Field::Dilution, "");
                    d.choices.cells_dilution = None;
                }
            }
        />
        <Show when=move || diluted.get()>
            <Entry field=Field::Dilution/>
        </Show>
    }
}

/// What goes together for the dilution.
#[component]
fn Mix(recipe: Memo<Option<recipe::Recipe>>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let value = Signal::derive(move || -> Explained {
        let conventions = sheet.conventions();
        recipe.with(|r| {
            let mix = r.as_ref()?.mix.as_ref()?;
            let words = MixWords { product: mix.product, diluent: mix.diluent.value, conventions };
            Some((Written { number: desk.say(words), unit: "" }, mix.diluent.working.clone()))
        })
    });
    row(value, "w-mix", desk.say(Counting::Mix).into_view(), None)
}

/// What the analyser should read, and whether it counts in proportion there.
#[component]
fn Expected(recipe: Memo<Option<recipe::Recipe>>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let value = Signal::derive(move || -> Explained {
        let c = sheet.conventions();
        recipe.with(|r| {
            let reading = r.as_ref()?.reading.as_ref()?;
            Some((unit::count_predicted(reading.value.median, &c), reading.working.clone()))
        })
    });
    let around = move || {
        let c = sheet.conventions();
        recipe.with(|r| {
            let recipe = r.as_ref()?;
            let reading = recipe.reading.as_ref()?.value;
            let (low, high) =
                (unit::count_predicted(reading.low, &c), unit::count_predicted(reading.high, &c));
            let at = match recipe.dilution.filter(|d| d.get() > 1.0) {
                Some(d) => ProductLine::AtDilution(unit::factor(d, &c).number),
                None => ProductLine::Undiluted,
            };
            let range = desk.say(ProductLine::Range(low, high));
            Some(format!("{}; {range} ({})", desk.say(at), desk.say(Common::Range80)))
        })
    };
    let linear = move || {
        let c = sheet.conventions();
        recipe.with(|r| {
            let recipe = r.as_ref()?;
            let rather = recipe.rather.map(|d| unit::factor(d, &c));
            Some(desk.say(LinearWords(recipe.linear?, rather)))
        })
    };
    let outside = Signal::derive(move || {
        let linear = recipe.with(|r| r.as_ref()?.linear);
        linear.is_some_and(|l| !matches!(l, Linear::Inside | Linear::NotKnown))
    });
    let name = view! {
        {desk.say(Words::Expect)}
        <p class="second">{around}</p>
    };
    let below = view! { <p class="second" class:wrong=outside aria-live="polite">{linear}</p> };
    row(value, "w-reading", name.into_view(), Some(below.into_view()))
}

/// A name beside a number that opens below it, and what is said of it; hidden while there is no number.
fn row(value: Signal<Explained>, id: &'static str, name: Markup, below: Option<Markup>) -> Markup {
    let open = RwSignal::new(false);
    view! {
        <div class="field" hidden=move || value.with(Option::is_none)>
            <div class="field-name">{name}</div>
            <div class="entry"><Opens value open id/></div>
            {below}
            <WorkingTable value open id/>
        </div>
    }
}
