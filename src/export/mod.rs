//! What leaves the page: pure functions of a case and its assessment, or of a signed record.

pub mod bench_link;
pub mod card;
pub mod chart;
pub mod code;
pub mod csv;
mod facts;
pub mod fhir;
pub mod label;
#[cfg(test)]
mod mutated;
mod plan;
pub mod question;
pub mod report;
pub mod sampled;
pub mod set_out;
pub mod signed;
pub mod strip;
#[cfg(test)]
pub(crate) mod trial;
#[cfg(test)]
mod without_tests;
