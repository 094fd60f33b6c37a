//! How the rotor is loaded for each spin: what faces what, drawn from above, by how much they differ, and the weights that
//! tell it.

use crate::dom::prelude::*;
use crate::picture::loaded::{LoadedPicture, LoadedView, Spot};
use crate::section::header::solid;
use crate::state::{Desk, Sheet};
use crate::widget::{Entry, Explained, Fold, Opens, WorkingTable};
use strawline::assess::balance::{
    By, Facing, Held, Loaded, NotLoaded, Pair, filled, may_share, of_case, spins_of,
};
use strawline::case::{Draw, Weighed};
use strawline::draft::{CheckSign, Field};
use strawline::quantity::unit::Conventions;
use strawline::words::header::SignSpoken;
use strawline::words::rotor::{LoadedSaid, NotWeighed, PairSaid, RotorWord as Words};
use strawline::words::unit;

/// The loaded rotor of each spin.
#[component]
pub fn Balance() -> impl IntoView {
    let sheet = Sheet::here();
    let two = memo(move || sheet.read.with(|(case, _)| spins_of(case) > 1));
    view! {
        <OneSpin spin=0/>
        <Show when=move || two.get()>
            <OneSpin spin=1/>
        </Show>
    }
}

/// The loaded rotor of a spin, from 0, with its text and its weights; for cases that can stand in the first together, with
/// a choice.
#[component]
fn OneSpin(
    /// Which.
    spin: usize,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    // Keys of other cases that are drawn in it too.
    let together = RwSignal::new(Vec::<String>::new());
    let may = memo(move || {
        let signed = |id: &str| desk.records.with(|all| all.iter().any(|r| r.id() == id));
        let own = sheet.read.with(|(case, _)| case.clone());
        desk.open.with(|all| {
            // What is drawn off another patient’s containers is weighed at that case.
            let others = all.iter().filter(|s| spin == 0 && s.id() != sheet.id() && !signed(&s.id()));
            let sign = |s: &Sheet| s.draft.with(|d| d.sign);
            let open: Vec<CheckSign> = all.iter().map(sign).collect();
            let one = |s: &Sheet| {
                let may = s.read.with(|(case, _)| may_share(&own, (sign(s), case), &open));
                (s.id(), sign(s), may)
            };
            others.map(one).collect::<Vec<_>>()
        })
    });
    // One that was chosen and may no longer be stays, so that it can be taken out.
    let others = memo(move || {
        let chosen = together.get();
        let all = may.get().into_iter().filter(|(id, _, may)| *may || chosen.contains(id));
        all.map(|(id, sign, _)| (id, sign)).collect::<Vec<_>>()
    });
    let found = memo(move || {
        let of = |s: &Sheet| {
            let sign = s.draft.with(|d| d.sign);
            s.read.with(|(case, _)| s.answer.with(|a| filled(sign, case, a, spin)))
        };
        let mut all = of(&sheet);
        let chosen = together.get();
        let mut parted = false;
        for (id, _, may) in may.get().iter().filter(|(id, ..)| chosen.contains(id)) {
            parted |= !may;
            all.extend(
                desk.open.with(|open| open.iter().find(|s| s.id() == *id).map(of)).unwrap_or_default(),
            );
        }
        let loaded = sheet.read.with(|(case, _)| of_case(case, &all, spin));
        if parted && loaded.is_ok() { Err(NotLoaded::Parted) } else { loaded }
    });
    let drawn = memo(move || found.with(Result::is_ok));
    let on_ink = move |sign: CheckSign| {
        let of = |s: &Sheet| s.draft.with_untracked(|d| d.sign) == sign;
        desk.open.with(|all| all.iter().copied().find(of)).is_some_and(|s| solid(desk, s))
    };
    let view = Signal::derive(move || {
        let spot = |held: &Held| match held {
            Held::Container(f) => Spot::Container(f.sign.to_string(), f.number.to_string(), on_ink(f.sign)),
            Held::Counterweight(_) => Spot::Counterweight(desk.say(Words::Weight)),
            Held::Empty => Spot::Empty,
        };
        let of =
            |l: &Loaded| LoadedView { places: l.places.iter().map(spot).collect(), numbered: l.numbered };
        found.with(|f| f.as_ref().map(of).unwrap_or_default())
    });
    let said = Signal::derive(move || {
        let c = sheet.conventions();
        found.with(|f| f.as_ref().map(|l| desk.say(LoadedSaid(l, &c))).unwrap_or_default())
    });
    let why = move || found.with(|f| f.as_ref().err().map(|why: &NotLoaded| desk.say(*why)));
    let pairs = move || {
        let c = sheet.conventions();
        found.with(|f| {
            let Ok(loaded) = f else { return Vec::new() };
            let numbered = loaded.numbered;
            let one = |pair: &Pair| {
                let said = desk.say(PairSaid { pair, numbered, conventions: &c });
                row(desk, spin, said, pair, &c)
            };
            loaded.pairs.iter().map(one).collect()
        })
    };
    let shared = memo(move || found.with(|f| f.as_ref().is_ok_and(|l| l.shared)));
    let no_tolerance = memo(move || {
        let weighed = |l: &Loaded| l.pairs.iter().any(|pair| pair.facing.by() == By::Weight);
        let none =
            sheet.read.with(|(case, _)| case.spin.rotor.as_ref().is_some_and(|r| r.tolerance.is_none()));
        none && found.with(|f| f.as_ref().is_ok_and(weighed))
    });
    let numbered = memo(move || found.with(|f| f.as_ref().is_ok_and(|l| l.numbered)));
    let choice = move || {
        let all = others.get();
        (!all.is_empty()).then(|| {
            let one = |(id, sign): (String, CheckSign)| {
                let own = id.clone();
                let is_in = move || together.with(|t| t.contains(&own));
                let turn = move |event: web_sys::Event| {
                    let put = event_target_checked(&event);
                    together.update(|t| {
                        t.retain(|one| *one != id);
                        if put {
                            t.push(id.clone());
                        }
                    });
                };
                view! {
                    <label class="check">
                        <input type="checkbox" prop:checked=is_in on:change=turn/>
                        <span><b class="sign" role="img" aria-label=desk.say(SignSpoken(sign))>{sign.to_string()}</b></span>
                    </label>
                }
            };
            view! {
                <div role="group" aria-labelledby="loaded-together">
                    <p id="loaded-together">{desk.say(Words::Together)}</p>
                    {all.into_iter().map(one).collect_view()}
                    <p class="second">{desk.say(Words::TogetherWhat)}</p>
                </div>
            }
        })
    };
    let two = memo(move || sheet.read.with(|(case, _)| spins_of(case) > 1));
    let name = if spin == 0 { Words::FirstSpin } else { Words::SecondSpin };
    let title = move || {
        let loaded = desk.say(Words::Loaded);
        if two.get() { format!("{loaded}: {}", desk.say(name)) } else { loaded }
    };
    view! {
        <div class="loaded" id=if spin == 0 { "loaded" } else { "loaded-second" }>
            <h3 class="subheading">{title}</h3>
            <p class="second" hidden=move || drawn.get()>{why}</p>
            <div hidden=move || !drawn.get()>
                <p class="second">{desk.say(if spin == 0 { Words::WeighFirst } else { Words::SecondWhat })}</p>
                <div class="scroll" tabindex="0" role="group" aria-label=title>
                    <LoadedPicture view=view label=said/>
                </div>
                <p class="reading" hidden=move || !shared.get()>{desk.say(Words::NoIdentity)}</p>
                {move || pairs().into_iter().collect_view()}
                <p class="reading" hidden=move || !no_tolerance.get()>{desk.say(Words::NoTolerance)}</p>
                <p class="second">
                    {move || desk.say(if numbered.get() { Words::Counted } else { Words::PlacesUnknown })} " "
                    {desk.say(Words::Instructions)}
                </p>
            </div>
            <Weights spin/>
            {choice}
        </div>
    }
}

/// The field of a container, by its number from 0.
type Of = fn(u8) -> Field;

/// What the scale reads of each container of the case, of a counterweight where their number is odd, and of those that
/// containers have for themselves.
#[component]
fn Weights(
    /// Before which spin, from 0.
    spin: usize,
) -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let numbers = memo(move || sheet.read.with(|(case, _)| case.draw.loaded().collect::<Vec<u8>>()));
    let of_spin = move |found: fn(&Draw, &Weighed) -> bool| {
        sheet.read.with(|(case, _)| case.spin.weighed.get(spin).is_some_and(|w| found(&case.draw, w)))
    };
    let odd = memo(move || of_spin(Draw::odd));
    // What faces the only one is the odd one’s.
    let several = memo(move || numbers.with(|n| n.len() > 1) || of_spin(|_, w| !w.own.is_empty()));
    let (container, own, counterweight): (Of, Of, _) = match spin {
        0 => (Field::FilledWeight, Field::OwnCounterweight, Field::Counterweight),
        _ => (Field::FilledWeightSecond, Field::OwnCounterweightSecond, Field::CounterweightSecond),
    };
    view! {
        <Show when=move || numbers.with(|n| !n.is_empty())>
            <Fold title=desk.say(Words::Weights)>
                <p class="second">{desk.say(Words::WeightsWhat)}</p>
                <For each=move || numbers.get() key=|i| *i let:index>
                    <Entry field=container(index)/>
                </For>
                <div hidden=move || !odd.get()><Entry field=counterweight/></div>
                <Show when=move || several.get()>
                    <Fold title=desk.say(Words::OwnCounterweights)>
                        <p class="second">{desk.say(Words::OwnCounterweightsWhat)}</p>
                        <For each=move || numbers.get() key=|i| *i let:index>
                            <Entry field=own(index)/>
                        </For>
                    </Fold>
                </Show>
            </Fold>
        </Show>
    }
}

/// What faces what, and the number it comes to, open to its working.
fn row(desk: Desk, spin: usize, said: String, pair: &Pair, c: &Conventions) -> Markup {
    let by = pair.facing.by();
    let (apart, water, heavier) = match &pair.facing {
        Facing::Container { apart, .. } => (apart.as_ref(), None, false),
        Facing::Counterweight { apart, water, heavier, .. } => (apart.as_ref(), water.as_ref(), *heavier),
    };
    let weighed = by == By::Weight;
    let apart = apart.map(|a| (unit::grams(a.value, c), a.working.clone()));
    let water = water.map(|w| (unit::volume(w.value, c), w.working.clone()));
    let counterweight = matches!(pair.facing, Facing::Counterweight { .. });
    // By weight the difference, then what makes it up; as a guess the one number there is.
    let (lead, number): (_, Explained) = match (apart, &water) {
        (Some(apart), _) => (if weighed { Words::ApartWeighed } else { Words::Apart }, Some(apart)),
        (None, Some(water)) => (Words::Water, Some(water.clone())),
        (None, None) => (Words::VolumeUnknown, None),
    };
    let open = RwSignal::new(false);
    let value = Signal::derive(move || number.clone());
    let second = if spin == 0 { "" } else { "second-" };
    let id = format!("w-facing-{second}{}", pair.places[0]);
    let makes_up = (weighed && counterweight).then(|| match water {
        Some((water, _)) => {
            let lead = desk.say(if heavier { Words::TakeOut } else { Words::Add });
            view! { <p>{lead} " " <b>{water.to_string()}</b></p> }.into_view()
        }
        None => view! { <p>{desk.say(Words::Even)}</p> }.into_view(),
    });
    let (too_far, too_much, emptied) = match &pair.facing {
        Facing::Counterweight { too_far, too_much, emptied, .. } => (*too_far, *too_much, *emptied),
        Facing::Container { too_far, .. } => (*too_far, false, false),
    };
    let far = if weighed { Words::TooFarWeighed } else { Words::TooFar };
    let wrong = [(too_far, far), (too_much, Words::TooMuch)];
    let wrong = wrong.map(|(is, words)| is.then(|| view! { <p class="reading wrong">{desk.say(words)}</p> }));
    let missing = match by {
        By::Guess { missing: Some(side) } => Some(desk.say(NotWeighed(side))),
        _ => None,
    };
    let missing = missing.map(|said| view! { <p class="reading">{said}</p> });
    let emptied = emptied.then(|| view! { <p class="second">{desk.say(Words::Emptied)}</p> });
    view! {
        <p>{said} "; " {desk.say(lead)} " " <Opens value=value open=open id=id.clone()/></p>
        <WorkingTable value=value open=open id=id/>
        {makes_up}
        {wrong.into_iter().collect_view()}
        {missing}
        {emptied}
    }
    .into_view()
}
