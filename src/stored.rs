//! How a value is stored as text and read again, and what is said when it cannot be.

mod tree;

use serde::de::DeserializeOwned;
use serde::{Deserialize, Deserializer, Serialize};
use tree::{Tree, grow};

/// Why a stored text was refused; it is left untouched.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Refused {
    /// Written by a newer version of Strawline.
    Newer {
        /// Its schema number.
        found: u32,
    },
    /// Something else than expected; the text says where, and why.
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
    let tree = taken_apart(text)?;
    older(&value(&tree)?, newest)?;
    value(&tree)
}

/// Reads a stored text with parts that are kept as the texts they are, which a tree cannot hold; otherwise as [`read`].
pub(crate) fn read_around<'a, T: Deserialize<'a>>(text: &'a str, newest: u32) -> Result<T, Refused> {
    let unreadable = |error: serde_json::Error| Refused::Unreadable(error.to_string());
    older(&serde_json::from_str(text).map_err(unreadable)?, newest)?;
    serde_json::from_str(text).map_err(unreadable)
}

/// Writes what [`read_around`] reads. Errors: it has no text.
pub(crate) fn write_around(value: &impl Serialize) -> Result<String, String> {
    serde_json::to_string(value).map_err(|error| error.to_string())
}

/// Reads the version of an older text as the newest: it is written as that again, with what older versions do not know.
pub(crate) fn newest<'de, const NEWEST: u32, D: Deserializer<'de>>(from: D) -> Result<u32, D::Error> {
    u32::deserialize(from).map(|found| found.max(NEWEST))
}

/// Reads a text of any version. Errors: the way to the entry at fault, and why.
pub(crate) fn parse<T: DeserializeOwned>(text: &str) -> Result<T, Refused> {
    value(&taken_apart(text)?)
}

/// Writes a value as it is stored. Errors: it has no text.
pub(crate) fn write(value: &impl Serialize) -> Result<String, String> {
    let tree = grow(value).map_err(|fault| fault.to_string())?;
    serde_json::to_string(&tree).map_err(|error| error.to_string())
}

/// Writes a value with each entry on a line of its own, for a person to read. Errors: it has no text.
pub(crate) fn write_in_lines(value: &impl Serialize) -> Result<String, String> {
    let tree = grow(value).map_err(|fault| fault.to_string())?;
    serde_json::to_string_pretty(&tree).map_err(|error| error.to_string())
}

fn taken_apart(text: &str) -> Result<Tree<'_>, Refused> {
    serde_json::from_str(text).map_err(|error| Refused::Unreadable(error.to_string()))
}

/// The version says more than the first unknown name in a newer text. Errors: it is newer.
fn older(head: &Head, newest: u32) -> Result<(), Refused> {
    match head.schema {
        found if found > newest => Err(Refused::Newer { found }),
        _ => Ok(()),
    }
}

/// The stored name of a choice that is stored as a name.
pub(crate) fn key(choice: &impl serde::Serialize) -> Option<String> {
    match grow(choice).ok()? {
        Tree::Text(name) => Some(name.into_owned()),
        _ => None,
    }
}

fn value<T: DeserializeOwned>(tree: &Tree<'_>) -> Result<T, Refused> {
    T::deserialize(tree).map_err(|fault| Refused::Unreadable(fault.to_string()))
}

#[cfg(test)]
mod layouts;

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
    fn what_is_stored_is_what_the_library_would_write() {
        let draft = Draft::demo("é".into(), CheckSign::pick(0, &[]), Instant(0), Conventions::default());
        assert_eq!(draft.to_json(), serde_json::to_string(&draft).unwrap());
        let bench = Bench::default();
        assert_eq!(bench.to_json(), serde_json::to_string_pretty(&bench).unwrap());
        let (settings, decided) = (Settings::default(), decided());
        assert_eq!(super::write(&settings).unwrap(), serde_json::to_string(&settings).unwrap());
        assert_eq!(super::write(&decided).unwrap(), serde_json::to_string(&decided).unwrap());
        let shown = vec![crate::record::trial::figure("fold", 4.0)];
        let record = Record::sign(draft, "MO", Instant(9), shown).unwrap();
        let entry = record.entries().next().unwrap();
        assert_eq!(super::write(entry).unwrap(), serde_json::to_string(entry).unwrap());
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
