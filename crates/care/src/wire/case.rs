//! Contract 5.2, the way in: a case file, strictly. Every fault is told, not only the first.
//!
//! Two steps, because opening the history file is the caller's: [`CaseText::parse`], then [`CaseText::finish`] with the
//! bytes of the file that [`CaseText::entries`] names.

pub use crate::amount::LITRES_PER_GALLON;
use crate::amount::Units;
use crate::band::{self, BandError};
use crate::case::{BandOverride, Case, PlanKind, Product, Tub, When};
use crate::quantity::Quantity;
use crate::text::say;
pub use crate::wire::case_shape::{
    BandIn, CaseIn, DoseIn, EventIn, MethodIn, ProductIn, ReadingIn, SourceWaterIn, TubIn,
};
use crate::wire::entry::{Entries, Known};
use crate::wire::node::{self, Node, Value};
use crate::wire::own_method;
use crate::wire::problem::{Problem, Problems};
use crate::wire::shape::Shape;
use crate::wire::{product, vessel, when};
use serde::de::DeserializeOwned;
use std::sync::LazyLock;

/// The most that a case file may hold, bytes.
pub const CASE_BYTES_MOST: u64 = 16 << 20;
/// The most that a file of entries may hold, bytes.
pub const ENTRIES_BYTES_MOST: u64 = 64 << 20;

static SHAPE: LazyLock<Shape> = LazyLock::new(Shape::of::<CaseIn>);
/// The same without the tub, for parts of a case.
static PART_SHAPE: LazyLock<Shape> = LazyLock::new(|| match Shape::of::<CaseIn>() {
    Shape::Table { fields } => {
        Shape::Table { fields: fields.into_iter().map(|(name, shape, _)| (name, shape, false)).collect() }
    }
    other => other,
});

/// A case file whose grammar and fields have been checked.
#[derive(Debug)]
pub struct CaseText {
    tree: Option<Node>,
    problems: Problems,
    /// Whether lines say where something stands: a value that never was a text has none.
    lines: bool,
}

impl CaseText {
    /// Reads the text; faults are kept for [`Self::finish`].
    pub fn parse(bytes: &[u8], file: &str) -> CaseText {
        let mut problems = Problems::in_file(file);
        let tree = node::text_of(bytes, &mut problems).and_then(|text| node::from_toml(text, &mut problems));
        if let Some(tree) = &tree {
            SHAPE.check(tree, "", &mut problems);
            check_volume(tree, &mut problems);
            check_shelf(tree, &mut problems);
        }
        CaseText { tree, problems, lines: true }
    }

    /// The same shape as a value, from a program rather than from a text: the same checks and messages, without lines.
    /// `name` says whose case it is. An empty shelf is accepted: the water can be estimated without one.
    pub fn of_json(case: &serde_json::Value, name: &str) -> CaseText {
        let mut problems = Problems::in_file(name);
        let tree = node::from_value(case);
        SHAPE.check(&tree, "", &mut problems);
        check_volume(&tree, &mut problems);
        CaseText { tree: Some(tree), problems, lines: false }
    }

    /// The file with the long history, as written, and the line that names it.
    pub fn entries(&self) -> Option<(&str, usize)> {
        let node = self.tree.as_ref()?.get("entries")?;
        Some((node.text()?, node.line))
    }

    /// Something that the caller found wrong with the history file.
    pub fn entries_fault(&mut self, line: usize, what: &str, accepted: &str) {
        self.problems.add(Some(line), "entries", what, accepted);
    }

    /// The case. `entries` is the name and content of the history file, if the case names one.
    ///
    /// # Errors
    /// Every fault found, in the order of the lines.
    pub fn finish(self, entries: Option<(&str, &[u8])>) -> Result<Case, Vec<Problem>> {
        let CaseText { tree, mut problems, lines } = self;
        let Some(tree) = tree else { return Err(problems.into_vec()) };
        let of = Of { whole: true, lines };
        match convert(&tree, entries, of, &mut problems) {
            Some(case) if problems.is_empty() => Ok(case),
            _ if lines => Err(problems.into_vec()),
            _ => Err(without_lines(problems)),
        }
    }
}

/// Every fault of a part of a case, held alone: `{"reading": [{…}]}`, `{"tub": {…}, "band": {…}}`. What only the rest of
/// the case could tell (an own method, a product of the shelf, a share of the volume) is left to it.
pub fn faults_of_part(part: &serde_json::Value) -> Vec<Problem> {
    let mut problems = Problems::default();
    let tree = node::from_value(part);
    PART_SHAPE.check(&tree, "", &mut problems);
    check_volume(&tree, &mut problems);
    if problems.is_empty() {
        convert(&tree, None, Of { whole: false, lines: false }, &mut problems);
    }
    without_lines(problems)
}

fn without_lines(problems: Problems) -> Vec<Problem> {
    problems.into_vec().into_iter().map(|p| Problem { line: None, ..p }).collect()
}

/// What is being read.
#[derive(Clone, Copy)]
struct Of {
    /// A whole case, so that what is missing is a fault.
    whole: bool,
    /// A text, whose lines a finding can name.
    lines: bool,
}

/// A piece of the case, if its shape is right; if not, the shape's check has told why.
pub(crate) fn piece<T: DeserializeOwned>(node: &Node) -> Option<T> {
    serde_json::from_value(node.to_json()).ok()
}

/// Piece by piece, so that a fault in one hides none in another.
fn convert(tree: &Node, entries: Option<(&str, &[u8])>, of: Of, problems: &mut Problems) -> Option<Case> {
    let mut notes = Vec::new();
    let items = |list: &str| tree.get(list).map(Node::items).unwrap_or_default();
    let tub = tree
        .get("tub")
        .and_then(|node| piece(node).and_then(|t| vessel::tub(&t, node, problems, &mut notes)));
    let source_water = tree
        .get("source_water")
        .and_then(|node| Some(vessel::source_water(&piece(node)?, node, problems, &mut notes)));

    let mut shelf = Vec::new();
    for (i, node) in items("shelf").iter().enumerate() {
        match piece(node).map(|p| product::product(&p)) {
            Some(Ok(product)) => shelf.push(product),
            Some(Err(faults)) => {
                for (field, what, accepted) in faults {
                    problems.add(node.line_of(field), format!("shelf[{}].{field}", i + 1), what, accepted);
                }
            }
            None => {}
        }
    }
    check_names(&shelf, items("shelf"), problems);

    let mut bands = Vec::new();
    if let Some(Value::Table(own)) = tree.get("band").map(|n| &n.value) {
        for (id, _, node) in own {
            if let (Some(quantity), Some(own)) = (Quantity::from_id(id), piece(node)) {
                bands.push((quantity, band_override(&own, quantity, tub.as_ref(), node, problems)));
            }
        }
    }

    let mut methods = Vec::new();
    for (i, node) in items("method").iter().enumerate() {
        match piece(node).map(|m| own_method::method(&m)) {
            Some(Ok(method)) => methods.push(method),
            Some(Err((field, what, accepted))) => {
                problems.add(node.line_of(field), format!("method[{}].{field}", i + 1), what, accepted);
            }
            None => {}
        }
    }

    let known = Known {
        volume_l: tub.as_ref().map(|t| t.volume_l),
        all_products: of.whole && shelf.len() == items("shelf").len(),
        all_methods: of.whole && methods.len() == items("method").len(),
    };
    let mut reader = Entries::new(&mut shelf, &methods, known, problems);
    reader.read_case(tree, of.lines);
    if let Some((file, bytes)) = entries {
        reader.read_lines(file, bytes);
    }
    let (entries, without_offset, entry_notes) = reader.done();
    notes.extend(entry_notes);

    let now = now(tree, problems);
    if without_offset || now.is_some_and(|(_, offset)| !offset) {
        notes.push(say!("care-times-utc", "Times without an offset count as UTC.").into());
    }
    let now = now.map(|(when, _)| when);
    if let (Some(now), Some(latest)) = (now, entries.iter().filter_map(|e| e.at).max())
        && latest > now
    {
        problems.add(
            tree.get("now").map(|n| n.line),
            "now",
            format!("is {}, before the latest entry ({})", when::written(now), when::written(latest)),
            "a time at or after the latest entry is accepted",
        );
    }
    let kind = tree.get("plan").and_then(Node::text).map(|p| match p {
        "start-up" => PlanKind::StartUp,
        _ => PlanKind::Correction,
    });
    Some(Case {
        tub: tub?,
        source_water,
        shelf,
        bands,
        methods,
        entries,
        now,
        kind,
        notes,
        units: Units::Metric,
    })
}

/// When the plan is made, and whether an offset was given.
fn now(tree: &Node, problems: &mut Problems) -> Option<(When, bool)> {
    let node = tree.get("now")?;
    let (Value::Text(text) | Value::Time(text)) = &node.value else { return None };
    let found = when::moment(text);
    if found.is_none() {
        problems.add(Some(node.line), "now", format!("is {}", node.shown()), when::ACCEPTED);
    }
    found
}

/// Two products of one name cannot be told apart, by a dose or by the person who follows the plan.
fn check_names(shelf: &[Product], nodes: &[Node], problems: &mut Problems) {
    for (i, p) in shelf.iter().enumerate() {
        if shelf[..i].iter().any(|q| q.name == p.name) {
            problems.add(
                nodes.get(i).and_then(|n| n.line_of("name")),
                format!("shelf[{}].name", i + 1),
                format!("is \"{}\", which another product has", node::shortened(&p.name)),
                "a name of its own is needed",
            );
        }
    }
}

/// What must be there and a schema does not say: a volume in one unit or the other.
fn check_volume(tree: &Node, problems: &mut Problems) {
    if let Some(tub) = tree.get("tub")
        && tub.get("volume_l").is_none()
        && tub.get("volume_gal").is_none()
    {
        problems.add(
            Some(tub.line),
            "tub.volume_l",
            "is missing: every dose is proportional to it",
            "exactly one of volume_l (50 to 100000 litres) and volume_gal (US gallons) is needed",
        );
    }
}

/// A person who writes a case and leaves the shelf out has forgotten it.
fn check_shelf(tree: &Node, problems: &mut Problems) {
    if tree.get("shelf").is_none() {
        problems.add(
            Some(tree.line),
            "shelf",
            "is empty: nothing can be dosed",
            "at least one [[shelf]] with its chemical is needed",
        );
    }
}

/// The override, held against the default band at once, so that a hard limit is told with its line.
fn band_override(
    b: &BandIn,
    quantity: Quantity,
    tub: Option<&Tub>,
    node: &Node,
    problems: &mut Problems,
) -> BandOverride {
    let band = BandOverride {
        low: b.low,
        aim_low: b.aim_low,
        aim_high: b.aim_high,
        high: b.high,
        beyond_hard_limit: b.beyond_hard_limit.unwrap_or(false),
    };
    let default = tub.map(|t| match (quantity, t.cell_window_mg_l) {
        (Quantity::Salt, Some(window)) => Some(band::salt_band(window)),
        _ => band::default_band(quantity, t.regime, t.place),
    });
    let path = format!("band.{}", quantity.id());
    match default {
        None => {}
        Some(Some(default)) => {
            if let Err(e) = band::with_override(quantity, default, &band, Units::Metric) {
                let field = match &e {
                    BandError::OutOfRange { field, .. }
                    | BandError::Order { field, .. }
                    | BandError::BeyondHardLimit { field, .. } => *field,
                };
                let said = e.to_string();
                let field_path = format!("{path}.{field}");
                let what = said.strip_prefix(&field_path).unwrap_or(&said).trim().to_owned();
                problems.add(node.line_of(field), field_path, what, "");
            }
        }
        Some(None) if band.low.is_none() || band.high.is_none() => {
            problems.add(
                Some(node.line),
                path,
                format!("has no default for {} in this tub", quantity.name()),
                "low and high are needed",
            );
        }
        Some(None) => {}
    }
    band
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::band::Regime;
    use crate::case::{Happening, MeasureKind, Raw};

    const CASE: &str = r#"
[tub]
volume_gal = 330
temperature_f = 100.4
regime = "chlorine"

[source_water]
total_alkalinity_mg_l_caco3 = 80
dic_mmol_l = 1.7
calcium_mg_l = 60

[[shelf]]
chemical = "sodium-hypochlorite"
available_chlorine_g_l = 125

[[method]]
id = "strip-a"
kind = "chloride-strip"
table = [[1, 300], [3, 1000], [5, 2300]]

[[reading]]
quantity = "free_chlorine"
method = "dpd-comparator"
value = "<0.5"

[[reading]]
at = 2026-03-14 18:30:00
quantity = "salt"
method = "strip-a"
scale_units = 4.2
signal_band_changed = true

[[dose]]
at = "2026-03-14T19:00:00+01:00"
chemical = "sodium-hypochlorite"
volume_ml = 50

[[dose]]
chemical = "sodium-bicarbonate"
mass_g = 30

[[event]]
kind = "drain"
volume_l = 124.91858887
"#;

    fn read(case: &str, entries: &str) -> Result<Case, Vec<Problem>> {
        CaseText::parse(case.as_bytes(), "case.toml").finish(Some(("history.ndjson", entries.as_bytes())))
    }

    #[test]
    fn a_case_in_us_units_becomes_the_domain_with_what_was_assumed() {
        let case = read(CASE, "{\"type\":\"event\",\"kind\":\"top-up\",\"volume_l\":20}\n").unwrap();
        assert!((case.tub.volume_l - 1249.1859).abs() < 1e-3);
        assert!((case.tub.temperature_c.unwrap() - 38.0).abs() < 1e-9);
        assert_eq!(case.tub.volume_error, 0.10);
        assert_eq!(case.tub.regime, Regime::HandDosedChlorine);
        // 60 mg/L of Ca is 149.8 mg/L as CaCO3 (factor 2.4973).
        let source = case.source_water.unwrap();
        assert!((source.calcium_hardness_mg_l_caco3.unwrap() - 149.84).abs() < 0.01);
        assert!((7.2..7.8).contains(&source.ph.unwrap()), "{:?}", source.ph);
        assert_eq!(case.shelf[0].measure.kind, MeasureKind::Millilitres);
        assert!(!case.shelf[0].assumed.is_empty());
        let what: Vec<&Happening> = case.entries.iter().map(|e| &e.what).collect();
        assert!(matches!(what[0], Happening::Reading(r) if r.raw == Raw::Below(0.5)));
        assert!(
            matches!(what[1], Happening::Reading(r) if matches!(r.raw, Raw::ScaleUnits { units: 4.2, .. }))
        );
        assert!(matches!(what[2], Happening::Dose { product: 0, mass_g } if (mass_g - 60.0).abs() < 1e-9));
        assert!(matches!(what[3], Happening::Dose { product: 1, mass_g: 30.0 }));
        assert!(matches!(what[4], Happening::Replaced { share } if (share - 0.1).abs() < 1e-6));
        assert!(matches!(what[5], Happening::TopUp { volume_l: 20.0 }));
        // 19:00 at +01:00 is half an hour before 18:30 UTC.
        let (a, b) = (case.entries[1].at.unwrap(), case.entries[2].at.unwrap());
        assert_eq!(a.hours_since(b), 0.5);
        // The product that was dosed and is not on the shelf: typical, none left, and said.
        assert_eq!((case.shelf.len(), case.shelf[1].stock_g), (2, Some(0.0)));
        for said in ["at a home", "without an offset", "not on the shelf", "follows from its carbon"] {
            assert!(
                case.notes.iter().any(|n| n.said(Units::Metric).contains(said)),
                "{said}: {:?}",
                case.notes
            );
        }
    }

    #[test]
    fn a_value_is_held_against_the_same_rules_as_a_text_and_names_no_lines() {
        let tub = serde_json::json!({ "volume_l": 1200, "regime": "chlorine" });
        let reading = serde_json::json!({ "at": "2026-03-14T18:30:00Z", "quantity": "ph", "value": 7.9 });
        let case = CaseText::of_json(&serde_json::json!({ "tub": tub, "reading": [reading] }), "a tub");
        let case = case.finish(None).unwrap();
        assert!(case.shelf.is_empty());
        assert!(
            matches!(&case.entries[0].what, Happening::Reading(r) if r.line.is_none() && r.raw == Raw::Value(7.9))
        );

        let wrong = serde_json::json!({ "tub": { "volume_l": 12, "regime": "chlorine" }, "reading": [{ "quantity": "ph" }] });
        let faults: Vec<String> = CaseText::of_json(&wrong, "a tub")
            .finish(None)
            .unwrap_err()
            .iter()
            .map(Problem::to_string)
            .collect();
        assert_eq!(faults.len(), 2, "{faults:?}");
        assert_eq!(
            faults[0], "a tub: tub.volume_l is 12; a number from 50 to 100000 litres is accepted",
            "{faults:?}"
        );
        assert!(faults[1].starts_with("a tub: reading[1].value is missing"), "{faults:?}");
    }

    #[test]
    fn a_part_is_held_alone_and_not_blamed_for_what_only_the_rest_could_tell() {
        let faults = |part: serde_json::Value| -> Vec<String> {
            faults_of_part(&part).iter().map(Problem::to_string).collect()
        };
        let none: Vec<String> = Vec::new();
        for fine in [
            serde_json::json!({ "reading": [{ "quantity": "salt", "method": "own", "scale_units": 4.2 }] }),
            serde_json::json!({ "dose": [{ "product": "not known here", "measures": 2.5 }] }),
            serde_json::json!({ "event": [{ "kind": "drain", "volume_l": 100 }] }),
            serde_json::json!({ "tub": { "volume_l": 1200, "regime": "chlorine" }, "band": { "ph": { "low": 7.0 } } }),
        ] {
            assert_eq!(faults(fine.clone()), none, "{fine}");
        }
        for (wrong, said) in [
            (
                serde_json::json!({ "reading": [{ "quantity": "ph", "method": "phenol-red", "value": 78 }] }),
                "reading[1].value is 78",
            ),
            (
                serde_json::json!({ "reading": [{ "quantity": "ph", "method": "dpd-comparator", "value": 7.8 }] }),
                "reading[1].method \"dpd-comparator\"",
            ),
            (
                serde_json::json!({ "dose": [{ "product": "x", "measures": 1, "mass_g": 2 }] }),
                "dose[1].measures and mass_g are both given",
            ),
            (serde_json::json!({ "dose": [{ "product": "x" }] }), "dose[1].mass_g is missing"),
            (serde_json::json!({ "tub": { "regime": "chlorine" } }), "tub.volume_l is missing"),
            (
                serde_json::json!({ "tub": { "volume_l": 1200, "regime": "chlorine" }, "band": { "ph": { "low": 3.0 } } }),
                "band.ph.low",
            ),
        ] {
            let found = faults(wrong.clone());
            assert!(found.len() == 1 && found[0].starts_with(said), "{wrong}: {found:?}");
        }
    }

    #[test]
    fn no_part_of_the_published_shape_is_left_unchecked() {
        fn free(shape: &Shape, path: &str, found: &mut Vec<String>) {
            match shape {
                Shape::Free => found.push(path.to_owned()),
                Shape::List { item, .. } => free(item, &format!("{path}[]"), found),
                Shape::Map { of, keys } => {
                    assert!(!keys.is_empty(), "{path}");
                    free(of, &format!("{path}.*"), found);
                }
                Shape::Any(shapes) => shapes.iter().for_each(|s| free(s, path, found)),
                Shape::Table { fields } => {
                    fields.iter().for_each(|(name, s, _)| free(s, &format!("{path}.{name}"), found));
                }
                Shape::Number { .. } | Shape::Text { .. } | Shape::Truth => {}
            }
        }
        let mut found = Vec::new();
        free(&SHAPE, "", &mut found);
        assert_eq!(found, Vec::<String>::new());
    }

    proptest::proptest! {
        /// Whatever comes in, it is a case or a list of faults, never a panic.
        #[test]
        fn random_bytes_are_faults(bytes in proptest::collection::vec(proptest::num::u8::ANY, 0..400)) {
            let read = CaseText::parse(&bytes, "x").finish(Some(("y", &bytes)));
            proptest::prop_assert!(read.is_err_and(|p| !p.is_empty()));
        }

        /// A good case with some bytes changed is a case or a list of faults, never a panic.
        #[test]
        fn mutilated_cases_are_read_or_refused(
            changes in proptest::collection::vec((0..CASE.len(), 0x09u8..0x7f), 1..6),
        ) {
            let mut bytes = CASE.as_bytes().to_vec();
            for (at, byte) in changes {
                bytes[at] = byte;
            }
            let read = CaseText::parse(&bytes, "x").finish(None);
            proptest::prop_assert!(read.map_or_else(|p| !p.is_empty(), |c| c.tub.volume_l > 0.0));
        }

        /// So is a line of newline-delimited JSON.
        #[test]
        fn mutilated_waters_are_read_or_refused(changes in proptest::collection::vec((0..98usize, 0x09u8..0x7f), 0..4)) {
            let mut line = br#"{"temperature_c":38,"total_alkalinity_mg_l_caco3":80,"ph":7.5,"calcium_mg_l":60,"sodium_mg_l":100}"#.to_vec();
            for (at, byte) in changes {
                line[at] = byte;
            }
            let text = String::from_utf8(line).unwrap();
            match crate::wire::water::read_line(&text, 1) {
                Ok(water) => {
                    let answer = water.answer();
                    proptest::prop_assert!(answer.map_or(true, |a| a.ph.is_finite()));
                }
                Err(e) => proptest::prop_assert!(!e.faults.is_empty()),
            }
        }
    }
}
