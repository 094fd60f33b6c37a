//! The foot: what the page is for, and on a phone the places, which its head has no room for.

use super::header::place_links;
use crate::dom::prelude::*;
use crate::state::Desk;
use strawline::assess::MODEL;
use strawline::record::APP;
use strawline::words::banner::{FootWord, VersionLine};
use strawline::words::page::Frame;
use strawline::words::settings::Offline;

/// The foot of every page.
#[component]
pub fn Foot() -> impl IntoView {
    let desk = Desk::here();
    let copied = move || matches!(desk.offline.get(), Some(Offline::Ready | Offline::Update));
    view! {
        <footer class="foot">
            <nav class="places" aria-label=desk.say(Frame::Places)>{place_links(desk)}</nav>
            <span>{desk.say(FootWord::Use)}</span>
            <span>{desk.say(VersionLine { app: APP, model: MODEL })}</span>
            // It has its place from the start: nothing moves when it is said.
            <span role="status">
                <span class:not-yet=move || !copied()>{desk.say(FootWord::OfflineReady)}</span>
            </span>
        </footer>
    }
}
