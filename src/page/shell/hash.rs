//! The address bar: the place in view stands after `#`, nothing else. A Bench that a link carries there is taken off at
//! once, and looked at before anything of it is.

use crate::dom::prelude::*;
use crate::state::{CameBy, Desk, Place};
use strawline::export::bench_link;

/// Follows the address, now and whenever it changes.
pub fn follow(desk: Desk) {
    let read = move || {
        let hash = window().location().hash().unwrap_or_default();
        if let Some(carried) = bench_link::read(&hash) {
            desk.carried.set(Some(carried.map(|bench| (bench, CameBy::Link))));
            // In its place, so that it does not stay in the history either.
            if let Err(error) = window().location().replace(&format!("#{}", Place::Bench.hash())) {
                leptos::logging::warn!("{error:?}");
            }
            return desk.place.set(Place::Bench);
        }
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
