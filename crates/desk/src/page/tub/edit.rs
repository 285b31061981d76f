//! A new tub, and changing one: the few fields that a plan needs first, the rest folded away.
//!
//! Commissioning is the same form: the tub, its source water, what stands on its shelf, and the fill, recorded together or
//! not at all.

use super::known;
use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::page::address::Path;
use crate::page::shell;
use crate::page::typed::{Typed, hidden_id, nth, record_typed};
use crate::state::App;
use crate::unit::Units;
use crate::words::t;
use axum::Form;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect};
use book::{BookError, Kind, NewEntry, Thing, ThingFilter, Uuid};
use care::wire::case::LITRES_PER_GALLON;
use maud::{Markup, html};
use serde_json::{Map, Value, json};

/// Products that a new shelf may begin with, each measured on a kitchen scale until somebody says otherwise. `care` says
/// which strength it takes for granted.
const PRODUCTS: [&str; 9] = [
    "sodium-bisulfate",
    "sodium-carbonate",
    "sodium-bicarbonate",
    "calcium-chloride",
    "dichlor",
    "calcium-hypochlorite",
    "sodium-chloride",
    "monopersulfate",
    "sodium-thiosulfate",
];

/// Figures of a new analysis: field of the form, field of the book.
const ANALYSIS: [(&str, &str); 9] = [
    ("source_ph", "ph"),
    ("source_alkalinity", "total_alkalinity_mg_l_caco3"),
    ("source_hardness", "calcium_hardness_mg_l_caco3"),
    ("source_magnesium", "magnesium_mg_l"),
    ("source_sodium", "sodium_mg_l"),
    ("source_chloride", "chloride_mg_l"),
    ("source_sulfate", "sulfate_mg_l"),
    ("source_iron", "iron_mg_l"),
    ("source_copper", "copper_mg_l"),
];

/// Where else the form and the book call a field otherwise.
const NAMES: [(&str, &str); 4] = [
    ("volume", "volume_l"),
    ("volume", "volume_gal"),
    ("temperature", "temperature_c"),
    ("cell_low", "cell_window_mg_l"),
];

/// What a tub may be given: source waters and owners' shelves.
struct Choices {
    sources: Vec<Thing>,
    shelves: Vec<Thing>,
}

impl Choices {
    async fn read(app: &App) -> Result<Choices, BookError> {
        let filter = ThingFilter { archived: Some(false), limit: Some(500), ..ThingFilter::default() };
        Ok(Choices {
            sources: app.book().things(Kind::SourceWater, &filter).await?,
            shelves: app.book().things(Kind::Shelf, &filter).await?,
        })
    }
}

pub(super) async fn new(State(app): State<App>, ctx: Ctx) -> Answer {
    let choices = Choices::read(&app).await.map_err(|e| PageError::from(e).at(&ctx))?;
    let mut typed = Typed::default();
    typed.set("volume_unit", if ctx.units == Units::Us { "gal" } else { "l" });
    typed.set("filled", "1");
    typed.set("source", "new");
    typed.set("shelf", "new");
    Ok(page(&ctx, None, &choices, &typed).into_response())
}

pub(super) async fn edit(State(app): State<App>, ctx: Ctx, Path(tub): Path<Uuid>) -> Answer {
    let known = known(&app, &ctx, tub).await?;
    let choices = Choices::read(&app).await.map_err(|e| PageError::from(e).at(&ctx))?;
    Ok(page(&ctx, Some(&known.thing), &choices, &of_thing(&ctx, &known.thing)).into_response())
}

/// The form as it stands for a tub of the book.
fn of_thing(ctx: &Ctx, thing: &Thing) -> Typed {
    let mut typed = Typed::default();
    let (body, vessel) = (&thing.body, &thing.body["tub"]);
    typed.set("name", thing.name.as_str());
    for field in ["address", "owner_name", "note"] {
        typed.set(field, body[field].as_str().unwrap_or_default());
    }
    typed.set("source", body["source_water"].as_str().unwrap_or_default());
    typed.set("shelf", body["shelf"].as_str().unwrap_or_default());
    let shown = |v: f64, decimals| ctx.number(v, decimals);
    match (vessel["volume_l"].as_f64(), vessel["volume_gal"].as_f64()) {
        (_, Some(gal)) => {
            typed.set("volume", shown(gal, 0));
            typed.set("volume_unit", "gal");
        }
        (litres, None) => {
            typed.set("volume", litres.map(|l| shown(l, 0)).unwrap_or_default());
            typed.set("volume_unit", "l");
        }
    }
    let celsius =
        vessel["temperature_c"].as_f64().or_else(|| Some((vessel["temperature_f"].as_f64()? - 32.0) / 1.8));
    if let Some(c) = celsius {
        typed.set("temperature", shown(if ctx.units == Units::Us { c * 1.8 + 32.0 } else { c }, 0));
    }
    if let Some([low, high]) = vessel["cell_window_mg_l"].as_array().map(Vec::as_slice) {
        typed.set("cell_low", shown(low.as_f64().unwrap_or(0.0), 0));
        typed.set("cell_high", shown(high.as_f64().unwrap_or(0.0), 0));
    }
    for field in ["regime", "place"] {
        typed.set(field, vessel[field].as_str().unwrap_or_default());
    }
    if vessel["volume_measured"] == true {
        typed.set("measured", "1");
    }
    if body["public"] == true {
        typed.set("public", "1");
    }
    if body["archived"] == true {
        typed.set("archived", "1");
    }
    typed
}

fn page(ctx: &Ctx, thing: Option<&Thing>, choices: &Choices, typed: &Typed) -> Markup {
    let title = match thing {
        Some(thing) => t!(ctx, "edit-title", tub = thing.name.clone()),
        None => t!(ctx, "new-title"),
    };
    let action = thing.map_or_else(|| "/tubs/new".to_string(), |t| format!("/tubs/{}/edit", t.id));
    let words = |list: &[(&str, &str)]| -> Vec<(String, String)> {
        list.iter().map(|(v, m)| ((*v).to_string(), ctx.say(m, None))).collect()
    };
    let id = if typed.has_faults() { typed.id() } else { Uuid::now_v7() };
    let body = html! {
        @if let Some(thing) = thing { p.back { a href={ "/tubs/" (thing.id) } { (thing.name) } } }
        div.heading { h1 { (title) } @if thing.is_none() { p { (t!(ctx, "new-lead")) } } }
        (typed.summary(ctx))
        form.tub method="post" action=(action) {
            (hidden_id(id))
            (part("part-vessel", ctx, &html! {
            (typed.line("name", &t!(ctx, "field-name"), "text"))
            div.row {
                div { (typed.line("volume", &t!(ctx, "field-volume"), "number")) }
                div { (typed.choice("volume_unit", &t!(ctx, "step-unit"), &words(&[("l", "unit-litres"), ("gal", "unit-gallons")]))) }
            }
            (typed.tick("measured", &t!(ctx, "field-measured")))
            (typed.choice("regime", &t!(ctx, "field-regime"), &words(&[("salt-cell", "regime-salt-cell"), ("chlorine", "regime-chlorine"), ("bromine", "regime-bromine")])))
            (typed.choice("place", &t!(ctx, "field-place"), &words(&[("home", "place-home"), ("rental", "place-rental"), ("public", "place-public")])))
            }))
            (part("part-water", ctx, &html! {
                @if thing.is_none() { (typed.tick("filled", &t!(ctx, "field-filled"))) }
                (source(ctx, choices, typed, thing.is_none()))
            }))
            (part("part-shelf", ctx, &shelf(ctx, choices, typed, thing.is_none())))
            (part("part-more", ctx, &html! { details open[["temperature", "cell_low", "cell_high", "address", "owner_name", "note"].iter().any(|f| thing.is_some() && typed.text(f).is_some())] {
                summary { (t!(ctx, "new-more")) }
                (typed.line("temperature", &if ctx.units == Units::Us { t!(ctx, "field-temperature-f") } else { t!(ctx, "field-temperature-c") }, "number"))
                div.row {
                    div { (typed.line("cell_low", &t!(ctx, "field-cell-low"), "number")) }
                    div { (typed.line("cell_high", &t!(ctx, "field-cell-high"), "number")) }
                }
                (typed.line("address", &t!(ctx, "field-address"), "text"))
                (typed.line("owner_name", &t!(ctx, "field-owner"), "text"))
                (typed.line("note", &t!(ctx, "field-note"), "text"))
                (typed.tick("public", &t!(ctx, "field-public")))
                @if thing.is_some() { (typed.tick("archived", &t!(ctx, "field-archived"))) }
            } }))
            div.actions { button.first type="submit" { @if thing.is_some() { (t!(ctx, "edit-save")) } @else { (t!(ctx, "new-save")) } } }
        }
    };
    shell::page(ctx, &title, &body)
}

/// A part of the form under its own heading.
fn part(id: &'static str, ctx: &Ctx, fields: &Markup) -> Markup {
    html! { section.part aria-labelledby=(id) { h2 id=(id) { (ctx.say(id, None)) } div { (fields) } } }
}

fn options(ctx: &Ctx, things: &[Thing], none: &str, new: &str) -> Vec<(String, String)> {
    let mut all: Vec<(String, String)> =
        vec![("new".into(), ctx.say(new, None)), (String::new(), ctx.say(none, None))];
    all.extend(things.iter().map(|t| (t.id.to_string(), t.name.clone())));
    all
}

fn source(ctx: &Ctx, choices: &Choices, typed: &Typed, open: bool) -> Markup {
    html! {
        (typed.choice("source", &t!(ctx, "about-source"), &options(ctx, &choices.sources, "source-unknown", "source-new")))
        details open[open || typed.text("source") == Some("new")] {
            summary { (t!(ctx, "source-analysis")) }
            p.soft { (t!(ctx, "source-hint")) }
            (typed.line("source_name", &t!(ctx, "source-name"), "text"))
            div.row {
                @for (field, _) in &ANALYSIS[..3] { div { (typed.line(field, &ctx.say(&field.replace('_', "-"), None), "number")) } }
            }
            details {
                summary { (t!(ctx, "source-rest")) }
                div.row {
                    @for (field, _) in &ANALYSIS[3..] { div { (typed.line(field, &ctx.say(&field.replace('_', "-"), None), "number")) } }
                }
            }
        }
    }
}

fn shelf(ctx: &Ctx, choices: &Choices, typed: &Typed, open: bool) -> Markup {
    html! {
        (typed.choice("shelf", &t!(ctx, "about-shelf"), &options(ctx, &choices.shelves, "shelf-later", "shelf-new")))
        details open[open || typed.text("shelf") == Some("new")] {
            summary { (t!(ctx, "shelf-what")) }
            p.soft { (t!(ctx, "shelf-hint")) }
            fieldset {
                legend { (t!(ctx, "shelf-tick")) }
                @for product in PRODUCTS { (typed.tick(&format!("has.{product}"), &ctx.say(&format!("product-{product}"), None))) }
            }
        }
    }
}

/// Records the new tub and what comes with it.
pub(super) async fn create(
    State(app): State<App>,
    ctx: Ctx,
    Form(sent): Form<Vec<(String, String)>>,
) -> Answer {
    let mut typed = Typed::from(sent);
    let tub = nth(typed.id(), 1);
    let entries = entries(&ctx, tub, &json!({}), &mut typed);
    if !typed.has_faults() && record_typed(&app, &mut typed, &entries).await.map_err(|e| e.at(&ctx))? {
        return Ok(Redirect::to(&format!("/tubs/{tub}")).into_response());
    }
    typed.place_faults(&NAMES);
    typed.place_faults(&ANALYSIS);
    let choices = Choices::read(&app).await.map_err(|e| PageError::from(e).at(&ctx))?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&ctx, None, &choices, &typed)).into_response())
}

/// Records a new version of a tub.
pub(super) async fn change(
    State(app): State<App>,
    ctx: Ctx,
    Path(tub): Path<Uuid>,
    Form(sent): Form<Vec<(String, String)>>,
) -> Answer {
    let known = known(&app, &ctx, tub).await?;
    let mut typed = Typed::from(sent);
    let entries = entries(&ctx, tub, &known.thing.body, &mut typed);
    if !typed.has_faults() && record_typed(&app, &mut typed, &entries).await.map_err(|e| e.at(&ctx))? {
        return Ok(Redirect::to(&format!("/tubs/{tub}")).into_response());
    }
    typed.place_faults(&NAMES);
    typed.place_faults(&ANALYSIS);
    let choices = Choices::read(&app).await.map_err(|e| PageError::from(e).at(&ctx))?;
    Ok((StatusCode::UNPROCESSABLE_ENTITY, page(&ctx, Some(&known.thing), &choices, &typed)).into_response())
}

/// The tub first: its id tells whether the form was recorded before.
fn entries(ctx: &Ctx, tub: Uuid, before: &Value, typed: &mut Typed) -> Vec<NewEntry> {
    let id = typed.id();
    let at_us = ctx.now.as_microsecond();
    let entry = |n: u128, kind: Kind, subject: Uuid, body: Value| NewEntry {
        id: nth(id, n),
        kind,
        subject: Some(subject),
        at_us,
        by: ctx.who.person,
        corrects: None,
        body,
    };
    let mut body = tub_body(ctx, before, typed);
    let mut more = Vec::new();
    match typed.text("source").map(str::to_string).as_deref() {
        Some("new") => {
            if let Some(analysis) = analysis(ctx, typed) {
                body.insert("source_water".into(), nth(id, 2).to_string().into());
                more.push(entry(3, Kind::SourceWater, nth(id, 2), analysis));
            }
        }
        other => set(&mut body, "source_water", other),
    }
    match typed.text("shelf").map(str::to_string).as_deref() {
        Some("new") => {
            let products: Vec<Value> = PRODUCTS
                .into_iter()
                .filter(|p| typed.ticked(&format!("has.{p}")))
                .map(|p| json!({ "chemical": p }))
                .collect();
            if !products.is_empty() {
                let name = t!(ctx, "shelf-of", tub = typed.text("name").unwrap_or_default().to_string());
                body.insert("shelf".into(), nth(id, 4).to_string().into());
                more.push(entry(
                    5,
                    Kind::Shelf,
                    nth(id, 4),
                    json!({ "name": name, "of": "owner", "products": products }),
                ));
            }
        }
        other => set(&mut body, "shelf", other),
    }
    if typed.ticked("filled") {
        more.push(entry(6, Kind::Event, tub, json!({ "kind": "fill" })));
    }
    let mut all = vec![entry(0, Kind::Tub, tub, Value::Object(body))];
    all.append(&mut more);
    all
}

fn set(body: &mut Map<String, Value>, field: &str, text: Option<&str>) {
    match text {
        Some(text) => _ = body.insert(field.into(), text.into()),
        None => _ = body.remove(field),
    }
}

fn flag(body: &mut Map<String, Value>, field: &str, on: bool) {
    if on {
        body.insert(field.into(), true.into());
    } else {
        body.remove(field);
    }
}

fn tub_body(ctx: &Ctx, before: &Value, typed: &mut Typed) -> Map<String, Value> {
    let mut body = before.as_object().cloned().unwrap_or_default();
    let mut vessel = before["tub"].as_object().cloned().unwrap_or_default();
    if typed.text("name").is_none() {
        typed.fault("name", t!(ctx, "name-wanted"));
    }
    for field in ["name", "address", "owner_name", "note"] {
        let text = typed.text(field).map(str::to_string);
        set(&mut body, field, text.as_deref());
    }
    flag(&mut body, "public", typed.ticked("public"));
    flag(&mut body, "archived", typed.ticked("archived"));

    for field in ["volume_l", "volume_gal", "temperature_c", "temperature_f", "cell_window_mg_l"] {
        vessel.remove(field);
    }
    match typed.number(ctx, "volume") {
        Some(volume) if typed.text("volume_unit") == Some("gal") => {
            // Litres, as everything else in the book; whole ones, which is finer than anybody knows a volume.
            vessel.insert("volume_l".into(), (volume * LITRES_PER_GALLON).round().into());
        }
        Some(volume) => _ = vessel.insert("volume_l".into(), volume.into()),
        None if typed.text("volume").is_none() => typed.fault("volume", t!(ctx, "volume-wanted")),
        None => {}
    }
    flag(&mut vessel, "volume_measured", typed.ticked("measured"));
    for field in ["regime", "place"] {
        let text = typed.text(field).map(str::to_string);
        set(&mut vessel, field, text.as_deref());
    }
    if let Some(t) = typed.number(ctx, "temperature") {
        let celsius = if ctx.units == Units::Us { ((t - 32.0) / 1.8 * 10.0).round() / 10.0 } else { t };
        vessel.insert("temperature_c".into(), celsius.into());
    }
    match (typed.number(ctx, "cell_low"), typed.number(ctx, "cell_high")) {
        (Some(low), Some(high)) => _ = vessel.insert("cell_window_mg_l".into(), json!([low, high])),
        (None, None) => {}
        _ => typed.fault("cell_low", t!(ctx, "cell-both")),
    }
    body.insert("tub".into(), Value::Object(vessel));
    body
}

/// A new analysis, if any figure of it was typed.
fn analysis(ctx: &Ctx, typed: &mut Typed) -> Option<Value> {
    let mut figures = Map::new();
    for (field, name) in ANALYSIS {
        if let Some(figure) = typed.number(ctx, field) {
            figures.insert(name.into(), figure.into());
        }
    }
    if figures.is_empty() {
        return None;
    }
    let name = typed.text("source_name").map(str::to_string);
    figures.insert("name".into(), name.unwrap_or_else(|| t!(ctx, "source-new-name")).into());
    Some(Value::Object(figures))
}
