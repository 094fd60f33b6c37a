//! Fields outside a case: words, a number, one of several. What cannot be taken leaves the value as it was and
//! says so beside the field. A field is read when it is left, not at each key.

use crate::dom::prelude::*;
use crate::state::Desk;
use std::sync::Arc;
use strawline::draft::field::TooLong;
use strawline::quantity::read::{Kind, Offer, Reading, read, spell};
use strawline::words::bench::BenchWord;
use strawline::words::field::LongLine;
use strawline::words::page::Common;
use strawline::words::reading::{OfferWords, ReadingWords};

type Setter<T> = Arc<dyn Fn(T) -> Result<(), String> + Send + Sync>;

/// What is said under a field, and whether something is wrong.
type Said = RwSignal<(String, bool)>;

/// Label, control, and the line under them.
fn frame(
    id: &str,
    words: BenchWord,
    hint: Option<BenchWord>,
    control: Markup,
    said: Said,
    slip: Option<Markup>,
) -> Markup {
    let desk = Desk::here();
    let (hint_id, said_id) = (format!("{id}-more"), format!("{id}-reading"));
    let hint = hint.map(|h| view! { <p class="second" id=hint_id>{desk.say(h)}</p> });
    view! {
        <div class="field">
            <div class="field-name">
                <label for=id.to_owned()>{desk.say(words)}</label>
                {hint}
            </div>
            <div class="entry">{control}</div>
            <p class="reading" class:wrong=move || said.with(|s| s.1) id=said_id aria-live="polite">
                {move || said.with(|s| s.0.clone())}
            </p>
            {slip}
        </div>
    }
}

fn described(id: &str, hint: Option<BenchWord>) -> String {
    let more = if hint.is_some() { format!("{id}-more ") } else { String::new() };
    format!("{more}{id}-reading")
}

/// Shows an entry while there is one; its input stays the same while the value changes.
pub fn shown<T>(
    value: Memo<Option<T>>,
    view: impl FnOnce(Memo<T>) -> Markup + Clone + Send + 'static,
) -> Markup
where
    T: Clone + Default + PartialEq + Send + Sync + 'static,
{
    let there = memo(move || value.with(Option::is_some));
    let inner = memo(move || value.get().unwrap_or_default());
    (move || there.get().then(|| view.clone()(inner))).into_view()
}

/// Words in one line.
pub struct TextBox {
    words: BenchWord,
    hint: Option<BenchWord>,
    value: Signal<String>,
    set: Setter<String>,
}

impl TextBox {
    /// A field with this label, hint, value and what to do with a new one.
    pub fn new(
        words: BenchWord,
        hint: Option<BenchWord>,
        value: Signal<String>,
        set: impl Fn(String) -> Result<(), String> + Send + Sync + 'static,
    ) -> Self {
        Self { words, hint, value, set: Arc::new(set) }
    }

    /// The field; `id` is its input's.
    pub fn view(self, id: &str) -> Markup {
        let desk = Desk::here();
        let (value, set) = (self.value, self.set);
        let said: Said = RwSignal::default();
        let change = move |event| match set(event_target_value(&event).trim().to_owned()) {
            Ok(()) => {
                let typed = value.get_untracked();
                let long = TooLong::of(&typed, TooLong::USUAL).map(|over| (desk.say(LongLine(over)), true));
                said.set(long.unwrap_or_default());
            }
            Err(why) => said.set((why, true)),
        };
        let control = view! {
            <input
                id=id.to_owned()
                class="words"
                autocomplete="off"
                aria-describedby=described(id, self.hint)
                prop:value=move || value.get()
                on:change=change
            />
        };
        frame(id, self.words, self.hint, control.into_view(), said, None)
    }
}

/// One of several, by its place among them.
pub struct PickBox {
    words: BenchWord,
    hint: Option<BenchWord>,
    names: fn(Desk) -> Vec<String>,
    value: Signal<usize>,
    set: Setter<usize>,
}

impl PickBox {
    /// A field with this label, hint, choices, value and what to do with a new one.
    pub fn new(
        words: BenchWord,
        hint: Option<BenchWord>,
        names: fn(Desk) -> Vec<String>,
        value: Signal<usize>,
        set: impl Fn(usize) -> Result<(), String> + Send + Sync + 'static,
    ) -> Self {
        Self { words, hint, names, value, set: Arc::new(set) }
    }

    /// The field; `id` is its control's.
    pub fn view(self, id: &str) -> Markup {
        let desk = Desk::here();
        let (names, value, set) = (self.names, self.value, self.set);
        let said: Said = RwSignal::default();
        let options = move || {
            let one =
                |(i, name)| view! { <option value=i prop:selected=move || value.get() == i>{name}</option> };
            names(desk).into_iter().enumerate().map(one).collect_view()
        };
        let change = move |event| {
            let Ok(i) = event_target_value(&event).parse() else { return };
            match set(i) {
                Ok(()) => said.set(Default::default()),
                Err(why) => said.set((why, true)),
            }
        };
        let control = view! {
            <select
                id=id.to_owned()
                class="words"
                aria-describedby=described(id, self.hint)
                prop:value=move || value.get().to_string()
                on:change=change
            >
                {options}
            </select>
        };
        frame(id, self.words, self.hint, control.into_view(), said, None)
    }
}

/// A number with its unit, read like every other number.
pub struct NumberBox {
    words: BenchWord,
    hint: Option<BenchWord>,
    kind: Kind,
    unit: &'static str,
    value: Signal<Option<f64>>,
    set: Setter<Option<f64>>,
}

impl NumberBox {
    /// A field with this label, hint, kind of number, unit where the kind has none, value [core unit] and what to do
    /// with a new one.
    pub fn new(
        words: BenchWord,
        hint: Option<BenchWord>,
        kind: Kind,
        unit: &'static str,
        value: Signal<Option<f64>>,
        set: impl Fn(Option<f64>) -> Result<(), String> + Send + Sync + 'static,
    ) -> Self {
        Self { words, hint, kind, unit, value, set: Arc::new(set) }
    }

    /// The field; `id` is its input's.
    pub fn view(self, id: &str) -> Markup {
        let desk = Desk::here();
        let (kind, own_unit, value, set) = (self.kind, self.unit, self.value, self.set);
        let conventions = move || desk.bench.with(|b| b.clinic.conventions);
        let text = RwSignal::new(String::new());
        let said: Said = RwSignal::default();
        let offers = RwSignal::new(Vec::<Offer>::new());
        // Follows what is set elsewhere; what was typed here and reads as the value stays as typed.
        Effect::new(move |_| {
            let (v, c) = (value.get(), conventions());
            let typed = text.get_untracked();
            if read(&typed, kind, &c).value() != v || v.is_none() {
                text.set(v.map(|v| spell(v, kind, &c)).unwrap_or_default());
                said.set(Default::default());
                offers.set(Vec::new());
            }
        });
        let take = move |typed: String| {
            let c = desk.bench.with_untracked(|b| b.clinic.conventions);
            let reading = read(&typed, kind, &c);
            let words = desk.say(ReadingWords { reading: &reading, typed: &typed, kind, conventions: &c });
            text.set(typed);
            let kept = match &reading {
                Reading::Empty => set(None),
                Reading::Value { value, .. } => set(Some(*value)),
                Reading::Ask { .. } | Reading::Wrong(_) => {
                    Err(format!("{words} {}", desk.say(BenchWord::StillHolds)))
                }
            };
            said.set(match kept {
                Ok(()) => (words, false),
                Err(why) => (why, true),
            });
            offers.set(match reading {
                Reading::Ask { options } => options,
                Reading::Wrong(refusal) => refusal.offers().to_vec(),
                Reading::Empty | Reading::Value { .. } => Vec::new(),
            });
        };
        let slips = {
            let take = take.clone();
            move || {
                let all = offers.get();
                let style = desk.bench.with_untracked(|b| b.clinic.conventions.numbers);
                let one = |offer: Offer| {
                    let (take, label) = (take.clone(), desk.say(OfferWords(&offer, style)));
                    view! {
                        <button type="button" class="offer" on:click=move |_| take(offer.text.clone())>
                            {label}
                        </button>
                    }
                };
                (!all.is_empty()).then(|| {
                    let label = desk.say(Common::DidYouMean);
                    view! {
                        <div class="slip" role="group" aria-label=label>
                            {all.into_iter().map(one).collect_view()}
                        </div>
                    }
                })
            }
        };
        let unit_id = format!("{id}-unit");
        let unit = move || match kind.unit(&conventions()) {
            "" => own_unit,
            of_kind => of_kind,
        };
        let control = view! {
            <input
                id=id.to_owned()
                class="number"
                inputmode="decimal"
                autocomplete="off"
                enterkeyhint="next"
                aria-describedby=format!("{unit_id} {}", described(id, self.hint))
                aria-invalid=move || said.with(|s| s.1).then_some("true")
                prop:value=text
                on:change=move |event| take(event_target_value(&event))
            />
            <span class="unit" id=unit_id.clone()>{unit}</span>
        };
        frame(id, self.words, self.hint, control.into_view(), said, Some(slips.into_view()))
    }
}
