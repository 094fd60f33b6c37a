//! Header: banners, clinic, the clocks of all open cases, places, the check sign; and the stages below it.

use crate::dom::prelude::*;
use crate::place::records::show_record;
use crate::shell::{focus, hash, keep};
use crate::state::{Banner, Desk, Door, Place, Sheet, Undo};
use strawline::assess::running::Running;
use strawline::assess::spin::{Happening, fits};
use strawline::draft::{DEMO_CLINIC, Stage};
use strawline::quantity::time::Instant;
use strawline::record::clocks::Clock as Kept;
use strawline::words::closed::ClosedWord;
use strawline::words::header::{Clock, NowShort, SavedAt, SignSpoken, Until};
use strawline::words::page::{Common, Frame};
use strawline::words::unit;

/// What must be known before anything else, while it holds.
#[component]
pub fn Banners() -> impl IntoView {
    let desk = Desk::here();
    let line = move |banner: Banner| {
        let shut = desk.door.get() == Door::Shut;
        let buttons = banner
            .buttons()
            .iter()
            .filter(|button| !(shut && button.acts_on_data()))
            .map(|&button| {
                let banner = banner.clone();
                view! {
                    <button type="button" class="link" on:click=move |_| keep::press(desk, &banner, button)>
                        {desk.say(button)}
                    </button>
                    " "
                }
            })
            .collect_view();
        view! { <p>{desk.say(banner)} " " {buttons}</p> }
    };
    move || {
        let all = desk.banners.get();
        (!all.is_empty()).then(|| {
            view! { <div class="banner" role="alert">{all.into_iter().map(line).collect_view()}</div> }
        })
    }
}

/// Who, which clocks run, where to go, and the sign of the case in view.
#[component]
pub fn Header() -> impl IntoView {
    let desk = Desk::here();
    let demo = memo(move || desk.sheet().is_some_and(|s| s.draft.with(|d| d.demo)));
    let clinic = move || {
        if demo.get() { DEMO_CLINIC.to_owned() } else { desk.bench.with(|b| b.clinic.name.clone()) }
    };
    let sign = move || desk.sheet().map(|sheet| view! { <Sign sheet/> });
    let open = memo(move || desk.door.get() == Door::Open);
    let lock = move || open.get().then(|| lock_now(desk));
    view! {
        <header class="head">
            <a class="wordmark" href="#worksheet">"Strawline"</a>
            <span class="clinic">{clinic}</span>
            {move || demo.get().then(|| view! { <span class="tag">{desk.say(Frame::DemoCase)}</span> })}
            <Clocks/>
            {lock}
            <nav class="places" aria-label=desk.say(Frame::Places)>{place_links(desk)}</nav>
            {sign}
        </header>
    }
}

/// Locks the page, while a lock is open.
pub fn lock_now(desk: Desk) -> Markup {
    view! {
        <button type="button" class="button small" on:click=move |_| keep::closing::shut(desk)>
            {desk.say(ClosedWord::LockNow)}
        </button>
    }
}

/// The places, the one in view marked.
pub fn place_links(desk: Desk) -> impl IntoView {
    Place::ALL
        .into_iter()
        .map(|place| {
            let words = match place {
                Place::Worksheet => Frame::Worksheet,
                Place::Records | Place::Quality | Place::Log => Frame::Records,
                Place::Bench => Frame::Bench,
            };
            view! {
                <a
                    href=format!("#{}", place.hash())
                    aria-current=move || (desk.place.get().within() == place).then_some("page")
                >
                    {desk.say(words)}
                </a>
            }
        })
        .collect_view()
}

/// Whether a case is shown by the solid sign: the second of two open ones, so that they differ by ground too.
pub fn solid(desk: Desk, sheet: Sheet) -> bool {
    let id = sheet.id();
    desk.open.with(|open| open.iter().position(|s| s.id() == id)).is_some_and(|at| at % 2 == 1)
}

/// The check sign of a case in its box.
#[component]
pub fn Sign(sheet: Sheet) -> impl IntoView {
    let desk = Desk::here();
    let sign = memo(move || sheet.draft.with(|d| d.sign));
    let spoken = move || desk.say(SignSpoken(sign.get()));
    view! {
        <b class="sign" class:solid=move || solid(desk, sheet) role="img" aria-label=spoken>
            {move || sign.get().to_string()}
        </b>
    }
}

/// One clock a case, for all that are open.
#[component]
pub fn Clocks() -> impl IntoView {
    let desk = Desk::here();
    let signed = signed_clocks(desk);
    let any = memo(move || {
        let open = desk.open.with(|open| {
            open.len() > 1 || open.iter().any(|s| s.draft.with(|d| d.times.needle_in.is_some()))
        });
        open || signed.with(|all| !all.is_empty())
    });
    // Nothing is known of cases that are closed but what was kept beside the lock; never that none runs.
    let closed = memo(move || match desk.door.get() {
        Door::NoLock => false,
        Door::Shut => desk.open.with(Vec::is_empty),
        Door::Open => desk.open.with(Vec::is_empty) && !desk.lines_read.get(),
    });
    move || {
        if any.get() {
            view! {
                <ul class="clocks" aria-label=desk.say(Frame::Clocks)>
                    <For each=move || desk.open.get() key=|s| s.id() let:sheet>
                        <OneClock sheet/>
                    </For>
                    {of_signed(desk, signed)}
                </ul>
            }
        } else if closed.get() {
            view! { <KeptClocks/> }
        } else {
            view! { <p class="clocks">{desk.say(Frame::NoClock)}</p> }
        }
    }
}

/// The clocks of cases that are still closed, as they were kept.
#[component]
fn KeptClocks() -> impl IntoView {
    let desk = Desk::here();
    let one = move |clock: Kept| {
        let (entered, spin_by, use_by) = (clock.entered, clock.spin_by, clock.use_by);
        let use_by_word = use_by_word(clock.at_latest);
        let sign = kept_sign(desk, &clock);
        let stage = move || {
            let now = desk.second.get().at;
            let (index, end, due) = clock.stage(now)?;
            let what = desk.say(NowShort(&Happening::Stage { index, ends: Some(end), due }));
            let left = match unfit(desk, entered, now) {
                Some(unfit) => unfit,
                None if due => desk.say(Clock::Due),
                None => end.since(now)?.text(),
            };
            Some(view! { {what} " " <b>{left}</b> })
        };
        view! {
            <li class="clock">
                {sign}
                " "
                {stage}
                {move || kept_by(desk, Clock::SpinBy, spin_by, entered)}
                {move || kept_by(desk, use_by_word, use_by, entered)}
            </li>
        }
    };
    move || {
        let all = desk.clocks.get();
        if all.is_empty() {
            // Opened, they are read in a moment.
            let says = (desk.door.get() == Door::Shut).then(|| desk.say(Frame::ClocksClosed));
            return view! { <p class="clocks">{says}</p> };
        }
        view! {
            <ul class="clocks" aria-label=desk.say(Frame::Clocks)>{all.into_iter().map(one).collect_view()}</ul>
        }
    }
}

/// How a use-by is told.
fn use_by_word(at_latest: bool) -> Clock {
    if at_latest { Clock::UseByAtLatest } else { Clock::UseBy }
}

fn kept_sign(desk: Desk, clock: &Kept) -> Markup {
    let sign = clock.sign;
    view! { <b class="sign" role="img" aria-label=desk.say(SignSpoken(sign))>{sign.to_string()}</b> }
}

/// That the clock of the device was set back before something that was entered.
fn unfit(desk: Desk, entered: Instant, now: Instant) -> Option<String> {
    (!entered.has_come(now)).then(|| desk.say(Clock::Unfit))
}

/// A time of a clock that is kept, and how long until then.
fn kept_by(desk: Desk, words: Clock, at: Option<Instant>, entered: Instant) -> Option<Markup> {
    let (at, now) = (at?, desk.minute.get().at);
    let conventions = desk.bench.with(|b| b.clinic.conventions);
    let left =
        unfit(desk, entered, now).unwrap_or_else(|| desk.say(Until { at, now, conventions: &conventions }));
    Some(view! { <span>{desk.say(words)} " " <b>{unit::clock(at, desk.offset.get())}</b> " " {left}</span> })
}

/// What is still to be watched of signed records that are not open.
fn signed_clocks(desk: Desk) -> Memo<Vec<(String, Kept)>> {
    memo(move || desk.signed_clocks(desk.minute.get().at))
}

/// A clock for each of them; a tap opens the record.
fn of_signed(desk: Desk, all: Memo<Vec<(String, Kept)>>) -> Markup {
    let one = move |(id, clock): (String, Kept)| {
        let (entered, use_by) = (clock.entered, clock.use_by);
        let show = move |_| {
            if desk.door.get_untracked() != Door::Shut {
                show_record(desk, &id);
            }
        };
        view! {
            <li class="clock away" class:due=move || use_by.is_some_and(|by| by < desk.minute.get().at)>
                <button type="button" on:click=show>
                    {kept_sign(desk, &clock)}
                    " "
                    {desk.say(NowShort(&Happening::HandedOver))}
                    " "
                    {move || kept_by(desk, Clock::UseBy, use_by, entered)}
                </button>
            </li>
        }
    };
    let rows = move || all.get().into_iter().map(one).collect_view();
    rows.into_view()
}

/// The clocks of the other cases that run, where this one has the whole page.
#[component]
pub fn OtherClocks() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let own = sheet.id();
    let others = memo(move || {
        let runs = |s: &Sheet| s.id() != own && s.draft.with(|d| d.times.needle_in.is_some());
        desk.open.with(|open| open.iter().copied().filter(runs).map(|s| s.id()).collect::<Vec<_>>())
    });
    let find = move |id: &str| desk.open.with_untracked(|open| open.iter().copied().find(|s| s.id() == id));
    let signed = signed_clocks(desk);
    let none = move || others.with(Vec::is_empty) && signed.with(Vec::is_empty);
    view! {
        <ul class="clocks" aria-label=desk.say(Frame::Clocks) hidden=none>
            <For each=move || others.get() key=String::clone let:id>
                {find(&id).map(|sheet| view! { <OneClock sheet/> })}
            </For>
            {of_signed(desk, signed)}
        </ul>
    }
}

/// The clock of a case; changes only when what happens changes.
pub fn running(desk: Desk, sheet: Sheet) -> Memo<Running> {
    memo(move || {
        let at = desk.second.get().at;
        sheet.read.with(|(case, _)| sheet.answer.with(|a| Running::of(case, &a.spin, at)))
    })
}

/// What is left until the end that counts down: 6:12; `None` once it is due.
pub fn countdown(desk: Desk, clock: Memo<Running>) -> Option<String> {
    let (ends, due) = clock.with(|c| (c.ends, matches!(c.now, Happening::Stage { due: true, .. })));
    let left = ends?.since(desk.second.get().at)?;
    (!due && left.0 > 0).then(|| left.text())
}

/// A time on the clock and how long until then.
pub fn until(desk: Desk, sheet: Sheet, at: Instant) -> (String, String) {
    let now = desk.minute.get();
    let conventions = sheet.conventions();
    if !sheet.read.with(|(case, _)| fits(case, now.at)) {
        return (unit::clock(at, sheet.offset.get()), desk.say(Clock::Unfit));
    }
    (unit::clock(at, sheet.offset.get()), desk.say(Until { at, now: now.at, conventions: &conventions }))
}

#[component]
fn OneClock(sheet: Sheet) -> impl IntoView {
    let desk = Desk::here();
    let clock = running(desk, sheet);
    let show = move |_| {
        desk.current.set(Some(sheet.id()));
        hash::go(Place::Worksheet);
    };
    let state = move || clock.with(|c| desk.say(NowShort(&c.now)));
    let left = move || match clock.with(|c| (c.ends.is_some(), c.due)) {
        _ if clock.with(|c| c.unfit) => Some(desk.say(Clock::Unfit)),
        // Gone, it is the use-by that tells that it has passed.
        (_, true) if clock.with(|c| c.now == Happening::HandedOver) => None,
        (_, true) => Some(desk.say(Clock::Due)),
        (true, false) => countdown(desk, clock),
        _ => None,
    };
    // Only the nearer end counts down: the strip holds other cases too.
    let by = move |words: Clock, pick: fn(&Running) -> Option<Instant>| {
        let (at, left) = until(desk, sheet, clock.with(pick)?);
        let left =
            clock.with(|c| !c.unfit && (words == Clock::SpinBy || c.spin_by.is_none())).then_some(left);
        Some(view! { <span>{desk.say(words)} " " <b>{at}</b> " " {left}</span> })
    };
    let id = sheet.id();
    let away =
        memo(move || desk.place.get() != Place::Worksheet || desk.current.with(|c| c.as_ref() != Some(&id)));
    view! {
        <li
            class="clock"
            class:away=away
            class:due=move || clock.with(|c| c.due)
            hidden=move || clock.with(Running::over)
        >
            <button type="button" on:click=show>
                <Sign sheet/>
                " "
                {state}
                " "
                <b>{left}</b>
                {move || by(Clock::SpinBy, |c| c.spin_by)}
                {move || by(use_by_word(clock.with(|c| c.at_latest)), |c| c.use_by)}
            </button>
        </li>
    }
}

/// The stages of the job, which are the navigation of the worksheet, and whether the draft is kept.
#[component]
pub fn Stages() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let current = memo(move || sheet.draft.with(|d| d.stage));
    let items = Stage::ALL
        .into_iter()
        .map(|stage| {
            view! {
                <li>
                    <button
                        type="button"
                        class="stage"
                        aria-current=move || (current.get() == stage).then_some("step")
                        on:click=move |_| go(sheet, stage)
                    >
                        {desk.say(stage)}
                    </button>
                </li>
            }
        })
        .collect_view();
    Effect::new(move |_| {
        current.track();
        request_animation_frame(|| focus::centre(".stages ol", ".stages [aria-current]"));
    });
    let saved = move || {
        let here = |undo: &Undo| undo.case.as_ref().is_none_or(|id| *id == sheet.id());
        if let Some(undo) = desk.undo.get().filter(here) {
            let back = move |_| (undo.back)();
            let button = view! {
                <button type="button" class="link" on:click=back>{desk.say(Common::Undo)}</button>
            };
            return Some(view! { {undo.done} " " {button} });
        }
        if desk.banners.with(|all| all.iter().any(|b| matches!(b, Banner::NotStored(_)))) {
            return Some(desk.say(Frame::NotSaved).into_view());
        }
        let at = desk.saved.get()?;
        Some(desk.say(SavedAt(at, desk.offset.get())).into_view())
    };
    view! {
        <nav class="stages" aria-label=desk.say(Frame::Stages)>
            <ol>{items}</ol>
            <p class="saved" role="status">{saved}</p>
        </nav>
    }
}

/// Goes to a stage and puts the keyboard at its head. The needle goes in by the button that holds its Stops and
/// starts the clock, never by walking past it.
pub fn go(sheet: Sheet, stage: Stage) {
    let unstarted = stage == Stage::NeedleIn && sheet.draft.with_untracked(|d| d.times.needle_in.is_none());
    let stage = if unstarted { Stage::BeforeNeedle } else { stage };
    if sheet.draft.with_untracked(|d| d.stage) != stage {
        sheet.edit(|d| d.stage = stage);
        request_animation_frame(|| focus::first("#work"));
    }
}
