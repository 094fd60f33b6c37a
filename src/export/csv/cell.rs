//! Cells and rows as RFC 4180 writes them.

use crate::export::facts::{Facts, number};
use crate::record::shown::ShownStanding as S;
use crate::stored::key;

/// A text that a spreadsheet takes for more than a text begins with one of these.
pub(super) const FORMULA: [char; 6] = ['=', '+', '-', '@', '\t', '\r'];

/// One cell of words.
pub(super) fn cell(text: &str) -> String {
    let text: String = text.chars().filter(|c| !c.is_control() || matches!(c, '\t' | '\r' | '\n')).collect();
    let guard = if text.starts_with(FORMULA) { "'" } else { "" };
    if text.contains([',', '"', '\r', '\n']) {
        format!("\"{guard}{}\"", text.replace('"', "\"\""))
    } else {
        format!("{guard}{text}")
    }
}

/// A text as one line of several in a cell.
pub(super) fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// One row with its header, column by column.
#[derive(Default)]
pub(super) struct Row {
    pub(super) head: Vec<String>,
    cells: Vec<String>,
}

impl Row {
    pub(super) fn words(&mut self, name: &str, text: Option<&str>) {
        self.head.push(name.to_owned());
        self.cells.push(text.map(cell).unwrap_or_default());
    }

    pub(super) fn number(&mut self, name: &str, value: Option<f64>) {
        self.head.push(name.to_owned());
        self.cells.push(value.map(|v| number(v).to_string()).unwrap_or_default());
    }

    pub(super) fn yes(&mut self, name: &str, is: Option<bool>) {
        self.words(name, is.map(|is| if is { "yes" } else { "no" }));
    }

    /// A figure under its name, standing and unit; a prediction with both ends of its range.
    pub(super) fn figure(
        &mut self,
        f: Option<&Facts<'_>>,
        what: &str,
        name: &str,
        unit: &str,
        standings: &[S],
    ) {
        for &standing in standings {
            let found = f.and_then(|f| f.figure(what, standing));
            let mut named = name.to_owned();
            let said = key(&standing).filter(|said| !name.ends_with(said.as_str()) && standings.len() > 1);
            if let Some(said) = said {
                named = format!("{named}_{said}");
            }
            self.number(&format!("{named}_{unit}"), found.map(|f| f.value));
            if standing == S::Predicted {
                self.number(&format!("{named}_low_{unit}"), found.and_then(|f| f.low));
                self.number(&format!("{named}_high_{unit}"), found.and_then(|f| f.high));
            }
        }
    }

    pub(super) fn end(&self) -> String {
        self.cells.join(",") + "\r\n"
    }
}
