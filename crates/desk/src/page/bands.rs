//! Bands: where each quantity should be, who says so, and the firm's and a tub's own, within hard limits.

use crate::ctx::Ctx;
use crate::error::Answer;
use crate::owner_sheet::quantity;
use crate::page::address::Path;
use crate::page::fields::{Field, Input, Typed, inputs};
use crate::page::shell;
use crate::page::things::{all, crumbs, entry_field, entry_id, failed, names, one, refused, save};
use crate::page::tub::decimals;
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::unit::with_unit;
use crate::words::t;
use axum::extract::{Query, State};
use axum::http::Method;
use axum::response::{IntoResponse, Redirect};
use axum::routing::get;
use axum::{Form, Router};
use book::{Kind, Thing, Uuid};
use care::band::{Band, Place, Regime, also_said, bathing_limits, default_band, salt_band};
use care::quantity::{ALL, Quantity as Q};
use care::wire::Problem;
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::{Value, json};

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/bands", Role::Viewer),
    (Method::GET, "/bands/sets/new", Role::Lead),
    (Method::GET, "/bands/sets/{id}", Role::Viewer),
    (Method::POST, "/bands/sets/{id}", Role::Lead),
    (Method::GET, "/tubs/{tub}/bands", Role::Viewer),
    (Method::POST, "/tubs/{tub}/bands", Role::Lead),
];

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/bands", get(defaults))
        .route("/bands/sets/new", get(blank_set))
        .route("/bands/sets/{id}", get(set).post(store_set))
        .route("/tubs/{tub}/bands", get(of_tub).post(store_tub))
}

#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    regime: Option<String>,
    place: Option<String>,
    set: Option<Uuid>,
}

const REGIMES: [(&str, Regime, &str); 3] = [
    ("salt-cell", Regime::SaltCell, "bands-by-salt-cell"),
    ("chlorine", Regime::HandDosedChlorine, "bands-by-chlorine"),
    ("bromine", Regime::Bromine, "bands-by-bromine"),
];
const PLACES: [(&str, Place, &str); 3] = [
    ("home", Place::Home, "bands-in-home"),
    ("rental", Place::Rental, "bands-in-rental"),
    ("public", Place::Public, "bands-in-public"),
];

async fn defaults(State(app): State<App>, ctx: Ctx, Query(asked): Query<Asked>) -> Answer {
    let regime = REGIMES.into_iter().find(|r| Some(r.0) == asked.regime.as_deref()).unwrap_or(REGIMES[0]);
    let place = PLACES.into_iter().find(|p| Some(p.0) == asked.place.as_deref()).unwrap_or(PLACES[0]);
    let sets = all(&app, &ctx, Kind::Band).await?;
    let title = t!(ctx, "bands-title");
    let body = html! {
        (crumbs(&ctx, &[]))
        div.heading { h1 { (title) } }
        p.lead { (t!(ctx, "bands-lead")) }
        form.prints method="get" action="/bands" {
            div.field {
                label for="regime" { (t!(ctx, "bands-regime")) }
                select #regime name="regime" {
                    @for (word, _, id) in REGIMES { option value=(word) selected[word == regime.0] { (ctx.say(id, None)) } }
                }
            }
            div.field {
                label for="place" { (t!(ctx, "bands-place")) }
                select #place name="place" {
                    @for (word, _, id) in PLACES { option value=(word) selected[word == place.0] { (ctx.say(id, None)) } }
                }
            }
            div.actions { button type="submit" { (t!(ctx, "bands-show")) } }
        }
        (limits(&ctx, regime.1, place.1))
        h2 { (t!(ctx, "bands-defaults")) }
        ul.things {
            @for q in ALL {
                @if let Some(band) = default_band(q, regime.1, place.1) { li { (row(&ctx, q, &band, regime.1, place.1)) } }
            }
        }
        h2 { (t!(ctx, "bands-sets")) }
        (names(&ctx, &sets, |t| format!("/bands/sets/{}", t.id), line))
        @if ctx.who.role >= Role::Lead {
            div.actions { a.button href="/bands/sets/new" { (t!(ctx, "bands-set-new")) } }
        }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}

fn line(ctx: &Ctx, body: &Value) -> String {
    let ids = body["band"].as_object().map(|m| m.keys().cloned().collect::<Vec<_>>()).unwrap_or_default();
    ids.iter().filter_map(|id| Q::from_id(id)).map(|q| quantity(ctx, q)).collect::<Vec<_>>().join(", ")
}

/// The limits of bathing, on top: they bind whatever the bands are.
fn limits(ctx: &Ctx, regime: Regime, place: Place) -> Markup {
    let l = bathing_limits(regime, place);
    let range = |(low, high): (f64, f64), d| ctx.range(low, high, d);
    let (disinfectant, edges) = if regime == Regime::Bromine {
        (Q::TotalBromine, l.total_bromine)
    } else {
        (Q::FreeChlorine, l.free_chlorine)
    };
    html! {
        section.keepout {
            h2 { (t!(ctx, "bands-bathing")) }
            p { (t!(ctx, "bands-bathing-lead")) }
            ul {
                li { (quantity(ctx, disinfectant)) " " (with_unit(&range(edges, 1), "mg/L")) " " span.soft lang="en" { (l.disinfectant_source) } }
                li { (quantity(ctx, Q::Ph)) " " (range(l.ph, 1)) " " span.soft lang="en" { (l.ph_source) } }
                li { (t!(ctx, "bands-at-most", quantity = quantity(ctx, Q::Temperature), value = ctx.temperature(l.temperature_high_c))) " " span.soft lang="en" { (l.temperature_source) } }
                @if let Some(most) = l.combined_chlorine_high {
                    li { (t!(ctx, "bands-at-most", quantity = quantity(ctx, Q::CombinedChlorine), value = with_unit(&ctx.number(most, 1), "mg/L"))) " " span.soft lang="en" { (l.combined_chlorine_source) } }
                }
            }
        }
    }
}

fn row(ctx: &Ctx, q: Q, band: &Band, regime: Regime, place: Place) -> Markup {
    let said = also_said(q, regime, place);
    html! {
        div.band {
            p.thing { (quantity(ctx, q)) " " (edges(ctx, q, band)) }
            p { (t!(ctx, "bands-aim", range = between(ctx, q, band.aim_low, band.aim_high)))
                @if let Some(hard) = hard(ctx, q, band) { " · " (hard) } }
            p.soft { (ctx.care(&band.source)) }
            @if !said.is_empty() {
                details {
                    summary { (t!(ctx, "bands-others", n = said.len() as i64)) }
                    ul lang="en" {
                        @for s in said {
                            li { (s.who) ": "
                                @match (s.low, s.high) {
                                    (Some(a), Some(b)) => { (between(ctx, q, a, b)) }
                                    (Some(a), None) => { "≥ " (number(ctx, q, a)) }
                                    (None, Some(b)) => { "≤ " (number(ctx, q, b)) }
                                    (None, None) => { "–" }
                                }
                                " (" (s.source) ")" }
                        }
                    }
                }
            }
        }
    }
}

fn number(ctx: &Ctx, q: Q, v: f64) -> String {
    ctx.number(v, if v.fract() == 0.0 && q != Q::Ph { 0 } else { decimals(q).max(1) })
}

fn between(ctx: &Ctx, q: Q, low: f64, high: f64) -> String {
    ctx.between(low, number(ctx, q, low), number(ctx, q, high))
}

fn edges(ctx: &Ctx, q: Q, band: &Band) -> String {
    with_unit(&between(ctx, q, band.low, band.high), q.unit())
}

fn hard(ctx: &Ctx, q: Q, band: &Band) -> Option<String> {
    match (band.hard_low, band.hard_high) {
        (Some(a), Some(b)) => Some(t!(ctx, "bands-hard", low = number(ctx, q, a), high = number(ctx, q, b))),
        (None, Some(b)) => Some(t!(ctx, "bands-hard-high", high = number(ctx, q, b))),
        (Some(a), None) => Some(t!(ctx, "bands-hard-low", low = number(ctx, q, a))),
        (None, None) => None,
    }
}

fn fields(ctx: &Ctx, q: Q) -> Vec<Field> {
    let id = q.id();
    let name = quantity(ctx, q);
    let one = |part: &str, message: &str| {
        let label = format!("{name}, {}", ctx.say(message, None));
        Field::new(&format!("band.{id}.{part}"), label, Input::Number)
    };
    vec![
        one("low", "band-low"),
        one("aim_low", "band-aim-low"),
        one("aim_high", "band-aim-high"),
        one("high", "band-high"),
        Field::new(&format!("band.{id}.beyond_hard_limit"), t!(ctx, "band-beyond"), Input::Tick).hint(t!(
            ctx,
            "band-beyond-hint",
            quantity = name.clone()
        )),
    ]
}

fn every_field(ctx: &Ctx, quantities: &[Q]) -> Vec<Field> {
    quantities.iter().flat_map(|q| fields(ctx, *q)).collect()
}

fn groups(ctx: &Ctx, quantities: &[Q], bands: &[(Q, Band)], typed: &Typed, faults: &[Problem]) -> Markup {
    let known = |p: &&Problem| quantities.iter().any(|q| fields(ctx, *q).iter().any(|f| f.path == p.field));
    html! {
        @if !faults.is_empty() {
            div.faults role="alert" {
                p { strong { (t!(ctx, "fields-faults")) } }
                ul lang="en" { @for p in faults.iter().filter(|p| !known(p)) { li { (p.to_string()) } } }
            }
        }
        @for q in quantities {
            @let own = fields(ctx, *q);
            @let open = own.iter().any(|f| !typed.get(&f.path).is_empty());
            details.group open[open] {
                summary {
                    span.label { (quantity(ctx, *q)) } " "
                    @if let Some((_, band)) = bands.iter().find(|(b, _)| b == q) { span.soft { (edges(ctx, *q, band)) @if let Some(hard) = hard(ctx, *q, band) { " · " (hard) } } }
                }
                (inputs(&own, typed, faults))
            }
        }
    }
}

fn readable() -> Vec<Q> {
    ALL.into_iter().collect()
}

async fn blank_set(ctx: Ctx) -> Answer {
    Ok(set_form(&ctx, Uuid::now_v7(), &t!(ctx, "bands-set-new"), &Typed::default(), &[]).into_response())
}

async fn set(State(app): State<App>, ctx: Ctx, Path(id): Path<Uuid>) -> Answer {
    let thing = one(&app, &ctx, Kind::Band, id).await?;
    let typed = Typed::of_body(&ctx, &set_fields(&ctx), &thing.body);
    Ok(set_form(&ctx, id, &thing.name, &typed, &[]).into_response())
}

fn set_fields(ctx: &Ctx) -> Vec<Field> {
    let mut fields = every_field(ctx, &readable());
    fields.push(Field::new("name", t!(ctx, "things-name"), Input::Text));
    fields.push(Field::new("archived", t!(ctx, "things-archive"), Input::Tick));
    fields
}

fn set_form(ctx: &Ctx, id: Uuid, title: &str, typed: &Typed, faults: &[Problem]) -> Markup {
    let named: Vec<Field> = set_fields(ctx).into_iter().filter(|f| !f.path.starts_with("band.")).collect();
    let of_bands: Vec<Problem> =
        faults.iter().filter(|p| !named.iter().any(|f| f.path == p.field)).cloned().collect();
    let body = html! {
        (crumbs(ctx, &[("/bands".to_owned(), t!(ctx, "bands-title"))]))
        div.heading { h1 { (title) } }
        p { (t!(ctx, "bands-set-lead")) }
        form.thing method="post" action={ "/bands/sets/" (id) } {
            (entry_field())
            (inputs(&named, typed, faults))
            (groups(ctx, &readable(), &[], typed, &of_bands))
            @if ctx.who.role >= Role::Lead { div.actions { button.first type="submit" { (t!(ctx, "fields-save")) } } }
        }
    };
    shell::page(ctx, title, &body)
}

async fn store_set(
    State(app): State<App>,
    ctx: Ctx,
    Path(id): Path<Uuid>,
    Form(typed): Form<Vec<(String, String)>>,
) -> Answer {
    let typed = Typed(typed);
    let before = app.book().thing(Kind::Band, id).await.map_err(failed(&ctx))?;
    let base = before.as_ref().map_or_else(|| json!({}), |t| t.body.clone());
    let mut body = typed.fill_body(&ctx, &set_fields(&ctx), base);
    if body.get("band").is_none() {
        body["band"] = json!({});
    }
    let faults = save(&app, &ctx, Kind::Band, id, entry_id(&typed), body).await?;
    if faults.is_empty() {
        return Ok(Redirect::to("/bands").into_response());
    }
    let title = before.map_or_else(|| t!(ctx, "bands-set-new"), |t| t.name);
    Ok(refused(set_form(&ctx, id, &title, &typed, &faults)))
}

/// Regime, place and default bands of a tub, as its body says.
fn of_vessel(body: &Value) -> (Regime, Place, Vec<(Q, Band)>) {
    let vessel = &body["tub"];
    let regime = REGIMES.into_iter().find(|r| vessel["regime"] == r.0).map_or(Regime::SaltCell, |r| r.1);
    let place = PLACES.into_iter().find(|p| vessel["place"] == p.0).map_or(Place::Home, |p| p.1);
    let window =
        vessel["cell_window_mg_l"].as_array().and_then(|w| Some((w.first()?.as_f64()?, w.get(1)?.as_f64()?)));
    let band = |q: Q| match (q, window, regime) {
        (Q::Salt, Some(window), Regime::SaltCell) => Some(salt_band(window)),
        _ => default_band(q, regime, place),
    };
    (regime, place, ALL.into_iter().filter_map(|q| Some((q, band(q)?))).collect())
}

async fn of_tub(
    State(app): State<App>,
    ctx: Ctx,
    Path(id): Path<Uuid>,
    Query(asked): Query<Asked>,
) -> Answer {
    let tub = one(&app, &ctx, Kind::Tub, id).await?;
    let mut body = tub.body.clone();
    if let Some(set) = asked.set {
        // Shown for a look first; nothing is taken over until it is saved.
        body["band"] = one(&app, &ctx, Kind::Band, set).await?.body["band"].clone();
    }
    let typed = Typed::of_body(&ctx, &every_field(&ctx, &readable()), &body);
    let sets = all(&app, &ctx, Kind::Band).await?;
    Ok(tub_form(&ctx, &tub, &sets, &typed, &[]).into_response())
}

fn tub_form(ctx: &Ctx, tub: &Thing, sets: &[Thing], typed: &Typed, faults: &[Problem]) -> Markup {
    let (regime, place, bands) = of_vessel(&tub.body);
    let title = t!(ctx, "bands-of", tub = tub.name.clone());
    let path = format!("/tubs/{}", tub.id);
    let body = html! {
        nav.crumbs aria-label=(t!(ctx, "crumbs")) { a href=(path) { (tub.name) } }
        div.heading { h1 { (title) } }
        p.lead { (t!(ctx, "bands-tub-lead")) }
        (limits(ctx, regime, place))
        @if !sets.is_empty() {
            form.prints method="get" action={ (path) "/bands" } {
                div.field {
                    label for="set" { (t!(ctx, "bands-from-set")) }
                    select #set name="set" { @for s in sets { option value=(s.id) { (s.name) } } }
                }
                div.actions { button type="submit" { (t!(ctx, "bands-fill-in")) } }
            }
        }
        h2 { (t!(ctx, "bands-own")) }
        form.thing method="post" action={ (path) "/bands" } {
            (entry_field())
            (groups(ctx, &readable(), &bands, typed, faults))
            @if ctx.who.role >= Role::Lead { div.actions { button.first type="submit" { (t!(ctx, "fields-save")) } } }
        }
    };
    shell::page(ctx, &title, &body)
}

async fn store_tub(
    State(app): State<App>,
    ctx: Ctx,
    Path(id): Path<Uuid>,
    Form(typed): Form<Vec<(String, String)>>,
) -> Answer {
    let typed = Typed(typed);
    let tub = one(&app, &ctx, Kind::Tub, id).await?;
    let body = typed.fill_body(&ctx, &every_field(&ctx, &readable()), tub.body.clone());
    let faults = save(&app, &ctx, Kind::Tub, id, entry_id(&typed), body).await?;
    if faults.is_empty() {
        return Ok(Redirect::to(&format!("/tubs/{id}")).into_response());
    }
    let sets = all(&app, &ctx, Kind::Band).await?;
    Ok(refused(tub_form(&ctx, &tub, &sets, &typed, &faults)))
}
