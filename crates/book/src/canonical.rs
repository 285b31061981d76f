//! One text for one content: JSON with keys sorted, no spaces, no nulls in tables, whole numbers without a fraction.
//!
//! Two phones that send the same entry must be told "was there", and a hash needs bytes, so a body has one form only.

use serde_json::{Number, Value};

/// The largest whole number up to which every whole number is an f64 of its own (2^53).
const EXACT: f64 = 9_007_199_254_740_992.0;

/// The canonical value: a `null` in a table says no more than its absence.
pub(crate) fn canonical(value: &Value) -> Value {
    match value {
        Value::Object(fields) => {
            let mut kept: Vec<(&String, &Value)> = fields.iter().filter(|(_, v)| !v.is_null()).collect();
            kept.sort_by_key(|(k, _)| *k);
            Value::Object(kept.into_iter().map(|(k, v)| (k.clone(), canonical(v))).collect())
        }
        Value::Array(items) => Value::Array(items.iter().map(canonical).collect()),
        Value::Number(n) => Value::Number(number(n)),
        other => other.clone(),
    }
}

fn number(n: &Number) -> Number {
    match n.as_f64() {
        Some(x) if n.is_f64() && x.fract() == 0.0 && x.abs() < EXACT => Number::from(x as i64),
        _ => n.clone(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn one_content_has_one_text() {
        let texts = [
            r#"{"b":[1.0,{"y":1,"x":null}],"a":"é","c":0.10}"#,
            r#"{ "a":"\u00e9", "c":0.1, "b":[1,{"y":1.0}] }"#,
        ];
        for text in texts {
            let value: Value = serde_json::from_str(text).unwrap();
            assert_eq!(canonical(&value).to_string(), r#"{"a":"é","b":[1,{"y":1}],"c":0.1}"#);
        }
        assert_eq!(canonical(&json!([null, -0.0, 1e300])).to_string(), "[null,0,1e+300]");
    }
}
