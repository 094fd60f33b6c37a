//! A Bench that came from another device: looked at part by part before anything of it is taken.

use super::clinic;
use super::kit::{CONTAINER, PROTOCOL, ROTOR};
use super::row::{Row, Spot, differing};
use crate::dom::prelude::*;
use crate::shell::keep;
use crate::state::{CameBy, Desk};
use strawline::bench::Bench;
use strawline::bench::review::{Difference, Part, Stands, differences, taken};
use strawline::spin::programme::Programme;
use strawline::words::bench::{BenchWord, PartName, StandsSays};
use strawline::words::spin::ProgrammePlan;

/// What came, and how: a link carries no names.
pub type Came = (Bench, CameBy);

/// What differs, to be ticked, taken or left; nothing while nothing came.
pub fn review(desk: Desk, came: Signal<Option<Came>>, done: fn(Desk)) -> Markup {
    let ticked = RwSignal::new(Vec::<Part>::new());
    // What was ticked was ticked of what then stood there.
    Effect::new(move |before: Option<()>| {
        came.track();
        if before.is_some() {
            ticked.set(Vec::new());
        }
    });
    let all = memo(move || {
        came.with(|came| {
            let (bench, by) = came.as_ref()?;
            Some(desk.bench.with(|here| differences(here, bench, *by == CameBy::Link)))
        })
    });
    let take = move |parts: Vec<Part>| {
        let Some((bench, by)) = came.get_untracked() else { return };
        let old = desk.bench.get_untracked();
        let new = taken(&old, &bench, by == CameBy::Link, &parts);
        desk.bench.set(new.clone());
        ticked.set(Vec::new());
        done(desk);
        keep::offer_undo(desk, None, desk.say(BenchWord::Taken), move || {
            // The Bench of before knows nothing of what was changed since.
            if desk.bench.with_untracked(|now| *now == new) {
                desk.bench.set(old.clone());
            } else {
                keep::undo_refused(desk, desk.say(BenchWord::NotTakenBack));
            }
        });
    };
    let every = move |_| {
        let parts = all.with_untracked(|all| {
            let can = all.iter().flatten().filter(|d| d.can_be_taken());
            can.map(|d| d.part.clone()).collect()
        });
        take(parts);
    };
    let leave = move |_| {
        ticked.set(Vec::new());
        done(desk);
    };
    let shown = move || {
        let all = all.get()?;
        let link = came.with(|c| c.as_ref().is_some_and(|(_, by)| *by == CameBy::Link));
        let unnamed = link.then(|| view! { <p class="second">{desk.say(BenchWord::LinkHasNot)}</p> });
        let leaves = view! {
            <button type="button" class="button" on:click=leave>{desk.say(BenchWord::LeaveIt)}</button>
        };
        if !all.iter().any(Difference::can_be_taken) {
            let held = all.iter().any(|d| d.stands == Stands::NeedsLead);
            let word = if held { BenchWord::NothingToTake } else { BenchWord::NothingNew };
            return Some(view! {
                <h3 class="subheading" id="review" tabindex="-1">{desk.say(BenchWord::Review)}</h3>
                <p>{desk.say(word)}</p>
                {all.into_iter().map(|d| line(desk, d, came, ticked)).collect_view()}
                <div class="buttons">{leaves}</div>
            });
        }
        Some(view! {
            <h3 class="subheading" id="review" tabindex="-1">{desk.say(BenchWord::Review)}</h3>
            <p class="second">{desk.say(BenchWord::ReviewWhat)}</p>
            {unnamed}
            {all.into_iter().map(|d| line(desk, d, came, ticked)).collect_view()}
            <div class="buttons">
                <button type="button" class="button" on:click=every>{desk.say(BenchWord::TakeAll)}</button>
                <button
                    type="button"
                    class="button"
                    disabled=move || ticked.with(Vec::is_empty)
                    on:click=move |_| take(ticked.get_untracked())
                >
                    {desk.say(BenchWord::TakeTicked)}
                </button>
                {leaves}
            </div>
        })
    };
    shown.into_view()
}

fn line(desk: Desk, d: Difference, came: Signal<Option<Came>>, ticked: RwSignal<Vec<Part>>) -> Markup {
    let (can, part) = (d.can_be_taken(), d.part.clone());
    let says = desk.say(StandsSays(&d));
    let head = view! { <b>{desk.say(PartName(&d))}</b> <span class="second">{says}</span> };
    let rows = if d.stands == Stands::OnlyHere { Vec::new() } else { changed(desk, &d.part, came) };
    let rows = (!rows.is_empty()).then(|| {
        let rows = rows.into_iter().map(|(what, now, new)| {
            view! { <tr> <th scope="row">{what}</th> <td>{now}</td> <td>{new}</td> </tr> }
        });
        view! {
            <div class="wide" tabindex="0" role="region" aria-label=desk.say(PartName(&d))>
                <table class="table">
                    <thead>
                        <tr>
                            <td></td>
                            <th scope="col">{desk.say(BenchWord::Now)}</th>
                            <th scope="col">{desk.say(BenchWord::InFile)}</th>
                        </tr>
                    </thead>
                    <tbody>{rows.collect_view()}</tbody>
                </table>
            </div>
        }
    });
    if !can {
        return view! { <p>{head}</p> };
    }
    let of = part.clone();
    let tick = move |event: web_sys::Event| {
        let on = event_target_checked(&event);
        ticked.update(|all| {
            all.retain(|p| *p != part);
            if on {
                all.push(part.clone());
            }
        });
    };
    view! {
        <label class="check">
            <input type="checkbox" prop:checked=move || ticked.with(|all| all.contains(&of)) on:change=tick/>
            <span>{head}</span>
        </label>
        {rows}
    }
}

/// Entries of a part that are not the same: what, here, as it came.
fn changed(desk: Desk, part: &Part, came: Signal<Option<Came>>) -> Vec<(String, String, String)> {
    let place = |b: &Bench| -> Option<usize> {
        match part {
            Part::Container(id) => b.containers.iter().position(|c| c.id == *id),
            Part::Rotor(id) => b.rotors.iter().position(|r| r.id == *id),
            Part::Protocol(id) => b.protocols.iter().position(|p| p.id == *id),
            _ => Some(0),
        }
    };
    let table: &'static [Row] = match part {
        Part::Container(_) => CONTAINER,
        Part::Rotor(_) => ROTOR,
        Part::Protocol(_) => PROTOCOL,
        Part::Clinic => clinic::CLINIC.get(..2).unwrap_or_default(),
        Part::Wordings => clinic::CLINIC.get(2..).unwrap_or_default(),
        Part::Labels => clinic::LABELS.split_last().map(|(_, labels)| labels).unwrap_or_default(),
        Part::CodedReference => {
            clinic::LABELS.split_last().map(|(code, _)| std::slice::from_ref(code)).unwrap_or_default()
        }
        Part::Units => clinic::UNITS,
        Part::Limits => clinic::LIMITS,
        Part::Clock => clinic::CLOCK,
        Part::Analyser => clinic::ANALYSER,
        Part::Keeping => clinic::KEEPING,
        Part::ChartOrder => &[],
    };
    came.with_untracked(|came| {
        let Some((new, by)) = came.as_ref() else { return Vec::new() };
        desk.bench.with_untracked(|now| {
            let Some(b) = place(new) else { return Vec::new() };
            // A new entry stands against nothing.
            let a = place(now).unwrap_or(usize::MAX);
            // What a link does not carry is not proposed either.
            let mut new = new.clone();
            if *by == CameBy::Link {
                new.limits_lead.clone_from(&now.limits_lead);
            }
            let (a_spot, b_spot) = (Spot { item: a }, Spot { item: b });
            let mut rows = differing(desk, table, (now, a_spot), (&new, b_spot));
            if matches!(part, Part::Protocol(_)) {
                rows.extend(differing(desk, super::programme::FIXED, (now, a_spot), (&new, b_spot)));
            }
            let programme =
                |b: &Bench, at: usize| b.protocols.get(at).map(|p| p.programme.clone()).unwrap_or_default();
            let (mine, theirs) = (programme(now, a), programme(&new, b));
            if matches!(part, Part::Protocol(_)) && mine != theirs {
                let told = |programme: &Programme| {
                    desk.say(ProgrammePlan { programme, conventions: &now.clinic.conventions })
                };
                rows.push((desk.say(BenchWord::Programme), told(&mine), told(&theirs)));
            }
            if *part == Part::ChartOrder {
                let told = |b: &Bench| {
                    b.clinic.chart.parts().iter().map(|p| desk.say(*p)).collect::<Vec<_>>().join(", ")
                };
                rows.push((desk.say(BenchWord::ChartOrder), told(now), told(&new)));
            }
            rows
        })
    })
}
