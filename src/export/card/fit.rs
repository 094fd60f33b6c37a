//! Keeps the card on one page: reckons how high it will stand, and leaves out what may be left out.

use super::{Card, CardCode, Printed, Row, Table, Text, plain};
use crate::export::label::{Label, LabelKind, Labels, LineKind};
use crate::finding::Level;
use serde::{Deserialize, Serialize};

/// How tightly a card is set. Each step takes smaller type, never a line away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fit {
    /// As designed.
    Ordinary,
    /// Smaller, for a card with much on it.
    Tight,
    /// Smallest.
    Tightest,
}

/// Height that a card may be reckoned at [mm]. A4 and US Letter share 258; cards measured in print stood 9 to 16 mm
/// lower than reckoned.
pub(super) const ROOM: f64 = 263.0;

/// Between the foot of the card and the code beside it [mm].
const CODE_GAP: f64 = 4.0;

/// Letters that the start of the record's seal takes at the foot: kept free, because it is not known before the card
/// is sealed.
const CHECK: usize = 24;

/// Leaves out notes, sets the type smaller, leaves out predictions, then the strip, then what to do about a caution,
/// of which the cause stays, until the card fits. Identity, planned and done, doses, cautions and stops stay. A code
/// takes the place of labels that are only copies, and of the strip; it is left out itself before anything that only
/// the card says.
pub(in crate::export) fn to_one_page(card: &mut Card) {
    while height(card) > ROOM {
        if let Some(at) = card.findings.iter().rposition(|f| f.level == Level::Note) {
            card.findings.remove(at);
        } else if card.fit == Fit::Ordinary {
            card.fit = Fit::Tight;
        } else if drawn(card).is_some_and(|code| code.over_labels) && card.labels.take().is_some() {
            // The copies are gone.
        } else if drawn(card).is_some() && card.ledger.take().is_some() {
            // The strip is gone.
        } else if drawn(card).is_some() {
            if let Some(code) = &mut card.code {
                code.symbols.clear();
                code.says.clone_from(&code.no_room);
            }
        } else if predictions(&mut card.made.rows) {
            // Nothing more to do: they are gone.
        } else if card.ledger.take().is_some() {
            // The strip is gone.
        } else if let Some(f) =
            card.findings.iter_mut().find(|f| f.level == Level::Caution && f.action.is_some())
        {
            f.action = None;
        } else if card.fit == Fit::Tight {
            card.fit = Fit::Tightest;
        } else {
            break;
        }
    }
}

/// The code, if one is to be drawn.
fn drawn(card: &Card) -> Option<&CardCode> {
    card.code.as_ref().filter(|code| !code.symbols.is_empty())
}

/// Takes the predicted cells out; says whether there were any. A row with nothing counted goes with them: what is
/// to be given keeps its own predicted dose.
fn predictions(rows: &mut Vec<Row>) -> bool {
    let mut any = false;
    for row in rows.iter_mut() {
        any |= row.cells.get(2).is_some_and(|c| !c.is_empty());
        row.cells.truncate(2);
    }
    rows.retain(|r| r.cells.get(1).is_some_and(|c| !c.is_empty()));
    any
}

/// Lines that so many letters take in a width [mm], at a letter's mean width [mm].
fn lines(letters: usize, width: f64, letter: f64) -> f64 {
    let letters = u32::try_from(letters.max(1)).map_or(f64::MAX, f64::from);
    libm::ceil(letters * letter / width.max(letter))
}

fn letters(text: &Text) -> usize {
    plain(text).chars().count()
}

/// Height of rows whose cells side by side have these widths [mm] and are set so.
fn rows(rows: &[Row], cells: impl Fn(&Row) -> Vec<(f64, Type)>, body: Type) -> f64 {
    let row = |r: &Row| {
        let sized = r.cells.iter().zip(cells(r));
        let high = sized.map(|(cell, (width, set))| lines(letters(cell), width, set.letter) * set.line);
        high.fold(body.line, f64::max) + 0.9
    };
    rows.iter().map(row).sum()
}

/// Height of rows whose last filled cell takes the room after it.
fn spread(all: &[Row], widths: &[f64], body: Type) -> f64 {
    let cells = |r: &Row| {
        let filled = r.cells.iter().rposition(|c| !c.is_empty()).unwrap_or(0);
        let rest = |at: usize| if at == filled { widths.iter().skip(at + 1).sum() } else { 0.0 };
        widths.iter().enumerate().map(|(at, width)| (width + rest(at), body)).collect()
    };
    rows(all, cells, body)
}

/// Widths that the cells of tables side by side take, shrunk alike to fit.
fn shared_widths(tables: [&Table; 2], type_: Type) -> [Vec<f64>; 2] {
    let widest = tables.map(|t| {
        let filled = |r: &Row| r.cells.iter().rposition(|c| !c.is_empty()).map_or(0, |at| at + 1);
        let columns = t.rows.iter().map(filled).max().unwrap_or(0);
        (0..columns)
            .map(|at| {
                // What stands last in a row takes the room of the cells after it.
                let whole =
                    |r: &&Row| r.cells.iter().skip(at + 1).any(|c| !c.is_empty()) || at + 1 == columns;
                let cells = t.rows.iter().filter(whole).filter_map(|r| r.cells.get(at));
                let most = cells.map(letters).max().unwrap_or(0);
                u32::try_from(most).map_or(0.0, f64::from) * type_.letter
            })
            .collect::<Vec<f64>>()
    });
    let all: f64 = widest.iter().flatten().sum();
    // Gaps between cells and tables take the rest of the 186 mm.
    let shrink = if all > 165.0 { 160.0 / all } else { 1.05 };
    widest.map(|widths| widths.into_iter().map(|w| w * shrink).collect())
}

/// Widths of the columns of what was planned and done [mm]. A card of before names nobody beside the times.
fn done_widths(table: &Table) -> &'static [f64] {
    match table.columns.len() {
        0..=5 => &[27.0, 33.0, 34.0, 18.5, 73.0],
        _ => &[27.0, 33.0, 34.0, 18.5, 8.0, 63.0],
    }
}

/// Height of what was planned and done, its last column in smaller type (`print.css`).
fn done(table: &Table, size: f64) -> f64 {
    let body = points(size);
    let widths = done_widths(table);
    let cells = |_: &Row| {
        let small = |at: usize| if at + 1 == widths.len() { points(0.9 * size) } else { body };
        widths.iter().enumerate().map(|(at, width)| (*width, small(at))).collect()
    };
    rows(&table.rows, cells, body)
}

/// A type size: mean width of a letter and height of a line [mm], measured in the card's own face.
#[derive(Clone, Copy)]
struct Type {
    letter: f64,
    line: f64,
}

const fn points(size: f64) -> Type {
    Type { letter: 0.147 * size, line: 0.4233 * size }
}

fn label(l: &Label, width: f64, type_: Type, head: f64) -> f64 {
    let lines = l.lines.iter().map(|(kind, text)| {
        let larger = match kind {
            LineKind::Plain => 1.0,
            LineKind::Site => 1.3,
            LineKind::UseBy => 1.5,
        };
        (lines(letters(text), width, type_.letter * larger) * type_.line + 0.5) * larger
    });
    head + lines.sum::<f64>()
}

fn labels(l: &Labels) -> f64 {
    let large = l.large.iter().map(|l| match l.kind {
        LabelKind::Poor => label(l, 49.0, points(8.0), 13.5),
        _ => label(l, 69.0, points(8.5), 10.5),
    });
    let large = large.fold(46.0, f64::max);
    let columns = l.small.len().min(6);
    let width = u32::try_from(columns.max(1)).map_or(27.0, |n| 186.0 / f64::from(n) - 4.5);
    let small = l.small.iter().map(|l| label(l, width, points(7.0), 7.0)).fold(0.0, f64::max);
    let high = u32::try_from(l.small.len().div_ceil(6)).map_or(0.0, f64::from) * (small + 1.2);
    large + high + 4.0
}

/// Height of the card [mm], reckoned from its letters.
pub(super) fn height(card: &Card) -> f64 {
    let (size, gap) = match card.fit {
        Fit::Ordinary => (8.5, 1.5),
        Fit::Tight => (7.8, 1.1),
        Fit::Tightest => (7.0, 0.8),
    };
    let body = points(size);
    let fine = points(0.84 * size);
    let heading = points(1.2 * size).line + 0.4;
    let amended: f64 =
        card.amended.iter().map(|a| lines(a.chars().count(), 180.0, body.letter) * body.line).sum();
    let amended = if card.amended.is_empty() { 0.0 } else { amended + 2.5 + gap };
    let who = card.who.iter().zip([52.0, 74.0, 49.0]).map(|(b, width)| {
        let set =
            |text: &Text, size: f64| lines(letters(text), width, points(size).letter) * points(size).line;
        let head = if b.head.is_empty() { 0.0 } else { set(&b.head, 15.0) };
        let text: f64 = b.lines.iter().map(|l| set(l, 10.0)).sum();
        head + text + b.small.iter().map(|l| set(l, 7.5)).sum::<f64>()
    });
    let who = 1.5 + who.fold(0.0, f64::max);
    let done = heading + points(0.87 * size).line + done(&card.done, size);
    let [made, doses] = shared_widths([&card.made, &card.doses], body);
    let results = heading + spread(&card.made.rows, &made, body).max(spread(&card.doses.rows, &doses, body));
    let strip = if card.ledger.is_some() { heading + 9.6 + 2.0 * fine.line + gap } else { 0.0 };
    let finding = |f: &Printed| {
        let said = f.said.as_ref().map_or(0, |s| s.chars().count() + 1);
        let action = f.action.as_ref().map_or(0, |s| s.chars().count() + 1);
        let letters = f.text.chars().count() + action + said;
        match f.level {
            Level::Note | Level::Caution => {
                lines(letters + f.lead.chars().count() + 1, 85.0, body.letter) * body.line + 0.9
            }
            Level::StopClinician | Level::StopFinal => {
                lines(letters, 83.0, body.letter) * body.line + body.line + 5.0
            }
        }
    };
    let highest = card.findings.iter().map(finding).fold(0.0, f64::max);
    let findings = card.findings.iter().map(finding).sum::<f64>();
    // Two columns; a finding is never parted, so the taller may stand out by half of one.
    let findings = if findings > 0.0 { (findings + highest) / 2.0 + gap } else { 0.0 };
    let troubles: usize = card.troubles.iter().map(|t| t.chars().count() + 2).sum();
    let troubles = if troubles == 0 { 0.0 } else { lines(troubles, 184.0, body.letter) * body.line + gap };
    let corrected: usize = card.corrected.iter().map(|t| t.chars().count() + 2).sum();
    let corrected = if corrected == 0 { 0.0 } else { lines(corrected, 184.0, body.letter) * body.line + gap };
    let (beside, code) = match drawn(card) {
        Some(code) => {
            let (wide, high) = code.size();
            (wide + CODE_GAP, high + lines(code.says.chars().count(), wide, fine.letter) * fine.line)
        }
        None => (0.0, 0.0),
    };
    // Three columns; the tallest tells.
    let column = (186.0 - beside) / 3.0 - 4.0;
    let signed = card.sign_off.iter().map(|s| lines(s.chars().count(), column, points(8.0).letter));
    let sign = 5.0 + signed.fold(1.0, f64::max) * points(8.0).line;
    let notice: usize = card.notice.iter().map(|n| n.chars().count() + 1).sum();
    let unsaid = card.code.as_ref().filter(|code| code.symbols.is_empty());
    let unsaid = unsaid.map_or(0, |code| code.says.chars().count() + 1);
    let notice = lines(notice + unsaid + CHECK, 184.0 - beside, fine.letter) * fine.line;
    let notes =
        (lines(card.notes.chars().count(), 184.0 - beside, points(8.0).letter) * points(8.0).line).max(4.0);
    let foot = (sign + notice + notes + 2.0 * gap).max(code) - 2.0 * gap;
    let below = card.labels.as_ref().map_or(0.0, |l| labels(l) + 2.0 * gap);
    14.0 + amended + who + done + results + strip + findings + troubles + corrected + foot + below + 6.0 * gap
}
