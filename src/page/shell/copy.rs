//! The clipboard. Only what a person asked for goes there, and nothing is read from it.

use crate::dom::prelude::*;
use js_sys::{Function, Promise, Reflect};
use leptos::task::spawn_local;
use wasm_bindgen::{JsCast, JsValue};

/// A text that was to be copied, and whether it was.
pub type Copied = RwSignal<Option<(bool, String)>>;

/// Copies a text and tells whether the browser did.
pub fn copy(text: String, told: Copied) {
    spawn_local(async move {
        let done = try_copy(&text).await;
        if let Err(error) = &done {
            leptos::logging::warn!("{error:?}");
        }
        told.set(Some((done.is_ok(), if done.is_ok() { String::new() } else { text })));
    });
}

/// Errors: the browser has no clipboard at this address, or refuses.
async fn try_copy(text: &str) -> Result<(), JsValue> {
    let clipboard = Reflect::get(&window().navigator(), &"clipboard".into())?;
    let write: Function = Reflect::get(&clipboard, &"writeText".into())?.dyn_into()?;
    let promise: Promise = write.call1(&clipboard, &text.into())?.dyn_into()?;
    wasm_bindgen_futures::JsFuture::from(promise).await.map(drop)
}
