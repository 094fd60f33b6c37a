//! Mounts the page. Everything else is in `app.rs` and the rooms it names.

mod app;
mod counts;
mod dom;
mod picture;
mod place;
mod section;
mod shell;
mod state;
mod widget;

use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// What the other thread is asked for the picture of a spin: texts both ways.
#[wasm_bindgen]
#[must_use]
pub fn strawline_answer(question: &str) -> String {
    strawline::spin::column::ask::answer(question)
}

/// Starts the page, unless there is no window: a worker runs this same module
/// and only wants its functions.
fn main() {
    let Some(document) = web_sys::window().and_then(|window| window.document()) else {
        return;
    };
    std::panic::set_hook(Box::new(show_fault));
    let Some(root) = document.get_element_by_id("app") else {
        return;
    };
    // The static shell has done its work.
    root.set_inner_html("");
    dom::mount(&root, || app::App::begin().done());
}

/// Tells `boot.js`, which shows the banner that stands ready in `index.html`:
/// after a panic nothing here can.
fn show_fault(info: &std::panic::PanicHookInfo<'_>) {
    web_sys::console::error_1(&JsValue::from_str(&info.to_string()));
    let told = web_sys::window()
        .zip(web_sys::Event::new("strawline-fault").ok())
        .map(|(window, event)| window.dispatch_event(&event));
    if let Some(Err(error)) = told {
        web_sys::console::error_1(&error);
    }
}
