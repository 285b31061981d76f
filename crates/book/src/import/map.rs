//! What the columns of a table are.

use super::{figure, with};
use crate::error::BookError;
use care::quantity::Quantity;
use care::wire::Problem;
use care::wire::node::shortened;
use jiff::{Timestamp, civil, tz::Offset};
use serde::Deserialize;
use serde_json::{Map, Value};
use std::collections::BTreeMap;

/// The fields that a column may hold, beside the id of any quantity.
pub const FIELDS: [&str; 12] = [
    "tub",
    "at",
    "date",
    "time",
    "quantity",
    "value",
    "drops",
    "scale_units",
    "signal_band_changed",
    "minutes",
    "method",
    "ignore",
];

/// What one column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Field {
    Tub,
    At,
    Date,
    Time,
    Quantity,
    Value,
    Drops,
    ScaleUnits,
    Signal,
    Minutes,
    Method,
    Ignore,
    Of(Quantity),
}

/// What is wrong: column, what, what is accepted.
type Fault = (String, String, String);

fn field_of(word: &str) -> Option<Field> {
    Some(match word {
        "tub" | "tub_id" => Field::Tub,
        "at" => Field::At,
        "date" => Field::Date,
        "time" => Field::Time,
        "quantity" => Field::Quantity,
        "value" => Field::Value,
        "drops" => Field::Drops,
        "scale_units" => Field::ScaleUnits,
        "signal_band_changed" => Field::Signal,
        "minutes" => Field::Minutes,
        "method" => Field::Method,
        "ignore" => Field::Ignore,
        other => Field::Of(Quantity::from_id(other).filter(|q| *q != Quantity::SaturationIndex)?),
    })
}

/// Columns of our own export that are no fields of a reading.
const EXPORTED: [&str; 6] = ["tub_name", "counts", "corrected_by", "id", "seq", "received"];

/// How a table is to be read.
#[derive(Debug, Clone, PartialEq)]
pub struct ColumnMap {
    /// Column's name to field's name.
    columns: BTreeMap<String, String>,
    /// The kit by which a quantity was read, where no column says so: quantity id to method id.
    methods: BTreeMap<String, String>,
    pub(super) delimiter: u8,
    decimal_comma: bool,
    /// How far a time without an offset is ahead of UTC, seconds.
    offset_s: i32,
}

impl Default for ColumnMap {
    fn default() -> Self {
        ColumnMap {
            columns: BTreeMap::new(),
            methods: BTreeMap::new(),
            delimiter: b',',
            decimal_comma: false,
            offset_s: 0,
        }
    }
}

/// The map as a TOML file.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct MapFile {
    delimiter: Option<String>,
    decimal: Option<String>,
    offset: Option<String>,
    #[serde(default)]
    columns: BTreeMap<String, String>,
    #[serde(default)]
    methods: BTreeMap<String, String>,
}

impl ColumnMap {
    /// From a TOML file: `delimiter`, `decimal`, `offset`, `[columns]`, `[methods]`.
    ///
    /// # Errors
    /// [`BookError::File`] with what is wrong and what is accepted.
    pub fn from_toml(text: &str, file: &str) -> Result<ColumnMap, BookError> {
        let wrong = |line: Option<usize>, field: &str, what: String, accepted: &str| {
            BookError::File(vec![Problem {
                file: file.to_owned(),
                line,
                field: field.to_owned(),
                what,
                accepted: accepted.to_owned(),
            }])
        };
        let read: MapFile = toml::from_str(text).map_err(|e| {
            let line = e.span().map(|s| 1 + text[..s.start.min(text.len())].matches('\n').count());
            wrong(
                line,
                "",
                e.message().to_owned(),
                "delimiter, decimal, offset, [columns] and [methods] are accepted",
            )
        })?;
        let mut map = ColumnMap::default();
        match read.delimiter.as_deref() {
            None => {}
            Some(d) if d.len() == 1 && !d.contains(['"', '\n', '\r']) => map.delimiter = d.as_bytes()[0],
            Some(d) => {
                let what = format!("is \"{}\"", shortened(d));
                return Err(wrong(
                    None,
                    "delimiter",
                    what,
                    "one sign is accepted, such as \",\", \";\" or \"\\t\"",
                ));
            }
        }
        match read.decimal.as_deref() {
            None | Some(".") => {}
            Some(",") => map.decimal_comma = true,
            Some(d) => {
                return Err(wrong(
                    None,
                    "decimal",
                    format!("is \"{}\"", shortened(d)),
                    "\".\" or \",\" is accepted",
                ));
            }
        }
        if let Some(text) = read.offset.as_deref() {
            map.offset_s = offset(text).ok_or_else(|| {
                wrong(
                    None,
                    "offset",
                    format!("is \"{}\"", shortened(text)),
                    "an offset from UTC such as \"+01:00\" is accepted",
                )
            })?;
        }
        for (column, field) in &read.columns {
            map.add(column, field).map_err(|(_, what, accepted)| {
                wrong(None, &format!("columns.{}", shortened(column)), what, &accepted)
            })?;
        }
        for (quantity, method) in read.methods {
            if Quantity::from_id(&quantity).is_none() {
                let what = format!("\"{}\" is no quantity", shortened(&quantity));
                return Err(wrong(
                    None,
                    "methods",
                    what,
                    "quantity ids such as ph and free_chlorine are accepted",
                ));
            }
            map.methods.insert(quantity, method);
        }
        Ok(map)
    }

    /// One more column, as `column=field`.
    ///
    /// # Errors
    /// [`BookError::Question`] with what is accepted.
    pub fn add_pair(&mut self, pair: &str) -> Result<(), BookError> {
        let wrong = |what: String, accepted: String| BookError::Question { field: "--map", what, accepted };
        let Some((column, field)) = pair.rsplit_once('=') else {
            return Err(wrong(
                format!("is \"{}\"", shortened(pair)),
                "column=field is accepted, such as \"Date=date\"".into(),
            ));
        };
        self.add(column.trim(), field.trim()).map_err(|(_, what, accepted)| wrong(what, accepted))
    }

    fn add(&mut self, column: &str, field: &str) -> Result<(), Fault> {
        if field_of(field).is_none() {
            let what = format!("gives column \"{}\" the field \"{}\"", shortened(column), shortened(field));
            return Err((column.to_owned(), what, fields_accepted()));
        }
        self.columns.insert(column.to_owned(), field.to_owned());
        Ok(())
    }
}

fn fields_accepted() -> String {
    format!("one of {}, or the id of a quantity (ph, free_chlorine, …) is accepted", FIELDS.join(", "))
}

/// `+01:00`, `-05:30`, `Z`, in seconds.
fn offset(text: &str) -> Option<i32> {
    // A whole moment with this offset tells it; the library knows every form of RFC 3339.
    let moment: Timestamp = format!("2000-01-01T00:00:00{text}").parse().ok()?;
    let utc: Timestamp = "2000-01-01T00:00:00Z".parse().ok()?;
    i32::try_from(utc.as_second() - moment.as_second()).ok()
}

/// The columns of one table.
pub(super) struct Layout {
    columns: Vec<(Field, usize, String)>,
}

impl Layout {
    pub(super) fn of(
        headers: &csv::StringRecord,
        map: &ColumnMap,
        tub_given: bool,
    ) -> Result<Layout, Vec<Fault>> {
        let mut columns: Vec<(Field, usize, String)> = Vec::new();
        let mut faults: Vec<Fault> = Vec::new();
        for (index, header) in headers.iter().enumerate() {
            let name = header.trim();
            let word = map.columns.get(name).map_or(name, String::as_str);
            match field_of(word) {
                Some(Field::Ignore) => {}
                Some(field) => match columns.iter().find(|(f, ..)| *f == field) {
                    Some((_, _, other)) => faults.push((
                        shortened(name),
                        format!("and {other} are both {word}"),
                        "one column for each field is accepted; give the other =ignore".into(),
                    )),
                    None => columns.push((field, index, shortened(name))),
                },
                None if EXPORTED.contains(&name) => {}
                None => faults.push((
                    format!("column \"{}\"", shortened(name)),
                    "is not known".into(),
                    format!("--map \"{}=FIELD\" says what it is: {}", shortened(name), fields_accepted()),
                )),
            }
        }
        for (column, field) in &map.columns {
            if !headers.iter().any(|h| h.trim() == column) {
                let accepted =
                    format!("the table has {}", headers.iter().map(shortened).collect::<Vec<_>>().join(", "));
                faults.push((
                    format!("column \"{}\"", shortened(column)),
                    format!("for {field} is not there"),
                    accepted,
                ));
            }
        }
        let has = |field: Field| columns.iter().any(|(f, ..)| *f == field);
        let mut need = |there: bool, what: &str, accepted: &str| {
            if !there && faults.is_empty() {
                faults.push((String::new(), what.to_owned(), accepted.to_owned()));
            }
        };
        need(
            has(Field::At) || has(Field::Date) && has(Field::Time),
            "no column says when",
            "at, or date and time, is needed",
        );
        need(
            tub_given || has(Field::Tub),
            "no column says of which tub",
            "--tub, or a column tub, is needed",
        );
        let wide = columns.iter().any(|(f, ..)| matches!(f, Field::Of(_)));
        let long = has(Field::Quantity) && (has(Field::Value) || has(Field::Drops) || has(Field::ScaleUnits));
        need(
            wide || long,
            "no column holds readings",
            "quantity and value, or a column for a quantity such as ph, are needed",
        );
        if faults.is_empty() { Ok(Layout { columns }) } else { Err(faults) }
    }

    /// Where a field stands, and what its column is called.
    pub(super) fn column(&self, field: Field) -> Option<(usize, &str)> {
        self.columns.iter().find(|(f, ..)| *f == field).map(|(_, index, name)| (*index, name.as_str()))
    }

    fn cell<'r>(&self, record: &'r csv::StringRecord, field: Field) -> Option<(&'r str, &str)> {
        let (index, name) = self.column(field)?;
        let text = record.get(index).unwrap_or_default().trim();
        (!text.is_empty()).then_some((text, name))
    }

    /// When the row's readings were made, µs.
    pub(super) fn moment(&self, record: &csv::StringRecord, map: &ColumnMap) -> Result<i64, Fault> {
        let accepted = "a date and time as in 2026-03-01T18:30:00Z or 2026-03-01 18:30 is accepted (without an offset, \
                        that of the map or UTC counts)";
        let (text, column) = match (self.cell(record, Field::At), self.cell(record, Field::Date)) {
            (Some((text, column)), _) => (text.to_owned(), column),
            (None, Some((date, column))) => match self.cell(record, Field::Time) {
                Some((time, _)) => (format!("{date} {time}"), column),
                None => return Err(("time".into(), "is missing in this row".into(), accepted.into())),
            },
            (None, None) => return Err(("at".into(), "is missing in this row".into(), accepted.into())),
        };
        let wrong = || (column.to_owned(), format!("is \"{}\"", shortened(&text)), accepted.to_owned());
        if let Ok(moment) = text.parse::<Timestamp>() {
            return Ok(moment.as_microsecond());
        }
        if !text.contains(['T', 't', ' ']) {
            return Err(wrong()); // a bare date would make midnight out of an unknown hour
        }
        let local: civil::DateTime = text.parse().map_err(|_| wrong())?;
        let offset = Offset::from_seconds(map.offset_s).map_err(|_| wrong())?;
        offset.to_timestamp(local).map(Timestamp::as_microsecond).map_err(|_| wrong())
    }

    /// The row's readings: each body with the columns that its fields come from, or what is wrong.
    #[allow(clippy::type_complexity, reason = "a pair of two results reads no better under another name")]
    pub(super) fn readings(
        &self,
        record: &csv::StringRecord,
        map: &ColumnMap,
    ) -> Vec<(BTreeMap<&'static str, String>, Result<Map<String, Value>, Fault>)> {
        let mut all = Vec::new();
        if let Some((quantity, column)) = self.cell(record, Field::Quantity) {
            let mut columns = BTreeMap::from([("quantity", column.to_owned())]);
            let body = self.long(record, map, quantity, &mut columns);
            all.push((columns, body));
        }
        for (field, _, column) in &self.columns {
            let Field::Of(quantity) = field else { continue };
            let Some((text, _)) = self.cell(record, *field) else { continue };
            let mut body = Map::new();
            with(&mut body, "quantity", quantity.id());
            with(&mut body, "value", figure(text, map.decimal_comma));
            if let Some(method) = map.methods.get(quantity.id()) {
                with(&mut body, "method", method.as_str());
            }
            all.push((BTreeMap::from([("value", column.clone()), ("method", column.clone())]), Ok(body)));
        }
        all
    }

    fn long(
        &self,
        record: &csv::StringRecord,
        map: &ColumnMap,
        quantity: &str,
        columns: &mut BTreeMap<&'static str, String>,
    ) -> Result<Map<String, Value>, Fault> {
        let mut body = Map::new();
        with(&mut body, "quantity", quantity);
        for (field, name) in [
            (Field::Value, "value"),
            (Field::Drops, "drops"),
            (Field::ScaleUnits, "scale_units"),
            (Field::Minutes, "minutes"),
        ] {
            if let Some((text, column)) = self.cell(record, field) {
                columns.insert(name, column.to_owned());
                with(&mut body, name, figure(text, map.decimal_comma));
            }
        }
        if let Some((text, column)) = self.cell(record, Field::Signal) {
            let changed = match text.to_ascii_lowercase().as_str() {
                "true" | "yes" | "1" => true,
                "false" | "no" | "0" => false,
                _ => {
                    let what = format!("is \"{}\"", shortened(text));
                    return Err((column.to_owned(), what, "true or false is accepted".into()));
                }
            };
            with(&mut body, "signal_band_changed", changed);
        }
        match self.cell(record, Field::Method) {
            Some((id, column)) => {
                columns.insert("method", column.to_owned());
                with(&mut body, "method", id);
            }
            None => {
                if let Some(method) = map.methods.get(quantity) {
                    with(&mut body, "method", method.as_str());
                }
            }
        }
        Ok(body)
    }
}
