//! The picture of the spin, one tap behind the programme: reckoned aside, shown here, never beside what is predicted.

mod another;
mod column_of;
mod course;
mod map;
mod speed;

pub use speed::line;

use crate::dom::prelude::*;
use crate::shell::{aside, typing};
use crate::state::{Desk, Sheet};
use crate::widget::Fold;
use std::time::Duration;
use strawline::assess::column::{self, Collected, Knob, NoColumn, NotBeside, Shape, Turned};
use strawline::bench::Container;
use strawline::spin::column::ask::{Off, Question, Refusal, Reply, Seen};
use strawline::spin::column::{Setup, TurningPoint};
use strawline::words::column::{
    BesideName, ColumnWord as Words, KnobValue, OfContainer, SecondOver, TriedIn, TriedShape,
};

/// How long nothing must change before it is asked for.
pub const REST: Duration = Duration::from_millis(150);

/// What came back for one column.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Came {
    /// Not yet.
    #[default]
    Nothing,
    /// Every spin.
    Seen(Vec<Seen>),
    /// There is none.
    Refused(Refusal),
    /// The browser reckons nothing aside.
    Unable,
}

impl Came {
    fn of(reply: Option<Reply>) -> Self {
        match reply {
            Some(Reply::Column(spins)) => Self::Seen(spins),
            Some(Reply::Refused(why)) => Self::Refused(why),
            _ => Self::Unable,
        }
    }
}

/// How far what stands beside it may be off; the first is the case's own.
pub type Offs = RwSignal<[Bands; 2]>;

/// Bands of one column.
#[derive(Debug, Clone, PartialEq, Default)]
pub enum Bands {
    /// Not yet.
    #[default]
    Awaited,
    /// Of every spin.
    Off(Vec<Off>),
    /// None can be worked out.
    None,
}

impl Bands {
    /// Those of a spin.
    pub fn of(&self, spin: usize) -> Option<&Off> {
        if let Self::Off(off) = self { off.get(spin) } else { None }
    }
}

/// Where the first spin of the case turns to fewer platelets above the cells.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Turns {
    /// Not yet.
    #[default]
    Awaited,
    /// As a band.
    At(TurningPoint),
    /// It cannot be worked out.
    None,
}

impl Turns {
    /// What was answered.
    pub fn of(reply: Option<Reply>) -> Self {
        if let Some(Reply::Turning(point)) = reply { Self::At(point) } else { Self::None }
    }
}

/// The picture in view.
#[derive(Clone, Copy)]
pub struct Shown {
    /// What the case is pictured as.
    pub pictured: Memo<Result<column::Pictured, NoColumn>>,
    /// What was tried.
    pub turned: RwSignal<Turned>,
    /// Key of the Bench's container that the second spin is in; none where it is in one like the first.
    pub second: RwSignal<String>,
    /// Key of the Bench's rotor that the case stands on beside; none where it is on its own.
    other: RwSignal<String>,
    /// Another programme beside, and whose it is in the Bench; of one put together nobody’s.
    pub another: RwSignal<Option<another::Another>>,
    /// What stands beside it.
    pub beside: Memo<Option<Setup>>,
    /// Why nothing does, though another rotor is chosen.
    pub not_beside: Memo<Option<NotBeside>>,
    /// Its column.
    pub here: RwSignal<Came>,
    /// The column beside.
    pub there: RwSignal<Came>,
    /// How far both may be off.
    pub off: Offs,
    /// Where the first spin turns.
    pub turns: RwSignal<Turns>,
    /// How much more of the platelets what stands beside draws off, in ends of a band; none where nothing does, or yet.
    pub more: RwSignal<Option<[f64; 2]>>,
    /// Frame in view, over all spins.
    pub frame: RwSignal<usize>,
    sheet: Sheet,
    /// Question now in hand.
    asked: StoredValue<u64>,
    /// What stands is the answer to an older one.
    waits: RwSignal<bool>,
}

/// The rotor chosen to carry the programme to, by its key in the Bench.
#[derive(Clone, Copy)]
pub struct OtherRotor(pub RwSignal<String>);

/// Frames of a spin.
pub const FRAMES: usize = 31;

impl Shown {
    fn new(desk: Desk, sheet: Sheet) -> Self {
        let second = RwSignal::new(String::new());
        let turned = RwSignal::new(Turned::default());
        let pictured = memo(move || {
            let turned = turned.get();
            sheet.draft.track();
            let second = desk.bench.with(|b| b.container(&second.get()).cloned());
            sheet
                .read
                .with(|(case, _)| sheet.answer.with(|a| column::pictured(case, a, &turned, second.as_ref())))
        });
        let OtherRotor(other) = expect_context();
        let another = RwSignal::new(None::<another::Another>);
        let tried = memo(move || {
            let turned = turned.get();
            let rotor = desk.bench.with(|b| b.rotor(&other.get()).cloned());
            let another = another.with(|a| a.as_ref().map(|a| a.programme.clone()));
            pictured.with(|p| {
                let tries = turned.beside() || rotor.is_some() || another.is_some();
                let p = p.as_ref().ok().filter(|_| tries)?;
                Some(match &another {
                    Some(programme) => column::with_programme(p, programme, rotor.as_ref())
                        .and_then(|p| column::beside(&p, &turned, rotor.as_ref())),
                    None => column::beside(p, &turned, rotor.as_ref()),
                })
            })
        });
        let beside = memo(move || tried.with(|t| t.as_ref()?.as_ref().ok().cloned()));
        let not_beside = memo(move || tried.with(|t| t.as_ref()?.as_ref().err().cloned()));
        let shown = Self {
            pictured,
            turned,
            second,
            other,
            another,
            beside,
            not_beside,
            here: RwSignal::new(Came::Nothing),
            there: RwSignal::new(Came::Nothing),
            off: RwSignal::new(Default::default()),
            turns: RwSignal::new(Turns::Awaited),
            more: RwSignal::new(None),
            frame: RwSignal::new(FRAMES - 1),
            sheet,
            asked: StoredValue::new(0),
            waits: RwSignal::new(false),
        };
        let last = StoredValue::new((String::new(), None));
        let shape = memo(move || turned.with(|t| t.shape));
        let setup = memo(move || pictured.with(|p| p.as_ref().ok().map(|p| p.setup.clone())));
        Effect::new(move |_| {
            // Also where another tube has the same shape, or the one that is tried is its own.
            second.track();
            shape.track();
            let both = (setup.get(), beside.get());
            // The heading names another rotor or programme at once.
            let named = (other.get(), another.with(|a| a.as_ref().map(|a| a.of.clone())));
            if last.get_value() != named {
                last.set_value(named);
                shown.there.set(Came::Nothing);
            }
            let number = shown.asked.get_value() + 1;
            shown.asked.set_value(number);
            // They are of what was asked before.
            shown.off.set(Default::default());
            shown.turns.set(Turns::Awaited);
            shown.more.set(None);
            shown.waits.set(both.0.is_some());
            let rest = if number == 1 { Duration::ZERO } else { REST };
            typing::after_paint(move || {
                set_timeout(move || shown.ask(number, both.0, both.1), rest);
            });
        });
        shown
    }

    /// Whether nothing was asked since, and the page still has a place for the answer.
    fn current(self, number: u64) -> bool {
        self.asked.try_get_value() == Some(number)
    }

    fn ask(self, number: u64, setup: Option<Setup>, beside: Option<Setup>) {
        let Some(setup) = setup.filter(|_| self.current(number)) else { return };
        let then = setup.clone();
        aside::ask(&Question::Column(setup), move |reply| {
            if !self.current(number) {
                return;
            }
            self.here.set(Came::of(reply));
            self.off.set(Default::default());
            self.turns.set(Turns::Awaited);
            match beside {
                Some(beside) => aside::ask(&Question::Column(beside.clone()), move |reply| {
                    if self.current(number) {
                        self.waits.set(false);
                        self.there.set(Came::of(reply));
                        self.bands(number, vec![then, beside]);
                    }
                }),
                None => {
                    self.waits.set(false);
                    self.there.set(Came::Nothing);
                    self.bands(number, vec![then]);
                }
            }
        });
    }

    /// Bands take longest: they come last, once nothing was tried for a while.
    fn bands(self, number: u64, setups: Vec<Setup>) {
        set_timeout(move || self.ask_bands(number, setups, 0), Duration::from_millis(400));
    }

    /// One after the other, so that a newer question waits for one of them at most.
    fn ask_bands(self, number: u64, setups: Vec<Setup>, index: usize) {
        if !self.current(number) {
            return;
        }
        let Some(setup) = setups.get(index).cloned() else { return self.ask_turning(number, setups) };
        aside::ask(&Question::Bands(setup), move |reply| {
            if !self.current(number) {
                return;
            }
            let bands = match reply {
                Some(Reply::Bands(off)) => Bands::Off(off),
                _ => Bands::None,
            };
            self.off.update(|both| {
                if let Some(slot) = both.get_mut(index) {
                    *slot = bands;
                }
            });
            self.ask_bands(number, setups, index + 1);
        });
    }

    fn ask_turning(self, number: u64, setups: Vec<Setup>) {
        let mut setups = setups.into_iter();
        let Some(setup) = setups.next() else { return };
        if let Some(beside) = setups.next() {
            aside::ask(&Question::More(beside, Box::new(setup)), move |reply| {
                if self.current(number)
                    && let Some(Reply::More(ends)) = reply
                {
                    self.more.set(ends);
                }
            });
            return;
        }
        aside::ask(&Question::Turning(setup, None), move |reply| {
            if self.current(number) {
                self.turns.set(Turns::of(reply));
            }
        });
    }

    /// Another bottom of the tube. What stands of the former one goes at once, for the heading names the new one.
    fn take_shape(self, shape: Option<Shape>) {
        if self.turned.with_untracked(|t| t.shape != shape) {
            self.here.set(Came::Nothing);
            self.turned.update(|t| t.shape = shape);
        }
    }

    /// Back to the case as it is.
    fn reset(self) {
        self.take_shape(None);
        self.turned.set(Turned::default());
        self.take_second(String::new());
        self.other.set(String::new());
        self.another.set(None);
    }

    /// Whether anything is tried.
    fn tries(self) -> bool {
        self.turned.get() != Turned::default()
            || self.second.with(|s| !s.is_empty())
            || self.other.with(|o| !o.is_empty())
            || self.another.with(Option::is_some)
    }

    /// Another tube for the second spin. What stands of the former one goes at once, for the heading names the new one.
    fn take_second(self, id: String) {
        if self.second.with_untracked(|second| *second != id) {
            self.here.set(Came::Nothing);
            self.second.set(id);
        }
    }

    /// What a column is called.
    pub fn name(self, desk: Desk, index: usize) -> String {
        let own = match index {
            0 if self.pictured.with(|p| p.as_ref().is_ok_and(|p| p.as_run)) => Words::HereRun,
            0 if self.pictured.with(|p| p.as_ref().is_ok_and(|p| p.as_filled)) => Words::HereFilled,
            0 => Words::Here,
            _ => {
                return self.name_beside(desk);
            }
        };
        let name = match self.tried(desk) {
            Some(tube) => desk.say(TriedIn(own, &tube.name)),
            None => desk.say(own),
        };
        let alone = self.pictured.with(|p| p.as_ref().ok().and_then(|p| Some((p.alone?, p.setup.blood))));
        let name = match alone {
            Some((index, blood)) => {
                desk.say(OfContainer(name, index, blood.fill(), self.sheet.conventions().numbers))
            }
            None => name,
        };
        match self.turned.with(|t| t.shape) {
            Some(shape) => desk.say(TriedShape(name, shape)),
            None => name,
        }
    }

    /// What the column beside is called.
    fn name_beside(self, desk: Desk) -> String {
        let rotor = desk.bench.with(|b| b.rotor(&self.other.get()).map(|r| r.name.clone()));
        let of = self.another.with(|a| a.as_ref().map(|a| a.of.clone()));
        let programme = of.map(|of| desk.bench.with(|b| b.protocol(&of).map(|p| p.name.clone())));
        let turned = self.turned.get();
        let tried = self
            .pictured
            .with(|p| p.as_ref().map_or_else(|_| Vec::new(), |p| turned.tried_beside(&p.stands)));
        desk.say(BesideName {
            programme: programme.as_ref().map(Option::as_deref),
            rotor: rotor.as_deref(),
            tried: &tried,
            style: self.sheet.conventions().numbers,
        })
    }

    /// The tube that is tried for the second spin, where there is one.
    fn tried(self, desk: Desk) -> Option<Container> {
        let own = self.pictured.with(|p| p.as_ref().is_ok_and(|p| p.second_own && p.setup.spins.len() > 1));
        let second = self.second.get();
        desk.bench.with(|b| b.container(&second).filter(|_| own).cloned())
    }

    /// Whether what the first spin’s line leaves above it goes into a container.
    fn holds(self, container: &Container) -> bool {
        self.here.with(|came| match came {
            Came::Seen(spins) => column::holds(container, spins),
            _ => true,
        })
    }

    /// Whether the picture has a line where the protocol collects.
    pub fn lined(self) -> bool {
        self.pictured.with(|p| p.as_ref().is_ok_and(|p| p.collected != Collected::AtTheCells))
    }

    /// Spin in view, and frame of the longer of both columns.
    pub fn at(self) -> (usize, usize) {
        let frame = self.frame.get();
        (frame / FRAMES, frame % FRAMES)
    }

    /// Moment in view, since the spin began [s].
    pub fn seconds(self) -> f64 {
        let (spin, frame) = self.at();
        let lasts = |came: RwSignal<Came>| {
            came.with(|came| match came {
                Came::Seen(spins) => spins.get(spin).map_or(0.0, Seen::lasts),
                _ => 0.0,
            })
        };
        lasts(self.here).max(lasts(self.there)) * frame as f64 / (FRAMES - 1) as f64
    }

    /// Frames of all spins.
    pub fn frames(self) -> usize {
        self.pictured.with(|p| p.as_ref().map_or(1, |p| p.setup.spins.len()) * FRAMES)
    }
}

/// What is shown of the spin as a picture.
#[component]
pub fn Pictured() -> impl IntoView {
    let desk = Desk::here();
    view! {
        <Fold title=desk.say(Words::Title) lazy=true>
            <Inside/>
        </Fold>
    }
}

#[component]
fn Inside() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shown = Shown::new(desk, sheet);
    provide_context(shown);
    let missing = memo(move || shown.pictured.with(|p| p.as_ref().err().copied()));
    let usual = memo(move || shown.pictured.with(|p| p.as_ref().is_ok_and(|p| p.usual_count)));
    let refused = memo(move || {
        shown.here.with(|came| match came {
            Came::Refused(why) => Some(desk.say(*why)),
            Came::Unable => Some(desk.say(Words::Unable)),
            Came::Nothing => Some(desk.say(Words::Drawing)),
            Came::Seen(_) => None,
        })
    });
    let drawn = memo(move || missing.get().is_none() && refused.with(Option::is_none));
    // Said as long as what stands answers an older question.
    let standing = move || refused.get().or_else(|| shown.waits.get().then(|| desk.say(Words::Drawing)));
    view! {
        <div class="spun" id="spin-picture">
            <p class="spun-standing"><b>{desk.say(Words::Standing)}</b></p>
            <p class="second">{desk.say(Words::Standing2)}</p>
            <speed::Speed/>
            {move || missing.get().map(|why| view! { <p class="reading wrong">{desk.say(why)}</p> })}
            <p class="second spun-waits" role="status" hidden=move || missing.get().is_some()>{standing}</p>
            <div hidden=move || !drawn.get()>
                <column_of::Columns/>
                {move || usual.get().then(|| view! { <p class="second">{desk.say(Words::UsualCount)}</p> })}
            </div>
            // What was tried and cannot be drawn is taken back here.
            <div hidden=move || missing.get().is_some()><Knobs/></div>
            <div hidden=move || !drawn.get()>
                <course::Parted/>
                <course::Course/>
                <map::Map/>
            </div>
            <h3>{desk.say(Words::Outside)}</h3>
            <p class="second">{desk.say(Words::OutsideWhy)}</p>
        </div>
    }
}

/// Which container the second spin is in.
#[component]
fn SecondTube() -> impl IntoView {
    let desk = Desk::here();
    let shown = expect_context::<Shown>();
    let two = memo(move || shown.pictured.with(|p| p.as_ref().is_ok_and(|p| p.setup.spins.len() > 1)));
    // Those that hold what is drawn off, and the one that is chosen.
    let tubes = memo(move || {
        let chosen = shown.second.get();
        desk.bench.with(|b| {
            let fits = |c: &&Container| column::outside(c).is_none() && (c.id == chosen || shown.holds(c));
            b.containers.iter().filter(fits).map(|c| (c.id.clone(), c.name.clone())).collect::<Vec<_>>()
        })
    });
    let all = move || {
        let one = |(id, name): (String, String)| {
            let own = id.clone();
            view! { <option value=id prop:selected=move || shown.second.with(|s| *s == own)>{name}</option> }
        };
        tubes.get().into_iter().map(one).collect_view()
    };
    view! {
        <div class="field text" hidden=move || !two.get()>
            <div class="field-name"><label for="second-tube">{desk.say(Words::SecondTube)}</label></div>
            <div class="entry">
                <select class="words" id="second-tube" on:change=move |event| shown.take_second(event_target_value(&event))>
                    <option value="" prop:selected=move || shown.second.with(String::is_empty)>{desk.say(Words::LikeTheFirst)}</option>
                    {all}
                </select>
            </div>
        </div>
        {move || {
            let small = shown.tried(desk).is_some_and(|tube| !shown.holds(&tube));
            small.then(|| view! { <p class="reading wrong">{desk.say(Words::SecondTooSmall)}</p> })
        }}
        {move || {
            let over = shown.pictured.with(|p| p.as_ref().ok().and_then(|p| p.second_over()));
            over.map(|why| view! { <p class="reading wrong">{desk.say(SecondOver(&why, shown.sheet.conventions().numbers))}</p> })
        }}
    }
}

/// Which bottom the tube has in the picture.
#[component]
fn Bottoms() -> impl IntoView {
    let desk = Desk::here();
    let shown = expect_context::<Shown>();
    let now = move |shape: Option<Shape>| shown.turned.with(|t| t.shape) == shape;
    let take = move |event| {
        let key: String = event_target_value(&event);
        shown.take_shape(Shape::ALL.into_iter().find(|s| s.key() == key));
    };
    let one = |shape: Shape| {
        view! { <option value=shape.key() prop:selected=move || now(Some(shape))>{desk.say(shape)}</option> }
    };
    view! {
        <div class="field text">
            <div class="field-name"><label for="tube-bottom">{desk.say(Words::Bottom)}</label></div>
            <div class="entry">
                <select class="words" id="tube-bottom" on:change=take>
                    <option value="" prop:selected=move || now(None)>{desk.say(Words::AsOnRecord)}</option>
                    {Shape::ALL.map(one).into_iter().collect_view()}
                </select>
            </div>
        </div>
    }
}

/// What may be tried, each with its steps.
#[component]
fn Knobs() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let shown = expect_context::<Shown>();
    let row = move |knob: Knob| {
        let value = move || {
            let turned = shown.turned.get();
            let style = sheet.conventions().numbers;
            let value = shown.pictured.with(|p| p.as_ref().ok().map(|p| turned.value(knob, &p.stands)))?;
            Some(desk.say(KnobValue(knob, value, style)))
        };
        let turn = move |up: bool| {
            let stands = shown.pictured.with_untracked(|p| p.as_ref().ok().map(|p| p.stands));
            if let Some(stands) = stands {
                shown.turned.update(|t| t.turn(knob, up, &stands));
            }
        };
        // Not disabled: that would take the keyboard away from it.
        let stays = move |up: bool| {
            let stands = shown.pictured.with(|p| p.as_ref().ok().map(|p| p.stands));
            stands.is_none_or(|stands| !shown.turned.get().turns(knob, up, &stands))
        };
        let idle = memo(move || shown.pictured.with(|p| p.as_ref().is_ok_and(|p| !p.offers(knob))));
        let named = move |words| format!("{}: {}", desk.say(knob), desk.say(words));
        use strawline::words::page::Common;
        view! {
            <div class="spun-knob" hidden=move || idle.get()>
                <span>{desk.say(knob)}</span>
                <output>{value}</output>
                <button type="button" class="step" aria-disabled=move || stays(false).then_some("true") aria-label=named(Common::Less) on:click=move |_| turn(false)>"−"</button>
                <button type="button" class="step" aria-disabled=move || stays(true).then_some("true") aria-label=named(Common::More) on:click=move |_| turn(true)>"+"</button>
            </div>
        }
    };
    view! {
        <h3>{desk.say(Words::Try)}</h3>
        <Bottoms/>
        <SecondTube/>
        <another::AnotherProgramme/>
        <div class="spun-knobs">{Knob::ALL.into_iter().map(row).collect_view()}</div>
        <button
            type="button"
            class="button"
            hidden=move || !shown.tries()
            on:click=move |_| shown.reset()
        >
            {desk.say(Words::Reset)}
        </button>
    }
}
