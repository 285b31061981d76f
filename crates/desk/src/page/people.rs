//! People: names, roles, language and units. How they come in is their account's matter.

use crate::ctx::Ctx;
use crate::page::address::Path;
use crate::page::fields::{Field, Input, Typed};
use crate::page::things::{Sort, blank, edit, list, store};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::{LANGUAGES, t};
use axum::extract::State;
use axum::http::Method;
use axum::routing::get;
use axum::{Form, Router};
use book::{Kind, Uuid};
use serde_json::Value;

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/people", Role::Viewer),
    (Method::GET, "/people/new", Role::Lead),
    (Method::GET, "/people/{id}", Role::Viewer),
    (Method::POST, "/people/{id}", Role::Lead),
];

static SORT: Sort = Sort {
    kind: Kind::Person,
    path: "/people",
    title: "people-title",
    lead: "people-lead",
    new: "people-new",
    fields,
    line,
};

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/people", get(|State(app): State<App>, ctx: Ctx| list(app, ctx, &SORT)))
        .route("/people/new", get(|ctx: Ctx| blank(ctx, &SORT)))
        .route(
            "/people/{id}",
            get(|State(app): State<App>, ctx: Ctx, Path(id): Path<Uuid>| edit(app, ctx, &SORT, id)).post(
                |State(app): State<App>,
                 ctx: Ctx,
                 Path(id): Path<Uuid>,
                 Form(typed): Form<Vec<(String, String)>>| {
                    store(app, ctx, &SORT, id, Typed(typed))
                },
            ),
        )
}

/// Languages to choose from, each in itself; the first leaves it to the browser.
pub(crate) fn languages(ctx: &Ctx) -> Vec<(String, String)> {
    let own = LANGUAGES.iter().map(|(code, name)| ((*code).to_owned(), (*name).to_owned()));
    std::iter::once((String::new(), t!(ctx, "me-language-browser"))).chain(own).collect()
}

/// Units to choose from.
pub(crate) fn units(ctx: &Ctx) -> Vec<(String, String)> {
    vec![("metric".to_owned(), t!(ctx, "me-metric")), ("us".to_owned(), t!(ctx, "me-us"))]
}

fn role(ctx: &Ctx, word: &str) -> String {
    match word {
        "lead" => t!(ctx, "role-lead"),
        "technician" => t!(ctx, "role-technician"),
        _ => t!(ctx, "role-viewer"),
    }
}

fn fields(ctx: &Ctx) -> Vec<Field> {
    let roles = ["technician", "lead", "viewer"].map(|word| (word.to_owned(), role(ctx, word))).to_vec();
    vec![
        Field::new("name", t!(ctx, "things-name"), Input::Text),
        Field::new("role", t!(ctx, "people-role"), Input::Choice(roles)).hint(t!(ctx, "people-role-hint")),
        Field::new("language", t!(ctx, "me-language"), Input::Choice(languages(ctx))),
        Field::new("units", t!(ctx, "me-units"), Input::Choice(units(ctx))),
        Field::new("archived", t!(ctx, "people-left"), Input::Tick),
    ]
}

fn line(ctx: &Ctx, body: &Value) -> String {
    role(ctx, body["role"].as_str().unwrap_or_default())
}
