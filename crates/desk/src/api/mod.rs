//! The HTTP interface, `/api/v1`: what pages show and record, for scripts, in the shapes of the command line.

pub(crate) mod browse;
pub(crate) mod entries;
pub(crate) mod openapi;
pub(crate) mod problem;
pub(crate) mod reply;
pub(crate) mod sent;
pub(crate) mod things;
pub(crate) mod today;
pub(crate) mod water;

use crate::policy::{Role, Rule};
use crate::state::App;
use axum::Router;
use axum::http::Method;
use axum::routing::{get, post};

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/api/v1/", Role::Nobody),
    (Method::GET, "/api/v1/openapi.json", Role::Nobody),
    (Method::GET, "/api/v1/bands", Role::Viewer),
    (Method::GET, "/api/v1/bands/{id}", Role::Viewer),
    (Method::PUT, "/api/v1/bands/{id}", Role::Lead),
    (Method::GET, "/api/v1/entries", Role::Viewer),
    (Method::POST, "/api/v1/entries", Role::Technician),
    (Method::GET, "/api/v1/entries/{id}", Role::Viewer),
    (Method::GET, "/api/v1/methods", Role::Viewer),
    (Method::GET, "/api/v1/methods/{id}", Role::Viewer),
    (Method::PUT, "/api/v1/methods/{id}", Role::Lead),
    (Method::GET, "/api/v1/people", Role::Viewer),
    (Method::GET, "/api/v1/people/{id}", Role::Viewer),
    (Method::PUT, "/api/v1/people/{id}", Role::Lead),
    (Method::POST, "/api/v1/plan", Role::Viewer),
    (Method::GET, "/api/v1/schemas/{name}", Role::Viewer),
    (Method::GET, "/api/v1/shelves", Role::Viewer),
    (Method::GET, "/api/v1/shelves/{id}", Role::Viewer),
    (Method::PUT, "/api/v1/shelves/{id}", Role::Technician),
    (Method::GET, "/api/v1/sites", Role::Viewer),
    (Method::GET, "/api/v1/sites/{id}", Role::Viewer),
    (Method::PUT, "/api/v1/sites/{id}", Role::Technician),
    (Method::GET, "/api/v1/source-waters", Role::Viewer),
    (Method::GET, "/api/v1/source-waters/{id}", Role::Viewer),
    (Method::PUT, "/api/v1/source-waters/{id}", Role::Technician),
    (Method::GET, "/api/v1/today", Role::Viewer),
    (Method::GET, "/api/v1/tubs", Role::Viewer),
    (Method::GET, "/api/v1/tubs/{id}", Role::Viewer),
    (Method::PUT, "/api/v1/tubs/{id}", Role::Technician),
    (Method::GET, "/api/v1/tubs/{id}/case", Role::Viewer),
    (Method::GET, "/api/v1/tubs/{id}/outlook", Role::Viewer),
    (Method::GET, "/api/v1/tubs/{id}/plan", Role::Viewer),
    (Method::POST, "/api/v1/water", Role::Viewer),
];

pub(crate) fn routes() -> Router<App> {
    let mut routes = Router::new()
        .route("/api/v1/", get(browse::show))
        .route("/api/v1/openapi.json", get(openapi::show))
        .route("/api/v1/entries", get(entries::list).post(entries::record))
        .route("/api/v1/entries/{id}", get(entries::one))
        .route("/api/v1/plan", post(water::plan_of_case))
        .route("/api/v1/schemas/{name}", get(openapi::schema))
        .route("/api/v1/today", get(today::list))
        .route("/api/v1/tubs/{id}/case", get(water::case_of_tub))
        .route("/api/v1/tubs/{id}/outlook", get(water::outlook_of_tub))
        .route("/api/v1/tubs/{id}/plan", get(water::plan_of_tub))
        .route("/api/v1/water", post(water::water));
    for (path, kind) in things::PATHS {
        routes = routes.merge(things::routes(path, kind));
    }
    routes
}
