//! Who may do what: one table, asked in one place, for every route.
//!
//! A route without a rule answers 403 to everybody: what nobody thought about is closed.

use crate::ctx::Ctx;
use crate::doors::address;
use crate::doors::identify::Via;
use crate::error::PageError;
use crate::state::App;
use crate::unit::Units;
use axum::extract::{FromRequestParts, MatchedPath, Request, State};
use axum::http::header::{ALLOW, RETRY_AFTER, WWW_AUTHENTICATE};
use axum::http::request::Parts;
use axum::http::{HeaderValue, Method, StatusCode};
use axum::middleware::Next;
use axum::response::{IntoResponse, Redirect, Response};
use book::{BookError, Kind};
use uuid::Uuid;

/// What a person may do, from least to most.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Not known: may see the way in, nothing else.
    Nobody,
    /// Holds an owner's private link: that one sheet, and a reading sent.
    OwnerLink,
    /// Reads everything.
    Viewer,
    /// Records, plans, changes shelves and tubs.
    Technician,
    /// Also people, bands, methods, and the book as a whole.
    Lead,
}

/// Who asks.
#[derive(Debug, Clone)]
pub(crate) struct Who {
    pub(crate) person: Option<Uuid>,
    pub(crate) name: String,
    pub(crate) role: Role,
    /// Their own choice, before the browser's.
    pub(crate) language: Option<String>,
    pub(crate) units: Units,
}

impl Who {
    pub(crate) fn nobody() -> Who {
        Who { person: None, name: String::new(), role: Role::Nobody, language: None, units: Units::Metric }
    }

    /// The one person of a server that only this machine reaches.
    pub(crate) fn alone() -> Who {
        Who { role: Role::Lead, ..Who::nobody() }
    }
}

/// A route and the least role that it needs.
pub type Rule = (Method, &'static str, Role);

/// Every rule there is.
pub fn rules() -> impl Iterator<Item = &'static Rule> {
    [
        crate::api::RULES,
        crate::asset::RULES,
        crate::page::access::RULES,
        crate::page::login::RULES,
        crate::page::plan::RULES,
        crate::page::practice::RULES,
        crate::page::reading::RULES,
        crate::page::bands::RULES,
        crate::page::log::RULES,
        crate::page::me::RULES,
        crate::page::outlook::RULES,
        crate::page::methods::RULES,
        crate::page::owner::RULES,
        crate::page::people::RULES,
        crate::page::setup::RULES,
        crate::page::sheet::RULES,
        crate::page::shelves::RULES,
        crate::page::waters::RULES,
        crate::page::today::RULES,
        crate::page::tub::RULES,
        crate::page::waiting::RULES,
        crate::page::what_if::RULES,
        crate::page::why::RULES,
        crate::serve::RULES,
    ]
    .into_iter()
    .flatten()
}

impl Role {
    /// The role of a person, by the record's word.
    pub fn of_person(word: &str) -> Option<Role> {
        match word {
            "lead" => Some(Role::Lead),
            "technician" => Some(Role::Technician),
            "viewer" => Some(Role::Viewer),
            _ => None,
        }
    }
}

/// The least role that may record an entry of a kind; `None`: nobody from outside, the program alone.
pub(crate) fn least_to_record(kind: Kind) -> Option<Role> {
    match kind {
        Kind::Reading | Kind::Dose | Kind::Event | Kind::StepDone | Kind::Note | Kind::Photo => {
            Some(Role::Technician)
        }
        Kind::Tub | Kind::Site | Kind::SourceWater | Kind::Shelf => Some(Role::Technician),
        Kind::Method | Kind::Band | Kind::Person => Some(Role::Lead),
        Kind::Audit => None,
    }
}

/// The least role that may read entries and things of a kind.
pub(crate) fn least_to_read(kind: Kind) -> Role {
    match kind {
        Kind::Audit => Role::Lead,
        _ => Role::Viewer,
    }
}

/// Lets a request through, or not.
pub(crate) async fn admit(State(app): State<App>, mut request: Request, next: Next) -> Response {
    let for_api = request.uri().path().starts_with("/api/");
    let path = request.extensions().get::<MatchedPath>().map(|p| p.as_str().to_owned());
    let own: Vec<&Rule> = path.iter().flat_map(|p| rules().filter(move |rule| rule.1 == p)).collect();
    if own.iter().all(|rule| rule.2 == Role::Nobody)
        && path.as_deref().is_some_and(needs_no_name)
        && !own.is_empty()
    {
        return match rule_for(&own, request.method()) {
            Some(_) => next.run(request).await,
            None => not_allowed(&own),
        };
    }
    let (who, via) = match app.identify(request.headers(), for_api).await {
        Ok(known) => known,
        Err(why) => return unreachable(&why),
    };
    if for_api && via != Via::Alone {
        let from = address::of(&app, request.headers(), request.extensions());
        let asker = who.person.map_or_else(|| address::asker(from), |p| p.to_string());
        if let Err(seconds) = app.inner.doors.requests.take(&asker, app.now_us()) {
            let wait = [(RETRY_AFTER, seconds.to_string())];
            return (StatusCode::TOO_MANY_REQUESTS, wait).into_response();
        }
    }
    let linked = own.iter().any(|rule| rule.2 == Role::OwnerLink);
    let (who, link) = if linked {
        // The link alone opens what it is for: neither a session nor a role stands in for it.
        match crate::page::owner::opened(&app, request.uri().path()).await {
            Ok(link) => (Who { role: link.as_ref().map_or(Role::Nobody, |_| Role::OwnerLink), ..who }, link),
            Err(why) => return unreachable(&why),
        }
    } else {
        (who, None)
    };
    let role = who.role;
    request.extensions_mut().insert(who);
    request.extensions_mut().insert(via);
    if let Some(link) = link {
        request.extensions_mut().insert(link);
    }
    if path.is_none() {
        return next.run(request).await; // no such route: the answer is the same for everybody
    }
    match rule_for(&own, request.method()) {
        Some(rule) if role >= rule.2 => {
            let (mut parts, body) = request.into_parts();
            match by_another(&app, &mut parts).await {
                Ok(None) => next.run(Request::from_parts(parts, body)).await,
                Ok(Some(refused)) => refused,
                Err(why) => unreachable(&why),
            }
        }
        Some(_) if linked => {
            let Ok(ctx) = Ctx::from_request_parts(&mut request.into_parts().0, &app).await;
            crate::page::owner::gone(&ctx)
        }
        Some(_) => refuse(&app, request, role).await,
        None if own.is_empty() => StatusCode::FORBIDDEN.into_response(),
        None => not_allowed(&own),
    }
}

/// Who wrote what is sent, as the page that it was written on was served: a device may send it later, when another person
/// is logged in. The answer says so in the same header.
const WRITER: &str = "x-tubwright-writer";

/// The answer to what somebody else wrote on this device: nobody's name stands under another's reading, and the device
/// keeps it until its writer is logged in.
async fn by_another(app: &App, parts: &mut Parts) -> Result<Option<Response>, BookError> {
    let Some(written) = parts.headers.get(WRITER).map(|h| h.to_str().unwrap_or_default().to_owned()) else {
        return Ok(None);
    };
    let Ok(ctx) = Ctx::from_request_parts(parts, app).await;
    let writer = Uuid::try_parse(&written).ok();
    // Where nobody has a name there is one person alone.
    if ctx.who.person.is_none() || ctx.who.person == writer {
        return Ok(None);
    }
    let thing = match writer {
        Some(id) => app.book().thing(Kind::Person, id).await?,
        None => None,
    };
    let mut response = PageError::AnotherWriter(thing.map(|t| t.name)).at(&ctx).into_response();
    response.headers_mut().insert(WRITER, HeaderValue::from_static("another"));
    Ok(Some(response))
}

fn unreachable(why: &BookError) -> Response {
    tracing::error!(%why, "the book did not answer");
    (StatusCode::SERVICE_UNAVAILABLE, "The book does not answer.").into_response()
}

/// What is asked for all the time and says nothing of anybody.
fn needs_no_name(path: &str) -> bool {
    path == "/healthz" || path.starts_with("/assets/")
}

fn rule_for<'a>(own: &[&'a Rule], method: &Method) -> Option<&'a Rule> {
    let method = if method == Method::HEAD { &Method::GET } else { method };
    own.iter().find(|(m, ..)| m == method).copied()
}

fn not_allowed(own: &[&Rule]) -> Response {
    let methods: Vec<&str> = own.iter().map(|(m, ..)| m.as_str()).collect();
    let head = if methods.contains(&"GET") { ", HEAD" } else { "" };
    (StatusCode::METHOD_NOT_ALLOWED, [(ALLOW, format!("{}{head}", methods.join(", ")))]).into_response()
}

/// The way in for whoever is not known; for the others, that they may not.
async fn refuse(app: &App, request: Request, role: Role) -> Response {
    let known = role > Role::Nobody;
    let (mut parts, _) = request.into_parts();
    if parts.uri.path().starts_with("/api/") {
        return if known {
            StatusCode::FORBIDDEN.into_response()
        } else {
            (StatusCode::UNAUTHORIZED, [(WWW_AUTHENTICATE, "Bearer realm=\"Tubwright\"")]).into_response()
        };
    }
    if !known && (parts.method == Method::GET || parts.method == Method::HEAD) {
        let wanted = parts.uri.path_and_query().map_or("/", |p| p.as_str());
        return Redirect::to(&format!("/login?next={}", crate::page::today::encoded(wanted))).into_response();
    }
    let Ok(ctx) = Ctx::from_request_parts(&mut parts, app).await;
    let mut response = PageError::Forbidden.at(&ctx).into_response();
    if !known {
        // Whoever kept the form can send it again after logging in: nothing of it was lost here.
        *response.status_mut() = StatusCode::UNAUTHORIZED;
    }
    response
}
