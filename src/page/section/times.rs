//! Times, as entered: each can be set to another clock time, with its trace; one whose tap was forgotten is entered with
//! the time when it was; two of the taps can be taken back.

use crate::dom::prelude::*;
use crate::shell::{clock, keep};
use crate::state::{Desk, Sheet};
use crate::widget::{AmenderFirst, Fold, by};
use strawline::draft::{Correction, Draft, TimeOf, TimeRefused};
use strawline::quantity::time::Instant;
use strawline::words::product::DayAndTime;
use strawline::words::times::{TimeCorrected, TimeName, TimeRefusal, TimesSays, TimesWord};
use strawline::words::unit;

/// All times entered and those left out, folded away until one is asked for.
#[component]
pub fn Times() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let all = memo(move || sheet.draft.with(Draft::times_told));
    let wanted = memo(move || sheet.draft.with(Draft::asks_left_out));
    view! {
        <div hidden=move || all.with(Vec::is_empty)>
            <Fold title=desk.say(TimesWord::Heading) wanted=wanted>
                <p class="second">{desk.say(TimesSays::Help)}</p>
                <AmenderFirst/>
                <For each=move || all.get() key=|what| *what let:what><Time what/></For>
            </Fold>
        </div>
    }
}

/// A moment on the clock, with its day where that is not the day of the draw.
fn moment(desk: Desk, sheet: Sheet, at: Instant) -> String {
    let offset = sheet.offset.get();
    let draw = sheet.draft.with(|d| d.times.needle_in.unwrap_or(d.begun));
    let same = unit::date(at, offset) == unit::date(draw, offset);
    if same { unit::clock(at, offset) } else { desk.say(DayAndTime(at, offset)) }
}

#[component]
fn Time(what: TimeOf) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let at = memo(move || sheet.draft.with(|d| d.times.get(what)));
    let typed = sheet.half_typed.of(&what.key(), "");
    let refused = RwSignal::new(None::<TimeRefused>);
    let correct = move || {
        let (now, offset) = (clock::now().at, sheet.offset.get_untracked());
        let read =
            sheet.draft.with_untracked(|d| d.corrected_time(what, &typed.get_untracked(), offset, now));
        refused.set(read.err());
        let Ok(to) = read else { return };
        if let Some(by) = by(desk, sheet) {
            typed.set(String::new());
            sheet.edit(|d| d.correct(what, to, by, now));
        }
    };
    let trace = memo(move || {
        sheet.draft.with(|d| d.corrections.iter().filter(|c| c.what == what).cloned().collect::<Vec<_>>())
    });
    let line = move |c: Correction| {
        let [was, now, at] = [c.was, c.now, c.at].map(|at| moment(desk, sheet, at));
        let said = desk.say(TimeCorrected { what, was, now, times: 1, by: c.by, at });
        view! { <p class="second">{said}</p> }
    };
    let id = what.key();
    let name = desk.say(TimeName(what));
    let stands = move || match at.get() {
        Some(at) => view! { <b>{moment(desk, sheet, at)}</b> },
        None => view! { <span class="second">{desk.say(TimesWord::NotEntered)}</span> },
    };
    let button =
        move || desk.say(if at.with(Option::is_some) { TimesWord::Correct } else { TimesWord::Enter });
    let reading = format!("{id}-reading");
    view! {
        <div class="field">
            <div class="field-name">
                <label for=id.clone()>{name}</label>
                {move || trace.get().into_iter().map(line).collect_view()}
            </div>
            <div class="entry">
                {stands}
                <input
                    id=id
                    class="number"
                    inputmode="decimal"
                    autocomplete="off"
                    aria-describedby=reading.clone()
                    aria-invalid=move || refused.get().map(|_| "true")
                    prop:value=typed
                    on:input=move |e| typed.set(event_target_value(&e))
                    on:keydown=move |e| {
                        if e.key() == "Enter" {
                            correct();
                        }
                    }
                />
                <button
                    type="button"
                    class="button"
                    aria-label=move || format!("{}: {}", button(), desk.say(TimeName(what)))
                    on:click=move |_| correct()
                >
                    {button}
                </button>
            </div>
            <p class="reading" class:wrong=move || refused.get().is_some() id=reading aria-live="polite">
                {move || refused.get().map(|why| desk.say(TimeRefusal(why)))}
            </p>
        </div>
    }
}

/// The way back from a tap, as long as nothing rests on it.
#[component]
pub fn TakeBack() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let which = memo(move || {
        sheet.draft.with(|d| match (d.needle_out_can_go(), d.spin_end_can_go()) {
            (true, _) => Some(TimeOf::NeedleOut),
            (false, true) => Some(TimeOf::SpinEnd),
            (false, false) => None,
        })
    });
    let tapped = move |what: TimeOf| {
        let place: fn(&mut Draft) -> &mut Option<Instant> = match what {
            TimeOf::NeedleOut => |d| &mut d.times.needle_out,
            _ => |d| &mut d.times.spin_end,
        };
        let said = match what {
            TimeOf::NeedleOut => TimesSays::NeedleOutTakenBack,
            _ => TimesSays::SpinEndTakenBack,
        };
        let Some(at) = sheet.draft.with_untracked(|d| d.times.get(what)) else { return };
        sheet.edit(|d| *place(d) = None);
        keep::offer_undo(desk, Some(sheet.id()), desk.say(said), move || {
            // Tapped again meanwhile, the later one is the true one.
            sheet.edit(|d| {
                place(d).get_or_insert(at);
            });
        });
    };
    move || {
        let what = which.get()?;
        let words = match what {
            TimeOf::NeedleOut => TimesWord::NeedleOutMistake,
            _ => TimesWord::SpinEndMistake,
        };
        Some(view! {
            <div class="buttons">
                <button type="button" class="button" on:click=move |_| tapped(what)>{desk.say(words)}</button>
            </div>
        })
    }
}
