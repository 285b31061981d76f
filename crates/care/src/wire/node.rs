//! Text as a tree in which every value knows its line. TOML and JSON lead to the same tree.

use crate::wire::problem::Problems;
use serde::de::{self, Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
use std::fmt;
use toml::de::{DeTable, DeValue};

/// A value and the line that it stands in.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// Line, counted from 1.
    pub line: usize,
    /// The value.
    pub value: Value,
}

/// A value.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A number; TOML and JSON integers included.
    Number(f64),
    /// Text.
    Text(String),
    /// A date and time without quotes (TOML has them), as written.
    Time(String),
    /// True or false.
    Truth(bool),
    /// JSON's null.
    Null,
    /// A list.
    List(Vec<Node>),
    /// A table: keys in the order of the text, each with its line.
    Table(Vec<(String, usize, Node)>),
}

impl Node {
    /// The entry of a table.
    pub fn get(&self, key: &str) -> Option<&Node> {
        match &self.value {
            Value::Table(entries) => entries.iter().find(|(k, ..)| k == key).map(|(.., n)| n),
            _ => None,
        }
    }

    /// The line of a field below this node (`measure.grams`), or the last line on the way to it.
    pub fn line_of(&self, field: &str) -> Option<usize> {
        let mut at = self;
        for key in field.split('.') {
            match at.get(key) {
                Some(inner) => at = inner,
                None => break,
            }
        }
        Some(at.line)
    }

    /// The entries of a list; none if it is not one.
    pub fn items(&self) -> &[Node] {
        match &self.value {
            Value::List(items) => items,
            _ => &[],
        }
    }

    /// The text, if it is text.
    pub fn text(&self) -> Option<&str> {
        match &self.value {
            Value::Text(t) => Some(t),
            _ => None,
        }
    }

    /// The value as a person would say it in a message, shortened.
    pub fn shown(&self) -> String {
        match &self.value {
            Value::Number(n) => format!("{n}"),
            Value::Text(t) => format!("\"{}\"", shortened(t)),
            Value::Time(t) => t.clone(),
            Value::Truth(b) => format!("{b}"),
            Value::Null => "null".into(),
            Value::List(items) => format!("a list of {}", items.len()),
            Value::Table(_) => "a table".into(),
        }
    }

    /// The value for serde, lines left behind.
    pub fn to_json(&self) -> serde_json::Value {
        match &self.value {
            Value::Number(n) if n.fract() == 0.0 && n.abs() < 9e15 => serde_json::Value::from(*n as i64),
            Value::Number(n) => serde_json::Value::from(*n),
            Value::Text(t) | Value::Time(t) => serde_json::Value::from(t.as_str()),
            Value::Truth(b) => serde_json::Value::from(*b),
            Value::Null => serde_json::Value::Null,
            Value::List(items) => items.iter().map(Node::to_json).collect(),
            Value::Table(entries) => entries.iter().map(|(k, _, n)| (k.clone(), n.to_json())).collect(),
        }
    }
}

/// Text from outside, fit for one line of a terminal: control characters out, forty characters at most.
pub fn shortened(text: &str) -> String {
    let mut short: String =
        text.chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).take(40).collect();
    if text.chars().nth(40).is_some() {
        short.push('…');
    }
    short
}

/// UTF-8 text from bytes; what is wrong with them goes to `problems`.
pub fn text_of<'a>(bytes: &'a [u8], problems: &mut Problems) -> Option<&'a str> {
    match std::str::from_utf8(bytes) {
        Ok(text) => Some(text.strip_prefix('\u{feff}').unwrap_or(text)),
        Err(e) => {
            let good = &bytes[..e.valid_up_to()];
            let line = 1 + good.iter().filter(|b| **b == b'\n').count();
            let byte = bytes.get(e.valid_up_to()).copied().unwrap_or(0);
            problems.add(
                Some(line),
                "",
                format!("this is not text: byte {} is 0x{byte:02x}", e.valid_up_to() + 1),
                "a text file in UTF-8 is accepted",
            );
            None
        }
    }
}

/// The tree of a TOML text; faults of its grammar go to `problems`.
pub fn from_toml(text: &str, problems: &mut Problems) -> Option<Node> {
    let starts: Vec<usize> =
        std::iter::once(0).chain(text.match_indices('\n').map(|(at, _)| at + 1)).collect();
    let line_at = |offset: usize| starts.partition_point(|s| *s <= offset);
    let (table, errors) = DeTable::parse_recoverable(text);
    let fine = errors.is_empty();
    // Binary junk can have a fault in every byte; nobody reads more than the first.
    for e in errors.into_iter().take(Problems::MOST) {
        let at = e.span().map(|s| s.start);
        let line = at.map(line_at);
        let written = line
            .and_then(|l| text.lines().nth(l - 1))
            .map(|l| format!("\"{}\"", shortened(l.trim())))
            .unwrap_or_default();
        problems.add(
            line,
            "",
            format!("{written} cannot be read: {}", e.message()),
            "TOML is accepted, such as: volume_l = 1250",
        );
    }
    fine.then(|| table_node(table.get_ref(), 1, &line_at, problems))
}

fn table_node(
    table: &DeTable<'_>,
    line: usize,
    line_at: &dyn Fn(usize) -> usize,
    problems: &mut Problems,
) -> Node {
    let mut entries: Vec<(usize, String, usize, Node)> = table
        .iter()
        .map(|(key, value)| {
            let at = key.span().start;
            let node = value_node(value.get_ref(), line_at(value.span().start), line_at, problems);
            (at, key.get_ref().to_string(), line_at(at), node)
        })
        .collect();
    entries.sort_by_key(|(at, ..)| *at);
    Node { line, value: Value::Table(entries.into_iter().map(|(_, k, l, n)| (k, l, n)).collect()) }
}

fn value_node(
    value: &DeValue<'_>,
    line: usize,
    line_at: &dyn Fn(usize) -> usize,
    problems: &mut Problems,
) -> Node {
    let mut number = |text: &str, radix: u32| {
        let digits: String = text.chars().filter(|c| *c != '_').collect();
        let parsed = if radix == 10 {
            digits.parse::<f64>().ok()
        } else {
            i64::from_str_radix(&digits, radix).ok().map(|i| i as f64)
        };
        match parsed {
            Some(n) if n.is_finite() => Value::Number(n),
            _ => {
                problems.add(Some(line), "", format!("{} is not a finite number", shortened(text)), "");
                Value::Null
            }
        }
    };
    let value = match value {
        DeValue::String(s) => Value::Text(s.to_string()),
        DeValue::Integer(i) => number(i.as_str(), i.radix()),
        DeValue::Float(f) => number(f.as_str(), 10),
        DeValue::Boolean(b) => Value::Truth(*b),
        DeValue::Datetime(d) => Value::Time(d.to_string()),
        DeValue::Array(items) => Value::List(
            items
                .iter()
                .map(|i| value_node(i.get_ref(), line_at(i.span().start), line_at, problems))
                .collect(),
        ),
        DeValue::Table(t) => return table_node(t, line, line_at, problems),
    };
    Node { line, value }
}

/// The tree of a value that never was a text: its lines are 0.
pub fn from_value(value: &serde_json::Value) -> Node {
    use serde_json::Value as Json;
    let value = match value {
        Json::Null => Value::Null,
        Json::Bool(b) => Value::Truth(*b),
        // serde_json's numbers are finite; one that no f64 can hold does not occur without its feature for that
        Json::Number(n) => n.as_f64().map_or(Value::Null, Value::Number),
        Json::String(s) => Value::Text(s.clone()),
        Json::Array(items) => Value::List(items.iter().map(from_value).collect()),
        Json::Object(entries) => {
            Value::Table(entries.iter().map(|(k, v)| (k.clone(), 0, from_value(v))).collect())
        }
    };
    Node { line: 0, value }
}

/// The tree of one JSON value; all of it stands in `line`.
///
/// # Errors
/// What is wrong with the JSON, a key given twice included.
pub fn from_json(text: &str, line: usize) -> Result<Node, String> {
    let mut node: JsonNode = serde_json::from_str(text).map_err(|e| {
        let said = e.to_string();
        let bare = said.split(" at line ").next().unwrap_or(&said);
        format!("cannot be read as JSON: {bare} (column {})", e.column())
    })?;
    set_line(&mut node.0, line);
    Ok(node.0)
}

fn set_line(node: &mut Node, line: usize) {
    node.line = line;
    match &mut node.value {
        Value::List(items) => items.iter_mut().for_each(|n| set_line(n, line)),
        Value::Table(entries) => entries.iter_mut().for_each(|(_, l, n)| {
            *l = line;
            set_line(n, line);
        }),
        _ => {}
    }
}

struct JsonNode(Node);

impl<'de> Deserialize<'de> for JsonNode {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        d.deserialize_any(JsonVisitor).map(|value| JsonNode(Node { line: 1, value }))
    }
}

struct JsonVisitor;

impl<'de> Visitor<'de> for JsonVisitor {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }
    fn visit_bool<E>(self, b: bool) -> Result<Value, E> {
        Ok(Value::Truth(b))
    }
    fn visit_i64<E>(self, n: i64) -> Result<Value, E> {
        Ok(Value::Number(n as f64))
    }
    fn visit_u64<E>(self, n: u64) -> Result<Value, E> {
        Ok(Value::Number(n as f64))
    }
    fn visit_f64<E>(self, n: f64) -> Result<Value, E> {
        Ok(Value::Number(n))
    }
    fn visit_str<E>(self, s: &str) -> Result<Value, E> {
        Ok(Value::Text(s.to_owned()))
    }
    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }
    fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Value, A::Error> {
        let mut items = Vec::new();
        while let Some(JsonNode(n)) = seq.next_element()? {
            items.push(n);
        }
        Ok(Value::List(items))
    }
    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Value, A::Error> {
        let mut entries: Vec<(String, usize, Node)> = Vec::new();
        while let Some((key, JsonNode(node))) = map.next_entry::<String, JsonNode>()? {
            // Quadratic in the number of keys, which a line's cap bounds; a table with hundreds of keys is refused anyway.
            if entries.len() >= 256 {
                return Err(de::Error::custom("more than 256 fields in one object"));
            }
            if entries.iter().any(|(k, ..)| *k == key) {
                return Err(de::Error::custom(format!("the field {} is given twice", shortened(&key))));
            }
            entries.push((key, 1, node));
        }
        Ok(Value::Table(entries))
    }
}
