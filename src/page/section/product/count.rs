//! Count: how, with what readings, and what follows from them.

use super::cells::OtherCells;
use super::closing::Closing;
use super::counted::Counted;
use super::recipe::Recipe;
use crate::dom::prelude::*;
use crate::section::literature::Literature;
use crate::shell::keep;
use crate::state::{Desk, Sheet};
use crate::widget::{Choice, Entry};
use strawline::draft::field::MAX_READINGS;
use strawline::draft::{Draft, Field};
use strawline::quantity::time::Instant;
use strawline::words::order::YesNo;
use strawline::words::product::{Count as Words, CountHow, CountSays};

/// How the product is to be counted.
pub fn how(draft: &Draft) -> CountHow {
    if draft.choices.count_later {
        CountHow::Later
    } else if draft.rows.readings == 0 {
        CountHow::Not
    } else {
        CountHow::Now
    }
}

fn choose(draft: &mut Draft, to: Option<CountHow>) {
    let to = to.unwrap_or(CountHow::Now);
    draft.choices.count_later = to == CountHow::Later;
    draft.rows.readings = if to == CountHow::Not { 0 } else { draft.rows.readings.max(1) };
    if to != CountHow::Now {
        // A reading that nobody sees must not stand in a record.
        for i in 0..MAX_READINGS {
            draft.write(Field::Reading(i), "");
        }
        draft.times.counted = None;
    }
}

/// The readings as typed; none when nothing is.
fn readings(draft: &Draft) -> Vec<String> {
    let rows = 0..draft.rows.readings.min(MAX_READINGS);
    let texts: Vec<String> = rows.map(|i| draft.text(Field::Reading(i)).to_owned()).collect();
    if texts.iter().all(String::is_empty) { Vec::new() } else { texts }
}

fn put_back(draft: &mut Draft, texts: &[String], counted: Option<Instant>) {
    draft.times.counted = counted;
    draft.choices.count_later = false;
    draft.rows.readings = u8::try_from(texts.len()).unwrap_or(MAX_READINGS);
    for (i, text) in (0..MAX_READINGS).zip(texts) {
        draft.write(Field::Reading(i), text.clone());
    }
}

/// The section.
#[component]
pub fn Count() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let now = memo(move || sheet.draft.with(how));
    let says = move || match now.get() {
        CountHow::Now => None,
        CountHow::Later => Some(desk.say(CountSays::Later)),
        CountHow::Not => Some(desk.say(CountSays::Not)),
    };
    // Choosing another way takes typed readings away, and one tap brings them back.
    let typed = memo(move || sheet.draft.with(|d| (readings(d), d.times.counted)));
    Effect::new(move |before: Option<(Vec<String>, Option<Instant>)>| {
        let after = typed.get();
        let gone = after.0.is_empty() && sheet.draft.with_untracked(how) != CountHow::Now;
        if let Some((texts, counted)) = before.filter(|(texts, _)| gone && !texts.is_empty()) {
            keep::offer_undo(desk, Some(sheet.id()), desk.say(CountSays::ReadingsRemoved), move || {
                sheet.edit(|draft| put_back(draft, &texts, counted));
            });
        }
        after
    });
    view! {
        <section class="part-of">
            <h2 class="heading">{desk.say(Words::Heading)}</h2>
            <Choice
                name="count_how"
                legend=Words::How
                of=CountHow::ALL.to_vec()
                words=|how| how
                get=|d: &Draft| Some(how(d))
                set=choose
            />
            <p aria-live="polite">{says}</p>
            <Show when=move || now.get() != CountHow::Not>
                <Recipe/>
            </Show>
            <Show when=move || now.get() == CountHow::Now>
                <Readings/>
            </Show>
            // Whatever is counted or not: what stands in a record must be seen.
            <OtherCells/>
            <Closing/>
            <Counted/>
            <Literature/>
        </section>
    }
}

/// The readings with all that makes them a count.
#[component]
pub fn Readings() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rows = memo(move || sheet.draft.with(|d| d.rows.readings.min(MAX_READINGS)));
    let more = move |_| sheet.edit(|d| d.rows.readings = d.rows.readings.saturating_add(1).min(MAX_READINGS));
    let fewer = move |_| {
        let (before, counted) = sheet.draft.with_untracked(|d| (readings(d), d.times.counted));
        sheet.edit(|d| {
            d.rows.readings = d.rows.readings.saturating_sub(1);
            d.write(Field::Reading(d.rows.readings), "");
        });
        if before.last().is_some_and(|text| !text.is_empty()) {
            keep::offer_undo(desk, Some(sheet.id()), desk.say(CountSays::ReadingRemoved), move || {
                sheet.edit(|draft| put_back(draft, &before, counted));
            });
        }
    };
    view! {
        <For each=move || 0..rows.get() key=|i| *i let:index>
            <Entry field=Field::Reading(index)/>
        </For>
        <div class="buttons">
            <Show when=move || rows.get() < MAX_READINGS>
                <button type="button" class="button" on:click=more>{desk.say(Words::Add)}</button>
            </Show>
            <Show when=move || { rows.get() > 1 }>
                <button type="button" class="button" on:click=fewer>{desk.say(Words::Remove)}</button>
            </Show>
        </div>
        <Choice
            name="mixed"
            legend=Words::Mixed
            of=vec![true, false]
            words=YesNo
            get=|d: &Draft| d.choices.mixed_no_clumps
            set=|d: &mut Draft, to| d.choices.mixed_no_clumps = to
        />
    }
}
