//! Elements of a resource. What holds nothing is left out.

use crate::export::facts::number;
use serde_json::{Map, Value};

const UCUM: &str = "http://unitsofmeasure.org";

/// UCUM: code, and as it is printed.
pub(super) type Unit = (&'static str, &'static str);
pub(super) const ML: Unit = ("mL", "mL");

/// An object of the fields that hold something.
pub(super) fn object(fields: Vec<(&str, Value)>) -> Value {
    let full = |v: &Value| match v {
        Value::Null => false,
        Value::Array(all) => !all.is_empty(),
        Value::Object(all) => !all.is_empty(),
        _ => true,
    };
    let fields = fields.into_iter().filter(|(_, v)| full(v));
    Value::Object(fields.map(|(k, v)| (k.to_owned(), v)).collect::<Map<_, _>>())
}

/// A FHIR string: none when nothing is left of it.
pub(super) fn string(text: &str) -> Value {
    let text: String = text.chars().filter(|c| !c.is_control() || *c == '\n').collect();
    match text.trim() {
        "" => Value::Null,
        text => text.into(),
    }
}

pub(super) fn optional(text: Option<String>) -> Value {
    text.map_or(Value::Null, |text| string(&text))
}

pub(super) fn list(all: Vec<Value>) -> Value {
    Value::Array(all.into_iter().filter(|v| !v.is_null() && *v != Value::Object(Map::new())).collect())
}

/// A list of one, or none.
pub(super) fn some(one: Option<Value>) -> Value {
    list(one.into_iter().collect())
}

pub(super) fn concept(text: &str) -> Value {
    object(vec![("text", string(text))])
}

pub(super) fn coding(system: &str, code: &str, display: &str) -> Value {
    object(vec![("system", system.into()), ("code", code.into()), ("display", string(display))])
}

pub(super) fn coded(system: &str, code: &str, display: &str) -> Value {
    object(vec![("coding", list(vec![coding(system, code, display)])), ("text", string(display))])
}

/// Why a value is not there: nobody knows it.
pub(super) fn absent() -> Value {
    coded("http://terminology.hl7.org/CodeSystem/data-absent-reason", "unknown", "Unknown")
}

pub(super) fn amount(value: f64, (code, unit): Unit) -> Value {
    let value = number(value).into();
    object(vec![("value", value), ("unit", unit.into()), ("system", UCUM.into()), ("code", code.into())])
}

pub(super) fn note(text: &str) -> Value {
    object(vec![("text", string(text))])
}

/// Lines as the text of a resource, in the little XHTML that it may hold; none where there is nothing to say.
pub(super) fn narrative(lines: &[String]) -> Value {
    let said = lines.iter().filter_map(|line| Some(string(line).as_str()?.to_owned()));
    let marked = |c: char| match c {
        '&' => "&amp;".to_owned(),
        '<' => "&lt;".to_owned(),
        '>' => "&gt;".to_owned(),
        // What XML has no place for.
        '\u{fffe}' | '\u{ffff}' => String::new(),
        c => c.to_string(),
    };
    let div: String =
        said.map(|line| format!("<p>{}</p>", line.chars().map(marked).collect::<String>())).collect();
    if div.is_empty() {
        return Value::Null;
    }
    let div = format!("<div xmlns=\"http://www.w3.org/1999/xhtml\">{div}</div>");
    object(vec![("status", "generated".into()), ("div", div.into())])
}

pub(super) fn display(name: &str) -> Value {
    object(vec![("display", string(name))])
}

pub(super) fn reference(urn: &str) -> Value {
    object(vec![("reference", urn.into())])
}
