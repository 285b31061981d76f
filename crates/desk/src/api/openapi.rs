//! The interface's description: an OpenAPI 3.1 document, made from the very shapes that are read and written.
//!
//! OpenAPI 3.1 takes JSON Schema (draft 2020-12) as it is, and that is what `care::wire` publishes for its types; so the
//! document is put together from those schemas, and a second set of derives beside them could only disagree.

use crate::api::problem::Problem;
use crate::api::reply::{self, Reply};
use crate::api::{RULES, entries, things, today};
use crate::policy::Role;
use axum::extract::Path;
use axum::http::{HeaderMap, Method};
use book::Kind;
use care::wire::schema;
use care::wire::shape::schema_json;
use serde_json::{Map, Value, json};
use std::sync::LazyLock;

static DOCUMENT: LazyLock<Value> = LazyLock::new(document);

pub(crate) async fn show(headers: HeaderMap) -> Reply {
    reply::json(&headers, &*DOCUMENT)
}

/// The document.
pub(crate) fn of_this_release() -> &'static Value {
    &DOCUMENT
}

/// One published schema by its name.
pub(crate) async fn schema(Path(name): Path<String>, headers: HeaderMap) -> Reply {
    let found = match name.as_str() {
        "case" => Some(schema::case()),
        "water" => Some(schema::water()),
        "plan" => Some(schema::plan()),
        "outlook" => Some(schema::outlook()),
        kind => Kind::from_id(kind).and_then(body_schema),
    };
    reply::json(&headers, &found.ok_or_else(|| Problem::missing("schema"))?)
}

/// The schema of a kind's body: the book's own, or `care`'s without what stands beside the body in an entry.
fn body_schema(kind: Kind) -> Option<Value> {
    let of_care = match kind {
        Kind::Reading => "Reading",
        Kind::Dose => "Dose",
        Kind::Event => "Event",
        Kind::SourceWater => "SourceWater",
        Kind::Method => "Method",
        _ => return book::body_schema(kind),
    };
    let case = schema::case();
    let mut body = case["$defs"][of_care].clone();
    body["$defs"] = case["$defs"].clone();
    if kind.is_happening()
        && let Some(fields) = body["properties"].as_object_mut()
    {
        fields.remove("at");
    }
    Some(body)
}

/// Names of [`schema()`].
fn schema_names() -> Vec<&'static str> {
    let kinds = book::KINDS.into_iter().filter(|k| body_schema(*k).is_some()).map(Kind::id);
    ["case", "water", "plan", "outlook"].into_iter().chain(kinds).collect()
}

/// Schemas under `#/components/schemas`, with the references inside them turned there.
#[derive(Default)]
struct Components(Map<String, Value>);

impl Components {
    /// Adds a schema and what it defines, under names of its own; gives the reference to it. `read`: what is sent to us,
    /// where null is not accepted: a field that says nothing is left out.
    fn add(&mut self, name: &str, mut schema: Value, read: bool) -> Value {
        if let Some(fields) = schema.as_object_mut() {
            fields.remove("$schema");
            if let Some(Value::Object(definitions)) = fields.remove("$defs") {
                for (inner, mut definition) in definitions {
                    turn(&mut definition, name, read);
                    self.0.insert(format!("{name}.{inner}"), definition);
                }
            }
        }
        turn(&mut schema, name, read);
        self.0.insert(name.to_owned(), schema);
        json!({ "$ref": format!("#/components/schemas/{name}") })
    }
}

fn turn(schema: &mut Value, name: &str, read: bool) {
    match schema {
        Value::Object(fields) => {
            if let Some(Value::String(reference)) = fields.get_mut("$ref") {
                *reference = match reference.strip_prefix("#/$defs/") {
                    Some(inner) => format!("#/components/schemas/{name}.{inner}"),
                    None if reference == "#" => format!("#/components/schemas/{name}"),
                    None => reference.clone(),
                };
            }
            if read {
                without_null(fields);
                with_content(fields);
            }
            fields.values_mut().for_each(|v| turn(v, name, read));
        }
        Value::Array(items) => items.iter_mut().for_each(|v| turn(v, name, read)),
        _ => {}
    }
}

fn without_null(fields: &mut Map<String, Value>) {
    if fields.get("default") == Some(&Value::Null) {
        fields.remove("default");
    }
    if let Some(Value::Array(types)) = fields.get_mut("type") {
        types.retain(|t| t != "null");
        if let [one] = types.as_slice() {
            let one = one.clone();
            fields.insert("type".into(), one);
        }
    }
    if let Some(Value::Array(any)) = fields.get_mut("anyOf") {
        any.retain(|s| s["type"] != "null");
    }
}

/// Text that is sent holds more than spaces.
fn with_content(fields: &mut Map<String, Value>) {
    let is_text = fields.get("type") == Some(&json!("string"));
    let bound = ["enum", "const", "format", "pattern"].iter().any(|f| fields.contains_key(*f));
    if is_text && !bound {
        fields.insert("minLength".into(), json!(1));
        fields.insert("pattern".into(), json!("\\S"));
    }
}

/// What the book leaves to `care` to check is described by `care`'s own shapes.
fn refined(kind: Kind, mut schema: Value) -> Value {
    let case = |name: &str| json!({ "$ref": format!("#/components/schemas/Case.{name}") });
    let bands = || schema::case()["properties"]["band"].clone();
    let fields = &mut schema["properties"];
    match kind {
        Kind::Tub => {
            fields["tub"] = case("Tub");
            fields["band"] = bands();
            for reference in ["site", "source_water", "shelf"] {
                fields[reference]["pattern"] = json!(UUID);
            }
        }
        Kind::Band => fields["band"] = bands(),
        Kind::Shelf => fields["products"]["items"] = case("Product"),
        Kind::Photo => fields["base64"]["contentEncoding"] = json!("base64"),
        _ => {}
    }
    let defs = schema::case()["$defs"].clone();
    if schema.get("$defs").is_none() && matches!(kind, Kind::Tub | Kind::Band) {
        schema["$defs"] = defs;
    }
    schema
}

/// A UUID as the book writes it; one of version 7.
const UUID: &str = "^[0-9a-f]{8}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{4}-[0-9a-f]{12}$";
const UUID_7: &str = "^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$";

fn document() -> Value {
    let mut components = Components::default();
    let shapes = Shapes::new(&mut components);
    let mut paths = Map::new();
    for (method, path, role) in RULES {
        let operation = operation(method, path, *role, &shapes);
        let at = paths.entry((*path).to_owned()).or_insert_with(|| json!({}));
        at[method.as_str().to_lowercase()] = operation;
    }
    json!({
        "openapi": "3.1.0",
        "info": {
            "title": "Tubwright",
            "version": env!("CARGO_PKG_VERSION"),
            "summary": "The record of hot tubs, what their water is, and what to do about it.",
            "description": "A plan never replaces a product's label, local rules or a licensed practitioner: where they \
                differ, they come first. Whoever shows a plan shows its cautions with it. Errors are problem documents \
                (RFC 9457). Lists come in pages: next, and the header Link, hold the address of the next one. A litre \
                counts as one kilogram of water.",
            "license": { "name": "MIT OR Apache-2.0", "identifier": "MIT OR Apache-2.0" },
        },
        "servers": [{ "url": "/" }],
        "security": [{ "token": [] }, { "session": [] }],
        "paths": paths,
        "components": {
            "schemas": components.0,
            "securitySchemes": {
                "token": { "type": "http", "scheme": "bearer", "description": "A token made at /me/access. A server that only its own machine reaches, without accounts, needs none." },
                "session": { "type": "apiKey", "in": "cookie", "name": "__Host-tubwright", "description": "The session of a browser that is logged in." },
            },
        },
    })
}

/// References to what goes in and out.
struct Shapes {
    problem: Value,
    thing: Value,
    things: Vec<(Kind, Value)>,
    entry: Value,
    new_entry: Value,
    receipt: Value,
    tub_today: Value,
    water_in: Value,
    water_out: Value,
    case: Value,
    plan: Value,
    outlook: Value,
}

impl Shapes {
    fn new(c: &mut Components) -> Shapes {
        let water = schema::water();
        let mut water_out = water["out"].clone();
        water_out["properties"]["id"] =
            json!({ "type": ["string", "number"], "description": "The id that was sent." });
        let mut case = schema::case();
        if let Some(fields) = case["properties"].as_object_mut() {
            fields.remove("entries");
        }
        let mut new_entry = schema_json::<entries::EntryIn>();
        new_entry["properties"]["id"]["pattern"] = json!(UUID_7);
        let mut bodies = Vec::new();
        let mut things = Vec::new();
        for kind in book::KINDS {
            let Some(schema) = body_schema(kind) else { continue };
            let reference = c.add(&format!("body.{kind}"), refined(kind, schema), true);
            if kind.is_thing() {
                things.push((kind, reference.clone()));
            }
            if entries::kind_ids().contains(&kind.id()) {
                bodies.push(json!({ "properties": { "kind": { "const": kind.id() }, "body": reference } }));
            }
        }
        let withdrawal = json!({
            "required": ["corrects"],
            "properties": { "body": {
                "type": "object", "additionalProperties": false, "required": ["withdrawn", "why"],
                "properties": { "withdrawn": { "const": true }, "why": { "type": "string", "minLength": 1 } },
                "description": "Takes back the entry that it corrects.",
            } },
        });
        bodies.push(withdrawal);
        new_entry["anyOf"] = Value::Array(bodies);
        Shapes {
            problem: c.add("Problem", schema_json::<Problem>(), false),
            thing: c.add("Thing", schema_json::<things::ThingOut>(), false),
            things,
            entry: c.add("Entry", schema_json::<entries::EntryOut>(), false),
            new_entry: c.add("NewEntry", new_entry, true),
            receipt: c.add("Receipt", schema_json::<entries::ReceiptOut>(), false),
            tub_today: c.add("TubOfTheDay", schema_json::<today::TubToday>(), false),
            water_in: c.add("Water", water["in"].clone(), true),
            water_out: c.add("WaterAnswer", water_out, false),
            case: c.add("Case", case, true),
            plan: c.add("Plan", schema::plan(), false),
            outlook: c.add("Outlook", schema::outlook(), false),
        }
    }

    fn page(&self, of: &Value) -> Value {
        json!({
            "type": "object", "required": ["items", "next"],
            "properties": {
                "items": { "type": "array", "items": of },
                "next": { "type": ["string", "null"], "description": "The address of the next page." },
            },
        })
    }
}

fn parameter(name: &str, place: &str, schema: Value, description: &str) -> Value {
    json!({ "name": name, "in": place, "required": place == "path", "schema": schema, "description": description })
}

fn uuid() -> Value {
    json!({ "type": "string", "format": "uuid" })
}

fn paging(after: Value) -> Vec<Value> {
    vec![
        parameter("after", "query", after, "The last of the page before."),
        parameter(
            "limit",
            "query",
            json!({ "type": "integer", "minimum": 1, "maximum": 500, "default": 100 }),
            "Items on a page.",
        ),
    ]
}

fn text(what: &str) -> Value {
    parameter("text", "query", json!({ "type": "string" }), what)
}

/// What one operation takes and gives.
struct Told {
    id: String,
    summary: String,
    parameters: Vec<Value>,
    body: Option<Value>,
    /// Statuses of success, with their content.
    answers: Vec<(u16, &'static str, Value)>,
    /// Statuses of error beside those that every operation has.
    errors: Vec<u16>,
}

fn operation(method: &Method, path: &str, role: Role, shapes: &Shapes) -> Value {
    let told = told(method, path, shapes);
    let mut responses = Map::new();
    let marked =
        json!({ "ETag": { "description": "The mark of this content.", "schema": { "type": "string" } } });
    for (status, what, schema) in &told.answers {
        let media = if path == "/api/v1/" { "text/html; charset=utf-8" } else { "application/json" };
        let mut answer = json!({ "description": what, "content": { media: { "schema": schema } } });
        if *method != Method::POST && path != "/api/v1/" {
            answer["headers"] = marked.clone();
        }
        responses.insert(status.to_string(), answer);
    }
    if *method == Method::GET && path != "/api/v1/" {
        responses.insert("304".into(), json!({ "description": "Not changed since If-None-Match." }));
    }
    let everywhere: &[u16] = if role == Role::Nobody { &[429, 503] } else { &[401, 403, 429, 503] };
    for status in everywhere.iter().chain(&told.errors) {
        let what = axum::http::StatusCode::from_u16(*status)
            .ok()
            .and_then(|s| s.canonical_reason())
            .unwrap_or("Error");
        let media = "application/problem+json";
        let answer = json!({ "description": what, "content": { media: { "schema": shapes.problem } } });
        responses.insert(status.to_string(), answer);
    }
    let mut operation = json!({
        "operationId": told.id, "summary": told.summary, "parameters": told.parameters, "responses": responses,
        "x-least-role": format!("{role:?}").to_lowercase(),
    });
    if let Some(body) = told.body {
        operation["requestBody"] =
            json!({ "required": true, "content": { "application/json": { "schema": body } } });
    }
    if role == Role::Nobody {
        operation["security"] = json!([]);
    }
    operation
}

fn told(method: &Method, path: &str, shapes: &Shapes) -> Told {
    let free = json!({ "type": "object" });
    let simple = |id: &str, summary: &str, schema: Value| Told {
        id: id.into(),
        summary: summary.into(),
        parameters: Vec::new(),
        body: None,
        answers: vec![(200, "Done.", schema)],
        errors: Vec::new(),
    };
    let id = || vec![parameter("id", "path", uuid(), "Its id.")];
    match (method.as_str(), path) {
        (_, "/api/v1/") => simple("browse", "This description as a page.", json!({ "type": "string" })),
        (_, "/api/v1/openapi.json") => simple("describe", "This description.", free),
        ("GET", "/api/v1/entries") => {
            let mut parameters = vec![
                parameter("subject", "query", uuid(), "About this tub or thing."),
                parameter(
                    "kind",
                    "query",
                    json!({ "type": "string", "pattern": kinds_pattern() }),
                    "Of this kind, or of these with commas between.",
                ),
                parameter(
                    "from",
                    "query",
                    json!({ "type": "string", "format": "date-time" }),
                    "Happened then or later.",
                ),
                parameter(
                    "to",
                    "query",
                    json!({ "type": "string", "format": "date-time" }),
                    "Happened then or before.",
                ),
                parameter(
                    "before",
                    "query",
                    json!({ "type": "integer", "format": "int64" }),
                    "Received before the entry of this number.",
                ),
                text("With this text in the body."),
                parameter("by", "query", uuid(), "Recorded by this person."),
                parameter(
                    "order",
                    "query",
                    json!({ "type": "string", "enum": ["oldest-first", "newest-first"] }),
                    "In order of receipt.",
                ),
            ];
            parameters.extend(paging(json!({ "type": "integer", "format": "int64" })));
            let page = shapes.page(&shapes.entry);
            Told {
                parameters,
                errors: vec![422],
                ..simple("listEntries", "The log, in order of receipt.", page)
            }
        }
        ("POST", "/api/v1/entries") => {
            let receipts = json!({ "anyOf": [shapes.receipt, { "type": "array", "items": shapes.receipt }] });
            let key = json!({ "type": "string", "minLength": 1, "maxLength": 255, "pattern": "^[!-~]+$" });
            Told {
                id: "recordEntries".into(),
                summary: "Records one entry or many: all or none. The same sent again is once.".into(),
                parameters: vec![parameter(
                    "Idempotency-Key",
                    "header",
                    key,
                    "With the same key and body, the same answer, for a day at least.",
                )],
                body: Some(
                    json!({ "anyOf": [shapes.new_entry, { "type": "array", "items": shapes.new_entry, "minItems": 1, "maxItems": entries::ENTRIES_MOST }] }),
                ),
                answers: vec![
                    (201, "Recorded.", receipts.clone()),
                    (200, "Received before; nothing new.", receipts),
                ],
                errors: vec![400, 409, 413, 415, 422],
            }
        }
        ("GET", "/api/v1/entries/{id}") => Told {
            parameters: id(),
            errors: vec![404],
            ..simple("getEntry", "One entry.", shapes.entry.clone())
        },
        ("POST", "/api/v1/water") => Told {
            body: Some(shapes.water_in.clone()),
            errors: vec![400, 413, 415, 422],
            ..simple(
                "describeWater",
                "What a water is, after additions if there are any.",
                shapes.water_out.clone(),
            )
        },
        ("POST", "/api/v1/plan") => Told {
            body: Some(shapes.case.clone()),
            errors: vec![400, 413, 415, 422],
            ..simple("planCase", "The plan of a case that is sent.", shapes.plan.clone())
        },
        ("GET", "/api/v1/tubs/{id}/plan") => Told {
            parameters: id(),
            errors: vec![404, 409],
            ..simple("planTub", "The plan of a tub, as of now.", shapes.plan.clone())
        },
        ("GET", "/api/v1/tubs/{id}/outlook") => Told {
            parameters: id(),
            errors: vec![404, 409],
            ..simple(
                "outlookTub",
                "What a tub's water will do in two weeks, as of now.",
                shapes.outlook.clone(),
            )
        },
        ("GET", "/api/v1/tubs/{id}/case") => Told {
            parameters: id(),
            errors: vec![404, 409],
            ..simple("getCase", "What is known of a tub, as a case.", free)
        },
        ("GET", "/api/v1/today") => {
            let mut parameters = vec![text("With this text in the tub's name, address, owner or note.")];
            parameters.extend(paging(uuid()));
            let page = shapes.page(&shapes.tub_today);
            let summary = "Which tubs need a look and why, most urgent first.";
            Told { parameters, errors: vec![422], ..simple("listToday", summary, page) }
        }
        ("GET", "/api/v1/schemas/{name}") => {
            let names = json!({ "type": "string", "enum": schema_names() });
            let parameters = vec![parameter("name", "path", names, "Which one.")];
            Told { parameters, errors: vec![404], ..simple("getSchema", "A published JSON Schema.", free) }
        }
        _ => told_of_thing(method, path, shapes),
    }
}

fn told_of_thing(method: &Method, path: &str, shapes: &Shapes) -> Told {
    let name = path.trim_start_matches("/api/v1/").split('/').next().unwrap_or_default();
    let kind = things::PATHS.iter().find(|(p, _)| *p == name).map(|(_, kind)| *kind);
    let body = shapes.things.iter().find(|(k, _)| Some(*k) == kind).map(|(_, body)| body.clone());
    let words: String = name.split('-').map(|w| format!("{}{}", w[..1].to_uppercase(), &w[1..])).collect();
    let plain = name.replace('-', " ");
    let one = path.ends_with("/{id}");
    let mut parameters = if one { vec![parameter("id", "path", uuid(), "Its id.")] } else { Vec::new() };
    match (method.as_str(), one) {
        ("PUT", _) => {
            let mark = json!({ "type": "string" });
            parameters.push(parameter("If-Match", "header", mark.clone(), "Only if it still has this mark."));
            parameters.push(parameter("If-None-Match", "header", mark, "`*`: only if it is not there yet."));
            Told {
                id: format!("put{words}"),
                summary: format!(
                    "Writes one of the {plain}: a new one, or a new version. The versions before stay in the log."
                ),
                parameters,
                body,
                answers: vec![(200, "Written.", shapes.thing.clone()), (201, "New.", shapes.thing.clone())],
                errors: vec![400, 404, 412, 413, 415, 422],
            }
        }
        (_, true) => Told {
            id: format!("get{words}"),
            summary: format!("One of the {plain}, as it is now."),
            parameters,
            body: None,
            answers: vec![(200, "Done.", shapes.thing.clone())],
            errors: vec![404],
        },
        (_, false) => {
            parameters.push(text("With this text in name, address, owner or note."));
            parameters.push(parameter("site", "query", uuid(), "Of this site."));
            parameters.push(parameter(
                "archived",
                "query",
                json!({ "type": "boolean" }),
                "Only those in use, or no longer used.",
            ));
            parameters.extend(paging(uuid()));
            Told {
                id: format!("list{words}"),
                summary: format!("The {plain}, by name."),
                parameters,
                body: None,
                answers: vec![(200, "Done.", shapes.page(&shapes.thing))],
                errors: vec![422],
            }
        }
    }
}

/// One kind, or several with commas between.
fn kinds_pattern() -> String {
    let all: Vec<&str> = book::KINDS.into_iter().map(Kind::id).collect();
    let all = all.join("|");
    format!("^({all})(,({all}))*$")
}
