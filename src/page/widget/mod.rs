//! Small parts that every section is made of. Each takes its words from `words` and its state from the sheet.

mod button;
mod by_whom;
pub mod chart_text;
mod choice;
mod confirm;
mod entry;
mod findings;
mod fold;
mod opens;
mod pass_box;
mod rests_on;
mod words_box;

pub use button::{NextStep, needs};
pub use choice::{Choice, Tick};
pub use confirm::{AmenderFirst, Confirm, Who, by, confirm, who};
pub use entry::{Entry, NoCamera};
pub use findings::{Findings, Stops, sentences};
pub use fold::Fold;
pub use opens::{Explained, Opens, WorkingTable};
pub use pass_box::PassBox;
pub use rests_on::RestsOn;
pub use words_box::WordsBox;

/// A unit as it follows its number: after a no-break space, or nothing for a pure number.
pub fn unit_after(unit: &str) -> String {
    if unit.is_empty() { String::new() } else { format!("\u{a0}{unit}") }
}
