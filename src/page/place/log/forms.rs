//! The forms of the log: each makes an entry, or the correction of one.

use super::form::{Fault, Form};
use super::machines;
use crate::dom::prelude::*;
use crate::state::Desk;
use strawline::log::typed::{self, NotRead};
use strawline::log::{Care, CareKind, Checked, Checking, Correction, Ended, Equipment, Good, LotEntry, What};
use strawline::scan;
use strawline::words::log::LogWord as Word;
use strawline::words::unit::Day;

/// The entry that is corrected: its key, and what it says now.
pub type Corrects = Option<(String, What)>;

/// A text that is typed, and what is wrong with it.
type Typed = (RwSignal<String>, RwSignal<String>);

fn typed(text: impl Into<String>) -> Typed {
    (RwSignal::new(text.into()), RwSignal::new(String::new()))
}

/// Reads a typed text. Errors: where, and why not.
fn read<T>(of: Typed, act: impl Fn(&str) -> Result<T, NotRead>) -> Result<T, Fault> {
    of.0.with_untracked(|text| act(text)).map_err(|why| (of.1, why))
}

fn months(desk: Desk) -> &'static [&'static str; 12] {
    desk.settings.with_untracked(|s| s.language).months()
}

/// Today as a text that reads back.
fn day_text(desk: Desk) -> String {
    let now = desk.minute.get_untracked();
    now.at.local(now.offset).map(|(day, _)| desk.say(Day(day))).unwrap_or_default()
}

/// Enters a new entry, or one that corrects; the reason is asked then.
fn end_of(
    desk: Desk,
    form: Form,
    id: &'static str,
    why_id: &'static str,
    corrects: Corrects,
    make: impl Fn() -> Result<What, Fault> + Send + Sync + 'static,
    clear: impl Fn() + Copy + Send + Sync + 'static,
) -> Markup {
    let Some((of, _)) = corrects else { return form.enter(id, Word::Enter, make, clear) };
    let why = typed("");
    let correct = move || {
        let now = Some(Box::new(make()?));
        Ok(What::Correction(Correction { of: of.clone(), why: why.0.get_untracked(), now }))
    };
    view! {
        <p class="second">{desk.say(Word::Correcting)}</p>
        {form.line(why_id, Word::Why, None, why.0, why.1)}
        {form.enter(id, Word::Correct, correct, || ())}
    }
    .into_view()
}

/// A piece of equipment.
pub fn equipment(desk: Desk, corrects: Corrects) -> Markup {
    let was = match &corrects {
        Some((_, What::Equipment(e))) => e.clone(),
        _ => Equipment::default(),
    };
    let form = Form::new(desk);
    let every = |of| was.every.get(&of).map(u16::to_string).unwrap_or_default();
    let (name, serial) = (typed(was.name.clone()), typed(was.serial.clone()));
    let (speed, timer) = (typed(every(Checked::Speed)), typed(every(Checked::Timer)));
    let rotors: Vec<(String, String)> =
        desk.bench.with_untracked(|b| b.rotors.iter().map(|r| (r.id.clone(), r.name.clone())).collect());
    let chosen = was.rotor.and_then(|id| rotors.iter().position(|r| r.0 == id)).map_or(0, |at| at + 1);
    let rotor = RwSignal::new(chosen);
    let names: Vec<String> =
        std::iter::once(desk.say(Word::NoRotor)).chain(rotors.iter().map(|r| r.1.clone())).collect();
    let make = move || {
        let both = [(Checked::Speed, speed), (Checked::Timer, timer)];
        let mut every = Equipment::default().every;
        for (of, text) in both {
            if let Some(months) = read(text, typed::interval)? {
                every.insert(of, months);
            }
        }
        let rotor = rotor.get_untracked().checked_sub(1).and_then(|at| rotors.get(at)).map(|r| r.0.clone());
        let (name, serial) = (name.0.get_untracked(), serial.0.get_untracked());
        Ok(What::Equipment(Equipment { name, serial, rotor, every }))
    };
    let clear = move || [name, serial, speed, timer].iter().for_each(|t| t.0.set(String::new()));
    view! {
        {form.line("equipment-name", Word::Name, None, name.0, name.1)}
        {form.line("equipment-serial", Word::Serial, None, serial.0, serial.1)}
        {form.pick("equipment-rotor", Word::Rotor, names, rotor)}
        <p class="second">{desk.say(Word::RotorHint)}</p>
        {form.line("equipment-speed", Word::EverySpeed, Some(Word::EveryHint), speed.0, speed.1)}
        {form.line("equipment-timer", Word::EveryTimer, Some(Word::EveryHint), timer.0, timer.1)}
        {end_of(desk, form, "equipment-by", "equipment-why", corrects, make, clear)}
    }
    .into_view()
}

/// The equipment to choose from, and the place of one of them.
fn which(desk: Desk, of: Option<&str>) -> (Vec<(String, String)>, usize) {
    let all = machines(desk);
    let at = of.and_then(|of| all.iter().position(|m| m.0 == of)).unwrap_or(0);
    (all, at)
}

/// A check of speed or timer.
pub fn check(desk: Desk, corrects: Corrects) -> Markup {
    let was = match &corrects {
        Some((_, What::Check(c))) => Some(c.clone()),
        _ => None,
    };
    let form = Form::new(desk);
    let (all, at) = which(desk, was.as_ref().map(|c| c.of.as_str()));
    if all.is_empty() {
        return view! { <p class="second">{desk.say(Word::NoEquipment)}</p> }.into_view();
    }
    let of = RwSignal::new(at);
    let what = RwSignal::new(usize::from(was.as_ref().is_some_and(|c| c.what == Checked::Timer)));
    let result = RwSignal::new(usize::from(was.as_ref().is_some_and(|c| !c.passed)));
    let on = typed(was.as_ref().map_or_else(|| day_text(desk), |c| desk.say(Day(c.on))));
    let due = typed(was.as_ref().and_then(|c| c.due).map(|day| desk.say(Day(day))).unwrap_or_default());
    let found = typed(was.map(|c| c.found).unwrap_or_default());
    let names = all.iter().map(|m| m.1.clone()).collect();
    let make = move || {
        let day = |text: &str| typed::day(text, months(desk));
        let on_day = read(on, day)?.ok_or((on.1, NotRead::Day))?;
        Ok(What::Check(Checking {
            of: all.get(of.get_untracked()).map(|m| m.0.clone()).unwrap_or_default(),
            what: Checked::ALL.get(what.get_untracked()).copied().unwrap_or(Checked::Speed),
            on: on_day,
            passed: result.get_untracked() == 0,
            found: found.0.get_untracked(),
            due: read(due, day)?,
        }))
    };
    let clear = move || [due, found].iter().for_each(|t| t.0.set(String::new()));
    view! {
        {form.pick("check-of", Word::OfEquipment, names, of)}
        {form.pick("check-what", Word::Checked, Checked::ALL.map(|c| desk.say(c)).to_vec(), what)}
        {form.line("check-on", Word::On, None, on.0, on.1)}
        {form.pick("check-result", Word::Result, [Word::Passed, Word::Failed].map(|w| desk.say(w)).to_vec(), result)}
        {form.line("check-found", Word::Found, Some(Word::FoundHint), found.0, found.1)}
        {form.line("check-due", Word::Due, Some(Word::DueHint), due.0, due.1)}
        {end_of(desk, form, "check-by", "check-why", corrects, make, clear)}
    }
    .into_view()
}

/// A cleaning or a spill.
pub fn care(desk: Desk, corrects: Corrects) -> Markup {
    let was = match &corrects {
        Some((_, What::Care(c))) => Some(c.clone()),
        _ => None,
    };
    let form = Form::new(desk);
    let all = machines(desk);
    let place = was.as_ref().and_then(|c| all.iter().position(|m| Some(&m.0) == c.of.as_ref()));
    let of = RwSignal::new(place.map_or(0, |at| at + 1));
    let kind = RwSignal::new(usize::from(was.as_ref().is_some_and(|c| c.kind == CareKind::Spill)));
    let now = desk.minute.get_untracked();
    let when = was.as_ref().map_or(now.at, |c| c.when).local(now.offset);
    let on = typed(when.map(|(day, _)| desk.say(Day(day))).unwrap_or_default());
    let at = typed(when.map(|(_, time)| time.text()).unwrap_or_default());
    let done = typed(was.map(|c| c.done).unwrap_or_default());
    let names = std::iter::once(desk.say(Word::Elsewhere)).chain(all.iter().map(|m| m.1.clone())).collect();
    let kinds = [CareKind::Cleaning, CareKind::Spill];
    let make = move || {
        let offset = desk.offset.get_untracked();
        let day = on.0.get_untracked();
        let when = at.0.with_untracked(|time| typed::moment(&day, time, months(desk), offset));
        let when = when.map_err(|why| (if why == NotRead::Time { at.1 } else { on.1 }, why))?;
        Ok(What::Care(Care {
            kind: kinds.get(kind.get_untracked()).copied().unwrap_or(CareKind::Cleaning),
            of: of.get_untracked().checked_sub(1).and_then(|at| all.get(at)).map(|m| m.0.clone()),
            when,
            done: done.0.get_untracked(),
        }))
    };
    view! {
        {form.pick("care-kind", Word::Kind, kinds.map(|k| desk.say(k)).to_vec(), kind)}
        {form.pick("care-of", Word::Where, names, of)}
        {form.line("care-day", Word::OnDay, None, on.0, on.1)}
        {form.line("care-time", Word::AtTime, None, at.0, at.1)}
        {form.line("care-done", Word::Done, Some(Word::DoneHint), done.0, done.1)}
        {end_of(desk, form, "care-by", "care-why", corrects, make, move || done.0.set(String::new()))}
    }
    .into_view()
}

/// A lot in use; its field takes a bar code too.
pub fn lot(desk: Desk, corrects: Corrects, wanted: Option<(Good, String)>) -> Markup {
    let was = match &corrects {
        Some((_, What::Lot(lot))) => Some(lot.clone()),
        _ => None,
    };
    let form = Form::new(desk);
    let kind = was.as_ref().map(|l| l.of).or(wanted.as_ref().map(|w| w.0));
    let of = RwSignal::new(kind.and_then(|of| Good::ALL.iter().position(|g| *g == of)).unwrap_or(0));
    let text = |day: Option<_>| day.map(|day| desk.say(Day(day))).unwrap_or_default();
    let lot = typed(was.as_ref().map(|l| l.lot.clone()).or(wanted.map(|w| w.1)).unwrap_or_default());
    let name = typed(was.as_ref().map(|l| l.name.clone()).unwrap_or_default());
    let expiry = typed(text(was.as_ref().and_then(|l| l.expiry)));
    let opened = typed(text(was.as_ref().and_then(|l| l.opened)));
    let product = typed(was.and_then(|l| l.product).map(|p| p.to_string()).unwrap_or_default());
    // A bar code that came into the field of the lot fills what it names; a refused one is told.
    Effect::new(move |_| {
        let now = desk.minute.get_untracked();
        let Some((today, _)) = now.at.local(now.offset) else { return };
        match lot.0.with(|text| scan::read(text, today)) {
            Ok(Some(code)) => {
                if let Some(day) = code.expiry {
                    expiry.0.set(desk.say(Day(day)));
                }
                if let Some(number) = code.product {
                    product.0.set(number.to_string());
                }
                lot.0.set(code.lot.unwrap_or_default());
            }
            Ok(None) => {}
            Err(why) => lot.1.set(desk.say(strawline::words::scan::CodeRefused(&why))),
        }
    });
    let make = move || {
        let months = months(desk);
        Ok(What::Lot(LotEntry {
            of: Good::ALL.get(of.get_untracked()).copied().unwrap_or(Good::Containers),
            name: name.0.get_untracked(),
            lot: lot.0.get_untracked(),
            expiry: read(expiry, |text| typed::expiry(text, months))?,
            product: read(product, typed::product)?,
            opened: read(opened, |text| typed::day(text, months))?,
        }))
    };
    let clear = move || {
        [lot, name, expiry, opened, product].iter().for_each(|t| {
            t.0.set(String::new());
            t.1.set(String::new());
        });
    };
    view! {
        {form.pick("lot-of", Word::LotOf, Good::ALL.map(|g| desk.say(g)).to_vec(), of)}
        {form.line("lot-lot", Word::Lot, Some(Word::LotHint), lot.0, lot.1)}
        {form.line("lot-expiry", Word::Expiry, Some(Word::ExpiryHint), expiry.0, expiry.1)}
        {form.line("lot-product", Word::Product, Some(Word::ProductHint), product.0, product.1)}
        {form.line("lot-opened", Word::Opened, Some(Word::OpenedHint), opened.0, opened.1)}
        {form.line("lot-name", Word::AdditionName, Some(Word::AdditionNameHint), name.0, name.1)}
        {end_of(desk, form, "lot-by", "lot-why", corrects, make, clear)}
    }
    .into_view()
}

/// That something is in use no longer, with the reason.
pub fn end(desk: Desk, id: &str, words: Word) -> Markup {
    let (form, why) = (Form::new(desk), typed(""));
    let of = id.to_owned();
    let make = move || Ok(What::Ended(Ended { of: of.clone(), why: why.0.get_untracked() }));
    let opened = RwSignal::new(false);
    let made = RwSignal::new(None);
    let open = move |_| {
        if !opened.get_untracked() {
            made.set(Some(make.clone()));
            opened.set(true);
        }
    };
    let inside = move || {
        made.get().map(|make| {
            view! {
                {form.line("end-why", Word::Why, None, why.0, why.1)}
                {form.enter("end-by", words, make, || ())}
            }
        })
    };
    view! {
        <div class="entry">
            <button type="button" class="button small" hidden=opened on:click=open>{desk.say(words)}</button>
        </div>
        {inside}
    }
    .into_view()
}
