//! The table of counts: comma-separated, one preparation a row, a header row that names its columns in any order.

use std::collections::BTreeSet;
use strawline::bench::Protocol;
use strawline::blood::baseline::{SampleKind, native};
use strawline::product::cells::fold;
use strawline::product::predict::{NativeCount, count_cv};
use strawline::quality::Counted;
use strawline::quantity::time::{Date, Instant, Offset, TimeOfDay};
use strawline::quantity::{AcRatio, CellCount, Factor, Fold, Haematocrit, Quantity, Volume};

/// Columns and what they hold; those with a star must be there. An empty cell is "not said".
pub const COLUMNS: [(&str, &str); 21] = [
    ("id*", "any text, once"),
    ("day*", "collected, as 2026-03-12; rows of one day keep their order"),
    ("baseline*", "the blood's own count as read [10⁹/L]; it is corrected for its sample"),
    ("baseline_age", "its age in whole days, 0 for today's; empty is today's"),
    ("sample", "laboratory_edta, filled_container, liquid_citrate, finger_prick or older_result"),
    ("citrate_factor", "the laboratory's own for liquid_citrate, 1 to 2; empty is 1.1"),
    ("ratio", "anticoagulant over blood of a filled_container [mL/mL], which is wanted for it"),
    ("haematocrit", "of the blood, 0 to 1"),
    ("blood", "drawn, without anticoagulant [mL]"),
    ("kept", "product kept [mL]"),
    (
        "reading*",
        "count of the product as read, mean of replicates, within the analyser's range, a liquid tube reckoned in [10⁹/L]",
    ),
    ("readings", "how many replicates, 1 to 5; empty is 1"),
    ("dilution", "times the sample was diluted, 1 for undiluted"),
    ("mixed", "yes or no: well mixed"),
    ("clumps", "yes or no; empty is no"),
    ("container", "any text"),
    ("container_lot", "any text"),
    ("anticoagulant_lot", "any text"),
    ("operator", "any text"),
    ("rotor", "any text"),
    ("white", "white cells of blood and product, each corrected for its sample [10⁹/L], as 6.1/9.4"),
];

/// Reads the counts; the sentence of an error names row, field and range.
pub fn read(text: &str, protocol: &Protocol) -> Result<Vec<Counted>, String> {
    let rows = records(text.trim_start_matches('\u{feff}'))?;
    let ((_, header), rows) = rows.split_first().ok_or_else(|| "there is no header row".to_owned())?;
    let known = |name: &str| COLUMNS.iter().any(|(column, _)| column.trim_end_matches('*') == name);
    let mut seen = BTreeSet::new();
    for name in header {
        if !known(name) {
            let all: Vec<_> = COLUMNS.iter().map(|(column, _)| *column).collect();
            return Err(format!("row 1: no column is called {name:?}; there are: {}", all.join(", ")));
        }
        if !seen.insert(name) {
            return Err(format!("row 1: the column {name} stands there twice"));
        }
    }
    if let Some((column, _)) =
        COLUMNS.iter().find(|(c, _)| c.ends_with('*') && !header.iter().any(|h| h == c.trim_end_matches('*')))
    {
        return Err(format!("row 1: the column {} is wanted", column.trim_end_matches('*')));
    }
    let mut ids = BTreeSet::new();
    let mut counts = Vec::new();
    for (number, cells) in rows {
        let number = *number;
        if cells.len() != header.len() {
            return Err(format!("row {number}: {} cells, and the header has {}", cells.len(), header.len()));
        }
        let row = Row { number, header, cells };
        let counted = row.counted(protocol)?;
        if !ids.insert(counted.id.clone()) {
            return Err(row.wrong("id", "once only"));
        }
        counts.push(counted);
    }
    Ok(counts)
}

struct Row<'a> {
    number: i64,
    header: &'a [String],
    cells: &'a [String],
}

impl Row<'_> {
    fn cell(&self, name: &str) -> &str {
        let found = self.header.iter().zip(self.cells).find(|(column, _)| *column == name);
        found.map_or("", |(_, cell)| cell.as_str())
    }

    fn wrong(&self, name: &str, wanted: &str) -> String {
        format!("row {}, {name} {:?}: {wanted}", self.number, self.cell(name))
    }

    fn text(&self, name: &str) -> String {
        self.cell(name).to_owned()
    }

    fn number(&self, name: &str) -> Result<Option<f64>, String> {
        let cell = self.cell(name);
        if cell.is_empty() {
            return Ok(None);
        }
        cell.parse().map(Some).map_err(|_| self.wrong(name, "a number with a decimal point"))
    }

    fn quantity<Q: Quantity>(&self, name: &str) -> Result<Option<Q>, String> {
        let Some(value) = self.number(name)? else { return Ok(None) };
        let range = |e: strawline::quantity::OutOfRange| {
            self.wrong(name, format!("{} to {} {}", e.min, e.max, e.unit).trim())
        };
        Q::new(value).map(Some).map_err(range)
    }

    fn whole(&self, name: &str, low: u32, high: u32) -> Result<Option<u32>, String> {
        let cell = self.cell(name);
        if cell.is_empty() {
            return Ok(None);
        }
        let found = cell.parse().ok().filter(|n| (low..=high).contains(n));
        found.map(Some).ok_or_else(|| self.wrong(name, &format!("a whole number, {low} to {high}")))
    }

    fn yes(&self, name: &str) -> Result<Option<bool>, String> {
        match self.cell(name) {
            "" => Ok(None),
            "yes" => Ok(Some(true)),
            "no" => Ok(Some(false)),
            _ => Err(self.wrong(name, "yes or no")),
        }
    }

    fn at(&self) -> Result<Instant, String> {
        let wanted = || self.wrong("day", "a day as 2026-03-12, years 1 to 9999");
        let parts: Vec<&str> = self.cell("day").split('-').collect();
        let [year, month, day] = parts.as_slice() else { return Err(wanted()) };
        let (year, month, day) = (year.parse().ok(), month.parse().ok(), day.parse().ok());
        let date = match (year, month, day) {
            (Some(year), Some(month), Some(day)) => Date::new(year, month, day),
            _ => None,
        };
        let midnight = TimeOfDay::new(0, 0, 0).ok_or_else(wanted)?;
        // Rows of one day keep their order by a millisecond each.
        Ok(Instant(Instant::of_local(date.ok_or_else(wanted)?, midnight, Offset::UTC).0 + self.number))
    }

    fn sample(&self) -> Result<Option<SampleKind>, String> {
        let cell = self.cell("sample");
        if cell.is_empty() {
            return Ok(None);
        }
        let kind = serde_json::from_value(serde_json::Value::from(cell)).ok();
        let (_, wanted) = COLUMNS[4];
        kind.map(Some).ok_or_else(|| self.wrong("sample", wanted))
    }

    /// The blood's own count, in the range the page takes.
    fn baseline(&self) -> Result<Option<CellCount>, String> {
        let count =
            self.number("baseline")?.map(|n| CellCount::new(n).ok().filter(|_| (1.0..=5_000.0).contains(&n)));
        match count {
            Some(None) => Err(self.wrong("baseline", "1 to 5000 ×10⁹/L")),
            Some(count) => Ok(count),
            None => Ok(None),
        }
    }

    /// The blood's own count, corrected for its sample: for an unsaid one as it stands.
    fn native(&self, sample: Option<SampleKind>) -> Result<Option<CellCount>, String> {
        let Some(reading) = self.baseline()? else { return Ok(None) };
        let factor = self.quantity::<Factor>("citrate_factor")?;
        if factor.is_some_and(|f| !(1.0..=2.0).contains(&f.get())) {
            return Err(self.wrong("citrate_factor", "1 to 2"));
        }
        let ratio = self.quantity::<AcRatio>("ratio")?;
        if sample == Some(SampleKind::FilledContainer) && ratio.is_none() {
            return Err(
                self.wrong("ratio", "anticoagulant over blood [mL/mL], wanted for a filled_container")
            );
        }
        let native = native(reading, sample.unwrap_or(SampleKind::LaboratoryEdta), ratio, factor);
        native.map(|n| Some(n.value)).map_err(|_| self.wrong("baseline", "corrected, 0 to 100000 ×10⁹/L"))
    }

    fn white(&self) -> Result<Option<Fold>, String> {
        let cell = self.cell("white");
        if cell.is_empty() {
            return Ok(None);
        }
        let wanted = || self.wrong("white", "two counts as 6.1/9.4, each 0 to 100000 ×10⁹/L");
        let (before, after) = cell.split_once('/').ok_or_else(wanted)?;
        let count = |text: &str| -> Result<Option<CellCount>, String> {
            let value: f64 = text.trim().parse().map_err(|_| wanted())?;
            CellCount::new(value).map(Some).map_err(|_| wanted())
        };
        let (before, after) = (count(before)?, count(after)?);
        // None in the blood makes no fold.
        Ok(before.zip(after).and_then(|(before, after)| fold(after, before).ok()).map(|fold| fold.value))
    }

    fn counted(&self, protocol: &Protocol) -> Result<Counted, String> {
        let id = self.text("id");
        if id.is_empty() {
            return Err(self.wrong("id", "any text"));
        }
        let sample = self.sample()?;
        let baseline = self.native(sample)?;
        let age = self.whole("baseline_age", 0, 3_650)?.unwrap_or(0);
        let cv = count_cv(Some(age)).map_err(|e| self.wrong("baseline_age", &e.to_string()))?.value;
        let reading = self
            .quantity::<CellCount>("reading")?
            .ok_or_else(|| self.wrong("reading", "0 to 100000 ×10⁹/L"))?;
        let dilution = self.quantity::<Factor>("dilution")?;
        if dilution.is_some_and(|d| !(1.0..=1_000.0).contains(&d.get())) {
            return Err(self.wrong("dilution", "1 to 1000"));
        }
        let product = match dilution {
            Some(d) => Some(
                CellCount::new(reading.get() * d.get())
                    .map_err(|_| self.wrong("reading", "times its dilution 0 to 100000 ×10⁹/L"))?,
            ),
            None => None,
        };
        let some = |name: &str| Some(self.text(name)).filter(|t| !t.is_empty());
        Ok(Counted {
            id,
            at: self.at()?,
            demo: false,
            protocol: Some(protocol.id.clone()),
            kind: Some(protocol.kind),
            container: some("container"),
            container_lot: self.text("container_lot"),
            anticoagulant_lot: self.text("anticoagulant_lot"),
            operator: self.text("operator"),
            rotor: some("rotor"),
            haematocrit: self.quantity::<Haematocrit>("haematocrit")?,
            baseline: baseline.map(|value| NativeCount { value, cv }),
            sample,
            blood: self.quantity::<Volume>("blood")?,
            kept: self.quantity::<Volume>("kept")?,
            product,
            readings: self.whole("readings", 1, 5)?.unwrap_or(1),
            dilution_noted: dilution.is_some(),
            mixed: self.yes("mixed")?,
            clumps: self.yes("clumps")?.unwrap_or(false),
            tube_said: true,
            linear: true,
            white_fold: self.white()?,
            outside: false,
            rebuilt: false,
        })
    }
}

/// Cells of a CSV text, row by row with its number from 1: commas, quotes doubled inside quotes; empty rows are left
/// out.
fn records(text: &str) -> Result<Vec<(i64, Vec<String>)>, String> {
    let (mut rows, mut row, mut cell, mut quoted) = (Vec::new(), Vec::new(), String::new(), false);
    let mut chars = text.chars().peekable();
    while let Some(c) = chars.next() {
        match c {
            '"' if quoted && chars.peek() == Some(&'"') => cell.extend(chars.next()),
            '"' => quoted = !quoted,
            ',' if !quoted => row.push(std::mem::take(&mut cell).trim().to_owned()),
            '\n' if !quoted => {
                row.push(std::mem::take(&mut cell).trim().to_owned());
                rows.push(std::mem::take(&mut row));
            }
            '\r' if !quoted => {}
            c => cell.push(c),
        }
    }
    if quoted {
        return Err(format!("row {}: a quotation mark is not closed", rows.len() + 1));
    }
    if !cell.is_empty() || !row.is_empty() {
        row.push(cell.trim().to_owned());
        rows.push(row);
    }
    Ok((1..).zip(rows).filter(|(_, row)| row.iter().any(|cell| !cell.is_empty())).collect())
}
