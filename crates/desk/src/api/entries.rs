//! Entries: the log read page by page, and new ones recorded, one or many, once each however often they are sent.

use crate::api::problem::{Fault, Problem};
use crate::api::reply::{self, Reply};
use crate::api::sent::{self, Asked, Id, Sent};
use crate::api::things::written;
use crate::ctx::Ctx;
use crate::doors::secret;
use crate::policy::{least_to_read, least_to_record};
use crate::state::App;
use axum::extract::State;
use axum::http::header::CONTENT_TYPE;
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use book::{Answered, Entry, Filter, KINDS, Kind, NewEntry, Receipt, Uuid};
use care::wire::shape::Shape;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::LazyLock;

/// Entries in one request at most.
pub(crate) const ENTRIES_MOST: usize = 1000;

/// An entry to record.
#[derive(Debug, Deserialize, JsonSchema)]
#[schemars(rename = "NewEntry", deny_unknown_fields)]
pub(crate) struct EntryIn {
    /// Its id, a UUID of version 7 made by whoever records it: sent again with the same content it is one entry.
    #[schemars(extend("format" = "uuid"))]
    id: String,
    /// What it is.
    #[schemars(extend("enum" = kind_ids()))]
    kind: String,
    /// The tub that it happened to, or the thing that it is a version of.
    #[schemars(extend("format" = "uuid"))]
    subject: String,
    /// When it happened, RFC 3339.
    #[schemars(extend("format" = "date-time"))]
    at: String,
    /// Who recorded it; counts only on a server without accounts, otherwise it is whoever sends it.
    #[schemars(extend("format" = "uuid"))]
    by: Option<String>,
    /// The entry that it stands instead of.
    #[schemars(extend("format" = "uuid"))]
    corrects: Option<String>,
    /// What it says, in the shape of its kind.
    body: Value,
}

/// The kinds that come from outside.
pub(crate) fn kind_ids() -> Vec<&'static str> {
    KINDS.into_iter().filter(|k| least_to_record(*k).is_some()).map(Kind::id).collect()
}

static SHAPE: LazyLock<Shape> = LazyLock::new(Shape::of::<EntryIn>);

impl EntryIn {
    fn read(value: Value) -> Result<NewEntry, Vec<Fault>> {
        sent::check(&SHAPE, &value)?;
        let given: EntryIn = serde_json::from_value(value)
            .map_err(|e| vec![Fault::new("", e.to_string(), "an entry is accepted")])?;
        let nulls = sent::nulls(&given.body, "body");
        if !nulls.is_empty() {
            return Err(nulls);
        }
        let some = |field: &str, text: Option<String>| text.map(|t| sent::id(field, &t)).transpose();
        let one = |fault| vec![fault];
        Ok(NewEntry {
            id: sent::id("id", &given.id).map_err(one)?,
            kind: sent::kind(&given.kind).map_err(one)?,
            subject: Some(sent::id("subject", &given.subject).map_err(one)?),
            at_us: sent::moment("at", &given.at).map_err(one)?,
            by: some("by", given.by).map_err(one)?,
            corrects: some("corrects", given.corrects).map_err(one)?,
            body: given.body,
        })
    }
}

/// An entry as it stands in the book.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Entry")]
pub(crate) struct EntryOut {
    /// Its number in order of receipt, from 1.
    seq: i64,
    /// Its id.
    #[schemars(extend("format" = "uuid"))]
    id: String,
    /// What it is.
    kind: &'static str,
    /// What it is about.
    subject: Option<String>,
    /// When it happened, RFC 3339.
    #[schemars(extend("format" = "date-time"))]
    at: String,
    /// When it was received, RFC 3339.
    #[schemars(extend("format" = "date-time"))]
    received: String,
    /// Who recorded it.
    by: Option<String>,
    /// The entry that it stands instead of.
    corrects: Option<String>,
    /// The entry that stands instead of this one now.
    corrected_by: Option<String>,
    /// What it says.
    body: Value,
    /// Its hash, over that of the entry before it.
    hash: String,
}

impl EntryOut {
    fn of(e: Entry) -> EntryOut {
        let id = |id: Option<Uuid>| id.map(|id| id.to_string());
        EntryOut {
            seq: e.seq,
            id: e.id.to_string(),
            kind: e.kind.id(),
            subject: id(e.subject),
            at: written(e.at_us),
            received: written(e.received_us),
            by: id(e.by),
            corrects: id(e.corrects),
            corrected_by: id(e.corrected_by),
            body: e.body,
            hash: e.hash,
        }
    }
}

/// What became of an entry.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "Receipt")]
pub(crate) struct ReceiptOut {
    /// Its id.
    id: String,
    /// Its number in order of receipt.
    seq: i64,
    /// Whether it had been received before.
    was_there: bool,
}

impl ReceiptOut {
    fn of(r: &Receipt) -> ReceiptOut {
        ReceiptOut { id: r.id.to_string(), seq: r.seq, was_there: r.was_there }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ListAsked {
    subject: Option<Uuid>,
    /// One kind, or several with commas between.
    kind: Option<String>,
    from: Option<String>,
    to: Option<String>,
    after: Option<i64>,
    before: Option<i64>,
    text: Option<String>,
    by: Option<Uuid>,
    order: Option<Order>,
    limit: Option<u32>,
}

#[derive(Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Order {
    OldestFirst,
    NewestFirst,
}

pub(crate) async fn list(
    State(app): State<App>,
    ctx: Ctx,
    Asked(asked): Asked<ListAsked>,
    headers: HeaderMap,
) -> Reply {
    let limit = sent::limit(asked.limit)?;
    let one = |fault| Problem::unusable(vec![fault]);
    let time = |field, text: &Option<String>| {
        text.as_deref().map(|t| sent::moment(field, t)).transpose().map_err(one)
    };
    let newest_first = asked.order == Some(Order::NewestFirst);
    let filter = Filter {
        subject: asked.subject,
        kinds: kinds(&ctx, asked.kind.as_deref())?,
        from_us: time("from", &asked.from)?,
        to_us: time("to", &asked.to)?,
        after_seq: asked.after,
        before_seq: asked.before,
        text: asked.text.clone(),
        by: asked.by,
        newest_first,
        limit: Some(limit + 1),
    };
    let mut entries = app.book().entries(&filter).await?;
    let more = entries.len() > limit as usize;
    entries.truncate(limit as usize);
    let last = if more { entries.last().map(|e| e.seq) } else { None };
    let next = last.map(|seq| {
        let (after, before) = if newest_first { (asked.after, Some(seq)) } else { (Some(seq), asked.before) };
        reply::address(
            "/api/v1/entries",
            &[
                ("subject", asked.subject.map(|s| s.to_string())),
                ("kind", asked.kind),
                ("from", asked.from),
                ("to", asked.to),
                ("text", asked.text),
                ("by", asked.by.map(|b| b.to_string())),
                ("order", newest_first.then(|| "newest-first".to_owned())),
                ("limit", Some(limit.to_string())),
                ("after", after.map(|a| a.to_string())),
                ("before", before.map(|b| b.to_string())),
            ],
        )
    });
    reply::page(&headers, entries.into_iter().map(EntryOut::of).collect(), next)
}

/// The kinds that were asked for, or all that this person may read.
fn kinds(ctx: &Ctx, asked: Option<&str>) -> Result<Vec<Kind>, Problem> {
    let may = |kind: Kind| ctx.who.role >= least_to_read(kind);
    let Some(asked) = asked else { return Ok(KINDS.into_iter().filter(|k| may(*k)).collect()) };
    let kinds: Result<Vec<Kind>, Fault> = asked.split(',').map(|word| sent::kind(word.trim())).collect();
    let kinds = kinds.map_err(|fault| Problem::unusable(vec![fault]))?;
    match kinds.iter().find(|k| !may(**k)) {
        Some(kind) => Err(forbidden(*kind)),
        None => Ok(kinds),
    }
}

fn forbidden(kind: Kind) -> Problem {
    Problem::new(StatusCode::FORBIDDEN, format!("Entries of the kind {kind} need another role."))
}

pub(crate) async fn one(State(app): State<App>, ctx: Ctx, Id(id): Id, headers: HeaderMap) -> Reply {
    let entry = app.book().entry(id).await?.ok_or_else(|| Problem::missing("entry"))?;
    if ctx.who.role < least_to_read(entry.kind) {
        return Err(forbidden(entry.kind));
    }
    reply::json(&headers, &EntryOut::of(entry))
}

pub(crate) async fn record(State(app): State<App>, ctx: Ctx, headers: HeaderMap, sent: Sent) -> Reply {
    let key = idempotency(&ctx, &headers)?;
    let request_hash = secret::hash(&sent.text);
    if let Some(key) = &key
        && let Some(before) = app.book().answered(key).await?
    {
        if before.request_hash != request_hash {
            let detail = "This Idempotency-Key was used for another request; a new one is needed.";
            return Err(Problem::new(StatusCode::CONFLICT, detail));
        }
        return Ok(answer(StatusCode::OK, before.answer));
    }
    let many = sent.value.is_array();
    let mut entries = read(sent.value)?;
    for (index, entry) in entries.iter_mut().enumerate() {
        match least_to_record(entry.kind) {
            Some(least) if ctx.who.role >= least => {}
            _ => {
                let detail = format!(
                    "Entry {index}: to record a {} needs another role. Nothing was recorded.",
                    entry.kind
                );
                return Err(Problem::new(StatusCode::FORBIDDEN, detail));
            }
        }
        if ctx.who.person.is_some() {
            entry.by = ctx.who.person;
        }
    }
    let receipts = app.record(&entries).await?;
    let new = receipts.iter().any(|r| !r.was_there);
    let out: Vec<ReceiptOut> = receipts.iter().map(ReceiptOut::of).collect();
    let text = match out.first() {
        Some(first) if !many => reply::text_of(first)?,
        _ => reply::text_of(&out)?,
    };
    if let Some(key) = &key {
        let answered = Answered { request_hash, status: 200, answer: text.clone() };
        app.book().keep_answer(key, &answered, app.now_us()).await?;
    }
    Ok(answer(if new { StatusCode::CREATED } else { StatusCode::OK }, text))
}

fn answer(status: StatusCode, text: String) -> Response {
    (status, [(CONTENT_TYPE, "application/json")], text).into_response()
}

/// One entry or a list of them; every fault of every one.
fn read(value: Value) -> Result<Vec<NewEntry>, Problem> {
    let (values, many) = match value {
        Value::Array(values) => (values, true),
        one => (vec![one], false),
    };
    if values.is_empty() || values.len() > ENTRIES_MOST {
        let what = format!("has {} entries", values.len());
        return Err(Problem::unusable(vec![Fault::new(
            "",
            what,
            format!("1 to {ENTRIES_MOST} are accepted"),
        )]));
    }
    let (mut entries, mut faults) = (Vec::new(), Vec::new());
    for (index, value) in values.into_iter().enumerate() {
        match EntryIn::read(value) {
            Ok(entry) => entries.push(entry),
            Err(found) => {
                faults.extend(found.into_iter().map(|f| Fault { index: many.then_some(index), ..f }));
            }
        }
    }
    if faults.is_empty() { Ok(entries) } else { Err(Problem::unusable(faults)) }
}

/// The hash of the idempotency key, one person's keys apart from another's.
fn idempotency(ctx: &Ctx, headers: &HeaderMap) -> Result<Option<String>, Problem> {
    let Some(key) = headers.get("idempotency-key") else { return Ok(None) };
    let key = key.as_bytes();
    if key.is_empty() || key.len() > 255 || !key.iter().all(|b| (0x20..0x7f).contains(b)) {
        let accepted = "1 to 255 visible signs are accepted";
        return Err(Problem::unusable(vec![Fault::new("Idempotency-Key", "cannot be used", accepted)]));
    }
    let person = ctx.who.person.map(|p| p.to_string()).unwrap_or_default();
    Ok(Some(secret::hash_of(&[person.as_bytes(), key])))
}
