//! A stored case in, everything that follows out: `cargo run --example assess < case.json > assessment.json`.
//!
//! `--at MILLISECONDS` sets the moment (since 1970, UTC) for clocks and expiries, `--offset MINUTES` the local
//! time; otherwise the machine's clock in UTC. An unusable case ends with code 2 and a sentence on standard error.

use std::io::{Read, Write};
use std::process::ExitCode;
use std::time::{SystemTime, UNIX_EPOCH};
use strawline::assess::{Now, assess};
use strawline::case;
use strawline::draft::{Draft, DraftError};
use strawline::export::report::{Reader, report};
use strawline::quantity::time::{Instant, Offset};
use strawline::words::Language;

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(sentence) => {
            eprintln!("assess: {sentence}");
            ExitCode::from(2)
        }
    }
}

fn run() -> Result<(), String> {
    let now = moment(std::env::args().skip(1).collect())?;
    let mut bytes = Vec::new();
    std::io::stdin().read_to_end(&mut bytes).map_err(|e| format!("cannot read standard input: {e}"))?;
    let text = String::from_utf8(bytes).map_err(|e| format!("the case is not UTF-8 text: {e}"))?;
    let draft = Draft::from_json(&text).map_err(|e| match e {
        DraftError::Unreadable(why) => format!("this is not a stored case: {why}"),
        DraftError::Newer { found } => {
            format!("schema {found} is newer than this program reads ({}): use a newer one", strawline::draft::SCHEMA)
        }
    })?;
    let (case, readings) = case::read(&draft, Language::English);
    let assessment = assess(&case, now);
    let report = report(&case, &readings, &draft, &assessment, Reader { language: Language::English, offset: now.offset });
    if !report.unread.is_empty() {
        let list: Vec<_> = report.unread.iter().map(|(field, why)| format!("{field}: {why}")).collect();
        return Err(list.join("\n"));
    }
    let out = serde_json::to_string_pretty(&report).map_err(|e| e.to_string())?;
    // A closed pipe downstream is not this program's error.
    match writeln!(std::io::stdout(), "{out}") {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(e.to_string()),
        _ => Ok(()),
    }
}

fn moment(args: Vec<String>) -> Result<Now, String> {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).map_err(|e| e.to_string())?;
    let mut at = Instant(i64::try_from(since.as_millis()).map_err(|e| e.to_string())?);
    let mut offset = Offset::UTC;
    let mut args = args.into_iter();
    while let Some(name) = args.next() {
        let value = args.next().ok_or_else(|| format!("{name} needs a number after it"))?;
        match name.as_str() {
            "--at" => at = Instant(value.parse().map_err(|e| format!("--at {value}: {e}"))?),
            "--offset" => {
                let minutes = value.parse().map_err(|e| format!("--offset {value}: {e}"))?;
                offset = Offset::new(minutes).ok_or_else(|| format!("--offset {value}: −1080 to 1080 minutes"))?;
            }
            other => return Err(format!("{other} is not an option; --at MILLISECONDS and --offset MINUTES are")),
        }
    }
    Ok(Now { at, offset })
}
