//! Writes `docs/trust.md` from the comparisons that the other tests assert, and fails if the committed page says anything else.
//!
//! After a change of the chemistry: `TUBWRIGHT_WRITE_TRUST=1 cargo test -p water --test trust`, then read the difference.
//! Differences are printed to two digits, or as smaller than a hundredth of what is allowed, so that the page is the same on
//! every machine.

mod compare;

use compare::{Row, Section};
use std::fmt::Write as _;

const HEAD: &str = "\
# Our numbers beside everyone else's

Written by `TUBWRIGHT_WRITE_TRUST=1 cargo test -p water --test trust` from the comparisons that the tests assert; the same test
without the variable fails when this page is out of date. Do not edit it by hand.

Each line compares one printed number, or many at once (\"n values\": then the largest difference is shown, and where it was).
\"Allowed\" is what the test allows, with the reason for so much or so little. \"From memory\"
marks what was not read in its source; `reference/README.md` tells how each file was made.

What this page can't show: chlorinated cyanurates above 35 °C are extrapolated (no measurement is known to us); the reference library
shares our constants for carbonate and minerals, so agreement with it checks the solving, and only the standards, tap waters,
worked examples and handbooks below are independent.
";

fn page() -> String {
    let mut sections = vec![compare::library::reference_waters()];
    sections.extend(compare::library::extended_waters());
    sections.push(compare::library::dose_table());
    sections.push(compare::library::independent_carbonate_solver());
    sections.extend(compare::published::sections());
    sections.push(compare::titration::corrections());
    sections.push(compare::conductivity::standards());
    sections.push(compare::conductivity::reference_waters());
    let mut page = HEAD.to_owned();
    for section in &sections {
        write_section(&mut page, section).expect("a string takes all that is written");
    }
    page
}

fn write_section(page: &mut String, section: &Section) -> std::fmt::Result {
    writeln!(page, "\n## {}\n\nSource: {}.\n", section.title, section.source)?;
    writeln!(page, "| what | theirs | ours | difference | allowed | why so much |")?;
    writeln!(page, "|---|---|---|---|---|---|")?;
    for row in &section.rows {
        let Row { what, theirs, ours, unit, why, .. } = row;
        let (off, allowed) = (difference(row), two_digits(row.allowed));
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        writeln!(page, "| {what} | {theirs} | {ours} | {off}{unit} | {allowed}{unit} | {why} |")?;
    }
    Ok(())
}

fn difference(row: &Row) -> String {
    let floor = compare::NEGLIGIBLE * row.allowed;
    if row.off < floor { format!("< {}", two_digits(floor)) } else { two_digits(row.off) }
}

/// Two significant digits, without an exponent where it can be read without.
fn two_digits(x: f64) -> String {
    if x == 0.0 {
        return "0".to_owned();
    }
    let exponent = x.abs().log10().floor();
    if exponent < -7.0 {
        return format!("{x:.1e}");
    }
    let decimals = (1.0 - exponent).max(0.0) as usize;
    let text = format!("{x:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}

/// The test, and not the crate, reads a variable and files.
#[test]
#[expect(clippy::disallowed_methods, reason = "the page is a file of the repository")]
fn the_page_says_what_the_tests_measure() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs/trust.md");
    let page = page();
    if std::env::var_os("TUBWRIGHT_WRITE_TRUST").is_some() {
        std::fs::create_dir_all(concat!(env!("CARGO_MANIFEST_DIR"), "/../../docs")).unwrap();
        std::fs::write(path, &page).unwrap();
        return;
    }
    let committed = std::fs::read_to_string(path).unwrap_or_default();
    // One line is enough to see what changed.
    let changed = page.lines().zip(committed.lines()).find(|(now, then)| now != then);
    assert!(
        page == committed,
        "docs/trust.md is out of date: run with TUBWRIGHT_WRITE_TRUST=1 and look at the difference.\nFirst changed line (now, then): \
         {changed:#?}"
    );
}

#[test]
fn numbers_are_printed_to_two_digits() {
    for (x, text) in [
        (0.0, "0"),
        (0.001, "0.001"),
        (0.001_234, "0.0012"),
        (12.34, "12"),
        (0.305, "0.3"),
        (1e-11, "1.0e-11"),
        (2.0, "2"),
    ] {
        assert_eq!(two_digits(x), text);
    }
}
