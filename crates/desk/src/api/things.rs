//! Tubs, sites, source waters, shelves, methods, bands, people: read, and written as a new version.

use crate::api::problem::Problem;
use crate::api::reply::{self, Reply};
use crate::api::sent::{self, Asked, Id, Sent};
use crate::ctx::Ctx;
use crate::state::App;
use axum::Router;
use axum::extract::State;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG};
use axum::http::{HeaderMap, StatusCode};
use axum::response::IntoResponse;
use axum::routing::get;
use book::{Kind, NewEntry, Thing, ThingFilter, Uuid};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// Where each kind of thing is.
pub(crate) const PATHS: [(&str, Kind); 7] = [
    ("bands", Kind::Band),
    ("methods", Kind::Method),
    ("people", Kind::Person),
    ("shelves", Kind::Shelf),
    ("sites", Kind::Site),
    ("source-waters", Kind::SourceWater),
    ("tubs", Kind::Tub),
];

pub(crate) fn routes(path: &'static str, kind: Kind) -> Router<App> {
    let list = move |State(app): State<App>, Asked(asked): Asked<ListAsked>, headers: HeaderMap| async move {
        list(&app, path, kind, asked, &headers).await
    };
    let one = move |State(app): State<App>, Id(id): Id, headers: HeaderMap| async move {
        let thing = app.book().thing(kind, id).await?.ok_or_else(|| Problem::missing(kind.id()))?;
        reply::json(&headers, &ThingOut::of(thing))
    };
    let put = move |State(app): State<App>, ctx: Ctx, Id(id): Id, headers: HeaderMap, body: Sent| async move {
        put(&app, &ctx, kind, id, &headers, body.value).await
    };
    Router::new()
        .route(&format!("/api/v1/{path}"), get(list))
        .route(&format!("/api/v1/{path}/{{id}}"), get(one).put(put))
}

/// A thing as it is now.
#[derive(Debug, Clone, Serialize, JsonSchema)]
#[schemars(rename = "Thing")]
pub(crate) struct ThingOut {
    /// Its id.
    #[schemars(extend("format" = "uuid"))]
    id: String,
    /// What it is.
    kind: &'static str,
    /// What it is called.
    name: String,
    /// Whether it is no longer used.
    archived: bool,
    /// When this version was made, RFC 3339.
    #[schemars(extend("format" = "date-time"))]
    at: String,
    /// The entry that this version stands in.
    #[schemars(extend("format" = "uuid"))]
    entry: String,
    /// What it says: the shape that is written.
    body: Value,
}

impl ThingOut {
    fn of(thing: Thing) -> ThingOut {
        ThingOut {
            id: thing.id.to_string(),
            kind: thing.kind.id(),
            name: thing.name,
            archived: thing.archived,
            at: written(thing.at_us),
            entry: thing.entry.to_string(),
            body: thing.body,
        }
    }
}

/// RFC 3339 in UTC.
pub(crate) fn written(at_us: i64) -> String {
    jiff::Timestamp::from_microsecond(at_us).unwrap_or(jiff::Timestamp::UNIX_EPOCH).to_string()
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct ListAsked {
    text: Option<String>,
    site: Option<Uuid>,
    archived: Option<bool>,
    after: Option<Uuid>,
    limit: Option<u32>,
}

async fn list(app: &App, path: &str, kind: Kind, asked: ListAsked, headers: &HeaderMap) -> Reply {
    let limit = sent::limit(asked.limit)?;
    let filter = ThingFilter {
        text: asked.text.clone(),
        site: asked.site,
        archived: asked.archived,
        after: asked.after,
        limit: Some(limit + 1),
    };
    let mut things = app.book().things(kind, &filter).await?;
    let more = things.len() > limit as usize;
    things.truncate(limit as usize);
    let last = if more { things.last().map(|t| t.id.to_string()) } else { None };
    let next = last.map(|last| {
        reply::address(
            &format!("/api/v1/{path}"),
            &[
                ("text", asked.text),
                ("site", asked.site.map(|s| s.to_string())),
                ("archived", asked.archived.map(|a| a.to_string())),
                ("limit", Some(limit.to_string())),
                ("after", Some(last)),
            ],
        )
    });
    reply::page(headers, things.into_iter().map(ThingOut::of).collect(), next)
}

/// Writes a new version, unless what is there says the same already: sent twice it is one version.
async fn put(app: &App, ctx: &Ctx, kind: Kind, id: Uuid, headers: &HeaderMap, body: Value) -> Reply {
    let before = app.book().thing(kind, id).await?;
    let was_there = before.is_some();
    let same = before.as_ref().is_some_and(|b| b.body == body);
    let tag = match before {
        Some(before) => Some(reply::etag(&reply::text_of(&ThingOut::of(before))?)),
        None => None,
    };
    reply::precondition(headers, tag.as_deref())?;
    let nulls = sent::nulls(&body, "");
    if !nulls.is_empty() {
        return Err(Problem::unusable(nulls));
    }
    if !same {
        let entry = NewEntry {
            id: Uuid::now_v7(),
            kind,
            subject: Some(id),
            at_us: app.now_us(),
            by: ctx.who.person,
            corrects: None,
            body,
        };
        app.record(&[entry]).await?;
    }
    let now = app.book().thing(kind, id).await?.ok_or_else(|| Problem::missing(kind.id()))?;
    let text = reply::text_of(&ThingOut::of(now))?;
    let status = if was_there { StatusCode::OK } else { StatusCode::CREATED };
    let kept = [(CACHE_CONTROL, "private, no-cache".to_owned()), (ETAG, reply::etag(&text))];
    Ok((status, kept, [(CONTENT_TYPE, "application/json")], text).into_response())
}
