//! What is said when a stored file cannot be read.

use serde_json::Error;

/// Why and where reading stopped. The library tells line and column; a person looks for the entry.
pub(crate) fn fault(text: &str, error: &Error) -> String {
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
    use crate::bench::Bench;
    use crate::draft::{CheckSign, Draft};
    use crate::quantity::time::Instant;
    use crate::quantity::unit::Conventions;

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
    }
}
