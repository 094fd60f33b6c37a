//! A clinic's counts in as CSV, what they teach out as JSON: `cargo run --example learn < counts.csv > learned.json`.
//!
//! Options: `--kind off_the_top|concentrate|with_cells` (usual: concentrate), `--mean M --sd S` for an expectation
//! in place of the published one, `--no-prior` for none, `--container NAME` for one container alone, `--all-rules`
//! for every rule of the chart. The columns are those of [`table::COLUMNS`]. Unusable input ends with code 2 and a
//! sentence on standard error that names row, field and range.

mod table;

use serde_json::{Value, json};
use std::io::{Read, Write};
use std::process::ExitCode;
use strawline::bench::{Bench, Protocol};
use strawline::evidence::SourceId;
use strawline::product::kind::{Basis, Expectation, Expected, ProductKind};
use strawline::quality::against::against;
use strawline::quality::chart::{IN_CONTROL, Settings, chart};
use strawline::quality::decided::Decisions;
use strawline::quality::group::{GroupBy, groups};
use strawline::quality::learn::{Predictive, WEIGHT_SOURCE};
use strawline::quality::line::{Covariate, SLOPE_SOURCE};
use strawline::quality::rules::Rule;
use strawline::quality::{History, Learned, chart as charts, facts, learned};
use strawline::quantity::time::Offset;
use strawline::quantity::{Fold, Quantity, Recovery};
use strawline::words::Phrase;
use strawline::words::quality::ExcludedWords;

fn main() -> ExitCode {
    match run() {
        Ok(()) => ExitCode::SUCCESS,
        Err(sentence) => {
            eprintln!("learn: {sentence}");
            ExitCode::from(2)
        }
    }
}

struct Options {
    protocol: Protocol,
    container: Option<String>,
    rules: Vec<Rule>,
}

fn run() -> Result<(), String> {
    let options = options(std::env::args().skip(1))?;
    let mut bytes = Vec::new();
    std::io::stdin().read_to_end(&mut bytes).map_err(|e| format!("cannot read standard input: {e}"))?;
    let text = std::str::from_utf8(&bytes).map_err(|e| format!("the counts are not UTF-8 text: {e}"))?;
    let counts = table::read(text, &options.protocol)?;
    let container = options.container.as_deref();
    let found = learned(&options.protocol, container, &counts, &Decisions::default(), History::Clinic);
    let out = serde_json::to_string_pretty(&answer(&found, &options)).map_err(|e| e.to_string())?;
    match writeln!(std::io::stdout(), "{out}") {
        // A closed pipe downstream is not this program's error.
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => Err(e.to_string()),
        _ => Ok(()),
    }
}

fn answer(found: &Learned<'_>, options: &Options) -> Value {
    let left_out: Vec<Value> = found
        .left_out
        .iter()
        .map(|l| {
            let why: Vec<_> = l.why.iter().map(|w| ExcludedWords(w, Offset::UTC).english()).collect();
            json!({"id": l.counted.id, "why": why})
        })
        .collect();
    let accepted: Vec<Value> = found
        .accepted
        .iter()
        .map(|o| json!({"id": o.counted.id, "value": o.value, "log": o.log, "counting_variance": o.counting}))
        .collect();
    let lines: Vec<Value> = Covariate::ALL
        .into_iter()
        .map(|c| against(&found.accepted, c, found.prior))
        .map(|a| {
            let marks: Vec<_> =
                a.marks.iter().map(|m| json!({"id": m.observed.counted.id, "x": m.x})).collect();
            json!({"covariate": a.covariate, "slope_of_platelets": a.slope, "line": a.line, "marks": marks})
        })
        .collect();
    let by: serde_json::Map<String, Value> =
        GroupBy::ALL.into_iter().map(|by| (name(by), json!(groups(&found.accepted, by)))).collect();
    json!({
        "kind": options.protocol.kind,
        "ground": found.ground,
        "says": found.ground.english(),
        "accepted": accepted,
        "left_out": left_out,
        "prior": found.prior,
        "posterior": found.posterior,
        "next_count": found.predictive.map(spread),
        "true_content": found.predictive.map(|p| spread(p.true_content())),
        "one_more_count": found.next,
        "white_cell_fold": found.white.map(spread),
        "chart": drawn(found, options),
        "against": lines,
        "groups": by,
        "sources": sources(options),
    })
}

/// A learned spread with its median and 80 % range.
fn spread(p: Predictive) -> Value {
    let range = p.range();
    json!({
        "location": p.location, "scale": p.scale, "freedom": p.freedom, "n": p.n, "counting_variance_held": p.held,
        "median": range.median, "low": range.low, "high": range.high,
    })
}

fn drawn(found: &Learned<'_>, options: &Options) -> Value {
    let settings = Settings { rules: options.rules.clone(), ..Settings::default() };
    let chart = chart(&found.accepted, None, None, &settings);
    let rows: Vec<Value> = chart
        .rows
        .iter()
        .map(|r| {
            let signals: Vec<Value> = r
                .signals
                .iter()
                .map(|s| json!({"rule": s.rule, "side": s.side, "says": s.english(), "check": s.to_check()}))
                .collect();
            json!({
                "id": r.observed.counted.id, "value": r.observed.value, "in_baseline": r.in_baseline, "z": r.z,
                "running": r.running, "signals": signals,
            })
        })
        .collect();
    let lines = chart.limits.as_ref().map(|l| {
        let (low, high) = l.at(3.0);
        json!({"low": low, "high": high})
    });
    json!({
        "limits": chart.limits, "beyond_3_sd": lines, "counts_to_go": chart.to_go, "ewma": settings.ewma,
        "rules": settings.rules, "usual_rules_in_control": IN_CONTROL, "rows": rows,
    })
}

/// Citations by key.
fn sources(options: &Options) -> Value {
    let mut ids = vec![WEIGHT_SOURCE, SLOPE_SOURCE, facts::COUNTING_SOURCE, charts::FIRST_SOURCE];
    ids.extend(options.rules.iter().map(|r| r.source()));
    ids.extend(options.protocol.expectation.iter().flat_map(Expectation::sources));
    let cited = |id: SourceId| {
        let source = id.source();
        (source.key.to_owned(), json!({"citation": source.citation, "standing": source.standing.english()}))
    };
    Value::Object(ids.into_iter().map(cited).collect())
}

fn name(by: GroupBy) -> String {
    json!(by).as_str().unwrap_or_default().to_owned()
}

fn options(mut args: impl Iterator<Item = String>) -> Result<Options, String> {
    let (mut kind, mut mean, mut sd) = (ProductKind::Concentrate, None, None);
    let (mut prior, mut container, mut rules) = (true, None, Rule::USUAL.to_vec());
    while let Some(option) = args.next() {
        match option.as_str() {
            "--no-prior" => prior = false,
            "--all-rules" => rules = Rule::ALL.to_vec(),
            "--kind" | "--mean" | "--sd" | "--container" => {
                let value = args.next().ok_or_else(|| format!("{option} needs a value after it"))?;
                let number = || value.parse::<f64>().map_err(|_| format!("{option} {value}: not a number"));
                match option.as_str() {
                    "--mean" => mean = Some(number()?),
                    "--sd" => sd = Some(number()?),
                    "--kind" => {
                        kind = serde_json::from_value(json!(value))
                            .map_err(|_| format!("--kind {value}: off_the_top, concentrate or with_cells"))?;
                    }
                    _ => container = Some(value),
                }
            }
            other => {
                return Err(format!(
                    "{other} is not an option; --kind, --mean, --sd, --no-prior, --container and --all-rules are"
                ));
            }
        }
    }
    let id = match kind {
        ProductKind::OffTheTop => "off-the-top",
        ProductKind::Concentrate => "double-spin",
        ProductKind::WithCells => "with-cells",
    };
    let bench = Bench::default();
    let mut protocol = bench.protocol(id).cloned().ok_or_else(|| format!("no protocol {id} ships"))?;
    match (prior, mean, sd) {
        (true, None, None) => {}
        (true, Some(mean), Some(sd)) => protocol.expectation = Some(expectation(kind, mean, sd)?),
        (false, None, None) => protocol.expectation = None,
        (false, ..) => return Err("--no-prior goes without --mean and --sd".to_owned()),
        (true, ..) => return Err("--mean and --sd go together".to_owned()),
    }
    Ok(Options { protocol, container, rules })
}

fn expectation(kind: ProductKind, mean: f64, sd: f64) -> Result<Expectation, String> {
    let out = |e: strawline::quantity::OutOfRange| format!("--mean, --sd: {e}");
    if mean <= 0.0 {
        return Err(format!("--mean {mean}: above 0"));
    }
    let expected = match kind {
        ProductKind::OffTheTop => {
            Expected::Fold { mean: Fold::new(mean).map_err(out)?, sd: Fold::new(sd).map_err(out)? }
        }
        // What is learned of a product with cells is its recovery; its haematocrit is none of this program's.
        ProductKind::Concentrate | ProductKind::WithCells => Expected::Recovery {
            mean: Recovery::new(mean).map_err(out)?,
            sd: Recovery::new(sd).map_err(out)?,
        },
    };
    Ok(Expectation { expected, basis: Basis::ClinicEntry })
}
