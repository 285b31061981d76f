//! Which tubs need a look and why, most urgent first.

use crate::api::reply::{self, Reply};
use crate::api::sent::{self, Asked};
use crate::api::things::written;
use crate::state::App;
use crate::summary::Short;
use axum::extract::State;
use axum::http::HeaderMap;
use book::{Summarised, SummaryFilter, Uuid};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A tub as the list of the day has it.
#[derive(Debug, Serialize, JsonSchema)]
#[schemars(rename = "TubOfTheDay")]
pub(crate) struct TubToday {
    /// The tub's id.
    #[schemars(extend("format" = "uuid"))]
    tub: String,
    /// What it is called.
    name: String,
    /// `safety`, `act`, `test`, `rest` or `unknown`.
    #[schemars(extend("enum" = ["safety", "act", "test", "rest", "unknown"]))]
    need: String,
    /// What to do, or why there is no plan. The product's label, local rules and licensed practice come first.
    headline: String,
    /// When it was last read, RFC 3339.
    last_reading: Option<String>,
    /// When the next look is due, RFC 3339.
    due: Option<String>,
    /// Litres.
    volume_l: Option<f64>,
}

impl TubToday {
    fn of(s: Summarised) -> TubToday {
        let need = s.summary.body["need"].as_str().unwrap_or("unknown").to_owned();
        let short: Option<Short> = serde_json::from_value(s.summary.body).ok();
        TubToday {
            tub: s.summary.tub.to_string(),
            name: s.name,
            need,
            headline: short.as_ref().map(|s| s.headline.clone()).unwrap_or_default(),
            last_reading: short.as_ref().and_then(|s| s.last_reading_us).map(written),
            due: s.summary.due_us.map(written),
            volume_l: short.and_then(|s| s.volume_l),
        }
    }
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct TodayAsked {
    text: Option<String>,
    after: Option<Uuid>,
    limit: Option<u32>,
}

pub(crate) async fn list(
    State(app): State<App>,
    Asked(asked): Asked<TodayAsked>,
    headers: HeaderMap,
) -> Reply {
    let limit = sent::limit(asked.limit)?;
    let filter = SummaryFilter { text: asked.text.clone(), limit: Some(limit + 1), after: asked.after };
    let mut tubs = app.book().summaries(&filter).await?;
    let more = tubs.len() > limit as usize;
    tubs.truncate(limit as usize);
    let last = if more { tubs.last().map(|t| t.summary.tub.to_string()) } else { None };
    let next = last.map(|last| {
        let parameters = [("text", asked.text), ("limit", Some(limit.to_string())), ("after", Some(last))];
        reply::address("/api/v1/today", &parameters)
    });
    reply::page(&headers, tubs.into_iter().map(TubToday::of).collect(), next)
}
