//! The main journeys in a real browser: `browser/` drives Debian's Chromium against the program that was built here.
//!
//! It installs nothing: `.ci/run` does, and says how. Without Node or Chromium this test fails and says what is missing.

use std::path::Path;
use std::process::Command;

#[test]
fn the_main_journeys_hold_in_a_real_browser() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../browser");
    let chromium = std::env::var("CHROMIUM").unwrap_or_else(|_| "/usr/bin/chromium".to_owned());
    let mut missing = Vec::new();
    if !Command::new("node").arg("--version").output().is_ok_and(|o| o.status.success()) {
        missing.push("Node (Debian: apt-get install nodejs npm)".to_owned());
    }
    if !Path::new(&chromium).exists() {
        missing.push(format!(
            "Chromium at {chromium} (Debian: apt-get install chromium; elsewhere: CHROMIUM=path)"
        ));
    }
    if !folder.join("node_modules/playwright-core").exists() {
        missing.push("what browser/ needs (cd browser && npm ci)".to_owned());
    }
    assert!(missing.is_empty(), "the browser tests need {}", missing.join("; and "));

    let mut node = Command::new("node");
    node.args(["--test", "--test-concurrency=1", "--test-reporter=spec", "journeys/"]);
    node.current_dir(&folder)
        .env("TUBWRIGHT_BINARY", env!("CARGO_BIN_EXE_tubwright"))
        .env("CHROMIUM", &chromium);
    let run = node.output().expect("node starts");
    let said = String::from_utf8_lossy(&run.stdout);
    assert!(run.status.success(), "a journey failed:\n{said}\n{}", String::from_utf8_lossy(&run.stderr));
    // A run in which no journey was found would pass as well: it does not.
    let passed = said
        .lines()
        .filter_map(|l| l.trim().strip_prefix("ℹ pass "))
        .find_map(|n| n.trim().parse::<u32>().ok());
    assert!(passed.is_some_and(|n| n >= 10), "fewer journeys ran than there are:\n{said}");
}
