//! The catalogues: complete in each language, with the same variables, marked as what they are; and no page speaks past
//! them.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Message id to the variables that it names.
type Messages = BTreeMap<String, BTreeSet<String>>;

fn here(path: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn catalogues(language: &str) -> Vec<(String, String)> {
    let mut files: Vec<_> = fs::read_dir(here("words").join(language))
        .expect("a folder")
        .map(|f| f.expect("a file").path())
        .collect();
    files.sort();
    files
        .into_iter()
        .map(|f| {
            (
                f.file_name().expect("a name").to_string_lossy().into_owned(),
                fs::read_to_string(&f).expect("text"),
            )
        })
        .collect()
}

/// Every message of a language; one that is defined twice is a mistake.
fn messages(language: &str) -> Messages {
    let mut found = Messages::new();
    for (file, text) in catalogues(language) {
        let mut now: Option<String> = None;
        for line in text.lines() {
            let starts = line.starts_with(|c: char| c.is_ascii_lowercase());
            if let Some((id, _)) = line.split_once(" =").filter(|_| starts) {
                let new = found.insert(id.to_owned(), BTreeSet::new()).is_none();
                assert!(new, "{language}/{file}: {id} is defined twice");
                now = Some(id.to_owned());
            }
            let Some(id) = &now else { continue };
            for part in line.split('$').skip(1) {
                let name =
                    part.split(|c: char| !c.is_ascii_alphanumeric() && c != '_').next().unwrap_or_default();
                found.get_mut(id).expect("an id").insert(name.to_owned());
            }
        }
    }
    found
}

#[test]
fn german_and_french_have_every_message_with_its_variables() {
    let english = messages("en");
    assert!(english.len() > 400, "only {} messages were found", english.len());
    for language in ["de", "fr"] {
        let theirs = messages(language);
        let missing: Vec<_> = english.keys().filter(|id| !theirs.contains_key(*id)).collect();
        assert!(missing.is_empty(), "{language} lacks {missing:?}");
        // The English of what `care` says stands in `care` itself; its catalogues are checked beside their translator.
        let more: Vec<_> =
            theirs.keys().filter(|id| !id.starts_with("care-") && !english.contains_key(*id)).collect();
        assert!(more.is_empty(), "{language} has what English has not: {more:?}");
        for (id, variables) in &english {
            // A plural may leave the number out in one language and not in another; it may name no other.
            let others = &theirs[id];
            assert!(others.is_subset(variables), "{language} {id}: {others:?}, English has {variables:?}");
            let lost: Vec<_> = variables.difference(others).filter(|v| *v != "n").collect();
            assert!(lost.is_empty(), "{language} {id} lacks {lost:?}");
        }
    }
}

#[test]
fn the_translations_say_that_they_are_machine_made() {
    for (language, mark) in [("de", "maschinell"), ("fr", "machine")] {
        for (file, text) in catalogues(language) {
            let head = text.lines().next().unwrap_or_default();
            assert!(head.starts_with('#') && head.contains(mark), "{language}/{file} begins with {head:?}");
        }
        let (_, base) = catalogues(language).into_iter().find(|(f, _)| f == "log.ftl").unwrap();
        assert!(base.lines().any(|l| l.starts_with("machine-made =") && l.contains(mark)), "{language}");
    }
}

/// Words in the markup itself: a literal of two words or more between braces, outside attributes and code.
#[test]
fn no_page_has_words_of_its_own() {
    let mut looked = 0;
    let mut found = Vec::new();
    let mut folders = vec![here("src/page")];
    while let Some(folder) = folders.pop() {
        for file in fs::read_dir(folder).expect("a folder").map(|f| f.expect("a file").path()) {
            if file.is_dir() {
                folders.push(file);
                continue;
            }
            looked += 1;
            let text = fs::read_to_string(&file).unwrap();
            let text = text.split("#[cfg(test)]").next().unwrap_or_default();
            for (number, line) in text.lines().enumerate() {
                // In markup a text literal follows a brace, a parenthesis that ends a splice, or another literal.
                for (at, _) in line.match_indices("{ \"") {
                    let literal = line[at + 3..].split('"').next().unwrap_or_default();
                    let words = literal
                        .split(' ')
                        .filter(|w| w.len() > 2 && w.chars().all(char::is_alphabetic))
                        .count();
                    if words >= 2 {
                        found.push(format!("{}:{}: {literal:?}", file.display(), number + 1));
                    }
                }
            }
        }
    }
    assert!(looked > 10, "only {looked} files were found");
    assert!(found.is_empty(), "{found:#?}");
}
