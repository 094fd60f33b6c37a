//! The page's text: policies, templates, style sheets.

use crate::pack;
use anyhow::{Context, Result, bail};
use std::collections::BTreeMap;

/// What the hosted page may do: nothing but its own files.
pub const POLICY: &str = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; \
    style-src 'self'; img-src 'self' data:; font-src 'self'; connect-src 'self'; \
    worker-src 'self' blob:; manifest-src 'self'; base-uri 'none'; form-action 'none'";

/// What of the device it may ask for: a camera, for the codes of labels.
pub const PERMISSIONS: &str = "camera=(self), microphone=(), geolocation=(), display-capture=(), \
    usb=(), serial=(), hid=(), midi=(), payment=()";

/// What the single file may do: run exactly this script and style, and reach nobody.
pub fn single_policy(script: &str, style: &str) -> String {
    format!(
        "default-src 'none'; script-src '{}' 'wasm-unsafe-eval'; style-src '{}'; img-src data:; \
         font-src data:; connect-src 'none'; worker-src blob:; base-uri 'none'; form-action 'none'",
        pack::integrity(script.as_bytes()),
        pack::integrity(style.as_bytes()),
    )
}

/// Puts values in the places that `{{name}}` marks, each at least once, none left over.
///
/// # Errors
/// When a place or a value has no partner.
pub fn fill(template: &str, values: &[(&str, &str)]) -> Result<String> {
    let mut rest = template;
    let mut filled = String::new();
    let mut used = vec![false; values.len()];
    while let Some((before, after)) = rest.split_once("{{") {
        let (name, after) = after.split_once("}}").context("a {{ without its }}")?;
        let found = values.iter().zip(&mut used).find(|((key, _), _)| *key == name);
        let ((_, value), used) = found.with_context(|| format!("nothing to put at {name:?}"))?;
        *used = true;
        filled.push_str(before);
        filled.push_str(value);
        rest = after;
    }
    if let Some(((name, _), _)) = values.iter().zip(&used).find(|(_, used)| !**used) {
        bail!("no place for {name:?}");
    }
    filled.push_str(rest);
    Ok(filled)
}

/// A style sheet without its comments and indents.
pub fn slim(css: &str) -> String {
    let mut slim = String::new();
    let mut rest = css;
    while let Some((before, after)) = rest.split_once("/*") {
        slim.push_str(before);
        rest = after.split_once("*/").map_or("", |(_, after)| after);
    }
    slim.push_str(rest);
    let lines = slim.lines().map(str::trim).filter(|line| !line.is_empty());
    lines.collect::<Vec<_>>().join("\n")
}

/// Points each `url(…)` at the hashed name of the file it names, `data:` kept.
///
/// # Errors
/// When it names a file that is not among those built.
pub fn point_urls(css: &str, names: &BTreeMap<String, String>) -> Result<String> {
    let mut pointed = String::new();
    let mut rest = css;
    while let Some((before, after)) = rest.split_once("url(") {
        let (address, after) = after.split_once(')').context("a url( without its )")?;
        let address = address.trim().trim_matches(['"', '\'']);
        pointed.push_str(before);
        if address.starts_with("data:") || address.starts_with('#') {
            pointed.push_str(&format!("url(\"{address}\")"));
        } else {
            let file = address.rsplit('/').next().unwrap_or(address);
            let name = names
                .get(file)
                .with_context(|| format!("style/ names {address}, which public/fonts/ lacks"))?;
            pointed.push_str(&format!("url(\"{name}\")"));
        }
        rest = after;
    }
    pointed.push_str(rest);
    Ok(pointed)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fill_wants_each_place_and_each_value_once() {
        let done = fill("a {{x}} b {{y}} {{x}}", &[("x", "1"), ("y", "{{x}}")]);
        assert_eq!(done.expect("fills"), "a 1 b {{x}} 1");
        assert!(fill("{{x}}", &[]).is_err());
        assert!(fill("", &[("x", "1")]).is_err());
    }

    #[test]
    fn style_is_slimmed_and_pointed() {
        assert_eq!(slim("/* why */\na {\n  b: c; /* d\n e */\n}\n"), "a {\nb: c;\n}");
        let names = BTreeMap::from([("a.woff2".to_owned(), "a-1.woff2".to_owned())]);
        let css = "@font-face{src:url('../public/fonts/a.woff2') format(\"woff2\")}b{c:url(data:x)}";
        assert_eq!(
            point_urls(css, &names).expect("points"),
            "@font-face{src:url(\"a-1.woff2\") format(\"woff2\")}b{c:url(\"data:x\")}"
        );
        assert!(point_urls("a{b:url(c.woff2)}", &names).is_err());
    }
}
