//! The interface's description as a page, made from the document itself.

use crate::api::openapi;
use crate::ctx::Ctx;
use crate::page::shell;
use crate::words::t;
use maud::{Markup, html};
use serde_json::Value;

pub(crate) async fn show(ctx: Ctx) -> Markup {
    let document = openapi::of_this_release();
    let title = t!(ctx, "api-title");
    let body = html! {
        div.heading { h1 { (title) } }
        p.lead { (t!(ctx, "api-lead")) }
        p { (document["info"]["description"].as_str().unwrap_or_default()) }
        ul {
            li { a href="/api/v1/openapi.json" { (t!(ctx, "api-document")) } }
            li { a href="/me/access" { (t!(ctx, "api-tokens")) } }
        }
        @for (path, operations) in document["paths"].as_object().into_iter().flatten() {
            @for (method, operation) in operations.as_object().into_iter().flatten() {
                (one(&ctx, path, method, operation))
            }
        }
        h2 { (t!(ctx, "api-errors")) }
        p { (t!(ctx, "api-errors-text")) }
        @for (name, schema) in document["components"]["schemas"].as_object().into_iter().flatten() {
            details id=(name) { summary { code { (name) } } pre.schema tabindex="0" { (format!("{schema:#}")) } }
        }
    };
    shell::page(&ctx, &title, &body)
}

fn one(ctx: &Ctx, path: &str, method: &str, operation: &Value) -> Markup {
    let sent = &operation["requestBody"]["content"]["application/json"]["schema"];
    html! {
        section.operation {
            h2 { code { (method.to_uppercase()) " " (path) } }
            p { (operation["summary"].as_str().unwrap_or_default()) }
            @if let Some(role) = operation["x-least-role"].as_str().filter(|r| *r != "nobody") {
                p.soft { (t!(ctx, "api-needs", role = role.to_owned())) }
            }
            @if let Some(parameters) = operation["parameters"].as_array().filter(|p| !p.is_empty()) {
                dl { @for p in parameters {
                    dt { code { (p["name"].as_str().unwrap_or_default()) } }
                    dd { (p["description"].as_str().unwrap_or_default()) " " span.soft { (kind_of(p)) } }
                } }
            }
            @if !sent.is_null() { p { (t!(ctx, "api-takes")) " " (shape(sent)) } }
            @for (status, answer) in answers(operation).filter(|(status, _)| !is_error(status)) {
                p {
                    (t!(ctx, "api-answers", status = status.clone())) " " (answer["description"].as_str().unwrap_or_default())
                    @for (_, content) in answer["content"].as_object().into_iter().flatten() { " " (shape(&content["schema"])) }
                }
            }
            p.soft {
                (t!(ctx, "api-errors-of"))
                @for (status, _) in answers(operation).filter(|(status, _)| is_error(status)) { " " (status) }
            }
        }
    }
}

fn answers(operation: &Value) -> impl Iterator<Item = (&String, &Value)> {
    operation["responses"].as_object().into_iter().flatten()
}

fn is_error(status: &str) -> bool {
    status.starts_with(['4', '5'])
}

/// A schema in short: the names that it refers to, each with a link to it.
fn shape(schema: &Value) -> Markup {
    let mut names = Vec::new();
    references(schema, &mut names);
    html! { @for name in names { code { a href={ "#" (name) } { (name) } } " " } }
}

/// Where a parameter stands and what it is.
fn kind_of(parameter: &Value) -> String {
    let text = |field: &str| parameter["schema"][field].as_str().map(str::to_owned);
    let what = text("format").or_else(|| text("type")).unwrap_or_default();
    format!("{}, {what}", parameter["in"].as_str().unwrap_or_default())
}

fn references(schema: &Value, names: &mut Vec<String>) {
    match schema {
        Value::Object(fields) => {
            if let Some(name) = fields.get("$ref").and_then(Value::as_str).and_then(|r| r.rsplit('/').next())
            {
                names.push(name.to_owned());
            }
            fields.values().for_each(|v| references(v, names));
        }
        Value::Array(items) => items.iter().for_each(|v| references(v, names)),
        _ => {}
    }
}
