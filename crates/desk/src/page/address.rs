//! What an address names, as pages take it.

use crate::ctx::Ctx;
use crate::error::{PageError, Refusal};
use crate::state::App;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use serde::de::DeserializeOwned;

/// The ids of an address. What is no id names nothing: it is answered like an id that is not there.
pub(crate) struct Path<T>(pub(crate) T);

impl<T: DeserializeOwned + Send> FromRequestParts<App> for Path<T> {
    type Rejection = Refusal;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Path<T>, Refusal> {
        if let Ok(axum::extract::Path(named)) = axum::extract::Path::<T>::from_request_parts(parts, app).await
        {
            return Ok(Path(named));
        }
        let Ok(ctx) = Ctx::from_request_parts(parts, app).await;
        Err(PageError::Missing("page").at(&ctx))
    }
}
