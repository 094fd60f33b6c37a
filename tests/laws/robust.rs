//! No text, file or byte that comes in makes the core panic or show what is no number.

use crate::drafts::{Answer, Dice, NOW, all_conventions, draft};
use crate::{Verdict, config};
use proptest::prelude::*;
use proptest::test_runner::TestRunner;
use serde_json::{Value, json};
use strawline::bench::Bench;
use strawline::case;
use strawline::draft::{Draft, Field};
use strawline::export::report::{Reader, report, results, shown};
use strawline::quantity::Quantity;
use strawline::words::Language;

/// Answers a draft in both languages and looks at every number and sentence of it.
fn sound(draft: Draft) -> Verdict {
    let answer = Answer::of(draft);
    for found in results(&answer.found) {
        let range = found.range.map_or([found.value; 2], |(low, high)| [low, high]);
        prop_assert!(found.value.is_finite() && range.iter().all(|x| x.is_finite()), "{}", found.what);
        for step in found.working.iter().flat_map(|w| &w.steps) {
            let numbers = step.numbers.iter().chain([&step.result]);
            prop_assert!(numbers.clone().all(|f| f.value.is_finite()), "{}: {}", found.what, step.formula);
            // a bare sign joins however many numbers there are
            let gaps = step.substituted.matches("{}").count();
            prop_assert!(gaps == step.numbers.len() || step.substituted == "+", "{}", step.formula);
        }
    }
    prop_assert!(shown(&answer.found).iter().all(|figure| figure.is_finite()));
    if let Some(patient) = &answer.found.draw.patient {
        prop_assert!(patient.literature(&answer.case.patient).iter().all(|v| v.value.get().is_finite()));
        prop_assert!(patient.hits.iter().all(|h| h.value.value.is_finite() && h.limit.value.is_finite()));
    }
    let (case, _) = case::read(&answer.draft, Language::Pseudo);
    prop_assert_eq!(&case, &answer.case);
    let mut figures = Vec::new();
    for language in [Language::English, Language::Pseudo] {
        let reader = Reader { language, offset: NOW.offset };
        let report = report(&answer.case, &answer.readings, &answer.draft, &answer.found, reader);
        let report = serde_json::to_value(&report).map_err(|e| TestCaseError::fail(e.to_string()))?;
        for result in report["results"].as_array().expect("a list") {
            prop_assert!(result["value"].is_number(), "{}", result);
        }
        for finding in report["findings"].as_array().expect("a list") {
            for sentence in [&finding["cause"], &finding["action"]] {
                let sentence = sentence.as_str().expect("a sentence");
                prop_assert!(!sentence.is_empty() && !sentence.contains("NaN"), "{}", finding);
            }
        }
        figures
            .push(report["results"].as_array().expect("a list").iter().map(|r| r["value"].clone()).collect());
    }
    let [english, pseudo]: [Vec<Value>; 2] = figures.try_into().expect("two");
    prop_assert_eq!(english, pseudo);
    Ok(())
}

/// What a person, a paste or a cat may leave in an entry.
fn scrawl() -> impl Strategy<Value = String> {
    prop_oneof![
        "\\PC{0,70}",
        any::<String>(),
        "[-+−]?[0-9 .,'’]{1,12}(e[-+]?[0-9]{1,4})? ?(%|g/L|g/dL|mmol/L|lb|kg|cm|ft|in|/µL|×10⁹/L|mL|s|min|h)?",
        "[0-9]{1,3}[:/' ][0-9]{1,3}(:[0-9]{2})?",
        any::<f64>().prop_map(|x| x.to_string()),
        (0.0..1000.0_f64).prop_map(|x| format!("{x:.3}")),
        "(nan|inf|-inf|1e999|-0|0x1f|١٢٣|½|1\u{202f}000|\\PC)",
    ]
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn any_text_in_every_entry(seed in any::<u64>(), scrawls in prop::collection::vec(scrawl(), 24), conv in 0..96_usize) {
        let mut draft = draft(seed);
        draft.conventions = all_conventions()[conv];
        let d = &mut Dice(seed);
        for field in Field::all() {
            if d.chance(30) {
                draft.write(field, d.pick(&scrawls));
            }
        }
        sound(draft)?;
    }

    #[test]
    fn any_bytes_as_a_file(bytes in prop::collection::vec(any::<u8>(), 0..400)) {
        let text = String::from_utf8_lossy(&bytes);
        prop_assert!(Draft::from_json(&text).is_err() && Bench::from_json(&text).is_err());
    }

    #[test]
    fn a_file_with_bytes_changed(seed in any::<u64>(), edits in prop::collection::vec((any::<u32>(), any::<u8>(), 0..4_u8), 1..5)) {
        for (of_bench, text) in [(false, draft(seed).to_json()), (true, bench(seed).to_json())] {
            let mut bytes = text.into_bytes();
            for (at, byte, how) in &edits {
                let at = usize::try_from(*at).expect("32 bits") % bytes.len();
                match how {
                    0 => bytes[at] = *byte,
                    1 => bytes.truncate(at.max(1)),
                    2 => drop(bytes.remove(at)),
                    _ => bytes.insert(at, b"0123456789eE.-+{}[],\":"[usize::from(*byte) % 22]),
                }
                if bytes.is_empty() {
                    bytes.push(b'{');
                }
            }
            let text = String::from_utf8_lossy(&bytes);
            if of_bench {
                Bench::from_json(&text).map_or(Ok(()), |bench| begin(bench, seed))?;
            } else if let Ok(draft) = Draft::from_json(&text) {
                sound(draft)?;
            }
        }
    }

    #[test]
    fn what_is_stored_is_read_back(seed in any::<u64>()) {
        let (draft, bench) = (draft(seed), bench(seed));
        prop_assert_eq!(Draft::from_json(&draft.to_json()), Ok(draft));
        prop_assert_eq!(Bench::from_json(&bench.to_json()), Ok(bench));
    }
}

/// A Bench with the kit of a draft in it.
fn bench(seed: u64) -> Bench {
    let kit = draft(seed).kit;
    let mut bench = Bench { limits: kit.limits, clock: kit.clock, ..Bench::default() };
    // In place of what ships under the same id: a Bench names each once.
    if let Some(own) = kit.container {
        bench.containers.retain(|c| c.id != own.id);
        bench.containers.push(own);
    }
    if let Some(own) = kit.protocol {
        bench.protocols.retain(|p| p.id != own.id);
        bench.protocols.push(own);
    }
    if let Some(own) = kit.rotor {
        bench.rotors.retain(|r| r.id != own.id);
        bench.rotors.push(own);
    }
    bench
}

/// Begins a case with what a Bench holds.
fn begin(bench: Bench, seed: u64) -> Verdict {
    let mut draft = draft(seed);
    draft.kit.container = bench.containers.last().cloned();
    draft.kit.protocol = bench.protocols.last().cloned();
    draft.kit.rotor = bench.rotors.last().cloned();
    (draft.kit.limits, draft.kit.clock) = (bench.limits, bench.clock);
    sound(draft)
}

/// Every place in a JSON value, as pointers.
fn places(value: &Value, here: &str, all: &mut Vec<String>) {
    all.push(here.to_owned());
    match value {
        Value::Object(map) => map.iter().for_each(|(key, v)| places(v, &format!("{here}/{key}"), all)),
        Value::Array(list) => {
            list.iter().enumerate().for_each(|(i, v)| places(v, &format!("{here}/{i}"), all))
        }
        _ => {}
    }
}

/// Another value of the same sort, or of another, at the edges of what JSON can say.
fn twisted(d: &mut Dice, value: &Value) -> Value {
    let number = |d: &mut Dice| {
        let edges = [0.0, -0.0, 1e-308, 1e-9, 1e-3, 0.5, 1.0, -1.0, 12.0, 255.0, 1e3, 1e4, 1e6, 1e300];
        if d.chance(50) {
            json!(d.pick(&edges))
        } else {
            json!(d.pick(&[i64::MIN, -1, 0, 1, 3, 255, 256, i64::MAX]))
        }
    };
    match value {
        Value::Number(n) if d.chance(60) => {
            json!(n.as_f64().unwrap_or(0.0) * d.pick(&[0.0, -1.0, 1e-6, 0.1, 0.5, 2.0, 10.0, 1e6]))
        }
        Value::Number(_) => number(d),
        Value::String(_) if d.chance(50) => {
            json!(d.pick(&["", "0", "7", "1e9", "left", "acd_a", "½", "x\u{0}y"]))
        }
        Value::Bool(yes) if d.chance(70) => json!(!yes),
        Value::Array(list) if d.chance(70) => {
            let twice = list.iter().chain(list).cloned().collect::<Vec<_>>();
            d.pick(&[json!([]), Value::Array(twice)])
        }
        _ if d.chance(30) => number(d),
        _ => d.pick(&[Value::Null, json!({}), json!([]), json!(""), json!(true)]),
    }
}

/// One to three places twisted, or gone.
fn mutated(value: &Value, d: &mut Dice) -> String {
    let mut value = value.clone();
    for _ in 0..=d.below(3) {
        let mut all = Vec::new();
        places(&value, "", &mut all);
        let place = d.pick(&all);
        if let (true, Some((parent, key))) = (d.chance(15), place.rsplit_once('/')) {
            if let Some(map) = value.pointer_mut(parent).and_then(Value::as_object_mut) {
                map.remove(key);
            }
        } else if let Some(at) = value.pointer_mut(&place).filter(|_| !place.is_empty()) {
            *at = twisted(d, at);
        }
    }
    value.to_string()
}

/// Changed files, until one is accepted (or eight were refused).
fn accepted<T, E>(text: &str, d: &mut Dice, read: impl Fn(&str) -> Result<T, E>) -> Option<T> {
    let value: Value = serde_json::from_str(text).expect("JSON");
    (0..8).find_map(|_| read(&mutated(&value, d)).ok())
}

#[test]
fn a_file_with_values_changed() {
    let mut runner = TestRunner::new(config());
    let law = |seed: u64| {
        let d = &mut Dice(seed);
        let draft = accepted(&draft(seed).to_json(), d, Draft::from_json);
        let bench = accepted(&bench(seed).to_json(), d, Bench::from_json);
        let both = draft.zip(bench).ok_or_else(|| TestCaseError::reject("both refused to the last"))?;
        sound(both.0)?;
        begin(both.1, seed)
    };
    runner.run(&any::<u64>(), law).unwrap_or_else(|e| panic!("{e}"));
}
