//! The address bar: the place in view stands after `#`, nothing else.

use crate::dom::prelude::*;
use crate::state::{Desk, Place};

/// Follows the address, now and whenever it changes.
pub fn follow(desk: Desk) {
    let read = move || {
        let hash = window().location().hash().unwrap_or_default();
        desk.place.set(Place::from_hash(&hash));
    };
    read();
    let handle = window_event_listener(leptos::ev::hashchange, move |_| read());
    on_cleanup(move || handle.remove());
}

/// Goes to a place.
pub fn go(place: Place) {
    if let Err(error) = window().location().set_hash(place.hash()) {
        leptos::logging::warn!("{error:?}");
    }
}
