//! The published shapes, as JSON Schema (draft 2020-12), made from the very structs that are read and written.

use crate::wire::case::CaseIn;
use crate::wire::outlook::OutlookOut;
use crate::wire::plan::PlanOut;
use crate::wire::shape::schema_json;
use crate::wire::water::{WaterIn, WaterOut};
use serde_json::{Value, json};

/// The case file, as the TOML parses.
pub fn case() -> Value {
    titled(schema_json::<CaseIn>(), "A case of tubwright plan")
}

/// One line in and one line out of `tubwright water`.
pub fn water() -> Value {
    let mut line_in = schema_json::<WaterIn>();
    line_in["oneOf"] = json!([{ "required": ["ph"] }, { "required": ["dic_mmol_l"] }]);
    line_in["not"] = json!({ "required": ["calcium_mg_l", "calcium_hardness_mg_l_caco3"] });
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "tubwright water: newline-delimited JSON in and out",
        "description": "One line out for each line in, in the same order; a wrong line gives its id and error.",
        "in": titled(line_in, "One water"),
        "out": titled(schema_json::<WaterOut>(), "What it is (beside its id), or id and error"),
    })
}

/// The plan.
pub fn plan() -> Value {
    titled(schema_json::<PlanOut>(), "A plan of tubwright plan --json")
}

/// The outlook's shape.
pub fn outlook() -> Value {
    titled(schema_json::<OutlookOut>(), "An outlook of tubwright outlook --json")
}

fn titled(mut schema: Value, title: &str) -> Value {
    schema["title"] = Value::from(title);
    schema
}
