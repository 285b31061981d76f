//! The checker: a JSON Schema, as derived from the plain structs, held against a tree; every fault is told with its line.
//!
//! It knows the words of JSON Schema that our structs produce and no others ([`Shape::of`] panics on nothing: what it does not
//! know it accepts, and the structs' own reading by serde comes after it).

use crate::wire::node::{Node, Value, shortened};
use crate::wire::problem::Problems;
use crate::wire::suggest::nearest;
use schemars::JsonSchema;
use serde_json::Value as Json;

/// What a value may be.
#[derive(Debug, Clone)]
pub enum Shape {
    /// A number within limits.
    Number {
        /// Least.
        low: f64,
        /// Greatest.
        high: f64,
    },
    /// Text; one of a list of words if there is one.
    Text {
        /// The words accepted; empty = any text.
        words: Vec<String>,
        /// Whether TOML's own date and time may stand here too.
        time: bool,
    },
    /// True or false.
    Truth,
    /// A list.
    List {
        /// What each item is.
        item: Box<Shape>,
        /// How few and how many there may be.
        count: (usize, usize),
    },
    /// A table with known fields.
    Table {
        /// Name, shape, whether it must be there.
        fields: Vec<(String, Shape, bool)>,
    },
    /// A table whose keys are words of a list.
    Map {
        /// The keys accepted.
        keys: Vec<String>,
        /// What each holds.
        of: Box<Shape>,
    },
    /// One of several.
    Any(Vec<Shape>),
    /// Not checked here.
    Free,
}

impl Shape {
    /// The shape of a struct.
    pub fn of<T: JsonSchema>() -> Shape {
        let schema = schema_json::<T>();
        Shape::from_json(&schema, &schema["$defs"])
    }

    fn from_json(schema: &Json, defs: &Json) -> Shape {
        if let Some(name) = schema["$ref"].as_str().and_then(|r| r.strip_prefix("#/$defs/")) {
            return Shape::from_json(&defs[name], defs);
        }
        if let Some(alternatives) = schema["anyOf"].as_array() {
            let mut shapes: Vec<Shape> = alternatives
                .iter()
                .filter(|a| a["type"] != "null")
                .map(|a| Shape::from_json(a, defs))
                .collect();
            return if shapes.len() == 1 { shapes.remove(0) } else { Shape::Any(shapes) };
        }
        let words = |list: &Json| -> Vec<String> {
            let list = list.as_array().map(Vec::as_slice).unwrap_or_default();
            list.iter().filter_map(|w| w.as_str().map(str::to_owned)).collect()
        };
        let kind = match &schema["type"] {
            Json::String(s) => s.as_str(),
            Json::Array(kinds) => {
                let kinds: Vec<&str> =
                    kinds.iter().filter_map(Json::as_str).filter(|t| *t != "null").collect();
                if let [one] = kinds[..] {
                    one
                } else {
                    let each = |kind: &&str| {
                        let mut one = schema.clone();
                        one["type"] = Json::from(*kind);
                        Shape::from_json(&one, defs)
                    };
                    return Shape::Any(kinds.iter().map(each).collect());
                }
            }
            _ => "",
        };
        match kind {
            "number" | "integer" => Shape::Number {
                low: schema["minimum"].as_f64().unwrap_or(f64::NEG_INFINITY),
                high: schema["maximum"].as_f64().unwrap_or(f64::INFINITY),
            },
            "string" => Shape::Text { words: words(&schema["enum"]), time: schema["format"] == "date-time" },
            "boolean" => Shape::Truth,
            "array" => Shape::List {
                item: Box::new(Shape::from_json(&schema["items"], defs)),
                count: (
                    schema["minItems"].as_u64().unwrap_or(0) as usize,
                    schema["maxItems"].as_u64().map_or(usize::MAX, |n| n as usize),
                ),
            },
            "object" => match schema["properties"].as_object() {
                Some(properties) => {
                    let required = words(&schema["required"]);
                    Shape::Table {
                        fields: properties
                            .iter()
                            .map(|(k, v)| (k.clone(), Shape::from_json(v, defs), required.contains(k)))
                            .collect(),
                    }
                }
                None => Shape::Map {
                    keys: words(&schema["propertyNames"]["enum"]),
                    of: Box::new(Shape::from_json(&schema["additionalProperties"], defs)),
                },
            },
            _ => Shape::Free,
        }
    }

    /// Holds a tree against the shape; every fault goes to `problems`.
    pub fn check(&self, node: &Node, path: &str, problems: &mut Problems) {
        match (self, &node.value) {
            (Shape::Free, _) | (Shape::Truth, Value::Truth(_)) => {}
            (Shape::Number { low, high }, Value::Number(n)) => {
                if !(low..=high).contains(&n) {
                    problems.add(
                        Some(node.line),
                        path,
                        format!("is {}", node.shown()),
                        format!("{} is accepted", self.accepted(path)),
                    );
                }
            }
            (Shape::Text { words, .. }, Value::Text(text)) => {
                if !words.is_empty() && !words.contains(text) {
                    let hint = nearest(text, words.iter().map(String::as_str))
                        .map_or(String::new(), |w| format!("did you mean \"{w}\"? "));
                    problems.add(
                        Some(node.line),
                        path,
                        format!("is {}, which is not known", node.shown()),
                        format!("{hint}{} is accepted", self.accepted(path)),
                    );
                } else if text.trim().is_empty() {
                    problems.add(
                        Some(node.line),
                        path,
                        "is empty",
                        format!("{} is accepted", self.accepted(path)),
                    );
                }
            }
            (Shape::Text { time: true, .. }, Value::Time(_)) => {}
            (Shape::List { item, count: (few, many) }, Value::List(items)) => {
                if !(*few..=*many).contains(&items.len()) {
                    problems.add(
                        Some(node.line),
                        path,
                        format!("has {} items", items.len()),
                        if few == many {
                            format!("exactly {few} are accepted")
                        } else {
                            format!("{few} or more are accepted")
                        },
                    );
                }
                for (i, n) in items.iter().enumerate() {
                    item.check(n, &format!("{path}[{}]", i + 1), problems);
                }
            }
            (Shape::Table { fields }, Value::Table(entries)) => {
                check_table(fields, node.line, entries, path, problems);
            }
            (Shape::Map { keys, of }, Value::Table(entries)) => {
                for (key, line, value) in entries {
                    if keys.is_empty() || keys.contains(key) {
                        of.check(value, &join(path, key), problems);
                    } else {
                        unknown(key, *line, path, keys.iter().map(String::as_str), problems);
                    }
                }
            }
            (Shape::Any(shapes), _) => match shapes.iter().find(|s| s.same_kind(node)) {
                Some(shape) => shape.check(node, path, problems),
                None => self.wrong_type(node, path, problems),
            },
            _ => self.wrong_type(node, path, problems),
        }
    }

    fn same_kind(&self, node: &Node) -> bool {
        matches!(
            (self, &node.value),
            (Shape::Free, _)
                | (Shape::Number { .. }, Value::Number(_))
                | (Shape::Text { .. }, Value::Text(_))
                | (Shape::Text { time: true, .. }, Value::Time(_))
                | (Shape::Truth, Value::Truth(_))
                | (Shape::List { .. }, Value::List(_))
                | (Shape::Table { .. } | Shape::Map { .. }, Value::Table(_))
        )
    }

    fn wrong_type(&self, node: &Node, path: &str, problems: &mut Problems) {
        let hint = match (self, &node.value) {
            (Shape::Number { .. }, Value::Text(_)) => " (no quotes, and no unit: it is in the field's name)",
            (_, Value::Null) => " (or leave the field out)",
            (Shape::List { item, .. }, Value::Table(_)) if matches!(**item, Shape::Table { .. }) => {
                " (in TOML with double brackets, such as [[shelf]])"
            }
            _ => "",
        };
        problems.add(
            Some(node.line),
            path,
            format!("is {}", node.shown()),
            format!("{} is accepted{hint}", self.accepted(path)),
        );
    }

    /// What is accepted, in words.
    fn accepted(&self, path: &str) -> String {
        match self {
            Shape::Number { low, high } => {
                let unit = unit_of(path);
                let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
                match (low.is_finite(), high.is_finite()) {
                    (true, true) => format!("a number from {low} to {high}{unit}"),
                    (true, false) => format!("a number from {low}{unit} up"),
                    _ => format!("a number{}", if unit.is_empty() { unit } else { format!(" in{unit}") }),
                }
            }
            Shape::Text { words, .. } if !words.is_empty() => {
                let quoted: Vec<_> = words.iter().map(|w| format!("\"{w}\"")).collect();
                format!("one of {}", quoted.join(", "))
            }
            Shape::Text { time: true, .. } => {
                "a date and time as in 2026-03-01T18:30:00Z (RFC 3339; without an offset it counts as UTC)"
                    .into()
            }
            Shape::Text { .. } => "text in quotes".into(),
            Shape::Truth => "true or false".into(),
            Shape::List { .. } => "a list".into(),
            Shape::Table { .. } | Shape::Map { .. } => "a table".into(),
            Shape::Any(shapes) => shapes.iter().map(|s| s.accepted(path)).collect::<Vec<_>>().join(", or "),
            Shape::Free => "anything".into(),
        }
    }
}

fn check_table(
    fields: &[(String, Shape, bool)],
    line: usize,
    entries: &[(String, usize, Node)],
    path: &str,
    problems: &mut Problems,
) {
    for (key, line, value) in entries {
        match fields.iter().find(|(name, ..)| name == key) {
            Some((_, shape, _)) => shape.check(value, &join(path, key), problems),
            None => unknown(key, *line, path, fields.iter().map(|(n, ..)| n.as_str()), problems),
        }
    }
    for (name, shape, required) in fields {
        if *required && !entries.iter().any(|(k, ..)| k == name) {
            let field = join(path, name);
            let accepted = shape.accepted(&field);
            problems.add(Some(line), field, "is missing", format!("{accepted} is needed"));
        }
    }
}

fn unknown<'a>(
    key: &str,
    line: usize,
    path: &str,
    known: impl Iterator<Item = &'a str> + Clone,
    problems: &mut Problems,
) {
    let accepted = match nearest(key, known.clone()) {
        Some(near) => format!("did you mean {near}?"),
        None => format!("{} are accepted here", known.collect::<Vec<_>>().join(", ")),
    };
    problems.add(Some(line), join(path, &shortened(key)), "is not a known field", accepted);
}

/// `tub` and `volume_l` to `tub.volume_l`.
pub fn join(path: &str, key: &str) -> String {
    if path.is_empty() { key.to_owned() } else { format!("{path}.{key}") }
}

/// A struct's JSON Schema.
pub fn schema_json<T: JsonSchema>() -> Json {
    schemars::generate::SchemaSettings::draft2020_12().into_generator().into_root_schema_for::<T>().to_value()
}

/// The unit that a field's name carries, in words for a message.
fn unit_of(field: &str) -> &'static str {
    const UNITS: [(&str, &str); 22] = [
        ("_mg_l_caco3", "mg/L as CaCO3"),
        ("_mmol_l", "mmol/L"),
        ("mmol_l", "mmol/L"),
        ("_mg_l", "mg/L"),
        ("_g_ml", "g/mL"),
        ("_g_l", "g/L"),
        ("_kg_l", "kg/L"),
        ("_percent", "percent"),
        ("_hours", "hours"),
        ("hours", "hours"),
        ("_min", "minutes"),
        ("minutes", "minutes"),
        ("_days", "days"),
        ("_gal", "US gallons"),
        ("_per_litre", "litres per litre"),
        ("l_l", "litres per litre"),
        ("_l", "litres"),
        ("_ml", "mL"),
        ("_g", "g"),
        ("_c", "°C"),
        ("_f", "°F"),
        ("_cm", "cm"),
    ];
    let name = field.rsplit('.').next().unwrap_or(field).split('[').next().unwrap_or(field);
    UNITS.iter().find(|(suffix, _)| name.ends_with(suffix)).map_or("", |(_, unit)| unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::node;

    #[derive(JsonSchema)]
    #[schemars(deny_unknown_fields)]
    #[expect(dead_code, reason = "only its schema is used")]
    struct Pail {
        /// Litres.
        #[schemars(range(min = 1.0, max = 20.0))]
        volume_l: f64,
        lid: Option<bool>,
        #[schemars(extend("enum" = ["red", "blue"]))]
        colour: Option<String>,
        holds: Option<Vec<f64>>,
    }

    fn faults(toml: &str) -> Vec<String> {
        let mut problems = Problems::in_file("pail.toml");
        if let Some(tree) = node::from_toml(toml, &mut problems) {
            Shape::of::<Pail>().check(&tree, "", &mut problems);
        }
        problems.into_vec().iter().map(ToString::to_string).collect()
    }

    #[test]
    fn every_fault_is_told_with_line_field_value_and_what_is_accepted() {
        assert!(faults("volume_l = 10\nlid = true\ncolour = 'red'\nholds = [1, 2.5]").is_empty());
        assert_eq!(
            faults("\nvolume_l = 25\nlid = 1\ncolour = 'bleu'\nholds = [1, 'x']\nvolume_L = 1"),
            [
                "pail.toml:2: volume_l is 25; a number from 1 to 20 litres is accepted",
                "pail.toml:3: lid is 1; true or false is accepted",
                "pail.toml:4: colour is \"bleu\", which is not known; did you mean \"blue\"? one of \"red\", \"blue\" is accepted",
                "pail.toml:5: holds[2] is \"x\"; a number is accepted (no quotes, and no unit: it is in the field's name)",
                "pail.toml:6: volume_L is not a known field; did you mean volume_l?",
            ]
        );
        assert_eq!(faults(""), ["pail.toml:1: volume_l is missing; a number from 1 to 20 litres is needed"]);
    }

    #[test]
    fn grammar_faults_name_the_line() {
        let found = faults("volume_l = 10\nlid = = 3\n");
        assert!(found[0].starts_with("pail.toml:2: \"lid = = 3\" cannot be read"), "{found:?}");
        assert!(faults("volume_l = inf")[0].contains("pail.toml:1"), "{:?}", faults("volume_l = inf"));
        assert!(faults("volume_l = 1\nvolume_l = 2")[0].contains("pail.toml:2"));
    }
}
