//! What stands on `<html>`: theme, language, and that the page's own fonts may come.

use crate::dom::prelude::*;
use std::time::Duration;
use strawline::record::settings::{Settings, Theme};
use strawline::words::Language;

/// Lets the fonts come once the first paint is done, so that nothing waits for them.
pub fn fonts_after_paint() {
    let add = || {
        let added = document().document_element().map(|root| root.class_list().add_1("fonts"));
        if let Some(Err(error)) = added {
            leptos::logging::warn!("{error:?}");
        }
    };
    request_animation_frame(move || set_timeout(add, Duration::ZERO));
}

/// Theme and language stand on `<html>`, where the style sheet and the screen reader look for them.
pub fn follow(settings: &Settings) {
    let Some(root) = document().document_element() else { return };
    let theme = match settings.theme {
        Theme::Device => None,
        Theme::Light => Some("light"),
        Theme::Dark => Some("dark"),
    };
    let lang = match settings.language {
        Language::English => "en",
        Language::Pseudo => "en-x-pseudo",
    };
    let done = match theme {
        Some(theme) => root.set_attribute("data-theme", theme),
        None => root.remove_attribute("data-theme"),
    };
    if let Err(error) = done.and_then(|()| root.set_attribute("lang", lang)) {
        leptos::logging::warn!("{error:?}");
    }
}

/// Puts the keyboard on the element with this id, if it is there.
pub fn focus(id: &str) {
    use wasm_bindgen::JsCast;
    let found = document().get_element_by_id(id).and_then(|e| e.dyn_into::<web_sys::HtmlElement>().ok());
    if let Some(Err(error)) = found.map(|element| element.focus()) {
        leptos::logging::warn!("{error:?}");
    }
}
