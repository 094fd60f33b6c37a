//! Rules of the house that a compiler does not see: sources named where they are used, no style attribute that
//! the page's policy would block, no sentence outside `words`.

#![allow(
    clippy::expect_used,
    clippy::indexing_slicing,
    reason = "a test that cannot read the tree must fail"
)]

use std::fs;
use std::path::{Path, PathBuf};
use strawline::evidence::SourceId;

/// Rust files below a folder of the repository.
fn rust_files(folder: &str) -> Vec<(PathBuf, String)> {
    let mut found = Vec::new();
    let mut folders = vec![Path::new(env!("CARGO_MANIFEST_DIR")).join(folder)];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(&folder).expect("a folder of the repository") {
            let path = entry.expect("an entry").path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|e| e == "rs") {
                let text = fs::read_to_string(&path).expect("UTF-8 source");
                found.push((path, text));
            }
        }
    }
    assert!(!found.is_empty(), "{folder} holds no Rust file");
    found
}

#[test]
fn every_source_is_named_by_the_code_that_uses_it() {
    let files = rust_files("src");
    for id in SourceId::ALL {
        let name = format!("SourceId::{id:?}");
        let named = files.iter().any(|(path, text)| {
            // Only code before a file's tests counts, and the list itself does not.
            let code = text.split("#[cfg(test)]").next().unwrap_or_default();
            !path.ends_with("evidence/mod.rs")
                && !path.components().any(|c| c.as_os_str().to_string_lossy().contains("tests"))
                && code.lines().any(|line| !line.trim_start().starts_with("//") && mentions(line, &name))
        });
        assert!(named, "nothing uses {name}: remove it from the list");
    }
}

/// Whether a line names this and not something longer that begins alike.
fn mentions(line: &str, name: &str) -> bool {
    line.match_indices(name)
        .any(|(at, _)| !line[at + name.len()..].starts_with(|c: char| c.is_alphanumeric() || c == '_'))
}

#[test]
fn source_keys_are_unlike() {
    let mut keys: Vec<_> = SourceId::ALL.iter().map(|id| id.source().key).collect();
    keys.sort_unstable();
    keys.dedup();
    assert_eq!(keys.len(), SourceId::ALL.len());
}

#[test]
fn no_style_attribute_that_the_policy_blocks() {
    for (path, text) in rust_files("src/page") {
        for (i, line) in text.lines().enumerate() {
            let attribute = [" style=\"", " style={", " style=move"].iter().any(|a| line.contains(a));
            assert!(!attribute, "{}:{}: use style:x= or a class", path.display(), i + 1);
        }
    }
}

/// A sentence of the page is two words or more in quotation marks; words live in `src/words`.
#[test]
fn no_sentence_outside_words() {
    for (path, text) in rust_files("src/page") {
        let code = text.split("#[cfg(test)]").next().unwrap_or_default();
        for (i, line) in code.lines().enumerate() {
            let line = line.trim_start();
            let says_why = line.starts_with("//") || line.contains("reason =") || line.contains("#[expect");
            if says_why {
                continue;
            }
            let pieces: Vec<&str> = line.split('"').collect();
            // Names of classes are no words; what stands beside them on the line may be.
            let quotes = pieces.chunks_exact(2).filter(|pair| !pair[0].ends_with("class="));
            for quoted in quotes.map(|pair| pair[1]) {
                let words =
                    quoted.split(' ').filter(|w| w.chars().count() > 1 && w.chars().all(char::is_alphabetic));
                let shown = words.clone().any(|w| w.chars().next().is_some_and(char::is_uppercase));
                assert!(
                    words.count() < 2 || !shown,
                    "{}:{}: {quoted:?} belongs in src/words",
                    path.display(),
                    i + 1
                );
            }
        }
    }
}

/// Paths that code names: without comments, those of a `use` with their braces opened.
fn paths(text: &str) -> Vec<String> {
    let code: Vec<&str> = text.lines().map(|line| line.split("//").next().unwrap_or_default()).collect();
    let code = code.join(" ");
    let mut found = Vec::new();
    for statement in code.split(';') {
        let Some(at) =
            statement.rfind("use ").filter(|at| !statement[..*at].ends_with(char::is_alphanumeric))
        else {
            continue;
        };
        open(&statement[at + 4..].split_whitespace().collect::<Vec<_>>().join(" "), &mut found);
    }
    let is_path = |c: char| c.is_alphanumeric() || c == '_' || c == ':';
    let close = code.split_whitespace().collect::<Vec<_>>().join(" ").replace(" :: ", "::");
    found.extend(close.split(|c| !is_path(c)).filter(|p| p.contains("::")).map(str::to_owned));
    found
}

/// `a::{b, c::{d, e}}` as a::b, a::c::d and a::c::e.
fn open(tree: &str, found: &mut Vec<String>) {
    let Some((before, rest)) = tree.split_once('{') else { return found.push(tree.trim().replace(' ', "")) };
    let (mut depth, mut from) = (0_u32, 0);
    for (at, c) in rest.char_indices() {
        let ends = depth == 0 && (c == ',' || c == '}');
        if ends && !rest[from..at].trim().is_empty() {
            open(&format!("{}{}", before.trim(), rest[from..at].trim()), found);
        }
        match c {
            _ if ends => from = at + 1,
            '{' => depth += 1,
            '}' => depth -= 1,
            _ => {}
        }
        if ends && c == '}' {
            break;
        }
    }
}

/// Whether a file names the picture of a spin, or all of a module that holds it, or such a module by another name.
/// `beside`: in a folder that holds it, where `super::column` is it.
fn names_the_picture(text: &str, beside: bool) -> bool {
    paths(text).iter().any(|path| {
        let parts: Vec<&str> = path.split("::").collect();
        let pair = |pair: &[&str]| {
            let home = matches!(pair[0], "spin" | "assess" | "words" | "spinning");
            let all = pair[1] == "column" || pair[1] == "*";
            (home && all)
                || (beside && pair == ["super", "column"])
                || pair == ["column", "ask"]
                || pair == ["shell", "aside"]
        };
        let renamed = ["spinas", "assessas", "wordsas", "columnas"];
        parts.windows(2).any(pair) || parts.iter().any(|p| renamed.iter().any(|r| p.starts_with(r)))
    })
}

#[test]
fn a_use_is_read_however_it_is_written() {
    for named in [
        "use crate::spin::column::Seen;",
        "use crate::spin::{column::ask, rcf};",
        "use crate::{\n    spin::{\n        rcf::{self, Rcf},\n        column,\n    },\n};",
        "pub(crate) use crate::spin::{rcf, column as picture};",
        "use super::column;",
        "use super::{column, plan};",
        "use crate::spin as s;",
        "use crate::assess::*;",
        "fn f() { let x = crate::assess::column::pictured(a); }",
        "fn f() { words::column::ColumnWord::Title }",
        "use strawline::words::{choice, column::ColumnWord};",
    ] {
        assert!(names_the_picture(named, true), "{named}: {:?}", paths(named));
    }
    for other in [
        "use crate::spin::{rcf::{self, Rcf}, programme};",
        "// crate::spin::column is named nowhere",
        "use crate::assess::{self, Assessment};",
        "use crate::picture::column::{Column, ColumnView};",
        "use super::{column, plan};",
        "let column = spin::rcf(1);",
    ] {
        assert!(!names_the_picture(other, false), "{other}: {:?}", paths(other));
    }
}

/// The picture of a spin is no prediction: what plans, predicts, prints, labels, signs or stores does not know of it,
/// and of the page only what shows it.
#[test]
fn the_picture_of_a_spin_reaches_no_plan_card_or_label() {
    let of_the_picture = [
        "src/assess/column.rs",
        "src/assess/column/",
        "src/words/column.rs",
        // `strawline_answer`, what the other thread is asked.
        "src/page/main.rs",
        "src/page/shell/aside.rs",
        "src/page/picture/spun.rs",
        "src/page/section/spinning.rs",
        "src/page/section/spinning/",
    ];
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut of_it = 0;
    for folder in [
        "src/product",
        "src/quality",
        "src/export",
        "src/record",
        "src/draft",
        "src/assess",
        "src/words",
        "src/case",
        "src/finding",
        "src/bench",
        "src/blood",
        "src/page",
    ] {
        for (path, text) in rust_files(folder) {
            let path = path.strip_prefix(root).expect("below the root").to_string_lossy();
            let own = of_the_picture.iter().any(|f| path == *f || f.ends_with('/') && path.starts_with(f));
            let names = names_the_picture(&text, ["src/assess", "src/words"].contains(&folder));
            assert!(own || !names, "{path} names the picture of the spin");
            of_it += usize::from(own && names);
        }
    }
    for file in ["src/case.rs", "src/finding.rs", "src/stored.rs"] {
        let text = fs::read_to_string(root.join(file)).expect("a file of the repository");
        assert!(!names_the_picture(&text, false), "{file} names the picture of the spin");
    }
    // What shows it is found: else nothing was looked for where it is.
    assert!(of_it >= 8, "only {of_it} files name it");
}
