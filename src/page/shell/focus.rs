//! Leads eye and keyboard to a part of the page.

use wasm_bindgen::JsCast;

/// Scrolls to the first element a selector finds and puts the keyboard there.
pub fn first(selector: &str) {
    let found = web_sys::window()
        .and_then(|w| w.document())
        .and_then(|d| d.query_selector(selector).ok().flatten())
        .and_then(|e| e.dyn_into::<web_sys::HtmlElement>().ok());
    if let Some(element) = found {
        // A part that scrolls in itself begins at its head.
        element.set_scroll_top(0);
        element.scroll_into_view();
        // A part that is no control takes the keyboard only when told so.
        if element.tab_index() < 0 && element.set_attribute("tabindex", "-1").is_err() {
            return;
        }
        if element.focus().is_err() {
            element.scroll_into_view();
        }
    }
}

/// Brings what has this key into sight; the keyboard stays where it is.
pub fn show(key: &str) {
    let found = web_sys::window().and_then(|w| w.document()).and_then(|d| d.get_element_by_id(key));
    if let Some(element) = found {
        element.scroll_into_view();
    }
}

/// Puts the keyboard at what has this key and moves nothing.
pub fn keep(key: &str) {
    let found = web_sys::window()
        .and_then(|w| w.document())
        .and_then(|d| d.get_element_by_id(key))
        .and_then(|e| e.dyn_into::<web_sys::HtmlElement>().ok());
    let Some(element) = found else { return };
    let still = web_sys::FocusOptions::new();
    still.set_prevent_scroll(true);
    if element.set_attribute("tabindex", "-1").and_then(|()| element.focus_with_options(&still)).is_err() {
        web_sys::console::warn_1(&key.into());
    }
}

/// The same as [`first`] for what has this key; what is folded away is unfolded first.
pub fn unfolded(key: &str) {
    let found = web_sys::window().and_then(|w| w.document()).and_then(|d| d.get_element_by_id(key));
    let fold = found.and_then(|e| e.closest("details").ok().flatten());
    if fold.is_none_or(|fold| fold.set_attribute("open", "").is_ok()) {
        first(&format!("#{key}"));
    }
}

/// Brings one part of a strip that scrolls sideways to its middle.
pub fn centre(strip: &str, part: &str) {
    let Some(document) = web_sys::window().and_then(|w| w.document()) else { return };
    let find = |selector: &str| document.query_selector(selector).ok().flatten();
    let part = find(part).and_then(|e| e.dyn_into::<web_sys::HtmlElement>().ok());
    if let Some((strip, part)) = find(strip).zip(part) {
        strip.set_scroll_left(part.offset_left() + part.offset_width() / 2 - strip.client_width() / 2);
    }
}
