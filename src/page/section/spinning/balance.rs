//! How the rotor is loaded: what faces what, drawn from above, and what to begin from before both sides are weighed.

use crate::dom::prelude::*;
use crate::picture::loaded::{LoadedPicture, LoadedView, Spot};
use crate::section::header::solid;
use crate::state::{Desk, Sheet};
use crate::widget::{Explained, Opens, WorkingTable};
use strawline::assess::balance::{Facing, Held, Loaded, NotLoaded, Pair, filled, may_share, of_case};
use strawline::draft::CheckSign;
use strawline::words::rotor::{LoadedSaid, PairSaid, RotorWord as Words};
use strawline::words::unit;

/// The loaded rotor, with its text; for cases that can stand in it together, with a choice.
#[component]
pub fn Balance() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    // Keys of other cases that are drawn in it too.
    let together = RwSignal::new(Vec::<String>::new());
    let others = memo(move || {
        let signed = |id: &str| desk.records.with(|all| all.iter().any(|r| r.id() == id));
        let own = sheet.read.with(|(case, _)| case.clone());
        desk.open.with(|all| {
            let others = all.iter().filter(|s| s.id() != sheet.id() && !signed(&s.id()));
            let may = others.filter(|s| s.read.with(|(case, _)| may_share(&own, case)));
            may.map(|s| (s.id(), s.draft.with(|d| d.sign))).collect::<Vec<_>>()
        })
    });
    let found = memo(move || {
        let mut all = sheet.answer.with(|a| filled(sheet.draft.with(|d| d.sign), a));
        let may = others.get();
        let chosen = together.get();
        for other in desk.open.get() {
            if chosen.contains(&other.id())
                && let Some((_, sign)) = may.iter().find(|(id, _)| *id == other.id())
            {
                all.extend(other.answer.with(|a| filled(*sign, a)));
            }
        }
        sheet.read.with(|(case, _)| of_case(case, &all))
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
                        <span><b class="sign">{sign.to_string()}</b></span>
                    </label>
                }
            };
            view! {
                <p>{desk.say(Words::Together)}</p>
                {all.into_iter().map(one).collect_view()}
                <p class="second">{desk.say(Words::TogetherWhat)}</p>
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
        Facing::Counterweight { water: Some(water) } => {
            (Words::Water, Some((unit::volume(water.value, c), water.working.clone())), false)
        }
        _ => (Words::VolumeUnknown, None, false),
    };
    let open = RwSignal::new(false);
    let value = Signal::derive(move || number.clone());
    let id = format!("w-facing-{}", pair.places[0]);
    let too_far = too_far.then(|| view! { <p class="reading wrong">{desk.say(Words::TooFar)}</p> });
    view! {
        <p class="entry">{said} "; " {desk.say(lead)} " " <Opens value=value open=open id=id.clone()/></p>
        <WorkingTable value=value open=open id=id/>
        {too_far}
    }
    .into_view()
}
