//! A game told: tub, tap, what was done and seen.

use crate::ctx::Ctx;
use crate::page::tub::name;
use crate::unit::with_unit;
use crate::words::t;
use ::practice::{Game, Line, Seen};
use care::band::Regime;
use care::case::{MeasureKind, Product, Raw};
use care::quantity::Quantity as Q;
use maud::{Markup, html};

/// A kit: what it reads, and how.
pub(super) fn kit(ctx: &Ctx, quantity: Q, method: &str) -> String {
    let how = ctx.say(&format!("practice-kit-{}", method.replace('.', "-")), None);
    t!(ctx, "practice-kit-of", quantity = name(ctx, quantity), kit = how)
}

/// A product with its measure.
pub(super) fn product(ctx: &Ctx, product: &Product) -> String {
    let what = ctx.say(&format!("practice-product-{}", product.name), None);
    match product.measure.kind {
        MeasureKind::Scale => t!(ctx, "practice-by-gram", product = what),
        MeasureKind::Millilitres => t!(ctx, "practice-by-millilitre", product = what),
        _ => t!(ctx, "practice-by-capful", product = what, mass = ctx.mass(product.measure.grams_each)),
    }
}

/// Day and time since the fill, which was at ten.
pub(super) fn when(ctx: &Ctx, at_h: f64) -> String {
    let minutes = (at_h * 60.0).round() + 600.0;
    let day = (minutes / 1440.0).floor();
    let of_day = minutes - 1440.0 * day;
    let time = format!("{:02.0}:{:02.0}", (of_day / 60.0).floor(), of_day % 60.0);
    t!(ctx, "practice-when", day = ctx.number(day, 0), time = time)
}

/// What the learner is told of the tub.
pub(super) fn tub(ctx: &Ctx, game: &Game) -> Markup {
    let (case, setup) = (game.case(), game.setup());
    let tap = case.source_water.clone().unwrap_or_default();
    let figures = [
        (Q::Ph, tap.ph, 1),
        (Q::TotalAlkalinity, tap.total_alkalinity_mg_l_caco3, 0),
        (Q::CalciumHardness, tap.calcium_hardness_mg_l_caco3, 0),
    ];
    html! {
        section aria-labelledby="practice-tub" {
            h2 #practice-tub { (t!(ctx, "practice-tub")) }
            p {
                @let volume = ctx.volume(case.tub.volume_l);
                @if case.tub.regime == Regime::SaltCell { (t!(ctx, "practice-tub-cell", volume = volume)) }
                @else { (t!(ctx, "practice-tub-hand", volume = volume)) }
            }
            p {
                (t!(ctx, "practice-tap")) " "
                @for (i, (q, value, decimals)) in figures.into_iter().enumerate() {
                    @if let Some(value) = value {
                        @if i > 0 { "; " }
                        (name(ctx, q)) " " (with_unit(&ctx.number(value, decimals), q.unit()))
                    }
                }
            }
            @if let Ok(bands) = game.bands() {
                p {
                    (t!(ctx, "practice-wanted")) " "
                    @for (i, (q, band)) in bands.iter().enumerate() {
                        @if i > 0 { "; " }
                        @let d = usize::from(matches!(q, Q::Ph | Q::CombinedChlorine | Q::SaturationIndex));
                        (name(ctx, *q)) " " (with_unit(&ctx.range(band.low, band.high, d), q.unit()))
                    }
                }
            }
            p.hint {
                (t!(ctx, "practice-which", seed = setup.seed.to_string(), weeks = setup.weeks,
                    difficulty = ctx.say(&format!("practice-{}", setup.difficulty.id()), None)))
            }
        }
    }
}

/// What a kit shows.
fn reading(ctx: &Ctx, quantity: Q, method: &str, raw: &Raw) -> String {
    let decimals = if quantity == Q::Ph { 1 } else { quantity.decimals() };
    let figure = ctx.number(::practice::figure(method, raw), decimals);
    let figure = if quantity.unit().is_empty() { figure } else { format!("{figure} {}", quantity.unit()) };
    match raw {
        Raw::Drops(n) => t!(ctx, "practice-drops", n = ctx.number(*n, 0), figure = figure),
        Raw::Below(_) => t!(ctx, "practice-below", figure = figure),
        Raw::Above(_) => t!(ctx, "practice-above", figure = figure),
        _ => figure,
    }
}

/// One move, in a sentence.
fn said(ctx: &Ctx, line: &Line) -> Markup {
    match &line.seen {
        Seen::Read { quantity, method, raw } => html! {
            (kit(ctx, *quantity, method)) ": " strong { (reading(ctx, *quantity, method, raw)) }
        },
        Seen::Dosed { product, amount, .. } => html! {
            (ctx.say(&format!("practice-product-{product}"), None)) ": " (ctx.care(amount))
        },
        Seen::ToppedUp { litres } => {
            html! { (t!(ctx, "practice-topped-up", volume = ctx.volume(*litres))) }
        }
        Seen::Replaced { share } => {
            html! { (t!(ctx, "practice-replaced", share = ctx.number(100.0 * share, 0))) }
        }
        Seen::CellSet { duty } => {
            html! { (t!(ctx, "practice-cell-set", share = ctx.number(100.0 * duty, 0))) }
        }
        Seen::Aired { hours } => html! { (t!(ctx, "practice-aired", hours = ctx.number(*hours, 1))) },
        Seen::Waited { days, baths } if *days < 1.0 => {
            html! { (t!(ctx, "practice-waited-hours", hours = ctx.number(24.0 * days, 1), baths = *baths as i64)) }
        }
        Seen::Waited { days, baths } => {
            html! { (t!(ctx, "practice-waited", days = ctx.number(*days, 1), baths = *baths as i64)) }
        }
    }
}

/// Where the game stands, and what the last move showed, with its cautions.
pub(super) fn last(ctx: &Ctx, game: &Game) -> Markup {
    html! {
        section.practice-now aria-live="polite" aria-labelledby="practice-now" {
            h2 #practice-now { (when(ctx, game.at_h())) }
            @match game.log().last() {
                Some(line) => {
                    p.lead { (said(ctx, line)) }
                    @if let Seen::Dosed { cautions, .. } = &line.seen {
                        @for caution in cautions { p.caution { (ctx.care(caution)) } }
                    }
                }
                None => p.lead { (t!(ctx, "practice-filled")) },
            }
            @if game.has_bathers() { p { (t!(ctx, "practice-bathers")) } }
        }
    }
}

/// Everything that was done and seen, the newest first.
pub(super) fn log(ctx: &Ctx, game: &Game) -> Markup {
    html! {
        @if !game.log().is_empty() {
            section aria-labelledby="practice-log" {
                h2 #practice-log { (t!(ctx, "practice-log")) }
                ol.practice-log reversed {
                    @for line in game.log().iter().rev() { li { span.hint { (when(ctx, line.at_h)) } " " (said(ctx, line)) } }
                }
            }
        }
    }
}
