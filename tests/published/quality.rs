//! Topic J: control charts, learning.

use super::Row;
use serde_json::{Value, json};
use strawline::quality::chart::{Ewma, Limits};
use strawline::quality::learn::Prior;
use strawline::quality::rules::{Judged, Rule, signals};
use strawline::quality::summary::Summary;
use strawline::quantity::time::Instant;

/// Name of a rule as the row writes it.
fn flag(rule: Rule) -> &'static str {
    match rule {
        Rule::OneBeyond2 => "1_2s",
        Rule::OneBeyond3 => "1_3s",
        Rule::TwoBeyond2 => "2_2s",
        Rule::Range4 => "R_4s",
        Rule::FourBeyond1 => "4_1s",
        Rule::TenOneSide => "10_x",
        _ => "another",
    }
}

pub fn reckon(row: &Row) -> Value {
    match row.id.as_str() {
        "J01" => {
            let at = Instant(0);
            let limits =
                Limits { centre: row.f("mean"), sd: row.f("sd"), n: 20, from: at, until: at, name: None };
            json!({"limits_1s": limits.line(1.0), "limits_2s": limits.line(2.0), "limits_3s": limits.line(3.0)})
        }
        "J02" | "J03" | "J04" | "J05" | "J06" | "J07" | "J08" => {
            let run = (row.inputs["same_run"] == true).then_some(1);
            let points: Vec<Judged> = row.list("z").into_iter().map(|z| Judged { z, run }).collect();
            let found: Vec<Rule> =
                signals(&points, &Rule::WESTGARD).into_iter().flatten().map(|s| s.rule).collect();
            // in the order of the rules, each once
            let flags: Vec<&str> =
                Rule::WESTGARD.into_iter().filter(|r| found.contains(r)).map(flag).collect();
            if found.iter().any(|r| !r.warns_only()) {
                json!({"flags": flags, "reject": true})
            } else {
                json!({"flags": flags})
            }
        }
        "J09" => {
            let ewma = Ewma { lambda: row.f("lambda"), width: row.f("k") };
            let (centre, off) = (row.f("ewma0"), ewma.limit(row.f("s"), None));
            json!({"ucl": centre + off, "lcl": centre - off})
        }
        "J10" => {
            let ewma = Ewma { lambda: row.f("lambda"), width: 3.0 };
            let mut mean = row.f("ewma0");
            let step = |x: f64| {
                mean = ewma.next(mean, x);
                mean
            };
            json!({"ewma": row.list("x").into_iter().map(step).collect::<Vec<_>>()})
        }
        "J11" => {
            let ewma = Ewma { lambda: row.f("lambda"), width: row.f("L") };
            let upper = |t| row.f("mean") + ewma.limit(row.f("sd"), Some(t));
            assert_eq!(row.list("i"), [1.0, 2.0]);
            json!({"ucl": [upper(1), upper(2)]})
        }
        "J12" => {
            assert_eq!(row.f("n"), 20.0);
            let next = Prior::of_counts(20, row.f("mean"), row.f("sd"), 0.0).predictive().expect("a spread");
            json!({"low": next.quantile(0.025).ln(), "high": next.quantile(0.975).ln()})
        }
        "J13" => {
            let cv = |(mean, sd)| Summary { n: 17, mean, sd: Some(sd), low: mean, high: mean }.cv();
            let all = row.list("mean").into_iter().zip(row.list("sd")).filter_map(cv);
            json!({"cv_pct": all.map(|cv| 100.0 * cv).collect::<Vec<_>>()})
        }
        "J15" => {
            let found = Summary::of(&row.list("values")).expect("numbers");
            json!({
                "mean": found.mean,
                "sd_n_minus_1": found.sd,
                "cv_pct": found.cv().map(|cv| 100.0 * cv),
            })
        }
        _ => Value::Null,
    }
}
