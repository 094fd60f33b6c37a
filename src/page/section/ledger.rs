//! The ledger strip along the foot.

use crate::dom::prelude::*;
use crate::picture::ledger::LedgerStrip;
use crate::state::{Desk, Sheet};
use strawline::export::strip::strip as strip_of;
use strawline::words::page::Frame;

/// Where every millilitre goes, or went. Nothing while nothing is planned.
#[component]
pub fn Ledger() -> impl IntoView {
    let (desk, sheet) = (Desk::here(), Sheet::here());
    let strip = memo(move || {
        let c = sheet.conventions();
        let added = sheet.read.with(|(case, _)| !case.additions.is_empty());
        sheet.answer.with(|a| strip_of(a, desk.language(), &c, added))
    });
    let there = memo(move || strip.with(Option::is_some));
    move || {
        there.get().then(|| {
            let view = Signal::derive(move || strip.get().unwrap_or_default());
            let label = Signal::derive(move || desk.say(Frame::Ledger));
            view! { <LedgerStrip view label/> }
        })
    }
}
