//! The house rules that a compiler does not keep: arrows between crates point down, the core stays pure, text shapes
//! live in `care::wire` alone, and the map in ARCHITECTURE.md is complete.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use toml::{Table, Value};

/// From the top to the bottom: a crate may use those after it alone.
const LAYERS: [&str; 9] = ["tubwright", "desk", "sheet", "chart", "book", "practice", "care", "tub", "water"];

/// What the core may never pull in, by itself or through another crate.
const BANNED_IN_THE_CORE: [&str; 10] =
    ["tokio", "async-std", "reqwest", "hyper", "axum", "sqlx", "rusqlite", "clap", "rand", "chrono"];

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn table(path: &Path) -> Table {
    let text = fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    text.parse().unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// Every crate of the workspace with its manifest.
fn crates() -> BTreeMap<String, Table> {
    let workspace = table(&root().join("Cargo.toml"));
    let members = workspace["workspace"]["members"].as_array().expect("members");
    members
        .iter()
        .map(|m| {
            let manifest = table(&root().join(m.as_str().expect("a path")).join("Cargo.toml"));
            (manifest["package"]["name"].as_str().expect("a name").to_owned(), manifest)
        })
        .collect()
}

/// Names in the dependency tables of these kinds.
fn dependencies(manifest: &Table, kinds: &[&str]) -> BTreeSet<String> {
    kinds
        .iter()
        .filter_map(|kind| manifest.get(*kind).and_then(Value::as_table))
        .flat_map(|table| table.keys().cloned())
        .collect()
}

/// Every crate that these need, through others too, as the lock file has it.
fn closure(start: BTreeSet<String>) -> BTreeSet<String> {
    let lock = table(&root().join("Cargo.lock"));
    let packages = lock["package"].as_array().expect("packages");
    let mut needs: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for p in packages {
        let list = p.get("dependencies").and_then(Value::as_array).map(Vec::as_slice).unwrap_or_default();
        let names = list.iter().filter_map(|d| d.as_str()?.split(' ').next());
        needs.entry(p["name"].as_str().expect("a name")).or_default().extend(names);
    }
    let mut all = BTreeSet::new();
    let mut todo: Vec<String> = start.into_iter().collect();
    while let Some(name) = todo.pop() {
        if let Some(more) = needs.get(name.as_str()) {
            todo.extend(more.iter().filter(|m| !all.contains(**m)).map(|m| (*m).to_owned()));
        }
        all.insert(name);
    }
    all
}

/// The sources of a crate's library or program.
fn sources(dir: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(dir).unwrap_or_else(|e| panic!("{}: {e}", dir.display())) {
        let path = entry.expect("an entry").path();
        if path.is_dir() {
            found.extend(sources(&path));
        } else if path.extension().is_some_and(|e| e == "rs") {
            found.push(path);
        }
    }
    found
}

#[test]
fn arrows_between_crates_point_down() {
    let crates = crates();
    assert!(["tubwright", "care", "water"].iter().all(|c| crates.contains_key(*c)), "{:?}", crates.keys());
    for (name, manifest) in &crates {
        let at = LAYERS.iter().position(|l| l == name).unwrap_or_else(|| panic!("{name} has no layer"));
        let all = dependencies(manifest, &["dependencies", "dev-dependencies", "build-dependencies"]);
        for other in crates.keys().filter(|c| all.contains(*c)) {
            let below = LAYERS.iter().position(|l| l == other);
            assert!(below.is_some_and(|b| b > at), "{name} must not use {other}");
        }
    }
}

#[test]
fn the_core_pulls_in_nothing_that_reaches_outside() {
    let core = ["water", "care", "tub", "practice"];
    for (name, manifest) in crates().iter().filter(|(n, _)| core.contains(&n.as_str())) {
        let mut own = dependencies(manifest, &["dependencies"]);
        // The lock file lists a workspace crate's test tools too: those of the crates below are checked by themselves.
        own.retain(|d| !LAYERS.contains(&d.as_str()));
        let all = closure(own);
        let banned: Vec<_> = BANNED_IN_THE_CORE.iter().filter(|b| all.contains(**b)).collect();
        assert!(banned.is_empty(), "{name} pulls in {banned:?}");
    }
}

#[test]
fn serde_is_known_to_the_wire_alone() {
    let water = &crates()["water"];
    for shape_crate in ["serde", "serde_json", "schemars", "toml"] {
        assert!(!dependencies(water, &["dependencies"]).contains(shape_crate), "water uses {shape_crate}");
    }
    let care = root().join("crates/care/src");
    let mut seen = 0;
    for path in sources(&care) {
        let text = fs::read_to_string(&path).expect("a source");
        let inside = path.starts_with(care.join("wire"));
        let mentions = ["serde", "schemars", "toml::"].iter().any(|word| text.contains(word));
        seen += usize::from(inside && mentions);
        assert!(inside || !mentions, "{} speaks of text shapes: they belong to care::wire", path.display());
    }
    assert!(seen > 3, "the wire itself was not found");
}

#[test]
fn every_crate_is_on_the_map() {
    let path = root().join("ARCHITECTURE.md");
    let map = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    for name in crates().keys() {
        assert!(
            map.contains(&format!("`{name}`")) || map.contains(&format!("crates/{name}")),
            "{name} is not in ARCHITECTURE.md"
        );
    }
}

/// Where a crate's tests are one program, a file that it does not name would never run.
#[test]
fn every_file_of_tests_is_run() {
    let mut seen = 0;
    for (name, manifest) in crates() {
        if manifest["package"].get("autotests").and_then(Value::as_bool) != Some(false) {
            continue;
        }
        let folder = root().join("crates").join(&name).join("tests");
        let all = fs::read_to_string(folder.join("all.rs")).unwrap_or_else(|e| panic!("{name}: {e}"));
        for entry in fs::read_dir(&folder).expect("tests") {
            let path = entry.expect("an entry").path();
            let stem = path.file_stem().and_then(|s| s.to_str()).expect("a name").to_owned();
            if path.extension().is_some_and(|e| e == "rs") && stem != "all" {
                assert!(all.contains(&format!("mod {stem};\n")), "{name}: tests/all.rs does not name {stem}");
                seen += 1;
            }
        }
    }
    assert!(seen > 10, "{seen} files of tests found");
}
