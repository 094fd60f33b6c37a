//! A stored case in, everything that follows out: `cargo run --example assess < case.json > assessment.json`.
//!
//! `--at MILLISECONDS` sets the moment (since 1970, UTC) for clocks and expiries, `--offset MINUTES` the local
//! time; otherwise the machine's clock in UTC. `--lines` takes one case a line and answers each on a line of its
//! own: the report, or `{"error": "…"}`. An unusable case ends with code 2 and a sentence on standard error.

use std::io::{BufRead, Read, Write};
use std::process::ExitCode;
use std::time::{SystemTime, UNIX_EPOCH};
use strawline::assess::{Now, assess};
use strawline::case;
use strawline::draft::{Draft, DraftError, SCHEMA};
use strawline::export::report::{Reader, Report, report};
use strawline::quantity::time::{Instant, Offset};
use strawline::record::Reason;
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

struct Options {
    now: Now,
    lines: bool,
}

fn run() -> Result<(), String> {
    let options = options(std::env::args().skip(1))?;
    if options.lines {
        return each_line(options.now);
    }
    let mut bytes = Vec::new();
    std::io::stdin().read_to_end(&mut bytes).map_err(|e| format!("cannot read standard input: {e}"))?;
    let report = answer(&bytes, options.now)?;
    write(&serde_json::to_string_pretty(&report).map_err(|e| e.to_string())?)
}

fn each_line(now: Now) -> Result<(), String> {
    let (mut lines, mut unusable) = (0_u64, 0_u64);
    for line in std::io::stdin().lock().split(b'\n') {
        let line = line.map_err(|e| format!("cannot read standard input: {e}"))?;
        lines += 1;
        let out = match answer(&line, now) {
            Ok(report) => serde_json::to_string(&report).map_err(|e| e.to_string())?,
            Err(sentence) => {
                unusable += 1;
                serde_json::json!({ "error": sentence }).to_string()
            }
        };
        write(&out)?;
    }
    if unusable > 0 { Err(format!("{unusable} of {lines} cases cannot be used")) } else { Ok(()) }
}

fn answer(bytes: &[u8], now: Now) -> Result<Report, String> {
    let text = std::str::from_utf8(bytes).map_err(|e| format!("the case is not UTF-8 text: {e}"))?;
    let draft = Draft::from_json(text).map_err(|e| match e {
        DraftError::Unreadable(why) => format!("this is not a stored case: {why}"),
        DraftError::Newer { found } => {
            format!("schema {found} is newer than this program reads (1 to {SCHEMA}): use a newer one")
        }
        fault @ (DraftError::Container { .. } | DraftError::Band { .. } | DraftError::Analyser) => {
            Language::English.say(Reason::from(fault)).into_owned()
        }
    })?;
    let (case, readings) = case::read(&draft, Language::English);
    let assessment = assess(&case, now);
    let reader = Reader { language: Language::English, offset: now.offset };
    let report = report(&case, &readings, &draft, &assessment, reader);
    if report.unread.is_empty() {
        return Ok(report);
    }
    let list: Vec<_> = report.unread.iter().map(|(field, why)| format!("{field}: {why}")).collect();
    Err(list.join("\n"))
}

fn write(line: &str) -> Result<(), String> {
    match writeln!(std::io::stdout(), "{line}") {
        // A closed pipe downstream is not this program's error.
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(e.to_string()),
        _ => Ok(()),
    }
}

fn options(mut args: impl Iterator<Item = String>) -> Result<Options, String> {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).map_err(|e| e.to_string())?;
    let mut at = Instant(i64::try_from(since.as_millis()).map_err(|e| e.to_string())?);
    let (mut offset, mut lines) = (Offset::UTC, false);
    while let Some(name) = args.next() {
        if name == "--lines" {
            lines = true;
            continue;
        }
        let value = args.next().ok_or_else(|| format!("{name} needs a number after it"))?;
        match name.as_str() {
            "--at" => at = Instant(value.parse().map_err(|e| format!("--at {value}: {e}"))?),
            "--offset" => {
                let minutes = value.parse().map_err(|e| format!("--offset {value}: {e}"))?;
                offset =
                    Offset::new(minutes).ok_or_else(|| format!("--offset {value}: −1080 to 1080 minutes"))?;
            }
            other => {
                return Err(format!(
                    "{other} is not an option; --at MILLISECONDS, --offset MINUTES and --lines are"
                ));
            }
        }
    }
    Ok(Options { now: Now { at, offset }, lines })
}
