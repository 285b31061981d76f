//! A tub's outlook: when to look again, what each quantity will do, what a week takes, what the tub has taught.

pub(crate) mod fan;

use crate::ctx::Ctx;
use crate::error::Answer;
use crate::known::{self, Ahead, DAYS_AHEAD};
use crate::page::address::Path;
use crate::page::shell;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::Router;
use axum::extract::State;
use axum::http::Method;
use axum::response::IntoResponse;
use axum::routing::get;
use book::Uuid;
use care::case::Case;
use care::outlook::{Fan, Leaves};
use care::quantity::Quantity as Q;
use care::wire::outlook::told as learnt;
use maud::{Markup, html};

pub(crate) const RULES: &[Rule] = &[(Method::GET, "/tubs/{tub}/outlook", Role::Viewer)];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/tubs/{tub}/outlook", get(show))
}

async fn show(State(app): State<App>, ctx: Ctx, Path(tub): Path<Uuid>) -> Answer {
    let known = known::foreseen(&app, &ctx, tub).await?;
    let title = t!(ctx, "outlook-of", tub = known.thing.name.clone());
    let body = html! {
        nav.crumbs aria-label=(t!(ctx, "crumbs")) { a href={ "/tubs/" (tub) } { (known.thing.name) } }
        div.heading { h1 { (title) } }
        @match (known.outlook(), &known.case) {
            (Ok(ahead), Ok(case)) => (told(&ctx, tub, ahead, case)),
            (Err(why), _) | (_, Err(why)) => p.lead { (ctx.care(why)) },
        }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}

fn told(ctx: &Ctx, tub: Uuid, ahead: &Ahead, case: &Case) -> Markup {
    let outlook = &ahead.outlook;
    html! {
        p.lead { (look(ctx, ahead)) }
        div.actions {
            a.button.first href={ "/tubs/" (tub) "/reading" } { (t!(ctx, "tub-read")) }
            a.button href={ "/tubs/" (tub) "/plan" } { (t!(ctx, "tub-plan")) }
        }
        h2 { (t!(ctx, "outlook-ahead", days = DAYS_AHEAD)) }
        p.note { (t!(ctx, "outlook-key")) @if let Some(letters) = fan::letters(ctx, outlook) { " " (letters) } }
        div.charts {
            @for (number, fan) in outlook.fans.iter().enumerate() { (fan::figure(ctx, number, fan, outlook)) }
        }
        @if !outlook.checks.is_empty() {
            h2 { (t!(ctx, "outlook-checks")) }
            ul { @for check in &outlook.checks { li { (ctx.care(&check.what)) " " (ctx.care(&check.advice)) } } }
        }
        @if !outlook.needs.is_empty() {
            h2 { (t!(ctx, "outlook-week")) }
            p.caution { (t!(ctx, "outlook-week-caution")) }
            dl.facts {
                @for need in &outlook.needs {
                    @let [low, middle, high] = need.grams.map(|g| ctx.mass(g));
                    dt { (need.name) }
                    dd { (t!(ctx, "outlook-range", middle = middle, low = low, high = high)) " · " (ctx.care(&need.measure_text)) }
                }
            }
        }
        h2 { (t!(ctx, "outlook-learned")) }
        p.note { (t!(ctx, "outlook-learned-key")) }
        (learned(ctx, ahead, case))
        h2 { (t!(ctx, "outlook-assumes")) }
        ul { @for assumption in &outlook.assumptions { li { (ctx.care(assumption)) } } }
    }
}

/// A worth that is worth a word, visits.
const WORTH_SAYING: f64 = 0.05;

fn look(ctx: &Ctx, ahead: &Ahead) -> String {
    let look = &ahead.outlook.look;
    let mut unit_said = false;
    let measured = |(q, worth): (&Q, &f64)| {
        let name = ctx.care_plain(&q.said());
        if *worth < WORTH_SAYING {
            return name;
        }
        let visits = ctx.number(*worth, 1);
        let said = if unit_said { visits } else { t!(ctx, "outlook-worth", visits = visits) };
        unit_said = true;
        format!("{name} ({said})")
    };
    let measure = look.measure.iter().zip(&look.worth).map(measured).collect::<Vec<_>>().join(", ");
    let because = look.because.map_or(String::new(), |q| ctx.care_plain(&q.said()));
    let chance = ctx.number(100.0 * look.chance, 0);
    if look.after_h <= 0.0 {
        return t!(ctx, "outlook-now", quantity = because, chance = chance, measure = measure);
    }
    let when = if look.after_h < 36.0 {
        t!(ctx, "outlook-hours", hours = ctx.number(look.after_h, 0))
    } else {
        t!(ctx, "outlook-days", days = ctx.number(look.after_h / 24.0, 1))
    };
    t!(ctx, "outlook-look", when = when, measure = measure, quantity = because, chance = chance)
}

/// When a quantity leaves its band, in words.
pub(crate) fn when(ctx: &Ctx, leaves: &Leaves) -> String {
    let last = leaves.by_day.last().copied().unwrap_or(0.0);
    let edge = if leaves.below >= 0.5 { t!(ctx, "outlook-below") } else { t!(ctx, "outlook-above") };
    match leaves.median_day {
        _ if leaves.outside_now > 0.5 => t!(ctx, "outlook-outside-now"),
        Some(day) if day < 1.0 => t!(ctx, "outlook-leaves-today", edge = edge),
        Some(day) => t!(ctx, "outlook-leaves", edge = edge, day = ctx.number(day, 0)),
        None if last >= 0.05 => {
            t!(ctx, "outlook-may-leave", edge = edge, chance = ctx.number(100.0 * last, 0))
        }
        None => t!(ctx, "outlook-stays"),
    }
}

/// The numbers of a fan, for who does not see it.
fn numbers(ctx: &Ctx, fan: &Fan) -> String {
    let n = |v: f64| ctx.number(v, fan.quantity.decimals());
    let said = |q: Option<&[f64; 5]>| {
        q.map_or(String::new(), |q| t!(ctx, "outlook-range", middle = n(q[2]), low = n(q[0]), high = n(q[4])))
    };
    t!(
        ctx,
        "outlook-now-then",
        now = said(fan.quantiles.first()),
        end = said(fan.quantiles.last()),
        days = DAYS_AHEAD
    )
}

fn learned(ctx: &Ctx, ahead: &Ahead, case: &Case) -> Markup {
    let products: Vec<&str> = case.shelf.iter().map(|p| p.name.as_str()).collect();
    // Three figures that count.
    let figure = |v: f64| {
        let decimals = match v.abs() {
            a if a >= 100.0 => 0,
            a if a >= 10.0 => 1,
            a if a >= 0.995 || a == 0.0 => 2,
            _ => 3,
        };
        ctx.number(v, decimals)
    };
    html! {
        div.scroll tabindex="0" role="group" aria-label=(t!(ctx, "outlook-learned")) {
            table {
                thead { tr {
                    th scope="col" { (t!(ctx, "outlook-what")) }
                    th scope="col" { (t!(ctx, "outlook-this-tub")) }
                    th scope="col" { (t!(ctx, "outlook-tubs")) }
                } }
                tbody {
                    @for t in &ahead.outlook.learned {
                        @let learnt = learnt(t, &ahead.learned, &products, ctx.units);
                        @let [low, middle, high] = learnt.now.map(figure);
                        @let [from, _, to] = learnt.prior.map(figure);
                        tr {
                            th scope="row" { (ctx.care(&learnt.what)) }
                            td { (t!(ctx, "outlook-range", middle = middle, low = low, high = high)) }
                            td { (t!(ctx, "outlook-span", low = from, high = to)) }
                        }
                    }
                }
            }
        }
    }
}
