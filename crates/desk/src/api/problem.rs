//! Errors of the interface: problem documents after RFC 9457, each fault with its field.

use axum::Json;
use axum::body::Body;
use axum::extract::Request;
use axum::http::header::{CONTENT_LENGTH, CONTENT_TYPE};
use axum::http::{HeaderValue, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use book::BookError;
use schemars::JsonSchema;
use serde::Serialize;

pub(crate) const MEDIA_TYPE: &str = "application/problem+json";

/// A request that got no answer. `type` is `about:blank`: the status says what kind of problem it is.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Problem")]
pub(crate) struct Problem {
    /// `about:blank`.
    r#type: &'static str,
    /// The status in words.
    title: String,
    /// The status.
    #[schemars(range(min = 400, max = 599))]
    status: u16,
    /// What was wrong, and what would be right.
    detail: String,
    /// Each fault of what was sent.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schemars(default)]
    faults: Vec<Fault>,
}

/// One fault.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub(crate) struct Fault {
    /// Where several entries were sent: which one, from 0.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(crate) index: Option<usize>,
    /// The field's path.
    pub(crate) field: String,
    /// What is wrong with it, with its value.
    pub(crate) what: String,
    /// What is accepted.
    pub(crate) accepted: String,
}

impl Fault {
    pub(crate) fn new(field: &str, what: impl Into<String>, accepted: impl Into<String>) -> Fault {
        Fault { index: None, field: field.into(), what: what.into(), accepted: accepted.into() }
    }

    pub(crate) fn of(problem: care::wire::Problem) -> Fault {
        Fault { index: None, field: problem.field, what: problem.what, accepted: problem.accepted }
    }
}

impl Problem {
    pub(crate) fn new(status: StatusCode, detail: impl Into<String>) -> Problem {
        let title = status.canonical_reason().unwrap_or("Error").to_owned();
        Problem {
            r#type: "about:blank",
            title,
            status: status.as_u16(),
            detail: detail.into(),
            faults: Vec::new(),
        }
    }

    pub(crate) fn missing(what: &str) -> Problem {
        Problem::new(StatusCode::NOT_FOUND, format!("There is no {what} with this id."))
    }

    /// What was sent could be read and cannot be used.
    pub(crate) fn unusable(faults: Vec<Fault>) -> Problem {
        let detail = match faults.len() {
            1 => "What was sent has a fault; nothing was done.".to_owned(),
            n => format!("What was sent has {n} faults; nothing was done."),
        };
        Problem { faults, ..Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail) }
    }

    /// The question is right, and what the book holds of the tub does not answer it yet: a conflict with the state of the
    /// thing (RFC 9110, section 15.5.10), which another entry mends.
    pub(crate) fn not_yet(faults: Vec<Fault>) -> Problem {
        let detail = "What the book holds of this tub is not enough for an answer.";
        Problem { faults, ..Problem::new(StatusCode::CONFLICT, detail) }
    }

    fn with_status(self, status: StatusCode) -> Problem {
        Problem { faults: self.faults, detail: self.detail, ..Problem::new(status, "") }
    }
}

impl From<BookError> for Problem {
    fn from(e: BookError) -> Problem {
        match e {
            BookError::Refused(refusals) => {
                // An id that is taken is a conflict with what is there, not a fault of form.
                let taken = |r: &book::Refusal| {
                    r.problems.iter().all(|p| p.field == "id" && p.what.starts_with("is there already"))
                };
                let conflict = refusals.iter().all(taken);
                let faults = refusals.into_iter().flat_map(|r| {
                    let index = Some(r.index);
                    r.problems.into_iter().map(move |p| Fault { index, ..Fault::of(p) })
                });
                let problem = Problem::unusable(faults.collect());
                if conflict { problem.with_status(StatusCode::CONFLICT) } else { problem }
            }
            BookError::Case(problems) | BookError::File(problems) => {
                Problem::unusable(problems.into_iter().map(Fault::of).collect())
            }
            BookError::Question { field, what, accepted } => {
                Problem::unusable(vec![Fault::new(field, what, accepted)])
            }
            other => {
                tracing::error!(why = %other, "the book did not answer");
                Problem::new(
                    StatusCode::SERVICE_UNAVAILABLE,
                    "The book does not answer. Send it again later.",
                )
            }
        }
    }
}

impl IntoResponse for Problem {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        (status, [(CONTENT_TYPE, MEDIA_TYPE)], Json(self)).into_response()
    }
}

/// Turns what the layers around the interface refuse into problem documents too.
pub(crate) async fn finish(request: Request, next: Next) -> Response {
    let path = request.uri().path();
    let for_api = path.starts_with("/api/") || path == "/api";
    let response = next.run(request).await;
    let status = response.status();
    let done =
        response.headers().get(CONTENT_TYPE).is_some_and(|t| t.as_bytes().starts_with(MEDIA_TYPE.as_bytes()));
    if !for_api || done || !(status.is_client_error() || status.is_server_error()) {
        return response;
    }
    let (mut parts, _) = response.into_parts();
    let text = serde_json::to_string(&Problem::new(status, detail(status))).unwrap_or_default();
    parts.headers.insert(CONTENT_TYPE, HeaderValue::from_static(MEDIA_TYPE));
    parts.headers.remove(CONTENT_LENGTH);
    Response::from_parts(parts, Body::from(text))
}

fn detail(status: StatusCode) -> &'static str {
    match status {
        StatusCode::UNAUTHORIZED => "Log in, or send a token: Authorization: Bearer …",
        StatusCode::FORBIDDEN => "This needs another role, or was sent from another site.",
        StatusCode::NOT_FOUND => "There is nothing here; /api/v1/ tells what there is.",
        StatusCode::METHOD_NOT_ALLOWED => "The header Allow names the methods that are accepted here.",
        StatusCode::PAYLOAD_TOO_LARGE => "At most 2 MiB are accepted.",
        StatusCode::UNSUPPORTED_MEDIA_TYPE => "JSON is accepted: Content-Type: application/json",
        StatusCode::TOO_MANY_REQUESTS => "Too many requests; the header Retry-After says how long to wait.",
        StatusCode::MISDIRECTED_REQUEST => "This server answers to localhost alone.",
        StatusCode::SERVICE_UNAVAILABLE => {
            "It takes too long, or the book does not answer. Send it again later."
        }
        _ => "This did not work.",
    }
}
