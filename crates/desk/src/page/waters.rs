//! Source waters: the analysis of what tubs are filled and topped up with.

use crate::ctx::Ctx;
use crate::page::address::Path;
use crate::page::fields::{Field, Input, Typed};
use crate::page::things::{Sort, blank, edit, list, store};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::unit::with_unit;
use crate::words::t;
use axum::extract::State;
use axum::http::Method;
use axum::routing::get;
use axum::{Form, Router};
use book::{Kind, Uuid};
use serde_json::Value;

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/waters", Role::Viewer),
    (Method::GET, "/waters/new", Role::Technician),
    (Method::GET, "/waters/{id}", Role::Viewer),
    (Method::POST, "/waters/{id}", Role::Technician),
];

static SORT: Sort = Sort {
    kind: Kind::SourceWater,
    path: "/waters",
    title: "waters-title",
    lead: "waters-lead",
    new: "waters-new",
    fields,
    line,
};

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/waters", get(|State(app): State<App>, ctx: Ctx| list(app, ctx, &SORT)))
        .route("/waters/new", get(|ctx: Ctx| blank(ctx, &SORT)))
        .route(
            "/waters/{id}",
            get(|State(app): State<App>, ctx: Ctx, Path(id): Path<Uuid>| edit(app, ctx, &SORT, id)).post(
                |State(app): State<App>,
                 ctx: Ctx,
                 Path(id): Path<Uuid>,
                 Form(typed): Form<Vec<(String, String)>>| {
                    store(app, ctx, &SORT, id, Typed(typed))
                },
            ),
        )
}

/// Field of the analysis, message of its name, unit.
const FIGURES: [(&str, &str, &str); 19] = [
    ("ph", "ph", ""),
    ("temperature_c", "waters-temperature", "°C"),
    ("dic_mmol_l", "waters-carbon", "mmol/L"),
    ("total_alkalinity_mg_l_caco3", "total-alkalinity", "mg/L CaCO₃"),
    ("calcium_hardness_mg_l_caco3", "calcium-hardness", "mg/L CaCO₃"),
    ("calcium_mg_l", "waters-calcium", "mg/L"),
    ("magnesium_mg_l", "waters-magnesium", "mg/L"),
    ("sodium_mg_l", "waters-sodium", "mg/L"),
    ("potassium_mg_l", "waters-potassium", "mg/L"),
    ("chloride_mg_l", "waters-chloride", "mg/L"),
    ("sulfate_mg_l", "waters-sulfate", "mg/L"),
    ("salt_mg_l", "salt", "mg/L NaCl"),
    ("cyanuric_acid_mg_l", "cyanuric-acid", "mg/L"),
    ("boron_mg_l", "waters-boron", "mg/L"),
    ("free_chlorine_mg_l", "free-chlorine", "mg/L Cl₂"),
    ("iron_mg_l", "iron", "mg/L"),
    ("copper_mg_l", "copper", "mg/L"),
    ("price_per_m3", "waters-price", ""),
    ("name", "things-name", ""),
];

fn fields(ctx: &Ctx) -> Vec<Field> {
    let one = |(path, message, unit): &(&str, &str, &str)| {
        let name = ctx.say(message, None);
        let label = if unit.is_empty() { name } else { format!("{name}, {unit}") };
        Field::new(path, label, if *path == "name" { Input::Text } else { Input::Number })
    };
    let mut fields: Vec<Field> = FIGURES.iter().rev().take(1).map(one).collect();
    fields.extend(FIGURES.iter().take(FIGURES.len() - 1).map(one));
    if let Some(carbon) = fields.iter_mut().find(|f| f.path == "dic_mmol_l") {
        carbon.hint = t!(ctx, "waters-carbon-hint");
    }
    if let Some(calcium) = fields.iter_mut().find(|f| f.path == "calcium_mg_l") {
        calcium.hint = t!(ctx, "waters-calcium-hint");
    }
    fields
}

fn line(ctx: &Ctx, body: &Value) -> String {
    let shown = [
        ("ph", "ph", "", 1),
        ("total_alkalinity_mg_l_caco3", "total-alkalinity", "mg/L", 0),
        ("calcium_hardness_mg_l_caco3", "calcium-hardness", "mg/L", 0),
        ("salt_mg_l", "salt", "mg/L", 0),
    ];
    let one = |(field, message, unit, decimals): (&str, &str, &str, usize)| {
        let figure = ctx.number(body[field].as_f64()?, decimals);
        Some(format!("{} {}", ctx.say(message, None), with_unit(&figure, unit)))
    };
    shown.into_iter().filter_map(one).collect::<Vec<_>>().join(" · ")
}
