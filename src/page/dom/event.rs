//! What an event hands to what it does.

use super::Markup;
use super::build::made;
use leptos::reactive::owner::{LocalStorage, StoredValue};
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;
use web_sys::{Event, EventTarget, KeyboardEvent, MouseEvent};

macro_rules! events {
    ($($name:ident: $kind:ident),*) => {$(
        #[doc = concat!("On `", stringify!($name), "`.")]
        pub fn $name(mut act: impl FnMut($kind) + 'static) -> Markup {
            Markup::Event(Box::new(move |event: Event| act(event.unchecked_into())))
        }
    )*};
}
events!(click: MouseEvent, change: Event, input: Event, toggle: Event, keydown: KeyboardEvent);

/// What an event does.
pub trait Act {
    /// Does it.
    fn act(&mut self, event: Event);
}

impl<F: FnMut(Event)> Act for F {
    fn act(&mut self, event: Event) {
        self(event);
    }
}

/// Something that listens; silent from the moment it is dropped.
struct Listener {
    at: EventTarget,
    event: &'static str,
    act: Closure<dyn FnMut(Event)>,
}

impl Drop for Listener {
    fn drop(&mut self) {
        made(self.at.remove_event_listener_with_callback(self.event, self.act.as_ref().unchecked_ref()));
    }
}

/// Listens until the current owner is cleaned up.
pub(super) fn listen(at: &EventTarget, event: &'static str, mut act: Box<dyn Act>) {
    let act = Closure::new(move |event| act.act(event));
    made(at.add_event_listener_with_callback(event, act.as_ref().unchecked_ref()));
    StoredValue::<_, LocalStorage>::new_local(Listener { at: at.clone(), event, act });
}
