//! `tubwright outlook`: contract 5.3 as a script sees it.

#![allow(clippy::unwrap_used, reason = "helpers of the tests fail like the tests themselves")]

use serde_json::Value;
use std::process::{Command, Output};

fn outlook(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_tubwright")).arg("outlook").args(arguments).output().unwrap()
}

#[test]
fn the_json_has_what_the_contract_promises() {
    let done = outlook(&["--example", "--days", "10", "--json"]);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let out: Value = serde_json::from_slice(&done.stdout).unwrap();
    let hours = out["hours"].as_array().unwrap().len();
    assert_eq!(out["hours"][0], 0.0);
    assert_eq!(out["hours"][hours - 1], 240.0);
    for (id, fan) in out["quantities"].as_object().unwrap() {
        for share in ["5", "25", "50", "75", "95"] {
            assert_eq!(fan["quantiles"][share].as_array().unwrap().len(), hours, "{id} {share}");
        }
        let leaves = &fan["leaves_band"];
        assert!(leaves.is_null() || leaves["probability_by_day"].as_array().unwrap().len() == 10, "{id}");
    }
    assert!(out["look_again"]["after_hours"].as_f64().unwrap() >= 0.0);
    assert!(!out["look_again"]["quantities"].as_array().unwrap().is_empty());
    let volume = &out["learned"]["volume_l"];
    assert!(volume["low"].as_f64() < volume["median"].as_f64() && volume["prior"]["median"] == 1250.0);
    assert!(out["checks"].is_array() && !out["assumptions"].as_array().unwrap().is_empty());
    assert!(
        out["week_needs"].as_array().unwrap().iter().all(|n| n["median_g"].as_f64() <= n["high_g"].as_f64())
    );
}

#[test]
fn the_page_says_when_to_look_and_that_an_amount_is_no_dose() {
    let text = String::from_utf8(outlook(&["--example"]).stdout).unwrap();
    assert!(text.contains("invented example"), "{text}");
    assert!(text.contains("measure") || text.contains("Measure"), "{text}");
    assert!(text.contains("not a dose") && text.contains("label"), "{text}");
}

#[test]
fn what_is_wrong_is_named() {
    let done = outlook(&["--example", "--days", "0"]);
    assert_eq!(done.status.code(), Some(2));
    let said = String::from_utf8_lossy(&done.stderr);
    assert!(said.contains("days") && said.contains('0'), "{said}");
    assert_eq!(outlook(&["no-such.toml"]).status.code(), Some(2));
}

#[test]
fn the_charts_are_written_one_a_quantity() {
    let folder = tempfile::tempdir().unwrap();
    let charts = folder.path().join("made").join("charts");
    let place = charts.to_str().unwrap();
    let done = outlook(&["--example", "--json", "--svg", place, "--png", place]);
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    let out: Value = serde_json::from_slice(&done.stdout).unwrap();
    for id in out["quantities"].as_object().unwrap().keys() {
        let svg = std::fs::read_to_string(charts.join(format!("{id}.svg"))).unwrap();
        assert!(svg.starts_with("<svg") && svg.contains("(invented)") && svg.contains("if nothing is dosed"));
        let png = std::fs::read(charts.join(format!("{id}.png"))).unwrap();
        // The signature, and width in the header's first field (ISO/IEC 15948, 5.2 and 11.2.2).
        assert!(png.starts_with(b"\x89PNG\r\n\x1a\n"), "{id}");
        assert_eq!(u32::from_be_bytes(png[16..20].try_into().unwrap()), 1080);
    }
    // A folder that is a file is told, and the exit code says so.
    let file = charts.join("ph.svg");
    let done = outlook(&["--example", "--svg", file.to_str().unwrap()]);
    assert_eq!(done.status.code(), Some(1));
    assert!(String::from_utf8_lossy(&done.stderr).contains("cannot be written"));
}
