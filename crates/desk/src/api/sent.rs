//! What is sent: queries and bodies, strictly read, every fault told.

use crate::api::problem::{Fault, Problem};
use axum::body::{Bytes, HttpBody as _};
use axum::extract::{FromRequest, FromRequestParts, Path, Query, Request};
use axum::http::StatusCode;
use axum::http::header::CONTENT_TYPE;
use axum::http::request::Parts;
use book::{Kind, Uuid};
use care::wire::shape::Shape;
use care::wire::{Problems, node};
use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// Items on a page at most, and if nothing is said.
pub(crate) const LIMIT_MOST: u32 = 500;
pub(crate) const LIMIT_USUAL: u32 = 100;

/// The query of an address; a name that is not known is a fault.
pub(crate) struct Asked<T>(pub(crate) T);

impl<T: DeserializeOwned, S: Send + Sync> FromRequestParts<S> for Asked<T> {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, _: &S) -> Result<Asked<T>, Problem> {
        let read = Query::<T>::try_from_uri(&parts.uri);
        let accepted = "the parameters of the description at /api/v1/ are accepted";
        read.map(|Query(asked)| Asked(asked))
            .map_err(|e| Problem::unusable(vec![Fault::new("query", e.body_text(), accepted)]))
    }
}

/// An id in an address. What is no id names nothing.
pub(crate) struct Id(pub(crate) Uuid);

impl<S: Send + Sync> FromRequestParts<S> for Id {
    type Rejection = Problem;

    async fn from_request_parts(parts: &mut Parts, state: &S) -> Result<Id, Problem> {
        let Ok(Path(text)) = Path::<String>::from_request_parts(parts, state).await else {
            return Err(Problem::missing("thing"));
        };
        Uuid::try_parse(&text).map(Id).map_err(|_| Problem::missing("thing"))
    }
}

/// A body of JSON: its text, which is valid JSON.
pub(crate) struct Sent {
    pub(crate) text: String,
    pub(crate) value: Value,
}

impl<S: Send + Sync> FromRequest<S> for Sent {
    type Rejection = Problem;

    async fn from_request(request: Request, state: &S) -> Result<Sent, Problem> {
        let media = request.headers().get(CONTENT_TYPE).and_then(|h| h.to_str().ok()).unwrap_or_default();
        let media = media.split(';').next().unwrap_or_default().trim().to_ascii_lowercase();
        let is_json =
            media == "application/json" || (media.starts_with("application/") && media.ends_with("+json"));
        if !is_json {
            let detail =
                format!("The body is \"{}\"; application/json is accepted.", node::shortened(&media));
            return Err(Problem::new(StatusCode::UNSUPPORTED_MEDIA_TYPE, detail));
        }
        let told = request.body().size_hint().lower();
        let too_large = || {
            Problem::new(StatusCode::PAYLOAD_TOO_LARGE, "The body is too large; at most 2 MiB are accepted.")
        };
        if told > 2 << 20 {
            return Err(too_large());
        }
        let bytes = Bytes::from_request(request, state).await.map_err(|e| match e.status() {
            StatusCode::PAYLOAD_TOO_LARGE => too_large(),
            status => Problem::new(status, e.body_text()),
        })?;
        let unreadable =
            |what: String| Problem::new(StatusCode::BAD_REQUEST, format!("The body is no JSON: {what}."));
        let text = String::from_utf8(bytes.to_vec()).map_err(|e| unreadable(e.to_string()))?;
        let value = serde_json::from_str(&text).map_err(|e| unreadable(e.to_string()))?;
        Ok(Sent { text, value })
    }
}

/// Holds a value against the shape that is published for it.
pub(crate) fn check(shape: &Shape, value: &Value) -> Result<(), Vec<Fault>> {
    let mut problems = Problems::default();
    shape.check(&node::from_value(value), "", &mut problems);
    if problems.is_empty() { Ok(()) } else { Err(problems.into_vec().into_iter().map(Fault::of).collect()) }
}

/// The fields that are sent as null, which the published shapes do not accept: a field that says nothing is left out. The
/// book itself counts both as one, so nothing else would tell the sender.
pub(crate) fn nulls(value: &Value, path: &str) -> Vec<Fault> {
    let below = |name: &str| if path.is_empty() { name.to_owned() } else { format!("{path}.{name}") };
    match value {
        Value::Object(fields) => fields
            .iter()
            .flat_map(|(name, field)| match field {
                Value::Null => vec![Fault::new(
                    &below(name),
                    "is null",
                    "a value is accepted; leave the field out if it says nothing",
                )],
                _ => nulls(field, &below(name)),
            })
            .collect(),
        Value::Array(items) => items
            .iter()
            .enumerate()
            .flat_map(|(i, item)| nulls(item, &format!("{path}[{}]", i + 1)))
            .collect(),
        _ => Vec::new(),
    }
}

/// A moment, RFC 3339; without an offset it counts as UTC, as in a case file.
pub(crate) fn moment(field: &str, text: &str) -> Result<i64, Fault> {
    let at = text.parse::<Timestamp>().or_else(|e| {
        let civil = text.parse::<DateTime>().map_err(|_| e)?;
        TimeZone::UTC.to_timestamp(civil)
    });
    at.map(Timestamp::as_microsecond).map_err(|_| {
        let what = format!("is \"{}\"", node::shortened(text));
        Fault::new(field, what, "a time as in 2026-03-01T18:30:00Z (RFC 3339) is accepted")
    })
}

/// How many items a page has.
pub(crate) fn limit(asked: Option<u32>) -> Result<u32, Problem> {
    let limit = asked.unwrap_or(LIMIT_USUAL);
    if (1..=LIMIT_MOST).contains(&limit) {
        return Ok(limit);
    }
    let accepted = format!("1 to {LIMIT_MOST} is accepted");
    Err(Problem::unusable(vec![Fault::new("limit", format!("is {limit}"), accepted)]))
}

/// A kind by its word.
pub(crate) fn kind(text: &str) -> Result<Kind, Fault> {
    Kind::from_id(text)
        .ok_or_else(|| Fault::new("kind", format!("is \"{}\"", node::shortened(text)), Kind::accepted()))
}

/// An id in what was sent.
pub(crate) fn id(field: &str, text: &str) -> Result<Uuid, Fault> {
    Uuid::try_parse(text)
        .map_err(|_| Fault::new(field, format!("is \"{}\"", node::shortened(text)), "a UUID is accepted"))
}
