//! How a stored text is read, and what is said when it cannot be.

use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::Error;

/// Why a stored text was refused; it is left untouched.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Refused {
    /// Written by a newer version of Strawline.
    Newer {
        /// Its schema number.
        found: u32,
    },
    /// Something else than expected; the text says where reading stopped.
    Unreadable(String),
}

/// What begins every stored text.
#[derive(Deserialize)]
pub(crate) struct Head {
    /// Version of its layout.
    pub schema: u32,
}

/// Reads a stored text of this version or an older one. Errors: newer, or not what was expected.
pub(crate) fn read<T: DeserializeOwned>(text: &str, newest: u32) -> Result<T, Refused> {
    version(text, newest)?;
    parse(text)
}

/// The version alone: it says more than the first unknown name in a newer text. Errors: newer, or none there.
pub(crate) fn version(text: &str, newest: u32) -> Result<(), Refused> {
    match parse::<Head>(text)?.schema {
        found if found > newest => Err(Refused::Newer { found }),
        _ => Ok(()),
    }
}

/// Reads a text of any version. Errors: the entry at fault, and why.
pub(crate) fn parse<T: DeserializeOwned>(text: &str) -> Result<T, Refused> {
    serde_json::from_str(text).map_err(|error| Refused::Unreadable(fault(text, &error)))
}

/// The stored name of a choice that is stored as a name.
pub(crate) fn key(choice: &impl serde::Serialize) -> Option<String> {
    Some(serde_json::to_value(choice).ok()?.as_str()?.to_owned())
}

/// Why and where reading stopped. The library tells line and column; a person looks for the entry.
fn fault(text: &str, error: &Error) -> String {
    let why = error.to_string();
    let named =
        ["unknown field", "missing field", "duplicate field", "no field"].iter().any(|s| why.starts_with(s));
    match last_key(text, error).filter(|_| error.is_data() && !named) {
        Some(key) => format!("{key}: {why}"),
        None => why,
    }
}

/// The entry in front of the place where reading stopped.
fn last_key<'a>(text: &'a str, error: &Error) -> Option<&'a str> {
    let lines_before = error.line().saturating_sub(1);
    let start: usize = text.split_inclusive('\n').take(lines_before).map(str::len).sum();
    let before = text.get(..start.checked_add(error.column())?)?;
    let is_key_end = |&(at, _): &(usize, &str)| {
        before
            .get(at..)
            .and_then(|rest| rest.strip_prefix('"'))
            .is_some_and(|rest| rest.trim_start().starts_with(':'))
    };
    let (end, _) = before.rmatch_indices('"').find(is_key_end)?;
    let head = before.get(..end)?;
    head.get(head.rfind('"')?..)?.strip_prefix('"')
}

#[cfg(test)]
mod tests {
    use crate::bench::{Bench, OwnBand, Prefill};
    use crate::blood::anticoagulant::{Agent, Dosing};
    use crate::draft::{About, Changed, Check, CheckKind, CheckSign, Decision, Draft};
    use crate::product::kind::{Basis, Learned, ProductKind};
    use crate::quality::decided::{Begun, ChosenBaseline, Decisions, Exclusion, OwnPrior, Series, TakenBack};
    use crate::quality::learn::Prior;
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;
    use crate::quantity::{AcRatio, Quantity, Volume};
    use crate::record::Record;
    use crate::record::settings::Settings;
    use serde_json::Value;

    /// Every object in a stored text, each with one key more than it should have.
    fn with_a_key_too_many(text: &str) -> Vec<String> {
        fn objects(value: &Value, path: &str, found: &mut Vec<String>) {
            match value {
                Value::Object(entries) => {
                    found.push(path.to_owned());
                    entries.iter().for_each(|(key, v)| objects(v, &format!("{path}/{key}"), found));
                }
                Value::Array(items) => {
                    (0..).zip(items).for_each(|(i, v): (usize, _)| objects(v, &format!("{path}/{i}"), found));
                }
                _ => {}
            }
        }
        let whole: Value = serde_json::from_str(text).unwrap();
        let mut paths = Vec::new();
        objects(&whole, "", &mut paths);
        let spoilt = |path: &String| {
            let mut copy = whole.clone();
            copy.pointer_mut(path).unwrap()["misspelt"] = Value::from(0);
            copy.to_string()
        };
        paths.iter().map(spoilt).collect()
    }

    /// One of each decision there is, all taken back.
    fn decided() -> Decisions {
        let of = Series { protocol: "double-spin".into(), container: Some("tube-15".into()) };
        let by = || "MO".to_owned();
        let at = Instant(5);
        let back = Some(TakenBack { by: by(), at });
        let why = "clotted tube".to_owned();
        let prior = Prior::NONE;
        let kind = Some(ProductKind::Concentrate);
        Decisions {
            exclusions: vec![Exclusion { case: "a".into(), by: by(), at, why, back: back.clone() }],
            checks: vec![Begun { of: of.clone(), by: by(), at, back: back.clone() }],
            own: vec![OwnPrior {
                of: of.clone(),
                by: by(),
                at,
                kind,
                cases: vec!["a".into()],
                prior,
                back: back.clone(),
            }],
            baselines: vec![ChosenBaseline {
                of,
                name: "spring".into(),
                from: at,
                until: at,
                by: by(),
                at,
                back,
            }],
            ..Decisions::default()
        }
    }

    #[test]
    fn a_key_that_is_misspelt_is_refused_wherever_it_stands() {
        let mut draft = Draft::demo("d".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let half = Volume::new(0.5).unwrap();
        draft.kit.container.as_mut().unwrap().prefill = Some(Prefill { agent: Agent::AcdA, volume: half });
        let (low, high) = (AcRatio::constant(0.1), AcRatio::constant(0.2));
        draft.kit.protocol.as_mut().unwrap().own_band = Some(OwnBand { low, high });
        draft.kit.protocol.as_mut().unwrap().dosing = Some(Dosing::PerContainer(half));
        draft
            .checks
            .insert(CheckKind::Identity, Check { by: "MO".into(), at: Instant(5), of: String::new() });
        draft.lapse(Changed::Identifiers);
        draft
            .checks
            .insert(CheckKind::Identity, Check { by: "MO".into(), at: Instant(6), of: String::new() });
        draft.times.stages.insert(0, Instant(7));
        let expectation = &mut draft.kit.protocol.as_mut().unwrap().expectation.as_mut().unwrap();
        let learned = Learned { location: -0.4, scale: 0.15, freedom: 18.5, counting_variance: 0.0018 };
        expectation.basis = Basis::ClinicCounts { n: 12, learned: Some(learned) };
        let about = Some(About::default());
        draft.decide("no_rating".into(), Decision { about, ..Decision::new("MO", "", Instant(8)) });
        let text = draft.to_json();
        let all = with_a_key_too_many(&text);
        assert!(all.len() > 20, "{}", all.len());
        for spoilt in all {
            assert!(Draft::from_json(&spoilt).is_err(), "{spoilt}");
        }
        let decisions = serde_json::to_string(&decided()).unwrap();
        let all = with_a_key_too_many(&decisions);
        // itself, and of each kind one that was taken back: series, prior, who took it back
        assert!(all.len() >= 12, "{}", all.len());
        for spoilt in all {
            assert!(Decisions::from_json(&spoilt).is_err(), "{spoilt}");
        }
        let bench = Bench::default();
        for spoilt in with_a_key_too_many(&bench.to_json()) {
            assert!(Bench::from_json(&spoilt).is_err(), "{spoilt}");
        }
        let shown = vec![crate::record::trial::figure("fold", 4.0)];
        let record = Record::sign(draft, "MO", Instant(9), shown).unwrap();
        for spoilt in with_a_key_too_many(&record.to_json().unwrap()) {
            assert!(Record::from_json(&spoilt).is_err(), "{spoilt}");
        }
        let settings = serde_json::to_string(&Settings::default()).unwrap();
        for spoilt in with_a_key_too_many(&settings) {
            assert!(Settings::from_json(&spoilt).is_err(), "{spoilt}");
        }
    }

    #[test]
    fn the_entry_at_fault_is_named() {
        let draft = Draft::demo("é".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        let text = draft.to_json();
        for (from, to, wanted) in [
            (r#""capacity":17.0"#, r#""capacity":-5"#, "capacity: volume -5 mL is outside 0 to 10000 mL"),
            (r#""agent":"acd_a""#, r#""agent":"acd""#, "agent: unknown variant `acd`"),
            (r#""demo":true"#, r#""demo":"yes""#, "demo: invalid type"),
            (r#""demo":true"#, r#""demi":true"#, "unknown field `demi`"),
        ] {
            assert!(text.contains(from), "{from}");
            let said = format!("{:?}", Draft::from_json(&text.replace(from, to)).unwrap_err());
            assert!(said.contains(wanted), "{said}");
        }
        let bench = Bench::default().to_json().replace("\"share_stop\": 0.075", "\"share_stop\": 75");
        let said = format!("{:?}", Bench::from_json(&bench).unwrap_err());
        assert!(said.contains("share_stop: share 75"), "{said}");
        let record = Record::sign(draft, "MO", Instant(9), vec![]).unwrap().to_json().unwrap();
        let said = Record::from_json(&record.replace("\"capacity\":17.0", "\"capacity\":-5"));
        assert!(format!("{said:?}").contains("capacity: volume -5 mL"), "{said:?}");
        let said = Settings::from_json(r#"{"schema":1,"theme":"dim"}"#);
        assert!(format!("{said:?}").contains("theme: unknown variant `dim`"), "{said:?}");
    }
}
