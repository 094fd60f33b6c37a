//! The places beside the worksheet.

pub mod bench;
pub mod card_code;
pub mod closing;
pub mod day;
pub mod field;
pub mod files;
pub mod log;
pub mod quality;
pub mod records;
pub mod retention;
pub mod settings;
pub mod stages;
