//! The forms of the log: each makes an entry, or the correction of one.

use super::form::{Fault, Form};
use super::{machines, numbers};
use crate::dom::prelude::*;
use crate::state::Desk;
use strawline::blood::anticoagulant::Agent;
use strawline::log::typed::{self, NotRead};
use strawline::log::{
    Care, CareKind, Checked, Checking, Correction, Ended, Equipment, Good, LotEntry, ProductIs, What,
};
use strawline::scan;
use strawline::words::choice::AgentName;
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

/// What is wrong with a choice; nothing yet.
fn fault() -> RwSignal<String> {
    RwSignal::new(String::new())
}

/// What was chosen. Errors: where nothing was.
fn chosen<T: Clone>(at: (RwSignal<usize>, RwSignal<String>), all: &[T]) -> Result<T, Fault> {
    typed::chosen(all, at.0.get_untracked()).map_err(|why| (at.1, why))
}

/// Results of a check, each with whether it was passed.
const RESULTS: [(Word, bool); 2] = [(Word::Passed, true), (Word::Failed, false)];

/// Names to choose from, after what stands for none.
fn after(none: String, all: &[(String, String)]) -> Vec<String> {
    std::iter::once(none).chain(all.iter().map(|one| one.1.clone())).collect()
}

/// Something an entry names that the Bench may have no longer.
fn gone(desk: Desk, id: &str, name: &str) -> (String, String) {
    (id.to_owned(), format!("{name} ({})", desk.say(Word::NotInBench)))
}

/// The form of an entry, or of its correction.
fn form_of(desk: Desk, corrects: &Corrects) -> Form {
    Form::new(desk, corrects.as_ref().map(|(of, _)| of.as_str()).unwrap_or_default())
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
    let form = form_of(desk, &corrects);
    let every = |of| was.every.get(&of).map(u16::to_string).unwrap_or_default();
    let (name, serial) = (typed(was.name.clone()), typed(was.serial.clone()));
    let (speed, timer) = (typed(every(Checked::Speed)), typed(every(Checked::Timer)));
    let rotors =
        desk.bench.with_untracked(|b| b.rotors.iter().map(|r| (r.id.clone(), r.name.clone())).collect());
    let rotors = typed::with_own(rotors, was.rotor.clone().map(|id| gone(desk, &id, &id)));
    let rotor = RwSignal::new(typed::place(&rotors, was.rotor.as_deref()));
    let names = after(desk.say(Word::NoRotor), &rotors);
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
    let clear = move || {
        [name, serial, speed, timer].iter().for_each(|t| t.0.set(String::new()));
        rotor.set(0);
    };
    view! {
        {form.line("equipment-name", Word::Name, None, name.0, name.1)}
        {form.line("equipment-serial", Word::Serial, None, serial.0, serial.1)}
        {form.pick("equipment-rotor", Word::Rotor, Some(Word::RotorHint), names, rotor, fault())}
        {form.line("equipment-speed", Word::EverySpeed, Some(Word::EveryHint), speed.0, speed.1)}
        {form.line("equipment-timer", Word::EveryTimer, Some(Word::EveryHint), timer.0, timer.1)}
        {end_of(desk, form, "equipment-by", "equipment-why", corrects, make, clear)}
    }
    .into_view()
}

/// A check of speed or timer.
pub fn check(desk: Desk, corrects: Corrects) -> Markup {
    let was = match &corrects {
        Some((_, What::Check(c))) => Some(c.clone()),
        _ => None,
    };
    let form = form_of(desk, &corrects);
    let all = machines(desk, was.as_ref().map(|c| c.of.as_str()));
    if all.is_empty() {
        return view! { <p class="second">{desk.say(Word::NoEquipment)}</p> }.into_view();
    }
    // Nothing of a new check is said for whoever enters it.
    let at = |place: Option<usize>| (RwSignal::new(place.map_or(0, |at| at + 1)), fault());
    let of = (RwSignal::new(typed::place(&all, was.as_ref().map(|c| c.of.as_str()))), fault());
    let what = at(was.as_ref().and_then(|c| Checked::ALL.iter().position(|of| *of == c.what)));
    let result = at(was.as_ref().and_then(|c| RESULTS.iter().position(|one| one.1 == c.passed)));
    let on = typed(was.as_ref().map_or_else(|| day_text(desk), |c| desk.say(Day(c.on))));
    let due = typed(was.as_ref().and_then(|c| c.due).map(|day| desk.say(Day(day))).unwrap_or_default());
    let found = typed(was.map(|c| c.found).unwrap_or_default());
    let choose = || desk.say(Word::NotChosen);
    let names = after(choose(), &all);
    let kinds = std::iter::once(choose()).chain(Checked::ALL.map(|c| desk.say(c))).collect();
    let results = std::iter::once(choose()).chain(RESULTS.map(|r| desk.say(r.0))).collect();
    let make = move || {
        let day = |text: &str| typed::day(text, months(desk));
        let on_day = read(on, day)?.ok_or((on.1, NotRead::Day))?;
        Ok(What::Check(Checking {
            of: chosen(of, &all)?.0,
            what: chosen(what, &Checked::ALL)?,
            on: on_day,
            passed: chosen(result, &RESULTS)?.1,
            found: found.0.get_untracked(),
            due: read(due, day)?,
        }))
    };
    let clear = move || {
        [due, found].iter().for_each(|t| t.0.set(String::new()));
        [of, what, result].iter().for_each(|pick| pick.0.set(0));
    };
    view! {
        {form.pick("check-of", Word::OfEquipment, None, names, of.0, of.1)}
        {form.pick("check-what", Word::Checked, None, kinds, what.0, what.1)}
        {form.line("check-on", Word::On, None, on.0, on.1)}
        {form.pick("check-result", Word::Result, None, results, result.0, result.1)}
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
    let form = form_of(desk, &corrects);
    let own = was.as_ref().and_then(|c| c.of.as_deref());
    let all = machines(desk, own);
    let of = RwSignal::new(typed::place(&all, own));
    let kind = RwSignal::new(usize::from(was.as_ref().is_some_and(|c| c.kind == CareKind::Spill)));
    let now = desk.minute.get_untracked();
    let when = was.as_ref().map_or(now.at, |c| c.when).local(now.offset);
    let on = typed(when.map(|(day, _)| desk.say(Day(day))).unwrap_or_default());
    let at = typed(when.map(|(_, time)| time.text()).unwrap_or_default());
    let done = typed(was.map(|c| c.done).unwrap_or_default());
    let names = after(desk.say(Word::Elsewhere), &all);
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
        {form.pick("care-kind", Word::Kind, None, kinds.map(|k| desk.say(k)).to_vec(), kind, fault())}
        {form.pick("care-of", Word::Where, None, names, of, fault())}
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
    let form = form_of(desk, &corrects);
    let product_was = was.as_ref().and_then(|l| l.product_is.clone());
    let own = match &product_was {
        Some(ProductIs::Container { id, name }) => Some(gone(desk, id, name)),
        _ => None,
    };
    let containers =
        desk.bench.with_untracked(|b| b.containers.iter().map(|c| (c.id.clone(), c.name.clone())).collect());
    let key = own.as_ref().map(|own| own.0.clone());
    let containers = typed::with_own(containers, own);
    let container = RwSignal::new(typed::place(&containers, key.as_deref()));
    let agent_was = Agent::ALL.iter().position(|a| product_was == Some(ProductIs::Agent(*a)));
    let agent = RwSignal::new(agent_was.map_or(0, |at| at + 1));
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
    let not_said = || desk.say(Word::ProductNotSaid);
    let container_names = after(not_said(), &containers);
    let agent_names = Agent::ALL.map(|a| desk.say(AgentName(a, numbers(desk))));
    let agent_names = std::iter::once(not_said()).chain(agent_names).collect();
    let good = move || Good::ALL.get(of.get()).copied().unwrap_or(Good::Containers);
    let is = memo(good);
    let make = move || {
        let months = months(desk);
        let of = is.get_untracked();
        let one_of = |at: RwSignal<usize>| at.get_untracked().checked_sub(1);
        let product_is = match of {
            Good::Containers => one_of(container).and_then(|at| containers.get(at)).map(|c| {
                // As the Bench has it by now, else as the entry had it.
                let was = product_was
                    .clone()
                    .filter(|was| matches!(was, ProductIs::Container { id, .. } if *id == c.0));
                let named = desk.bench.with_untracked(|b| b.container(&c.0).is_some());
                let new = ProductIs::Container { id: c.0.clone(), name: c.1.clone() };
                if named { new } else { was.unwrap_or(new) }
            }),
            Good::Anticoagulant => {
                one_of(agent).and_then(|at| Agent::ALL.get(at)).map(|agent| ProductIs::Agent(*agent))
            }
            Good::Addition => None,
        };
        Ok(What::Lot(LotEntry {
            of,
            product_is,
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
        [container, agent].iter().for_each(|pick| pick.set(0));
    };
    view! {
        {form.pick("lot-of", Word::LotOf, None, Good::ALL.map(|g| desk.say(g)).to_vec(), of, fault())}
        <div hidden=move || is.get() != Good::Containers>
            {form.pick("lot-container", Word::WhichContainer, None, container_names, container, fault())}
        </div>
        <div hidden=move || is.get() != Good::Anticoagulant>
            {form.pick("lot-agent", Word::WhichAgent, None, agent_names, agent, fault())}
        </div>
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
    let (form, why) = (Form::new(desk, id), typed(""));
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
