//! Shelves: what an owner or a van has, how strong it is, and by which measure it is dosed.

use crate::ctx::Ctx;
use crate::error::{Answer, PageError};
use crate::page::address::Path;
use crate::page::fields::{Field, Input, Typed, draw};
use crate::page::shell;
use crate::page::things::{
    Sort, all, blank, crumbs, edit, entry_field, entry_id, failed, names, one, refused, save, store,
};
use crate::policy::{Role, Rule};
use crate::state::App;
use crate::words::t;
use axum::extract::{Query, State};
use axum::http::Method;
use axum::response::{IntoResponse, Redirect};
use axum::routing::get;
use axum::{Form, Router};
use book::{Kind, Thing, ThingFilter, Uuid};
use care::wire::Problem;
use maud::{Markup, html};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

pub(crate) const RULES: &[Rule] = &[
    (Method::GET, "/shelves", Role::Viewer),
    (Method::GET, "/shelves/new", Role::Technician),
    (Method::GET, "/shelves/{id}", Role::Viewer),
    (Method::POST, "/shelves/{id}", Role::Technician),
    (Method::GET, "/shelves/{id}/edit", Role::Technician),
    (Method::GET, "/shelves/{id}/products/{number}", Role::Technician),
    (Method::POST, "/shelves/{id}/products/{number}", Role::Technician),
];

static SORT: Sort = Sort {
    kind: Kind::Shelf,
    path: "/shelves",
    title: "shelves-title",
    lead: "shelves-lead",
    new: "shelves-new",
    fields,
    line,
};

pub(crate) fn routes() -> Router<App> {
    Router::new()
        .route("/shelves", get(list))
        .route("/shelves/new", get(|ctx: Ctx| blank(ctx, &SORT)))
        .route(
            "/shelves/{id}",
            get(show).post(
                |State(app): State<App>,
                 ctx: Ctx,
                 Path(id): Path<Uuid>,
                 Form(typed): Form<Vec<(String, String)>>| {
                    store(app, ctx, &SORT, id, Typed(typed))
                },
            ),
        )
        .route(
            "/shelves/{id}/edit",
            get(|State(app): State<App>, ctx: Ctx, Path(id): Path<Uuid>| edit(app, ctx, &SORT, id)),
        )
        .route("/shelves/{id}/products/{number}", get(product).post(store_product))
}

fn fields(ctx: &Ctx) -> Vec<Field> {
    let of = vec![("owner".to_owned(), t!(ctx, "shelves-owner")), ("van".to_owned(), t!(ctx, "shelves-van"))];
    vec![
        Field::new("name", t!(ctx, "things-name"), Input::Text),
        Field::new("of", t!(ctx, "shelves-of"), Input::Choice(of)).hint(t!(ctx, "shelves-of-hint")),
        Field::new("archived", t!(ctx, "things-archive"), Input::Tick),
    ]
}

fn line(ctx: &Ctx, body: &Value) -> String {
    let whose = if body["of"] == "van" { t!(ctx, "shelves-van") } else { t!(ctx, "shelves-owner") };
    let count = body["products"].as_array().map_or(0, Vec::len);
    format!("{whose} · {}", t!(ctx, "shelves-products", n = count as i64))
}

/// What the list of shelves is asked for.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Asked {
    /// Search.
    q: Option<String>,
    /// "van" or "owner".
    of: Option<String>,
}

/// So many shelves are listed at most; a search finds the others.
const LISTED: u32 = 500;
/// More groups than this are folded, so that the list has an end in sight.
const OPEN: usize = 12;

/// Shelves under a heading.
struct Group {
    title: String,
    shelves: Vec<Thing>,
}

/// The vans' first, then the owners' by the site of the tub that is dosed from them, then those no longer used.
fn groups(ctx: &Ctx, shelves: Vec<Thing>, tubs: &[Thing], sites: &[Thing]) -> Vec<Group> {
    let site_of: BTreeMap<&str, Uuid> =
        tubs.iter().filter_map(|t| Some((t.body["shelf"].as_str()?, t.site?))).collect();
    let mut placed: BTreeMap<(u8, String), Vec<Thing>> = BTreeMap::new();
    for shelf in shelves {
        let site = site_of.get(shelf.id.to_string().as_str());
        let site = site.and_then(|id| sites.iter().find(|s| s.id == *id));
        let key = match site {
            _ if shelf.archived => (3, t!(ctx, "shelves-archived")),
            _ if shelf.body["of"] == "van" => (0, t!(ctx, "shelves-vans")),
            Some(site) => (1, site.name.clone()),
            None => (2, t!(ctx, "shelves-others")),
        };
        placed.entry(key).or_default().push(shelf);
    }
    placed.into_iter().map(|((_, title), shelves)| Group { title, shelves }).collect()
}

async fn list(State(app): State<App>, ctx: Ctx, Query(asked): Query<Asked>) -> Answer {
    let text = asked.q.as_deref().map(str::trim).filter(|q| !q.is_empty()).map(str::to_owned);
    let filter = ThingFilter { text: text.clone(), limit: Some(LISTED), ..ThingFilter::default() };
    let mut shelves = app.book().things(Kind::Shelf, &filter).await.map_err(failed(&ctx))?;
    let more = shelves.len() >= LISTED as usize;
    let of = asked.of.as_deref().filter(|of| matches!(*of, "van" | "owner"));
    shelves.retain(|s| of.is_none_or(|of| (s.body["of"] == "van") == (of == "van")));
    let count = shelves.len();
    let tubs = all(&app, &ctx, Kind::Tub).await?;
    let sites = all(&app, &ctx, Kind::Site).await?;
    let groups = groups(&ctx, shelves, &tubs, &sites);
    let title = t!(ctx, "shelves-title");
    let narrowed = text.is_some() || of.is_some();
    let body = html! {
        (crumbs(&ctx, &[]))
        div.heading { h1 { (title) } p { (t!(ctx, "shelves-lead")) } }
        @if count > 0 || narrowed { (search(&ctx, text.as_deref(), of)) }
        @if groups.is_empty() { p.lead { @if narrowed { (t!(ctx, "shelves-none-found")) } @else { (t!(ctx, "things-none")) } } }
        @for group in &groups {
            details.group open[narrowed || count <= OPEN || groups.len() == 1 || group.shelves.len() == 1] {
                summary { h2 { (group.title) } span.soft { (ctx.number(group.shelves.len() as f64, 0)) } }
                (names(&ctx, &group.shelves, |t| format!("/shelves/{}", t.id), line))
            }
        }
        @if more { p { (t!(ctx, "shelves-more", n = i64::from(LISTED))) } }
        @if ctx.who.role >= Role::Technician {
            div.actions { a.button.first href="/shelves/new" { (t!(ctx, "shelves-new")) } }
        }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}

fn search(ctx: &Ctx, text: Option<&str>, of: Option<&str>) -> Markup {
    let choices =
        [("", t!(ctx, "book-all")), ("owner", t!(ctx, "shelves-owners")), ("van", t!(ctx, "shelves-vans"))];
    html! {
        form.search.by role="search" method="get" action="/shelves" {
            div { label for="q" { (t!(ctx, "shelves-search")) } input #q type="search" name="q" value=[text] autocomplete="off" enterkeyhint="search"; }
            div {
                label for="of" { (t!(ctx, "shelves-of")) }
                select #of name="of" { @for (word, said) in choices { option value=(word) selected[of.unwrap_or_default() == word] { (said) } } }
            }
            button type="submit" { (t!(ctx, "today-search-go")) }
        }
    }
}

fn products(shelf: &Thing) -> Vec<Value> {
    shelf.body["products"].as_array().cloned().unwrap_or_default()
}

async fn show(State(app): State<App>, ctx: Ctx, Path(id): Path<Uuid>) -> Answer {
    let shelf = one(&app, &ctx, Kind::Shelf, id).await?;
    let path = format!("/shelves/{id}");
    let may = ctx.who.role >= Role::Technician;
    let body = html! {
        (crumbs(&ctx, &[("/shelves".to_owned(), t!(ctx, "shelves-title"))]))
        div.heading { h1 { (shelf.name) } p { (line(&ctx, &shelf.body)) } }
        @let products = products(&shelf);
        @if products.is_empty() { p.lead { (t!(ctx, "shelves-empty")) } }
        ul.things {
            @for (product, number) in products.iter().zip(1..) {
                li {
                    @if may { a href={ (path) "/products/" (number) } { (row(&ctx, product)) } }
                    @else { div { (row(&ctx, product)) } }
                }
            }
        }
        p.caution { (t!(ctx, "shelves-caution")) }
        @if may {
            div.actions {
                a.button.first href={ (path) "/products/new" } { (t!(ctx, "shelves-add")) }
                a.button href={ (path) "/edit" } { (t!(ctx, "shelves-edit")) }
            }
        }
    };
    Ok(shell::page(&ctx, &shelf.name, &body).into_response())
}

fn row(ctx: &Ctx, product: &Value) -> Markup {
    let chemical = product["chemical"].as_str().unwrap_or_default().replace('-', " ");
    let name = product["name"].as_str().unwrap_or(&chemical);
    let mut said = vec![chemical.clone()];
    let figure = |field: &str| product[field].as_f64();
    if let Some(percent) = figure("purity_percent") {
        said.push(t!(ctx, "shelves-pure", n = ctx.number(percent, 1)));
    }
    if let Some(percent) = figure("available_chlorine_percent") {
        said.push(t!(ctx, "shelves-chlorine", n = ctx.number(percent, 1)));
    }
    if let Some(grams) = figure("available_chlorine_g_l") {
        said.push(t!(ctx, "shelves-chlorine-litre", n = ctx.number(grams, 0)));
    }
    let measure = &product["measure"];
    let kind = measure_name(ctx, measure["kind"].as_str().unwrap_or_default());
    match (measure["grams"].as_f64(), measure["ml"].as_f64()) {
        (Some(grams), _) => said.push(format!("{kind}: {}", ctx.mass(grams))),
        (None, Some(ml)) => said.push(format!("{kind}: {} mL", ctx.number(ml, 0))),
        (None, None) => said.push(kind),
    }
    if let Some(left) = figure("stock_g") {
        said.push(t!(ctx, "shelves-left", mass = ctx.mass(left)));
    }
    html! { span.thing { (name) } span.line { (said.join(" · ")) } }
}

fn measure_name(ctx: &Ctx, kind: &str) -> String {
    match kind {
        "capful" => t!(ctx, "measure-capful"),
        "scoop" => t!(ctx, "measure-scoop"),
        "tablet" => t!(ctx, "measure-tablet"),
        "millilitres" => t!(ctx, "measure-millilitres"),
        _ => t!(ctx, "measure-scale"),
    }
}

/// Everything that can stand on a shelf: the substances of the contract but the gas, and two mixtures.
fn chemicals() -> Vec<(String, String)> {
    let gas = water::Chemical::CarbonDioxide;
    let ids = water::chemical::ALL.iter().filter(|c| **c != gas).map(|c| c.id());
    ids.chain(["mineral-salt", "sequestrant"]).map(|id| (id.to_owned(), id.replace('-', " "))).collect()
}

const FORMS: [&str; 6] =
    ["anhydrous", "dihydrate", "pentahydrate", "hexahydrate", "heptahydrate", "decahydrate"];

fn product_fields(ctx: &Ctx) -> Vec<Field> {
    let mut forms = vec![(String::new(), t!(ctx, "product-form-usual"))];
    forms.extend(FORMS.map(|f| (f.to_owned(), f.to_owned())));
    let measures = ["capful", "scoop", "tablet", "scale", "millilitres"];
    let measures = measures.map(|m| (m.to_owned(), measure_name(ctx, m))).to_vec();
    let number = |path: &str, id: &str| Field::new(path, ctx.say(id, None), Input::Number);
    vec![
        Field::new("chemical", t!(ctx, "product-chemical"), Input::Choice(chemicals())),
        Field::new("name", t!(ctx, "product-name"), Input::Text).hint(t!(ctx, "product-name-hint")),
        number("purity_percent", "product-purity").hint(t!(ctx, "product-strength-hint")),
        number("available_chlorine_percent", "product-chlorine"),
        number("available_chlorine_g_l", "product-chlorine-litre"),
        Field::new("form", t!(ctx, "product-form"), Input::Choice(forms)),
        number("density_g_ml", "product-density"),
        number("age_days", "product-age").hint(t!(ctx, "product-age-hint")),
        Field::new("measure.kind", t!(ctx, "product-measure"), Input::Choice(measures)),
        number("measure.grams", "product-grams").hint(t!(ctx, "product-grams-hint")),
        number("measure.ml", "product-ml"),
        number("measure.smallest", "product-smallest").hint(t!(ctx, "product-smallest-hint")),
        number("stock_g", "product-stock"),
        number("price_per_kg", "product-price"),
    ]
}

/// Which product is meant: its place, or the one after the last.
fn place(ctx: &Ctx, number: &str, products: &[Value]) -> Result<usize, crate::error::Refusal> {
    let place = if number == "new" {
        Some(products.len())
    } else {
        number.parse().ok().and_then(|n: usize| n.checked_sub(1))
    };
    let there = place.filter(|p| *p < products.len() || number == "new");
    there.ok_or_else(|| PageError::Missing("product").at(ctx))
}

async fn product(State(app): State<App>, ctx: Ctx, Path((id, number)): Path<(Uuid, String)>) -> Answer {
    let shelf = one(&app, &ctx, Kind::Shelf, id).await?;
    let products = products(&shelf);
    let place = place(&ctx, &number, &products)?;
    let body = products.get(place).cloned().unwrap_or_else(|| json!({}));
    let typed = Typed::of_body(&ctx, &product_fields(&ctx), &body);
    Ok(form(&ctx, &shelf, &number, &typed, &[]).into_response())
}

async fn store_product(
    State(app): State<App>,
    ctx: Ctx,
    Path((id, number)): Path<(Uuid, String)>,
    Form(typed): Form<Vec<(String, String)>>,
) -> Answer {
    let typed = Typed(typed);
    let shelf = one(&app, &ctx, Kind::Shelf, id).await?;
    let back = || Redirect::to(&format!("/shelves/{id}")).into_response();
    let entry = entry_id(&typed);
    if app.book().entry(entry).await.map_err(failed(&ctx))?.is_some_and(|e| e.subject == Some(id)) {
        return Ok(back());
    }
    let mut products = products(&shelf);
    let place = place(&ctx, &number, &products)?;
    if typed.get("remove").is_empty() {
        let base = products.get(place).cloned().unwrap_or_else(|| json!({}));
        let product = typed.fill_body(&ctx, &product_fields(&ctx), base);
        match products.get_mut(place) {
            Some(there) => *there = product,
            None => products.push(product),
        }
    } else if place < products.len() {
        products.remove(place);
    }
    let mut body = shelf.body.clone();
    body["products"] = Value::Array(products);
    let faults = save(&app, &ctx, Kind::Shelf, id, entry, body).await?;
    if faults.is_empty() {
        return Ok(back());
    }
    let own = format!("products[{}].", place + 1);
    let strip = |p: Problem| match p.field.strip_prefix(&own) {
        Some(field) => Problem { field: field.to_owned(), ..p },
        None => p,
    };
    let faults: Vec<Problem> = faults.into_iter().map(strip).collect();
    Ok(refused(form(&ctx, &shelf, &number, &typed, &faults)))
}

fn form(ctx: &Ctx, shelf: &Thing, number: &str, typed: &Typed, faults: &[Problem]) -> Markup {
    let title = if number == "new" { t!(ctx, "shelves-add") } else { t!(ctx, "shelves-change") };
    let path = format!("/shelves/{}", shelf.id);
    let body = html! {
        (crumbs(ctx, &[("/shelves".to_owned(), t!(ctx, "shelves-title")), (path.clone(), shelf.name.clone())]))
        div.heading { h1 { (title) } }
        form.thing method="post" action={ (path) "/products/" (number) } {
            (entry_field())
            (draw(ctx, &product_fields(ctx), typed, faults))
            p.caution { (t!(ctx, "shelves-caution")) }
            div.actions {
                button.first type="submit" { (t!(ctx, "fields-save")) }
                @if number != "new" { button type="submit" name="remove" value="1" { (t!(ctx, "shelves-remove")) } }
            }
        }
    };
    shell::page(ctx, &title, &body)
}
