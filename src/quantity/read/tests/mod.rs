//! What is read from what is typed, as tables and as laws.

mod counts;
mod laws;
mod marks;
mod others;

use super::*;
use crate::quantity::unit::*;
use std::fmt::Write;

fn si() -> Conventions {
    Conventions::default()
}
fn comma() -> Conventions {
    Conventions { numbers: NumberStyle::Comma, ..si() }
}
fn american() -> Conventions {
    Conventions {
        numbers: NumberStyle::Point,
        count: CountUnit::PerMicrolitre,
        haematocrit: HaematocritUnit::Percent,
        haemoglobin: HaemoglobinUnit::GramPerDecilitre,
        mass: MassUnit::Pound,
        height: HeightUnit::FeetInches,
    }
}

/// A reading in a line: `210`, `210 PerMicrolitre`, `ask 2.5 AsTyped | 250 Slip`, `OutOfRange offers 0.42`.
fn told(typed: &str, kind: Kind, conv: &Conventions) -> String {
    match read(typed, kind, conv) {
        Reading::Empty => "empty".into(),
        Reading::Value { value, as_read: AsRead::AsTyped } => format!("{value}"),
        Reading::Value { value, as_read: AsRead::Otherwise(why) } => format!("{value} {why:?}"),
        Reading::Ask { options } => {
            let options: Vec<String> = options.iter().map(|o| format!("{} {:?}", o.value, o.why)).collect();
            format!("ask {}", options.join(" | "))
        }
        Reading::Wrong(refusal) => {
            let mut out = match &refusal {
                Refusal::OutOfRange { .. } => "OutOfRange".into(),
                other => format!("{other:?}"),
            };
            for o in refusal.offers() {
                let _ = write!(out, " offers {}", o.value);
            }
            out
        }
    }
}

#[track_caller]
fn table(kind: Kind, conv: &Conventions, rows: &[(&str, &str)]) {
    for (typed, want) in rows {
        assert_eq!(&told(typed, kind, conv), want, "{typed:?} as {kind:?}");
    }
}

const ML: Kind = Kind::Volume { min: 0.0, max: 100.0 };
