//! The room as a whole: which counts enter, what is decided about them, what is drawn; and simulated clinics.

mod clinics;
mod in_control;
pub(super) mod rooms;
mod speed;
