//! One's own ways in: password, other browsers, tokens for scripts.

use crate::ctx::Ctx;
use crate::doors::account;
use crate::doors::identify::Via;
use crate::doors::password;
use crate::error::{Answer, PageError, Refusal};
use crate::page::address::Path;
use crate::page::shell;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::extract::State;
use axum::http::{Method, StatusCode};
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use axum::{Extension, Form, Router};
use book::{Account, BookError, Token, Uuid};
use maud::{Markup, html};
use serde::Deserialize;

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/me/access", Role::Viewer),
    (Method::POST, "/me/access/password", Role::Viewer),
    (Method::POST, "/me/access/sessions", Role::Viewer),
    (Method::POST, "/me/access/tokens", Role::Viewer),
    (Method::POST, "/me/access/tokens/{token}/revoke", Role::Viewer),
];

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/me/access", get(show))
        .route("/me/access/password", post(change_password))
        .route("/me/access/sessions", post(end_others))
        .route("/me/access/tokens", post(make_token))
        .route("/me/access/tokens/{token}/revoke", post(revoke))
}

/// The corner of every page: who is logged in, and the way out.
pub(crate) fn corner(ctx: &Ctx) -> Markup {
    html! {
        @if ctx.who.person.is_some() {
            div.corner {
                a href="/me/access" { (ctx.who.name) }
                form method="post" action="/logout" { button type="submit" { (t!(ctx, "logout")) } }
            }
        }
    }
}

/// What is said on top of the page after something was done or refused.
#[derive(Default)]
struct Said {
    done: Option<String>,
    secret: Option<String>,
    password_fault: Option<String>,
    token_fault: Option<String>,
    token_name: String,
}

async fn show(State(app): State<App>, ctx: Ctx) -> Answer {
    page(&app, &ctx, &Said::default()).await
}

fn failed(ctx: &Ctx) -> impl Fn(BookError) -> Refusal {
    move |e| PageError::from(e).at(ctx)
}

async fn page(app: &App, ctx: &Ctx, said: &Said) -> Answer {
    let title = t!(ctx, "access-title");
    let tokens = match ctx.who.person {
        Some(person) => app.book().tokens(person).await.map_err(failed(ctx))?,
        None => Vec::new(),
    };
    let body = html! {
        div.heading { h1 { (title) } }
        @if let Some(done) = &said.done { p.lead role="status" { (done) } }
        @if let Some(secret) = &said.secret { p.secret { (secret) } }
        @if ctx.who.person.is_none() { p.lead { (t!(ctx, "access-alone")) } }
        @else { (password_form(ctx, said)) (sessions(ctx)) (token_part(ctx, said, &tokens)) }
        p { a href="/api/v1/" { (t!(ctx, "access-api")) } }
    };
    let status = match said.password_fault.is_some() || said.token_fault.is_some() {
        true => StatusCode::UNPROCESSABLE_ENTITY,
        false => StatusCode::OK,
    };
    Ok((status, shell::page(ctx, &title, &body)).into_response())
}

fn password_form(ctx: &Ctx, said: &Said) -> Markup {
    html! {
        h2 { (t!(ctx, "access-password")) }
        form.door method="post" action="/me/access/password" {
            @if let Some(fault) = &said.password_fault { p.fault role="alert" { (fault) } }
            label for="old" { (t!(ctx, "access-password-old")) }
            input #old type="password" name="old" autocomplete="current-password" required;
            label for="new" { (t!(ctx, "access-password-new")) }
            input #new type="password" name="new" autocomplete="new-password" required aria-describedby="new-hint";
            p #new-hint .soft { (t!(ctx, "access-password-hint")) }
            button type="submit" { (t!(ctx, "access-password-go")) }
        }
    }
}

fn sessions(ctx: &Ctx) -> Markup {
    html! {
        h2 { (t!(ctx, "access-sessions")) }
        p.soft { (t!(ctx, "access-sessions-hint")) }
        form.door method="post" action="/me/access/sessions" {
            button type="submit" { (t!(ctx, "access-sessions-go")) }
        }
    }
}

fn token_part(ctx: &Ctx, said: &Said, tokens: &[Token]) -> Markup {
    html! {
        h2 { (t!(ctx, "access-tokens")) }
        p { (t!(ctx, "access-tokens-hint")) }
        @if tokens.is_empty() { p.soft { (t!(ctx, "access-tokens-none")) } }
        @else {
            ul.tokens { @for token in tokens { li {
                div {
                    strong { (token.name) }
                    p.soft {
                        @if token.reads_only { (t!(ctx, "access-token-reads-only")) } @else { (t!(ctx, "access-token-all")) }
                        " · "
                        @match token.seen_us { Some(at) => (t!(ctx, "access-token-used", ago = ctx.ago(at))), None => (t!(ctx, "access-token-never")) }
                        " · " (t!(ctx, "access-token-ends", day = ctx.day(token.ends_us)))
                    }
                }
                form method="post" action={ "/me/access/tokens/" (token.id) "/revoke" } {
                    button type="submit" aria-label={ (t!(ctx, "access-token-revoke")) ": " (token.name) } { (t!(ctx, "access-token-revoke")) }
                }
            } } }
        }
        h3 { (t!(ctx, "access-token-new")) }
        form.door method="post" action="/me/access/tokens" {
            @if let Some(fault) = &said.token_fault { p.fault role="alert" { (fault) } }
            label for="token-name" { (t!(ctx, "access-token-name")) }
            input #token-name name="name" value=(said.token_name) maxlength="100" required;
            label for="days" { (t!(ctx, "access-token-days")) }
            input #days name="days" inputmode="numeric" value="90" required;
            p.check { input #reads type="checkbox" name="reads_only" value="1"; label for="reads" { (t!(ctx, "access-token-reads")) } }
            button type="submit" { (t!(ctx, "access-token-go")) }
        }
    }
}

/// The account of who asks; nobody has one on a server that only this machine reaches.
async fn own(app: &App, ctx: &Ctx) -> Result<Account, Refusal> {
    let person = ctx.who.person.ok_or_else(|| PageError::Forbidden.at(ctx))?;
    let account = app.book().account_of(person).await.map_err(failed(ctx))?;
    account.ok_or_else(|| PageError::Forbidden.at(ctx))
}

#[derive(Deserialize)]
struct Passwords {
    old: String,
    new: String,
}

async fn change_password(
    State(app): State<App>,
    ctx: Ctx,
    Extension(via): Extension<Via>,
    Form(given): Form<Passwords>,
) -> Answer {
    let account = own(&app, &ctx).await?;
    let refused = |fault: String| Said { password_fault: Some(fault), ..Said::default() };
    // Guessing the old password here is as limited as at the login page.
    if let Err(seconds) = app.inner.doors.logins.take(&account.person.to_string(), app.now_us()) {
        return page(&app, &ctx, &refused(t!(ctx, "login-wait", seconds = seconds.to_string()))).await;
    }
    if !app.is_right(&given.old, Some(account.password.clone())).await {
        return page(&app, &ctx, &refused(t!(ctx, "login-wrong"))).await;
    }
    if let Err(fault) = password::check_new(&given.new, &account.login) {
        return page(&app, &ctx, &refused(fault.to_string())).await;
    }
    let hashed = tokio::task::spawn_blocking(move || password::hashed(&given.new)).await;
    let Ok(Ok(password)) = hashed else {
        return page(&app, &ctx, &refused(t!(ctx, "login-failed"))).await;
    };
    let account = Account { password, ..account };
    app.book().set_account(&account).await.map_err(failed(&ctx))?;
    let this = if let Via::Session(hash) = &via { hash.as_str() } else { "" };
    app.book().end_sessions(account.person, this).await.map_err(failed(&ctx))?;
    app.audit("new password", &ctx.who.name, ctx.who.person, None).await.map_err(failed(&ctx))?;
    page(&app, &ctx, &Said { done: Some(t!(ctx, "access-password-done")), ..Said::default() }).await
}

async fn end_others(State(app): State<App>, ctx: Ctx, Extension(via): Extension<Via>) -> Answer {
    let account = own(&app, &ctx).await?;
    let this = if let Via::Session(hash) = &via { hash.as_str() } else { "" };
    let n = app.book().end_sessions(account.person, this).await.map_err(failed(&ctx))?;
    let done = t!(ctx, "access-sessions-done", n = i64::try_from(n).unwrap_or(i64::MAX));
    page(&app, &ctx, &Said { done: Some(done), ..Said::default() }).await
}

#[derive(Deserialize)]
struct NewToken {
    name: String,
    days: String,
    reads_only: Option<String>,
}

/// Shows the secret at once instead of redirecting: it is kept nowhere that it could be shown from later.
async fn make_token(State(app): State<App>, ctx: Ctx, Form(given): Form<NewToken>) -> Answer {
    let account = own(&app, &ctx).await?;
    let days = given.days.trim().parse().unwrap_or(0);
    let reads_only = given.reads_only.is_some();
    let made =
        account::token_of(app.book(), account.person, &given.name, reads_only, days, app.now_us()).await;
    match made {
        Ok(secret) => {
            let what = format!("token \"{}\" made", given.name.trim());
            app.audit(&what, &ctx.who.name, ctx.who.person, None).await.map_err(failed(&ctx))?;
            let done = Some(t!(ctx, "access-token-made"));
            page(&app, &ctx, &Said { done, secret: Some(secret), ..Said::default() }).await
        }
        Err(fault) => {
            let said =
                Said { token_fault: Some(fault.to_string()), token_name: given.name, ..Said::default() };
            page(&app, &ctx, &said).await
        }
    }
}

async fn revoke(State(app): State<App>, ctx: Ctx, Path(token): Path<Uuid>) -> Result<Response, Refusal> {
    let account = own(&app, &ctx).await?;
    if !app.book().revoke_token(account.person, token).await.map_err(failed(&ctx))? {
        return Err(PageError::Missing("token").at(&ctx));
    }
    app.audit("token revoked", &ctx.who.name, ctx.who.person, None).await.map_err(failed(&ctx))?;
    Ok(Redirect::to("/me/access").into_response())
}
