//! What is answered: JSON with a mark of its content, so that whoever has it already need not fetch it again.

use crate::api::problem::Problem;
use crate::doors::secret;
use crate::page::today::encoded;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, IF_MATCH, IF_NONE_MATCH, LINK};
use axum::http::{HeaderMap, HeaderValue, StatusCode};
use axum::response::{IntoResponse, Response};
use serde::Serialize;

/// What a handler gives.
pub(crate) type Reply = Result<Response, Problem>;

/// A page of a list.
#[derive(Serialize)]
pub(crate) struct Items<T> {
    pub(crate) items: Vec<T>,
    /// The address of the next page.
    pub(crate) next: Option<String>,
}

/// The mark of a content (RFC 9110: a strong entity tag).
pub(crate) fn etag(text: &str) -> String {
    let hash = secret::hash(text);
    format!("\"{}\"", hash.get(..32).unwrap_or(&hash))
}

/// Text of JSON.
pub(crate) fn text_of(value: &impl Serialize) -> Result<String, Problem> {
    serde_json::to_string(value).map_err(|e| {
        Problem::new(StatusCode::INTERNAL_SERVER_ERROR, format!("The answer cannot be written: {e}."))
    })
}

/// 200 with JSON and its mark, or 304 if the asker has it.
pub(crate) fn json(asked: &HeaderMap, value: &impl Serialize) -> Reply {
    let text = text_of(value)?;
    let tag = etag(&text);
    let kept = [(CACHE_CONTROL, "private, no-cache".to_owned()), (ETAG, tag.clone())];
    if names(asked, IF_NONE_MATCH.as_str(), &tag) {
        return Ok((StatusCode::NOT_MODIFIED, kept).into_response());
    }
    Ok((kept, [(CONTENT_TYPE, "application/json")], text).into_response())
}

/// The same for a page of a list, with `Link: <…>; rel="next"`.
pub(crate) fn page<T: Serialize>(asked: &HeaderMap, items: Vec<T>, next: Option<String>) -> Reply {
    let link = next.as_ref().and_then(|n| HeaderValue::from_str(&format!("<{n}>; rel=\"next\"")).ok());
    let mut response = json(asked, &Items { items, next })?;
    if let Some(link) = link {
        response.headers_mut().insert(LINK, link);
    }
    Ok(response)
}

/// Whether a conditional header names this mark, or any.
fn names(asked: &HeaderMap, header: &str, tag: &str) -> bool {
    let all = asked.get_all(header);
    all.iter().filter_map(|h| h.to_str().ok()).flat_map(|h| h.split(',')).any(|one| {
        let one = one.trim();
        one == "*" || one.strip_prefix("W/").unwrap_or(one) == tag
    })
}

/// Whether a change may go ahead: `If-Match` names what is there, `If-None-Match: *` that nothing is.
///
/// # Errors
/// 412.
pub(crate) fn precondition(asked: &HeaderMap, now: Option<&str>) -> Result<(), Problem> {
    let failed = |what: &str| Err(Problem::new(StatusCode::PRECONDITION_FAILED, what));
    if asked.contains_key(IF_MATCH) && !now.is_some_and(|tag| names(asked, IF_MATCH.as_str(), tag)) {
        return failed("Somebody has changed it since it was read. Read it again, and send the change anew.");
    }
    if asked.contains_key(IF_NONE_MATCH) && now.is_some_and(|tag| names(asked, IF_NONE_MATCH.as_str(), tag)) {
        return failed("It is there already.");
    }
    Ok(())
}

/// An address with parameters; those without a value are left out.
pub(crate) fn address(path: &str, parameters: &[(&str, Option<String>)]) -> String {
    let all: Vec<String> = parameters
        .iter()
        .filter_map(|(name, value)| Some(format!("{name}={}", encoded(value.as_deref()?))))
        .collect();
    format!("{path}?{}", all.join("&"))
}
