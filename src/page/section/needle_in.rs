//! Needle in: one number, one line, one clock. Everything else stands below them.

use super::header::{Banners, OtherClocks, Sign, go};
use super::order_panel::site_line;
use super::trouble::TroubleButton;
use crate::dom::prelude::*;
use crate::picture::container::{Containers, ContainersView, NEEDLE, Tube, draw};
use crate::shell::{clock, keep, tap};
use crate::state::{Desk, Sheet};
use crate::widget::{Entry, Findings, Stops, Who};
use strawline::assess::Assessment;
use strawline::assess::draw::ContainerNow;
use strawline::blood::anticoagulant::Split;
use strawline::draft::field::MAX_CONTAINERS;
use strawline::draft::{Draft, Field, Stage, TroubleKind};
use strawline::finding::{Finding, FindingKind, HeldStep, Level};
use strawline::quantity::unit::Conventions;
use strawline::quantity::{Quantity, Volume, write};
use strawline::words::draw::{DrawLine, Needle as Words, Wrong, sum};
use strawline::words::page::Frame;
use strawline::words::unit;
use web_sys::MouseEvent;

/// The whole page while the needle is in.
#[component]
pub fn NeedleIn() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let typed = move |field| sheet.draft.with(|d| d.text(field).trim().to_owned());
    let demo = sheet.draft.with_untracked(|d| d.demo);
    view! {
        <div class="page needle">
            <header class="head">
                <b class="id">{move || typed(Field::PatientReference)}</b>
                <span>{move || typed(Field::SecondIdentifier)}</span>
                <b class="site">{site_line}</b>
                {demo.then(|| view! { <span class="tag">{desk.say(Frame::DemoCase)}</span> })}
                <Sign sheet/>
                <OtherClocks/>
            </header>
            <main class="needle-work" id="work" tabindex="-1">
                <h1 class="unseen">{desk.say(Stage::NeedleIn)}</h1>
                <Fill/>
                <Stops step=HeldStep::Spin until=Stage::NeedleIn/>
            </main>
            <section class="needle-bar" aria-label=desk.say(Words::ClockAndNext)>
                <Watch/>
                <div class="buttons">
                    <AtTheMark/>
                    <TroubleButton label=Wrong::OpenAtNeedle/>
                    <Out/>
                </div>
            </section>
            <section class="needle-more" aria-label=desk.say(Words::Marks)>
                <Banners/>
                <Who/>
                <Findings stages=vec![Stage::NeedleIn]/>
                <Marks/>
                <Entry field=Field::WhoDraw/>
                <Entry field=Field::DrawSite/>
                <Back/>
            </section>
        </div>
    }
}

/// What one tube of the picture shows.
fn tube(desk: Desk, a: &Assessment, now: &ContainerNow, mark: Volume, c: &Conventions) -> Tube {
    let i = now.index;
    let (filling, stopped) = (filling(a), stopped(a, i));
    let caption = match now.split {
        _ if now.set_aside => DrawLine::CaptionAside(i),
        _ if stopped => DrawLine::CaptionStopped(i),
        None => DrawLine::CaptionUnknown(i),
        Some(split) if now.entered && split.fill == mark => DrawLine::CaptionDone(i),
        Some(split) if now.entered => DrawLine::CaptionAt(i, unit::volume(split.fill, c)),
        _ if filling == Some(i) => DrawLine::CaptionFilling(i),
        _ => DrawLine::CaptionWaits(i),
    };
    let done = now.entered && now.split.is_some();
    let fill = now.split.map_or(mark, |s| s.fill);
    Tube { fill, done, set_aside: now.set_aside, caption: desk.say(caption) }
}

/// The first container that is still to be filled.
fn filling(a: &Assessment) -> Option<u8> {
    unfilled(a).next()
}

/// Containers without a mark that blood may go into: not those set aside, nor one that a Stop speaks of.
fn unfilled(a: &Assessment) -> impl Iterator<Item = u8> {
    a.draw.containers.iter().filter(|c| !c.entered && !c.set_aside && !stopped(a, c.index)).map(|c| c.index)
}

/// A Stop without a way past speaks of this container.
fn stopped(a: &Assessment, i: u8) -> bool {
    let of = |f: &Finding| matches!(f.kind, FindingKind::Trouble(_, container) if container == Some(i));
    a.findings.iter().any(|f| f.level == Level::StopFinal && of(f))
}

/// The number, the line, the containers.
#[component]
fn Fill() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let picture = move |most: usize| {
        memo(move || {
            let c = sheet.conventions();
            let glass = sheet.draft.with(|d| d.kit.container.as_ref().map(Into::into))?;
            sheet.answer.with(|a| {
                let split = a.draw.plan.as_ref()?.rounded.value.split;
                let filling = filling(a);
                let at = filling.and_then(|f| a.draw.containers.iter().position(|n| n.index == f));
                // The one being filled stands last, unless there is room for all.
                let all = a.draw.containers.len();
                let last = at.map_or(all, |at| at.saturating_add(1)).max(most.min(all));
                let shown = a.draw.containers.get(last.saturating_sub(most)..last)?;
                let tubes = shown.iter().map(|now| tube(desk, a, now, split.fill, &c)).collect();
                Some(ContainersView {
                    glass,
                    mark: split.fill,
                    agent: split.anticoagulant,
                    tubes,
                    widest: NEEDLE,
                })
            })
        })
    };
    let (broad, slim) = (picture(3), picture(1));
    let plan = memo(move || {
        sheet.answer.with(|a| a.draw.plan.as_ref().map(|p| (p.rounded.value.split, p.containers)))
    });
    let number = Callback::new(move |value: f64| write::significant(value, 3, sheet.conventions().numbers));
    let mark = move || broad.with(|v| v.as_ref().map(|v| v.mark_fraction().to_string()));
    let wide = move || {
        broad.with(|v| {
            v.as_ref().map(|v| {
                let drawing = draw(v, &|value| number.run(value));
                write::round_to(drawing.width / drawing.height, 3).to_string()
            })
        })
    };
    let label = Signal::derive(move || {
        let c = sheet.conventions();
        let (split, n) = plan.get()?;
        let write = |v| unit::volume(v, &c);
        Some(desk.say(DrawLine::PictureOf(n, write(split.anticoagulant), write(split.fill))))
    });
    let words = move || {
        let c = sheet.conventions();
        let (split, n) = plan.get()?;
        let mark = unit::volume(split.fill, &c);
        let long = mark.number.chars().count() > 2;
        let filled = sheet.answer.with(|a| a.draw.containers.iter().filter(|c| c.entered).count());
        let line = DrawLine::UpToLine { n, filled };
        Some(view! {
            <p class="needle-mark">
                <b class="vast" class:long=long>{mark.number}</b>
                " "
                <span><b>{desk.say(DrawLine::MarkUnit(mark.unit))}</b> " " {desk.say(line)}</span>
            </p>
        })
    };
    let one = move |view: Memo<Option<ContainersView>>, class: &'static str| {
        move || {
            // Made once: what moves inside does not make it anew.
            let there = memo(move || view.with(Option::is_some));
            there.get().then(|| {
                let view = Signal::derive(move || view.get().unwrap_or_else(nothing));
                let label = Signal::derive(move || label.get().unwrap_or_default());
                view! { <div class=class><Containers view label number/></div> }
            })
        }
    };
    view! {
        <div class="needle-fill" style:--mark=mark style:--wide=wide>
            {words}
            {one(slim, "slim")}
            {one(broad, "broad")}
        </div>
        <p class="waiting" hidden=move || plan.with(Option::is_some)>{move || super::answer::waiting(desk, sheet)}</p>
    }
}

/// Stands in for a picture that is gone in the same moment.
pub fn nothing() -> ContainersView {
    use crate::picture::container::Glass;
    use strawline::quantity::Millimetre;
    use strawline::spin::tube::{End, Tube};
    let glass = Glass {
        capacity: Volume::constant(1.0),
        graduation: Volume::constant(1.0),
        tube: Tube { inner_diameter: Millimetre::constant(10.0), end: End::Flat, rated: None },
    };
    ContainersView { glass, mark: Volume::ZERO, agent: Volume::ZERO, tubes: Vec::new(), widest: NEEDLE }
}

/// How long the needle has been in.
#[component]
fn Watch() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let since = memo(move || sheet.draft.with(|d| d.times.needle_in));
    let until = memo(move || sheet.draft.with(|d| d.times.needle_out));
    let words = move || {
        let at = since.get()?;
        Some(format!("{} {}", desk.say(Words::Since), unit::clock(at, sheet.offset.get())))
    };
    let run = move || {
        let end = until.get().unwrap_or_else(|| desk.second.get().at);
        // The second last told may lie before a tap just now.
        end.since(since.get()?).map(|s| strawline::quantity::time::Span(s.0.max(0)).text())
    };
    view! {
        <p class="needle-clock">
            <span>{words}</span>
            <b role="timer">{run}</b>
        </p>
    }
}

/// One tap for the container being filled.
#[component]
fn AtTheMark() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let next = memo(move || sheet.answer.with(filling));
    let several = memo(move || sheet.answer.with(|a| a.draw.containers.len() > 1));
    let tap = move |event| {
        if !tap::meant(&event) {
            return;
        }
        if let (Some(i), Some(planned)) = (next.get_untracked(), planned(sheet)) {
            sheet.edit(|d| d.fill_as_planned(i, planned));
        }
    };
    move || {
        let i = next.get().filter(|_| several.get())?;
        Some(view! {
            <button type="button" class="button" on:click=tap>{desk.say(DrawLine::AtTheMark(i))}</button>
        })
    }
}

/// What every container is planned to hold.
fn planned(sheet: Sheet) -> Option<Split> {
    sheet.answer.with_untracked(|a| a.draw.plan.as_ref().map(|p| p.rounded.value.split))
}

/// Containers that may be taken as filled to the mark: none while a draw that stopped short stands, for then the rest
/// was hardly filled.
fn blank(a: &Assessment, d: &Draft) -> Vec<u8> {
    if d.troubles.iter().any(|t| t.kind == TroubleKind::ShortDraw && t.stands()) {
        return Vec::new();
    }
    unfilled(a).collect()
}

/// Needle out: plain, and beside it with what has no mark yet taken as filled to the planned one.
#[component]
fn Out() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let words = memo(move || {
        sheet.answer.with(|a| {
            let blank = sheet.draft.with(|d| blank(a, d).len());
            match blank {
                0 => None,
                n if n == a.draw.containers.len() => Some(DrawLine::OutAll(n)),
                _ => Some(DrawLine::OutRest(sheet.draft.with(|d| self::blank(a, d)))),
            }
        })
    });
    let leave = move |event: &MouseEvent, filled: Vec<u8>| {
        if !tap::meant(event) {
            return;
        }
        let at = clock::now().at;
        let planned = planned(sheet);
        sheet.edit(|d| {
            if let Some(planned) = planned {
                for i in filled {
                    d.fill_as_planned(i, planned);
                }
            }
            d.times.needle_out.get_or_insert(at);
        });
        go(sheet, Stage::Spinning);
    };
    let at_mark = move |event| {
        leave(&event, sheet.answer.with_untracked(|a| sheet.draft.with_untracked(|d| blank(a, d))));
    };
    let alone = move || words.get().is_none();
    view! {
        <button type="button" class="button" class:solid=alone on:click=move |event| leave(&event, Vec::new())>{desk.say(Words::Out)}</button>
        {move || {
            words.get().map(|words| view! {
                <button type="button" class="button solid" on:click=at_mark>{desk.say(words)}</button>
            })
        }}
    }
}

/// The mark reached and the anticoagulant really inside, typed; and what follows beside the plan.
#[component]
fn Marks() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let number =
        memo(move || sheet.read.with(|(case, _)| u8::try_from(case.draw.containers.len()).unwrap_or(0)));
    let step = sheet.draft.with_untracked(|d| d.kit.container.as_ref().map_or(1.0, |c| c.graduation.get()));
    let fine = sheet
        .draft
        .with_untracked(|d| d.kit.container.as_ref().map_or(0.1, |c| c.anticoagulant_graduation.get()));
    let standing = move |agent: bool| {
        Signal::derive(move || {
            let c = sheet.conventions();
            let split = sheet.answer.with(|a| a.draw.plan.as_ref().map(|p| p.rounded.value.split));
            let volume = split.map(|s| if agent { s.anticoagulant } else { s.fill });
            volume.map(|v| unit::volume(v, &c).number).unwrap_or_default()
        })
    };
    view! {
        <h2 class="heading">{desk.say(Words::Marks)}</h2>
        <p class="second">{desk.say(Words::MarksHelp)}</p>
        <ContainersTable/>
        <For each=move || 0..number.get() key=|i| *i let:i>
            <div class="pair">
                <Entry field=Field::FillActual(i) step standing=standing(false)/>
                <Entry field=Field::AnticoagulantActual(i) step=fine standing=standing(true)/>
            </div>
        </For>
        <OneMore number/>
    }
}

/// A container more than was planned, and one too many left out again.
#[component]
fn OneMore(number: Memo<u8>) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let planned = move || sheet.read.with(|(case, _)| case.draw.planned.unwrap_or(0));
    let spare = memo(move || sheet.draft.with(|d| d.last_is_spare(planned())));
    let more = move |_| {
        let planned = untrack(planned);
        sheet.edit(|d| d.one_more_container(planned));
    };
    let less = move |_| sheet.edit(|d| d.one_less_container(number.get_untracked()));
    view! {
        <div class="buttons">
            <button type="button" class="button" hidden={move || number.get() >= MAX_CONTAINERS} on:click=more>
                {desk.say(Words::OneMore)}
            </button>
            <button type="button" class="button" hidden=move || !spare.get() on:click=less>
                {desk.say(Words::OneLess)}
            </button>
        </div>
    }
}

/// Planned and actual of each container, side by side, with the share of anticoagulant that is really inside.
#[component]
pub fn ContainersTable() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let rows = move || {
        let c = sheet.conventions();
        sheet.answer.with(|a| {
            let plan = a.draw.plan.as_ref().map(|p| desk.say(sum(&p.rounded.value.split, &c)));
            let band = a.draw.band;
            a.draw
                .containers
                .iter()
                .map(|now| {
                    let actual = match &now.split {
                        None => desk.say(Words::MarkUnknown),
                        Some(split) if now.entered => desk.say(sum(split, &c)),
                        Some(_) => desk.say(Words::NotYet),
                    };
                    let share = now.ratio.map(|r| unit::per_100(r, &c).to_string());
                    let outside = band.zip(now.ratio).filter(|(b, r)| !b.contains(*r)).map(|(b, _)| {
                        desk.say(DrawLine::Accepted(unit::per_100(b.low, &c), unit::per_100(b.high, &c)))
                    });
                    let top_up = now
                        .top_up
                        .as_ref()
                        .map(|t| desk.say(DrawLine::TopUp(unit::volume(t.value.fill, &c))));
                    let aside = now.set_aside.then(|| desk.say(Wrong::Aside));
                    let more: Vec<String> = [outside, top_up, aside].into_iter().flatten().collect();
                    view! {
                        <tr>
                            <th scope="row">{desk.say(DrawLine::ContainerNo(now.index))}</th>
                            <td class="num">{plan.clone().filter(|_| !now.extra).unwrap_or_else(|| desk.say(Words::Extra))}</td>
                            <td class="num"><b>{actual}</b></td>
                            <td class="num"><span class:second=!now.entered>{share}</span> " " <span class="second">{more.join(", ")}</span></td>
                        </tr>
                    }
                })
                .collect_view()
        })
    };
    let head = move |words: Words, class: &'static str| {
        view! { <th scope="col" class=class>{desk.say(words)}</th> }
    };
    view! {
        <div class="wide">
            <table class="table">
                <thead>
                    <tr>
                        {head(Words::Container, "")}
                        {head(Words::Planned, "num")}
                        {head(Words::Actual, "num")}
                        {head(Words::ShareOf, "num")}
                    </tr>
                </thead>
                <tbody>{rows}</tbody>
            </table>
        </div>
    }
}

/// The ways back: to look something up, or because the tap was a mistake.
#[component]
fn Back() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let back = move |_| go(sheet, Stage::BeforeNeedle);
    // Once blood is said to have come, the needle was in: the clock it started stays.
    let drawn = memo(move || {
        sheet.answer.with(|a| a.draw.containers.iter().any(|c| c.entered))
            || sheet.draft.with(|d| d.times.needle_out.is_some())
    });
    let take_back = move |_| {
        let before = sheet.draft.get_untracked();
        if before.times.needle_in.is_none() {
            return;
        }
        sheet.edit(|d| {
            d.times.needle_in = None;
            // Taken for this needle: the next one begins with the plan.
            (d.rows.spare, d.rows.containers) = (0, 0);
        });
        go(sheet, Stage::BeforeNeedle);
        keep::offer_undo(desk, Some(sheet.id()), desk.say(Words::TakenBack), move || {
            sheet.edit(|d| d.needle_in_again(&before));
        });
    };
    view! {
        <div class="buttons">
            <button type="button" class="button" on:click=back>{desk.say(Words::Back)}</button>
            {move || {
                (!drawn.get()).then(|| view! {
                    <button type="button" class="button" on:click=take_back>{desk.say(Words::TakeBack)}</button>
                })
            }}
        </div>
        <p class="second" hidden=move || !drawn.get()>{desk.say(Words::NoTakeBack)}</p>
    }
}
