//! The server: routes put together, and its life from start to a clean end.

use crate::certificate::{Certificate, CertificateError};
use crate::clock::SystemClock;
use crate::config::Config;
use crate::ctx::Ctx;
use crate::doors::headers;
use crate::error::PageError;
use crate::policy::{Role, Rule, admit};
use crate::state::App;
use crate::{api, asset, page};
use axum::Router;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{Method, StatusCode};
use axum::middleware::{from_fn, from_fn_with_state};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use axum_server::Handle;
use axum_server::tls_rustls::RustlsConfig;
use book::{Book, BookError};
use jiff::tz::TimeZone;
use std::any::Any;
use std::net::SocketAddr;
use std::sync::Arc;
use std::time::Duration;
use tokio::net::TcpListener;
use tower_http::catch_panic::CatchPanicLayer;
use tower_http::compression::CompressionLayer;
use tower_http::csrf::CsrfLayer;
use tower_http::limit::RequestBodyLimitLayer;
use tower_http::timeout::TimeoutLayer;

/// Why the server did not start, or ended.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The book cannot be opened.
    #[error(transparent)]
    Book(#[from] BookError),
    /// The address cannot be listened on.
    #[error("cannot listen on {address}: {why}")]
    Listen {
        /// The address asked for.
        address: SocketAddr,
        /// What the system says.
        why: std::io::Error,
    },
    /// Others could reach the book, and nobody has an account.
    #[error(
        "{0} can be reached from other machines, and the book has no account: anybody could read and write it. Make one \
         first with `tubwright account add NAME --role lead` (with the same --book), or listen on 127.0.0.1"
    )]
    NoAccount(SocketAddr),
    /// The server's own certificate cannot be used.
    #[error(transparent)]
    Certificate(#[from] CertificateError),
    /// The network failed while serving.
    #[error("serving ended: {0}")]
    Ended(std::io::Error),
}

pub(crate) const RULES: &[Rule] = &[(Method::GET, "/healthz", Role::Nobody)];

/// Opens the book, listens, tells the address once it answers, and serves until `stop` is done and the requests under way
/// have been answered.
///
/// # Errors
/// [`ServeError`].
pub async fn serve(
    config: Config,
    ready: impl FnOnce(SocketAddr),
    stop: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServeError> {
    let book = Book::open(&config.book).await?;
    let address = config.listen;
    let listen = |why| ServeError::Listen { address, why };
    let tls = match &config.certificate {
        Some(certificate) => Some((certificate.clone(), certificate.read().await?)),
        None => None,
    };
    let listener = TcpListener::bind(address).await.map_err(listen)?;
    let bound = listener.local_addr().map_err(listen)?;
    let loopback = address.ip().is_loopback() && config.public.is_none();
    if !loopback && !book.has_accounts().await? {
        return Err(ServeError::NoAccount(address));
    }
    let (clock, zone) = (Arc::new(SystemClock), TimeZone::system());
    let public = config.public.map(|public| if tls.is_some() { public.direct() } else { public });
    let state = App::reached_at(book, clock, zone, config.demo, loopback, public);
    if state.inner.demo && state.book().count().await? == 0 {
        crate::demo::record(&state).await?;
    }
    ready(bound);
    match tls {
        Some((certificate, tls)) => serve_tls(listener, app(state), certificate, tls, stop).await,
        None => axum::serve(listener, app(state).into_make_service_with_connect_info::<SocketAddr>())
            .with_graceful_shutdown(stop)
            .await
            .map_err(ServeError::Ended),
    }
}

/// Serves over the server's own certificate.
async fn serve_tls(
    listener: TcpListener,
    app: Router,
    certificate: Certificate,
    tls: RustlsConfig,
    stop: impl Future<Output = ()> + Send + 'static,
) -> Result<(), ServeError> {
    let listener = listener.into_std().map_err(ServeError::Ended)?;
    let handle = Handle::new();
    let stopping = handle.clone();
    tokio::spawn(async move {
        stop.await;
        stopping.graceful_shutdown(Some(LONGEST));
    });
    let renewal = tokio::spawn(certificate.follow(tls.clone()));
    let server = axum_server::from_tcp_rustls(listener, tls).map_err(ServeError::Ended)?.http1_only();
    let served = server.handle(handle).serve(app.into_make_service_with_connect_info::<SocketAddr>()).await;
    renewal.abort();
    served.map_err(ServeError::Ended)
}

/// Bytes of a request at most: a picture of 1 MiB in base64, and what stands around it.
const BODY_BYTES_MOST: usize = 2 << 20;
/// How long a request may take.
const LONGEST: Duration = Duration::from_secs(30);

/// Every route, behind the doors.
pub fn app(state: App) -> Router {
    let routes = Router::new()
        .route("/healthz", get(healthz))
        .merge(api::routes())
        .merge(asset::routes())
        .merge(page::routes())
        .fallback(missing);
    guarded(routes, state)
}

/// What stands around every route, the outermost last.
fn guarded(routes: Router<App>, state: App) -> Router {
    let trusted = state.inner.doors.public.as_ref().map(ToString::to_string);
    let csrf =
        trusted.and_then(|origin| CsrfLayer::new().add_trusted_origin(origin).ok()).unwrap_or_default();
    routes
        .layer(from_fn_with_state(state.clone(), admit))
        .layer(csrf)
        .layer(from_fn_with_state(state.clone(), headers::host))
        .layer(DefaultBodyLimit::max(BODY_BYTES_MOST))
        .layer(RequestBodyLimitLayer::new(BODY_BYTES_MOST))
        .layer(TimeoutLayer::with_status_code(StatusCode::SERVICE_UNAVAILABLE, LONGEST))
        .layer(CatchPanicLayer::custom(|_: Box<dyn Any + Send>| {
            StatusCode::INTERNAL_SERVER_ERROR.into_response()
        }))
        .layer(from_fn(api::problem::finish))
        .layer(from_fn_with_state(state.clone(), headers::put))
        .layer(CompressionLayer::new())
        .with_state(state)
}

/// No such route.
async fn missing(ctx: Ctx) -> Response {
    PageError::Missing("page").at(&ctx).into_response()
}

/// 200 when the book can be written.
async fn healthz(State(app): State<App>) -> StatusCode {
    match app.book().check_writable().await {
        Ok(()) => StatusCode::OK,
        Err(_) => StatusCode::SERVICE_UNAVAILABLE,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use axum::body::Body;
    use axum::http::Request;
    use book::Place;
    use tower::ServiceExt;

    #[tokio::test]
    async fn a_route_without_a_rule_is_shut_to_everybody() {
        let folder = tempfile::tempdir().unwrap();
        let book = Book::open(&Place::file(&folder.path().join("t.book")).unwrap()).await.unwrap();
        let state = App::new(book, Arc::new(SystemClock), TimeZone::UTC, false, true);
        let routes = Router::new().route("/forgotten", get(|| async { "in" }).post(|| async { "in" }));
        let routes = guarded(routes.route("/healthz", get(|| async { "in" })), state);
        for (method, path, status) in [
            ("GET", "/forgotten", StatusCode::FORBIDDEN),
            ("POST", "/forgotten", StatusCode::FORBIDDEN),
            ("GET", "/healthz", StatusCode::OK),
            ("POST", "/healthz", StatusCode::METHOD_NOT_ALLOWED),
        ] {
            let request = Request::builder().method(method).uri(path).body(Body::empty()).unwrap();
            let response = routes.clone().oneshot(request).await.unwrap();
            assert_eq!(response.status(), status, "{method} {path}");
        }
    }
}
