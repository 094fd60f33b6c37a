//! The column at a moment, beside it another; played, moved through and stepped.

use super::{Came, FRAMES, Shown};
use crate::dom::prelude::*;
use crate::picture::spun::{SpunPicture, SpunView};
use crate::shell::motion;
use crate::state::{Desk, Sheet};
use std::time::Duration;
use strawline::quantity::unit::NumberStyle;
use strawline::quantity::{Millimetre, Quantity};
use strawline::spin::column::ask::{Off, Part, Seen};
use strawline::spin::column::{Setup, too_low};
use strawline::spin::tube::{End, Tube};
use strawline::words::column::{ColumnWord as Words, MomentLine, NotBesideWords, Scale};

fn class(part: Part) -> &'static str {
    match part {
        Part::Plasma => "spun-plasma",
        Part::Falling => "blood falling",
        Part::Packed => "blood",
        Part::Pellet => "left",
    }
}

/// What both columns are drawn to.
#[derive(Clone, Copy, PartialEq)]
struct Scales {
    /// Highest column and widest tube [mm].
    highest: f64,
    widest: f64,
    /// Most that platelets come to.
    most: f64,
}

fn view_of(
    (desk, style): (Desk, NumberStyle),
    setup: &Setup,
    spins: &[Seen],
    at: (usize, f64),
    scales: Scales,
    lined: bool,
) -> Option<SpunView> {
    let (spin, seconds) = at;
    let (seen, tube) = (spins.get(spin)?, setup.spins.get(spin)?.tube);
    let frame = seen.frame_at(seconds);
    let parts = seen.parts(frame, spin > 0);
    Some(SpunView {
        tube,
        column: seen.column,
        highest: scales.highest,
        widest: scales.widest,
        parts: parts.into_iter().map(|(part, from, to)| (class(part), desk.say(part), from, to)).collect(),
        layers: seen.filled(frame),
        gathers: seen.gathered(frame).map(|ends| (ends, desk.say(Words::Gathers))),
        most: scales.most,
        line: (lined && frame + 1 == FRAMES).then(|| (seen.line, desk.say(Words::Line))),
        words: [(Words::Platelets, scales.most), (Words::RedShare, 1.0)]
            .map(|(words, to)| desk.say(Scale(words, to, style))),
    })
}

/// The columns and what moves through their moments.
#[component]
pub fn Columns() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shown = expect_context::<Shown>();
    let own = memo(move || shown.pictured.with(|p| p.as_ref().ok().map(|p| p.setup.clone())));
    let scales = memo(move || {
        let spin = shown.at().0;
        let both = |of: &dyn Fn(&[Seen]) -> f64| {
            let of = |came: &Came| if let Came::Seen(spins) = came { of(spins) } else { 0.0 };
            shown.here.with(of).max(shown.there.with(of))
        };
        let wide = |setup: Option<Setup>| -> f64 {
            setup.and_then(|s| s.spins.get(spin).map(|s| s.tube.inner_diameter.get())).unwrap_or(0.0)
        };
        Scales {
            highest: both(&|spins| spins.get(spin).map_or(0.0, |s| s.column)) + 6.0,
            widest: wide(own.get()).max(wide(shown.beside.get())),
            // Of all frames, so that the scale stands still while it plays.
            most: both(&|spins| spins.get(spin).map_or(1.0, Seen::most)),
        }
    });
    let draw = move |came: RwSignal<Came>, setup: Option<Setup>| {
        let setup = setup?;
        came.with(|came| match came {
            Came::Seen(spins) => {
                let style = sheet.conventions().numbers;
                let at = (shown.at().0, shown.seconds());
                view_of((desk, style), &setup, spins, at, scales.get(), shown.lined())
            }
            _ => None,
        })
    };
    let here = memo(move || draw(shown.here, own.get()));
    let there = memo(move || draw(shown.there, shown.beside.get()));
    let said = move |came: RwSignal<Came>, index: usize| {
        let (spin, seconds) = (shown.at().0, shown.seconds());
        came.with(|came| {
            let Came::Seen(spins) = came else { return None };
            let seen = spins.get(spin)?;
            let frame = seen.frame_at(seconds);
            let at = seen.course.get(2 * frame)?;
            let off = |of: fn(&Off) -> &Vec<[f64; 2]>| {
                shown.off.with(|off| off.get(index).and_then(|o| of(o.of(spin)?).get(2 * frame).copied()))
            };
            Some(desk.say(MomentLine {
                second: spin > 0,
                minutes: at.time / 60.0,
                interface: (!too_low(spin > 0, at.interface)).then(|| (at.interface, off(|o| &o.interface))),
                platelets: off(|o| &o.platelets).map(|off| (at.platelets, off)),
                style: sheet.conventions().numbers,
            }))
        })
        .unwrap_or_default()
    };
    let of = move |view: Memo<Option<SpunView>>, (came, index): (RwSignal<Came>, usize)| {
        let there = memo(move || view.with(Option::is_some));
        move || {
            there.get().then(|| {
                let last = StoredValue::new(view.get_untracked());
                // While nothing has come for a new frame, the last stays.
                let now = Signal::derive(move || {
                    let now = view.get();
                    if now.is_some() {
                        last.set_value(now.clone());
                    }
                    now.or_else(|| last.get_value()).unwrap_or_else(nothing)
                });
                view! {
                    <figure>
                        <figcaption>{move || shown.name(desk, index)} ", " {desk.say(Words::PlainTube)}</figcaption>
                        <SpunPicture view=now label=Signal::derive(move || said(came, index))/>
                    </figure>
                }
            })
        }
    };
    let refused = move || {
        let why = shown.not_beside.get();
        if let Some(why) = why {
            return Some(desk.say(NotBesideWords(&why, sheet.conventions().numbers)));
        }
        shown.there.with(|came| match came {
            Came::Refused(why) => Some(format!("{}: {}", desk.say(Words::Beside), desk.say(*why))),
            _ => None,
        })
    };
    view! {
        <h3>{desk.say(Words::Column)}</h3>
        <div class="spun-columns">
            {of(here, (shown.here, 0))}
            {of(there, (shown.there, 1))}
        </div>
        <p class="reading wrong" role="status">{refused}</p>
        <Moments/>
        <p class="spun-said">{move || said(shown.here, 0)}</p>
        <p class="spun-said-beside" hidden=move || said(shown.there, 1).is_empty()>
            {move || shown.name(desk, 1)} ": " {move || said(shown.there, 1)}
        </p>
    }
}

fn nothing() -> SpunView {
    SpunView {
        tube: Tube { inner_diameter: Millimetre::constant(15.0), end: End::Flat, rated: None },
        column: 0.0,
        highest: 1.0,
        widest: 1.0,
        parts: Vec::new(),
        layers: Vec::new(),
        gathers: None,
        most: 1.0,
        line: None,
        words: Default::default(),
    }
}

/// Play, a step back and on, and a slider over all moments. It never plays by itself.
#[component]
fn Moments() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shown = expect_context::<Shown>();
    let playing = RwSignal::new(false);
    let last = move || shown.frames().saturating_sub(1);
    let go = move |to: usize| shown.frame.set(to.min(last()));
    let timer = StoredValue::new(None);
    let stop = move || {
        if let Some(handle) = timer.try_get_value().flatten() {
            IntervalHandle::clear(&handle);
            timer.set_value(None);
        }
        if playing.try_get_untracked() == Some(true) {
            playing.set(false);
        }
    };
    on_cleanup(stop);
    let tick = move || {
        let at = shown.frame.get_untracked();
        // Who comes to want no motion has no button left to stop it by.
        if at >= last() || motion::unwanted() { stop() } else { go(at + 1) }
    };
    let play = move |_| {
        if playing.get_untracked() {
            return stop();
        }
        if shown.frame.get_untracked() >= last() {
            go(0);
        }
        playing.set(true);
        timer.set_value(set_interval_with_handle(tick, Duration::from_millis(160)).ok());
    };
    let step = move |on: bool| {
        stop();
        let at = shown.frame.get_untracked();
        go(if on { at + 1 } else { at.saturating_sub(1) });
    };
    let scrub = move |event| {
        stop();
        go(event_target_value(&event).parse().unwrap_or(0));
    };
    let said = move || {
        let (spin, minutes) = (shown.at().0, shown.seconds() / 60.0);
        shown.here.with(|came| {
            let Came::Seen(_) = came else { return None };
            let name = if spin == 0 { Words::FirstSpin } else { Words::SecondSpin };
            let style = sheet.conventions().numbers;
            Some(format!("{}, {}", desk.say(name), minutes_text(minutes, style)))
        })
    };
    view! {
        <div class="spun-moments">
            <button type="button" class="step" aria-label=desk.say(Words::Back) on:click=move |_| step(false)>"‹"</button>
            <input
                type="range"
                id="spin-moment"
                min="0"
                max=last
                step="1"
                aria-label=desk.say(Words::Moment)
                aria-valuetext=said
                prop:value=move || shown.frame.get().to_string()
                on:input=scrub
            />
            <button type="button" class="step" aria-label=desk.say(Words::On) on:click=move |_| step(true)>"›"</button>
            <button type="button" class="button spun-play" on:click=play>
                {move || desk.say(if playing.get() { Words::Pause } else { Words::Play })}
            </button>
        </div>
    }
}

fn minutes_text(minutes: f64, style: NumberStyle) -> String {
    use strawline::quantity::write;
    write::with_unit(&write::fixed(minutes, 1, style), "min")
}
