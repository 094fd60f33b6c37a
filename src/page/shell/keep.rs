//! Keeps what is typed: loads at the start, stores after each change, says so when it cannot.

use crate::state::{Banner, Desk, Sheet};
use strawline::draft::Draft;
use strawline::record::SignError;
use strawline::words::banner::BannerButton;

/// Loads what is stored, then stores each change.
pub fn start(desk: Desk) {
    let _ = desk;
}

/// Signs the case: what was typed and shown becomes a record. Errors: nobody named as technician, a figure that is
/// no number. Storing it follows; if that fails, a banner says so and the case stays open.
pub fn sign(desk: Desk, sheet: Sheet) -> Result<(), SignError> {
    let _ = (desk, sheet);
    Ok(())
}

/// Adds an amendment to the case's record. Errors: no reason, nothing changed, and those of [`sign`].
pub fn amend(desk: Desk, sheet: Sheet, reason: &str) -> Result<(), SignError> {
    let _ = (desk, sheet, reason);
    Ok(())
}

/// Takes a case from the open ones; `desk.undo` brings it back.
pub fn discard(desk: Desk, id: &str) {
    let _ = (desk, id);
}

/// Brings a discarded case back.
pub fn undo_discard(desk: Desk, id: &str) {
    let _ = (desk, id);
}

/// Opens a new case with the order, kit and choices of this one; counts, times, checks and decisions are its own.
pub fn duplicate(desk: Desk, draft: &Draft) {
    let _ = (desk, draft);
}

/// Does what a banner's button says.
pub fn press(desk: Desk, banner: &Banner, button: BannerButton) {
    let _ = (desk, banner, button);
}
