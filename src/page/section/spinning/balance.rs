//! How the rotor is loaded: what faces what, drawn from above, and what to begin from before both sides are weighed.

use crate::dom::prelude::*;
use crate::picture::loaded::{LoadedPicture, LoadedView, Spot};
use crate::section::header::solid;
use crate::state::{Desk, Sheet};
use crate::widget::{Explained, Opens, WorkingTable};
use strawline::assess::balance::{Facing, Held, Loaded, NotLoaded, Pair, filled, may_share, of_case};
use strawline::draft::CheckSign;
use strawline::words::header::SignSpoken;
use strawline::words::rotor::{LoadedSaid, PairSaid, RotorWord as Words};
use strawline::words::unit;

/// The loaded rotor, with its text; for cases that can stand in it together, with a choice.
#[component]
pub fn Balance() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    // Keys of other cases that are drawn in it too.
    let together = RwSignal::new(Vec::<String>::new());
    let may = memo(move || {
        let signed = |id: &str| desk.records.with(|all| all.iter().any(|r| r.id() == id));
        let own = sheet.read.with(|(case, _)| case.clone());
        desk.open.with(|all| {
            let others = all.iter().filter(|s| s.id() != sheet.id() && !signed(&s.id()));
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
            s.read.with(|(case, _)| s.answer.with(|a| filled(sign, case, a)))
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
        let loaded = sheet.read.with(|(case, _)| of_case(case, &all));
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
                row(desk, said, pair, &c)
            };
            loaded.pairs.iter().map(one).collect()
        })
    };
    let shared = memo(move || found.with(|f| f.as_ref().is_ok_and(|l| l.shared)));
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
    view! {
        <div class="loaded" id="loaded">
            <h3 class="subheading">{desk.say(Words::Loaded)}</h3>
            <p class="second" hidden=move || drawn.get()>{why}</p>
            <div hidden=move || !drawn.get()>
                <p class="second">{desk.say(Words::WeighFirst)}</p>
                <div class="scroll" tabindex="0" role="group" aria-label=desk.say(Words::Loaded)>
                    <LoadedPicture view=view label=said/>
                </div>
                <p class="reading" hidden=move || !shared.get()>{desk.say(Words::NoIdentity)}</p>
                {move || pairs().into_iter().collect_view()}
                <p class="second">
                    {move || desk.say(if numbered.get() { Words::Counted } else { Words::PlacesUnknown })} " "
                    {desk.say(Words::Instructions)}
                </p>
            </div>
            {choice}
        </div>
    }
}

/// What faces what, and the number to begin from, open to its working.
fn row(desk: Desk, said: String, pair: &Pair, c: &strawline::quantity::unit::Conventions) -> Markup {
    let (lead, number, too_far): (_, Explained, _) = match &pair.facing {
        Facing::Container { apart: Some(apart), too_far, .. } => {
            (Words::Apart, Some((unit::grams(apart.value, c), apart.working.clone())), *too_far)
        }
        Facing::Counterweight { water: Some(water), .. } => {
            (Words::Water, Some((unit::volume(water.value, c), water.working.clone())), false)
        }
        _ => (Words::VolumeUnknown, None, false),
    };
    let open = RwSignal::new(false);
    let value = Signal::derive(move || number.clone());
    let id = format!("w-facing-{}", pair.places[0]);
    let (too_much, emptied) = match &pair.facing {
        Facing::Counterweight { too_much, emptied, .. } => (*too_much, *emptied),
        Facing::Container { .. } => (false, false),
    };
    let wrong = [(too_far, Words::TooFar), (too_much, Words::TooMuch)];
    let wrong = wrong.map(|(is, words)| is.then(|| view! { <p class="reading wrong">{desk.say(words)}</p> }));
    let emptied = emptied.then(|| view! { <p class="second">{desk.say(Words::Emptied)}</p> });
    view! {
        <p>{said} "; " {desk.say(lead)} " " <Opens value=value open=open id=id.clone()/></p>
        <WorkingTable value=value open=open id=id/>
        {wrong.into_iter().collect_view()}
        {emptied}
    }
    .into_view()
}
