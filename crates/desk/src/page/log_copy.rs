//! A copy of the book to take along: everything as lines of JSON, or the readings as a table, in pieces as they are read.

use crate::ctx::Ctx;
use crate::error::Answer;
use crate::page::fields::Typed;
use crate::page::things::failed;
use crate::state::App;
use axum::Form;
use axum::body::{Body, Bytes};
use axum::extract::State;
use axum::http::header::{CACHE_CONTROL, CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::IntoResponse;
use std::io::Write;
use std::sync::mpsc::{SyncSender, sync_channel};

/// What the record says of an export; the record is in English, whoever reads it.
const EXPORTED: [&str; 2] = ["export of the book (NDJSON)", "export of the readings (CSV)"];
const ALONE: &str = "the person at this machine";

/// Hands what is written on in pieces; the reader's pace is the writer's.
struct Pieces {
    to: SyncSender<Vec<u8>>,
    piece: Vec<u8>,
}

const PIECE_BYTES: usize = 64 << 10;

impl Write for Pieces {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.piece.extend_from_slice(bytes);
        if self.piece.len() >= PIECE_BYTES {
            self.flush()?;
        }
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        let piece = std::mem::take(&mut self.piece);
        if piece.is_empty() {
            return Ok(());
        }
        self.to.send(piece).map_err(|_| std::io::Error::from(std::io::ErrorKind::BrokenPipe))
    }
}

/// Writes down that a copy is made, and hands it out.
pub(crate) async fn export(
    State(app): State<App>,
    ctx: Ctx,
    Form(typed): Form<Vec<(String, String)>>,
) -> Answer {
    let csv = Typed(typed).get("form") == "csv";
    let what = if csv { EXPORTED[1] } else { EXPORTED[0] };
    let who = if ctx.who.name.is_empty() { ALONE } else { ctx.who.name.as_str() };
    app.audit(what, who, ctx.who.person, None).await.map_err(failed(&ctx))?;
    let (to, from) = sync_channel(4);
    let runtime = tokio::runtime::Handle::current();
    let book = app.book().clone();
    tokio::task::spawn_blocking(move || {
        let mut pieces = Pieces { to, piece: Vec::new() };
        let done = runtime.block_on(async {
            if csv {
                book.export_readings(&mut pieces, &mut |_, _| ()).await.map(|_| ())
            } else {
                book.export(&mut pieces, &mut |_, _| ()).await.map(|_| ())
            }
        });
        if let Err(why) = done {
            tracing::warn!(%why, "an export ended early");
        }
    });
    let stream = futures_util::stream::unfold(from, |from| async {
        let next = tokio::task::spawn_blocking(move || from.recv().ok().map(|piece| (piece, from)));
        let (piece, from) = next.await.ok()??;
        Some((Ok::<Bytes, std::io::Error>(Bytes::from(piece)), from))
    });
    let (media, name) = if csv {
        ("text/csv; charset=utf-8", "readings.csv")
    } else {
        ("application/x-ndjson", "book.ndjson")
    };
    let headers = [
        (CONTENT_TYPE, media.to_owned()),
        (CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
        (CACHE_CONTROL, "no-store".to_owned()),
    ];
    Ok((headers, Body::from_stream(stream)).into_response())
}
