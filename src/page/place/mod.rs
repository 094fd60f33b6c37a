//! The places beside the worksheet.

pub mod bench;
pub mod records;
