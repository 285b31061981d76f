//! What the body of each kind holds. Water care's own shapes are checked by `care`; the rest is here.
//!
//! Each shape is one plain struct from which the published JSON Schema and the checker are made, as in `care::wire`.

use crate::kind::Kind;
use care::quantity;
use care::wire::case::faults_of_part;
use care::wire::node;
use care::wire::shape::{Shape, schema_json};
use care::wire::{Problem, Problems};
use schemars::JsonSchema;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::ops::Not;
use std::sync::LazyLock;
use uuid::Uuid;

/// The most that a body may hold, bytes of its canonical text; a photo more.
pub(crate) const BODY_BYTES_MOST: usize = 64 << 10;
/// The most that a picture may have, bytes.
pub const PHOTO_BYTES_MOST: usize = 1 << 20;

/// A step of a plan that was done.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "StepDone")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct StepDoneBody {
    /// The plan's id, if it has one.
    pub plan: Option<String>,
    /// Which step of it, from 1.
    #[schemars(range(min = 1.0, max = 1000.0))]
    pub step: Option<f64>,
    /// What kind of step; `add` if absent.
    #[schemars(extend("enum" = STEP_KINDS))]
    pub kind: Option<String>,
    /// `add`: the product's name on the shelf.
    pub product: Option<String>,
    /// `add`: the chemical's id, where the product has no name.
    pub chemical: Option<String>,
    /// `add`: grams of product that were really added.
    #[schemars(range(min = 0.0, max = 100000.0))]
    pub mass_g: Option<f64>,
    /// The amount as the person read it: "half a capful".
    pub amount_text: Option<String>,
    /// `replace-water`: percent of the water that was replaced.
    #[schemars(range(min = 0.0, max = 100.0))]
    pub share_percent: Option<f64>,
    /// How many minutes the plan said to wait after it.
    #[schemars(range(min = 0.0, max = 10080.0))]
    pub wait_min: Option<f64>,
    /// In words.
    pub text: Option<String>,
}

const STEP_KINDS: [&str; 6] = ["add", "replace-water", "circulate", "wait", "retest", "leave-open"];

/// A note.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "Note")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct NoteBody {
    /// In words.
    pub text: String,
}

/// A picture.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "Photo")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct PhotoBody {
    /// Its media type.
    #[schemars(extend("enum" = ["image/jpeg", "image/png", "image/webp"]))]
    pub media_type: String,
    /// The picture, at most 1 MiB, in base64 (RFC 4648, with padding).
    pub base64: String,
    /// What it shows.
    pub text: Option<String>,
}

/// A tub.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "TubOfTheBook")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct TubBody {
    /// What it is called.
    pub name: String,
    /// The site that it stands at.
    pub site: Option<String>,
    /// Where it is.
    pub address: Option<String>,
    /// Whose it is.
    pub owner_name: Option<String>,
    /// The owner's language (BCP 47).
    pub language: Option<String>,
    /// The vessel, as in a case.
    pub tub: Value,
    /// Its source water's id.
    pub source_water: Option<String>,
    /// Its shelf's id.
    pub shelf: Option<String>,
    /// Its own bands, as in a case.
    pub band: Option<Value>,
    /// Which method each quantity is usually read by: quantity to method id.
    #[serde(default)]
    #[schemars(extend("propertyNames" = { "enum": quantity_ids() }))]
    pub kit: BTreeMap<String, String>,
    /// Whether its log is one that an inspector may ask for.
    pub public: Option<bool>,
    /// Whether it is no longer looked after.
    pub archived: Option<bool>,
    /// In words.
    pub note: Option<String>,
}

/// A place with tubs.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "Site")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct SiteBody {
    /// What it is called.
    pub name: String,
    /// Where it is.
    pub address: Option<String>,
    /// Whether it is no longer looked after.
    pub archived: Option<bool>,
    /// In words.
    pub note: Option<String>,
}

/// A shelf.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "Shelf")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct ShelfBody {
    /// What it is called.
    pub name: String,
    /// Whose it is.
    #[schemars(extend("enum" = ["owner", "van"]))]
    pub of: String,
    /// What stands on it, as in a case.
    pub products: Vec<Value>,
    /// Whether it is no longer used.
    pub archived: Option<bool>,
}

/// A set of bands.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "BandSet")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct BandBody {
    /// What it is called.
    pub name: String,
    /// The bands, as in a case.
    pub band: Value,
    /// Whether it is no longer used.
    pub archived: Option<bool>,
}

/// A person.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "Person")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct PersonBody {
    /// What they are called.
    pub name: String,
    /// What they may do.
    #[schemars(extend("enum" = ["lead", "technician", "viewer"]))]
    pub role: String,
    /// Their language (BCP 47).
    pub language: Option<String>,
    /// Their units.
    #[schemars(extend("enum" = ["metric", "us"]))]
    pub units: Option<String>,
    /// Whether they have left.
    pub archived: Option<bool>,
}

/// Who did what.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "Audit")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct AuditBody {
    /// What was done.
    pub what: String,
    /// Who did it, in words: a name, a link, "nobody".
    pub who: Option<String>,
    /// The network address that it came from.
    pub address: Option<String>,
}

/// That an earlier entry does not count.
#[derive(JsonSchema)]
#[schemars(deny_unknown_fields, rename = "Withdrawal")]
#[allow(dead_code, reason = "the shape is made from it; bodies stay JSON")]
pub(crate) struct WithdrawalBody {
    /// True.
    pub withdrawn: bool,
    /// Why.
    pub why: String,
}

fn quantity_ids() -> Vec<&'static str> {
    quantity::ALL.iter().map(|q| q.id()).collect()
}

/// The JSON Schema of a kind's body, where it is not one of `care`'s own shapes.
pub fn schema(kind: Kind) -> Option<Value> {
    match kind {
        Kind::StepDone => Some(schema_json::<StepDoneBody>()),
        Kind::Note => Some(schema_json::<NoteBody>()),
        Kind::Photo => Some(schema_json::<PhotoBody>()),
        Kind::Tub => Some(schema_json::<TubBody>()),
        Kind::Site => Some(schema_json::<SiteBody>()),
        Kind::Shelf => Some(schema_json::<ShelfBody>()),
        Kind::Band => Some(schema_json::<BandBody>()),
        Kind::Person => Some(schema_json::<PersonBody>()),
        Kind::Audit => Some(schema_json::<AuditBody>()),
        Kind::Reading | Kind::Dose | Kind::Event | Kind::SourceWater | Kind::Method => None,
    }
}

static STEP_DONE: LazyLock<Shape> = LazyLock::new(Shape::of::<StepDoneBody>);
static NOTE: LazyLock<Shape> = LazyLock::new(Shape::of::<NoteBody>);
static PHOTO: LazyLock<Shape> = LazyLock::new(Shape::of::<PhotoBody>);
static TUB: LazyLock<Shape> = LazyLock::new(Shape::of::<TubBody>);
static SITE: LazyLock<Shape> = LazyLock::new(Shape::of::<SiteBody>);
static SHELF: LazyLock<Shape> = LazyLock::new(Shape::of::<ShelfBody>);
static BAND: LazyLock<Shape> = LazyLock::new(Shape::of::<BandBody>);
static PERSON: LazyLock<Shape> = LazyLock::new(Shape::of::<PersonBody>);
static AUDIT: LazyLock<Shape> = LazyLock::new(Shape::of::<AuditBody>);
static WITHDRAWAL: LazyLock<Shape> = LazyLock::new(Shape::of::<WithdrawalBody>);

/// Every fault of a body. `withdraws`: it belongs to an entry that corrects another and may take it back.
pub(crate) fn faults(kind: Kind, body: &Value, withdraws: bool) -> Vec<Problem> {
    if withdraws && body.get("withdrawn").is_some() {
        let mut found = by_shape(&WITHDRAWAL, body);
        if found.is_empty() && body["withdrawn"] != Value::Bool(true) {
            found.push(fault("withdrawn", "is false", "true is accepted"));
        }
        return found;
    }
    match kind {
        Kind::Reading | Kind::Dose | Kind::Event => of_care(kind, body),
        Kind::SourceWater => below(faults_of_part(&json!({ "source_water": body })), "source_water", ""),
        Kind::Method => below(faults_of_part(&json!({ "method": [body] })), "method[1]", ""),
        Kind::StepDone => step_done(body),
        Kind::Note => by_shape(&NOTE, body),
        Kind::Photo => photo(body),
        Kind::Tub => tub(body),
        Kind::Site => by_shape(&SITE, body),
        Kind::Shelf => shelf(body),
        Kind::Band => {
            let mut found = by_shape(&BAND, body);
            found.extend(part(&[("band", body.get("band"))]));
            found
        }
        Kind::Person => by_shape(&PERSON, body),
        Kind::Audit => by_shape(&AUDIT, body),
    }
}

fn fault(field: &str, what: impl Into<String>, accepted: impl Into<String>) -> Problem {
    Problem {
        file: String::new(),
        line: None,
        field: field.to_owned(),
        what: what.into(),
        accepted: accepted.into(),
    }
}

fn by_shape(shape: &Shape, body: &Value) -> Vec<Problem> {
    let mut problems = Problems::default();
    shape.check(&node::from_value(body), "", &mut problems);
    named(problems.into_vec().into_iter().map(|p| Problem { line: None, ..p }))
}

/// A fault of the body as a whole says so.
fn named(problems: impl Iterator<Item = Problem>) -> Vec<Problem> {
    problems.map(|p| if p.field.is_empty() { Problem { field: "body".into(), ..p } } else { p }).collect()
}

/// Problems of a part of a case, with its place in the case exchanged for its place in the body.
fn below(problems: Vec<Problem>, case_path: &str, body_path: &str) -> Vec<Problem> {
    named(problems.into_iter().map(|p| {
        let field = match p.field.strip_prefix(case_path) {
            Some(rest) if body_path.is_empty() => rest.trim_start_matches('.').to_owned(),
            Some(rest) => format!("{body_path}{rest}"),
            None => p.field.clone(),
        };
        Problem { field, ..p }
    }))
}

/// A reading, dose or event; when it happened stands beside the body, not in it.
fn of_care(kind: Kind, body: &Value) -> Vec<Problem> {
    if body.get("at").is_some() {
        let accepted = "the entry's own time is used: leave this field out";
        return vec![fault("at", "is given in the body", accepted)];
    }
    below(faults_of_part(&json!({ kind.id(): [body] })), &format!("{kind}[1]"), "")
}

/// The parts that are there, held together.
fn part(parts: &[(&str, Option<&Value>)]) -> Vec<Problem> {
    let case: serde_json::Map<String, Value> =
        parts.iter().filter_map(|(k, v)| Some(((*k).to_owned(), (*v)?.clone()))).collect();
    faults_of_part(&Value::Object(case))
}

fn ids(body: &Value, fields: &[&str], found: &mut Vec<Problem>) {
    for field in fields {
        if let Some(text) = body.get(field).and_then(Value::as_str)
            && Uuid::try_parse(text).is_ok_and(|id| id.to_string() == text).not()
        {
            let what = format!("is \"{}\"", node::shortened(text));
            found.push(fault(
                field,
                what,
                "the id of a thing in this book (a UUID in small letters) is accepted",
            ));
        }
    }
}

fn tub(body: &Value) -> Vec<Problem> {
    let mut found = by_shape(&TUB, body);
    found.extend(part(&[("tub", body.get("tub")), ("band", body.get("band"))]));
    ids(body, &["site", "source_water", "shelf"], &mut found);
    found
}

fn shelf(body: &Value) -> Vec<Problem> {
    let mut found = by_shape(&SHELF, body);
    if let Some(products) = body.get("products").filter(|p| p.as_array().is_some_and(|p| !p.is_empty())) {
        found.extend(below(faults_of_part(&json!({ "shelf": products })), "shelf", "products"));
    }
    found
}

fn step_done(body: &Value) -> Vec<Problem> {
    let mut found = by_shape(&STEP_DONE, body);
    if !found.is_empty() {
        return found;
    }
    let has = |field: &str| body.get(field).is_some();
    let kind = body.get("kind").and_then(Value::as_str).unwrap_or("add");
    for (field, belongs) in
        [("product", "add"), ("chemical", "add"), ("mass_g", "add"), ("share_percent", "replace-water")]
    {
        if has(field) && kind != belongs {
            let what = format!("is given for kind = \"{kind}\"");
            found.push(fault(field, what, format!("it belongs to {belongs}")));
        }
    }
    if kind == "replace-water" && !has("share_percent") {
        found.push(fault("share_percent", "is missing", "percent of the water that was replaced is needed"));
    }
    if kind == "add" && found.is_empty() {
        let dose: serde_json::Map<String, Value> = ["product", "chemical", "mass_g"]
            .into_iter()
            .filter_map(|f| Some((f.to_owned(), body.get(f)?.clone())))
            .collect();
        found.extend(of_care(Kind::Dose, &Value::Object(dose)));
    }
    found
}

fn photo(body: &Value) -> Vec<Problem> {
    use base64::Engine as _;
    let mut found = by_shape(&PHOTO, body);
    if let Some(text) = body.get("base64").and_then(Value::as_str) {
        let accepted = format!("a picture of at most {} KiB in base64 is accepted", PHOTO_BYTES_MOST >> 10);
        match base64::engine::general_purpose::STANDARD.decode(text) {
            Ok(bytes) if bytes.len() > PHOTO_BYTES_MOST => {
                found.push(fault("base64", format!("holds {} KiB", bytes.len() >> 10), accepted));
            }
            Ok(_) => {}
            Err(e) => found.push(fault("base64", format!("cannot be read: {e}"), accepted)),
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(kind: Kind, body: Value) -> Vec<String> {
        faults(kind, &body, false).iter().map(Problem::to_string).collect()
    }

    #[test]
    fn a_sound_body_of_each_kind_has_no_fault() {
        let id = "0190a0b0-0000-7000-8000-000000000001";
        for (kind, body) in [
            (Kind::Reading, json!({ "quantity": "ph", "value": 7.9 })),
            (Kind::Dose, json!({ "product": "dry acid", "measures": 0.5 })),
            (Kind::Event, json!({ "kind": "drain", "share_percent": 30 })),
            (
                Kind::StepDone,
                json!({ "step": 1, "product": "dry acid", "mass_g": 21, "amount_text": "half a capful" }),
            ),
            (Kind::StepDone, json!({ "kind": "replace-water", "share_percent": 20 })),
            (Kind::StepDone, json!({ "kind": "wait" })),
            (Kind::Note, json!({ "text": "The cover's seam is open." })),
            (Kind::Photo, json!({ "media_type": "image/png", "base64": "iVBORw0K" })),
            (
                Kind::Tub,
                json!({ "name": "A", "tub": { "volume_l": 1200, "regime": "chlorine" }, "site": id,
                "kit": { "ph": "phenol-red" }, "band": { "ph": { "high": 7.7 } } }),
            ),
            (Kind::Site, json!({ "name": "A" })),
            (Kind::SourceWater, json!({ "ph": 7.5, "total_alkalinity_mg_l_caco3": 100 })),
            (
                Kind::Shelf,
                json!({ "name": "A", "of": "owner", "products": [{ "chemical": "sodium-bisulfate" }] }),
            ),
            (Kind::Shelf, json!({ "name": "A", "of": "van", "products": [] })),
            (Kind::Method, json!({ "id": "s", "kind": "chloride-strip", "table": [[1, 300], [3, 1000]] })),
            (Kind::Band, json!({ "name": "A", "band": { "ph": { "low": 7.1 } } })),
            (Kind::Person, json!({ "name": "A", "role": "lead", "units": "us" })),
            (Kind::Audit, json!({ "what": "signed in", "who": "A", "address": "127.0.0.1" })),
        ] {
            assert_eq!(said(kind, body.clone()), Vec::<String>::new(), "{kind} {body}");
        }
    }

    #[test]
    fn a_fault_is_named_by_its_field_in_the_body() {
        for (kind, body, first) in [
            (Kind::Reading, json!({ "quantity": "ph", "value": 79 }), "value is 79"),
            (
                Kind::Reading,
                json!({ "at": "2026-01-01T00:00:00Z", "quantity": "ph", "value": 7 }),
                "at is given",
            ),
            (Kind::Dose, json!({ "chemical": "bleech", "mass_g": 1 }), "chemical is \"bleech\""),
            (Kind::Event, json!({ "kind": "top-up" }), "volume_l is missing"),
            (Kind::StepDone, json!({ "product": "dry acid" }), "mass_g is missing"),
            (Kind::StepDone, json!({ "kind": "wait", "mass_g": 3 }), "mass_g is given for kind"),
            (Kind::StepDone, json!({ "kind": "replace-water" }), "share_percent is missing"),
            (Kind::Note, json!({ "txt": "x" }), "txt is not"),
            (Kind::Photo, json!({ "media_type": "image/png", "base64": "***" }), "base64 cannot be read"),
            (Kind::Tub, json!({ "name": "A", "tub": { "regime": "chlorine" } }), "tub.volume_l is missing"),
            (Kind::Tub, json!({ "name": "A" }), "tub is missing"),
            (
                Kind::Tub,
                json!({ "name": "A", "tub": { "volume_l": 900, "regime": "chlorine" }, "shelf": "x" }),
                "shelf is \"x\"",
            ),
            (
                Kind::Shelf,
                json!({ "name": "A", "of": "van", "products": [{ "chemical": "dichlor" }, { "chemical": "x" }] }),
                "products[2].chemical is \"x\"",
            ),
            (Kind::Method, json!({ "id": "s", "kind": "chloride-strip" }), "table is missing"),
            (Kind::SourceWater, json!({ "ph": 17 }), "ph is 17"),
            (Kind::Band, json!({ "name": "A", "band": { "pH": { "low": 7 } } }), "band.pH"),
            (Kind::Person, json!({ "name": "A", "role": "king" }), "role is \"king\""),
            (Kind::Reading, json!([]), "body is a list"),
            (Kind::Note, json!({ "withdrawn": true, "why": "x" }), "withdrawn is not"),
        ] {
            let found = said(kind, body.clone());
            assert!(found.first().is_some_and(|f| f.starts_with(first)), "{kind} {body}: {found:?}");
        }
    }

    #[test]
    fn a_withdrawal_says_why() {
        assert_eq!(faults(Kind::Reading, &json!({ "withdrawn": true, "why": "wrong tub" }), true), []);
        for wrong in [json!({ "withdrawn": true }), json!({ "withdrawn": false, "why": "x" })] {
            assert_eq!(faults(Kind::Reading, &wrong, true).len(), 1, "{wrong}");
        }
    }
}
