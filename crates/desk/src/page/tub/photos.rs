//! Pictures of a tub, at most 1 MiB each. The bytes say what they are, not the name or the browser.

use super::known;
use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::page::address::Path;
use crate::page::shell;
use crate::page::typed::{Typed, hidden_id, record_typed};
use crate::state::App;
use crate::words::t;
use axum::extract::{Multipart, State};
use axum::http::StatusCode;
use axum::http::header::{CACHE_CONTROL, CONTENT_SECURITY_POLICY, CONTENT_TYPE, X_CONTENT_TYPE_OPTIONS};
use axum::response::{IntoResponse, Redirect};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use book::{Entry, Filter, Kind, NewEntry, PHOTO_BYTES_MOST, Uuid};
use maud::{Markup, html};
use serde_json::json;

/// So many stand on the page.
const SHOWN: u32 = 24;

pub(super) async fn list(State(app): State<App>, ctx: Ctx, Path(tub): Path<Uuid>) -> Answer {
    let markup = page(&app, &ctx, tub, &Typed::default()).await?;
    Ok(markup.into_response())
}

async fn page(app: &App, ctx: &Ctx, tub: Uuid, typed: &Typed) -> Result<Markup, crate::error::Refusal> {
    let known = known(app, ctx, tub).await?;
    let filter = Filter {
        subject: Some(tub),
        kinds: vec![Kind::Photo],
        newest_first: true,
        limit: Some(SHOWN),
        ..Filter::default()
    };
    let mut photos = app.book().entries(&filter).await.map_err(|e| PageError::from(e).at(ctx))?;
    photos.retain(Entry::is_effective);
    let title = t!(ctx, "photos-of", tub = known.thing.name.clone());
    let body = html! {
        p.back { a href={ "/tubs/" (tub) } { (known.thing.name) } }
        div.heading { h1 { (t!(ctx, "photos")) } }
        (typed.summary(ctx))
        form.narrow method="post" enctype="multipart/form-data" action={ "/tubs/" (tub) "/photos" } {
            (hidden_id(Uuid::now_v7()))
            label for="f-photo" { (t!(ctx, "photo-file")) }
            p.hint #photo-hint { (t!(ctx, "photo-hint")) }
            input #f-photo type="file" name="photo" accept="image/jpeg,image/png" required aria-describedby="photo-hint";
            (typed.said("photo"))
            (typed.line("text", &t!(ctx, "photo-text"), "text"))
            div.actions { button.first type="submit" { (t!(ctx, "photo-add")) } }
        }
        @if photos.is_empty() { p.soft { (t!(ctx, "photos-none")) } }
        div.photos {
            @for p in &photos {
                @let text = p.body["text"].as_str().unwrap_or_default();
                figure {
                    img src={ "/tubs/" (tub) "/photos/" (p.id) } loading="lazy"
                        alt=(if text.is_empty() { t!(ctx, "photo-without-words") } else { text.to_string() });
                    figcaption { (text) " " span.soft { (ctx.day_and_time(p.at_us)) } " " a href={ "/tubs/" (tub) "/entries/" (p.id) } { (t!(ctx, "log-correct")) } }
                }
            }
        }
    };
    Ok(shell::page(ctx, &title, &body))
}

/// One picture.
pub(super) async fn one(State(app): State<App>, ctx: Ctx, Path((tub, entry)): Path<(Uuid, Uuid)>) -> Answer {
    let found = app.book().entry(entry).await.map_err(|e| PageError::from(e).at(&ctx))?;
    let found = found.filter(|e| e.kind == Kind::Photo && e.subject == Some(tub) && e.is_effective());
    let picture = found.as_ref().and_then(|e| {
        let bytes = STANDARD.decode(e.body["base64"].as_str()?).ok()?;
        Some((media_type(&bytes)?, bytes))
    });
    let (media, bytes) = picture.ok_or_else(|| PageError::Missing("photo").at(&ctx))?;
    let headers = [
        (CONTENT_TYPE, media),
        (X_CONTENT_TYPE_OPTIONS, "nosniff"),
        (CONTENT_SECURITY_POLICY, "default-src 'none'; sandbox"),
        (CACHE_CONTROL, "private, max-age=86400"),
    ];
    Ok((headers, bytes).into_response())
}

/// What the bytes are (the signatures of ISO/IEC 10918-1 and ISO/IEC 15948); `None` for anything else.
fn media_type(bytes: &[u8]) -> Option<&'static str> {
    match bytes {
        [0xff, 0xd8, 0xff, ..] => Some("image/jpeg"),
        [0x89, b'P', b'N', b'G', b'\r', b'\n', 0x1a, b'\n', ..] => Some("image/png"),
        _ => None,
    }
}

/// A picture was sent.
pub(super) async fn add(
    State(app): State<App>,
    ctx: Ctx,
    Path(tub): Path<Uuid>,
    mut parts: Multipart,
) -> Answer {
    let mut fields = Vec::new();
    let mut picture = Vec::new();
    let mut too_large = false;
    loop {
        let part = match parts.next_part().await {
            Ok(Some(part)) => part,
            Ok(None) => break,
            Err(TooLarge) => {
                too_large = true;
                break;
            }
        };
        match part {
            (name, bytes) if name == "photo" => picture = bytes,
            (name, bytes) => fields.push((name, String::from_utf8_lossy(&bytes).into_owned())),
        }
    }
    let mut typed = Typed::from(fields);
    let most = (PHOTO_BYTES_MOST >> 10) as i64;
    match media_type(&picture) {
        _ if too_large || picture.len() > PHOTO_BYTES_MOST => {
            typed.fault("photo", t!(&ctx, "photo-too-large", most = most))
        }
        None => typed.fault("photo", t!(&ctx, "photo-kind")),
        Some(media) => {
            crate::known::read(&app, &ctx, tub).await?;
            let mut body = json!({ "media_type": media, "base64": STANDARD.encode(&picture) });
            if let Some(text) = typed.text("text") {
                body["text"] = text.into();
            }
            let at_us = typed.happened_us(&ctx);
            let entry = NewEntry {
                id: typed.id(),
                kind: Kind::Photo,
                subject: Some(tub),
                at_us,
                by: ctx.who.person,
                corrects: None,
                body,
            };
            if record_typed(&app, &mut typed, &[entry]).await.map_err(|e| e.at(&ctx))? {
                return Ok(Redirect::to(&format!("/tubs/{tub}/photos")).into_response());
            }
        }
    }
    let markup = page(&app, &ctx, tub, &typed).await?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, markup).into_response())
}

/// More was sent than is accepted, or it broke off.
struct TooLarge;

trait Parts {
    async fn next_part(&mut self) -> Result<Option<(String, Vec<u8>)>, TooLarge>;
}

impl Parts for Multipart {
    async fn next_part(&mut self) -> Result<Option<(String, Vec<u8>)>, TooLarge> {
        let Some(field) = self.next_field().await.map_err(|_| TooLarge)? else { return Ok(None) };
        let name = field.name().unwrap_or_default().to_string();
        let bytes = field.bytes().await.map_err(|_| TooLarge)?;
        Ok(Some((name, bytes.to_vec())))
    }
}
