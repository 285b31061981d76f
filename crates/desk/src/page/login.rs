//! The way in and out.

use crate::ctx::Ctx;
use crate::doors::address;
use crate::doors::identify::Via;
use crate::doors::login::LoginError;
use crate::error::{Answer, PageError};
use crate::page::shell;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::extract::{FromRequest, Query, Request, State};
use axum::http::header::{RETRY_AFTER, SET_COOKIE};
use axum::http::{HeaderMap, Method, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Form, Router};
use maud::{Markup, html};
use serde::Deserialize;

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/login", Role::Nobody),
    (Method::POST, "/login", Role::Nobody),
    (Method::POST, "/logout", Role::Nobody),
];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/login", get(show).post(enter)).route("/logout", post(leave))
}

#[derive(Deserialize)]
struct Asked {
    next: Option<String>,
}

#[derive(Deserialize)]
struct Given {
    #[serde(default)]
    name: String,
    #[serde(default)]
    password: String,
    next: Option<String>,
}

/// Where to go afterwards: a page of ours, whatever the address asks for.
fn safe(next: Option<&str>) -> &str {
    next.filter(|n| n.starts_with('/') && !n.starts_with("//") && !n.contains(['\\', '\n', '\r', '\t']))
        .unwrap_or("/")
}

async fn show(State(app): State<App>, ctx: Ctx, Query(asked): Query<Asked>) -> Answer {
    let needed = app.needs_login().await.map_err(|e| PageError::from(e).at(&ctx))?;
    if !needed || ctx.who.person.is_some() {
        return Ok(Redirect::to(safe(asked.next.as_deref())).into_response());
    }
    Ok(page(&ctx, "", safe(asked.next.as_deref()), None).into_response())
}

fn page(ctx: &Ctx, name: &str, next: &str, fault: Option<&str>) -> Markup {
    let title = t!(ctx, "login-title");
    let described = fault.map(|_| "login-fault");
    let body = html! {
        div.heading { h1 { (title) } }
        form.door method="post" action="/login" {
            @if let Some(fault) = fault { p #login-fault .fault role="alert" { (fault) } }
            input type="hidden" name="next" value=(next);
            label for="name" { (t!(ctx, "login-name")) }
            input #name name="name" value=(name) autocomplete="username" autocapitalize="none" spellcheck="false" required aria-describedby=[described];
            label for="password" { (t!(ctx, "login-password")) }
            input #password type="password" name="password" autocomplete="current-password" required aria-describedby=[described];
            button.first type="submit" { (t!(ctx, "login-go")) }
        }
    };
    shell::page(ctx, &title, &body)
}

async fn enter(State(app): State<App>, ctx: Ctx, request: Request) -> Response {
    let from = address::of(&app, request.headers(), request.extensions());
    let given = match Form::<Given>::from_request(request, &app).await {
        Ok(Form(given)) => given,
        Err(_) => return PageError::Unusable(vec![t!(ctx, "login-failed")]).at(&ctx).into_response(),
    };
    let next = safe(given.next.as_deref());
    let again = |status: StatusCode, fault: &str| (status, page(&ctx, &given.name, next, Some(fault)));
    match app.log_in(&given.name, &given.password, from).await {
        Ok(secret) => ([(SET_COOKIE, app.set_cookie(Some(&secret)))], Redirect::to(next)).into_response(),
        Err(LoginError::Wrong) => {
            again(StatusCode::UNPROCESSABLE_ENTITY, &t!(ctx, "login-wrong")).into_response()
        }
        Err(LoginError::Wait(seconds)) => {
            let fault = t!(ctx, "login-wait", seconds = seconds.to_string());
            let wait = [(RETRY_AFTER, seconds.to_string())];
            (wait, again(StatusCode::TOO_MANY_REQUESTS, &fault)).into_response()
        }
        Err(why @ (LoginError::Book(_) | LoginError::Secret(_))) => {
            tracing::error!(%why, "a log-in was not answered");
            again(StatusCode::SERVICE_UNAVAILABLE, &t!(ctx, "login-failed")).into_response()
        }
    }
}

async fn leave(
    State(app): State<App>,
    ctx: Ctx,
    Extension(via): Extension<Via>,
    headers: HeaderMap,
) -> Answer {
    if let Via::Session(hash) = via {
        app.book().end_session(&hash).await.map_err(|e| PageError::from(e).at(&ctx))?;
        let from = address::of(&app, &headers, &axum::http::Extensions::new());
        let noted = app.audit("log-out", &ctx.who.name, ctx.who.person, from).await;
        noted.map_err(|e| PageError::from(e).at(&ctx))?;
    }
    Ok(([(SET_COOKIE, app.set_cookie(None))], Redirect::to("/login")).into_response())
}

#[cfg(test)]
mod tests {
    use super::safe;

    #[test]
    fn the_way_on_after_the_login_stays_here() {
        assert_eq!(safe(Some("/tubs/1?q=2")), "/tubs/1?q=2");
        for away in ["https://elsewhere.example", "//elsewhere.example", "/\\elsewhere.example", "", "/\t/x"]
        {
            assert_eq!(safe(Some(away)), "/", "{away}");
        }
        assert_eq!(safe(None), "/");
    }
}
