//! What leaves the page: pure functions of a case and its assessment.

pub mod report;
