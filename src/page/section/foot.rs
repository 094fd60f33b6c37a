//! The foot: what the page is for, and on a phone the places, which its head has no room for.

use super::header::place_links;
use crate::state::Desk;
use leptos::prelude::*;
use strawline::assess::MODEL;
use strawline::record::APP;
use strawline::words::banner::{FootWord, VersionLine};
use strawline::words::page::Frame;

/// The foot of every page.
#[component]
pub fn Foot() -> impl IntoView {
    let desk = Desk::here();
    view! {
        <footer class="foot">
            <nav class="places" aria-label=desk.say(Frame::Places)>{place_links(desk)}</nav>
            <span>{desk.say(FootWord::Use)}</span>
            <span>{desk.say(VersionLine { app: APP, model: MODEL })}</span>
        </footer>
    }
}
