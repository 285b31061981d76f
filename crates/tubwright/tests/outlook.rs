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
    for (option, range) in [("--days", "1 to 60"), ("--seed", "0 to 18446744073709551615")] {
        let done = outlook(&["--example", option, "-1"]);
        assert_eq!(done.status.code(), Some(2));
        let said = String::from_utf8_lossy(&done.stderr);
        assert!(said.contains(option) && said.contains("'-1'") && said.contains(range), "{said}");
    }
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

/// Two readings of pH, of which one is three days ago; a dose the day before now.
const READ: &str = r#"
now = 2026-05-08T08:00:00Z

[tub]
name = "Pear Court"
volume_l = 1100
temperature_c = 38
regime = "chlorine"
place = "home"

[source_water]
temperature_c = 12
ph = 7.6
total_alkalinity_mg_l_caco3 = 100
calcium_hardness_mg_l_caco3 = 90

[[shelf]]
chemical = "sodium-bisulfate"
name = "dry acid"
purity_percent = 93
measure = { kind = "capful", grams = 42, smallest = 0.25 }

[[event]]
at = 2026-05-01T08:00:00Z
kind = "fill"

[[reading]]
at = 2026-05-05T08:00:00Z
quantity = "ph"
method = "phenol-red"
value = 8.2

[[dose]]
at = 2026-05-07T08:00:00Z
product = "dry acid"
mass_g = 20

[[reading]]
at = 2026-05-08T08:00:00Z
quantity = "ph"
method = "phenol-red"
value = 7.4
"#;

/// Columns before a chart's cells.
const LEFT: usize = 10;

/// The lines of one chart: its title, its doses if there are any, its rows, its axis and its days.
fn chart<'a>(text: &'a str, title: &str) -> Vec<&'a str> {
    let begins = text.lines().skip_while(|l| !l.starts_with(&format!("  {title}")));
    begins.take_while(|l| !l.is_empty()).collect()
}

fn drawn(arguments: &[&str]) -> String {
    let done = Command::new(env!("CARGO_BIN_EXE_tubwright"))
        .arg("outlook")
        .args(arguments)
        .env("COLUMNS", "80")
        .env("LC_ALL", "C")
        .output()
        .unwrap();
    assert_eq!(done.status.code(), Some(0), "{}", String::from_utf8_lossy(&done.stderr));
    String::from_utf8(done.stdout).unwrap()
}

#[test]
fn a_reading_and_a_dose_stand_at_their_day_and_height() {
    let folder = tempfile::tempdir().unwrap();
    let case = folder.path().join("read.toml");
    std::fs::write(&case, READ).unwrap();
    let text = drawn(&[case.to_str().unwrap(), "--days", "8"]);
    let ph = chart(&text, "pH;");
    let rows: Vec<&str> = ph.iter().copied().filter(|l| l.as_bytes().get(LEFT - 1) == Some(&b'|')).collect();
    let figure = |row: &str| row[..LEFT - 1].trim().parse::<f64>().unwrap();
    let (high, low) = (figure(rows[0]), figure(rows[rows.len() - 1]));
    // The marks of the days: now, and a day's width from the one of another.
    let (axis, days) = (ph[ph.len() - 2], ph[ph.len() - 1]);
    let marks: Vec<usize> = axis.match_indices('+').map(|(i, _)| i).collect();
    let now_said = days.find("now").unwrap() + 1;
    let now = *marks.iter().min_by_key(|m| m.abs_diff(now_said)).unwrap();
    let next = marks[marks.iter().position(|m| *m == now).unwrap() + 1];
    let step = days[now_said + 3..].split_whitespace().next().unwrap().parse::<f64>().unwrap();
    let day = (next - now) as f64 / step;
    for (value, ago) in [(8.2, 3.0), (7.4, 0.0)] {
        let row = ((high - value) / (high - low) * (rows.len() - 1) as f64).round() as usize;
        let column = (now as f64 - ago * day).round() as usize;
        let near = &rows[row][column - 1..=column + 1];
        assert!(near.contains('o'), "{value} {ago} days ago is not in row {row}, column {column}:\n{text}");
    }
    assert_eq!(rows.iter().map(|r| r.matches('o').count()).sum::<usize>(), 2, "{text}");
    let doses = ph.iter().find(|l| l.trim_start().starts_with("doses")).unwrap();
    let dosed = LEFT + doses[LEFT..].find('a').unwrap();
    assert!((dosed as f64 - (now as f64 - day)).abs() <= 1.0, "{doses}");
    assert!(text.contains("what went in: a dry acid"), "{text}");
}

#[test]
fn every_band_is_seen_across_the_width_with_its_figures() {
    let text = drawn(&["--example"]);
    assert!(text.lines().all(|l| l.chars().count() <= 80) && text.is_ascii(), "{text}");
    for (title, edges) in [
        ("pH", ["7.00", "7.80"]),
        ("free chlorine", ["3.0", "8.0"]),
        ("total alkalinity", ["50", "120"]),
        ("salt", ["2000", "2800"]),
    ] {
        let lines = chart(&text, &format!("{title}{}", if title == "pH" { ";" } else { "," }));
        for edge in edges {
            let row = lines.iter().find(|l| l[..LEFT.min(l.len())].trim_end_matches('|').trim() == edge);
            let cells = &row.unwrap_or_else(|| panic!("no {edge} in {lines:?}"))[LEFT..];
            assert_eq!(cells.len(), 70, "{title} {edge}");
            assert!(cells.chars().all(|c| "-=+o|".contains(c)), "{title} {edge}: {cells}");
        }
    }
    assert_eq!(text.matches("nine in ten;").count(), 1, "the legend stands once");
}

#[test]
fn what_was_learnt_is_counted_in_the_readers_units() {
    let of = |text: &str, what: &str| {
        let after = text.split(&format!("{what}: ")).nth(1).unwrap_or_else(|| panic!("no {what}: {text}"));
        after.split_whitespace().next().unwrap().parse::<f64>().unwrap()
    };
    let (metric, us) = (drawn(&["--example"]), drawn(&["--example", "--units", "us"]));
    for (litres, gallons) in
        [("true volume, L", "true volume, US gal"), ("evaporation, L a day", "evaporation, US gal a day")]
    {
        let ratio = of(&metric, litres) / of(&us, gallons);
        assert!((ratio / 3.785_411_784 - 1.0).abs() < 0.01, "{gallons}: {ratio}");
    }
    let bather = "chlorine used by a bather's hour, ";
    let ratio = of(&metric, &format!("{bather}g")) / of(&us, &format!("{bather}oz"));
    assert!((ratio / 28.349_523_125 - 1.0).abs() < 0.02, "{ratio}");
    assert!(!us.contains(", L") && !us.contains("g of chlorine"), "{us}");
}
