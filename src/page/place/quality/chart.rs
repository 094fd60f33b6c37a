//! The chart with what is said about it, and what to investigate.

use super::sight::{Line, Sight, View, WINDOW};
use super::{point, table};
use crate::dom::prelude::*;
use crate::picture::control::{Control, ControlView, Point};
use strawline::quality::chart::IN_CONTROL;
use strawline::quality::rules::Rule;
use strawline::words::charts::{ChartLine, ChartSays, ChartWord, ShortDay};
use strawline::words::quality::{InControlWords, NextWords, QualitySays};
use wasm_bindgen::JsCast;

/// So many signals are listed; the table has all.
const LISTED: usize = 8;

/// Title, how many counts, what they lead to expect, where the limits come from.
pub fn head(view: View) -> Markup {
    let desk = view.desk;
    let title = move || {
        view.sight.with(|s| s.as_ref().map(|s| desk.say(ChartLine::Title(s.kind(), s.protocol.name.clone()))))
    };
    let line = move |of: fn(View, &Sight) -> Option<ChartLine>| {
        memo(move || view.sight.with(|s| s.as_ref().and_then(|s| of(view, s)).map(|l| desk.say(l))))
    };
    let counts = line(|view, s| {
        let (first, last) = (s.rows.first()?, s.rows.last()?);
        let (from, until) = (view.day(first.counted.at), view.day(last.counted.at));
        Some(ChartLine::Counts(s.kind(), s.rows.len(), from, until))
    });
    let expected = line(|view, s| {
        let r = s.range?;
        // A demo's counts are nobody's.
        let ground = match view.demo.get() {
            true => view.desk.say(ChartLine::Invented(s.accepted)),
            false => view.desk.say(s.ground),
        };
        Some(ChartLine::Expected(view.value(r.median), view.value(r.low), view.value(r.high), ground))
    });
    let white = line(|view, s| {
        let r = s.white?;
        Some(ChartLine::White(view.value(r.median), view.value(r.low), view.value(r.high)))
    });
    let next = memo(move || {
        let style = desk.bench.with(|b| b.clinic.conventions.numbers);
        view.sight.with(|s| s.as_ref().and_then(|s| s.next).map(|next| desk.say(NextWords(next, style))))
    });
    let limits = line(|view, s| Some(limits_line(view, s)));
    let group = memo(move || {
        let (by, name) = view.only.get()?;
        let name = match view.group_name(by, &name) {
            name if name.is_empty() => desk.say(ChartWord::NotSaid),
            name => name,
        };
        Some(desk.say(ChartLine::From(desk.say(by), name)))
    });
    let all = move || {
        group.get().map(|words| {
            view! {
                <p>
                    <b>{words}</b>
                    " "
                    <button type="button" class="link" on:click=move |_| view.show_only(None)>
                        {desk.say(ChartWord::ShowAll)}
                    </button>
                </p>
            }
        })
    };
    view! {
        <h2 class="heading">{title}</h2>
        {all}
        <p class="second">{counts}</p>
        <p>{expected} " " <span class="second">{next}</span></p>
        <p class="second">{white}</p>
        <p class="second">{limits}</p>
    }
}

/// Where the limits come from, or how many counts are wanted.
pub fn limits_line(view: View, s: &Sight) -> ChartLine {
    let Some(limits) = &s.limits else { return ChartLine::ToGo(s.to_go) };
    let (low, high) = limits.at(3.0);
    let (middle, _) = limits.at(0.0);
    let numbers = [low, middle, high].map(|x| view.value(x));
    match (&limits.name, &s.chosen_baseline) {
        (Some(name), Some(chosen)) => ChartLine::Period(name.clone(), limits.n, numbers, chosen.by.clone()),
        _ => ChartLine::FirstTwenty(limits.n, view.day(limits.from), view.day(limits.until), numbers),
    }
}

/// The picture with the count chosen; beside it what to investigate and the latest counts.
pub fn body(view: View) -> Markup {
    let desk = view.desk;
    let picture = memo(move || picture(view));
    let label = Signal::derive(move || {
        let rows = view.window();
        let signals = rows.iter().filter(|r| !r.signals.is_empty()).count();
        desk.say(ChartLine::Picture(rows.len(), signals))
    });
    let number = Callback::new(move |x: f64| view.value(x));
    let tap = move |event: web_sys::MouseEvent| {
        let place = event.current_target().and_then(|t| t.dyn_into::<web_sys::Element>().ok());
        let Some(place) = place.map(|e| e.get_bounding_client_rect()) else { return };
        let share = (f64::from(event.client_x()) - place.left()) / place.width();
        let nearest = picture.with_untracked(|p| p.nearest(share));
        let id = nearest.and_then(|at| untrack(|| view.window()).get(at).map(|r| r.counted.id.clone()));
        if let Some(id) = id {
            view.choose(&id);
        }
    };
    let earlier = Signal::derive(move || {
        let rows = view.sight.with(|s| s.as_ref().map_or(0, |s| s.rows.len()));
        rows <= (view.back.get() + 1) * WINDOW
    });
    let later = Signal::derive(move || view.back.get() == 0);
    let turn = move |words: ChartWord, hidden: Signal<bool>, back: fn(usize) -> usize| {
        view! {
            <button type="button" class="button small" hidden=hidden on:click=move |_| view.back.update(|n| *n = back(*n))>
                {desk.say(words)}
            </button>
        }
    };
    view! {
        <div class="chart-beside">
            <div>
                <div class="chart" on:click=tap>
                    <Control view=picture label number/>
                </div>
                <p class="second">{desk.say(ChartSays::Key)} " " {desk.say(ChartSays::TapPoint)}</p>
                <div class="buttons" hidden=move || earlier.get() && later.get()>
                    {turn(ChartWord::Earlier, earlier, |n| n.saturating_add(1))}
                    {turn(ChartWord::Later, later, |n| n.saturating_sub(1))}
                </div>
                {point::point(view)}
            </div>
            <div>
                {signals(view)}
                {table::latest(view)}
            </div>
        </div>
    }
}

fn picture(view: View) -> ControlView {
    let chosen = view.chosen.get();
    let rows = view.window();
    let offset = view.desk.offset.get();
    let point = |r: &Line| Point {
        value: r.value,
        running: r.running.map(|m| [m.mean, m.low, m.high]),
        signal: !r.signals.is_empty(),
        in_baseline: r.in_baseline,
        number: r.number,
        day: r.counted.at.local(offset).map(|(date, _)| view.desk.say(ShortDay(date))).unwrap_or_default(),
        lot: r.counted.container_lot.trim().to_owned(),
    };
    let limits = view.sight.with(|s| {
        let limits = s.as_ref()?.limits.as_ref()?;
        let ((low, high), (middle, _)) = (limits.at(3.0), limits.at(0.0));
        Some([low, middle, high])
    });
    ControlView {
        chosen: rows.iter().position(|r| chosen.as_ref() == Some(&r.counted.id)),
        points: rows.iter().map(point).collect(),
        limits,
    }
}

/// The newest signals, each with what to look at in order.
fn signals(view: View) -> Markup {
    let desk = view.desk;
    let one = move |at: usize, row: Line| {
        let words = row.signals.iter().map(|s| desk.say(*s)).collect::<Vec<_>>().join(" ");
        let kind = view.sight.with_untracked(|s| s.as_ref().map(Sight::kind));
        let line = kind.map(|kind| {
            desk.say(ChartLine::Point(row.number, view.day(row.counted.at), kind, view.value(row.value)))
        });
        // Of several signals the one that asks for most.
        let checks = row.signals.iter().map(|s| s.to_check()).max_by_key(|c| c.len()).unwrap_or_default();
        let checks = checks.iter().map(|c| view! { <li><span>{desk.say(*c)}</span></li> }).collect_view();
        let id = row.counted.id.clone();
        view! {
            <details class="item signal-item" open=at == 0>
                <summary>
                    <span><b>{line}</b> " " <span class="second">{words}</span></span>
                </summary>
                <div>
                    <p>{desk.say(ChartWord::InOrder)}</p>
                    <ol class="list">{checks}</ol>
                    <button type="button" class="link" on:click=move |_| view.choose(&id)>
                        {desk.say(ChartWord::ShowCount)}
                    </button>
                </div>
            </details>
        }
    };
    let list = move || {
        let mut found: Vec<Line> = view.sight.with(|s| {
            let rows = s.iter().flat_map(|s| s.rows.iter().rev());
            rows.filter(|r| !r.signals.is_empty()).cloned().collect()
        });
        let more = found.len().saturating_sub(LISTED);
        found.truncate(LISTED);
        if found.is_empty() {
            return view! { <p>{desk.say(ChartSays::NoSignal)}</p> };
        }
        let more =
            (more > 0).then(|| view! { <p class="second">{desk.say(ChartLine::MoreSignals(more))}</p> });
        let all = found.into_iter().enumerate().map(|(at, row)| one(at, row)).collect_view();
        view! { {all} {more} }
    };
    // The figures were measured for the rules that are on from the start.
    let in_control = move || {
        let style = desk.bench.with(|b| b.clinic.conventions.numbers);
        view.rules.with(|r| r.as_slice() == Rule::USUAL).then(|| desk.say(InControlWords(IN_CONTROL, style)))
    };
    view! {
        <h3 class="subheading">{desk.say(ChartWord::Signals)}</h3>
        <p class="second">{desk.say(QualitySays::Signal)}</p>
        {list}
        <p class="second">{in_control} " " {desk.say(QualitySays::NotMaterial)}</p>
    }
}
