//! What the clinic's own counts say: what they teach, whether a process is what it was, which lots were used.
//! Pure functions of signed records and of what people decided about them.
//!
//! [`facts`] one count and whether it enters · [`decided`] what people decided · [`learn`] the reckoning ·
//! [`summary`] mean and spread · [`learned`] what holds for a protocol · [`expect`] how it enters a case ·
//! [`line`] and [`against`] a learned line · [`process`] a check of the process · [`rules`] and [`chart`] control
//! charts · [`group`] by lot, person, rotor · [`demo`] an invented history.

pub mod against;
pub mod chart;
pub mod decided;
pub mod demo;
pub mod expect;
pub mod facts;
pub mod group;
pub mod learn;
pub mod learned;
pub mod line;
pub mod process;
pub mod rules;
pub mod summary;

#[cfg(test)]
mod tests;

pub use facts::{Counted, Excluded, Observed, facts_of, facts_of_record};
pub use learn::Predictive;
pub use learned::{Ground, History, Learned, OwnStands, learned, learned_for};
