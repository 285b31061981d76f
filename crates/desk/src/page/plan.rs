//! The plan as a checklist: each step with its cautions and the water after it. Ticking one records what was really done,
//! and the plan is made again from there.

mod ahead;
mod step;
mod tick;

use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::page::address::Path;
use crate::page::shell;
use crate::page::tub::{self, Known};
use crate::page::typed::Typed;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::Router;
use axum::extract::State;
use axum::http::Method;
use axum::response::IntoResponse;
use axum::routing::{get, post};
use book::{Entry, Filter, Kind, Uuid};
use care::plan::{Plan, StepKind};
use maud::{Markup, html};

pub(crate) const RULES: &[Rule] =
    &[(Method::GET, "/tubs/{tub}/plan", Role::Viewer), (Method::POST, "/tubs/{tub}/steps", Role::Technician)];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/tubs/{tub}/plan", get(show)).route("/tubs/{tub}/steps", post(tick::done))
}

/// Steps done within so many hours stand on the page.
const SHOWN_HOURS: i64 = 24;

async fn show(State(app): State<App>, ctx: Ctx, Path(tub): Path<Uuid>) -> Answer {
    let known = tub::planned(&app, &ctx, tub).await?;
    let done = done_lately(&app, &ctx, tub).await.map_err(|e| e.at(&ctx))?;
    Ok(page(&ctx, &known, &done, &Typed::default()).into_response())
}

/// What was done of late, the last first.
async fn done_lately(app: &App, ctx: &Ctx, tub: Uuid) -> Result<Vec<Entry>, PageError> {
    let from = ctx.now.as_microsecond() - SHOWN_HOURS * 3600 * 1_000_000;
    let filter = Filter {
        subject: Some(tub),
        kinds: vec![Kind::StepDone, Kind::Dose],
        from_us: Some(from),
        newest_first: true,
        ..Filter::default()
    };
    let mut done = app.book().entries(&filter).await?;
    done.retain(Entry::is_effective);
    done.sort_by_key(|e| std::cmp::Reverse(e.at_us));
    Ok(done)
}

/// The page; `typed` is what was sent and could not be used.
fn page(ctx: &Ctx, known: &Known, done: &[Entry], typed: &Typed) -> Markup {
    let title = t!(ctx, "plan-title", tub = known.thing.name.clone());
    let body = html! {
        p.back { a href={ "/tubs/" (known.thing.id) } { (known.thing.name) } }
        div.heading { h1 { (t!(ctx, "plan-heading")) } }
        (typed.summary(ctx))
        @match known.plan() {
            Ok(plan) => (of_plan(ctx, known, plan, done, typed)),
            Err(why) => {
                p.lead { (ctx.care(why)) }
                p { a.button.first href={ "/tubs/" (known.thing.id) "/reading" } { (t!(ctx, "tub-read")) } }
                (lately(ctx, known.thing.id, done))
            }
        }
    };
    shell::page(ctx, &title, &body)
}

/// Until when nobody bathes, if the plan says so: what is gravest on whichever page it stands.
pub(crate) fn keep_out(ctx: &Ctx, plan: &Plan) -> Markup {
    html! {
        @for step in plan.steps.iter().filter(|s| s.kind == StepKind::KeepOut) {
            section.keepout aria-labelledby="keep-out" {
                h2 #keep-out { (t!(ctx, "need-safety")) }
                p { (ctx.care(&step.why)) }
            }
        }
    }
}

fn of_plan(ctx: &Ctx, known: &Known, plan: &Plan, done: &[Entry], typed: &Typed) -> Markup {
    let tub = known.thing.id;
    html! {
        p.lead { (ctx.care(&plan.headline)) }
        (lately(ctx, tub, done))
        (tub::findings(ctx, plan, true))
        h2 { (t!(ctx, "plan-steps")) }
        @if plan.steps.is_empty() { p { (t!(ctx, "plan-nothing")) } }
        @if plan.steps.iter().any(|s| s.kind == StepKind::Add) { p.caution { (t!(ctx, "plan-one-at-a-time")) } }
        ol.steps {
            @let first = plan.steps.iter().position(|s| s.kind != StepKind::KeepOut);
            @for (i, s) in plan.steps.iter().enumerate() {
                li { (step::show(ctx, known, plan, s, Some(i) == first, done, typed)) }
            }
        }
        div.actions {
            a.button href={ "/tubs/" (tub) "/what-if" (step::amounts(plan)) } { (t!(ctx, "plan-what-if")) }
            a.button href={ "/tubs/" (tub) "/sheet" } { (t!(ctx, "tub-sheet")) }
        }
        @if let Some(last) = plan.steps.last() {
            h2 { (t!(ctx, "plan-after")) }
            p.soft { (t!(ctx, "plan-after-why")) }
            (tub::water_of(ctx, Some(tub), &last.water_after.quantities, plan))
        }
        h2 { (t!(ctx, "plan-look-again")) }
        p { (t!(ctx, "plan-look-in", ahead = step::hours(ctx, plan.look_again.after_hours),
            quantities = plan.look_again.quantities.iter().map(|q| ctx.care_plain(&q.said())).collect::<Vec<_>>().join(", "))) " " (ctx.care(&plan.look_again.why)) }
        @if !plan.look_again.then_hours.is_empty() {
            p { (t!(ctx, "plan-look-then", times = plan.look_again.then_hours.iter().map(|h| step::hours(ctx, *h)).collect::<Vec<_>>().join(", "))) }
        }
        (ahead::show(ctx, plan))
        (beside(ctx, plan))
    }
}

/// What stands beside the steps: what was left, how sure it is, what was taken for granted.
fn beside(ctx: &Ctx, plan: &Plan) -> Markup {
    html! {
        @if !plan.out_of_band_after.is_empty() {
            h2 { (t!(ctx, "plan-left")) }
            ul { @for miss in &plan.out_of_band_after { li { strong { (tub::name(ctx, miss.quantity)) } (t!(ctx, "colon")) (ctx.care(&miss.why)) } } }
        }
        @if !plan.not_done.is_empty() {
            h2 { (t!(ctx, "plan-not-done")) }
            dl.reasons { @for n in &plan.not_done { dt { (ctx.care(&n.what)) } dd { (ctx.care(&n.why)) } } }
        }
        @if !plan.risks.is_empty() {
            h2 { (t!(ctx, "plan-risks")) }
            ul {
                @for r in &plan.risks {
                    @let percent = |p: f64| ctx.number(100.0 * p, 0);
                    li {
                        (tub::name(ctx, r.quantity)) (t!(ctx, "colon"))
                        @if r.below >= 0.005 { (t!(ctx, "plan-risk-below", percent = percent(r.below))) }
                        @if r.below >= 0.005 && r.above >= 0.005 { "; " }
                        @if r.above >= 0.005 { (t!(ctx, "plan-risk-above", percent = percent(r.above))) }
                        @if r.below < 0.005 && r.above < 0.005 { (t!(ctx, "plan-risk-none")) }
                    }
                }
            }
        }
        @if !plan.assumptions.is_empty() {
            h2 { (t!(ctx, "plan-assumptions")) }
            ul { @for a in &plan.assumptions { li { (ctx.care(a)) } } }
        }
        @if !plan.rules.is_empty() {
            details {
                summary { (t!(ctx, "plan-rules")) }
                ul { @for r in &plan.rules { li { (ctx.care(&r.rule)) " " (ctx.care(&r.difference)) } } }
            }
        }
    }
}

/// What was done of late, and how long to wait still.
fn lately(ctx: &Ctx, tub: Uuid, done: &[Entry]) -> Markup {
    html! {
        @if !done.is_empty() {
            section.done aria-labelledby="done" {
                h2 #done { (t!(ctx, "plan-done")) }
                @if let Some((until, what)) = step::waiting(ctx, done) {
                    p.wait { strong { (t!(ctx, "plan-wait-until", time = ctx.local(until).strftime("%H:%M").to_string(), ahead = ctx.ago(until))) } " " (what) }
                }
                ul.log {
                    @for e in done {
                        li { span { (tub::log::deed(ctx, e)) } " " span.soft { (ctx.ago(e.at_us)) } " " a href={ "/tubs/" (tub) "/entries/" (e.id) } { (t!(ctx, "log-correct")) } }
                    }
                }
                p { (t!(ctx, "plan-remade")) }
            }
        }
    }
}
