//! The `svg` element round what was drawn, with the words for a screen reader.

use super::svg::{Drawing, number, rem};
use crate::dom::prelude::*;

/// As wide as there is room, so many text heights high: type keeps its size.
pub fn wide(class: &'static str, label: Signal<String>, height: Signal<f64>, body: Memo<String>) -> Markup {
    view! {
        <svg
            class=class
            role="img"
            aria-label=move || label.get()
            width="100%"
            height=move || number(height.get()) + "em"
            font-size="1.0625rem"
            inner_html=move || body.get()
        ></svg>
    }
    .into_view()
}

/// As large as it was drawn, in sizes that grow with the text of the page; hidden where nothing was.
pub fn scaled(class: &'static str, label: Signal<String>, drawing: Memo<Drawing>) -> Markup {
    view! {
        <svg
            class=class
            role="img"
            hidden=move || drawing.with(|d| d.body.is_empty())
            aria-label=move || label.get()
            viewBox=move || drawing.with(Drawing::view_box)
            width=move || drawing.with(|d| rem(d.width))
            height=move || drawing.with(|d| rem(d.height))
            inner_html=move || drawing.with(|d| d.body.clone())
        ></svg>
    }
    .into_view()
}
