//! Files out and in, without a server: a download, and a file that a person picked.

use crate::dom::prelude::*;
use crate::state::{Banner, Desk};
use leptos::logging::warn;
use wasm_bindgen::{JsCast, JsValue};

/// Hands a text to the browser's downloads, or says that it could not.
pub fn download(desk: Desk, name: &str, kind: &str, text: &str) {
    download_parts(desk, name, kind, &js_sys::Array::of1(&text.into()));
}

/// The same of a text in pieces, which need not be one text. Tells whether the browser took it.
pub fn download_parts(desk: Desk, name: &str, kind: &str, parts: &js_sys::Array) -> bool {
    let done = try_download(name, kind, parts);
    match &done {
        Ok(()) => desk.hide(|b| matches!(b, Banner::NoDownload(_))),
        Err(error) => desk.show(Banner::NoDownload(said(error))),
    }
    done.is_ok()
}

/// What the browser threw, in its own words.
fn said(error: &JsValue) -> String {
    let message = error.dyn_ref::<js_sys::Error>().map(|e| String::from(e.message()));
    message.or_else(|| error.as_string()).unwrap_or_else(|| format!("{error:?}"))
}

fn try_download(name: &str, kind: &str, parts: &js_sys::Array) -> Result<(), JsValue> {
    let options = web_sys::BlobPropertyBag::new();
    options.set_type(kind);
    let blob = web_sys::Blob::new_with_str_sequence_and_options(parts, &options)?;
    let url = web_sys::Url::create_object_url_with_blob(&blob)?;
    let link: web_sys::HtmlAnchorElement = document().create_element("a")?.dyn_into()?;
    link.set_href(&url);
    link.set_download(name);
    link.click();
    // The download has begun once this task is over.
    set_timeout(move || drop(web_sys::Url::revoke_object_url(&url)), std::time::Duration::from_secs(10));
    Ok(())
}

/// The text of the file picked in `input`; `None` if none was, or it cannot be read. The same file can be picked
/// again afterwards.
pub async fn picked(input: web_sys::HtmlInputElement) -> Option<String> {
    let file = input.files()?.get(0)?;
    input.set_value("");
    match wasm_bindgen_futures::JsFuture::from(file.text()).await {
        Ok(text) => text.as_string(),
        Err(error) => {
            warn!("{error:?}");
            None
        }
    }
}
