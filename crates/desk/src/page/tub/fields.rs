//! What a tub is and has: vessel, cell, source water, shelf, each with the way to change it.

use super::Known;
use crate::ctx::Ctx;
use crate::words::t;
use care::band::{Place, Regime};
use care::case::Case;
use maud::{Markup, html};

/// Vessel, source water and shelf in short.
pub(super) fn summary(ctx: &Ctx, known: &Known) -> Markup {
    let case = known.case.as_ref().ok();
    html! {
        section aria-labelledby="about" {
            h2 #about { (t!(ctx, "about")) }
            @if let Some(case) = case {
                dl.facts {
                    dt { (t!(ctx, "field-volume")) }
                    dd { (ctx.volume(case.tub.volume_l)) ", " @if case.tub.volume_measured { (t!(ctx, "volume-measured")) } @else { (t!(ctx, "volume-told")) } }
                    dt { (t!(ctx, "field-regime")) } dd { (regime(ctx, case.tub.regime)) }
                    dt { (t!(ctx, "field-place")) } dd { (place(ctx, case.tub.place)) }
                    @if case.tub.regime == Regime::SaltCell {
                        dt { (t!(ctx, "about-cell")) }
                        dd {
                            @match case.tub.cell_window_mg_l {
                                Some((low, high)) => (t!(ctx, "cell-window", low = ctx.number(low, 0), high = ctx.number(high, 0))),
                                None => (t!(ctx, "cell-unknown")),
                            }
                        }
                    }
                    @if let Some(note) = known.thing.body["note"].as_str() { dt { (t!(ctx, "field-note")) } dd { (note) } }
                }
            }
            h3 { (t!(ctx, "about-source")) }
            @match &known.source_water {
                Some(thing) => p { a href={ "/waters/" (thing.id) } { (thing.name) } @if let Some(case) = case { " " span.soft { (analysis(ctx, case)) } } },
                None => p.soft { (t!(ctx, "source-none")) },
            }
            h3 { (t!(ctx, "about-shelf")) }
            @match &known.shelf {
                Some(thing) => {
                    p { a href={ "/shelves/" (thing.id) } { (thing.name) } }
                    @if let Some(case) = case {
                        ul.shelf { @for p in case.shelf.iter().filter(|p| p.stock_g != Some(0.0)) {
                            li { (p.name) @if let Some(stock) = p.stock_g { " " span.soft { (t!(ctx, "shelf-left", mass = ctx.mass(stock))) } } }
                        } }
                    }
                }
                None => p.soft { (t!(ctx, "shelf-none")) },
            }
            div.actions { a.button href={ "/tubs/" (known.thing.id) "/edit" } { (t!(ctx, "tub-edit")) } }
        }
    }
}

/// An analysis in one line.
fn analysis(ctx: &Ctx, case: &Case) -> String {
    let Some(s) = &case.source_water else { return String::new() };
    let figures = [
        ("ph", s.ph, 2, ""),
        ("total-alkalinity", s.total_alkalinity_mg_l_caco3, 0, "\u{a0}mg/L"),
        ("calcium-hardness", s.calcium_hardness_mg_l_caco3, 0, "\u{a0}mg/L"),
    ];
    let said: Vec<String> = figures
        .into_iter()
        .filter_map(|(id, v, d, unit)| Some(format!("{} {}{unit}", ctx.say(id, None), ctx.number(v?, d))))
        .collect();
    said.join(" · ")
}

pub(super) fn regime(ctx: &Ctx, regime: Regime) -> String {
    match regime {
        Regime::SaltCell => t!(ctx, "regime-salt-cell"),
        Regime::HandDosedChlorine => t!(ctx, "regime-chlorine"),
        Regime::Bromine => t!(ctx, "regime-bromine"),
    }
}

pub(super) fn place(ctx: &Ctx, place: Place) -> String {
    match place {
        Place::Home => t!(ctx, "place-home"),
        Place::Rental => t!(ctx, "place-rental"),
        Place::Public => t!(ctx, "place-public"),
    }
}
