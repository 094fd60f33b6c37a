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

/// The picture of a spin is no prediction: what plans, predicts, prints, labels, signs or stores does not know of it.
#[test]
fn the_picture_of_a_spin_reaches_no_plan_card_or_label() {
    let mut seen = 0;
    for folder in
        ["src/product", "src/quality", "src/export", "src/record", "src/draft", "src/assess", "src/words"]
    {
        for (path, text) in rust_files(folder) {
            let own =
                ["assess/column.rs", "assess/mod.rs", "words/column.rs"].iter().any(|f| path.ends_with(f));
            let names = text.contains("spin::column")
                || text.contains("assess::column")
                || text.contains("column::ask");
            assert!(own || !names, "{} names the picture of the spin", path.display());
            seen += usize::from(own && names);
        }
    }
    assert!(seen > 0, "nothing was looked for where it is");
}
