//! Tables as CSV (RFC 4180): comma, CRLF, quotation marks doubled; UTF-8 without a mark in front, decimal point
//! always. A text that a spreadsheet would take for a formula gets an apostrophe in front.

mod cell;
mod quality;
mod records;

#[cfg(test)]
mod tests;

pub use quality::{Dates, QualityTable};
pub use records::RecordTable;

use super::facts::Facts;
use super::sampled::Sampled;
use crate::record::shown::ShownStanding as S;
use crate::stored::key;
use cell::Row;

/// Figures of a record: name, unit as in the header, how they may stand. One that stands otherwise leaves its cell
/// empty.
const FIGURES: [(&str, &str, &[S]); 26] = [
    ("anticoagulant_each", "mL", &[S::Planned]),
    ("fill_mark", "mL", &[S::Planned]),
    ("blood_in_all", "mL", &[S::Planned, S::Measured]),
    ("anticoagulant_in_all", "mL", &[S::Planned, S::Measured]),
    ("drawn_today", "mL", &[S::Planned, S::Measured]),
    ("blood_count", "1e9_per_L", &[S::Counted]),
    ("platelets_drawn", "1e9", &[S::Planned, S::Counted]),
    ("product_volume", "mL", &[S::Planned, S::Measured]),
    ("fold_predicted", "ratio", &[S::Predicted]),
    ("recovery_predicted", "ratio", &[S::Predicted]),
    ("concentration_predicted", "1e9_per_L", &[S::Predicted]),
    ("platelets_in_product_predicted", "1e9", &[S::Predicted]),
    ("dose_predicted", "1e9", &[S::Predicted]),
    ("concentration_counted", "1e9_per_L", &[S::Counted]),
    ("concentration_not_confirmed", "1e9_per_L", &[S::Counted]),
    ("replicate_cv", "ratio", &[S::Counted]),
    ("platelets_in_product_counted", "1e9", &[S::Counted]),
    ("fold_counted", "ratio", &[S::Counted]),
    ("recovery_counted", "ratio", &[S::Counted]),
    ("white_cells_counted", "1e9_per_L", &[S::Counted]),
    ("red_cells_counted", "1e12_per_L", &[S::Counted]),
    ("product_haematocrit_counted", "ratio", &[S::Counted]),
    ("neutrophils_counted", "1e9_per_L", &[S::Counted]),
    ("volume_after_additions", "mL", &[S::Planned, S::Measured]),
    ("dose_counted", "1e9", &[S::Counted]),
    ("left_over", "mL", &[S::Planned, S::Assumed, S::Measured]),
];

impl Row {
    fn blood(&mut self, f: Option<&Facts<'_>>) {
        let baseline = f.map(|f| &f.case.baseline);
        let sample = baseline.and_then(|b| key(&b.sample?));
        self.words("blood_sample", sample.as_deref());
        let standing = baseline.and_then(|b| key(&b.standing?));
        self.words("blood_count_standing", standing.as_deref());
        let age = f.and_then(|f| match f.sampled()? {
            Sampled::DaysOld(days) => Some(f64::from(days)),
            Sampled::At(_) => None,
        });
        self.number("blood_count_age_days", age);
        self.number("blood_haematocrit_ratio", baseline.and_then(|b| Some(b.haematocrit?.into())));
        self.number("blood_haemoglobin_g_per_dL", baseline.and_then(|b| Some(b.haemoglobin?.into())));
        self.number("blood_white_cells_1e9_per_L", baseline.and_then(|b| Some(b.white?.into())));
    }

    fn counting(&mut self, f: Option<&Facts<'_>>) {
        let count = f.map(|f| &f.case.count);
        let standing = f.and_then(|f| key(&crate::record::Counts::of(&f.entry.draft)));
        self.words("count", standing.as_deref());
        self.number("dilution_ratio", count.and_then(|c| Some(c.dilution?.into())));
        self.yes("sample_mixed_no_clumps", count.and_then(|c| c.mixed));
    }
}
