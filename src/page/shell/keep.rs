//! Keeps what is typed: loads at the start, stores after each change, says so when it cannot.

use crate::state::Desk;

/// To come.
pub fn start(desk: Desk) {
    let _ = desk;
}
