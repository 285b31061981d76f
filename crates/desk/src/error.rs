//! A request that cannot be answered: what was wrong, and the way back.

use crate::ctx::Ctx;
use crate::page::shell;
use crate::policy::Role;
use crate::words::t;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use book::BookError;
use maud::html;

/// Why a page cannot be shown.
#[derive(Debug, thiserror::Error)]
pub(crate) enum PageError {
    /// There is no such thing.
    #[error("there is no {0} with this id")]
    Missing(&'static str),
    /// What was sent cannot be used: each fault with its field.
    #[error("{}", .0.join("; "))]
    Unusable(Vec<String>),
    /// The asker may not.
    #[error("this needs another role")]
    Forbidden,
    /// Somebody else wrote it on this device; the name, if there still is one.
    #[error("somebody else wrote this")]
    AnotherWriter(Option<String>),
    /// The book did not answer.
    #[error(transparent)]
    Book(#[from] BookError),
}

/// A page or the page that says why not.
pub(crate) type Answer = Result<Response, Refusal>;

/// An error with the context that it is shown in.
pub(crate) struct Refusal {
    pub(crate) ctx: Box<Ctx>,
    pub(crate) error: PageError,
}

impl PageError {
    pub(crate) fn status(&self) -> StatusCode {
        match self {
            PageError::Missing(_) => StatusCode::NOT_FOUND,
            PageError::Unusable(_) => StatusCode::UNPROCESSABLE_ENTITY,
            PageError::Forbidden => StatusCode::FORBIDDEN,
            PageError::AnotherWriter(_) => StatusCode::CONFLICT,
            PageError::Book(_) => StatusCode::SERVICE_UNAVAILABLE,
        }
    }

    /// For a page.
    pub(crate) fn at(self, ctx: &Ctx) -> Refusal {
        Refusal { ctx: Box::new(ctx.clone()), error: self }
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        let Refusal { ctx, error } = self;
        if let PageError::Book(why) = &error {
            tracing::error!(%why, "the book did not answer");
        }
        let title = match &error {
            PageError::Missing(_) => t!(ctx, "error-missing"),
            PageError::Unusable(_) => t!(ctx, "error-unusable"),
            PageError::Forbidden => t!(ctx, "error-forbidden"),
            PageError::AnotherWriter(Some(writer)) => {
                t!(ctx, "waiting-other", writer = writer.clone(), name = ctx.who.name.clone())
            }
            PageError::AnotherWriter(None) => t!(ctx, "waiting-other-gone", name = ctx.who.name.clone()),
            PageError::Book(_) => t!(ctx, "error-book"),
        };
        let advice = match &error {
            PageError::Missing(_) => Some(t!(ctx, "error-missing-advice")),
            PageError::Unusable(_) => Some(t!(ctx, "error-unusable-advice")),
            PageError::Forbidden => Some(t!(ctx, "error-forbidden-advice")),
            // Its title says what happens to it.
            PageError::AnotherWriter(_) => None,
            PageError::Book(_) => Some(t!(ctx, "error-book-advice")),
        };
        let body = html! {
            div.heading { h1 { (title) } }
            @if let PageError::Unusable(faults) = &error {
                ul { @for fault in faults { li { (fault) } } }
            }
            @if let Some(advice) = advice { p.lead { (advice) } }
            @if ctx.who.role >= Role::Viewer { div.actions { a.button href="/" { (t!(ctx, "error-back")) } } }
        };
        (error.status(), shell::page(&ctx, &title, &body)).into_response()
    }
}
