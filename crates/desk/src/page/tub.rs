//! A tub: what to do, what the water is now, how it came to be so, and the ways on from here.

mod chart;
mod edit;
mod entry;
mod fields;
mod happened;
mod history;
pub(crate) mod log;
mod photos;

pub(crate) use crate::known::{Known, known, planned};
pub(crate) use history::outcome;

use crate::ctx::Ctx;
use crate::error::{Answer, Refusal};
use crate::page::address::Path;
use crate::page::plan::keep_out;
use crate::page::shell;
use crate::page::strip::Strip;
use crate::page::typed::Typed;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::unit::with_unit;
use crate::words::t;
use axum::Router;
use axum::extract::{DefaultBodyLimit, Query, State};
use axum::http::Method;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use book::{Entry, PHOTO_BYTES_MOST, Uuid};
use care::finding::{Finding, Weight};
use care::plan::{Estimate, Plan};
use care::quantity::Quantity as Q;
use maud::{Markup, html};

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/tubs/new", Role::Technician),
    (Method::POST, "/tubs/new", Role::Technician),
    (Method::GET, "/tubs/{tub}", Role::Viewer),
    (Method::GET, "/tubs/{tub}/edit", Role::Technician),
    (Method::POST, "/tubs/{tub}/edit", Role::Technician),
    (Method::POST, "/tubs/{tub}/notes", Role::Technician),
    (Method::POST, "/tubs/{tub}/events", Role::Technician),
    (Method::GET, "/tubs/{tub}/photos", Role::Viewer),
    (Method::POST, "/tubs/{tub}/photos", Role::Technician),
    (Method::GET, "/tubs/{tub}/photos/{entry}", Role::Viewer),
    (Method::GET, "/tubs/{tub}/entries/{entry}", Role::Technician),
    (Method::POST, "/tubs/{tub}/entries/{entry}", Role::Technician),
];

pub(crate) fn routes() -> Router<App> {
    let photos =
        get(photos::list).post(photos::add).layer(DefaultBodyLimit::max(PHOTO_BYTES_MOST + (64 << 10)));
    Router::new()
        .route("/tubs/new", get(edit::new).post(edit::create))
        .route("/tubs/{tub}", get(show))
        .route("/tubs/{tub}/edit", get(edit::edit).post(edit::change))
        .route("/tubs/{tub}/notes", post(happened::note))
        .route("/tubs/{tub}/events", post(happened::event))
        .route("/tubs/{tub}/photos", photos)
        .route("/tubs/{tub}/photos/{entry}", get(photos::one))
        .route("/tubs/{tub}/entries/{entry}", get(entry::show).post(entry::correct))
}

async fn show(
    State(app): State<App>,
    ctx: Ctx,
    Path(tub): Path<Uuid>,
    Query(asked): Query<Vec<(String, String)>>,
) -> Answer {
    let known = known(&app, &ctx, tub).await?;
    let around = Around::read(&app, &ctx, &known, &asked).await?;
    Ok(page(&ctx, &known, &around, &Typed::default()).into_response())
}

/// What a tub's page shows beside its plan.
struct Around {
    history: history::History,
    last: Vec<Entry>,
    kits: log::Kits,
}

impl Around {
    async fn read(
        app: &App,
        ctx: &Ctx,
        known: &Known,
        asked: &[(String, String)],
    ) -> Result<Around, Refusal> {
        let history = history::History::read(app, ctx, known, asked).await.map_err(|e| e.at(ctx))?;
        Ok(Around {
            history,
            last: log::last(app, known.thing.id).await.map_err(|e| e.at(ctx))?,
            kits: log::Kits::read(app, ctx).await?,
        })
    }
}

fn page(ctx: &Ctx, known: &Known, around: &Around, typed: &Typed) -> Markup {
    let tub = known.thing.id;
    let body = html! {
        (heading(ctx, known))
        (typed.summary(ctx))
        @let (plan, ahead) = known.at_hand();
        @match plan {
            Ok(plan) => {
                p.lead { (ctx.care(&plan.headline)) }
                @if !ahead { p.soft { (t!(ctx, "tub-for-the-moment")) } }
                (keep_out(ctx, plan))
                (findings(ctx, plan, false))
                (ways(ctx, tub))
                h2 { (t!(ctx, "tub-water-now")) }
                (water_of(ctx, Some(tub), &plan.before.quantities, plan))
            }
            Err(why) => { p.lead { (ctx.care(why)) } (ways(ctx, tub)) }
        }
        (around.history.show(ctx, known))
        (log::show(ctx, tub, &around.last, &around.kits))
        (happened::forms(ctx, tub, typed))
        (fields::summary(ctx, known))
    };
    shell::page(ctx, &known.thing.name, &body)
}

/// Where to go from a tub.
fn ways(ctx: &Ctx, tub: Uuid) -> Markup {
    html! {
        div.actions {
            a.button.first href={ "/tubs/" (tub) "/reading" } { (t!(ctx, "tub-read")) }
            a.button href={ "/tubs/" (tub) "/plan" } { (t!(ctx, "tub-plan")) }
            a.button href={ "/tubs/" (tub) "/outlook" } { (t!(ctx, "outlook-title")) }
            a.button href={ "/tubs/" (tub) "/sheet" } { (t!(ctx, "tub-sheet")) }
            a.button href={ "/tubs/" (tub) "/bands" } { (t!(ctx, "bands-title")) }
        }
    }
}

/// Name, and what is worth knowing at a glance.
pub(crate) fn heading(ctx: &Ctx, known: &Known) -> Markup {
    let case = known.case.as_ref().ok();
    let text = |field: &str| known.thing.body[field].as_str().filter(|t| !t.is_empty()).map(str::to_string);
    let mut glance: Vec<String> = [text("address"), text("owner_name")].into_iter().flatten().collect();
    if let Some(case) = case {
        glance.push(ctx.volume(case.tub.volume_l));
        glance.extend(case.tub.temperature_c.map(|t| ctx.temperature(t)));
    }
    html! {
        div.heading {
            h1 { (known.thing.name) }
            p.glance { (glance.join(" · ")) }
        }
    }
}

/// What the readings themselves say, the weightiest first. In short: what bears on safety, and doubts.
pub(crate) fn findings(ctx: &Ctx, plan: &Plan, all: bool) -> Markup {
    // Each is said once, however many readings it was found in.
    let mut said: Vec<&Finding> = Vec::new();
    for f in &plan.findings {
        if !said.iter().any(|s| s.what == f.what) {
            said.push(f);
        }
    }
    let (grave, notes): (Vec<&Finding>, Vec<&Finding>) =
        said.into_iter().partition(|f| f.weight > Weight::Note);
    html! {
        (listed(ctx, &grave))
        @if all && !notes.is_empty() {
            details {
                summary { (t!(ctx, "finding-notes", n = notes.len() as i64)) }
                (listed(ctx, &notes))
            }
        }
    }
}

fn listed(ctx: &Ctx, findings: &[&Finding]) -> Markup {
    html! {
        @if !findings.is_empty() {
            ul.findings {
                @for f in findings {
                    li.safety[f.weight == Weight::Safety] {
                        strong {
                            (match f.weight {
                                Weight::Safety => t!(ctx, "finding-safety"),
                                Weight::Doubt => t!(ctx, "finding-doubt"),
                                Weight::Note => t!(ctx, "finding-note"),
                            })
                        }
                        " " (ctx.care(&f.what)) " " (ctx.care(&f.advice))
                    }
                }
            }
        }
    }
}

/// Every quantity that has a band: figure, strip, words. With a tub, each figure opens to its reasons.
pub(crate) fn water_of(ctx: &Ctx, tub: Option<Uuid>, quantities: &[Estimate], plan: &Plan) -> Markup {
    html! {
        ul.water {
            @for e in quantities {
                @if let Some((_, band)) = plan.bands.iter().find(|(q, _)| *q == e.quantity) {
                    @let strip = Strip { value: e.value, interval: (e.low, e.high), band: (band.low, band.high), decimals: decimals(e.quantity) };
                    li {
                        div.figure {
                            span.name { (name(ctx, e.quantity)) }
                            @let figure = html! { (ctx.number(e.value, strip.decimals)) @if !e.quantity.unit().is_empty() { " " span.unit { (e.quantity.unit()) } } };
                            // What is read out holds what is seen (WCAG 2.2, 2.5.3).
                            @let spoken = with_unit(&ctx.number(e.value, strip.decimals), e.quantity.unit());
                            @if let Some(tub) = tub {
                                a.value href={ "/tubs/" (tub) "/why/" (e.quantity.id()) } aria-label=(t!(ctx, "tub-why", quantity = name(ctx, e.quantity), value = spoken)) { (figure) }
                            } @else { span.value { (figure) } }
                        }
                        (strip.draw(ctx))
                        p.status { (strip.status(ctx)) @if !e.known { " · " (t!(ctx, "status-assumed")) } }
                    }
                }
            }
        }
    }
}

/// A quantity's name in the reader's language.
pub(crate) fn name(ctx: &Ctx, q: Q) -> String {
    ctx.say(&q.id().replace('_', "-"), None)
}

/// As many decimals as a kit can tell.
pub(crate) fn decimals(q: Q) -> usize {
    match q {
        Q::Ph | Q::SaturationIndex => 2,
        Q::FreeChlorine | Q::CombinedChlorine | Q::TotalChlorine | Q::TotalBromine | Q::Temperature => 1,
        Q::Conductivity | Q::Iron | Q::Copper | Q::Phosphate | Q::Turbidity => 2,
        _ => 0,
    }
}
