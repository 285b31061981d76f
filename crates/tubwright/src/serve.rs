//! `tubwright serve`: the app over a book, until it is told to stop.

use crate::cli::ServeArgs;
use crate::failure::Failure;
use crate::output;
use book::Place;
use desk::{Certificate, Config, PublicUrl, ServeError};

/// Serves until SIGTERM or Ctrl-C.
pub(crate) fn run(args: &ServeArgs) -> Result<(), Failure> {
    // A demonstration leaves nothing behind, unless it is told where.
    let scratch = match args.demo && args.book.is_none() {
        true => Some(tempfile::tempdir().map_err(|e| Failure::Other(format!("no temporary folder: {e}")))?),
        false => None,
    };
    let book = match (&args.book, &scratch) {
        (Some(text), _) => Place::parse(text),
        (None, Some(folder)) => Place::file(&folder.path().join("demonstration.book")),
        (None, None) => Place::default_file(),
    };
    let book = book.map_err(|e| Failure::input(e.to_string()))?;
    let public = match &args.public_url {
        Some(text) => {
            Some(text.parse::<PublicUrl>().map_err(|e| Failure::input(format!("--public-url: {e}")))?)
        }
        None => None,
    };
    if !args.listen.ip().is_loopback() && public.is_none() {
        output::talk(
            "Passwords and readings need https on the way: put a proxy with a certificate in front, and name its address \
             with --public-url (docs/serving.md). Until then browsers will not keep the log-in over plain http.",
        );
    }
    let certificate = match (&args.certificate, &args.key) {
        (Some(chain), Some(key)) => Some(Certificate { chain: chain.clone(), key: key.clone() }),
        _ => None,
    };
    if certificate.is_some() && public.as_ref().is_some_and(|p| !p.https) {
        return Err(Failure::input(
            "--public-url must begin with https:// where --certificate is given".to_owned(),
        ));
    }
    let scheme = if certificate.is_some() { "https" } else { "http" };
    let config = Config { book, listen: args.listen, demo: args.demo, public, certificate };
    let runtime = tokio::runtime::Builder::new_multi_thread().enable_all().build();
    let runtime = runtime.map_err(|e| Failure::Other(format!("no threads to serve with: {e}")))?;
    let ready = |address| eprintln!("Tubwright answers at {scheme}://{address}/");
    runtime.block_on(desk::serve(config, ready, told_to_stop())).map_err(|e| match e {
        ServeError::NoAccount(_) | ServeError::Certificate(_) => Failure::input(e.to_string()),
        e => Failure::Other(e.to_string()),
    })
}

/// Done when the system asks for an end.
async fn told_to_stop() {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        if let Ok(mut terminate) = signal(SignalKind::terminate()) {
            tokio::select! {
                _ = terminate.recv() => return,
                _ = tokio::signal::ctrl_c() => return,
            }
        }
    }
    // Without a handler for the one, the other still ends it.
    let _ = tokio::signal::ctrl_c().await;
}
