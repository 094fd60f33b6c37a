//! The parts of the worksheet, one file each.

pub mod amounts;
pub mod answer;
pub mod before_needle;
pub mod discards;
pub mod first;
pub mod foot;
pub mod header;
pub mod later;
pub mod ledger;
pub mod literature;
pub mod locked;
pub mod needle_in;
pub mod order;
pub mod order_panel;
pub mod paper;
pub mod plan;
pub mod product;
pub mod spinning;
pub mod times;
pub mod trouble;
