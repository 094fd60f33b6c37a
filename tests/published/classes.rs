//! Rows of the published classifications (F).

use crate::{Row, q};
use serde_json::{Map, Value, json};
use strawline::product::classification::{
    Activator, Class, Classified, Family, Fibrin, Inputs, Meant, Outcome, PartOf, Unassigned, classify,
    purity,
};
use strawline::quantity::unit::Conventions;
use strawline::quantity::{CellCount, Quantity, RedCount};
use strawline::words::Phrase;
use strawline::words::classification::OutcomeWords;

/// What the core makes of a row, in the form of its expected values.
pub fn reckon(row: &Row) -> Value {
    match row.id.as_str() {
        "F01" | "F02" => json!({"code": of(Family::Paw, &paw(row)).code()}),
        "F03" => {
            let p = |count: f64| {
                let inputs =
                    Inputs { native: Some(q(row.f("wb_plt"))), product: Some(q(count)), ..Inputs::default() };
                letter(&of(Family::Paw, &inputs), PartOf::Platelets)
            };
            json!({"P": row.list("prp_plt").into_iter().map(p).collect::<Vec<_>>()})
        }
        "F04" => {
            // whatever the product's own count is
            let p = |count: f64| {
                let inputs = Inputs {
                    fold: Some(q(row.f("fold"))),
                    product: Some(q(count)),
                    activators: activators(&row.inputs["exogenous_activator"]),
                    ..Inputs::default()
                };
                letter(&of(Family::Paw, &inputs), PartOf::Platelets)
            };
            assert!(row.inputs["baseline"].is_null());
            let said: Vec<_> = [100.0, 749.7, 1250.2, 3000.0].map(p).into();
            assert!(said.windows(2).all(|two| two[0] == two[1]), "{said:?}");
            json!({"P": said[0]})
        }
        "F06" => json!({"type": of(Family::Mishra, &mishra(row, row.f("fold"))).code()}),
        "F07" => {
            let code = |fold| of(Family::Mishra, &mishra(row, fold)).code();
            json!({"type": row.list("fold").into_iter().map(code).collect::<Vec<_>>()})
        }
        "F08" => plra(row),
        "F09" | "F10" => {
            let inputs = Inputs {
                dose: Some(q(row.f("dose_billion"))),
                recovery: Some(q(row.f("efficiency_pct") / 100.0)),
                activators: activators(&row.inputs["activated"]),
                ..of_purity(row.f("purity_pct") / 100.0)
            };
            let found = of(Family::Depa, &inputs);
            let parts = [
                ("D", PartOf::Dose),
                ("E", PartOf::Efficiency),
                ("P", PartOf::Purity),
                ("A", PartOf::Activation),
            ];
            let letters = parts.into_iter().filter(|(key, _)| row.expected.get(key).is_some());
            Value::Object(letters.map(|(key, part)| (key.into(), letter(&found, part).into())).collect())
        }
        "F11" => graded(row, "plt_10e3_uL", "wbc_10e3_uL", q(row.f("rbc_10e3_uL") / 1000.0)),
        "F12" => graded(row, "plt_10e9_l", "wbc_10e9_l", q(row.f("rbc_10e12_l"))),
        "F14" | "F15" => {
            let with = row.inputs["leukocytes"] == true;
            let dense = row.inputs["fibrin_density"] == "high";
            let inputs = Inputs {
                meant: Some(if with { Meant::With } else { Meant::Without }),
                fibrin: Some(if dense { Fibrin::HighDensity } else { Fibrin::LowDensity }),
                ..Inputs::default()
            };
            json!({"family": of(Family::DohanEhrenfest, &inputs).code()})
        }
        _ => Value::Null,
    }
}

fn of(family: Family, inputs: &Inputs) -> Classified {
    classify(inputs).into_iter().find(|c| c.family == family).expect("every family")
}

/// Calcium where a row says that something activates.
fn activators(yes: &Value) -> Option<Vec<Activator>> {
    Some(if yes == true { vec![Activator::CalciumChloride] } else { vec![] })
}

/// White cells of a product beside 6 ×10⁹/L in the blood, as a row words them.
fn against_six(word: &Value) -> Option<CellCount> {
    Some(q(match word.as_str().expect("a word") {
        "above" | "increased" => 9.0,
        "below" => 1.0,
        "minimal" => 0.0,
        other => panic!("{other}"),
    }))
}

fn paw(row: &Row) -> Inputs {
    let white = against_six(&row.inputs["wbc_vs_baseline"]);
    // The same share of neutrophils on both sides goes the way of the white cells.
    assert_eq!(row.inputs["wbc_vs_baseline"], row.inputs["neut_vs_baseline"]);
    Inputs {
        native: Some(q(row.f("wb_plt"))),
        product: Some(q(row.f("prp_plt"))),
        white,
        blood_white: Some(q(6.0)),
        neutrophils: Some(q(0.6)),
        blood_neutrophils: Some(q(0.6)),
        activators: activators(&row.inputs["exogenous_activator"]),
        ..Inputs::default()
    }
}

fn mishra(row: &Row, fold: f64) -> Inputs {
    Inputs {
        fold: Some(q(fold)),
        white: against_six(&row.inputs["wbc"]),
        blood_white: Some(q(6.0)),
        activators: activators(&row.inputs["activated"]),
        ..Inputs::default()
    }
}

fn plra(row: &Row) -> Value {
    assert_eq!(row.inputs["neut"], false);
    let inputs = Inputs {
        given_count: Some(q(row.f("plt_per_uL") / 1e3)),
        given: Some(q(row.f("volume_ml"))),
        white_share: Some(q(row.f("wbc_pct") / 100.0)),
        neutrophils: Some(q(0.0)),
        haematocrit: Some(q(row.f("rbc_pct") / 100.0)),
        activators: activators(&row.inputs["activated"]),
        ..Inputs::default()
    };
    let found = of(Family::Plra, &inputs);
    let Some(Outcome::Is(Class::Amount { count, volume })) = found.part(PartOf::Platelets) else {
        panic!("{found:?}")
    };
    let sign = |part| letter(&found, part).replace('−', "-");
    // both ways in which the leukocytes are told
    assert_eq!(sign(PartOf::WhiteShare), sign(PartOf::NeutrophilShare));
    json!({
        "P": format!("{}M/uL x {} mL", count.get() / 1e3, volume.get()),
        "L": sign(PartOf::WhiteShare),
        "R": sign(PartOf::RedCells),
        "A": sign(PartOf::Activation),
    })
}

/// A product of this purity, without red cells.
fn of_purity(purity: f64) -> Inputs {
    Inputs {
        product: Some(q(1000.0)),
        red: Some(q(0.0)),
        white: Some(q(1000.0 * (1.0 - purity) / purity)),
        ..Inputs::default()
    }
}

fn graded(row: &Row, platelets: &str, white: &str, red: RedCount) -> Value {
    let (platelets, white): (CellCount, CellCount) = (q(row.f(platelets)), q(row.f(white)));
    let inputs = Inputs { product: Some(platelets), red: Some(red), white: Some(white), ..Inputs::default() };
    let mut found = Map::new();
    found.insert("purity_pct".into(), json!(100.0 * purity(platelets, red, white).expect("cells").get()));
    found.insert("grade".into(), letter(&of(Family::Depa, &inputs), PartOf::Purity).into());
    Value::Object(found)
}

/// A part as a row writes it.
fn letter(classified: &Classified, part: PartOf) -> String {
    let outcome = classified.part(part).expect("a part");
    match outcome {
        Outcome::Undefined(Unassigned::Edge { one, other }) => format!("boundary {one}/{other}"),
        outcome => OutcomeWords(outcome, &Conventions::default()).english().into_owned(),
    }
}
