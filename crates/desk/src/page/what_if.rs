//! What if: the water after amounts that somebody has in mind, by the exact equilibrium. A foretelling, not advice.

use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::known;
use crate::page::address::Path;
use crate::page::shell;
use crate::page::strip::Strip;
use crate::page::tub::{decimals, name};
use crate::page::typed::{Typed, element};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::unit::Units;
use crate::words::t;
use axum::Router;
use axum::extract::{Query, State};
use axum::http::Method;
use axum::response::IntoResponse;
use axum::routing::get;
use book::{Kind, Uuid};
use care::case::{Case, MeasureKind, Product};
use care::predict::{Prediction, predict};
use care::wire::case::LITRES_PER_GALLON;
use maud::{Markup, html};

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/tubs/{tub}/what-if", Role::Viewer),
    (Method::GET, "/tubs/{tub}/what-if/water", Role::Viewer),
];

pub(crate) fn routes() -> Router<App> {
    Router::new().route("/tubs/{tub}/what-if", get(whole)).route("/tubs/{tub}/what-if/water", get(part))
}

/// A slider reaches this share of the tub's water in grams of product: 300 g for 1000 L.
const REACH_G_PER_L: f64 = 0.3;
/// Salt is dosed by the kilogram.
const REACH_SALT_G_PER_L: f64 = 3.0;

type Asked = Query<Vec<(String, String)>>;

/// The question as it was put, with its faults.
struct Question {
    case: Case,
    doses: Vec<(usize, f64)>,
    typed: Typed,
    told_l: f64,
}

impl Question {
    async fn read(
        app: &App,
        ctx: &Ctx,
        tub: Uuid,
        asked: Vec<(String, String)>,
    ) -> Result<Question, PageError> {
        let known = known::of(app, tub, ctx.units).await?.ok_or(PageError::Missing("tub"))?;
        let mut case = known.case.clone().map_err(|why| PageError::Unusable(vec![ctx.care_plain(&why)]))?;
        let told_l = case.tub.volume_l;
        let mut typed = Typed::from(asked);
        if let Some(volume) = typed.number(ctx, "volume") {
            let litres = if ctx.units == Units::Us { volume * LITRES_PER_GALLON } else { volume };
            if (50.0..=100_000.0).contains(&litres) {
                case.tub.volume_l = litres;
            } else {
                typed.fault("volume", t!(ctx, "what-if-volume"));
            }
        }
        let names: Vec<String> = typed.beginning("g.").map(|(name, _)| name.to_string()).collect();
        let mut doses = Vec::new();
        for name in names {
            let field = format!("g.{name}");
            let Some(index) = case.shelf.iter().position(|p| p.name == name) else { continue };
            match typed.number(ctx, &field) {
                Some(grams) if (0.0..=100_000.0).contains(&grams) => doses.push((index, grams)),
                Some(_) => typed.fault(&field, t!(ctx, "what-if-amount")),
                None => {}
            }
        }
        Ok(Question { case, doses, typed, told_l })
    }

    /// The answer: the water after, or why it cannot be said.
    fn answer(&self, ctx: &Ctx) -> Markup {
        if self.typed.has_faults() {
            return self.typed.summary(ctx);
        }
        match predict(&self.case, &self.doses) {
            Ok(found) => water(ctx, &self.case, &self.doses, &found),
            Err(why) => html! { p.fault role="alert" { (ctx.care(&why.said().capital())) } },
        }
    }
}

async fn whole(State(app): State<App>, ctx: Ctx, Path(tub): Path<Uuid>, Query(asked): Asked) -> Answer {
    let thing = app.book().thing(Kind::Tub, tub).await.map_err(|e| PageError::from(e).at(&ctx))?;
    let thing = thing.ok_or_else(|| PageError::Missing("tub").at(&ctx))?;
    let question = Question::read(&app, &ctx, tub, asked).await.map_err(|e| e.at(&ctx))?;
    let title = t!(ctx, "what-if-title", tub = thing.name.clone());
    let body = html! {
        p.back { a href={ "/tubs/" (tub) } { (thing.name) } " · " a href={ "/tubs/" (tub) "/plan" } { (t!(ctx, "tub-plan")) } }
        div.heading { h1 { (t!(ctx, "what-if")) } p { (t!(ctx, "what-if-lead")) } }
        div.beside {
            (form(&ctx, tub, &question))
            div #what-if-water aria-live="polite" aria-busy="false" { (question.answer(&ctx)) }
        }
        script type="module" src=(crate::asset::address("what-if.js")) {}
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}

/// The answer alone, for the script.
async fn part(State(app): State<App>, ctx: Ctx, Path(tub): Path<Uuid>, Query(asked): Asked) -> Answer {
    let question = Question::read(&app, &ctx, tub, asked).await.map_err(|e| e.at(&ctx))?;
    Ok(question.answer(&ctx).into_response())
}

fn form(ctx: &Ctx, tub: Uuid, question: &Question) -> Markup {
    let shown = |litres: f64| if ctx.units == Units::Us { litres / LITRES_PER_GALLON } else { litres };
    let volume = shown(question.case.tub.volume_l);
    let told = shown(question.told_l);
    let label = if ctx.units == Units::Us { t!(ctx, "event-gallons") } else { t!(ctx, "event-litres") };
    html! {
        form.what-if method="get" action={ "/tubs/" (tub) "/what-if" } data-part={ "/tubs/" (tub) "/what-if/water" } {
            (slider("volume", &label, (0.5 * told).round(), (1.5 * told).round(), 1.0, volume.round(), &question.typed))
            @for (i, product) in question.case.shelf.iter().enumerate().filter(|(_, p)| p.stock_g != Some(0.0)) {
                @let grams = question.doses.iter().find(|(d, _)| *d == i).map_or(0.0, |(_, g)| *g);
                @let field = format!("g.{}", product.name);
                (slider(&field, &t!(ctx, "what-if-grams", product = product.name.clone()), 0.0, reach(product, question.told_l), step_g(product), grams, &question.typed))
            }
            div.actions { button type="submit" { (t!(ctx, "what-if-foretell")) } }
        }
    }
}

fn reach(product: &Product, volume_l: f64) -> f64 {
    let salt = product.substance == care::case::Substance::Chemical(water::Chemical::SodiumChloride);
    let most = volume_l * if salt { REACH_SALT_G_PER_L } else { REACH_G_PER_L };
    (most / 10.0).ceil() * 10.0
}

/// Steps that the owner can measure, at least a gram.
fn step_g(product: &Product) -> f64 {
    product.measure.smallest_g().clamp(1.0, 50.0)
}

/// A number to type, and a slider that the script joins to it. Without script the slider stays hidden and the number counts.
fn slider(field: &str, label: &str, low: f64, high: f64, step: f64, value: f64, typed: &Typed) -> Markup {
    let id = element(field);
    html! {
        div.slider {
            label for=(id) { (label) }
            input id=(id) name=(field) inputmode="decimal" autocomplete="off" value=((value * 10.0).round() / 10.0);
            input type="range" hidden aria-label=(label) min=(low) max=(high) step=(step) value=(value) data-for=(id);
            (typed.said(field))
        }
    }
}

/// A product with its amount, in the owner's measure too if that is no scale.
fn amount(ctx: &Ctx, product: &Product, grams: f64) -> String {
    let mass = format!("{} {}", ctx.mass(grams), product.name);
    match product.measure.kind {
        MeasureKind::Scale => mass,
        _ => format!("{mass} ({})", ctx.care_plain(&care::planner::amount_text(product, grams, ctx.units))),
    }
}

fn water(ctx: &Ctx, case: &Case, doses: &[(usize, f64)], found: &Prediction) -> Markup {
    let bands = care::planner::bands_of(case).map(|(bands, _)| bands).unwrap_or_default();
    let dosed: Vec<(&Product, f64)> =
        doses.iter().filter(|(_, g)| *g > 0.0).filter_map(|(i, g)| Some((case.shelf.get(*i)?, *g))).collect();
    let mut cautions: Vec<care::text::Text> = Vec::new();
    for caution in dosed.iter().flat_map(|(p, _)| care::planner::cautions_of(p, case.tub.regime)) {
        if !cautions.contains(&caution) {
            cautions.push(caution);
        }
    }
    html! {
        @if dosed.is_empty() { p.lead { (t!(ctx, "what-if-nothing")) } }
        @else {
            p.lead { (t!(ctx, "what-if-all", what = dosed.iter().map(|(p, g)| amount(ctx, p, *g)).collect::<Vec<_>>().join(", "))) }
        }
        ul.water {
            @for e in &found.after.quantities {
                @if let Some((_, band)) = bands.iter().find(|(q, _)| *q == e.quantity) {
                    @let d = decimals(e.quantity);
                    @let strip = Strip { value: e.value, interval: (e.low, e.high), band: (band.low, band.high), decimals: d };
                    @let before = found.before.quantities.iter().find(|b| b.quantity == e.quantity).map_or(e.value, |b| b.value);
                    li {
                        div.figure {
                            span.name { (name(ctx, e.quantity)) }
                            span.value {
                                @if (before - e.value).abs() * 10f64.powi(d as i32) >= 0.5 { span.unit { (ctx.number(before, d)) " → " } }
                                (ctx.number(e.value, d)) @if !e.quantity.unit().is_empty() { " " span.unit { (e.quantity.unit()) } }
                            }
                        }
                        (strip.draw(ctx))
                        p.status { (strip.status(ctx)) @if !e.known { " · " (t!(ctx, "status-assumed")) } }
                    }
                }
            }
        }
        p.caution { (t!(ctx, "what-if-caution")) }
        @for caution in &cautions { p.caution { (ctx.care(caution)) } }
    }
}
