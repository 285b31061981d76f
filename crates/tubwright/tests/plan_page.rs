//! docs/plan.md quotes the planner's constants: it must quote them right, and not leave one out.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

/// Rows of the page's last table: "| `NAME` | value | what |".
fn quoted(page: &str) -> BTreeMap<String, f64> {
    page.lines()
        .filter_map(|line| {
            let mut cells = line.strip_prefix("| `")?.split('|').map(str::trim);
            let name = cells.next()?.strip_suffix('`')?;
            Some((name.to_owned(), cells.next()?.parse().ok()?))
        })
        .collect()
}

/// Plain numbers that are constants of the planner: "const NAME: type = value;".
fn in_the_code() -> BTreeMap<String, f64> {
    let dir = root().join("crates/care/src/planner");
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(&dir).expect("the planner") {
        let text = fs::read_to_string(entry.expect("an entry").path()).expect("a source");
        for line in text.lines().take_while(|l| !l.starts_with("#[cfg(test)]")) {
            let Some((_, rest)) = line.split_once("const ") else { continue };
            let Some((name, value)) = rest.split_once(": ") else { continue };
            let Some((_, value)) = value.split_once(" = ") else { continue };
            let value = value.split(';').next().unwrap_or(value).replace('_', "");
            if let Ok(value) = value.parse() {
                found.insert(name.to_owned(), value);
            }
        }
    }
    found
}

#[test]
fn the_page_quotes_every_number_that_the_planner_decides_by() {
    let page = fs::read_to_string(root().join("docs/plan.md")).expect("docs/plan.md");
    let (page, mut code) = (quoted(&page), in_the_code());
    // How wide an interval is shown decides nothing.
    code.remove("Z_90");
    assert!(code.len() > 15, "the constants were not found: {code:?}");
    assert_eq!(page, code);
}
