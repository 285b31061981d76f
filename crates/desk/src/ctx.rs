//! Who asks, and how they read: language, units, time zone.

use crate::number::{Misread, number, read, with_comma};
use crate::page::me;
use crate::policy::Who;
use crate::said::unbroken;
use crate::state::App;
use crate::unit::Units;
use crate::words::{self, Arguments};
use axum::extract::FromRequestParts;
use axum::http::header::ACCEPT_LANGUAGE;
use axum::http::request::Parts;
use fluent_templates::LanguageIdentifier;
use jiff::tz::TimeZone;
use jiff::{Timestamp, Zoned};
use std::convert::Infallible;

/// The context of a request.
#[derive(Debug, Clone)]
pub(crate) struct Ctx {
    pub(crate) who: Who,
    pub(crate) language: LanguageIdentifier,
    pub(crate) units: Units,
    pub(crate) zone: TimeZone,
    pub(crate) demo: bool,
    /// The path that was asked for, to mark it in the navigation.
    pub(crate) path: String,
    pub(crate) now: Timestamp,
}

impl FromRequestParts<App> for Ctx {
    type Rejection = Infallible;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Ctx, Infallible> {
        let who = parts.extensions.get::<Who>().cloned().unwrap_or_else(Who::nobody);
        let header = parts.headers.get(ACCEPT_LANGUAGE).and_then(|h| h.to_str().ok()).unwrap_or("");
        // Who has no name here keeps the choice in the browser.
        let kept = |name| who.person.is_none().then(|| me::cookie(&parts.headers, name)).flatten();
        let chosen = who.language.clone().or_else(|| kept(me::LANGUAGE));
        let language = chosen.as_deref().map_or_else(|| words::best(header), words::language);
        Ok(Ctx {
            units: if kept(me::UNITS).as_deref() == Some("us") { Units::Us } else { who.units },
            language,
            who,
            zone: app.inner.zone.clone(),
            demo: app.inner.demo,
            path: parts.uri.path().to_string(),
            now: app.inner.clock.now(),
        })
    }
}

impl Ctx {
    pub(crate) fn say(&self, id: &str, arguments: Option<&Arguments>) -> String {
        unbroken(&words::say(&self.language, id, arguments))
    }

    /// A number in the reader's language.
    pub(crate) fn number(&self, value: f64, decimals: usize) -> String {
        number(&self.language, value, decimals)
    }

    /// From one number to another: "7.0–7.8", in words where the first is negative, one number where both show alike.
    pub(crate) fn range(&self, low: f64, high: f64, decimals: usize) -> String {
        self.between(low, self.number(low, decimals), self.number(high, decimals))
    }

    /// The same of numbers that stand already as they are shown.
    pub(crate) fn between(&self, low: f64, shown_low: String, shown_high: String) -> String {
        if shown_low == shown_high {
            shown_low
        } else if low < 0.0 {
            crate::words::t!(self, "range-to", low = shown_low, high = shown_high)
        } else {
            format!("{shown_low}–{shown_high}")
        }
    }

    pub(crate) fn local(&self, at_us: i64) -> Zoned {
        Timestamp::from_microsecond(at_us).unwrap_or(Timestamp::UNIX_EPOCH).to_zoned(self.zone.clone())
    }

    /// A number as this reader types it.
    pub(crate) fn read(&self, typed: &str) -> Result<f64, Misread> {
        read(typed, with_comma(&self.language))
    }

    /// A day, "26 November", with the year if it is another one.
    pub(crate) fn day(&self, at_us: i64) -> String {
        let at = self.local(at_us);
        let month = self.say(MONTHS[usize::from(at.month().unsigned_abs() - 1) % 12], None);
        let mut arguments = Arguments::new();
        arguments.insert("day".into(), i64::from(at.day()).into());
        arguments.insert("month".into(), month.into());
        // As text: a number would get its thousands mark.
        arguments.insert("year".into(), at.year().to_string().into());
        let this_year = self.now.to_zoned(self.zone.clone()).year() == at.year();
        self.say(if this_year { "date-day" } else { "date-day-year" }, Some(&arguments))
    }

    /// A day with its time, "26 November, 14:05".
    pub(crate) fn day_and_time(&self, at_us: i64) -> String {
        format!("{}, {}", self.day(at_us), self.time(at_us))
    }

    /// The time of day, "14:05".
    pub(crate) fn time(&self, at_us: i64) -> String {
        self.local(at_us).strftime("%H:%M").to_string()
    }

    /// How long ago or ahead, in words: "3 days ago".
    pub(crate) fn ago(&self, at_us: i64) -> String {
        let hours = (self.now.as_microsecond() - at_us) as f64 / 3.6e9;
        let (id_past, id_ahead, amount) = match hours.abs() {
            h if h < 1.0 => ("ago-minutes", "in-minutes", h * 60.0),
            h if h < 36.0 => ("ago-hours", "in-hours", h),
            h => ("ago-days", "in-days", h / 24.0),
        };
        let mut arguments = Arguments::new();
        arguments.insert("n".into(), (amount.round() as i64).into());
        self.say(if hours >= 0.0 { id_past } else { id_ahead }, Some(&arguments))
    }
}

const MONTHS: [&str; 12] = [
    "month-1", "month-2", "month-3", "month-4", "month-5", "month-6", "month-7", "month-8", "month-9",
    "month-10", "month-11", "month-12",
];
