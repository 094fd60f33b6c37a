//! What `boot.js` says of the offline copy, and letting a newer version take over: only when a person says so.

use super::keep;
use crate::dom::prelude::*;
use crate::state::{Banner, Desk};
use leptos::task::spawn_local;
use strawline::words::settings::Offline;

/// Follows the offline copy.
pub fn follow(desk: Desk) {
    let read = move || {
        let said = document().document_element().and_then(|root| root.get_attribute("data-offline"));
        let (state, banner) = match said.as_deref() {
            Some("ready") => (Offline::Ready, None),
            Some("incomplete") => (Offline::Incomplete, Some(Banner::OfflineIncomplete)),
            Some("update") => (Offline::Update, Some(Banner::Update { asks: false })),
            _ => return,
        };
        desk.offline.set(Some(state));
        match banner {
            Some(banner) => desk.show(banner),
            None => desk.hide(|b| *b == Banner::OfflineIncomplete),
        }
    };
    read();
    let _stays = window_event_listener_untyped("strawline-offline", move |_| read());
}

/// Loads the new version, or asks first while a case is open.
pub fn load_new(desk: Desk) {
    if desk.open.with_untracked(Vec::is_empty) {
        take_over(desk);
    } else {
        desk.show(Banner::Update { asks: true });
    }
}

/// Loads the new version, once all that was typed and signed is stored. If that fails the page stays: the banner
/// of what failed stands above.
pub fn take_over(desk: Desk) {
    spawn_local(async move {
        if !keep::may_leave(desk).await {
            return desk.show(Banner::Update { asks: true });
        }
        let sent =
            web_sys::Event::new("strawline-take-over").and_then(|event| window().dispatch_event(&event));
        if let Err(error) = sent {
            leptos::logging::warn!("{error:?}");
        }
    });
}
