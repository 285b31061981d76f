//! Readings from a table (CSV) into the book: every row is checked before any is recorded, and a fault is told with its
//! line.
//!
//! Two forms, and mixtures: a column for each field of a reading (`quantity`, `value`, …), or a column for each quantity.
//! An imported reading's id follows from its content, so that the same file imported twice is recorded once.

mod map;

use crate::canonical::canonical;
use crate::entry::NewEntry;
use crate::error::BookError;
use crate::kind::Kind;
use crate::open::Book;
use crate::record::prepare;
use crate::things::ThingFilter;
use care::wire::Problem;
use care::wire::node::shortened;
pub use map::{ColumnMap, FIELDS};
use map::{Field, Layout};
use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// The most that a table may hold, bytes.
pub const CSV_BYTES_MOST: u64 = 64 << 20;
/// Faults beyond this many are counted, not listed.
const LISTED_MOST: usize = 50;

/// What is to be imported, and for whom.
#[derive(Debug, Clone, Default)]
pub struct ImportOptions {
    /// What the columns are.
    pub map: ColumnMap,
    /// The tub that rows belong to which name none.
    pub tub: Option<Uuid>,
    /// Who imports.
    pub by: Option<Uuid>,
}

/// Readings that were read from a table and can be recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Import {
    /// How many rows the table has.
    pub rows: usize,
    /// The readings, in the order of the table.
    pub entries: Vec<NewEntry>,
    /// How many of them are in the book already.
    pub there: usize,
}

impl Book {
    /// Reads the table and holds every row against the book's rules; records nothing.
    ///
    /// # Errors
    /// [`BookError::File`] with every fault, each with its line and column; others if the book cannot be read.
    pub async fn read_readings(
        &self,
        bytes: &[u8],
        file: &str,
        options: &ImportOptions,
        now_us: i64,
    ) -> Result<Import, BookError> {
        let tubs = Tubs::of(self).await?;
        let methods = self.method_ids().await?;
        let mut reader =
            Reader { file, options, tubs: &tubs, methods: &methods, now_us, faults: Vec::new(), more: 0 };
        let (rows, entries) = reader.read(bytes);
        let Reader { mut faults, more, .. } = reader;
        if !faults.is_empty() {
            if more > 0 {
                faults.push(problem(
                    file,
                    None,
                    "",
                    format!("{more} more faults are not listed"),
                    "mend these first",
                ));
            }
            return Err(BookError::File(faults));
        }
        let mut there = 0;
        for entry in &entries {
            there += usize::from(self.entry(entry.id).await?.is_some());
        }
        Ok(Import { rows, entries, there })
    }

    /// The tub with this id or name.
    ///
    /// # Errors
    /// [`BookError::Question`] if there is none, or several have the name.
    pub async fn tub_called(&self, text: &str) -> Result<Uuid, BookError> {
        Tubs::of(self).await?.find(text).map_err(|(what, accepted)| BookError::Question {
            field: "--tub",
            what,
            accepted: accepted.to_owned(),
        })
    }

    /// The ids of the firm's own methods.
    async fn method_ids(&self) -> Result<BTreeSet<String>, BookError> {
        let filter = ThingFilter { limit: Some(10_000), ..ThingFilter::default() };
        let things = self.things(Kind::Method, &filter).await?;
        Ok(things.iter().filter_map(|t| t.body["id"].as_str().map(str::to_owned)).collect())
    }
}

/// Tubs by what a table may call them.
struct Tubs {
    by_name: BTreeMap<String, Vec<Uuid>>,
    all: BTreeSet<Uuid>,
}

impl Tubs {
    async fn of(book: &Book) -> Result<Tubs, BookError> {
        let mut tubs = Tubs { by_name: BTreeMap::new(), all: BTreeSet::new() };
        let mut after = None;
        loop {
            let filter = ThingFilter { after, limit: Some(1000), ..ThingFilter::default() };
            let page = book.things(Kind::Tub, &filter).await?;
            let Some(last) = page.last() else { return Ok(tubs) };
            after = Some(last.id);
            for thing in page {
                tubs.by_name.entry(thing.name.to_lowercase()).or_default().push(thing.id);
                tubs.all.insert(thing.id);
            }
        }
    }

    /// The tub with this id or name.
    fn find(&self, text: &str) -> Result<Uuid, (String, &'static str)> {
        if let Ok(id) = Uuid::try_parse(text) {
            return if self.all.contains(&id) {
                Ok(id)
            } else {
                Err((
                    format!("is {id}, which is no tub of this book"),
                    "the id or the name of a tub is accepted",
                ))
            };
        }
        match self.by_name.get(&text.to_lowercase()).map(Vec::as_slice) {
            Some([one]) => Ok(*one),
            Some(_) => Err((
                format!("is \"{}\", as several tubs are called", shortened(text)),
                "the tub's id is needed",
            )),
            None => Err((
                format!("is \"{}\", which is no tub of this book", shortened(text)),
                "the id or the name of a tub is accepted",
            )),
        }
    }
}

fn problem(
    file: &str,
    line: Option<usize>,
    field: &str,
    what: impl Into<String>,
    accepted: impl Into<String>,
) -> Problem {
    Problem {
        file: file.to_owned(),
        line,
        field: field.to_owned(),
        what: what.into(),
        accepted: accepted.into(),
    }
}

struct Reader<'a> {
    file: &'a str,
    options: &'a ImportOptions,
    tubs: &'a Tubs,
    methods: &'a BTreeSet<String>,
    now_us: i64,
    faults: Vec<Problem>,
    more: usize,
}

/// One row of the table.
struct Row<'a> {
    record: &'a csv::StringRecord,
    line: usize,
}

impl Reader<'_> {
    fn fault(
        &mut self,
        line: Option<usize>,
        field: &str,
        what: impl Into<String>,
        accepted: impl Into<String>,
    ) {
        if self.faults.len() < LISTED_MOST {
            self.faults.push(problem(self.file, line, field, what, accepted));
        } else {
            self.more += 1;
        }
    }

    fn read(&mut self, bytes: &[u8]) -> (usize, Vec<NewEntry>) {
        let bytes = bytes.strip_prefix("\u{feff}".as_bytes()).unwrap_or(bytes);
        let mut csv =
            csv::ReaderBuilder::new().delimiter(self.options.map.delimiter).flexible(true).from_reader(bytes);
        let headers = match csv.headers() {
            Ok(headers) if !headers.is_empty() && !headers.iter().all(str::is_empty) => headers.clone(),
            Ok(_) => {
                self.fault(Some(1), "", "is empty", "a first line with the names of the columns is needed");
                return (0, Vec::new());
            }
            Err(e) => {
                self.fault(Some(1), "", said(&e), "a table in UTF-8 is accepted");
                return (0, Vec::new());
            }
        };
        let layout = match Layout::of(&headers, &self.options.map, self.options.tub.is_some()) {
            Ok(layout) => layout,
            Err(faults) => {
                for (column, what, accepted) in faults {
                    self.fault(Some(1), &column, what, accepted);
                }
                return (0, Vec::new());
            }
        };
        let mut entries = Vec::new();
        let mut seen = BTreeMap::new();
        let mut rows = 0;
        let mut record = csv::StringRecord::new();
        loop {
            match csv.read_record(&mut record) {
                Ok(false) => break,
                Ok(true) if record.iter().all(|cell| cell.trim().is_empty()) => {}
                Ok(true) => {
                    rows += 1;
                    let line = record.position().map_or(0, |p| p.line() as usize);
                    if record.len() > headers.len() {
                        let what =
                            format!("has {} cells, the first line has {}", record.len(), headers.len());
                        self.fault(Some(line), "this row", what, "one cell for each column is accepted");
                        continue;
                    }
                    self.row(&Row { record: &record, line }, &layout, &mut seen, &mut entries);
                }
                Err(e) => {
                    let line = e.position().map(|p| p.line() as usize);
                    self.fault(line, "this row", said(&e), "a table in UTF-8 is accepted");
                    if !matches!(e.kind(), csv::ErrorKind::Utf8 { .. }) {
                        break;
                    }
                }
            }
        }
        (rows, entries)
    }

    fn row(
        &mut self,
        row: &Row<'_>,
        layout: &Layout,
        seen: &mut BTreeMap<String, u32>,
        entries: &mut Vec<NewEntry>,
    ) {
        let cell = |field: Field| {
            layout.column(field).and_then(|(index, name)| {
                let text = row.record.get(index).unwrap_or_default().trim();
                (!text.is_empty()).then_some((text, name))
            })
        };
        let tub = match (cell(Field::Tub), self.options.tub) {
            (Some((text, name)), _) => match self.tubs.find(text) {
                Ok(id) => Some(id),
                Err((what, accepted)) => {
                    self.fault(Some(row.line), name, what, accepted);
                    None
                }
            },
            (None, Some(id)) => Some(id),
            (None, None) => {
                self.fault(Some(row.line), "tub", "is missing in this row", "a tub's id or name is needed");
                None
            }
        };
        let at_us = match layout.moment(row.record, &self.options.map) {
            Ok(at_us) => Some(at_us),
            Err((column, what, accepted)) => {
                self.fault(Some(row.line), &column, what, accepted);
                None
            }
        };
        for (columns, body) in layout.readings(row.record, &self.options.map) {
            let body = match body {
                Ok(body) => body,
                Err((column, what, accepted)) => {
                    self.fault(Some(row.line), &column, what, accepted);
                    continue;
                }
            };
            self.known_method(row, &columns, &body);
            let (Some(tub), Some(at_us)) = (tub, at_us) else { continue };
            let body = canonical(&Value::Object(body));
            let content = format!("{tub} {at_us} {body}");
            let number = seen.entry(content.clone()).or_insert(0);
            *number += 1;
            let entry = NewEntry {
                id: id_of(&content, *number, at_us),
                kind: Kind::Reading,
                subject: Some(tub),
                at_us,
                by: self.options.by,
                corrects: None,
                body,
            };
            match prepare(&entry, self.now_us) {
                Ok(_) => entries.push(entry),
                Err(problems) => {
                    for p in problems {
                        let column = columns.get(p.field.as_str()).unwrap_or(&p.field).clone();
                        self.fault(Some(row.line), &column, p.what, p.accepted);
                    }
                }
            }
        }
    }

    fn known_method(
        &mut self,
        row: &Row<'_>,
        columns: &BTreeMap<&'static str, String>,
        body: &Map<String, Value>,
    ) {
        if let Some(id) = body.get("method").and_then(Value::as_str)
            && care::method::find(&[], id).is_none()
            && !self.methods.contains(id)
        {
            let column = columns.get("method").map_or("method", String::as_str).to_owned();
            let accepted = "the id of a built-in method or of one in this book is accepted";
            self.fault(
                Some(row.line),
                &column,
                format!("is \"{}\", which is not known", shortened(id)),
                accepted,
            );
        }
    }
}

fn said(e: &csv::Error) -> String {
    match e.kind() {
        csv::ErrorKind::Utf8 { err, .. } => format!("is not text in UTF-8: {err}"),
        _ => format!("cannot be read: {e}"),
    }
}

/// A UUID of version 7 that is the same for the same content: its time is the reading's, its rest a hash.
fn id_of(content: &str, number: u32, at_us: i64) -> Uuid {
    let digest = Sha256::digest(format!("imported reading\n{number}\n{content}"));
    let mut rest = [0; 10];
    rest.copy_from_slice(&digest[..10]);
    let millis = u64::try_from(at_us / 1000).unwrap_or(0);
    uuid::Builder::from_unix_timestamp_millis(millis, &rest).into_uuid()
}

/// A body with one field more.
pub(crate) fn with(body: &mut Map<String, Value>, field: &str, value: impl Into<Value>) {
    body.insert(field.to_owned(), value.into());
}

/// A cell as the value of a reading: a number, or text such as `<0.2`.
pub(crate) fn figure(text: &str, decimal_comma: bool) -> Value {
    let plain = if decimal_comma { text.replace(',', ".") } else { text.to_owned() };
    match plain.parse::<f64>() {
        Ok(number) if number.is_finite() => json!(number),
        _ => json!(plain),
    }
}
