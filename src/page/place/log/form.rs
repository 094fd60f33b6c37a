//! Parts of a form of the log. What was typed stays until it is entered.

use crate::dom::prelude::*;
use crate::shell::keep;
use crate::state::Desk;
use crate::widget::WordsBox;
use strawline::log::What;
use strawline::log::typed::NotRead;
use strawline::words::log::LogWord as Word;

/// A form that is being filled in.
#[derive(Clone, Copy)]
pub struct Form {
    desk: Desk,
    /// Key of the entry that it is about, which keeps the names of its fields apart from those of another form; empty
    /// of a new entry.
    of: RwSignal<String>,
    by: RwSignal<String>,
    /// Why it was refused, or that it was entered.
    said: RwSignal<Option<(String, bool)>>,
    /// It is being stored.
    storing: RwSignal<bool>,
}

/// What of a form cannot be read, and in which field.
pub type Fault = (RwSignal<String>, NotRead);

impl Form {
    /// One about the entry with this key; of a new entry it is empty.
    pub fn new(desk: Desk, of: &str) -> Self {
        Self {
            desk,
            of: RwSignal::new(of.to_owned()),
            by: RwSignal::new(String::new()),
            said: RwSignal::new(None),
            storing: RwSignal::new(false),
        }
    }

    /// The name of one of its fields in the document.
    fn name(self, id: &str) -> String {
        self.of.with_untracked(|of| if of.is_empty() { id.to_owned() } else { format!("{id}-{of}") })
    }

    /// A line of words with its label.
    pub fn line(
        self,
        id: &'static str,
        label: Word,
        hint: Option<Word>,
        text: RwSignal<String>,
        wrong: RwSignal<String>,
    ) -> Markup {
        let (desk, id) = (self.desk, self.name(id));
        let more = format!("{id}-more");
        let reading = format!("{id}-reading");
        // What is typed anew is no longer what was refused.
        Effect::new(move |before: Option<String>| {
            let typed = text.get();
            if before.is_some_and(|before| before != typed) {
                wrong.set(String::new());
            }
            typed
        });
        view! {
            <div class="field text">
                <div class="field-name">
                    <label for=id.clone()>{desk.say(label)}</label>
                    <p class="second" id=more>{hint.map(|h| desk.say(h))}</p>
                </div>
                <WordsBox id text wrong=Signal::derive(move || !wrong.with(String::is_empty))/>
                <p class="reading wrong" id=reading aria-live="polite">{move || wrong.get()}</p>
            </div>
        }
        .into_view()
    }

    /// One of several, by its place among them.
    pub fn pick(
        self,
        id: &'static str,
        label: Word,
        hint: Option<Word>,
        names: Vec<String>,
        at: RwSignal<usize>,
        wrong: RwSignal<String>,
    ) -> Markup {
        let id = self.name(id);
        let more = format!("{id}-more");
        let reading = format!("{id}-reading");
        let described = format!("{more} {reading}");
        let option =
            |(i, name)| view! { <option value=i prop:selected=move || at.get() == i>{name}</option> };
        view! {
            <div class="field">
                <div class="field-name">
                    <label for=id.clone()>{self.desk.say(label)}</label>
                    <p class="second" id=more>{hint.map(|h| self.desk.say(h))}</p>
                </div>
                <div class="entry">
                    <select
                        id=id
                        class="words"
                        aria-describedby=described
                        aria-invalid=move || (!wrong.with(String::is_empty)).then_some("true")
                        on:change=move |event| {
                            if let Ok(i) = event_target_value(&event).parse() {
                                at.set(i);
                                wrong.set(String::new());
                            }
                        }
                    >
                        {names.into_iter().enumerate().map(option).collect_view()}
                    </select>
                </div>
                <p class="reading wrong" id=reading aria-live="polite">{move || wrong.get()}</p>
            </div>
        }
        .into_view()
    }

    /// Who enters it, the button, and what is said. `read` makes the entry of what was typed; `clear` empties the form
    /// once it stands.
    pub fn enter(
        self,
        id: &'static str,
        words: Word,
        read: impl Fn() -> Result<What, Fault> + Send + Sync + 'static,
        clear: impl Fn() + Copy + Send + Sync + 'static,
    ) -> Markup {
        let Form { desk, by, said, storing, .. } = self;
        let nothing = RwSignal::new(String::new());
        let tap = move |_| {
            // A second tap while the first is being stored would make two entries.
            if storing.get_untracked() {
                return;
            }
            let what = match read() {
                Ok(what) => what,
                Err((field, why)) => {
                    let why = desk.say(why);
                    field.set(why.clone());
                    return said.set(Some((why, true)));
                }
            };
            let name = by.get_untracked();
            // The form may have gone with what it was about.
            let done = move |stands| {
                storing.try_set(false);
                if stands {
                    clear();
                    said.try_set(Some((desk.say(Word::Entered), false)));
                }
            };
            storing.set(true);
            if let Err(why) = keep::log::enter(desk, &name, what, done) {
                storing.set(false);
                said.set(Some((why, true)));
            }
        };
        let told = move || {
            said.get().map(|(words, wrong)| {
                let role = if wrong { "alert" } else { "status" };
                view! { <p class:wrong=wrong role=role>{words}</p> }
            })
        };
        view! {
            {self.line(id, Word::By, None, by, nothing)}
            {told}
            <div class="buttons">
                <button type="button" class="button" disabled=storing on:click=tap>{desk.say(words)}</button>
            </div>
        }
        .into_view()
    }
}
