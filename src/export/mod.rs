//! What leaves the page: pure functions of a case and its assessment.

pub mod card;
pub mod label;
mod plan;
pub mod question;
pub mod report;
pub mod signed;
pub mod strip;
