//! One entry of the Bench as data: how it is named, read and set. A table of rows is a form.

use crate::dom::prelude::*;
use crate::place::field::{NumberBox, PickBox, TextBox, shown};
use crate::state::Desk;
use strawline::bench::Bench;
use strawline::quantity::read::{Kind, spell};
use strawline::record::Reason;
use strawline::words::bench::BenchWord;

/// Where in the Bench a row stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Spot {
    /// Which container, rotor or protocol.
    pub item: usize,
}

/// One entry. `get` gives `None` where the entry makes no sense; `set` gives `None` where the value cannot be.
pub enum Row {
    /// Words.
    Text {
        words: BenchWord,
        hint: Option<BenchWord>,
        get: fn(&Bench, Spot) -> Option<String>,
        set: fn(&mut Bench, Spot, String) -> Option<()>,
    },
    /// A number in the core unit of its kind.
    Number {
        words: BenchWord,
        hint: Option<BenchWord>,
        kind: Kind,
        /// Printed where the kind has no unit of its own.
        unit: &'static str,
        needed: bool,
        get: fn(&Bench, Spot) -> Option<Option<f64>>,
        set: fn(&mut Bench, Spot, Option<f64>) -> Option<()>,
    },
    /// One of several.
    Pick {
        words: BenchWord,
        hint: Option<BenchWord>,
        names: fn(Desk) -> Vec<String>,
        get: fn(&Bench, Spot) -> Option<usize>,
        set: fn(&mut Bench, Spot, usize) -> Option<()>,
    },
    /// Numbers that hold only together.
    Together {
        rows: &'static [(BenchWord, Kind)],
        hint: Option<BenchWord>,
        get: fn(&Bench, Spot) -> Option<Vec<Option<f64>>>,
        set: fn(&mut Bench, Spot, Option<&[f64]>) -> Option<()>,
    },
    /// A line that tells something.
    Note(fn(Desk, &Bench, Spot) -> Option<String>),
    /// A drawing of what is entered.
    Sight(fn(Desk, Signal<Spot>) -> Markup),
}

/// Rows of plain quantities: `number!(containers.capacity: Volume, words, kind)`, with `?` behind the field for one
/// that may be empty.
macro_rules! number {
    ($list:ident.$field:ident: $q:ty, $words:ident, $kind:expr $(, $hint:ident)?) => {
        Row::Number {
            words: BenchWord::$words,
            hint: $crate::place::bench::row::hint!($($hint)?),
            kind: $kind,
            unit: "",
            needed: true,
            get: |b, at| Some(Some(b.$list.get(at.item)?.$field.get())),
            set: |b, at, v| {
                b.$list.get_mut(at.item)?.$field = <$q>::new(v?).ok()?;
                Some(())
            },
        }
    };
    ($list:ident.$field:ident?: $q:ty, $words:ident, $kind:expr $(, $hint:ident)?) => {
        Row::Number {
            words: BenchWord::$words,
            hint: $crate::place::bench::row::hint!($($hint)?),
            kind: $kind,
            unit: "",
            needed: false,
            get: |b, at| Some(b.$list.get(at.item)?.$field.map(Quantity::get)),
            set: |b, at, v| {
                b.$list.get_mut(at.item)?.$field = v.map(<$q>::new).transpose().ok()?;
                Some(())
            },
        }
    };
}
macro_rules! hint {
    () => {
        None
    };
    ($hint:ident) => {
        Some(BenchWord::$hint)
    };
}
/// A row for the name in a list.
macro_rules! name {
    ($list:ident) => {
        Row::Text {
            words: BenchWord::Name,
            hint: None,
            get: |b, at| Some(b.$list.get(at.item)?.name.clone()),
            set: |b, at, text| {
                b.$list.get_mut(at.item)?.name = text;
                Some(())
            },
        }
    };
}
pub(crate) use {hint, name, number};

/// Changes the Bench, if it would still hold together. Errors: why not, in words.
pub fn commit(desk: Desk, change: impl FnOnce(&mut Bench) -> Option<()>) -> Result<(), String> {
    let before = desk.bench.get_untracked();
    let mut next = before.clone();
    change(&mut next).ok_or_else(|| desk.say(BenchWord::CannotBe))?;
    if let Some(fault) = next.containers.iter().find_map(|c| c.check().err()) {
        return Err(format!("{} {}", desk.say(fault), desk.say(BenchWord::StillHolds)));
    }
    if next.analyser.upside_down() {
        return Err(format!("{} {}", desk.say(Reason::Analyser), desk.say(BenchWord::StillHolds)));
    }
    if next.needs_lead() && !before.needs_lead() {
        let words = if before.limits_lead == next.limits_lead {
            BenchWord::NeedsLead
        } else {
            BenchWord::LeadStillNeeded
        };
        return Err(desk.say(words));
    }
    if next != before {
        desk.bench.set(next);
    }
    Ok(())
}

/// A table of rows at one place. `id` begins the ids of its inputs.
pub fn rows(desk: Desk, id: &str, table: &'static [Row], spot: Signal<Spot>) -> Markup {
    let all = table.iter().enumerate().map(|(n, row)| one(desk, format!("{id}-{n}"), row, spot));
    all.collect_view()
}

fn one(desk: Desk, id: String, row: &'static Row, spot: Signal<Spot>) -> Markup {
    match row {
        Row::Text { words, hint, get, set } => {
            let value = memo(move || desk.bench.with(|b| get(b, spot.get())));
            let set = move |text: String| commit(desk, |b| set(b, spot.get_untracked(), text));
            shown(value, move |value| TextBox::new(*words, *hint, value.into(), set).view(&id))
        }
        Row::Number { words, hint, kind, unit, needed, get, set } => {
            let value = memo(move || desk.bench.with(|b| get(b, spot.get())));
            let set = move |v: Option<f64>| {
                if *needed && v.is_none() {
                    return Err(desk.say(BenchWord::NumberNeeded));
                }
                commit(desk, |b| set(b, spot.get_untracked(), v))
            };
            shown(value, move |value| NumberBox::new(*words, *hint, *kind, unit, value.into(), set).view(&id))
        }
        Row::Pick { words, hint, names, get, set } => {
            let value = memo(move || desk.bench.with(|b| get(b, spot.get())));
            let set = move |i: usize| commit(desk, |b| set(b, spot.get_untracked(), i));
            shown(value, move |value| PickBox::new(*words, *hint, *names, value.into(), set).view(&id))
        }
        Row::Together { rows, hint, get, set } => {
            let value = memo(move || desk.bench.with(|b| get(b, spot.get())));
            let set = move |all: Option<&[f64]>| commit(desk, |b| set(b, spot.get_untracked(), all));
            shown(value, move |value| together(desk, &id, rows, *hint, value, set))
        }
        Row::Sight(draw) => draw(desk, spot),
        Row::Note(tell) => {
            let words = memo(move || desk.bench.with(|b| tell(desk, b, spot.get())));
            (move || words.get().map(|words| view! { <p class="second">{words}</p> })).into_view()
        }
    }
}

/// Numbers that are kept once all are entered, and taken away once none is.
fn together(
    desk: Desk,
    id: &str,
    rows: &'static [(BenchWord, Kind)],
    hint: Option<BenchWord>,
    value: Memo<Vec<Option<f64>>>,
    set: impl Fn(Option<&[f64]>) -> Result<(), String> + Copy + Send + Sync + 'static,
) -> Markup {
    let typed = RwSignal::new(value.get_untracked());
    Effect::new(move |_| typed.set(value.get()));
    let boxes = rows.iter().enumerate().map(|(n, (words, kind))| {
        let get = memo(move || typed.with(|all| all.get(n).copied().flatten()));
        let set = move |v: Option<f64>| {
            typed.update(|all| {
                if let Some(at) = all.get_mut(n) {
                    *at = v;
                }
            });
            let all = typed.get_untracked();
            match all.iter().copied().collect::<Option<Vec<f64>>>() {
                Some(whole) if all != value.get_untracked() => set(Some(&whole)),
                None if all.iter().all(Option::is_none) => set(None),
                _ => Ok(()),
            }
        };
        let hint = hint.filter(|_| n == 0);
        NumberBox::new(*words, hint, *kind, "", get.into(), set).view(&format!("{id}-{n}"))
    });
    let mixed = move || {
        let some = typed.with(|all| all.iter().flatten().count());
        (some > 0 && some < rows.len())
            .then(|| view! { <p class="second" role="status">{desk.say(BenchWord::AllTogether)}</p> })
    };
    view! { {boxes.collect_view()} {mixed} }
}

/// Rows that say different things of two Benches: label, the one, the other.
pub fn differing(
    desk: Desk,
    table: &'static [Row],
    (a, at): (&Bench, Spot),
    (b, bt): (&Bench, Spot),
) -> Vec<(String, String, String)> {
    let c = desk.bench.with_untracked(|b| b.clinic.conventions);
    let number = |value: Option<f64>, kind: Kind, unit: &str| match value {
        None => desk.say(BenchWord::NotSet),
        Some(v) => {
            let unit = if unit.is_empty() { kind.unit(&c) } else { unit };
            format!("{}\u{a0}{unit}", spell(v, kind, &c)).trim_end().to_owned()
        }
    };
    let or_none = |text: Option<String>| {
        text.filter(|text| !text.is_empty()).unwrap_or_else(|| desk.say(BenchWord::None))
    };
    let mut found = Vec::new();
    let mut tell = |words: BenchWord, a: String, b: String| {
        if a != b {
            found.push((desk.say(words), a, b));
        }
    };
    for row in table {
        match row {
            Row::Text { words, get, .. } => tell(*words, or_none(get(a, at)), or_none(get(b, bt))),
            Row::Number { words, kind, unit, get, .. } => {
                let said = |value: Option<Option<f64>>| number(value.flatten(), *kind, unit);
                tell(*words, said(get(a, at)), said(get(b, bt)));
            }
            Row::Pick { words, names, get, .. } => {
                let names = names(desk);
                let said = |at: Option<usize>| or_none(at.and_then(|at| names.get(at).cloned()));
                tell(*words, said(get(a, at)), said(get(b, bt)));
            }
            Row::Together { rows, get, .. } => {
                let (one, other) = (get(a, at).unwrap_or_default(), get(b, bt).unwrap_or_default());
                for (n, (words, kind)) in rows.iter().enumerate() {
                    let said = |all: &[Option<f64>]| number(all.get(n).copied().flatten(), *kind, "");
                    tell(*words, said(&one), said(&other));
                }
            }
            Row::Note(_) | Row::Sight(_) => {}
        }
    }
    found
}
