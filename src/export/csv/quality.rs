//! Quality data: what a count came to, and nobody it is of.

use super::FIGURES;
use super::cell::Row;
use crate::draft::Field;
use crate::export::facts::{Facts, iso};
use crate::product::kind::ProductKind;
use crate::record::Record;
use crate::stored::key;

/// Those of them that say how a count came out, for quality data.
const OF_QUALITY: [&str; 14] = [
    "blood_in_all",
    "blood_count",
    "platelets_drawn",
    "product_volume",
    "fold_predicted",
    "recovery_predicted",
    "concentration_predicted",
    "concentration_counted",
    "replicate_cv",
    "platelets_in_product_counted",
    "fold_counted",
    "recovery_counted",
    "white_cells_counted",
    "product_haematocrit_counted",
];

/// How exactly quality data say when.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Dates {
    /// The day.
    #[default]
    Day,
    /// The month.
    Month,
    /// Not at all.
    None,
}

impl Dates {
    /// In the order offered.
    pub const ALL: [Dates; 3] = [Dates::Day, Dates::Month, Dates::None];
}

/// What counts say of the process, one preparation a row: no identifier, no name, nothing typed in words. Lots are
/// numbered in the order they are met. Demo cases are left out, and so are those without a product.
#[derive(Debug, Clone)]
pub struct QualityTable {
    text: String,
    dates: Dates,
    lots: [Vec<String>; 2],
    rows: u32,
}

impl QualityTable {
    /// Its header.
    pub fn new(dates: Dates) -> Self {
        let mut table = Self { text: String::new(), dates, lots: Default::default(), rows: 0 };
        table.text = table.row(None).head.join(",") + "\r\n";
        table
    }

    /// Adds a row, unless it is a demo or no product came.
    pub fn add(&mut self, record: &Record) {
        if !record.latest().demo && record.latest().without_product().is_none() {
            self.rows = self.rows.saturating_add(1);
            let row = self.row(Some(&Facts::of(record))).end();
            self.text += &row;
        }
    }

    /// The whole text.
    pub fn text(self) -> String {
        self.text
    }

    pub(super) fn row(&mut self, f: Option<&Facts<'_>>) -> Row {
        let mut row = Row::default();
        row.words("row", f.map(|_| self.rows.to_string()).as_deref());
        let day = f.and_then(Facts::day).and_then(|day| match self.dates {
            Dates::Day => Some(iso(day)),
            Dates::Month => Some(format!("{:04}-{:02}", day.year(), day.month())),
            Dates::None => None,
        });
        row.words("prepared", day.as_deref());
        row.yes("rebuilt_from_code", f.map(|f| f.entry.draft.rebuilt.is_some()));
        let kind: Option<ProductKind> = f.and_then(|f| Some(f.case.protocol.as_ref()?.kind));
        row.words("product", kind.and_then(|k| key(&k)).as_deref());
        row.words("anticoagulant", f.and_then(|f| key(&f.case.draw.agent?)).as_deref());
        let lots = [("container_lot", Field::ContainerLot), ("anticoagulant_lot", Field::AnticoagulantLot)];
        for ((name, field), met) in lots.into_iter().zip(&mut self.lots) {
            let lot = f.map(|f| f.typed(field).to_lowercase()).filter(|lot| !lot.is_empty());
            row.words(name, lot.map(|lot| numbered(met, lot)).as_deref());
        }
        row.blood(f);
        row.counting(f);
        for (what, unit, standings) in FIGURES.into_iter().filter(|(what, ..)| OF_QUALITY.contains(what)) {
            row.figure(f, what, what, unit, standings);
        }
        let times = f.map(|f| &f.entry.draft.times);
        let since = |to: Option<crate::quantity::time::Instant>| {
            let passed = to?.since(times?.needle_in?)?.seconds().ok()?;
            Some(f64::from(passed) / 60.0)
        };
        row.number("needle_in_to_spin_end_min", since(times.and_then(|t| t.spin_end)));
        row.number("needle_in_to_collected_min", since(times.and_then(|t| t.collected)));
        row.words("amended_times", f.map(|f| f.record.amendments().len().to_string()).as_deref());
        row.words("program", f.map(|f| f.entry.app.as_str()));
        row.words("model", f.map(|f| f.entry.model.to_string()).as_deref());
        row
    }
}

/// Number of a lot among those met.
fn numbered(met: &mut Vec<String>, lot: String) -> String {
    let at = met.iter().position(|known| *known == lot).unwrap_or_else(|| {
        met.push(lot);
        met.len().saturating_sub(1)
    });
    at.saturating_add(1).to_string()
}
