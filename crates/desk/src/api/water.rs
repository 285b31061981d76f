//! Waters and plans: of what is sent, and of a tub of the book.

use crate::api::problem::{Fault, Problem};
use crate::api::reply::{self, Reply};
use crate::api::sent::{Id, Sent};
use crate::known;
use crate::state::App;
use crate::unit::Units;
use axum::extract::State;
use axum::http::{HeaderMap, StatusCode};
use book::{BookError, Kind};
use care::case::Case;
use care::text::Text;
use care::wire::case::CaseText;
use care::wire::outlook::OutlookOut;
use care::wire::plan::PlanOut;
use care::wire::water::{WaterOut, read_line};
use serde::Serialize;
use serde_json::Value;

/// The answer to a water: its id, and what it is.
#[derive(Serialize)]
struct WaterAnswer {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<Value>,
    #[serde(flatten)]
    water: WaterOut,
}

/// Runs work off the threads that serve, a few at a time.
async fn work<T: Send + 'static>(
    app: &App,
    work: impl FnOnce() -> Result<T, Problem> + Send + 'static,
) -> Result<T, Problem> {
    let _turn = app.inner.plans.acquire().await;
    let failed = |e: tokio::task::JoinError| Problem::new(StatusCode::INTERNAL_SERVER_ERROR, e.to_string());
    tokio::task::spawn_blocking(work).await.map_err(failed)?
}

pub(crate) async fn water(State(app): State<App>, headers: HeaderMap, sent: Sent) -> Reply {
    let answer = work(&app, move || {
        let told = |what: String| Fault::new("", what, "");
        let water = read_line(&sent.text, 1)
            .map_err(|e| Problem::unusable(e.faults.into_iter().map(told).collect()))?;
        let out = water.answer().map_err(|e| Problem::unusable(vec![told(e.to_string())]))?;
        Ok(WaterAnswer { id: water.id, water: out })
    })
    .await?;
    reply::json(&headers, &answer)
}

pub(crate) async fn plan_of_case(State(app): State<App>, headers: HeaderMap, sent: Sent) -> Reply {
    let plan = work(&app, move || {
        if !sent.value.is_object() {
            return Err(Problem::unusable(vec![Fault::new(
                "",
                "the case is no object",
                "an object is accepted",
            )]));
        }
        if sent.value.get("entries").is_some() {
            let accepted =
                "what happened is accepted as reading, dose and event: files are not read from here";
            return Err(Problem::unusable(vec![Fault::new("entries", "names a file", accepted)]));
        }
        let case = CaseText::of_json(&sent.value, "").finish(None);
        let case = case.map_err(|p| Problem::unusable(p.into_iter().map(Fault::of).collect()))?;
        planned(case, Problem::unusable)
    })
    .await?;
    reply::json(&headers, &plan)
}

/// `refused` says what it means that there is no plan: of a case that was sent, or of a tub of the book.
fn planned(case: Case, refused: fn(Vec<Fault>) -> Problem) -> Result<PlanOut, Problem> {
    let told = |what: String| refused(vec![Fault::new("", what, "")]);
    let plan = care::ahead::plan_case(&case, None, known::SEED).map_err(|e| told(e.to_string()))?;
    PlanOut::of(&plan).map_err(|e| told(e.to_string()))
}

pub(crate) async fn plan_of_tub(State(app): State<App>, Id(tub): Id, headers: HeaderMap) -> Reply {
    there_is(&app, tub).await?;
    let case = app.book().case(tub, app.now_us(), None).await.map_err(of_the_book)?;
    let plan = work(&app, move || planned(case, Problem::not_yet)).await?;
    reply::json(&headers, &plan)
}

pub(crate) async fn outlook_of_tub(State(app): State<App>, Id(tub): Id, headers: HeaderMap) -> Reply {
    let known = known::of(&app, tub, Units::Metric).await?.ok_or_else(|| Problem::missing("tub"))?;
    let outlook = work(&app, move || {
        let told = |what: &Text| Problem::not_yet(vec![Fault::new("", what.to_string(), "")]);
        let case = known.case.as_ref().map_err(told)?;
        let ahead = known.outlook().as_ref().map_err(told)?;
        let products: Vec<&str> = case.shelf.iter().map(|p| p.name.as_str()).collect();
        Ok(OutlookOut::of(&ahead.outlook, &ahead.learned, &products))
    })
    .await?;
    reply::json(&headers, &outlook)
}

pub(crate) async fn case_of_tub(State(app): State<App>, Id(tub): Id, headers: HeaderMap) -> Reply {
    there_is(&app, tub).await?;
    let case = app.book().case_json(tub, app.now_us(), None).await.map_err(of_the_book)?;
    reply::json(&headers, &case)
}

/// A case that the book's own records do not make is nothing that was sent.
fn of_the_book(e: BookError) -> Problem {
    match e {
        BookError::Case(problems) => Problem::not_yet(problems.into_iter().map(Fault::of).collect()),
        other => other.into(),
    }
}

async fn there_is(app: &App, tub: book::Uuid) -> Result<(), Problem> {
    match app.book().thing(Kind::Tub, tub).await? {
        Some(_) => Ok(()),
        None => Err(Problem::missing("tub")),
    }
}
