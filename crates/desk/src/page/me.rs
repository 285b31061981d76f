//! One's own settings: language and units. Kept with the person, or in this browser where nobody has a name.

use crate::ctx::Ctx;
use crate::error::Answer;
use crate::page::fields::{Field, Input, Typed, draw};
use crate::page::people::{languages, units};
use crate::page::shell;
use crate::page::things::{entry_field, entry_id, one, refused, save};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::unit::Units;
use crate::words::{LANGUAGES, t};
use axum::extract::State;
use axum::http::header::SET_COOKIE;
use axum::http::{HeaderMap, HeaderValue, Method};
use axum::response::{IntoResponse, Redirect};
use axum::routing::get;
use axum::{Form, Router};
use book::Kind;
use care::wire::Problem;
use maud::{Markup, html};
use serde_json::json;

pub(crate) const RULES: &[Rule] = &[(Method::GET, "/me", Role::Viewer), (Method::POST, "/me", Role::Viewer)];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/me", get(show).post(store))
}

/// Names of the cookies.
pub(crate) const LANGUAGE: &str = "tubwright-language";
pub(crate) const UNITS: &str = "tubwright-units";
const YEAR_S: u32 = 365 * 24 * 3600;

/// The value of a cookie that was sent.
pub(crate) fn cookie(headers: &HeaderMap, name: &str) -> Option<String> {
    let all = headers.get_all("cookie").iter().filter_map(|h| h.to_str().ok());
    let mut pairs = all.flat_map(|h| h.split(';')).filter_map(|pair| pair.trim().split_once('='));
    pairs.find(|(n, _)| *n == name).map(|(_, v)| v.to_owned())
}

fn fields(ctx: &Ctx) -> Vec<Field> {
    vec![
        Field::new("language", t!(ctx, "me-language"), Input::Choice(languages(ctx)))
            .hint(t!(ctx, "me-language-hint")),
        Field::new("units", t!(ctx, "me-units"), Input::Choice(units(ctx))).hint(t!(ctx, "me-units-hint")),
    ]
}

async fn show(State(app): State<App>, ctx: Ctx, headers: HeaderMap) -> Answer {
    let chosen = match ctx.who.person {
        Some(person) => {
            one(&app, &ctx, Kind::Person, person).await?.body["language"].as_str().map(str::to_owned)
        }
        None => cookie(&headers, LANGUAGE),
    };
    let units = if ctx.units == Units::Us { "us" } else { "metric" };
    let typed = Typed(vec![
        ("language".to_owned(), chosen.unwrap_or_default()),
        ("units".to_owned(), units.to_owned()),
    ]);
    Ok(page(&ctx, &typed, &[]).into_response())
}

fn page(ctx: &Ctx, typed: &Typed, faults: &[Problem]) -> Markup {
    let title = t!(ctx, "me-title");
    let body = html! {
        div.heading { h1 { (title) } @if !ctx.who.name.is_empty() { p { (ctx.who.name) } } }
        form.thing method="post" action="/me" {
            (entry_field())
            (draw(ctx, &fields(ctx), typed, faults))
            p.soft { (t!(ctx, "me-theme")) }
            div.actions { button.first type="submit" { (t!(ctx, "fields-save")) } }
        }
    };
    shell::page(ctx, &title, &body)
}

async fn store(State(app): State<App>, ctx: Ctx, Form(typed): Form<Vec<(String, String)>>) -> Answer {
    let typed = Typed(typed);
    let done = Redirect::to("/me").into_response();
    if let Some(person) = ctx.who.person {
        let thing = one(&app, &ctx, Kind::Person, person).await?;
        let body = typed.fill_body(&ctx, &fields(&ctx), thing.body);
        let faults = save(&app, &ctx, Kind::Person, person, entry_id(&typed), body).await?;
        return Ok(if faults.is_empty() { done } else { refused(page(&ctx, &typed, &faults)) });
    }
    let language = typed.get("language");
    let known = language.is_empty() || LANGUAGES.iter().any(|(code, _)| *code == language);
    let units = typed.get("units");
    let mut faults = Vec::new();
    let mut fault = |field: &str, value: &str, accepted: &str| {
        let what = format!("is {}", json!(value));
        faults.push(Problem {
            file: String::new(),
            line: None,
            field: field.into(),
            what,
            accepted: accepted.into(),
        });
    };
    if !known {
        fault("language", language, "en, de or fr is accepted");
    }
    if !matches!(units, "metric" | "us") {
        fault("units", units, "metric or us is accepted");
    }
    if !faults.is_empty() {
        return Ok(refused(page(&ctx, &typed, &faults)));
    }
    let mut response = done;
    for (name, value) in [(LANGUAGE, language), (UNITS, units)] {
        let age = if value.is_empty() { 0 } else { YEAR_S };
        let text = format!("{name}={value}; Path=/; Max-Age={age}; HttpOnly; SameSite=Lax");
        if let Ok(header) = HeaderValue::from_str(&text) {
            response.headers_mut().append(SET_COOKIE, header);
        }
    }
    Ok(response)
}
