//! Core of Strawline: the reckoning behind the preparation of platelet-rich plasma. No browser in here.
//!
//! Where to start: [`draft`] (what was typed) → [`case`] (what is meant) → [`assess`] (what follows). Every
//! screen, card and file is a view of an [`assess::Assessment`].

pub mod arrange;
pub mod assess;
pub mod bench;
pub mod blood;
pub mod case;
mod chance;
pub mod draft;
pub mod evidence;
pub mod export;
pub mod finding;
pub mod log;
pub mod product;
pub mod quality;
pub mod quantity;
pub mod record;
pub mod scan;
pub mod spin;
mod stored;
pub mod words;
pub mod working;
