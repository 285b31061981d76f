//! Who asks: by a token, by a session, or because nobody else can.

use crate::doors::secret;
use crate::policy::{Role, Who};
use crate::state::App;
use crate::unit::Units;
use axum::http::HeaderMap;
use axum::http::header::{AUTHORIZATION, COOKIE};
use book::{BookError, Kind, Uuid};
use std::sync::atomic::Ordering;

/// A session ends when it was not used for so long, and in any case so long after the log-in: a technician's phone is
/// used on most days, and is asked for the password once a month.
pub(crate) const IDLE_US: i64 = 7 * DAY_US;
pub(crate) const SESSION_US: i64 = 30 * DAY_US;
pub(crate) const DAY_US: i64 = 24 * 3600 * 1_000_000;
/// "Last used" is kept to so much.
const SEEN_EVERY_US: i64 = 300 * 1_000_000;
/// How often a server that only this machine reaches looks whether accounts have been made.
const LOOK_EVERY_US: i64 = 2 * 1_000_000;

/// How somebody came in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Via {
    /// Not at all.
    Nothing,
    /// Nobody else can reach this server.
    Alone,
    /// By a session; the hash of its secret.
    Session(String),
    /// By a token.
    Token(Uuid),
}

impl App {
    /// Whether people come in by name here.
    pub(crate) async fn needs_login(&self) -> Result<bool, BookError> {
        if !self.inner.loopback {
            return Ok(true);
        }
        let doors = &self.inner.doors;
        if doors.has_accounts.load(Ordering::Relaxed) {
            return Ok(true);
        }
        let now = self.now_us();
        if now.saturating_sub(doors.looked_us.load(Ordering::Relaxed)) < LOOK_EVERY_US {
            return Ok(false);
        }
        let has = self.book().has_accounts().await?;
        doors.has_accounts.store(has, Ordering::Relaxed);
        doors.looked_us.store(now, Ordering::Relaxed);
        Ok(has)
    }

    /// Whether cookies are for https alone.
    pub(crate) fn is_secure(&self) -> bool {
        self.inner.doors.public.as_ref().map_or(!self.inner.loopback, |p| p.https)
    }

    /// The session's cookie. The `__Host-` mark makes browsers hold it to this host, path `/` and https.
    pub(crate) fn cookie_name(&self) -> &'static str {
        if self.is_secure() { "__Host-tubwright" } else { "tubwright" }
    }

    /// Who asks. A token counts for the interface alone.
    pub(crate) async fn identify(&self, headers: &HeaderMap, for_api: bool) -> Result<(Who, Via), BookError> {
        if !self.needs_login().await? {
            return Ok((Who::alone(), Via::Alone));
        }
        if for_api && headers.contains_key(AUTHORIZATION) {
            return self.by_token(headers).await;
        }
        let nobody = (Who::nobody(), Via::Nothing);
        let Some(secret) = cookie(headers, self.cookie_name()) else { return Ok(nobody) };
        let hash = secret::hash(secret);
        let now = self.now_us();
        let Some(session) = self.book().session(&hash).await? else { return Ok(nobody) };
        if now.saturating_sub(session.seen_us) > IDLE_US || now.saturating_sub(session.made_us) > SESSION_US {
            self.book().end_session(&hash).await?;
            return Ok(nobody);
        }
        let Some(who) = self.person(session.person).await? else { return Ok(nobody) };
        if now.saturating_sub(session.seen_us) > SEEN_EVERY_US {
            self.book().touch_session(&hash, now).await?;
        }
        Ok((who, Via::Session(hash)))
    }

    async fn by_token(&self, headers: &HeaderMap) -> Result<(Who, Via), BookError> {
        let nobody = (Who::nobody(), Via::Nothing);
        let given = headers.get(AUTHORIZATION).and_then(|h| h.to_str().ok()).and_then(|h| {
            let (scheme, secret) = h.split_once(' ')?;
            scheme.eq_ignore_ascii_case("bearer").then(|| secret.trim())
        });
        let Some(secret) = given else { return Ok(nobody) };
        let now = self.now_us();
        let Some(token) = self.book().token(&secret::hash(secret)).await? else { return Ok(nobody) };
        if token.ends_us <= now {
            return Ok(nobody);
        }
        let Some(mut who) = self.person(token.person).await? else { return Ok(nobody) };
        if token.reads_only {
            who.role = who.role.min(Role::Viewer);
        }
        if token.seen_us.is_none_or(|seen| now.saturating_sub(seen) > SEEN_EVERY_US) {
            self.book().touch_token(token.id, now).await?;
        }
        Ok((who, Via::Token(token.id)))
    }

    /// A person with an open account, as the record has them now.
    pub(crate) async fn person(&self, person: Uuid) -> Result<Option<Who>, BookError> {
        let open = self.book().account_of(person).await?.is_some_and(|a| !a.disabled);
        let thing = if open { self.book().thing(Kind::Person, person).await? } else { None };
        Ok(thing.filter(|t| !t.archived).and_then(|thing| {
            let text = |field: &str| thing.body.get(field).and_then(serde_json::Value::as_str);
            Some(Who {
                person: Some(person),
                name: thing.name.clone(),
                role: Role::of_person(text("role")?)?,
                language: text("language").map(str::to_owned),
                units: if text("units") == Some("us") { Units::Us } else { Units::Metric },
            })
        }))
    }
}

/// A cookie's value.
fn cookie<'a>(headers: &'a HeaderMap, name: &str) -> Option<&'a str> {
    headers
        .get_all(COOKIE)
        .iter()
        .filter_map(|h| h.to_str().ok())
        .flat_map(|h| h.split(';'))
        .find_map(|pair| pair.trim().strip_prefix(name)?.strip_prefix('='))
}
