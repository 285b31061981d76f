//! The whole record as text: newline-delimited JSON with everything (and the way back), and the readings as CSV.
//!
//! docs/book.md describes both.

use crate::entry::{Entry, Filter};
use crate::error::BookError;
use crate::kind::Kind;
use crate::open::Book;
use crate::raw::Raw;
use crate::record::Head;
use crate::things::ThingFilter;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use serde_json::value::RawValue;
use std::collections::BTreeMap;
use std::io::Write;
use uuid::Uuid;

/// The form of the export; another form would be another number.
pub(crate) const FORM: u32 = 1;

/// The first line.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Heading {
    pub(crate) tubwright_book: u32,
    pub(crate) entries: i64,
    pub(crate) head: String,
}

/// Every other line: one entry. The body is kept byte for byte, since its hash was made from those bytes.
#[derive(Debug, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Line {
    pub(crate) seq: i64,
    pub(crate) id: String,
    pub(crate) kind: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) subject: Option<String>,
    /// For people; `at_us` counts.
    pub(crate) at: String,
    pub(crate) at_us: i64,
    pub(crate) received_us: i64,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) by: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub(crate) corrects: Option<String>,
    pub(crate) body: Box<RawValue>,
    pub(crate) hash: String,
}

/// RFC 3339 in UTC.
pub(crate) fn written(at_us: i64) -> String {
    jiff::Timestamp::from_microsecond(at_us).map_or_else(|_| format!("{at_us} µs"), |t| t.to_string())
}

fn unwritable(e: &std::io::Error) -> BookError {
    BookError::Beside {
        path: "the export".into(),
        what: format!("cannot be written: {e}"),
        kind: Some(e.kind()),
    }
}

impl Book {
    /// Every entry as newline-delimited JSON, as the book was at the beginning, whatever is recorded meanwhile.
    /// `progress` hears how many of how many are done.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read or `out` cannot be written.
    pub async fn export(
        &self,
        out: &mut (dyn Write + Send),
        progress: &mut (dyn FnMut(i64, i64) + Send),
    ) -> Result<Head, BookError> {
        let mut tx = self.snapshot().await?;
        let head = self.head_in(&mut tx).await?.ok_or_else(|| BookError::Damaged {
            place: self.shown(),
            said: "its head is missing; `tubwright book verify` tells more".into(),
        })?;
        let heading = Heading { tubwright_book: FORM, entries: head.count, head: head.hash.clone() };
        put(out, &heading)?;
        let mut after = i64::MIN;
        loop {
            let page = self.page(&mut tx, after).await?;
            let Some(last) = page.last() else { break };
            after = last.seq;
            for row in page {
                put(out, &self.line(row)?)?;
            }
            progress(after, head.count);
        }
        out.flush().map_err(|e| unwritable(&e))?;
        tx.rollback().await.map_err(|e| self.failed(e))?;
        Ok(head)
    }

    fn line(&self, row: Raw) -> Result<Line, BookError> {
        let body = RawValue::from_string(row.body).map_err(|e| BookError::Damaged {
            place: self.shown(),
            said: format!(
                "the body of entry {} is no JSON: {e}; `tubwright book verify` tells more",
                row.seq
            ),
        })?;
        Ok(Line {
            seq: row.seq,
            id: row.id,
            kind: row.kind,
            subject: row.subject,
            at: written(row.at_us),
            at_us: row.at_us,
            received_us: row.received_us,
            by: row.by,
            corrects: row.corrects,
            body,
            hash: row.hash,
        })
    }

    /// Every reading as CSV, corrected and withdrawn ones too, with what became of them.
    ///
    /// # Errors
    /// [`BookError`] if the book cannot be read or `out` cannot be written.
    pub async fn export_readings(
        &self,
        out: &mut (dyn Write + Send),
        progress: &mut (dyn FnMut(i64, i64) + Send),
    ) -> Result<i64, BookError> {
        let names = self.tub_names().await?;
        let count = self.count().await?;
        let csv_failed = |e: csv::Error| match e.into_kind() {
            csv::ErrorKind::Io(e) => unwritable(&e),
            other => BookError::Beside { path: "the export".into(), what: format!("{other:?}"), kind: None },
        };
        let mut csv = csv::Writer::from_writer(out);
        csv.write_record(COLUMNS).map_err(csv_failed)?;
        let (mut after, mut written) = (0, 0);
        loop {
            let filter = Filter {
                kinds: vec![Kind::Reading],
                after_seq: Some(after),
                limit: Some(1000),
                ..Filter::default()
            };
            let page = self.entries(&filter).await?;
            let Some(last) = page.last() else { break };
            after = last.seq;
            for entry in page.iter().filter(|e| !e.is_withdrawal()) {
                csv.write_record(fields(entry, &names)).map_err(csv_failed)?;
                written += 1;
            }
            progress(after, count);
        }
        csv.flush().map_err(|e| unwritable(&e))?;
        Ok(written)
    }

    async fn tub_names(&self) -> Result<BTreeMap<Uuid, String>, BookError> {
        let mut names = BTreeMap::new();
        let mut after = None;
        loop {
            let filter = ThingFilter { after, limit: Some(1000), ..ThingFilter::default() };
            let page = self.things(Kind::Tub, &filter).await?;
            let Some(last) = page.last() else { return Ok(names) };
            after = Some(last.id);
            names.extend(page.into_iter().map(|t| (t.id, t.name)));
        }
    }
}

/// The columns of the readings. The first eight are the ones that an import understands by the same names.
const COLUMNS: [&str; 15] = [
    "tub_id",
    "at",
    "quantity",
    "value",
    "drops",
    "scale_units",
    "signal_band_changed",
    "minutes",
    "method",
    "tub_name",
    "counts",
    "corrected_by",
    "id",
    "seq",
    "received",
];

fn fields(entry: &Entry, names: &BTreeMap<Uuid, String>) -> [String; 15] {
    let of = |field: &str| match entry.body.get(field) {
        None => String::new(),
        Some(Value::String(text)) => for_a_sheet(text),
        Some(other) => other.to_string(),
    };
    let id = |id: Option<Uuid>| id.map(|id| id.to_string()).unwrap_or_default();
    let name = entry.subject.and_then(|s| names.get(&s)).map(String::as_str).unwrap_or_default();
    [
        id(entry.subject),
        written(entry.at_us),
        of("quantity"),
        of("value"),
        of("drops"),
        of("scale_units"),
        of("signal_band_changed"),
        of("minutes"),
        of("method"),
        for_a_sheet(name),
        if entry.is_effective() { "yes" } else { "no" }.to_owned(),
        id(entry.corrected_by),
        entry.id.to_string(),
        entry.seq.to_string(),
        written(entry.received_us),
    ]
}

/// A spreadsheet takes text that begins so for a formula and runs it; an apostrophe keeps it text.
fn for_a_sheet(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) { format!("'{text}") } else { text.to_owned() }
}

fn put(out: &mut dyn Write, line: &impl Serialize) -> Result<(), BookError> {
    let mut text = serde_json::to_string(line).map_err(|e| BookError::Beside {
        path: "the export".into(),
        what: e.to_string(),
        kind: None,
    })?;
    text.push('\n');
    out.write_all(text.as_bytes()).map_err(|e| unwritable(&e))
}
