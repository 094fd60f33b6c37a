//! What `boot.js` says of the offline copy, and letting a newer version take over: only when a person says so.

use super::keep;
use crate::state::{Banner, Desk};
use leptos::prelude::*;
use strawline::words::settings::Offline;
use wasm_bindgen::JsValue;

/// Follows the offline copy.
pub fn follow(desk: Desk) {
    // Served by the copy already: then its being there is no news.
    let known = controlled();
    let read = move || {
        let said = document().document_element().and_then(|root| root.get_attribute("data-offline"));
        let (state, banner) = match said.as_deref() {
            Some("ready") => (Offline::Ready, (!known).then_some(Banner::OfflineReady)),
            Some("incomplete") => (Offline::Incomplete, Some(Banner::OfflineIncomplete)),
            Some("update") => (Offline::Update, Some(Banner::Update { asks: false })),
            _ => return,
        };
        desk.offline.set(Some(state));
        if let Some(banner) = banner {
            desk.show(banner);
        }
    };
    read();
    let _stays = window_event_listener_untyped("strawline-offline", move |_| read());
}

/// Whether a service worker serves this page. It is absent where browsers offer none.
fn controlled() -> bool {
    let get = |of: &JsValue, key: &str| js_sys::Reflect::get(of, &key.into()).unwrap_or_default();
    let container = get(&window().navigator(), "serviceWorker");
    container.is_object() && get(&container, "controller").is_object()
}

/// Loads the new version, or asks first while a case is open.
pub fn load_new(desk: Desk) {
    if desk.open.with_untracked(Vec::is_empty) {
        take_over(desk);
    } else {
        desk.show(Banner::Update { asks: true });
    }
}

/// Loads the new version.
pub fn take_over(desk: Desk) {
    keep::flush(desk);
    // After the storing, which is queued before it.
    set_timeout(
        || {
            let sent =
                web_sys::Event::new("strawline-take-over").and_then(|event| window().dispatch_event(&event));
            if let Err(error) = sent {
                leptos::logging::warn!("{error:?}");
            }
        },
        std::time::Duration::from_millis(50),
    );
}
