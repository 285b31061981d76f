//! Things that are listed and edited alike: source waters, people, sets of bands, shelves by name.

use crate::ctx::Ctx;
use crate::error::{Answer, PageError, Refusal};
use crate::page::fields::{Field, Typed, draw};
use crate::page::shell;
use crate::state::App;
use crate::words::t;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use book::{BookError, Kind, NewEntry, Thing, ThingFilter, Uuid};
use care::wire::Problem;
use maud::{Markup, html};
use serde_json::{Value, json};

/// A sort of things with its pages.
pub(crate) struct Sort {
    pub(crate) kind: Kind,
    /// Where the list is; one thing is below it.
    pub(crate) path: &'static str,
    /// Messages: title of the list, what it is for, "a new one".
    pub(crate) title: &'static str,
    pub(crate) lead: &'static str,
    pub(crate) new: &'static str,
    pub(crate) fields: fn(&Ctx) -> Vec<Field>,
    /// A line about one in the list.
    pub(crate) line: fn(&Ctx, &Value) -> String,
}

/// A failure of the book, for a page.
pub(crate) fn failed(ctx: &Ctx) -> impl Fn(BookError) -> Refusal {
    move |e| PageError::from(e).at(ctx)
}

/// Every thing of a kind, those no longer used last.
pub(crate) async fn all(app: &App, ctx: &Ctx, kind: Kind) -> Result<Vec<Thing>, Refusal> {
    let filter = ThingFilter { limit: Some(1000), ..ThingFilter::default() };
    let mut things = app.book().things(kind, &filter).await.map_err(failed(ctx))?;
    things.sort_by_key(|t| t.archived);
    Ok(things)
}

/// One thing, or the page that says that there is none.
pub(crate) async fn one(app: &App, ctx: &Ctx, kind: Kind, id: Uuid) -> Result<Thing, Refusal> {
    let thing = app.book().thing(kind, id).await.map_err(failed(ctx))?;
    thing.ok_or_else(|| PageError::Missing("thing").at(ctx))
}

/// Records a version of a thing. The faults if it cannot be used; a form that was sent twice counts once.
pub(crate) async fn save(
    app: &App,
    ctx: &Ctx,
    kind: Kind,
    subject: Uuid,
    entry: Uuid,
    body: Value,
) -> Result<Vec<Problem>, Refusal> {
    let there = app.book().entry(entry).await.map_err(failed(ctx))?;
    if there.is_some_and(|e| e.kind == kind && e.subject == Some(subject)) {
        return Ok(Vec::new());
    }
    let new = NewEntry {
        id: entry,
        kind,
        subject: Some(subject),
        at_us: ctx.now.as_microsecond(),
        by: ctx.who.person,
        corrects: None,
        body,
    };
    match app.record(&[new]).await {
        Ok(_) => Ok(Vec::new()),
        Err(BookError::Refused(refusals)) => Ok(refusals.into_iter().flat_map(|r| r.problems).collect()),
        Err(other) => Err(PageError::from(other).at(ctx)),
    }
}

/// The id of the entry that a form makes, from its hidden field.
pub(crate) fn entry_id(typed: &Typed) -> Uuid {
    Uuid::try_parse(typed.get("entry"))
        .ok()
        .filter(|id| id.get_version_num() == 7)
        .unwrap_or_else(Uuid::now_v7)
}

/// The hidden field of that id.
pub(crate) fn entry_field() -> Markup {
    html! { input type="hidden" name="entry" value=(Uuid::now_v7()); }
}

pub(crate) async fn list(app: App, ctx: Ctx, sort: &Sort) -> Answer {
    let things = all(&app, &ctx, sort.kind).await?;
    let title = ctx.say(sort.title, None);
    let body = html! {
        (crumbs(&ctx, &[]))
        div.heading { h1 { (title) } }
        p.lead { (ctx.say(sort.lead, None)) }
        (names(&ctx, &things, |t| format!("{}/{}", sort.path, t.id), sort.line))
        div.actions { a.button.first href={ (sort.path) "/new" } { (ctx.say(sort.new, None)) } }
    };
    Ok(shell::page(&ctx, &title, &body).into_response())
}

/// Things as a list of links.
pub(crate) fn names(
    ctx: &Ctx,
    things: &[Thing],
    path: impl Fn(&Thing) -> String,
    line: fn(&Ctx, &Value) -> String,
) -> Markup {
    html! {
        @if things.is_empty() { p.soft { (t!(ctx, "things-none")) } }
        ul.things {
            @for thing in things {
                li {
                    a href=(path(thing)) {
                        span.thing { (thing.name) }
                        @if thing.archived { " " span.soft { (t!(ctx, "things-archived")) } }
                        span.line { (line(ctx, &thing.body)) }
                    }
                }
            }
        }
    }
}

pub(crate) async fn blank(ctx: Ctx, sort: &Sort) -> Answer {
    let fields = (sort.fields)(&ctx);
    let typed = Typed::of_body(&ctx, &fields, &json!({}));
    let title = ctx.say(sort.new, None);
    Ok(form(&ctx, sort, Uuid::now_v7(), &title, &fields, &typed, &[]).into_response())
}

pub(crate) async fn edit(app: App, ctx: Ctx, sort: &Sort, id: Uuid) -> Answer {
    let thing = one(&app, &ctx, sort.kind, id).await?;
    let fields = (sort.fields)(&ctx);
    let typed = Typed::of_body(&ctx, &fields, &thing.body);
    Ok(form(&ctx, sort, id, &thing.name, &fields, &typed, &[]).into_response())
}

pub(crate) async fn store(app: App, ctx: Ctx, sort: &Sort, id: Uuid, typed: Typed) -> Answer {
    let before = app.book().thing(sort.kind, id).await.map_err(failed(&ctx))?;
    let fields = (sort.fields)(&ctx);
    let base = before.as_ref().map_or_else(|| json!({}), |t| t.body.clone());
    let mut body = typed.fill_body(&ctx, &fields, base);
    if sort.kind == Kind::Shelf && body.get("products").is_none() {
        body["products"] = json!([]);
    }
    let faults = save(&app, &ctx, sort.kind, id, entry_id(&typed), body).await?;
    if faults.is_empty() {
        let to = if sort.kind == Kind::Shelf { format!("{}/{id}", sort.path) } else { sort.path.to_owned() };
        return Ok(Redirect::to(&to).into_response());
    }
    let title = before.map_or_else(|| ctx.say(sort.new, None), |t| t.name);
    Ok(refused(form(&ctx, sort, id, &title, &fields, &typed, &faults)))
}

/// A page that says what is wrong with what was sent.
pub(crate) fn refused(page: Markup) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

fn form(
    ctx: &Ctx,
    sort: &Sort,
    id: Uuid,
    title: &str,
    fields: &[Field],
    typed: &Typed,
    faults: &[Problem],
) -> Markup {
    let body = html! {
        (crumbs(ctx, &[(sort.path.to_owned(), ctx.say(sort.title, None))]))
        div.heading { h1 { (title) } }
        form.thing method="post" action={ (sort.path) "/" (id) } {
            (entry_field())
            (draw(ctx, fields, typed, faults))
            div.actions { button.first type="submit" { (t!(ctx, "fields-save")) } }
        }
    };
    shell::page(ctx, title, &body)
}

/// The way back: to the set-up, and through these.
pub(crate) fn crumbs(ctx: &Ctx, between: &[(String, String)]) -> Markup {
    html! {
        nav.crumbs aria-label=(t!(ctx, "crumbs")) {
            a href="/setup" { (t!(ctx, "nav-setup")) }
            @for (path, name) in between { a href=(path) { (name) } }
        }
    }
}
