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
use strawline::draft::{Draft, Field, ReadingsTaken};
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
    let typed = memo(move || sheet.draft.with(Draft::readings_typed));
    Effect::new(move |before: Option<Option<ReadingsTaken>>| {
        let after = typed.get();
        let gone = after.is_none() && sheet.draft.with_untracked(how) != CountHow::Now;
        if let Some(taken) = before.flatten().filter(|_| gone) {
            keep::offer_undo(desk, Some(sheet.id()), desk.say(CountSays::ReadingsRemoved), move || {
                sheet.edit(|d| d.restore_readings(&taken));
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
        let mut taken = None;
        sheet.edit(|d| taken = d.take_reading());
        let Some(taken) = taken else { return };
        keep::offer_undo(desk, Some(sheet.id()), desk.say(CountSays::ReadingRemoved), move || {
            sheet.edit(|d| d.restore_readings(&taken));
        });
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
