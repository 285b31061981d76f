//! Comparisons with numbers from outside. Each is used twice: asserted by the test file of the same name, and printed by
//! `trust.rs` into `docs/trust.md`.

// Every test binary uses its own part of this module.
#![allow(dead_code)]

pub(crate) mod conductivity;
pub(crate) mod library;
pub(crate) mod published;
pub(crate) mod titration;

use serde_json::Value;
use water::{Totals, units::molar_mass};

/// One line of the page: what they say, what we say, how far that is apart, how far it may be, and why.
pub(crate) struct Row {
    pub(crate) what: String,
    pub(crate) theirs: String,
    pub(crate) ours: String,
    pub(crate) off: f64,
    pub(crate) allowed: f64,
    pub(crate) unit: &'static str,
    pub(crate) why: &'static str,
}

/// Differences below this share of what is allowed are printed as such and not as digits, which are the solver's last.
pub(crate) const NEGLIGIBLE: f64 = 0.01;

/// A group of rows from one source.
pub(crate) struct Section {
    pub(crate) title: &'static str,
    pub(crate) source: &'static str,
    pub(crate) rows: Vec<Row>,
}

impl Section {
    /// Asserts every row, all misses at once.
    pub(crate) fn assert(&self) {
        assert!(!self.rows.is_empty(), "{}: nothing was compared", self.title);
        let misses: Vec<String> = self
            .rows
            .iter()
            .filter(|r| r.off.is_nan() || r.off > r.allowed)
            .map(|r| {
                format!(
                    "{}: {} against {}: off by {} {}, {} allowed",
                    r.what, r.ours, r.theirs, r.off, r.unit, r.allowed
                )
            })
            .collect();
        assert!(misses.is_empty(), "{}\n{}", self.title, misses.join("\n"));
    }
}

/// A single number beside ours, both with `decimals`; the allowed difference is in the number's own unit.
pub(crate) fn number(
    what: impl Into<String>,
    theirs: f64,
    ours: f64,
    decimals: usize,
    (allowed, unit, why): (f64, &'static str, &'static str),
) -> Row {
    Row {
        what: what.into(),
        theirs: format!("{theirs:.decimals$}"),
        ours: format!("{ours:.decimals$}"),
        off: (ours - theirs).abs(),
        allowed,
        unit,
        why,
    }
}

/// As [`number`], the difference in percent of theirs.
pub(crate) fn percent(
    what: impl Into<String>,
    theirs: f64,
    ours: f64,
    decimals: usize,
    (allowed, why): (f64, &'static str),
) -> Row {
    let off = 100.0 * (ours / theirs - 1.0).abs();
    Row { off, ..number(what, theirs, ours, decimals, (allowed, "%", why)) }
}

/// The largest of many differences, and where it was.
#[derive(Default, Clone)]
pub(crate) struct Worst {
    count: usize,
    off: f64,
    at: String,
}

impl Worst {
    /// Sees a difference; NaN counts as infinitely far.
    pub(crate) fn see(&mut self, at: &str, off: f64) {
        self.count += 1;
        let off = if off.is_nan() { f64::INFINITY } else { off.abs() };
        if off > self.off {
            self.off = off;
            at.clone_into(&mut self.at);
        }
    }

    /// Sees a relative difference, in percent.
    pub(crate) fn see_percent(&mut self, at: &str, ours: f64, theirs: f64) {
        self.see(at, 100.0 * (ours / theirs - 1.0));
    }

    /// As a row: "n values", the largest difference, where it was. Nothing seen is a failure.
    pub(crate) fn row(
        self,
        what: impl Into<String>,
        (allowed, unit, why): (f64, &'static str, &'static str),
    ) -> Row {
        let off = if self.count == 0 { f64::INFINITY } else { self.off };
        // Where nothing differs to speak of, the place says nothing.
        let ours = if off < NEGLIGIBLE * allowed {
            "all alike".to_owned()
        } else {
            format!("farthest: {}", self.at)
        };
        Row { what: what.into(), theirs: format!("{} values", self.count), ours, off, allowed, unit, why }
    }
}

/// A file of the repository's `reference/` folder, read when the test is compiled.
macro_rules! reference_file {
    ($name:literal) => {
        include_str!(concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/", $name))
    };
}
pub(crate) use reference_file;

/// JSON of a reference file.
pub(crate) fn json(text: &str) -> Value {
    serde_json::from_str(text).expect("a reference file is JSON")
}

/// A number in a JSON object.
pub(crate) fn f(v: &Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or_else(|| panic!("{key} in {v}"))
}

/// An array in a JSON object.
pub(crate) fn list<'a>(v: &'a Value, key: &str) -> &'a [Value] {
    v[key].as_array().unwrap_or_else(|| panic!("{key} is a list"))
}

/// A text in a JSON object.
pub(crate) fn text<'a>(v: &'a Value, key: &str) -> &'a str {
    v[key].as_str().unwrap_or_else(|| panic!("{key} in {v}"))
}

/// Totals as the reference library's files name them, mol/kg.
pub(crate) fn totals(mol_per_kgw: &Value, alkalinity: f64, carbon: f64) -> Totals {
    let mut t = Totals { alkalinity, carbon, ..Totals::default() };
    for (name, value) in mol_per_kgw.as_object().expect("totals are an object") {
        let slot = match name.as_str() {
            "Ca" => &mut t.calcium,
            "Mg" => &mut t.magnesium,
            "Na" => &mut t.sodium,
            "K" => &mut t.potassium,
            "Cl" => &mut t.chloride,
            "SO4" => &mut t.sulfate,
            "B" => &mut t.boron,
            "NH4" => &mut t.ammonia,
            "Br" => &mut t.bromide,
            "Li" => &mut t.inert_cation,
            "HSO5" => &mut t.monopersulfate,
            "free_chlorine" => &mut t.free_chlorine,
            "cyanurate" => &mut t.cyanurate,
            other => panic!("no total for {other}"),
        };
        *slot = value.as_f64().expect("a total is a number");
    }
    t
}

/// A small CSV file: comment lines start with #, quotes only hold commas.
pub(crate) struct Table {
    header: Vec<String>,
    rows: Vec<Vec<String>>,
}

/// One line of a [`Table`].
pub(crate) struct Line<'a> {
    header: &'a [String],
    cells: &'a [String],
}

impl Table {
    pub(crate) fn parse(csv: &str) -> Self {
        let mut lines = csv.lines().filter(|l| !l.starts_with('#') && !l.trim().is_empty()).map(cells);
        let header = lines.next().expect("a header line");
        let rows: Vec<_> = lines.collect();
        assert!(rows.iter().all(|r| r.len() == header.len()), "a line with another number of cells");
        Table { header, rows }
    }

    pub(crate) fn lines(&self) -> impl Iterator<Item = Line<'_>> {
        self.rows.iter().map(|cells| Line { header: &self.header, cells })
    }
}

fn cells(line: &str) -> Vec<String> {
    let mut out = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => out.push(String::new()),
            _ => out.last_mut().expect("never empty").push(c),
        }
    }
    out
}

impl Line<'_> {
    pub(crate) fn text(&self, column: &str) -> &str {
        let at = self.header.iter().position(|h| h == column).unwrap_or_else(|| panic!("no column {column}"));
        &self.cells[at]
    }

    pub(crate) fn number(&self, column: &str) -> f64 {
        self.optional(column).unwrap_or_else(|| panic!("{column} is empty"))
    }

    pub(crate) fn optional(&self, column: &str) -> Option<f64> {
        let cell = self.text(column);
        (!cell.is_empty()).then(|| cell.parse().unwrap_or_else(|_| panic!("{column}: {cell} is no number")))
    }

    /// Columns whose name starts so, with the rest of the name as a number.
    pub(crate) fn columns(&self, prefix: &str) -> impl Iterator<Item = (f64, f64)> {
        self.header.iter().zip(self.cells).filter_map(move |(h, c)| {
            let name = h.strip_prefix(prefix)?;
            Some((name.parse().ok()?, c.parse().ok()?))
        })
    }
}

/// mg/L of free chlorine to mol/kg.
pub(crate) fn chlorine(mg_l: f64) -> f64 {
    water::units::mol_kg_from_mg_l(mg_l, molar_mass::CL2)
}

/// mg/L of cyanuric acid to mol/kg.
pub(crate) fn cyanurate(mg_l: f64) -> f64 {
    water::units::mol_kg_from_mg_l(mg_l, molar_mass::CYANURIC_ACID)
}
