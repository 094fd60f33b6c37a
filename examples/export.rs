//! Stored cases in, one a line; each is signed, and what leaves of it comes out: `cargo run --example export -- csv <
//! cases > records.csv`. Forms: `records` (as stored, one a line), `csv`, `quality`, `fhir` (one a line), `chart`.
//!
//! Every third case is amended once, so that amended records are among them. An unusable case ends with code 2 and a
//! sentence on standard error.

use std::io::{BufRead, Write};
use std::process::ExitCode;
use strawline::assess::{Now, assess};
use strawline::bench::Bench;
use strawline::case;
use strawline::draft::{Draft, Field};
use strawline::export::card::Given;
use strawline::export::csv::{Dates, QualityTable, RecordTable};
use strawline::export::{chart, fhir, signed};
use strawline::quantity::time::{Instant, Offset};
use strawline::record::Record;
use strawline::record::standing::RecordStanding;
use strawline::words::Language;

const LANGUAGE: Language = Language::English;

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(sentence) => {
            eprintln!("export: {sentence}");
            ExitCode::from(2)
        }
    }
}

fn run() -> Result<(), String> {
    let form = std::env::args().nth(1).unwrap_or_default();
    let (mut table, mut quality) = (RecordTable::default(), QualityTable::new(Dates::Day));
    for (n, line) in std::io::stdin().lock().lines().enumerate() {
        let line = line.map_err(|e| format!("cannot read standard input: {e}"))?;
        let draft = Draft::from_json(&line).map_err(|e| format!("line {}: no stored case: {e:?}", n + 1))?;
        let record = record(draft, n % 3 == 2).map_err(|e| format!("line {}: {e}", n + 1))?;
        let standing = RecordStanding::of(&record, false, false);
        match form.as_str() {
            "csv" => table.add(&record, standing),
            "quality" => quality.add(&record),
            "records" => write(&record.to_json().ok_or("a record would not come back as it is")?)?,
            "fhir" => write(&fhir::bundle(&record, standing, LANGUAGE))?,
            "chart" => {
                write(&chart::chart_of(&record, standing, &Bench::default().clinic, LANGUAGE, Offset::UTC))?
            }
            other => return Err(format!("{other:?} is no form; records, csv, quality, fhir and chart are")),
        }
    }
    match form.as_str() {
        "csv" => put(&table.text()),
        "quality" => put(&quality.text()),
        _ => Ok(()),
    }
}

fn record(draft: Draft, amended: bool) -> Result<Record, String> {
    let at = Instant(draft.begun.0.saturating_add(7_200_000));
    let refused = |e: strawline::record::SignError| LANGUAGE.say(e).into_owned();
    let record = given(&draft, at, None, |g| signed::sign(g, "MO", at)).map_err(refused)?;
    if !amended {
        return Ok(record);
    }
    let mut more = draft;
    let notes = format!("{} read once more", more.text(Field::Notes));
    more.write(Field::Notes, &notes);
    given(&more, at, Some(&record), |g| signed::amend(&record, g, "JT", at, "read once more"))
        .map_err(refused)
}

fn given<T>(draft: &Draft, at: Instant, record: Option<&Record>, act: impl FnOnce(Given<'_>) -> T) -> T {
    let (case, _) = case::read(draft, LANGUAGE);
    let now = Now { at, offset: draft.offset.unwrap_or(Offset::UTC) };
    let (answer, clinic) = (assess(&case, now), Bench::default().clinic);
    act(Given {
        draft,
        case: &case,
        answer: &answer,
        clinic: &clinic,
        language: LANGUAGE,
        now,
        record,
        standing: RecordStanding::Sound,
        sessions: &[],
    })
}

fn write(line: &str) -> Result<(), String> {
    put(&format!("{line}\n"))
}

fn put(text: &str) -> Result<(), String> {
    match std::io::stdout().write_all(text.as_bytes()) {
        // A closed pipe downstream is not this program's error.
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(e.to_string()),
        _ => Ok(()),
    }
}
